"""The practice page with a model voice: its size, what is heard, and when words light up."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from itertools import chain, pairwise
from pathlib import Path
from typing import Any

import numpy as np
import parselmouth
import pytest
import soundfile
from playwright.sync_api import Browser, Page, expect

from drillgen.core.pitch import parse_pitch
from drillgen.core.practice_page import Model, ModelRows
from drillgen.core.values import Delivery, Worksheet
from drillgen.core.wording import choose_wording
from drillgen.sheets.practice_page import make_practice_page
from drillgen.sound.models import speak_page
from drillgen.sound.synth import Synth, Voice
from drillgen.speech.pipeline import make_drill
from drillgen.write.page import join_modules, render_page

Open = Callable[..., Page]
Models = dict[Delivery, ModelRows]

TEXT = "The ferry leaves at seven. — Who has the tickets? Mother kept them in the usual drawer."


@pytest.fixture(scope="module")
def sheet() -> Worksheet:
    return Worksheet((make_drill(TEXT), make_drill("A boat.")), "Ferry", parse_pitch("G3"))


@pytest.fixture(scope="module")
def models(sheet: Worksheet) -> Models:
    return speak_page(sheet, Voice.HIGHER, 1.5, Synth.load())


@pytest.fixture(scope="module")
def sound_page(sheet: Worksheet, models: Models, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("sound") / "practice.html"
    page = make_practice_page(sheet, models=models)
    path.write_text(render_page(page), encoding="utf-8")
    return path


def test_a_model_for_each_phrase(sheet: Worksheet, models: Models) -> None:
    """Syllables as the page counts them, in order, each within the sound."""
    page = make_practice_page(sheet, models=models)
    for step in page.steps:
        assert len(step.models) == len(step.versions)
        assert {len(row) for row in step.models} == {4}
        for model in chain.from_iterable(step.models):
            assert model.syllables[0] >= 0
            assert all(a < b for a, b in pairwise(model.syllables))
            assert model.syllables[-1] < model.seconds
            samples, rate = soundfile.read(io.BytesIO(model.data))
            # MP3 comes in frames of 26 ms, with silence at both ends.
            assert model.seconds - 0.001 < len(samples) / rate < model.seconds + 0.15


def test_models_of_another_text_are_refused(models: Models) -> None:
    with pytest.raises(ValueError, match="another text"):
        make_practice_page(Worksheet((make_drill("A gull."),), "", None), models=models)


def test_a_hundred_words_stay_small(sheet: Worksheet, sound_page: Path) -> None:
    words = len(re.findall(r"\w+", TEXT)) + 2
    silent = len(render_page(make_practice_page(sheet)))
    share = 100 / words
    assert silent + share * (sound_page.stat().st_size - silent) < 2_500_000


def test_it_says_what_the_voice_is(sound_page: Path, sheet: Worksheet, models: Models) -> None:
    assert "It is a computer’s voice: a guide to pitch, timing and vowels only" in (
        sound_page.read_text(encoding="utf-8")
    )
    neutral = Worksheet(sheet.drills, "", sheet.pitch, discreet=True)
    text = render_page(make_practice_page(neutral, models=models))
    assert "It is a computer: a guide to note, timing and sounds only" in text
    telling = choose_wording(True).telling
    assert not any(f" {word}" in choose_wording(True).practice.texts["model"] for word in telling)


# In a browser


@pytest.mark.browser
@pytest.mark.parametrize("speed", [0.6, 0.77, 1.5])
def test_slower_and_faster_on_the_same_pitch(
    browser: Browser, models: Models, speed: float
) -> None:
    """Praat's pitch of the chant (Boersma 1993): G3 within 20 cents where it is voiced, as
    before; the length is what was asked for."""
    samples, rate = soundfile.read(io.BytesIO(models[Delivery.CHANT][0][3].data))
    page = browser.new_page()
    script = join_modules(["stretch"])
    found: list[float] = page.evaluate(
        f"([samples, rate, speed]) => {{ {script}\n"
        "return [...stretch(Float32Array.from(samples), rate, speed)]; }",
        [[round(float(value), 5) for value in samples], rate, speed],
    )
    page.close()
    assert len(found) == pytest.approx(len(samples) / speed, abs=1)
    pitch = parselmouth.Sound(np.array(found), rate).to_pitch_ac(
        pitch_floor=100, pitch_ceiling=400
    )
    hz = pitch.selected_array["frequency"]
    cents = 1200 * np.log2(hz[hz > 0] / 195.9977)
    assert len(cents) > 0.4 * len(hz)
    assert float(np.quantile(np.abs(cents), 0.9)) < 20
    # As loud as before.
    assert np.abs(found).max() == pytest.approx(np.abs(samples).max(), rel=0.25)


EARS = """
window.levels = [];
const connect = AudioNode.prototype.connect;
AudioNode.prototype.connect = function (to, ...rest) {
  if (to instanceof AudioDestinationNode) {
    const ear = new AnalyserNode(this.context, { fftSize: 512 });
    connect.call(this, ear);
    window.ear = ear;
    const samples = new Float32Array(512);
    setInterval(() => {
      ear.getFloatTimeDomainData(samples);
      // The last that was connected: the model, not the note.
      if (window.ear === ear) window.levels.push([performance.now(), Math.hypot(...samples)]);
    }, 10);
  }
  return connect.call(this, to, ...rest);
};
window.seen = [];
addEventListener("DOMContentLoaded", () => new MutationObserver((changes) => {
  for (const { target } of changes) {
    if (target.classList.contains("lit") && document.querySelector("[data-kind=model]")) {
      window.seen.push([performance.now(), target.textContent]);
    }
  }
}).observe(document.body, { subtree: true, attributeFilter: ["class"] }));
"""


@pytest.mark.browser
def test_words_light_up_in_step_with_the_model(
    open_page: Open, sound_page: Path, models: Models
) -> None:
    """Times of the syllables, at the pacer's speed; the first one with the first sound."""
    model = models[Delivery.CHANT][0][0]
    speed = 1.5 * model.seconds / len(model.syllables)
    expected = [(time - model.syllables[0]) / speed for time in model.syllables]
    # What comes late on a busy machine is the machine's: a quieter moment is looked for.
    for _ in range(3):
        seen, heard = watch_a_line(open_page(sound_page, init=EARS))
        late = find_lateness(heard[:, 0])
        if late < 0.05:
            break
    begin = seen[0][0]
    assert len(seen) == len(expected)
    for (time, _), wanted in zip(seen, expected, strict=True):
        assert (time - begin) / 1000 == pytest.approx(wanted, abs=0.06 + late)
    if late < 0.1:  # Otherwise its loudness was hardly looked at.
        assert abs(find_lag(model, speed, (heard[:, 0] - begin) / 1000, heard[:, 1])) < 0.12


def watch_a_line(page: Page) -> tuple[list[tuple[float, str]], Any]:
    """The times (ms) of syllables that are lit, and of levels that were heard, with those."""
    page.get_by_label("Chant").check()
    page.get_by_role("button", name="Start").click()
    page.get_by_role("button", name="Next").click()
    expect(page.locator("#phase")).to_have_text("Listen")
    page.evaluate("window.levels.length = 0")
    expect(page.locator("#phase")).to_have_text("Your turn, 1 of 3")
    seen: list[tuple[float, str]] = page.evaluate("window.seen")
    return seen, np.array(page.evaluate("window.levels"))


def find_lateness(times: Any) -> float:
    """Seconds by which a beat may have been late: as the gaps of a timer of 10 ms show. The page
    makes up for 0.2 s of them (lights.js)."""
    gaps = np.diff(times) / 1000
    return float(gaps.max() - 0.01 + np.maximum(gaps - 0.2, 0).sum())


def find_lag(model: Model, speed: float, times: Any, levels: Any) -> float:
    """Seconds by which the loudness that was heard follows that of the file."""
    samples, rate = soundfile.read(io.BytesIO(model.data))
    size = rate // 100
    count = len(samples) // size
    envelope = np.sqrt((samples[: count * size].reshape(count, size) ** 2).sum(axis=1))
    grid = np.arange(0, count / 100 / speed, 0.01)
    wanted = np.interp(grid, np.arange(count) / 100 / speed, envelope)
    lags = np.arange(-0.5, 0.5, 0.01)
    fits = [np.corrcoef(wanted, np.interp(grid + lag, times, levels))[0, 1] for lag in lags]
    assert max(fits) > 0.8
    return float(lags[int(np.argmax(fits))])


@pytest.mark.browser
def test_a_line_that_can_not_be_played_is_told(open_page: Open, sound_page: Path) -> None:
    broken = "AudioContext.prototype.decodeAudioData = async () => { throw new Error('no'); };"
    page = open_page(sound_page, init=broken)
    page.get_by_role("button", name="Start").click()
    page.get_by_role("button", name="Next").click()
    expect(page.locator("#message")).to_contain_text("can’t be played here")
    expect(page.locator(".lit")).to_have_count(1)


@pytest.mark.browser
def test_strict_policy_holds_with_sound(open_page: Open, sound_page: Path) -> None:
    """Nothing is asked for, nothing is complained about (see conftest), and the rung on the
    way has a model of its own."""
    page: Any = open_page(sound_page)
    page.clock.install(time=0)
    page.clock.pause_at(60)
    page.get_by_label("Carry-over").check()
    page.get_by_role("button", name="Start").click()
    expect(page.locator("#session")).to_be_visible()
    page.get_by_role("button", name="Next").click()
    for turn in (1, 2):
        if turn == 1:
            expect(page.locator("#phase")).to_have_text("Listen to the note")
            page.clock.run_for(1600)
        expect(page.locator("#phase")).to_have_text("Listen")
        while page.locator("#phase").inner_text() == "Listen":
            page.clock.run_for(300)
        expect(page.locator("#phase")).to_have_text(f"Your turn, {turn} of 3")
        while page.locator("#phase").inner_text().startswith("Your turn"):
            page.clock.run_for(300)
