"""Numbers by their neighbours: years, days, hours, telephones, amounts with units."""

from __future__ import annotations

import re
from typing import Final

from drillgen.speech.text.codes import DIRECTIONS, is_house_number, read_identifier
from drillgen.speech.text.forms import split_inches
from drillgen.speech.text.marks import is_quote_open
from drillgen.speech.text.neighbours import (
    DETERMINERS,
    ERAS,
    FAR,
    FUNCTION_WORDS,
    LETTERED,
    NUMBERED,
    ORDINAL,
    Answer,
    Pieces,
    find_near,
    find_topical,
    find_word_before,
    has_day,
    has_stop,
    is_break,
    is_dialled,
    is_month_at,
    is_noun_after,
    is_plural_after,
    leads_small_street,
    say_number,
    say_unit,
    skip_stop,
    tells,
    text_after,
    text_at,
    text_before,
    unit_at,
)
from drillgen.speech.text.numerals import (
    SCALES,
    is_year,
    name_unit,
    plain_digits,
    pluralize,
    read_digits,
    split_fraction,
)
from drillgen.speech.text.pairs import decide_range, decide_verse
from drillgen.speech.text.rows import Unit, Words, word_set
from drillgen.speech.text.scan import NUMBER, PUNCTUATION, SPACE, WORD, Piece
from drillgen.speech.text.tables import Tables
from drillgen.speech.text.times import (
    decide_day,
    decide_days,
    decide_ending,
    decide_hour,
    decide_hours,
    decide_timed,
    decide_year,
)

_CALLED: Final = word_set("911 999 112 988 111 101 000 411 311 211")
_PRODUCT: Final = re.compile(r"(\w+)(?:[·•⋅.]|(?:(?<=in)|(?<=ft))\.? (?=lb))(\w+)")
_UNIT_TAIL: Final = re.compile(r"[^\d.,‐‑–—\-¼½¾]+$")

_PRIMES: Final = tuple("′'’")
_SHILLINGS: Final = re.compile(r"(\d{1,2})s")
_PENCE: Final = re.compile(r"(\d{1,2}[½¼¾]?)d")
_BEFORE_LETTERED: Final = NUMBERED | word_set(
    "line leaflet apartment apt flat no gate platform stand box clause para paragraph question "
    "rule bus route room form schedule item note fig seat berth pitch plot group team class"
)
_TEMPERATURE: Final = re.compile(r"[-−–]?(?:\d\d\.\dC|(?:9\d|10\d)\.\dF)")
"""Of a body, in degrees Celsius or Fahrenheit."""

_GROUPS: Final = frozenset({"the", "for", "our", "all", "and", "most", "many"})


def decide_decade(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """The 30s are thirties, but "for 30s" and "a 30s rest" are seconds."""
    piece = pieces[i]
    old = _decide_old_money(pieces, i, tables)
    if old:
        return old
    before, digits = text_before(pieces, i).lower(), piece.text[:-1]
    noun = before in ("a", "another", "each")
    if before in ("-", "‐") and text_before(pieces, i - 1).lower() in ("under", "over"):
        return i + 1, (piece,)  # the under-20s
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


_RACED: Final = word_set(
    "25 50 60 100 110 200 300 400 500 600 800 1000 1500 1600 3000 3200 5000 10000"
)
"""Meters of the usual races (World Athletics, World Aquatics; from memory)."""


def decide_thousand(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """5k: a run of five kilometers is "a five k", anything else is counted in thousands; 4B:
    a flat or a size, but people and money are counted in billions."""
    piece, number, letter = pieces[i], pieces[i].spoken[:-1], pieces[i].text[-1]
    before, after = text_before(pieces, i), text_after(pieces, i).lower()
    short, cues = (*number, f"{letter.lower()}."), tables.cues
    if letter == "M" and piece.text[0] == "0":
        return say_number(piece, i, short)  # 0.02M saline
    if letter == "M" and tells(pieces, i, cues["running"], 2) and len(piece.text) < 4:
        miles = (*number, *name_unit(piece.text[:-1], tables.units["mi"]))
        return say_number(piece, i, miles, (piece.spoken,), "miles")
    if letter == "M":
        beside = (after, text_after(pieces, find_near(pieces, i, 1)))
        raced = piece.text[:-1] in _RACED and tells(pieces, i, cues["raced"])
        raced = raced and not is_plural_after(pieces, i)
        if cues["length"].isdisjoint(beside) and not raced:
            return i + 1, (piece,)
        noun = before.lower() in DETERMINERS or is_noun_after(pieces, i)
        return say_number(piece, i, (*number, "meter" if noun else "meters"))
    if letter == "B":
        return say_number(piece, i, piece.spoken if after in cues["millions"] else short)
    run, race = piece.text[:-1] in tables.cues["distances"], after in cues["race"]
    if letter == "K" and not is_plural_after(pieces, i) and before != "$":
        likely = len(piece.text) == 2 or after in cues["file"] or race or run
        spoken, other = (short, piece.spoken) if likely else (piece.spoken, short)
        if len(piece.text) == 2:
            return say_number(piece, i, spoken)
        note = "kilobytes or a distance" if likely else "thousands"
        return say_number(piece, i, spoken, (other,), note)
    run = run and (not after.isalpha() or after in cues["length"])
    if letter == "k" and (run or race or before.lower() in DETERMINERS):
        return say_number(piece, i, short, (piece.spoken,), "a distance")
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
        decide_verse(pieces, i, tables)
        or decide_ending(pieces, i, k, following, tables)
        or decide_hour(pieces, i, following, tables)
        or decide_timed(pieces, i, k, following, tables)
        or decide_day(pieces, i, k, following, tables)
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
        is_month_at(pieces, k) and has_day(pieces, k)
    )
    if digits.isdecimal() and old and dated and after in ("", ".", ",", ";", ")"):
        return say_number(piece, i, tables.say.year(digits))
    if is_year(digits):
        return decide_year(pieces, i, k, after, tables)
    if _is_identifier(pieces, i, k, digits, tables):
        return say_number(piece, i, tables.say.pairs(digits))
    head, _, part = digits.partition(".")
    if is_year(head) and part and not is_noun_after(pieces, i):
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
    short = len(digits) == 3 and before != "or" and not is_noun_after(pieces, i)
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
        return alone or (is_plural_after(pieces, i) and digits[-1] != "0")  # a 787 lands
    if is_plural_after(pieces, i) or before.lower() in tables.cues["before amount"] or k != i - 2:
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
    book = text_at(pieces, following)
    if piece.text in tuple("1234") and book.lower() in tables.cues["numbered book"]:
        verse, named = find_near(pieces, skip_stop(pieces, following), 1), book[:1].isupper()
        if verse > 0 and named and pieces[verse].rule in ("ratio", "clock", "amount", "range"):
            return say_number(piece, i, tables.say.integer(int(piece.text), "ordinal"))
    par = re.fullmatch(r"([-–+])(\d{1,2})", piece.text)
    if par and tells(pieces, i, tables.cues["golf"]):
        over = "over" if par[1] == "+" else "under"
        return say_number(piece, i, (*tables.say.amount(par[2]), over))
    if piece.text[0] in "-–" and text_at(pieces, k).lower() in NUMBERED | LETTERED:
        return say_number(piece, i, piece.spoken[1:])
    return None


def _measure(pieces: Pieces, i: int, k: int, tables: Tables) -> Answer | None:
    """The unit after a number: its words by the number, and its stop ("6 ft. of rope")."""
    amount = pieces[i].text
    text, end, unit = _find_unit(pieces, k, tables)
    if unit is None or (text == "s" and leads_small_street(pieces, k, i)):
        return None
    stop = end == k and has_stop(pieces, k)
    follow = find_near(pieces, k + 1, 1) if stop else -1
    next_char = pieces[follow].text[:1] if follow >= 0 else ""
    inside = stop and (next_char.islower() or next_char.isdecimal())
    stone = text == "st" and amount.isdecimal() and not text_after(pieces, k)[:1].isupper()
    stone = stone and (amount[-1] != "1" or amount == "11")  # 21 st
    if not unit.loose and k > i + 1 and not stone and not (text == "in" and stop):
        return None
    noun = text_before(pieces, i).lower() in DETERMINERS and is_noun_after(pieces, end)
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
    ordinal = ORDINAL.match(text_at(pieces, find_near(pieces, skip_stop(pieces, k), 1)))
    street = (stop or text in "NSEW") and ordinal is not None
    ends = k + 1 < len(pieces) and "\n" in pieces[k + 1].text
    upper = text_after(pieces, k)[:1].isupper() and not ends
    if letter and text == "L" and upper and not stop:
        liters = Piece(text, WORD, ("l.",), "", (unit.several,), "a letter")
        return k + 1, (*pieces[i:k], liters)
    if letter and (street or (stop and next_char.isupper()) or upper):
        return None  # 123 N. Main, 5 V Lane
    number = pieces[i].spoken
    if joined_on:
        number = ("and", *number)
    elif fraction and tail[0] in ("a", "an") and number[0] == "a":
        number = number[1:]
    elif not fraction and pieces[i].rule == "amount":
        number = tables.say.amount(amount)
    between = tuple(pieces[i + 1 : k])
    written = "".join(p.text for p in pieces[k : end + 1])
    kind = WORD if written[:1].isalpha() else NUMBER
    if inside:
        written, end = written + ".", end + 1
    ending = Piece(written, kind, tail)
    rate = text_at(pieces, end + 1) == "/" if end + 1 < len(pieces) else False
    open_ = letter and between and not rate and text in "NJVWT"
    if open_ and not tells(pieces, i, tables.cues["electric"]):
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
        bare = "." in (joined[0], joined[-1])  # "2.6.x" is a version
        unit = None if bare else tables.units.get(joined.replace(".", ""))
        product = _PRODUCT.fullmatch(joined)
        dotted = product and "." in joined and len(product[1]) < 2  # p.m
        if product and not dotted and product[1] in tables.units and product[2] in tables.units:
            first, second = tables.units[product[1]].one, tables.units[product[2]]
            unit = Unit(first + second.one, first + second.several, True)
        if unit:
            return joined, last, unit
    return text, k, unit_at(pieces, k, tables)


def decide_quantity(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """A range or a fraction that a unit or a fraction's noun may follow."""
    if pieces[i].text == "½" and text_after(pieces, i).lower() == "past":
        return say_number(pieces[i], i, ("half",))
    if pieces[i].rule == "range":
        counted = re.fullmatch(r"(\d{4})[-–](\d{4})", pieces[i].text)
        series = re.fullmatch(r"(\d{4})-(\d{3})", pieces[i].text)
        if series and is_year(series[1]):
            code = (*tables.say.year(series[1]), *tables.say.amount(series[2]))
            return say_number(pieces[i], i, code, (pieces[i].spoken,), "a code")
        if counted and text_after(pieces, i) in tables.cues["counted"]:
            left, right = map(tables.say.amount, counted.groups())
            return say_number(pieces[i], i, (*left, "to", *right))
        if counted and is_house_number(pieces, i, tables.cues):
            left, right = map(tables.say.pairs, counted.groups())
            return say_number(pieces[i], i, (*left, "to", *right), (), "house numbers")
        for decide in (decide_verse, decide_days, decide_hours, decide_range):
            answer = decide(pieces, i, tables)
            if answer:
                return answer
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


def _follows_whole(pieces: Pieces, i: int) -> bool:
    """As in "3 ½": a whole number stands before."""
    k = find_near(pieces, i, -1)
    return k >= 0 and k == i - 2 and pieces[k].rule == "amount" and len(pieces[k].text) < 4


def _is_series(pieces: Pieces, i: int) -> bool:
    """Whether 2d and 3d are series of law reports: "150 F.3d 1", "799 N.Y.S. 2d, at 797"."""
    k = find_near(pieces, i, -1)
    report = text_at(pieces, find_near(pieces, k, -1) if text_at(pieces, k) == "." else k)
    reported = re.fullmatch("(?:[A-Z]\\.?){1,4}|Supp|Ed|Rptr", report) is not None
    after = text_after(pieces, i)
    cited = after in (",", "at") or after[:1].isdecimal()
    cited = (reported and cited) or after in ("Cir", "Dep", "Dist")
    return pieces[i].text in ("2d", "3d") and cited


def _decide_old_money(pieces: Pieces, i: int, tables: Tables) -> Answer | None:
    """Shillings and pence: "£839 19s. 3d.", "3s 9d", "8d. in the pound"."""
    piece = pieces[i]
    shillings, pence = _SHILLINGS.fullmatch(piece.text), _PENCE.fullmatch(piece.text)
    coins = shillings or pence
    if not coins:
        return None
    if _is_series(pieces, i):
        return say_number(piece, i, ("second",) if piece.text == "2d" else ("third",))
    before, after = find_near(pieces, i, -1), find_near(pieces, skip_stop(pieces, i), 1)
    if text_at(pieces, before) == ".":
        before = find_near(pieces, before, -1)
    pounds = before >= 0 and pieces[before].text[:1] == "£"
    figure = coins[1]
    if shillings:
        beside = pounds or _PENCE.fullmatch(text_at(pieces, after))
        unit = "shilling" if figure == "1" else "shillings"
    else:
        old = tells(pieces, i, tables.cues["old money"])
        beside = pounds or old or _SHILLINGS.fullmatch(text_at(pieces, before))
        unit = "penny" if figure == "1" else "pence"
    number = _say_figure(figure, tables)
    if not beside:
        if tables.say.american or not pence or not has_stop(pieces, i):
            return None
        return say_number(piece, i, piece.spoken, ((*number, unit),), "a letter")
    return i + 1, (piece._replace(spoken=(*number, unit)),)


def _say_figure(figure: str, tables: Tables) -> Words:
    """A plain number or one with a fraction."""
    fraction = split_fraction(figure)
    return tables.say.mixed(*fraction) if fraction else tables.say.amount(figure)


def _decide_topical(pieces: Pieces, i: int, tables: Tables) -> Answer | None:
    """A unit that is another one in what the text is about: 2f, 110y and 1¼l of a race."""
    piece = pieces[i]
    symbol = piece.text.lstrip("0123456789.,¼½¾-–−")
    unit = find_topical(pieces, i, symbol, tables)
    if symbol == "C" and len(piece.text) < 4:  # ½C of flour
        unit = find_topical(pieces, i, "c", tables) or unit
    heat = tables.units.get(f"{symbol}@heat")
    found, label = unit or heat, text_at(pieces, find_word_before(pieces, i)).lower()
    if not found or (heat and label in _BEFORE_LETTERED | LETTERED):
        return None
    if heat and not unit and not _TEMPERATURE.fullmatch(piece.text):
        other = (*_say_figure(piece.text[:-1], tables), *heat.several)
        return say_number(piece, i, piece.spoken, (other,), "a letter")
    figure = piece.text.removesuffix(symbol)
    plain = len(tables.units[symbol].several) if symbol in tables.units else 0
    part = split_fraction(figure)
    if plain:
        number = piece.spoken[:-plain]
    elif part:
        number = tables.say.mixed(*part)
        number = number[1:] if part == (0, 1, 2) else number  # half a cup
    elif re.fullmatch(r"[-–−+]?(?:\d[\d.,]*|\.\d+)", figure):
        number = tables.say.amount(figure)
    else:
        return None  # 10:30-11y
    noun = text_after(pieces, i).lower() in tables.cues["electric"]  # a 20A outlet
    return i + 1, (piece._replace(spoken=(*number, *name_unit(figure, found, noun))),)


def _decide_half(pieces: Pieces, i: int, tables: Tables) -> Answer | None:
    """6a and 7p, in American notes: hours in the morning and after noon."""
    hour = re.fullmatch(r"(\d|1[0-2])([ap])", pieces[i].text)
    timed = text_before(pieces, i).lower() in tables.cues["hour"] | {"@", "til", "or", "-", "–"}
    if not (hour and timed and tables.say.american):
        return None
    return say_number(pieces[i], i, tables.say.time(hour[1], "", hour[2] + "m"))


def _decide_ages(pieces: Pieces, i: int, tables: Tables) -> Answer | None:
    """The 18-24s are people of these ages; 30-45s are seconds."""
    span = re.fullmatch(r"(\d\d?)[-‐‑–](\d\d)s", pieces[i].text)
    if not span or (int(span[1]) % 5 == int(span[2]) % 5 == 0) or int(span[1]) >= int(span[2]):
        return None
    ages = pluralize(tables.say.span(span[1], span[2]))
    return say_number(pieces[i], i, ages, (pieces[i].spoken,), "ages")


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
        or _decide_half(pieces, i, tables)
        or _decide_ages(pieces, i, tables)
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
        type_ = before.lower() == "the" and len(number) == 3 and number[0] != "1"  # the 747s
        if ages or type_ or before.lower() in tables.cues["plural"]:
            return i + 1, (piece._replace(spoken=pluralize(piece.spoken[:-1])),)
    if piece.text[-1] == "x" and (text_after(pieces, i)[:1].isdecimal() or piece.text == "1x"):
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
    noun = text_before(pieces, i).lower() in DETERMINERS | {"x"} and is_noun_after(pieces, i)
    noun = noun or (last == "m" and text_after(pieces, i).lower() in tables.cues["length"])
    tall = re.fullmatch(r"[3-7]ft", piece.text) and re.fullmatch(
        r"(?:\d|1[01])(?:½|\.5)?(?:ins?)?", text_after(pieces, i)
    )
    if tall or ((noun or thick_noun) and piece.spoken[-1] != "olds"):
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
    sign = next(filter(number.startswith, signs), "")
    if not sign:  # two joined by a dash: 10:30-$5.20
        return i + 1, (piece,)
    amount = number[len(sign) :]
    magnitude = amount.lstrip("0123456789.,")
    plain = bool(re.fullmatch(r"[\d.,]+[a-zA-Z]{0,2}", amount))
    span = re.fullmatch(r"([\d.,]+)[-–]\D?([\d.,]+)", amount)
    if following == i + 2 and text_at(pieces, following).lower() in (*SCALES, "bn", "m", "tn"):
        magnitude = pieces[following].text
        text = piece.text + pieces[i + 1].text + magnitude
        end = following
        if span:
            upper = tables.say.money(span[2], magnitude, tables.currencies[sign])
            return end + 1, (Piece(text, NUMBER, (*tables.say.amount(span[1]), "to", *upper)),)
    before = text_before(pieces, i).lower()
    noun = before in DETERMINERS - {"its"} and is_noun_after(pieces, end)
    # "a £50 Harrow voucher"
    noun = noun or (before in ("a", "an") and text_after(pieces, end)[:1].isupper())
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
    if following == k + 2 and text_at(pieces, following).lower() in (*SCALES, "bn", "m", "tn"):
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
    if piece.rule == "foot" and tells(pieces, i, tables.cues["football"], 3):
        unit = tables.units["min"]
    arc = find_near(pieces, i, -1)
    minutes = arc >= 0 and pieces[arc].text[-1:] in _PRIMES
    if (text_before(pieces, arc) if minutes else text_at(pieces, arc))[-1:] == "°":
        unit = tables.units["min" if piece.rule == "foot" else "s"]  # of arc
    following = find_near(pieces, i, 1)
    noun = is_noun_after(pieces, i) or text_at(pieces, following).lower() in ("elevation", "x")
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
