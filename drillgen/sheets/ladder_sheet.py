"""A booklet that climbs from small units to larger ones, as PDF, Markdown, text or JSON.

Syllables, words and short phrases are tables: original, marked, swapped, and
boxes to tick. Longer units are shown as on a drill sheet. `drillgen.sheets.ladder`
makes the booklet; this module only shows it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import chain
from typing import Any, Final, Literal, NamedTuple

from drillgen.core.options import PageOptions, Unit
from drillgen.core.phones import VOWELS
from drillgen.core.values import Drill, Run, Version, VersionKind, Worksheet
from drillgen.core.wording import Wording, choose_wording
from drillgen.sheets.content import (
    ReviewRow,
    clean,
    delivery_texts,
    describe_vowel,
    format_pitch,
    iter_paragraphs,
    iter_sentences,
    marks_used,
    review_rows,
)
from drillgen.sheets.prompt_sheet import PromptItem, build_prompt, without_source
from drillgen.write import markdown
from drillgen.write import plain as text
from drillgen.write.pdf import build_version, styled
from drillgen.write.typeset import Json, build_front, finish, typeset

FORMAT: Final = "drillgen-ladder"

_SPACE: Final = Run(" ")


@dataclass(frozen=True, slots=True)
class LadderGroup:
    """A list of items with one vowel, or a passage."""

    lexical_set: str
    """Upper case; empty for a passage."""

    number: int
    """Of the list within its unit, from 1; 0 for a passage."""

    drill: Drill
    """Each item is a paragraph."""

    hints: tuple[str, ...] = ()
    """For each item a word that begins with it, or an empty string."""


@dataclass(frozen=True, slots=True)
class LadderUnit:
    """A step of the hierarchy."""

    unit: Unit
    groups: tuple[LadderGroup, ...]
    prompts: tuple[PromptItem, ...] = ()
    """In a conversation, which has no groups."""

    @property
    def drills(self) -> tuple[Drill, ...]:
        """All drills of the unit."""
        return (
            *(group.drill for group in self.groups),
            *(item.drill for item in self.prompts),
        )


@dataclass(frozen=True, slots=True)
class LadderSheet:
    """All that the booklet shows."""

    head: Worksheet
    """Title, pitch, repetitions and wording; its drills are not read."""

    target: str
    """ARPAbet symbol."""

    contrasts: tuple[str, ...]
    """Lexical sets."""

    units: tuple[LadderUnit, ...]


@dataclass(frozen=True, slots=True)
class LadderEnvelope:
    """What stands at the top of the JSON file."""

    format: Literal["drillgen-ladder"]
    version: Literal[1]
    sheet: LadderSheet


def render_ladder_json(sheet: LadderSheet) -> str:
    """The booklet with every field of its drills but the source; one final newline."""
    import msgspec

    units = tuple(
        replace(
            unit,
            groups=tuple(replace(g, drill=without_source(g.drill)) for g in unit.groups),
            prompts=tuple(replace(p, drill=without_source(p.drill)) for p in unit.prompts),
        )
        for unit in sheet.units
    )
    envelope = LadderEnvelope(FORMAT, 1, replace(sheet, units=units))
    return msgspec.json.encode(envelope).decode() + "\n"


def render_ladder_markdown(sheet: LadderSheet) -> str:
    """The booklet as GitHub-flavoured Markdown."""
    wording = choose_wording(sheet.head.discreet)
    templates = markdown.load_templates()
    format_cells = markdown.make_cell_store()
    units = []
    for unit in _describe_units(sheet, wording):
        for group in unit["groups"]:
            if group["table"]:
                group["table"] = markdown.Verbatim(
                    markdown.format_cell_table(
                        [markdown.escape_markdown(cell) for cell in group["columns"]],
                        [
                            [
                                _name_item(row, markdown.escape_markdown),
                                *(markdown.emphasize(runs, kind) for kind, runs in row.cells),
                                *[markdown.TICK] * 3,
                            ]
                            for row in group["table"]
                        ],
                    )
                )
            else:
                group["versions"] = markdown.describe_versions(
                    group["drill"], 0, sheet.head, format_cells
                )
        for prompt in unit["prompts"]:
            prompt["versions"] = markdown.describe_versions(
                prompt["drill"], 0, sheet.head, format_cells
            )
        units.append(unit)
    shared = _describe(sheet, wording)
    body = templates.get_template("ladder.md.j2").render(
        shared,
        units=units,
        free=markdown.show_ticks(wording.prompts.free, sheet.head.repetitions),
        ready=markdown.show_ticks(wording.ladder.ready, 2),
    )
    key, signs = _gather(sheet)
    return body + markdown.render_tail(templates, sheet.head, key, signs, _review(sheet, wording))


def render_ladder_text(sheet: LadderSheet, width: int = text.WIDTH) -> str:
    """The booklet as plain text."""
    wording = choose_wording(sheet.head.discreet)
    templates = text.load_templates(width)
    units = []
    for unit in _describe_units(sheet, wording):
        for group in unit["groups"]:
            if group["table"]:
                group["table"] = text.format_grid(
                    group["columns"],
                    [
                        [
                            _name_item(row, clean),
                            *(_show_cell(runs, kind) for kind, runs in row.cells),
                            *[text.TICK] * 3,
                        ]
                        for row in group["table"]
                    ],
                    width,
                )
            else:
                group["versions"] = text.describe_versions(group["drill"], 0, sheet.head, width)
        for prompt in unit["prompts"]:
            prompt["versions"] = text.describe_versions(prompt["drill"], 0, sheet.head, width)
        units.append(unit)
    body = templates.get_template("ladder.txt.j2").render(
        _describe(sheet, wording),
        units=units,
        rule="_" * width,
        free=f"{wording.prompts.free} {text.show_ticks(sheet.head.repetitions)}",
        ready=f"{wording.ladder.ready} {text.show_ticks(2)}",
    )
    key, signs = _gather(sheet)
    return body + text.render_tail(
        templates, sheet.head, key, signs, _review(sheet, wording), width
    )


def render_ladder_pdf(sheet: LadderSheet, page: PageOptions) -> bytes:
    """The booklet as a PDF/UA-1 file. DrillgenError where the typesetter fails."""
    wording = choose_wording(sheet.head.discreet)
    shared = _describe(sheet, wording)
    drills = [drill for unit in sheet.units for drill in unit.drills]
    key, _ = _gather(sheet)
    front = build_front(
        sheet.head, drills, page, title=shared["title"], key=key, review=_review(sheet, wording)
    )
    front["steps"]["rows"] = shared["deliveries"]
    ready = wording.ladder.ready
    body: Json = {
        **front,
        "hints": shared["words"].hints,
        "about": shared["about"],
        "ready": (ready, 2, wording.ticks.format(name=ready, count=2)),
        "units": [
            _build_unit(unit, described, sheet, page, wording)
            for unit, described in zip(
                sheet.units, _describe_units(sheet, wording, large=page.large), strict=True
            )
        ],
    }
    return typeset(finish(body, sheet.head.discreet), "ladder")


def _build_unit(
    unit: LadderUnit, described: Json, sheet: LadderSheet, page: PageOptions, wording: Wording
) -> Json:
    return {
        "title": described["title"],
        "note": described["note"],
        "advance": described["advance"],
        "groups": [
            {
                "title": group["title"],
                "columns": group["columns"],
                "rows": [
                    (row.original, row.hint, [styled(runs, kind) for kind, runs in row.cells])
                    for row in group["table"]
                ],
                "alts": [
                    wording.ladder.box.format(name=name)
                    for name, _ in delivery_texts(sheet.head, wording)
                ],
                "paragraphs": [] if group["table"] else list(iter_paragraphs(group["drill"])),
                "versions": []
                if group["table"]
                else [
                    build_version(group["drill"], version, 0, sheet.head, wording, page.large)
                    for version in group["drill"].versions
                ],
            }
            for group in described["groups"]
        ],
        "prompts": [
            build_prompt(item, number, sheet.head, page)
            for number, item in enumerate(unit.prompts, 1)
        ],
    }


# What it says


class LadderRow(NamedTuple):
    """One item of a list in all columns."""

    original: str
    hint: str
    cells: tuple[tuple[VersionKind, tuple[Run, ...]], ...]
    """Marked, partial where there is one, full."""


def _describe(sheet: LadderSheet, wording: Wording) -> dict[str, Any]:
    words = wording.ladder
    names = {unit: name for unit, _, name in words.units}
    first, last = names[sheet.units[0].unit], names[sheet.units[-1].unit]
    contrasts = [describe_set(name) for name in sheet.contrasts]
    joined = words.join.join(filter(None, (", ".join(contrasts[:-1]), contrasts[-1])))
    deliveries = delivery_texts(sheet.head, wording)
    hints = wording.hints
    if any(unit.prompts for unit in sheet.units):
        deliveries.append((wording.prompts.step_name, wording.prompts.step_text))
    title = words.title if len(sheet.units) > 1 else words.single
    return {
        "title": clean(sheet.head.title)
        or title.format(first=first, last=last, unit=first).capitalize(),
        "about": words.about.format(contrasts=joined, target=describe_vowel(sheet.target)),
        "sheet": sheet.head,
        "words": replace(wording, hints=hints),
        "pitch": format_pitch(sheet.head.pitch) if sheet.head.pitch else None,
        "deliveries": deliveries,
    }


def describe_set(name: str) -> str:
    """A lexical set with its IPA where it is a plain vowel.

    >>> describe_set("GOOSE"), describe_set("NEAR")
    ('/u/ (GOOSE)', 'NEAR')
    """
    ipa = next((vowel.ipa for vowel in VOWELS.values() if vowel.lexical_set == name), "")
    return f"/{ipa}/ ({name})" if ipa else name


def _describe_units(
    sheet: LadderSheet, wording: Wording, *, large: bool = False
) -> Iterator[dict[str, Any]]:
    words = wording.ladder
    names = {unit: (title, name) for unit, title, name in words.units}
    for place, unit in enumerate(sheet.units):
        title, _ = names[unit.unit]
        last = place + 1 == len(sheet.units)
        following = "" if last else names[sheet.units[place + 1].unit][1]
        yield {
            "title": f"{place + 1}. {title}",
            "note": " ".join(
                [
                    *_explain_boxes(unit, wording, large),
                    *([words.syllables] if unit.unit is Unit.SYLLABLE else []),
                ]
            ),
            "advance": words.finish if last else words.advance.format(next=following),
            "groups": [
                {
                    "title": _name_group(unit.unit, group, wording),
                    "drill": group.drill,
                    "paragraphs": list(iter_paragraphs(group.drill)),
                    "columns": _name_columns(group.drill, words.columns),
                    "table": list(_iter_rows(group))
                    if _fits_table(unit.unit, group.drill, large)
                    else [],
                }
                for group in unit.groups
            ],
            "prompts": [
                {
                    "number": number,
                    "topic": item.topic,
                    "question": clean(item.question),
                    "label": wording.prompts.given if item.own else wording.prompts.model,
                    "drill": item.drill,
                    "paragraphs": list(iter_paragraphs(item.drill)),
                    "lines": item.lines,
                }
                for number, item in enumerate(unit.prompts, 1)
            ],
        }


def _explain_boxes(unit: LadderUnit, wording: Wording, large: bool) -> Iterator[str]:
    """Which column each numbered box is for; nothing where there are no tables."""
    drills = [g.drill for g in unit.groups if _fits_table(unit.unit, g.drill, large)]
    if not drills:
        return
    words = wording.ladder
    _, marked, partial, full = words.columns
    swapped = words.join.join([full, *([partial] if len(drills[0].versions) > 2 else [])])
    columns = (full, swapped, marked)
    yield words.tick
    for number, (said, named) in enumerate(zip(wording.deliveries, columns, strict=True), 1):
        yield words.boxes.format(number=number, name=said.name, columns=named)


def _fits_table(unit: Unit, drill: Drill, large: bool) -> bool:
    """Whether items are short and versions few enough for columns."""
    if unit in (Unit.SYLLABLE, Unit.WORD):
        return True
    return unit is Unit.PHRASE and not large and len(drill.versions) <= 3


def _name_group(unit: Unit, group: LadderGroup, wording: Wording) -> str:
    if not group.lexical_set:
        return clean(group.drill.passage.title)
    title = next(title for kind, title, _ in wording.ladder.units if kind is unit)
    return wording.ladder.group.format(
        unit=title, vowel=describe_set(group.lexical_set), number=group.number
    )


def _name_columns(drill: Drill, columns: tuple[str, str, str, str]) -> list[str]:
    original, marked, partial, full = columns
    return [original, marked, *([partial] if len(drill.versions) > 2 else []), full, *"123"]


def _show_cell(runs: tuple[Run, ...], kind: VersionKind) -> str:
    """A cell of plain text, where nothing can be underlined: marks are brackets."""
    if kind is not VersionKind.MARKED:
        return text.capitalize_stress(runs, kind)
    return "".join(f"[{run.text}]" if run.vowel else run.text for run in runs)


def _name_item(row: LadderRow, escape: Callable[[str], str]) -> str:
    return escape(f"{row.original} ({row.hint})" if row.hint else row.original)


def _iter_rows(group: LadderGroup) -> Iterator[LadderRow]:
    """An item a row: its versions side by side, the original first."""
    drill = group.drill
    versions = (drill.versions[-1], *drill.versions[1:-1], drill.versions[0])
    columns = [list(_iter_items(drill, version)) for version in versions]
    items = list(iter_paragraphs(drill))
    hints = group.hints if any(group.hints) else ("",) * len(items)
    for original, hint, *runs in zip(items, hints, *columns, strict=True):
        yield LadderRow(
            original,
            hint,
            tuple((version.kind, part) for version, part in zip(versions, runs, strict=True)),
        )


def _iter_items(drill: Drill, version: Version) -> Iterator[tuple[Run, ...]]:
    """The printed runs of each paragraph."""
    held: list[Run] = []
    for sentence in iter_sentences(drill, version):
        if sentence.opens_paragraph and held:
            yield tuple(held)
            held = []
        for word in sentence.words:
            if held:
                held.append(_SPACE)
            held.extend(word.runs)
    if held:
        yield tuple(held)


def _gather(sheet: LadderSheet) -> tuple[Any, frozenset[str]]:
    """Key entries of all drills, and the marks of those that are not in tables."""
    drills = [drill for unit in sheet.units for drill in unit.drills]
    return dict.fromkeys(chain.from_iterable(d.key for d in drills)), marks_used(drills)


def _review(sheet: LadderSheet, wording: Wording) -> Iterator[ReviewRow]:
    if not sheet.head.show_review:
        return
    for unit in sheet.units:
        for group in unit.groups:
            title = _name_group(unit.unit, group, wording)
            yield from review_rows(group.drill, wording, title=title)
        for number, item in enumerate(unit.prompts, 1):
            title = wording.prompts.prompt.format(number=number)
            yield from review_rows(item.drill, wording, title=title)
