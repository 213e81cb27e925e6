"""Homographs: features, rules and chances worked out by hand, on tables small enough for it."""

from __future__ import annotations

from math import exp

import pytest

from drillgen.core.errors import ResourceError
from drillgen.core.phones import format_phones
from drillgen.core.resources import read_table
from drillgen.speech.pronounce.homographs import (
    SKIPPED,
    TOPICS,
    WIDE,
    HomographModel,
    WordClasses,
    describe_context,
    guess_class,
    is_predicate,
    read_used,
    weigh_request,
)

CLASSES = WordClasses(
    {
        **dict.fromkeys(("rain", "book", "boat"), "N"),
        **dict.fromkeys(("read", "have"), "V|N"),
        "they": "P",
        "soon": "R",
        "the": "AT",
        "old": "J",
        "can": "MD",
        "float": "V",
        "bound": "VN",
    },
    {"rain": ("weather",), "book": ("print",), "floating": ("water", "weather")},
)


def near(text: str, index: int) -> tuple[str, ...]:
    return describe_context(text.split(), index, CLASSES).near


def test_every_feature_of_a_place() -> None:
    """Three words and classes to each side, and pairs of them; capitals inside mark names."""
    text = "Rain , they soon read the old Book can float floating ."
    found = describe_context(text.split(), 4, CLASSES)
    assert found.near == (
        *("_", "@l", "asoon", "bthe", "cthey", "dold", "AR", "BAT", "CP", "DJ", "E,", "FcN"),
        *("GP R", "HR AT", "IAT J", "Jthey soon", "Ksoon the", "Lsoon AT", "MR the"),
        *("N, P R", "OP R AT", "PR AT J", "QR l", "Rthey R", "Sthe old", "TAT J cN"),
        *("Wsoon AT J", "Xthey", "Ythey AT", "Zthey 1"),
    )
    assert sorted(found.wide) == sorted(
        [
            *("q,", "rbook"),
            *("wrain", "wthey", "wsoon", "wthe", "wold", "wbook", "wcan", "wfloat", "wfloati"),
            *("!weather", "!print", "!water", "!!weather", "trMD", "trV"),
        ]
    )


def test_what_is_far_is_not_seen() -> None:
    """Ten words to each side; verbs are told by their side; the word itself says nothing."""
    words = ["rain", *["so"] * (WIDE - 2), "have", "read", *["so"] * (WIDE - 1), "float", "rain"]
    wide = describe_context(words, WIDE, CLASSES).wide
    assert WIDE == 10
    assert set(wide) == {"qso", "rso", "wrain", "!weather", "whave", "tlV|N", "wfloat", "trV"}
    farther = describe_context(["rain", *words[1:WIDE], "so", *words[WIDE:]], WIDE + 1, CLASSES)
    assert "wrain" not in farther.wide


@pytest.mark.parametrize(
    ("text", "index", "case"),
    [
        ("they read", 1, "@l"),
        ("they Read", 1, "@T"),
        ("they READ", 1, "@U"),
        ("read it", 0, "@Fl"),
        ("Read it", 0, "@FT"),
        ("READ it", 0, "@FU"),
        # The first word behind an opening mark.
        ("“ Read it", 1, "@FT"),
        ("So Read it", 1, "@T"),
        ("So “ Read it", 2, "@T"),
    ],
)
def test_capitals(text: str, index: int, case: str) -> None:
    assert near(text, index)[1] == case


@pytest.mark.parametrize(
    ("text", "index", "wanted"),
    [
        # Nouns, adjectives, adverbs, participles and numbers stand inside a noun phrase.
        ("they the old soon bound 20 read", 6, ("Xthe", "Zthe 4")),
        ("they read", 1, ("Xthey", "Zthey 0")),
        ("old rain read", 2, ("X^", "Z^ 2")),
        ("they old old old old read", 5, ("Xthey", "Zthey 4")),
        ("they old old old old old read", 6, ("X^", "Z^ 5")),
        ("Pellow read", 1, ("X^", "Z^ 1")),
        ("read", 0, ("X^", "Z^ 0")),
    ],
)
def test_head_of_the_phrase(text: str, index: int, wanted: tuple[str, str]) -> None:
    assert SKIPPED == 5
    features = near(text, index)
    assert (features[-3], features[-1]) == wanted


def test_edges_and_names() -> None:
    features = near("Boat read Old CAN", 1)
    assert {"c^", "C^", "E^", "F$", "aboat", "AN", "DMD", "BcJ"} <= set(features)
    assert {"q^", "r$"} <= set(describe_context(["boat", "read"], 1, CLASSES).wide)
    # Unknown words have the class that they look like.
    assert {"aquickly", "AR?", "BN?"} <= set(near("quickly read quays", 1))


@pytest.mark.parametrize(
    ("words", "kind"),
    [
        ("3rd 1987", "CD"),
        ("Pellow USA", "NP"),
        ("… - ’", "itself"),
        ("briskly", "R?"),
        ("rowing", "VG?"),
        ("rowed", "VN?"),
        ("tidal famous massive scenic lovable edible useful tideless", "J?"),
        ("quay skiffs", "N?"),
    ],
)
def test_class_of_an_unknown_word(words: str, kind: str) -> None:
    assert {guess_class(word) for word in words.split()} == (
        set(words.split()) if kind == "itself" else {kind}
    )


@pytest.mark.parametrize(
    ("sentence", "wanted"),
    # Quirk et al. (1985), 3.44 and 16.69, from memory: "used to" with a plain verb, "be used
    # to" with a noun or an -ing form; the shares are ours.
    [
        ("She [used] to sail", (True, 0.93)),
        ("She never [used] to", (True, 0.93)),
        ("He is [used] to it", (True, 0.95)),
        ("HE IS [USED] TO IT", (True, 0.95)),
        ("They were quite [used] to the noise", (True, 0.95)),
        ("We are [used] to sailing", (True, 0.95)),
        ("They're [used] to early starts", (True, 0.95)),
        ("I’m [used] to 20 of them", (True, 0.95)),
        ("He is [used] to", (True, 0.95)),
        ("He isn't [used] to hard work", (True, 0.95)),
        ("Anna's [used] to me", (True, 0.95)),
        ("Anna’s [used] to us", (True, 0.95)),
        ("It has been [used] to cut rope", (False, 0.85)),
        ("Nets are [used] to catch fish", (False, 0.85)),
        ("The rope's [used] to tie boats", (False, 0.85)),
        ("They are not always [used] to catch fish", (False, 0.85)),
        ("Anna's son often [used] to row", (True, 0.93)),
        ("We are told they also [used] to row", (True, 0.93)),
        ("You get [used] to row after row", (True, 0.97)),
        ("They have grown [UNUSED] to crowds", (True, 0.97)),
        ("It was a [used] boat", (False, 0.99)),
        ("The net was [used]", (False, 0.99)),
        ("[used] to sail", (True, 0.93)),
    ],
)
def test_used(sentence: str, wanted: tuple[bool, float]) -> None:
    words = sentence.replace("[", "").replace("]", "").split()
    index = next(i for i, word in enumerate(sentence.split()) if word[0] == "[")
    assert read_used(words, index) == wanted
    # What stands farther off changes nothing.
    assert read_used(["so", "so", "so", *words], index + 3) == wanted


@pytest.mark.parametrize(
    ("sentence", "wanted"),
    [
        ("They are upset", True),
        ("THEY ARE SO VERY UPSET", True),
        ("She felt really quite upset", True),
        ("They're upset", True),
        ("They’re so upset", True),
        ("I'm upset", True),
        ("It wasn't upset", True),
        ("It was an upset", False),
        ("So upset", False),
        ("They often upset", False),
        ("They are often upset", False),
        ("upset", False),
        ("looks upset", True),
    ],
)
def test_predicates(sentence: str, wanted: bool) -> None:
    words = sentence.split()
    assert is_predicate(words, len(words) - 1) is wanted


ROWS = [
    ("bow", "bow_knot", "a knot", "B OW1", "x"),
    ("bow", "bow_bend", "to bend", "B AW1", "x"),
    ("bows", "bows_knot", "knots", "B OW1 Z", "x"),
    ("bows", "bows_bend", "bends", "B AW1 Z", "x"),
    ("row", "row_line", "a line", "R OW1", "x"),
    ("row", "row_noise", "a noise", "R AW1", "x"),
    ("row", "row_fish", "of a fish", "R OW2", "x"),
    ("upset", "upset_noun", "a noun", "AH1 P S EH2 T", "x"),
    ("upset", "upset_verb", "a verb", "AH0 P S EH1 T", "x"),
    ("used", "used_verb", "a verb", "Y UW1 Z D", "x"),
    ("used", "used_to", "accustomed", "Y UW1 S T", "x"),
    ("usual", "usual_one", "one", "Y UW1 ZH AH0 W AH0 L", "x"),
]
WEIGHTS = {
    "*": ["\t\t\tathey\t60\tathe\t-90"],
    "*s": ["\t\t\tathey\t25"],
    "bow": ["bow_bend\t*\tbow\t_\t20\tdlow\t5000\twto\t7"],
    # With the weights of its own word and of both shared sets.
    "bows": ["bows_bend\t* *s\tbow"],
    "row": ["row_line\t\trow\t_\t50", "row_noise\t\trow\tathe\t110", "row_fish\t\trow\tx\t1"],
    "upset": ["upset_verb\t*\tupset\t_\t-400"],
}


@pytest.fixture(scope="module")
def model() -> HomographModel:
    return HomographModel(ROWS, WEIGHTS, CLASSES)


def chance(score: float) -> float:
    """Logistic, of a score in hundredths."""
    return 1 / (1 + exp(-score / 100))


REQUESTS = {"rose": "N|VD", "was": "VD", "may": "MD|NP", "can": "MD", "take": "V", "duties": "N"}


@pytest.mark.parametrize(
    ("sentence", "index", "wanted"),
    [
        ("Combine the flour .", 0, 4.0),
        ("Combine flour .", 0, 2.0),
        ("Stop . Combine flour !", 2, 2.0),
        (
            "Stir ; combine flour .",
            2,
            0.0,
        ),  # no sentence starts here
        ("Stir ; combine it .", 2, 4.0),
        ("Stir and combine it .", 2, 4.0),
        ("Stir to combine it .", 2, 0.0),
        ("Please record your line .", 1, 4.0),
        ("Record prices rose .", 0, 0.0),
        ("The record .", 1, 0.0),
        ("Record sales", 0, 0.0),  # no end: a heading
        ("Record 12 lines .", 0, 0.0),
        ("Record , then stop .", 0, 0.0),
        ("Record each take twice .", 0, 4.0),  # "take" stands behind "each"
        ("Record duties if it was late .", 0, 2.0),  # the other clause's verb
        ("Record duties you can see .", 0, 2.0),
        ("Record duties can rise .", 0, 0.0),
        ("Record", 0, 0.0),
    ],
)
def test_requests(sentence: str, index: int, wanted: float) -> None:
    assert weigh_request(sentence.split(), index, REQUESTS) == wanted


@pytest.mark.parametrize(
    ("sentence", "index", "score"),
    [
        ("so bow", 1, 20),
        ("they bow", 1, 80),
        ("the bow", 1, -70),
        ("The BOW", 1, -70),
        # "to" is too short for a feature of its own far away.
        ("so bow to", 1, 20),
        ("so bows", 1, 20),
        ("they bows", 1, 105),
        # More than 30 counts as 30.
        ("so bow too low", 1, 3000),
    ],
)
def test_chances_follow_from_the_weights(
    model: HomographModel, sentence: str, index: int, score: float
) -> None:
    found = dict(model.identify(sentence.split(), index))
    word = sentence.split()[index].lower()
    assert found == pytest.approx(
        {f"{word}_bend": chance(score), f"{word}_knot": 1 - chance(score)}, abs=1e-12
    )
    reading = model.read(sentence.split(), index)
    assert reading.order == ((1, 0) if score > 0 else (0, 1))
    assert reading.gloss in (("to bend", "bends") if score > 0 else ("a knot", "knots"))
    said = "B AW1" if score > 0 else "B OW1"
    assert format_phones(reading.phones) == said + " Z" * word.endswith("s")
    assert reading.confidence == max(found.values())
    assert len(reading.alternatives) == 1
    assert reading.alternatives[0] != reading.phones


def test_three_readings_share_the_chance(model: HomographModel) -> None:
    a, b, c = chance(50), chance(110), chance(0)
    total = a + b + c
    names, chances = zip(*model.identify(["the", "row"], 1), strict=True)
    assert names == ("row_noise", "row_line", "row_fish")
    assert chances == pytest.approx((b / total, a / total, c / total))
    assert model.read(["the", "row"], 1).order == (1, 0, 2)


def test_tables_that_do_not_match() -> None:
    lines = {"bow": ["bow_tie\t\tbow\t_\t1"]}
    for weights, message in (
        (lines, "homograph_weights.tsv and homograph_readings.tsv don't match; train again"),
        ({}, "homograph_weights.tsv has nothing for 'bow'; train again"),
    ):
        with pytest.raises(ResourceError) as caught:
            HomographModel(ROWS, weights, CLASSES).read(["bow"], 0)
        assert str(caught.value) == message


def test_rules_before_weights(model: HomographModel) -> None:
    assert model.identify(["am", "Upset"], 1) == (("upset_verb", 0.95), ("upset_noun", 0.05))
    assert model.identify(["so", "upset"], 1)[0][0] == "upset_noun"
    for words, first, share in (
        (["He", "used", "to"], "used_to", 0.93),
        (["a", "used", "net"], "used_verb", 0.99),
    ):
        (name, chance_of_it), (_, other) = model.identify(words, 1)
        assert (name, chance_of_it) == (first, share)
        assert other == pytest.approx(1 - share)


def test_one_reading_is_certain_and_mended(model: HomographModel) -> None:
    """The dictionary's habits are undone here too."""
    assert model.identify(["usual"], 0) == (("usual_one", 1.0),)
    assert format_phones(model.readings("usual")[0].phones) == "Y UW1 ZH UW0 AH0 L"


def test_without_a_sentence_all_are_equal(model: HomographModel) -> None:
    first, second, third = model.readings("row")
    assert [r.confidence for r in (first, second, third)] == [pytest.approx(1 / 3)] * 3
    assert second.alternatives == (first.phones, third.phones)
    assert (first.gloss, first.order) == ("a line", ())
    assert model.rows("row") == tuple(ROWS[4:7])
    assert model.words() == ("bow", "bows", "row", "upset", "used", "usual")
    assert "row" in model
    assert "rows" not in model


def test_names_only() -> None:
    known = HomographModel([], {}, WordClasses({"pellow": "NP", "may": "MD|NP"}, {}))
    assert known.is_proper("pellow")
    assert not known.is_proper("may")
    assert not known.is_proper("quay")


def test_tables_of_the_installation() -> None:
    """Several topics of a word; two classes, the commoner first."""
    classes = WordClasses.load()
    assert (classes.tags["€"], classes.tags[","]) == ("$|N", ",")
    table = read_table(TOPICS)
    assert classes.topics == WordClasses.load_topics()
    for word in ("torpedo", "bowed"):
        wanted = [topic for topic, words in table for other in words.split() if other == word]
        assert wanted == list(classes.topics[word]) != []
    assert max(map(len, classes.topics.values())) > 1
