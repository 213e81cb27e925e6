"""Tokens to clauses: the stretches between the marks that close a sentence or a part of it.

Sentences by the rules of UAX #29 as far as they know words (a full stop before a lower-case
letter ends nothing, SB8; closing quotes and brackets stay with their stop, SB9), with the
abbreviations of our table besides. How a clause is said is decided elsewhere.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence
from itertools import accumulate, pairwise
from operator import itemgetter
from typing import Final

from drillgen.core.collector import CollectorPause
from drillgen.core.values import Boundary, Clause, Token, TokenKind
from drillgen.speech.text.neighbours import FUNCTION_WORDS, TIME_ZONES
from drillgen.speech.text.tables import Abbreviation, load_abbreviations

_HEADING_WORDS: Final = 9
"""A heading is at most this long."""

_LISTED, _LONGEST_LISTED = 2, 5
"""Words of most lines in a list of words, and of each, at most. Two lines are no list."""

_VERSE_LENGTH, _NARROW, _LONG_LINES = 60, 34, 4
"""Characters of a line of verse at most; of lines so short that nobody sets prose in them; so many
longer lines that all begin with a capital are verse as well."""

_ONWARD: Final = re.compile(
    "an?|the|and|or|but|so|of|to|for|from|with|at|by|as|my|your|his|our|their|that|which"
)
"""Words that end no message."""

_TERMINATORS: Final = frozenset(".!?…。！？‼⁇⁈⁉‽")
_CLOSERS: Final = frozenset("\"”’'»)]}›*_）」』")
_OPENERS: Final = frozenset("([{（")
_BRACKET_ENDS: Final = frozenset(")]}）")
_COMMAS: Final = frozenset(",;:，；：、")
_DASHES: Final = frozenset("—–―-‒−")
_LINE_BREAK: Final = re.compile("\r\n|[\n\r\u2028\u0085\v\f]|\u2029")
_LIST_MARK: Final = re.compile(r"[-–—*•‣◦▪·+→⁃∙]+")


def _is_list_mark(token: Token) -> bool:
    """A bullet: one of type, or a sign that isn't said (a tick, an emoji, what word processors
    keep in the private area of Unicode)."""
    if token.text[0].isascii() or token.spoken:
        return _LIST_MARK.fullmatch(token.text) is not None
    sign = unicodedata.category(token.text[0]) in ("So", "Co")
    return sign or _LIST_MARK.fullmatch(token.text) is not None


_SPOKEN = itemgetter(4)


def split_clauses(tokens: Sequence[Token]) -> tuple[Clause, ...]:
    """Where each clause ends, in order; the last one ends with the tokens.

    Each clause keeps the marks and the space after it; marks that open a quotation or a
    bracket go to the clause that they open. Tokens without any word to say join a neighbour.

    >>> from drillgen.speech.text.tokens import tokenize
    >>> [(c.end, c.marks) for c in split_clauses(tokenize("When the tide turns, is it late?"))]
    [(9, ','), (15, '?')]
    """
    row = tuple(tokens)
    if not row:
        return ()
    with CollectorPause():
        said = list(accumulate(map(len, map(_SPOKEN, row)), initial=0))
        return tuple(_Cutter(row, said).cut())


def count_lines(space: str) -> int:
    """Line breaks in white space; a paragraph separator (U+2029) counts as two."""
    if space == "\n":
        return 1
    return sum(2 if mark == "\u2029" else 1 for mark in _LINE_BREAK.findall(space))


def find_verse(tokens: Sequence[Token]) -> Mapping[int, Boundary]:
    """Numbers of the spaces that end lines of verse or of a list of words, and what they close.

    Prose is broken where the next word doesn't fit any more; a paragraph of short lines is
    verse if each begins with a capital, or if most of at least three end before they must. It
    is a list of words if most have two at most, none has many, and none has a mark.
    """
    verse: dict[int, Boundary] = {}
    breaks: list[int] = []
    start = 0
    for i, token in enumerate(tokens):
        if token[3] is not TokenKind.SPACE or token[0] == " ":
            continue
        lines = count_lines(token[0])
        if lines == 1:
            breaks.append(i)
        elif lines > 1:
            verse.update(_verse_breaks(tokens, start, i, breaks))
            breaks, start = [], i + 1
    verse.update(_verse_breaks(tokens, start, len(tokens), breaks))
    return verse


def _verse_breaks(
    tokens: Sequence[Token], start: int, end: int, breaks: list[int]
) -> Mapping[int, Boundary]:
    """The line breaks of one paragraph, if it is verse, a list of words or messages. In one
    piece because the first of these that fits decides."""
    while breaks and breaks[-1] + 1 >= end:
        # The break that ends the text.
        end = breaks.pop()
    if not breaks or start == breaks[0]:
        return {}
    firsts = [start, *(i + 1 for i in breaks)]
    lasts = [*breaks, end]
    if any(_is_list_mark(tokens[i]) for i in firsts):
        return {}
    marked = any(token.kind is TokenKind.PUNCTUATION for token in tokens[start:end])
    if len(breaks) >= _LISTED and not marked:
        counts = sorted(
            sum(map(len, map(_SPOKEN, tokens[a:b]))) for a, b in pairwise([start, *lasts])
        )
        if counts[len(counts) // 2] <= _LISTED and counts[-1] <= _LONGEST_LISTED:
            return dict.fromkeys(breaks, Boundary.MAJOR)
    lengths = [tokens[b - 1].end - tokens[a].start for a, b in zip(firsts, lasts, strict=True)]
    longest = max(lengths)
    starts = [
        next((t.text for t in tokens[a:b] if t.spoken), "")
        for a, b in zip(firsts, lasts, strict=True)
    ]
    verse = dict.fromkeys(breaks, Boundary.NONE)
    if all(text[:1].isupper() for text in starts) and (
        longest <= _VERSE_LENGTH or len(starts) >= _LONG_LINES
    ):
        return verse
    if longest > _VERSE_LENGTH:
        return {}
    pairs = zip(lengths, starts[1:], strict=False)
    early = sum(length + 1 + len(text) <= longest for length, text in pairs)
    if len(breaks) < _LISTED:
        return {}
    if early > 0.6 * len(breaks):
        return verse
    if not marked and not any(_ONWARD.fullmatch(tokens[i - 1].text) for i in breaks):
        # Messages of hasty people: each line is one.
        return dict.fromkeys(breaks, Boundary.MAJOR)
    return verse if longest <= _NARROW else {}


def _is_area_code(tokens: Sequence[Token], i: int) -> bool:
    """Whether a token is digits in brackets that a number goes on from: "(713) 555-0123"."""
    kinds = [token.kind for token in tokens[max(i - 1, 0) : i + 4]]
    bracket, number = TokenKind.PUNCTUATION, TokenKind.NUMBER
    return (
        kinds == [bracket, number, bracket, TokenKind.SPACE, number]
        and tokens[i].note == tokens[i + 3].note == "a telephone number"
    )


class _Cutter:
    """Finds where sentences and minor phrases end."""

    def __init__(self, tokens: tuple[Token, ...], said: list[int]) -> None:
        self.tokens = tokens
        self.said = said
        self.cuts: list[Clause] = []
        self.last = 0
        """Start of the phrase that is being read."""
        self.sentence = 0
        """Start of the sentence, or of the part after a quoted question in it."""
        self.verse = find_verse(tokens)
        self.abbreviations: dict[str, tuple[Abbreviation, ...]] | None = None
        self.run = (0, 0)
        """The last run of closing marks: where it starts, and just past its end."""

    def cut(self) -> list[Clause]:
        """All cuts, in order; the last one is at the end."""
        tokens = self.tokens
        word, space = TokenKind.WORD, TokenKind.SPACE
        marks = [
            i
            for i, token in enumerate(tokens)
            if token[0] != " " and (token[3] is not word or token[0][-1] == ".")
        ]
        for i in marks:
            if i < self.last:
                continue
            token = tokens[i]
            if token.kind is space:
                self._at_space(i)
            elif token.kind is TokenKind.PUNCTUATION:
                # Without a word since the last cut there is nothing to close off.
                if self.said[i] != self.said[self.last]:
                    self._at_mark(i, token.text[0])
            elif token.text[-1] == ".":
                self._at_abbreviation(i)
        end = len(tokens)
        if self.said[end] > self.said[self.last] or not self.cuts:
            self.cuts.append(Clause(end, Boundary.MAJOR, "", self.sentence))
        else:
            # What ends the text ends a sentence, even after a comma.
            last = self.cuts[-1]
            self.cuts[-1] = last._replace(end=end, boundary=Boundary.MAJOR, paragraph=False)
        return self.cuts

    def _add(self, end: int, boundary: Boundary, marks: str) -> None:
        """Cut after the space that follows, if the phrase has words."""
        tokens = self.tokens
        paragraph = line = False
        while end < len(tokens) and tokens[end][3] is TokenKind.SPACE:
            if tokens[end][0] != " ":
                paragraph = paragraph or count_lines(tokens[end].text) > 1
                line = line or end in self.verse
            end += 1
        if self.said[end] == self.said[self.last]:
            return
        if paragraph and boundary is not Boundary.MAJOR:
            boundary = Boundary.MAJOR
        self.cuts.append(Clause(end, boundary, marks, self.sentence, paragraph, line))
        self.last = end
        if boundary is Boundary.MAJOR:
            self.sentence = end

    def _past_closers(self, i: int) -> int:
        tokens = self.tokens
        start, end = self.run
        if start <= i < end:
            # Inside a run that was read already: a long one is read once.
            return end
        start = i
        while (
            i < len(tokens)
            and tokens[i].kind is TokenKind.PUNCTUATION
            and (tokens[i].text[0] in _CLOSERS or tokens[i].text[0] in _TERMINATORS)
        ):
            i += 1
        self.run = (start, i)
        return i

    def _after(self, i: int) -> str:
        """The text of the next token that is neither space nor an opening mark."""
        tokens = self.tokens
        while i < len(tokens):
            token = tokens[i]
            if token.kind is TokenKind.SPACE:
                if token.text != " " and count_lines(token.text) > 1:
                    return ""
            elif token.kind is not TokenKind.PUNCTUATION or token.text[0] not in "\"“‘'([«":
                return token.text
            i += 1
        return ""

    def _at_space(self, i: int) -> None:
        lines = count_lines(self.tokens[i].text)
        if lines > 1 or (lines == 1 and self._is_line_end(i)):
            self._add(i, Boundary.MAJOR, "")
        elif i in self.verse:
            self._add(i, self.verse[i], "")

    def _is_line_end(self, i: int) -> bool:
        """Whether a single line break ends a heading or a list item, not just a line.

        A list item ends where the next line has a list mark. A heading is the first line of
        a paragraph; it is short, has no mark at its end, and the first word of the next line,
        a capitalised one, would have fitted on it.
        """
        tokens = self.tokens
        k = i + 1
        if k < len(tokens) and _is_list_mark(tokens[k]):
            return k + 1 < len(tokens) and tokens[k + 1].kind is TokenKind.SPACE
        if k + 1 < len(tokens) and tokens[k + 1].text in (".", ")"):
            short = tokens[k].kind is TokenKind.NUMBER or len(tokens[k].text) == 1
            if short and k + 2 < len(tokens) and tokens[k + 2].kind is TokenKind.SPACE:
                return True
        if k >= len(tokens) or not tokens[k].text[0].isupper():
            return False
        if tokens[i - 1].kind is TokenKind.PUNCTUATION and tokens[i - 1].text[0] not in _CLOSERS:
            return False
        if self.last and not (self.cuts and self.cuts[-1].paragraph and self.last < i):
            return False
        if self.said[i] - self.said[self.last] > _HEADING_WORDS:
            return False
        length = tokens[i].start - tokens[self.last].start
        end = k
        limit = min(len(tokens), i + 60)
        while end < limit and "\n" not in tokens[end].text:
            end += 1
        following = tokens[end - 1].end - tokens[k].start
        return length + 1 + len(tokens[k].text) < following

    def _at_abbreviation(self, i: int) -> None:
        """A token that ends with a stop: it may end the sentence too."""
        token = self.tokens[i]
        end = self._past_closers(i + 1)
        if end < len(self.tokens) and self.tokens[end].kind is not TokenKind.SPACE:
            return
        after = self._after(end)
        if after == "" or (token.spoken and self._may_end(token, after)):
            self._add(end, Boundary.MAJOR, self._marks(i + 1, end) or ".")

    def _may_end(self, token: Token, after: str) -> bool:
        if not after[0].isupper() or after in TIME_ZONES:
            return False
        if self.abbreviations is None:
            self.abbreviations = load_abbreviations()
        function = after.lower() in FUNCTION_WORDS
        text = token.text.lower()
        entries = self.abbreviations.get(text) or self.abbreviations.get(text[:-1]) or ()
        for entry in entries:
            if entry.spoken == token.spoken:
                return entry.ends == "capital" or (entry.ends == "function" and function)
        if len(token.text) == 2:
            # An initial: the tokenizer took the stop because a name follows.
            return False
        return function

    def _at_mark(self, i: int, char: str) -> None:
        if char in _TERMINATORS:
            self._at_terminator(i, char)
        elif char in _COMMAS:
            end = self._past_closers(i + 1)
            spaced = end == len(self.tokens) or self.tokens[end].kind is TokenKind.SPACE
            if spaced or not char.isascii():  # full-width marks bring their own space
                self._add(end, Boundary.MINOR, self._marks(i, end))
        elif char in _DASHES:
            self._at_dash(i)
        elif char in _OPENERS:
            spaced = i > 0 and self.tokens[i - 1].kind is TokenKind.SPACE
            told = self.said[i] > self.said[self.last]
            if spaced and told and not _is_area_code(self.tokens, i + 1):
                self.cuts.append(Clause(i, Boundary.MINOR, char, self.sentence))
                self.last = i
        elif char in _BRACKET_ENDS:
            end = i + 1
            spaced = end == len(self.tokens) or self.tokens[end].kind is TokenKind.SPACE
            if spaced and not _is_area_code(self.tokens, i - 1):
                self._add(end, Boundary.MINOR, char)

    def _at_dash(self, i: int) -> None:
        tokens = self.tokens
        if i + 1 >= len(tokens):
            return
        text = tokens[i].text
        spaced = tokens[i + 1].kind is TokenKind.SPACE
        before = i > 0 and tokens[i - 1].kind is TokenKind.SPACE
        if (text[0] in "—―" or len(text) > 1 or (spaced and before)) and (
            spaced or tokens[i + 1].kind is not TokenKind.PUNCTUATION
        ):
            self._add(i + 1, Boundary.MINOR, text)

    def _at_terminator(self, i: int, char: str) -> None:
        tokens = self.tokens
        end = self._past_closers(i + 1)
        after = self._after(end)
        spaced = end == len(tokens) or tokens[end].kind is TokenKind.SPACE
        lower = after[:1].islower()
        ellipsis = char == "…" or tokens[i].text.startswith("..")
        if not spaced:
            dashed = tokens[end].text[0] in "—―"
            # "At home...is there more": the words go on without a space.
            joined = ellipsis and after[:1].isalpha() and tokens[i - 1].kind is TokenKind.WORD
            if not joined and (ellipsis or not (after[:1].isupper() or dashed)):
                return
            if dashed:
                end += 1
                lower = True
        marks = self._marks(i, end)
        if ellipsis:
            self._add(end, Boundary.MINOR if lower else Boundary.MAJOR, marks)
        elif char in ".。":
            if not lower and not self._is_list_number(i):
                self._add(end, Boundary.MAJOR, marks)
        else:
            quoted = any(token.text[0] in _CLOSERS for token in tokens[i + 1 : end])
            inside = lower and (quoted or not spaced)
            self._add(end, Boundary.MINOR if inside else Boundary.MAJOR, marks)
            if inside:
                self.sentence = self.last

    def _is_list_number(self, i: int) -> bool:
        """As in "1." or "a." at the start of a line."""
        tokens = self.tokens
        if i == 0 or not (tokens[i - 1].kind is TokenKind.NUMBER or len(tokens[i - 1].text) == 1):
            return False
        if i == 1:
            return len(tokens) > 2 and self._after(i + 1) != ""
        return tokens[i - 2].kind is TokenKind.SPACE and count_lines(tokens[i - 2].text) > 0

    def _marks(self, i: int, end: int) -> str:
        return "".join(token.text for token in self.tokens[i:end])
