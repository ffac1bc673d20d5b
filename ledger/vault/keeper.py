"""The key keeper: a process that holds a book's opened keys, so that commands need no pass-phrase each time.

Decides: who gets the keys (a process of the same user, through a socket of mode 0600 in a folder of mode 0700),
for how long (an idle limit: each hand-over starts it again, and time asleep counts), how they are dismissed.
Leaves to others: who opened the book (`keys_file`), the commands `unlock` and `lock` (faces), whether the keys
still are the newest (`keys_file.check_current`). Windows has no such sockets: there each command asks.

Keys reach the keeper through its standard input and leave it through the socket: never through a command line
or the environment. `start` leaves one behind; it runs `python -P -m ledger.vault.keeper SOCKET IDLE_SECONDS`,
which returns when the socket listens and prints the process number of the keeper.

Shape: of a talk, one for each connection: the client says b"fetch" or b"dismiss" and closes its side; the
keeper says `OpenKeys.to_bytes()` or b"dismissed", and closes.

>>> path = socket_path_for("counterfoil/" + "0" * 32, Path("/run/user/1000/counterfoil"))
>>> path.name
'fe9c4ef304064ee9.sock'
>>> fetch(path) is None   # nobody has run `start(keys, path, 900)`
True
"""

import hashlib
import os
import socket
import stat
import struct
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

from ledger.errors import LedgerError, StorageError
from ledger.vault.opened import OpenKeys

_LONGEST_PATH = 100  # bytes; a socket's address holds 104 on macOS and 108 on Linux, with its final zero
_TALK_SECONDS = 2.0  # then whoever connected and says nothing is left alone
_LOOK_SECONDS = 20.0  # a machine that slept over the idle limit finds that out this late
_LONGEST_WORD = 16
_FETCH, _DISMISS, _DISMISSED = b"fetch", b"dismiss", b"dismissed"


def clock() -> float:
    """Seconds, counted while the machine sleeps too where the system can."""
    return time.clock_gettime(getattr(time, "CLOCK_BOOTTIME", time.CLOCK_MONOTONIC))


def socket_path_for(book: str, base: Path) -> Path:
    """Where the keeper of a book listens: a short name that says nothing about the book.

    base: a folder of this user alone (mode 0700), such as one in the user's runtime folder.
    Raises: StorageError when the path is longer than a socket's address can be.
    """
    path = base / (hashlib.sha256(book.encode()).hexdigest()[:16] + ".sock")
    if len(os.fsencode(path)) > _LONGEST_PATH:
        raise StorageError(path=path, why="this is too long for a socket; name a folder with a shorter path")
    return path


# The keeper's side.


def serve(keys: OpenKeys, socket_path: Path, idle_seconds: float, *, now: Callable[[], float] = clock) -> None:
    """Hands the keys over until nobody has asked for `idle_seconds`, or until dismissed; returns then.

    Raises: StorageError on Windows, when a keeper listens there already, when the folder is open to others.
    """
    _hand_over(keys.to_bytes(), _listening(socket_path), socket_path, idle_seconds, now)


def _listening(socket_path: Path) -> socket.socket:
    if not hasattr(socket, "AF_UNIX"):
        raise StorageError(
            path=socket_path,
            why="this system has no key keeper; use `--unlock-with` with each command instead",
        )
    try:
        socket_path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        _check_ours(socket_path.parent)
        if (runs := _connect(socket_path)) is not None:
            runs.close()
            raise StorageError(
                path=socket_path, why="a key keeper of this book runs already; run `counterfoil lock` first"
            )
        socket_path.unlink(missing_ok=True)
        listener = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
        try:
            listener.bind(str(socket_path))
            socket_path.chmod(0o600)
            listener.listen()
        except OSError:
            listener.close()
            raise
    except OSError as error:
        raise StorageError(
            path=socket_path, why=f"no socket could be made ({error.strerror}); name another folder"
        ) from None
    return listener


def _hand_over(
    packed: bytes,
    listener: socket.socket,
    socket_path: Path,
    idle_seconds: float,
    now: Callable[[], float],
) -> None:
    until = now() + idle_seconds
    with listener:
        while (left := until - now()) > 0:
            listener.settimeout(min(left, _LOOK_SECONDS))
            try:
                talk, _ = listener.accept()
            except TimeoutError:
                continue
            with talk:
                asked = _asked(talk)
                if asked == _DISMISS:
                    # Before the answer: whoever hears it may start the next keeper at once.
                    socket_path.unlink(missing_ok=True)
                    _say(talk, _DISMISSED)
                    return
                # The machine may have slept while this was waiting.
                if asked == _FETCH and now() < until and _say(talk, packed):
                    until = now() + idle_seconds
        socket_path.unlink(missing_ok=True)


def _asked(talk: socket.socket) -> bytes:
    """What the other side asks; nothing when it is another user, or says nothing for too long."""
    talk.settimeout(_TALK_SECONDS)
    if not _same_user(talk):
        return b""
    try:
        return _heard(talk, _LONGEST_WORD)
    except OSError:
        return b""


def _say(talk: socket.socket, words: bytes) -> bool:
    """Whether the other side took it all."""
    try:
        talk.sendall(words)
    except OSError:
        return False
    return True


# The commands' side.


def fetch(socket_path: Path) -> OpenKeys | None:
    """The opened keys, or None when no keeper runs (any more).

    Raises: StorageError when the folder is open to others, or another user listens there: what such a keeper
    handed out could be a stranger's keys. LockedError when a keeper of another version answers.
    """
    packed = _ask(socket_path, _FETCH)
    return OpenKeys.from_bytes(packed) if packed else None


def dismiss(socket_path: Path) -> bool:
    """Whether a keeper ran and has forgotten the keys. Raises: StorageError as `fetch` does."""
    return _ask(socket_path, _DISMISS) == _DISMISSED


def _ask(socket_path: Path, word: bytes) -> bytes:
    """What the keeper answers; nothing when there is none."""
    if not hasattr(socket, "AF_UNIX") or not socket_path.exists():
        return b""
    _check_ours(socket_path.parent)
    talk = _connect(socket_path)
    if talk is None:
        return b""
    with talk:
        if not _same_user(talk):
            raise StorageError(path=socket_path, why="another user listens here; remove it and unlock again")
        try:
            talk.sendall(word)
            talk.shutdown(socket.SHUT_WR)
            return _heard(talk, None)
        except OSError:
            return b""


def _connect(socket_path: Path) -> socket.socket | None:
    talk = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
    talk.settimeout(_TALK_SECONDS)
    try:
        talk.connect(str(socket_path))
    except OSError:  # nobody made it, or who made it is gone
        talk.close()
        return None
    return talk


def _heard(talk: socket.socket, most: int | None) -> bytes:
    """All the other side says until it closes, at most so many bytes."""
    heard = b""
    while (most is None or len(heard) < most) and (more := talk.recv(65_536 if most is None else most)):
        heard += more
    return heard


def _check_ours(folder: Path) -> None:
    """Nothing, when the folder is this user's and closed to all others. Raises: StorageError."""
    found = folder.lstat()
    if not stat.S_ISDIR(found.st_mode) or found.st_uid != os.geteuid() or found.st_mode & 0o077:
        raise StorageError(
            path=folder,
            why="a key keeper needs a folder that is yours and closed to others (mode 0700); name another",
        )


def _same_user(talk: socket.socket) -> bool:
    """Whether the other side runs as this user; where the system does not tell, the folder's mode must do."""
    asks = getattr(socket, "SO_PEERCRED", None)
    if asks is None:
        return True
    shape = struct.Struct("iII")  # process, user, group
    _, user, _ = shape.unpack(talk.getsockopt(socket.SOL_SOCKET, asks, shape.size))
    return bool(user == os.geteuid())


# The process of its own.


def start(keys: OpenKeys, socket_path: Path, idle_seconds: float) -> int:
    """The process number of a keeper that listens now and outlives this command.

    Raises: StorageError as `serve` does; its sentence is the keeper's own.
    """
    here = Path(__file__).resolve().parents[2]
    # -P keeps modules of the folder one stands in away; a bare checkout then has to be named.
    done = subprocess.run(
        [sys.executable, "-P", "-m", "ledger.vault.keeper", str(socket_path.absolute()), str(idle_seconds)],
        input=keys.to_bytes(),
        capture_output=True,
        cwd="/",
        env=os.environ | {"PYTHONPATH": str(here)},
        check=False,
    )
    if done.returncode != 0:
        said = done.stderr.decode(errors="replace").strip().splitlines() or ["the key keeper did not start"]
        raise StorageError(path=socket_path, why=said[-1].removeprefix(f"{socket_path.absolute()}: ").removesuffix("."))
    return int(done.stdout)


def main(arguments: list[str]) -> int:
    """The keeper as a process: keys on standard input, its number on standard output. Result: exit code."""
    socket_path, idle_seconds = Path(arguments[0]), float(arguments[1])
    try:
        packed = OpenKeys.from_bytes(sys.stdin.buffer.read()).to_bytes()
        listener = _listening(socket_path)
    except LedgerError as error:
        print(error, file=sys.stderr)
        return error.exit_code
    keeper = os.fork()
    if keeper:
        print(keeper)
        listener.close()
        return 0
    _leave_behind()
    _hand_over(packed, listener, socket_path, idle_seconds, clock)
    return 0


def _leave_behind() -> None:
    """No terminal, no open pipes, no core file with keys in it."""
    import resource

    os.setsid()
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    nothing = os.open(os.devnull, os.O_RDWR)
    for stream in (0, 1, 2):
        os.dup2(nothing, stream)
    os.close(nothing)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
