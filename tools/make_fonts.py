"""Cut the sheet's font down for the practice page: drillgen/data/fonts and font_coverage.tsv.

    python tools/make_fonts.py

A page carries its font in itself, so there are several sizes of it: the smallest that has a
page's characters is used. The Open Font License lets nobody use the reserved name of a font
for a changed version; the cut font is therefore renamed, and keeps its copyright and
licence. Needs fonttools and brotli, which the package itself does without.
"""

from __future__ import annotations

from itertools import groupby
from pathlib import Path
from typing import Any, Final

from fontTools import subset
from fontTools.ttLib import TTFont

from drillgen.write.fonts import COVERAGE, FILES, font_folder
from drillgen.write.page_fonts import FACES, FAMILY, FOLDER, LEVELS, name_file

DATA: Final = Path(__file__).parents[1] / "drillgen" / "data"
FEATURES: Final = ("ccmp", "kern", "liga", "locl", "mark", "mkmk", "ss04", "tnum")
"""ss04 is the serifed I, so that I, l and 1 differ."""

_FAMILY_IDS: Final = frozenset((1, 16))
_FULL_IDS: Final = frozenset((3, 4))
_POSTSCRIPT_ID: Final = 6
_LEGAL_IDS: Final = (0, 13, 14)


def read_covered(name: str) -> frozenset[int]:
    """The code points of a font file."""
    with TTFont(font_folder() / name, lazy=True) as font:
        return frozenset(font.getBestCmap())


def cut_font(name: str, style: str, codes: list[int], path: Path) -> None:
    options = subset.Options()
    options.layout_features = list(FEATURES)
    options.hinting = False
    options.name_IDs = [1, 2, 3, 4, 6, *_LEGAL_IDS]
    options.recalc_timestamp = False
    with TTFont(font_folder() / name, lazy=True, recalcTimestamp=False) as font:
        cutter = subset.Subsetter(options)
        cutter.populate(unicodes=codes)
        cutter.subset(font)
        _rename(font, style)
        font.flavor = "woff2"
        font.save(path, reorderTables=False)


def _rename(font: Any, style: str) -> None:
    for record in font["name"].names:
        if record.nameID in _FAMILY_IDS:
            record.string = FAMILY
        elif record.nameID in _FULL_IDS:
            record.string = f"{FAMILY} {style}"
        elif record.nameID == _POSTSCRIPT_ID:
            record.string = f"{FAMILY.replace(' ', '')}-{style}"


def list_ranges(codes: frozenset[int]) -> list[str]:
    """The code points as `first<tab>last` in hexadecimal."""
    runs = groupby(enumerate(sorted(codes)), key=lambda pair: pair[1] - pair[0])
    ranges = ([code for _, code in run] for _, run in runs)
    return [f"{run[0]:04X}\t{run[-1]:04X}" for run in ranges]


def main() -> None:
    covered = frozenset.intersection(*map(read_covered, FILES))
    head = "# Code points that all faces of the sheet's font have (tools/make_fonts.py).\n"
    text = "".join(f"{row}\n" for row in list_ranges(covered))
    (DATA / COVERAGE).write_text(f"{head}{text}", encoding="utf-8")
    folder = DATA / FOLDER
    folder.mkdir(exist_ok=True)
    for level, ranges in enumerate(LEVELS):
        wanted = {code for first, last in ranges for code in range(first, last + 1)}
        for weight, name in FACES:
            path = folder / name_file(level, weight)
            style = "Regular" if weight == FACES[0][0] else "Bold"
            cut_font(name, style, sorted(wanted & covered), path)
            print(f"{path.name}: {path.stat().st_size:,} bytes")


if __name__ == "__main__":
    main()
