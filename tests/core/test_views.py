"""A drill as one looks at it."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import drillgen
from drillgen.core.phones import vowel_indexes

WORDS = [
    "quay",
    "Dr.",
    "23",
    "read",
    "well-known",
    "Zorblat",
    "the",
    "£4.50",
    "—",
    "hmm",
    "😀",
    "b.",
]


@pytest.fixture(scope="module")
def engine() -> drillgen.Engine:
    return drillgen.Engine.load()


def make(text: str, engine: drillgen.Engine, rungs: int = 1) -> drillgen.Drill:
    return drillgen.make_drill(text, drillgen.DrillOptions(rungs=rungs), engine=engine)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.sampled_from([*WORDS, "\n\n", "see", "law & order"]), max_size=12))
def test_words_are_aligned_with_the_text(engine: drillgen.Engine, parts: list[str]) -> None:
    text = " ".join(parts)
    drill = make(text, engine, rungs=2)
    assert drill.marked.text == text
    for view in (drill.full, *drill.partials, drill.marked):
        shares = []
        for word in view.words:
            assert text[word.start : word.end] == word.original
            assert word.respelling in view.text
            vowels = vowel_indexes(word.before)
            assert vowels == vowel_indexes(word.after)
            for index, (before, after) in enumerate(zip(word.before, word.after, strict=True)):
                if index in vowels:
                    shares.append(after.symbol == drill.target)
                    assert after.symbol in (before.symbol, drill.target)
                else:
                    assert after == before
        if view is not drill.marked and shares:
            # Vowels that are the target by nature may not be counted as swapped.
            assert sum(shares) / len(shares) >= view.share
        if view.version.kind.value == "full":
            assert all(shares)


def test_what_a_word_knows(engine: drillgen.Engine) -> None:
    word = make("On the quay.", engine).words[-1]
    assert (word.original, word.start, word.end) == ("quay", 7, 11)
    assert (word.ipa, word.ipa_after, word.respelling) == ("ki", "ki", "kee")
    assert word.confidence == 1.0
    number = make("At 23.", engine).words[-1]
    assert (number.original, number.respelling) == ("23", "tween-tee three")
    assert number.ipa_after == "ˈtwin.ti θɹi"


def test_a_drill_prints_its_graded_lines(engine: drillgen.Engine) -> None:
    drill = make("Two boats.\nGood morning.", engine)
    assert str(drill).splitlines()[0].split() == ["full", "tee", "BEETS."]
    assert "marked     Tw[o] b[oa]ts." in str(drill)
    assert str(drill.full).splitlines() == ["tee beets.", "gheed meer-neeng."]


def test_a_repr_is_one_short_line(engine: drillgen.Engine) -> None:
    drill = make("On Monday the old baker read 23 letters; " * 40, engine)
    for value in (drill, drill.full, drill.words[0]):
        assert len(repr(value)) < 100
        assert "\n" not in repr(value)


def test_the_notebook_view_is_well_formed_and_escaped(engine: drillgen.Engine) -> None:
    html = make("Tom & Ann said: <b>no</b>.", engine)._repr_html_()
    ElementTree.fromstring(f"<div>{html}</div>")
    assert "&amp;" in html
    assert "<b>no</b>" not in html


def test_nothing_to_say(engine: drillgen.Engine) -> None:
    drill = make("", engine)
    assert (drill.words, drill.full.text) == ((), "")


def test_partial_versions_tell_the_phones_they_print(engine: drillgen.Engine) -> None:
    # The parts of a compound are swapped at their own steps: "leader" keeps its vowels here.
    drill = make("Their leadership.", engine, rungs=2)
    told = {
        word.respelling: " ".join(str(phone) for phone in word.after)
        for view in (*drill.partials, drill.full)
        for word in view.words
        if word.original == "leadership"
    }
    assert told["leader-sheep"] == "L IY1 D ER0 R SH IY2 P"
