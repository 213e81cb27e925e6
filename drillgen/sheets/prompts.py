"""A sheet of conversation prompts.

First comes room for the client's own answer, then two model answers as examples, one
of them in its graded versions. An own answer that was given is drilled instead.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from drillgen.core.document import Block, Document, Keep, Lines, Paragraph, Section, prose
from drillgen.core.options import DrillOptions
from drillgen.core.printable import clean
from drillgen.core.values import Drill, Passage, Worksheet
from drillgen.core.wording import Wording, choose_wording
from drillgen.corpus.reader import Prompt
from drillgen.sheets.content import delivery_texts, iter_paragraphs
from drillgen.sheets.parts import (
    BODY,
    Gathered,
    make_document,
    make_ticks,
    steps_section,
    version_sections,
)
from drillgen.speech.pipeline import Engine, make_drill

LINES = {1: 2, 2: 3, 3: 5}
"""Ruled lines for an own answer, by step: a fuller model answer fits on them."""


class Model(StrEnum):
    """Which model answer is drilled."""

    EASIER = "easier"
    FULLER = "fuller"


@dataclass(frozen=True, slots=True)
class PromptItem:
    """A prompt and the drill of an answer to it."""

    key: str
    """Key of the prompt in the corpora."""

    topic: str
    question: str
    drill: Drill
    """The graded versions of one answer."""

    easier: str
    fuller: str
    """The two model answers."""

    drilled: Model | None = Model.FULLER
    """The model answer that is drilled; None: the client's own answer."""

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


def name_topic(topic: str) -> str:
    """A topic as it is printed.

    >>> name_topic("phone-calls")
    'Phone calls'
    """
    return topic.replace("-", " ").capitalize()


def make_prompt_item(
    prompt: Prompt,
    options: DrillOptions,
    engine: Engine,
    answer: str | None = None,
    *,
    model: Model = Model.FULLER,
) -> PromptItem:
    """A prompt with the drill of `answer`, or of a model answer and lines for an own one."""
    modelled = prompt.easier if model is Model.EASIER else prompt.answer
    return PromptItem(
        prompt.key,
        name_topic(prompt.topic),
        prompt.question,
        make_drill(Passage(modelled if answer is None else answer), options, engine=engine),
        prompt.easier,
        prompt.answer,
        model if answer is None else None,
        LINES[prompt.step] if answer is None else 0,
    )


def make_prompt_sheet(
    prompts: Sequence[Prompt],
    head: Worksheet,
    options: DrillOptions,
    engine: Engine,
    *,
    answers: Sequence[str] | None = None,
    model: Model = Model.FULLER,
) -> PromptSheet:
    """A sheet of prompts. `answers` are the client's own, one for each prompt (ValueError).

    Without them `model` says which model answers are drilled.
    """
    given: Sequence[str | None] = answers if answers is not None else [None] * len(prompts)
    items = tuple(
        make_prompt_item(prompt, options, engine, answer, model=model)
        for prompt, answer in zip(prompts, given, strict=True)
    )
    steps = {prompt.step for prompt in prompts}
    return PromptSheet(head, steps.pop() if len(steps) == 1 else None, items)


def lay_out_prompts(sheet: PromptSheet) -> Document:
    """The sheet as a reader sees it."""
    head = sheet.head
    wording = choose_wording(head.discreet)
    words = wording.prompts
    topics = ", ".join(dict.fromkeys(item.topic.lower() for item in sheet.items))
    about = words.step if sheet.step else words.mixed
    own = bool(sheet.items) and not any(item.drilled for item in sheet.items)
    last = words.step_name, words.again_text if own else words.step_text
    hint = words.own_hint if own else words.hint
    gathered = Gathered(head, wording)
    sections = []
    for number, item in enumerate(sheet.items, 1):
        sections.append(prompt_section(item, number, head, wording, level=2))
        gathered.add(item.drill, title=words.prompt.format(number=number))
    chosen = (sheet.items[0].drill.target, sheet.items[0].drill.accent) if sheet.items else ()
    deliveries = (*delivery_texts(head, wording, *chosen), last)
    return make_document(
        clean(head.title) or words.title,
        wording,
        (
            Paragraph(prose(about.format(step=sheet.step, topics=topics))),
            steps_section(deliveries, (hint, *wording.hints), wording),
            *sections,
            *gathered.sections(),
        ),
        pitch=head.pitch,
    )


def prompt_section(
    item: PromptItem, number: int, head: Worksheet, wording: Wording, *, level: int
) -> Section:
    """A prompt: room for an own answer, then the model answers; or the own answer's versions."""
    words = wording.prompts
    ticks = make_ticks(words.free, head.repetitions, wording, named=False)
    talk = Section(
        words.own if item.lines else words.free,
        (Lines(item.lines, words.lines.format(count=item.lines)),) if item.lines else (),
        level + 1,
        ticks=(ticks,),
        keep=Keep.WHOLE,
        compact=True,
    )
    versions = version_sections(item.drill, head, wording, level=level + 1, compact=True)
    if item.drilled is None:
        paragraphs = [prose(text) for text in iter_paragraphs(item.drill)] or [()]
        paragraphs[0] = (*prose("", label=f"{words.given}:")[:1], *paragraphs[0])
        parts: tuple[Block, ...] = (*map(Paragraph, paragraphs), *versions, talk)
    else:
        models = ((words.easier, item.easier), (words.fuller, item.fuller))
        texts = (Paragraph(prose(clean(text), label=f"{label}:")) for label, text in models)
        parts = (talk, *texts, *versions)
    return Section(
        f"{number}. {clean(item.question)}",
        parts,
        level,
        kicker=item.topic,
        keep=Keep.WHOLE,
        compact=True,
        rank=BODY,
    )
