"""Overrides as a W3C Pronunciation Lexicon, read and written.

Pronunciation Lexicon Specification (PLS) Version 1.0, W3C Recommendation of
14 October 2008; the section numbers below are its own.

A lexicon from somewhere else is not to be trusted: defusedxml refuses every
entity declaration, so neither expanding nor external entities can occur.
Elements outside the namespace of PLS are passed over.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from io import BytesIO
from types import MappingProxyType
from typing import Any, Final
from xml.sax import SAXParseException, handler
from xml.sax.saxutils import escape

from defusedxml.common import DefusedXmlException
from defusedxml.sax import make_parser

from drillgen.core.errors import InputError, placed
from drillgen.core.phones import PHONE_TABLE, format_phones, parse_phones, vowel_indexes
from drillgen.core.syllables import to_ipa
from drillgen.core.values import Phones
from drillgen.speech.pronounce.ipa import parse_ipa
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
    }
)
"""Which elements may stand in which (sections 4.1 to 4.8); in all others, none."""

_TEXT: Final = frozenset({"grapheme", "phoneme", "alias", "example", "metadata"})
"""Where text may stand."""

_Warn = Callable[[int, str], None]
"""Told a line and what was left out or guessed there."""

_MAX_ALIASES: Final = 8
"""Steps from alias to alias that are followed."""

_MAX_PHONES: Final = 200
"""Phones of one entry: aliases of aliases could grow without end."""


@dataclass(slots=True, eq=False)
class _Node:
    """An element of the namespace."""

    name: str
    line: int
    attributes: dict[tuple[str | None, str], str]
    children: list[_Node] = field(default_factory=list)
    text: str = ""
    comment: str = ""

    def get(self, name: str, default: str = "", *, space: str | None = None) -> str:
        return self.attributes.get((space, name), default)

    def among(self, *names: str) -> list[_Node]:
        return [child for child in self.children if child.name in names]

    @property
    def best(self) -> _Node:
        """Of a lexeme: what is said, the first preferred one, else the first (section 4.9)."""
        said = self.among("phoneme", "alias")
        return next((node for node in said if node.get("prefer") == "true"), said[0])

    @property
    def alias_words(self) -> list[str]:
        """Of a lexeme whose best is an alias: the words to look up."""
        return [normalize_word(word).strip(".,;:!?") for word in self.best.text.split()]


class _Builder(handler.ContentHandler, handler.LexicalHandler):
    """Makes a tree of the elements in the namespace, and refuses those out of place."""

    def __init__(self, parser: Any) -> None:
        super().__init__()
        self.parser = parser
        self.open = [_Node("", 0, {})]
        self.foreign = 0

    @property
    def line(self) -> int:
        """Of the event at hand."""
        return self.parser.getLineNumber() or 1

    def startElementNS(self, name: Any, qname: Any, attrs: Any) -> None:  # noqa: ARG002
        space, local = name
        parent = self.open[-1]
        if self.foreign or (space != NAMESPACE and parent.name):
            self.foreign += 1
            return
        allowed = _CHILDREN.get(parent.name, ())
        if space != NAMESPACE or local not in allowed:
            inside = f" inside <{parent.name}>" if parent.name else ""
            mend = f'begin with <lexicon xmlns="{NAMESPACE}">'
            if parent.name:
                only = ", ".join(f"<{child}>" for child in allowed) or "text"
                mend = f"only {only} may stand there"
            raise InputError(f"<{local}>{inside} isn't part of a pronunciation lexicon", mend)
        self.open.append(_Node(local, self.line, dict(attrs.items())))
        parent.children.append(self.open[-1])

    def endElementNS(self, name: Any, qname: Any) -> None:  # noqa: ARG002
        if self.foreign:
            self.foreign -= 1
            return
        node = self.open.pop()
        node.text = " ".join(node.text.split())
        with placed("", node.line):
            _check(node)

    def characters(self, content: str) -> None:
        node = self.open[-1]
        if self.foreign:
            return
        if content.strip() and node.name not in _TEXT:
            problem = f"text {content.strip()[:20]!r} in <{node.name}>"
            raise InputError(problem, "put it in an element")
        node.text += content

    def comment(self, content: str) -> None:
        if not self.foreign:
            self.open[-1].comment = " ".join(content.split())


def _check(node: _Node) -> None:
    """Refuse an element that lacks what the specification asks of it."""
    if node.name == "lexicon":  # section 4.1
        language = node.get("lang", space=_XML)
        if node.get("version") != "1.0":
            raise InputError("the lexicon's version isn't 1.0", 'write version="1.0"')
        if language.lower().split("-")[0] != "en":
            problem = f"the language is {language!r}" if language else "the language is missing"
            raise InputError(problem, 'only English can be read: xml:lang="en"')
        if not node.get("alphabet"):
            raise InputError("the alphabet is missing", 'write alphabet="ipa"')
    elif node.name == "lexeme":
        if not node.among("grapheme"):
            raise InputError("<lexeme> has no <grapheme>", "add the word")
        if not node.among("phoneme", "alias"):
            mend = "add its pronunciation"
            raise InputError("<lexeme> has no <phoneme> or <alias>", mend)
    elif node.name in ("grapheme", "phoneme", "alias"):
        if not node.text:
            what = "word" if node.name == "grapheme" else "pronunciation"
            raise InputError(f"<{node.name}> is empty", f"write the {what} in it")
        if node.get("prefer", "false") not in ("true", "false"):
            raise InputError(f"prefer is {node.get('prefer')!r}", 'write "true" or "false"')


def _read_tree(data: bytes) -> _Node:
    """The root element. InputError with the line where that can't be."""
    parser = make_parser()
    builder = _Builder(parser)
    parser.setFeature(handler.feature_namespaces, True)
    parser.setProperty(handler.property_lexical_handler, builder)
    parser.setContentHandler(builder)
    try:
        parser.parse(BytesIO(data))
    except InputError as error:
        error.line = error.line or builder.line
        raise
    except SAXParseException as error:
        problem, mend = f"not well-formed XML ({error.getMessage()})", "mend or export it again"
        raise InputError(problem, mend, line=error.getLineNumber() or 1) from None
    except DefusedXmlException:
        mend = "write the characters themselves"
        raise InputError("entities aren't allowed", mend, line=builder.line) from None
    except (ValueError, LookupError) as error:
        # An encoding that expat leaves to Python's codecs, and they refuse too.
        raise InputError(str(error), "save the lexicon as UTF-8") from None
    return builder.open[0].children[0]


def read_pls(data: bytes, name: str, lookup: Lookup = no_lookup) -> Overrides:
    """Read a lexicon document; `name` is the file's name for messages.

    `lookup` finds the words of aliases that the lexicon itself hasn't. Of
    several pronunciations the preferred or first counts (section 4.9), of
    several lexemes for a word the first. What can't be used (more than one
    word, an unknown vendor alphabet) is left out and named in `warnings`, as
    is a guessed stress. Raises InputError with the line for a document that
    isn't well-formed or isn't PLS 1.0, and for an unknown phoneme.
    """
    by_word: dict[str, _Node] = {}
    warnings: list[str] = []

    def warn(line: int, text: str) -> None:
        warnings.append(f"{name}, line {line}: {text}")

    with placed(name):
        root = _read_tree(data)
    for lexeme in root.among("lexeme"):
        for grapheme in lexeme.among("grapheme"):
            word = normalize_word(grapheme.text)
            if " " in word or not any(char.isalpha() for char in word):
                warn(lexeme.line, f"{grapheme.text!r} isn't a single word and is left out")
                continue
            before = by_word.setdefault(word, lexeme)
            one, other = before.best, lexeme.best
            if before is not lexeme and (one.name, one.text) != (other.name, other.text):
                first = f"the one on line {before.line} counts"
                warn(lexeme.line, f"{grapheme.text!r} is there already; {first}")
    found: dict[_Node, Phones] = {}
    for lexeme in dict.fromkeys(by_word.values()):
        if lexeme.best.name == "phoneme":
            with placed(name, lexeme.best.line):
                phones = _read_phoneme(lexeme.best, root.get("alphabet"), warn)
            if phones is not None:
                found[lexeme] = phones
    _follow_aliases(by_word, found, lookup, warn)
    entries = {
        word: Override(word, found[lexeme], lexeme.line, lexeme.comment)
        for word, lexeme in by_word.items()
        if lexeme in found
    }
    return Overrides(MappingProxyType(entries), tuple(warnings))


def _follow_aliases(
    by_word: Mapping[str, _Node], found: dict[_Node, Phones], lookup: Lookup, warn: _Warn
) -> None:
    """Find the phones of aliases, in rounds, so that one may name another (section 4.7).

    The lexicon's own entry comes before the dictionary's; what is left in the
    end, rings and long chains, gets the dictionary's.
    """
    waiting = [node for node in dict.fromkeys(by_word.values()) if node.best.name == "alias"]
    for last in (*[False] * _MAX_ALIASES, True):
        ready: dict[_Node, Phones] = {}
        for lexeme in waiting:
            parts: dict[str, Phones | None] = {}
            for word in lexeme.alias_words:
                other = by_word.get(word, lexeme)
                parts[word] = found.get(other)
                if other is lexeme or (last and not parts[word]):
                    parts[word] = lookup(word)
            said = [parts[word] or () for word in lexeme.alias_words]
            whole = tuple(phone for phones in said for phone in phones)
            if all(said) and len(whole) <= _MAX_PHONES:
                ready[lexeme] = whole
            elif last:
                problem = f"the alias {lexeme.best.text[:30]!r} is too long"
                if missing := [word for word, phones in parts.items() if not phones]:
                    problem = f"the alias {missing[0]!r} isn't in the dictionary"
                left_out = lexeme.among("grapheme")[0].text
                warn(lexeme.best.line, f"{problem}; {left_out!r} is left out")
        found |= ready
        waiting = [lexeme for lexeme in waiting if lexeme not in ready]


def _read_phoneme(node: _Node, alphabet: str, warn: _Warn) -> Phones | None:
    notation = node.get("alphabet", alphabet)
    if notation == ARPABET:
        return parse_phones(node.text)
    if notation != "ipa":
        known = f'use "ipa" or "{ARPABET}"'
        warn(node.line, f"the alphabet {notation!r} is unknown; {known}")
        return None
    phones = parse_ipa(node.text)
    vowels = vowel_indexes(phones)
    if len(vowels) > 1 and not any(phone.stress == 1 for phone in phones):
        # The first full vowel: right for most words, and named so that it can be mended.
        i = next((v for v in vowels if phones[v].symbol not in ("AH", "ER")), vowels[0])
        warn(node.line, f"{node.text!r} has no stress mark; the first full vowel got it")
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
    if (bad := _NO_XML.search(text)) is not None:
        problem = f"{text!r} has a character that XML can't hold ({ord(bad[0]):#x})"
        raise InputError(problem, "take it out of the word list")
    return text


_NO_XML: Final = re.compile("[^\t\n\r -\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""What is not Char in XML 1.0, section 2.2."""
