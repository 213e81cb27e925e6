"""Words that are names too: "We flew to Nice", "Mr. He", "Thanks, Herb".

The table says where such a word with a capital is a name: after a title or a name only,
after a preposition too (places), or wherever a capital inside a sentence has no other cause.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Final, NamedTuple

from drillgen.core.phones import parse_phones
from drillgen.core.resources import read_table
from drillgen.core.values import Phones, Token, TokenKind
from drillgen.speech.pronounce.derive import add_s

TITLES: Final = frozenset(
    """mister missus miss ms mix sir dame lord lady doctor professor aunt auntie uncle cousin
    grandma grandpa sister brother father mother nurse captain colonel general major sergeant
    lieutenant officer detective inspector judge justice president senator governor mayor
    minister coach chef reverend rabbi pastor bishop saint king queen prince princess madame
    monsieur senor senora""".split()  # noqa: SIM905
)
"""As they are spoken; a word with a capital after one that has a capital too is a name."""

_GREETINGS: Final = frozenset(
    "thanks hi hello hey dear bye goodbye morning evening sorry yes no welcome".split()  # noqa: SIM905
)
_PLACING: Final = frozenset(
    "in to from near at around through via outside across for leave left visit visited".split()  # noqa: SIM905
)
_DETERMINERS: Final = frozenset(
    "a an the this that my your his her its our their no every each any some new old".split()  # noqa: SIM905
)


class NameWord(NamedTuple):
    """A word that is a name in the right place."""

    where: str
    """What must stand before it: "title", "place" or "inside"."""

    phones: tuple[Phones, ...]
    """Pronunciations as a name, likeliest first."""

    what: str
    """ "a surname", "the city": for the teacher."""


class NameWords:
    """The table of such words."""

    def __init__(self, words: Mapping[str, NameWord]) -> None:
        owners = {
            f"{word}{ending}": row._replace(phones=tuple(map(add_s, row.phones)))
            for word, row in words.items()
            for ending in ("'s", "\u2019s")
        }
        self._words: Final = {**words, **owners}
        self.written: Final = frozenset(word.capitalize() for word in self._words)
        """The forms with a capital, with and without a possessive's ending."""

    @classmethod
    def load(cls) -> NameWords:
        """That of the installation."""
        rows = read_table("name_words.tsv")
        return cls(
            {
                word: NameWord(where, tuple(map(parse_phones, said.split(" / "))), what)
                for word, where, said, what in rows
            }
        )

    def find(
        self, tokens: Sequence[Token], index: int, is_name: Callable[[str], bool]
    ) -> NameWord | None:
        """The name that a token of `written` is where it stands, or None.

        `is_name` tells whether a word with a capital is nothing but a name.
        """
        row = self._words[tokens[index].text.lower()]
        before = [t for t in tokens[max(0, index - 4) : index] if t.kind is not TokenKind.SPACE]
        last = before[-1] if before else None
        if last is None:
            return None
        greeting = before[-2] if last.text == "," and len(before) > 1 else last
        if row.where == "inside" and greeting.text.lower() in _GREETINGS:
            return row
        if last.text[:1].isupper():
            titled = last.spoken[-1:] and last.spoken[-1] in TITLES
            return row if titled or is_name(last.text) else None
        lower = last.text.islower() and last.kind is TokenKind.WORD
        if row.where == "place":
            return row if lower and last.text in _PLACING else None
        return row if lower and row.where == "inside" and last.text not in _DETERMINERS else None
