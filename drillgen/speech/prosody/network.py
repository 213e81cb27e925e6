"""The learned part: where readers pause, what they stress, which part of speech a word is.

A small network over the words of a text (word vectors, a look at the neighbours, then gated
recurrent units in both directions), trained by tools/train_prosody.py on
the Helsinki Prosody Corpus (Talman et al. 2019; CC BY 4.0) and the Universal Dependencies
English Web Treebank (CC BY-SA 4.0). numpy does the arithmetic, for a whole text at once; what
depends on a word's spelling alone is kept, so that a repeated word costs one look-up.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from threading import Lock
from typing import Any, Final, NamedTuple
from zlib import crc32

import numpy as np
import numpy.typing as npt

from drillgen.core.matrices import multiply
from drillgen.core.resources import data_file

WEIGHTS: Final = "prosody_network.npz"
MARKS: Final = " ,;.?!"
"""What may follow a word, by number: nothing, a comma, a heavier mark inside a sentence, and
what ends one."""

ENDINGS: Final = 1024
"""Rows for the hashed endings and beginnings of words."""

FAR: Final = 15
"""Distances from here on count as one."""

_BLOCK: Final = 8192
"""Words in one pass, about."""

_LONGEST: Final = 200
"""Words of a sentence that are read at once."""

_MAX_KNOWN: Final = 100_000
"""Spellings to keep (20 MB)."""

_SYLLABLE: Final = re.compile("[aeiouy]+")

Floats = npt.NDArray[np.float32]
Integers = npt.NDArray[np.int64]


class Hints(NamedTuple):
    """What the network thinks of each word, in order."""

    pause: Floats
    """Chance that a reader makes a strong pause after it."""

    beat: Floats
    """Chance that a reader makes it prominent."""

    tags: Integers
    """Number of its part of speech in Network.tags."""


def _count_roughly(word: str) -> int:
    syllables = len(_SYLLABLE.findall(word))
    return syllables - (word.endswith("e") and syllables > 1)


def spell_features(word: str) -> tuple[int, int, int, int]:
    """Numbers of a word's last two and three letters, its beginning and its shape."""
    shape = min(_count_roughly(word), 5) + 6 * ("'" in word) + 12 * (not word.isalpha())
    return (
        crc32(b"2" + word[-2:].encode()) % ENDINGS,
        crc32(b"3" + word[-3:].encode()) % ENDINGS,
        crc32(b"p" + word[:3].encode()) % ENDINGS,
        shape,
    )


SHAPES: Final = 24


def place_features(marks: Integers, ends: npt.NDArray[np.bool_], capitals: Integers) -> Integers:
    """Per word: the mark after it, the distances to the marks and the ends of the sentence
    around it, and whether a capital makes it a name; shape (words, 6).

    `marks` are numbers of MARKS; `ends` says after which words a sentence ends.
    """
    size = len(marks)
    at = np.arange(size)
    closed = marks > 0
    closed |= ends
    rows = np.empty((size, 6), np.int64)
    rows[:, 0] = marks
    for column, stops in ((1, closed), (3, ends)):
        starts = np.zeros(size, bool)
        starts[:1] = True
        starts[1:] = stops[:-1]
        rows[:, column] = at - np.maximum.accumulate(np.where(starts, at, 0))
        after = np.where(stops, at, size - 1)
        rows[:, column + 1] = np.minimum.accumulate(after[::-1])[::-1] - at
    np.minimum(rows[:, 1:5], FAR, out=rows[:, 1:5])
    rows[:, 5] = capitals * (rows[:, 3] > 0)
    return rows


class Network:
    """The network with its weights, and the vectors of the words that it has met."""

    def __init__(self, weights: Mapping[str, npt.NDArray[Any]]) -> None:
        def unpack(name: str) -> Floats:
            """A table that is stored in 8 bits with a scale for each row."""
            scales = weights[f"{name}_scales"].astype(np.float32)
            table: Floats = weights[name] * scales[:, None]
            return table

        words = weights["words"].tobytes().decode().split("\n")
        self.tags: tuple[str, ...] = tuple(weights["tagset"].tobytes().decode().split(" "))
        self._words: Final = dict(zip(words, range(1, len(words) + 1), strict=True))
        self._vectors: Final = weights["vectors"]
        self._scales: Final = weights["vectors_scales"].astype(np.float32)
        self._spelling: Final = [unpack(f"spell{i}") for i in range(4)]
        self._places: Final = [unpack(f"place{i}") for i in range(6)]
        names = ("near", "near_bias", "enter", "enter_bias", "turn", "turn_bias", "head")
        self._layers: Final = {
            name: weights[name].astype(np.float32) for name in (*names, "head_bias")
        }
        self._known: dict[str, int] = {}
        self._table: Floats = np.empty((1024, self._vectors.shape[1]), np.float32)
        self._growing: Final = Lock()

    @classmethod
    def load(cls) -> Network:
        """The network that ships with drillgen."""
        with np.load(data_file(WEIGHTS)) as stored:
            return cls({name: stored[name] for name in stored.files})

    def _look_up(self, words: Sequence[str]) -> Floats:
        """The vectors of the spellings, made where a word is new."""
        with self._growing:
            known = self._known
            new = sorted(set(words).difference(known))
            if len(known) + len(new) > _MAX_KNOWN:
                known.clear()
                new = sorted(set(words))
            start, stop = len(known), len(known) + len(new)
            if stop > len(self._table):
                grown = np.empty((2 * stop, self._table.shape[1]), np.float32)
                grown[:start] = self._table[:start]
                self._table = grown
            if new:
                self._table[start:stop] = self._embed(new)
                known.update(zip(new, range(start, stop), strict=True))
            numbers = np.fromiter(map(known.__getitem__, words), np.int64, len(words))
            return self._table[numbers]

    def _embed(self, words: Sequence[str]) -> Floats:
        rows = np.array([self._words.get(word, 0) for word in words])
        vectors: Floats = self._vectors[rows] * self._scales[rows, None]
        spelled = np.array(list(map(spell_features, words)))
        for table, column in zip(self._spelling, spelled.T, strict=True):
            vectors += table[column]
        return vectors

    def read(
        self,
        words: Sequence[str],
        marks: Integers,
        ends: npt.NDArray[np.bool_],
        capitals: Integers,
    ) -> Hints:
        """Hints for the spoken words (lower case) of a text, all sentences at once.

        `marks`, `ends`, `capitals`: see place_features.
        """
        vectors = self._look_up(words)
        places = place_features(marks, ends, capitals)
        for table, column in zip(self._places, places.T, strict=True):
            vectors += table[column]
        outputs = np.empty((len(words), len(self._layers["head_bias"])), np.float32)
        for start, lengths in _blocks(ends):
            stop = start + int(lengths.sum())
            outputs[start:stop] = self._run(vectors[start:stop], lengths)
        pause, beat = _softmax(outputs[:, :3]), _softmax(outputs[:, 3:6])
        return Hints(pause[:, 2], 1 - beat[:, 0], outputs[:, 6:].argmax(axis=1))

    def _run(self, vectors: Floats, lengths: Integers) -> Floats:
        """Scores for sentences that follow each other, of these lengths."""
        layers = self._layers
        hidden = _convolve(vectors, layers["near"], layers["near_bias"], lengths)
        live, ways = _line_up(lengths)
        scores: Floats = multiply(hidden, layers["head"][: hidden.shape[1]]) + layers["head_bias"]
        units = layers["turn"].shape[1]
        entering = _multiply_ways(hidden[ways], layers["enter"])
        entering += layers["enter_bias"][:, None]
        states = _recur(entering, layers["turn"], layers["turn_bias"], live)
        for way, order in enumerate(ways):
            start = hidden.shape[1] + way * units
            scores[order] += multiply(states[way], layers["head"][start : start + units])
        return scores


def _line_up(lengths: Integers) -> tuple[list[int], Integers]:
    """Words in the order of their steps: how many sentences take each step, and the words,
    forwards and backwards; shape (2, words).

    All sentences take a step together, the longest first, so that those that are done drop
    off the end.
    """
    order = np.argsort(-lengths, kind="stable")
    sizes = lengths[order]
    firsts = (np.cumsum(lengths) - lengths)[order]
    lasts = firsts + sizes - 1
    steps = np.arange(int(sizes[0]))
    live = (len(sizes) - np.searchsorted(sizes[::-1], steps, "right")).tolist()
    forwards = [firsts[:count] + step for step, count in enumerate(live)]
    backwards = [lasts[:count] - step for step, count in enumerate(live)]
    return live, np.stack([np.concatenate(forwards), np.concatenate(backwards)])


def _blocks(ends: npt.NDArray[np.bool_]) -> Iterable[tuple[int, Integers]]:
    """Where a stretch of whole sentences of about _BLOCK words starts, and their lengths.

    A sentence of more than _LONGEST words is read in parts.
    """
    stops = ends.copy()
    stops[-1:] = True
    places = np.flatnonzero(stops) + 1
    lengths = np.diff(places, prepend=0)
    if lengths.max(initial=0) > _LONGEST:
        for stop, length in zip(places.tolist(), lengths.tolist(), strict=True):
            stops[stop - length + _LONGEST - 1 : stop : _LONGEST] = True
        places = np.flatnonzero(stops) + 1
        lengths = np.diff(places, prepend=0)
    first = start = 0
    while first < len(places):
        last = max(int(np.searchsorted(places, start + _BLOCK, "right")), first + 1)
        yield start, lengths[first:last]
        first, start = last, int(places[last - 1])


def _convolve(vectors: Floats, weight: Floats, bias: Floats, lengths: Integers) -> Floats:
    """Each word with its two neighbours in the sentence; never less than 0."""
    made: Floats = multiply(vectors, weight[1]) + bias
    inner = np.ones((len(vectors), 1), np.float32)
    inner[np.cumsum(lengths) - 1] = 0
    made[1:] += multiply(vectors[:-1] * inner[:-1], weight[0])
    made[:-1] += multiply(vectors[1:] * inner[:-1], weight[2])
    return np.maximum(made, 0, out=made)


def _recur(entering: Floats, weight: Floats, bias: Floats, live: Sequence[int]) -> Floats:
    """A layer of gated recurrent units (Cho et al. 2014), forwards and backwards.

    `entering` (2, words, 3 units) goes into the reset, the update and the new state; its
    words and `live` are in the order of `_line_up`, and so are the states that come out.
    """
    units = weight.shape[1]
    state = np.zeros((2, live[0], units), np.float32)
    states = np.empty((2, entering.shape[1], units), np.float32)
    start = 0
    for count in live:
        given = entering[:, start : start + count]
        held = state[:, :count]
        turned = _multiply_ways(held, weight)
        opened = turned[..., : 2 * units]
        opened += given[..., : 2 * units]
        np.negative(opened, out=opened)
        np.exp(opened, out=opened)
        opened += 1
        np.reciprocal(opened, out=opened)
        fresh = turned[..., 2 * units :]
        fresh += bias[:, None]
        fresh *= opened[..., :units]
        fresh += given[..., 2 * units :]
        np.tanh(fresh, out=fresh)
        held -= fresh
        held *= opened[..., units:]
        held += fresh
        states[:, start : start + count] = held
        start += count
    return states


def _multiply_ways(rows: Floats, weights: Floats) -> Floats:
    """Forwards and backwards: (2, rows, in) and (2, in, out)."""
    made = np.empty((2, rows.shape[1], weights.shape[2]), np.float32)
    for way in (0, 1):
        multiply(rows[way], weights[way], made[way])
    return made


def _softmax(scores: Floats) -> Floats:
    shifted = np.exp(scores - scores.max(axis=1, keepdims=True))
    odds: Floats = shifted / shifted.sum(axis=1, keepdims=True)
    return odds
