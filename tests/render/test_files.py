"""Files whole or not at all."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from drillgen.core.errors import OutputError
from drillgen.core.files import write_folder, write_whole


def test_write_and_overwrite(tmp_path: Path) -> None:
    path = tmp_path / "sheet.pdf"
    write_whole(path, b"one")
    write_whole(str(path), b"two")
    assert path.read_bytes() == b"two"
    assert [p.name for p in tmp_path.iterdir()] == ["sheet.pdf"]


def test_a_new_file_obeys_the_umask(tmp_path: Path) -> None:
    before = os.umask(0o027)
    try:
        write_whole(tmp_path / "a", b"")
    finally:
        os.umask(before)
    assert stat.S_IMODE((tmp_path / "a").stat().st_mode) == 0o640


def test_permissions_are_kept(tmp_path: Path) -> None:
    path = tmp_path / "a"
    path.write_bytes(b"old")
    path.chmod(0o604)
    write_whole(path, b"new")
    assert stat.S_IMODE(path.stat().st_mode) == 0o604


def test_a_link_is_followed(tmp_path: Path) -> None:
    (tmp_path / "real").write_bytes(b"old")
    (tmp_path / "link").symlink_to("real")
    write_whole(tmp_path / "link", b"new")
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "real").read_bytes() == b"new"


def test_failure_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a"
    path.write_bytes(b"old")

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OutputError, match="No space left"):
        write_whole(path, b"new")
    assert path.read_bytes() == b"old"
    assert [p.name for p in tmp_path.iterdir()] == ["a"]


def test_a_full_disk_is_told_of_the_folder_that_was_asked_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OutputError) as caught:
        write_folder(tmp_path / "week", {"log.csv": b"", "day/sheet.pdf": b""})
    assert Path(caught.value.file) == tmp_path / "week"
    assert caught.value.mend == "make room on the disk, or choose another place"
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("name", ["", "file/a.pdf", "file/b/a.pdf"])
def test_unwritable_places_are_named(tmp_path: Path, name: str) -> None:
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(OutputError, match=str(tmp_path)):
        write_whole(tmp_path / name, b"x")
