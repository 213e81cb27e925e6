"""Doubtful words with their candidates, as people and programs can choose from them."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass

from drillgen.model import Drill, Phones, ReviewItem
from drillgen.phones import format_phones
from drillgen.pronounce.soundalike import to_soundalike
from drillgen.syllables import to_ipa


@dataclass(frozen=True, slots=True)
class Candidate:
    """One pronunciation to choose."""

    phones: Phones
    soundalike: str
    ipa: str


@dataclass(frozen=True, slots=True)
class Question:
    """A doubtful word and the choices for it; the first is the one in use."""

    item: ReviewItem
    candidates: tuple[Candidate, ...]


def ask_questions(drills: Sequence[Drill]) -> tuple[Question, ...]:
    """One question per doubtful word form, in the order of the texts."""
    questions: dict[str, Question] = {}
    for drill in drills:
        for item in drill.review:
            known = questions.get(item.word)
            offered = [c.phones for c in known.candidates] if known else []
            more = [item.pronunciation.phones, *item.pronunciation.alternatives]
            phones = tuple(dict.fromkeys((*offered, *more)))
            candidates = tuple(Candidate(p, to_soundalike(p), to_ipa(p)) for p in phones)
            questions[item.word] = Question(known.item if known else item, candidates)
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
