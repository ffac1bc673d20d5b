"""Tasks: what else must be done in time, such as moving goods, registering staff, writing before a hold ends.

Decides: by when a task is due, or what it waits for. Leaves to the rule file what is to be done and how the time
runs, to the book whether it was done.
"""

from collections.abc import Mapping, Sequence
from datetime import date, time
from typing import Any
from zoneinfo import ZoneInfo

from ledger import moments
from ledger.errors import NoRuleForDay
from ledger.law.answers_times import TaskDuty
from ledger.law.clocks import Clock, Ends, Events, clock_of
from ledger.law.counting import instant
from ledger.law.judging import scope
from ledger.law.rules import RuleFile
from ledger.law.rules_times import BeforeEnd, TaskRule


def task(clock: Clock, rule: TaskRule, about: str, asked: Mapping[str, Any]) -> TaskDuty:
    """What a rule asks to be done about a subject. Raises: NoRuleForDay where days off are not known."""
    found = _due(clock, rule)
    source = rule.source
    return TaskDuty(
        rule=rule.id,
        jurisdiction=clock.file.jurisdiction,
        digest=clock.file.digest,
        about=about,
        what=rule.what,
        due=found.bound,
        due_plain=found.plain,
        waiting_for=found.waiting_for,
        met_by=rule.met_by,
        who=rule.who,
        source=source.cite,
        url=source.url,
        basis=source.basis,
        trace={"inputs": dict(asked), "version_from": rule.first.isoformat(), **found.trace},
        rests_on_memory=rule.memory,
    )


def _due(clock: Clock, rule: TaskRule) -> Ends:
    if not isinstance(rule.due, BeforeEnd):
        return clock.due(rule.due)
    event = f"end:{rule.due.of}"
    end = clock.happened(event, later=False)
    if isinstance(end, str):
        return Ends(None, None, end, {"event": event, "waiting_for": end})
    found = clock.before(end, rule.due.span)
    return found._replace(trace={"event": event, **found.trace})


def of_shop(
    files: Sequence[RuleFile],
    *,
    on: date,
    zone: ZoneInfo,
    events: Events | None = None,
    facts: Mapping[str, Any] | None = None,
) -> tuple[TaskDuty, ...]:
    """The tasks of the shop itself, as they stand on a day, in the order of the files.

    on: chooses the versions; a task that names no other start runs from it. events: of the shop, such as "event:ID".
    facts: of the shop; a rule whose condition is not decided counts. Raises: NoRuleForDay before a file's first day.
    """
    found = []
    for file in files:
        if on < file.known_from:
            why = f"it answers from {file.known_from}"
            raise NoRuleForDay(jurisdiction=file.jurisdiction, on=on.isoformat(), why=why)
        here = moments.place(zone) or file.zone or zone
        begun = {"purchase": instant(on, time(0), here, later=False)}
        clock = clock_of(file, {**begun, **(events or {})}, here, facts or {}, others=files)
        for rule in file.on(on):
            if isinstance(rule, TaskRule) and rule.about == "shop":
                ground = scope(rule, facts or {})
                if ground.applies is not False:
                    found.append(task(clock, rule, "shop", ground.asked))
    return tuple(found)


def now(
    file: RuleFile,
    rule_id: str,
    about: str,
    events: Events,
    zone: ZoneInfo,
    *,
    facts: Mapping[str, Any] | None = None,
    others: Sequence[RuleFile] = (),
) -> TaskDuty:
    """A task as the events known now make it due.

    events: "purchase" must be there: its local day chooses the version. Raises: NoRuleForDay if the file has no such
    task on that day.
    """
    clock = clock_of(file, events, zone, facts or {}, others=others)
    for rule in file.on(clock.day):
        if isinstance(rule, TaskRule) and rule.id == rule_id:
            return task(clock, rule, about, {})
    why = "it has no task of that name then"
    raise NoRuleForDay(jurisdiction=file.jurisdiction, on=clock.day.isoformat(), why=why, rule=rule_id)
