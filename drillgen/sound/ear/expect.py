"""What should be heard: the syllables of a drill in one delivery, with what else may be."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, NamedTuple

from drillgen.core.accents import load_accent
from drillgen.core.syllables import syllabify
from drillgen.core.values import Delivery, Drill, Phones, Pronunciation

_MODEL_PHONES: Final = {"OH": ("AA",), "IA": ("IH", "R"), "EA": ("EH", "R"), "UA": ("UH", "R")}
"""Vowels that the American model lacks, by those of its own that are nearest."""

OTHERS: Final = ("IY", "EH", "AA", "UW", "AH")
"""What a vowel may have become besides its own sound and the target: the corners of the
vowel space and the vowel of an unstressed syllable."""

_NEAR: Final = (
    frozenset(("AA", "AO", "OH", "AH")),
    frozenset(("AH", "IH", "EH", "UH")),
    frozenset(("UW", "UH")),
    frozenset(("IY", "IH")),
)
"""Vowels that are no slip for one another: mergers of accents, and reduced vowels."""


class Expected(NamedTuple):
    """A syllable that the take should hold."""

    word: int
    """Number of its spoken word in the text."""

    token: tuple[int, int]
    """Phrase, and token of the phrase."""

    vowel: int
    """Number of the vowel in its token; -1 for a word without any."""

    owns: tuple[str, ...]
    """ARPAbet symbols of the vowel of the original word, in each way that it may be said."""

    meant: str
    """The vowel that the delivery asks for."""

    sounds: tuple[tuple[str, tuple[str, ...]], ...]
    """What may be said: a vowel, and the phones of the model with it; what is meant first."""


def expect_syllables(drill: Drill, delivery: Delivery) -> tuple[Expected, ...]:
    """The syllables of a drill in the order of the text.

    >>> import drillgen
    >>> drill = drillgen.make_drill("Two boats.")
    >>> [(s.owns, s.meant, s.sounds[0][1]) for s in expect_syllables(drill, Delivery.CHANT)]
    [(('UW',), 'IY', ('T', 'IY')), (('OW',), 'IY', ('B', 'IY', 'T', 'S'))]
    """
    return tuple(_iter_expected(drill, delivery))


def _iter_expected(drill: Drill, delivery: Delivery) -> Iterator[Expected]:
    yods = load_accent(drill.accent).yods
    swapped = delivery is not Delivery.CARRY_OVER
    word = 0
    for phrase, row in enumerate(drill.readings):
        for token, said in enumerate(row):
            vowel = 0
            for reading in said:
                phones = reading.phones
                others = _other_vowels(reading)
                for nucleus, syllable in enumerate(syllabify(phones, yods=yods)):
                    part = phones[syllable.start : syllable.end]
                    place = syllable.nucleus - syllable.start
                    own = part[place].symbol
                    meant = drill.target if swapped else own
                    owns = (own, *(vowels[nucleus] for vowels in others))
                    heard = tuple(_iter_sounds(part, place, meant, drill.target, owns))
                    yield Expected(word, (phrase, token), vowel, owns, meant, heard)
                    vowel += 1
                if phones and not any(phone.is_vowel for phone in phones):
                    plain = (("", _to_model(phones)),)
                    yield Expected(word, (phrase, token), -1, (), "", plain)
                word += 1


def _iter_sounds(
    part: Phones, place: int, meant: str, target: str, owns: tuple[str, ...]
) -> Iterator[tuple[str, tuple[str, ...]]]:
    own = part[place].symbol
    symbols = [phone.symbol for phone in part]
    seen: set[tuple[str, ...]] = set()
    close = _NEAR[1] if own in _NEAR[1] and not part[place].stress else ()
    for vowel in dict.fromkeys((meant, target, *owns, *sorted(close), *OTHERS)):
        phones = _model_symbols([*symbols[:place], vowel, *symbols[place + 1 :]])
        if phones not in seen:
            seen.add(phones)
            yield vowel, phones


def _other_vowels(reading: Pronunciation) -> list[tuple[str, ...]]:
    """The vowels of the other ways to say a word that has as many of them."""
    count = sum(phone.is_vowel for phone in reading.phones)
    rows = [tuple(p.symbol for p in phones if p.is_vowel) for phones in reading.alternatives]
    return [row for row in rows if len(row) == count]


def _to_model(phones: Phones) -> tuple[str, ...]:
    return _model_symbols([phone.symbol for phone in phones])


def _model_symbols(symbols: list[str]) -> tuple[str, ...]:
    """Phones of the model: NURSE is one there, and other vowels become their nearest.

    >>> _model_symbols(["B", "ER", "R", "D"]), _model_symbols(["L", "OH", "T"])
    (('B', 'ER', 'D'), ('L', 'AA', 'T'))
    """
    phones: list[str] = []
    for symbol in symbols:
        for phone in _MODEL_PHONES.get(symbol, (symbol,)):
            if not (phone == "R" and phones and phones[-1] in ("ER", "R")):
                phones.append(phone)
    return tuple(phones)


def same_vowel(a: str, b: str) -> bool:
    """Whether hearing one for the other is no slip.

    >>> same_vowel("AA", "AO"), same_vowel("IY", "AA")
    (True, False)
    """
    return a == b or any({a, b} <= group for group in _NEAR if "IY" not in group)
