"""Train the part-of-speech tagger and write drillgen/data/tagger_weights.tsv.gz.

Run: python tools/train_tagger.py DATA [--check]

DATA holds train.tsv (token, universal tag, Penn tag; an empty line ends a
sentence) and en_ewt-ud-dev.conllu, the development part of the Universal
Dependencies English Web Treebank, CC BY-SA 4.0. With --check nothing is
trained: the shipped tagger is measured.
"""

from __future__ import annotations

import argparse
import gzip
import random
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from drillgen.speech.prosody.tagger import (
    SCALE,
    WEIGHTS,
    Tagger,
    new_perceptron,
    unpack_weights,
)

if TYPE_CHECKING:
    from nltk.tag.perceptron import PerceptronTagger

TARGET = Path(__file__).parent.parent / "drillgen" / "data" / WEIGHTS
ROUNDS = 10

Sentence = list[tuple[str, str]]


def read_sentences(path: Path, *, token: int, tag: int) -> Iterator[Sentence]:
    """Sentences of (token, tag) from a table with empty lines between them."""
    sentence: Sentence = []
    for line in [*path.read_text(encoding="utf-8").split("\n"), ""]:
        if not line:
            if sentence:
                yield sentence
            sentence = []
        elif not line.startswith("# "):
            cells = line.split("\t")
            # CoNLL-U: ranges (1-2) and empty nodes (1.1) are no tokens.
            if token == 0 or cells[0].isdigit():
                sentence.append((cells[token], cells[tag]))


def read_training(data: Path) -> list[Sentence]:
    """The training part."""
    return list(read_sentences(data / "train.tsv", token=0, tag=2))


def read_development(data: Path) -> list[Sentence]:
    """The development part, Penn tags (XPOS)."""
    return list(read_sentences(data / "en_ewt-ud-dev.conllu", token=1, tag=4))


def measure_accuracy(tagger: Tagger, sentences: Sequence[Sentence]) -> float:
    """Share of tokens with the right tag."""
    right = total = 0
    for sentence in sentences:
        tags = tagger.tag([word for word, _ in sentence])
        right += sum(tag == gold for tag, (_, gold) in zip(tags, sentence, strict=True))
        total += len(sentence)
    return right / total


def pack_weights(tagger: PerceptronTagger) -> bytes:
    """The trained tagger as a compressed table; the same tagger, the same bytes.

    First the tags; then the words that always have one tag, each with it;
    then a line per feature with pairs of a tag's number and a weight in
    1/SCALE. Weights that round to less than 0.1 are left out.
    """
    classes = sorted(tagger.classes)
    number = {tag: i for i, tag in enumerate(classes)}
    lines = ["\t".join(classes)]
    lines.append("\t".join(cell for pair in sorted(tagger.tagdict.items()) for cell in pair))
    for feature in sorted(tagger.model.weights):
        row = [
            f"{number[tag]} {round(weight * SCALE)}"
            for tag, weight in sorted(tagger.model.weights[feature].items())
            if abs(weight) >= 0.1
        ]
        if row:
            lines.append(f"{feature}\t{' '.join(row)}")
    return gzip.compress(("\n".join(lines) + "\n").encode("utf-8"), 9, mtime=0)


def main() -> None:
    """Train, write, measure."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("data", type=Path)
    parser.add_argument("--check", action="store_true", help="measure the shipped tagger only")
    options = parser.parse_args()
    development = read_development(options.data)
    if not options.check:
        random.seed(1)  # nltk shuffles the sentences with the module's generator
        perceptron = new_perceptron()
        perceptron.train(read_training(options.data), nr_iter=ROUNDS)
        whole = measure_accuracy(Tagger(perceptron), development)
        packed = pack_weights(perceptron)
        TARGET.write_bytes(packed)
        pruned = measure_accuracy(Tagger(unpack_weights(packed)), development)
        print(f"all weights {whole:.4f}, written weights {pruned:.4f}, {len(packed):,} bytes")
    start = time.process_time()
    tagger = Tagger.load()
    loaded = time.process_time()
    accuracy = measure_accuracy(tagger, development)
    took = time.process_time() - loaded
    tokens = sum(map(len, development))
    print(f"accuracy on {tokens:,} tokens {accuracy:.4f}")
    print(
        f"loads in {loaded - start:.2f} s of processor time (nltk included), "
        f"{took / tokens * 1e6:.0f} µs a word"
    )


if __name__ == "__main__":
    main()
