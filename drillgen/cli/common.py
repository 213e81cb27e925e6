"""What several commands share: options, word lists, output."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from drillgen.core.accents import parse_accent
from drillgen.core.errors import InputError, OptionError, OutputError
from drillgen.core.sources import decode_text, read_bytes, read_passage, take_title
from drillgen.core.values import Passage, ReviewItem
from drillgen.speech.pronounce.lexicon import Lexicon
from drillgen.speech.pronounce.overrides import Overrides, merge_overrides, parse_overrides
from drillgen.speech.review import first_entry

if TYPE_CHECKING:
    from drillgen.speech.pipeline import Engine

WORDS_VARIABLE = "DRILLGEN_WORDS"

Accents = Annotated[
    str,
    typer.Option(
        "--accent",
        help="The reader's accent: rhotic (General American), non-rhotic (British), australian, "
        "scottish. A wrong name lists all.",
    ),
]
Locales = Annotated[
    str,
    typer.Option(
        "--locale",
        help="How numbers and dates are read: american or british. As a rule, the accent's.",
        show_default=False,
    ),
]
TargetVowel = Annotated[
    str, typer.Option("--target", help="Target vowel: i, ɪ, e, … or FLEECE, KIT, FACE, …")
]
WordLists = Annotated[
    list[Path] | None,
    typer.Option(
        "--words",
        help="Your own pronunciations: a word list or a PLS 1.0 lexicon (.pls, .xml). "
        "Repeatable; the first that has a word wins.",
    ),
]
Files = Annotated[
    list[str] | None,
    typer.Argument(help="Text files, or - for standard input. None: a passage of ours."),
]
GivenFiles = Annotated[
    list[str] | None, typer.Argument(help="Text files, or - for standard input.")
]
GivenText = Annotated[str | None, typer.Option("--text", help="The text itself.")]
Encoding = Annotated[
    str | None, typer.Option("--encoding", help="Encoding of the texts, if it is not UTF-8.")
]


def personal_words() -> Path:
    """The word list that is always read: $DRILLGEN_WORDS or one in the user's settings."""
    named = os.environ.get(WORDS_VARIABLE)
    return Path(named) if named else Path(typer.get_app_dir("drillgen")) / "words.txt"


def read_words(path: Path, lexicon: Lexicon) -> Overrides:
    """Read one word list, or a PLS lexicon if the name ends in .pls or .xml.

    Sound-alikes may use the words of the dictionary.
    """
    data = read_bytes(path)
    if path.suffix.lower() in (".pls", ".xml"):
        from drillgen.speech.pronounce.pls import read_pls

        return read_pls(data, str(path))
    if not data.strip():
        return Overrides()
    return parse_overrides(decode_text(data, str(path)), str(path), first_entry(lexicon))


def gather_words(paths: Sequence[Path] | None, lexicon: Lexicon) -> Overrides:
    """All overrides: those of `paths` first, then the personal word list if there is one."""
    own = personal_words()
    found = [read_words(path, lexicon) for path in paths or ()]
    if own.is_file():
        found.append(read_words(own, lexicon))
    for overrides in found:
        for warning in overrides.warnings:
            typer.echo(f"drillgen: {warning}", err=True)
    return merge_overrides(found)


def load_engine(words: Sequence[Path] | None, accent: str) -> Engine:
    """The engine for a command, with the user's word lists."""
    from drillgen.speech.pipeline import Engine

    lexicon = Lexicon.load()
    return Engine.load(lexicon=lexicon, overrides=gather_words(words, lexicon), accent=accent)


def read_accent(text: str) -> str:
    """Read --accent."""
    return parse_accent(text, "--accent")


def read_input(name: str, encoding: str | None = None) -> Passage:
    """Read a file, or standard input for "-"."""
    if name == "-":
        if sys.stdin.isatty():
            typer.echo("Type or paste the text, then press Ctrl-D.", err=True)
        data = sys.stdin.buffer.read()
        title, text = take_title(decode_text(data, "standard input", encoding))
        return Passage(text, title, "standard input")
    return read_passage(Path(name), encoding)


def passage_of(text: str) -> Passage:
    """A passage from --text."""
    if not text.strip():
        raise InputError("there is no text in it", "give at least one word", file="--text")
    if any("\ud800" <= character <= "\udfff" for character in text):
        raise InputError("not in the terminal's encoding", "put the text in a file", file="--text")
    return Passage(text, "", "--text")


def check_folder(path: Path) -> None:
    """Fail early, before any work, if a file can't be put there."""
    folder = path.parent
    if not folder.is_dir():
        raise OutputError(f"the folder {folder} does not exist", "make it first", file=path)
    if path.is_dir():
        raise OutputError("this is a folder", "name a file", file=path)
    if not os.access(folder, os.W_OK):
        raise OutputError("no permission to write there", "choose another folder", file=path)


def read_passages(
    files: Sequence[str] | None, text: str | None, encoding: str | None
) -> tuple[Passage, ...]:
    """The texts of a command: --text, files, or one of our passages."""
    if text is None and not files:
        from drillgen.corpus.reader import load_default_passage

        return (load_default_passage(),)
    return read_texts(files, text, encoding)


def read_texts(
    files: Sequence[str] | None, text: str | None, encoding: str | None
) -> tuple[Passage, ...]:
    """The texts of a command that has no passage of its own to fall back on."""
    if text is not None:
        if files:
            raise OptionError("--text and files don't go together", "give one of them")
        return (passage_of(text),)
    if not files:
        raise InputError("there is no text", "name a file, or use - or --text")
    if files.count("-") > 1:
        raise OptionError("- (standard input) can be named once only")
    return tuple(read_input(name, encoding) for name in files)


def stem_of(passage: Passage) -> str:
    """What a file made of a passage is named after."""
    if passage.source in ("", "--text", "standard input"):
        return "text"
    return Path(passage.source).stem


def report_doubts(items: Iterable[ReviewItem], *, listed: bool = True) -> None:
    """Name the words to check, and those that were guessed, on stderr.

    `listed`: the sheet has the list too.
    """
    doubts: dict[str, None] = {}
    guesses: dict[str, None] = {}
    for item in items:
        (doubts if item.doubtful else guesses)[item.word] = None
    if doubts:
        hint = "see the list on the sheet, or" if listed else "to look at them,"
        typer.echo(
            f"{len(doubts)} word(s) to check: {_some_of(doubts)}; {hint} run drillgen review",
            err=True,
        )
    if guesses:
        typer.echo(f"guessed from the spelling, probably right: {_some_of(guesses)}", err=True)


def _some_of(words: Iterable[str]) -> str:
    names = list(words)
    more = f" and {len(names) - 8} more" if len(names) > 8 else ""
    return ", ".join(names[:8]) + more
