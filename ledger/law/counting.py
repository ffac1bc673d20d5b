"""Days, working days, hours, months and years, counted the way statutes count them.

Decides: the last day of a period, the moment at which a hold ends, the moment by which a deadline is met.
The day of the event is day 0 unless the rule says that it counts; days are local dates of the place; a hold
of days ends at the midnight after its last day. Where the law is arguable there are two answers: *plain* is
the rule as written, *cautious* is the latest end of a hold or the earliest end of a deadline over elapsed and
wall-clock hours, and over days that may or may not be off.
Leaves to the rule file: every length, unit and roll. Leaves to `ledger.law.holds`: other readings of a rule, and
which event starts it.

>>> from zoneinfo import ZoneInfo
>>> here = ZoneInfo("America/New_York")
>>> bought = datetime(2026, 11, 2, 15, tzinfo=here)
>>> hold_end(Span(30, "days"), bought, None, here).plain.isoformat()
'2026-12-03T00:00:00-05:00'
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from functools import cached_property, lru_cache
from typing import Any
from zoneinfo import ZoneInfo

from ledger.law.calendars import Calendar

UNITS = ("hours", "days", "working-days", "months", "years")
ROLLS = ("none", "next-working-day", "after-sunday-or-holiday")
COUNTS = ("for", "before")
MIDNIGHT = time(0)
_ONE_DAY = timedelta(days=1)
_ONE_SECOND = timedelta(seconds=1)
_ONE_MICROSECOND = timedelta(microseconds=1)


@dataclass(frozen=True)
class Span:
    """A length of time as a rule states it."""

    length: int
    unit: str
    first_day_counts: bool = False
    """whether the day of the event is day 1 (usually it is day 0)"""
    roll: str = "none"
    """where a last day that is off moves to"""
    counts: str = "for"
    """"for" so long, or "before" the day of that number begins"""
    calendar: str = "own"
    """whose days off: the file's own, or the shop's"""


@dataclass(frozen=True)
class Counted:
    """One end of one period, and how it was reached."""

    moment: datetime
    last: date | None
    """last day of the period; None where hours are counted"""
    skipped: tuple[tuple[date, str], ...]
    how: str

    @cached_property
    def shown(self) -> dict[str, Any]:
        """The end as a trace holds it."""
        shown: dict[str, Any] = {"how": self.how, "moment": self.moment.isoformat()}
        if self.last is not None:
            shown["last_day"] = self.last.isoformat()
            shown["skipped"] = [{"day": day.isoformat(), "why": why} for day, why in self.skipped]
        return shown


@dataclass(frozen=True)
class TwoEnds:
    """The end of a period as written, and the end that is safe under every reading."""

    plain: datetime
    cautious: datetime
    trace: dict[str, Any]


def utc(moment: datetime) -> datetime:
    """The moment in UTC. Two moments of one zone must be compared so: Python compares their wall clocks instead."""
    return moment.astimezone(UTC)


def instant(day: date, at: time, zone: ZoneInfo, *, later: bool) -> datetime:
    """The moment of a wall-clock time on a local day.

    later: which of two equal wall times (clocks put back) is meant: True the second, for holds; False the first,
    for deadlines. A time that the clocks jumped over is the first moment after the jump.
    """
    moment = datetime.combine(day, at, tzinfo=zone)
    first = moment.utcoffset()
    second = moment.replace(fold=1).utcoffset()
    if first == second:
        return moment
    assert first is not None
    assert second is not None
    if first > second:
        return moment.replace(fold=1) if later else moment
    # Clocks were put forward over this time: the jump lies between the two readings of it. Search to the second.
    naive = moment.replace(tzinfo=UTC)
    before, after = naive - second, naive - first
    while after - before > _ONE_SECOND:
        middle = before + (after - before) // 2
        if middle.astimezone(zone).utcoffset() == first:
            before = middle
        else:
            after = middle
    return after.replace(microsecond=0).astimezone(zone)


def later_months(day: date, months: int) -> date:
    """The same day of the month, `months` later; the month's last day where there is no such day."""
    count = day.year * 12 + day.month - 1 + months
    year, month = divmod(count, 12)
    return date(year, month + 1, min(day.day, month_length(year, month + 1)))


def month_length(year: int, month: int) -> int:
    """How many days a month has; the standard library's calendar would bring the machine's languages with it."""
    return (date(year + month // 12, month % 12 + 1, 1) - _ONE_DAY).day


def next_working(day: date, calendar: Calendar, *, arguable_is_off: bool) -> tuple[date, list[tuple[date, str]]]:
    """The first working day on or after `day`, and the days skipped to reach it, each with why."""
    skipped = []
    while (why := calendar.why_off(day, arguable_is_off=arguable_is_off)) is not None:
        skipped.append((day, why))
        day += _ONE_DAY
    return day, skipped


def count(
    span: Span,
    start: datetime,
    calendar: Calendar | None,
    zone: ZoneInfo,
    *,
    arguable_is_off: bool,
    by_the_clock: bool,
    later: bool,
    ended: bool = False,
) -> Counted:
    """One end of a period under one reading.

    start: any aware moment; by_the_clock: hours counted on the wall clock instead of elapsed. ended: the start is
    the end of another period, so that its day is the last one of that period.
    Raises: NoRuleForDay where a day off must be known outside the calendar's days.
    """
    if span.unit == "hours":
        return _hours(span.length, start.astimezone(zone), zone, by_the_clock=by_the_clock, later=later)
    return _days(span, day_of(start, zone, ended=ended), calendar, zone, arguable_is_off, later)


@lru_cache(maxsize=4096)
def _days(
    span: Span, day: date, calendar: Calendar | None, zone: ZoneInfo, arguable_is_off: bool, later: bool
) -> Counted:
    """One end of a period that runs from a day; kept, since every slip of that day asks for it."""
    last, skipped = _last_day(span, day, calendar, arguable_is_off=arguable_is_off)
    last, rolled = rolled_over(last, span.roll, calendar, arguable_is_off=arguable_is_off)
    moment = instant(last + _ONE_DAY, MIDNIGHT, zone, later=later)
    counts = "" if span.counts == "for" else f", {span.counts} the last"
    return Counted(moment, last, (*skipped, *rolled), f"{span.length} {span.unit}{counts}, roll {span.roll}")


def day_of(moment: datetime, zone: ZoneInfo, *, ended: bool = False) -> date:
    """The local day of a moment; of the end of a period, the last day of that period."""
    # A period of days ends at a midnight, which is no part of its last day.
    return (utc(moment) - _ONE_MICROSECOND if ended else moment).astimezone(zone).date()


def rolled_over(
    last: date, roll: str, calendar: Calendar | None, *, arguable_is_off: bool
) -> tuple[date, list[tuple[date, str]]]:
    """Where a last day that is off moves to, and the days passed over, each with why."""
    if roll == "none":
        return last, []
    assert calendar is not None
    used = calendar.of_sundays if roll == "after-sunday-or-holiday" else calendar
    return next_working(last, used, arguable_is_off=arguable_is_off)


def ahead(
    span: Span, end: datetime, calendar: Calendar | None, zone: ZoneInfo, *, arguable_is_off: bool
) -> tuple[datetime, dict[str, Any]]:
    """The last moment that still lies a span before the end of a period, and how it was reached.

    Days, working days, months and years are counted back from the last day of the period, and the moment is the end
    of the day found. Raises: NoRuleForDay (see `count`).
    """
    if span.unit == "hours":
        moment = (utc(end) - timedelta(hours=span.length)).astimezone(zone)
        return moment, {"moment": moment.isoformat()}
    day, skipped = _back(span, day_of(end, zone, ended=True), calendar, arguable_is_off=arguable_is_off)
    moment = instant(day + _ONE_DAY, MIDNIGHT, zone, later=False)
    shown = [{"day": one.isoformat(), "why": why} for one, why in skipped]
    return moment, {"moment": moment.isoformat(), "last_day": day.isoformat(), "skipped": shown}


def _back(
    span: Span, last: date, calendar: Calendar | None, *, arguable_is_off: bool
) -> tuple[date, list[tuple[date, str]]]:
    """The day so long before `last`, and the days passed over."""
    if span.unit == "days":
        return last - timedelta(days=span.length), []
    if span.unit in ("months", "years"):
        return later_months(last, -span.length * (12 if span.unit == "years" else 1)), []
    assert calendar is not None
    skipped: list[tuple[date, str]] = []
    for _ in range(span.length):
        last -= _ONE_DAY
        while (why := calendar.why_off(last, arguable_is_off=arguable_is_off)) is not None:
            skipped.append((last, why))
            last -= _ONE_DAY
    return last, skipped


def _hours(length: int, local: datetime, zone: ZoneInfo, *, by_the_clock: bool, later: bool) -> Counted:
    if not by_the_clock:
        moment = (local.astimezone(UTC) + timedelta(hours=length)).astimezone(zone)
        return Counted(moment, None, (), f"{length} hours elapsed")
    wall = local.replace(tzinfo=None, fold=0)
    if later and local.fold:
        # In the repeated hour a clock cannot tell which pass is meant; counted from the hour's end, a later
        # purchase is never free before an earlier one.
        wall = _end_of_repeat(local, zone)
    end = wall + timedelta(hours=length)
    return Counted(instant(end.date(), end.time(), zone, later=later), None, (), f"{length} hours by the clock")


def _end_of_repeat(local: datetime, zone: ZoneInfo) -> datetime:
    """The wall time at which the repeated stretch that holds `local` ends."""
    now, before = local.utcoffset(), local.replace(fold=0).utcoffset()
    assert now is not None
    assert before is not None
    low, high = local.astimezone(UTC) - (before - now), local.astimezone(UTC)
    while high - low > _ONE_SECOND:
        middle = low + (high - low) // 2
        if middle.astimezone(zone).utcoffset() == before:
            low = middle
        else:
            high = middle
    # `high` is the moment the clocks went back, when they showed the start of the stretch for the second time.
    return (high.replace(microsecond=0) + before).replace(tzinfo=None)


def _last_day(
    span: Span, day: date, calendar: Calendar | None, *, arguable_is_off: bool
) -> tuple[date, list[tuple[date, str]]]:
    skipped: list[tuple[date, str]] = []
    if span.unit == "days":
        last = day + timedelta(days=span.length - (1 if span.first_day_counts else 0))
    elif span.unit in ("months", "years"):
        last = later_months(day, span.length * (12 if span.unit == "years" else 1))
        last = last - _ONE_DAY if span.first_day_counts else last
    else:
        assert calendar is not None
        last = day - _ONE_DAY if span.first_day_counts else day
        for _ in range(span.length):
            last, passed = next_working(last + _ONE_DAY, calendar, arguable_is_off=arguable_is_off)
            skipped += passed
    return (last - _ONE_DAY if span.counts == "before" else last), skipped


def hold_end(
    span: Span,
    start: datetime,
    calendar: Calendar | None,
    zone: ZoneInfo,
    *,
    bound: datetime | None = None,
    ended: bool = False,
) -> TwoEnds:
    """When a hold ends: as written, and the latest over both clocks and over arguable days.

    bound: the latest that the start may be, where it may be read in several ways. ended: see `count`.
    Raises: NoRuleForDay (see `count`).
    """
    return _two_ends(span, start, bound or start, calendar, zone, later=True, ended=ended)


def deadline(
    span: Span,
    start: datetime,
    calendar: Calendar | None,
    zone: ZoneInfo,
    *,
    bound: datetime | None = None,
    ended: bool = False,
) -> TwoEnds:
    """By when something must be done: as written, and the earliest over both clocks; arguable days are worked.

    A period of days is met until the midnight after its last day. bound: the earliest that the start may be.
    Raises: NoRuleForDay (see `count`).
    """
    return _two_ends(span, start, bound or start, calendar, zone, later=False, ended=ended)


def _two_ends(
    span: Span,
    start: datetime,
    bound: datetime,
    calendar: Calendar | None,
    zone: ZoneInfo,
    *,
    later: bool,
    ended: bool,
) -> TwoEnds:
    def counted(begun: datetime, arguable_is_off: bool, by_the_clock: bool) -> Counted:
        return count(
            span,
            begun,
            calendar,
            zone,
            arguable_is_off=arguable_is_off,
            by_the_clock=by_the_clock,
            later=later,
            ended=ended,
        )

    plain = counted(start, False, False)
    ways = {(False, False)}
    if span.unit == "hours" and span.length:
        ways.add((False, True))
    elif later and _asks(span, calendar):
        ways.add((True, False))
    moved = utc(bound) != utc(start)
    others = [counted(bound, *way) for way in sorted(ways) if moved or way != (False, False)]
    chosen = outermost([plain.moment, *(one.moment for one in others)], later=later)
    trace: dict[str, Any] = {
        "start": start.astimezone(zone).isoformat(),
        "zone": zone.key,
        "length": span.length,
        "unit": span.unit,
        "first_day_counts": span.first_day_counts,
        "roll": span.roll,
        "plain": plain.shown,
    }
    trace |= {
        name: value for name, value in (("counts", span.counts), ("calendar", span.calendar)) if value not in _USUAL
    }
    if moved:
        trace["start_read_otherwise"] = bound.astimezone(zone).isoformat()
    if ended:
        trace["starts_after_its_last_day"] = True
    if others:
        trace["other_readings"] = [one.shown for one in others]
    return TwoEnds(plain.moment, chosen, trace)


_USUAL = ("for", "own")


def outermost(moments: Sequence[datetime], *, later: bool) -> datetime:
    """The latest of several moments, or the earliest; the first of equal ones."""
    return max(moments, key=utc) if later else min(moments, key=utc)


def _asks(span: Span, calendar: Calendar | None) -> bool:
    """Whether an arguable day off can change the end of this period."""
    uses = span.unit == "working-days" or span.roll != "none"
    return uses and calendar is not None and calendar.has_arguable
