"""Values as JSON, and a worksheet back.

The values of a sheet stand in an envelope with the name of the format and a version number;
docs/json.md explains it. Reading checks every field. A document, which says how a sheet is
read rather than how it was made, can be written as well.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any, Final, Literal

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


def render_json(sheet: Worksheet) -> str:
    """The whole sheet with every field of its drills but the source of the
    passage, which may name a person; one final newline.

    >>> import drillgen
    >>> sheet = drillgen.Worksheet((drillgen.make_drill("Two boats."),), "Boats", None)
    >>> load_json(render_json(sheet)) == sheet
    True
    """
    drills = tuple(map(_without_source, sheet.drills))
    return _encode(Envelope(FORMAT, VERSION, replace(sheet, drills=drills)))


def iter_json_lines(drills: Iterable[Drill], head: Worksheet) -> Iterator[str]:
    """JSON Lines: the envelope with an empty list of drills, then one drill a line."""
    yield render_json(replace(head, drills=()))
    for drill in drills:
        yield _encode(_without_source(drill))


def render_values(name: str, version: int, field: str, value: object) -> str:
    """Values of any sheet in their envelope, in one line.

    `name` and `version` name the format, `field` the place of the values beside them.
    """
    return _encode({"format": name, "version": version, field: value})


def write_json(document: Document) -> str:
    """What a reader sees, each block with its kind in the field "block"."""
    return _encode(document)


def load_document(text: str | bytes) -> Document:
    """Read what `write_json` wrote. msgspec.DecodeError for anything else."""
    import msgspec

    return msgspec.json.decode(text, type=Document)


def _without_source(drill: Drill) -> Drill:
    # A file name can hold a person's name; the sheet must not carry it on.
    return replace(drill, passage=replace(drill.passage, source=""))


def _encode(value: object) -> str:
    import msgspec

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
    import msgspec

    try:
        return msgspec.json.decode(text, type=Envelope).worksheet
    except (msgspec.DecodeError, UnicodeEncodeError) as error:
        raise InputError(f"not a worksheet of version {VERSION}: {error}", file=name) from None


def make_schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of the file."""
    import msgspec

    schema = msgspec.json.schema(Envelope)
    for definition in schema["$defs"].values():
        # Examples of the docstrings are for Python.
        if "description" in definition:
            definition["description"] = definition["description"].split("\n\n>>>")[0]
    return schema
