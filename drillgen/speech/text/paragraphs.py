"""A huge text in pieces that fit in memory: paragraphs, one after the other."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

MAX_CHUNK: Final = 65_536
"""Characters. A paragraph that is longer is given out in parts, cut at white space."""


def iter_paragraphs(lines: Iterable[str], limit: int = MAX_CHUNK) -> Iterator[str]:
    """Chunks of a text that ends at blank lines, joined chunks being the whole text.

    `lines` are strings that join to the text: an open file, or pieces of any length. A chunk
    ends after one or more blank lines. If none comes within `limit` characters, it ends at
    white space, best after a sentence; only a single word that is longer than `limit` makes a
    longer chunk. Chunks are never empty.

    >>> list(iter_paragraphs(["One.\\n", "\\n", "Two,\\n", "still two.\\n"]))
    ['One.\\n\\n', 'Two,\\nstill two.\\n']
    """
    parts: list[str] = []
    size = 0
    blank = False
    fresh = True  # at the start of a line
    spoken = False  # the chunk holds more than white space
    for line in lines:
        for piece in line.splitlines(keepends=True):
            empty = fresh and piece.isspace()
            if blank and not empty and spoken:
                yield from _give(parts)
                parts, size, spoken = [], 0, False
            blank = empty
            fresh = piece[-1] in "\n\r\u2028\u2029\x85\v\f\x1c\x1d\x1e"
            parts.append(piece)
            size += len(piece)
            spoken = spoken or not empty
            if size > limit:
                chunks = _cut("".join(parts), limit)
                yield from chunks[:-1]
                parts = [chunks[-1]]
                size = len(chunks[-1])
    yield from _give(parts)


def _give(parts: list[str]) -> Iterator[str]:
    text = "".join(parts)
    if text:
        yield text


def _cut(text: str, limit: int) -> list[str]:
    """Parts of at most `limit` characters where white space allows; the last may be long
    only if it has no white space to cut at."""
    chunks = []
    start = 0
    while len(text) - start > limit:
        end = _find_cut(text, start, start + limit)
        if end <= start or end >= len(text):
            break
        chunks.append(text[start:end])
        start = end
    chunks.append(text[start:])
    return chunks


def _find_cut(text: str, start: int, limit: int) -> int:
    """Just past the last sentence end, or the last white space, before `limit`; or past the
    first white space after it; or the end."""
    middle = (start + limit) // 2
    for mark in (". ", "! ", "? ", ".\n", "!\n", "?\n"):
        place = text.rfind(mark, middle, limit)
        if place >= 0:
            return place + 2
    for place in range(limit, start, -1):
        if text[place - 1].isspace() and not text[place : place + 1].isspace():
            return place
    for place in range(limit, len(text)):
        if text[place].isspace():
            return place
    return len(text)
