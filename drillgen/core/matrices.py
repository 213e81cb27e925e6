"""Products of matrices that leave the other cores alone, whatever the caller has set.

OpenBLAS starts threads above 262,144 multiplications (interface/gemm.c: SMP_THRESHOLD_MIN times
GEMM_MULTITHREAD_THRESHOLD), and they spin for a while when there is nothing more to do.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float32]

TILE_WORK: Final = 1 << 18
"""Most multiplications in one product."""


def multiply(x: Array, weight: Array, out: Array | None = None) -> Array:
    """x @ weight, (rows, in) and (in, out), in pieces that start no threads; into `out`, if any.

    The pieces are larger than a layer's tiles (speech/pronounce/layers.py), and the last is as
    it comes: a row may differ in its last bits by what stands beside it.
    """
    rows, (size, wide) = len(x), weight.shape
    piece = max(1, TILE_WORK // (size * wide))
    made = np.empty((rows, wide), np.float32) if out is None else out
    for start in range(0, rows, piece):
        np.matmul(x[start : start + piece], weight, out=made[start : start + piece])
    return made
