"""The practice page in a real browser, used as a person would."""

from __future__ import annotations

import functools
import json
import threading
from collections.abc import Callable, Iterator
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
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

pytestmark = pytest.mark.browser

Open = Callable[..., Page]

WORDS = """all => all.map((word) => {
  const copy = word.cloneNode(true);
  copy.querySelectorAll("small, em").forEach((part) => part.remove());
  return copy.textContent;
})"""
"""The words themselves, without originals and marks."""


def open_all(page: Page) -> None:
    """Every part that is folded away."""
    for summary in page.locator("summary:visible").all():
        summary.click()


def begin(page: Page) -> None:
    """A session, at the first line's note, where it stays: time stands still."""
    page.clock.install(time=0)
    page.clock.pause_at(60)
    page.get_by_role("button", name="Start").click()
    page.get_by_role("button", name="Next").click()
    expect(page.locator("#stage .ph")).to_be_visible()


def end(page: Page) -> None:
    page.get_by_role("button", name="Pause").click()
    page.get_by_role("button", name="End the session").click()
    expect(page.locator("#end")).to_be_visible()


# What is on it


def test_first_screen_says_what_to_do(open_page: Open) -> None:
    page = open_page(viewport={"width": 360, "height": 560})
    expect(page).to_have_title("Morning at the harbour")
    assert page.locator("#lines li").count() == 3
    start = page.get_by_role("button", name="Start").bounding_box()
    assert start
    assert start["y"] + start["height"] <= 560
    expect(page.locator("#text")).to_be_hidden()
    page.get_by_text("More choices").click()
    page.get_by_role("button", name="Show the text").click()
    for name in ("Full swap", "Partial swap, rung 1 of 2", "Original words"):
        expect(page.get_by_role("heading", name=name)).to_be_visible()
    lines = page.get_by_label("Begin with line").locator("option").all_inner_texts()
    assert lines[0].startswith("1. The harbour")


def test_carry_over_goes_down_the_rungs(open_page: Open) -> None:
    page = open_page()
    page.clock.install(time=0)
    page.reload()
    page.clock.pause_at(60)
    page.get_by_label("Carry-over").check()
    page.get_by_role("button", name="Start").click()
    expect(page.locator("#stage")).to_contain_text("Read the original words")
    page.get_by_role("button", name="Next").click()
    shown = []
    for number in (1, 2, 3):
        while page.locator("#phase").inner_text() != f"Your turn, {number} of 3":
            page.clock.run_for(500)
        shown.append(page.locator("#stage .words > span").evaluate_all(WORDS))
    assert shown[2][:3] == ["The", "harbour", "of"]
    originals = page.locator("article").last.locator(".ph").first.locator(".words > span")
    assert shown[2] == originals.evaluate_all(WORDS)
    # Rungs are nested: the nearer to the original, the more words are as written.
    kept = [sum(a == b for a, b in zip(words, shown[2], strict=True)) for words in shown]
    assert kept[0] <= kept[1] < kept[2]
    # The marks are weight and line.
    assert page.locator("#stage u").count() >= 1


def test_original_stands_above_its_respelling(open_page: Open) -> None:
    page = open_page()
    begin(page)
    for word in page.locator("#stage .words > span").all():
        above = word.locator("small").bounding_box()
        below = word.locator("i").first.bounding_box()
        assert above
        assert below
        assert above["y"] + above["height"] <= below["y"] + 1
        assert abs(above["x"] - below["x"]) < 1
        assert (
            word.locator("i").first.evaluate("e => parseFloat(getComputedStyle(e).fontSize)") >= 28
        )


def test_screen_reader_hears_the_line_in_one(open_page: Open) -> None:
    """The accessibility tree: each control has its name, the line is one text, and a status
    says what comes."""
    page = open_page()
    begin(page)
    tree = page.locator("#session").aria_snapshot()
    for part in (
        'heading "Chant, line 1 of', 'progressbar "Time"', 'group "Controls"',
        'button "Slower"', 'button "Faster"', 'button "Back"', 'button "Pause"', 'button "Next"',
        "paragraph: Listen to the note",
    ):  # fmt: skip
        assert part in tree, part
    plain = page.locator("#stage .vh").inner_text().strip()
    assert " ".join(plain.split()) in " ".join(tree.split())
    assert "‖" not in tree
    expect(page.locator("#say")).to_contain_text(f"Listen to the note. {plain}")


# Keyboard


def test_whole_walk_by_keyboard(open_page: Open) -> None:
    """Every control can be reached, is marked, and is not covered (WCAG 2.2: 2.1.1,
    2.4.7, 2.4.11)."""
    page = open_page(viewport={"width": 360, "height": 640})
    page.evaluate("document.getElementById('more').open = true")
    names = walk(page)
    for control in ("minutes", "delivery", "start", "tone", "lower", "higher", "speed", "first",
                    "listen", "takes", "look"):  # fmt: skip
        assert control in names
    page.locator("#start").focus()
    page.keyboard.press("Enter")
    # Sound takes a moment to wake; then the key that pauses has the focus.
    expect(page.locator("#pause")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.locator("#stop")).to_be_visible()
    page.locator("#place").evaluate("e => { e.tabIndex = -1; e.focus(); }")
    note = ["lower", "higher"]
    assert walk(page) == ["tight", *note, "listen-too", "stop", "back", "pause", "next"]
    page.locator("#stop").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#end")).to_be_visible()
    page.evaluate("document.getElementById('log').open = true")
    names = walk(page)
    for control in ("heard", "felt", "tension", "again", "load-log", "save-log", "keep-log"):
        assert control in names


def walk(page: Page) -> list[str]:
    """Tab through everything."""
    names: list[str] = []
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
    return names


# Size, looks, accessibility


AXE_RULES = {
    "light": {"resultTypes": ["violations"]},
    # The schemes differ in colours alone.
    "dark": {"resultTypes": ["violations"], "runOnly": ["color-contrast", "link-in-text-block"]},
}


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_nothing_serious_for_axe(open_page: Open, axe: str, shots: Path, scheme: str) -> None:
    """axe-core with its rules for WCAG 2.0 to 2.2, levels A and AA, and best practice."""
    rules = AXE_RULES[scheme]
    page = open_page(color_scheme=scheme, permissions=["microphone"])
    page.evaluate(axe)

    def check(name: str) -> None:
        page.screenshot(path=shots / f"phone-{scheme}-{name}.png", full_page=True)
        result = page.evaluate("rules => axe.run(document, rules)", rules)
        assert result["passes"]
        found = result["violations"]
        problems = [
            (rule["id"], rule["impact"], [node["html"] for node in rule["nodes"]][:3])
            for rule in found
        ]
        assert problems == [], json.dumps(problems, indent=1)

    check("start")
    open_all(page)
    page.locator("#look").click()
    page.locator("#listen").click()
    expect(page.locator("#live")).to_be_visible()
    page.locator("#higher").click()
    check("choices")
    page.get_by_role("button", name="Start").click()
    expect(page.locator("#session")).to_be_visible()
    check("intro")
    page.get_by_role("button", name="Next").click()
    expect(page.locator(".lit")).to_be_visible()
    check("turn")
    page.get_by_role("button", name="Pause").click()
    expect(page.locator("#stop")).to_be_visible()
    check("paused")
    page.get_by_role("button", name="End the session").click()
    expect(page.locator("#end")).to_be_visible()
    open_all(page)
    page.get_by_role("button", name="Keep it in this browser").click()
    check("end")


@pytest.mark.parametrize("width", [320, 360])
def test_no_sideways_scroll(open_page: Open, tmp_path: Path, width: int) -> None:
    """WCAG 2.2, 1.4.10 Reflow: 320 CSS pixels."""
    long = "Incomprehensibilities uncharacteristically " + "w" * 60 + " boat."
    sheet = Worksheet(
        (make_drill(long, rungs=12),), "Counterrevolutionaries" * 3, parse_pitch("F#3")
    )
    path = tmp_path / "long.html"
    path.write_text(render_page(make_practice_page(sheet)), encoding="utf-8")
    page = open_page(path, viewport={"width": width, "height": 640}, permissions=["microphone"])
    open_all(page)
    page.locator("#look").click()
    page.locator("#listen").click()
    expect(page.locator("#live")).to_be_visible()
    check_width(page, width)
    begin(page)
    check_width(page, width)
    end(page)
    open_all(page)
    check_width(page, width)


def check_width(page: Page, width: int) -> None:
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

    def check(least: int) -> None:
        sizes = targets.evaluate_all(
            "all => all.map((e) => e.getBoundingClientRect()).map((b) => [b.width, b.height])"
        )
        assert len(sizes) >= least
        assert min(min(size) for size in sizes) >= 24

    open_all(page)
    check(15)
    begin(page)
    check(5)
    pause = page.locator("#pause").bounding_box()
    assert pause
    # What is pressed most, and without looking.
    assert min(pause["height"], pause["width"]) >= 60
    end(page)
    check(8)


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
        begin(page)
        page.screenshot(path=shots / f"desktop-{scheme}-session.png")
        # The page's own font is in use.
        assert page.evaluate("document.fonts.check('700 20px \"Page Text\"')")
        assert (
            page.evaluate("[...document.fonts].filter((f) => f.status === 'loaded').length") == 2
        )


def test_prints_all_versions(open_page: Open, shots: Path) -> None:
    page = open_page(viewport={"width": 1000, "height": 900})
    # In the middle of a session, the sheet is printed all the same.
    begin(page)
    pdf = shots / "print.pdf"
    page.pdf(path=pdf, format="A4")
    text = " ".join(part.extract_text() for part in PdfReader(pdf).pages)
    text = " ".join(text.split())
    versions = ("Full swap", "Partial swap, rung 2 of 2", "Partial swap, rung 1 of 2")
    others = ("Original words", "Take care", "As in", "short pause", "Chant.", "Overshoot")
    for part in (*versions, *others):
        assert part in text, part
    for control in ("Pause", "Press Start", "Did you hear", "About this", "How long", "left"):
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


def test_hostile_text_is_shown_as_it_is(open_page: Open, tmp_path: Path) -> None:
    drills = tuple(make_drill(text, title=text) for text in HOSTILE)
    path = tmp_path / "hostile.html"
    sheet = Worksheet(drills, HOSTILE[0], None)
    path.write_text(render_page(make_practice_page(sheet)), encoding="utf-8")
    page = open_page(path)
    assert page.title() == clean(HOSTILE[0])
    assert page.locator("header h1").inner_text() == clean(HOSTILE[0])
    assert page.locator("#v0 h3").evaluate_all("all => all.map((h) => h.textContent)") == [
        clean(text) for text in HOSTILE[1:]
    ]
    assert page.locator("script").count() == 2
    assert page.locator("style").count() == 1
    assert page.locator("img").count() == 0
    words = page.locator("#v0 .words > span").evaluate_all(WORDS)
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
    page.get_by_text("More choices").click()
    page.locator("#listen").click()
    expect(page.locator("#live")).to_be_visible()


def test_insecure_address_hides_the_trace(open_page: Open, served: int) -> None:
    """Browsers open the microphone for https, localhost and (most) files only."""
    page = open_page(f"http://page.test:{served}/practice.html")
    assert page.evaluate("isSecureContext") is False
    page.get_by_text("More choices").click()
    expect(page.locator("#listen")).to_be_hidden()
    expect(page.locator("#takes")).to_be_disabled()
    expect(page.locator("#trace-about")).to_contain_text("does not open the microphone")
    begin(page)


def test_without_script_all_versions_are_there(browser: Browser, page_file: Path) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(page_file.as_uri())
    for name in ("Full swap", "Partial swap, rung 1 of 2", "Original words"):
        expect(page.get_by_role("heading", name=name)).to_be_visible()
    expect(page.get_by_text("The text works without it.")).to_be_visible()
    expect(page.get_by_role("button")).to_have_count(0)
    # No label, choice or heading of what can't be used.
    text = page.locator("body").inner_text()
    for stray in ("How long", "minutes", "Speed", "Begin with", "Done", "Jaw, neck", "Rest"):
        assert stray not in text, stray
    assert page.locator(":is(input, select, canvas, progress, label, legend):visible").count() == 0
    context.close()
