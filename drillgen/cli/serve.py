"""`drillgen serve`: the page for people who never open a terminal again."""

from __future__ import annotations

from typing import Annotated

import typer

from drillgen.cli.common import clients_folder, personal_words, read_words
from drillgen.cli.options import WordLists, option
from drillgen.core.errors import OptionError, ResourceError


def serve(
    port: Annotated[
        int | None, option("Port to wait at; 0: any free one. Default: 8737 if free.")
    ] = None,
    host: Annotated[
        str | None,
        option(
            "Address to open to the network, such as 0.0.0.0. The printed address then has a "
            "token. Default: this computer only."
        ),
    ] = None,
    browser: Annotated[
        bool, option("Open the page in the browser.", "--browser/--no-browser")
    ] = True,
    share: Annotated[
        bool,
        option(
            "Offer “To a phone”: a practice page goes to a phone in the same network, by a "
            "code on the screen, for 20 minutes. Needs drillgen[share].",
            "--share",
        ),
    ] = False,
    words: WordLists = None,
) -> None:
    """Open a local web page: paste a text, see the drill, download the sheet."""
    if port is not None and not 0 <= port <= 65_535:
        raise OptionError(f"--port must be 0 to 65535, not {port}")
    try:
        from drillgen.web.server import serve as run_server
    except ModuleNotFoundError as error:
        if (error.name or "").partition(".")[0] not in ("starlette", "uvicorn", "anyio", "h11"):
            raise
        raise ResourceError(
            f"the package {error.name} is missing", "run: pip install starlette uvicorn"
        ) from None
    from drillgen.speech.pronounce.lexicon import Lexicon
    from drillgen.speech.pronounce.overrides import merge_overrides

    fixed = None
    if words:
        lexicon = Lexicon.load()
        fixed = merge_overrides([read_words(path, lexicon) for path in words])
    run_server(
        personal_words(),
        host=host,
        port=port,
        fixed=fixed,
        clients=clients_folder(),
        share=share,
        open_browser=browser,
        tell=lambda line: typer.echo(line),
    )
