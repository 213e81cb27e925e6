"""Fit the weights of slips of the keys (drillgen/speech/pronounce/slips.py), and print how many
are found and how many rare words are taken for slips.

    python tools/fit_slips.py --wikipron ../shared/data/wikipron

Needs codespell (dictionary CC BY-SA 3.0), whose list of misspelt words and of what was meant
is learnt; against it stand the words in small letters that Wiktionary has (WikiPron) and that
the program could not say without its table of them. Misspelt words that are known as they
stand are left out. Half of the words, by a hash of the first five letters, is learnt, the
figures are those of the other half. The weights are fitted twice: the second time with the
candidates that the first ones choose.
"""

from __future__ import annotations

import argparse
import random
import zlib
from collections.abc import Collection, Mapping
from pathlib import Path
from typing import Final

import numpy as np
from sklearn.linear_model import LogisticRegression
from wiktionary import read_rows

from drillgen.core.resources import data_folder, load_frequencies
from drillgen.speech.pronounce.engine import Knowledge
from drillgen.speech.pronounce.slips import FEATURES, TABLE, Slips

MOST: Final = 16_000
"""Misspelt words that are used."""

START: Final = dict(
    zip(FEATURES, (1.2, 0.9, 0.2, 0.9, 0.3, 0.2, 0.0, -0.6, -0.8, 0, 1, 0, 0, 0), strict=True)
)
HEAD: Final = """# Weights of slips of the keys: fitted by tools/fit_slips.py.
# feature\tweight
"""


def read_misspelt(knowledge: Knowledge) -> dict[str, list[str]]:
    """Words of codespell that no source knows, and what may be meant."""
    import codespell_lib

    path = Path(codespell_lib.__file__).parent / "data" / "dictionary.txt"
    found = {}
    for line in path.read_text(encoding="utf-8").splitlines():
        typed, meant = line.split("->")
        if typed.isascii() and typed.isalpha() and typed.islower():
            found[typed] = [word.strip() for word in meant.split(",") if word.strip()]
    words = random.Random(1).sample(sorted(found), MOST)
    return {word: found[word] for word in words if not is_said(knowledge, word)}


def is_said(knowledge: Knowledge, word: str) -> bool:
    return bool(knowledge.lexicon.entries(word) or knowledge.find(word) or knowledge.derive(word))


def read_rare(folder: Path, knowledge: Knowledge) -> list[str]:
    """Wiktionary's words that would be guessed without the table."""
    words = {
        written
        for name in ("us", "uk")
        for written, _ in read_rows(folder / f"eng_{name}.tsv.gz", british=name == "uk")
        if written.islower() and written.isalpha() and written.isascii()
    }
    return sorted(
        word
        for word in words
        if not knowledge.lexicon.entries(word) and knowledge.derive(word) is None
    )


def is_learnt(word: str) -> bool:
    return zlib.crc32(word[:5].encode()) % 2 == 0


def fit(
    slips: Slips, misspelt: Mapping[str, Collection[str]], rare: list[str]
) -> dict[str, float]:
    """The weights, from the half that is learnt."""
    rows, goals = [], []
    for word in filter(is_learnt, (*misspelt, *rare)):
        described = slips.describe(word)
        if described is not None:
            meant, features = described
            rows.append([features.get(name, 0.0) for name in FEATURES])
            goals.append(meant in misspelt.get(word, ()))
    model = LogisticRegression(C=1.0, max_iter=5000, fit_intercept=False)
    model.fit(np.array(rows), np.array(goals))
    return dict(zip(FEATURES, model.coef_[0].round(3).tolist(), strict=True))


def print_shares(slips: Slips, misspelt: Mapping[str, Collection[str]], rare: list[str]) -> None:
    kept = [word for word in misspelt if not is_learnt(word)]
    others = [word for word in rare if not is_learnt(word) and word not in misspelt]
    found = {word: slips.find(word) for word in (*kept, *others)}
    for limit in (0.3, 0.5, 0.7, 0.8, 0.9, 0.95):
        taken = {w: s.meant for w, s in found.items() if s is not None and s.chance >= limit}
        right = sum(taken.get(word) in misspelt[word] for word in kept)
        wrong = sum(word in taken for word in kept) - right
        rarely = sum(word in taken for word in others)
        print(
            f"from {limit:.2f}: {right / len(kept):.3f} of {len(kept)} misspelt words read as "
            f"meant, {wrong / len(kept):.4f} as another word; "
            f"{rarely / len(others):.4f} of {len(others)} rare words taken"
        )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--wikipron", type=Path, default=Path("../shared/data/wikipron"))
    options = parser.parse_args()
    knowledge = Knowledge.load()
    misspelt, rare = read_misspelt(knowledge), read_rare(options.wikipron, knowledge)
    frequencies = load_frequencies()
    weights: Mapping[str, float] = START
    for _ in range(2):
        weights = fit(Slips(weights, frequencies, knowledge.is_listed), misspelt, rare)
    print(weights)
    print_shares(Slips(weights, frequencies, knowledge.is_listed), misspelt, rare)
    rows = "".join(f"{name}\t{value}\n" for name, value in weights.items())
    (data_folder("") / TABLE).write_text(HEAD + rows, encoding="utf-8")


if __name__ == "__main__":
    main()
