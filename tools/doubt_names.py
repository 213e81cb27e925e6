"""Find CMUdict's names that other opinions contradict; print a table.

    python tools/doubt_names.py --data ../shared/data > drillgen/data/name_doubts.tsv

A word is taken that CMUdict has, that Wiktionary has not in small letters and no table of ours
settles. It is doubtful where Wiktionary and misaki say it otherwise, or where they know nothing
of it, the letters of the languages that it looks like (letter_rules.py) mostly say it otherwise,
and espeak-ng does so too. Of the languages whose spelling espeak-ng reads as English, the letters
are enough. Of 250 such names from memory, half were right.
"""

from __future__ import annotations

import argparse
import gzip
import textwrap
from collections import defaultdict
from pathlib import Path
from typing import Final

from outside_words import read_misaki
from wiktionary import read_rows

from drillgen.core.phones import parse_phones
from drillgen.core.resources import read_table
from drillgen.speech.pipeline import Engine
from drillgen.speech.pronounce.compare import outline
from drillgen.speech.pronounce.espeak import Espeak
from drillgen.speech.pronounce.lexicon import Lexicon, spell_plainly
from drillgen.speech.pronounce.names import NameReader

NO_NAMES: Final = frozenset(
    """
    actuarial amphitheater angioplasty antioxidant apc appreciably audiophile banknote
    caesarean capsaicin congruence congruent consular contractual cpu cruelest dementia
    drinkable duodenum endothelial engulfing epidemiologist exogenous extraordinaire
    foia fondue gangrene goin gratuities herbarium hyperplasia ironies librarian
    librarians licensure machinegun mesothelioma microbiologist militiamen mucosa
    neuroses noncommercial nonwhite oooh overreaction paleo piezoelectric posttraumatic
    preamble preoperative provolone reassignment redeye reintegrate reinterpreted
    retransmission sensuality socioeconomic spacesuit squashing thankyou ufos ugh
    unconventional unenviable unsubstantiated
    """.split()  # noqa: SIM905
)
"""Words that the texts have not."""

LEAST: Final = 0.3
"""Least chance of all languages but English together."""

PLAIN: Final = frozenset(
    (
        "Chinese (pinyin)",
        "Hungarian",
        "Igbo",
        "Korean",
        "Swahili and its kin",
        "Vietnamese",
        "Yoruba",
        "Zulu",
    )
)
"""Languages for which espeak-ng's English rules say nothing."""

ENDINGS: Final = (
    *("s", "es", "ed", "ing", "ly", "ally", "er", "ers", "ation", "ations", "ness", "ism"),
    *("ist", "ists", "al", "ic", "ical", "ized", "ian", "ians"),
)
"""What makes a word of a word in small letters, which is no name."""

NEAR: Final = frozenset({"French", "Portuguese", "Spanish"})
"""Languages whose letters are enough where they look sure: newsreaders follow them."""

SURE: Final = 0.95

RIGHT: Final = 50
"""Of 100 entries so contradicted."""


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--data", type=Path, default=Path("../shared/data"))
    options = parser.parse_args()

    lexicon, raw = Lexicon.load(names=False), Lexicon.load_raw()
    engine = Engine.load(lexicon=lexicon)
    tables = ("everyday_words.tsv", "variant_choices.tsv", "text_acronyms.tsv")
    settled = {row[0] for table in tables for row in read_table(table)}
    reader, espeak = NameReader.load(), Espeak.load()
    small = read_small(options.data)
    heard: dict[str, set[tuple[str, ...]]] = defaultdict(set)
    for british, name in ((False, "eng_us.tsv.gz"), (True, "eng_uk.tsv.gz")):
        for written, said in read_rows(options.data / "wikipron" / name, british=british):
            word = spell_plainly(written)
            if written[:1].islower():
                small.add(word)
            heard[word].add(outline(parse_phones([_stress(s) for s in said])))
    for word, listed in read_misaki(()).items():
        heard[word].update(map(outline, listed))
    words = []
    for word in raw.words():
        if not word.isascii() or not word.isalpha() or len(word) < 3 or word in small:
            continue
        if any(word.removesuffix(end) + more in small for end in ENDINGS for more in ("", "e")):
            continue
        if lexicon.is_corrected(word) or word in settled or word in NO_NAMES:
            continue
        if lexicon.doubt(word) is not None:
            continue
        own = outline(engine.pronouncer.pronounce_word(word).phones)
        if own in heard[word]:
            continue
        readings = reader.read(word.capitalize())
        foreign = sum(r.share for r in readings)
        agreed = sum(r.share for r in readings if outline(r.phones) == own)
        other = next((r.language for r in readings if outline(r.phones) != own), "")
        said_so = espeak.pronounce(word)
        sure = bool(readings) and readings[0].share >= SURE and readings[0].language in NEAR
        backed = said_so is not None and outline(said_so) == own and other not in PLAIN
        backed = backed and not sure
        against = foreign >= LEAST and agreed < foreign / 2
        if (heard[word] or not backed) if against else (heard[word] and not backed):
            words.append(word)
    print("# CMUdict's names that others contradict (tools/doubt_names.py): how many of 100 such")
    print("# entries are right, and the names.")
    for line in textwrap.wrap(" ".join(sorted(words)), 120):
        print(f"{RIGHT}\t{line}")


def read_small(data: Path) -> set[str]:
    """The words that running text writes in small letters."""
    lines = (data / "pos" / "train.tsv").read_text(encoding="utf-8").splitlines()
    small = {line.partition("\t")[0] for line in lines}
    for path in sorted((data / "homographs" / "train").glob("*.tsv")):
        small |= set(path.read_text(encoding="utf-8").split())
    with gzip.open(data / "prosody" / "train.txt.gz", "rt", encoding="utf-8") as text:
        small |= {line.partition("\t")[0] for line in text}
    return {word for word in small if word.isalpha() and word.islower()}


def _stress(symbol: str) -> str:
    return f"{symbol}0" if symbol[0] in "AEIOU" else symbol


if __name__ == "__main__":
    main()
