"""Doubtful words with their candidates, as people and programs can choose from them."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from drillgen.core.accents import load_accent
from drillgen.core.errors import InputError, placed
from drillgen.core.files import hold, make_folder, write_whole
from drillgen.core.phones import format_phones
from drillgen.core.sources import Tell, decode_text, read_bytes
from drillgen.core.syllables import to_ipa
from drillgen.core.tables import TEXT_HEADS, iter_rows
from drillgen.core.values import Drill, Origin, Phones, Pronunciation, ReviewItem, Token
from drillgen.speech.doubts import sentence_around
from drillgen.speech.pronounce.overrides import (
    format_override,
    parse_said,
)
from drillgen.speech.pronounce.places import Scope, name_place
from drillgen.speech.pronounce.soundalike import Lookup, to_soundalike


@dataclass(frozen=True, slots=True)
class Candidate:
    """One pronunciation to choose."""

    phones: Phones
    """As a word list holds it, before the accent."""

    soundalike: str
    ipa: str


@dataclass(frozen=True, slots=True)
class Use:
    """One place of a homograph."""

    scope: Scope
    context: str
    """Its sentence, the word between >angle marks<."""

    chosen: int
    """Which candidate is said here, from 0; -1: another."""


@dataclass(frozen=True, slots=True)
class Question:
    """A doubtful word and the choices for it; the first is the one in use."""

    item: ReviewItem
    candidates: tuple[Candidate, ...]
    places: tuple[Use, ...] = ()
    """Every place of a homograph in the texts, in their order; () for other words."""


OFFERED: Final = 3
"""Respellings to choose from, homographs apart; more are no help."""


def ask_questions(drills: Sequence[Drill], *, guesses: bool = False) -> tuple[Question, ...]:
    """One question per doubtful word form, names first, then in the order of the texts.

    `guesses`: also for the words that are probably right, and for every homograph.
    """
    questions: dict[str, Question] = {}
    rows = [(drill, item) for drill in drills for item in drill.review]
    if guesses:
        rows += [(drill, item) for drill in drills for item in _list_homographs(drill)]
    for drill, item in rows:
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
        most = None if said.origin is Origin.HOMOGRAPH else OFFERED
        offered = tuple(by_sound.values())[:most]
        questions[item.word] = Question(known.item if known else item, offered)
    return tuple(
        replace(question, places=_find_uses(drills, question))
        if question.item.pronunciation.origin is Origin.HOMOGRAPH
        else question
        for question in questions.values()
    )


def iter_uses(drill: Drill, word: str) -> Iterator[tuple[int, Token, Pronunciation, str]]:
    """Every place of a spoken word: index among the tokens, token, how it is said, and its
    sentence with the token between >angle marks<."""
    index = -1
    for number, (phrase, row) in enumerate(zip(drill.phrases, drill.readings, strict=True)):
        for token, reading in zip(phrase.tokens, row, strict=True):
            index += 1
            said = next((w for w in reading if w.word == word), None)
            if said is not None:
                yield index, token, said, sentence_around(drill.phrases, number, token)


def _list_homographs(drill: Drill) -> Iterator[ReviewItem]:
    for number, (phrase, row) in enumerate(zip(drill.phrases, drill.readings, strict=True)):
        for token, reading in zip(phrase.tokens, row, strict=True):
            for said in reading:
                if said.origin is Origin.HOMOGRAPH and said.alternatives:
                    why = f"Said by what stands around it; here: {said.note}."
                    context = sentence_around(drill.phrases, number)
                    yield ReviewItem(said.word, token, context, said, why, doubtful=False)


def _find_uses(drills: Sequence[Drill], question: Question) -> tuple[Use, ...]:
    word = question.item.word
    sounds = [c.soundalike for c in question.candidates]
    uses = []
    for drill in drills:
        tokens = [token for phrase in drill.phrases for token in phrase.tokens]
        for index, _, said, context in iter_uses(drill, word):
            sound = to_soundalike(said.listed[0])
            chosen = sounds.index(sound) if sound in sounds else -1
            uses.append(Use(name_place(drill.passage, tokens, index, word), context, chosen))
    return tuple(uses)


def show_context(item: ReviewItem) -> str:
    """The sentence with the word set off by >angle marks<."""
    before, word, after = item.context.partition(item.token.text)
    return f"{before}>{word}<{after}" if word else item.context


def format_use(use: Use) -> str:
    """A place of a homograph with the number of what is said there."""
    return f"{use.context}  ({use.chosen + 1})" if use.chosen >= 0 else use.context


def format_questions(questions: Sequence[Question]) -> str:
    """The questions as plain text."""
    blocks = []
    for q in questions:
        choices = "\n".join(
            f"    {number}. {c.soundalike}   /{c.ipa}/"
            for number, c in enumerate(q.candidates, start=1)
        )
        shown = [show_context(q.item)] if len(q.places) < 2 else [format_use(u) for u in q.places]
        context = "\n".join(f"  {line}" for line in shown)
        blocks.append(f"{q.item.word}\n{context}\n  {q.item.reason}\n{choices}\n")
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
            "places": [
                {"scope": str(u.scope), "context": u.context, "chosen": u.chosen} for u in q.places
            ],
        }
        for q in questions
    ]
    return json.dumps(rows, ensure_ascii=False, indent=2) + "\n"


# Keeping a choice


_ARPABET: Final = re.compile(
    r"(?=.*\d)[A-Za-z]{1,2}\d?(?: [A-Za-z]{1,2}\d?)*|[A-Z]{1,2}(?: [A-Z]{1,2})+"
)
"""With digits in any letters; without them two symbols or more, in capitals."""


def read_own(answer: str, lookup: Lookup) -> Phones:
    """A pronunciation as a person types it: a sound-alike, IPA or ARPAbet.

    Raises InputError where it can't be read.

    >>> from drillgen.speech.pronounce.overrides import no_lookup
    >>> format_phones(read_own("shiv-AWN", no_lookup))
    'SH IH0 V AO1 N'
    """
    said = " ".join(answer.split())
    if not said or said[0] in "/[" or said.lower().startswith("like:"):
        return parse_said(said, lookup)
    if any(char.isalpha() and not char.isascii() for char in said):
        return parse_said(f"/{said}/", lookup)
    if _ARPABET.fullmatch(said):
        return parse_said(said.upper(), lookup)
    return parse_said(f"like: {said}", lookup)


def read_word_table(text: str, name: str, lookup: Lookup) -> str:
    """The word list, line for line, that a table holds: words, and how each is said.

    InputError names `name` and line of a row that can't be read.

    >>> from drillgen.speech.pronounce.overrides import no_lookup
    >>> read_word_table("Word,Sounds like\\nSiobhan,shiv-AWN\\n", "words.csv", no_lookup)
    '\\nsiobhan  SH IH0 V AO1 N'
    """
    lines: list[str] = []
    for line, (word, *more) in iter_rows(text, name):
        lines += [""] * (line - len(lines))
        if word.lower() in TEXT_HEADS and not any(lines):
            continue
        if not any(more):
            mend = "write in the second column how it sounds, such as shiv-AWN"
            raise InputError(f"{word!r} has no pronunciation", mend, file=name, line=line)
        with placed(name, line):
            if len(word.partition("(")[0].split()) > 1:
                raise InputError(f"{word!r} is several words", "give each a row of its own")
            lines[-1] = format_override(word, read_own(more[0], lookup))
    return "\n".join(lines)


def edit_list(path: Path, change: Callable[[str], str], tell: Tell | None = None) -> None:
    """Change the text of a word list, made if there is none; `tell` as for `decode_text`."""
    with hold(path):
        try:
            data = read_bytes(path) if path.is_file() else b""
        except OSError as error:
            raise InputError(f"can't be read ({error.strerror})", "check it", file=path) from None
        old = decode_text(data, str(path), tell=tell) if data.strip() else ""
        if (text := change(old)) != old:
            make_folder(path.parent)
            write_whole(path, text.encode(), private=True)
