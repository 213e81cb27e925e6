"""Each rule of the policy for variants alone, and each regular British form."""

from __future__ import annotations

from pathlib import Path

import pytest

from drillgen.core.accents import load_accent
from drillgen.core.phones import format_phones, parse_phones
from drillgen.core.resources import read_table
from drillgen.speech.pronounce.variants import (
    FIRST_ENTRY,
    RULES,
    WORD_TABLE,
    Variants,
    choose_variant,
    local_form,
)

DATA = Path(__file__).parent / "data"
BRITISH = load_accent("non-rhotic")


def read(name: str) -> list[list[str]]:
    lines = (DATA / name).read_text(encoding="utf-8").splitlines()
    return [line.split("\t") for line in lines if not line.startswith("#")]


CONTESTS, FORMS = read("variant_contests.tsv"), read("local_forms.tsv")


@pytest.mark.parametrize(
    ("word", "accent", "one", "other", "rule", "why"),
    CONTESTS,
    ids=[f"{row[0]}: {row[5]}" for row in CONTESTS],
)
def test_contests(word: str, accent: str, one: str, other: str, rule: str, why: str) -> None:
    assert why
    entries = parse_phones(one), parse_phones(other)
    choice = choose_variant(word, entries, load_accent(accent))
    assert choice == (int(rule != FIRST_ENTRY), rule)
    if rule != FIRST_ENTRY:
        assert choose_variant(word, entries[::-1], load_accent(accent)) == (0, rule)


def test_every_rule_has_its_case() -> None:
    assert {row[4] for row in CONTESTS} == {*(rule.name for rule in RULES), FIRST_ENTRY}


def test_several_rules_and_several_entries() -> None:
    """Rule after rule, until one is left; the rule that decided is named."""
    said = ("HH W EH1 N S T", "W EH1 N S", "W EH1 N S T", "W EH1 N S T")
    entries = tuple(map(parse_phones, said))
    assert choose_variant("whenst", entries, BRITISH) == (2, "full form")
    assert choose_variant("whenst", entries[:1] + entries[2:3], BRITISH) == (1, "plain w")
    assert choose_variant("whenst", entries[2:], BRITISH) == (0, FIRST_ENTRY)
    table = {"whenst": entries[1]}
    assert choose_variant("whenst", entries, BRITISH, table) == (1, WORD_TABLE)
    assert choose_variant("whenst", entries[1:2], BRITISH, table) == (0, FIRST_ENTRY)
    assert Variants(table).choose("whenst", entries, BRITISH) == (1, WORD_TABLE)


@pytest.mark.parametrize(
    ("word", "forms", "american", "british", "why"), FORMS, ids=[f"{r[0]}: {r[4]}" for r in FORMS]
)
def test_local_forms(word: str, forms: str, american: str, british: str, why: str) -> None:
    wanted = [forms] if forms in BRITISH.forms else forms.split()
    assert why
    assert set(wanted) <= BRITISH.forms
    assert format_phones(local_form(word, parse_phones(american), wanted)) == british


def test_tables_of_an_accent_go_first() -> None:
    """In their order; else the regular form; and nothing for an accent without either."""
    variants = Variants.load()
    word, said, *_ = read_table(BRITISH.words[0])[0]
    assert variants.localize(word, parse_phones("T AE1"), BRITISH) == parse_phones(said)
    tune = parse_phones("T UW1 N Z")
    assert format_phones(variants.localize("tunez", tune, BRITISH)) == "T Y UW1 N Z"
    american = load_accent("rhotic")
    assert variants.localize(word, tune, american) is tune
    australian = load_accent("australian")
    assert len(australian.words) > 1
    first, second = ({row[0]: row[1] for row in read_table(name)} for name in australian.words[:2])
    both = sorted(set(first) & set(second))
    for word in (*both[:2], *sorted(set(second) - set(first))[:2]):
        own = parse_phones(first.get(word, second[word]))
        assert variants.localize(word, tune, australian) == own


def test_choices_of_the_installation() -> None:
    word, said, _ = read_table("variant_choices.tsv")[0]
    entries = parse_phones("T AE1"), parse_phones(said)
    assert Variants.load().choose(word, entries, BRITISH) == (1, WORD_TABLE)
