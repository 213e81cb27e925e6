"""What a practice page holds, as values: the hand-over from the sheets to its writer."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from drillgen.core.document import Keyboard, Sign, Spans, Ticks, Value
from drillgen.core.values import Delivery, Drill, KeyEntry, Tune, Version, VersionKind
from drillgen.core.wording import Wording

READ: Final = {
    Delivery.CHANT: (VersionKind.FULL,),
    Delivery.INFLECTED: (VersionKind.FULL,),
    Delivery.CARRY_OVER: (VersionKind.PARTIAL, VersionKind.MARKED),
}
"""What each delivery reads, its own last. On the way to the original words come the rungs."""


def list_read(drill: Drill, delivery: Delivery) -> tuple[Version, ...]:
    """The versions of a drill that a delivery reads, in the order of practice."""
    kinds = READ[delivery]
    versions = (version for version in drill.versions if version.kind in kinds)
    return tuple(sorted(versions, key=lambda v: (kinds.index(v.kind), -v.rung)))


class Chunk(Value, frozen=True):
    """A stretch of a printed word that the pacer lights at once."""

    spans: Spans
    syllables: int
    """Beats that it lasts; 0 where nothing is said."""

    nucleus: bool = False
    """The main beat: the arrow of the tune stands before it."""


class PageWord(Value, frozen=True):
    """What stands between two spaces."""

    original: str
    chunks: tuple[Chunk, ...]


class PagePhrase(Value, frozen=True):
    """What is practised at a time."""

    plain: str
    """As it is printed, for those who hear the page."""

    words: tuple[PageWord, ...]
    rest: int
    """Beats that the pacer waits at its end."""

    bar: str
    tune: Tune | None
    """None at a mere place to breathe: the tune goes on."""


class PageSentence(Value, frozen=True):
    """The phrases of a sentence, or of a line of verse."""

    phrases: tuple[PagePhrase, ...]
    opens: bool
    """It opens a paragraph."""


class PageText(Value, frozen=True):
    """A text in one version."""

    title: str
    sentences: tuple[PageSentence, ...]


class PageVersion(Value, frozen=True):
    """One version of all texts."""

    id: str
    kind: VersionKind
    paired: bool
    """The originals stand above."""

    label: str
    note: str
    ticks: tuple[Ticks, ...]
    texts: tuple[PageText, ...]


class Model(Value, frozen=True):
    """A phrase that is spoken before the client says it."""

    data: bytes
    """A sound file, such as an MP3."""

    seconds: float
    """How long it sounds: some players add silence before and after."""

    syllables: tuple[float, ...]
    """Seconds at which each syllable begins."""

    computer: bool = True
    """A computer says it, not a person."""


ModelRows = tuple[tuple[Model, ...], ...]
"""For each version that a delivery reads one model a phrase that is said, through all drills."""

Models = Mapping[Delivery, ModelRows]


class PageStep(Value, frozen=True):
    """One delivery."""

    name: str
    instruction: str
    cues: tuple[str, ...]
    """What to think of in the first turn of a phrase, in the middle ones, in the last."""

    versions: tuple[str, ...]
    """Ids of the versions that it reads."""

    models: ModelRows = ()
    """A row for each version; empty without sound."""


class PracticePage(Value, frozen=True):
    """All that the page shows and its script must know."""

    title: str
    wording: Wording
    pitch: Keyboard | None
    hertz: float | None
    """Of the reference pitch, unrounded."""

    steps: tuple[PageStep, ...]
    versions: tuple[PageVersion, ...]
    repetitions: int
    rate: float
    """Speed of the pacer, in syllables per second."""

    key: tuple[KeyEntry, ...]
    signs: tuple[Sign, ...]
    accent: str
    target: str
    """As the drills have them; both empty where there are none."""

    asks: bool = False
    """The titles of the texts are questions, and the texts answer them."""
