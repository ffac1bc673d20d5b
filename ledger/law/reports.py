"""Reports: what is owed to whom, and by when.

Decides: the deadline of a report rule for a purchase, and which reports of a day or week are owed whether or not
anything was bought. Leaves to the book what was made, sent and received, and to the papers how a report looks.
A deadline at the end of a day is the midnight after it; the earliest reading governs.
"""

from collections.abc import Mapping, Sequence
from datetime import date, datetime, time, timedelta
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from ledger.errors import NoRuleForDay
from ledger.law.answers import AskField
from ledger.law.answers_times import ReportDuty
from ledger.law.calendars import Calendar
from ledger.law.counting import MIDNIGHT, deadline, instant, next_working, utc
from ledger.law.judging import scope
from ledger.law.rules import RuleFile
from ledger.law.rules_times import Due, ReportRule

_ONE_DAY = timedelta(days=1)


class DueMoment(NamedTuple):
    """The deadline of one report, and the days it covers."""

    plain: datetime
    cautious: datetime
    covers: tuple[date, date] | None
    trace: dict[str, Any]


def due(rule: ReportRule, at: datetime, calendar: Calendar | None, zone: ZoneInfo) -> DueMoment:
    """By when a report of something that happened at `at` must be there.

    Raises: NoRuleForDay where a day off must be known outside the calendar.
    """
    terms = rule.due
    if terms.span is not None:
        found = deadline(terms.span, at, calendar, zone)
        return DueMoment(found.plain, found.cautious, None, found.trace)
    day = at.astimezone(zone).date()
    last, trace = _due_day(terms, day, calendar)
    moment = _by(last, terms.by, zone)
    if utc(moment) < utc(at):  # a purchase after the hour of the same day: at once
        moment = at.astimezone(zone)
    covers = {"purchase": None, "day": (day, day), "week": (last - 7 * _ONE_DAY, last - _ONE_DAY)}[rule.per]
    by = f"{terms.by:%H:%M}" if terms.by else "24:00"
    return DueMoment(moment, moment, covers, {**trace, "by": by, "zone": zone.key, "due": moment.isoformat()})


def _due_day(terms: Due, day: date, calendar: Calendar | None) -> tuple[date, dict[str, Any]]:
    trace: dict[str, Any] = {"event_day": day.isoformat(), "shape": terms.shape}
    if terms.shape == "same-day":
        return day, trace
    if terms.shape == "weekly":
        return day + _ONE_DAY * (7 - (day.weekday() - terms.weekday) % 7), trace
    last = day + _ONE_DAY
    if terms.next == "working-day":
        assert calendar is not None
        last, skipped = next_working(last, calendar, arguable_is_off=False)
        trace["skipped"] = [{"day": one.isoformat(), "why": why} for one, why in skipped]
    return last, trace


def _by(day: date, by: time | None, zone: ZoneInfo) -> datetime:
    """A clock time of a day; the midnight after it where there is none."""
    if by is None:
        return instant(day + _ONE_DAY, MIDNIGHT, zone, later=False)
    return instant(day, by, zone, later=False)


def report(
    file: RuleFile, rule: ReportRule, at: datetime, zone: ZoneInfo, fields: Sequence[AskField], asked: dict[str, Any]
) -> ReportDuty:
    """The report that a rule asks for what happened at `at`. Raises: NoRuleForDay (see `due`)."""
    found = due(rule, at, file.calendar, zone)
    return ReportDuty(
        rule=rule.id,
        jurisdiction=file.jurisdiction,
        digest=file.digest,
        layer=file.layer,
        recipient=rule.to,
        recipient_name=file.recipient_name(rule.to),
        per=rule.per,
        covers=found.covers,
        due=found.cautious,
        due_plain=found.plain,
        copies=rule.copies,
        title=rule.title,
        nil=rule.nil,
        fields=tuple(fields),
        source=rule.source.cite,
        basis=rule.source.basis,
        trace={"inputs": asked, "version_from": rule.first.isoformat(), **found.trace},
    )


def owed(
    files: Sequence[RuleFile], *, on: date, zone: ZoneInfo, facts: Mapping[str, Any] | None = None
) -> tuple[ReportDuty, ...]:
    """The day and week reports whose period holds the day `on`, in the order of the files.

    facts: facts of the shop, for rules that ask about it. A rule whose condition is not decided counts as owed.
    Those with `nil` are owed even if nothing was bought. Raises: NoRuleForDay before a file's first day.
    """
    found = []
    for file in files:
        if on < file.known_from:
            raise NoRuleForDay(
                jurisdiction=file.jurisdiction, on=on.isoformat(), why=f"it answers from {file.known_from}"
            )
        here = file.zone or zone
        noon = instant(on, time(0), here, later=False)
        for rule in file.on(on):
            if isinstance(rule, ReportRule) and rule.per != "purchase":
                ground = scope(rule, facts or {})
                if ground.applies is not False:
                    found.append(report(file, rule, noon, here, (), ground.asked))
    return tuple(found)
