"""`drillgen guide`: what a client keeps beside all sheets."""

from __future__ import annotations

from drillgen.cli.common import read_accent
from drillgen.cli.options import AccentName, Documents, Paper, Pitched, TargetVowel
from drillgen.cli.output import render_sheets
from drillgen.core.accents import DEFAULT_ACCENT, load_accent


def guide(
    heading: Pitched,
    paper: Paper,
    output: Documents,
    target: TargetVowel = "i",
    accent: AccentName = DEFAULT_ACCENT,
) -> None:
    """Make the guide to all sheets: how to practise, how to read them, what to heed."""
    from drillgen.sheets.guide import lay_out_guide
    from drillgen.speech.swap.targets import parse_target

    outputs = output.open()
    paths = output.plan(outputs, "guide")
    name, page = read_accent(accent), paper.page
    document = lay_out_guide(
        heading.tone,
        title=heading.title,
        target=parse_target(target, load_accent(name)).symbol,
        accent=name,
        discreet=heading.discreet,
    )
    values = "drillgen-guide", 1, "guide", document
    for path, data in render_sheets(paths, document, values, page, discreet=heading.discreet):
        outputs.write(path, data)
