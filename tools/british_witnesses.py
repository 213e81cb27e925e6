"""What others say of British pronunciations, in one notation.

Witnesses: G misaki's dictionary gb_gold (package misaki 0.9.4, Apache-2.0), W Wiktionary's
British rows (WikiPron, Lee et al. 2020, LREC; CC BY-SA 4.0; without stress), S espeak-ng's
voice en-gb-x-rp (wheel espeakng-loader). Their notations have one symbol for one sound almost
throughout; `read_ipa` reads them all, `even_out` takes away what is but a habit.
"""

from __future__ import annotations

import ctypes
import gzip
import re
from collections import defaultdict
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Final, NamedTuple

from outside_words import load_dictionary

from drillgen.core.values import Phones
from drillgen.speech.pronounce.espeak import open_library
from drillgen.speech.pronounce.lexicon import spell_plainly


class Sound(NamedTuple):
    """A phone of the British accent; @ is the schwa. Consonants have no stress."""

    symbol: str
    stress: int | None


Sounds = tuple[Sound, ...]

_VOWEL_SIGNS: Final = (
    "iː IY;i IY;ɪ IH;ɪː IA;ɨ IH;ɪə IA;iə IA;ɛ EH;e EH;ɛː EA;ɛə EA;eə EA;eː EA;æ AE;a AE;ʌ AH"
    ";ə @;ɐ @;ᵊ @;ɚ @;ɜː ER;ɜ ER;ɝ ER;əː ER;ɑː AA;ɑ AA;aː AA;ɒ OH;ɔː AO;ɔ AO;ʊ UH;ɵ UH"
    ";ʊə UA;uə UA;uː UW;u UW;ʉ UW;eɪ EY;ɛɪ EY;A EY;aɪ AY;ʌɪ AY;ɑɪ AY;I AY;ɔɪ OY;ɒɪ OY;Y OY"
    ";aʊ AW;æʊ AW;ɑʊ AW;W AW;əʊ OW;oʊ OW;Q OW;O OW;o OH"
)
_CONSONANT_SIGNS: Final = (
    "p P;b B;t T;d D;k K;ɡ G;g G;f F;v V;θ TH;ð DH;s S;z Z;ʃ SH;ʒ ZH;h HH;m M;n N;ŋ NG;l L;ɫ L"
    ";ɹ R;r R;j Y;w W;ʍ W;ʤ JH;ʧ CH;x K;ɾ T;ɬ L;ʔ T"
)
_VOWELS: Final = dict(pair.split(" ") for pair in _VOWEL_SIGNS.split(";"))
_CONSONANTS: Final = dict(pair.split(" ") for pair in _CONSONANT_SIGNS.split(";"))
_NASAL: Final = {"ɑ̃": ("AA", "N"), "ɒ̃": ("OH", "N"), "ɔ̃": ("OH", "N"), "æ̃": ("AE", "N")}
_LEFT_OUT: Final = re.compile("[ _.‿\u0361\u032f\u02d1\u02b0\u031a\u0306\u032a ]")


def read_ipa(text: str) -> Sounds | None:
    """The sounds of a word; None where a sign is unknown. A vowel has the stress before it."""
    # Two signs without a tie are two sounds: gb_gold has "nʌtʃɛl" for "nutshell".
    text = _LEFT_OUT.sub("", text.replace("t͡ʃ", "ʧ").replace("d͡ʒ", "ʤ"))
    sounds: list[Sound] = []
    stress, i = 0, 0
    while i < len(text):
        sign = text[i]
        if sign in "ˈˌ":
            stress, i = (1 if sign == "ˈ" else 2), i + 1
            continue
        if sign == "\u0329":
            sounds.insert(-1, Sound("@", 0))
            i += 1
            continue
        for width in (2, 1):
            piece = text[i : i + width]
            if piece in _NASAL:
                vowel, nasal = _NASAL[piece]
                sounds += [Sound(vowel, stress), Sound(nasal, None)]
            elif piece in _VOWELS:
                sounds.append(Sound(_VOWELS[piece], stress))
            elif piece in _CONSONANTS:
                sounds.append(Sound(_CONSONANTS[piece], None))
                i += width
                break
            else:
                continue
            stress = 0
            i += width
            break
        else:
            return None
    return tuple(sounds)


_OBSTRUENTS: Final = frozenset("P B T D K G F V TH DH S Z SH ZH CH JH".split())  # noqa: SIM905


def add_schwas(sounds: Sounds) -> Sounds:
    """With the schwa before a syllabic n, l or m that gb_gold has lost here and there
    ("student", stj'u:dnt)."""
    full: list[Sound] = []
    for i, sound in enumerate(sounds):
        after = sounds[i + 1] if i + 1 < len(sounds) else None
        glides = after is not None and after.symbol in ("Y", "W", "R")
        bare = sound.symbol in ("N", "L", "M") and not (is_vowel(after) or glides)
        if bare and full and full[-1].symbol in _OBSTRUENTS:
            full.append(Sound("@", 0))
        full.append(sound)
    return tuple(full)


def read_phones(phones: Phones) -> Sounds:
    """A pronunciation in the British accent as sounds."""
    weak = {"AH": "@", "ER": "@"}
    return tuple(
        Sound(weak.get(p.symbol, p.symbol) if p.stress == 0 else p.symbol, p.stress)
        for p in phones
    )


_PALATAL: Final = {"T": "CH", "D": "JH", "S": "SH", "Z": "ZH"}
_NO_YOD: Final = frozenset({"L", "S", "Z", "TH", "CH", "JH", "SH", "ZH", "R"})
_JOINED: Final = {("T", "SH"): "CH", ("D", "ZH"): "JH"}
_SONORANTS: Final = frozenset({"R", "L", "N", "M"})
_CENTRING: Final = {"IY": "IA", "IH": "IA", "UW": "UA", "UH": "UA"}


def is_vowel(sound: Sound | None) -> bool:
    return sound is not None and sound.stress is not None


def even_out(sounds: Sounds, *, short: int = 0, wide: bool = False) -> Sounds:
    """In one piece because each habit looks at what the ones before have left.

    Without differences that are but habits or free: coda r, y before the vowel of "goose"
    after s, z, l, th, ch, j and sh, ch or t and y, a passing t or p, n or ng before k.

    `short`: without weak vowels between a consonant and r, l, n or m and a vowel ("sep(a)rate");
    2: without schwas there before consonants and at the end, too.
    `wide`: NEAR and CURE are two vowels each, else two such vowels are one.
    """
    row = [
        sound
        for i, sound in enumerate(sounds)
        if sound.symbol != "R" or is_vowel(sounds[i + 1] if i + 1 < len(sounds) else None)
    ]
    out: list[Sound] = []
    for i, sound in enumerate(row):
        name, stress = sound
        before = out[-1] if out else Sound("", None)
        after = row[i + 1] if i + 1 < len(row) else Sound("", None)
        beyond = row[i + 2] if i + 2 < len(row) else Sound("", None)
        if name == "Y" and is_vowel(after) and before.symbol:
            if before.symbol in ("T", "D") and after.symbol in ("UW", "UH", "UA", "AO", "@"):
                out[-1] = Sound({"T": "CH", "D": "JH"}[before.symbol], None)
                continue
            if before.symbol in _NO_YOD and after.symbol in ("UW", "UA"):
                continue
            if before.symbol in ("CH", "JH", "SH", "ZH"):
                continue
        if (before.symbol, name) in _JOINED:
            out[-1] = Sound(_JOINED[before.symbol, name], None)
            continue
        if name == "W" and before.symbol == "HH":
            out[-1] = sound
            continue
        if stress is None and sound == before:
            continue
        if stress == 0 and name in ("@", "IH", "UH") and after.symbol in _SONORANTS:
            if before.symbol in ("AY", "AW") and after.symbol == "R":
                continue
            leans = is_vowel(beyond) or (name == "@" and short > 1)
            if short and leans and before.stress is None and before.symbol:
                continue
        if name == "N" and after.symbol in ("K", "G"):
            sound = Sound("NG", None)
        if name in ("T", "D") and before.symbol == "N" and after.symbol in ("S", "Z"):
            continue
        if name == "P" and before.symbol == "M" and after.symbol in ("T", "S"):
            continue
        if name in ("CH", "JH") and before.symbol == "N":
            sound = Sound({"CH": "SH", "JH": "ZH"}[name], None)
        out.append(sound)
    return _widen(out) if wide else _merge(out)


def _widen(row: Sequence[Sound]) -> Sounds:
    wide: list[Sound] = []
    for i, sound in enumerate(row):
        after = row[i + 1] if i + 1 < len(row) else None
        if sound.symbol in ("IA", "UA"):
            wide += [Sound({"IA": "IY", "UA": "UW"}[sound.symbol], sound.stress), Sound("@", 0)]
        elif sound.symbol in ("Y", "W") and i and row[i - 1].stress is None and after in _SCHWAS:
            wide.append(Sound("IY" if sound.symbol == "Y" else "UW", 0))
        else:
            wide.append(sound)
    return tuple(wide)


_SCHWAS: Final = (Sound("@", 0), Sound("UH", 0))


def _merge(row: Sequence[Sound]) -> Sounds:
    merged: list[Sound] = []
    for sound in row:
        before = merged[-1].symbol if merged else ""
        if sound.symbol in ("@", "UH") and not sound.stress and before in _CENTRING:
            merged[-1] = Sound(_CENTRING[before], merged[-1].stress)
        else:
            merged.append(sound)
    return tuple(merged)


SHORT: Final = (0, 1, 2)


def skeletons(sounds: Sounds) -> frozenset[tuple[str, ...]]:
    """What a full swap leaves, in full and short."""
    return frozenset(
        skeleton(even_out(sounds, short=short, wide=wide))
        for short in SHORT
        for wide in (False, True)
    )


def skeleton(evened: Sounds) -> tuple[str, ...]:
    return tuple(s.symbol if s.stress is None else "*" for s in evened)


def main_stress(evened: Sounds) -> int | None:
    stresses = [s.stress for s in evened if s.stress is not None]
    return max((i for i, stress in enumerate(stresses) if stress == 1), default=None)


def vowels(evened: Sounds) -> list[Sound]:
    return [s for s in evened if s.stress is not None]


def read_misaki(name: str, *, names: bool = True) -> Mapping[str, tuple[Sounds, ...]]:
    """Words of misaki's gb_gold, lower case, with all their forms; what stands there in lower
    case goes first and a name gives its forms only where there is no other, or, without
    `names`, never."""
    entries = load_dictionary(name)
    words: dict[str, tuple[Sounds, ...]] = {}
    for word in sorted(entries, key=lambda word: (not word.islower(), word)):
        if not re.fullmatch("[A-Za-z][a-z']+", word) or word.lower() in words:
            continue
        if not (names or word.islower()):
            continue
        forms = [read_ipa(text) for text in dict.fromkeys(entries[word])]
        words[word.lower()] = tuple(add_schwas(form) for form in forms if form)
    return words


def read_wiktionary(path: Path) -> Mapping[str, tuple[Sounds, ...]]:
    """Words of WikiPron's British rows with all their forms, without stress."""
    words: defaultdict[str, list[Sounds]] = defaultdict(list)
    with gzip.open(path, "rt", encoding="utf-8") as lines:
        for line in lines:
            word, ipa = line.rstrip("\n").split("\t")
            sounds = read_ipa(ipa)
            if sounds and re.fullmatch("[A-Za-z']+", spell_plainly(word)):
                words[spell_plainly(word)].append(sounds)
    return {word: tuple(dict.fromkeys(forms)) for word, forms in words.items()}


class BritishEspeak:
    """espeak-ng's British voice."""

    VOICE: Final = b"en-gb-x-rp"

    def __init__(self) -> None:
        library = open_library()
        self._set_voice = library.espeak_SetVoiceByName
        self._convert = library.espeak_TextToPhonemes
        self._convert.restype = ctypes.c_char_p
        self._convert.argtypes = (ctypes.POINTER(ctypes.c_char_p), ctypes.c_int, ctypes.c_int)

    def say(self, word: str) -> Sounds | None:
        # Whoever else uses the library sets the American voice again.
        if self._set_voice(ctypes.c_char_p(self.VOICE)) != 0:
            raise SystemExit("espeak-ng has no such voice")
        text = ctypes.c_char_p(word.encode("utf-8"))
        parts = []
        while text.value:
            # UTF-8; IPA.
            result = self._convert(ctypes.byref(text), 1, 2)
            if result:
                parts.append(result.decode("utf-8"))
        return read_ipa("".join(parts).replace("tʃ", "ʧ").replace("dʒ", "ʤ"))
