"""One deadline counted from one start: within so long, on the next day, on a weekday, on a named day, at once.

Decides: the moment by which something is due under one reading, and the days that a report per day, week or
quarter covers. Leaves the choice between readings to `ledger.law.clocks`. A deadline at the end of a day is the
midnight after it; one whose hour has already passed when it begins is due at once.

>>> from zoneinfo import ZoneInfo
>>> here = ZoneInfo("America/New_York")
>>> bought = datetime(2026, 11, 24, 10, 15, tzinfo=here)
>>> found = reached(Due("next", next="day", by=time(12)), bought, None, here, arguable_is_off=False, later=False)
>>> found.moment.isoformat()
'2026-11-25T12:00:00-05:00'
"""

from datetime import date, datetime, time, timedelta
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from ledger.law.calendars import Calendar
from ledger.law.counting import MIDNIGHT, day_of, instant, month_length, next_working, rolled_over, utc
from ledger.law.rules_times import Due

_ONE_DAY = timedelta(days=1)
_QUARTER = 3


class Reached(NamedTuple):
    """The moment of a deadline under one reading, and how it was reached."""

    moment: datetime
    named: date
    """the day that the shape names, before it rolls"""
    shown: dict[str, Any]


def reached(
    due: Due,
    start: datetime,
    calendar: Calendar | None,
    zone: ZoneInfo,
    *,
    arguable_is_off: bool,
    later: bool,
    ended: bool = False,
    per: str = "",
) -> Reached:
    """The moment by which something that began at `start` is due; not for a deadline "within" so long.

    later: take the later reading of an equal or arguable hour. ended: the start is the end of another period.
    per: what a report is owed for; named days follow the quarter or year of the start, and else the start itself.
    Raises: NoRuleForDay where a day off must be known outside the calendar.
    """
    if due.shape == "at-once":
        moment = start.astimezone(zone)
        return Reached(moment, moment.date(), {"shape": due.shape, "due": moment.isoformat()})
    day = day_of(start, zone, ended=ended)
    named, skipped = _named(due, day, calendar, arguable_is_off=arguable_is_off, per=per)
    last, rolled = rolled_over(named, due.roll, calendar, arguable_is_off=arguable_is_off)
    hour = _hour(due, calendar, later=later)
    moment = instant(last, hour, zone, later=later) if hour else instant(last + _ONE_DAY, MIDNIGHT, zone, later=later)
    if utc(moment) < utc(start):
        moment = start.astimezone(zone)
    shown: dict[str, Any] = {"event_day": day.isoformat(), "shape": due.shape}
    if due.next == "working-day" or due.roll != "none":
        shown |= {
            "roll": due.roll,
            "skipped": [{"day": one.isoformat(), "why": why} for one, why in (*skipped, *rolled)],
        }
    by = f"{hour:%H:%M}" if hour else "24:00"
    return Reached(moment, named, shown | {"by": by, "zone": zone.key, "due": moment.isoformat()})


def _hour(due: Due, calendar: Calendar | None, *, later: bool) -> time | None:
    """The clock time of a deadline; None for the end of the day."""
    if not due.closing or calendar is None or calendar.closing is None:
        return due.by
    return None if calendar.closing.arguable and later else calendar.closing.at


def _named(
    due: Due, day: date, calendar: Calendar | None, *, arguable_is_off: bool, per: str
) -> tuple[date, list[tuple[date, str]]]:
    if due.shape == "same-day":
        return day, []
    if due.shape == "weekly":
        return day + _ONE_DAY * (7 - (day.weekday() - due.weekday) % 7), []
    if due.days:
        whole = period_of(per, day)
        return _next_named(due.days, whole[1] if whole else day + _ONE_DAY), []
    if due.next == "day":
        return day + _ONE_DAY, []
    assert calendar is not None
    return next_working(day + _ONE_DAY, calendar, arguable_is_off=arguable_is_off)


def _next_named(days: tuple[tuple[int, int], ...], first: date) -> date:
    """The first of the named days of any year, on or after `first`; a month's last day where it has no such day."""
    found = (
        date(year, month, min(number, month_length(year, month)))
        for year in (first.year, first.year + 1)
        for month, number in days
    )
    return min(day for day in found if day >= first)


def period_of(per: str, day: date) -> tuple[date, date] | None:
    """First and last day of the calendar quarter or year that holds `day`; None for other periods."""
    if per == "year":
        return date(day.year, 1, 1), date(day.year, 12, 31)
    return quarter(day) if per == "quarter" else None


def quarter(day: date) -> tuple[date, date]:
    """First and last day of the calendar quarter that holds `day`."""
    month = (day.month - 1) // _QUARTER * _QUARTER + 1
    end = month + _QUARTER - 1
    return date(day.year, month, 1), date(day.year, end, month_length(day.year, end))


def covered(per: str, day: date, named: date) -> tuple[date, date] | None:
    """First and last day that a report per day, week, quarter or year covers; None for one per purchase or request.

    day: a day of the period; named: the day that the deadline names.
    """
    if per == "day":
        return day, day
    if per == "week":
        return named - 7 * _ONE_DAY, named - _ONE_DAY
    return period_of(per, day)
