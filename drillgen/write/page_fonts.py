"""The sheet's font, cut down to the characters of a page.

A page carries its font in itself, so it holds only the glyphs that it needs.
The Open Font License lets nobody use the reserved name of a font for a
changed version; the cut font is therefore renamed, and keeps its copyright
and licence.
"""

from __future__ import annotations

from collections.abc import Iterable
from importlib.util import find_spec
from io import BytesIO
from typing import Any, Final, NamedTuple

from drillgen.write.fonts import find_missing, font_folder

FAMILY: Final = "Page Text"

_FACES: Final = ((400, "SourceSansPro-Regular.ttf"), (700, "SourceSansPro-Bold.ttf"))
_FEATURES: Final = ("ccmp", "kern", "liga", "locl", "mark", "mkmk", "ss04", "tnum")
"""ss04 is the serifed I, so that I, l and 1 differ."""

_FAMILY_IDS: Final = frozenset((1, 16))
_FULL_IDS: Final = frozenset((3, 4))
_POSTSCRIPT_ID: Final = 6
_LEGAL_IDS: Final = (0, 13, 14)

BASE: Final = frozenset(map(chr, range(0x20, 0x7F))) | frozenset("\u00a0·–—‘’“”…−→¦‖‿˘ɜ˞")
"""Every page has these: ASCII, and what our own wording uses."""

KEPT: Final = 32
"""Cut fonts on a shelf, of some 15 kB."""


class FontFace(NamedTuple):
    """One weight, ready for a page."""

    weight: int
    format: str
    """CSS name of the file format: "woff2", or "woff" where brotli is missing."""

    data: bytes


class FontShelf:
    """Cut fonts, kept as long as the shelf.

    Cutting takes some tenths of a second. Most pages need the same few characters
    besides the common ones, so a server keeps one shelf. Not for several threads at once.
    """

    def __init__(self) -> None:
        self._cut: dict[frozenset[str], tuple[FontFace, ...]] = {}

    def faces(self, characters: Iterable[str]) -> tuple[FontFace, ...]:
        """The weights of the page, with the characters that the font has."""
        extra = frozenset(characters) - BASE
        extra -= frozenset(find_missing(extra))
        if extra not in self._cut:
            if len(self._cut) >= KEPT:
                self._cut.clear()
            self._cut[extra] = cut_fonts(BASE | extra)
        return self._cut[extra]


def cut_fonts(characters: Iterable[str]) -> tuple[FontFace, ...]:
    """Cut the font down to some characters; those that it lacks are left out.

    ResourceError without the font package. The same characters give the same
    bytes.
    """
    codes = sorted(map(ord, set(characters)))
    return tuple(_cut(name, weight, codes) for weight, name in _FACES)


def _cut(name: str, weight: int, codes: list[int]) -> FontFace:
    from fontTools import subset
    from fontTools.ttLib import TTFont

    options = subset.Options()
    options.layout_features = list(_FEATURES)
    options.hinting = False
    options.name_IDs = [1, 2, 3, 4, 6, *_LEGAL_IDS]
    options.recalc_timestamp = False
    with TTFont(font_folder() / name, lazy=True, recalcTimestamp=False) as font:
        cutter = subset.Subsetter(options)
        cutter.populate(unicodes=codes)
        cutter.subset(font)
        _rename(font, "Regular" if weight == 400 else "Bold")
        flavor = "woff2" if _has_brotli() else "woff"
        font.flavor = flavor
        out = BytesIO()
        font.save(out, reorderTables=False)
    return FontFace(weight, flavor, out.getvalue())


def _rename(font: Any, style: str) -> None:
    for record in font["name"].names:
        if record.nameID in _FAMILY_IDS:
            record.string = FAMILY
        elif record.nameID in _FULL_IDS:
            record.string = f"{FAMILY} {style}"
        elif record.nameID == _POSTSCRIPT_ID:
            record.string = f"{FAMILY.replace(' ', '')}-{style}"


def _has_brotli() -> bool:
    return find_spec("brotli") is not None
