"""`drillgen prompts`: choice, history, own answers, formats."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from cli_helper import alt_texts, check_pdf, fails, pdf_text

from drillgen.cli import run
from drillgen.core.errors import DrillgenError
from drillgen.core.options import Format
from drillgen.corpus.reader import load_prompts
from drillgen.write import pdf

pytestmark = pytest.mark.usefixtures("here")


def keys_of(path: Path) -> list[str]:
    data = json.loads(path.read_text(encoding="utf-8"))
    return [item["key"] for item in data["sheet"]["items"]]


def test_a_sheet_in_every_format(here: Path) -> None:
    arguments = ["prompts", "--step", "2", "--topic", "errands", "--count", "2", "--seed", "7"]
    formats = [part for kind in Format for part in ("-f", kind)]
    assert run([*arguments, *formats]) == 0
    assert {p.name for p in here.glob("prompts.*")} == {f"prompts.{k}" for k in Format}
    keys = keys_of(here / "prompts.json")
    assert len(keys) == 2
    chosen = [prompt for prompt in load_prompts() if prompt.key in keys]
    check_pdf(here / "prompts.pdf", "Conversation practice")
    texts = {
        "pdf": pdf_text(here / "prompts.pdf"),
        "md": " ".join((here / "prompts.md").read_text(encoding="utf-8").split()),
        "txt": " ".join((here / "prompts.txt").read_text(encoding="utf-8").split()),
    }
    for kind, text in texts.items():
        for prompt in chosen:
            assert prompt.question in text, kind
            # The model answer stands there once as plain text, to be copied and heard.
            assert text.count(prompt.answer) == 1, kind
            # The client's own comes first, then the short example, then the fuller one.
            places = [text.index(part) for part in (prompt.easier, prompt.answer)]
            asked = text.index(prompt.question)
            assert asked < text.index("own answer", asked) < places[0] < places[1], kind
        for part in (
            "Short example:",
            "Fuller example:",
            "Full swap",
            "Partial",
            "Original words",
        ):
            assert part in text, kind
    assert texts["txt"].count("_" * 20) >= 6


def test_the_easier_answer_is_drilled(here: Path) -> None:
    common = ["prompts", "--step", "3", "--count", "1", "-f", "json", "-f", "txt"]
    for model in ("easier", "fuller"):
        assert run([*common, "--model", model, "-o", f"{model}.json"]) == 0
        sheet = json.loads((here / f"{model}.json").read_text(encoding="utf-8"))
        assert sheet["version"] == 3
        (item,) = sheet["sheet"]["items"]
        assert item["drilled"] == model
        assert item["drill"]["passage"]["text"] == item[model]
        assert len(item["easier"]) < len(item["fuller"])
        text = " ".join((here / f"{model}.txt").read_text(encoding="utf-8").split())
        assert item["easier"] in text
        assert item["fuller"] in text


def test_words_go_with_the_accent(here: Path) -> None:
    common = ["prompts", "--topic", "shops", "--step", "1", "-f", "txt"]
    for name, more in {
        "us": (),
        "gb": ("--accent", "scottish"),
        "us2": ("--accent", "non-rhotic", "--locale", "american"),
    }.items():
        assert run([*common, *more, "-o", f"{name}.txt"]) == 0
        text = (here / f"{name}.txt").read_text(encoding="utf-8")
        assert ("in a store" in text) == (name != "gb")
        assert ("in a shop" in text) == (name == "gb")


def test_room_to_write_is_said_in_words(here: Path) -> None:
    assert run(["prompts", "--step", "1", "--count", "1"]) == 0
    alts = alt_texts(check_pdf(here / "prompts.pdf", "Conversation practice"))
    assert "2 ruled lines to write on" in alts
    assert "3 boxes to tick for Own words" in alts


def test_same_seed_same_bytes_other_seed_other_prompts(here: Path) -> None:
    for name, seed in (("a", "7"), ("b", "7"), ("c", "8")):
        arguments = ["prompts", "--count", "2", "--seed", seed, "-f", "pdf", "-f", "json"]
        assert run([*arguments, "-o", name]) == 0
    assert (here / "a.pdf").read_bytes() == (here / "b.pdf").read_bytes()
    assert keys_of(here / "a.json") != keys_of(here / "c.json")


def test_topics_are_spread(here: Path) -> None:
    assert run(["prompts", "--step", "1", "--count", "12", "-f", "json"]) == 0
    topics = {key.rsplit("-1-", 1)[0] for key in keys_of(here / "prompts.json")}
    assert len(topics) == 12


def test_a_history_never_repeats(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    common = ["prompts", "--topic", "food", "--step", "2", "--count", "3", "-f", "json"]
    seen: list[str] = []
    for number in (1, 2):
        out = f"{number}.json"
        assert run([*common, "--history", "used.txt", "-o", out]) == 0
        seen += keys_of(here / out)
        lines = (here / "used.txt").read_text(encoding="utf-8").splitlines()
        assert [line for line in lines if line and line[0] != "#"] == seen
    assert len(set(seen)) == 6
    capsys.readouterr()
    before = (here / "used.txt").read_bytes()
    line = fails(capsys, *common, "--history", "used.txt", "-o", "3.json")
    assert "only 0 prompts are left at step 2 on food (6 are in the history)" in line
    assert (here / "used.txt").read_bytes() == before
    assert not (here / "3.json").exists()


def test_a_sheet_that_failed_is_not_in_the_history(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail(*_: object) -> bytes:
        raise DrillgenError("no ink")

    monkeypatch.setattr(pdf, "write_pdf", fail)
    arguments = ["prompts", "--count", "1", "--history", "used.txt", "-f", "json", "-f", "pdf"]
    assert "no ink" in fails(capsys, *arguments)
    assert list(here.iterdir()) == []


def test_own_answers_are_drilled(here: Path) -> None:
    (here / "mine.txt").write_text("I sail to Zrovnik.\nTwo loaves, *please*.\n", encoding="utf-8")
    assert run(["prompts", "--answers", "mine.txt", "-f", "txt", "-f", "md", "-f", "pdf"]) == 0
    text = (here / "prompts.txt").read_text(encoding="utf-8")
    assert "Your answer: I sail to Zrovnik." in text
    assert "LEEVZ" in text
    assert "Fuller example:" not in text
    # Words of the client's own may be unknown: they are listed.
    assert "Words to check" in text
    assert "Prompt 1, sentence 1" in text
    # What the client wrote is never markup.
    assert r"\*please\*" in (here / "prompts.md").read_text(encoding="utf-8")
    assert "*please*" in pdf_text(here / "prompts.pdf")
    assert "mine" not in text


def test_answers_belong_to_the_latest_prompts_of_the_history(here: Path) -> None:
    common = ["prompts", "--step", "1", "--history", "used.txt", "-f", "json"]
    assert run([*common, "--count", "2", "-o", "first.json"]) == 0
    assert run([*common, "--count", "3", "-o", "second.json"]) == 0
    (here / "mine.txt").write_text("Yes.\nNo.\nPerhaps.\n", encoding="utf-8")
    before = (here / "used.txt").read_bytes()
    assert run([*common, "--answers", "mine.txt", "-o", "own.json"]) == 0
    assert keys_of(here / "own.json") == keys_of(here / "second.json")
    assert (here / "used.txt").read_bytes() == before


def test_topics_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["prompts", "--list-topics"]) == 0
    rows = [line.split("\t") for line in capsys.readouterr().out.splitlines()]
    assert len(rows) >= 10
    assert ["errands", "18"] in rows


def test_rungs_and_large_print(here: Path) -> None:
    assert run(["prompts", "--count", "1", "--rungs", "2", "--large", "--size", "letter"]) == 0
    reader = check_pdf(here / "prompts.pdf", "Conversation practice")
    assert float(reader.pages[0].mediabox.width) == pytest.approx(8.5 * 72)
    assert "rung 1 of 2" in pdf_text(here / "prompts.pdf")


@pytest.mark.parametrize(
    ("arguments", "part"),
    [
        (["--step", "4"], "step must be 1, 2 or 3, not 4"),
        (["--topic", "whales"], "topic 'whales' is unknown; choose one of: dating, errands"),
        (["--model", "longest"], "choose one of: easier, fuller"),
        (["--count", "0"], "count must be 1 or more"),
        (["--topic", "food", "--step", "1", "--count", "7"], "only 6 prompts are left"),
        (["--answers", "none.txt"], "none.txt: no such file"),
        (["--answers", "two.txt", "--count", "3"], "two.txt: 2 answers for 3 prompts"),
        (
            ["--answers", "two.txt", "--history", "new.txt"],
            "2 answers, but 0 prompts in the history",
        ),
        (["--history", "bad.txt"], "bad.txt, line 1"),
        (["--history", __file__ + "/h.txt"], "is no folder"),
        (["--history", "."], "folder"),
        (["--repetitions", "13"], "1 to 12"),
        (["--rungs", "13"], "0 to 12"),
        (["--pitch", "H2"], "pitch 'H2'"),
        (["-f", "docx"], "--format 'docx'"),
        (["-o", "-", "-f", "md", "-f", "txt"], "one format"),
        (["-o", "x.docx"], "x.docx: no .docx file can be made; end its name in one of: .pdf"),
        (["--seed", "x"], "--seed"),
    ],
)
def test_bad_input_is_one_line(
    capsys: pytest.CaptureFixture[str], arguments: list[str], part: str, here: Path
) -> None:
    (here / "two.txt").write_text("One.\nTwo.\n", encoding="utf-8")
    (here / "bad.txt").write_text("Not a key!\n", encoding="utf-8")
    assert part in fails(capsys, "prompts", *arguments)
    assert sorted(p.name for p in here.iterdir()) == ["bad.txt", "two.txt"]
