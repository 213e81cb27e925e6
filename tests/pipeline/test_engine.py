"""An engine answers the same whatever it read before, and whoever asks beside."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillgen.core.accents import list_accents
from drillgen.core.options import DrillOptions, Strategy
from drillgen.core.values import Drill
from drillgen.speech import pipeline
from drillgen.speech.pipeline import Engine, make_drill
from drillgen.speech.pronounce import engine as pronounce_engine
from drillgen.speech.pronounce.predict import Predictor

SENTENCES = (
    (Path(__file__).parent / "data" / "engine_sentences.txt")
    .read_text(encoding="utf-8")
    .splitlines()
)
OPTIONS = (
    DrillOptions(),
    DrillOptions(rungs=2, strategy=Strategy.ALTERNATE),
    DrillOptions(target="GOOSE", strategy=Strategy.DISTANCE),
)


@pytest.fixture(scope="module")
def warm() -> Engine:
    return Engine.load()


@pytest.fixture(scope="module")
def alone() -> dict[tuple[str, DrillOptions], Drill]:
    """The drill of each sentence by an engine that has read nothing else, loaded for it."""
    # Loading takes a while: four of them share what was loaded, but nothing more.
    loaded = [Engine.load() for _ in SENTENCES[::4]]
    return {
        (sentence, options): make_drill(sentence, options, engine=loaded[i // 4].adapt())
        for i, sentence in enumerate(SENTENCES)
        for options in OPTIONS
    }


@settings(derandomize=True, max_examples=60, deadline=None)
@given(
    order=st.lists(st.sampled_from(SENTENCES), min_size=1, max_size=10),
    options=st.sampled_from(OPTIONS),
    together=st.booleans(),
)
def test_a_warm_engine_equals_a_fresh_one(
    warm: Engine,
    alone: dict[tuple[str, DrillOptions], Drill],
    order: list[str],
    options: DrillOptions,
    together: bool,
) -> None:
    """Confidences included; also where the words were first met in another company."""
    if together:
        make_drill("\n\n".join(order), options, engine=warm)
    for sentence in order:
        assert make_drill(sentence, options, engine=warm) == alone[sentence, options]


def test_an_earlier_sentence_hides_no_doubt(warm: Engine) -> None:
    lone = make_drill("She saw the tear again.", engine=warm)
    both = make_drill("He wore a tear.\nShe saw the tear again.\n", engine=warm)
    assert [item.word for item in lone.review] == ["tear"]
    (item,) = both.review
    assert item.context == "She saw the tear again."
    assert item.pronunciation.confidence == lone.review[0].pronunciation.confidence


@pytest.fixture
def hurried() -> Iterator[None]:
    """Threads change places as often as they can."""
    interval = sys.getswitchinterval()
    sys.setswitchinterval(1e-6)
    yield
    sys.setswitchinterval(interval)


@pytest.mark.usefixtures("hurried")
def test_one_engine_serves_several_threads(
    monkeypatch: pytest.MonkeyPatch, alone: dict[tuple[str, DrillOptions], Drill]
) -> None:
    """Eight threads on one engine that forgets all the time, against engines of their own."""
    monkeypatch.setattr(pronounce_engine, "MAX_KEPT", 40)
    monkeypatch.setattr(pipeline, "_MAX_CELLS", 80)
    engine = Engine.load()
    jobs = [(s, o) for k in range(3) for s in SENTENCES[k:] + SENTENCES[:k] for o in OPTIONS]
    with ThreadPoolExecutor(8) as pool:
        drills = pool.map(lambda job: make_drill(*job, engine=engine), jobs)
        assert all(drill == alone[job] for job, drill in zip(jobs, drills, strict=True))


def test_what_is_loaded_is_shared(monkeypatch: pytest.MonkeyPatch) -> None:
    """A guess by one engine loads the networks for those that were adapted from it."""
    first = Engine.load()
    guess = first.pronounce("zrovnik")

    def fail() -> None:
        raise AssertionError("the predictor was loaded again")

    monkeypatch.setattr(Predictor, "load", fail)
    for accent in list_accents():
        assert first.adapt(accent=accent).pronounce("zrovnik")
    assert first.adapt().pronounce("zrovnik") == guess


def test_what_is_kept_is_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pronounce_engine, "MAX_KEPT", 10)
    monkeypatch.setattr(pipeline, "_MAX_CELLS", 10)
    engine = Engine.load()
    for sentence in SENTENCES:
        make_drill(sentence, engine=engine)
        assert len(engine.pronouncer._kept.forms) < 40
        assert sum(map(len, engine._cells.values())) < 80
