"""Texts in any usual encoding are read, what was guessed is said, and the rest is refused."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillgen.core.errors import InputError
from drillgen.core.sources import decode_text, read_data

LINE = "“It’s a naïve idea,” she said — and Zoë laughed at the fiancé."


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-32"])
def test_byte_order_marks(encoding: str) -> None:
    """The Unicode Standard, section 23.8: FF FE 00 00 is UTF-32, though it begins as UTF-16."""
    assert decode_text(LINE.encode(encoding), "x") == LINE


@pytest.mark.parametrize("text", [LINE, "The café.", "He’s late.", "The façade’s œuvre…"])
@pytest.mark.parametrize("encoding", ["cp1252", "mac_roman", "utf-16-le", "utf-16-be"])
def test_guesses_are_said(text: str, encoding: str) -> None:
    told: list[str] = []
    assert decode_text(text.encode(encoding), "x.txt", tell=told.append) == text
    assert len(told) == (not all(ord(c) < 128 for c in text) or encoding[:3] == "utf")
    assert all(line.startswith("x.txt is not UTF-8; read as ") for line in told)


def test_nothing_is_guessed_in_silence() -> None:
    with pytest.raises(InputError, match=r"x, line 1: not in utf-8"):
        decode_text(LINE.encode("cp1252"), "x")


def test_an_encoding_that_was_given_is_kept_to() -> None:
    told: list[str] = []
    with pytest.raises(InputError, match=r"line 2: not in ascii"):
        decode_text(f"a\n{LINE}".encode(), "x", "ascii", told.append)
    assert not told


@pytest.mark.parametrize("name", ["punycode", "undefined", "base64", "klingon", "a\0b", "idna"])
def test_odd_encodings(name: str) -> None:
    with pytest.raises(InputError) as caught:
        decode_text(LINE.encode(), "x", name)
    assert caught.value.mend


@pytest.mark.parametrize("sign", ["\u00ad", "\u200b", "\u2060", "\ufeff"])
def test_signs_without_a_shape_are_no_letters(sign: str) -> None:
    """Pasted from web pages; joiners of emoji stay (UTS #51)."""
    text = f"{sign}We wal{sign}ked at 3{sign}:30{sign}. 👩‍🎤"
    assert read_data(text.encode(), "x").text == "We walked at 3:30. 👩‍🎤"


@given(st.binary(max_size=80))
@settings(max_examples=200, derandomize=True, deadline=None)
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    told: list[str] = []
    try:
        text = decode_text(data, "x", tell=told.append)
    except InputError as error:
        text = error.what
    assert text.strip()
    assert "\0" not in text
