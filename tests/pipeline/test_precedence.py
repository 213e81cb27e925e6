"""Which of two rules wins, and rules that nothing else would miss.

Every test here was seen to fail when the rule that it names was turned round.
"""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

import pytest

from drillgen.cli import run
from drillgen.core.options import DrillOptions
from drillgen.core.phones import format_phones
from drillgen.core.values import Drill
from drillgen.core.wording import choose_wording, is_neutral, keep_hint
from drillgen.speech.pipeline import Engine, make_drill
from drillgen.speech.pronounce.lexicon import Lexicon
from drillgen.speech.pronounce.overrides import merge_overrides, parse_overrides
from drillgen.web.forms import Choices
from drillgen.web.workshop import Lane, Workshop


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty current folder, with a personal word list that does not exist yet."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("DRILLGEN_WORDS", str(tmp_path / "own" / "words.txt"))
    return tmp_path


@cache
def engine(accent: str = "rhotic") -> Engine:
    return Engine.load(accent=accent)


def drill(text: str, accent: str = "rhotic") -> Drill:
    return make_drill(text, DrillOptions(accent=accent), engine=engine(accent))


def said(made: Drill) -> dict[str, str]:
    """Spoken word to its phonemes."""
    return {
        word.word: format_phones(word.phones)
        for row in made.readings
        for reading in row
        for word in reading
    }


def said_on_sheet(capsys: pytest.CaptureFixture[str], text: str, *arguments: str) -> str:
    """The phonemes of a text of one word, as the command line makes them."""
    capsys.readouterr()
    assert run(["word", text, *arguments]) == 0
    return capsys.readouterr().out


# Word lists


def write(path: Path, line: str) -> str:
    path.parent.mkdir(exist_ok=True)
    path.write_text(line + "\n", encoding="utf-8")
    return str(path)


def test_the_first_list_that_has_a_word_wins() -> None:
    lists = [parse_overrides(f"tide {phones}", "x") for phones in ("T IY1 D", "T OW1 D")]
    assert format_phones(merge_overrides(lists).entries["tide"].phones) == "T IY1 D"


def test_lists_in_the_order_of_the_command_then_the_personal_one(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    first, second = write(here / "a.txt", "quay K AA1"), write(here / "b.txt", "quay K OW1")
    write(here / "own" / "words.txt", "quay K UW1")
    assert "K AA1" in said_on_sheet(capsys, "quay", "--words", first, "--words", second)
    assert "K OW1" in said_on_sheet(capsys, "quay", "--words", second, "--words", first)
    assert "K UW1" in said_on_sheet(capsys, "quay")
    assert "K IY1" in said_on_sheet(capsys, "key")


def test_what_was_corrected_on_the_page_beats_the_lists_of_the_command(tmp_path: Path) -> None:
    """It is the newest decision; forgotten, the lists count again."""
    fixed = parse_overrides("quay K AA1", "x")
    workshop = Workshop(tmp_path / "words.txt", fixed=fixed, lexicon=Lexicon.load())
    choices = Choices(text="Quay.")
    assert said(workshop.make(choices, Lane.QUICK)) == {"quay": "K AA1"}
    workshop.change("quay", "like: koh")
    assert said(workshop.make(choices, Lane.QUICK)) == {"quay": "K OW1"}
    workshop.change("quay", "")
    assert said(workshop.make(choices, Lane.QUICK)) == {"quay": "K AA1"}


def test_a_word_list_beats_context_and_dictionary() -> None:
    own = engine().adapt(overrides=parse_overrides("read R OW1 D\ntide T AA1 D", "x"))
    made = make_drill("I read it yesterday. The tide turns.", engine=own)
    assert (said(made)["read"], said(made)["tide"]) == ("R OW1 D", "T AA1 D")
    assert not made.review


# Homographs


@pytest.mark.parametrize(("text", "word"), [("The close.", "close"), ("We use lead.", "lead")])
def test_a_homograph_in_doubt_is_on_the_list(text: str, word: str) -> None:
    """Short lines leave it open: the reading must not claim to be sure."""
    (item,) = (item for item in drill(text).review if item.word == word)
    assert item.doubtful
    assert item.pronunciation.confidence < 0.9
    assert item.pronunciation.alternatives


def test_readings_from_context_have_their_british_forms() -> None:
    """Yod after an alveolar stop (Wells 1982, 3.1.10), in words that context decides."""
    for text, word, phones in (
        ("They produce it.", "produce", "P R AH0 D Y UW1 S"),
        ("Farm produce sells well.", "produce", "D Y UW"),
    ):
        assert phones in said(drill(text, "non-rhotic"))[word]
        assert "Y" not in said(drill(text))[word].split()


# Links


def links(text: str) -> dict[str, bool]:
    """Token to whether it is joined to the next."""
    made = drill(text)
    return {
        token.text: flow.linked
        for phrase, row, flows in zip(made.phrases, made.readings, made.flow, strict=True)
        for token, reading, flow in zip(phrase.tokens, row, flows, strict=True)
        if reading
    }


def test_words_are_joined_before_vowels_only() -> None:
    """Cruttenden, Gimson's Pronunciation of English, chapter 12."""
    assert links("Look at it.") == {"Look": True, "at": True, "it": False}
    assert links("See the big dog.") == dict.fromkeys(("See", "the", "big", "dog"), False)


def test_vowels_that_meet_are_joined() -> None:
    # Whatever they are: after the swap both are close.
    assert links("A chain-saw is loud.")["chain-saw"]
    assert links("The law and the order.")["law"]
    assert not links("A saw-pit was deep.")["saw-pit"]


# Wording


@pytest.mark.parametrize("word", sorted(choose_wording(discreet=True).telling))
def test_every_telling_word_is_kept_off_a_discreet_sheet(word: str) -> None:
    # A stem stands for its forms; one of two words has none.
    assert not is_neutral(f"The {word}{'' if '-' in word else 'ing'} tide.")
    assert keep_hint(f"The {word}", choose_wording(discreet=True)) == ""


@pytest.mark.parametrize(
    "word",
    [
        "voice",
        "voicing",
        "vocal",
        "resonance",
        "resonant",
        "feminine",
        "masculine",
        "gender",
        "transition",
        "bright",
        "forward",
        "tongue",
        "larynx",
        "vowel",
        "swap",
        "pitch",
        "target",
        "therapy",
        "clinic",
        "speech",
    ],
)
def test_words_of_the_purpose_are_telling(word: str) -> None:
    """The table stands here a second time: one that is lost there is missed here."""
    assert not is_neutral(f"A matter of {word}.")


# Options of a command


def test_format_beats_the_ending_and_title_beats_the_heading(here: Path) -> None:
    (here / "t.txt").write_text("# Heading\n\nThe tide turns.", encoding="utf-8")
    assert run(["sheet", "t.txt", "-f", "json", "-o", "a.json", "--title", "Mine"]) == 0
    assert (
        json.loads((here / "a.json").read_text(encoding="utf-8"))["worksheet"]["title"] == "Mine"
    )
    assert run(["sheet", "t.txt", "-f", "txt", "-o", "b.md"]) == 0
    made = next(here.glob("b.*")).read_text(encoding="utf-8")
    assert not made.startswith("# ")


def test_a_given_encoding_beats_the_mark_and_the_guess(here: Path) -> None:
    (here / "t.txt").write_bytes("The caf\u00e9.".encode("cp1252"))
    assert run(["sheet", "t.txt", "-f", "txt", "--encoding", "mac_roman", "-o", "a.txt"]) == 0
    assert "cafÈ" in (here / "a.txt").read_text(encoding="utf-8")
