"""What the rules with a clock make of one purchase: holds, reports owed, data kept.

Decides: the duty, hold, report or retention that each such rule makes for each subject. Leaves to
`ledger.law.layers` whom a rule speaks about, and to `ledger.law.holds` and `ledger.law.reports` when times end.
"""

from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Any, Protocol
from zoneinfo import ZoneInfo

from ledger.law import combining, reports
from ledger.law.answers import Ahead, AskField, Outcome, named
from ledger.law.counting import TwoEnds, deadline, hold_end
from ledger.law.found import Found
from ledger.law.holds import Hold, HoldMoment, Permit, begins, ends
from ledger.law.judging import Scope, unsure
from ledger.law.rules import Rule, RuleFile
from ledger.law.rules_times import HoldRule, ReportRule, RetainRule


class Ground(Protocol):
    """One rule file held against one purchase, as far as rules with a clock must know it."""

    file: RuleFile
    at: datetime
    zone: ZoneInfo
    events: Mapping[str, datetime]
    found: Found
    fields: dict[str, list[AskField]]

    def applying(self, rule: Rule) -> Iterator[tuple[str, Mapping[str, Any], Scope, dict[str, Any]]]:
        """Subjects to which the rule applies or may apply, each with the beginning of its trace."""
        ...

    def add(self, rule: Rule, kind: str, about: str, outcome: Outcome, trace: dict[str, Any]) -> None:
        """Adds a duty."""
        ...


def weigh(rule: Rule, ground: Ground) -> None:
    """Adds everything that a rule with a clock says."""
    match rule:
        case HoldRule():
            _hold(rule, ground)
        case ReportRule():
            _report(rule, ground)
        case _:
            assert isinstance(rule, RetainRule)
            _retain(rule, ground)


def _hold(rule: HoldRule, ground: Ground) -> None:
    end: HoldMoment | None = None
    for about, _, scope, trace in ground.applying(rule):
        if end is None:
            end = ends(rule.period, ground.file.calendar, ground.events, ground.zone)
        trace |= end.trace
        outcome: Outcome = Ahead(end.cautious)
        if scope.applies is None:
            outcome = unsure(outcome, scope.doubt)
        ground.add(rule, "hold", about, outcome, trace)
        ground.found.holds.append(_held(rule, ground.file, int(about.removeprefix("item/")), end, scope, trace))


def _held(rule: HoldRule, file: RuleFile, line: int, end: HoldMoment, scope: Scope, trace: dict[str, Any]) -> Hold:
    return Hold(
        rule=rule.id,
        jurisdiction=file.jurisdiction,
        digest=file.digest,
        line=line,
        forbids=rule.forbids,
        keep_in=rule.keep_in,
        allows=tuple(Permit(one.act, one.to, one.says) for one in rule.allows),
        starts_from=rule.period.start.says(),
        plain=end.plain,
        cautious=end.cautious,
        waiting_for=end.waiting_for,
        undecided=scope.doubt if scope.applies is None else None,
        source=rule.source.cite,
        url=rule.source.url,
        basis=rule.source.basis,
        trace=trace,
    )


def _report(rule: ReportRule, ground: Ground) -> None:
    for about, _, scope, trace in ground.applying(rule):
        fields = [one for name in rule.asks for one in ground.fields.get(name, ())]
        made = reports.report(ground.file, rule, ground.at, ground.zone, fields, scope.asked)
        outcome: Outcome = Ahead(made.due)
        if scope.applies is None:
            outcome = unsure(outcome, scope.doubt)
        ground.add(rule, "report", about, outcome, {**trace, **made.trace})
        ground.found.reports.append(made)


def _retain(rule: RetainRule, ground: Ground) -> None:
    for about, _, scope, trace in ground.applying(rule):
        start, waiting = begins(rule.start, ground.events)
        least = most = None
        trace |= {"event": rule.start.says(), "classes": list(rule.classes)}
        if start is None:
            trace["waiting_for"] = waiting
        else:
            least, most = _bounds(rule, start, ground, trace)
        outcome: Outcome = Ahead(least.cautious if least else most.cautious if most else None)
        if scope.applies is None:
            outcome = unsure(outcome, scope.doubt)
        ground.add(rule, "retain", about, outcome, trace)
        for cls in rule.classes:
            part = combining.KeepPart(
                named(ground.file, rule),
                cls,
                least.plain if least else None,
                least.cautious if least else None,
                most.cautious if most else None,
                waiting,
            )
            ground.found.keeps.append(part)


def _bounds(
    rule: RetainRule, start: datetime, ground: Ground, trace: dict[str, Any]
) -> tuple[TwoEnds | None, TwoEnds | None]:
    least = most = None
    if rule.at_least is not None:
        least = hold_end(rule.at_least, start, ground.file.calendar, ground.zone)
        trace["at_least"] = least.trace
    if rule.at_most is not None:
        most = deadline(rule.at_most, start, ground.file.calendar, ground.zone)
        trace["at_most"] = most.trace
    return least, most
