"""Tokens to breath phrases, with a boundary and a tune for each.

Boundaries: sentences by the rules of UAX #29 as far as they know words (a full stop before a
lower-case letter ends nothing, SB8; closing quotes and brackets stay with their stop, SB9),
with the abbreviations of our table besides. Tunes: J. C. Wells (2006), English Intonation,
chapter 2: statements, commands, exclamations and wh-questions fall, yes/no questions rise,
what is not finished rises, alternatives ("tea or coffee?") rise and then fall.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import accumulate
from operator import itemgetter
from typing import Final, NamedTuple

from drillgen.core.values import Boundary, Phrase, Token, TokenKind, Tune
from drillgen.speech.text.collector import CollectorPause
from drillgen.speech.text.neighbours import FUNCTION_WORDS
from drillgen.speech.text.tables import Abbreviation, load_abbreviations, word_set

MAX_WORDS: Final = 9
MAX_SYLLABLES: Final = 12
"""A phrase that is longer than both allow is split where one can breathe (common practice:
a slow reader's comfortable breath group)."""

_LONG_WORDS: Final = 13
"""From here on, a phrase is split before "of" too."""

_MIN_WORDS: Final = 3
"""No breath split leaves a part shorter than this."""

_TERMINATORS: Final = frozenset(".!?…。！？‼⁇⁈⁉‽")
_QUESTIONS: Final = frozenset("?？⁇⁈‽")
_CLOSERS: Final = frozenset("\"”’'»)]}›*_）」』")
_OPENERS: Final = frozenset("([{（")
_BRACKET_ENDS: Final = frozenset(")]}）")
_COMMAS: Final = frozenset(",;:，；：、")
_DASHES: Final = frozenset("—–―-‒−")
_SYLLABLE: Final = re.compile("[aeiouy]+")
_SILENT: Final = re.compile(
    r"[aeiouy][^aeiouy\s]*[^aeiouyl\s]es?\b|[aeiouy][^aeiouy\s]*[^aeiouytd\s]ed\b"
)
_LINE_BREAK: Final = re.compile("\r\n|[\n\r\u2028\u0085\v\f]|\u2029")
_LIST_MARK: Final = re.compile(r"[-–—*•‣◦▪·+]+")

_CLAUSE_WORDS: Final = word_set(
    "and but or nor so yet because although though while when where which who whom whose that "
    "if unless until since before after as than whether"
)
_PREPOSITIONS: Final = word_set(
    "about above across against along among around at behind below beneath beside between "
    "beyond by down during for from in inside into near of off on onto out over past through to "
    "toward towards under up upon with within without"
)
_CLINGING: Final = FUNCTION_WORDS | _PREPOSITIONS
"""Words that lean on the next one: nobody breathes after them."""

_WH: Final = word_set("who whom whose what which when where why how whoever whatever")
_LEADERS: Final = word_set("and but so or well oh then now ok okay yes no please")
_AUXILIARIES: Final = word_set(
    "am is are was were do does did have has had can could will would shall should may might "
    "must isn't aren't wasn't weren't don't doesn't didn't haven't hasn't hadn't can't couldn't "
    "won't wouldn't shan't shouldn't mustn't ain't needn't"
)
_PRONOUNS: Final = word_set("i you he she it we they there one")
_CHECKS: Final = word_set("right okay ok eh huh yes no yeah")
_NEGATIVES: Final = word_set("not never no nobody nothing hardly nowhere")


class _Cut(NamedTuple):
    """Where a phrase ends."""

    end: int
    boundary: Boundary
    tune: Tune
    comma: bool = False
    paragraph: bool = False
    """A new paragraph begins after it."""


_SPOKEN = itemgetter(4)


def split_phrases(tokens: Sequence[Token]) -> tuple[Phrase, ...]:
    """Breath phrases. Their tokens join to the tokens that were given.

    Each phrase keeps the marks and the space after it; marks that open a quotation or a
    bracket go to the phrase that they open. Tokens without any word to say join a neighbour.

    >>> from drillgen.speech.text.tokens import tokenize
    >>> for phrase in split_phrases(tokenize("When the tide turns, is the bell rung?")):
    ...     print("".join(t.text for t in phrase.tokens), phrase.boundary, phrase.tune)
    When the tide turns,  minor rise
    is the bell rung? major rise
    """
    row = tuple(tokens)
    if not row:
        return ()
    with CollectorPause():
        said = list(accumulate(map(len, map(_SPOKEN, row)), initial=0))
        cuts = _breathe(row, said, _join_short(row, said, _Cutter(row, said).cut()))
        phrases = []
        start = sentence = paragraph = 0
        for end, boundary, tune, _, new_paragraph in cuts:
            phrases.append(Phrase(row[start:end], boundary, tune, sentence, paragraph))
            start = end
            if boundary is Boundary.MAJOR:
                sentence += 1
                paragraph += new_paragraph
        return tuple(phrases)


def count_lines(space: str) -> int:
    """Line breaks in white space; a paragraph separator (U+2029) counts as two."""
    if space == "\n":
        return 1
    return sum(2 if mark == "\u2029" else 1 for mark in _LINE_BREAK.findall(space))


class _Cutter:
    """Finds where sentences and minor phrases end."""

    def __init__(self, tokens: tuple[Token, ...], said: list[int]) -> None:
        self.tokens = tokens
        self.said = said
        self.cuts: list[_Cut] = []
        self.last = 0
        """Start of the phrase that is being read."""
        self.sentence = 0
        """Start of the sentence, or of the part after a quoted question in it."""
        self.abbreviations: dict[str, tuple[Abbreviation, ...]] | None = None
        self.run = (0, 0)
        """The last run of closing marks: where it starts, and just past its end."""

    def cut(self) -> list[_Cut]:
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
            self.cuts.append(_Cut(end, Boundary.MAJOR, Tune.FALL))
        else:
            last = self.cuts[-1]
            # What ends the text ends a sentence, even after a comma.
            self.cuts[-1] = last._replace(end=end, boundary=Boundary.MAJOR, paragraph=False)
            if last.boundary is not Boundary.MAJOR and last.comma:
                self.cuts[-1] = self.cuts[-1]._replace(tune=Tune.FALL)
        return self.cuts

    def _add(self, end: int, boundary: Boundary, tune: Tune, comma: bool = False) -> None:
        """Cut after the space that follows, if the phrase has words."""
        tokens = self.tokens
        paragraph = False
        while end < len(tokens) and tokens[end][3] is TokenKind.SPACE:
            if tokens[end][0] != " ":
                paragraph = paragraph or count_lines(tokens[end].text) > 1
            end += 1
        if self.said[end] == self.said[self.last]:
            return
        if paragraph and boundary is not Boundary.MAJOR:
            boundary = Boundary.MAJOR
        self.cuts.append(_Cut(end, boundary, tune, comma, paragraph))
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
            self._add(i, Boundary.MAJOR, Tune.FALL)

    def _is_line_end(self, i: int) -> bool:
        """Whether a single line break ends a heading or a list item, not just a line.

        A list item ends where the next line has a list mark. A heading is the first line of
        a paragraph; it is short, has no mark at its end, and the first word of the next line,
        a capitalised one, would have fitted on it.
        """
        tokens = self.tokens
        k = i + 1
        if k < len(tokens) and _LIST_MARK.fullmatch(tokens[k].text):
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
        if self.said[i] - self.said[self.last] > MAX_WORDS:
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
            self._add(end, Boundary.MAJOR, self._tune(i, end))

    def _may_end(self, token: Token, after: str) -> bool:
        if not after[0].isupper():
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
            if end == len(self.tokens) or self.tokens[end].kind is TokenKind.SPACE:
                tune = Tune.FALL if char in ";；" else Tune.RISE
                self._add(end, Boundary.MINOR, tune, char in ",，、")
        elif char in _DASHES:
            self._at_dash(i)
        elif char in _OPENERS:
            spaced = i > 0 and self.tokens[i - 1].kind is TokenKind.SPACE
            if spaced and self.said[i] > self.said[self.last]:
                self.cuts.append(_Cut(i, Boundary.MINOR, Tune.RISE))
                self.last = i
        elif char in _BRACKET_ENDS:
            end = i + 1
            if end == len(self.tokens) or self.tokens[end].kind is TokenKind.SPACE:
                self._add(end, Boundary.MINOR, Tune.RISE)

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
            self._add(i + 1, Boundary.MINOR, Tune.RISE)

    def _at_terminator(self, i: int, char: str) -> None:
        tokens = self.tokens
        end = self._past_closers(i + 1)
        after = self._after(end)
        spaced = end == len(tokens) or tokens[end].kind is TokenKind.SPACE
        lower = after[:1].islower()
        ellipsis = char == "…" or tokens[i].text.startswith("..")
        if not spaced:
            dashed = tokens[end].text[0] in "—―"
            if ellipsis or not (after[:1].isupper() or dashed):
                return
            if dashed:
                end += 1
                lower = True
        if ellipsis:
            boundary = Boundary.MINOR if lower else Boundary.MAJOR
            last = tokens[end - 1].text[0] if end > i + 1 else char
            tune = self._tune(i, end) if last in _QUESTIONS or last == "!" else Tune.RISE
            self._add(end, boundary, tune)
        elif char in ".。":
            if not lower and not self._is_list_number(i):
                self._add(end, Boundary.MAJOR, self._tune(i, end))
        else:
            quoted = any(token.text[0] in _CLOSERS for token in tokens[i + 1 : end])
            tune = self._tune(i, end)
            inside = lower and (quoted or not spaced)
            self._add(end, Boundary.MINOR if inside else Boundary.MAJOR, tune)
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

    def _tune(self, i: int, end: int) -> Tune:
        """The tune at a terminator: only questions don't always fall."""
        if end == i + 1 and self.tokens[i].text[-1] == ".":
            return Tune.FALL
        marks = [token.text for token in self.tokens[i:end]]
        if not any(char in _QUESTIONS for mark in marks for char in mark):
            return Tune.FALL
        clauses: list[list[str]] = [[]]
        for token in self.tokens[self.sentence : i]:
            if token.kind is TokenKind.PUNCTUATION and token.text[0] in ",;:—–….":
                clauses.append([])
            clauses[-1] += token.spoken
        return tune_question(tuple(tuple(clause) for clause in clauses if clause))


def tune_question(clauses: tuple[tuple[str, ...], ...]) -> Tune:
    """Where the pitch goes at the end of a question, given its clauses in spoken words.

    Wells (2006): wh-questions fall; yes/no questions rise; the last of several alternatives
    falls; a tag of the opposite polarity falls (it asks to agree), other tags rise.

    >>> tune_question((("where", "is", "the", "boat"),))
    <Tune.FALL: 'fall'>
    >>> tune_question((("is", "the", "boat", "in"),))
    <Tune.RISE: 'rise'>
    """
    if not clauses:
        return Tune.RISE
    last = clauses[-1]
    if len(clauses) > 1:
        if len(last) == 1 and last[0] in _CHECKS:
            return Tune.RISE
        if 2 <= len(last) <= 3 and last[0] in _AUXILIARIES and last[1] in _PRONOUNS:
            words = {word for clause in clauses[:-1] for word in clause}
            negative = any(word in _NEGATIVES or word.endswith("n't") for word in words)
            tag = last[0].endswith("n't") or last[-1] == "not"
            return Tune.FALL if tag != negative else Tune.RISE
    if _is_wh(last):
        return Tune.FALL
    # "When it rains, is it cold?" asks yes or no; "What, then, is it?" doesn't.
    if _is_wh(clauses[0]) and (last[0] not in _AUXILIARIES or len(clauses[0]) < 3):
        return Tune.FALL
    if "or" in last[1:-1] or (len(clauses) > 1 and last[0] == "or" and len(last) > 1):
        return Tune.RISE if last[-2:] == ("or", "not") else Tune.FALL
    return Tune.RISE


def _is_wh(clause: tuple[str, ...]) -> bool:
    """Whether a clause begins with a wh-word, or with a preposition and one."""
    words = [word for word in clause if word not in _LEADERS]
    if words and words[0] in _PREPOSITIONS:
        words = words[1:]
    return bool(words) and words[0] in _WH


def _is_short(row: tuple[Token, ...], words: int, start: int, end: int) -> bool:
    """One word as it is written: "etc." is one, though two are said."""
    return words < 2 or (words < 4 and sum(1 for token in row[start:end] if token[4]) < 2)


def _join_short(row: tuple[Token, ...], said: list[int], cuts: list[_Cut]) -> list[_Cut]:
    """No phrase of a single word before or after a comma: "yes, I do"; "red, white, blue"."""
    joined: list[_Cut] = []
    start = before = 0
    for cut in cuts:
        if joined and joined[-1].comma and joined[-1].boundary is Boundary.MINOR:
            previous = said[start] - said[before]
            here = said[cut.end] - said[start]
            if previous + here < MAX_WORDS and (
                _is_short(row, here, start, cut.end) or _is_short(row, previous, before, start)
            ):
                joined[-1] = cut
                start = cut.end
                continue
        joined.append(cut)
        before, start = start, cut.end
    return joined


def count_syllables(words: str) -> int:
    """Syllables of spoken words, estimated from their letters. Good enough to breathe by.

    >>> count_syllables("the harbour lights were late")
    6
    """
    return len(_SYLLABLE.findall(words)) - len(_SILENT.findall(words))


def _breathe(row: tuple[Token, ...], said: list[int], cuts: list[_Cut]) -> list[_Cut]:
    """Add a breath where a phrase is too long for one."""
    result: list[_Cut] = []
    start = 0
    for cut in cuts:
        words = said[cut.end] - said[start]
        # 12 syllables are hardly ever written in fewer than 36 characters.
        if words > _MIN_WORDS and (
            words > MAX_WORDS or row[cut.end - 1][2] - row[start][1] > 3 * MAX_SYLLABLES
        ):
            result += [
                _Cut(end, Boundary.NONE, Tune.LEVEL) for end in _find_breaths(row, start, cut.end)
            ]
        result.append(cut)
        start = cut.end
    return result


def _find_breaths(row: tuple[Token, ...], start: int, end: int) -> list[int]:
    """Places inside a phrase where a new breath begins, in order."""
    spots = [i for i in range(start, end) if row[i][4]]
    spoken = [" ".join(row[i][4]) for i in spots]
    # Letters are as good as syllables to find the middle, and cheaper.
    sums = list(accumulate(map(len, spoken), initial=0))
    breaths: list[int] = []
    stack = [(0, len(spots))]
    while stack:
        low, high = stack.pop()
        if high - low <= MAX_WORDS and (
            high - low < 7 or count_syllables(" ".join(spoken[low:high])) <= MAX_SYLLABLES + 2
        ):
            continue
        best = _choose_breath(spoken, sums, low, high)
        if best:
            breaths.append(spots[best])
            stack += [(low, best), (best, high)]
    # Opening quotes and brackets go with the word that they open.
    return sorted(_before_openers(row, i) for i in breaths)


def _choose_breath(words: list[str], sums: list[int], low: int, high: int) -> int:
    """The best word to start a new breath with, or 0: near the middle, and before a word
    that opens a clause rather than a preposition."""
    best, best_cost = 0, 1.0e9
    half = (sums[low] + sums[high]) / 2
    total = sums[high] - sums[low]
    # A stretch that nobody can say in one breath is split even before a plain word.
    desperate = high - low > 2 * MAX_WORDS
    for i in range(low + _MIN_WORDS, high - _MIN_WORDS + 1):
        word = words[i]
        if words[i - 1] in _CLINGING:
            continue
        if word in _CLAUSE_WORDS:
            cost = 0.0
        elif word == "of":
            # Nobody parts "a glass of water" for want of a better place, unless it is long.
            if high - low < _LONG_WORDS:
                continue
            cost = 0.25
        elif word in _PREPOSITIONS:
            cost = 0.1
        elif desperate:
            cost = 0.5
        else:
            continue
        cost += abs(sums[i] - half) / total
        if cost < best_cost:
            best, best_cost = i, cost
    return best


def _before_openers(row: tuple[Token, ...], i: int) -> int:
    while i > 0 and row[i - 1].kind is TokenKind.PUNCTUATION and row[i - 1].text[0] in "\"“‘'([«":
        i -= 1
    return i
