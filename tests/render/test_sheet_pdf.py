"""The printed sheet: paper, tags, type sizes, contrast, same bytes.

Published sources stand beside each check.
"""

from __future__ import annotations

import hashlib
import re
import subprocess
import sys
import time
from dataclasses import replace
from io import BytesIO
from itertools import pairwise
from pathlib import Path
from typing import Any

import pypdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.json import decode
from sheet_factory import PASSAGE, make_drill, make_sheet, pdf_warnings, render_pdf

from drillgen.core.document import Span
from drillgen.core.errors import DrillgenError
from drillgen.core.options import PageOptions, PageSize
from drillgen.core.pitch import parse_pitch
from drillgen.core.resources import resource_folder
from drillgen.core.values import Grade, Worksheet
from drillgen.sheets.drill import lay_out_drills
from drillgen.sheets.guide import lay_out_guide
from drillgen.write import pdf as pdf_module
from drillgen.write.pdf import split_spans

NASTY = (
    "See https://harbour.example/" + "a" * 40 + "/quay?x=1 now. שלום 港の町 😀👩‍👩‍👧 cafe\u0301 "
    "“#strong[x]” $x$ \\evil <b>&amp; *x* `z` @ref <label> // c /* */ #panic() \x00\x07\u202e "
    + "w" * 150 + ". Łódź Ελλάδα."
)  # fmt: skip


def read(data: bytes) -> pypdf.PdfReader:
    return pypdf.PdfReader(BytesIO(data), strict=True)


def page_text(reader: pypdf.PdfReader) -> str:
    return " ".join(" ".join(page.extract_text() for page in reader.pages).split())


def tags(reader: pypdf.PdfReader) -> list[tuple[str, Any]]:
    """The structure elements in reading order, as (type, element)."""
    found = []
    stack: list[Any] = [reader.root_object["/StructTreeRoot"]]
    while stack:
        node = stack.pop()
        if isinstance(node, pypdf.generic.IndirectObject):
            node = node.get_object()
        if isinstance(node, list):
            stack.extend(reversed(node))
        elif isinstance(node, dict):
            if "/S" in node:
                found.append((str(node["/S"]), node))
            if "/K" in node:
                stack.append(node["/K"])
    return found


@pytest.fixture(scope="module")
def data(sheet: Worksheet) -> bytes:
    return render_pdf(sheet, PageOptions())


# ISO 216: A4 is 210 mm by 297 mm; ANSI/ASME Y14.1: size A is 8.5 in by 11 in.
def test_emoji_are_not_drawn() -> None:
    """Nobody says them, and a frame would look like a box to tick."""
    sheet = make_sheet("So happy 🎉 for you! ❤️ See you 👩‍🚀👍🏽 soon 1️⃣.", title="")
    text = page_text(read(render_pdf(sheet, PageOptions())))
    assert "□" not in text
    assert "happy for" in text
    assert pdf_warnings(sheet) == ()


@pytest.mark.parametrize(
    ("size", "width_mm", "height_mm"),
    [(PageSize.A4, 210.0, 297.0), (PageSize.LETTER, 8.5 * 25.4, 11 * 25.4)],
)
@pytest.mark.parametrize("large", [False, True])
def test_paper(size: PageSize, width_mm: float, height_mm: float, large: bool) -> None:
    reader = read(render_pdf(make_sheet("Quay."), PageOptions(size, large)))
    for page in reader.pages:
        assert float(page.mediabox.width) == pytest.approx(width_mm / 25.4 * 72, abs=0.01)
        assert float(page.mediabox.height) == pytest.approx(height_mm / 25.4 * 72, abs=0.01)


def test_it_says_that_it_is_pdf_ua_1(data: bytes) -> None:
    """ISO 14289-1:2014, clause 5 (pdfuaid:part) and 7.1, 7.2, 7.18 (title, language, tags)."""
    reader = read(data)
    root: Any = reader.root_object
    assert reader.xmp_metadata is not None
    xmp = reader.xmp_metadata.stream.get_data().decode()
    assert re.search(r"pdfuaid:part(>|=\")1", xmp)
    assert root["/MarkInfo"]["/Marked"]
    assert str(root["/Lang"]).lower().startswith("en")
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert reader.metadata is not None
    assert reader.metadata.title == "Morning at the harbour"


def test_no_author_date_or_machine_in_the_file(data: bytes) -> None:
    reader = read(data)
    assert reader.metadata is not None
    assert set(reader.metadata) == {"/Title", "/Creator"}
    assert str(reader.metadata["/Creator"]).startswith("Typst")
    assert reader.xmp_metadata is not None
    xmp = reader.xmp_metadata.stream.get_data().decode()
    assert not re.search(r"CreateDate|ModifyDate|dc:creator|MetadataDate", xmp)
    for part in (str(Path.home()), str(Path(__file__).parents[2]), "drillgen-"):
        assert part.encode() not in data


def test_structure(data: bytes) -> None:
    found = tags(read(data))
    kinds = [kind for kind, _ in found]
    levels = [int(kind[2:]) for kind in kinds if re.fullmatch(r"/H\d", kind)]
    # ISO 14289-1, 7.4.2: no level is skipped on the way down.
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))
    # Words to check and the log.
    assert kinds.count("/Table") >= 2
    assert kinds.count("/TH") >= 4 + 6
    figures = [node for kind, node in found if kind == "/Figure"]
    assert len(figures) == 4
    assert all(str(node["/Alt"]) for node in figures)


def test_structure_of_the_guide() -> None:
    document = lay_out_guide(parse_pitch("G3"))
    found = tags(read(pdf_module.write_pdf(document, PageOptions())))
    kinds = [kind for kind, _ in found]
    assert kinds.count("/L") >= 5
    assert kinds.count("/Table") >= 2
    figures = [node for kind, node in found if kind == "/Figure"]
    assert [str(node["/Alt"]) for node in figures] == ["Piano keys with G3 marked"]


def test_the_repeated_originals_are_artifacts(sheet: Worksheet, data: bytes) -> None:
    """ISO 14289-1, 7.1: what is not real content is an artifact."""
    contents = b"".join(page.get_contents().get_data() for page in read(data).pages)  # type: ignore[union-attr]
    blocks = pdf_module.build(lay_out_drills(sheet), PageOptions())["blocks"]
    readings = [part for block in blocks for part in block["blocks"] if "sentences" in part]
    rows = [row for part in readings for _, rows in decode(part["sentences"]) for row in rows]
    assert sum(len(above) for _, above, *_ in rows) > len(PASSAGE.split())
    # A line of them is one.
    assert contents.count(b"/Artifact") > sum(len(above) > 0 for _, above, *_ in rows)


def test_the_plain_text_stands_once_in_order(data: bytes) -> None:
    """As the original words, after the other versions; numbers of sentences are artifacts."""
    text = re.sub(r"\b\d+ (?=[A-Z])", "", page_text(read(data)))
    plain = " ".join(PASSAGE.split())
    assert text.count(plain) == 1
    places = [text.index(name) for name in ("Full swap", "Partial swap", "Original words", plain)]
    assert places == sorted(places)


def test_every_respelled_word_is_on_the_page(sheet: Worksheet, data: bytes) -> None:
    text = page_text(read(data))
    for line in sheet.drills[0].versions[0].lines:
        for cell in line.cells:
            assert cell is None or cell.text in text


# Large print is 18 pt and more: common practice (guidelines of the American
# Printing House for the Blind; RNIB clear print calls 16 pt and more large).
@pytest.mark.parametrize(("large", "least"), [(False, 9.0), (True, 18.0)])
def test_type_size(large: bool, least: float) -> None:
    sizes: set[float] = set()

    def visit(text: str, cm: list[float], tm: list[float], _: object, size: float) -> None:
        if text.strip():
            sizes.add(round(abs(size * tm[3] * cm[3]), 2))

    sheet = make_sheet(show_ipa=True)
    for page in read(render_pdf(sheet, PageOptions(large=large))).pages:
        page.extract_text(visitor_text=visit)
    assert min(sizes) >= least
    assert max(sizes) > least * 1.3


def test_greys_are_dark_enough() -> None:
    """WCAG 2.2: 1.4.6 (text, 7:1), 1.4.11 (graphics, 3:1), and its relative luminance."""
    layouts = (resource_folder("templates") / "typst").glob("*.typ")
    source = "".join(path.read_text(encoding="utf-8") for path in layouts)
    colours = re.findall(r'rgb\("#([0-9a-f]{6})"\)', source)
    assert len(colours) == 2

    def contrast(colour: str) -> float:
        parts = [int(colour[i : i + 2], 16) / 255 for i in (0, 2, 4)]
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
        light = 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
        return 1.05 / (light + 0.05)

    text, rule = map(contrast, colours)
    assert text >= 7
    assert rule >= 3
    # Nothing but black, white and grey: a copier loses nothing.
    assert all(colour[:2] == colour[2:4] == colour[4:] for colour in colours)


def test_the_same_sheet_gives_the_same_bytes(data: bytes, sheet: Worksheet) -> None:
    assert render_pdf(sheet, PageOptions()) == data
    script = (
        "import hashlib, sys; sys.path.insert(0, sys.argv[1]);"
        "from sheet_factory import make_sheet, render_pdf;"
        "from drillgen.core.options import PageOptions;"
        "print(hashlib.sha256(render_pdf(make_sheet(), PageOptions())).hexdigest())"
    )
    made = subprocess.run(
        [sys.executable, "-c", script, str(Path(__file__).parent)],
        capture_output=True,
        text=True,
        check=True,
        env={"PYTHONHASHSEED": "7", "TZ": "Asia/Tokyo", "PATH": ""},
    )
    assert made.stdout.strip() == hashlib.sha256(data).hexdigest()


@pytest.mark.parametrize("large", [False, True])
def test_texts_that_would_break_a_layout(large: bool) -> None:
    sheet = make_sheet(NASTY, title="Odd #things [here] " + "W" * 60)
    reader = read(render_pdf(sheet, PageOptions(large=large)))
    text = page_text(reader)
    for literal in ("“#strong[x]”", "$x$", "<b>&amp;", "*x*", "#panic()", "// c /* */", "Ελλάδα"):
        assert literal in text
    # Nothing runs over the edge of the paper.
    for page in reader.pages:
        right = float(page.mediabox.width)

        def visit(
            part: str, cm: list[float], tm: list[float], *_: object, edge: float = right
        ) -> None:
            if part.strip():
                assert cm[0] * tm[4] + cm[4] < edge - 20

        page.extract_text(visitor_text=visit)
    assert f"Page {len(reader.pages)} of {len(reader.pages)}" in text


def test_what_cannot_be_drawn_is_framed_and_listed() -> None:
    sheet = make_sheet("Quay 港 ქ.", title="")
    text = page_text(read(render_pdf(sheet, PageOptions())))
    assert "Quay □ □." in text
    assert "U+6E2F" in text
    assert "U+10E5 GEORGIAN LETTER KHAR" in text
    warnings = pdf_warnings(sheet)
    assert len(warnings) == 2
    assert all("\n" not in warning for warning in warnings)
    assert pdf_warnings(make_sheet()) == ()


@pytest.mark.parametrize(
    "options",
    [
        {"pitch": None},
        {"repetitions": 12},
        {"log_rows": 0},
        {"log_rows": 40},
        {"show_review": False},
        {"show_ipa": True},
        {"discreet": True},
    ],
    ids=str,
)
def test_options(options: dict[str, Any]) -> None:
    text = page_text(read(render_pdf(make_sheet("Who is it? Pellow.", **options), PageOptions())))
    assert ("196 Hz" in text) == ("pitch" not in options)
    assert ("log" in text) == (options.get("log_rows") != 0)
    assert ("Words to check" in text) == ("show_review" not in options)
    assert ("ˈpi.li" in text) == ("show_ipa" in options)


def test_sheets_of_other_shapes(sheet: Worksheet) -> None:
    drill = sheet.drills[0]
    shapes = {
        "no drills": (),
        "no text": (make_drill(""),),
        "no versions": (replace(drill, versions=()),),
        "one word": (make_drill("Quay"),),
        "a ladder": (make_drill("Quay. Who?", rungs=12),),
        "several": (make_drill("Quay.", "First"), make_drill("Who?", "Second")),
    }
    for name, drills in shapes.items():
        reader = read(render_pdf(replace(sheet, drills=drills), PageOptions()))
        count = len(reader.pages)
        assert f"Page {count} of {count}" in page_text(reader), name


def test_a_long_text() -> None:
    """A guard against layout passes that grow with the square of the text."""
    sheet = make_sheet("\n\n".join([PASSAGE] * 12), show_review=False)
    start = time.perf_counter()
    reader = read(render_pdf(sheet, PageOptions()))
    assert time.perf_counter() - start < 20
    assert 25 <= len(reader.pages) <= 50
    last = len(reader.pages)
    assert f"Page {last} of {last}" in reader.pages[-1].extract_text()


def test_a_fault_of_the_typesetter_is_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pdf_module, "build", lambda *_: {"large": False})
    with pytest.raises(DrillgenError, match=r"^the PDF can't be made: [^\n]+; try --format md$"):
        render_pdf(make_sheet("Quay."), PageOptions())


def test_stale_page_numbers_are_mended(monkeypatch: pytest.MonkeyPatch, sheet: Worksheet) -> None:
    compiled = []
    typesetter = pdf_module.load_typesetter()
    real = typesetter.typeset

    class Warned:
        message = "layout did not converge within 5 attempts"

    def compile_twice(settings: Any, data: Any) -> tuple[bytes, list[Any]]:
        compiled.append(settings["fit"])
        return real(settings, data)[0], [Warned]

    monkeypatch.setattr(typesetter, "typeset", compile_twice)
    render_pdf(sheet, PageOptions())
    assert compiled == [True, False]


@settings(max_examples=200, derandomize=True, deadline=None)
@given(
    st.lists(st.tuples(st.text("abc -", max_size=9), st.booleans()), max_size=9),
    st.integers(3, 12),
)
def test_long_words_are_cut_without_loss(parts: list[tuple[str, bool]], limit: int) -> None:
    spans = tuple(Span(text, Grade.BEAT if stressed else Grade.NONE) for text, stressed in parts)
    pieces = list(split_spans(spans, limit))
    assert [(c, span.grade) for piece in pieces for span in piece for c in span.text] == [
        (c, span.grade) for span in spans for c in span.text
    ]
    for piece in pieces:
        assert 1 <= sum(len(span.text) for span in piece) <= limit


def test_long_words_are_cut_at_hyphens_and_spaces() -> None:
    spans = (Span("deet "), Span("ee", Grade.BEAT), Span("g-"), Span("zeem", Grade.BEAT))
    pieces = ["".join(span.text for span in piece) for piece in split_spans(spans, 8)]
    assert pieces == ["deet ", "eeg-zeem"]
    long = (Span("eeg-zeem-peel and tee"),)
    assert ["".join(span.text for span in piece) for piece in split_spans(long, 9)] == [
        "eeg-zeem-",
        "peel and ",
        "tee",
    ]
