"""The written forms of numbers. numerals.py knows how they are said.

Dates follow ISO 8601, telephone numbers ITU-T E.123; what these don't cover is common practice.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from itertools import chain
from typing import Final, NamedTuple

from drillgen.core.resources import load_frequencies
from drillgen.speech.text.numerals import (
    MAGNITUDES,
    MONTHS,
    Numerals,
    is_clock,
    is_year,
    name_unit,
    plain_digits,
    pluralize,
    read_digits,
    split_fraction,
)
from drillgen.speech.text.rows import UNKNOWN_SHORT, Unit, Words
from drillgen.speech.text.tables import Tables
from drillgen.speech.text.words import fold_accents, is_sayable, name_letters, read_word


class Reading(NamedTuple):
    """What starts at a place of a text."""

    end: int
    spoken: Words
    rule: str = ""
    """The context rule that must look at it; empty for none."""

    other: tuple[Words, ...] = ()
    """How else it could be read."""

    note: str = ""
    """What it was taken for."""


# Each quantifier is bounded or possessive, so that no input can make the forms slow.
_END: Final = r"(?![\w]|[.,:/]\d)"
_INT: Final = r"(?:\d{1,3}(?:,\d{3}){1,6}+(?!\d)|\d++)"
_DEC: Final = rf"(?:{_INT}(?:\.\d++)?|\.\d++)"
_DASH: Final = "[-‐‑–—−]"
_QUOTES: Final = "'’‘"
_SIGNS: Final = "£€¥₹₩₽₺₪₱₦₫฿"
_VULGAR: Final = re.compile(r"\d{0,9}[¼½¾⅐-⅞↉]")
_FRACTION: Final = re.compile(r"[1-9]\d{0,2}[/⁄][1-9]\d{0,2}(?=(rds?|ds|ths?|s)?(?!\w))")
_WHOLE_AND_PART: Final = re.compile(
    r"(\d{1,3})-([1-9]\d?)/(2|4|8|16|32|64)(?=[\"”″]|-?in(?!\w)|(?![\w/\-]|[.,:]\d))"
)
"""92-5/8": a whole number and a fraction of an inch (American carpentry)."""

_PART: Final = re.compile(r"[1-9][/⁄](?:[2-58]|16|32)(?=[a-zA-Z])(?!(?:s|ths?|rds?)(?!\w))")
_ISO: Final = re.compile(
    r"(\d{4})-(\d\d)-(\d\d)(?:T(\d\d):(\d\d)(?::(\d\d)(?:\.\d{1,9})?)?(?:Z|[+-]\d\d:?\d\d)?)?"
    + _END
)
_DATE: Final = re.compile(rf"(\d{{1,2}})([/.\-])(\d{{1,2}})\2(\d{{4}}|\d\d){_END}")
_NAMED_DATE: Final = re.compile(rf"(\d{{1,2}})-([A-Z][a-z]{{2,8}})-(\d{{4}}|\d\d){_END}")
_TIME: Final = re.compile(
    r"(\d{1,2})(?:[:.]([0-5]\d)(?::([0-5]\d))?)?([ap])\.?m(?:\b\.(?!\w))?(?!\w)", re.IGNORECASE
)
_HALVED: Final = re.compile(r"(\d{1,2}):([0-5]\d)([apAP])(?!\w)")
"""5:42a and 3:10p, in timetables."""

_ARC: Final = re.compile(
    r"(\d{1,3})°(\d{1,2}(?:\.\d+)?)['’′](\.\d+)?(?:(\d{1,2}(?:\.\d+)?)(?:[\"”″]|''))?"
)
_TIME_SPAN: Final = re.compile(
    r"(\d{1,2})(?:[:.]([0-5]\d))?[-‐‑–—](\d{1,2})(?:[:.]([0-5]\d))?"
    r"([ap])\.?m(?:\b\.(?!\w))?(?!\w)",
    re.IGNORECASE,
)
_RACE: Final = re.compile(r"(?:(\d{1,2}):)?(\d{1,2}):([0-5]\d)\.(\d{1,3})(?!\w)")
_ISH: Final = re.compile(r"(\d{1,2})[.:]([0-5]\d)-?ish(?!\w)")
_ODDS: Final = re.compile(r"(\d{1,3})[-/](\d{1,2})([fF])(?!\w)")
_CLOCK: Final = re.compile(rf"(\d{{1,2}}):([0-5]\d)(?::([0-5]\d))?(hrs?)?{_END}")
_RATIO: Final = re.compile(rf"(\d{{1,3}}(?:\.\d{{1,3}})?):(\d{{1,3}}(?:,\d{{3}}){{0,2}}){_END}")
_ORDINAL: Final = re.compile(
    rf"({_INT})(?:st|nd|rd|th|ST|ND|RD|TH)(?:[-–]({_INT})(?:st|nd|rd|th))?(?!\w)"
)
_DECADE: Final = re.compile(rf"[{_QUOTES}]?(\d{{0,3}}0)[{_QUOTES}]?s(?!\w)")
_PHONE: Final = re.compile(
    rf"(?![1-9]\d-[1-9]\d-[1-9]\d(?![-\d]))(?:\+?\d{{1,5}}|\(\+?\d{{1,5}}\))(?:[-‐‑]\d{{2,5}}){{2,6}}(?:x\d{{2,6}})?{_END}"
    rf"|\d{{1,3}}-\d{{4}}(?:x\d{{2,6}})?{_END}|\+\d{{1,3}}(?:\.\d{{1,4}}){{2,4}}{_END}"
    rf"|\+?(?:1[.\-/])?(?:\(\d{{3}}\)|\d{{3}})[.\-/]?\d{{3}}[.\-]\d{{4}}(?:x\d{{2,6}})?{_END}"
    rf"|\d{{5}}-\d{{4}}{_END}|\+[1-9]\d{{7,14}}{_END}|0\d{{3}}\.\d{{3}}\.\d{{3}}{_END}|0\d\.\d{{4}}\.\d{{4}}{_END}"
)
_BOOK: Final = re.compile(
    rf"(?=[\d-]{{12}}[\dX]{_END}|97[89]-[\d-]{{12}}\d{_END})(?:\d{{1,7}}-){{3,4}}[\dX]{_END}"
)
"""An ISBN in its parts, ten or thirteen digits (ISO 2108)."""

_BYTE: Final = r"(?:1?\d?\d|2[0-5]\d)"
_HOST: Final = re.compile(rf"(?!\d+(?:\.000){{3}}){_BYTE}(?:\.{_BYTE}){{3}}{_END}")
"""The number of a host: 192.0.2.255 (RFC 791)."""

_GROUPED: Final = re.compile(r"\d{1,3}(?:\.\d{3}){2,5}(?![\w]|[.,]\d)")
_VERSION: Final = re.compile(r"(\d{1,9}(?:\.\d{1,9}){2,6})([A-Z]?)(?!\w)")
_COUNTED: Final = re.compile(rf"\d(?:-\d){{2,9}}{_END}")
_CHAIN: Final = re.compile(rf"\d{{1,4}}([-:–])\d{{1,4}}(?:\1\d{{1,4}}){{1,3}}{_END}")
_THOUSANDS: Final = re.compile(r"(\d{1,3}(?:,000){1,3})['’]?s(?!\w)")
_FEET: Final = re.compile(r"(\d{1,2})['’′](\d{1,2})(?:[\"”″]|''|’’)?(?!\w)")
_PAIR: Final = re.compile(rf"(\d{{1,4}})/(\d{{1,4}}){_END}")
_SIDE: Final = r"(\d{1,5}(?:\.\d{1,2})?)"
_TIMES: Final = re.compile(
    rf"{_SIDE}[x×]{_SIDE}(?:[x×]{_SIDE})?(?:['’]?(s)(?!\w)|(?!\d|[.,:/]\d))"
)
_INCHES: Final = tuple('"″”“')
_PRIMES: Final = tuple("'’′")
_SHORT_YEAR: Final = re.compile(rf"[{_QUOTES}](\d\d){_END}")
_RANGE: Final = re.compile(rf"({_DEC}){_DASH}({_DEC})")
_PLAIN: Final = re.compile(
    rf"(?:(?<![\w)])(?<!\d[\"″”'’′])[-−–+](?=[\d.])(?!\d{{1,2}}:\d|\d{{1,3}}-(?!\w)))?{_DEC}"
)
_MONEY: Final = re.compile(
    rf"([-−–]?)((?:US|AU?|CA?|NZ|HK|S)?\$|\$(?:US|A|NZ)(?=\d)|[{_SIGNS}])(\d{{1,3}}(?:\.\d{{3}}){{1,5}}(?:,\d\d)?(?!\d)"
    rf"|\d++,\d\d(?!\d)|{_DEC})"
    rf"(?:({_DASH})(?:\2)?({_DEC}))?(k|mn?|mm|bn?|tn|K|M|MM|Mn|B|Bn|BN|T)?"
    r"(?=(?:pcm|pw|pp|pa|pn|ea)?(?!\w))"
)
_MONEY_AFTER: Final = re.compile(rf"({_DEC})([{_SIGNS}$])(?!\w)")
_HYPHENED: Final = re.compile(r"(?:[-‐‑][A-Za-z]{1,40}){1,6}(?![\w])")
_CODE_LENGTH: Final = 5
"""So many digits without a comma beside a dash are part of a code."""

_GLUED: Final = re.compile(r"[A-Za-z]{1,10}(?!\w)")
_JOINED_ON: Final = frozenset({"to", "and", "or", "of", "by", "for", "with", "at"})
_LARGE: Final = frozenset({"k", "K", "M", "B", "MM", "mn", "bn", "tn"})
"""Letters that stand for a magnitude where they are glued to a number."""

_POSSESSIVE: Final = re.compile(rf"[{_QUOTES}]s(?!\w)")
_SHILLINGS: Final = re.compile(r"(\d{1,2})/[-–](?![\w-])")
_SECTION: Final = re.compile(r"(\d{3})\(([a-z])\)")
"""401(k): a part of a law."""

_LINES: Final = re.compile(r"(\d{3,4})([pi])(?!\w)")


def _match_date(chunk: str, pos: int, say: Numerals) -> Reading | None:
    match = _ISO.match(chunk, pos)
    if match:
        year, month, day = match[1], int(match[2]), int(match[3])
        if 1 <= month <= 12 and 1 <= day <= 31 and int(year):
            spoken = say.date(year, month, day)
            if match[4]:
                spoken += ("at", *say.time(match[4], match[5], "", match[6] or ""))
            return Reading(match.end(), spoken)
    match = _NAMED_DATE.match(chunk, pos)
    if match and 1 <= int(match[1]) <= 31:
        for number, month_name in enumerate(MONTHS, 1):
            if match[2].lower() in (month_name, month_name[:3]):
                return Reading(match.end(), say.date(match[3], number, int(match[1])))
    match = _DATE.match(chunk, pos)
    if match and match[4] != "0000":
        date = read_short_date(match.end(), match[1], match[3], match[4], say)
        if date and match[2] != "/" and len(match[4]) == 2:
            short = len(match[0]) < 8 and match[4] < "32"
            if match[2] == "." and (say.american or short):
                return None  # a version
            if match[2] == "-":  # or a chain of numbers
                return date._replace(rule="chain") if match[4] >= "10" else None
        return date
    return None


def read_short_date(end: int, left: str, right: str, year: str, say: Numerals) -> Reading | None:
    """A date in numbers, by the order of the locale; the other order where it is one too."""
    first, second = int(left), int(right)
    month, day = (first, second) if say.american else (second, first)
    doubtful = month <= 12 and day <= 12 and month != day
    if month > 12:
        month, day = day, month
    if not (1 <= month <= 12 and 1 <= day <= 31):
        return None
    other = (say.date(year, day, month),) if doubtful else ()
    order = "month" if (month == first) else "day"
    return Reading(end, say.date(year, month, day), "noted", other, f"a date, {order} first")


def _match_time(chunk: str, pos: int, say: Numerals) -> Reading | None:
    match = _TIME_SPAN.match(chunk, pos)
    if match and int(match[1]) <= 12 and int(match[3]) <= 12:
        first = say.time(match[1], match[2] or "")
        first = first[:-1] if first[-1] == "o'clock" else first
        spoken = (*first, "to", *say.time(match[3], match[4] or "", match[5].lower() + "m"))
        return Reading(match.end(), spoken, "hour")
    match = _RACE.match(chunk, pos)
    if match:
        hours, minutes, seconds, parts = match.groups()
        spoken = say.amount(hours) if hours else ()
        spoken += say.two_digits(minutes) if hours else say.amount(minutes)
        parts = tuple("zero" if name == "oh" else name for name in read_digits(parts))
        return Reading(match.end(), (*spoken, *say.two_digits(seconds), "point", *parts))
    dash = chunk[pos] in "-–" and pos == 0  # 3.30pm -6pm
    match = _TIME.match(chunk, pos + dash)
    if match and int(match[1]) <= 24:
        half = match[4].lower() + "m"
        spoken = say.time(match[1], match[2] or "", half, match[3] or "")
        return Reading(match.end(), ("to",) * dash + spoken, "hour")
    match = _HALVED.match(chunk, pos)
    if match and 0 < int(match[1]) <= 12:
        return Reading(match.end(), say.time(match[1], match[2], match[3].lower() + "m"), "hour")
    match = _ISH.match(chunk, pos)
    if match and int(match[1]) < 25:
        return Reading(match.end(), (*say.time(match[1], match[2]), "ish"), "noted")
    match = _CLOCK.match(chunk, pos)
    if match and int(match[1]) <= 24:
        spoken = say.time(match[1], match[2], "", match[3] or "")
        return Reading(match.end(), spoken + ("hours",) * bool(match[4]), "clock")
    match = _RATIO.match(chunk, pos)
    if match:
        spoken = (*say.amount(match[1]), "to", *say.amount(match[2]))
        if len(match[1]) == len(match[2]) == 2 and match[2] < "60":
            # Minutes and seconds of a race.
            spoken = (*say.amount(match[1]), *say.two_digits(match[2]))
        return Reading(match.end(), spoken, "ratio")
    return None


def _match_money(chunk: str, pos: int, tables: Tables) -> Reading | None:
    say = tables.say
    match = _MONEY.match(chunk, pos)
    if match:
        sign, symbol, amount, dash, upper, magnitude = match.groups()
        currency = tables.currencies[symbol]
        spoken: Words = ("minus",) if sign else ()
        if dash:
            cents = not magnitude and "." in amount and "." in upper
            lower = say.money(amount, "", currency) if cents else say.amount(amount)
            spoken += (*lower, "to", *say.money(upper, magnitude or "", currency))
        else:
            spoken += say.money(amount, magnitude or "", currency)
        return Reading(match.end(), spoken, "money")
    match = _MONEY_AFTER.match(chunk, pos)
    if match:
        return Reading(match.end(), say.money(match[1], "", tables.currencies[match[2]]))
    return None


def match_unit(chunk: str, start: int, tables: Tables) -> tuple[int, Unit] | None:
    """The longest unit symbol that is attached at `start`, and its end."""
    if start < len(chunk):
        for end in range(min(len(chunk), start + 5), start, -1):
            symbol = chunk[start:end].replace("μ", "µ")
            if len(symbol) > 2 and symbol[-1] == "s" and symbol not in tables.units:
                symbol = symbol[:-1]  # 50mLs
            if symbol in tables.units and not chunk[end : end + 1].isalnum():
                return end, tables.units[symbol]
    return None


def _match_fraction(chunk: str, pos: int, say: Numerals) -> tuple[int, Words] | None:
    match = _VULGAR.match(chunk, pos)
    fraction = split_fraction(match[0]) if match else None
    if match and fraction and not chunk[match.end() : match.end() + 1].isdecimal():
        return match.end(), say.mixed(*fraction)
    both = _WHOLE_AND_PART.match(chunk, pos)
    if both and int(both[2]) < int(both[3]) and both[2] != both[3]:
        return both.end(), say.mixed(*map(int, both.groups()))
    match = _FRACTION.match(chunk, pos)
    fraction = split_fraction(match[0]) if match else None
    part = _PART.match(chunk, pos)
    fraction = fraction or (split_fraction(part[0]) if part else None)
    if part and fraction:
        return part.end(), say.mixed(*fraction)
    if match and fraction and match[1]:
        spoken = say.mixed(*fraction)
        plural = spoken[-1][-1] == "s" or match[1][-1] != "s"
        return match.end() + len(match[1]), spoken if plural else pluralize(spoken)
    return None


def match_number(chunk: str, pos: int, tables: Tables) -> Reading | None:
    """The number that starts at `pos` of a stretch without white space, or None.

    The character before `pos` is not a letter or digit.
    """
    say = tables.say
    found = (
        _match_date(chunk, pos, say)
        or _match_time(chunk, pos, say)
        or _match_money(chunk, pos, tables)
    )
    if found:
        return found
    odds = _ODDS.match(chunk, pos)
    if odds:
        spoken = (*say.amount(odds[1]), "to", *say.amount(odds[2]), "f.")
        return Reading(odds.end(), spoken, "odds")
    for pattern, read, note in _FORMS:
        match = pattern.match(chunk, pos)
        if match and (pattern is not _ORDINAL or _is_ordinal(match, chunk)):
            rule = _FORM_RULES.get(pattern, "noted" if note else "")
            return Reading(match.end(), read(match, say), rule, (), note)
    return _match_amount(chunk, pos, tables)


def _match_amount(chunk: str, pos: int, tables: Tables) -> Reading | None:
    """A fraction, a range or a plain number, and a unit or word that is attached to it."""
    say = tables.say
    fraction = _match_fraction(chunk, pos, say)
    rule = ""
    amount = ""
    pair, times = _PAIR.match(chunk, pos), _TIMES.match(chunk, pos)
    if fraction:
        end, spoken = fraction
        amount, rule = chunk[pos:end], "fraction"
    elif times:
        end, spoken, rule, amount = times.end(), _read_times(times, say), "range", "2"
    elif pair:
        spoken = (*say.amount(pair[1]), *say.amount(pair[2]))
        end, rule, amount = pair.end(), "pair", pair[0]
        if chunk[end : end + 1] not in _INCHES:
            return Reading(end, spoken, rule)
    else:
        span = _RANGE.match(chunk, pos)
        plain = _PLAIN.match(chunk, pos)
        if span and not chunk[span.end() : span.end() + 2].lstrip(",:/-–")[:1].isdecimal():
            end, rule, amount = span.end(), "range", "2"
            code = _is_code(span[1], span[2])
            if code and is_clock(span[1]) and is_clock(span[2]):
                return Reading(end, (*say.military(span[1]), "to", *say.military(span[2])))
            spoken = read_digits(span[0]) if code else say.span(span[1], span[2])
        elif plain and plain[0][-1:].isdecimal():
            end, amount, rule = plain.end(), plain[0], "amount"
            digits = plain_digits(amount)
            spoken = say.year(digits) if is_year(digits) else say.amount(amount)
        else:
            return None
    return _match_attached(chunk, Reading(end, spoken, rule), amount, tables)


def _is_code(left: str, right: str) -> bool:
    """Whether two rows of digits with a dash are one code: 007-2, 12-3456789, 5540128-3."""
    longest = max((left, right), key=len)
    if not (left + right).isdecimal():
        return False
    long = len(longest) >= _CODE_LENGTH and not longest.endswith("00")
    return long or (len(left) > 2 and left[0] == "0")


def _match_attached(chunk: str, number: Reading, amount: str, tables: Tables) -> Reading | None:
    """A number with what is glued to it: a unit, a word with a hyphen, letters, a quotation
    mark for inches; None for a form that is no number."""
    (end, spoken, rule, _, _), say = number, tables.say
    plain = rule == "amount"
    lines = _LINES.match(chunk, end - len(amount)) if plain else None
    if lines and int(lines[1]) > 200:
        return Reading(lines.end(), (*say.pairs(lines[1]), lines[2] + "."))
    marked = _read_mark(chunk, number, amount, say)
    if marked:
        return marked
    unit = match_unit(chunk, end, tables)
    if unit:
        # "1500m" is a length, not a year.
        spoken = say.amount(amount) if plain else spoken
        tail = name_unit(amount, unit[1])
        if tail[0] in ("a", "an") and spoken[0] == "a":
            spoken = spoken[1:]
        if chunk[end : unit[0]] == "g" and amount in tuple("23456"):  # a network's generation
            return Reading(unit[0], spoken + tail, "noted", ((*spoken, "g."),), "grams")
        return Reading(unit[0], spoken + tail, "measure")
    if plain and _POSSESSIVE.match(chunk, end):
        return Reading(end + 2, (*spoken[:-1], spoken[-1] + "'s"))
    hyphened = _HYPHENED.match(chunk, end)
    if hyphened:
        return _read_hyphened(hyphened, number, amount, tables)
    glued = _GLUED.match(chunk, end) if rule in ("amount", "range", "fraction") else None
    counted = _read_glued(glued, number, amount, say) if glued else None
    if counted and glued and glued[0] in tables.topical:
        counted = counted._replace(rule="measure")
    return counted or (None if chunk[end : end + 1].isalpha() else number)


def _read_mark(chunk: str, number: Reading, amount: str, say: Numerals) -> Reading | None:
    """A number with the mark of inches or feet."""
    end, spoken = number.end, number.spoken
    mark = chunk[end : end + 1]
    if mark not in _INCHES + _PRIMES or chunk[end + 1 : end + 2].isalnum():
        return None
    parts = split_inches(amount)
    if parts:
        spoken = say.mixed(*parts)
        spoken = spoken[1:] if spoken[0] == "a" else spoken
    elif number.rule == "amount":
        spoken = say.amount(amount)
    return Reading(end + 1, spoken, "inch" if mark in _INCHES else "foot")


def _read_hyphened(
    hyphened: re.Match[str], number: Reading, amount: str, tables: Tables
) -> Reading:
    """A number with words behind a hyphen: a 5-mile walk, a 2011-grad."""
    say, spoken, end = tables.say, number.spoken, hyphened.end()
    words = hyphened[0][1:].replace("‐", "-").replace("‑", "-")
    head, _, rest = words.partition("-")
    chain = not rest and hyphened.string.startswith("-", end)
    if chain or (head[:3].lower() in MONTH_STARTS and head[0].isupper()):
        return number
    symbol = tables.units.get(head)
    if len(head) == 1 and head.isupper() and not symbol:
        return Reading(end, (*spoken, *name_letters(head), *read_word(rest)))
    inch = head == "in" and hyphened.string.startswith(".", end)
    first = symbol.one if symbol and (inch or head not in ("a", "in")) else read_word(head)
    first = ("point",) if head == "pt" else first  # a 3-pt lead, 12-pt type
    dated = is_year(amount) and amount[2:] != "00" and head not in tables.cues["sized"]
    made = is_year(amount) and head in tables.cues["made"]
    if number.rule == "amount" and not (made or (dated and amount > "1949")):
        spoken = say.amount(amount)
    if head.isupper() and len(head) > 1 and not symbol:
        first = name_letters(head)
        spoken = say.pairs(amount) if amount.isdecimal() and len(amount) == 4 else spoken
    return Reading(end, spoken + first + (read_word(rest) if rest else ()))


def _read_glued(
    glued: re.Match[str], number: Reading, amount: str, say: Numerals
) -> Reading | None:
    """5k, 3bn, 1.5mp: letters behind an amount; None for what is no number."""
    letters, spoken = glued[0], number.spoken
    large = letters in _LARGE and (letters not in "KB" or amount.isdecimal())
    if large:
        spoken = (*spoken, MAGNITUDES[letters.lower()])
        return Reading(glued.end(), spoken, "thousand" if letters in "kKBM" else "")
    if letters in _JOINED_ON:
        return number
    if amount.isdecimal() or number.rule == "range":
        return None
    whole, _, rest = plain_digits(amount).partition(".")
    if len(whole) == 3 and len(rest) == 2:  # a standard: 802.11ac
        spoken = (*say.pairs(whole), "point", *say.two_digits(rest))
    note = "" if len(letters) < 2 or letters.isupper() else UNKNOWN_SHORT
    spoken += read_code(letters, say)
    return Reading(glued.end(), spoken, "noted" if note else "", (), note)


def _is_ordinal(match: re.Match[str], chunk: str) -> bool:
    """Whether the ending fits: 21st, 12th; 10st is a weight, 2nd a rank."""
    digits = plain_digits(match[1])
    ones = digits[-1] == "1" and digits[-2:] != "11"
    return ones or chunk[match.end(1) : match.end(1) + 2] != "st"


def split_inches(text: str) -> tuple[int, int, int] | None:
    """A fraction as rulers have it; 28/30 are two sizes."""
    parts = split_fraction(text)
    return parts if parts and parts[2] in (2, 4, 8, 16, 32, 64) else None


def read_chain(text: str, say: Numerals) -> Words:
    """Numbers with hyphens between: 36-24-36, a fertilizer's 10-10-10."""
    parts = re.split("[-‐‑:–]", plain_digits(text))
    return tuple(word for part in parts for word in say.amount(part))


def _read_arc(match: re.Match[str], say: Numerals) -> Words:
    """Degrees, minutes and seconds of arc: 51°27'30"."""
    degrees, minutes, part, seconds = match.groups("")
    spoken = (*say.amount(degrees), "degree" if degrees == "1" else "degrees")
    spoken += (*say.amount(minutes + part), "minutes")
    return spoken + ((*say.amount(seconds), "seconds") if seconds else ())


def _read_phone(text: str) -> Words:
    """Digit by digit, with the plus and the extension: +1-413-555-0157x696."""
    number, _, extension = plain_digits(text).partition("x")
    spoken = ("plus",) * ("+" in text) + read_digits(number)
    return spoken + (("extension", *read_digits(extension)) if extension else ())


def _read_host(text: str, say: Numerals) -> Words:
    first, *rest = (say.amount(str(int(part))) for part in plain_digits(text).split("."))
    return (*first, *chain.from_iterable(("point", *part) for part in rest))


def _read_ordinals(match: re.Match[str], say: Numerals) -> Words:
    second = ("to", *say.ordinal(match[2])) if match[2] else ()
    return say.ordinal(match[1]) + second


def _read_version(match: re.Match[str], say: Numerals) -> Words:
    first, *rest = plain_digits(match[1]).split(".")
    parts = (("point", *say.amount(part)) for part in rest)
    return (*say.amount(first), *chain.from_iterable(parts), *name_letters(match[2].lower()))


def _read_times(match: re.Match[str], say: Numerals) -> Words:
    *numbers, plural = match.groups()
    sides = [
        say.pairs(n) if len(n) == 4 and n.isdecimal() else say.amount(n) for n in numbers if n
    ]
    spoken = sides[0]
    for side in sides[1:]:
        spoken += ("by", *side)
    return pluralize(spoken) if plural else spoken


def _read_thousands(text: str, say: Numerals) -> Words:
    """1,000s are thousands, 10,000s ten thousands."""
    words = pluralize(say.amount(plain_digits(text)))
    return words[1:] if words[0] == "one" else words


_FORMS: Final[
    tuple[tuple[re.Pattern[str], Callable[[re.Match[str], Numerals], Words], str], ...]
] = (
    (_SHILLINGS, lambda match, say: (*say.amount(match[1]), "shillings"), ""),
    (_SECTION, lambda match, say: (*say.pairs(match[1]), match[2] + "."), ""),
    (_COUNTED, lambda match, _: read_digits(plain_digits(match[0])), ""),
    (_ARC, _read_arc, ""),
    (_BOOK, lambda match, _: read_digits(match[0]) + ("x.",) * (match[0][-1] == "X"), ""),
    (_PHONE, lambda match, _: _read_phone(match[0]), "a telephone number"),
    (_CHAIN, lambda match, say: read_chain(match[0], say), ""),
    (_THOUSANDS, lambda match, say: _read_thousands(match[1], say), ""),
    (_HOST, lambda match, say: _read_host(match[0], say), ""),
    (_GROUPED, lambda match, say: say.amount(match[0].replace(".", "")), ""),
    (_VERSION, _read_version, ""),
    (_ORDINAL, _read_ordinals, ""),
    (_DECADE, lambda match, say: say.decade(match[1]), ""),
    (_FEET, lambda match, say: (*say.amount(match[1]), "foot", *say.amount(match[2])), ""),
    (_SHORT_YEAR, lambda match, say: say.two_digits(match[1]), ""),
)
"""Forms that need no neighbours, each with its reader and a note for the teacher."""

_FORM_RULES: Final = {_ORDINAL: "ordinal", _DECADE: "decade", _CHAIN: "chain", _VERSION: "chain"}

MONTH_STARTS: Final = frozenset(month[:3] for month in MONTHS)


def read_code(text: str, say: Numerals) -> Words:
    """Letters and digits mixed: "mp3", "A4", "H2O", "COVID-19".

    >>> read_code("mp3", Numerals()), read_code("A4", Numerals()), read_code("M25", Numerals())
    (('m.', 'p.', 'three'), ('a.', 'four'), ('m.', 'twenty', 'five'))
    """
    spoken: Words = ()
    for part in re.findall(r"\d+|[^\W\d_]+", text):
        if part[0].isdecimal():
            digits = plain_digits(part)
            paired = len(digits) == 3 or (len(digits) == 4 and digits[2:] == "00")
            if paired and len(spoken) == 1:  # A303, F150, D5600
                spoken += say.pairs(digits)
            elif len(digits) > 3:  # FY2021 holds a year
                year = len(spoken) > 1 and is_year(digits) and digits > "1899"
                spoken += say.year(digits) if year else read_digits(digits)
            else:
                spoken += say.amount(digits)
            continue
        word = "".join(c for c in fold_accents(part).lower() if "a" <= c <= "z")
        formula = len(word) < 4 and not part.islower() and not part.istitle()  # NaH2PO4
        letters = formula or len(word) < (5 if part.isupper() else 3)
        if not letters and is_sayable(word):
            spoken += _split_mixed(part, word)
        elif part == "s" and spoken:
            spoken = pluralize(spoken)
        elif len(word) > 1 and part[-1] == "s" and part[:-1].isupper():
            spoken += name_letters(word[:-1], "'s")
        else:
            spoken += name_letters(word)
    return spoken


def _split_mixed(part: str, word: str) -> Words:
    """Letters of a code: a word ("Covid19"), words ("WinPlay3"), or letters ("HbA1c")."""
    known = load_frequencies()
    if part.isupper() or part[1:].islower() or part.islower() or word in known:
        return (word,)
    spoken: Words = ()
    for piece in re.findall("[A-Z]+(?![a-z])|[A-Z]?[a-z]+", part):
        lower = piece.lower()
        said = len(lower) > 2 and not piece.isupper() and (lower in known or is_sayable(lower))
        spoken += (lower,) if said else name_letters(lower)
    return spoken or (word,)


def is_number_start(chunk: str, pos: int) -> bool:
    """Whether a number could start at `pos`: a cheap test before all the forms."""
    char = chunk[pos]
    if char.isdecimal() or char in "£$€¥₹₩₽₺₪₱₦₫฿" or _VULGAR.match(char):
        return True
    follow = chunk[pos + 1 : pos + 2]
    if char in "-−–+.'’‘(":
        if char in "-−–" and follow in tuple("£$€¥"):
            return True
        return follow.isdecimal() or (follow == "." and chunk[pos + 2 : pos + 3].isdecimal())
    return char in "UACNHS" and "$" in chunk[pos : pos + 3]
