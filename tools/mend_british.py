"""British readings of dictionary words that other sources contradict, as a table.

    python tools/mend_british.py --wikipron ../shared/data/wikipron/eng_uk.tsv.gz

What is read is the British accent's reading (entry, table of words, rules, lexical sets).
Witnesses: G misaki's gb_gold, W Wiktionary's British rows, S espeak-ng's British voice.
gb_silver is none: where it differs from us it says what espeak-ng says, faults and all. A word is
mended where G contradicts us and

- W has G's consonants and vowel places and not ours, or lacks the word and S has them: G's
  reading stands instead;
- S has the main stress where G has it: then G's stress, and G's vowels where it changes;
- W has G's vowel with main stress and not ours, or lacks the word and S has it;
- W and S both have G's vowel elsewhere.

What is but a habit of notation or free is no contradiction (`even_out`, `HABITS`). Inflected forms
that open with the phones of a mended word go with it. Writes drillgen/data/british_mends.tsv:
word, phones before the accent step, witnesses.
"""

from __future__ import annotations

import argparse
import dataclasses
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final, NamedTuple

from british_phones import candidates, hear, to_dictionary
from british_witnesses import (
    SHORT,
    BritishEspeak,
    Sound,
    Sounds,
    even_out,
    read_misaki,
    read_phones,
    read_wiktionary,
    skeleton,
    skeletons,
    vowels,
)
from wordfreq import zipf_frequency

from drillgen.core.accents import load_accent
from drillgen.core.phones import PHONE_TABLE, format_phones, parse_phones
from drillgen.core.resources import read_table
from drillgen.core.values import Phones
from drillgen.speech.align.letters import locate_letters
from drillgen.speech.pronounce.derive import add_s
from drillgen.speech.pronounce.engine import Knowledge, Pronouncer
from drillgen.speech.pronounce.lexicon import Lexicon
from drillgen.speech.pronounce.overrides import Overrides
from drillgen.speech.pronounce.variants import local_form

TARGET: Final = Path(__file__).resolve().parent.parent / "drillgen" / "data" / "british_mends.tsv"
RARE: Final = 1.5
"""Zipf frequency below which a word is left."""

ENDINGS: Final = ("s", "'s", "es", "d", "ed", "ing", "ly", "ness", "er", "ers")
HABITS: Final = (
    {"UA", "AO"},
    {"IA", "IY"},
    {"IA", "IH"},
    {"UA", "UH"},
    {"UW", "UA"},
    {"EA", "EH"},
)
WEAK: Final = frozenset({"@", "IH", "IY", "UH", "UW", "OW", "IA", "UA"})


LEFT: Final = frozenset(
    [
        *("beens", "downgrade", "esses", "evaluate", "friday", "gose", "grassed", "krantz", "lan"),
        *("luge", "magdalen", "mall", "mamma", "mas", "mbira", "oooh", "salina", "salinas"),
        *("sayyid", "scone", "sures", "transect", "tush", "vega", "vegas", "wythe", "yi"),
    ]
)
"""Words that the witnesses have wrong, mean otherwise, or have in a fashion that is past."""

HEAD: Final = """# British readings of dictionary words as other sources have them, before the
# accent step; made by tools/mend_british.py. Witnesses: G gb_gold of the package misaki 0.9.4
# (Apache-2.0), W Wiktionary's British rows (WikiPron, CC BY-SA 4.0), S espeak-ng's British voice;
# "as …": an inflected form of a mended word.
# word\tphones\twitnesses
"""


class Views(NamedTuple):
    """What the witnesses say of a word."""

    gold: tuple[Sounds, ...]
    wiktionary: tuple[Sounds, ...]
    espeak: tuple[Sounds, ...]


def match(ours: Sounds, theirs: Sounds) -> tuple[list[Sound], list[Sound]] | None:
    """The vowels of two readings side by side; None where consonants or vowel places differ."""
    for short in SHORT:
        for wide in (False, True):
            a = even_out(ours, short=short, wide=wide)
            b = even_out(theirs, short=short, wide=wide)
            if skeleton(a) == skeleton(b):
                return vowels(a), vowels(b)
    return None


def find_main(row: Sequence[Sound]) -> int | None:
    return max((i for i, sound in enumerate(row) if sound.stress == 1), default=None)


def _all_skeletons(forms: Sequence[Sounds]) -> frozenset[tuple[str, ...]]:
    return frozenset().union(*map(skeletons, forms))


def _is_habit(word: str, ours: Sounds, theirs: Sounds) -> bool:
    """Whether only the z of "trans-" or the k of "length" is another."""
    if not re.match("trans|(?:len|stren)gth", word):
        return False
    names = [
        [LOOSE.get(s.symbol, s.symbol) for s in even_out(row) if s.stress is None]
        for row in (ours, theirs)
    ]
    first, second = ([name for name in row if name] for row in names)
    return first == second


LOOSE: Final = {"K": "", "Z": "S"}


def look_at_skeleton(word: str, ours: Sounds, views: Views) -> tuple[Sounds, str] | None:
    """G's reading where consonants or vowel places are another, and who else says so."""
    own = skeletons(ours)
    if own & _all_skeletons(views.gold):
        return None
    wiktionary = _all_skeletons(views.wiktionary)
    for form in views.gold:
        theirs = skeletons(form)
        if _is_habit(word, ours, form):
            continue
        if theirs & wiktionary and not own & wiktionary:
            return form, "G W S" if theirs & _all_skeletons(views.espeak) else "G W"
        if not wiktionary and theirs & _all_skeletons(views.espeak):
            return form, "G S"
    return None


class Vote(NamedTuple):
    """A vowel that others put at a place."""

    place: int
    """Which vowel, from 0."""

    sound: Sound
    who: str


def look_at_stress(ours: Sounds, views: Views) -> tuple[Sounds, str] | None:
    """The form of G whose main stress is elsewhere than ours, as S has it."""
    pairs = [(form, pair) for form in views.gold if (pair := match(ours, form))]
    if not pairs or any(find_main(b) in (None, find_main(a)) for _, (a, b) in pairs):
        return None
    for form, _ in pairs:
        for said in views.espeak:
            pair = match(form, said)
            if pair and find_main(pair[0]) == find_main(pair[1]) is not None:
                return form, "G S"
    return None


def look_at_vowels(word: str, ours: Sounds, views: Views) -> Iterator[Vote]:
    """The vowels that others have otherwise; the readings have as many vowels as ours."""
    row = vowels(ours)
    gold = [v for f in views.gold if match(ours, f) and len(v := vowels(f)) == len(row)]
    if not gold or any(find_main(v) != find_main(row) for v in gold):
        return
    wiktionary = [
        v for f in views.wiktionary if match(ours, f) and len(v := vowels(f)) == len(row)
    ]
    espeak = [v for f in views.espeak if match(ours, f) and len(v := vowels(f)) == len(row)]
    for k, own in enumerate(row):
        theirs = {v[k].symbol for v in gold}
        listed = {v[k].symbol for v in wiktionary}
        spoken = {v[k].symbol for v in espeak}
        if own.symbol in theirs | listed:
            continue
        for other in sorted(theirs):
            pair = {own.symbol, other}
            if pair in HABITS or (not own.stress and pair <= WEAK):
                continue
            who = "G" + " W" * (other in listed) + " S" * (other in spoken)
            if other == "ER" and "r" not in word:
                continue
            enough = who == "G W S" or (
                own.stress == 1 and (who == "G W" or (who == "G S" and not listed))
            )
            if enough:
                yield Vote(k, Sound(other, gold[0][k].stress), who)
                break


class Mender:
    """Makes the entries of the table."""

    def __init__(self, wikipron: Path) -> None:
        self.lexicon: Final = Lexicon.load()
        accent = load_accent("non-rhotic")
        # As it is read without the table that is made here.
        words = tuple(name for name in accent.words if name != TARGET.name)
        accent = dataclasses.replace(accent, words=words)
        self.pronouncer: Final = Pronouncer(
            Knowledge.load(self.lexicon), Overrides(), accent, locate_letters
        )
        self.gold: Final = read_misaki("gb_gold")
        self.wiktionary: Final = read_wiktionary(wikipron)
        self.espeak: Final = BritishEspeak()

    def read(self, word: str) -> tuple[Phones, Sounds]:
        """Our reading, before and after the accent step."""
        pronouncer = self.pronouncer
        phones = pronouncer.pronounce_word(word).phones
        return phones, read_phones(pronouncer.in_accent(word, phones))

    def view(self, word: str) -> Views:
        said = self.espeak.say(word)
        return Views(
            self.gold.get(word, ()), self.wiktionary.get(word, ()), (said,) if said else ()
        )

    def mend(self, word: str) -> tuple[Phones, Phones, str] | None:
        """Our entry, the entry as it should be, and who says so; None where it stands."""
        phones, ours = self.read(word)
        views = self.view(word)
        accent = self.pronouncer.accent
        found = look_at_skeleton(word, ours, views)
        if found is not None:
            whole = to_dictionary(word, found[0], accent)
            return (phones, whole, found[1]) if whole else None
        who: set[str] = set()
        mended = list(phones)
        places = [i for i, phone in enumerate(phones) if phone.stress is not None]
        stress = look_at_stress(ours, views)
        if stress is not None:
            form, names = stress
            if len(vowels(form)) != len(places):
                whole = to_dictionary(word, form, accent)
                return (phones, whole, names) if whole else None
            for place, theirs in zip(places, vowels(form), strict=True):
                moved = _move(word, tuple(mended), place, theirs, self.pronouncer)
                if moved is None:
                    whole = to_dictionary(word, form, accent)
                    return (phones, whole, names) if whole else None
                mended = list(moved)
            who |= set(names.split())
        else:
            for vote in look_at_vowels(word, ours, views):
                place = places[vote.place]
                symbol, level = vote.sound.symbol, phones[place].stress or 0
                if not vote.sound.stress and level == 2 and symbol in WEAK:
                    level = 0
                if not level and symbol not in WEAK and place > _find_place(phones):
                    # The dictionary gives a full vowel behind the main stress a second one.
                    level = 2
                new = _put(word, tuple(mended), place, symbol, level, self.pronouncer)
                if new is not None:
                    mended = list(new)
                    who |= set(vote.who.split())
        said = tuple(mended)
        return (phones, said, " ".join(sorted(who))) if said != phones else None

    def list_forms(self, word: str, ours: Phones, mended: Phones) -> Iterator[tuple[str, Phones]]:
        """Inflected forms that G lacks and that open with the phones of a mended word."""
        for ending in ENDINGS if len(word) > 3 else ("'s",):
            form = word + ending
            if form in self.gold or form in LEFT or form not in self.lexicon:
                continue
            if self.pronouncer.is_homograph(form):
                continue
            phones = self.pronouncer.pronounce_word(form).phones
            if phones[: len(ours)] == ours:
                yield form, _join(mended, phones[len(ours) :])

    def list_forms_by_hand(self) -> Iterator[tuple[str, str, Phones]]:
        """Inflected forms, which no table has, of words that we have by hand, with those."""
        by_hand = {row[0]: parse_phones(row[1]) for row in read_table("british_words.tsv")}
        for word, own in by_hand.items():
            american = [
                local_form(word, phones, self.pronouncer.accent.forms)
                for phones in self.lexicon.entries(word)
            ]
            for ending in ENDINGS if len(word) > 3 else ("'s",):
                form = word + ending
                known = form in by_hand or form in LEFT or form in self.gold
                if known or form not in self.lexicon:
                    continue
                if self.pronouncer.is_homograph(form):
                    continue
                phones = self.pronouncer.pronounce_word(form).phones
                for entry in american:
                    opens = phones[: len(entry)] == entry != own
                    # "Fillet" has a t in British English that "fillets" would have twice.
                    if opens and phones[len(entry) : len(entry) + 1] != own[-1:]:
                        yield word, form, _join(own, phones[len(entry) :])
                        break

    def list_words(self) -> Iterator[str]:
        """Words of G that the dictionary has and that are not settled otherwise."""
        settled = LEFT | {row[0] for row in read_table("british_words.tsv")}
        for word in sorted(self.gold):
            plain = word.isalpha() and word not in settled and word in self.lexicon
            common = plain and zipf_frequency(word, "en") >= RARE
            if common and not self.pronouncer.is_homograph(word):
                yield word


def _join(base: Phones, ending: Phones) -> Phones:
    """A word and the ending of its form; an s or z suits the sound before it."""
    is_s = len(ending) == 1 and ending[0].symbol in ("S", "Z")
    return add_s(base) if is_s else (*base, *ending)


def _find_place(phones: Phones) -> int:
    """Where the main stress is."""
    return max((i for i, phone in enumerate(phones) if phone.stress == 1), default=-1)


def _put(
    word: str, phones: Phones, place: int, symbol: str, stress: int, pronouncer: Pronouncer
) -> Phones | None:
    """The phones with the vowel at a place that the accent makes this sound of."""
    for name in candidates(Sound(symbol, stress), phones[place].symbol == "ER"):
        if f"{name}{stress}" not in PHONE_TABLE:
            continue
        tried = (*phones[:place], PHONE_TABLE[f"{name}{stress}"], *phones[place + 1 :])
        if "ER" in (name, phones[place].symbol) and name != phones[place].symbol:
            continue
        if hear(word, tried, pronouncer.accent, place) == symbol:
            return tried
    return None


def _move(
    word: str, phones: Phones, place: int, theirs: Sound, pronouncer: Pronouncer
) -> Phones | None:
    """The phones with another's stress at a place, and its vowel where stress comes or goes."""
    own = phones[place]
    if bool(own.stress) == bool(theirs.stress):
        return (*phones[:place], PHONE_TABLE[f"{own.symbol}{theirs.stress}"], *phones[place + 1 :])
    stress = theirs.stress or 0
    if not stress and theirs.symbol not in WEAK and theirs.symbol != "ER":
        # The dictionary gives a full vowel a second stress.
        stress = 2
    return _put(word, phones, place, theirs.symbol, stress, pronouncer)


def measure(mender: Mender) -> None:
    """How often the witness that was not asked agrees: W with G and S, S with G and W."""
    counts: Counter[tuple[str, str]] = Counter()
    for word in mender.list_words():
        _, ours = mender.read(word)
        views = mender.view(word)
        for hidden, asked in (
            ("W", views._replace(wiktionary=())),
            ("S", views._replace(espeak=())),
        ):
            witness = views.wiktionary if hidden == "W" else views.espeak
            found = look_at_skeleton(word, ours, asked)
            if not witness:
                continue
            if found is not None:
                theirs, own = skeletons(found[0]), skeletons(ours)
                counts[
                    f"consonants, places: {hidden}",
                    _judge(
                        bool(theirs & _all_skeletons(witness)), bool(own & _all_skeletons(witness))
                    ),
                ] += 1
                continue
            for vote in look_at_vowels(word, ours, asked):
                said = {
                    v[vote.place].symbol
                    for f in witness
                    if match(ours, f) and len(v := vowels(f)) == len(vowels(ours))
                }
                if said:
                    counts[
                        f"vowels: {hidden}",
                        _judge(vote.sound.symbol in said, vowels(ours)[vote.place].symbol in said),
                    ] += 1
    for (what, verdict), count in sorted(counts.items()):
        print(f"{what}, not asked, has {verdict}: {count}")


def _judge(new: bool, old: bool) -> str:
    return {(True, True): "both", (True, False): "the new", (False, True): "the old"}.get(
        (new, old), "neither"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--wikipron", type=Path, required=True, help="eng_uk.tsv.gz of WikiPron")
    parser.add_argument("--measure", action="store_true", help="only ask the third witness")
    options = parser.parse_args()
    mender = Mender(options.wikipron)
    if options.measure:
        measure(mender)
        return
    rows: dict[str, tuple[str, str]] = {}
    mends = [(word, found) for word in mender.list_words() if (found := mender.mend(word))]
    for word, (ours, mended, _) in mends:
        for form, phones in mender.list_forms(word, ours, mended):
            rows[form] = format_phones(phones), f"as “{word}”"
    for word, form, phones in mender.list_forms_by_hand():
        rows[form] = format_phones(phones), f"as “{word}”"
    for word, (_, mended, who) in mends:
        rows[word] = format_phones(mended), who
    lines = (f"{word}\t{said}\t{who}\n" for word, (said, who) in sorted(rows.items()))
    TARGET.write_text(HEAD + "".join(lines), encoding="utf-8")
    print(f"{len(mends)} words and {len(rows) - len(mends)} forms of them mended")


if __name__ == "__main__":
    main()
