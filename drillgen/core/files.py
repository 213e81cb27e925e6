"""Files that are written whole or not at all."""

from __future__ import annotations

import errno
import hmac
import io
import os
import secrets
import shutil
import stat
import tempfile
import time
import zipfile
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Final

from drillgen.core.errors import OutputError

_NEW_FILE: int = 0o666
PART: Final = ".part"
_MARK: Final = ".drillgen-"
SEALS: Final = "made"
"""The file beside the personal word list whose first line is the salt of keys and seals."""

_STALE: Final = 24 * 3600
"""Seconds after which a part of a run that we know nothing of counts as left behind."""


_PATIENCE: Final = 3.0


def _prefix() -> str:
    """The beginning of a part's name, with the process that fills it."""
    return f"{_MARK}{os.getpid()}-"


def sweep_folder(folder: Path) -> None:
    """Remove what runs that were killed left in a folder: parts of files, with texts in them."""
    for part in folder.glob(f"{_MARK}*{PART}"):
        with suppress(OSError, ValueError):
            number = int(part.name.removeprefix(_MARK).partition("-")[0])
            old = time.time() - part.lstat().st_mtime > _STALE
            if number == os.getpid() or not (old or _has_ended(number)):
                continue
            if part.is_dir() and not part.is_symlink():
                shutil.rmtree(part, ignore_errors=True)
            else:
                part.unlink()


def _has_ended(process: int) -> bool:
    """Whether we know that a process of this machine has ended."""
    if os.name != "posix":
        # There, the call below would end it.
        return False
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return True
    except OSError:
        return False
    return False


def make_folder(folder: Path) -> None:
    """Make a folder for the owner alone, where there is none. OutputError if that fails."""
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as error:
        raise _fail(error, folder, "made") from None


def _fail(error: OSError, path: Path | str, done: str = "written") -> OutputError:
    """What the user is told where something can't be done."""
    full = error.errno in (errno.ENOSPC, errno.EDQUOT)
    mend = "make room on the disk, or choose another place" if full else "choose another place"
    return OutputError(
        f"can't be {done} ({error.strerror or type(error).__name__})", mend, file=path
    )


@contextmanager
def hold(file: Path) -> Iterator[None]:
    """Make other runs wait that would change a file, from before it is read until it is written:
    none undoes what another wrote.

    The lock is a hidden folder, which every system makes for one run alone; one that a killed
    run left is waited for `_PATIENCE` seconds. Where none can be made, the writing will say why.
    """
    lock, due = file.parent / f"{_MARK}{file.name}", time.monotonic() + _PATIENCE
    with suppress(OSError):
        while time.monotonic() < due:
            try:
                lock.mkdir()
                break
            except FileExistsError:
                time.sleep(0.01)
    try:
        yield
    finally:
        with suppress(OSError):
            lock.rmdir()


def write_whole(
    path: Path | str, data: bytes | Iterable[bytes], *, private: bool = False, flush: bool = True
) -> None:
    """Write a file so that a reader sees the old content or the new, never a part.

    `data` may come in pieces, so that a long file needs little memory.

    The folder is made where there is none. A temporary file in it is filled, flushed to
    disk and renamed over the target. An existing file keeps its permissions; a new one gets
    those of the umask, or is for the owner alone if `private`. A link is
    followed. `flush` is False where the caller flushes to disk. Raises OutputError in one line.
    """
    target = Path(path)
    try:
        target = target.resolve()
        target.parent.mkdir(parents=True, exist_ok=True)
        if target.is_dir():
            raise OutputError("this is a folder", "name a file in it", file=path)
        if target.exists() and not os.access(target, os.W_OK):
            raise OutputError("it is write-protected", "choose another name", file=path)
        _replace(target, data, private, flush)
    except OSError as error:
        raise _fail(error, path) from None


def derive_key(store: Path, name: str) -> str:
    """A key that stays the same for a name, and from which it can't be read.

    HMAC (RFC 2104) with a random salt: the first line of `store`, which is made where there
    is none. OutputError where it can't be.
    """
    try:
        salt = store.read_text(encoding="ascii").split("\n", 1)[0].strip()
    except (OSError, UnicodeDecodeError):
        salt = ""
    if not salt:
        salt = secrets.token_hex(16)
        make_folder(store.parent)
        write_whole(store, salt.encode(), private=True)
    return hmac.new(salt.encode(), name.encode(), "sha256").hexdigest()


def write_folder(folder: Path, files: Mapping[str, bytes]) -> None:
    """Write a folder with these files, all or nothing; one that is there is replaced.

    It is filled beside its place and renamed. It is for the owner alone. OutputError.
    """
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        sweep_folder(folder.parent)
        part = Path(tempfile.mkdtemp(prefix=_prefix(), suffix=PART, dir=folder.parent))
    except OSError as error:
        raise _fail(error, folder, "made") from None
    old = part.with_suffix(".old")
    try:
        for name, data in files.items():
            # Not by write_whole, whose errors would name the part.
            (part / name).parent.mkdir(parents=True, exist_ok=True)
            _replace(part / name, data, private=False, flush=True)
        if folder.exists():
            folder.rename(old)
        try:
            part.rename(folder)
        except OSError:
            if old.exists():
                old.rename(folder)
            raise
        shutil.rmtree(old, ignore_errors=True)
    except OSError as error:
        raise _fail(error, folder) from None
    finally:
        shutil.rmtree(part, ignore_errors=True)


def zip_files(files: Mapping[str, bytes]) -> bytes:
    """The files as a zip archive. The same files give the same bytes: it has no times."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            entry = zipfile.ZipInfo(name)
            entry.external_attr = 0o644 << 16
            archive.writestr(entry, data, zipfile.ZIP_DEFLATED)
    return buffer.getvalue()


def _replace(target: Path, data: bytes | Iterable[bytes], private: bool, flush: bool) -> None:
    sweep_folder(target.parent)
    handle, name = tempfile.mkstemp(prefix=_prefix(), suffix=PART, dir=target.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.writelines([data] if isinstance(data, bytes) else data)
            file.flush()
            if flush:
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
