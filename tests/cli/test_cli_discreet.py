"""No word of the new sheets says what they are for, when that is asked for."""

from __future__ import annotations

import re
from pathlib import Path

import icalendar
import pytest
from cli_helper import alt_texts, check_pdf, pdf_text

from drillgen.cli import run

TELLING = [
    line
    for line in (Path(__file__).parents[1] / "render" / "data" / "discreet_words.tsv")
    .read_text(encoding="utf-8")
    .splitlines()
    if not line.startswith("#")
]
# A train may stop in a text of ours; "training" may not.
PATTERN = re.compile(r"\b(?!trains?\b)(" + "|".join(map(re.escape, TELLING)) + ")", re.IGNORECASE)

COMMANDS = {
    "prompts": ["prompts", "--step", "3", "--count", "3"],
    "own": ["prompts", "--answers", "mine.txt"],
    "ladder": ["ladder", "--from", "syllable", "--to", "conversation", "--rungs", "2"],
    "fleece": ["ladder", "--target", "u", "--to", "sentence"],
    "plan": ["plan", "--log", "log.csv", "--start", "2026-12-01", "--rungs", "3"],
}
TITLES = {
    "prompts": "Talking practice",
    "own": "Talking practice",
    "ladder": "From syllables to conversation",
    "fleece": "From words to sentences",
    "plan": "Practice plan",
}

LOG = """\
date,session,unit,version,rung,minutes,felt,heard,pitch,inflection,tension,note
2026-11-01,1,word,full,,15,yes,yes,no,yes,strong,
2026-11-02,2,word,full,,15,yes,yes,no,yes,none,
"""


@pytest.fixture
def folder(here: Path) -> Path:
    (here / "log.csv").write_text(LOG, encoding="utf-8")
    (here / "mine.txt").write_text("I buy bread.\n", encoding="utf-8")
    return here


@pytest.mark.parametrize("name", COMMANDS)
@pytest.mark.parametrize("large", [False, True], ids=["normal", "large"])
def test_a_discreet_pdf(folder: Path, name: str, large: bool) -> None:
    arguments = [*COMMANDS[name], "--discreet", "-o", "out.pdf", *(["--large"] * large)]
    assert run(arguments) == 0
    reader = check_pdf(folder / "out.pdf", TITLES[name])
    words = f"{pdf_text(folder / 'out.pdf')} {' '.join(alt_texts(reader))}"
    assert "Reading practice" in words
    assert PATTERN.findall(words) == []


@pytest.mark.parametrize("name", COMMANDS)
def test_discreet_texts(folder: Path, name: str) -> None:
    formats = [part for kind in ("md", "txt", "html") for part in ("-f", kind)]
    assert run([*COMMANDS[name], "--discreet", *formats, "-o", "out"]) == 0
    for ending in ("md", "txt", "html"):
        text = (folder / f"out.{ending}").read_text(encoding="utf-8")
        assert TITLES[name] in text
        shown = re.sub(r'<style>.*?</style>| translate="no"', "", text, flags=re.DOTALL)
        assert PATTERN.findall(shown) == []


@pytest.mark.parametrize("name", COMMANDS)
def test_the_list_finds_the_ordinary_wording(folder: Path, name: str) -> None:
    assert run([*COMMANDS[name], "-o", "out.txt"]) == 0
    found = PATTERN.findall((folder / "out.txt").read_text(encoding="utf-8"))
    assert {word.lower() for word in found} >= {"pitch", "chant", "clinic"}


def test_a_calendar_is_always_neutral(folder: Path) -> None:
    arguments = ["plan", "--start", "2026-12-01", "--ical", "out.ics", "-o", "out.txt"]
    assert run(arguments) == 0
    calendar = icalendar.Calendar.from_ical((folder / "out.ics").read_bytes())
    assert PATTERN.findall(calendar.to_ical().decode()) == []
    assert {str(event["class"]) for event in calendar.walk("VEVENT")} == {"PRIVATE"}
