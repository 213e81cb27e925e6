"""The decisions that need the neighbours: "Dr." by the word after it, "5 km" by its number.

A rule gets all pieces and the place of its own; it answers with the place where reading goes
on and the pieces that stand for those in between. Rules look only at pieces as the scanner
left them, so their order doesn't matter.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from typing import Final

from drillgen.model import TokenKind
from drillgen.text.amounts import (
    MONTHS,
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
from drillgen.text.scan import NUMBER, PUNCTUATION, SPACE, WORD, Piece, read_capitals
from drillgen.text.tables import Abbreviation, Tables, Words, word_set
from drillgen.text.words import APOSTROPHES, HYPHENS, fold_accents, name_letters

FUNCTION_WORDS: Final = word_set(
    "a an the this that these those my your his her its our their i you he she it we they me "
    "him us them who what which when where why how and or but so if as at by for from in of on "
    "to with then there here is are was were be been has have had do does did will would can "
    "could shall should may might must not no yes after before because although while since "
    "until now just also even only both each every all some any"
)
"""Words that open a sentence with a capital more often than they are part of a name."""

_NUMBERED: Final = word_set(
    "chapter part act scene book volume section war type phase level appendix figure table "
    "stage class article title grade unit step lesson exercise page number element group canto "
    "verse psalm option plan zone size mark tier series round cycle formula"
)
_REGNAL: Final = word_set(
    "henry edward george charles james william richard elizabeth mary louis philip john paul "
    "pius benedict gregory leo innocent clement alexander nicholas catherine frederick peter "
    "ivan napoleon otto leopold gustav christian ferdinand alfonso carlos francis joseph "
    "matilda stephen robert david malcolm kenneth haakon olav harald margrethe beatrix "
    "wilhelmina baldwin albert rainier umberto victor emmanuel constantine boniface urban "
    "adrian celestine sixtus julius philippe henri ramesses cleopatra ptolemy darius xerxes"
)
_RULERS: Final = word_set(
    "king queen pope emperor empress tsar czar prince princess sultan kaiser pharaoh"
)
_LETTERED: Final = word_set(
    "vitamin plan grade group hepatitis type option section point class team part side letter "
    "block room deck gate column row flat note key level string appendix exhibit"
)
_DETERMINERS: Final = word_set(
    "a an the this that another each every my your his her its our their one"
)
_BEFORE_YEAR: Final = word_set(
    "in since of by from until till before after during around about year circa and to"
)
_AFTER_MEASURE: Final = word_set(
    "per away long wide high deep tall apart off later ago more less each north south east west"
)
_SCALES: Final = word_set("thousand million billion trillion")
_ERAS: Final = {"BC": "b. c.", "AD": "a. d.", "BCE": "b. c. e.", "CE": "c. e."}
_ROMAN: Final = re.compile("M{0,3}(?:CM|CD|D?C{0,3})(?:XC|XL|L?X{0,3})(?:IX|IV|V?I{0,3})")
_ROMAN_VALUES: Final = {"I": 1, "V": 5, "X": 10, "L": 50, "C": 100, "D": 500, "M": 1000}
_DAYS: Final = word_set(
    "monday tuesday wednesday thursday friday saturday sunday mon tue tues wed weds thu thur "
    "thurs fri sat sun"
)
_MONTH_FORMS: Final = frozenset(MONTHS) | {month[:3] for month in MONTHS} | {"sept"}
_FAR: Final = 400
"""How many pieces a rule may look back or ahead."""

Pieces = Sequence[Piece]
Answer = tuple[int, tuple[Piece, ...]]
Rule = Callable[[Pieces, int, Tables], Answer]

_STOPS: Final = frozenset(".!?…")
_SPACE_TOKEN: Final = TokenKind.SPACE


def _is_break(piece: Piece) -> bool:
    """A paragraph break."""
    return piece.kind is _SPACE_TOKEN and piece.text.count("\n") > 1


def _near(pieces: Pieces, i: int, step: int) -> int:
    """Place of the next piece that is not space in a direction, or -1.

    A paragraph break ends the search.
    """
    i += step
    while 0 <= i < len(pieces):
        if pieces[i].kind is not _SPACE_TOKEN:
            return i
        if _is_break(pieces[i]):
            return -1
        i += step
    return -1


def _text(pieces: Pieces, i: int) -> str:
    return pieces[i].text if i >= 0 else ""


def _before(pieces: Pieces, i: int) -> str:
    """The text of the piece before, over space."""
    return _text(pieces, _near(pieces, i, -1))


def _before_word(pieces: Pieces, i: int) -> int:
    """Place of the word before, over space and the stop of an abbreviation; -1: none."""
    k = _near(pieces, i, -1)
    if k > 0 and pieces[k].text == "." and pieces[k - 1].rule == "abbreviation":
        k -= 1
    return k if k >= 0 and pieces[k].kind is WORD else -1


def _after(pieces: Pieces, i: int) -> str:
    """The text of the piece after, over space."""
    return _text(pieces, _near(pieces, i, 1))


def _stop_after(pieces: Pieces, i: int) -> bool:
    return i + 1 < len(pieces) and pieces[i + 1].text == "."


def _is_name(text: str) -> bool:
    """A capitalised word that is not a function word."""
    return text[:1].isupper() and text.lower() not in FUNCTION_WORDS


def _is_shouted(pieces: Pieces, i: int) -> bool:
    """Whether the other words of the sentence are in capitals too."""
    upper = lower = 0
    for step in (-1, 1):
        k = i + step
        seen = 0
        while 0 <= k < len(pieces) and seen < 8:
            piece = pieces[k]
            if piece.text[0] in _STOPS or _is_break(piece):
                break
            if piece.kind is WORD and len(piece.text) > 1:
                seen += 1
                if piece.text.isupper():
                    upper += 1
                else:
                    lower += 1
            k += step
    return upper > 0 and upper >= 2 * lower


def decide_capitals(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """BBC, NASA, STOP, Henry VIII, EUR 20: a form in capitals."""
    piece = pieces[i]
    form, lower = piece.text, fold_accents(piece.text).lower()
    if not lower.isascii():
        return i + 1, (piece,)
    following = _near(pieces, i, 1)
    if form in tables.currencies and following == i + 2:
        amount = pieces[following]
        if amount.rule == "amount" and amount.text[0].isdecimal():
            text = form + pieces[i + 1].text + amount.text
            spoken = read_money(amount.text, "", tables.currencies[form])
            return following + 1, (Piece(text, NUMBER, spoken),)
    roman = read_roman(form)
    if roman:
        answer = _decide_roman(pieces, i, roman)
        if answer:
            return answer
    if form in _ERAS and (
        (following >= 0 and pieces[following].rule == "amount") or _digit_before(pieces, i)
    ):
        return i + 1, (Piece(form, WORD, tuple(_ERAS[form].split())),)
    acronym = tables.acronyms.get(lower)
    if acronym and acronym.reading == "noun":
        before = _before(pieces, i).lower()
        spelled = before in ("the", "an", "our", "your", "their", "in", "from", "of", "and")
        if spelled and not _is_shouted(pieces, i):
            return i + 1, (Piece(form, WORD, name_letters(lower)),)
        return i + 1, (Piece(form, WORD, (lower,)),)
    if lower in ("am", "pm") and _digit_before(pieces, i):
        return i + 1, (Piece(form, WORD, name_letters(lower)),)
    spoken = read_capitals(lower, tables, _is_shouted(pieces, i))
    return i + 1, (Piece(form, WORD, spoken),)


def _digit_before(pieces: Pieces, i: int) -> bool:
    k = _near(pieces, i, -1)
    return k >= 0 and pieces[k].kind is NUMBER and pieces[k].text[-1:].isdecimal()


def read_roman(form: str) -> int:
    """Value of a well-formed Roman numeral in capitals, or 0.

    >>> read_roman("VIII"), read_roman("MCMXCIX"), read_roman("IIX")
    (8, 1999, 0)
    """
    if not _ROMAN.fullmatch(form):
        return 0
    values = [_ROMAN_VALUES[char] for char in form]
    pairs = zip(values, [*values[1:], 0], strict=True)
    return sum(-value if value < follower else value for value, follower in pairs)


def _decide_roman(pieces: Pieces, i: int, value: int) -> Answer | None:
    """A Roman numeral after a king ("the eighth"), a chapter ("four") or alone; or None."""
    form = pieces[i].text
    k = _near(pieces, i, -1)
    before = _text(pieces, k)
    lower = before.lower()
    ruler = _before(pieces, k).lower() if k >= 0 else ""
    if k >= 0 and before[:1].isupper() and (lower in _REGNAL or ruler in _RULERS):
        return i + 1, (Piece(form, NUMBER, ("the", *read_integer(value, "ordinal"))),)
    if lower in _NUMBERED and (len(form) > 1 or lower not in _LETTERED or form == "I"):
        return i + 1, (Piece(form, NUMBER, read_integer(value)),)
    if len(form) < 2 or form in ("CD", "DC", "MC", "CV", "XL", "MD", "DI", "MI", "CC", "MM"):
        return None
    if form == "IV" and (lower in ("an", "on") or _after(pieces, i) in ("drip", "line", "fluids")):
        return i + 1, (Piece(form, WORD, name_letters("iv")),)
    if value < 40 or (value >= 1000 and len(form) > 3):
        return i + 1, (
            Piece(form, NUMBER, read_year(str(value)) if value > 999 else (read_integer(value))),
        )
    return None


def decide_small_roman(pieces: Pieces, i: int, _tables: Tables) -> Answer:
    """ii, iv and the like in small letters: after "page" or in brackets."""
    piece = pieces[i]
    bracketed = _stop_or_bracket(pieces, i)
    if _before(pieces, i).lower().rstrip(".") in (*_NUMBERED, "pages", "p", "pp") or bracketed:
        spoken = read_integer(read_roman(piece.text.upper()))
        return i + 1, (Piece(piece.text, NUMBER, spoken),)
    return i + 1, (piece,)


def _stop_or_bracket(pieces: Pieces, i: int) -> bool:
    """Whether it is "(ii)", or "ii)" or "ii." at the start of a line."""
    after = _text(pieces, i + 1) if i + 1 < len(pieces) else ""
    if i and pieces[i - 1].text == "(":
        return after == ")"
    opens = i == 0 or (pieces[i - 1].kind is SPACE and "\n" in pieces[i - 1].text)
    return opens and after in (")", ".")


def decide_letter(pieces: Pieces, i: int, _tables: Tables) -> Answer:
    """I, V and X alone: the pronoun, a letter, or a Roman numeral."""
    # Mostly the pronoun: be quick.
    piece = pieces[i]
    k = i - 2
    before = pieces[k].text if k >= 0 else ""
    lower = before.lower()
    if (
        (lower in _NUMBERED or before[:1].isupper())
        and pieces[k].kind is WORD
        and pieces[k + 1].kind is SPACE
    ):
        regnal = before[:1].isupper() and (
            lower in _REGNAL or _before(pieces, k).lower() in _RULERS
        )
        after = _after(pieces, i)
        free = not after[:1].isalpha() or after in ("of", "was", "died", "ruled", "reigned", "had")
        if piece.text != "I":
            free = True
        numbered = lower in _NUMBERED and (piece.text == "I" or lower not in _LETTERED)
        if free and (regnal or numbered):
            answer = _decide_roman(pieces, i, read_roman(piece.text))
            if answer:
                return answer
    return i + 1, (piece,)


def decide_article(pieces: Pieces, i: int, _tables: Tables) -> Answer:
    """A capital A: the article, or the letter's name ("vitamin A", "an A")."""
    before = _before(pieces, i).lower()
    named = before in _LETTERED or before in ("an", "the", "from", "to")
    following = _near(pieces, i, 1)
    lone = following < 0 or pieces[following].kind not in (WORD, NUMBER)
    word = pieces[following].text if following >= 0 else ""
    quoted = word[:1] in tuple("\"“'‘(")
    if (named and not _is_name(word)) or (named and before in _LETTERED) or (lone and not quoted):
        return i + 1, (Piece("A", WORD, ("a.",)),)
    return i + 1, (Piece("A", WORD, ("a",)),)


def decide_initial(pieces: Pieces, i: int, _tables: Tables) -> Answer:
    """A capital letter and a stop: an initial before a name, or the end of a sentence."""
    piece = pieces[i]
    if not _stop_after(pieces, i):
        return i + 1, (piece,)
    following = _near(pieces, i + 1, 1)
    after = _text(pieces, following)
    before = _before(pieces, i).lower()
    name = after[:1].isupper() and pieces[following].kind is WORD
    if piece.text == "I" and (not _is_name(after) or before in FUNCTION_WORDS):
        name = False
    if name and before not in _LETTERED and not (_ends_sentence(after) and before):
        return i + 2, (Piece(piece.text + ".", WORD, name_letters(piece.text)),)
    if piece.text == "A":
        spoken: Words = ("a.",)
    elif piece.text in "VX" and before in _NUMBERED - _LETTERED:
        return i + 1, (Piece(piece.text, NUMBER, read_integer(read_roman(piece.text))),)
    elif piece.text == "I":
        return decide_letter(pieces, i, _tables)
    else:
        spoken = piece.spoken
    return i + 1, (Piece(piece.text, WORD, spoken),)


def _ends_sentence(after: str) -> bool:
    """Whether a capitalised word shows that the stop before it ended a sentence."""
    return after.lower() in FUNCTION_WORDS


def decide_abbreviation(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """St., Dr., No., Nov. and the others that depend on what stands beside them."""
    piece = pieces[i]
    for entry in tables.abbreviations[piece.text.lower()]:
        if _ABBREVIATED[entry.when](pieces, i):
            return _merge_stop(pieces, i, entry)
    if piece.text.isupper() and len(piece.text) > 1:
        return decide_capitals(pieces, i, tables)
    return i + 1, (piece,)


def _merge_stop(pieces: Pieces, i: int, entry: Abbreviation) -> Answer:
    if _stop_after(pieces, i):
        return i + 2, (Piece(pieces[i].text + ".", WORD, entry.spoken),)
    return i + 1, (Piece(pieces[i].text, WORD, entry.spoken),)


def _skip_stop(pieces: Pieces, i: int) -> int:
    return i + 1 if _stop_after(pieces, i) else i


def _is_before_name(pieces: Pieces, i: int) -> bool:
    """As in "Dr. Reed", "the Dr. said"; but not "on Ocean Dr. She"."""
    piece = pieces[i]
    if not piece.text[0].isupper():
        return False
    k = _before_word(pieces, i)
    before = _text(pieces, k)
    house = k >= 0 and _is_name(before) and _digit_before(pieces, k)
    following = _near(pieces, _skip_stop(pieces, i), 1)
    after = _text(pieces, following)
    if following >= 0 and _is_name(after) and pieces[following].kind is WORD and not house:
        return True
    doctor = piece.text in ("Dr", "Rev", "Capt", "Gen", "Col", "Sgt", "Gov", "Sen")
    return doctor and _stop_after(pieces, i) and not _is_name(before) and before != ""


def _is_after_name(pieces: Pieces, i: int) -> bool:
    """As in "Mill St." or "Ocean Dr"."""
    piece = pieces[i]
    k = _before_word(pieces, i)
    before = _text(pieces, k)
    if not piece.text[0].isupper() or k < 0:
        return False
    ordinal = before[:1].isdecimal()
    return _is_name(before) or ordinal


def _is_after_person(pieces: Pieces, i: int) -> bool:
    """As in "John Reed Jr." or "John Reed, Jr."."""
    k = _near(pieces, i, -1)
    if _text(pieces, k) == ",":
        k = _near(pieces, k, -1)
    return pieces[i].text[0].isupper() and _is_name(_text(pieces, k))


def _is_before_number(pieces: Pieces, i: int) -> bool:
    """As in "No. 5" or "p. 7"; the stop may be missing only before a digit: "No 5", "Fig 2"."""
    following = _near(pieces, _skip_stop(pieces, i), 1)
    if following < 0 or pieces[following].kind is not NUMBER:
        return bool(
            following >= 0
            and _stop_after(pieces, i)
            and pieces[i].text.lower() != "no"
            and pieces[following].rule in ("capitals", "letter")
            and read_roman(pieces[following].text)
        )
    if not pieces[following].text[0].isdecimal():
        return False
    if pieces[i].text.lower() in ("no", "art", "ed", "ex") and not _stop_after(pieces, i):
        return (
            pieces[i].text == "No"
            and bool(_before(pieces, i))
            and (_before(pieces, i)[-1:] not in _STOPS)
        )
    return _stop_after(pieces, i) or pieces[i].text.lower() != "sec"


def _is_month(pieces: Pieces, i: int) -> bool:
    """As in "25 Nov", "Nov. 25" or "Nov 2026"."""
    if not pieces[i].text[0].isupper():
        return False
    following = _near(pieces, _skip_stop(pieces, i), 1)
    before = _near(pieces, i, -1)
    for k in (following, before):
        if k >= 0 and pieces[k].kind is NUMBER and pieces[k].text[:1].isdecimal():
            return True
    if _text(pieces, before).lower() in (*_DAYS, ",") and _stop_after(pieces, i):
        return True
    if _text(pieces, before).lower() in ("in", "since", "by", "until", "till", "next", "last"):
        return True
    return _stop_after(pieces, i) and pieces[i].text not in ("Mar", "Jun", "Jan", "Dec")


def _is_day(pieces: Pieces, i: int) -> bool:
    """As in "Mon. 5 May", "Fri 3pm" or "Mon.–Fri."; "Sat" and "Sun" need more than a stop."""
    if not pieces[i].text[0].isupper():
        return False
    skip = _skip_stop(pieces, i)
    following = _near(pieces, skip, 1)
    after = _text(pieces, following)
    if after == ",":
        after = _after(pieces, following)
    dashed = after[:1] in tuple("-–—&/")
    if dashed:
        after = _after(pieces, following)
    before = _before(pieces, i)
    if before[:1] in tuple("-–—&/"):
        before = _before(pieces, _near(pieces, i, -1))
    if after.lower() in (_DAYS | _MONTH_FORMS) and (dashed or after[:1].isupper()):
        return True
    if before.lower().rstrip(".") in _DAYS:
        return True
    if after[:1].isdecimal() and pieces[i].text not in ("Sun", "Sat", "Wed"):
        return True
    if after[:1].isdecimal() and before.lower() in ("", "on", "every", "this", "next", "last"):
        return True
    return _stop_after(pieces, i) and pieces[i].text not in ("Sun", "Sat", "Wed", "Mon")


_ABBREVIATED: Final[dict[str, Callable[[Pieces, int], bool]]] = {
    "stop": _stop_after,
    "name": _is_before_name,
    "street": _is_after_name,
    "after": _is_after_person,
    "number": _is_before_number,
    "month": _is_month,
    "day": _is_day,
}


def decide_amount(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """A plain number: a year, a day, an hour, a phone number, or an amount with its unit."""
    piece = pieces[i]
    digits = plain_digits(piece.text)
    following = _near(pieces, i, 1)
    adjacent = following if following - i <= 2 else -1
    after = _text(pieces, following)
    k = _near(pieces, i, -1)
    before = _text(pieces, k).lower()
    if before == "." and k > 0 and pieces[k - 1].rule == "abbreviation":
        before = _text(pieces, k - 1).lower()

    def say(spoken: Words) -> Answer:
        return i + 1, (Piece(piece.text, NUMBER, spoken),)

    if len(digits) > 1 and _is_phone(pieces, i):
        plus: Words = ("plus",) if digits[0] == "+" else ()
        return say(plus + read_digits(digits))
    if digits.isdecimal() and int(digits[:9]) <= 31 and len(digits) <= 2 and digits != "0":
        month_after = _is_month_at(pieces, following, tables)
        if month_after and not after.islower():
            ordinal = read_integer(int(digits), "ordinal")
            return say((*(() if before == "the" else ("the",)), *ordinal, "of"))
        if _is_month_at(pieces, k, tables) and before[:1] and after[:1] not in tuple(":"):
            return say(read_integer(int(digits), "ordinal"))
    half = after.lower().replace(".", "")
    if (
        half in ("am", "pm")
        and adjacent >= 0
        and (
            half != "am"
            or "." in after
            or after.isupper()
            or (not _after(pieces, following)[:1].isalpha() or pieces[following].kind is WORD)
        )
    ):
        clock = re.fullmatch(r"(\d{1,2})(?:\.([0-5]\d))?", digits)
        if clock and int(clock[1]) <= 12:
            spoken = read_time(clock[1], clock[2] or "") if clock[2] else read_amount(digits)
            middle = pieces[i + 1 : following]
            meridiem = Piece(after, WORD, name_letters(half))
            return following + 1, (Piece(piece.text, NUMBER, spoken), *middle, meridiem)
    if after in _ERAS or before.upper() in _ERAS:
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
    if is_year(digits) and before not in _BEFORE_YEAR and not _is_month_at(pieces, k, tables):
        plural = after.islower() and after.endswith("s") and len(after) > 3
        if after in ("men", "women", "people", "children") or (
            plural and after not in FUNCTION_WORDS
        ):
            return say(read_amount(digits))
    return say(piece.spoken)


def _is_month_at(pieces: Pieces, i: int, tables: Tables) -> bool:
    """Whether a month name stands at a place (or ends there, with its stop)."""
    if i < 0:
        return False
    if pieces[i].text == "." and i > 0 and pieces[i - 1].rule == "abbreviation":
        i -= 1
    text = pieces[i].text
    return text[:1].isupper() and text.lower() in _MONTH_FORMS and bool(tables)


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
    k = _near(pieces, end, 1)
    after = _text(pieces, k)
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
    stop = end == k and _stop_after(pieces, k)
    follow = _near(pieces, k + 1, 1) if stop else -1
    inside = stop and follow >= 0 and pieces[follow].text[:1].islower()
    if not unit.loose and k > i + 1 and not (text == "in" and stop):
        return None
    if (
        text in ("m", "s", "h", "g", "l", "N", "J", "V", "W")
        and k > i + 1
        and (end + 1 < len(pieces) and pieces[end + 1].text[:1] in tuple(APOSTROPHES))
    ):
        return None
    noun = _before(pieces, i).lower() in _DETERMINERS and _is_noun_after(pieces, end)
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
    following = _near(pieces, i, 1)
    if following >= 0 and following - i <= 2:
        measure = _measure(pieces, i, following, tables)
        if measure:
            return measure
    piece = pieces[i]
    fraction = split_fraction(piece.text)
    k = _near(pieces, i, -1)
    if fraction and not fraction[0] and k == i - 2 and pieces[k].rule == "amount":
        return i + 1, (Piece(piece.text, NUMBER, ("and", *piece.spoken)),)
    return i + 1, (piece,)


def decide_attached(pieces: Pieces, i: int, _tables: Tables) -> Answer:
    """A number with its unit in one: "a 5km walk" has no plural."""
    piece = pieces[i]
    if _before(pieces, i).lower() in _DETERMINERS and _is_noun_after(pieces, i):
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
    following = _near(pieces, i, 1)
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
    if following == i + 2 and _text(pieces, following).lower() in (*_SCALES, "bn", "m", "tn"):
        magnitude = pieces[following].text
        text = piece.text + pieces[i + 1].text + magnitude
        end = following
    noun = _before(pieces, i).lower() in _DETERMINERS and _is_noun_after(pieces, end)
    if not plain or not (noun or end > i):
        return i + 1, (piece,)
    digits = re.match(r"[\d.,]+", amount)
    spoken = read_money(digits[0] if digits else "0", magnitude, tables.currencies[sign], noun)
    minus: Words = ("minus",) if number != piece.text else ()
    return end + 1, (Piece(text, NUMBER, minus + spoken),)


def decide_clock(pieces: Pieces, i: int, _tables: Tables) -> Answer:
    """No "o'clock" in "12:00 p.m."."""
    piece = pieces[i]
    half = _after(pieces, i).lower().replace(".", "").replace("'", "").replace("’", "")
    spoken = piece.spoken
    if half in ("am", "pm", "noon", "midnight", "o") and spoken[-1:] == ("o'clock",):
        spoken = spoken[:-1]
    following = _near(pieces, i, 1)
    if half in ("am", "pm") and following == i + 2:
        meridiem = Piece(pieces[following].text, WORD, name_letters(half))
        return following + 1, (Piece(piece.text, NUMBER, spoken), pieces[i + 1], meridiem)
    return i + 1, (Piece(piece.text, NUMBER, spoken),)


def decide_trail(pieces: Pieces, i: int, _tables: Tables) -> Answer:
    """An apostrophe after a word: the dogs' bowls, goin' home; or a closing quote."""
    piece = pieces[i]
    mark = pieces[i + 1]
    if _is_quote_open(pieces, i) and not _closes_later(pieces, i + 1):
        return i + 1, (piece,)
    spoken = piece.spoken
    lower = piece.text.lower()
    if lower.endswith("in") and spoken and not lower.endswith("'n"):
        spoken = (*spoken[:-1], spoken[-1] + "'")
    return i + 2, (Piece(piece.text + mark.text, WORD, spoken),)


def _is_quote_open(pieces: Pieces, i: int) -> bool:
    """Whether a single quote was opened before and not closed."""
    for k in range(i - 1, max(-1, i - _FAR), -1):
        piece = pieces[k]
        if _is_break(piece):
            return False
        if piece.text in tuple(APOSTROPHES):
            before = pieces[k - 1] if k else None
            return (
                before is None
                or before.kind is SPACE
                or (before.kind is PUNCTUATION and before.text[0] not in ".,;:!?…")
            )
    return False


def _closes_later(pieces: Pieces, i: int) -> bool:
    """Whether a closing single quote stands further on, before another one opens."""
    for k in range(i + 1, min(len(pieces), i + _FAR)):
        piece = pieces[k]
        if _is_break(piece):
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


def decide_sign(pieces: Pieces, i: int, _tables: Tables) -> Answer:
    """~ before a number is "about"."""
    piece = pieces[i]
    following = pieces[i + 1] if i + 1 < len(pieces) else None
    if piece.text == "~":
        if following and following.kind is NUMBER:
            return i + 1, (Piece("~", NUMBER, ("about",)),)
        return i + 1, (Piece("~", piece.kind),)
    return i + 1, (piece,)


def decide_dash(pieces: Pieces, i: int, _tables: Tables) -> Answer:
    """A minus sign that stands as a dash says nothing."""
    piece = pieces[i]
    before, following = _near(pieces, i, -1), _near(pieces, i, 1)
    numeric = any(k >= 0 and pieces[k].kind is NUMBER for k in (before, following))
    if numeric:
        return i + 1, (piece,)
    return i + 1, (Piece(piece.text, PUNCTUATION),)


def decide_slash(pieces: Pieces, i: int, _tables: Tables) -> Answer:
    """A slash between an amount and a word is "per"; otherwise it says nothing."""
    piece = pieces[i]
    if 0 < i < len(pieces) - 1:
        before, after = pieces[i - 1], pieces[i + 1]
        rate = before.rule in ("money", "measure", "amount") and after.kind is WORD
        if rate and after.text.islower() and len(after.text) > 1:
            return i + 1, (Piece(piece.text, NUMBER, ("per",)),)
    return i + 1, (piece,)


RULES: Final[dict[str, Rule]] = {
    "abbreviation": decide_abbreviation,
    "amount": decide_amount,
    "article": decide_article,
    "capitals": decide_capitals,
    "clipped": decide_clipped,
    "clock": decide_clock,
    "dash": decide_dash,
    "fraction": decide_quantity,
    "initial": decide_initial,
    "letter": decide_letter,
    "measure": decide_attached,
    "money": decide_money,
    "range": decide_quantity,
    "sign": decide_sign,
    "slash": decide_slash,
    "small roman": decide_small_roman,
    "trail": decide_trail,
}
"""The context rules, by the name that a piece carries."""


def apply_context(pieces: Pieces, special: Sequence[int], tables: Tables) -> list[Piece]:
    """Let each rule decide; `special` are the places of the pieces that carry one."""
    decided: list[Piece] = []
    done = 0
    for i in special:
        rule = RULES.get(pieces[i].rule)
        if i < done or rule is None:
            continue
        decided += pieces[done:i]
        # A piece may keep the name of its rule: nobody looks at it again.
        done, replacement = rule(pieces, i, tables)
        decided += replacement
    decided += pieces[done:]
    return decided
