"""Slips of the keys: what was meant is said, what may be a name is left alone."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillgen import make_drill
from drillgen.core.phones import format_phones
from drillgen.core.values import Origin, Pronunciation
from drillgen.speech.pipeline import Engine
from drillgen.speech.pronounce.engine import needs_review
from drillgen.speech.pronounce.slips import SURE, Slips, list_edits

TABLE = Path(__file__).parent / "data" / "slips.tsv"
ROWS = [
    line.split("\t")
    for line in TABLE.read_text(encoding="utf-8").splitlines()
    if not line.startswith("#")
]


@pytest.fixture(scope="module")
def engine() -> Engine:
    return Engine.load()


def say(engine: Engine, text: str, place: int) -> Pronunciation:
    """The reading of a word of a text, by its number."""
    readings = [reading for _, reading in engine.pronounce(text) if reading]
    return readings[place][0]


@pytest.mark.parametrize(("typed", "meant"), ROWS, ids=[row[0] for row in ROWS])
def test_what_was_meant_is_said(engine: Engine, typed: str, meant: str) -> None:
    said = say(engine, f"we saw {typed} there", 2)
    assert said.origin is Origin.SLIP
    assert said.phones == say(engine, meant, 0).phones
    assert meant in said.note
    assert needs_review(said)


WORDS = """muesli chowk cisgender sentient salivation zrovnik trelassick ramekin triskelion
kombucha tofu meze toile ragout""".split()  # noqa: SIM905
"""Words that are rare, or names without a capital: from memory."""


@pytest.mark.parametrize("word", WORDS)
def test_a_rare_word_is_no_slip(engine: Engine, word: str) -> None:
    assert say(engine, f"we saw {word} there", 2).origin is not Origin.SLIP


def test_a_name_is_no_slip(engine: Engine) -> None:
    assert say(engine, "we met Kirsen there", 2).origin is not Origin.SLIP
    assert say(engine, "we met Hanover Freindly there", 3).origin is not Origin.SLIP


def test_a_common_word_at_the_head_of_a_sentence(engine: Engine) -> None:
    assert say(engine, "Beacuse it rained.", 0).origin is Origin.SLIP
    assert say(engine, "Then Beacuse rained.", 1).origin is not Origin.SLIP


def test_the_order_of_reading_changes_nothing() -> None:
    texts = ["Then Beacuse rained.", "Beacuse it rained.", "they left beacuse it rained"]
    fresh = [Engine.load().pronounce(text) for text in texts]
    engine = Engine.load()
    order = list(range(len(texts))) * 2
    random.Random(3).shuffle(order)
    for i in order:
        assert engine.pronounce(texts[i]) == fresh[i]


def test_the_guess_is_offered_too(engine: Engine) -> None:
    first, second, *_ = engine.pronouncer.all_readings("beacuse")
    assert format_phones(first.phones) == "B IH0 K AO1 Z"
    assert second.origin is Origin.PREDICTED


def test_the_list_of_words_to_check_names_what_was_meant() -> None:
    (item,) = make_drill("They left beacuse it rained.").review
    assert "because" in item.reason
    assert item.doubtful


class _Anything:
    def __contains__(self, _: object) -> bool:
        return True


@given(st.text("abcdefghijklmnopqrstuvwxyz", min_size=1, max_size=12))
def test_edits_can_be_undone(word: str) -> None:
    """Who needs one edit to go there needs one to come back."""
    for edit in random.Random(word).sample(list(list_edits(word, _Anything())), 5):
        assert edit.word == word or {back.word for back in list_edits(edit.word, {word})} == {word}


def test_words_that_are_not_known_are_never_meant() -> None:
    weights = dict.fromkeys(Slips.load(bool).weights, 1.0)
    slips = Slips(weights, {"quay": 5.0, "quad": 6.0}, lambda word: word == "quay")
    found = slips.find("quaz")
    assert found is not None
    assert (found.meant, found.frequency) == ("quay", 5.0)
    assert found.chance > SURE
    assert slips.find("quazzz") is None
