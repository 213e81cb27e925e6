"""The static pages of all sheets in a real browser: quiet, judged by axe-core, printable."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page
from pypdf import PdfReader

from drillgen.cli import run

pytestmark = pytest.mark.browser

Open = Callable[..., Page]

COMMANDS = {
    "sheet": ["sheet", "--text", "Who buys the first loaf? Ask the zquorle.", "--ipa"],
    "large": [
        *("sheet", "--large", "--text"),
        "Write to somebody.of.that.name@harbour.example.org, or see "
        "https://www.example.org/a-long-way/that-goes-on?id=42&x=1234567890 for +44 20 7946 0018.",
    ],
    "prompts": ["prompts", "--count", "1", "--discreet"],
    "ladder": ["ladder", "--from", "syllable", "--to", "phrase", "--count", "3"],
    "plan": ["plan", "--weeks", "1", "--log", "log.csv"],
}
LOG = """\
date,session,unit,version,rung,minutes,felt,heard,pitch,inflection,tension,note
2026-11-01,1,word,full,,15,yes,yes,no,yes,strong,
2026-11-02,2,word,full,,15,yes,yes,no,yes,none,
"""


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("name", COMMANDS)
def test_a_sheet_as_a_page(
    name: str,
    scheme: str,
    open_page: Open,
    axe: str,
    shots: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """axe-core with its rules for WCAG 2.0 to 2.2, levels A and AA, and best practice."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "log.csv").write_text(LOG, encoding="utf-8")
    assert run([*COMMANDS[name], "-o", "out.html"]) == 0
    page = open_page(tmp_path / "out.html", color_scheme=scheme)
    page.screenshot(path=shots / f"sheet-{name}-{scheme}.png", full_page=True)
    # Nothing is wider than a phone; what is scrolls in a frame of its own.
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    page.evaluate(axe)
    # The schemes differ in colours alone.
    colours = {"runOnly": ["color-contrast", "link-in-text-block"]} if scheme == "dark" else {}
    result = page.evaluate(
        "rules => axe.run(document, rules)", {"resultTypes": ["violations"], **colours}
    )
    assert result["passes"]
    found = result["violations"]
    problems = [(r["id"], r["impact"], [n["html"] for n in r["nodes"]][:3]) for r in found]
    assert problems == [], json.dumps(problems, indent=1)
    page.pdf(path=tmp_path / "out.pdf", prefer_css_page_size=True)
    paper = PdfReader(tmp_path / "out.pdf").pages[0].mediabox
    # ISO 216: A4 is 210 mm by 297 mm.
    assert float(paper.width) == pytest.approx(210 / 25.4 * 72, abs=1)
    assert float(paper.height) == pytest.approx(297 / 25.4 * 72, abs=1)
