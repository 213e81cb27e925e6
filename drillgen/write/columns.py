"""Aligned columns in plain characters."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence


def width_of(text: str) -> int:
    """Terminal cells that a text takes: wide characters two, combining marks none.

    Unicode Standard Annex 11, as the package wcwidth has it.

    >>> width_of("quay"), width_of("港")
    (4, 2)
    """
    if text.isascii():
        return len(text)
    from wcwidth import wcswidth

    width: int = wcswidth(text)
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
