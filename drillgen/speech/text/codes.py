"""Digits that are no amounts: telephone numbers, postal codes, house numbers, identifiers."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final

from drillgen.speech.text.neighbours import (
    FUNCTION_WORDS,
    ORDINAL,
    Answer,
    Pieces,
    find_near,
    is_name,
    tells,
    text_at,
    text_before,
)
from drillgen.speech.text.numerals import is_clock, is_year, plain_digits, read_digits
from drillgen.speech.text.rows import Words, word_set
from drillgen.speech.text.scan import NUMBER, WORD, Piece
from drillgen.speech.text.tables import Tables

_GROUP: Final = re.compile(r"\+?\d{1,8}(?:[-.]\d{2,5}){0,3}")
_TIMETABLE: Final = re.compile(r"(?:[012]\d[0-5]\d .*|.* [012]\d[0-5]\d)")
_BETWEEN: Final = frozenset({" ", "\u00a0", "(", ")", "-", "‐", "‑", "–", "."})
_REACH: Final = 14
"""How many pieces a telephone number may reach to each side."""

_WRITTEN: Final = re.compile(
    r"\+\d[\d ()]{7,20}"
    r"|\(?0\d[\d ()]{8,14}"
    r"|(?:1 )?\(?\d{3}\)? {1,2}\d{3} \d{4}(?: \(?\d{3,6}\)?)?"
    r"|\(\d{3,5}\) ?\d{3,4} ?\d{3,4}"
)
"""ITU-T E.123: groups with spaces between, the trunk code in brackets or after a plus."""

_COMPASS: Final = {"N": "north", "S": "south", "E": "east", "W": "west"}
DIRECTIONS: Final[dict[str, Words]] = {
    letters: tuple(_COMPASS[letter] for letter in letters)
    for letters in word_set("N S E W NE NW SE SW NNE ENE ESE SSE SSW WSW WNW NNW")
}
"""Directions in streets' names, of winds and on roads."""
_STREETS: Final = word_set("street avenue road drive lane boulevard")
_HOUSE: Final = re.compile(r"\d+(?:-?[A-Z])?")
_ROAD: Final = re.compile(r"(?:I|US|SR)-?\d{1,3}")


def read_identifier(pieces: Pieces, i: int, tables: Tables) -> Piece | None:
    """A piece of plain digits that is not an amount, or None."""
    piece = pieces[i]
    digits = plain_digits(piece.text)
    if not digits.lstrip("+").isdecimal():
        return None
    if _is_phone(pieces, i):
        plus: Words = ("plus",) if digits[0] == "+" else ()
        return Piece(piece.text, NUMBER, plus + read_digits(digits), "", (), "a telephone number")
    if len(digits) < 3 or digits[0] == "+":
        return None
    if len(digits) == 4 and _is_called(pieces, i):
        return Piece(piece.text, NUMBER, read_digits(digits), "", (), "a telephone number")
    if _is_grouped(pieces, i):
        return Piece(piece.text, NUMBER, read_digits(digits), "", (), "a code")
    k = find_near(pieces, i, -1)
    before = text_at(pieces, k).lower().rstrip(".") or text_before(pieces, k).lower()
    if before == "" and k > 0:
        before = pieces[k - 1].text.lower()
    road = before in tables.cues["numbered road"] and k >= 0
    if road and len(digits) == 3 and digits[1:] != "00":
        return Piece(piece.text, NUMBER, tables.say.pairs(digits), "", (), "a number of a road")
    sized = before == "x" and pieces[find_near(pieces, k, -1)].kind is NUMBER
    numbered = before in tables.cues["coded"] or (before == "number" and len(digits) > 4)
    if before.startswith("ext") and len(digits) == 3:
        return Piece(piece.text, NUMBER, tables.say.pairs(digits), "", (), "a code")
    if numbered and len(digits) > 3 and not sized:
        other = (tables.say.year(digits),) if is_year(digits) else ()
        return Piece(piece.text, NUMBER, read_digits(digits), "", other, "a code")
    if len(digits) == 5 and _is_after_region(pieces, k, tables):
        return Piece(piece.text, NUMBER, read_digits(digits), "", (), "a postal code")
    if is_house_number(pieces, i, tables.cues):
        return Piece(piece.text, NUMBER, tables.say.pairs(digits), "", (), "a house number")
    after = text_at(pieces, find_near(pieces, i, 1)).lower()
    military = is_clock(digits)
    timed = digits[0] == "0" and before in ("at", "by", "from", "to")
    if military and (timed or after in tables.cues["military"]):
        return Piece(piece.text, NUMBER, tables.say.military(digits), "", (), "a time of day")
    if military and digits[0] == "0" and k != i - 1:
        near = before in tables.cues["hour"] or _TIMETABLE.fullmatch(before + " " + after)
        other = () if near else (read_digits(digits),)
        said = tables.say.military(digits)
        return Piece(piece.text, NUMBER, said, "", other, "a time of day")
    if len(digits) == 4 and k == i - 2 and not is_year(digits) and _is_label(pieces[k]):
        pairs, amount = tables.say.pairs(digits), tables.say.amount(digits)
        other = (amount,) if amount != pairs else ()
        return Piece(piece.text, NUMBER, pairs, "", other, "a number of a room or a thing")
    return _read_long(piece, digits, before, after, tables)


_MOST_GROUPS: Final = 8
"""Groups to each side that are looked at."""


def _is_grouped(pieces: Pieces, i: int) -> bool:
    """Whether digits are a part of a code in groups: "8041 227 913", "SU 792 401"."""

    def is_group(k: int) -> bool:
        return 0 <= k < len(pieces) and re.fullmatch(r"\d{3,5}", pieces[k].text) is not None

    first = last = i
    while is_group(first - 2) and pieces[first - 1].text == " " and i - first < 2 * _MOST_GROUPS:
        first -= 2
    while is_group(last + 2) and pieces[last + 1].text == " " and last - i < 2 * _MOST_GROUPS:
        last += 2
    sizes = [len(piece.text) for piece in pieces[first : last + 1 : 2]]
    if all(is_clock(piece.text) for piece in pieces[first : last + 1 : 2]):
        return False
    label = first > 1 and _is_label(pieces[first - 2]) and pieces[first - 1].text == " "
    thousands = sizes[0] < 4 and set(sizes[1:]) == {3}  # 10 000 000
    return (len(sizes) > 2 and not thousands) or (len(sizes) == 2 and label)


def _is_label(piece: Piece) -> bool:
    """Two or three capitals before a number: a room, a form, a flight ("EB 3889")."""
    return piece.kind is WORD and piece.text.isupper() and len(piece.text) in (2, 3)


def _read_long(piece: Piece, digits: str, before: str, after: str, tables: Tables) -> Piece | None:
    """Five digits and more without commas: an identifier unless something is counted."""
    if len(digits) < 5 or digits[0] == "0" or digits.endswith("000"):
        return None
    noun = after.isalpha() and after.islower() and after not in FUNCTION_WORDS
    counted = noun or before in tables.cues["before count"] or digits.endswith("00")
    readings = (tables.say.amount(digits), read_digits(digits))
    spoken, other = readings if counted and len(digits) < 9 else readings[::-1]
    return Piece(piece.text, NUMBER, spoken, "", (other,), "an amount" if counted else "a code")


def _is_after_region(pieces: Pieces, k: int, tables: Tables) -> bool:
    """Whether a state stands before: "Austin, TX 78701", "Freeport, Texas 77541"."""
    before = text_at(pieces, k)
    if before in tables.regions:
        return True
    if len(before) == 2 and pieces[k].rule == "abbreviation" and before.upper() in tables.regions:
        return True
    return before[:1].isupper() and before.lower() in _region_words(tables)


def _region_words(tables: Tables) -> frozenset[str]:
    return frozenset(region.spoken[-1] for region in tables.regions.values())


def is_house_number(pieces: Pieces, i: int, cues: Mapping[str, frozenset[str]]) -> bool:
    """Whether a street's name of one to four words follows: "2301 N Coast Blvd"."""
    for words in range(5):
        i = find_near(pieces, i, 1)
        word = text_at(pieces, i)
        if word == "." and len(text_before(pieces, i)) == 1:
            continue
        if words and word.lower() in cues["street"] and word[0].isupper():
            return True
        if words and word in _STREETS:
            return True
        ordinal = word[:1].isdecimal() and word[-1].isalpha()
        if not (ordinal or is_name(word) or word in ("de", "la", "of")):
            return False
    return False


_UNITS: Final = word_set("ste suite apt unit flr floor rm #")


def _is_in_town(pieces: Pieces, i: int) -> bool:
    """Whether one to three names and the number of a suite or a postal code follow a letter
    behind a house's number: "730 N. Harbor, Ste. 510"."""
    words = 0
    for piece in pieces[i + 1 : i + 16]:
        text = piece.text
        if words and (text.lower() in _UNITS or re.fullmatch(r"\d{5}(?:-\d{4})?", text)):
            return True
        if piece.kind is WORD and not is_name(text):
            return False
        words += piece.kind is WORD
    return False


def read_direction(pieces: Pieces, i: int, cues: Mapping[str, frozenset[str]]) -> Words:
    """North for the N in "2301 N Coast Blvd", empty for any other letter. `cues`: the words
    that tell what a text is about."""
    name = DIRECTIONS.get(pieces[i].text, ())
    k = find_near(pieces, i, -1)
    if not name or k < 0:
        return ()
    before, after = text_at(pieces, k), text_at(pieces, find_near(pieces, i, 1)).lower()
    if _HOUSE.fullmatch(before) and is_house_number(pieces, i, cues):
        return name
    if ORDINAL.fullmatch(after) and pieces[i].text.isupper():
        return name  # NW 23rd
    if len(pieces[i].text) == 2 and is_name(before) and before.lower() in cues["street"]:
        return name  # Main Ave NW
    if _HOUSE.fullmatch(before) and _is_in_town(pieces, i):
        return name
    if before == ":":
        before = text_before(pieces, k)
    low = before.lower()
    road = _ROAD.fullmatch(before) is not None
    wind = len(pieces[i].text) > 1 and tells(pieces, i, cues["winds"])
    wind = wind or tells(pieces, i, cues["sea"], 3)
    inside = before.islower() and after in ("at", "over", "along") and low not in cues["letters"]
    wind = wind or (inside and tells(pieces, i, cues["winds"]))
    placed = road or wind or low in cues["before compass"] or "°" in before
    told = before.islower() and low not in cues["letters"]
    told = told or low in cues["away"] or low in ("land", "site")
    away = told and after in ("of", "from")
    return name if placed or away or after in cues["after compass"] else ()


def decide_extension(pieces: Pieces, i: int, _tables: Tables) -> Answer:
    """An x with digits behind a telephone number: "555-0157 x951"."""
    piece = pieces[i]
    k = find_near(pieces, i, -1)
    k = find_near(pieces, k, -1) if text_at(pieces, k) == "," else k
    if re.search(r"\d{3}[-. ]?\d{4}$|^\d{4}$", text_at(pieces, k)):
        spoken = ("extension", *read_digits(piece.text[1:]))
        return i + 1, (Piece(piece.text, NUMBER, spoken),)
    return i + 1, (piece,)


_CALLED: Final = word_set("tel telephone phone fax mobile cell call ring text")


def _is_called(pieces: Pieces, i: int) -> bool:
    """Whether four digits are one half of a telephone number: "tel. 7010 8444"."""
    for first in (i, i - 2):
        halves = [text_at(pieces, k) if k < len(pieces) else "" for k in (first, first + 2)]
        if first >= 0 and all(re.fullmatch(r"\d{4}", half) for half in halves):
            k = find_near(pieces, first, -1)
            if text_at(pieces, k) in (".", ":"):
                k = find_near(pieces, k, -1)
            if text_at(pieces, k).lower().rstrip(".:") in _CALLED:
                return True
    return False


def _is_phone(pieces: Pieces, i: int) -> bool:
    """Whether digits belong to a telephone number: 07700 900 123, (713) 555-0123, 555 0123."""
    if len(pieces[i].text) < 2 and pieces[i].text != "1":
        return False
    first = last = i
    for step in (-1, 1):
        k = i + step
        while 0 <= k < len(pieces) and abs(k - i) < _REACH:
            if _GROUP.fullmatch(pieces[k].text):
                first, last = min(first, k), max(last, k)
            elif pieces[k].text not in _BETWEEN:
                break
            k += step
    if first == last:
        return False
    if first and pieces[first - 1].text == "(":
        first -= 1
    groups = [piece.text for piece in pieces[first : last + 1] if piece.text[-1].isdecimal()]
    if all(is_clock(group) for group in groups):
        return False  # of a timetable
    written = "".join(piece.text for piece in pieces[first : last + 1])
    total = sum(char.isdecimal() for char in written)
    plain = re.sub(r" ?[-‐‑–.\u00a0] ?", " ", written)
    if list(map(len, groups)) == [3, 4]:
        return len(written) == 8 and written[3] == " "
    return 9 <= total <= 16 and len(groups) > 1 and _WRITTEN.fullmatch(plain) is not None
