"""Words whose diacritics tell how they are said.

Merriam-Webster's Collegiate Dictionary, from memory, for the readings themselves.
"""

from __future__ import annotations

import pytest

from drillgen.core.phones import format_phones, parse_phones
from drillgen.core.values import Origin
from drillgen.speech.pipeline import Engine
from drillgen.speech.pronounce.diacritics import keep_diacritics
from drillgen.speech.pronounce.overrides import Override, Overrides

ENGINE = Engine.load()


@pytest.mark.parametrize(
    ("written", "before", "after"),
    [
        ("rosé", "R OW1 Z", "R OW2 Z EY1"),
        ("rosés", "R OW1 Z IH0 Z", "R OW2 Z EY1 Z"),
        ("rose", "R OW1 Z", "R OW1 Z"),
        ("glacés", "G L EY1 S IH0 Z", "G L EY2 S EY1 Z"),
        ("café", "K AE0 F EY1", "K AE0 F EY1"),
        ("cafés", "K AE0 F EY1 Z", "K AE0 F EY1 Z"),
        ("née", "N IY1", "N EY1"),
        ("mêlée", "M EY1 L EY2", "M EY1 L EY2"),
        ("élan", "EY0 L AA1 N", "EY0 L AA1 N"),
        ("niño", "N IY1 N OW0", "N IY1 N Y OW0"),
        ("mañana", "M AH0 N AA1 N AH0", "M AH0 N Y AA1 N AH0"),
        ("piñón", "P IH1 N Y AA2 N", "P IH1 N Y AA2 N"),
        ("ñandú", "N AA1 N D UW2", "N Y AA1 N D UW2"),
        ("señing", "S EH1 N IH0 NG", "S EH1 N Y IH0 NG"),  # "ng" is no N
        ("niña", "N IY1 AH0", "N IY1 AH0"),  # an N is missing: nothing is known
        ("über", "UW1 B ER0", "UW1 B ER0"),
    ],
)
def test_phones(written: str, before: str, after: str) -> None:
    assert format_phones(keep_diacritics(written, parse_phones(before))) == after


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("a glass of rosé", "R OW0 Z EY1"),
        ("a glass of Rosé", "R OW0 Z EY1"),
        ("two rosés", "R OW0 Z EY1 Z"),
        ("the rosé’s taste", "R OW0 Z EY1 Z"),
        ("a red rose", "R OW1 Z"),
        ("some pâté", "P AE0 T EY1"),
        ("her fiancée", "F IY2 AA0 N S EY1"),
        ("a canapé", "K AA1 N AH0 P EY2"),
        ("until mañana", "M AH0 N Y AA1 N AH0"),
        ("dear Renée", "R AH0 N EY1"),
    ],
)
def test_in_a_text(text: str, said: str) -> None:
    words = [word for _, row in ENGINE.pronounce(text) for word in row]
    assert said in [format_phones(word.phones) for word in words]


def test_signs_without_words() -> None:
    said = ENGINE.pronounce("“Oui…” – 👍 ¿é?")
    assert [token.text for token, row in said if row] == ["Oui", "é"]


def test_the_list_of_the_user_goes_first() -> None:
    override = Override("rose", parse_phones("R OW1 Z AH0"), 0)
    engine = ENGINE.adapt(overrides=Overrides({"rose": override}))
    (word,) = (word for _, row in engine.pronounce("rosé") for word in row)
    assert (word.origin, format_phones(word.phones)) == (Origin.OVERRIDE, "R OW1 Z AH0")
