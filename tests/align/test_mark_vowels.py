"""The original with its vowel letters marked."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillgen.core.phones import parse_phones
from drillgen.core.values import Grade, Phones, Respelling
from drillgen.speech.align.mark import mark_vowels

DATA = Path(__file__).parent / "data"


def read_rows(name: str) -> list[tuple[str, str, str, str]]:
    rows = []
    for line in (DATA / name).read_text("utf-8").splitlines():
        if line and line[0] != "#":
            text, readings, marked, note = line.split("\t")
            rows.append((text, readings, marked, note))
    return rows


def parse_readings(text: str) -> list[Phones]:
    return [parse_phones(part) for part in text.split(" / ")]


def bracket(marked: Respelling) -> str:
    return "".join(f"[{run.text}]" if run.vowel else run.text for run in marked.runs)


WORDS = read_rows("marked_words.tsv")


def test_the_table_is_large_and_varied() -> None:
    assert len(WORDS) >= 500
    assert {row[3] for row in WORDS} == {"rules", "sample", "non-rhotic"}
    assert all(row[2].replace("[", "").replace("]", "") == row[0] for row in WORDS)


@pytest.mark.parametrize("group", sorted({row[3] for row in WORDS}))
def test_words_are_marked_as_by_hand(group: str) -> None:
    marked = [
        (word, bracket(mark_vowels(word, parse_readings(arpabet))), wanted)
        for word, arpabet, wanted, of in WORDS
        if of == group
    ]
    assert [row for row in marked if row[1] != row[2]] == []


@pytest.mark.parametrize(("text", "readings", "wanted", "note"), read_rows("marked_tokens.tsv"))
def test_tokens_are_marked_as_written(text: str, readings: str, wanted: str, note: str) -> None:
    marked = mark_vowels(text, parse_readings(readings))
    assert bracket(marked) == wanted, note
    assert marked.text == text
    assert not marked.respelled


@pytest.mark.parametrize(("word", "arpabet", "wanted", "why"), read_rows("known_failures.tsv"))
@pytest.mark.xfail(strict=True, raises=AssertionError)
def test_known_failures(word: str, arpabet: str, wanted: str, why: str) -> None:
    assert bracket(mark_vowels(word, parse_readings(arpabet))) == wanted, why


def test_stress_is_that_of_the_syllable() -> None:
    marked = mark_vowels("photograph", [parse_phones("F OW1 T AH0 G R AE2 F")])
    assert "".join(run.text for run in marked.runs if run.stressed) == "pho"
    assert not any(run.swapped for run in marked.runs)


@pytest.mark.parametrize("part", sorted({row[0] for row in read_rows("watch_words.tsv")}))
def test_r_coloured_and_silent_letters(part: str) -> None:
    """A table of its own; its test part was marked by hand before anything was tuned."""
    rows = [row for row in read_rows("watch_words.tsv") if row[0] == part]
    marked = [bracket(mark_vowels(word, parse_readings(said))) for _, word, said, _ in rows]
    assert [got for got, row in zip(marked, rows, strict=True) if got != row[3]] == []


def test_what_to_watch() -> None:
    """The vowels that are asked for, and that of the nucleus, whatever it is."""
    slowly = [parse_phones("S L OW1 L IY0")]
    for watch, grade, wanted in (
        (None, Grade.NONE, ["ow", "y"]),
        ({"OW"}, Grade.BEAT, ["ow"]),
        ({"UW"}, Grade.BEAT, []),
        ({"UW"}, Grade.NUCLEUS, ["ow"]),
    ):
        marked = mark_vowels("slowly", slowly, grades=[grade], watch=watch)
        assert [run.text for run in marked.runs if run.watched] == wanted


def test_nothing_said_is_one_plain_run() -> None:
    assert bracket(mark_vowels("word", [])) == "word"
    assert bracket(mark_vowels("word", [()])) == "word"
    assert mark_vowels("", []).runs == ()


SOUNDS = [parse_phones(p) for p in ("K AE1 T", "IY1", "W AH1 N", "T UW1", "S M AO1 L ER0 R", "SH")]


@given(
    st.text(max_size=10) | st.text("abcdeou'’-éœçñİßﬁ.\u0301\u00ad", max_size=10),
    st.lists(st.sampled_from(SOUNDS), max_size=3),
)
@settings(max_examples=400, derandomize=True, deadline=None)
def test_any_text_is_kept_whole(text: str, readings: list[Phones]) -> None:
    marked = mark_vowels(text, readings)
    assert marked.text == text
    assert all(run.text for run in marked.runs)
    assert not marked.swapped
    assert mark_vowels(text, readings) == marked
