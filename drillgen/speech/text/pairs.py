"""Two numbers with a slash or a dash between them: dates, fractions, scores, spans."""

from __future__ import annotations

import re
from itertools import chain
from typing import Final

from drillgen.speech.text.forms import Reading, match_unit, read_chain, read_short_date
from drillgen.speech.text.neighbours import (
    DAYS,
    Answer,
    Pieces,
    find_near,
    find_word_before,
    has_stop,
    is_name,
    is_plural_after,
    say_number,
    tells,
    tells_verse,
    text_after,
    text_at,
    text_before,
    unit_at,
)
from drillgen.speech.text.numerals import (
    MONTHS,
    is_year,
    name_unit,
    plain_digits,
    read_digits,
    split_fraction,
)
from drillgen.speech.text.rows import Words
from drillgen.speech.text.scan import NUMBER, SPACE, WORD, Piece
from drillgen.speech.text.tables import Tables

_PARTS: Final = frozenset({2, 3, 4, 5, 6, 8, 10, 100})
"""Denominators that make a fraction likelier than a date."""

_CROSSES: Final = ("x", "×")
_LOOK: Final = 14
"""How many pieces back a word may tell a score."""


def decide_pair(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """Two numbers with a slash: a date, a fraction, a mark, or just the two."""
    piece = pieces[i]
    text = plain_digits(piece.text)
    say = tables.say
    left, right = text.split("/")
    if text in tables.contractions:
        return say_number(piece, i, tables.contractions[text])
    years = _read_years(left, right, tables)
    chained = i > 0 and pieces[i - 1].text == "/"
    if years and not (chained and is_year(right) and not is_year(left)):
        return say_number(piece, i, years)
    sides = text_before(pieces, i) in _CROSSES or text_after(pieces, i) in _CROSSES
    date = None if sides else _read_date(left, right, tables)
    span = date and _is_date_span(pieces, i)
    before = text_before(pieces, i).lower().rstrip(".")
    after = text_after(pieces, i)
    fraction = split_fraction(text)
    low, high = int(left), int(right)
    k = find_near(pieces, i, -1)
    sized = after == "an" or after in tables.cues["measured"] or after in tables.units
    if fraction and sized and before not in DAYS and after not in tables.cues["metric"]:
        return _fraction(pieces, i, tables, None)
    if tells(pieces, i, tables.cues["old money"], 2) and low < 20 and high < 12 and not span:
        return say_number(piece, i, (*say.amount(left), "and", *say.amount(right)))
    several = high - low in (1, 2) and before in ("of", "every", "aged", "ages", "another")
    if several and after != "of" and (after.endswith("s") or not after[:1].isalpha()):
        choice: Words = (*say.amount(left), "or", *say.amount(right))
        part = (say.mixed(*fraction),) if fraction else ()
        return say_number(piece, i, choice, part, "a choice")
    dated = span or before in tables.cues["before date"] | DAYS or _weekday_before(pieces, k)
    if date and dated:
        return say_number(piece, i, date.spoken, date.other[:1], date.note)
    told = _read_topic(pieces, i, left, right, tables)
    if told:
        return say_number(piece, i, told)
    rated = high in (5, 10, 100) and low <= high
    given = before in ("of", "it", "this", "that", "them")
    given = given and text_before(pieces, k).lower() in tables.cues["rated"]
    share = low > 1 and (high == 100 or (high == 10 and is_plural_after(pieces, i)))
    marked = before in tables.cues["rated"] or after.lower() in tables.cues["star"]
    quiz = before in ("got", "scored") and high > 12 and low <= high and after != "of"
    if quiz or (rated and (given or share or marked or low == high)):
        return say_number(piece, i, (*say.amount(left), "out", "of", *say.amount(right)))
    if fraction and (fraction[2] in _PARTS or sized or after in ("of", "in", "a")):
        return _fraction(pieces, i, tables, date)
    return _decide_open_pair(pieces, i, tables, date)


def _read_years(left: str, right: str, tables: Tables) -> Words:
    """Two numbers of which one is a year: 1998/99, the number of a file, a month; else ()."""
    say = tables.say
    if is_year(left) and (is_year(right) or len(right) == 2):
        return (*say.year(left), *(say.year if len(right) == 4 else say.two_digits)(right))
    if is_year(left):
        return (*say.year(left), *say.amount(right))
    if is_year(right) and right > "1949" and 0 < int(left) < 13 and len(left) < 3:
        return (MONTHS[int(left) - 1], *say.year(right))
    return ()


def _read_topic(pieces: Pieces, i: int, left: str, right: str, tables: Tables) -> Words:
    """Two numbers as what the text is about has them: music, knitting, pressure, odds; else ()."""
    after, low, high = text_after(pieces, i), int(left), int(right)
    fraction = split_fraction(f"{left}/{right}")
    both = tables.say.amount(left), tables.say.amount(right)
    if after == "time" and high in (2, 4, 8, 16):
        return (*both[0], *both[1])
    if after in tables.cues["metric"] and fraction and fraction[2] not in (2, 4, 10):
        return (*both[0], "to", *both[1])
    if tells(pieces, i, tables.cues["pressure"]) and low > high > 30:
        return (*both[0], "over", *both[1])
    if tells(pieces, i, tables.cues["racing"], 2) and len(left + right) < 6:
        return (*both[0], "to", *both[1])
    return ()


def _decide_open_pair(pieces: Pieces, i: int, tables: Tables, date: Reading | None) -> Answer:
    """Two numbers with a slash where nothing beside them tells: listed but for a fraction."""
    piece, say = pieces[i], tables.say
    left, right = plain_digits(piece.text).split("/")
    low, high = int(left), int(right)
    fraction = split_fraction(f"{left}/{right}")
    amounts: Words = (*say.amount(left), *say.amount(right))
    if date:
        other = say.mixed(*fraction) if fraction else amounts
        if _opens_entry(pieces, i) and (say.american or low > 12 or high > 12):
            return say_number(piece, i, date.spoken)
        if say.american and low < 13 and 19 < high < 32:  # 10/24 on a car
            other = (MONTHS[low - 1], *say.short_year(right))
        return say_number(piece, i, date.spoken, (other,), date.note)
    joint: Words = ("out", "of") if low <= high else ("over",)
    joined: Words = (*say.amount(left), *joint, *say.amount(right))
    if fraction and fraction[2] > 19 and fraction[2] not in (32, 64):
        # The 78th of 89 runners.
        return say_number(piece, i, joined, (say.mixed(*fraction),), "a place or a score")
    if fraction:
        return _fraction(pieces, i, tables, None)
    if len(left + right) > 3:
        return say_number(piece, i, piece.spoken, (joined,), "two numbers")
    return say_number(piece, i, piece.spoken)


def _opens_entry(pieces: Pieces, i: int) -> bool:
    """Whether a pair of two digits each opens a line of a calendar: "08/28 Harvest ends"."""
    opens = i == 0 or "\n" in pieces[i - 1].text
    after, text = find_near(pieces, i, 1), pieces[i].text
    named = is_name(text_at(pieces, after)) and after == i + 2
    return (
        opens
        and named
        and re.fullmatch(r"0\d/\d\d|1[0-2]/(?:0[1-9]|1[3-9]|[23]\d)", text) is not None
    )


def _read_date(left: str, right: str, tables: Tables) -> Reading | None:
    if len(left) > 2 or len(right) > 2 or not int(left) or not int(right):
        return None
    return read_short_date(0, left, right, "", tables.say)


def _is_date_span(pieces: Pieces, i: int) -> bool:
    """As in "1/5-1/7": another pair stands over a dash."""
    for step in (-1, 1):
        dash = find_near(pieces, i, step)
        other = find_near(pieces, dash, step) if text_at(pieces, dash) in ("-", "–") else -1
        if other >= 0 and pieces[other].rule == "pair":
            return True
    return False


def decide_chain(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """Three numbers with hyphens or stops: a date, a fertilizer's parts, a bank's sort code, the
    hours, minutes and seconds of a race."""
    piece = pieces[i]
    before, after = text_before(pieces, i).lower(), text_after(pieces, i).lower()
    parts = re.split("[-‐‑.–]", plain_digits(piece.text))
    racing = tells(pieces, i, tables.cues["running"], 2)
    racing = racing or tells(pieces, i, tables.cues["length"], 4)
    if racing and len(parts) == 3 and all(len(part) == 2 for part in parts[1:]):
        timed = map(tables.say.two_digits, parts[1:])
        spoken = tuple(chain(tables.say.amount(parts[0]), *timed))
        dated = ((piece.spoken,), "a time") if piece.note else ((), "")
        return say_number(piece, i, spoken, *dated)
    if "." in piece.text:
        return i + 1, (piece,)
    if before == "code":
        return say_number(piece, i, read_digits("".join(parts)))
    amounts = read_chain(piece.text, tables.say)
    mixed = after in tables.cues["mixture"] or before in tables.cues["mixture"]
    if not piece.note or mixed or len(set(parts)) == 1:
        return say_number(piece, i, amounts)
    return say_number(piece, i, piece.spoken, (*piece.other, amounts), piece.note)


def _weekday_before(pieces: Pieces, k: int) -> bool:
    """As in "Wed. 6/14" or "Friday, 6/14"."""
    for _ in range(2):
        if text_at(pieces, k) not in (",", ".", "("):
            break
        k = find_near(pieces, k, -1)
    return text_at(pieces, k).lower() in DAYS


def _fraction(pieces: Pieces, i: int, tables: Tables, date: Reading | None) -> Answer:
    """A fraction, after a whole number "and a half"; before a unit without its article."""
    piece = pieces[i]
    parts = split_fraction(plain_digits(piece.text)) or (0, 1, 2)
    spoken = tables.say.mixed(*parts)
    k = find_near(pieces, i, -1)
    joined = k == i - 2 and pieces[k].rule == "amount" and len(pieces[k].text) < 4
    following = find_near(pieces, i, 1)
    ends = following < 0 or text_at(pieces, following) in tuple(".,;)")
    other = (date.spoken,) if date and not joined and ends else ()
    if joined:
        spoken = ("and", *spoken)
    tight = following == i + 1 < len(pieces) - 1 and pieces[following].text in tuple("-‐‑")
    following += tight
    unit = unit_at(pieces, following, tables) if following == i + 2 else None
    stopped = text_at(pieces, following) == "in" and has_stop(pieces, following)
    if unit and (unit.loose or tight or stopped):
        plural = text_after(pieces, following)
        packed = plural.islower() and plural.endswith("s") and len(plural) > 3
        tail = unit.several if joined else name_unit(piece.text, unit)
        tail = unit.one if tight or packed else tail
        number = spoken[1:] if tail[0] in ("a", "an") and spoken[0] == "a" else spoken
        middle = tuple(pieces[i + 1 : following])
        stop = has_stop(pieces, following) and text_after(pieces, following + 1)[:1].islower()
        ending = Piece(pieces[following].text + "." * stop, WORD, tail)
        return following + 1 + stop, (Piece(piece.text, NUMBER, number), *middle, ending)
    return say_number(piece, i, spoken, other, "a fraction" if other else "")


def decide_range(pieces: Pieces, i: int, tables: Tables) -> Answer | None:
    """A score where something was won or lost, or where the first number is the higher."""
    piece = pieces[i]
    match = re.fullmatch(r"(\d{1,3})[-‐‑–—](\d{1,3})", plain_digits(piece.text))
    if not match:
        return None
    left, right = match.groups()
    if left == right == "50":
        return say_number(piece, i, ("fifty", "fifty"))
    first, second = tables.say.amount(left), tables.say.amount(right)
    after = text_after(pieces, i)
    unit = match_unit(after, 0, tables)
    spanned = tables.cues["spanned"]
    if after in spanned or text_before(pieces, i).lower() in spanned or (unit and after != "in"):
        return None
    label = text_at(pieces, find_word_before(pieces, i)) or text_before(pieces, i)
    if label.lower() in tables.cues["labelled"]:
        return say_number(
            piece, i, (*first, "dash", *second), (piece.spoken,), "a number of a thing"
        )
    if len(left) == 1 and len(right) == 3 and not re.match(r"\w|[$£€%]", after):  # a statute
        code = (*first, *tables.say.pairs(right))
        return say_number(piece, i, code, (piece.spoken,), "a code")
    if min(int(left), int(right)) < 41 and _is_record(pieces, i, tables):
        return say_number(piece, i, (*first, "and", *second))
    cricket = tables.cues["cricket"]
    bowled = int(left) <= 10 <= int(right)
    if (bowled and _tells_bowling(pieces, i, cricket)) or (
        int(left) > 40 and int(right) <= 10 and (tells(pieces, i, cricket) or after in cricket)
    ):
        return say_number(piece, i, (*first, "for", *second))
    before = text_before(pieces, i)
    timed = len(right) == 2 and right < "60" and after not in tables.cues["counted"]
    if timed and tells(pieces, i, tables.cues["running"], 2):
        return say_number(piece, i, (*first, *tables.say.two_digits(right)))
    rounds = 59 < int(left) < 90 and 59 < int(right) < 90
    if rounds and ((before == "(" and after == ")") or tells(pieces, i, tables.cues["golf"])):
        return say_number(piece, i, (*first, *second))
    odds = right == "1" and before in ("at", "odds", "of") and int(left) > 3
    if odds or (tells(pieces, i, tables.cues["racing"], 2) and before != "Weight"):
        return say_number(piece, i, (*first, "to", *second))
    if before.lower() in DAYS | tables.cues["open"] or after.lower() in DAYS:
        return say_number(piece, i, (*first, "to", *second), (), "hours")
    working = (left, right) == ("9", "5")  # hours of an office
    teams, higher = is_name(before) and is_name(after), int(left) >= int(right) and not working
    told = after.lower() in tables.cues["won after"] or _tells_score(pieces, i, tables)
    told = told or _is_set(pieces, i, left, right) or (teams and higher)
    if not (told or teams or higher):
        return None
    spoken = tables.say.score(left, right)
    other = () if told or right == "0" or spoken == piece.spoken else (piece.spoken,)
    if not (told or teams) and int(left) > 31:
        # Rows, codes, pages: "the 49-5 form" is not a result.
        spoken, other = piece.spoken, (spoken,) if spoken != piece.spoken else ()
        if int(right) > 99 and (left + right)[-2:] != "00" and left != right:
            code = (*read_digits(left), *read_digits(right))
            return say_number(piece, i, code, (spoken,), "a code")
    return i + 1, (Piece(piece.text, NUMBER, spoken, "", other, "a score"),)


def _is_set(pieces: Pieces, i: int, left: str, right: str) -> bool:
    """Whether it is one of several sets of tennis: "6-4, 3-6 7-6"."""
    if max(int(left), int(right)) not in (6, 7):
        return False
    for step in (-1, 1):
        k = find_near(pieces, i, step)
        k = find_near(pieces, k, step) if text_at(pieces, k) in (",", ";") else k
        if k >= 0 and re.fullmatch("[0-7][-–][67]|[67][-–][0-7]", pieces[k].text):
            return True
    return False


def _is_record(pieces: Pieces, i: int, tables: Tables) -> bool:
    """Games won and lost: "the Harbor Gulls (1-2) travel", "improved to 6-1", "8-1 overall"."""
    k = find_near(pieces, i, -1)
    before, after = text_at(pieces, k).lower(), text_after(pieces, i).lower()
    games = tables.cues["games"]
    if after == "overall":
        return True
    if before == "to":
        return not tables.cues["standing"].isdisjoint(_words_before(pieces, k, 3))
    near = find_near(pieces, k, -1) if k >= 0 else -1
    if before == "and" or (before == "," and pieces[near].rule == "range"):
        for back in range(k - 1, max(-1, k - _LOOK), -1):
            if pieces[back].rule == "range":
                return _is_record(pieces, back, tables)
        return False
    if before == "(" and (after == ")" or after in tables.cues["within"]):
        return is_name(text_at(pieces, near)) and tells(pieces, i, games)
    stands = before in ("is", "are", "was", "were", "now", "at", "start", "went", "record")
    return stands and after in tables.cues["within"] and tells(pieces, i, games)


def _words_before(pieces: Pieces, i: int, count: int) -> set[str]:
    words = set[str]()
    for _ in range(count):
        i = find_near(pieces, i, -1)
        words.add(text_at(pieces, i).lower())
    return words


def _tells_bowling(pieces: Pieces, i: int, cricket: frozenset[str]) -> bool:
    """Figures of a bowler at cricket, in a text about wickets: "Noor 3-19" is three for 19."""
    before = text_before(pieces, i)
    named = is_name(before) and not before.isupper()
    return (before in ("of", "took") or named) and tells(pieces, i, cricket)


def _tells_score(pieces: Pieces, i: int, tables: Tables) -> bool:
    for k in range(i - 1, max(-1, i - _LOOK), -1):
        piece = pieces[k]
        if (piece.kind is SPACE and "\n" in piece.text) or piece.text in ".!?;":
            return False
        if piece.kind is WORD and piece.text.lower() in tables.cues["won"]:
            return True
    return False


_VERSE: Final = re.compile(r"(\d{1,3})[:.](\d{1,3})(?:[-–](\d{1,3}))?")


def decide_ratio(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """1:10 is "one to ten", but a verse of the Bible has no "to", nor has a British "2:1"."""
    piece = pieces[i]
    before, after = text_before(pieces, i).lower(), text_after(pieces, i).lower()
    graded = piece.text in ("2:1", "2:2") and before == "a"
    british = not tables.say.american or after in ("in", "degree", "honours", "from")
    graded = graded and british
    if graded and after not in tables.cues["marked"] | tables.cues["mixture"]:
        bare = (piece.spoken[0], piece.spoken[-1])  # the class of a degree
        return say_number(piece, i, bare, (piece.spoken,), "a degree")
    return decide_verse(pieces, i, tables) or (i + 1, (piece,))


def decide_verse(pieces: Pieces, i: int, tables: Tables) -> Answer | None:
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
