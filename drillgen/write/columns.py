"""Aligned columns in plain characters."""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from typing import Final

_FLAG: Final = re.compile("[\U0001f1e6-\U0001f1ff]{2}")


def width_of(text: str) -> int:
    """Terminal cells that a text takes: wide characters two, combining marks none.

    Unicode Standard Annex 11, as the package wcwidth has it.

    >>> width_of("quay"), width_of("港"), width_of("🇩🇪")
    (4, 2, 2)
    """
    if text.isascii():
        return len(text)
    from wcwidth import wcswidth

    # The package looks back over all the flags before one; a flag is as wide as this sign.
    width: int = wcswidth(_FLAG.sub("茶", text))
    # -1: an unprintable character that we let through; count characters then.
    return width if width >= 0 else len(text)


def pack_columns(
    columns: Iterable[Sequence[str]], width: int, *, gap: int = 2
) -> Iterator[list[Sequence[str]]]:
    """Columns grouped into as few bands no wider than `width` as can be, in order, the widest as
    narrow as can be: no word stands alone below a full line.

    A column is as wide as its widest cell; `gap` cells part two columns. One
    that is wider than a band stands alone: cutting it would hide what it says.
    """
    row = list(columns)
    needed = [max(map(width_of, column)) + gap for column in row]
    starts = _fill(needed, width)
    narrowest = range(max(needed, default=0), width)
    limit = bisect_left(narrowest, -len(starts), key=lambda limit: -len(_fill(needed, limit)))
    if limit < len(narrowest):
        starts = _fill(needed, narrowest[limit])
    for start, end in pairwise([*starts, len(row)]):
        yield row[start:end]


def _fill(needed: Sequence[int], width: int) -> list[int]:
    """The columns that begin a band, each band as full as can be."""
    starts, used = [], width + 1
    for i, cells in enumerate(needed):
        if used + cells > width:
            starts.append(i)
            used = 0
        used += cells
    return starts
