"""The page for the stand: lines, arrows, pages, what stands at the foot."""

from __future__ import annotations

import re
from functools import cache
from io import BytesIO

import pypdf
import pytest
from sheet_factory import make_sheet, render_pdf

import drillgen
from drillgen.core.document import Face, Section
from drillgen.core.options import DrillOptions, Format, PageOptions, PageSize
from drillgen.core.pitch import parse_pitch
from drillgen.core.values import Grade, VersionKind, Worksheet
from drillgen.core.wording import choose_wording
from drillgen.corpus.reader import load_default_passage
from drillgen.sheets.content import iter_sentences
from drillgen.sheets.drill import lay_out_drills
from drillgen.sheets.guide import lay_out_guide
from drillgen.sheets.ladder import LadderOptions, LadderSheet, lay_out_ladder, make_ladder
from drillgen.sheets.practice_page import make_practice_page
from drillgen.speech.pipeline import Engine
from drillgen.write import render
from drillgen.write.pdf import build, write_pdf


@pytest.fixture(scope="module")
def stand() -> Worksheet:
    """The default sheet of the default passage."""
    passage = load_default_passage()
    drill = drillgen.make_drill(passage)
    return Worksheet((drill,), passage.title, parse_pitch("G3"))


def pages_of(data: bytes) -> list[str]:
    reader = pypdf.PdfReader(BytesIO(data), strict=True)
    return [" ".join(page.extract_text().split()) for page in reader.pages]


@pytest.mark.parametrize("size", list(PageSize))
def test_three_pages_with_care_and_key_on_the_first(stand: Worksheet, size: PageSize) -> None:
    first, second, third = pages_of(render_pdf(stand, PageOptions(size)))
    assert "Full swap" in first
    assert choose_wording(False).stand.care in first
    assert "How to read it. ee see" in first
    assert second.startswith("Partial swap")
    assert third.startswith("Original words")
    assert "Practice log" in third


def test_a_long_text_has_its_foot_on_the_first_page() -> None:
    drill = drillgen.make_drill("\n\n".join([load_default_passage().text] * 3))
    first, *_ = pages_of(write_pdf(lay_out_drills(Worksheet((drill,), "", None)), PageOptions()))
    assert choose_wording(False).stand.care in first


@pytest.mark.parametrize("large", [False, True])
def test_no_heading_is_alone_at_the_end_of_a_page(stand: Worksheet, large: bool) -> None:
    titles = [s.title for s in lay_out_drills(stand).blocks if isinstance(s, Section)]
    foot = re.escape(stand.title) + r" Page \d+ of \d+$"
    for page in pages_of(render_pdf(stand, PageOptions(large=large))):
        body = re.sub(foot, "", page).strip()
        assert body != page
        assert not any(body.endswith(title) for title in titles)


@pytest.mark.parametrize(
    ("text", "lines"),
    [
        ("Hi, this is a bit big on me.", 1),
        ("Well, yes, I can.", 1),
        ("Far out, the lighthouse blinks once more and goes to sleep.", 2),
        ("Sorry, everyone,\nI can't make it.", 2),
    ],
)
def test_a_word_before_a_comma_leads_its_line(text: str, lines: int) -> None:
    drill = drillgen.make_drill(text)
    for version in drill.versions:
        (sentence,) = iter_sentences(drill, version)
        assert len(sentence.lines) == lines, version.kind
        said = [word for line in sentence.lines for word in line]
        assert len(said) == len(text.split())


def test_a_line_of_verse_is_one_line_with_its_breaths_marked() -> None:
    verse = "The road is long, and the road is steep,\n  The mill is far away,\n"
    drill = drillgen.make_drill(f"{verse}Be quick. The light is\nGoing now.")
    for version in drill.versions:
        (sentence,) = iter_sentences(drill, version)
        assert len(sentence.lines) == 4, version.kind
        marks = [[word.text[-1] + word.breath for word in ws] for ws in sentence.lines]
        assert [[m for m in ws if len(m) > 1] for ws in marks] == [[",|"], [], [".‖"], []]
    document = lay_out_drills(Worksheet((drill,), "Mill", None))
    text = render(document, Format.TEXT).decode()
    assert re.search(r"leeng, \|  eend", text, re.I)
    assert {"| short pause", "‖ end of a sentence: breathe"} <= {
        *" ".join(text.split()).split(" · ")
    }
    assert "leeng**, \\|" in render(document, Format.MARKDOWN).decode()


def test_each_phrase_is_a_line_with_one_arrow(stand: Worksheet) -> None:
    drill = stand.drills[0]
    said = [phrase for phrase in drill.phrases if any(t.spoken for t in phrase.tokens)]
    assert all(Grade.NUCLEUS in sum(phrase.grades, ()) for phrase in said)
    for version in drill.versions:
        lines = [line for s in iter_sentences(drill, version) for line in s.lines]
        assert len(lines) == len(said)
        for line in lines:
            spans = [span for word in line for span in word.spans]
            arrows = [span.text for span in spans if span.face is Face.TUNE]
            assert len(arrows) == (version.kind is not VersionKind.MARKED)
            assert set(arrows) <= set("↗↘→")


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("We sit in the garden.", "↘gheer-deen."),
        ("They stand together.", "tee-↘ghee-theer."),
        # A word that keeps its spelling: before the whole, not before its vowel letters.
        ("It is time to sleep.", "↘sleep."),
        ("He calls it “tea”.", "“↘tea”."),
        # A number is several words, the last one the main.
        ("It is 27.", "tween-tee ↘see-veen."),
    ],
)
def test_the_arrow_stands_before_the_syllable(text: str, shown: str) -> None:
    drill = drillgen.make_drill(text)
    (sentence,) = iter_sentences(drill, drill.versions[0])
    assert sentence.words[-1].text == shown


def test_a_long_breath_wraps_once_and_balanced() -> None:
    """One phrase, a little wider than the paper: two lines, the second one indented."""
    phrase = "Joan Beale sees meek geese creep free each week beneath steep green trees"
    rows: dict[int, list[tuple[float, str]]] = {}

    def visit(text: str, cm: list[float], tm: list[float], _: object, size: float) -> None:
        if text.strip() and abs(size * tm[3] * cm[3]) == pytest.approx(15.8, abs=0.05):
            x, y = cm[0] * tm[4] + cm[4], cm[3] * tm[5] + cm[5]
            rows.setdefault(round(y), []).append((x, text.strip()))

    data = render_pdf(make_sheet(phrase), PageOptions())
    pypdf.PdfReader(BytesIO(data)).pages[0].extract_text(visitor_text=visit)
    first, second = list(rows.values())[:2]
    assert second[0][0] > first[0][0] + 10
    lengths = [sum(len(text) for _, text in row) for row in (first, second)]
    assert min(lengths) > 0.6 * max(lengths)


@pytest.mark.parametrize("size", list(PageSize))
@pytest.mark.parametrize("discreet", [False, True])
def test_the_guide_has_two_pages(size: PageSize, discreet: bool) -> None:
    document = lay_out_guide(parse_pitch("G3"), discreet=discreet)
    first, second = pages_of(write_pdf(document, PageOptions(size)))
    assert choose_wording(discreet).caution_texts[0] in first
    assert second.startswith("Key")


@pytest.mark.parametrize("sentences", [16, 20, 24, 34])
def test_no_page_has_only_what_stands_at_a_foot(sentences: int) -> None:
    """Short lines, one more or less than a page holds with its foot."""
    said = ["The dog is at the door.", "It rains all night and all morning.", "He waits."]
    drill = drillgen.make_drill(" ".join((said * 12)[:sentences]))
    care = choose_wording(False).stand.care
    first, *others = pages_of(
        write_pdf(lay_out_drills(Worksheet((drill,), "", None)), PageOptions())
    )
    assert "deeg" in first
    assert care in first
    assert not any(page.startswith("How to read it") for page in others)


@cache
def ladder_of(discreet: bool) -> LadderSheet:
    head = Worksheet((), "", parse_pitch("G3"), discreet=discreet)
    return make_ladder(LadderOptions(), head, DrillOptions(), Engine.load())


@pytest.mark.parametrize("discreet", [False, True])
@pytest.mark.parametrize("large", [False, True])
@pytest.mark.parametrize("size", list(PageSize))
def test_the_end_of_a_ladder_is_no_page_of_its_own(
    size: PageSize, large: bool, discreet: bool
) -> None:
    """What is said at the end of a unit, and the log, follow something to read."""
    pages = pages_of(write_pdf(lay_out_ladder(ladder_of(discreet)), PageOptions(size, large)))
    words = choose_wording(discreet).ladder
    boxes = tuple(words.advance.format(next=unit.name)[:12] for unit in words.units.values())
    assert not any(page.startswith((*boxes, words.finish[:12])) for page in pages)
    before, log, _ = pages[-1].partition("Practice log")
    assert log
    assert re.search(r"\b\d+ \w.*Go on to conversation", before)


def test_a_list_of_words_stands_in_columns() -> None:
    words = ["moon", "room", "fruit", "cool", "move", "loose", "balloon", "human", "call", "law"]
    drill = drillgen.make_drill("\n".join(words))
    first, last = pages_of(write_pdf(lay_out_drills(Worksheet((drill,), "", None)), PageOptions()))
    assert "1 moon 2 room 3 fruit 4 cool 5" in last
    assert "Partial swap" in first
    # Sentences are read down the page.
    drill = drillgen.make_drill("I like the cool moon. " * 8)
    full, *_ = build(lay_out_drills(Worksheet((drill,), "", None)), PageOptions())["blocks"]
    assert len(full["blocks"][0]["counts"]) == 8


def test_a_practice_page_keeps_the_lines_of_verse() -> None:
    drill = drillgen.make_drill(
        "The road is long, and the road is steep,\n  The mill is far,\nGo."
    )
    (text,) = make_practice_page(Worksheet((drill,), "Mill", None)).versions[0].texts
    assert [len(line.phrases) for line in text.sentences] == [2, 1, 1]
    assert [line.opens for line in text.sentences] == [True, False, False]
