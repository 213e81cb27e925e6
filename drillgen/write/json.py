"""Values as JSON, and a worksheet back.

The values of a sheet stand in an envelope with the name of the format and a version number;
docs/json.md explains it. Reading checks every field. A document, which says how a sheet is
read rather than how it was made, can be written as well.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any, Final, Literal

import msgspec

from drillgen.core.document import Document
from drillgen.core.errors import InputError
from drillgen.core.values import Drill, Worksheet

FORMAT: Final = "drillgen-worksheet"
VERSION: Final = 2
"""Grows when a field is removed or changes its meaning; a new field keeps it."""


@dataclass(frozen=True, slots=True)
class Envelope:
    """What stands at the top of the file."""

    format: Literal["drillgen-worksheet"]
    version: Literal[2]
    worksheet: Worksheet


NEUTRAL: Final = {
    "drills": "lessons",
    "drill": "lesson",
    "drilled": "practised",
    "pitch": "tone",
    "target": "base",
    "discreet": "plain",
    "vowel": "sound",
    "swapped": "other",
    "vowels": "sounds",
    "voiced": "sounding",
}
"""What fields are called in the JSON of a discreet sheet, which is to say nothing either."""

_NEUTRAL_VALUES: Final = {
    "delivery": {"chant": "steady", "inflected": "lively", "carry-over": "usual"},
}
"""By their field."""

_PREFIX: Final = "drillgen-"
"""Of the names of formats; not in discreet ones."""


def render_json(sheet: Worksheet) -> str:
    """The whole sheet with every field of its drills but the source of the
    passage, which may name a person; one final newline. A discreet one has plainer names of
    fields (`NEUTRAL`).

    >>> import drillgen
    >>> sheet = drillgen.Worksheet((drillgen.make_drill("Two boats."),), "Boats", None)
    >>> load_json(render_json(sheet)) == sheet
    True
    """
    drills = tuple(map(_without_source, sheet.drills))
    envelope = Envelope(FORMAT, VERSION, replace(sheet, drills=drills))
    return _encode(_speak_plainly(envelope) if sheet.discreet else envelope)


def iter_json_lines(drills: Iterable[Drill], head: Worksheet) -> Iterator[str]:
    """JSON Lines: the envelope with an empty list of drills, then one drill a line."""
    yield render_json(replace(head, drills=()))
    for drill in drills:
        line = _without_source(drill)
        yield _encode(_speak_plainly(line) if head.discreet else line)


def render_values(
    name: str, version: int, field: str, value: object, *, discreet: bool = False
) -> str:
    """Values of any sheet in their envelope, in one line.

    `name` and `version` name the format, `field` the place of the values beside them.
    """
    envelope = {"format": name, "version": version, field: value}
    return _encode(_speak_plainly(envelope) if discreet else envelope)


def _speak_plainly(value: object) -> object:
    """Values as plain JSON types whose names of fields and formats tell nothing."""

    def visit(part: Any, field: str) -> Any:
        if isinstance(part, dict):
            return {NEUTRAL.get(key, key): visit(inner, key) for key, inner in part.items()}
        if isinstance(part, list | tuple):
            return [visit(inner, field) for inner in part]
        if isinstance(part, str):
            part = part.removeprefix(_PREFIX) if field == "format" else part
            return _NEUTRAL_VALUES.get(field, {}).get(part, part)
        return part

    return visit(msgspec.to_builtins(value), "")


def _speak_usually(value: Any) -> Any:
    """Undo `_speak_plainly` for a worksheet; what has the usual names stays as it is."""
    usual = {plain: name for name, plain in NEUTRAL.items()}
    if isinstance(value, dict):
        return {usual.get(key, key): _speak_usually(part) for key, part in value.items()}
    return [_speak_usually(part) for part in value] if isinstance(value, list) else value


def write_json(document: Document) -> str:
    """What a reader sees, each block with its kind in the field "block"."""
    return _encode(document)


def _without_source(drill: Drill) -> Drill:
    # A file name can hold a person's name; the sheet must not carry it on.
    return replace(drill, passage=replace(drill.passage, source=""))


def _encode(value: object) -> str:
    try:
        return msgspec.json.encode(value).decode() + "\n"
    except UnicodeEncodeError as error:
        code = ord(error.object[error.start])
        raise InputError(
            f"the text holds U+{code:04X}, half of a character that UTF-8 can't write", "remove it"
        ) from None


def load_json(text: str | bytes, name: str = "worksheet") -> Worksheet:
    """Read what `render_json` wrote. `name` stands in the messages.

    Raises InputError for anything that is not a worksheet of this version.

    >>> load_json("{}")  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    drillgen.core.errors.InputError: worksheet: not a worksheet of version ...: ...
    """
    try:
        try:
            return msgspec.json.decode(text, type=Envelope).worksheet
        except msgspec.ValidationError:
            found = msgspec.json.decode(text)
            if not isinstance(found, dict) or f"{_PREFIX}{found.get('format')}" != FORMAT:
                raise
            return msgspec.convert({**_speak_usually(found), "format": FORMAT}, Envelope).worksheet
    except (msgspec.DecodeError, UnicodeEncodeError) as error:
        raise InputError(f"not a worksheet of version {VERSION}: {error}", file=name) from None
