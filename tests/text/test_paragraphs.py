"""Streaming: the chunks join to the text, and stay small."""

from __future__ import annotations

import io
import itertools
from collections.abc import Iterator

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillgen.speech.text.paragraphs import iter_paragraphs

PIECES = ["tide ", "boat", "\n", "\r\n", "\n\n", ". ", "\t", "\u2029", "a" * 30, " \n \n", ""]


@settings(max_examples=300, derandomize=True, deadline=None)
@given(st.lists(st.sampled_from(PIECES), max_size=60), st.integers(1, 80))
def test_chunks_join_to_the_text(pieces: list[str], limit: int) -> None:
    text = "".join(pieces)
    chunks = list(iter_paragraphs(pieces, limit))
    assert "".join(chunks) == text
    assert all(chunks)
    for left, right in itertools.pairwise(chunks):
        assert left[-1].isspace() or right[0].isspace()
    longest = max(map(len, text.split()), default=0)
    spaces = max((len(left) for left in _runs(text)), default=0)
    # A part grows past the limit only to finish a word or a run of white space.
    assert all(len(chunk) <= limit + longest + spaces + 1 for chunk in chunks)


def _runs(text: str) -> Iterator[str]:
    run = ""
    for char in text:
        run = run + char if char.isspace() else ""
        if run:
            yield run


@settings(max_examples=100, derandomize=True, deadline=None)
@given(st.text(max_size=80))
def test_any_text(text: str) -> None:
    lines = io.StringIO(text, newline="")
    assert "".join(iter_paragraphs(lines, 20)) == text


def test_blank_lines_end_a_chunk() -> None:
    lines = ["One.\n", "still one.\n", "\n", " \n", "Two.\n", "\n"]
    assert list(iter_paragraphs(lines)) == ["One.\nstill one.\n\n \n", "Two.\n\n"]


@pytest.mark.parametrize("piece", ["word ", "word. Then ", "word\n"])
def test_no_blank_line_stays_flat(piece: str) -> None:
    """Chunks come out while lines still come in: at most one chunk is held."""
    taken = 0

    def endless() -> Iterator[str]:
        nonlocal taken
        while True:
            taken += len(piece)
            yield piece

    chunks = iter_paragraphs(endless(), 1000)
    given_out = 0
    for _ in range(50):
        given_out += len(next(chunks))
        assert taken - given_out <= 2000


@pytest.mark.parametrize("end", [". ", "! ", "? ", ".\n", "!\n", "?\n"])
def test_a_long_paragraph_is_cut_after_a_sentence(end: str) -> None:
    """Rather than at the last white space, if the sentence ends in the second half."""
    text = f"one two three four{end}five six seven eight nine ten"
    assert next(iter(iter_paragraphs([text], 30))) == f"one two three four{end}"
    early = f"one{end}two three four five six seven eight nine ten"
    assert next(iter(iter_paragraphs([early], 30))) == early[:30].rsplit(" ", 1)[0] + " "


def test_a_paragraph_of_just_the_limit_is_whole() -> None:
    lines = ["one two\n", "\n", "three\n", "four\n"]
    assert list(iter_paragraphs(lines, 11)) == ["one two\n\n", "three\nfour\n"]
    assert list(iter_paragraphs(["a" * 12 + " b"], 5)) == ["a" * 12, " b"]
