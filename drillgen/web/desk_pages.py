"""The other pages of the desk: prompts, ladder, plan, sentences, clients."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from functools import partial
from itertools import groupby
from typing import TYPE_CHECKING, Any, Final
from urllib.parse import quote

import anyio.to_thread
from msgspec.structs import replace
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from drillgen.core.accents import DEFAULT_ACCENT, list_accents, load_accent, parse_accent
from drillgen.core.errors import DrillgenError, InputError, OptionError
from drillgen.core.options import Locale, Unit, parse_choice, parse_locale
from drillgen.core.values import Delivery
from drillgen.corpus.reader import LEXICAL_SETS, STEPS, Prompt
from drillgen.practice.clients import SETTINGS, check_alias, client_file, edit_client, take_log
from drillgen.sound.models import LONGEST
from drillgen.sound.synth import RATE
from drillgen.speech.swap.targets import parse_target
from drillgen.web import checking, desk, recording
from drillgen.web.forms import Choices, Download, Fields, read_choices, read_form
from drillgen.web.guard import read_body
from drillgen.web.workshop import File, Lane, Workshop

if TYPE_CHECKING:
    from drillgen.web.app import Page

LOOK_POLICY: Final = (
    "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'; "
    "frame-ancestors 'none'"
)
"""For our own static page, whose style stands in it; its own policy names that by its hash."""

PRACTICE_POLICY: Final = "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
"""For a practice page, whose own policy names its style and script by their hashes."""

MICROPHONE: Final = "camera=(), geolocation=(), microphone=(self)"

_TICKS: Final = ("large", "discreet")


class DeskPages:
    """The handlers. What they share with the first page is the page's."""

    def __init__(self, page: Page) -> None:
        self._page: Final = page
        self._prompts: Final = {p.key: p for p in page.collection.prompts[Locale.EN_US]}

    def routes(self) -> list[Route]:
        """Address and handler of each page."""
        both = ["GET", "POST"]
        return [
            Route("/prompts", self.prompts, methods=both),
            Route("/own", self.own, methods=["GET"]),
            Route("/practise", self.practise, methods=["POST"]),
            Route("/ladder", self.ladder, methods=both),
            Route("/plan", self.plan, methods=both),
            Route("/find", self.find, methods=both),
            Route("/clients", self.clients, methods=both),
            Route("/client", self.client, methods=["GET"]),
            Route("/progress", self.progress, methods=["POST"]),
            Route("/record", self.record, methods=["POST"]),
            Route("/recorded", self.recorded, methods=["POST"]),
            Route("/check", self.check, methods=["POST"]),
            Route("/checked", self.checked, methods=["POST"]),
        ]

    async def prompts(self, request: Request) -> Response:
        """Prompts to browse by topic and step; a sheet of those that are ticked."""
        if request.method == "POST":
            fields = await self._page.read(request)
            picks = desk.read_picks(fields, self._prompts)
            chosen = tuple(self._prompts[key] for key in picks)
            return await self._make(fields, desk.make_prompts, prompts=chosen)
        query = request.query_params
        topic, step = query.get("topic", ""), query.get("step", "")
        locale = parse_locale(query.get("words", "")) or Locale.EN_US
        every = self._page.collection.prompts[locale]
        shown: tuple[Prompt, ...] = ()
        if topic or step:
            shown = desk.choose_shown(every, topic, step)
        topics = desk.list_topics(every)
        names = {row.key: row.name for row in topics}
        groups = [
            (f"{names[key[1]]}, step {key[0]}", tuple(group))
            for key, group in groupby(shown, key=_step_and_topic)
        ]
        return await self._show(
            "prompts.html.j2",
            topics=topics,
            groups=groups,
            topic=topic,
            step=step,
            steps=STEPS,
            words=locale,
            of_accents={name: load_accent(name).locale for name in list_accents()},
        )

    async def own(self, request: Request) -> Response:
        """A question, and room for an answer of one's own."""
        query = request.query_params
        choices = read_choices({"locale": query.get("words", "")}, self._page.limits)
        asked = self._page.collection.take(choices, "prompt", query.get("taken", ""))
        return await self._show(
            "own.html.j2",
            choices=replace(asked, text=""),
            example=asked.text,
            shares=self._page.shares,
        )

    async def practise(self, request: Request) -> Response:
        """The practice page of a text, to practise with at once."""
        _, choices = await self._page.read_choices(request)
        file = await self._page.make_file(choices, Workshop.make_file, kind=Download.PRACTICE)
        headers = {"Content-Security-Policy": PRACTICE_POLICY, "Permissions-Policy": MICROPHONE}
        return Response(file.data, media_type=file.media, headers=headers)

    async def ladder(self, request: Request) -> Response:
        """A booklet from small units to larger ones."""
        if request.method == "POST":
            fields = await self._page.read(request)
            form = read_form(desk.LadderForm, fields)
            sets = desk.read_picks(fields, LEXICAL_SETS)
            return await self._make(fields, desk.make_ladder, form=form, contrasts=sets)
        return await self._show(
            "ladder.html.j2", form=desk.LadderForm(), units=_UNITS, sets=desk.list_sets()
        )

    async def plan(self, request: Request) -> Response:
        """Sessions over some weeks, with log and calendar."""
        if request.method == "POST":
            fields = await self._page.read(request)
            form = read_form(desk.PlanForm, fields)
            log = fields.get("log", "")
            if not log.strip() and fields.get("client"):
                log = (await self._client(fields["client"])).log
            days = desk.read_picks(fields, desk.WEEKDAYS)
            return await self._make(fields, desk.make_plan, form=form, weekdays=days, log=log)
        form = desk.PlanForm(start=datetime.date.today().isoformat())
        return await self._show("plan.html.j2", form=form, units=_UNITS, weekdays=desk.WEEKDAYS)

    async def find(self, request: Request) -> Response:
        """Sentences to practise with, out of a long text."""
        context: dict[str, Any] = {"form": desk.FindForm(), "ticked": (), "finds": None}
        choices = Choices()
        if request.method == "POST":
            fields = await self._page.read(request)
            choices = read_choices(fields, self._page.limits)
            form = read_form(desk.FindForm, fields)
            if not choices.text.strip():
                raise InputError("there is no text yet", "paste one or open a file")
            sets = desk.read_picks(fields, LEXICAL_SETS)
            finds = await self._page.run(
                choices, desk.find_sentences, lane=Lane.SLOW, form=form, rich_in=sets
            )
            context = {"form": form, "ticked": sets, "finds": finds}
        return await self._show(
            "find.html.j2", choices=choices, steps=STEPS, sets=desk.list_sets(), **context
        )

    async def clients(self, request: Request) -> Response:
        """The clients and their settings."""
        done = ""
        alias = request.query_params.get("alias", "")
        if request.method == "POST":
            fields = await self._page.read(request)
            alias = check_alias(fields.get("alias", ""))
            done = await anyio.to_thread.run_sync(partial(self._change, alias, fields))
            if fields.get("act") == "delete":
                alias = ""
        rows = await anyio.to_thread.run_sync(self._describe_all)
        chosen = await self._client(alias) if alias else None
        choices, kept = Choices(), _as_fields(chosen.settings) if chosen else {}
        if chosen is not None:
            choices = read_choices({"text": "", **kept}, self._page.limits)
        return await self._show(
            "clients.html.j2",
            choices=choices,
            rows=rows,
            chosen=chosen,
            unit=kept.get("unit"),
            sessions=next((row["sessions"] for row in rows if row["alias"] == alias), 0),
            units=_UNITS,
            done=done,
        )

    async def client(self, request: Request) -> Response:
        """A client's settings as the fields of a form, for the script."""
        client = await self._client(request.query_params.get("alias", ""))
        return JSONResponse({"fields": _as_fields(client.settings)})

    async def progress(self, request: Request) -> Response:
        """How it went with a client, for the client or the teacher."""
        fields = await self._page.read(request)
        given = {"alias": fields.get("alias", ""), "teacher": "teacher" in fields}
        return await self._make({"format": fields.get("format", "")}, desk.make_progress, **given)

    async def record(self, request: Request) -> Response:
        """The page on which a teacher records the lines of the text."""
        _, choices = await self._page.read_choices(request)
        lines = await self._page.run(choices, recording.list_lines)
        answer = await self._show(
            "record.html.j2",
            choices=choices,
            lines=lines,
            deliveries=_DELIVERIES,
            rate=RATE,
            longest=LONGEST,
        )
        answer.headers["Permissions-Policy"] = MICROPHONE
        return answer

    async def recorded(self, request: Request) -> Response:
        """A practice page with the recordings, or a zip of them."""
        body = await read_body(request, self._page.limits, self._page.limits.recordings)
        sent = recording.read_recorded(body)
        choices = read_choices(sent.fields, self._page.limits)
        work = recording.make_recorded
        file = await self._page.make_file(choices, work, takes=sent.takes, kind=sent.kind)
        return send_file(file)

    async def check(self, request: Request) -> Response:
        """The page that takes a recording of the text."""
        _, choices = await self._page.read_choices(request)
        return await self._show(
            "check.html.j2",
            choices=choices,
            text=checking.read_text(choices),
            installed=checking.can_check(),
            deliveries=_DELIVERIES,
        )

    async def checked(self, request: Request) -> Response:
        """The report on a recording."""
        sent = await checking.read_sent(request, self._page.limits)
        delivery = parse_choice(Delivery, sent.fields.get("delivery", ""), "delivery")
        return await self._make(
            sent.fields,
            checking.check_sent,
            seconds=self._page.limits.take_time,
            take=sent.take,
            before=sent.before,
            delivery=delivery,
        )

    # Inside

    async def _client(self, alias: str) -> Any:
        return await anyio.to_thread.run_sync(self._page.workshop.read_client, alias)

    def _change(self, alias: str, fields: Fields) -> str:
        """Save or delete a client; what was done, in a sentence."""
        folder = self._page.workshop.clients
        if folder is None:
            raise InputError("there are no clients here", "start drillgen serve in a terminal")
        file = client_file(alias, folder)
        act = fields.get("act", "")
        if act == "delete":
            if "sure" not in fields:
                raise InputError("the client was not deleted", "tick “Yes, delete” first")
            self._page.workshop.read_client(alias)
            file.unlink()
            return f"{alias} is deleted, with pronunciations and log."
        if act == "log":
            client = self._page.workshop.read_client(alias)
            return ". ".join(take_log(client, fields.get("log", ""), "The log"))
        if act != "save":
            raise OptionError("this page does not do that", "use one of its buttons")
        choices = read_choices(fields, self._page.limits)
        if fields.get("new") and file.exists():
            raise InputError(f"there is a client {alias!r} already", "choose another alias")
        settings = {
            name: value for name, value in choices.fields if name in SETTINGS and value != ""
        }
        settings |= {name: name in fields for name in _TICKS}
        unit = fields.get("unit", "")
        settings["unit"] = parse_choice(Unit, unit, "unit").value if unit else None
        if "locale" not in settings:
            settings["locale"] = None
        try:
            edit_client(file, {n: getattr(v, "value", v) for n, v in settings.items()})
        except DrillgenError as error:
            error.file = file.name
            raise
        return f"{alias} is saved."

    def _describe_all(self) -> list[dict[str, object]]:
        rows: list[dict[str, object]] = []
        for alias in self._page.workshop.list_clients():
            row: dict[str, object] = {"alias": alias, "problem": ""}
            try:
                client = self._page.workshop.read_client(alias)
                log = client.read_log()
                last = max((entry.date for entry in log if entry.date), default=None)
                row |= {"client": client, "sessions": len(log), "last": last}
            except DrillgenError as error:
                row["problem"] = str(error)
            rows.append(row)
        return rows

    async def _show(
        self, name: str, *, choices: Choices | None = None, **context: Any
    ) -> Response:
        page = self._page
        aliases = await anyio.to_thread.run_sync(page.workshop.list_clients)
        return page.html(
            name,
            state=choices or Choices(),
            options=page.options,
            limits=page.limits,
            clients=aliases,
            here=name.partition(".")[0],
            **context,
        )

    async def _make(self, fields: Fields, work: Any, **given: Any) -> Response:
        """A file of one of these pages: to look at in a tab, or to download."""
        choices = read_choices(fields, self._page.limits)
        kind = parse_choice(desk.Made, fields.get("format", "look"), "format")
        file = await self._page.make_file(choices, work, kind=kind, **given)
        if kind is desk.Made.LOOK:
            headers = {"Content-Security-Policy": LOOK_POLICY}
            return Response(file.data, media_type=file.media, headers=headers)
        return send_file(file)


def send_file(file: File) -> Response:
    """A file to download; letters beyond ASCII in its name go as RFC 8187 has them."""
    plain = file.name.encode("ascii", "ignore").decode()
    named = f'attachment; filename="{plain}"'
    if plain != file.name:
        named += f"; filename*=UTF-8''{quote(file.name)}"
    return Response(file.data, media_type=file.media, headers={"Content-Disposition": named})


def _step_and_topic(prompt: Prompt) -> tuple[int, str]:
    return prompt.step, prompt.topic


_DELIVERIES: Final = [
    ("chant", "Chant: full swap, on one steady note"),
    ("inflected", "Inflected: full swap, with rise and fall"),
    ("carry-over", "Carry-over: the original words"),
]

_UNITS: Final = [(unit.value, unit.value) for unit in Unit]


def _as_fields(settings: Mapping[str, object]) -> dict[str, str]:
    """Settings as a form sends them: each by the name that its list of choices has, whichever of
    its names the file has ("british", "FLEECE", "A4"); a box that isn't ticked is left out."""
    fields = {
        name: "1" if value is True else str(value)
        for name, value in settings.items()
        if value is not False
    }
    if "accent" in fields:
        fields["accent"] = parse_accent(fields["accent"])
    if "target" in fields:
        accent = load_accent(fields.get("accent", DEFAULT_ACCENT))
        fields["target"] = parse_target(fields["target"], accent).symbol
    if "locale" in fields:
        fields["locale"] = str(parse_locale(fields["locale"]) or "")
    chosen = {"size", "partial", "watch", "unit"} & fields.keys()
    return fields | {name: fields[name].lower() for name in chosen}
