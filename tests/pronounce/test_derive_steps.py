"""Each rule of derivation alone, on a dictionary of the words that it needs."""

from __future__ import annotations

from math import exp, log
from pathlib import Path

import pytest

from drillgen.core.phones import format_phones, parse_phones
from drillgen.core.values import Phones
from drillgen.speech.pronounce.derive import (
    LEAST_COMPOUND,
    LEAST_CONFIDENCE,
    SPLIT_CONSTANT,
    SPLIT_WEIGHTS,
    Derived,
    Deriver,
    Tables,
    derive,
    find_bases,
    join_words,
    length_class,
    rate_split,
)

STEPS = [
    line.split("\t")
    for line in (Path(__file__).parent / "data" / "derive_steps.tsv")
    .read_text(encoding="utf-8")
    .splitlines()
    if not line.startswith("#")
]
TABLES = Tables(
    words={"ahhh": ("AA1", "a sigh"), "hmm": ("HH AH0 M", "a thought")},
    doubles=frozenset({"cool"}),
    parts={
        "boat": ("boat", "99", "100", "0", "0"),
        "house": ("house", "0", "0", "99", "100"),
        "over": ("over", "990", "1000", "0", "0"),
        "able": ("able", "0", "0", "990", "1000"),
    },
    chances={("-s", "4"): (90, 100), ("-s", "all"): (900, 1000), ("-ed", "all"): (2, 2)},
)


def find(word: str, known: str, tables: Tables = TABLES) -> tuple[Derived, ...]:
    """The derivations from words with their phones: "boat B OW1 T|sea S IY1"."""
    entries: dict[str, tuple[Phones, ...]] = {}
    for entry in known.split("|"):
        base, _, said = entry.partition(" ")
        entries[base] = (parse_phones(said),)
    return Deriver(lambda asked: entries.get(asked, ()), tables).find(word)


@pytest.mark.parametrize(
    ("word", "known", "base", "said", "kind", "note"),
    STEPS,
    ids=[f"{row[0]}: {row[4]} {row[5]}" for row in STEPS],
)
def test_steps(word: str, known: str, base: str, said: str, kind: str, note: str) -> None:
    found = find(word, known)
    if base == "-":
        assert not found
        return
    best = found[0]
    assert (best.base, best.kind, best.note) == (base, kind, note)
    assert format_phones(best.readings[0]) == said
    assert len(best.readings) == 1


@pytest.mark.parametrize(
    ("word", "suffix", "wanted"),
    # Quirk et al. (1985), 3.5 to 3.10: doubling, dropped e, y to i; all bases that they allow.
    [
        ("hopping", "ing", "hop hopp hoppe"),
        ("planned", "ed", "plan plann planne"),
        ("biggest", "est", "big bigg bigge"),
        ("calling", "ing", "call cal calle"),
        ("kissing", "ing", "kiss kis kisse"),
        ("buzzing", "ing", "buzz buz buzze"),
        ("stuffing", "ing", "stuff stuf stuffe"),
        ("ebbing", "ing", "ebb ebbe"),
        ("adder", "er", "add adde"),
        ("agreeing", "ing", "agree agreee"),
        ("hoping", "ing", "hope hop"),
        ("making", "ing", "make mak"),
        ("using", "ing", "use us"),
        ("eating", "ing", "eat eate"),
        ("sailing", "ing", "sail saile"),
        ("oxing", "ing", "ox oxe"),
        ("dancing", "ing", "dance"),
        ("raging", "ing", "rage"),
        ("aged", "ed", "age"),
        ("icy", "y", "ice"),
        ("danceable", "able", "dance dancee"),
        ("peacable", "able", "peace peac"),
        ("singing", "ing", "singe sing"),
        ("ethicist", "ist", "ethice ethic"),
        ("stoicism", "ism", "stoice stoic"),
        ("publicize", "ize", "publice public"),
        ("panicking", "ing", "panick panicke panic"),
        ("denied", "ed", "deni denie deny"),
        ("arguable", "able", "argue argu"),
        ("closer", "er", "close clos"),
        ("loved", "ed", "love lov"),
        ("aing", "ing", ""),
    ],
)
def test_bases_where_letters_change(word: str, suffix: str, wanted: str) -> None:
    assert list(find_bases(word, suffix, True)) == wanted.split()


def test_bases_where_none_change() -> None:
    assert list(find_bases("happiness", "ness", False)) == ["happi", "happy"]
    assert list(find_bases("coolly", "ly", False)) == ["cool"]
    assert not list(find_bases("aly", "ly", False))


def test_how_sure_a_rule_is() -> None:
    """The record of the rule for bases of that length, smoothed by its record for all with the
    weight of 8 words, and that by 0.95 with the same weight."""
    wide = (900 + 0.95 * 8) / (1000 + 8)
    for base, hits, tries in (("boat", 90, 100), ("quay", 90, 100), ("quays", 0, 0)):
        assert TABLES.chance("-s", base) == pytest.approx((hits + wide * 8) / (tries + 8))
    assert TABLES.chance("-ed", "row") == pytest.approx((2 + 0.95 * 8) / 10)
    assert TABLES.chance("-er", "row") == pytest.approx(0.95)
    classes = {word: length_class(word) for word in ("ox", "row", "boat", "quays", "harbor")}
    assert list(classes.values()) == ["2-3", "2-3", "4", "5", "6+"]


def test_parts_are_read_from_their_rows() -> None:
    assert TABLES.part("boat") == (99, 100, 0, 0)
    assert TABLES.part("skiff") == (0, 0, 0, 0)


@pytest.mark.parametrize(
    ("word", "known", "confidence"),
    [
        ("boats", "boat B OW1 T", TABLES.chance("-s", "boat")),
        ("boats'", "boats B OW1 T S", 0.95),
        ("boats'", "boat B OW1 T", 0.95),
        ("unmoor", "moor M UH1 R", 0.95),
        ("un-moor", "moor M UH1 R", 0.98),
        ("boat'll", "boat B OW1 T", 0.97),
        # A form of a form: the product.
        ("boats'll", "boat B OW1 T", 0.97 * TABLES.chance("-s", "boat")),
        ("ahhh", "x AH0", 1.0),
        ("sooo", "so S OW1", 0.95),
        ("hmmmm", "x AH0", 0.95),
        ("naïve", "naive N AY0 IY1 V", 0.97),
        ("mould", "mold M OW1 L D", 0.95),
        ("sea-boats", "sea S IY1|boat B OW1 T", 0.98 * TABLES.chance("-s", "sea-boat")),
        ("boats-sea", "sea S IY1|boat B OW1 T", 0.98 * TABLES.chance("-s", "boat")),
        ("boathouse", "boat B OW1 T|house HH AW1 S", rate_split("boat", "house", TABLES)),
    ],
)
def test_confidence(word: str, known: str, confidence: float) -> None:
    found = find(word, known)
    assert found[0].confidence == pytest.approx(confidence)
    assert [d.confidence for d in found] == sorted((d.confidence for d in found), reverse=True)


def test_rules_in_the_order_of_ties() -> None:
    """Of two that are as sure the earlier rule: -'s before -s, the ending before the prefix."""
    empty = Tables({}, frozenset(), {}, {})
    kinds = [
        d.kind for d in find("unmooring", "mooring M UH1 R IH0 NG|unmoor AH0 N M UH1 R", empty)
    ]
    assert kinds == ["-ing", "un-"]


def test_a_form_of_an_entry_needs_no_prefix() -> None:
    """Ultrasounds are more than one ultrasound, with its stress, not ultra-sounds."""
    known = "sounds S AW1 N D Z|ultrasound AH1 L T R AH0 S AW2 N D"
    assert [d.base for d in find("ultrasounds", known)] == ["ultrasound"]


def test_no_form_of_the_same_form() -> None:
    """A rower rows; a "rowerer" does nothing."""
    assert not find("rowerer", "row R OW1")
    assert find("rowers", "row R OW1")[0].base in ("row", "rower")
    assert find("rowerless", "row R OW1")[0].note == "rower + -less"


def test_two_steps_and_no_more() -> None:
    assert find("rowerless", "row R OW1")
    assert not find("rowerlessness", "row R OW1")
    entries = {"row": (parse_phones("R OW1"),)}
    deriver = Deriver(lambda word: entries.get(word, ()), TABLES)
    assert not deriver.find("rowerless", 1)
    assert deriver.find("rowerlessness", 3)
    assert deriver.find("row’s") == deriver.find("row's") != ()


def test_short_bases_are_no_forms() -> None:
    """A base of two letters must be in the dictionary itself."""
    assert not find("sos's", "s S EH1")
    assert find("ox's", "ox AA1 K S")


def test_first_base_only() -> None:
    """Hoping is from hope, where both are known."""
    found = find("hoping", "hope HH OW1 P|hop HH AA1 P")
    assert [(d.base, d.kind) for d in found] == [("hope", "-ing")]


def test_a_logistic_model_rates_compounds() -> None:
    """Of the odds of both parts, smoothed; whether one is new; and their lengths, up to 8."""

    def rate(first: tuple[int, int, int], second: tuple[int, int, int]) -> float:
        (a_hits, a_tries, a_size), (b_hits, b_tries, b_size) = first, second
        numbers = (
            log((a_hits + 0.6) / (a_tries - a_hits + 0.4)),
            log((b_hits + 0.6) / (b_tries - b_hits + 0.4)),
            a_tries == 0,
            b_tries == 0,
            a_size / 4,
            b_size / 4,
        )
        total = sum(w * x for w, x in zip(SPLIT_WEIGHTS, numbers, strict=True))
        return 1 / (1 + exp(-SPLIT_CONSTANT - total))

    for first, second, wanted in (
        ("boat", "house", rate((99, 100, 4), (99, 100, 5))),
        ("house", "boat", rate((0, 0, 5), (0, 0, 4))),
        ("boat", "skiff", rate((99, 100, 4), (0, 0, 5))),
        ("boat", "lanternlight", rate((99, 100, 4), (0, 0, 8))),
        ("harborlight", "house", rate((0, 0, 8), (99, 100, 5))),
    ):
        assert rate_split(first, second, TABLES) == pytest.approx(wanted)


def test_no_compound_is_drawn_out() -> None:
    found = find("boooathouse", "boat B OW1 T|house HH AW1 S")
    assert {d.kind for d in found} == {"compound"}


def test_compounds_that_are_none() -> None:
    known = "boat B OW1 T|house HH AW1 S|bo B OW1|athouse AE1 T HH AW2 S"
    assert [d.base for d in find("boathouse", known)] == ["boat"]
    # Both parts are forms; one is.
    assert not find("boatshouses", "boat B OW1 T|house HH AW1 S")
    assert find("boathouses", "boat B OW1 T|house HH AW1 S")
    unsure = Tables({}, frozenset(), {"boat": ("boat", "1", "3", "0", "0")}, {})
    assert rate_split("boat", "house", unsure) < LEAST_COMPOUND
    assert not find("boathouse", "boat B OW1 T|house HH AW1 S", unsure)


def test_longest_compound() -> None:
    """Sixty-four letters, no more."""
    tables = Tables({}, frozenset(), {"boat": ("boat", "990", "1000", "990", "1000")}, {})
    for length, count in ((64, 1), (65, 0)):
        tail = "x" * (length - 4)
        parts = {**tables.parts, tail: (tail, "990", "1000", "990", "1000")}
        some = Tables({}, frozenset(), parts, {})
        assert len(find(f"boat{tail}", f"boat B OW1 T|{tail} K S AE1", some)) == count


def test_compounds_of_three_letters_each() -> None:
    parts = {w: (w, "990", "1000", "990", "1000") for w in ("tea", "pot", "te", "apot", "teap")}
    known = "tea T IY1|pot P AA1 T|te T EH1|apot AE1 P|teap T|ot AA1 T"
    found = find("teapot", known, Tables({}, frozenset(), parts, {}))
    assert [d.note for d in found] == ["tea + pot"]


def test_several_readings() -> None:
    """Those of both parts; what differs after the swap first, nothing twice."""
    entries = {
        "bow": (parse_phones("B OW1"), parse_phones("B AW1"), parse_phones("B OW1 L")),
        "lamp": (parse_phones("L AE1 M P"),),
    }
    parts = {w: (w, "9990", "10000", "9990", "10000") for w in entries}
    deriver = Deriver(lambda word: entries.get(word, ()), Tables({}, frozenset(), parts, {}))
    (compound,) = (d for d in deriver.find("bowlamp") if d.kind == "compound")
    assert [format_phones(p) for p in compound.readings] == [
        "B OW1 L AE2 M P",
        "B OW1 L L AE2 M P",
        "B AW1 L AE2 M P",
    ]
    assert [format_phones(p) for p in deriver.find("re-bows")[0].readings][:1] == ["R IY2 B OW1 Z"]


def test_stress_of_a_compound() -> None:
    first, second = parse_phones("HH AA1 R B ER0"), parse_phones("M AE1 S T ER0 IH2 NG")
    wanted = "HH AA1 R B ER0 M AE2 S T ER0 IH2 NG"
    assert format_phones(join_words(first, second)) == wanted


def test_what_a_pronunciation_tells() -> None:
    """Confidence to three places, the other readings, where it is from."""
    entries = {"boat": (parse_phones("B OW1 T"), parse_phones("B OW1 D"))}
    sure = Tables({}, frozenset(), {}, {("-s", "4"): (9_997, 10_000), ("-s", "all"): (1, 1)})
    found = Deriver(lambda word: entries.get(word, ()), sure).derive("boats")
    assert found is not None
    wide = (1 + 0.95 * 8) / 9
    assert found.confidence == round((9_997 + wide * 8) / 10_008, 3)
    assert (found.word, found.note) == ("boats", "plural or -s form of boat")
    assert [format_phones(p) for p in found.alternatives] == ["B OW1 D Z"]


def test_least_confidence() -> None:
    """0.93 will do; less is left to the predictor."""
    entries = {"boat": (parse_phones("B OW1 T"),)}
    for hits, derived in ((93_000, True), (92_900, False)):
        tables = Tables({}, frozenset(), {}, {("-s", "4"): (hits, 100_000)})
        found = Deriver(lambda word: entries.get(word, ()), tables).derive("boats")
        assert (found is not None) is derived is (tables.chance("-s", "boat") >= LEAST_CONFIDENCE)


def test_tables_of_the_installation() -> None:
    tables = Tables.load()
    assert tables.words["hmm"][0] == "HH AH1 M"
    assert "good" in tables.doubles
    assert tables.part("boat").first_tries > 5
    assert tables.chances["-s", "all"][0] > 1000
    assert derive("skiffs", lambda word: (parse_phones("S K IH1 F"),) * (word == "skiff"))


def test_a_respelled_word_may_have_an_ending_but_no_prefix() -> None:
    colors, miscolor = find("colours", "color K AH1 L ER0"), find("miscolour", "color K AH1 L ER0")
    assert "another spelling of colors" in [d.note for d in colors]
    assert [d.kind for d in miscolor] == ["mis-"]


def test_every_british_spelling_has_an_american_one() -> None:
    """Quirk et al. (1985), appendix III, and common practice: pairs of one word."""
    for british, american in (
        pair.split("/")
        for pair in (
            *("colour/color", "organise/organize", "analyse/analyze", "theatre/theater"),
            *("centring/centering", "catalogue/catalog", "traveller/traveler"),
            *("fulfilment/fulfillment", "kidnapped/kidnaped", "focussed/focused", "aegis/egis"),
            *("haemostat/hemostat", "paediatric/pediatric", "leukaemia/leukemia"),
            *("oestrogen/estrogen", "amoeba/ameba", "foetus/fetus", "defence/defense"),
            *("kilogramme/kilogram", "mouldy/moldy", "connexion/connection"),
            *("judgement/judgment", "likeable/likable"),
        )
    ):
        found = find(british, f"{american} T AE1", Tables({}, frozenset(), {}, {}))
        assert [d.base for d in found if d.kind.startswith("spelling")] == [american], british
    for american, british in (("favorite", "favourite"), ("organized", "organised")):
        assert find(american, f"{british} T AE1")[0].base == british
