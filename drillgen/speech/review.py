"""Doubtful words with their candidates, as people and programs can choose from them."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from drillgen.core.accents import load_accent
from drillgen.core.errors import InputError
from drillgen.core.files import make_folder, write_whole
from drillgen.core.phones import format_phones
from drillgen.core.sources import decode_text, read_bytes
from drillgen.core.syllables import to_ipa
from drillgen.core.values import Drill, Phones, ReviewItem
from drillgen.speech.pronounce.lexicon import Lexicon
from drillgen.speech.pronounce.overrides import add_overrides, normalize_word, parse_said
from drillgen.speech.pronounce.soundalike import Lookup, to_soundalike


@dataclass(frozen=True, slots=True)
class Candidate:
    """One pronunciation to choose."""

    phones: Phones
    """As a word list holds it, before the accent."""

    soundalike: str
    ipa: str


@dataclass(frozen=True, slots=True)
class Question:
    """A doubtful word and the choices for it; the first is the one in use."""

    item: ReviewItem
    candidates: tuple[Candidate, ...]


def ask_questions(drills: Sequence[Drill], *, guesses: bool = False) -> tuple[Question, ...]:
    """One question per doubtful word form, in the order of the texts.

    `guesses`: also for the words that were guessed and are probably right.
    """
    questions: dict[str, Question] = {}
    for drill in drills:
        for item in drill.review:
            if item.readings or not (item.doubtful or guesses):
                # How a number is read is settled in the text, not in a word list.
                continue
            known = questions.get(item.word)
            said = item.pronunciation
            # What reads alike is one choice to a teacher: the first of them stays.
            by_sound = {c.soundalike: c for c in known.candidates} if known else {}
            for entry, phones in zip(said.listed, (said.phones, *said.alternatives), strict=True):
                sound = to_soundalike(entry)
                ipa = to_ipa(phones, load_accent(drill.accent))
                by_sound.setdefault(sound, Candidate(entry, sound, ipa))
            questions[item.word] = Question(
                known.item if known else item, tuple(by_sound.values())
            )
    return tuple(questions.values())


def show_context(item: ReviewItem) -> str:
    """The sentence with the word set off by >angle marks<."""
    before, word, after = item.context.partition(item.token.text)
    return f"{before}>{word}<{after}" if word else item.context


def format_questions(questions: Sequence[Question]) -> str:
    """The questions as plain text."""
    blocks = []
    for q in questions:
        choices = "\n".join(
            f"    {number}. {c.soundalike}   /{c.ipa}/"
            for number, c in enumerate(q.candidates, start=1)
        )
        blocks.append(f"{q.item.word}\n  {show_context(q.item)}\n  {q.item.reason}\n{choices}\n")
    return "\n".join(blocks)


def questions_to_json(questions: Sequence[Question]) -> str:
    """The questions for programs: a list of objects, see docs/json.md."""
    rows = [
        {
            "word": q.item.word,
            "text": q.item.token.text,
            "start": q.item.token.start,
            "end": q.item.token.end,
            "context": q.item.context,
            "reason": q.item.reason,
            "origin": q.item.pronunciation.origin.value,
            "confidence": round(q.item.pronunciation.confidence, 3),
            "candidates": [
                {
                    "arpabet": format_phones(c.phones),
                    "ipa": c.ipa,
                    "sounds_like": c.soundalike,
                }
                for c in q.candidates
            ],
        }
        for q in questions
    ]
    return json.dumps(rows, ensure_ascii=False, indent=2) + "\n"


# Keeping a choice


def first_entry(lexicon: Lexicon) -> Lookup:
    """Look-up of a word's first pronunciation, for reading sound-alikes."""

    def look_up(word: str) -> Phones | None:
        return next(iter(lexicon.entries(word)), None)

    return look_up


def read_own(answer: str, lookup: Lookup) -> Phones:
    """A pronunciation as a person types it: a sound-alike, /IPA/ or ARPAbet.

    Raises InputError where it can't be read.

    >>> from drillgen.speech.pronounce.overrides import no_lookup
    >>> format_phones(read_own("shiv-AWN", no_lookup))
    'SH IH0 V AO1 N'
    """
    said = " ".join(answer.split())
    plain = "-" in said or said.isalpha()
    if plain and not said.lower().startswith("like:") and said[:1] not in "/[":
        said = f"like: {said}"
    return parse_said(said, lookup)


def keep_word(path: Path, word: str, phones: Phones) -> None:
    """Write one choice to a word list; the file is made if there is none."""
    old = _read_list(path)
    text = add_overrides(old, {word: phones})
    make_folder(path.parent)
    write_whole(path, text.encode(), private=True)


def forget_word(path: Path, word: str) -> bool:
    """Take a word off a word list; False if it wasn't there. All other lines stay."""
    old = _read_list(path)
    wanted = normalize_word(word)
    lines = old.split("\n")
    left = [line for line in lines if _word_of(line) != wanted]
    if len(left) == len(lines):
        return False
    write_whole(path, "\n".join(left).encode())
    return True


def _word_of(line: str) -> str:
    words = line.removeprefix("\ufeff").split()
    return normalize_word(words[0]) if words else ""


def _read_list(path: Path) -> str:
    try:
        data = read_bytes(path) if path.is_file() else b""
    except OSError as error:
        raise InputError(f"can't be read ({error.strerror})", "check it", file=path) from None
    return decode_text(data, str(path)) if data.strip() else ""
