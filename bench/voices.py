"""Voices of other makers for takes whose answers are known: flite and festival, where installed.

Diphones (kal16, ked) and statistical models of four speakers' recordings (slt, rms, awb, slt-hts):
other methods, other programs and other people than the model voice. They are tools of the bench
alone. A drill is said as made-up words whose pronunciations are given to the program's lexicon,
so that lengths and tune are its own. The pitch is set afterwards (Praat's "Change gender").
"""

from __future__ import annotations

import random
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final, NamedTuple

import numpy as np
import parselmouth
from parselmouth.praat import call
from takes import Samples, Take

from drillgen.core.accents import load_accent
from drillgen.core.syllables import syllabify
from drillgen.core.values import Delivery, Drill, Phones, Tune
from drillgen.sound.synth import RATE, Speed

_MARKS: Final = {Tune.FALL: ".", Tune.RISE: "?", Tune.LEVEL: ","}
_STRETCH: Final = {Speed.SLOW: 1.5, Speed.STEADY: 1.2, Speed.NATURAL: 1.0}
"""How much longer than the program's own speech."""

Word = list[tuple[tuple[str, ...], int]]
"""Syllables: phones, stress."""


class Outside(NamedTuple):
    """A voice of another program."""

    name: str
    program: str
    voice: str
    hz: float
    """Pitch that takes are given."""

    low: bool
    tract: float = 1.0
    """Ratio by which its formants are moved: another speaker with the same ways."""

    def say(
        self,
        drill: Drill,
        *,
        share: float = 0.0,
        seed: int = 0,
        delivery: Delivery = Delivery.CHANT,
        spoken: Delivery | None = None,
        speed: Speed = Speed.STEADY,
    ) -> Take:
        """A take in which a share of the vowels has its own sound."""
        phrases, slips, owns = _choose_words(drill, share, seed, delivery)
        pieces = [np.zeros(RATE // 3)]
        for samples in _SPEAK[self.program](self.voice, phrases, _STRETCH[speed]):
            sound = parselmouth.Sound(samples, RATE)
            sound = self._tune(sound, spoken or delivery)
            pieces += [0.5 * sound.values[0] / np.abs(sound.values).max(), np.zeros(RATE // 3)]
        return Take(np.concatenate(pieces), slips, owns)

    def _tune(self, sound: Any, delivery: Delivery) -> Any:
        spread = 0.0 if delivery is Delivery.CHANT else 1.0
        return call(sound, "Change gender", 60, 400, self.tract, self.hz, spread, 1)


OUTSIDE: Final = (
    Outside("slt", "flite", "slt", 200, False),
    Outside("hts", "festival", "cmu_us_slt_arctic_hts", 190, False),
    Outside("rms up", "flite", "rms", 185, False, 1.15),
    Outside("ked up", "festival", "ked_diphone", 175, False, 1.15),
    Outside("rms", "flite", "rms", 105, True),
    Outside("awb", "flite", "awb", 125, True),
    Outside("kal16", "flite", "kal16", 115, True),
    Outside("ked", "festival", "ked_diphone", 110, True),
)


def list_outside() -> tuple[Outside, ...]:
    """The voices whose program is here."""
    return tuple(voice for voice in OUTSIDE if shutil.which(voice.program))


def _choose_words(
    drill: Drill, share: float, seed: int, delivery: Delivery
) -> tuple[list[tuple[list[Word], str]], tuple[bool, ...], tuple[str, ...]]:
    """Words of each phrase and its mark; per vowel whether it slips, and its own sound."""
    chance = random.Random(seed)
    slips: list[bool] = []
    owns: list[str] = []
    yods = load_accent(drill.accent).yods

    def choose(phones: Phones) -> Iterator[tuple[tuple[str, ...], int]]:
        for syllable in syllabify(phones, yods=yods):
            row = [p.symbol for p in phones[syllable.start : syllable.end]]
            place = syllable.nucleus - syllable.start
            own = row[place]
            slips.append(own != drill.target and chance.random() < share)
            owns.append(own)
            stress = phones[syllable.nucleus].stress or 0
            if delivery is not Delivery.CARRY_OVER and not slips[-1]:
                row[place] = drill.target
            yield _to_program(row, stress), int(bool(stress))

    phrases = []
    for phrase, tokens in zip(drill.phrases, drill.readings, strict=True):
        words = [list(choose(reading.phones)) for said in tokens for reading in said]
        phrases.append(([word for word in words if word], _MARKS[phrase.tune]))
    return [row for row in phrases if row[0]], tuple(slips), tuple(owns)


def _to_program(symbols: list[str], stress: int) -> tuple[str, ...]:
    """Phones of both programs, which are those of CMUdict and a schwa."""
    row = [s for n, s in enumerate(symbols) if not (s == "R" and n and symbols[n - 1] == "ER")]
    return tuple("ax" if s == "AH" and not stress else s.lower() for s in row)


def _name(number: int) -> str:
    """A word that no lexicon has, and that is not spelled out."""
    return "qa" + "".join("bdfgklmn"[int(digit)] + "a" for digit in f"{number:o}") + "q"


def _read(path: Path) -> Samples:
    return np.asarray(parselmouth.Sound(str(path)).resample(RATE, 30).values[0])


def _speak_flite(
    voice: str, phrases: list[tuple[list[Word], str]], stretch: float
) -> Iterator[Samples]:
    with tempfile.TemporaryDirectory() as folder:
        lexicon, out = Path(folder, "words"), Path(folder, "out.wav")
        for words, mark in phrases:
            rows = [
                " ".join(
                    phone + (str(stress) if phone[0] in "aeiou" else "")
                    for phones, stress in word
                    for phone in phones
                )
                for word in words
            ]
            lexicon.write_text("".join(f'"{_name(n)}" nil : {r}\n' for n, r in enumerate(rows)))
            text = " ".join(map(_name, range(len(rows)))) + mark
            options = ["-voice", voice, "-add_lex", str(lexicon)]
            options += ["--setf", f"duration_stretch={stretch}", "-t", f" {text}", "-o", str(out)]
            subprocess.run(["flite", *options], check=True)
            yield _read(out)


def _speak_festival(
    voice: str, phrases: list[tuple[list[Word], str]], stretch: float
) -> Iterator[Samples]:
    with tempfile.TemporaryDirectory() as folder:
        lines = [f"(voice_{voice})", f"(Parameter.set 'Duration_Stretch {stretch})"]
        count = 0
        for place, (words, mark) in enumerate(phrases):
            first = count
            for count, word in enumerate(words, first + 1):
                parts = "".join(f"(({' '.join(phones)}) {stress})" for phones, stress in word)
                lines.append(f'(lex.add.entry \'("{_name(count)}" nil ({parts})))')
            text = " ".join(_name(n) for n in range(first + 1, count + 1)) + mark
            lines.append(f'(set! u (utt.synth (Utterance Text "{text}")))')
            lines.append(f'(utt.save.wave u "{folder}/{place}.wav" \'riff)')
        script = Path(folder, "say.scm")
        script.write_text("\n".join(lines))
        subprocess.run(["festival", "--batch", str(script)], check=True)
        for place in range(len(phrases)):
            yield _read(Path(folder, f"{place}.wav"))


_SPEAK: Final = {"flite": _speak_flite, "festival": _speak_festival}
