"""A take that is checked beside its text: in comes a form with sound, out comes the report.

The sound is held in memory for as long as the report takes, and written nowhere.
"""

from __future__ import annotations

import importlib.util
from collections.abc import AsyncGenerator
from io import BytesIO
from typing import Final, NamedTuple

import msgspec
from starlette.datastructures import UploadFile
from starlette.formparsers import MultiPartException, MultiPartParser
from starlette.requests import Request

from drillgen.core.errors import InputError
from drillgen.core.values import Delivery
from drillgen.web.desk import Made, write_document
from drillgen.web.forms import Choices, Fields, TooLargeError
from drillgen.web.guard import read_body
from drillgen.web.limits import Limits
from drillgen.web.workshop import File, Lane, Workshop

MOST_WORDS: Final = 2_500
"""Longest text of a take, in words: ten minutes of fast speech."""

NEEDED: Final = ("pocketsphinx", "parselmouth", "av")
"""The packages of the extra `ear`."""


class Sent(NamedTuple):
    """What the form sends."""

    fields: Fields
    take: bytes
    before: bytes
    """An earlier take, or nothing."""


class _Held(MultiPartParser):
    """Starlette's parser; its parts never go to a temporary file."""

    # A spooled file without a size stays in memory.
    spool_max_size = 0


def can_check() -> bool:
    """Whether the extra is installed."""
    return all(importlib.util.find_spec(name) for name in NEEDED)


async def read_sent(request: Request, limits: Limits) -> Sent:
    """The fields and takes of a form. InputError where it can't be read, TooLargeError."""
    try:
        body = await read_body(request, limits, limits.takes)
    except TooLargeError:
        raise TooLargeError(
            f"the takes are larger than {limits.takes // 1_000_000} MB together",
            "save them as FLAC or M4A, in one channel",
        ) from None

    async def stream() -> AsyncGenerator[bytes, None]:
        yield body

    try:
        parser = _Held(request.headers, stream(), max_files=2, max_fields=limits.fields)
        parser.max_part_size = limits.body
        form = await parser.parse()
    except (MultiPartException, KeyError, UnicodeDecodeError):
        raise InputError("the form can't be read", "reload the page and try again") from None
    parts = form.items()
    texts = {name: value for name, value in parts if isinstance(value, str)}
    sounds = {name: await value.read() for name, value in parts if isinstance(value, UploadFile)}
    await form.close()
    return Sent(texts, sounds.get("take", b""), sounds.get("before", b""))


def read_text(choices: Choices) -> str:
    """The text that a take is of. InputError where there is none, or too much of it."""
    return choices.text_up_to(MOST_WORDS, "check")


def check_sent(
    workshop: Workshop,
    *,
    choices: Choices,
    take: bytes,
    before: bytes,
    delivery: Delivery,
    kind: Made,
    lane: Lane,
) -> File:
    """The report on a take. InputError where it can't be heard or doesn't fit the text."""
    from drillgen.sheets.take import lay_out_take
    from drillgen.sound.ear.check import check_take
    from drillgen.sound.ear.listen import read_take

    read_text(choices)
    if not take:
        raise InputError("there is no take yet", "choose a sound file")
    longest = workshop.limits.take_minutes * 60.0
    heard = read_take(BytesIO(take), "the take", longest)
    earlier = read_take(BytesIO(before), "the earlier take", longest) if before else None
    drill = workshop.make(msgspec.structs.replace(choices, rungs=0), lane)
    pitch = choices.pitch
    report = check_take(drill, heard, delivery, target=pitch.hz if pitch else None, before=earlier)
    document = lay_out_take(drill, report, title=choices.title, discreet=choices.discreet)
    return write_document(document, kind, choices.page, "check")
