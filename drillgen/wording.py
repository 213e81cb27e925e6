"""Every sentence that a sheet prints, in an ordinary and a discreet wording.

The advice (go slowly, overshoot and ease back, watch jaw and neck, rest,
water, hoarseness beyond two weeks) is common practice in voice teaching; it
defers to a licensed clinician. The discreet wording says how to read and
never what the reading is for: a sheet that lies open must not out its owner.

A sentence that takes a value holds a `str.format` field; its docstring names
the field.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final, NamedTuple

from drillgen.model import Delivery


class DeliveryText(NamedTuple):
    """One of the three deliveries, as the sheet explains it."""

    delivery: Delivery
    name: str
    instruction: str
    """How to do it on a pitch."""

    free_instruction: str
    """How to do it where no pitch is set."""


class MarkText(NamedTuple):
    """One mark of the page and its meaning."""

    mark: str
    """IPA suprasegmental, or empty where the face of the letters is the mark."""

    face: str
    """"bold", "underline", or empty."""

    meaning: str


@dataclass(frozen=True, slots=True)
class Wording:
    """The sentences of a sheet."""

    title: str
    """Heading of a sheet that was given none."""

    foot: str
    """Left half of the running foot."""

    page: str
    """Right half. Fields: page, pages."""

    pitch: str
    """Label of the reference note."""

    pitch_alt: str
    """Says the drawn keyboard in words. Field: note."""

    steps: str
    """Heading above the deliveries."""

    deliveries: tuple[DeliveryText, ...]
    hints: tuple[str, ...]
    text: str
    """Heading of the plain text."""

    full: str
    full_note: str
    """Field: vowel."""

    partial: str
    partial_rung: str
    """Heading of a partial version on a ladder. Fields: rung, rungs."""

    partial_note: str
    """Fields: share (a percentage), strategy."""

    strategies: tuple[tuple[str, str], ...]
    """How each partial strategy chooses, by its name."""

    marked: str
    marked_note: str
    """Field: vowel."""

    ticks: str
    """Says a row of tick boxes in words. Fields: name, count."""

    key: str
    key_note: str
    key_columns: tuple[str, str, str, str]
    marks: str
    marks_columns: tuple[str, str]
    mark_texts: tuple[MarkText, ...]

    review: str
    review_note: str
    review_columns: tuple[str, str, str, str]
    sentence: str
    """Where a word stands. Field: number."""

    cautions: str
    caution_texts: tuple[str, ...]
    disclaimer: str
    log: str
    log_columns: tuple[str, str, str, str, str, str]
    missing: str
    """Warning on characters that the fonts lack. Field: characters."""

    telling: tuple[str, ...] = ()
    """Beginnings of words that no hint from elsewhere may hold, lower case."""


_HINT_SLOW: Final = (
    "Go slowly, one breath group at a time. The bars show where a group ends and you may breathe."
)
_MARKS: Final = (
    MarkText("|", "", "short pause"),
    MarkText("‖", "", "end of a sentence: breathe"),
    MarkText("¦", "", "no pause, but you may breathe here"),
    MarkText("↗", "", "rise"),
    MarkText("↘", "", "fall"),
    MarkText("→", "", "stay level"),
    MarkText("", "bold", "stressed syllable"),
)
_KEY_COLUMNS: Final = ("Spelling", "IPA", "As in", "Hint")
_REVIEW_COLUMNS: Final = ("Word", "We chose", "Why", "Where")

ORDINARY: Final = Wording(
    title="Resonance drill",
    foot="Reading practice",
    page="Page {page} of {pages}",
    pitch="Target pitch",
    pitch_alt="Piano keys with {note} marked",
    steps="What to do",
    deliveries=(
        DeliveryText(
            Delivery.CHANT,
            "Chant",
            "Read the full swap on one steady pitch, {pitch}. Keep the tongue high and forward.",
            "Read the full swap on one steady pitch. Keep the tongue high and forward.",
        ),
        DeliveryText(
            Delivery.INFLECTED,
            "Inflected",
            "Read it again with natural rise and fall around that pitch. Keep the tongue forward.",
            "Read it again with natural rise and fall. Keep the tongue forward.",
        ),
        DeliveryText(
            Delivery.CARRY_OVER,
            "Carry-over",
            "Read the original words. Say every vowel as usual, but keep the forward posture.",
            "Read the original words. Say every vowel as usual, but keep the forward posture.",
        ),
    ),
    hints=(
        _HINT_SLOW,
        "Overshoot first: make it brighter than you would ever use. Then ease back, step by step, "
        "until it is bright and still yours.",
        "Move on when you hear and feel the difference between before and after, and when pitch "
        "and inflection hold.",
    ),
    text="Text",
    full="Full swap",
    full_note="Every vowel is {vowel}.",
    partial="Partial swap",
    partial_rung="Partial swap, rung {rung} of {rungs}",
    partial_note="{share} of the vowels are swapped; {strategy}.",
    strategies=(
        ("distance", "the nearest to the target first"),
        ("stressed", "stressed syllables first"),
        ("unstressed", "unstressed syllables first"),
        ("content", "nouns, verbs, adjectives and adverbs first"),
        ("alternate", "every other word first"),
    ),
    marked="Original words",
    marked_note="Say the marked vowels as usual; keep the posture of {vowel}.",
    ticks="{count} boxes to tick for {name}",
    key="Key",
    key_note="Read each syllable as it stands. A hyphen parts syllables; don’t pause at it.",
    key_columns=_KEY_COLUMNS,
    marks="Marks",
    marks_columns=("Mark", "Meaning"),
    mark_texts=(
        *_MARKS,
        MarkText("", "underline", "swapped vowel, or vowel to watch"),
    ),
    review="Words to check",
    review_note="We were not sure of these words. The teacher decides how they are said.",
    review_columns=_REVIEW_COLUMNS,
    sentence="sentence {number}",
    cautions="Take care",
    caution_texts=(
        "Watch the jaw and the neck. If they tighten, stop, relax, and begin again more gently.",
        "Nothing should hurt. Stop at any pain, burning or scratching.",
        "Take short turns with rests between them, and drink water.",
        "If your voice is hoarse for more than two weeks, see a doctor.",
    ),
    disclaimer="This sheet does not replace the advice of a licensed clinician. Where the two "
    "differ, follow your clinician.",
    log="Practice log",
    log_columns=("Date", "Delivery", "Times", "Difference felt", "Tension", "Note"),
    missing="Some characters of the text can’t be printed and are drawn as an empty frame: "
    "{characters}.",
)

DISCREET: Final = Wording(
    title="Reading practice",
    foot="Reading practice",
    page="Page {page} of {pages}",
    pitch="Steady note",
    pitch_alt="Piano keys with {note} marked",
    steps="What to do",
    deliveries=(
        DeliveryText(
            Delivery.CHANT,
            "Steady",
            "Read version A slowly on one steady note, {pitch}.",
            "Read version A slowly on one steady note.",
        ),
        DeliveryText(
            Delivery.INFLECTED,
            "Lively",
            "Read it again with natural rise and fall around that note.",
            "Read it again with natural rise and fall.",
        ),
        DeliveryText(
            Delivery.CARRY_OVER,
            "As written",
            "Read the words as they are written, in the same manner.",
            "Read the words as they are written, in the same manner.",
        ),
    ),
    hints=(
        _HINT_SLOW,
        "Do a little more than you need at first. Then ease back, step by step, until it is easy.",
        "Move on when you notice the difference between before and after.",
    ),
    text="Text",
    full="Version A",
    full_note="Respelled: read what you see.",
    partial="Version B",
    partial_rung="Version B{rung}",
    partial_note="Partly respelled: read what you see.",
    strategies=(),
    marked="Version C",
    marked_note="As written, with some letters marked.",
    ticks="{count} boxes to tick for {name}",
    key="Key",
    key_note="Read each syllable as it stands. A hyphen parts syllables; don’t pause at it.",
    key_columns=_KEY_COLUMNS,
    marks="Marks",
    marks_columns=("Mark", "Meaning"),
    mark_texts=(*_MARKS, MarkText("", "underline", "letters to watch")),
    review="Words to check",
    review_note="We were not sure of these words. Ask how they are said.",
    review_columns=_REVIEW_COLUMNS,
    sentence="sentence {number}",
    cautions="Take care",
    caution_texts=(
        "Keep the jaw and the neck loose. If they tighten, stop, relax, and begin again gently.",
        "Nothing should hurt. Stop if it does.",
        "Take short turns with rests between them, and drink water.",
        "If you are hoarse for more than two weeks, see a doctor.",
    ),
    disclaimer="The advice of a professional who knows you comes before this sheet.",
    log="Practice log",
    log_columns=("Date", "Step", "Times", "Difference", "Effort", "Note"),
    missing=ORDINARY.missing,
    telling=(
        "voice",
        "voicing",
        "vocal",
        "reson",
        "femin",
        "mascul",
        "gender",
        "trans",
        "bright",
        "forward",
        "tongue",
        "larynx",
        "vowel",
        "swap",
        "pitch",
        "target",
        "therap",
        "clinic",
        "speech",
    ),
)


def keep_hint(text: str, wording: Wording) -> str:
    """A hint of the key or of the review, or nothing where it would tell too much.

    >>> keep_hint("with voice", DISCREET)
    ''
    >>> keep_hint("always hard", DISCREET)
    'always hard'
    """
    words = re.findall(r"[a-z]+", text.lower())
    return "" if any(word.startswith(wording.telling) for word in words) else text


def choose_wording(discreet: bool) -> Wording:
    """The sentences for a sheet.

    >>> choose_wording(True).pitch
    'Steady note'
    """
    return DISCREET if discreet else ORDINARY
