"""The static page: whole, closed to the outside, text stays text; any document, any sheet."""

from __future__ import annotations

import base64
import hashlib
import re
from collections import Counter
from functools import cache
from html.parser import HTMLParser
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sheet_factory import PASSAGE, make_drill, make_sheet

from drillgen.core.document import (
    Chart,
    Document,
    Keep,
    Lines,
    Paragraph,
    Point,
    Section,
    Table,
    prose,
)
from drillgen.core.options import PageOptions, PageSize
from drillgen.core.pitch import parse_pitch
from drillgen.core.values import Worksheet
from drillgen.sheets.drill import lay_out_drills
from drillgen.sheets.guide import lay_out_guide
from drillgen.write.html import list_keys, plot, write_html

VOID = {"meta", "input", "rect", "circle", "path", "polyline"}


class Reader(HTMLParser):
    """Collects tags, attributes and text; complains where a tag is closed out of order."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.tags: Counter[str] = Counter()
        self.attributes: list[tuple[str, str]] = []
        self.texts: list[str] = []
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags[tag] += 1
        self.attributes += [(name, value or "") for name, value in attrs]
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags[tag] += 1
        self.attributes += [(name, value or "") for name, value in attrs]

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if not {"style", "title"} & set(self.open):
            self.texts.append(data)


def show(sheet: Worksheet, page: PageOptions | None = None) -> str:
    return write_html(lay_out_drills(sheet), page or PageOptions())


def test_the_page_is_whole_and_lets_nothing_in_or_out() -> None:
    text = show(make_sheet(show_ipa=True))
    seen = Reader(text)
    assert seen.tags["script"] == 0
    assert seen.tags["h1"] == 1
    names = {name for name, _ in seen.attributes}
    assert not names & {"src", "href", "style", "action"}
    assert not [name for name in names if name.startswith("on")]
    (style,) = re.findall(r"<style>(.*?)</style>", text, re.DOTALL)
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    (policy,) = [value for _, value in seen.attributes if value.startswith("default-src")]
    assert policy.split("; ")[:2] == ["default-src 'none'", f"style-src 'sha256-{digest}'"]
    assert not re.search(r"url\(|@import|//", style)
    assert show(make_sheet(show_ipa=True)) == text
    assert "drillgen" not in text


def test_headings_never_skip_a_level() -> None:
    levels = [int(level) for level in re.findall(r"<h(\d)>", show(make_sheet()))]
    assert levels[0] == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))


def test_what_is_read_aloud_and_the_boxes_have_words() -> None:
    seen = Reader(show(make_sheet()))
    labels = [value for name, value in seen.attributes if name == "aria-label"]
    # The piano stands in the guide, not on the sheet for the stand.
    guide = Reader(write_html(lay_out_guide(parse_pitch("G3")), PageOptions()))
    piano = "Piano keys with G3 marked"
    assert piano in [value for name, value in guide.attributes if name == "aria-label"]
    assert piano not in labels
    assert "3 boxes to tick for Chant" in labels
    flat = " ".join("".join(seen.texts).split())
    # The original words are the plain text; only numbers of sentences part it.
    plain = re.sub(r"\b\d+\s*(?=[A-Z])", "", flat)
    assert plain.count(" ".join(PASSAGE.split())) == 1
    assert "heer-bee" in flat


def test_paper_and_large_print() -> None:
    sheet = make_sheet("Quay.")
    assert "@page { size: a4;" in show(sheet)
    large = show(sheet, PageOptions(PageSize.LETTER, large=True))
    assert "@page { size: letter;" in large
    assert '<html lang="en" translate="no" class="large">' in large


@cache
def read_plain() -> Reader:
    return Reader(show(Worksheet((make_drill("Quay."),), "", None)))


@settings(max_examples=40, derandomize=True, deadline=None)
@given(st.text(max_size=30), st.sampled_from(["<b>", "</p>", "{{ 1 }}", "&lt;", '"', "]]>", ""]))
def test_user_text_is_text(text: str, markup: str) -> None:
    plain = read_plain()
    title = f"{text}{markup}"
    seen = Reader(show(Worksheet((make_drill(f"{text} {markup} quay."),), title, None)))
    assert set(seen.tags) <= {*plain.tags, "h2", "strong"}
    assert {name for name, _ in seen.attributes} <= {name for name, _ in plain.attributes}


def test_any_document() -> None:
    document = Document(
        "All",
        (
            Section(
                "One",
                (
                    Chart((Point(1, 3), Point(2, 5, open=True)), 5, "a", "u", "r", "s", "alt <1>"),
                    Table(rows=((),), beside=True),
                    Lines(2, "two lines"),
                ),
                keep=Keep.PAGE,
            ),
            Section("Two", (Paragraph(prose("x"), framed=True),), beside=True),
        ),
    )
    text = write_html(document, PageOptions())
    seen = Reader(text)
    assert text.count('class="pair"') == 2
    assert ("aria-label", "alt <1>") in seen.attributes
    assert seen.tags["circle"] == 2


def test_the_chart_is_to_scale() -> None:
    chart = Chart((Point(1, 0), Point(2, 5)), 5, "", "", "", "", "")
    assert [(x, y) for x, y, _ in plot(chart)["dots"]] == [(0.0, 100.0), (400.0, 0.0)]
    assert [x for x, _, _ in plot(Chart(chart.points[:1], 5, "", "", "", "", ""))["dots"]] == [200]


@pytest.mark.parametrize(("midi", "black"), [(55, False), (54, True), (0, False), (127, False)])
def test_one_key_is_marked(midi: int, black: bool) -> None:
    marked = [key for key in list_keys(midi) if key.marked]
    assert [key.black for key in marked] == [black]
