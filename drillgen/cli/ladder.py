"""`drillgen ladder`: one booklet from small units to larger ones."""

from __future__ import annotations

from typing import Annotated

from drillgen.cli.common import report_doubts
from drillgen.cli.options import Documents, Grading, Paper, Practice, option
from drillgen.cli.output import render_sheets
from drillgen.core.options import Unit, parse_choice


def ladder(
    grading: Grading,
    practice: Practice,
    paper: Paper,
    output: Documents,
    first: Annotated[str, option("First unit: " + ", ".join(Unit) + ".", "--from")] = (
        Unit.WORD.value
    ),
    last: Annotated[
        str | None, option("Last unit. Default: passage, or the first where it is later.", "--to")
    ] = None,
    contrast: Annotated[
        list[str] | None,
        option(
            "Lexical set to climb around: GOOSE, THOUGHT, … Repeatable. Default: the two "
            "farthest from the target."
        ),
    ] = None,
    count: Annotated[
        int, option("Words in a list: 1 to 24. Phrases and sentences are fewer.")
    ] = 8,
    seed: Annotated[int, option("Another number gives another choice.")] = 1,
) -> None:
    """Make a booklet from small units to larger ones: syllables or words to a conversation."""
    from drillgen.sheets.ladder import LadderOptions, lay_out_ladder, make_ladder, read_contrasts

    outputs = output.open(grading)
    paths = output.plan(outputs, "ladder")
    options, page, head = grading.options, paper.page, practice.head
    begin = parse_choice(Unit, first, "--from")
    usual = Unit.CONVERSATION if begin is Unit.CONVERSATION else Unit.PASSAGE
    choice = LadderOptions(
        first=begin,
        last=usual if last is None else parse_choice(Unit, last, "--to"),
        contrasts=read_contrasts(contrast or (), options),
        count=count,
        seed=seed,
    )
    sheet = make_ladder(choice, head, options, grading.engine())
    document, values = lay_out_ladder(sheet), ("drillgen-ladder", 3, "sheet", sheet)
    for path, data in render_sheets(paths, document, values, page, discreet=head.discreet):
        outputs.write(path, data)
    report_doubts(drill for unit in sheet.units for drill in unit.drills)
