"""When two pronunciations count as the same.

In a full swap every vowel becomes the target, so only the consonants, the
number and place of the vowels and the stress are left to tell two
pronunciations apart.
"""

from __future__ import annotations

from typing import Final

from drillgen.core.phones import PHONE_TABLE
from drillgen.core.values import Phones

VOWEL: Final = "*"
"""Stands for any vowel in a skeleton. Not a letter: "V" is a consonant."""


def swap_skeleton(phones: Phones) -> tuple[str, ...]:
    """What the full swap leaves of a pronunciation: consonants and vowel places.

    NURSE (ER) is a vowel and an R, whether or not the R is already written
    out after it.

    >>> from drillgen.core.phones import parse_phones
    >>> swap_skeleton(parse_phones("B ER1 D"))
    ('B', '*', 'R', 'D')
    >>> swap_skeleton(parse_phones("L IH1 V"))
    ('L', '*', 'V')
    """
    skeleton = [
        phone.symbol if phone.stress is None or phone.symbol == "ER" else VOWEL for phone in phones
    ]
    if "ER" in skeleton:
        for i in range(len(skeleton) - 1, -1, -1):
            if skeleton[i] == "ER":
                skeleton[i : i + 1] = [VOWEL] if skeleton[i + 1 : i + 2] == ["R"] else [VOWEL, "R"]
    return tuple(skeleton)


def main_stress(phones: Phones) -> int | None:
    """Which vowel, from 0, carries the first primary stress; None without one."""
    stresses = [phone.stress for phone in phones if phone.stress is not None]
    return stresses.index(1) if 1 in stresses else None


def same_after_swap(a: Phones, b: Phones, *, stress: bool = False) -> bool:
    """Whether a full swap makes two pronunciations one.

    With `stress` the primary stress must fall on the same vowel as well. A
    word of one syllable has nothing to contrast, so its digit is left out.

    >>> from drillgen.core.phones import parse_phones
    >>> same_after_swap(parse_phones("L IY1 D"), parse_phones("L EH1 D"))
    True
    >>> same_after_swap(parse_phones("Y UW1 S"), parse_phones("Y UW1 Z"))
    False
    >>> noun, verb = parse_phones("P ER1 M IH2 T"), parse_phones("P ER0 M IH1 T")
    >>> same_after_swap(noun, verb), same_after_swap(noun, verb, stress=True)
    (True, False)
    """
    left = swap_skeleton(a)
    if left != swap_skeleton(b):
        return False
    return not stress or left.count(VOWEL) < 2 or main_stress(a) == main_stress(b)


def same_phones(a: Phones, b: Phones) -> bool:
    """Whether two pronunciations have the same phonemes, stress apart.

    >>> from drillgen.core.phones import parse_phones
    >>> same_phones(parse_phones("P ER1 M IH2 T"), parse_phones("P ER0 M IH1 T"))
    True
    """
    return len(a) == len(b) and all(x.symbol == y.symbol for x, y in zip(a, b, strict=True))


def outline(phones: Phones) -> tuple[str, ...]:
    """What the full swap leaves of a name; between a consonant and a vowel, y and ee are one:
    newsreaders say "Diego" with two syllables or with three.

    >>> from drillgen.core.phones import parse_phones
    >>> outline(parse_phones("D IY0 EY1 G OW0"))
    ('D', 'Y', '*', 'G', '*')
    """
    glides = {"IY": "Y", "UW": "W"}
    return swap_skeleton(
        tuple(
            PHONE_TABLE[glides[phone.symbol]]
            if phone.symbol in glides
            and phone.stress == 0
            and 0 < i < len(phones) - 1
            and phones[i - 1].stress is None
            and phones[i + 1].stress is not None
            else phone
            for i, phone in enumerate(phones)
        )
    )


_VOICELESS: Final = {"Z": "S", "ZH": "SH", "DH": "TH"}


def vary_freely(a: Phones, b: Phones) -> bool:
    """Whether a full swap makes two pronunciations one but for what speakers say either way:
    s or z, th with or without voice, sh or ch after n or s, gz or ks, a glide or its vowel.

    >>> from drillgen.core.phones import parse_phones
    >>> vary_freely(parse_phones("K AE1 ZH UW0 AH0 L"), parse_phones("K AE1 SH W AH0 L"))
    True
    >>> vary_freely(parse_phones("F AY1 N"), parse_phones("F IH1 N AH0"))
    False
    """
    return swap_skeleton(a) == swap_skeleton(b) or _loosen(a) == _loosen(b)


def _loosen(phones: Phones) -> tuple[str, ...]:
    row = [_VOICELESS.get(symbol, symbol) for symbol in outline(phones)]
    for i in range(1, len(row)):
        if row[i] == "CH" and row[i - 1] in ("N", "S"):
            row[i] = "SH"
        elif row[i] == "S" and row[i - 1] == "G":
            row[i - 1] = "K"
    return tuple(row)
