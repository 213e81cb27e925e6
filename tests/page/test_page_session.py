"""A session that runs by itself: its plan on its own, and the whole act in a browser whose
clock is turned by the test."""

from __future__ import annotations

import csv
import io
import time
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from count_recorded import COUNT_RECORDED, TWO_BEEPS
from playwright.sync_api import Browser, Page, expect
from sheet_factory import make_drill

from drillgen.core.pitch import parse_pitch
from drillgen.core.values import Worksheet
from drillgen.practice.log import parse_log
from drillgen.sheets.practice_page import make_practice_page
from drillgen.write.page import join_modules, render_page

pytestmark = pytest.mark.browser

Open = Callable[..., Page]
Plan = list[dict[str, Any]]
PATIENCE = 60  # seconds

WATCH = """
window.seen = [];
window.kinds = [];
addEventListener("DOMContentLoaded", () => new MutationObserver((changes) => {
  for (const change of changes) {
    const { classList, dataset, textContent, id } = change.target;
    // Several changes may come at once: only what was before is sure.
    if (id === "session" && change.attributeName === "data-kind") {
      window.kinds.push([change.oldValue, performance.now()]);
    } else if (classList.contains("lit")) {
      window.seen.push([textContent, performance.now(), +(dataset.n ?? 1)]);
    }
  }
}).observe(document.body, {
  subtree: true, attributeFilter: ["class", "data-kind"], attributeOldValue: true,
}));
"""
"""Notes each syllable that is lit, and each kind of step that is over, with the time."""

# The plan, without a page

PLAN_SESSION = """
const plan = [];
const facts = { elapsed: 0, sinceRest: 0, sinceLong: 0, rate };
for (let step = firstStep(session); ; step = nextStep(session, step, facts)) {
  const seconds = stepSeconds(session, step, rate);
  plan.push({ ...step, at: facts.elapsed, seconds });
  if (step.kind === "end") return plan;
  facts.elapsed += seconds;
  if (step.kind === "turn") {
    const sound = session.phrases[step.phrase].said / rate;
    facts.sinceRest += sound;
    facts.sinceLong += sound;
  }
  if (step.kind === "rest") {
    facts.sinceRest = 0;
    if (step.long) facts.sinceLong = 0;
  }
}
"""
"""All steps of a session with the seconds at which each begins, where each takes the time
that it should."""


@pytest.fixture(scope="module")
def make_plan(browser: Browser) -> Any:
    page = browser.new_page()
    source = f"([session, rate]) => {{ {join_modules(['plan'])}\n{PLAN_SESSION} }}"

    def run(rate: float = 1.5, **changes: Any) -> Plan:
        phrases = [{"said": 5 + number % 7, "rest": 1 + number % 2} for number in range(9)]
        models = [[phrase["said"] / 2 for phrase in phrases]]
        one = {"turns": 3, "models": models}
        session = {
            "limit": 300,
            "passes": [one, one, {**one, "models": [[], *models]}],
            "phrases": phrases,
            "note": True,
            "first": 0,
            "takes": False,
        }
        found: Plan = page.evaluate(source, [session | changes, rate])
        return found

    yield run
    page.close()


@pytest.mark.parametrize("minutes", [5, 10, 15])
@pytest.mark.parametrize("rate", [0.5, 1.5, 4])
def test_plan_keeps_its_time(make_plan: Any, minutes: int, rate: float) -> None:
    """It ends within a line of what was chosen, and deliveries share the time."""
    plan = make_plan(rate, limit=60 * minutes)
    lines = [step["at"] for step in plan if step["kind"] == "turn" and step["turn"] == 0]
    longest = max(b - a for a, b in pairwise([*lines, plan[-1]["at"]]))
    assert plan[-1]["kind"] == "end"
    assert abs(plan[-1]["at"] - 60 * minutes) <= longest
    intros = [step["at"] for step in plan if step["kind"] == "intro"]
    shares = [60 * minutes * number / 3 for number in range(3)]
    assert all(abs(at - share) <= longest for at, share in zip(intros, shares, strict=True))


@pytest.mark.parametrize("rate", [0.5, 1.5, 4])
def test_voice_rests_by_what_it_sounds(make_plan: Any, rate: float) -> None:
    """A rest after 60 s of sound and at most one turn more; a long one after 300 s."""
    plan = make_plan(rate, limit=900)
    since = longer = 0.0
    rests = []
    for step in plan:
        if step["kind"] == "turn":
            turn = (5 + step["phrase"] % 7) / rate
            since += turn
            longer += turn
            assert since < 60 + 11 / rate
        elif step["kind"] == "rest":
            assert since >= 60
            assert step["long"] == (longer >= 300)
            assert step["seconds"] == (60 if step["long"] else 20)
            rests.append(step["long"])
            since = 0
            longer = 0 if step["long"] else longer
    assert len(rests) >= 3
    assert any(rests) == (rate < 4)


def test_order_of_a_line(make_plan: Any) -> None:
    plan = make_plan()
    first = [(s["kind"], s["turn"]) for s in plan if s["pass"] == 0 and s["phrase"] == 0][:8]
    assert first == [
        ("intro", 0), ("note", 0), ("model", 0), ("turn", 0),
        ("model", 1), ("turn", 1), ("model", 2), ("turn", 2),
    ]  # fmt: skip
    # The rung on the way has no model: the note comes back instead.
    last = [s["kind"] for s in plan if s["pass"] == 2 and s["phrase"] == 0][:5]
    assert last == ["intro", "note", "turn", "model", "turn"]
    # After a rest the note comes first, whatever was next.
    for rest, after in pairwise(plan):
        if rest["kind"] == "rest" and rest["then"]["kind"] != "intro":
            assert after["kind"] == "note"
            assert (after["phrase"], after["turn"]) == (
                rest["then"]["phrase"],
                rest["then"]["turn"],
            )


def test_plan_without_sound(make_plan: Any) -> None:
    passes = [{"turns": 3, "models": []}]
    kinds = [step["kind"] for step in make_plan(passes=passes, note=False)]
    assert set(kinds) == {"intro", "turn", "rest", "end"}
    noted = [step["kind"] for step in make_plan(passes=passes)]
    assert noted[:7] == ["intro", "note", "turn", "note", "turn", "note", "turn"]


def test_plan_with_recordings(make_plan: Any) -> None:
    kinds = [step["kind"] for step in make_plan(takes=True)]
    assert kinds[:2] == ["before", "intro"]
    assert kinds[-2:] == ["after", "end"]


# The whole act


def open_still(open_page: Open, path: Any = None, init: str = "", **options: Any) -> Page:
    """A page whose clock only the test turns."""
    arguments = [path] if path else []
    page = open_page(*arguments, init=WATCH + init, **options)
    page.clock.install(time=0)
    page.reload()
    page.clock.pause_at(60)
    return page


def press_start(page: Page) -> None:
    """Sound wakes in its own time: the clock waits for it, or it would be given up."""
    page.get_by_role("button", name="Start").click()
    expect(page.locator("#session")).to_be_visible()


def run_to(page: Page, kind: str, hop: int = 500) -> None:
    """Turn the clock, by so many milliseconds, until a step of this kind is there."""
    until = time.monotonic() + PATIENCE
    hops = 0
    # Sound is not the clock's: it takes its own time.
    while hops < 200 or time.monotonic() < until:
        hops += 1
        if page.locator(f"#session[data-kind={kind}]").count():
            return
        page.clock.run_for(hop)
    pytest.fail(f"no {kind}")


def test_ten_minutes_alone(open_page: Open, shots: Path) -> None:
    """One press, and ten minutes later it says what was done."""
    page = open_still(open_page, viewport={"width": 360, "height": 560})
    page.get_by_label("10 minutes").check()
    press_start(page)
    rests = set()
    for _ in range(140):
        page.clock.run_for(5000)
        if page.locator("#end").is_visible():
            break
        if page.locator("#session[data-kind=rest]").count():
            rests.add(page.locator("#stage").inner_text())
    expect(page.get_by_role("heading", name="Done")).to_be_focused()
    kinds = [kind for kind, _ in page.evaluate("window.kinds")]
    kinds.append(page.locator("#session").get_attribute("data-kind"))
    times = [time / 1000 for _, time in page.evaluate("window.kinds")]
    assert 560 < times[-1] - times[0] < 660
    # Words of each kind are there: what hurts, water, loosening.
    (rest,) = rests
    for word in ("water", "Jaw and neck", "Stop at any pain"):
        assert word in rest
    turns, breaks = kinds.count("turn"), kinds.count("rest")
    assert breaks >= 4
    assert kinds.count("intro") == 3
    said = page.locator("#done").inner_text()
    assert f"Turns: {turns}. Rests: {breaks}." in said
    assert "10" in said
    # Once round the text in each delivery, or where the next session begins.
    line = page.locator("#first").input_value()
    assert ("Next time" in said) == (line != "0")
    page.screenshot(path=shots / "session-end.png", full_page=True)


def test_turns_are_lit_by_the_pacer(open_page: Open) -> None:
    page = open_still(open_page)
    page.get_by_label("Chant").check()
    press_start(page)
    run_to(page, "turn")
    expect(page.locator("#phase")).to_have_text("Your turn, 1 of 3")
    expect(page.locator("#cue")).to_contain_text("Overshoot")
    expected = page.locator("#stage i").all_inner_texts()
    page.clock.run_for(round(1000 * (len(expected) / 1.5 + 2)))
    seen: list[tuple[str, float, int]] = page.evaluate("window.seen")
    assert [text for text, _, _ in seen[: len(expected)]] == expected
    for (_, start, beats), (_, end, _) in pairwise(seen[: len(expected)]):
        assert end - start == pytest.approx(1000 * beats / 1.5, abs=20)
    run_to(page, "note")
    run_to(page, "turn")
    expect(page.locator("#cue")).to_contain_text("Ease back a little")


def test_speed_changes_while_it_runs(open_page: Open) -> None:
    page = open_still(open_page)
    press_start(page)
    run_to(page, "turn")
    for _ in range(11):
        page.get_by_role("button", name="Faster").click()
    expect(page.locator("#pace-now")).to_have_text("2.6 a second")
    # Said when it matters.
    expect(page.locator("#cue")).to_contain_text("Go slowly")
    page.clock.run_for(4000)
    seen = page.evaluate("window.seen")
    (_, start, beats), (_, end, _) = seen[1:3]
    assert end - start == pytest.approx(1000 * beats / 2.6, abs=20)


def test_nothing_ends_by_accident(open_page: Open) -> None:
    page = open_still(open_page)
    page.get_by_role("button", name="Start").dblclick()
    session = page.locator("#session")
    expect(session).to_be_visible()
    stop = page.get_by_role("button", name="End the session")
    if page.get_by_role("button", name="Go on").is_visible():
        page.get_by_role("button", name="Go on").click()
    page.clock.run_for(10_000)
    expect(stop).to_be_hidden()
    page.get_by_role("button", name="Pause").dblclick()
    page.keyboard.press("Escape")
    page.get_by_role("button", name="Next").dblclick()
    page.get_by_role("button", name="Back").dblclick()
    expect(session).to_be_visible()
    if page.get_by_role("button", name="Pause").is_visible():
        page.get_by_role("button", name="Pause").click()
    stop.click()
    expect(page.get_by_role("heading", name="Done")).to_be_visible()
    page.get_by_role("button", name="Practise again").click()
    expect(page.get_by_role("button", name="Start")).to_be_focused()


def test_pause_back_and_next(open_page: Open) -> None:
    page = open_still(open_page)
    press_start(page)
    place = page.locator("#place")
    run_to(page, "turn")
    page.clock.run_for(2000)
    page.locator("#stage").click()
    page.evaluate("document.activeElement.blur()")
    page.keyboard.press("Space")
    expect(page.locator("#phase")).to_have_text("Paused")
    left = page.locator("#left").inner_text()
    page.clock.run_for(60_000)
    expect(page.locator("#left")).to_have_text(left)
    expect(page.locator(".lit")).to_have_count(0)
    page.keyboard.press("Space")
    # It goes on with the note of the same line.
    expect(page.locator("#phase")).to_have_text("Listen to the note")
    page.get_by_role("button", name="Next").click()
    expect(place).to_contain_text("line 2 of")
    page.keyboard.press("ArrowRight")
    expect(place).to_contain_text("line 3 of")
    page.get_by_role("button", name="Back").click()
    expect(place).to_contain_text("line 2 of")
    page.keyboard.press("ArrowLeft")
    expect(place).to_contain_text("line 1 of")
    # With the focus on it, the space bar presses a button and nothing more.
    page.get_by_role("button", name="Next").focus()
    page.keyboard.press("Space")
    expect(place).to_contain_text("line 2 of")
    expect(page.get_by_role("button", name="Pause")).to_be_visible()


MISFITS = """
() => {
  const boxes = [...document.querySelectorAll(
    "#head, #phase, #cue, #stage, #live, #pace, #moves"
  )].filter((e) => e.offsetParent).map((e) => [e.id, e.getBoundingClientRect()]);
  const stage = document.getElementById("stage");
  const found = [];
  const whole = document.documentElement.scrollHeight;
  if (whole > innerHeight) found.push("page scrolls");
  if (stage.scrollHeight > stage.clientHeight) found.push("words scroll");
  for (const [id, box] of boxes) {
    if (box.bottom > innerHeight || box.right > innerWidth) found.push(id);
    for (const [other, b] of boxes) {
      const across = box.right > b.left + 1 && b.right > box.left + 1;
      const down = box.bottom > b.top + 1 && b.bottom > box.top + 1;
      if (id < other && across && down) found.push(`${id} on ${other}`);
    }
  }
  return found;
}
"""
"""What does not fit the screen, or lies on something else."""


def test_tension_makes_a_rest_longer(open_page: Open, shots: Path) -> None:
    page = open_still(
        open_page, viewport={"width": 360, "height": 560}, permissions=["microphone"]
    )
    page.get_by_text("More choices").click()
    page.locator("#listen").click()
    expect(page.locator("#live")).to_be_visible()
    press_start(page)
    assert page.evaluate(MISFITS) == []
    run_to(page, "rest", 4000)
    assert page.evaluate(MISFITS) == []
    page.screenshot(path=shots / "session-rest.png")
    expect(page.locator("#cue")).to_contain_text("Goes on by itself in")
    page.clock.run_for(15_000)
    page.get_by_role("button", name="Something is tight").click()
    expect(page.locator("#stage")).to_contain_text("Let the jaw hang")
    page.clock.run_for(1000)
    expect(page.locator("#cue")).to_have_text("Goes on by itself in 29 s")
    page.get_by_role("button", name="Something is tight").click()
    expect(page.locator("#stage")).to_contain_text("enough for today")
    page.clock.run_for(31_000)
    expect(page.locator("#session[data-kind=rest]")).to_have_count(0)
    # Whoever feels it in the middle of a line pauses and has a rest at once.
    page.get_by_role("button", name="Pause").click()
    place = page.locator("#place").inner_text()
    assert page.evaluate(MISFITS) == []
    page.get_by_role("button", name="Something is tight").click()
    expect(page.locator("#phase")).to_have_text("Rest")
    page.clock.run_for(30_100)
    expect(page.locator("#phase")).to_have_text("Listen to the note")
    expect(page.locator("#place")).to_have_text(place)
    page.get_by_role("button", name="Pause").click()
    page.get_by_role("button", name="End the session").click()
    # What was told is not asked again.
    expect(page.get_by_label("strongly")).to_be_checked()


@pytest.mark.parametrize("size", [(360, 560), (390, 664), (740, 360)])
def test_loop_fits_the_screen(open_page: Open, size: tuple[int, int], shots: Path) -> None:
    """Every line of every delivery: nothing scrolls, nothing lies on anything else."""
    width, height = size
    page = open_still(
        open_page, viewport={"width": width, "height": height}, permissions=["microphone"]
    )
    page.get_by_text("More choices").click()
    page.locator("#listen").click()
    expect(page.locator("#live")).to_be_visible()
    for delivery in ("Chant", "Carry-over"):
        page.get_by_label(delivery).check()
        press_start(page)
        count = page.locator("#first option").count()
        for number in range(count):
            run_to(page, "note")
            problems = page.evaluate(MISFITS)
            assert problems == [], (delivery, number)
            assert page.locator("#stage").evaluate("e => parseFloat(e.style.fontSize)") >= 18
            if number == 0:
                page.screenshot(path=shots / f"session-{width}-{delivery}.png")
            page.get_by_role("button", name="Next").click()
        page.get_by_role("button", name="Pause").click()
        page.get_by_role("button", name="End the session").click()
        page.get_by_role("button", name="Practise again").click()
        page.locator("#listen").click()
        expect(page.locator("#live")).to_be_visible()


@pytest.mark.parametrize("size", [(360, 640), (390, 664), (740, 360), (667, 375)])
def test_start_is_seen_at_once(open_page: Open, size: tuple[int, int]) -> None:
    page = open_page(viewport={"width": size[0], "height": size[1]})
    box = page.get_by_role("button", name="Start").bounding_box()
    assert box is not None
    assert box["y"] + box["height"] <= size[1]
    assert box["x"] + box["width"] <= size[0]


PARTED = """() => {
  const words = [...document.querySelectorAll("#stage .words > span")];
  const heights = words.map((word) => word.offsetHeight);
  return Math.max(...heights) > 1.4 * Math.min(...heights);
}"""


@pytest.mark.parametrize("size", [(390, 844), (195, 422)])
def test_a_word_stays_whole_and_a_zoomed_page_fits(open_page: Open, size: tuple[int, int]) -> None:
    """On a phone, and on the same phone zoomed to 200% (WCAG 2.2, 1.4.4)."""
    page = open_still(open_page, viewport={"width": size[0], "height": size[1]})
    page.get_by_label("Chant").check()
    press_start(page)
    for number in range(page.locator("#first option").count()):
        run_to(page, "note")
        misfits = page.evaluate(MISFITS)
        # A zoomed page may be scrolled, down alone; but nothing lies on anything else.
        assert [found for found in misfits if size[0] > 200 or " on " in found] == [], number
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
        assert not page.evaluate(PARTED), number
        page.get_by_role("button", name="Faster").click()
        expect(page.locator("#pace-now")).to_contain_text("a second")
        page.evaluate("scrollTo(0, 0)")
        page.get_by_role("button", name="Next").click()


def test_what_goes_on_is_seen_in_a_pause(open_page: Open) -> None:
    """On a phone zoomed to 200%: what goes on and what is tight come before the rest."""
    page = open_still(open_page, viewport={"width": 195, "height": 422})
    press_start(page)
    run_to(page, "turn")
    page.get_by_role("button", name="Pause").click()
    for name in ("Something is tight", "Go on", "Next"):
        box = page.get_by_role("button", name=name).bounding_box()
        assert box is not None
        assert box["y"] + box["height"] <= 422, name


@pytest.mark.parametrize("size", [(360, 560), (390, 844)])
def test_the_note_is_moved_in_a_pause(open_page: Open, size: tuple[int, int]) -> None:
    """It is heard first in a session; then it may be too low or too high."""
    page = open_still(open_page, viewport={"width": size[0], "height": size[1]})
    press_start(page)
    run_to(page, "turn")
    higher = page.get_by_role("button", name="Up a semitone")
    expect(higher).to_be_hidden()
    page.get_by_role("button", name="Pause").click()
    assert page.evaluate(MISFITS) == []
    before = page.locator("#tone-now").inner_text()
    higher.click()
    expect(page.locator("#tone-now")).not_to_have_text(before)
    now = page.locator("#note").text_content()
    page.get_by_role("button", name="Go on").click()
    expect(page.locator("#phase")).to_have_text("Listen to the note")
    expect(higher).to_be_hidden()
    page.get_by_role("button", name="Pause").click()
    page.get_by_role("button", name="End the session").click()
    page.get_by_role("button", name="Practise again").click()
    page.get_by_text("More choices").click()
    expect(higher).to_be_visible()
    expect(page.locator("#note")).to_have_text(now or "")


def test_a_page_loaded_anew_goes_on_at_its_line(open_page: Open) -> None:
    """A locked phone may throw a page away; a hand may pull it down."""
    page = open_still(open_page)
    assert page.locator("#carry").is_hidden()
    page.get_by_label("10 minutes").check()
    page.get_by_label("Inflected").check()
    page.evaluate("document.getElementById('more').open = true")
    page.get_by_role("button", name="Up a semitone").click()
    note = page.locator("#note").inner_text()
    press_start(page)
    # The browser reloads where it is pulled down, unless it is told not to.
    overscroll = "getComputedStyle(document.documentElement).overscrollBehaviorY"
    assert page.evaluate(overscroll) == "none"
    run_to(page, "turn")
    page.get_by_role("button", name="Next").click()
    run_to(page, "turn")
    page.clock.run_for(20_000)
    place = page.locator("#place").inner_text()
    page.reload()
    expect(page.locator("#carry-note")).to_contain_text(place)
    expect(page.locator("#note")).to_have_text(note)
    expect(page.get_by_label("10 minutes")).to_be_checked()
    page.get_by_role("button", name="Go on").click()
    expect(page.locator("#place")).to_have_text(place)
    minutes, seconds = page.locator("#left").inner_text().split()[0].split(":")
    assert 480 < 60 * int(minutes) + int(seconds) < 590
    page.get_by_role("button", name="Pause").click()
    page.get_by_role("button", name="End the session").click()
    assert page.evaluate("history.state") is None
    page.reload()
    expect(page.locator("#carry")).to_be_hidden()


def test_header_follows_the_note(open_page: Open) -> None:
    page = open_still(open_page)
    page.get_by_text("More choices").click()
    page.get_by_role("button", name="Up a semitone").click()
    expect(page.locator(".note-line")).to_have_text("Target pitch: G♯3 · 207.7 Hz")
    press_start(page)
    expect(page.locator("#stage")).to_contain_text("on one steady pitch, G♯3")
    expect(page.locator("#stage")).not_to_contain_text("G3")


# What a phone does


STUCK = "AudioContext.prototype.resume = () => new Promise(() => {});"
STUCK += "Object.defineProperty(BaseAudioContext.prototype, 'state', { get: () => 'suspended' });"


def test_sound_that_is_held_back_is_told(open_page: Open) -> None:
    page = open_still(open_page, init=STUCK)
    page.get_by_role("button", name="Start").click()
    page.clock.run_for(2500)
    expect(page.locator("#message")).to_contain_text("The browser holds the sound back")
    # The words light up all the same.
    run_to(page, "turn")
    page.clock.run_for(2000)
    expect(page.locator(".lit")).to_have_count(1)


def test_browser_without_sound(open_page: Open) -> None:
    page = open_still(open_page, init="delete window.AudioContext;")
    press_start(page)
    expect(page.locator("#message")).to_contain_text("can’t play sound")
    run_to(page, "turn")


TAKEN = """
const Plain = window.AudioContext;
window.AudioContext = class extends Plain {
  constructor(...options) { super(...options); window.context = this; }
};
"""


def test_sound_that_is_taken_pauses(open_page: Open) -> None:
    page = open_still(open_page, init=TAKEN)
    press_start(page)
    page.get_by_role("button", name="Next").click()
    expect(page.locator("#phase")).to_have_text("Listen to the note")
    page.evaluate("window.context.suspend()")
    expect(page.locator("#message")).to_contain_text("The device took the sound away")
    page.get_by_role("button", name="Go on").click()
    expect(page.locator("#phase")).to_have_text("Listen to the note")
    run_to(page, "turn")
    expect(page.locator("#message")).to_have_text("")
    page.wait_for_function("() => window.context.state === 'running'")


def test_microphone_that_never_answers(open_page: Open) -> None:
    page = open_still(
        open_page, init="navigator.mediaDevices.getUserMedia = () => new Promise(() => {});"
    )
    page.get_by_text("More choices").click()
    page.get_by_role("button", name="Show pitch").click()
    expect(page.locator("#message")).to_contain_text("Waiting for the microphone")
    page.clock.run_for(15_100)
    expect(page.locator("#message")).to_contain_text("does not answer")
    expect(page.get_by_role("button", name="Show pitch")).to_be_visible()


DEVICE = """
window.locks = [];
Object.defineProperty(navigator, "wakeLock", { value: { request: async (kind) => {
  const lock = new EventTarget();
  lock.release = async () => { lock.over = true; lock.dispatchEvent(new Event("release")); };
  window.locks.push(lock);
  return lock;
} } });
navigator.audioSession = { type: "auto" };
window.keys = {};
navigator.mediaSession.setActionHandler = (name, handler) => { window.keys[name] = handler; };
let hidden = false;
Object.defineProperty(document, "hidden", { get: () => hidden });
window.hide = (value) => {
  hidden = value;
  document.dispatchEvent(new Event("visibilitychange"));
};
"""


def test_screen_headset_and_lock(open_page: Open) -> None:
    page = open_still(open_page, init=DEVICE)
    assert page.evaluate("navigator.audioSession.type") == "auto"
    press_start(page)
    expect(page.locator("#session")).to_be_visible()
    assert page.evaluate("navigator.audioSession.type") == "playback"
    assert page.evaluate("window.locks.map((lock) => Boolean(lock.over))") == [False]
    # A locked screen shows this title to whoever looks.
    assert page.evaluate("navigator.mediaSession.metadata.title") == "Practice"
    page.evaluate("window.keys.pause()")
    expect(page.locator("#phase")).to_have_text("Paused")
    assert page.evaluate("navigator.mediaSession.playbackState") == "paused"
    page.evaluate("window.keys.play()")
    expect(page.get_by_role("button", name="Pause")).to_be_visible()
    page.evaluate("window.keys.nexttrack()")
    expect(page.locator("#phase")).to_have_text("Listen to the note")
    page.evaluate("window.locks[0].release(); window.hide(true)")
    expect(page.locator("#phase")).to_have_text("Paused")
    page.evaluate("window.hide(false)")
    expect(page.locator("#message")).to_contain_text("out of sight")
    page.get_by_role("button", name="Go on").click()
    expect(page.locator("#phase")).to_have_text("Listen to the note")
    assert page.evaluate("window.locks.map((lock) => Boolean(lock.over))") == [True, False]
    page.get_by_role("button", name="Pause").click()
    page.get_by_role("button", name="End the session").click()
    assert page.evaluate("window.locks.every((lock) => lock.over)")


# Before and after


def test_before_and_after_stay_in_memory(open_page: Open) -> None:
    page = open_still(open_page, init=COUNT_RECORDED, permissions=["microphone"])
    page.evaluate("document.getElementById('more').open = true")
    page.get_by_label("Record one line before and after").check()
    page.get_by_label("Chant").check()
    press_start(page)
    expect(page.locator("#phase")).to_have_text("Before: say it as you always do")
    # Original words: nobody swaps before.
    assert page.locator("#stage i").first.inner_text() == "The"
    # The made microphone beeps once a second, whatever the page's clock says.
    page.wait_for_function(TWO_BEEPS, polling=50)
    page.evaluate("window.recorded = window.sounded = 0")
    run_to(page, "intro", 1000)
    run_to(page, "after", 5000)
    expect(page.locator("#phase")).to_have_text("After: say it as you do now")
    page.wait_for_function(TWO_BEEPS, polling=50)
    page.clock.run_for(20_000)
    play = page.locator("#play-takes")
    expect(play).to_have_text("Play before, then after")
    play.click()
    expect(play).to_have_text("Stop")
    play.click()
    expect(play).to_have_text("Play before, then after")
    page.get_by_role("button", name="Delete the recordings").click()
    expect(page.locator("#taken-note")).to_have_text("The recordings are deleted.")
    expect(play).to_be_hidden()


# Log


def end_session(page: Page) -> None:
    press_start(page)
    run_to(page, "turn")
    page.clock.run_for(20_000)
    if page.get_by_role("button", name="Pause").is_visible():
        page.get_by_role("button", name="Pause").click()
    page.get_by_role("button", name="End the session").click()
    page.get_by_text("Keep a log?").click()


def save(page: Page) -> str:
    with page.expect_download() as download:
        page.get_by_role("button", name="Save it as a file").click()
    assert download.value.suggested_filename == "practice-log.csv"
    return Path(download.value.path()).read_bytes().decode()


def test_log_is_read_by_the_plan(open_page: Open, tmp_path: Path) -> None:
    page = open_still(open_page)
    end_session(page)
    page.get_by_label("I hear the difference").check()
    page.get_by_label("a little").check()
    (entry,) = parse_log(save(page))
    assert (entry.session, entry.heard, entry.felt, entry.tension.name) == (1, True, False, "SOME")
    assert entry.unit == "passage"
    assert entry.kind == "full"
    assert 0.3 <= entry.minutes <= 1
    assert entry.note == ""
    # Saved again after another tick: still one session.
    page.get_by_label("The pitch holds").check()
    (entry,) = parse_log(save(page))
    assert entry.pitch
    # A log of a plan, in a spreadsheet's dress: its first open row is filled in.
    planned = (
        "\ufeffdate;session;unit;version;rung;minutes;felt;heard;pitch;inflection;tension;note\r\n"
        '2026-01-02;4;word;partial;2;15;yes;no;yes;yes;none;"dry; ""windy"""\r\n'
        ";5;phrase;partial;1;15;;;;;;\r\n;6;phrase;full;;15;;;;;;\r\n"
    )
    (tmp_path / "log.csv").write_text(planned, encoding="utf-8")
    page.get_by_label("Open a log that you have").set_input_files(tmp_path / "log.csv")
    expect(page.locator("#log-message")).to_contain_text("Sessions in this log: 1.")
    text = save(page)
    first, second = parse_log(text)
    assert first.note == 'dry; "windy"'
    assert (second.session, second.unit, second.kind, second.rung) == (5, "phrase", "partial", 1)
    assert second.heard
    assert len(list(csv.reader(io.StringIO(text), delimiter=";"))) == 4
    # Windows' spreadsheet writes an encoding of its own.
    other = planned.replace("windy", "£5 café").lstrip("\ufeff").encode("cp1252")
    (tmp_path / "log.csv").write_bytes(other)
    # The same file, changed since: it is read again.
    with page.expect_file_chooser() as chooser:
        page.get_by_label("Open a log that you have").click()
    chooser.value.set_files(tmp_path / "log.csv")
    expect(page.locator("#log-message")).to_contain_text("Sessions in this log: 1.")
    assert parse_log(save(page))[0].note == 'dry; "£5 café"'
    (tmp_path / "other.csv").write_text("date,session\n", encoding="utf-8")
    page.get_by_label("Open a log that you have").set_input_files(tmp_path / "other.csv")
    expect(page.locator("#log-message")).to_contain_text("“unit” is missing")


def test_ticks_are_of_one_session(open_page: Open) -> None:
    page = open_still(open_page)
    end_session(page)
    page.get_by_label("The pitch holds").check()
    page.get_by_role("button", name="Practise again").click()
    press_start(page)
    page.get_by_role("button", name="Pause").click()
    page.get_by_role("button", name="End the session").click()
    expect(page.locator("#check input:checked")).to_have_count(0)


def test_log_is_kept_only_after_asking(browser: Browser, page_file: Path) -> None:
    context = browser.new_context()
    page = context.new_page()
    page.goto(page_file.as_uri())
    page.clock.install(time=0)
    page.reload()
    page.clock.pause_at(60)
    end_session(page)
    stored = "localStorage.getItem('practice-log')"
    page.get_by_role("button", name="Keep it in this browser").click()
    expect(page.get_by_text("Whoever uses this browser")).to_be_visible()
    page.get_by_role("button", name="No", exact=True).click()
    assert page.evaluate(stored) is None
    page.get_by_role("button", name="Keep it in this browser").click()
    page.get_by_role("button", name="Yes, keep it").click()
    assert len(parse_log(page.evaluate(stored))) == 1
    page.reload()
    expect(page.locator("#kept")).to_contain_text("Sessions in it: 1.")
    end_session(page)
    page.get_by_role("button", name="Keep it in this browser").click()
    page.get_by_role("button", name="Yes, keep it").click()
    assert [entry.session for entry in parse_log(page.evaluate(stored))] == [1, 2]
    page.get_by_role("button", name="Delete the log").click()
    assert page.evaluate("localStorage.length") == 0
    expect(page.locator("#kept-note")).to_have_text("The log is deleted from this browser.")
    context.close()


def test_an_answer_stands_under_its_question(open_page: Open, tmp_path: Path) -> None:
    """In the session, in the text, and where one's own answer is typed."""
    questions = ("What would you like?", "Where do you live?")
    drills = tuple(
        make_drill(answer, title)
        for title, answer in zip(questions, ("Tea, please.", "By the quay."), strict=True)
    )
    sheet = Worksheet(drills, "Questions", parse_pitch("G3"))
    path = tmp_path / "talk.html"
    path.write_text(render_page(make_practice_page(sheet, asks=True)), encoding="utf-8")
    page = open_still(open_page, path, viewport={"width": 360, "height": 560})
    page.get_by_text("More choices").click()
    assert page.locator("#asked li").all_inner_texts() == list(questions)
    page.get_by_label("Chant").check()
    press_start(page)
    shown = []
    for _ in range(page.locator("#first option").count()):
        run_to(page, "note")
        shown.append(page.locator("#stage .asked").inner_text())
        assert page.evaluate(MISFITS) == []
        page.get_by_role("button", name="Next").click()
    assert list(dict.fromkeys(shown)) == list(questions)


def test_own_words_are_practised_as_they_were_typed(open_page: Open) -> None:
    """Line by line, with a beat for each group of vowel letters; nothing of them stays."""
    page: Any = open_page(viewport={"width": 360, "height": 560})
    page.clock.install(time=0)
    page.clock.pause_at(60)
    choice = page.get_by_role("radio", name="Your own words")
    expect(choice).to_be_hidden()
    page.get_by_text("More choices").click()
    typed = "I walked the dog, again. " + "So we all ran and ran and ran round the house"
    page.get_by_label("Your own words", exact=True).last.fill(typed)
    expect(choice).to_be_checked()
    press_start(page)
    expect(page.locator("#stage")).to_contain_text("Say your own words")
    said = []
    for number in range(1, 5):
        page.get_by_role("button", name="Next").click()
        expect(page.locator("#place")).to_have_text(f"Your own words, line {number} of 4")
        said.append(page.locator("#stage .words").inner_text().split())
    assert " ".join(" ".join(line) for line in said) == typed
    assert max(map(len, said)) <= 9
    beats = page.locator("#stage i").evaluate_all("all => all.map((e) => +(e.dataset.n ?? 1))")
    assert beats == [1] * len(said[-1])
    page.get_by_role("button", name="Pause").click()
    page.get_by_role("button", name="End the session").click()
    page.get_by_role("button", name="Practise again").click()
    page.get_by_label("Your own words", exact=True).last.fill("")
    expect(choice).to_be_hidden()
    expect(page.get_by_role("radio", name="All three in turn")).to_be_checked()
