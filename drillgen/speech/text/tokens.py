"""Text to tokens, without loss: the texts of the tokens join to the input.

Two steps. The scanner reads each stretch between white space on its own (and remembers it, so
that a repeated stretch costs one look-up); then the rules of context.py look at the few pieces
whose reading depends on their neighbours.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from itertools import accumulate, chain, compress, count, repeat
from operator import itemgetter
from typing import Final

from drillgen.core.collector import CollectorPause
from drillgen.core.options import Locale
from drillgen.core.values import Token
from drillgen.speech.text.context import apply_context
from drillgen.speech.text.scan import Piece, Scanner
from drillgen.speech.text.speakers import hush_speakers
from drillgen.speech.text.tables import Tables, load_tables

_STRETCH: Final = re.compile(r"\S++(?: (?!\s))?|\s++")
"""A stretch takes the single space after it along: half as many look-ups."""
_CACHED_LENGTH: Final = 48
_CACHED_FORMS: Final = 50_000
"""About 12 MB at worst; a book has some 30,000 forms."""

_TEXT, _KIND, _SPOKEN, _RULE = map(itemgetter, range(4))
_NEW_TOKEN: Final = tuple.__new__


class _Cache(dict[str, tuple[Piece, ...]]):
    """The pieces of each stretch that was seen; scans a new one on its first look-up."""

    __slots__ = ("_scan",)

    def __init__(self, scanner: Scanner) -> None:
        super().__init__()
        self._scan = scanner.scan

    def __missing__(self, stretch: str) -> tuple[Piece, ...]:
        pieces = self._scan(stretch)
        if len(stretch) <= _CACHED_LENGTH:
            if len(self) >= _CACHED_FORMS:
                self.clear()
            self[stretch] = pieces
        return pieces


class Tokenizer:
    """Makes tokens, and remembers the forms that it has seen.

    `locale`: how numbers and dates are read, see docs/numbers.md.
    """

    __slots__ = ("_cache", "_tables")

    def __init__(self, locale: Locale = Locale.EN_US) -> None:
        self._tables: Tables = load_tables(locale)
        self._cache = _Cache(Scanner(self._tables))

    @property
    def locale(self) -> Locale:
        """How numbers and dates are read."""
        return self._tables.say.locale

    def tokenize(self, text: str, start: int = 0) -> tuple[Token, ...]:
        """Tokens of a text. `start` is the offset of its first character, for a text that
        is part of a longer one.

        >>> [token.spoken for token in Tokenizer().tokenize("Dr. Reed, 5 km") if token.spoken]
        [('doctor',), ('reed',), ('five',), ('kilometers',)]
        """
        with CollectorPause():
            return hush_speakers(text, self._tokenize(text, start), start)

    def _tokenize(self, text: str, start: int) -> tuple[Token, ...]:
        # Every step over all pieces runs inside the interpreter's own loops (map, compress,
        # zip): this is the one place of the room where each token's nanoseconds count.
        pieces = list(chain.from_iterable(map(self._cache.__getitem__, _STRETCH.findall(text))))
        special = list(compress(count(), map(_RULE, pieces)))
        noted: list[int] = []
        if special:
            pieces, noted = apply_context(pieces, special, self._tables)
        texts = list(map(_TEXT, pieces))
        ends = list(accumulate(map(len, texts), initial=start))
        kinds, spoken = map(_KIND, pieces), map(_SPOKEN, pieces)
        plain: tuple[Iterable[object], ...] = (repeat(()), repeat(""))
        rows = zip(texts, ends, ends[1:], kinds, spoken, *plain, strict=False)
        if not noted:
            return tuple(map(_NEW_TOKEN, repeat(Token), rows))
        tokens = list(map(_NEW_TOKEN, repeat(Token), rows))
        for i in noted:
            tokens[i] = tokens[i]._replace(other=pieces[i].other, note=pieces[i].note)
        return tuple(tokens)


def tokenize(text: str) -> tuple[Token, ...]:
    """Tokens of a text; see Tokenizer for repeated use.

    >>> [token.text for token in tokenize("It's £4.50, Zoë.")]
    ["It's", ' ', '£4.50', ',', ' ', 'Zoë', '.']
    """
    return Tokenizer().tokenize(text)
