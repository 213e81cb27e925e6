"""Our own letter-to-phoneme network, run with numpy alone.

A transformer encoder reads the letters of a word with a look at how espeak-ng's
rules would say it (where espeak-ng is there); a GRU then walks over the letters
and names the phones of each one, knowing those before (hard monotonic attention;
Wu & Cotterell 2019), and a layer beside it says which letters are stressed. It
was trained on parts of CMUdict, of Wiktionary's pronunciations and of misaki's
dictionary by tools/train_predictor.py. It knows the habits of each source, and
is asked for those of one.
"""

from __future__ import annotations

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
from drillgen.speech.pronounce.lexicon import spell_plainly

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from drillgen.speech.pronounce.layers import Array

MODEL_FILE: Final = "predict_network.npz"
SOURCE: Final = "U"
"""Whose habits a reading has: Wiktionary's American forms. Others: "C" CMUdict, "B"
Wiktionary's British forms, "M" misaki."""

BEAM: Final = 5
"""Partial readings that are kept at each letter."""

_END: Final = 2
"""Row of the end of a word."""

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


class _Group(NamedTuple):
    """Words of one shape: as many letters and as many mnemonics."""

    rows: slice
    words: int
    length: int
    where: NDArray[np.intp]
    """Which relative position each letter and each letter or mnemonic have."""

    marks: NDArray[np.intp]
    """Rows of the mnemonics' tables, (words, mnemonics + 2), with a 0 at both ends."""


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
        # What attention sees of a mnemonic, of the one before it and of the one after it.
        self._marks = [weights[f"marks.{i}.weight"] for i in range(3)]

    def run(self, x: Array, groups: Sequence[_Group], wanted: NDArray[np.intp] | None) -> Array:
        """Rows of the letters of all words, (rows, width); only the `wanted` ones come out."""
        qkv = self._qkv(normalize(x, *self._norms[0]))
        mixed = np.empty_like(x)
        for group in groups:
            shape = group.words, group.length, 3, self._heads, -1
            q, k, v = qkv[group.rows].reshape(shape).transpose(2, 0, 3, 1, 4)
            if group.marks.shape[1] > 2:
                here, before, after = self._marks
                marks = group.marks
                seen = here[marks[:, 1:-1]] + before[marks[:, :-2]] + after[marks[:, 2:]]
                pairs = seen.reshape(group.words, -1, 2, *k.shape[1::2]).transpose(2, 0, 3, 1, 4)
                k, v = (np.concatenate(both, axis=2) for both in zip((k, v), pairs, strict=True))
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
        # The phones of each label, by the stress of its first vowel; whether it has one.
        self._said = [[_say(label, stress) for stress in (0, 1, 2)] for label in self._labels]
        self._vowels = [said[0] != said[1] for said in self._said]
        # Rows 0 to 2 are nothing and the ends of a word.
        self._letters = {str(c): i + 3 for i, c in enumerate(weights["letters"])}
        self._mnemonics = {str(m): i + 1 for i, m in enumerate(weights["mnemonics"])}
        self._sources = {str(s): i for i, s in enumerate(weights["sources"])}
        self._forbidden: Array = np.where(weights["allowed"], 0.0, -1e4).astype(np.float32)
        # One table for all that is read: letters, then the beginning of a word in each source.
        starts = f32("letters.weight")[1] + f32("sources.weight")
        self._table = np.concatenate([f32("letters.weight"), starts])
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
        self._stress = Linear(f32("stress.weight"), f32("stress.bias"))

    @classmethod
    def load(cls, path: Path | None = None) -> Network:
        """Read the weights of the installation, or of a file."""
        with np.load(path if path is not None else data_file(MODEL_FILE)) as weights:
            return cls(dict(weights))

    def guess(
        self,
        words: Sequence[str],
        mnemonics: Sequence[Sequence[str]],
        source: str = SOURCE,
        beam: int = BEAM,
    ) -> tuple[tuple[Guess, ...], ...]:
        """Readings of each word, likeliest first, in the habits of a source.

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
            encoded = self._encode(batch, [marks[i] for i in some], source)
            for i, guesses in zip(some, self._search(encoded, batch, beam), strict=True):
                result[i] = guesses
        return tuple(result)

    def _encode(
        self, words: Sequence[str], mnemonics: Sequence[Sequence[str]], source: str
    ) -> Array:
        """Encoded letters of all words, one after the other, (letters, width)."""
        start = len(self._letters) + 3 + self._sources[source]
        rows: list[int] = []
        wanted: list[int] = []
        for word in words:
            wanted += range(len(rows) + 1, len(rows) + 1 + len(word))
            rows += (start, *map(self._letters.__getitem__, word), _END)
        groups = []
        at = row = 0
        shapes = zip(map(len, words), map(len, mnemonics), strict=True)
        for (letters, extra), equal in groupby(shapes):
            count = sum(1 for _ in equal)
            end = at + count * (letters + 2)
            marks = np.zeros((count, extra + 2), np.intp)
            for line, said in zip(marks, mnemonics[row : row + count], strict=True):
                line[1:-1] = list(map(self._read_mark, said))
            where = self._relate(letters + 2, extra)
            groups.append(_Group(slice(at, end), count, letters + 2, where, marks))
            at, row = end, row + count
        x = self._table[rows]
        for block in self._blocks[:-1]:
            x = block.run(x, groups, None)
        # Only the letters are wanted from the last block.
        x = self._blocks[-1].run(x, groups, np.array(wanted))
        return normalize(x, *self._norm)

    def _read_mark(self, mnemonic: str) -> int:
        """The row of a mnemonic with its stress: 3 for each, from 1 on; unknown ones first."""
        bare, stress = strip_stress(mnemonic)
        return 1 + 3 * self._mnemonics.get(bare, 0) + stress

    def _relate(self, letters: int, extra: int) -> NDArray[np.intp]:
        """How far each letter and each letter or mnemonic are apart, by kind."""
        places = np.concatenate([np.arange(letters), np.arange(1, extra + 1)])
        far = np.clip(np.arange(letters)[:, None] - places, -self._reach, self._reach)
        kinds = np.arange(letters + extra) >= letters
        result: NDArray[np.intp] = far + self._reach + kinds * (2 * self._reach + 1)
        return result

    def _search(
        self, encoded: Array, words: Sequence[str], beam: int
    ) -> Iterator[tuple[Guess, ...]]:
        """Beam search over the chunks of the letters, longest words first."""
        gates, heads = self._letter_gates(encoded), self._letter_head(encoded)
        labels = len(self._labels)
        lengths = np.array([len(word) for word in words])
        starts = np.cumsum(lengths) - lengths
        codes = np.array([self._letters[c] - 3 for word in words for c in word])
        stresses = self._stress(encoded).tolist()
        degrees = [stresses[a : a + n] for a, n in zip(starts.tolist(), lengths, strict=True)]
        state = np.zeros((len(words), 1, self._cell.hidden), np.float32)
        total = np.zeros((len(words), 1), np.float32)
        last = np.full((len(words), 1), labels)
        path = np.zeros((len(words), 1, 0), np.int64)
        ended: list[tuple[Guess, ...]] = []
        for i in range(lengths[0]):
            count = int(np.count_nonzero(lengths > i))
            ended[:0] = map(
                self._collect, path[count:].tolist(), total[count:].tolist(), degrees[count:]
            )
            del degrees[count:]
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
        return chain(map(self._collect, path.tolist(), total.tolist(), degrees), ended)

    def _collect(
        self,
        paths: Sequence[Sequence[int]],
        totals: Sequence[float],
        degrees: Sequence[Sequence[float]],
    ) -> tuple[Guess, ...]:
        """Readings of one word: paths with the same phones add up."""
        wanted = [main - none for none, main, _ in degrees]
        weak = [2 if second > none else 0 for none, _, second in degrees]
        sums: dict[Phones, float] = {}
        for path, total in zip(paths, totals, strict=True):
            phones = self._read(path, wanted, weak)
            if phones:
                sums[phones] = sums.get(phones, 0.0) + exp(max(total, -700.0))
        ranked = sorted(sums.items(), key=lambda item: -item[1])
        return tuple(Guess(phones, log(max(chance, 1e-300))) for phones, chance in ranked)

    def _read(self, path: Sequence[int], wanted: Sequence[float], weak: Sequence[int]) -> Phones:
        """The phones of a path, with one main stress: on the letter that wants it most."""
        vowels = [i for i, label in enumerate(path) if self._vowels[label]]
        main = max(vowels, key=wanted.__getitem__, default=-1)
        labels = enumerate(path)
        rows = [self._said[label][1 if i == main else weak[i]] for i, label in labels]
        return tuple(chain.from_iterable(rows))


def _say(label: Sequence[str], stress: int) -> Phones:
    """The phones of a label: its first vowel with this stress, others without."""
    phones = []
    for symbol in label:
        said = PHONE_TABLE.get(f"{symbol}{stress}")
        stress = 0 if said else stress
        phones.append(said or PHONE_TABLE[symbol])
    return tuple(phones)
