"""What commands are given beside their options: documents and words from files or standard input, moments, items.

Decides: how a file is told to be JSON or TOML, that a pass-phrase's file must be closed to others, what moment a text
names. Words about people never come through a command line, which others on the machine can read: they come from a
file or from standard input (`-`).
"""

import json
import os
import stat
import sys
import tomllib
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import click

from ledger.cli.options import Asked
from ledger.errors import InputError, LockedError
from ledger.moments import LOCAL_EXAMPLE, parse_day, parse_local

if TYPE_CHECKING:
    from pathlib import Path

MOST_BYTES = 16_000_000
"""No document or picture that a command is given is larger."""


def pass_phrase(asked: Asked) -> str:
    """The pass-phrase or paper key that --unlock-with names.

    Raises: LockedError for a file that others can read; InputError.
    """
    if asked.unlock_with == "-":
        if asked.pass_phrase is None:
            asked.pass_phrase = _first_line(sys.stdin.buffer.readline(), "--unlock-with")
        return asked.pass_phrase
    return _pass_phrase_in(str(asked.unlock_with), "--unlock-with")


def new_pass_phrase(who: str, path: str | None) -> str:
    """A pass-phrase that shall open the book: from a file, or typed twice and never shown.

    Raises: LockedError for a file that others can read, or without file and terminal; InputError.
    """
    if path is not None:
        return _pass_phrase_in(path, "--pass-phrase")
    _must_have_a_terminal()
    said: str = click.prompt(f"New pass-phrase of {who}", hide_input=True, confirmation_prompt=True, err=True)
    return said


def typed_pass_phrase() -> str:
    """The pass-phrase that somebody types now, never shown. Raises: LockedError without a terminal."""
    _must_have_a_terminal()
    said: str = click.prompt("Pass-phrase", hide_input=True, err=True)
    return said


def _must_have_a_terminal() -> None:
    if not sys.stdin.isatty():
        why = "there is no terminal to ask for a pass-phrase; give a file of mode 0600 that holds it"
        raise LockedError(what="The vault", why=why)


def _pass_phrase_in(name: str, field: str) -> str:
    from pathlib import Path

    path = Path(name)
    try:
        with path.open("rb") as file:
            _must_be_ours_alone(path, os.fstat(file.fileno()))
            return _first_line(file.readline(10_000), field)
    except OSError as fault:
        wanted = f"a file that can be read ({fault.strerror})"
        raise InputError(field=field, given=str(path), wanted=wanted) from None


def _must_be_ours_alone(path: "Path", found: os.stat_result) -> None:
    if os.name == "posix" and (found.st_mode & 0o077 or found.st_uid != os.geteuid()):
        mode = stat.S_IMODE(found.st_mode)
        why = f"{path} has mode {mode:04o}, so others may read the pass-phrase; run `chmod 600 {path}` and try again"
        raise LockedError(what="The vault", why=why)


def _first_line(data: bytes, field: str) -> str:
    try:
        return data.decode().rstrip("\r\n")
    except UnicodeDecodeError:
        raise InputError(field=field, given="bytes", wanted="a pass-phrase in UTF-8") from None


def data(asked: Asked, path: str, what: str = "FILE") -> bytes:
    """The bytes of a file, or of standard input for `-`. Raises: InputError."""
    if path == "-":
        if asked.unlock_with == "-":
            pass_phrase(asked)  # its line comes first
        read = sys.stdin.buffer.read(MOST_BYTES + 1)
    else:
        try:
            with open(path, "rb") as file:
                read = file.read(MOST_BYTES + 1)
        except (OSError, ValueError) as fault:
            why = getattr(fault, "strerror", None) or "no such name is possible"
            raise InputError(field=what, given=path, wanted=f"a file that can be read ({why})") from None
    if len(read) > MOST_BYTES:
        raise InputError(field=what, given=path, wanted=f"at most {MOST_BYTES:,} bytes")
    return read


def is_toml(data: bytes, path: str) -> bool:
    """Whether a document is TOML: by its file's extension, else by its first character."""
    extension = os.path.splitext(path)[1].lower()
    if extension in (".toml", ".json"):
        return extension == ".toml"
    return not data.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"{")


def document(asked: Asked, path: str, what: str = "FILE") -> dict[str, Any]:
    """The table that a JSON or TOML file holds; dates and clock times as text. Raises: InputError."""
    read = data(asked, path, what)
    try:
        text = read.decode("utf-8-sig")
        found = tomllib.loads(text) if is_toml(read, path) else json.loads(text, object_pairs_hook=_once)
    except (ValueError, RecursionError) as fault:  # broken UTF-8, JSON or TOML
        wanted = f"JSON or TOML text in UTF-8 ({_where(fault)})"
        raise InputError(field=what, given=path, wanted=wanted) from None
    if not isinstance(found, dict):
        raise InputError(field=what, given=path, wanted="a table of members, not a list or a single value")
    plain: dict[str, Any] = _texts(found)
    return plain


def _where(fault: Exception) -> str:
    """Where the text is broken, without repeating any of it."""
    if isinstance(fault, json.JSONDecodeError):
        return f"line {fault.lineno}, column {fault.colno}"
    if isinstance(fault, UnicodeDecodeError):
        return f"byte {fault.start} is not UTF-8"
    message = str(fault)
    at = message[message.rfind("(at ") :].strip("()") if "(at " in message else ""
    return at or "it is broken or names a member twice"


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError("a member stands twice")
    return found


def _texts(value: Any) -> Any:
    match value:
        case dict():
            return {name: _texts(inner) for name, inner in value.items()}
        case list():
            return [_texts(inner) for inner in value]
        case datetime() | date():
            return value.isoformat()
        case _:
            return value


def texts(document: Mapping[str, Any], *needed: str, optional: Sequence[str] = ()) -> tuple[str, ...]:
    """The texts of these members, in this order; optional ones may be missing and are then empty.

    Raises: InputError for a member that is missing, is no text, or is not one of these.
    """
    known = (*needed, *optional)
    for name in document:
        if name not in known:
            raise InputError(field=name, given=name, wanted="one of " + ", ".join(known))
    found = []
    for name in known:
        text = document.get(name, "")
        if not isinstance(text, str) or (name in needed and not text.strip()):
            raise InputError(field=name, given="nothing" if name not in document else "no text", wanted="text")
        found.append(text)
    return tuple(found)


def free_text(ctx: click.Context, param: click.Parameter, value: str | None) -> str:
    """Callback of an option with free text: as it stands, `-` for standard input, or `@FILE` for what a file says."""
    if value is None:
        return ""
    if value == "-" or value.startswith("@"):
        asked = ctx.find_root().ensure_object(Asked)
        return words(asked, value.removeprefix("@"), param.opts[0])
    return value


def words(asked: Asked, path: str, what: str) -> str:
    """The text of a file or of standard input, its lines joined by spaces. Raises: InputError."""
    try:
        lines = data(asked, path, what).decode("utf-8-sig").split("\n")
    except UnicodeDecodeError as fault:
        wanted = f"text in UTF-8 (byte {fault.start} is not)"
        raise InputError(field=what, given=path, wanted=wanted) from None
    found = " ".join(line.strip() for line in lines if line.strip())
    if not found:
        raise InputError(field=what, given="nothing", wanted="a text")
    return found


def moment(text: str | None, zone: ZoneInfo, now: datetime, field: str = "--at") -> datetime:
    """The local moment that a text names; without a text, now.

    text: with offset and zone, or only day and clock (`2026-11-24 10:15`), then in the shop's zone.
    Raises: InputError for a text that names none, or two because the clocks changed.
    """
    if text is None:
        return now.astimezone(zone).replace(microsecond=0)
    return moment_of(text, zone, field)


def moment_of(text: str, zone: ZoneInfo, field: str) -> datetime:
    """The local moment that a text names, as `moment` reads it. Raises: InputError."""
    if "[" in text:
        return parse_local(text, field)
    try:
        local = datetime.fromisoformat(text)
    except ValueError:
        local = None
    if local is None or local.tzinfo is not None or not 1900 <= local.year <= 2200:
        wanted = f"day and clock in the shop's zone, such as '2026-11-24 10:15', or {LOCAL_EXAMPLE}"
        raise InputError(field=field, given=text, wanted=wanted)
    first, second = (local.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
    if first.utcoffset() != second.utcoffset():
        wanted = f"a clock time that came once that day in {zone.key}; write offset and zone: {LOCAL_EXAMPLE}"
        raise InputError(field=field, given=text, wanted=wanted)
    return first


def day(text: str | None, zone: ZoneInfo, now: datetime, field: str = "day") -> date:
    """The day that a text names; without a text, today in the shop's zone. Raises: InputError."""
    if text is None:
        return now.astimezone(zone).date()
    return parse_day(text, field)
