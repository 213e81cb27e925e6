"""Phrases from other languages that are not said word by word.

Merriam-Webster's Collegiate Dictionary, from memory, for the readings themselves.
"""

from __future__ import annotations

import pytest

from drillgen.core.phones import format_phones, parse_phones
from drillgen.core.resources import read_table
from drillgen.core.values import Origin
from drillgen.speech.pipeline import Engine, make_drill
from drillgen.speech.pronounce.overrides import Override, Overrides
from drillgen.speech.pronounce.set_phrases import load_set_phrases

ENGINE = Engine.load()


def say(text: str) -> list[str]:
    return [format_phones(word.phones) for _, row in ENGINE.pronounce(text) for word in row]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("faux pas", ["F OW2", "P AA1"]),
        ("Faux  Pas", ["F OW2", "P AA1"]),
        ("crème brûlée", ["K R EH2 M", "B R UW0 L EY1"]),
        ("tête-à-tête", ["T EY2 T", "AH0", "T EY1 T"]),
        ("papier-mâché", ["P EY2 P ER0 R", "M AH0 SH EY1"]),
        ("hors d’oeuvres", ["AO2 R", "D ER1 R V Z"]),
        ("crème de la crème", ["K R EH2 M", "D AH0", "L AA0", "K R EH1 M"]),
        ("foie gras", ["F W AA2", "G R AA1"]),
        ("tai chi", ["T AY2", "CH IY1"]),
    ],
)
def test_phrases(text: str, said: list[str]) -> None:
    assert say(text) == said


@pytest.mark.parametrize(
    "text", ["faux, pas", "faux", "pas faux", "faux pasta", "faux and pas", "the faux-pasta"]
)
def test_only_as_a_whole(text: str) -> None:
    assert [said for said in say(text) if said in ("F OW2", "P AA1")] != ["F OW2", "P AA1"]


def test_two_phrases_in_a_row() -> None:
    assert say("tai chi tai chi") == ["T AY2", "CH IY1"] * 2


def test_the_longest_goes_first() -> None:
    """Pâté de foie gras has foie gras in it."""
    assert say("pâté de foie gras") == ["P AE0 T EY2", "D AH0", "F W AA2", "G R AA1"]


def test_the_list_of_the_user_goes_first() -> None:
    override = Override("pas", parse_phones("P AE1 S"), 0)
    engine = ENGINE.adapt(overrides=Overrides({"pas": override}))
    said = [word for _, row in engine.pronounce("a faux pas") for word in row]
    assert [word.origin for word in said[1:]] == [Origin.DICTIONARY, Origin.OVERRIDE]
    assert format_phones(said[2].phones) == "P AE1 S"


def test_what_looks_like_english_is_respelled() -> None:
    """Vie, riche and chi have the vowel already, but nobody reads it from them."""
    drill = make_drill("C'est la vie. The nouveau riche do tai chi.", engine=ENGINE)
    assert not {"vie", "riche", "chi"} & set(drill.full.text.lower().split())
    assert not drill.review


def test_the_table() -> None:
    rows = read_table("set_phrases.tsv")
    assert len(rows) > 140
    assert list(rows) == sorted(rows)
    for words, said in (pair for row in load_set_phrases().values() for pair in row):
        assert len(words) == len(said) > 1
        assert sum(phone.stress == 1 for phones in said for phone in phones) == 1, words
