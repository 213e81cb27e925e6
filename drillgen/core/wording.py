"""Every sentence that a sheet, a page or a plan says, ordinary and discreet.

The sentences stand in drillgen/data/wording.toml, each with what it is for; here are their
types and the checks. The discreet wording says how to read and never what the reading is for.
"""

from __future__ import annotations

import re
import string
import tomllib
from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any, Final, Generic, TypeVar

import msgspec
from msgspec import Struct

from drillgen.core.errors import ResourceError
from drillgen.core.options import Unit
from drillgen.core.resources import data_file
from drillgen.core.take import Change
from drillgen.core.values import Delivery

FILE: Final = "wording.toml"
_KINDS: Final = ("ordinary", "discreet")
_KEYS: Final = {*_KINDS, "both", "fields"}
_FORMATTER: Final = string.Formatter()


class _Texts(Struct, frozen=True, forbid_unknown_fields=True):
    """Texts by their names in the file."""


class DeliveryText(_Texts, frozen=True):
    """One of the three deliveries, as the sheet explains it."""

    delivery: Delivery
    name: str
    instruction: str
    """How to do it on a pitch."""

    free_instruction: str
    """How to do it where no pitch is set."""

    posture: str
    """What is added for a target at the front of the mouth."""

    other: str
    """What is added for any other target."""


class MarkText(_Texts, frozen=True):
    """One mark of the page and its meaning."""

    mark: str
    """The sign, or the name of the face where the face of the letters is the mark."""

    meaning: str
    face: str = ""
    """"bold", "underline", or empty."""

    markdown: str = ""
    plain: str = ""


class UnitText(_Texts, frozen=True):
    """A unit of the hierarchy: heading, name in a sentence, one of it."""

    title: str
    name: str
    one: str


class PromptWording(_Texts, frozen=True):
    """What a sheet of conversation prompts says besides."""

    title: str
    step: str
    mixed: str
    prompt: str
    easier: str
    fuller: str
    given: str
    own: str
    step_name: str
    step_text: str
    again_text: str
    free: str
    hint: str
    own_hint: str
    lines: str


class LadderWording(_Texts, frozen=True):
    """What a booklet that climbs the hierarchy says besides."""

    title: str
    single: str
    about: str
    group: str
    columns: tuple[str, str, str, str]
    tick: str
    boxes: str
    box: str
    syllables: str
    advance: str
    about_single: str
    finish: str
    ready: str
    units: dict[Unit, UnitText]


class PlanWording(_Texts, frozen=True):
    """What a practice plan says."""

    days: tuple[str, ...]
    months: tuple[str, ...]
    title: str
    facts: str
    begins: str
    reason: str
    use: str
    unfinished: str
    session: str
    session_note: str
    session_columns: tuple[str, str, str]
    warm_up: str
    warm_up_cue: str
    rest: str
    rest_cue: str
    close: str
    close_cue: str
    own_words: str
    of_the_day: str
    warm_ups: str
    warm_up_texts: tuple[str, ...]
    move: str
    step_up: str
    step_back: str
    stop: str
    slow: str
    sessions: str
    week: str
    columns: tuple[str, ...]
    full: str
    partial: str
    marked: str
    fill: str
    tension: str
    progress: str
    progress_note: str
    chart_alt: str
    chart_point: str
    chart_across: str
    chart_up: str
    chart_ring: str
    chart_stars: str
    rates: tuple[str, str]
    criteria: tuple[str, str, str, str, str]
    counts: dict[str, tuple[str, str]]
    advice: dict[str, str]
    cues: dict[Delivery, str]


class PracticeWording(_Texts, frozen=True):
    """What only the practice page says. A text that its template asks for and that is not there
    is an error when a page is written."""

    texts: dict[str, str | tuple[str, ...]]
    end: dict[str, str | tuple[str, ...]]
    about: dict[str, str | tuple[str, ...]]
    check_texts: dict[str, str]
    cues: dict[Delivery, tuple[str, str, str]]
    script: dict[str, str | tuple[str, ...]]


class StandWording(_Texts, frozen=True):
    """What a sheet for the music stand says, in as few words as it can."""

    target: str
    lines: str
    full: str
    shown: tuple[str, str]
    face: tuple[str, str]
    partial: str
    rung: str
    rung_back: str
    marked: str
    on_note: str
    on_any: str
    forward: str
    other: str
    care: str
    key: str


class GuideWording(_Texts, frozen=True):
    """What only the guide says."""

    title: str
    about: str
    versions: str
    version_texts: tuple[str, ...]
    move: str
    move_texts: tuple[str, ...]


class WeekWording(_Texts, frozen=True):
    """What the cover of a week and the pages on progress say."""

    title: str
    facts: str
    about: tuple[str, str]
    days: str
    columns: tuple[str, str, str, str, str]
    log: str
    text: str
    lists: str
    talk: str
    progress: str
    teacher: str
    here: str
    at: str
    next: str
    stages: str
    stage_columns: tuple[str, str, str, str, str]
    sessions: str
    yes: str
    no: str


class TakeWording(_Texts, frozen=True):
    """What the report on a take says."""

    title: str
    about: str
    text: str
    melody: str
    sound: str
    flow: str
    signs: str
    doubts: str
    history: str
    slips: str
    no_slips: str
    vague: str
    slip_columns: tuple[str, str, str, str]
    own: str
    near_to: str
    more: str
    measures: tuple[str, str]
    median: str
    target: str
    near: str
    drift: str
    span: str
    spread: str
    kept: str
    falls: str
    rises: str
    of: str
    cents: str
    semitones: str
    missing: str
    added: str
    pauses: str
    pace: str
    per_second: str
    seconds: str
    none: str
    vowel_columns: tuple[str, str, str, str, str, str]
    hertz_bark: str
    away: str
    away_note: str
    plot: str
    before: str
    changes: dict[Change, str]
    alone: str
    sign_columns: tuple[str, str]
    sign_sound: str
    sign_pitch: str
    sign_melody: str
    sign_feel: str
    seen: str
    unseen: str
    unknown: str
    ask: str
    history_up: str
    history_across: str
    history_alt: str
    doubt_texts: dict[str, str]
    """By Doubt (core/take.py)."""


class CalendarWording(_Texts, frozen=True):
    """What a calendar shows."""

    title: str
    event: str


_T = TypeVar("_T", bound=_Texts)


class _Section(Generic[_T]):
    """A table of the file that has its own name, read when it is first asked for: a sheet needs
    few of them, and they are most of the file."""

    def __init__(self, kind: type[_T]) -> None:
        self.kind: Final = kind
        self.name = ""

    def __set_name__(self, _: object, name: str) -> None:
        self.name = name

    def __get__(self, wording: Wording, _: object) -> _T:
        found: _T = _load(self.name)[wording.is_discreet]
        return found


class Wording(_Texts, frozen=True):
    """The sentences of a sheet."""

    title: str
    foot: str
    page: str
    pitch: str
    pitch_alt: str
    steps: str
    hints: tuple[str, ...]
    text: str
    full: str
    full_note: str
    flow_note: str
    partial: str
    partial_rung: str
    partial_note: str
    marked: str
    marked_note: str
    ticks: str
    key: str
    key_note: str
    key_columns: tuple[str, str, str, str]
    marks: str
    marks_columns: tuple[str, str]
    review: str
    review_note: str
    review_columns: tuple[str, str, str, str]
    join: str
    onset: str
    off: str
    sentence: str
    cautions: str
    caution_texts: tuple[str, ...]
    disclaimer: str
    log: str
    log_columns: tuple[str, str, str, str, str, str]
    missing: str
    telling: tuple[str, ...]
    strategies: dict[str, str]
    deliveries: tuple[DeliveryText, ...]
    mark_texts: tuple[MarkText, ...]
    is_discreet: bool = False
    """Not in the file: which of the two it is."""

    prompts = _Section(PromptWording)
    ladder = _Section(LadderWording)
    plan = _Section(PlanWording)
    practice = _Section(PracticeWording)
    calendar = _Section(CalendarWording)
    stand = _Section(StandWording)
    guide = _Section(GuideWording)
    week = _Section(WeekWording)
    take = _Section(TakeWording)

    def name_mark(self, sign: str) -> str:
        """A sign of the page in words."""
        return next(text.meaning for text in self.mark_texts if text.mark == sign)


def choose_wording(discreet: bool) -> Wording:
    """The sentences for a sheet.

    >>> choose_wording(True).pitch
    'Steady note'
    """
    found: Wording = _load("")[discreet]
    return found


@cache
def _load(section: str) -> tuple[Any, Any]:
    return read_wordings(data_file(FILE).read_text(encoding="utf-8"), section)


SECTIONS: Final[Mapping[str, type[_Texts]]] = {
    name: value.kind for name, value in vars(Wording).items() if isinstance(value, _Section)
}
_HEAD: Final = re.compile(rf"^\[({'|'.join(SECTIONS)})]$", re.MULTILINE)


def read_wordings(text: str, section: str = "") -> tuple[Any, Any]:
    """The ordinary and the discreet wording of one of SECTIONS of a file in TOML; "": of what
    stands before them.

    ResourceError, which names the place, where a text is missing or unknown, stands in one
    wording only, or takes in a field that it doesn't declare.
    """
    first, *rest = _HEAD.split(text)
    heads, bodies = rest[::2], rest[1::2]
    parts = {"": first} | {h: f"[{h}]{body}" for h, body in zip(heads, bodies, strict=True)}
    try:
        table = tomllib.loads(parts.get(section, ""))
        for place, entry in _iter_entries(table):
            _check(place, entry)
        told = table.pop(section, {}) if section else table
        if section and table:
            raise ValueError(f"{min(table)} stands behind {section}")
        kind = SECTIONS.get(section, Wording)
        ordinary, discreet = (
            msgspec.convert(_pick(told, name), kind, strict=False) for name in _KINDS
        )
    except (tomllib.TOMLDecodeError, msgspec.ValidationError, ValueError) as error:
        raise ResourceError(f"{FILE}: {error}", "install drillgen again") from None
    if isinstance(discreet, Wording):
        discreet = msgspec.structs.replace(discreet, is_discreet=True)
    return ordinary, discreet


def _is_entry(value: object) -> bool:
    return not isinstance(value, Mapping) or (bool(value) and _KEYS.issuperset(value))


def _iter_entries(value: object, place: str = "") -> Iterator[tuple[str, Any]]:
    if isinstance(value, list) and any(isinstance(part, Mapping) for part in value):
        for number, part in enumerate(value):
            yield from _iter_entries(part, f"{place}[{number}]")
    elif isinstance(value, Mapping) and not _is_entry(value):
        for name, part in value.items():
            yield from _iter_entries(part, f"{place}.{name}".lstrip("."))
    else:
        yield place, value


def _check(place: str, entry: Any) -> None:
    """ValueError where an entry is not whole."""
    texts = entry if isinstance(entry, Mapping) else {"both": entry}
    kinds = texts.keys() - {"fields"}
    if kinds not in ({"both"}, set(_KINDS)):
        raise ValueError(f"{place} needs ordinary and discreet, or both")
    declared = set(texts.get("fields", ()))
    used = {kind: set(_iter_fields(texts[kind])) for kind in kinds}
    for kind, fields in used.items():
        if unknown := fields - declared:
            raise ValueError(
                f"{place}.{kind} takes in {{{min(unknown)}}}, which is no field of it"
            )
    if unused := declared.difference(*used.values()):
        raise ValueError(f"{place} never takes in {{{min(unused)}}}")


def _iter_fields(value: Any) -> Iterator[str]:
    for text in value if isinstance(value, list) else [value]:
        if isinstance(text, str):
            yield from (name for _, name, _, _ in _FORMATTER.parse(text) if name is not None)


def _pick(value: Any, kind: str) -> Any:
    if isinstance(value, list):
        return [_pick(part, kind) for part in value]
    if not isinstance(value, Mapping):
        return value
    if _is_entry(value):
        return value.get(kind, value.get("both"))
    return {name: _pick(part, kind) for name, part in value.items()}


def keep_hint(text: str, wording: Wording) -> str:
    """A hint of the key or of the review, or nothing where it would tell too much.

    >>> keep_hint("with voice", choose_wording(True))
    ''
    >>> keep_hint("always hard", choose_wording(True))
    'always hard'
    """
    # "carry-over" tells as a whole, "un-voiced" by a part.
    words = re.findall(r"[a-z]+", text.lower()) + re.findall(r"[a-z]+(?:-[a-z]+)+", text.lower())
    return "" if any(word.startswith(wording.telling) for word in words) else text


def is_neutral(text: str) -> bool:
    """Whether a text of ours can stand on a discreet sheet.

    >>> is_neutral("The tide turns."), is_neutral("I lost my voice.")
    (True, False)
    """
    return bool(keep_hint(text, choose_wording(True))) or not text
