"""Markdown: always text, aligned, readable in source.

What a reader shows is judged by markdown-it-py, an independent CommonMark
reader that is tested on the specification's own examples.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from markdown_it import MarkdownIt
from sheet_factory import (
    KEY,
    PASSAGE,
    iter_markdown,
    make_drill,
    make_sheet,
    render_markdown,
    render_text,
)

from drillgen.core.document import Span
from drillgen.core.printable import clean
from drillgen.core.values import Drill, Grade, Worksheet
from drillgen.write.markdown import (
    TABLE_WIDTH,
    emphasize,
    escape_markdown,
)

DATA = Path(__file__).parent / "data"
NASTY = [
    line.split("\t")[0]
    for line in (DATA / "escapes.tsv").read_text(encoding="utf-8").splitlines()
    if not line.startswith("# text\t")
]


def reader() -> MarkdownIt:
    return MarkdownIt("commonmark").enable(["table", "strikethrough"])


def shown_text(source: str) -> tuple[str, set[str]]:
    """The text that a reader shows, and the kinds of its tokens."""
    texts, kinds = [], set()
    for token in reader().parse(source):
        kinds.add(token.type)
        for child in token.children or ():
            kinds.add(child.type)
            if child.type in ("text", "text_special"):
                texts.append(child.content)
    return "".join(texts), kinds


@pytest.mark.parametrize("text", NASTY)
def test_markup_in_a_text_stays_text(text: str) -> None:
    shown, kinds = shown_text(escape_markdown(text))
    assert shown == clean(text)
    assert kinds <= {"paragraph_open", "inline", "paragraph_close", "text", "text_special"}


@settings(max_examples=200, derandomize=True, deadline=None)
@given(
    st.text(st.characters(codec="utf-8") | st.sampled_from("*_`[]<>&|~$#-+=.!\\1)("), max_size=40)
)
def test_any_text_is_shown_as_it_is(text: str) -> None:
    shown, kinds = shown_text(escape_markdown(text))
    assert shown == clean(text)
    assert not kinds - {"paragraph_open", "inline", "paragraph_close", "text", "text_special"}


@settings(max_examples=150, derandomize=True, deadline=None)
@given(st.lists(st.tuples(st.text("aé́-'*_ .|\\😀", max_size=4), st.booleans()), max_size=6))
def test_emphasis_never_leaks_its_signs(pieces: list[tuple[str, bool]]) -> None:
    spans = [Span(text, Grade.BEAT if stressed else Grade.NONE) for text, stressed in pieces]
    text = "".join(span.text for span in spans)
    shown, kinds = shown_text("x " + emphasize(spans) + " x")
    assert shown.split() == f"x {text} x".split()
    assert not kinds & {"em_open", "code_inline", "html_inline", "link_open"}


def test_stress_is_bold() -> None:
    spans = [Span("b"), Span("ee", Grade.BEAT), Span("-"), Span("tee")]
    assert emphasize(spans) == "b**ee**-tee"


@pytest.mark.parametrize("title", ["1. One", "# hash", "hash #", "a # b ##", "- dash", "C#"])
def test_a_heading_is_shown_as_it_is(title: str) -> None:
    text = render_markdown(make_sheet("Quay.", title=title)).split("\n")[0]
    assert shown_text(text) == (title, {"heading_open", "inline", "text", "heading_close"}) or (
        shown_text(text)[0] == title
    )


def test_no_markup_of_the_text_reaches_the_page() -> None:
    nasty = " ".join(NASTY) + " <img src=x onerror=y> \x00\x1b[31m \u202egnol"
    source = render_markdown(make_sheet(nasty, title=nasty))
    html = reader().render(source)
    tags = set(re.findall(r"</?([a-z0-9]+)", html))
    allowed = "h1 h2 h3 p br ol ul li strong table thead tbody tr th td"
    assert tags <= set(allowed.split(" "))
    # Our own ends of lines.
    assert html.count("<br") == source.count("\\\n")


def test_words_are_aligned_in_tables(sheet: Worksheet) -> None:
    text = render_markdown(sheet)
    table = text[text.index("| 1 ") :].split("\n\n")[0].splitlines()
    assert len({line.replace("\\|", "x").count("|") for line in table}) == 1
    assert [cell.strip() for cell in table[0].split("|")][1:4] == ["1", "The", "harbour"]
    assert table[2].split("|")[3].strip() == "**heer**-bee"
    assert len({len(line) for line in table}) == 1
    assert "<" not in text
    tables = text[text.index("| 1 ") : text.index("## Original")].splitlines()
    assert max(len(row) for row in tables if row.startswith("|")) < TABLE_WIDTH + 12


def test_the_plain_text_stands_once(sheet: Worksheet) -> None:
    text = render_markdown(sheet)
    # As the original words: without the marks below letters and the numbers of sentences.
    plain = " ".join(re.sub(r"(?m)^\d+\\\. |\*\*|\\$", "", text).split())
    assert plain.count(" ".join(PASSAGE.split())) == 1


def test_drills_stream(sheet: Worksheet) -> None:
    made = 0

    def drills() -> Iterator[Drill]:
        nonlocal made
        for _ in range(50):
            made += 1
            yield make_drill("Quay.")

    pieces = iter_markdown(drills(), sheet)
    while "Quay" not in next(pieces):
        assert made <= 1
    assert made == 1
    rest = "".join(pieces)
    assert made == 50
    # Stretches of one text count on; the key stands once, below the first.
    assert "| 50  |" in rest
    for entry in KEY:
        assert rest.count(f"**{entry.spelling}** {entry.example}") == 1
    assert rest.count("## Practice log") == 1


def test_a_sheet_of_nothing_is_still_a_sheet() -> None:
    text = render_markdown(Worksheet((), "", None, show_review=False, log_rows=0))
    assert text.startswith("# Resonance drill\n")
    assert "log" not in text
    assert "Target pitch" not in text


@pytest.mark.parametrize("render", [render_markdown, render_text])
def test_ipa_where_a_word_has_none(render: Callable[[Worksheet], str]) -> None:
    shown = render(make_sheet("Tea — and a quay.", show_ipa=True))
    assert "ind" in shown
    assert "—" in shown


@pytest.mark.parametrize("discreet", [False, True])
def test_nothing_is_called_underlined(discreet: bool) -> None:
    """Markdown has no underline (CommonMark 0.31): what stands out is bold."""
    sheet = make_sheet(PASSAGE, discreet=discreet)
    assert "underlined" not in render_markdown(sheet)
    assert "Mind the bold letters" in render_markdown(sheet)
    assert "underlined letters" in " ".join(render_text(sheet).split())
