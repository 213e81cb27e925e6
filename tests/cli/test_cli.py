"""The command line: what it writes, and one clear line when it can't."""

from __future__ import annotations

import io
import json
import sys
from pathlib import Path

import pytest

from drillgen.cli import run


@pytest.fixture(autouse=True)
def own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Each test has an empty current folder and no personal word list."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("DRILLGEN_WORDS", str(tmp_path / "own" / "words.txt"))
    return tmp_path


def fails(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """Run a command that must fail; returns its one line."""
    assert run(arguments) == 2
    captured = capsys.readouterr()
    lines = captured.err.strip().splitlines()
    assert len(lines) == 1, captured.err
    assert lines[0].startswith("drillgen: ")
    return lines[0]


def test_default_passage_to_pdf(own_folder: Path) -> None:
    assert run(["sheet"]) == 0
    (made,) = own_folder.glob("*.pdf")
    assert made.read_bytes().startswith(b"%PDF")


def test_every_format_next_to_each_other(own_folder: Path) -> None:
    (own_folder / "tide.txt").write_text("The tide turns.", encoding="utf-8")
    arguments = ["sheet", "tide.txt", "-f", "pdf", "-f", "md", "-f", "txt", "-f", "json"]
    assert run(arguments) == 0
    assert {path.name for path in own_folder.glob("tide-drill.*")} == {
        "tide-drill.pdf",
        "tide-drill.md",
        "tide-drill.txt",
        "tide-drill.json",
    }
    json.loads((own_folder / "tide-drill.json").read_text(encoding="utf-8"))


def test_same_input_same_bytes(own_folder: Path) -> None:
    for name in ("a.pdf", "b.pdf"):
        assert run(["sheet", "--text", "The tide turns.", "-o", name]) == 0
    assert (own_folder / "a.pdf").read_bytes() == (own_folder / "b.pdf").read_bytes()


def test_several_files_together_or_apart(own_folder: Path) -> None:
    (own_folder / "one").mkdir()
    (own_folder / "two").mkdir()
    (own_folder / "out").mkdir()
    for folder in ("one", "two"):
        (own_folder / folder / "text.txt").write_text("A boat.", encoding="utf-8")
    assert run(["sheet", "one/text.txt", "two/text.txt", "-o", "out", "-f", "txt"]) == 0
    assert sorted(p.name for p in (own_folder / "out").iterdir()) == [
        "text-2-drill.txt",
        "text-drill.txt",
    ]
    assert run(["sheet", "one/text.txt", "two/text.txt", "-o", "all.md"]) == 0
    assert (own_folder / "all.md").exists()


def test_standard_input_and_output(
    capfdbinary: pytest.CaptureFixture[bytes], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(b"The tide turns.")))
    assert run(["sheet", "-", "-o", "-", "-f", "txt"]) == 0
    assert b"TEED" in capfdbinary.readouterr().out


def test_file_names_are_not_printed(own_folder: Path) -> None:
    """A file name may hold a client's name."""
    (own_folder / "jo-quint.txt").write_text("The tide turns.", encoding="utf-8")
    assert run(["sheet", "jo-quint.txt", "-f", "md", "-f", "json", "-f", "txt"]) == 0
    for path in own_folder.glob("*-drill.*"):
        assert "quint" not in path.read_text(encoding="utf-8").lower()


def test_word(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["word", "beautiful"]) == 0
    out = capsys.readouterr().out
    for part in ("dictionary", "B Y UW1 T AH0 F AH0 L", "/ˈbju.tə.fəl/", "b[eau]t[i]f[u]l"):
        assert part in out


def test_word_in_a_sentence(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["word", "read", "--in", "I read it yesterday."]) == 0
    assert (
        "RED  /ɹɛd/  verb; dictionary, past tense"
        in capsys.readouterr().out.split("in this sentence")[1]
    )
    assert run(["word", "close", "--in", "Close the gate."]) == 0
    out = capsys.readouterr().out.split("in this sentence")[1]
    assert "/kloʊz/" in out
    assert "verb; dictionary, " in out


def test_guesses_are_named_on_screen(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["sheet", "--text", "Trelassick met Quaighle.", "-f", "txt", "-o", "x.txt"]) == 0
    err = capsys.readouterr().err
    assert "1 word to check: Quaighle" in err
    assert "1 word probably right: Trelassick" in err
    assert "Probably right." in Path("x.txt").read_text(encoding="utf-8").replace("\n", " ")
    assert run(["review", "--text", "Trelassick met Quaighle.", "--json"]) == 0
    assert [q["word"] for q in json.loads(capsys.readouterr().out)] == ["quaighle"]
    assert run(["review", "--text", "Trelassick met Quaighle.", "--json", "--all"]) == 0
    assert len(json.loads(capsys.readouterr().out)) == 2


def test_sheet_and_review_count_the_same_words(capsys: pytest.CaptureFixture[str]) -> None:
    text = ["--text", "We met Trelassick on 12/5."]
    assert run(["sheet", *text, "-f", "txt", "-o", "x.txt"]) == 0
    sheet = capsys.readouterr().err
    assert run(["review", *text]) == 0
    asked = capsys.readouterr()
    assert asked.out == "No words to settle.\n"
    for line in ("1 word to check: 12/5;", "1 word probably right: Trelassick"):
        assert line in sheet
        assert line in asked.err


def test_fewer_partial_versions_than_asked_for_are_told(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert run(["sheet", "--text", "A calm spa.", "--rungs", "3", "-f", "txt", "-o", "x.txt"]) == 0
    assert "for 3 different partial versions: it has 1" in capsys.readouterr().err
    assert run(["sheet", "-f", "txt", "-o", "y.txt"]) == 0
    assert "partial version" not in capsys.readouterr().err


def test_review_and_words(capsys: pytest.CaptureFixture[str], own_folder: Path) -> None:
    assert run(["review", "--text", "Quaighle came.", "--json"]) == 0
    (question,) = json.loads(capsys.readouterr().out)
    assert question["word"] == "quaighle"
    assert question["context"] == "Quaighle came."
    assert question["candidates"][0]["sounds_like"]
    # As it sounds: with the prefix of a word list, or as it is typed in a review.
    for said in ("like: KWEE-guhl", "KWAY-guhl"):
        assert run(["words", "add", "Quaighle", said]) == 0
    capsys.readouterr()
    assert run(["words", "show"]) == 0
    assert "KWAY-guhl" in capsys.readouterr().out
    assert run(["review", "--text", "Quaighle came."]) == 0
    assert capsys.readouterr().out == "No words to settle.\n"
    assert run(["words", "export", "out.pls"]) == 0
    assert run(["words", "import", "out.pls", "--list", "second.txt"]) == 0
    assert "quaighle" in (own_folder / "second.txt").read_text(encoding="utf-8")
    capsys.readouterr()
    assert run(["words", "show", "--list", "second.txt"]) == 0
    assert "KWAY" in capsys.readouterr().out


def test_import_takes_every_entry_or_says_why_not(
    capsys: pytest.CaptureFixture[str], here: Path
) -> None:
    lines = ["quay  K IY1", "close (shed a _ for)  K L OW1 Z", "close (in the ferry)  K L OW1 S"]
    (here / "words.txt").write_text("\n".join(lines), encoding="utf-8")
    assert run(["words", "import", "words.txt", "--list", "own.txt"]) == 0
    assert capsys.readouterr().err == "took 3 words into own.txt\n"
    assert sorted((here / "own.txt").read_text("utf-8").splitlines()) == sorted(lines)
    # An alias of a lexicon may name any word of the dictionary.
    lexicon = (
        '<lexicon xmlns="http://www.w3.org/2005/01/pronunciation-lexicon" version="1.0"'
        ' alphabet="ipa" xml:lang="en"><lexeme><grapheme>Kei</grapheme><alias>key</alias></lexeme>'
        "</lexicon>"
    )
    (here / "aliases.pls").write_text(lexicon, encoding="utf-8")
    assert run(["words", "import", "aliases.pls", "--list", "named.txt"]) == 0
    assert (here / "named.txt").read_text("utf-8") == "kei  K IY1\n"
    assert capsys.readouterr().err == "took 1 word into named.txt\n"
    (here / "empty.txt").write_text("# nothing\n", encoding="utf-8")
    said = fails(capsys, "words", "import", "empty.txt", "--list", "other.txt")
    assert "empty.txt: there are no words in it" in said
    assert not (here / "other.txt").exists()


@pytest.mark.parametrize(
    ("arguments", "part"),
    [
        (["sheet", "none.txt"], "no such file"),
        (["sheet", "--text", "  "], "no text"),
        (["sheet", "."], "folder"),
        (["sheet", "--target", "xx"], "target 'xx'"),
        (["sheet", "--pitch", "H9"], "pitch 'H9'"),
        (["sheet", "--accent", "scots"], "--accent 'scots'"),
        (["sheet", "--partial", "some"], "--partial 'some'"),
        (["sheet", "--rungs", "99"], "0 to 12"),
        (["sheet", "--rungs", "many"], "'--rungs': write a whole number, such as 3"),
        (["tone", "--seconds", "long"], "'--seconds': write a number, such as 1.5"),
        (["sheet", "--repetitions", "0"], "1 to 12"),
        (["sheet", "--size", "a5"], "--size 'a5'"),
        (["sheet", "--format", "docx"], "--format 'docx'"),
        (["sheet", "-f", "pdf", "-o", "x.txt"], "x.txt: its name ends in .txt"),
        (["sheet", "-o", __file__ + "/folder/x.pdf"], "is no folder"),
        (["sheet", "--text", "a", "b.txt"], "don't go together"),
        (["sheet", "--nonsense"], "--nonsense"),
        (["nonsense"], "nonsense"),
        (["word"], "See: drillgen word --help"),
        (["sheet", "--client", "robin"], "no client 'robin'; make one"),
        (["word", "!!"], "nothing that is said"),
        (["word", "boat", "--in", "The ferry came."], "not in the sentence"),
        (["sheet", "--words", "none.txt"], "no such file"),
        (["review"], "no text"),
        (["words", "export", "x.pls"], "no word list"),
    ],
)
def test_bad_input_is_one_line(
    capsys: pytest.CaptureFixture[str], arguments: list[str], part: str, own_folder: Path
) -> None:
    assert part in fails(capsys, *arguments)
    assert list(own_folder.iterdir()) == []


def test_a_misspelt_file_is_suggested(
    capsys: pytest.CaptureFixture[str], own_folder: Path
) -> None:
    (own_folder / "harbour.txt").write_text("A boat.", encoding="utf-8")
    assert fails(capsys, "sheet", "harbor.txt").endswith("no such file; is it harbour.txt?")


@pytest.mark.parametrize(
    ("data", "part"),
    [
        (b"", "no text"),
        (b" \n\t ", "no text"),
        (b"\x00\x01\x02", "binary"),
        (b"%PDF-1.7 ...", "PDF"),
        (b"PK\x03\x04....", "packed"),
        (b"\xff\xfe\x00\xd8", "x.txt"),
        ("🙂 ☀ !".encode(), "nothing to say"),
        ("שלום".encode(), "nothing to say"),
    ],
)
def test_unreadable_files(
    capsys: pytest.CaptureFixture[str], data: bytes, part: str, own_folder: Path
) -> None:
    (own_folder / "x.txt").write_bytes(data)
    assert part in fails(capsys, "sheet", "x.txt")
    assert [p.name for p in own_folder.iterdir()] == ["x.txt"]


@pytest.mark.parametrize(
    ("encoding", "arguments"),
    [
        ("utf-8", []),
        ("utf-8-sig", []),
        ("utf-16", []),
        ("latin-1", ["--encoding", "latin-1"]),
    ],
)
def test_encodings(own_folder: Path, encoding: str, arguments: list[str]) -> None:
    (own_folder / "x.txt").write_bytes("The café.".encode(encoding))
    assert run(["sheet", "x.txt", "-f", "txt", *arguments]) == 0
    assert "café" in (own_folder / "x-drill.txt").read_text(encoding="utf-8")


@pytest.mark.parametrize("encoding", ["cp1252", "utf-16-le", "utf-32"])
def test_a_guessed_encoding_is_said(
    own_folder: Path, capsys: pytest.CaptureFixture[str], encoding: str
) -> None:
    (own_folder / "x.txt").write_bytes("“The café,” she said.".encode(encoding))
    assert run(["sheet", "x.txt", "-f", "txt"]) == 0
    assert "café" in (own_folder / "x-drill.txt").read_text(encoding="utf-8")
    assert ("a guess: save it as UTF-8" in capsys.readouterr().err) == (encoding != "utf-32")


@pytest.mark.parametrize(
    ("line", "part"),
    [
        ("harbour", "words.txt, line 2"),
        ("harbour HH XX1 R", "words.txt, line 2"),
        ("harbour /hqrb/", "words.txt, line 2"),
        ("harbour like:", "words.txt, line 2"),
    ],
)
def test_bad_override_line(
    capsys: pytest.CaptureFixture[str], line: str, part: str, own_folder: Path
) -> None:
    (own_folder / "words.txt").write_text(f"# list\n{line}\n", encoding="utf-8")
    assert part in fails(capsys, "sheet", "--words", "words.txt")


def test_a_folder_is_made_where_there_is_none(own_folder: Path) -> None:
    assert run(["sheet", "--text", "Boats.", "-f", "txt", "-o", "new/folder/x.txt"]) == 0
    assert "Boats" in (own_folder / "new" / "folder" / "x.txt").read_text(encoding="utf-8")
    (own_folder / "a.b.txt").write_text("Boats.", encoding="utf-8")
    assert run(["sheet", "a.b.txt", "-f", "txt", "-o", "sheets"]) == 0
    assert (own_folder / "sheets" / "a.b-drill.txt").is_file()


def test_help_lists_every_command(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["--help"]) == 0
    out = capsys.readouterr().out
    for command in ("sheet", "word", "review", "words"):
        assert command in out


def test_version(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["--version"]) == 0
    assert capsys.readouterr().out.startswith("drillgen ")


def test_weak_words_and_links_can_be_left_out(own_folder: Path) -> None:
    for option in ("--flow", "--no-flow"):
        arguments = ["sheet", "--text", "Look at the tide.", option, "-o", f"{option}.txt"]
        assert run(arguments) == 0
    shown, bare = (
        (own_folder / f"{option}.txt").read_text(encoding="utf-8")
        for option in ("--flow", "--no-flow")
    )
    assert "Look   at˘" in shown
    assert "LEEK‿" in shown
    assert not {"‿", "˘"} & set(bare)
