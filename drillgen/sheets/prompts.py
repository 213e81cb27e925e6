"""From prompts of the corpora to a sheet with their answers in graded versions."""

from __future__ import annotations

from collections.abc import Sequence

from drillgen.core.options import DrillOptions
from drillgen.core.values import Passage, Worksheet
from drillgen.corpus.reader import Prompt
from drillgen.sheets.prompt_sheet import PromptItem, PromptSheet
from drillgen.speech.pipeline import Engine, make_drill

LINES = {1: 2, 2: 3, 3: 5}
"""Ruled lines for an own answer, by step: model answers have one, two, or three to four
sentences."""


def name_topic(topic: str) -> str:
    """A topic as it is printed.

    >>> name_topic("phone-calls")
    'Phone calls'
    """
    return topic.replace("-", " ").capitalize()


def make_prompt_item(
    prompt: Prompt, options: DrillOptions, engine: Engine, answer: str | None = None
) -> PromptItem:
    """A prompt with the drill of `answer`, or of its model answer and lines for an own one."""
    drill = make_drill(
        Passage(prompt.answer if answer is None else answer), options, engine=engine
    )
    return PromptItem(
        prompt.key,
        name_topic(prompt.topic),
        prompt.question,
        drill,
        own=answer is not None,
        lines=LINES[prompt.step] if answer is None else 0,
    )


def make_prompt_sheet(
    prompts: Sequence[Prompt],
    head: Worksheet,
    options: DrillOptions,
    engine: Engine,
    *,
    answers: Sequence[str] | None = None,
) -> PromptSheet:
    """A sheet of prompts. `answers` are the client's own, one for each prompt (ValueError)."""
    given: Sequence[str | None] = answers if answers is not None else [None] * len(prompts)
    items = tuple(
        make_prompt_item(prompt, options, engine, answer)
        for prompt, answer in zip(prompts, given, strict=True)
    )
    steps = {prompt.step for prompt in prompts}
    return PromptSheet(head, steps.pop() if len(steps) == 1 else None, items)
