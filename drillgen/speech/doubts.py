"""The words of a text that somebody should check, the likeliest and weightiest first.

First what is likely wrong on this page: names, then other words that no dictionary
settles, the least sure first, then homographs whose readings differ in the versions
that are made, and numbers with two readings, then entries that other sources
contradict. After them what is only possible: guesses that are probably right, and
words whose dictionary entries differ after the swap where no policy decides.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import chain
from operator import attrgetter
from typing import Final

from drillgen.core.values import Origin, Phrase, Pronunciation, ReviewItem, Token
from drillgen.speech.pronounce.compare import same_after_swap, same_phones, vary_freely
from drillgen.speech.pronounce.engine import Reading, needs_review
from drillgen.speech.pronounce.overrides import Override, Overrides
from drillgen.speech.text.rows import OPEN_NOTES

_NOTE: Final = attrgetter("note")


_BOOKS: Final = {
    Origin.DICTIONARY: "CMUdict",
    Origin.WIKTIONARY: "Wiktionary",
    Origin.MISAKI: "misaki's dictionary",
}
_GUESSED: Final = frozenset({Origin.PREDICTED, Origin.NAME, Origin.DERIVED})
"""Of 875 listed guesses on held-out words the less sure half has two thirds of the wrong ones."""


def list_doubts(
    phrases: tuple[Phrase, ...], readings: Sequence[tuple[Reading, ...]], *, partial: bool
) -> tuple[ReviewItem, ...]:
    """The words to check, each reading once, a possessive only where its word is not there.
    `partial`: a version keeps some of the vowels."""
    items = list(_iter_doubts(phrases, readings, partial))
    words = {item.word for item in items}
    kept = [item for item in items if item.word.removesuffix("'s") not in words - {item.word}]
    return tuple(sorted(kept, key=rank_item))


def rank_item(item: ReviewItem) -> tuple[bool, int, float]:
    """What goes first on the list: of each kind the less likely guesses, by tenths of their
    confidence; equal ranks stay in the order of the text."""
    origin = item.pronunciation.origin
    if item.readings or origin is Origin.HOMOGRAPH:
        weight = 2
    elif is_name(item):
        weight = 0
    else:
        weight = 3 if origin is Origin.DICTIONARY else 1
    guessed = origin in _GUESSED and not item.readings
    return not item.doubtful, weight, round(item.pronunciation.confidence, 1) if guessed else 1.0


def is_name(item: ReviewItem) -> bool:
    """Whether an unsettled word is a name: it has a capital, and not from the sentence alone."""
    origin, text = item.pronunciation.origin, item.token.text
    if origin is Origin.NAME:
        return True
    opens = item.context.lstrip("\"'(\u201c\u2018").startswith(text)
    return text[:1].isupper() and not (opens and origin is Origin.DICTIONARY)


def _iter_doubts(
    phrases: tuple[Phrase, ...], readings: Sequence[tuple[Reading, ...]], partial: bool
) -> Iterator[ReviewItem]:
    # Most readings come again and are sure, so the rest are picked out before any loop.
    distinct = {id(reading): reading for reading in chain.from_iterable(readings)}
    unsure = {
        key
        for key, reading in distinct.items()
        if any(find_reason(word, partial)[0] for word in reading)
    }
    seen: set[tuple[str, tuple[object, ...]]] = set()
    for number, (phrase, row) in enumerate(zip(phrases, readings, strict=True)):
        if unsure.isdisjoint(map(id, row)) and not any(map(_NOTE, phrase.tokens)):
            continue
        for token, reading in zip(phrase.tokens, row, strict=True):
            open_ = token.other or token.note in OPEN_NOTES
            if open_ and (token.text, (token.note,)) not in seen:
                seen.add((token.text, (token.note,)))
                yield _review_reading(token, reading, sentence_around(phrases, number))
            if id(reading) not in unsure:
                continue
            for word in reading:
                why, doubtful = find_reason(word, partial)
                if why and (word.word, word.phones) not in seen:
                    seen.add((word.word, word.phones))
                    context = sentence_around(phrases, number)
                    yield ReviewItem(word.word, token, context, word, why, doubtful)


def _review_reading(token: Token, reading: Reading, context: str) -> ReviewItem:
    """A number, sign or abbreviation that could be read in another way too."""
    readings = tuple(_show_words(words) for words in (token.spoken, *token.other))
    note = f" ({token.note})" if token.note else ""
    others = " or ".join(f"“{other}”" for other in readings[1:])
    said = replace(
        reading[0],
        word=token.text.lower(),
        phones=tuple(phone for word in reading for phone in word.phones),
        alternatives=(),
        note=token.note,
    )
    or_else = f"; could be {others}" if others else ""
    why = f"Read as “{readings[0]}”{note}{or_else}. Write it out to be sure."
    return ReviewItem(token.text.lower(), token, context, said, why, readings=readings)


def _show_words(words: Iterable[str]) -> str:
    return " ".join(word[0].upper() + word[2:] if word[1:2] == "." else word for word in words)


def find_reason(word: Pronunciation, partial: bool) -> tuple[str, bool]:
    """Why a pronunciation is listed, or an empty string; and whether it is doubtful."""
    doubtful = needs_review(word)
    if word.origin is Origin.DICTIONARY and not doubtful:
        if word.note or not word.alternatives:
            return "", False
        # Before the accent too: "years" with NURSE has an r less there, and is no other word.
        first, *listed = word.listed
        others = [
            said
            for said, own in zip(word.alternatives, listed, strict=True)
            if not vary_freely(said, word.phones) and not vary_freely(own, first)
        ]
        count = len(others) + 1
        why = f"Said in {count} ways; the first of the dictionary is taken." if others else ""
        return why, False
    if word.origin is Origin.HOMOGRAPH:
        same = same_phones if partial else same_after_swap
        others = [p for p in word.alternatives if not same(p, word.phones)]
        if others and doubtful:
            return f"Can be said in {len(others) + 1} ways; we chose: {word.note}.", True
        return "", False
    if word.origin is Origin.PREDICTED:
        likely = "" if doubtful else " Probably right."
        return f"Not in the dictionary; guessed from the spelling.{likely}", doubtful
    if word.origin is Origin.SLIP:
        return f"No word that we know; read as {word.note}.", True
    if word.origin is Origin.NAME:
        likely = "" if doubtful else " Probably right."
        return f"A name that no dictionary settles; {word.note}.{likely}", doubtful
    if word.origin in _BOOKS and doubtful:
        return f"In {_BOOKS[word.origin]}, but other sources differ.", True
    if word.origin is Origin.DERIVED and doubtful:
        return f"Not in the dictionary; built from what is: {word.note}.", True
    return "", False


def sentence_around(phrases: Sequence[Phrase], number: int, marked: Token | None = None) -> str:
    """The sentence of a phrase in one line, a token of it between >angle marks<."""
    sentence = phrases[number].sentence
    first = last = number
    while first and phrases[first - 1].sentence == sentence:
        first -= 1
    while last + 1 < len(phrases) and phrases[last + 1].sentence == sentence:
        last += 1
    tokens = chain.from_iterable(phrase.tokens for phrase in phrases[first : last + 1])
    text = "".join(f">{t.text}<" if t is marked else t.text for t in tokens)
    return " ".join(text.split())


def note_list(
    said: Iterable[Pronunciation],
    overrides: Overrides,
    is_homograph: Callable[[str], bool],
    gone: Iterable[Override],
) -> tuple[str, ...]:
    """What should be known of a word list in a text: homographs that it says in one way
    everywhere, and places that are no longer there."""
    notes = []
    fixed = [entry.word for entry in overrides if is_homograph(entry.word)]
    counts = Counter(word.word for word in said) if fixed else {}
    for word in fixed:
        if counts[word] > 1:
            notes.append(
                f"the word list says {word!r} in one way in all {counts[word]} places; "
                "drillgen review --all sets them one by one"
            )
    for entry in gone:
        line = f" (line {entry.line})" if entry.line else ""
        notes.append(f"a place of {entry.word!r} is gone from the text: {entry.scope}{line}")
    return tuple(notes)
