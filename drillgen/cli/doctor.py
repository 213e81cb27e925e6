"""`drillgen doctor`: whether everything is there that the other commands need."""

from __future__ import annotations

import importlib.util
import os
import platform
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Final, NamedTuple

import typer

from drillgen.cli.common import clients_folder, count, personal_words
from drillgen.cli.options import AsJson
from drillgen.cli.output import print_json, print_text
from drillgen.core.errors import DrillgenError

BAD: Final = 2
"""Exit code where something that is needed is missing."""

EXTRAS: Final[Mapping[str, tuple[tuple[str, ...], str]]] = {
    "ear": (("pocketsphinx", "parselmouth"), "drillgen check"),
    "share": (("segno", "trustme"), "drillgen serve --share"),
    "cluster": (("dask",), "drillgen find on several computers"),
}
"""The extras of pyproject.toml, the modules that they bring, and what needs them."""


class Finding(NamedTuple):
    """One line of the report."""

    name: str
    state: str
    """ok, note (works, but look at it) or bad."""

    text: str = ""


def doctor(as_json: AsJson = False) -> None:
    """See whether all is well: fonts, models, extras, folders. Prints nothing private."""
    findings = list(examine())
    if as_json:
        print_json([found._asdict() for found in findings])
    else:
        lines = (f"{f.state:<5} {f.name:<14} {f.text}".rstrip() for f in findings)
        bad = sum(found.state == "bad" for found in findings)
        end = f"{count(bad, 'thing')} to mend." if bad else "All is well."
        print_text("\n".join((*lines, end)) + "\n")
    if any(found.state == "bad" for found in findings):
        raise typer.Exit(BAD)


def examine() -> Iterator[Finding]:
    """All checks, one after the other; none stops the others."""
    from importlib import metadata

    version = metadata.version("drillgen")
    yield Finding("drillgen", "ok", f"{version}, Python {platform.python_version()}")
    for name, check in CHECKS.items():
        try:
            yield Finding(name, "ok", check())
        except DrillgenError as error:
            yield Finding(name, "bad", " ".join(f"{error.what}; {error.mend}".split()))
        except Exception as error:
            # The doctor reports what is broken, whatever it is; nothing of it may be private.
            mend = "install drillgen again"
            yield Finding(name, "bad", f"does not work ({type(error).__name__}); {mend}")
    for name, (modules, user) in EXTRAS.items():
        missing = [module for module in modules if importlib.util.find_spec(module) is None]
        text = f"not installed; for {user}: pip install 'drillgen[{name}]'"
        text = text if missing else f"installed, for {user}"
        yield Finding(f"extra {name}", "note" if missing else "ok", text)
    yield from _examine_folders()


def _check_texts() -> str:
    from drillgen.corpus.reader import load_passages, load_prompts

    return f"{len(load_passages())} passages, {len(load_prompts())} prompts"


def _check_engine() -> str:
    """A word of the dictionary, one that must be guessed, and a sentence with a homograph."""
    from drillgen.speech.pipeline import make_drill

    drill = make_drill("Zrovnik read it yesterday.")
    return f"dictionary, networks and tagger read {len(drill.words)} words"


def _check_pdf() -> str:
    from drillgen.core.document import Document, Paragraph, prose
    from drillgen.core.options import Format, PageOptions
    from drillgen.write import render

    page = Document("Test", (Paragraph(prose("Quay /kiː/")),))
    size = len(render(page, Format.PDF, PageOptions()))
    return f"typesetter and fonts make a page of {size // 1024} KB"


def _check_voice() -> str:
    from drillgen.speech.pronounce.espeak import open_library

    open_library()
    return "espeak-ng is there"


def _check_sound() -> str:
    from drillgen.sound.audio import encode_sound, sound_format
    from drillgen.sound.tone import RATE, make_tone

    tone = make_tone(196.0, 0.2)
    kinds = ("wav", "flac", "ogg", "mp3")
    for kind in kinds:
        encode_sound(tone, RATE, sound_format(Path(f"x.{kind}")))
    return ", ".join(kinds)


CHECKS: Final[Mapping[str, Callable[[], str]]] = {
    "texts": _check_texts,
    "pronunciation": _check_engine,
    "PDF": _check_pdf,
    "voice": _check_voice,
    "sound": _check_sound,
}


def _examine_folders() -> Iterator[Finding]:
    """Whether the user's own files can be read and written, and by nobody else."""
    from drillgen.practice.clients import list_clients, read_client

    words, clients = personal_words(), clients_folder()
    yield _examine_place("word list", words if words.exists() else words.parent)
    yield _examine_place("clients", clients)
    bad = 0
    files = list_clients(clients) if clients.is_dir() else ()
    for file in files:
        try:
            read_client(file).read_log()
        except DrillgenError:
            bad += 1
    open_ones = sum(_is_open(file) for file in files)
    text = count(len(files), "client file")
    if bad:
        yield Finding("client files", "bad", f"{text}, {bad} can't be read; run client list")
    elif open_ones:
        yield Finding("client files", "note", f"{text}, others can read {open_ones}; chmod 600")
    else:
        yield Finding("client files", "ok", text)


def _examine_place(name: str, path: Path) -> Finding:
    there = next(place for place in (path, *path.absolute().parents) if place.exists())
    if not os.access(there, os.R_OK | os.W_OK):
        return Finding(name, "bad", "can't be read or written; change its permissions")
    if path.exists() and _is_open(path):
        mode = "700" if path.is_dir() else "600"
        return Finding(name, "note", f"others can read it; chmod {mode}")
    return Finding(name, "ok", "yours alone" if path.exists() else "none yet")


def _is_open(path: Path) -> bool:
    """Whether others than the owner may read it (POSIX permissions)."""
    return os.name == "posix" and path.stat().st_mode & 0o077 != 0
