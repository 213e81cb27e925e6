"""Text that can be printed anywhere: one line, nothing that has no shape."""

from __future__ import annotations

import re
import unicodedata
from typing import Final

_BIDI_CONTROLS: Final = "\u202a-\u202e\u2066-\u2069"
"""They reorder the text around them, ours too (Unicode Standard Annex 9)."""

_UNPRINTABLE: Final = re.compile(f"[\x00-\x08\x0e-\x1b\x7f\x80-\x84\x86-\x9f{_BIDI_CONTROLS}]")
_SPACE: Final = re.compile(r"\s+")
_SURROGATE: Final = re.compile("[\ud800-\udfff]")


def name_file(title: str) -> str:
    """A title as the stem of a file name: plain letters, figures and hyphens, or nothing.
    What is longer than 60 ends after a word.

    >>> name_file("Zoë’s day: 7 a.m.")
    'zoes-day-7-am'
    >>> name_file("A long day " * 6)
    'a-long-day-a-long-day-a-long-day-a-long-day-a-long-day-a'
    """
    plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode().lower()
    words = re.findall(r"[a-z0-9]+", re.sub(r"['.]", "", plain))
    stem = "-".join(words)
    return stem if len(stem) <= 60 else stem[:61].rpartition("-")[0] or stem[:60]


def clean(text: str) -> str:
    """One line of printable text: no control characters, single spaces.

    >>> clean("a\\x00b\\n  c")
    'ab c'
    """
    return squeeze(text).strip()


def squeeze(text: str) -> str:
    """The same with a space left at either end, for texts that are joined."""
    if text.isascii() and text.isprintable() and "  " not in text:
        return text
    return _SPACE.sub(" ", _SURROGATE.sub("\ufffd", _UNPRINTABLE.sub("", text)))
