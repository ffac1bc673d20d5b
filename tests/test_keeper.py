"""The key keeper hands keys to its own user only, for a while only, and through the socket only."""

import io
import os
import re
import runpy
import shutil
import signal
import socket
import stat
import struct
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from ledger.errors import LockedError, StorageError
from ledger.vault import keeper, opened
from ledger.vault.opened import OpenKeys

BOOK = "counterfoil/" + "0" * 31 + "7"
SIGNING = bytes(range(32))
SECRETS = opened.Secrets(b"canary slot key 0123456789abcdef", bytes(32), SIGNING, {"e1": bytes(32)}, bytes(32))
KEYS = opened.opened("ada", "owner", BOOK, "e1", SECRETS)


@pytest.fixture
def path() -> Iterator[Path]:
    """Where a keeper listens: in a folder with a short name, mode 0700."""
    base = Path(tempfile.mkdtemp(prefix="cf"))
    yield keeper.socket_path_for(BOOK, base)
    shutil.rmtree(base)


class Served:
    """A keeper in a thread, with a clock that the test moves."""

    def __init__(self, path: Path, idle_seconds: float = 60) -> None:
        self.moment = 0.0
        self.path = path
        self.listens = threading.Event()
        self.thread = threading.Thread(target=self._serve, args=(idle_seconds,))

    def _serve(self, idle_seconds: float) -> None:
        keeper.serve(KEYS, self.path, idle_seconds, now=self._now)

    def _now(self) -> float:
        self.listens.set()  # a keeper looks at the clock when it has begun to listen
        return self.moment

    def __enter__(self) -> "Served":
        self.thread.start()
        assert self.listens.wait(10)
        return self

    def __exit__(self, *_: object) -> None:
        keeper.dismiss(self.path)
        self.thread.join()


def same(one: OpenKeys | None, other: OpenKeys) -> bool:
    return one is not None and one.to_bytes() == other.to_bytes()


class TestHandingOver:
    """A process of the same user, through a socket of mode 0600 in a folder of mode 0700."""

    def test_keys_are_fetched_as_often_as_asked(self, path: Path) -> None:
        with Served(path):
            assert all(same(keeper.fetch(path), KEYS) for _ in range(3))

    def test_the_socket_and_its_folder_are_their_users_only(self, path: Path) -> None:
        shutil.rmtree(path.parent)
        with Served(path):
            assert stat.S_IMODE(path.stat().st_mode) == 0o600
            assert stat.S_ISSOCK(path.stat().st_mode)
            assert stat.S_IMODE(path.parent.stat().st_mode) == 0o700

    def test_where_no_keeper_runs_there_are_no_keys(self, path: Path) -> None:
        assert keeper.fetch(path) is None
        assert keeper.dismiss(path) is False
        assert keeper.fetch(path.parent / "nowhere" / "x.sock") is None

    def test_what_a_killed_keeper_left_is_no_keeper_and_in_nobodys_way(self, path: Path) -> None:
        left = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
        left.bind(str(path))
        left.close()
        assert keeper.fetch(path) is None
        with Served(path):
            assert same(keeper.fetch(path), KEYS)

    def test_a_second_keeper_of_a_book_is_refused(self, path: Path) -> None:
        with Served(path):
            with pytest.raises(StorageError) as caught:
                keeper.serve(KEYS, path, 60)
            assert str(caught.value) == (
                f"{path}: a key keeper of this book runs already; run `counterfoil lock` first."
            )
            assert same(keeper.fetch(path), KEYS)

    def test_each_book_has_its_own_and_the_name_says_nothing(self, path: Path) -> None:
        other = keeper.socket_path_for(BOOK[:-1] + "8", path.parent)
        assert other != path
        assert "counterfoil" not in path.name
        assert len(path.name) == 21

    def test_a_path_that_no_socket_can_have_is_refused(self, path: Path) -> None:
        # Source: unix(7) of the Linux manual: 108 bytes with the final zero; Darwin's sys/un.h: 104.
        longest = path.parent / ("x" * (100 - len(str(path.parent)) - 1 - 22))
        assert len(str(keeper.socket_path_for(BOOK, longest))) == 100
        with pytest.raises(StorageError, match="too long for a socket; name a folder with a shorter path"):
            keeper.socket_path_for(BOOK, longest.with_name(longest.name + "x"))


class TestIdle:
    """Each hand-over starts the idle limit again, and time asleep counts."""

    def test_nobody_asks_and_the_keys_are_gone(self, path: Path) -> None:
        started = time.monotonic()
        keeper.serve(KEYS, path, 0.02)
        assert 0.02 <= time.monotonic() - started < 2
        assert not path.exists()
        assert keeper.fetch(path) is None

    def test_each_asking_starts_the_limit_again(self, path: Path) -> None:
        with Served(path, 60) as served:
            for _ in range(3):
                served.moment += 59
                assert same(keeper.fetch(path), KEYS)

    def test_a_machine_that_slept_past_the_limit_hands_out_nothing(self, path: Path) -> None:
        with Served(path, 60) as served:
            served.moment += 60
            assert keeper.fetch(path) is None
            served.thread.join()
            assert not path.exists()

    def test_asking_for_something_else_does_not_start_it_again(self, path: Path) -> None:
        with Served(path, 60) as served:
            served.moment += 59
            assert talk(path, b"") == b""
            assert talk(path, b"fetch please") == b""
            served.moment += 1
            assert keeper.fetch(path) is None

    def test_the_clock_goes_on_while_the_machine_sleeps_where_the_system_counts_that(self) -> None:
        # Source: clock_gettime(2) of the Linux manual: CLOCK_BOOTTIME includes time in suspension.
        before = time.clock_gettime(time.CLOCK_BOOTTIME)
        assert before <= keeper.clock() <= time.clock_gettime(time.CLOCK_BOOTTIME)

    def test_without_such_a_clock_the_steady_one_is_taken(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.delattr(time, "CLOCK_BOOTTIME")
        before = time.monotonic()
        assert before <= keeper.clock() <= time.monotonic()


def talk(path: Path, word: bytes) -> bytes:
    """What a keeper answers to a word of a stranger's program."""
    with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as side:
        side.settimeout(5)
        side.connect(str(path))
        try:
            side.sendall(word)
            side.shutdown(socket.SHUT_WR)
            return side.recv(100_000)
        except OSError:  # closed without listening to the word
            return b""


class TestDismissing:
    """Whether a keeper ran and has forgotten the keys."""

    def test_a_dismissed_keeper_is_gone_when_it_answers(self, path: Path) -> None:
        with Served(path):
            assert keeper.dismiss(path) is True
            assert not path.exists()
            assert keeper.fetch(path) is None
            assert keeper.dismiss(path) is False


class TestOtherUsers:
    """What such a keeper handed out could be a stranger's keys."""

    def other_user(self, monkeypatch: pytest.MonkeyPatch, at: int) -> None:
        """The side that asks the system for the at-th time is told that the other side is another user."""
        asked = iter(range(1_000))
        real = socket.socket.getsockopt

        def told(side: socket.socket, level: int, option: int, size: int) -> Any:
            answer = real(side, level, option, size)
            if next(asked) == at:
                process, user, group = struct.unpack("iII", answer)
                return struct.pack("iII", process, user + 1, group)
            return answer

        monkeypatch.setattr(socket.socket, "getsockopt", told)

    def test_a_keeper_of_another_user_is_not_believed(self, path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        with Served(path):
            monkeypatch.setattr(keeper, "_same_user", lambda talk: False)
            with pytest.raises(StorageError, match="another user listens here; remove it and unlock again"):
                keeper.fetch(path)
            monkeypatch.undo()

    def test_another_user_gets_nothing(self, path: Path) -> None:
        """The keeper is told that whoever asks has another number."""
        with Served(path), pytest.MonkeyPatch.context() as patched:
            self.other_user(patched, 0)
            assert talk(path, b"fetch") == b""
            assert talk(path, b"fetch") == KEYS.to_bytes()

    def test_where_the_system_does_not_tell_the_folders_mode_must_do(
        self, path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        with Served(path):
            monkeypatch.delattr(socket, "SO_PEERCRED")
            assert same(keeper.fetch(path), KEYS)

    def test_a_folder_that_others_can_enter_is_refused_on_both_sides(self, path: Path) -> None:
        with Served(path):
            path.parent.chmod(0o755)
            with pytest.raises(StorageError, match="yours and closed to others"):
                keeper.fetch(path)
            path.parent.chmod(0o700)
        path.parent.chmod(0o710)
        with pytest.raises(StorageError, match="yours and closed to others"):
            keeper.serve(KEYS, path, 60)

    def test_a_folder_that_is_another_users_or_a_link_is_refused(
        self, path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        link = path.parent / "link"
        link.symlink_to(path.parent)
        with pytest.raises(StorageError, match="yours and closed to others"):
            keeper.serve(KEYS, link / path.name, 60)
        user = os.geteuid()
        monkeypatch.setattr(os, "geteuid", lambda: user + 1)
        with pytest.raises(StorageError, match="yours and closed to others"):
            keeper.serve(KEYS, path, 60)


class TestBadCompany:
    """Whoever connects and says nothing is left alone."""

    def test_a_client_that_says_nothing_holds_nobody_up_for_long(
        self, path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(keeper, "_TALK_SECONDS", 0.4)
        with Served(path):
            silent = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
            silent.connect(str(path))
            time.sleep(0.2)
            assert same(keeper.fetch(path), KEYS)
            silent.close()

    def test_a_client_that_goes_away_leaves_the_keeper_standing(self, path: Path) -> None:
        with Served(path):
            hasty = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
            hasty.connect(str(path))
            hasty.sendall(b"fetch")
            hasty.close()
            assert same(keeper.fetch(path), KEYS)

    def test_a_keeper_that_breaks_off_is_as_none(self, path: Path) -> None:
        assert answered_by(path, b"") is None

    def test_a_keeper_that_answers_something_else_is_not_believed(self, path: Path) -> None:
        with pytest.raises(LockedError, match="run `counterfoil lock` and `counterfoil unlock`"):
            answered_by(path, b"something else")

    def test_a_keeper_that_hangs_is_as_none(self, path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(keeper, "_TALK_SECONDS", 0.05)
        with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as listener:
            listener.bind(str(path))
            listener.listen()
            assert keeper.fetch(path) is None

    def test_an_answer_that_finds_nobody_is_no_hand_over(self) -> None:
        one, other = socket.socketpair()
        other.close()
        with one:
            assert keeper._say(one, b"x" * 1_000_000) is False


def answered_by(path: Path, answer: bytes) -> OpenKeys | None:
    """What a command makes of a keeper that answers this."""
    with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as listener:
        listener.bind(str(path))
        listener.listen()

        def answers() -> None:
            side, _ = listener.accept()
            with side:
                side.recv(16)
                side.sendall(answer)

        thread = threading.Thread(target=answers)
        thread.start()
        try:
            return keeper.fetch(path)
        finally:
            thread.join()


class TestWithoutSockets:
    """Windows has no such sockets: there each command asks."""

    def test_a_keeper_is_refused_and_there_are_no_keys(self, path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.delattr(socket, "AF_UNIX")
        with pytest.raises(StorageError, match="this system has no key keeper; use `--unlock-with`"):
            keeper.serve(KEYS, path, 60)
        assert keeper.fetch(path) is None
        assert keeper.dismiss(path) is False

    def test_a_socket_that_cannot_be_made_says_why(self, path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        with pytest.raises(StorageError, match="no socket could be made"):
            keeper.serve(KEYS, Path("/proc/nowhere/x.sock"), 60)

        def fails(*_: object) -> None:
            raise OSError(28, "No space left on device")

        monkeypatch.setattr(Path, "chmod", fails)
        with pytest.raises(StorageError, match=r"no socket could be made \(No space left on device\)"):
            keeper.serve(KEYS, path, 60)


class TestProcess:
    """`start` leaves one behind: detached, keys through its standard input and never a command line."""

    def test_it_outlives_the_command_that_started_it(self, path: Path) -> None:
        lines = (
            "import sys; from pathlib import Path; from ledger.vault import keeper, opened;"
            "keys = opened.OpenKeys.from_bytes(sys.stdin.buffer.read());"
            "print(keeper.start(keys, Path(sys.argv[1]), 60))"
        )
        done = subprocess.run(
            [sys.executable, "-c", lines, str(path)], input=KEYS.to_bytes(), capture_output=True, check=True
        )
        process = int(done.stdout)
        try:
            assert os.getsid(process) == process
            assert same(keeper.fetch(path), KEYS)
            for place in ("cmdline", "environ"):
                content = Path(f"/proc/{process}/{place}").read_bytes()
                for secret in (SECRETS.slot, SECRETS.slot.hex().encode(), SIGNING.hex().encode()):
                    assert secret not in content
            assert re.search(r"Max core file size +0 +0 ", Path(f"/proc/{process}/limits").read_text())
            assert {os.readlink(f"/proc/{process}/fd/{stream}") for stream in range(3)} == {os.devnull}
            with pytest.raises(StorageError) as caught:
                keeper.start(KEYS, path, 60)
            assert str(caught.value) == (
                f"{path}: a key keeper of this book runs already; run `counterfoil lock` first."
            )
        finally:
            assert keeper.dismiss(path) is True
        _gone(process)

    def test_a_killed_keeper_is_replaced(self, path: Path) -> None:
        process = keeper.start(KEYS, path, 60)
        os.kill(process, signal.SIGKILL)
        _gone(process)
        assert keeper.fetch(path) is None
        keeper.start(KEYS, path, 60)
        assert same(keeper.fetch(path), KEYS)
        assert keeper.dismiss(path) is True

    def test_an_idle_keeper_ends(self, path: Path) -> None:
        _gone(keeper.start(KEYS, path, 0.05))
        assert not path.exists()

    def test_one_that_says_nothing_is_told_so(self, path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(sys, "executable", shutil.which("false"))
        with pytest.raises(StorageError, match="the key keeper did not start"):
            keeper.start(KEYS, path, 60)

    def test_what_is_no_opened_keys_starts_nothing(
        self, path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
    ) -> None:
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(b"canary")))
        assert keeper.main([str(path), "60"]) == LockedError.exit_code
        said = capsys.readouterr().err
        assert "canary" not in said
        assert "run `counterfoil lock` and `counterfoil unlock`" in said

    @pytest.mark.parametrize("child", [True, False])
    def test_both_halves_of_the_start_end_well(
        self, path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], child: bool
    ) -> None:
        """The two sides of the fork, each in this process; leaving the terminal is only noted."""
        import resource

        noted: list[str] = []
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(KEYS.to_bytes())))
        monkeypatch.setattr(os, "fork", lambda: 0 if child else 4711)
        monkeypatch.setattr(os, "setsid", lambda: noted.append("setsid"))
        monkeypatch.setattr(os, "dup2", lambda _, stream: noted.append(f"close {stream}"))
        monkeypatch.setattr(resource, "setrlimit", lambda *_: noted.append("no core"))
        monkeypatch.setattr(sys, "argv", ["keeper", str(path), "0.02"])
        with pytest.raises(SystemExit) as ended:
            runpy.run_path(keeper.__file__, run_name="__main__")
        assert ended.value.code == 0
        assert noted == (["setsid", "no core", "close 0", "close 1", "close 2"] if child else [])
        assert capsys.readouterr().out == ("" if child else "4711\n")


def _gone(process: int) -> None:
    """Waits until a process has ended (one that nobody waits for may stay as a name)."""
    until = time.monotonic() + 10
    while time.monotonic() < until:
        try:
            state = Path(f"/proc/{process}/stat").read_text().rsplit(")", 1)[1].split()[0]
        except FileNotFoundError:
            return
        if state == "Z":
            return
        time.sleep(0.01)
    raise AssertionError(f"process {process} still runs")
