"""Fit the weights of drillgen/speech/pronounce/predict.py and doubt.py; print flag curves.

    python tools/gather_words.py, align_words.py, train_predictor.py, guess_folds.py
    python tools/fit_predictor.py --data FOLDER --guesses guesses.tsv.gz

The choice among candidates is fitted on held-out words of CMUdict (part "dev")
and of Wiktionary ("dev2"), the doubt about it on words that CMUdict lacks, as
Wiktionary says them, guessed by networks that have not learnt the beginning of
the word (g2p_en's network has learnt CMUdict's words only). The
marks' weights that the trees see are those of a model fitted on other words.
The scale is then settled with the shipped network on the part "dev2", which it
has not learnt either; tools/fit_last.py comes after this. No word of the parts
"test" and "test2" is used.
"""

from __future__ import annotations

import argparse
import gzip
import importlib
import zlib
from collections.abc import Mapping, Sequence
from multiprocessing import Pool
from pathlib import Path
from typing import Any, Final, NamedTuple

import numpy as np
from gather_words import beginning
from numpy.typing import NDArray
from second_opinions import read_phones

from drillgen.core.phones import parse_phones
from drillgen.core.resources import load_frequencies
from drillgen.speech.pronounce import doubt, predict
from drillgen.speech.pronounce.compare import swap_skeleton
from drillgen.speech.pronounce.doubt import Case, Doubt
from drillgen.speech.pronounce.espeak import Espeak, convert_mnemonics
from drillgen.speech.pronounce.lexicon import spell_plainly
from drillgen.speech.pronounce.neural import Guess, Network
from drillgen.speech.pronounce.predict import Opinions, Predictor, Weights
from drillgen.speech.pronounce.rival import Rival

FOLDER: Final = Path(__file__).resolve().parent.parent / "drillgen" / "data"
PARTS: Final = 5
PROCESSES: Final = 2
STRENGTH: Final = 0.02
"""C of the logistic model of the marks."""
TREES: Final = {
    "max_iter": 350,
    "learning_rate": 0.045,
    "max_leaf_nodes": 20,
    "min_samples_leaf": 60,
    "l2_regularization": 5.0,
}
"""STRENGTH and TREES were chosen by cross-validation over families of training words."""

Gold = Mapping[str, frozenset[tuple[str, ...]]]
Floats = NDArray[np.float64]


class Word(NamedTuple):
    """A word for fitting."""

    part: str
    mnemonics: tuple[str, ...]
    gold: frozenset[tuple[str, ...]]


class Described(NamedTuple):
    """Cases ready for fitting."""

    words: list[str]
    right: NDArray[np.bool_]
    features: Floats
    patterns: Any
    """Sparse matrix of the spelling's marks, (words, BUCKETS)."""
    marks: Any
    """The same with the marks of the choice added."""


def read_guesses(path: Path) -> dict[tuple[str, str], tuple[Guess, ...]]:
    """Readings by word and way of asking (see guess_folds.py)."""

    def read(text: str) -> tuple[Guess, ...]:
        return tuple(
            Guess(parse_phones(phones), float(chance))
            for chance, phones in (item.split(" ", 1) for item in text.split("|") if item)
        )

    with gzip.open(path, "rt", encoding="utf-8") as file:
        rows = (line.rstrip("\n").split("\t") for line in file)
        return {(word, way): read(readings) for word, way, readings in rows if readings}


def read_words(data: Path) -> tuple[dict[str, Word], list[str]]:
    """The words of Wiktionary that CMUdict lacks, and CMUdict's training words."""
    found: dict[str, Word] = {}
    wanted, known, learnt = set(), set(), []
    for line in (data / "words.tsv").read_text(encoding="utf-8").splitlines():
        part, _fold, word, source, mnemonics, said = line.split("\t")
        if source == "C":
            known.add(word)
            if part == "train":
                learnt.append(word)
        elif source == "U":
            wanted.add(word)
        if source != "B":
            old = found.get(word, Word(part, tuple(mnemonics.split()), frozenset()))
            gold = old.gold | frozenset(map(skeleton, said.split(" | ")))
            found[word] = old._replace(gold=gold)
    return (
        {word: found[word] for word in sorted(wanted - known)},
        learnt,
    )


def skeleton(said: str) -> tuple[str, ...]:
    """What the swap leaves of a row; digits may lack."""
    return swap_skeleton(read_phones(said))


def gather_opinions(
    words: Mapping[str, Word],
    guesses: Mapping[tuple[str, str], tuple[Guess, ...]],
    ways: str,
    rival: Rival,
) -> list[Opinions]:
    """What every member says, of the words that were guessed in both ways."""
    some = [w for w in words if all((w, way) in guesses for way in ways)]
    rivals = rival.pronounce(some)
    return [
        Opinions(
            word,
            guesses[word, ways[0]][: predict.MOST_USUAL],
            guesses[word, ways[1]][: predict.MOST_LISTED],
            convert_mnemonics(words[word].mnemonics) if ways.isupper() else None,
            other,
        )
        for word, other in zip(some, rivals, strict=True)
    ]


def ask_held_out(
    data: Path, espeak: Espeak | None, gold: dict[str, frozenset[tuple[str, ...]]]
) -> list[Opinions]:
    """What the members say of CMUdict's words in the part "dev", which the shipped network has
    not learnt; g2p_en's network has, so it has no vote. Their readings go into `gold`."""
    lines = (data / "words.tsv").read_text(encoding="utf-8").splitlines()
    rows = [line.split("\t") for line in lines]
    some = {row[2]: row[5] for row in rows if (row[0], row[3]) == ("dev", "C")}
    gold.update({w: frozenset(map(skeleton, said.split(" | "))) for w, said in some.items()})
    nothing = Weights((), Doubt((), (), ()))
    asker = Predictor(Network.load(), espeak, None, nothing)
    return list(asker.ask([word for word in some if "'" not in word]))


def count_surprise(words: Sequence[str]) -> NDArray[np.uint8]:
    """-16 ln P(letter | two letters before), smoothed with shorter contexts."""
    size = len(doubt.LETTERS)
    three = np.zeros((size, size, size))
    for word in words:
        codes = [0, 0, *(doubt.LETTERS.index(c) for c in word), 0]
        for i in range(2, len(codes)):
            three[codes[i - 2], codes[i - 1], codes[i]] += 1
    two = three.sum(0)
    one = (two.sum(0) + 1) / (two.sum() + size)
    p_two = (two + 5 * one) / (two.sum(1, keepdims=True) + 5)
    p_three = (three + 5 * p_two[None]) / (three.sum(2, keepdims=True) + 5)
    rounded: NDArray[np.uint8] = np.minimum(255, np.round(-16 * np.log(p_three))).astype(np.uint8)
    return rounded.ravel()


def fit_choice(opinions: Sequence[Opinions], gold: Gold) -> tuple[float, ...]:
    from sklearn.linear_model import LogisticRegression

    rows, truth = [], []
    for one in opinions:
        for skeleton, features in predict.list_candidates(one).items():
            rows.append(features)
            truth.append(skeleton in gold[one.word])
    model = LogisticRegression(max_iter=3000).fit(np.array(rows), np.array(truth))
    return tuple(float(x) for x in model.coef_[0])


Raw = tuple[Case, tuple[float, ...], list[int], list[int]]


def describe_some(job: tuple[Sequence[Opinions], Weights]) -> list[Raw]:
    opinions, weights = job
    rows = []
    for one in opinions:
        case = predict.rank(one, weights)
        if case is not None:
            patterns = doubt.list_patterns(spell_plainly(case.word))
            rows.append(
                (
                    case,
                    doubt.describe(case, weights.doubt),
                    [doubt.bucket(mark) for mark in patterns],
                    [doubt.bucket(mark) for mark in doubt.list_marks(case)],
                )
            )
    return rows


def describe_all(opinions: Sequence[Opinions], weights: Weights, gold: Gold) -> Described:
    sparse: Any = importlib.import_module("scipy.sparse")  # it has no types
    jobs = [(opinions[at : at + 1000], weights) for at in range(0, len(opinions), 1000)]
    with Pool(PROCESSES) as pool:
        rows = [row for part in pool.map(describe_some, jobs, chunksize=1) for row in part]

    def spread(buckets: Sequence[Sequence[int]]) -> Any:
        ends = np.cumsum([0, *map(len, buckets)])
        flat = np.array([b for row in buckets for b in row])
        return sparse.csr_matrix(
            (np.ones(len(flat)), flat, ends), shape=(len(buckets), doubt.BUCKETS)
        )

    patterns = spread([row[2] for row in rows])
    return Described(
        [row[0].word for row in rows],
        np.array([row[0].ranked[0][0] in gold[row[0].word] for row in rows]),
        np.array([row[1] for row in rows]),
        patterns,
        patterns + spread([row[3] for row in rows]),
    )


def fit_marks(data: Described, some: NDArray[np.bool_]) -> Floats:
    """Weights of the marks, beside the numbers of `describe`."""
    from sklearn.linear_model import LogisticRegression

    sparse: Any = importlib.import_module("scipy.sparse")

    numbers = data.features[:, :-2]
    scaled = (numbers - numbers.mean(0)) / (numbers.std(0) + 1e-6)
    both = sparse.hstack([data.marks[some], sparse.csr_matrix(scaled[some])]).tocsr()
    model = LogisticRegression(C=STRENGTH, max_iter=200, tol=1e-3).fit(both, data.right[some])
    return np.asarray(model.coef_[0][: doubt.BUCKETS], dtype=np.float64)


def add_marks(data: Described, weights: Floats, some: NDArray[np.bool_]) -> None:
    data.features[some, -2] = data.marks[some] @ weights
    data.features[some, -1] = data.patterns[some] @ weights


def fit_trees(data: Described) -> Any:
    from sklearn.ensemble import HistGradientBoostingClassifier

    model = HistGradientBoostingClassifier(early_stopping=False, random_state=1, **TREES)
    return model.fit(data.features, data.right)


def pack_trees(model: Any) -> dict[str, NDArray[Any]]:
    """The trees of scikit-learn as plain arrays, one tree after the other."""
    columns: dict[str, list[NDArray[Any]]] = {n: [] for n in ("feature", "limit", "left", "right")}
    starts = [0]
    base = float(model._baseline_prediction.ravel()[0])
    for (tree,) in model._predictors:
        nodes = tree.nodes
        leaf = nodes["is_leaf"].astype(bool)
        columns["feature"].append(np.where(leaf, -1, nodes["feature_idx"]).astype(np.int8))
        columns["limit"].append(np.where(leaf, nodes["value"], nodes["num_threshold"]))
        columns["left"].append(nodes["left"].astype(np.uint8))
        columns["right"].append(nodes["right"].astype(np.uint8))
        starts.append(starts[-1] + len(nodes))
    return {
        **{name: np.concatenate(column) for name, column in columns.items()},
        "limit": np.concatenate(columns["limit"]).astype(np.float32),
        "starts": np.array(starts, dtype=np.int32),
        "base": np.array(base),
    }


def print_curve(title: str, scores: Floats, right: NDArray[np.bool_]) -> None:
    row = []
    for share in (0.10, 0.15, 0.20):
        limit = np.quantile(scores[right], share)
        row.append(f"{np.mean(scores[~right] < limit):.3f} at {share:.2f}")
    print(f"  {title}: flagged of the wrong, at share of the right: {', '.join(row)}", flush=True)


def fit_doubt(
    situation: str,
    opinions: Sequence[Opinions],
    dev: Sequence[Opinions],
    weights: Weights,
    gold: Gold,
) -> dict[str, NDArray[Any]]:
    """Arrays of predict_doubt.npz for one situation, without their prefix."""
    from sklearn.linear_model import LogisticRegression

    data, later = (describe_all(some, weights, gold) for some in (opinions, dev))
    print(f"  right: {data.right.mean():.4f} of training, {later.right.mean():.4f} of dev words")
    part = np.array([zlib.crc32(f"x{beginning(w)}".encode()) % PARTS for w in data.words])
    for k in range(PARTS):
        add_marks(data, fit_marks(data, part != k), part == k)
    marks = fit_marks(data, part >= 0)
    unit = float(np.abs(marks).max() / 127)
    small = np.round(marks / unit).astype(np.int8)
    add_marks(
        later, np.asarray(small * unit, dtype=np.float64), np.ones(len(later.words), dtype=bool)
    )
    held = data._replace(features=data.features[part != 0], right=data.right[part != 0])
    model = fit_trees(held)
    print_curve(
        f"{situation}, other families of training words",
        model.decision_function(data.features[part == 0]),
        data.right[part == 0],
    )
    model = fit_trees(data)
    scores = model.decision_function(later.features)
    print_curve(f"{situation}, dev", scores, later.right)
    scale = LogisticRegression(C=1e6).fit(scores[:, None], later.right)
    slope, shift = float(scale.coef_[0][0]), float(scale.intercept_[0])
    trees = pack_trees(model)
    base = float(trees.pop("base"))
    print(f"  scale {slope:.3f}, shift {shift:.3f}")
    return {
        **trees,
        "scale": np.array([slope, shift + slope * base]),
        "marks": small,
        "unit": np.array(unit),
    }


def print_thresholds(opinions: Sequence[Opinions], weights: Weights, gold: Gold) -> None:
    """What GUESS_BELOW would flag of dev words, all of them guessed."""
    chances, truth = [], []
    for one, (ranked, chance) in zip(opinions, predict.weigh(opinions, weights), strict=True):
        chances.append(round(chance, 3))
        truth.append(ranked[0].skeleton in gold[one.word])
    c, t = np.array(chances), np.array(truth)
    print(f"  dev2: right {t.mean():.4f}, mean confidence {c.mean():.4f}")
    for least in np.arange(0.60, 0.96, 0.02):
        print(
            f"  below {least:.2f}: {np.mean(c[~t] < least):.3f} of {np.sum(~t)} wrong words, "
            f"{np.mean(c[t] < least):.3f} of {np.sum(t)} right words"
        )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--data", type=Path, required=True)
    parser.add_argument("--guesses", type=Path, required=True)
    options = parser.parse_args()
    words, learnt = read_words(options.data)
    gold = {word: row.gold for word, row in words.items()}
    rival = Rival.load()
    guesses = read_guesses(options.guesses)
    surprise = count_surprise(learnt)
    flat: list[float] = (surprise / 16).tolist()
    arrays: dict[str, NDArray[Any]] = {"surprise": surprise}
    empty = Doubt(flat, [0.0] * doubt.BUCKETS, (), 1.0, 0.0, load_frequencies())
    lines = [
        "# Weights of predict.py, fitted by tools/fit_predictor.py: with or without espeak-ng,",
        "# name, value.",
    ]
    # Small letters: without espeak-ng, on a sample of the words.
    for situation, ways in (("espeak", "UC"), ("alone", "uc")):
        print(situation)
        opinions = gather_opinions(words, guesses, ways, rival)
        train = [one for one in opinions if words[one.word].part == "train"]
        dev = [one for one in opinions if words[one.word].part == "dev2"]
        espeak = Espeak.load() if situation == "espeak" else None
        held = ask_held_out(options.data, espeak, gold)
        weights = Weights(fit_choice(held + dev + dev, gold), empty)
        found = fit_doubt(situation, train, dev, weights, gold)
        arrays.update({f"{situation}_{name}": array for name, array in found.items()})
        np.savez_compressed(FOLDER / doubt.DOUBT_FILE, **arrays)  # type: ignore[arg-type]
        weights = weights._replace(doubt=Doubt.load(espeak=situation == "espeak"))
        print_thresholds(dev, weights, gold)
        lines += [
            f"{situation}\t{name}\t{value:.4f}"
            for name, value in zip(predict.CHOICE_FEATURES, weights.choice, strict=True)
        ]
    (FOLDER / "predict_weights.tsv").write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
