"""Drills for a forward resonance: any text with its vowels swapped for /i/.

>>> import drillgen
>>> drill = drillgen.make_drill("Good morning.")
>>> full, partial, marked = drill.versions
>>> [cell.text for line in full.lines for cell in line.cells if cell]
['gheed', 'meer-neeng']
"""

from drillgen.errors import DrillgenError, InputError, OptionError, OutputError
from drillgen.model import Drill, Passage, Pronunciation, Version, Worksheet
from drillgen.options import Accent, DrillOptions, PageOptions, PageSize, Strategy
from drillgen.pipeline import Engine, iter_drills, make_drill
from drillgen.pitch import parse_pitch
from drillgen.render.json import load_json, render_json
from drillgen.render.markdown import render_markdown
from drillgen.render.pdf import render_pdf
from drillgen.render.text import render_text

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
    "load_json",
    "make_drill",
    "parse_pitch",
    "render_json",
    "render_markdown",
    "render_pdf",
    "render_text",
]
