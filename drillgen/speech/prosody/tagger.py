"""Parts of speech: nltk's averaged perceptron with weights of our own.

The weights were trained on the training part of the Universal Dependencies
English Web Treebank (CC BY-SA 4.0) by tools/train_tagger.py and lie in
drillgen/data/tagger_weights.tsv.gz. nltk is asked for its code only: its
data folders are never looked at.
"""

from __future__ import annotations

import gzip
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

from drillgen.core.resources import data_file

if TYPE_CHECKING:
    from nltk.tag.perceptron import PerceptronTagger

WEIGHTS: Final = "tagger_weights.tsv.gz"
SCALE: Final = 100
"""Weights are stored as whole numbers of 1/SCALE."""


def new_perceptron() -> PerceptronTagger:
    """An untrained tagger: nltk's features, and some for unknown words.

    Added to nltk's own: upper and lower case of the word and its neighbours
    (proper nouns are the commonest fault without it), longer and shorter
    suffixes and prefixes, and pairs of tag and word.
    """
    # Imported here: nltk takes 0.2 s.
    from nltk.tag import perceptron

    class CaseTagger(perceptron.PerceptronTagger):  # type: ignore[misc]
        """The averaged perceptron with features of letter case."""

        def normalize(self, word: str) -> str:
            """Digits as classes; case is kept for the features."""
            if word.isdigit() and len(word) == 4:
                return "!YEAR"
            return "!DIGITS" if word[:1].isdigit() else word

        def _get_features(
            self, i: int, word: str, context: list[str], prev: str, prev2: str
        ) -> dict[str, int]:
            at = i + 2
            low = [w if w[:1] in "!-" else w.lower() for w in context[at - 2 : at + 3]]
            features: dict[str, int] = super()._get_features(0, word, low, prev, prev2)
            this, following = low[2], low[3]
            here, after, before = _shape(word), _shape(context[at + 1]), _shape(context[at - 1])
            if i == 0:
                here, before = "F" + here, "^"
            for name in (
                f"s1 {word[-1:]}",
                f"s2 {word[-2:]}",
                f"s4 {this[-4:]}",
                f"p3 {this[:3]}",
                f"p2 {this[:2]}",
                f"sh {here}",
                f"sh3 {before}{here}{after}",
                f"shw {here}{this}",
                f"shs {here}{this[-3:]}",
                f"ww {this} {following}",
                f"tw {prev} {following}",
                f"tws {prev} {this[-3:]}",
                f"ts {prev} {here}",
                f"n1s2 {following[-2:]}",
                f"ttw {prev2}{prev} {this}",
            ):
                features[name] = 1
            return features

    return CaseTagger(load=False)


def _shape(word: str) -> str:
    """Case of a word, and whether digits or a hyphen are in it."""
    if word.isupper() and len(word) > 1:
        shape = "U"
    elif word[:1].isupper():
        shape = "T"
    else:
        shape = "l" if word[:1].isalpha() else "p"
    if any(letter.isdigit() for letter in word):
        shape += "d"
    return shape + "-" if "-" in word else shape


class _Weights(dict[str, Any]):
    """Weights that are spelled out when a feature is first met.

    A sentence meets a few hundred of the 170,000 features.
    """

    def __init__(self, lines: Sequence[str], classes: Sequence[str]) -> None:
        super().__init__(line.split("\t") for line in lines)
        self._classes = classes

    def __getitem__(self, feature: str) -> dict[str, float]:
        row = super().__getitem__(feature)
        if isinstance(row, str):
            cells = row.split(" ")
            row = {
                self._classes[int(tag)]: int(weight) / SCALE
                for tag, weight in zip(cells[::2], cells[1::2], strict=True)
            }
            self[feature] = row
        spelled: dict[str, float] = row
        return spelled


def unpack_weights(packed: bytes) -> PerceptronTagger:
    """The tagger that tools/train_tagger.py packed."""
    # Not splitlines(): a token may hold any other line separator.
    first, second, *lines = gzip.decompress(packed).decode("utf-8").rstrip("\n").split("\n")
    classes = first.split("\t")
    words = second.split("\t") if second else []
    tagger = new_perceptron()
    tagger.model.weights = _Weights(lines, classes)
    tagger.tagdict = dict(zip(words[::2], words[1::2], strict=True))
    tagger.classes = tagger.model.classes = set(classes)
    return tagger


class Tagger:
    """Penn Treebank tags for the tokens of a sentence."""

    __slots__ = ("_perceptron",)

    def __init__(self, perceptron: PerceptronTagger) -> None:
        self._perceptron: Final = perceptron

    @classmethod
    def load(cls) -> Tagger:
        """The tagger that ships with drillgen. No network, no nltk data."""
        return cls(unpack_weights(data_file(WEIGHTS).read_bytes()))

    def tag(self, words: Sequence[str]) -> tuple[str, ...]:
        """A Penn tag per word, in the treebank's reading of the tag set.

        `words` are the tokens of one sentence, marks included; contractions
        are best divided as in the treebank ("do", "n't").
        """
        return tuple(tag for _, tag in self._perceptron.tag(list(words)))
