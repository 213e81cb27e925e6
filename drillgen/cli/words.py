"""`drillgen words`: look after the word list, and exchange it as a PLS lexicon."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from drillgen.cli.common import WordStore, count, read_words, tell
from drillgen.cli.options import AsJson, Force, ForClient, option
from drillgen.cli.output import Outputs, print_json, print_text
from drillgen.core.errors import InputError

_List = Annotated[Path | None, option("The word list. Default: your own list.", "--list")]


def show(words: _List = None, as_json: AsJson = False, client: ForClient = None) -> None:
    """Print where the list is and what it holds, with IPA and sound-alike."""
    from drillgen.core.syllables import to_ipa
    from drillgen.speech.pronounce.lexicon import Lexicon
    from drillgen.speech.pronounce.soundalike import to_soundalike

    store = WordStore.choose(words, client)
    typer.echo(f"# {store.path}", err=True)
    found = store.read(Lexicon.load())
    rows = [
        {
            "word": entry.word,
            "where": str(entry.scope),
            "sounds_like": to_soundalike(entry.phones),
            "ipa": to_ipa(entry.phones),
            "note": entry.note,
        }
        for entry in (*found, *found.placed)
    ]
    if as_json:
        print_json(rows)
    elif rows:
        lines = (
            row["word"]
            + f" ({row['where']})" * bool(row["where"])
            + f"\t{row['sounds_like']}\t/{row['ipa']}/"
            + f"\t# {row['note']}" * bool(row["note"])
            for row in rows
        )
        print_text("".join(f"{line}\n" for line in lines))


def add(
    word: Annotated[str, typer.Argument(help="The word, as it is written.")],
    sound: Annotated[str, typer.Argument(help="How it sounds (shiv-AWN), /IPA/, or ARPAbet.")],
    words: _List = None,
    client: ForClient = None,
) -> None:
    """Add a pronunciation, or replace the one that is there."""
    from drillgen.speech.pronounce.lexicon import Lexicon
    from drillgen.speech.pronounce.overrides import normalize_word
    from drillgen.speech.review import read_own

    store = WordStore.choose(words, client)
    entry = normalize_word(word.strip())
    store.add({entry: read_own(sound, Lexicon.load().first)})
    typer.echo(f"kept {entry} in {store.path}", err=True)


def export(
    out: Annotated[Path, typer.Argument(help="The PLS file to write, such as words.pls.")],
    words: _List = None,
    force: Force = False,
    client: ForClient = None,
) -> None:
    """Write the list as a W3C Pronunciation Lexicon (PLS 1.0)."""
    from drillgen.speech.pronounce.lexicon import Lexicon
    from drillgen.speech.pronounce.pls import write_pls

    store = WordStore.choose(words, client)
    entries = store.read(Lexicon.load())
    if not entries:
        raise InputError("there is no word list yet", "add a word first", file=store.path)
    outputs = Outputs((store.path,), "words export", force=force)
    outputs.claim(out)
    outputs.write(out, write_pls(entries).encode(), private=True)


def import_(
    source: Annotated[Path, typer.Argument(help="A PLS file (.pls, .xml) or another word list.")],
    words: _List = None,
    client: ForClient = None,
) -> None:
    """Take every entry of a PLS lexicon or word list into your list."""
    from drillgen.speech.pronounce.lexicon import Lexicon

    store = WordStore.choose(words, client)
    found = read_words(source, Lexicon.load())
    for warning in found.warnings:
        tell(warning)
    entries = [*found, *found.placed]
    if not entries:
        raise InputError("there are no words in it", "give a word and its sounds", file=source)
    for scope in dict.fromkeys(entry.scope for entry in entries):
        store = store.add({e.word: e.phones for e in entries if e.scope == scope}, scope)
    typer.echo(f"took {count(len(entries), 'word')} into {store.path}", err=True)
