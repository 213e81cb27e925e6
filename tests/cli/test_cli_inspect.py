"""What drillgen makes with --discreet says nothing; what says something is found."""

from __future__ import annotations

import io
import json
import os
import re
import wave
import zipfile
from pathlib import Path

import pypdf
import pytest
from make_schema import make_schema

from drillgen.cli import run
from drillgen.cli.inspect import machine_names
from drillgen.core.errors import InputError
from drillgen.practice.log import name_columns, parse_log
from drillgen.write.inspection import Search, inspect_file
from drillgen.write.json import NEUTRAL, load_json, render_json

TEXT = "See you on the quay at noon. The blue boat leaves at four, and the soup is hot.\n"
LOG = """\
date,session,unit,version,rung,minutes,felt,heard,pitch,inflection,tension,note
2026-11-01,1,word,full,,15,yes,yes,no,yes,strong,
2026-11-02,2,word,full,,15,yes,yes,no,yes,none,
"""
_ALL = [part for kind in ("pdf", "md", "txt", "html", "json") for part in ("-f", kind)]
COMMANDS = {
    "sheet": ["sheet", "t.txt", *_ALL, "--rungs", "2", "--ipa"],
    "lines": ["sheet", "t.txt", "-f", "jsonl"],
    "booklet": ["sheet", "t.txt", "u.txt", "-o", "booklet.pdf"],
    "ladder": ["ladder", "--from", "word", "--to", "sentence", *_ALL],
    "prompts": ["prompts", "--step", "2", "--count", "2", *_ALL],
    "plan": [
        *("plan", "--log", "log.csv", "--start", "2026-12-01", *_ALL),
        *("--ical", "out/plan.ics", "--time", "18:30", "--log-sheet", "out/sessions.csv"),
    ],
    "printed log": ["plan", "--start", "2026-12-01", "-f", "txt", "--log-sheet", "out/l.pdf"],
    "page": ["page", "t.txt", "--voice", "higher"],
    "guide": ["guide", *_ALL],
    "voice": ["voice", "t.txt", "--delivery", "chant", "--split"],
    "week": ["week", "--start", "2026-12-01", "--days", "2", "-o", "out/week.zip"],
    "progress": ["progress", "--log", "log.csv", *_ALL],
    "batch": ["batch", "table.csv"],
}
"""Name → a command that gets --discreet and leaves its files in the folder `out`."""


@pytest.fixture
def folder(here: Path) -> Path:
    for name in ("t.txt", "u.txt"):
        (here / name).write_text(TEXT, encoding="utf-8")
    (here / "log.csv").write_text(LOG, encoding="utf-8")
    (here / "table.csv").write_text("text,discreet\nt.txt,yes\n", encoding="utf-8")
    (here / "out").mkdir()
    return here


@pytest.mark.usefixtures("folder")
@pytest.mark.parametrize("name", COMMANDS)
def test_what_is_made_discreetly_is_clean(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    arguments = [*COMMANDS[name], *(["--discreet"] if name != "batch" else [])]
    if "-o" not in arguments:
        arguments += ["-o", {"page": "out/p.html", "voice": "out/v.mp3"}.get(name, "out")]
    elif name == "booklet":
        arguments[-2] = "out/booklet.pdf"
    assert run(arguments) == 0
    capsys.readouterr()
    code = run(["inspect", "out", "--name", "Zrovnik"])
    assert code == 0, capsys.readouterr().out


@pytest.mark.usefixtures("folder")
@pytest.mark.parametrize("kind", ["wav", "mp3", "ogg", "flac"])
def test_sounds_are_clean(kind: str) -> None:
    assert run(["tone", "G3", "--seconds", "0.3", "-o", f"out/g3.{kind}"]) == 0
    assert run(["inspect", f"out/g3.{kind}"]) == 0


def test_a_report_on_a_take_is_clean(folder: Path) -> None:
    pytest.importorskip("pocketsphinx")
    (folder / "t.txt").write_text("The blue boat leaves at noon.", encoding="utf-8")
    take = ["--gap", "0", "--no-note", "--no-captions", "-o", "take.wav"]
    assert run(["voice", "t.txt", *take]) == 0
    assert run(["check", "take.wav", "t.txt", "--discreet", *_ALL, "-o", "out"]) == 0
    assert run(["inspect", "out"]) == 0


def test_names_of_files_that_nobody_chose(folder: Path) -> None:
    for command in (["sheet", "t.txt"], ["page", "t.txt"], ["voice", "t.txt"]):
        assert run([*command, "--discreet"]) == 0
    made = [path for path in folder.iterdir() if path.suffix in (".pdf", ".html", ".mp3", ".vtt")]
    assert {path.stem for path in made} == {"t-sheet", "t-practice", "t-steady"}
    assert run(["inspect", *map(str, made)]) == 0


def _pdf(**metadata: str) -> bytes:
    writer = pypdf.PdfWriter()
    writer.add_blank_page(100, 100)
    writer.add_metadata({f"/{key}": value for key, value in metadata.items()})
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def _zip(name: str, time: tuple[int, int, int, int, int, int], data: bytes = b"Boats.") -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as packed:
        packed.writestr(zipfile.ZipInfo(name, time), data)
    return out.getvalue()


def _wav(chunk: bytes = b"") -> bytes:
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setparams((1, 2, 8000, 0, "NONE", ""))
        file.writeframes(b"\0\0" * 80)
    whole = out.getvalue() + chunk
    return b"RIFF" + (len(whole) - 8).to_bytes(4, "little") + whole[8:]


_TAG = b"INFOIART\x07\0\0\0Zrovnik\0"
_OLD = (1980, 1, 1, 0, 0, 0)
LEAKS: dict[str, tuple[str, bytes, str, str]] = {
    "word": ("a.txt", b"Boats.\nYour voice lesson", "telling word", "voice"),
    "file name": ("pitch-drill.txt", b"Boats.", "telling word", "pitch"),
    "camel": ("a.html", b"<script>const keepPitch = 1</script>", "telling word", "pitch"),
    "comment": ("a.html", b"<p>Boats<!-- chant it -->", "telling word", "chant"),
    "attribute": ("a.html", b"<p class='pitch-line'>Boats", "telling word", "pitch"),
    "key": ("a.json", b'{"pitch": 1}', "telling word", "pitch"),
    "name": ("a.md", b"For Zrovnik, with love", "name", "Zrovnik"),
    "mail": ("a.txt", b"ask me@example.org", "name", "me@example.org"),
    "home": ("a.csv", b"a,/home/someone/t.txt", "path", "/home/someone"),
    "windows": ("a.txt", b"C:\\Users\\someone\\t.txt", "path", "C:\\Users\\someone\\t.txt"),
    "server": ("a.toml", b"at = '\\\\server\\share\\x'", "path", "\\\\server\\share\\x"),
    "link": ("a.html", b"<img src='/x.png'>", "request", "/x.png"),
    "fetch": ("a.html", b"<script>fetch('x')</script>", "request", "fetch("),
    "style": ("a.html", b"<style>p{background:url(x.png)}</style>", "request", "url(x.png"),
    "address": ("a.md", b"see https://example.org/a", "address", "https://example.org/a"),
    "author": ("a.pdf", _pdf(Author="Somebody"), "name", "Somebody"),
    "pdf time": ("a.pdf", _pdf(CreationDate="D:20261126031500Z"), "time", "D:20261126031500Z"),
    "pdf word": ("a.pdf", _pdf(Title="Voice"), "telling word", "voice"),
    "stamp": ("a.ics", b"DTSTAMP:20261126T031500Z\r\n", "time", "20261126T031500Z"),
    "organizer": ("a.ics", b"ORGANIZER;CN=X:mailto:x\r\n", "name", "mailto:x"),
    "folded": ("a.ics", b"SUMMARY:Your voi\r\n ce\r\n", "telling word", "voice"),
    "packed time": ("a.zip", _zip("a.txt", (2026, 11, 26, 3, 15, 0)), "time", "2026-11-26"),
    "packed name": ("a.zip", _zip("voice.txt", _OLD), "telling word", "voice"),
    "packed": ("a.zip", _zip("a.txt", _OLD, b"pitch"), "telling word", "pitch"),
    "twice": (
        "a.zip",
        _zip("b.zip", _OLD, _zip("a.txt", _OLD, b"pitch")),
        "telling word",
        "pitch",
    ),
    "wav": ("a.wav", _wav(b"LIST" + len(_TAG).to_bytes(4, "little") + _TAG), "name", "Zrovnik"),
}


@pytest.mark.parametrize(("name", "data", "kind", "text"), LEAKS.values(), ids=LEAKS)
def test_a_leak_is_found(name: str, data: bytes, kind: str, text: str) -> None:
    found = inspect_file(name, data, Search(("Zrovnik",)))
    assert any(leak.kind == kind and text in leak.text for leak in found), found


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("a.txt", b"A translucent boat, transported at dawn on 2026-11-26."),
        ("a.html", b"<a href='#b' target=_self style='transform:none'>x</a>"),
        ("a.html", b"<svg xmlns='http://www.w3.org/2000/svg'><path transform='x'/></svg>"),
        ("a.html", b"<script>on((event) => event.target.closest('a'))</script>"),
        ("a.ics", b"DTSTAMP:20261126T000000Z\r\nDTSTART:20261126T183000\r\nTRANSP:TRANSPARENT"),
        ("a.wav", _wav()),
        ("a.pdf", _pdf(Title="Boats")),
        ("a.zip", _zip("a.txt", _OLD)),
    ],
)
def test_what_tells_nothing_is_left_alone(name: str, data: bytes) -> None:
    found = [leak for leak in inspect_file(name, data) if "Producer" not in leak.place]
    assert found == []


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("a.png", b"\x89PNG\r\n\0\0"),
        ("a.pdf", b"%PDF-1.7\nnothing"),
        ("a.zip", b"PK\x03\x04nothing"),
        ("a.wav", b"RIFFnothing"),
        ("a.json", b"{"),
    ],
)
def test_what_cannot_be_read_is_said(
    name: str, data: bytes, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(InputError) as caught:
        inspect_file(name, data)
    assert caught.value.mend
    assert capsys.readouterr() == ("", "")


@pytest.mark.usefixtures("folder")
def test_a_pdf_that_claims_no_end_of_objects_is_read() -> None:
    assert run(["guide", "-o", "guide.pdf"]) == 0
    document = Path("guide.pdf").read_bytes()
    claimed = re.sub(rb"/Size \d+", b"/Size 999999999999", document)
    assert claimed != document
    assert inspect_file("a.pdf", claimed) == inspect_file("a.pdf", document)


def test_the_report(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "a.txt").write_text("Keep the pitch, Zrovnik.\n", encoding="utf-8")
    assert run(["inspect", "t.txt", "a.txt", "--name", "Zrovnik"]) == 1
    lines = capsys.readouterr().out.splitlines()
    assert lines == [
        "t.txt: clean",
        "a.txt: 2 found",
        "  line 1: telling word: pitch",
        "  line 1: name: Zrovnik",
    ]
    assert run(["inspect", "a.txt", "--json"]) == 1
    found = json.loads(capsys.readouterr().out)
    assert found["a.txt"][0] == {
        "file": "a.txt",
        "place": "line 1",
        "kind": "telling word",
        "text": "pitch",
    }
    assert run(["inspect", "a.txt", "--allow", "pitch"]) == 0
    assert run(["inspect", "none.txt"]) == 2
    assert run(["inspect", "t.txt", "none.txt", "a.txt"]) == 2


def test_nobody_is_no_name(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("getpass.getuser", lambda: "root")
    monkeypatch.setattr("platform.node", lambda: "quay-7.example")
    assert "root" not in machine_names()
    assert {"quay-7.example", "quay-7"} <= {*machine_names()}


@pytest.mark.usefixtures("folder")
def test_a_discreet_worksheet_is_read_back() -> None:
    assert run(["sheet", "t.txt", "--discreet", "-o", "a.json"]) == 0
    text = Path("a.json").read_text(encoding="utf-8")
    sheet = load_json(text)
    assert sheet.discreet
    assert sheet.drills[0].passage.text == TEXT
    assert render_json(sheet) == text


def test_plain_names_of_fields_are_no_other_fields() -> None:
    schema = make_schema()
    fields = {name for part in schema["$defs"].values() for name in part.get("properties", ())}
    assert not fields & {*NEUTRAL.values()}
    assert len({*NEUTRAL.values()}) == len(NEUTRAL)


def test_a_discreet_log_is_read_back() -> None:
    head = ",".join(name_columns(discreet=True))
    row = "2026-11-01,1,word,full,,15,yes,yes,no,yes,strong,"
    (plain,) = parse_log(f"{head}\n{row}\n")
    (usual,) = parse_log(f"{','.join(name_columns(discreet=False))}\n{row}\n")
    assert plain == usual


@pytest.mark.usefixtures("folder")
def test_calendars_of_clients_differ_and_name_nobody() -> None:
    uids: list[set[bytes]] = []
    for alias in ("robin", "heron", "robin"):
        if not uids or alias != "robin":
            assert run(["client", "new", alias]) == 0
        plan = ["plan", "--start", "2026-12-01", "--client", alias, "--force"]
        assert run([*plan, "-o", "p.txt", "--ical", "p.ics"]) == 0
        data = Path("p.ics").read_bytes()
        assert alias.encode() not in data
        uids.append({line for line in data.splitlines() if line.startswith(b"UID")})
    assert uids[0] == uids[2]
    assert not uids[0] & uids[1]


@pytest.mark.skipif(os.name != "posix", reason="permissions of POSIX")
@pytest.mark.usefixtures("folder")
def test_what_is_kept_is_for_the_owner_alone() -> None:
    """Word lists, clients' files, histories, logs and the list of seals, and their folders."""
    commands = (
        ["words", "add", "Vrantzel", "like: VRANT-zul"],
        ["words", "export", "words.pls"],
        ["client", "new", "robin"],
        ["client", "log", "robin", "log.csv"],
        ["prompts", "--step", "1", "--count", "1", "--history", "h.txt", "-o", "out/p.txt"],
        ["plan", "--log-sheet", "sessions.csv", "-o", "out/plan.txt"],
    )
    for command in commands:
        assert run(command) == 0
    kept = [*Path("own").rglob("*"), *map(Path, ("own", "words.pls", "h.txt", "sessions.csv"))]
    assert {path.name for path in kept} >= {"words.txt", "made", "clients", "robin.toml"}
    for path in kept:
        assert path.stat().st_mode & 0o777 == (0o700 if path.is_dir() else 0o600), path
