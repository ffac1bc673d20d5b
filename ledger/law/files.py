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
from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Any
from zoneinfo import ZoneInfo

from ledger import moments
from ledger.errors import InputError, RuleFileWrong
from ledger.law.building import Builder
from ledger.law.building_times import calendar_of, recipients_of
from ledger.law.differing import diff
from ledger.law.form import FILE, KINDS
from ledger.law.locating import HEADER, Places
from ledger.law.rules import Rule, RuleFile
from ledger.law.rules_times import HoldRule, ReportRule, RetainRule
from ledger.law.shapes import Fault, Path, Table, check

__all__ = ["check_together", "diff", "read"]

MAX_BYTES = 2_000_000
_POSITION = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")
_PIECE = Table(FILE.name, tuple(replace(key, need=False) for key in FILE.keys))
"""a part of a file, which need not have what the whole must have"""
_TOP = re.compile(r"\s*\[{1,2}\s*[A-Za-z0-9_-]+\s*\]{1,2}")


def read(data: bytes, path: str = "the rule file") -> RuleFile:
    """The rules that the bytes of a file state.

    path: how messages name the file; nothing is opened. Raises: RuleFileWrong with all faults.
    """
    if len(data) > MAX_BYTES:
        raise RuleFileWrong(
            path=path, faults=(f"line 1: it has {len(data):,} bytes; split what is above {MAX_BYTES:,}.",)
        )
    text = _decoded(data, path)
    try:
        document = tomllib.loads(text)
    except RecursionError:
        raise RuleFileWrong(
            path=path, faults=("line 1: brackets stand too deep in each other; remove some.",)
        ) from None
    except ValueError as wrong:
        raise RuleFileWrong(path=path, faults=tuple(_says(_unreadable(text, wrong)))) from None
    faults: list[Fault] = []
    check(document, FILE, (), faults)
    found = _build(document, faults, hashlib.sha256(data).hexdigest(), path)
    if faults or found is None:
        places = Places(text)
        raise RuleFileWrong(path=path, faults=tuple(_says((places.line(one.path), one.says) for one in faults)))
    return found


def _decoded(data: bytes, path: str) -> str:
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as wrong:
        line = data.count(b"\n", 0, wrong.start) + 1
        raise RuleFileWrong(
            path=path, faults=(f"line {line}: this is not UTF-8 text; save the file as UTF-8.",)
        ) from None
    return text.replace("\r\n", "\n")


def _says(faults: Iterable[tuple[int, str]]) -> list[str]:
    return [f"line {line}: {says}" for line, says in dict.fromkeys(sorted(faults))]


def _unreadable(text: str, wrong: ValueError) -> list[tuple[int, str]]:
    """Faults of a text that is not TOML: the place where reading stopped, and the faults of every other table."""
    faults = [_syntax(wrong, text, 0)]
    starts = [0, *(match.start() for match in HEADER.finditer(text) if _TOP.match(match[0])), len(text)]
    for begin, end in pairwise(starts):
        piece = text[begin:end]
        above = text.count("\n", 0, begin)
        try:
            document = tomllib.loads(piece)
        except ValueError as inner:
            faults.append(_syntax(inner, piece, above))
            continue
        except RecursionError:
            continue
        found: list[Fault] = []
        check(document, _PIECE, (), found)
        places = Places(piece)
        faults += [(above + places.line(one.path), one.says) for one in found]
    return faults


def _syntax(wrong: ValueError, text: str, above: int) -> tuple[int, str]:
    """The line at which the text stops being TOML, and what to look for there."""
    message = str(wrong)
    position = _POSITION.search(message)
    line = int(position[1]) if position and position[1] else text.count("\n") + 1
    said = message[: position.start()] if position else message
    column = f", column {position[2]}" if position and position[2] else ""
    shown = text.splitlines()[line - 1].strip()[:60] if line <= len(text.splitlines()) else ""
    near = f" at `{shown}`" if shown else ""
    if said.startswith(("Cannot overwrite", "Cannot declare", "Duplicate", "Cannot mutate")):
        return above + line, f"a key or table stands twice{near}; keep one of the two."
    advice = "write text in quotes, days as 2026-07-01, one key on a line, and close every quote and bracket"
    return above + line, f"this cannot be read{near}{column} ({said[:1].lower()}{said[1:]}); {advice}."


def _build(document: dict[str, Any], faults: list[Fault], digest: str, path: str) -> RuleFile | None:
    """The rule file; None where the head of the file is at fault. Faults of meaning are added.

    A rule whose table has a fault is left out, so that all other rules are still read for theirs.
    """
    shapeless = [fault.path for fault in faults]
    wrong = frozenset(one[:2] for one in shapeless if len(one) > 1 and one[0] in KINDS)
    tables = {kind: value for kind in KINDS if isinstance(value := document.get(kind), list)}
    currency = document.get("currency", "")
    rules = Builder(currency if isinstance(currency, str) else "", faults).rules(tables, wrong)
    if any(not one or one[0] not in KINDS for one in shapeless):
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
    )
    _head(found, faults)
    _references(found, tables, faults)
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


def _references(found: RuleFile, tables: dict[str, Any], faults: list[Fault]) -> None:
    """Faults of rules that name something the file does not have."""
    ids = {one["id"] for rules in tables.values() for one in rules if isinstance(one, dict) and "id" in one}
    asks = {one["id"] for one in tables.get("ask", ()) if isinstance(one, dict) and "id" in one}
    recipients = {one.id for one in found.recipients}
    for kind, rules in tables.items():
        for number, raw in enumerate(rules):
            here: Path = (kind, number)
            if kind == "report" and raw.get("to") not in recipients:
                says = f"'{raw.get('to')}' is not declared; write a [[recipient]] with this id and its name."
                faults.append(Fault((*here, "to"), says))
            if kind in ("report", "exempt"):
                name, known = ("asks", asks) if kind == "report" else ("rules", ids)
                for place, one in enumerate(raw.get(name, ())):
                    if one not in known:
                        what = "an [[ask]]" if kind == "report" else "a rule"
                        says = f"'{one}' is not the id of {what} of this file; correct it or remove it."
                        faults.append(Fault((*here, name, place), says))
            if found.calendar is None and _needs_days_off(raw):
                says = "it counts working days, so the file needs a [calendar] with its days off; write one."
                faults.append(Fault(here, says))


def _needs_days_off(raw: Any) -> bool:
    """Whether a rule's table, or one inside it, counts working days or rolls over days off."""
    if isinstance(raw, dict):
        if raw.get("next") == "working-day" or raw.get("unit") == "working-days" or raw.get("roll", "none") != "none":
            return True
        return any(_needs_days_off(inner) for inner in raw.values())
    return isinstance(raw, list) and any(_needs_days_off(inner) for inner in raw)


def check_together(files: Sequence[RuleFile]) -> tuple[str, ...]:
    """What does not fit between files that are to govern together, one sentence each."""
    found = []
    names: dict[str, tuple[str, str]] = {}
    for file in files:
        for recipient in file.recipients:
            path, name = names.setdefault(recipient.id, (file.path, recipient.name))
            if name != recipient.name:
                says = (
                    f"{file.path} calls the recipient '{recipient.id}' '{recipient.name}' and {path} calls it '{name}'"
                )
                found.append(f"{says}; use one name, or another id.")
    reported = {
        rule.to for file in files for rule in file.rules if isinstance(rule, ReportRule) and rule.per == "purchase"
    }
    for file in files:
        for rule in file.rules:
            for waits_for in sorted(_waits_for(rule) - reported):
                says = (
                    f"{file.path}: the rule '{rule.id}' runs from a report to '{waits_for}', and no file has a report"
                )
                found.append(f"{says} per purchase to it; add that report or correct the id.")
    return tuple(dict.fromkeys(found))


def _waits_for(rule: Rule) -> set[str]:
    """Recipients of the reports from which a rule's time runs."""
    if isinstance(rule, HoldRule):
        starts = [rule.period.start, *(start for _, start, _ in rule.period.readings)]
    elif isinstance(rule, RetainRule):
        starts = [rule.start]
    else:
        return set()
    return {event.partition(":")[2] for start in starts for event in start.events if ":" in event}
