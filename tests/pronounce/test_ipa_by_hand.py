"""IPA sign by sign."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillgen.core.errors import InputError
from drillgen.core.phones import format_phones
from drillgen.speech.pronounce.ipa import parse_ipa

CASES = [
    line.split("\t")
    for line in (Path(__file__).parent / "data" / "ipa_spellings.tsv")
    .read_text(encoding="utf-8")
    .splitlines()
    if not line.startswith("#")
]


@pytest.mark.parametrize(
    ("ipa", "phones", "why"), CASES, ids=[f"{row[0]}: {row[2]}" for row in CASES]
)
def test_signs(ipa: str, phones: str, why: str) -> None:
    assert why
    assert format_phones(parse_ipa(ipa)) == phones


@given(st.text("bˈəʘ(/ ç", max_size=8), st.integers(1, 9))
def test_columns_count_from_where_it_begins(ipa: str, column: int) -> None:
    """The column of an error, in a line where the IPA begins later, is that much farther."""
    columns = []
    for first in (1, column):
        try:
            parse_ipa(ipa, column=first)
        except InputError as error:
            columns.append(error.column)
    if columns and columns[0]:
        assert columns[1] == columns[0] + column - 1
        at = (ipa + "\n")[columns[0] - 1]
        assert at in "ˈʘ(/ç"
