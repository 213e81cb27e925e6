"""The command line. Each command has a module of its own; this one starts them."""

from __future__ import annotations

import io
import os
import sys
from collections.abc import Mapping, Sequence
from contextlib import suppress
from importlib import import_module
from typing import Annotated, Any, Final

import typer

from drillgen.cli.command import Command, Group
from drillgen.core.errors import DrillgenError, ManyErrors

EXIT_BAD_INPUT: Final = 2
EXIT_STOPPED: Final = 130
"""As shells give it for Ctrl-C (128 and the number of the signal)."""

TOPICS: Final[Mapping[str, Mapping[str, str]]] = {
    "Material to practise with": {
        "sheet": "Make a drill sheet",
        "page": "Make a practice page",
        "ladder": "Make a booklet from small units to larger ones",
        "prompts": "Make a sheet of conversation prompts",
        "plan": "Lay out a practice plan with a log",
        "guide": "Make the guide to all sheets",
        "voice": "Speak a text as a model to repeat",
        "tone": "Write a steady reference tone as a sound file",
    },
    "Clients and weeks": {
        "week": "Make the material of a week",
        "progress": "Make a page on the sessions so far",
        "batch": "Make a sheet for each row of a table",
        "client": "Your clients",
    },
    "A recorded take": {"check": "Measure a recorded take"},
    "Texts to choose": {
        "find": "Find sentences that suit a step and a contrast",
        "difficulty": "Score each sentence from 0 to 100 and say where the work lies",
    },
    "Pronunciations": {
        "word": "Explain one word",
        "review": "Settle doubtful words",
        "words": "Your own pronunciations",
    },
    "The program": {
        "serve": "Open a local web page",
        "inspect": "Prove that files are discreet",
        "doctor": "See whether all is well",
    },
}
"""The commands, by topic, and what each does: how the text on it begins. They load when wanted."""

GROUPS: Final[Mapping[str, tuple[str, Sequence[str]]]] = {
    "client": (
        "Your clients: a file for each, which --client then names.",
        ("new", "list", "show", "set", "log", "remove"),
    ),
    "words": (
        "Your own pronunciations: show, add, exchange.",
        ("show", "add", "export", "import"),
    ),
}
"""Commands with commands of their own: help, names."""

_COMPLETING: Final = "_DRILLGEN_COMPLETE"
"""Set in the environment where a shell asks how a command can go on."""

_MODULES: Final = {"progress": "week"}
"""Where a command is, if not in a module of its name."""


def build_app(wanted: str | None = None) -> typer.Typer:
    """The application with all its commands. If one is wanted, the others have only their
    names and what the list of commands says: most of the time goes into loading them and
    reading what each can be told."""
    app = typer.Typer(
        name="drillgen",
        cls=Group,
        help="Turn any practice text into a graded drill sheet: every vowel swapped for one "
        "target, respelled to be read at sight.",
        rich_markup_mode="rich",
        pretty_exceptions_enable=False,
        context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    )

    @app.callback(invoke_without_command=True)
    def start(
        context: typer.Context,
        _: Annotated[
            bool,
            typer.Option(
                "--version",
                help="Print the version and stop.",
                is_eager=True,
                callback=_show_version,
            ),
        ] = False,
    ) -> None:
        _help_if_alone(context)

    for topic, commands in TOPICS.items():
        for name, short in commands.items():
            if wanted not in (None, name):
                app.command(name, short_help=short, rich_help_panel=topic)(_do_nothing)
            elif name in GROUPS:
                app.add_typer(_build_group(name, short), name=name, rich_help_panel=topic)
            else:
                _add(app, name, _MODULES.get(name, name), short_help=short, rich_help_panel=topic)
    return app


def _build_group(name: str, short: str) -> typer.Typer:
    text, names = GROUPS[name]
    group = typer.Typer(cls=Group, help=text, short_help=short)
    group.callback(invoke_without_command=True)(_help_if_alone)
    for command in names:
        _add(group, command, name, of_client=name != "client")
    return group


def _add(app: typer.Typer, name: str, module: str, *, of_client: bool = True, **look: Any) -> None:
    """Add the command `name`, or `name_` where Python has that name."""
    from drillgen.cli.options import with_options

    found = vars(import_module(f"drillgen.cli.{module}"))
    command = with_options(found.get(name) or found[f"{name}_"], of_client=of_client)
    app.command(name, cls=Command, **look)(command)


def _do_nothing() -> None:
    """Stands for a command that is not wanted."""


def _help_if_alone(context: typer.Context) -> None:
    if context.invoked_subcommand is None:
        typer.echo(context.get_help())


def run(arguments: Sequence[str]) -> int:
    """Run one command; returns the exit code. Errors are one line on stderr."""
    _write_utf8(sys.stdout)
    try:
        first = next((word for word in arguments if not word.startswith("-")), "")
        app = build_app(None if _COMPLETING in os.environ else first)
        command: Any = typer.main.get_command(app)
        result = command.main(list(arguments), prog_name="drillgen", standalone_mode=False)
        if sys.stdout is not None:
            sys.stdout.flush()
    except DrillgenError as error:
        return _complain(error)
    except (typer.Abort, KeyboardInterrupt):
        return _complain("stopped", EXIT_STOPPED)
    except BrokenPipeError:
        # The reader of our output went away (`| head`): nothing to say.
        _drop_output()
        return 141
    except UnicodeEncodeError as error:
        sign = error.object[error.start : error.end][:1]
        problem = f"standard output is in {sys.stdout.encoding}, which has no {sign!r}"
        return _complain(f"{problem}; set PYTHONIOENCODING=utf-8")
    except OSError as error:
        _drop_output()
        place = error.filename or "standard output"
        return _complain(f"{place}: can't be read or written ({error.strerror}); check it")
    except Exception as error:
        # An error of the command line, from whichever click typer brings: it can show itself.
        show = getattr(error, "format_message", None)
        if show is None:
            raise
        context = getattr(error, "ctx", None)
        help_on = f" See: {context.command_path} --help" if context else ""
        message = show()
        return _complain(message + "." * (message[-1:] not in (".", "?")) + help_on)
    return result if isinstance(result, int) else 0


def _write_utf8(stream: object) -> None:
    """Files and pipes get UTF-8, as all our files do, unless the user says otherwise."""
    if (
        isinstance(stream, io.TextIOWrapper)
        and not stream.isatty()
        and not os.environ.get("PYTHONIOENCODING")
    ):
        stream.reconfigure(encoding="utf-8")


def _drop_output() -> None:
    """Keep Python from writing what is left at the end, and failing again."""
    with suppress(OSError, ValueError, AttributeError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _show_version(wanted: bool) -> None:
    if wanted:
        from importlib import metadata

        typer.echo(f"drillgen {metadata.version('drillgen')}")
        raise typer.Exit


def _complain(message: object, code: int = EXIT_BAD_INPUT) -> int:
    for line in str(message).splitlines() if isinstance(message, ManyErrors) else [str(message)]:
        typer.echo("drillgen: " + " ".join(line.split()), err=True)
    return code
