"""British sounds as phones of the dictionary, from which the accent step makes them again.

The tables of an accent's words stand before the accent step, with every r that is written and
American vowels, so that one table serves British, Australian and Scottish readings.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from british_witnesses import Sound, Sounds, is_vowel, read_phones

from drillgen.core.accents import Accent
from drillgen.core.phones import PHONE_TABLE
from drillgen.core.values import Phone, Phones
from drillgen.speech.align.letters import align, locate_letters
from drillgen.speech.pronounce.accent import accent_word

_MAY_HOLD_R: Final = frozenset({"AA", "AO", "ER", "@", "IA", "EA", "UA"})

_SOURCES: Final = {
    "AA": ("AA", "AE"),
    "AE": ("AE", "EH", "AA"),
    "AH": ("AH", "ER", "AA"),
    "AO": ("AO", "AA", "OW"),
    "EH": ("EH", "AE"),
    "EA": ("EH", "AE", "EY"),
    "IA": ("IH", "IY"),
    "IH": ("IH", "AH"),
    "IY": ("IY",),
    "OH": ("AA", "AO"),
    "UA": ("UH", "UW"),
    "UH": ("UH", "AH"),
    "@": ("AH", "IH", "ER"),
}
"""Sound → vowels of the dictionary that it may come from, the likeliest first."""


def _find_rs(word: str, sounds: Sounds) -> list[bool]:
    """Per sound, whether it is a vowel whose letters hold an r that is not said."""
    names = {"@": "AH"}
    phones = tuple(
        PHONE_TABLE[s.symbol]
        if s.stress is None
        else Phone(names.get(s.symbol, s.symbol), s.stress)
        for s in sounds
    )
    chunks = align(word, phones)
    if len(chunks) < 2 and len(word) > 2:
        return [False] * len(sounds)
    holds = [False] * len(sounds)
    for number, chunk in enumerate(chunks):
        if not chunk.phones:
            continue
        last = chunk.phones[-1]
        letters = chunk.letters
        if sounds[last].symbol not in _MAY_HOLD_R:
            continue
        for later in chunks[number + 1 :]:
            if later.phones:
                break
            letters += later.letters
        after = sounds[last + 1] if last + 1 < len(sounds) else None
        holds[last] = "r" in letters and (after is None or after.symbol != "R")
    return holds


_FULL: Final = frozenset(
    ["AA", "AE", "AH", "AO", "AW", "AY", "EA", "EH", "ER", "EY", "OH", "OY", "UA"]
)
_FULL_BEFORE_END: Final = frozenset({"OW", "UW", "IY"})


def _add_stress(sounds: Sounds) -> Sounds:
    """With the second stress that the dictionary gives full vowels behind the main one, and
    everywhere to those that it has with stress only."""
    stressed = list(sounds)
    main = next((i for i, s in enumerate(sounds) if s.stress == 1), len(sounds))
    last = max((i for i, s in enumerate(sounds) if s.stress is not None), default=-1)
    for i, (symbol, stress) in enumerate(sounds):
        if stress != 0:
            continue
        closes = i == last < len(sounds) - 1
        behind = i > main and (symbol in _FULL or (symbol in _FULL_BEFORE_END and closes))
        if behind or symbol in ("AH", "ER"):
            stressed[i] = Sound(symbol, 2)
    return tuple(stressed)


_IN_TWO: Final = {"IA": re.compile("[iy][aeou]r|eor"), "UA": re.compile("u[aeo]r")}
"""Spellings of a weak NEAR or CURE that is two vowels: "premier", "actuary"."""


def _open_up(word: str, sounds: Sounds) -> Sounds:
    """NEAR and CURE as one vowel or two, as the letters and the stress have them."""
    opened: list[Sound] = []
    rs = _find_rs(word, sounds)
    for i, sound in enumerate(sounds):
        after = sounds[i + 1] if i + 1 < len(sounds) else None
        centring = rs[i] or (after is not None and after.symbol == "R")
        if sound.symbol in ("IA", "UA"):
            weak_two = not sound.stress and _IN_TWO[sound.symbol].search(word) is not None
            two = not centring or weak_two
            if two:
                full = {"IA": "IY", "UA": "UW"}[sound.symbol]
                opened += [Sound(full, sound.stress), Sound("@", 0)]
                continue
        opened.append(sound)
    return tuple(opened)


def candidates(sound: Sound, r_here: bool) -> Iterator[str]:
    if sound.symbol == "@":
        yield from (("ER",) if r_here else ("AH", "IH"))
    elif sound.symbol == "ER":
        yield "ER"
    else:
        yield from _SOURCES.get(sound.symbol, (sound.symbol,))


def to_dictionary(word: str, sounds: Sounds, accent: Accent) -> Phones | None:
    """Phones of the dictionary that the accent says as these sounds; None where there are none.

    A weak vowel may come out as another weak vowel that the spelling calls for.
    """
    sounds = _add_stress(_open_up(word, sounds))
    rs = _find_rs(word, sounds)
    phones: list[Phone] = []
    at: list[int] = []
    for i, sound in enumerate(sounds):
        after = sounds[i + 1] if i + 1 < len(sounds) else None
        r_next = after is not None and after.symbol == "R"
        at.append(len(phones))
        if sound.stress is None:
            # NURSE and lettER have their r in them.
            if sound.symbol == "R" and phones and phones[-1].symbol == "ER":
                continue
            phones.append(PHONE_TABLE[sound.symbol])
            continue
        if sound.symbol == "@" and r_next and sound.stress == 0:
            # "camera": a schwa and an r.
            phones.append(PHONE_TABLE["ER0"])
            continue
        symbol = next(candidates(sound, rs[i]))
        phones.append(Phone(symbol, sound.stress))
        needs = sound.symbol in ("IA", "EA", "UA") or rs[i]
        if needs and symbol != "ER" and not r_next:
            phones.append(PHONE_TABLE["R"])
    said = tuple(phones)
    for i, sound in enumerate(sounds):
        if sound.stress is None:
            continue
        k = at[i]
        after = sounds[i + 1] if i + 1 < len(sounds) else None
        r_next = after is not None and after.symbol == "R"
        if said[k].symbol == "ER" and sound.symbol == "@":
            continue
        for symbol in candidates(sound, rs[i]):
            tried = (*said[:k], Phone(symbol, sound.stress), *said[k + 1 :])
            if hear(word, tried, accent, k) == sound.symbol:
                said = tried
                break
    heard = read_phones(accent_word(said, accent, False, word, locate_letters))
    return tuple(PHONE_TABLE[str(p)] for p in said) if agree(heard, sounds) else None


def hear(word: str, phones: Phones, accent: Accent, k: int) -> str:
    """The sound that the accent makes of the vowel at `k`."""
    said = accent_word(phones, accent, False, word, locate_letters)
    vowels = [p for p in said if p.stress is not None]
    which = sum(p.stress is not None for p in phones[:k])
    return read_phones((vowels[which],))[0].symbol


_WEAK: Final = frozenset({"@", "IH", "IY", "UH", "UW"})


def agree(ours: Sounds, theirs: Sounds) -> bool:
    """Whether two readings are the same but for the shade of weak vowels."""
    return len(ours) == len(theirs) and all(
        a.symbol == b.symbol
        or (is_vowel(a) and is_vowel(b) and not b.stress and {a.symbol, b.symbol} <= _WEAK)
        for a, b in zip(ours, theirs, strict=True)
    )
