"""`drillgen` and `python -m drillgen`: the command line."""

from __future__ import annotations

import gc
import sys


def main() -> None:
    """Run the command line; a Ctrl-C while it still loads ends it in one line, too."""
    try:
        # What is loaded now stays to the end: the collector need not look for it.
        gc.disable()
        from drillgen.cli import run

        gc.freeze()
        gc.enable()
        code = run(sys.argv[1:])
    except KeyboardInterrupt:
        code = 130
        print("drillgen: stopped", file=sys.stderr)
    sys.exit(code)


if __name__ == "__main__":
    main()
