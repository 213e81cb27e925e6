"""What a request asks for, as typed values. Nothing here trusts its input."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from enum import StrEnum
from itertools import islice
from types import MappingProxyType
from typing import Annotated, Any, Final, TypeVar
from urllib.parse import parse_qsl

import msgspec

from drillgen.core.accents import DEFAULT_ACCENT, load_accent
from drillgen.core.errors import InputError, OptionError
from drillgen.core.options import (
    BREATH,
    MAX_BREATH,
    MAX_REPETITIONS,
    MAX_RUNGS,
    MIN_BREATH,
    DrillOptions,
    PageOptions,
    PageSize,
    Strategy,
    Watch,
    parse_locale,
)
from drillgen.core.pitch import parse_pitch
from drillgen.core.sources import drop_invisible, take_title
from drillgen.core.values import Passage, Pitch
from drillgen.sound.synth import Voice
from drillgen.speech.swap.targets import parse_target
from drillgen.web.limits import Limits

DEFAULT_RUNGS: Final = DrillOptions().rungs
VOICES: Final = ("none", *Voice)

_LETTERS: Final = re.compile(r"[^\W\d_](?:['’]?[^\W\d_])*")
_WORD: Final = re.compile(r"\S+")
_SENTENCE_END: Final = re.compile(r"""[.!?…]["'”’)\]]*(?=\s)|\n""")
FIRST_WORDS: Final = 160
"""Words that are shown while the rest of a long text is made."""

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


class Choices(msgspec.Struct, frozen=True, kw_only=True):
    """The state of the page: the text and everything chosen for it, as the form sends it."""

    text: str = ""
    """As it was typed, with \\n for line ends."""

    title: str = ""
    prompt: str = msgspec.field(default="", name="asked")
    """The question that the text answers: the title of a text without one."""

    client: str = ""
    """Alias of the client whose pronunciations hold; empty: none."""

    target: str = "IY"
    accent: str = DEFAULT_ACCENT
    strategy: Strategy = msgspec.field(default=Strategy.STRESSED, name="partial")
    rungs: Annotated[int, msgspec.Meta(ge=0, le=MAX_RUNGS)] = DEFAULT_RUNGS
    locale: str = ""
    """How numbers and dates are read; empty: as goes with the accent."""

    watch: Watch = Watch.FAR
    breath: Annotated[int, msgspec.Meta(ge=MIN_BREATH, le=MAX_BREATH)] = BREATH
    slider: Annotated[int, msgspec.Meta(ge=0, le=MAX_RUNGS + 1)] = msgspec.field(
        default=MAX_RUNGS + 1, name="shown"
    )
    """Where the slider was; see `shown`."""

    pitch_text: str = msgspec.field(default="G3", name="pitch")
    size: PageSize = PageSize.A4
    repetitions: Annotated[int, msgspec.Meta(ge=1, le=MAX_REPETITIONS)] = 3
    steps: Steps = Steps.ALL
    voice: str = "none"
    """Who speaks on the practice page: a computer's voice, or none."""

    large: bool = False
    discreet: bool = False
    review: bool = True
    ipa: bool = False

    @property
    def drill(self) -> DrillOptions:
        """How the text is made into a drill. OptionError for an unknown target or accent."""
        target = parse_target(self.target, load_accent(self.accent)).symbol
        choices = self.strategy, self.rungs, parse_locale(self.locale), self.watch, self.breath
        return DrillOptions(target, self.accent, *choices)

    @property
    def pitch(self) -> Pitch | None:
        """None: no pitch on the sheet. OptionError for one that can't be read."""
        text = self.pitch_text.strip()
        return None if text.lower() in ("", "none") else parse_pitch(text)

    @property
    def page(self) -> PageOptions:
        """How the sheet is laid out."""
        return PageOptions(self.size, self.large)

    @property
    def top(self) -> int:
        """The highest place of the slider: the full swap."""
        return self.rungs + 1

    @property
    def shown(self) -> int:
        """Which version the slider shows: 0 the marked original, 1 to the number
        of rungs the partial versions, one more the full swap."""
        return min(self.slider, self.top)

    @property
    def passage(self) -> Passage:
        """The text to practise; a leading Markdown heading is its title."""
        title, text = take_title(self.text)
        return Passage(text, self.title or title or self.prompt)

    def text_up_to(self, most: int, act: str) -> str:
        """The text to practise. InputError where there is none, or one of more words than can be
        dealt with; `act` says how."""
        text = self.passage.text
        words = len(text.split())
        if not words:
            raise InputError("there is no text yet", "paste one or choose a passage")
        if words > most:
            raise InputError(f"the text has {words:,} words", f"{act} {most:,} at most at a time")
        return text

    @property
    def beginning(self) -> Choices:
        """The same with the first words of a long text alone, to show something soon."""
        words = list(islice(_WORD.finditer(self.text), FIRST_WORDS + 1))
        if len(words) <= FIRST_WORDS:
            return self
        stop = _SENTENCE_END.search(self.text, words[-1].start())
        return msgspec.structs.replace(self, text=self.text[: stop.end()]) if stop else self

    @property
    def fields(self) -> Iterator[tuple[str, object]]:
        """What a form that keeps this state must send: `read_choices` reads it back."""
        for known in msgspec.structs.fields(self):
            value = getattr(self, known.name)
            if value is not False:
                yield known.encode_name, 1 if value is True else value


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
    text = drop_invisible(text)
    _check_size(text, limits)
    title = " ".join(fields.get("title", "").split())
    if len(title) > limits.title:
        raise TooLargeError(
            f"the title has {len(title)} characters", f"write {limits.title} at most"
        )
    for name, value in fields.items():
        most = {"text": len(value), "log": limits.characters}.get(name, limits.field)
        if len(value) > most:
            raise TooLargeError(f"{name} is longer than {most:,} characters", "shorten it")
    values: dict[str, Any] = {"text": text, "title": title}
    for known in msgspec.structs.fields(Choices):
        name, sent = known.encode_name, fields.get(known.encode_name, "")
        if known.type is bool:
            # A form sends a box only if it is ticked; one that is ticked at first stands on the
            # first page, beside the steps.
            values[known.name] = name in fields or ("steps" not in fields and known.default)
        elif name == "pitch":
            values[known.name] = fields.get(name, known.default).strip()
        elif sent.strip() and name not in values:
            values[known.name] = _convert(known, sent)
    choices = Choices(**values)
    # They are read once here, so that what is wrong is said at once.
    _ = choices.drill, choices.pitch
    if choices.voice not in VOICES:
        raise OptionError(f"voice must be one of {', '.join(VOICES)}, not {choices.voice[:20]!r}")
    return choices


S_ = TypeVar("S_", bound=msgspec.Struct)


def read_form(kind: type[S_], fields: Fields) -> S_:
    """A form of plain choices. OptionError for one that doesn't fit."""
    values = {
        known.name: _convert(known, sent)
        for known in msgspec.structs.fields(kind)
        if (sent := fields.get(known.encode_name, "")).strip()
    }
    return kind(**values)


def _convert(known: msgspec.structs.FieldInfo, sent: str) -> Any:
    """The value of a field. OptionError for one that doesn't fit."""
    text = sent.strip()
    try:
        return msgspec.convert(text, known.type, strict=False)
    except msgspec.ValidationError:
        raise OptionError(_say_choices(known.encode_name, known.type, text[:20])) from None


def _say_choices(name: str, kind: Any, sent: str) -> str:
    match msgspec.inspect.type_info(kind):
        case msgspec.inspect.IntType(ge=low, le=high):
            return f"{name} must be {low} to {high}, not {sent!r}"
        case msgspec.inspect.EnumType(cls=choices):
            return f"{name} must be one of {', '.join(choices)}, not {sent!r}"
    return f"{name} can't be {sent!r}"


def _check_size(text: str, limits: Limits) -> None:
    for count, most, what, mend in _measure(text, limits):
        if count > most:
            raise TooLargeError(what.format(count), mend.format(most))


def _measure(text: str, limits: Limits) -> Iterator[tuple[int, int, str, str]]:
    """What is limited in a text: how much there is, the most, what to say and to do. One after
    the other, since each bounds the work of the next."""
    less = "give {:,} at most, or use the command drillgen sheet"
    yield len(text), limits.characters, "the text has {:,} characters", less
    parts, spaces = text.split(), "{:,} are the most, put spaces in"
    stretch = max(map(len, parts), default=0)
    yield stretch, limits.stretch, "there are {:,} characters without a space", spaces
    letters = max(map(len, _LETTERS.findall(text)), default=0)
    yield letters, limits.letters, "there is a word of {:,} letters", spaces
    marks = max((m.end() - m.start() for m in MARKS.finditer(text)), default=0)
    fewer = "{:,} are the most, take some out"
    yield marks, limits.marks, "there are {:,} marks without a word", fewer
    yield len(parts), limits.words, "the text has {:,} words", less
