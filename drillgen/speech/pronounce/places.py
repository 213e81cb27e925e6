"""Where a correction holds: one place of a text, one text, or everywhere.

In a word list a word may be followed by its scope in brackets:

    close                                      K L OW1 Z   everywhere
    close (in The early ferry)                 K L OW1 S   in the text of this title
    close (in The early ferry: please _ the)   K L OW1 Z   at this place of it
    close (very _ to the edge)                 K L OW1 S   wherever these words stand

A text without a title is named by its first words; it may get a title later. A place is
told by the words beside it, `_` stands for the word itself. Where a text has been changed, a
place holds as long as half of its neighbours stand beside the word and no other place fits as
well; where the text has another name now, as long as all of them do, four at least. Capitals,
accents' marks and punctuation don't matter.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from drillgen.core.errors import InputError
from drillgen.core.values import Passage, Token
from drillgen.speech.pronounce.derive import add_s

if TYPE_CHECKING:
    from drillgen.speech.pronounce.overrides import Override

REACH: Final = 3
"""Neighbours to each side that are written down at first."""

FARTHEST: Final = 12
ENOUGH: Final = 4
"""Neighbours that tell a place in a text of another name, at least."""

FIRST_WORDS: Final = 5
"""So many words name a text without a title."""

MARK: Final = "_"
EDGE: Final = "^"
"""Beginning or end of the text, among the neighbours of a place."""

_WORD: Final = re.compile(r"[^\W_]+(?:['\u2019-][^\W_]+)*")
_FORM: Final = "write (in TITLE), (in TITLE: words before _ words after) or (before _ after)"


def split_words(text: str) -> tuple[str, ...]:
    """The words of a text in small letters.

    >>> split_words("Please, CLOSE the door.")
    ('please', 'close', 'the', 'door')
    """
    return tuple(word.lower().replace("\u2019", "'") for word in _WORD.findall(text))


@dataclass(frozen=True, slots=True)
class Scope:
    """Where a correction holds. Empty: everywhere."""

    text: tuple[str, ...] = ()
    """Title of the text, or its first words; (): any text."""

    before: tuple[str, ...] = ()
    after: tuple[str, ...] = ()
    """Neighbours of a place, in the order of the text."""

    @property
    def is_place(self) -> bool:
        """Whether it is one place, not a whole text."""
        return bool(self.before or self.after)

    def __str__(self) -> str:
        """As a word list has it, without brackets.

        >>> str(Scope(("the", "ferry"), ("please",), ("the", "door")))
        'in the ferry: please _ the door'
        """
        text = f"in {' '.join(self.text)}" if self.text else ""
        place = " ".join((*self.before, MARK, *self.after)) if self.is_place else ""
        return f"{text}: {place}" if text and place else text or place


EVERYWHERE: Final = Scope()


def parse_scope(written: str) -> Scope:
    """Read a scope as a word list has it, without brackets. InputError where it can't be read.

    >>> parse_scope("in The early ferry: please _ the door").after
    ('the', 'door')
    """
    text, place = "", written.strip()
    if place.lower().startswith("in ") and (MARK not in place.split() or ":" in place):
        text, _, place = place[3:].partition(":")
        if not split_words(text):
            raise InputError("the text has no name", _FORM)
    if not place.strip():
        if not text:
            raise InputError("the brackets are empty", _FORM)
        return Scope(split_words(text))
    parts = place.split()
    if parts.count(MARK) != 1:
        raise InputError(f"a place has one {MARK}, where the word stands", _FORM)
    at = parts.index(MARK)
    before, after = (_split_neighbours(part) for part in (parts[:at], parts[at + 1 :]))
    if not before and not after:
        raise InputError("the place has no neighbours", _FORM)
    return Scope(split_words(text), before, after)


def _split_neighbours(parts: Iterable[str]) -> tuple[str, ...]:
    return tuple(
        word for part in parts for word in ((EDGE,) if part == EDGE else split_words(part))
    )


def name_text(passage: Passage) -> tuple[str, ...]:
    """What a word list calls a text: its title, or else its first words."""
    return split_words(passage.title) or split_words(passage.text[:400])[:FIRST_WORDS]


class _Text:
    """The words of a text, each with the token that it is from."""

    def __init__(self, passage: Passage, tokens: Sequence[Token]) -> None:
        self.name: Final = name_text(passage)
        self.title: Final = split_words(passage.title)
        self.first: Final = split_words(passage.text[:400])
        self.tokens: Final = tokens
        self.words: Final[list[str]] = []
        self.owner: Final[list[int]] = []
        for i, token in enumerate(tokens):
            signs = (token.text.strip(),) if token.spoken else ()
            for word in split_words(token.text) or signs:
                self.words.append(word)
                self.owner.append(i)

    def is_named(self, name: tuple[str, ...]) -> bool:
        """Whether a list means this text."""
        opening = self.first
        # What is a title now may have been the first of the first words.
        if len(name) > len(self.title) and name[: len(self.title)] == self.title:
            opening = self.title + self.first
        return name == self.name or (len(name) >= 2 and opening[: len(name)] == name)

    def places_of(self, spoken: str) -> list[tuple[int, int]]:
        """Where a spoken word stands: index among the words, index of the token."""
        return [
            (at, i)
            for at, i in enumerate(self.owner)
            if spoken in self.tokens[i].spoken and (not at or self.owner[at - 1] != i)
        ]

    def neighbours(self, at: int, size: int) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """So many words before and after the token of a word, and the edges of the text."""
        token, last = self.owner[at], at
        while last + 1 < len(self.owner) and self.owner[last + 1] == token:
            last += 1
        # Signs that are said are no neighbours: they would not be read back.
        reach = 4 * size
        left = (EDGE, *self.words[:at]) if at < reach else self.words[at - reach : at]
        right = (*self.words[last + 1 : last + 1 + reach], EDGE)
        before = [word for word in left if word == EDGE or _WORD.match(word)]
        after = [word for word in right if word == EDGE or _WORD.match(word)]
        return tuple(before[-size:]) if size else (), tuple(after[:size])


def count_matches(scope: Scope, before: Sequence[str], after: Sequence[str]) -> int:
    """How many neighbours of a place still stand beside a word, nearest ones first."""
    left = zip(reversed(scope.before), reversed(before), strict=False)
    right = zip(scope.after, after, strict=False)
    return sum(_run(pairs) for pairs in (left, right))


def _run(pairs: Iterable[tuple[str, str]]) -> int:
    count = 0
    for wanted, found in pairs:
        if wanted != found:
            break
        count += 1
    return count


def find_places(
    passage: Passage, tokens: Sequence[Token], placed: Iterable[Override]
) -> tuple[Mapping[int, Override], tuple[Override, ...]]:
    """Per index of a token the correction that holds there, places before whole texts, and
    the places of this text that are gone. Of several in one place the first holds."""
    text = _Text(passage, tokens)
    found: dict[int, Override] = {}
    whole: dict[int, Override] = {}
    gone = []
    for override in placed:
        scope = override.scope
        named = not scope.text or text.is_named(scope.text)
        if not named and not scope.is_place:
            continue
        places = text.places_of(override.word)
        if not scope.is_place:
            for _, i in places:
                whole.setdefault(i, override)
            owner = replace(override, word=f"{override.word}'s", phones=add_s(override.phones))
            for _, i in text.places_of(owner.word):
                whole.setdefault(i, owner)
            continue
        fitting = _fit(scope, text, places, named=named)
        for i in fitting:
            found.setdefault(i, override)
        if scope.text and named and not fitting:
            gone.append(override)
    return {**whole, **found}, tuple(gone)


def _fit(
    scope: Scope, text: _Text, places: Sequence[tuple[int, int]], *, named: bool
) -> list[int]:
    """The tokens that a place means: all where everything fits, or else the one that fits best."""
    size = max(len(scope.before), len(scope.after))
    total = len(scope.before) + len(scope.after)
    counts = [(count_matches(scope, *text.neighbours(at, size)), i) for at, i in places]
    exact = [i for count, i in counts if count == total]
    if exact or not scope.text or not named:
        return exact if named or total >= ENOUGH else []
    best = max((count for count, _ in counts), default=0)
    fitting = [i for count, i in counts if count == best]
    return fitting if len(fitting) == 1 and 2 * best >= total else []


def name_place(passage: Passage, tokens: Sequence[Token], index: int, word: str) -> Scope:
    """The scope of the place of a token: as many neighbours as tell it from all others."""
    text = _Text(passage, tokens)
    places = text.places_of(word)
    (at,) = (at for at, i in places if i == index)
    for size in range(REACH, FARTHEST + 1):
        before, after = text.neighbours(at, size)
        if size < FARTHEST:
            before, after = (tuple(w for w in part if w != EDGE) for part in (before, after))
        scope = Scope(text.name, before, after)
        if (
            sum(
                count_matches(scope, *text.neighbours(a, size)) == len(before) + len(after)
                for a, _ in places
            )
            == 1
        ):
            break
    return scope
