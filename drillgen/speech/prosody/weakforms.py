"""Weak forms, to be marked in the inflected delivery: most function words are said lightly.

After Roach (2009), English Phonetics and Phonology, chapter 12, and Cruttenden (2014),
Gimson's Pronunciation of English, chapter 11, both from memory. Parts of speech decide where
a spelling is several words: "that", "will", "might", "have".
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from drillgen.core.phones import parse_phones
from drillgen.core.resources import read_table
from drillgen.core.values import Phones
from drillgen.speech.prosody.row import Row
from drillgen.speech.prosody.words import BE, HAVE, MODALS, SUBJECTS

TABLE: Final = "weak_forms.tsv"


class Behaviour(StrEnum):
    """Which rule says whether a function word is weak."""

    ARTICLE = "article"
    CONJUNCTION = "conjunction"
    THAT = "that"
    PREPOSITION = "preposition"
    PRONOUN = "pronoun"
    POSSESSIVE = "possessive"
    RELATIVE = "relative"
    SOME = "some"
    THERE = "there"
    ADVERB = "adverb"
    AUXILIARY = "auxiliary"
    HAVE = "have"
    DO = "do"
    BE = "be"


@dataclass(frozen=True, slots=True)
class WeakForm:
    """A function word with a strong and a weak pronunciation."""

    word: str
    strong: Phones
    weak: Phones
    behaviour: Behaviour


def load_weak_forms() -> Mapping[str, WeakForm]:
    """The table that ships with drillgen, by word."""
    return {
        word: WeakForm(word, parse_phones(strong), parse_phones(weak), Behaviour(behaviour))
        for word, strong, weak, behaviour, _ in read_table(TABLE)
    }


def weak_positions(row: Row, start: int, end: int, forms: Mapping[str, WeakForm]) -> list[bool]:
    """Which words start..end of a phrase are said in their weak form, unless they have a beat.

    The last word of a phrase is strong, pronouns apart, and so are
    prepositions and auxiliaries that have lost what they belong to ("the boat I came in on",
    "yes, we can"), and main verbs ("I have a boat").
    """
    words, tags = row.words[start:end], row.tags[start:end]
    return [word in forms and _is_weak(words, tags, i, forms) for i, word in enumerate(words)]


def _is_weak(
    words: Sequence[str], tags: Sequence[str], i: int, forms: Mapping[str, WeakForm]
) -> bool:
    behaviour = forms[words[i]].behaviour
    if i == len(words) - 1:
        # "Ask him": a final pronoun is weak unless it is all there is.
        return behaviour is Behaviour.PRONOUN and i > 0
    before = words[i - 1] if i else ""
    after, tag = words[i + 1], tags[i]
    match behaviour:
        case Behaviour.PREPOSITION:
            return _keeps_object(words, tags, i, forms)
        case Behaviour.AUXILIARY:
            # "Political will" is a noun; "we can, and we will": the verb is left out.
            return tag == "MD" and after not in CLAUSE_STARTS and after not in ("not", "too", "so")
        case Behaviour.BE:
            return after not in CLAUSE_STARTS and after not in ("not", "too", "so")
        case Behaviour.HAVE:
            return _is_auxiliary_have(words, tags, i)
        case Behaviour.DO:
            # "Do it", "I tried to do it": the main verb.
            main = words[i] == "do" and (after == "it" or before == "to" or before in MODALS)
            main |= before in SUBJECTS
            return after in SUBJECTS and not main
        case Behaviour.THAT:
            relative = tags[i - 1] in ("NN", "NNS") and tags[i + 1] in _FINITE
            # "The problem is that ..."
            says = before in BE and i > 1 and tags[i - 2] == "NN" and tags[i + 1] in _OPENERS
            # "Do you see that great tree": no clause follows.
            shows = tags[i + 1] in ("JJ", "NN") and _FINITE.isdisjoint(tags[i + 2 :])
            return (tag in ("IN", "WDT") and not shows) or (i > 0 and (relative or says))
        case Behaviour.THERE:
            return tag == "EX" or after in BE or after in MODALS
        case Behaviour.SOME:
            return after not in BE | MODALS | HAVE and after not in ("of", "more")
        case Behaviour.RELATIVE:
            return i > 0 and before not in CLAUSE_STARTS and before not in _ASKING
        case Behaviour.PRONOUN:
            # "He and she": coordinated pronouns carry stress.
            return after not in ("and", "or") and before not in ("and", "or")
        case Behaviour.CONJUNCTION:
            return i > 0 or words[i] in ("and", "but", "as", "than")
        case _:
            return True


def _keeps_object(
    words: Sequence[str], tags: Sequence[str], i: int, forms: Mapping[str, WeakForm]
) -> bool:
    """Whether a preposition stands before what it belongs to."""
    word, after = words[i], words[i + 1]
    if word == "to" and after in ("be", "have", "do"):
        return True
    if after in CLAUSE_STARTS or tags[i + 1] == "MD" or after in BE | HAVE:
        return False
    # "To and from the island": coordinated prepositions carry stress.
    pair = words[i - 2] if i >= 2 and words[i - 1] in ("and", "or", "not") else ""
    return not (pair in forms and forms[pair].behaviour is Behaviour.PREPOSITION)


def _is_auxiliary_have(words: Sequence[str], tags: Sequence[str], i: int) -> bool:
    """Whether a participle follows: "have seen", "had they ever been"."""
    for word, tag in zip(words[i + 1 : i + 4], tags[i + 1 : i + 4], strict=True):
        if tag in ("VBN", "VBD"):
            return True
        if tag != "RB" and word not in SUBJECTS and word not in ("all", "both"):
            return False
    return False


_OPENERS: Final = frozenset({"PRP", "NNS", "NNP", "DT", "PRP$", "EX"})
_FINITE: Final = frozenset({"VBZ", "VBP", "VBD", "MD"})
CLAUSE_STARTS: Final = frozenset(
    {"and", "but", "or", "because", "when", "while", "if", "although", "though", "since", "so"}
)
_ASKING: Final = frozenset({"know", "knows", "knew", "ask", "asked", "wonder", "see", "guess"})
