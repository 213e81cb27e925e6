"""Divide the phones of each training word among its letters.

    python tools/gather_words.py --out FOLDER
    python tools/align_words.py --data FOLDER

Each letter gets 0 to 3 phones, by expectation maximization over letter-chunk
probabilities (the many-to-many alignment of Jiampojamarn, Kondrak & Sherif
2007, with single letters). aligned.tsv has a row per pronunciation of the
parts train, dev and dev2: part, fold, word, source, mnemonics, weight, chunks
joined by "|" (phones without stress; "_": none), and the stress of each
letter's first vowel (0 to 2; "-": no vowel, or the source has no stress).
"""

from __future__ import annotations

import argparse
import collections
import itertools
import math
import random
from collections.abc import Iterator, Sequence
from multiprocessing import Pool
from pathlib import Path
from typing import Final

LETTERS: Final = "abcdefghijklmnopqrstuvwxyz'"
MAX_CHUNK: Final = 3
SAMPLE: Final = 16_000
ROUNDS: Final = 5

Chunk = tuple[str, ...]
Costs = dict[tuple[str, Chunk], float]


def bare(phones: Sequence[str]) -> Chunk:
    """Phones without their stress digits."""
    return tuple(phone.rstrip("012") for phone in phones)


def walk(word: str, phones: Chunk, costs: Costs) -> Iterator[tuple[int, int, int, float]]:
    """The allowed steps: letter i takes phones j to k, with its probability."""
    n, m = len(word), len(phones)
    for i in range(n):
        for j in range(min(m, i * MAX_CHUNK) + 1):
            if m - j > (n - i) * MAX_CHUNK:
                continue
            for k in range(j, min(m, j + MAX_CHUNK) + 1):
                p = costs.get((word[i], phones[j:k]), 0.0)
                if p > 0.0 and m - k <= (n - i - 1) * MAX_CHUNK:
                    yield i, j, k, p


def align_word(word: str, phones: Chunk, costs: Costs) -> list[int] | None:
    """Most probable number of phones per letter."""
    n, m = len(word), len(phones)
    best: list[dict[int, tuple[float, int]]] = [{} for _ in range(n + 1)]
    best[0][0] = (0.0, 0)
    for i, j, k, p in walk(word, phones, costs):
        if j in best[i]:
            score = best[i][j][0] + math.log(p)
            if k not in best[i + 1] or score > best[i + 1][k][0]:
                best[i + 1][k] = (score, j)
    if m not in best[n]:
        return None
    ends = [m]
    for i in range(n, 0, -1):
        ends.append(best[i][ends[-1]][1])
    ends.reverse()
    return [b - a for a, b in itertools.pairwise(ends)]


def count_chunks(word: str, phones: Chunk, costs: Costs, counts: Costs) -> None:
    """Add the expected uses of every letter-chunk pair in one word."""
    n, m = len(word), len(phones)
    steps = list(walk(word, phones, costs))
    forward = [[0.0] * (m + 1) for _ in range(n + 1)]
    backward = [[0.0] * (m + 1) for _ in range(n + 1)]
    forward[0][0] = backward[n][m] = 1.0
    for i, j, k, p in steps:
        forward[i + 1][k] += forward[i][j] * p
    for i, j, k, p in reversed(steps):
        backward[i][j] += backward[i + 1][k] * p
    total = forward[n][m]
    for i, j, k, p in steps:
        weight = forward[i][j] * p * backward[i + 1][k] / total if total > 0.0 else 0.0
        if weight > 1e-4:
            pair = word[i], phones[j:k]
            counts[pair] = counts.get(pair, 0.0) + weight


def estimate(pairs: Sequence[tuple[str, Chunk]]) -> Costs:
    """P(chunk | letter) by expectation maximization, starting from the length only."""
    start = {0: 0.3, 1: 0.6, 2: 0.09, 3: 0.01}
    costs: Costs = {}
    for word, phones in pairs:
        for letter in set(word):
            for j in range(len(phones) + 1):
                for k in range(j, min(len(phones), j + MAX_CHUNK) + 1):
                    costs[letter, phones[j:k]] = start[k - j]
    for round_ in range(ROUNDS):
        counts: Costs = {}
        for word, phones in pairs:
            count_chunks(word, phones, costs, counts)
        totals: collections.defaultdict[str, float] = collections.defaultdict(float)
        for (letter, _chunk), count in counts.items():
            totals[letter] += count
        # Long chunks have to earn their place against two short ones.
        costs = {
            (letter, chunk): count / totals[letter] * (0.3 if len(chunk) > 1 else 1.0)
            for (letter, chunk), count in counts.items()
            if count > 0.02 * (round_ + 1)
        }
        print(f"alignment round {round_ + 1}: {len(costs)} letter-chunk pairs", flush=True)
    return costs


def describe_row(row: list[str], costs: Costs) -> list[str]:
    """The lines of aligned.tsv for one word of one source."""
    part, fold, word, source, mnemonics, said = row
    variants = said.split(" | ")
    lines = []
    for variant in variants:
        phones = variant.split()
        lengths = align_word(word, bare(phones), costs)
        if lengths is None:
            continue
        chunks, stresses, at = [], [], 0
        for length in lengths:
            piece = phones[at : at + length]
            at += length
            chunks.append(" ".join(bare(piece)) or "_")
            digits = [p[-1] for p in piece if p[-1].isdigit()]
            stresses.append(digits[0] if digits else "-")
        weight = f"{1 / len(variants):.3f}"
        fields = part, fold, word, source, mnemonics, weight, "|".join(chunks), "".join(stresses)
        lines.append("\t".join(fields) + "\n")
    return lines


_costs: Costs = {}


def describe_some(rows: list[list[str]]) -> list[str]:
    return [line for row in rows for line in describe_row(row, _costs)]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--data", type=Path, required=True)
    parser.add_argument("--processes", type=int, default=2)
    options = parser.parse_args()
    lines = (options.data / "words.tsv").read_text(encoding="utf-8").splitlines()
    rows = [line.split("\t") for line in lines]
    rows = [row for row in rows if row[0] in ("train", "dev", "dev2")]
    pairs = [
        (row[2], bare(said.split()))
        for row in rows
        if row[0] == "train"
        for said in row[5].split(" | ")
    ]
    costs = estimate(random.Random(1).sample(pairs, min(len(pairs), SAMPLE)))
    # Words outside the sample may hold pairs that it lacks.
    _costs.update(
        {(c, p[j : j + 1]): 1e-6 for w, p in pairs for c in set(w) for j in range(len(p))}
    )
    _costs.update({(letter, ()): 1e-6 for letter in LETTERS})
    _costs.update(costs)
    jobs = [rows[at : at + 2000] for at in range(0, len(rows), 2000)]
    with Pool(options.processes) as pool, (options.data / "aligned.tsv").open("w") as file:
        count = 0
        for some in pool.imap(describe_some, jobs):
            file.writelines(some)
            count += len(some)
    print(f"{count} pronunciations aligned")


if __name__ == "__main__":
    main()
