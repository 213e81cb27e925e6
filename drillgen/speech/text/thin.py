"""Short forms in company of their like: what they stand for is known by what they are about.

Among ordinary words a short form has its usual reading, or a word beside it tells which one.
In a table, a recipe, a notice or a score sheet nothing of the kind stands around, and the same
letter is a unit, a name or a word of that trade. There only the forms that have one reading
everywhere are sure; the rest are listed.
"""

from __future__ import annotations

import re
from typing import Final

from drillgen.core.resources import load_frequencies
from drillgen.speech.text.neighbours import (
    LETTERED,
    NUMBERED,
    Pieces,
    find_near,
    find_word_before,
    has_stop,
    is_break,
    is_name,
    skip_stop,
    text_after,
    text_at,
)
from drillgen.speech.text.rivals import UNSAID
from drillgen.speech.text.rows import UNSETTLED, Words
from drillgen.speech.text.scan import NUMBER, WORD, Piece
from drillgen.speech.text.tables import Tables

_BESIDE: Final = 6
"""Words to each side that tell whether a text is thin."""

_REACH: Final = 30
"""Pieces to each side that are looked at for them."""

_COMMON: Final = 4.0
"""Zipf frequency of a word of ordinary text: used ten times in a million words."""

_THIN: Final = 0.35
"""Of the short forms of web text (the English Web Treebank) a fifth have so few common words
around them, and most of these are dates and telephone numbers; of those of tables and notices
more than four fifths."""

_SAFE_NUMBER: Final = re.compile(
    r"[+−]?\d[\d,]*(?:\.\d+)?%?|#\d+|[\d,]+(?:st|nd|rd|th|ST|ND|RD|TH)|\d*[¼½¾⅐-⅞]"
    r"|(?:[A-Z]{0,2}[$£€¥])\d[\d,.]*(?:[kKmMbB]n?)?(?: \w+)?|\d\d?:\d\d(?::\d\d)?|\d{4}s"
)
"""Plain numbers, shares, ordinals, prices, times of day and decades."""

_LETTERS: Final = re.compile(r"[A-Z]{1,5}|[a-z]{1,4}|(?:[A-Za-z]\.){1,4}[A-Za-z]?")
_SURE_UNITS: Final = frozenset('gm%°"”″')
"""Units of one letter or sign that are hardly ever anything else behind a number."""


def is_thin(pieces: Pieces, i: int) -> bool:
    """Whether few common words in small letters stand around a place, in its paragraph."""
    known = load_frequencies()
    words = plain = 0
    for step in (-1, 1):
        seen, k = 0, i + step
        while seen < _BESIDE and 0 <= k < len(pieces) and abs(k - i) < _REACH:
            piece = pieces[k]
            if is_break(piece):
                break
            if piece.kind is WORD or piece.kind is NUMBER:
                seen += 1
                common = piece.rule == "" and piece.text.islower() and len(piece.text) > 1
                plain += common and known.get(piece.text, 0.0) > _COMMON
            k += step
        words += seen
    return words > 3 and plain < _THIN * words


def list_unsettled(
    pieces: Pieces, i: int, end: int, decided: tuple[Piece, ...], tables: Tables
) -> tuple[Piece, ...]:
    """What was decided for the pieces from `i` to `end`, with a note at the first one that
    nothing settles."""
    told = pieces[i].rule == "notation" != decided[0].rule
    if told or decided[0].spoken != pieces[i].spoken:
        return decided  # a rule has found something
    for number, piece in enumerate(decided):
        other = _question(pieces, i, end, piece, tables) if piece.spoken else None
        if other is not None:
            listed = piece._replace(other=other, note=UNSETTLED)
            return (*decided[:number], listed, *decided[number + 1 :])
    return decided


def _question(
    pieces: Pieces, i: int, end: int, piece: Piece, tables: Tables
) -> tuple[Words, ...] | None:
    """How else a piece could be read; None for one that is settled."""
    text, k = piece.text, find_near(pieces, i, -1)
    silent = k >= 0 and pieces[k].text in UNSAID and pieces[k].rule != "dash"
    if text[:1].isdecimal() and silent and pieces[find_near(pieces, k, -1)].kind is NUMBER:
        return ((UNSAID[pieces[k].text], *piece.spoken),)
    if piece.kind is NUMBER and any(map(str.isdecimal, text)):
        return None if _is_sure_number(pieces, i, end, piece) else ()
    if piece.kind is WORD and _LETTERS.fullmatch(text) and piece.spoken[0][1:] == ".":
        return None if _are_sure_letters(pieces, i, end, text, tables) else ()
    letter = len(text) == 1 and text.isupper() and piece.kind is WORD
    if letter and piece.spoken[0] != text.lower():
        return ((f"{text.lower()}.",),)  # a unit or a direction
    if pieces[i].rule == "abbreviation" and piece.spoken == (text.lower(),):
        after = text_after(pieces, skip_stop(pieces, i))
        if after[:1].isdecimal() or (has_stop(pieces, i) and not after[:1].isupper()):
            return (tables.abbreviations[text.lower()][0].spoken,)
    return None


def _is_sure_number(pieces: Pieces, i: int, end: int, piece: Piece) -> bool:
    rule, text = pieces[i].rule, piece.text
    if _SAFE_NUMBER.fullmatch(text) or end > i + 1:
        return True
    if rule == "measure":
        unit = text.lstrip("0123456789.,-–+¼½¾/")
        return len(unit) > 1 or unit in _SURE_UNITS
    return rule in ("inch", "foot", "money", "hour", "clock", "fraction") or len(text) > 12


def _are_sure_letters(pieces: Pieces, i: int, end: int, text: str, tables: Tables) -> bool:
    letters = text.replace(".", "").lower()
    if len(letters) > 1:
        return letters in tables.acronyms or letters in ("am", "pm")
    k, following = find_word_before(pieces, i), find_near(pieces, end - 1, 1)
    before, after = text_at(pieces, k), text_at(pieces, following)
    row = len(before) == 1 or (len(after) == 1 and after.isalpha())
    initial = is_name(after) and (text[-1] == "." or is_name(before))
    return row or initial or before.lower() in LETTERED | NUMBERED
