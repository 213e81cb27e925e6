"""The policy for variants, and British forms."""

from __future__ import annotations

from pathlib import Path

import pytest

from drillgen.core.accents import load_accent
from drillgen.core.phones import format_phones, parse_phones
from drillgen.core.resources import read_table
from drillgen.core.values import Phones
from drillgen.speech.pronounce.accent import accent_word
from drillgen.speech.pronounce.compare import swap_skeleton
from drillgen.speech.pronounce.lexicon import Lexicon
from drillgen.speech.pronounce.variants import (
    FIRST_ENTRY,
    RULES,
    WORD_TABLE,
    Variants,
    choose_variant,
    local_form,
)

AMERICAN, BRITISH = load_accent("rhotic"), load_accent("non-rhotic")
DATA = Path(__file__).parent / "data"


def _rows(name: str) -> list[list[str]]:
    lines = (DATA / name).read_text(encoding="utf-8").splitlines()
    rows = [line.split("\t") for line in lines if not line.startswith("#")]
    assert rows
    return rows


@pytest.fixture(scope="module")
def lexicon() -> Lexicon:
    return Lexicon.load()


@pytest.fixture(scope="module")
def variants() -> Variants:
    return Variants.load()


@pytest.mark.parametrize(("label", "word", "accent", "arpabet"), _rows("variant_cases.tsv"))
def test_choices(
    lexicon: Lexicon, variants: Variants, label: str, word: str, accent: str, arpabet: str
) -> None:
    entries = lexicon.entries(word)
    choice = variants.choose(word, entries, load_accent(accent))
    assert format_phones(entries[choice.position]) == arpabet, (label, choice.rule)


@pytest.mark.parametrize(("label", "word", "arpabet"), _rows("british_cases.tsv"))
def test_british_forms(
    lexicon: Lexicon, variants: Variants, label: str, word: str, arpabet: str
) -> None:
    entries = lexicon.entries(word)
    phones = entries[variants.choose(word, entries, BRITISH).position]
    assert format_phones(variants.localize(word, phones, BRITISH)) == arpabet, label
    american = entries[variants.choose(word, entries, AMERICAN).position]
    assert variants.localize(word, american, AMERICAN) is american


def test_every_rule_decides_some_word(lexicon: Lexicon, variants: Variants) -> None:
    names = [rule.name for rule in RULES]
    assert len(set(names)) == len(names)
    assert all(rule.why for rule in RULES)
    used: set[str] = set()
    for word in lexicon.words():
        entries = lexicon.entries(word)
        if len(entries) > 1:
            choice = variants.choose(word, entries, AMERICAN)
            assert 0 <= choice.position < len(entries)
            used.add(choice.rule)
    assert used == {*names, FIRST_ENTRY, WORD_TABLE}


def test_one_entry_and_equal_entries(lexicon: Lexicon) -> None:
    """One entry is never judged; equal ones leave the first."""
    single = lexicon.entries("boat")
    assert choose_variant("boat", single, AMERICAN) == (0, FIRST_ENTRY)
    same = (single[0], single[0])
    assert choose_variant("boat", same, AMERICAN) == (0, FIRST_ENTRY)


def test_exception_that_is_no_entry_has_no_say() -> None:
    entries = parse_phones("W IH1 CH"), parse_phones("HH W IH1 CH")
    table = {"which": parse_phones("V IH1 CH")}
    assert choose_variant("which", entries, AMERICAN, table).rule == "plain w"


def test_table_of_choices_is_wanted(lexicon: Lexicon) -> None:
    table = read_table("variant_choices.tsv")
    assert len({row[0] for row in table}) == len(table) > 80
    for word, arpabet, why in table:
        entries = lexicon.entries(word)
        assert parse_phones(arpabet) in entries, word
        assert len(entries) > 1, word
        assert why


def test_british_table(lexicon: Lexicon) -> None:
    table = read_table("british_words.tsv")
    assert len({row[0] for row in table}) == len(table) > 350
    for word, arpabet, source, *_ in table:
        phones = parse_phones(arpabet)
        assert any(phone.stress == 1 for phone in phones), word
        assert source in ("LPD", "from memory")
        # A row that says what dictionary and rules say anyway is of no use.
        said = [local_form(word, entry, BRITISH.forms) for entry in lexicon.entries(word)]
        assert said != [phones], word


def test_british_mends(lexicon: Lexicon) -> None:
    """The table that tools/mend_british.py makes: each row is of use, and says who says so."""
    table = read_table("british_mends.tsv")
    by_hand = {row[0] for row in read_table("british_words.tsv")}
    words = {row[0] for row in table}
    assert len(words) == len(table) > 1000
    assert words.isdisjoint(by_hand)
    for word, arpabet, who in table:
        phones = parse_phones(arpabet)
        assert any(phone.stress == 1 for phone in phones), word
        assert who in ("G S", "G W", "G W S", "G S W") or who[4:-1] in words | by_hand, word
        said = [local_form(word, entry, BRITISH.forms) for entry in lexicon.entries(word)]
        assert said != [phones], word


def test_british_rules_touch_only_what_they_say(lexicon: Lexicon) -> None:
    """Over the whole dictionary: y comes in after t, d, n; vowels keep their number."""
    yods = 0
    for word in lexicon.words():
        for phones in lexicon.entries(word)[:1]:
            british = local_form(word, phones, BRITISH.forms)
            if british is phones or british == phones:
                continue
            before, after = swap_skeleton(phones), swap_skeleton(british)
            assert after.count("*") == before.count("*"), word
            for i, phone in enumerate(british):
                if phone.symbol == "Y" and i and british[i - 1].symbol in ("T", "D", "N"):
                    yods += 1
            plain = [s for s in after if s not in ("Y", "SH", "ZH")]
            assert plain == [s for s in before if s not in ("Y", "SH", "ZH")], word
    assert yods > 500


# Where the policy parts with the American dictionary on purpose.
_ON_PURPOSE = {
    "plain w",
    "-ically is -ik-lee",
    "l opens -ling, -ler",
    "-iring is two syllables",
    "silent l",
}


def test_agreement_with_an_independent_american_dictionary(
    lexicon: Lexicon, variants: Variants
) -> None:
    """Frequent words whose entries differ after the swap: the dictionary in the package misaki.

    The policy agrees with it more often than the first entry does.
    """
    zipf_frequency = pytest.importorskip("wordfreq").zipf_frequency
    american = _misaki("us_gold.json")
    chosen = first = count = 0
    for word in american:
        entries = lexicon.entries(word)
        if len({swap_skeleton(entry) for entry in entries}) < 2 or zipf_frequency(word, "en") < 3:
            continue
        choice = variants.choose(word, entries, AMERICAN)
        if choice.rule in _ON_PURPOSE:
            continue
        count += 1
        chosen += swap_skeleton(entries[choice.position]) in american[word]
        first += swap_skeleton(entries[0]) in american[word]
    assert count > 500
    assert chosen / count > 0.85
    assert chosen > first


def test_agreement_with_an_independent_british_dictionary(
    lexicon: Lexicon, variants: Variants
) -> None:
    """British forms of frequent words: the dictionary in the package misaki.

    Without our British step far fewer words with t, d or n before u agree.
    """
    zipf_frequency = pytest.importorskip("wordfreq").zipf_frequency
    british = _misaki("gb_gold.json")
    agreed = american = count = 0
    for word in sorted(british):
        entries = lexicon.entries(word)
        if not entries or not any(f"{c}{v}" in word for c in "tdn" for v in ("u", "ew")):
            continue
        if zipf_frequency(word, "en") < 3.5:
            continue
        phones = entries[variants.choose(word, entries, BRITISH).position]
        local = variants.localize(word, phones, BRITISH)
        count += 1
        agreed += _no_r(accent_word(local, BRITISH, False)) in british[word]
        american += _no_r(accent_word(phones, BRITISH, False)) in british[word]
    assert count > 300
    assert agreed / count > 0.85
    assert agreed / count > american / count + 0.1


def _no_r(phones: Phones) -> tuple[str, ...]:
    """Consonants and vowel places after the accent step: here ER is the vowel alone."""
    return tuple("*" if phone.stress is not None else phone.symbol for phone in phones)


_SYMBOLS = (
    *("B", "D", "F", "HH", "K", "L", "M", "N", "P", "S", "T", "V", "Z", "DH", "NG", "G"),
    *("R", "T", "SH", "ZH", "T", "JH", "CH", "TH"),
)
_IPA = {
    **dict(
        zip(
            "bdfhklmnpstvzðŋɡɹɾʃʒʔʤʧθ",
            _SYMBOLS,
            strict=True,
        )
    ),
    "j": "Y",
    "w": "W",
}


def _misaki(name: str) -> dict[str, set[tuple[str, ...]]]:
    misaki = pytest.importorskip("misaki")
    import json

    path = Path(str(misaki.__file__)).parent / "data" / name
    vowels = set("AIOWYQiuæɑɔəɛɜɪʊʌᵊᵻaɒ")
    found: dict[str, set[tuple[str, ...]]] = {}
    for word, said in json.loads(path.read_text(encoding="utf-8")).items():
        for ipa in [said] if isinstance(said, str) else filter(None, said.values()):
            symbols = (_IPA.get(c) or ("*" if c in vowels else "") for c in ipa)
            found.setdefault(word, set()).add(tuple(filter(None, symbols)))
    return found
