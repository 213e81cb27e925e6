"""Accents through the whole pipeline: partial versions, the key, links, targets, word lists."""

from __future__ import annotations

from pathlib import Path

import pytest

from drillgen.core.accents import list_accents, load_accent
from drillgen.core.options import DrillOptions, Strategy
from drillgen.corpus.difficulty import Scorer
from drillgen.sheets.ladder import far_sets
from drillgen.speech.pipeline import Engine, make_drill
from drillgen.speech.pronounce.overrides import parse_overrides
from drillgen.speech.review import ask_questions

TABLE = Path(__file__).parent / "data" / "accent_partials.tsv"
ROWS = [
    line.split("\t")
    for line in TABLE.read_text(encoding="utf-8").splitlines()
    if not line.startswith("#")
]


@pytest.fixture(scope="module")
def engines() -> dict[str, Engine]:
    first = Engine.load()
    return {name: first.adapt(accent=name) for name in list_accents()}


@pytest.mark.parametrize(
    ("column", "name"), [(1, "non-rhotic"), (2, "australian"), (3, "scottish")]
)
def test_partial_versions_keep_their_vowels(
    column: int, name: str, engines: dict[str, Engine]
) -> None:
    options = DrillOptions(accent=name, strategy=Strategy.UNSTRESSED)
    for row in ROWS:
        (partial,) = make_drill(row[0], options, engine=engines[name]).partials
        assert partial.text == row[column], row[0]


@pytest.mark.parametrize("name", list_accents())
def test_every_accent_makes_every_version(name: str, engines: dict[str, Engine]) -> None:
    """Each vowel has a letter, a symbol and a level; the full swap is that of the r rule."""
    text = "The law of the land was near the far shore; our poor bird can't hear."
    accent = load_accent(name)
    for target in accent.targets:
        options = DrillOptions(target, name, Strategy.DISTANCE, 3)
        drill = make_drill(text, options, engine=engines[name])
        assert (drill.accent, drill.rhotic, drill.target) == (name, accent.rhotic, target)
        shares = [version.share for version in drill.versions]
        assert shares[0] == 1
        assert shares[:-1] == sorted(shares[:-1], reverse=True)
        assert all(word.ipa and word.ipa_after for word in drill.words)
        levels = engines[name].nearness(target)
        assert levels.keys() == accent.vowels.keys()
        assert max(levels, key=levels.__getitem__) == target


def test_the_key_is_that_of_the_accent(engines: dict[str, Engine]) -> None:
    options = DrillOptions(accent="non-rhotic", strategy=Strategy.UNSTRESSED)
    drill = make_drill("Bottle, unclear, compare, goat.", options, engine=engines["non-rhotic"])
    key = {entry.spelling: (entry.ipa, entry.example) for entry in drill.key}
    assert key["o"] == ("ɒ", "hot")
    assert key["eer"] == ("ɪə", "ear")
    assert key["air"] == ("eə", "hair")
    # American and Scottish sheets have no such line.
    for name in ("rhotic", "scottish"):
        other = make_drill("Bottle.", DrillOptions(accent=name), engine=engines[name])
        assert "o" not in {entry.spelling for entry in other.key}


@pytest.mark.parametrize("name", [n for n in list_accents() if not load_accent(n).rhotic])
def test_linking_r_is_said_and_linked(name: str, engines: dict[str, Engine]) -> None:
    """Wells (1982), 3.2.3. Adding an accent once lost it without a word."""
    drill = make_drill("The far end. A far boat.", DrillOptions(accent=name), engine=engines[name])
    full = [cell for line in drill.full.version.lines for cell in line.cells if cell]
    assert [cell.text for cell in full] == ["thee", "feer", "eend", "ee", "fee", "beet"]


def test_mergers_are_seen_in_distances_and_ladders() -> None:
    """GOOSE is nearer to FLEECE where it is fronted (Cox 2006; Scobbie et al. 2012)."""
    american, scottish = Scorer.load("IY", {}), Scorer.load("IY", {}, load_accent("scottish"))
    assert scottish.distances["UW"] < american.distances["UW"] - 1
    assert "GOOSE" in far_sets("IY")
    assert "GOOSE" not in far_sets("IY", load_accent("scottish"))
    assert "GOOSE" not in far_sets("IY", load_accent("australian"))


def test_word_lists_get_the_entry_before_the_accent(engines: dict[str, Engine]) -> None:
    """What is kept in one accent serves in any: r and all."""
    drill = make_drill(
        "Dr Zorner met Quellar.", DrillOptions(accent="non-rhotic"), engine=engines["non-rhotic"]
    )
    for question in ask_questions([drill], guesses=True):
        for candidate in question.candidates:
            assert not {"OH", "IA", "EA", "UA"} & {p.symbol for p in candidate.phones}
        assert question.candidates[0].phones == question.item.pronunciation.listed[0]


def test_a_word_of_one_s_own_is_said_in_the_accent(engines: dict[str, Engine]) -> None:
    own = parse_overrides("quellar /ˈkwɛlɑːr/\nzott /zɒt/\n", "words.txt")
    engine = engines["rhotic"].adapt(overrides=own, accent="non-rhotic")
    drill = make_drill("Quellar and Zott.", DrillOptions(accent="non-rhotic"), engine=engine)
    assert [word.ipa for word in drill.words] == ["ˈkwe.lɑːɹ", "ænd", "zɒt"]


def test_what_only_the_accent_parts_is_not_to_be_checked() -> None:
    """With NURSE these have an r less in a non-rhotic accent: no other word."""
    text = "For years we're sure you forgot yourself, or your brother."
    drill = make_drill(text, DrillOptions(accent="non-rhotic"))
    assert [item.word for item in drill.review] == []
