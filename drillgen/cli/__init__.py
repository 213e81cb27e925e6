"""The command line. Each command has a module of its own; this one starts them."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from importlib import metadata
from typing import Annotated, Final

import typer

from drillgen.cli import (
    difficulty,
    find,
    ladder,
    page,
    plan,
    prompts,
    review,
    serve,
    sheet,
    tone,
    voice,
    word,
    words,
)
from drillgen.core.errors import DrillgenError

EXIT_BAD_INPUT: Final = 2

# typer brings its own copy of click in newer versions and uses the package in older
# ones; the class of its errors is the same in both: the one above its public error's base.
CommandError: Final[type[Exception]] = typer.BadParameter.__mro__[2]


def build_app() -> typer.Typer:
    """The application with all its commands."""
    app = typer.Typer(
        name="drillgen",
        help="Turn any practice text into a graded drill sheet: every vowel swapped for one "
        "target, respelled to be read at sight.",
        no_args_is_help=True,
        add_completion=False,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    )

    @app.callback()
    def start(
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
        pass

    modules = (
        *(sheet, page, serve, prompts, ladder, plan),
        *(difficulty, find, word, review, words, tone, voice),
    )
    for module in modules:
        module.register(app)
    return app


def run(arguments: Sequence[str]) -> int:
    """Run one command; returns the exit code. Errors are one line on stderr."""
    command = typer.main.get_command(build_app())
    try:
        result = command.main(list(arguments), prog_name="drillgen", standalone_mode=False)
    except DrillgenError as error:
        _complain(error)
        return EXIT_BAD_INPUT
    except CommandError as error:
        message = str(getattr(error, "message", error))
        if type(error).__name__ == "NoArgsIsHelpError":
            typer.echo(message)
            return 0
        show = getattr(error, "format_message", None)
        _complain(show() if show else message)
        return EXIT_BAD_INPUT
    except (typer.Abort, KeyboardInterrupt):
        _complain("stopped")
        return 130
    except BrokenPipeError:
        # The reader of our output went away (`| head`): nothing to say.
        sys.stderr.close()
        return 141
    return result if isinstance(result, int) else 0


def _show_version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"drillgen {metadata.version('drillgen')}")
        raise typer.Exit


def _complain(message: object) -> None:
    typer.echo("drillgen: " + " ".join(str(message).split()), err=True)


def main() -> None:
    """Entry point of the script `drillgen`."""
    sys.exit(run(sys.argv[1:]))
