"""Which words of a phrase are beats, and which one is its nucleus.

J. C. Wells (2006), English Intonation, chapter 3, and A. Cruttenden (1997), Intonation,
chapter 4, both from memory: lexical items and negatives have a beat, structure words none;
the nucleus is on the last lexical item, but passes over words that say little.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from drillgen.core.values import Grade, Token
from drillgen.speech.prosody.words import (
    AUXILIARIES,
    DETERMINERS,
    GIVEN,
    LIGHT,
    NEGATIVES,
    SUBJECTS,
)

_BEFORE_VERBS: Final = SUBJECTS | AUXILIARIES | {"to"}


def grade_phrase(tokens: Sequence[Token]) -> tuple[tuple[Grade, ...], ...]:
    """Per token of a phrase, the grade of each spoken word."""
    words = [word for token in tokens for word in token.spoken]
    grades = iter(grade_words(words))
    return tuple(tuple(next(grades) for _ in token.spoken) for token in tokens)


def grade_words(words: Sequence[str]) -> list[Grade]:
    """Grades of the spoken words of a phrase: one nucleus, if there is any word.

    >>> [grade.value for grade in grade_words("this is mine".split())]
    ['none', 'none', 'nucleus']
    >>> [grade.value for grade in grade_words("we don't like it".split())]
    ['none', 'beat', 'nucleus', 'none']
    """
    grades = [Grade.BEAT if has_beat(words, i) else Grade.NONE for i in range(len(words))]
    if words:
        grades[find_nucleus(words, grades)] = Grade.NUCLEUS
    return grades


def has_beat(words: Sequence[str], i: int) -> bool:
    """Whether a word is a lexical item or a negative."""
    word = words[i]
    if word.endswith("n't") or word in NEGATIVES:
        # "No boats": a determiner, but it turns the sentence round.
        return True
    if word == "like":
        before = words[i - 1] if i else ""
        return before in _BEFORE_VERBS or before.endswith("n't")
    return word not in LIGHT


def find_nucleus(words: Sequence[str], grades: Sequence[Grade]) -> int:
    """Place of the word that carries the tune."""
    beats = [i for i, grade in enumerate(grades) if grade is Grade.BEAT]
    full = [i for i in beats if words[i] not in GIVEN]
    if full:
        return full[-1]
    if beats:
        return beats[-1]
    return _find_light_nucleus(words)


def _find_light_nucleus(words: Sequence[str]) -> int:
    """Where only structure words are said: "it was YOU", "who IS it", "yes, we CAN"."""
    last = len(words) - 1
    if words[last] in SUBJECTS - {"you"} and last and words[last - 1] in AUXILIARIES:
        return last - 1
    for i in range(last, -1, -1):
        if words[i] not in DETERMINERS or i == last:
            return i
    return last
