"""Files that are whole after a power cut: either the old content or the new, never half of one.

Decides: the order write, sync, rename, sync the folder; that a file of ours is readable by its owner only.
Leaves to others: what the bytes mean. A disk that fails is a StorageError; when it fails after the renaming,
the sentence says that old or new content may lie there, because no program can know.

Shape: the calls of one `put`, in order:
    unlink(.NAME.new)  open(.NAME.new, O_EXCL, 0600)  write  fsync  close  rename(.NAME.new, NAME)
    open(FOLDER)  fsync  close

>>> import tempfile
>>> path = Path(tempfile.mkdtemp()) / "keys.json"
>>> with held(path.parent):
...     put(path, b"new")
>>> get(path, "put it back from a backup")
b'new'
"""

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from ledger.errors import StorageError

try:
    from fcntl import LOCK_EX, flock
except ImportError:  # Windows has neither flock nor folders that can be opened
    _FOLDERS_OPEN = False
else:
    _FOLDERS_OPEN = True


def put(path: Path, data: bytes, *, mark: str = "") -> None:
    """The file now holds exactly these bytes, also after a power cut; mode 0600.

    mark: goes into the name of the unfinished file, so that two writers of one name do not meet.
    Raises: StorageError. Before the renaming the old content is untouched.
    """
    unfinished = path.with_name(f".{path.name}{mark}.new")
    try:
        _write(unfinished, data)
    except OSError as error:
        _clear(unfinished)
        raise StorageError(
            path=path,
            why=f"could not be written ({error.strerror}); nothing was changed, make room or mend the disk "
            "and do it again",
        ) from None
    try:
        # The commit point: after this call a reader sees the new content.
        os.replace(unfinished, path)
        sync_folder(path.parent)
    except OSError as error:
        _clear(unfinished)
        raise StorageError(
            path=path,
            why=f"the disk failed while it was put in place ({error.strerror}); it may hold the old or the "
            "new content, either whole: look before you do it again",
        ) from None


def _clear(unfinished: Path) -> None:
    with suppress(OSError):  # the disk fails already, and the sentence about that comes first
        unfinished.unlink(missing_ok=True)


def _write(path: Path, data: bytes) -> None:
    path.unlink(missing_ok=True)  # left by a crash
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o600)
    try:
        rest = memoryview(data)
        while rest:
            rest = rest[os.write(handle, rest) :]
        os.fsync(handle)
    finally:
        os.close(handle)


def sync_folder(folder: Path) -> None:
    """The names in a folder are on the disk. Raises: OSError. Does nothing where folders cannot be opened."""
    if not _FOLDERS_OPEN:
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def make_folder(folder: Path) -> None:
    """The folder exists (mode 0700) and its name is on the disk. Its parent must exist. Raises: StorageError."""
    try:
        folder.mkdir(mode=0o700, exist_ok=True)
        sync_folder(folder.parent)  # also when it was there: who made it may have died before this
    except OSError as error:
        raise StorageError(
            path=folder, why=f"the folder could not be made or kept ({error.strerror}); mend this and do it again"
        ) from None


def get(path: Path, missing: str) -> bytes:
    """The bytes of a file. `missing` ends the sentence when there is none. Raises: StorageError."""
    try:
        return path.read_bytes()
    except FileNotFoundError:
        raise StorageError(path=path, why=missing) from None
    except OSError as error:
        raise StorageError(path=path, why=f"could not be read ({error.strerror}); mend this and do it again") from None


@contextmanager
def held(folder: Path) -> Iterator[None]:
    """One process at a time reads and rewrites a file of this folder. Raises: StorageError."""
    if not _FOLDERS_OPEN:
        yield
        return
    try:
        handle = os.open(folder, os.O_RDONLY)
    except OSError as error:
        raise StorageError(
            path=folder, why=f"the folder could not be opened ({error.strerror}); name one that exists"
        ) from None
    try:
        flock(handle, LOCK_EX)
        yield
    finally:
        os.close(handle)
