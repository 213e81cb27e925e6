"""A sheet as PDF: tagged (PDF/UA-1), the same bytes for the same sheet.

The layout is templates/typst/sheet.typ. It gets plain data as JSON, which it
never reads as markup; what the page says is decided here and in content.py.
"""

from __future__ import annotations

import json
import re
import tempfile
import unicodedata
from collections.abc import Iterator
from itertools import accumulate, chain
from pathlib import Path
from typing import Any, Final

from drillgen.errors import DrillgenError, ResourceError
from drillgen.model import Drill, Pitch, Run, Version, VersionKind, Worksheet
from drillgen.options import PageOptions
from drillgen.pitch import hz_to_midi
from drillgen.render.content import (
    ReviewRow,
    Sentence,
    Word,
    deliveries_for,
    delivery_texts,
    format_pitch,
    iter_paragraphs,
    iter_sentences,
    key_rows,
    marks_used,
    number_drills,
    review_rows,
    style_of,
    title_of,
    version_label,
)
from drillgen.render.fonts import (
    FRAME,
    copy_fonts,
    describe_character,
    find_missing,
    is_invisible,
)
from drillgen.resources import resource_folder
from drillgen.wording import Wording, choose_wording

WORD_LIMIT: Final = 32
"""Characters of a respelling that fit in a line, even in wide letters."""

LARGE_WORD_LIMIT: Final = 20

TEXT_LIMIT: Final = 44
"""The same for the plain text; half as many in large print."""

CELL_LIMIT: Final = 20
"""The same for titles and tables."""

_LINE: Final = 44
"""Characters of respelling in a usual line, gaps included."""

_MERGES: Final = {"ɝ": "ɜ˞"}
"""The font lacks U+025D; U+025C with the rhotic hook is the same symbol (IPA
chart, diacritics)."""

BREAK: Final = "\u200b"
"""Zero width space: a line may break here. Needs no glyph."""

_PARTS: Final = re.compile(r"\S+\s*|\s+")
_SYLLABLES: Final = re.compile(r"[^\s-]*[\s-]?")

Json = dict[str, Any]


def render_pdf(sheet: Worksheet, page: PageOptions) -> bytes:
    """The sheet as a PDF/UA-1 file.

    Characters that the fonts lack are drawn as an empty frame and named in a
    note on the sheet; `pdf_warnings` lists them. Raises DrillgenError where
    the typesetter fails.
    """
    return _typeset(_build(sheet, page))


def pdf_warnings(sheet: Worksheet) -> tuple[str, ...]:
    """One line per character that the PDF can't show."""
    characters = _characters(_build_sheet(sheet, PageOptions()))
    return tuple(
        f"the PDF can't show {describe_character(c)} and draws a frame"
        for c in find_missing(characters)
    )


def _typeset(data: Json) -> bytes:
    import typst

    root = str(resource_folder("templates") / "typst")
    try:
        with tempfile.TemporaryDirectory(prefix="drillgen-") as fonts:
            copy_fonts(Path(fonts))

            def compile_sheet(data: Json) -> tuple[bytes, list[Any]]:
                return typst.compile_with_warnings(
                    f"{root}/sheet.typ",
                    root=root,
                    font_paths=[fonts],
                    ignore_system_fonts=True,
                    format="pdf",
                    pdf_standards=["ua-1"],
                    sys_inputs={"d": json.dumps(data, ensure_ascii=False, separators=(",", ":"))},
                )

            pdf, warnings = compile_sheet(data)
            if any("converge" in warning.message for warning in warnings):
                # Keeping versions on one page looks at positions, which may
                # chase each other; page numbers would then be wrong.
                pdf, _ = compile_sheet({**data, "keep": False})
            return pdf
    except typst.TypstError as error:
        reason = " ".join(str(error).split())
        raise DrillgenError(f"the PDF can't be made: {reason}; try --format md") from None
    except OSError as error:
        raise ResourceError(
            f"can't read or copy the fonts: {error.strerror}; check the temporary folder"
        ) from None


def _build(sheet: Worksheet, page: PageOptions) -> Json:
    """All that the layout prints, with nothing in it that it can't draw."""
    data = _build_sheet(sheet, page)
    missing = find_missing(_characters(data))
    if missing:
        wording = choose_wording(sheet.discreet)
        shown = frozenset(missing)
        data = _replace_missing(data, shown)
        data["missing"] = wording.missing.format(
            characters="; ".join(map(describe_character, missing))
        )
    return data


def _build_sheet(sheet: Worksheet, page: PageOptions) -> Json:
    wording = choose_wording(sheet.discreet)
    drills = list(number_drills(sheet.drills, sheet))
    review: dict[ReviewRow, None] = {}
    if sheet.show_review:
        for before, title, drill in drills:
            review.update(dict.fromkeys(review_rows(drill, wording, title=title, before=before)))
    key = key_rows(chain.from_iterable(drill.key for drill in sheet.drills), wording)
    signs = marks_used(sheet.drills)
    data = {
        "size": page.size.value,
        "large": page.large,
        "title": title_of(sheet, wording),
        "wide": _is_wide(title_of(sheet, wording)),
        "keep": True,
        "foot": wording.foot,
        "page": wording.page,
        "pitch": _pitch(sheet.pitch, wording) if sheet.pitch else None,
        "steps": {"title": wording.steps, "rows": delivery_texts(sheet, wording)},
        "hints": wording.hints,
        "drills": [_drill(d, title, n, sheet, wording, page.large) for n, title, d in drills],
        "review": _table(
            wording.review, wording.review_note, wording.review_columns, list(review)
        ),
        "key": _table(wording.key, wording.key_note, wording.key_columns, key),
        "marks": {
            "title": wording.marks,
            "columns": wording.marks_columns,
            "rows": [
                text for text in wording.mark_texts if signs and (text.face or text.mark in signs)
            ],
        },
        "cautions": {
            "title": wording.cautions,
            "items": wording.caution_texts,
            "end": wording.disclaimer,
        },
        "log": {
            "title": wording.log,
            "columns": wording.log_columns,
            "rows": max(0, sheet.log_rows),
        },
        "missing": "",
    }
    cleaned: Json = _printable(data)
    _allow_breaks(cleaned, page.large)
    return cleaned


def _is_wide(title: str) -> bool:
    """Whether a title needs the whole width, without the pitch beside it."""
    return len(title) > 28 or max(map(len, title.split()), default=0) > 14


def _allow_breaks(data: Json, large: bool) -> None:
    """Let words break that are wider than a line or a column of a table."""
    limit = TEXT_LIMIT // 2 if large else TEXT_LIMIT
    data["title"] = _break_long(data["title"], CELL_LIMIT)
    for drill in data["drills"]:
        drill["title"] = _break_long(drill["title"], CELL_LIMIT)
        drill["paragraphs"] = [_break_long(text, limit) for text in drill["paragraphs"]]
    data["review"]["rows"] = [
        [_break_long(cell, CELL_LIMIT // 2 if large else CELL_LIMIT) for cell in row]
        for row in data["review"]["rows"]
    ]


def _break_long(text: str, limit: int) -> str:
    if len(text) <= limit:
        return text
    return re.sub(rf"\S{{{limit}}}(?=\S)", rf"\g<0>{BREAK}", text)


def _pitch(pitch: Pitch, wording: Wording) -> Json:
    note, hertz = format_pitch(pitch)
    return {
        "label": wording.pitch,
        "note": note,
        "hz": hertz,
        "midi": round(hz_to_midi(pitch.hz)),
        "alt": wording.pitch_alt.format(note=pitch.note),
    }


def _table(title: str, note: str, columns: tuple[str, ...], rows: list[Any]) -> Json:
    return {"title": title, "note": note, "columns": columns, "rows": rows}


def _drill(
    drill: Drill, title: str, before: int, sheet: Worksheet, wording: Wording, large: bool
) -> Json:
    return {
        "title": title or wording.text,
        "paragraphs": list(iter_paragraphs(drill)),
        "versions": [
            _version(drill, version, before, sheet, wording, large) for version in drill.versions
        ],
    }


def _version(
    drill: Drill, version: Version, before: int, sheet: Worksheet, wording: Wording, large: bool
) -> Json:
    label, note = version_label(version, drill, wording)
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
            for sentence in iter_sentences(drill, version, ipa=with_ipa, before=before)
        ],
    }


def _sentence(sentence: Sentence, kind: VersionKind, large: bool) -> list[Any]:
    limit = LARGE_WORD_LIMIT if large else WORD_LIMIT
    words = [box for word in sentence.words for box in _boxes(word, kind, limit)]
    # Only a guess: what matters is that nothing taller than a page stays whole.
    cells = sum(
        max(len(original), sum(len(text) for text, _ in runs)) + 2 + 4 * bool(mark)
        for original, runs, _, mark in words
    )
    long_boxes = sum(len(word[0]) > limit for word in words)
    line = _LINE // 2 if large else _LINE
    lines = cells / line + long_boxes
    whole = lines <= (5 if large else 10)
    return [sentence.number, sentence.opens_paragraph, words, whole]


def _boxes(word: Word, kind: VersionKind, limit: int) -> Iterator[list[Any]]:
    """The inline boxes of a word: original, styled runs, IPA, mark.

    One box, unless the respelling or the original is too long for a line.
    """
    room = round(limit * 1.6)
    if len(word.text) <= limit and len(word.original) <= room and len(word.ipa) <= room:
        yield [word.original, _styled(word.runs, kind), word.ipa, word.mark]
        return
    pieces = list(_split_runs(word.runs, limit))
    originals = list(_split_text(word.original, room))
    sounds = list(_split_text(word.ipa, room))
    count = max(len(pieces), len(originals), len(sounds))
    for i in range(count):
        yield [
            originals[i] if i < len(originals) else "",
            _styled(pieces[i], kind) if i < len(pieces) else [],
            sounds[i] if i < len(sounds) else "",
            word.mark if i + 1 == count else "",
        ]


def _styled(runs: tuple[Run, ...], kind: VersionKind) -> list[list[Any]]:
    """Runs as text and style: 0 plain, 1 bold, 2 underlined and bold."""
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


# Characters


def _printable(value: Any) -> Any:
    """The data with its texts composed (NFC) and without what has no shape."""
    match value:
        case str():
            return value if value.isascii() else _printable_text(value)
        case dict():
            return {name: _printable(part) for name, part in value.items()}
        case list() | tuple():
            return [_printable(part) for part in value]
        case _:
            return value


def _printable_text(text: str) -> str:
    composed = unicodedata.normalize("NFC", text)
    for symbol, merged in _MERGES.items():
        composed = composed.replace(symbol, merged)
    return "".join(c for c in composed if not is_invisible(c))


def _characters(value: Any) -> set[str]:
    match value:
        case str():
            return set(value) - {BREAK}
        case dict():
            return set().union(*map(_characters, value.values()))
        case list():
            return set().union(*map(_characters, value))
        case _:
            return set()


def _replace_missing(value: Any, missing: frozenset[str]) -> Any:
    match value:
        case str():
            return "".join(_frame(value, missing)) if not missing.isdisjoint(value) else value
        case dict():
            return {name: _replace_missing(part, missing) for name, part in value.items()}
        case list():
            return [_replace_missing(part, missing) for part in value]
        case _:
            return value


def _frame(text: str, missing: frozenset[str]) -> Iterator[str]:
    for character in text:
        if character not in missing:
            yield character
        elif not unicodedata.combining(character):
            yield FRAME
