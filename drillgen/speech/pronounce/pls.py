"""Overrides as a W3C Pronunciation Lexicon, read and written.

Pronunciation Lexicon Specification (PLS) Version 1.0, W3C Recommendation of
14 October 2008; the section numbers below are its own.

A lexicon from somewhere else is not to be trusted: the parser is expat with
hooks that refuse every entity declaration, so neither expanding nor external
entities can occur. Elements outside the namespace of PLS are passed over.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Final, NamedTuple
from xml.parsers import expat
from xml.sax.saxutils import escape

from drillgen.core.errors import InputError, placed
from drillgen.core.phones import format_phones, parse_phones, vowel_indexes
from drillgen.core.syllables import to_ipa
from drillgen.core.values import Phones
from drillgen.speech.pronounce.ipa import parse_ipa
from drillgen.speech.pronounce.lexicon import PHONE_TABLE
from drillgen.speech.pronounce.overrides import Override, Overrides, no_lookup, normalize_word
from drillgen.speech.pronounce.soundalike import Lookup

NAMESPACE: Final = "http://www.w3.org/2005/01/pronunciation-lexicon"
ARPABET: Final = "x-cmu-arpabet"
"""Our alphabet; vendor alphabets begin with "x-" (section 2)."""

_XML: Final = "http://www.w3.org/XML/1998/namespace"
_CHILDREN: Final = MappingProxyType(
    {
        "": ("lexicon",),
        "lexicon": ("meta", "metadata", "lexeme"),
        "lexeme": ("grapheme", "phoneme", "alias", "example"),
        "meta": (),
        "metadata": (),
        "grapheme": (),
        "phoneme": (),
        "alias": (),
        "example": (),
    }
)
"""Which elements may stand in which (sections 4.1 to 4.8)."""

_TEXT: Final = frozenset({"grapheme", "phoneme", "alias", "example"})
_MAX_ALIASES: Final = 8
"""Steps from alias to alias that are followed."""

_MAX_PHONES: Final = 200
"""Phones of one entry: aliases of aliases could grow without end."""


class _Said(NamedTuple):
    """One phoneme or alias element."""

    is_alias: bool
    text: str
    prefer: bool
    alphabet: str
    line: int


@dataclass(slots=True)
class _Lexeme:
    """One lexeme element while it is read."""

    line: int
    role: str
    graphemes: list[str] = field(default_factory=list)
    said: list[_Said] = field(default_factory=list)
    note: str = ""

    def best(self) -> _Said:
        """The first preferred one, else the first (section 4.9)."""
        return next((said for said in self.said if said.prefer), self.said[0])

    def alias_words(self) -> list[str]:
        return [normalize_word(word).strip(".,;:!?") for word in self.best().text.split()]


class _Reader:
    """Collects lexemes from expat's events."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.alphabet = ""
        self.lexemes: list[_Lexeme] = []
        self._path: list[str] = []
        self._text: list[str] = []
        self._attributes: dict[str, str] = {}
        self._foreign = 0
        self.parser = expat.ParserCreate(namespace_separator=" ")
        hooks: dict[str, Callable[..., object]] = {
            "StartElementHandler": self._start,
            "EndElementHandler": self._end,
            "CharacterDataHandler": self._characters,
            "CommentHandler": self._comment,
            "EntityDeclHandler": self._refuse_entity,
            "UnparsedEntityDeclHandler": self._refuse_entity,
            "ExternalEntityRefHandler": self._refuse_entity,
            "SkippedEntityHandler": self._refuse_entity,
        }
        for hook, function in hooks.items():
            setattr(self.parser, hook, function)

    def error(self, problem: str, mend: str, line: int = 0) -> InputError:
        return InputError(
            problem, mend, file=self.name, line=line or self.parser.CurrentLineNumber
        )

    def _refuse_entity(self, *_: object) -> int:
        raise self.error("entities aren't allowed", "write the characters themselves")

    def _start(self, tag: str, attributes: dict[str, str]) -> None:
        space, _, local = tag.rpartition(" ")
        if self._foreign or (space != NAMESPACE and self._path):
            self._foreign += 1
            return
        parent = self._path[-1] if self._path else ""
        if space != NAMESPACE or local not in _CHILDREN[parent]:
            inside = f" inside <{parent}>" if parent else ""
            mend = f'begin with <lexicon xmlns="{NAMESPACE}">'
            if parent:
                allowed = ", ".join(f"<{child}>" for child in _CHILDREN[parent]) or "text"
                mend = f"only {allowed} may stand there"
            raise self.error(f"<{local}>{inside} isn't part of a pronunciation lexicon", mend)
        self._path.append(local)
        self._text = []
        self._attributes = attributes
        if local == "lexicon":
            self._check_lexicon(attributes)
        elif local == "lexeme":
            line = self.parser.CurrentLineNumber
            self.lexemes.append(_Lexeme(line, attributes.get("role", "")))

    def _check_lexicon(self, attributes: dict[str, str]) -> None:
        """Section 4.1: version, language and alphabet are required."""
        if attributes.get("version") != "1.0":
            raise self.error("the lexicon's version isn't 1.0", 'write version="1.0"')
        language = attributes.get(f"{_XML} lang", "")
        if language.lower().split("-")[0] != "en":
            problem = f"the language is {language!r}" if language else "the language is missing"
            raise self.error(problem, 'only English can be read: xml:lang="en"')
        self.alphabet = attributes.get("alphabet", "")
        if not self.alphabet:
            raise self.error("the alphabet is missing", 'write alphabet="ipa"')

    def _end(self, _: str) -> None:
        if self._foreign:
            self._foreign -= 1
            return
        local = self._path.pop()
        text = " ".join("".join(self._text).split())
        if local in _TEXT:
            self._text = []
        if local == "grapheme":
            if not text:
                raise self.error("<grapheme> is empty", "write the word in it")
            self.lexemes[-1].graphemes.append(text)
        elif local in ("phoneme", "alias"):
            self._add_said(local, text)
        elif local == "lexeme":
            lexeme = self.lexemes[-1]
            if not lexeme.graphemes:
                raise self.error("<lexeme> has no <grapheme>", "add the word", lexeme.line)
            if not lexeme.said:
                mend = "add its pronunciation"
                raise self.error("<lexeme> has no <phoneme> or <alias>", mend, lexeme.line)

    def _add_said(self, local: str, text: str) -> None:
        if not text:
            raise self.error(f"<{local}> is empty", "write the pronunciation in it")
        prefer = self._attributes.get("prefer", "false")
        if prefer not in ("true", "false"):
            raise self.error(f"prefer is {prefer!r}", 'write "true" or "false"')
        alphabet = self._attributes.get("alphabet", self.alphabet)
        line = self.parser.CurrentLineNumber
        said = _Said(local == "alias", text, prefer == "true", alphabet, line)
        self.lexemes[-1].said.append(said)

    def _characters(self, text: str) -> None:
        if self._foreign:
            return
        here = self._path[-1]
        if here in _TEXT:
            self._text.append(text)
        elif text.strip() and here != "metadata":
            raise self.error(f"text {text.strip()[:20]!r} in <{here}>", "put it in an element")

    def _comment(self, text: str) -> None:
        if self._path[-1:] == ["lexeme"] and not self._foreign:
            self.lexemes[-1].note = " ".join(text.split())


def read_pls(data: bytes, name: str, lookup: Lookup = no_lookup) -> Overrides:
    """Read a lexicon document; `name` is the file's name for messages.

    `lookup` finds the words of aliases that the lexicon itself hasn't. Of
    several pronunciations the preferred or first counts (section 4.9), of
    several lexemes for a word the first. What can't be used (more than one
    word, an unknown vendor alphabet) is left out and named in `warnings`, as
    is a guessed stress. Raises InputError with the line for a document that
    isn't well-formed or isn't PLS 1.0, and for an unknown phoneme.
    """
    reader = _Reader(name)
    try:
        reader.parser.Parse(data, True)
    except expat.ExpatError as error:
        problem = f"not well-formed XML ({expat.ErrorString(error.code)})"
        raise InputError(
            problem, "mend or export it again", file=name, line=error.lineno
        ) from None
    except (ValueError, LookupError) as error:
        # An encoding that expat leaves to Python's codecs, and they refuse too.
        raise InputError(str(error), "save the lexicon as UTF-8", file=name) from None
    return _collect(reader, lookup)


def _collect(reader: _Reader, lookup: Lookup) -> Overrides:
    name = reader.name
    by_word: dict[str, _Lexeme] = {}
    warnings: list[str] = []
    for lexeme in reader.lexemes:
        for grapheme in lexeme.graphemes:
            word = normalize_word(grapheme)
            place = f"{name}, line {lexeme.line}"
            if " " in word or not any(char.isalpha() for char in word):
                warnings.append(f"{place}: {grapheme!r} isn't a single word and is left out")
                continue
            before = by_word.setdefault(word, lexeme)
            if before is not lexeme and before.best()[:2] != lexeme.best()[:2]:
                first = f"the one on line {before.line} counts"
                warnings.append(f"{place}: {grapheme!r} is there already; {first}")
    found = _resolve(by_word, name, lookup, warnings)
    entries = {
        word: Override(word, found[id(lexeme)], lexeme.line, lexeme.note)
        for word, lexeme in by_word.items()
        if id(lexeme) in found
    }
    return Overrides(MappingProxyType(entries), tuple(warnings))


def _resolve(
    by_word: dict[str, _Lexeme], name: str, lookup: Lookup, warnings: list[str]
) -> dict[int, Phones]:
    """The phones of each lexeme, by its id.

    Phonemes first; then aliases in rounds, so that one may name another
    (section 4.7); what is left then, rings and long chains, gets the dictionary.
    """
    found: dict[int, Phones] = {}
    waiting: list[_Lexeme] = []
    for lexeme in {id(lexeme): lexeme for lexeme in by_word.values()}.values():
        said = lexeme.best()
        if said.is_alias:
            waiting.append(lexeme)
            continue
        with placed(name, said.line):
            phones = _read_phoneme(said, f"{name}, line {said.line}", warnings)
        if phones is not None:
            found[id(lexeme)] = phones
    for last in (*[False] * _MAX_ALIASES, True):
        ready: dict[int, Phones] = {}
        for lexeme in waiting:
            parts = [
                _find(word, lexeme, by_word, found, lookup, last) for word in lexeme.alias_words()
            ]
            whole = tuple(phone for part in parts if part for phone in part)
            if all(parts) and len(whole) <= _MAX_PHONES:
                ready[id(lexeme)] = whole
            elif last:
                said = lexeme.best()
                missing = [w for w, p in zip(lexeme.alias_words(), parts, strict=True) if not p]
                problem = f"the alias {said.text[:30]!r} is too long"
                if missing:
                    problem = f"the alias {missing[0]!r} isn't in the dictionary"
                left = f"{lexeme.graphemes[0]!r} is left out"
                warnings.append(f"{name}, line {said.line}: {problem}; {left}")
        found |= ready
        waiting = [lexeme for lexeme in waiting if id(lexeme) not in ready]
    return found


def _find(
    word: str,
    asking: _Lexeme,
    by_word: dict[str, _Lexeme],
    found: dict[int, Phones],
    lookup: Lookup,
    last: bool,
) -> Phones | None:
    """A word of an alias: the lexicon's own entry before the dictionary's."""
    other = by_word.get(word)
    if other is None or other is asking:
        return lookup(word)
    return found.get(id(other)) or (lookup(word) if last else None)


def _read_phoneme(said: _Said, place: str, warnings: list[str]) -> Phones | None:
    if said.alphabet == ARPABET:
        return parse_phones(said.text)
    if said.alphabet != "ipa":
        known = f'use "ipa" or "{ARPABET}"'
        warnings.append(f"{place}: the alphabet {said.alphabet!r} is unknown; {known}")
        return None
    phones = parse_ipa(said.text)
    vowels = vowel_indexes(phones)
    if len(vowels) > 1 and not any(phone.stress == 1 for phone in phones):
        # The first full vowel: right for most words, and named so that it can be mended.
        i = next((v for v in vowels if phones[v].symbol not in ("AH", "ER")), vowels[0])
        warnings.append(f"{place}: {said.text!r} has no stress mark; the first full vowel got it")
        phones = (*phones[:i], PHONE_TABLE[f"{phones[i].symbol}1"], *phones[i + 1 :])
    return phones


def write_pls(overrides: Overrides) -> str:
    """A lexicon document (to be encoded in UTF-8) with all entries, in order.

    IPA for the sake of other programs; where IPA would not come back as the
    same phones (a word of one syllable has no stress mark, for one), our own
    alphabet. Notes become comments. Raises InputError for a word with a
    character that XML can't hold.
    """
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<lexicon version="1.0" xmlns="{NAMESPACE}" alphabet="ipa" xml:lang="en">',
    ]
    for entry in overrides:
        lines += ["  <lexeme>"]
        if entry.note:
            lines.append(f"    <!-- {_comment_text(entry.note)} -->")
        lines.append(f"    <grapheme>{escape(_checked(entry.word))}</grapheme>")
        lines.append(f"    {_phoneme(entry.phones)}")
        lines.append("  </lexeme>")
    return "\n".join([*lines, "</lexicon>", ""])


def _phoneme(phones: Phones) -> str:
    ipa = to_ipa(phones)
    # Without a main stress a reader would have to guess one.
    stressed = len(vowel_indexes(phones)) < 2 or any(phone.stress == 1 for phone in phones)
    if stressed and parse_ipa(ipa) == phones:
        return f"<phoneme>{ipa}</phoneme>"
    return f'<phoneme alphabet="{ARPABET}">{format_phones(phones)}</phoneme>'


def _comment_text(note: str) -> str:
    """A note without what XML forbids in comments: "--", a "-" at the end."""
    text = _checked(" ".join(note.split()))
    while "--" in text:
        text = text.replace("--", "- -")
    return f"{text} " if text.endswith("-") else text


def _checked(text: str) -> str:
    for char in text:
        # Char in XML 1.0, section 2.2.
        if not (
            char in "\t\n\r"
            or " " <= char <= "\ud7ff"
            or "\ue000" <= char <= "\ufffd"
            or char > "\uffff"
        ):
            problem = f"{text!r} has a character that XML can't hold ({ord(char):#x})"
            raise InputError(problem, "take it out of the word list")
    return text
