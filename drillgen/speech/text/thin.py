"""Short forms in company of their like: what they stand for is known by what they are about.

Among ordinary words a short form has its usual reading, or a word beside it tells which one. In
a table, a recipe or a score sheet nothing of the kind stands around, and the same letter is a
unit, a name or a word of that trade: only forms that are read alike everywhere are sure there.
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
    has_digit_before,
    has_stop,
    is_name,
    is_noun_after,
    skip_stop,
    text_after,
    text_at,
    text_before,
)
from drillgen.speech.text.rivals import UNSAID
from drillgen.speech.text.rows import UNSETTLED, Words
from drillgen.speech.text.scan import NUMBER, RARE, SPACE, WORD, Piece
from drillgen.speech.text.tables import Tables
from drillgen.speech.text.words import APOSTROPHES

_BESIDE: Final = 6
_REACH: Final = 30
"""Words to each side that tell whether a text is thin, and the pieces that have them."""

_COMMON: Final = 4.0
"""Zipf frequency of a word of ordinary text: used ten times in a million words."""

_THIN: Final = 0.4
"""Of the short forms of the English Web Treebank a fifth have so few common words around them,
mostly dates and telephone numbers; of those of tables and notices more than four fifths."""

_SAFE_NUMBER: Final = re.compile(
    r"[+−]?\d[\d,]*(?:\.\d+)?%?|#[\d,]+|[\d,]+(?:st|nd|rd|th|ST|ND|RD|TH)|\d*[¼½¾⅐-⅞]"
    r"|(?:[A-Z]{0,2}[$£€¥])\d[\d,.]*(?:[kKmMbB]n?)?(?: \w+)?|\d\d?:\d\d(?::\d\d)?(?:ish)?|\d{4}s"
    r"|\d+-[a-z]{2,}|\d\d?['’]\d\d?[\"”]|['’]?\d\d|\d+[x×]\d+|U\d\d?s?|c?\d{4}|\d{4}-\d\d-\d\d|v\d+\.\d+|24/7|\d+k"
    r"|I-\d+|(?:1[5-9]|20)\d\d[-–](?:1[5-9]|20)?\d\d|[\d.]+([a-z]+)[-–][\d.]+\1"
)
"""Plain numbers, shares, ordinals, prices, times of day, decades, ages, sizes, versions, days."""

_POSTAL: Final = re.compile(
    r"[A-Z]{1,2}\d[\dA-Z]? \d[A-Z]{2}|[A-Z]\d[A-Z] \d[A-Z]\d|(?:H2O|CO2|O2|B12)(?: .*)?"
)
"""Postcodes of the United Kingdom and Canada (UPU S42), and what is a word by now."""

_LETTERS: Final = re.compile(r"[A-Z]{1,5}|[A-Za-z]{1,4}|(?:[A-Za-z]\.){1,4}[A-Za-z]?")
_SURE_UNITS: Final = frozenset('gm%°"”″')
"""Units of one letter or sign that are hardly ever anything else behind a number."""


def is_thin(pieces: Pieces, i: int, numbers: int = 0) -> bool:
    """Whether few common words in small letters stand around a place, in its paragraph, and at
    least so many numbers; or a number beside one or two letters."""
    beside = has_digit_before(pieces, i) or text_after(pieces, i)[:1].isdecimal()
    if beside and len(pieces[i].text) < 3 and pieces[i].text.isalpha():
        return True
    known, most = load_frequencies(), int(_THIN * 2 * _BESIDE)
    words = plain = 0
    for row in (pieces[max(0, i - _REACH) : i][::-1], pieces[i + 1 : i + _REACH]):
        seen = 0
        for text, kind, _, rule, *_ in row:
            if kind is WORD or kind is NUMBER:
                seen += 1
                numbers -= kind is NUMBER
                plain += not rule and known.get(text, 0.0) > _COMMON
                if seen == _BESIDE or plain > most:
                    break
            elif kind is SPACE and text.count("\n") > 1:
                break
        words += seen
    return words > 3 and plain < _THIN * words and numbers <= 0


def list_unsettled(
    pieces: Pieces, i: int, end: int, decided: tuple[Piece, ...], tables: Tables
) -> tuple[Piece, ...]:
    """What was decided for the pieces from `i` to `end`, with a note at the first one that
    nothing settles, in a thin text."""
    told = decided[0].spoken != pieces[i].spoken
    told = told or (pieces[i].rule == "notation" != decided[0].rule)
    for number, piece in enumerate(decided):
        if (number == 0 and told) or not piece.spoken:
            continue  # a rule has found something
        other = _question(pieces, i, end, piece, tables, first=number == 0)
        if other is not None and is_thin(pieces, i):
            listed = piece._replace(other=other, note=UNSETTLED)
            return (*decided[:number], listed, *decided[number + 1 :])
    return decided


def _question(
    pieces: Pieces, i: int, end: int, piece: Piece, tables: Tables, *, first: bool
) -> tuple[Words, ...] | None:
    """How else a piece could be read; None for one that is settled."""
    text, k = piece.text, i - (2 if i > 1 and pieces[i - 1].text == " " else 1)
    silent = k > 0 and pieces[k].text in UNSAID and pieces[k].rule != "dash"
    if text.isdecimal() and not silent:
        return None
    if not first:
        unit = re.fullmatch("[A-Z]", text) and piece.spoken[0] != text.lower()
        return ((f"{text.lower()}.",),) if unit else None
    if text[:1].isdecimal() and silent and pieces[find_near(pieces, k, -1)].kind is NUMBER:
        return ((UNSAID[pieces[k].text], *piece.spoken),)
    if piece.kind is NUMBER and any(map(str.isdecimal, text)):
        return None if _is_sure_number(pieces, i, end, piece, tables) else ()
    if piece.kind is WORD and _LETTERS.fullmatch(text) and piece.spoken[0][1:] == ".":
        return None if _are_sure_letters(pieces, i, end, text, tables) else ()
    if pieces[i].rule == "abbreviation" and piece.spoken == (text.lower(),):
        return _find_long_form(pieces, i, tables)
    return None


_RARELY: Final = "@|verse|state|zip|court|cited|bracketed|sense|housed|firm"


def _find_long_form(pieces: Pieces, i: int, tables: Tables) -> tuple[Words, ...] | None:
    """What a word may be short for ("art. 6", "Sat: 9"), or None where it is surely a word."""
    after, text = text_after(pieces, skip_stop(pieces, i))[:1], pieces[i].text.lower()
    short = after.isdecimal() or after in tuple("£$€") or load_frequencies().get(text, 0.0) < RARE
    if not short and not (has_stop(pieces, i) and (after.islower() or after in tuple(",;("))):
        return None
    entries = tables.abbreviations[text]
    usual = (entry.spoken for entry in entries if not re.search(_RARELY, entry.when))
    return next(((spoken,) for spoken in usual), None)


def _is_sure_number(pieces: Pieces, i: int, end: int, piece: Piece, tables: Tables) -> bool:
    rule, text = pieces[i].rule, piece.text
    row = (text_before(pieces, i), text, text_after(pieces, i))
    if _POSTAL.fullmatch(" ".join(row[:2])) or _POSTAL.fullmatch(" ".join(row[1:])):
        return True
    if _SAFE_NUMBER.fullmatch(text) or end > i + 1 or "°" in text:
        return True
    before = text_at(pieces, find_word_before(pieces, i)).lower()
    if before in LETTERED | NUMBERED or (rule == "range" and before in tables.cues["before span"]):
        return True
    unit = text.lstrip("0123456789.,-–+¼½¾/") if rule == "measure" else ""
    if len(unit) > 1 or unit in _SURE_UNITS or (rule == "range" and is_noun_after(pieces, i)):
        return True
    return rule in ("inch", "foot", "money", "hour", "clock", "fraction") or len(text) > 12


def _are_sure_letters(pieces: Pieces, i: int, end: int, text: str, tables: Tables) -> bool:
    letters = text.replace(".", "").lower()
    if len(letters) > 1:
        known = letters in tables.acronyms or letters in ("am", "pm", "ps")
        initials = text.count(".") > 1 and is_name(text_after(pieces, end - 1))
        known = known or initials  # J.R.R. Reed
        if len(letters) > 3 and not re.search("[aeiou]", letters):
            return known  # rather short for a word: CSWY
        return known or (len(letters) > 2 and text.isupper() and "." not in text)
    bracketed = text_before(pieces, i) == "(" and text_after(pieces, end - 1) == ")"
    torn = text_before(pieces, i) in tuple(APOSTROPHES)  # Friday 's
    if letters == "u" or torn or (bracketed and text.islower()):
        return True  # sounds as what it stands for; the letter of a list
    k, following = find_word_before(pieces, i), find_near(pieces, end - 1, 1)
    before, after = text_at(pieces, k), text_at(pieces, following)
    row = len(before) == 1 or (len(after) == 1 and after.isalpha())
    initial = is_name(after) and (text[-1] == "." or is_name(before))
    return row or initial or before.lower() in LETTERED | NUMBERED
