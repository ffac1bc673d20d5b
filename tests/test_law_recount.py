"""Holds and deadlines counted by the law room and by a second, slow implementation come out the same."""

from dataclasses import replace
from datetime import UTC, date, datetime
from random import Random
from zoneinfo import ZoneInfo

import pytest

from ledger.law.building_times import period_of
from ledger.law.calendars import Calendar, Closed
from ledger.law.clocks import Clock
from tests.law_recount import Case, Counts, Off, random_case, recount
from tests.law_samples import file_of
from tests.long import long_count

NEW_YORK = ZoneInfo("America/New_York")
EMPTY = file_of()


def counted(case: Case, *, later: bool) -> Counts:
    """What the law room makes of a case."""
    closed = {one.day: Closed(one.day, "off", "s", one.arguable) for one in case.closed}
    calendar = Calendar(case.weekend, closed, date(2000, 1, 1), date(2060, 12, 31), "s", "xx-sample")
    file = replace(EMPTY, calendar=calendar)
    clock = Clock(file, case.events["purchase"].astimezone(case.zone).date(), case.zone, case.events)
    found = clock.period(period_of(case.table, ("hold", 0)), later=later)
    return Counts(found.plain, found.bound)


def same(one: Counts, other: Counts) -> bool:
    return all((a and a.astimezone(UTC)) == (b and b.astimezone(UTC)) for a, b in zip(one, other, strict=True))


@long_count("holds", count=100_000)
def both_ways_of_counting_agree(random: Random, count: int) -> None:
    """Plain and cautious ends of a random hold or deadline are those of the slow way of counting."""
    for _ in range(count):
        case = random_case(random)
        for later in (True, False):
            quick, slow = counted(case, later=later), recount(case, later=later)
            assert same(quick, slow), (case, later, quick, slow)


class TestTheSlowWay:
    """The slow way is right where a person can look: it is no use if both are wrong together."""

    @pytest.mark.parametrize(
        ("table", "bought", "plain", "cautious"),
        [
            # Fla. Stat. 538.06: thirty days after 2 November 2026, so free on 3 December.
            ({"length": 30, "unit": "days"}, "2026-11-02T15:00", "2026-12-03T05:00", "2026-12-03T05:00"),
            # O.A.C. 1301:8-6-03: 72 hours from Friday 30 October 2026 16:20, when clocks were put back on the Sunday.
            ({"length": 72, "unit": "hours"}, "2026-10-30T16:20", "2026-11-02T20:20", "2026-11-02T21:20"),
            # 73 P.S. 1934: five working days after Tuesday 24 November 2026 without Thanksgiving; Friday is arguable.
            ({"length": 5, "unit": "working-days"}, "2026-11-24T09:00", "2026-12-03T05:00", "2026-12-04T05:00"),
        ],
    )
    def test_cases_of_statutes(self, table: dict[str, object], bought: str, plain: str, cautious: str) -> None:
        at = datetime.fromisoformat(bought).replace(tzinfo=NEW_YORK)
        closed = (Off(date(2026, 11, 26), False), Off(date(2026, 11, 27), True))
        found = recount(Case(dict(table), {"purchase": at}, frozenset({5, 6}), closed, NEW_YORK), later=True)
        assert [one and one.astimezone(UTC).isoformat()[:16] for one in found] == [plain, cautious]
