"""Make drillgen/data/align_paths.tsv: the alignment of common words, found beforehand.

    python tools/make_align_paths.py [--level 3.2]

For the words of drillgen/data/prompts_frequency.tsv.gz from a Zipf frequency on, as the default
accent says them, a row of letters, coded phonemes and the shape of the best path (see letters.py),
in the order of code points. What is guessed from the spelling is left out. Make it anew when
align_costs.tsv.gz, the costs in units.py or letters.py, or the dictionary's tables change; a
test compares each row with a fresh search.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from drillgen.core.resources import load_frequencies
from drillgen.core.values import Origin
from drillgen.speech.align.letters import PATHS, SHAPES, load_costs, search_path
from drillgen.speech.align.units import encode_phones
from drillgen.speech.pipeline import Engine

TARGET: Final = Path(__file__).resolve().parent.parent / "drillgen/data" / PATHS


STEPS: Final = {step: digit for digit, step in SHAPES.items()}


def write_shape(path: Sequence[tuple[int, int, int, int]]) -> str:
    """The shape of a path: a character for each step."""
    return "".join([STEPS[b - a, d - c] for a, b, c, d in path])


def make_rows(level: float) -> set[str]:
    """The rows of the table, in no order."""
    pronouncer, costs = Engine.load().pronouncer, load_costs()
    rows = set()
    for word, frequency in load_frequencies().items():
        for reading in pronouncer.all_readings(word) if frequency >= level else ():
            code = encode_phones(pronouncer.in_accent(word, reading.phones))
            path = search_path(word, code, costs)
            if path and reading.origin is not Origin.PREDICTED:
                rows.add(f"{word}\t{code}\t{write_shape(path)}\n")
            if pronouncer.is_homograph(word):
                continue
            # The first is the one that is said.
            break
    return rows


def main() -> None:
    """Write the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--level", type=float, default=3.2)
    rows = make_rows(parser.parse_args().level)
    TARGET.write_text("".join(sorted(rows)), encoding="utf-8", newline="\n")
    print(f"{len(rows)} rows, {TARGET.stat().st_size} bytes in {TARGET.name}")


if __name__ == "__main__":
    main()
