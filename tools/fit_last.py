"""Fit the last layer of the doubt about guesses (doubt.py), and print what it flags.

    python tools/fit_last.py --wikipron ../shared/data/wikipron

The trees of doubt.py were fitted on words that CMUdict lacks, guessed by networks that had
learnt less. The last layer weighs their score and the numbers that they saw once more, for the
network that is shipped: a logistic regression on words that it has not learnt, the part "dev" of
CMUdict's families (without g2p_en's network, which has learnt them) and "dev2" of Wiktionary.
What is said of g2p_en's vote gets no weight of its own. Its strength is chosen by
cross-validation over families; no word of "test" or "test2" is used.
"""

from __future__ import annotations

import argparse
import zlib
from collections import defaultdict
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Final

import numpy as np
from gather_words import beginning, draw
from numpy.typing import NDArray
from second_opinions import read_phones
from sklearn.linear_model import LogisticRegression
from sklearn.metrics import log_loss
from split_families import split_families, usable_words
from wiktionary import read_rows

from drillgen.core.resources import data_file
from drillgen.core.values import Phones
from drillgen.speech.pronounce import doubt
from drillgen.speech.pronounce.compare import swap_skeleton
from drillgen.speech.pronounce.doubt import FEATURES, describe
from drillgen.speech.pronounce.espeak import Espeak
from drillgen.speech.pronounce.lexicon import Lexicon, mend_entry, spell_plainly
from drillgen.speech.pronounce.neural import Network
from drillgen.speech.pronounce.predict import Predictor, Weights, rank
from drillgen.speech.pronounce.rival import Rival

FOLDS: Final = 5
STRENGTHS: Final = (0.001, 0.003, 0.01, 0.03, 0.1)
"""Values of C that are tried."""

USED: Final = np.array([True] + ["rival" not in name for name in FEATURES])

Gold = Mapping[str, Sequence[Phones]]
Floats = NDArray[np.float64]


def read_dev2(folder: Path, entries: Gold) -> dict[str, list[Phones]]:
    """Wiktionary's words of the part "dev2" (gather_words.py)."""
    rows: defaultdict[str, list[Phones]] = defaultdict(list)
    for written, said in read_rows(folder / "eng_us.tsv.gz"):
        word = spell_plainly(written)
        new = word not in entries and word.isalpha() and len(word) > 2
        if new and draw("part " + beginning(word)) > 17 / 18:
            rows[word].append(read_phones(" ".join(said)))
    return dict(rows)


def describe_words(
    gold: Gold, predictor: Predictor, weights: Weights
) -> tuple[Floats, NDArray[np.bool_]]:
    """Per word the score of the trees and the features, and whether the choice is right."""
    asked = [one for one in predictor.ask(sorted(gold)) if rank(one, weights)]
    rows, right = [], []
    for one in asked:
        case = rank(one, weights)
        assert case is not None
        features = describe(case, weights.doubt)
        rows.append((weights.doubt.score([features])[0], *features))
        right.append(case.ranked[0][0] in {swap_skeleton(said) for said in gold[one.word]})
    return np.array(rows), np.array(right)


def fit_layer(rows: Floats, right: NDArray[np.bool_], strength: float) -> Floats:
    """The weights of score and features, and the offset, in one row."""
    mean, scale = rows.mean(axis=0), rows.std(axis=0) + 1e-9
    model = LogisticRegression(C=strength, max_iter=5000).fit(
        ((rows - mean) / scale)[:, USED], right
    )
    weights = np.zeros(len(mean))
    weights[USED] = model.coef_[0]
    weights /= scale
    return np.append(weights, model.intercept_[0] - weights @ mean)


def score(rows: Floats, layer: Floats) -> Floats:
    """Log odds of each row."""
    odds: Floats = rows @ layer[:-1] + layer[-1]
    return odds


def print_curve(title: str, odds: Floats, right: NDArray[np.bool_]) -> None:
    """The share of wrong words that is flagged with so many of the right ones."""
    limits = [float(np.quantile(odds[right], q)) for q in (0.1, 0.15, 0.2)]
    found = ", ".join(
        f"{np.mean(odds[~right] < x):.3f} (below {1 / (1 + np.exp(-x)):.2f})" for x in limits
    )
    print(f"{title}: {found} of wrong words with 0.10, 0.15, 0.20 of right words")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--wikipron", type=Path, default=Path("../shared/data/wikipron"))
    options = parser.parse_args()
    raw = Lexicon.load_raw()
    entries = {word: tuple(mend_entry(word, p) for p in raw.entries(word)) for word in raw.words()}
    split = split_families(usable_words(entries))
    dev = {word: entries[word] for word, (part, _) in split.items() if part == "dev"}
    dev2 = read_dev2(options.wikipron, entries)
    families = [split[w][1] for w in sorted(dev)] + [beginning(w) for w in sorted(dev2)]
    fold = np.array([zlib.crc32(family.encode()) % FOLDS for family in families])
    path = Path(str(data_file(doubt.DOUBT_FILE)))
    with np.load(path) as saved:
        arrays: dict[str, NDArray[Any]] = {name: saved[name] for name in saved.files}
    network, rival = Network.load(), Rival.load()
    for situation in ("espeak", "alone"):
        arrays.pop(f"{situation}_last", None)
        np.savez_compressed(path, **arrays)  # type: ignore[arg-type]
        weights = Weights.load(espeak=situation == "espeak")
        espeak = Espeak.load() if situation == "espeak" else None
        voters = (None, rival if espeak else None)
        parts = [
            describe_words(gold, Predictor(network, espeak, voter, weights), weights)
            for gold, voter in ((dev, voters[0]), (dev2, voters[1]))
        ]
        rows, right = (np.concatenate(column) for column in zip(*parts, strict=True))
        assert len(rows) == len(fold)
        losses = {}
        for strength in STRENGTHS:
            odds = np.zeros(len(rows))
            for k in range(FOLDS):
                layer = fit_layer(rows[fold != k], right[fold != k], strength)
                odds[fold == k] = score(rows[fold == k], layer)
            losses[strength] = log_loss(right, 1 / (1 + np.exp(-odds)))
            print_curve(f"{situation}, C {strength}, loss {losses[strength]:.4f}", odds, right)
        print_curve(f"{situation}, without", rows[:, 0], right)
        best = min(losses, key=losses.__getitem__)
        arrays[f"{situation}_last"] = fit_layer(rows, right, best)
        np.savez_compressed(path, **arrays)  # type: ignore[arg-type]


if __name__ == "__main__":
    main()
