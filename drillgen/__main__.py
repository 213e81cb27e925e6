"""`drillgen` and `python -m drillgen`: the command line."""

from __future__ import annotations

import gc
import os
import sys


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

        code = run(sys.argv[1:])
        gc.freeze()
    except KeyboardInterrupt:
        code = 130
        print("drillgen: stopped", file=sys.stderr)
    sys.exit(code)


if __name__ == "__main__":
    main()
