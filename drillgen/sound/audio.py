"""Samples to the bytes of a sound file, without any tag that names someone."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from drillgen.core.errors import OptionError, OutputError

Samples = npt.NDArray[np.float64]
"""Mono, -1 to 1."""


class SoundFormat(NamedTuple):
    """How libsndfile names a container and what goes into it."""

    container: str
    coding: str


FORMATS: Final = {
    "wav": SoundFormat("WAV", "PCM_16"),
    "flac": SoundFormat("FLAC", "PCM_16"),
    "mp3": SoundFormat("MP3", "MPEG_LAYER_III"),
    "ogg": SoundFormat("OGG", "VORBIS"),
}
"""Sound formats by the ending of the file."""


def sound_format(path: Path) -> str:
    """The format that the ending of a name asks for. OptionError for any other."""
    ending = path.suffix[1:].lower()
    if ending not in FORMATS:
        choices = ", ".join(f".{name}" for name in FORMATS)
        raise OptionError(f"--out {str(path)!r} is not a sound file; end its name in {choices}")
    return ending


LEVELS: Final = {"mp3": 0.5, "ogg": 0.5}
"""On libsndfile's scale from 0 (best) to 1 (smallest); speech stays clear at these."""

SMALL: Final = 0.8
"""Where many sounds go into one page: about 34 kbit/s as MP3, noise of coding 20 dB below
speech up to 5.5 kHz."""


def encode_sound(samples: Samples, rate: int, kind: str, level: float | None = None) -> bytes:
    """A sound file as bytes. `rate` is in Hz, `kind` a key of FORMATS, `level` another one
    than that of LEVELS.

    The same samples give the same bytes, but for the random serial number that an Ogg
    stream has. OutputError where the library of the installation lacks the format.
    """
    import soundfile

    container, coding = FORMATS[kind]
    buffer = io.BytesIO()
    try:
        with soundfile.SoundFile(
            buffer,
            "w",
            rate,
            1,
            coding,
            format=container,
            compression_level=level or LEVELS.get(kind),
        ) as file:
            file.write(samples)
    except soundfile.LibsndfileError as error:
        raise OutputError(f"{kind}: {error.error_string} Choose another sound format.") from None
    return buffer.getvalue()
