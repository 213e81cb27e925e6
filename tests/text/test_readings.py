"""Numbers and signs by locale: tables of readings, and what a teacher is told about them."""

from __future__ import annotations

from pathlib import Path

import pytest

from drillgen.core.options import Locale
from drillgen.core.values import Token
from drillgen.speech.text.tokens import Tokenizer

DATA = Path(__file__).parent / "data"
TOKENIZERS = {locale: Tokenizer(locale) for locale in Locale}
ROWS = [
    tuple(line.split("\t"))
    for name in ("readings_dev.tsv", "readings_test.tsv")
    for line in (DATA / name).read_text(encoding="utf-8").splitlines()
    if line and not line.startswith("#")
]
CASES = [(locale, row) for row in ROWS for locale in Locale if row[1] in ("both", locale)]


def read(locale: Locale, text: str) -> tuple[Token, ...]:
    tokens = TOKENIZERS[locale].tokenize(text)
    assert "".join(token.text for token in tokens) == text
    return tokens


@pytest.mark.parametrize(("locale", "row"), CASES, ids=[f"{a} {b[0]}" for a, b in CASES])
def test_readings(locale: Locale, row: tuple[str, ...], request: pytest.FixtureRequest) -> None:
    label, _, text, expected = row[:4]
    if label.startswith("?"):
        request.applymarker(pytest.mark.xfail(reason="known to be read otherwise", strict=True))
    tokens = read(locale, text)
    assert " ".join(word for token in tokens for word in token.spoken) in expected.split("|")
    if len(row) > 4:
        others = [" ".join(other) for token in tokens for other in token.other]
        assert others == row[4].split("|")


def test_tables_are_large_and_have_negatives() -> None:
    assert len(ROWS) > 300
    assert sum(row[0].startswith("!") for row in ROWS) > 40
    assert sum(len(row) > 4 for row in ROWS) > 10


def test_notes_say_what_it_was_taken_for() -> None:
    notes = {token.text: token.note for token in read(Locale.EN_US, "(713) 555-0123 on 12/15")}
    assert notes["713"] == "a telephone number"
    assert notes["12/15"] == "a date, month first"
    assert notes["on"] == ""
