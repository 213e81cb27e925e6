"""The sheet's font for a practice page, which carries it in itself.

It was cut down by tools/make_fonts.py, in several sizes: a page takes the smallest that has
its characters.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final, NamedTuple

from drillgen.core.resources import data_file
from drillgen.write.fonts import find_missing

FAMILY: Final = "Page Text"
"""The Open Font License keeps the font's own name for the unchanged font."""

FOLDER: Final = "fonts"
FACES: Final = ((400, "SourceSansPro-Regular.ttf"), (700, "SourceSansPro-Bold.ttf"))

Range = tuple[int, int]

_ASCII: Final[tuple[Range, ...]] = ((0x20, 0x7E),)
_OURS: Final[tuple[Range, ...]] = tuple(
    (ord(c), ord(c)) for c in "\u00a0·–—‘’“”…−→¦‖‿˘ɐɑɒɔəɚɛɜɝ˞ɡɪɹʃʉʊʌʒæðŋθːˈˌ"
)
"""What our own wording uses, and the key: the signs of English."""

_WESTERN: Final[tuple[Range, ...]] = ((0xA0, 0xFF), (0x2010, 0x2044), (0x20AC, 0x20AC))
_LATIN: Final[tuple[Range, ...]] = ((0x100, 0x36F), (0x1E00, 0x1EFF))
"""With the letters of the International Phonetic Association and marks to combine."""

LEVELS: Final[tuple[tuple[Range, ...], ...]] = (
    _ASCII + _OURS,
    _ASCII + _OURS + _WESTERN,
    _ASCII + _OURS + _WESTERN + _LATIN,
    ((0, 0x10FFFF),),
)
"""The code points of each size, from first to last; those that the font lacks are left out."""


class FontFace(NamedTuple):
    """One weight, ready for a page."""

    weight: int
    data: bytes
    """As WOFF2 (W3C Recommendation)."""


def choose_fonts(characters: Iterable[str]) -> tuple[FontFace, ...]:
    """The weights of a page with these characters; those that the font lacks don't count."""
    used = set(characters)
    used -= set(find_missing(used))
    level = next(
        level
        for level, ranges in enumerate(LEVELS)
        if all(any(first <= ord(c) <= last for first, last in ranges) for c in used)
    )
    return tuple(
        FontFace(weight, data_file(f"{FOLDER}/{name_file(level, weight)}").read_bytes())
        for weight, _ in FACES
    )


def name_file(level: int, weight: int) -> str:
    """The file of one size and weight.

    >>> name_file(0, 400)
    'page-0-400.woff2'
    """
    return f"page-{level}-{weight}.woff2"
