"""Forms in capitals: acronyms, shouting, Roman numerals, initials, the letter A."""

from __future__ import annotations

import re
from typing import Final

from drillgen.speech.text.codes import DIRECTIONS, read_direction
from drillgen.speech.text.neighbours import (
    ERAS,
    EXERCISE,
    FAR,
    FUNCTION_WORDS,
    LETTERED,
    NUMBERED,
    ORDINAL,
    Answer,
    Pieces,
    find_near,
    has_digit_before,
    has_stop,
    is_name,
    is_shouted,
    say_number,
    tells,
    text_after,
    text_at,
    text_before,
)
from drillgen.speech.text.numerals import plain_digits
from drillgen.speech.text.rows import Words, word_set
from drillgen.speech.text.scan import NUMBER, SPACE, WORD, Piece, read_capitals
from drillgen.speech.text.tables import Tables
from drillgen.speech.text.words import fold_accents, name_letters

_DEGREES: Final = frozenset({"MA", "MD", "PA", "BA", "PR"})
_TITLES: Final = word_set("mr mrs ms miss mx dr cllr sir dame prof revd rev councillor professor")
_SYLLABLE: Final = re.compile("[^aeiou]{1,2}[aeiou][^aeiou]{1,2}(?<=....)")
"""Letters that could be said as one syllable: CMOS, FERC."""


_ROMAN: Final = re.compile("M{0,3}(?:CM|CD|D?C{0,3})(?:XC|XL|L?X{0,3})(?:IX|IV|V?I{0,3})")

_ROMAN_VALUES: Final = {"I": 1, "V": 5, "X": 10, "L": 50, "C": 100, "D": 500, "M": 1000}


def decide_capitals(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """BBC, NASA, STOP, Henry VIII, EUR 20: a form in capitals."""
    piece = pieces[i]
    form, lower = piece.text, fold_accents(piece.text).lower()
    if lower.endswith("s") and not form[-1].isupper():
        return _decide_owner(pieces, i, tables)
    if not lower.isascii():
        return i + 1, (piece,)
    following = find_near(pieces, i, 1)
    if form in tables.currencies and following == i + 2:
        amount = pieces[following]
        if amount.rule == "amount" and amount.text[0].isdecimal():
            text = form + pieces[i + 1].text + amount.text
            spoken = tables.say.money(amount.text, "", tables.currencies[form])
            return following + 1, (Piece(text, NUMBER, spoken),)
    direction = read_direction(pieces, i, tables.cues)
    if direction:
        return i + 1, (Piece(form, WORD, direction),)
    k = find_near(pieces, i, -1)
    if form == "DO" and text_at(pieces, k) == "," and _is_person(pieces, k):
        return i + 1, (Piece(form, WORD, name_letters(form)),)  # a degree
    if len(form) > 3 and text_before(pieces, i).lower() in _TITLES and form.isalpha():
        return i + 1, (Piece(form, WORD, (lower,)),)  # Ms NNAMDI
    if form in tables.regions:
        region = _decide_region(pieces, i, tables)
        if region:
            return i + 1, (region,)
    roman = read_roman(form)
    if roman:
        answer = _decide_roman(pieces, i, roman, tables)
        if answer:
            return answer
    counted = following >= 0 and pieces[following].rule == "amount"
    if form in ERAS and (counted or has_digit_before(pieces, i)):
        return i + 1, (Piece(form, WORD, tuple(ERAS[form].split())),)
    acronym = tables.acronyms.get(lower)
    if acronym and acronym.reading == "noun":
        before = text_before(pieces, i).lower()
        spelled = before in ("the", "an", "our", "your", "their", "in", "from", "of", "and")
        if spelled and not is_shouted(pieces, i):
            return i + 1, (Piece(form, WORD, name_letters(lower)),)
        return i + 1, (Piece(form, WORD, (lower,)),)
    half = lower in ("am", "pm") and text_before(pieces, i).lower() != "i"
    if half and (has_digit_before(pieces, i) or not is_shouted(pieces, i)):
        return i + 1, (Piece(form, WORD, name_letters(lower)),)
    spoken = read_capitals(lower, tables, is_shouted(pieces, i))
    if not acronym and len(spoken) > 1 and _SYLLABLE.fullmatch(lower):
        return i + 1, (Piece(form, WORD, spoken, "", ((lower,),), "letters"),)
    return i + 1, (Piece(form, WORD, spoken),)


def _decide_owner(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """ "Louis XIV's": a Roman numeral with a possessive's ending; else the piece as it is."""
    piece = pieces[i]
    bare = [*pieces[:i], piece._replace(text=piece.text[:-2]), *pieces[i + 1 :]]
    answer = _decide_roman(bare, i, read_roman(piece.text[:-2]), tables)
    if answer:
        spoken = answer[1][0].spoken
        piece = Piece(piece.text, NUMBER, (*spoken[:-1], spoken[-1] + "'s"))
    return i + 1, (piece,)


def _decide_region(pieces: Pieces, i: int, tables: Tables) -> Piece | None:
    """A state's code after a place, or before its postal code; None for any other use."""
    form = pieces[i].text
    spoken, where = tables.regions[form]
    following = find_near(pieces, i, 1)
    code = plain_digits(text_at(pieces, following))
    if following == i + 2 and re.fullmatch(r"\d{5}(-\d{4})?", code):
        return Piece(form, WORD, spoken, "", (), "a state")
    k = find_near(pieces, i, -1)
    before = text_at(pieces, k)
    comma = before == ","
    if comma:
        k = find_near(pieces, k, -1)
        before = text_at(pieces, k)
    place = k >= 0 and pieces[k].kind is WORD and is_name(before) and not before.isupper()
    town = place and text_before(pieces, k) in (",", "in", "near")  # in Auburn MA, 1926
    town = town and text_at(pieces, following) in ("", ",", ".")
    if not (comma or where or town):
        return None
    if not place:
        inside = where == "any" or (where and before.lower() in tables.cues["placing"])
        inside = inside and not comma and not is_shouted(pieces, i)
        return Piece(form, WORD, spoken, "", (), "a state") if inside else None
    first = k
    while (near := find_near(pieces, first, -1)) >= 0 and is_name(text_at(pieces, near)):
        first = near
    lead = text_before(pieces, first).lower()
    # After a name of two words a degree is as likely: "Ada Reed, MD", "Silver Spring, MD".
    degree = form in _DEGREES and lead not in tables.cues["placing"]
    if degree and comma and lead == ".":  # Ann P. Reed, MD
        return Piece(form, WORD, name_letters(form))
    if degree and first < k and before.lower() not in tables.cues["place name"]:
        return Piece(form, WORD, name_letters(form), "", (spoken,), "a degree")
    return Piece(form, WORD, spoken, "", (name_letters(form),) if degree else (), "a state")


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


def _decide_roman(pieces: Pieces, i: int, value: int, tables: Tables) -> Answer | None:
    """A Roman numeral after a king ("the eighth"), a chapter ("four") or alone; or None."""
    form = pieces[i].text
    k = find_near(pieces, i, -1)
    before = text_at(pieces, k)
    lower = before.lower()
    ruler = text_before(pieces, k) if k >= 0 else ""
    if (lower, form) == ("malcolm", "X"):
        return None
    regnal = lower in tables.cues["regnal"] or ruler.lower() in tables.cues["ruler"]
    if before[:1].isupper() and regnal:
        return i + 1, (Piece(form, NUMBER, ("the", *tables.say.integer(value, "ordinal"))),)
    if lower in NUMBERED and (len(form) > 1 or lower not in LETTERED or form == "I"):
        return i + 1, (Piece(form, NUMBER, tables.say.integer(value)),)
    comma = text_at(pieces, i - 2) == "," if i > 1 else False
    if comma and value < 7 and lower == "," and _is_person(pieces, k):
        return i + 1, (Piece(form, NUMBER, ("the", *tables.say.integer(value, "ordinal"))),)
    if len(form) < 2 or form in ("CD", "DC", "MC", "CV", "XL", "MD", "DI", "MI", "CC", "MM"):
        return None
    dripping = re.fullmatch(r"drip|line|fluids|#[12]\d", text_after(pieces, i))
    if form == "IV" and (lower in ("an", "on") or dripping):
        return i + 1, (Piece(form, WORD, name_letters("iv")),)
    numbered = text_after(pieces, i)[:1].isdecimal()
    if 40 <= value < 1000 and (numbered or not is_name(before)):
        return None
    if value < 40 or len(form) > 3:
        spoken = tables.say.year(str(value)) if value > 999 else tables.say.integer(value)
        named = is_name(ruler) or ruler in ("of", "under", "by")
        if value < 6 and is_name(before) and lower not in NUMBERED and _is_titled(pieces, k):
            # Ann D. Reed III, Dr. Ann Reed III
            return i + 1, (Piece(form, NUMBER, ("the", *tables.say.integer(value, "ordinal"))),)
        if value < 5 and is_name(before) and named and lower not in NUMBERED:
            # "William Hall III" or "Water Accord II".
            other = ("the", *tables.say.integer(value, "ordinal"))
            return i + 1, (Piece(form, NUMBER, spoken, "", (other,), "a number"),)
        return i + 1, (Piece(form, NUMBER, spoken),)
    return None


def _is_titled(pieces: Pieces, k: int) -> bool:
    """Whether a title or an initial stands before the names that end at a place."""
    for _ in range(4):
        k = find_near(pieces, k, -1)
        text = text_at(pieces, k)
        if text == ".":
            before = text_before(pieces, k)
            return len(before) == 1 or before.lower() in _TITLES
        if text.lower() in _TITLES:
            return True
        if not is_name(text):
            break
    return False


def _is_person(pieces: Pieces, comma: int) -> bool:
    """Whether a name of two words stands before a comma: "Ben Reed, IV"."""
    k = find_near(pieces, comma, -1)
    before = text_before(pieces, k)
    if text_at(pieces, k) == ".":  # Ann L., III
        return len(before) == 1 and is_name(text_before(pieces, find_near(pieces, k, -1)))
    return is_name(text_at(pieces, k)) and (is_name(before) or before == ".")


_PAGED: Final = NUMBERED | word_set("pages p pp vol vols ch chap fig pt bk sc ps chapters pls")


def decide_small_roman(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """ii, iv and the like in small letters: after "page" or in brackets."""
    piece = pieces[i]
    bracketed = _stop_or_bracket(pieces, i)
    k = find_near(pieces, i, -1)
    while k > 0 and (pieces[k].text in tuple("-–.") or pieces[k].rule == "small roman"):
        k = find_near(pieces, k, -1)
    spoken = tables.say.integer(read_roman(piece.text.upper()))
    book = text_at(pieces, k).lower() in tables.cues["bible book"] and is_name(text_at(pieces, k))
    if text_at(pieces, k).lower() in _PAGED or bracketed or book:
        return i + 1, (Piece(piece.text, NUMBER, spoken),)
    if len(piece.text) > 2:  # never a word
        ordinal = ("the", *tables.say.integer(read_roman(piece.text.upper()), "ordinal"))
        ends = text_after(pieces, i) in ("", ",") and text_at(pieces, k).isalpha()
        spoken, other = (ordinal, spoken) if ends else (spoken, ordinal)
        return say_number(piece, i, spoken, (other,), "a number")
    return i + 1, (piece,)


def _stop_or_bracket(pieces: Pieces, i: int) -> bool:
    """Whether it is "(ii)", or "ii)" or "ii." at the start of a line."""
    after = text_at(pieces, i + 1) if i + 1 < len(pieces) else ""
    if i and pieces[i - 1].text == "(":
        return after == ")"
    opens = i == 0 or (pieces[i - 1].kind is SPACE and "\n" in pieces[i - 1].text)
    return opens and after in (")", ".")


def decide_letter(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """I, V and X alone: the pronoun, a letter, or a Roman numeral; N before a street: north."""
    # Mostly the pronoun: be quick.
    piece = pieces[i]
    if piece.text == "X" and find_near(pieces, i, -1) == i - 2:
        times = decide_times(pieces, i, tables)
        if times[1][0].spoken != piece.spoken:
            return times
    if piece.text in "NSEW":
        direction = read_direction(pieces, i, tables.cues)
        return i + 1, (piece._replace(spoken=direction) if direction else piece,)
    k = i - 2
    before = pieces[k].text if k >= 0 else ""
    if piece.text == "V" and before == "," and _is_person(pieces, k):
        return say_number(piece, i, ("the", "fifth"))  # Ben Reed, V
    lower = before.lower()
    named = lower in NUMBERED or before[:1].isupper()
    if named and pieces[k].kind is WORD and pieces[k + 1].kind is SPACE:
        ruler, after = text_before(pieces, k).lower(), text_after(pieces, i)
        regnal = lower in tables.cues["regnal"] or ruler in tables.cues["ruler"]
        regnal = regnal and before[:1].isupper()
        free = not after[:1].isalpha() or after in tables.cues["after numeral"]
        free = free or piece.text != "I"
        numbered = lower in NUMBERED and (piece.text == "I" or lower not in LETTERED)
        if free and (regnal or numbered):
            answer = _decide_roman(pieces, i, read_roman(piece.text), tables)
            if answer:
                return answer
        if (regnal or numbered) and before[:1].isupper() and piece.text == "I":
            return i + 1, (piece._replace(other=(("one",),), note="the pronoun"),)
    return i + 1, (piece,)


_PACKED: Final = re.compile(r"[\d.]+ ?(?:g|kg|ml|l|oz|lb|cl|mg)(?!\w)")


def decide_times(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """An x between two numbers: 3 x 4, 12'2" x 10', 2 x 400g tins."""
    piece = pieces[i]
    following = find_near(pieces, i, 1)
    # A unit and its stop may stand between.
    k = next((k for k in range(i - 1, max(-1, i - 6), -1) if pieces[k].kind is NUMBER), -1)
    if k == i - 2 and pieces[k].text.isdecimal() and text_at(pieces, following).isalpha():
        return i + 1, (Piece(piece.text, NUMBER),)  # 1 x burger
    if k < 0 or following < 0:
        return i + 1, (piece,)
    if pieces[following].text[:1] not in _STARTS and pieces[following].rule != "money":
        factor = k == i - 2 and pieces[k].text[0] in "0." and pieces[following].text.islower()
        times = say_number(piece, i, ("times",), (("x.",),), "times")  # 0.129 x olive oil
        return times if factor else (i + 1, (piece,))
    if _is_multiplied(pieces, i, k, following, tables):
        return say_number(piece, i, ("times",), (("by",),), "times")
    end = pieces[following].text + " " + text_after(pieces, following)
    bare = k == i - 2 and pieces[k].text.isdecimal()
    if bare and pieces[following].rule == "inch":  # 5 x 7" or two squares of 7"
        return say_number(piece, i, ("by",), (("times",),), "by")
    if bare and EXERCISE.match(end):
        return say_number(piece, i, ("times",))  # 5 x 2 mins
    packed = pieces[k].text.isdecimal() and _PACKED.match(end) is not None
    return i + 1, (Piece(piece.text, NUMBER, () if packed else ("by",)),)


_STARTS: Final = tuple(".0123456789½¼¾")


def _is_multiplied(pieces: Pieces, i: int, k: int, following: int, tables: Tables) -> bool:
    """Whether money, a part, a bracket or a result stands beside an x, or something counted."""
    unit, second = text_after(pieces, following), pieces[following]
    if re.fullmatch(r"\d+(?:s|secs?|mins?|hrs?)", pieces[k].text):
        return True  # 90s x 6
    counted = any(
        p.text in tuple(")]") or (p.kind is WORD and not _is_length(p.text, tables))
        for p in pieces[k + 1 : i]
    )
    if counted or unit == "=" or second.text[-1] == "%":
        return True
    part = second.text[0] == "." or (k == i - 2 and re.match(r"0?\.\d", pieces[k].text))
    return bool(part) or any(p.rule == "money" for p in pieces[max(0, i - 6) : i + 3])


def _is_length(text: str, tables: Tables) -> bool:
    return text in tables.units or text.lower() in tables.cues["measured"]


def _has_initials(pieces: Pieces, i: int) -> bool:
    """Whether other people near have an initial and a surname: "B Reed, A Hall"."""
    near = range(max(0, i - FAR // 20), min(len(pieces) - 2, i + FAR // 20))
    return any(
        k != i
        and re.fullmatch("[B-HJ-Z]", pieces[k].text) is not None
        and pieces[k + 1].text == " "
        and is_name(pieces[k + 2].text)
        for k in near
    )


def decide_article(pieces: Pieces, i: int, _tables: Tables) -> Answer:
    """A capital A: the article, or the letter's name ("vitamin A", "an A")."""
    k = find_near(pieces, i, -1)
    before = text_at(pieces, find_near(pieces, k, -1) if text_at(pieces, k) == "." else k).lower()
    named = before in LETTERED or before in ("/", "an", "the", "from", "to")
    following = find_near(pieces, i, 1)
    lone = following < 0 or pieces[following].kind not in (WORD, NUMBER)
    word = pieces[following].text if following >= 0 else ""
    quoted = word[:1] in tuple("\"“'‘(")
    if text_at(pieces, i + 1 if i + 1 < len(pieces) else -1) in ("+", "-", "="):
        return i + 1, (Piece("A", WORD, ("a.",)),)  # a grade
    listed = before in (*tuple(",;:(&"), "", "and") and _has_initials(pieces, i)
    initial = is_name(word) and (before in _TITLES or listed)
    numbered = following >= 0 and pieces[following].kind is NUMBER
    numbered = numbered and k == i - 2 and is_name(text_at(pieces, k))  # Harbor A 2:08
    named = named and (not is_name(word) or before in LETTERED)
    letter = initial or numbered or named or (lone and not quoted)
    return i + 1, (Piece("A", WORD, ("a.",) if letter else ("a",)),)


def decide_initial(pieces: Pieces, i: int, tables: Tables) -> Answer:
    """A capital letter and a stop: an initial before a name, or the end of a sentence."""
    piece = pieces[i]
    if not has_stop(pieces, i):
        return i + 1, (piece,)
    following = find_near(pieces, i + 1, 1)
    after = text_at(pieces, following)
    before = text_before(pieces, i).lower()
    if piece.text in "NSEW" and ORDINAL.fullmatch(after):
        return i + 2, (Piece(piece.text + ".", WORD, DIRECTIONS[piece.text]),)
    degrees = has_digit_before(pieces, i) or text_at(pieces, find_near(pieces, i, -1))[-1:] == "°"
    if piece.text in "CF" and degrees and tells(pieces, i, tables.cues["heat"]):
        unit: Words = ("fahrenheit",) if piece.text == "F" else ("celsius",)
        said = unit if "°" in text_before(pieces, i) else ("degrees", *unit)
        return i + 1, (Piece(piece.text, WORD, said),)  # 325 F. Bake
    if piece.text == "S" and after == "Ct" and has_digit_before(pieces, i):
        return i + 2, (Piece("S.", WORD, ("supreme",)),)  # 139 S. Ct. 1715
    direction = read_direction(pieces, i, tables.cues)
    if direction:
        return i + 2, (Piece(piece.text + ".", WORD, direction),)
    name = after[:1].isupper() and pieces[following].kind is WORD
    name = name and before not in tables.cues["ends"]
    if piece.text == "I" and (not is_name(after) or before in FUNCTION_WORDS):
        name = False
    if name and before not in LETTERED and not (_ends_sentence(after) and before):
        return i + 2, (Piece(piece.text + ".", WORD, name_letters(piece.text)),)
    if piece.text == "A":
        spoken: Words = ("a.",)
    elif piece.text in "VX" and before in NUMBERED - LETTERED:
        return i + 1, (Piece(piece.text, NUMBER, tables.say.integer(read_roman(piece.text))),)
    elif piece.text == "I":
        return decide_letter(pieces, i, tables)
    else:
        spoken = piece.spoken
    return i + 1, (Piece(piece.text, WORD, spoken),)


def _ends_sentence(after: str) -> bool:
    """Whether a capitalised word shows that the stop before it ended a sentence."""
    return after.lower() in FUNCTION_WORDS
