"""A document as PDF: tagged (PDF/UA-1), the same bytes for the same document.

The one layout is templates/typst/document.typ. It gets plain data as JSON,
which it never reads as markup.
"""

from __future__ import annotations

import json
import re
import tempfile
import unicodedata
from collections.abc import Callable, Iterable, Iterator
from functools import partial
from itertools import accumulate
from pathlib import Path
from typing import Any, Final

from msgspec.structs import asdict, replace

from drillgen.core.document import (
    LINK,
    Block,
    Chart,
    Document,
    Face,
    Items,
    Keep,
    Legend,
    Lines,
    Paragraph,
    Plot,
    Reading,
    Section,
    Sentence,
    Span,
    Spans,
    Table,
    Ticks,
    Word,
    paper_order,
    text_of,
)
from drillgen.core.errors import DrillgenError, ResourceError
from drillgen.core.options import PageOptions
from drillgen.core.resources import resource_folder
from drillgen.write.breaks import CLOSER, GAP, make_wrapper
from drillgen.write.figure import draw_plot
from drillgen.write.fonts import (
    FRAME,
    copy_fonts,
    describe_character,
    find_missing,
    is_invisible,
)

WORD_LIMIT: Final = 32
"""Characters of a respelling that fit in a line, even in wide letters."""

LARGE_WORD_LIMIT: Final = 20

TEXT_LIMIT: Final = 44
"""The same of plain text; half as many in large print."""

CELL_LIMIT: Final = 20
"""The same of titles and tables."""

_PARTS: Final = re.compile(r"\S+\s*|\s+")
_SYLLABLES: Final = re.compile(r"[^\s-]*[\s-]?")

_MERGES: Final = {"ɝ": "ɜ˞"}
"""The font lacks U+025D; U+025C with the rhotic hook is the same symbol (IPA
chart, diacritics)."""

BREAK: Final = "\u200b"
"""Zero width space: a line may break here. Needs no glyph."""

_PLAIN, _BOLD, _UNDERLINED, _LINK, _STRONG, _SOFT, _TUNE = range(7)
_FACES: Final = {
    Face.NONE: _PLAIN,
    Face.LABEL: _STRONG,
    Face.STRONG: _STRONG,
    Face.SOFT: _SOFT,
    Face.TUNE: _TUNE,
}
"""Numbers of the faces in the layout."""

_FEW: Final = 5
"""Looking at positions costs a layout pass each time, so no more sections than these are
fitted to a page."""

Json = dict[str, Any]


def write_pdf(document: Document, page: PageOptions) -> bytes:
    """The document as a PDF/UA-1 file.

    Characters that the fonts lack are drawn as an empty frame and named in a
    note; `pdf_warnings` lists them. Raises DrillgenError where the typesetter
    fails.
    """
    return typeset(_finish(build(document, page), document.missing))


def pdf_warnings(document: Document) -> tuple[str, ...]:
    """One line per character that the PDF can't show."""
    data = map_texts(build(document, PageOptions()), _compose)
    characters = set(json.dumps(data, ensure_ascii=False)) - {BREAK}
    return tuple(
        f"the PDF can't show {describe_character(c)} and draws a frame"
        for c in find_missing(characters)
    )


def forget_layouts() -> None:
    """Let the typesetter drop what it keeps of documents: some 80 MB of each of the last ten.

    It keeps what its ten latest runs asked for, so ten runs of an empty document clear it.
    """
    import typst

    with tempfile.TemporaryDirectory(prefix="drillgen-") as folder:
        empty = Path(folder, "empty.typ")
        empty.write_text("", encoding="utf-8")
        compiler = typst.Compiler(str(empty), root=folder, ignore_system_fonts=True)
        for _ in range(10):
            compiler.compile(format="svg")


def typeset(data: Json) -> bytes:
    """Set data that `build` made. DrillgenError where the typesetter fails."""
    import typst

    root = str(resource_folder("templates") / "typst")
    try:
        with tempfile.TemporaryDirectory(prefix="drillgen-") as fonts:
            copy_fonts(Path(fonts))

            def compile_data(data: Json) -> tuple[bytes, list[Any]]:
                return typst.compile_with_warnings(
                    f"{root}/document.typ",
                    root=root,
                    font_paths=[fonts],
                    ignore_system_fonts=True,
                    format="pdf",
                    pdf_standards=["ua-1"],
                    sys_inputs={"d": json.dumps(data, ensure_ascii=False, separators=(",", ":"))},
                )

            pdf, warnings = compile_data(data)
            if any("converge" in warning.message for warning in warnings):
                # Keeping versions on one page looks at positions, which may
                # chase each other; page numbers would then be wrong.
                pdf, _ = compile_data({**data, "fit": False})
            return pdf
    except typst.TypstError as error:
        reason = " ".join(str(error).split())
        raise DrillgenError(f"the PDF can't be made: {reason}", "try --format md") from None
    except OSError as error:
        raise ResourceError(
            f"can't read or copy the fonts: {error.strerror}", "check the temporary folder"
        ) from None


# What the layout gets


def build(document: Document, page: PageOptions) -> Json:
    """The document as data for the layout: its fields by their names, letters as pairs of
    text and face."""
    builder = _Builder(page)
    pitch = document.pitch
    return {
        "size": page.size.value,
        "large": page.large,
        "print": {**builder.wrapper.sizes._asdict(), "gap": GAP, "closer": CLOSER},
        "title": break_long(document.title, CELL_LIMIT),
        "wide": _is_wide(document.title),
        "fit": _count_fitted(document.blocks) <= _FEW,
        "foot": document.foot,
        "page": document.page,
        "pitch": asdict(pitch) if pitch else None,
        "blocks": list(map(builder.block, paper_order(document.blocks))),
        "missing": "",
    }


def _count_fitted(blocks: Iterable[Block]) -> int:
    sections = [block for block in blocks if isinstance(block, Section)]
    return sum((s.keep is Keep.FIT) + _count_fitted(s.blocks) for s in sections)


def _is_wide(title: str) -> bool:
    """Whether a title needs the whole width, without the pitch beside it."""
    return len(title) > 28 or max(map(len, title.split()), default=0) > 14


def break_long(text: str, limit: int) -> str:
    """Let words break that are longer than `limit` characters."""
    if len(text) <= limit:
        return text
    return re.sub(rf"\S{{{limit}}}(?=\S)", rf"\g<0>{BREAK}", text)


class _Builder:
    """Builds the data of blocks for one size of print."""

    def __init__(self, page: PageOptions) -> None:
        self._large = large = page.large
        self.wrapper = make_wrapper(
            page.size, large, bold=(_BOLD, _UNDERLINED, _TUNE), thin=(_LINK,)
        )
        self._word_limit = LARGE_WORD_LIMIT if large else WORD_LIMIT
        self._text_limit = TEXT_LIMIT // 2 if large else TEXT_LIMIT
        self._cell_limit = CELL_LIMIT // 2 if large else CELL_LIMIT

    def block(self, block: Block) -> Json:
        return {"block": type(block).__name__.lower(), "beside": False, **self._fields(block)}

    def _fields(self, block: Block) -> Json:
        match block:
            case Section():
                return self._section(block)
            case Paragraph():
                return {
                    **asdict(block),
                    "spans": self._text(block.spans),
                    "ticks": _ticks(block.ticks),
                }
            case Items():
                return {
                    "style": block.kind,
                    "items": list(map(self._text, block.items)),
                    "halves": block.halves,
                }
            case Table():
                return self._table(block)
            case Legend():
                rows = [
                    (sign.mark, _face_of(Span("", sign.grade, sign.vowel)), sign.meaning)
                    for sign in block.signs
                ]
                return {"titles": block.columns, "rows": rows}
            case Reading():
                sentences = [self._sentence(sentence, block) for sentence in block.sentences]
                return {"paired": block.paired, "ipa": block.ipa, "sentences": sentences}
            case Lines():
                return asdict(block)
            case Chart():
                points = [(point.across, point.up, point.open) for point in block.points]
                return {**asdict(block), "points": points}
            case Plot():
                return {"svg": draw_plot(block), "alt": block.alt}

    def _section(self, section: Section) -> Json:
        readings = [block for block in section.blocks if isinstance(block, Reading)]
        sentences = [sentence for reading in readings for sentence in reading.sentences]
        return {
            **asdict(section),
            "title": break_long(section.title, CELL_LIMIT),
            "ticks": _ticks(section.ticks),
            "words": sum(len(line) for sentence in sentences for line in sentence.lines),
            "blocks": list(map(self.block, paper_order(section.blocks))),
        }

    def _text(self, spans: Spans) -> list[list[Any]]:
        return [[break_long(text, self._text_limit), face] for text, face in set_faces(spans)]

    def _table(self, table: Table) -> Json:
        return {
            **asdict(table),
            "titles": table.titles,
            "columns": list(map(asdict, table.columns)),
            "answers": list(map(asdict, table.answers)),
            "rows": [[self._cell(cell) for cell in row] for row in table.rows],
        }

    def _cell(self, spans: Spans) -> list[list[Any]]:
        return [[break_long(text, self._cell_limit), face] for text, face in set_faces(spans)]

    def _sentence(self, sentence: Sentence, reading: Reading) -> list[Any]:
        """Number, whether it opens a paragraph, lines, whether it stays whole; a line is its
        boxes and where its rows begin, in letters of both scales."""
        wrap = partial(self.wrapper.wrap, paired=reading.paired, ipa=reading.ipa)
        lines = []
        for line in sentence.lines:
            boxes = [box for word in line for box in self._boxes(word)]
            lines.append((boxes, wrap(boxes), wrap(boxes, scale=CLOSER)))
        rows = sum(len(starts) + 1 for _, starts, _ in lines)
        # Nothing taller than a page may stay whole.
        return [sentence.number, sentence.opens, lines, rows <= (5 if self._large else 10)]

    def _boxes(self, word: Word) -> Iterator[list[Any]]:
        """The inline boxes of a word: original, letters, IPA, whether weak.

        One box, unless the respelling or the original is too long for a line.
        """
        limit = self._word_limit
        room = round(limit * 1.6)
        link = [[LINK, _LINK]] if word.linked else []
        if len(word.text) <= limit and len(word.original) <= room and len(word.ipa) <= room:
            yield [word.original, set_faces(word.spans) + link, word.ipa, word.weak]
            return
        pieces = list(split_spans(word.spans, limit))
        originals = list(_split_text(word.original, room))
        sounds = list(_split_text(word.ipa, room))
        count = max(len(pieces), len(originals), len(sounds))
        for i in range(count):
            last = i + 1 == count
            yield [
                originals[i] if i < len(originals) else "",
                (set_faces(pieces[i]) if i < len(pieces) else []) + (link if last else []),
                sounds[i] if i < len(sounds) else "",
                word.weak and i == 0,
            ]


def _ticks(rows: Iterable[Ticks]) -> list[tuple[str, int, str]]:
    return [(row.name, row.count, row.alt) for row in rows]


def _face_of(span: Span) -> int:
    if span.vowel:
        return _UNDERLINED
    return _BOLD if span.stressed else _FACES[span.face]


def set_faces(spans: Iterable[Span]) -> list[list[Any]]:
    """Letters with the number of their face; neighbours of one face are one."""
    merged: list[list[Any]] = []
    for span in spans:
        face = _face_of(span)
        if merged and merged[-1][1] == face:
            merged[-1][0] += span.text
        else:
            merged.append([span.text, face])
    return merged


def split_spans(spans: Spans, limit: int) -> Iterator[Spans]:
    """Spans in pieces of at most `limit` characters, parted after a hyphen or
    space where there is one."""
    ends = iter(accumulate(map(len, _split_text(text_of(spans), limit))))
    end = next(ends, 0)
    place = 0
    piece: list[Span] = []
    for span in spans:
        text = span.text
        while text:
            if place == end:
                yield tuple(piece)
                piece, end = [], next(ends)
            part, text = text[: end - place], text[end - place :]
            piece.append(replace(span, text=part))
            place += len(part)
    if piece:
        yield tuple(piece)


def _split_text(text: str, limit: int) -> Iterator[str]:
    """A text in pieces of at most `limit` characters: parted after spaces, in a
    longer word after hyphens, else anywhere."""
    piece = ""
    for word in _PARTS.findall(text):
        for part in [word] if len(word) <= limit else _SYLLABLES.findall(word):
            while part:
                if piece and len(piece) + len(part) > limit:
                    yield piece
                    piece = ""
                piece, part = piece + part[:limit], part[limit:]
    if piece:
        yield piece


# Characters


def _finish(data: Json, warning: str) -> Json:
    """The data with nothing in it that can't be drawn.

    Texts are composed (NFC). Characters that the fonts lack become frames and
    are named in a note.
    """
    used = json.dumps(data, ensure_ascii=False)
    if not _is_composed(used):
        data = map_texts(data, _compose)
        used = json.dumps(data, ensure_ascii=False)
    missing = find_missing(set(used) - {BREAK})
    if not missing:
        return data
    framed: Json = map_texts(data, lambda text: "".join(_iter_framed(text, missing)))
    framed["missing"] = warning.format(characters="; ".join(map(describe_character, missing)))
    return framed


def map_texts(value: Any, change: Callable[[str], str]) -> Any:
    """The data with each of its texts changed."""
    match value:
        case str():
            return value if value.isascii() else change(value)
        case dict():
            return {name: map_texts(part, change) for name, part in value.items()}
        case list() | tuple():
            return [map_texts(part, change) for part in value]
        case _:
            return value


def _is_composed(dumped: str) -> bool:
    """Whether `_compose` would leave every text of the JSON as it is, which is the rule."""
    signs = set(dumped) - {BREAK}
    return (
        "\\u" not in dumped
        and unicodedata.is_normalized("NFC", dumped)
        and not any(sign in _MERGES or is_invisible(sign) for sign in signs)
    )


def _compose(text: str) -> str:
    """The text composed, and without what has no shape."""
    composed = unicodedata.normalize("NFC", text)
    for symbol, merged in _MERGES.items():
        composed = composed.replace(symbol, merged)
    return "".join(c for c in composed if c == BREAK or not is_invisible(c))


def _iter_framed(text: str, missing: Iterable[str]) -> Iterator[str]:
    for character in text:
        if character not in missing:
            yield character
        elif not unicodedata.combining(character):
            yield FRAME
