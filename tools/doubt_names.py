"""Find CMUdict's names that the letters of their language contradict; print a table.

    python tools/doubt_names.py --wikipron ../shared/data/wikipron > drillgen/data/name_doubts.tsv

A word is taken that CMUdict has, that is rare in English text, that neither
Wiktionary nor misaki nor a table of ours confirms, that Wiktionary has not in
small letters, and that looks very much like one language whose names English
speakers say by its own letters: German,
Dutch, Nordic, Italian, Greek and West Slavic surnames have English forms in
America. Where the rules give another reading, the entry is doubtful: of 14 such
names from memory, half were right.
"""

from __future__ import annotations

import argparse
from collections import defaultdict
from pathlib import Path
from typing import Final

from outside_words import read_misaki
from wiktionary import read_rows

from drillgen.core.phones import format_phones, parse_phones
from drillgen.core.resources import load_frequencies
from drillgen.speech.pronounce.compare import swap_skeleton
from drillgen.speech.pronounce.lexicon import Lexicon, spell_plainly
from drillgen.speech.pronounce.names import NameReader, outline

RARE: Final = 3.2
"""Zipf frequency; a more frequent name has found its English form."""

LIKELY: Final = 0.95
"""Least share of the language."""

KEPT: Final = frozenset(
    (
        *("Akan", "Arabic", "Chinese (pinyin)", "French", "Hindi and its kin", "Hungarian"),
        *("Igbo", "Irish", "Japanese", "Korean", "Portuguese", "Spanish", "Swahili", "Turkish"),
        *("Vietnamese", "Welsh", "Yoruba", "Zulu"),
    )
)

RIGHT: Final = 50
"""Of 100 entries so contradicted."""


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--wikipron", type=Path, default=Path("../shared/data/wikipron"))
    options = parser.parse_args()

    lexicon, raw, reader = Lexicon.load(), Lexicon.load_raw(), NameReader.load()
    frequencies = load_frequencies()
    small: set[str] = set()
    heard: dict[str, set[tuple[str, ...]]] = defaultdict(set)
    for british, name in ((False, "eng_us.tsv.gz"), (True, "eng_uk.tsv.gz")):
        for written, said in read_rows(options.wikipron / name, british=british):
            word = spell_plainly(written)
            if written[:1].islower():
                small.add(word)
            heard[word].add(swap_skeleton(parse_phones([_stress(s) for s in said])))
    for word, listed in read_misaki(()).items():
        heard[word].update(map(swap_skeleton, listed))
    rows = []
    for word in raw.words():
        usable = word.isascii() and word.isalpha() and len(word) > 2
        if not usable or word in small or frequencies.get(word, 0) > RARE:
            continue
        if word[-1] == "s" and word[:-1] in raw:
            continue
        if lexicon.is_corrected(word) or lexicon.doubt(word) is not None:
            continue
        entries = lexicon.entries(word)
        if {swap_skeleton(phones) for phones in entries} & heard[word]:
            continue
        readings = reader.read(word.capitalize())
        best = readings[0] if readings else None
        if best is None or best.share < LIKELY or best.language not in KEPT:
            continue
        if outline(best.phones) not in set(map(outline, entries)):
            other = format_phones(best.phones)
            rows.append(f"{word}\t{RIGHT}\t{other}\tthe letters of {best.language}")
    print(
        "# CMUdict's names that the letters of their language contradict (tools/doubt_names.py)."
    )
    print("# word, how many of 100 such entries are right, the other reading, who")
    print("\n".join(sorted(rows)))


def _stress(symbol: str) -> str:
    return f"{symbol}0" if symbol[0] in "AEIOU" else symbol


if __name__ == "__main__":
    main()
