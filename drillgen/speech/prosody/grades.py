"""Which words of a phrase are beats, and which one is its nucleus.

J. C. Wells (2006), English Intonation, chapter 3, and A. Cruttenden (1997), Intonation,
chapter 4, both from memory: lexical items and negatives have a beat, structure words none;
the nucleus is on the last lexical item, but passes over words that say little. Between what
the rules leave open, the network decides.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from itertools import compress, pairwise
from typing import Final, NamedTuple

from drillgen.core.resources import read_table
from drillgen.core.values import Grade
from drillgen.speech.prosody import words as classes
from drillgen.speech.prosody.compounds import (
    NOUNS,
    is_compound,
    is_late,
    is_letter,
    is_name,
    load_compounds,
)
from drillgen.speech.prosody.row import Row
from drillgen.speech.prosody.words import (
    AMBIGUOUS,
    AUXILIARIES,
    BE,
    BEFORE_TIMES,
    DO,
    HAVE,
    INDEFINITE,
    LIGHT,
    MODALS,
    NEGATIVES,
    OBJECTS,
    PARTICLES,
    POINTING,
    POSSESSED,
    POSSESSIVES,
    PREPOSITIONS,
    PRONOUNS,
    SUBJECTS,
    THEM,
    WH,
    members,
)

_FIRST_PARTS: Final = frozenset({"NN", "NNS", "VBG"})
_DEGREES: Final = frozenset({"RB", "RBR", "JJ", "CD"})
_VERBS: Final = frozenset({"VB", "VBD", "VBG", "VBN", "VBP", "VBZ"})
_INFLECTED: Final = NOUNS | _VERBS
_TOLD: Final = _INFLECTED | {"JJ"}
_FINITE: Final = _VERBS - {"VBG", "VBN"}

_WHOSE: Final = SUBJECTS - {"it", "there", "one"}
_BEFORE: Final = frozenset({"to", "about", "at", "for", "from", "by", "until", "till"})
_ONWARD: Final = OBJECTS | PREPOSITIONS
_OTHERS: Final = frozenset({"other", "another"})
_COUNTS: Final = frozenset({"few", "many", "several", "couple", "last", "next", "past", "whole"})
_TO_DO: Final = frozenset({"going", "have", "has", "had", "got", "gotta", "need", "left", "best"})
_THERE_ARE: Final = BE | HAVE | {"there's", "any", "no", "i've", "we've", "got", "only"}
_OFTEN: Final = frozenset({"always", "never", "usually", "really", "still", "often", "certainly"})
_ABOUT: Final = frozenset({"about", "for", "with", "in", "at", "now", "today", "then"})
_CARRIED: Final = NOUNS | {"PRP", "RP", "DT", "CD"}
_ONLY: Final = frozenset({"just", "only", "merely", "simply", "even"})
_BEING: Final = frozenset({"i'm", "you're", "he's", "she's", "it's", "we're", "they're"})

WEAK_LIMIT, LIGHT_LIMIT, FULL_LIMIT, AFTER, NEAR, FAR, LATER = 0.7, 0.5, 0.5, 0.08, 0.15, 0.5, 0.2
"""How sure the network must be of a beat: on a word that has a weak form, on another structure
word, on a lexical item; how much surer after the nucleus; how much surer of the lexical item
before the last than of the last to make it the nucleus, where it stands beside it and where it
does not; and of a word that says little than of the one before it that says more. Chosen on
readers that were held out of the training."""

HEARD, BEYOND, NEWS, BACK, BACK_AGAIN = 30, 20, 15, 4, 10
"""A word that was said so few words before is not new, and is passed over if the nucleus need
not go back farther than BACK words. BEYOND: the same where a paragraph begins between them,
NEWS: for an adjective without its noun. BACK_AGAIN: for what is turned round to another."""

_ASKED: Final = 4
"""The mark of a question in Row.marks."""

ECHO: Final = 3
"""So many words that were said in a row before are old news as a whole."""

LONGEST_NAME: Final = 12
"""Words of a name that are looked at on either side: a page of initials is no name."""

LONG_LIMIT: Final = 0.3
"""The same for a particle, and for a lexical item of three syllables or more, which nobody says
without a beat at sight."""


def is_particle(row: Row, i: int, end: int) -> bool:
    """Whether a word is an adverb that goes with a verb: sit DOWN, put it UP."""
    if row.words[i] not in PARTICLES or i == 0:
        return False
    tag = row.tags[i]
    if i + 1 == end or row.marks[i]:
        if row.words[i] == "on" and row.words[i - 1] in ("come", "go", "hang", "hold"):
            return True
        if _is_relative(row, i):
            return False
        # "What is it for": a preposition that has lost its noun.
        before = row.words[max(i - 8, 0) : i]
        lost = (
            not WH.isdisjoint(before)
            or before[-1] in members("leaning")
            or row.words[i] == "about"
        )
        # "What you look for it in"
        lost |= row.tags[i - 1] == "PRP" and before[max(len(before) - 2, 0)] in PREPOSITIONS
        return tag in ("RP", "RB") or (not lost and row.tags[i - 1] in _VERBS | NOUNS | {"PRP"})
    after = row.tags[i + 1]
    if tag == "RP" or (tag == "RB" and after in ("CC", "IN", "TO", "WRB")):
        return True
    if row.words[i] == "out" and row.words[i + 1 : i + 3] == ["of", "there"]:
        return True
    # "She ran AWAY again", "what went ON that week": nothing follows that it could belong to.
    if row.words[i] == "by":
        return False
    late = row.words[i + 1] in members("stay_new") | members("trailers") or is_time(
        row.words, i + 1
    )
    return late and (tag == "RB" or row.tags[i - 1] in _VERBS | {"PRP"})


def _is_relative(row: Row, i: int) -> bool:
    """Whether a preposition has lost a noun that was said before it: "the chair I SAT on",
    "something to SIT on"; not "the coat he put ON"."""
    if row.words[i] in _ALWAYS or row.stems[i - 1] in members("taking"):
        return False
    for k in range(max(i - 4, 1), i - 1):
        known = row.tags[k - 1] in NOUNS or row.words[k - 1] in INDEFINITE
        opens = row.words[k].partition("'")[0] in SUBJECTS or (row.words[k] == "to" and k + 2 == i)
        if known and opens and not row.marks[k - 1]:
            return True
    return False


_ALWAYS: Final = frozenset({"up", "down", "out", "off", "away", "back", "together", "apart"})


def is_time(words: Sequence[str], i: int) -> bool:
    """Whether two words are an adverbial of time that says little: this morning, last week."""
    return words[i] in BEFORE_TIMES and not members("times").isdisjoint(words[i + 1 : i + 2])


def is_full(row: Row, i: int, end: int) -> bool:
    """Whether a word is a lexical item: it can carry the nucleus."""
    word, tag = row.words[i], row.tags[i]
    if word in NEGATIVES | POSSESSED:
        # But "some old FRIENDS of yours"
        return word in NEGATIVES or row.words[i - 1] != "of" or row.tags[i - 2] not in NOUNS
    if is_letter(row, i):
        return not _is_letter_before(row, i)
    if _is_counted_one(row, i):
        return True
    if word in PARTICLES and tag not in NOUNS:
        return is_particle(row, i, end)
    if word in ("here", "there", "once"):
        return tag == "RB"
    if word == "do":
        return _is_main_do(row, i, end)
    if word in members("reflexives") and (i + 1 == end or row.marks[i]):
        # "I made it mySELF", "all by herSELF", but "he HURT himself"
        return i > 0 and (row.tags[i - 1] in _CARRIED or row.words[i - 1] == "by")
    if word in LIGHT:
        verb = word == "like" and tag in _VERBS
        return word in AMBIGUOUS and (verb or tag == "JJ" or tag in NOUNS)
    return True


def _is_main_do(row: Row, i: int, end: int) -> bool:
    """Whether "do" is a verb of its own, and nothing it could do is said after it: "nothing you
    can DO", "what are we going to DO about it"."""
    before = row.words[max(i - 2, 0) : i]
    # Not "things to do" nor "as you PROPOSE to do"
    asked = before[-1:] == ["to"] and before[0] in _TO_DO | WH | NEGATIVES
    asked |= not MODALS.isdisjoint(before[-1:])
    asked |= len(before) == 2 and before[1] in SUBJECTS and before[0] in AUXILIARIES
    after = {*row.words[i + 1 : i + 2]}
    return asked and (i + 1 == end or row.marks[i] > 0 or not after.isdisjoint(_ABOUT))


def find_called(row: Row, start: int, end: int) -> int:
    """Where a name begins that is called after a greeting without a comma: "thanks MARIA"; `end`:
    nowhere."""
    at = next(
        (
            i
            for i in range(start + 1, end)
            if row.capital[i] or row.words[i] in members("vocatives")
        ),
        end,
    )
    named = all(row.capital[i] or row.words[i] in members("vocatives") for i in range(at, end))
    closed = end == len(row.words) or row.marks[end - 1] > 0
    opened = start == 0 or row.marks[start - 1] > 0
    greets = opened and closed and named and "-".join(row.words[start:at]) in members("greetings")
    return at if greets else end


def _is_counted_one(row: Row, i: int) -> bool:
    """Whether "one" ends a number or counts what stands before it: twenty-ONE, chapter ONE."""
    if row.words[i] != "one" or i == 0:
        return False
    if row.tokens[i] == row.tokens[i - 1] or row.tags[i - 1] == "CD":
        return True
    ends = i + 1 == len(row.words) or row.marks[i] > 0
    return ends and (row.tags[i - 1] in NOUNS or row.words[i - 1] in ("not", "the"))


def _is_letter_before(row: Row, i: int) -> bool:
    """Whether another letter of the same abbreviation follows: the last one has the stress, as in
    BB-C (Wells 2006, section 3.5)."""
    return i + 1 < len(row.words) and row.tokens[i] == row.tokens[i + 1] and is_letter(row, i + 1)


def grade_phrase(row: Row, start: int, end: int, tail: int, weak: Sequence[bool]) -> list[Grade]:
    """Grades of the words start..end, one of them the nucleus; from `tail` on it can't be.

    `weak`: which words may be said in a weak form.
    """
    if end == start:
        return []
    full = [is_full(row, i, end) for i in range(start, end)]
    tail = min(tail, find_called(row, start, end))
    nucleus = find_nucleus(row, start, max(tail, start + 1), full)
    none, beat = Grade.NONE, Grade.BEAT
    grades = [
        beat if _has_beat(row, i, light, heavy, i > nucleus) else none
        for i, light, heavy in zip(range(start, end), weak, full, strict=True)
    ]
    grades[nucleus - start] = Grade.NUCLEUS
    return grades


def _has_beat(row: Row, i: int, weak: bool, full: bool, after: bool) -> bool:
    """Whether a word other than the nucleus has a beat.

    `weak`: it may have a weak form; `full`: it is a lexical item; `after`: the nucleus comes
    before it.
    """
    word = row.words[i]
    if is_letter(row, i):
        return not _is_letter_before(row, i)
    if after and word in AUXILIARIES and row.words[i - 1] in SUBJECTS:
        # "Of COURSE I did"
        return False
    if not full:
        # "What I'm TALKING about"
        if (after and word in members("trailing")) or row.tags[i] == "EX" or word in PRONOUNS:
            return False
        if _is_touched(row, i):
            return False
        if word in DO and is_emphatic(row, i):
            return True
        return row.beat[i] > (WEAK_LIMIT if weak else LIGHT_LIMIT) + AFTER * after
    if is_compound(row, i - 1) and (
        row.sizes[i] < 3 or load_compounds().get(("second", word)) in ("early", "thing")
    ):
        return False
    # A particle that is a lexical item goes with a verb.
    limit = LONG_LIMIT if row.sizes[i] > 2 or word in PARTICLES else FULL_LIMIT
    return row.beat[i] > limit or word in NEGATIVES or is_compound(row, i)


def is_emphatic(row: Row, i: int) -> bool:
    """Whether a form of "do" only lends its weight to a verb that needs none: "I DID tell you",
    "DO come in" (Wells 2006, section 3.19)."""
    opens = i == 0 or row.marks[i - 1] > 0
    then = i + 1 + (row.tags[i + 1 : i + 2] == ["RB"])
    known = (
        row.words[i] == "do" if opens else row.words[i - 1] in SUBJECTS or row.tags[i - 1] in NOUNS
    )
    plain = known and row.tags[then : then + 1] == ["VB"] and row.words[i + 1] != "not"
    return plain and row.words[i] not in NEGATIVES


def _is_touched(row: Row, i: int) -> bool:
    """Whether a structure word has no beat, however high readers begin it."""
    word, tag, after = row.words[i], row.tags[i], row.tags[i + 1 : i + 2]
    if word == "that":
        return tag in ("IN", "WDT")
    if word == "so":
        return tag in ("IN", "CC") or after in (["PRP"], ["DT"], ["EX"], ["IN"])
    if word in ("when", "where"):
        # "The point where we met"
        return i > 0 and row.tags[i - 1] in NOUNS and not row.marks[i - 1]
    if word in DO and is_emphatic(row, i):
        return False
    if word in DO | HAVE:
        # The main verb may be stressed: "do the job", "have a boat".
        return after in (["PRP"], ["VB"], ["VBN"], ["RB"], ["TO"])
    return word in members("touched")


class Ending(NamedTuple):
    """Words that end a phrase, one of which carries its tune whatever was said before."""

    words: tuple[frozenset[str], ...]
    """Per place what fits; an empty set stands for any word."""

    nucleus: int
    """Number of the word that carries the tune, from the end."""

    whole: bool
    """Whether nothing stands before them in the phrase."""


@cache
def load_endings() -> Mapping[str, tuple[Ending, ...]]:
    """The rows of the table by when they are asked for."""
    endings: dict[str, tuple[Ending, ...]] = {}
    for when, pattern, _ in read_table("prosody_endings.tsv"):
        parts = pattern.removeprefix("^ ").split()
        fits = tuple(
            frozenset[str]().union(
                *(getattr(classes, name) if name.isupper() else {name} for name in part.split("/"))
            )
            - {"_"}
            for part in pattern.replace("*", "").removeprefix("^ ").split()
        )
        at = next(i for i, part in enumerate(parts) if part.endswith("*"))
        ending = Ending(fits, len(parts) - at, pattern.startswith("^"))
        endings[when] = (*endings.get(when, ()), ending)
    return endings


def _match(when: str, words: Sequence[str], start: int, end: int) -> int:
    """The nucleus of the first ending of the table that fits, or -1."""
    last = words[end - 1]
    for ending in load_endings()[when]:
        closing = ending.words[-1]
        if closing and last not in closing:
            continue
        first = end - len(ending.words)
        if first < start or (ending.whole and first > start):
            continue
        if all(
            not known or word in known
            for word, known in zip(words[first:end], ending.words, strict=True)
        ):
            return end - ending.nucleus
    return -1


def _is_opener(row: Row, i: int, start: int, end: int) -> bool:
    """Whether a word only opens what its phrase says: "WELL, it's late", "RUTH, you know"."""
    opens = row.marks[i] > 0 and i + 1 < end
    return opens and (
        row.words[i] in members("discourse") or (i == start and row.words[i + 1] == "you")
    )


def find_nucleus(row: Row, start: int, end: int, is_lexical: Sequence[bool]) -> int:
    """Number of the word of start..end that carries the tune."""
    words = row.words
    echo = _find_echo(row, start, end)
    full = [i for i, lexical in zip(range(start, end), is_lexical, strict=False) if lexical]
    full = [i for i in full if not _is_opener(row, i, start, end)]
    full = [i for i in full if i < echo] or full
    told = [i for i in full if not _says_little(row, i)]
    # "It was me last WEEKEND anyway", "where are you FROM, anyway?"
    told = told or [i for i in full if words[i] not in members("given")] or full
    if told == full == [end - 1] and start + 3 < end and words[end - 1] in members("trailers"):
        return _find_light_nucleus(words, start, end - 1)
    # "I only came for the CAKE": what it is only about stays, new or not.
    only = "only" in words[start:end] and row.tags[told[-1] - 1 if told else 0] != "JJ"
    new = [(only and i == told[-1]) or not _is_repeated(row, i, start) for i in told]
    # The first part of a compound keeps its stress, new or not.
    heavy = [
        i
        for i, fresh, then in zip(told, new, (*new[1:], False), strict=False)
        if fresh or (then and is_compound(row, i))
    ]
    heavy = heavy or told[-2 if told and is_compound(row, told[-1] - 1) else -1 :]
    contrast = _find_contrast(row, start, end, told, new)
    if contrast >= 0:
        return contrast
    there = full and words[full[-1]] in ("here", "there") and words[heavy[-1]] in _OFTEN
    one = len(heavy) == 1 and (words[heavy[0]].endswith("n't") or there)
    if full and (one or (heavy == [start] and words[start] in members("saying"))):
        # "They aren't HERE": the contraction has its beat anyway; "she's still HERE", "'Not at
        # all!' said the FOX, and ..."
        return full[-1]
    if not heavy:
        return _find_light_nucleus(words, start, end)
    heavy = told if told[-1] - heavy[-1] > BACK and echo == end else heavy
    stranded = _match("late", words, heavy[-1], end)
    late = end - 1 - (words[end - 1] == "exactly")
    if words[late] in AUXILIARIES and not WH.isdisjoint(words[heavy[-1] + 1 : late]):
        # "Do you know where he IS", "what they ARE exactly"
        return late
    return stranded if stranded >= 0 else _find_later(row, start, _settle(row, heavy, end), end)


def _find_later(row: Row, start: int, nucleus: int, end: int) -> int:
    """The word behind the nucleus that is the nucleus after all: it says little as a rule, but
    readers make far more of it here: "what are you doing HERE", "see him aGAIN", "I'm not sure
    of THAT", "keep it to yourSELF", "I said I WOULD", "do withOUT them". Never behind a noun."""
    words, tag = row.words, row.tags[nucleus]
    if tag in NOUNS or words[nucleus] in PARTICLES:
        return nucleus
    # Not "you'll never GET there"
    less = words[nucleus] in members("faint") - {"get", "got", "getting"}
    for i in range(end - 1, nucleus, -1):
        word, before, closes = words[i], words[i - 1], i + 1 == end or row.marks[i] > 0
        if row.marks[i - 1] or row.beat[i] - row.beat[nucleus] < LATER:
            continue
        if closes and (
            word in members("late_news")
            or (tag in _VERBS and word in members("late_times") and less)
            or (word in members("reflexives") and before in PREPOSITIONS)
            or (word in POINTING and before in PREPOSITIONS and WH.isdisjoint(words[start:i]))
            or (tag in _VERBS and word in AUXILIARIES | {"be"} and before in SUBJECTS)
        ):
            # "Go DOWN there"
            return i - (before in PARTICLES and row.beat[i - 1] > row.beat[i])
        if word in members("around") and i + 2 == end and words[i + 1] in OBJECTS:
            return i
    return nucleus


def _find_contrast(
    row: Row, start: int, end: int, told: Sequence[int], new: Sequence[bool]
) -> int:
    """The word that carries the tune because another one was said, or might be. -1: none."""
    if told:
        known = not new[-1] or row.words[told[-1]] in ("kind", "sort", "type")
        other = _find_other(row, told[-1], start, known)
        if other >= 0:
            return other
    pointed = _find_pointed(row, start, end, told)
    if pointed >= 0 or not told:
        return pointed
    if _is_other_subject(row, start, told, new):
        return told[-1] - 1
    turned = _find_turned(row, start, end, told, new)
    return turned if turned >= 0 else _find_known(row, start, end, told, new)


def _is_other_subject(row: Row, start: int, told: Sequence[int], new: Sequence[bool]) -> bool:
    """Whether somebody else does what was said before: "I know ten. How many do YOU know?"."""
    verb, subject = told[-1], row.words[told[-1] - 1]
    if verb <= start or subject not in _WHOSE or row.tags[verb] not in _VERBS:
        return False
    if any(row.words[i - 1] != "how" for i in compress(told[:-1], new)):
        return False
    return any(
        row.stems[k] == row.stems[verb] and row.words[k - 1] in _WHOSE - {subject}
        for k in range(max(start - BACK_AGAIN, row.heads[start], 1), start)
    )


def _find_known(row: Row, start: int, end: int, told: Sequence[int], new: Sequence[bool]) -> int:
    """What is left where the last word that tells something was said before: how often ("it
    NEVER rings"), when, or that it is so. -1: nothing."""
    words, last = row.words, told[-1]
    often = words[last - 1] in _OFTEN and last > start and row.tags[last] in _VERBS
    if often and row.stems[last] in row.stems[_recall(row, start) : start]:
        return last - 1
    if any(new):
        return -1
    known = row.marks[end - 2] > 0 or words[end - 2] in ("by", "until", "from")
    if words[end - 1] in members("stay_new") and not known:
        # "I HATE it NOW"
        return end - 1
    if len(told) == 1 and row.tags[last] == "JJ" and words[last - 1] in BE:
        # "It IS late"
        return last - 1
    helper = next((i for i in range(start, last) if words[i] in AUXILIARIES), -1)
    # "But Ruth HAS been listening"
    return (
        helper
        if words[start] in ("but", "yes", "no", "well", "oh") and row.tags[last] in _VERBS
        else -1
    )


def _find_turned(row: Row, start: int, end: int, told: Sequence[int], new: Sequence[bool]) -> int:
    """What is new where all else was said or says little: an auxiliary ("it always IS", "I DID
    tell you") or whom it is turned to ("and he looked at HER"). -1: nothing."""
    words = row.words
    fresh = [i for i, is_new in zip(told, new, strict=True) if is_new] or list(told[-1:])
    often = fresh[-1] + 1 if fresh else end
    if often < end and words[often - 1] in _OFTEN and words[often] in AUXILIARIES:
        return often
    if words[end - 1] in THEM and told and WH.isdisjoint(words[start:end]):
        heard = words[max(start - BACK_AGAIN, 0) : start]
        verb = not _VERBS.isdisjoint(row.tags[start:end])
        if verb and words[end - 1] not in heard and all(words[i] in heard for i in told):
            return end - 1
    lent = next((i for i in range(start, end) if words[i] in DO and is_emphatic(row, i)), end)
    plain = all(i < lent or words[i] in members("faint") or i not in fresh for i in told)
    return lent if lent < end and plain else -1


def _find_echo(row: Row, start: int, end: int) -> int:
    """Where the words begin that end a phrase and were said in a row before; `end`: nowhere."""
    heard, last = row.words[_recall(row, start) : start], row.words[end - 1]
    stops = [k for k, word in enumerate(heard, 1) if word == last]
    for first in range(start + 1, end - ECHO + 1) if stops else ():
        tail = row.words[first:end]
        if any(tail == heard[max(k - len(tail), 0) : k] for k in stops):
            return first
    return end


def _recall(row: Row, start: int, reach: int = HEARD) -> int:
    """The first word before a phrase that is still in the reader's ear."""
    return max(start - reach, min(row.heads[start], start - BEYOND), 0)


def _find_other(row: Row, i: int, start: int, known: bool) -> int:
    """What tells a word from another one like it: "one boat or the OTHER boat", "your journey with
    OTHER people's journey", "your house or MY house", "good news or BAD news". -1: nothing."""
    words = row.words
    if row.tags[i] in NOUNS and row.tags[i - 1] in _TELLING:
        for k in range(i - 3, max(start, i - _SIDE, 1) - 1, -1):
            alike = row.stems[k] == row.stems[i] and row.tags[k - 1] in _TELLING
            if alike and words[k - 1] != words[i - 1] and _JOINING & {*words[k + 1 : i - 1]}:
                return i - 1
    first = i - 1 - words[i - 1].endswith(("'s", "s'"))
    if known and words[first] in _OTHERS and first > start:
        return first
    if words[i - 1] in POSSESSIVES and i - 1 > start:
        for k in range(i - 2, max(start - BACK_AGAIN, row.heads[i]), -1):
            if row.stems[k] == row.stems[i] and words[k - 1] in POSSESSIVES - {words[i - 1]}:
                return i - 1
    return -1


_TELLING: Final = frozenset({"JJ", "JJR", "JJS", "NN", "NNP", "CD", "VBN"})
_JOINING: Final = frozenset({"or", "and", "but", "not", "nor", "to", "than", "from"})
_SIDE: Final = 6
"""Words to the other one, with what joins them."""


def _find_pointed(row: Row, start: int, end: int, told: Sequence[int]) -> int:
    """The word that the end of a phrase points to, new or not: "the only thing I COULD", "not
    THIS year" (Wells 2006, sections 3.10 to 3.12: contrast). -1: none."""
    words, last = row.words, end - 1
    if words[last] in BE and "how" in words[start : last - 2]:
        # "I can't believe how TALL Ruth is"
        much = last - words[start:last][::-1].index("how")
        much += 2 * (words[much + 1] == "and")
        if row.tags[much] in _DEGREES:
            return much
    if words[last] in OBJECTS and row.marks[last] and words[end : end + 1] == ["not"]:
        # "Call ME, not the police"
        return last
    if words[last] in WH and row.marks[last] == _ASKED and last > start:
        # "Wait for WHAT?", but "are you COMING or what?"
        return last if words[last - 1] != "or" else -1
    if end - start > 2 and words[last - 2] == "not" and is_time(words, last - 1):
        return last - 1
    cleft = _find_cleft(row, start, end, told) if end - start > 4 else -1
    # "I'm going THAT way anyway"
    closed = max(end - (words[last] in members("trailers")), start + 1)
    return cleft if cleft >= 0 else _match("any", words, start, closed)


def _find_cleft(row: Row, start: int, end: int, told: Sequence[int]) -> int:
    """ "It is not just the TREE that grows", "it was RUTH who paid", "it's
    the NOISE I can't stand". -1: none."""
    words = row.words
    only = words[start:end].index("not") + start if "not" in words[start:end] else end
    cleft = only + 1 < end and words[only + 1] in _ONLY
    it = [
        word == "it's" or (word == "it" and then in BE)
        for word, then in pairwise(words[start:end])
    ]
    start = start + it.index(True) if True in it else start if cleft else end
    for i in range(start + 3, end - 1):
        cannot = words[i] in _WHOSE and words[i + 1] in NEGATIVES and "the" in words[start:i]
        if cannot or (words[i] in ("who", "that") and row.tags[i + 1] in _FINITE | {"MD"}):
            named = [k for k in told if start < k < i]
            known = words[i] != "that" or only < i
            return named[-1] if named and known and row.tags[named[-1]] in NOUNS else -1
    return -1


def _says_little(row: Row, i: int) -> bool:
    """Whether a word says little at the end of a phrase."""
    words = row.words
    word, before = words[i], words[i - 1] if i else ""
    aside = i - 1 if before in ("i", "you") else i
    if _is_counted_one(row, i):
        return False
    if row.marks[i] and i > 0 and row.marks[i - 1] and word in members("discourse"):
        return True
    if aside > 0 and row.marks[aside - 1] and word in members("comments"):
        return aside < i or word.endswith("ly")
    if word == "exactly":
        return before in AUXILIARIES
    if before in ("not", "right") or words[max(i - 2, 0) : i] == ["not", "any"]:
        # "Not NOW", "not any MORE"
        return False
    after = words[i + 1] if i + 1 < len(words) else ""
    if word in members("given"):
        # "He said that ANYONE could do it", "tell her EVERYTHING", "let's look at TOMORROW"
        return not (
            (word == "here" and before in ("come", "came", "coming"))
            or (word in INDEFINITE and after in MODALS and not row.marks[i])
            or (
                word == "everything"
                and not members("faint").isdisjoint(row.stems[max(i - 2, 0) : i])
            )
            or (word in ("today", "tomorrow", "tonight") and before in _BEFORE)
        )
    return (
        (i > 0 and is_time(words, i - 1))
        or (word in BEFORE_TIMES and after in members("times"))
        or any("-".join(words[max(i - n, 0) : i + 1]) in members("asides") for n in (1, 2))
        or _is_brought(row, i)
    )


def _is_brought(row: Row, i: int) -> bool:
    """Whether a verb says no more than that one thing goes with another: "the BOX that came with
    it"."""
    words, word = row.words, row.words[i]
    if i < 2:
        return False
    if word == "left" and row.tags[i - 1] in NOUNS:
        # "There are two EGGS left"
        return not _THERE_ARE.isdisjoint(words[max(i - 5, 0) : i - 1])
    if words[i - 1] in SUBJECTS and row.tags[i - 2] in ("JJR", "RBR") and words[i - 3] == "the":
        # "The EASIER it gets"
        return row.stems[i] in members("faint")
    if (
        words[i - 1] in SUBJECTS
        and row.tags[i - 2] in NOUNS
        and words[i - 2] not in members("given")
    ):
        # "A WORD she said"
        return word in ("say", "says", "said")
    return (
        word in members("faint")
        and words[i - 1] in ("that", "which", "who")
        and row.tags[i - 2] in NOUNS
        and not PREPOSITIONS.isdisjoint(words[i + 1 : i + 2])
        and not OBJECTS.isdisjoint(words[i + 2 : i + 3])
    )


def _is_repeated(row: Row, i: int, start: int) -> bool:
    """Whether a word was said shortly before its phrase, which makes it old news.

    A name is so as a whole; an adjective with its noun, or where it is denied.
    """
    first, begins, ends = i, max(i - LONGEST_NAME, 0), i + LONGEST_NAME
    while i < ends and is_name(row, i):
        i += 1
    stem = row.stems[i]
    if len(stem) < 3 or _is_counted_one(row, i):
        return False
    # "One boat or the OTHER boat": also in its own phrase.
    end = i - 1 if row.words[i - 1] in _OTHERS or row.words[max(i - 2, 0)] in _OTHERS else start
    low = _recall(row, start)
    heard = row.stems[low : max(end, start)]
    if stem not in heard or (row.words[i] in members("faint") and row.tags[i] in _VERBS):
        return False
    counted = stem in members("periods") and (
        row.tags[i - 1] != "JJ" or row.words[i - 1] in _COUNTS
    )
    if counted and (row.stems[i - 1], stem) not in pairwise(heard):
        # "A few days later" and "on with my DAY": another one.
        return False
    while first > begins and is_name(row, first - 1):
        first -= 1
    if not LIGHT.issuperset({*row.stems[first:i]}.difference(heard)):
        return False
    if row.tags[i] == "JJ":
        pair = (stem, row.stems[min(i + 1, len(row.stems) - 1)])
        if (i > 0 and row.words[i - 1] in NEGATIVES) or pair in pairwise(heard):
            return True
        # "Are you ready? I'm ALWAYS ready."
        told_of = BE.union(_BEING).isdisjoint(row.words[max(i - 2, start) : i])
        last = row.marks[i] > 0 or i + 1 == len(row.words)
        return last and not told_of and stem in row.stems[_recall(row, start, NEWS) : start]
    # "It SHOWS": not the show of which was spoken.
    if row.tags[i] == "CD":
        return row.words[i - 1] in _OTHERS
    told = slice(low, max(end, start))
    return row.tags[i] in _INFLECTED and any(
        tag in _TOLD and not ({row.tags[i], tag} & _FINITE and {row.tags[i], tag} & NOUNS)
        for tag in compress(row.tags[told], [other == stem for other in row.stems[told]])
    )


def _settle(row: Row, heavy: list[int], end: int) -> int:
    """The last lexical item, or the one before it: the first part of a compound, the object
    of a verb with a particle, or a word beside which readers make little of the last one."""
    last = heavy[-1]
    if len(heavy) == 1 or row.words[last] in NEGATIVES:
        return last
    first = heavy[-2]
    if is_particle(row, last, end):
        # "She took her COAT off", but "is the boat IN?".
        verb = any(row.tags[i] in _VERBS and row.words[i] not in BE | HAVE for i in heavy[:-2])
        return first if first == last - 1 and row.tags[first] in NOUNS and verb else last
    if row.words[last] in members("events") and last + 1 == end and len(heavy) == 2:
        # "The PHONE's ringing"
        named = row.tags[first] in NOUNS or row.words[first].endswith("'s")
        return first if named and last - first < 3 else last
    if is_compound(row, first):
        # "LAW enforcement officers"
        while last == first + 1 and first - 1 in heavy and is_compound(row, first - 1):
            last, first = first, first - 1
        return first if last == first + 1 else last
    whole = row.tokens[last] == row.tokens[first]
    if whole or row.words[first] in NEGATIVES or is_name(row, last - 1) or is_late(row, last - 1):
        return last
    if row.tags[last] == "JJ" and row.words[last - 1] in OBJECTS:
        # "He left it OPEN"
        return last
    if row.tags[last] in _VERBS and not {*row.words[last + 1 : end][:1]}.isdisjoint(_ONWARD):
        # "The doctor will SEE you", "the farm I was THINKING of".
        return last
    less = row.beat[first] - row.beat[last]
    if last > first + 1 and any(beat > row.beat[first] for beat in row.beat[last + 1 : end]):
        # Readers make more of a word that is passed over: "I can't find my KEYS anywhere".
        less = 0.0
    joined = last - 2 if row.words[last - 1] in SUBJECTS else last - 1
    if row.words[joined] in ("and", "or", "nor") and joined > first:
        # "To squawk and SING", "he huffed and he PUFFED"
        return last
    if last > first + 1:
        return first if less > FAR else last
    return _settle_neighbours(row, heavy, less)


def _settle_neighbours(row: Row, heavy: list[int], less: float) -> int:
    """The last lexical item or the one right before it, of which readers make more by `less`."""
    first, last = heavy[-2:]
    if row.tags[last] not in ("NN", "NNS"):
        # "The KETTLE boils", but "on page NINE", "what did you all VOTE for", "those I KNEW".
        told = len(heavy) > 2 or not WH.isdisjoint(row.words[max(first - 4, 0) : first])
        if row.tags[last] in ("CD", "NNP") or (told and row.tags[last] in _VERBS):
            return last
        if row.tags[first] in _VERBS and row.tags[last] in _DEGREES:
            # "Retire YOUNG"
            return last
        return first if less > NEAR and row.tags[first] not in _DEGREES else last
    # "A great MAN", "today's STREET map".
    sure = NEAR if row.tags[first] == "VBG" else 0
    told = row.tags[first] in _FIRST_PARTS and "'" not in row.words[first]
    return first if told and less > sure else last


def _find_light_nucleus(words: Sequence[str], start: int, end: int) -> int:
    """Where only structure words are said: "it was YOU", "yes, we CAN"."""
    at = _match("light", words, start, end)
    if at < 0 and words[end - 1] in ("it", "there", "here", "one"):
        at = next((i for i in range(end - 2, start - 1, -1) if words[i] in AUXILIARIES), -1)
    return at if at >= 0 else _match("last", words, start, end)
