"""Slips of the keys: the kinds of Damerau (1964), and how they are weighed, by hand."""

from __future__ import annotations

from math import exp

import pytest

from drillgen.core.resources import load_frequencies, read_table
from drillgen.speech.pronounce.slips import FEATURES, KINDS, Slips, list_edits


@pytest.mark.parametrize(
    ("typed", "meant", "kind", "place"),
    [
        ("freind", "friend", "swapped", 2),
        ("rfiend", "friend", "swapped", 0),
        ("frienf", "friend", "near", 5),
        ("friendd", "friend", "doubled", 5),
        ("ffriend", "friend", "doubled", 0),
        ("frieend", "friend", "doubled", 3),
        ("frixend", "friend", "extra", 3),
        ("xfriend", "friend", "extra", 0),
        ("friendx", "friend", "extra", 6),
        ("leter", "letter", "single", 2),
        ("frend", "friend", "missing", 2),
        ("riend", "friend", "missing", 0),
        ("frien", "friend", "missing", 5),
        ("fraend", "friend", "vowel", 2),
        ("fryend", "friend", "vowel", 2),
        # Neighbours of a keyboard: beside, above and below; not two keys off.
        ("frirnd", "friend", "near", 3),
        ("frkend", "friend", "near", 2),
        ("feiend", "friend", "near", 1),
        ("griend", "friend", "near", 0),
        ("vriend", "friend", "near", 0),
        ("triend", "friend", "near", 0),
        ("hriend", "friend", "other", 0),
        ("zriend", "friend", "other", 0),
        ("friewd", "friend", "other", 4),
        # A vowel and its neighbour on the keyboard.
        ("fruend", "friend", "vowel", 2),
    ],
)
def test_kinds(typed: str, meant: str, kind: str, place: int) -> None:
    first = next(iter(list_edits(typed, {meant})))
    assert first == (meant, kind, place)
    assert kind in KINDS


def test_all_that_are_near() -> None:
    words = {"boat", "oat", "bat", "beat", "boa", "goat", "boast", "baot", "boats", "bot", "obat"}
    found = list(list_edits("boat", words))
    # Not the word itself; where two letters are one it may come twice.
    assert {edit.word for edit in found} == words - {"boat", "bot"} | {"bot"}
    assert not list(list_edits("boat", {"boat", "coast", "boatss", "at", "aobt"}))
    assert not list(list_edits("oo", {"oo"}))
    assert not list(list_edits("", {"boat"}))
    assert [edit.word for edit in list_edits("", {"a"})] == ["a"]


WEIGHTS = {
    **dict.fromkeys(FEATURES, 0.0),
    "swapped": 1.0,
    "near": 0.5,
    "doubled": 0.25,
    "at start": -1.0,
    "at end": -0.5,
    "frequency": 0.3,
    "letters": 0.1,
    "ahead": 0.2,
    "offset": -2.0,
}
ZIPF = {
    "friend": 5.0,
    "fiend": 3.0,
    "trend": 4.0,
    "harborside": 2.8,
    "rarest": 2.79,
    "unable": 6.0,
}


@pytest.fixture
def slips() -> Slips:
    return Slips(WEIGHTS, ZIPF, lambda word: word != "unable")


def features(**numbers: float) -> dict[str, float]:
    return {name.replace("_", " "): value for name, value in numbers.items()}


def test_what_is_known_of_a_slip(slips: Slips) -> None:
    """Alone: ahead by 4. Of several the likeliest, and how far the next is behind, 4 at most."""
    inside = {"at_start": 0.0, "at_end": 0.0, "letters": 6.0, "offset": 1.0}
    assert slips.describe("freind") == (
        "friend",
        features(swapped=1.0, frequency=5.0, ahead=4.0, **inside),
    )
    both = slips.describe("friendd")
    assert both == (
        "friend",
        features(
            doubled=1.0,
            at_start=0.0,
            at_end=0.0,
            frequency=5.0,
            letters=7.0,
            offset=1.0,
            ahead=4.0,
        ),
    )
    # "frend" is friend (a letter missing), fiend (another one) or trend (a key near it).
    meant, numbers = slips.describe("frend") or ("", {})
    assert meant == "friend"
    friend = 0.3 * 5.0 + 0.1 * 5 - 2.0
    fiend = 0.3 * 3.0 + 0.1 * 5 - 2.0
    assert numbers == pytest.approx(
        features(
            missing=1.0,
            at_start=0.0,
            at_end=0.0,
            frequency=5.0,
            letters=5.0,
            offset=1.0,
            ahead=friend - fiend,
        )
    )
    assert slips.describe("friendx") is not None
    assert (slips.describe("friendx") or ("", {}))[1]["at end"] == 1.0
    assert (slips.describe("frienx") or ("", {}))[1]["at end"] == 1.0
    assert (slips.describe("friexd") or ("", {}))[1]["at end"] == 0.0


def test_chance_is_logistic(slips: Slips) -> None:
    found = slips.find("freind")
    assert found is not None
    total = 1.0 + 0.3 * 5.0 + 0.1 * 6 + 0.2 * 4.0 - 2.0
    assert found.chance == pytest.approx(1 / (1 + exp(-total)))
    assert (found.meant, found.frequency) == ("friend", 5.0)


def test_far_ahead_and_long_words_count_no_more() -> None:
    zipf = {"friend": 5.0, "trend": 4.0, "harborsidehouse": 5.0}
    slips = Slips({**WEIGHTS, "missing": 9.0}, zipf, bool)
    assert (slips.describe("frend") or ("", {}))[1]["ahead"] == 4.0
    assert (slips.describe("harborsidehous") or ("", {}))[1]["letters"] == 12.0


@pytest.mark.parametrize(
    ("word", "meant"),
    [
        # Four letters at least, all of them letters of ours.
        ("frnd", ""),
        ("fiedn", "fiend"),
        ("fr1end", ""),
        ("frıend", ""),
        # 2.8 is common enough, 2.79 isn't; what can't be said is never meant.
        ("harborsid", "harborside"),
        ("rarset", ""),
        ("unabel", ""),
        ("zzzzz", ""),
    ],
)
def test_what_may_be_meant(slips: Slips, word: str, meant: str) -> None:
    found = slips.find(word)
    assert (found.meant if found else "") == meant
    assert (slips.describe(word) is None) is (found is None)


def test_least_letters() -> None:
    slips = Slips(WEIGHTS, {"tide": 5.0, "tie": 5.0}, bool)
    assert slips.find("tied") is not None
    assert slips.find("tei") is None


def test_tables_of_the_installation() -> None:
    slips = Slips.load(lambda word: word == "because")
    assert slips.weights == {name: float(value) for name, value in read_table("slip_weights.tsv")}
    found = slips.find("beacuse")
    assert found is not None
    assert found.frequency == load_frequencies()["because"]
    assert slips.find("freind") is None


def test_endless_words_are_not_looked_at(slips: Slips) -> None:
    asked: list[str] = []

    class Words(dict[str, float]):
        """Frequencies that tell what is asked for."""

        def __contains__(self, word: object) -> bool:
            asked.append(str(word))
            return False

    Slips(slips.weights, Words(), lambda _: True).describe("ba" * 500)
    assert not asked
