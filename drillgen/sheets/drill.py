"""The drill sheet: texts in their graded versions, set for a music stand."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

from drillgen.core.document import Block, Document, Section
from drillgen.core.values import Drill, Worksheet
from drillgen.core.wording import choose_wording
from drillgen.sheets.parts import (
    Gathered,
    make_document,
    number_drills,
    title_of,
    version_sections,
)

SHORT: Final = 120
"""Tokens of a text of which two versions stand on a page."""


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
    title = title_of(head, wording)
    foot = "" if head.discreet else title
    return make_document(title, wording, blocks, pitch=head.pitch, foot=foot, keys=False)


def iter_drill_blocks(drills: Iterable[Drill], head: Worksheet) -> Iterator[Block]:
    """The blocks of the sheet, a drill at a time, so that any length needs little memory.

    `head` gives everything but the drills; its own `drills` are not read. Care and key
    stand at the foot of the first page; what is gathered from all drills at the end.
    """
    wording = choose_wording(head.discreet)
    gathered = Gathered(head, wording)
    opened = False
    for before, title, drill in number_drills(drills, head):
        gathered.add(drill, title=title, before=before)
        level = 3 if title else 2
        versions = list(
            version_sections(drill, head, wording, level=level, before=before, stand=True)
        )
        if not opened:
            # The key of the full swap stands below it, what the partial ones add below them;
            # a short text has both on one page, and one key.
            short = sum(map(len, drill.readings)) < SHORT
            foot = list(gathered.foot(drill, whole=short))
            if len(versions) > 2:
                versions[2:2] = gathered.key_foot(drill.key)
            versions[1:1] = foot
            opened = True
        yield from [Section(title, tuple(versions), chapter=True)] if title else versions
    yield from gathered.end()
