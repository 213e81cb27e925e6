"""A client's settings, pronunciations, history and log: one plain TOML file a client.

The file is named after an alias. A person can read, edit, copy, move and delete it; it
is made for its owner alone, and written whole. docs/clients.md explains each key.
"""

from __future__ import annotations

import difflib
import os
import re
import tomllib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, fields
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final

from drillgen.core.accents import DEFAULT_ACCENT, load_accent, parse_accent
from drillgen.core.errors import (
    DrillgenError,
    InputError,
    OptionError,
    OutputError,
    placed,
    raise_all,
)
from drillgen.core.files import hold, make_folder, write_whole
from drillgen.core.options import (
    MAX_BREATH,
    MAX_REPETITIONS,
    MAX_RUNGS,
    MIN_BREATH,
    PageSize,
    Strategy,
    Unit,
    Watch,
    parse_choice,
    parse_locale,
)
from drillgen.core.pitch import parse_pitch
from drillgen.core.sources import decode_text, read_bytes
from drillgen.practice.log import LogEntry, format_log, merge_logs, parse_log
from drillgen.practice.takes import TakeRow, format_takes, parse_takes
from drillgen.speech.swap.targets import parse_target

ENDING: Final = ".toml"
MAX_ALIAS: Final = 40

Setting = str | int | bool

_ALIAS = re.compile(r"[^\W_][\w-]*")
_HEAD: Final = """\
# What drillgen knows of one client. Plain text: read, edit, copy or delete it.
# The name of the file is an alias; write no real name into it.
"""


@dataclass(frozen=True, slots=True)
class Client:
    """What one file says; None where it says nothing and the default holds."""

    alias: str
    file: Path
    pitch: str | None = None
    """A note, a frequency in hertz, or none."""

    accent: str | None = None
    locale: str | None = None
    target: str | None = None
    size: str | None = None
    """Of the paper."""

    large: bool | None = None
    """Large print."""

    discreet: bool | None = None
    rungs: int | None = None
    partial: str | None = None
    watch: str | None = None
    breath: int | None = None
    """Syllables of a breath group at most."""

    repetitions: int | None = None
    unit: str | None = None
    """Where on the way from syllable to conversation the client is."""

    words: str = ""
    """Own pronunciations: the text of a word list (drillgen.speech.pronounce.overrides),
    with so many empty lines before it that its line numbers are those of the file."""

    prompts: tuple[tuple[str, ...], ...] = ()
    """Keys of the prompts that were used: those of each sheet, in order."""

    passages: tuple[str, ...] = ()
    """File names of the texts that were used, in order."""

    log: str = ""
    """The text of a log (drillgen.practice.log), with empty lines before it as in `words`."""

    takes: str = ""
    """The measures of checked takes (drillgen.practice.takes), as CSV."""

    @property
    def settings(self) -> Mapping[str, Setting]:
        """What the file says of the options, by their names."""
        found = {name: getattr(self, name) for name in SETTINGS}
        return MappingProxyType(
            {name: value for name, value in found.items() if value is not None}
        )

    @property
    def used_prompts(self) -> tuple[str, ...]:
        """The keys of all prompts that were used."""
        return tuple(key for sheet in self.prompts for key in sheet)

    def read_log(self) -> tuple[LogEntry, ...]:
        """The sessions so far. InputError with file and line for a bad cell."""
        return parse_log(self.log, name=str(self.file)) if self.log.strip() else ()


def _whole(low: int, high: int) -> Callable[[Any], int]:
    def check(value: Any) -> int:
        if not isinstance(value, int) or isinstance(value, bool) or not low <= value <= high:
            raise OptionError(f"{value!r} does not fit", f"write a whole number, {low} to {high}")
        return value

    return check


def _truth(value: Any) -> bool:
    if not isinstance(value, bool):
        raise OptionError(f"{value!r} does not fit", "write true or false, without quotes")
    return value


def _words(check: Callable[[str], object]) -> Callable[[Any], str]:
    def read(value: Any) -> str:
        if not isinstance(value, str) or not value.strip():
            raise OptionError(f"{value!r} does not fit", 'write it in quotes, such as "G3"')
        check(value)
        return value.strip()

    return read


def _check_pitch(value: Any) -> str:
    text = str(value).strip() if not isinstance(value, (bool, list, dict)) else ""
    if text.lower() != "none":
        parse_pitch(text)
    return text


SETTINGS: Final[Mapping[str, Callable[[Any], Setting]]] = MappingProxyType(
    {
        "pitch": _check_pitch,
        "accent": _words(lambda text: parse_accent(text, "accent")),
        "locale": _words(parse_locale),
        "target": _words(str),
        "size": _words(lambda text: parse_choice(PageSize, text, "size")),
        "large": _truth,
        "discreet": _truth,
        "rungs": _whole(0, MAX_RUNGS),
        "partial": _words(lambda text: parse_choice(Strategy, text, "partial")),
        "watch": _words(lambda text: parse_choice(Watch, text, "watch")),
        "breath": _whole(MIN_BREATH, MAX_BREATH),
        "repetitions": _whole(1, MAX_REPETITIONS),
        "unit": _words(lambda text: parse_choice(Unit, text, "unit")),
    }
)
"""Settings, which carry the names of options, and how a value is checked."""


def check_setting(name: str, value: Any) -> Setting:
    """The value of a setting as it is kept. OptionError, with its name, where it doesn't fit."""
    try:
        return SETTINGS[name](value)
    except OptionError as error:
        error.what = error.what if error.what.startswith(name) else f"{name}: {error.what}"
        raise


TEXTS: Final = ("words", "log", "takes")
"""Keys whose value is a text of several lines."""

KEYS: Final = tuple(f.name for f in fields(Client) if f.name not in ("alias", "file"))
"""All keys of a file."""


def check_alias(alias: str) -> str:
    """An alias in lower case. OptionError for what can't be a file name or looks like a name.

    >>> check_alias("Robin-2")
    'robin-2'
    """
    name = alias.strip().lower()
    if not _ALIAS.fullmatch(name) or len(name) > MAX_ALIAS:
        mend = "use letters, digits and hyphens, such as robin; an alias, never a real name"
        raise OptionError(f"{alias!r} can't be an alias", mend)
    return name


def client_file(alias: str, folder: Path) -> Path:
    """The file of a client."""
    return folder / f"{check_alias(alias)}{ENDING}"


def list_clients(folder: Path) -> tuple[Path, ...]:
    """The files of all clients, by alias; none where there is no such folder."""
    try:
        # Not by a pattern, which passes over what can't be read.
        return tuple(sorted(p for p in folder.iterdir() if p.suffix == ENDING and p.is_file()))
    except FileNotFoundError:
        return ()
    except OSError as error:
        raise InputError(f"can't be read ({error.strerror})", "check it", file=folder) from None


def read_client(file: Path) -> Client:
    """Read a client's file.

    Raises InputError for a file that isn't there or isn't TOML, and for unknown keys and
    bad values, all at once, each with its line.
    """
    if not file.is_file():
        known = ", ".join(path.stem for path in list_clients(file.parent))
        mend = f"make one: drillgen client new {file.stem}"
        mend = f"choose one of: {known}; or {mend}" if known else mend
        raise InputError(f"there is no client {file.stem!r}", mend, file=file.parent)
    data = read_bytes(file)
    return parse_client(decode_text(data, str(file)) if data.strip() else "", file)


def parse_client(text: str, file: Path) -> Client:
    """A client from the text of its file; see `read_client`."""
    try:
        table = tomllib.loads(text.replace("\r\n", "\n"))
    except tomllib.TOMLDecodeError as error:
        line = re.search(r"at line (\d+)", str(error))
        what = re.sub(r"\s*\(at .*", "", str(error))
        mend = 'write it like: pitch = "G3"'
        raise InputError(
            f"not TOML ({what})", mend, file=file, line=int(line[1]) if line else 0
        ) from None
    errors: list[DrillgenError] = []
    found: dict[str, Any] = {}
    for key, value in table.items():
        try:
            with placed(file, _line_of(key, text)):
                found[key] = _read_value(key, value, text)
        except DrillgenError as error:
            errors.append(error)
    if "target" in found:
        try:
            with placed(file, _line_of("target", text)):
                parse_target(found["target"], load_accent(found.get("accent", DEFAULT_ACCENT)))
        except DrillgenError as error:
            errors.append(error)
    raise_all(errors)
    return Client(file.stem, file, **found)


def _read_value(key: str, value: Any, text: str) -> object:
    if key in SETTINGS:
        return check_setting(key, value)
    if key in TEXTS:
        if not isinstance(value, str):
            raise InputError(f"{key} is no text", f'write it between {key} = """ and """')
        line = _line_of(key, text)
        opened = re.search(r"(\"\"\"|''')\s*$", text.splitlines()[line - 1]) if line else None
        return "\n" * (line if opened else line - 1) + value
    if key == "passages" and _is_list(value, str):
        return tuple(value)
    if key == "prompts" and _is_list(value, list) and all(_is_list(v, str) for v in value):
        return tuple(tuple(sheet) for sheet in value)
    if key == "passages":
        raise InputError("passages is no list of file names", 'write passages = ["quay.txt"]')
    if key == "prompts":
        raise InputError("prompts is no list of lists", 'write prompts = [["food-1-tea"]]')
    near = difflib.get_close_matches(key, KEYS, 1)
    mend = f"did you mean {near[0]}?" if near else f"the keys are: {', '.join(KEYS)}"
    raise InputError(f"the key {key!r} is unknown", mend)


def _is_list(value: object, kind: type) -> bool:
    return isinstance(value, list) and all(isinstance(part, kind) for part in value)


def _line_of(key: str, text: str) -> int:
    """The line where a key stands, from 1; 0 if that isn't plain."""
    mark = re.search(rf"^[ \t]*(?:\[?\"?{re.escape(key)}\"?\]?)[ \t]*(?:=|\n|$)", text, re.M)
    return text.count("\n", 0, mark.start()) + 1 if mark else 0


def edit_client(
    file: Path, changes: Mapping[str, object] | Callable[[Client], Mapping[str, object]]
) -> Client:
    """Write changes into a client's file, or make it; a value of None takes a key out. They may
    come of the client as it is then.

    All else in the file stays, comments too. The folder and a new file are for the owner
    alone. Nothing is written where a value doesn't fit (see `read_client`).
    """
    with hold(file):
        data = read_bytes(file) if file.is_file() else b""
        old = decode_text(data, str(file)) if data.strip() else _HEAD
        now = parse_client(old, file)
        text = _change(old, changes(now) if callable(changes) else changes)
        client = parse_client(text, file)
        make_folder(file.parent)
        write_whole(file, text.encode(), private=True)
    return client


def _change(old: str, changes: Mapping[str, object]) -> str:
    import tomlkit

    document = tomlkit.parse(old.replace("\r\n", "\n"))
    for key, value in changes.items():
        if value is None:
            document.pop(key, None)
        elif isinstance(value, str) and key in TEXTS:
            quoted = tomlkit.string(f"{value.strip()}\n", multiline=True).as_string()
            document[key] = tomlkit.value(f'"""\n{quoted[3:]}')
        elif key == "prompts" and isinstance(value, tuple):
            document[key] = tomlkit.array(str([list(sheet) for sheet in value])).multiline(True)
        else:
            document[key] = list(value) if isinstance(value, tuple) else value
    return tomlkit.dumps(document)


def edit_words(file: Path, change: Callable[[str], str]) -> Client:
    """Change the word list in a client's file."""
    return edit_client(file, lambda now: {"words": change(now.words.lstrip("\n"))})


def check_editable(client: Client) -> None:
    """Fail before any work where a client's file can't be changed. OutputError."""
    for path in (client.file, client.file.parent):
        if not os.access(path, os.W_OK):
            mend = "allow writing there, or work without this client"
            raise OutputError("it is write-protected", mend, file=path)


def note_used(
    client: Client,
    passages: Iterable[str] = (),
    prompts: Iterable[tuple[str, ...]] = (),
    instead_of: Client | None = None,
) -> Client:
    """Write into a client's file what was practised with: names of texts, those used last at the
    end, and the prompts of each sheet by their keys. What other runs noted since `client` was
    read stays.

    `instead_of`: the client as it was read, where `client` is without what a week that is made
    again had noted; that goes from the file.
    """
    texts, sheets = dict.fromkeys(passages), tuple(filter(None, prompts))
    was = instead_of or client
    old_texts = was.passages[len(client.passages) :]
    old_sheets = was.prompts[len(client.prompts) :]

    def change(now: Client) -> Mapping[str, object]:
        names = [name for name in now.passages if name not in texts and name not in old_texts]
        kept = list(now.prompts)
        for sheet in old_sheets:
            if sheet in kept:
                kept.remove(sheet)
        return {
            **({"passages": (*names, *texts)} if texts else {}),
            **({"prompts": (*kept, *sheets)} if sheets else {}),
        }

    return edit_client(client.file, change) if texts or sheets else client


def add_log(client: Client, entries: Iterable[LogEntry]) -> Client:
    """Take the sessions of a filled log; a session that is there already is replaced."""
    new = tuple(entries)
    return edit_client(
        client.file, lambda now: {"log": _as_text(format_log(merge_logs(now.read_log(), new)))}
    )


def take_log(client: Client, text: str, name: str) -> tuple[str, str]:
    """Take a filled log in: how many sessions are new, and what is next, in words.

    InputError where it is no log, or nothing is filled in.
    """
    from drillgen.practice.plan import advise_step

    entries = parse_log(text, name=name)
    if not entries:
        raise InputError("no session is filled in", "tick a cell of each session", file=name)
    sessions = add_log(client, entries).read_log()
    new = len(sessions) - len(client.read_log())
    what = f"{new} new session{'s' * (new != 1)}, {len(sessions)} in all"
    return what, advise_step(sessions).reason


def add_take(client: Client, row: TakeRow) -> Client:
    """Note the measures of a take; its sound is kept nowhere."""
    return edit_client(
        client.file, lambda now: {"takes": _as_text(format_takes((*read_takes(now), row)))}
    )


def _as_text(table: str) -> str:
    return table.replace("\r\n", "\n")


def read_takes(client: Client) -> tuple[TakeRow, ...]:
    """The measures of the takes so far. InputError for a bad row."""
    return parse_takes(client.takes.strip(), str(client.file))
