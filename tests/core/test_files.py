"""Parts of files that killed runs left are swept; those of living ones stay."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from drillgen.cli.common import WordStore
from drillgen.core import files
from drillgen.core.files import write_folder, write_whole
from drillgen.core.phones import parse_phones
from drillgen.practice.clients import edit_client, read_client
from drillgen.speech.pronounce.overrides import add_overrides
from drillgen.speech.review import edit_list

SLOW = """
import sys, time
from pathlib import Path
from drillgen.core.files import write_whole

def pieces():
    yield b"my text"
    print("begun", flush=True)
    time.sleep(60)

write_whole(Path(sys.argv[1]), pieces())
"""

pytestmark = pytest.mark.skipif(os.name != "posix", reason="processes are told by signals")


def list_parts(folder: Path) -> list[Path]:
    return list(folder.glob(".drillgen-*.part"))


def start(target: Path) -> subprocess.Popen[str]:
    run = subprocess.Popen(
        [sys.executable, "-c", SLOW, str(target)], stdout=subprocess.PIPE, text=True
    )
    assert run.stdout is not None
    assert run.stdout.readline() == "begun\n"
    return run


def test_the_next_run_sweeps_what_a_killed_one_left(tmp_path: Path) -> None:
    target = tmp_path / "sheet.txt"
    target.write_text("old")
    run = start(target)
    assert len(list_parts(tmp_path)) == 1
    # A run beside it leaves the part alone.
    write_whole(tmp_path / "other.txt", b"x")
    assert len(list_parts(tmp_path)) == 1
    run.send_signal(signal.SIGKILL)
    run.communicate()
    assert len(list_parts(tmp_path)) == 1
    assert target.read_text() == "old"
    write_folder(tmp_path / "week", {"a.txt": b"a"})
    assert list_parts(tmp_path) == []
    assert target.read_text() == "old"


def test_no_run_undoes_what_another_wrote(tmp_path: Path) -> None:
    """Sixteen at once: each changes the word list, and a client's file, as it is then."""
    words, client = tmp_path / "words.txt", edit_client(tmp_path / "robin.toml", {})
    said = parse_phones("B OW1 T")

    def change(number: int) -> None:
        edit_list(words, lambda text: add_overrides(text, {f"boat{number}": said}))
        WordStore(client.file, client).add({f"boat{number}": said})

    with ThreadPoolExecutor(16) as pool:
        list(pool.map(change, range(16)))
    every = sorted(f"boat{number}  B OW1 T" for number in range(16))
    assert sorted(words.read_text().splitlines()) == every
    assert sorted(read_client(client.file).words.strip().splitlines()) == every
    assert sorted(path.name for path in tmp_path.iterdir()) == ["robin.toml", "words.txt"]


def test_a_lock_that_was_left_behind_is_waited_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(files, "_PATIENCE", 0.05)
    (tmp_path / ".drillgen-words.txt").mkdir()
    edit_list(tmp_path / "words.txt", lambda _: "boat  B OW1 T\n")
    assert [path.name for path in tmp_path.iterdir()] == ["words.txt"]


def test_parts_of_unknown_runs_stay_for_a_day(tmp_path: Path) -> None:
    part = tmp_path / f".drillgen-{os.getppid()}-x.part"
    part.write_text("text")
    other = tmp_path / ".drillgen-notes.part"
    other.write_text("not ours")
    write_whole(tmp_path / "a.txt", b"a")
    assert part.exists()
    yesterday = time.time() - 25 * 3600
    os.utime(part, (yesterday, yesterday))
    os.utime(other, (yesterday, yesterday))
    write_whole(tmp_path / "a.txt", b"a")
    assert not part.exists()
    assert other.exists()
