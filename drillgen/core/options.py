"""What a user can choose, as typed values with their defaults."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import partial
from typing import Final, TypeVar

from drillgen.core.accents import DEFAULT_ACCENT, load_accent, parse_accent
from drillgen.core.errors import OptionError

MAX_RUNGS: Final = 12
MAX_REPETITIONS: Final = 12
BREATH: Final = 14
"""Syllables of a breath group (common practice for a slow reader)."""

MIN_BREATH: Final = 4
MAX_BREATH: Final = 40


class Locale(StrEnum):
    """How numbers, dates and signs are read (language tags of BCP 47)."""

    EN_US = "en-US"
    """American: month first, "three to two", "one hundred three"."""

    EN_GB = "en-GB"
    """British: day first, "three two", "one hundred and three"."""


class Strategy(StrEnum):
    """Which vowels a partial version swaps first.

    >>> Strategy.CONTENT.value
    'content'
    """

    DISTANCE = "distance"
    """The vowels nearest to the target first."""

    STRESSED = "stressed"
    """Stressed syllables."""

    UNSTRESSED = "unstressed"
    """Unstressed syllables."""

    CONTENT = "content"
    """Nouns, verbs, adjectives, adverbs; function words stay."""

    ALTERNATE = "alternate"
    """Every other word."""


class Watch(StrEnum):
    """Which vowels of the original words are marked."""

    FAR = "far"
    """Those farthest from the target, and that of the nucleus of each phrase."""

    ALL = "all"


class Unit(StrEnum):
    """The trade's hierarchy, from the smallest unit to free talk (common practice)."""

    SYLLABLE = "syllable"
    WORD = "word"
    PHRASE = "phrase"
    SENTENCE = "sentence"
    PASSAGE = "passage"
    CONVERSATION = "conversation"


SHORT_UNITS: Final = frozenset({Unit.SYLLABLE, Unit.WORD})
"""They have one or two vowels, too few to swap some of them."""


class Format(StrEnum):
    """File formats of a document, by their endings.

    >>> Format("md").name
    'MARKDOWN'
    """

    PDF = "pdf"
    MARKDOWN = "md"
    TEXT = "txt"
    HTML = "html"
    JSON = "json"


class PageSize(StrEnum):
    """Paper, as ISO 216 and ANSI/ASME Y14.1 name it.

    >>> [size.value for size in PageSize]
    ['a4', 'letter']
    """

    A4 = "a4"
    LETTER = "letter"


@dataclass(frozen=True, slots=True)
class DrillOptions:
    """How a text is made into a drill. Choices may be given as users type them.

    >>> DrillOptions(rungs=3, strategy=Strategy.DISTANCE).target
    'IY'
    >>> DrillOptions(accent="British", strategy="distance").accent
    'non-rhotic'
    """

    target: str = "IY"
    """ARPAbet symbol of a monophthong, or EY for the onset of FACE."""

    accent: str = DEFAULT_ACCENT
    """Name of a profile (drillgen.core.accents)."""

    strategy: Strategy = Strategy.STRESSED
    rungs: int = 1
    """Partial versions between the marked original and the full swap."""

    locale: Locale | None = None
    """How numbers and dates are read; None: as goes with the accent."""

    watch: Watch = Watch.FAR
    """Vowels of the original words that are marked."""

    breath: int = BREATH
    """Syllables of a breath group at most, where the syntax allows (common practice)."""

    def __post_init__(self) -> None:
        put = partial(object.__setattr__, self)
        put("accent", parse_accent(self.accent))
        put("strategy", parse_choice(Strategy, self.strategy, "strategy"))
        put("watch", parse_choice(Watch, self.watch, "watch"))
        put("locale", parse_locale(self.locale or ""))
        if not 0 <= self.rungs <= MAX_RUNGS:
            raise OptionError(f"rungs must be 0 to {MAX_RUNGS}, not {self.rungs}")
        if not MIN_BREATH <= self.breath <= MAX_BREATH:
            raise OptionError(
                f"breath must be {MIN_BREATH} to {MAX_BREATH} syllables, not {self.breath}"
            )

    @property
    def spoken_locale(self) -> Locale:
        """The locale that was asked for, or the accent's."""
        return self.locale or Locale(load_accent(self.accent).locale)


@dataclass(frozen=True, slots=True)
class PageOptions:
    """How a worksheet is laid out.

    >>> PageOptions(large=True).size.value
    'a4'
    """

    size: PageSize = PageSize.A4
    large: bool = False
    """Large print: body text of 18 pt and more (common practice)."""


E_ = TypeVar("E_", bound=StrEnum)


def parse_choice(kind: type[E_], text: str, option: str) -> E_:
    """Read an option value, or raise OptionError that lists the choices."""
    try:
        return kind(text.strip().lower())
    except ValueError:
        choices = ", ".join(kind)
        raise OptionError(f"{option} {text!r} is unknown", f"choose one of: {choices}") from None


def list_units(first: Unit, last: Unit) -> tuple[Unit, ...]:
    """The way from one unit to another, both included. OptionError if `first` comes after."""
    units = tuple(Unit)
    way = units[units.index(first) : units.index(last) + 1]
    if not way:
        raise OptionError(f"{first} comes after {last}", "swap the two units")
    return way


def parse_locale(text: str) -> Locale | None:
    """Read a locale: american, british, or its language tag; None for an empty text.

    >>> parse_locale("British"), parse_locale("en_us"), parse_locale("")
    (<Locale.EN_GB: 'en-GB'>, <Locale.EN_US: 'en-US'>, None)
    """
    name = text.strip().lower().replace("_", "-")
    names = {"": None, "american": Locale.EN_US, "british": Locale.EN_GB}
    known = names | {locale.lower(): locale for locale in Locale}
    if name not in known:
        raise OptionError(f"--locale {text!r} is unknown", "choose american or british")
    return known[name]
