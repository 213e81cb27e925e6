"""Make the small table of word frequencies from the package wordfreq.

    python tools/make_frequency.py [--count 70000]

Words of the letters a to z and apostrophes, with their Zipf frequency rounded
to a fifth. Writes drillgen/data/prompts_frequency.tsv.gz; the same version of
wordfreq gives the same bytes.
"""

from __future__ import annotations

import argparse
import gzip
import re
from collections import defaultdict
from importlib.metadata import version
from pathlib import Path

from wordfreq import top_n_list, zipf_frequency

TARGET = Path(__file__).resolve().parent.parent / "drillgen" / "data" / "prompts_frequency.tsv.gz"
HEADER = """\
# Zipf frequency of English words (log10 of uses in a thousand million words), in fifths.
# Computed by tools/make_frequency.py from the package wordfreq {version} by Robyn Speer,
# https://doi.org/10.5281/zenodo.7199437; its data is licensed CC BY-SA 4.0,
# https://creativecommons.org/licenses/by-sa/4.0/, and contains data of SUBTLEX-US and
# SUBTLEX-UK (Marc Brysbaert and others, freely available), OpenSubtitles, Wikipedia, Google
# Books Ngrams, the Leeds Internet Corpus and others (see docs/difficulty.md).
# Changed: cut to the {count} commonest words of the letters a to z, rounded.
# This table is under CC BY-SA 4.0; GPL version 3 is a BY-SA Compatible License, so it may
# be used under GPL version 3 as well.
# level, words
"""


def make_table(count: int) -> str:
    """The table as text."""
    levels: defaultdict[float, list[str]] = defaultdict(list)
    kept = 0
    for word in top_n_list("en", 3 * count):
        if re.fullmatch(r"[a-z]+(?:'[a-z]+)*", word):
            levels[round(zipf_frequency(word, "en") * 5) / 5].append(word)
            kept += 1
            if kept == count:
                break
    rows = [f"{level:.1f}\t{' '.join(sorted(levels[level]))}\n" for level in sorted(levels)]
    return HEADER.format(version=version("wordfreq"), count=f"{kept:,}") + "".join(rows)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--count", type=int, default=70_000)
    data = gzip.compress(make_table(parser.parse_args().count).encode("utf-8"), 9, mtime=0)
    TARGET.write_bytes(data)
    print(f"{len(data)} bytes in {TARGET.name}")


if __name__ == "__main__":
    main()
