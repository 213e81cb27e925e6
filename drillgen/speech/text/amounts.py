"""Numbers, as they are said. num2words knows the words; this module knows the forms.

Dates follow ISO 8601; written forms that it doesn't cover follow common practice.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from typing import Final, Literal

from drillgen.speech.text.tables import Currency, Tables, Unit, Words
from drillgen.speech.text.words import fold_accents, name_letters, read_word

MONTHS: Final = (
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
)
MAGNITUDES: Final = {
    "k": "thousand",
    "m": "million",
    "mn": "million",
    "bn": "billion",
    "b": "billion",
    "tn": "trillion",
}
_LONGEST: Final = 15
"""Longer rows of digits are codes, not amounts: they are read digit by digit."""

Style = Literal["cardinal", "ordinal", "year"]


def plain_digits(text: str) -> str:
    """ASCII digits for decimal digits of any script (full-width, Arabic-Indic ...)."""
    if text.isascii():
        return text
    return "".join(str(unicodedata.decimal(c)) if c.isdecimal() else c for c in text)


def split_words(text: str) -> Words:
    """The words of num2words' answer, without its hyphens and commas."""
    return tuple(text.replace("-", " ").replace(",", "").split())


def read_integer(value: int, style: Style = "cardinal") -> Words:
    """A whole number as a cardinal, an ordinal or a year.

    >>> read_integer(22, "ordinal"), read_integer(1905, "year")
    (('twenty', 'second'), ('nineteen', 'oh', 'five'))
    """
    from num2words import num2words

    return split_words(num2words(value, to=style))


def read_digits(digits: str) -> Words:
    """Digit by digit, with "oh" for 0, as in phone numbers and codes.

    >>> read_digits("007")
    ('oh', 'oh', 'seven')
    """
    names = ["oh", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]
    return tuple(names[int(char)] for char in digits if char.isdecimal())


def read_amount(text: str) -> Words:
    """A cardinal in digits: thousands commas, a decimal point and a sign are understood.

    A leading zero means a code ("007"); so do more than 15 digits.

    >>> read_amount("1.50"), read_amount("-3"), read_amount("1,005")
    (('one', 'point', 'five', 'zero'), ('minus', 'three'), ('one', 'thousand', 'and', 'five'))
    """
    text = plain_digits(text)
    sign: Words = ()
    if text[:1] in ("-", "−", "–", "+"):
        sign = ("plus",) if text[0] == "+" else ("minus",)
        text = text[1:]
    whole, _, decimals = text.replace(",", "").partition(".")
    if not whole:
        spoken: Words = ("zero",) if decimals else ()
    elif len(whole) > _LONGEST or (len(whole) > 1 and whole[0] == "0"):
        spoken = read_digits(whole)
    else:
        spoken = read_integer(int(whole))
    if decimals:
        spoken += ("point", *("zero" if name == "oh" else name for name in read_digits(decimals)))
    return sign + spoken


def read_year(digits: str) -> Words:
    """A year of one to four digits.

    >>> read_year("2005"), read_year("1900"), read_year("476")
    (('two', 'thousand', 'and', 'five'), ('nineteen', 'hundred'), ('four', 'seventy', 'six'))
    """
    return read_integer(int(plain_digits(digits)), "year")


def read_two_digits(digits: str) -> Words:
    """The last two digits of a year or the minutes of a time: "05" is "oh five"."""
    digits = plain_digits(digits)
    return read_digits(digits) if digits[0] == "0" else read_integer(int(digits))


def pluralize(words: Words) -> Words:
    """The plural of a number's last word: "nineties", "hundreds", "sixes"."""
    last = words[-1]
    if last.endswith("y"):
        last = last[:-1] + "ies"
    elif last.endswith("x"):
        last += "es"
    else:
        last += "s"
    return (*words[:-1], last)


def read_decade(digits: str) -> Words:
    """The decade or century that starts with a year, given without its s.

    >>> read_decade("1980"), read_decade("80"), read_decade("1900")
    (('nineteen', 'eighties'), ('eighties',), ('nineteen', 'hundreds'))
    """
    return pluralize(read_year(digits))


def read_date(year: str, month: int, day: int) -> Words:
    """A date in the order day, month, year.

    >>> " ".join(read_date("2026", 11, 25))
    'the twenty fifth of november twenty twenty six'
    """
    spoken: Words = ("the", *read_integer(day, "ordinal"), "of", MONTHS[month - 1])
    if not year:
        return spoken
    return spoken + (read_year(year) if len(year) > 2 else read_two_digits(year))


def read_time(hour: str, minute: str, half: str = "", second: str = "") -> Words:
    """A clock time; `half` is "am", "pm" or empty.

    >>> read_time("09", "05"), read_time("12", "00"), read_time("5", "", "pm")
    (('nine', 'oh', 'five'), ('twelve', "o'clock"), ('five', 'p.', 'm.'))
    """
    hours, minutes = int(plain_digits(hour)), int(plain_digits(minute) or "0")
    spoken = read_integer(hours)
    if minutes:
        spoken += read_two_digits(minute)
    elif minute and not half:
        spoken += ("o'clock",) if 1 <= hours <= 12 else ("hundred",)
    if int(plain_digits(second) or "0"):
        spoken += ("and", *read_integer(int(plain_digits(second))), "seconds")
    return spoken + name_letters(half)


def read_fraction(numerator: int, denominator: int) -> Words:
    """A common fraction.

    >>> read_fraction(1, 2), read_fraction(3, 4), read_fraction(2, 3)
    (('a', 'half'), ('three', 'quarters'), ('two', 'thirds'))
    """
    if denominator == 2:
        part: Words = ("half",) if numerator == 1 else ("halves",)
    elif denominator == 4:
        part = ("quarter",) if numerator == 1 else ("quarters",)
    else:
        part = read_integer(denominator, "ordinal")
        part = part if numerator == 1 else pluralize(part)
    if numerator == 1 and denominator in (2, 4):
        return ("a", *part)
    return read_integer(numerator) + part


def read_money(amount: str, magnitude: str, currency: Currency, noun: bool = False) -> Words:
    """An amount of money; `noun`: it stands before a noun ("a £5 note"), so no plural.

    >>> from drillgen.speech.text.tables import load_tables
    >>> signs = load_tables().currencies
    >>> " ".join(read_money("4.50", "", signs["£"])), " ".join(read_money("1.2", "m", signs["$"]))
    ('four pounds fifty', 'one point two million dollars')
    """
    amount = plain_digits(amount).replace(",", "")
    one, several, minor_one, minor_several, joint = currency
    if magnitude:
        word = MAGNITUDES.get(magnitude.lower(), magnitude.lower())
        return (*read_amount(amount), word, *(one if noun else several))
    whole, _, part = amount.partition(".")
    if len(whole) > _LONGEST:
        return (*read_digits(whole), *several)
    units = int(whole or "0")
    if len(part) != 2 or not minor_one:
        single = units == 1 and not part.strip("0")
        return (*read_amount(amount), *(one if noun or single else several))
    cents = int(part)
    minor = (*read_integer(cents), *(minor_one if cents == 1 else minor_several))
    if not units and cents:
        return minor
    spoken = (*read_integer(units), *(one if noun or units == 1 else several))
    if not cents:
        return spoken
    # "four dollars and fifty cents", but "four pounds fifty".
    return (*spoken, *joint, *minor) if joint else (*spoken, *read_integer(cents))


def name_unit(amount: str, unit: Unit, noun: bool = False) -> Words:
    """A unit after an amount in digits: one kilometer, 1.5 kilometers, a 5 kilometer walk.

    After a fraction below one: half "a mile", three quarters "of a mile".
    """
    fraction = split_fraction(amount)
    if fraction and not fraction[0]:
        article = "an" if unit.one[0][0] in "aeio" or unit.one[0] == "hour" else "a"
        return (*(() if fraction[1:] == (1, 2) else ("of",)), article, *unit.one)
    return unit.one if noun or plain_digits(amount).lstrip("+-−–") == "1" else unit.several


def split_fraction(text: str) -> tuple[int, int, int] | None:
    """Whole part, numerator and denominator of "1/2", "½", "3¾"; None for anything else."""
    match = _VULGAR.fullmatch(text)
    if match:
        plain = unicodedata.normalize("NFKD", match[2]).split("⁄")
        if len(plain) != 2 or not plain[0].isdecimal() or not plain[1].isdecimal():
            return (0, 0, 3) if match[2] == "↉" else None
        return int(plain_digits(match[1]) or "0"), int(plain[0]), int(plain[1])
    match = _FRACTION.fullmatch(text)
    if match:
        top, bottom = int(plain_digits(match[1])), int(plain_digits(match[2]))
        if 0 < top < bottom <= 100 and bottom > 1:
            return 0, top, bottom
    return None


def read_mixed(whole: int, numerator: int, denominator: int) -> Words:
    """A whole number and a fraction: "three and three quarters"."""
    part = read_fraction(numerator, denominator)
    return (*read_integer(whole), "and", *part) if whole else part


# The forms. Each quantifier is bounded or possessive, so that no input can make them slow.
_END: Final = r"(?![\w]|[.,:/]\d)"
_INT: Final = r"(?:\d{1,3}(?:,\d{3}){1,6}+(?!\d)|\d++)"
_DEC: Final = rf"(?:{_INT}(?:\.\d++)?|\.\d++)"
_DASH: Final = "[-‐‑–—−]"
_VULGAR_CHARS: Final = "¼½¾⅐-⅞↉"
_VULGAR: Final = re.compile(rf"(\d{{0,9}})([{_VULGAR_CHARS}])")
_FRACTION: Final = re.compile(r"(\d{1,3})[/⁄](\d{1,3})")

_ISO: Final = re.compile(
    r"(\d{4})-(\d\d)-(\d\d)(?:T(\d\d):(\d\d)(?::(\d\d)(?:\.\d{1,9})?)?(?:Z|[+-]\d\d:?\d\d)?)?"
    + _END
)
_DATE: Final = re.compile(rf"(\d{{1,2}})([/.\-])(\d{{1,2}})\2(\d{{4}}|\d\d){_END}")
_NAMED_DATE: Final = re.compile(rf"(\d{{1,2}})-([A-Z][a-z]{{2,8}})-(\d{{4}}|\d\d){_END}")
_TIME: Final = re.compile(
    r"(\d{1,2})(?:[:.]([0-5]\d)(?::([0-5]\d))?)?([ap])\.?m(?:\b\.(?!\w))?(?!\w)", re.IGNORECASE
)
_CLOCK: Final = re.compile(rf"(\d{{1,2}}):([0-5]\d)(?::([0-5]\d))?{_END}")
_RATIO: Final = re.compile(rf"(\d{{1,3}}):(\d{{1,3}}){_END}")
_ORDINAL: Final = re.compile(rf"({_INT})(?:st|nd|rd|th|ST|ND|RD|TH)(?!\w)")
_DECADE: Final = re.compile(rf"[{'’‘' + chr(39)}]?(\d{{0,3}}0)['’]?s(?!\w)")
_PHONE: Final = re.compile(
    rf"\+?\(?\d{{1,5}}\)?(?:[-‐‑]\d{{2,5}}){{2,6}}{_END}|\d{{3}}-\d{{4}}{_END}"
)
_VERSION: Final = re.compile(r"\d{1,9}(?:\.\d{1,9}){2,6}(?!\w)")
_FEET: Final = re.compile(r"(\d{1,2})['’′](\d{1,2})(?:[\"”″]|''|’’)?(?!\w)")
_PAIR: Final = re.compile(rf"(\d{{1,3}})/(\d{{1,3}}){_END}")
_TIMES: Final = re.compile(rf"(\d{{1,5}})[x×](\d{{1,5}}){_END}")
_SHORT_YEAR: Final = re.compile(rf"['’‘](\d\d){_END}")
_RANGE: Final = re.compile(rf"({_DEC})({_DASH})({_DEC})")
_PLAIN: Final = re.compile(rf"(?:(?<![\w)])[-−–+](?=[\d.]))?{_DEC}")
_SIGNED: Final = re.compile(r"[-−–+]?")
_MONEY: Final = re.compile(
    rf"([-−–]?)((?:US|AU?|CA?|NZ|HK)?\$|[£€¥₹₩₽₺₪₱₦₫฿])({_DEC})"
    rf"(?:({_DASH})(?:\2)?({_DEC}))?(k|mn?|bn?|tn|K|M|Mn|B|Bn|BN|T)?(?!\w)"
)
_MONEY_AFTER: Final = re.compile(rf"({_DEC})([£€¥₹₩₽₺₪₱₦₫฿$])(?!\w)")
_HYPHENED: Final = re.compile(r"(?:[-‐‑][A-Za-z]{1,40}){1,6}(?![\w])")

Reading = tuple[int, Words, str]
"""End of the form, its words, and the context rule that must look at it ("" for none)."""


def _match_date(chunk: str, pos: int, day_first: bool) -> Reading | None:
    match = _ISO.match(chunk, pos)
    if match:
        year, month, day = match[1], int(match[2]), int(match[3])
        if 1 <= month <= 12 and 1 <= day <= 31 and int(year):
            spoken = read_date(plain_digits(year), month, day)
            if match[4]:
                spoken += ("at", *read_time(match[4], match[5], "", match[6] or ""))
            return match.end(), spoken, ""
    match = _NAMED_DATE.match(chunk, pos)
    if match and 1 <= int(match[1]) <= 31:
        for number, month_name in enumerate(MONTHS, 1):
            if match[2].lower() in (month_name, month_name[:3]):
                return match.end(), read_date(plain_digits(match[3]), number, int(match[1])), ""
    match = _DATE.match(chunk, pos)
    if match and (match[2] == "/" or len(match[4]) == 4):
        first, second = int(match[1]), int(match[3])
        day, month = (first, second) if day_first else (second, first)
        if month > 12:
            day, month = month, day
        if 1 <= month <= 12 and 1 <= day <= 31 and int(match[4]):
            return match.end(), read_date(plain_digits(match[4]), month, day), ""
    return None


def _match_time(chunk: str, pos: int) -> Reading | None:
    match = _TIME.match(chunk, pos)
    if match and int(match[1]) <= 24:
        half = match[4].lower() + "m"
        return match.end(), read_time(match[1], match[2] or "", half, match[3] or ""), "hour"
    match = _CLOCK.match(chunk, pos)
    if match and int(match[1]) <= 24:
        return match.end(), read_time(match[1], match[2], "", match[3] or ""), "clock"
    match = _RATIO.match(chunk, pos)
    if match:
        return match.end(), (*read_amount(match[1]), "to", *read_amount(match[2])), ""
    return None


def read_range(left: str, right: str) -> Words:
    """Two numbers with a dash between them: a span, years, or a score.

    >>> " ".join(read_range("1914", "18")), " ".join(read_range("3", "0"))
    ('nineteen fourteen to eighteen', 'three nil')
    """
    left, right = plain_digits(left), plain_digits(right)
    if right == "0" and left != "0":
        return (*read_amount(left), "nil")
    if is_year(left) and (is_year(right) or (len(right) == 2 and right.isdecimal())):
        second = read_year(right) if len(right) == 4 else read_two_digits(right)
        return (*read_year(left), "to", *second)
    return (*read_amount(left), "to", *read_amount(right))


def is_year(digits: str) -> bool:
    """Four digits from 1100 to 2099, which are most often a year."""
    return len(digits) == 4 and digits.isdecimal() and 1100 <= int(digits) <= 2099


def _match_money(chunk: str, pos: int, tables: Tables) -> Reading | None:
    match = _MONEY.match(chunk, pos)
    if match:
        sign, symbol, amount, dash, upper, magnitude = match.groups()
        currency = tables.currencies[symbol]
        minus: Words = ("minus",) if sign else ()
        if dash:
            right = read_money(upper, magnitude or "", currency)
            return match.end(), (*read_amount(amount), "to", *right), "money"
        return match.end(), minus + read_money(amount, magnitude or "", currency), "money"
    match = _MONEY_AFTER.match(chunk, pos)
    if match:
        return match.end(), read_money(match[1], "", tables.currencies[match[2]]), ""
    return None


def _match_unit(chunk: str, start: int, tables: Tables) -> tuple[int, Unit] | None:
    """The longest unit symbol that is attached at `start`."""
    if start < len(chunk):
        for end in range(min(len(chunk), start + 5), start, -1):
            symbol = chunk[start:end].replace("μ", "µ")
            if symbol in tables.units and not chunk[end : end + 1].isalnum():
                return end, tables.units[symbol]
    return None


def _match_fraction(chunk: str, pos: int) -> tuple[int, Words] | None:
    for pattern in (_VULGAR, _FRACTION):
        match = pattern.match(chunk, pos)
        fraction = split_fraction(match[0]) if match else None
        if match and fraction and not chunk[match.end() : match.end() + 1].isdecimal():
            return match.end(), read_mixed(*fraction)
    return None


def match_number(chunk: str, pos: int, tables: Tables, day_first: bool) -> Reading | None:
    """The number that starts at `pos` of a stretch without white space, or None.

    The character before `pos` is not a letter or digit.
    """
    found = (
        _match_date(chunk, pos, day_first)
        or _match_time(chunk, pos)
        or _match_money(chunk, pos, tables)
    )
    if found:
        return found
    for pattern, read in _FORMS:
        match = pattern.match(chunk, pos)
        if match:
            return match.end(), read(match), ""
    return _match_amount(chunk, pos, tables)


def _match_amount(chunk: str, pos: int, tables: Tables) -> Reading | None:
    """A fraction, a range or a plain number, and a unit or word that is attached to it."""
    fraction = _match_fraction(chunk, pos)
    rule = ""
    amount = ""
    if fraction:
        end, spoken = fraction
        amount, rule = chunk[pos:end], "fraction"
    else:
        pair = _PAIR.match(chunk, pos)
        if pair:
            return pair.end(), (*read_amount(pair[1]), *read_amount(pair[2])), ""
        span = _RANGE.match(chunk, pos)
        plain = _PLAIN.match(chunk, pos)
        if span and not chunk[span.end() : span.end() + 2].lstrip(",:/-–")[:1].isdecimal():
            end, spoken, rule, amount = span.end(), read_range(span[1], span[3]), "range", "2"
        elif plain and plain[0][-1:].isdecimal():
            end, amount, rule = plain.end(), plain[0], "amount"
            digits = plain_digits(amount)
            spoken = read_year(digits) if is_year(digits) else read_amount(amount)
        else:
            return None
    unit = _match_unit(chunk, end, tables)
    if unit:
        # "1500m" is a length, not a year.
        if rule == "amount":
            spoken = read_amount(amount)
        tail = name_unit(amount, unit[1])
        if tail[0] == "a" or tail[0] == "an":
            spoken = spoken[1:] if spoken[0] == "a" else spoken
        return unit[0], spoken + tail, "measure"
    hyphened = _HYPHENED.match(chunk, end)
    if hyphened:
        words = hyphened[0][1:].replace("‐", "-").replace("‑", "-")
        head, _, rest = words.partition("-")
        symbol = tables.units.get(head)
        first = symbol.one if symbol and head not in ("a", "in") else read_word(head)
        if rule == "amount":
            spoken = read_amount(amount)
        return hyphened.end(), spoken + first + (read_word(rest) if rest else ()), ""
    if chunk[end : end + 1].isalpha():
        return None
    return end, spoken, rule


def _read_phone(match: re.Match[str]) -> Words:
    return read_digits(plain_digits(match[0]))


def _read_version(match: re.Match[str]) -> Words:
    parts = plain_digits(match[0]).split(".")
    spoken: Words = read_amount(parts[0])
    for part in parts[1:]:
        spoken += ("point", *read_amount(part))
    return spoken


def _read_feet(match: re.Match[str]) -> Words:
    return (*read_amount(match[1]), "foot", *read_amount(match[2]))


def _read_times(match: re.Match[str]) -> Words:
    return (*read_amount(match[1]), "by", *read_amount(match[2]))


def _read_ordinal(match: re.Match[str]) -> Words:
    digits = plain_digits(match[1]).replace(",", "")
    if len(digits) > _LONGEST:
        return read_digits(digits)
    return read_integer(int(digits), "ordinal")


_FORMS: Final[tuple[tuple[re.Pattern[str], Callable[[re.Match[str]], Words]], ...]] = (
    (_VERSION, _read_version),
    (_PHONE, _read_phone),
    (_ORDINAL, _read_ordinal),
    (_DECADE, lambda match: read_decade(match[1]) if match[1] != "0" else ("zeros",)),
    (_FEET, _read_feet),
    (_TIMES, _read_times),
    (_SHORT_YEAR, lambda match: read_two_digits(match[1])),
)
"""Forms that need no neighbours, each with its reader."""


def read_code(text: str) -> Words:
    """Letters and digits mixed: "mp3", "A4", "H2O", "COVID-19".

    >>> read_code("mp3"), read_code("A4"), read_code("M25")
    (('m.', 'p.', 'three'), ('a.', 'four'), ('m.', 'twenty', 'five'))
    """
    spoken: Words = ()
    for part in re.findall(r"\d+|[^\W\d_]+", text):
        if part[0].isdecimal():
            digits = plain_digits(part)
            spoken += read_digits(digits) if len(digits) > 3 else read_amount(digits)
            continue
        word = "".join(c for c in fold_accents(part).lower() if "a" <= c <= "z")
        if len(word) > 2 and (part.isupper() is False or len(word) > 4):
            spoken += (word,)
        elif len(word) > 1 and part[-1] == "s" and part[:-1].isupper():
            spoken += name_letters(word[:-1], "'s")
        else:
            spoken += name_letters(word)
    return spoken


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
    return char in "UACNH" and "$" in chunk[pos : pos + 3]
