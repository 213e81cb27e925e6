"""A sheet as PDF: tagged (PDF/UA-1), the same bytes for the same sheet.

The layout is templates/typst/sheet.typ. It gets plain data as JSON, which it
never reads as markup; what the page says is decided here and in content.py.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import accumulate, chain
from typing import Any, Final

from drillgen.core.options import PageOptions
from drillgen.core.values import Drill, Run, Version, VersionKind, Worksheet
from drillgen.core.wording import Wording, choose_wording
from drillgen.sheets.content import (
    LINK,
    ReviewRow,
    Sentence,
    Word,
    deliveries_for,
    iter_paragraphs,
    iter_sentences,
    number_drills,
    review_rows,
    style_of,
    version_label,
)
from drillgen.write.typeset import (
    CELL_LIMIT,
    TEXT_LIMIT,
    Json,
    break_long,
    build_front,
    describe_missing,
    finish,
    typeset,
)

WORD_LIMIT: Final = 32
"""Characters of a respelling that fit in a line, even in wide letters."""

LARGE_WORD_LIMIT: Final = 20

_LINE: Final = 44
"""Characters of respelling in a usual line, gaps included."""

_PARTS: Final = re.compile(r"\S+\s*|\s+")
_SYLLABLES: Final = re.compile(r"[^\s-]*[\s-]?")


def render_pdf(sheet: Worksheet, page: PageOptions) -> bytes:
    """The sheet as a PDF/UA-1 file.

    Characters that the fonts lack are drawn as an empty frame and named in a
    note on the sheet; `pdf_warnings` lists them. Raises DrillgenError where
    the typesetter fails.
    """
    return typeset(_build(sheet, page))


def pdf_warnings(sheet: Worksheet) -> tuple[str, ...]:
    """One line per character that the PDF can't show."""
    return describe_missing(_build_sheet(sheet, PageOptions()))


def _build(sheet: Worksheet, page: PageOptions) -> Json:
    """All that the layout prints, with nothing in it that it can't draw."""
    return finish(_build_sheet(sheet, page), sheet.discreet)


def _build_sheet(sheet: Worksheet, page: PageOptions) -> Json:
    wording = choose_wording(sheet.discreet)
    drills = list(number_drills(sheet.drills, sheet))
    review: dict[ReviewRow, None] = {}
    if sheet.show_review:
        for before, title, drill in drills:
            review.update(dict.fromkeys(review_rows(drill, wording, title=title, before=before)))
    key = chain.from_iterable(drill.key for drill in sheet.drills)
    return {
        **build_front(sheet, sheet.drills, page, key=key, review=review),
        "drills": [_drill(d, title, n, sheet, wording, page.large) for n, title, d in drills],
    }


def _drill(
    drill: Drill, title: str, before: int, sheet: Worksheet, wording: Wording, large: bool
) -> Json:
    limit = TEXT_LIMIT // 2 if large else TEXT_LIMIT
    return {
        "title": break_long(title or wording.text, CELL_LIMIT),
        "paragraphs": [break_long(text, limit) for text in iter_paragraphs(drill)],
        "versions": [
            build_version(drill, version, before, sheet, wording, large)
            for version in drill.versions
        ],
    }


def build_version(
    drill: Drill, version: Version, before: int, sheet: Worksheet, wording: Wording, large: bool
) -> Json:
    """One version of a drill: label, tick boxes, sentences."""
    label, note = version_label(version, drill, wording, flow=sheet.show_flow)
    with_ipa = sheet.show_ipa and version.kind is VersionKind.FULL
    return {
        "label": label,
        "note": note,
        "paired": version.kind is not VersionKind.MARKED,
        "ipa": with_ipa,
        "ticks": [
            (
                text.name,
                sheet.repetitions,
                wording.ticks.format(name=text.name, count=sheet.repetitions),
            )
            for text in deliveries_for(version, wording)
        ],
        "sentences": [
            _sentence(sentence, version.kind, large)
            for sentence in iter_sentences(
                drill, version, ipa=with_ipa, before=before, flow=sheet.show_flow
            )
        ],
    }


def _sentence(sentence: Sentence, kind: VersionKind, large: bool) -> list[Any]:
    limit = LARGE_WORD_LIMIT if large else WORD_LIMIT
    words = [box for word in sentence.words for box in _boxes(word, kind, limit)]
    # Only a guess: what matters is that nothing taller than a page stays whole.
    cells = sum(
        max(len(original), sum(len(text) for text, _ in runs)) + 2 + 4 * bool(mark)
        for original, runs, _, mark, _ in words
    )
    long_boxes = sum(len(word[0]) > limit for word in words)
    line = _LINE // 2 if large else _LINE
    lines = cells / line + long_boxes
    whole = lines <= (5 if large else 10)
    return [sentence.number, sentence.opens_paragraph, words, whole]


def _boxes(word: Word, kind: VersionKind, limit: int) -> Iterator[list[Any]]:
    """The inline boxes of a word: original, styled runs, IPA, mark, whether weak.

    One box, unless the respelling or the original is too long for a line.
    """
    room = round(limit * 1.6)
    link = [[LINK, 3]] if word.linked else []
    if len(word.text) <= limit and len(word.original) <= room and len(word.ipa) <= room:
        runs = styled(word.runs, kind) + link
        yield [word.original, runs, word.ipa, word.mark, word.weak]
        return
    pieces = list(_split_runs(word.runs, limit))
    originals = list(_split_text(word.original, room))
    sounds = list(_split_text(word.ipa, room))
    count = max(len(pieces), len(originals), len(sounds))
    for i in range(count):
        last = i + 1 == count
        yield [
            originals[i] if i < len(originals) else "",
            (styled(pieces[i], kind) if i < len(pieces) else []) + (link if last else []),
            sounds[i] if i < len(sounds) else "",
            word.mark if last else "",
            word.weak and i == 0,
        ]


def styled(runs: tuple[Run, ...], kind: VersionKind) -> list[list[Any]]:
    """Runs as text and style: 0 plain, 1 bold, 2 underlined and bold; 3 is a link."""
    merged: list[list[Any]] = []
    for run in runs:
        bold, underlined = style_of(run, kind)
        style = 2 if underlined else int(bold)
        if merged and merged[-1][1] == style:
            merged[-1][0] += run.text
        else:
            merged.append([run.text, style])
    return merged


def _split_runs(runs: tuple[Run, ...], limit: int) -> Iterator[tuple[Run, ...]]:
    """Runs in pieces of at most `limit` characters, parted after a hyphen or
    space where there is one."""
    ends = iter(accumulate(map(len, _split_text("".join(run.text for run in runs), limit))))
    end = next(ends, 0)
    place = 0
    piece: list[Run] = []
    for run in runs:
        text = run.text
        while text:
            if place == end:
                yield tuple(piece)
                piece, end = [], next(ends)
            part, text = text[: end - place], text[end - place :]
            piece.append(run._replace(text=part))
            place += len(part)
    if piece:
        yield tuple(piece)


def _split_text(text: str, limit: int) -> Iterator[str]:
    """A text in pieces of at most `limit` characters: parted after spaces, in a
    longer word after hyphens, else anywhere."""
    piece = ""
    for word in _PARTS.findall(text):
        for part in [word] if len(word) <= limit else _SYLLABLES.findall(word):
            while part:
                if piece and len(piece) + len(part) > limit:
                    yield piece
                    piece = ""
                piece, part = piece + part[:limit], part[limit:]
    if piece:
        yield piece
