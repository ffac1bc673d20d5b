"""Duties in words, for a terminal: what each rule asks, where it stands, and how every day was counted.

Decides: order and indentation. Leaves what is said to the duties themselves; the trace of each is printed whole, in
words where this page knows its members and as it stands where it does not, so that nothing that was used is left out.
"""

import json
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from ledger.law import holds
from ledger.law.duties import Duties
from ledger.law.periods import awaited
from ledger.law.rules import RuleFile
from ledger.moments import local_text

_INDENT = "  "


def explained(found: Duties, files: Sequence[RuleFile]) -> list[str]:
    """Every duty with the way to it, then holds, reports and what the layers together say."""
    names = {file.digest: file for file in files}
    record = found.record()
    lines = [f"{file.path}: {file.name}, {file.layer}, {file.digest}" for file in names.values()]
    for duty in record["duties"]:
        lines += _duty(duty)
    for hold in found.holds:
        end = _ends(holds.leave([hold]))
        lines.append(f"hold: {hold.jurisdiction}/{hold.rule}, item {hold.line}, no {', '.join(hold.forbids)}: {end}")
    for report in found.reports:
        due = f"due {local_text(report.due)}"
        lines.append(f"report: {report.jurisdiction}/{report.rule} to {report.recipient_name}, {due}")
    for task in found.tasks:
        due = f"due {local_text(task.due)}" if task.due else f"waits for {awaited(str(task.waiting_for))}"
        lines.append(f"task: {task.jurisdiction}/{task.rule}, about {task.about}: {task.what.rstrip('.')}, {due}")
    lines += [f"displaced: {one.says()}" for one in found.displaced]
    lines += [f"contradiction: {says}" for says in found.contradictions]
    return [*lines, *found.stale, *found.notes]


def _ends(leave: holds.Leave) -> str:
    if leave.plain is None or leave.cautious is None:
        return f"no date yet: waiting for {awaited(str(leave.waiting_for))}"
    if leave.plain == leave.cautious:
        return local_text(leave.plain)
    return f"{local_text(leave.cautious)} (cautious), {local_text(leave.plain)} (plain)"


def _duty(duty: Mapping[str, Any]) -> Iterator[str]:
    yield f"{duty['outcome']}: {duty['jurisdiction']}/{duty['rule']}, about {duty['about']}"
    says = duty["says"]
    yield _INDENT + (says if duty["source"] in says else f"{says.rstrip('.')} ({duty['source']}).")
    yield f"{_INDENT}file {duty['digest']}; basis: {duty['basis']}; if broken it {duty['effect']}"
    for name in ("if_yes", "if_no"):
        if duty.get(name):
            yield f"{_INDENT}{name.replace('_', ' ')}: {duty[name]}"
    yield from _members(duty["trace"], _INDENT)


def _members(trace: Mapping[str, Any], indent: str) -> Iterator[str]:
    for name, value in trace.items():
        yield from _member(name if "." in name else name.replace("_", " "), value, indent)


def _member(name: str, value: Any, indent: str) -> Iterator[str]:
    """One member of a trace: a line, or a heading with lines under it."""
    if isinstance(value, Mapping) and set(value) == {"not_known"}:
        yield f"{indent}{name}: {value['not_known']}"
    elif isinstance(value, Mapping) and value:
        yield f"{indent}{name}:"
        yield from _members(value, indent + _INDENT)
    elif isinstance(value, list) and value and all(isinstance(one, Mapping) for one in value):
        yield f"{indent}{name}:"
        for one in value:
            yield from _entry(one, indent + _INDENT)
    elif "." in name:  # a fact: that it is false or empty may be what decided
        yield f"{indent}{name}: {_brief(value) or 'empty'}"
    elif value not in (None, "", [], {}, False):
        yield f"{indent}{name}: {_brief(value)}"


def _entry(one: Mapping[str, Any], indent: str) -> Iterator[str]:
    """One entry of a list: a day that was skipped on one line, anything else under its first member."""
    if set(one) == {"day", "why"}:
        yield f"{indent}{one['day']} ({one['why']})"
        return
    for number, line in enumerate(_members(one, indent + _INDENT)):
        yield line if number else f"{indent}- {line.strip()}"


def _brief(value: Any) -> str:
    if isinstance(value, list) and all(isinstance(one, str) for one in value):
        return ", ".join(value)
    return value if isinstance(value, str) else json.dumps(value, ensure_ascii=False, default=str)
