"""The model voice, measured by Praat (through praat-parselmouth)."""

from __future__ import annotations

import io
import re
import shutil
from itertools import chain, islice
from pathlib import Path
from typing import Any

import numpy as np
import parselmouth
import pytest
import soundfile
from hypothesis import given, settings
from hypothesis import strategies as st

import drillgen
from drillgen.cli import run
from drillgen.core.errors import DrillgenError
from drillgen.core.formants import hz_to_bark
from drillgen.core.options import DrillOptions, Strategy
from drillgen.core.phones import CONSONANTS, VOWELS
from drillgen.core.values import Delivery, Drill, Grade, Phone, Tune, VersionKind
from drillgen.sound import synth as module
from drillgen.sound.lesson import LessonOptions, arrange_lesson, speak_drill, write_captions
from drillgen.sound.synth import RATE, Sound, Speed, Synth, Voice
from drillgen.sound.voice import gather_groups
from drillgen.speech.pronounce.espeak import Espeak, open_library

TEXT = (
    "The kettle sings on the stove, and nobody hurries. Two neighbours bring a basket of plums. "
    "Would you like some?"
)


@pytest.fixture(scope="module")
def synth() -> Synth:
    return Synth.load()


class _WithoutOpenFiles:
    """espeak-ng where open files have no names, as on Windows."""

    def __init__(self, library: Any) -> None:
        self.library = library

    def __getattr__(self, name: str) -> Any:
        return getattr(self.library, name)

    def espeak_ng_SetVoiceByFile(self, path: Any) -> int:
        refused = path.value.startswith(b"/dev/")
        return 1 if refused else int(self.library.espeak_ng_SetVoiceByFile(path))


@pytest.mark.parametrize("named", [True, False], ids=["open files have names", "they have none"])
def test_a_voice_speaks_from_a_long_path(
    named: bool, synth: Synth, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """espeak-ng takes 59 bytes of a path, and an installed package has a longer one."""
    folder = tmp_path / ("site-packages" * 8)
    shutil.copytree(Path(drillgen.__file__).parent / "data" / "voices", folder)
    monkeypatch.setattr(module, "data_file", lambda name: folder / Path(name).name)
    library = open_library()
    speaker = Synth(library if named else _WithoutOpenFiles(library))
    sounds = [Sound(Phone("IY", 1), stressed=True, ends_word=True)]
    here = Path.cwd()
    said = speaker.speak(sounds, Voice.HIGHER, Speed.SLOW, 196.0).samples
    assert np.array_equal(said, synth.speak(sounds, Voice.HIGHER, Speed.SLOW, 196.0).samples)
    assert Path.cwd() == here
    (folder / "higher").write_bytes(b"")
    with pytest.raises(DrillgenError, match="can't read the voice higher"):
        speaker.speak(sounds, Voice.HIGHER, Speed.SLOW, 196.0)


@pytest.fixture(scope="module")
def drill() -> Drill:
    return drillgen.make_drill(TEXT)


def track_cents(samples: np.ndarray, hz: float) -> np.ndarray:
    """Cents from `hz` of the voiced frames, by Praat's autocorrelation method (Boersma 1993)."""
    sound = parselmouth.Sound(samples, RATE)
    pitch = sound.to_pitch_ac(time_step=0.01, pitch_floor=75, pitch_ceiling=500)
    found = pitch.selected_array["frequency"]
    return np.asarray(1200 * np.log2(found[found > 0] / hz))


@pytest.mark.parametrize(("voice", "hz"), [(v, h) for v in Voice for h in (110.0, 196.0, 262.0)])
def test_the_chant_stays_on_the_note(synth: Synth, drill: Drill, voice: Voice, hz: float) -> None:
    options = LessonOptions(hz=hz, voice=voice)
    cents = np.concatenate(
        [track_cents(group.samples, hz) for group in speak_drill(drill, options, synth)]
    )
    low, middle, high = np.percentile(cents, [5, 50, 95])
    assert abs(middle) < 5
    assert low > -20
    assert high < 20


@pytest.mark.parametrize("voice", Voice)
def test_every_vowel_of_the_chant_is_the_target(synth: Synth, drill: Drill, voice: Voice) -> None:
    """F1 and F2 by Burg's method within 0.7 Bark (Traunmüller 1990) of the voice's own /i/."""
    ceiling = 5500 if voice in (Voice.HIGHER, Voice.HIGH) else 5000
    found = []
    groups = gather_groups(drill, Delivery.CHANT)
    spoken = speak_drill(drill, LessonOptions(voice=voice), synth)
    for group, said in zip(groups, spoken, strict=True):
        formants = parselmouth.Sound(said.samples, RATE).to_formant_burg(
            max_number_of_formants=5, maximum_formant=ceiling
        )
        for index, sound in enumerate(group.sounds):
            if sound.phone.is_vowel:
                centre = (said.starts[index] + said.starts[index + 1]) / 2
                values = [formants.get_value_at_time(n, centre) for n in (1, 2)]
                found.append([hz_to_bark(value) for value in values])
    distance = np.abs(np.array(found) - np.median(found, axis=0))
    assert (distance < 0.7).all(axis=1).mean() >= 0.95


def test_inflected_speech_moves_as_its_tune_says(synth: Synth) -> None:
    options = LessonOptions(Delivery.INFLECTED, speed=Speed.STEADY)
    ends = {}
    for text in ("The kettle sings on the stove.", "Would you like some plums?"):
        made = drillgen.make_drill(text)
        (group,) = gather_groups(made, Delivery.INFLECTED)
        assert group.grades.count(Grade.NUCLEUS) == 1
        (said,) = speak_drill(made, options, synth)
        cents = track_cents(said.samples, options.hz)
        assert np.percentile(cents, 95) - np.percentile(cents, 5) > 400
        ends[group.tune] = float(np.median(cents[-8:]))
    assert ends[Tune.FALL] < -200
    assert ends[Tune.RISE] > 200


def test_carry_over_keeps_the_original_vowels(drill: Drill) -> None:
    groups = gather_groups(drill, Delivery.CARRY_OVER)
    vowels = {sound.phone.symbol for group in groups for sound in group.sounds}
    assert {"EH", "AA", "OW", "AH"} <= vowels


@pytest.mark.parametrize("strategy", Strategy)
def test_a_partial_version_says_what_it_prints(strategy: Strategy) -> None:
    """Where the print shows each vowel of a word, those that it shows as swapped are the
    target, and all others are the word's own; consonants stay."""
    drill = drillgen.make_drill(TEXT, DrillOptions(rungs=3, strategy=strategy))
    for version in (v for v in drill.versions if v.kind is VersionKind.PARTIAL):
        groups = gather_groups(drill, Delivery.CARRY_OVER, version)
        said = iter([sound.phone for group in groups for sound in group.sounds])
        swapped = 0
        rows = chain.from_iterable(
            zip(line.cells, readings, strict=True)
            for line, readings in zip(version.lines, drill.readings, strict=True)
        )
        for cell, readings in rows:
            own = [phone for word in readings for phone in word.phones]
            now = list(islice(said, len(own)))
            assert all(
                a == b or (a.is_vowel and b.symbol == "IY") for a, b in zip(own, now, strict=True)
            )
            if cell and cell.respelled:
                shown = [run.swapped for run in cell.runs if run.vowel]
                vowels = [(a, b) for a, b in zip(own, now, strict=True) if a.is_vowel]
                if len(shown) == len(vowels):
                    assert shown == [a.symbol != b.symbol for a, b in vowels]
                    swapped += sum(shown)
            else:
                assert now == own
        assert swapped >= 3


def test_captions_tell_where_each_word_begins(synth: Synth, drill: Drill) -> None:
    options = LessonOptions(note=True, gap=1.5)
    groups = tuple(speak_drill(drill, options, synth))
    lesson = arrange_lesson(groups, options)
    assert len(lesson.cues) == 2 * len(groups)
    for cue, answer, group in zip(lesson.cues[::2], lesson.cues[1::2], groups, strict=True):
        # Silence before the model, sound from its first word on: right to 30 ms.
        onset = round(cue.start * RATE)
        assert np.abs(lesson.samples[onset - round(0.03 * RATE) : onset]).max() < 0.01
        assert np.abs(lesson.samples[onset : onset + round(0.3 * RATE)]).max() > 0.01
        assert [text for _, text in cue.words] == [word.text for word in group.words]
        assert answer.end - answer.start == pytest.approx(1.5 * (cue.end - cue.start), abs=0.03)
    captions = write_captions(lesson.cues)
    assert captions.startswith("WEBVTT\n\n")
    assert len(re.findall(r"-->", captions)) == len(lesson.cues)


def test_equal_input_gives_equal_samples(synth: Synth, drill: Drill) -> None:
    options = LessonOptions(Delivery.INFLECTED)
    first, second = (tuple(speak_drill(drill, options, synth)) for _ in range(2))
    for one, other in zip(first, second, strict=True):
        assert np.array_equal(one.samples, other.samples)


@settings(max_examples=40, deadline=None)
@given(st.lists(st.sampled_from([*VOWELS, *CONSONANTS]), min_size=1, max_size=14), st.data())
def test_any_phones_are_said_in_order(
    synth: Synth, symbols: list[str], data: st.DataObject
) -> None:
    sounds = [
        Sound(
            Phone(symbol, 1 if symbol in VOWELS else None),
            symbol in VOWELS and data.draw(st.booleans()),
            data.draw(st.booleans()),
        )
        for symbol in ("IY", *symbols)
    ]
    speech = synth.speak(sounds, Voice.HIGHER, Speed.STEADY, 196.0)
    assert len(speech.starts) == len(sounds) + 1
    assert list(speech.starts) == sorted(speech.starts)


def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "lesson.mp3"
    assert run(["voice", "--text", "See you on the quay.", "-o", str(path)]) == 0
    samples, rate = soundfile.read(io.BytesIO(path.read_bytes()))
    assert len(samples) / rate > 3
    assert "thee" in path.with_suffix(".vtt").read_text(encoding="utf-8")
    assert run(["voice", "--text", "One. Two.", "--split", "-o", str(path)]) == 0
    assert (tmp_path / "lesson-02.mp3").is_file()
    rung = ["voice", "--text", "The boats left at noon.", "--rungs", "1", "--rung", "1"]
    assert run([*rung, "-o", str(tmp_path / "rung.mp3")]) == 0
    captions = (tmp_path / "rung.vtt").read_text(encoding="utf-8")
    assert "<i>The beets leeft at neen.</i>" in captions
    capsys.readouterr()
    for bad in (
        ["--text", "…"],
        ["--text", "a", "--delivery", "sung"],
        ["--text", "a", "--gap", "9"],
        ["--text", "a", "--rung", "2"],
    ):
        assert run(["voice", *bad, "-o", str(path)]) == 2
        assert len(capsys.readouterr().err.splitlines()) == 1


def test_speech_goes_on_where_others_set_the_library_up_anew() -> None:
    import espeakng_loader

    from drillgen.core.phones import parse_phones
    from drillgen.speech.pronounce.espeak import TURN, open_library

    sounds = [Sound(phone, phone.stress == 1) for phone in parse_phones("DH AH0 F EH1 R IY0")]
    synth = Synth.load()
    before = synth.speak(sounds, Voice.HIGH, Speed.SLOW, 196)
    library = open_library()
    data = espeakng_loader.get_data_path().encode()
    with TURN:
        # Synchronous, doesn't exit where it fails, no phoneme events (speak_lib.h).
        library.espeak_Initialize(2, 0, data, 0x8000)
    after = synth.speak(sounds, Voice.HIGH, Speed.SLOW, 196)
    assert after.starts == before.starts


@pytest.mark.parametrize("voice", list(Voice))
def test_words_are_read_the_same_after_a_voice_spoke(synth: Synth, voice: Voice) -> None:
    """A voice of espeak-ng brings rules of its own for spelling, such as "zed"."""
    reader = Espeak.load()
    words = ("plombary", "zrovnik", "caldmore", "ellistrand")
    before = [reader.mnemonics(word) for word in words]
    sounds = [Sound(Phone("IY", 1), True, ends_word=True)]
    synth.speak(sounds, voice, next(iter(Speed)), 200.0)
    assert [reader.mnemonics(word) for word in words] == before
