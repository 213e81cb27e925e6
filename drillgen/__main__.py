"""`drillgen` and `python -m drillgen`: the command line."""

from __future__ import annotations

import sys

from drillgen.core.collector import CollectorPause


def main() -> None:
    """Run the command line; a Ctrl-C while it still loads ends it in one line, too."""
    try:
        with CollectorPause():
            from drillgen.cli import run
        code = run(sys.argv[1:])
    except KeyboardInterrupt:
        code = 130
        print("drillgen: stopped", file=sys.stderr)
    sys.exit(code)


if __name__ == "__main__":
    main()
