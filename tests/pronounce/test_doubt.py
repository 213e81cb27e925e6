"""How likely a guess is right: each number that describes a choice, worked out by hand."""

from __future__ import annotations

import zlib
from math import exp, log
from typing import Any

import numpy as np
import pytest

from drillgen.core.phones import parse_phones
from drillgen.core.resources import data_file, load_frequencies
from drillgen.speech.pronounce.doubt import (
    BUCKETS,
    DOUBT_FILE,
    FEATURES,
    Case,
    Doubt,
    bucket,
    describe,
    list_marks,
    list_patterns,
    share_chances,
)
from drillgen.speech.pronounce.neural import Guess


def skeleton(text: str) -> tuple[str, ...]:
    return tuple(text.split())


def guess(phones: str, chance: float) -> Guess:
    return Guess(parse_phones(phones), log(chance))


KITTAB = Case(
    "kittab",
    (guess("K AH0 T AE1 B", 0.5), guess("K IH0 T AE1 B", 0.2), guess("S AH0 T AE1 B", 0.1)),
    (guess("S IH1 T AH0 B", 0.6), guess("K IH1 T AH0 B", 0.3)),
    parse_phones("K IH1 T AH0 B Z"),
    parse_phones("S IH1 T AE2 B AH0"),
    (
        (skeleton("K * T * B"), 2.0),
        (skeleton("S * T * B"), 1.5),
        (skeleton("K * T * B Z"), 0.25),
    ),
)
ALONE = Case("mm", (), (), None, None, ((skeleton("M"), 0.75),))
LISTED_ONLY = Case(
    "oa", (), (guess("OW1 AH0", 0.5),), None, parse_phones("OW1"), ((skeleton("* *"), 1.0),)
)


@pytest.fixture
def doubt() -> Doubt:
    """A letter's surprise is its place in the alphabet after the two before it, in hundredths:
    ("kit": 0.0911 for the k and so on)."""
    surprise = np.arange(28**3) / 1000
    marks = [0.0] * BUCKETS
    for mark, weight in {
        "^ki": 0.5,
        "ittab": 0.25,
        "2:K>S": 8.0,
        "e:>Z:ab": 16.0,
        "end:ab:* B": 32.0,
    }.items():
        marks[zlib.crc32(mark.encode()) % 32_768] = weight
    return Doubt(surprise.tolist(), marks, [], frequencies={"kittab": 3.5})


def code(letters: str) -> float:
    """What the fixture says of the last of three letters; ^ stands for both edges."""
    a, b, c = ("^abcdefghijklmnopqrstuvwxyz'".index(letter) for letter in letters)
    return (a * 28 * 28 + b * 28 + c) / 1000


def floor(chance: float) -> float:
    return log(chance + 0.0001)


def test_every_number_of_a_choice(doubt: Doubt) -> None:
    """usual: K*T*B 0.7, S*T*B 0.1; listed: S*T*B 0.6, K*T*B 0.3."""
    surprises = [code(s) for s in ("^^k", "^ki", "kit", "itt", "tta", "tab", "ab^")]
    wanted = {
        "score": 2.0,
        "margin": 0.5,
        "third": 1.75,
        "usual": floor(0.7),
        "listed": floor(0.3),
        "margin_usual": floor(0.7) - floor(0.1),
        "margin_listed": floor(0.6) - floor(0.3),
        "entropy_usual": -0.7 * log(0.7) - 0.1 * log(0.1),
        "entropy_listed": -0.6 * log(0.6) - 0.3 * log(0.3),
        "rest_usual": 0.2,
        "rest_listed": 0.1,
        "first_usual": log(0.5),
        "first_listed": log(0.6),
        "usual_of_espeak": floor(0),
        "listed_of_espeak": floor(0),
        "is_espeak": 0,
        "is_usual": 1,
        "is_listed": 0,
        "tops_agree": 0,
        # K AH T AE B, S IH T AH B and K IH T AH B Z: between the first and the last
        # phone that differ.
        "usual_listed_phones": 4,
        "usual_espeak_phones": 5,
        "listed_espeak_phones": 6,
        "chosen_espeak": 1,
        "chosen_second": 1,
        "usual_listed": 1,
        "stress_listed": 0,
        "stress_espeak": 0,
        "letters": 6,
        "skeleton": 5,
        "vowels": 2,
        "vowel_letters": 0,
        "letters_phones": 1,
        "vowels_espeak": 0,
        "is_rival": 0,
        # Against S * T * B *, whole rows: no common end.
        "chosen_rival": 6,
        "espeak_rival": 6,
        "doubles": 1,
        "frequency": 3.5,
        "surprise": sum(surprises) / 7,
        "most_surprise": max(surprises),
        "end_surprise": code("tab") + code("ab^"),
        "start_surprise": code("^^k") + code("^ki") + code("kit"),
        "marks": 0.75 + 56.0,
        "marks_spelling": 0.75,
    }
    assert list(wanted) == list(FEATURES)
    found = dict(zip(FEATURES, describe(KITTAB, doubt), strict=True))
    for name, value in wanted.items():
        assert found[name] == pytest.approx(value), name


def test_what_is_missing_has_its_own_number(doubt: Doubt) -> None:
    """No network, no espeak-ng, no rival, no second candidate."""
    found = dict(zip(FEATURES, describe(ALONE, doubt), strict=True))
    wanted = {
        "score": 0.75,
        "margin": 12.75,
        "third": 12.75,
        **dict.fromkeys(("usual", "listed", "usual_of_espeak", "listed_of_espeak"), floor(0)),
        **dict.fromkeys(("margin_usual", "margin_listed", "first_usual", "first_listed"), 0),
        **dict.fromkeys(("rest_usual", "rest_listed", "tops_agree", "doubles"), 1),
        **dict.fromkeys(("entropy_usual", "is_espeak", "is_usual", "is_listed", "is_rival"), 0),
        **dict.fromkeys(("stress_listed", "stress_espeak", "vowels_espeak", "frequency"), 0),
        **dict.fromkeys(
            ("usual_listed_phones", "usual_espeak_phones", "listed_espeak_phones"), 10
        ),
        **dict.fromkeys(("chosen_espeak", "chosen_second", "usual_listed"), 10),
        **dict.fromkeys(("chosen_rival", "espeak_rival"), 10),
        "skeleton": 1,
        "letters": 2,
        "letters_phones": 1,
        "surprise": (code("^^m") + code("^mm") + code("mm^")) / 3,
        "start_surprise": code("^^m") + code("^mm") + code("mm^"),
    }
    for name, value in wanted.items():
        assert found[name] == pytest.approx(value), name


def test_one_source_alone_and_those_that_agree(doubt: Doubt) -> None:
    found = dict(zip(FEATURES, describe(LISTED_ONLY, doubt), strict=True))
    assert (found["is_listed"], found["is_usual"], found["tops_agree"]) == (1, 0, 0)
    assert found["margin_listed"] == pytest.approx(floor(0.5) - floor(0))
    # The stress of the likeliest guess of either kind.
    assert found["stress_listed"] == 1
    assert found["vowel_letters"] == 0
    assert found["chosen_rival"] == 1
    same = Case(
        "tide",
        (guess("T AY1 D", 0.5),),
        (guess("T AY1 D", 0.5),),
        parse_phones("T IY1 D"),
        parse_phones("T AY1 D"),
        ((skeleton("T * D"), 1.0),),
    )
    found = dict(zip(FEATURES, describe(same, doubt), strict=True))
    names = ("is_espeak", "is_usual", "is_listed", "tops_agree", "stress_listed", "is_rival")
    assert {found[name] for name in (*names, "stress_espeak")} == {1}
    assert found["usual_of_espeak"] == found["listed_of_espeak"] == floor(0.5)
    assert found["usual_espeak_phones"] == 1
    assert found["usual_listed_phones"] == found["chosen_espeak"] == 0


def test_a_distance_is_nine_at_most(doubt: Doubt) -> None:
    long = parse_phones("B " * 14 + "AH1")
    case = ALONE._replace(espeak=long, rival=parse_phones("D " * 9 + "AH1"))
    found = dict(zip(FEATURES, describe(case, doubt), strict=True))
    assert found["chosen_espeak"] == found["espeak_rival"] == 9
    assert found["vowels_espeak"] == 1


def test_readings_that_the_swap_makes_one_add_up() -> None:
    shares = share_chances(KITTAB.usual)
    assert shares == pytest.approx({skeleton("K * T * B"): 0.7, skeleton("S * T * B"): 0.1})
    assert share_chances(()) == {}


def test_patterns_are_all_pieces_of_two_to_five() -> None:
    """Of ^ab$ and of ^abcd$: every stretch that long, once."""
    assert list(list_patterns("ab")) == sorted(["^a", "ab", "b$", "^ab", "ab$", "^ab$"])
    whole = "^abcd$"
    pieces = {whole[a:b] for a in range(6) for b in range(a + 2, 7) if b - a < 6}
    assert set(list_patterns("abcd")) == pieces
    repeated = "^a ^aa ^aaa ^aaa$ a$ aa aa$ aaa aaa$"
    assert " ".join(list_patterns("aaa")) == repeated


def test_marks_say_who_differs_and_how() -> None:
    assert list(list_marks(KITTAB)) == [
        *("2:K>S", "2:K>S:ab", "e:>Z", "e:>Z:ab"),
        *("r:K * T * B>S * T * B *", "r:K * T * B>S * T * B *:ab"),
        *("l:K>S", "l:K>S:ab"),
        *("end:ab:* B", "start:ki:K *"),
    ]
    assert list(list_marks(ALONE)) == ["end:mm:M", "start:mm:M"]


def test_buckets() -> None:
    """CRC-32 has a published check value: 0xCBF43926 for "123456789"."""
    assert BUCKETS == 32_768
    assert bucket("123456789") == 0xCBF43926 % 32_768


@pytest.mark.parametrize("espeak", [True, False])
def test_the_shipped_weights_are_read_as_they_are_written(espeak: bool) -> None:
    """Trees walked one node at a time, from the file itself."""
    prefix = "espeak" if espeak else "alone"
    with np.load(data_file(DOUBT_FILE)) as saved:
        weights: dict[str, Any] = {
            name.removeprefix(f"{prefix}_"): saved[name].tolist()
            for name in saved
            if name.startswith((prefix, "surprise"))
        }
    doubt = Doubt.load(espeak=espeak)
    assert doubt.weight("^th") == weights["marks"][bucket("^th")] * weights["unit"]
    assert doubt.surprises("the")[0] == weights["surprise"][20] / 16
    assert doubt.frequency("the") == load_frequencies()["the"] > 7
    assert doubt.frequency("zrovnik") == 0
    rows = np.random.default_rng(7).normal(size=(5, len(FEATURES))) * 3
    starts = weights["starts"]
    for row, found in zip(rows, doubt.score(rows.tolist()), strict=True):
        total = 0.0
        for start in starts[:-1]:
            node = 0
            while (feature := weights["feature"][start + node]) >= 0:
                below = row[feature] <= weights["limit"][start + node]
                node = weights["left" if below else "right"][start + node]
            total += weights["limit"][start + node]
        slope, shift = weights["scale"]
        wanted = slope * total + shift
        if "last" in weights:
            first, *others, offset = weights["last"]
            wanted = first * wanted + sum(row * others) + offset
        assert found == pytest.approx(wanted, abs=1e-4)


def test_the_last_layer_weighs_trees_numbers_and_an_offset() -> None:
    doubt = Doubt([], [], [([-1], [0.5], [0], [0])], 2.0, 1.0, last=[3.0, 10.0, 100.0, 7.0])
    assert doubt.score([[0.25, 0.5]]) == [3.0 * (2.0 * 0.5 + 1.0) + 2.5 + 50.0 + 7.0]
    assert doubt.judge([]) == []
    assert doubt.frequency("tide") == 0


def test_judging_is_scoring_what_is_described() -> None:
    doubt = Doubt.load(espeak=True)
    both = doubt.judge([KITTAB, ALONE])
    assert both == doubt.score([describe(KITTAB, doubt), describe(ALONE, doubt)])
    assert 1 / (1 + exp(-both[0])) < 0.9
