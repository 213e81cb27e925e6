"""What a ladder is made of."""

from __future__ import annotations

from functools import cache

import pytest
from corpus_rules import running_shares
from hypothesis import given, settings
from hypothesis import strategies as st

from drillgen.core.errors import OptionError
from drillgen.core.formants import bark_distance
from drillgen.core.options import DrillOptions, Unit
from drillgen.core.phones import VOWELS
from drillgen.core.values import Worksheet
from drillgen.corpus.reader import LEXICAL_SETS
from drillgen.sheets.ladder import LadderOptions, far_sets, make_ladder, read_contrasts
from drillgen.speech.pipeline import Engine
from drillgen.speech.swap.targets import list_targets

HEAD = Worksheet((), "", None)
TARGETS = [target.symbol for target in list_targets()]
SYMBOLS = {vowel.lexical_set: symbol for symbol, vowel in VOWELS.items()}


@pytest.fixture(scope="module")
def engine() -> Engine:
    return Engine.load()


@pytest.mark.parametrize("target", TARGETS)
def test_no_monophthong_is_farther_than_the_chosen_two(target: str) -> None:
    chosen = far_sets(target)
    distances = [bark_distance(SYMBOLS[name], target) for name in chosen]
    assert distances == sorted(distances)
    others = [s for s in TARGETS if s != "EY" and VOWELS[s].lexical_set not in chosen]
    assert max(bark_distance(symbol, target) for symbol in others) <= distances[0]


def test_contrasts_are_read_in_any_case_once_each() -> None:
    assert read_contrasts([" goose", "Thought", "GOOSE"], DrillOptions()) == ("GOOSE", "THOUGHT")
    assert read_contrasts([], DrillOptions()) == ("GOOSE", "THOUGHT")
    with pytest.raises(OptionError, match="WHALE"):
        read_contrasts(["whale"], DrillOptions())


@settings(max_examples=12, derandomize=True, deadline=None)
@given(
    st.lists(st.sampled_from(sorted(LEXICAL_SETS)), min_size=1, max_size=3, unique=True),
    st.integers(1, 24),
    st.integers(),
)
def test_any_choice_gives_lists_of_its_sets(contrasts: list[str], count: int, seed: int) -> None:
    engine = _shared_engine()
    choice = LadderOptions(Unit.WORD, Unit.PHRASE, tuple(contrasts), count, seed)
    sheet = make_ladder(choice, HEAD, DrillOptions(), engine)
    again = make_ladder(choice, HEAD, DrillOptions(), engine)
    assert sheet == again
    for unit in sheet.units:
        assert [group.lexical_set for group in unit.groups] == contrasts
        for group in unit.groups:
            items = group.drill.passage.text.split("\n\n")
            assert 1 <= len(items) <= count
            assert len(group.hints) == len(items)
            # Each item is a paragraph, so that tables have a row for each.
            assert group.drill.phrases[-1].paragraph + 1 == len(items)
            # Words and phrases of ours are all known.
            assert not [r for r in group.drill.review if "guessed" in r.reason]


@cache
def _shared_engine() -> Engine:
    return Engine.load()


def test_the_passage_is_among_the_richest(engine: Engine) -> None:
    """Counted from the readings of the drill: the chosen passage has clearly more of the
    contrasts than running English (counted from wordfreq's list, docs/corpora.md)."""
    choice = LadderOptions(Unit.PASSAGE, Unit.PASSAGE)
    (unit,) = make_ladder(choice, HEAD, DrillOptions(), engine).units
    (drill,) = unit.drills
    vowels = [
        phone.symbol
        for row in drill.readings
        for reading in row
        for word in reading
        for phone in word.phones
        if phone.stress == 1
    ]
    share = sum(symbol in ("UW", "AO") for symbol in vowels) / len(vowels)
    running = running_shares()
    usual = (running["UW"] + running["AO"]) / sum(running[symbol] for symbol in VOWELS)
    assert share > 1.5 * usual


def test_a_discreet_ladder_leaves_telling_words_out(engine: Engine) -> None:
    """ "speech" and "voice" are in our lists; a discreet booklet never has them."""
    choice = LadderOptions(Unit.WORD, Unit.SENTENCE, ("FLEECE", "CHOICE"), 24)
    for discreet in (False, True):
        head = Worksheet((), "", None, discreet=discreet)
        sheet = make_ladder(choice, head, DrillOptions(), engine)
        texts = " ".join(drill.passage.text for unit in sheet.units for drill in unit.drills)
        assert ("voice" in texts) == (not discreet)
