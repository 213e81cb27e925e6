"""The commands as typer makes them, but quick to start.

typer loads pydantic to check what is given, which takes as long as grading a text. Texts, paths
and whole numbers need none of its checks; whatever else is given goes typer's way.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from pathlib import Path
from types import NoneType
from typing import Any, Final, get_args

import typer
import typer.core

_UNREAD: Final = object()
_NUMBERS: Final = {int: "a whole number, such as 3", float: "a number, such as 1.5"}


_FIRST: Final = ("out", "client", "start", "accent", "pitch", "large", "discreet")
"""What most people set: it stands first in a long help, in this order."""

_LONG: Final = 12
"""Options of a command with a long help, at least."""


class Command(typer.core.TyperCommand):
    """A command that reads plain values itself."""

    def get_params(self, ctx: Any) -> list[Any]:
        """Its options and arguments, --help among them, in the order of the help."""
        return _quicken(_arrange(super().get_params(ctx)))


class Group(typer.core.TyperGroup):
    """A group of commands that does so, too."""

    def get_params(self, ctx: Any) -> list[Any]:
        """Its options, --help among them."""
        return _quicken(super().get_params(ctx))


def _arrange(params: list[Any]) -> list[Any]:
    if len(params) < _LONG:
        return params
    panels = dict.fromkeys(_FIRST, "Used most") | {"help": "Texts and files"}
    for param in params:
        if param.name in panels:
            param.rich_help_panel = panels[param.name]
    return sorted(params, key=lambda p: _FIRST.index(p.name) if p.name in _FIRST else len(_FIRST))


def _quicken(params: Sequence[Any]) -> list[Any]:
    for param in params:
        # An attribute goes before a method of the same name.
        vars(param).setdefault("process_value", partial(_process, param))
        vars(param).setdefault("display_type", partial(_show_type, param))
    return list(params)


_KINDS: Final = {"bool": "", "str": "TEXT", "int": "NUMBER", "float": "NUMBER", "path": "PATH"}


def _show_type(param: Any, context: Any) -> str:
    """What is to be given, in the help: for people, not in names of Python's types."""
    if param.param_type_name == "argument":
        return ""
    kind = str(type(param).display_type(param, context) or "").strip("<>")
    return _KINDS.get(kind.removeprefix("list[").removesuffix("]").lower(), kind)


def _process(param: Any, context: Any, value: Any) -> Any:
    """What the command gets."""
    read = _read(param, context, value)
    return type(param).process_value(param, context, value) if read is _UNREAD else read


def _read(param: Any, context: Any, value: Any) -> Any:
    """The value as the command takes it; _UNREAD where typer has to look."""
    many = param.nargs == -1 or getattr(param, "multiple", False)
    if value is None and not param.required:
        nothing = () if many else None
        return nothing if param.callback is None else param.callback(context, param, nothing)
    if value is None or param.callback is not None:
        return _UNREAD
    kind = _kind_of(context.command.callback.__annotations__.get(param.name))
    given = value if many else (value,)
    read: list[Any] = list(given)
    if kind is Path:
        read = list(map(Path, given))
    elif kind in _NUMBERS:
        try:
            read = list(map(kind, given))
        except ValueError:
            problem = f"write {_NUMBERS[kind]}"
            raise typer.BadParameter(problem, context, param) from None
    elif any(type(word) is not kind for word in given):
        return _UNREAD
    return read if many else read[0]


def _kind_of(annotation: Any) -> Any:
    """The plain type inside: of Annotated[list[Path] | None, …] it is Path."""
    while inner := [part for part in get_args(annotation) if part is not NoneType]:
        annotation = inner[0]
    return annotation
