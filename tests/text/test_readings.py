"""Numbers and signs by locale: tables of readings, and what a teacher is told about them."""

from __future__ import annotations

from pathlib import Path

import pytest

from drillgen.core.errors import OptionError
from drillgen.core.options import DrillOptions, Locale, parse_locale
from drillgen.core.values import Token
from drillgen.speech.pipeline import make_drill
from drillgen.speech.review import ask_questions
from drillgen.speech.text.tables import load_abbreviations
from drillgen.speech.text.tokens import Tokenizer

DATA = Path(__file__).parent / "data"
TOKENIZERS = {locale: Tokenizer(locale) for locale in Locale}


def read_rows(name: str) -> list[tuple[str, ...]]:
    lines = (DATA / name).read_text(encoding="utf-8").splitlines()
    return [tuple(line.split("\t")) for line in lines if line and not line.startswith("#")]


ROWS = [row for name in ("dev", "test", "edges") for row in read_rows(f"readings_{name}.tsv")]
PEERS = read_rows("peer_numbers.tsv")


def read(locale: Locale, text: str) -> tuple[Token, ...]:
    tokens = TOKENIZERS[locale].tokenize(text)
    assert "".join(token.text for token in tokens) == text
    return tokens


def find_fault(locale: Locale, row: tuple[str, ...]) -> str:
    """What is wrong with a reading, or nothing."""
    tokens = read(locale, row[2])
    said = " ".join(word for token in tokens for word in token.spoken)
    others = "|".join(" ".join(other) for token in tokens for other in token.other)
    right = said in row[3].split("|") and (len(row) == 4 or others == row[4])
    # What "?" marks is known to be read otherwise: when it no longer is, the mark goes.
    return "" if right != row[0].startswith("?") else f"{locale} {row}: {said!r}, or {others!r}"


@pytest.mark.parametrize("locale", Locale)
def test_readings(locale: Locale) -> None:
    """All rows of the tables; a test for each would take longer than its reading."""
    rows = [row for row in ROWS if row[1] in ("both", locale)]
    assert len(rows) > 500
    faults = [fault for row in rows if (fault := find_fault(locale, row))]
    assert not faults, "\n".join(faults)


def test_tables_are_large_and_have_negatives() -> None:
    assert len(ROWS) > 300
    assert sum(row[0].startswith("!") for row in ROWS) > 40
    assert sum(len(row) > 4 for row in ROWS) > 10


def test_notes_say_what_it_was_taken_for() -> None:
    notes = {token.text: token.note for token in read(Locale.EN_US, "(713) 555-0123 on 12/15")}
    assert notes["713"] == "a telephone number"
    assert notes["12/15"] == "a date, month first"
    assert notes["on"] == ""


def test_the_cases_of_kept_libraries() -> None:
    faults = []
    for name, text, words, why in PEERS:
        said = " ".join(word for token in read(Locale.EN_GB, text) for word in token.spoken)
        if (said != words) != bool(why):
            faults.append(f"{name} {text}: {said!r}, not {words!r} {why}")
    assert not faults, "\n".join(faults)


def test_open_readings_are_on_the_review_list() -> None:
    drill = make_drill("Rent is due on 3/4/2026.", DrillOptions(locale=Locale.EN_GB))
    (item,) = (item for item in drill.review if item.readings)
    assert item.word == "3/4/2026"
    assert item.doubtful
    assert item.readings == (
        "the third of april twenty twenty six",
        "the fourth of march twenty twenty six",
    )
    assert item.reason.startswith("Read as “the third of april twenty twenty six” (a date, day")
    assert not ask_questions([drill])


def test_names_of_speakers_ask_nothing() -> None:
    # "QOTD" may be letters or a word, but a label is not said.
    drill = make_drill("QOTD: Late?\nMJ: No.\nQOTD: Good.\nMJ: Fine.")
    assert drill.review == ()


def test_abbreviations_that_no_table_has_are_on_the_review_list() -> None:
    drill = make_drill("The old mill, pwr. off, was bur. by sand.")
    item = next(item for item in drill.review if item.word == "pwr")
    assert item.readings == ("P W R",)
    assert "Write it out" in item.reason
    assert not any(item.word == "sand" for item in drill.review)


def test_every_abbreviation_is_read_wherever_it_stands() -> None:
    for form in sorted(load_abbreviations()):
        for shape in (form, form.capitalize(), form.upper()):
            tokens = read(Locale.EN_GB, f"the {shape}. 3 {shape} Reed, {shape}, 4 {shape}.")
            assert any(token.spoken for token in tokens)


def test_the_locale_is_the_accents_unless_chosen() -> None:
    def say(options: DrillOptions) -> tuple[str, ...]:
        (phrase,) = make_drill("1-0.", options).phrases
        return phrase.tokens[0].spoken

    assert say(DrillOptions()) == ("one", "to", "nothing")
    assert say(DrillOptions(accent="non-rhotic")) == ("one", "nil")
    assert say(DrillOptions(locale=Locale.EN_GB)) == ("one", "nil")


@pytest.mark.parametrize("name", ["British", "en-gb", "EN_GB"])
def test_names_of_a_locale(name: str) -> None:
    assert parse_locale(name) is Locale.EN_GB


def test_an_unknown_locale_is_refused() -> None:
    with pytest.raises(OptionError, match="klingon"):
        parse_locale("klingon")
