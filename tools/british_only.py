"""Words that only British sources have, as Americans say them, as two tables after the others.

    python tools/british_only.py --wikipron ../shared/data/wikipron

The first source is the table of misaki's British dictionary that tools/gather_british.py makes,
the second the British rows of Wiktionary (WikiPron), those that say their r's before the others,
in which r is put where it is written. Both lose what Americans do not say, as words of misaki's
American dictionary do (misaki_words.py).

Who shares a reading, espeak-ng's American rules (E) and g2p_en's network (R), tells how sure it
is: of the like among the words which the American rows of Wiktionary have too, and for
Wiktionary's own rows among those which the British dictionary has too, the share of right ones
counts. Left out are words that we build alike or more surely from known ones, names apart, short
forms, and drawn calls.

Writes misaki_british.tsv.gz and wiktionary_british.tsv.gz: word, phones, share.
"""

from __future__ import annotations

import argparse
import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Final

from british_phones import to_dictionary
from british_witnesses import read_misaki, read_wiktionary
from gather_british import make_phones
from misaki_words import COMMON, LEAST, SURE, Word, is_informal, open_end, read_slips, settle
from second_opinions import FOLDER, drop_yods, is_free, read_phones, stress, tidy, write_table
from wiktionary import read_rows
from wordfreq import zipf_frequency

from drillgen.core.accents import load_accent
from drillgen.core.phones import format_phones, parse_phones
from drillgen.core.values import Origin, Phone, Phones
from drillgen.speech.pronounce.compare import swap_skeleton
from drillgen.speech.pronounce.derive import Deriver
from drillgen.speech.pronounce.espeak import Espeak
from drillgen.speech.pronounce.lexicon import Lexicon, mend_entry, spell_plainly
from drillgen.speech.pronounce.rival import Rival
from drillgen.speech.pronounce.supplement import Book
from drillgen.speech.pronounce.witness import Witness

BUILT: Final = 0.97
"""Words that we build so surely are left to the rules."""

USED: Final = 1.0
"""Zipf frequency from which a word that is no name is taken."""

Rows = Mapping[str, Phones]


def add_rs(word: str, phones: Phones) -> Phones:
    """The r that the British dictionary has no sound for at the end of "metre" and in "fire", and
    without the one that it hears between two vowels and after the a of "vaidya"."""
    text = format_phones(phones)
    if word.endswith("a"):
        text = re.sub(r"\bER[012]$", "AH0", text)
    if re.search("ais[mt]", word):
        text = text.replace("ER0 IH0", "AH0 IH0")
    if re.search("[bptd]re[bdfglmt]", word):
        text = re.sub(r"\b([BPTD]) AH0\b(?! [RLN])", r"\1 ER0", text, count=1)
    if "iron" in word:
        text = text.replace("AY1 AH0 N", "AY1 ER0 N")
    if re.search("[^aeiou]res?$", word):
        text = re.sub(r"\bAH0( Z)?$", r"ER0\1", text)
    if re.search("[iy]re", word):
        text = re.sub(r"\bAY([12]) AH0\b(?! R)", r"AY\1 ER0", text)
    return parse_phones(text.split())


def americanize(word: str, phones: Phones) -> Phones:
    text = format_phones(settle(word, mend_entry(word, add_rs(word, phones))))
    # happY, and the sound of "abjure".
    text = re.sub(r"\bIH0(?= [AEIOU]|$)", "IY0", text).replace("D ZH", "JH")
    # Faults of rows: "Basingstoke" with a g, "-ism" without a vowel or with s, "Northants".
    text = re.sub(r"\bNG G (?=[PTKBDSZFVMN])", "NG ", text).replace("TH HH ", "TH ")
    text = open_end(text)
    text = re.sub(r"\bIH([012]) S AH0 M\b", r"IH\1 Z AH0 M", text)
    text = re.sub(r"\bZ AH0 M S$", "Z AH0 M Z", text)
    return parse_phones(text.split())


def read_dictionary() -> tuple[Rows, frozenset[str]]:
    """misaki's British dictionary as Americans say its words, and which of them are names."""
    gold, accent = read_misaki("gb_gold"), load_accent("non-rhotic")
    rows = {
        word: americanize(word, phones)
        for word, forms in gold.items()
        if forms and (phones := make_phones(word, forms[0], accent)) is not None
    }
    return rows, frozenset(rows.keys() - read_misaki("gb_gold", names=False).keys())


def read_american(wikipron: Path) -> dict[str, list[Phones]]:
    """Wiktionary's American rows."""
    rows: defaultdict[str, list[Phones]] = defaultdict(list)
    for written, said in read_rows(wikipron / "eng_us.tsv.gz"):
        word = spell_plainly(written)
        rows[word].append(settle(word, read_phones(" ".join(said))))
    return rows


def place_stress(phones: Phones, models: Iterable[Phones | None]) -> Phones:
    """The stresses of the first model with as many vowels; else the first vowel is stressed."""
    count = sum(p.stress is not None for p in phones)
    fitting = [m for m in models if m and sum(p.stress is not None for p in m) == count]
    plain = tuple(Phone("AH", int(i == 0)) for i in range(count))
    return stress(phones, (*fitting, plain))


def read_british_rows(wikipron: Path, espeak: Espeak, rival: Rival) -> tuple[Rows, frozenset[str]]:
    """Wiktionary's British rows with stresses, and which of them say their r's."""
    rows: dict[str, Phones] = {}
    for written, said in read_rows(wikipron / "eng_uk.tsv.gz"):
        rows.setdefault(spell_plainly(written), read_phones(" ".join(said)))
    rhotic = frozenset(rows)
    accent = load_accent("non-rhotic")
    for word, forms in read_wiktionary(wikipron / "eng_uk.tsv.gz").items():
        if word not in rows and (phones := to_dictionary(word, forms[0], accent)):
            rows[word] = tuple(Phone(p.symbol, p.stress and 0) for p in phones)
    others = zip(rows, rival.pronounce(list(rows)), strict=True)
    result = {
        word: americanize(
            word, place_stress(tidy(drop_yods(rows[word])), (espeak.pronounce(word), other))
        )
        for word, other in others
    }
    return result, rhotic


def mark_words(rows: Rows, espeak: Espeak, rival: Rival) -> dict[str, str]:
    """Who shares the reading of each word."""
    others = dict(zip(rows, rival.pronounce(list(rows)), strict=True))
    marks = {}
    for word, phones in rows.items():
        heard = espeak.pronounce(word)
        said = [settle(word, heard) if heard else (), others[word] or ()]
        mine = swap_skeleton(phones)
        marks[word] = "".join(
            mark if swap_skeleton(other) == mine else mark.lower()
            for mark, other in zip("ER", said, strict=True)
        )
    return marks


def measure(
    rows: Rows, marks: Mapping[str, str], gold: Mapping[str, Sequence[Phones]]
) -> dict[str, float]:
    """By agreement, the share of the readings that `gold` shares."""
    counts: Counter[tuple[str, bool]] = Counter()
    for word, mark in marks.items():
        if word in gold:
            mine = swap_skeleton(rows[word])
            theirs = map(swap_skeleton, gold[word])
            counts[mark, any(mine == one or is_free(mine, one) for one in theirs)] += 1
    shares = {}
    for mark in sorted({mark for mark, _ in counts}):
        right, wrong = counts[mark, True], counts[mark, False]
        shares[mark] = (right + 1) / (right + wrong + 2)
        print(f"  {mark:16} {right + wrong:6} right {right / (right + wrong):.3f}")
    return shares


def is_wanted(
    word: str, phones: Phones, name: bool, known: frozenset[str], slips: frozenset[str]
) -> bool:
    """Whether a word can be said as it is written: no short form and no drawn call."""
    if not re.fullmatch("[a-z]{3,}", word) or not re.search("[aeiouy]", word):
        return False
    if sum(p.stress == 1 for p in phones) != 1 or len(phones) > len(word) + 1:
        return False
    common = zipf_frequency(word, "en")
    if not name and (common < USED or is_informal(word, Word(phones, True, (), (), None), known)):
        return False
    return word not in slips or common >= COMMON


def choose(
    rows: Rows, shares: Mapping[str, float], names: Iterable[str], known: frozenset[str]
) -> dict[str, float]:
    """The words that a table takes, and how sure they are."""
    lexicon, witness, capital = Lexicon.load(), Witness.load(), frozenset(names)
    deriver, slips = Deriver(lexicon.entries), read_slips()
    kept = {}
    for word, share in shares.items():
        if word in known or share < LEAST:
            continue
        if not is_wanted(word, rows[word], word in capital, known, slips):
            continue
        built = deriver.derive(word)
        alike = built and swap_skeleton(built.phones) == swap_skeleton(rows[word])
        if built and (alike or word not in capital) and witness.check(built).confidence >= BUILT:
            continue
        kept[word] = share
    return kept


def write(name: str, head: Sequence[str], rows: Rows, kept: Mapping[str, float]) -> None:
    lines = [
        f"{word}\t{format_phones(rows[word])}\t{min(SURE, round(100 * share))}"
        for word, share in sorted(kept.items())
    ]
    head = (*head, "Made by tools/british_only.py.", "word, phones, how many of 100 are right")
    write_table(FOLDER / name, head, lines)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--wikipron", type=Path, default=Path("../shared/data/wikipron"))
    options = parser.parse_args()
    espeak, rival = Espeak.load(), Rival.load()
    listed = frozenset(Lexicon.load().words())
    known = listed | {
        line.split("\t")[0]
        for name in ("wiktionary_words.tsv.gz", "misaki_words.tsv.gz")
        for line in Book.load(name, Origin.WIKTIONARY, "").text.splitlines()
    }

    # misaki's British dictionary
    british, names = read_dictionary()
    american = read_american(options.wikipron)
    marks = mark_words(british, espeak, rival)
    print("misaki's British dictionary, beside Wiktionary's American rows")
    shares = measure(british, {w: m for w, m in marks.items() if w not in listed}, american)
    kept = choose(british, {w: shares[m] for w, m in marks.items()}, names, known)
    write(
        "misaki_british.tsv.gz",
        (
            "Words that no American table of ours has, as gb_gold has them, the British",
            "dictionary of the package misaki (Apache-2.0), in American pronunciation.",
        ),
        british,
        kept,
    )

    # Wiktionary's British rows
    rows, rhotic = read_british_rows(options.wikipron, espeak, rival)
    capitals = {
        spell_plainly(written)
        for written, _ in read_rows(options.wikipron / "eng_uk.tsv.gz")
        if written[0].isupper()
    }
    marks = {
        word: mark if word in rhotic else f"{mark}, r as written"
        for word, mark in mark_words(rows, espeak, rival).items()
    }
    print("Wiktionary's British rows, beside misaki's British dictionary")
    others = {w: [phones] for w, phones in british.items() if w not in american}
    shares = measure(rows, marks, others)
    known |= kept.keys()
    kept = choose(rows, {w: shares[m] for w, m in marks.items()}, capitals, known)
    write(
        "wiktionary_british.tsv.gz",
        (
            "Words that no other table of ours has, as the British rows of Wiktionary have them",
            "(CC BY-SA 4.0; by way of WikiPron), in American pronunciation.",
        ),
        rows,
        kept,
    )


if __name__ == "__main__":
    main()
