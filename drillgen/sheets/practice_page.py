"""The practice page: steps, versions, and syllables for the pacer."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from itertools import chain, groupby
from types import MappingProxyType
from typing import Final

from msgspec.structs import replace

from drillgen.core.errors import OptionError
from drillgen.core.practice_page import (
    READ,
    Chunk,
    Models,
    PagePhrase,
    PageSentence,
    PageStep,
    PageText,
    PageVersion,
    PageWord,
    PracticePage,
)
from drillgen.core.values import (
    Boundary,
    Drill,
    Grade,
    Line,
    Phrase,
    Pronunciation,
    Run,
    Version,
    VersionKind,
    Worksheet,
)
from drillgen.core.wording import Wording, choose_wording
from drillgen.sheets.content import (
    BARS,
    Word,
    deliveries_for,
    delivery_texts,
    group_words,
    list_stretches,
    marks_used,
    spans_of,
    version_label,
)
from drillgen.sheets.parts import (
    explain_signs,
    key_rows,
    make_keyboard,
    make_ticks,
    number_drills,
    title_of,
)

SLOW: Final = 1.5
"""Syllables per second that the pacer starts with. Ordinary talk has four to
five; a third of that is slow (from memory)."""

SLOWEST: Final = 0.5
FASTEST: Final = 4.0

RESTS: Final = {Boundary.NONE: 1, Boundary.MINOR: 1, Boundary.MAJOR: 2}
"""Beats that the pacer waits at the end of a phrase."""

_PIECES: Final = re.compile(r"[^\s-]*[\s-]+|[^\s-]+")
_DIGRAPHS: Final = frozenset(("th", "sh", "ch", "ph", "wh", "gh"))


def make_practice_page(
    sheet: Worksheet,
    *,
    rate: float = SLOW,
    models: Models = MappingProxyType({}),
    asks: bool = False,
) -> PracticePage:
    """The page of a sheet, with sound where there are models of its phrases; `asks` where the
    titles of its texts are questions.

    `rate` is the pacer's speed in syllables per second, 0.5 to 4. OptionError
    for another rate; ValueError where the models are those of another text.
    """
    if not SLOWEST <= rate <= FASTEST:
        raise OptionError(
            f"rate {rate:g} is not from {SLOWEST:g} to {FASTEST:g} syllables a second"
        )
    wording = choose_wording(sheet.discreet)
    accent, target = next(((drill.accent, drill.target) for drill in sheet.drills), ("", ""))
    versions = tuple(_iter_versions(sheet, wording))
    # Here phrases follow each other, so bars say where one ends.
    bars = {BARS[phrase.boundary] for drill in sheet.drills for phrase in drill.phrases}
    return PracticePage(
        title=title_of(sheet, wording),
        wording=wording,
        pitch=make_keyboard(sheet.pitch, wording) if sheet.pitch else None,
        hertz=sheet.pitch.hz if sheet.pitch else None,
        steps=tuple(_iter_steps(sheet, wording, versions, models)),
        versions=versions,
        repetitions=sheet.repetitions,
        rate=rate,
        key=tuple(key_rows((entry for drill in sheet.drills for entry in drill.key), wording)),
        signs=explain_signs(marks_used(sheet.drills, flow=False) | bars, wording),
        accent=accent,
        target=target,
        asks=asks,
    )


def _iter_steps(
    sheet: Worksheet, wording: Wording, versions: tuple[PageVersion, ...], models: Models
) -> Iterator[PageStep]:
    first = sheet.drills[0] if sheet.drills else None
    chosen = (first.target, first.accent) if first else ()
    texts = delivery_texts(sheet, wording, *chosen)
    for text, (name, instruction) in zip(wording.deliveries, texts, strict=True):
        read = [version for version in versions if version.kind in READ[text.delivery]]
        spoken = models.get(text.delivery, ())
        heard = [[len(model.syllables) for model in row] for row in spoken]
        if spoken and heard != list(map(_count_beats, read)):
            raise ValueError(f"the models of {text.delivery} are those of another text")
        cues = wording.practice.cues[text.delivery]
        yield PageStep(name, instruction, cues, tuple(version.id for version in read), spoken)


def _count_beats(version: PageVersion) -> list[int]:
    """Syllables of each phrase."""
    return [
        sum(chunk.syllables for word in phrase.words for chunk in word.chunks)
        for text in version.texts
        for sentence in text.sentences
        for phrase in sentence.phrases
    ]


def _iter_versions(sheet: Worksheet, wording: Wording) -> Iterator[PageVersion]:
    """The versions in the order of practice, each with all drills that have it."""
    slots: dict[tuple[VersionKind, int], list[tuple[str, Drill, Version]]] = {}
    for _, title, drill in number_drills(sheet.drills, sheet):
        for version in drill.versions:
            slots.setdefault((version.kind, version.rung), []).append((title, drill, version))
    order = (VersionKind.FULL, VersionKind.PARTIAL, VersionKind.MARKED)
    for number, slot in enumerate(sorted(slots, key=lambda s: (order.index(s[0]), -s[1]))):
        _, drill, version = slots[slot][0]
        texts = tuple(
            PageText(title, tuple(_iter_sentences(drill, version)))
            for title, drill, version in slots[slot]
        )
        if any(text.sentences for text in texts):
            yield PageVersion(
                f"v{number}",
                version.kind,
                version.kind is not VersionKind.MARKED,
                *version_label(version, drill, wording),
                tuple(
                    make_ticks(text.name, sheet.repetitions, wording)
                    for text in deliveries_for(version, wording)
                ),
                texts,
            )


def _iter_sentences(drill: Drill, version: Version) -> Iterator[PageSentence]:
    """Of verse a line at a time."""
    paragraph = -1
    said = _said_phrases(drill, version)
    for _, group in groupby(said, key=lambda row: (row[0].sentence, row[0].line)):
        rows = list(group)
        opens = rows[0][0].paragraph != paragraph
        paragraph = rows[-1][0].paragraph
        yield PageSentence(tuple(built for _, built in rows), opens)


def _said_phrases(drill: Drill, version: Version) -> list[tuple[Phrase, PagePhrase]]:
    """The phrases that can be read aloud. Marks alone are no phrase to practise:
    they join the one before, or the first."""
    found: list[tuple[Phrase, PagePhrase]] = []
    loose: PagePhrase | None = None
    for phrase, line, readings in zip(drill.phrases, version.lines, drill.readings, strict=True):
        built = _make_phrase(phrase, line, readings, version.kind)
        if not built.words:
            continue
        if any(c.syllables for word in built.words for c in word.chunks):
            found.append((phrase, _join_phrases(loose, built) if loose else built))
            loose = None
        elif found:
            first, before = found[-1]
            found[-1] = first, _join_phrases(before, built)
        else:
            loose = _join_phrases(loose, built) if loose else built
    return found


def _join_phrases(before: PagePhrase, after: PagePhrase) -> PagePhrase:
    """Two phrases as one, which ends like the second."""
    plain = f"{before.plain} {after.plain}"
    return replace(after, plain=plain, words=before.words + after.words)


def _make_phrase(
    phrase: Phrase, line: Line, readings: tuple[tuple[Pronunciation, ...], ...], kind: VersionKind
) -> PagePhrase:
    words = group_words(phrase, line)
    counts = [
        sum(phone.is_vowel for i in stretch for said in readings[i] for phone in said.phones)
        for stretch in list_stretches(phrase)
    ]
    return PagePhrase(
        plain=" ".join(word.text for word in words),
        words=tuple(
            PageWord(word.original or word.text, cut_chunks(word, count, kind))
            for word, count in zip(words, counts, strict=True)
        ),
        rest=RESTS[phrase.boundary],
        bar=words[-1].mark if words else "",
        tune=phrase.tune,
    )


def cut_chunks(word: Word, syllables: int, kind: VersionKind) -> tuple[Chunk, ...]:
    """A printed word in the pieces that the pacer lights, one per syllable where
    the print shows where syllables end.

    A respelling is cut at its hyphens and spaces, an original word with marked
    vowels between them, any other word not at all. The beats add up to
    `syllables`.
    """
    pieces = _join_voiceless(list(_cut_at_hyphens(word.runs)))
    if kind is VersionKind.MARKED:
        pieces = [part for piece in pieces for part in _cut_between_vowels(piece)]
    if syllables:
        # More vowels are printed than said: the last ones share a beat.
        rest = list(chain.from_iterable(pieces[syllables - 1 :]))
        pieces = [piece for piece in (*pieces[: syllables - 1], rest) if piece]
    vowels = [sum(run.vowel for run in piece) for piece in pieces]
    if not any(vowels):
        pieces, vowels = [list(word.runs)], [syllables]
    beats = _share_beats(vowels, syllables)
    chunks = [
        Chunk(spans_of(piece, kind), count) for piece, count in zip(pieces, beats, strict=True)
    ]
    main = next((i for i, c in enumerate(chunks) if _has_nucleus(c)), None)
    if main is not None:
        chunks[main] = replace(chunks[main], nucleus=True)
    return tuple(chunks)


def _has_nucleus(chunk: Chunk) -> bool:
    return any(span.grade is Grade.NUCLEUS for span in chunk.spans)


def _share_beats(vowels: list[int], syllables: int) -> list[int]:
    """Beats per piece: its vowels, corrected from the end so that the sum is right."""
    if not syllables:
        return [0] * len(vowels)
    beats = [max(1, count) for count in vowels]
    spare = syllables - sum(beats)
    for i in reversed(range(len(beats))):
        change = max(spare, 1 - beats[i])
        beats[i] += change
        spare -= change
    return beats


def _cut_at_hyphens(runs: Iterable[Run]) -> Iterator[list[Run]]:
    piece: list[Run] = []
    for run in runs:
        for part in _PIECES.findall(run.text) or [run.text]:
            piece.append(run._replace(text=part))
            if part[-1:] == "-" or part[-1:].isspace():
                yield piece
                piece = []
    if piece:
        yield piece


def _join_voiceless(pieces: list[list[Run]]) -> list[list[Run]]:
    """Pieces without a vowel join the one before, or the one after at the start."""
    joined: list[list[Run]] = []
    for piece in pieces:
        has_vowel = any(run.vowel for run in piece)
        if joined and not (has_vowel and any(run.vowel for run in joined[-1])):
            joined[-1] = joined[-1] + piece
        else:
            joined.append(piece)
    return joined


def _cut_between_vowels(runs: list[Run]) -> Iterator[list[Run]]:
    """Cut an original spelling between its vowels, before the last consonant."""
    piece: list[Run] = []
    for run in runs:
        if run.vowel and any(before.vowel for before in piece):
            kept, moved = _split_tail(piece)
            yield kept
            piece = moved
        piece.append(run)
    if piece:
        yield piece


def _split_tail(piece: list[Run]) -> tuple[list[Run], list[Run]]:
    last = piece[-1]
    if last.vowel:
        return piece, []
    text = last.text
    keep = max(0, len(text) - (2 if text[-2:].lower() in _DIGRAPHS else 1))
    kept = [*piece[:-1], last._replace(text=text[:keep])] if keep else piece[:-1]
    return kept, [last._replace(text=text[keep:])]
