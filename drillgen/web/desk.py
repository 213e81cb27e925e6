"""Prompts, ladders, plans and sentences: what the other pages of the desk make.

Plain functions of plain values, like the workshop that they are given first, so that they
can run in a process of their own.
"""

from __future__ import annotations

import calendar
import datetime
import re
from collections import Counter
from collections.abc import Mapping, Sequence
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated, Final, NamedTuple

import msgspec

from drillgen.core.document import Document
from drillgen.core.errors import InputError, OptionError
from drillgen.core.files import SEALS, derive_key
from drillgen.core.options import Format, PageOptions, PageSize, Unit
from drillgen.core.sources import take_title
from drillgen.core.values import Passage, Worksheet
from drillgen.corpus.find import Find, Query, judge_sentences, rank_finds
from drillgen.corpus.find import iter_sentences as iter_plain_sentences
from drillgen.corpus.reader import LEXICAL_SETS, STEPS, Prompt, find_prompts
from drillgen.web.forms import Choices
from drillgen.web.workshop import File, Lane, Workshop
from drillgen.write import render

if TYPE_CHECKING:
    from drillgen.practice.log import LogEntry
    from drillgen.practice.plan import Plan

MOST_PICKED: Final = 24
MOST_FOUND: Final = 200
PICK: Final = "pick-"
"""A tick box of a prompt or lexical set is named after its key."""

WEEKDAYS: Final = {day[:3].lower(): day for day in calendar.day_name}
"""Weekdays by the names that a plan knows, Monday first."""

_MEDIA: Final = {
    Format.PDF: "application/pdf",
    Format.MARKDOWN: "text/markdown; charset=utf-8",
    Format.HTML: "text/html; charset=utf-8",
}


class Made(StrEnum):
    """What a button of these pages asks for."""

    LOOK = "look"
    """A page to look at, in a tab of its own."""

    PDF = "pdf"
    MARKDOWN = "markdown"
    LOG = "log"
    LOG_PDF = "log-pdf"
    WEEK = "week"
    """All that is practised with on these days, as a zip."""

    CALENDAR = "calendar"


_FORMATS: Final = {
    Made.LOOK: Format.HTML,
    Made.PDF: Format.PDF,
    Made.MARKDOWN: Format.MARKDOWN,
    Made.LOG_PDF: Format.PDF,
}


class LadderForm(msgspec.Struct, frozen=True, kw_only=True):
    """A booklet from small units to larger ones."""

    first: Unit = msgspec.field(default=Unit.WORD, name="from")
    last: Unit = msgspec.field(default=Unit.PASSAGE, name="to")
    count: Annotated[int, msgspec.Meta(ge=1, le=24)] = 8
    seed: Annotated[int, msgspec.Meta(ge=1, le=9999)] = 1


class PlanForm(msgspec.Struct, frozen=True, kw_only=True):
    """Sessions over some weeks."""

    weeks: Annotated[int, msgspec.Meta(ge=1, le=52)] = 6
    days: Annotated[int, msgspec.Meta(ge=1, le=7)] = 5
    minutes: Annotated[int, msgspec.Meta(ge=5, le=60)] = 15
    start: str = ""
    """A day as in ISO 8601; empty: none."""

    time: str = ""
    """Time of day in the calendar."""

    skip: str = ""
    """Days without a session, as in ISO 8601, with commas or spaces between them."""

    first: Unit = msgspec.field(default=Unit.SYLLABLE, name="from")
    last: Unit = msgspec.field(default=Unit.CONVERSATION, name="to")


class FindForm(msgspec.Struct, frozen=True, kw_only=True):
    """Sentences out of a long text."""

    step: Annotated[int, msgspec.Meta(ge=1, le=3)] = 1
    count: Annotated[int, msgspec.Meta(ge=1, le=MOST_FOUND)] = 20


class Topic(NamedTuple):
    """A row of the list of topics."""

    key: str
    name: str
    counts: tuple[int, ...]
    """Prompts at each step."""


def list_topics(prompts: Sequence[Prompt]) -> tuple[Topic, ...]:
    """All topics, by name."""
    from drillgen.sheets.prompts import name_topic

    counts = Counter((prompt.topic, prompt.step) for prompt in prompts)
    topics = sorted({prompt.topic for prompt in prompts})
    return tuple(
        Topic(topic, name_topic(topic), tuple(counts[topic, step] for step in STEPS))
        for topic in topics
    )


def choose_shown(prompts: Sequence[Prompt], topic: str, step: str) -> tuple[Prompt, ...]:
    """The prompts of a topic and step; an empty string is any. OptionError for others."""
    if topic and topic not in {prompt.topic for prompt in prompts}:
        raise OptionError("there is no such topic", "choose one from the list")
    if step and step not in map(str, STEPS):
        raise OptionError("a step is 1, 2 or 3", "choose one from the list")
    return tuple(
        prompt
        for prompt in prompts
        if topic in ("", prompt.topic) and step in ("", str(prompt.step))
    )


def read_picks(fields: Mapping[str, str], known: Mapping[str, object]) -> tuple[str, ...]:
    """The keys that are ticked, in the order of `known`."""
    return tuple(key for key in known if PICK + key in fields)


def make_prompts(
    workshop: Workshop, *, choices: Choices, prompts: tuple[Prompt, ...], kind: Made, lane: Lane
) -> File:
    """A sheet of prompts. InputError where none or too many are ticked."""
    from drillgen.sheets.prompts import lay_out_prompts, make_prompt_sheet

    if not prompts:
        raise InputError("no prompt is ticked", "tick one or more")
    if len(prompts) > MOST_PICKED:
        problem = f"{len(prompts)} prompts are ticked"
        raise InputError(problem, f"take {MOST_PICKED} at most")
    prompts = find_prompts((prompt.key for prompt in prompts), choices.drill.spoken_locale)
    with workshop.engine(lane, choices.drill.accent, choices.client) as engine:
        sheet = make_prompt_sheet(prompts, _head(choices), choices.drill, engine)
    return write_document(lay_out_prompts(sheet), kind, choices.page, "prompts")


def make_ladder(
    workshop: Workshop,
    *,
    choices: Choices,
    form: LadderForm,
    contrasts: tuple[str, ...],
    kind: Made,
    lane: Lane,
) -> File:
    """A booklet around these lexical sets; none: the two farthest from the target."""
    from drillgen.sheets import ladder

    chosen = ladder.LadderOptions(
        form.first,
        form.last,
        ladder.read_contrasts(contrasts, choices.drill),
        form.count,
        form.seed,
    )
    with workshop.engine(lane, choices.drill.accent, choices.client) as engine:
        sheet = ladder.make_ladder(chosen, _head(choices), choices.drill, engine)
    return write_document(ladder.lay_out_ladder(sheet), kind, choices.page, "ladder")


def make_plan(
    workshop: Workshop,
    *,
    choices: Choices,
    form: PlanForm,
    weekdays: tuple[str, ...],
    log: str,
    kind: Made,
    lane: Lane,
) -> File:
    """A plan, its log, calendar, or the material of its first week.

    `weekdays`: their names, none for days spread over the week. `log` is a filled log
    (CSV), or nothing.
    """
    from drillgen.practice import plan
    from drillgen.practice.log import parse_log
    from drillgen.sheets.plan import PlanSheet, lay_out_log, lay_out_plan
    from drillgen.sheets.week import PACE

    sessions = parse_log(log, name="The log") if log.strip() else ()
    made = plan.make_plan(
        weeks=1 if kind is Made.WEEK else form.weeks,
        days=form.days,
        minutes=form.minutes,
        start=plan.parse_day(form.start) if form.start.strip() else None,
        rungs=choices.rungs,
        first=form.first,
        last=form.last,
        log=sessions,
        weekdays=plan.parse_weekdays(",".join(weekdays)),
        skip=frozenset(map(plan.parse_day, form.skip.replace(",", " ").split())),
        pace=PACE if kind is Made.WEEK else None,
    )
    sheet = PlanSheet(made, choices.title, choices.discreet)
    match kind:
        case Made.LOG:
            text = plan.format_log_sheet(made, discreet=choices.discreet)
            return File("log.csv", "text/csv; charset=utf-8", text.encode())
        case Made.LOG_PDF:
            return write_document(lay_out_log(sheet), kind, choices.page, "log")
        case Made.WEEK:
            return _make_week(workshop, choices, form, made, sessions, lane)
        case Made.CALENDAR:
            from drillgen.practice.calendar import export_calendar

            if made.start is None:
                raise InputError("a calendar needs a first day", "choose one")
            key = _key_of(workshop, choices.client)
            data = export_calendar(made, time=_time_of(form), key=key)
            return File("plan.ics", "text/calendar; charset=utf-8", data)
    return write_document(lay_out_plan(sheet), kind, choices.page, "plan")


def make_progress(
    workshop: Workshop, *, choices: Choices, alias: str, teacher: bool, kind: Made, **_: Lane
) -> File:
    """A page on the sessions of a client so far."""
    from drillgen.sheets.week import lay_out_progress

    client = workshop.read_client(alias)
    sessions, discreet = client.read_log(), bool(client.settings.get("discreet"))
    if not sessions:
        raise InputError("no session is filled in yet", "take a filled log in first")
    document = lay_out_progress(sessions, discreet=discreet, teacher=teacher)
    size = PageSize(str(client.settings.get("size", choices.size)))
    return write_document(document, kind, PageOptions(size), "progress")


_BETWEEN: Final = re.compile(r"(?:^|\n)[ \t]*\n[ \t]*-{3,}[ \t]*(?:\n|$)")
"""Right under a line, dashes make it a heading (CommonMark)."""


def split_texts(text: str) -> tuple[Passage, ...]:
    """Texts with a line of dashes between empty lines after each but the last.

    >>> [text.title for text in split_texts("# Rain\\nIt rains.\\n\\n---\\n\\nNo more.")]
    ['Rain', '']
    """
    parts = (part.strip() for part in _BETWEEN.split(text))
    return tuple(Passage(rest, title) for title, rest in map(take_title, filter(None, parts)))


def _make_week(
    workshop: Workshop,
    choices: Choices,
    form: PlanForm,
    plan: Plan,
    log: tuple[LogEntry, ...],
    lane: Lane,
) -> File:
    from drillgen.core.files import zip_files
    from drillgen.practice.clients import check_editable, note_used
    from drillgen.sheets.practice_page import make_practice_page
    from drillgen.sheets.week import Printers, Supply, make_days, make_files
    from drillgen.write.page import render_page

    if plan.start is None:
        raise InputError("the material needs a first day", "choose one")
    client = workshop.read_client(choices.client) if choices.client else None
    if client:
        check_editable(client)
    used = (client.used_prompts, client.passages) if client else ((), ())
    supply = Supply(_head(choices), choices.drill, split_texts(choices.text), *used)
    with workshop.engine(lane, choices.drill.accent, choices.client) as engine:
        days = tuple(make_days(plan, supply, engine))
    printers = Printers(
        lambda document: render(document, Format.PDF, choices.page),
        lambda sheet, asks: render_page(make_practice_page(sheet, asks=asks)).encode(),
    )
    at, key = _time_of(form), _key_of(workshop, choices.client)
    files = make_files(plan, days, log, printers, discreet=choices.discreet, time=at, key=key)
    if client:
        sources = (day.source for day in days if day.source)
        note_used(client, sources, (day.prompts for day in days))
    # An alias keeps the days of one client apart from those of another; it is no name.
    stem = f"practice-days-{client.alias}" if client and not choices.discreet else "practice-days"
    return File(f"{stem}.zip", "application/zip", zip_files(files))


def _time_of(form: PlanForm) -> datetime.time | None:
    from drillgen.practice.plan import parse_time

    return parse_time(form.time) if form.time.strip() else None


def _key_of(workshop: Workshop, client: str) -> str:
    """What keeps the calendar of a client apart from those of others, without a name."""
    return derive_key(workshop.words_path.parent / SEALS, client) if client else ""


def find_sentences(
    workshop: Workshop, *, choices: Choices, form: FindForm, rich_in: tuple[str, ...], lane: Lane
) -> tuple[Find, ...]:
    """The sentences of a text that suit a step and a contrast, the richest first."""
    from drillgen.corpus.mining import make_tools

    query = Query(form.step, rich_in)
    with workshop.engine(lane, choices.drill.accent, choices.client) as engine:
        tools = make_tools(engine, choices.drill.target)
        sentences = iter_plain_sentences([choices.passage.text.encode()])
        return rank_finds(judge_sentences(sentences, lambda: tools, query), form.count)


def list_sets() -> dict[str, str]:
    """Lexical sets with what the booklet calls them."""
    from drillgen.sheets.ladder import describe_set

    return {name: describe_set(name) for name in LEXICAL_SETS}


def _head(choices: Choices) -> Worksheet:
    return Worksheet((), choices.title, choices.pitch, choices.repetitions, choices.discreet)


def write_document(document: Document, kind: Made, page: PageOptions, stem: str) -> File:
    """A document as one of the files that its buttons ask for."""
    form = _FORMATS.get(kind)
    if form is None:
        raise OptionError("this page makes no such file", "use one of its buttons")
    name = f"practice-{stem}.{form.value}"
    return File(name, _MEDIA[form], render(document, form, page))
