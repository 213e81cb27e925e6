"""A sheet of conversation prompts as PDF, Markdown, plain text or JSON.

Each prompt stands with an answer in its graded versions and, where the answer
is a model, with lines for the client's own. `drillgen.sheets.prompts` makes the
sheet; this module only shows it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import chain
from typing import Any, Final, Literal

from drillgen.core.options import PageOptions
from drillgen.core.values import Drill, Worksheet
from drillgen.core.wording import Wording, choose_wording
from drillgen.sheets.content import (
    ReviewRow,
    clean,
    delivery_texts,
    format_pitch,
    iter_paragraphs,
    marks_used,
    review_rows,
)
from drillgen.write import markdown
from drillgen.write import plain as text
from drillgen.write.pdf import build_version
from drillgen.write.typeset import (
    CELL_LIMIT,
    TEXT_LIMIT,
    Json,
    break_long,
    build_front,
    describe_missing,
    finish,
    typeset,
)

FORMAT: Final = "drillgen-prompts"


@dataclass(frozen=True, slots=True)
class PromptItem:
    """A prompt and the drill of an answer to it."""

    key: str
    """Key of the prompt in the corpora."""

    topic: str
    question: str
    drill: Drill
    """The graded versions of the answer."""

    own: bool = False
    """The answer is the client's; otherwise it is the model answer."""

    lines: int = 0
    """Ruled lines for an answer of the client's own."""


@dataclass(frozen=True, slots=True)
class PromptSheet:
    """All that the sheet shows."""

    head: Worksheet
    """Title, pitch, repetitions and wording; its drills are not read."""

    step: int | None
    """Step of all prompts, None where they are mixed."""

    items: tuple[PromptItem, ...]


@dataclass(frozen=True, slots=True)
class PromptEnvelope:
    """What stands at the top of the JSON file."""

    format: Literal["drillgen-prompts"]
    version: Literal[1]
    sheet: PromptSheet


def render_prompts_json(sheet: PromptSheet) -> str:
    """The sheet with every field of its drills but the source; one final newline."""
    import msgspec

    items = tuple(replace(item, drill=without_source(item.drill)) for item in sheet.items)
    envelope = PromptEnvelope(FORMAT, 1, replace(sheet, items=items))
    return msgspec.json.encode(envelope).decode() + "\n"


def without_source(drill: Drill) -> Drill:
    """The drill without the name of the file that it came from."""
    return replace(drill, passage=replace(drill.passage, source=""))


def render_prompts_markdown(sheet: PromptSheet) -> str:
    """The sheet as GitHub-flavoured Markdown."""
    wording = choose_wording(sheet.head.discreet)
    templates = markdown.load_templates()
    format_cells = markdown.make_cell_store()
    body = templates.get_template("prompts.md.j2").render(
        _describe(sheet, wording),
        free=markdown.show_ticks(wording.prompts.free, sheet.head.repetitions),
        versions=[
            markdown.describe_versions(item.drill, 0, sheet.head, format_cells)
            for item in sheet.items
        ],
    )
    tail = markdown.render_tail(
        templates, sheet.head, *_gather(sheet.items), _review(sheet, wording)
    )
    return body + tail


def render_prompts_text(sheet: PromptSheet, width: int = text.WIDTH) -> str:
    """The sheet as plain text."""
    wording = choose_wording(sheet.head.discreet)
    templates = text.load_templates(width)
    body = templates.get_template("prompts.txt.j2").render(
        _describe(sheet, wording),
        free=f"{wording.prompts.free} {text.show_ticks(sheet.head.repetitions)}",
        rule="_" * width,
        versions=[
            text.describe_versions(item.drill, 0, sheet.head, width) for item in sheet.items
        ],
    )
    tail = text.render_tail(
        templates, sheet.head, *_gather(sheet.items), _review(sheet, wording), width
    )
    return body + tail


def render_prompts_pdf(sheet: PromptSheet, page: PageOptions) -> bytes:
    """The sheet as a PDF/UA-1 file. DrillgenError where the typesetter fails."""
    return typeset(finish(_build(sheet, page), sheet.head.discreet), "prompts")


def prompt_warnings(sheet: PromptSheet) -> tuple[str, ...]:
    """One line per character that the PDF can't show."""
    return describe_missing(_build(sheet, PageOptions()))


def _build(sheet: PromptSheet, page: PageOptions) -> Json:
    wording = choose_wording(sheet.head.discreet)
    shared = _describe(sheet, wording)
    key, _ = _gather(sheet.items)
    drills = [item.drill for item in sheet.items]
    front = build_front(
        sheet.head,
        drills,
        page,
        title=shared["title"],
        key=key,
        review=_review(sheet, wording),
    )
    front["steps"]["rows"] = shared["deliveries"]
    return {
        **front,
        "hints": shared["words"].hints,
        "about": shared["about"],
        "prompts": [
            build_prompt(item, number, sheet.head, page)
            for number, item in enumerate(sheet.items, 1)
        ],
    }


def build_prompt(item: PromptItem, number: int, head: Worksheet, page: PageOptions) -> Json:
    """A prompt as data for the layout."""
    wording = choose_wording(head.discreet)
    words = wording.prompts
    limit = TEXT_LIMIT // 2 if page.large else TEXT_LIMIT
    count = head.repetitions
    return {
        "number": str(number),
        "topic": item.topic,
        "question": break_long(clean(item.question), CELL_LIMIT),
        "label": words.given if item.own else words.model,
        "paragraphs": [break_long(part, limit) for part in iter_paragraphs(item.drill)],
        "versions": [
            build_version(item.drill, version, 0, head, wording, page.large)
            for version in item.drill.versions
        ],
        "own": words.own if item.lines else words.free,
        "lines": item.lines,
        "lines_alt": words.lines.format(count=item.lines),
        # With an own answer the heading says it.
        "free": (
            "" if item.own else words.free,
            count,
            wording.ticks.format(name=words.free, count=count),
        ),
    }


def _describe(sheet: PromptSheet, wording: Wording) -> dict[str, Any]:
    """What the formats share."""
    words = wording.prompts
    topics = ", ".join(dict.fromkeys(item.topic.lower() for item in sheet.items))
    own = bool(sheet.items) and all(item.own for item in sheet.items)
    return {
        "title": clean(sheet.head.title) or words.title,
        "about": words.step.format(step=sheet.step, topics=topics)
        if sheet.step
        else words.mixed.format(topics=topics),
        "sheet": sheet.head,
        "words": replace(wording, hints=(words.hint, *wording.hints)),
        "pitch": format_pitch(sheet.head.pitch) if sheet.head.pitch else None,
        "deliveries": [
            *delivery_texts(sheet.head, wording),
            (words.step_name, words.again_text if own else words.step_text),
        ],
        "items": [
            {
                "number": number,
                "topic": item.topic,
                "question": clean(item.question),
                "label": words.given if item.own else words.model,
                "paragraphs": list(iter_paragraphs(item.drill)),
                "lines": item.lines,
            }
            for number, item in enumerate(sheet.items, 1)
        ],
    }


def _gather(items: tuple[PromptItem, ...]) -> tuple[Any, frozenset[str]]:
    """Key entries and marks of all drills."""
    key = dict.fromkeys(chain.from_iterable(item.drill.key for item in items))
    return key, marks_used(item.drill for item in items)


def _review(sheet: PromptSheet, wording: Wording) -> Iterator[ReviewRow]:
    if not sheet.head.show_review:
        return
    for number, item in enumerate(sheet.items, 1):
        title = wording.prompts.prompt.format(number=number)
        yield from review_rows(item.drill, wording, title=title)
