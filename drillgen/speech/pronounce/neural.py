"""Our own letter-to-phoneme network, run with numpy alone.

A transformer encoder reads the letters of a word and, after them, how
espeak-ng's rules would say it (where espeak-ng is there); a GRU then walks
over the letters and names the phones of each one, knowing those before (hard
monotonic attention; Wu & Cotterell 2019). It was trained on a part of CMUdict
by tools/train_predictor.py, which also says how the words were held out.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from drillgen.core.phones import parse_phones
from drillgen.core.resources import data_file
from drillgen.core.values import Phones
from drillgen.speech.pronounce.espeak import strip_stress

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float32]

MODEL_FILE: Final = "predict_network.npz"
BEAM: Final = 6
"""Partial readings that are kept at each letter."""

MAX_LETTERS: Final = 40
"""Longer words are cut: the network has seen none of more than 24 letters."""

MAX_MNEMONICS: Final = 48
BATCH: Final = 96


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


class Network:
    """The weights, and what their rows stand for."""

    def __init__(self, weights: Mapping[str, Any]) -> None:
        import numpy as np

        def f32(name: str) -> Array:
            array: Array = np.asarray(weights[name], dtype=np.float32)
            return array

        width, self._heads, layers, _inner, hidden, self._reach = (
            int(n) for n in weights["shape"]
        )
        self._labels = tuple(
            () if label == "_" else tuple(str(label).split()) for label in weights["labels"]
        )
        self._letters = {str(c): i for i, c in enumerate(weights["letters"])}
        self._mnemonics = {str(m): i + 1 for i, m in enumerate(weights["mnemonics"])}
        self._forbidden: Array = np.where(weights["allowed"], 0.0, -1e4).astype(np.float32)
        self._letter_rows = f32("letters.weight")
        self._mnemonic_rows = f32("mnemonics.weight")
        self._stress_rows = f32("stresses.weight")
        self._blocks = [
            {
                name: f32(f"blocks.{i}.{name}")
                for name in (
                    *("norm1.weight", "norm1.bias", "norm2.weight", "norm2.bias", "bias"),
                    *(
                        f"{m}.{kind}"
                        for m in ("qkv", "out", "up", "down")
                        for kind in ("weight", "bias")
                    ),
                )
            }
            for i in range(layers)
        ]
        self._norm = f32("norm.weight"), f32("norm.bias")
        # The GRU's input is the encoded letter and the chunk before: their shares of
        # the gates are worked out apart, the chunk's once and for all.
        gates = f32("gru.weight_ih_l0")
        self._letter_gates = np.ascontiguousarray(gates[:, :width].T)
        self._letter_gates_bias = f32("gru.bias_ih_l0")
        self._previous_gates = f32("previous.weight") @ gates[:, width:].T
        self._state_gates = np.ascontiguousarray(f32("gru.weight_hh_l0").T)
        self._state_gates_bias = f32("gru.bias_hh_l0")
        head = f32("head.weight")
        self._state_head = np.ascontiguousarray(head[:, :hidden].T)
        self._letter_head = np.ascontiguousarray(head[:, hidden:].T)
        self._head_bias = f32("head.bias")

    @classmethod
    def load(cls, path: Path | None = None) -> Network:
        """Read the weights of the installation, or of a file."""
        import numpy as np

        with np.load(path if path is not None else data_file(MODEL_FILE)) as weights:
            return cls(dict(weights))

    def guess(
        self, words: Sequence[str], mnemonics: Sequence[Sequence[str]], beam: int = BEAM
    ) -> tuple[tuple[Guess, ...], ...]:
        """Readings of each word, likeliest first.

        `mnemonics` gives espeak-ng's mnemonics for each word; empty ones mean
        that there are none. A word without any letter has no reading.
        """
        plain = [spell_plainly(word)[:MAX_LETTERS] for word in words]
        order = sorted(
            (i for i, letters in enumerate(plain) if letters.strip("'")),
            key=lambda i: (len(plain[i]), len(mnemonics[i])),
        )
        result: list[tuple[Guess, ...]] = [()] * len(words)
        at = 0
        while at < len(order):
            length = len(plain[order[at]])
            end = at
            while end < len(order) and end - at < BATCH and len(plain[order[end]]) == length:
                end += 1
            some = order[at:end]
            encoded = self._encode([plain[i] for i in some], [mnemonics[i] for i in some])
            for i, guesses in zip(
                some, self._search(encoded, [plain[i] for i in some], beam), strict=True
            ):
                result[i] = guesses
            at = end
        return tuple(result)

    def _encode(self, words: Sequence[str], mnemonics: Sequence[Sequence[str]]) -> Array:
        """Encoded letters, (words, letters, width). All words have the same length."""
        import numpy as np

        count, length = len(words), len(words[0])
        extra = min(MAX_MNEMONICS, max(len(m) for m in mnemonics))
        start, stop = len(self._letters), len(self._letters) + 1
        letters = np.array([[start, *(self._letters[c] for c in w), stop] for w in words])
        marks = np.zeros((count, extra), np.int64)
        stresses = np.zeros((count, extra), np.int64)
        mask = np.zeros((count, 1, 1, length + 2 + extra), np.float32)
        mask[:, 0, 0, length + 2 :] = -1e4
        for row, item in enumerate(mnemonics):
            for column, mnemonic in enumerate(item[:extra]):
                bare, stress = strip_stress(mnemonic)
                marks[row, column] = self._mnemonics.get(bare, 0)
                stresses[row, column] = stress
            mask[row, 0, 0, length + 2 : length + 2 + len(item)] = 0.0
        x = np.concatenate(
            [self._letter_rows[letters], self._mnemonic_rows[marks] + self._stress_rows[stresses]],
            axis=1,
        )
        places = np.concatenate([np.arange(length + 2), np.arange(1, extra + 1)])
        kinds = (np.arange(length + 2 + extra) >= length + 2).astype(np.int64)
        far = np.clip(places[:, None] - places[None], -self._reach, self._reach) + self._reach
        where = (kinds[:, None] * 2 + kinds[None]) * (2 * self._reach + 1) + far
        for i, block in enumerate(self._blocks):
            # Only the letters are wanted from the last block.
            wanted = length + 2 if i == len(self._blocks) - 1 else None
            x = self._run_block(x, block, where, mask, wanted)
        return _normalize(x, *self._norm)[:, 1 : length + 1]

    def _run_block(
        self,
        x: Array,
        block: Mapping[str, Array],
        where: NDArray[np.int64],
        mask: Array,
        wanted: int | None,
    ) -> Array:
        count, length, width = x.shape
        heads, size = self._heads, width // self._heads
        flat = _normalize(x, block["norm1.weight"], block["norm1.bias"]).reshape(-1, width)
        qkv = (flat @ block["qkv.weight"].T + block["qkv.bias"]).reshape(
            count, length, 3, heads, size
        )
        q = qkv[:, :wanted, 0].transpose(0, 2, 1, 3)
        k = qkv[:, :, 1].transpose(0, 2, 3, 1)
        v = qkv[:, :, 2].transpose(0, 2, 1, 3)
        scores = q @ k
        scores *= size**-0.5
        scores += block["bias"][where[:wanted]].transpose(2, 0, 1)[None]
        scores += mask
        mixed = (_softmax(scores) @ v).transpose(0, 2, 1, 3)
        rows = mixed.shape[1]
        y = x[:, :wanted] + (
            mixed.reshape(-1, width) @ block["out.weight"].T + block["out.bias"]
        ).reshape(count, rows, width)
        flat = _normalize(y, block["norm2.weight"], block["norm2.bias"]).reshape(-1, width)
        inner: Array = flat @ block["up.weight"].T + block["up.bias"]
        inner *= inner > 0
        outer: Array = inner @ block["down.weight"].T + block["down.bias"]
        result: Array = y + outer.reshape(count, rows, width)
        return result

    def _search(self, encoded: Array, words: Sequence[str], beam: int) -> list[tuple[Guess, ...]]:
        """Beam search over the chunks of the letters."""
        import numpy as np

        count, length, width = encoded.shape
        flat = encoded.reshape(-1, width)
        gates = (flat @ self._letter_gates + self._letter_gates_bias).reshape(count, length, -1)
        heads = (flat @ self._letter_head + self._head_bias).reshape(count, length, -1)
        labels = len(self._labels)
        hidden = self._state_gates.shape[0]
        state = np.zeros((count, 1, hidden), np.float32)
        total = np.zeros((count, 1), np.float32)
        last = np.full((count, 1), labels)
        path = np.zeros((count, 1, 0), np.int64)
        rows = np.arange(count)[:, None]
        codes = np.array([[self._letters[c] for c in w] for w in words])
        for i in range(length):
            kept = state.shape[1]
            given = gates[:, i, None] + self._previous_gates[last]
            own = state.reshape(-1, hidden) @ self._state_gates + self._state_gates_bias
            own = own.reshape(count, kept, -1)
            opened = _sigmoid(given[..., : 2 * hidden] + own[..., : 2 * hidden])
            reset, update = opened[..., :hidden], opened[..., hidden:]
            fresh = np.tanh(given[..., 2 * hidden :] + reset * own[..., 2 * hidden :])
            state = np.asarray(fresh + update * (state - fresh), dtype=np.float32)
            scores = (state.reshape(-1, hidden) @ self._state_head).reshape(count, kept, labels)
            scores += heads[:, i, None]
            scores -= scores.max(axis=2, keepdims=True)
            scores -= np.log(np.exp(scores).sum(axis=2, keepdims=True))
            scores += self._forbidden[codes[:, i]][:, None]
            scores += total[..., None]
            both = scores.reshape(count, -1)
            best = np.argpartition(-both, min(beam, both.shape[1]) - 1, axis=1)[:, :beam]
            total = both[rows, best]
            source, last = best // labels, best % labels
            state = state[rows, source]
            path = np.concatenate([path[rows, source], last[..., None]], axis=2)
        return [self._collect(path[row].tolist(), total[row].tolist()) for row in range(count)]

    def _collect(
        self, paths: Sequence[Sequence[int]], totals: Sequence[float]
    ) -> tuple[Guess, ...]:
        """Readings of one word: paths with the same phones add up."""
        from math import exp, log

        sums: dict[tuple[str, ...], float] = {}
        for path, total in zip(paths, totals, strict=True):
            phones = tuple(phone for label in path for phone in self._labels[label])
            if phones:
                sums[phones] = sums.get(phones, 0.0) + exp(max(total, -700.0))
        ranked = sorted(sums.items(), key=lambda item: -item[1])
        return tuple(
            Guess(parse_phones(phones), log(max(chance, 1e-300))) for phones, chance in ranked
        )


def _normalize(x: Array, weight: Array, bias: Array) -> Array:
    """Layer normalization over the last axis."""
    mean = x.mean(axis=-1, keepdims=True)
    centred = x - mean
    variance = (centred * centred).mean(axis=-1, keepdims=True)
    result: Array = centred / (variance + 1e-5) ** 0.5 * weight + bias
    return result


def _softmax(x: Array) -> Array:
    import numpy as np

    x -= x.max(axis=-1, keepdims=True)
    np.exp(x, out=x)
    x /= x.sum(axis=-1, keepdims=True)
    return x


def _sigmoid(x: Array) -> Array:
    import numpy as np

    result: Array = np.reciprocal(1.0 + np.exp(-x), dtype=np.float32)
    return result
