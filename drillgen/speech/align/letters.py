"""Align the letters of a word with its phonemes.

The cheapest way through a grid of letters and phonemes (dynamic programming),
with the costs that tools/train_align.py learned from CMUdict: costs are
natural logarithms of probabilities with the sign turned. Units that training
never saw but that spelling allows come second, then sound-for-letter guesses
of the right class; what still does not fit is one chunk.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping, Sequence
from itertools import product
from string import ascii_lowercase, digits
from types import MappingProxyType
from typing import Final, NamedTuple

from drillgen.core.errors import ResourceError
from drillgen.core.resources import data_file, find_line, read_table
from drillgen.core.values import Phones
from drillgen.speech.align.units import CODES as _CODES
from drillgen.speech.align.units import (
    LETTER_NAMES,
    MAX_LETTERS,
    MAX_PHONES,
    SCHWA,
    VOWEL_LETTERS,
    encode_phones,
    first_silent_extra,
    is_admissible,
    silent_extra,
)

MAX_PATHS: Final = 10_000
"""Words to keep before starting afresh."""

_RARE: Final = 12.0
_ODD: Final = 16.0
_FUSED_AFTER_VOWEL: Final = 4.0
"""Nats: in "Israel" the last vowel is that of the e, not of the l."""


_NOTHING: Final[Mapping[str, float]] = MappingProxyType({})


_Path = tuple[tuple[int, int, int, int], ...]
"""Steps: letters from, to; phonemes from, to."""


_UNKNOWN: Final[_Path] = ()

PATHS: Final = "align_paths.tsv"
"""The paths of common words, made by tools/make_align_paths.py: letters, code, shape."""

SHAPES: Final = dict(
    zip(digits + ascii_lowercase, product(range(1, MAX_LETTERS + 1), range(9)), strict=True)
)
"""A step by its character in a path's shape: how many letters, how many phonemes, of which the
longest name of a letter has seven."""


class Chunk(NamedTuple):
    """Letters and the phonemes that they stand for."""

    letters: str
    start: int
    """Offset of the first letter in the word."""

    end: int
    """Offset just past the last letter."""

    phones: tuple[int, ...]
    """Indexes of the phonemes, ascending; () for silent letters."""


class AlignCosts(NamedTuple):
    """The cost of each unit: letters → coded phonemes → nats."""

    units: Mapping[str, Mapping[str, float]]
    longest: Mapping[str, int]
    """Most phonemes that the letters stand for."""

    reach: Mapping[str, int]
    """Two letters → how many letters the longest unit has that begins with them."""

    after_vowel: Mapping[str, Mapping[str, float]]
    """The same for units that fuse a vowel with l, m, n or r: seldom after a vowel letter."""

    stored: Sequence[str]
    """The lines of PATHS, in order."""

    paths: dict[tuple[str, str], _Path | None]
    """Those found so far: each follows from its letters and code."""


@functools.cache
def load_costs() -> AlignCosts:
    """The trained table (read once, never changed)."""
    units: dict[str, dict[str, float]] = {}
    for row in read_table("align_costs.tsv.gz"):
        try:
            letters, symbols, cost = row
            code = "" if symbols == "-" else "".join(_CODES[s] for s in symbols.split())
            units.setdefault(letters, {})[code] = float(cost)
        except (KeyError, ValueError):
            raise ResourceError(
                "the file align_costs.tsv.gz of drillgen is damaged", "install drillgen again"
            ) from None
    # "Houston": training sees too few such words.
    units["ou"][_CODES["Y"] + _CODES["UW"]] = _RARE
    longest = {letters: max(map(len, options)) for letters, options in units.items()}
    fused = {
        letters: {
            code: cost + _FUSED_AFTER_VOWEL * ("" < code[:1] < "a")
            for code, cost in options.items()
        }
        for letters, options in units.items()
        if letters[0] in "lmnr"
    }
    reach: dict[str, int] = {}
    for letters in units:
        reach[letters[:2]] = max(reach.get(letters[:2], 1), len(letters))
    stored = data_file(PATHS).read_text(encoding="utf-8").splitlines()
    return AlignCosts(units, longest, reach, fused, stored, {})


def read_stored(letters: str, code: str, stored: Sequence[str]) -> _Path | None:
    """The path of a common word, which a search would find too; None for other words."""
    shape = find_line(stored, f"{letters}\t{code}\t")
    if shape is None:
        return None
    path = []
    a = c = 0
    for step in shape:
        size, phones = SHAPES[step]
        b, d = a + size, c + phones
        path.append((a, b, c, d))
        a, c = b, d
    return tuple(path)


def _trace(rows: list[dict[int, tuple[float, int, int]]], size: int, goal: int) -> _Path:
    path = []
    i, j = size, goal
    while i:
        _, i0, j0 = rows[i][j]
        path.append((i0, i, j0, j))
        i, j = i0, j0
    return tuple(reversed(path))


def _search_table(letters: str, code: str, costs: AlignCosts) -> _Path | None:
    """The cheapest path with trained units only, or None.

    In one piece because the search is the hottest loop and calls cost.
    """
    units, longest, reach, fused = costs.units, costs.longest, costs.reach, costs.after_vowel
    size, goal = len(letters), len(code)
    # Where a unit that starts at phoneme j may end, and its phonemes: cut once per word,
    # for units of at most one, two and three phonemes.
    full = [
        [(j + n, code[j : j + n]) for n in (1, 2, MAX_PHONES)][: goal - j] for j in range(goal + 1)
    ]
    pieces: tuple[list[list[tuple[int, str]]], ...]
    pieces = [[]] * (goal + 1), [short[:1] for short in full], [short[:2] for short in full], full
    rows: list[dict[int, tuple[float, int, int]]] = [{} for _ in range(size + 1)]
    rows[0][0] = (0.0, 0, 0)
    for i in range(size):
        row = rows[i]
        if not row:
            continue
        steps = [(j, step[0]) for j, step in row.items()]
        after_vowel = i and letters[i - 1] in VOWEL_LETTERS
        silent = units.get(letters[i], _NOTHING).get("")
        if silent is not None:
            if letters[i] in VOWEL_LETTERS:
                silent += silent_extra(letters, i) + first_silent_extra(letters, i)
            target = rows[i + 1]
            for j, base in steps:
                total = base + silent
                old = target.get(j)
                if old is None or total < old[0]:
                    target[j] = (total, i, j)
        for stop in range(i + 1, min(i + reach.get(letters[i : i + 2], 1), size) + 1):
            if (found := units.get(part := letters[i:stop])) is None:
                continue
            if after_vowel and part in fused:
                found = fused[part]
            target = rows[stop]
            short = pieces[longest[part]]
            for j, base in steps:
                for k, piece in short[j]:
                    if piece in found:
                        total = base + found[piece]
                        old = target.get(k)
                        if old is None or total < old[0]:
                            target[k] = (total, i, j)
    return _trace(rows, size, goal) if goal in rows[size] else None


@functools.lru_cache(maxsize=1 << 14)
def _guess_cost(letters: str, code: str, following: str) -> float | None:
    """The cost of a unit that training did not see, or None."""
    if code in LETTER_NAMES.get(letters, ()):
        return _RARE
    if is_admissible(letters, code, following):
        return _RARE + 0.5 * len(letters)
    if len(letters) > 2 or "'" in letters:
        return None
    has_vowel = not VOWEL_LETTERS.isdisjoint(letters)
    vowels = [c < "a" for c in code]
    if len(code) == 1:
        fits = has_vowel if vowels[0] else not VOWEL_LETTERS.issuperset(letters)
    elif len(code) == 2 and len(letters) == 1:
        # Two vowels of one letter, a schwa that slips in beside a consonant, two consonants.
        fits = has_vowel if all(vowels) else not has_vowel
        if fits and vowels != [False, False] and not has_vowel:
            fits = _CODES[SCHWA] in code
    else:
        return None
    return _ODD + len(code) + len(letters) if fits else None


def _search_guesses(letters: str, code: str, costs: AlignCosts) -> _Path | None:
    """The cheapest path with unseen units too, or None. Slower."""
    size, goal = len(letters), len(code)
    rows: list[dict[int, tuple[float, int, int]]] = [{} for _ in range(size + MAX_LETTERS)]
    rows[0][0] = (0.0, 0, 0)
    for i in range(size):
        silent = silent_extra(letters, i)
        for length in range(1, min(MAX_LETTERS, size - i) + 1 if rows[i] else 1):
            part = letters[i : i + length]
            options = costs.units.get(part, {})
            # Only the names of letters, and "mc", stand for more than two phonemes unseen.
            named = max(map(len, LETTER_NAMES.get(part, ())), default=0)
            longest = max(named, costs.longest.get(part, 0), 3 if part == "mc" else 2)
            for j, (base, _, _) in rows[i].items():
                for k in range(j, min(goal, j + longest) + 1):
                    code_part = code[j:k]
                    cost = options.get(code_part)
                    if cost is None:
                        following = letters[i + length : i + length + 1]
                        cost = _guess_cost(part, code_part, following)
                        if cost is None:
                            continue
                    if not code_part:
                        cost += silent
                    old = rows[i + length].get(k)
                    if old is None or base + cost < old[0]:
                        rows[i + length][k] = (base + cost, i, j)
    return _trace(rows, size, goal) if goal in rows[size] else None


def search_path(letters: str, code: str, costs: AlignCosts) -> _Path | None:
    """What `find_path` answers, without what is stored or kept."""
    return _search_table(letters, code, costs) or _search_guesses(letters, code, costs)


def find_path(letters: str, code: str, costs: AlignCosts) -> _Path | None:
    """The steps of the best alignment, or None where the letters don't write the phonemes."""
    paths, key = costs.paths, (letters, code)
    found = paths.get(key, _UNKNOWN)
    if found is _UNKNOWN:
        found = read_stored(letters, code, costs.stored) or search_path(letters, code, costs)
        if len(paths) >= MAX_PATHS:
            paths.clear()
        paths[key] = found
    return found


def align(letters: str, phones: Phones, costs: AlignCosts | None = None) -> tuple[Chunk, ...]:
    """Divide a word into chunks of letters with their phonemes, in order.

    `letters` is lower case a to z and apostrophes; `phones` are in either
    accent. The chunks cover all letters and all phonemes. Where the letters
    can't write these phonemes ("mr", M IH1 S T ER0) the whole word is one
    chunk. No letters: no chunks.

    >>> from drillgen.core.phones import parse_phones
    >>> [(c.letters, c.phones) for c in align("eight", parse_phones("EY1 T"))]
    [('eigh', (0,)), ('t', (1,))]
    """
    if not letters:
        return ()
    path = find_path(letters, encode_phones(phones), costs or load_costs())
    if path is None:
        return (Chunk(letters, 0, len(letters), tuple(range(len(phones)))),)
    return tuple(Chunk(letters[a:b], a, b, tuple(range(c, d))) for a, b, c, d in path)


def locate_letters(word: str, phones: Phones) -> tuple[tuple[int, int], ...]:
    """Where in the word the letters of each phone begin and end.

    >>> from drillgen.core.phones import parse_phones
    >>> locate_letters("watch", parse_phones("W AA1 CH"))
    ((0, 1), (1, 2), (2, 5))
    """
    places = [(0, len(word))] * len(phones)
    for chunk in align(word, phones):
        for index in chunk.phones:
            places[index] = (chunk.start, chunk.end)
    return tuple(places)
