"""Splits a stretch without white space into pieces, as far as no neighbours are needed."""

from __future__ import annotations

import re
import unicodedata
from typing import Final, NamedTuple

from drillgen.core.resources import load_frequencies
from drillgen.core.values import TokenKind
from drillgen.speech.text.addresses import (
    match_address,
    match_tag,
    read_address,
    read_tag,
    split_camel,
)
from drillgen.speech.text.forms import is_number_start, match_number, read_code
from drillgen.speech.text.numerals import MONTHS, is_year, pluralize
from drillgen.speech.text.rows import UNKNOWN_SHORT, Abbreviation, Words, word_row
from drillgen.speech.text.tables import Tables
from drillgen.speech.text.words import (
    APOSTROPHES,
    HYPHENS,
    INNER,
    LATIN,
    fold_accents,
    is_sayable,
    name_letters,
    read_word,
)

WORD: Final = TokenKind.WORD
NUMBER: Final = TokenKind.NUMBER
PUNCTUATION: Final = TokenKind.PUNCTUATION
SPACE: Final = TokenKind.SPACE
OTHER: Final = TokenKind.OTHER


class Piece(NamedTuple):
    """A token without its place, and the context rule that has to look at it."""

    text: str
    kind: TokenKind
    spoken: Words = ()
    rule: str = ""
    """Name of a rule in context.py; empty for none."""

    other: tuple[Words, ...] = ()
    """How else it could be read."""

    note: str = ""
    """What it was taken for."""


_WORD: Final = re.compile(
    f"[{LATIN}][{LATIN}{INNER}]*+(?:[{HYPHENS}{APOSTROPHES}][{LATIN}][{LATIN}{INNER}]*+)*+"
)
_PLAIN: Final = re.compile("[A-Za-z][a-z]+")
_LONG: Final = 6
"""Abbreviations that no table has are shorter."""

RARE: Final = 3.6
"""Zipf frequency below which up to four letters may be short for a word; longer: unknown ones."""

_QUICK: Final = re.compile("([A-Za-z][a-z]+)([,.;:?!]?)( ?)")
_SPACE: Final = Piece(" ", SPACE)
_MARKS: Final = {mark: Piece(mark, PUNCTUATION) for mark in ",.;:?!"}
_DOTTED: Final = re.compile(
    rf"(?:[A-Za-z]\.){{2,}}+(?:[A-Za-z](?![{LATIN}{INNER}'’\d.]))?|Ph\.D\.?(?!\w)|[ap]\.m(?!\w)"
)
_DRAWN: Final = re.compile(r"([a-z])\1\1")

_SOUNDS: Final = {"i": "ee", "u": "oo", "ɑ": "ah", "a": "ah", "ɔ": "aw", "ʌ": "uh", "ə": "uh"}
"""Vowels between strokes, as a teacher writes them: IPA."""
_SOUND: Final = re.compile(rf"/([{''.join(_SOUNDS)}])ː?/(?!\w)")

_EPISODE: Final = re.compile(r"(?:[Ss](\d{1,2}),?[Ee][Pp]?\.?|(?<!\w)[Ee]p\.?)(\d{1,3})(?![\w-])")
"""Of a series: "S02E04", "S2,Ep4", "ep4"."""

_CODE: Final = re.compile(
    rf"([{LATIN}]{{1,40}})-?\d{{1,20}}(?:[{LATIN}]{{1,10}}\d{{0,10}}){{0,3}}"
)
_CODE_AFTER: Final = re.compile(rf"\d{{1,20}}(?:[{LATIN}]{{1,20}}\d{{0,10}}){{1,3}}")
_NOTED: Final = re.compile(r"[kKpPM]\d{1,3}|[KQRBN]?[a-h1-8]?x?[a-h][1-8]")
"""What notation.py looks at."""

_POSSESSIVE: Final = re.compile(rf"[{APOSTROPHES}]?s(?!\w)")
_POINTS: Final = re.compile(r"(?:\.\d{1,6}){1,4}(?!\w)")
_POWER: Final = re.compile("⁻[⁰¹²³⁴-⁹]{1,3}|[⁴-⁹][⁰¹²³⁴-⁹]?|[¹²³][⁰¹²³⁴-⁹]")
_KEYCAP: Final = re.compile("[0-9#*]\ufe0f?\u20e3")
_JOINED: Final = re.compile(r"[A-Z]{1,4}(?:&[A-Z]{1,4}){1,4}(?!s\w|[A-RT-Za-rt-z])")
_MIXED: Final = re.compile(r"[a-z]{1,2}[A-Z]{1,4}|[a-z]{1,3}[A-Z][a-z]?|[A-Z][a-z][A-Z]{1,3}")
"""Letters that are spelled out although not all are capitals: eGFR, dBi, mU, CoA."""

_NUMBERED: Final = re.compile(r"#(\d{1,3}(?:,\d{3})++|\d++)(?![^\W_])")
_PLURAL_CAPS: Final = re.compile(r"([A-Z]{2,6})(['’]?s)")
_OPTIONAL_S: Final = re.compile(r"\((?:e?s|ren)\)")
_FACE: Final = re.compile(
    r"[:;=]['’]?[-o^]?[)(DPpOo/|\\*3\]\[]+|[8xX][-o^][)(DPp]+|[xX]D+|<[/\\]?3+|[)(]-?[:;=]<?"
    r"|D-?=|D-:|\^[_.-]?\^|[oO0]_[oO0]|[oO]\.[oO]|[:;]-?[>sS$@xX#]|¯\\_\(ツ\)_/¯|-[_.]+-|:'[-(]*\(*"
)
_VOWELLESS: Final = re.compile("[b-df-hj-np-tv-xz]{2,5}")
_HUMMED: Final = re.compile(
    "(.+)\\1{2,}|[bg]?r+|h?m+(ph|h+m+)?|sh+|p?s+t|pf+t?|ts+k|tch|n?th|z+|cwm|ngl"
)
"""Sounds and words that have no vowel letter."""

_RUN: Final = re.compile(r"(.)\1*", re.DOTALL)
_SPAN: Final = re.compile(r"(\w+)[-‐‑](\w+)")
_WEEK: Final = word_row("monday tuesday wednesday thursday friday saturday sunday")
_CALENDAR: Final = {
    form: name for name in _WEEK + MONTHS for form in (name, name[:3], name[:4])
} | {"tues": "tuesday", "thurs": "thursday"}
"""Days and months, in full and short."""

_UNDER_AGE: Final = re.compile("U-?(?:[6-9]|1[0-9]|2[0-3])s?")
_DAY_SPAN: Final = re.compile(r"(M|Tu|W|Th|F|Sa|Su)[-‐‑–](Tu|W|Th|F|Sa|Su)(?![\w])")
_DAY_LETTERS: Final = dict(zip(word_row("M Tu W Th F Sa Su"), _WEEK, strict=True))
_SMALL_ROMAN: Final = frozenset(
    tens + ones
    for tens in ("", "x", "xx", "xxx", "xl")
    for ones in ("", "i", "ii", "iii", "iv", "v", "vi", "vii", "viii", "ix")
    if len(tens + ones) > 1 and tens + ones not in ("xl", "xx", "xxx")
)
"""From two to forty-nine, without sizes and kisses."""

_EXTENDERS: Final = frozenset(
    "\u200c\u200d\u0e33\u0eb3\uff9e\uff9f\U0001f3fb\U0001f3fc\U0001f3fd\U0001f3fe\U0001f3ff"
)
"""Joiners, skin tones and the letters that UAX #29 (GB9, GB9a) keeps with the one before."""


_KNOWN: Final = 3.0
"""Zipf frequency of a word that is used once in a million words."""


def spell_out(text: str, entry: Abbreviation) -> Piece:
    """An abbreviation as it is said; noted where it is said in two ways."""
    other = entry.readings[1:]
    return Piece(text, WORD, entry.spoken, "noted", other, "an abbreviation" if other else "")


def _spell(text: str, tables: Tables) -> Piece:
    """A word that is not plain lower case or capitalised: capitals, hyphens, apostrophes."""
    folded = fold_accents(text)
    lower = folded.lower()
    known = tables.contractions.get(lower)
    if known:
        return Piece(text, WORD, known)
    span = _read_span(text)
    if span:
        return Piece(text, WORD, span)
    if len(text) == 1:
        if text in "IVXNSEW":
            return Piece(text, WORD, read_word(text), "letter")
        rule = {"A": "article", "x": "times"}.get(text, "")
        return Piece(text, WORD, read_word(text), rule)
    if text in tables.regions:
        return Piece(text, WORD, read_capitals(lower, tables), "capitals")
    acronym = tables.acronyms.get(lower)
    if acronym and acronym.reading == "word":
        return Piece(text, WORD, acronym.spoken)
    if acronym and (acronym.reading == "any" or (text.islower() and is_vowelless(lower))):
        return Piece(text, WORD, name_letters(lower))
    owner = lower.removesuffix("'s")
    if (
        owner != lower
        and is_vowelless(owner)
        and owner not in ("mr", "mrs", "dr", "st", "jr", "sr")
    ):
        return Piece(text, WORD, name_letters(owner, "'s"))
    plural = _PLURAL_CAPS.fullmatch(folded)
    if plural:
        entry = tables.acronyms.get(plural[1].lower())
        if entry and entry.reading == "word":
            *rest, last = entry.spoken
            said = pluralize((*rest, last)) if plural[2] == "s" else (*rest, last + "'s")
            return Piece(text, WORD, said)
        roman = len(plural[2]) > 1 and set(plural[1]) <= set("IVXLC")
        if entry or roman or not _is_word_form(plural[1].lower(), tables):
            return Piece(text, WORD, name_letters(plural[1], "'s"), "capitals" if roman else "")
    if folded.isalpha() and folded.isupper():
        return Piece(text, WORD, read_capitals(lower, tables), "capitals")
    if "-" in folded and any(part.isupper() and len(part) > 1 for part in folded.split("-")):
        return Piece(text, WORD, _read_hyphened_capitals(folded, tables))
    short = len(text) < 4 or lower not in load_frequencies()
    mixed = short and _MIXED.fullmatch(text) is not None
    spoken = split_camel(text, tables) or (name_letters(lower) if mixed else read_word(text))
    return Piece(text, WORD if spoken else OTHER, spoken)


def _read_hyphened_capitals(folded: str, tables: Tables) -> Words:
    """BBC-led, CD-ROM, ANNE-MARIE: beside a word of four letters and more, which shouts, a part is
    a word if it can be one."""
    parts = folded.split("-")

    def is_word(part: str) -> bool:
        lower = part.lower()
        known = is_sayable(lower) or load_frequencies().get(lower, 0.0) >= _KNOWN
        return known and lower not in tables.acronyms and not is_vowelless(lower)

    shouts = folded.isupper() and any(len(part) > 3 and is_word(part) for part in parts)
    spoken: Words = ()
    for part in parts:
        if shouts and is_word(part):
            spoken += (part.lower(),)
        elif part.isupper() and len(part) > 1:
            spoken += read_capitals(part.lower(), tables)
        else:
            spoken += read_word(part)
    return spoken


def _read_span(text: str) -> Words:
    """Mon-Fri, June-August, A-Z: two ends with "to" between them; empty for anything else."""
    match = _SPAN.fullmatch(text)
    if not match:
        return ()
    left, right = match.groups()
    if len(left) == len(right) == 1 and left.isupper() and right.isupper() and left < right:
        return (*name_letters(left), "to", *name_letters(right))
    first, second = (_CALENDAR.get(part.lower(), "") for part in (left, right))
    if left.lower() in ("mid", "early", "late") and second and right[0].isupper():
        return (left.lower(), second)
    capital = left[0].isupper() and right[0].isupper()
    days = first == left and second == right and first[-3:] == second[-3:] == "day"
    if first and second and (capital or days) and first != second:
        return (first, "to", second)
    return ()


def _mark_short(piece: Piece) -> Piece:
    """Gives a number and letters that are named the rule that asks whether they are settled."""
    short = piece.kind is NUMBER or (piece.spoken and piece.spoken[0][1:] == ".")
    return piece._replace(rule="noted") if short and not piece.rule else piece


def is_vowelless(lower: str) -> bool:
    """Whether a lower-case form must be spelled out, for want of a vowel: pdf, tv, bpd."""
    return _VOWELLESS.fullmatch(lower) is not None and not _HUMMED.fullmatch(lower)


def _is_word_form(lower: str, tables: Tables) -> bool:
    """Whether a form in capitals is a word by its letters."""
    return lower in tables.short_words or (len(lower) > 3 and is_sayable(lower))


def read_capitals(lower: str, tables: Tables, shouted: bool = False) -> Words:
    """A form that is written in capitals; `shouted`: so is the sentence around it."""
    acronym = tables.acronyms.get(lower)
    if acronym:
        if acronym.reading == "word":
            return acronym.spoken
        if acronym.reading in ("letters", "any") or (acronym.reading == "country" and not shouted):
            return name_letters(lower)
        return (lower,)
    if _DRAWN.search(lower) and len(set(lower)) > 1:
        return (lower,)  # YESSSS
    # Among shouted words five letters with a vowel are rather a name: GWANG.
    most = 4 if shouted and not _VOWELLESS.fullmatch(lower) else 6
    if _is_word_form(lower, tables) or (shouted and is_sayable(lower)) or len(lower) > most:
        return (lower,)
    return name_letters(lower)


def _is_foreign(char: str) -> bool:
    """A character that no other rule takes: emoji, other scripts, controls."""
    if char.isascii() or char.isdecimal():
        return False
    return unicodedata.category(char)[0] != "P"


def _extend(chunk: str, end: int) -> int:
    """Past the marks and joiners that UAX #29 (rule WB4) keeps with the character before."""
    while end < len(chunk):
        char = chunk[end]
        if char.isascii() or not (char in _EXTENDERS or unicodedata.category(char)[0] == "M"):
            break
        end += 1
    return end


class Scanner:
    """Reads stretches without white space, and keeps one tuple for each plain word."""

    __slots__ = ("_special", "_tables", "_words")

    def __init__(self, tables: Tables) -> None:
        self._tables = tables
        self._words: dict[str, Words] = {}
        short = {unit.lower() for unit in tables.units if unit.istitle() and len(unit) > 1}
        self._special = tables.abbreviations.keys() | tables.acronyms.keys() | _SMALL_ROMAN | short

    def scan(self, chunk: str) -> tuple[Piece, ...]:
        """The pieces of a chunk: white space, or anything else with at most one space after
        it. Their texts join to it."""
        if chunk[:1].isspace():
            return (Piece(chunk, SPACE),)
        quick = _QUICK.fullmatch(chunk)
        if quick:
            word, mark, space = quick.groups()
            lower = word.lower()
            if lower not in self._special and not (word == lower and is_vowelless(lower)):
                pieces: tuple[Piece, ...]
                limit = RARE if len(word) < 5 else 1.0 if len(word) < 7 else 0.0
                rare = limit and word == lower and load_frequencies().get(word, 0.0) < limit
                short = "short" if rare or (mark == "." and len(word) < _LONG) else ""
                pieces = (Piece(word, WORD, self._words.setdefault(lower, (lower,)), short),)
                if mark:
                    pieces += (_MARKS[mark],)
                return (*pieces, _SPACE) if space else pieces
        if chunk[-1] == " ":
            return (*self._scan_dense(chunk[:-1]), _SPACE)
        return self._scan_dense(chunk)

    def _scan_dense(self, chunk: str) -> tuple[Piece, ...]:
        """The pieces of a chunk without any space."""
        if len(chunk) < 9 and _FACE.fullmatch(chunk):
            return (Piece(chunk, OTHER),)
        pieces: list[Piece] = []
        pos = 0
        # Looked up once: in a long chunk this must not be asked at every position.
        dotted = "." in chunk or "@" in chunk
        while pos < len(chunk):
            found = self._next(chunk, pos, dotted)
            end = pos + sum(len(piece.text) for piece in found)
            pieces += map(_mark_short, found)
            if not chunk.isascii():
                extended = _extend(chunk, end)
                if extended > end:
                    last = pieces.pop()
                    # The rules know only plain forms; the reading without them stands.
                    pieces.append(last._replace(text=last.text + chunk[end:extended], rule=""))
                    end = extended
            pos = end
        return tuple(pieces)

    def _next(self, chunk: str, pos: int, dotted: bool) -> list[Piece]:
        """The pieces that start at `pos`: at least one character."""
        char = chunk[pos]
        fresh = pos == 0 or not (chunk[pos - 1].isalnum())
        if fresh or char in "¼½¾":
            special = self._address(chunk, pos, dotted) or self._number(chunk, pos)
            if special:
                return [special]
        word = _WORD.match(chunk, pos)
        if word:
            return self._word(chunk, pos, word.end(), fresh)
        if char in APOSTROPHES and fresh:
            contraction = self._clipped(chunk, pos)
            if contraction:
                return [contraction]
        if char.isdecimal():
            end = pos + 1
            while end < len(chunk) and chunk[end].isdecimal():
                end += 1
            return [Piece(chunk[pos:end], NUMBER, read_code(chunk[pos:end], self._tables.say))]
        sound = _SOUND.match(chunk, pos) if fresh else None
        if sound:
            return [Piece(sound[0], WORD, (_SOUNDS[sound[1]],))]
        return [self._mark(chunk, pos)]

    def _address(self, chunk: str, pos: int, dotted: bool) -> Piece | None:
        char = chunk[pos]
        if char in "#@":
            end = match_tag(chunk, pos)
            if end > pos:
                spoken = read_tag(chunk[pos:end], self._tables)
                return Piece(chunk[pos:end], WORD if spoken else OTHER, spoken)
            return None
        if char.isascii() and char.isalnum() and dotted:
            end = match_address(chunk, pos)
            if end > pos:
                return Piece(chunk[pos:end], WORD, read_address(chunk[pos:end], self._tables))
        return None

    def _number(self, chunk: str, pos: int) -> Piece | None:
        keycap = _KEYCAP.match(chunk, pos)
        if keycap:
            return Piece(keycap[0], OTHER)
        digits = _NUMBERED.match(chunk, pos)
        if digits:
            say = self._tables.say
            read = say.pairs if digits[1].isdecimal() and len(digits[1]) > 2 else say.amount
            return Piece(digits[0], NUMBER, ("number", *read(digits[1])))
        if not is_number_start(chunk, pos):
            return None
        reading = match_number(chunk, pos, self._tables)
        if reading is None:
            code = _CODE_AFTER.match(chunk, pos)
            if code and not chunk[code.end() : code.end() + 1].isalnum():
                spoken = self._short(code[0]) or read_code(code[0], self._tables.say)
                letters = code[0].lstrip("0123456789")
                if letters in self._tables.topical or letters == "d":
                    return Piece(code[0], NUMBER, spoken, "measure")
                known = len(letters) < 2 or letters.isupper() or not letters.isalpha()
                return Piece(code[0], NUMBER, spoken, "noted", (), "" if known else UNKNOWN_SHORT)
            return None
        end, spoken, rule, other, note = reading
        dashed = chunk[end : end + 1] in tuple("-‐‑–—") and chunk[end + 1 : end + 2]
        if dashed and rule in ("clock", "hour", "money", "measure"):
            started = is_number_start(chunk, end + 1)
            second = match_number(chunk, end + 1, self._tables) if started else None
            if second:
                spoken = spoken[:-1] if spoken[-1] == "o'clock" else spoken
                end = second.end
                rule = second.rule if second.rule in ("clock", "hour", "money") else ""
                spoken = (*spoken, "to", *second.spoken)
        return Piece(chunk[pos:end], NUMBER, spoken, rule, other, note)

    def _clipped(self, chunk: str, pos: int) -> Piece | None:
        """A word that starts with an apostrophe: 'tis, 'em, 'n'."""
        word = _WORD.match(chunk, pos + 1)
        if not word:
            return None
        key = "'" + fold_accents(word[0]).lower()
        end = word.end()
        if chunk[end : end + 1] in tuple(APOSTROPHES) and key + "'" in self._tables.contractions:
            return Piece(chunk[pos : end + 1], WORD, self._tables.contractions[key + "'"])
        if key in self._tables.contractions:
            return Piece(chunk[pos:end], WORD, self._tables.contractions[key], "clipped")
        return None

    def _word(self, chunk: str, pos: int, end: int, fresh: bool) -> list[Piece]:
        """In one piece because the kinds of words are tried in a fixed order."""
        tables = self._tables
        if fresh:
            joined = _JOINED.match(chunk, pos)
            if joined:
                spoken: Words = ()
                for number, part in enumerate(joined[0].split("&")):
                    spoken += (*(("and",) if number else ()), *name_letters(part))
                tail = _POSSESSIVE.match(chunk, joined.end())
                if tail:
                    spoken = (*spoken[:-1], spoken[-1] + "'s")
                return [Piece(joined[0] + (tail[0] if tail else ""), WORD, spoken)]
            days = _DAY_SPAN.match(chunk, pos)
            if days and days[0] != "M-W":
                first, last = (_DAY_LETTERS[day] for day in days.groups())
                return [Piece(days[0], WORD, (first, "to", last))]
            episode = _EPISODE.match(chunk, pos)
            if episode:
                say = tables.say
                spoken = ("episode", *say.amount(episode[2].lstrip("0") or "0"))
                if episode[1]:
                    spoken = ("season", *say.amount(episode[1].lstrip("0") or "0"), *spoken)
                return [Piece(episode[0], NUMBER, spoken)]
            code = _CODE.match(chunk, pos)
            if code and not chunk[code.end() : code.end() + 1].isalnum():
                prefix = code[1]
                named = prefix.upper() in ("AM", "PM") or prefix.lower() in _CALENDAR
                if ("-" not in code[0] or prefix.isupper()) and not named:
                    return self._code(chunk, code[0], code.end())
            dotted = _DOTTED.match(chunk, pos)
            if dotted:
                return [self._dotted(dotted[0])]
        text = chunk[pos:end]
        after = chunk[end : end + 1]
        lower = text.lower().replace("’", "'")
        if after == "/" and lower + chunk[end : end + 2].lower() in tables.abbreviations:
            short = chunk[pos : end + 2]
            entry = tables.abbreviations[short.lower()][0]
            shouted = short.isupper() and entry.when == "lower"  # W/L: won and lost
            if not (chunk[end + 2 : end + 3].isalnum() or shouted):
                return [spell_out(short, entry)]
        if _PLAIN.fullmatch(text) and chunk[end:].rstrip(",.:;)") == "/s":
            return [Piece(text + "/s", WORD, pluralize((lower,)))]
        if text == "w" and after in ("", "/"):
            within = re.match(r"/in(?![a-z])", chunk[end:])
            return [
                Piece(
                    text + (within[0] if within else after),
                    WORD,
                    ("within" if within else "with",),
                )
            ]
        abbreviated = lower in tables.abbreviations and text not in ("EST", "MST", "IM", "HES")
        lone = text == lower and after not in tuple(APOSTROPHES)
        if abbreviated and (len(text) > 1 or lone):
            return self._abbreviation(text, chunk, end)
        if after == "." and len(text) == 1 and text.isalpha() and text.isupper():
            return [Piece(text, WORD, read_word(text), "initial"), Piece(".", PUNCTUATION)]
        if after == "(":
            optional = _OPTIONAL_S.match(chunk, end)
            if optional and text.isascii():
                plural = lower + optional[0][1:-1]
                unit = tables.units.get(plural)
                return [Piece(text + optional[0], WORD, unit.several if unit else (plural,))]
        if after in tuple(APOSTROPHES):
            known = tables.contractions.get(lower + "'")
            if known:
                return [Piece(text, WORD, known, "trail"), Piece(after, PUNCTUATION)]
            piece = _spell(text, tables)
            if lower[-1] in "sxz" or (lower.endswith("in") and len(lower) > 3):
                return [piece._replace(rule="trail"), Piece(after, PUNCTUATION)]
            return [piece]
        if after == "$" and text + "$" in tables.currencies:
            return [Piece(text + "$", WORD, tables.currencies[text + "$"].several)]
        if text == "a" and after == ")" and chunk[pos - 1 : pos] == "(":
            return [Piece(text, WORD, ("a.",))]
        if text in _SMALL_ROMAN:
            return [Piece(text, WORD, (lower,), "small roman")]
        if after == "#" and len(text) == 1 and "A" <= text <= "G":
            return [Piece(text + "#", WORD, (lower + ".", "sharp"))]
        if is_vowelless(lower) and (text == lower or (text.istitle() and text in tables.units)):
            return [self._vowelless(text)]
        if _PLAIN.fullmatch(text) and lower not in tables.acronyms:
            follow = chunk[end + 1 : end + 2]
            cut = after == "." and follow in tuple(",;:") and len(text) < 7
            alone = after == "." and follow in tuple(")]") and chunk[pos - 1 : pos] in tuple("([")
            cut = cut or (alone and load_frequencies().get(lower, 0.0) < RARE)
            if cut and lower not in ("etc", "al"):
                return [Piece(text, WORD, (lower,), "noted", (), UNKNOWN_SHORT)]
            return [Piece(text, WORD, (lower,))]
        return [_spell(text, tables)]

    def _vowelless(self, text: str) -> Piece:
        """A form without a vowel: a unit, or else its letters."""
        unit = self._tables.units.get(text)
        if unit and unit.loose and unit.one[0][-1] != ".":
            return Piece(text, WORD, unit.several, "unit")
        known = text.lower() in self._tables.acronyms
        note = ("", (), "") if known else ("noted", (), UNKNOWN_SHORT)
        return Piece(text, WORD, name_letters(text), *note)

    def _short(self, code: str) -> Words:
        """What a code in small letters stands for ("l8r"); nothing for most."""
        entries = self._tables.abbreviations.get(code)
        return entries[0].spoken if entries else ()

    def _code(self, chunk: str, text: str, end: int) -> list[Piece]:
        say = self._tables.say
        if self._short(text):
            return [Piece(text, WORD, self._short(text))]
        if re.fullmatch("(?:[A-Z]|So|NE|NW|SE|SW)[23]d", text):  # P2d 231, of a law report
            series = "second" if text[-2] == "2" else "third"
            return [Piece(text, NUMBER, (*name_letters(text[:-2]), series))]
        head = text.rstrip("0123456789-").lower()
        if head == "c" and text[0] == "c" and is_year(text[1:]):
            return [Piece(text, NUMBER, ("circa", *say.year(text[1:])))]
        acronym = self._tables.acronyms.get(head)
        if head in ("utc", "gmt", "ut") and "-" in text:
            spoken = (*read_code(head.upper(), say), "minus", *say.amount(text.partition("-")[2]))
        elif re.fullmatch(r"x\d{3,5}", text):
            return [Piece(text, NUMBER, read_code(text, say), "extension")]
        elif re.fullmatch("x(?:[1-9]|1[0-9]|20)", text):
            spoken = ("times", *say.amount(text[1:]))
        elif _UNDER_AGE.fullmatch(text):
            number = say.integer(int(text.strip("U-s")))
            spoken = ("under", *(pluralize(number) if text[-1] == "s" else number))
        elif acronym and acronym.reading == "word":
            tail = text[len(head) :].lstrip("-")
            spoken = acronym.spoken + read_code(tail, say)
        else:
            spoken = read_code(text, say)
        version = _POINTS.match(chunk, end)
        if version:
            text += version[0]
            for part in version[0][1:].split("."):
                spoken += ("point", *say.amount(part))
        if chunk[end : end + 1] in tuple(APOSTROPHES) and chunk[end + 1 :] == "s":
            return [Piece(text + chunk[end:], NUMBER, pluralize(spoken))]
        return [Piece(text, NUMBER, spoken, "notation" if _NOTED.fullmatch(text) else "")]

    def _dotted(self, text: str) -> Piece:
        lower = text.lower()
        for form in (lower, lower.removesuffix(".")):
            entry = self._tables.abbreviations.get(form)
            if entry and (entry[0].when != "chat" or text.islower()):
                return spell_out(text, entry[0])
        return Piece(text, WORD, name_letters(lower.replace(".", "")))

    def _abbreviation(self, text: str, chunk: str, end: int) -> list[Piece]:
        """A form that is in the table of abbreviations, with or without its stop."""
        entries = self._tables.abbreviations[text.lower().replace("’", "'")]
        stop = chunk[end : end + 1] == "." and chunk[end : end + 2] != ".."
        if entries[0].when == "always":
            return [spell_out(text + "." * stop, entries[0])]
        first = _spell(text, self._tables)._replace(rule="abbreviation")
        return [first, Piece(".", PUNCTUATION)] if stop else [first]

    def _mark(self, chunk: str, pos: int) -> Piece:
        char = chunk[pos]
        power = _POWER.match(chunk, pos)
        if power and pos and chunk[pos - 1].isalnum():
            sign: Words = ("minus",) if power[0][0] == "⁻" else ()
            figure = unicodedata.normalize("NFKD", power[0]).lstrip("−-")
            raised = ("to", "the", "power", "of", *sign, *self._tables.say.amount(figure))
            return Piece(power[0], NUMBER, raised)
        symbols, pair = self._tables.symbols, chunk[pos : pos + 2]
        if len(pair) > 1 and pair in symbols:
            return Piece(pair, NUMBER, symbols[pair])
        said = char in symbols
        if not said and _is_foreign(char):
            end = pos + 1
            while end < len(chunk) and self._is_foreign_here(chunk[end]):
                end += 1
            return Piece(chunk[pos:end], OTHER)
        run = _RUN.match(chunk, pos)
        text = run[0] if run else char
        if said:
            if len(text) < (2 if char == "=" else 3):
                rule = "dash" if char in "−" else "sign"
                return Piece(text, NUMBER, symbols[char] * len(text), rule)
            return Piece(text, OTHER)
        if text in self._tables.currencies:
            return Piece(text, OTHER, (), "currency")
        if len(text) > 1 and char in "$£€" and text == chunk.strip("\"'.,;:!?()"):
            return Piece(text, NUMBER, ("money",), "noted", (), "money")
        if text in "-‐‑–—":
            # Between two words or numbers it may be said.
            ends = pos + 1 == len(chunk) and chunk[pos - 1].isdecimal()
            inner = re.match(r"\w|#\d", chunk[pos + 1 : pos + 3]) or len(chunk) == 1 or ends
            return Piece(text, PUNCTUATION, (), "dash" if inner else "")
        if unicodedata.category(char)[0] == "P":
            return Piece(
                text, PUNCTUATION, (), {"/": "slash", "*": "sign", "#": "sign"}.get(text, "")
            )
        return Piece(text, OTHER, (), "sign" if text in "~<>^" else "")

    def _is_foreign_here(self, char: str) -> bool:
        return (
            _is_foreign(char)
            and not _WORD.match(char)
            and char not in self._tables.symbols
            and not is_number_start(char, 0)
        )
