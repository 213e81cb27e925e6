"""Aligned columns in plain characters."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
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
    """Columns grouped into bands no wider than `width`, in order.

    A column is as wide as its widest cell; `gap` cells part two columns. One
    that is wider than a band stands alone: cutting it would hide what it says.
    """
    band: list[Sequence[str]] = []
    used = 0
    for column in columns:
        needed = max(map(width_of, column)) + gap
        if band and used + needed > width:
            yield band
            band, used = [], 0
        band.append(column)
        used += needed
    if band:
        yield band
