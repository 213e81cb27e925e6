"""St., Dr., No., Nov. and the others that depend on what stands beside them."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Final

from drillgen.core.resources import load_frequencies
from drillgen.speech.text.capitals import decide_capitals, read_roman
from drillgen.speech.text.neighbours import (
    DAYS,
    FUNCTION_WORDS,
    MONTH_FORMS,
    ORDINAL,
    STOPS,
    SURE_TOPIC,
    Answer,
    Pieces,
    find_near,
    find_word_before,
    has_digit_before,
    has_stop,
    is_name,
    leads_small_street,
    say_unit,
    skip_stop,
    tells,
    text_after,
    text_at,
    text_before,
)
from drillgen.speech.text.numerals import is_year
from drillgen.speech.text.rows import UNKNOWN_SHORT, Abbreviation, word_set
from drillgen.speech.text.scan import NUMBER, RARE, WORD, Piece, is_vowelless, spell_out
from drillgen.speech.text.tables import Tables
from drillgen.speech.text.thin import is_thin
from drillgen.speech.text.words import name_letters


def decide_abbreviation(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """St., Dr., No., Nov. and the others that depend on what stands beside them."""
    piece = pieces[i]
    if piece.text == "sq":
        k = find_near(pieces, skip_stop(pieces, i), 1)
        unit = tables.units.get(f"sq {text_at(pieces, k)}")
        if unit:
            text = "".join(p.text for p in pieces[i : k + 1])
            return k + 1, (Piece(text, WORD, say_unit(pieces, i, unit)),)
    if piece.text in tables.regions and _is_zipped(pieces, i):
        return decide_capitals(pieces, i, tables)
    for entry in tables.abbreviations[piece.text.lower()]:
        where, _, topic = entry.when.partition("@")
        told = all(_ABBREVIATED[one](pieces, i) for one in where.split("&"))
        if told and (not topic or tells(pieces, i, tables.cues[topic], 2)):
            end, (short, *rest) = _merge_stop(pieces, i, entry)
            if topic and not short.other and not tells(pieces, i, tables.cues[topic], SURE_TOPIC):
                note = f"short for {short.spoken[0]}"
                short = short._replace(other=(piece.spoken,), note=note)
            return end, (short, *rest)
    if piece.text.isupper() and len(piece.text) > 1:
        return decide_capitals(pieces, i, tables)
    if piece.text == "pt" and is_thin(pieces, i) and not has_digit_before(pieces, i):
        return i + 1, (piece._replace(note=UNKNOWN_SHORT),)
    if piece.text == "pt":
        return i + 1, (piece._replace(spoken=say_unit(pieces, i, tables.units["pt"])),)
    if piece.text.islower() and is_vowelless(piece.text):
        unit = tables.units.get(piece.text)
        if unit:
            return i + 1, (Piece(piece.text, WORD, say_unit(pieces, i, unit)),)
        if piece.text not in ("jr", "sr", "mr", "dr"):
            note = "" if piece.text in tables.acronyms else UNKNOWN_SHORT
            return i + 1, (Piece(piece.text, WORD, name_letters(piece.text), "", (), note),)
    return i + 1, (piece,)


_COMMON: Final = 5.0
_RARE: Final = 3.3
"""Zipf frequencies of words that are no abbreviations among short forms, and among words."""


_CHAINED: Final = 4.6
"""Zipf frequency of words that are short forms beside another one with its stop."""


def _is_in_chain(pieces: Pieces, i: int) -> bool:
    """Whether a short form with its stop stands beside another one: "Par. Corr. Facility"."""
    if not has_stop(pieces, i) or not pieces[i].text[0].isupper():
        return False
    before, after = pieces[max(0, i - 3) : i], pieces[i + 2 : i + 5]
    rows = [[piece.text for piece in row] for row in (before, after[:3])]
    for row, start in zip(rows, (0, 1), strict=True):
        if len(row) == 3 and row[(start + 2) % 3] == " " and row[(start + 1) % 3] == ".":
            short = row[start]
            if short[:1].isupper() and short.isalpha() and len(short) < 7:
                return load_frequencies().get(short.lower(), 0.0) < _CHAINED
    return False


_OPENING: Final = re.compile("[A-Z](?:[a-z'’].*)?")
"""A word with a capital may open a sentence; capitals and codes don't."""


def decide_short(pieces: Pieces, i: int, _tables: Tables) -> Answer:
    """A short rare word whose stop ends no sentence ("bur. at", "alt. 61"), or among short forms
    ("fam 91"): an abbreviation."""
    piece, limit = pieces[i], 0.0
    how_common = load_frequencies().get(piece.text.lower(), 0.0)
    short = how_common < (RARE if len(piece.text) < 5 else 1.0)
    if short and any(p.kind is NUMBER for p in pieces[max(0, i - 4) : i + 5]):
        limit = RARE if is_thin(pieces, i, 3) else 0.0
    after = text_at(pieces, i + 3) if has_stop(pieces, i) and i + 3 < len(pieces) else "A"
    if not _OPENING.fullmatch(after) and how_common < _COMMON and pieces[i + 2].text == " ":
        rare = _RARE if after[0].islower() else 4.0 if piece.text.islower() else 3.5
        plain = after[0].islower() or after[0].isdecimal()
        limit = _COMMON if is_thin(pieces, i) else rare if plain else limit
    if _is_in_chain(pieces, i):
        limit = max(limit, _CHAINED)
    return i + 1, (piece._replace(note=UNKNOWN_SHORT) if how_common < limit else piece,)


def _merge_stop(pieces: Pieces, i: int, entry: Abbreviation) -> Answer:
    stop = has_stop(pieces, i)
    return i + 1 + stop, (spell_out(pieces[i].text + "." * stop, entry),)


def _after_stop(pieces: Pieces, i: int) -> str:
    """The text after an abbreviation and its stop."""
    return text_at(pieces, find_near(pieces, skip_stop(pieces, i), 1))


def _is_before_day(pieces: Pieces, i: int) -> bool:
    """As in "b. 3 May 1932"."""
    day = find_near(pieces, i + 1, 1) if has_stop(pieces, i) else -1
    return text_at(pieces, day).isdecimal() and text_after(pieces, day).lower() in MONTH_FORMS


def _is_about(pieces: Pieces, i: int) -> bool:
    """As in "back c. 4.30pm"."""
    after = text_at(pieces, find_near(pieces, i + 1, 1)) if has_stop(pieces, i) else ""
    return pieces[i].text == "c" and after[:1].isdecimal() and not has_digit_before(pieces, i)


def _is_before_name(pieces: Pieces, i: int) -> bool:
    """As in "Dr. Reed", "the Dr. said"; but not "on Ocean Dr. She"."""
    piece = pieces[i]
    if not piece.text[0].isupper():
        return False
    k = find_word_before(pieces, i)
    before = text_at(pieces, k)
    street = k >= 0 and is_name(before) and _HOUSE.fullmatch(text_before(pieces, k)) is not None
    following = find_near(pieces, skip_stop(pieces, i), 1)
    after = text_at(pieces, following)
    name = is_name(after) or (after == "A" and piece.text == "Dr")
    if following >= 0 and name and pieces[following].kind is WORD and not street:
        return True
    doctor = piece.text.title() in ("Dr", "Rev", "Capt", "Gen", "Col", "Sgt", "Gov", "Sen")
    person = not is_name(before) or before.lower() in _GREETING
    return doctor and has_stop(pieces, i) and person


def _is_after_name(pieces: Pieces, i: int) -> bool:
    """As in "Mill St." or "Ocean Dr"."""
    piece = pieces[i]
    before = text_before(pieces, i)
    if not piece.text[0].isupper():
        return False
    if before == ".":
        before = text_at(pieces, find_word_before(pieces, i))
    if piece.text.lower() == "dr" and before.lower() in _GREETING:
        return False
    return is_name(before) or ORDINAL.fullmatch(before) is not None


_HOUSE: Final = re.compile(r"[\d/]+[A-Da-d]?")
_GREETING: Final = word_set("job thanks thank hi hello dear hey yes no okay please bye sorry good")


def _is_before_verse(pieces: Pieces, i: int) -> bool:
    """As in "Rom. 5:6"."""
    following = find_near(pieces, skip_stop(pieces, i), 1)
    verse = re.fullmatch(r"\d{1,3}\.\d{1,3}(?:[-–]\d{1,3})?", text_at(pieces, following))
    told = following >= 0 and pieces[following].rule in ("ratio", "clock", "small roman")
    if text_at(pieces, following) in tuple("ivxl") and has_stop(pieces, following):
        told = text_after(pieces, following + 1)[:1].isdecimal()  # Jas. i. 5
    return bool(verse) or told


def _is_before_year(pieces: Pieces, i: int) -> bool:
    """As in "c. 1850" and "(b. 1954)"."""
    following = find_near(pieces, i + 1, 1) if has_stop(pieces, i) else -1
    dated = is_year(text_at(pieces, following)) or _is_before_day(pieces, i)
    return pieces[i].text.islower() and dated


def _is_state(pieces: Pieces, i: int) -> bool:
    """As in "Flagstaff, Ariz.": with a stop, after a place and a comma."""
    comma = find_near(pieces, i, -1)
    place = text_before(pieces, comma) if text_at(pieces, comma) == "," else ""
    return pieces[i].text[0].isupper() and has_stop(pieces, i) and is_name(place)


_VERBS: Final = word_set(
    "like love rather prefer say be have never hate want think suggest recommend also probably "
    "definitely still just really go do give get take need better appreciate expect imagine"
)


def _is_after_person(pieces: Pieces, i: int) -> bool:
    """As in "John Reed Jr." or "John Reed, Jr."."""
    k = find_near(pieces, i, -1)
    if text_at(pieces, k) == ",":
        k = find_near(pieces, k, -1)
    return pieces[i].text[0].isupper() and is_name(text_at(pieces, k))


def _is_before_number(pieces: Pieces, i: int) -> bool:
    """As in "No. 5" or "p. 7"; the stop may be missing only before a digit: "No 5", "Fig 2"."""
    following = find_near(pieces, skip_stop(pieces, i), 1)
    if text_at(pieces, following) == ":" and pieces[i].text in ("No", "no", "Tel", "tel"):
        following = find_near(pieces, following, 1)
        return text_at(pieces, following)[:1] in tuple("0123456789+(")
    if following >= 0 and _is_coded(pieces, i, following):
        return True
    if following < 0 or pieces[following].kind is not NUMBER:
        roman = pieces[following].rule in ("capitals", "letter", "small roman")
        roman = roman and following >= 0 and read_roman(pieces[following].text.upper()) > 0
        return roman and has_stop(pieces, i) and pieces[i].text.lower() != "no"
    if not pieces[following].text[0].isdecimal():
        return False
    if pieces[i].text.lower() in ("no", "art", "ed", "ex") and not has_stop(pieces, i):
        before = text_before(pieces, i)
        return pieces[i].text == "No" and bool(before) and before[-1:] not in STOPS
    return has_stop(pieces, i) or pieces[i].text.lower() != "sec"


def _is_coded(pieces: Pieces, i: int, following: int) -> bool:
    """As in "Policy no. HM/0048" and "Rm B14"."""
    text, code = pieces[i].text.lower(), pieces[following].text
    if text == "no" and has_stop(pieces, i):
        code += text_after(pieces, following) if re.fullmatch("[A-Z]{1,3}", code) else ""
        return re.fullmatch(r"[A-Z]{1,5}[-/]?(?:\d.*)?", code) is not None and not code.isalpha()
    return text in ("rm", "apt") and pieces[following].kind is NUMBER


_DATED: Final = word_set("on by every each this next last until till from since before after")


def _is_listed(pieces: Pieces, i: int, forms: frozenset[str]) -> bool:
    """Whether another of the forms stands beside it, over a comma or "and"."""
    for step in (-1, 1):
        k = i
        for _ in range(4):
            k = find_near(pieces, k, step)
            text = text_at(pieces, k)
            if text[:1].isupper() and text.lower() in forms:
                return True
            if text not in (",", "and", "or", "to", "thru", "through", "&", "/", "-", "–", "."):
                break
    return False


def _is_inside(pieces: Pieces, i: int) -> bool:
    """With its stop inside a sentence: "max. load", but not "to the max. Then"."""
    after = text_at(pieces, find_near(pieces, i + 1, 1))
    return has_stop(pieces, i) and (after[:1].islower() or after[:1].isdecimal())


def _is_month(pieces: Pieces, i: int) -> bool:
    """As in "25 Nov", "Nov. 25" or "Nov 2026"."""
    before = find_near(pieces, i, -1)
    if not pieces[i].text[0].isupper() or text_at(pieces, before)[-1:] == "%":  # 5% APR
        return False
    following = find_near(pieces, skip_stop(pieces, i), 1)
    rate = text_at(pieces, following) + text_after(pieces, following)
    if pieces[i].text == "APR" and "%" in rate:
        return False
    for k in (following, before):
        if k >= 0 and pieces[k].kind is NUMBER and pieces[k].text[:1].isdecimal():
            return True
    if text_at(pieces, before).lower() in (*DAYS, ",") and has_stop(pieces, i):
        return True
    if _is_listed(pieces, i, MONTH_FORMS):
        return True
    if text_at(pieces, before).lower() in ("in", "since", "by", "until", "till", "next", "last"):
        return True
    return has_stop(pieces, i) and pieces[i].text not in ("Mar", "Jun", "Jan", "Dec")


def _is_day(pieces: Pieces, i: int) -> bool:
    """As in "Mon. 5 May", "Fri 3pm" or "Mon.–Fri."; "Sat" and "Sun" need more than a stop."""
    if pieces[i].text in ("Tues", "Thurs", "Weds", "Thur"):
        return True
    skip = skip_stop(pieces, i)
    following = find_near(pieces, skip, 1)
    after = text_at(pieces, following)
    if not pieces[i].text[0].isupper():
        return after[:1].isdecimal() and pieces[i].text in ("tues", "weds", "thur", "thurs")
    if after == ":" and text_after(pieces, following)[:1].isdecimal():
        return True
    if after == ",":
        after = text_after(pieces, following)
    dashed = after[:1] in tuple("-–—&/")
    if dashed:
        after = text_after(pieces, following)
        if after.lower() in ("noon", "closed", "midnight"):
            return True
    before = text_before(pieces, i)
    if before[:1] in tuple("-–—&/"):
        before = text_before(pieces, find_near(pieces, i, -1))
    if after.lower() in (DAYS | MONTH_FORMS) and (dashed or after[:1].isupper()):
        return True
    if before.lower().rstrip(".") in DAYS or _is_listed(pieces, i, DAYS):
        return True
    number = find_near(pieces, i, -1)
    timed = number >= 0 and pieces[number].kind is NUMBER
    if has_stop(pieces, i) and (before.lower() in _DATED or timed):
        return True
    timed = following >= 0 and pieces[following].rule in ("hour", "clock")
    if after[:1].isdecimal() and (timed or pieces[i].text not in ("Sun", "Sat", "Wed")):
        return True
    dated = dashed or has_stop(pieces, i) or after[-2:] in ("st", "nd", "rd", "th")
    if after[:1].isdecimal() and dated and before.lower() != "the":
        return True
    if after[:1].isdecimal() and before.lower() in ("", "on", "every", "this", "next", "last"):
        return True
    return has_stop(pieces, i) and pieces[i].text not in ("Sun", "Sat", "Wed", "Mon")


def _is_zipped(pieces: Pieces, i: int) -> bool:
    """Before a postal code: "dallas tx 75207"."""
    k = find_near(pieces, i, 1)
    if text_at(pieces, k) == ",":
        k = find_near(pieces, k, 1)
    code = re.fullmatch(r"\d{5}(?:-\d{4})?", text_at(pieces, k))
    if pieces[i].text.islower() and text_after(pieces, k)[:1].islower():
        return False  # a department or a degree, and an address after it
    return code is not None and not text_at(pieces, k).endswith("00")


def _is_bracketed(pieces: Pieces, i: int) -> bool:
    """With its stop in brackets that hold short forms alone: "(Zool.)", "[Obs. or Prov. Eng.]"."""
    for step, ends in ((-1, tuple("([")), (1, tuple(")]"))):
        k = i
        for _ in range(10):
            k += step
            if not 0 <= k < len(pieces):
                return False
            text = pieces[k].text
            if text in ends:
                break
            if not re.fullmatch(r"[A-Z][a-z]{0,8}|[.,& ]|or|and", text):
                return False
        else:
            return False
    return has_stop(pieces, i)


def _is_housed(pieces: Pieces, i: int) -> bool:
    """In small letters behind a house's number and one to three words: "500 mill st"."""
    k = i
    for words in range(4):
        k = find_near(pieces, k, -1)
        text = text_at(pieces, k)
        if words and re.fullmatch(r"\d{1,5}", text):
            return pieces[i].text.islower()
        if words and text.lower() in _WAYS:
            return False  # 465 mill lane salem ct
        if not (text.isalpha() or ORDINAL.fullmatch(text)):
            return False
        if text.lower() in FUNCTION_WORDS:
            return False
    return False


_CITED: Final = re.compile(r"\d{1,4}(?:[a-z]{1,2})?|[A-Z][A-Za-z]{0,6}|\.|,|-|\(|(?:[A-Z]\.)+")


def _is_cited(pieces: Pieces, i: int) -> bool:
    """Among the short forms of a law report's citation: "139 S. Ct. 1715", "66 L. Rev. 71"."""
    for step in (-1, 1):
        k = i
        for _ in range(10):
            k = find_near(pieces, k, step)
            text = text_at(pieces, k)
            if text.isdecimal():
                break
            if not _CITED.fullmatch(text) or text in (",", "("):
                return False
        else:
            return False
    return has_stop(pieces, i)


def _is_in_firm(pieces: Pieces, i: int) -> bool:
    """With its stop inside a name: "Harbor Mut. Ins. Co."."""
    k = find_near(pieces, i, -1)
    before = text_at(pieces, k - 1 if text_at(pieces, k) == "." else k)
    return has_stop(pieces, i) and is_name(before) and is_name(_after_stop(pieces, i))


def _is_code(pieces: Pieces, i: int) -> bool:
    """Before the sign of a section, with no more than short forms between: "Fla. Stat. § 9"."""
    near = [piece.text for piece in pieces[i : i + 16]]
    return has_stop(pieces, i) and "§" in "".join(near)


def _is_court(pieces: Pieces, i: int) -> bool:
    """A state before a year, a month or a court in brackets: "(Pa. 1992)", "(Cal. App. 1998)"."""
    opened = i > 0 and pieces[i - 1].text in tuple("([")
    after = text_at(pieces, find_near(pieces, skip_stop(pieces, i), 1))
    told = after.lower() in MONTH_FORMS or after in ("App", "Super", "Ct", "Sup")
    coded = after in ("Stat", "Code", "Const", "Admin", "Gen", "Rev") and _is_code(pieces, i)
    coded = coded or _is_cited(pieces, i)
    told = told or is_year(after) or after == ")"
    return coded or (opened and told and has_stop(pieces, i))


_JOBS: Final = word_set(
    "vp manager mgr director dir analyst engineer developer designer accountant consultant "
    "associate editor producer lecturer architect programmer scientist technician officer exec"
)


def _is_sense(pieces: Pieces, i: int) -> bool:
    """The part of speech of a dictionary's entry: "1. n. The call", "foo, n. [Scot.]"."""
    before, after = text_before(pieces, i), _after_stop(pieces, i)
    opens = before in ("", ".", ",", ")", "]", "/") or before.isdecimal()
    return has_stop(pieces, i) and opens and (after[:1].isupper() or after in tuple("[("))


_HIGHER: Final = word_set("lt lieut lieutenant maj major brig brigadier rear vice")
_EACH: Final = word_set("each ea every per this last next past")

_REFERRED: Final = word_set(
    "ref order acct account invoice policy serial room flat tel phone case"
)


def _is_posted(pieces: Pieces, i: int) -> bool:
    """An Australian state before its postcode of four digits: "Perth, WA, 6000"."""
    k = find_near(pieces, i, 1)
    if text_at(pieces, k) == ",":
        k = find_near(pieces, k, 1)
    code = text_at(pieces, k)
    return pieces[i].text[0].isupper() and re.fullmatch(r"[02-9]\d{3}", code) is not None


_WAYS: Final = word_set(
    "street avenue ave road rd drive lane ln boulevard blvd parkway pkwy circle trace trail "
    "trl way terrace court place highway hwy loop path run walk square plaza north south east west"
)


def _is_at_house(pieces: Pieces, i: int) -> bool:
    """St behind a house's number and the names of a street: "12 Meadow Glen St Marion IA",
    "161 N. Mill St. Ste 9", "732 16th St NW"."""
    k = i
    for words in range(6):
        k = find_near(pieces, k, -1)
        text = text_at(pieces, k)
        if not words and pieces[i].text.lower() == "st" and text.lower() in _WAYS:
            return False  # Mill Trace St. Simons Island
        if words and re.fullmatch(r"\d{2,5}", text):
            return True
        named = is_name(text) and pieces[k].kind is WORD
        if not (named or text == "." or ORDINAL.fullmatch(text)):
            return False
    return False


_ABBREVIATED: Final[dict[str, Callable[[Pieces, int], bool]]] = {
    "stop": has_stop,
    "inside": _is_inside,
    "name": _is_before_name,
    "street": _is_after_name,
    "verse": _is_before_verse,
    "about": _is_about,
    "counted": has_digit_before,
    "alone": lambda pieces, i: not has_digit_before(pieces, i),
    "letter": lambda pieces, i: _after_stop(pieces, i) in tuple("XYZ"),  # Gen Z
    "between": lambda pieces, i: (  # R v Reed, Town Corp. v. Reed
        is_name(text_at(pieces, find_word_before(pieces, i))) and is_name(_after_stop(pieces, i))
    ),
    "lettered": lambda pieces, i: (  # Ste B
        len(_after_stop(pieces, i)) == 1 and _after_stop(pieces, i).isalpha()
    ),
    "dated": lambda pieces, i: is_year(_after_stop(pieces, i)),  # Est 1912
    "rate": lambda pieces, i: text_before(pieces, i).lower() in ("/", "per"),  # $900/mo
    "money": lambda pieces, i: pieces[find_near(pieces, i, -1)].rule == "money",  # £650 pcm
    "year": _is_before_year,
    "state": _is_state,
    "always": lambda _pieces, _i: True,
    "lower": lambda pieces, i: not (pieces[i].text.isupper() and len(pieces[i].text) > 1),
    "verb": lambda pieces, i: (  # id like to
        pieces[i].text.islower() and text_after(pieces, i).lower() in _VERBS
    ),
    "ordinal": lambda pieces, i: pieces[find_near(pieces, i, -1)].rule == "ordinal",
    "capital": lambda pieces, i: (  # Reed (Lab), Con gain, but not Comic Con
        pieces[i].text[0].isupper()
        and (not is_name(text_before(pieces, i)) or text_after(pieces, i)[:1].isdecimal())
    ),
    "chat": lambda pieces, i: pieces[i].text.islower() and not has_digit_before(pieces, i),
    "after": _is_after_person,
    "upper": lambda pieces, i: pieces[i].text.isupper() and len(pieces[i].text) > 1,
    "zip": _is_zipped,
    "bracketed": _is_bracketed,
    "housed": _is_housed,
    "cited": _is_cited,
    "court": _is_court,
    "firm": _is_in_firm,
    "code": _is_code,
    "lot": _is_at_house,
    "zip4": _is_posted,
    "paired": lambda pieces, i: _after_stop(pieces, i) in ("&", "and"),  # Dr & Mrs
    "referred": lambda pieces, i: (  # ref no 48
        text_before(pieces, i).lower() in _REFERRED and text_after(pieces, i)[:1].isdecimal()
    ),
    "sense": _is_sense,
    "headed": lambda pieces, i: leads_small_street(pieces, i, find_near(pieces, i, -1)),
    "job": lambda pieces, i: (  # Sr. VP
        _after_stop(pieces, i).lower() in _JOBS and pieces[i].text[0].isupper()
    ),
    "ranked": lambda pieces, i: (  # Lt. Col. in the army
        text_at(pieces, find_word_before(pieces, i)).lower().rstrip(".") in _HIGHER
    ),
    "epistle": lambda pieces, i: (  # 1 Cor. 13
        text_before(pieces, i) in ("1", "2", "3", "I", "II", "III")
        and _after_stop(pieces, i).isdecimal()
    ),
    "each": lambda pieces, i: (  # 2nd Thu. of ea. mo.
        text_at(pieces, find_word_before(pieces, i)).lower().rstrip(".") in _EACH
    ),
    "number": _is_before_number,
    "month": _is_month,
    "day": _is_day,
}
