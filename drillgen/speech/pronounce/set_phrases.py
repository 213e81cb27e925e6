"""Phrases whose words are said otherwise than alone: "faux pas", "Des Moines".

The table is drillgen/data/set_phrases.tsv.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from drillgen.core.phones import parse_phones
from drillgen.core.resources import read_table
from drillgen.core.values import Phones, Token

TABLE: Final = "set_phrases.tsv"

SetPhrase = tuple[tuple[str, ...], tuple[Phones, ...]]
"""The words, and how each is said."""


def load_set_phrases() -> Mapping[str, Sequence[SetPhrase]]:
    """The phrases by their first word, the longest first."""
    phrases: dict[str, list[SetPhrase]] = {}
    for row in read_table(TABLE):
        words = tuple(row[0].split())
        phrases.setdefault(words[0], []).append(
            (words, tuple(map(parse_phones, row[1].split(" | "))))
        )
    return {
        first: sorted(row, key=lambda phrase: -len(phrase[0])) for first, row in phrases.items()
    }


def find_set_phrases(
    tokens: Sequence[Token],
    spoken: Sequence[tuple[str, ...]],
    phrases: Mapping[str, Sequence[SetPhrase]],
) -> Iterator[tuple[int, tuple[Phones, ...]]]:
    """The tokens that belong to a phrase, each by its index, with the phones of its words.

    Only space may stand between the words; a token belongs to a phrase as a whole.
    """
    after = 0
    for index, words in enumerate(spoken):
        if words and words[0] in phrases and index >= after:
            for wanted, phones in phrases[words[0]]:
                places = _match(tokens, spoken, index, wanted)
                if places:
                    said = iter(phones)
                    for place in places:
                        yield place, tuple(next(said) for _ in spoken[place])
                    after = places[-1] + 1
                    break


def _match(
    tokens: Sequence[Token],
    spoken: Sequence[tuple[str, ...]],
    index: int,
    wanted: tuple[str, ...],
) -> list[int]:
    """The indexes of the tokens that say the wanted words from `index` on; [] where they don't."""
    places: list[int] = []
    at = 0
    while at < len(wanted) and index < len(tokens):
        words = spoken[index]
        if words:
            if wanted[at : at + len(words)] != words:
                return []
            places.append(index)
            at += len(words)
        elif not tokens[index].text.isspace():
            return []
        index += 1
    return places if at == len(wanted) else []
