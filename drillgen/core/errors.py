"""The errors that a user can mend.

Each message is one line and names the place and the mend. The faces turn any
`DrillgenError` into that line (and exit code 2 on the command line); other
exceptions are faults of ours.
"""

from __future__ import annotations


class DrillgenError(Exception):
    """Base of all errors that a user can mend."""


class InputError(DrillgenError):
    """The text, file or lexicon that was given can't be used."""

    @classmethod
    def at(cls, name: str, line: int, problem: str, mend: str) -> InputError:
        """An error at a line (from 1) of a named file."""
        return cls(f"{name}, line {line}: {problem}; {mend}")


class OptionError(DrillgenError):
    """An option has a value that we don't know."""


class OutputError(DrillgenError):
    """The result can't be written where it was asked for."""


class ResourceError(DrillgenError):
    """A file that belongs to the installation is missing."""
