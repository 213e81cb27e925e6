"""The difficulty of each sentence of a text, under the full or a partial swap."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

from drillgen.core.errors import OptionError
from drillgen.core.options import DrillOptions
from drillgen.core.values import Drill, Grade, Pronunciation
from drillgen.corpus.difficulty import (
    Difficulty,
    ScoredWord,
    Scorer,
    format_difficulty,
    score_words,
)
from drillgen.speech.pipeline import Engine
from drillgen.speech.swap.targets import swap_vowels


class ScoredSentence(NamedTuple):
    """A sentence and how hard it is."""

    text: str
    difficulty: Difficulty


def score_drill(
    drill: Drill, options: DrillOptions, engine: Engine, scorer: Scorer, *, rung: int = 0
) -> tuple[ScoredSentence, ...]:
    """Score each sentence of a drill.

    `rung` 0 is the full swap; otherwise it is a rung of the ladder that
    `options` describe, from 1 at the fewest swapped vowels. `options.target`
    is not read: the drill's own target counts, and the scorer must have it
    (ValueError). OptionError for a rung that the ladder doesn't have.
    """
    if scorer.target != drill.target:
        raise ValueError(f"the scorer is for {scorer.target}, not {drill.target}")
    if not 0 <= rung <= options.rungs:
        raise OptionError(f"rung must be 0 (full swap) to {options.rungs}, not {rung}")
    return tuple(
        ScoredSentence(" ".join(text.split()), score_words(words, scorer))
        for text, words in gather_sentences(drill, options, engine, rung)
    )


def gather_sentences(
    drill: Drill, options: DrillOptions, engine: Engine, rung: int = 0
) -> Iterator[tuple[str, Sequence[ScoredWord]]]:
    """Text and scored words of each sentence in which something is said, in order; a breath is
    taken after each phrase. `options` and `rung` are those of `score_drill`."""
    sentences: dict[int, tuple[list[str], list[ScoredWord]]] = {}
    partial = engine.choose_swaps(drill.target, options, rung) if rung else None
    ordinal = 0

    def choose(word: Pronunciation, grade: Grade) -> tuple[int, ...]:
        if partial:
            return partial(word, grade, ordinal)
        return swap_vowels(word.phones, drill.target).changed

    for phrase, row in zip(drill.phrases, drill.readings, strict=True):
        text, words = sentences.setdefault(phrase.sentence, ([], []))
        text.extend(token.text for token in phrase.tokens)
        said: list[ScoredWord] = []
        for reading, grades in zip(row, phrase.grades, strict=True):
            said += [
                ScoredWord(word.word, word.phones, choose(word, grade))
                for word, grade in zip(reading, grades, strict=True)
                if word.phones
            ]
            # Counts the tokens that are said, as the partial version does.
            ordinal += bool(reading)
        if said:
            words += [*said[:-1], said[-1]._replace(phrase_end=True)]
    return (("".join(text).strip(), words) for text, words in sentences.values() if words)


def format_scores(sentences: Sequence[ScoredSentence], *, brief: bool = False) -> str:
    """Plain text: a table for each sentence, or a line each, then a summary."""
    blocks = []
    if brief:
        blocks.append(
            "\n".join(
                f"{s.difficulty.total:5.1f}  step {s.difficulty.step}  {s.text}" for s in sentences
            )
        )
    else:
        blocks += [f"{s.text}\n{format_difficulty(s.difficulty)}" for s in sentences]
    if len(sentences) > 1:
        blocks.append(_summarize(sentences))
    return "\n\n".join(blocks) + "\n"


def mean_total(sentences: Sequence[ScoredSentence]) -> float:
    """Mean of the totals, 0 to 100; 0 without sentences."""
    return sum(s.difficulty.total for s in sentences) / len(sentences) if sentences else 0.0


def _summarize(sentences: Sequence[ScoredSentence]) -> str:
    steps = [s.difficulty.step for s in sentences]
    counts = ", ".join(f"{steps.count(step)} of step {step}" for step in (1, 2, 3))
    hardest = max(sentences, key=lambda s: s.difficulty.total)
    return (
        f"{len(sentences)} sentences: {counts}; mean {mean_total(sentences):.1f}\n"
        f"hardest ({hardest.difficulty.total:.1f}): {hardest.text}"
    )


def scores_to_data(sentences: Sequence[ScoredSentence]) -> list[dict[str, Any]]:
    """The scores as plain values for JSON. Points are rounded to thousandths."""
    return [
        {
            "text": s.text,
            "total": round(s.difficulty.total, 3),
            "step": s.difficulty.step,
            "parts": [
                {
                    "name": part.name,
                    "value": round(part.value, 3),
                    "unit": part.unit,
                    "points": round(part.points, 3),
                    "weight": part.weight,
                    "explanation": part.explanation,
                }
                for part in s.difficulty.parts
            ],
        }
        for s in sentences
    ]
