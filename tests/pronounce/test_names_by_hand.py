"""How a name is weighed: by readers that say what the case needs, and tables of a few words.

The limits are those of drillgen/speech/pronounce/names.py, measured by bench/names.py.
"""

from __future__ import annotations

import re
from dataclasses import replace
from math import exp, log
from typing import cast

import numpy as np
import pytest

from drillgen.core.phones import format_phones, parse_phones
from drillgen.core.values import Origin, Pronunciation, Token, TokenKind
from drillgen.speech.pronounce.name_words import NameWord, NameWords
from drillgen.speech.pronounce.names import (
    Languages,
    NameReader,
    NameReading,
    judge_name,
    list_pieces,
    may_be_name,
    split_possessive,
)

GUESS, OTHER, THIRD = "M EH1 R AH0 K", "M EH1 R AH0 S", "M EH1 R SH"


class Readers:
    """Says what it is told to, and keeps what it was asked."""

    def __init__(self, *readings: tuple[str, str, float]) -> None:
        self.readings = tuple(
            NameReading(parse_phones(said), language, share) for said, language, share in readings
        )
        self.asked: list[str] = []

    def read(self, name: str) -> tuple[NameReading, ...]:
        self.asked.append(name)
        return self.readings


def judge(
    found: Pronunciation, written: str, *readings: tuple[str, str, float], ours: bool = False
) -> Pronunciation:
    return judge_name(found, written, cast("NameReader", Readers(*readings)), ours=ours)


def found(
    origin: Origin, confidence: float, word: str = "merek", said: str = GUESS
) -> Pronunciation:
    return Pronunciation(word, parse_phones(said), origin, confidence, (), "as it was")


GUESSED = found(Origin.PREDICTED, 0.8)
KNOWN = found(Origin.DICTIONARY, 1.0)


def test_an_english_name_stays() -> None:
    assert judge(GUESSED, "Merek") is GUESSED


@pytest.mark.parametrize(("share", "stays"), [(0.7, False), (0.69, True)])
def test_a_guess_that_the_letters_confirm(share: float, stays: bool) -> None:
    """The letters' vowels, the guess's consonants: one to the swap."""
    said = "M EY1 R EH0 K"
    judged = judge(GUESSED, "Merek", (said, "Czech", share), (OTHER, "Polish", 0.05))
    if stays:
        assert judged is GUESSED
        return
    assert judged == Pronunciation(
        "merek",
        parse_phones(said),
        Origin.NAME,
        0.95,
        (),
        "read by the letters of Czech; the guess agrees",
    )
    sure = judge(replace(GUESSED, confidence=0.99), "Merek", (said, "Czech", share))
    assert sure.confidence == 0.99


def test_what_others_say_is_confirmed_as_it_is() -> None:
    listed = found(Origin.WIKTIONARY, 0.8)
    assert judge(listed, "Merek", (GUESS, "Czech", 0.9)) == replace(listed, confidence=0.95)
    sure = found(Origin.DERIVED, 0.97)
    assert judge(sure, "Merek", (GUESS, "Czech", 0.9)) == sure
    assert judge(listed, "Merek", (GUESS, "Czech", 0.69)) is listed


def test_alternatives_of_a_confirmed_guess() -> None:
    """Those that sound otherwise, each once, four at most."""
    others = tuple(
        map(parse_phones, (GUESS, OTHER, "M IH1 R IH0 S", THIRD, "B AA1", "D AA1", "F AA1"))
    )
    judged = judge(replace(GUESSED, alternatives=others), "Merek", (GUESS, "Czech", 0.95))
    assert judged.alternatives == (others[1], *others[3:6])


@pytest.mark.parametrize(("share", "stays"), [(0.11, True), (0.1, False)])
def test_another_language_that_has_the_name(share: float, stays: bool) -> None:
    """What the dictionary is sure of stays as it is where some language says it so."""
    judged = judge(KNOWN, "Merek", (OTHER, "Polish", 0.5), (GUESS, "Czech", share))
    assert (judged is KNOWN) is stays
    assert (judged.phones, judged.confidence) == (KNOWN.phones, 1.0)


@pytest.mark.parametrize(
    ("origin", "word", "written", "against", "confidence"),
    [
        # A guess that languages of 0.4 or more speak against is in doubt.
        (Origin.PREDICTED, "merek", "Merek", 0.4, 0.65),
        (Origin.PREDICTED, "merek", "Merek", 0.39, 0.85),
        (Origin.DERIVED, "merek", "Merek", 0.4, 0.65),
        (Origin.WIKTIONARY, "merek", "Merek", 0.85, 0.85),
        # With accents always.
        (Origin.WIKTIONARY, "merek", "Mérek", 0.4, 0.65),
        (Origin.PREDICTED, "merek", "Mérek", 0.2, 0.65),
    ],
)
def test_letters_against_a_guess(
    origin: Origin, word: str, written: str, against: float, confidence: float
) -> None:
    guess = Pronunciation(word, parse_phones(GUESS), origin, 0.85, (parse_phones(THIRD),), "was")
    readings = ((OTHER, "Polish", against), (GUESS, "Czech", 0.05), ("B AA1", "Thai", 0.0))
    judged = judge(guess, written, *readings)
    assert judged == replace(guess, confidence=confidence, alternatives=judged.alternatives)
    own = [THIRD, OTHER]
    assert [format_phones(p) for p in judged.alternatives] == own


def test_what_speaks_against_adds_up() -> None:
    """All languages that differ, not the likeliest alone; those that agree don't count."""
    split = ((OTHER, "Polish", 0.25), (THIRD, "Thai", 0.15), (GUESS, "Czech", 0.2))
    assert judge(GUESSED, "Merek", *split).confidence == 0.65
    agreeing = ((OTHER, "Polish", 0.3), (GUESS, "Czech", 0.3))
    assert judge(GUESSED, "Merek", *agreeing).confidence == 0.8
    # A doubt never makes surer.
    poor = replace(GUESSED, confidence=0.3)
    assert judge(poor, "Merek", *split).confidence == 0.3


@pytest.mark.parametrize(
    ("origin", "sure", "written", "share", "confidence"),
    [
        # Without accents: 0.9 needs no second opinion; half of the guess's is enough to be told.
        (Origin.PREDICTED, 0.8, "Merek", 0.9, 0.9),
        (Origin.PREDICTED, 0.8, "Merek", 0.89, 0.65),
        (Origin.PREDICTED, 0.8, "Merek", 0.4, 0.4),
        (Origin.PREDICTED, 0.96, "Merek", 0.48, 0.48),
        (Origin.DICTIONARY, 0.8, "Merek", 0.9, 0.9),
        (Origin.DICTIONARY, 0.8, "Merek", 0.7, 0.65),
        (Origin.DERIVED, 0.89, "Merek", 0.97, 0.9),
        # With accents: 0.7 is sure; half is enough against what is unsure itself.
        (Origin.PREDICTED, 0.8, "Mérek", 0.7, 0.9),
        (Origin.PREDICTED, 0.8, "Mérek", 0.6, 0.6),
        (Origin.PREDICTED, 0.8, "Mérek", 0.69, 0.65),
        (Origin.PREDICTED, 0.8, "Mérek", 0.5, 0.5),
        (Origin.DICTIONARY, 1.0, "Mérek", 0.7, 0.9),
        (Origin.DICTIONARY, 0.9, "Mérek", 0.7, 0.9),
        (Origin.DICTIONARY, 0.89, "Mérek", 0.5, 0.5),
    ],
)
def test_letters_that_win(
    origin: Origin, sure: float, written: str, share: float, confidence: float
) -> None:
    readings = ((OTHER, "Polish", share), (THIRD, "Thai", 0.02), ("B AA1", "Czech", 0.01))
    judged = judge(found(origin, sure), written, *readings)
    assert judged == Pronunciation(
        "merek",
        parse_phones(OTHER),
        Origin.NAME,
        confidence,
        (parse_phones(GUESS), parse_phones(THIRD)),
        "read by the letters of Polish",
    )


@pytest.mark.parametrize(
    ("origin", "sure", "written", "share"),
    [
        (Origin.PREDICTED, 0.8, "Merek", 0.39),
        (Origin.PREDICTED, 0.96, "Merek", 0.47),
        (Origin.DICTIONARY, 0.8, "Merek", 0.69),
        (Origin.DERIVED, 0.9, "Merek", 0.99),
        (Origin.DICTIONARY, 1.0, "Merek", 0.99),
        (Origin.WIKTIONARY, 0.5, "Merek", 0.99),
        (Origin.PREDICTED, 0.8, "Mérek", 0.49),
        (Origin.DICTIONARY, 1.0, "Mérek", 0.69),
    ],
)
def test_letters_that_lose(origin: Origin, sure: float, written: str, share: float) -> None:
    judged = judge(found(origin, sure), written, (OTHER, "Polish", share))
    assert judged.phones == parse_phones(GUESS)
    assert judged.origin is origin
    assert judged.note == "as it was"


def test_our_own_table() -> None:
    """What it has without accents stays unless the letters are certain, and then one is asked."""
    assert judge(KNOWN, "Mérek", (OTHER, "Polish", 0.89), ours=True) is KNOWN
    agreed = ((OTHER, "Polish", 0.98), (GUESS, "Czech", 0.01))
    assert judge(KNOWN, "Mérek", *agreed, ours=True) is KNOWN
    for share in (0.9, 0.98):
        judged = judge(KNOWN, "Mérek", (OTHER, "Polish", share), ours=True)
        assert (judged.phones, judged.confidence) == (parse_phones(OTHER), 0.65)


@pytest.mark.parametrize(
    ("written", "asked"),
    [("MEREK", ["Merek"]), ("M", ["M"]), ("McRek", []), ("Da'Rek", []), ("Merek", ["Merek"])],
)
def test_capitals_are_no_accents(written: str, asked: list[str]) -> None:
    reader = Readers()
    judge_name(GUESSED, written, cast("NameReader", reader))
    assert reader.asked == asked


@pytest.mark.parametrize(
    ("origin", "sure", "wanted"),
    [
        (Origin.PREDICTED, 1.0, True),
        (Origin.WIKTIONARY, 1.0, True),
        (Origin.DERIVED, 1.0, True),
        (Origin.DICTIONARY, 0.99, True),
        (Origin.DICTIONARY, 1.0, False),
        (Origin.OVERRIDE, 0.5, False),
        (Origin.HOMOGRAPH, 0.5, False),
    ],
)
def test_who_may_be_a_name(origin: Origin, sure: float, wanted: bool) -> None:
    assert may_be_name(found(origin, sure)) is wanted


def test_possessives() -> None:
    assert split_possessive("Merek's") == ("Merek", True)
    assert split_possessive("Merek’s") == ("Merek", True)
    assert split_possessive("Mereks'") == ("Mereks'", False)
    assert split_possessive("s's") == ("s", True)


# Languages


def test_pieces() -> None:
    pieces = list(list_pieces("ab"))
    assert pieces == ["^", "a", "b", "$", "^a", "ab", "b$", "^ab", "ab$", "^ab$"]
    assert max(map(len, list_pieces("abcdef"))) == 4


def languages(**shares: float) -> Languages:
    """As likely as told, whatever the name; Polish more so for each new "sz", twice for "z$"."""
    offset = np.array([log(share) for share in shares.values()], np.float32)
    weights = np.zeros((2, len(shares)), np.float32)
    weights[:, list(shares).index("pl")] = 1.0, 2.0
    return Languages(list(shares), ["sz", "z$"], weights, offset)


def test_shares_of_languages() -> None:
    """Multinomial logistic regression: the pieces that are there, each once, and an offset."""
    known = languages(en=0.5, pl=0.2, cs=0.3)
    assert dict(known.identify("bo")) == pytest.approx({"en": 0.5, "cs": 0.3, "pl": 0.2})
    assert [tag for tag, _ in known.identify("bo")] == ["en", "cs", "pl"]
    for name, boost in (("Sze", 1), ("szesze", 1), ("SZ", 3), ("bosz", 3), ("zo", 0)):
        polish = 0.2 * exp(boost)
        shares = dict(known.identify(name))
        assert shares["pl"] == pytest.approx(polish / (0.8 + polish), abs=1e-6)
    # Accents written as marks of their own are those of the letter.
    accents = Languages(["pl"], ["ś"], np.ones((1, 1), np.float32), np.zeros(1, np.float32))
    assert accents.identify("s\u0301") == accents.identify("ś")


def test_readings_of_the_likely_languages() -> None:
    """Those that the swap makes one add up, under the likeliest one's name."""
    reader = NameReader(languages(en=0.38, pl=0.3, cs=0.2, it=0.08, fi=0.029, sv=0.011))
    first, second = reader.read("Ocob")
    # Polish and Czech: c as ts; Italian: c as k.
    assert (first.language, second.language) == ("Polish", "Italian")
    assert first.share == pytest.approx(0.5, abs=1e-5)
    assert second.share == pytest.approx(0.08, abs=1e-5)
    assert reader.read("Mtk") == ()


def test_a_language_without_the_letter_is_out() -> None:
    reader = NameReader(languages(en=0.5, pl=0.1, cs=0.4))
    (only,) = reader.read("Łoba")
    assert only.language == "Polish"
    assert only.share == pytest.approx(1.0)
    # No language has it: all may speak.
    both = reader.read("ħoba")
    assert sum(reading.share for reading in both) == pytest.approx(0.5)


# Words that are names too


WORDS = {
    "nice": NameWord("place", (parse_phones("N IY1 S"),), "the city"),
    "herb": NameWord("inside", (parse_phones("HH ER1 B"),), "a first name"),
    "he": NameWord("title", (parse_phones("HH AH1"), parse_phones("HH EY1")), "a surname"),
}
BEFORE = {
    "title": "mister doctor",
    "greeting": "thanks dear",
    "place": "to in",
    "never": "the a",
}
SPOKEN = {"Mr.": ("mister",), "...": ()}


def tokenize(text: str) -> list[Token]:
    tokens = []
    for found_at in re.finditer(r"Mr\.|[\w’']+|\s+|\.\.\.|.", text):
        part = found_at[0]
        word = part[0].isalpha()
        kind = TokenKind.WORD if word else TokenKind.PUNCTUATION
        kind = TokenKind.SPACE if part.isspace() else kind
        spoken = SPOKEN.get(part, (part.lower(),) if word else ())
        tokens.append(Token(part, found_at.start(), found_at.end(), kind, spoken))
    return tokens


@pytest.mark.parametrize(
    ("text", "name", "sure"),
    [
        # At the head of a sentence only what is told of a place.
        ("Nice is in France.", "Nice", True),
        ("Nice is a lovely old word.", "Nice", None),
        ("Nice is a town.", "Nice", True),
        ("Nice was an old port.", "Nice", True),
        ("Nice lies near Cannes.", "Nice", True),
        ("Nice lies north of the Alps.", "Nice", True),
        ("Nice stands on the coast.", "Nice", True),
        ("Nice is on the phone.", "Nice", None),
        ("Nice was the capital once.", "Nice", True),
        ("Nice, France is far.", "Nice", True),
        ("Nice, New York is far.", "Nice", True),
        ("Nice, France Telecom is far.", "Nice", True),
        ("Nice, Anna said.", "Nice", None),
        ("Nice work, France is far.", "Nice", None),
        ("Nice day in France.", "Nice", None),
        ("It rained. Nice is a town.", "Nice", True),
        ("It rained! Nice is a word.", "Nice", None),
        ("It rained... Nice is a town.", "Nice", True),
        ("Herb is a town.", "Herb", None),
        ("He is a town.", "He", None),
        # After a title or a name, whatever it is; not in a heading.
        ("We met Mr. He there.", "He", True),
        ("We met Mr. Nice there.", "Nice", True),
        ("We met MISTER He there.", "He", True),
        ("We met Anna He there.", "He", True),
        ("We met Anna He, there.", "He", True),
        ("We Met Anna He There", "He", None),
        ("We Met Mr. He There", "He", True),
        ("We met Odd He there.", "He", None),
        ("We met Anna He", "He", True),
        # A capital that nothing else explains.
        ("We flew to Nice today.", "Nice", True),
        ("We flew in Nice’s sun.", "Nice’s", True),
        ("We like Nice today.", "Nice", False),
        ("We like Herb today.", "Herb", True),
        ("We like He today.", "He", None),
        ("We like the Nice one.", "Nice", None),
        ("We like the Herb one.", "Herb", None),
        ("We like, Nice one.", "Nice", None),
        ("We like 7 Nice ones.", "Nice", None),
        # In a greeting.
        ("Thanks, Herb.", "Herb", True),
        ("thanks Herb.", "Herb", True),
        ("Dear Herb, hello.", "Herb", True),
        ("Well, thanks, Herb.", "Herb", True),
        ("Well, Herb.", "Herb", None),
        ("Thanks, Nice.", "Nice", None),
        (", Herb", "Herb", None),
    ],
)
def test_where_a_word_is_a_name(text: str, name: str, sure: bool | None) -> None:
    names = NameWords(WORDS, BEFORE, {"France", "New York"})
    tokens = tokenize(text)
    at = next(i for i, token in enumerate(tokens) if token.text == name)
    row = names.find(tokens, at, lambda word: word == "Anna")
    assert (None if row is None else row.sure) is sure
    if row is not None:
        own = WORDS[split_possessive(name)[0].lower()]
        assert (row.where, row.what) == (own.where, own.what)
        ending = " IH0 Z" if name.endswith("s") else ""
        said = [format_phones(phones) + ending for phones in own.phones]
        assert [format_phones(phones) for phones in row.phones] == said


def test_forms_that_are_looked_at() -> None:
    names = NameWords(WORDS, BEFORE, ())
    assert names.written == {
        *("Nice", "Nice's", "Nice’s", "Herb", "Herb's", "Herb’s", "He", "He's", "He’s")
    }


def test_names_of_the_installation() -> None:
    """Its tables: a town with a county and with a postal code behind it; two readings."""
    names = NameWords.load()
    assert {"Nice", "Nice’s", "Mobile's"} <= names.written
    for text, word, wanted in (
        ("Reading, Berkshire is far.", "Reading", True),
        ("Mobile, AL is far.", "Mobile", True),
        ("Mobile, Alabama is far.", "Mobile", True),
        ("Mobile, Anna is far.", "Mobile", False),
        ("We flew to Nice.", "Nice", True),
    ):
        tokens = tokenize(text)
        at = next(i for i, token in enumerate(tokens) if token.text == word)
        assert (names.find(tokens, at, lambda _: False) is not None) is wanted, text
