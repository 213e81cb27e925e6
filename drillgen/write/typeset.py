"""What all printed sheets share: front matter, characters, the typesetter.

The layouts are templates/typst/*.typ. They get plain data as JSON, which they
never read as markup.
"""

from __future__ import annotations

import json
import re
import tempfile
import unicodedata
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any, Final

from drillgen.core.errors import DrillgenError, ResourceError
from drillgen.core.options import PageOptions
from drillgen.core.pitch import hz_to_midi
from drillgen.core.resources import resource_folder
from drillgen.core.values import Drill, KeyEntry, Pitch, Worksheet
from drillgen.core.wording import Wording, choose_wording
from drillgen.sheets.content import (
    ReviewRow,
    delivery_texts,
    format_pitch,
    key_rows,
    mark_rows,
    marks_used,
    title_of,
)
from drillgen.write.fonts import (
    FRAME,
    copy_fonts,
    describe_character,
    find_missing,
    is_invisible,
)

TEXT_LIMIT: Final = 44
"""Characters of plain text that fit in a line, even in wide letters; half as many
in large print."""

CELL_LIMIT: Final = 20
"""The same for titles and tables."""

_MERGES: Final = {"ɝ": "ɜ˞"}
"""The font lacks U+025D; U+025C with the rhotic hook is the same symbol (IPA
chart, diacritics)."""

BREAK: Final = "\u200b"
"""Zero width space: a line may break here. Needs no glyph."""

Json = dict[str, Any]


def typeset(data: Json, layout: str = "sheet") -> bytes:
    """Set data that `finish` has seen. DrillgenError where the typesetter fails."""
    import typst

    root = str(resource_folder("templates") / "typst")
    try:
        with tempfile.TemporaryDirectory(prefix="drillgen-") as fonts:
            copy_fonts(Path(fonts))

            def compile_sheet(data: Json) -> tuple[bytes, list[Any]]:
                return typst.compile_with_warnings(
                    f"{root}/{layout}.typ",
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
        raise DrillgenError(f"the PDF can't be made: {reason}", "try --format md") from None
    except OSError as error:
        raise ResourceError(
            f"can't read or copy the fonts: {error.strerror}", "check the temporary folder"
        ) from None


def finish(data: Json, discreet: bool) -> Json:
    """The data with nothing in it that can't be drawn.

    Texts are composed (NFC). Characters that the fonts lack become frames and
    are named in a note.
    """
    data = printable(data)
    missing = find_missing(characters_in(data))
    if not missing:
        return data
    framed: Json = _replace_missing(data, frozenset(missing))
    framed["missing"] = choose_wording(discreet).missing.format(
        characters="; ".join(map(describe_character, missing))
    )
    return framed


def describe_missing(data: Json) -> tuple[str, ...]:
    """One line per character of the data that the PDF can't show."""
    return tuple(
        f"the PDF can't show {describe_character(c)} and draws a frame"
        for c in find_missing(characters_in(printable(data)))
    )


def build_front(
    head: Worksheet,
    drills: Iterable[Drill],
    page: PageOptions,
    *,
    title: str = "",
    key: Iterable[KeyEntry] = (),
    review: Iterable[ReviewRow] = (),
) -> Json:
    """What stands before and after the body of any sheet; `drills` say which marks it has."""
    wording = choose_wording(head.discreet)
    shown = title or title_of(head, wording)
    signs = marks_used(drills)
    return {
        "size": page.size.value,
        "large": page.large,
        "title": break_long(shown, CELL_LIMIT),
        "wide": _is_wide(shown),
        "keep": True,
        "foot": wording.foot,
        "page": wording.page,
        "pitch": _pitch(head.pitch, wording) if head.pitch else None,
        "steps": {"title": wording.steps, "rows": delivery_texts(head, wording)},
        "hints": wording.hints,
        "drills": [],
        "review": _table(
            wording.review,
            wording.review_note,
            wording.review_columns,
            [
                [break_long(cell, CELL_LIMIT // 2 if page.large else CELL_LIMIT) for cell in row]
                for row in review
            ],
        ),
        "key": _table(wording.key, wording.key_note, wording.key_columns, key_rows(key, wording)),
        "marks": {
            "title": wording.marks,
            "columns": wording.marks_columns,
            "rows": mark_rows(signs, head, wording),
        },
        "cautions": {
            "title": wording.cautions,
            "items": wording.caution_texts,
            "end": wording.disclaimer,
        },
        "log": {
            "title": wording.log,
            "columns": wording.log_columns,
            "rows": max(0, head.log_rows),
        },
        "missing": "",
    }


def _is_wide(title: str) -> bool:
    """Whether a title needs the whole width, without the pitch beside it."""
    return len(title) > 28 or max(map(len, title.split()), default=0) > 14


def break_long(text: str, limit: int) -> str:
    """Let words break that are longer than `limit` characters."""
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


# Characters


def printable(value: Any) -> Any:
    """The data with its texts composed (NFC) and without what has no shape."""
    match value:
        case str():
            return value if value.isascii() else _printable_text(value)
        case dict():
            return {name: printable(part) for name, part in value.items()}
        case list() | tuple():
            return [printable(part) for part in value]
        case _:
            return value


def _printable_text(text: str) -> str:
    composed = unicodedata.normalize("NFC", text)
    for symbol, merged in _MERGES.items():
        composed = composed.replace(symbol, merged)
    return "".join(c for c in composed if c == BREAK or not is_invisible(c))


def characters_in(value: Any) -> set[str]:
    """Every character of the texts in the data."""
    match value:
        case str():
            return set(value) - {BREAK}
        case dict():
            return set().union(*map(characters_in, value.values()))
        case list():
            return set().union(*map(characters_in, value))
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
