"""What several commands share: options, word lists, output."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from drillgen.core.accents import parse_accent
from drillgen.core.collector import CollectorPause
from drillgen.core.errors import InputError, OptionError
from drillgen.core.sources import (
    decode_text,
    read_bytes,
    read_data,
    read_passage,
    tidy_text,
)
from drillgen.core.tables import ENDINGS as TABLES
from drillgen.core.values import Drill, Passage, Phones, ReviewItem
from drillgen.speech.pronounce.lexicon import Lexicon
from drillgen.speech.pronounce.overrides import (
    Overrides,
    add_overrides,
    merge_overrides,
    parse_overrides,
)
from drillgen.speech.pronounce.places import EVERYWHERE, Scope

if TYPE_CHECKING:
    from drillgen.practice.clients import Client
    from drillgen.speech.pipeline import Engine

CLIENTS_VARIABLE = "DRILLGEN_CLIENTS"
WORDS_VARIABLE = "DRILLGEN_WORDS"
_LEXICONS = (".pls", ".xml")
_UNNAMED = ("", "--text", "standard input")


def personal_words() -> Path:
    """The word list that is always read: $DRILLGEN_WORDS or one in the user's settings."""
    named = os.environ.get(WORDS_VARIABLE)
    return Path(named) if named else Path(typer.get_app_dir("drillgen")) / "words.txt"


def clients_folder() -> Path:
    """Where the clients' files are: $DRILLGEN_CLIENTS, or `clients` beside the word list."""
    named = os.environ.get(CLIENTS_VARIABLE)
    return Path(named).expanduser() if named else personal_words().parent / "clients"


def find_client(name: str) -> Client:
    """The client that --client names: an alias, or a path that ends in .toml."""
    from drillgen.practice.clients import ENDING, client_file, read_client

    is_path = name.lower().endswith(ENDING)
    return read_client(Path(name).expanduser() if is_path else client_file(name, clients_folder()))


def complete_client(start: str) -> list[str]:
    """The aliases that begin so, for shells."""
    try:
        names = [path.stem for path in clients_folder().glob("*.toml")]
    except OSError:
        return []
    return sorted(name for name in names if name.startswith(start.lower()))


@dataclass(frozen=True)
class WordStore:
    """Where own pronunciations are kept: a word list, or a client's file."""

    path: Path
    client: Client | None = None

    @classmethod
    def choose(cls, path: Path | None, client: Client | None) -> WordStore:
        """The list that was named, or the client's, or that of the user."""
        if path is not None and client is not None:
            raise OptionError("a word list and --client don't go together", "give one of them")
        if client is not None:
            return cls(client.file, client)
        return cls(path or personal_words())

    def read(self, lexicon: Lexicon) -> Overrides:
        """The entries; none where there is no list yet."""
        if self.client is not None:
            lookup = lexicon.first
            return parse_overrides(self.client.words, str(self.client.file), lookup)
        return read_words(self.path, lexicon) if is_there(self.path) else Overrides()

    def add(self, entries: Mapping[str, Phones], scope: Scope = EVERYWHERE) -> WordStore:
        """Write entries of one scope into the list, which is made where there is none."""
        change = partial(add_overrides, entries=entries, scope=scope)
        if self.client is not None:
            from drillgen.practice.clients import edit_words

            return WordStore(self.path, edit_words(self.client.file, change))
        if self.path.suffix.lower() in (*_LEXICONS, *TABLES):
            mend = "name a word list (.txt); drillgen words import takes this file into it"
            raise InputError("no word is written into such a file", mend, file=self.path)
        from drillgen.speech.review import edit_list

        edit_list(self.path, change, tell)
        return self


def read_words(path: Path, lexicon: Lexicon) -> Overrides:
    """Read one word list, a PLS lexicon if the name ends in .pls or .xml, or a table (.csv).

    Sound-alikes and aliases may use the words of the dictionary.
    """
    ending = path.suffix.lower()
    if ending in _LEXICONS:
        from drillgen.speech.pronounce.pls import read_pls

        return read_pls(read_bytes(path), str(path), lexicon.first)
    text = read_text(path, may_be_empty=True)
    if ending in TABLES:
        from drillgen.speech.review import read_word_table

        text = read_word_table(text, str(path), lexicon.first)
    return parse_overrides(text, str(path), lexicon.first)


def gather_words(
    paths: Sequence[Path] | None, lexicon: Lexicon, client: Client | None = None
) -> Overrides:
    """All overrides: those of `paths` first, then the client's, then the personal list."""
    found = [read_words(path, lexicon) for path in paths or ()]
    stores = [*([WordStore.choose(None, client)] if client else []), WordStore(personal_words())]
    found += [store.read(lexicon) for store in stores]
    for overrides in found:
        for warning in overrides.warnings:
            tell(warning)
    return merge_overrides(found)


def load_engine(words: Sequence[Path] | None, accent: str, client: Client | None = None) -> Engine:
    """The engine for a command, with the user's and the client's word lists."""
    from drillgen.speech.pipeline import Engine

    with CollectorPause():
        lexicon = Lexicon.load()
        overrides = gather_words(words, lexicon, client)
        return Engine.load(lexicon=lexicon, overrides=overrides, accent=accent)


def read_accent(text: str) -> str:
    """Read --accent."""
    return parse_accent(text, "--accent")


def tell(line: str) -> None:
    """Say something about the work, beside the result."""
    typer.echo(f"drillgen: {line}", err=True)


def is_there(path: Path) -> bool:
    """Whether there is such a file. InputError where that can't be known."""
    try:
        return path.is_file()
    except OSError as error:
        raise InputError(f"can't be read ({error.strerror})", "check it", file=path) from None


def read_text(path: Path, encoding: str | None = None, *, may_be_empty: bool = False) -> str:
    """The text of a file. A guessed encoding is said."""
    data = read_bytes(path)
    if may_be_empty and not data.strip():
        return ""
    return decode_text(data, str(path), encoding, tell)


def read_texts(
    files: Sequence[str] | None, text: str | None, encoding: str | None
) -> tuple[Passage, ...]:
    """The texts of a command: --text or files, - for standard input."""
    if text is not None:
        if files:
            raise OptionError("--text and files don't go together", "give one of them")
        if not text.strip():
            raise InputError("there is no text in it", "give at least one word", file="--text")
        if any("\ud800" <= character <= "\udfff" for character in text):
            mend = "put the text in a file"
            raise InputError("not in the terminal's encoding", mend, file="--text")
        return (Passage(tidy_text(text), "", "--text"),)
    if not files:
        raise InputError("there is no text", "name a file, or use - or --text")
    if files.count("-") > 1:
        raise OptionError("- (standard input) can be named once only")
    return tuple(
        _read_standard_input(encoding) if name == "-" else read_passage(Path(name), encoding, tell)
        for name in files
    )


def _read_standard_input(encoding: str | None) -> Passage:
    if sys.stdin is None:
        raise InputError("standard input is closed", "name a file, or use --text")
    if sys.stdin.isatty():
        typer.echo("Type or paste the text, then press Ctrl-D.", err=True)
    return read_data(sys.stdin.buffer.read(), "standard input", encoding, tell)


def check_sayable(drills: Iterable[Drill]) -> None:
    """Refuse texts in which nothing is said: their sheet would be empty."""
    if not any(reading for drill in drills for row in drill.readings for reading in row):
        raise InputError("there is nothing to say in the text", "give at least one English word")


def note_texts(client: Client | None, passages: Iterable[Passage]) -> None:
    """Write into the client's file that these texts were used: file names, no more."""
    files = [Path(p.source).name for p in passages if p.source not in _UNNAMED]
    if client is not None and files:
        from drillgen.practice.clients import note_used

        note_used(client, files)


def stem_of(passage: Passage) -> str:
    """What a file made of a passage is named after."""
    if passage.source in _UNNAMED:
        return "text"
    return Path(passage.source).stem


def count(number: int, one: str) -> str:
    """A number of things, such as "1 word" and "2 words"."""
    return f"{number:,} {one}" + "s" * (number != 1)


def report_doubts(drills: Iterable[Drill], *, listed: bool = True) -> None:
    """Say what the word list does and which words to check, on stderr.

    `listed`: the sheet has the list too.
    """
    made = tuple(drills)
    for note in dict.fromkeys(note for drill in made for note in drill.notes):
        tell(note)
    hint = "see the list on the sheet, or" if listed else "to look at them,"
    doubtful = f"; {hint} run drillgen review"
    for line in name_doubts((item for drill in made for item in drill.review), doubtful):
        typer.echo(line, err=True)


def report_rungs(drills: Iterable[Drill]) -> None:
    """Say of the user's own texts which can't have the partial versions that were asked for."""
    from drillgen.sheets.content import note_idle_rungs

    for note in dict.fromkeys(note for drill in drills for note in note_idle_rungs(drill)):
        tell(note)


def name_doubts(
    items: Iterable[ReviewItem], doubtful: str = "", likely: str = ""
) -> Iterator[str]:
    """The words to check, then those that are probably right, and what to do about either."""
    words: dict[bool, dict[str, None]] = {True: {}, False: {}}
    for item in items:
        words[item.doubtful][item.token.text] = None
    if words[True]:
        yield f"{count(len(words[True]), 'word')} to check: {_some_of(words[True])}{doubtful}"
    if found := [word for word in words[False] if word not in words[True]]:
        yield f"{count(len(found), 'word')} probably right: {_some_of(found)}{likely}"


def _some_of(words: Iterable[str]) -> str:
    names = list(words)
    more = f" and {len(names) - 8} more" if len(names) > 8 else ""
    return ", ".join(names[:8]) + more
