"""How well the practice page hears a pitch, against Praat (Boersma 1993).

    python bench/pitch.py ../shared/data/speech [--quick] > bench/results/pitch.txt

The page's own meter (templates/page/js) runs in Chromium on whole files. The
files: our model voice and espeak-ng's own voice, chanting and talking, at
several pitches; the read speech of a folder, as it is and moved by Praat's
overlap-add; and made rough voices, whose pitch is known by construction. Each
as it is, soft, in a small room with noise, with mains hum, with noise.

Columns: files; seconds; share of the frames that Praat finds voiced in the
clean file (and in the very file) in which the page shows a pitch; of those,
share an octave off (nearer to half or twice Praat's) and share off by more
than a semitone; median difference in cents; share of the frames without voice
(in the clean file and 60 ms around) in which a pitch is shown; what the page
says of the room, as shares of the frames.

Then second formants: of made vowels at 90 to 260 Hz, against what they were
made with; of read speech, against Praat's (Burg, five formants up to
5 kHz), with the share that is off by more than a tenth.
"""

from __future__ import annotations

import argparse
import base64
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import parselmouth
from numpy.typing import NDArray
from parselmouth.praat import call
from playwright.sync_api import Page, sync_playwright

from drillgen.write.page import join_modules

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tools"))
from find_chromium import find_chromium

Sound = NDArray[np.float64]
RATE = 48_000
DELAY = 5 / 60 - 0.028 / 2
"""Seconds from the middle of the first that is compared to what is said, less half a period."""

TEXT = (
    "The old ferry leaves the quay at seven. Who is on deck? Nobody saw the heavy green box fall."
)


class Take(NamedTuple):
    """A recording; where it is made, also its pitch at each sample."""

    group: str
    sound: Sound
    hz: Sound | None = None


class Heard(NamedTuple):
    """What the page shows."""

    times: Sound
    hz: Sound
    states: list[str]


METER = """([text, wide]) => {
  MODULE
  const bytes = Uint8Array.from(atob(text), (sign) => sign.charCodeAt(0));
  const samples = new Float32Array(bytes.buffer);
  const meter = createMeter(48000);
  meter.widen(wide);
  const found = [];
  const start = performance.now();
  for (let at = 0; at + 128 <= samples.length; at += 128) {
    const heard = meter.push(samples.subarray(at, at + 128));
    for (const { hz, state, f2 } of heard) found.push([hz, state, f2 ?? null, at / 48000]);
  }
  return [found, performance.now() - start];
}"""


class Ear:
    """The page's meter in Chromium."""

    def __init__(self, page: Page) -> None:
        self._page = page
        self._source = METER.replace(
            "MODULE", join_modules(("detector", "tracker", "formant", "meter"))
        )
        self.seconds = 0.0
        self.spent = 0.0

    def hear(self, sound: Sound) -> Heard:
        """What is shown while a sound at RATE is heard."""
        text = base64.b64encode(sound.astype("<f4").tobytes()).decode()
        found, spent = self._page.evaluate(self._source, [text, False])
        self.spent += spent / 1000
        self.seconds += len(sound) / RATE
        return heard_at(np.array([row[0] for row in found]), [row[1] for row in found])

    def find_f2(self, sound: Sound) -> Sound:
        """Seconds, of the middle of what is looked at, and Hz, 0 where none is found."""
        text = base64.b64encode(sound.astype("<f4").tobytes()).decode()
        found, _ = self._page.evaluate(self._source, [text, True])
        return np.array([(at - 0.025, f2) for _, _, f2, at in found if f2 is not None])


def heard_at(hz: Sound, states: list[str]) -> Heard:
    """Frames with their times: of the middle of what was compared."""
    half = np.divide(0.5, hz, out=np.full(len(hz), 0.0025), where=hz > 0)
    times = np.arange(1, len(hz) + 1) / 60 - DELAY + half
    return Heard(times, hz, states)


# Recordings


def model_takes(pitches: tuple[float, ...], deliveries: tuple[str, ...]) -> Iterator[Take]:
    """Our own model voice."""
    from drillgen import make_drill
    from drillgen.core.values import Delivery
    from drillgen.sound.synth import RATE as MODEL_RATE
    from drillgen.sound.synth import Speed, Synth, Voice
    from drillgen.sound.voice import gather_groups, speak_group

    synth = Synth.load()
    drill = make_drill(TEXT)
    for hz in pitches:
        voice = Voice.LOWER if hz < 130 else Voice.LOW if hz < 170 else Voice.HIGHER
        for name in deliveries:
            delivery = Delivery(name)
            parts = [
                speak_group(g, synth, hz=hz, delivery=delivery, voice=voice, speed=Speed.STEADY)
                for g in gather_groups(drill, delivery)
            ]
            gap = np.zeros(MODEL_RATE // 3)
            sound = np.concatenate([gap, *(x for p in parts for x in (p.samples, gap))])
            yield Take(f"model {name}", fit(sound, MODEL_RATE))


def plain_takes(pitches: tuple[int, ...]) -> Iterator[Take]:
    """espeak-ng's own American voice, reading aloud; pitches on its scale of 0 to 99."""
    from drillgen.sound.synth import _CALLBACK
    from drillgen.speech.pronounce.espeak import open_library

    library = open_library()
    for pitch in pitches:
        pieces: list[Any] = []

        def receive(wave: Any, count: int, _: Any, pieces: list[Any] = pieces) -> int:
            if wave and count:
                pieces.append(np.ctypeslib.as_array(wave, (count,)).copy())
            return 0

        callback = _CALLBACK(receive)
        library.espeak_SetSynthCallback(callback)
        library.espeak_SetVoiceByName(b"en-us")
        library.espeak_SetParameter(1, 140, 0)
        library.espeak_SetParameter(3, pitch, 0)
        library.espeak_SetParameter(4, 50, 0)
        text = TEXT.encode()
        library.espeak_Synth(text, len(text) + 1, 0, 1, 0, 1, None, None)
        yield Take("espeak", fit(np.concatenate(pieces) / 32768.0, 22_050))


def real_takes(folder: Path, medians: tuple[float, ...]) -> Iterator[Take]:
    """Read speech, and the same with its pitch moved (Moulines and Charpentier 1990)."""
    for path in sorted(folder.glob("*.wav")):
        sound = parselmouth.Sound(str(path))
        yield Take("read", fit(sound.values[0], int(sound.sampling_frequency)))
        for median in medians:
            moved = call(sound, "Change gender", 75, 600, 1.0, median, 1.0, 1.0)
            yield Take("read, moved", fit(moved.values[0], int(moved.sampling_frequency)))


VOWELS = {
    "ee, women": (310, 2790, 3310, 4200, 5000),
    "ee, men": (270, 2290, 3010, 3700, 4500),
    "ah, women": (850, 1220, 2810, 3900, 4800),
    "ah, men": (730, 1090, 2440, 3500, 4400),
}
"""The first three formants of Peterson and Barney (1952); those above are invented."""


def resonate(sound: Sound, *weights: float) -> Sound:
    """An all-pole filter, each sample less the weighted ones before it: by its response over half
    a second more than the sound, in which it has died away."""
    size = len(sound) + RATE // 2
    delay = np.exp(-2j * np.pi * np.fft.rfftfreq(size))
    response = np.polynomial.polynomial.polyval(delay, [1.0, *weights])
    return np.asarray(np.fft.irfft(np.fft.rfft(sound, size) / response, size)[: len(sound)])


def shape_pulses(pulses: Sound, formants: tuple[int, ...]) -> Sound:
    """Pulses through the formants of a vowel (Fant 1960: source and filter). The source falls
    by 12 dB an octave above 100 Hz, the lips give 6 back."""
    sound = pulses
    for bandwidth, formant in zip((60, 90, 150, 200, 250), formants, strict=False):
        pole = np.exp((-np.pi * bandwidth + 2j * np.pi * formant) / RATE)
        sound = resonate(sound, -2 * pole.real, abs(pole) ** 2)
    for _ in range(2):
        sound = resonate(sound, -np.exp(-2 * np.pi * 100 / RATE))
    sound = np.diff(sound, prepend=0.0)
    return np.asarray(sound * (0.3 / np.abs(sound).max()))


def make_vowel(hz: float, formants: tuple[int, ...], seconds: float = 1.0) -> Sound:
    """A steady vowel."""
    pulses = np.zeros(round(seconds * RATE))
    pulses[(np.arange(0, len(pulses), RATE / hz)).astype(int)] = 1
    return shape_pulses(pulses, formants)


def rough_takes(pitches: tuple[float, ...]) -> Iterator[Take]:
    """/i/ and /ɑ/ of women; each pulse with its own length and strength: jitter 2%, shimmer
    15%, and every other one weaker by 10%."""
    chance = np.random.default_rng(7)
    for hz in pitches:
        for vowel in ("ee, women", "ah, women"):
            lengths = RATE / (hz * (1 + 0.02 * chance.standard_normal(round(2.5 * hz))))
            places = np.cumsum(lengths).astype(int)
            pulses = np.zeros(places[-1] + RATE // 10)
            sizes = 1 + 0.15 * chance.standard_normal(len(places))
            sizes[::2] *= 0.9
            pulses[places] = sizes
            sound = np.concatenate([np.zeros(RATE), shape_pulses(pulses, VOWELS[vowel])])
            truth = np.zeros(len(sound))
            truth[RATE + places[2] : RATE + places[-2]] = hz
            yield Take("rough", sound, truth)


def fit(sound: Sound, rate: int) -> Sound:
    """At RATE, after a second of silence; the loudest sample at 0.3."""
    resampled: Sound = parselmouth.Sound(sound, rate).resample(RATE, 50).values[0]
    return np.concatenate([np.zeros(RATE), resampled * (0.3 / np.abs(resampled).max())])


# What happens to them


def power(sound: Sound) -> float:
    """Mean square of what is not silent."""
    loud = sound[np.abs(sound) > 0.01 * np.abs(sound).max()]
    return float(np.mean(loud**2))


def add_noise(sound: Sound, decibels: float, *, pink: bool = False) -> Sound:
    """White noise, or pink, so many decibels below the sound."""
    noise = np.random.default_rng(3).standard_normal(len(sound))
    if pink:
        spectrum = np.fft.rfft(noise)
        spectrum[1:] /= np.sqrt(np.arange(1, len(spectrum)))
        spectrum[0] = 0
        noise = np.fft.irfft(spectrum, len(sound))
    noise *= np.sqrt(power(sound) / np.mean(noise**2)) * 10 ** (-decibels / 20)
    return sound + noise


def place_in_room(sound: Sound) -> Sound:
    """A small room: an echo as loud as the voice, down by 60 dB in 0.4 s; noise 20 dB below."""
    chance = np.random.default_rng(5)
    time = np.arange(round(0.4 * RATE)) / RATE
    echo = chance.standard_normal(len(time)) * 10 ** (-3 * time / 0.4)
    echo[: round(0.004 * RATE)] = 0
    echo *= 1 / np.sqrt(np.sum(echo**2))
    echo[0] = 1
    size = len(sound) + len(echo)
    wet: Sound = np.fft.irfft(np.fft.rfft(sound, size) * np.fft.rfft(echo, size), size)
    wet = wet[: len(sound)]
    return add_noise(wet * (0.3 / np.abs(wet).max()), 20)


def make_hum(length: int, hz: float, level: float) -> Sound:
    """Mains hum: a tone with five overtones, as strong as `level` (root mean square)."""
    time = np.arange(length) / RATE
    hum = sum(np.sin(2 * np.pi * k * hz * time + k) / k**1.5 for k in range(1, 7))
    return np.asarray(hum * (level / np.sqrt(np.mean(np.square(hum)))))


def add_hum(sound: Sound, hz: float = 120, decibels: float = 15) -> Sound:
    """Hum so many decibels below the voice, and noise 40 dB below."""
    level = np.sqrt(power(sound)) * 10 ** (-decibels / 20)
    return add_noise(sound, 40) + make_hum(len(sound), hz, level)


CONDITIONS: dict[str, Callable[[Sound], Sound]] = {
    "clean": lambda sound: sound,
    "soft, -30 dB": lambda sound: add_noise(0.03 * sound, 30),
    "small room, 20 dB": place_in_room,
    "hum, -15 dB": add_hum,
    # Mains strays by some hundredths of a hertz.
    "hum, 100.06 Hz, -10 dB": lambda sound: add_hum(sound, 100.06, 10),
    "pink noise, 15 dB": lambda sound: add_noise(sound, 15, pink=True),
    "noise, 0 dB": lambda sound: add_noise(sound, 0),
    "noise, 10 dB above": lambda sound: add_noise(sound, -10),
    "very soft, -54 dB": lambda sound: add_noise(0.002 * sound, 20),
}


def empty_sounds() -> Iterator[tuple[str, Sound]]:
    """Six seconds each of hum with noise 30 dB below, and of noise; levels of full scale."""
    for hz in (50, 60, 100, 120):
        for level in (-50, -30):
            hum = make_hum(6 * RATE, hz, 10 ** (level / 20))
            yield f"hum, {hz} Hz, {level} dB", add_noise(hum, 30)
    for level in (-50, -30, -20):
        flat = np.full(6 * RATE, 10 ** (level / 20))
        yield f"white noise, {level} dB", add_noise(flat, 0) - flat
        yield f"pink noise, {level} dB", add_noise(flat, 0, pink=True) - flat


# Measures


def find_pitch(sound: Sound) -> tuple[Sound, Sound]:
    """Praat's times and Hz, 0 where it finds no voice; its standard settings."""
    pitch = parselmouth.Sound(sound, RATE).to_pitch_ac(time_step=0.01)
    return pitch.xs(), pitch.selected_array["frequency"]


def near(heard: Heard, times: Sound) -> Sound:
    """What is shown at those times."""
    at = np.searchsorted(heard.times, times)
    at = np.clip(at, 1, len(heard.times) - 1)
    before = times - heard.times[at - 1] < heard.times[at] - times
    return heard.hz[np.where(before, at - 1, at)]


class Score(NamedTuple):
    """Counts of one file."""

    files: int
    seconds: float
    voiced: int
    shown: int
    voiced_there: int
    shown_there: int
    octaves: int
    far: int
    silent: int
    ghosts: int
    noisy: float
    soft: float
    offs: tuple[float, ...]


def score(take: Take, changed: Sound, heard: Heard) -> Score:
    """How what is heard of a changed take agrees with Praat on the clean one."""
    times, truth = find_pitch(take.sound)
    if take.hz is not None:
        truth = take.hz[np.minimum((times * RATE).astype(int), len(take.hz) - 1)]
    found = near(heard, times)
    voiced = truth > 0
    both = voiced & (found > 0)
    offs = 1200 * np.log2(found[both] / truth[both])
    around = np.convolve(voiced, np.ones(13), "same") > 0
    there_times, there = find_pitch(changed)
    shown_there = near(heard, there_times)[there > 0] > 0
    octave = np.abs(np.abs(offs) - 1200) < 200
    return Score(
        1,
        len(take.sound) / RATE,
        int(voiced.sum()),
        int(both.sum()),
        len(shown_there),
        int(shown_there.sum()),
        int(octave.sum()),
        int((np.abs(offs) > 100).sum()),
        int((~around).sum()),
        int((found[~around] > 0).sum()),
        heard.states.count("noisy") / len(heard.states),
        heard.states.count("soft") / len(heard.states),
        tuple(offs),
    )


def show(name: str, rows: list[Score]) -> str:
    """One line of the table."""
    total = [sum(column) for column in list(zip(*rows, strict=True))[:-1]]
    files, seconds, voiced, shown, there, shown_there, octaves, far, silent, ghosts, *says = total
    offs = np.abs(np.concatenate([row.offs for row in rows]))
    median = float(np.median(offs)) if len(offs) else float("nan")
    return (
        f"{name:<38}{files:>5}{seconds:>6.0f}{shown / max(1, voiced):>8.3f}"
        f"{shown_there / max(1, there):>8.3f}{octaves / max(1, shown):>8.4f}"
        f"{far / max(1, shown):>8.4f}{median:>7.1f}{ghosts / max(1, silent):>8.3f}"
        f"{says[0] / files:>7.2f}{says[1] / files:>6.2f}"
    )


def show_formants(ear: Ear, folder: Path) -> Iterator[str]:
    """Lines of the table of second formants."""
    yield f"\n{'second formant':<38}{'median':>8}{'worst':>8}{'found':>8}"
    for name, formants in VOWELS.items():
        errors, share = [], []
        for hz in (90, 110, 130, 150, 170, 196, 220, 240, 260):
            found = ear.find_f2(add_noise(make_vowel(hz, formants), 40))[:, 1]
            errors.append(abs(np.median(found[found > 0]) / formants[1] - 1))
            share.append(np.mean(found > 0))
        yield f"{name:<38}{np.median(errors):>8.3f}{max(errors):>8.3f}{np.mean(share):>8.2f}"
    for path in sorted(folder.glob("*.wav")):
        speech = parselmouth.Sound(str(path))
        formants = speech.to_formant_burg(maximum_formant=5000)
        rows = ear.find_f2(speech.resample(RATE, 50).values[0])
        praat = np.array([formants.get_value_at_time(2, at) for at, _ in rows])
        both = (rows[:, 1] > 0) & np.isfinite(praat)
        apart = np.abs(rows[both, 1] / praat[both] - 1)
        shown, far = np.mean(rows[:, 1] > 0), np.mean(apart > 0.1)
        yield f"{path.name:<38}{np.median(apart):>8.3f}{'':>8}{shown:>8.2f}  {far:.2f} far"


def gather(folder: Path, *, quick: bool) -> Iterator[Take]:
    """All takes."""
    pitches = (98.0, 196.0) if quick else (92.5, 110.0, 130.8, 164.8, 196.0, 220.0, 261.6, 293.7)
    yield from model_takes(pitches, ("chant", "inflected", "carry-over"))
    yield from plain_takes((20, 60) if quick else (0, 20, 40, 60, 80, 99))
    yield from real_takes(folder, () if quick else (97.0, 150.0, 190.0, 225.0, 285.0))
    yield from rough_takes((110.0, 180.0) if quick else (95.0, 120.0, 150.0, 180.0, 220.0, 280.0))


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser(description="Measure the live pitch.")
    parser.add_argument("speech", type=Path, help="a folder of WAV files with read speech")
    parser.add_argument("--quick", action="store_true", help="fewer pitches")
    options = parser.parse_args()
    takes = list(gather(options.speech, quick=options.quick))
    groups = list(dict.fromkeys(take.group for take in takes))
    print(
        f"{'condition, kind':<38}{'files':>5}{'s':>6}{'shown':>8}{'(same)':>8}"
        f"{'octave':>8}{'far':>8}{'cents':>7}{'ghosts':>8}{'noisy':>7}{'soft':>6}"
    )
    with sync_playwright() as playwright:
        chromium = find_chromium()
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        ear = Ear(browser.new_page())
        for name, change in CONDITIONS.items():
            rows: dict[str, list[Score]] = {group: [] for group in groups}
            for take in takes:
                changed = change(take.sound)
                rows[take.group].append(score(take, changed, ear.hear(changed)))
            for group in groups:
                print(show(f"{name}: {group}", rows[group]))
            print(show(f"{name}: all", [row for part in rows.values() for row in part]))
        print(f"\n{'sound without a voice':<38}{'shown':>8}{'noisy':>8}{'soft':>8}")
        for name, sound in empty_sounds():
            heard = ear.hear(sound)
            says = [heard.states.count(state) / len(heard.states) for state in ("noisy", "soft")]
            print(f"{name:<38}{np.mean(heard.hz > 0):>8.3f}{says[0]:>8.2f}{says[1]:>8.2f}")
        print("\n".join(show_formants(ear, options.speech)))
        print(f"time: {1000 * ear.spent / ear.seconds:.2f} ms of processor for a second of sound")
        browser.close()


if __name__ == "__main__":
    main()
