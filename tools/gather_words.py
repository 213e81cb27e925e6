"""Gather the words that the predictor learns from, from four sources, with parts and folds.

    python tools/gather_words.py --wikipron ../shared/data/wikipron --out FOLDER

Sources: C CMUdict as drillgen mends it, U and B WikiPron's American and
British rows (tools/wiktionary.py), M the dictionary us_gold of the package
misaki (Apache-2.0). The file words.tsv has a row per word and source: part,
fold, word, source, espeak-ng's mnemonics, pronunciations joined by " | "
(without stress digits for U and B, which have none).

Parts: CMUdict's words keep those of tools/split_families.py. Words of the
other sources are drawn by their first five letters (an eighteenth for each of
dev and test); what shares its first five letters with a held-out word is
aside, and so are 2,000 words of misaki that were a bench once. The fold
(0 to 4, also by the first five letters) says which of five networks has not
learnt a word.
"""

from __future__ import annotations

import argparse
import hashlib
from collections import defaultdict
from collections.abc import Iterable
from pathlib import Path
from typing import Final

from outside_words import read_misaki
from split_families import split_families, usable_words
from wiktionary import read_rows

from drillgen.core.phones import format_phones
from drillgen.core.values import Phones
from drillgen.speech.pronounce.espeak import Espeak
from drillgen.speech.pronounce.lexicon import Lexicon, mend_entry, spell_plainly

FOLDS: Final = 5
BENCH_WORDS: Final = 2000
MAX_LETTERS: Final = 24


def beginning(word: str) -> str:
    """The first five letters, a plural's or possessive's ending apart.

    >>> beginning("kitten's"), beginning("cats"), beginning("bass")
    ('kitte', 'cat', 'bass')
    """
    bare = word.removesuffix("'s").removesuffix("'")
    if len(bare) > 3 and bare.endswith("s") and not bare.endswith("ss"):
        bare = bare[:-1]
    return bare[:5]


def draw(text: str) -> float:
    """A number from 0 to 1 that depends on the text only."""
    return int.from_bytes(hashlib.sha256(text.encode()).digest()[:8], "big") / 2.0**64


def find_fold(word: str) -> int:
    """The network, of FOLDS, that has not learnt a word."""
    return int(draw("fold " + beginning(word)) * FOLDS)


def gather_sources(wikipron: Path) -> dict[str, dict[str, list[str]]]:
    """By source and word in plain letters, the pronunciations as text."""
    lexicon = Lexicon.load()

    def write(word: str, entries: Iterable[Phones]) -> list[str]:
        return list(dict.fromkeys(format_phones(mend_entry(word, p)) for p in entries))

    sources: dict[str, dict[str, list[str]]] = {
        "C": {w: write(w, lexicon.entries(w)) for w in usable_words(set(lexicon.words()))},
        "M": {w: write(w, entries) for w, entries in read_misaki(()).items() if entries},
        "U": defaultdict(list),
        "B": defaultdict(list),
    }
    for source, name in (("U", "eng_us.tsv.gz"), ("B", "eng_uk.tsv.gz")):
        for written, said in read_rows(wikipron / name, british=source == "B"):
            word, text = spell_plainly(written), " ".join(said)
            if text not in sources[source][word]:
                sources[source][word].append(text)
    return sources


def divide(sources: dict[str, dict[str, list[str]]]) -> dict[str, str]:
    """The part of every word: train, dev, test, aside (CMUdict's), dev2, test2 (others')."""
    known = sources["C"]
    part = {word: name for word, (name, _family) in split_families(known).items()}
    bench = list(read_misaki(known))[:BENCH_WORDS]
    closed = {beginning(w) for w, name in part.items() if name in ("dev", "test")}
    closed |= {beginning(w) for w in bench}
    held = {}
    for source in "UMB":
        for word in sources[source]:
            if word not in part:
                number = draw("part " + beginning(word))
                held[word] = "test2" if number < 1 / 18 else "dev2" if number > 17 / 18 else ""
    open_ = {beginning(w) for w, name in held.items() if name}
    for word, name in held.items():
        part[word] = name or ("aside" if beginning(word) in closed else "train")
    for word, name in part.items():
        if name == "train" and beginning(word) in open_:
            part[word] = "aside"
    part.update(dict.fromkeys(bench, "aside"))
    return part


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--wikipron", type=Path, default=Path("../shared/data/wikipron"))
    parser.add_argument("--out", type=Path, required=True)
    options = parser.parse_args()

    from wordfreq import top_n_list

    espeak = Espeak.load()
    sources = gather_sources(options.wikipron)
    part = divide(sources)
    options.out.mkdir(parents=True, exist_ok=True)
    lines = []
    for word in sorted(part):
        if len(word) > MAX_LETTERS or not word.strip("'"):
            continue
        said = " ".join(espeak.mnemonics(word))
        lines += [
            f"{part[word]}\t{find_fold(word)}\t{word}\t{source}\t{said}\t{' | '.join(rows[word])}"
            for source, rows in sources.items()
            if word in rows
        ]
    (options.out / "words.tsv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    others = (w for w in usable_words(dict.fromkeys(top_n_list("en", 400_000))) if w not in part)
    rows = [f"{w}\t{' '.join(espeak.mnemonics(w))}" for w in others if 3 <= len(w) <= 20]
    (options.out / "unlabelled.tsv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    counts: dict[tuple[str, str], int] = defaultdict(int)
    for line in lines:
        counts[line.split("\t")[3], line.split("\t")[0]] += 1
    for (source, name), count in sorted(counts.items()):
        print(f"{source} {name}: {count} words")


if __name__ == "__main__":
    main()
