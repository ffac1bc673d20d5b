"""Holds as living things: they wait, start, end, and together with orders say whether an act may be done."""

import json
from datetime import date, datetime
from zoneinfo import ZoneInfo

import pytest

from ledger.errors import InputError, NoRuleForDay
from ledger.law import holds, reports
from ledger.law.clocks import Clock
from ledger.law.duties import weigh
from ledger.law.holds import Act, Allowed, Forbidden, Hold, Leave, Order, leave, may, moment, renewed
from ledger.law.periods import Start
from ledger.law.rules import ACTS
from tests.law_samples import US_DAYS, facts, file_of, held, local, recipient, ring, rule, shown

HERE = ZoneInfo("America/New_York")
AT = local("2026-11-24T10:15")
FORBIDS = 'forbids = ["sell", "melt"]\n'
FILE = file_of(
    rule("hold", "ten", 'length = 10\nunit = "days"\n' + FORBIDS),
    rule("hold", "received", 'length = 7\nunit = "days"\nstart = "report-received:sheriff"\n' + FORBIDS),
    rule("hold", "here", 'length = 30\nunit = "days"\nforbids = ["move", "send-out"]\nkeep_in = "county"\n'),
)
ALL = weigh([FILE], facts(), at=AT).holds
TEN, RECEIVED, HERE_HOLD = ALL


def order(**given: object) -> Order:
    return Order(**{"id": "o-1", "from_": AT, "until": None, "source": "order of the sheriff", **given})  # type: ignore[arg-type]


LATER = Start(("purchase", "report-sent:x"), "later")
EARLIER = Start(("purchase", "report-sent:x"), "earlier")


def begins(start: Start, events: dict[str, datetime]) -> datetime | str:
    """When a period begins, or what it waits for."""
    found = Clock(FILE, AT.date(), HERE, events).begins(start, later=True)
    return found if isinstance(found, str) else found.plain


class TestStarting:
    """A hold waits for its event; of several events the rule says which counts."""

    def test_it_waits_and_then_runs(self) -> None:
        assert (RECEIVED.plain, RECEIVED.cautious, RECEIVED.waiting_for) == (None, None, "report-received:sheriff")
        events = {"purchase": AT, "report-received:sheriff": local("2026-11-26T08:00")}
        after = renewed(RECEIVED, FILE, events, HERE)
        assert after.waiting_for is None
        assert shown(after.cautious) == "2026-12-04T00:00-05:00"
        assert after.trace["event"] == "report-received:sheriff"

    def test_the_later_and_the_earlier_of_events(self) -> None:
        early, late = local("2026-11-24T10:00"), local("2026-11-26T10:00")
        both = {"purchase": early, "report-sent:x": late}
        assert begins(LATER, both) == late
        assert begins(EARLIER, both) == early
        assert begins(LATER, {"purchase": early}) == "report-sent:x"
        assert begins(EARLIER, {"purchase": early}) == early
        assert begins(EARLIER, {}) == "purchase"
        assert LATER.says() == "later of purchase, report-sent:x"

    def test_the_later_of_two_instants_of_the_hour_that_comes_twice(self) -> None:
        first, second = datetime(2026, 11, 1, 1, 50, tzinfo=HERE), datetime(2026, 11, 1, 1, 10, fold=1, tzinfo=HERE)
        assert begins(LATER, {"purchase": first, "report-sent:x": second}) is second

    def test_a_file_states_them_in_braces(self) -> None:
        file = file_of(
            rule(
                "hold",
                "h",
                'length = 1\nunit = "days"\nstart = { later_of = ["purchase", "report-sent:x"] }\n' + FORBIDS,
            ),
            rule(
                "hold",
                "e",
                'length = 1\nunit = "days"\nstart = { earlier_of = ["purchase", "report-sent:x"] }\n' + FORBIDS,
            ),
        )
        later, earlier = weigh([file], facts(), at=AT).holds
        assert later.starts_from == "later of purchase, report-sent:x"
        assert later.waiting_for == "report-sent:x"
        assert shown(earlier.plain) == "2026-11-26T00:00-05:00"

    def test_a_reading_that_starts_elsewhere_makes_the_cautious_end_wait(self) -> None:
        body = 'length = 5\nunit = "days"\nreadings = [{ reason = "R", start = "report-received:sheriff" }]\n' + FORBIDS
        file = file_of(rule("hold", "h", body))
        hold = held(weigh([file], facts(), at=AT))
        assert shown(hold.plain) == "2026-11-30T00:00-05:00"
        assert (hold.cautious, hold.waiting_for) == (None, "report-received:sheriff")
        events = {"purchase": AT, "report-received:sheriff": local("2026-11-26T08:00")}
        later = renewed(hold, file, events, HERE)
        assert (shown(later.plain), shown(later.cautious)) == ("2026-11-30T00:00-05:00", "2026-12-02T00:00-05:00")
        before = {"purchase": AT, "report-received:sheriff": AT}
        same = renewed(hold, file, before, HERE)
        assert same.plain == same.cautious

    def test_the_version_is_that_of_the_purchase_and_not_of_the_receipt(self) -> None:
        body = 'length = {}\nunit = "days"\nstart = "report-received:sheriff"\n' + FORBIDS
        file = file_of(
            rule("hold", "h", "from = 2020-01-01\n" + body.format(7)),
            rule("hold", "h", "from = 2026-11-25\n" + body.format(70)),
        )
        events = {"purchase": AT, "report-received:sheriff": local("2026-11-26T08:00")}
        assert shown(moment(file, "h", events, HERE).plain) == "2026-12-04T00:00-05:00"

    def test_a_rule_that_is_not_there_is_not_guessed(self) -> None:
        with pytest.raises(NoRuleForDay, match="The rule nothing of xx-sample says nothing about 2026-11-24"):
            moment(FILE, "nothing", {"purchase": AT}, HERE)

    def test_a_hold_is_kept_as_json_and_comes_back(self) -> None:
        for hold in ALL:
            assert Hold.parse(json.loads(json.dumps(hold.record()))) == hold


class TestMay:
    """An act is forbidden until the last hold and order lets it; each reason is told."""

    def test_free_at_the_very_moment_and_not_before(self) -> None:
        free = local("2026-12-05T00:00")
        assert may(Act("sell"), [TEN], (), free) == Allowed()
        assert isinstance(may(Act("sell"), [TEN], (), local("2026-12-04T23:59:59")), Forbidden)

    def test_what_no_rule_names_is_allowed(self) -> None:
        assert may(Act("offer"), ALL, (), AT) == Allowed()

    def test_the_one_that_forbids_longest_is_named_first(self) -> None:
        found = may(Act("sell"), ALL, (), AT)
        assert isinstance(found, Forbidden)
        assert (found.rule, found.until, found.waiting_for) == ("received", None, "report-received:sheriff")
        assert found.says == (
            "Sample Act s. 1 forbids selling it until a time that runs from the sheriff's receipt of the report"
            " (rule received of xx-sample)."
        )
        assert found.others == (
            "Sample Act s. 1 forbids selling it before 2026-12-05 00:00 America/New_York (rule ten of xx-sample).",
        )

    @pytest.mark.parametrize(
        ("act", "to", "allowed"),
        [
            ("move", "premises", True),
            ("move", "county", True),
            ("move", "state", False),
            ("send-out", "abroad", False),
            ("send-out", "municipality", True),
            ("move", "somewhere", False),
            ("move", "", False),
        ],
    )
    def test_places_lie_within_each_other_and_an_unknown_one_lies_nowhere(
        self, act: str, to: str, allowed: bool
    ) -> None:
        assert (may(Act(act, to), [HERE_HOLD], (), AT) == Allowed()) is allowed

    def test_a_permit_is_for_its_act_and_its_receiver_alone(self) -> None:
        body = 'length = 9\nunit = "days"\nforbids = ["return", "sell"]\n'
        body += 'allows = [{ act = "return", to = "original-seller" }]\n'
        hold = held(weigh([file_of(rule("hold", "h", body))], facts(), at=AT))
        assert may(Act("return", "original-seller"), [hold], (), AT) == Allowed()
        assert isinstance(may(Act("return"), [hold], (), AT), Forbidden)
        assert isinstance(may(Act("sell", "original-seller"), [hold], (), AT), Forbidden)

    def test_a_hold_that_is_not_decided_forbids_and_says_so(self) -> None:
        body = 'when = [{ fact = "item.metal", is = "gold" }]\nlength = 9\nunit = "days"\n' + FORBIDS
        hold = held(weigh([file_of(rule("hold", "h", body))], facts(ring(metal=None)), at=AT))
        found = may(Act("melt"), [hold], (), AT)
        assert isinstance(found, Forbidden)
        assert found.says.endswith("It is not decided whether the hold applies: item.metal was not stated")

    def test_an_act_has_a_name_of_the_list(self) -> None:
        with pytest.raises(InputError, match="wanted is one of offer, sell"):
            Act("pawn")


class TestOrders:
    """An authority's order forbids every act but surrender, from its day until it ends or is lifted."""

    def test_it_forbids_all_but_surrender(self) -> None:
        for act in ACTS:
            expected = Allowed if act == "surrender" else Forbidden
            assert isinstance(may(Act(act), (), [order()], AT), expected)

    @pytest.mark.parametrize(
        ("at", "until", "lifted", "forbidden"),
        [
            ("2026-11-24T10:14", None, None, False),
            ("2026-11-24T10:15", None, None, True),
            ("2036-11-24T10:15", None, None, True),
            ("2026-11-30T00:00", "2026-11-30T00:00", None, False),
            ("2026-11-29T23:59", "2026-11-30T00:00", None, True),
            ("2026-11-28T00:00", "2026-11-30T00:00", "2026-11-28T00:00", False),
            ("2026-11-27T00:00", None, "2026-11-28T00:00", True),
        ],
    )
    def test_from_until_and_lifted(self, at: str, until: str | None, lifted: str | None, forbidden: bool) -> None:
        one = order(until=until and local(until), lifted_at=lifted and local(lifted))
        assert isinstance(may(Act("sell"), (), [one], local(at)), Forbidden) is forbidden

    def test_open_ended_has_no_day_and_goes_before_any_day(self) -> None:
        found = may(Act("sell"), [TEN], [order(), order(id="o-2", until=local("2027-01-01T00:00"))], AT)
        assert isinstance(found, Forbidden)
        assert (found.rule, found.until, found.waiting_for) == ("o-1", None, "lifting of the hold order")
        assert found.says == "The hold order o-1 (order of the sheriff) forbids selling it until it is lifted."
        assert found.others[0].endswith("before 2027-01-01 00:00 America/New_York.")

    def test_the_later_of_hold_and_order_is_when_it_may_leave(self) -> None:
        shorter, longer = order(until=local("2026-11-30T00:00")), order(until=local("2027-01-01T00:00"))
        assert shown(leave([TEN], [shorter]).cautious) == "2026-12-05T00:00-05:00"
        assert shown(leave([TEN], [longer]).cautious) == "2027-01-01T00:00-05:00"
        assert leave([TEN], [order()]) == Leave(None, None, "lifting of the hold order")
        lifted = order(lifted_at=local("2026-11-28T00:00"))
        assert shown(leave([TEN], [lifted]).plain) == "2026-12-05T00:00-05:00"

    def test_what_forbids_other_acts_does_not_keep_it(self) -> None:
        assert leave([HERE_HOLD]) == Leave(None, None, None)
        assert leave([], [order(forbids=("melt",))]) == Leave(None, None, None)
        assert leave(ALL) == Leave(None, None, "report-received:sheriff")
        assert shown(leave([HERE_HOLD], acts=("move",)).plain) == "2026-12-25T00:00-05:00"
        assert holds.LEAVING == ("sell", "hand-over")


class TestReports:
    """Deadlines of each shape; a period's report is owed whether or not anything was bought."""

    @staticmethod
    def report(per: str, due: str, more: str = "") -> str:
        return rule("report", f"r-{per}", f'to = "police"\nper = "{per}"\ntitle = "T"\ndue = {{ {due} }}\n{more}')

    @pytest.mark.parametrize(
        ("due", "at", "moment", "plain"),
        [
            ('within = 3, unit = "days"', "2026-11-24T10:15", "2026-11-28T00:00-05:00", None),
            ('within = 2, unit = "working-days"', "2026-11-24T10:15", "2026-11-28T00:00-05:00", None),
            (
                'within = 1, unit = "days", roll = "next-working-day"',
                "2026-11-27T10:15",
                "2026-12-01T00:00-05:00",
                None,
            ),
            ('within = 24, unit = "hours"', "2026-10-31T15:00", "2026-11-01T14:00-05:00", "2026-11-01T14:00-05:00"),
            ('next = "day"', "2026-11-24T10:15", "2026-11-26T00:00-05:00", None),
            ('next = "day", by = "24:00"', "2026-11-24T10:15", "2026-11-26T00:00-05:00", None),
            ('next = "working-day", by = "09:30"', "2026-11-25T10:15", "2026-11-27T09:30-05:00", None),
            ("same_day = true", "2026-11-24T10:15", "2026-11-25T00:00-05:00", None),
            ('same_day = true, by = "17:00"', "2026-11-24T10:15", "2026-11-24T17:00-05:00", None),
            ('same_day = true, by = "17:00"', "2026-11-24T18:00", "2026-11-24T18:00-05:00", None),
        ],
    )
    def test_each_shape(self, due: str, at: str, moment: str, plain: str | None) -> None:
        file = file_of(recipient("police"), self.report("purchase", due), US_DAYS)
        (found,) = weigh([file], facts(), at=local(at)).reports
        assert "covers" not in found.record()
        assert shown(found.due) == moment
        assert shown(found.due_plain) == (plain or moment)
        assert found.covers is None

    @pytest.mark.parametrize(
        ("weekday", "on", "first", "due"),
        [
            ("monday", "2026-11-22", "2026-11-16", "2026-11-23"),
            ("monday", "2026-11-23", "2026-11-23", "2026-11-30"),
            ("friday", "2026-11-26", "2026-11-20", "2026-11-27"),
            ("friday", "2026-11-27", "2026-11-27", "2026-12-04"),
            ("sunday", "2026-11-28", "2026-11-22", "2026-11-29"),
        ],
    )
    def test_a_week_ends_before_its_day(self, weekday: str, on: str, first: str, due: str) -> None:
        file = file_of(recipient("police"), self.report("week", f'weekly = "{weekday}", by = "12:00"', "nil = true\n"))
        (found,) = reports.owed([file], on=date.fromisoformat(on), zone=HERE)
        assert found.covers is not None
        assert (found.covers[0].isoformat(), shown(found.due)) == (first, f"{due}T12:00-05:00")
        assert (found.covers[1] - found.covers[0]).days == 6
        assert found.nil
        assert json.loads(json.dumps(found.record()))["covers"][0] == first

    def test_reports_of_a_day_and_not_of_a_purchase(self) -> None:
        file = file_of(
            recipient("police"),
            self.report("day", 'next = "day", by = "12:00"'),
            self.report("purchase", "same_day = true"),
            rule("ask", "a", 'fields = [{ fact = "seller.name", label = "N" }]\n'),
        )
        (found,) = reports.owed([file], on=date(2026, 11, 24), zone=HERE)
        assert (found.per, found.nil, shown(found.due)) == ("day", False, "2026-11-25T12:00-05:00")
        assert found.covers == (date(2026, 11, 24), date(2026, 11, 24))

    def test_a_condition_on_the_shop_decides_if_it_is_known(self) -> None:
        more = 'when = [{ fact = "shop.reporting_mode", is = "paper" }]\n'
        file = file_of(recipient("police"), self.report("day", "same_day = true", more))
        day = date(2026, 11, 24)
        assert len(reports.owed([file], on=day, zone=HERE)) == 1
        assert reports.owed([file], on=day, zone=HERE, facts={"shop": {"reporting_mode": "electronic"}}) == ()

    def test_before_the_first_day_nobody_knows(self) -> None:
        with pytest.raises(NoRuleForDay, match="it answers from 2020-01-01"):
            reports.owed([FILE], on=date(2019, 1, 1), zone=HERE)
