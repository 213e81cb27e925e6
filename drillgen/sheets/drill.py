"""The drill sheet: texts in their graded versions."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from drillgen.core.document import Block, Document, Section
from drillgen.core.values import Drill, Worksheet
from drillgen.core.wording import choose_wording
from drillgen.sheets.content import delivery_texts
from drillgen.sheets.parts import (
    BODY,
    Gathered,
    make_document,
    number_drills,
    paragraphs_of,
    steps_section,
    title_of,
    version_sections,
)


def lay_out_drills(sheet: Worksheet) -> Document:
    """A drill sheet as a document, ready to be rendered.

    >>> import drillgen
    >>> sheet = drillgen.Worksheet((drillgen.make_drill("Two boats."),), "Boats", None)
    >>> lay_out_drills(sheet).title
    'Boats'
    """
    return open_drills(sheet, iter_drill_blocks(sheet.drills, sheet))


def open_drills(head: Worksheet, blocks: Iterable[Block] = ()) -> Document:
    """The sheet with its title and pitch; the drills of `head` are not read."""
    wording = choose_wording(head.discreet)
    return make_document(title_of(head, wording), wording, blocks, pitch=head.pitch)


def iter_drill_blocks(drills: Iterable[Drill], head: Worksheet) -> Iterator[Block]:
    """The blocks of the sheet, a drill at a time, so that any length needs little memory.

    `head` gives everything but the drills; its own `drills` are not read. What
    is gathered from all drills stands at the end.
    """
    wording = choose_wording(head.discreet)
    yield steps_section(delivery_texts(head, wording), wording.hints, wording)
    gathered = Gathered(head, wording)
    for before, title, drill in number_drills(drills, head):
        versions = version_sections(drill, head, wording, level=3, before=before)
        yield Section(title or wording.text, (*paragraphs_of(drill), *versions), rank=BODY)
        gathered.add(drill, title=title, before=before)
    yield from gathered.sections()
