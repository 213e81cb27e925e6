"""The public names: what `import drillgen` offers, each loaded when it is first used."""

from drillgen.core.accents import list_accents
from drillgen.core.errors import DrillgenError
from drillgen.core.options import DrillOptions, Format, PageOptions, PageSize, Strategy
from drillgen.core.pitch import parse_pitch
from drillgen.core.values import Drill, Passage, Worksheet
from drillgen.core.views import VersionView, Word
from drillgen.sheets.drill import lay_out_drills
from drillgen.speech.pipeline import Engine, iter_drills, make_drill
from drillgen.speech.pronounce.lexicon import Lexicon
from drillgen.speech.pronounce.overrides import parse_overrides
from drillgen.speech.stages import pronounce, respell, swap
from drillgen.write import render
from drillgen.write.json import load_json, render_json

__all__ = [
    "Drill",
    "DrillOptions",
    "DrillgenError",
    "Engine",
    "Format",
    "Lexicon",
    "PageOptions",
    "PageSize",
    "Passage",
    "Strategy",
    "VersionView",
    "Word",
    "Worksheet",
    "iter_drills",
    "lay_out_drills",
    "list_accents",
    "load_json",
    "make_drill",
    "parse_overrides",
    "parse_pitch",
    "pronounce",
    "render",
    "render_json",
    "respell",
    "swap",
]
