"""Numbers by their neighbours: years, days, hours, telephones, amounts with units."""

from __future__ import annotations

import re
from typing import Final

from drillgen.speech.text.codes import DIRECTIONS, read_identifier
from drillgen.speech.text.forms import split_inches
from drillgen.speech.text.marks import is_quote_open
from drillgen.speech.text.neighbours import (
    DAYS,
    DETERMINERS,
    ERAS,
    FAR,
    FUNCTION_WORDS,
    LETTERED,
    MONTH_FORMS,
    NUMBERED,
    STOPS,
    Answer,
    Pieces,
    find_near,
    find_topical,
    find_word_before,
    has_day,
    has_stop,
    is_break,
    is_dialled,
    is_half,
    is_name,
    say_number,
    say_unit,
    skip_stop,
    tells,
    tells_verse,
    text_after,
    text_at,
    text_before,
    unit_at,
)
from drillgen.speech.text.numerals import (
    is_year,
    name_unit,
    plain_digits,
    pluralize,
    read_digits,
    split_fraction,
)
from drillgen.speech.text.pairs import decide_range
from drillgen.speech.text.rows import Unit, Words, word_set
from drillgen.speech.text.scan import NUMBER, PUNCTUATION, SPACE, WORD, Piece
from drillgen.speech.text.tables import Tables
from drillgen.speech.text.words import name_letters

_AFTER_MEASURE: Final = word_set(
    "min max approx ea each per away long wide high deep tall thick across apart off later ago "
    "more less north "
    "south east west"
)
_CALLED: Final = word_set("911 999 112 988 111 101 000 411 311 211")
_DISTANCES: Final = frozenset({"5", "8", "10", "15"})
_PRODUCT: Final = re.compile(r"(\w+)(?:[·•⋅.]|(?:(?<=in)|(?<=ft))\.? (?=lb))(\w+)")
_UNIT_TAIL: Final = re.compile(r"[^\d.,‐‑–—\-¼½¾]+$")
_SCALES: Final = word_set("thousand million billion trillion")

_VERSE: Final = re.compile(r"(\d{1,3})[:.](\d{1,3})(?:[-–](\d{1,3}))?")
_PRIMES: Final = tuple("′'’")
_SHILLINGS: Final = re.compile(r"(\d{1,2})s")
_PENCE: Final = re.compile(r"(\d{1,2}[½¼¾]?)d")
_BEFORE_LETTERED: Final = NUMBERED | word_set(
    "line leaflet apartment apt flat no gate platform stand box clause para paragraph question "
    "rule bus route room form schedule item note fig seat berth pitch plot group team class"
)
_GROUPS: Final = frozenset({"the", "for", "our", "all", "and", "most", "many"})


def decide_decade(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """The 30s are thirties, but "for 30s" and "a 30s rest" are seconds."""
    piece = pieces[i]
    old = _decide_old_money(pieces, i, tables)
    if old:
        return old
    before, digits = text_before(pieces, i).lower(), piece.text[:-1]
    noun = before in ("a", "another", "each")
    after = text_after(pieces, i).lower()
    if len(digits) > 3 or not digits.isdecimal():
        return i + 1, (piece,)
    spoken = (*tables.say.amount(digits), "second" if noun else "seconds")
    if before in tables.cues["lasting"] or (noun and after in tables.cues["pause"]):
        return say_number(piece, i, spoken)
    if len(digits) != 2:
        return say_number(piece, i, piece.spoken, (spoken,), "several of a number")
    if before.rstrip("-") in tables.cues["before decade"] or before in DETERMINERS:
        return i + 1, (piece,)
    if digits < "50":
        return say_number(piece, i, spoken, (piece.spoken,), "seconds")
    if after[:1].isalpha() and after not in FUNCTION_WORDS:
        return i + 1, (piece,)
    return say_number(piece, i, piece.spoken, (spoken,), "a decade")


def decide_ordinal(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """The ordinal in "6th October" and "October 6th", with its words."""
    piece = pieces[i]
    k, following = find_near(pieces, i, -1), find_near(pieces, i, 1)
    day = piece.text[:-2].isdecimal() and int(piece.text[:-2]) <= 31
    the: Words = () if text_at(pieces, k).lower() == "the" else ("the",)
    of = text_at(pieces, following) == "of"
    if of and _is_month_at(pieces, find_near(pieces, following, 1)):
        return say_number(piece, i, (*the, *piece.spoken))
    if day and _is_month_at(pieces, following) and following == i + 2:
        return say_number(piece, i, (*the, *piece.spoken, "of"))
    if day and _is_month_at(pieces, k) and not tables.say.american:
        return say_number(piece, i, (*the, *piece.spoken))
    return say_number(piece, i, piece.spoken)


def decide_ratio(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """1:10 is "one to ten", but a verse of the Bible has no "to"."""
    piece = pieces[i]
    return _decide_verse(pieces, i, tables) or (i + 1, (piece,))


def _decide_verse(pieces: Pieces, i: int, tables: Tables) -> Answer | None:
    """Chapter and verse after a book of the Bible: "Rom. 5:6", "Isa. 55.1-11"."""
    match = _VERSE.fullmatch(plain_digits(pieces[i].text))
    if not match or not tells_verse(pieces, i, tables):
        return None
    chapter, first, last = match.groups()
    spoken = (*tables.say.amount(chapter), *tables.say.amount(first))
    return say_number(pieces[i], i, (*spoken, "to", *tables.say.amount(last)) if last else spoken)


def decide_odds(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """9-4f: the favourite's odds in a text about horses, or else two numbers and a letter."""
    piece = pieces[i]
    if tells(pieces, i, tables.cues["racing"], 2):
        return say_number(piece, i, (*piece.spoken[:-1], "favourite"))
    return say_number(piece, i, piece.spoken, ((*piece.spoken[:-1], "favourite"),), "two numbers")


def decide_thousand(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """5k: a run of five kilometers is "a five k", anything else is counted in thousands; 4B:
    a flat or a size, but people and money are counted in billions."""
    piece = pieces[i]
    after, plural = text_after(pieces, i).lower(), _is_plural_after(pieces, i)
    if piece.text[-1] == "M":
        if piece.text[0] == "0":
            return i + 1, (piece._replace(spoken=(*piece.spoken[:-1], "m.")),)  # 0.02M saline
        beyond = text_after(pieces, find_near(pieces, i, 1))
        if not tables.cues["length"].isdisjoint((after, beyond)):
            noun = text_before(pieces, i).lower() in DETERMINERS or _is_noun_after(pieces, i)
            piece = piece._replace(spoken=(*piece.spoken[:-1], "meter" if noun else "meters"))
    elif piece.text[-1] == "K" and not plural and text_before(pieces, i) != "$":
        short = (*piece.spoken[:-1], "k.")
        likely = (
            len(piece.text) == 2 or after in tables.cues["file"] or after in tables.cues["race"]
        )
        likely = likely or piece.text[:-1] in _DISTANCES
        pair = (short, piece.spoken) if likely else (piece.spoken, short)
        note = "kilobytes or a distance" if likely else "thousands"
        listed = len(piece.text) > 2
        piece = piece._replace(
            spoken=pair[0], other=pair[1:] if listed else (), note=note if listed else ""
        )
    elif piece.text[-1] == "B":
        spoken = (
            piece.spoken
            if text_after(pieces, i) in tables.cues["millions"]
            else (*piece.spoken[:-1], "b.")
        )
        piece = piece._replace(spoken=spoken)
    elif (
        text_before(pieces, i).lower() in DETERMINERS
        or text_after(pieces, i).lower() in tables.cues["race"]
        or (
            piece.text[:-1] in _DISTANCES
            and (not after.isalpha() or after in tables.cues["length"])
        )
    ):
        spoken = (*piece.spoken[:-1], "k.")
        piece = piece._replace(spoken=spoken, other=(piece.spoken,), note="a distance")
    return i + 1, (piece,)


def decide_amount(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """A plain number: a year, a day, an hour, a phone number, or an amount with its unit."""
    piece = pieces[i]
    following = find_near(pieces, i, 1)
    k = find_near(pieces, i, -1)
    apart = _decide_apart(pieces, i, k, following, tables)
    if apart:
        return apart
    if text_at(pieces, k) == "." and k > 0 and pieces[k - 1].rule == "abbreviation":
        k -= 1
    answer = (
        _decide_verse(pieces, i, tables)
        or _decide_ending(pieces, i, k, following, tables)
        or _decide_hour(pieces, i, following, tables)
        or decide_timed(pieces, i, k, following, tables)
        or _decide_day(pieces, i, k, following, tables)
    )
    if answer:
        return answer
    digits = plain_digits(piece.text)
    before, after = text_at(pieces, k).lower(), text_at(pieces, following)
    if _is_called(pieces, i, k, digits):
        return say_number(piece, i, read_digits(digits))
    if after in ERAS or before.upper() in ERAS:
        year = digits.isdecimal() and len(digits) < 5
        return say_number(
            piece, i, tables.say.year(digits) if year else piece.spoken, (), "a year"
        )
    if following - i <= 2 and following >= 0:
        if after in tables.currencies and after.isalpha():
            text = "".join(p.text for p in pieces[i : following + 1])
            spoken = tables.say.money(piece.text, "", tables.currencies[after])
            return following + 1, (Piece(text, NUMBER, spoken),)
        measure = _measure(pieces, i, following, tables)
        if measure:
            return measure
        fraction = split_fraction(after)
        if fraction and not fraction[0] and piece.text[-1:].isdecimal() and following == i + 2:
            return say_number(piece, i, tables.say.amount(digits))
    old = len(digits) == 3 or (digits[:2] == "10" and len(digits) == 4)
    dated = before in ("in", "late", "early", "mid") or (
        _is_month_at(pieces, k) and has_day(pieces, k)
    )
    if digits.isdecimal() and old and dated and after in ("", ".", ",", ";", ")"):
        return say_number(piece, i, tables.say.year(digits))
    if is_year(digits):
        return _decide_year(pieces, i, k, after, tables)
    if _is_identifier(pieces, i, k, digits, tables):
        return say_number(piece, i, tables.say.pairs(digits))
    head, _, part = digits.partition(".")
    if is_year(head) and part:
        spoken = (*tables.say.year(head), "point", *tables.say.amount("0." + part)[2:])
        return say_number(piece, i, spoken, (piece.spoken,), "a number of a thing")
    if re.fullmatch(r"\d{1,3}\.\d{3}", digits) and digits.endswith("000"):
        return say_number(
            piece, i, piece.spoken, (tables.say.amount(digits.replace(".", "")),), "a decimal"
        )
    return say_number(piece, i, piece.spoken)


def _is_called(pieces: Pieces, i: int, k: int, digits: str) -> bool:
    """Whether a short number is called: "ring 150", "call 311 for lost items, 911 for help"."""
    before = text_at(pieces, k).lower()
    if not digits.isdecimal():
        return False
    if digits in _CALLED and before in (",", "or", "and"):
        return any(is_dialled(pieces, j) for j in range(max(0, i - 16), i))
    short = len(digits) == 3 and before != "or" and not _is_noun_after(pieces, i)
    return is_dialled(pieces, i) and (before == "*" or short or digits in _CALLED)


def _join_thousands(pieces: Pieces, i: int, tables: Tables) -> Answer | None:
    """10 000 000: groups of three with spaces (SI brochure, 5.4.4), where one is all zeros."""
    end, groups = i, [pieces[i].text]
    while end + 2 < len(pieces) and re.fullmatch(r"\d{3}", pieces[end + 2].text):
        if pieces[end + 1].text not in (" ", "\u00a0", "\u202f"):
            break
        end += 2
        groups.append(pieces[end].text)
    if not re.fullmatch(r"[1-9]\d{0,2}", groups[0]) or "000" not in groups[1:]:
        return None
    text = "".join(piece.text for piece in pieces[i : end + 1])
    return end + 1, (Piece(text, NUMBER, tables.say.amount("".join(groups))),)


def _is_identifier(pieces: Pieces, i: int, k: int, digits: str, tables: Tables) -> bool:
    """Whether three or four digits name a thing: "HTTP 404", "the 787", "port 8080"."""
    if not re.fullmatch(r"[1-9]\d(?!00)\d\d|[1-9](?!00)\d\d", digits):
        return False
    before, after = text_at(pieces, k), text_after(pieces, i)
    if before in ("§", "§§"):
        return True
    if before.lower() in ("a", "an"):
        alone = not after[:1].isalnum() or after in FUNCTION_WORDS
        return alone or (_is_plural_after(pieces, i) and digits[-1] != "0")  # a 787 lands
    if _is_plural_after(pieces, i) or before.lower() in tables.cues["before amount"] or k != i - 2:
        return False
    labelled = before.isupper() and 1 < len(before) < 6 and pieces[k].kind is WORD
    counted = after.islower() and after not in FUNCTION_WORDS
    if labelled or counted:
        return labelled
    bare = before == "the" and not after[:1].isalnum()
    return bare or (len(digits) == 4 and before.lower() not in FUNCTION_WORDS)


def _decide_apart(pieces: Pieces, i: int, k: int, following: int, tables: Tables) -> Answer | None:
    """Digits that are no amount: votes, codes, numbered books, scores to par."""
    piece = pieces[i]
    if text_at(pieces, following) == "(" and text_after(pieces, following)[-1:] == "%":
        return say_number(piece, i, tables.say.amount(piece.text))  # votes
    thousands = _join_thousands(pieces, i, tables)
    if thousands:
        return thousands
    code = read_identifier(pieces, i, tables)
    if code:
        return i + 1, (code,)
    if (
        piece.text in tuple("1234")
        and text_at(pieces, following).lower() in tables.cues["numbered book"]
    ):
        verse = find_near(pieces, skip_stop(pieces, following), 1)
        named = text_at(pieces, following)[:1].isupper()
        if verse > 0 and named and pieces[verse].rule in ("ratio", "clock", "amount", "range"):
            return say_number(piece, i, tables.say.integer(int(piece.text), "ordinal"))
    par = re.fullmatch(r"([-–+])(\d{1,2})", piece.text)
    if par and tells(pieces, i, tables.cues["golf"]):
        over = "over" if par[1] == "+" else "under"
        return say_number(piece, i, (*tables.say.amount(par[2]), over))
    if piece.text[0] in "-–" and text_at(pieces, k).lower() in NUMBERED | LETTERED:
        return say_number(piece, i, piece.spoken[1:])
    return None


def _decide_day(pieces: Pieces, i: int, k: int, following: int, tables: Tables) -> Answer | None:
    """The day in "3 May" and "May 3"."""
    digits = plain_digits(pieces[i].text)
    if not (digits.isdecimal() and len(digits) <= 2 and 0 < int(digits) <= 31):
        return None
    after = text_at(pieces, following)
    if _is_month_at(pieces, following) and not after.islower():
        the: Words = () if text_at(pieces, k).lower() == "the" else ("the",)
        return say_number(pieces[i], i, (*the, *tables.say.integer(int(digits), "ordinal"), "of"))
    second = text_at(pieces, k).lower() in ("and", "or", "to", "through")
    if second and not _is_noun_after(pieces, i):
        # "January 10 and 11": the month stands before the first day.
        day = find_near(pieces, k, -1)
        if day >= 0 and re.fullmatch(r"\d{1,2}", pieces[day].text):
            k = find_near(pieces, day, -1)
    if text_at(pieces, k) in ("-", "–"):
        day = find_near(pieces, k, -1)  # May 3 - 5
        if re.fullmatch(r"\d{1,2}", text_at(pieces, day)) and not _is_noun_after(pieces, i):
            k = find_near(pieces, day, -1)
    if after == "," or text_at(pieces, k) == ",":
        k = _find_listed_month(pieces, i, k)
    if _is_month_at(pieces, k) and has_day(pieces, k):
        return None
    if _is_month_at(pieces, k) and (after[:1] != ":" or following > i + 1 or _ends_day(pieces, i)):
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


def _decide_hour(pieces: Pieces, i: int, following: int, tables: Tables) -> Answer | None:
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


def _decide_ending(
    pieces: Pieces, i: int, k: int, following: int, tables: Tables
) -> Answer | None:
    """An ordinal's ending after a space: "12 th October"."""
    digits, ending = plain_digits(pieces[i].text), text_at(pieces, following).lower()
    if following != i + 2 or ending not in ("st", "nd", "rd", "th") or not digits.isdecimal():
        return None
    near = find_near(pieces, following, 1)
    dated = _is_month_at(pieces, near) or _is_month_at(pieces, k)
    if ending == "st" and not dated:
        return None
    number = tables.say.ordinal(digits)
    of: Words = ("of",) if _is_month_at(pieces, near) else ()
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
    if after == "%" or after in tables.units or after in (*_SCALES, *tables.currencies):
        return None
    signed, sure = pieces[i].text[0] in "-–", _is_timed(pieces, i, k, tables)
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
    dated = _is_month_at(pieces, k) and has_day(pieces, k)
    if text_at(pieces, k).lower() in DAYS or (after == "for" and _is_evening(pieces, i)):
        return True
    if before in tables.cues["hour"] or dated:
        return not _is_noun_after(pieces, i) or after in tables.cues["hourly"]
    racing = tells(pieces, i, tables.cues["racing"], 2)
    if before == "the":
        return is_name(after) or after in tables.cues["hourly"] or racing
    return racing and (k < i - 2 or "\n" in pieces[i - 1].text)


def _has_times(pieces: Pieces, i: int) -> bool:
    """Whether the text around writes hours with a stop: "7.30pm"."""
    near = pieces[max(0, i - FAR // 4) : i + FAR // 4]
    return any(re.fullmatch(r"\d{1,2}\.[0-5]\d[ap]m", piece.text) for piece in near)


def _is_evening(pieces: Pieces, i: int) -> bool:
    """As in "7.30 for 8": guests come half an hour before the meal."""
    hour = text_after(pieces, find_near(pieces, i, 1))
    return hour.isdecimal() and int(hour) - int(pieces[i].text.partition(".")[0]) in (0, 1)


def _decide_year(pieces: Pieces, i: int, k: int, after: str, tables: Tables) -> Answer:
    """Four digits from 1100 to 2099: a year, unless something is counted."""
    piece = pieces[i]
    amount = tables.say.amount(plain_digits(piece.text))
    before = text_at(pieces, k).lower()
    if before == "to" and after in tables.cues["counted"]:
        return say_number(piece, i, amount)
    if before in tables.cues["before year"] or _is_month_at(pieces, k) or amount == piece.spoken:
        return say_number(piece, i, piece.spoken)
    plural = after.islower() and after.endswith("s") and len(after) > 3
    plural = plural and not after.endswith(("ss", "us", "is")) and after not in FUNCTION_WORDS
    if after in ("-", "–", "to"):
        after = text_after(pieces, find_near(pieces, find_near(pieces, i, 1), 1))
    if (
        after in tables.cues["counted"] | tables.cues["counted"]
        or before in tables.cues["before amount"]
    ):
        return say_number(piece, i, amount)
    if not plural:
        return say_number(piece, i, piece.spoken)
    if int(piece.text) < 1900 or piece.text.endswith("00"):
        return say_number(piece, i, amount, (piece.spoken,), "an amount")
    return say_number(piece, i, piece.spoken, (amount,), "a year")


def _is_month_at(pieces: Pieces, i: int) -> bool:
    """Whether a month name stands at a place (or ends there, with its stop)."""
    if i < 0:
        return False
    if pieces[i].text == "." and i > 0 and pieces[i - 1].rule == "abbreviation":
        i -= 1
    text = pieces[i].text
    return text[:1].isupper() and text.lower() in MONTH_FORMS


def _is_plural_after(pieces: Pieces, i: int) -> bool:
    after = text_after(pieces, i)
    return after.islower() and after.endswith("s") and len(after) > 3


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
        and "." not in after
    )


def _measure(pieces: Pieces, i: int, k: int, tables: Tables) -> Answer | None:
    """The unit after a number: its words by the number, and its stop ("6 ft. of rope")."""
    amount = pieces[i].text
    text, end, unit = _find_unit(pieces, k, tables)
    if unit is None:
        return None
    stop = end == k and has_stop(pieces, k)
    follow = find_near(pieces, k + 1, 1) if stop else -1
    next_char = pieces[follow].text[:1] if follow >= 0 else ""
    inside = stop and (next_char.islower() or next_char.isdecimal())
    if not unit.loose and k > i + 1 and not (text == "in" and stop):
        return None
    noun = text_before(pieces, i).lower() in DETERMINERS and _is_noun_after(pieces, end)
    if text in ("st", "sts") and tells(pieces, i, tables.cues["knitting"]):
        unit = tables.units["sts."]
    fraction = split_fraction(amount)
    joined_on = fraction is not None and not fraction[0] and _follows_whole(pieces, i)
    tail = unit.several if joined_on else name_unit(amount, unit, noun)
    letter = len(text) == 1 and text.isupper()
    if text in ("N", "W") and len(amount.partition(".")[2]) > 2:
        spoken = tables.say.amount(amount)
        way = Piece(text, WORD, DIRECTIONS[text])  # of a place on the map
        return k + 1, (Piece(amount, NUMBER, spoken), *pieces[i + 1 : k], way)
    street = stop and re.match(r"\d+(?:st|nd|rd|th)", text_at(pieces, follow)) is not None
    if letter and (
        street or (stop and next_char.isupper()) or text_after(pieces, k)[:1].isupper()
    ):
        return None  # 123 N. Main, 5 V Lane
    if joined_on:
        number = ("and", *pieces[i].spoken)
    elif fraction:
        number = pieces[i].spoken
        if tail[0] in ("a", "an") and number[0] == "a":
            number = number[1:]
    elif pieces[i].rule == "amount":
        number = tables.say.amount(amount)
    else:
        number = pieces[i].spoken
    between = tuple(pieces[i + 1 : k])
    written = "".join(p.text for p in pieces[k : end + 1])
    kind = WORD if written[:1].isalpha() else NUMBER
    if inside:
        written, end = written + ".", end + 1
    ending = Piece(written, kind, tail)
    rate = text_at(pieces, end + 1) == "/" if end + 1 < len(pieces) else False
    if (
        letter
        and between
        and not rate
        and text in "NJVWT"
        and not tells(pieces, i, tables.cues["electric"])
    ):
        ending = ending._replace(other=((f"{text.lower()}.",),), note="a unit")
    return end + 1, (Piece(amount, NUMBER, number), *between, ending)


def _find_unit(pieces: Pieces, k: int, tables: Tables) -> tuple[str, int, Unit | None]:
    """The unit at a place, of one piece or more ("sq. ft", "N·m", "ft. lbs"): its symbol, its
    end, and itself."""
    text = pieces[k].text
    if len(text) > 3:
        return text, k, unit_at(pieces, k, tables)
    for last in range(min(k + 3, len(pieces) - 1), k, -1):
        joined = "".join(p.text for p in pieces[k : last + 1]).replace("μ", "µ")
        unit = tables.units.get(joined.replace(".", "")) if joined[-1] != "." else None
        product = _PRODUCT.fullmatch(joined)
        if product and product[1] in tables.units and product[2] in tables.units:
            first, second = tables.units[product[1]].one, tables.units[product[2]]
            unit = Unit(first + second.one, first + second.several, True)
        if unit:
            return joined, last, unit
    return text, k, unit_at(pieces, k, tables)


def decide_quantity(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """A range or a fraction that a unit or a fraction's noun may follow."""
    if pieces[i].rule == "range":
        counted = re.fullmatch(r"(\d{4})[-–](\d{4})", pieces[i].text)
        if counted and text_after(pieces, i) in tables.cues["counted"]:
            left, right = counted.groups()
            return say_number(
                pieces[i], i, (*tables.say.amount(left), "to", *tables.say.amount(right))
            )
        days = (
            _decide_verse(pieces, i, tables)
            or _decide_days(pieces, i, tables)
            or _decide_hours(pieces, i, tables)
        )
        score = days or decide_range(pieces, i, tables)
        if score:
            return score
    following = find_near(pieces, i, 1)
    if following >= 0 and following - i <= 2:
        measure = _measure(pieces, i, following, tables)
        if measure:
            return measure
    piece = pieces[i]
    fraction = split_fraction(piece.text)
    if fraction and not fraction[0] and _follows_whole(pieces, i):
        return i + 1, (Piece(piece.text, NUMBER, ("and", *piece.spoken)),)
    return i + 1, (piece,)


def _decide_hours(pieces: Pieces, i: int, tables: Tables) -> Answer | None:
    """Two times of day in British print: "12-2.30"."""
    match = re.fullmatch(
        r"(\d{1,2})(?:\.([0-5][05]))?[-–](\d{1,2})(?:\.([0-5][05]))?", pieces[i].text
    )
    if (
        not match
        or not (match[2] or match[4])
        or tables.say.american
        or not 0 < int(match[1]) < 25 > int(match[3])
    ):
        return None
    first = tables.say.time(match[1], match[2] or "")
    spoken = (*first, "to", *tables.say.time(match[3], match[4] or ""))
    before, after = text_before(pieces, i).lower(), text_after(pieces, i).lower()
    sure = before in tables.cues["hour"] | DAYS | tables.cues["open"] or after in DAYS
    listed = ((), "") if sure else ((pieces[i].spoken,), "times of day")
    return say_number(pieces[i], i, spoken, *listed)


def _follows_whole(pieces: Pieces, i: int) -> bool:
    """As in "3 ½": a whole number stands before."""
    k = find_near(pieces, i, -1)
    return k >= 0 and k == i - 2 and pieces[k].rule == "amount" and len(pieces[k].text) < 4


def _decide_days(pieces: Pieces, i: int, tables: Tables) -> Answer | None:
    """ "May 23-24" and "23-24 May": from one day to another."""
    match = re.fullmatch(r"(\d{1,2})[-‐‑–—](\d{1,2})", plain_digits(pieces[i].text))
    if not match or not int(match[1]) < int(match[2]) <= 31:
        return None
    first, second = (tables.say.integer(int(day), "ordinal") for day in match.groups())
    following = find_near(pieces, i, 1)
    if _is_month_at(pieces, following) and following == i + 2:
        return say_number(pieces[i], i, ("the", *first, "to", "the", *second, "of"))
    if not _is_month_at(pieces, find_near(pieces, i, -1)):
        return None
    the: Words = () if tables.say.american else ("the",)
    return say_number(pieces[i], i, (*the, *first, "to", *the, *second))


def _decide_old_money(pieces: Pieces, i: int, tables: Tables) -> Answer | None:
    """Shillings and pence: "£839 19s. 3d.", "3s 9d", "8d. in the pound"."""
    piece = pieces[i]
    shillings, pence = _SHILLINGS.fullmatch(piece.text), _PENCE.fullmatch(piece.text)
    if not (shillings or pence):
        return None
    before, after = find_near(pieces, i, -1), find_near(pieces, skip_stop(pieces, i), 1)
    if text_at(pieces, before) == ".":
        before = find_near(pieces, before, -1)
    pounds = before >= 0 and pieces[before].text[:1] == "£"
    if shillings:
        beside = pounds or _PENCE.fullmatch(text_at(pieces, after))
        unit: Words = ("shilling",) if shillings[1] == "1" else ("shillings",)
        figure = shillings[1]
    else:
        old = tells(pieces, i, tables.cues["old money"])
        beside = pounds or old or _SHILLINGS.fullmatch(text_at(pieces, before))
        unit = ("penny",) if pence and pence[1] == "1" else ("pence",)
        figure = pence[1] if pence else ""
    fraction = split_fraction(figure)
    number = tables.say.mixed(*fraction) if fraction else tables.say.amount(figure)
    if not beside:
        if tables.say.american or not pence or not has_stop(pieces, i):
            return None
        return say_number(piece, i, piece.spoken, ((*number, *unit),), "a letter")
    return i + 1, (piece._replace(spoken=(*number, *unit)),)


def _decide_topical(pieces: Pieces, i: int, tables: Tables) -> Answer | None:
    """A unit that is another one in what the text is about: 2f, 110y and 1¼l of a race."""
    piece = pieces[i]
    symbol = piece.text.lstrip("0123456789.,¼½¾-–")
    unit = find_topical(pieces, i, symbol, tables)
    if not unit:
        return None
    figure = piece.text.removesuffix(symbol)
    plain = len(tables.units[symbol].several) if symbol in tables.units else 0
    number = piece.spoken[:-plain] if plain else tables.say.amount(figure)
    return i + 1, (piece._replace(spoken=(*number, *name_unit(figure, unit))),)


def _decide_lettered(pieces: Pieces, i: int, tables: Tables) -> Answer | None:
    """The letter of a line or a leaflet (12c, 3b), which looks like a unit."""
    piece = pieces[i]
    if piece.text[-1] == "c" and tells(pieces, i, tables.cues["weather"], 2):
        return i + 1, (piece._replace(spoken=(*piece.spoken[:-1], "c.")),)
    lettered = re.fullmatch(r"(\d{1,3})([a-hptmJN])(\.?)", piece.text)
    if not lettered or (lettered[2] in "JN" and tells(pieces, i, tables.cues["electric"])):
        return None
    digits, letter, stop = lettered.groups()
    spoken = (*tables.say.amount(digits), letter.lower() + ".")
    cooking = tables.cues["cooking"] if piece.spoken[-1].startswith(("cup", "tea")) else None
    before = text_at(pieces, find_word_before(pieces, i)).lower()
    if before in _BEFORE_LETTERED or (cooking and not tells(pieces, i, cooking)):
        ends = (Piece(".", PUNCTUATION),) if stop else ()
        return i + 1, (Piece(digits + letter, NUMBER, spoken), *ends)
    if letter in "JN" or (letter in "ct" and not (cooking and tells(pieces, i, cooking, 2))):
        readings = (spoken, piece.spoken) if letter in "JN" else (piece.spoken, spoken)
        note = "a unit" if letter in "ct" else "a letter"
        return say_number(piece, i, readings[0], readings[1:], note)
    return None


def decide_attached(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """A number with its unit in one: "a 5km walk" has no plural."""
    piece = pieces[i]
    special = (
        _decide_old_money(pieces, i, tables)
        or _decide_topical(pieces, i, tables)
        or _decide_lettered(pieces, i, tables)
    )
    if special:
        return special
    number = piece.text[:-1]
    if piece.spoken[-1] == "seconds" and piece.text[-1] == "s" and number.isdecimal():
        # The under 25s, massive 6s: many of that number.
        k = find_near(pieces, i, -1)
        before = text_at(pieces, k if text_at(pieces, k) not in tuple("-‐‑") else k - 1)
        whose = text_before(pieces, find_near(pieces, i, -1)).lower()
        aged = before.lower() in ("over", "under")
        if aged and text_at(pieces, k) in tuple("-‐‑"):  # under-5s
            return i + 1, (piece._replace(spoken=pluralize(piece.spoken[:-1])),)
        odds = before == "at" and tells(pieces, i, tables.cues["racing"], 2)
        ages = before in ("x", "×") or odds or (aged and (before[0].isupper() or whose in _GROUPS))
        if ages or before.lower() in tables.cues["plural"]:
            return i + 1, (piece._replace(spoken=pluralize(piece.spoken[:-1])),)
    if piece.text == "1x":
        return i + 1, (piece._replace(spoken=piece.spoken[:-1]),)  # 1x burger
    last = piece.text.lstrip("0123456789.,/⁄½¼¾")
    if last in ("st", "sts") and tells(pieces, i, tables.cues["knitting"]):
        return i + 1, (piece._replace(spoken=(*piece.spoken[:-1], "stitches")),)
    if last == "m" and plain_digits(number).isdecimal() and int(plain_digits(number)) < 60:
        near = pieces[max(0, i - FAR // 10) : i + FAR // 10]
        if any(re.fullmatch(r"\d{1,2}(?:h|hrs?|mins?)", p.text) for p in near):  # 1h 07m 59s
            minutes = tables.say.integer(int(plain_digits(number)))
            return i + 1, (piece._replace(spoken=(*minutes, "minutes")),)
    if piece.spoken[-1] == "meters" and text_after(pieces, i) in tables.cues["millions"]:
        return i + 1, (piece._replace(spoken=(*piece.spoken[:-1], "million")),)
    figure = piece.text.removesuffix(last)
    part = split_fraction(figure)
    if part and not part[0] and last in tables.units and _follows_whole(pieces, i):
        spoken = ("and", *tables.say.fraction(*part[1:]), *tables.units[last].several)
        return i + 1, (piece._replace(spoken=spoken),)  # 9 1/2in
    thick = text_at(pieces, i + 1) if i + 2 < len(pieces) else ""
    thick_noun = thick in tuple("-‐‑") and pieces[i + 2].kind is WORD
    noun = text_before(pieces, i).lower() in DETERMINERS | {"x"} and _is_noun_after(pieces, i)
    noun = noun or (last == "m" and text_after(pieces, i).lower() in tables.cues["length"])
    if (noun or thick_noun) and piece.spoken[-1] != "olds":
        return i + 1, (Piece(piece.text, NUMBER, _say_one(piece, tables)),)
    return i + 1, (piece,)


def _say_one(piece: Piece, tables: Tables) -> Words:
    """A number and its unit before a noun: "a five kilometer walk"."""
    symbol = _UNIT_TAIL.search(piece.text)
    unit = tables.units.get(symbol[0]) if symbol else None
    if not unit or unit.one == ("penny",) or piece.spoken[-len(unit.several) :] != unit.several:
        return piece.spoken
    return piece.spoken[: -len(unit.several)] + unit.one


def decide_money(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """One form for "$1.2 million"; no plural in "a $5 note"."""
    piece = pieces[i]
    following = find_near(pieces, i, 1)
    text, end = piece.text, i
    number = piece.text.lstrip("-−–")
    signs = sorted(tables.currencies, key=len, reverse=True)
    sign = next(filter(number.startswith, signs))
    amount = number[len(sign) :]
    magnitude = amount.lstrip("0123456789.,")
    plain = bool(re.fullmatch(r"[\d.,]+[a-zA-Z]{0,2}", amount))
    span = re.fullmatch(r"([\d.,]+)[-–]\D?([\d.,]+)", amount)
    if following == i + 2 and text_at(pieces, following).lower() in (*_SCALES, "bn", "m", "tn"):
        magnitude = pieces[following].text
        text = piece.text + pieces[i + 1].text + magnitude
        end = following
        if span:
            upper = tables.say.money(span[2], magnitude, tables.currencies[sign])
            return end + 1, (Piece(text, NUMBER, (*tables.say.amount(span[1]), "to", *upper)),)
    noun = text_before(pieces, i).lower() in DETERMINERS - {"its"} and _is_noun_after(pieces, end)
    if not plain or not (noun or end > i):
        return i + 1, (piece,)
    digits = re.match(r"[\d.,]+", amount)
    spoken = tables.say.money(
        digits[0] if digits else "0", magnitude, tables.currencies[sign], noun
    )
    minus: Words = ("minus",) if number != piece.text else ()
    return end + 1, (Piece(text, NUMBER, minus + spoken),)


def decide_currency(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """A sign with a space after it: "$ 3,500,000"."""
    k = find_near(pieces, i, 1)
    plain = k == i + 2 and pieces[k].rule == "amount" and pieces[k].text[:1].isdecimal()
    if not plain or "\n" in pieces[i + 1].text:
        return i + 1, (pieces[i],)
    amount, end, magnitude = pieces[k].text, k, ""
    following = find_near(pieces, k, 1)
    if following == k + 2 and text_at(pieces, following).lower() in (*_SCALES, "bn", "m", "tn"):
        magnitude, end = pieces[following].text, following
    spoken = tables.say.money(amount, magnitude, tables.currencies[pieces[i].text])
    text = "".join(piece.text for piece in pieces[i : end + 1])
    return end + 1, (Piece(text, NUMBER, spoken),)


def decide_prime(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """17" is seventeen inches and 6' six feet, unless the mark closes a quotation."""
    piece = pieces[i]
    amount, mark = piece.text[:-1], piece.text[-1]
    if _is_quoted(pieces, i, mark):
        spoken = tables.say.year(amount) if is_year(amount) else piece.spoken
        return i + 1, (Piece(amount, NUMBER, spoken), Piece(mark, PUNCTUATION))
    unit = tables.units["in" if piece.rule == "inch" else "ft"]
    if piece.rule == "foot" and text_before(pieces, i) == "(" and text_after(pieces, i) == ")":
        unit = tables.units["min"]  # of a match
    arc = find_near(pieces, i, -1)
    minutes = arc >= 0 and pieces[arc].text[-1:] in _PRIMES
    if (text_before(pieces, arc) if minutes else text_at(pieces, arc))[-1:] == "°":
        unit = tables.units["min" if piece.rule == "foot" else "s"]  # of arc
    following = find_near(pieces, i, 1)
    noun = _is_noun_after(pieces, i) or text_at(pieces, following).lower() in ("elevation", "x")
    fraction = split_inches(amount)
    joined = fraction is not None and not fraction[0] and _follows_whole(pieces, i)
    spoken = piece.spoken
    if joined and fraction:
        return say_number(piece, i, ("and", *tables.say.fraction(*fraction[1:]), *unit.several))
    tail = unit.one if noun else name_unit(amount if fraction or "/" not in amount else "2", unit)
    return say_number(piece, i, (*spoken, *tail))


def _is_quoted(pieces: Pieces, i: int, mark: str) -> bool:
    """Whether a mark behind a number closes a quotation that is open there."""
    if mark in "'’":
        return is_quote_open(pieces, i)
    for k in range(i - 1, max(-1, i - FAR), -1):
        if is_break(pieces[k]):
            break
        if pieces[k].text in {'"': '"', "”": "“”"}.get(mark, ""):
            opens = k == 0 or pieces[k - 1].kind is SPACE or pieces[k - 1].text in "(["
            return opens if mark == '"' else pieces[k].text == "“"
    return False


def decide_unit(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """A unit's symbol without a number: "half a km"; one that ends in s is several."""
    text = pieces[i].text
    unit = tables.units[text]
    plural = len(text) > 2 and text.endswith("s")
    spoken = unit.several if plural else say_unit(pieces, i, unit)
    return i + 1, (Piece(text, WORD, spoken),)


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
