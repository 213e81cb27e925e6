"""A document as PDF: tagged (PDF/UA-1), the same bytes for the same document.

The one layout is templates/typst/document.typ. It gets plain data as JSON,
which it never reads as markup.
"""

from __future__ import annotations

import re
import tempfile
import unicodedata
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import cache
from itertools import accumulate, groupby, pairwise
from math import ceil
from pathlib import Path
from threading import Lock
from typing import Any, Final

from msgspec.json import encode
from msgspec.structs import asdict, replace

from drillgen.core.document import (
    Block,
    Chart,
    Document,
    Face,
    Items,
    Keep,
    Keyboard,
    Legend,
    Lines,
    Paragraph,
    Plot,
    Reading,
    Section,
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
from drillgen.write.breaks import CLOSER, GAP, make_wrapper, measure, measure_strong
from drillgen.write.figure import draw_plot
from drillgen.write.fit import Head, Look, Readings, Ruler, Sentence, Spot, fit_log, fit_version
from drillgen.write.fonts import (
    FRAME,
    UNUSUAL,
    copy_fonts,
    describe_character,
    find_missing,
    is_invisible,
)
from drillgen.write.rows import (
    BOLD,
    PLAIN,
    SOFT,
    STRONG,
    TUNE,
    UNDERLINED,
    Box,
    Runs,
    Setter,
    count_lines,
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

_FACES: Final = {
    Face.NONE: PLAIN,
    Face.LABEL: STRONG,
    Face.STRONG: STRONG,
    Face.SOFT: SOFT,
    Face.TUNE: TUNE,
}

_GUTTER: Final = 2
"""Between columns at the foot, in sizes of their letters."""

_ITEMS: Final = 6
_SHORT: Final = 4
"""Items of a list that stands in columns, at least, and words in each of them, at most."""

_TIED: Final = 6
"""Rows at the end of a text, at most, that go to the next page with a box or a log."""

_FEW: Final = 5
"""Versions that are kept on a page each, at most: of many that would take too many pages."""

_MAIN: Final = b"""#import "document.typ": show-document
#show-document(json(bytes(read("data").slice(2))))"""

_EVERY_FONT: Final = b"""#set text(font: "Source Sans Pro")
#for weight in (400, 600, 700) { text(weight: weight)[x] }#text(font: "DejaVu Sans Mono")[x]"""

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
    characters = set(encode(data).decode()) - {BREAK}
    return tuple(
        f"the PDF can't show {describe_character(c)} and draws a frame"
        for c in find_missing(characters)
    )


class Typesetter:
    """The typesetter with our fonts and layout. It is kept, since what is the same in two
    documents it sets once."""

    def __init__(self) -> None:
        import typst

        with tempfile.TemporaryDirectory(prefix="drillgen-") as folder:
            copy_fonts(Path(folder))
            fonts = typst.Fonts(include_system_fonts=False, font_paths=[folder])
            self._compiler: Any = typst.Compiler(
                b"", root=resource_folder("templates") / "typst", font_paths=fonts
            )
            # A font is read when it is first used, and the folder is gone then.
            self._compiler.compile(_EVERY_FONT, format="svg")
        self._turn = Lock()

    def typeset(self, settings: Json, data: Json) -> tuple[bytes, list[Any]]:
        """A document as PDF, and the warnings."""
        # A file is also read as markup, so that JSON had better be a comment.
        given = {"main": _MAIN, "settings": encode(settings), "data": b"//" + encode(data)}
        with self._turn:
            compiled: tuple[bytes, list[Any]] = self._compiler.compile_with_warnings(
                given, format="pdf", pdf_standards=["ua-1"]
            )
        return compiled

    def forget(self) -> None:
        """Drop what is kept of documents, some MB of each of the last ten.

        What ten runs do not ask for goes, so ten runs of an empty document clear it.
        """
        with self._turn:
            for _ in range(10):
                self._compiler.compile(b"", format="svg")


@cache
def load_typesetter() -> Typesetter:
    """The typesetter of this process. ResourceError where fonts can't be read or copied."""
    try:
        return Typesetter()
    except OSError as error:
        raise ResourceError(
            f"can't read or copy the fonts: {error.strerror}", "check the temporary folder"
        ) from None


def typeset(data: Json) -> bytes:
    """Set data that `build` made. DrillgenError where the typesetter fails."""
    import typst

    settings = {name: data.get(name) for name in ("size", "large", "print", "fit")}
    typesetter = load_typesetter()
    try:
        pdf, warnings = typesetter.typeset(settings, data)
        if any("converge" in warning.message for warning in warnings):
            # Keeping versions on one page looks at positions, which may
            # chase each other; page numbers would then be wrong.
            pdf, _ = typesetter.typeset({**settings, "fit": False}, data)
        return pdf
    except typst.TypstError as error:
        reason = " ".join(str(error).split())
        raise DrillgenError(f"the PDF can't be made: {reason}", "try --format md") from None


# What the layout gets


def build(document: Document, page: PageOptions) -> Json:
    """The document as data for the layout: its fields by their names, letters as pairs of
    text and face."""
    builder = _Builder(page, few=_count_fitted(document.blocks) <= _FEW)
    pitch, title = document.pitch, break_long(document.title, CELL_LIMIT)
    wide = _is_wide(title)
    blocks = builder.blocks(document.blocks)
    top = builder.measure_title(title, pitch, wide=wide)
    builder.place(document.blocks, blocks, top)
    return {
        "size": page.size.value,
        "large": page.large,
        "print": {**builder.wrapper.sizes._asdict(), "gap": GAP},
        "title": title,
        "wide": wide,
        "fit": True,
        "foot": document.foot,
        "page": document.page,
        "pitch": asdict(pitch) if pitch else None,
        "blocks": blocks,
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

    def __init__(self, page: PageOptions, *, few: bool) -> None:
        self._few = few
        self._large = large = page.large
        self.wrapper = make_wrapper(page.size, large)
        self._ruler = Ruler(self.wrapper.sizes, page.size, large)
        self._word_limit = LARGE_WORD_LIMIT if large else WORD_LIMIT
        self._text_limit = TEXT_LIMIT // 2 if large else TEXT_LIMIT
        self._cell_limit = CELL_LIMIT // 2 if large else CELL_LIMIT

    def measure_title(self, title: str, pitch: Keyboard | None, *, wide: bool) -> Spot | None:
        """How far the title fills the page, with the pitch; None where that is not known."""
        if pitch and pitch.drawn:
            return None
        sizes, room = self.wrapper.sizes, self.wrapper.width
        if pitch and not self._large and not wide:
            words = measure(pitch.label) + measure(pitch.hertz) + 1
            room -= words * sizes.body + measure_strong(pitch.note) * sizes.headings[1]
        count = count_lines([(title, STRONG)], sizes.headings[0], room)
        return Spot(self._ruler.title(count, pitch=pitch is not None, wide=wide))

    def place(
        self, blocks: tuple[Block, ...], data: list[Json], spot: Spot | None, above: float = 0
    ) -> Spot | None:
        """Fit versions and logs to their pages: the data say how they are set.

        `spot` is how far the page is filled before and, as it is given back, after them; None
        where that is not known. `above` is the height of a heading over the first block.
        """
        pairs = list(zip(paper_order(blocks), data, strict=True))
        for number, (block, entry) in enumerate(pairs):
            if isinstance(block, Section) and block.foot:
                continue
            now, spot = spot, None
            if now is None or not isinstance(block, Section):
                continue
            after = pairs[number + 1 : number + 3]
            if entry["fit"]:
                spot = self._fit(block, entry, after, now, above)
            elif entry["log"]:
                alone = not self._large and number > 0 and pairs[number - 1][1]["whole"]
                rows = _rows_of(block)
                entry["rows"], entry["breaks"] = fit_log(self._ruler, rows, now, alone=alone)
            elif entry["chapter"]:
                title = self._ruler.heading(2) + 3.4 * self._ruler.unit
                spot = self.place(block.blocks, entry["blocks"], now, title)
                # A heading goes with what follows it.
                first = entry["blocks"][0]
                entry["breaks"], first["breaks"] = first["breaks"], False
            above = 0
        return spot

    def _fit(
        self,
        section: Section,
        entry: Json,
        after: list[tuple[Block, Json]],
        spot: Spot,
        above: float,
    ) -> Spot:
        """Fit a version to its page, or pages."""
        feet = [foot["lines"] for _, foot in after if foot.get("foot")]
        log = _rows_of(after[0][0]) if after and after[0][1].get("log") else None
        sizes, width = self.wrapper.sizes, self.wrapper.width
        boxes = self._measure_ticks(section)
        # No word of a heading is broken, be it ever so narrow.
        beside = max(width - (0 if entry["below"] else boxes), 4 * sizes.headings[1])
        height = self._ruler.version_head(
            section.level,
            count_lines([(section.title, STRONG)], sizes.headings[1], beside),
            ceil(boxes / width) if entry["below"] else min(len(section.ticks), 1),
            count_lines([(section.note, PLAIN)], sizes.body, width) if section.note else 0,
            below=entry["below"],
        )
        smaller: list[Json] = []

        def closer() -> Readings:
            if not self._large and all(_count_rows(data) >= 12 for data in entry["blocks"]):
                readings = [block for block in section.blocks if isinstance(block, Reading)]
                smaller.extend(self._reading(reading, CLOSER) for reading in readings)
            return list(map(_heights_of, smaller))

        feet_heights = self._ruler.feet(feet) if feet else ()
        tied = entry["blocks"][-1]["tied"]
        head = Head(above + height, bool(section.note), feet_heights, log, tied)
        readings = list(map(_heights_of, entry["blocks"]))
        fit, end = fit_version(self._ruler, head, readings, closer, spot)
        for data, small in zip(entry["blocks"], smaller if fit.scale < 1 else (), strict=False):
            data.update(small)
        entry.update(placed=True, slack=fit.slack, breaks=fit.breaks, whole=fit.whole)
        return end

    def blocks(self, blocks: tuple[Block, ...]) -> list[Json]:
        """Blocks in the order of paper; what stands at one foot has its lines, and the first the
        height of all."""
        data = list(map(self.block, paper_order(blocks)))
        for before, block in pairwise(data):
            if block.get("framed") or block.get("log"):
                _tie(before)
        if len(blocks) > 1 and _is_care(paper_order(blocks)[-1]):
            _tie(data[-2])
        sizes, width = self.wrapper.sizes, self.wrapper.width
        for is_foot, group in groupby(data, key=lambda block: block.get("foot", False)):
            feet = list(group) if is_foot else []
            for foot in feet:
                room = (width - _GUTTER * sizes.small * (len(feet) - 1)) * foot["share"]
                room /= sum(other["share"] for other in feet)
                runs = [(f"{foot['title']}. ", STRONG)]
                runs += [run for block in foot["blocks"] for run in block["spans"]]
                foot["lines"] = count_lines(runs, sizes.small, width if self._large else room)
            if feet:
                feet[0]["height"] = sum(self._ruler.feet(foot["lines"] for foot in feet))
        return data

    def block(self, block: Block) -> Json:
        """Its data."""
        name = type(block).__name__.lower()
        return {"block": name, "beside": False, "tied": 0, **self._fields(block)}

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
                return self._reading(block)
            case Lines():
                return asdict(block)
            case Chart():
                points = [(point.across, point.up, point.open) for point in block.points]
                return {**asdict(block), "points": points}
            case Plot():
                return {"svg": draw_plot(block), "alt": block.alt}

    def _section(self, section: Section) -> Json:
        readings = [block for block in section.blocks if isinstance(block, Reading)]
        alone = not section.kicker and 0 < len(readings) == len(section.blocks)
        plain = not (section.kicker or section.ticks or section.note or section.joined)
        inner = paper_order(section.blocks)[:1]
        return {
            **asdict(section),
            "title": break_long(section.title, CELL_LIMIT),
            "ticks": _ticks(section.ticks),
            "below": self._has_boxes_below(section),
            "fit": self._few and alone and section.keep is Keep.FIT,
            "chapter": plain
            and section.keep is Keep.NONE
            and section.level == 2
            and len(inner) > 0
            and isinstance(inner[0], Section),
            "log": (log := section.keep is Keep.WHOLE and _rows_of(section) > 0),
            "head": self._ruler.log(0) if log else 0,
            "rows": None,
            "placed": False,
            "slack": 1,
            "breaks": False,
            "whole": False,
            "blocks": self.blocks(section.blocks),
        }

    def _measure_ticks(self, section: Section) -> float:
        """Boxes with their names and the gaps behind them."""
        widths = [measure(row.name) + 1.23 * row.count + 1.72 for row in section.ticks]
        return self.wrapper.sizes.body * sum(widths)

    def _has_boxes_below(self, section: Section) -> bool:
        """Whether the boxes to tick have a line of their own below the heading: in large print,
        where both are too long for one."""
        title = measure_strong(section.title) * self.wrapper.sizes.headings[section.level - 1]
        return self._large and title + self._measure_ticks(section) > self.wrapper.width

    def _text(self, spans: Spans) -> list[list[Any]]:
        return [[break_long(text, self._text_limit), face] for text, face in set_faces(spans)]

    def _table(self, table: Table) -> Json:
        sizes = self.wrapper.sizes
        return {
            **asdict(table),
            "titles": table.titles,
            "widths": [sizes.body * measure_strong(title) for title in table.titles],
            "columns": list(map(asdict, table.columns)),
            "answers": list(map(asdict, table.answers)),
            "rows": [[self._cell(cell) for cell in row] for row in table.rows],
        }

    def _cell(self, spans: Spans) -> list[list[Any]]:
        return [[break_long(text, self._cell_limit), face] for text, face in set_faces(spans)]

    def _reading(self, reading: Reading, scale: float = 1) -> Json:
        """Sentences as whether they may break and their rows, with the numbers that tell their
        heights."""
        setter = Setter(self.wrapper, reading.paired, reading.ipa, scale)
        texts = [
            [[box for word in _see(line) for box in self._boxes(word)] for line in sentence.lines]
            for sentence in reading.sentences
        ]
        items = [(s.number, lines[0]) for s, lines in zip(reading.sentences, texts, strict=True)]
        counts, sentences = [], []
        if _is_list(texts) and (rows := setter.set_list(items)):
            counts = [Sentence(False, 1, 1)] * len(rows)
            sentences = [(False, [row]) for row in rows]
        else:
            for sentence, lines in zip(reading.sentences, texts, strict=True):
                rows = setter.set_lines(lines, sentence.number)
                counts.append(Sentence(sentence.opens, len(rows), len(lines)))
                sentences.append((self._may_break(len(rows), lines), rows))
        return {
            "paired": reading.paired,
            "ipa": reading.ipa,
            "scale": scale,
            "counts": counts,
            # As text, since the layout looks through all that a call gets.
            "sentences": encode(sentences).decode(),
        }

    def _may_break(self, rows: int, lines: list[list[Box]]) -> bool:
        """Whether a sentence may go on on the next page: it is long, or taller than a page."""
        height = rows * (1.4 if self._large else 1)
        long = len(lines) > 4 or sum(map(len, lines)) > 60
        return height > 10 and (long or height > 24)

    def _boxes(self, word: Word) -> list[Box]:
        """A word as one box, or as several if it or its original is too long for a line."""
        limit = self._word_limit
        room = round(limit * 1.6)
        length = sum([len(span.text) for span in word.said])
        if length <= limit and len(word.original) <= room and len(word.ipa) <= room:
            return [Box(word.original, set_faces(word.said), word.ipa, word.weak, word.linked)]
        pieces = list(split_spans(word.said, limit))
        originals = list(_split_text(word.original, room))
        sounds = list(_split_text(word.ipa, room))
        count = max(len(pieces), len(originals), len(sounds))
        return [
            Box(
                originals[i] if i < len(originals) else "",
                set_faces(pieces[i]) if i < len(pieces) else (),
                sounds[i] if i < len(sounds) else "",
                word.weak and i == 0,
                word.linked and i + 1 == count,
            )
            for i in range(count)
        ]


def _tie(block: Json) -> None:
    """Keep the end of a block with what follows it: a box or a log is never a page of its own."""
    block["tied"] = 1
    if block["block"] == "reading":
        ends = accumulate(sentence.rows for sentence in reversed(block["counts"]))
        block["tied"] = max(1, sum(rows <= _TIED for rows in ends))
    elif block.get("blocks"):
        _tie(block["blocks"][-1])


def _see(line: Sequence[Word]) -> Sequence[Word]:
    """The words of a line that show anything: no emoji, unless it is all there is."""

    def shows(word: Word) -> bool:
        text = word.original or "".join(span.text for span in word.spans)
        return text.isascii() or bool(word.breath) or not all(map(is_invisible, text))

    return list(filter(shows, line)) or line


def _is_care(block: Block) -> bool:
    """Whether it is a few lines of prose in one piece, which would look lost on a last page of
    their own."""
    match block:
        case Section(keep=Keep.WHOLE, blocks=inner):
            return all(isinstance(part, (Items, Paragraph)) for part in inner)
        case _:
            return False


def _heights_of(reading: Json) -> tuple[Look, list[Sentence]]:
    return Look(reading["paired"], reading["ipa"], reading["scale"]), reading["counts"]


def _is_list(texts: list[list[list[Box]]]) -> bool:
    """Whether all that is read are short items, a word or a few, and not only some of them."""
    return len(texts) >= _ITEMS and all(len(ls) == 1 and len(ls[0]) <= _SHORT for ls in texts)


def _count_rows(reading: Json) -> int:
    return sum(sentence.rows for sentence in reading["counts"])


def _rows_of(section: Block) -> int:
    """The empty rows of a log; 0 where it is none."""
    match section:
        case Section(blocks=(Table(columns=(), rows=rows),)):
            return len(rows)
        case _:
            return 0


def _ticks(rows: Iterable[Ticks]) -> list[tuple[str, int, str]]:
    return [(row.name, row.count, row.alt) for row in rows]


def _face_of(span: Span) -> int:
    if span.vowel:
        return UNDERLINED
    if span.stressed:
        return BOLD
    return _FACES[span.face] if span.face else PLAIN


def set_faces(spans: Iterable[Span]) -> Runs:
    """Letters with the number of their face; neighbours of one face are one. Nothing is one, too.

    >>> set_faces(())
    (('', 0),)
    """
    merged: list[tuple[str, int]] = []
    letters, last = "", PLAIN
    for span in spans:
        face = _face_of(span)
        if face != last:
            if letters:
                merged.append((letters, last))
            letters, last = "", face
        letters += span.text
    return (*merged, (letters, last))


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
    used = encode(data).decode()
    if not UNUSUAL.search(used):
        return data
    if not _is_composed(used):
        data = map_texts(data, _compose)
        used = encode(data).decode()
    if not (missing := find_missing(set(used) - {BREAK})):
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
