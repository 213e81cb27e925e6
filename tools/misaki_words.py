"""Words that CMUdict lacks, as misaki's dictionaries have them, as a table after Wiktionary's.

    python tools/misaki_words.py --wikipron ../shared/data/wikipron

us_gold is a dictionary; us_silver has been made by machine, most of it by espeak-ng (of its
words that CMUdict lacks 0.99 are as espeak-ng says them), and is right where it differs: it is
taken for common words and where espeak-ng says otherwise. Witnesses are espeak-ng's rules (E),
g2p_en's network (R), which has seen neither, and the British dictionary of the same package (G).
By who shares a reading the share of right ones is that of the words which Wiktionary has too;
differences that speakers are free in do not count. Left out are words that nobody writes (Zipf
below 1) where we build the same from known words, rare ones that codespell knows as slips, and
words of wiktionary_words.tsv.gz. In that table, made by tools/second_opinions.py, a row that
misaki's dictionary shares is sure, and one that it and a witness contradict goes.
"""

from __future__ import annotations

import argparse
import gzip
import re
from collections import Counter, defaultdict
from collections.abc import Container, Mapping, Sequence
from importlib.resources import files
from pathlib import Path
from typing import Final, NamedTuple

from outside_words import load_dictionary, read_both
from second_opinions import (
    FOLDER,
    drop_yods,
    is_free,
    read_phones,
    skeletons,
    stress,
    tidy,
    write_table,
)
from wiktionary import read_rows
from wordfreq import zipf_frequency

from drillgen.core.phones import format_phones, parse_phones
from drillgen.core.values import Phones
from drillgen.speech.pronounce.compare import same_after_swap, swap_skeleton
from drillgen.speech.pronounce.derive import Deriver
from drillgen.speech.pronounce.espeak import Espeak, convert_mnemonics
from drillgen.speech.pronounce.lexicon import Lexicon, mend_entry, spell_plainly
from drillgen.speech.pronounce.rival import Rival

WRITTEN: Final = 1.0
"""Zipf frequency from which a word is kept though we could build it."""

USED: Final = 1.5
"""The same for words of us_silver that espeak-ng says alike."""

COMMON: Final = 2.5
"""Zipf frequency from which a word that codespell knows as a slip is a word all the same."""

SURE: Final = 98

LEAST: Final = 0.6
"""Readings of which fewer are right are left out; "silver er", which a machine made and nobody
shares, whatever its few words in Wiktionary say."""

MISPRINTS: Final = frozenset(
    """adhesively adhesiveness adjustability capitalistically circumstanced closeout
    companionability controversially cordlike cylindrically disgustedly disgustful
    disgustingly disgustingness erasement gnawingly
    hooped intersubjectivity latticed meaninglessly midriff misspelt mixtec
    ninetyfold nonuniform otherworldliness outworld overeducated phonologically posthypnotic
    pummelled pummelling remodelling reupholster reupholstery snowploughs squiredom stonecrop
    sugariness sugarless suitcaseful superposition swimmingly thermograph transiently
    transitionally underdrawing unusualness unutilized upholsterer worldling""".split()  # noqa: SIM905
)
"""Wrong in us_gold: read one by one where the word as a form of known ones is otherwise, and
espeak-ng agrees with that."""


class Word(NamedTuple):
    """What is said of a word."""

    misaki: Phones
    gold: bool
    british: tuple[Phones, ...]
    wiktionary: tuple[Phones, ...]
    espeak: Phones | None


def read_words(wikipron: Path, known: Container[str]) -> dict[str, Word]:
    """The words of misaki's American dictionaries that are not `known`."""
    espeak, british = Espeak.load(), read_both("gb")
    gold = {written.lower() for written in load_dictionary("us_gold")}
    rows: defaultdict[str, list[Phones]] = defaultdict(list)
    for written, sounds in read_rows(wikipron / "eng_us.tsv.gz"):
        rows[spell_plainly(written)].append(read_phones(" ".join(sounds)))
    return {
        word: Word(
            settle(word, mend_entry(word, said[0])),
            word in gold,
            british.get(word, ()),
            tuple(rows.get(word, ())),
            settle(word, heard) if heard else None,
        )
        for word, said in read_both("us").items()
        if word not in known
        for heard in [convert_mnemonics(espeak.mnemonics(word))]
    }


def settle(word: str, phones: Phones) -> Phones:
    """A reading in CMUdict's habits, in what Americans say in either way.

    >>> said = parse_phones("S EH1 N CH IY0 AH0 N T".split())
    >>> format_phones(settle("sentient", said))
    'S EH1 N SH IY0 AH0 N T'
    """
    text = format_phones(drop_yods(tidy(phones)))
    # y after n in a stressed syllable: "neural", but not "annual".
    text = re.sub(r"\bN Y (?=U[WH][12])", "N ", text)
    text = text.replace("HH W ", "W ")
    # The glide after o and u, which CMUdict does not write: "banjoist", "obstruent".
    if not re.search("w|ou(?!s)|oa|hu|ao|[gq]u[^l]", word):
        weak = "UW0" if re.search("u[aeiou]", word) else "OW0"
        text = re.sub(r"\bAH0 W (?=[AEIOU])", f"{weak} ", text)
        text = re.sub(r"\b([OU]W[012]) W (?=[AEIOU])", r"\1 ", text)
    # A weak vowel that is left to the n, and one that is heard before l: "glutton", "tackler".
    if re.search("t[aeiou]n(?!ess)", word) and "tn" not in word:
        text = re.sub(r"\bT N\b", "T AH0 N", text)
    if re.search("d[aiou]n", word) and "dn" not in word:
        text = re.sub(r"\bD N\b", "D AH0 N", text)
    if re.search("[sc]ent", word):
        text = re.sub(r"\bS N T\b", "S AH0 N T", text)
    if re.search("[bcdfgkptz]l(ers?|ings?|y)$", word):
        text = re.sub(r"\b([BDFGKPTZ]) AH0 L (?=(ER0( Z)?|IH0 NG( Z)?|IY0)$)", r"\1 L ", text)
    # Endings take the voice of what stands before them: "eunuchs", "scoped", "valets".
    text = re.sub(r"\b([PTKF]|TH) Z$", r"\1 S", text)
    text = re.sub(r"\b([PKFS]|SH|CH) D$", r"\1 T", text)
    if word.endswith("ets"):
        text = re.sub(r"\b(EY[012]) S$", r"\1 Z", text)
    if "nst" in word:
        text = text.replace("N Z T", "N S T")
    if "mph" in word:
        text = text.replace("M P F", "M F")
    # Two consonants stand where two parts meet that are known: "evenness", "bookkeeper".
    if not re.search("nness|un[kn]n|lless|kk|ghtt", word):
        text = re.sub(r"\b([B-Z]+) \1\b", r"\1", text)
    if re.search("n[cst]i[aeou]|nsu|nsch", word) and "nch" not in word:
        text = text.replace("N CH", "N SH")
    # The n of a prefix: "unkillable", "nonclassical".
    if re.match("(non|un)[ckg]", word) and not re.match("unc(o$|as$|l|i|t)|ung[au]", word):
        text = re.sub(r"^(N AA[012]|AH[012]) NG\b", r"\1 N", text)
    if word.endswith("ically"):
        text = re.sub("[AI]H0 K AH0 L IY0$", "IH0 K L IY0", text)
    return parse_phones(text.split())


def open_end(said: str) -> str:
    """Phones with a weak vowel in a last syllable that has none: "Z M", "B L"."""
    return re.sub(r"\b([PTKBDGSZF]) ([LM])$", r"\1 AH0 \2", said)


def agreement(word: Word, rival: Phones | None) -> str:
    """Who shares misaki's reading, as letters; "!" where E and R say one other thing."""
    mine = swap_skeleton(word.misaki)
    others = [swap_skeleton(said) if said else () for said in (word.espeak, rival)]
    if not word.gold:
        return (
            "silver " + ("E" if others[0] == mine else "e") + ("R" if others[1] == mine else "r")
        )
    marks = "".join(
        mark if said == mine else mark.lower() for mark, said in zip("ER", others, strict=True)
    )
    if others[0] == others[1] != mine:
        marks += "!"
    if word.british and marks != "ER":
        marks += "G" if mine in skeletons(word.british) else "g"
    return marks


def is_right(word: Word) -> bool:
    mine = swap_skeleton(word.misaki)
    return any(mine == said or is_free(mine, said) for said in skeletons(word.wiktionary))


def measure(words: Mapping[str, Word], marks: Mapping[str, str]) -> dict[str, float]:
    """By agreement, the share of readings that Wiktionary shares."""
    right: Counter[str] = Counter()
    tried: Counter[str] = Counter()
    for text, word in words.items():
        if word.wiktionary:
            tried[marks[text]] += 1
            right[marks[text]] += is_right(word)
    for mark, count in tried.most_common():
        print(f"  {mark:5} {count:6} right {right[mark] / count:.3f}")
    shares = {mark: (right[mark] + 1) / (count + 2) for mark, count in tried.items()}
    return shares | {"silver er": 0.0}


def read_slips() -> frozenset[str]:
    """The slips of codespell's dictionary."""
    text = (files("codespell_lib") / "data" / "dictionary.txt").read_text(encoding="utf-8")
    return frozenset(line.split("->")[0].lower() for line in text.splitlines() if "->" in line)


def is_informal(text: str, word: Word, known: Container[str]) -> bool:
    """Whether other rules say a word better: drawn calls ("ahhh"), contractions without their
    sign ("doesnt"), "takin" for "taking", short forms that espeak-ng spelled out or not ("exp"),
    readings that lack a vowel or have one twice."""
    if re.search(r"(.)\1\1", text) or (not word.gold and len(text) <= 4):
        return True
    said = format_phones(word.misaki)
    if re.search(r"\b([A-Z]+)[012] \1[012]|[DTSZ] N [TZ]\b|M M\b|HH$", said):
        return True
    if f"{text}'t" in known or f"{text[:-1]}'t" in known:
        return True
    return text.endswith("in") and f"{text}g" in known


def is_kept(
    text: str, word: Word, deriver: Deriver, slips: frozenset[str], known: Container[str]
) -> bool:
    """Whether the table needs a word."""
    if text in MISPRINTS or is_informal(text, word, known):
        return False
    common = zipf_frequency(text, "en")
    if text in slips and common < COMMON:
        return False
    if not word.gold and common < USED and same_after_swap(word.misaki, word.espeak or ()):
        return False
    if common >= WRITTEN:
        return True
    built = deriver.derive(text)
    return built is None or [*map(str, built.phones)] != [*map(str, word.misaki)]


def mark_words(words: Mapping[str, Word]) -> dict[str, str]:
    """Who shares the reading of each word."""
    rivals = Rival.load().pronounce(list(words))
    return {
        text: agreement(word, rival)
        for (text, word), rival in zip(words.items(), rivals, strict=True)
    }


def choose(
    words: Mapping[str, Word],
    shares: Mapping[str, float],
    deriver: Deriver,
    known: Container[str],
) -> dict[str, float]:
    """The words that the table takes, with the share of right ones among their like."""
    slips = read_slips()
    return {
        text: shares[text]
        for text, word in words.items()
        if sum(p.stress == 1 for p in word.misaki) == 1
        and shares[text] >= LEAST
        and is_kept(text, word, deriver, slips, known)
    }


def mend_table(
    lines: Sequence[str], words: Mapping[str, Word], marks: Mapping[str, str]
) -> list[str]:
    """The rows of Wiktionary's table, seen beside misaki's dictionaries."""
    kept = []
    for line in lines:
        text, said, share = line.split("\t")
        said = open_end(said)
        line = f"{text}\t{said}\t{share}"
        word = words.get(text)
        if word is not None:
            phones = read_phones(said)
            if swap_skeleton(phones) == swap_skeleton(word.misaki):
                line = f"{text}\t{format_phones(stress(phones, (word.misaki,)))}\t{SURE}"
            elif word.gold and {"E", "R"} & set(marks[text]):
                continue
        kept.append(line)
    return kept


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--wikipron", type=Path, default=Path("../shared/data/wikipron"))
    options = parser.parse_args()
    lexicon = Lexicon.load()
    known = frozenset(lexicon.words())
    words = read_words(options.wikipron, known)
    marks = mark_words(words)
    shares = measure(words, marks)

    path = FOLDER / "wiktionary_words.tsv.gz"
    rows = gzip.decompress(path.read_bytes()).decode("utf-8").splitlines()
    notice = [row.removeprefix("# ") for row in rows if row.startswith("#")]
    old = [row for row in rows if not row.startswith("#")]
    new = mend_table(old, words, marks)
    print(f"{len(old) - len(new)} rows of Wiktionary's are left out")
    write_table(path, notice, new)

    listed = {row.split("\t")[0] for row in new}
    kept = choose(
        {text: word for text, word in words.items() if text not in listed},
        {text: shares[mark] for text, mark in marks.items()},
        Deriver(lexicon.entries),
        known,
    )
    lines = [
        f"{text}\t{format_phones(words[text].misaki)}\t{min(SURE, round(100 * share))}"
        for text, share in sorted(kept.items())
    ]
    write_table(
        FOLDER / "misaki_words.tsv.gz",
        (
            "Words that CMUdict and wiktionary_words.tsv.gz lack, as us_gold and us_silver have",
            "them, the American dictionaries of the package misaki (Apache-2.0). Made by",
            "tools/misaki_words.py.",
            "word, phones, how many of 100 such words are right",
        ),
        lines,
    )


if __name__ == "__main__":
    main()
