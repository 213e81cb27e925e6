"""espeak-ng's letter-to-sound rules, through the library in the wheel espeakng-loader.

espeak-ng (GPL-3.0-or-later) has hand-written rules and a list of exceptions
for American English. It knows nothing of CMUdict, so it is an independent
opinion about a word that the dictionary lacks.
"""

from __future__ import annotations

import ctypes
from threading import Lock
from typing import Any, Final

from drillgen.core.errors import DrillgenError
from drillgen.core.phones import parse_phones
from drillgen.core.resources import read_maps
from drillgen.core.values import Phones

_SYNCHRONOUS: Final = 2
"""AUDIO_OUTPUT_SYNCHRONOUS of speak_lib.h: no sound device is opened."""

_OPTIONS: Final = 0x8000 | 1
"""espeakINITIALIZE_DONT_EXIT and _PHONEME_EVENTS of speak_lib.h: report a missing data
folder, and tell when each phoneme begins."""

_UTF8: Final = 1
_SEPARATED: Final = ord("_") << 8
"""Phoneme mode of espeak_TextToPhonemes: mnemonics with a separator."""

MNEMONICS: Final = "espeak_mnemonics.tsv"
"""espeak-ng's mnemonics for the voice en-us, in ARPAbet: as they are read, and said."""

_SILENT: Final = frozenset({"", ";", "|", "||", "%", "=", "-"})
"""Marks of palatalisation, word joints and stress that stand alone."""

_STRESSES: Final = {"'": 1, ",": 2}


class EspeakError(DrillgenError):
    """The library of espeak-ng can't be used on this machine."""


def strip_stress(mnemonic: str) -> tuple[str, int]:
    """A mnemonic without its stress mark, and the stress: 0, 1 or 2.

    >>> strip_stress("'oU")
    ('oU', 1)
    """
    if mnemonic[:1] in _STRESSES:
        return mnemonic[1:], _STRESSES[mnemonic[0]]
    return mnemonic, 0


def convert_mnemonics(mnemonics: tuple[str, ...]) -> Phones | None:
    """ARPAbet phones of a word in espeak-ng's mnemonics; None if one is unknown.

    >>> from drillgen.core.phones import format_phones
    >>> format_phones(convert_mnemonics(("h", "'3:", "r", "i")))
    'HH ER1 IY0'
    """
    known = read_maps(MNEMONICS)["read"]
    parts: list[str] = []
    for mnemonic in mnemonics:
        bare, stress = strip_stress(mnemonic)
        if bare in _SILENT:
            continue
        if bare not in known:
            return None
        arpabet = known[bare].split()
        # After a vowel that has its own r, espeak writes a linking r as well.
        if arpabet == ["R"] and parts and (parts[-1] == "R" or parts[-1][:2] == "ER"):
            continue
        first = True
        for symbol in arpabet:
            if symbol[0] in "AEIOU":
                parts.append(f"{symbol}{stress if first else 0}")
                first = False
            else:
                parts.append(symbol)
    return parse_phones(parts) if parts else None


TURN: Final = Lock()
"""One for the process, as the library's state is: two engines in two threads share it."""


def open_library() -> Any:
    """The library, ready for American English. EspeakError where it can't be used."""
    try:
        import espeakng_loader

        library = ctypes.CDLL(espeakng_loader.get_library_path())
        data = espeakng_loader.get_data_path().encode()
    except (ImportError, OSError, AttributeError, RuntimeError) as error:
        raise EspeakError(f"espeak-ng can't be loaded: {error}") from error
    with TURN:
        if library.espeak_Initialize(_SYNCHRONOUS, 0, ctypes.c_char_p(data), _OPTIONS) < 0:
            raise EspeakError("espeak-ng can't read its data folder")
        set_reader(library)
    return library


def set_reader(library: Any) -> None:
    """Let the library read words as American English again, whatever voice spoke last: a
    voice brings rules of its own ("zed"). Only inside TURN."""
    if library.espeak_SetVoiceByName(ctypes.c_char_p(b"en-us")) != 0:
        raise EspeakError("espeak-ng has no American English")


class Espeak:
    """The rules of espeak-ng for one process.

    The library keeps its state in C globals, so calls take turns, whichever
    object they come from.
    """

    def __init__(self, library: Any) -> None:
        self._convert = library.espeak_TextToPhonemes

    @classmethod
    def load(cls) -> Espeak:
        """Open the library. EspeakError where the wheel has none for this machine."""
        library = open_library()
        library.espeak_TextToPhonemes.restype = ctypes.c_char_p
        library.espeak_TextToPhonemes.argtypes = (
            ctypes.POINTER(ctypes.c_char_p),
            ctypes.c_int,
            ctypes.c_int,
        )
        return cls(library)

    def mnemonics(self, word: str) -> tuple[str, ...]:
        """How espeak-ng writes a word: phoneme mnemonics, stress marks before vowels.

        Its reading of several words where it splits one is joined.
        """
        text = ctypes.c_char_p(word.encode("utf-8"))
        parts: list[str] = []
        with TURN:
            while text.value:
                result = self._convert(ctypes.byref(text), _UTF8, _SEPARATED)
                if result:
                    parts.extend(result.decode("utf-8").replace(" ", "_").split("_"))
        return tuple(part for part in parts if part not in _SILENT)

    def pronounce(self, word: str) -> Phones | None:
        """A word in ARPAbet; None if espeak-ng has no phonemes for it."""
        mnemonics = self.mnemonics(word)
        return convert_mnemonics(mnemonics) if mnemonics else None
