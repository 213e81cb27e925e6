"""Syllables by the maximal onset principle, and IPA with its stress marks.

Kahn (1976), Syllable-based generalizations in English phonology: consonants
between vowels go to the second syllable as long as English words may begin
with them.
"""

from __future__ import annotations

import functools
import itertools
from typing import Final, NamedTuple

from drillgen.core.accents import Accent
from drillgen.core.phones import main_vowel, phone_ipa, vowel_indexes
from drillgen.core.values import Phones


class Syllable(NamedTuple):
    """Half-open range of phones, and where its vowel is."""

    start: int
    nucleus: int
    end: int


ONSETS: Final = frozenset(
    tuple(onset.split())
    for row in (
        "P;B;T;D;K;G;CH;JH;F;V;TH;DH;S;Z;SH;ZH;HH;M;N;L;R;Y;W",
        "P R;B R;T R;D R;K R;G R;F R;TH R;SH R;P L;B L;K L;G L;F L;S L",
        "T W;D W;K W;G W;S W;TH W;S P;S T;S K;S M;S N;HH W",
        "P Y;B Y;K Y;F Y;V Y;M Y;HH Y",
        "S P R;S P L;S T R;S K R;S K W;S K L;S P Y;S K Y",
    )
    for onset in row.split(";")
)
"""Onsets of English words (Kahn 1976; Wells, Longman Pronunciation Dictionary).

As American English has them: no /j/ after a coronal ("new" is /nu/, so
"value" is val·ue and "onion" on·ion), and none after /ɡ/, where only a name or
two begins so ("reg·u·lar"). Clusters of loan words and names ("shm", "vl",
"ts") open a word but don't attract consonants inside one.
"""


YOD_ONSETS: Final = frozenset(
    (*first.split(), "Y") for first in ("T", "D", "N", "S", "Z", "L", "TH", "S T", "S N")
)
"""More onsets in accents that say /j/ after coronals ("new", "reduce", "assume")."""

LONGEST_ONSET: Final = max(map(len, ONSETS | YOD_ONSETS))


def syllabify(phones: Phones, *, yods: bool = False) -> tuple[Syllable, ...]:
    """Divide phones into syllables; they cover all phones, in order.

    `yods`: with YOD_ONSETS, but not between a stressed and an unstressed vowel
    ("val·ue"). Phones without any vowel ("hmm") have no syllable.
    """
    nuclei = vowel_indexes(phones)
    if not nuclei:
        return ()
    starts = [
        0,
        *[a + find_onset(phones[a : b + 1], yods=yods) for a, b in itertools.pairwise(nuclei)],
    ]
    return tuple(map(Syllable, starts, nuclei, (*starts[1:], len(phones))))


def find_main_syllable(phones: Phones) -> Syllable | None:
    """The one of the syllables of `syllabify` that carries the main stress; None without any."""
    nuclei = vowel_indexes(phones)
    main = main_vowel(phones, nuclei)
    if main is None:
        return None
    at = nuclei.index(main)
    start, end = 0, len(phones)
    if at:
        left = nuclei[at - 1]
        start = left + find_onset(phones[left : main + 1])
    if at + 1 < len(nuclei):
        end = main + find_onset(phones[main : nuclei[at + 1] + 1])
    return Syllable(start, main, end)


@functools.lru_cache(maxsize=1 << 14)
def find_onset(between: Phones, *, yods: bool = False) -> int:
    """Where in the phones from one vowel to the next the syllable of the second one begins: with
    the longest run of consonants between them that is an onset."""
    last = len(between) - 1
    symbols = tuple([phone.symbol for phone in between[1:-1]])
    joins = yods and bool(between[-1].stress or not between[0].stress)
    for k in range(max(len(symbols) - LONGEST_ONSET, 0), len(symbols)):
        if symbols[k:] in ONSETS or (joins and symbols[k:] in YOD_ONSETS):
            return 1 + k
    return last


def to_ipa(phones: Phones, accent: Accent | None = None) -> str:
    """Broad IPA with stress marks before the syllable and dots elsewhere.

    Phones of the dictionary without `accent`, else those of the accent.

    >>> from drillgen.core.phones import parse_phones
    >>> to_ipa(parse_phones("B Y UW1 T AH0 F AH0 L"))
    'ˈbju.tə.fəl'
    """
    syllables = syllabify(phones, yods=bool(accent and accent.yods))
    symbols = _write_ipa(phones, accent)
    if not syllables:
        return "".join(symbols)
    parts = []
    for number, syllable in enumerate(syllables):
        stress = phones[syllable.nucleus].stress
        mark = {1: "ˈ", 2: "ˌ"}.get(stress or 0, "." if number else "")
        # A word of one syllable carries no mark: there is nothing to contrast.
        mark = "" if len(syllables) == 1 else mark
        parts.append(mark + "".join(symbols[syllable.start : syllable.end]))
    return "".join(parts)


def _write_ipa(phones: Phones, accent: Accent | None) -> list[str]:
    if accent is None:
        return [phone_ipa(phone) for phone in phones]
    symbols = [phone_ipa(phone, accent.vowels) for phone in phones]
    if accent.long_before:
        for i, phone in enumerate(phones):
            free = i + 1 == len(phones) or phones[i + 1].symbol in accent.long_before
            if phone.stress and free:
                symbols[i] = accent.vowels[phone.symbol].long or symbols[i]
    return symbols
