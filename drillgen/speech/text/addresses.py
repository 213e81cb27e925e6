"""E-mail and web addresses, hashtags and handles, as they are said."""

from __future__ import annotations

import re
from typing import Final

from drillgen.core.resources import load_frequencies
from drillgen.speech.text.compounds import split_compound
from drillgen.speech.text.numerals import plain_digits, read_digits
from drillgen.speech.text.rows import Words, word_row, word_set
from drillgen.speech.text.tables import Tables
from drillgen.speech.text.words import fold_accents, is_sayable, name_letters

_LAST: Final = (
    "com|org|net|edu|gov|mil|int|info|biz|museum|example|test|uk|ie|eu|de|fr|es|nl|se|ch|ca|au|"
    "nz|io|app|dev|pdf|txt|docx?|xlsx?|pptx?|csv|jpe?g|png|mp3|mp4|wav|zip|html?"
)
"""Last parts that make a dotted form an address or a file name: common top-level domains and
file types, without those that are English words ("in", "is", "me")."""

_ADDRESS: Final = re.compile(
    r"[\w.+\-]{1,64}@(?:[\w\-]{1,63}\.){1,8}[A-Za-z]{2,24}"
    r"|(?:https?|ftp)://[^\s<>\"“”«»]++"
    r"|www\.[^\s<>\"“”«»]++"
    r"|(?:alt|comp|humanities|misc|news|rec|sci|soc|talk)(?:\.[a-z][a-z0-9+\-]{0,30}){1,6}(?![\w\-])"
    rf"|(?:[A-Za-z0-9\-]{{1,63}}\.){{1,6}}(?:{_LAST})(?![\w\-])(?:/[^\s<>\"“”«»]*+)?"
    r"|[a-z]{2,30}(?:\.[a-z]{2,30}){2,6}(?![\w\-])",
)
_TAG: Final = re.compile(r"[#@][^\W\d_](?:\w|[.](?=\w)){0,99}")
_TRAILING: Final = ".,;:!?…'’”)]}*_"
_SAID: Final = dict(
    zip(
        "@./-_+=&#%:~",
        word_row("at dot slash dash underscore plus equals and hash percent colon tilde"),
        strict=True,
    )
) | {"?": "question mark"}
_PARTS: Final = re.compile(r"\d+|[^\W\d_]+|[^\w\s]|_")
_CAMEL: Final = re.compile(r"\d+|[^\W\d_](?:[A-Z]+(?![a-z])|[^\W\d_A-Z]*)|[.]")
_CAMEL_WORD: Final = re.compile("[A-Z]{2,5}(?=[a-z]{4})|[A-Z]{2,5}(?![a-z])|[A-Z]?[a-z]+")
_PLURAL: Final = re.compile("[a-z][A-Z]{2,5}s")
"""mRNAs, eSIMs."""

_PARTICLES: Final = word_set("mc mac de di du la le lo van von fitz san st des del da al el o")
_SAID_IN_TAG: Final = {".": ("dot",)}
_FILES: Final = word_set("pdf htm html xls xlsx ppt pptx csv jpg png mp wav asp php jsp xml")
_SHORT_WORDS: Final = word_set("co org net gov edu int info bio")
_COUNTRIES: Final = word_set("uk ie eu de fr es se au nz io us")
_SCHEME: Final = re.compile("(?:https?|ftp)://", re.IGNORECASE)


def match_address(chunk: str, pos: int) -> int:
    """End of the address that starts at `pos`, or `pos` if there is none."""
    match = _ADDRESS.match(chunk, pos)
    if not match:
        return pos
    text = match[0]
    # A bracket that was opened inside the address belongs to it.
    trailing = _TRAILING.replace(")", "") if "(" in text else _TRAILING
    return pos + len(text.rstrip(trailing))


def match_tag(chunk: str, pos: int) -> int:
    """End of the hashtag or handle that starts at `pos`, or `pos` if there is none."""
    match = _TAG.match(chunk, pos)
    return match.end() if match else pos


def _read_part(part: str, tables: Tables) -> Words:
    if part[0].isdecimal():
        digits = plain_digits(part)
        return tables.say.amount(digits) if len(digits) < 3 else read_digits(digits)
    word = "".join(c for c in fold_accents(part).lower() if "a" <= c <= "z")
    if word in _SHORT_WORDS:
        return (word,)
    acronym = tables.acronyms.get(word)
    if acronym and (acronym.spoken or acronym.reading == "any"):
        return acronym.spoken or name_letters(word)
    if len(word) == 1 or word in _COUNTRIES or word in _FILES:
        return name_letters(word)
    return split_compound(word)


def read_address(text: str, tables: Tables) -> Words:
    """An e-mail or web address with its signs; the scheme ("https://") is not said.

    >>> from drillgen.speech.text.tables import load_tables
    >>> tables = load_tables()
    >>> " ".join(read_address("jo.reed@ferryclub.example", tables))
    'jo dot reed at ferry club dot example'
    >>> " ".join(read_address("https://www.oldharbour.co.uk/tides", tables))
    'w. w. w. dot old harbour dot co dot u. k. slash tides'
    """
    spoken: list[str] = []
    for part in _PARTS.findall(_SCHEME.sub("", text, count=1)):
        mixed = () if part.islower() or part.isupper() else split_camel(part, tables)
        spoken += _SAID[part].split() if part in _SAID else mixed or _read_part(part, tables)
    return tuple(spoken)


def split_camel(text: str, tables: Tables) -> Words:
    """The words of a name with capitals inside, unless it is known as a whole or has a prefix.

    >>> from drillgen.speech.text.tables import load_tables
    >>> [split_camel(text, load_tables()) for text in ("HeatPump", "HRonline", "YouTube")]
    [('heat', 'pump'), ('h.', 'r.', 'online'), ()]
    """
    if _PLURAL.fullmatch(text):
        *rest, last = split_camel(text[:-1], tables) or name_letters(text[:-1])
        return (*rest, last + "'s")
    parts = _CAMEL_WORD.findall(text)
    if len(parts) < 2 or "".join(parts) != text:
        return ()
    known = load_frequencies()
    initials = any(part.isupper() and len(part) > 1 for part in parts[1:])
    if text.lower() in known and not initials:
        return ()
    spoken: Words = ()
    for part in parts:
        lower = part.lower()
        acronym = tables.acronyms.get(lower)
        if part.isupper() and acronym and acronym.reading == "word":
            spoken += acronym.spoken
        elif (part.isupper() and len(part) > 1) or (initials and len(part) == 1):
            spoken += name_letters(lower)
        elif lower in _PARTICLES or known.get(lower, 0.0) < (3.0 if len(part) > 2 else 5.0):
            return ()
        else:
            spoken += (lower,)
    return spoken


def read_tag(text: str, tables: Tables) -> Words:
    """A hashtag or handle; capitals inside it begin a new word, and so do known words.

    >>> from drillgen.speech.text.tables import load_tables
    >>> read_tag("#TransRights", load_tables()), read_tag("@oldharbour_news", load_tables())
    (('hashtag', 'trans', 'rights'), ('at', 'old', 'harbour', 'news'))
    """
    spoken: Words = ("hashtag",) if text[0] == "#" else ("at",)
    parts = _CAMEL.findall(text[1:])
    for part in parts:
        whole = len(parts) > 1 and len(part) > 3 and part[0].isupper() and part[1:].islower()
        said: Words = (fold_accents(part).lower(),) if whole and part.isascii() else ()
        initials = part.isupper() and 1 < len(part) < 6 and not is_sayable(part.lower())
        said = said or (name_letters(part) if initials else ())
        spoken += said or _SAID_IN_TAG.get(part, ()) or _read_part(part, tables)
    return spoken
