"""The errors that a user can mend: what is wrong, where, and what to do about it.

The faces print any `DrillgenError` as one line (and the command line ends with exit
code 2); other exceptions are faults of ours.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from os import PathLike, fspath


class DrillgenError(Exception):
    """Base of all errors that a user can mend.

    >>> from drillgen.core.errors import InputError
    >>> print(InputError("'!' isn't a word", "write one", file="words.txt", line=3))
    words.txt, line 3: '!' isn't a word; write one
    """

    what: str
    """What is wrong, without a full stop."""

    mend: str
    """What to do about it; empty where `what` says it all."""

    file: str
    """The file, option or other place that it is wrong in; empty: the reader knows."""

    line: int
    """From 1; 0: no line."""

    column: int
    """From 1; 0: no column."""

    def __init__(
        self,
        what: str,
        mend: str = "",
        *,
        file: str | PathLike[str] = "",
        line: int = 0,
        column: int = 0,
    ) -> None:
        super().__init__(what, mend)
        self.what, self.mend = what, mend
        self.file, self.line, self.column = fspath(file), line, column

    @property
    def place(self) -> str:
        """File, line and column, as far as they are known."""
        parts = (
            self.file,
            f"line {self.line}" if self.line else "",
            f"column {self.column}" if self.column else "",
        )
        return ", ".join(part for part in parts if part)

    def __str__(self) -> str:
        """All of it in one line."""
        place = f"{self.place}: " if self.place else ""
        mend = f"; {self.mend}" if self.mend else ""
        return " ".join(f"{place}{self.what}{mend}".split())


class InputError(DrillgenError):
    """The text, file or lexicon that was given can't be used."""


class OptionError(DrillgenError):
    """An option has a value that we don't know."""


class OutputError(DrillgenError):
    """The result can't be written where it was asked for."""


class ResourceError(DrillgenError):
    """A file that belongs to the installation is missing."""


class ManyErrors(InputError):
    """Several at once, so that all can be mended in one go: a line each.

    >>> print(ManyErrors([InputError("no date"), InputError("no text", file="a.csv", line=2)]))
    no date
    a.csv, line 2: no text
    """

    errors: tuple[DrillgenError, ...]

    def __init__(self, errors: Sequence[DrillgenError]) -> None:
        super().__init__(f"{len(errors)} errors")
        self.errors = tuple(errors)

    def __str__(self) -> str:
        """A line for each."""
        return "\n".join(map(str, self.errors))


def raise_all(errors: Sequence[DrillgenError]) -> None:
    """Raise what was collected: nothing, one error, or ManyErrors."""
    if errors:
        raise errors[0] if len(errors) == 1 else ManyErrors(errors)


@contextmanager
def placed(file: str | PathLike[str], line: int = 0) -> Iterator[None]:
    """Errors from inside say where: who parses a word need not know of files."""
    try:
        yield
    except DrillgenError as error:
        error.file = error.file or fspath(file)
        error.line = error.line or line
        raise
