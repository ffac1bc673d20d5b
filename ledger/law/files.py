"""A rule file: bytes in, rules out, or every fault at once with its line and what to write instead.

Decides: whether a file can be used, and where exactly it cannot. Leaves the form to `ledger.law.form`, what
rules mean to `ledger.law.building`, disks to whoever hands in the bytes. Unknown keys are faults: a misspelt
key would otherwise be a rule that silently does not exist.

>>> read(b'format = "rules/0"\\nlayer = "town"\\n', "sample.toml")
Traceback (most recent call last):
...
ledger.errors.RuleFileWrong: sample.toml cannot be used: line 1: the file needs 'jurisdiction': ...
"""

import hashlib
import re
import tomllib
from collections.abc import Callable, Collection, Iterable, Sequence
from datetime import date
from typing import Any
from zoneinfo import ZoneInfo

from ledger import moments
from ledger.errors import InputError, RuleFileWrong, Spot
from ledger.law import references
from ledger.law.building import Builder
from ledger.law.building_calendar import calendar_of, recipients_of
from ledger.law.building_declared import declared_of
from ledger.law.form import FILE, FORMAT, KINDS
from ledger.law.locating import Places
from ledger.law.rules import LAYERS, RuleFile
from ledger.law.shapes import Fault, ListOf, Path, Table, check, strays

MAX_BYTES = 2_000_000
_INNER = re.compile(r"^[ \t]*\[{1,2}[^\]\n]*\.", re.MULTILINE)
"""a line that opens a table inside another"""
_Place = Callable[[Path], tuple[int, int]]


def read(data: bytes, path: str = "the rule file") -> RuleFile:
    """The rules that the bytes of a file state.

    path: how messages name the file; nothing is opened. Raises: RuleFileWrong with all faults.
    """
    if len(data) > MAX_BYTES:
        says = f"it has {len(data):,} bytes; split what is above {MAX_BYTES:,}."
        raise wrong_at(path, "", [(1, 1, says)])
    text = decoded(data, path)
    try:
        document = tomllib.loads(text)
    except RecursionError as stopped:
        raise unreadable(path, text, stopped) from None
    except ValueError as stopped:
        raise wrong_at(path, text, _unreadable(text, stopped)) from None
    faults: list[Fault] = []
    check(document, FILE, (), faults)
    found = _build(document, faults, hashlib.sha256(data).hexdigest(), path)
    places: Places | None = None
    if _INNER.search(text):
        places = Places(text)
        faults += strays(document, FILE, places.headers)
    if faults or found is None:
        places = places or Places(text)
        raise wrong_at(path, text, _located(faults, places.place))
    return found


def decoded(data: bytes, path: str) -> str:
    """The text of a file. Raises: RuleFileWrong."""
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as stopped:
        line = data.count(b"\n", 0, stopped.start) + 1
        column = stopped.start - data.rfind(b"\n", 0, stopped.start)
        says = "this is not UTF-8 text; save the file as UTF-8."
        shown = data.decode("utf-8", "replace")
        raise wrong_at(path, shown, [(line, column, says)]) from None
    return text.replace("\r\n", "\n")


def wrong_at(path: str, text: str, faults: Iterable[tuple[int, int, str]]) -> RuleFileWrong:
    """The error that names these faults, in the order of lines, each once.

    faults: line, column and what to write. text: what they stand in.
    """
    lines = text.split("\n")
    spots = [
        Spot(line, column, says, lines[line - 1] if line <= len(lines) else "")
        for line, column, says in dict.fromkeys(sorted(faults))
    ]
    return RuleFileWrong(path=path, faults=tuple(f"line {one.line}: {one.says}" for one in spots), spots=tuple(spots))


def unreadable(path: str, text: str, stopped: Exception) -> RuleFileWrong:
    """The error for a text that the standard library's reader could not read, where it stopped."""
    if isinstance(stopped, ValueError):
        from ledger.law import mending

        return wrong_at(path, text, [mending.fault(stopped, text)])
    return wrong_at(path, text, [(1, 1, "brackets stand too deep in each other; remove some.")])


def _located(faults: Iterable[Fault], place: _Place) -> list[tuple[int, int, str]]:
    return [(*place(one.path), one.says) for one in faults]


def _unreadable(text: str, stopped: ValueError) -> list[tuple[int, int, str]]:
    """Faults of a text that is not TOML: where reading stopped, and all that is wrong in every other table.

    What a table that cannot be read may declare is not missed elsewhere.
    """
    from ledger.law import mending
    from ledger.law.piecing import Pieces

    pieces = Pieces(text)
    document = {**_stand_in(pieces.tables(), pieces.currency()), **pieces.document}
    faults: list[Fault] = []
    check(document, FILE, (), faults)
    _build(document, faults, "", "")
    unread = pieces.tables()
    missed = [f"{sign}{name}'" for name in pieces.ids() for sign in "'."]
    missed += ["[calendar]"] if "calendar" in unread else []
    kept = [
        one
        for one in faults
        if not any(name in one.says for name in missed) and ("" not in unread or one.path[:1] not in _HEAD)
    ]
    broken = pieces.broken or [mending.fault(stopped, text)]
    return [(one.line, one.column, one.says) for one in broken] + _located(kept, pieces.place)


_HEAD = frozenset((key.name,) for key in FILE.keys if not isinstance(key.shape, ListOf | Table)) | {()}


def _stand_in(unread: Collection[str], currency: str) -> dict[str, Any]:
    """A head for tables whose own head cannot be read, so that they can be looked at."""
    if "" not in unread:
        return {}
    day = date(2000, 1, 1)
    return {
        "format": FORMAT,
        "jurisdiction": "unread",
        "name": "unread",
        "layer": LAYERS[0],
        "known_from": day,
        "read_on": day,
        "checked_until": day,
        "currency": currency or "XXX",
    }


def _build(document: dict[str, Any], faults: list[Fault], digest: str, path: str) -> RuleFile | None:
    """The rule file; None where the head of the file is at fault. Faults of meaning are added.

    A rule whose table has a fault is left out, so that all other rules are still read for theirs.
    """
    shapeless = [fault.path for fault in faults]
    wrong = frozenset(one[:2] for one in shapeless if len(one) > 1 and one[0] in KINDS)
    tables = {kind: value for kind in KINDS if isinstance(value := document.get(kind), list)}
    currency = document.get("currency", "")
    currency = currency if isinstance(currency, str) else ""
    declared = declared_of(document, currency, faults)
    place = document.get("jurisdiction", "")
    rules = Builder(currency, faults, declared.vocabulary, place).rules(tables, wrong)
    faults += references.faults(document, wrong)
    headless = any(key.need and key.name not in document for key in FILE.keys)
    if headless or any(not one or one[0] not in KINDS for one in shapeless):
        return None
    found = RuleFile(
        digest=digest,
        path=path,
        jurisdiction=document["jurisdiction"],
        name=document["name"],
        layer=document["layer"],
        known_from=document["known_from"],
        read_on=document["read_on"],
        checked_until=document["checked_until"],
        zone=_zone(document, faults),
        currency=currency,
        note=document.get("note", ""),
        calendar=calendar_of(document["calendar"], document["jurisdiction"], faults)
        if "calendar" in document
        else None,
        rules=rules,
        recipients=recipients_of(document.get("recipient", ()), faults),
        declared=declared,
    )
    _head(found, faults)
    return found


def _zone(document: dict[str, Any], faults: list[Fault]) -> ZoneInfo | None:
    if "zone" not in document:
        return None
    try:
        return moments.zone(document["zone"], "zone")
    except InputError as wrong:
        faults.append(Fault(("zone",), f"'zone' is '{wrong.given}'; write {wrong.wanted}."))
        return None


def _head(found: RuleFile, faults: list[Fault]) -> None:
    if found.checked_until < found.read_on:
        says = f"'checked_until' {found.checked_until} lies before 'read_on' {found.read_on}; write a later day."
        faults.append(Fault(("checked_until",), says))
    if found.checked_until < found.known_from:
        says = f"'known_from' {found.known_from} lies after 'checked_until'; write an earlier day."
        faults.append(Fault(("known_from",), says))


# What only some commands need is imported when it is needed, so that the others start fast.


def check_together(files: Sequence[RuleFile]) -> tuple[str, ...]:
    """What does not fit between files that are to govern together, one sentence each."""
    from ledger.law import together

    return together.check_together(files)


def diff(a: RuleFile, b: RuleFile) -> list[str]:
    """Sentences about everything that differs in `b` against `a`; none if nothing a shop notices differs."""
    from ledger.law import differing

    return differing.diff(a, b)
