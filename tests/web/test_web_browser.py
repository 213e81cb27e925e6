"""The page in a real browser, driven as a person would.

Accessibility is checked by axe-core (Deque Systems, MPL-2.0) against its rules
for WCAG 2.0, 2.1 and 2.2, levels A and AA, and its best practices.
"""

from __future__ import annotations

import io
import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from count_recorded import COUNT_RECORDED, TWO_BEEPS
from docx import Document as WordDocument
from find_chromium import find_chromium
from playwright.sync_api import Browser, Page, Playwright, Route, expect
from pypdf import PdfReader

from drillgen.corpus.reader import load_passages

pytestmark = pytest.mark.browser

ROOT = Path(__file__).parents[2]
SHOTS = ROOT / "out" / "web"
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    # A microphone that beeps.
    "--use-fake-device-for-media-stream",
    "--use-fake-ui-for-media-stream",
]
AXE_TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
AXE_COLOURS = {"type": "rule", "values": ["color-contrast", "link-in-text-block"]}
TEXT = "I read the map. Two boats leave at dawn, and Quaighle waves!"
SERVE = (
    "import sys; from pathlib import Path; from drillgen.web.server import serve; "
    "words = Path(sys.argv[1]); "
    "serve(words, port=0, clients=words.parent / 'clients', open_browser=False)"
)
PASSAGE = next(p.title for p in load_passages() if p.key == "the-lost-oar")
OpenPage = Callable[..., Page]
# Milliseconds. What is waited for comes at once on an idle machine, and late on a busy one.
PATIENCE = 60_000
expect.set_options(timeout=PATIENCE)


def need(found: object, what: str) -> None:
    """Skip where something isn't installed, but never where everything must be."""
    if not found:
        message = f"{what} is not installed; run tools/check.sh"
        if os.environ.get("CI"):
            pytest.fail(message)
        pytest.skip(message)


@pytest.fixture(scope="module")
def browser(playwright: Playwright) -> Iterator[Browser]:
    path = find_chromium()
    need(path, "chromium")
    launched = playwright.chromium.launch(executable_path=path, args=FLAGS)
    yield launched
    launched.close()


@pytest.fixture(scope="module")
def axe() -> str:
    named = os.environ.get("DRILLGEN_AXE")
    path = Path(named) if named else ROOT / "node_modules" / "axe-core" / "axe.min.js"
    need(path.is_file(), "axe-core")
    return path.read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Path]]:
    """A server of its own: its address and its word list."""
    words = tmp_path_factory.mktemp("served") / "words.txt"
    process = subprocess.Popen(
        [sys.executable, "-u", "-c", SERVE, str(words)], stdout=subprocess.PIPE, text=True
    )
    assert process.stdout is not None
    found = re.search(r"http://\S+", process.stdout.readline())
    assert found
    yield found.group(), words
    process.terminate()
    process.communicate(timeout=20)


@pytest.fixture
def open_page(browser: Browser, served: tuple[str, Path]) -> Iterator[OpenPage]:
    """Opens the page in a fresh context; nothing may complain or leave the computer."""
    address, words = served
    words.unlink(missing_ok=True)
    contexts = []
    complaints: list[str] = []
    outside: list[str] = []

    def make(path: str = "", *, width: int = 1280, height: int = 860, **more: Any) -> Page:
        context = browser.new_context(viewport={"width": width, "height": height}, **more)
        contexts.append(context)
        context.set_default_timeout(PATIENCE)
        page = context.new_page()
        page.on(
            "console",
            lambda m: complaints.append(m.text) if m.type in ("error", "warning") else None,
        )
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.on(
            "request",
            lambda r: None if r.url.startswith(address) else outside.append(r.url),
        )
        page.goto(address + path)
        return page

    yield make
    for context in contexts:
        context.close()
    assert not outside
    # The browser itself notes answers that we expect to be errors.
    assert not [c for c in complaints if "status of 4" not in c]


def write(page: Page, text: str) -> None:
    """Type a text and wait until the preview shows it."""
    page.locator("#text").fill(text)
    wait_for(page, text)


def wait_for(page: Page, text: str) -> None:
    """Wait until the preview shows the text."""
    page.wait_for_function(
        "text => [...document.querySelectorAll('.sentences p.unseen')]"
        ".map(p => p.textContent).join(' ') === text",
        arg=" ".join(text.split()),
    )


def arrive(page: Page, address: str) -> None:
    """Wait until a page is there as a person sees it: loaded, and gone to its #part.

    That jump takes the focus away from whatever has it, a frame or two after the page has come.
    """
    page.wait_for_url(address)
    page.evaluate(
        "() => new Promise(go => requestAnimationFrame(() => requestAnimationFrame(go)))"
    )


def word(page: Page, original: str) -> Any:
    """The button of a word in the preview."""
    written = page.locator(".was", has_text=re.compile(rf"^{original}\W*$"))
    return page.locator("button.word").filter(has=written).first


def looks(page: Page, original: str) -> str:
    """How a word is shown now."""
    found = word(page, original).locator(".looks > span:visible")
    expect(found).to_have_count(1)
    return str(found.inner_text())


def settle(page: Page) -> None:
    """Wait until nothing moves: a picture is of the end, and fading text has less contrast.

    Asked from here, since a page without scripts has no timers; for a second at most.
    """
    for _ in range(25):
        page.wait_for_timeout(40)
        if not page.evaluate(
            """() => document.getAnimations().filter((a) => a.playState === "running"
               && a.effect.getComputedTiming().endTime < Infinity).length"""
        ):
            return


def shoot(page: Page, name: str, **more: Any) -> None:
    """Keep a picture."""
    SHOTS.mkdir(parents=True, exist_ok=True)
    settle(page)
    page.screenshot(path=SHOTS / f"{name}.png", **more)


def check_axe(page: Page, axe: str, scheme: str = "light") -> None:
    """No rule is broken. The script goes in by the debugger, so the policy stays on.

    The schemes differ in colours alone: of the dark one only its colours are judged.
    """
    settle(page)
    if not page.evaluate("() => 'axe' in window"):
        page.evaluate(axe)
    rules = AXE_COLOURS if scheme == "dark" else {"type": "tag", "values": AXE_TAGS}
    found = page.evaluate(
        "rules => axe.run(document, {runOnly: rules, resultTypes: ['violations']})", rules
    )
    assert len(found["passes"]) > (0 if scheme == "dark" else 15)
    broken = [
        (v["id"], v["help"], [(n["target"], n.get("failureSummary")) for n in v["nodes"]][:3])
        for v in found["violations"]
    ]
    assert not broken, json.dumps(broken, indent=1)


def test_paste_replaces_the_sample(open_page: OpenPage) -> None:
    page = open_page(permissions=["clipboard-read", "clipboard-write"])
    expect(page).to_have_title("drillgen")
    expect(page.locator("h3.title")).to_have_text("The Early Ferry")
    assert looks(page, "ferry") == "fee-ree"
    shoot(page, "fresh")
    page.evaluate("text => navigator.clipboard.writeText(text)", "Two boats leave at dawn.")
    page.locator("#text").click()
    page.keyboard.press("Control+V")
    expect(page.locator(".sentences > li")).to_have_count(1)
    assert page.locator("#text").input_value() == "Two boats leave at dawn."
    assert looks(page, "Two") == "tee"
    expect(page.locator("h3.title")).to_have_count(0)
    # Later pastes only add.
    page.locator("#text").press("End")
    page.keyboard.press("Control+V")
    expect(page.locator(".sentences > li")).to_have_count(2)
    expect(page.locator("#status")).to_contain_text("Preview updated: 2 sentences, 0 words")


def test_correct_a_word(open_page: OpenPage, served: tuple[str, Path]) -> None:
    page = open_page()
    write(page, TEXT)
    before = looks(page, "boats")
    word(page, "boats").click()
    dialog = page.get_by_role("dialog", name="boats")
    expect(dialog).to_be_visible()
    expect(page.locator("#word-title")).to_be_focused()
    shoot(page, "word")
    dialog.get_by_label("As it sounds").fill("B\\")
    dialog.get_by_label("As it sounds").press("Enter")
    expect(dialog.get_by_role("alert")).to_be_visible()
    expect(dialog.get_by_label("As it sounds")).to_be_focused()
    dialog.get_by_label("As it sounds").fill("BAH-tee")
    dialog.get_by_role("button", name="Keep").click()
    expect(dialog).to_be_hidden()
    assert before == "beets"
    assert looks(page, "boats") == "bee-tee"
    expect(word(page, "boats")).to_be_focused()
    expect(page.locator("#status")).to_contain_text("boats is kept as ")
    expect(page.locator("#toast")).to_contain_text("boats is kept as BAH-tee in every text")
    _, words = served
    assert words.read_text(encoding="utf-8").startswith("boats  B AA1 T IY0")
    page.get_by_role("button", name="Undo").click()
    expect(page.locator("#toast")).to_have_text("boats is as it was.")
    expect(word(page, "boats")).to_be_focused()
    assert looks(page, "boats") == "beets"
    assert words.read_text(encoding="utf-8") == ""
    word(page, "boats").click()
    dialog.get_by_label("As it sounds").fill("BAH-tee")
    dialog.get_by_role("button", name="Keep").click()
    expect(dialog).to_be_hidden()
    # A second visit knows it, and can forget it.
    again = open_page()
    write(again, TEXT)
    assert looks(again, "boats") == "bee-tee"
    word(again, "boats").click()
    again.get_by_role("button", name="Forget my pronunciation").click()
    expect(again.get_by_role("dialog")).to_be_hidden()
    assert looks(again, "boats") == "beets"
    # A reading of the dictionary can be chosen too.
    word(again, "read").click()
    again.get_by_role("dialog").get_by_text("REED", exact=True).click()
    again.get_by_role("button", name="Keep").click()
    expect(again.get_by_role("dialog")).to_be_hidden()
    assert words.read_text(encoding="utf-8") == "read  R IY1 D\n"


def test_a_homograph_is_set_place_by_place(open_page: OpenPage, served: tuple[str, Path]) -> None:
    page = open_page()
    write(page, "A close friend sat close to the door.")
    page.locator("button.word", has_text="close").first.click()
    dialog = page.get_by_role("dialog")
    expect(dialog.get_by_label("in this place")).to_be_checked()
    expect(dialog.get_by_role("link")).to_have_count(1)
    # The other place opens in the same dialog.
    first = dialog.locator(".context").inner_html()
    dialog.get_by_role("link").click()
    expect(dialog.locator(".context")).to_contain_text("friend sat close to the door")
    page.wait_for_function(
        "first => document.querySelector('#dialog .context').innerHTML !== first", arg=first
    )
    expect(dialog.get_by_role("link")).to_have_count(1)
    dialog.get_by_text("KLOHZ", exact=True).click()
    dialog.get_by_role("button", name="Keep").click()
    expect(dialog).to_be_hidden()
    expect(page.locator("#status")).to_contain_text("in this place")
    _, words = served
    line = words.read_text(encoding="utf-8")
    assert (
        line == "close (in a close friend sat close: close friend sat _ to the door)  K L OW1 Z\n"
    )


def test_doubtful_words_are_listed_with_a_way_there(open_page: OpenPage) -> None:
    page = open_page()
    write(page, TEXT)
    expect(page.locator(".doubts summary")).to_contain_text("to check")
    expect(page.locator(".doubts li .like").first).to_have_text(
        re.compile(r"^[A-Za-z]+(-[A-Za-z]+)+$")
    )
    page.locator(".doubts a", has_text="Quaighle").click()
    dialog = page.get_by_role("dialog", name="Quaighle")
    expect(dialog.locator(".reading").first).to_be_visible()
    # No offer stands there twice, and none says twice where it comes from.
    sounds = dialog.locator(".reading .ipa").all_inner_texts()
    assert sorted(set(sounds)) == sorted(sounds)
    for source in dialog.locator(".reading .source").all_inner_texts():
        assert source.count("guessed from the spelling") < 2
    page.keyboard.press("Escape")
    # On with the next one of the list.
    expect(page.locator(".doubts a", has_text="Quaighle")).to_be_focused()
    assert "to check" in str(word(page, "Quaighle").text_content())
    shoot(page, "doubts")


def test_slider_fades_the_swap(open_page: OpenPage) -> None:
    page = open_page()
    write(page, "The early ferry leaves the harbour.")
    asked: list[str] = []
    page.on("request", lambda r: asked.append(r.url))
    slider = page.get_by_role("slider", name="Swap")
    expect(slider).to_have_attribute("aria-valuetext", "Full swap")
    slider.focus()
    page.keyboard.press("Home")
    expect(slider).to_have_attribute("aria-valuetext", "Original words")
    seen = [page.locator(".looks > span:visible").all_inner_texts()]
    for _ in range(4):
        page.keyboard.press("ArrowRight")
        seen.append(page.locator(".looks > span:visible").all_inner_texts())
    assert seen[0] == ["The", "early", "ferry", "leaves", "the", "harbour."]
    assert seen[-1][1:4] == ["eer-lee", "fee-ree", "leaves"]
    original = seen[0]
    changed = [sum(a != b for a, b in zip(row, original, strict=True)) for row in seen]
    assert changed == sorted(changed)
    assert changed[0] == 0
    assert changed[-1] == 5  # "leaves" stays: it has the target already
    assert 0 < changed[1] < 6
    assert not asked, "the slider needs no answer from the server"
    # More steps: the slider stays at the full swap.
    page.locator("summary", has_text="Drill").click()
    page.get_by_label("Rungs", exact=True).fill("5")
    expect(slider).to_have_attribute("max", "6")
    expect(slider).to_have_value("6")
    assert page.locator(".version:visible .name").inner_text() == "Full swap"


def test_downloads(open_page: OpenPage) -> None:
    page = open_page()
    write(page, TEXT)
    page.locator("summary", has_text="Sheet").click()
    page.get_by_label("Title").fill("Harbour morning")
    page.get_by_label("Paper").select_option("letter")
    made = {}
    for name in ("PDF", "Markdown", "Practice page"):
        with page.expect_download() as waiting:
            page.get_by_role("button", name=name).click()
        made[waiting.value.suggested_filename] = Path(waiting.value.path()).read_bytes()
    assert set(made) == {
        "harbour-morning.pdf",
        "harbour-morning.md",
        "harbour-morning-page.html",
    }
    assert made["harbour-morning.pdf"].startswith(b"%PDF")
    reader = PdfReader(io.BytesIO(made["harbour-morning.pdf"]))
    assert len(reader.pages) >= 1
    assert "Harbour morning" in reader.pages[0].extract_text()
    assert float(reader.pages[0].mediabox.width) == 612
    assert made["harbour-morning.md"].decode().startswith("# Harbour morning")
    assert page.locator("#text").input_value() == TEXT


def test_options_change_the_preview(open_page: OpenPage) -> None:
    page = open_page()
    write(page, "Far boats.")
    page.locator("summary", has_text="Drill").click()
    page.get_by_label("Accent").select_option("non-rhotic")
    expect(word(page, "Far").locator(".looks > span:visible")).to_have_text("fee")
    page.get_by_label("Target vowel").select_option("EH")
    expect(page.locator(".version:visible")).to_contain_text("“e” as in “bed”")
    expect(page.locator("summary", has_text="Drill")).to_contain_text(
        "/e/ DRESS · British, non-rhotic"
    )
    page.get_by_label("Target vowel").select_option("OH")
    page.get_by_label("Accent").select_option("scottish")
    # It has no such vowel: the first target is chosen.
    expect(page.locator("summary", has_text="Drill")).to_contain_text("/i/ FLEECE · Scottish")
    page.get_by_label("Target vowel").select_option("UW")
    expect(page.locator(".version:visible")).to_contain_text("“oo” as in “")
    page.locator("summary", has_text="Sheet").click()
    page.get_by_label("Discreet").check()
    expect(page.locator(".version:visible .name")).to_have_text("Version A")
    page.get_by_label("Target pitch").fill("H")
    expect(page.get_by_role("alert")).to_contain_text("write G3 or 196.")
    page.get_by_label("Target pitch").fill("A3")
    expect(page.get_by_role("alert")).to_be_hidden()


def test_passages_prompts_and_files(open_page: OpenPage, tmp_path: Path) -> None:
    page = open_page()
    write(page, "My own text.")
    page.locator("summary", has_text="Passages").click()
    page.get_by_label("Passage", exact=True).select_option(label=PASSAGE)
    page.get_by_role("button", name="Use it (passage)").click()
    expect(page.locator("h3.title")).to_have_text(PASSAGE)
    page.get_by_role("button", name="Put my text back").click()
    expect(page.locator("#text")).to_have_value("My own text.")
    page.get_by_label("Prompt", exact=True).select_option(index=3)
    page.get_by_role("button", name="Use it (prompt)").click()
    expect(page.locator("#question")).to_be_visible()
    shoot(page, "prompt")
    tide = tmp_path / "tide.md"
    tide.write_text("# High water\n\nThe tide turns.", encoding="utf-8")
    with page.expect_file_chooser() as chooser:
        page.get_by_role("button", name="Open a file").click()
    chooser.value.set_files(tide)
    expect(page.locator(".sentences > li")).to_have_count(1)
    assert looks(page, "tide") == "↘teed"
    expect(page.locator("h3.title")).to_have_text("High water")
    drop = """([name, bytes]) => {
        const data = new DataTransfer();
        const content = typeof bytes === "number" ? "a".repeat(bytes) : new Uint8Array(bytes);
        data.items.add(new File([content], name));
        document.body.dispatchEvent(
            new DragEvent("drop", {dataTransfer: data, bubbles: true, cancelable: true}));
    }"""
    page.evaluate(drop, ["gull.txt", list(b"A gull calls.")])
    expect(page.locator(".sentences .was").first).to_contain_text("A")
    page.evaluate(drop, ["gull.png", list(b"\x89PNG\r\n")])
    expect(page.get_by_role("alert")).to_contain_text("this is a picture")
    page.evaluate(drop, ["gull.md", list(b"# Gulls\n\nA *gull* calls [us](there.html).")])
    expect(page.locator("#text")).to_have_value("# Gulls\n\nA gull calls us.")
    page.evaluate(drop, ["old.txt", list("Sunday at the café, late.".encode("cp1252"))])
    expect(page.locator("#text")).to_have_value("Sunday at the café, late.")
    page.evaluate(drop, ["big.txt", 16_000_001])
    expect(page.get_by_role("alert")).to_contain_text("larger than 16 MB")
    story = WordDocument()
    story.add_heading("A story", 0)
    story.add_paragraph("The gull sleeps.")
    story.save(str(tmp_path / "story.docx"))
    with page.expect_file_chooser() as chooser:
        page.get_by_role("button", name="Open a file").click()
    chooser.value.set_files(tmp_path / "story.docx")
    expect(page.locator("#text")).to_have_value("# A story\n\nThe gull sleeps.")


def test_a_text_stays_until_it_is_forgotten(open_page: OpenPage) -> None:
    page = open_page()
    expect(page.locator("#kept")).to_be_hidden()
    write(page, TEXT)
    page.locator("summary", has_text="Sheet").click()
    page.get_by_label("Paper").select_option("letter")
    expect(page.locator("#kept")).to_be_visible()
    page.reload()
    wait_for(page, TEXT)
    assert page.locator("#text").input_value() == TEXT
    expect(page.locator("#size")).to_have_value("letter")
    page.get_by_role("slider", name="Swap").press("ArrowLeft")
    page.reload()
    wait_for(page, TEXT)
    expect(page.get_by_role("slider", name="Swap")).to_have_attribute(
        "aria-valuetext", "Partial swap"
    )
    other = page.context.new_page()  # A tab that was closed and opened again.
    other.goto(page.url)
    wait_for(other, TEXT)
    # Each tab has its own text from then on.
    write(other, "The tide turns.")
    page.reload()
    wait_for(page, TEXT)
    other.get_by_role("button", name="Clear").click()
    page.reload()
    wait_for(page, TEXT)
    other.get_by_role("button", name="Put my text back").click()
    other.get_by_role("button", name="Forget it").click()
    expect(other.locator("#text")).to_have_value("")
    assert other.evaluate("localStorage.length + sessionStorage.length") == 0
    expect(other.locator("#toast")).to_have_text("Your text is forgotten.")
    other.reload()
    assert "ferry" in other.locator("#text").input_value()
    # With discreet wording nothing is kept, and what was kept goes.
    write(other, TEXT)
    other.locator("summary", has_text="Sheet").click()
    other.get_by_label("Discreet").check()
    expect(other.locator("#kept")).to_be_hidden()
    assert other.evaluate("localStorage.length + sessionStorage.length") == 0
    # The other tab hears of it a moment later.
    page.wait_for_function("() => localStorage.length + sessionStorage.length === 0")


def test_what_is_wrong_is_said_beside_the_form(open_page: OpenPage) -> None:
    page = open_page()
    home = page.url
    page.goto(f"{home}clients")
    page.get_by_label("Alias").fill("Robin Smith")
    page.get_by_label("Target pitch").fill("A3")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("alert")).to_contain_text("can't be an alias")
    expect(page.get_by_label("Target pitch")).to_have_value("A3")
    page.get_by_label("Alias").fill("robin")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("heading", name="robin")).to_be_visible()
    expect(page.get_by_role("alert")).to_have_count(0)
    expect(page.locator(".notice")).to_have_text("robin is saved.")
    expect(page.locator(".notice")).to_be_focused()
    # The page that came works as the one before.
    page.get_by_text("Delete", exact=True).first.click()
    page.get_by_role("button", name="Delete").click()
    expect(page.get_by_role("alert")).to_contain_text("tick")
    page.get_by_label("Yes, delete robin").check()
    page.get_by_role("button", name="Delete").click()
    expect(page.locator(".notice")).to_contain_text("robin is deleted")
    page.goto(f"{home}plan")
    page.get_by_label("Weeks", exact=True).fill("2")
    page.get_by_text("Which days").click()
    page.get_by_label("Days without a session").fill("Monday")
    page.get_by_role("button", name="PDF", exact=True).click()
    expect(page.get_by_role("alert")).to_contain_text("'Monday' is no date")
    expect(page.get_by_label("Weeks", exact=True)).to_have_value("2")
    page.get_by_label("Days without a session").fill("")
    with page.expect_download() as saved:
        page.get_by_role("button", name="Calendar").click()
    assert saved.value.suggested_filename == "plan.ics"
    assert saved.value.path().read_bytes().startswith(b"BEGIN:VCALENDAR")
    expect(page.get_by_role("status")).to_have_text("plan.ics is ready.")
    expect(page.get_by_role("alert")).to_have_count(0)


def make_client(page: Page, home: str, alias: str, *, pitch: str, discreet: bool) -> None:
    page.goto(f"{home}clients")
    page.get_by_label("Alias").fill(alias)
    page.get_by_label("Target pitch").fill(pitch)
    page.get_by_label("Discreet").set_checked(discreet)
    page.get_by_role("button", name="Save").click()
    expect(page.locator(".notice")).to_have_text(f"{alias} is saved.")


@pytest.mark.parametrize("path", ["", "ladder"])
def test_settings_of_one_client_never_stay_for_another(
    open_page: OpenPage, served: tuple[str, Path], path: str
) -> None:
    page = open_page()
    home = page.url
    make_client(page, home, "heron", pitch="B3", discreet=False)
    make_client(page, home, "tern", pitch="A3", discreet=True)
    page.goto(home + path)
    page.locator("summary", has_text="Sheet").click()
    pitch, discreet, client = (
        page.locator(f"#{name}") for name in ("pitch", "discreet", "client")
    )
    client.select_option("tern")
    expect(discreet).to_be_checked()
    expect(pitch).to_have_value("A3")
    client.select_option("heron")
    expect(discreet).not_to_be_checked()
    expect(pitch).to_have_value("B3")
    # What was ticked by hand stays.
    page.get_by_label("Large print").check()
    client.select_option("")
    expect(pitch).to_have_value("G3")
    expect(page.get_by_label("Large print")).to_be_checked()
    shutil.rmtree(served[1].parent / "clients")


def test_a_tab_that_can_t_be_filled_gives_back_why(open_page: OpenPage) -> None:
    page = open_page()
    write(page, TEXT)
    page.locator("summary", has_text="Sheet").click()
    page.get_by_label("Target pitch").fill("H9")
    expect(page.get_by_role("alert")).to_contain_text("write G3 or 196.")
    with page.expect_popup() as opened:
        page.get_by_role("button", name="Practise now").click()
    if not opened.value.is_closed():
        opened.value.wait_for_event("close")
    expect(page.get_by_role("alert")).to_contain_text("write G3 or 196.")
    page.get_by_label("Target pitch").fill("A3")
    with page.expect_popup() as opened:
        page.get_by_role("button", name="Practise now").click()
    expect(opened.value.get_by_role("button", name="Start")).to_be_visible()


def test_without_a_text_no_file_is_asked_for(open_page: OpenPage) -> None:
    page = open_page()
    page.locator("#text").fill(" ")
    address = page.url
    for name in ("PDF", "Practise now"):
        page.get_by_role("button", name=name, exact=True).click()
        expect(page.locator("#toast")).to_contain_text("There is no text yet")
        expect(page.locator("#text")).to_be_focused()
    assert page.url == address
    assert len(page.context.pages) == 1


def test_a_long_text_begins_to_show_at_once(open_page: OpenPage) -> None:
    page = open_page()
    asked: list[str] = []
    page.on("request", lambda r: asked.append(r.post_data or "") if "/preview" in r.url else None)
    text = " ".join(f"The tide turns at pier {n}." for n in range(1, 320))
    page.locator("#text").fill(text)
    expect(page.locator(".sentences > li").first).to_contain_text("The tide turns")
    expect(page.locator(".sentences > li")).to_have_count(319 - 69)
    assert ["first=1" in body for body in asked] == [True, False]
    expect(page.locator("#working")).to_be_hidden()


def test_too_much_text_is_refused_and_kept(open_page: OpenPage) -> None:
    page = open_page()
    page.locator("#text").fill("tide " * 20_001)
    expect(page.get_by_role("alert")).to_contain_text("20,001 words")
    assert page.locator("#text").input_value().startswith("tide tide")
    write(page, TEXT)
    expect(page.get_by_role("alert")).to_be_hidden()


def test_keyboard_only(open_page: OpenPage) -> None:
    page = open_page()
    page.keyboard.press("Tab")
    expect(page.locator(".skip")).to_be_focused()
    for _ in page.get_by_role("navigation").get_by_role("link").all():
        page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    expect(page.get_by_label("Text", exact=True)).to_be_focused()
    page.keyboard.press("Control+A")
    page.keyboard.type(TEXT)
    wait_for(page, TEXT)
    page.locator(".skip").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#drill")).to_be_focused()
    page.keyboard.press("Tab")
    expect(page.get_by_role("slider")).to_be_focused()
    # What has the focus shows it.
    outline = "e => getComputedStyle(e).outlineStyle + ' ' + getComputedStyle(e).outlineWidth"
    assert page.get_by_role("slider").evaluate(outline) == "solid 3px"
    for _ in range(3):
        page.keyboard.press("Tab")
    expect(page.get_by_role("button", name="Practice page")).to_be_focused()
    stops = 0
    while not page.evaluate("document.activeElement.matches('button.word')"):
        page.keyboard.press("Tab")
        stops += 1
        assert stops < 8
    expect(word(page, "I")).to_be_focused()
    page.keyboard.press("ArrowRight")
    expect(word(page, "read")).to_be_focused()
    assert word(page, "read").evaluate(outline) == "solid 3px"
    page.keyboard.press("End")
    expect(word(page, "map")).to_be_focused()
    page.keyboard.press("Home")
    page.keyboard.press("ArrowDown")
    expect(word(page, "Two")).to_be_focused()
    page.keyboard.press("ArrowUp")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    expect(page.get_by_role("dialog", name="read")).to_be_visible()
    for _ in range(12):
        page.keyboard.press("Tab")
        assert page.evaluate(
            "document.activeElement === document.body || "
            "document.getElementById('dialog').contains(document.activeElement)"
        ), "the focus leaves the dialog"
    page.keyboard.press("Escape")
    expect(page.get_by_role("dialog")).to_be_hidden()
    expect(word(page, "read")).to_be_focused()
    # One stop for all words: Tab leaves them.
    page.keyboard.press("Shift+Tab")
    assert not page.evaluate("document.activeElement.matches('button.word')")


def test_closed_dialog_does_not_take_the_focus_back(open_page: OpenPage) -> None:
    """The close event comes late; a key pressed meanwhile has moved the focus already."""
    page = open_page()
    write(page, TEXT)
    word(page, "read").click()
    expect(page.get_by_role("dialog", name="read")).to_be_visible()
    page.evaluate(
        "async () => { const dialog = document.getElementById('dialog');"
        " const closed = new Promise(go => dialog.addEventListener('close', go));"
        " dialog.close();"
        " document.querySelector('input[type=range]').focus();"
        " await closed; }"
    )
    expect(page.get_by_role("slider")).to_be_focused()


def test_phone_width(open_page: OpenPage, axe: str) -> None:
    page = open_page(width=320, height=700, has_touch=True, is_mobile=True)
    long = "Incomprehensibilities notwithstanding, an uncharacteristically long word fits."
    link = "https://www.example.org/a-long-way/that-goes-on/and-on?id=42&ref=mail&x=1234567890"
    write(page, f"{TEXT} {long} It is at {link} now.")
    for summary in page.locator(".write summary").all():
        summary.click()
    # WCAG 1.4.10, reflow: no scrolling sideways at 320 px.
    assert page.evaluate("document.documentElement.scrollWidth") == 320
    boxes = page.evaluate(
        """() => [...document.querySelectorAll(
            "button, summary, select, input, textarea, .doubts a")]
            .filter(e => e.checkVisibility() && !e.matches('.unseen'))
            .map(e => [e.outerHTML.slice(0, 80), e.getBoundingClientRect()])
            .filter(([, r]) => r.width < 24 || r.height < 24)
            .map(([html, r]) => `${html} ${r.width}x${r.height}`)"""
    )
    # WCAG 2.5.8, target size: 24 px. Boxes to tick are smaller, but their labels aren't.
    assert not [box for box in boxes if 'type="checkbox"' not in box], boxes
    check_axe(page, axe)
    shoot(page, "phone", full_page=True)
    word(page, "read").tap()
    expect(page.get_by_role("dialog")).to_be_visible()
    assert page.evaluate(
        "() => { const r = document.getElementById('dialog').getBoundingClientRect();"
        " return r.left >= 0 && r.right <= innerWidth; }"
    )
    check_axe(page, axe)
    shoot(page, "phone-word")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing(open_page: OpenPage, axe: str, scheme: str) -> None:
    page = open_page(color_scheme=scheme)
    check_axe(page, axe, scheme)
    write(page, TEXT)
    for summary in page.locator(".write summary").all():
        summary.click()
    page.get_by_role("slider").focus()
    page.keyboard.press("Home")
    page.keyboard.press("ArrowRight")
    check_axe(page, axe, scheme)
    shoot(page, f"options-{scheme}", full_page=True)
    dark = page.evaluate("getComputedStyle(document.body).backgroundColor")
    assert (dark == "rgb(16, 23, 27)") == (scheme == "dark")
    word(page, "Quaighle").click()
    page.get_by_label("As it sounds").fill("7")
    page.get_by_role("button", name="Keep").click()
    expect(page.get_by_role("dialog").get_by_role("alert")).to_be_visible()
    check_axe(page, axe, scheme)
    shoot(page, f"word-wrong-{scheme}")


def test_a_name_is_heard_before_it_is_kept(open_page: OpenPage) -> None:
    page = open_page()
    write(page, TEXT)
    word(page, "Quaighle").click()
    dialog = page.get_by_role("dialog")
    hear = dialog.get_by_role("button", name="Hear it")
    for said, status in (("", 200), ("KWAY-gul", 200), ("[x", 422)):
        if said:
            dialog.get_by_label("As it sounds").fill(said)
        with page.expect_response("**/hear") as answer:
            hear.click()
        assert answer.value.status == status
    expect(dialog.get_by_role("alert")).to_contain_text("IPA")
    dialog.get_by_label("As it sounds").fill("KWAY-gul")
    with page.expect_response("**/hear"):
        hear.click()
    expect(dialog.get_by_role("alert")).to_be_hidden()


@pytest.mark.parametrize("path", ["", "prompts?topic=food", "ladder", "plan", "find", "clients"])
def test_desk_pages(open_page: OpenPage, axe: str, path: str) -> None:
    page = open_page(path, width=360, height=640)
    for details in page.locator("details").all():
        details.locator("summary").click()
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    check_axe(page, axe)
    # Text twice as large (WCAG 2.2, 1.4.4).
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    assert page.evaluate("document.documentElement.scrollWidth") <= 360


def test_a_log_comes_back_as_a_spreadsheet_saved_it(
    open_page: OpenPage, served: tuple[str, Path], tmp_path: Path
) -> None:
    """Windows' own encoding and all; the list of clients then shows the day, uncut."""
    folder = served[1].parent / "clients"
    folder.mkdir(exist_ok=True)
    (folder / "oystercatcher.toml").write_text(
        'unit = "sentence"\npitch = "A3"\ndiscreet = true\n', encoding="utf-8"
    )
    head = "date;session;unit;version;rung;minutes;felt;heard;pitch;inflection;tension;note\r\n"
    row = "2030-09-27;1;sentence;full;;15;x;x;x;;0;\u00a35 \u2013 caf\u00e9\r\n"
    (tmp_path / "log.csv").write_bytes((head + row).encode("cp1252"))
    try:
        page = open_page("plan")
        page.get_by_text("A filled log", exact=True).click()
        page.locator("#log-file").set_input_files(tmp_path / "log.csv")
        expect(page.locator("#log")).to_have_value(re.compile("\u00a35 \u2013 caf\u00e9"))
        page = open_page("clients?alias=oystercatcher", width=390, height=844)
        page.locator("summary", has_text="Sessions").click()
        page.locator("#log-file").set_input_files(tmp_path / "log.csv")
        expect(page.locator("#log")).to_have_value(re.compile("2030-09-27"))
        page.get_by_role("button", name="Take it in").click()
        expect(page.get_by_role("status").first).to_contain_text("1 new session")
        for width in (390, 1000, 1280):
            page.set_viewport_size({"width": width, "height": 844})
            cell = page.get_by_role("cell", name="27\u00a0Sep 2030")
            box, table = cell.bounding_box(), page.locator(".wide").bounding_box()
            assert box is not None
            assert table is not None
            assert box["x"] + box["width"] <= table["x"] + table["width"] + 1, width
    finally:
        shutil.rmtree(folder)


def test_a_prompt_sheet_by_keyboard(open_page: OpenPage) -> None:
    page = open_page("prompts")
    page.get_by_role("link", name="Food", exact=True).press("Enter")
    arrive(page, "**/prompts?topic=food*#chosen")
    # The jump to the heading is where the keyboard goes on.
    page.keyboard.press("Tab")
    expect(page.get_by_role("checkbox").first).to_be_focused()
    page.keyboard.press("Space")
    expect(page.locator("#ticked")).to_have_text("1")
    with page.expect_popup() as opened:
        page.get_by_role("button", name="Look at it").focus()
        page.keyboard.press("Enter")
    look = opened.value
    expect(look.get_by_role("heading", level=1)).to_be_visible()
    assert look.evaluate("getComputedStyle(document.body).fontFamily") != ""
    page.get_by_role("button", name="Practise this example").first.click()
    expect(page.locator("#question")).to_be_visible()
    expect(page.get_by_role("link", name="Text", exact=True)).to_have_attribute(
        "aria-current", "page"
    )


def test_what_is_ticked_before_the_script_runs_counts(open_page: OpenPage) -> None:
    page = open_page()
    held: list[Route] = []
    page.route("**/desk.js", lambda route: held.append(route))
    page.goto(f"{page.url}prompts?topic=food", wait_until="commit")
    while not held:
        page.wait_for_timeout(10)
    page.get_by_role("checkbox").first.check()
    page.get_by_role("checkbox").nth(1).check()
    expect(page.locator("#ticked")).to_be_empty()
    held.pop().continue_()
    expect(page.locator("#ticked")).to_have_text("2")


def test_an_own_answer_becomes_a_practice_page(open_page: OpenPage, axe: str) -> None:
    page = open_page("prompts?topic=food&step=1", width=360, height=640)
    page.get_by_role("link", name="Your own answer").first.click()
    arrive(page, "**/own?*")
    question = page.get_by_role("heading", level=1).inner_text()
    check_axe(page, axe)
    shoot(page, "own-answer")
    page.get_by_label("Your own answer").fill("Toast. My mother made it.")
    with page.expect_popup() as opened:
        page.get_by_role("button", name="Practise it").click()
    practice = opened.value
    expect(practice.get_by_role("heading", level=1)).to_have_text(question)
    practice.get_by_role("button", name="Start").click()
    practice.get_by_role("button", name="Next").click()
    expect(practice.locator("#stage .words")).to_contain_text("teest")
    shoot(practice, "own-answer-practice")
    # Back from the drill is no form to be sent again.
    page.get_by_role("button", name="See the drill").click()
    wait_for(page, "Toast. My mother made it.")
    expect(page.locator("#kept")).to_be_visible()
    page.reload()
    wait_for(page, "Toast. My mother made it.")
    page.go_back()
    expect(page.get_by_role("heading", level=1)).to_have_text(question)


def test_discreet_stays_discreet_from_page_to_page(open_page: OpenPage) -> None:
    page = open_page()
    page.locator("summary", has_text="Sheet").click()
    page.get_by_label("Discreet").check()
    for name, path in (("Ladder", "ladder"), ("Plan", "plan"), ("Text", "")):
        page.get_by_role("link", name=name, exact=True).click()
        arrive(page, f"**/{path}")
        page.locator("summary", has_text="Sheet").click()
        expect(page.get_by_label("Discreet")).to_be_checked()
    # What another tab keeps is not for a discreet one.
    other = page.context.new_page()
    other.goto(page.url)
    write(other, TEXT)
    page.reload()
    expect(page.locator("#text")).not_to_have_value(TEXT)
    page.locator("summary", has_text="Sheet").click()
    page.get_by_label("Discreet").uncheck()
    other.get_by_role("button", name="Forget it").click()
    page.get_by_role("link", name="Ladder").click()
    arrive(page, "**/ladder")
    page.locator("summary", has_text="Sheet").click()
    expect(page.get_by_label("Discreet")).not_to_be_checked()
    page.wait_for_function("() => [null, 'null'].includes(localStorage.getItem('drillgen text'))")


def test_a_take_is_checked_from_the_text(open_page: OpenPage, axe: str, tmp_path: Path) -> None:
    page = open_page()
    write(page, TEXT)
    page.locator("summary", has_text="Sheet").click()
    page.get_by_role("button", name="Check a take").click()
    arrive(page, "**/check")
    expect(page.get_by_role("heading", level=1)).to_have_text("Check a take")
    expect(page.locator("#main")).to_contain_text(TEXT)
    check_axe(page, axe)
    take = tmp_path / "take.wav"
    take.write_bytes(b"RIFF no sound")
    chosen = page.get_by_label("Take", exact=True)
    chosen.set_input_files(take)
    page.get_by_label("How it was read").select_option("carry-over")
    # What is wrong stands in the form, which stays as it was filled in.
    for button in ("Look at it", "PDF"):
        page.get_by_role("button", name=button).click()
        expect(page.get_by_role("alert")).to_contain_text("no sound that can be read")
        expect(page.get_by_label("How it was read")).to_have_value("carry-over")
        assert chosen.evaluate("field => field.files[0].name") == "take.wav"
    page.wait_for_timeout(100)
    assert len(page.context.pages) == 1


def test_lines_are_recorded_by_keyboard(open_page: OpenPage, axe: str) -> None:
    page = open_page(permissions=["microphone"])
    page.add_init_script(COUNT_RECORDED)
    write(page, "Mara sings. Two boats leave.")
    page.locator("summary", has_text="Sheet").click()
    page.get_by_role("button", name="Record the lines").click()
    arrive(page, "**/record")
    expect(page.locator("#said")).to_have_text("mee-ree seengz.")
    page.keyboard.press("Space")
    expect(page.get_by_role("button", name="Stop")).to_be_visible()
    # The made microphone beeps once a second.
    page.wait_for_function(TWO_BEEPS)
    page.keyboard.press("Space")
    expect(page.locator("#total")).to_have_text("1 of 2 recorded")
    expect(page.locator("#advice")).not_to_be_empty()
    page.keyboard.press("Enter")
    expect(page.locator("#said")).to_have_text("tee beets leave.")
    check_axe(page, axe)
    with page.expect_download() as waiting:
        page.get_by_role("button", name="Practice page").click()
    made = Path(waiting.value.path()).read_text(encoding="utf-8")
    assert "your teacher says a line" in made
    page.set_viewport_size({"width": 360, "height": 560})
    assert page.evaluate("document.documentElement.scrollWidth") <= 360


def test_axe_would_find_something(open_page: OpenPage, axe: str) -> None:
    page = open_page()
    page.evaluate("document.querySelector('label[for=text]').remove()")
    with pytest.raises(AssertionError, match="label"):
        check_axe(page, axe)


def test_without_script(open_page: OpenPage, served: tuple[str, Path]) -> None:
    page = open_page(java_script_enabled=False)
    page.locator("#text").fill(TEXT)
    page.get_by_role("button", name="Show the drill").click()
    assert looks(page, "boats") == "beets"
    expect(page.get_by_role("button", name="Open a file")).to_be_hidden()
    word(page, "boats").click()
    expect(page.get_by_role("heading", name="boats")).to_be_visible()
    shoot(page, "no-script-word", full_page=True)
    page.get_by_label("Another way").check()
    page.get_by_label("As it sounds").fill("BAH-tee")
    page.get_by_role("button", name="Keep").click()
    expect(page.locator(".notice")).to_contain_text("boats is kept as ")
    assert looks(page, "boats") == "bee-tee"
    assert served[1].read_text(encoding="utf-8").startswith("boats  B AA1")
    page.locator("summary", has_text="Passages").click()
    page.get_by_label("Passage", exact=True).select_option(label=PASSAGE)
    page.get_by_role("button", name="Use it (passage)").click()
    expect(page.locator("h3.title")).to_have_text(PASSAGE)
    with page.expect_download() as waiting:
        page.get_by_role("button", name="PDF").click()
    assert Path(waiting.value.path()).read_bytes().startswith(b"%PDF")


def test_error_page(open_page: OpenPage, axe: str) -> None:
    page = open_page("nowhere")
    expect(page.get_by_role("heading", name="Not possible")).to_be_visible()
    check_axe(page, axe)


def test_screen_reader_hears_sentences_and_words(open_page: OpenPage) -> None:
    page = open_page()
    write(page, "The tide turns. Two boats leave.")
    tree = page.locator(".sentences").aria_snapshot()
    assert "The tide turns." in tree
    assert 'group "Words of sentence 2"' in tree
    assert 'button "Two tee"' in tree
    assert "end of a sentence: breathe, fall" in tree
    page.get_by_role("slider").focus()
    page.keyboard.press("Home")
    assert 'button "Two"' in page.locator(".sentences").aria_snapshot()
    landmarks = {"banner", "main", "contentinfo"}
    whole = page.locator("body").aria_snapshot()
    assert all(f"- {name}" in whole for name in landmarks)


def test_reduced_motion(open_page: OpenPage) -> None:
    moving = open_page()
    still = open_page(reduced_motion="reduce")
    name = "getComputedStyle(document.querySelector('.looks > .v2')).animationName"
    assert moving.evaluate(name) == "come-up"
    assert still.evaluate(name) == "none"


def test_hostile_text_is_only_text(open_page: OpenPage) -> None:
    page = open_page()
    hostile = "Boat <img src=x onerror=\"document.title='gone'\"> <script>x</script> & &lt;b&gt;"
    write(page, hostile)
    assert page.locator("#preview img, #preview script").count() == 0
    assert "<img src=x" in page.locator(".sentences p.unseen").first.inner_text()
    expect(page).to_have_title("drillgen")
