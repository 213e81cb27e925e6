"""`drillgen words`: look after the word list, and exchange it as a PLS lexicon."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from drillgen.cli.common import check_folder, personal_words, read_words
from drillgen.core.errors import InputError

_List = Annotated[
    Path | None, typer.Option("--list", help="The word list. Default: your own list.")
]


def register(app: typer.Typer) -> None:
    """Add the commands."""
    group = typer.Typer(no_args_is_help=True, help="Your own pronunciations: show, add, exchange.")
    group.command("show")(show)
    group.command("add")(add)
    group.command("export")(export)
    group.command("import")(import_)
    app.add_typer(group, name="words")


def show(words: _List = None) -> None:
    """Print where the list is and what it holds, with IPA and sound-alike."""
    from drillgen.core.syllables import to_ipa
    from drillgen.speech.pronounce.lexicon import Lexicon
    from drillgen.speech.pronounce.soundalike import to_soundalike

    path = words or personal_words()
    typer.echo(f"# {path}", err=True)
    if not path.is_file():
        return
    for entry in read_words(path, Lexicon.load()):
        note = f"\t# {entry.note}" if entry.note else ""
        typer.echo(f"{entry.word}\t{to_soundalike(entry.phones)}\t/{to_ipa(entry.phones)}/{note}")


def add(
    word: Annotated[str, typer.Argument(help="The word, as it is written.")],
    sound: Annotated[
        str, typer.Argument(help='ARPAbet, /IPA/, or "like: shiv-AWN" (a plain sound-alike).')
    ],
    words: _List = None,
) -> None:
    """Add a pronunciation, or replace the one that is there."""
    from drillgen.speech.pronounce.lexicon import Lexicon
    from drillgen.speech.pronounce.overrides import normalize_word, parse_said
    from drillgen.speech.review import first_entry, keep_word

    path = words or personal_words()
    entry = normalize_word(word.strip())
    keep_word(path, entry, parse_said(" ".join(sound.split()), first_entry(Lexicon.load())))
    typer.echo(f"kept {entry} in {path}", err=True)


def export(
    out: Annotated[Path, typer.Argument(help="The PLS file to write, such as words.pls.")],
    words: _List = None,
) -> None:
    """Write the list as a W3C Pronunciation Lexicon (PLS 1.0)."""
    from drillgen.core.files import write_whole
    from drillgen.speech.pronounce.lexicon import Lexicon
    from drillgen.speech.pronounce.pls import write_pls

    path = words or personal_words()
    if not path.is_file():
        raise InputError("there is no word list yet", "add a word first", file=path)
    check_folder(out)
    write_whole(out, write_pls(read_words(path, Lexicon.load())).encode())
    typer.echo(f"wrote {out}", err=True)


def import_(
    source: Annotated[Path, typer.Argument(help="A PLS file (.pls, .xml) or another word list.")],
    words: _List = None,
) -> None:
    """Take every entry of a PLS lexicon or word list into your list."""
    from drillgen.core.files import write_whole
    from drillgen.core.sources import decode_text, read_bytes
    from drillgen.speech.pronounce.lexicon import Lexicon
    from drillgen.speech.pronounce.overrides import add_override

    path = words or personal_words()
    data = read_bytes(path) if path.is_file() else b""
    text = decode_text(data, str(path)) if data.strip() else ""
    found = read_words(source, Lexicon.load())
    for warning in found.warnings:
        typer.echo(f"drillgen: {warning}", err=True)
    for entry in found:
        text = add_override(text, entry.word, entry.phones)
    path.parent.mkdir(parents=True, exist_ok=True)
    check_folder(path)
    write_whole(path, text.encode())
    typer.echo(f"took {len(found)} word(s) into {path}", err=True)
