"""Files that belong to the installation: templates, corpora, models, tables.

In a checkout templates/ and corpora/ stand at the top; in a wheel they lie
under drillgen/_data/. This module alone knows both places.
"""

from __future__ import annotations

import gzip
from bisect import bisect_left
from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path

from drillgen.core.errors import ResourceError

_PACKAGE = Path(__file__).resolve().parent.parent


def resource_folder(name: str) -> Path:
    """The folder "templates" or "corpora". ResourceError if it is missing."""
    for folder in (_PACKAGE / "_data" / name, _PACKAGE.parent / name):
        if folder.is_dir():
            return folder
    raise ResourceError(f"the folder {name} of drillgen is missing", "install drillgen again")


def data_folder(name: str) -> Path:
    """A folder of drillgen/data/."""
    return _PACKAGE / "data" / name


def data_file(name: str) -> Path:
    """A file of drillgen/data/ (models and tables)."""
    path = _PACKAGE / "data" / name
    if not path.is_file():
        raise ResourceError(f"the file {name} of drillgen is missing", "install drillgen again")
    return path


def read_table(name: str) -> tuple[tuple[str, ...], ...]:
    """Rows of a tab-separated table in drillgen/data/ (.tsv or .tsv.gz).

    Empty lines and lines that start with # are left out.
    """
    path = data_file(name)
    raw = path.read_bytes()
    text = (gzip.decompress(raw) if path.suffix == ".gz" else raw).decode("utf-8")
    return tuple(tuple(line.split("\t")) for line in text.splitlines() if line and line[0] != "#")


def find_line(lines: Sequence[str], start: str) -> str | None:
    """What follows `start` on the first of sorted lines that begins so; None without one.

    >>> find_line(["quay 1", "tide 2"], "tide ")
    '2'
    """
    at = bisect_left(lines, start)
    found = at < len(lines) and lines[at].startswith(start)
    return lines[at][len(start) :] if found else None


def find_row(text: str, start: str) -> str | None:
    """The same for a text of sorted lines, which need not be cut into lines for it.

    >>> find_row("ebb 0\\nquay 1\\ntide 2\\n", "quay ")
    '1'
    """
    low, high = 0, len(text)
    while low < high:
        # Both are heads of lines; the line looked for is not before `low` nor behind `high`.
        head = text.rfind("\n", low, (low + high) // 2) + 1 or low
        end = text.find("\n", head) + 1 or len(text)
        if text[head:end] < start:
            low = end
        else:
            high = head
    if not text.startswith(start, low):
        return None
    end = text.find("\n", low)
    return text[low + len(start) : end if end >= 0 else len(text)]


@cache
def read_maps(name: str) -> Mapping[str, Mapping[str, str]]:
    """The maps of a table in drillgen/data/, whose rows are: name of the map, key, value."""
    maps: dict[str, dict[str, str]] = {}
    for kind, key, value in read_table(name):
        maps.setdefault(kind, {})[key] = value
    return maps


@cache
def load_frequencies() -> Mapping[str, float]:
    """Zipf frequency (log10 of uses in a thousand million words) of common words."""
    frequencies: dict[str, float] = {}
    for level, words in read_table("prompts_frequency.tsv.gz"):
        frequencies.update(dict.fromkeys(words.split(), float(level)))
    return frequencies
