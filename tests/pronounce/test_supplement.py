"""Words from Wiktionary and from misaki's dictionaries. Source of what is right: Wiktionary's
entries, by WikiPron (Lee et al. 2020), and the package misaki's us_gold and us_silver; how far
both share readings was measured when the tables were made (tools/misaki_words.py)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillgen.core.accents import list_accents, load_accent
from drillgen.core.phones import format_phones, parse_phones
from drillgen.core.resources import find_line, find_row
from drillgen.core.syllables import to_ipa
from drillgen.core.values import Origin
from drillgen.speech.pipeline import Engine
from drillgen.speech.pronounce.compare import swap_skeleton
from drillgen.speech.pronounce.supplement import Supplement


@pytest.fixture(scope="module")
def supplement() -> Supplement:
    return Supplement.load()


def test_every_row_can_be_found(supplement: Supplement) -> None:
    words: set[str] = set()
    for book, least in zip(supplement._books, (20_000, 40_000, 1_800, 1_000), strict=True):
        lines = [line for line in book.text.splitlines() if line[0] != "#"]
        assert len(lines) > least
        # Halving finds nothing in a table out of order.
        assert lines == sorted(lines)
        rows = [line.split("\t") for line in lines]
        for word, phones, share in (*rows[::50], rows[0], rows[-1]):
            found = supplement.find(word)
            assert found is not None
            assert found.origin is book.origin
            assert format_phones(found.phones) == phones
            assert found.confidence == int(share) / 100
            assert [p.stress for p in found.phones].count(1) == 1
        assert words.isdisjoint(row[0] for row in rows)
        words |= {row[0] for row in rows}


def test_british_words_come_first_in_british_accents_only() -> None:
    """Readings: Wells, Longman Pronunciation Dictionary (3rd ed. 2008), from memory."""
    words = "Folkestone Barnsley's leukaemia quadruplets refurbs clerkship's"
    said = {}
    for name in ("rhotic", "non-rhotic"):
        engine = Engine.load(accent=name)
        readings = engine.pronounce(words)
        said[name] = [(r[0].origin, to_ipa(r[0].phones, engine.accent)) for _, r in readings if r]
    assert said["non-rhotic"] == [
        (Origin.DICTIONARY, "ˈfəʊk.stən"),
        (Origin.DERIVED, "ˈbɑːnz.liz"),
        (Origin.DICTIONARY, "luˈkiː.mi.ə"),
        (Origin.DERIVED, "ˈkwɒ.dɹʊ.plɪts"),
        (Origin.DERIVED, "ˈɹiːˌfɜːbz"),
        (Origin.DERIVED, "ˈklɑːk.ʃɪps"),
    ]
    assert Origin.DICTIONARY not in [origin for origin, _ in said["rhotic"]]


@pytest.mark.parametrize(
    ("word", "said"),
    [
        ("Merseyside", "M ER1 Z IH0 S AY2 D"),
        ("Warwickshire", "W AO1 R IH0 K SH IH0 R"),
        ("Lanzarote", "L AE2 N Z ER0 AA1 T IY0"),
        ("Whewell", "HH Y UW1 L"),
        ("Lisburn", "L IH1 Z B ER2 N"),
        ("Dieppe", "D IY0 EH1 P"),
        ("arrivederci", "AE2 R IY0 V AH0 D EH1 R CH IY0"),
    ],
)
def test_words_that_only_the_british_have(word: str, said: str) -> None:
    """Consonants and vowel places: Wells, Longman Pronunciation Dictionary (3rd ed. 2008), from
    memory. The r's are said, a y that only the British say is not."""
    found = Supplement.load().find(word.lower())
    assert found is not None
    assert swap_skeleton(found.phones) == swap_skeleton(parse_phones(said.split()))
    assert Supplement.load(british=False).find(word.lower()) is None
    (said_here,) = Engine.load().pronounce(f"to {word}")[-1][1]
    assert said_here.origin is found.origin


@pytest.mark.parametrize("accent", [name for name in list_accents() if name != "rhotic"])
def test_every_british_row_can_be_found(accent: str) -> None:
    table = load_accent(accent).supplement
    local = Supplement.load_local(table)
    (book,) = local._books
    rows = [line.split("\t") for line in book.text.splitlines() if line[0] != "#"]
    assert len(rows) > 20_000
    assert [row[0] for row in rows] == sorted({row[0] for row in rows})
    for word, phones, share in rows[::50]:
        found = local.find(word)
        assert found is not None
        assert format_phones(found.phones) == phones
        assert (found.origin, found.confidence) == (Origin.DICTIONARY, int(share) / 100)
        assert any(p.stress == 1 for p in found.phones)


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
        for token, reading in engine.pronounce("Frittatas, frittata, harbor, zooid")
        if reading
    }
    assert origins == {
        "Frittatas": Origin.DERIVED,
        "frittata": Origin.WIKTIONARY,
        "harbor": Origin.DICTIONARY,
        "zooid": Origin.MISAKI,
    }


WORDS = st.text("abc'", min_size=1, max_size=4)


@given(st.sets(WORDS), WORDS, st.booleans())
def test_a_row_is_found_in_the_text_as_in_its_lines(
    words: set[str], sought: str, ended: bool
) -> None:
    lines = [f"{word}\t{len(word)}" for word in sorted(words)]
    text = "\n".join(["# A head", *lines]) + ("\n" if ended else "")
    for word in (sought, *words):
        assert find_row(text, word + "\t") == find_line(lines, word + "\t")
