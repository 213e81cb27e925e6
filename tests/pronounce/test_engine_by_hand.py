"""The order of trust, and words in their sentence: an engine that knows a handful of words.

tests/pipeline reads whole texts with all that is installed; here each source says what the case
needs, so that it is seen who was asked, in what order, and what became of the answer.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import cast

import pytest

from drillgen.core.accents import Accent, load_accent
from drillgen.core.phones import format_phones, parse_phones
from drillgen.core.values import Origin, Pronunciation, Token, TokenKind
from drillgen.speech.pronounce import engine as module
from drillgen.speech.pronounce.engine import (
    DERIVED_BELOW,
    GUESS_BELOW,
    HOMOGRAPH_BELOW,
    MAX_LETTERS,
    MISAKI_BELOW,
    REACH,
    REVIEW_BELOW,
    Knowledge,
    Pronouncer,
    find_sentence,
    needs_review,
)
from drillgen.speech.pronounce.homographs import HomographModel, WordClasses
from drillgen.speech.pronounce.lexicon import Lexicon
from drillgen.speech.pronounce.name_words import NameWord, NameWords
from drillgen.speech.pronounce.names import NameReader, NameReading
from drillgen.speech.pronounce.overrides import Overrides, parse_overrides
from drillgen.speech.pronounce.slips import Slip
from drillgen.speech.pronounce.variants import Variants

LEXICON = """\
boat B OW1 T
boats B OW1 T S
far F AA1 R
away AH0 W EY1
tide T AY1 D
new N UW1
nice N AY1 S
which HH W IH1 CH
which(2) W IH1 CH
b. B IY1
bo. B OW1
hmm HH M
shh SH
merek M EH1 R AH0 K
because B IH0 K AO1 Z
friend F R EH1 N D
bow B OW1
"""
ROWS = [
    ("bow", "bow_knot", "a knot", "B OW1", "x"),
    ("bow", "bow_bend", "to bend", "B AW1", "x"),
]
WEIGHTS = {"*": ["\t\t\tathey\t300"], "bow": ["bow_bend\t*\tbow\t_\t-100\tathe\t-200\t@T\t-50"]}
PREDICTED = "Z IY1 P"


class Sources(Knowledge):
    """What each source says, and what it was asked."""

    def __init__(
        self,
        *,
        wiktionary: Mapping[str, Pronunciation] | None = None,
        derived: Mapping[str, Pronunciation] | None = None,
        slips: Mapping[str, Slip] | None = None,
        doubts: Mapping[str, tuple[str, ...]] | None = None,
        corrections: Mapping[str, str] | None = None,
        readings: Sequence[NameReading] = (),
    ) -> None:
        lexicon = Lexicon(LEXICON, corrections, doubts)
        super().__init__(lexicon, HomographModel(ROWS, WEIGHTS, CLASSES), Variants({}))
        self.wiktionary, self.derived = wiktionary or {}, derived or {}
        self.meant = slips or {}
        self.batches: list[tuple[str, ...]] = []
        self.asked: list[str] = []

        class Readers:
            def read(_, name: str) -> tuple[NameReading, ...]:
                self.asked.append(name)
                return tuple(readings)

        self.__dict__["names"] = cast("NameReader", Readers())
        words = {"nice": NameWord("place", (parse_phones("N IY1 S"),), "the city")}
        before = {"title": "mister", "greeting": "thanks", "place": "to", "never": "the"}
        self.__dict__["name_words"] = NameWords(words, before, {"France"})

    def find(self, word: str) -> Pronunciation | None:
        return self.wiktionary.get(word)

    def derive(self, word: str) -> Pronunciation | None:
        return self.derived.get(word)

    def check(self, derived: Pronunciation) -> Pronunciation:
        return replace(derived, confidence=0.5)

    def find_slip(self, word: str) -> Slip | None:
        return self.meant.get(word)

    def predict(self, words: Sequence[str]) -> tuple[Pronunciation, ...]:
        self.batches.append(tuple(words))
        return tuple(
            Pronunciation(word, parse_phones(PREDICTED), Origin.PREDICTED, 0.7) for word in words
        )


CLASSES = WordClasses({"pellow": "NP"}, {})
AMERICAN, BRITISH = load_accent("rhotic"), load_accent("non-rhotic")


def make(sources: Sources | None = None, own: str = "", accent: Accent = AMERICAN) -> Pronouncer:
    overrides = parse_overrides(own, "own") if own else Overrides()
    return Pronouncer(sources or Sources(), overrides, accent)


def word_of(text: str, phones: str, origin: Origin, confidence: float = 0.9) -> Pronunciation:
    return Pronunciation(text, parse_phones(phones), origin, confidence, (), "as found")


def tokenize(text: str, spoken: Mapping[str, str] | None = None) -> list[Token]:
    tokens = []
    for found in re.finditer(r"[\w’'-]+|\s+|\.\.\.|.", text):
        part = found[0]
        word = part[0].isalnum()
        kind = TokenKind.WORD if word else TokenKind.PUNCTUATION
        kind = TokenKind.SPACE if part.isspace() else kind
        said = (spoken or {}).get(part, part.lower().replace("’", "'")) if word else ""
        tokens.append(Token(part, found.start(), found.end(), kind, tuple(said.split())))
    return tokens


def say(pronouncer: Pronouncer, text: str, spoken: Mapping[str, str] | None = None) -> list[str]:
    """The phones of each token that is said."""
    readings = pronouncer.pronounce(tokenize(text, spoken))
    return [" / ".join(format_phones(w.phones) for w in row) for row in readings if row]


def reading(pronouncer: Pronouncer, text: str, place: int) -> Pronunciation:
    rows = [row for row in pronouncer.pronounce(tokenize(text)) if row]
    return rows[place][0]


# The order of trust


def test_dictionary() -> None:
    sources = Sources()
    made = make(sources)
    assert made.pronounce_word("boat") == Pronunciation(
        "boat", parse_phones("B OW1 T"), Origin.DICTIONARY
    )
    which = made.pronounce_word("which")
    assert (format_phones(which.phones), which.note) == ("W IH1 CH", "plain w")
    assert which.alternatives == (parse_phones("HH W IH1 CH"),)
    assert made.pronounce_word("b.").origin is Origin.SPELLED
    assert made.pronounce_word("bo.").origin is Origin.DICTIONARY
    assert made.pronounce_word("shh").phones == parse_phones("SH")
    assert not sources.batches


def test_own_words_go_first() -> None:
    made = make(own="which HH W AH1 CH\nboat T OW1 B")
    assert made.pronounce_word("boat") == Pronunciation(
        "boat",
        parse_phones("T OW1 B"),
        Origin.OVERRIDE,
        1.0,
        (parse_phones("B OW1 T"),),
        "from your word list",
    )
    assert len(made.pronounce_word("which").alternatives) == 2
    same = make(own="boat B OW1 T").pronounce_word("boat")
    assert same.alternatives == ()


def test_forms_of_own_words() -> None:
    """A possessive always; others where the dictionary has none."""
    made = make(own="boat T OW1 B\nzeb Z EH1 B")
    possessive = made.pronounce_word("boat's")
    assert (format_phones(possessive.phones), possessive.origin) == ("T OW1 B Z", Origin.OVERRIDE)
    assert (possessive.note, possessive.confidence) == (
        "possessive of boat, from your word list",
        1.0,
    )
    assert format_phones(made.pronounce_word("boats").phones) == "B OW1 T S"
    assert format_phones(made.pronounce_word("zebs").phones) == "Z EH1 B Z"
    # Another word with the same start is asked for elsewhere.
    assert made.pronounce_word("zebra").origin is Origin.PREDICTED
    assert made.pronounce_word("zoo").origin is Origin.PREDICTED


def test_what_speaks_against_an_entry() -> None:
    doubts = {
        "tide": ("tide", "62", "T IY1 D", "others"),
        "which": ("which", "40", "W IH1 CH", "two dictionaries"),
        "away": ("away", "70", "", "the letters"),
    }
    made = make(Sources(doubts=doubts))
    tide = made.pronounce_word("tide")
    assert (tide.confidence, tide.note) == (0.62, "others say it otherwise")
    assert tide.alternatives == (parse_phones("T IY1 D"),)
    assert [format_phones(p) for p in made.pronounce_word("which").alternatives] == [
        "W IH1 CH",
        "HH W IH1 CH",
    ]
    assert made.pronounce_word("away").alternatives == ()


def test_wiktionary_before_derivation_before_slips_before_guesses() -> None:
    found = word_of("zeb", "Z EH1 B", Origin.WIKTIONARY)
    derived = {w: word_of(w, "Z EH1 B Z", Origin.DERIVED) for w in ("zeb", "zebs", "tide")}
    slips = {
        "zebs": Slip("boat", 1.0, 5.0),
        "baot": Slip("boat", 0.8, 5.0),
        "baoot": Slip("boat", 0.79, 5.0),
        "zzz": Slip("qqq", 1.0, 5.0),
    }
    sources = Sources(wiktionary={"zeb": found, "boat": found}, derived=derived, slips=slips)
    made = make(sources)
    assert made.pronounce_word("zeb") is found
    assert made.pronounce_word("zebs") == replace(derived["zebs"], confidence=0.5)
    assert made.pronounce_word("tide").origin is Origin.DICTIONARY
    assert made.pronounce_word("baot") == Pronunciation(
        "baot", parse_phones("B OW1 T"), Origin.SLIP, 0.75, (), "a slip for “boat”"
    )
    for unlikely in ("baoot", "zzz", "other"):
        assert made.pronounce_word(unlikely).origin is Origin.PREDICTED
    assert sources.batches == [("baoot",), ("zzz",), ("other",)]


def test_words_without_a_vowel() -> None:
    """What sings on a vowel goes before the bare consonants; unchecked, as the word is listed."""
    voiced = word_of("hmm", "HH AH1 M", Origin.DERIVED)
    silent = word_of("shh", "SH SH", Origin.DERIVED)
    bare = word_of("pst", "P S T", Origin.DERIVED)
    made = make(Sources(derived={"hmm": voiced, "shh": silent, "pst": bare}))
    assert made.pronounce_word("hmm") is voiced
    assert made.pronounce_word("shh").origin is Origin.DICTIONARY
    assert made.pronounce_word("pst") == replace(bare, confidence=0.5)


def test_forms_of_the_accent() -> None:
    """What was found is on offer behind it, once."""
    new = make(accent=BRITISH).pronounce_word("new")
    assert (format_phones(new.phones), new.note) == ("N Y UW1", "form of the accent")
    assert new.alternatives == (parse_phones("N UW1"),)
    other = replace(
        word_of("tunez", "T UW1 N", Origin.WIKTIONARY),
        alternatives=(parse_phones("T Y UW1 N"), parse_phones("T AH1 N")),
    )
    found = make(Sources(wiktionary={"tunez": other}), accent=BRITISH).pronounce_word("tunez")
    assert [format_phones(p) for p in (found.phones, *found.alternatives)] == [
        "T Y UW1 N",
        "T UW1 N",
        "T AH1 N",
    ]
    derived = word_of("tunez", "T UW1 N", Origin.DERIVED)
    local = make(Sources(derived={"tunez": derived}), accent=BRITISH).pronounce_word("tunez")
    assert (format_phones(local.phones), local.confidence) == ("T Y UW1 N", 0.5)


def test_guesses_in_one_batch() -> None:
    sources = Sources()
    made = make(sources)
    assert say(made, "zeb quib zeb boat zeb") == [PREDICTED] * 3 + ["B OW1 T", PREDICTED]
    assert sources.batches == [("quib", "zeb")]
    say(made, "quib zeb")
    assert len(sources.batches) == 1
    made.forget()
    say(made, "quib")
    assert sources.batches[1:] == [("quib",)]


def test_words_too_long_are_cut() -> None:
    sources = Sources()
    made = make(sources)
    assert MAX_LETTERS == 48
    whole, long = "x" * 48, "x" * 48 + "y" * 48 + "z"
    assert made.pronounce_word(whole).confidence == 0.7
    assert made.pronounce_word(long) == Pronunciation(
        long,
        parse_phones(" ".join([PREDICTED] * 3)),
        Origin.PREDICTED,
        0.0,
        (),
        "too long for a word, guessed piece by piece",
    )
    assert sources.batches == [(whole,), ("x" * 48, "y" * 48, "z")]


def test_all_readings() -> None:
    slips = {"baot": Slip("boat", 0.9, 5.0)}
    made = make(Sources(slips=slips))
    assert [(format_phones(r.phones), r.note) for r in made.all_readings("which")] == [
        ("W IH1 CH", "plain w"),
        ("HH W IH1 CH", ""),
    ]
    knot, bend = made.all_readings("bow")
    assert (knot.origin, knot.confidence, knot.note) == (Origin.HOMOGRAPH, 0.5, "a knot")
    assert (format_phones(bend.phones), bend.alternatives) == ("B AW1", ())
    slip, guess = made.all_readings("baot")
    assert (slip.origin, guess.origin) == (Origin.SLIP, Origin.PREDICTED)
    own = make(own="bow B UW1").all_readings("bow")
    assert [format_phones(r.phones) for r in own] == ["B UW1", "B OW1"]
    assert made.is_homograph("bow")
    assert not made.is_homograph("boat")


@pytest.mark.parametrize(
    ("origin", "limit"),
    [
        (Origin.HOMOGRAPH, HOMOGRAPH_BELOW),
        (Origin.PREDICTED, GUESS_BELOW),
        (Origin.DERIVED, DERIVED_BELOW),
        (Origin.MISAKI, MISAKI_BELOW),
        (Origin.NAME, REVIEW_BELOW),
        (Origin.DICTIONARY, REVIEW_BELOW),
    ],
)
def test_who_must_be_looked_at(origin: Origin, limit: float) -> None:
    assert (HOMOGRAPH_BELOW, GUESS_BELOW, REVIEW_BELOW) == (0.87, 0.9, 0.82)
    assert (MISAKI_BELOW, DERIVED_BELOW) == (0.935, 0.88)
    assert not needs_review(word_of("x", "AH0", origin, limit))
    assert needs_review(word_of("x", "AH0", origin, limit - 0.01))


# In a sentence


def test_r_before_a_vowel() -> None:
    """In the phrase, not across a mark; within one token before its next word."""
    british = make(accent=BRITISH)
    assert say(british, "far away") == ["F AA1 R", "AH0 W EY1"]
    assert say(british, "far, away")[0] == "F AA1"
    assert say(british, "far tide")[0] == "F AA1"
    assert say(british, "far")[0] == "F AA1"
    assert say(british, "far-away", {"far-away": "far away"}) == ["F AA1 R / AH0 W EY1"]
    assert say(british, "far-far away", {"far-far": "far far"})[0] == "F AA1 / F AA1 R"
    assert say(make(), "far, far away")[0] == "F AA1 R"


def test_entries_stay_beside_what_the_accent_says() -> None:
    """For a word list; not where the accent is that of the dictionary."""
    british, american = (reading(make(accent=a), "far", 0) for a in (BRITISH, AMERICAN))
    assert british.entries == (parse_phones("F AA1 R"),)
    assert american.entries == ()
    nurse = Sources(wiktionary={"nurz": word_of("nurz", "N ER1 Z", Origin.WIKTIONARY)})
    said = reading(make(nurse), "nurz", 0)
    assert (format_phones(said.phones), said.entries) == ("N ER1 R Z", ())
    assert (said.origin, said.confidence, said.note) == (Origin.WIKTIONARY, 0.9, "as found")
    assert format_phones(make().in_accent("nurz", parse_phones("N ER1"))) == "N ER1 R"
    assert format_phones(make(accent=BRITISH).in_accent("x", parse_phones("F AA1 R"))) == "F AA1"
    linked = make(accent=BRITISH).in_accent("x", parse_phones("F AA1 R"), True)
    assert format_phones(linked) == "F AA1 R"


def test_equal_sounds_have_equal_numbers() -> None:
    """None is given twice; what is silent has 0."""
    made = make(accent=BRITISH)
    said = made.say(tokenize("far away, far boat boat far"))
    by_text = [
        (t.text, s.sound)
        for t, s in zip(tokenize("far away, far boat boat far"), said, strict=True)
    ]
    numbers = dict(by_text)
    assert numbers[" "] == numbers[","] == 0
    fars = [n for text, n in by_text if text == "far"]
    assert fars[1] == fars[2] != fars[0]
    assert len({*fars, numbers["boat"], numbers["away"], 0}) == 5
    again = made.say(tokenize("boat, far away"))
    assert [s.sound for s in again if s.sound] == [numbers["boat"], fars[0], numbers["away"]]


def test_homographs_by_context() -> None:
    made = make()
    assert say(made, "they bow") == [PREDICTED, "B AW1"]
    assert say(made, "the bow") == [PREDICTED, "B OW1"]
    bend = reading(made, "they bow", 1)
    assert (bend.origin, bend.note) == (Origin.HOMOGRAPH, "to bend")
    assert bend.alternatives == (parse_phones("B OW1"),)
    # The same reading, surer or less sure in another sentence.
    first, second = reading(made, "the bow", 1), reading(made, "tide bow", 1)
    assert first.phones == second.phones
    assert first.confidence > second.confidence > 0.5
    assert reading(made, "the bow", 1) == first
    assert format_phones(reading(make(own="bow B UW1"), "they bow", 1).phones) == "B UW1"


def test_homographs_behind_other_spellings() -> None:
    """A word of several spoken ones is sure if it is not written: it stands for nothing else.
    The classifier sees what is said, with a capital where the token has one."""
    made = make()
    rows = made.pronounce(tokenize("they x2", {"x2": "bow boat"}))
    said = rows[2]
    assert (said[0].confidence, format_phones(said[0].phones)) == (1.0, "B AW1")
    assert said[1].word == "boat"
    written = made.pronounce(tokenize("they bow-boat", {"bow-boat": "bow boat"}))[2]
    assert written[0].confidence < 1.0
    tall, small = (
        made.pronounce(tokenize(f"tide {text}", {text: "bow boat"}))[2][0]
        for text in ("Bow-boat", "bow-boat")
    )
    assert tall.confidence > small.confidence


def test_a_slip_is_none_with_a_capital() -> None:
    """At the head of a sentence only a very common word is meant."""
    slips = {"baot": Slip("boat", 0.9, 4.49), "beacuse": Slip("because", 0.9, 4.5)}
    sources = Sources(slips=slips)
    made = make(sources)
    assert reading(made, "tide baot", 1).origin is Origin.SLIP
    assert reading(made, "tide Baot", 1).origin is Origin.PREDICTED
    assert reading(made, "Baot tide", 0).origin is Origin.PREDICTED
    assert reading(made, "Beacuse tide", 0).origin is Origin.SLIP
    assert reading(made, "tide. Beacuse", 1).origin is Origin.SLIP
    assert reading(made, "tide Beacuse", 1).origin is Origin.PREDICTED
    assert reading(made, "BEACUSE tide", 0).origin is Origin.PREDICTED
    assert sources.asked[0] == "Baot"


POLISH = NameReading(parse_phones("M EH1 R AH0 S"), "Polish", 0.98)


def test_names_by_their_letters() -> None:
    """With a capital, where the dictionary is not sure; accents as they are written."""
    sources = Sources(readings=[POLISH])
    made = make(sources)
    assert reading(made, "tide Zeb", 1).origin is Origin.NAME
    assert reading(made, "tide zeb", 1).origin is Origin.PREDICTED
    assert sources.asked == ["Zeb"]
    assert reading(made, "tide Boat", 1).origin is Origin.DICTIONARY
    assert reading(made, "tide Bóat", 1).origin is Origin.NAME
    assert sources.asked == ["Zeb", "Bóat"]
    assert reading(made, "tide Zeb’s", 1).origin is Origin.NAME
    assert sources.asked[-1] == "Zeb"
    assert reading(make(sources, own="zeb Z EH1 B"), "tide Zeb", 1).origin is Origin.OVERRIDE


def test_names_in_parts() -> None:
    """Each part of a name for itself; the second may have no capital if it must be guessed."""
    sources = Sources(readings=[POLISH])
    made = make(sources)
    rows = made.pronounce(tokenize("Zeb-quib", {"Zeb-quib": "zeb quib"}))
    assert [word.origin for word in rows[0]] == [Origin.NAME] * 2
    assert sources.asked == ["Zeb", "quib"]
    rows = made.pronounce(tokenize("Zeb-boat", {"Zeb-boat": "zeb boat"}))
    assert [word.origin for word in rows[0]] == [Origin.NAME, Origin.DICTIONARY]
    rows = made.pronounce(tokenize("zeb-boat", {"zeb-boat": "zeb boat"}))
    assert [word.origin for word in rows[0]] == [Origin.PREDICTED, Origin.DICTIONARY]


def test_names_of_our_own_table() -> None:
    """As they are written first, then without accents; beside a hyphen in their own way."""
    corrections = {
        "zoë": "Z OW1 IY0 / Z OW1",
        "zoe": "Z UW1",
        "jean-": "ZH AA1 N / JH IY1 N",
        "-luc": "L UW1 K",
        "jean": "JH IY1 N",
        "luc": "L AH1 K",
    }
    sources = Sources(corrections=corrections, readings=[POLISH])
    made = make(sources)
    zoe = made.pronounce(tokenize("tide Zoë", {"Zoë": "zoe"}))[2][0]
    assert (format_phones(zoe.phones), zoe.origin) == ("Z OW1 IY0", Origin.DICTIONARY)
    assert zoe.alternatives == (parse_phones("Z OW1"),)
    assert zoe.confidence == 1.0
    jean, luc = made.pronounce(tokenize("Jean-Luc", {"Jean-Luc": "jean luc"}))[0]
    assert (format_phones(jean.phones), format_phones(luc.phones)) == ("ZH AA1 N", "L UW1 K")
    assert (jean.origin, jean.alternatives) == (Origin.DICTIONARY, (parse_phones("JH IY1 N"),))
    _, owner = made.pronounce(tokenize("Jean-Luc’s", {"Jean-Luc’s": "jean luc's"}))[0]
    assert format_phones(owner.phones) == "L UW1 K S"
    assert say(made, "Jean and Luc")[::2] == ["JH IY1 N", "L AH1 K"]
    # In the table without its accents: the letters must be certain to win.
    assert made.pronounce(tokenize("tide Zóe", {"Zóe": "zoe"}))[2][0].confidence == 0.65


def test_words_that_are_names() -> None:
    made = make()
    city = reading(made, "away to Nice", 2)
    assert (format_phones(city.phones), city.origin) == ("N IY1 S", Origin.NAME)
    assert (city.confidence, city.note) == (0.9, "the city")
    assert city.alternatives == (parse_phones("N AY1 S"),)
    assert reading(made, "away with Nice", 2).confidence == 0.65
    assert reading(made, "away to nice", 2).origin is Origin.DICTIONARY
    own = make(own="nice N EH1 S")
    assert format_phones(reading(own, "away to Nice", 2).phones) == "N EH1 S"
    assert made._knowledge.is_name("Pellow")
    assert not made._knowledge.is_name("Boat")


def test_corrections_of_single_places() -> None:
    own = parse_overrides(
        "boat (by _ away) T OW1 B\nbow (by _ away) B UW1\nfar (a _) F EH1 R", "x"
    )
    boat, bow, far = own.placed
    made = make(accent=BRITISH)
    tokens = tokenize("boat boat bow far away")
    said = made.say(tokens, {2: boat, 4: bow, 6: far})
    plain, fixed, bend, linked = (said[i].reading[0] for i in (0, 2, 4, 6))
    assert format_phones(plain.phones) == "B OW1 T"
    assert fixed == Pronunciation(
        "boat",
        parse_phones("T OW1 B"),
        Origin.OVERRIDE,
        1.0,
        (parse_phones("B OW1 T"),),
        "from your word list, for this place",
        (parse_phones("T OW1 B"), parse_phones("B OW1 T")),
    )
    assert [format_phones(p) for p in bend.alternatives] == ["B OW1", "B AW1"]
    assert format_phones(linked.phones) == "F EA1 R"
    assert made.say(tokens, {2: boat})[2] == said[2]
    # Of several words the one that is meant.
    rows = made.say(tokenize("x2", {"x2": "boat far"}), {0: boat})[0].reading
    assert [format_phones(word.phones) for word in rows] == ["T OW1 B", "F AA1"]


@pytest.mark.parametrize(
    ("text", "index", "wanted"),
    [
        ("a b c", 2, ("a", "b", "c")),
        ("a. b, c! d", 3, ("", "b", ", c !")),
        ("a? b", 3, ("", "b", "")),
        ("a… b... c", 3, ("", "b", "...")),
        ("a\n\nb\nc\n\nd", 2, ("", "b", "c")),
        ("a\nb", 2, ("a", "b", "")),
        ("a, b", 3, ("a ,", "b", "")),
    ],
)
def test_sentences(text: str, index: int, wanted: tuple[str, str, str]) -> None:
    before, word, after = find_sentence(tokenize(text), index)
    assert (" ".join(before), word, " ".join(after)) == wanted


def test_sentences_have_an_end() -> None:
    """Sixty tokens to each side, spaces included."""
    tokens = tokenize(" ".join(["a"] * 200))
    before, _, after = find_sentence(tokens, 200)
    assert REACH == 60
    assert (len(before), len(after)) == (30, 29)
    before, _, after = find_sentence(tokens, 20)
    assert (len(before), len(after)) == (10, 29)


def test_what_is_kept_is_thrown_away(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "MAX_KEPT", 2)
    sources = Sources()
    made = make(sources)
    for _ in range(2):
        say(made, "zeb")
        say(made, "quib")
    assert len(sources.batches) == 2
    say(made, "boat")
    assert say(made, "zeb") == [PREDICTED]
    assert len(sources.batches) == 3


# What all engines share


def test_what_forms_are_built_on() -> None:
    """The entry that we say first, then the others; else what is sure in Wiktionary."""
    known = Knowledge(Lexicon(LEXICON), HomographModel.load(), Variants.load())
    said = [format_phones(p) for p in known.list_bases("which")]
    assert said == ["W IH1 CH", "HH W IH1 CH"]
    assert known.list_bases("boat") == (parse_phones("B OW1 T"),)
    (frittata,) = known.list_bases("frittata")
    assert format_phones(frittata).startswith("F R")
    assert known.list_bases("zzzz") == ()
    assert known.is_listed("boat")
    assert not known.is_listed("zzzz")
    derived = known.derive("whiches")
    assert derived is None or derived.origin is Origin.DERIVED


def test_a_form_is_no_surer_than_its_word() -> None:
    doubts = {"boat": ("boat", "62", "", "others"), "tide": ("tide", "100", "", "others")}
    known = Knowledge(Lexicon(LEXICON, doubts=doubts), HomographModel.load(), Variants({}))
    for word, said, sure in (("boats", "B OW1 T S", 0.62), ("boat's", "B OW1 T S", 0.62)):
        assert known.check(word_of(word, said, Origin.DERIVED)).confidence == sure
    assert known.check(word_of("tides", "T AY1 D Z", Origin.DERIVED)).confidence > 0.9
    assert known.check(word_of("friends", "F R EH1 N D Z", Origin.DERIVED)).confidence > 0.9


def test_what_is_loaded() -> None:
    own = Lexicon("quay K W EY1")
    assert Knowledge.load(own).lexicon is own
    empty = Lexicon("")
    assert Knowledge.load(empty).lexicon is empty
    made = make()
    assert made.accent is AMERICAN
    assert isinstance(made.overrides, Overrides)
