"""The fonts of the printed sheet, and what they can't draw.

Source Sans Pro (OFL 1.1, package font-source-sans-pro) covers English, most
of Latin, Greek, Cyrillic and the IPA symbols of English, and with its
stylistic set 4 the letters I, l and 1 differ clearly. The few signs that it
lacks come from DejaVu Sans Mono, which the typesetter brings.
"""

from __future__ import annotations

import re
import shutil
import unicodedata
from collections.abc import Iterable
from functools import lru_cache
from pathlib import Path
from typing import Final

from drillgen.core.errors import ResourceError
from drillgen.core.resources import read_table

FILES: Final = (
    "SourceSansPro-Regular.ttf",
    "SourceSansPro-Semibold.ttf",
    "SourceSansPro-Bold.ttf",
)

FALLBACK: Final = frozenset("↗↘♯♭")
"""Signs that we take from the fallback font."""

PLAIN: Final = frozenset(map(chr, range(0x20, 0x7F))) | frozenset(
    "ɪʊəɜ˞ɚɹɡθðʃʒŋɛæɑɔʌ‖ˈˌ→‘’“”–—…\u00a0¦£€½éèüöç−‿˘·"
)
"""Characters that need no look into the table; a test checks them."""

COVERAGE: Final = "font_coverage.tsv"
"""The code points of the font files, from first to last (tools/make_fonts.py)."""

FRAME: Final = "□"
"""Stands for a character that can't be drawn. U+25A1 is in the fallback font."""

UNUSUAL: Final = re.compile(rf"[^{re.escape(''.join(sorted(PLAIN | FALLBACK)))}{FRAME}\u200b]|\\u")
"""In JSON, what may have to be composed or framed; a zero width space is drawn as nothing."""


def font_folder() -> Path:
    """Where the font package keeps its files. ResourceError without it."""
    try:
        import font_source_sans_pro
    except ImportError:
        raise ResourceError("the package font-source-sans-pro is missing", "install it") from None
    folder = Path(font_source_sans_pro.__file__).parent / "files"
    if missing := [name for name in FILES if not (folder / name).is_file()]:
        raise ResourceError(
            f"font-source-sans-pro lacks {missing[0]}", "install font-source-sans-pro again"
        )
    return folder


def copy_fonts(target: Path) -> None:
    """Copy the three files that a sheet uses.

    The package holds each face twice, as .otf and .ttf; which of the two a
    folder scan finds first depends on the file system, and so would the bytes
    of the sheet.
    """
    folder = font_folder()
    for name in FILES:
        shutil.copyfile(folder / name, target / name)


def find_missing(characters: Iterable[str]) -> tuple[str, ...]:
    """The characters that the sheet's fonts can't draw, sorted.

    Looks them up only where a character is out of the ordinary.
    """
    rare = set(characters) - PLAIN - FALLBACK - {FRAME}
    if not rare:
        return ()
    ranges = [(int(first, 16), int(last, 16)) for first, last in read_table(COVERAGE)]
    return tuple(
        sorted(c for c in rare if not any(first <= ord(c) <= last for first, last in ranges))
    )


@lru_cache(maxsize=512)  # a look into the table for each, and a text has few of them, often
def is_invisible(character: str) -> bool:
    """Format characters, variation selectors and the like: nothing to draw. Nor are emoji drawn
    that the fonts lack: nobody says them, and a frame would look like a box to tick."""
    kind = unicodedata.category(character)
    return (
        kind in ("Cf", "Cc", "Co", "Cn", "Me")
        or "\ufe00" <= character <= "\ufe0f"
        or (kind in ("So", "Sk") and character >= "\u2600" and bool(find_missing(character)))
    )


def describe_character(character: str) -> str:
    """Its code point and name, since the character itself can't be printed.

    >>> describe_character("港")
    'U+6E2F CJK UNIFIED IDEOGRAPH-6E2F'
    """
    name = unicodedata.name(character, "")
    return f"U+{ord(character):04X} {name}".rstrip()
