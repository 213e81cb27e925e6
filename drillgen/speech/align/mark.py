"""The original spelling with its vowel letters marked."""

from __future__ import annotations

import functools
import unicodedata
from collections.abc import Collection, Sequence
from typing import Final

from drillgen.core.letters import FOLDS
from drillgen.core.syllables import find_main_syllable
from drillgen.core.values import Grade, Phones, Respelling, Run
from drillgen.speech.align.letters import AlignCosts, find_path, load_costs
from drillgen.speech.align.units import encode_phones, is_vowel_code

_JOINERS: Final = frozenset("-‐‑–.·\u00ad\u200b\u200c\u200d\u2060_/ ")
"""What may stand between the letters of one token."""

MAX_LETTERS: Final = 100
"""A longer stretch of letters is no word, and aligning takes the square of its length."""

_ASCII: Final = frozenset("abcdefghijklmnopqrstuvwxyz")


_Graded = tuple[Phones, Grade]
"""A spoken word and how strongly it is said."""


class _Unspellable(Exception):
    """The text has characters that are no letters: digits, signs, other scripts."""


def _fold(text: str) -> tuple[list[str], list[list[int]]]:
    """Parts between joiners as plain letters, and where each letter stands in `text`."""
    parts: list[list[str]] = [[]]
    places: list[list[int]] = [[]]
    for offset, char in enumerate(text):
        low = char.lower()
        if low in _ASCII:
            folded = low
        elif char in _JOINERS:
            if parts[-1]:
                parts.append([])
                places.append([])
            continue
        else:
            folded = ""
            for piece in unicodedata.normalize("NFKD", low):
                if unicodedata.category(piece) in ("Mn", "Cf"):
                    continue
                folded += piece.translate(FOLDS)
            if folded.strip("abcdefghijklmnopqrstuvwxyz'"):
                raise _Unspellable
        parts[-1] += folded
        places[-1] += [offset] * len(folded)
    if not parts[-1]:
        parts.pop()
        places.pop()
    return ["".join(part) for part in parts], places


_Piece = tuple[int, int, bool, Grade, bool]
"""Letters that look alike: start, end, whether they are a vowel's, grade, whether to watch."""


def _cut_pieces(
    letters: str, readings: Sequence[_Graded], costs: AlignCosts, watch: Collection[str] | None
) -> list[_Piece] | None:
    """All letters in order, vowels apart; None where they don't fit the phones."""
    if len(letters) > MAX_LETTERS:
        return None
    phones: Phones = ()
    grades: list[Grade] = []
    nuclei = set()
    none = Grade.NONE
    for word, grade in readings:
        own = [none] * len(word)
        if grade is not none and (syllable := find_main_syllable(word)) is not None:
            start, main, end = syllable
            own[start:end] = [grade] * (end - start)
            if grade is Grade.NUCLEUS:
                nuclei.add(len(phones) + main)
        phones += word
        grades += own
    code = encode_phones(phones)
    path = find_path(letters, code, costs)
    if path is None:
        return None
    pieces: list[_Piece] = []
    grade = last = grades[0]
    begun = 0
    for a, b, c, d in path:
        vowels = _find_vowels(code[c:d])
        if c < d:
            # Silent letters look like those before them.
            grade = grades[c + vowels[0] if vowels else c]
        if begun < a and (vowels or grade is not last):
            pieces.append((begun, a, False, last, False))
            begun = a
        if vowels:
            seen = watch is None
            for k in vowels:
                seen = seen or c + k in nuclei or phones[c + k].symbol in (watch or ())
            pieces.append((a, b, True, grade, seen))
            begun = b
        last = grade
    if begun < len(letters):
        pieces.append((begun, len(letters), False, last, False))
    return pieces


@functools.lru_cache(maxsize=1 << 12)
def _find_vowels(code: str) -> tuple[int, ...]:
    """Where vowels are in a stretch of coded phonemes, of which a text has few different ones."""
    return tuple([k for k, char in enumerate(code) if is_vowel_code(char)])


def _plain(text: str) -> Respelling:
    return Respelling((Run(text),) if text else (), respelled=False)


def mark_vowels(
    text: str,
    readings: Sequence[Phones],
    costs: AlignCosts | None = None,
    grades: Sequence[Grade] = (),
    watch: Collection[str] | None = None,
) -> Respelling:
    """The token as it was written, cut into runs; the letters of its vowels are flagged.

    `text` is any token; `readings` are the phonemes of its spoken words, in
    either accent. The runs join to `text` exactly. The syllable with a word's main
    stress has the grade of the word, of `grades` (a beat where none is given). To watch
    are the vowels in `watch`, ARPAbet symbols, and that of the nucleus; None: all. Where the
    letters do not write the spoken words ("23", "Dr.", "&") the token is one plain run.

    In one piece because the walk over letters and sounds shares its state.

    >>> from drillgen.core.phones import parse_phones
    >>> marked = mark_vowels("Beauty", [parse_phones("B Y UW1 T IY0")])
    >>> [(run.text, run.stressed) for run in marked.runs if run.vowel]
    [('eau', True), ('y', False)]
    """
    words = [
        (phones, grade)
        for phones, grade in zip(readings, grades or [Grade.BEAT] * len(readings), strict=True)
        if phones
    ]
    if not words:
        return _plain(text)
    costs = costs or load_costs()
    if len(words) == 1 and text.isascii() and text.replace("'", "").isalpha():
        # The usual case, where all letters stand in the text as they are.
        cut = _cut_pieces(text.lower(), words, costs, watch)
        if cut is None:
            return _plain(text)
        letters = [Run(text[a:b], vowel, False, g, False, seen) for a, b, vowel, g, seen in cut]
        return Respelling(tuple(letters), False)
    try:
        parts, places = _fold(text)
    except _Unspellable:
        return _plain(text)
    if _ASCII.isdisjoint("".join(parts)):
        return _plain(text)
    if len(parts) != len(words):
        joined = "".join(parts)
        joined_places = [offset for part in places for offset in part]
        if len(joined) == len(words):
            # An acronym that is spelled out: a reading per letter.
            parts, places = list(joined), [[offset] for offset in joined_places]
        else:
            parts, places = [joined], [joined_places]
    groups = [[word] for word in words] if len(parts) == len(words) > 1 else [words]

    runs: list[Run] = []
    position = 0
    for part, offsets, group in zip(parts, places, groups, strict=True):
        pieces = _cut_pieces(part, group, costs, watch)
        if pieces is None:
            return _plain(text)
        for a, b, vowel, grade, watched in pieces:
            start, end = offsets[a], offsets[b - 1] + 1
            # Combining accents belong to the letter before them.
            while end < len(text) and unicodedata.combining(text[end]):
                end += 1
            if start < position:
                # One character of the text for two letters (œ) that are not of one chunk.
                continue
            if start > position:
                runs.append(Run(text[position:start]))
            runs.append(Run(text[start:end], vowel, grade=grade, watched=watched))
            position = end
    if position < len(text):
        runs.append(Run(text[position:]))
    return Respelling(tuple(runs), respelled=False)
