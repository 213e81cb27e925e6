"""Numbers by their neighbours: years, days, hours, telephones, amounts with units."""

from __future__ import annotations

import re
from typing import Final

from drillgen.speech.text.amounts import (
    is_year,
    name_unit,
    plain_digits,
    read_amount,
    read_digits,
    read_integer,
    read_money,
    read_time,
    read_year,
    split_fraction,
)
from drillgen.speech.text.neighbours import (
    DETERMINERS,
    ERAS,
    FUNCTION_WORDS,
    MONTH_FORMS,
    Answer,
    Pieces,
    find_near,
    has_stop,
    text_after,
    text_at,
    text_before,
)
from drillgen.speech.text.scan import NUMBER, WORD, Piece
from drillgen.speech.text.tables import Tables, Words, word_set
from drillgen.speech.text.words import APOSTROPHES, HYPHENS, name_letters

_BEFORE_YEAR: Final = word_set(
    "in since of by from until till before after during around about year circa and to"
)


_AFTER_MEASURE: Final = word_set(
    "per away long wide high deep tall apart off later ago more less each north south east west"
)


_SCALES: Final = word_set("thousand million billion trillion")


def decide_amount(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """A plain number: a year, a day, an hour, a phone number, or an amount with its unit."""
    piece = pieces[i]
    digits = plain_digits(piece.text)
    following = find_near(pieces, i, 1)
    adjacent = following if following - i <= 2 else -1
    after = text_at(pieces, following)
    k = find_near(pieces, i, -1)
    before = text_at(pieces, k).lower()
    if before == "." and k > 0 and pieces[k - 1].rule == "abbreviation":
        before = text_at(pieces, k - 1).lower()

    def say(spoken: Words) -> Answer:
        return i + 1, (Piece(piece.text, NUMBER, spoken),)

    if len(digits) > 1 and _is_phone(pieces, i):
        plus: Words = ("plus",) if digits[0] == "+" else ()
        return say(plus + read_digits(digits))
    if digits.isdecimal() and int(digits[:9]) <= 31 and len(digits) <= 2 and digits != "0":
        month_after = _is_month_at(pieces, following)
        if month_after and not after.islower():
            ordinal = read_integer(int(digits), "ordinal")
            return say((*(() if before == "the" else ("the",)), *ordinal, "of"))
        if _is_month_at(pieces, k) and before[:1] and after[:1] not in tuple(":"):
            return say(read_integer(int(digits), "ordinal"))
    half = after.lower().replace(".", "")
    if (
        half in ("am", "pm")
        and adjacent >= 0
        and (
            half != "am"
            or "." in after
            or after.isupper()
            or (not text_after(pieces, following)[:1].isalpha() or pieces[following].kind is WORD)
        )
    ):
        clock = re.fullmatch(r"(\d{1,2})(?:\.([0-5]\d))?", digits)
        if clock and int(clock[1]) <= 12:
            spoken = read_time(clock[1], clock[2] or "") if clock[2] else read_amount(digits)
            middle = pieces[i + 1 : following]
            meridiem = Piece(after, WORD, name_letters(half))
            return following + 1, (Piece(piece.text, NUMBER, spoken), *middle, meridiem)
    if after in ("x", "X") and adjacent >= 0:
        second = find_near(pieces, following, 1)
        if second >= 0 and pieces[second].kind is NUMBER:
            times = Piece(after, NUMBER, ("by",))
            middle = tuple(pieces[i + 1 : following])
            return following + 1, (Piece(piece.text, NUMBER, piece.spoken), *middle, times)
    if after in ERAS or before.upper() in ERAS:
        return say(read_year(digits) if digits.isdecimal() and len(digits) < 5 else piece.spoken)
    if after in tables.currencies and adjacent >= 0 and after.isalpha():
        text = "".join(p.text for p in pieces[i : following + 1])
        spoken = read_money(piece.text, "", tables.currencies[after])
        return following + 1, (Piece(text, NUMBER, spoken),)
    if adjacent >= 0:
        measure = _measure(pieces, i, following, tables)
        if measure:
            return measure
        fraction = split_fraction(after)
        if fraction and not fraction[0] and piece.text[-1:].isdecimal() and following == i + 2:
            return i + 1, (Piece(piece.text, NUMBER, read_amount(digits)),)
    if digits.isdecimal() and len(digits) == 3 and before == "in" and not after[:1].isalpha():
        return say(read_year(digits))
    if is_year(digits) and before not in _BEFORE_YEAR and not _is_month_at(pieces, k):
        plural = after.islower() and after.endswith("s") and len(after) > 3
        if after in ("men", "women", "people", "children") or (
            plural and after not in FUNCTION_WORDS
        ):
            return say(read_amount(digits))
    return say(piece.spoken)


def _is_month_at(pieces: Pieces, i: int) -> bool:
    """Whether a month name stands at a place (or ends there, with its stop)."""
    if i < 0:
        return False
    if pieces[i].text == "." and i > 0 and pieces[i - 1].rule == "abbreviation":
        i -= 1
    text = pieces[i].text
    return text[:1].isupper() and text.lower() in MONTH_FORMS


def _is_phone(pieces: Pieces, i: int) -> bool:
    """Whether a group of digits belongs to a telephone number: 07700 900 123, (01632) 960 123."""
    first = last = i
    for step in (-1, 1):
        k = i
        while abs(k - i) < 12:
            n = k + step
            while 0 <= n < len(pieces) and (
                pieces[n].text in (" ", "\u00a0", "(", ")", *HYPHENS) and abs(n - k) < 4
            ):
                n += step
            if not (0 <= n < len(pieces)) or not re.fullmatch(r"\+?\d{2,8}", pieces[n].text):
                break
            k = n
            if step < 0:
                first = k
            else:
                last = k
    groups = [
        piece.text for piece in pieces[first : last + 1] if piece.text.lstrip("+").isdecimal()
    ]
    total = sum(map(len, groups))
    if not 9 <= total <= 16:
        return False
    bracketed = first > 0 and pieces[first - 1].text == "("
    return groups[0][0] in "0+" or (bracketed and len(groups) > 1)


def _is_noun_after(pieces: Pieces, end: int) -> bool:
    """Whether a lower-case content word follows."""
    k = find_near(pieces, end, 1)
    after = text_at(pieces, k)
    return (
        k == end + 2
        and pieces[k].kind is WORD
        and after.islower()
        and after not in FUNCTION_WORDS
        and after not in tuple("abcdefghijklmnopqrstuvwxyz")
        and after not in _AFTER_MEASURE
    )


def _measure(pieces: Pieces, i: int, k: int, tables: Tables) -> Answer | None:
    """The unit after a number: its words by the number, and its stop ("6 ft. of rope")."""
    amount = pieces[i].text
    text, end = pieces[k].text, k
    if text in ("km", "m", "°", "kB", "sq", "µ", "μ", "k"):
        for last in (k + 2, k + 1):
            joined = "".join(p.text for p in pieces[k : last + 1]).replace("μ", "µ")
            if last < len(pieces) and joined in tables.units:
                text, end = joined, last
                break
    unit = tables.units.get(text)
    if unit is None:
        return None
    stop = end == k and has_stop(pieces, k)
    follow = find_near(pieces, k + 1, 1) if stop else -1
    next_char = pieces[follow].text[:1] if follow >= 0 else ""
    inside = stop and (next_char.islower() or next_char.isdecimal())
    if not unit.loose and k > i + 1 and not (text == "in" and stop):
        return None
    if (
        text in ("m", "s", "h", "g", "l", "N", "J", "V", "W")
        and k > i + 1
        and (end + 1 < len(pieces) and pieces[end + 1].text[:1] in tuple(APOSTROPHES))
    ):
        return None
    noun = text_before(pieces, i).lower() in DETERMINERS and _is_noun_after(pieces, end)
    tail = name_unit(amount, unit, noun)
    fraction = split_fraction(amount)
    if fraction:
        number = pieces[i].spoken
        if tail[0] in ("a", "an") and number[0] == "a":
            number = number[1:]
    elif pieces[i].rule == "amount":
        number = read_amount(amount)
    else:
        number = pieces[i].spoken
    between = tuple(pieces[i + 1 : k])
    written = "".join(p.text for p in pieces[k : end + 1])
    kind = WORD if written[:1].isalpha() else NUMBER
    if inside:
        written, end = written + ".", end + 1
    return end + 1, (Piece(amount, NUMBER, number), *between, Piece(written, kind, tail))


def decide_quantity(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """A range or a fraction that a unit or a fraction's noun may follow."""
    following = find_near(pieces, i, 1)
    if following >= 0 and following - i <= 2:
        measure = _measure(pieces, i, following, tables)
        if measure:
            return measure
    piece = pieces[i]
    fraction = split_fraction(piece.text)
    k = find_near(pieces, i, -1)
    if fraction and not fraction[0] and k == i - 2 and pieces[k].rule == "amount":
        return i + 1, (Piece(piece.text, NUMBER, ("and", *piece.spoken)),)
    return i + 1, (piece,)


def decide_attached(pieces: Pieces, i: int, _tables: Tables) -> Answer:
    """A number with its unit in one: "a 5km walk" has no plural."""
    piece = pieces[i]
    if text_before(pieces, i).lower() in DETERMINERS and _is_noun_after(pieces, i):
        last = piece.spoken[-1]
        singular = {"feet": "foot", "inches": "inch", "pence": "penny"}.get(last)
        if singular is None and last.endswith("s") and last not in ("celsius",):
            singular = last[:-1]
        spoken = piece.spoken
        if singular and last != "pence":
            spoken = (*spoken[:-1], singular)
        return i + 1, (Piece(piece.text, NUMBER, spoken),)
    return i + 1, (piece,)


def decide_money(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """One form for "$1.2 million"; no plural in "a $5 note"."""
    piece = pieces[i]
    following = find_near(pieces, i, 1)
    text, end = piece.text, i
    number = piece.text.lstrip("-−–")
    for sign in sorted(tables.currencies, key=len, reverse=True):
        if number.startswith(sign):
            break
    else:
        return i + 1, (piece,)
    amount = number[len(sign) :]
    magnitude = amount.lstrip("0123456789.,")
    plain = bool(re.fullmatch(r"[\d.,]+[a-zA-Z]{0,2}", amount))
    if following == i + 2 and text_at(pieces, following).lower() in (*_SCALES, "bn", "m", "tn"):
        magnitude = pieces[following].text
        text = piece.text + pieces[i + 1].text + magnitude
        end = following
    noun = text_before(pieces, i).lower() in DETERMINERS and _is_noun_after(pieces, end)
    if not plain or not (noun or end > i):
        return i + 1, (piece,)
    digits = re.match(r"[\d.,]+", amount)
    spoken = read_money(digits[0] if digits else "0", magnitude, tables.currencies[sign], noun)
    minus: Words = ("minus",) if number != piece.text else ()
    return end + 1, (Piece(text, NUMBER, minus + spoken),)


def decide_clock(pieces: Pieces, i: int, _tables: Tables) -> Answer:
    """No "o'clock" in "12:00 p.m."."""
    piece = pieces[i]
    half = text_after(pieces, i).lower().replace(".", "").replace("'", "").replace("’", "")
    spoken = piece.spoken
    if half in ("am", "pm", "noon", "midnight", "o") and spoken[-1:] == ("o'clock",):
        spoken = spoken[:-1]
    following = find_near(pieces, i, 1)
    if half in ("am", "pm") and following == i + 2:
        meridiem = Piece(pieces[following].text, WORD, name_letters(half))
        return following + 1, (Piece(piece.text, NUMBER, spoken), pieces[i + 1], meridiem)
    return i + 1, (Piece(piece.text, NUMBER, spoken),)
