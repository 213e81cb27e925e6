"""What the practice page plays and hears, measured.

The detector is checked on made sounds whose frequency is known by construction,
against Praat's autocorrelation (Boersma 1993, package praat-parselmouth), and in
the page itself with a made sound as the microphone.
"""

from __future__ import annotations

import wave
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import parselmouth
import pytest
from numpy.typing import NDArray
from playwright.sync_api import Browser, Page, expect

from drillgen.core.values import Worksheet
from drillgen.sheets.practice_page import make_practice_page
from drillgen.write.page import join_modules, render_page
from drillgen.write.page_fonts import FontShelf

pytestmark = pytest.mark.browser

Open = Callable[..., Page]
Sound = NDArray[np.float64]
LIMIT_CENTS = 5.0


def cents(hz: float, reference: float) -> float:
    return float(1200 * np.log2(hz / reference))


def make_tone(hz: float, seconds: float, rate: int = 48_000, *, kind: str = "glottal") -> Sound:
    """A sine, or a tone like that of the vocal folds: all harmonics to 5 kHz, falling by
    12 dB an octave (Flanagan 1958: the spectrum of the glottal wave)."""
    time = np.arange(round(seconds * rate)) / rate
    count = 1 if kind == "sine" else int(5000 // hz)
    phases = np.linspace(0, 2, count)
    sound = sum(
        np.sin(2 * np.pi * k * hz * time + phases[k - 1]) / k**2 for k in range(1, count + 1)
    )
    return np.asarray(0.4 * sound / np.abs(sound).max())


# The detector on its own

DETECT = """([rate, cases]) => {
  MODULE
  let seed = 1;
  const random = () => {
    seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0;
    return (seed + 0.5) / 4294967296;
  };
  const normal = () => Math.sqrt(-2 * Math.log(random())) * Math.cos(2 * Math.PI * random());
  const detector = createDetector(rate);
  const buffer = new Float32Array(detector.size);
  return cases.map(({ hz, harmonics, noise, level, frames }) => {
    const amplitudes = harmonics.filter(([k]) => k * hz < rate / 2 && k * hz < 5000);
    const power = amplitudes.reduce((sum, [, a]) => sum + (a * a) / 2, 0);
    const spread = Math.sqrt(power) * noise;
    const peak = amplitudes.reduce((sum, [, a]) => sum + a, 0) || 1;
    const found = [];
    for (let frame = 0; frame < frames; frame += 1) {
      const phases = amplitudes.map(() => 2 * Math.PI * random());
      for (let i = 0; i < buffer.length; i += 1) {
        let value = (spread || (amplitudes.length ? 0 : noise)) * normal();
        amplitudes.forEach(([k, a], n) => {
          value += a * Math.sin((2 * Math.PI * k * hz * i) / rate + phases[n]);
        });
        buffer[i] = (level * value) / peak;
      }
      found.push(detector.detect(buffer));
    }
    return found;
  });
}"""

SINE = [[1, 1.0]]
VOICE = [[k, 1 / k**2] for k in range(1, 60)]
BRIGHT = [[k, 1 / k] for k in range(1, 60)]
NO_BASS = [[k, 1.0] for k in range(2, 9)]
STEPS = [round(float(hz), 3) for hz in np.geomspace(100, 400, 37)]


@pytest.fixture(scope="module")
def detect(browser: Browser) -> Any:
    page = browser.new_page()
    source = DETECT.replace("MODULE", join_modules(["detector"]))

    def run(cases: list[dict[str, Any]], rate: int = 48_000) -> list[list[dict[str, float]]]:
        found: list[list[dict[str, float]]] = page.evaluate(source, [rate, cases])
        return found

    yield run
    page.close()


def case(hz: float, harmonics: list[list[float]], **options: float) -> dict[str, Any]:
    return {"hz": hz, "harmonics": harmonics, "noise": 0.0, "level": 0.5, "frames": 3, **options}


@pytest.mark.parametrize("rate", [44_100, 48_000, 16_000])
@pytest.mark.parametrize(
    "harmonics", [SINE, VOICE, BRIGHT, NO_BASS], ids=["sine", "voice", "bright", "no bass"]
)
def test_clean_sound(detect: Any, harmonics: list[list[float]], rate: int) -> None:
    """Every frame, from 100 to 400 Hz in 37 equal steps."""
    found = detect([case(hz, harmonics) for hz in STEPS], rate)
    worst = max(
        abs(cents(frame["hz"] or 1, hz))
        for hz, frames in zip(STEPS, found, strict=True)
        for frame in frames
    )
    assert worst < LIMIT_CENTS
    assert all(frame["clarity"] > 0.97 for frames in found for frame in frames)


@pytest.mark.parametrize("harmonics", [SINE, VOICE, BRIGHT], ids=["sine", "voice", "bright"])
def test_noise_20_db_below(detect: Any, harmonics: list[list[float]]) -> None:
    """White noise at a signal-to-noise ratio of 20 dB: the median of the frames."""
    found = detect([case(hz, harmonics, noise=0.1, frames=9) for hz in STEPS])
    for hz, frames in zip(STEPS, found, strict=True):
        assert abs(cents(float(np.median([frame["hz"] for frame in frames])), hz)) < LIMIT_CENTS
        # No octave is jumped, in any frame.
        assert all(abs(cents(frame["hz"] or 1, hz)) < 60 for frame in frames)


def test_the_whole_range(detect: Any) -> None:
    found = detect([case(hz, VOICE) for hz in (61.0, 75.0, 480.0, 595.0)])
    for hz, frames in zip((61.0, 75.0, 480.0, 595.0), found, strict=True):
        assert abs(cents(frames[0]["hz"], hz)) < LIMIT_CENTS


def test_what_is_no_pitch(detect: Any) -> None:
    """Noise, silence, sounds out of range: nothing is shown."""
    cases = [
        case(0, [], noise=1.0, frames=20),
        case(200, SINE, level=0.0005),
        case(200, SINE, level=0.0),
        case(640, SINE),
        case(900, VOICE),
        case(45, SINE),
    ]
    assert [{frame["hz"] for frame in frames} for frames in detect(cases)] == [{0}] * len(cases)


def test_agrees_with_praat(browser: Browser) -> None:
    """The same gliding, noisy sound; every place where both hear a pitch."""
    rate = 48_000
    time = np.arange(2 * rate) / rate
    hz = 250 + 120 * np.sin(np.pi * time)
    phase = 2 * np.pi * np.cumsum(hz) / rate
    sound = sum(np.sin(k * phase) / k**1.5 for k in range(1, 12)) * 0.2
    sound += np.random.default_rng(5).normal(0, 0.004, len(sound))
    praat = parselmouth.Sound(sound, rate).to_pitch_ac(pitch_floor=60, pitch_ceiling=600)
    page = browser.new_page()
    source = """([rate, sound, hop]) => {
      MODULE
      const detector = createDetector(rate);
      const found = [];
      for (let at = 0; at + detector.size <= sound.length; at += hop) {
        const { hz } = detector.detect(sound.slice(at));
        // The middle of the two stretches, a period apart, that are compared.
        found.push([at + (rate / 30 + rate / (hz || 1)) / 2, hz]);
      }
      return found;
    }""".replace("MODULE", join_modules(["detector"]))
    found = page.evaluate(source, [rate, [round(float(x), 6) for x in sound], 4800])
    page.close()
    pairs = [(hz, praat.get_value_at_time(at / rate)) for at, hz in found]
    offs = [cents(ours, theirs) for ours, theirs in pairs if ours and not np.isnan(theirs)]
    assert len(offs) > 15
    # While the sound glides, windows of different lengths differ by some cents more.
    assert float(np.median(np.abs(offs))) < LIMIT_CENTS
    assert max(map(abs, offs)) < 30


# The page, with a made sound as the microphone

RECORD = """
window.heard = [];
addEventListener("DOMContentLoaded", () => new MutationObserver(() => {
  const box = document.getElementById("heard-now");
  if (box.dataset.hz) window.heard.push(+box.dataset.hz);
}).observe(document.getElementById("heard-now"), { attributes: true }));
window.streams = [];
const ask = navigator.mediaDevices?.getUserMedia.bind(navigator.mediaDevices);
if (ask) navigator.mediaDevices.getUserMedia = async (wish) => {
  const stream = await ask(wish);
  window.streams.push(stream);
  return stream;
};
"""

TONES = (100.0, 123.47, 155.56, 196.0, 220.0, 261.63, 311.13, 349.23, 400.0)


def write_wav(path: Path, sound: Sound, rate: int = 48_000) -> None:
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(rate)
        file.writeframes((sound * 32767).astype("<i2").tobytes())


@pytest.mark.parametrize("kind", ["sine", "glottal"])
def test_microphone(
    launch: Callable[..., Browser], page_file: Path, tmp_path: Path, shots: Path, kind: str
) -> None:
    """Nine tones from 100 to 400 Hz, half a second each with rests between them: each is
    heard, and what the page shows is within 5 cents."""
    fade = np.clip(np.minimum(np.arange(28_800), np.arange(28_800)[::-1]) / 960, 0, 1)
    rest = np.zeros(7_200)
    parts = [part for hz in TONES for part in (make_tone(hz, 0.6, kind=kind) * fade, rest)]
    write_wav(tmp_path / "tone.wav", np.concatenate(parts))
    browser = launch(f"--use-file-for-fake-audio-capture={tmp_path / 'tone.wav'}")
    context = browser.new_context(
        viewport={"width": 390, "height": 844}, permissions=["microphone"]
    )
    context.add_init_script(RECORD)
    page = context.new_page()
    page.goto(page_file.as_uri())
    page.get_by_text("More choices").click()
    page.get_by_role("button", name="Show pitch").click()
    expect(page.locator("#live")).to_be_visible()
    page.wait_for_timeout(len(TONES) * 750 + 600)
    page.screenshot(path=shots / f"trace-{kind}.png")
    heard = np.array(page.evaluate("window.heard"))
    for hz in TONES:
        near = heard[np.abs(1200 * np.log2(heard / hz)) < 100]
        assert len(near) >= 10, (hz, len(near))
        off = np.abs(1200 * np.log2(near / hz))
        assert float(np.median(off)) < 1, hz
        assert float(np.quantile(off, 0.95)) < LIMIT_CENTS, hz
    # Nothing else is heard: no octaves, no ghosts.
    known = np.min(np.abs(1200 * np.log2(heard[:, None] / np.array(TONES))), axis=1)
    assert float(np.mean(known < LIMIT_CENTS)) > 0.97
    # Stopping lets the microphone go.
    page.get_by_role("button", name="Hide pitch").click()
    expect(page.locator("#live")).to_be_hidden()
    states = page.evaluate("window.streams.flatMap((s) => s.getTracks().map((t) => t.readyState))")
    assert states == ["ended"]
    # It opens again, in the same context.
    page.get_by_role("button", name="Show pitch").click()
    expect(page.locator("#heard-now[data-hz*='.']")).to_be_visible()
    page.evaluate("window.dispatchEvent(new Event('pagehide'))")
    expect(page.locator("#live")).to_be_hidden()
    browser.close()


def test_words_of_the_trace(
    launch: Callable[..., Browser], page_file: Path, tmp_path: Path
) -> None:
    write_wav(tmp_path / "tone.wav", make_tone(220.0, 2.0))
    browser = launch(f"--use-file-for-fake-audio-capture={tmp_path / 'tone.wav'}")
    page = browser.new_page()
    page.goto(page_file.as_uri())
    page.get_by_text("More choices").click()
    page.get_by_role("button", name="Show pitch").click()
    expect(page.locator("#heard-note")).to_have_text("A3")
    expect(page.locator("#heard-detail")).to_contain_text("cents · 2")
    expect(page.locator("#heard-place")).to_have_text("2.0 semitones above the target")
    expect(page.locator("#heard")).to_have_text("A3, 2.0 semitones above the target")
    # The target moves with the note.
    page.get_by_role("button", name="Up a semitone").click(click_count=2)
    expect(page.locator("#heard-place")).to_have_text("on the target")
    # Something is drawn, near the middle: the line of the voice.
    dark = page.locator("#trace").evaluate(
        """(canvas) => {
          const pen = canvas.getContext("2d");
          const { data } = pen.getImageData(0, 0, canvas.width, canvas.height);
          const rows = new Set();
          for (let i = 0; i < data.length; i += 4) {
            const dark = data[i + 3] > 200 && data[i] < 60 && data[i + 1] < 60;
            if (dark && (i / 4) % canvas.width > 60) {
              rows.add(Math.floor(i / 4 / canvas.width) / canvas.height);
            }
          }
          return [...rows];
        }"""
    )
    assert dark
    assert all(0.35 < row < 0.65 for row in dark)
    browser.close()


REFUSE = (
    "navigator.mediaDevices.getUserMedia = async () => {{ throw new DOMException('', '{}'); }};"
)


@pytest.mark.parametrize(
    ("error", "message"),
    [("NotAllowedError", "did not allow"), ("NotFoundError", "No microphone was found")],
)
def test_no_microphone(open_page: Open, error: str, message: str) -> None:
    page = open_page(init=REFUSE.format(error))
    page.get_by_text("More choices").click()
    page.get_by_role("button", name="Show pitch").click()
    expect(page.locator("#message")).to_contain_text(message)
    expect(page.locator("#message")).to_contain_text("Everything else works")
    expect(page.get_by_role("button", name="Show pitch")).to_be_visible()
    page.get_by_role("button", name="Start").click()
    expect(page.locator("#session")).to_be_visible()


# The note

TAP = """
window.oscillators = [];
const Plain = window.OscillatorNode;
window.OscillatorNode = class extends Plain {
  constructor(context, options) {
    super(context, options);
    window.oscillators.push(this);
  }
};
const connect = AudioNode.prototype.connect;
AudioNode.prototype.connect = function (to, ...rest) {
  if (to instanceof AudioDestinationNode && !window.ear) {
    window.ear = new AnalyserNode(this.context, { fftSize: 32768 });
    connect.call(this, window.ear);
  } else if (to instanceof AudioDestinationNode) connect.call(this, window.ear);
  return connect.call(this, to, ...rest);
};
window.listen = () => {
  const samples = new Float32Array(window.ear.fftSize);
  window.ear.getFloatTimeDomainData(samples);
  return [window.ear.context.sampleRate, [...samples]];
};
"""


def measure_hz(sound: Sound, rate: float) -> float:
    """Frequency of the strongest partial: the peak of a Gaussian-windowed spectrum, by a
    parabola through the logarithms, which is exact for this window."""
    place = np.arange(len(sound)) - len(sound) / 2
    window = np.exp(-0.5 * (place / (len(sound) / 8)) ** 2)
    spectrum = np.log(np.abs(np.fft.rfft(sound * window)) + 1e-12)
    top = int(spectrum.argmax())
    left, middle, right = spectrum[top - 1 : top + 2]
    shift = (left - right) / (2 * (left - 2 * middle + right))
    return float((top + shift) * rate / len(sound))


def test_note_sounds_at_the_pitch_of_the_sheet(open_page: Open, harbour: Worksheet) -> None:
    assert harbour.pitch
    page = open_page(init=TAP)
    page.get_by_text("More choices").click()
    button = page.locator("#tone")
    expect(button).to_have_text("Play G3")
    assert float(button.get_attribute("data-hz") or 0) == pytest.approx(harbour.pitch.hz, abs=1e-3)
    button.click()
    expect(button).to_have_text("Stop G3")
    (asked,) = page.evaluate("window.oscillators.map((o) => o.frequency.value)")
    assert asked == pytest.approx(harbour.pitch.hz, rel=1e-6)
    page.wait_for_timeout(1000)
    rate, samples = page.evaluate("window.listen()")
    sound = np.array(samples)
    assert abs(cents(measure_hz(sound, rate), harbour.pitch.hz)) < 1
    assert 0.1 < np.abs(sound).max() <= 0.3
    # A semitone up is a factor of the twelfth root of two (ISO 16).
    page.get_by_role("button", name="Up a semitone").click()
    expect(page.locator("#tone-now")).to_have_text("G♯3 · 207.7 Hz")
    page.wait_for_timeout(1000)
    rate, samples = page.evaluate("window.listen()")
    assert abs(cents(measure_hz(np.array(samples), rate), 207.6523)) < 1
    button.click()
    expect(button).to_have_text("Play G♯3")
    page.wait_for_timeout(1000)
    assert page.evaluate("window.ear.context.state") == "suspended"
    page.get_by_role("button", name="Back to G3").click()
    expect(page.locator("#tone-now")).to_have_text("G3 · 196.0 Hz")


def test_note_stays_within_an_octave(open_page: Open) -> None:
    page = open_page()
    page.get_by_text("More choices").click()
    lower = page.get_by_role("button", name="Down a semitone")
    for _ in range(12):
        lower.click()
    expect(page.locator("#tone-now")).to_have_text("G2 · 98.0 Hz")
    expect(lower).to_be_disabled()


def test_note_begins_and_ends_gently(browser: Browser) -> None:
    """Rendered offline, sample by sample: no click, no loud moment."""
    page = browser.new_page()
    rate, samples = page.evaluate(
        """async () => {
          MODULE
          const rate = 48000;
          const context = new OfflineAudioContext(1, rate, rate);
          const tone = createTone({
            open: async () => context, release: () => {}, state: () => "running",
          });
          await tone.start(196);
          context.suspend(0.6).then(() => { tone.stop(); context.resume(); });
          const buffer = await context.startRendering();
          return [rate, [...buffer.getChannelData(0)]];
        }""".replace("MODULE", join_modules(["tone"]))
    )
    page.close()
    sound = np.abs(np.array(samples))
    loud = sound[9_600:26_400].max()
    assert 0.1 < loud <= 0.3
    assert sound.max() <= 1.02 * loud

    def level(start: float, end: float) -> float:
        return float(sound[round(start * rate) : round(end * rate)].max() / loud)

    assert level(0, 0.005) < 0.08
    assert level(0, 0.03) < 0.42
    assert level(0.1, 0.2) > 0.97
    assert level(0.6, 0.63) > level(0.66, 0.69) > level(0.72, 0.75) > 0
    assert level(0.8, 1.0) < 1e-3
    # No step between samples beyond what the tone itself makes.
    steps = np.abs(np.diff(np.array(samples)))
    assert steps.max() <= 1.05 * steps[9_600:26_400].max()


def test_sheet_without_a_pitch(
    open_page: Open, harbour: Worksheet, shelf: FontShelf, tmp_path: Path
) -> None:
    path = tmp_path / "free.html"
    sheet = Worksheet(harbour.drills, "Free", None)
    path.write_text(render_page(make_practice_page(sheet), fonts=shelf), encoding="utf-8")
    page = open_page(path, permissions=["microphone"])
    expect(page.locator("#tone")).to_have_count(0)
    expect(page.locator("#lines")).to_contain_text("A line of words comes")
    page.get_by_text("More choices").click()
    page.get_by_role("button", name="Show pitch").click()
    expect(page.locator("#live")).to_be_visible()
    expect(page.locator("#heard-place")).to_have_text("")
