"""Tables as spreadsheets save them: CSV with commas, semicolons or tabs between the cells."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator
from typing import Final

from drillgen.core.errors import InputError

ENDINGS: Final = (".csv", ".tsv")
TEXT_HEADS: Final = ("text", "texts", "word", "words", "name", "names", "sentence", "sentences")
"""What a column of texts or words is headed, in small letters."""


def iter_rows(text: str, name: str, *, strict: bool = False) -> Iterator[tuple[int, list[str]]]:
    """The rows of a table (RFC 4180) that have a filled cell: number of the last line, and cells.

    The sign that the first line has most stands between cells. InputError names `name` and line
    for what is no table; `strict`: also for letters after a closing quotation mark.
    """
    lines = text.removeprefix("\ufeff")
    first = lines.lstrip("\r\n").split("\n", 1)[0]
    comma = max(",;\t", key=first.count)
    reader = csv.reader(io.StringIO(lines, newline=""), delimiter=comma, strict=strict)
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                yield reader.line_num, [cell.strip() for cell in cells]
    except csv.Error as error:
        problem = f"not CSV ({error})"
        raise InputError(problem, "mend it", file=name, line=reader.line_num) from None


def write_rows(rows: Iterable[Iterable[object]]) -> str:
    """A table as CSV (RFC 4180)."""
    out = io.StringIO(newline="")
    csv.writer(out, lineterminator="\r\n").writerows(rows)
    return out.getvalue()


def read_column(text: str, name: str) -> str:
    """The texts of a table, a paragraph each: of its one column, or of that with such a head.

    InputError where it can't be told which column is meant.

    >>> read_column("Word;Meaning\\nboot;shoe\\nspoon;tool\\n", "words.csv")
    'boot\\n\\nspoon'
    """
    rows = [cells for _, cells in iter_rows(text, name)]
    headed = [i for i, cell in enumerate(rows[0] if rows else ()) if cell.lower() in TEXT_HEADS]
    if max(map(len, rows), default=1) > 1 and len(headed) != 1:
        problem = "a table of several columns"
        mend = "head the column to read with the word text, or keep that column alone"
        raise InputError(problem, mend, file=name, line=1)
    column = headed[0] if headed else 0
    return "\n\n".join(row[column] for row in rows[bool(headed) :] if row[column:])
