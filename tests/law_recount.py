"""A second way to count the time of a hold or a deadline: slow, obvious, and sharing no code with the law room.

It walks: days one by one, hours one by one, the clock on the wall minute by minute. It reads the table of a rule as
TOML gives it, tries every subset of its readings, both clocks, and every arguable day off and on, and takes the
latest or the earliest of all that comes out.
"""

from collections.abc import Iterator, Mapping
from datetime import UTC, date, datetime, timedelta
from functools import cache
from itertools import combinations
from random import Random
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

DAY, HOUR, MINUTE = timedelta(days=1), timedelta(hours=1), timedelta(minutes=1)
ZONES = (
    "America/New_York",
    "America/Chicago",
    "America/Phoenix",
    "America/Havana",  # puts its clocks on at midnight
    "Asia/Beirut",  # the same
    "Australia/Lord_Howe",  # by half an hour
    "Europe/London",
    "Asia/Kathmandu",
    "Pacific/Apia",  # left out a whole day in 2011
)


class Off(NamedTuple):
    """A day off."""

    day: date
    arguable: bool


class Case(NamedTuple):
    """One random hold or deadline."""

    table: dict[str, Any]
    events: dict[str, datetime]
    weekend: frozenset[int]
    closed: tuple[Off, ...]
    zone: ZoneInfo


class Counts(NamedTuple):
    """What comes out; None where it waits."""

    plain: datetime | None
    bound: datetime | None


def recount(case: Case, *, later: bool) -> Counts:
    """The end as written, and the latest (of a hold) or earliest (of a deadline) over everything arguable."""
    as_written = _begins(case.table, case.events)
    if as_written is None:
        return Counts(None, None)
    plain = _end(case.table, as_written, case, arguable_off=False, wall=False, later=later)
    found = [plain]
    for table in _tables(case.table):
        start = _begins(table, case.events)
        if start is None:
            if later:
                return Counts(plain, None)
            continue
        for arguable_off in (False, True) if later else (False,):
            for wall in (False, True) if table["unit"] == "hours" else (False,):
                found.append(_end(table, start, case, arguable_off=arguable_off, wall=wall, later=later))
    return Counts(plain, max(found) if later else min(found))


def _tables(table: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    """The table under every subset of its readings that do not contradict each other."""
    readings = [{k: v for k, v in one.items() if k not in ("reason", "basis")} for one in table.get("readings", ())]
    for size in range(len(readings) + 1):
        for chosen in combinations(readings, size):
            keys = [key for one in chosen for key in one]
            if len(keys) == len(set(keys)):
                yield {**table, **{key: value for one in chosen for key, value in one.items()}}


def _begins(table: Mapping[str, Any], events: Mapping[str, datetime]) -> datetime | None:
    start = table.get("start", "purchase")
    if isinstance(start, str):
        return events.get(start)
    ((how, names),) = start.items()
    known = [events[name] for name in names if name in events]
    if how == "earlier_of":
        return min(known) if known else None
    return max(known) if len(known) == len(names) else None


def _end(
    table: Mapping[str, Any], start: datetime, case: Case, *, arguable_off: bool, wall: bool, later: bool
) -> datetime:
    if table["unit"] == "hours":
        return _hours(table["length"], start, case.zone, wall=wall, later=later)
    off = {one.day for one in case.closed if arguable_off or not one.arguable}

    def is_off(day: date, weekend: frozenset[int]) -> bool:
        return day.weekday() in weekend or day in off

    first = start.astimezone(case.zone).date()
    if table["unit"] in ("months", "years"):
        last = first
        months = table["length"] * (12 if table["unit"] == "years" else 1)
        year, month = first.year, first.month
        for _ in range(months):
            year, month = (year + 1, 1) if month == 12 else (year, month + 1)
        number = first.day
        while True:
            try:
                last = date(year, month, number)
                break
            except ValueError:
                number -= 1
        if table.get("first_day_counts"):
            last -= DAY
    else:
        counted = 0
        day = first
        if not table.get("first_day_counts"):
            day += DAY
        while True:
            if table["unit"] == "days" or not is_off(day, case.weekend):
                counted += 1
            if counted == table["length"]:
                break
            day += DAY
        last = day
    if table.get("counts") == "before":
        last -= DAY
    roll = table.get("roll", "none")
    while roll != "none" and is_off(last, case.weekend if roll == "next-working-day" else frozenset({6})):
        last += DAY
    return _shows(datetime(last.year, last.month, last.day) + DAY, case.zone, later=later)


def _hours(length: int, start: datetime, zone: ZoneInfo, *, wall: bool, later: bool) -> datetime:
    moment = start.astimezone(UTC)
    if not wall:
        for _ in range(length):
            moment += HOUR
        return moment
    if later:
        # A clock that shows this time for the second time cannot tell which is meant: wait until it shows a new one.
        while any(_wall(moment - n * MINUTE, zone) == _wall(moment, zone) for n in range(1, 181)):
            moment += MINUTE
    shown = _wall(moment, zone)
    for _ in range(length):
        shown += HOUR
    return _shows(shown, zone, later=later)


def _wall(moment: datetime, zone: ZoneInfo) -> datetime:
    """What a clock on the wall shows."""
    return moment.astimezone(zone).replace(tzinfo=None, fold=0)


@cache
def _shows(shown: datetime, zone: ZoneInfo, *, later: bool) -> datetime:
    """The minute at which the wall clock shows a time: of two the later or earlier; of none the first after it."""
    guess = shown.replace(tzinfo=UTC)
    # Every offset of the days around; the clock shows the time, or passes over it, between the outermost of them.
    offsets = [(guess + n * 6 * HOUR).astimezone(zone).utcoffset() or timedelta(0) for n in range(-8, 9)]
    moment, last = guess - max(offsets), guess - min(offsets)
    found = []
    after = None
    while moment <= last:
        wall = _wall(moment, zone)
        if wall == shown:
            found.append(moment)
        if wall > shown:
            after = after or moment
        moment += MINUTE
    if found:
        return found[-1] if later else found[0]
    assert after is not None
    return after


# Random cases


def random_case(random: Random) -> Case:
    """A hold or deadline with random terms, readings, events and days off."""
    zone = ZoneInfo(random.choice(ZONES))
    bought = _moment(random, zone)
    events = {"purchase": bought}
    if random.random() < 0.7:
        # Reckoned in UTC: on the wall clock it might be a time that the clocks jumped over, which never was.
        sent = bought.astimezone(UTC) + random.randrange(-600, 10_000) * MINUTE
        events["report-sent:police"] = sent.astimezone(zone)
    table = _terms(random)
    table["readings"] = [{"reason": "another", **_reading(random, table)} for _ in range(random.choice((0, 0, 1, 2)))]
    if random.random() < 0.3:
        table["start"] = _start(random)
    weekend = random.choice((frozenset({5, 6}), frozenset({6}), frozenset({4, 5}), frozenset[int]()))
    days = {bought.date() + random.randrange(-3, 60) * DAY for _ in range(random.choice((0, 3, 12)))}
    closed = tuple(Off(day, random.random() < 0.4) for day in sorted(days))
    return Case(table, events, weekend, closed, zone)


def _moment(random: Random, zone: ZoneInfo) -> datetime:
    """A whole minute, often near a clock change or the turn of a year."""
    moment = datetime(2005, 1, 1, tzinfo=UTC) + random.randrange(30 * 365 * 24 * 60) * MINUTE
    if random.random() < 0.3:
        # Walk on to the day on which the clocks change, then to some time around it.
        for _ in range(400):
            if moment.astimezone(zone).utcoffset() != (moment + DAY).astimezone(zone).utcoffset():
                break
            moment += DAY
        moment += random.randrange(-1440, 2880) * MINUTE
    return moment.astimezone(zone)


def _terms(random: Random) -> dict[str, Any]:
    unit = random.choice(("hours", "days", "days", "working-days", "working-days", "months", "years"))
    length = {
        "hours": random.randrange(1, 200),
        "days": random.randrange(2, 130),
        "working-days": random.randrange(2, 15),
        "months": random.randrange(1, 30),
        "years": random.randrange(1, 5),
    }[unit]
    table: dict[str, Any] = {"length": length, "unit": unit}
    if unit != "hours":
        table |= {
            "first_day_counts": random.random() < 0.2,
            "counts": "before" if random.random() < 0.2 else "for",
            "roll": random.choice(("none", "none", "next-working-day", "after-sunday-or-holiday")),
        }
    return table


def _start(random: Random) -> Any:
    both = ["purchase", "report-sent:police"]
    return random.choice(("report-sent:police", {"later_of": both}, {"earlier_of": both}))


def _reading(random: Random, table: Mapping[str, Any]) -> dict[str, Any]:
    choices: list[dict[str, Any]] = [{"length": table["length"] + 1}, {"start": _start(random)}]
    if table["unit"] != "hours":
        choices += [
            {"roll": random.choice(("none", "next-working-day", "after-sunday-or-holiday"))},
            {"first_day_counts": not table["first_day_counts"]},
            {"counts": "for" if table["counts"] == "before" else "before"},
        ]
    return random.choice(choices)
