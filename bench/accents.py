"""How often an accent says a word as Wiktionary has it for British English.

Words: those of CMUdict in WikiPron's table of British pronunciations (Lee et al.
2020, Massively multilingual pronunciation modeling with WikiPron, LREC). A word is
right if our IPA is one of its forms once notation is evened out: length, stress and
syllable marks go, ɛ and e, a and æ, ɹ and r, əʊ and oʊ are one, a syllabic consonant
is a schwa and the consonant. Rows of the table that are no British English count
against us. Run: python bench/accents.py ../shared/data/wikipron/eng_uk.tsv.gz
"""

from __future__ import annotations

import argparse
import gzip
import re
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from difflib import SequenceMatcher
from pathlib import Path
from typing import Final

from drillgen.core.syllables import to_ipa
from drillgen.speech.pipeline import Engine
from drillgen.speech.pronounce.lexicon import Lexicon

_DETAIL: Final = re.compile("[ˈˌ.ː\u0329\u032f\u0361‿\u0303ˑʰ\u0306]")
# ruff: noqa: SIM905
_ALIKE: Final = tuple(
    pair.split(">")
    for pair in (
        "ɹ>r ɚ>ə ɝ>ɜ oʊ>əʊ ɛə>eə ɡ>g ɫ>l ʍ>w əl>l ən>n əm>m ɛ>e a>æ æɪ>aɪ æʊ>aʊ ɐ>ʌ iə>ɪə uə>ʊə"
    ).split()
)
_FINAL_R: Final = re.compile("r$")
_CODA_R: Final = re.compile("(?<=[ɑɔɜəʊɪe])r(?![iɪeæɑɒɔʊuʌəɜao])")


def even_out(ipa: str) -> str:
    """IPA without differences of notation."""
    ipa = _DETAIL.sub("", ipa)
    for one, other in _ALIKE:
        ipa = ipa.replace(one, other)
    return _CODA_R.sub("", _FINAL_R.sub("", ipa))


def read_forms(path: Path) -> Mapping[str, set[str]]:
    """Word, lower case → its forms, evened out."""
    forms: defaultdict[str, set[str]] = defaultdict(set)
    with gzip.open(path, "rt", encoding="utf-8") as lines:
        for line in lines:
            word, ipa = line.rstrip("\n").split("\t")
            if re.fullmatch("[a-z']+", word.lower()):
                forms[word.lower()].add(even_out(ipa.replace(" ", "")))
    return forms


def compare(ours: str, theirs: set[str]) -> Iterator[tuple[str, str]]:
    """Where we differ from the form that is nearest to ours."""
    matches = [(SequenceMatcher(None, ours, form).get_opcodes(), form) for form in sorted(theirs)]
    steps, form = min(matches, key=lambda match: sum(step[0] != "equal" for step in match[0]))
    for kind, a, b, c, d in steps:
        if kind != "equal":
            yield ours[a:b], form[c:d]


def main() -> None:
    """Count and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("table", type=Path, help="eng_uk.tsv.gz of WikiPron")
    parser.add_argument("--accent", default="non-rhotic")
    parser.add_argument("--show", type=int, default=15, help="commonest differences to print")
    options = parser.parse_args()
    lexicon = Lexicon.load()
    engine = Engine.load(lexicon=lexicon, accent=options.accent)
    right = words = 0
    differences: Counter[tuple[str, str]] = Counter()
    for word, forms in sorted(read_forms(options.table).items()):
        if word not in lexicon:
            continue
        said = [p for _, reading in engine.pronounce(word) for p in reading]
        if len(said) != 1:
            continue
        words += 1
        ours = even_out(to_ipa(said[0].phones, engine.accent))
        if ours in forms:
            right += 1
        else:
            differences.update(compare(ours, forms))
    print(f"{options.accent}: {right} of {words} words as in {options.table.name}: ", end="")
    print(f"{right / words:.3f}")
    for (ours, theirs), count in differences.most_common(options.show):
        print(f"{count:6} {ours or '-':4} where they have {theirs or '-'}")


if __name__ == "__main__":
    main()
