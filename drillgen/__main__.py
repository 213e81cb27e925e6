"""`drillgen` and `python -m drillgen`: the command line."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Sequence


def main() -> None:
    """Run the command line; a Ctrl-C while it still loads ends it in one line, too."""
    # A command makes many objects and hardly a cycle: looking for cycles takes a tenth of a
    # sheet's time, and so does a last look at the end.
    gc.set_threshold(50_000, 20, 20)
    # In a process of our own: numpy's library for matrices would start threads that nothing of
    # ours uses, and each of them spins for a while (0.1 s of processor time a command).
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    try:
        from drillgen.cli import run

        code = run(expand(sys.argv[1:]) if os.name == "nt" else sys.argv[1:])
        gc.freeze()
    except KeyboardInterrupt:
        code = 130
        print("drillgen: stopped", file=sys.stderr)
    sys.exit(code)


def expand(words: Sequence[str]) -> list[str]:
    """The words of a command line, *.txt as the files that are there: Windows' shells leave that
    to the program."""
    from glob import glob

    # Not Path.glob: a pattern may begin at any drive.
    return [name for word in words for name in (sorted(glob(word)) or [word])]  # noqa: PTH207


if __name__ == "__main__":
    main()
