"""Files that are written whole or not at all."""

from __future__ import annotations

import os
import stat
import tempfile
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path

from drillgen.core.errors import OutputError

_NEW_FILE: int = 0o666


def make_folder(folder: Path) -> None:
    """Make a folder for the owner alone, where there is none. OutputError if that fails."""
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as error:
        problem = f"can't be made ({error.strerror})"
        raise OutputError(problem, "choose another place", file=folder) from None


def write_whole(path: Path | str, data: bytes | Iterable[bytes], *, private: bool = False) -> None:
    """Write a file so that a reader sees the old content or the new, never a part.

    `data` may come in pieces, so that a long file needs little memory.

    A temporary file in the same folder is filled, flushed to disk and renamed
    over the target. An existing file keeps its permissions; a new one gets
    those of the umask, or is for the owner alone if `private`. A link is
    followed. Raises OutputError in one line.
    """
    target = Path(path)
    try:
        target = target.resolve()
        if target.is_dir():
            raise OutputError("this is a folder", "name a file in it", file=path)
        if target.exists() and not os.access(target, os.W_OK):
            raise OutputError("it is write-protected", "choose another name", file=path)
        _replace(target, data, private)
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise OutputError(
            f"can't be written ({reason})", "choose another place", file=path
        ) from None


def _replace(target: Path, data: bytes | Iterable[bytes], private: bool) -> None:
    handle, name = tempfile.mkstemp(prefix=".drillgen-", suffix=".part", dir=target.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.writelines([data] if isinstance(data, bytes) else data)
            file.flush()
            os.fsync(file.fileno())
        Path(name).chmod(_mode_for(target, private))
        Path(name).replace(target)
    except BaseException:
        with suppress(OSError):
            Path(name).unlink()
        raise


def _mode_for(target: Path, private: bool) -> int:
    if target.exists():
        return stat.S_IMODE(target.stat().st_mode)
    if private:
        return 0o600
    # The umask can only be read by setting it.
    mask = os.umask(0o077)
    os.umask(mask)
    return _NEW_FILE & ~mask
