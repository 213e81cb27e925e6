"""Sections that several sheets share: steps, versions, words to check, key, marks, care, log."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from typing import Final, NamedTuple

from drillgen.core.accents import Accent, load_accent
from drillgen.core.document import (
    Answer,
    Block,
    Column,
    Document,
    Face,
    Items,
    Keep,
    Keyboard,
    Legend,
    ListKind,
    Paragraph,
    Reading,
    Section,
    Sign,
    Span,
    Table,
    Ticks,
    Vowel,
    prose,
    prose_rows,
)
from drillgen.core.pitch import hz_to_midi
from drillgen.core.printable import clean
from drillgen.core.syllables import to_ipa
from drillgen.core.values import Drill, Grade, KeyEntry, Pitch, ReviewItem, VersionKind, Worksheet
from drillgen.core.wording import Wording, keep_hint
from drillgen.sheets.content import (
    BARS,
    FLOW_SIGNS,
    deliveries_for,
    drop_idle_rungs,
    format_pitch,
    group_lines,
    iter_paragraphs,
    iter_sentences,
    marks_used,
    stand_label,
    version_label,
)

LOOKED_UP: Final = 1
"""Rank of what a reader looks up: on paper it stands before the text."""

BODY: Final = 2
END: Final = 3

KEEP_ROWS: Final = 12
"""A table of so many rows stays on one page."""


class ReviewRow(NamedTuple):
    """One row of the table of words to check."""

    word: str
    chosen: str
    reason: str
    where: str


def title_of(sheet: Worksheet, wording: Wording) -> str:
    """The heading of the sheet."""
    return clean(sheet.title) or wording.title


def drill_title(drill: Drill, sheet: Worksheet) -> str:
    """The heading of one drill; empty where it would repeat the sheet's."""
    title = clean(drill.passage.title)
    return "" if title == clean(sheet.title) else title


# Tables


def key_rows(entries: Iterable[KeyEntry], wording: Wording) -> list[KeyEntry]:
    """The entries of several drills, each once, in the order of their first use."""
    return [
        entry._replace(note=keep_hint(entry.note, wording)) for entry in dict.fromkeys(entries)
    ]


def count_sentences(drill: Drill) -> int:
    """How many sentences a drill has."""
    return drill.phrases[-1].sentence + 1 if drill.phrases else 0


def number_drills(drills: Iterable[Drill], sheet: Worksheet) -> Iterator[tuple[int, str, Drill]]:
    """Each drill with its heading and how many sentences were numbered before it.

    A drill with a heading starts at 1; one without goes on, since it is a
    later stretch of the same text. An untitled text that follows another one is headed by
    its first words.
    """
    before = 0
    source = None
    for drill in drills:
        title = drill_title(drill, sheet)
        if not title and source not in (None, drill.passage.source):
            title = _first_words(drill)
        if title:
            before = 0
        source = drill.passage.source
        yield before, title, drill
        before += count_sentences(drill)


def _first_words(drill: Drill) -> str:
    words = clean(drill.passage.text).split()
    return " ".join(words[:4]).rstrip(".,;:") + " …" * (len(words) > 4)


def review_rows(
    drill: Drill, wording: Wording, *, title: str = "", before: int = 0
) -> Iterator[ReviewRow]:
    """The words to check: what we chose, why, and where they stand.

    `title` and `before` are those of `number_drills`.
    """
    if not drill.review:
        return
    wanted = {item.token.start for item in drill.review}
    numbers: dict[int, int] = {}
    printed: dict[int, str] = {}
    full = next((v for v in drill.versions if v.kind is VersionKind.FULL), None)
    for row, phrase in enumerate(drill.phrases):
        for column, token in enumerate(phrase.tokens):
            if token.start in wanted:
                numbers[token.start] = phrase.sentence + 1 + before
                cell = full.lines[row].cells[column] if full else None
                printed[token.start] = clean(cell.text) if cell else ""
    for item in drill.review:
        number = numbers.get(item.token.start)
        where = wording.sentence.format(number=number) if number else clean(item.context)
        where = f"{title}, {where}" if title else where
        yield ReviewRow(
            clean(item.token.text) or item.word,
            _describe_choice(item, printed.get(item.token.start, ""), load_accent(drill.accent)),
            keep_hint(clean(item.reason), wording),
            where,
        )


def _describe_choice(item: ReviewItem, respelling: str, accent: Accent) -> str:
    if item.readings:
        # A row of words, which the reason has: IPA without spaces would be no help.
        return respelling
    ipa = f"/{to_ipa(item.pronunciation.phones, accent)}/"
    return f"{respelling} {ipa}" if respelling else ipa


# The front


def make_document(
    title: str,
    wording: Wording,
    blocks: Iterable[Block] = (),
    *,
    pitch: Pitch | None = None,
    foot: str = "",
    keys: bool = True,
) -> Document:
    """A document with our foot, or its own, and the pitch beside its title."""
    shown = make_keyboard(pitch, wording, drawn=keys) if pitch else None
    foot = foot or wording.foot
    return Document(title, tuple(blocks), shown, foot, wording.page, wording.missing)


def make_keyboard(pitch: Pitch, wording: Wording, *, drawn: bool = True) -> Keyboard:
    """The reference pitch with its label."""
    note, hertz = format_pitch(pitch, wording)
    alt = wording.pitch_alt.format(note=pitch.note)
    return Keyboard(wording.pitch, note, hertz, round(hz_to_midi(pitch.hz)), alt, drawn)


def steps_section(
    deliveries: Iterable[tuple[str, str]], hints: Iterable[str], wording: Wording
) -> Section:
    """What to do: each delivery with its instruction, then the hints."""
    steps = tuple(prose(text, label=f"{name}.") for name, text in deliveries)
    return Section(
        wording.steps, (Items(steps, ListKind.NUMBERS), Items(tuple(map(prose, hints)))), share=1.4
    )


def care_section(wording: Wording, *, beside: bool = True) -> Section:
    """The cautions, beside the steps or over the width of the page."""
    last = Span(wording.disclaimer, face=Face.STRONG)
    texts = tuple(map(prose, wording.caution_texts))
    blocks = (Items(texts, halves=not beside), Paragraph((last,)))
    return Section(wording.cautions, blocks, beside=beside, keep=Keep.WHOLE)


# Versions


def paragraphs_of(drill: Drill) -> tuple[Paragraph, ...]:
    """The original text."""
    return tuple(Paragraph(prose(text)) for text in iter_paragraphs(drill))


def make_ticks(name: str, count: int, wording: Wording, *, named: bool = True) -> Ticks:
    """Boxes to tick; not named where a heading says what for."""
    return Ticks(name * named, count, wording.ticks.format(name=name, count=count))


def version_sections(
    drill: Drill,
    head: Worksheet,
    wording: Wording,
    *,
    level: int,
    before: int = 0,
    compact: bool = False,
    stand: bool = False,
) -> Iterator[Section]:
    """The versions of a drill in the order of practice.

    `before` sentences were numbered already; compact ones are short and many. On a
    `stand` each says how it is read.
    """
    drill = drop_idle_rungs(drill)
    groups = tuple(group_lines(drill))
    for version in drill.versions:
        title, note = version_label(version, drill, wording, flow=head.show_flow)
        note_bold = ""
        if stand:
            title, note = stand_label(version, drill, head, wording)
            _, note_bold = stand_label(version, drill, head, wording, bold=True)
        ipa = head.show_ipa and version.kind is VersionKind.FULL
        sentences = iter_sentences(
            drill, version, ipa=ipa, before=before, flow=head.show_flow, groups=groups
        )
        reading = Reading(tuple(sentences), version.kind is not VersionKind.MARKED, ipa)
        names = [text.name for text in deliveries_for(version, wording)]
        ticks = tuple(make_ticks(name, head.repetitions, wording) for name in names)
        keep = Keep.NONE if compact else Keep.FIT
        yield Section(
            title,
            (reading,),
            level,
            note,
            note_bold=note_bold if note_bold != note else "",
            ticks=ticks,
            keep=keep,
            compact=compact,
        )


# What follows the versions


class Gathered:
    """What stands below the versions, gathered a drill at a time, so that any number of
    drills needs little memory."""

    def __init__(self, head: Worksheet, wording: Wording) -> None:
        self._head = head
        self._wording = wording
        self._key: dict[KeyEntry, None] = {}
        self._shown: set[KeyEntry] = set()
        self._review: dict[ReviewRow, None] = {}
        self._signs: set[str] = set()

    def add(self, drill: Drill, *, title: str = "", before: int = 0) -> None:
        """Take in a drill. `title` and `before` are those of `number_drills`."""
        self._key.update(dict.fromkeys(drill.key))
        self._signs |= marks_used((drill,))
        if self._head.show_review:
            rows = review_rows(drill, self._wording, title=title, before=before)
            self._review.update(dict.fromkeys(rows))

    def foot(self, drill: Drill, *, whole: bool = False) -> Iterator[Section]:
        """Cautions and key of the full swap, or the whole key, for the foot of a page."""
        words = self._wording.stand
        care = Paragraph(prose(words.care))
        yield Section(self._wording.cautions, (care,), foot=True)
        needed = drill.key if whole else _needs(drill)
        yield from self.key_foot(needed, signs=True)

    def key_foot(self, needed: Iterable[KeyEntry], *, signs: bool = False) -> Iterator[Section]:
        """A part of the key in a few lines; what it shows is not shown again."""
        words = self._wording.stand
        new = [entry for entry in needed if entry not in self._shown]
        self._shown.update(new)
        entries = key_rows(new, self._wording)
        wanted = FLOW_SIGNS.union(BARS.values()) if self._head.show_flow else BARS.values()
        shown = self._signs.intersection(wanted) if signs else ()
        lines = [(e.spelling, f"{e.example}, {e.note}" if e.note else e.example) for e in entries]
        lines += [(s, self._wording.name_mark(s)) for s in sorted(shown)]
        if lines:
            spans = [
                span
                for number, (name, text) in enumerate(lines)
                for span in prose(f"{text}{' · ' * (number + 1 < len(lines))}", label=name)
            ]
            yield Section(words.key, (Paragraph(tuple(spans)),), share=1.1, foot=True)

    def end(self) -> Iterator[Section]:
        """Words to check, what the foot did not show of the key, log."""
        if self._review:
            yield _review_section(self._review, self._wording)
        if more := [entry for entry in self._key if entry not in self._shown]:
            yield key_section(more, self._wording)
        if self._head.log_rows > 0:
            yield _log_section(self._head.log_rows, self._wording)

    def sections(self) -> Iterator[Section]:
        """Words to check, key, marks, cautions, log."""
        wording = self._wording
        if self._review:
            yield _review_section(self._review, wording)
        if self._key:
            yield key_section(self._key, wording)
        if signs := explain_signs(self._signs, wording, flow=self._head.show_flow):
            yield marks_section(signs, wording, joined=bool(self._key))
        yield care_section(wording)
        if self._head.log_rows > 0:
            yield _log_section(self._head.log_rows, wording)


def _needs(drill: Drill) -> tuple[KeyEntry, ...]:
    """The lines of the key that the full swap needs: those of the target and of consonants."""
    accent = load_accent(drill.accent)
    others = {vowel.ipa for symbol, vowel in accent.vowels.items() if symbol != drill.target}
    return tuple(e for e in drill.key if not others.intersection(e.ipa.split(", ")))


def _review_section(rows: Iterable[ReviewRow], wording: Wording) -> Section:
    word, chosen, why, where = wording.review_columns
    columns = Column(word), Column(chosen, whole=True), Column(why, 1), Column(where)
    return Section(
        wording.review,
        (Table(columns, prose_rows(rows)),),
        note=wording.review_note,
        rank=END,
    )


def key_section(entries: Iterable[KeyEntry], wording: Wording) -> Section:
    *names, hint = wording.key_columns
    columns = (*map(Column, names), Column(hint, 1))
    rows = prose_rows(key_rows(entries, wording))
    return Section(
        wording.key, (Table(columns, rows, halves=True),), note=wording.key_note, rank=LOOKED_UP
    )


def marks_section(signs: tuple[Sign, ...], wording: Wording, *, joined: bool) -> Section:
    legend = Legend(wording.marks_columns, signs)
    return Section(wording.marks, (legend,), joined=joined, rank=LOOKED_UP)


def _log_section(rows: int, wording: Wording) -> Section:
    shares = (11, 12, 7, 18, 9, 14)
    answers = tuple(
        Answer(name, share=share) for name, share in zip(wording.log_columns, shares, strict=True)
    )
    keep = Keep.WHOLE if rows <= KEEP_ROWS else Keep.NONE
    return Section(wording.log, (Table((), ((),) * rows, answers),), keep=keep, rank=END)


_FACES: Final = {
    "": (Grade.NONE, Vowel.NONE),
    "bold": (Grade.BEAT, Vowel.NONE),
    "underline": (Grade.NONE, Vowel.WATCHED),
}


def explain_signs(
    signs: Collection[str], wording: Wording, *, flow: bool = True
) -> tuple[Sign, ...]:
    """The marks that the sheet explains: those used, none where there is no text."""
    shown = signs if flow else frozenset(signs) - FLOW_SIGNS
    return tuple(
        Sign(text.meaning, text.mark, *_FACES[text.face], text.markdown, text.plain)
        for text in wording.mark_texts
        if shown and (text.face or text.mark in shown)
    )
