"""Words that only the British dictionary has, as a table that British accents ask first.

    python tools/gather_british.py --wikipron ../shared/data/wikipron/eng_uk.tsv.gz

Words of misaki's gb_gold (package misaki 0.9.4, Apache-2.0) that CMUdict and our tables lack and
that are names or said once in a hundred million words or more (Zipf frequency 1), and words of our
American table where gb_gold and one more witness have consonants, vowel places, the main stress
or its vowel otherwise.

How many of 100 are right is the share for which Wiktionary's British rows (WikiPron) have the
same consonants and vowel places, apart for those where espeak-ng's British voice agrees and those
where it doesn't. Names, which gb_gold has with a capital, are given 100, so that they are not
read by the letters of other languages; 89 of 100 are as Wiktionary has them. A word for which
espeak-ng has more vowels stays out.

Writes drillgen/data/british_supplement.tsv.gz: word, phones before the accent step, share.
"""

from __future__ import annotations

import argparse
import gzip
from collections import Counter
from pathlib import Path
from typing import Final

from british_phones import to_dictionary
from british_witnesses import (
    SHORT,
    BritishEspeak,
    Sounds,
    even_out,
    read_misaki,
    read_phones,
    read_wiktionary,
    skeletons,
    vowels,
)
from mend_british import Views, find_main, look_at_skeleton, look_at_stress, look_at_vowels
from wordfreq import zipf_frequency

from drillgen.core.accents import Accent, load_accent
from drillgen.core.phones import format_phones
from drillgen.core.values import Phones
from drillgen.speech.align.letters import locate_letters
from drillgen.speech.pronounce.accent import accent_word
from drillgen.speech.pronounce.lexicon import Lexicon
from drillgen.speech.pronounce.supplement import Supplement
from drillgen.speech.pronounce.variants import Variants

TARGET: Final = (
    Path(__file__).resolve().parent.parent / "drillgen" / "data" / "british_supplement.tsv.gz"
)
RARE: Final = 1.0
LEFT: Final = frozenset(
    [
        *("awww", "crusie", "froward", "heathy", "hmmm", "musci", "oooh", "parter"),
        *("precent", "preform", "psat", "sightly", "stoping", "taching", "weltanschauungen"),
    ]
)
"""No words, or seldom: most who write them mean a word that is one slip away."""

HEAD: Final = """# Words of gb_gold, the British dictionary of the package misaki 0.9.4
# (Apache-2.0), that our American tables lack or have otherwise, before the accent step; made by
# tools/gather_british.py. word\tphones\thow many of 100 are right; names: 100
"""


def drop_yods(phones: Phones) -> Phones:
    """Without the y of "lute" and "illuminate", which the house leaves out after l, except
    between a stressed vowel and a weak one: "value"."""
    kept = []
    for i, phone in enumerate(phones):
        before = phones[i - 1].symbol if i else ""
        after = phones[i + 1] if i + 1 < len(phones) else None
        if phone.symbol == "Y" and before == "L" and after and after.symbol in ("UW", "UH"):
            opens = i < 2 or phones[i - 2].stress is None
            if after.stress or opens:
                continue
        kept.append(phone)
    return tuple(kept)


def is_contradicted(word: str, ours: Sounds, views: Views) -> bool:
    """Whether gb_gold and one more witness have consonants, vowel places, the main stress or its
    vowel otherwise than our American table, by the rules of tools/mend_british.py."""
    if look_at_skeleton(word, ours, views) or look_at_stress(ours, views):
        return True
    main = find_main(vowels(ours))
    return any(vote.place == main for vote in look_at_vowels(word, ours, views))


def has_lost_a_vowel(form: Sounds, said: Sounds | None) -> bool:
    """Whether espeak-ng has more vowels, which gb_gold leaves out here and there
    ("contributive", kəntrˈɪbjuːt)."""
    counts = [
        {
            len(vowels(even_out(sounds, short=short, wide=wide)))
            for short in SHORT
            for wide in (False, True)
        }
        for sounds in (form, said or ())
    ]
    return max(counts[0]) < min(counts[1])


def make_phones(word: str, form: Sounds, accent: Accent) -> Phones | None:
    phones = to_dictionary(word, form, accent)
    if phones is None or not any(phone.stress == 1 for phone in phones):
        return None
    return drop_yods(phones)


class Reader:
    """Our readings without the table that is made here."""

    def __init__(self) -> None:
        self._lexicon: Final = Lexicon.load()
        # The tables of words that only the British have were made from what is made here.
        self._tables: Final = Supplement.load(british=False)
        self._variants: Final = Variants.load()
        self.accent: Final = load_accent("non-rhotic")

    def is_listed(self, word: str) -> bool:
        return bool(self._lexicon.entries(word))

    def read(self, word: str) -> Sounds | None:
        """A word of the American table in the accent; None for others."""
        found = self._tables.find(word)
        if found is None:
            return None
        phones = self._variants.localize(word, found.phones, self.accent)
        return read_phones(accent_word(phones, self.accent, False, word, locate_letters))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--wikipron", type=Path, required=True, help="eng_uk.tsv.gz of WikiPron")
    options = parser.parse_args()
    gold, reader = read_misaki("gb_gold"), Reader()
    names = frozenset(gold) - frozenset(read_misaki("gb_gold", names=False))
    wiktionary, espeak = read_wiktionary(options.wikipron), BritishEspeak()
    rows: dict[str, tuple[Phones, bool]] = {}
    counts: Counter[tuple[bool, bool]] = Counter()
    for word, forms in sorted(gold.items()):
        rare = word not in names and zipf_frequency(word, "en") < RARE
        if len(word) < 3 or not word.isalpha() or word in LEFT or rare or reader.is_listed(word):
            continue
        phones = make_phones(word, forms[0], reader.accent) if forms else None
        if phones is None:
            continue
        said = espeak.say(word)
        if word not in names and has_lost_a_vowel(forms[0], said):
            continue
        agrees = said is not None and bool(skeletons(said) & skeletons(forms[0]))
        if theirs := wiktionary.get(word):
            same = any(skeletons(form) & skeletons(forms[0]) for form in theirs)
            counts[agrees, same] += 1
        ours = reader.read(word)
        views = Views(forms, wiktionary.get(word, ()), (said,) if said else ())
        if ours is None or is_contradicted(word, ours, views):
            rows[word] = phones, agrees
    shares = {
        agrees: round(100 * counts[agrees, True] / (counts[agrees, True] + counts[agrees, False]))
        for agrees in (True, False)
    }
    lines = (
        f"{word}\t{format_phones(phones)}\t{100 if word in names else shares[agrees]}\n"
        for word, (phones, agrees) in sorted(rows.items())
    )
    data = (HEAD + "".join(lines)).encode()
    TARGET.write_bytes(gzip.compress(data, 9, mtime=0))
    print(f"{len(rows)} words, {len(names & rows.keys())} of them names; right: {shares}")
    print(f"{TARGET.stat().st_size} bytes")


if __name__ == "__main__":
    main()
