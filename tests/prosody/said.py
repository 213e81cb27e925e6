"""The tables of sentences with their phrases, nuclei and tunes, and how well we read them."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Final, NamedTuple

from drillgen.core.values import Grade, Token, Tune
from drillgen.speech.prosody.reader import Prosody, Said
from drillgen.speech.text.clauses import split_clauses
from drillgen.speech.text.tokens import tokenize

FOLDER: Final = Path(__file__).parent / "data"
_SIGNS: Final = {"\\": Tune.FALL, "/": Tune.RISE, "~": Tune.LEVEL}


class Part(NamedTuple):
    """A phrase as it should be said."""

    words: int
    nucleus: str
    tune: Tune


@dataclass(frozen=True)
class Case:
    """A sentence and its phrases."""

    text: str
    parts: tuple[Part, ...]


def load_cases(name: str) -> list[Case]:
    cases = []
    for line in (FOLDER / f"said_{name}.tsv").read_text(encoding="utf-8").splitlines():
        if line and not line.startswith("#"):
            cases.append(parse_case(line.split("\t")[1]))
    return cases


def load_beats() -> list[tuple[str, str, str]]:
    """Part, sentence, words without a beat."""
    lines = (FOLDER / "beats.tsv").read_text(encoding="utf-8").splitlines()
    rows = [line.split("\t") for line in lines if not line.startswith("#")]
    return [(part, text, light) for part, text, light in rows]


def parse_case(marked: str) -> Case:
    pieces = re.split(r" ([\\/~])(?: |$)", marked)[:-1]
    parts = []
    for text, sign in zip(pieces[::2], pieces[1::2], strict=True):
        (nucleus,) = (word[1:] for word in text.split() if word.startswith("*"))
        parts.append(Part(len(text.split()), nucleus.strip(",.;:?!…”“)("), _SIGNS[sign]))
    return Case(" ".join(pieces[::2]).replace("*", ""), tuple(parts))


def read(prosody: Prosody, text: str, breath: int = 14) -> tuple[tuple[Token, ...], Said]:
    tokens = tokenize(text)
    return tokens, prosody.read(tokens, split_clauses(tokens), breath)


def find_parts(said: Said) -> list[Part]:
    """The phrases as they are said."""
    parts = []
    for phrase in said.phrases:
        text = "".join(token.text for token in phrase.tokens)
        nucleus = [
            token.text
            for token, grades in zip(phrase.tokens, phrase.grades, strict=True)
            if Grade.NUCLEUS in grades
        ]
        parts.append(Part(len(text.split()), nucleus[0] if nucleus else "", phrase.tune))
    return parts


class Score(NamedTuple):
    """Counts of what was right, and of what there was."""

    nuclei: int
    breaks: int
    tunes: int
    phrases: int
    sentences: int


def score_case(case: Case, found: list[Part]) -> Score:
    """Nuclei and tunes by phrase, the breaks by sentence.

    Where a breath is left out, the phrase that goes on has the nucleus and tune of the last.
    """
    wanted: dict[int, Part] = {}
    optional = set()
    at = 0
    for part in case.parts:
        at += part.words
        wanted[at] = part
        if part.tune is Tune.LEVEL:
            optional.add(at)
    ends = {}
    at = 0
    for part in found:
        at += part.words
        ends[at] = part
    breaks = set(ends) <= set(wanted) and set(wanted) - optional <= set(ends)
    said = [end for end in wanted if end in ends or end not in optional]
    right = [end for end in said if end in ends]
    nuclei = sum(ends[end].nucleus == wanted[end].nucleus for end in right)
    tunes = sum(ends[end].tune is wanted[end].tune for end in right)
    return Score(nuclei, breaks, tunes, len(said), 1)


def is_right(score: Score) -> bool:
    return score == Score(score.phrases, 1, score.phrases, score.phrases, 1)
