"""The edges of each rule for words, numbers and signs: what it takes in and what it leaves.

The rows of data/rules_*.tsv show all of a token that is not plain: its text, how it is said, what
else it could be, and what it was taken for. `python tools/show_rules.py` prints the rows that a
changed rule shows otherwise.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from show_rules import FILES, read_rows, show

from drillgen.core.options import Locale

# Hundreds of rows in one test: as tests of their own they would take ten times as long.
each_table = pytest.mark.parametrize("path", FILES, ids=[path.stem for path in FILES])
each_locale = pytest.mark.parametrize("locale", Locale)


@each_locale
@each_table
def test_rules(path: Path, locale: Locale) -> None:
    rows = read_rows(path, locale)
    assert len(rows) > 80
    said = [(label, text, show(locale, text)) for label, text, _ in rows]
    wrong = [
        (*row, shown) for row, (_, _, shown) in zip(said, rows, strict=True) if row[2] != shown
    ]
    assert not wrong


@each_locale
@each_table
def test_other_paragraphs_change_nothing(path: Path, locale: Locale) -> None:
    """A text is read alike alone and in the middle of a longer one."""
    rows = read_rows(path, locale)
    said = [show(locale, f"Boats came.\n\n{text}\n\nBoats came.") for _, text, _ in rows]
    wrong = [(row[0], now) for row, now in zip(rows, said, strict=True) if row[2] != now]
    assert not wrong
