"""Where the pitch goes at the end of a phrase.

J. C. Wells (2006), English Intonation, chapter 2, from memory: statements, commands,
exclamations and wh-questions fall, yes/no questions rise, what is not finished rises,
alternatives ("tea or coffee?") rise and then fall.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from drillgen.core.values import Boundary, Clause, Token, TokenKind, Tune
from drillgen.speech.prosody.clauses import Joint
from drillgen.speech.prosody.words import (
    AUXILIARIES,
    CHECKS,
    DETERMINERS,
    NEGATIVES,
    PREPOSITIONS,
    SUBJECTS,
    WH,
)

_QUESTIONS: Final = frozenset("?？⁇⁈‽")
_RISING: Final = frozenset(",，、([{（)]}）…")
_OPEN: Final = frozenset({"any", "ever", "even", "anything", "anybody", "anyone", "know"})
"""Words of a question that is answered by yes or no."""

_LEADERS: Final = frozenset(
    {"and", "but", "so", "or", "well", "oh", "then", "now", "ok", "okay", "yes", "no", "please"}
)


def tune_clause(tokens: Sequence[Token], clauses: Sequence[Clause], k: int, joint: Joint) -> Tune:
    """The tune at the end of clause number k, after which `joint` stands."""
    clause = clauses[k]
    marks = clause.marks
    if not _QUESTIONS.isdisjoint(marks):
        return tune_question(_spoken_clauses(tokens[clause.sentence : clause.end]))
    if clause.boundary is Boundary.NONE:
        return Tune.LEVEL
    if clause.boundary is Boundary.MAJOR or joint is Joint.LEAD:
        return Tune.FALL
    # What goes on rises; a mark that is heavier than a comma closes what was said.
    return Tune.RISE if marks[:1] in _RISING else Tune.FALL


def _spoken_clauses(tokens: Sequence[Token]) -> tuple[tuple[str, ...], ...]:
    clauses: list[list[str]] = [[]]
    for token in tokens:
        if token.kind is TokenKind.PUNCTUATION and token.text[0] in ",;:—–….":
            clauses.append([])
        clauses[-1] += token.spoken
    return tuple(tuple(clause) for clause in clauses if clause)


def tune_question(clauses: tuple[tuple[str, ...], ...]) -> Tune:
    """Where the pitch goes at the end of a question, given its clauses in spoken words.

    Wells (2006): wh-questions fall; yes/no questions rise; the last of several alternatives
    falls; a tag of the opposite polarity falls (it asks to agree), other tags rise.

    >>> tune_question((("where", "is", "the", "boat"),))
    <Tune.FALL: 'fall'>
    >>> tune_question((("is", "the", "boat", "in"),))
    <Tune.RISE: 'rise'>
    """
    if not clauses:
        return Tune.RISE
    last = clauses[-1]
    if len(clauses) > 1:
        if len(last) == 1 and last[0] in CHECKS:
            return Tune.RISE
        if 2 <= len(last) <= 3 and last[0] in AUXILIARIES and last[1] in SUBJECTS:
            words = {word for clause in clauses[:-1] for word in clause}
            negative = any(word in NEGATIVES or word.endswith("n't") for word in words)
            tag = last[0].endswith("n't") or last[-1] == "not"
            return Tune.FALL if tag != negative else Tune.RISE
    if _is_wh(last) or any(map(_turns_to_wh, clauses if last[0] not in AUXILIARIES else [last])):
        return Tune.FALL
    # "When it rains, is it cold?" asks yes or no; "What, then, is it?" doesn't.
    if _is_wh(clauses[0]) and (last[0] not in AUXILIARIES or len(clauses[0]) < 3):
        return Tune.FALL
    if last[0] == "guess":
        return Tune.FALL
    if not _OPEN.isdisjoint(last):
        # "Do you ever sail or row?" doesn't ask which.
        return Tune.RISE
    if "or" in last[1:-1] or (len(clauses) > 1 and last[0] == "or" and len(last) > 1):
        return Tune.RISE if last[-2:] == ("or", "not") else Tune.FALL
    return Tune.RISE


def _turns_to_wh(clause: tuple[str, ...]) -> bool:
    """Whether a wh-question follows in a clause without a mark: "... what can I do"."""
    return clause[0] not in AUXILIARIES and any(
        word in WH and auxiliary in AUXILIARIES and subject in SUBJECTS | DETERMINERS
        for word, auxiliary, subject in zip(clause, clause[1:], clause[2:], strict=False)
    )


def _is_wh(clause: tuple[str, ...]) -> bool:
    """Whether a clause begins with a wh-word, or with a preposition and one."""
    words = [word for word in clause if word not in _LEADERS]
    if words and words[0] in PREPOSITIONS:
        words = words[1:]
    return bool(words) and words[0].partition("'")[0] in WH
