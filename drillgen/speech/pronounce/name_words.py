"""Words that are names too: "We flew to Nice", "Mr. He", "Thanks, Herb".

The table says where such a word with a capital is a name: after a title or a name only,
after a preposition too (places), or wherever a capital inside a sentence has no other cause.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping, Sequence
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

    sure: bool = True
    """Whether nothing but the name fits where it stands."""


_TOLD: Final = re.compile(
    r"(?:is|was|lies|sits|stands) (?:(?:in|near|by|north|south|east|west)(?: of)? (?:the )?[A-Z]"
    r"|on the (?:coast|sea|river)\b|the capital\b|an? (?:\w+ )?(?:city|town|port)\b)"
)
"""What is told of a place: "Nice is in France"."""


_STOPPED: Final = re.compile(r"[a-z]+\.$")
"""An abbreviation with its stop, which may end a sentence: "etc. Can you"."""


class NameWords:
    """The table of such words."""

    def __init__(
        self, words: Mapping[str, NameWord], before: Mapping[str, str], regions: Collection[str]
    ) -> None:
        """`before`: words that stand before names, by their kind; `regions`: countries, states
        and counties, which stand after the name of a town."""
        self._before: Final = {kind: frozenset(some.split()) for kind, some in before.items()}
        self._regions: Final = frozenset(regions)
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
        before = {row[0]: row[1] for row in read_table("name_places.tsv")}
        regions = set(before.pop("region").split(";"))
        for code, state, *_ in read_table("text_regions.tsv"):
            regions |= {code, state.title()}
        return cls(words, before, regions)

    def find(
        self, tokens: Sequence[Token], index: int, is_name: Callable[[str], bool]
    ) -> NameWord | None:
        """The name that a token of `written` is where it stands, or None.

        `is_name` tells whether a word with a capital is nothing but a name.
        """
        row = self._words[tokens[index].text.lower()]
        before = [t for t in tokens[max(0, index - 4) : index] if t.kind is not TokenKind.SPACE]
        # "Sit with me,⏎Can you hear": a line of verse has its capital, name or not.
        opens = index > 0 and "\n" in tokens[index - 1].text
        if not before or opens or before[-1].text[0] in ".!?…" or _STOPPED.match(before[-1].text):
            return row if row.where == "place" and self._is_placed(tokens, index) else None
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
        inside = last.kind is TokenKind.WORD and last.text.islower()
        if row.where == "title" or not inside or last.text in kinds["never"]:
            return None
        # "about Nice": a capital that nothing else explains.
        return row._replace(sure=row.where == "inside" or last.text in kinds["place"])

    def _is_placed(self, tokens: Sequence[Token], index: int) -> bool:
        """Whether a place is told of: "Nice is in France", "Mobile, Alabama"."""
        words = "".join(token.text for token in tokens[index + 1 : index + 13])
        comma, _, after = words.partition(", ")
        region = re.match(r"(?:[A-Z]\w+ ?){1,3}", after)
        named = {region[0].strip(), region[0].split()[0]} if region and not comma else set()
        return _TOLD.match(words.lstrip()) is not None or bool(named & self._regions)
