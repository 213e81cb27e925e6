"""The values that flow through the pipeline.

Everything here is immutable. This module imports nothing of ours, so every
other module may import it. A value says what it is; the functions that make
it live in the room of their step (see docs/architecture.md).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, NamedTuple

from msgspec import Struct

if TYPE_CHECKING:
    from drillgen.core.views import VersionView, Word


class TokenKind(StrEnum):
    """What a stretch of the original text is."""

    WORD = "word"
    """Letters, with inner apostrophes and hyphens."""

    NUMBER = "number"
    """Anything read through its digits or sign: 7, 1st, 3:30, £4.50, IV, ½."""

    PUNCTUATION = "punctuation"
    """Marks that are not said but may end a phrase."""

    SPACE = "space"
    """White space, kept as it was written."""

    OTHER = "other"
    """Anything else: emoji, symbols, scripts that we can't read aloud."""


class Token(NamedTuple):
    """A stretch of the original text and the words that are said for it.

    Joining the `text` of all tokens gives back the original exactly. A named
    tuple, not a dataclass: a long text makes two per word, and a tuple is
    three times as fast to make.
    """

    text: str
    """The original characters."""

    start: int
    """Offset of the first character in the original text (code points)."""

    end: int
    """Offset just past the last character."""

    kind: TokenKind

    spoken: tuple[str, ...] = ()
    """Lower-case words to say, in order: ("doctor",) for "Dr.", ("twenty",
    "three") for "23". A single letter followed by a full stop ("b.") is the
    name of that letter, as in CMUdict. Empty: nothing is said."""

    other: tuple[tuple[str, ...], ...] = ()
    """What else it could be read as, each as in `spoken`, where that is open."""

    note: str = ""
    """What it was taken for, for the teacher: "a date, month first"."""


class Boundary(StrEnum):
    """How strongly a phrase is closed off (IPA suprasegmentals)."""

    NONE = "none"
    """A place to breathe in a long stretch that has no punctuation."""

    MINOR = "minor"
    """IPA | (minor group): comma, dash, bracket, colon, semicolon."""

    MAJOR = "major"
    """IPA ‖ (major group): the end of a sentence or paragraph."""


class Tune(StrEnum):
    """Where the pitch goes at the end of a phrase."""

    FALL = "fall"
    RISE = "rise"
    LEVEL = "level"


class Clause(NamedTuple):
    """Where marks of punctuation or line ends close a stretch of tokens."""

    end: int
    """Number of the token after it."""

    boundary: Boundary
    marks: str
    """The characters that close it, such as "," or "?”"; empty at a line's or the text's end.
    An opening bracket: the bracket begins the next clause."""

    sentence: int
    """Number of the token that its sentence, or its part of a quotation, begins with."""

    paragraph: bool = False
    """A new paragraph begins after it."""

    line: bool = False
    """A line of verse ends with it."""


class Grade(StrEnum):
    """How strongly a word, by its main syllable, stands out in its phrase (Wells 2006)."""

    NONE = "none"
    """No stress: said lightly in passing."""

    BEAT = "beat"
    """A stressed syllable: the rhythm falls on it."""

    NUCLEUS = "nucleus"
    """The main beat, where the tune of the phrase begins; each phrase has one."""


class Phrase(Struct, frozen=True):
    """The tokens of one breath group (intonation phrase), trailing space and marks included."""

    tokens: tuple[Token, ...]
    boundary: Boundary
    tune: Tune
    sentence: int
    """Number of the sentence in the text, from 0. A "Hi!" is part of the one that it leads; in
    verse each begins with a line."""

    paragraph: int
    """Number of the paragraph in the text, from 0."""

    grades: tuple[tuple[Grade, ...], ...] = ()
    """Per token, the grade of each spoken word: its main syllable carries it, its other
    syllables have none. One nucleus in all, unless nothing is said."""

    line: int = 0
    """Number of its line of verse in the text, from 1; 0 in prose."""


# A struct, which keeps its hash: phones stand in the keys of what is worked out once. Structs are
# also made four times as fast as dataclasses, where there is one for each word of a text.
class Phone(Struct, frozen=True, cache_hash=True):
    """One phoneme in ARPAbet, without the stress digit."""

    symbol: str
    """Upper-case ARPAbet symbol, such as "IY" or "NG"."""

    stress: int | None = None
    """0 unstressed, 1 primary, 2 secondary; None for consonants."""

    @property
    def is_vowel(self) -> bool:
        """Only vowels carry a stress digit in CMUdict's notation."""
        return self.stress is not None

    def __str__(self) -> str:
        return self.symbol if self.stress is None else f"{self.symbol}{self.stress}"


Phones = tuple[Phone, ...]


class Origin(StrEnum):
    """Where a pronunciation came from, surest first."""

    OVERRIDE = "override"
    """The user's own file."""

    DICTIONARY = "dictionary"
    """CMUdict or a table of our own: one entry, or the one that the variant policy picks."""

    HOMOGRAPH = "homograph"
    """CMUdict or our table, chosen by context."""

    WIKTIONARY = "wiktionary"
    """A word that CMUdict lacks, as Wiktionary says it."""

    MISAKI = "misaki"
    """A word that both lack, as the dictionaries of the package misaki say it."""

    SPELLED = "spelled"
    """Read letter by letter."""

    NAME = "name"
    """A name, read by the letters of the language that it looks like."""

    DERIVED = "derived"
    """Built from a known word: inflection, affix, compound."""

    SLIP = "slip"
    """No word: read as the common word that it is a slip of the keys for."""

    PREDICTED = "predicted"
    """Guessed from the spelling."""


@dataclass(frozen=True, slots=True)
class Pronunciation:
    """How one spoken word is said, and how we know."""

    word: str
    """The spoken word, lower case."""

    phones: Phones
    origin: Origin
    confidence: float = 1.0
    """Estimated chance, 0 to 1, that consonants and vowel places are right."""

    alternatives: tuple[Phones, ...] = ()
    """Other pronunciations on offer, without `phones` itself, best first."""

    note: str = ""
    """Why this one, for the teacher: "plural of boat", "as a verb"."""

    entries: tuple[Phones, ...] = ()
    """`phones` and the alternatives as the dictionary has them, where the accent changes
    more than an r after NURSE; else empty."""

    @property
    def listed(self) -> tuple[Phones, ...]:
        """`phones` and the alternatives as a word list holds them, before the accent."""
        return self.entries or (self.phones, *self.alternatives)


class Swap(Struct, frozen=True):
    """A pronunciation before and after the substitution.

    `before` and `after` have the same length; they differ only at `changed`.
    """

    before: Phones
    after: Phones
    changed: tuple[int, ...]
    """Indexes of the vowels that were replaced, ascending. A vowel that is the
    target already does not change."""


class Run(NamedTuple):
    """A piece of a word as it is printed."""

    text: str
    vowel: bool = False
    """The letters of a vowel."""

    swapped: bool = False
    """The letters of a vowel that was replaced by the target."""

    grade: Grade = Grade.NONE
    """The stress of the syllable that it is part of."""

    voiced: bool = False
    """The letters "th" for /ð/. The key writes both sounds of English th alike,
    as English does; a format may set this one apart, quietly."""

    watched: bool = False
    """The letters of a vowel to watch, in the original words."""

    @property
    def stressed(self) -> bool:
        """Whether its syllable is a beat or the nucleus."""
        return self.grade is not Grade.NONE


class Respelling(Struct, frozen=True):
    """One token as it is printed in one version. The texts join to `text`."""

    runs: tuple[Run, ...]
    respelled: bool = True
    """False: the original spelling stands (marked or left as it was)."""

    replaced: tuple[tuple[int, ...], ...] = ()
    """Per spoken word, the indexes of the phones that the target takes the place of; empty
    where all stay."""

    @property
    def text(self) -> str:
        """The plain characters, without any emphasis."""
        return "".join(run.text for run in self.runs)

    @property
    def swapped(self) -> bool:
        """Whether any vowel in it was replaced."""
        return any(run.swapped for run in self.runs)


class VersionKind(StrEnum):
    """The graded versions of a text."""

    FULL = "full"
    """Every vowel is the target."""

    PARTIAL = "partial"
    """Some vowels are the target: one rung of the ladder."""

    MARKED = "marked"
    """The original words, vowel letters marked."""


class Line(Struct, frozen=True):
    """One phrase in one version: a respelling per token of the phrase."""

    cells: tuple[Respelling | None, ...]
    """As long as the phrase's tokens; None where nothing is said (the token's
    own text stands)."""


@dataclass(frozen=True, slots=True)
class Version:
    """The whole text at one rung."""

    kind: VersionKind
    lines: tuple[Line, ...]
    """One per phrase of the drill."""

    share: float
    """Replaced vowels as a share of those that the full swap replaces, 0 to 1."""

    strategy: str = ""
    """Name of the partial strategy, empty for full and marked."""

    rung: int = 0
    """Number of the rung, from 1 at the fewest swapped vowels; 0: no ladder."""

    changed: tuple[str, ...] = ()
    """ARPAbet symbols of the vowels that are replaced in it, commonest first."""


@dataclass(frozen=True, slots=True)
class ReviewItem:
    """A word whose pronunciation the teacher should look at, or at least know of."""

    word: str
    """The spoken word, lower case."""

    token: Token
    """Where it stands in the text."""

    context: str
    """The sentence around it."""

    pronunciation: Pronunciation
    reason: str
    """One short sentence: why it is listed."""

    doubtful: bool = True
    """False: guessed from the spelling, but probably right."""

    readings: tuple[str, ...] = ()
    """For a number, sign or abbreviation: what it was read as, then what else it could be.
    `word` is then the form itself, and writing it out settles it. Empty for words."""


@dataclass(frozen=True, slots=True)
class Passage:
    """A text to practise.

    >>> Passage("Two boats.", title="Boats").title
    'Boats'
    """

    text: str
    title: str = ""
    source: str = ""
    """File name or corpus key, for messages; never printed on a sheet."""


class KeyEntry(NamedTuple):
    """One line of the respelling key."""

    spelling: str
    """What the sheet prints."""

    ipa: str
    """The sound in IPA, without slashes."""

    example: str
    """A common word that has it."""

    note: str = ""
    """A hint for the reader, where one is needed."""


class Flow(NamedTuple):
    """How a word goes in connected speech, for the inflected delivery."""

    weak: bool = False
    """A function word that is said lightly here."""

    linked: bool = False
    """Its last sound leads over to the vowel of the next word (IPA ‿)."""


@dataclass(frozen=True, slots=True, repr=False)
class Drill:
    """A text in its graded versions.

    >>> import drillgen
    >>> drill = drillgen.make_drill("Two boats.")
    >>> drill
    <Drill 'Two boats.', 3 versions, 0 to review>
    >>> drill.full.text, drill.marked.text, drill.words[1].ipa
    ('tee beets.', 'Two boats.', 'boʊts')
    """

    passage: Passage
    target: str
    """ARPAbet symbol of the target vowel."""

    rhotic: bool
    phrases: tuple[Phrase, ...]
    readings: tuple[tuple[tuple[Pronunciation, ...], ...], ...]
    """Per phrase, per token, a pronunciation for each spoken word. Phones are
    already in the drill's accent."""

    flow: tuple[tuple[Flow, ...], ...]
    """Per phrase and token, weak forms and links; they are marked, not respelled."""

    versions: tuple[Version, ...]
    review: tuple[ReviewItem, ...]
    key: tuple[KeyEntry, ...]
    """The entries of the respelling key that the versions use."""

    accent: str = "rhotic"
    """Name of its profile (drillgen.core.accents)."""

    notes: tuple[str, ...] = ()
    """What should be known of the word list in this text, a sentence each."""

    # For whoever looks at a drill: print it, or end a notebook cell with it. The module of
    # the views sees this one, so it is imported when it is asked for.

    @property
    def full(self) -> VersionView:
        """The version in which every vowel is the target."""
        return self._view(VersionKind.FULL)[0]

    @property
    def partials(self) -> tuple[VersionView, ...]:
        """The partial versions, most swapped vowels first."""
        return self._view(VersionKind.PARTIAL)

    @property
    def marked(self) -> VersionView:
        """The original words with their vowels marked."""
        return self._view(VersionKind.MARKED)[0]

    @property
    def words(self) -> tuple[Word, ...]:
        """Everything that is said, with its sounds before and after the full swap."""
        return self.full.words

    def _view(self, kind: VersionKind) -> tuple[VersionView, ...]:
        from drillgen.core.views import VersionView

        return tuple(VersionView(self, v) for v in self.versions if v.kind is kind)

    def __str__(self) -> str:
        from drillgen.core.views import format_drill

        return format_drill(self)

    def __repr__(self) -> str:
        text = " ".join(self.passage.text.split())
        shown = text if len(text) <= 40 else f"{text[:39]}…"
        return f"<Drill {shown!r}, {len(self.versions)} versions, {len(self.review)} to review>"

    def _repr_html_(self) -> str:
        from drillgen.core.views import format_drill_html

        return format_drill_html(self)


class Delivery(StrEnum):
    """The three ways to say the text, in teaching order."""

    CHANT = "chant"
    INFLECTED = "inflected"
    CARRY_OVER = "carry-over"


@dataclass(frozen=True, slots=True)
class Pitch:
    """A reference pitch."""

    hz: float
    note: str
    """Nearest note of the equal-tempered scale at A4 = 440 Hz, in scientific
    pitch notation, such as "G3"."""

    cents: float
    """Distance from that note in cents, -50 to 50."""


@dataclass(frozen=True, slots=True)
class Worksheet:
    """Drills, and what a page needs besides.

    >>> import drillgen
    >>> drill = drillgen.make_drill("Two boats.")
    >>> drillgen.Worksheet((drill,), "Boats", drillgen.parse_pitch("G3")).repetitions
    3
    """

    drills: tuple[Drill, ...]
    title: str
    pitch: Pitch | None
    repetitions: int = 3
    """Tick boxes per delivery."""

    discreet: bool = False
    """No word on the page says what the exercise is for."""

    show_review: bool = True
    show_ipa: bool = False
    log_rows: int = 6
    show_flow: bool = True
    """Mark weak words and links in the full swap."""
