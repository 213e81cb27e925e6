"""What a request asks for, as typed values. Nothing here trusts its input."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from types import MappingProxyType
from typing import Final
from urllib.parse import parse_qsl

from drillgen.core.errors import InputError, OptionError
from drillgen.core.options import (
    MAX_RUNGS,
    Accent,
    DrillOptions,
    PageOptions,
    PageSize,
    Strategy,
    parse_choice,
)
from drillgen.core.pitch import parse_pitch
from drillgen.core.sources import take_title
from drillgen.core.values import Passage, Pitch
from drillgen.speech.swap.targets import parse_target
from drillgen.web.limits import Limits

DEFAULT_RUNGS: Final = 3
MAX_REPETITIONS: Final = 12

_LETTERS: Final = re.compile(r"[^\W\d_](?:['’]?[^\W\d_])*")
MARKS: Final = re.compile(r"[^\w\s][^\w]*")
"""A run of punctuation, spaces between included."""

Fields = Mapping[str, str]


class TooLargeError(InputError):
    """The request asks for more than the limits allow."""


class Steps(StrEnum):
    """Which versions go on the sheet."""

    ALL = "all"
    """Every rung of the ladder."""

    SHOWN = "shown"
    """Of the partial versions only the one that the slider shows."""


class Download(StrEnum):
    """Files that the page makes."""

    PDF = "pdf"
    MARKDOWN = "markdown"
    PRACTICE = "practice"


@dataclass(frozen=True, slots=True)
class Choices:
    """The state of the page: the text and everything chosen for it."""

    text: str = ""
    """As it was typed, with \\n for line ends."""

    title: str = ""
    drill: DrillOptions = field(default_factory=lambda: DrillOptions(rungs=DEFAULT_RUNGS))
    shown: int = DEFAULT_RUNGS + 1
    """Which version the slider shows: 0 the marked original, 1 to the number
    of rungs the partial versions, one more the full swap."""

    pitch_text: str = "G3"
    pitch: Pitch | None = None
    """None: no pitch on the sheet."""

    page: PageOptions = field(default_factory=PageOptions)
    discreet: bool = False
    review: bool = True
    ipa: bool = False
    repetitions: int = 3
    steps: Steps = Steps.ALL
    prompt: str = ""
    """The question that the text answers; only for the eye."""

    @property
    def top(self) -> int:
        """The highest place of the slider: the full swap."""
        return self.drill.rungs + 1

    @property
    def passage(self) -> Passage:
        """The text to practise; a leading Markdown heading is its title."""
        title, text = take_title(self.text)
        return Passage(text, self.title or title)


def default_choices() -> Choices:
    """What a fresh page has chosen."""
    return Choices(pitch=parse_pitch("G3"))


def parse_body(body: bytes, limits: Limits) -> Fields:
    """The fields of a URL-encoded form; of a repeated field the last counts."""
    try:
        pairs = parse_qsl(
            body.decode("ascii"),
            keep_blank_values=True,
            encoding="utf-8",
            errors="replace",
            max_num_fields=limits.fields,
        )
    except ValueError:
        raise InputError("the form can't be read", "reload the page and try again") from None
    return MappingProxyType(dict(pairs))


def read_choices(fields: Fields, limits: Limits) -> Choices:
    """The state of the page out of a form.

    Raises OptionError for an unknown choice and TooLargeError for too much.
    """
    text = fields.get("text", "").replace("\r\n", "\n").replace("\r", "\n")
    _check_size(text, limits)
    title = " ".join(fields.get("title", "").split())
    if len(title) > limits.title:
        raise TooLargeError(
            f"the title has {len(title)} characters", f"write {limits.title} at most"
        )
    for name, value in fields.items():
        if name not in ("text", "title") and len(value) > limits.field:
            raise TooLargeError(f"{name} is longer than {limits.field} characters", "shorten it")
    rungs = _read_number(fields, "rungs", DEFAULT_RUNGS, 0, MAX_RUNGS)
    pitch_text = fields.get("pitch", "G3").strip()
    # A form sends a box only if it is ticked; "sent" tells a form from none.
    sent = "text" in fields
    return Choices(
        text=text,
        title=title,
        drill=DrillOptions(
            target=parse_target(fields.get("target") or "IY").symbol,
            accent=parse_choice(Accent, fields.get("accent") or Accent.RHOTIC, "accent"),
            strategy=parse_choice(
                Strategy, fields.get("partial") or Strategy.STRESSED, "partial swap"
            ),
            rungs=rungs,
        ),
        shown=min(_read_number(fields, "shown", rungs + 1, 0, MAX_RUNGS + 1), rungs + 1),
        pitch_text=pitch_text,
        pitch=None if pitch_text.lower() in ("", "none") else parse_pitch(pitch_text),
        page=PageOptions(
            parse_choice(PageSize, fields.get("size") or PageSize.A4, "paper"),
            "large" in fields,
        ),
        discreet="discreet" in fields,
        review="review" in fields or not sent,
        ipa="ipa" in fields,
        repetitions=_read_number(fields, "repetitions", 3, 1, MAX_REPETITIONS),
        steps=parse_choice(Steps, fields.get("steps") or Steps.ALL, "versions"),
        prompt=fields.get("asked", ""),
    )


def _check_size(text: str, limits: Limits) -> None:
    if len(text) > limits.characters:
        raise TooLargeError(
            f"the text has {len(text):,} characters",
            f"give {limits.characters:,} at most, or use the command drillgen sheet",
        )
    parts = text.split()
    stretch = max(map(len, parts), default=0)
    if stretch > limits.stretch:
        raise TooLargeError(
            f"there are {stretch:,} characters without a space",
            f"{limits.stretch:,} are the most, put spaces in",
        )
    letters = max(map(len, _LETTERS.findall(text)), default=0)
    if letters > limits.letters:
        raise TooLargeError(
            f"there is a word of {letters:,} letters",
            f"{limits.letters} are the most, put spaces in",
        )
    marks = max((m.end() - m.start() for m in MARKS.finditer(text)), default=0)
    if marks > limits.marks:
        raise TooLargeError(
            f"there are {marks:,} marks without a word",
            f"{limits.marks} are the most, take some out",
        )
    words = len(parts)
    if words > limits.words:
        raise TooLargeError(
            f"the text has {words:,} words",
            f"give {limits.words:,} at most, or use the command drillgen sheet",
        )


def _read_number(fields: Fields, name: str, default: int, low: int, high: int) -> int:
    text = fields.get(name, "").strip()
    if not text:
        return default
    if not (text.isascii() and text.isdigit() and len(text) < 4 and low <= int(text) <= high):
        raise OptionError(f"{name} must be {low} to {high}, not {text[:20]!r}")
    return int(text)
