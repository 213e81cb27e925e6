"""The command line. Each command has a module of its own; this one starts them."""

from __future__ import annotations

import io
import os
import re
import sys
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from typing import Annotated, Any, Final

import typer

from drillgen.cli import (
    batch,
    check,
    client,
    difficulty,
    doctor,
    find,
    guide,
    inspect,
    ladder,
    page,
    plan,
    prompts,
    review,
    serve,
    sheet,
    tone,
    voice,
    week,
    word,
    words,
)
from drillgen.cli.options import with_options
from drillgen.core.errors import DrillgenError, ManyErrors

EXIT_BAD_INPUT: Final = 2
EXIT_STOPPED: Final = 130
"""As shells give it for Ctrl-C (128 and the number of the signal)."""

Command = Callable[..., None]

TOPICS: Final[Mapping[str, Sequence[Command]]] = {
    "Material to practise with": (
        *(sheet.sheet, page.page, ladder.ladder, prompts.prompts, plan.plan),
        *(guide.guide, voice.voice, tone.tone),
    ),
    "Clients and weeks": (week.week, week.progress, batch.batch),
    "A recorded take": (check.check,),
    "Texts to choose": (find.find, difficulty.difficulty),
    "Pronunciations": (word.word, review.review),
    "The program": (serve.serve, inspect.inspect, doctor.doctor),
}
"""The commands, by topic."""

GROUPS: Final[Mapping[str, tuple[str, str, Mapping[str, Command]]]] = {
    "client": (
        "Your clients: a file for each, which --client then names.",
        "Clients and weeks",
        {
            "new": client.new,
            "list": client.list_,
            "show": client.show,
            "set": client.set_,
            "log": client.log,
            "remove": client.remove,
        },
    ),
    "words": (
        "Your own pronunciations: show, add, exchange.",
        "Pronunciations",
        {
            "show": words.show,
            "add": words.add,
            "export": words.export,
            "import": words.import_,
        },
    ),
}
"""Commands with commands of their own: help, topic, commands."""


def build_app(wanted: str = "") -> typer.Typer:
    """The application with all its commands; with one of the first level, if it is wanted:
    most of the time goes into reading what each can be told."""
    app = typer.Typer(
        name="drillgen",
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

    every = [(command, topic) for topic, commands in TOPICS.items() for command in commands]
    alone = [(command, topic) for command, topic in every if command.__name__ == wanted]
    for command, topic in alone or every:
        short = _shorten(command.__doc__ or "")
        app.command(command.__name__, short_help=short, rich_help_panel=topic)(
            with_options(command)
        )
    for group_name, (text, topic, group_commands) in ({} if alone else GROUPS).items():
        group = typer.Typer(help=text, short_help=_shorten(text))
        group.callback(invoke_without_command=True)(_help_if_alone)
        for name, command in group_commands.items():
            group.command(name)(with_options(command, of_client=group_name != "client"))
        app.add_typer(group, name=group_name, rich_help_panel=topic)
    return app


def _shorten(text: str) -> str:
    """What a command does, in a line of the list of all commands.

    >>> _shorten("Make a sheet (PDF; HTML on request).")
    'Make a sheet'
    """
    return re.split(r" \(|[:;,.](?:\s|$)", text, maxsplit=1)[0]


def _help_if_alone(context: typer.Context) -> None:
    if context.invoked_subcommand is None:
        typer.echo(context.get_help())


def run(arguments: Sequence[str]) -> int:
    """Run one command; returns the exit code. Errors are one line on stderr."""
    _write_utf8(sys.stdout)
    try:
        command: Any = typer.main.get_command(build_app(next(iter(arguments), "")))
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
        return _complain(show())
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
