"""Tokens: a table of forms, and what must hold for any text."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import regex  # type: ignore[import-untyped]
from hypothesis import given, settings
from hypothesis import strategies as st
from num2words import num2words

from drillgen.core.options import Locale
from drillgen.core.values import TokenKind
from drillgen.speech.text.numerals import Numerals, split_words
from drillgen.speech.text.tables import load_tables
from drillgen.speech.text.tokens import Tokenizer

DATA = Path(__file__).parent / "data"
SAYABLE = re.compile(r"(?=.*[a-z])[a-z']+|[a-z]\.('s)?")
TOKENIZER = Tokenizer(Locale.EN_GB)
SAY = Numerals(Locale.EN_GB)
KINDS = {"w": TokenKind.WORD, "n": TokenKind.NUMBER}


def read_cases(name: str) -> list[tuple[str, ...]]:
    rows = []
    for line in (DATA / name).read_text(encoding="utf-8").splitlines():
        if line and not line.startswith("#"):
            row = re.sub(r"\\u[0-9a-f]{4}|\\n", lambda m: _unescape(m[0]), line).split("\t")
            rows.append(tuple(row))
    return rows


def _unescape(mark: str) -> str:
    return "\n" if mark == "\\n" else chr(int(mark[2:], 16))


CASES = read_cases("tokens.tsv")


@pytest.mark.parametrize("case", CASES, ids=[case[0] for case in CASES])
def test_spoken_words(case: tuple[str, ...]) -> None:
    _, text, spoken, kinds = (*case, "", "")[:4]
    said = [token for token in TOKENIZER.tokenize(text) if token.spoken]
    assert " ".join("_".join(token.spoken) for token in said) == spoken
    assert [token.kind for token in said] == [KINDS[kind] for kind in kinds]


def test_table_has_negatives() -> None:
    assert len(CASES) > 130
    assert sum(case[0].startswith("!") for case in CASES) > 20


PIECES = [
    *"aAbIVXs.,;:!?-–—'’‘\"()/0159 \n\t£$€%&@#+=*_~½¾²°\u200d\ufe0f\u0301\u00ad\ud800é😀",
    *("Dr", "St", "No", "Nov", "pm", "a.m.", "km", "in", "BC", "US", "million", "\r\n"),
    *("\n\n", "Henry", "EUR", "3:30", "$5", "5-10", "1/2", "http://", "www.", "ii"),
    *(" - ", " – ", "May", "Mon", "9:30", "min", "3/4", "30s", "1h", "07m", "John", "1 Cor."),
    *("A$", "oz.", "6th", "23-24", "8k", "Sat:", "noon", "c.", "1850", "2x4", "wickets", "APR"),
]
ANY_TEXT = st.text(st.characters(exclude_categories=())) | st.lists(
    st.sampled_from(PIECES), max_size=30
).map("".join)


@settings(max_examples=300, derandomize=True, deadline=None)
@given(ANY_TEXT)
def test_any_text_is_kept(text: str) -> None:
    tokens = TOKENIZER.tokenize(text)
    assert "".join(token.text for token in tokens) == text
    position = 0
    for token in tokens:
        assert token.text
        assert (token.start, token.end) == (position, position + len(token.text))
        position = token.end
        assert all(SAYABLE.fullmatch(word) for word in token.spoken), token
        assert not token.spoken or token.kind in (TokenKind.WORD, TokenKind.NUMBER)
    assert tokens == Tokenizer(Locale.EN_GB).tokenize(text)


@settings(max_examples=100, derandomize=True, deadline=None)
@given(ANY_TEXT, st.integers(0, 10**9))
def test_start_moves_the_offsets_only(text: str, start: int) -> None:
    moved = TOKENIZER.tokenize(text, start)
    plain = TOKENIZER.tokenize(text)
    assert [
        token._replace(start=token.start - start, end=token.end - start) for token in moved
    ] == [*plain]


CLUSTERS = [
    *"abé \u0301\u0308👩👧🏽\u200d\ufe0f🇬🇧\n.1각ก\u0e33",
    "\r\n",
    "नमस्ते",
    "👩‍👩‍👧",
    "Zoe\u0308",
]


@settings(max_examples=200, derandomize=True, deadline=None)
@given(st.lists(st.sampled_from(CLUSTERS), max_size=20).map("".join))
def test_no_boundary_inside_a_grapheme_cluster(text: str) -> None:
    """Unicode UAX #29, extended grapheme clusters, as the package regex finds them (\\X)."""
    inside = set(range(len(text) + 1)) - {0} - {m.end() for m in regex.finditer(r"\X", text)}
    cut = {token.end for token in TOKENIZER.tokenize(text)}
    # White space with a mark on it is still a place between words for us.
    cut = {place for place in cut if not text[place - 1].isspace()}
    assert not cut & inside


@settings(max_examples=150, derandomize=True, deadline=None)
@given(st.integers(-(10**14), 10**14))
def test_cardinals_are_those_of_num2words(value: int) -> None:
    expected = split_words(num2words(value))
    assert SAY.amount(f"{value:,}") == expected
    tokens = [token for token in TOKENIZER.tokenize(f"x {value:,} y") if token.spoken]
    assert tokens[1].spoken == expected


@settings(max_examples=100, derandomize=True, deadline=None)
@given(st.integers(1, 9999))
def test_ordinals_and_years_are_those_of_num2words(value: int) -> None:
    assert SAY.integer(value, "ordinal") == split_words(num2words(value, to="ordinal"))
    assert SAY.integer(value, "year") == split_words(num2words(value, to="year"))


def test_american_numbers_have_no_and() -> None:
    american = Tokenizer()
    assert american.locale is Locale.EN_US
    (said,) = (token.spoken for token in american.tokenize("3,103"))
    assert said == ("three", "thousand", "one", "hundred", "three")


def test_equal_words_share_one_tuple() -> None:
    tokens = TOKENIZER.tokenize("tide tide")
    assert tokens[0].spoken is tokens[2].spoken


def test_si_symbols() -> None:
    """Symbols from the SI brochure (BIPM 2019), tables 2, 4 and 8, and prefixes of table 7."""
    units = load_tables().units
    for symbol, name in {
        "m": "meter",
        "kg": "kilogram",
        "s": "second",
        "Hz": "hertz",
        "N": "newton",
        "Pa": "pascal",
        "J": "joule",
        "W": "watt",
        "V": "volt",
        "Ω": "ohm",
        "min": "minute",
        "h": "hour",
        "ha": "hectare",
        "dB": "decibel",
    }.items():
        assert units[symbol].one == (name,)
    assert "KG" not in units
    assert "KM" not in units


def test_currency_codes() -> None:
    """ISO 4217: three capitals; the code of a sign names the same currency."""
    currencies = load_tables().currencies
    codes = [key for key in currencies if key.isalpha() and key.isascii()]
    assert len(codes) > 20
    assert all(re.fullmatch("[A-Z]{3}", code) for code in codes)
    for sign, code in {"$": "USD", "£": "GBP", "€": "EUR", "¥": "JPY", "₹": "INR"}.items():
        assert currencies[sign] == currencies[code]


HOSTILE = ["-", "a.", "1,", "'", "a'", "1-", "1/", "@a", "a@a.", "(", "www.", "½", "a\u0301", "7 "]


@pytest.mark.parametrize("unit", HOSTILE)
def test_hostile_input_is_kept(unit: str) -> None:
    """bench/text.py shows that the time is linear; here they must only come out whole."""
    text = unit * 3000
    assert "".join(token.text for token in TOKENIZER.tokenize(text)) == text
