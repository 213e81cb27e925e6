"""`drillgen ladder`: units, contrasts, tables, formats."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from cli_helper import alt_texts, check_pdf, fails, pdf_text

from drillgen.cli import run
from drillgen.core.options import Format, Unit
from drillgen.corpus.reader import LEXICAL_SETS, LIST_UNITS, load_word_list

pytestmark = pytest.mark.usefixtures("here")


def load_units(path: Path) -> list[dict[str, Any]]:
    units: list[dict[str, Any]] = json.loads(path.read_text(encoding="utf-8"))["sheet"]["units"]
    return units


def test_the_whole_way_in_every_format(here: Path) -> None:
    arguments = ["ladder", "--from", "syllable", "--to", "conversation", "--count", "4"]
    formats = [part for kind in Format for part in ("-f", kind)]
    assert run([*arguments, *formats]) == 0
    units = load_units(here / "ladder.json")
    assert [unit["unit"] for unit in units] == list(Unit)
    reader = check_pdf(here / "ladder.pdf", "From syllables to conversation")
    alts = alt_texts(reader)
    assert {"box to tick for Chant", "box to tick for Carry-over"} <= set(alts)
    texts = {
        "pdf": pdf_text(here / "ladder.pdf"),
        "md": " ".join((here / "ladder.md").read_text(encoding="utf-8").replace("\\", "").split()),
        "txt": " ".join((here / "ladder.txt").read_text(encoding="utf-8").split()),
    }
    for kind, text in texts.items():
        places = []
        for number, name in enumerate(
            ("Syllables", "Words", "Phrases", "Sentences", "Passage", "Conversation"), 1
        ):
            heading = f"{number}. {name}"
            places.append(text.find(heading))
            assert places[-1] >= 0, (kind, heading)
        assert places == sorted(places), kind
        assert "/u/ (GOOSE)" in text
        assert "/ɔ/ (THOUGHT)" in text


def test_items_come_from_the_lists_of_the_contrast(here: Path) -> None:
    arguments = ["ladder", "--from", "syllable", "--to", "sentence", "--contrast", "goat"]
    assert run([*arguments, "--contrast", "NEAR", "-f", "json"]) == 0
    for unit in load_units(here / "ladder.json"):
        kind = Unit(unit["unit"])
        assert kind in LIST_UNITS
        for group in unit["groups"]:
            known = [item.text for item in load_word_list(group["lexical_set"]).items[kind]]
            items = group["drill"]["passage"]["text"].split("\n\n")
            assert set(items) <= set(known)
            # In the order of the list, each once.
            assert items == sorted(set(items), key=known.index)
            expected = {Unit.PHRASE: 6, Unit.SENTENCE: 4}.get(kind, 8)
            assert len(items) == min(expected, len(known))
        names = [group["lexical_set"] for group in unit["groups"]]
        # NEAR has no syllables.
        assert names == (["GOAT"] if kind is Unit.SYLLABLE else ["GOAT", "NEAR"])


def test_syllables_are_read_as_the_list_says(here: Path) -> None:
    arguments = ["ladder", "--from", "syllable", "--to", "syllable", "--contrast", "GOOSE"]
    assert run([*arguments, "--count", "24", "-f", "json", "-f", "txt"]) == 0
    ((group,),) = (unit["groups"] for unit in load_units(here / "ladder.json"))
    known = {item.text: item.phones for item in load_word_list("GOOSE").items[Unit.SYLLABLE]}
    readings = group["drill"]["readings"]
    words = [word for row in readings for reading in row for word in reading]
    assert {word["word"] for word in words} == set(known)
    for word in words:
        spelled = [(phone["symbol"], phone["stress"]) for phone in word["phones"]]
        assert spelled == [(p.symbol, p.stress) for p in known[word["word"]]]
    assert group["drill"]["review"] == []
    text = (here / "ladder.txt").read_text(encoding="utf-8")
    # A stressed syllable each, "too" as well, which is a weak word elsewhere.
    assert "too (two)" in text
    assert "TEE" in text


def test_same_seed_same_bytes_other_seed_other_words(here: Path) -> None:
    for name, seed in (("a", "1"), ("b", "1"), ("c", "2")):
        arguments = ["ladder", "--to", "phrase", "--seed", seed, "-f", "pdf", "-f", "json"]
        assert run([*arguments, "-o", name]) == 0
    assert (here / "a.pdf").read_bytes() == (here / "b.pdf").read_bytes()
    assert (here / "a.json").read_bytes() != (here / "c.json").read_bytes()


def test_tables_have_header_cells_and_boxes(here: Path) -> None:
    assert run(["ladder", "--to", "phrase", "--count", "4", "-f", "md", "-f", "pdf"]) == 0
    lines = (here / "ladder.md").read_text(encoding="utf-8").splitlines()
    tables = [line for line in lines if line.startswith("| As written")]
    assert [line.count("|") for line in tables] == [7, 7, 8, 8]
    assert sum(line.count("☐ | ☐ | ☐") for line in lines) == 0  # columns are padded
    rows = [line for line in lines if line.startswith("|") and line.count("☐") == 3]
    assert len(rows) == 2 * 4 + 2 * 3
    alts = alt_texts(check_pdf(here / "ladder.pdf", "From words to phrases"))
    assert alts.count("box to tick for Chant") == len(rows)


@pytest.mark.parametrize("options", [["--large"], ["--rungs", "2"], ["--rungs", "0"]], ids=str)
def test_phrases_that_don_t_fit_a_table_are_lines(here: Path, options: list[str]) -> None:
    arguments = ["ladder", "--from", "phrase", "--to", "phrase", "--count", "2", *options]
    assert run([*arguments, "-f", "pdf"]) == 0
    text = pdf_text(here / "ladder.pdf")
    is_table = options != ["--rungs", "2"]
    assert ("Tick a box for each reading" in text) == is_table
    assert ("Say every vowel as usual" in text) == (not is_table)
    assert "Practice with phrases" in text


def test_in_large_print_a_wide_row_stands_for_itself(here: Path) -> None:
    arguments = ["ladder", "--from", "phrase", "--to", "phrase", "--count", "2", "--large"]
    assert run(arguments) == 0
    text = pdf_text(here / "ladder.pdf")
    # One phrase a list: each names its versions and has its boxes.
    for name in ("Original words:", "Partial swap:", "Full swap:"):
        assert text.count(name) == 4
    alts = alt_texts(check_pdf(here / "ladder.pdf", "Practice with phrases"))
    assert alts.count("box to tick for Chant") == 4


def test_another_target_has_other_contrasts(here: Path) -> None:
    assert run(["ladder", "--to", "word", "--target", "u", "-f", "txt"]) == 0
    text = (here / "ladder.txt").read_text(encoding="utf-8")
    assert "The target is /u/ (GOOSE)" in " ".join(text.split())
    assert "FLEECE" in text


def test_both_accents(here: Path) -> None:
    assert run(["ladder", "--contrast", "NURSE", "--accent", "non-rhotic", "-f", "txt"]) == 0
    assert "Words with /ɜː/ (NURSE)" in (here / "ladder.txt").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("arguments", "part"),
    [
        (["--from", "passage", "--to", "word"], "passage comes after word"),
        (["--from", "letter"], "--from 'letter' is unknown; choose one of: syllable"),
        (["--contrast", "WHALE"], "lexical set 'WHALE' is unknown"),
        (["--from", "syllable", "--contrast", "BATH"], "there are no syllables for BATH"),
        (["--count", "0"], "count must be 1 to 24"),
        (["--target", "q"], "target 'q'"),
        ([f"--contrast={name}" for name in list(LEXICAL_SETS)[:7]],
         "7 contrasts are too many"),
        (["--out", __file__ + "/x.pdf"], "is no folder"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)  # fmt: skip
def test_bad_input_is_one_line(
    capsys: pytest.CaptureFixture[str], arguments: list[str], part: str, here: Path
) -> None:
    assert part in fails(capsys, "ladder", *arguments)
    assert list(here.iterdir()) == []


@pytest.mark.usefixtures("here")
@pytest.mark.parametrize(
    ("first", "last", "says"),
    [
        ("phrase", "phrase", "Go on to sentences when"),
        ("word", "sentence", "Go on to passages when"),
        ("conversation", "conversation", "You are at the top when"),
    ],
)
def test_only_talk_is_the_top(
    first: str, last: str, says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["ladder", "--from", first, "--to", last, "-f", "txt", "-o", "-"]) == 0
    text = " ".join(capsys.readouterr().out.split())
    assert says in text
    assert ("at the top" in text) == (last == "conversation")
    assert ("climbs from small" in text) == (first != last)
