"""Train the homograph classifiers and write drillgen/data/homograph_{tags,weights}.tsv.gz.

Run: python tools/train_homographs.py DATA

DATA/homographs/train/*.tsv are the training part of the Wikipedia Homograph
Data (Gorman, Mazovetskiy and Nikolaev 2018, LREC; Apache-2.0);
DATA/pos/train.tsv is the training part of the Universal Dependencies English
Web Treebank. Words that are both verb and something else there teach the
shared weights. Sentences of our own (tools/homograph_sentences.tsv) stand for
readings that the data set has rarely or never; they are never tested on.

bench/homographs.py cross-validates the same training.
"""

from __future__ import annotations

import argparse
import csv
import gzip
import math
import random
import re
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, Final, NamedTuple

import numpy as np

from drillgen.core.resources import read_table
from drillgen.speech.pronounce.homographs import (
    BY_RULE,
    SCALE,
    TAGS,
    WEIGHTS,
    WordClasses,
    describe_context,
)
from drillgen.speech.prosody.tagger import Tagger

SHARED: Final = "*"
"""Key of the weights that all verb-or-not homographs share."""

SHARED_S: Final = "*s"
"""Key of the weights that those in -s share besides."""

SHARED_PAST: Final = "*t"
"""Key of the weights that tell a past form from a present one."""

FOLDER: Final = Path(__file__).parent.parent / "drillgen" / "data"
SENTENCES: Final = Path(__file__).parent / "homograph_sentences.tsv"

TOKEN: Final = re.compile(r"[^\W_]+(?:['’-][^\W_]+)*|[^\w\s]|_")

OTHER_QUESTION: Final = frozenset({"blessed", "learned", "nestle", "ravel"})
"""Homographs with a verb's reading that don't ask "a verb in the present?"."""

VERBS_BY_SENSE: Final = frozenset(
    {"close_shut", "wind_turn", "winds_turn", "desert_leave", "entrance_charm", "buffet_strike"}
    | {"sow_seed", "tears_rip"}
)
"""Readings that are verbs but are named by their sense."""

PAST: Final = "read_past"
"""The reading that the weights for the past decide."""

SAME_AS: Final = {
    "rows": "row",
    "bows": "bow",
    "sows": "sow",
    "basses": "bass",
    "buffets": "buffet",
    "deserts": "desert",
}
"""Forms that use the weights of another word."""

COARSE: Final = {
    "NN": "N", "NNS": "N", "NNP": "NP", "NNPS": "NP", "VB": "V", "VBP": "V", "VBZ": "VZ",
    "VBD": "VD", "VBN": "VN", "VBG": "VG", "JJ": "J", "JJR": "J", "JJS": "J", "RB": "R",
    "RBR": "R", "RBS": "R", "WP": "W", "WDT": "W", "WRB": "W", "WP$": "D", "PRP$": "D",
    "DT": "D", "PDT": "D",
}  # fmt: skip
"""Penn tags to the word classes of the features; others stand for themselves."""

VERBAL: Final = {"VB": 1, "VBP": 1, "VBZ": 1, "NN": 0, "NNS": 0, "JJ": 0, "RB": 0, "IN": 0}
"""Penn tags of the treebank's words that answer "verb or not?"."""

TENSE: Final = {"VBD": 1, "VBN": 1, "VB": 0, "VBP": 0}
"""Penn tags of the treebank's words that answer "past or not?"."""

# How much an example counts beside one of the data set.
OWN_SENTENCE: Final = 3.0
ONE_CLASS_WORD: Final = 0.3
"""Words of the treebank that are always verbs, or never."""
TENSE_WORD: Final = 0.5

# Values of the features: how freely the training may use them.
CASE: Final = 2.0
WIDE_VERB: Final = 0.3
WIDE_SENSE: Final = 0.5
TOPIC_SENSE: Final = 1.5
REGULARISATION: Final = 3.0
PRUNE: Final = 5
"""Weights below PRUNE/SCALE are left out."""


class Example(NamedTuple):
    """A homograph in its sentence."""

    word: str
    reading: str
    words: tuple[str, ...]
    place: int
    """Which of the words it is."""

    group: str
    """Equal for sentences that differ in case, marks and digits only."""


class Row(NamedTuple):
    """One training example of one binary classifier."""

    features: dict[str, float]
    positive: int
    example: int
    """Number of the example, -1 for those that are never tested on."""

    reading: str
    """The reading that a positive answer means."""

    weight: float = 1.0


def read_homographs(data: Path) -> list[Example]:
    """The labelled sentences; offsets in the files count bytes."""
    ours = {row[4]: row[1] for row in read_table("homograph_readings.tsv")}
    examples = []
    for path in sorted((data / "homographs" / "train").glob("*.tsv")):
        with path.open(encoding="utf-8", newline="") as file:
            for row in csv.DictReader(file, delimiter="\t"):
                raw = row["sentence"].encode("utf-8")
                start, end = int(row["start"]), int(row["end"])
                left, middle, right = (
                    part.decode("utf-8", "replace")
                    for part in (raw[:start], raw[start:end], raw[end:])
                )
                # A few lines have wrong offsets.
                if middle.lower() == row["homograph"]:
                    examples.append(make_example(ours[row["wordid"]], left, middle, right))
    return examples


def read_own_sentences() -> list[Example]:
    """The sentences in tools/homograph_sentences.tsv."""
    examples = []
    for line in SENTENCES.read_text(encoding="utf-8").splitlines():
        if not line.startswith("#"):
            reading, sentence = line.split("\t")
            left, middle, right = re.split(r"[\[\]]", sentence)
            examples.append(make_example(reading, left, middle, right))
    return examples


def make_example(reading: str, left: str, middle: str, right: str) -> Example:
    """Divide a sentence into words and marks around the homograph."""
    before = TOKEN.findall(left)
    words = (*before, middle, *TOKEN.findall(right))
    group = re.sub(r"[\W\d]+", "", (left + middle + right).lower())
    return Example(middle.lower(), reading, words, len(before), group)


def read_treebank(data: Path) -> list[list[tuple[str, str]]]:
    """Sentences of (token, Penn tag); clitics are joined to the word before."""
    sentences: list[list[tuple[str, str]]] = [[]]
    for line in (data / "pos" / "train.tsv").read_text(encoding="utf-8").split("\n"):
        if not line:
            sentences.append([])
            continue
        token, _, tag = line.split("\t")
        current = sentences[-1]
        clitic = re.fullmatch(r"n['’]t|['’]\w+", token.lower())
        if clitic and current and current[-1][0][-1].isalnum():
            current[-1] = (current[-1][0] + token, current[-1][1])
        else:
            current.append((token, tag))
    return [sentence for sentence in sentences if sentence]


def count_classes(
    treebank: Sequence[Sequence[tuple[str, str]]], examples: Sequence[Example], tagger: Tagger
) -> dict[str, str]:
    """Each word's commonest classes: gold tags thrice, and the tagger's on Wikipedia.

    The homographs' sentences give words and tags here, not their labels.
    """
    counts: defaultdict[str, Counter[str]] = defaultdict(Counter)
    for sentence in treebank:
        for word, tag in sentence:
            counts[word.lower()][COARSE.get(tag, tag)] += 3
    for words in sorted({example.words for example in examples}):
        for word, tag in zip(words, tagger.tag(words), strict=True):
            counts[word.lower()][COARSE.get(tag, tag)] += 1
    classes = {}
    for word, count in counts.items():
        total = count.total()
        if total >= 2:
            ranked = sorted(count.items(), key=lambda item: (-item[1], item[0]))[:2]
            classes[word] = "|".join(tag for tag, n in ranked if n / total >= 0.15)
    return classes


class Questions:
    """Which classifiers a homograph has."""

    def __init__(self) -> None:
        self.readings: dict[str, list[str]] = defaultdict(list)
        for word, reading, *_ in read_table("homograph_readings.tsv"):
            self.readings[word].append(reading)

    def verb(self, word: str) -> str | None:
        """The reading as a verb, where the shared weights can tell it."""
        if len(self.readings[word]) != 2 or word in OTHER_QUESTION or word in BY_RULE:
            return None
        for reading in self.readings[word]:
            if reading == word + "_verb" or reading in VERBS_BY_SENSE:
                return reading
        return None

    def asked(self, word: str) -> list[str]:
        """The readings that have a classifier: one of two, or all."""
        verb = self.verb(word)
        if verb:
            return [verb]
        readings = self.readings[word]
        if PAST in readings:
            return [PAST]
        return readings[1:] if len(readings) == 2 else readings if len(readings) > 2 else []

    def shared(self, word: str) -> list[str]:
        """Keys of the shared weights that the word uses."""
        if PAST in self.readings[word]:
            return [SHARED_PAST]
        if not self.verb(word):
            return []
        return [SHARED, SHARED_S] if word.endswith("s") else [SHARED]


def make_features(
    key: str, words: Sequence[str], index: int, classes: WordClasses, shared: Sequence[str],
    *, sense: bool,
) -> dict[str, float]:  # fmt: skip
    """Features with their values, a copy for each set of weights."""
    near, wide = describe_context(words, index, classes)
    features = {f"{domain}\t{name}": 1.0 for domain in shared for name in near}
    for name in near:
        features[f"{key}\t{name}"] = value_of(name, sense=sense)
    for name in wide:
        features[f"{key}\t{name}"] = value_of(name, sense=sense)
    return features


def value_of(name: str, *, sense: bool) -> float:
    """The value of a word's own feature."""
    kind = name[0]
    if kind == "@":
        return CASE
    if kind == "!":
        return TOPIC_SENSE if sense else WIDE_VERB
    if kind in "qrwt":
        return WIDE_SENSE if sense else WIDE_VERB
    return 1.0


def is_sense(questions: Questions, word: str) -> bool:
    """Whether the topic matters more than the part of speech."""
    verb = questions.verb(word)
    return verb is None or verb in VERBS_BY_SENSE


def make_rows(
    examples: Sequence[Example], tested: int, questions: Questions, classes: WordClasses
) -> list[Row]:
    """Rows of labelled homographs; those from number `tested` on are never tested."""
    rows = []
    for number, example in enumerate(examples):
        word = example.word
        for reading in questions.asked(word):
            features = make_features(
                key_of(questions, word, reading), example.words, example.place, classes,
                questions.shared(word), sense=is_sense(questions, word),
            )  # fmt: skip
            positive = int(example.reading == reading)
            if number < tested:
                rows.append(Row(features, positive, number, reading))
            else:
                rows.append(Row(features, positive, -1, reading, OWN_SENTENCE))
    return rows


def key_of(questions: Questions, word: str, reading: str) -> str:
    """Name of the set of weights."""
    return word if len(questions.asked(word)) == 1 else f"{word}#{reading}"


def make_treebank_rows(
    treebank: Sequence[Sequence[tuple[str, str]]], classes: WordClasses
) -> Iterator[Row]:
    """Rows for the shared weights: verb or not, past or not.

    Words that are a verb here and none there count most, and have weights of
    their own besides, so that their habits don't colour the shared ones.
    """
    ambiguous = {words[at].lower() for words, at, _ in ambiguous_words(treebank)}
    for sentence in treebank:
        words = tuple(word for word, _ in sentence)
        for at, (token, tag) in enumerate(sentence):
            word = token.lower()
            if not word.isalpha() or (tag not in VERBAL and tag not in TENSE):
                continue
            near, _ = describe_context(words, at, classes)
            if tag in VERBAL:
                shared = [SHARED, SHARED_S] if tag in ("VBZ", "NNS") else [SHARED]
                if word in ambiguous:
                    features = make_features(word, words, at, classes, shared, sense=False)
                    yield Row(features, VERBAL[tag], -1, "")
                else:
                    features = {f"{key}\t{name}": 1.0 for key in shared for name in near}
                    yield Row(features, VERBAL[tag], -1, "", ONE_CLASS_WORD)
            if tag in TENSE:
                features = {f"{SHARED_PAST}\t{name}": 1.0 for name in near}
                yield Row(features, TENSE[tag], -1, "", TENSE_WORD)


def ambiguous_words(
    treebank: Sequence[Sequence[tuple[str, str]]],
) -> Iterator[tuple[tuple[str, ...], int, int]]:
    """Sentence, place and whether it is a verb, of words that can be either."""
    counts: defaultdict[str, list[int]] = defaultdict(lambda: [0, 0])
    for sentence in treebank:
        for word, tag in sentence:
            if tag in VERBAL:
                counts[word.lower()][VERBAL[tag]] += 1
    for sentence in treebank:
        words = tuple(word for word, _ in sentence)
        for index, (word, tag) in enumerate(sentence):
            count = counts[word.lower()]
            if tag in VERBAL and word.isalpha() and min(count) >= max(2, 0.03 * sum(count)):
                yield words, index, VERBAL[tag]


class Matrix(NamedTuple):
    """All rows as a sparse matrix."""

    values: Any
    """scipy CSR matrix, rows × features."""

    positive: Any
    """0 or 1 per row."""

    weights: Any
    """How much each row counts."""

    names: list[str]


def make_matrix(rows: Sequence[Row]) -> Matrix:
    """Features that only one row has are left out."""
    from sklearn.feature_extraction import DictVectorizer

    vectorizer = DictVectorizer()
    values = vectorizer.fit_transform([row.features for row in rows])
    kept = np.asarray((values > 0).sum(axis=0)).ravel() >= 2
    names = [name for name, keep in zip(vectorizer.feature_names_, kept, strict=True) if keep]
    positive = np.array([row.positive for row in rows])
    return Matrix(values[:, kept], positive, np.array([row.weight for row in rows]), names)


def fit(values: Any, positive: Any, row_weights: Any, feature_values: Any) -> Any:
    """Weights per feature (its value multiplied in), small ones left out."""
    from sklearn.linear_model import LogisticRegression

    model = LogisticRegression(
        C=REGULARISATION, solver="liblinear", max_iter=300, fit_intercept=False, random_state=0
    ).fit(values, positive, sample_weight=row_weights)
    weights = model.coef_[0] * feature_values
    weights[np.abs(weights) < PRUNE / SCALE] = 0
    return weights


def divide(examples: Sequence[Example], folds: int) -> list[int]:
    """A fold per example: even for every reading, equal sentences together."""
    groups: defaultdict[str, list[int]] = defaultdict(list)
    for number, example in enumerate(examples):
        groups[example.group].append(number)
    order = sorted(groups.values())
    random.Random(3).shuffle(order)
    filled: defaultdict[str, list[int]] = defaultdict(lambda: [0] * folds)
    result = [0] * len(examples)
    for group in order:
        counts = filled[examples[group[0]].reading]
        fold = counts.index(min(counts))
        for number in group:
            result[number] = fold
            filled[examples[number].reading][fold] += 1
    return result


class Trained(NamedTuple):
    """Everything that training needs, read and counted."""

    examples: list[Example]
    tested: int
    """The first so many examples are the data set's; the rest are ours."""

    questions: Questions
    classes: WordClasses
    rows: list[Row]
    matrix: Matrix
    feature_values: Any


def prepare(data: Path) -> Trained:
    """Read the data and make the features."""
    found = read_homographs(data)
    examples = found + read_own_sentences()
    treebank = read_treebank(data)
    tags = count_classes(treebank, found, Tagger.load())
    classes = WordClasses(tags, WordClasses.load_topics())
    questions = Questions()
    rows = make_rows(examples, len(found), questions, classes)
    rows += make_treebank_rows(treebank, classes)
    matrix = make_matrix(rows)
    values = np.ones(len(matrix.names))
    for column, name in enumerate(matrix.names):
        key, feature = name.split("\t")
        if not key.startswith("*"):
            word = key.split("#")[0]
            sense = word in questions.readings and is_sense(questions, word)
            values[column] = value_of(feature, sense=sense)
    return Trained(examples, len(found), questions, classes, rows, matrix, values)


def cross_validate(trained: Trained, folds: int) -> list[float]:
    """Scores (log odds) of all rows that may be tested, from models that did not see them."""
    fold_of = divide(trained.examples[: trained.tested], folds)
    row_fold = np.array([fold_of[r.example] if r.example >= 0 else -1 for r in trained.rows])
    scores = np.zeros(len(trained.rows))
    values, positive, row_weights, _ = trained.matrix
    for fold in range(folds):
        seen = row_fold != fold
        weights = fit(values[seen], positive[seen], row_weights[seen], trained.feature_values)
        test = row_fold == fold
        scores[test] = values[test] @ (weights / trained.feature_values)
    return [float(score) for score in scores]


def fit_slope(scores: Sequence[float], positive: Sequence[int]) -> float:
    """The factor on the scores that makes them calibrated log odds."""
    best = min(
        (0.5 + 0.02 * step for step in range(80)),
        key=lambda slope: sum(
            math.log1p(math.exp(-slope * score if answer else slope * score))
            for score, answer in zip(scores, positive, strict=True)
        ),
    )
    return round(best, 2)


def slopes_of(trained: Trained, scores: Sequence[float]) -> tuple[float, float]:
    """Slopes for verb-or-not homographs and for the others."""
    result = []
    for verb in (True, False):
        chosen = [
            (score, row.positive)
            for score, row in zip(scores, trained.rows, strict=True)
            if row.example >= 0
            and bool(trained.questions.verb(trained.examples[row.example].word)) is verb
        ]
        result.append(fit_slope([s for s, _ in chosen], [p for _, p in chosen]))
    return result[0], result[1]


def write_tags(tags: Mapping[str, str]) -> None:
    """Write the words of each class, one class a line."""
    words: defaultdict[str, list[str]] = defaultdict(list)
    for word, tag in sorted(tags.items()):
        words[tag].append(word)
    lines = ["\t".join([tag, *words[tag]]) for tag in sorted(words)]
    write_lines(TAGS, lines)


def write_weights(trained: Trained, slopes: tuple[float, float]) -> None:
    """Train on everything and write the weights, the slopes multiplied in."""
    questions = trained.questions
    weights = fit(*trained.matrix[:3], trained.feature_values)
    cells: defaultdict[str, list[str]] = defaultdict(list)
    for name, weight in zip(trained.matrix.names, weights, strict=True):
        key, feature = name.split("\t")
        word = key.split("#")[0]
        verb = key in (SHARED, SHARED_S) or bool(questions.verb(word))
        number = round(weight * slopes[0 if verb else 1] * SCALE)
        if number:
            cells[key] += [feature, str(number)]
    lines = ["\t".join([key, "", "", key, *cells[key]]) for key in (SHARED, SHARED_S, SHARED_PAST)]
    for word in questions.readings:
        if word in BY_RULE:
            continue
        for reading in questions.asked(word):
            owner = SAME_AS.get(word, word)
            own = cells[key_of(questions, word, reading)] if owner == word else []
            shared_keys = " ".join(questions.shared(owner))
            lines.append("\t".join([word, reading, shared_keys, owner, *own]))
    write_lines(WEIGHTS, lines)


def write_lines(name: str, lines: Sequence[str]) -> None:
    """Write lines to a data file, packed or not; the same lines, the same bytes."""
    packed = ("\n".join(lines) + "\n").encode("utf-8")
    if name.endswith(".gz"):
        packed = gzip.compress(packed, 9, mtime=0)
    (FOLDER / name).write_bytes(packed)
    print(f"{name}: {len(packed):,} bytes")


def main() -> None:
    """Train and write."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("data", type=Path)
    parser.add_argument("--folds", type=int, default=2, help="for the calibration")
    options = parser.parse_args()
    trained = prepare(options.data)
    write_tags(trained.classes.tags)
    print(f"{len(trained.rows):,} rows, {len(trained.matrix.names):,} features")
    slopes = slopes_of(trained, cross_validate(trained, options.folds))
    print(f"slopes {slopes}")
    write_weights(trained, slopes)


if __name__ == "__main__":
    main()
