"""The parts of networks, against their definitions in double precision: layer normalization
(Ba, Kiros and Hinton 2016), the gated recurrent unit (Cho et al. 2014; gates in the order and
with the reset that PyTorch documents for nn.GRU), softmax and the logistic function."""

from __future__ import annotations

import numpy as np
import pytest

from drillgen.core.matrices import TILE_WORK
from drillgen.speech.pronounce.layers import (
    TILE_ROWS,
    GruCell,
    Linear,
    normalize,
    sigmoid,
    softmax,
)


def draw(*shape: int) -> np.ndarray:
    """Numbers that are the same in every run."""
    return np.random.default_rng(sum(shape)).normal(size=shape).astype(np.float32)


@pytest.mark.parametrize("rows", [1, 7, 8, 9, 16])
@pytest.mark.parametrize(("out", "size"), [(3, 5), (64, 17), (65, 40), (130, 600)])
def test_a_layer_is_a_product_and_an_offset(rows: int, out: int, size: int) -> None:
    x, weight, bias = draw(rows, size), draw(out, size), draw(out)
    given = x.copy()
    wanted = x.astype(float) @ weight.T.astype(float)
    layer, bare = Linear(weight, bias), Linear(weight)
    for _ in range(2):
        assert layer(x) == pytest.approx(wanted + bias, abs=1e-3)
        assert bare(x) == pytest.approx(wanted, abs=1e-3)
    assert layer(x).shape == (rows, out)
    assert layer(x).dtype == np.float32
    assert (x == given).all()


@pytest.mark.parametrize("size", [1, 512, 513, 1024, 1025, 2048, 2049, 4096, 4097, 20_000])
def test_tiles_are_as_wide_as_one_core_takes(size: int) -> None:
    """OpenBLAS starts threads above 262,144 multiplications; wider tiles are quicker."""
    tiles = Linear(np.zeros((70, size), np.float32))._tiles
    _, depth, width = tiles.shape
    assert tiles.dtype == np.float32
    assert depth == size
    assert width in (64, 32, 16, 8, 4)
    assert width == 4 or TILE_ROWS * width * size <= TILE_WORK == 262_144
    assert width == 64 or 2 * TILE_ROWS * width * size > TILE_WORK


@pytest.mark.parametrize("rows", [1, 5])
def test_gated_recurrent_unit(rows: int) -> None:
    size = 6
    weight, bias = draw(3 * size, size), draw(3 * size)
    given, state = draw(rows, 3 * size), draw(rows, size)
    own = state.astype(float) @ weight.T + bias
    reset, update = (
        1 / (1 + np.exp(-(given[:, a : a + size] + own[:, a : a + size]))) for a in (0, size)
    )
    fresh = np.tanh(given[:, 2 * size :] + reset * own[:, 2 * size :])
    wanted = (1 - update) * fresh + update * state
    cell = GruCell(weight, bias)
    assert cell.hidden == size
    assert cell(given.copy(), state) == pytest.approx(wanted, abs=1e-5)


@pytest.mark.parametrize("scale", [1.0, 0.003])
def test_layer_normalization(scale: float) -> None:
    """Rows far from 0; and rows so even that the 0.00001 under the root counts."""
    x = draw(2, 3, 8) * np.float32(scale) + np.float32(5.0)
    weight, bias = draw(8), draw(9)[:8]
    wide = x.astype(float)
    mean = wide.mean(axis=-1, keepdims=True)
    wanted = (wide - mean) / np.sqrt(wide.var(axis=-1, keepdims=True) + 1e-5) * weight + bias
    before = x.copy()
    assert normalize(x, weight, bias) == pytest.approx(wanted, abs=2e-3)
    assert (x == before).all()


def test_softmax_and_sigmoid() -> None:
    x = draw(2, 4, 5) * 3
    x[0, 0, 0] = 80.0
    powers = np.exp(x.astype(float))
    assert softmax(x.copy()) == pytest.approx(powers / powers.sum(axis=-1, keepdims=True))
    assert sigmoid(x.copy()) == pytest.approx(1 / (1 + np.exp(-x.astype(float))))
    # Too large for an exponential.
    assert softmax(np.array([[1000.0, 1000.0]], np.float32)).tolist() == [[0.5, 0.5]]
