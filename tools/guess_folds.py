"""Let networks say the words that they have not learnt.

    python tools/guess_folds.py --data FOLDER --networks FOLDER --whole FILE --out FILE

`--networks` holds fold0.npz to fold4.npz of tools/train_predictor.py: each
says the training words of its fold, and the whole network those of the other
parts. A row is a word, the way it was asked (U, C: knowing espeak-ng's
mnemonics, in the habits of that source; u: in U's without them), and its
readings joined by "|", each with its log probability. Every word is asked as C,
those that Wiktionary has also as U and u.
"""

from __future__ import annotations

import argparse
import collections
import gzip
from pathlib import Path
from typing import Final

from drillgen.core.phones import format_phones
from drillgen.speech.pronounce.neural import Network

MOST: Final = 5
PIECE: Final = 1000


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--data", type=Path, required=True)
    parser.add_argument("--networks", type=Path, required=True)
    parser.add_argument("--whole", type=Path, required=True)
    parser.add_argument("--out", type=Path, required=True)
    options = parser.parse_args()
    jobs: dict[tuple[int, str], dict[str, list[str]]] = collections.defaultdict(dict)
    for line in (options.data / "words.tsv").read_text(encoding="utf-8").splitlines():
        part, fold, word, source, mnemonics, _ = line.split("\t")
        own = int(fold) if part == "train" else -1
        if source == "C" or source == "U":
            for way in {"C": "C", "U": "UuC"}[source]:
                jobs[own, way][word] = mnemonics.split()
    networks = {fold: Network.load(options.networks / f"fold{fold}.npz") for fold in range(5)}
    networks[-1] = Network.load(options.whole)
    with gzip.open(options.out, "wt", encoding="utf-8") as file:
        for (fold, way), words in sorted(jobs.items(), key=lambda item: (item[0][1], item[0])):
            print(fold, way, len(words), flush=True)
            rows = sorted(words.items())
            for at in range(0, len(rows), PIECE):
                some = rows[at : at + PIECE]
                marks = [m if way != "u" else [] for _, m in some]
                said = networks[fold].guess([w for w, _ in some], marks, way.upper())
                for (word, _), guesses in zip(some, said, strict=True):
                    readings = "|".join(
                        f"{g.log_probability:.2f} {format_phones(g.phones)}"
                        for g in guesses[:MOST]
                    )
                    file.write(f"{word}\t{way}\t{readings}\n")


if __name__ == "__main__":
    main()
