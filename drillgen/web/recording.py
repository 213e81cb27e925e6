"""The teacher's own voice for a practice page: what is recorded, and what is made of it.

Takes live in the browser until a page or a folder of files is asked for; they come here
with that request, are put in, and are kept nowhere.
"""

from __future__ import annotations

import base64
import binascii
from collections.abc import Mapping
from typing import Annotated, Final

import msgspec

from drillgen.core.errors import InputError
from drillgen.core.files import zip_files
from drillgen.core.printable import name_file
from drillgen.core.values import Delivery
from drillgen.sound.audio import Samples, encode_sound
from drillgen.sound.lesson import SOUND_KIND, level_sound
from drillgen.sound.models import TakePlace, list_groups, mix_takes, read_take, speak_page
from drillgen.sound.synth import RATE, Synth, Voice
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
    choices.text_up_to(MOST_WORDS, "record")
    sheet = make_worksheet(workshop.make(choices, lane), choices)
    return {
        delivery.value: [(group.text, group.original) for group in groups]
        for delivery, groups in list_groups(sheet).items()
    }


def make_recorded(
    workshop: Workshop, *, choices: Choices, takes: list[Take], kind: str, lane: Lane
) -> File:
    """A practice page with the takes in it, or a zip of them."""
    from drillgen.sheets.practice_page import SLOW

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


def _decode(takes: list[Take]) -> dict[TakePlace, Samples]:
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


def _zip(sounds: Mapping[TakePlace, Samples], title: str) -> File:
    """One sound file a take, in order, without a date or a name of anyone."""
    order = list(Delivery)
    places = sorted(sounds, key=lambda place: (order.index(place.delivery), place.number))
    files = {
        f"{place.delivery.value}-{place.number + 1:03}.{SOUND_KIND}": encode_sound(
            level_sound(sounds[place]), RATE, SOUND_KIND
        )
        for place in places
    }
    return File(f"{title or 'practice'}-sound.zip", "application/zip", zip_files(files))
