"""Drills for a forward resonance: any text with its vowels swapped for /i/.

>>> import drillgen
>>> drill = drillgen.make_drill("Good morning.")
>>> full, partial, marked = drill.versions
>>> [cell.text for line in full.lines for cell in line.cells if cell]
['gheed', 'meer-neeng']
"""

from drillgen.core.accents import Accent, load_accent
from drillgen.core.errors import DrillgenError, InputError, OptionError, OutputError
from drillgen.core.options import DrillOptions, Format, PageOptions, PageSize, Strategy
from drillgen.core.pitch import parse_pitch
from drillgen.core.values import Drill, Passage, Pronunciation, Version, Worksheet
from drillgen.sheets.drill import lay_out_drills
from drillgen.speech.pipeline import Engine, iter_drills, make_drill
from drillgen.write import render
from drillgen.write.json import load_json, render_json

__all__ = [
    "Accent",
    "Drill",
    "DrillOptions",
    "DrillgenError",
    "Engine",
    "InputError",
    "OptionError",
    "OutputError",
    "PageOptions",
    "PageSize",
    "Passage",
    "Pronunciation",
    "Strategy",
    "Version",
    "Worksheet",
    "iter_drills",
    "load_accent",
    "load_json",
    "make_drill",
    "parse_pitch",
    "render_json",
    "render_markdown",
    "render_pdf",
    "render_text",
]


def render_pdf(sheet: Worksheet, page: PageOptions) -> bytes:
    """A drill sheet as a PDF/UA-1 file."""
    return render(lay_out_drills(sheet), Format.PDF, page)


def render_markdown(sheet: Worksheet) -> str:
    """A drill sheet as GitHub-flavoured Markdown."""
    return render(lay_out_drills(sheet), Format.MARKDOWN).decode()


def render_text(sheet: Worksheet) -> str:
    """A drill sheet as plain text."""
    return render(lay_out_drills(sheet), Format.TEXT).decode()
