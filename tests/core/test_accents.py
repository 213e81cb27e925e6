"""The profiles of the accents: whole, sound, and known to no code by name."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

import drillgen
from drillgen.core.accents import (
    DEFAULT_ACCENT,
    R_SETS,
    list_accents,
    load_accent,
    parse_accent,
    read_accent,
)
from drillgen.core.errors import OptionError, ResourceError
from drillgen.core.formants import bark_distance
from drillgen.core.phones import SET_VOWELS, VOWELS, parse_phones
from drillgen.core.resources import read_table
from drillgen.corpus.reader import LEXICAL_SETS
from drillgen.speech.swap.targets import list_targets, parse_target

NAMES = list(list_accents())
PROFILES = Path(drillgen.__file__).parent / "data" / "accents"
TOP = Path(drillgen.__file__).parent.parent


def test_the_default_comes_first_and_all_files_are_listed() -> None:
    assert NAMES[0] == DEFAULT_ACCENT
    assert set(NAMES) == {path.stem for path in PROFILES.iterdir()}
    assert len(NAMES) >= 4


@pytest.mark.parametrize("name", NAMES)
def test_a_profile_is_total(name: str) -> None:
    accent = load_accent(name)
    assert accent.sets.keys() == SET_VOWELS.keys() >= LEXICAL_SETS.keys()
    assert set(accent.sets.values()) == accent.vowels.keys()
    for symbol in VOWELS:
        assert accent.find_vowel(symbol) in accent.vowels
    for a in accent.vowels:
        assert accent.vowels[a].ipa
        for b in accent.vowels:
            distance = bark_distance(a, b, accent)
            assert distance == bark_distance(b, a, accent)
            assert (distance == 0) == (a == b)


@pytest.mark.parametrize("name", NAMES)
def test_targets_are_found_by_symbol_set_and_ipa(name: str) -> None:
    accent = load_accent(name)
    assert list_targets(accent)[0].symbol == "IY"
    for target in list_targets(accent):
        assert parse_target(target.symbol, accent) == target
        assert parse_target(target.lexical_set.lower(), accent) == target
        # In RP the onset of FACE has the symbol of DRESS.
        assert parse_target(target.ipa, accent).ipa == target.ipa


def test_the_dictionary_s_accent_changes_nothing() -> None:
    accent = load_accent()
    assert accent.is_reference
    assert accent.direct == {symbol: symbol for symbol in VOWELS}
    assert [n for n in NAMES if load_accent(n).is_reference] == [DEFAULT_ACCENT]


# Wells, Accents of English (1982): RP 2.2, Scottish 5.2.2, Australian 8.3.2, from memory.
@pytest.mark.parametrize(
    ("name", "same", "other"),
    [
        ("rhotic", "TRAP BATH", "LOT THOUGHT"),
        ("rhotic", "LOT PALM", "KIT FLEECE"),
        ("non-rhotic", "BATH PALM START DANCE", "TRAP BATH"),
        ("non-rhotic", "THOUGHT NORTH FORCE", "LOT THOUGHT"),
        ("australian", "BATH PALM START", "BATH DANCE"),
        ("australian", "RABBIT ROSES COMMA", "FOOT GOOSE"),
        ("scottish", "FOOT GOOSE CURE", "NEAR KIT"),
        ("scottish", "LOT THOUGHT CLOTH NORTH", "TRAP LOT"),
        ("scottish", "TRAP BATH PALM START", "HURRY NURSE"),
    ],
)
def test_mergers_and_splits(name: str, same: str, other: str) -> None:
    sets = load_accent(name).sets
    assert len({sets[s] for s in same.split()}) == 1
    assert len({sets[s] for s in other.split()}) == 2


def test_a_merged_set_is_the_same_target() -> None:
    scottish = load_accent("scottish")
    assert parse_target("FOOT", scottish) == parse_target("GOOSE", scottish)
    assert parse_target("LOT", scottish).ipa == parse_target("ɔ", scottish).ipa == "ɔ"
    assert parse_target("e", load_accent("non-rhotic")).lexical_set == "DRESS"
    with pytest.raises(OptionError, match="choose one of: i "):
        parse_target("ɑ", scottish)


def test_r_sets_are_those_of_the_lists() -> None:
    r = {name for name, rule in LEXICAL_SETS.items() if rule.place == "before r"}
    assert r | {"NURSE", "LETTER"} == R_SETS


def test_names_are_read() -> None:
    assert parse_accent("Scottish") == "scottish"
    assert (parse_accent("American"), parse_accent(" british")) == ("rhotic", "non-rhotic")
    with pytest.raises(
        OptionError, match="--accent 'welsh' is unknown; choose one of: rhotic or american, "
    ):
        parse_accent("welsh", "--accent")
    with pytest.raises(OptionError):
        load_accent("../accents/rhotic")


GOOD = (PROFILES / "scottish.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("old", "new", "match"),
    [
        ("rhotic = true", "rhotic = 1", "bool"),
        ("rhotic = true", "rhotik = true", "rhotik"),
        ('FOOT = "UW"', 'FOOD = "UW"', "FOOD"),
        ('FOOT = "UW"', 'FOOT = "UX"', "UX"),
        ('FOOT = "UW"', 'FOOT = "OH"', "OH"),
        ("IH = [550, 2100]\n", "", "IH"),
        ("IH = [550, 2100]", "IH = [550]", "F1 and F2"),
        ('["R", "V"', '["R", "X"', "'X'"),
        ('"un-"', '"on-"', "on-"),
        ("[sets]", "[sets", "scottish.toml"),
    ],
)
def test_a_damaged_profile_is_refused(tmp_path: Path, old: str, new: str, match: str) -> None:
    assert old in GOOD
    path = tmp_path / "scottish.toml"
    path.write_text(GOOD.replace(old, new), encoding="utf-8")
    with pytest.raises(ResourceError, match=match):
        read_accent(path)


def test_no_code_knows_an_accent_by_name() -> None:
    """The default stands in one constant; help texts and docs may name accents."""
    found = []
    for path in (TOP / "drillgen").rglob("*.py"):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        found += [
            path.name
            for node in ast.walk(tree)
            if isinstance(node, ast.Constant) and node.value in NAMES
        ]
    # The module of the values imports nothing; a file without the field is of the default.
    assert sorted(found) == ["accents.py", "values.py"]
    quoted = re.compile(rf"""["'](?:{"|".join(map(re.escape, NAMES))})["']""")
    for path in (TOP / "templates").rglob("*.*"):
        assert not quoted.search(path.read_text(encoding="utf-8")), path


@pytest.mark.parametrize("name", NAMES)
def test_the_tables_of_a_profile_are_pronunciations(name: str) -> None:
    for table in load_accent(name).words:
        rows = read_table(table)
        assert len({row[0] for row in rows}) == len(rows)
        for word, arpabet, source, *_ in rows:
            assert word == word.lower()
            assert source
            assert parse_phones(arpabet), word
