"""A real Chromium, and pages opened in it that must stay quiet: no request leaves,
nothing is complained about on the console, no error is thrown.

tools/find_chromium.py says where Chromium is looked for; axe-core (npm) at $DRILLGEN_AXE,
then in node_modules. Nothing is skipped without them: leave these tests out with
-m "not browser".
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from browser_scope import browser_scope
from find_chromium import find_chromium
from playwright.sync_api import Browser, Page, Playwright, expect

sys.path.insert(0, str(Path(__file__).parents[1] / "render"))

from sheet_factory import PASSAGE, make_drill

from drillgen.core.pitch import parse_pitch
from drillgen.core.values import Worksheet
from drillgen.sheets.practice_page import make_practice_page
from drillgen.write.page import render_page

ROOT = Path(__file__).parents[2]
OUT = ROOT / "out" / "page"
FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--autoplay-policy=user-gesture-required",
    "--use-fake-ui-for-media-stream",
    "--use-fake-device-for-media-stream",
    # An address that is no localhost: browsers hold it for insecure.
    "--host-resolver-rules=MAP page.test 127.0.0.1",
)

# Milliseconds. What is waited for comes at once on an idle machine, and late on a busy one.
PATIENCE = 60_000
expect.set_options(timeout=PATIENCE)

Launch = Callable[..., Browser]
Open = Callable[..., Page]


@pytest.fixture(scope="session")
def harbour() -> Worksheet:
    """Two sentences fewer than the sheet's passage, with three rungs."""
    text = "\n\n".join(part.split(". ")[0] + "." for part in PASSAGE.split("\n\n"))
    return Worksheet(
        (make_drill(text, rungs=2),), "Morning at the harbour", parse_pitch("G3"), repetitions=3
    )


@pytest.fixture(scope="session")
def page_file(harbour: Worksheet, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("page") / "practice.html"
    path.write_text(render_page(make_practice_page(harbour)), encoding="utf-8")
    return path


@pytest.fixture(scope=browser_scope)
def launch(playwright: Playwright) -> Launch:
    def start(*flags: str) -> Browser:
        return playwright.chromium.launch(executable_path=find_chromium(), args=[*FLAGS, *flags])

    return start


@pytest.fixture(scope=browser_scope)
def browser(launch: Launch) -> Iterator[Browser]:
    started = launch()
    yield started
    started.close()


@contextmanager
def quiet_page(browser: Browser, path: Path | str, **options: Any) -> Iterator[Page]:
    """A page that fails the test where it asks for anything or complains.

    With `clock=True` its time is run by the test.
    """
    complaints: list[str] = []
    init, clock = options.pop("init", ""), options.pop("clock", False)
    options.setdefault("viewport", {"width": 390, "height": 844})
    context = browser.new_context(**options)
    try:
        if init:
            context.add_init_script(init)
        page = context.new_page()
        if clock:
            page.clock.install(time=0)
        page.set_default_timeout(PATIENCE)
        address = path if isinstance(path, str) else path.as_uri()

        def note_request(url: str) -> None:
            # A log that is saved has an address in this page's memory.
            if url.split("#")[0] != address and not url.startswith(("data:", "blob:")):
                complaints.append(f"request {url}")

        page.on("request", lambda request: note_request(request.url))
        page.on("console", lambda message: complaints.append(message.text))
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.on("dialog", lambda dialog: complaints.append(f"dialog {dialog.message}"))
        page.goto(address)
        yield page
        state = context.storage_state()
        stored = page.evaluate("() => { try { return localStorage.length } catch { return 0 } }")
        assert state["cookies"] == []
        assert stored == 0
        assert complaints == []
    finally:
        context.close()


@pytest.fixture
def open_page(browser: Browser, page_file: Path) -> Iterator[Open]:
    """Opens a page on a phone; all its complaints fail the test at the end."""
    opened = []

    def start(path: Path | str = page_file, **options: Any) -> Page:
        manager = quiet_page(browser, path, **options)
        page = manager.__enter__()
        opened.append(manager)
        return page

    yield start
    for manager in opened:
        manager.__exit__(None, None, None)


@pytest.fixture(scope="session")
def axe() -> str:
    """The source of axe-core."""
    named = os.environ.get("DRILLGEN_AXE")
    path = Path(named) if named else ROOT / "node_modules" / "axe-core" / "axe.min.js"
    if not path.is_file():
        pytest.fail("axe-core is missing: npm install --no-save axe-core, or set DRILLGEN_AXE")
    return path.read_text(encoding="utf-8")


@pytest.fixture(scope="session")
def shots() -> Path:
    """Where screenshots go; the folder is ignored by git and kept by CI."""
    OUT.mkdir(parents=True, exist_ok=True)
    return OUT
