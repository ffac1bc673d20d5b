"""Files are whole at every moment, on disks that fail and on disks that fail but wrote."""

import errno
import importlib.util
import os
import stat
import sys
import threading
from collections.abc import Callable
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from ledger.errors import StorageError
from ledger.vault import durable_files


def failing(times_before: int = 0) -> Callable[..., None]:
    """A call of the system that works so many times and then reports a full disk without doing anything."""
    left = [times_before]

    def call(*_: Any, **__: Any) -> None:
        if left[0] == 0:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        left[0] -= 1

    return call


def failing_after(real: Callable[..., Any]) -> Callable[..., None]:
    """A call of the system that does its work and then reports that it failed."""

    def call(*given: Any, **named: Any) -> None:
        real(*given, **named)
        raise OSError(errno.EIO, os.strerror(errno.EIO))

    return call


class TestPut:
    """Files that are whole after a power cut: either the old content or the new, never half of one."""

    def test_a_file_holds_what_was_put_and_is_its_owners_only(self, tmp_path: Path) -> None:
        path = tmp_path / "keys.json"
        durable_files.put(path, b"old")
        durable_files.put(path, b"new" * 100_000)
        assert path.read_bytes() == b"new" * 100_000
        assert stat.S_IMODE(path.stat().st_mode) == 0o600
        assert os.listdir(tmp_path) == ["keys.json"]

    def test_the_calls_come_in_the_order_that_survives_a_power_cut(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        # Source: fsync(2) of the Linux manual: syncing a file does not sync the folder that names it.
        calls: list[str] = []
        for name in ("open", "write", "fsync", "close", "replace"):
            real = getattr(os, name)

            def told(*given: Any, _name: str = name, _real: Any = real) -> Any:
                calls.append(_name)
                return _real(*given)

            monkeypatch.setattr(os, name, told)
        durable_files.put(tmp_path / "keys.json", b"new")
        assert calls == ["open", "write", "fsync", "close", "replace", "open", "fsync", "close"]

    def test_a_short_write_is_carried_on(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        real = os.write
        monkeypatch.setattr(os, "write", lambda handle, data: real(handle, bytes(data)[:2]))
        durable_files.put(tmp_path / "keys.json", b"seven b")
        assert (tmp_path / "keys.json").read_bytes() == b"seven b"

    @pytest.mark.parametrize("call", ["open", "write", "fsync"])
    def test_a_disk_that_fails_leaves_the_old_content_and_nothing_else(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, call: str
    ) -> None:
        path = tmp_path / "keys.json"
        durable_files.put(path, b"old")
        with monkeypatch.context() as patched:
            patched.setattr(os, call, failing())
            with pytest.raises(StorageError) as caught:
                durable_files.put(path, b"new")
        assert str(caught.value) == (
            f"{path}: could not be written (No space left on device); nothing was changed, make room or mend the "
            "disk and do it again."
        )
        assert path.read_bytes() == b"old"
        assert os.listdir(tmp_path) == ["keys.json"]

    def test_a_disk_that_fails_but_wrote_leaves_whole_new_content_and_says_so(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        path = tmp_path / "keys.json"
        durable_files.put(path, b"old")
        monkeypatch.setattr(os, "replace", failing_after(os.replace))
        with pytest.raises(StorageError, match="it may hold the old or the new content, either whole"):
            durable_files.put(path, b"new")
        assert path.read_bytes() == b"new"

    def test_a_disk_that_cannot_rename_leaves_the_old_content(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        path = tmp_path / "keys.json"
        durable_files.put(path, b"old")
        monkeypatch.setattr(os, "replace", failing())
        with pytest.raises(StorageError, match="it may hold the old or the new content, either whole"):
            durable_files.put(path, b"new")
        assert path.read_bytes() == b"old"
        assert os.listdir(tmp_path) == ["keys.json"]

    def test_a_folder_that_cannot_be_synced_is_no_success(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(os, "fsync", failing(times_before=1))
        with pytest.raises(StorageError, match="failed while it was put in place"):
            durable_files.put(tmp_path / "keys.json", b"new")

    def test_what_a_crash_left_half_written_is_in_nobodys_way(self, tmp_path: Path) -> None:
        (tmp_path / ".keys.json.new").write_bytes(b"hal")
        durable_files.put(tmp_path / "keys.json", b"new")
        assert os.listdir(tmp_path) == ["keys.json"]


class TestFolders:
    """The folder exists (mode 0700) and its name is on the disk."""

    def test_a_folder_is_made_once_and_for_its_owner(self, tmp_path: Path) -> None:
        durable_files.make_folder(tmp_path / "pictures")
        durable_files.make_folder(tmp_path / "pictures")
        assert stat.S_IMODE((tmp_path / "pictures").stat().st_mode) == 0o700

    def test_a_folder_without_a_parent_is_not_made(self, tmp_path: Path) -> None:
        with pytest.raises(StorageError, match="could not be made"):
            durable_files.make_folder(tmp_path / "no" / "pictures")

    def test_a_folder_whose_name_may_be_lost_is_synced_by_whoever_finds_it(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(os, "fsync", failing())
        for _ in range(2):
            with pytest.raises(StorageError, match="could not be made or kept"):
                durable_files.make_folder(tmp_path / "pictures")
        monkeypatch.undo()
        durable_files.make_folder(tmp_path / "pictures")


class TestGet:
    """The bytes of a file. `missing` ends the sentence when there is none."""

    def test_a_missing_file_is_told_in_the_callers_words(self, tmp_path: Path) -> None:
        with pytest.raises(StorageError) as caught:
            durable_files.get(tmp_path / "keys.json", "put back the newest keys backup")
        assert str(caught.value) == f"{tmp_path}/keys.json: put back the newest keys backup."

    def test_a_folder_in_its_place_is_no_file(self, tmp_path: Path) -> None:
        with pytest.raises(StorageError, match="could not be read"):
            durable_files.get(tmp_path, "missing")


class TestHeld:
    """One process at a time reads and rewrites a file of this folder."""

    def test_a_second_writer_waits_for_the_first(self, tmp_path: Path) -> None:
        order: list[str] = []

        def second() -> None:
            with durable_files.held(tmp_path):
                order.append("second")

        waiting = threading.Thread(target=second)
        with durable_files.held(tmp_path):
            waiting.start()
            waiting.join(0.05)
            order.append("first")
        waiting.join()
        assert order == ["first", "second"]

    def test_a_folder_that_is_not_there_cannot_be_held(self, tmp_path: Path) -> None:
        with (
            pytest.raises(StorageError, match="could not be opened"),
            durable_files.held(tmp_path / "nowhere"),
        ):
            raise AssertionError("held a folder that is not there")


class TestWithoutFlock:
    """Windows has neither flock nor folders that can be opened."""

    def test_files_are_written_all_the_same(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setitem(sys.modules, "fcntl", None)
        other = _a_second_copy()
        monkeypatch.setattr(os, "fsync", failing(times_before=1))  # the file's own
        with other.held(tmp_path):
            other.put(tmp_path / "keys.json", b"new")
        assert (tmp_path / "keys.json").read_bytes() == b"new"


def _a_second_copy() -> ModuleType:
    spec = importlib.util.spec_from_file_location("durable_files_elsewhere", durable_files.__file__)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module
