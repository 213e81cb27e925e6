"""Words that are names too: "We flew to Nice", "Mr. He", "Thanks, Herb".

The table says where such a word with a capital is a name: after a title or a name only,
after a preposition too (places), or wherever a capital inside a sentence has no other cause.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Final, NamedTuple

from drillgen.core.phones import parse_phones
from drillgen.core.resources import read_table
from drillgen.core.values import Phones, Token, TokenKind
from drillgen.speech.pronounce.derive import add_s


class NameWord(NamedTuple):
    """A word that is a name in the right place."""

    where: str
    """What must stand before it: "title", "place" or "inside"."""

    phones: tuple[Phones, ...]
    """Pronunciations as a name, likeliest first."""

    what: str
    """ "a surname", "the city": for the teacher."""


_PLACED: Final = re.compile(
    r"(?:is|was|lies|sits|stands) (?:(?:in|near|by|north|south|east|west)(?: of)? (?:the )?[A-Z]"
    r"|on the (?:coast|sea|river)\b|the capital\b|an? (?:\w+ )?(?:city|town|port)\b)"
    r"|, (?:Alabama|France|England|Berkshire|UK|Germany|Italy|Peru|Ohio|Massachusetts|New|AL|MA)\b"
)


def _is_placed(tokens: Sequence[Token]) -> bool:
    """Whether a place is told of: "Nice is in France", "Mobile, Alabama"."""
    words = "".join(token.text for token in tokens[:12])
    return _PLACED.match(words.lstrip()) is not None


class NameWords:
    """The table of such words."""

    def __init__(self, words: Mapping[str, NameWord], before: Mapping[str, str]) -> None:
        """`before`: words that stand before names, by their kind."""
        self._before: Final = {kind: frozenset(some.split()) for kind, some in before.items()}
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
        words = {
            word: NameWord(where, tuple(map(parse_phones, said.split(" / "))), what)
            for word, where, said, what in read_table("name_words.tsv")
        }
        return cls(words, {row[0]: row[1] for row in read_table("name_places.tsv")})

    def find(
        self, tokens: Sequence[Token], index: int, is_name: Callable[[str], bool]
    ) -> NameWord | None:
        """The name that a token of `written` is where it stands, or None.

        `is_name` tells whether a word with a capital is nothing but a name.
        """
        row = self._words[tokens[index].text.lower()]
        before = [t for t in tokens[max(0, index - 4) : index] if t.kind is not TokenKind.SPACE]
        if not before or before[-1].text[0] in ".!?…":
            return row if row.where == "place" and _is_placed(tokens[index + 1 :]) else None
        last, kinds = before[-1], self._before
        greeting = before[-2] if last.text == "," and len(before) > 1 else last
        if row.where == "inside" and greeting.text.lower() in kinds["greeting"]:
            return row
        if last.text[:1].isupper():
            # In a heading every word has a capital.
            following = next((t for t in tokens[index + 1 : index + 3] if t.spoken), None)
            heading = following is not None and following.text[:1].isupper()
            titled = bool(last.spoken) and last.spoken[-1] in kinds["title"]
            return row if titled or (is_name(last.text) and not heading) else None
        places = {"place": last.text in kinds["place"], "inside": last.text not in kinds["never"]}
        fits = last.kind is TokenKind.WORD and last.text.islower() and places.get(row.where, False)
        return row if fits else None
