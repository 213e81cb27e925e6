"""Names of other languages: what language one looks like, and how newsreaders say it.

A word that no dictionary is sure of and that is written with a capital is a name.
`judge_name` weighs what the dictionary or the spelling says in English against
letter_rules.py. Its limits and confidences were chosen on 640 names from memory and 255 of
Wiktionary that nothing here has learnt; bench/names.py measures the result on others.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

from drillgen.core.resources import data_file
from drillgen.core.values import Origin, Phones, Pronunciation
from drillgen.speech.pronounce.compare import outline
from drillgen.speech.pronounce.letter_rules import LetterRules

if TYPE_CHECKING:
    from numpy.typing import NDArray

ENGLISH: Final = "en"
TABLE: Final = "name_languages.npz"


def list_pieces(name: str) -> Iterator[str]:
    """The pieces of 1 to 4 characters of a lower-case name; ^ and $ are its edges."""
    whole = f"^{name}$"
    for size in (1, 2, 3, 4):
        yield from (whole[at : at + size] for at in range(len(whole) - size + 1))


class Languages:
    """Tells what language a name looks like; made by tools/train_name_languages.py."""

    def __init__(
        self,
        labels: Sequence[str],
        pieces: Sequence[str],
        weights: NDArray[np.float32],
        offset: NDArray[np.float32],
    ) -> None:
        """`weights`: a row per piece, a column per label."""
        self.labels: Final = tuple(labels)
        self._index: Final[Mapping[str, int]] = {piece: i for i, piece in enumerate(pieces)}
        self._weights: Final = weights
        self._offset: Final = offset

    @classmethod
    def load(cls) -> Languages:
        """The table of the installation."""
        with np.load(data_file(TABLE)) as saved:
            weights = saved["weights"].astype(np.float32) * saved["unit"]
            pieces = str(saved["pieces"]).split("\n")
            return cls(str(saved["labels"]).split(), pieces, weights, saved["offset"])

    def identify(self, name: str) -> list[tuple[str, float]]:
        """Language tags with their chances, likeliest first.

        >>> Languages.load().identify("Wiśniewska")[0][0]
        'pl'
        """
        letters = unicodedata.normalize("NFC", name.lower())
        # In one order, so that the sum is the same in every process.
        rows = sorted({self._index[p] for p in list_pieces(letters) if p in self._index})
        score = self._weights[rows].sum(axis=0) + self._offset
        chances = np.exp(score - score.max())
        chances /= chances.sum()
        order = np.argsort(-chances, kind="stable")
        return [(self.labels[i], float(chances[i])) for i in order.tolist()]


LEAST: Final = 0.03
"""Languages less likely than this have no say."""


class NameReading(NamedTuple):
    """How a name is said if it is read by the rules of the languages that it looks like."""

    phones: Phones
    language: str
    """Name of the likeliest language that says it so."""

    share: float
    """Chance of all languages that say it so, as the full swap hears it."""

    regular: bool = False
    """Whether the letters of that language need no second opinion."""


class NameReader:
    """Reads names by the letters."""

    def __init__(self, languages: Languages) -> None:
        self._languages: Final = languages

    @classmethod
    def load(cls) -> NameReader:
        """The rules of the installation."""
        return cls(Languages.load())

    def read(self, name: str) -> tuple[NameReading, ...]:
        """Readings of a name as it is written, likeliest first; () for an English one."""
        found: dict[tuple[str, ...], NameReading] = {}
        shares = self._languages.identify(name)
        if not name.isascii():
            # A language that lacks one of the letters is out, unless all do.
            able = [
                pair for pair in shares if pair[0] != ENGLISH and _load_rules(pair[0]).has(name)
            ]
            total = sum(share for _, share in able)
            shares = [(tag, share / total) for tag, share in able] or shares
        for tag, share in shares:
            if tag != ENGLISH and share >= LEAST:
                rules = _load_rules(tag)
                phones = rules.read(name)
                skeleton = outline(phones)
                if not any(phone.stress is not None for phone in phones):
                    continue
                known = found.get(skeleton)
                found[skeleton] = (
                    known._replace(share=known.share + share)
                    if known
                    else NameReading(phones, rules.name, share, rules.regular)
                )
        return tuple(sorted(found.values(), key=lambda reading: -reading.share))


@cache
def _load_rules(tag: str) -> LetterRules:
    return LetterRules.load(tag)


SURE: Final = 0.7
"""Share of the languages from which on a reading is nearly certain."""

PREFERRED: Final = 0.4
"""The same, from which on it stands instead of a guess that isn't twice as sure."""

LIKELY: Final = 0.5
"""The same, from which on it counts for a name with accents that nobody is sure of."""

AGAINST: Final = 0.4
"""Share of all languages that differ from a guess, from which on it is doubtful."""

AGREED: Final = 0.95
"""Confidence where a sure reading agrees with the other source."""

MARKED: Final = 0.9
"""Confidence of a sure reading of a name with accents that the other source ignores."""

CERTAIN: Final = 0.9
"""Share of the languages from which on the letters need no second opinion."""

DOUBTED: Final = 0.65
"""Highest confidence where the rules and the other source differ."""

_ENDINGS: Final = ("'s", "\u2019s")


def may_be_name(found: Pronunciation) -> bool:
    """Whether a word, if it has a capital, is a name that nobody is sure of."""
    origin = found.origin
    return origin in _UNSURE or (origin is _LISTED and found.confidence < 1)


_UNSURE: Final = frozenset({Origin.PREDICTED, Origin.WIKTIONARY, Origin.MISAKI, Origin.DERIVED})
_LISTED: Final = Origin.DICTIONARY


def split_possessive(written: str) -> tuple[str, bool]:
    """A name without its 's, and whether it had one."""
    for ending in _ENDINGS:
        if written.endswith(ending):
            return written.removesuffix(ending), True
    return written, False


def judge_name(
    found: Pronunciation, written: str, reader: NameReader, *, ours: bool = False
) -> Pronunciation:
    """How a name is said, from what is found without looking at its accents.

    `ours`: our own table has it, without accents. `written` is the name as it stands in the
    text.
    """
    name = written.capitalize() if written.isupper() and len(written) > 1 else written
    # A capital inside is English: "McRae", "LaToya", "Da'Quan".
    readings = () if name[1:] != name[1:].lower() else reader.read(name)
    if not readings:
        return found
    offers = [r.phones for r in readings]
    letters, share = offers[0], readings[0].share
    said = outline(found.phones)
    if ours and (share < CERTAIN or said in map(outline, offers)):
        return found
    if outline(letters) == said:
        if share < SURE:
            return found
        confidence = max(found.confidence, AGREED)
        if found.origin is not Origin.PREDICTED:
            return replace(found, confidence=confidence)
        note = f"read by the letters of {readings[0].language}; the guess agrees"
        others = _unlike(letters, found.alternatives)
        return Pronunciation(found.word, letters, Origin.NAME, confidence, others, note)
    heard = {outline(offer) for offer, r in zip(offers, readings, strict=True) if r.share > 0.1}
    if found.confidence == 1 and said in heard:
        # The dictionary follows another language that has the name.
        return found
    marked = not written.isascii()
    if not _prefer_rules(found, share, marked=marked):
        # Where the letters speak against it the guess is in doubt; else they are one more offer.
        against = sum(
            r.share for offer, r in zip(offers, readings, strict=True) if outline(offer) != said
        )
        guessed = found.origin is Origin.PREDICTED or (
            found.origin is Origin.DERIVED and found.confidence < 1
        )
        limit = DOUBTED if marked or (guessed and against >= AGAINST) else 1.0
        others = _unlike(found.phones, (*found.alternatives, *offers[:2]))
        return replace(found, confidence=min(found.confidence, limit), alternatives=others)
    certain = SURE if marked or readings[0].regular else CERTAIN
    limit = 2.0 if ours else certain  # where our table differs, ask
    return Pronunciation(
        found.word,
        letters,
        Origin.NAME,
        MARKED if share >= limit else min(DOUBTED, share),
        _unlike(letters, (found.phones, *offers[1:2], *found.alternatives)),
        f"read by the letters of {readings[0].language}",
    )


def _prefer_rules(found: Pronunciation, share: float, *, marked: bool) -> bool:
    """Whether a reading by the letters is likelier than what was found."""
    if marked:
        return share >= (SURE if found.confidence >= 0.9 else LIKELY)
    doubted = found.origin is Origin.DICTIONARY and found.confidence < 1
    guessed = found.origin is Origin.PREDICTED or (
        found.origin is Origin.DERIVED and found.confidence < 0.9
    )
    if doubted:
        return share >= SURE
    return guessed and share >= max(PREFERRED, found.confidence / 2)


def _unlike(chosen: Phones, offers: Sequence[Phones]) -> tuple[Phones, ...]:
    """The offers that sound otherwise than what was chosen, each once, at most four."""
    heard = {outline(chosen): chosen}
    for phones in offers:
        heard.setdefault(outline(phones), phones)
    return tuple(heard.values())[1:5]
