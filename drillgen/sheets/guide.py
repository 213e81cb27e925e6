"""The guide: how the exercise works, the whole key, all marks and cautions. Printed once."""

from __future__ import annotations

from msgspec.structs import replace

from drillgen.core.accents import DEFAULT_ACCENT, load_accent
from drillgen.core.document import Document, Items, Keep, ListKind, Paragraph, Section, prose
from drillgen.core.printable import clean
from drillgen.core.values import KeyEntry, Pitch, Worksheet
from drillgen.core.wording import choose_wording
from drillgen.sheets.content import ARROWS, FLOW_SIGNS, delivery_texts, describe_vowel
from drillgen.sheets.parts import (
    care_section,
    explain_signs,
    key_section,
    make_document,
    marks_section,
    steps_section,
)
from drillgen.speech.respell.key import read_key


def lay_out_guide(
    pitch: Pitch | None,
    *,
    title: str = "",
    target: str = "IY",
    accent: str = DEFAULT_ACCENT,
    discreet: bool = False,
) -> Document:
    """The guide for a target (ARPAbet symbol) in an accent."""
    wording = choose_wording(discreet)
    words = wording.guide
    head = Worksheet((), words.title, pitch, discreet=discreet)
    vowel = describe_vowel(target, wording, accent)
    entries = [KeyEntry(*row[1:]) for row in read_key(load_accent(accent)) if row[0][0] != "."]
    signs = explain_signs(FLOW_SIGNS.union(ARROWS.values()), wording)
    versions = Items(tuple(map(prose, words.version_texts)), ListKind.BULLETS)
    move = Items(tuple(map(prose, words.move_texts)), ListKind.BULLETS)
    blocks = (
        Paragraph(prose(words.about.format(target=vowel))),
        steps_section(delivery_texts(head, wording, target, accent), wording.hints[:2], wording),
        care_section(wording),
        Section(words.versions, (versions,), share=1.4),
        Section(words.move, (move,), beside=True),
        replace(key_section(entries, wording), keep=Keep.PAGE, rank=0),
        replace(marks_section(signs, wording, joined=True), rank=0),
    )
    return make_document(clean(title) or words.title, wording, blocks, pitch=pitch)
