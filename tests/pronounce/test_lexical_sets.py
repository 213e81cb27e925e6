"""The lexical set of a vowel, from its neighbours and its letters."""

from __future__ import annotations

from pathlib import Path

import pytest

from drillgen.core.phones import SET_VOWELS, parse_phones
from drillgen.core.resources import read_table
from drillgen.core.values import Phones
from drillgen.speech.pronounce.lexical_sets import find_set

CASES = [
    line.split("\t")
    for line in (Path(__file__).parent / "data" / "lexical_set_cases.tsv")
    .read_text(encoding="utf-8")
    .splitlines()
    if not line.startswith("#")
]


@pytest.mark.parametrize(
    ("marked", "said", "wanted"), [row[:3] for row in CASES], ids=[row[0] for row in CASES]
)
def test_sets(marked: str, said: str, wanted: str) -> None:
    word = marked.replace("|", "").lower()
    phones = parse_phones(said.replace("*", ""))
    at = next(i for i, phone in enumerate(said.split()) if phone[0] == "*")

    def spell(asked: str, of: Phones) -> tuple[tuple[int, int], ...]:
        """The letters of the vowel; those of all other phones would be a mistake."""
        assert (asked, of) == (word, phones)
        spans = [(-1, -1)] * len(phones)
        spans[at] = (marked.index("|"), len(word))
        return tuple(spans)

    assert find_set(word, phones, at, spell) == wanted


def test_every_set_of_the_table_is_one() -> None:
    for symbol, name, words in read_table("lexical_sets.tsv"):
        assert name in SET_VOWELS
        assert f"{symbol}1" in set(map(str, parse_phones(f"{symbol}1")))
        assert words
