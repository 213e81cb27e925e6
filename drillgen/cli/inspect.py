"""`drillgen inspect`: what a file would tell about its owner."""

from __future__ import annotations

import getpass
import platform
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

from drillgen.cli.options import AsJson, option
from drillgen.cli.output import print_json, print_text
from drillgen.core.errors import DrillgenError, InputError, raise_all
from drillgen.core.sources import read_bytes

if TYPE_CHECKING:
    from drillgen.write.inspection import Leak

FOUND: Final = 1
"""Exit code where something was found."""

_NOBODY: Final = ("root", "user", "admin", "administrator", "home", "guest", "test", "localhost")
"""Names of users and machines that name nobody, and are words."""


def inspect(
    files: Annotated[
        list[Path], typer.Argument(metavar="FILE", help="Files to look through, or folders.")
    ],
    names: Annotated[
        list[str] | None,
        option("A name that must not be there, besides yours. Repeatable.", "--name"),
    ] = None,
    allowed: Annotated[
        list[str] | None, option("A word that may be there. Repeatable.", "--allow")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Prove that files are discreet: no telling word, name, path, time, address or request.

    Exit code 0: clean; 1: something was found; 2: a file can't be read.
    """
    from drillgen.write.inspection import Search, inspect_file

    search = Search(
        (*(names or ()), *machine_names()),
        (str(Path.home()),) if len(Path.home().parts) > 2 else (),
        tuple(word.lower() for word in allowed or ()),
    )
    reports: dict[str, tuple[Leak, ...]] = {}
    errors: list[DrillgenError] = []
    for file in _list_files(files):
        try:
            reports[str(file)] = inspect_file(file.name, read_bytes(file), search)
        except DrillgenError as error:
            error.file = str(file)
            errors.append(error)
    if as_json:
        rows = {name: [asdict(leak) for leak in leaks] for name, leaks in reports.items()}
        print_json(rows)
    elif reports:
        print_text("\n".join(_describe(reports)))
    raise_all(errors)
    if any(reports.values()):
        raise typer.Exit(FOUND)


def _describe(reports: dict[str, tuple[Leak, ...]]) -> Iterator[str]:
    for name, leaks in reports.items():
        yield f"{name}: {f'{len(leaks)} found' if leaks else 'clean'}"
        yield from (f"  {leak.place}: {leak.kind}: {leak.text}" for leak in leaks)


def _list_files(files: list[Path]) -> Iterator[Path]:
    for file in files:
        if not file.is_dir():
            yield file
            continue
        inside = sorted(path for path in file.rglob("*") if path.is_file())
        if not inside:
            raise InputError("the folder is empty", "name files", file=file)
        yield from inside


def machine_names() -> tuple[str, ...]:
    """What names the user and the machine here, but for words that name nobody."""
    found = [platform.node(), platform.node().partition(".")[0], Path.home().name]
    with suppress(OSError, KeyError, ImportError):
        found.append(getpass.getuser())
    with suppress(OSError, KeyError, ImportError):
        import pwd

        found.append(pwd.getpwnam(getpass.getuser()).pw_gecos.partition(",")[0])
    return tuple(
        name for name in dict.fromkeys(found) if len(name) > 2 and name.lower() not in _NOBODY
    )
