"""The work behind the page: texts in, drills, word panels and files out.

Plain functions of plain values; nothing here knows of requests. Several
threads may call it at once: each lane has an engine of its own, and a lock.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import partial
from itertools import chain
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Final, NamedTuple

from drillgen.core.errors import DrillgenError, InputError, OutputError
from drillgen.core.options import Format
from drillgen.core.phones import format_phones
from drillgen.core.printable import clean, name_file
from drillgen.core.sources import decode_text
from drillgen.core.values import Drill, Pronunciation, Respelling, VersionKind, Worksheet
from drillgen.core.wording import choose_wording
from drillgen.sheets.content import drop_idle_rungs
from drillgen.sheets.drill import lay_out_drills
from drillgen.speech.explain import explain_spoken, name_source
from drillgen.speech.pipeline import Engine, make_drill
from drillgen.speech.pronounce.lexicon import Lexicon
from drillgen.speech.pronounce.overrides import (
    Overrides,
    change_override,
    merge_overrides,
    parse_overrides,
)
from drillgen.speech.pronounce.places import EVERYWHERE, Scope, find_places, name_place
from drillgen.speech.pronounce.soundalike import to_soundalike
from drillgen.speech.respell.key import key_entries
from drillgen.speech.review import edit_list, iter_uses, read_own
from drillgen.web.forms import Choices, Download, Steps, TooLargeError
from drillgen.web.limits import Limits
from drillgen.web.view import (
    Piece,
    Preview,
    find_stretch,
    make_preview,
    sort_versions,
    split_sentence,
    word_starts,
)
from drillgen.write import render

if TYPE_CHECKING:
    from drillgen.core.practice_page import Models
    from drillgen.practice.clients import Client

LIST_NAME: Final = "your word list"
"""How messages call the word list: its path is nobody's business."""

MOST_ENGINES: Final = 12
"""Engines that are kept, one for each lane, accent and client."""


class BusyError(DrillgenError):
    """Too much work at once; the same request may succeed later."""


class Lane(StrEnum):
    """Short texts never wait for long ones."""

    QUICK = "quick"
    SLOW = "slow"


class ShownReading(NamedTuple):
    """One way to say a word, to choose from."""

    phones: str
    """ARPAbet, as the word list keeps it."""

    soundalike: str
    ipa: str
    source: str
    respelled: tuple[Piece, ...]
    used: bool
    """The one that the text has at this place."""


class ShownUse(NamedTuple):
    """Another place of a homograph."""

    at: int
    """Offset of the word that it is in, as the page numbers them."""

    context: tuple[str, str, str]
    soundalike: str


class SpokenWord(NamedTuple):
    """A spoken word with its readings, the one in use first."""

    word: str
    readings: tuple[ShownReading, ...]
    place: Scope
    """The place that was pressed."""

    kept: Scope | None
    """Where the user's entry holds that decides here; None: there is none."""

    of_client: bool
    """That entry is in the file of the client who is chosen."""

    uses: tuple[ShownUse, ...]
    """The other places of a homograph."""

    @property
    def where(self) -> str:
        """Where that entry holds, as the form says it: place, text, client, or "" for every
        text."""
        if self.kept is not None and self.kept.text:
            return "place" if self.kept.is_place else "text"
        return "client" if self.of_client else ""


class WordPanel(NamedTuple):
    """What the page tells about a word of the text."""

    at: int
    original: str
    context: tuple[str, str, str]
    """The sentence before the word, the word, the sentence after it."""

    spoken: tuple[SpokenWord, ...]


class File(NamedTuple):
    """A file to download."""

    name: str
    media: str
    data: bytes


@dataclass(frozen=True, slots=True)
class _Loaded:
    """An engine, and what tells whether the words that it was made with have changed."""

    engine: Engine
    made_of: tuple[object, ...]


class _Words:
    """The user's word list, read again when it changes on disk."""

    def __init__(self, path: Path, fixed: Overrides, lexicon: Lexicon) -> None:
        self.path: Final = path
        self._fixed: Final = fixed
        self._lexicon: Final = lexicon
        self._lock: Final = Lock()
        self._stamp: tuple[int, int] | None = (-1, -1)
        self._own = Overrides()
        self.version = 0
        self.problem = ""
        """Why the list can't be used, in one line."""

    @property
    def own(self) -> Overrides:
        """The entries of the list."""
        return self._own

    def read(self) -> tuple[Overrides, int]:
        """All overrides, and a number that changes with them."""
        with self._lock:
            stamp = self._read_stamp()
            if stamp != self._stamp:
                self._stamp = stamp
                self._own, self.problem = self._read_file(stamp)
                self.version += 1
            # What was corrected on the page wins: it is the newest decision.
            return merge_overrides((self._own, self._fixed)), self.version

    def edit(self, change: Callable[[str], str]) -> None:
        """Change the text of the list."""
        with self._lock:
            edit_list(self.path, change)
            # Two changes within a tick of the clock could have one stamp.
            self._stamp = (-1, -1)

    def _read_stamp(self) -> tuple[int, int] | None:
        try:
            status = self.path.stat()
        except OSError:
            return None
        return status.st_mtime_ns, status.st_size

    def _read_file(self, stamp: tuple[int, int] | None) -> tuple[Overrides, str]:
        if stamp is None:
            return Overrides(), ""
        try:
            data = self.path.read_bytes()
            if not data.strip():
                return Overrides(), ""
            text = decode_text(data, LIST_NAME)
            return parse_overrides(text, LIST_NAME, self._lexicon.first), ""
        except InputError as error:
            return Overrides(), str(error)
        except OSError:
            return Overrides(), f"{LIST_NAME} can't be read; check its permissions"


class Workshop:
    """Everything that is loaded once and serves all requests."""

    def __init__(
        self,
        words_path: Path,
        *,
        fixed: Overrides | None = None,
        lexicon: Lexicon | None = None,
        limits: Limits | None = None,
        clients: Path | None = None,
    ) -> None:
        """Read the dictionary and the models (about 0.2 s).

        `words_path` is the word list that takes corrections; `fixed` are
        overrides from elsewhere, which it beats. `clients` is the folder of the clients'
        files, if any.
        """
        self.words_path: Final = words_path
        self.clients: Final = clients
        self.limits: Final = limits or Limits()
        self._lexicon: Final = Lexicon.load() if lexicon is None else lexicon
        self._words: Final = _Words(words_path, fixed or Overrides(), self._lexicon)
        self._base: Final = Engine.load(lexicon=self._lexicon)
        self._engines: Final[dict[tuple[Lane, str, str], _Loaded]] = {}
        self._locks: Final = {lane: Lock() for lane in Lane}

    @property
    def words_problem(self) -> str:
        """Why the word list can't be used, in one line, or nothing."""
        self._words.read()
        return self._words.problem

    def choose_lane(self, text: str) -> Lane:
        """The lane for a text, by a quick look at it."""
        words = text.split()
        if len(words) > self.limits.quick_words:
            return Lane.SLOW
        unknown = sum(
            word.strip(".,;:!?\"'“”‘’()-–—").lower() not in self._lexicon for word in set(words)
        )
        longest = max(map(len, words), default=0)
        marks = sum(not (char.isalnum() or char.isspace()) for char in text)
        if (
            unknown > self.limits.quick_unknown
            or longest > self.limits.field
            or marks > self.limits.quick_marks
        ):
            return Lane.SLOW
        return Lane.QUICK

    @contextmanager
    def engine(self, lane: Lane, accent: str, client: str = "") -> Iterator[Engine]:
        """The lane's engine, for one thread at a time; a client's own words come first."""
        lock = self._locks[lane]
        if not lock.acquire(timeout=self.limits.work_time):
            raise BusyError("another text is taking long", "try again in a minute")
        try:
            overrides, version = self._words.read()
            key = (lane, accent, client)
            made_of: tuple[object, ...] = (version,)
            if client:
                words = self.read_client(client).words
                made_of = (version, words)
                overrides = merge_overrides((self._read_list(words), overrides))
            loaded = self._engines.get(key)
            if loaded is None or loaded.made_of != made_of:
                while len(self._engines) >= MOST_ENGINES:
                    self._engines.pop(next(iter(self._engines)))
                engine = self._base.adapt(overrides=overrides, accent=accent)
                loaded = self._engines[key] = _Loaded(engine, made_of)
            yield loaded.engine
        finally:
            lock.release()

    def _read_list(self, words: str) -> Overrides:
        return parse_overrides(words, LIST_NAME, self._lexicon.first)

    def read_client(self, alias: str) -> Client:
        """A client's file. InputError, without its path, where there is none or it is bad."""
        from drillgen.practice.clients import client_file, read_client

        if self.clients is None:
            raise InputError("there are no clients here", "start drillgen serve in a terminal")
        try:
            return read_client(client_file(alias, self.clients))
        except DrillgenError as error:
            error.file = Path(error.file).name if error.file else ""
            raise

    def list_clients(self) -> tuple[str, ...]:
        """The aliases of all clients."""
        from drillgen.practice.clients import list_clients

        if self.clients is None:
            return ()
        return tuple(path.stem for path in list_clients(self.clients))

    def make(self, choices: Choices, lane: Lane) -> Drill:
        """The drill of a text; an empty text makes an empty one."""
        with self.engine(lane, choices.drill.accent, choices.client) as engine:
            return make_drill(choices.passage, choices.drill, engine=engine)

    def preview(self, choices: Choices, lane: Lane) -> Preview:
        """What the page shows of a text."""
        return make_preview(
            self.make(choices, lane),
            choose_wording(choices.discreet),
            most_words=self.limits.shown_words,
        )

    def explain(self, choices: Choices, at: int, lane: Lane) -> WordPanel:
        """The word that begins at an offset of the text. InputError if none does."""
        with self.engine(lane, choices.drill.accent, choices.client) as engine:
            drill = make_drill(choices.passage, choices.drill, engine=engine)
            found = find_stretch(drill, at)
            if found is None:
                raise InputError("the text has changed since", "press the word again")
            row, columns = found
            phrase = drill.phrases[row]
            original = clean("".join(phrase.tokens[i].text for i in columns))
            before = sum(len(phrase.tokens) for phrase in drill.phrases[:row])
            readings = {p.word: (p, before + i) for i in columns for p in drill.readings[row][i]}
            if not readings:
                raise InputError(f"nothing is said for {original!r}", "choose another word")
            spoken = tuple(
                self._explain_spoken(reading, index, drill, choices, engine)
                for reading, index in readings.values()
            )
        return WordPanel(at, original, split_sentence(drill, row, columns), spoken)

    def _explain_spoken(
        self, said: Pronunciation, index: int, drill: Drill, choices: Choices, engine: Engine
    ) -> SpokenWord:
        shown, word = [], said.word
        for reading in explain_spoken(said, word, choices.drill.target, engine).readings:
            say = partial(engine.pronouncer.in_accent, word, reading.phones)
            forms = {say(linked) for linked in (False, True)}
            shown.append(
                ShownReading(
                    phones=format_phones(reading.phones),
                    soundalike=reading.soundalike,
                    ipa=reading.ipa,
                    source=name_source(reading.origin, reading.note),
                    respelled=_pieces(reading.respelling),
                    used=said.phones in forms,
                )
            )
        shown.sort(key=lambda reading: not reading.used)
        tokens = tuple(token for phrase in drill.phrases for token in phrase.tokens)
        place = name_place(drill.passage, tokens, index, word)
        kept, of_client = self._find_entry(word, index, drill, choices.client)
        uses = list_uses(drill, word, index) if engine.pronouncer.is_homograph(word) else ()
        return SpokenWord(word, tuple(shown), place, kept, of_client, uses)

    def _find_entry(
        self, word: str, index: int, drill: Drill, client: str
    ) -> tuple[Scope | None, bool]:
        """Where the entry holds that decides at a token, and whether it is the client's."""
        tokens = tuple(token for phrase in drill.phrases for token in phrase.tokens)
        lists = [(self._words.own, False)]
        if client:
            lists.insert(0, (self._read_list(self.read_client(client).words), True))
        found: list[tuple[Scope, bool]] = []
        for own, of_client in lists:
            fixed = find_places(drill.passage, tokens, own.placed)[0].get(index)
            if fixed is not None and fixed.word == word:
                found.append((fixed.scope, of_client))
            if word in own.entries:
                found.append((EVERYWHERE, of_client))
        if not found:
            return None, False
        return max(found, key=lambda entry: (entry[0].is_place, bool(entry[0].text)))

    def hear(self, choices: Choices, word: str, said: str, lane: Lane) -> bytes:
        """A pronunciation of a spoken word in a computer's voice, as WAV; `said` as for
        `change`. InputError where it can't be read."""
        from drillgen.sound.audio import encode_sound
        from drillgen.sound.lesson import level_sound
        from drillgen.sound.synth import RATE, Sound, Speed, Synth, Voice

        with self.engine(lane, choices.drill.accent, choices.client) as engine:
            phones = read_own(said, self._lexicon.first)
            phones = engine.pronouncer.in_accent(word, phones)
        sounds = [Sound(phone, phone.stress == 1) for phone in phones]
        sounds[-1] = sounds[-1]._replace(ends_word=True)
        speech = Synth.load().speak(sounds, Voice.HIGHER, Speed.STEADY, Voice.HIGHER.hz)
        return encode_sound(level_sound(speech.samples), RATE, "wav")

    def recall(self, word: str, scope: Scope = EVERYWHERE, client: str = "") -> str:
        """What the word list, or a client's, has of a word in just this scope: ARPAbet or ""."""
        self._words.read()
        own = self._read_list(self.read_client(client).words) if client else self._words.own
        places = {entry.scope: entry.phones for entry in own.placed if entry.word == word}
        phones = own.get(word) if scope == EVERYWHERE else places.get(scope)
        return format_phones(phones) if phones else ""

    def change(self, word: str, said: str, scope: Scope = EVERYWHERE, client: str = "") -> str:
        """Keep a pronunciation of a spoken word, or forget it where nothing is said; in the
        file of a client where one is named.

        `said`: ARPAbet, IPA or a sound-alike. Returns it as a sound-alike. InputError where
        it can't be read or written.
        """
        from drillgen.practice.clients import edit_words

        phones = read_own(said, self._lexicon.first) if said.strip() else None
        change = partial(change_override, word=word, phones=phones, scope=scope)
        file = self.read_client(client).file if client else None
        name = "the client's file" if client else LIST_NAME
        try:
            if file:
                edit_words(file, change)
            else:
                self._words.edit(change)
        except (OutputError, OSError):
            mend = "check the permissions of its folder"
            raise InputError(f"{name} can't be written", mend) from None
        except InputError as error:
            error.file = name if error.file else ""
            raise
        return to_soundalike(phones) if phones else ""

    def make_file(self, choices: Choices, kind: Download, lane: Lane) -> File:
        """A sheet or practice page, named after the text; neutral in discreet wording."""
        if not choices.passage.text.strip():
            raise InputError("there is no text yet", "paste one or choose a passage")
        sheet = make_worksheet(self.make(choices, lane), choices)
        if kind is not Download.MARKDOWN:
            self._check_printed(sheet)
        title = "" if choices.discreet else name_file(sheet.title)
        match kind:
            case Download.PDF:
                try:
                    data = render(lay_out_drills(sheet), Format.PDF, choices.page)
                    return File(f"{title or 'practice-sheet'}.pdf", "application/pdf", data)
                except DrillgenError:
                    raise InputError("the PDF can't be made", "try Markdown instead") from None
            case Download.MARKDOWN:
                data = render(lay_out_drills(sheet), Format.MARKDOWN)
                return File(
                    f"{title or 'practice-sheet'}.md", "text/markdown; charset=utf-8", data
                )
            case Download.PRACTICE:
                models = {} if choices.voice == "none" else speak_models(sheet, choices.voice)
                return write_practice(sheet, models, title)

    def _check_printed(self, sheet: Worksheet) -> None:
        words = sum(len(d.passage.text.split()) * len(d.versions) for d in sheet.drills)
        if words > self.limits.printed_words:
            raise TooLargeError(
                f"this sheet would have {words:,} words in all its versions, "
                f"and {self.limits.printed_words:,} are the most",
                "put only the rung shown on it, or take Markdown",
            )


def speak_models(sheet: Worksheet, voice: str) -> Models:
    """What a computer's voice says on the practice page."""
    from drillgen.sheets.practice_page import SLOW
    from drillgen.sound.models import speak_page
    from drillgen.sound.synth import Synth, Voice

    return speak_page(sheet, Voice(voice), SLOW, Synth.load())


def write_practice(sheet: Worksheet, models: Models, title: str) -> File:
    """The practice page as a file; `title` is the stem of its name."""
    from drillgen.sheets.practice_page import make_practice_page
    from drillgen.write.page import render_page

    page = render_page(make_practice_page(sheet, models=models))
    name = f"{title}-page" if title else "practice-page"
    return File(f"{name}.html", "text/html; charset=utf-8", page.encode())


def list_uses(drill: Drill, word: str, index: int) -> tuple[ShownUse, ...]:
    """The places of a spoken word but that of one token."""
    starts = word_starts(drill)
    shown = []
    for i, token, said, context in iter_uses(drill, word):
        if i != index:
            before, _, rest = context.partition(">")
            here, _, after = rest.partition("<")
            sound = to_soundalike(said.listed[0])
            shown.append(ShownUse(starts[token.start], (before, here, after), sound))
    return tuple(shown)


def make_worksheet(drill: Drill, choices: Choices) -> Worksheet:
    """The drill with what a page needs besides, and the versions that were chosen."""
    if choices.steps is Steps.SHOWN:
        order = sort_versions(drill.versions)
        shown = order[choices.shown]
        wanted = [v for v in drill.versions if v.kind is not VersionKind.PARTIAL]
        if shown.kind is VersionKind.PARTIAL:
            # Rung 0: it is the only one on the sheet, not one of a ladder.
            wanted.insert(1, replace(shown, rung=0))
        cells = chain.from_iterable(line.cells for version in wanted for line in version.lines)
        key = key_entries(frozenset(cell for cell in cells if cell is not None))
        drill = replace(drill, versions=tuple(wanted), key=key)
    return Worksheet(
        drills=(drop_idle_rungs(drill),),
        title=drill.passage.title,
        pitch=choices.pitch,
        repetitions=choices.repetitions,
        discreet=choices.discreet,
        show_review=choices.review,
        show_ipa=choices.ipa,
    )


def _pieces(respelling: Respelling) -> tuple[Piece, ...]:
    return tuple(Piece(run.text, run.stressed, False) for run in respelling.runs)
