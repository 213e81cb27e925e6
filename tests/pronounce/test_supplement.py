"""Words from Wiktionary. Source of what is right: Wiktionary's entries, by WikiPron (Lee et al.
2020); that misaki's dictionary shares the readings was checked when the table was made."""

from __future__ import annotations

import pytest

from drillgen.core.phones import format_phones
from drillgen.core.values import Origin
from drillgen.speech.pipeline import Engine
from drillgen.speech.pronounce.supplement import Supplement


@pytest.fixture(scope="module")
def supplement() -> Supplement:
    return Supplement.load()


def test_every_row_can_be_found(supplement: Supplement) -> None:
    rows = [line.split("\t") for line in supplement._lines]
    assert len(rows) > 20_000
    for word, phones, share in rows[::50]:
        found = supplement.find(word)
        assert found is not None
        assert format_phones(found.phones) == phones
        assert found.confidence == int(share) / 100
        assert [p.stress for p in found.phones].count(1) == 1


def test_accents_are_left_aside(supplement: Supplement) -> None:
    plain, accented = supplement.find("frittata"), supplement.find("frittáta")
    assert plain is not None
    assert accented is not None
    assert plain.phones == accented.phones
    assert supplement.find("frittatas") is None


def test_it_comes_after_the_dictionary_and_before_derivation() -> None:
    engine = Engine.load()
    origins = {
        token.text: reading[0].origin
        for token, reading in engine.pronounce("Frittatas, frittata, harbor")
        if reading
    }
    assert origins == {
        "Frittatas": Origin.DERIVED,
        "frittata": Origin.WIKTIONARY,
        "harbor": Origin.DICTIONARY,
    }
