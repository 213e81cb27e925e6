"""Names in a sentence: the share said right, wrong without being listed, and right but listed.

    python bench/names.py [TSV …]

Each file has rows of a name, the readings that count as right (ARPAbet, " / " between
them), language and part. Right is after the full swap: consonants and vowel places. Counted
with the names of data/name_readings.tsv and without them; "test" and "dev" are the halves
drawn by a hash, of which the rules of data/names/ and the limits of names.py saw "dev" only.
"""

from __future__ import annotations

import sys
from collections import defaultdict
from pathlib import Path
from typing import Final

from drillgen.core.phones import parse_phones
from drillgen.speech.pipeline import Engine
from drillgen.speech.pronounce.compare import swap_skeleton
from drillgen.speech.pronounce.engine import needs_review
from drillgen.speech.pronounce.lexicon import Lexicon

DATA: Final = Path(__file__).parents[1] / "tests" / "pronounce" / "data"


def measure(path: Path, engine: Engine) -> dict[str, list[int]]:
    """Per part and language: names, right, silently wrong, right but listed."""
    counts: dict[str, list[int]] = defaultdict(lambda: [0, 0, 0, 0])
    for line in path.read_text(encoding="utf-8").splitlines():
        if line.startswith("#"):
            continue
        name, said, language, part = line.split("\t")
        wanted = {swap_skeleton(parse_phones(s)) for s in said.split(" / ")}
        text = f"Yesterday {name} came to the harbor."
        start, end = text.index(name), text.index(name) + len(name)
        words = [w for t, row in engine.pronounce(text) if start <= t.start < end for w in row]
        right = swap_skeleton(tuple(p for word in words for p in word.phones)) in wanted
        listed = any(map(needs_review, words))
        for key in (part, language):
            row = (1, right, not right and not listed, right and listed)
            counts[key] = [a + b for a, b in zip(counts[key], row, strict=True)]
    return counts


def main() -> None:
    paths = [Path(arg) for arg in sys.argv[1:]] or [DATA / "more_names.tsv", DATA / "names.tsv"]
    for names in (False, True):
        engine = Engine.load(lexicon=Lexicon.load(names=names))
        for path in paths:
            print(f"{path.name}, {'with' if names else 'without'} the names of our table")
            for key, (n, right, silent, listed) in measure(path, engine).items():
                print(
                    f"  {key:5} {n:4} names: right {right / n:.3f},"
                    f" wrong and not listed {silent / n:.3f}, right but listed {listed / n:.3f}"
                )


if __name__ == "__main__":
    main()
