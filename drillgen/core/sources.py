"""Where texts come from: files, standard input, strings."""

from __future__ import annotations

import codecs
import re
from pathlib import Path
from typing import Final

from drillgen.core.errors import InputError
from drillgen.core.values import Passage

MAX_BYTES: Final = 64 * 1024 * 1024
"""Larger files are read in pieces, see `open_lines`; a whole one must fit."""

_MAGIC: Final = (
    (b"%PDF", "a PDF"),
    (b"PK\x03\x04", "a Word, OpenDocument or zip file"),
    (b"{\\rtf", "an RTF document"),
    (b"\xd0\xcf\x11\xe0", "an old Word document"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"GIF8", "a picture"),
    (b"RIFF", "a sound or picture file"),
    (b"ID3", "a sound file"),
)
_HEADING: Final = re.compile(r"\A\s*#\s+(.+?)\s*#*\s*(?:\n|\Z)")


def guess_encoding(head: bytes) -> str:
    """The encoding that a byte-order mark names, otherwise UTF-8."""
    if head.startswith(codecs.BOM_UTF8):
        return "utf-8-sig"
    if head.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return "utf-16"
    return "utf-8"


def decode_text(data: bytes, name: str, encoding: str | None = None) -> str:
    """Bytes of a text file as a string.

    Without `encoding`: UTF-8, or UTF-16 with a byte-order mark. Raises
    InputError for empty, binary and wrongly encoded data; `name` says whose.
    """
    for magic, what in _MAGIC:
        if data.startswith(magic):
            raise InputError(f"this is {what}", "save it as plain text (.txt) first", file=name)
    chosen = encoding or guess_encoding(data)
    if b"\0" in data and not chosen.lower().replace("-", "").startswith(("utf16", "utf32")):
        raise InputError("this is a binary file", "give a plain text file (.txt)", file=name)
    try:
        text = data.decode(chosen)
    except LookupError:
        raise InputError(
            f"encoding {chosen!r} is unknown", "use a name such as utf-8 or cp1252", file=name
        ) from None
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise InputError(
            f"not in {chosen} (tried {chosen})",
            "save the file as UTF-8 or name its encoding with --encoding",
            file=name,
            line=line,
        ) from None
    if not text.strip():
        raise InputError("there is no text in it", "give at least one word", file=name)
    return text


def read_bytes(path: Path) -> bytes:
    """The bytes of a file, or InputError with the reason in one line."""
    try:
        size = path.stat().st_size
        if path.is_dir():
            raise InputError("this is a folder", "name a text file in it", file=path)
        if size > MAX_BYTES:
            raise InputError(
                f"larger than {MAX_BYTES // 2**20} MB", "split it into several files", file=path
            )
        return path.read_bytes()
    except FileNotFoundError:
        raise InputError("no such file", "check the name", file=path) from None
    except PermissionError:
        raise InputError("no permission to read it", "change its permissions", file=path) from None
    except OSError as error:
        raise InputError(
            f"can't be read ({error.strerror})", "check the file", file=path
        ) from None


def take_title(text: str) -> tuple[str, str]:
    """Split a leading Markdown heading off as the title: (title, rest).

    A file name is never a title: it may hold a client's name.

    >>> take_title("# The Ferry\\n\\nIt was late.")
    ('The Ferry', 'It was late.')
    >>> take_title("It was late.")
    ('', 'It was late.')
    """
    heading = _HEADING.match(text)
    if heading and text[heading.end() :].strip():
        return heading[1], text[heading.end() :].lstrip("\r\n")
    return "", text


def read_passage(path: Path, encoding: str | None = None) -> Passage:
    """Read a text file as a passage."""
    title, text = take_title(decode_text(read_bytes(path), str(path), encoding))
    return Passage(text, title, str(path))
