"""What stands beside a piece: the questions that the context rules ask."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from typing import Final

from drillgen.core.values import TokenKind
from drillgen.speech.text.numerals import MONTHS
from drillgen.speech.text.rows import Unit, Words, word_set
from drillgen.speech.text.scan import NUMBER, WORD, Piece
from drillgen.speech.text.tables import Tables

FUNCTION_WORDS: Final = word_set(
    "a an the this that these those my your his her its our their i you he she it we they me "
    "him us them who what which when where why how and or but so if as at by for from in of on "
    "to with then there here is are was were be been has have had do does did will would can "
    "could shall should may might must not no yes after before because although while since "
    "unless though whether once per via plus until now just also even only both each every all "
    "some any"
)
"""Words that open a sentence with a capital more often than they are part of a name."""

NUMBERED: Final = word_set(
    "chapter part act scene book volume section war type phase level appendix figure table "
    "stage class article title grade unit step lesson exercise page number element group canto "
    "verse psalm opus hymn option plan zone size mark tier series round cycle formula sector"
)

LETTERED: Final = word_set(
    "vitamin plan grade group hepatitis band model category week wk rating rated zone form "
    "terminal stand bay method sector vitamins type option section point class team part side "
    "letter block room deck gate column row flat note key level string appendix exhibit"
)

DETERMINERS: Final = word_set(
    "a an the this that another each every my your his her its our their one"
)

ERAS: Final = {"BC": "b. c.", "AD": "a. d.", "BCE": "b. c. e.", "CE": "c. e."}

DAYS: Final = word_set(
    "monday tuesday wednesday thursday friday saturday sunday mon tue tues wed weds thu thur "
    "thurs fri sat sun"
)

MONTH_FORMS: Final = frozenset(MONTHS) | {month[:3] for month in MONTHS} | {"sept"}

TIME_ZONES: Final = word_set(
    "ET EST EDT CT CST CDT MT MST MDT PT PST PDT GMT BST UTC CET CEST IST JST"
)

TOPIC: Final = 150
"""How many pieces to each side tell what a text is about."""

SURE_TOPIC: Final = 4
"""So many words of a topic make a reading by it sure; fewer leave it on the list."""

FAR: Final = 400
"""How many pieces a rule may look back or ahead."""

Pieces = Sequence[Piece]


Answer = tuple[int, tuple[Piece, ...]]

Rule = Callable[[Pieces, int, Tables], Answer]


STOPS: Final = frozenset(".!?…")

_SPACE_TOKEN: Final = TokenKind.SPACE


def is_break(piece: Piece) -> bool:
    """A paragraph break."""
    return piece.kind is _SPACE_TOKEN and piece.text.count("\n") > 1


def find_near(pieces: Pieces, i: int, step: int) -> int:
    """Place of the next piece that is not space in a direction, or -1.

    A paragraph break ends the search.
    """
    i += step
    while 0 <= i < len(pieces):
        if pieces[i].kind is not _SPACE_TOKEN:
            return i
        if is_break(pieces[i]):
            return -1
        i += step
    return -1


def text_at(pieces: Pieces, i: int) -> str:
    return pieces[i].text if i >= 0 else ""


def text_before(pieces: Pieces, i: int) -> str:
    """The text of the piece before, over space."""
    return text_at(pieces, find_near(pieces, i, -1))


def find_word_before(pieces: Pieces, i: int) -> int:
    """Place of the word before, over space and the stop of an abbreviation; -1: none."""
    k = find_near(pieces, i, -1)
    if k > 0 and pieces[k].text == "." and pieces[k - 1].rule == "abbreviation":
        k -= 1
    return k if k >= 0 and pieces[k].kind is WORD else -1


def has_day(pieces: Pieces, k: int) -> bool:
    """Whether a month has its day before it: "8th October 11"."""
    day = text_before(pieces, k if pieces[k].text != "." else k - 1)
    return re.fullmatch(r"[0-3]?\d(?:st|nd|rd|th)?", day) is not None


class Row(list[Piece]):
    """The pieces of a text, which remember what words stand around a place."""

    def __init__(self, pieces: Sequence[Piece]) -> None:
        super().__init__(pieces)
        self._words: dict[int, frozenset[str]] = {}

    def list_words(self, i: int) -> frozenset[str]:
        """The words, in small letters, from at least TOPIC pieces to each side of a place."""
        block = i // TOPIC
        if block not in self._words:
            near = self[max(0, block - 1) * TOPIC : (block + 2) * TOPIC]
            self._words[block] = frozenset(piece.text.lower() for piece in near)
        return self._words[block]


def tells(pieces: Pieces, i: int, words: frozenset[str], least: int = 1) -> bool:
    """Whether the text around a piece has at least so many of some words."""
    near = (pieces if isinstance(pieces, Row) else Row(pieces)).list_words(i)
    return len(near & words) >= least


def text_after(pieces: Pieces, i: int) -> str:
    """The text of the piece after, over space."""
    return text_at(pieces, find_near(pieces, i, 1))


def has_stop(pieces: Pieces, i: int) -> bool:
    return i + 1 < len(pieces) and pieces[i + 1].text == "."


def skip_stop(pieces: Pieces, i: int) -> int:
    return i + 1 if has_stop(pieces, i) else i


def find_topical(pieces: Pieces, k: int, text: str, tables: Tables) -> Unit | None:
    """The unit that a symbol stands for in what the text is about: nm at sea, f in racing."""
    for topic in tables.topical.get(text, ()):
        if tells(pieces, k, tables.cues[topic], 1 if topic == "heat" else 2):
            return tables.units[f"{text}@{topic}"]
    return None


def unit_at(pieces: Pieces, k: int, tables: Tables) -> Unit | None:
    """The unit that stands at a place; "c." is a cup only with its stop in mid-sentence."""
    text = text_at(pieces, k)
    topical = find_topical(pieces, k, text, tables)
    if topical:
        return topical
    after = text_after(pieces, k + 1) if k >= 0 and has_stop(pieces, k) else ""
    stop = after.islower() or after == ")"
    return (tables.units.get(text + ".") if stop else None) or tables.units.get(text)


def tells_verse(pieces: Pieces, i: int, tables: Tables) -> bool:
    """Whether a book of the Bible stands before: "Rom. 5:6"."""
    k = find_word_before(pieces, i)
    book = text_at(pieces, k)
    return book[:1].isupper() and book.lower() in tables.cues["bible book"]


EXERCISE: Final = re.compile(
    r"\d+(?:[.,½]5?)?(?: s| ?(?:secs?|seconds?|mins?|minutes?|hrs?|hours?|days?|reps?|breaths?"
    r"|sets?|times|lengths|laps)|(?<=\d\d)s)(?!\w)"
)
"""How long or how often something is done, several times."""


def say_number(
    piece: Piece, i: int, spoken: Words, other: tuple[Words, ...] = (), note: str = ""
) -> Answer:
    """The answer of a rule that reads one piece as a number."""
    return i + 1, (Piece(piece.text, NUMBER, spoken, "", other, note),)


def say_unit(pieces: Pieces, i: int, unit: Unit) -> Words:
    """A unit without a number: one of it after "per", "a" and "5th", and before "5" and "B"."""
    before, after = find_near(pieces, i, -1), text_after(pieces, i)
    one = text_at(pieces, before).lower() in DETERMINERS | {"per", "/"}
    one = one or after[:1].isdecimal() or (len(after) == 1 and after.isalpha())
    return unit.one if one or (before >= 0 and pieces[before].rule == "ordinal") else unit.several


def is_half(text: str) -> bool:
    """Whether it is am or pm."""
    return text.lower().replace(".", "") in ("am", "pm")


def is_name(text: str) -> bool:
    """A capitalised word that is not a function word."""
    return text[:1].isupper() and text.lower() not in FUNCTION_WORDS


def is_shouted(pieces: Pieces, i: int) -> bool:
    """Whether the other words of the sentence are in capitals too."""
    upper = lower = 0
    for step in (-1, 1):
        k = i + step
        seen = 0
        while 0 <= k < len(pieces) and seen < 8:
            piece = pieces[k]
            if piece.text[0] in STOPS or is_break(piece):
                break
            if piece.kind is WORD and len(piece.text) > 1:
                seen += 1
                if piece.text.isupper():
                    upper += 1
                else:
                    lower += 1
            k += step
    return upper > 0 and upper >= 2 * lower


_CALLING: Final = word_set(
    "call calls called calling dial dials dialed dialled ring text phone press enter or"
)


def is_dialled(pieces: Pieces, i: int) -> bool:
    """Whether it stands after "dial" and the like, maybe behind a star: "dial *611"."""
    if i and pieces[i - 1].text == "*":
        i -= 1
    return text_before(pieces, i).lower() in _CALLING


def has_digit_before(pieces: Pieces, i: int) -> bool:
    k = find_near(pieces, i, -1)
    return k >= 0 and pieces[k].kind is NUMBER and pieces[k].text[-1:].isdecimal()


_AFTER_MEASURE: Final = word_set(
    "min max approx ea each per away long wide high deep tall thick across apart off later ago "
    "more less north "
    "south east west"
)


def is_month_at(pieces: Pieces, i: int) -> bool:
    """Whether a month name stands at a place (or ends there, with its stop)."""
    if i < 0:
        return False
    if pieces[i].text == "." and i > 0 and pieces[i - 1].rule == "abbreviation":
        i -= 1
    text = pieces[i].text
    return text[:1].isupper() and text.lower() in MONTH_FORMS


def is_plural_after(pieces: Pieces, i: int) -> bool:
    after = text_after(pieces, i)
    return after.islower() and after.endswith("s") and len(after) > 3


def is_noun_after(pieces: Pieces, end: int) -> bool:
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


_SMALL_STREETS: Final = word_set(
    "st ave blvd rd dr ln ct hwy fwy pkwy expy pl ter street avenue road drive lane"
)


ORDINAL: Final = re.compile(r"\d+(?:st|nd|rd|th|ST|ND|RD|TH)")
"""The name of a street that is a number: 9th, 47TH."""


def leads_small_street(pieces: Pieces, i: int, k: int) -> bool:
    """Whether a small letter at `i` stands between a house's number at `k` and the name of a
    street in small letters: "2711 n harbor blvd"."""
    if not re.fullmatch(r"\d{1,5}", text_at(pieces, k)):
        return False
    for words in range(4):
        i = find_near(pieces, i if words else skip_stop(pieces, i), 1)
        text = text_at(pieces, i)
        if words and text in _SMALL_STREETS:
            return True
        named = text.islower() and (text.isalpha() or ORDINAL.fullmatch(text))
        if not named or text in FUNCTION_WORDS:
            return False
    return False
