"""What else a number could be where nothing beside it tells: sure is earned, not assumed.

A rule that finds a cue departs from the plain reading of a form, or says what it took the form
for. A number that has its plain reading is sure only if its form has no other one, or if what
stands beside it settles it: a counted noun, a unit, a word that goes before such numbers.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import partial
from itertools import chain
from typing import Final

from drillgen.speech.text.neighbours import (
    DAYS,
    FUNCTION_WORDS,
    MONTH_FORMS,
    NUMBERED,
    STOPS,
    Pieces,
    find_near,
    is_name,
    tells,
    text_at,
)
from drillgen.speech.text.numerals import (
    Numerals,
    plain_digits,
    pluralize,
    read_digits,
    split_fraction,
)
from drillgen.speech.text.rows import Words
from drillgen.speech.text.scan import NUMBER, SPACE, WORD, Piece
from drillgen.speech.text.tables import Tables

Readings = tuple[Words, ...]
"""The plain reading of a form first, then what else it could be."""


_PARTS: Final = frozenset(
    {(1, 2), (1, 3), (2, 3), (1, 4), (3, 4), (1, 8), (1, 10), (2, 5), (1, 5)}
)

_LETTERED: Final = re.compile(r"(\d{1,4})([mstcdfhpxyL])")
UNSAID: Final = dict(
    zip("/-–*<>~•", ["over", "to", "to", "times", "under", "over", "about", "times"], strict=True)
)
"""Marks between two numbers that may say something, and what."""


def find_rivals(
    pieces: Pieces, i: int, end: int, piece: Piece, unsaid: str, tables: Tables
) -> tuple[Readings, str]:
    """How else the number at a place could be read, and what it is taken for: empty for a sure
    one. `piece` is the number as it was decided, `end` the place after what was decided,
    `unsaid` the mark before it that says nothing."""
    if end > i + 1:
        return (), ""  # with its unit
    text = plain_digits(piece.text)
    for form, read, question, note in tables.rivals:
        match = form.fullmatch(text)
        reader = _READERS.get(read)
        readings = match and (reader or partial(_read, read))(match, tables.say)
        if readings:
            plain = readings if text.isdecimal() else readings[:1]
            is_open = _QUESTIONS.get(question)
            if piece.spoken not in plain or (is_open and not is_open(pieces, i, end, tables)):
                break
            others = dict.fromkeys(reading for reading in readings if reading != piece.spoken)
            return tuple(others), note
    lettered = _LETTERED.fullmatch(text)
    following = text_at(pieces, find_near(pieces, end - 1, 1)).lower()
    measured = pieces[i].rule == "measure" and piece.spoken[0] not in ("second", "third")
    if lettered and measured and following not in tables.cues["length"]:
        number = tables.say.amount(lettered[1])
        letter = pluralize(number) if lettered[2] == "s" else (*number, f"{lettered[2].lower()}.")
        return ((letter,), "a unit") if letter != piece.spoken else ((), "")
    if unsaid in UNSAID and pieces[i].rule == "amount" and _follows_number(pieces, i, tables):
        return ((UNSAID[unsaid], *piece.spoken),), f"“{unsaid}” is not said"
    return (), ""


def _follows_number(pieces: Pieces, i: int, tables: Tables) -> bool:
    """Whether the mark before a number stands after a number or its unit, unsaid."""
    before = pieces[find_near(pieces, find_near(pieces, i, -1), -1)]
    number = before.kind is NUMBER and (before.text[-1:].isdecimal() or before.text[-1] == "%")
    return number or before.text in tables.units


def _read_stop(match: re.Match[str], say: Numerals) -> Readings:
    """As a decimal, a time of day, and a version."""
    clock: Readings = ()
    if int(match[1]) < 25 and match[2] < "60":
        clock = (say.time(match[1], match[2]),)
    version = (*say.amount(match[1]), "point", *say.two_digits(match[2]))
    return (say.amount(match[0]), *(clock if not say.american else ()), version)


def _read_parts(match: re.Match[str], say: Numerals) -> Readings:
    parts = split_fraction(match[0])
    if not parts or parts[1:] in _PARTS:
        return ()
    left, right = (say.amount(side) for side in match.groups())
    return say.mixed(*parts), (*left, *right), (*left, "out", "of", *right)


def _is_named(pieces: Pieces, i: int, end: int, tables: Tables) -> bool:
    """After a name or an article, without anything counted: "a Boeing 787", "on the 121"."""
    k = find_near(pieces, i, -1)
    before = text_at(pieces, k)
    if k != i - 2 or _is_counted(pieces, end) or before.lower() in MONTH_FORMS:
        return False
    name = is_name(before) and pieces[k].kind is WORD and before.lower() not in NUMBERED
    if name and not before.isupper() and tells(pieces, i, tables.cues["games"]):
        return False  # points
    return (name and not _opens(pieces, k)) or before.lower() in ("the", "a", "my", "your")


def _is_unsettled(pieces: Pieces, _i: int, end: int, _tables: Tables) -> bool:
    """Nothing counted follows."""
    return not _is_counted(pieces, end)


def _is_timeless(pieces: Pieces, i: int, end: int, tables: Tables) -> bool:
    """A number with a stop and two digits that is neither a measure nor surely a time."""
    k = find_near(pieces, i, -1)
    before, after = text_at(pieces, k), text_at(pieces, find_near(pieces, end - 1, 1))
    cued = before.lower() in tables.cues["hour"] and not tables.say.american
    if (_is_counted(pieces, end) and not cued) or after in ("%", "°") or after in tables.units:
        return False
    name = is_name(before) and k >= 0 and pieces[k].kind is WORD and not _opens(pieces, k)
    weighed = before.lower() in tables.cues["weighed"]
    if tables.say.american:
        priced = k < 0 or not before[-1:].isalnum() or after[:1] in ("", "|", "\u2022")
        priced = priced and text_at(pieces, i)[-1] in "05" and not weighed
        return (name and before.lower() not in MONTH_FORMS) or priced
    return name or not weighed


def _is_loose_span(pieces: Pieces, i: int, end: int, tables: Tables) -> bool:
    """Two numbers with a dash, small ones or of a game, and no word that makes them a span."""
    played = tells(pieces, i, tables.cues["games"] | tables.cues["cricket"])
    k = find_near(pieces, i, -1)
    label = text_at(pieces, k).isupper() and len(text_at(pieces, k)) > 1
    if len(plain_digits(pieces[i].text)) > 3 and not (played or label):
        return False
    before = text_at(pieces, k - 1 if text_at(pieces, k) == "." and k else k).lower().rstrip(".")
    if before in tables.cues["before span"] or before in NUMBERED or before in MONTH_FORMS | DAYS:
        return False
    return not _is_counted(pieces, end, loose=True)


def _is_loose_part(pieces: Pieces, _i: int, end: int, _tables: Tables) -> bool:
    """A fraction of nothing."""
    after = text_at(pieces, find_near(pieces, end - 1, 1))
    return after != "of" and not _is_counted(pieces, end)


def _is_unclocked(pieces: Pieces, i: int, end: int, tables: Tables) -> bool:
    """A full hour, and no word of the clock beside it."""
    k = find_near(pieces, i, -1)
    before, after = text_at(pieces, k).lower(), text_at(pieces, find_near(pieces, end - 1, 1))
    low = after.lower().replace(".", "")
    near = (
        before in tables.cues["clocked"] or before in tables.cues["hour"] or before in DAYS
    ) or (low in ("am", "pm", "to", "noon", "o", "-", "–") or low in DAYS)
    opens = k < 0 or "\n" in pieces[i - 1].text
    dated = before[:1].isdecimal() or before[-1:] in ("-", "–", ",", "/")
    return not (near or opens or dated) or before in ("for", "of")


def _is_counted(pieces: Pieces, end: int, loose: bool = False) -> bool:
    """Whether a content word in small letters follows after one space. `loose`: any unit or
    sign too."""
    if end + 1 >= len(pieces) or pieces[end].kind is not SPACE:
        return loose and end < len(pieces) and pieces[end].kind is NUMBER
    after = pieces[end + 1]
    word = after.text.lower()
    content = after.text.islower() and len(word) > 2 and word not in FUNCTION_WORDS
    return (after.kind is WORD and content) or (loose and after.rule == "unit")


def _opens(pieces: Pieces, k: int) -> bool:
    """Whether a word is the first of its sentence, which has its capital from there."""
    before = find_near(pieces, k, -1)
    return before < 0 or text_at(pieces, before)[0] in STOPS or "\n" in pieces[k - 1].text


_WAYS: Final[dict[str, Callable[[Numerals, str], Words]]] = {
    "amount": Numerals.amount,
    "pairs": Numerals.pairs,
    "two": Numerals.two_digits,
    "digits": lambda _, text: read_digits(text),
    "span": lambda say, text: say.span(*re.split("[-‐‑–—]", text)),
    "hour": lambda say, text: say.time(text, "00"),
    "minutes": lambda say, text: (*say.amount(text), "minute" if text == "1" else "minutes"),
}


def _read(readings: str, match: re.Match[str], say: Numerals) -> Readings:
    """Readings with "|" between: words, and groups of the match by their way ("amount:1")."""
    parts = [[part.partition(":") for part in one.split()] for one in readings.split("|")]
    return tuple(
        tuple(
            chain.from_iterable(
                _WAYS[way](say, match[int(group)]) if group else (way,) for way, _, group in one
            )
        )
        for one in parts
    )


_READERS: Final = {"parts": _read_parts, "stop": _read_stop}
_QUESTIONS: Final = {
    "named": _is_named,
    "unsettled": _is_unsettled,
    "timeless": _is_timeless,
    "loose span": _is_loose_span,
    "loose part": _is_loose_part,
    "unclocked": _is_unclocked,
}
"""Whether nothing beside a form settles how it is read; of the other forms nothing does."""
