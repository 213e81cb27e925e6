"""Any document in any format: nothing is lost, nothing is said twice, JSON gives it back."""

from __future__ import annotations

import re
from io import BytesIO

import msgspec
import pypdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillgen.core.document import (
    Answer,
    AnswerKind,
    Block,
    Chart,
    Column,
    Document,
    Items,
    Keep,
    Legend,
    Lines,
    ListKind,
    Paragraph,
    Point,
    Reading,
    Section,
    Sentence,
    Sign,
    Span,
    Table,
    Ticks,
    Vowel,
    Word,
    paper_order,
    prose,
    text_of,
)
from drillgen.core.options import Format, PageOptions
from drillgen.core.values import Grade
from drillgen.write import render, render_stream

NAMES = st.integers(0, 10**6).map(lambda n: f"word{n}")
SPANS = st.builds(
    lambda text, grade, vowel: (Span(text, grade, vowel),),
    NAMES,
    st.sampled_from(Grade),
    st.sampled_from(Vowel),
)
TICKS = st.builds(Ticks, NAMES, st.integers(1, 4), st.just("boxes"))


def readings(paired: bool) -> st.SearchStrategy[Reading]:
    """Sentences; only paired ones show originals."""
    originals = NAMES if paired else st.just("")
    words = st.builds(Word, SPANS, originals, weak=st.booleans(), linked=st.booleans())
    lines = st.lists(st.lists(words, min_size=1, max_size=4).map(tuple), min_size=1, max_size=2)
    sentences = st.builds(Sentence, st.integers(1, 99), lines.map(tuple))
    many = st.lists(sentences, min_size=1, max_size=2).map(tuple)
    return st.builds(Reading, many, st.just(paired))


LEAVES: st.SearchStrategy[Block] = st.one_of(
    st.builds(Paragraph, NAMES.map(prose), st.lists(TICKS, max_size=1).map(tuple), st.booleans()),
    st.builds(
        Items,
        st.lists(NAMES.map(prose), min_size=1, max_size=3).map(tuple),
        st.sampled_from(ListKind),
    ),
    st.builds(
        lambda names, rows: Table(
            tuple(map(Column, names)), tuple(tuple(map(prose, names)) for _ in range(rows))
        ),
        st.lists(NAMES, min_size=1, max_size=3),
        st.integers(1, 3),
    ),
    st.builds(
        lambda title, kind: Table((), ((),) * 2, (Answer(title, kind),)),
        NAMES,
        st.just(AnswerKind.NOTE),
    ),
    st.booleans().flatmap(readings),
    st.builds(Lines, st.integers(1, 3), st.just("lines")),
)
SECTIONS = st.builds(
    Section,
    NAMES,
    st.lists(LEAVES, max_size=3).map(tuple),
    st.just(2),
    note=st.one_of(st.just(""), NAMES),
    kicker=st.one_of(st.just(""), NAMES),
    keep=st.sampled_from(Keep),
    compact=st.booleans(),
    rank=st.integers(0, 3),
)
DOCUMENTS = st.builds(
    Document, NAMES, st.lists(st.one_of(LEAVES, SECTIONS), max_size=4).map(tuple)
)


def words_of(value: object) -> list[str]:
    """Every text of a document, in the order of its JSON."""
    return re.findall(r"word\d+", render_json(value))


def render_json(value: object) -> str:
    assert isinstance(value, Document)
    return render(value, Format.JSON).decode()


def shown(document: Document, form: Format) -> str:
    data = render(document, form)
    if form is Format.PDF:
        return "\n".join(page.extract_text() for page in pypdf.PdfReader(BytesIO(data)).pages)
    return data.decode()


@settings(max_examples=60, derandomize=True, deadline=None)
@given(DOCUMENTS)
def test_nothing_is_lost(document: Document) -> None:
    assert msgspec.json.decode(render(document, Format.JSON), type=Document) == document
    for form in (Format.MARKDOWN, Format.TEXT, Format.HTML):
        text = shown(document, form).lower()
        assert not set(words_of(document)) - set(re.findall(r"word\d+", text)), form


@settings(max_examples=40, derandomize=True, deadline=None)
@given(DOCUMENTS, st.booleans())
def test_any_document_can_be_set(document: Document, large: bool) -> None:
    data = render(document, Format.PDF, PageOptions(large=large))
    text = " ".join(page.extract_text() for page in pypdf.PdfReader(BytesIO(data)).pages)
    assert not {w for w in words_of(document) if len(w) < 8} - set(re.findall(r"word\d+", text))


@settings(max_examples=30, derandomize=True, deadline=None)
@given(DOCUMENTS)
@pytest.mark.parametrize("form", [Format.MARKDOWN, Format.TEXT])
def test_a_stream_gives_the_same(form: Format, document: Document) -> None:
    pieces = render_stream(document, iter(document.blocks), form)
    assert pieces is not None
    assert b"".join(pieces) == render(document, form)


def test_paper_has_an_order_of_its_own() -> None:
    document = Document("T", (Section("end", rank=3), Paragraph(prose("first")), Section("key")))
    assert [getattr(b, "title", "p") for b in paper_order(document.blocks)] == ["p", "key", "end"]
    text = shown(document, Format.TEXT)
    assert text.index("end") < text.index("first")


def test_what_is_drawn_has_words_elsewhere() -> None:
    document = Document(
        "T",
        (
            Chart(
                (Point(1, 2), Point(2, 5, open=True)), 5, "across", "up", "ring", "stars", "alt"
            ),
            Legend(
                ("Mark", "Meaning"),
                (Sign("stress", "bold", Grade.BEAT, markdown="heavy", plain="CAPS"),),
            ),
        ),
    )
    assert "alt" in shown(document, Format.MARKDOWN)
    assert "**heavy**" in shown(document, Format.MARKDOWN)
    assert "   2  *****  !" in shown(document, Format.TEXT)
    assert "CAPS" in shown(document, Format.TEXT)


def test_a_line_begins_anew_in_every_format() -> None:
    lines = tuple((Word(prose(f"word{n}"), original=f"orig{n}"),) for n in (1, 2))
    document = Document("T", (Section("S", (Reading((Sentence(1, lines),)),)),))
    assert "1.  orig1\n    word1\n\n    orig2\n    word2\n" in shown(document, Format.TEXT)
    assert shown(document, Format.MARKDOWN).count("\n|---") == 2
    assert shown(document, Format.HTML).count("<p>") == 2
    rows = [line for line in shown(document, Format.PDF).splitlines() if "word" in line]
    assert len(rows) == 2


def test_prose_and_its_label() -> None:
    assert text_of(prose("this", label="Do:")) == "Do: this"


def test_a_card_names_no_empty_cell() -> None:
    """In large print a row of many columns stands for itself."""
    columns = tuple(map(Column, ("Number", "Day", "Unit", "Version", "Start", "End", "Place")))
    row = tuple(map(prose, ("1", "", "Word", "Full", "9:00", "9:15", "home")))
    data = render(Document("T", (Table(columns, (row,)),)), Format.PDF, PageOptions(large=True))
    (page,) = pypdf.PdfReader(BytesIO(data)).pages
    assert "1 Unit Word" in " ".join(page.extract_text().split())


@pytest.mark.parametrize("large", [False, True])
def test_cautions_never_have_the_last_page_alone(large: bool) -> None:
    """Whatever stands before them: its end goes with them."""
    care = Section(
        "Take care", (Items((prose("No pain."),) * 4), Paragraph(prose("End."))), keep=Keep.WHOLE
    )
    table = Table(
        (Column("Thing", names=True), Column("Count", 1)), ((prose("a"), prose("b")),) * 4
    )
    alone, parted = [], 0
    for count in range(4, 36):
        text = tuple(Paragraph(prose(f"Line {n}.")) for n in range(count))
        document = Document("T", (*text, Section("Measures", (table,)), care))
        pages = _pages(document, large=large)
        last = pages[-1].extract_text()
        if len(pages) > 1 and "Take care" in last and "Thing" not in last:
            alone.append(count)
        parted += len(pages) > 1
    assert parted > 3
    assert not alone


def test_marks_in_large_print_take_a_few_lines() -> None:
    signs = tuple(Sign(f"meaning {n}", "˘") for n in range(7))
    document = Document("T", (Section("Marks", (Legend(("Mark", "Meaning"), signs),)),))
    (page,) = _pages(document, large=True)
    lines = [line for line in page.extract_text().splitlines() if "meaning" in line]
    assert len(lines) <= 3
    assert all(sign.meaning in page.extract_text() for sign in signs)


def _pages(document: Document, *, large: bool) -> list[pypdf.PageObject]:
    data = render(document, Format.PDF, PageOptions(large=large))
    return list(pypdf.PdfReader(BytesIO(data)).pages)
