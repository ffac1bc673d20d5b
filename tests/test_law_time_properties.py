"""What must hold of all times, whatever the rule: the order of the readings, and no gain from buying later."""

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from random import Random
from typing import Any
from zoneinfo import ZoneInfo

from hypothesis import given, settings
from hypothesis import strategies as st

from ledger.law.building_times import due_of, period_of
from ledger.law.calendars import Calendar, Closed, Closing
from ledger.law.clocks import Clock, Ends
from ledger.law.orders import OrderEvents, state
from tests.law_recount import ZONES, Case, random_case
from tests.law_samples import US_DAYS, file_of, rule

EMPTY = file_of()
CASES = st.randoms(use_true_random=False).map(random_case)
DAY = timedelta(days=1)


def clock_of(case: Case, **events: datetime) -> Clock:
    """The clock of a random case; its events may be changed."""
    closed = {one.day: Closed(one.day, "off", "s", one.arguable) for one in case.closed}
    calendar = Calendar(
        case.weekend, closed, date(2000, 1, 1), date(2060, 12, 31), "s", "xx", closing=Closing(time(17), True, "s")
    )
    known = {**case.events, **events}
    day = known["purchase"].astimezone(case.zone).date()
    return Clock(replace(EMPTY, calendar=calendar), day, case.zone, known)


def instants(ends: Ends) -> tuple[datetime | None, datetime | None]:
    """Both ends in UTC."""
    return tuple(one and one.astimezone(UTC) for one in (ends.plain, ends.bound))  # type: ignore[return-value]


class TestReadings:
    """Cautious >= plain >= earliest: nobody is freed earlier or given longer by a reading."""

    @settings(max_examples=150, deadline=None)
    @given(CASES)
    def test_of_a_period(self, case: Case) -> None:
        clock, period = clock_of(case), period_of(case.table, ("hold", 0))
        plain, latest = instants(clock.period(period, later=True))
        written, earliest = instants(clock.period(period, later=False))
        assert (plain is None) == (written is None)
        if latest is not None:
            assert plain is not None
            assert latest >= plain
        if plain is not None:
            assert written is not None
            assert earliest is not None
            assert plain >= written >= earliest

    @settings(max_examples=150, deadline=None)
    @given(CASES, st.randoms(use_true_random=False))
    def test_of_a_deadline(self, case: Case, random: Random) -> None:
        table = _due(random)
        table["readings"] = [{"reason": "R", **_due(random)} for _ in range(random.randrange(3))]
        clock, due = clock_of(case), due_of(table, "task", ("task", 0))
        _, latest = instants(clock.due(due, later=True))
        plain, earliest = instants(clock.due(due))
        assert plain is not None
        assert earliest is not None
        assert latest is not None
        assert latest >= plain >= earliest
        bought = clock.events["purchase"]
        assert isinstance(bought, datetime)
        assert earliest >= bought.astimezone(UTC).replace(second=0) - timedelta(minutes=1)

    @settings(max_examples=60, deadline=None)
    @given(
        notified=st.integers(0, 2_000_000),
        form=st.sampled_from(["written", "spoken"]),
        written=st.none() | st.integers(0, 40_000),
        renewals=st.lists(st.integers(0, 400_000), max_size=3),
        notices=st.lists(st.integers(0, 400_000), max_size=2),
        at=st.integers(0, 600_000),
    )
    def test_of_an_order(
        self, notified: int, form: str, written: int | None, renewals: list[int], notices: list[int], at: int
    ) -> None:
        begun = _minutes(notified, ZoneInfo("America/New_York"))
        told = OrderEvents(
            begun,
            form,
            None if written is None else begun + timedelta(minutes=written),
            tuple(begun + timedelta(minutes=one) for one in notices),
            tuple(begun + timedelta(minutes=one) for one in renewals),
        )
        found = state("o", ORDER, told, begun + timedelta(minutes=at))
        assert found.plain is not None
        assert found.cautious is not None
        assert found.cautious.timestamp() >= found.plain.timestamp() > begun.timestamp()
        cap = begun.astimezone(UTC) + timedelta(days=502)
        assert found.cautious.astimezone(UTC) < cap
        if found.notice_due is not None:
            assert found.notice_due_plain is not None
            assert found.notice_due.timestamp() <= found.notice_due_plain.timestamp() <= found.cautious.timestamp()


ORDER = file_of(
    rule(
        "order",
        "o",
        'length = 90\nunit = "days"\nforms = ["written", "spoken"]\n'
        'lapse = { unless = "written", within = { length = 10, unit = "working-days" } }\n'
        'notice = { before = { length = 20, unit = "days" }, silence = { length = 90, unit = "days" } }\n'
        'renewal = { length = 90, unit = "days", times = 2 }\ncap = { length = 500, unit = "days" }\n'
        'readings = [{ reason = "R", roll = "next-working-day" }]\n',
    ),
    US_DAYS.replace("from = 2026-01-01", "from = 2020-01-01").replace("2027-12-31", "2040-12-31"),
)


def _minutes(count: int, zone: ZoneInfo) -> datetime:
    return (datetime(2021, 1, 1, tzinfo=UTC) + timedelta(minutes=count)).astimezone(zone)


def _due(random: Random) -> dict[str, Any]:
    hour = random.choice(({}, {"by": "12:00"}, {"by": "close"}, {"by": "02:30"}))
    roll = {"roll": random.choice(("none", "next-working-day", "after-sunday-or-holiday"))}
    within = {"within": random.randrange(1, 60), "unit": random.choice(("hours", "days", "working-days"))}
    shapes: tuple[dict[str, Any], ...] = (
        within if within["unit"] == "hours" else {**within, **roll},
        {"next": random.choice(("day", "working-day")), **hour, **roll},
        {"same_day": True, **hour, **roll},
        {"weekly": "sunday", **hour},
        {"quarterly": ["01-31", "02-29", "07-31"], **roll},
        {"at_once": True},
    )
    return dict(random.choice(shapes))


class TestBuyingLater:
    """Within one rule version and calendar nothing bought later is free earlier, over clock changes and year ends."""

    @settings(max_examples=200, deadline=None)
    @given(CASES, st.integers(1, 5_000))
    def test_a_later_purchase_is_never_free_earlier(self, case: Case, minutes: int) -> None:
        period = period_of(case.table, ("hold", 0))
        first = case.events["purchase"]
        second = (first.astimezone(UTC) + timedelta(minutes=minutes)).astimezone(case.zone)
        before = instants(clock_of(case).period(period, later=True))
        after = instants(clock_of(case, purchase=second).period(period, later=True))
        for early, late in zip(before, after, strict=True):
            assert (early is None) == (late is None)
            assert early is None or late is None or early <= late

    @settings(max_examples=100, deadline=None)
    @given(
        st.sampled_from(ZONES),
        st.integers(2024, 2040),
        st.sampled_from([(3, 8), (3, 14), (4, 1), (10, 4), (11, 1), (11, 7), (12, 31)]),
        st.lists(st.integers(-2_000, 3_000), min_size=2, max_size=6),
        st.sampled_from([("hours", 24), ("hours", 72), ("days", 1), ("working-days", 2), ("months", 1)]),
    )
    def test_around_the_nights_on_which_clocks_change(
        self, zone: str, year: int, day: tuple[int, int], minutes: list[int], span: tuple[str, int]
    ) -> None:
        here = ZoneInfo(zone)
        case = Case({"unit": span[0], "length": span[1]}, {}, frozenset({5, 6}), (), here)
        period = period_of(case.table, ("hold", 0))
        noon = datetime(year, *day, 12, tzinfo=UTC)
        bought = [(noon + timedelta(minutes=one)).astimezone(here) for one in sorted(minutes)]
        found = [instants(clock_of(case, purchase=one).period(period, later=True)) for one in bought]
        for before, after in pairwise(found):
            assert before[0] is not None
            assert after[0] is not None
            assert before[0] <= after[0]
            assert before[1] is not None
            assert after[1] is not None
            assert before[1] <= after[1]
