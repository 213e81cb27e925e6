"""The writer: phonemes to letters that an untrained adult reads right at sight."""

from __future__ import annotations

import functools
import re
from collections.abc import Iterator, Mapping
from itertools import pairwise
from types import MappingProxyType
from typing import Final

from drillgen.core.phones import main_vowel, vowel_indexes
from drillgen.core.syllables import Syllable, find_onset
from drillgen.core.values import Grade, Phone, Phones, Respelling, Run, Swap
from drillgen.speech.respell.joints import Joints, find_joints, find_parts
from drillgen.speech.respell.key import KEY, Key, Parts, load_clashes

_VOICELESS: Final = frozenset(["P", "T", "K", "F", "TH", "CH"])
# Vowels that English never has at the end of a stressed syllable: printed "kit-ee",
# since "kih-tee" invites the vowel of "kite".
_CHECKED: Final = frozenset(("IH", "EH", "AE", "UH", "OH"))
# Vowels whose letters end in an r or need one after them.
_BEFORE_R: Final = frozenset(("ER", "AO", "IA", "EA", "UA"))
# Vowels that are read right after a consonant and y: byoo, but not byee.
_AFTER_Y: Final = frozenset(("UW", "UH", "UA"))
# These can't close a syllable.
_ONSET_ONLY: Final = frozenset(("HH", "W", "Y"))
_NASALS: Final = MappingProxyType({"M": "m", "N": "n", "NG": "n"})
_SONORANTS: Final = frozenset(("M", "N", "NG", "L", "R", "W", "Y"))
# First letters of clusters that English spelling has but doesn't say ("knee", "gnome",
# "psalm", "ptarmigan", "mnemonic", "tsunami"): at the start of a syllable they need a gap.
_MUTE: Final = frozenset(
    [("P", "SH"), *map(tuple, ("KN", "GN", "PN", "PS", "PT", "MN", "TS", "TM", "DZ", "PF", "BD"))]
)
# Letters that would be read as one: t + h, and so on. The tests prove with the parser
# that nothing is missing here.
_RUNS_INTO_H: Final = frozenset(
    ("P", "T", "K", "G", "S", "Z", "D", "W", "CH", "SH", "TH", "DH", "ZH", "NG", "N")
)
_RUNS_TOGETHER: Final = frozenset(
    (("N", "G"), ("N", "K"), ("S", "SH"), ("TH", "DH"), ("DH", "TH"))
)
_FRONT_LETTERS: Final = "eiy"
_BACK: Final = frozenset(("AA", "AO", "OW"))
_LASTING: Final = frozenset(["M", "N", "L", "R", "F", "V", "S", "Z", "SH", "ZH"])
_NO_JOINTS: Final[Joints] = MappingProxyType({})
_NO_PARTS: Final[Mapping[int, tuple[str, tuple[int, ...]]]] = MappingProxyType({})


def cut_syllables(
    swap: Swap, joints: Joints = _NO_JOINTS, *, yods: bool = False
) -> list[Syllable]:
    """Divide a word where the respelling puts its hyphens.

    At the joints of the word; elsewhere maximal onsets, but a consonant moves
    back to the syllable before it (1) after a stressed checked vowel that was
    not swapped ("bet-ee", not "beh-tee"), as dictionaries do; (2) after
    r-coloured vowels that were not swapped, if it is the r; (3) before /j/ ("eek-yeez",
    not "ee-kyeez"); (4) if it is
    the k of /ŋk/ ("theenk-eeng"). Consonants that could not be said together
    at a syllable's end move forward ("leeng-lwee").
    """
    phones = swap.after
    nuclei = vowel_indexes(phones)
    starts = _start_syllables(phones, nuclei, frozenset(swap.changed), joints, yods)
    return list(map(Syllable, starts, nuclei, (*starts[1:], len(phones))))


def _start_syllables(
    phones: Phones, nuclei: tuple[int, ...], changed: frozenset[int], joints: Joints, yods: bool
) -> list[int]:
    starts = [0] if nuclei else []
    for number, (left, right) in enumerate(pairwise(nuclei)):
        between, joint = phones[left : right + 1], joints.get(number)
        starts.append(left + _cut_between(between, joint, left in changed, yods))
    return starts


@functools.lru_cache(maxsize=1 << 15)
def _cut_between(phones: Phones, joint: int | None, swapped: bool, yods: bool) -> int:
    """Where the hyphen stands in the phones from one vowel to the next, of which a text has few
    different ones; `joint`: before so many consonants."""
    last = len(phones) - 1
    start = find_onset(phones, yods=yods)
    if joint is not None:
        start = max(1, last - joint)
    elif start == last:
        return start
    elif start == 1:
        start += _moves_back(phones, swapped)
    elif phones[1].symbol == "NG":
        start += (phones[start].symbol, phones[start + 1].stress) == ("K", 0)
    if (
        start > 2
        and phones[start].symbol in _ONSET_ONLY
        and _rises(phones[start - 2].symbol, phones[start - 1].symbol)
    ):
        start -= 1
    return start


def _moves_back(phones: Phones, swapped: bool) -> bool:
    """Whether the first consonant between two vowels closes the syllable of the left one."""
    vowel, onset, following = phones[0], phones[1].symbol, phones[-1]
    if onset in _ONSET_ONLY:
        return False
    # "see-kyoor" is read right, "see-kyeer" is not.
    weak = following.symbol not in _AFTER_Y or (vowel.stress and not following.stress)
    if weak and len(phones) == 4 and phones[2].symbol == "Y":
        return True
    # Dictionaries print a secondary stress right before the main one; nobody says it.
    clash = vowel.symbol == "IH" and vowel.stress == 2 and following.stress == 1
    return not swapped and (
        (vowel.symbol in _BEFORE_R and onset == "R")
        or vowel.symbol == "AE"
        or (vowel.symbol in _CHECKED and bool(vowel.stress) and not clash)
    )


def _rises(left: str, right: str) -> bool:
    """Whether the voice would have to rise from the first to the second at a syllable's end."""
    if right not in _SONORANTS:
        return False
    return left not in ("R", "L") if right in _NASALS else left != "R" or right != "L"


def respell(
    swap: Swap, grade: Grade = Grade.BEAT, key: Key = KEY, *, word: str = ""
) -> Respelling:
    """Write `swap.after` in the letters of `key`, syllables joined by hyphens.

    `word` is the ordinary spelling in lower case: hyphens stand where it was
    put together, and a part that is a word whose sounds stayed keeps its own
    letters. The syllable with the word's main stress carries `grade`;
    the others are plain.

    >>> from drillgen.core.phones import parse_phones
    >>> before, after = parse_phones("G EH1 T IH0 NG"), parse_phones("G IY1 T IY0 NG")
    >>> respell(Swap(before, after, (1, 3))).text
    'ghee-teeng'
    """
    return Respelling(write_runs(swap, grade, key, word=word))


def write_runs(swap: Swap, grade: Grade, key: Key, *, word: str) -> tuple[Run, ...]:
    """The runs of `respell`."""
    changed = frozenset(swap.changed)
    phones, symbols = _ease(swap.after, changed)
    nuclei = vowel_indexes(phones)
    if not nuclei:
        return (Run(_write_hum(phones, key)),)
    joints = find_joints(word, phones) if word else _NO_JOINTS
    starts = _start_syllables(phones, nuclei, changed, joints, key.yods)
    main = main_vowel(swap.before, nuclei)
    target = symbols[swap.changed[0]] if changed else ""
    kept = _keep_parts(word, nuclei, changed) if word and changed else _NO_PARTS
    runs: list[Run] = []
    none = Grade.NONE
    ends = (*starts[1:], len(phones))
    for number, (start, nucleus, end) in enumerate(zip(starts, nuclei, ends, strict=True)):
        if number in kept:
            part, its = kept[number]
            if part:
                runs += [_HYPHEN] * bool(runs)
                runs.append(Run(part, grade=grade if main in its else Grade.NONE))
            continue
        if runs:
            runs.append(_HYPHEN)
        runs += _write_syllable(
            symbols[start:end],
            nucleus - start,
            symbols[nucleus] == target,
            nucleus in changed,
            grade if nucleus == main else none,
            key,
        )
    return tuple(runs)


def _keep_parts(
    word: str, nuclei: tuple[int, ...], changed: frozenset[int]
) -> Mapping[int, tuple[str, tuple[int, ...]]]:
    """Syllables of a compound's part in which nothing was swapped: its letters and vowels,
    at its first syllable; nothing at the others."""
    parts = find_parts(word)
    if parts is None:
        return _NO_PARTS
    kept: dict[int, tuple[str, tuple[int, ...]]] = {}
    cut = parts.vowels
    for part, first, its in ((parts.first, 0, nuclei[:cut]), (parts.second, cut, nuclei[cut:])):
        if its and changed.isdisjoint(its):
            kept |= {first + i: ("" if i else part, its) for i in range(len(its))}
    return kept


def _ease(phones: Phones, changed: frozenset[int]) -> tuple[Phones, tuple[str, ...]]:
    """Phones and their symbols, weak vowels that were kept as a reader looks for them: "kuh-rekt",
    whose r begins the stressed syllable, rather than "kur-ekt"; the last vowel of "schedule" as
    that of "do"; that of "handful" as its letters are."""
    symbols = tuple([phone.symbol for phone in phones])
    if _EASED.isdisjoint(symbols):
        return phones, symbols
    after = list(phones)
    target = symbols[min(changed)] if changed else ""
    for i, (phone, following, third) in enumerate(
        zip(phones, phones[1:], (*phones[2:], None), strict=False)
    ):
        if phone.stress not in (0, 2) or i in changed:
            continue
        foot = phone.symbol == "UH" and target not in ("UH", "UW")
        closed = not third.is_vowel if third else phone.stress == 2
        if foot and target != "AH" and following.symbol == "L" and closed:
            # "Hand-ful", but "skeh-jool".
            after[i] = Phone("AH", phone.stress)
        elif phone.stress:
            continue
        elif foot and following.symbol != "R":
            after[i] = Phone("UW", 0)
        elif phone.symbol == "ER" and third and third.stress and target not in ("ER", "AH"):
            after[i] = Phone("AH", 0) if following.symbol == "R" else phone
    return tuple(after), tuple([phone.symbol for phone in after])


_EASED: Final = frozenset(("UH", "ER"))
_HYPHEN: Final = Run("-")


@functools.lru_cache(maxsize=1 << 15)
def _write_syllable(
    symbols: tuple[str, ...], nucleus: int, target: bool, swapped: bool, grade: Grade, key: Key
) -> tuple[Run, ...]:
    """The runs of one syllable: a text has few different ones, so they are kept."""
    parts = write_syllable(symbols, nucleus, target, key)
    if key.shuns_words:
        parts = load_clashes(key.accent).get("".join(parts), parts)
    onset, vowel, coda = parts
    return (
        *_part_consonants(onset, symbols[:nucleus], grade),
        Run(vowel, True, swapped, grade),
        *_part_consonants(coda, symbols[nucleus + 1 :], grade),
    )


def write_syllable(symbols: tuple[str, ...], nucleus: int, target: bool, key: Key) -> Parts:
    """The letters of one syllable by the key alone, even if they are an English word.

    `target`: its vowel is the target, swapped or not, and keeps its own letters before r.
    """
    vowel = _write_vowel(symbols, nucleus, target, key)
    onset = _write_onset(symbols[:nucleus], vowel, key)
    coda = _write_coda(symbols[nucleus + 1 :], key)
    # "Wotch", not "woch", which looks like "loch".
    return onset, vowel, "t" * (len(vowel) == 1 and coda.startswith("ch")) + coda


def _part_consonants(letters: str, symbols: tuple[str, ...], grade: Grade) -> Iterator[Run]:
    """Consonant letters as runs; those of /ð/ apart, and a nasal hummed before the syllable."""
    hum, hyphen, letters = letters.rpartition("-")
    if hyphen:
        yield Run(hum)
        yield _HYPHEN
    if "DH" not in symbols:
        if letters:
            yield Run(letters, grade=grade)
        return
    # As many "th" as such sounds, in their order.
    sounds = iter([symbol for symbol in symbols if symbol in ("TH", "DH")])
    for part in re.split("(th)", letters):
        if part:
            voiced = part == "th" and next(sounds, "") == "DH"
            yield Run(part, grade=grade, voiced=voiced)


def _write_vowel(symbols: tuple[str, ...], nucleus: int, target: bool, key: Key) -> str:
    symbol = symbols[nucleus]
    spelling = key.vowels[symbol]
    if nucleus + 1 == len(symbols):
        return spelling.bare or spelling.open if not nucleus else spelling.open
    if symbols[nucleus + 1] != "R":
        return spelling.closed
    if symbol in _BACK:
        # "war" has the vowel of "for", and "word" that of "fur".
        if symbols[nucleus - 1] == "W" and nucleus:
            return key.vowels["AA" if symbol == "AA" else "AO"].open
        return spelling.before_r
    # A target keeps its own letters before r, so that it is seen to be the target.
    return spelling.open if target else spelling.before_r


def _write_onset(onset: tuple[str, ...], vowel: str, key: Key) -> str:
    letters: list[str] = []
    last = len(onset) - 1
    previous = ""
    for place, symbol in enumerate(onset):
        if symbol == "W" and previous == "HH":
            letters[-1] = key.hw
        else:
            if place == 1 and previous in _NASALS and symbol not in _SONORANTS:
                # No English syllable begins so: the nasal is hummed before it.
                letters[-1] = f"{_NASALS[previous]}-"
            elif previous and (
                _is_gap(previous, symbol) or (place == 1 and (previous, symbol) in _MUTE)
            ):
                letters.append(key.gap)
            elif previous and symbol == "Y":
                letters.append(key.glide)
            following = key.consonants[onset[place + 1]] if place < last else vowel
            hard = symbol == "G" and following[0] in _FRONT_LETTERS
            letters.append(key.hard_g if hard else key.consonants[symbol])
        previous = symbol
    return "".join(letters)


def _write_coda(coda: tuple[str, ...], key: Key) -> str:
    if coda[-2:] == ("N", "S"):
        return _write_coda(coda[:-2], key) + key.ns
    letters: list[str] = []
    last = len(coda) - 1
    previous = ""
    for place, symbol in enumerate(coda):
        if symbol == "K" and previous == "NG":
            letters[-1] = key.nk
        else:
            if symbol in _ONSET_ONLY or (previous and _is_gap(previous, symbol)):
                letters.append(key.gap)
            following = coda[place + 1] if place < last else ""
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
