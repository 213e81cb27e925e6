"""The practice page in a real browser, used as a person would."""

from __future__ import annotations

import functools
import json
import threading
from collections.abc import Callable, Iterator
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect
from pypdf import PdfReader
from sheet_factory import make_drill

from drillgen.core.pitch import parse_pitch
from drillgen.core.printable import clean
from drillgen.core.values import Worksheet
from drillgen.sheets.content import group_words
from drillgen.sheets.practice_page import make_practice_page
from drillgen.write.page import render_page
from drillgen.write.page_fonts import FontShelf

pytestmark = pytest.mark.browser

Open = Callable[..., Page]
STEPS = ("Chant", "Inflected", "Carry-over", "Finish")
PHONES = (360, 390)


def go_to(page: Page, step: str) -> None:
    page.get_by_role("navigation").get_by_role("button", name=step).click()


def shown(page: Page) -> list[str]:
    """The respellings that can be seen, in order."""
    words: list[str] = page.locator(".r:visible").all_inner_texts()
    return words


# Flow


def test_steps_show_their_versions(open_page: Open, harbour: Worksheet) -> None:
    page = open_page()
    (drill,) = harbour.drills
    expect(page).to_have_title("Morning at the harbour")
    expect(page.get_by_text("Read the full swap on one steady pitch")).to_be_visible()
    assert shown(page) == [
        w.text for w in group_words(drill.phrases[0], drill.versions[0].lines[0])
    ]
    go_to(page, "Inflected")
    expect(page.get_by_text("natural rise and fall")).to_be_visible()
    expect(page.get_by_text("on one steady pitch")).to_be_hidden()
    go_to(page, "Carry-over")
    choice = page.get_by_label("Version")
    labels = choice.locator("option:not([hidden])").all_inner_texts()
    assert labels == ["Partial swap, rung 2 of 2", "Partial swap, rung 1 of 2", "Original words"]
    expect(page.get_by_text("On the way there")).to_be_visible()
    page.get_by_role("button", name="Go on: Partial swap, rung 1 of 2").click()
    page.get_by_role("button", name="Go on: Original words").click()
    expect(choice.locator("option:checked")).to_have_text("Original words")
    expect(page.get_by_text("Read the original words")).to_be_visible()
    assert shown(page)[:3] == ["The", "harbour", "of"]
    # The respelling stands under the small original, the marks are weight and line.
    assert page.locator(".o:visible").count() == 0
    assert page.locator("b.m:visible").count() > 3
    page.get_by_role("button", name="Go on: Finish").click()
    expect(page.get_by_role("heading", name="Did you hear and feel a difference?")).to_be_visible()
    expect(page.get_by_role("checkbox")).to_have_count(3)


def test_original_stands_above_its_respelling(open_page: Open) -> None:
    page = open_page()
    for word in page.locator(".w:visible").all():
        above = word.locator(".o").bounding_box()
        below = word.locator(".r").bounding_box()
        assert above
        assert below
        assert above["y"] + above["height"] <= below["y"] + 1
        assert abs(above["x"] - below["x"]) < 1
        assert word.locator(".r").evaluate("e => parseFloat(getComputedStyle(e).fontSize)") >= 28


def test_counting_cues_and_rest(open_page: Open) -> None:
    page = open_page()
    count = page.get_by_role("button", name="Count one")
    cue = page.locator("#cue")
    expect(cue).to_contain_text("Overshoot")
    count.click()
    expect(page.locator("#counted")).to_have_text("1 of 3 repetitions")
    expect(page.locator("#say")).to_contain_text("1 of 3")
    expect(cue).to_contain_text("Ease back a little")
    count.click()
    expect(cue).to_contain_text("still yours")
    count.click()
    expect(cue).to_contain_text("Done")
    expect(page.locator("#dots .full")).to_have_count(3)
    page.get_by_role("button", name="Next phrase").click()
    expect(page.locator("#place")).to_contain_text("Phrase 2 of")
    expect(page.locator("#counted")).to_have_text("0 of 3 repetitions")
    for _ in range(3):
        count.click()
    rest = page.get_by_role("dialog", name="Rest a moment")
    expect(rest).to_be_visible()
    for word in ("Jaw and neck", "water", "Stop at any pain"):
        expect(rest).to_contain_text(word)
    expect(rest.get_by_role("button", name="Go on")).to_be_focused()
    rest.get_by_role("button", name="Go on").click()
    expect(rest).to_be_hidden()
    page.get_by_role("button", name="Previous phrase").click()
    expect(page.locator("#counted")).to_have_text("3 of 3 repetitions")
    go_to(page, "Finish")
    expect(page.locator("#total")).to_have_text("Repetitions today: 6.")
    # In memory only: a new visit begins at nothing.
    page.reload()
    expect(page.locator("#counted")).to_have_text("0 of 3 repetitions")


def test_rest_counts_down_and_can_end_the_day(open_page: Open) -> None:
    page = open_page()
    page.clock.install()
    page.reload()
    page.get_by_label("Whole text").check()
    page.get_by_role("button", name="Count one").click()
    rest = page.get_by_role("dialog")
    if not rest.is_visible():
        page.get_by_role("button", name="Count one").click()
    expect(page.locator("#rest-time")).to_have_text("30 s")
    page.clock.run_for(10_000)
    expect(page.locator("#rest-time")).to_have_text("20 s")
    page.clock.run_for(30_000)
    expect(page.locator("#rest-time")).to_contain_text("when you are ready")
    rest.get_by_role("button", name="Stop for today").click()
    expect(page.locator("#check")).to_be_visible()


# Pacer

WATCH = """
window.seen = [];
addEventListener("DOMContentLoaded", () => new MutationObserver((changes) => {
  for (const change of changes) {
    if (change.target.classList.contains("lit")) {
      window.seen.push([change.target.textContent, performance.now(), +change.target.dataset.n]);
    }
  }
}).observe(document.body, { subtree: true, attributeFilter: ["class"] }));
"""


def test_pacer_lights_each_syllable_at_its_time(open_page: Open) -> None:
    page = open_page(init=WATCH)
    page.clock.install(time=0)
    page.reload()
    expected = page.locator(".on [data-n]:visible").all_inner_texts()
    assert len(expected) > 5
    expect(page.locator("#speed-now")).to_have_text("1.5 syllables a second")
    page.get_by_role("button", name="Start pacer").click()
    page.clock.run_for(60_000)
    seen: list[tuple[str, float, int]] = page.evaluate("window.seen")
    assert [text for text, _, _ in seen] == expected
    for (_, start, beats), (_, end, _) in pairwise(seen):
        assert end - start == pytest.approx(1000 * beats / 1.5, abs=20)
    # At the end of the phrase it has counted one and stands still.
    expect(page.locator("#counted")).to_have_text("1 of 3 repetitions")
    expect(page.locator(".lit")).to_have_count(0)
    expect(page.get_by_role("button", name="Start pacer")).to_be_visible()


def test_pacer_waits_at_breath_marks(open_page: Open) -> None:
    page = open_page(init=WATCH)
    page.clock.install(time=0)
    page.reload()
    page.get_by_label("Whole text").check()
    page.get_by_role("button", name="Start pacer").click()
    page.clock.run_for(300_000)
    seen: list[tuple[str, float, int]] = page.evaluate("window.seen")
    gaps = [
        round((end - start) * 1.5 / 1000 - beats)
        for (_, start, beats), (_, end, _) in pairwise(seen)
    ]
    rests = [int(rest) for rest in page.locator(".on .ph").evaluate_all(
        "all => all.map((one) => one.dataset.rest)")]  # fmt: skip
    assert [gap for gap in gaps if gap] == rests[:-1]
    assert set(rests) <= {1, 2}


def test_pacer_pauses_where_it_is(open_page: Open) -> None:
    page = open_page()
    page.clock.install(time=0)
    page.reload()
    page.keyboard.press("Space")
    page.clock.run_for(1_500)
    lit = page.locator(".lit").inner_text()
    page.keyboard.press("Space")
    page.clock.run_for(20_000)
    assert page.locator(".lit").inner_text() == lit
    expect(page.locator("#counted")).to_have_text("0 of 3 repetitions")
    page.keyboard.press("Space")
    assert page.locator(".lit").inner_text() == lit


# Keyboard


def test_whole_walk_by_keyboard(open_page: Open) -> None:
    """Every control can be reached, is marked, and is not covered (WCAG 2.2: 2.1.1,
    2.4.7, 2.4.11)."""
    page = open_page(viewport={"width": 360, "height": 640})
    names = []
    for _ in range(40):
        page.keyboard.press("Tab")
        info: dict[str, Any] | None = page.evaluate(
            """() => {
              const e = document.activeElement;
              if (e === document.body) return null;
              const box = e.getBoundingClientRect();
              const x = box.left + box.width / 2;
              const y = box.top + Math.min(box.height / 2, 20);
              const top = document.elementFromPoint(x, y);
              return {
                name: e.id || e.name || e.textContent.trim(),
                outline: getComputedStyle(e).outlineStyle,
                reachable: e === top || e.contains(top) || top?.contains(e),
                width: box.width, height: box.height,
              };
            }"""
        )
        if info is None:
            break
        names.append(info["name"])
        assert info["outline"] == "solid", info
        assert info["reachable"], info
        assert info["height"] >= 20, info
    for control in ("view", "after", "next-step", "tone", "pacer", "listen", "count", "lower",
                    "higher", "speed"):  # fmt: skip
        assert control in names
    assert names[0] == "1Chant"


def test_keys_belong_to_the_control_with_the_focus(open_page: Open) -> None:
    page = open_page()
    place = page.locator("#place")
    pacer = page.locator("#pacer")
    page.keyboard.press("ArrowRight")
    expect(place).to_contain_text("Phrase 2 of")
    page.keyboard.press("ArrowLeft")
    expect(place).to_contain_text("Phrase 1 of")
    page.keyboard.press("Space")
    expect(pacer).to_have_attribute("data-running", "true")
    page.keyboard.press("Space")
    expect(pacer).to_have_attribute("data-running", "false")
    page.locator("#speed").focus()
    page.keyboard.press("ArrowRight")
    expect(page.locator("#speed-now")).to_have_text("1.6 syllables a second")
    expect(place).to_contain_text("Phrase 1 of")
    page.locator("#count").focus()
    page.keyboard.press("Space")
    expect(page.locator("#counted")).to_have_text("1 of 3 repetitions")
    expect(pacer).to_have_attribute("data-running", "false")
    page.get_by_label("One phrase").focus()
    page.keyboard.press("ArrowRight")
    expect(page.get_by_label("Whole text")).to_be_checked()
    page.keyboard.press("Control+ArrowRight")
    page.get_by_role("navigation").get_by_role("button").nth(2).focus()
    page.keyboard.press("Enter")
    expect(page.get_by_label("Version")).to_be_visible()


def test_escape_closes_the_rest(open_page: Open) -> None:
    page = open_page()
    page.locator("#count").focus()
    for _ in range(6):
        page.keyboard.press("Enter")
    expect(page.get_by_role("dialog")).to_be_visible()
    page.keyboard.press("Escape")
    expect(page.get_by_role("dialog")).to_be_hidden()
    expect(page.locator("#count")).to_be_focused()


# Size, looks, accessibility


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_nothing_serious_for_axe(open_page: Open, axe: str, shots: Path, scheme: str) -> None:
    """axe-core with its rules for WCAG 2.0 to 2.2, levels A and AA, and best practice."""
    page = open_page(color_scheme=scheme, permissions=["microphone"])
    page.evaluate(axe)

    def check(name: str) -> None:
        page.screenshot(path=shots / f"phone-{scheme}-{name}.png", full_page=True)
        found = page.evaluate(
            "async () => (await axe.run(document, { resultTypes: ['violations'] })).violations"
        )
        problems = [
            (rule["id"], rule["impact"], [node["html"] for node in rule["nodes"]][:3])
            for rule in found
        ]
        assert problems == [], json.dumps(problems, indent=1)

    for step in STEPS:
        go_to(page, step)
        check(step.lower())
    go_to(page, "Chant")
    page.get_by_label("Whole text").check()
    for summary in page.locator("summary").all():
        summary.click()
    page.locator("#listen").click()
    expect(page.locator("#live")).to_be_visible()
    page.locator("#higher").click()
    page.locator("#pacer").click()
    expect(page.locator(".lit")).to_be_visible()
    check("whole")
    page.locator("#count").click()
    if not page.get_by_role("dialog").is_visible():
        page.locator("#count").click()
    check("rest")


@pytest.mark.parametrize("width", [320, 360])
def test_no_sideways_scroll(open_page: Open, shelf: FontShelf, tmp_path: Path, width: int) -> None:
    """WCAG 2.2, 1.4.10 Reflow: 320 CSS pixels."""
    long = "Incomprehensibilities uncharacteristically " + "w" * 60 + " boat."
    sheet = Worksheet(
        (make_drill(long, rungs=12),), "Counterrevolutionaries" * 3, parse_pitch("F#3")
    )
    path = tmp_path / "long.html"
    path.write_text(render_page(make_practice_page(sheet), fonts=shelf), encoding="utf-8")
    page = open_page(path, viewport={"width": width, "height": 640}, permissions=["microphone"])
    page.locator("#listen").click()
    expect(page.locator("#live")).to_be_visible()
    for step in STEPS:
        go_to(page, step)
        for view in ("Whole text", "One phrase") if step != "Finish" else ("",):
            if view:
                page.get_by_label(view).check()
            wide = page.evaluate(
                """() => [...document.querySelectorAll("body *")].filter((e) => {
                  const box = e.getBoundingClientRect();
                  return box.width > 1 && box.right > innerWidth + 1;
                }).map((e) => e.outerHTML.slice(0, 80))"""
            )
            assert wide == []
            assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_targets_are_large_enough(open_page: Open) -> None:
    """WCAG 2.2, 2.5.8 Target Size (Minimum): 24 by 24 CSS pixels."""
    page = open_page()
    kinds = ("button", "select", "summary", "label:has(input)", "input[type=range]")
    targets = page.locator(", ".join(f"{kind}:visible" for kind in kinds))
    for step in STEPS:
        go_to(page, step)
        sizes = targets.evaluate_all(
            "all => all.map((e) => e.getBoundingClientRect()).map((b) => [b.width, b.height])"
        )
        assert len(sizes) >= 7
        assert min(min(size) for size in sizes) >= 24


def test_reduced_motion_is_honoured(open_page: Open) -> None:
    moving = """() => [...document.querySelectorAll("*")].map((e) => getComputedStyle(e)).some(
      (style) => parseFloat(style.transitionDuration) > 0 || style.animationName !== "none"
    )"""
    assert open_page(reduced_motion="reduce").evaluate(moving) is False
    assert open_page(reduced_motion="no-preference").evaluate(moving) is True


def test_desktop_looks(open_page: Open, shots: Path) -> None:
    for scheme in ("light", "dark"):
        page = open_page(color_scheme=scheme, viewport={"width": 1280, "height": 900})
        page.screenshot(path=shots / f"desktop-{scheme}.png", full_page=True)
        # The page's own font is in use.
        assert page.evaluate("document.fonts.check('700 20px \"Page Text\"')")
        assert (
            page.evaluate("[...document.fonts].filter((f) => f.status === 'loaded').length") == 2
        )


def test_prints_all_versions(open_page: Open, shots: Path) -> None:
    page = open_page(viewport={"width": 1000, "height": 900})
    go_to(page, "Finish")
    pdf = shots / "print.pdf"
    page.pdf(path=pdf, format="A4")
    text = " ".join(part.extract_text() for part in PdfReader(pdf).pages)
    text = " ".join(text.split())
    versions = ("Full swap", "Partial swap, rung 2 of 2", "Partial swap, rung 1 of 2")
    others = ("Original words", "Take care", "As in", "short pause", "Chant.", "Overshoot")
    for part in (*versions, *others):
        assert part in text, part
    for control in ("Count one", "Start pacer", "Did you hear", "About this", "On the way"):
        assert control not in text


# What a user writes


HOSTILE = (
    "<script>document.title = 'no'</script> boat",
    "<img src=x onerror=alert(1)> boat",
    "</span></p></article><h1>boat</h1>",
    "boat --> <!-- boat",
    "{{ 7 * 7 }} {% for %} boat",
    "&lt;b&gt; &amp;amp; boat &#x41;",
    "' \" ` onclick=alert(1) boat",
    "</script><svg onload=alert(1)> boat",
    "\u202eboat\u202c \u2066harbour\u2069",
    "<style>body{display:none}</style> boat",
)


def test_hostile_text_is_shown_as_it_is(open_page: Open, shelf: FontShelf, tmp_path: Path) -> None:
    drills = tuple(make_drill(text, title=text) for text in HOSTILE)
    path = tmp_path / "hostile.html"
    sheet = Worksheet(drills, HOSTILE[0], None)
    path.write_text(render_page(make_practice_page(sheet), fonts=shelf), encoding="utf-8")
    page = open_page(path)
    assert page.title() == clean(HOSTILE[0])
    assert page.locator("h1").inner_text() == clean(HOSTILE[0])
    assert page.locator("#v0 h3").evaluate_all("all => all.map((h) => h.textContent)") == [
        clean(text) for text in HOSTILE[1:]
    ]
    assert page.locator("script").count() == 2
    assert page.locator("style").count() == 1
    assert page.locator("img").count() == 0
    words = page.locator("#v0 .r").evaluate_all("all => all.map((word) => word.textContent)")
    expected = [
        word.text
        for drill in drills
        for phrase, line in zip(drill.phrases, drill.versions[0].lines, strict=True)
        for word in group_words(phrase, line)
    ]
    assert words == expected


# Where a page comes from


@pytest.fixture
def served(page_file: Path) -> Iterator[int]:
    class Silent(SimpleHTTPRequestHandler):
        def log_message(self, *_: Any) -> None:
            pass

    handler = functools.partial(Silent, directory=str(page_file.parent))
    server = ThreadingHTTPServer(("127.0.0.1", 0), handler)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield server.server_port
    server.shutdown()
    server.server_close()


def test_works_from_a_local_server(open_page: Open, served: int) -> None:
    page = open_page(f"http://localhost:{served}/practice.html", permissions=["microphone"])
    page.locator("#listen").click()
    expect(page.locator("#live")).to_be_visible()


def test_insecure_address_hides_the_trace(open_page: Open, served: int) -> None:
    """Browsers open the microphone for https, localhost and (most) files only."""
    page = open_page(f"http://page.test:{served}/practice.html")
    assert page.evaluate("isSecureContext") is False
    expect(page.locator("#listen")).to_be_hidden()
    expect(page.locator("#trace-message")).to_contain_text("does not open the microphone")
    page.locator("#count").click()
    expect(page.locator("#counted")).to_have_text("1 of 3 repetitions")


def test_without_script_all_versions_are_there(browser: Browser, page_file: Path) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(page_file.as_uri())
    for name in ("Full swap", "Partial swap, rung 1 of 2", "Original words"):
        expect(page.get_by_role("heading", name=name)).to_be_visible()
    expect(page.get_by_text("The text works without it.")).to_be_visible()
    expect(page.get_by_role("button")).to_have_count(0)
    context.close()
