"""Entries of CMUdict whose main stress or stressed vowel other sources contradict, as a table.

    python tools/mend_vowels.py --wikipron ../shared/data/wikipron

The full swap hides a wrong vowel, not a beat on the wrong syllable ("FORbidden"); partial
versions and the marked original show both. Witnesses: M misaki's us_gold (package misaki,
Apache-2.0), W Wiktionary's American rows (WikiPron, without stress), S espeak-ng. An entry is
mended where

- M and S put the main stress on one other vowel: then M's stress and the vowels whose stress
  changes stand instead;
- of a vowel with main stress M and one more witness say one other thing, or W and S where M
  lacks the word; of one with secondary stress all three.

What differs by accent or habit only (`ALIKE`) is no contradiction; where one dictionary has the
entry as it is, it stays. An inflected form that opens with the phones of a mended word goes
with it. Writes drillgen/data/dictionary_mends.tsv: word, entries, witnesses.
"""

from __future__ import annotations

import argparse
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Final, NamedTuple

from outside_words import convert_misaki, load_dictionary
from wiktionary import VOWELS, read_rows

from drillgen.core.phones import PHONE_TABLE, format_phones
from drillgen.core.resources import read_table
from drillgen.core.values import Phone, Phones
from drillgen.speech.pipeline import Engine
from drillgen.speech.pronounce.compare import swap_skeleton
from drillgen.speech.pronounce.engine import Pronouncer
from drillgen.speech.pronounce.espeak import Espeak
from drillgen.speech.pronounce.lexicon import MENDS, Lexicon, spell_plainly

TARGET: Final = Path(__file__).resolve().parent.parent / "drillgen" / "data" / MENDS
HEAD: Final = """# Entries of CMUdict whose main stress or stressed vowel others contradict,
# as those have them; made by tools/mend_vowels.py. Witnesses: M misaki's us_gold, W Wiktionary
# (CC BY-SA 4.0), S espeak-ng; "as …": an inflected form of a mended word.
# word\tentries\twitnesses
"""
ALIKE: Final = ({"AO", "AA"},)
ALIKE_BEFORE_R: Final = (
    {"AE", "EH", "AA"},
    {"IY", "IH", "EH"},
    {"UW", "UH", "ER"},
    {"OW", "AO"},
    {"AH", "ER"},
)
WEAK: Final = frozenset({"AH", "IH", "ER"})
"""Where a source without stress has these, it may mean a vowel without stress."""

ENDINGS: Final = ("s", "'s", "es", "d", "ed", "ing", "ly", "ness", "er", "ers")
LEFT: Final = frozenset(
    ["barry", "because", "cannot", "dunedin", "gonna", "hilo", "pauline", "rollin", "than"]
)
"""Said in several ways by the sentence, or names that the witnesses have wrong."""


class Sound(NamedTuple):
    """A phone; ER is a vowel and an R."""

    symbol: str
    stress: int | None


def open_up(phones: Phones) -> list[Sound]:
    """With the R of ER apart, and the schwa before an R as ER."""
    sounds: list[Sound] = []
    for phone in phones:
        if phone.symbol == "R" and sounds and sounds[-1] == Sound("AH", 0):
            sounds[-1] = Sound("ER", 0)
        sounds.append(Sound(phone.symbol, phone.stress))
        if phone.symbol == "ER":
            sounds.append(Sound("R", None))
    return sounds


def close(sounds: Sequence[Sound]) -> Phones:
    """The phones again: ER and its R are one."""
    phones: list[Phone] = []
    for i, sound in enumerate(sounds):
        if sound.symbol == "R" and i and sounds[i - 1].symbol == "ER":
            continue
        name = sound.symbol if sound.stress is None else f"{sound.symbol}{sound.stress}"
        phones.append(PHONE_TABLE[name])
    return tuple(phones)


def find_vowels(sounds: Sequence[Sound]) -> list[int]:
    return [i for i, sound in enumerate(sounds) if sound.stress is not None]


def find_main(sounds: Sequence[Sound]) -> int | None:
    """Which vowel, from 0, has the last main stress: the one that a sheet prints."""
    stresses = [sound.stress for sound in sounds if sound.stress is not None]
    return max((i for i, stress in enumerate(stresses) if stress == 1), default=None)


def are_alike(one: str, other: str, before_r: bool) -> bool:
    """Whether two vowels differ by accent or habit only."""
    pairs = (*ALIKE, *(ALIKE_BEFORE_R if before_r else ()))
    return one == other or any({one, other} <= pair for pair in pairs)


def read_misaki() -> tuple[Mapping[str, list[list[Sound]]], frozenset[str]]:
    """Words of us_gold with all their forms; and those that it has with a capital only."""
    words: dict[str, list[list[Sound]]] = {}
    entries = load_dictionary()
    for word in sorted(entries, key=str.islower, reverse=True):
        if word.isascii() and word.isalpha() and word[1:].islower():
            # Some forms of letters have signs of their own.
            with suppress(KeyError):
                forms = [open_up(convert_misaki(text)) for text in entries[word]]
                words.setdefault(word.lower(), forms)
    return words, frozenset(words.keys() - entries.keys())


def read_wiktionary(folder: Path) -> Mapping[str, list[list[str]]]:
    """The vowels of each American row."""
    words: defaultdict[str, list[list[str]]] = defaultdict(list)
    for written, said in read_rows(folder / "eng_us.tsv.gz"):
        words[spell_plainly(written)].append([symbol for symbol in said if symbol in VOWELS])
    return words


class Witnesses:
    """What the others say."""

    def __init__(self, folder: Path) -> None:
        self._misaki, self._names = read_misaki()
        self._wiktionary = read_wiktionary(folder)
        self._espeak = Espeak.load()

    def look(self, word: str, ours: Phones) -> tuple[Phones, str] | None:
        """The entry as it should be, and who says so; None where it stands."""
        sounds = open_up(ours)
        places = find_vowels(sounds)
        skeleton = swap_skeleton(ours)
        misaki = [m for m in self._misaki.get(word, ()) if swap_skeleton(close(m)) == skeleton]
        rows = [row for row in self._wiktionary.get(word, ()) if len(row) == len(places)]
        said = self._espeak.pronounce(word)
        espeak = open_up(said) if said and swap_skeleton(said) == skeleton else []
        who = ""
        main = find_main(sounds)
        elsewhere = [m for m in misaki if find_main(m) not in (None, main)]
        if len(places) > 1 and elsewhere and len(elsewhere) == len(misaki) and espeak:
            agreed = [m for m in elsewhere if find_main(m) == find_main(espeak)]
            if agreed:
                misaki = agreed
                sounds = _move_stress(sounds, agreed[0])
                who = "M S"
        for k, place in enumerate(find_vowels(sounds)):
            votes = self._count(sounds, place, k, misaki, rows, espeak)
            if votes is not None:
                sounds[place] = Sound(votes[0], sounds[place].stress)
                who = " ".join(sorted({*who.split(), *votes[1]}))
        return (close(sounds), who) if who else None

    def is_name(self, word: str) -> bool:
        """Whether a word is none but with a capital, or M lacks it."""
        return word in self._names or word not in self._misaki

    def knows(self, word: str) -> bool:
        """Whether M has a word."""
        return word in self._misaki

    def confirms(self, word: str, ours: Phones) -> bool:
        """Whether all of M's forms of a word have the main stress where we have it."""
        places = {find_main(said) for said in self._misaki.get(word, ())}
        return places == {find_main(open_up(ours))}

    @staticmethod
    def _count(
        sounds: Sequence[Sound],
        place: int,
        k: int,
        misaki: Sequence[Sequence[Sound]],
        rows: Sequence[Sequence[str]],
        espeak: Sequence[Sound],
    ) -> tuple[str, str] | None:
        """The vowel that enough witnesses put at a place, and who they are."""
        own, stress = sounds[place]
        if not stress:
            return None
        before_r = place + 1 < len(sounds) and sounds[place + 1].symbol == "R"
        theirs = [m[find_vowels(m)[k]] for m in misaki]
        says = {
            "M": {sound.symbol for sound in theirs if sound.stress},
            "W": {row[k] for row in rows},
            "S": {espeak[find_vowels(espeak)[k]].symbol} if espeak else set(),
        }
        if any(are_alike(own, other, before_r) for other in says["M"] | says["W"]):
            return None
        if misaki and not says["M"]:
            return None
        for other in sorted(says["M"] | says["W"]):
            who = "".join(name for name, vowels in says.items() if other in vowels)
            enough = len(who) == 3 or (
                stress == 1
                and len(who) == 2
                and ("M" in who or not (misaki or before_r or other in WEAK))
            )
            if enough and not are_alike(own, other, before_r):
                return other, who
        return None


def _move_stress(ours: Sequence[Sound], theirs: Sequence[Sound]) -> list[Sound]:
    """Our entry with the stress of another, and its vowels where they lose or gain stress."""
    moved = list(ours)
    for place, other in zip(find_vowels(ours), find_vowels(theirs), strict=True):
        symbol, stress = theirs[other]
        keeps = bool(ours[place].stress) == bool(stress)
        moved[place] = Sound(ours[place].symbol if keeps else symbol, stress)
    return moved


class Mend(NamedTuple):
    """A word with the entry that is said, as it should be, and who says so."""

    word: str
    ours: Phones
    entry: Phones
    who: str
    may_bend: bool
    """Whether other forms than the possessive follow it."""


def list_mends(lexicon: Lexicon, pronouncer: Pronouncer, witnesses: Witnesses) -> Iterator[Mend]:
    """The words to mend, by the alphabet; those that are settled by hand are left."""
    settled = list_settled()
    for word in lexicon.words():
        known = lexicon.is_corrected(word) or pronouncer.is_homograph(word) or word in settled
        if known or not word.isalpha():
            continue
        ours = pronouncer.pronounce_word(word).phones
        found = witnesses.look(word, ours)
        if found is not None and found[0] != ours:
            yield Mend(word, ours, *found, len(word) > 3 and not witnesses.is_name(word))


def list_settled() -> frozenset[str]:
    """Words whose entry was chosen by hand."""
    return LEFT | {row[0] for row in read_table("variant_choices.tsv")}


def write_entries(entries: Iterable[Phones]) -> str:
    return " / ".join(dict.fromkeys(map(format_phones, entries)))


def list_forms(mend: Mend, lexicon: Lexicon) -> Iterator[tuple[str, str]]:
    """The inflected forms that open with the phones of a mended word, and their entries."""
    size = len(mend.ours)
    # The forms of a short word or a name may be other words: "owed", "Abbas".
    for form in (mend.word + ending for ending in (ENDINGS if mend.may_bend else ("'s",))):
        entries = lexicon.entries(form)
        moved = [(*mend.entry, *e[size:]) if e[:size] == mend.ours else e for e in entries]
        if not lexicon.is_corrected(form) and moved != list(entries):
            yield form, write_entries(moved)


def find_singular(word: str) -> str:
    return word.removesuffix("s").removesuffix("'")


def list_plurals(
    lexicon: Lexicon, pronouncer: Pronouncer, witnesses: Witnesses
) -> Iterator[tuple[str, str]]:
    """Plurals stressed otherwise than their word, whose stress M confirms, and their entries."""
    settled = list_settled()
    for word in lexicon.words():
        base = find_singular(word)
        entries = lexicon.entries(word)
        if len(base) < 4 or pronouncer.is_homograph(base) or lexicon.is_corrected(word):
            continue
        if base == word or word in settled:
            continue
        ours = pronouncer.pronounce_word(base).phones if lexicon.entries(base) else ()
        opening = entries[0][: len(ours)]
        moved = find_main(open_up(opening)) != find_main(open_up(ours))
        same = swap_skeleton(opening) == swap_skeleton(ours) and len(opening) == len(ours)
        if moved and same and not witnesses.knows(word) and witnesses.confirms(base, ours):
            yield word, write_entries([(*ours, *entries[0][len(ours) :]), *entries[1:]])


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--wikipron", type=Path, default=Path("../shared/data/wikipron"))
    options = parser.parse_args()
    lexicon = Lexicon.load(mends=False)
    pronouncer = Engine.load(lexicon=lexicon).pronouncer
    witnesses = Witnesses(options.wikipron)
    mends = list(list_mends(lexicon, pronouncer, witnesses))
    rows = {
        word: (said, f"as “{find_singular(word)}”")
        for word, said in list_plurals(lexicon, pronouncer, witnesses)
    }
    for mend in mends:
        rows |= {form: (said, f"as “{mend.word}”") for form, said in list_forms(mend, lexicon)}
    for mend in mends:
        others = [e for e in lexicon.entries(mend.word) if e != mend.ours]
        rows[mend.word] = write_entries((mend.entry, *others)), mend.who
    lines = (f"{word}\t{entries}\t{who}\n" for word, (entries, who) in sorted(rows.items()))
    TARGET.write_text(HEAD + "".join(lines), encoding="utf-8")
    print(f"{len(mends)} entries and {len(rows) - len(mends)} forms of them mended")


if __name__ == "__main__":
    main()
