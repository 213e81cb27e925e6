"""The options that commands share: each is declared once, and read once.

A command takes them in bundles: `with_options` turns a parameter whose type is one
of the dataclasses here into an option for each of its fields.
"""

from __future__ import annotations

import datetime
import functools
import inspect
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields, is_dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Final, get_type_hints

import typer

from drillgen.cli.common import (
    complete_client,
    find_client,
    load_engine,
    personal_words,
    read_accent,
    read_texts,
)
from drillgen.cli.output import Outputs, read_formats
from drillgen.core.accents import DEFAULT_ACCENT
from drillgen.core.errors import OptionError, placed
from drillgen.core.options import (
    BREATH,
    MAX_REPETITIONS,
    DrillOptions,
    Format,
    PageOptions,
    PageSize,
    Strategy,
    Watch,
    parse_choice,
    parse_locale,
)
from drillgen.core.pitch import parse_pitch
from drillgen.core.values import Passage, Pitch, Worksheet

if TYPE_CHECKING:
    from drillgen.practice.clients import Client
    from drillgen.speech.pipeline import Engine

    ForClient = Client | None
else:
    # Never an option: `with_options` fills it in. Clients load only when one is named.
    ForClient = object


def option(text: str, *names: str, panel: str | None = None, **more: Any) -> Any:
    """An option with its help; named after its parameter where no names are given.

    `panel`: the part of the help that it stands in.
    """
    return typer.Option(*names, help=text, rich_help_panel=panel, **more)


of_text: Final = functools.partial(option, panel="Texts and files")
of_drill: Final = functools.partial(option, panel="The drill")
of_sheet: Final = functools.partial(option, panel="The sheet")
of_files: Final = functools.partial(option, panel="Texts and files")
of_client: Final = functools.partial(option, panel="The client")
of_when: Final = functools.partial(option, panel="When")


def of_out(text: str) -> Any:
    """Where the result goes, with its help."""
    return of_files(text, "--out", "-o")


WordLists = Annotated[
    list[Path] | None, of_drill("Your own pronunciations: a list, CSV or PLS.", "--words")
]
TargetVowel = Annotated[str, of_drill("i, ɪ, e … or FLEECE, KIT, FACE …", "--target")]
AccentName = Annotated[
    str,
    of_drill(
        "american (the default; also rhotic), british (also non-rhotic), australian, scottish.",
        "--accent",
        show_default=False,
    ),
]
Force = Annotated[bool, of_files("Replace files that this command did not make.", "--force")]


AsJson = Annotated[bool, option("Print JSON.", "--json")]
ClientName = Annotated[
    str | None,
    of_client(
        "A client's alias or file: its settings hold.", "--client", autocompletion=complete_client
    ),
]


@dataclass(frozen=True)
class GivenTexts:
    """Texts that the user names."""

    files: Annotated[
        list[str] | None,
        typer.Argument(metavar="FILE", help="Text files, or - for standard input."),
    ] = None
    text: Annotated[str | None, of_text("The text itself.")] = None
    encoding: Annotated[str | None, of_text("Encoding of texts, such as cp1252.")] = None

    def passages(self) -> tuple[Passage, ...]:
        """The texts, read."""
        return read_texts(self.files, self.text, self.encoding)

    @property
    def read_files(self) -> tuple[Path, ...]:
        """The files that are read."""
        return tuple(Path(name) for name in self.files or () if name != "-")


@dataclass(frozen=True)
class Texts(GivenTexts):
    """Texts that the user names, or a passage of ours."""

    files: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="FILE", help="Text files, or - for standard input. None: a passage of ours."
        ),
    ] = None

    def passages(self) -> tuple[Passage, ...]:
        """The texts, read."""
        if self.text is None and not self.files:
            from drillgen.corpus.reader import load_default_passage

            return (load_default_passage(),)
        return super().passages()


@dataclass(frozen=True)
class Saying:
    """How words are said."""

    accent: AccentName = DEFAULT_ACCENT
    locale: Annotated[
        str, of_drill("american or british; as a rule, the accent's.", show_default=False)
    ] = ""
    words: WordLists = None
    client: ForClient = None
    """Whose own pronunciations hold; `with_options` fills it in."""

    @property
    def options(self) -> DrillOptions:
        """As the pipeline takes them."""
        return DrillOptions(accent=read_accent(self.accent), locale=parse_locale(self.locale))

    def engine(self) -> Engine:
        """The engine, with the word lists read."""
        return load_engine(self.words, self.options.accent, self.client)

    @property
    def read_files(self) -> tuple[Path, ...]:
        """The files that are read."""
        own = (self.client.file,) if self.client else ()
        return (*(self.words or ()), *own, personal_words())


@dataclass(frozen=True)
class Speech(Saying):
    """How words are said, and the vowel that they are said with."""

    target: TargetVowel = "i"

    @property
    def options(self) -> DrillOptions:
        """As the pipeline takes them."""
        return replace(super().options, target=self.target)


@dataclass(frozen=True)
class Grading(Speech):
    """How words are said, and the versions of a drill."""

    partial: Annotated[str, of_drill("Swapped first: " + ", ".join(Strategy) + ".")] = (
        Strategy.STRESSED.value
    )
    rungs: Annotated[int, of_drill("Partial versions: 0 to 12.")] = 1
    watch: Annotated[str, of_drill("Vowels underlined: " + ", ".join(Watch) + ".")] = (
        Watch.FAR.value
    )
    breath: Annotated[int, of_drill("Syllables a breath: 4 to 40.")] = BREATH

    @property
    def options(self) -> DrillOptions:
        """As the pipeline takes them."""
        strategy = parse_choice(Strategy, self.partial, "--partial")
        watch = parse_choice(Watch, self.watch, "--watch")
        graded = replace(super().options, strategy=strategy, rungs=self.rungs)
        return replace(graded, watch=watch, breath=self.breath)


Discreet = Annotated[bool, of_sheet("Neutral wording: no word of the purpose.", "--discreet")]


@dataclass(frozen=True)
class Heading:
    """The heading, and how openly a sheet speaks."""

    title: Annotated[str, of_sheet("Heading.")] = ""
    discreet: Discreet = False


@dataclass(frozen=True)
class Pitched(Heading):
    """The heading with a pitch beside it."""

    pitch: Annotated[str, of_sheet("Target pitch: G3, 196, or none.")] = "G3"

    @property
    def tone(self) -> Pitch | None:
        """The pitch; None where none is wanted."""
        return None if self.pitch.strip().lower() == "none" else parse_pitch(self.pitch)


@dataclass(frozen=True)
class Practice(Pitched):
    """What a sheet says besides the drill."""

    repetitions: Annotated[int, of_sheet("Boxes to tick: 1 to 12.")] = 3

    @property
    def head(self) -> Worksheet:
        """A worksheet without drills yet."""
        if not 1 <= self.repetitions <= MAX_REPETITIONS:
            problem = f"--repetitions must be 1 to {MAX_REPETITIONS}, not {self.repetitions}"
            raise OptionError(problem)
        return Worksheet((), self.title, self.tone, self.repetitions, self.discreet)


@dataclass(frozen=True)
class Paper:
    """The page."""

    size: Annotated[str, of_sheet("a4 or letter.")] = PageSize.A4.value
    large: Annotated[bool, of_sheet("Large print.", "--large")] = False

    @property
    def page(self) -> PageOptions:
        """As the writers take it."""
        return PageOptions(parse_choice(PageSize, self.size, "--size"), self.large)


@dataclass(frozen=True)
class Schedule:
    """When there are sessions, and how long."""

    weeks: Annotated[int, of_when("1 to 52.")] = 6
    days: Annotated[int, of_when("Sessions a week: 1 to 7.")] = 5
    weekdays: Annotated[
        str, of_when("These days instead, such as mon,wed,fri.", show_default=False)
    ] = ""
    skip: Annotated[
        list[str] | None, of_when("A day without a session: 2030-01-31. Repeatable.")
    ] = None
    minutes: Annotated[int, of_when("Length of a session: 5 to 60.")] = 15
    start: Annotated[str | None, of_when("First day, such as 2030-01-31.")] = None

    @property
    def first_day(self) -> datetime.date | None:
        """The first day, if one was given."""
        from drillgen.practice.plan import parse_day

        with placed("--start"):
            return None if self.start is None else parse_day(self.start)

    @property
    def when(self) -> dict[str, Any]:
        """As `drillgen.practice.plan.make_plan` takes them, but for the first day."""
        from drillgen.practice.plan import parse_day, parse_weekdays

        with placed("--weekdays"):
            weekdays = parse_weekdays(self.weekdays)
        with placed("--skip"):
            skip = frozenset(map(parse_day, self.skip or ()))
        return {
            "weeks": self.weeks,
            "days": self.days,
            "weekdays": weekdays,
            "skip": skip,
            "minutes": self.minutes,
        }


@dataclass(frozen=True)
class Output:
    """Where the result goes."""

    out: Annotated[Path | None, of_out("The file to write, or - to print.")] = None
    force: Force = False
    made_by: str = ""
    """The command with its options, in words; `with_options` fills it in."""

    def open(
        self,
        *bundles: GivenTexts | Saying,
        reads: tuple[Path | None, ...] = (),
        notes: Client | None = None,
    ) -> Outputs:
        """Where files are claimed and written; the files of the bundles are never replaced.

        `notes`: the client into whose file the run will write what it used. OutputError where
        that can't be.
        """
        if notes is not None:
            from drillgen.practice.clients import check_editable

            check_editable(notes)
        read = [path for bundle in bundles for path in bundle.read_files]
        named = [path for path in reads if path is not None]
        return Outputs((*read, *named), self.made_by, force=self.force)


@dataclass(frozen=True)
class Documents(Output):
    """Where a document goes, in one or more formats."""

    formats: Annotated[
        list[str] | None, of_files(f"{', '.join(Format)}. Repeatable.", "--format", "-f")
    ] = None

    def plan(self, outputs: Outputs, stem: str) -> Mapping[Format, Path | None]:
        """Claim a file for each format; None is standard output."""
        chosen = read_formats(self.formats, self.out, Format.PDF)
        return outputs.plan(chosen, self.out, stem)


_NOT_OPTIONS: Final = frozenset(("files", "text", "title", "encoding", "out", "formats", "force"))
"""What says nothing of the kind of a file: the text itself, its name and its place."""


_FILLED_IN: Final = ("made_by", "client")
"""Fields that `with_options` fills in: no options of their own."""

_SETTINGS: Final = {"first": "unit"}
"""Options that carry another name than the setting of the client."""


def with_options(command: Callable[..., None], *, of_client: bool = True) -> Callable[..., None]:
    """The command as typer takes it: each field of a bundle is an option of its own.

    A command with an option that a client's file can set, or with a parameter `client`, has
    the option --client, too (unless not `of_client`). What stands on the
    command line goes before the client's setting, and that before the default; discreet it
    is where either says so.
    """
    hints = get_type_hints(command, include_extras=True)
    bundles: dict[str, Any] = {n: kind for n, kind in hints.items() if is_dataclass(kind)}
    options: dict[str, tuple[Any, Any]] = {}
    for name, own in inspect.signature(command).parameters.items():
        kind = bundles.get(name)
        known = get_type_hints(kind, include_extras=True) if kind else hints
        defaults = {f.name: f.default for f in fields(kind)} if kind else {name: own.default}
        options |= {option: (known[option], value) for option, value in defaults.items()}
    whose = of_client and not {"client", "pitch", "discreet", "target"}.isdisjoint(options)
    annotations = {n: kind for n, (kind, _) in options.items() if n not in _FILLED_IN}
    annotations |= {"context": typer.Context} | ({"client": ClientName} if whose else {})
    parameters = [
        inspect.Parameter(
            name,
            inspect.Parameter.KEYWORD_ONLY,
            default=options[name][1] if name in options else None,
            annotation=kind,
        )
        for name, kind in annotations.items()
        if name != "context"
    ]
    context = inspect.Parameter(
        "context", inspect.Parameter.KEYWORD_ONLY, annotation=typer.Context
    )

    @functools.wraps(command)
    def run(context: typer.Context, **given: Any) -> None:
        client = find_client(given["client"]) if given.get("client") else None
        if client is not None:
            given |= _settings_for(client, given, context)
        simple = {
            name: value
            for name, value in given.items()
            if name not in _NOT_OPTIONS and isinstance(value, (str, int, float))
        }
        given |= {"made_by": f"{command.__name__} {sorted(simple.items())}", "client": client}
        taken = {
            name: kind(**{f.name: given[f.name] for f in fields(kind)})
            for name, kind in bundles.items()
        }
        own = {name: given[name] for name in hints if name in given and name not in bundles}
        command(**own, **taken)

    run.__signature__ = inspect.Signature([context, *parameters])  # type: ignore[attr-defined]
    run.__annotations__ = annotations
    return run


def _settings_for(
    client: Client, given: Mapping[str, Any], context: typer.Context
) -> dict[str, Any]:
    """What a client's file says of the options that were not given.

    An option without a default asks for something of its own, as --rungs of `difficulty`
    does, and "none" is a pitch for sheets only.
    """
    from_client = {}
    for option, value in given.items():
        said = client.settings.get(_SETTINGS.get(option, option))
        source = context.get_parameter_source(option)
        was_given = source is not None and source.name != "DEFAULT"
        silent = said == "none" and context.info_name in ("voice", "tone")
        if said is None or value is None or silent or (was_given and option != "discreet"):
            continue
        from_client[option] = value or said if option == "discreet" else said
    return from_client
