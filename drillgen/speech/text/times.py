"""Days, months, years and times of day by their neighbours."""

from __future__ import annotations

import re
from typing import Final

from drillgen.speech.text.neighbours import (
    DAYS,
    FAR,
    FUNCTION_WORDS,
    STOPS,
    Answer,
    Pieces,
    find_near,
    has_day,
    is_half,
    is_month_at,
    is_name,
    is_noun_after,
    say_number,
    tells,
    tells_verse,
    text_after,
    text_at,
    text_before,
)
from drillgen.speech.text.numerals import SCALES, name_unit, plain_digits
from drillgen.speech.text.pairs import decide_ratio
from drillgen.speech.text.rows import Words, word_set
from drillgen.speech.text.scan import NUMBER, WORD, Piece
from drillgen.speech.text.tables import Tables
from drillgen.speech.text.words import name_letters


def decide_ordinal(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """The ordinal in "6th October" and "October 6th", with its words."""
    piece = pieces[i]
    k, following = find_near(pieces, i, -1), find_near(pieces, i, 1)
    day = piece.text[:-2].isdecimal() and int(piece.text[:-2]) <= 31
    the: Words = () if text_at(pieces, k).lower() == "the" else ("the",)
    of = text_at(pieces, following) == "of"
    if of and is_month_at(pieces, find_near(pieces, following, 1)):
        return say_number(piece, i, (*the, *piece.spoken))
    if day and is_month_at(pieces, following) and following == i + 2:
        return say_number(piece, i, (*the, *piece.spoken, "of"))
    if day and is_month_at(pieces, k) and not tables.say.american:
        return say_number(piece, i, (*the, *piece.spoken))
    return say_number(piece, i, piece.spoken)


_SHORT_DATE: Final = re.compile(r"\d{1,2}[/.-]\d{1,2}[/.-](\d\d)")


def decide_noted(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """A piece with a note: dates of birth lie in the past ("born 3/9/38")."""
    piece = pieces[i]
    match = _SHORT_DATE.fullmatch(piece.text)
    if not match or not "30" <= match[1] < "50" or not tells(pieces, i, tables.cues["birth"]):
        return i + 1, (piece,)
    later, year = tables.say.short_year(match[1]), tables.say.two_digits(match[1])

    def mend(said: Words) -> Words:
        return said[: -len(later)] + year if said[-len(later) :] == later else said

    return i + 1, (piece._replace(spoken=mend(piece.spoken), other=tuple(map(mend, piece.other))),)


def decide_day(pieces: Pieces, i: int, k: int, following: int, tables: Tables) -> Answer | None:
    """The day in "3 May" and "May 3"."""
    digits = plain_digits(pieces[i].text)
    if not (digits.isdecimal() and len(digits) <= 2 and 0 < int(digits) <= 31):
        return None
    after = text_at(pieces, following)
    if is_month_at(pieces, following) and not after.islower():
        the: Words = () if text_at(pieces, k).lower() == "the" else ("the",)
        spoken = (*the, *tables.say.integer(int(digits), "ordinal"), "of")
        loose = k >= 0 and pieces[k].rule == "amount" and "\n" not in pieces[i - 1].text
        other = (tables.say.amount(digits),) if loose else ()
        return say_number(pieces[i], i, spoken, other, "a day" if loose else "")
    second = text_at(pieces, k).lower() in ("and", "or", "to", "through", "&")
    if second and not is_noun_after(pieces, i):
        # "January 10 and 11": the month stands before the first day.
        day = find_near(pieces, k, -1)
        if day >= 0 and re.fullmatch(r"\d{1,2}", pieces[day].text):
            k = find_near(pieces, day, -1)
    if text_at(pieces, k) in ("-", "–"):
        day = find_near(pieces, k, -1)  # May 3 - 5
        if re.fullmatch(r"\d{1,2}", text_at(pieces, day)) and not is_noun_after(pieces, i):
            k = find_near(pieces, day, -1)
    if after == "," or text_at(pieces, k) == ",":
        k = _find_listed_month(pieces, i, k)
    if is_month_at(pieces, k) and has_day(pieces, k):
        return None
    if is_month_at(pieces, k) and (after[:1] != ":" or following > i + 1 or _ends_day(pieces, i)):
        return say_number(pieces[i], i, tables.say.day_after_month(digits))
    return None


def _find_listed_month(pieces: Pieces, i: int, k: int) -> int:
    """Where the month of a row of at least three days stands: "September 17, 18, 24"."""

    def is_day(j: int) -> bool:
        return j >= 0 and re.fullmatch(r"[12]?\d|3[01]", pieces[j].text) is not None

    def step(j: int, by: int) -> int:
        comma = find_near(pieces, j, by)
        there = find_near(pieces, comma, by) if text_at(pieces, comma) == "," else -1
        return there if is_day(there) else -1

    later, at, days = step(i, 1), i, 1
    while later >= 0 and days < 3:
        later, days = step(later, 1), days + 1
    for _ in range(31):
        earlier = step(at, -1)
        if earlier < 0:
            return find_near(pieces, at, -1) if days > 2 else k
        at, days = earlier, days + 1
    return k


def _ends_day(pieces: Pieces, i: int) -> bool:
    """Whether a colon and a space follow: "January 4: open"."""
    return i + 2 < len(pieces) and pieces[i + 2].text[:1].isspace()


def decide_hour(pieces: Pieces, i: int, following: int, tables: Tables) -> Answer | None:
    """The hour in "5 pm" and "7.15 p.m."."""
    after = text_at(pieces, following)
    half = after.lower().replace(".", "")
    if not (is_half(after) or half in ("noon", "midnight")) or following - i > 2:
        return None
    digits = plain_digits(pieces[i].text)
    clock = re.fullmatch(r"(\d{1,2})(?:\.([0-5]\d))?", digits)
    if not clock or int(clock[1]) > 12:
        return None
    spoken = tables.say.time(clock[1], clock[2] or "", "pm")[:-2]
    meridiem = Piece(after, WORD, name_letters(half) if is_half(after) else (half,))
    middle = pieces[i + 1 : following]
    return following + 1, (Piece(pieces[i].text, NUMBER, spoken), *middle, meridiem)


def decide_ending(pieces: Pieces, i: int, k: int, following: int, tables: Tables) -> Answer | None:
    """An ordinal's ending after a space: "12 th October"."""
    digits, after = plain_digits(pieces[i].text), text_at(pieces, following)
    ending = after.lower()
    ends = ending in ("st", "nd", "rd", "th") and after != "Th"
    if following != i + 2 or not ends or not digits.isdecimal():
        return None
    near = find_near(pieces, following, 1)
    dated = is_month_at(pieces, near) or is_month_at(pieces, k)
    if ending == "st" and not dated:
        return None
    number = tables.say.ordinal(digits)
    of: Words = ("of",) if is_month_at(pieces, near) else ()
    the: Words = ("the",) if dated and (of or not tables.say.american) else ()
    text = "".join(piece.text for piece in pieces[i : following + 1])
    return following + 1, (Piece(text, NUMBER, (*the, *number, *of)),)


_TIME_OF_DAY: Final = re.compile(r"[-–]?(0\d|1?[1-9]|[12]0|2[1-3])\.([0-5]\d)")

_JOINED: Final = word_set("to and or , - – till until for")


def decide_timed(pieces: Pieces, i: int, k: int, following: int, tables: Tables) -> Answer | None:
    """A time of day with a stop, in British print: "at 10.30", "9.00 – 11.00"."""
    lap = re.fullmatch(r"(\d{1,2})\.([0-5]\d)", pieces[i].text)
    if lap and not tables.say.american and tells(pieces, i, tables.cues["running"], 2):
        spoken = (*tables.say.amount(lap[1]), *tables.say.two_digits(lap[2]))
        return say_number(pieces[i], i, spoken)
    match = _TIME_OF_DAY.fullmatch(plain_digits(pieces[i].text))
    if not match or tables.say.american:
        return None
    after = text_at(pieces, following)
    if after in ("hrs", "hr", "hours"):
        return say_number(pieces[i], i, tables.say.time(match[1], match[2]))
    inside = after == "in" and text_at(pieces, k).lower() == "at"
    if after == "%" or after in (*SCALES, *tables.currencies):
        return None
    if after in tables.units and not inside:
        return None
    signed, sure = pieces[i].text[0] in "-–", _is_timed(pieces, i, k, tables)
    while not sure and text_at(pieces, k) in _JOINED:
        back = find_near(pieces, k, -1)
        if back < 0 or not _TIME_OF_DAY.fullmatch(pieces[back].text):
            break
        dash, k = text_at(pieces, k), find_near(pieces, back, -1)
        sure = dash in ("-", "–") or _is_timed(pieces, back, k, tables)
    partner = find_near(pieces, following, 1) if after in _JOINED else following
    if partner >= 0 and not sure:
        dashed = after in ("-", "–") or after[:1] == "-"
        timed = _TIME_OF_DAY.fullmatch(pieces[partner].text) is not None
        sure = (dashed and timed) or (after in _JOINED and pieces[partner].rule == "hour")
    spoken = ("to",) * signed + tables.say.time(match[1], match[2])
    if ((sure or signed) and match[2][1] in "05") or match[1][0] == "0":
        return say_number(pieces[i], i, spoken)
    first = k < 0 or "\n" in pieces[i - 1].text or text_at(pieces, k)[0] in STOPS
    opens = (first and is_name(after)) or match[2] == "00" or _has_times(pieces, i)
    ends = i + 1 == len(pieces) or "\n" in pieces[i + 1].text
    ends = ends and match[2][1] in "05" and tells(pieces, i, DAYS, 2)
    if sure or opens or ends or (after.lower() in tables.cues["hourly"] and len(match[1]) < 3):
        return say_number(pieces[i], i, spoken, (pieces[i].spoken,), "a time of day")
    return None


def _is_timed(pieces: Pieces, i: int, k: int, tables: Tables) -> bool:
    """Whether what stands before tells that a number with a stop is a time of day."""
    before, after = text_at(pieces, k).lower(), text_after(pieces, i)
    dated = is_month_at(pieces, k) and has_day(pieces, k)
    if text_at(pieces, k).lower() in DAYS or (after == "for" and _is_evening(pieces, i)):
        return True
    if before in tables.cues["hour"] or dated:
        return not is_noun_after(pieces, i) or after in tables.cues["hourly"]
    racing = tells(pieces, i, tables.cues["racing"], 2)
    if before == "the":
        led = text_before(pieces, k).lower() in tables.cues["ridden"]
        place = text_after(pieces, find_near(pieces, i, 1))
        bound = after in ("to", "from") and (led or is_name(place))
        ridden = led and not is_noun_after(pieces, i)
        return is_name(after) or after in tables.cues["hourly"] or racing or bound or ridden
    return racing and (k < i - 2 or "\n" in pieces[i - 1].text)


def _has_times(pieces: Pieces, i: int) -> bool:
    """Whether the text around writes hours with a stop: "7.30pm"."""
    near = pieces[max(0, i - FAR // 4) : i + FAR // 4]
    return any(re.fullmatch(r"\d{1,2}\.[0-5]\d[ap]m", piece.text) for piece in near)


def _is_evening(pieces: Pieces, i: int) -> bool:
    """As in "7.30 for 8": guests come half an hour before the meal."""
    hour = text_after(pieces, find_near(pieces, i, 1))
    return hour.isdecimal() and int(hour) - int(pieces[i].text.partition(".")[0]) in (0, 1)


def decide_year(pieces: Pieces, i: int, k: int, after: str, tables: Tables) -> Answer:
    """Four digits from 1100 to 2099: a year, unless something is counted."""
    piece = pieces[i]
    amount = tables.say.amount(plain_digits(piece.text))
    before = text_at(pieces, k).lower()
    if before == "to" and after in tables.cues["counted"]:
        return say_number(piece, i, amount)
    if before in tables.cues["before year"] or is_month_at(pieces, k) or amount == piece.spoken:
        return say_number(piece, i, piece.spoken)
    plural = after.islower() and after.endswith("s") and len(after) > 3
    plural = plural and not after.endswith(("ss", "us", "is")) and after not in FUNCTION_WORDS
    if after in ("-", "–", "to"):
        after = text_after(pieces, find_near(pieces, find_near(pieces, i, 1), 1))
    if after in tables.cues["counted"] or before in tables.cues["before amount"]:
        return say_number(piece, i, amount)
    if not plural:
        return say_number(piece, i, piece.spoken)
    if int(piece.text) < 1900 or piece.text.endswith("00"):
        return say_number(piece, i, amount, (piece.spoken,), "an amount")
    return say_number(piece, i, piece.spoken, (amount,), "a year")


def decide_hours(pieces: Pieces, i: int, tables: Tables) -> Answer | None:
    """Two times of day in British print: "12-2.30"."""
    match = re.fullmatch(
        r"(\d{1,2})(?:\.([0-5][05]))?[-–](\d{1,2})(?:\.([0-5][05]))?", pieces[i].text
    )
    if not match or not (match[2] or match[4]) or tables.say.american:
        return None
    if not 0 < int(match[1]) < 25 > int(match[3]):
        return None
    first = tables.say.time(match[1], match[2] or "")
    spoken = (*first, "to", *tables.say.time(match[3], match[4] or ""))
    before, after = text_before(pieces, i).lower(), text_after(pieces, i).lower()
    sure = before in tables.cues["hour"] | DAYS | tables.cues["open"] or after in DAYS
    listed = ((), "") if sure else ((pieces[i].spoken,), "times of day")
    return say_number(pieces[i], i, spoken, *listed)


def decide_days(pieces: Pieces, i: int, tables: Tables) -> Answer | None:
    """ "May 23-24" and "23-24 May": from one day to another."""
    match = re.fullmatch(r"(\d{1,2})[-‐‑–—](\d{1,2})", plain_digits(pieces[i].text))
    if not match or not int(match[1]) < int(match[2]) <= 31:
        return None
    first, second = (tables.say.integer(int(day), "ordinal") for day in match.groups())
    following = find_near(pieces, i, 1)
    if is_month_at(pieces, following) and following == i + 2:
        return say_number(pieces[i], i, ("the", *first, "to", "the", *second, "of"))
    if not is_month_at(pieces, find_near(pieces, i, -1)):
        return None
    the: Words = () if tables.say.american else ("the",)
    return say_number(pieces[i], i, (*the, *first, "to", *the, *second))


def decide_clock(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """No "o'clock" in "12:00 p.m."; "to" in a ratio."""
    piece = pieces[i]
    if piece.text.count(":") == 1 and tells_verse(pieces, i, tables):
        return decide_ratio(pieces, i, tables)
    near = {text_before(pieces, i).lower(), text_after(pieces, i).lower()}
    full = re.fullmatch(r"(\d{1,2}):00", piece.text)
    if full and int(full[1]) and tells(pieces, i, tables.cues["workout"], 3):
        unit = tables.units["min"]
        return say_number(piece, i, (*tables.say.amount(full[1]), *name_unit(full[1], unit)))
    k = find_near(pieces, i, -1)
    near.add(text_before(pieces, k).lower() if k >= 0 else "")
    if near & tables.cues["marked"] and re.fullmatch(r"\d+:\d+", plain_digits(piece.text)):
        left, right = plain_digits(piece.text).split(":")
        spoken = (*tables.say.amount(left), "to", *tables.say.amount(str(int(right))))
        return say_number(piece, i, spoken)
    half = text_after(pieces, i).lower().replace(".", "").replace("'", "").replace("’", "")
    spoken = piece.spoken
    following = find_near(pieces, i, 1)
    beyond = find_near(pieces, following, 1) if text_at(pieces, following) in ("-", "–") else -1
    span = beyond > 0 and pieces[beyond].rule in ("clock", "hour")
    if (span or half in ("am", "pm", "noon", "midnight", "o")) and spoken[-1:] == ("o'clock",):
        spoken = spoken[:-1]
    if half in ("am", "pm") and following == i + 2:
        meridiem = Piece(pieces[following].text, WORD, name_letters(half))
        return following + 1, (Piece(piece.text, NUMBER, spoken), pieces[i + 1], meridiem)
    return i + 1, (Piece(piece.text, NUMBER, spoken),)
