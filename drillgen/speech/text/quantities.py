"""Numbers by their neighbours: years, days, hours, telephones, amounts with units."""

from __future__ import annotations

import re
from typing import Final

from drillgen.speech.text.codes import read_identifier
from drillgen.speech.text.neighbours import (
    DETERMINERS,
    ERAS,
    FAR,
    FUNCTION_WORDS,
    LETTERED,
    MONTH_FORMS,
    NUMBERED,
    Answer,
    Pieces,
    find_near,
    has_stop,
    is_break,
    skip_stop,
    tells_verse,
    text_after,
    text_at,
    text_before,
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
from drillgen.speech.text.rows import Words, word_set
from drillgen.speech.text.scan import NUMBER, PUNCTUATION, WORD, Piece
from drillgen.speech.text.tables import Tables
from drillgen.speech.text.words import APOSTROPHES, name_letters

_BEFORE_YEAR: Final = word_set(
    "in since of by from until till before after during around about year circa and to late early "
    "mid spring summer autumn fall winter class season"
)
_COUNTED: Final = word_set(
    "men women people children words miles feet meters metres pages copies votes calories steps "
    "times dollars pounds euros years days hours minutes students members boats homes troops "
    "soldiers employees residents"
)
"""Nouns that make four digits before them an amount."""

_COUNTING: Final = word_set(
    "over almost nearly approximately roughly only than least most up exactly another some all "
    "these those have has had"
)
_AFTER_MEASURE: Final = word_set(
    "per away long wide high deep tall apart off later ago more less each north south east west"
)
_MILLIONS: Final = word_set(
    "people users pounds dollars euros followers views viewers visitors jobs homes households "
    "children women men copies subscribers downloads voters workers members barrels tonnes tons"
)
_CALLING: Final = word_set(
    "call calls called calling dial dials dialed dialled ring text phone or"
)
_CALLED: Final = word_set("911 999 112 988 111 101 000 411 311 211")
_DISTANCES: Final = frozenset({"5", "8", "10", "15"})
_RACES: Final = word_set("run runs race races walk jog swim")
_SCALES: Final = word_set("thousand million billion trillion")
_MARKED: Final = word_set("ratio odds scale mix mixture proportion")


_NUMBERED_BOOKS: Final = word_set(
    "sam samuel kgs kings chr chron chronicles cor corinthians thess thessalonians tim timothy "
    "pet peter jn john"
)
_PLURAL: Final = word_set("massive big huge straight consecutive size sizes more many few")
_LASTING: Final = word_set("for every after within hold holds rest wait lasts takes took another")
_GROUPS: Final = frozenset({"the", "for", "our", "all", "and", "most", "many"})


def decide_decade(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """The 30s are thirties, but "for 30s" and "a 30s rest" are seconds."""
    piece = pieces[i]
    before, digits = text_before(pieces, i).lower(), piece.text[:-1]
    noun = before in ("a", "another", "each")
    seconds = before in _LASTING or (noun and _is_noun_after(pieces, i))
    if len(digits) < 4 and digits.isdecimal() and seconds:
        return _say(piece, i, (*tables.say.amount(digits), "second" if noun else "seconds"))
    return i + 1, (piece,)


def decide_ordinal(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """The ordinal in "6th October" and "October 6th", with its words."""
    piece = pieces[i]
    k, following = find_near(pieces, i, -1), find_near(pieces, i, 1)
    day = piece.text[:-2].isdecimal() and int(piece.text[:-2]) <= 31
    the: Words = () if text_at(pieces, k).lower() == "the" else ("the",)
    if day and _is_month_at(pieces, following) and following == i + 2:
        return _say(piece, i, (*the, *piece.spoken, "of"))
    if day and _is_month_at(pieces, k) and not tables.say.american:
        return _say(piece, i, (*the, *piece.spoken))
    return _say(piece, i, piece.spoken)


def decide_ratio(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """1:10 is "one to ten", but a verse of the Bible has no "to"."""
    piece = pieces[i]
    match = re.fullmatch(r"(\d{1,3}):(\d{1,3})", plain_digits(piece.text))
    if not match or not tells_verse(pieces, i):
        return i + 1, (piece,)
    left, right = match.groups()
    return _say(piece, i, (*tables.say.amount(left), *tables.say.amount(right)))


def decide_thousand(pieces: Pieces, i: int, _tables: Tables) -> Answer:
    """5k: a run of five kilometers is "a five k", anything else is counted in thousands; 4B:
    a flat or a size, but people and money are counted in billions."""
    piece = pieces[i]
    if piece.text[-1] == "B":
        spoken = piece.spoken if text_after(pieces, i) in _MILLIONS else (*piece.spoken[:-1], "b.")
        piece = piece._replace(spoken=spoken)
    elif (
        text_before(pieces, i).lower() in DETERMINERS
        or text_after(pieces, i).lower() in _RACES
        or (piece.text[:-1] in _DISTANCES and not text_after(pieces, i)[:1].isalpha())
    ):
        spoken = (*piece.spoken[:-1], "k.")
        piece = piece._replace(spoken=spoken, other=(piece.spoken,), note="a distance")
    return i + 1, (piece,)


def decide_amount(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """A plain number: a year, a day, an hour, a phone number, or an amount with its unit."""
    piece = pieces[i]
    code = read_identifier(pieces, i, tables)
    if code:
        return i + 1, (code,)
    following = find_near(pieces, i, 1)
    k = find_near(pieces, i, -1)
    if piece.text in tuple("1234") and text_at(pieces, following).lower() in _NUMBERED_BOOKS:
        verse = find_near(pieces, skip_stop(pieces, following), 1)
        if verse > 0 and pieces[verse].rule in ("ratio", "clock"):
            return _say(piece, i, tables.say.integer(int(piece.text), "ordinal"))
    if piece.text[0] in "-–" and text_at(pieces, k).lower() in NUMBERED | LETTERED:
        return _say(piece, i, piece.spoken[1:])
    if text_at(pieces, k) == "." and k > 0 and pieces[k - 1].rule == "abbreviation":
        k -= 1
    answer = (
        _decide_day(pieces, i, k, following, tables)
        or _decide_hour(pieces, i, following, tables)
        or _decide_sizes(pieces, i, following)
    )
    if answer:
        return answer
    digits = plain_digits(piece.text)
    before, after = text_at(pieces, k).lower(), text_at(pieces, following)
    if before in _CALLING and digits in _CALLED:
        return _say(piece, i, read_digits(digits))
    if after in ERAS or before.upper() in ERAS:
        year = digits.isdecimal() and len(digits) < 5
        return _say(piece, i, tables.say.year(digits) if year else piece.spoken)
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
            return _say(piece, i, tables.say.amount(digits))
    old = len(digits) == 3 or (digits[:2] == "10" and len(digits) == 4)
    if digits.isdecimal() and old and before == "in" and not after[:1].isalpha():
        return _say(piece, i, tables.say.year(digits))
    if is_year(digits):
        return _decide_year(pieces, i, k, after, tables)
    if re.fullmatch(r"\d{1,3}\.\d{3}", digits) and digits.endswith("000"):
        return _say(
            piece, i, piece.spoken, (tables.say.amount(digits.replace(".", "")),), "a decimal"
        )
    return _say(piece, i, piece.spoken)


def _say(
    piece: Piece, i: int, spoken: Words, other: tuple[Words, ...] = (), note: str = ""
) -> Answer:
    return i + 1, (Piece(piece.text, NUMBER, spoken, "", other, note),)


def _decide_day(pieces: Pieces, i: int, k: int, following: int, tables: Tables) -> Answer | None:
    """The day in "3 May" and "May 3"."""
    digits = plain_digits(pieces[i].text)
    if not (digits.isdecimal() and len(digits) <= 2 and 0 < int(digits) <= 31):
        return None
    after = text_at(pieces, following)
    if _is_month_at(pieces, following) and not after.islower():
        the: Words = () if text_at(pieces, k).lower() == "the" else ("the",)
        return _say(pieces[i], i, (*the, *tables.say.integer(int(digits), "ordinal"), "of"))
    second = text_at(pieces, k).lower() in ("and", "or", "to", "through")
    if second and not _is_noun_after(pieces, i):
        # "January 10 and 11": the month stands before the first day.
        day = find_near(pieces, k, -1)
        if day >= 0 and re.fullmatch(r"\d{1,2}", pieces[day].text):
            k = find_near(pieces, day, -1)
    if after == "," or text_at(pieces, k) == ",":
        k = _find_listed_month(pieces, i, k)
    if _is_month_at(pieces, k) and (after[:1] != ":" or following > i + 1 or _ends_day(pieces, i)):
        return _say(pieces[i], i, tables.say.day_after_month(digits))
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
    if half not in ("am", "pm") or following - i > 2:
        return None
    digits = plain_digits(pieces[i].text)
    clock = re.fullmatch(r"(\d{1,2})(?:\.([0-5]\d))?", digits)
    if not clock or int(clock[1]) > 12:
        return None
    spoken = tables.say.amount(digits)
    if clock[2]:
        spoken = tables.say.time(clock[1], clock[2])
    meridiem = Piece(after, WORD, name_letters(half))
    middle = pieces[i + 1 : following]
    return following + 1, (Piece(pieces[i].text, NUMBER, spoken), *middle, meridiem)


def _decide_sizes(pieces: Pieces, i: int, following: int) -> Answer | None:
    """3 x 4: "by"."""
    if text_at(pieces, following) not in ("x", "X", "×") or following - i > 2:
        return None
    second = find_near(pieces, following, 1)
    if second < 0 or pieces[second].kind is not NUMBER or text_at(pieces, following) == "×":
        return None
    times = Piece(pieces[following].text, NUMBER, ("by",))
    return following + 1, (pieces[i], *pieces[i + 1 : following], times)


def _decide_year(pieces: Pieces, i: int, k: int, after: str, tables: Tables) -> Answer:
    """Four digits from 1100 to 2099: a year, unless something is counted."""
    piece = pieces[i]
    amount = tables.say.amount(plain_digits(piece.text))
    before = text_at(pieces, k).lower()
    if before in _BEFORE_YEAR or _is_month_at(pieces, k) or amount == piece.spoken:
        return _say(piece, i, piece.spoken)
    plural = after.islower() and after.endswith("s") and len(after) > 3
    plural = plural and not after.endswith("ss") and after not in FUNCTION_WORDS
    if after in _COUNTED or before in _COUNTING:
        return _say(piece, i, amount)
    if not plural:
        return _say(piece, i, piece.spoken)
    if int(piece.text) < 1900 or piece.text.endswith("00"):
        return _say(piece, i, amount, (piece.spoken,), "an amount")
    return _say(piece, i, piece.spoken, (amount,), "a year")


def _is_month_at(pieces: Pieces, i: int) -> bool:
    """Whether a month name stands at a place (or ends there, with its stop)."""
    if i < 0:
        return False
    if pieces[i].text == "." and i > 0 and pieces[i - 1].rule == "abbreviation":
        i -= 1
    text = pieces[i].text
    return text[:1].isupper() and text.lower() in MONTH_FORMS


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
    if len(text) == 1 and text.isupper() and k > i + 1 and text_after(pieces, k)[:1].isupper():
        return None
    fraction = split_fraction(amount)
    if fraction:
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
    return end + 1, (Piece(amount, NUMBER, number), *between, Piece(written, kind, tail))


def decide_quantity(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """A range or a fraction that a unit or a fraction's noun may follow."""
    if pieces[i].rule == "range":
        days = _decide_days(pieces, i, tables)
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
    k = find_near(pieces, i, -1)
    joined = k >= 0 and k == i - 2 and pieces[k].rule == "amount" and len(pieces[k].text) < 4
    if fraction and not fraction[0] and joined:
        return i + 1, (Piece(piece.text, NUMBER, ("and", *piece.spoken)),)
    return i + 1, (piece,)


def _decide_days(pieces: Pieces, i: int, tables: Tables) -> Answer | None:
    """ "May 23-24" and "23-24 May": from one day to another."""
    match = re.fullmatch(r"(\d{1,2})[-‐‑–—](\d{1,2})", plain_digits(pieces[i].text))
    if not match or not int(match[1]) < int(match[2]) <= 31:
        return None
    first, second = (tables.say.integer(int(day), "ordinal") for day in match.groups())
    following = find_near(pieces, i, 1)
    if _is_month_at(pieces, following) and following == i + 2:
        return _say(pieces[i], i, ("the", *first, "to", "the", *second, "of"))
    if not _is_month_at(pieces, find_near(pieces, i, -1)):
        return None
    the: Words = () if tables.say.american else ("the",)
    return _say(pieces[i], i, (*the, *first, "to", *the, *second))


def decide_attached(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """A number with its unit in one: "a 5km walk" has no plural."""
    piece = pieces[i]
    number = piece.text[:-1]
    if piece.spoken[-1] == "seconds" and piece.text[-1] == "s" and number.isdecimal():
        # The under 25s, massive 6s: many of that number.
        k = find_near(pieces, i, -1)
        before = text_at(pieces, k if text_at(pieces, k) not in tuple("-‐‑") else k - 1)
        whose = text_before(pieces, find_near(pieces, i, -1)).lower()
        ages = before.lower() in ("over", "under") and (before[0].isupper() or whose in _GROUPS)
        if ages or before.lower() in _PLURAL:
            return i + 1, (piece._replace(spoken=pluralize(piece.spoken[:-1])),)
    timed = re.search(r"\dh$", text_before(pieces, i)) is not None
    if timed and piece.text[-1] == "m" and plain_digits(number).isdecimal():  # 1h 07m 59s
        minutes = tables.say.integer(int(plain_digits(number)))
        return i + 1, (piece._replace(spoken=(*minutes, "minutes")),)
    if piece.spoken[-1] == "meters" and text_after(pieces, i) in _MILLIONS:
        return i + 1, (piece._replace(spoken=(*piece.spoken[:-1], "million")),)
    thick = text_at(pieces, i + 1) if i + 2 < len(pieces) else ""
    thick_noun = thick in tuple("-‐‑") and pieces[i + 2].kind is WORD
    noun = text_before(pieces, i).lower() in DETERMINERS and _is_noun_after(pieces, i)
    if noun or thick_noun:
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


def decide_inch(pieces: Pieces, i: int, _tables: Tables) -> Answer:
    """17" is seventeen inches, unless the mark closes a quotation."""
    piece = pieces[i]
    quoted = False
    for k in range(i - 1, max(-1, i - FAR), -1):
        if is_break(pieces[k]):
            break
        quoted ^= pieces[k].text == '"'
    if quoted and piece.text[-1] == '"':
        number = Piece(piece.text[:-1], NUMBER, piece.spoken[:-1])
        return i + 1, (number, Piece('"', PUNCTUATION))
    noun = _is_noun_after(pieces, i)
    spoken = (*piece.spoken[:-1], "inch") if noun else piece.spoken
    return i + 1, (Piece(piece.text, NUMBER, spoken),)


def decide_unit(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """A unit's symbol without a number: "half a km"."""
    one = text_before(pieces, i).lower() in DETERMINERS | {"per", "/"}
    unit = tables.units[pieces[i].text]
    return i + 1, (Piece(pieces[i].text, WORD, unit.one if one else unit.several),)


def decide_clock(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """No "o'clock" in "12:00 p.m."; "to" in a ratio."""
    piece = pieces[i]
    if piece.text.count(":") == 1 and tells_verse(pieces, i):
        return decide_ratio(pieces, i, tables)
    near = {text_before(pieces, i).lower(), text_after(pieces, i).lower()}
    k = find_near(pieces, i, -1)
    near.add(text_before(pieces, k).lower() if k >= 0 else "")
    if near & _MARKED and re.fullmatch(r"\d+:\d+", plain_digits(piece.text)):
        left, right = plain_digits(piece.text).split(":")
        spoken = (*tables.say.amount(left), "to", *tables.say.amount(str(int(right))))
        return _say(piece, i, spoken)
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
