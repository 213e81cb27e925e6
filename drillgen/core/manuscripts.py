"""The text of word-processor files, PDFs, Markdown and saved web pages.

The files come from strangers' programs, so kept libraries read them (mammoth, odfdo, pypdf,
markdown-it-py), in a process of its own whose time and memory are bounded: this module is also
that process, `python -m drillgen.core.manuscripts KIND`, bytes in, UTF-8 out.
"""

from __future__ import annotations

import io
import re
import subprocess
import sys
import zipfile
from collections.abc import Iterable, Iterator
from enum import StrEnum
from html.parser import HTMLParser
from pathlib import Path
from statistics import quantiles
from typing import Final

from drillgen.core.errors import InputError

MODULE: Final = "drillgen.core.manuscripts"
MAX_BYTES: Final = 32 * 1024 * 1024
MAX_UNPACKED: Final = 128 * 1024 * 1024
"""A packed file may hold so many bytes."""

MAX_CHARACTERS: Final = 4_000_000
SECONDS: Final = 30
MEMORY: Final = 1536 * 1024 * 1024
"""Bytes of address space that the reading process may take (where a system can bound it)."""

_TEXTLESS: Final = 3
"""Exit code: the file can be read, but there is no text in it."""

_LOCKED: Final = 4


class Manuscript(StrEnum):
    """Files that hold a text among other things."""

    WORD = "docx"
    OPEN_DOCUMENT = "odt"
    PDF = "pdf"
    MARKDOWN = "md"
    HTML = "html"

    @property
    def label(self) -> str:
        """What people call it, with its article."""
        return {
            "docx": "a Word file",
            "odt": "an OpenDocument file",
            "pdf": "a PDF",
            "md": "a Markdown file",
            "html": "a web page",
        }[self]


def find_kind(data: bytes) -> Manuscript | None:
    """What the first bytes say, whatever the file is called; None: none of these."""
    if data.startswith(b"%PDF-"):
        return Manuscript.PDF
    if data.startswith(b"PK\x03\x04"):
        try:
            with zipfile.ZipFile(io.BytesIO(data)) as packed:
                names = set(packed.namelist())
                if "word/document.xml" in names:
                    return Manuscript.WORD
                if {"mimetype", "content.xml"} <= names and packed.read("mimetype").startswith(
                    b"application/vnd.oasis.opendocument.text"
                ):
                    return Manuscript.OPEN_DOCUMENT
        except (zipfile.BadZipFile, OSError, RuntimeError, NotImplementedError, ValueError):
            return None
    return None


def read_manuscript(data: bytes, kind: Manuscript, name: str) -> str:
    """The text, paragraphs parted by blank lines, a heading at the top marked by "# ".

    Pictures, notes, comments and deleted passages are left out. InputError where it is
    locked, damaged, too large or without text; `name` says whose.
    """
    mend = "save it as plain text (.txt) first"
    if len(data) > MAX_BYTES:
        raise InputError(f"larger than {MAX_BYTES // 2**20} MB", mend, file=name)
    packed = kind in (Manuscript.WORD, Manuscript.OPEN_DOCUMENT)
    if packed and _unpacked(data) > MAX_UNPACKED:
        raise InputError("too much is packed into it", mend, file=name)
    try:
        done = subprocess.run(
            [sys.executable, "-m", MODULE, kind.value],
            input=data,
            # Where the package lies: the user's folder may hold modules of any name.
            cwd=Path(__file__).parents[2],
            capture_output=True,
            timeout=SECONDS,
            check=False,
        )
    except subprocess.TimeoutExpired:
        raise InputError(f"{kind.label} that takes too long to read", mend, file=name) from None
    if done.returncode == _TEXTLESS:
        problem = f"{kind.label} without text (a scan?)"
        raise InputError(problem, "type the text or paste it", file=name)
    if done.returncode == _LOCKED:
        problem = f"{kind.label} locked with a password"
        raise InputError(problem, "save it without a password", file=name)
    if done.returncode:
        raise InputError(f"{kind.label} that can't be read", mend, file=name)
    return done.stdout.decode("utf-8")


def _unpacked(data: bytes) -> int:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            return sum(entry.file_size for entry in packed.infolist())
    except (zipfile.BadZipFile, OSError, ValueError):
        return MAX_UNPACKED + 1


# In the reading process


class _Locked(Exception):
    """It needs a password."""


def extract_text(data: bytes, kind: Manuscript) -> str:
    """The text of a file that may be hostile: call it in a process of its own."""
    match kind:
        case Manuscript.WORD:
            blocks = _read_word(data)
        case Manuscript.OPEN_DOCUMENT:
            blocks = _read_open_document(data)
        case Manuscript.PDF:
            blocks = _read_pdf(data)
        case Manuscript.MARKDOWN:
            blocks = _read_markdown(data)
        case Manuscript.HTML:
            blocks = _read_html(data.decode("utf-8"))
    paragraphs = [text for text in (_tidy(block) for block in blocks) if text.strip("# -")]
    return "\n\n".join(paragraphs)[:MAX_CHARACTERS]


def _tidy(block: str) -> str:
    lines = (" ".join(line.split()) for line in block.replace("\u00ad", "").splitlines())
    return "\n".join(line for line in lines if line)


_HEADING_TAGS: Final = ("h1", "h2", "h3", "h4", "h5", "h6")
_BLOCK_TAGS: Final = ("p", "div", "li", "td", "th", "pre", "blockquote", *_HEADING_TAGS)
_CELL: Final = 6
"""Words of a cell, at most, in a row of a table that is read as one line."""

_FRONT_MATTER: Final = re.compile(
    r"\A\ufeff?---[ \t]*\r?\n.*?\n(?:---|\.\.\.)[ \t]*(?:\r?\n|\Z)", re.S
)
"""What note takers and site makers keep above a text: no part of it."""


class _Blocks(HTMLParser):
    """Paragraphs, headings and items of simple HTML."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.blocks: list[str] = []
        self._open: list[str] = []
        self._hidden = ""
        self._row = 0
        """The block that the row of a table begins with."""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """A block begins, or a line ends in one."""
        del attrs
        if tag == "br":
            self._open.append("\n")
        elif tag in ("s", "script", "style", "head"):
            self._hidden = self._hidden or tag
        elif tag == "tr":
            self._finish()
            self._row = len(self.blocks)
        elif tag in _BLOCK_TAGS and self._open != ["- "]:
            self._finish()
            if tag in _HEADING_TAGS and not self.blocks:
                self._open.append("# ")
            elif tag == "li":
                self._open.append("- ")

    def handle_endtag(self, tag: str) -> None:
        """A block ends."""
        if tag == self._hidden:
            self._hidden = ""
        elif tag in _BLOCK_TAGS:
            self._finish()
        elif tag == "tr":
            self._finish()
            cells = self.blocks[self._row :]
            if all(len(cell.split()) <= _CELL for cell in cells):
                self.blocks[self._row :] = [", ".join(map(str.strip, cells))] if cells else []

    def handle_data(self, data: str) -> None:
        """Text goes into the open block."""
        if not self._hidden:
            self._open.append(data)

    def _finish(self) -> None:
        block = "".join(self._open)
        if block.strip("# \n"):
            self.blocks.append(block)
        self._open.clear()


def _read_html(html: str) -> list[str]:
    parser = _Blocks()
    # What begins a block ends the last one, too.
    parser.feed(f"{html}<p>")
    parser.close()
    return parser.blocks


def _read_markdown(data: bytes) -> list[str]:
    from markdown_it import MarkdownIt

    text = _FRONT_MATTER.sub("", data.decode("utf-8"))
    reader = MarkdownIt("commonmark").enable(["table", "strikethrough"])
    return _read_html(reader.render(text))


def _read_word(data: bytes) -> Iterable[str]:
    import mammoth

    styles = "p[style-name='Title'] => h1:fresh\ncomment-reference =>\n"
    html = mammoth.convert_to_html(
        io.BytesIO(data), style_map=styles, convert_image=mammoth.images.img_element(lambda _: {})
    ).value
    # Notes are gathered in a list at the end, with references in the text.
    html = re.sub(r'<sup><a href="#(?:foot|end)note-.*?</sup>', "", html)
    html = re.sub(r'<ol>(?:<li id="(?:foot|end)note-.*?</li>)+</ol>', "", html, flags=re.DOTALL)
    return _read_html(html)


def _read_open_document(data: bytes) -> Iterator[str]:
    from odfdo import Document, Header

    body = Document(io.BytesIO(data)).body
    for left_out in ("text:note", "text:tracked-changes", "office:annotation", "text:toc-mark"):
        for element in body.get_elements(f"descendant::{left_out}"):
            element.delete()
    first = True
    for element in body.get_elements("descendant::text:h | descendant::text:p"):
        text = element.inner_text
        if text.strip():
            title = first and (
                isinstance(element, Header)
                or str(element.get_attribute("text:style-name")) == "Title"
            )
            parent = element.parent
            item = parent is not None and parent.tag == "text:list-item"
            yield f"# {text}" if title else f"- {text}" if item else text
            first = False


def _read_pdf(data: bytes) -> Iterator[str]:
    import pypdf

    reader = pypdf.PdfReader(io.BytesIO(data))
    if reader.is_encrypted and not reader.decrypt(""):
        raise _Locked
    for page in reader.pages:
        yield from _join_lines(page.extract_text().splitlines())


_ENDS: Final = re.compile(r"""[.!?…:;]["'”’)\]]*$""")
_PAGE_NUMBER: Final = re.compile(r"\W*(?:page\s*)?\d{1,4}(?:\s*(?:/|of)\s*\d{1,4})?\W*", re.I)


def _join_lines(lines: Iterable[str]) -> Iterator[str]:
    """Paragraphs of printed lines: one ends where a line stops short after a sentence."""
    rows = [line.strip() for line in lines]
    rows = [row for row in rows if not _PAGE_NUMBER.fullmatch(row)]
    lengths = [len(row) for row in rows if row]
    wide = quantiles(lengths, n=10)[8] if len(lengths) > 1 else 0
    held = ""
    for row in rows:
        if not row:
            yield held
            held = ""
            continue
        if held.endswith("-") and row[:1].islower() and held[-2:-1].isalpha():
            held = held[:-1] + row
        else:
            held = f"{held} {row}" if held else row
        if len(row) < 0.8 * wide and (_ENDS.search(row) or len(row) < 0.5 * wide):
            yield held
            held = ""
    yield held


def _bound() -> None:
    """Bound this process, where the system knows how."""
    try:
        import resource
    except ImportError:
        return
    for what, most in ((resource.RLIMIT_AS, MEMORY), (resource.RLIMIT_CPU, SECONDS)):
        try:
            _, hard = resource.getrlimit(what)
            low = most if hard == resource.RLIM_INFINITY else min(most, hard)
            resource.setrlimit(what, (low, hard))
        except (ValueError, OSError):
            continue


def main(kind: str) -> int:
    """Standard input to standard output; the exit code says what is wrong."""
    import logging

    logging.disable()
    _bound()
    data = sys.stdin.buffer.read()
    try:
        text = extract_text(data, Manuscript(kind))
    except _Locked:
        return _LOCKED
    except (Exception, RecursionError):
        # Whatever such a library stumbles over is the file's fault; the parent says so.
        return 1
    if not text.strip():
        return _TEXTLESS
    sys.stdout.buffer.write(text.encode("utf-8", "replace"))
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1]))
