"""`drillgen client`: one file a client, with all that a teacher would type again."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from dataclasses import dataclass, fields
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Final

import typer

from drillgen.cli.common import clients_folder, complete_client, read_text
from drillgen.cli.options import AsJson, option
from drillgen.cli.output import print_json, print_text
from drillgen.core.errors import DrillgenError, OptionError, OutputError, placed, raise_all
from drillgen.core.options import PageSize, Strategy, Unit, Watch

if TYPE_CHECKING:
    from drillgen.practice.clients import Client

Alias = Annotated[
    str,
    typer.Argument(
        help="An alias of one word: the name of the file. Never a real name.",
        autocompletion=complete_client,
    ),
]
Folder = Annotated[
    Path | None, option("The clients' folder. Default: see drillgen client list.", "--folder")
]

Text = str | None
Number = int | None
Switch = bool | None


def _option(name: str, text: str) -> Any:
    return typer.Option(name, help=text, show_default=False)


@dataclass(frozen=True)
class Settings:
    """What a client's file can set; None: not given."""

    pitch: Annotated[Text, _option("--pitch", "Target pitch: G3, 196, or none.")] = None
    accent: Annotated[Text, _option("--accent", "As for drillgen sheet.")] = None
    locale: Annotated[Text, _option("--locale", "american or british.")] = None
    target: Annotated[Text, _option("--target", "Target vowel: i, FLEECE, …")] = None
    size: Annotated[Text, _option("--size", f"{', '.join(PageSize)}.")] = None
    large: Annotated[Switch, _option("--large/--no-large", "Large print.")] = None
    discreet: Annotated[Switch, _option("--discreet/--no-discreet", "Neutral wording.")] = None
    rungs: Annotated[Number, _option("--rungs", "Partial versions: 0 to 12.")] = None
    partial: Annotated[Text, _option("--partial", f"{', '.join(Strategy)}.")] = None
    watch: Annotated[Text, _option("--watch", f"{', '.join(Watch)}.")] = None
    breath: Annotated[Number, _option("--breath", "Syllables of a breath group: 4 to 40.")] = None
    repetitions: Annotated[Number, _option("--repetitions", "Boxes to tick: 1 to 12.")] = None
    unit: Annotated[Text, _option("--unit", f"Where to begin: {', '.join(Unit)}.")] = None

    @property
    def given(self) -> Mapping[str, object]:
        """What was given. OptionError for what does not fit."""
        from drillgen.practice.clients import SETTINGS

        values = {f.name: getattr(self, f.name) for f in fields(self)}
        given = {name: value for name, value in values.items() if value is not None}
        for name, value in given.items():
            with placed(f"--{name}"):
                SETTINGS[name](value)
        return given


def _file(alias: str, folder: Path | None) -> Path:
    from drillgen.practice.clients import client_file

    return client_file(alias, folder or clients_folder())


def _load(alias: str, folder: Path | None) -> Client:
    from drillgen.practice.clients import read_client

    return read_client(_file(alias, folder))


def new(alias: Alias, settings: Settings, folder: Folder = None) -> None:
    """Make a client's file with these settings."""
    from drillgen.practice.clients import edit_client

    file = _file(alias, folder)
    if file.exists():
        raise OutputError(
            "there is such a client already", "choose another alias, or: client set", file=file
        )
    edit_client(file, settings.given)
    typer.echo(f"wrote {file}; use it with --client {file.stem}", err=True)


def set_(
    alias: Alias,
    settings: Settings,
    unset: Annotated[
        list[str] | None, option("A setting to take out: the default holds. Repeatable.")
    ] = None,
    folder: Folder = None,
) -> None:
    """Change settings; all else in the file stays, comments too."""
    from drillgen.practice.clients import SETTINGS, edit_client

    for name in unset or ():
        if name not in SETTINGS:
            mend = f"choose one of: {', '.join(SETTINGS)}"
            raise OptionError(f"--unset {name!r} is unknown", mend)
    changes = {**dict.fromkeys(unset or ()), **settings.given}
    if not changes:
        raise OptionError("there is nothing to set", "give an option, such as --pitch A3")
    client = _load(alias, folder)
    edit_client(client.file, changes)
    typer.echo(f"wrote {client.file}", err=True)


_LIST_HEAD: Final = ["alias", "unit", "pitch", "accent", "discreet", "sessions", "last"]


def list_(folder: Folder = None, as_json: AsJson = False) -> None:
    """List the clients: alias, unit, pitch, accent, discreet or not, sessions, the last one."""
    from drillgen.practice.clients import list_clients, read_client

    where = folder or clients_folder()
    typer.echo(f"# {where}", err=True)
    rows: list[dict[str, object]] = []
    errors: list[DrillgenError] = []
    for file in list_clients(where):
        try:
            rows.append(_describe(read_client(file)))
        except DrillgenError as error:
            # A file that was synced by half hides no other client.
            errors.append(error)
    if as_json:
        print_json(rows)
    elif rows:
        table = [[_show_cell(row.get(name)) for name in _LIST_HEAD] for row in rows]
        table.insert(0, _LIST_HEAD)
        if sys.stdout is not None and sys.stdout.isatty():
            # For people in columns, for programs with tabs.
            wide = [max(map(len, column)) + 2 for column in zip(*table, strict=True)]
            table = [[cell.ljust(w) for cell, w in zip(row, wide, strict=True)] for row in table]
            print_text("\n".join("".join(row).rstrip() for row in table) + "\n")
        else:
            print_text("\n".join(map("\t".join, table)) + "\n")
    elif not errors:
        typer.echo("no clients yet; make one: drillgen client new ALIAS", err=True)
    raise_all(errors)


def _show_cell(value: object) -> str:
    return "yes" if value is True else str(value or "-")


def _describe(client: Client) -> dict[str, object]:
    """A client for people and programs."""
    log = client.read_log()
    last = log[-1].date if log else None
    return {
        "alias": client.alias,
        **client.settings,
        "words": sum(1 for line in client.words.splitlines() if line.strip(" #")),
        "prompts": list(client.used_prompts),
        "passages": list(client.passages),
        "sessions": len(log),
        "last": last.isoformat() if last else None,
    }


def show(alias: Alias, folder: Folder = None, as_json: AsJson = False) -> None:
    """Print where a client's file is and what it says."""
    client = _load(alias, folder)
    if as_json:
        print_json(_describe(client))
        return
    typer.echo(f"# {client.file}", err=True)
    print_text(read_text(client.file, may_be_empty=True))


def log(
    alias: Alias,
    filled: Annotated[Path, typer.Argument(help="A filled log (CSV).")],
    folder: Folder = None,
) -> None:
    """Take a filled log into a client's file; the next week begins where it says."""
    from drillgen.practice.clients import take_log

    for line in take_log(_load(alias, folder), read_text(filled), str(filled)):
        typer.echo(line, err=True)


def remove(
    alias: Alias,
    yes: Annotated[bool, option("Don't ask.", "--yes")] = False,
    folder: Folder = None,
) -> None:
    """Delete a client's file, with its words, history and log. Nothing else is kept of it."""
    file = _file(alias, folder)
    if not file.is_file():
        _load(alias, folder)
    if not yes:
        if not (sys.stdin and sys.stdin.isatty()):
            raise OptionError("remove asks first, and there is nobody to ask", "add --yes")
        typer.confirm(f"Delete {file} for good?", abort=True, err=True)
    try:
        file.unlink()
    except OSError as error:
        raise OutputError(f"can't be deleted ({error.strerror})", "check it", file=file) from None
    typer.echo(f"deleted {file}; files made with it stay where you put them", err=True)
