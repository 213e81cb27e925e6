"""Drills for a forward resonance: any text with its vowels swapped for /i/.

>>> import drillgen
>>> drill = drillgen.make_drill("Good morning.")
>>> full, partial, marked = drill.versions
>>> [cell.text for line in full.lines for cell in line.cells if cell]
['gheed', 'meer-neeng']
"""

from drillgen.core.errors import DrillgenError, InputError, OptionError, OutputError
from drillgen.core.options import Accent, DrillOptions, PageOptions, PageSize, Strategy
from drillgen.core.pitch import parse_pitch
from drillgen.core.values import Drill, Passage, Pronunciation, Version, Worksheet
from drillgen.speech.pipeline import Engine, iter_drills, make_drill
from drillgen.write.json import load_json, render_json
from drillgen.write.markdown import render_markdown
from drillgen.write.pdf import render_pdf
from drillgen.write.plain import render_text

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
