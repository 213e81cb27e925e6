"""Make the pictures of README and docs from the present version.

Usage: python tools/make_pictures.py [--out docs]

docs/sheet.png: the first two pages of the default sheet. docs/page.png: a practice page as a
phone shows it, at its beginning and at work. Needs pdftoppm (poppler-utils), Pillow,
Playwright and Chromium, which tools/check.sh installs; Pillow comes with reportlab.
"""

from __future__ import annotations

import argparse
import io
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

from drillgen.cli import run

if TYPE_CHECKING:
    from PIL.Image import Image

ROOT: Final = Path(__file__).resolve().parents[1]
COLOURS: Final = 32
GAP: Final = 3
"""Pixels between and around the pictures that stand side by side."""


def join(images: Sequence[Image]) -> Image:
    """Pictures of one height, side by side on grey, with few colours."""
    from PIL import Image

    width = sum(image.width + GAP for image in images) + GAP
    whole = Image.new("RGB", (width, max(i.height for i in images) + 2 * GAP), "gray")
    at = GAP
    for image in images:
        whole.paste(image.convert("RGB"), (at, GAP))
        at += image.width + GAP
    return whole.quantize(COLOURS)


def draw_sheet(folder: Path) -> Image:
    """The first two pages of the sheet that `drillgen sheet` makes."""
    from PIL import Image

    sheet = folder / "sheet.pdf"
    if run(["sheet", "-o", str(sheet)]):
        raise SystemExit("no sheet was made")
    command = ["pdftoppm", "-r", "65", "-l", "2", "-png", str(sheet), str(folder / "sheet")]
    subprocess.run(command, check=True)
    return join([Image.open(path) for path in sorted(folder.glob("sheet-*.png"))])


def draw_page(folder: Path) -> Image:
    """A practice page on a small screen: as it opens, and in the first line."""
    from PIL import Image
    from playwright.sync_api import sync_playwright

    page_file = folder / "page.html"
    if run(["page", "--text", "See you on the quay at noon.", "-o", str(page_file)]):
        raise SystemExit("no page was made")
    shots = []
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium") or shutil.which("chromium-headless-shell")
        )
        page = browser.new_page(viewport={"width": 390, "height": 780})
        page.goto(page_file.as_uri())
        shots.append(page.screenshot())
        page.locator("#start").click()
        page.locator("[data-kind=turn] #stage .ph").wait_for()
        page.wait_for_timeout(900)
        shots.append(page.screenshot())
        browser.close()
    return join([Image.open(io.BytesIO(shot)) for shot in shots])


def main() -> None:
    """Make both pictures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--out", type=Path, default=ROOT / "docs")
    out = parser.parse_args().out
    with tempfile.TemporaryDirectory() as name:
        for stem, draw in (("sheet", draw_sheet), ("page", draw_page)):
            draw(Path(name)).save(out / f"{stem}.png", optimize=True)
            print(f"{out / stem}.png", file=sys.stderr)


if __name__ == "__main__":
    main()
