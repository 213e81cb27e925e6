"""Letters that Unicode does not decompose, as English readers take them."""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

_SMALL: Final = {"æ": "ae", "œ": "oe", "ø": "o", "đ": "d", "ð": "th", "þ": "th", "ł": "l"} | {
    "ħ": "h",
    "ŋ": "ng",
    "ə": "e",
}
FOLDS: Final = MappingProxyType(
    {ord(letter): plain for letter, plain in _SMALL.items()}
    | {ord(letter.upper()): plain.upper() for letter, plain in _SMALL.items()}
    | {ord(mark): "'" for mark in "’‘ʼ＇"}
    | {ord("ß"): "ss", ord("ẞ"): "SS", ord("ı"): "i", ord("ĸ"): "k", ord("ʻ"): ""}
)
"""A table for str.translate: ligatures, barred and lost letters, apostrophes as one; the okina
(a letter that nobody hears) goes."""
