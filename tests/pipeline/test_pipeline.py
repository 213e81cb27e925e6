"""The main job from end to end: text in, graded versions out."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec import structs

from drillgen.core.errors import OptionError
from drillgen.core.options import DrillOptions, Strategy
from drillgen.core.values import Drill, Grade, Origin, Passage, VersionKind
from drillgen.speech.align.mark import mark_vowels
from drillgen.speech.pipeline import Engine, iter_drills, make_drill
from drillgen.speech.pronounce.overrides import parse_overrides
from drillgen.speech.respell.writer import respell
from drillgen.speech.swap.targets import swap_vowels


@pytest.fixture(scope="module")
def engine() -> Engine:
    return Engine.load()


@pytest.fixture(scope="module")
def british() -> Engine:
    return Engine.load(accent="non-rhotic")


def words_of(drill: Drill, version: int = 0) -> list[str]:
    return [cell.text for line in drill.versions[version].lines for cell in line.cells if cell]


def test_versions_fade_from_full_to_marked(engine: Engine) -> None:
    drill = make_drill("The tide turns slowly.", DrillOptions(rungs=3), engine=engine)
    assert [v.kind for v in drill.versions] == [
        VersionKind.FULL,
        VersionKind.PARTIAL,
        VersionKind.PARTIAL,
        VersionKind.PARTIAL,
        VersionKind.MARKED,
    ]
    assert [v.rung for v in drill.versions] == [0, 3, 2, 1, 0]
    shares = [v.share for v in drill.versions]
    assert shares == sorted(shares, reverse=True)
    assert (shares[0], shares[-1]) == (1.0, 0.0)


def test_words_that_keep_their_vowels_keep_their_spelling(engine: Engine) -> None:
    drill = make_drill(
        "We saw the Harbour.", DrillOptions(strategy=Strategy.CONTENT), engine=engine
    )
    partial = words_of(drill, 1)
    assert (partial[0], partial[2]) == ("We", "the")
    assert partial[1] != "saw"


def test_names_that_do_not_tell_their_sound_are_respelled(engine: Engine) -> None:
    drill = make_drill("Keith and Rhys met Eve, Li and Leigh.", engine=engine)
    words = words_of(drill)
    assert [words[i] for i in (0, 3)] == ["Keith", "meet"]
    assert words[4] == "Eve"
    assert words[2] == "reess"
    assert words[5:] == ["lee", "eend", "lee"]


def test_a_capital_that_begins_a_sentence_respells_no_word_of_another_target(
    engine: Engine,
) -> None:
    options = DrillOptions(target="GOOSE")
    first, later = (
        words_of(make_drill(text, options, engine=engine)) for text in ("You go.", "Go, you.")
    )
    assert [first[0], later[1]] == ["You", "you"]


def test_words_in_capitals_do_not_look_stressed(engine: Engine) -> None:
    drill = make_drill("PLEASE TRY IT ON THE BBC.", engine=engine)
    said = [[cell.text for cell in version.lines[0].cells if cell] for version in drill.versions]
    assert said == [
        ["please", "tree", "eet", "een", "thee", "BBC"],
        ["please", "tree", "it", "on", "the", "BBC"],
        ["PLEASE", "TRY", "IT", "ON", "THE", "BBC"],
    ]


def test_marked_version_is_the_original(engine: Engine) -> None:
    text = "“Café au lait?” Dr. O’Hara paid £4.50 for it — in 1999!"
    drill = make_drill(text, engine=engine)
    marked = drill.versions[-1]
    rebuilt = "".join(
        cell.text if cell else token.text
        for phrase, line in zip(drill.phrases, marked.lines, strict=True)
        for token, cell in zip(phrase.tokens, line.cells, strict=True)
    )
    assert rebuilt == text


def test_homographs_are_read_by_context(engine: Engine) -> None:
    drill = make_drill("Close the door and stay close to me.", engine=engine)
    full = words_of(drill)
    assert full[0] != full[6]
    assert {p.origin for row in drill.readings for r in row for p in r if p.word == "close"} == {
        Origin.HOMOGRAPH
    }


def test_non_rhotic_drops_and_links_r(british: Engine) -> None:
    options = DrillOptions(accent="non-rhotic")
    pause = words_of(make_drill("The car.", options, engine=british))
    link = words_of(make_drill("The car is here.", options, engine=british))
    assert not pause[1].endswith("r")
    assert link[1].endswith("r")
    assert not link[3].endswith("r")
    with pytest.raises(ValueError, match="non-rhotic"):
        make_drill("The car.", DrillOptions(), engine=british)


def test_overrides_come_first() -> None:
    overrides = parse_overrides("siobhan SH AH0 V AO1 N", "words.txt")
    drill = make_drill("Siobhan came.", overrides=overrides)
    assert words_of(drill)[0] == "shee-veen"
    assert drill.readings[0][0][0].origin is Origin.OVERRIDE
    assert not drill.review


def test_unknown_words_are_reviewed_once(engine: Engine) -> None:
    drill = make_drill("Zrovnik met Zrovnik in Pellow Quay.", engine=engine)
    assert [item.word for item in drill.review].count("zrovnik") == 1
    item = next(item for item in drill.review if item.word == "zrovnik")
    assert item.context == "Zrovnik met Zrovnik in Pellow Quay."
    assert item.pronunciation.origin is Origin.NAME


def test_sure_guesses_are_listed_last_as_probably_right(engine: Engine) -> None:
    drill = make_drill("Trelassick met Qerzhnik.", engine=engine)
    assert [(item.word, item.doubtful) for item in drill.review] == [
        ("qerzhnik", True),
        ("trelassick", False),
    ]
    assert drill.review[1].reason.endswith("Probably right.")


def test_collapsed_homographs_are_not_reviewed_in_a_full_swap(engine: Engine) -> None:
    drill = make_drill("read lead wind", DrillOptions(rungs=0), engine=engine)
    assert not drill.review


def test_unknown_target() -> None:
    with pytest.raises(OptionError, match="choose one of"):
        make_drill("Hello", DrillOptions(target="xx"))
    with pytest.raises(OptionError, match="0 to 12"):
        DrillOptions(rungs=13)


def test_key_covers_just_what_is_printed(engine: Engine) -> None:
    plain = make_drill("Me.", DrillOptions(rungs=0), engine=engine)
    rich = make_drill("Measure the thin rings.", DrillOptions(rungs=0), engine=engine)
    assert {entry.spelling for entry in plain.key} < {entry.spelling for entry in rich.key}


def test_streamed_drills_cover_the_text(engine: Engine) -> None:
    lines = ["The boat came in.\n", "\n", "It was late.\n"] * 50
    drills = list(iter_drills(lines, engine=engine))
    said = sum(len(words_of(drill)) for drill in drills)
    assert said == 50 * 7


def test_same_words_share_one_cell(engine: Engine) -> None:
    """What the memory and the speed of long texts rest on."""
    drill = make_drill("boat boat boat boat. boat", DrillOptions(rungs=0), engine=engine)
    cells = [cell for line in drill.versions[0].lines for cell in line.cells if cell]
    assert len({cell.text for cell in cells}) == 1
    # One cell for each grade: the nucleus is printed otherwise.
    assert len({id(cell) for cell in cells}) == len({cell.runs for cell in cells})


@pytest.mark.parametrize("grade", Grade)
def test_a_word_graded_afterwards_is_as_if_made_so(engine: Engine, grade: Grade) -> None:
    text = "The photographer, who carried it there herself, has been unbelievably hungry. Hmm."
    drill = make_drill(f"{text}\n\n{text.lower()}", engine=engine)
    full, marked = drill.versions[0], drill.versions[-1]
    seen = 0
    for i, phrase in enumerate(drill.phrases):
        for k, reading in enumerate(drill.readings[i]):
            if phrase.grades[k] != (grade,):
                continue
            phones = reading[0].phones
            seen += 1
            assert marked.lines[i].cells[k] == mark_vowels(
                phrase.tokens[k].text, [phones], None, [grade], engine.far_vowels(drill.target)
            )
            swap = swap_vowels(phones, drill.target)
            if swap.changed:
                cell = full.lines[i].cells[k]
                made = respell(swap, grade, engine.key, word=reading[0].word)
                assert cell == structs.replace(made, replaced=(swap.changed,))
    assert seen > 1


def test_forgetting_changes_nothing() -> None:
    engine = Engine.load()
    text = "She will read the book that I read, and close the door."
    before = make_drill(text, engine=engine)
    engine.pronouncer.forget()
    engine.forget_cells()
    assert make_drill(text, engine=engine) == before


@settings(derandomize=True, max_examples=60, deadline=None)
@given(text=st.text(max_size=60), rungs=st.integers(0, 4), strategy=st.sampled_from(Strategy))
def test_any_text(engine: Engine, text: str, rungs: int, strategy: Strategy) -> None:
    options = DrillOptions(rungs=rungs, strategy=strategy)
    drill = make_drill(Passage(text), options, engine=engine)
    assert "".join(t.text for phrase in drill.phrases for t in phrase.tokens) == text
    for phrase, readings in zip(drill.phrases, drill.readings, strict=True):
        for token, reading in zip(phrase.tokens, readings, strict=True):
            assert len(token.spoken) == len(reading)
            assert all(p.phones for p in reading)
    for version in drill.versions:
        assert len(version.lines) == len(drill.phrases)
        for phrase, line in zip(drill.phrases, version.lines, strict=True):
            assert len(line.cells) == len(phrase.tokens)
    assert make_drill(Passage(text), options, engine=engine) == drill


@settings(derandomize=True, max_examples=40, deadline=None)
@given(
    words=st.lists(
        st.sampled_from(
            [
                "harbour",
                "lantern",
                "you",
                "would",
                "the",
                "of",
                "beautiful",
                "fire",
                "choir",
                "read",
                "use",
            ]
        ),
        min_size=1,
        max_size=12,
    ),
    rungs=st.integers(1, 6),
    strategy=st.sampled_from(Strategy),
    target=st.sampled_from(["IY", "IH", "EY", "UW"]),
)
def test_printed_rungs_nest(
    engine: Engine, words: list[str], rungs: int, strategy: Strategy, target: str
) -> None:
    """A word that is respelled at a rung is respelled at all higher ones, with no fewer swaps."""
    options = DrillOptions(target=target, rungs=rungs, strategy=strategy)
    drill = make_drill(" ".join(words), options, engine=engine)
    counts = [
        [
            sum(run.swapped for run in cell.runs)
            for line in version.lines
            for cell in line.cells
            if cell
        ]
        for version in drill.versions[:-1]
    ]
    for higher, lower in itertools.pairwise(counts):
        assert all(h >= low for h, low in zip(higher, lower, strict=True))
    vowels = [
        sum(phone.is_vowel and phone.symbol != target for p in reading for phone in p.phones)
        for row in drill.readings
        for reading in row
        if reading
    ]
    assert counts[0] == vowels
