"""The page's addresses and what each of them answers."""

from __future__ import annotations

import hmac
import re
from collections.abc import AsyncIterator, Awaitable, Callable, Mapping
from contextlib import asynccontextmanager
from functools import partial
from itertools import groupby
from pathlib import Path
from threading import Thread
from typing import Any, Final, NamedTuple, TypeVar

import anyio
import anyio.to_thread
import msgspec
from markupsafe import Markup
from starlette.applications import Starlette
from starlette.requests import ClientDisconnect, Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from drillgen.core.accents import Accent, list_accents, load_accent
from drillgen.core.errors import DrillgenError, InputError, OptionError
from drillgen.core.options import Locale, PageSize, Strategy, Watch, parse_choice
from drillgen.core.resources import resource_folder
from drillgen.core.sources import read_data
from drillgen.core.wording import choose_wording
from drillgen.corpus.reader import CorpusPassage, Prompt, load_passages, load_prompts
from drillgen.corpus.reader import load_default_passage as default_passage
from drillgen.speech.pronounce.places import EVERYWHERE, Scope
from drillgen.speech.swap.targets import list_targets
from drillgen.web.desk_pages import DeskPages, send_file
from drillgen.web.forms import (
    VOICES,
    Choices,
    Download,
    Fields,
    Steps,
    TooLargeError,
    parse_body,
    read_choices,
)
from drillgen.web.guard import COOKIE, Door, Guard, read_body
from drillgen.web.limits import Limits
from drillgen.web.share import MINUTES, Share, draw_code
from drillgen.web.view import as_sentence
from drillgen.web.worker import Work, Workers
from drillgen.web.workshop import BusyError, File, Lane, SpokenWord, WordPanel, Workshop
from drillgen.write.fonts import font_folder
from drillgen.write.templates import load_templates

T_ = TypeVar("T_")

STATIC: Final[Mapping[str, tuple[str, str]]] = {
    "/page.css": ("page.css", "text/css; charset=utf-8"),
    "/page.js": ("settings.js page.js", "text/javascript; charset=utf-8"),
    "/record.js": ("settings.js record.js", "text/javascript; charset=utf-8"),
    "/record-worklet.js": ("../page/js/recorder.js", "text/javascript; charset=utf-8"),
    "/trim.js": ("../page/js/trim.js", "text/javascript; charset=utf-8"),
    "/desk.js": ("settings.js desk.js", "text/javascript; charset=utf-8"),
    "/error.js": ("error.js", "text/javascript; charset=utf-8"),
    "/mark.svg": ("mark.svg", "image/svg+xml"),
}
"""Address to files, joined in this order, and type. A request never names a file: it picks
from here."""

FONTS: Final[Mapping[str, str]] = {
    "/regular.otf": "SourceSansPro-Regular.otf",
    "/semibold.otf": "SourceSansPro-Semibold.otf",
    "/bold.otf": "SourceSansPro-Bold.otf",
}

_STEP_NAMES: Final = {1: "first steps", 2: "further on", 3: "well on the way"}


class Collection(NamedTuple):
    """Our own passages and prompts."""

    passages: tuple[CorpusPassage, ...]
    prompts: Mapping[Locale, tuple[Prompt, ...]]
    """In the words of each, by step and topic."""

    @classmethod
    def load(cls) -> Collection:
        """Read the corpora of the installation."""
        return cls(
            tuple(sorted(load_passages(), key=lambda p: (p.step, p.title))),
            {
                locale: tuple(sorted(load_prompts(locale=locale), key=lambda p: (p.step, p.topic)))
                for locale in Locale
            },
        )

    def take(self, choices: Choices, kind: str, key: str) -> Choices:
        """The state of the page with a passage or prompt of ours as its text."""
        if kind == "passage":
            for passage in self.passages:
                if passage.key == key:
                    text = _with_title(passage.text, passage.title)
                    return msgspec.structs.replace(choices, text=text, title="", prompt="")
        for prompt in self.prompts[choices.drill.spoken_locale] if kind == "prompt" else ():
            if prompt.key == key:
                return msgspec.structs.replace(
                    choices, text=prompt.answer, title="", prompt=prompt.question
                )
        raise OptionError("choose a passage or prompt from the list first")


def _with_title(text: str, title: str) -> str:
    """A text with its title as a heading, so that one goes where the other goes."""
    return f"# {title}\n\n{text}" if title else text


class _Lanes:
    """How many requests work, and how many wait, in each lane.

    The slow lane works in processes of its own where there are any.
    """

    def __init__(self, workshop: Workshop, workers: Workers | None, limits: Limits) -> None:
        self._workshop: Final = workshop
        self._workers: Final = workers
        sizes = {Lane.QUICK: limits.quick_at_once, Lane.SLOW: limits.slow_at_once}
        self._limiters = {lane: anyio.CapacityLimiter(size) for lane, size in sizes.items()}
        self._room = {lane: size + limits.waiting for lane, size in sizes.items()}
        self._inside = dict.fromkeys(sizes, 0)

    async def run(self, lane: Lane, work: Work[T_], seconds: float) -> T_:
        """Do the work in a thread. BusyError where too many wait or it takes too long."""
        if self._inside[lane] >= self._room[lane]:
            raise BusyError("too much to do at once", "try again in a minute")
        if lane is Lane.SLOW and self._workers is not None:
            do = partial(self._workers.run, work, seconds)
            patience = seconds * (1 + self._inside[lane]) + 5.0
        else:
            do, patience = partial(work, self._workshop), seconds
        self._inside[lane] += 1
        try:
            with anyio.fail_after(patience):
                # A thread can't be stopped: the answer goes, the work runs out.
                return await anyio.to_thread.run_sync(
                    do, limiter=self._limiters[lane], abandon_on_cancel=True
                )
        except TimeoutError:
            raise BusyError("this takes too long", "try a shorter text") from None
        finally:
            self._inside[lane] -= 1


class Page:
    """The handlers. Holds what was loaded; keeps nothing of any request."""

    def __init__(
        self,
        workshop: Workshop,
        door: Door,
        workers: Workers | None = None,
        share: Share | None = None,
    ) -> None:
        self._share: Final = share
        self.shares: Final = share is not None
        self.workshop: Final = workshop
        self._workers: Final = workers
        self.limits: Final = workshop.limits
        self._door: Final = door
        self._templates: Final = load_templates("web", auto_reload=False)
        self.collection: Final = Collection.load()
        first = default_passage()
        self._fresh: Final = Choices(text=_with_title(first.text, first.title))
        self._files: Final = _load_files()
        self._lanes: Final = _Lanes(workshop, workers, self.limits)
        # Files are read two at a time.
        self._opening: Final = anyio.CapacityLimiter(2)
        self.options: Final = self._list_options()

    def start(self) -> None:
        """Get ready for slow work."""
        if self._workers is not None:
            # Beside the first requests, which need none.
            Thread(target=self._workers.start, daemon=True).start()

    # Handlers

    async def home(self, request: Request) -> Response:
        """The page: fresh, or with the state that a form without JavaScript sends."""
        if request.method in ("GET", "HEAD"):
            token = request.query_params.get("token")
            if token is not None and self._door.token:
                return self._welcome(request, token)
            return await self._show(self._fresh)
        fields, choices = await self.read_choices(request)
        kind, taken = fields.get("take", ""), fields.get("taken", "")
        if taken:
            choices = self.collection.take(choices, "prompt", taken)
        elif kind:
            choices = self.collection.take(choices, kind, fields.get(kind, ""))
        return await self._show(choices)

    async def preview(self, request: Request) -> Response:
        """The preview alone, for the script; on request of the first words of a long text."""
        fields, choices = await self.read_choices(request)
        if "first" in fields:
            choices = choices.beginning
        return await self._show_preview("preview.html.j2", choices)

    async def word(self, request: Request) -> Response:
        """What there is to know about one word of the text."""
        fields, choices = await self.read_choices(request)
        panel = await self._explain(choices, fields)
        if "part" in fields:
            return self.html("word.html.j2", panel=panel, state=choices, part=True)
        return await self._show(choices, panel=panel, fields=fields)

    async def hear(self, request: Request) -> Response:
        """How a pronunciation sounds: one of the list, or the user's own."""
        fields, choices = await self.read_choices(request)
        choice, word = fields.get("choice", ""), fields.get("spoken", "")
        said = fields.get("own", "") if choice == "own" else choice
        sound = await self.run(choices, Workshop.hear, lane=Lane.SLOW, word=word, said=said)
        return Response(sound, media_type="audio/wav")

    async def keep(self, request: Request) -> Response:
        """Keep or forget a pronunciation in the word list, or undo that."""
        fields, choices = await self.read_choices(request)
        panel = await self._explain(choices, fields)
        word = fields.get("spoken", "")
        known = {spoken.word: spoken for spoken in panel.spoken}
        if word not in known:
            raise InputError("the text has changed since", "press the word again")
        written = re.findall(r"[\w'’-]+", panel.original)
        name = next((part for part in written if part.lower() == word), word)
        try:
            work = partial(self._settle, fields, known[word], name, choices.client)
            done, undo = await anyio.to_thread.run_sync(work)
        except InputError as error:
            own = fields.get("own", "")
            context: dict[str, Any] = {
                "failed": word,
                "error": as_sentence(str(error)),
                "own": own,
            }
            if "part" in fields:
                return self.html(
                    "word.html.j2", status=422, panel=panel, state=choices, part=True, **context
                )
            return await self._show(choices, status=422, panel=panel, fields=fields, **context)
        if "part" in fields:
            return JSONResponse({"done": done, "undo": undo})
        return await self._show(choices, done=done)

    def _settle(
        self, fields: Fields, spoken: SpokenWord, name: str, client: str
    ) -> tuple[str, dict[str, str]]:
        """What was done with a word, in words, and the fields that undo it."""
        act, choice, chosen = (fields.get(key, "") for key in ("act", "choice", "where"))
        where, scope, whose = _choose_scope(chosen, spoken, client)
        if act == "forget" and spoken.kept is not None:
            chosen, scope, whose = spoken.where, spoken.kept, client if spoken.of_client else ""
        elif act == "undo" and fields.get("list") == "client":
            whose = client
        said = fields.get("own", "") if choice == "own" else choice
        if act == "forget":
            said, done = "", f"{name}: your pronunciation is forgotten."
        elif act == "undo":
            said, done = fields.get("before", ""), f"{name} is as it was."
        elif choice != "own" and said not in {reading.phones for reading in spoken.readings}:
            raise InputError("choose one of the pronunciations, or type your own")
        elif not said.strip():
            raise InputError("there is no pronunciation", "choose one or type how it sounds")
        else:
            done = f"{name} is kept as {{}}{where}. Press the word to change it."
        before = self.workshop.recall(spoken.word, scope, whose)
        sound = self.workshop.change(spoken.word, said, scope, whose)
        undo = {"where": chosen, "before": before, "list": "client" if whose else ""}
        return done.replace("{}", sound), undo

    async def download(self, request: Request) -> Response:
        """A file, made for this answer and kept nowhere."""
        fields, choices = await self.read_choices(request)
        kind = parse_choice(Download, fields.get("format", ""), "format")
        return send_file(await self.make_file(choices, Workshop.make_file, kind=kind))

    async def text(self, request: Request) -> Response:
        """A passage or prompt of ours, for the script."""
        query = request.query_params
        taken = self.collection.take(Choices(), query.get("kind", ""), query.get("key", ""))
        return JSONResponse({"text": taken.text, "prompt": taken.prompt})

    async def share(self, request: Request) -> Response:
        """Put the practice page up for a phone, or take it down."""
        if self._share is None:
            raise InputError("pages are not shared", "start it with drillgen serve --share")
        fields, choices = await self.read_choices(request)
        if fields.get("act") == "stop":
            self._share.withdraw()
            return Response(status_code=303, headers={"Location": "/"})
        file = await self.make_file(choices, Workshop.make_file, kind=Download.PRACTICE)
        address = self._share.offer(file.data)
        code = Markup(draw_code(address))  # ours: it holds nothing of the request
        return self.html("share.html.j2", here="", code=code, address=address, minutes=MINUTES)

    async def open(self, request: Request) -> Response:
        """The text of a file that the script sends as it is, with the ending of its name."""
        ending = request.query_params.get("ending", "")
        data = await read_body(request, self.limits, self.limits.file)
        told: list[str] = []
        with anyio.fail_after(self.limits.work_time):
            passage = await anyio.to_thread.run_sync(
                partial(read_data, data, "The file", tell=told.append, ending=ending),
                limiter=self._opening,
                abandon_on_cancel=True,
            )
        text = _with_title(passage.text, passage.title)
        return JSONResponse({"text": text, "prompt": "", "told": told})

    async def static(self, request: Request) -> Response:
        """A file of the page itself."""
        data, media, caching = self._files[request.url.path]
        return Response(data, media_type=media, headers={"Cache-Control": caching})

    # Errors

    async def complain(self, request: Request, error: Exception) -> Response:
        """One clear line; the script gets it as JSON, a form as the page around its text."""
        status = 413 if isinstance(error, TooLargeError) else 422
        status = 503 if isinstance(error, BusyError) else status
        return self.refuse(request, status, as_sentence(str(error)))

    def refuse(self, request: Request, status: int, message: str) -> Response:
        """An answer that says why not."""
        headers = {"Retry-After": "60"} if status == 503 else None
        if request.headers.get("accept", "").startswith("application/json") or (
            request.headers.get("x-part") == "1"
        ):
            return JSONResponse({"error": message}, status_code=status, headers=headers)
        html = self._templates.get_template("error.html.j2").render(message=message)
        return Response(html, status, headers, "text/html; charset=utf-8")

    # Inside

    async def read(self, request: Request) -> Fields:
        kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
        if kind != "application/x-www-form-urlencoded":
            raise InputError("the form can't be read", "reload the page and try again")
        return parse_body(await read_body(request, self.limits), self.limits)

    async def read_choices(self, request: Request) -> tuple[Fields, Choices]:
        """The fields of a form, and the state of the page in them."""
        fields = await self.read(request)
        return fields, read_choices(fields, self.limits)

    async def run(
        self,
        choices: Choices,
        work: Callable[..., T_],
        *,
        lane: Lane | None = None,
        seconds: float = 0.0,
        **given: Any,
    ) -> T_:
        """Something that the workshop does, in the text's lane or another one; in `seconds`,
        or the time of an answer."""
        chosen = lane or self.workshop.choose_lane(choices.text)
        bound: Work[T_] = partial(work, choices=choices, lane=chosen, **given)
        return await self._lanes.run(chosen, bound, seconds or self.limits.work_time)

    async def make_file(
        self, choices: Choices, work: Callable[..., File], *, seconds: float = 0.0, **given: Any
    ) -> File:
        """A file, which takes longer than a preview and never shares its lane."""
        seconds = seconds or self.limits.file_time
        return await self.run(choices, work, lane=Lane.SLOW, seconds=seconds, **given)

    async def _explain(self, choices: Choices, fields: Fields) -> WordPanel:
        at = fields.get("at", "")
        if not (at.isascii() and at.isdigit() and len(at) < 9):
            raise InputError("press a word of the text")
        return await self.run(choices, Workshop.explain, at=int(at))

    async def _show(self, choices: Choices, *, status: int = 200, **more: Any) -> Response:
        return await self._show_preview(
            "page.html.j2",
            choices,
            status=status,
            fresh=choices.text == self._fresh.text,
            clients=await anyio.to_thread.run_sync(self.workshop.list_clients),
            here="page",
            shares=self.shares,
            options=self.options,
            limits=self.limits,
            **more,
        )

    async def _show_preview(
        self, name: str, choices: Choices, *, status: int = 200, **context: Any
    ) -> Response:
        """A page or part with the preview in it, made in the text's lane."""
        preview = await self.run(choices, Workshop.preview)
        context |= {"preview": preview, "state": choices, "problem": self.workshop.words_problem}
        return await anyio.to_thread.run_sync(partial(self.html, name, status=status, **context))

    def html(self, name: str, *, status: int = 200, **context: Any) -> Response:
        html = self._templates.get_template(name).render(context)
        return Response(html, status, media_type="text/html; charset=utf-8")

    def _welcome(self, request: Request, token: str) -> Response:
        """The first visit by the printed address: the token moves into a cookie.

        Not a redirect: one that starts on another site (a link in a web mail)
        would not carry a cookie of SameSite=Strict.
        """
        if not hmac.compare_digest(token.encode(), self._door.token.encode()):
            return self.refuse(request, 403, "This token is not the one that was printed.")
        answer = self.html("welcome.html.j2")
        answer.set_cookie(COOKIE, token, httponly=True, samesite="strict", path="/")
        return answer

    def _list_options(self) -> Mapping[str, Any]:
        """The choices of the page's lists."""
        strategies = choose_wording(discreet=False).strategies
        passages = self.collection.passages
        prompts = self.collection.prompts[Locale.EN_US]
        return {
            "targets": {name: _name_targets(load_accent(name)) for name in list_accents()},
            "accents": list(list_accents().items()),
            "strategies": [(s.value, strategies[s.value]) for s in Strategy],
            "voices": [(name, name) for name in VOICES],
            "locales": [
                ("", "as goes with the accent"),
                ("en-US", "American"),
                ("en-GB", "British"),
            ],
            "watches": [(Watch.FAR, "those farthest from the target"), (Watch.ALL, "all")],
            "sizes": [(PageSize.A4, "A4"), (PageSize.LETTER, "US Letter")],
            "steps": [(Steps.ALL, "all rungs"), (Steps.SHOWN, "only the rung shown")],
            "passages": [
                (f"Step {step}, {_STEP_NAMES[step]}", [(p.key, p.title) for p in group])
                for step, group in groupby(passages, key=lambda p: p.step)
            ],
            "prompts": [
                (f"Step {step}: {topic}", [(p.key, p.question) for p in group])
                for (step, topic), group in groupby(prompts, key=lambda p: (p.step, p.topic))
            ],
        }


def _name_targets(accent: Accent) -> list[tuple[str, str]]:
    return [
        (t.symbol, f"/{t.ipa}/ {t.lexical_set}" + " (onset)" * bool(accent.vowels[t.symbol].onset))
        for t in list_targets(accent)
    ]


def _choose_scope(where: str, spoken: SpokenWord, client: str) -> tuple[str, Scope, str]:
    """Where a choice holds, in words and as a list keeps it; and the client whose list it is."""
    match where:
        case "place":
            return " in this place", spoken.place, ""
        case "text":
            return " in this text", Scope(spoken.place.text), ""
        case "client" if client:
            return f" for {client}", EVERYWHERE, client
        case _:
            return " in every text", EVERYWHERE, ""


def _load_files() -> Mapping[str, tuple[bytes, str, str]]:
    web = resource_folder("templates") / "web"
    fonts = font_folder()
    return {
        **{
            path: (b"\n".join((web / n).read_bytes() for n in names.split()), media, "no-cache")
            for path, (names, media) in STATIC.items()
        },
        **{
            path: ((fonts / name).read_bytes(), "font/otf", "private, max-age=86400")
            for path, name in FONTS.items()
        },
    }


def build_app(
    words_path: Path,
    *,
    workshop: Workshop | None = None,
    door: Door | None = None,
    workers: Workers | None = None,
    share: Share | None = None,
    on_start: Callable[[], None] | None = None,
) -> Starlette:
    """The application. `words_path` is the word list that takes corrections.

    `workers` do the slow work, threads where there are none. `share` gives practice pages to
    phones. `on_start` is called once
    requests are answered.
    """
    chosen = door or Door()
    page = Page(workshop or Workshop(words_path), chosen, workers, share)

    @asynccontextmanager
    async def lifespan(_: Starlette) -> AsyncIterator[None]:
        page.start()
        if on_start is not None:
            on_start()
        yield
        if workers is not None:
            workers.stop()

    async def too_slow(request: Request, _: Exception) -> Response:
        return page.refuse(request, 408, "The request came too slowly. Try again.")

    async def gone(_: Request, __: Exception) -> Response:
        return Response(status_code=400)

    async def missing(request: Request, _: Exception) -> Response:
        return page.refuse(request, 404, "There is no such page.")

    async def method(request: Request, _: Exception) -> Response:
        return page.refuse(request, 405, "This page does not answer that.")

    Handler = Callable[[Request], Awaitable[Response]]

    def route(path: str, handler: Handler, *methods: str) -> Route:
        return Route(path, handler, methods=list(methods))

    app = Starlette(
        routes=[
            route("/", page.home, "GET", "POST"),
            route("/preview", page.preview, "POST"),
            route("/word", page.word, "POST"),
            route("/hear", page.hear, "POST"),
            route("/keep", page.keep, "POST"),
            route("/download", page.download, "POST"),
            route("/text", page.text, "GET"),
            route("/open", page.open, "POST"),
            route("/share", page.share, "POST"),
            *DeskPages(page).routes(),
            *(route(path, page.static, "GET") for path in (*STATIC, *FONTS)),
        ],
        exception_handlers={
            DrillgenError: page.complain,
            TimeoutError: too_slow,
            ClientDisconnect: gone,
            404: missing,
            405: method,
        },
        lifespan=lifespan,
    )
    app.add_middleware(Guard, door=chosen, refuse=page.refuse)
    return app
