"""What a sheet says, before any format."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sheet_factory import PASSAGE, make_drill, make_sheet

import drillgen
from drillgen.core.printable import clean
from drillgen.core.values import (
    Boundary,
    Delivery,
    Grade,
    Line,
    Phrase,
    Pitch,
    Respelling,
    Run,
    Token,
    TokenKind,
    Tune,
    VersionKind,
)
from drillgen.core.wording import choose_wording
from drillgen.sheets.content import (
    deliveries_for,
    describe_vowel,
    format_pitch,
    group_words,
    iter_paragraphs,
    iter_sentences,
    spans_of,
    stand_label,
    version_label,
)
from drillgen.sheets.parts import drill_title, number_drills, review_rows

ORDINARY, DISCREET = choose_wording(False), choose_wording(True)
FACES = [
    line.split("\t")
    for line in (Path(__file__).parent / "data" / "print_faces.tsv").read_text().splitlines()
    if not line.startswith("#")
]


@pytest.mark.parametrize("row", FACES, ids="-".join)
def test_faces(row: list[str]) -> None:
    kind, *flags = row
    vowel, swapped, stressed, bold, underlined = (flag == "1" for flag in flags)
    watched = vowel and kind == "marked"
    run = Run("x", vowel, swapped, Grade.BEAT if stressed else Grade.NONE, watched=watched)
    (span,) = spans_of([run], VersionKind(kind))
    assert (bool(span.stressed or span.vowel), bool(span.vowel)) == (bold, underlined)


# IPA chart (2020), suprasegmentals: | minor group, ‖ major group, ↗ global rise, ↘ global fall.
@pytest.mark.parametrize(
    ("text", "bar", "arrow"),
    [
        ("The rope comes in.", "‖", "↘"),
        ("Will you come?", "‖", "↗"),
        ("Down the hill, past the mill.", "|", "→"),
    ],
)
def test_marks(text: str, bar: str, arrow: str) -> None:
    drill = make_drill(text)
    words = group_words(drill.phrases[0], drill.versions[0].lines[0])
    assert words[-1].mark == bar
    assert [word.tune for word in words if word.tune] == [arrow]


def test_punctuation_stays_with_its_word() -> None:
    tokens = tuple(
        Token(text, 0, 0, kind)
        for text, kind in [
            ("“", TokenKind.PUNCTUATION),
            ("Tea", TokenKind.WORD),
            ("”", TokenKind.PUNCTUATION),
            (" ", TokenKind.SPACE),
            ("—", TokenKind.PUNCTUATION),
            ("\n", TokenKind.SPACE),
            ("no", TokenKind.WORD),
            ("!", TokenKind.PUNCTUATION),
        ]
    )
    tee = Respelling((Run("tee", grade=Grade.BEAT),))
    no = Respelling((Run("no"),), respelled=False)
    phrase = Phrase(tokens, Boundary.MAJOR, Tune.FALL, 0, 0)
    words = group_words(phrase, Line((None, tee, None, None, None, None, no, None)))
    assert [(word.original, word.text, word.mark) for word in words] == [
        ("“Tea”", "“tee”", ""),
        ("", "—", ""),
        ("", "no!", "‖"),
    ]


def test_a_dash_that_is_said_stands_apart() -> None:
    dash = Token("–", 0, 0, TokenKind.NUMBER)
    tokens = (Token("G3", 0, 0, TokenKind.NUMBER), dash, Token("D4", 0, 0, TokenKind.NUMBER))
    phrase = Phrase(tokens, Boundary.MAJOR, Tune.FALL, 0, 0)
    same = Respelling((Run("G3"),), respelled=False)
    tee, four = Respelling((Run("tee"),)), Respelling((Run("dee feer"),))
    words = group_words(phrase, Line((same, tee, four)))
    assert [word.text for word in words] == ["G3 tee dee feer"]
    kept = [Respelling((Run(token.text),), respelled=False) for token in tokens]
    assert [word.text for word in group_words(phrase, Line(tuple(kept)))] == ["G3–D4"]


def test_sentences_cover_the_text() -> None:
    drill = make_drill()
    for version in drill.versions:
        sentences = list(iter_sentences(drill, version))
        assert [sentence.number for sentence in sentences] == list(range(1, 8))
        assert [s.number for s in sentences if s.opens] == [1, 4]
        words = [word.original or word.text for s in sentences for word in s.words]
        assert words == PASSAGE.split()


def test_ipa_of_the_full_swap() -> None:
    drill = make_drill("Beautiful quay.")
    (sentence,) = iter_sentences(drill, drill.versions[0], ipa=True)
    assert [word.ipa for word in sentence.words] == ["ˈbji.ti.fil", "ki"]


@pytest.mark.parametrize(
    ("pitch", "shown"),
    [
        (Pitch(195.9977, "G3", 0.0), ("G3", "196 Hz")),
        (Pitch(200.0, "G3", 34.98), ("G3 + 35 cents", "200 Hz")),
        (Pitch(190.0, "F♯3", 46.2), ("F♯3 + 46 cents", "190 Hz")),
        (Pitch(193.5, "G3", -22.2), ("G3 − 22 cents", "193.5 Hz")),
    ],
)
def test_pitch(pitch: Pitch, shown: tuple[str, str]) -> None:
    assert format_pitch(pitch, ORDINARY) == shown


def test_labels() -> None:
    drill = make_drill(rungs=2)
    full, two, one, marked = drill.versions
    assert version_label(full, drill, ORDINARY) == (
        "Full swap",
        "Every vowel is “ee” as in “see”.",
    )
    assert version_label(two, drill, ORDINARY) == (
        "Partial swap, rung 2 of 2",
        "62% of the vowels are swapped; stressed syllables first.",
    )
    assert version_label(one, drill, DISCREET)[0] == "Version B1"
    assert version_label(replace(one, strategy=""), drill, ORDINARY)[1].endswith("are swapped.")
    single = make_drill(rungs=1)
    assert version_label(single.versions[1], single, DISCREET)[0] == "Version B"
    assert [d.delivery for d in deliveries_for(full, ORDINARY)] == [
        Delivery.CHANT,
        Delivery.INFLECTED,
    ]
    assert [d.delivery for d in deliveries_for(marked, ORDINARY)] == [Delivery.CARRY_OVER]
    assert describe_vowel("EY", ORDINARY) == "/e/ (the onset of FACE)"


def test_review_says_what_why_and_where() -> None:
    drill = make_drill()
    first, second = review_rows(drill, ORDINARY)
    assert first.word == "Pellow"
    assert first.chosen == "pee-lee /ˈpɛ.loʊ/"
    assert first.where == "sentence 1"
    assert second.where == "sentence 3"
    (only, *_) = review_rows(drill, ORDINARY, title="Quay", before=10)
    assert only.where == "Quay, sentence 11"
    bare = replace(drill, versions=(), phrases=(), readings=())
    assert [row.where for row in review_rows(bare, ORDINARY)] == ["somewhere"] * 2


def test_a_number_to_check_shows_its_words_and_no_ipa() -> None:
    drill = drillgen.make_drill("The code is now 857-771.")
    (row,) = review_rows(drill, ORDINARY)
    assert row.chosen == "eet feev see-veen see-veen see-veen ween"


def test_numbering_of_several_drills() -> None:
    sheet = make_sheet(title="Book")
    drills = [make_drill("A. B.", "Book"), make_drill("C."), make_drill("D.", "Other")]
    assert [(before, title) for before, title, _ in number_drills(drills, sheet)] == [
        (0, ""),
        (2, ""),
        (0, "Other"),
    ]
    assert drill_title(drills[0], sheet) == ""


@settings(max_examples=200, derandomize=True, deadline=None)
@given(st.text(max_size=40))
def test_clean_text_is_one_line_and_stays(text: str) -> None:
    cleaned = clean(text)
    assert clean(cleaned) == cleaned
    assert len(cleaned.splitlines()) <= 1
    cleaned.encode()


def test_a_text_without_phrases_is_shown_by_paragraph() -> None:
    drill = replace(make_drill("A"), phrases=(), readings=(), versions=())
    drill = replace(drill, passage=replace(drill.passage, text="One\ntwo.\n\n\nThree."))
    assert list(iter_paragraphs(drill)) == ["One two.", "Three."]


def test_an_untitled_text_after_another_is_headed_by_its_first_words() -> None:
    drills = tuple(
        drillgen.make_drill(drillgen.Passage(text, "", source))
        for text, source in (("Two boats.", "a"), ("Ask for a warm roll.", "b"), ("More.", "b"))
    )
    assert [
        (before, title)
        for before, title, _ in number_drills(drills, drillgen.Worksheet(drills, "", None))
    ] == [
        (0, ""),
        (0, "Ask for a warm …"),
        (1, ""),
    ]


def test_a_rung_says_what_no_longer_changes() -> None:
    options = drillgen.DrillOptions(rungs=3, strategy=drillgen.Strategy.DISTANCE)
    drill = drillgen.make_drill("My cat sat on the warm old boat in the sun.", options)
    sheet = drillgen.Worksheet((drill,), "", None)
    labels = [stand_label(v, drill, sheet, choose_wording(False))[1] for v in drill.versions]
    assert "As usual again" not in labels[1]
    for label, before, version in zip(
        labels[2:4], drill.versions[1:3], drill.versions[2:4], strict=True
    ):
        gone = set(before.changed) - set(version.changed)
        assert ("As usual again" in label) == bool(gone)
    assert "As usual again" in labels[2] + labels[3]
