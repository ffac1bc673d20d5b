"""Worked cases under public law: each rule is written from the section it names, each date follows from the text.

The rules here are small and for counting only; they are nobody's guide to the law in force. Weekdays and the
changes of the clock in 2026 and 2027 (1 November 2026, 14 March 2027) are those of the calendar and of the IANA
time zone database.
"""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest

from ledger.law.counting import Span, deadline, hold_end
from ledger.law.duties import weigh
from ledger.law.holds import Act, Allowed, Forbidden, may, renewed
from ledger.law.reports import owed
from ledger.law.rules import RuleFile
from tests.law_samples import US_DAYS, facts, file_of, free, held, local, recipient, ring, rule, shown

FORBIDS = 'forbids = ["sell", "melt", "alter"]\n'


class TestFlorida:
    """Fla. Stat. 538.06(1): thirty days after the date acquired for precious metal, fifteen for others."""

    FILE = file_of(
        rule(
            "hold",
            "precious",
            'when = [{ fact = "item.goods", in = ["jewelry", "coin", "bullion"] }]\nlength = 30\nunit = "days"\n'
            + FORBIDS,
            "Fla. Stat. 538.06(1)",
        ),
        rule(
            "hold",
            "other",
            'when = [{ fact = "item.goods", is = "other" }]\nlength = 15\nunit = "days"\n' + FORBIDS,
            "Fla. Stat. 538.06(1)",
        ),
    )
    COUNTY = file_of(
        rule(
            "hold",
            "all-goods",
            'length = 30\nunit = "days"\n' + FORBIDS,
            "St. Lucie County Code 12-85",
        ),
        rule(
            "retain",
            "records",
            'classes = ["item"]\nat_least = { length = 5, unit = "years" }\n',
            "St. Lucie County Code 12-85",
        ),
        layer='"county"',
        jurisdiction='"xx-county"',
    )

    @pytest.mark.parametrize(
        ("bought", "day"), [("2026-11-02T10:00", "2026-12-03"), ("2026-10-30T10:00", "2026-11-30")]
    )
    def test_a_ring_is_free_on_the_day_after_the_thirtieth(self, bought: str, day: str) -> None:
        assert free(self.FILE, bought) == (day, day)

    def test_the_period_is_of_each_good_and_not_of_the_ticket(self) -> None:
        guitar = {"line": 2, "goods": "other", "article": "guitar"}
        duties = weigh([self.FILE], facts(ring(), guitar), at=local("2026-11-02T10:00"))
        assert shown(duties.leave(1).plain) == "2026-12-03T00:00-05:00"
        assert shown(duties.leave(2).plain) == "2026-11-18T00:00-05:00"

    def test_a_county_that_holds_everything_thirty_days_governs_the_guitar(self) -> None:
        guitar = {"line": 1, "goods": "other", "article": "guitar"}
        duties = weigh([self.COUNTY, self.FILE], facts(guitar), at=local("2026-11-02T10:00"))
        assert shown(duties.leave(1).plain) == "2026-12-03T00:00-05:00"
        assert len(duties.holds) == 2

    def test_the_later_of_the_state_s_three_and_the_county_s_five_years_is_kept(self) -> None:
        state = file_of(
            rule(
                "retain",
                "records",
                'classes = ["item"]\nat_least = { length = 3, unit = "years" }\n',
                "Fla. Stat. 538.04",
            )
        )
        duties = weigh([state, self.COUNTY], facts(), at=local("2026-11-02T10:00"))
        assert shown(duties.retention[0].at_least) == "2031-11-03T00:00-05:00"
        assert duties.retention[0].rules == ("xx-sample/records", "xx-county/records")

    def test_marked_bullion_is_held_until_june_2023_and_not_from_july(self) -> None:
        # Ch. 2023-71, Laws of Florida: from 1 July 2023 assayed bullion, marked by weight and fineness, is left out.
        file = file_of(
            rule(
                "exempt",
                "bullion",
                'from = 2023-07-01\nwhen = [{ fact = "item.goods", is = "bullion" }, '
                '{ fact = "item.marked", is = true }]\n',
                "Fla. Stat. 538.03 as amended by ch. 2023-71",
            ),
            rule("hold", "precious", 'length = 30\nunit = "days"\n' + FORBIDS, "Fla. Stat. 538.06(1)"),
        )
        bar = ring(goods="bullion", article="bar", marked=True)
        before = weigh([file], facts(bar), at=local("2023-06-30T12:00"))
        after = weigh([file], facts(bar), at=local("2023-07-01T12:00"))
        assert len(before.holds) == 1
        assert after.holds == ()
        assert after.exemptions[0].source == "Fla. Stat. 538.03 as amended by ch. 2023-71"


class TestNorthCarolina:
    """N.C. Gen. Stat. 66-411: seven days from the date the transaction was reported; 66-410: within 48 hours."""

    FILE = file_of(
        recipient("police"),
        rule(
            "exempt",
            "below-the-standard",
            "when = [{ any = [\n"
            '  { all = [{ fact = "item.metal", is = "gold" }, { fact = "item.fineness", below = "10 karat" }] },\n'
            '  { all = [{ fact = "item.metal", is = "silver" }, { fact = "item.fineness", below = "925" },'
            ' { not = { fact = "item.marks", has = "Sterling" } }] },\n'
            "] }]\n",
            "N.C. Gen. Stat. 66-406",
        ),
        rule(
            "hold",
            "seven-days",
            'length = 7\nunit = "days"\nstart = "report-sent:police"\n' + FORBIDS,
            "N.C. Gen. Stat. 66-411",
        ),
        rule(
            "report",
            "copy",
            'to = "police"\nper = "purchase"\ndue = { within = 48, unit = "hours" }\ntitle = "Copy of the record"\n',
            "N.C. Gen. Stat. 66-410",
        ),
    )
    GOLD = ring(fineness_ppm=585_000, marks=["14K"])

    def test_reported_on_friday_it_is_free_on_the_eighth_day(self) -> None:
        # 52 N.C. Op. Att'y Gen. 74 (1983) under the older five days: "may sell on the sixth day"; so seven, eighth.
        plain, _ = free(self.FILE, "2026-11-06T10:00", {"report-sent:police": "2026-11-06T11:00"}, items=[self.GOLD])
        assert plain == "2026-11-14"

    def test_reported_on_sunday_it_is_free_on_the_monday_of_the_week_after(self) -> None:
        plain, _ = free(self.FILE, "2026-11-06T15:00", {"report-sent:police": "2026-11-08T14:00"}, items=[self.GOLD])
        assert plain == "2026-11-16"

    def test_never_reported_there_is_no_day_on_which_it_is_free(self) -> None:
        duties = weigh([self.FILE], facts(self.GOLD), at=local("2026-11-06T15:00"))
        assert held(duties).cautious is None
        assert held(duties).waiting_for == "report-sent:police"
        assert shown(duties.reports[0].due) == "2026-11-08T15:00-05:00"
        assert isinstance(may(Act("sell"), duties.holds, (), local("2040-01-01T00:00")), Forbidden)

    @pytest.mark.parametrize(
        ("item", "covered"),
        [
            (ring(fineness_ppm=375_000, marks=["9K"]), False),
            (ring(metal="silver", fineness_ppm=900_000, marks=[]), False),
            (ring(metal="silver", fineness_ppm=900_000, marks=["STERLING"]), True),
            (ring(fineness_ppm=416_667, marks=["10K"]), True),
        ],
    )
    def test_ten_karat_and_sterling_are_the_thresholds(self, item: dict[str, object], covered: bool) -> None:
        duties = weigh([self.FILE], facts(item), at=local("2026-11-06T15:00"))
        assert bool(duties.holds) is covered


class TestTennessee:
    """Tenn. Code 38-1-202(a): twenty days from the date of purchase; 38-1-203: by noon of the day following."""

    FILE = file_of(
        recipient("sheriff"),
        recipient("police"),
        rule(
            "hold",
            "twenty-days",
            'length = 20\nunit = "days"\nforbids = ["sell", "melt", "move"]\nkeep_in = "premises"\n'
            'allows = [{ act = "move", to = "secure-storage" }]\n'
            'readings = [{ reason = "Tenn. Code 1-3-102", basis = "text", roll = "next-working-day" }]\n',
            "Tenn. Code 38-1-202(a)",
        ),
        *(
            rule(
                "report",
                f"log-to-{to}",
                f'to = "{to}"\nper = "purchase"\ndue = {{ next = "day", by = "12:00" }}\ntitle = "Log"\n',
                "Tenn. Code 38-1-203",
            )
            for to in ("sheriff", "police")
        ),
        US_DAYS,
        zone='"America/Chicago"',
    )

    def at(self, text: str) -> datetime:
        return local(text, "America/Chicago")

    def test_bought_on_24_november_it_is_free_on_15_december(self) -> None:
        duties = weigh([self.FILE], facts(), at=self.at("2026-11-24T10:00"))
        assert shown(duties.leave(1).plain) == "2026-12-15T00:00-06:00"
        assert {shown(one.due) for one in duties.reports} == {"2026-11-25T12:00-06:00"}
        assert [one.recipient for one in duties.reports] == ["sheriff", "police"]

    def test_the_log_is_due_at_noon_of_a_sunday_too(self) -> None:
        duties = weigh([self.FILE], facts(), at=self.at("2026-11-28T10:00"))
        assert {shown(one.due) for one in duties.reports} == {"2026-11-29T12:00-06:00"}

    def test_a_last_day_on_saturday_is_free_on_sunday_and_with_caution_on_tuesday(self) -> None:
        leave = weigh([self.FILE], facts(), at=self.at("2026-11-15T10:00")).leave(1)
        assert shown(leave.plain) == "2026-12-06T00:00-06:00"
        assert shown(leave.cautious) == "2026-12-08T00:00-06:00"

    def test_on_the_third_day_it_may_go_to_a_vault_and_not_into_the_pot(self) -> None:
        duties = weigh([self.FILE], facts(), at=self.at("2026-11-24T10:00"))
        third = self.at("2026-11-27T10:00")
        assert may(Act("move", "secure-storage"), duties.holds, (), third) == Allowed()
        melted = may(Act("melt"), duties.holds, (), third)
        assert isinstance(melted, Forbidden)
        assert melted.source == "Tenn. Code 38-1-202(a)"
        assert isinstance(may(Act("move", "county"), duties.holds, (), third), Forbidden)


class TestPennsylvania:
    """73 P.S. 1934: five full working days after the report was filed; 1933(c): close of the next working day."""

    DAYS = US_DAYS.replace(
        "closed = [", 'closed = [\n  { day = 2026-11-27, name = "Friday after Thanksgiving", arguable = true },'
    )
    FILE = file_of(
        recipient("attorney"),
        rule(
            "hold",
            "five-working-days",
            'length = 5\nunit = "working-days"\nstart = "report-received:attorney"\n' + FORBIDS,
            "73 P.S. 1934",
        ),
        rule(
            "report",
            "copy",
            'to = "attorney"\nper = "purchase"\ndue = { next = "working-day" }\ntitle = "Record"\n',
            "73 P.S. 1933(c)",
        ),
        DAYS,
    )

    @pytest.mark.parametrize(
        ("filed", "plain", "cautious"),
        [("2026-11-24T10:00", "2026-12-03", "2026-12-04"), ("2026-11-23T10:00", "2026-12-02", "2026-12-03")],
    )
    def test_thanksgiving_is_skipped_and_the_friday_after_it_is_arguable(
        self, filed: str, plain: str, cautious: str
    ) -> None:
        found = free(self.FILE, "2026-11-23T10:00", {"report-received:attorney": filed})
        assert found == (plain, cautious)

    def test_a_purchase_before_thanksgiving_is_reported_by_the_end_of_friday(self) -> None:
        duties = weigh([self.FILE], facts(), at=local("2026-11-25T10:00"))
        assert shown(duties.reports[0].due) == "2026-11-28T00:00-05:00"

    def test_a_minor_s_payment_waits_three_full_working_days(self) -> None:
        # Three full working days: Mercer County's form under 37 Pa. Code 501.8 (guidance, not the text).
        file = file_of(
            rule(
                "pay",
                "minors",
                'when = [{ fact = "seller.age", below = 18 }]\nnot_before = { length = 3, unit = "working-days" }\n',
                "37 Pa. Code 501.8",
            ),
            self.DAYS,
        )
        pay = weigh([file], facts(seller={"age": 16}), at=local("2026-11-23T10:00")).pay
        assert shown(pay.not_before_plain) == "2026-11-28T00:00-05:00"
        assert shown(pay.not_before_cautious) == "2026-12-01T00:00-05:00"


class TestMaryland:
    """Md. Bus. Reg. 12-305: eighteen days after submitting the record; 12-304: noon of the next business day."""

    def file(self, length: int, days: str = US_DAYS) -> RuleFile:
        return file_of(
            recipient("police"),
            rule(
                "hold",
                "after-submission",
                f'length = {length}\nunit = "days"\nstart = "report-sent:police"\n' + FORBIDS,
                "Md. Bus. Reg. 12-305",
            ),
            rule(
                "report",
                "record",
                'to = "police"\nper = "purchase"\ndue = { next = "working-day", by = "12:00" }\ntitle = "Record"\n',
                "Md. Bus. Reg. 12-304",
            ),
            days,
        )

    @pytest.mark.parametrize(
        ("length", "submitted", "day"),
        [
            (18, "2026-11-25T17:00", "2026-12-14"),
            (18, "2026-11-30T11:00", "2026-12-19"),
            (30, "2026-11-25T17:00", "2026-12-26"),  # Prince George's County
            (10, "2026-11-25T17:00", "2026-12-06"),  # Baltimore City Code art. 2, 12-9: goods other than metal
        ],
    )
    def test_the_days_run_from_submission(self, length: int, submitted: str, day: str) -> None:
        file = self.file(length)
        found = free(file, "2026-11-25T16:00", {"report-sent:police": submitted})
        assert found[0] == day

    def test_whether_the_friday_is_in_the_list_of_days_off_decides_the_deadline(self) -> None:
        longer = US_DAYS.replace(
            "closed = [", 'closed = [\n  { day = 2026-11-27, name = "Friday after Thanksgiving" },'
        )
        for days, due in ((US_DAYS, "2026-11-27T12:00-05:00"), (longer, "2026-11-30T12:00-05:00")):
            duties = weigh([self.file(18, days)], facts(), at=local("2026-11-25T16:00"))
            assert shown(duties.reports[0].due) == due


class TestOhio:
    """O.A.C. 1301:8-6-03: seventy-two hours at the licensed place; R.C. 4728.09(A): five days within the state."""

    FILE = file_of(
        rule(
            "hold",
            "at-the-place",
            'length = 72\nunit = "hours"\nforbids = ["move"]\nkeep_in = "premises"\n',
            "O.A.C. 1301:8-6-03",
        ),
        rule(
            "hold",
            "in-the-state",
            'length = 5\nunit = "days"\nforbids = ["move", "sell"]\nkeep_in = "state"\n',
            "R.C. 4728.09(A)",
        ),
    )

    def test_the_hour_that_the_clock_gives_back_is_counted(self) -> None:
        duties = weigh([self.FILE], facts(), at=local("2026-10-30T16:20"))
        place, state = duties.holds
        assert shown(place.plain) == "2026-11-02T15:20-05:00"
        assert shown(place.cautious) == "2026-11-02T16:20-05:00"
        assert shown(state.plain) == "2026-11-05T00:00-05:00"

    def test_on_the_fourth_day_it_may_go_to_another_shop_in_the_state_and_not_abroad(self) -> None:
        duties = weigh([self.FILE], facts(), at=local("2026-10-30T16:20"))
        tuesday = local("2026-11-03T10:00")
        assert may(Act("move", "state"), duties.holds, (), tuesday) == Allowed()
        abroad = may(Act("move", "nation"), duties.holds, (), tuesday)
        assert isinstance(abroad, Forbidden)
        assert shown(abroad.until) == "2026-11-05T00:00-05:00"
        assert isinstance(may(Act("move", "state"), duties.holds, (), local("2026-11-02T10:00")), Forbidden)


class TestWashington:
    """RCW 19.60.057: a total of thirty days after receipt; not for goods of a dealer who signs a declaration."""

    FILE = file_of(
        rule(
            "exempt",
            "dealers",
            'rules = ["thirty-days"]\nwhen = [{ fact = "seller.declared_dealer", is = true }]\n',
            "RCW 19.60.057(3)",
        ),
        rule(
            "exempt",
            "home-parties",
            'rules = ["thirty-days", "record"]\nwhen = [{ fact = "slip.channel", is = "home" }]\n',
            "RCW 19.60.095",
        ),
        rule("ask", "record", 'fields = [{ fact = "seller.name", label = "Name" }]\n', "RCW 19.60.025"),
        rule("hold", "thirty-days", 'length = 30\nunit = "days"\n' + FORBIDS, "RCW 19.60.057"),
        zone='"America/Los_Angeles"',
    )

    def test_bought_on_15_january_it_is_free_on_15_february(self) -> None:
        duties = weigh([self.FILE], facts(), at=local("2027-01-15T10:00", "America/Los_Angeles"))
        assert shown(duties.leave(1).plain) == "2027-02-15T00:00-08:00"

    @pytest.mark.parametrize(("declared", "holds"), [(True, 0), (False, 1)])
    def test_a_dealer_s_declaration_frees_from_the_hold_alone(self, declared: bool, holds: int) -> None:
        at = local("2027-01-15T10:00", "America/Los_Angeles")
        duties = weigh([self.FILE], facts(seller={"declared_dealer": declared}), at=at)
        assert len(duties.holds) == holds
        assert [one.fact for one in duties.asks] == ["seller.name"]

    def test_a_home_party_is_free_of_hold_and_record(self) -> None:
        at = local("2027-01-15T10:00", "America/Los_Angeles")
        duties = weigh([self.FILE], facts(slip={"channel": "home"}), at=at)
        assert duties.holds == ()
        assert duties.asks == ()


class TestMichigan:
    """MCL 445.482, 445.484(3) and 445.405: small unmarked things are out; two police; Mondays before noon."""

    FILE = file_of(
        recipient("local-police"),
        recipient("home-police"),
        rule(
            "exempt",
            "under-five-dollars",
            'when = [{ fact = "item.marked", is = false }, { fact = "item.price", below = "5.00" }]\n',
            "MCL 445.482",
        ),
        rule("hold", "unaltered", 'length = 15\nunit = "days"\n' + FORBIDS, "MCL 445.405"),
        rule(
            "report",
            "to-local-police",
            'to = "local-police"\nper = "purchase"\ndue = { within = 48, unit = "hours" }\ntitle = "Form"\n',
            "MCL 445.484(3)",
        ),
        rule(
            "report",
            "to-home-police",
            'when = [{ fact = "seller.address.city", is_not = "Grand Blanc" }]\nto = "home-police"\n'
            'per = "purchase"\ndue = { within = 48, unit = "hours" }\ntitle = "Form"\n',
            "MCL 445.484(3)",
        ),
        rule(
            "report",
            "weekly",
            'to = "local-police"\nper = "week"\ndue = { weekly = "monday", by = "12:00" }\ntitle = "Week"\n',
            "MCL 445.405",
        ),
        zone='"America/Detroit"',
    )

    @pytest.mark.parametrize(
        ("minor", "marked", "covered"), [(450, False, False), (500, False, True), (450, True, True)]
    )
    def test_an_unmarked_ring_under_five_dollars_is_out(self, minor: int, marked: bool, covered: bool) -> None:
        item = ring(marked=marked, price={"currency": "USD", "minor": minor})
        duties = weigh([self.FILE], facts(item), at=local("2026-11-16T10:00", "America/Detroit"))
        assert bool(duties.holds) is covered
        assert bool(duties.reports) is covered

    @pytest.mark.parametrize(
        ("city", "recipients"),
        [("Grand Blanc", ["local-police"]), ("Flint", ["local-police", "home-police"])],
    )
    def test_a_seller_from_elsewhere_is_reported_there_too(self, city: str, recipients: list[str]) -> None:
        at = local("2026-11-16T10:00", "America/Detroit")
        duties = weigh([self.FILE], facts(seller={"address": {"city": city}}), at=at)
        found = [one for one in duties.reports if one.per == "purchase"]
        assert [one.recipient for one in found] == recipients
        assert {shown(one.due) for one in found} == {"2026-11-18T10:00-05:00"}

    @pytest.mark.parametrize("day", ["2026-11-16", "2026-11-19", "2026-11-22"])
    def test_the_week_from_monday_is_reported_on_the_next_monday_before_noon(self, day: str) -> None:
        on = datetime.fromisoformat(day).date()
        (found,) = owed([self.FILE], on=on, zone=ZoneInfo("America/Detroit"))
        assert shown(found.due) == "2026-11-23T12:00-05:00"
        assert found.covers is not None
        assert [one.isoformat() for one in found.covers] == ["2026-11-16", "2026-11-22"]


class TestShapesThatManyActsShare:
    """The day of the event is day 0; dates are local; the leap day is a day; clock changes give two readings."""

    NEW_YORK = ZoneInfo("America/New_York")

    def test_the_leap_day_counts(self) -> None:
        end = hold_end(Span(30, "days"), local("2028-02-15T12:00"), None, self.NEW_YORK)
        assert shown(end.plain) == "2028-03-17T00:00-04:00"

    def test_forty_eight_hours_over_the_spring_change_end_at_fifteen_or_sixteen(self) -> None:
        end = deadline(Span(48, "hours"), local("2027-03-13T15:00"), None, self.NEW_YORK)
        assert shown(end.plain) == "2027-03-15T16:00-04:00"
        assert shown(end.cautious) == "2027-03-15T15:00-04:00"

    def test_the_date_of_purchase_is_the_shop_s_and_not_the_server_s(self) -> None:
        at = datetime(2026, 11, 3, 4, 50, tzinfo=UTC)  # 23:50 of 2 November in New York
        end = hold_end(Span(10, "days"), at, None, self.NEW_YORK)
        assert end.trace["plain"]["last_day"] == "2026-11-12"

    def test_a_hold_recomputed_from_the_same_events_is_the_same(self) -> None:
        file = TestFlorida.FILE
        at = local("2026-11-02T10:00")
        hold = held(weigh([file], facts(), at=at))
        assert renewed(hold, file, {"purchase": at}, self.NEW_YORK) == hold
