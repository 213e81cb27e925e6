"""Word-processor files and PDFs, written here by other libraries than those that read them."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import pytest
from docx import Document as WordDocument
from pypdf import PdfReader, PdfWriter
from reportlab.lib.styles import getSampleStyleSheet
from reportlab.platypus import Paragraph as PrintedParagraph
from reportlab.platypus import SimpleDocTemplate

from drillgen.core.errors import InputError
from drillgen.core.manuscripts import Manuscript, find_kind, read_manuscript
from drillgen.core.sources import read_data, read_passage

ODT_HEAD = (
    '<?xml version="1.0"?><office:document-content '
    'xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" '
    'xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0" office:version="1.2">'
    "<office:body><office:text>"
)
ODT_FOOT = "</office:text></office:body></office:document-content>"
MANIFEST = (
    '<?xml version="1.0"?><manifest:manifest '
    'xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0" manifest:version="1.2">'
    '<manifest:file-entry manifest:full-path="/" '
    'manifest:media-type="application/vnd.oasis.opendocument.text"/></manifest:manifest>'
)


def make_word() -> bytes:
    """A Word file as python-docx writes it."""
    document = WordDocument()
    document.add_heading("The Kiosk", 0)
    document.add_paragraph("Mara opened the kiosk at seven. “Good morning!” she said.")
    paragraph = document.add_paragraph("Bread ")
    paragraph.add_run("and").bold = True
    paragraph.add_run(" tea & <milk>.\nOn a new line.")
    document.add_paragraph("one", style="List Bullet")
    held = io.BytesIO()
    document.save(held)
    return held.getvalue()


def make_open(content: str, head: str = ODT_HEAD) -> bytes:
    """An OpenDocument text by the letter of the standard (OASIS OpenDocument 1.2)."""
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("mimetype", "application/vnd.oasis.opendocument.text", 0)
        packed.writestr("content.xml", head + content + ODT_FOOT)
        packed.writestr("META-INF/manifest.xml", MANIFEST)
    return held.getvalue()


def make_pdf(*paragraphs: str) -> bytes:
    """A PDF as ReportLab sets it."""
    held = io.BytesIO()
    style = getSampleStyleSheet()["Normal"]
    SimpleDocTemplate(held).build([PrintedParagraph(text, style) for text in paragraphs])
    return held.getvalue()


def test_word_file_keeps_title_paragraphs_and_items(tmp_path: Path) -> None:
    path = tmp_path / "text"  # The ending doesn't matter.
    path.write_bytes(make_word())
    passage = read_passage(path)
    assert passage.title == "The Kiosk"
    assert passage.text.split("\n\n") == [
        "Mara opened the kiosk at seven. “Good morning!” she said.",
        "Bread and tea & <milk>.\nOn a new line.",
        "- one",
    ]


def test_rows_of_a_table_are_lines_unless_their_cells_are_long() -> None:
    document = WordDocument()
    document.add_paragraph("We are open.")
    table = document.add_table(2, 2)
    long = "We open at half past nine on most days."
    for cell, text in zip(table._cells, ["Monday", "9:30", "Sunday", long], strict=True):
        cell.text = text
    held = io.BytesIO()
    document.save(held)
    text = read_data(held.getvalue(), "a.docx").text
    assert text.split("\n\n") == ["We are open.", "Monday, 9:30", "Sunday", long]


def test_open_document_leaves_notes_and_deleted_text_out() -> None:
    content = (
        '<text:tracked-changes><text:changed-region text:id="c"><text:deletion>'
        "<text:p>Gone.</text:p></text:deletion></text:changed-region></text:tracked-changes>"
        '<text:h text:outline-level="1">The Kiosk</text:h>'
        '<text:p>Two<text:s text:c="3"/>words<text:line-break/>and a line'
        '<text:note text:note-class="footnote"><text:note-citation>1</text:note-citation>'
        "<text:note-body><text:p>A note.</text:p></text:note-body></text:note>.</text:p>"
        "<text:list><text:list-item><text:p>one</text:p></text:list-item></text:list>"
    )
    passage = read_data(make_open(content), "a.odt")
    assert passage.title == "The Kiosk"
    assert passage.text == "Two words\nand a line.\n\n- one"


def test_lines_of_a_pdf_become_paragraphs_again() -> None:
    first = "Mara opened the kiosk at seven and looked along the wet street to the baker. " * 4
    text = read_manuscript(make_pdf(first, "It was short."), Manuscript.PDF, "a.pdf")
    assert text == f"{first.strip()}\n\nIt was short."


MARKED = """---
tags: [garden]
---
The Kiosk
---------

*Mara* grows **beans**, [sweet peas](https://example.org/peas) and `dill`;\\
~~no~~ 3 \\* 4 rows. <!-- a note -->

* two rows
* a *pear* tree

> “Such a wet May,” she says.

![a pear](pear.png)

| tea | bread |
| --- | --- |
| one | two |
"""


@pytest.mark.parametrize("name", ["a.md", "A.Markdown"])
def test_marks_of_markdown_are_no_words(tmp_path: Path, name: str) -> None:
    # What is a mark and what isn't: CommonMark 0.31, and GitHub's tables and struck words.
    path = tmp_path / name
    path.write_text(MARKED, encoding="utf-8")
    passage = read_passage(path)
    assert passage.title == "The Kiosk"
    assert passage.text.split("\n\n") == [
        "Mara grows beans, sweet peas and dill;\n3 * 4 rows.",
        "- two rows",
        "- a pear tree",
        "“Such a wet May,” she says.",
        # A row of a table is a line, as it is read aloud.
        *("tea, bread", "one, two"),
    ]


PAGE = """<!DOCTYPE html><html><head><title>no</title><style>p { color: red }</style></head>
<body><h1>The Kiosk</h1><div>Mara grows <b>beans</b>.<script>alert("no")</script></div>
<ul><li>two rows<li>a pear tree</ul><p>“Wet,” she says&hellip;</body></html>"""


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_a_saved_web_page_is_its_text(encoding: str) -> None:
    passage = read_data(PAGE.encode(encoding), "a.HTM")
    assert passage.title == "The Kiosk"
    said = ["Mara grows beans.", "- two rows", "- a pear tree", "“Wet,” she says…"]
    assert passage.text.split("\n\n") == said


def test_stars_of_a_plain_text_stay() -> None:
    assert read_data(b"Three * four, she *said*.", "a.txt").text == "Three * four, she *said*."
    assert read_data(b"She *said*.", "The file", ending=".md").text == "She said."


def _lock(data: bytes) -> bytes:
    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(data)))
    writer.encrypt("secret", algorithm="RC4-128")
    held = io.BytesIO()
    writer.write(held)
    return held.getvalue()


LAUGHS = '<?xml version="1.0"?><!DOCTYPE o [<!ENTITY a "ha">' + "".join(
    f'<!ENTITY {chr(98 + i)} "{("&" + chr(97 + i) + ";") * 10}">' for i in range(9)
)


@pytest.mark.parametrize(
    ("make", "kind", "says"),
    [
        (lambda: _lock(make_pdf("Secret words.")), Manuscript.PDF, "locked with a password"),
        (lambda: make_pdf(""), Manuscript.PDF, "without text"),
        (lambda: make_pdf("Half of it.")[:600], Manuscript.PDF, "can't be read"),
        (lambda: make_open("<text:p/>"), Manuscript.OPEN_DOCUMENT, "without text"),
        (lambda: make_open("<text:p>open"), Manuscript.OPEN_DOCUMENT, "can't be read"),
        (lambda: make_open(" " * 140_000_000), Manuscript.OPEN_DOCUMENT, "too much is packed"),
    ],
)
def test_what_is_no_text_is_one_clear_line(make: object, kind: Manuscript, says: str) -> None:
    data = make()  # type: ignore[operator]
    assert find_kind(data) is kind
    with pytest.raises(InputError, match=says) as caught:
        read_manuscript(data, kind, "given")
    assert "\n" not in str(caught.value)


def test_entities_that_grow_are_not_expanded() -> None:
    head = LAUGHS + "]>" + ODT_HEAD.partition("?>")[2]
    data = make_open("<text:p>Fine &j;</text:p>", head)
    try:
        text = read_manuscript(data, Manuscript.OPEN_DOCUMENT, "laughs.odt")
    except InputError:
        return
    assert len(text) < 10_000


@pytest.mark.parametrize(
    ("inside", "says"),
    [
        ("a.txt", r"a packed file; save it as plain text"),
        ("xl/workbook.xml", "a spreadsheet; save it as CSV"),
    ],
)
def test_other_packed_files_are_named(inside: str, says: str) -> None:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w") as packed:
        packed.writestr(inside, "words")
    with pytest.raises(InputError, match=says):
        read_data(held.getvalue(), "a.zip")
