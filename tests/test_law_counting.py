"""Days, working days, hours, months and years against calendars, clock changes and a second, slow way of counting."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ledger.errors import NoRuleForDay
from ledger.law.calendars import Calendar, Closed
from ledger.law.counting import Span, count, deadline, hold_end, instant, later_months, utc
from tests.law_samples import local, shown

NEW_YORK = ZoneInfo("America/New_York")
DAY = timedelta(days=1)


def calendar(*closed: Closed, first: date = date(2000, 1, 1), last: date = date(2060, 12, 31)) -> Calendar:
    return Calendar(frozenset({5, 6}), {one.day: one for one in closed}, first, last, "Sample Code 9", "xx-sample")


class TestInstant:
    """A time that the clocks jumped over is the first moment after; of two equal times the rule's side is taken."""

    @pytest.mark.parametrize(
        ("zone", "day", "at", "found"),
        [
            # IANA time zone database: US 2027; Beirut and Havana change at midnight; Lord Howe by half an hour.
            ("America/New_York", "2027-03-14", "02:30", "2027-03-14T03:00-04:00"),
            ("Asia/Beirut", "2022-03-27", "00:00", "2022-03-27T01:00+03:00"),
            ("America/Havana", "2026-03-08", "00:30", "2026-03-08T01:00-04:00"),
            ("Australia/Lord_Howe", "2026-10-04", "02:15", "2026-10-04T02:30+11:00"),
            ("Pacific/Apia", "2011-12-30", "12:00", "2011-12-31T00:00+14:00"),
        ],
    )
    def test_a_time_that_never_was_is_the_first_one_after_it(self, zone: str, day: str, at: str, found: str) -> None:
        for later in (False, True):
            moment = instant(date.fromisoformat(day), time.fromisoformat(at), ZoneInfo(zone), later=later)
            assert shown(moment) == found

    def test_of_two_equal_times_a_hold_takes_the_second_and_a_deadline_the_first(self) -> None:
        day, at = date(2026, 11, 1), time(1, 30)
        assert shown(instant(day, at, NEW_YORK, later=True)) == "2026-11-01T01:30-05:00"
        assert shown(instant(day, at, NEW_YORK, later=False)) == "2026-11-01T01:30-04:00"

    def test_an_ordinary_time_is_itself(self) -> None:
        assert shown(instant(date(2026, 6, 1), time(9), NEW_YORK, later=True)) == "2026-06-01T09:00-04:00"


class TestPeriods:
    """The day of the event is not counted unless the rule counts it; the last day is forbidden to its end."""

    @pytest.mark.parametrize(
        ("span", "start", "end"),
        [
            (Span(10, "days"), "2026-12-28T23:59", "2027-01-08"),
            (Span(1, "days"), "2026-03-07T10:00", "2026-03-09"),
            (Span(10, "days", first_day_counts=True), "2026-12-28T09:00", "2027-01-07"),
            (Span(1, "months"), "2026-01-31T09:00", "2026-03-01"),
            (Span(1, "months"), "2028-01-31T09:00", "2028-03-01"),
            (Span(13, "months"), "2026-12-15T09:00", "2028-01-16"),
            (Span(1, "years"), "2028-02-29T09:00", "2029-03-01"),
            (Span(4, "years"), "2028-02-29T09:00", "2032-03-01"),
            (Span(1, "years", first_day_counts=True), "2026-05-01T09:00", "2027-05-01"),
        ],
    )
    def test_calendar_periods(self, span: Span, start: str, end: str) -> None:
        found = hold_end(span, local(start), None, NEW_YORK)
        assert found.plain == found.cautious
        assert (found.plain.isoformat()[:16]) == f"{end}T00:00"

    def test_a_month_that_has_no_such_day_ends_on_its_last(self) -> None:
        assert later_months(date(2026, 8, 31), 1) == date(2026, 9, 30)
        assert later_months(date(2026, 8, 31), 6) == date(2027, 2, 28)
        assert later_months(date(2026, 12, 1), 12) == date(2027, 12, 1)

    @pytest.mark.parametrize(
        ("span", "start", "end", "skipped"),
        [
            (Span(1, "working-days"), "2026-11-06T10:00", "2026-11-10", ["Saturday", "Sunday"]),
            (Span(1, "working-days"), "2026-11-07T10:00", "2026-11-10", ["Sunday"]),
            (Span(1, "working-days", first_day_counts=True), "2026-11-06T10:00", "2026-11-07", []),
            (Span(2, "working-days", first_day_counts=True), "2026-11-07T10:00", "2026-11-11", ["Saturday", "Sunday"]),
            (Span(3, "days", roll="next-working-day"), "2026-11-04T10:00", "2026-11-10", ["Saturday", "Sunday"]),
            (Span(2, "working-days"), "2026-12-23T10:00", "2026-12-29", ["Christmas", "Saturday", "Sunday"]),
        ],
    )
    def test_days_off_are_skipped_and_named(self, span: Span, start: str, end: str, skipped: list[str]) -> None:
        found = hold_end(span, local(start), calendar(Closed(date(2026, 12, 25), "Christmas", "s", False)), NEW_YORK)
        assert found.plain.isoformat()[:10] == end
        assert [one["why"] for one in found.trace["plain"]["skipped"]] == skipped

    def test_an_arguable_day_is_off_for_a_hold_s_cautious_end_and_worked_for_a_deadline(self) -> None:
        days = calendar(Closed(date(2026, 11, 27), "a Friday", "s", True))
        span, start = Span(2, "working-days"), local("2026-11-25T10:00")
        hold, due = hold_end(span, start, days, NEW_YORK), deadline(span, start, days, NEW_YORK)
        assert (shown(hold.plain), shown(hold.cautious)) == ("2026-11-28T00:00-05:00", "2026-12-01T00:00-05:00")
        assert hold.trace["other_readings"][0]["skipped"][0]["why"] == "a Friday (arguable)"
        assert shown(due.plain) == shown(due.cautious) == "2026-11-28T00:00-05:00"

    def test_days_outside_the_list_are_refused(self) -> None:
        short = calendar(first=date(2026, 1, 1), last=date(2026, 12, 31))
        with pytest.raises(
            NoRuleForDay, match="2027-01-01: its list of days off was checked from 2026-01-01 to 2026-12-31"
        ):
            hold_end(Span(5, "working-days"), local("2026-12-29T10:00"), short, NEW_YORK)
        with pytest.raises(NoRuleForDay):
            short.why_off(date(2025, 12, 31), arguable_is_off=True)

    def test_the_list_itself_can_be_kept(self) -> None:
        assert calendar(Closed(date(2026, 12, 25), "Christmas", "s", False)).record() == {
            "weekend": ["saturday", "sunday"],
            "from": "2000-01-01",
            "until": "2060-12-31",
            "source": "Sample Code 9",
            "closed": [{"day": "2026-12-25", "name": "Christmas", "source": "s", "arguable": False}],
        }


# The second way: one day at a time, with a list of days, in plain words.


def slow_last_day(length: int, start: date, off: set[date], *, working: bool, first_counts: bool, roll: bool) -> date:
    days = [start + DAY * number for number in range(0 if first_counts else 1, 2_000)]
    if working:
        days = [day for day in days if day.weekday() < 5 and day not in off]
    last = days[length - 1]
    while roll and (last.weekday() >= 5 or last in off):
        last += DAY
    return last


STARTS = st.datetimes(datetime(2024, 1, 1), datetime(2031, 1, 1))
ZONES = st.sampled_from(
    ["America/New_York", "America/Chicago", "America/Havana", "Asia/Beirut", "Australia/Lord_Howe", "Pacific/Chatham"]
).map(ZoneInfo)
SPANS = st.builds(
    Span,
    st.integers(1, 90),
    st.sampled_from(["hours", "days", "working-days", "months"]),
    st.booleans(),
    st.sampled_from(["none", "next-working-day"]),
)
CLOSED = st.dictionaries(st.dates(date(2024, 1, 1), date(2032, 1, 1)), st.booleans(), max_size=40)


def days_off(closed: dict[date, bool]) -> Calendar:
    return calendar(*(Closed(day, "a day off", "s", arguable) for day, arguable in closed.items()))


class TestPropertiesOfCounting:
    """Cautious is never before plain for a hold nor after it for a deadline; a later purchase is never free earlier."""

    @settings(max_examples=150, deadline=None, derandomize=True)
    @given(SPANS, STARTS, ZONES, CLOSED)
    def test_two_ways_of_counting_agree(
        self, span: Span, start: datetime, zone: ZoneInfo, closed: dict[date, bool]
    ) -> None:
        begun = start.replace(tzinfo=zone)
        found = hold_end(span, begun, days_off(closed), zone).plain
        if span.unit == "hours":
            assert utc(found) == utc(begun) + timedelta(hours=span.length)
            return
        if span.unit == "months":
            return
        last = slow_last_day(
            span.length,
            begun.date(),
            {day for day, arguable in closed.items() if not arguable},
            working=span.unit == "working-days",
            first_counts=span.first_day_counts,
            roll=span.roll != "none",
        )
        assert (utc(found) - timedelta(microseconds=1)).astimezone(zone).date() == last
        assert found.astimezone(zone).date() == last + DAY

    @settings(max_examples=150, deadline=None, derandomize=True)
    @given(SPANS, STARTS, ZONES, CLOSED)
    def test_caution_is_on_the_safe_side(
        self, span: Span, start: datetime, zone: ZoneInfo, closed: dict[date, bool]
    ) -> None:
        begun, days = start.replace(tzinfo=zone), days_off(closed)
        hold, due = hold_end(span, begun, days, zone), deadline(span, begun, days, zone)
        assert utc(hold.cautious) >= utc(hold.plain)
        assert utc(due.cautious) <= utc(due.plain)
        assert utc(due.plain) <= utc(hold.plain)

    @settings(max_examples=150, deadline=None, derandomize=True)
    @given(SPANS, STARTS, st.timedeltas(timedelta(0), timedelta(days=2)), ZONES, CLOSED)
    def test_a_later_purchase_is_never_free_earlier(
        self, span: Span, start: datetime, more: timedelta, zone: ZoneInfo, closed: dict[date, bool]
    ) -> None:
        first = start.replace(tzinfo=UTC)
        days = days_off(closed)
        earlier, later = (hold_end(span, one, days, zone) for one in (first, first + more))
        assert utc(later.plain) >= utc(earlier.plain)
        assert utc(later.cautious) >= utc(earlier.cautious)

    def test_purchases_in_the_hour_that_comes_twice_are_in_order(self) -> None:
        minutes = [datetime(2026, 11, 1, 4, 30, tzinfo=UTC) + timedelta(minutes=number) for number in range(180)]
        ends = [utc(hold_end(Span(72, "hours"), one, None, NEW_YORK).cautious) for one in minutes]
        assert ends == sorted(ends)

    def test_purchases_in_a_half_hour_that_comes_twice_are_in_order(self) -> None:
        zone = ZoneInfo("Australia/Lord_Howe")
        minutes = [datetime(2026, 4, 4, 14, 0, tzinfo=UTC) + timedelta(minutes=number) for number in range(90)]
        ends = [utc(hold_end(Span(5, "hours"), one, None, zone).cautious) for one in minutes]
        assert ends == sorted(ends)

    def test_one_reading_can_be_asked_for(self) -> None:
        found = count(
            Span(72, "hours"),
            local("2026-10-30T16:20"),
            None,
            NEW_YORK,
            arguable_is_off=False,
            by_the_clock=True,
            later=True,
        )
        assert found.how == "72 hours by the clock"
        assert found.last is None
