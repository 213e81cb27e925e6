"""Guesses weighed by hand: members that say what the case needs, weights that can be added up."""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, log
from typing import Any, cast

import pytest

from drillgen.core.phones import format_phones, parse_phones
from drillgen.core.resources import read_table
from drillgen.core.values import Origin, Phones
from drillgen.speech.pronounce.doubt import Case, Doubt
from drillgen.speech.pronounce.neural import Guess
from drillgen.speech.pronounce.predict import (
    CHOICE_FEATURES,
    Opinions,
    Predictor,
    Weights,
    list_candidates,
    rank,
    settle_stress,
    weigh,
)


def guess(phones: str, chance: float) -> Guess:
    return Guess(parse_phones(phones), log(chance))


def skeleton(text: str) -> tuple[str, ...]:
    return tuple(text.split())


def floor(chance: float) -> float:
    return log(chance + 1e-4)


BAT = Opinions(
    "bat",
    (guess("B AE1 T", 0.5), guess("P AE1 T", 0.2), guess("B AA1 T", 0.1)),
    (guess("P AE1 T", 0.6), guess("D AE1 T", 0.3)),
    parse_phones("B AO1 T"),
    parse_phones("G AE1 T"),
)


def test_candidates_and_what_is_said_of_them() -> None:
    """Each once, in the order of the members; the network's are those that the swap makes one."""
    assert CHOICE_FEATURES == ("usual", "listed", "espeak", "rival", "top usual", "top listed")
    found = list_candidates(BAT)
    wanted = {
        "B * T": (floor(0.6), floor(0), 1, 0, 1, 0),
        "P * T": (floor(0.2), floor(0.6), 0, 0, 0, 1),
        "D * T": (floor(0), floor(0.3), 0, 0, 0, 0),
        "G * T": (floor(0), floor(0), 0, 1, 0, 0),
    }
    assert [" ".join(key) for key in found] == list(wanted)
    for key, numbers in wanted.items():
        assert found[skeleton(key)] == pytest.approx(numbers)


def test_four_candidates_in_one_habit_and_three_in_the_other() -> None:
    usual = tuple(guess(f"{c} AE1", 0.3 - 0.01 * i) for i, c in enumerate("BDFGK"))
    listed = tuple(guess(f"{c} AE1", 0.3 - 0.01 * i) for i, c in enumerate("LMNP"))
    none = Opinions("x", usual, listed, None, None)
    assert "".join(key[0] for key in list_candidates(none)) == "BDFGLMN"
    assert list_candidates(Opinions("x", (), (), None, None)) == {}
    # The likeliest are those, in whatever order they come.
    turned = none._replace(usual=usual[::-1], listed=listed[::-1])
    assert "".join(key[0] for key in list_candidates(turned)) == "BDFGLMN"


class FixedDoubt:
    """Log odds of 2, 3 … in the order of asking."""

    def __init__(self) -> None:
        self.cases: list[Case] = []

    def judge(self, cases: Sequence[Case]) -> list[float]:
        self.cases += cases
        return [2.0 + i for i in range(len(cases))]


def weights(*choice: float) -> Weights:
    return Weights(choice, cast("Doubt", FixedDoubt()))


NOTHING = Opinions("東", (), (), None, None)


def test_ranking() -> None:
    """A weighted sum, best first; of equal ones the earlier."""
    by_network = rank(BAT, weights(1, 0, 0, 0, 0, 0))
    assert by_network is not None
    assert (by_network.word, by_network.usual, by_network.rival) == (
        "bat",
        BAT.usual,
        BAT.rival,
    )
    assert ["".join(key) for key, _ in by_network.ranked] == ["B*T", "P*T", "D*T", "G*T"]
    assert by_network.ranked[0][1] == pytest.approx(floor(0.6))
    by_rival = rank(BAT, weights(0, 0, 1, 2, 0, 0))
    assert by_rival is not None
    assert [(key[0], score) for key, score in by_rival.ranked[:2]] == [("G", 2), ("B", 1)]
    assert rank(NOTHING, weights(1, 0, 0, 0, 0, 0)) is None


def test_weighing() -> None:
    """Readings of the first candidate in the order of the members; the chance is logistic."""
    first, none, second = weigh([BAT, NOTHING, BAT], weights(1, 0, 0, 0, 0, 0))
    assert none == ((), 0.0)
    assert first[1] == pytest.approx(1 / (1 + exp(-2)))
    assert second[1] == pytest.approx(1 / (1 + exp(-3)))
    best = first[0][0]
    assert best.score == pytest.approx(floor(0.6))
    assert [format_phones(p) for p in best.readings] == ["B AE1 T", "B AA1 T", "B AO1 T"]
    assert [format_phones(c.readings[0]) for c in first[0][1:]] == [
        "P AE1 T",
        "D AE1 T",
        "G AE1 T",
    ]


@pytest.mark.parametrize(
    ("said", "settled"),
    [
        ("B AH0 N AE2 N AH0", "B AH0 N AE1 N AH0"),
        ("B AH0 N AE0 N AH0", "B AH1 N AE0 N AH0"),
        ("P AO1 R TH K UH1 R N OW2", "P AO1 R TH K UH2 R N OW2"),
        ("P AO2 R TH K UH1 R", "P AO2 R TH K UH1 R"),
        ("HH M", "HH M"),
    ],
)
def test_one_main_stress(said: str, settled: str) -> None:
    assert format_phones(settle_stress(parse_phones(said))) == settled


class Members:
    """A network, espeak-ng and a rival that know one word each, and keep what they are asked."""

    def __init__(self, usual: tuple[Guess, ...], listed: tuple[Guess, ...], said: str) -> None:
        self.guesses = {"U": usual, "C": listed}
        self.said = said
        self.asked: list[tuple[tuple[str, ...], str]] = []

    def guess(
        self, words: Sequence[str], mnemonics: Sequence[Sequence[str]], source: str = "U"
    ) -> tuple[tuple[Guess, ...], ...]:
        assert [tuple(row) for row in mnemonics] == [self.mnemonics(word) for word in words]
        self.asked.append((tuple(words), source))
        return tuple(self.guesses[source] for _ in words)

    def mnemonics(self, word: str) -> tuple[str, ...]:
        return tuple(self.said.split()) if word != "mute" else ()

    def pronounce(self, words: Sequence[str]) -> tuple[Phones | None, ...]:
        return tuple(parse_phones("G AE1 T") if word == "bat" else None for word in words)


def predictor(members: Members, *choice: float) -> Predictor:
    return Predictor(*cast("tuple[Any, Any, Any]", (members,) * 3), weights(*choice))


USUAL = tuple(guess(f"{c} AE1 T", 0.4 - 0.05 * i) for i, c in enumerate("BPDGKF"))


@pytest.mark.parametrize(
    ("top", "said", "settled"),
    [
        (0.4, "b 'a t", True),
        (0.399, "b 'a t", False),
        (0.4, "p 'a t", False),
        (0.4, "ŋ 'a t", False),
    ],
)
def test_the_second_look_only_where_it_may_matter(top: float, said: str, settled: bool) -> None:
    """Not where espeak-ng agrees with a first choice of 0.4 or more."""
    usual = (guess("B AE1 T", top), *USUAL[1:])
    members = Members(usual, (guess("Z AE1 T", 0.9),) * 6, said)
    (bat, mute) = predictor(members, 1, 0, 0, 0, 0, 0).ask(["bat", "mute"])
    assert members.asked == [
        (("bat", "mute"), "U"),
        (("mute",) if settled else ("bat", "mute"), "C"),
    ]
    assert bat.usual == usual[:5]
    assert bat.listed == (usual[:4] if settled else members.guesses["C"][:4])
    assert mute.listed == members.guesses["C"][:4]
    assert (mute.espeak, mute.rival) == (None, None)
    assert bat.rival == parse_phones("G AE1 T")
    assert (bat.espeak is None) is said.startswith("ŋ")
    assert predictor(members, 1, 0, 0, 0, 0, 0).ask([]) == ()


def test_lone_network() -> None:
    members = Members(USUAL, USUAL, "")
    lone = Predictor(cast("Any", members), None, None, weights(1, 0, 0, 0, 0, 0))
    (bat,) = lone.ask(["bat"])
    assert (bat.espeak, bat.rival) == (None, None)
    (found,) = lone.predict(["bat"])
    assert found.note == "guessed from the spelling"


def test_a_guess_and_what_else_is_offered() -> None:
    """Others from a fiftieth of its weight on, four at most, then other vowels, two at most."""
    usual = tuple(guess(f"{c} AE1 T", 0.5 ** (i + 1)) for i, c in enumerate("BPDGKFV"))
    listed = tuple(guess(f"B {v}1 T", 0.1) for v in ("AA", "AO", "EH", "IH"))
    one = Opinions("bat", usual, listed, parse_phones("B OW1 T"), None)
    (found,) = predictor(Members((), (), ""), 1, 0, 0, 0, 0, 0).decide([one])
    # The network's own four, one a quarter of the weight of the one before it.
    assert [format_phones(p) for p in found.alternatives] == [
        *("P AE1 T", "D AE1 T", "G AE1 T"),
        *("B AA1 T", "B AO1 T"),
    ]
    assert (found.word, format_phones(found.phones)) == ("bat", "B AE1 T")
    assert (found.origin, found.confidence) == (Origin.PREDICTED, 0.881)
    assert found.note == "guessed from the spelling; all guesses agree"


def test_least_chance_of_what_is_offered() -> None:
    """0.02 of the first one's weight is too little; four of those that the swap tells apart."""
    one = BAT._replace(listed=(), espeak=None, rival=None, usual=())
    for ratio, count in ((0.0201, 1), (0.0199, 0)):
        step = log(ratio)
        spoken = one._replace(espeak=parse_phones("B AE1"), rival=parse_phones("D AE1"))
        (found,) = predictor(Members((), (), ""), 0, 0, 0, step, 0, 0).decide([spoken])
        assert len(found.alternatives) == count
    many = BAT._replace(
        usual=tuple(guess(f"{c} AE1", 0.1) for c in "BDFG"),
        listed=tuple(guess(f"{c} AE1", 0.1) for c in "KLM"),
    )
    (found,) = predictor(Members((), (), ""), 0, 0, 0, 0, 0, 0).decide([many])
    assert len(found.alternatives) == 4


def test_stress_of_what_is_offered() -> None:
    """One main stress each; what becomes the same is there once."""
    one = Opinions(
        "x", (guess("B AE0 T AH0", 0.5),), (guess("B AE1 T AH1", 0.1),), None,
        parse_phones("B IY0 T IY0"),
    )  # fmt: skip
    (found,) = predictor(Members((), (), ""), 1, 0, 0, 0, 0, 0).decide([one])
    assert format_phones(found.phones) == "B AE1 T AH0"
    assert [format_phones(p) for p in found.alternatives] == ["B AE1 T AH2", "B IY1 T IY0"]


def test_who_agrees() -> None:
    said = {
        (espeak, rival): predictor(Members((), (), ""), 1, 0, 0, 0, 0, 0)
        .decide([BAT._replace(espeak=espeak, rival=rival)])[0]
        .note.partition("; ")[2]
        for espeak in (None, parse_phones("B IY1 T"), parse_phones("D IY1 T"))
        for rival in (None, parse_phones("B OW1 T"))
    }
    assert list(said.values()) == [
        *("", "all guesses agree", "all guesses agree"),
        *("all guesses agree", "the guesses differ", "the guesses differ"),
    ]


def test_what_nobody_can_read() -> None:
    (found,) = predictor(Members((), (), ""), 1, 0, 0, 0, 0, 0).decide([NOTHING])
    assert found.phones == parse_phones("AH1")
    assert (found.word, found.origin, found.confidence) == ("東", Origin.PREDICTED, 0)
    assert found.note == "not in letters that we can read"
    assert found.alternatives == ()


def test_parts_of_a_word() -> None:
    """Each part is asked for once; sureness multiplies; the first stress is the main one."""
    members = Members((guess("B AE1 T", 0.5),), (guess("B AE1 T", 0.5),), "p 'a t")
    made = predictor(members, 1, 0, 0, 0, 0, 0)
    whole, bat = made.predict(["bat-mute--bat", "bat"])
    assert members.asked[0] == (("bat", "mute"), "U")
    assert format_phones(whole.phones) == "B AE1 T B AE2 T B AE2 T"
    a, b = 1 / (1 + exp(-2)), 1 / (1 + exp(-3))
    assert whole.confidence == pytest.approx(a * b * a, abs=0.002)
    assert whole.note == "guessed part by part"
    assert (whole.word, whole.origin, whole.alternatives) == (
        "bat-mute--bat",
        Origin.PREDICTED,
        (),
    )
    assert bat.word == "bat"
    (hyphens,) = made.predict(["--"])
    assert hyphens.word == "--"


@pytest.mark.parametrize("espeak", [True, False])
def test_weights_of_the_installation(espeak: bool) -> None:
    wanted = [
        float(value)
        for situation, _, value in read_table("predict_weights.tsv")
        if situation == ("espeak" if espeak else "alone")
    ]
    found = Weights.load(espeak=espeak)
    assert list(found.choice) == wanted
    assert found.doubt.weight("^th") == Doubt.load(espeak=espeak).weight("^th")
    assert Weights.load(espeak=not espeak).doubt.weight("^th") != found.doubt.weight("^th")
