"""Linking: where the last sound of a word leads over to a vowel that begins the next one.

Cruttenden (2014), Gimson's Pronunciation of English, chapter 12, from memory: a final
consonant is joined to the vowel ("an‿apple"), and a close vowel glides over to it ("see‿it",
"go‿on"). In a drill every vowel may be a close one, so each vowel that meets a vowel is joined.
"""

from __future__ import annotations

from drillgen.core.values import Phones


def links(left: Phones, right: Phones) -> bool:
    """Whether a word is joined to the one that follows it in its phrase.

    `left` is in the accent: an /r/ that is said before a vowel only stands there.
    """
    return bool(left) and bool(right) and right[0].is_vowel
