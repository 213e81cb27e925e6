"""Rewrite rules and the customs of stress, on languages of a few rules.

The notation is that of phonology (Chomsky and Halle, The Sound Pattern of English, 1968): what
is rewritten, as what, and between what. Customs of stress: World Atlas of Language Structures,
chapters 14 to 16, from memory; Spanish: Real Academia Española, Ortografía (2010), from memory.
"""

from __future__ import annotations

import pytest

from drillgen.core.phones import format_phones
from drillgen.speech.pronounce.letter_rules import LetterRules, parse_rule

LINES = [
    "c S / _ [ei]",
    "c K",
    "ch CH",
    "ch SH / # _",
    "s Z / V _ V",
    "s SH / _ #",
    "e -  / C _ #",
    "qu K W",
    "nn N Y",
    "an AA N",
    "š SH / _ a",
    "ai AY IY",
    "é EY",
    "io IY OW",
]


def say(name: str, stress: str = "first", *, title: str = "Test", drop: str = "") -> str:
    return format_phones(LetterRules(title, stress, LINES, drop).read(name))


@pytest.mark.parametrize(
    ("name", "phones"),
    [
        # Of rules that fit the longest, then the first with a context.
        ("cob", "K OW1 B"),
        ("cebi", "S EH1 B IY0"),
        ("bochi", "B OW1 CH IY0"),
        ("chob", "SH OW1 B"),
        # Between vowels, at the edge, behind a consonant.
        ("bosi", "B OW1 Z IY0"),
        ("bos", "B OW1 SH"),
        ("osbi", "OW1 S B IY0"),
        ("bobe", "B OW1 B"),
        ("be", "B"),
        ("boe", "B OW1 EH0"),
        # A doubled letter is one sound, unless a rule says otherwise; so is one of two rules.
        ("bobbi", "B OW1 B IY0"),
        ("bonni", "B OW1 N Y IY0"),
        ("bockib", "B OW1 K IY0 B"),
        ("booi", "B OW1 OW0 IY0"),
        # n before k and g, which is no rule of a language.
        ("bonki", "B OW1 NG K IY0"),
        ("bongi", "B OW1 NG G IY0"),
        ("bonqi", "B OW1 NG K IY0"),
        ("bonti", "B OW1 N T IY0"),
        ("banki", "B AA1 N K IY0"),
        ("bonni-k", "B OW1 N Y IY0 K"),
        # A letter with an accent that has no rule goes by the letter without; its context too.
        ("ćib", "S IY1 B"),
        ("ćob", "K OW1 B"),
        ("šab", "SH AA1 B"),
        ("šob", "S OW1 B"),
        ("bošib", "B OW1 Z IY0 B"),
        # Letters of no rule, and those that we can't read.
        ("xyjwa", "K S Y JH W AA1"),
        ("b東o", "B OW1"),
        ("東", ""),
        ("'", ""),
        # Two vowels of one rule; capitals; both apostrophes.
        ("BAIB", "B AY1 IY0 B"),
        ("b’ob", "B OW1 B"),
        ("b'ob", "B OW1 B"),
    ],
)
def test_rules(name: str, phones: str) -> None:
    assert say(name) == phones


@pytest.mark.parametrize(
    ("custom", "name", "phones"),
    [
        ("first", "botobotob", "B OW1 T OW0 B OW0 T OW0 B"),
        ("last", "botobotob", "B OW0 T OW2 B OW0 T OW1 B"),
        ("last", "botob", "B OW0 T OW1 B"),
        ("last", "botobo", "B OW2 T OW0 B OW1"),
        ("penult", "botobotob", "B OW2 T OW0 B OW1 T OW0 B"),
        ("penult", "bot", "B OW1 T"),
        ("penult", "botebo", "B OW0 T EH1 B OW0"),
        ("penult", "boto", "B OW1 T OW0"),
        # The glide of the last syllable does not count: "Julio", "Nadia".
        ("penult", "botobio", "B OW0 T OW1 B IY0 OW0"),
        ("penult", "bio", "B IY1 OW0"),
        ("penult", "botobion", "B OW0 T OW1 B IY0 OW0 N"),
        # Italian: the last where it has an accent.
        ("italian", "botobò", "B OW2 T OW0 B OW1"),
        ("italian", "bòtobo", "B OW0 T OW1 B OW0"),
        ("italian", "botobo", "B OW0 T OW1 B OW0"),
        # Spanish: an accent, else the last but one before a vowel, n or s, else the last.
        ("spanish", "bótobo", "B OW1 T OW0 B OW0"),
        ("spanish", "botobo", "B OW0 T OW1 B OW0"),
        ("spanish", "boton", "B OW1 T OW0 N"),
        ("spanish", "botom", "B OW1 T OW0 M"),
        ("spanish", "botobol", "B OW2 T OW0 B OW1 L"),
        ("spanish", "botóbòl", "B OW2 T OW0 B OW1 L"),
        # Heavy: two consonants behind the last; the last but one if long or closed.
        ("heavy", "botobort", "B OW2 T OW0 B OW1 R T"),
        ("heavy", "botobor", "B OW0 T OW1 B OW0 R"),
        ("heavy", "botebor", "B OW1 T EH0 B OW0 R"),
        ("heavy", "botebbor", "B OW1 T EH0 B OW0 R"),
        ("heavy", "boterbor", "B OW0 T EH1 R B OW0 R"),
        ("heavy", "botubor", "B OW0 T UW1 B OW0 R"),
        ("heavy", "botébor", "B OW0 T EY1 B OW0 R"),
        ("heavy", "botibor", "B OW0 T IY1 B OW0 R"),
        ("heavy", "tebor", "T EH1 B OW0 R"),
        ("heavy", "obotebor", "OW0 B OW1 T EH0 B OW0 R"),
        ("heavy", "bor", "B OW1 R"),
        # Words that a hyphen or a blank joins have one stress.
        ("last", "bot-ob", "B OW0 T OW1 B"),
        ("first", "bot ob", "B OW1 T OW0 B"),
    ],
)
def test_stress(custom: str, name: str, phones: str) -> None:
    assert say(name, custom) == phones


def test_a_weak_a_is_a_schwa() -> None:
    """Not in Chinese; nor with a lesser stress."""
    assert say("babab") == "B AA1 B AH0 B"
    assert say("babab", title="Chinese (pinyin)") == "B AA1 B AA0 B"
    assert say("babababa", "last") == "B AH0 B AA2 B AH0 B AA1"


def test_the_accent_is_on_the_first_vowel_of_its_letters() -> None:
    assert say("bobéb", "spanish") == "B OW0 B EY1 B"
    lines = ["ái AY IY"]
    assert format_phones(LetterRules("T", "spanish", lines).read("báibo")) == "B AY1 IY0 B OW0"


def test_tones_of_the_installation() -> None:
    """Yoruba has them, and a dot below that is no tone."""
    yoruba = LetterRules.load("yo")
    assert yoruba.has("Ọlá")
    assert yoruba.read("Bólà") == yoruba.read("Bola")


def test_tones_say_nothing() -> None:
    """Combining marks that a language drops: Yoruba's grave and acute."""
    assert say("bóbeb", "last", drop="\u0301") == "B OW0 B EH1 B"
    rules = LetterRules("T", "first", LINES, "\u0300")
    assert rules.has("Bò")
    assert not LetterRules("T", "first", LINES).has("Bò")
    assert rules.has("Šé")
    assert not rules.has("Šê")
    assert rules.has("Bob")


@pytest.mark.parametrize(
    ("line", "letters", "phones", "left", "right"),
    [
        ("sz SH", "sz", ("SH",), "", ""),
        ("x K S / _ #", "x", ("K", "S"), "", "(?:#)"),
        ("h - / V [td] _", "h", (), None, ""),
        ("  e   EH  /  # _ C ", "e", ("EH",), r"(?:#)\Z", None),
    ],
)
def test_a_rule_is_read(
    line: str, letters: str, phones: tuple[str, ...], left: str | None, right: str | None
) -> None:
    rule = parse_rule(line)
    assert (rule.letters, rule.phones) == (letters, phones)
    if left is not None:
        assert rule.left == left
    if right is not None:
        assert rule.right == right


def test_contexts_have_classes() -> None:
    """V is a vowel letter, C any other but the edge."""
    rule = parse_rule("s Z / V _ C")
    assert rule.fits("#asb#", 2)
    assert rule.fits("#ésb#", 2)
    assert not rule.fits("#bsb#", 2)
    assert not rule.fits("#asa#", 2)
    assert not rule.fits("#as#", 2)
    assert not rule.fits("#asb#", 1)
    # What stands far off is not looked at, nor is it needed.
    assert parse_rule("s Z / # _").fits("#s", 1)
    assert not parse_rule("s Z / #.* _").fits("#" + "a" * 80 + "s", 81)
    assert parse_rule("s Z / #.* _").fits("#" + "a" * 60 + "s", 61)


def test_long_names_take_their_accents_along() -> None:
    """The plain form of an accented letter is looked for with what is around it, far inside."""
    assert say("bo" * 40 + "ćib").endswith("S IY0 B")
    assert say("bo" * 40 + "ćob").endswith("K OW0 B")
