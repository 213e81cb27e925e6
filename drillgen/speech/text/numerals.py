"""Numbers as they are said, by locale. num2words knows the words; forms.py knows the forms."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from typing import Final, Literal

from drillgen.core.options import Locale
from drillgen.speech.text.rows import Currency, Unit, Words, word_row
from drillgen.speech.text.words import name_letters

MONTHS: Final = word_row(
    "january february march april may june july august september october november december"
)
SCALES: Final = frozenset({"thousand", "million", "billion", "trillion"})
MAGNITUDES: Final = {"k": "thousand"} | {
    short: scale
    for shorts, scale in (("m mm mn", "million"), ("b bn", "billion"), ("t tn", "trillion"))
    for short in shorts.split()
}
_LONGEST: Final = 15
"""Longer rows of digits are codes, not amounts: they are read digit by digit."""

_DIGITS: Final = ("oh", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
_VULGAR: Final = re.compile(r"(\d{0,9})([¼½¾⅐-⅞↉])")
_FRACTION: Final = re.compile(r"([1-9]\d{0,2})[/⁄]([1-9]\d{0,2})")

Style = Literal["cardinal", "ordinal", "year"]


def plain_digits(text: str) -> str:
    """ASCII digits for decimal digits of any script (full-width, Arabic-Indic ...)."""
    if text.isascii():
        return text
    return "".join(str(unicodedata.decimal(c)) if c.isdecimal() else c for c in text)


def split_words(text: str) -> Words:
    """The words of num2words' answer, without its hyphens and commas."""
    return tuple(text.replace("-", " ").replace(",", "").split())


def read_digits(digits: str) -> Words:
    """Digit by digit, with "oh" for 0, as in phone numbers and codes.

    >>> read_digits("007")
    ('oh', 'oh', 'seven')
    """
    return tuple(_DIGITS[int(char)] for char in digits if char.isdecimal())


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


def name_unit(amount: str, unit: Unit, noun: bool = False) -> Words:
    """A unit after an amount in digits: one kilometer, 1.5 kilometers, a 5 kilometer walk.

    After a fraction below one: half "a mile", three quarters "of a mile".
    """
    fraction = split_fraction(amount)
    if fraction and not fraction[0]:
        article = "an" if unit.one[0][0] in "aeio" or unit.one[0] == "hour" else "a"
        return (*(() if fraction[1:] == (1, 2) else ("of",)), article, *unit.one)
    return unit.one if noun or plain_digits(amount).lstrip("+-−–") == "1" else unit.several


def is_year(digits: str) -> bool:
    """Four digits from 1100 to 2099, which are most often a year."""
    return len(digits) == 4 and digits.isdecimal() and 1100 <= int(digits) <= 2099


def is_clock(digits: str) -> bool:
    """Four digits that can be a time of day: ISO 8601 basic format; midnight may be 2400."""
    short = len(digits) == 4 and digits.isdecimal()
    return short and (digits[:2] < "24" or digits == "2400") and digits[2:] < "60"


@dataclass(frozen=True, slots=True)
class Numerals:
    """Says numbers in the way of a locale; docs/numbers.md lists the differences.

    >>> american, british = Numerals(Locale.EN_US), Numerals(Locale.EN_GB)
    >>> " ".join(american.integer(103)), " ".join(british.integer(103))
    ('one hundred three', 'one hundred and three')
    """

    locale: Locale = Locale.EN_US

    @property
    def american(self) -> bool:
        """Month first, no "and" after hundreds, "to" in a score."""
        return self.locale is Locale.EN_US

    def integer(self, value: int, style: Style = "cardinal") -> Words:
        """A whole number as a cardinal, an ordinal or a year."""
        from num2words import num2words

        words = split_words(num2words(value, to=style))
        return tuple(word for word in words if word != "and") if self.american else words

    def amount(self, text: str) -> Words:
        """A cardinal in digits: thousands commas, a decimal point and a sign are understood.

        A leading zero means a code ("007"); so do more than 15 digits.

        >>> Numerals().amount("1.50"), Numerals().amount("-3")
        (('one', 'point', 'five', 'zero'), ('minus', 'three'))
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
            spoken = self.integer(int(whole))
        if decimals:
            names = ("zero" if name == "oh" else name for name in read_digits(decimals))
            spoken += ("point", *names)
        return sign + spoken

    def ordinal(self, digits: str) -> Words:
        """An ordinal number, given without its ending."""
        digits = plain_digits(digits).replace(",", "")
        if len(digits) > _LONGEST:
            return read_digits(digits)
        return self.integer(int(digits), "ordinal")

    def year(self, digits: str) -> Words:
        """A year of one to four digits.

        >>> Numerals().year("1905"), Numerals().year("2005")
        (('nineteen', 'oh', 'five'), ('two', 'thousand', 'five'))
        """
        return self.integer(int(plain_digits(digits)), "year")

    def short_year(self, digits: str) -> Words:
        """The year of a date: two digits up to 49 are of this century.

        >>> Numerals().short_year("99"), Numerals().short_year("01")
        (('ninety', 'nine'), ('two', 'thousand', 'one'))
        """
        digits = plain_digits(digits)
        if len(digits) == 2:
            return self.year("20" + digits) if digits < "50" else self.two_digits(digits)
        return self.year(digits)

    def two_digits(self, digits: str) -> Words:
        """The last two digits of a year or the minutes of a time: "05" is "oh five"."""
        digits = plain_digits(digits)
        return read_digits(digits) if digits[0] == "0" else self.integer(int(digits))

    def pairs(self, digits: str) -> Words:
        """A house or room number: "2301" is twenty-three oh one, "248" two forty-eight.

        >>> " ".join(Numerals().pairs("2301")), " ".join(Numerals().pairs("500"))
        ('twenty three oh one', 'five hundred')
        """
        digits = plain_digits(digits)
        if len(digits) not in (3, 4) or digits[0] == "0":
            return self.amount(digits) if len(digits) < 3 else read_digits(digits)
        if digits[-2:] == "00":
            whole = digits[-3] == "0"
            return self.integer(int(digits)) if whole else (*self.amount(digits[:-2]), "hundred")
        return self.amount(digits[:-2]) + self.two_digits(digits[-2:])

    def decade(self, digits: str) -> Words:
        """The decade or century that starts with a year, given without its s.

        >>> Numerals().decade("1980"), Numerals().decade("1900")
        (('nineteen', 'eighties'), ('nineteen', 'hundreds'))
        """
        return pluralize(self.year(digits)) if digits.strip("0") else ("zeros",)

    def date(self, year: str, month: int, day: int) -> Words:
        """A date in the order of the locale; `year` may be empty.

        >>> " ".join(Numerals(Locale.EN_GB).date("2026", 11, 25))
        'the twenty fifth of november twenty twenty six'
        >>> " ".join(Numerals(Locale.EN_US).date("", 12, 15))
        'december fifteenth'
        """
        name, number = MONTHS[month - 1], self.integer(day, "ordinal")
        order = (name, *number) if self.american else ("the", *number, "of", name)
        return order + (self.short_year(year) if year else ())

    def day_after_month(self, digits: str) -> Words:
        """The day in "May 3": American "third", British "the third"."""
        number = self.integer(int(digits), "ordinal")
        return number if self.american else ("the", *number)

    def time(self, hour: str, minute: str, half: str = "", second: str = "") -> Words:
        """A clock time; `half` is "am", "pm" or empty.

        >>> Numerals().time("09", "05"), Numerals().time("5", "", "pm")
        (('nine', 'oh', 'five'), ('five', 'p.', 'm.'))
        """
        hours, minutes = int(plain_digits(hour)), int(plain_digits(minute) or "0")
        spoken = self.integer(hours)
        if minutes:
            spoken += self.two_digits(minute)
        elif minute and not half:
            spoken += ("o'clock",) if 1 <= hours <= 12 else ("hundred",)
        if int(plain_digits(second) or "0"):
            spoken += ("and", *self.integer(int(plain_digits(second))), "seconds")
        return spoken + name_letters(half)

    def military(self, digits: str) -> Words:
        """A time of day in four digits, ISO 8601 basic format.

        >>> Numerals().military("0800"), Numerals().military("1530")
        (('oh', 'eight', 'hundred'), ('fifteen', 'thirty'))
        """
        hour, minute = digits[:2], digits[2:]
        return self.two_digits(hour) + (
            ("hundred",) if minute == "00" else self.two_digits(minute)
        )

    def fraction(self, numerator: int, denominator: int) -> Words:
        """A common fraction.

        >>> Numerals().fraction(1, 2), Numerals().fraction(3, 4), Numerals().fraction(2, 3)
        (('a', 'half'), ('three', 'quarters'), ('two', 'thirds'))
        """
        if denominator == 2:
            part: Words = ("half",) if numerator == 1 else ("halves",)
        elif denominator == 4:
            part = ("quarter",) if numerator == 1 else ("quarters",)
        else:
            part = self.integer(denominator, "ordinal")
            part = part if numerator == 1 else pluralize(part)
        if numerator == 1 and denominator in (2, 4):
            return ("a", *part)
        return self.integer(numerator) + part

    def mixed(self, whole: int, numerator: int, denominator: int) -> Words:
        """A whole number and a fraction: "three and three quarters"."""
        part = self.fraction(numerator, denominator)
        return (*self.integer(whole), "and", *part) if whole else part

    def score(self, left: str, right: str) -> Words:
        """Two numbers of a result.

        >>> Numerals(Locale.EN_US).score("3", "0"), Numerals(Locale.EN_GB).score("3", "0")
        (('three', 'to', 'nothing'), ('three', 'nil'))
        """
        to: Words = ("to",) if self.american else ()
        nothing = ("nothing",) if self.american else ("nil",)
        first, second = (nothing if not int(n) else self.amount(n) for n in (left, right))
        if first == second == nothing:
            first = ("nothing",) if self.american else ("nil",)
        return (*first, *to, *second)

    def span(self, left: str, right: str) -> Words:
        """Two numbers with a dash between them: a span of amounts or years.

        >>> " ".join(Numerals().span("1914", "18"))
        'nineteen fourteen to eighteen'
        """
        left, right = plain_digits(left), plain_digits(right)
        if is_year(left) and (is_year(right) or (len(right) == 2 and right.isdecimal())):
            second = self.year(right) if len(right) == 4 else self.two_digits(right)
            return (*self.year(left), "to", *second)
        return (*self.amount(left), "to", *self.amount(right))

    def money(self, amount: str, magnitude: str, currency: Currency, noun: bool = False) -> Words:
        """An amount of money; `noun`: it stands before a noun ("a £5 note"), so no plural.

        >>> from drillgen.speech.text.tables import load_tables
        >>> signs = load_tables().currencies
        >>> " ".join(Numerals().money("4.50", "", signs["£"]))
        'four pounds fifty'
        >>> " ".join(Numerals().money("1.2", "m", signs["$"]))
        'one point two million dollars'
        """
        amount = plain_digits(amount)
        # A comma before two last digits, or stops between groups of three: European writing.
        amount = re.sub(r",(\d\d)$", r".\1", re.sub(r"\.(?=\d{3}(?:\D|$))", "", amount))
        amount = amount.replace(",", "")
        one, several, minor_one, minor_several, joint = currency
        if magnitude:
            word = MAGNITUDES.get(magnitude.lower(), magnitude.lower())
            return (*self.amount(amount), word, *(one if noun else several))
        whole, _, part = amount.partition(".")
        if len(whole) > _LONGEST:
            return (*read_digits(whole), *several)
        units = int(whole or "0")
        if len(part) != 2 or not minor_one:
            single = units == 1 and not part.strip("0")
            return (*self.amount(amount), *(one if noun or single else several))
        cents = int(part)
        minor = (*self.integer(cents), *(minor_one if cents == 1 else minor_several))
        if not units and cents:
            return minor
        spoken = (*self.integer(units), *(one if noun or units == 1 else several))
        if not cents:
            return spoken
        # "four dollars and fifty cents", but "four pounds fifty".
        return (*spoken, *joint, *minor) if joint else (*spoken, *self.integer(cents))
