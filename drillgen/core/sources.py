"""Where texts come from: files, standard input, strings."""

from __future__ import annotations

import codecs
import html
import re
from collections.abc import Callable
from pathlib import Path
from typing import Final

from drillgen.core import tables
from drillgen.core.errors import InputError
from drillgen.core.values import Passage

MAX_BYTES: Final = 64 * 1024 * 1024
"""Larger files are read in pieces, see `open_lines`; a whole one must fit."""

_AS_TEXT: Final = "save it as plain text (.txt) first"
_AS_WORD: Final = "save it as .docx or plain text (.txt) first"
_TYPE: Final = "type the text or paste it"
_MAGIC: Final = (
    (b"%PDF", b"", "a PDF", _AS_TEXT),
    (b"PK\x03\x04", b"xl/workbook", "a spreadsheet", "save it as CSV first"),
    (b"PK\x03\x04", b"opendocument.spreadsheet", "a spreadsheet", "save it as CSV first"),
    (b"PK\x03\x04", b"", "a packed file", _AS_TEXT),
    (b"{\\rtf", b"", "an RTF document", _AS_WORD),
    (b"\xd0\xcf\x11\xe0", b"", "an old Word or Excel document", _AS_WORD),
    ((b"\x89PNG", b"\xff\xd8\xff", b"GIF8"), b"", "a picture", _TYPE),
    ((b"RIFF", b"ID3"), b"", "a sound or picture file", _TYPE),
)
"""How files begin that are no text, what else is in them, what they are, and what to do."""

_PACKED: Final = (b"%PDF-", b"PK\x03\x04")
"""How files begin that may hold a text among other things."""

MARKED: Final = {".md": "md", ".markdown": "md", ".html": "html", ".htm": "html"}
"""Endings of texts whose marks are no words: their kind, as `Manuscript` has it."""

_REFERENCE: Final = re.compile(
    r"&(?:amp|nbsp|quot|apos|lt|gt|[lr][sd]quo|[mn]dash|hellip|shy|#\d{2,6}|#x[0-9A-Fa-f]{2,5});"
)
_INVISIBLE: Final = dict.fromkeys(map(ord, "\u00ad\u200b\u2060\ufeff"))

_HEADING: Final = re.compile(
    r"\A\s*(?:#{1,6}[ \t]+(\S.*?)[ \t]*#*|(\S.*?)[ \t]*\r?\n={3,})[ \t]*\r?(?:\n|\Z)"
)

_FIRST_LINE: Final = re.compile(r"\A\s*(\S[^\r\n]{0,59}?)[ \t]*\r?\n[ \t]*\r?\n\s*(?=\S)")
_GREETINGS: Final = ("dear", "hi", "hello", "hey", "thanks")


_MARKS: Final = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    # UTF-32 first: its mark begins with that of UTF-16.
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_WIDE: Final = ["utf_16_le", "utf_16_be", "utf_32_le", "utf_32_be"]
_NARROW: Final = ["cp1252", "mac_roman"]
"""What English texts come in besides UTF-8. Of all encodings that the guess knows, a
short text with one accent fits dozens."""

_USUAL: Final = re.compile(
    "(?<![A-Za-z])[“‘–—…]|[”’–—…](?![A-Za-z])|(?<=[a-z])’(?=[a-z])|"
    "(?<=[A-Za-z])[éèêëàâäçñöôüûïîíóáú]"
)
"""Where the signs of English stand that aren't ASCII."""

Tell = Callable[[str], None]
"""Told, in one line, what was guessed."""


def check_magic(head: bytes, name: str) -> None:
    """Refuse a file that is no text. InputError says what it is."""
    for magic, inside, what, mend in _MAGIC:
        if head.startswith(magic) and inside in head:
            raise InputError(f"this is {what}", mend, file=name)


def decode_text(
    data: bytes, name: str, encoding: str | None = None, tell: Tell | None = None
) -> str:
    """Bytes of a text file as a string.

    Without `encoding`: UTF-8, or UTF-16 or 32 with a byte-order mark. Where that
    doesn't fit and there is `tell`, the encoding is guessed. Raises InputError for
    empty, binary and wrongly encoded data; `name` says whose.
    """
    check_magic(data, name)
    chosen = encoding or next((e for mark, e in _MARKS if data.startswith(mark)), "utf-8")
    try:
        text = data.decode(chosen)
        if "\0" in text and not encoding:
            raise UnicodeDecodeError(chosen, data, data.find(0), data.find(0) + 1, "a zero byte")
    except UnicodeDecodeError as error:
        guess = None if encoding or tell is None else guess_encoding(data)
        if guess is None or tell is None:
            if b"\0" in data and not encoding:
                mend = "give a plain text file (.txt)"
                raise InputError("this is a binary file", mend, file=name) from None
            raise InputError(
                f"not in {chosen} (tried {chosen})",
                "save the file as UTF-8 or name its encoding with --encoding",
                file=name,
                line=data.count(b"\n", 0, error.start) + 1,
            ) from None
        tell(f"{name} is not UTF-8; read as {guess[1]} (a guess: save it as UTF-8)")
        text = guess[0]
    except (LookupError, ValueError):
        mend = "use a name such as utf-8 or cp1252"
        raise InputError(f"encoding {chosen!r} is unknown", mend, file=name) from None
    if not text.strip("\ufeff \t\r\n") or not text.strip():
        raise InputError("there is no text in it", "give at least one word", file=name)
    return text


def is_plain(head: bytes, ending: str) -> bool:
    """Whether a file that begins so is its text, in UTF-8 or with a byte a sign: it can be read in
    pieces."""
    wide = any(head.startswith(mark) for mark, _ in _MARKS[1:]) or b"\0" in head
    read_otherwise = ending.lower() in (*MARKED, *tables.ENDINGS)
    return not (wide or read_otherwise or head.startswith(_PACKED))


def guess_encoding(data: bytes) -> tuple[str, str] | None:
    """The text of bytes that are not UTF-8 and the encoding that fits it best, or None."""
    from charset_normalizer import from_bytes

    matches = from_bytes(data, cp_isolation=_WIDE if b"\0" in data else _NARROW)
    # Most fitting first. A few accents and quotes look alike to it in either encoding.
    found = max(matches, key=lambda match: len(_USUAL.findall(str(match))), default=None)
    if found is None or "\0" in str(found):
        return None
    return str(found), found.encoding


def read_data(
    data: bytes, name: str, encoding: str | None = None, tell: Tell | None = None, ending: str = ""
) -> Passage:
    """The text of a file, plain or by a word processor, as a passage; see `decode_text`.

    `ending`: how its name ends, where `name` is none of a file.
    """
    kind = None
    if data.startswith(_PACKED):
        from drillgen.core.manuscripts import find_kind, read_manuscript

        kind = find_kind(data)
    if kind is not None:
        whole = read_manuscript(data, kind, name)
    else:
        whole = decode_text(data, name, encoding, tell)
        ending = (ending or Path(name).suffix).lower()
        if ending in tables.ENDINGS:
            return Passage(tables.read_column(whole, name), "", name)
        if ending in MARKED:
            from drillgen.core.manuscripts import Manuscript, read_manuscript

            whole = read_manuscript(whole.encode(), Manuscript(MARKED[ending]), name)
    title, text = take_title(tidy_text(whole))
    return Passage(text, title, name)


def drop_invisible(text: str) -> str:
    """The text without the signs that web pages and word processors put between letters to say
    where a line may break: soft hyphen, zero-width space, word joiner (Unicode, chapter 23.2).

    >>> drop_invisible("kit\\u00adchen\\u200b")
    'kitchen'
    """
    return text if text.isascii() else text.translate(_INVISIBLE)


def tidy_text(text: str) -> str:
    """The same, with the characters that HTML's references stand for.

    >>> tidy_text("salt &amp; vinegar")
    'salt & vinegar'
    """
    if "&" in text:
        text = _REFERENCE.sub(lambda found: html.unescape(found[0]), text)
    return drop_invisible(text)


def read_bytes(path: Path) -> bytes:
    """The bytes of a file, or InputError with the reason in one line."""
    try:
        if path.is_dir():
            raise InputError("this is a folder", "name a text file in it", file=path)
        with path.open("rb") as file:  # a device tells no size, and may never end
            data = file.read(MAX_BYTES + 1)
        if len(data) > MAX_BYTES:
            raise InputError(
                f"larger than {MAX_BYTES // 2**20} MB", "split it into several files", file=path
            )
        return data
    except FileNotFoundError:
        raise InputError("no such file", _suggest_name(path), file=path) from None
    except PermissionError:
        raise InputError("no permission to read it", "change its permissions", file=path) from None
    except OSError as error:
        problem = f"can't be read ({error.strerror or 'its name'})"
        raise InputError(problem, "check the name", file=path) from None


def _suggest_name(path: Path) -> str:
    """What to do about a file that isn't there."""
    from difflib import get_close_matches

    try:
        there = [other.name for other in path.parent.iterdir() if other.name != path.name]
        near = get_close_matches(path.name, there, 1, cutoff=0.75)
    except OSError:
        near = []
    return f"is it {near[0]}?" if near else "check the name"


def take_title(text: str) -> tuple[str, str]:
    """Split the title off a text: (title, rest).

    That is a leading heading of Markdown, of either kind, or a short first line that ends
    without a mark and stands alone above a text that has some. A file name is never a title: it
    may hold a client's name.

    >>> take_title("# The Ferry\\n\\nIt was late.")
    ('The Ferry', 'It was late.')
    >>> take_title("The Ferry\\n=========\\nIt was late.")
    ('The Ferry', 'It was late.')
    >>> take_title("The Ferry\\n\\nIt was late.")
    ('The Ferry', 'It was late.')
    >>> take_title("It was late.\\n\\nWe ran.")
    ('', 'It was late.\\n\\nWe ran.')
    """
    heading = _HEADING.match(text)
    if heading and text[heading.end() :].strip():
        return heading[1] or heading[2], text[heading.end() :].lstrip("\r\n")
    line = None if heading else _FIRST_LINE.match(text)
    if line and _is_title(line[1]) and re.search("[.!?,;]", text[line.end() :]):
        return line[1], text[line.end() :]
    return "", text


def _is_title(line: str) -> bool:
    words = line.split()
    start, end = line.lstrip("\"'“‘(")[:1], line.rstrip("\"'”’)")[-1:]
    return (
        len(words) <= 8
        and (start.isupper() or start.isdigit())
        and end.isalnum()
        and words[0].lower() not in _GREETINGS
    )


def read_passage(path: Path, encoding: str | None = None, tell: Tell | None = None) -> Passage:
    """Read a file as a passage; see `read_data`."""
    return read_data(read_bytes(path), str(path), encoding, tell)
