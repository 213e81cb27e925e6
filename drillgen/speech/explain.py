"""One word explained: every reading, with its swap, respelling and IPA."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from drillgen.core.errors import InputError
from drillgen.core.phones import format_phones
from drillgen.core.syllables import to_ipa
from drillgen.core.values import Origin, Phones, Pronunciation, Respelling, Swap, TokenKind
from drillgen.core.views import show_stress
from drillgen.speech.align.mark import mark_vowels
from drillgen.speech.pipeline import Engine
from drillgen.speech.pronounce.soundalike import to_soundalike
from drillgen.speech.prosody.tagger import Tagger
from drillgen.speech.respell.writer import respell
from drillgen.speech.swap.targets import Target, parse_target, swap_vowels

_SOURCES: Final = {
    Origin.OVERRIDE: "your word list",
    Origin.DICTIONARY: "dictionary",
    Origin.HOMOGRAPH: "dictionary",
    Origin.WIKTIONARY: "Wiktionary",
    Origin.MISAKI: "misaki's dictionary",
    Origin.SPELLED: "letter by letter",
    Origin.NAME: "a name",
    Origin.DERIVED: "built from a known word",
    Origin.SLIP: "a slip",
    Origin.PREDICTED: "guessed from the spelling",
}


_CLASSES: Final = {"N": "noun", "V": "verb", "M": "verb", "J": "adjective", "R": "adverb"}
"""By the first letter of a Penn tag."""


def name_source(origin: Origin, note: str) -> str:
    """Where a reading is from, in words for a reader.

    >>> name_source(Origin.PREDICTED, "guessed from the spelling; the guesses differ")
    'guessed from the spelling; the guesses differ'
    >>> name_source(Origin.WIKTIONARY, "from Wiktionary")
    'Wiktionary'
    """
    source = _SOURCES[origin]
    # The note of a word-list entry says no more than its source; that of a guess says it.
    if not note or origin is Origin.OVERRIDE or note == f"from {source}":
        return source
    return note if note.startswith(source) else f"{source}, {note}"


@dataclass(frozen=True, slots=True)
class WordReading:
    """One way to say a word."""

    phones: Phones
    """As in the dictionary, before the accent."""

    origin: Origin
    confidence: float
    note: str
    ipa: str
    soundalike: str
    swap: Swap
    """In the accent, every vowel swapped."""

    respelling: Respelling
    swapped_ipa: str
    marked: Respelling
    """The word as written, its vowel letters marked."""


@dataclass(frozen=True, slots=True)
class WordReport:
    """All readings of one spoken word; the first is the one that a sheet uses."""

    word: str
    target: Target
    readings: tuple[WordReading, ...]


def explain_word(text: str, target: str, engine: Engine) -> tuple[WordReport, ...]:
    """Explain a token: one report per spoken word. InputError if nothing is said."""
    said = [word for _, reading in engine.pronounce(text.strip()) for word in reading]
    if not said:
        raise InputError(f"{text!r} has nothing that is said", "give a word or a number")
    return tuple(explain_spoken(word, text, target, engine) for word in said)


def explain_spoken(said: Pronunciation, text: str, target: str, engine: Engine) -> WordReport:
    """Explain a spoken word of a text, as it is said there."""
    chosen, word = parse_target(target, engine.accent), said.word
    written = text if word == text.lower() else word
    readings: dict[str, WordReading] = {}
    for p in _list_readings(said, engine):
        phones = engine.pronouncer.in_accent(word, p.phones)
        swap = swap_vowels(phones, chosen.symbol)
        ipa = to_ipa(phones, engine.accent)
        # What sounds alike in this accent is no choice.
        if ipa in readings:
            continue
        readings[ipa] = WordReading(
            phones=p.phones,
            origin=p.origin,
            confidence=p.confidence,
            note=p.note,
            ipa=ipa,
            soundalike=to_soundalike(p.phones),
            swap=swap,
            respelling=respell(swap, key=engine.key, word=word),
            swapped_ipa=to_ipa(swap.after, engine.accent),
            marked=mark_vowels(written, [phones], engine.align_costs),
        )
    return WordReport(word, chosen, tuple(readings.values()))


def _list_readings(said: Pronunciation, engine: Engine) -> tuple[Pronunciation, ...]:
    """Every reading on offer; what accents or a correction of the place have made of it first."""
    offers = engine.pronouncer.all_readings(said.word)
    here = said.listed
    if here[0] in {offer.phones for offer in offers}:
        return offers
    first = replace(said, phones=here[0], alternatives=here[1:], entries=())
    if said.origin is Origin.NAME:
        return (first, *(replace(first, phones=p, note="another reading") for p in here[1:]))
    return (first, *offers)


@dataclass(frozen=True, slots=True)
class InContext:
    """How a word is read in one sentence."""

    word: str
    tag: str
    """Penn part-of-speech tag, by nltk's perceptron with our weights."""

    pronunciation: Pronunciation
    """In the accent."""

    ipa: str


def explain_in_sentence(
    text: str, sentence: str, engine: Engine, tagger: Tagger
) -> tuple[InContext, ...]:
    """Every place of a word in a sentence. InputError if it is not there."""
    tokens = [
        (token, reading)
        for token, reading in engine.pronounce(sentence)
        if token.kind is not TokenKind.SPACE
    ]
    tags = tagger.tag([token.text for token, _ in tokens])
    wanted = text.strip().lower()
    found = tuple(
        InContext(word.word, tag, word, to_ipa(word.phones, engine.accent))
        for (token, reading), tag in zip(tokens, tags, strict=True)
        if token.text.lower() == wanted
        for word in reading
    )
    if not found:
        raise InputError(f"{text!r} is not in the sentence", "write it as it stands there")
    return found


def format_in_sentence(places: tuple[InContext, ...]) -> str:
    """The places as lines for a terminal."""
    lines = ["in this sentence"]
    for place in places:
        p = place.pronunciation
        kind = _CLASSES.get(place.tag[:1], "word")
        sure = "" if p.confidence >= 1 else f", {p.confidence:.0%} sure"
        sound = f"{to_soundalike(p.phones)}  /{place.ipa}/"
        lines.append(f"  {sound}  {kind}; {name_source(p.origin, p.note)}{sure}")
    return "\n".join(lines) + "\n"


def show_marks(respelling: Respelling) -> str:
    """Plain text with vowel letters in brackets."""
    return "".join(f"[{run.text}]" if run.vowel else run.text for run in respelling.runs)


def format_report(reports: tuple[WordReport, ...]) -> str:
    """The reports as lines for a terminal."""
    lines = []
    for report in reports:
        lines.append(report.word)
        for number, r in enumerate(report.readings, start=1):
            guessed = number == 1 and r.origin is not Origin.HOMOGRAPH
            sure = f", {r.confidence:.0%} sure" if guessed and r.confidence < 1 else ""
            target = f"/{report.target.ipa}/"
            lines += [
                f"  {number}. {name_source(r.origin, r.note)}{sure}",
                f"     sounds like  {r.soundalike}",
                f"     IPA          /{r.ipa}/",
                f"     ARPAbet      {format_phones(r.phones)}",
                f"     vowels       {show_marks(r.marked)}",
                f"     all {target:<8} {show_stress(r.respelling)}",
                f"     IPA          /{r.swapped_ipa}/",
                f"     ARPAbet      {format_phones(r.swap.after)}",
            ]
    return "\n".join(lines) + "\n"
