"""An authority's order: its length, what lengthens or ends it, and what the dealer owes."""

import json
from datetime import datetime
from zoneinfo import ZoneInfo

import pytest

from ledger.errors import InputError, NoRuleForDay
from ledger.law.clocks import Between
from ledger.law.duties import weigh
from ledger.law.held import Order, leave
from ledger.law.holds import Act, Allowed, Forbidden, may
from ledger.law.orders import OrderEvents, OrderState, state
from ledger.law.rules import RuleFile
from tests.law_samples import US_DAYS, facts, file_of, held, local, rule, shown

HERE = ZoneInfo("America/New_York")
FORBIDS = 'forbids = ["sell", "melt"]\n'


def told(notified: str, form: str = "written", **more: object) -> OrderEvents:
    return OrderEvents(local(notified), form, **more)  # type: ignore[arg-type]


def ends(found: OrderState) -> tuple[str | None, str | None]:
    return shown(found.plain), shown(found.cautious)


def one(body: str, *others: str) -> RuleFile:
    return file_of(rule("order", "police", body), *others, US_DAYS)


# RCW 19.60.045: 120 days from the notice; a spoken order lapses without writing within ten business days; the dealer
# writes twenty days before the end, and silence adds another 120 days; renewals of 120 days before expiry.
HUNDRED_TWENTY = one(
    'length = 120\nunit = "days"\nforms = ["written", "spoken"]\n'
    'lapse = { unless = "written", within = { length = 10, unit = "working-days" } }\n'
    'notice = { before = { length = 20, unit = "days" }, silence = { length = 120, unit = "days" } }\n'
    'renewal = { length = 120, unit = "days" }\nrelease = ["written", "court-order"]\n'
)


class TestLength:
    """It runs from its notice, from a hold's end, or from the day on which something was due."""

    def test_from_the_notice(self) -> None:
        # RCW 19.60.045: notified on 1 February 2027, last day 1 June.
        found = state("police", HUNDRED_TWENTY, told("2027-02-01T10:00"), local("2027-02-02T09:00"))
        assert ends(found) == ("2027-06-02T00:00-04:00",) * 2
        assert not found.open_ended

    def test_added_to_a_running_hold_of_working_days(self) -> None:
        # 73 P.S. 1934: five full working days after the report, then an additional seven days, not working days.
        hold = 'length = 5\nunit = "working-days"\nstart = "report-sent:da"\n' + FORBIDS
        body = 'length = 7\nunit = "days"\nstart = "end:five"\nadds = "to-running"\n'
        days = US_DAYS.replace("closed = [", 'closed = [{ day = 2026-11-27, name = "Friday after", arguable = true },')
        file = file_of(rule("hold", "five", hold), rule("order", "police", body), days)
        events = {"purchase": local("2026-11-23T11:00"), "report-sent:da": local("2026-11-24T09:00")}
        found = state("police", file, told("2026-11-30T15:00", events=events), local("2026-11-30T16:00"))
        assert ends(found) == ("2026-12-10T00:00-05:00", "2026-12-11T00:00-05:00")

    def test_a_hold_that_ended_before_the_notice_is_counted_from_the_notice(self) -> None:
        hold, body = (
            'length = 1\nunit = "days"\n' + FORBIDS,
            'length = 7\nunit = "days"\nstart = "end:h"\nadds = "to-running"\n',
        )
        file = one(body, rule("hold", "h", hold))
        found = state(
            "police",
            file,
            told("2026-12-10T15:00", events={"purchase": local("2026-11-23T11:00")}),
            local("2026-12-10T16:00"),
        )
        assert ends(found) == ("2026-12-18T00:00-05:00",) * 2

    def test_from_the_day_on_which_a_report_was_first_due(self) -> None:
        # R.C. 4728.09: thirty days after the day on which the information was first to be made available.
        report = rule("report", "daily", 'to = "p"\nper = "purchase"\ntitle = "T"\ndue = { same_day = true }\n')
        file = one('length = 30\nunit = "days"\nstart = "due:daily"\n', report, '[[recipient]]\nid = "p"\nname = "P"\n')
        events = {"purchase": local("2026-10-30T16:20")}
        found = state("police", file, told("2026-11-03T09:00", events=events), local("2026-11-03T09:00"))
        assert ends(found) == ("2026-11-30T00:00-05:00",) * 2

    def test_it_waits_for_what_it_runs_from(self) -> None:
        file = one(
            'length = 12\nunit = "days"\nstart = "end:first"\nadds = "to-running"\n',
            rule("order", "first", "open_ended = true\n"),
        )
        waiting = state("police", file, told("2026-11-03T09:00"), local("2026-11-03T09:00"))
        assert (waiting.plain, waiting.cautious, waiting.waiting_for) == (None, None, "end:first")
        end = Between(local("2026-11-10T00:00"), local("2026-11-09T00:00"), local("2026-11-12T00:00"))
        known = state("police", file, told("2026-11-03T09:00", events={"end:first": end}), local("2026-11-03T09:00"))
        assert ends(known) == ("2026-11-22T00:00-05:00", "2026-11-24T00:00-05:00")

    def test_without_an_end_until_it_is_released(self) -> None:
        file = one("open_ended = true\n" + FORBIDS)
        found = state("police", file, told("2026-11-03T09:00"), local("2026-11-04T09:00"))
        assert (found.open_ended, found.plain, found.waiting_for) == (True, None, "lifting of the hold order")
        assert isinstance(may(Act("melt"), (), [found.order("o-1")], local("2036-01-01T00:00")), Forbidden)
        assert may(Act("offer"), (), [found.order("o-1")], local("2026-11-04T00:00")) == Allowed()
        lifted = state(
            "police", file, told("2026-11-03T09:00", released_at=local("2026-11-05T12:00")), local("2026-11-06T09:00")
        )
        assert may(Act("melt"), (), [lifted.order()], local("2026-11-05T12:00")) == Allowed()
        assert leave((), [lifted.order()]).cautious == local("2026-11-05T12:00")
        assert lifted.waiting_for is None
        assert "It was released on 2026-11-05 12:00" in lifted.says

    def test_a_cap_from_the_first_notice(self) -> None:
        cap = 'cap = { length = 90, unit = "days" }\nrenewal = { length = 1, unit = "years" }\n'
        file = one('length = 1\nunit = "years"\n' + cap)
        found = state(
            "police",
            file,
            told("2026-11-20T10:00", renewals=(local("2026-12-01T09:00"),)),
            local("2026-12-01T10:00"),
        )
        # Fla. Stat. 538.06(3): at most 90 days; 20 November 2026 + 90 days is 18 February 2027.
        assert ends(found) == ("2027-02-19T00:00-05:00",) * 2


class TestLapse:
    """A spoken order ends of itself unless a written one follows in time."""

    def test_the_last_day_for_writing(self) -> None:
        # RCW 19.60.045: ten business days after 23 December 2026, without 25 December and 1 January, end on 8 January.
        found = state("police", HUNDRED_TWENTY, told("2026-12-23T10:00", "spoken"), local("2026-12-24T09:00"))
        assert shown(found.lapses_at) == "2027-01-09T00:00-05:00"
        assert not found.lapsed
        assert shown(found.cautious) == "2027-04-23T00:00-04:00"
        assert "It lapses on 2027-01-09 00:00" in found.says

    @pytest.mark.parametrize(
        ("written", "lapsed"), [(None, True), ("2027-01-08T23:59", False), ("2027-01-09T00:00", True)]
    )
    def test_it_lapses_unless_confirmed(self, written: str | None, lapsed: bool) -> None:
        events = told("2026-12-23T10:00", "spoken", written_at=written and local(written))
        found = state("police", HUNDRED_TWENTY, events, local("2027-01-09T00:00"))
        assert found.lapsed is lapsed
        assert (shown(found.cautious) == "2027-01-09T00:00-05:00") is lapsed
        assert (found.lapses_at is None) is not lapsed
        assert (found.notice_due is None) is lapsed

    def test_an_open_ended_one_lapses_too(self) -> None:
        lapse = 'lapse = { unless = "written", within = { length = 48, unit = "hours" } }\n'
        file = one('open_ended = true\nforms = ["spoken"]\n' + lapse)
        found = state("police", file, told("2026-11-03T09:00", "spoken"), local("2026-11-05T09:00"))
        assert ends(found) == ("2026-11-05T09:00-05:00",) * 2
        assert found.waiting_for is None

    def test_a_written_order_does_not_lapse(self) -> None:
        assert state("police", HUNDRED_TWENTY, told("2026-12-23T10:00"), local("2027-02-01T00:00")).lapses_at is None

    def test_only_in_a_form_that_the_rule_lets(self) -> None:
        with pytest.raises(InputError, match="wanted is written"):
            state("police", one("open_ended = true\n"), told("2026-11-03T09:00", "spoken"), local("2026-11-03T09:00"))


class TestNotice:
    """The dealer writes before the end; silence lengthens the order once."""

    def test_the_day_by_which_to_write(self) -> None:
        # RCW 19.60.045: twenty days before 1 June 2027 is 12 May; if missed, 120 days more end on 29 September.
        found = state("police", HUNDRED_TWENTY, told("2027-02-01T10:00"), local("2027-05-12T23:00"))
        assert (shown(found.notice_due), shown(found.notice_due_plain)) == ("2027-05-13T00:00-04:00",) * 2
        assert shown(found.if_silent) == "2027-09-30T00:00-04:00"
        assert ends(found) == ("2027-06-02T00:00-04:00",) * 2
        missed = state("police", HUNDRED_TWENTY, told("2027-02-01T10:00"), local("2027-05-13T00:00"))
        assert ends(missed) == ("2027-09-30T00:00-04:00",) * 2
        assert "It was not given" in missed.says

    def test_a_notice_in_time_is_all_that_is_owed(self) -> None:
        given = told("2027-02-01T10:00", notices=(local("2027-05-12T16:00"),))
        found = state("police", HUNDRED_TWENTY, given, local("2027-05-20T00:00"))
        assert (found.notice_due, found.if_silent, shown(found.cautious)) == (None, None, "2027-06-02T00:00-04:00")
        late = told("2027-02-01T10:00", notices=(local("2027-05-14T16:00"),))
        assert (
            shown(state("police", HUNDRED_TWENTY, late, local("2027-05-20T00:00")).cautious) == "2027-09-30T00:00-04:00"
        )

    def test_silence_and_renewals_count_in_the_order_in_which_they_happen(self) -> None:
        # RCW 19.60.045, by hand: 1 June, by silence on 12 May 29 September, renewed then 27 January 2028.
        for renewed in ("2027-05-20T10:00", "2027-09-01T10:00"):
            both = told("2027-02-01T10:00", renewals=(local(renewed),))
            found = state("police", HUNDRED_TWENTY, both, local("2027-09-05T00:00"))
            assert ends(found) == ("2028-01-28T00:00-05:00",) * 2
            assert (shown(found.notice_due), shown(found.if_silent)) == (
                "2027-05-13T00:00-04:00",
                "2027-09-30T00:00-04:00",
            )
            assert "not given by 2027-05-13" in found.says
            assert "after its end" not in found.says

    def test_a_notice_of_an_end_that_a_renewal_moved_counts_for_the_plain_reading(self) -> None:
        # RCW 19.60.045 does not say whether a renewed hold needs another notice: the longest reading asks for one.
        renewed = local("2027-05-20T10:00")
        once = told("2027-02-01T10:00", notices=(local("2027-05-12T16:00"),), renewals=(renewed,))
        before = state("police", HUNDRED_TWENTY, once, local("2027-06-01T00:00"))
        assert ends(before) == ("2027-09-30T00:00-04:00",) * 2
        assert shown(before.notice_due) == "2027-09-10T00:00-04:00"
        after = state("police", HUNDRED_TWENTY, once, local("2027-09-10T00:00"))
        assert ends(after) == ("2027-09-30T00:00-04:00", "2028-01-28T00:00-05:00")
        again = told("2027-02-01T10:00", notices=(*once.notices, local("2027-09-09T09:00")), renewals=(renewed,))
        assert (
            ends(state("police", HUNDRED_TWENTY, again, local("2027-09-10T00:00"))) == ("2027-09-30T00:00-04:00",) * 2
        )

    @pytest.mark.parametrize(
        ("before", "due"),
        [
            ('length = 36, unit = "hours"', "2026-11-12T12:00-05:00"),
            ('length = 2, unit = "working-days"', "2026-11-11T00:00-05:00"),
            ('length = 1, unit = "months"', "2026-10-14T00:00-04:00"),
            ('length = 1, unit = "years"', "2025-11-14T00:00-05:00"),
        ],
    )
    def test_counted_back_from_the_last_day(self, before: str, due: str) -> None:
        # The last day is Friday 13 November 2026; two working days before it, without Veterans Day, is Tuesday 10.
        file = one(f'length = 10\nunit = "days"\nnotice = {{ before = {{ {before} }} }}\n')
        found = state("police", file, told("2026-11-03T09:00"), local("2026-11-04T09:00"))
        assert (shown(found.notice_due_plain), found.if_silent) == (due, None)


class TestRenewal:
    """A renewal before the end is added to it."""

    def test_each_is_added_to_the_end(self) -> None:
        # Md. Code, Bus. Reg. 12-401: 45 days, renewable in steps of 45.
        file = one('length = 45\nunit = "days"\nrenewal = { length = 45, unit = "days" }\n')
        events = told("2026-11-02T10:00", renewals=(local("2027-01-20T10:00"), local("2026-12-10T10:00")))
        assert ends(state("police", file, events, local("2027-01-21T00:00"))) == ("2027-03-18T00:00-04:00",) * 2

    def test_one_too_late_or_too_many_counts_for_the_longest_reading_only(self) -> None:
        file = one('length = 10\nunit = "days"\nrenewal = { length = 10, unit = "days", times = 1 }\n')
        late = told("2026-11-02T10:00", renewals=(local("2026-11-20T10:00"),))
        found = state("police", file, late, local("2026-11-20T11:00"))
        assert ends(found) == ("2026-11-13T00:00-05:00", "2026-12-01T00:00-05:00")
        assert "after its end" in found.says
        often = told("2026-11-02T10:00", renewals=(local("2026-11-05T10:00"), local("2026-11-06T10:00")))
        found = state("police", file, often, local("2026-11-20T11:00"))
        assert ends(found) == ("2026-11-23T00:00-05:00", "2026-12-03T00:00-05:00")
        assert "more often" in found.says


class TestBesideHolds:
    """An order stands beside a hold, or in its place if the law says so."""

    BODY = 'length = 3\nunit = "days"\nadds = "replaces"\ndisplaces = ["h"]\n'
    FILE = one(BODY, rule("hold", "h", 'length = 30\nunit = "days"\n' + FORBIDS))

    def test_in_place_of_a_hold(self) -> None:
        at = local("2026-11-24T10:15")
        hold = held(weigh([self.FILE], facts(), at=at))
        order = state("police", self.FILE, told("2026-11-25T10:00"), local("2026-11-25T10:00")).order("o-1")
        assert order.replaces == ("xx-sample/h",)
        assert may(Act("offer"), [hold], (), at) == Allowed()
        assert isinstance(may(Act("sell"), [hold], [order], local("2026-11-24T12:00")), Forbidden)
        found = may(Act("sell"), [hold], [order], local("2026-11-26T12:00"))
        assert isinstance(found, Forbidden)
        assert (found.rule, found.others) == ("o-1", ())
        assert leave([hold], [order]).cautious == order.until
        lifted = Order("o-1", order.from_, order.until, "s", lifted_at=order.from_, replaces=order.replaces)
        assert leave([hold], [lifted]).cautious == hold.cautious

    def test_a_hold_is_in_its_place_again_once_it_lapsed(self) -> None:
        lapse = 'forms = ["spoken"]\nlapse = { unless = "written", within = { length = 1, unit = "days" } }\n'
        file = one(self.BODY + lapse, rule("hold", "h", 'length = 30\nunit = "days"\n' + FORBIDS))
        hold = held(weigh([file], facts(), at=local("2026-11-24T10:15")))
        spoken = told("2026-11-25T10:00", "spoken")
        stands = state("police", file, spoken, local("2026-11-25T12:00")).order()
        assert leave([hold], [stands]).cautious == stands.until
        after = local("2026-11-30T12:00")
        assert may(Act("sell"), [hold], [stands], after) == Allowed()
        lapsed = state("police", file, spoken, after).order()
        assert leave([hold], [lapsed]).cautious == hold.cautious
        assert isinstance(may(Act("sell"), [hold], [lapsed], after), Forbidden)

    def test_all_but_surrendering_unless_the_rule_names_acts(self) -> None:
        found = state("police", self.FILE, told("2026-11-25T10:00"), local("2026-11-25T10:00"))
        assert "surrender" not in found.forbids
        assert "move" in found.forbids

    def test_two_readings_are_both_told(self) -> None:
        file = one(
            'length = 10\nunit = "days"\nreadings = [{ reason = "R", basis = "memory", start = "order-written" }]\n'
        )
        events = told("2026-11-03T09:00", "written")
        found = state("police", file, events, local("2026-11-04T09:00"))
        order = found.order("o-1", (1,))
        assert (order.until_plain, order.until, order.lines) == (found.plain, found.cautious, (1,))
        assert found.rests_on_memory == ("readings",)
        plain = Order(
            "o", local("2026-11-03T09:00"), local("2026-11-20T00:00"), "s", until_plain=local("2026-11-18T00:00")
        )
        both = leave((), [plain])
        assert (shown(both.plain), shown(both.cautious)) == ("2026-11-18T00:00-05:00", "2026-11-20T00:00-05:00")


class TestVersions:
    """The day of the notice chooses the version; what is kept is JSON."""

    def test_the_version_of_the_notice(self) -> None:
        file = file_of(
            rule("order", "police", 'from = 2020-01-01\nlength = 10\nunit = "days"\n'),
            rule("order", "police", 'from = 2026-11-25\nlength = 20\nunit = "days"\n'),
        )
        events = {"purchase": local("2026-11-20T10:00")}
        older = state("police", file, told("2026-11-24T10:00", events=events), local("2026-11-24T10:00"))
        newer = state("police", file, told("2026-11-25T10:00", events=events), local("2026-11-25T10:00"))
        assert (shown(older.plain), shown(newer.plain)) == ("2026-12-05T00:00-05:00", "2026-12-16T00:00-05:00")

    def test_a_rule_that_is_not_there_is_not_guessed(self) -> None:
        with pytest.raises(NoRuleForDay, match="no order of that name"):
            state("nothing", HUNDRED_TWENTY, told("2026-11-24T10:00"), local("2026-11-24T10:00"))

    def test_the_zone_is_the_notice_s_the_file_s_or_the_one_handed_in(self) -> None:
        file = file_of(rule("order", "police", 'length = 1\nunit = "days"\n'), zone="")
        at = datetime.fromisoformat("2026-11-24T23:30:00+00:00")
        with pytest.raises(InputError, match="named time zone"):
            state("police", file, OrderEvents(at), at)
        found = state("police", file, OrderEvents(at), at, zone=HERE)
        assert shown(found.plain) == "2026-11-26T00:00-05:00"

    def test_the_shop_s_days_off(self) -> None:
        file = one('length = 1\nunit = "days"\ncap = { length = 1, unit = "working-days", calendar = "shop" }\n')
        with pytest.raises(InputError, match="shop.calendar"):
            state("police", file, told("2026-11-24T10:00"), local("2026-11-24T10:00"))
        shop = {"calendar": {"weekend": ["sunday"], "closed": [], "from": "2026-01-01", "until": "2027-12-31"}}
        found = state("police", file, told("2026-11-24T10:00"), local("2026-11-24T10:00"), facts={"shop": shop})
        assert shown(found.plain) == "2026-11-26T00:00-05:00"

    @pytest.mark.parametrize(
        ("county", "says"),
        [
            ({"county": "Here"}, None),
            (
                {"county": "Elsewhere"},
                "By its own conditions the rule does not apply; the order stands as it was given.",
            ),
            ({}, "It is not decided whether the rule applies: shop.county was not stated."),
        ],
    )
    def test_its_conditions_are_told_and_an_order_stands_all_the_same(
        self, county: dict[str, str], says: str | None
    ) -> None:
        file = one('open_ended = true\nwhen = [{ fact = "shop.county", is = "Here" }]\n')
        at = local("2026-11-24T10:00")
        found = state("police", file, told("2026-11-24T10:00"), at, facts={"shop": county})
        assert found.says == ("A sample rule." if says is None else f"A sample rule. {says}")
        assert "shop.county" in found.trace["inputs"]
        assert isinstance(may(Act("sell"), (), [found.order()], at), Forbidden)

    def test_the_state_is_kept_as_json(self) -> None:
        found = state("police", HUNDRED_TWENTY, told("2026-12-23T10:00", "spoken"), local("2026-12-24T09:00"))
        kept = json.loads(json.dumps(found.record()))
        assert kept["lapses_at"] == "2027-01-09T00:00:00-05:00[America/New_York]"
        assert kept["trace"]["lapse"]["length"] == 10
