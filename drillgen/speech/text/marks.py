"""Apostrophes, signs, dashes and slashes by their neighbours."""

from __future__ import annotations

import re
from typing import Final

from drillgen.speech.text.codes import DIRECTIONS
from drillgen.speech.text.neighbours import (
    DAYS,
    EXERCISE,
    FAR,
    MONTH_FORMS,
    Answer,
    Pieces,
    find_near,
    has_day,
    has_digit_before,
    is_break,
    is_dialled,
    is_half,
    say_number,
    text_after,
    text_at,
    text_before,
)
from drillgen.speech.text.numerals import is_year
from drillgen.speech.text.rows import Words, word_set
from drillgen.speech.text.scan import NUMBER, OTHER, PUNCTUATION, SPACE, WORD, Piece
from drillgen.speech.text.tables import Tables
from drillgen.speech.text.words import APOSTROPHES


def decide_trail(pieces: Pieces, i: int, _tables: Tables) -> Answer:
    """An apostrophe after a word: the dogs' bowls, goin' home; or a closing quote."""
    piece = pieces[i]
    mark = pieces[i + 1]
    if is_quote_open(pieces, i) and not _closes_later(pieces, i + 1):
        return i + 1, (piece,)
    spoken = piece.spoken
    lower = piece.text.lower()
    if lower.endswith("in") and spoken and not lower.endswith("'n"):
        spoken = (*spoken[:-1], spoken[-1] + "'")
    return i + 2, (Piece(piece.text + mark.text, WORD, spoken),)


def is_quote_open(pieces: Pieces, i: int) -> bool:
    """Whether a single quote was opened before and not closed."""
    for k in range(i - 1, max(-1, i - FAR), -1):
        piece = pieces[k]
        if is_break(piece):
            return False
        if piece.text in tuple(APOSTROPHES):
            before = pieces[k - 1]
            opening = before.kind is PUNCTUATION and before.text[0] not in ".,;:!?…"
            return k == 0 or before.kind is SPACE or opening
    return False


def _closes_later(pieces: Pieces, i: int) -> bool:
    """Whether a closing single quote stands further on, before another one opens."""
    for k in range(i + 1, min(len(pieces), i + FAR)):
        piece = pieces[k]
        if is_break(piece):
            return False
        if piece.text in tuple(APOSTROPHES):
            return pieces[k - 1].kind is not SPACE and pieces[k - 1].rule != "trail"
    return False


def decide_clipped(pieces: Pieces, i: int, _tables: Tables) -> Answer:
    """'round, 'course, 'till at the start of a quotation are whole words in quotes."""
    piece = pieces[i]
    key = piece.text.lower()
    if key[1:] in ("round", "course", "till", "cause", "ere", "kay", "em") and (
        piece.text[0] in "'‘" and piece.text[1:2].isupper()
    ):
        word = piece.text[1:]
        parts = (Piece(piece.text[0], PUNCTUATION), Piece(word, WORD, (word.lower(),)))
        return i + 1, parts
    return i + 1, (piece,)


_COMPARED: Final = {
    "<": ("less", "than"),
    ">": ("greater", "than"),
    "^": ("to", "the", "power", "of"),
}

_STARRED: Final = word_set("hotel hotels resort review reviews accommodation rating")
_TIME: Final = re.compile(r"\d{1,2}[.:][0-5]\d")
_FIGURE: Final = "0123456789.,-–+"
_AMOUNT: Final = re.compile(r"\d{1,4}(?:\.\d{1,3})?")


def decide_sign(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """~ before a number is "about"; < and > compare two numbers, * multiplies them."""
    piece = pieces[i]
    before, after = find_near(pieces, i, -1), find_near(pieces, i, 1)
    following = after >= 0 and pieces[after].kind is NUMBER
    if piece.text in "♠♥♦♣":
        card = any(
            k in (i - 1, i + 1) and re.match("[AKQJx\\d]", pieces[k].text) for k in (before, after)
        )
        return i + 1, (piece if card else Piece(piece.text, OTHER),)
    if piece.text == "×" and following and before >= 0 and pieces[before].kind is NUMBER:
        unit = text_after(pieces, after).lower()
        sized = unit in ("x", "×") or unit in tables.units or unit in tables.cues["measured"]
        if EXERCISE.match(f"{pieces[after].text} {unit}"):
            return i + 1, (piece._replace(spoken=("times",)),)
        packed = kind_of(pieces, after, tables) in ("mass", "volume")
        if (sized or pieces[after].rule == "measure") and not packed:
            return i + 1, (piece._replace(spoken=("by",)),)
    if piece.text == "*" and after == i + 1 and following and is_dialled(pieces, i):
        return i + 1, (Piece(piece.text, NUMBER, ("star",)),)
    both = before >= 0 and pieces[before].kind is NUMBER and following
    if piece.text == "→" and not both:
        return i + 1, (Piece(piece.text, OTHER),)
    spoken: Words = ()
    loose = before < max(0, i - 1) or pieces[before].text == "("
    if piece.text == "~" and following and after == i + 1 and loose:
        spoken = ("about",)
    elif both and piece.text in _COMPARED and after - before == (2 if piece.text == "^" else 4):
        spoken = _COMPARED[piece.text]
    elif both and piece.text == "~":
        spoken = ("to",)
    elif piece.text in "<>" and following and _is_compared(pieces, i, before, after):
        spoken = ("under" if piece.text == "<" else "over",)
    elif piece.text == "*" and before == i - 1 and text_after(pieces, i) in _STARRED:
        spoken = ("star",)
    elif both and piece.text == "*":
        spoken = ("times",)
    elif piece.text == "#" and before == i - 2 and pieces[before].kind is WORD:
        spoken = ("number",)
    elif piece.text == "#" and before == i - 1 and re.fullmatch(r"\d{1,3}", pieces[before].text):
        return say_number(piece, i, ("pounds",), (("number",),), "pounds")  # a 45# bar
    return i + 1, (Piece(piece.text, NUMBER, spoken) if spoken else piece,)


def _is_compared(pieces: Pieces, i: int, before: int, after: int) -> bool:
    """As in "eGFR >90", "(<30%)" and "pH < 7": with what is before it in the same line."""
    opens = not 0 <= before < i or pieces[before].text[-1] in "([-–|•:;,"
    if pieces[i].text == "<" and opens:
        return text_after(pieces, after) != ">"
    if not 0 <= before < i - 1 or "\n" in pieces[i - 1].text:
        return False
    spaced = after == i + 2 and pieces[i + 1].text == " " and pieces[before].kind is WORD
    return after == i + 1 or spaced


def decide_dash(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """A dash between two days, months, hours or numbers is "to"; other dashes are not said.

    A minus sign is said beside a number.
    """
    piece = pieces[i]
    before, following = find_near(pieces, i, -1), find_near(pieces, i, 1)
    if piece.text[0] == "−":
        numeric = any(k >= 0 and pieces[k].kind is NUMBER for k in (before, following))
        return i + 1, (piece if numeric else Piece(piece.text, PUNCTUATION),)
    if before < 0 or following < 0:
        return i + 1, (piece,)
    left, right = pieces[before], pieces[following]
    unit = right.rule == "amount" and text_after(pieces, following) in tables.units
    measured = left.text in tables.units and (unit or right.rule == "measure")
    measured = measured and has_digit_before(pieces, before)  # 50 mins–1hr, 2 mi – 3 mi
    if right.rule == "measure" and _is_way(pieces, following):
        return i + 1, (piece,)
    said = measured or _is_row(left.text, right.text) or _is_span(pieces, i, before, following)
    return i + 1, (Piece(piece.text, NUMBER, ("to",)) if said else piece,)


_NUMBERED: Final = re.compile(r"([A-Z]{1,2})(\d{1,3})")
_LETTERED: Final = re.compile(r"(\d{0,3})([A-HJ-Z])")


def _is_way(pieces: Pieces, k: int) -> bool:
    """Whether a distance lies on the way from a place: "9km NE of Reed"."""
    way = find_near(pieces, k, 1)
    return text_at(pieces, way) in DIRECTIONS and text_after(pieces, way) in ("of", "from")


_PITCH: Final = re.compile(r"[A-G][#♯♭]?[0-8]")
"""Scientific pitch notation; squares and cells look the same."""


def _is_row(left: str, right: str) -> bool:
    """As in "A1–A40", "1A - 1J" and "A - E": the first and the last of a row."""
    if _PITCH.fullmatch(left) and _PITCH.fullmatch(right) and left[0] != right[0]:
        return True
    one, other = _LETTERED.fullmatch(left), _LETTERED.fullmatch(right)
    if one and other:
        return one[1] == other[1] and one[2] < other[2]
    first = _NUMBERED.fullmatch(left)
    last = _NUMBERED.fullmatch(first[1] + right if first and right.isdecimal() else right)
    return bool(first and last and first[1] == last[1] and int(first[2]) < int(last[2]))


def _is_span(pieces: Pieces, i: int, before: int, following: int) -> bool:
    """Whether both sides of a dash are ends of one span."""
    left, right = pieces[before], pieces[following]
    tight = before == i - 1 and following == i + 1
    if _is_calendar(left.text) and right.text[:1].isdecimal() and right.kind is NUMBER:
        dated = has_day(pieces, before) and right.rule in ("amount", "ordinal")
        if dated and _is_calendar(text_after(pieces, following)):
            return True  # 1 Oct–31 Mar
    if left.text == "." and before and pieces[before - 1].rule == "abbreviation":
        before -= 1
        left = pieces[before]
    if left.rule in ("fraction", "pair") and tight and re.fullmatch(r"[1-9]\d", right.text):
        return False  # a 1/4-20 bolt
    coded = [p.text for p in (left, right) if p.rule in ("noted", "notation", "chain")]
    if any(re.search("\\d.*[A-Z]|[A-Z].*\\d.*[A-Z]|\\d[-–]\\d", text) for text in coded):
        return False  # 3L3Z-12029
    if left.rule == right.rule == "small roman" or left.text[0] == right.text[0] == "#":
        return tight
    if (left.text[:1] + right.text[:1]).islower():
        days = left.text in _FULL_DAYS and right.text in _FULL_DAYS
    else:
        days = _is_calendar(left.text) and _is_calendar(right.text)
    if days:
        return not _is_chained(pieces, before, -1) and not _is_chained(pieces, following, 1)
    if not tight and pieces[i].text in "-–—" and _is_loose_span(pieces, before, following):
        return True
    ends = left.text.lower().strip(".") in _ENDS
    if right.kind is NUMBER and right.text[0].isdecimal() and (left.kind is NUMBER or ends):
        if right.rule == "clock" and left.rule == "clock":
            return following == i + 1
        return tight and (ends or (left.text[-1:] not in ".-–" and not left.text[0].isalpha()))
    return tight and left.kind is NUMBER and _is_calendar(right.text)


def _is_chained(pieces: Pieces, i: int, step: int) -> bool:
    """Whether another dash stands beyond: Monday - Tuesday - Friday is a list."""
    k = find_near(pieces, i, step)
    return k >= 0 and pieces[k].text in "-–—"


def _is_loose_span(pieces: Pieces, before: int, following: int) -> bool:
    """Hours, days of a month, years, sums or counted things on both sides of a dash that has
    spaces around it: "3:00 pm - 11:00 pm", "4 - 6pm", "Nov 5 - Nov 9", "10 – 15 minutes"."""
    left, right = pieces[before], pieces[following]
    after = text_after(pieces, following)
    if right.rule in _TIMED or (is_half(after) and right.rule == "amount"):
        month = find_near(pieces, before, -1)
        dated = _is_calendar(text_at(pieces, month)) and not has_day(pieces, month)
        if dated and left.rule == "amount":
            return False  # May 4 - 10:00 PM
        hour = left.rule == "amount" and left.text.isdecimal() and int(left.text) <= 12
        return hour or left.rule in _TIMED or is_half(left.text)
    if left.rule == right.rule and left.rule in ("money", "ordinal"):
        return True
    if left.rule == right.rule == "measure":
        return left.text.lstrip(_FIGURE) == right.text.lstrip(_FIGURE)
    if _TIME.fullmatch(left.text) and _TIME.fullmatch(right.text):
        return True
    if left.rule in ("pair", "fraction") and right.rule in ("pair", "fraction", "amount"):
        return True  # ages 3 1/2 - 5
    if left.kind is not NUMBER or not (left.text[:1] + right.text[:1]).isalnum():
        dated = _is_calendar(left.text) and has_digit_before(pieces, before)
        return dated and right.text[:1].isdecimal() and _is_calendar(after)
    if left.rule == "amount" and right.rule in ("inch", "foot", "measure"):
        return right.text[:1].isdecimal()  # 18 - 36"
    dated = _is_calendar(text_before(pieces, before))
    if _is_calendar(right.text):
        comma = find_near(pieces, following, 1)
        return dated and (after[:1].isdecimal() or _is_calendar(text_after(pieces, comma)))
    if not (_AMOUNT.fullmatch(left.text) and _AMOUNT.fullmatch(right.text)):
        return False
    if float(left.text) >= float(right.text):
        return False
    in_row = has_digit_before(pieces, before) or (after[:1].isdecimal() and not dated)
    years = is_year(left.text) and is_year(right.text)
    return years or (not in_row and float(right.text) < 1000)


_TIMED: Final = ("clock", "hour")
_FULL_DAYS: Final = frozenset(day for day in DAYS if day.endswith("day"))


def kind_of(pieces: Pieces, i: int, tables: Tables) -> str:
    """What is measured at a place, by a unit there or after the number there; empty: nothing."""
    unit = pieces[i].text.lstrip("0123456789.,") or text_after(pieces, i)
    return next((k for k in ("mass", "volume", "distance") if unit in tables.cues[k]), "")


_ENDS: Final = word_set("am pm a.m p.m years months weeks days hours minutes miles feet")


def _is_calendar(text: str) -> bool:
    return text[:1].isupper() and text.lower().rstrip(".") in DAYS | MONTH_FORMS


_EACH: Final = word_set("day night week month year hour minute second session visit dose person")


def decide_slash(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """A slash between an amount and a word or between two units is "per"; otherwise it says
    nothing."""
    piece = pieces[i]
    if 0 < i < len(pieces) - 1:
        before, after = pieces[i - 1], pieces[i + 1]
        each = tables.units.get(after.text)
        unit = tables.units.get(before.text)
        measured = unit and (len(before.text) > 1 or has_digit_before(pieces, i - 1))
        measured = measured and (before.text not in ("ft", "in") or after.text[:2] != "lb")
        rated = before.rule in ("money", "measure") and len(after.text) < 4
        rated = rated or (before.rule == "clock" and after.text in ("mi", "km"))
        if each and (measured or rated):
            per = Piece(piece.text, NUMBER, ("per",))
            return i + 2, (per, Piece(after.text, WORD, each.one))
        if unit and after.kind is NUMBER and i > 1 and pieces[i - 2].text == "/":
            return i + 1, (Piece(piece.text, NUMBER, ("per",)),)  # mL/min/1.73 m²
        kinds = kind_of(pieces, i - 1, tables), kind_of(pieces, i + 1, tables)
        if all(kinds) and kinds[0] != kinds[1]:
            return i + 1, (Piece(piece.text, NUMBER, ("per",)),)  # 20 mg/5 ml
        rate = before.rule in ("money", "measure", "amount") and after.kind is WORD
        rate = rate and "°" not in before.text
        rate = rate or bool(measured and after.text in _EACH)
        marks = re.fullmatch(r"\d{1,2}\.\d", before.text) and re.fullmatch(r"\d{1,3}", after.text)
        if before.rule == "amount" and marks and float(before.text) <= int(after.text):
            return i + 1, (Piece(piece.text, NUMBER, ("out", "of")),)
        if rate and after.text.islower() and len(after.text) > 1:
            return i + 1, (Piece(piece.text, NUMBER, ("per",)),)
    return i + 1, (piece,)
