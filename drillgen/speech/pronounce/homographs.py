"""Words with one spelling and several pronunciations, read by their context.

Each homograph has a linear classifier (logistic regression) over the words
and word classes around it. Most homographs ask the same question, verb or
not, so they share one set of weights and add their own (Daumé III 2007,
Frustratingly easy domain adaptation). That also reads inflected forms and
words for which there are few sentences or none.

The 162 homographs and their readings are those of Gorman, Mazovetskiy and
Nikolaev (2018), Improving homograph disambiguation with machine learning,
LREC; the phones are CMUdict's, completed by hand in
drillgen/data/homograph_readings.tsv. tools/train_homographs.py trains.
"""

from __future__ import annotations

import gzip
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from typing import Final, NamedTuple

from drillgen.core.errors import ResourceError
from drillgen.core.phones import parse_phones
from drillgen.core.resources import data_file, read_table
from drillgen.core.values import Phones
from drillgen.speech.pronounce.lexicon import mend_entry

READINGS: Final = "homograph_readings.tsv"
TOPICS: Final = "homograph_topics.tsv"
TAGS: Final = "homograph_tags.tsv.gz"
WEIGHTS: Final = "homograph_weights.tsv"
WORDS: Final = "homograph_words.tsv"

SCALE: Final = 100
"""Weights are stored as whole numbers of 1/SCALE."""

WIDE: Final = 10
"""Words to each side that are looked at for topic and tense."""

BY_RULE: Final = ("used", "unused")
"""Words that `read_used` decides: verb first, accustomed second."""

ALONE: Final = 0.6
"""How sure the commoner reading of a word is at least, where nothing stands around it."""

SKIPPED: Final = 5
"""Words of a noun phrase that may stand before a homograph."""


@dataclass(frozen=True, slots=True)
class HomographReading:
    """One pronunciation of a homograph."""

    phones: Phones
    confidence: float
    """Estimated chance, 0 to 1, that this reading is the right one."""

    alternatives: tuple[Phones, ...]
    """The other readings' phones, likeliest first."""

    gloss: str
    """When it is said so, for the teacher: "as a verb", "the metal"."""

    order: tuple[int, ...] = ()
    """Rows of the word in the table of readings, likeliest first."""


class WordClasses(NamedTuple):
    """What is known of words without a look at their context."""

    tags: Mapping[str, str]
    """Lower-case word to its one or two commonest word classes: "N|V"."""

    topics: Mapping[str, tuple[str, ...]]
    """Lower-case word to the topics that it speaks for."""

    @classmethod
    def load(cls) -> WordClasses:
        """The tables that ship with drillgen."""
        text = gzip.decompress(data_file(TAGS).read_bytes()).decode("utf-8")
        words_of_tag = (line.split("\t") for line in text.splitlines())
        tags = {word: tag for tag, *words in words_of_tag for word in words}
        return cls(tags, cls.load_topics())

    @staticmethod
    def load_topics() -> dict[str, tuple[str, ...]]:
        """The table of topics alone."""
        topics: dict[str, tuple[str, ...]] = {}
        for topic, words in read_table(TOPICS):
            for word in words.split():
                topics[word] = (*topics.get(word, ()), topic)
        return topics


def guess_class(word: str) -> str:
    """A word class from the form of an unknown word.

    >>> [guess_class(word) for word in ("1987", "Pellow", "briskly", "quays", "…")]
    ['CD', 'NP', 'R?', 'N?', '…']
    """
    first = word[0]
    if first.isdigit():
        return "CD"
    if first.isupper():
        return "NP"
    if not first.isalpha():
        return first
    if word.endswith(("ly", "ing", "ed")):
        return {"y": "R?", "g": "VG?", "d": "VN?"}[word[-1]]
    if word.endswith(("al", "ous", "ive", "ic", "able", "ible", "ful", "less")):
        return "J?"
    return "N?"


class Context(NamedTuple):
    """What stands around a homograph, as names of features."""

    near: tuple[str, ...]
    """Up to three words and classes to each side, and the word's own case."""

    wide: tuple[str, ...]
    """Words, tense and topics of the sentence, each once."""


def describe_context(words: Sequence[str], index: int, classes: WordClasses) -> Context:
    """The features of the word at `index`.

    A name starts with a letter for its kind; the words are lower case.

    In one piece because the list of features is the specification of the model.
    """
    known = classes.tags
    count = len(words)
    low: list[str] = []
    tag: list[str] = []
    for at in range(index - 3, index + 4):
        if 0 <= at < count:
            word = words[at]
            lower = word.lower()
            kind = known.get(lower) or guess_class(word)
            # A capital inside the sentence: probably part of a name.
            if word != lower and at and kind[0] in "NJV" and word[0].isupper():
                kind = "c" + kind
            low.append(lower)
            tag.append(kind)
        else:
            edge = "^" if at < 0 else "$"
            low.append(edge)
            tag.append(edge)
    l3, l2, l1, _, r1, r2, r3 = low
    t3, t2, t1, _, u1, u2, u3 = tag
    word = words[index]
    case = "l" if word.islower() else "T" if word[1:].islower() else "U"
    if not index or (l2 == "^" and not l1[0].isalnum()):
        case = "F" + case
    # The nearest word to the left that is not inside the same noun phrase.
    at, steps = index - 1, 0
    while at >= 0 and steps < SKIPPED:
        kind = known.get(words[at].lower()) or guess_class(words[at])
        if kind[0] not in "NJR" and kind not in _INSIDE:
            break
        at -= 1
        steps += 1
    head = words[at].lower() if at >= 0 and steps < SKIPPED else "^"
    pair = f"{t2} {t1}"
    around = f"{t1} {u1}"
    near = (
        "_",
        "@" + case,
        "a" + l1,
        "b" + r1,
        "c" + l2,
        "d" + r2,
        "A" + t1,
        "B" + u1,
        "C" + t2,
        "D" + u2,
        "E" + t3,
        "F" + u3,
        "G" + pair,
        "H" + around,
        f"I{u1} {u2}",
        f"J{l2} {l1}",
        f"K{l1} {r1}",
        f"L{l1} {u1}",
        f"M{t1} {r1}",
        f"N{t3} {pair}",
        f"O{t2} {around}",
        f"P{around} {u2}",
        f"Q{t1} {case}",
        f"R{l2} {t1}",
        f"S{r1} {r2}",
        f"T{u1} {u2} {u3}",
        f"W{l1} {u1} {u2}",
        "X" + head,
        f"Y{head} {u1}",
        f"Z{head} {steps}",
    )
    wide = {"q" + l3, "r" + r3}
    add = wide.add
    topics = classes.topics
    for at in range(max(0, index - WIDE), min(count, index + WIDE + 1)):
        if at == index:
            continue
        lower = words[at].lower()
        if len(lower) > 2:
            add("w" + lower[:6])
            for topic in topics.get(lower, ()):
                name = "!" + topic
                add("!" + name if name in wide else name)
        kind = known.get(lower, "-")
        if kind[0] == "V" or kind == "MD":
            add(("tl" if at < index else "tr") + kind)
    return Context(near, tuple(wide))


_INSIDE: Final = frozenset({"CD", "VG", "VN", "VN|VD", "VD|VN", "NP"})
"""Classes that stand inside a noun phrase, besides nouns and adjectives."""


@cache
def _load_words() -> Mapping[str, frozenset[str]]:
    return {name: frozenset(words.split()) for name, words in read_table(WORDS)}


def _words(name: str) -> frozenset[str]:
    """The words of a row of WORDS, which says what each is for."""
    return _load_words()[name]


def read_used(words: Sequence[str], index: int) -> tuple[bool, float]:
    """Whether "used" or "unused" means accustomed (said with an s), and how surely.

    "She used to sail", "he is used to it"; but "nets are used to catch fish",
    where "to" and a plain verb give the purpose (Quirk et al. 1985, A
    Comprehensive Grammar of the English Language, 3.44; from memory).
    """
    following = words[index + 1].lower() if index + 1 < len(words) else ""
    if following != "to":
        return False, 0.99
    after = words[index + 2].lower() if index + 2 < len(words) else ""
    left = [word.lower() for word in words[max(0, index - 3) : index]]
    be = any(word in _words("be") or word.endswith(("'re", "'m", "’re", "’m")) for word in left)
    be = be or (bool(left) and left[-1] not in _words("no_is") and left[-1].endswith(("'s", "’s")))
    if any(word in _words("get") for word in left):
        return True, 0.97
    if not be:
        return True, 0.93
    accustomed = after in _words("objects") or after.endswith("ing") or not after[:1].isalpha()
    return (True, 0.95) if accustomed else (False, 0.85)


def is_read_past(words: Sequence[str], index: int, tags: Mapping[str, str]) -> bool:
    """Whether "read" must be a past form: behind a subject in the singular, which has "reads" in
    the present, or behind "have" and its subject. Otherwise the context has to tell.

    >>> tags = {"teacher": "N", "children": "N"}
    >>> is_read_past("My teacher read it".split(), 2, tags)
    True
    >>> is_read_past("Did my teacher read it".split(), 3, tags)
    False
    """
    at = index - 1
    while at >= 0 and (words[at].lower() in _words("adverbs") or words[at].endswith("ly")):
        at -= 1
    if at < 0:
        return False
    clause: list[str] = []
    for word in reversed(words[max(at - SKIPPED, 0) : at]):
        if not word[0].isalpha() or word.lower() in _words("clause"):
            break
        clause.append(word.lower())
    if not _words("with_base").isdisjoint(clause) or any(word.endswith("n't") for word in clause):
        return False
    subject = words[at].lower()
    if subject in _words("subjects") and not _words("perfect").isdisjoint(clause):
        return True
    name = at > 0 and words[at][0].isupper() and words[at].isalpha()
    noun = (
        tags.get(subject) == "N" and not subject.endswith("s") and subject not in _words("plurals")
    )
    return subject in _words("singular") or (
        (name or noun) and subject not in _words("subjects") and "and" not in clause
    )


def weigh_request(words: Sequence[str], index: int, tags: Mapping[str, str]) -> float:
    """Log odds that a plain form at the head of a clause asks somebody to do something; 0.0 where
    nothing speaks for that.

    The sentences that the model learnt from ask nobody for anything. In the training part of the
    Universal Dependencies English Web Treebank, words that are verb or noun are verbs in 265 of
    271 cases with an object's first word behind them, in 85 of about 110 where nothing else in
    the clause is a finite verb.

    >>> tags = {"duties": "N", "rose": "N|VD", "flour": "N"}
    >>> weigh_request("Import duties rose .".split(), 0, tags)
    0.0
    >>> weigh_request("Combine flour and butter .".split(), 0, tags)
    2.0
    >>> weigh_request("Breathe and record each line".split(), 2, tags)
    4.0
    """
    before = words[index - 1] if index else "."
    after = words[index + 1 :]
    if not after or (before[0].isalnum() and before.lower() not in _words("before_request")):
        return 0.0
    for last, word in pairwise((before, *(word.lower() for word in after))):
        if not word[0].isalnum() or word in _words("clause_ends"):
            break
        if tags.get(word) in _FINITE and last not in _words("object_starts"):
            return 0.0
    if after[0].lower() in _words("object_starts"):
        return 4.0
    alone = before in _SENTENCE_ENDS and after[-1] in _SENTENCE_ENDS
    # "Subject to change" asks for nothing.
    return 2.0 if alone and after[0][0].isalpha() and after[0] != "to" else 0.0


_FINITE: Final = frozenset(("MD", "V", "VD", "VZ", "VD|VN", "VN|VD", "N|VD", "VD|N", "V|VD"))
_SENTENCE_ENDS: Final = (".", "!", "?")


def is_predicate(words: Sequence[str], index: int) -> bool:
    """Whether a word says how somebody is: "they are very upset" is the participle.

    >>> is_predicate("They are so upset".split(), 3), is_predicate("It was an upset".split(), 3)
    (True, False)
    >>> is_predicate("Feels upset".split(), 1), is_predicate("Upset".split(), 0)
    (True, False)
    """
    at = index - 1
    while at > 0 and words[at].lower() in _words("degrees"):
        at -= 1
    word = words[at].lower() if at >= 0 else ""
    return word in _words("be") | _words("seem") or (
        at >= 0 and word.endswith(("'re", "'m", "’re", "’m", "n't"))
    )


_BEFORE_AGED: Final = ("middle", "school", "college", "similarly")


class _Scorer(NamedTuple):
    """A linear classifier for one reading of one homograph."""

    reading: int
    """Which reading a positive score speaks for."""

    shared: tuple[Mapping[str, str], ...]
    own: Mapping[str, str]
    """Feature → weight in units of 1 / SCALE, in digits."""

    verb: bool
    """Whether the reading is the plain form of a verb."""


class _Homograph(NamedTuple):
    """What is needed to read one word."""

    readings: tuple[tuple[Phones, str, str], ...]
    """Phones, gloss, identifier."""

    scorers: tuple[_Scorer, ...]
    """None for a word of one reading or one that goes by rule, one for two
    readings, else one for each."""

    def expect(self, reading: str, chance: float) -> list[float]:
        """Chances of two readings, of which the named one is so likely."""
        return [
            chance if name == reading else round(1 - chance, 9) for _, _, name in self.readings
        ]


class HomographModel:
    """Reads homographs by the sentence around them."""

    __slots__ = ("_classes", "_known", "_rows", "_shared", "_weights")

    def __init__(
        self,
        readings: Sequence[Sequence[str]],
        weights: Mapping[str, Sequence[str]],
        classes: WordClasses,
    ) -> None:
        """Take the rows of the readings' table and the weights' lines.

        `weights` maps a homograph or a key of shared weights to lines of reading,
        shared keys, whose own weights, features and weights, by tabs.
        """
        rows: dict[str, list[Sequence[str]]] = {}
        for row in readings:
            rows.setdefault(row[0], []).append(row)
        self._rows: Final = rows
        self._weights: Final = weights
        self._classes: Final = classes
        self._known: Final[dict[str, _Homograph]] = {}
        self._shared: Final[dict[str, Mapping[str, str]]] = {}

    @classmethod
    def load(cls) -> HomographModel:
        """The model that ships with drillgen."""
        text = data_file(WEIGHTS).read_text(encoding="utf-8")
        weights: dict[str, list[str]] = {}
        for line in text.splitlines():
            word, rest = line.split("\t", 1)
            weights.setdefault(word, []).append(rest)
        return cls(read_table(READINGS), weights, WordClasses.load())

    def __contains__(self, word: str) -> bool:
        """Whether a lower-case word is in the table of readings."""
        return word in self._rows

    def is_proper(self, word: str) -> bool:
        """Whether a lower-case word is known as a name only."""
        return self._classes.tags.get(word) == "NP"

    def words(self) -> tuple[str, ...]:
        """All homographs, in the table's order."""
        return tuple(self._rows)

    def rows(self, word: str) -> tuple[Sequence[str], ...]:
        """The word's rows in the table of readings; () for any other word."""
        return tuple(self._rows.get(word, ()))

    def readings(self, word: str) -> tuple[HomographReading, ...]:
        """All readings of a lower-case homograph; () for any other word.

        Without a sentence all are equally likely.
        """
        if word not in self._rows:
            return ()
        phones = [p for p, _, _ in self._homograph(word).readings]
        return tuple(
            HomographReading(p, 1 / len(phones), tuple(q for q in phones if q is not p), gloss)
            for p, gloss, _ in self._homograph(word).readings
        )

    def read(self, words: Sequence[str], index: int, *, alone: bool = False) -> HomographReading:
        """The reading of the homograph at `index` in the words of a sentence.

        `words` are the tokens as they are written, marks included, space left
        out. `alone`: in a list of words, where the commoner reading wins, unless the
        word may be a name. Raises KeyError where the word is no homograph.
        """
        homograph = self._homograph(words[index].lower())
        chances = self._chances(homograph, words, index)
        readings = homograph.readings
        tags = self._classes.tags.get(words[index].lower(), "")
        if alone and not (words[index][0].isupper() and "NP" in tags):
            chances[0] = max(ALONE, chances[0])
            order = tuple(range(len(readings)))
        else:
            order = tuple(sorted(range(len(readings)), key=lambda i: -chances[i]))
        best = order[0]
        phones, gloss, _ = readings[best]
        others = tuple(readings[i][0] for i in order[1:])
        return HomographReading(phones, chances[best], others, gloss, order)

    def identify(self, words: Sequence[str], index: int) -> tuple[tuple[str, float], ...]:
        """All readings by identifier with their chances, likeliest first."""
        homograph = self._homograph(words[index].lower())
        chances = self._chances(homograph, words, index)
        named = zip((name for _, _, name in homograph.readings), chances, strict=True)
        return tuple(sorted(named, key=lambda item: -item[1]))

    def _chances(self, homograph: _Homograph, words: Sequence[str], index: int) -> list[float]:
        scorers = homograph.scorers
        count = len(homograph.readings)
        if not scorers:
            if count == 1:
                return [1.0]
            accustomed, chance = read_used(words, index)
            return [1 - chance, chance] if accustomed else [chance, 1 - chance]
        if words[index] == "read" and is_read_past(words, index, self._classes.tags):
            return homograph.expect("read_past", 0.96)
        if words[index].lower() == "upset" and is_predicate(words, index):
            return homograph.expect("upset_verb", 0.95)
        if words[index].lower() == "aged" and words[max(index - 1, 0)].lower() in _BEFORE_AGED:
            return homograph.expect("aged_years", 0.98)
        near, wide = describe_context(words, index, self._classes)
        chances = [0.0] * count
        for reading, shared, own, verb in scorers:
            score = _add_up(own, near) + _add_up(own, wide)
            score += sum([_add_up(weights, near) for weights in shared])
            if verb:
                score += round(SCALE * weigh_request(words, index, self._classes.tags))
            chances[reading] = 1 / (1 + math.exp(-max(-30.0, min(30.0, score / SCALE))))
        if len(scorers) == 1:
            reading = scorers[0].reading
            chances[1 - reading] = 1 - chances[reading]
            return chances
        total = sum(chances)
        return [chance / total for chance in chances]

    def _homograph(self, word: str) -> _Homograph:
        known = self._known.get(word)
        if known is None:
            known = self._known[word] = self._parse(word)
        return known

    def _parse(self, word: str) -> _Homograph:
        rows = self._rows[word]
        # CMUdict's habits are in the table too: "graduate" has no w.
        readings = tuple((mend_entry(word, parse_phones(row[3])), row[2], row[1]) for row in rows)
        names = [row[1] for row in rows]
        scorers = []
        for line in self._weights.get(word, ()):
            reading, shared, owner, *cells = line.split("\t")
            if owner != word:
                *_, owner_line = self._weights[owner]
                cells = owner_line.split("\t")[3:]
            if reading not in names:
                raise ResourceError(f"{WEIGHTS} and {READINGS} don't match", "train again")
            dictionaries = tuple(map(self._shared_weights, shared.split()))
            verb = reading == word + "_verb" or reading in _words("plain_verbs")
            scorers.append(_Scorer(names.index(reading), dictionaries, _pair_up(cells), verb))
        if len(rows) > 1 and not scorers and word not in BY_RULE:
            raise ResourceError(f"{WEIGHTS} has nothing for {word!r}", "train again")
        return _Homograph(readings, tuple(scorers))

    def _shared_weights(self, key: str) -> Mapping[str, str]:
        known = self._shared.get(key)
        if known is None:
            cells = self._weights[key][0].split("\t")[3:]
            known = self._shared[key] = _pair_up(cells)
        return known


def _add_up(weights: Mapping[str, str], names: Iterable[str]) -> int:
    return sum(map(int, filter(None, map(weights.get, names))))


def _pair_up(cells: Sequence[str]) -> Mapping[str, str]:
    """Feature, weight, feature, weight … as a mapping; of thousands a sentence has some twenty,
    so only those become numbers."""
    return dict(zip(cells[::2], cells[1::2], strict=True))
