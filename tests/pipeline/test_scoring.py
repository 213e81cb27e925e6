"""The difficulty of a drill's sentences, held against the versions of the drill."""

from __future__ import annotations

import pytest

from drillgen.core.errors import OptionError
from drillgen.core.options import DrillOptions, Strategy
from drillgen.core.values import VersionKind
from drillgen.corpus.difficulty import Scorer
from drillgen.corpus.reader import load_passages
from drillgen.corpus.scoring import format_scores, gather_sentences, score_drill
from drillgen.speech.pipeline import Engine, make_drill

TEXT = "\n\n".join(passage.text for passage in load_passages()[:3]) + " At 10:30 I paid £3.50."


@pytest.fixture(scope="module")
def engine() -> Engine:
    return Engine.load()


@pytest.mark.parametrize("strategy", list(Strategy))
def test_a_rung_swaps_what_its_version_swaps(strategy: Strategy, engine: Engine) -> None:
    """Counted in two ways: by the score, and by the pipeline for the printed version."""
    options = DrillOptions(strategy=strategy, rungs=3)
    drill = make_drill(TEXT, options, engine=engine)
    vowels = sum(
        phone.is_vowel and phone.symbol != drill.target
        for row in drill.readings
        for r in row
        for word in r
        for phone in word.phones
    )
    for version in drill.versions:
        if version.kind is not VersionKind.MARKED:
            sentences = gather_sentences(drill, options, engine, version.rung)
            swapped = sum(len(word.swapped) for _, words in sentences for word in words)
            assert swapped / vowels == pytest.approx(version.share, abs=1e-12)


def test_sentences_are_gathered_with_their_breaths(engine: Engine) -> None:
    options = DrillOptions()
    drill = make_drill("When the tide turns, we sail. Sit.", options, engine=engine)
    first, second = gather_sentences(drill, options, engine)
    assert [text for text, _ in (first, second)] == ["When the tide turns, we sail.", "Sit."]
    assert [word.word for word in first[1]] == ["when", "the", "tide", "turns", "we", "sail"]
    assert [word.word for word in first[1] if word.phrase_end] == ["turns", "sail"]
    assert [word.phrase_end for word in second[1]] == [True]


def test_every_sentence_of_the_text_is_scored_once(engine: Engine) -> None:
    options = DrillOptions()
    drill = make_drill(TEXT, options, engine=engine)
    scores = score_drill(drill, options, engine, Scorer.load())
    assert len(scores) == drill.phrases[-1].sentence + 1
    assert " ".join(s.text for s in scores) == " ".join(TEXT.split())
    assert f"{len(scores)} sentences" in format_scores(scores)


def test_what_can_not_be_scored(engine: Engine) -> None:
    options = DrillOptions(rungs=2)
    drill = make_drill("A boat.", options, engine=engine)
    with pytest.raises(ValueError, match="UW"):
        score_drill(drill, options, engine, Scorer.load("UW", {}))
    with pytest.raises(OptionError, match="0 \\(full swap\\) to 2, not 3"):
        score_drill(drill, options, engine, Scorer.load("IY", {}), rung=3)
    nothing = make_drill("...", options, engine=engine)
    assert score_drill(nothing, options, engine, Scorer.load("IY", {})) == ()
