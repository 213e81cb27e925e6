"""espeak-ng's mnemonics, by a library that says what the case needs.

The names and numbers of the calls are those of speak_lib.h: espeak_Initialize(output, buffer,
path, options) with AUDIO_OUTPUT_SYNCHRONOUS 2 and options 1 and 0x8000; espeak_TextToPhonemes
(text, characters, mode) with espeakCHARS_UTF8 1 and the separator from bit 8 on.
"""

from __future__ import annotations

import ctypes
import types
from typing import Any

import espeakng_loader
import pytest

from drillgen.core.phones import format_phones
from drillgen.speech.pronounce.espeak import (
    Espeak,
    EspeakError,
    convert_mnemonics,
    open_library,
    set_reader,
    strip_stress,
)


def reader(*answers: str | None) -> tuple[Espeak, list[tuple[bytes, int, int]]]:
    """A library that answers in turn, each time for one more stretch of the text."""
    asked: list[tuple[bytes, int, int]] = []
    waiting = list(answers)

    def convert(text: Any, characters: int, mode: int) -> bytes | None:
        pointer = ctypes.cast(text, ctypes.POINTER(ctypes.c_char_p))
        asked.append((pointer[0], characters, mode))
        answer = waiting.pop(0)
        if not waiting:
            pointer[0] = None
        return None if answer is None else answer.encode()

    return Espeak(types.SimpleNamespace(espeak_TextToPhonemes=convert)), asked


@pytest.mark.parametrize(
    ("answers", "mnemonics"),
    [
        (["h_'3:_r_i"], ("h", "'3:", "r", "i")),
        # Words of a split one, in one answer or several; marks that say nothing.
        (["h_'I t_i"], ("h", "'I", "t", "i")),
        (["h_'I", None, "t_i"], ("h", "'I", "t", "i")),
        (["h_;_'I_||_t__-_%_i"], ("h", "'I", "t", "i")),
        ([""], ()),
        ([None], ()),
    ],
)
def test_what_it_writes(answers: list[str | None], mnemonics: tuple[str, ...]) -> None:
    espeak, asked = reader(*answers)
    assert espeak.mnemonics("hérí") == mnemonics
    assert asked == [("hérí".encode(), 1, ord("_") << 8)] * len(answers)


def test_words_in_our_phones() -> None:
    espeak, _ = reader("h_'3:_r_i")
    assert format_phones(espeak.pronounce("hurry") or ()) == "HH ER1 IY0"
    assert reader(None)[0].pronounce("x") is None
    assert reader("h_qq")[0].pronounce("x") is None


@pytest.mark.parametrize(
    ("mnemonic", "bare", "stress"),
    [("'oU", "oU", 1), (",oU", "oU", 2), ("oU", "oU", 0), ("", "", 0), ("'", "", 1)],
)
def test_stress_marks(mnemonic: str, bare: str, stress: int) -> None:
    assert strip_stress(mnemonic) == (bare, stress)


@pytest.mark.parametrize(
    ("mnemonics", "phones"),
    [
        ("b 'I,", None),
        ("b 'i@", "B IY1 AH0"),
        ("b ,aI@", "B AY2 AH0"),
        ("b 'A@ r i", "B AA1 R IY0"),
        ("b '3: r i", "B ER1 IY0"),
        ("b 'A: r i", "B AA1 R IY0"),
        ("r r i", "R IY0"),
        ("'O@ r", "AO1 R"),
        ("; | =", None),
        ("' b a", "B AE0"),
        ("'E~", "AE1 N"),
        ("i@3 r i", "IH0 R IY0"),
        ("t r i", "T R IY0"),
    ],
)
def test_phones(mnemonics: str, phones: str | None) -> None:
    found = convert_mnemonics(tuple(mnemonics.split()))
    assert (format_phones(found) if found else None) == phones


class Library:
    """The C library: says of each call whether it went well."""

    def __init__(self, rate: int = 22_050, voice: int = 0) -> None:
        self.calls: list[tuple[object, ...]] = []
        self.rate, self.voice = rate, voice
        self.espeak_TextToPhonemes = types.SimpleNamespace()

    def espeak_Initialize(self, output: int, buffer: int, path: Any, options: int) -> int:
        self.calls.append((output, buffer, path.value, options))
        return self.rate

    def espeak_SetVoiceByName(self, name: Any) -> int:
        self.calls.append((name.value,))
        return self.voice


def open_with(monkeypatch: pytest.MonkeyPatch, library: Library) -> Any:
    opened: list[str] = []

    def load(path: str) -> Library:
        opened.append(path)
        return library

    monkeypatch.setattr(ctypes, "CDLL", load)
    found = open_library()
    assert opened == [espeakng_loader.get_library_path()]
    return found


def test_opening(monkeypatch: pytest.MonkeyPatch) -> None:
    """No sound device, no exit on a missing folder, phoneme events; American English."""
    library = Library()
    assert open_with(monkeypatch, library) is library
    data = espeakng_loader.get_data_path().encode()
    assert library.calls == [(2, 0, data, 0x8001), (b"en-us",)]
    espeak = Espeak.load()
    assert espeak._convert is library.espeak_TextToPhonemes
    assert library.espeak_TextToPhonemes.restype is ctypes.c_char_p
    assert library.espeak_TextToPhonemes.argtypes == (
        ctypes.POINTER(ctypes.c_char_p),
        ctypes.c_int,
        ctypes.c_int,
    )


@pytest.mark.parametrize(
    ("library", "message"),
    [
        (Library(rate=-1), "espeak-ng can't read its data folder"),
        (Library(voice=1), "espeak-ng has no American English"),
        (Library(voice=-1), "espeak-ng has no American English"),
    ],
)
def test_what_goes_wrong(monkeypatch: pytest.MonkeyPatch, library: Library, message: str) -> None:
    with pytest.raises(EspeakError) as caught:
        open_with(monkeypatch, library)
    assert str(caught.value) == message
    open_with(monkeypatch, Library(rate=0))


def test_a_library_that_is_missing(monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(_: str) -> Any:
        raise OSError("no such file")

    monkeypatch.setattr(ctypes, "CDLL", fail)
    with pytest.raises(EspeakError) as caught:
        open_library()
    assert str(caught.value) == "espeak-ng can't be loaded: no such file"
    library = Library()
    set_reader(library)
    assert library.calls == [(b"en-us",)]
