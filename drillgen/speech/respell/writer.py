"""The writer: phonemes to letters that an untrained adult reads right at sight."""

from __future__ import annotations

from typing import Final

from drillgen.core.phones import main_vowel
from drillgen.core.syllables import Syllable, syllabify
from drillgen.core.values import Grade, Phones, Respelling, Run, Swap
from drillgen.speech.respell.key import KEY, Key

_VOICELESS: Final = frozenset(["P", "T", "K", "F", "TH", "CH"])
# Vowels that English never has at the end of a stressed syllable: printed "kit-ee",
# since "kih-tee" invites the vowel of "kite".
_CHECKED: Final = frozenset(("IH", "EH", "AE", "UH", "OH"))
# Vowels whose letters end in an r or need one after them.
_BEFORE_R: Final = frozenset(("ER", "AO", "IA", "EA", "UA"))
# These can't close a syllable.
_ONSET_ONLY: Final = frozenset(("HH", "W", "Y"))
# First letters of clusters that English spelling has but doesn't say ("knee", "gnome",
# "psalm", "ptarmigan", "mnemonic", "tsunami"): at the start of a syllable they need a gap.
_MUTE: Final = frozenset(
    (
        ("K", "N"),
        ("G", "N"),
        ("P", "N"),
        ("P", "S"),
        ("P", "T"),
        ("M", "N"),
        ("T", "S"),
        ("T", "M"),
        ("D", "Z"),
        ("P", "F"),
        ("P", "SH"),
        ("B", "D"),
    )
)
# Letters that would be read as one: t + h, and so on. The tests prove with the parser
# that nothing is missing here.
_RUNS_INTO_H: Final = frozenset(
    ("P", "T", "K", "G", "S", "Z", "D", "W", "CH", "SH", "TH", "DH", "ZH", "NG", "N")
)
_RUNS_TOGETHER: Final = frozenset((("N", "G"), ("N", "K"), ("S", "SH")))
_FRONT_LETTERS: Final = "eiy"
_BACK: Final = frozenset(("AA", "AO"))
_LASTING: Final = frozenset(["M", "N", "L", "R", "F", "V", "S", "Z", "SH", "ZH"])


def cut_syllables(swap: Swap, *, yods: bool = False) -> list[Syllable]:
    """Divide a word where the respelling puts its hyphens.

    Maximal onsets, but a consonant moves back to the syllable before it
    (1) after a stressed checked vowel that was not swapped ("bet-ee", not
    "beh-tee"), as dictionaries do; (2) after r-coloured vowels that were not
    swapped, if it is the r; (3) before /j/ and an unstressed vowel
    ("peep-yee-leer", not "pee-pyee-leer").
    """
    phones = swap.after
    changed = frozenset(swap.changed)
    syllables = list(syllabify(phones, yods=yods))
    for number in range(1, len(syllables)):
        before, after = syllables[number - 1], syllables[number]
        # Only where the onset touches the vowel before it.
        first = before.nucleus + 1
        if after.start != first or first == after.nucleus:
            continue
        onset = phones[first].symbol
        vowel = phones[before.nucleus]
        if onset in _ONSET_ONLY:
            continue
        kept = before.nucleus not in changed
        if (
            (kept and vowel.symbol in _BEFORE_R and onset == "R")
            or (kept and vowel.symbol == "AE")
            or (kept and vowel.symbol in _CHECKED and vowel.stress)
            or (
                after.nucleus == first + 2
                and phones[first + 1].symbol == "Y"
                and vowel.stress
                and not phones[after.nucleus].stress
            )
        ):
            syllables[number - 1] = before._replace(end=first + 1)
            syllables[number] = after._replace(start=first + 1)
    return syllables


def respell(swap: Swap, grade: Grade = Grade.BEAT, key: Key = KEY) -> Respelling:
    """Write `swap.after` in the letters of `key`, syllables joined by hyphens.

    The syllable with the word's main stress carries `grade`; the others are plain.

    >>> from drillgen.core.phones import parse_phones
    >>> before, after = parse_phones("G EH1 T IH0 NG"), parse_phones("G IY1 T IY0 NG")
    >>> respell(Swap(before, after, (1, 3))).text
    'ghee-teeng'
    """
    phones = swap.after
    syllables = cut_syllables(swap, yods=key.yods)
    if not syllables:
        return Respelling((Run(_write_hum(phones, key)),))
    main = main_vowel(swap.before)
    changed = frozenset(swap.changed)
    runs: list[Run] = []
    for syllable in syllables:
        start, nucleus, end = syllable
        if runs:
            runs.append(Run("-"))
        stress = grade if nucleus == main else Grade.NONE
        swapped = nucleus in changed
        letters = _write_vowel(phones, syllable, swapped, key)
        if start < nucleus:
            runs.append(Run(_write_onset(phones[start:nucleus], letters, key), grade=stress))
        runs.append(Run(letters, True, swapped, stress))
        if nucleus + 1 < end:
            runs.append(Run(_write_coda(phones[nucleus + 1 : end], key), grade=stress))
    return Respelling(tuple(runs))


def _write_vowel(phones: Phones, syllable: Syllable, swapped: bool, key: Key) -> str:
    start, nucleus, end = syllable
    symbol = phones[nucleus].symbol
    spelling = key.vowels[symbol]
    if nucleus + 1 == end:
        return spelling.bare or spelling.open if start == nucleus else spelling.open
    if phones[nucleus + 1].symbol != "R":
        return spelling.closed
    if symbol in _BACK:
        # "war" has the vowel of "for", and "word" that of "fur".
        return spelling.open if phones[nucleus - 1].symbol == "W" else spelling.before_r
    # A target keeps its own letters before r, so that it is seen to be the target.
    return spelling.open if swapped else spelling.before_r


def _write_onset(onset: Phones, vowel: str, key: Key) -> str:
    letters: list[str] = []
    last = len(onset) - 1
    previous = ""
    for place, phone in enumerate(onset):
        symbol = phone.symbol
        if symbol == "W" and previous == "HH":
            letters[-1] = key.hw
        else:
            if previous and (
                _is_gap(previous, symbol)
                or (place == 1 and (previous, symbol) in _MUTE)
                or (symbol == "Y" and _is_glide_gap(previous, vowel, key))
            ):
                letters.append(key.gap)
            hard = symbol == "G" and place == last and vowel[0] in _FRONT_LETTERS
            letters.append(key.hard_g if hard else key.consonants[symbol])
        previous = symbol
    return "".join(letters)


def _write_coda(coda: Phones, key: Key) -> str:
    letters: list[str] = []
    last = len(coda) - 1
    previous = ""
    for place, phone in enumerate(coda):
        symbol = phone.symbol
        if symbol == "K" and previous == "NG":
            letters[-1] = key.nk
        else:
            if symbol in _ONSET_ONLY or (previous and _is_gap(previous, symbol)):
                letters.append(key.gap)
            following = coda[place + 1].symbol if place < last else ""
            if symbol == "S" and previous not in _VOICELESS and following not in _VOICELESS:
                letters.append(key.final_s)
            elif symbol == "Z":
                letters.append(key.final_z)
            else:
                letters.append(key.consonants[symbol])
        previous = symbol
    return "".join(letters)


def _write_hum(phones: Phones, key: Key) -> str:
    """A word without a vowel: "hmm", "shh", "psst" would be read as a long sound."""
    letters: list[str] = []
    previous = ""
    for phone in phones:
        if previous and _is_gap(previous, phone.symbol):
            letters.append(key.gap)
        letters.append(key.consonants[phone.symbol])
        previous = phone.symbol
    if previous in _LASTING:
        letters.append(letters[-1][-1])
    return "".join(letters)


def _is_gap(left: str, right: str) -> bool:
    """Whether the letters of two consonants would run together."""
    if left == right:
        return True
    if right == "HH":
        return left in _RUNS_INTO_H
    return (left, right) in _RUNS_TOGETHER


def _is_glide_gap(previous: str, vowel: str, key: Key) -> bool:
    """Whether y after a consonant looks like a vowel letter: "byee", but not "byoo"."""
    return key.glide_gap and (previous == "G" or vowel[:2] not in ("oo", "uu"))
