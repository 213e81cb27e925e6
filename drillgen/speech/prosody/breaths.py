"""Where one breath group ends and the next begins.

The network says where readers pause; syntax says where nobody does. What belongs together
(Wells 2006, section 5.3, and Cruttenden 1997, section 3.2, both from memory: a boundary falls
between constituents, not inside a group of words): a verb and its particle, an article or a
preposition and its noun, an auxiliary and its verb, the parts of a name.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from drillgen.core.options import BREATH
from drillgen.speech.prosody.row import Row
from drillgen.speech.prosody.words import (
    AUXILIARIES,
    BE,
    CLAUSE_WORDS,
    CLINGING,
    CONTRACTED,
    DEGREES,
    INDEFINITE,
    OBJECTS,
    PARTICLES,
    PREPOSITIONS,
    SUBJECTS,
    WH,
    members,
)

NEVER: Final = 99.0
LIKELY: Final = 0.42
"""Readers pause where the network is at least so sure. Chosen, with what a short group costs
and a mark adds, on training sentences with a look at the development part; F1 is flat
around it."""

_SURE: Final = 0.7
"""Where the network is so sure, no relative clause begins."""

_SHORT: Final = 1.0
"""What a group of one word costs."""

_MARKED: Final = 0.6
"""What a mark adds: a break stands sooner at a comma than a word behind it."""

_SPLICED: Final = 1.0
"""What a comma between two sentences is worth at least."""

_LONG: Final = 0.014
"""What the square of the syllables beyond a breath costs: a few do no harm."""

_FAR: Final = 6
_TOO_LONG: Final = 0.15
"""The same for the syllables beyond _FAR more: nobody has the breath."""

_FRONTED: Final = -0.8
"""What a subject binds that follows a clause or phrase in front of its own."""

_UNDONE: Final = -4.0
"""A place that is less likely is not looked at, unless the group is too long."""

_NOUNS: Final = frozenset({"NN", "NNS", "NNP", "NNPS"})
_MODIFIERS: Final = frozenset({"JJ", "JJR", "JJS", "CD", "DT", "PRP$", "NN", "NNP"})
_VERBS: Final = frozenset({"VB", "VBD", "VBG", "VBN", "VBP", "VBZ", "MD"})
_ACTS: Final = _VERBS | {"RP"}
_PARTNERS: Final = {
    "NN": (["NN"], ["NNS"]),
    "NNS": (["NNS"], ["NN"]),
    "NNP": (["NNP"],),
    "JJ": (["JJ"],),
    "RB": (["RB"],),
}
"""Words of which a pair holds together around "and"."""

_COUNTED: Final = frozenset({"NN", "NNS", "JJ", "CD"})
_PRAISE: Final = (["JJ", "NN"], ["JJ", "NNS"], ["JJ", "JJ"])
_SUBJECT: Final = (["PRP"], ["DT"], ["PRP$"], ["EX"])
_HOW: Final = (["JJ"], ["RB"])
_BEFORE_SO: Final = CLAUSE_WORDS | {"not", "just", "even", "if", "ever"}
_NAMES: Final = frozenset({"NNP", "NNPS"})
_CLOSERS: Final = _NOUNS | {"JJ", "RB", "RP", "CD", "VBN"}
"""What may end a clause or phrase in front: "if possible | I wait"."""


def bind(row: Row, i: int) -> float:
    """How tightly a word is bound to the next one: 0 not at all, NEVER parted.

    In one piece because the first rule that fits decides.
    """
    words, tags = row.words, row.tags
    left, right = words[i], words[i + 1]
    before, after = tags[i], tags[i + 1]
    if row.tokens[i + 1] - row.tokens[i] < 2:
        # Not even a space between them.
        return NEVER
    if right in OBJECTS and before != "RB" and left not in CLAUSE_WORDS:
        # "Ask him"; but "you" may also open a clause.
        return NEVER if right not in ("you", "it", "her") or before in _VERBS | {"IN"} else 2.0
    if right == "so" and tags[i + 2 : i + 3] in _SUBJECT and left not in _BEFORE_SO:
        # "We ate alone | so I left"
        return 0.0
    if right in DEGREES | {"so"} and before in _VERBS and tags[i + 2 : i + 3] in _HOW:
        # "Work so hard"
        return NEVER
    if _clings(row, i) or (before in _NOUNS and left.endswith(("'s", "s'"))):
        return NEVER
    if right in PARTICLES and (after == "RP" or before in _VERBS) and not _opens(row, i + 1):
        return NEVER
    if right in ("of", "not", "ago", "else", "too", "enough", "either", "o'clock", "'s"):
        return NEVER if right != "of" or left in members("before_of") else 2.0
    if (right == "to" and left in members("before_to")) or (
        right in PREPOSITIONS and {*words[i + 2 : i + 3]} & WH and left in PARTICLES
    ):
        # "Come back to when we met"
        return NEVER
    if right == "the" and row.capital[i] and row.capital[i + 1] and before in _NAMES:
        # "Henry VIII"
        return NEVER
    if row.capital[i] and row.capital[i + 1] and (before in _NAMES or after in _NAMES):
        return NEVER
    if (left in INDEFINITE and after == "JJ") or (
        right in ("a", "an") and before == "NNS" and {*words[i + 2 : i + 3]} & members("times")
    ):
        # "Anything special", "ninety miles an hour"
        return NEVER
    if after == "CD" and before in _NOUNS and _is_number_of(row, i):
        return NEVER
    if after == "PRP" and right in SUBJECTS and _is_open_time(row, i):
        return NEVER if row.tags[i - 1] != "IN" else 2.0
    if after in _NOUNS and before in _MODIFIERS:
        return NEVER if before in ("JJ", "JJS", "CD", "DT", "PRP$") else 4.0
    if (
        after in ("JJ", "JJR", "RB")
        and before in ("RB", "DT", "PRP$", "CD", "JJ")
        and (before != "JJ" or right not in CLAUSE_WORDS)
    ):
        return NEVER if before == "DT" else 2.5
    if words[i - 1] == "how" and [before] in _HOW and [after] in _SUBJECT:
        # "How late I can leave it"
        return NEVER
    if right in AUXILIARIES and before in ("PRP", "EX", "WP", "WDT"):
        return NEVER
    return _hold(row, i)


def _is_number_of(row: Row, i: int) -> bool:
    """Whether the number after a noun is its own: "platform two", but "in London | two men"."""
    after = i + 2
    while after < len(row.words) and row.tokens[after] == row.tokens[i + 1]:
        after += 1
    if after == len(row.words) or row.marks[after - 1]:
        return True
    return row.tags[after] not in _COUNTED or row.capital[i] == row.capital[after] == 1


def _is_open_time(row: Row, i: int) -> bool:
    """Whether a word is the time or the way of what follows: "the next time | we met"."""
    if row.words[i] not in _RELATED:
        return False
    return not _SINGLING.isdisjoint(row.words[max(i - 2, 0) : i])


_RELATED: Final = frozenset({"time", "way", "moment", "minute", "day", "reason", "year"})
_SINGLING: Final = frozenset({"the", "every", "each", "any"})


def _hold(row: Row, i: int) -> float:
    """How much two words that may be parted hold together."""
    words, tags = row.words, row.tags
    right, before, after = words[i + 1], tags[i], tags[i + 1]
    if right == "please" and _opened(row, i):
        # "When you can | please call"
        return _FRONTED
    if right.partition("'")[0] in SUBJECTS and before in _CLOSERS and _opened(row, i):
        return _FRONTED
    if right.partition("'")[0] in SUBJECTS and before in _NOUNS:
        # "The man you met": a relative clause without its pronoun; it has no object.
        object_ = {"DT", "PRP", "PRP$"} & set(tags[i + 2 : i + 4])
        return 0.0 if object_ or row.pause[i] > _SURE else 3.0
    if after in ("DT", "PRP$") and before in _ACTS:
        return 0.7
    if right in ("a", "an", "another") and before in _NOUNS and _is_given(row, i):
        return 3.0
    timed = words[i] in _RELATED and tags[i - 1] == "DT" and words[i - 2] in PREPOSITIONS
    if timed and after == "DT":
        # "At the time the boat came"
        return 2.0
    if before in _ACTS and after in _NOUNS | {"JJ", "CD"}:
        return 1.5
    if right in ("and", "or") and _is_subject(row, i):
        # "Two of my oldest friends and I"
        return 3.0 if {*words[i + 2 : i + 3]} & SUBJECTS else 0.4
    if right in ("and", "or") and before == "JJ" and tags[i + 2 : i + 4] in _PRAISE:
        # "A small and remote village"
        return NEVER
    partners = tags[i + 2 : i + 3] in _PARTNERS.get(before, ()) and words[i + 2] != "then"
    whose = words[i] in OBJECTS and tags[i + 2 : i + 3] == ["PRP$"]
    # "The ninth and the tenth"
    whose |= tags[i - 1] == "DT" and words[i - 1 : i] == words[i + 2 : i + 3]
    if right in ("and", "or") and (partners or whose):
        # "Paper and pencil", "loud and clear", "me and my wife"
        return 2.0
    return 0.0


_REACH: Final = 40
"""Words back to which a clause is looked for: a text may be one line without a mark."""


def _is_given(row: Row, i: int) -> bool:
    """Whether a noun is whom something is given to: "buy that child | another coat"."""
    at, least = i - 1, max(0, i - _REACH)
    while at > least and row.tags[at] in _MODIFIERS and not row.marks[at]:
        at -= 1
    return row.words[at] in members("giving") and at < i - 1


def _find_opening(row: Row, i: int) -> int:
    """Where the words begin that no mark parts from a word, or the farthest that is looked at."""
    start, least = i, max(0, i - _REACH)
    while start > least and not row.marks[start - 1]:
        start -= 1
    return start


def _is_subject(row: Row, i: int) -> bool:
    """Whether no verb has been said in the clause up to a noun: what "and" adds belongs to it."""
    start = _find_opening(row, i)
    told = row.tags[start : i + 1]
    return told[-1] in _NOUNS | {"PRP"} and _VERBS.isdisjoint(told) and told[0] in _HEADS


_HEADS: Final = _NOUNS | {"DT", "PRP$", "CD", "PRP"}


def _clings(row: Row, i: int) -> bool:
    """Whether a word leans on the next one."""
    left, before, after = row.words[i], row.tags[i], row.tags[i + 1]
    if left in PARTICLES and before in ("RP", "RB"):
        # "Put it up": a particle closes its group.
        return False
    if (left in DEGREES or (left == "yet" and before == "RB")) and after in ("CC", "IN", "WRB"):
        return False
    if left in PREPOSITIONS and after in ("CC", "MD", "WRB"):
        # "She stayed on | when he left"
        return False
    if left in CLINGING or left in CONTRACTED or left.endswith("n't"):
        return left not in BE or after not in ("IN", "CC")
    return before in ("TO", "MD", "PRP$", "DT") or (left in SUBJECTS and after in _VERBS)


def _opened(row: Row, i: int) -> bool:
    """Whether what a word ends opens a sentence: "when the boat came | we left", "for a
    minute | I waited"."""
    start = _find_opening(row, i)
    for place in range(i, start, -1):
        if row.words[place] in members("openers") or _is_open_time(row, place):
            # "By the time we came | they had left"
            return True
    return row.words[start] in members("openers") or (
        (row.tags[start] in ("IN", "RB") or row.words[i] in ("later", "ago"))
        and _VERBS.isdisjoint(row.tags[start:i])
    )


def _opens(row: Row, i: int) -> bool:
    """Whether a particle is a preposition here: it stands before a noun phrase."""
    if row.tags[i] == "RP" or row.marks[i] or i + 1 >= len(row.words):
        return False
    return row.tags[i + 1] in ("DT", "PRP$", "NN", "NNS", "NNP", "PRP", "CD", "JJ")


def _is_spliced(row: Row, i: int) -> bool:
    """Whether a comma stands between two sentences: "it's not mine, | it's hers"."""
    if row.marks[i] != 1 or row.words[i + 1] not in SUBJECTS | CONTRACTED:
        return False
    spoken = range(_find_opening(row, i), i + 1)
    told = any(row.tags[k] in _VERBS or row.words[k] in CONTRACTED for k in spoken)
    return told and len(spoken) > 1


def find_breaths(
    row: Row, start: int, end: int, limit: int, closed: Sequence[int] = ()
) -> list[int]:
    """Words of start..end before which a new group begins, in order.

    Chosen together: the sum of the network's log odds of a pause after each chosen word,
    less what a group beyond `limit` syllables or of a single word costs, is the largest.
    `closed` are marked places where none may begin.
    """
    gains: list[tuple[int, float]] = []
    size = sum(row.sizes[start:end])
    tight = size > limit
    for i in range(start, end - 1):
        chance = row.pause[i]
        marked = row.marks[i] and i + 1 not in closed
        if chance < 0.02 and not tight and not marked:
            continue
        gain = math.log((chance + 1e-4) / (1.0001 - chance)) - _FAIR
        if marked:
            gains.append((i + 1, max(gain, _SPLICED if _is_spliced(row, i) else gain) + _MARKED))
        elif row.marks[i] == 0 and (gain > _UNDONE or tight):
            bound = bind(row, i)
            if bound < NEVER:
                gains.append((i + 1, max(gain, _UNDONE) - bound))
    if not gains or (not tight and all(gain <= 0 for _, gain in gains)):
        return []
    return _choose(row, start, end, limit, gains)


_FAIR: Final = math.log(LIKELY / (1 - LIKELY))


def _choose(
    row: Row, start: int, end: int, limit: int, gains: list[tuple[int, float]]
) -> list[int]:
    """The best set of places by dynamic programming over them."""
    # Who asks for a short breath is served more readily.
    dear = (BREATH / limit) ** 2
    places = [start, *(place for place, _ in gains), end]
    worth = [0.0, *(gain for _, gain in gains), 0.0]
    sums = [0]
    for size in row.sizes[start:end]:
        sums.append(sums[-1] + size)
    best = [0.0] + [-1e9] * (len(places) - 1)
    back = [0] * len(places)
    for j in range(1, len(places)):
        for i in range(j - 1, -1, -1):
            size = sums[places[j] - start] - sums[places[i] - start]
            over = size - limit
            if over > limit and i < j - 1:
                break
            value = best[i] + worth[j]
            if over > 0:
                value -= dear * (_LONG * over * over + _TOO_LONG * max(over - _FAR, 0) ** 2)
            if places[j] - places[i] < 2:
                value -= _SHORT
            if value > best[j]:
                best[j], back[j] = value, i
    chosen = []
    j = back[-1]
    while j:
        chosen.append(places[j])
        j = back[j]
    return chosen[::-1]
