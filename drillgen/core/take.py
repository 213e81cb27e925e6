"""What was measured in a take: the values behind the report, and its JSON (docs/check.md).

Times are seconds from the beginning of the take, pitches Hz or semitones, formants Hz.
"""

from __future__ import annotations

from enum import StrEnum

from msgspec import Struct

from drillgen.core.values import Delivery, Tune


class Change(StrEnum):
    """A difference between two takes, as far as it can be told from chance."""

    MORE = "more"
    LESS = "less"
    NONE = "none"
    """No difference that can be told from chance."""

    UNKNOWN = "unknown"
    """Too little to compare."""

    UNSURE = "unsure"
    """The formants can't be measured well enough, or not alike in both."""


class Doubt(StrEnum):
    """Why something in a take can't be measured well."""

    NOISY = "noisy"
    CLIPPED = "clipped"
    NARROW = "narrow"
    """Sampled too seldom for the model and for F3."""

    HIGH = "high"
    """So high that its harmonics lie too far apart to show the formants."""

    BLURRED = "blurred"
    """The formants come out otherwise with another way of measuring them."""

    BREATHY = "breathy"
    """Little of the vowels has a pitch."""

    SHORT = "short"
    ACCENT = "accent"
    """The model was trained on American English."""

    PARTIAL = "partial"
    """A large part of the text was not heard."""


class Syllable(Struct, frozen=True):
    """A syllable of the text as it was heard."""

    phrase: int
    token: int
    """Of the phrase."""

    word: int
    """Spoken word of the text, from 0."""

    vowel: int
    """Of its token, from 0."""

    own: str
    """ARPAbet symbol of the vowel of the original word."""

    meant: str
    """The vowel that the delivery asks for."""

    said: str
    """The vowel that was heard; empty: the syllable was not heard."""

    slip: bool
    """Another vowel than was asked for, as far as can be told."""

    start: float = 0.0
    end: float = 0.0
    """Of its vowel."""

    f0: float = 0.0
    f1: float = 0.0
    f2: float = 0.0
    f3: float = 0.0
    """Hz at the centre of the vowel; 0 where they could not be measured."""

    vague: bool = False
    """Another vowel was heard, but it can't be told: too short, or too near."""


class Ending(Struct, frozen=True):
    """How the end of a phrase went."""

    phrase: int
    tune: Tune
    semitones: float
    """From the main beat to the end, positive upwards."""

    done: bool


class Melody(Struct, frozen=True):
    """The pitch of a take, over its vowels."""

    median: float
    """Hz."""

    drift: float
    """Cents from the beginning to the end, by a robust line."""

    near: float | None
    """Share of the voiced time within 50 cents of the target; None without a target."""

    span: float
    """Semitones between the 5th and the 95th percentile."""

    spread: float
    """Standard deviation in semitones."""

    endings: tuple[Ending, ...]
    voiced: float
    """Share of the time of the vowels that has a pitch."""


class VowelMean(Struct, frozen=True):
    """The formants of a vowel: medians in Hz."""

    vowel: str
    tokens: int
    f1: float
    f2: float
    f3: float
    away: float | None = None
    """Bark, over F1 and F2, to the client's own vowel of the posture in the same take; None
    where that was heard too seldom."""


class Interval(Struct, frozen=True):
    """A difference with its bootstrap interval (95%)."""

    value: float
    low: float
    high: float


class Comparison(Struct, frozen=True):
    """A take beside an earlier one of the same text."""

    pairs: int
    """Syllables that have the same vowel in both."""

    f2: Interval
    """Change of the second formant as a share: 0.08 is 8% up."""

    gap: Interval
    """Change of the distance from F2 to F3 in Bark; smaller means brighter."""

    change: Change
    """Of brightness."""

    span_kept: float
    """Span of the pitch as a share of the earlier one's."""

    before: tuple[VowelMean, ...]
    """The vowels of the earlier take."""


class TakeReport(Struct, frozen=True):
    """All that was measured in a take."""

    delivery: Delivery
    target: float | None
    """Pitch asked for, in Hz."""

    anchor: str
    """ARPAbet symbol of the vowel of the posture."""

    seconds: float
    spoken: float
    """Seconds from the first syllable to the last, without the pauses between."""

    syllables: tuple[Syllable, ...]
    missing: tuple[int, ...]
    """Numbers of the spoken words that were not heard."""

    added: tuple[tuple[float, float], ...]
    """Sound that belongs to no word."""

    pauses: tuple[tuple[float, float], ...]
    """Long silences inside the text."""

    melody: Melody
    vowels: tuple[VowelMean, ...]
    comparison: Comparison | None
    doubts: tuple[Doubt, ...]

    @property
    def slips(self) -> tuple[Syllable, ...]:
        """The syllables that were said with another vowel."""
        return tuple(syllable for syllable in self.syllables if syllable.slip)

    @property
    def heard(self) -> int:
        """How many syllables with a vowel were heard."""
        return sum(bool(syllable.said) for syllable in self.syllables)

    @property
    def pace(self) -> float:
        """Syllables a second while speaking."""
        return self.heard / self.spoken if self.spoken else 0.0
