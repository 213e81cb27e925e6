"""Tables as spreadsheets save them."""

from __future__ import annotations

from pathlib import Path

import pytest

from drillgen.core.errors import InputError
from drillgen.core.sources import read_passage
from drillgen.core.tables import iter_rows, read_column


@pytest.mark.parametrize("comma", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_rows_as_spreadsheets_write_them(comma: str, end: str, mark: str) -> None:
    """RFC 4180, and what differs by country: the sign between the cells."""
    quoted = f'"one{comma} two"'
    text = mark + end.join([f"a{comma}b", f"{comma}", f" c {comma}{quoted}", ""])
    assert list(iter_rows(text, "t")) == [(1, ["a", "b"]), (3, ["c", f"one{comma} two"])]


def test_what_is_no_table_names_its_line() -> None:
    with pytest.raises(InputError, match="t, line 2: not CSV"):
        list(iter_rows('a,b\n"c"d,e\n', "t", strict=True))


@pytest.mark.parametrize(
    ("table", "text"),
    [
        ("boot\r\ngoose\r\n", "boot\n\ngoose"),
        ("Word\nboot\ngoose\n", "boot\n\ngoose"),
        ("Meaning;Word\nshoe;boot\nbird;goose\n", "boot\n\ngoose"),
        ("id\tsentence\n1\tWell, I see.\n2\n", "Well, I see."),
        ('"Well, I see."\n', "Well, I see."),
        ("words\n", ""),
        ("", ""),
    ],
)
def test_the_column_of_texts(table: str, text: str) -> None:
    assert read_column(table, "t.csv") == text


@pytest.mark.parametrize("table", ["boot,shoe\n", "word,sentence\nboot,A boot.\n"])
def test_a_column_that_can_not_be_told(table: str) -> None:
    with pytest.raises(InputError, match=r"t\.csv, line 1: a table of several columns; head the"):
        read_column(table, "t.csv")


def test_a_table_is_a_text(tmp_path: Path) -> None:
    path = tmp_path / "words.csv"
    path.write_bytes("Word;Note\nboot;caf\u00e9\nspoon;\n".encode("cp1252"))
    assert read_passage(path, None, lambda _: None).text == "boot\n\nspoon"
