"""Our own letter-to-phoneme network, run with numpy alone.

A transformer encoder reads the letters of a word and, after them, how
espeak-ng's rules would say it (where espeak-ng is there); a GRU then walks
over the letters and names the phones of each one, knowing those before (hard
monotonic attention; Wu & Cotterell 2019). It was trained on a part of CMUdict
by tools/train_predictor.py, which also says how the words were held out.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from itertools import chain, groupby
from math import exp, log
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, NamedTuple

import numpy as np

from drillgen.core.phones import PHONE_TABLE
from drillgen.core.resources import data_file
from drillgen.core.values import Phones
from drillgen.speech.pronounce.espeak import strip_stress
from drillgen.speech.pronounce.layers import GruCell, Linear, normalize, softmax

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from drillgen.speech.pronounce.layers import Array

MODEL_FILE: Final = "predict_network.npz"
BEAM: Final = 6
"""Partial readings that are kept at each letter."""

MAX_LETTERS: Final = 40
"""Longer words are cut: the network has seen none of more than 24 letters."""

MAX_MNEMONICS: Final = 48
BATCH: Final = 64
"""Words that are read at once: as many as keep the arrays inside the processor's cache."""


class Guess(NamedTuple):
    """One reading of a word by the network."""

    phones: Phones
    log_probability: float
    """Natural logarithm, summed over the ways to divide the phones among the letters."""


def spell_plainly(word: str) -> str:
    """The letters a to z and apostrophes of a word, accents taken off.

    >>> spell_plainly("Siobhán’s")
    "siobhan's"
    """
    text = word.lower().replace("’", "'").translate(_LIGATURES)
    return "".join(c for c in unicodedata.normalize("NFKD", text) if "a" <= c <= "z" or c == "'")


_LIGATURES: Final = {ord("æ"): "ae", ord("œ"): "oe", ord("ø"): "o", ord("ß"): "ss"} | {
    ord("ł"): "l",
    ord("đ"): "d",
    ord("ð"): "th",
    ord("þ"): "th",
}


class _Group(NamedTuple):
    """Words of one shape: as many letters and as many mnemonics."""

    rows: slice
    words: int
    length: int
    where: NDArray[np.intp]
    """Which relative position each pair of rows has, (length, length)."""


class _Block:
    """One layer of the encoder: attention, then two fully connected layers, each added to
    what goes in (norm first)."""

    def __init__(self, weights: Mapping[str, Array], heads: int) -> None:
        width = weights["norm1.weight"].shape[0]
        self._heads = heads
        qkv, bias = weights["qkv.weight"].copy(), weights["qkv.bias"].copy()
        # The scale of the attention goes into the queries once and for all.
        for part in (qkv, bias):
            part[:width] *= (width // heads) ** -0.5
        self._qkv = Linear(qkv, bias)
        self._out, self._up, self._down = (
            Linear(weights[f"{name}.weight"], weights[f"{name}.bias"])
            for name in ("out", "up", "down")
        )
        self._norms = [
            (weights[f"{name}.weight"], weights[f"{name}.bias"]) for name in ("norm1", "norm2")
        ]
        self._bias = np.ascontiguousarray(weights["bias"].T)

    def run(self, x: Array, groups: Sequence[_Group], wanted: NDArray[np.intp] | None) -> Array:
        """Rows of all words, (rows, width); only the `wanted` ones come out."""
        qkv = self._qkv(normalize(x, *self._norms[0]))
        mixed = np.empty_like(x)
        for group in groups:
            shape = group.words, group.length, 3, self._heads, -1
            q, k, v = qkv[group.rows].reshape(shape).transpose(2, 0, 3, 1, 4)
            scores = q @ k.swapaxes(2, 3)
            scores += self._bias[:, group.where]
            mixed[group.rows] = (softmax(scores) @ v).swapaxes(1, 2).reshape(-1, x.shape[1])
        if wanted is not None:
            x, mixed = x[wanted], mixed[wanted]
        y = self._out(mixed)
        y += x
        inner = self._up(normalize(y, *self._norms[1]))
        np.maximum(inner, 0, out=inner)
        y += self._down(inner)
        return y


class Network:
    """The weights, and what their rows stand for. All sizes come from the file."""

    def __init__(self, weights: Mapping[str, Any]) -> None:
        def f32(name: str) -> Array:
            array: Array = np.asarray(weights[name], dtype=np.float32)
            return array

        width, heads, layers, _inner, hidden, self._reach = (int(n) for n in weights["shape"])
        self._labels = tuple(
            () if label == "_" else tuple(str(label).split()) for label in weights["labels"]
        )
        self._letters = {str(c): i for i, c in enumerate(weights["letters"])}
        self._mnemonics = {str(m): i + 1 for i, m in enumerate(weights["mnemonics"])}
        self._forbidden: Array = np.where(weights["allowed"], 0.0, -1e4).astype(np.float32)
        # One table for all that is read: letters, then each mnemonic with each stress.
        letters, stresses = f32("letters.weight"), f32("stresses.weight")
        marks = f32("mnemonics.weight")[:, None] + stresses
        self._first_mark, self._stresses = len(letters), len(stresses)
        self._table = np.concatenate([letters, marks.reshape(-1, width)])
        self._blocks = []
        for i in range(layers):
            prefix = f"blocks.{i}."
            named = [name for name in weights if name.startswith(prefix)]
            self._blocks.append(_Block({n.removeprefix(prefix): f32(n) for n in named}, heads))
        self._norm = f32("norm.weight"), f32("norm.bias")
        # The GRU's input is the encoded letter and the chunk before: their shares of
        # the gates are worked out apart, the chunk's once and for all.
        gates = f32("gru.weight_ih_l0")
        self._letter_gates = Linear(gates[:, :width], f32("gru.bias_ih_l0"))
        self._previous_gates = f32("previous.weight") @ gates[:, width:].T
        self._cell = GruCell(f32("gru.weight_hh_l0"), f32("gru.bias_hh_l0"))
        head = f32("head.weight")
        self._state_head = Linear(head[:, :hidden])
        self._letter_head = Linear(head[:, hidden:], f32("head.bias"))

    @classmethod
    def load(cls, path: Path | None = None) -> Network:
        """Read the weights of the installation, or of a file."""
        with np.load(path if path is not None else data_file(MODEL_FILE)) as weights:
            return cls(dict(weights))

    def guess(
        self, words: Sequence[str], mnemonics: Sequence[Sequence[str]], beam: int = BEAM
    ) -> tuple[tuple[Guess, ...], ...]:
        """Readings of each word, likeliest first.

        `mnemonics` gives espeak-ng's mnemonics for each word; empty ones mean
        that there are none. A word without any letter has no reading. What a
        word gets never depends on the words beside it.
        """
        plain = [spell_plainly(word)[:MAX_LETTERS] for word in words]
        marks = [item[:MAX_MNEMONICS] for item in mnemonics]
        order = sorted(
            (i for i, letters in enumerate(plain) if letters.strip("'")),
            key=lambda i: (len(plain[i]), len(marks[i])),
            reverse=True,
        )
        result: list[tuple[Guess, ...]] = [()] * len(words)
        for at in range(0, len(order), BATCH):
            some = order[at : at + BATCH]
            batch = [plain[i] for i in some]
            encoded = self._encode(batch, [marks[i] for i in some])
            for i, guesses in zip(some, self._search(encoded, batch, beam), strict=True):
                result[i] = guesses
        return tuple(result)

    def _encode(self, words: Sequence[str], mnemonics: Sequence[Sequence[str]]) -> Array:
        """Encoded letters of all words, one after the other, (letters, width)."""
        start, stop = len(self._letters), len(self._letters) + 1
        rows: list[int] = []
        wanted: list[int] = []
        for word, marks in zip(words, mnemonics, strict=True):
            wanted += range(len(rows) + 1, len(rows) + 1 + len(word))
            rows += (start, *map(self._letters.__getitem__, word), stop)
            for bare, stress in map(strip_stress, marks):
                place = self._mnemonics.get(bare, 0) * self._stresses + stress
                rows.append(self._first_mark + place)
        groups = []
        at = 0
        shapes = zip(map(len, words), map(len, mnemonics), strict=True)
        for (letters, extra), equal in groupby(shapes):
            count, length = sum(1 for _ in equal), letters + 2 + extra
            end = at + count * length
            where = self._relate(letters + 2, extra)
            groups.append(_Group(slice(at, end), count, length, where))
            at = end
        x = self._table[rows]
        for block in self._blocks[:-1]:
            x = block.run(x, groups, None)
        # Only the letters are wanted from the last block.
        x = self._blocks[-1].run(x, groups, np.array(wanted))
        return normalize(x, *self._norm)

    def _relate(self, letters: int, extra: int) -> NDArray[np.intp]:
        """Which kind of pair, and how far apart, each two rows of a word are."""
        places = np.concatenate([np.arange(letters), np.arange(1, extra + 1)])
        kinds = np.arange(letters + extra) >= letters
        far = np.clip(places[:, None] - places, -self._reach, self._reach) + self._reach
        result: NDArray[np.intp] = (kinds[:, None] * 2 + kinds) * (2 * self._reach + 1) + far
        return result

    def _search(
        self, encoded: Array, words: Sequence[str], beam: int
    ) -> Iterator[tuple[Guess, ...]]:
        """Beam search over the chunks of the letters, longest words first."""
        gates, heads = self._letter_gates(encoded), self._letter_head(encoded)
        labels = len(self._labels)
        lengths = np.array([len(word) for word in words])
        starts = np.cumsum(lengths) - lengths
        codes = np.array([self._letters[c] for word in words for c in word])
        state = np.zeros((len(words), 1, self._cell.hidden), np.float32)
        total = np.zeros((len(words), 1), np.float32)
        last = np.full((len(words), 1), labels)
        path = np.zeros((len(words), 1, 0), np.int64)
        ended: list[tuple[Guess, ...]] = []
        for i in range(lengths[0]):
            count = int(np.count_nonzero(lengths > i))
            ended[:0] = map(self._collect, path[count:].tolist(), total[count:].tolist())
            state, total, last, path = state[:count], total[:count], last[:count], path[:count]
            here, kept = starts[:count] + i, state.shape[1]
            given = gates[here, None] + self._previous_gates[last]
            state = self._cell(given.reshape(count * kept, -1), state.reshape(count * kept, -1))
            scores = self._state_head(state).reshape(count, kept, labels)
            scores += heads[here, None]
            scores -= scores.max(axis=2, keepdims=True)
            scores -= np.log(np.exp(scores).sum(axis=2, keepdims=True))
            scores += self._forbidden[codes[here]][:, None]
            scores += total[..., None]
            both = scores.reshape(count, -1)
            best = np.argpartition(-both, min(beam, both.shape[1]) - 1, axis=1)[:, :beam]
            source, last = best // labels, best % labels
            rows = np.arange(count)[:, None]
            total = both[rows, best]
            state = state.reshape(count, kept, -1)[rows, source]
            path = np.concatenate([path[rows, source], last[..., None]], axis=2)
        return chain(map(self._collect, path.tolist(), total.tolist()), ended)

    def _collect(
        self, paths: Sequence[Sequence[int]], totals: Sequence[float]
    ) -> tuple[Guess, ...]:
        """Readings of one word: paths with the same phones add up."""
        sums: dict[tuple[str, ...], float] = {}
        for path, total in zip(paths, totals, strict=True):
            symbols = tuple(chain.from_iterable(map(self._labels.__getitem__, path)))
            if symbols:
                sums[symbols] = sums.get(symbols, 0.0) + exp(max(total, -700.0))
        ranked = sorted(sums.items(), key=lambda item: -item[1])
        return tuple(
            Guess(tuple(map(PHONE_TABLE.__getitem__, symbols)), log(max(chance, 1e-300)))
            for symbols, chance in ranked
        )
