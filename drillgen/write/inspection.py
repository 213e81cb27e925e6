"""What a file could tell about its owner: the proof of what the writers promise.

A file is taken apart into pieces of text, each with its place in the file; metadata, scripts
and what is packed inside are pieces too. Every piece is searched for words that say what the
file is for, names, addresses, paths of a machine and times.
"""

from __future__ import annotations

import base64
import functools
import io
import json
import logging
import re
import zipfile
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from html.parser import HTMLParser
from pathlib import PurePath
from typing import Final

from drillgen.core.errors import InputError
from drillgen.core.wording import choose_wording


class Telling(StrEnum):
    """What kind of thing was found."""

    WORD = "telling word"
    NAME = "name"
    PATH = "path"
    TIME = "time"
    ADDRESS = "address"
    REQUEST = "request"


@dataclass(frozen=True, slots=True)
class Leak:
    """Something that a file tells."""

    file: str
    place: str
    """Where in the file: "page 2", "script", "metadata Author"."""

    kind: Telling
    text: str


class Role(StrEnum):
    """What a piece of text is in its file."""

    TEXT = "text"
    CODE = "code"
    """Names of a standard (`transform`, `event.target`) tell nothing there."""

    META = "metadata"
    """Nobody reads it: a time or a name has no business there."""

    OWNER = "owner"
    """The field of a name: whatever stands there is one."""

    CLOCK = "clock"
    """The field of a time."""

    LINK = "link"
    """What a reader would fetch or run."""


@dataclass(frozen=True, slots=True)
class Piece:
    """A text of a file, with its place."""

    place: str
    text: str
    role: Role = Role.TEXT


@dataclass(frozen=True, slots=True)
class Search:
    """What to look for besides what tells anyway."""

    names: tuple[str, ...] = ()
    """People and machines."""

    places: tuple[str, ...] = ()
    """Folders of this machine."""

    allowed: tuple[str, ...] = ()
    """Words that may stand there, though they tell."""


MAX_UNPACKED: Final = 256 * 1024 * 1024
_DEPTH: Final = 3

_HARMLESS: Final = r"trans(?:port|fer|lat|luc|par|p\b|mi[st]|it|act|atlantic)"
_STANDARD: Final = re.compile(
    r"transform|transition|transparent|translate|currentTarget|setTargetAtTime|[\w)]\.target\b"
    r"|\btarget=",
    re.IGNORECASE,
)
"""Names of HTML, CSS, SVG and the DOM that begin as a telling word."""

_NAMESPACE: Final = re.compile(
    r"http://(?:www\.w3\.org/|ns\.adobe\.com/|purl\.org/dc/|www\.aiim\.org/pdfua/)[\w#/.-]*"
)
"""Names of standards that look like addresses; nothing is fetched from them."""

_ADDRESS: Final = re.compile(r"\b(?:https?|ftp|wss?|file)://[^\s\"'<>)]+|\bwww\.\w[^\s\"'<>)]+")
_MAIL: Final = re.compile(r"\b[\w.+-]+@[\w-]+\.[a-z]{2,}\b", re.IGNORECASE)
_PATH: Final = re.compile(
    r"(?<![\w/.])/(?:home|Users|root|tmp|var|usr|opt|mnt|media|private|Volumes|etc|srv)/[\w.-]+"
    r"|(?<![\w])[A-Za-z]:\\{1,2}[\w][^\s\"'<>]*|(?<!\\)\\\\\w[\w.-]*\\\w[^\s\"'<>]*"
)
_CLOCK: Final = re.compile(
    r"\b(?:19|20)\d\d-\d\d-\d\dT\d\d:\d\d(?::\d\d)?|\bD:(?:19|20)\d{6,12}|\b\d{8}T(?!000000)\d{6}Z"
)
_REQUEST: Final = re.compile(
    r"\b(?:fetch\s*\(|XMLHttpRequest|WebSocket\b|EventSource\b|sendBeacon|importScripts"
    r"|RTCPeerConnection|WebTransport|\bimport\s*\(|serviceWorker|new\s+Image\b)"
    r"|@import\b|url\((?!\s*[\"']?(?:data:|#))[^)]{1,60}"
)
_DATA: Final = re.compile(r"data:([\w/+.-]*)(?:;[\w=.-]+)*?(;base64)?,([\w+/=%-]*)")
_LINKS: Final = ("src", "href", "action", "formaction", "srcset", "poster", "data", "ping", "cite")
_OWNERS: Final = re.compile(
    r"author|artist|performer|composer|owner|organi[sz]er|attendee|company|manager|lastmodifiedby"
    r"|creatortool_by|contact|location|geo|copyright",
    re.IGNORECASE,
)
_CLOCKS: Final = re.compile(r"date|time\b|dtstamp|created|last-modified", re.IGNORECASE)


def inspect_file(name: str, data: bytes, search: Search | None = None) -> tuple[Leak, ...]:
    """What a file tells, each thing once a place. InputError where it can't be read.

    PDF, HTML, Markdown, plain text, captions, JSON, CSV, TOML, iCalendar, WAV, MP3, Ogg, FLAC,
    and zip files of these.

    >>> [(leak.place, leak.text) for leak in inspect_file("a.txt", b"Keep the pitch.")]
    [('line 1', 'pitch')]
    """
    search = search or Search()
    found = {
        Leak(name, piece.place, kind, text): None
        for piece in (Piece("file name", PurePath(name).name), *_take_apart(name, data, 0))
        for kind, text in _search_piece(piece, search)
    }
    return tuple(found)


# Searching


@functools.lru_cache(maxsize=4)
def _telling() -> re.Pattern[str]:
    words = "|".join(map(re.escape, choose_wording(True).telling))
    return re.compile(rf"(?<![A-Za-z])(?!{_HARMLESS})(?:{words})[a-z]*", re.IGNORECASE)


def _search_piece(piece: Piece, search: Search) -> Iterator[tuple[Telling, str]]:
    """Everything in a piece that tells something."""
    text = piece.text
    if not text.strip():
        return
    if piece.role is Role.OWNER:
        yield Telling.NAME, text.strip()
    if piece.role is Role.CLOCK:
        yield Telling.TIME, text.strip()
    if piece.role is Role.LINK:
        yield Telling.REQUEST, text.strip()
    plain = _STANDARD.sub(" ", text) if piece.role is Role.CODE else text
    # pitchOf, PITCH_MARK and pitch-mark are words too.
    plain = re.sub(r"(?<=[a-z0-9])(?=[A-Z])|_", " ", plain)
    for match in _telling().finditer(plain):
        if match[0].lower() not in search.allowed:
            yield Telling.WORD, match[0].lower()
    for pattern in _name_patterns(search.names):
        yield from ((Telling.NAME, match[0]) for match in pattern.finditer(text))
    yield from ((Telling.NAME, match[0]) for match in _MAIL.finditer(text))
    for place in search.places:
        if place in text:
            yield Telling.PATH, place
    if piece.role is not Role.CODE or "file name" in piece.place:
        yield from ((Telling.PATH, match[0]) for match in _PATH.finditer(text))
    yield from ((Telling.TIME, match[0]) for match in _CLOCK.finditer(text))
    yield from (
        (Telling.ADDRESS, match[0]) for match in _ADDRESS.finditer(_NAMESPACE.sub(" ", text))
    )
    if piece.role is Role.CODE:
        yield from ((Telling.REQUEST, match[0]) for match in _REQUEST.finditer(text))


@functools.lru_cache(maxsize=8)
def _name_patterns(names: tuple[str, ...]) -> tuple[re.Pattern[str], ...]:
    return tuple(
        re.compile(rf"(?<!\w){re.escape(name)}(?!\w)", re.IGNORECASE) for name in names if name
    )


# Taking apart


def _take_apart(name: str, data: bytes, depth: int) -> Iterator[Piece]:
    """The pieces of a file, by what it is, and by its ending where that can't be seen."""
    ending = PurePath(name).suffix[1:].lower()
    try:
        for start, read in _SIGNS.items():
            if data.startswith(start):
                yield from read(data, depth)
                return
        if ending == "mp3" or data[:2] in (b"\xff\xfb", b"\xff\xf3", b"\xff\xf2"):
            yield from _read_sound(data, depth)
            return
        text = data.decode("utf-8-sig")
        if "\0" in text:
            raise UnicodeError
        yield from _READERS.get(ending, _read_text)(text)
    except InputError:
        raise
    except UnicodeError:
        mend = "drillgen inspect reads the kinds of files that drillgen makes"
        raise InputError("not a kind of file that can be read", mend, file=name) from None
    except Exception as error:
        # Strangers' libraries fail in many ways on a damaged file.
        problem = f"it is damaged ({type(error).__name__})"
        raise InputError(problem, "make it again", file=name) from None


def _read_text(text: str) -> Iterator[Piece]:
    for number, line in enumerate(text.splitlines(), 1):
        yield Piece(f"line {number}", line)


def _read_json(text: str) -> Iterator[Piece]:
    """JSON or JSON Lines: keys and values, each with its keys."""
    try:
        values = [json.loads(text)]
    except ValueError:
        values = [json.loads(line) for line in text.splitlines() if line.strip()]
    seen: set[tuple[str, str]] = set()
    stack: list[tuple[str, object]] = [("", value) for value in reversed(values)]
    while stack:
        place, value = stack.pop()
        if isinstance(value, Mapping):
            for key, part in value.items():
                if ("", key) not in seen:
                    seen.add(("", key))
                    yield Piece(f"key {key}", key)
                stack.append((key, part))
        elif isinstance(value, list):
            stack += [(place, part) for part in value]
        elif isinstance(value, str) and (place, value) not in seen:
            seen.add((place, value))
            yield Piece(f"value of {place}" if place else "value", value)


def _read_calendar(text: str) -> Iterator[Piece]:
    """RFC 5545: folded lines joined; the time of making is a time unless it is midnight."""
    for line in re.sub(r"\r?\n[ \t]", "", text).splitlines():
        name, _, value = line.partition(":")
        name = name.partition(";")[0].upper()
        role = Role.META
        if _OWNERS.fullmatch(name):
            role = Role.OWNER
        elif name in ("DTSTAMP", "CREATED", "LAST-MODIFIED") and "T000000" not in value:
            role = Role.CLOCK
        yield Piece(name, value if role is not Role.META else line, role)


class _Page(HTMLParser):
    """The pieces of a web page: texts, attributes, comments, scripts, styles."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.pieces: list[Piece] = []
        self._inside = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._inside = tag if tag in ("script", "style", "title") else ""
        known = dict(attrs)
        if tag == "meta" and known.get("name") and _OWNERS.search(known["name"] or ""):
            self.pieces.append(Piece("metadata", known.get("content") or "", Role.OWNER))
        for name, value in attrs:
            if not value:
                continue
            place = f"attribute {name}"
            outside = name in _LINKS and not value.startswith(("#", "data:", "blob:"))
            if outside:
                self.pieces.append(Piece(place, value, Role.LINK))
            role = Role.TEXT if name in ("alt", "title", "aria-label", "content") else Role.CODE
            spelled = f"{name}={value}" if name in ("target", "translate") else f"{name} {value}"
            self._add(place, spelled, role)

    def handle_endtag(self, _: str) -> None:
        self._inside = ""

    def handle_data(self, data: str) -> None:
        code = self._inside in ("script", "style")
        self._add(self._inside or "text", data, Role.CODE if code else Role.TEXT)

    def handle_comment(self, data: str) -> None:
        self._add("comment", data, Role.TEXT)

    def _add(self, place: str, text: str, role: Role) -> None:
        for kind, packed, content in _DATA.findall(text):
            if packed and content and kind.startswith("audio/"):
                self.pieces += _read_sound(base64.b64decode(content), _DEPTH)
        self.pieces.append(Piece(place, _DATA.sub("data:", text), role))


def _read_html(text: str) -> Iterator[Piece]:
    page = _Page()
    page.feed(text)
    page.close()
    yield from page.pieces


def _read_pdf(data: bytes, _: int) -> Iterator[Piece]:
    """Texts of the pages, and every string and text stream of every object."""
    import pypdf
    from pypdf.generic import StreamObject

    # What it finds odd is not for the terminal.
    logging.getLogger("pypdf").addHandler(logging.NullHandler())
    reader = pypdf.PdfReader(io.BytesIO(data))
    for key, value in (reader.metadata or {}).items():
        yield from _field(key.lstrip("/"), str(value))
    for number, page in enumerate(reader.pages, 1):
        yield Piece(f"page {number}", page.extract_text())
    # Not as many as the file tells: a damaged one may tell any number.
    places = {place for table in reader.xref.values() for place in table}
    for number in sorted(places | reader.xref_objStm.keys()):
        try:
            value = pypdf.generic.IndirectObject(number, 0, reader).get_object()
        except pypdf.errors.PyPdfError:
            continue
        yield from _read_object(value)
        if isinstance(value, StreamObject) and value.get("/Subtype") == "/XML":
            yield from _read_xmp(value.get_data().decode("utf-8", "replace"))


_ACTIONS: Final = frozenset(("/URI", "/JS", "/Launch", "/SubmitForm", "/ImportData", "/GoToR"))


def _read_object(value: object) -> Iterator[Piece]:
    """The strings of a PDF object: descriptions, titles, addresses, scripts."""
    if isinstance(value, Mapping):
        for key, part in value.items():
            if key in _ACTIONS or (isinstance(part, str) and part in _ACTIONS):
                yield Piece(f"object {key}", str(part), Role.LINK)
            if key in ("/Alt", "/ActualText", "/E", "/T", "/Contents", "/Title", "/Lang", "/URI"):
                if isinstance(part, str):
                    yield Piece(f"object {key}", part)
            elif isinstance(part, Mapping | list):
                yield from _read_object(part)
            elif isinstance(part, str) and _CLOCK.match(part):
                yield Piece(f"object {key}", part, Role.META)
    elif isinstance(value, list):
        for part in value:
            if isinstance(part, Mapping | list):
                yield from _read_object(part)


def _read_xmp(text: str) -> Iterator[Piece]:
    """XMP (ISO 16684-1): the elements and attributes that hold a value."""
    for name, value in re.findall(r"<(?:\w+:)?(\w+)[^<>]*>([^<>]+)</", text):
        yield from _field(f"XMP {name}", value)
    for name, value in re.findall(r"\s(?!xmlns)\w+:(\w+)=\"([^\"]*)\"", text):
        yield from _field(f"XMP {name}", value)


def _field(name: str, value: str) -> Iterator[Piece]:
    """A field of metadata."""
    role = Role.OWNER if _OWNERS.search(name) else Role.META
    yield Piece(f"metadata {name}", value, Role.CLOCK if _CLOCKS.search(name) else role)


def _read_sound(data: bytes, _: int) -> Iterator[Piece]:
    """The tags of a sound, as libsndfile reads them, and the chunks of a WAV file."""
    import soundfile

    with soundfile.SoundFile(io.BytesIO(data)) as file:
        tags = file.copy_metadata()
    for name, value in tags.items():
        # What encoded it is no secret; all else that a tag says is a text.
        if name == "software" and re.match(r"(?:LAME|libsndfile|Xiph)", value):
            continue
        yield from _field(name, value)
    if data.startswith(b"RIFF"):
        at = 12
        while at + 8 <= len(data):
            kind, size = data[at : at + 4], int.from_bytes(data[at + 4 : at + 8], "little")
            if kind not in (b"fmt ", b"data", b"fact"):
                text = data[at + 8 : at + 8 + size].decode("latin-1")
                yield Piece(f"chunk {kind.decode('latin-1')}", _printable(text), Role.META)
            at += 8 + size + size % 2
    for start in (b"ID3", b"TAG"):
        if (at := data.find(start)) in (0, len(data) - 128) and at >= 0:
            yield Piece("tag", _printable(data[at : at + 4096].decode("latin-1")), Role.META)


def _printable(text: str) -> str:
    """The runs of letters in bytes, as far as they can be a text."""
    return " ".join(re.findall(r"[\x20-\x7e]{4,}", text))


def _read_zip(data: bytes, depth: int) -> Iterator[Piece]:
    """Names, times, remarks and contents of what is packed."""
    if depth >= _DEPTH:
        raise InputError("a zip file in a zip file in a zip file", "unpack it first")
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        entries = packed.infolist()
        if sum(entry.file_size for entry in entries) > MAX_UNPACKED:
            raise InputError(f"more than {MAX_UNPACKED // 2**20} MB when unpacked", "unpack it")
        yield Piece("remark", packed.comment.decode("utf-8", "replace"), Role.META)
        for entry in entries:
            yield Piece("file name", entry.filename)
            yield Piece(entry.filename, entry.comment.decode("utf-8", "replace"), Role.META)
            if entry.date_time != (1980, 1, 1, 0, 0, 0):
                time = "{}-{:02}-{:02} {:02}:{:02}:{:02}".format(*entry.date_time)
                yield Piece(entry.filename, time, Role.CLOCK)
            if entry.extra:
                yield Piece(f"{entry.filename}, extra field", entry.extra.hex(), Role.CLOCK)
            if not entry.is_dir():
                for piece in _take_apart(entry.filename, packed.read(entry), depth + 1):
                    yield Piece(f"{entry.filename}, {piece.place}", piece.text, piece.role)


_SIGNS: Final[Mapping[bytes, Callable[[bytes, int], Iterable[Piece]]]] = {
    b"%PDF-": _read_pdf,
    b"PK\x03\x04": _read_zip,
    b"PK\x05\x06": _read_zip,
    b"RIFF": _read_sound,
    b"OggS": _read_sound,
    b"fLaC": _read_sound,
    b"ID3": _read_sound,
}
"""Readers of files by their first bytes, whatever they are called."""

_READERS: Final[Mapping[str, Callable[[str], Iterable[Piece]]]] = {
    "html": _read_html,
    "htm": _read_html,
    "json": _read_json,
    "jsonl": _read_json,
    "ics": _read_calendar,
}
"""Readers of texts by the ending; any other text is read line by line."""
