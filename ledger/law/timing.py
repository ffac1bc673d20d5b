"""What the rules with a clock make of one purchase: holds, reports owed, tasks, data kept.

Decides: the duty, hold, report, task or retention that each such rule makes for each subject, and which reports
another law's report replaces. Leaves to `ledger.law.layers` whom a rule speaks about, and to `ledger.law.clocks` when
times end. Orders of an authority are no part of a purchase: see `ledger.law.orders`.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any, Protocol
from zoneinfo import ZoneInfo

from ledger import moments
from ledger.law import clocks, combining, holds, reports, tasks
from ledger.law.answers import Ahead, AskField, Displaced, Met, Outcome, Undecided, named
from ledger.law.answers_times import ReportDuty
from ledger.law.clocks import Clock, Ends
from ledger.law.facts import CHANNELS
from ledger.law.found import Found
from ledger.law.held import Hold
from ledger.law.holds import Choice, HoldMoment
from ledger.law.judging import Scope, unsure
from ledger.law.rules import Rule, RuleFile
from ledger.law.rules_times import HoldRule, ReportRule, RetainRule, TaskRule

Frame = Mapping[str, Any]
_BY_CARRIER = "parcel"


class Ground(Protocol):
    """One rule file held against one purchase, as far as rules with a clock must know it."""

    file: RuleFile
    clock: Clock
    found: Found
    fields: dict[str, Sequence[AskField]]
    slip: Frame
    rules: list[Rule]

    def applying(self, rule: Rule) -> Iterator[tuple[str, Frame, Scope, dict[str, Any]]]:
        """Subjects to which the rule applies or may apply, each with the beginning of its trace."""
        ...

    def add(self, rule: Rule, kind: str, about: str, outcome: Outcome, trace: dict[str, Any]) -> None:
        """Adds a duty."""
        ...


def clock_of(
    file: RuleFile, facts: Mapping[str, Any], at: datetime, begun: datetime, zone: ZoneInfo, found: Found
) -> Clock:
    """The clock of a purchase that happened at `at`, from which deadlines run, and from which holds run at `begun`."""
    events: dict[str, datetime] = {"purchase": begun, "occurred": at}
    if in_person(facts):
        events |= dict.fromkeys(holds.IN_PERSON, begun)
    return clocks.clock_of(file, {**events, **found.events}, zone, facts, others=found.files)


def in_person(facts: Mapping[str, Any]) -> bool:
    """Whether goods and contract came with the purchase: on every channel but the carrier's."""
    channel = facts.get("slip", {}).get("channel")
    return channel in CHANNELS and channel != _BY_CARRIER


def at_the_shop(facts: Mapping[str, Any]) -> bool:
    """Whether the purchase was made in the licensed premises, so that all places are seen from the same spot."""
    slip: Mapping[str, Any] = facts.get("slip", {})
    return bool(slip.get("channel") == "counter" or slip.get("place_kind") == "licensed-premises")


def weigh(rule: Rule, ground: Ground) -> None:
    """Adds everything that a rule with a clock says."""
    match rule:
        case HoldRule():
            _hold(rule, ground)
        case ReportRule():
            _report(rule, ground)
        case TaskRule():
            _task(rule, ground)
        case _:
            assert isinstance(rule, RetainRule)
            _retain(rule, ground)


def _settled(outcome: Outcome, scope: Scope) -> Outcome:
    return unsure(outcome, scope.doubt) if scope.applies is None else outcome


# Holds


def _hold(rule: HoldRule, ground: Ground) -> None:
    clock = _for_recipients(rule, ground)
    once: tuple[HoldMoment, Choice] | None = None
    for about, frame, scope, trace in ground.applying(rule):
        if once is None or rule.shorter:
            choice = holds.choose(rule, frame)
            once = holds.ends(rule, clock, choice), choice
        end, choice = once
        trace |= end.trace
        ground.add(rule, "hold", about, _settled(_of_end(end), scope), trace)
        line = int(about.removeprefix("item/"))
        ground.found.holds.append(_held(rule, clock, line, end, choice.shortened, scope, trace, ground.slip))


def _for_recipients(rule: HoldRule, ground: Ground) -> Clock:
    """The clock, knowing to whom this purchase must be reported, where the hold runs from all or any of those."""
    starts = [rule.period.start, *(one.start for one in rule.period.readings)]
    starts += [one.period.start for one in rule.shorter]
    if not any(event.endswith((":all", ":any")) for start in starts for event in start.events):
        return ground.clock
    owed = [one for one in ground.rules if isinstance(one, ReportRule) and one.per != "request"]
    to = tuple(dict.fromkeys(one.to for one in owed if next(ground.applying(one), None) is not None))
    return replace(ground.clock, recipients=to)


def _of_end(end: HoldMoment) -> Outcome:
    """The hold runs; where it is not decided whether a shorter time applies, both ends are told."""
    doubts = end.trace.get("shorter_undecided")
    if not doubts:
        return Ahead(end.cautious)
    says = "; ".join(one["doubt"] for one in doubts)
    ends = ", ".join(str(one["cautious"] or "a time that still waits") for one in doubts)
    longer = moments.local_or_none(end.cautious) or "a time that still waits"
    return Undecided(
        f"It is not decided whether a shorter time applies, so the longer stands: {says}",
        f"It is held until {ends}.",
        f"It is held until {longer}.",
    )


def _held(
    rule: HoldRule,
    clock: Clock,
    line: int,
    end: HoldMoment,
    shortened: int | None,
    scope: Scope,
    trace: dict[str, Any],
    slip: Frame,
) -> Hold:
    implied = tuple(one for one in rule.implied if one.act not in rule.forbids)
    return Hold(
        rule=rule.id,
        jurisdiction=clock.file.jurisdiction,
        digest=clock.file.digest,
        line=line,
        forbids=rule.forbids + tuple(dict.fromkeys(one.act for one in implied)),
        keep_in=rule.keep_in,
        allows=holds.permits(rule, clock),
        starts_from=rule.period.start.says(),
        plain=end.plain,
        cautious=end.cautious,
        earliest=end.earliest,
        waiting_for=end.waiting_for,
        undecided=scope.doubt if scope.applies is None else None,
        source=rule.source.cite,
        url=rule.source.url,
        basis=rule.source.basis,
        trace=trace,
        implied=implied,
        rests_on_memory=rule.memory,
        recipients=clock.recipients,
        shortened=shortened,
        in_person=in_person(slip),
        keep_of="licence" if at_the_shop(slip) else rule.keep_of,
    )


# Reports and tasks


def _report(rule: ReportRule, ground: Ground) -> None:
    for about, frame, scope, trace in ground.applying(rule):
        fields = [one for name in rule.asks for one in ground.fields.get(name, ())]
        made = reports.report(ground.clock, rule, frame, fields, scope.asked)
        if isinstance(made, Ends):
            ground.add(rule, "report", about, _settled(Ahead(None), scope), {**trace, **made.trace})
            continue
        ground.add(rule, "report", about, _settled(Ahead(made.due), scope), {**trace, **made.trace})
        ground.found.reports.append(made)


def _task(rule: TaskRule, ground: Ground) -> None:
    for about, _, scope, trace in ground.applying(rule):
        made = tasks.task(ground.clock, rule, about, scope.asked)
        ground.add(rule, "task", about, _settled(Ahead(made.due), scope), {**trace, **made.trace})
        ground.found.tasks.append(made)


def settle(found: Found) -> None:
    """Takes out the reports in whose place another law's report is owed; their holds run from that one's events.

    A replacing report of which it is not decided whether it is owed replaces nothing.
    """
    doubtful = {(one.jurisdiction, one.rule) for one in found.duties if one.state == "undecided"}
    owed = {
        f"{one.jurisdiction}/{one.rule}": one
        for one in found.reports
        if (one.jurisdiction, one.rule) not in doubtful and not one.replaced_by
    }
    for report in list(found.reports):
        way = next((one for one in report.replaced_by if one.rule in owed), None)
        if way is not None:
            found.reports.remove(report)
            found.displaced.append(Displaced(report.rule, report.jurisdiction, "slip", way.rule, way.by, report.source))
            found.duties[:] = [
                replace(one, outcome=Met(), trace={**one.trace, "replaced_by": way.rule, "by": way.by})
                if (one.digest, one.rule) == (report.digest, report.rule)
                else one
                for one in found.duties
            ]
            found.holds[:] = [_from_other(one, report, owed[way.rule]) for one in found.holds]


def _from_other(hold: Hold, report: ReportDuty, instead: ReportDuty) -> Hold:
    """A hold of the same file that may wait for a report that is replaced."""
    if hold.digest != report.digest:
        return hold
    recipients = hold.recipients
    if recipients is not None:
        recipients = tuple(instead.recipient if one == report.recipient else one for one in recipients)
    pair = (report.recipient, instead.recipient)
    return replace(hold, recipients=recipients, replaced=(*hold.replaced, pair))


# Retention


def _retain(rule: RetainRule, ground: Ground) -> None:
    medium = ground.slip.get("shop", {}).get("record_medium")
    if rule.medium and isinstance(medium, str) and medium not in rule.medium:
        return
    for about, _, scope, trace in ground.applying(rule):
        least = ground.clock.period(rule.at_least, later=True) if rule.at_least else None
        most = ground.clock.period(rule.at_most, later=False) if rule.at_most else None
        trace |= {"event": rule.start.says(), "classes": list(rule.classes), "place": rule.place}
        trace |= {name: one.trace for name, one in (("at_least", least), ("at_most", most)) if one}
        if rule.medium:
            trace["medium"] = medium if isinstance(medium, str) else "not known"
        waits = [one.waiting_for for one in (least, most) if one and one.waiting_for]
        if waits:
            trace["waiting_for"] = waits[0]
        until = (least or most or Ends(None, None, None, {})).bound
        ground.add(rule, "retain", about, _settled(Ahead(until), scope), trace)
        for cls in rule.classes:
            part = combining.KeepPart(
                named(ground.file, rule),
                cls,
                least.plain if least else None,
                least.bound if least else None,
                most.bound if most else None,
                waits[0] if waits else None,
                rule.place,
            )
            ground.found.keeps.append(part)
