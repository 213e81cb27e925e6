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


def multiply(x: Array, weight: Array) -> Array:
    """x @ weight, (rows, in) and (in, out), in pieces that start no threads.

    The pieces are larger than a Linear's tiles, and the last is as it comes: a row may differ
    in its last bits by what stands beside it.
    """
    rows, (size, out) = len(x), weight.shape
    piece = max(1, TILE_WORK // (size * out))
    if rows <= piece:
        return x @ weight
    result = np.empty((rows, out), np.float32)
    for start in range(0, rows, piece):
        np.matmul(x[start : start + piece], weight, out=result[start : start + piece])
    return result
