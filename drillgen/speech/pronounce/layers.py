"""The parts that letter-to-phoneme networks are made of, run with numpy alone.

What a row becomes never depends on the rows beside it, so that a word is read alike alone and
in company. BLAS picks its way of adding up, and its number of threads, by the shape of the
matrices; so they are multiplied in tiles of one shape for each layer, so small that they start
no threads (drillgen/core/matrices.py).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from drillgen.core.matrices import TILE_WORK

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float32]

TILE_ROWS: Final = 8


class Linear:
    """A fully connected layer: x @ weight.T + bias."""

    def __init__(self, weight: Array, bias: Array | None = None) -> None:
        """`weight` is (out, in), as PyTorch has it; `bias` (out,)."""
        self._out, size = weight.shape
        # Whole vector registers wide; wider ones were no faster.
        width = next(w for w in (64, 32, 16, 8, 4) if w == 4 or TILE_ROWS * w * size <= TILE_WORK)
        count = -(-self._out // width)
        padded = np.zeros((count * width, size), np.float32)
        padded[: self._out] = weight
        self._tiles: Array = np.ascontiguousarray(
            padded.reshape(count, width, size).transpose(0, 2, 1)
        )
        self._bias = None if bias is None else np.asarray(bias, np.float32)

    def __call__(self, x: Array) -> Array:
        """(rows, in) to (rows, out)."""
        rows, size = x.shape
        count, _, width = self._tiles.shape
        blocks = -(-rows // TILE_ROWS)
        if blocks * TILE_ROWS != rows:
            whole = np.zeros((blocks * TILE_ROWS, size), np.float32)
            whole[:rows] = x
            x = whole
        result = np.empty((blocks, TILE_ROWS, count, width), np.float32)
        np.matmul(
            x.reshape(blocks, 1, TILE_ROWS, size), self._tiles, out=result.transpose(0, 2, 1, 3)
        )
        y: Array = result.reshape(blocks * TILE_ROWS, count * width)[:rows, : self._out]
        if self._bias is not None:
            y += self._bias
        return y


class GruCell:
    """A gated recurrent unit (Cho et al. 2014) with gates in PyTorch's order: reset, update,
    new. The share of its input in the gates is worked out before, for all steps at once."""

    def __init__(self, weight: Array, bias: Array) -> None:
        """`weight` (3 hidden, hidden) and `bias` (3 hidden,) of the state's share."""
        self._own = Linear(weight, bias)
        self.hidden: Final = weight.shape[1]

    def __call__(self, given: Array, state: Array) -> Array:
        """The next state, (rows, hidden); `given` is the input's share, (rows, 3 hidden)."""
        size = self.hidden
        own = self._own(state)
        opened = sigmoid(given[:, : 2 * size] + own[:, : 2 * size])
        fresh = np.tanh(given[:, 2 * size :] + opened[:, :size] * own[:, 2 * size :])
        result: Array = fresh + opened[:, size:] * (state - fresh)
        return result


def normalize(x: Array, weight: Array, bias: Array) -> Array:
    """Layer normalization over the last axis."""
    centred: Array = x - x.mean(axis=-1, keepdims=True)
    variance = (centred * centred).mean(axis=-1, keepdims=True)
    variance += 1e-5
    centred /= np.sqrt(variance)
    centred *= weight
    centred += bias
    return centred


def softmax(x: Array) -> Array:
    """Exponentials that sum to 1 over the last axis; overwrites x."""
    x -= x.max(axis=-1, keepdims=True)
    np.exp(x, out=x)
    x /= x.sum(axis=-1, keepdims=True)
    return x


def sigmoid(x: Array) -> Array:
    """1 / (1 + exp(-x)); overwrites x."""
    np.negative(x, out=x)
    np.exp(x, out=x)
    x += 1.0
    np.reciprocal(x, out=x)
    return x
