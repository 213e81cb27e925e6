"""A client's file: read, checked, edited; what people wrote stays."""

from __future__ import annotations

import datetime
import os
import tomllib
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillgen.core.errors import DrillgenError, InputError, ManyErrors, OptionError
from drillgen.core.options import Unit
from drillgen.core.values import VersionKind
from drillgen.practice.clients import (
    SETTINGS,
    add_log,
    check_alias,
    client_file,
    edit_client,
    list_clients,
    note_used,
    parse_client,
    read_client,
)
from drillgen.practice.log import LogEntry, Tension

FILE = Path("desk/robin.toml")
WRITTEN = """\
# taps well, tires soon
pitch = "A3"  # agreed in May
rungs = 2
words = \"\"\"
quay  K IY1
\"\"\"
"""


def test_a_new_file_is_the_owners_alone_and_plain_toml(tmp_path: Path) -> None:
    file = client_file("Robin", tmp_path / "desk" / "clients")
    client = edit_client(file, {"pitch": "A3", "rungs": 2, "discreet": True})
    assert file.name == "robin.toml"
    assert dict(client.settings) == {"pitch": "A3", "rungs": 2, "discreet": True}
    assert tomllib.loads(file.read_text("utf-8")) == client.settings
    assert read_client(file) == client
    assert list_clients(file.parent) == (file,)
    if os.name == "posix":
        assert file.stat().st_mode & 0o777 == 0o600
        assert file.parent.stat().st_mode & 0o777 == 0o700


def test_what_a_person_wrote_stays(tmp_path: Path) -> None:
    file = tmp_path / "robin.toml"
    file.write_text(WRITTEN, encoding="utf-8")
    client = note_used(edit_client(file, {"rungs": None, "large": True}), ["quay.txt"])
    text = file.read_text("utf-8")
    assert text.startswith('# taps well, tires soon\npitch = "A3"  # agreed in May\nwords')
    assert (client.rungs, client.large, client.passages) == (None, True, ("quay.txt",))


def test_history_grows(tmp_path: Path) -> None:
    file = tmp_path / "robin.toml"
    client = edit_client(file, {})
    client = note_used(note_used(client, ["a.txt", "b.txt"]), ["a.txt", "c.txt"])
    client = note_used(client, prompts=[("food-1-tea",)])
    client = note_used(client, prompts=[("food-2-soup", "pets-1-cat")])
    assert client.passages == ("b.txt", "a.txt", "c.txt")
    assert client.prompts == (("food-1-tea",), ("food-2-soup", "pets-1-cat"))
    assert client.used_prompts == ("food-1-tea", "food-2-soup", "pets-1-cat")


def test_two_runs_at_once_lose_nothing(tmp_path: Path) -> None:
    """Both read the file before either writes."""
    client = edit_client(tmp_path / "robin.toml", {"passages": ("old.txt",)})
    note_used(client, ["a.txt"], [("food-1-tea",)])
    now = note_used(client, ["b.txt"], [("pets-1-cat",)])
    assert now.passages == ("old.txt", "a.txt", "b.txt")
    assert now.prompts == (("food-1-tea",), ("pets-1-cat",))


def test_a_week_made_again_takes_the_place_of_its_first(tmp_path: Path) -> None:
    """What it noted goes, and nothing that another run has noted since."""
    read = edit_client(tmp_path / "robin.toml", {"passages": ("old.txt", "mon.txt")})
    read = note_used(read, prompts=[("food-1-tea",), ("pets-1-cat",)])
    before = replace(read, passages=read.passages[:1], prompts=read.prompts[:1])
    note_used(read, ["other.txt"], [("home-1-key",)])
    now = note_used(before, ["tue.txt"], [("work-1-desk",)], instead_of=read)
    assert now.passages == ("old.txt", "other.txt", "tue.txt")
    assert now.prompts == (("food-1-tea",), ("home-1-key",), ("work-1-desk",))


def entry(day: int, session: int, note: str = "") -> LogEntry:
    return LogEntry(
        datetime.date(2030, 1, day),
        session,
        Unit.WORD,
        VersionKind.FULL,
        0,
        15,
        True,
        False,
        True,
        False,
        Tension.SOME,
        note,
    )


def test_a_log_is_taken_in_once(tmp_path: Path) -> None:
    client = edit_client(tmp_path / "robin.toml", {})
    client = add_log(client, [entry(8, 2, 'tired, "very"'), entry(7, 1)])
    client = add_log(client, [entry(8, 2, 'quotes """ and \\'), entry(9, 3)])
    assert client.read_log() == (entry(7, 1), entry(8, 2, 'quotes """ and \\'), entry(9, 3))


def test_lines_of_errors_are_those_of_the_file() -> None:
    text = WRITTEN + "pich = 'G3'\nsize = 'b5'\nrungs_ = 1\ntarget = 'zz'\nprompts = ['a']\n"
    with pytest.raises(ManyErrors) as caught:
        parse_client(text, FILE)
    lines = str(caught.value).splitlines()
    assert [line.split(": ")[0] for line in lines] == [
        f"{FILE}, line {n}" for n in (7, 8, 9, 11, 10)
    ]
    assert "did you mean pitch?" in lines[0]
    assert "choose one of: a4, letter" in lines[1]
    assert "FLEECE" in lines[4]


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("pitch = G3\n", "line 1: not TOML"),
        ("rungs = 2\npitch = 'H9'\n", "line 2: pitch 'H9'"),
        ("rungs = '2'\n", "write a whole number, 0 to 12"),
        ("rungs = true\n", "write a whole number, 0 to 12"),
        ("breath = 3\n", "breath: 3 does not fit; write a whole number, 4 to 40"),
        ("large = 'yes'\n", "write true or false"),
        ("unit = 'verse'\n", "choose one of: syllable"),
        ("words = 3\n", "words is no text"),
        ("passages = 'x'\n", "passages is no list"),
        ("[words]\nquay = 'K IY1'\n", "line 1: words is no text"),
        ("name = 'x'\n", "the key 'name' is unknown"),
    ],
)
def test_bad_files(text: str, part: str) -> None:
    with pytest.raises(DrillgenError) as caught:
        parse_client(text, FILE)
    assert str(caught.value).startswith(str(FILE))
    assert part in str(caught.value)


def test_the_log_knows_its_lines() -> None:
    head = "date,session,unit,version,rung,minutes,felt,heard,pitch,inflection,tension,note"
    client = parse_client(f'pitch = "G3"\nlog = """\n{head}\n,1,word,full,,15,q,,,,3,\n"""', FILE)
    with pytest.raises(ManyErrors) as caught:
        client.read_log()
    assert [error.line for error in caught.value.errors] == [4, 4]


def test_nothing_is_written_where_a_value_does_not_fit(tmp_path: Path) -> None:
    file = tmp_path / "robin.toml"
    with pytest.raises(OptionError):
        edit_client(file, {"rungs": 99})
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("alias", ["", "Robin Miller", "../x", "a/b", ".x", "x" * 41, "-x"])
def test_an_alias_is_a_word(alias: str) -> None:
    with pytest.raises(OptionError, match="never a real name"):
        check_alias(alias)


def test_who_is_not_there_is_said(tmp_path: Path) -> None:
    edit_client(tmp_path / "robin.toml", {})
    with pytest.raises(InputError, match="choose one of: robin"):
        read_client(tmp_path / "robyn.toml")


values = {
    "pitch": st.sampled_from(["G3", "196", "none", "F#3"]),
    "target": st.sampled_from(["i", "FLEECE", "KIT"]),
    "rungs": st.integers(0, 12),
    "large": st.booleans(),
    "passages": st.lists(st.text(min_size=1), unique=True).map(tuple),
    "words": st.text(),
}


@settings(deadline=None, max_examples=50)
@given(st.fixed_dictionaries({}, optional=values))
def test_what_is_written_is_read(
    tmp_path_factory: pytest.TempPathFactory, changes: dict[str, object]
) -> None:
    file = tmp_path_factory.mktemp("desk") / "robin.toml"
    client = edit_client(file, changes)
    for key, value in changes.items():
        found = getattr(client, key)
        if key == "words":
            assert str(found).split() == str(value).split()
        else:
            assert found == value
    assert set(client.settings) <= set(SETTINGS)
