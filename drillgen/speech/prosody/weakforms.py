"""Weak forms and linking, to be marked in the inflected delivery.

Connected speech has two habits that a chant has not: most function words are
said weakly, and a final consonant is joined to a vowel that follows. Both are
marks on the page; the respelling stays as it is.

Weak forms follow Roach (2009), English Phonetics and Phonology, chapter 12,
and Cruttenden (2014), Gimson's Pronunciation of English, chapter 11; linking
follows Cruttenden, chapter 12. All from memory. The mark is the IPA's linking
mark (absence of a break), U+203F.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final, NamedTuple

from drillgen.core.phones import parse_phones
from drillgen.core.resources import read_table
from drillgen.core.values import Phones

TABLE: Final = "weak_forms.tsv"

LINKING_MARK: Final = "‿"
"""IPA: linking (absence of a break)."""


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


class LinkKind(StrEnum):
    """How two words are joined."""

    CONSONANT = "consonant"
    """The last consonant begins the next word: an‿apple."""

    GLIDE = "glide"
    """A short [j] or [w] leads from one vowel to the next: see‿it, go‿on."""


class Link(NamedTuple):
    """A join between two words."""

    kind: LinkKind
    sound: str
    """ARPAbet symbol of the consonant or glide that joins."""


_GLIDES: Final = {
    **dict.fromkeys(("IY", "EY", "AY", "OY"), "Y"),
    **dict.fromkeys(("UW", "OW", "AW"), "W"),
}
"""The glide after each vowel that ends close; the others have none."""


def mark_links(words: Sequence[Phones]) -> tuple[Link | None, ...]:
    """How each word of a phrase is joined to the next; None where it isn't.

    `words` are the phones of the words of one phrase (nothing is joined over
    a pause). The result is one shorter. A word without phones joins nothing.

    >>> links = mark_links([parse_phones(p) for p in ("AH0 N", "AE1 P AH0 L", "T R IY1")])
    >>> [link and link.sound for link in links]
    ['N', None]
    """
    return tuple(_link(left, right) for left, right in itertools.pairwise(words))


def _link(left: Phones, right: Phones) -> Link | None:
    if not left or not right or not right[0].is_vowel:
        return None
    last = left[-1]
    if not last.is_vowel:
        # The velar nasal and h never begin an English syllable, but the
        # nasal is joined all the same: "sing‿it" (Cruttenden, chapter 12).
        return Link(LinkKind.CONSONANT, last.symbol)
    glide = _GLIDES.get(last.symbol)
    return Link(LinkKind.GLIDE, glide) if glide else None


def joins(left: Phones, right: Phones) -> bool:
    """Whether a word is joined to the one that follows it in the phrase."""
    return _link(left, right) is not None


def weak_positions(
    words: Sequence[str],
    forms: Mapping[str, WeakForm],
    tags: Sequence[str] | None = None,
) -> tuple[bool, ...]:
    """Which words of a phrase are said in their weak form.

    `words` are the words of one phrase, lower case, without marks; `tags`
    their Penn tags where they are known (they decide on "that" and "her").
    The last word of a phrase is strong, pronouns apart; so are prepositions
    and auxiliaries that have lost what they belong to ("the boat I came in
    on", "yes, we can"), and main verbs ("I have a boat").

    >>> forms = load_weak_forms()
    >>> weak_positions("she was looking for a boat".split(), forms)
    (True, True, False, True, True, False)
    >>> weak_positions("what are you looking for".split(), forms)
    (False, True, True, False, False)
    """
    if tags is not None and len(tags) != len(words):
        raise ValueError(f"{len(words)} words, but {len(tags)} tags")
    return tuple(
        word in forms and _is_weak(words, i, forms, tags[i] if tags else "")
        for i, word in enumerate(words)
    )


def _is_weak(words: Sequence[str], i: int, forms: Mapping[str, WeakForm], tag: str) -> bool:
    behaviour = forms[words[i]].behaviour
    if i == len(words) - 1:
        # "Ask him": a final pronoun is weak unless it is all there is.
        return behaviour is Behaviour.PRONOUN and i > 0
    before = words[i - 1] if i else ""
    after = words[i + 1]
    match behaviour:
        case Behaviour.PREPOSITION:
            return _keeps_object(words, i, forms)
        case Behaviour.AUXILIARY | Behaviour.BE:
            # "We can, and we will": the verb is left out.
            return after not in _CLAUSE_STARTS and after not in ("not", "too", "so")
        case Behaviour.HAVE:
            return _is_auxiliary_have(words, i)
        case Behaviour.DO:
            return after in _SUBJECTS and before not in _SUBJECTS
        case Behaviour.THAT:
            if tag:
                return tag in ("IN", "WDT")
            return i > 0 and (after in _SUBJECTS or after in _DETERMINERS)
        case Behaviour.THERE:
            return after in _BE_OR_MODAL
        case Behaviour.SOME:
            return after not in _BE_OR_MODAL and after not in ("of", "more")
        case Behaviour.RELATIVE:
            return i > 0 and before not in _CLAUSE_STARTS and before not in _ASKING
        case Behaviour.PRONOUN:
            # "He and she": coordinated pronouns carry stress.
            return after not in ("and", "or") and before not in ("and", "or")
        case Behaviour.CONJUNCTION:
            return i > 0 or words[i] in ("and", "but", "as")
        case _:
            return True


def _keeps_object(words: Sequence[str], i: int, forms: Mapping[str, WeakForm]) -> bool:
    """Whether a preposition stands before what it belongs to."""
    word, after = words[i], words[i + 1]
    if word == "to" and after in ("be", "have", "do"):
        return True
    if after in _BE_OR_MODAL or after in _CLAUSE_STARTS:
        return False
    # "To and from the island": coordinated prepositions carry stress.
    pair = words[i - 2] if i >= 2 and words[i - 1] in ("and", "or", "not") else ""
    return not (pair in forms and forms[pair].behaviour is Behaviour.PREPOSITION)


def _is_auxiliary_have(words: Sequence[str], i: int) -> bool:
    """Whether a participle follows: "have seen", "had they ever been"."""
    for word in words[i + 1 : i + 4]:
        if word in _PARTICIPLES or (len(word) > 4 and word.endswith(("ed", "en"))):
            return word not in _NO_PARTICIPLES
        if word not in _SUBJECTS and word not in _ADVERBS:
            return False
    return False


_SUBJECTS: Final = frozenset({"i", "you", "he", "she", "it", "we", "they", "there"})
_DETERMINERS: Final = frozenset(
    {"the", "a", "an", "my", "your", "his", "her", "its", "our", "their", "this", "these"}
)
_BE_OR_MODAL: Final = frozenset(
    (
        *("am", "is", "are", "was", "were", "be", "been", "has", "have", "had", "can", "could"),
        *("will", "would", "shall", "should", "must", "may", "might", "isn't", "aren't", "wasn't"),
    )
)
_CLAUSE_STARTS: Final = frozenset(
    {"and", "but", "or", "because", "when", "while", "if", "although", "though", "since", "so"}
)
_ASKING: Final = frozenset({"know", "knows", "knew", "ask", "asked", "wonder", "see", "guess"})
_ADVERBS: Final = frozenset(
    (
        *("not", "never", "always", "often", "ever", "already", "just", "also", "now", "only"),
        *("almost", "really", "long", "since", "still", "all", "both"),
    )
)
_PARTICIPLES: Final = frozenset(
    (
        *("been", "had", "done", "gone", "seen", "come", "become", "run", "made", "said", "told"),
        *(
            "heard",
            "found",
            "left",
            "lost",
            "met",
            "read",
            "sent",
            "set",
            "put",
            "cut",
            "let",
            "hit",
        ),
        *("kept", "slept", "felt", "meant", "brought", "bought", "caught", "taught", "thought"),
        *(
            "sought",
            "fought",
            "built",
            "paid",
            "laid",
            "led",
            "held",
            "stood",
            "understood",
            "sat",
        ),
        *("won", "sung", "begun", "drunk", "swum", "hung", "known", "grown", "shown", "flown"),
        *(
            "blown",
            "thrown",
            "drawn",
            "worn",
            "torn",
            "born",
            "sold",
            "got",
            "lit",
            "learnt",
            "sewn",
        ),
        *("lent", "spent", "bent", "dealt", "shut", "cost", "hurt", "spread", "stuck", "struck"),
        *("given", "eaten", "risen", "woken"),
    )
)
_NO_PARTICIPLES: Final = frozenset(
    (
        *(
            "seven",
            "eleven",
            "children",
            "women",
            "kitchen",
            "garden",
            "golden",
            "wooden",
            "hundred",
        ),
        *("linen", "oven", "sudden", "indeed", "speed", "seaweed", "green", "queen", "screen"),
    )
)
"""Words in -en and -ed that are no participles."""
