"""`drillgen guide`: formats, wording, bad options."""

from __future__ import annotations

import json
from pathlib import Path

import pypdf
import pytest
from cli_helper import check_pdf, fails, pdf_text

from drillgen.cli import run

pytestmark = pytest.mark.usefixtures("here")


def test_every_format(here: Path) -> None:
    formats = [part for kind in ("pdf", "md", "txt", "json") for part in ("-f", kind)]
    assert run(["guide", *formats]) == 0
    check_pdf(here / "guide.pdf", "How to practise")
    assert "G3 196 Hz" in pdf_text(here / "guide.pdf")
    for kind in ("md", "txt"):
        assert "When to move on" in (here / f"guide.{kind}").read_text(encoding="utf-8")
    assert json.loads((here / "guide.json").read_text(encoding="utf-8"))["guide"]["title"]


def test_options(here: Path) -> None:
    arguments = ["--target", "GOOSE", "--accent", "non-rhotic", "--pitch", "A3", "--large"]
    assert run(["guide", *arguments, "--size", "letter", "-o", "a.pdf"]) == 0
    text = pdf_text(here / "a.pdf")
    assert "(GOOSE)" in text
    assert "A3" in text
    assert run(["guide", "--discreet", "--title", "Reading", "-o", "b.txt"]) == 0
    text = (here / "b.txt").read_text(encoding="utf-8")
    assert text.startswith("Reading\n")
    assert "vowel" not in text


def test_a_wrong_target_is_one_line(capsys: pytest.CaptureFixture[str]) -> None:
    assert "qq" in fails(capsys, "guide", "--target", "qq")


@pytest.mark.parametrize("size", ["a4", "letter"])
def test_the_guide_in_large_print_leaves_no_half_page(here: Path, size: str) -> None:
    assert run(["guide", "--large", "--size", size, "-o", "a.pdf"]) == 0
    pages = pypdf.PdfReader(here / "a.pdf").pages
    # What is looked up begins under what is read first.
    (first,) = (text for page in pages if "When to move on" in (text := page.extract_text()))
    assert "Spelling" in first
