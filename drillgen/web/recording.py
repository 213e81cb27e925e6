"""The teacher's own voice for a practice page: what is recorded, and what is made of it.

Takes live in the browser until a page or a folder of files is asked for; they come here
with that request, are put in, and are kept nowhere.
"""

from __future__ import annotations

import base64
import binascii
import io
import zipfile
from collections.abc import Mapping
from typing import Annotated, Any, Final

import msgspec

from drillgen.core.errors import InputError
from drillgen.core.printable import name_file
from drillgen.core.values import Delivery
from drillgen.web.forms import Choices
from drillgen.web.workshop import File, Lane, Workshop, make_worksheet, write_practice

FILL: Final = "higher"
"""The computer's voice for groups without a take, where none was chosen."""

MOST_WORDS: Final = 600
"""Longest text to record, in words."""


class Take(msgspec.Struct, frozen=True):
    """A recording of one breath group."""

    delivery: Delivery
    number: Annotated[int, msgspec.Meta(ge=0)]
    sound: str
    """16-bit little-endian mono samples in base64."""


class Recorded(msgspec.Struct, frozen=True):
    """What the script sends."""

    fields: dict[str, str]
    takes: list[Take]
    kind: str
    """page or files."""


def read_recorded(body: bytes) -> Recorded:
    """The request of the script. InputError where it isn't one."""
    try:
        return msgspec.json.decode(body, type=Recorded)
    except (msgspec.DecodeError, UnicodeDecodeError):
        raise InputError("the recordings can't be read", "reload the page") from None


def list_lines(
    workshop: Workshop, *, choices: Choices, lane: Lane
) -> dict[str, list[tuple[str, str]]]:
    """Per delivery the breath groups: what is read, and the original words."""
    from drillgen.sound.models import list_groups

    words = len(choices.passage.text.split())
    if not words:
        raise InputError("there is no text yet", "paste one or choose a passage")
    if words > MOST_WORDS:
        raise InputError(f"the text has {words:,} words", f"record {MOST_WORDS} at most at a time")
    sheet = make_worksheet(workshop.make(choices, lane), choices)
    return {
        delivery.value: [(group.text, group.original) for group in list_groups(sheet, delivery)]
        for delivery in Delivery
    }


def make_recorded(
    workshop: Workshop, *, choices: Choices, takes: list[Take], kind: str, lane: Lane
) -> File:
    """A practice page with the takes in it, or a zip of them."""
    from drillgen.sheets.practice_page import SLOW
    from drillgen.sound.models import mix_takes, speak_page
    from drillgen.sound.synth import Synth, Voice

    sounds = _decode(takes)
    if not sounds:
        raise InputError("nothing is recorded yet", "record a line first")
    sheet = make_worksheet(workshop.make(choices, lane), choices)
    title = "" if choices.discreet else name_file(sheet.title)
    if kind == "files":
        return _zip(sounds, title)
    voice = Voice(FILL if choices.voice == "none" else choices.voice)
    # A delivery of which nothing was recorded is spoken only where a voice was asked for.
    wanted = [
        delivery
        for delivery in Delivery
        if choices.voice != "none" or any(place.delivery is delivery for place in sounds)
    ]
    models = speak_page(sheet, voice, SLOW, Synth.load(), wanted)
    try:
        mixed = mix_takes(models, sounds)
    except ValueError:
        raise InputError(
            "the text has changed since", "open the page for recording anew"
        ) from None
    return write_practice(sheet, mixed, title)


def _decode(takes: list[Take]) -> dict[Any, Any]:
    from drillgen.sound.models import TakePlace, read_take

    sounds = {}
    for take in takes:
        try:
            samples = read_take(base64.b64decode(take.sound, validate=True))
        except (binascii.Error, ValueError):
            raise InputError("a recording can't be read", "record it again") from None
        if samples is None:
            problem = f"the recording of line {take.number + 1} is too short or too long"
            raise InputError(problem, "record it again")
        sounds[TakePlace(take.delivery, take.number)] = samples
    return sounds


def _zip(sounds: Mapping[Any, Any], title: str) -> File:
    """One sound file a take, in order, without a date or a name of anyone."""
    from drillgen.sound.audio import encode_sound
    from drillgen.sound.lesson import SOUND_KIND, level_sound
    from drillgen.sound.synth import RATE

    held = io.BytesIO()
    with zipfile.ZipFile(held, "w") as packed:
        for place in sorted(sounds, key=lambda p: (list(Delivery).index(p.delivery), p.number)):
            name = f"{place.delivery.value}-{place.number + 1:03}.{SOUND_KIND}"
            entry = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
            packed.writestr(entry, encode_sound(level_sound(sounds[place]), RATE, SOUND_KIND))
    return File(f"{title or 'practice'}-sound.zip", "application/zip", held.getvalue())
