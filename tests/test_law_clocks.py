"""When events happened and when periods and deadlines end, in every shape that a rule file may state."""

import json
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from ledger.errors import InputError, NoRuleForDay, RuleFileWrong
from ledger.law import files, reports, tasks
from ledger.law.answers import Ahead, Undecided
from ledger.law.answers_times import ReportDuty
from ledger.law.clocks import Between, Clock
from ledger.law.deadlines import quarter
from ledger.law.duties import Duties, weigh
from ledger.law.held import Hold
from ledger.law.holds import moment, renewed
from ledger.law.periods import awaited
from ledger.law.rules import RuleFile
from tests.law_samples import US_DAYS, facts, file_of, held, local, recipient, ring, rule, shown, text_of

HERE = ZoneInfo("America/New_York")
AT = local("2026-11-24T10:15")
FORBIDS = 'forbids = ["sell", "melt"]\n'
DAYS = US_DAYS.replace("closed = [", 'closed = [{ day = 2026-11-27, name = "Friday after", arguable = true },')
AGENCIES = recipient("police") + recipient("sheriff")


def hold_rule(start: str, id: str = "h", more: str = "") -> str:
    return rule("hold", id, f'length = 10\nunit = "days"\nstart = {start}\n{more}{FORBIDS}')


def report_rule(due: str, id: str = "r", to: str = "police", per: str = "purchase", more: str = "") -> str:
    return rule("report", id, f'to = "{to}"\nper = "{per}"\ntitle = "T"\ndue = {{ {due} }}\n{more}')


def task_rule(due: str, id: str = "t", more: str = "") -> str:
    return rule("task", id, f'what = "Do it."\n{due}\n{more}')


def weighed(*tables: str, at: str = "2026-11-24T10:15", **given: Any) -> Duties:
    return weigh([file_of(*tables, AGENCIES, DAYS)], facts(**given), at=local(at))


def report(duties: Duties, id: str = "r") -> ReportDuty:
    (found,) = [one for one in duties.reports if one.rule == id]
    return found


class TestEvents:
    """A hold may run from many events, some of which follow from other rules."""

    @pytest.mark.parametrize("channel", ["counter", "event", "home", "kiosk"])
    @pytest.mark.parametrize("event", ["receipt", "contract"])
    def test_goods_handed_over_are_received_with_the_purchase(self, channel: str, event: str) -> None:
        hold = held(weighed(hold_rule(f'"{event}"'), slip={"channel": channel}))
        assert (shown(hold.plain), hold.in_person) == ("2026-12-05T00:00-05:00", True)

    @pytest.mark.parametrize("slip", [{"channel": "parcel"}, {}])
    def test_a_parcel_waits_for_its_receipt(self, slip: dict[str, str]) -> None:
        file = file_of(hold_rule('"receipt"'))
        hold = held(weigh([file], facts(slip=slip), at=AT))
        assert (hold.plain, hold.waiting_for) == (None, "receipt")
        later = renewed(hold, file, {"purchase": AT, "receipt": local("2026-11-30T09:00")}, HERE)
        assert shown(later.plain) == "2026-12-11T00:00-05:00"

    def test_what_came_in_person_is_still_so_when_the_hold_is_renewed(self) -> None:
        file = file_of(hold_rule('{ later_of = ["receipt", "report-sent:police"] }'), AGENCIES)
        hold = held(weigh([file], facts(slip={"channel": "counter"}), at=AT))
        assert hold.waiting_for == "report-sent:police"
        kept = Hold.parse(json.loads(json.dumps(hold.record())))
        later = renewed(kept, file, {"purchase": AT, "report-sent:police": local("2026-11-26T09:00")}, HERE)
        assert shown(later.plain) == "2026-12-07T00:00-05:00"

    @pytest.mark.parametrize(
        ("which", "events", "start"),
        [
            ("all", {"police": "2026-11-25T09:00"}, None),
            ("all", {"police": "2026-11-25T09:00", "sheriff": "2026-11-28T09:00"}, "2026-11-28"),
            ("any", {}, None),
            ("any", {"sheriff": "2026-11-28T09:00"}, "2026-11-28"),
            ("any", {"police": "2026-11-25T09:00", "sheriff": "2026-11-28T09:00"}, "2026-11-25"),
        ],
    )
    def test_receipts_of_all_or_any_recipients(self, which: str, events: dict[str, str], start: str | None) -> None:
        file = file_of(
            hold_rule(f'"report-received:{which}"'),
            report_rule("same_day = true"),
            report_rule("same_day = true", "r2", "sheriff"),
            AGENCIES,
        )
        hold = held(weigh([file], facts(), at=AT))
        assert hold.recipients == ("police", "sheriff")
        known = {"purchase": AT} | {f"report-received:{to}": local(text) for to, text in events.items()}
        for found in (renewed(hold, file, known, HERE).plain, moment(file, "h", known, HERE).plain):
            expected = start and date.fromisoformat(start).toordinal() + 11
            assert (found and found.date().toordinal()) == expected

    def test_a_recipient_to_whom_nothing_is_owed_is_not_waited_for(self) -> None:
        more = 'when = [{ fact = "seller.address.city", is = "Elsewhere" }]\n'
        file = file_of(
            hold_rule('"report-received:all"'),
            report_rule("same_day = true"),
            report_rule("same_day = true", "r2", "sheriff", more=more),
            AGENCIES,
        )
        hold = held(weigh([file], facts(seller={"address": {"city": "Here"}}), at=AT))
        events = {"purchase": AT, "report-received:police": local("2026-11-25T09:00")}
        assert shown(renewed(hold, file, events, HERE).plain) == "2026-12-06T00:00-05:00"

    def test_nothing_to_report_leaves_it_waiting(self) -> None:
        assert held(weighed(hold_rule('"report-made:any"'))).waiting_for == "report-made:any"

    def test_from_the_day_on_which_another_duty_fell_due_the_latest_reading(self) -> None:
        # Two working days after Tuesday 24 November, without Thanksgiving: Friday 27, or Monday 30 if that is off.
        due = report_rule('within = 2, unit = "working-days"')
        hold = held(weighed(hold_rule('"due:r"'), due))
        assert (shown(hold.plain), shown(hold.cautious)) == ("2026-12-08T00:00-05:00", "2026-12-11T00:00-05:00")
        assert shown(hold.earliest) == "2026-12-08T00:00-05:00"
        task = held(weighed(hold_rule('"due:t"'), task_rule('due = { next = "day" }')))
        assert shown(task.plain) == "2026-12-06T00:00-05:00"

    def test_a_deadline_from_a_hold_s_end_takes_the_earliest(self) -> None:
        hold = rule(
            "hold", "h", 'length = 2\nunit = "working-days"\nreadings = [{ reason = "R", length = 1 }]\n' + FORBIDS
        )
        duties = weighed(hold, task_rule('due = { within = 3, unit = "days", start = "end:h" }'))
        (task,) = duties.tasks
        assert shown(held(duties).earliest) == "2026-11-26T00:00-05:00"
        assert (shown(task.due_plain), shown(task.due)) == ("2026-12-01T00:00-05:00", "2026-11-29T00:00-05:00")

    def test_each_article_of_a_slip_is_held(self) -> None:
        duties = weigh([file_of(hold_rule('"purchase"'))], facts(ring(), ring(line=2)), at=AT)
        assert [(one.line, shown(one.plain)) for one in duties.holds] == [
            (1, "2026-12-05T00:00-05:00"),
            (2, "2026-12-05T00:00-05:00"),
        ]

    def test_from_the_end_of_another_hold(self) -> None:
        first = rule("hold", "first", 'length = 5\nunit = "days"\n' + FORBIDS)
        both = weighed(first, hold_rule('"end:first"')).holds
        assert [shown(one.plain) for one in both] == ["2026-11-30T00:00-05:00", "2026-12-10T00:00-05:00"]

    def test_an_end_that_waits_is_waited_for(self) -> None:
        first = rule("hold", "first", 'length = 5\nunit = "days"\nstart = "report-sent:police"\n' + FORBIDS)
        assert weighed(first, hold_rule('"end:first"'), report_rule("same_day = true")).holds[1].waiting_for == (
            "report-sent:police"
        )

    def test_rules_that_wait_for_each_other_wait_for_ever(self) -> None:
        one = file_of(hold_rule('"end:xx-two/b"', "a"), jurisdiction='"xx-one"')
        two = file_of(hold_rule('"end:xx-one/a"', "b"), jurisdiction='"xx-two"')
        holds = weigh([one, two], facts(), at=AT).holds
        assert {found.waiting_for for found in holds} <= {"end:xx-one/a", "end:xx-two/b"}
        assert {found.cautious for found in holds} == {None}

    @pytest.mark.parametrize("start", ["end:nothing", "due:nothing", "due:xx-other/r", "request:x", "event:y"])
    def test_what_never_happened_is_waited_for(self, start: str) -> None:
        found = Clock(file_of(), AT.date(), HERE, {"purchase": AT}).happened(start, later=True)
        assert found == start

    def test_a_due_date_of_another_file(self) -> None:
        other = file_of(report_rule('within = 2, unit = "days"'), AGENCIES, jurisdiction='"xx-other"')
        own = file_of(hold_rule('"due:xx-other/r"'))
        hold = held(weigh([own, other], facts(), at=AT))
        assert shown(hold.plain) == "2026-12-07T00:00-05:00"
        assert shown(renewed(hold, own, {"purchase": AT}, HERE, others=(other,)).plain) == "2026-12-07T00:00-05:00"
        assert renewed(hold, own, {"purchase": AT}, HERE).waiting_for == "due:xx-other/r"

    def test_a_moment_that_may_be_read_in_two_ways_may_be_handed_in(self) -> None:
        end = Between(local("2026-11-30T00:00"), local("2026-11-29T00:00"), local("2026-12-02T00:00"))
        clock = Clock(file_of(), AT.date(), HERE, {"purchase": AT, "end:x": end})
        for later, bound in ((True, end.latest), (False, end.earliest)):
            found = clock.happened("end:x", later=later)
            assert not isinstance(found, str)
            assert (found.plain, found.bound, found.ended) == (end.plain, bound, True)

    def test_deadlines_run_from_what_happened_and_holds_from_what_was_recorded(self) -> None:
        file = file_of(hold_rule('"purchase"'), report_rule('within = 24, unit = "hours"'), AGENCIES)
        duties = weigh([file], facts(), at=AT, recorded_at=local("2026-11-27T09:00"))
        assert shown(report(duties).due) == "2026-11-25T10:15-05:00"
        assert shown(held(duties).plain) == "2026-12-08T00:00-05:00"
        assert shown(held(duties).earliest) == "2026-12-05T00:00-05:00"

    def test_each_event_has_words(self) -> None:
        assert awaited("report-received:all") == "all recipients' receipts"
        assert awaited("report-delivered:any") == "the delivery of the report to any recipient"
        assert awaited("due:daily-log") == "the day on which 'daily-log' is due"
        assert awaited("shop.calendar") == "the shop's own days off, which nobody stated"


class TestPeriods:
    """Before the nth, rolls of two kinds, the shop's own days off."""

    @pytest.mark.parametrize(
        ("keys", "free"),
        [
            ('length = 10\nunit = "days"\ncounts = "before"\n', "2026-12-04"),
            ('length = 10\nunit = "days"\n', "2026-12-05"),
            ('length = 10\nunit = "days"\nfirst_day_counts = true\ncounts = "before"\n', "2026-12-03"),
            # The third working day after 24 November without Thanksgiving is Monday 30: forbidden before it begins.
            ('length = 3\nunit = "working-days"\ncounts = "before"\n', "2026-11-30"),
            ('length = 1\nunit = "months"\ncounts = "before"\n', "2026-12-24"),
            # R.C. 1.14 as statutes of its kind: only Sunday and holidays move the last day. Saturday stays ...
            ('length = 4\nunit = "days"\nroll = "after-sunday-or-holiday"\n', "2026-11-29"),
            # ... Sunday moves to Monday, Thanksgiving to the Friday after (arguable, so worked as written).
            ('length = 5\nunit = "days"\nroll = "after-sunday-or-holiday"\n', "2026-12-01"),
            ('length = 2\nunit = "days"\nroll = "after-sunday-or-holiday"\n', "2026-11-28"),
            ('length = 4\nunit = "days"\nroll = "next-working-day"\n', "2026-12-01"),
        ],
    )
    def test_last_day(self, keys: str, free: str) -> None:
        hold = held(weighed(rule("hold", "h", keys + FORBIDS)))
        assert shown(hold.plain) == f"{free}T00:00-05:00"

    def test_the_shop_s_days_off_where_the_law_says_so(self) -> None:
        body = 'length = 2\nunit = "working-days"\ncalendar = "shop"\n' + FORBIDS
        file = file_of(rule("hold", "h", body))
        waiting = held(weigh([file], facts(), at=AT))
        assert (waiting.plain, waiting.waiting_for) == (None, "shop.calendar")
        days = {"weekend": ["tuesday", "wednesday"], "closed": [{"day": "2026-11-26", "name": "Stock"}]}
        shop = {"calendar": {**days, "from": "2026-01-01", "until": "2027-12-31"}}
        hold = held(weigh([file], facts(shop=shop), at=AT))
        # Closed on Wednesday 25 and Thursday 26: Friday 27 and Saturday 28 are the two working days.
        assert shown(hold.plain) == "2026-11-29T00:00-05:00"
        assert hold.trace["shop_calendar"]["weekend"] == ["tuesday", "wednesday"]
        again = renewed(Hold.parse(hold.record()), file, {"purchase": AT}, HERE)
        assert again.plain == hold.plain

    @pytest.mark.parametrize(
        "calendar",
        [
            {"weekend": ["someday"], "closed": [], "from": "2026-01-01", "until": "2027-12-31"},
            {"weekend": ["sunday"], "closed": [{"day": "2026-11-26"}], "from": "2026-01-01", "until": "2027-12-31"},
            {"weekend": ["sunday"], "closed": [], "from": "2026-13-01", "until": "2027-12-31"},
            "closed on Sundays",
        ],
    )
    def test_a_shop_calendar_that_cannot_be_read_is_refused(self, calendar: object) -> None:
        with pytest.raises(InputError, match=r"shop\.calendar"):
            weighed(hold_rule('"purchase"'), shop={"calendar": calendar})

    def test_a_shop_that_never_opens_is_refused(self) -> None:
        every = ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]
        calendar = {"weekend": every, "closed": [], "from": date(2026, 1, 1), "until": date(2027, 12, 31)}
        with pytest.raises(InputError, match="fewer than seven"):
            weighed(hold_rule('"purchase"'), shop={"calendar": calendar})

    def test_a_weekend_day_that_may_be_a_working_day(self) -> None:
        # Working days 25, 27, 28 (a Saturday) November as written; without 27 and 28: 25, 30 November and 1 December.
        weekend = 'weekend = ["sunday"]\narguable_weekend = ["saturday"]'
        calendar = DAYS.replace('weekend = ["saturday", "sunday"]', weekend)
        body = 'length = 3\nunit = "working-days"\n' + FORBIDS
        file = file_of(rule("hold", "h", body), report_rule('within = 3, unit = "working-days"'), AGENCIES, calendar)
        duties = weigh([file], facts(), at=AT)
        hold = held(duties)
        assert (shown(hold.plain), shown(hold.cautious)) == ("2026-11-29T00:00-05:00", "2026-12-02T00:00-05:00")
        assert report(duties).due == report(duties).due_plain == hold.plain
        kept = file.calendar.record() if file.calendar else {}
        assert kept["arguable_weekend"] == ["saturday"]
        assert {"day": "2026-11-28", "why": "Saturday (arguable)"} in hold.trace["other_readings"][0]["skipped"]
        with pytest.raises(RuleFileWrong, match="'sunday' stands under 'weekend' too"):
            files.read(text_of(calendar.replace('["saturday"]', '["sunday"]')))

    def test_readings_of_every_period(self) -> None:
        body = 'classes = ["seller"]\n'
        body += 'at_least = { length = 1, unit = "years", readings = [{ reason = "R", length = 3 }] }\n'
        body += (
            'at_most = { length = 5, unit = "years", readings = [{ reason = "R", basis = "memory", length = 4 }] }\n'
        )
        (kept,) = weighed(rule("retain", "k", body)).retention
        assert (shown(kept.at_least_plain), shown(kept.at_least)) == (
            "2027-11-25T00:00-05:00",
            "2029-11-25T00:00-05:00",
        )
        assert shown(kept.at_most) == "2030-11-25T00:00-05:00"

    def test_a_reading_of_a_deadline_that_waits_does_not_hold_it_back(self) -> None:
        due = 'within = 5, unit = "days", readings = [{ reason = "R", start = "report-sent:sheriff" }]'
        found = report(weighed(report_rule(due), report_rule("same_day = true", "r2", "sheriff")))
        assert found.due == found.due_plain
        assert found.trace["readings"][0]["waiting_for"] == "report-sent:sheriff"

    def test_until_it_is_lifted(self) -> None:
        file = file_of(rule("hold", "h", "until_released = true\n" + FORBIDS))
        hold = held(weigh([file], facts(), at=AT))
        assert (hold.plain, hold.cautious, hold.waiting_for) == (None, None, "lift:h")
        lifted = local("2026-12-01T13:00")
        assert renewed(hold, file, {"purchase": AT, "lift:h": lifted}, HERE).cautious == lifted

    def test_until_an_event(self) -> None:
        body = 'ends_with = "report-sent:police"\n' + FORBIDS
        file = file_of(rule("hold", "h", body), report_rule("same_day = true"), AGENCIES)
        sent = local("2026-11-25T13:00")
        hold = held(weigh([file], facts(), at=AT))
        assert hold.waiting_for == "report-sent:police"
        assert renewed(hold, file, {"purchase": AT, "report-sent:police": sent}, HERE).plain == sent


class TestShorter:
    """A shorter time needs its condition decided; undecided, the longer stands and both ends are told."""

    BODY = (
        'length = 30\nunit = "days"\n'
        "shorter = [\n"
        '  { when = [{ fact = "item.goods", is = "coin" }], length = 5, unit = "days", says = "Coins." },\n'
        '  { when = [{ fact = "item.age_years", below = 30 }], length = 15, unit = "days", says = "Newer." },\n'
        "]\n"
    )

    def hold(self, **item: Any) -> tuple[Duties, Hold]:
        duties = weigh([self.file()], facts(ring(**item)), at=AT)
        return duties, held(duties)

    def file(self) -> RuleFile:
        return file_of(rule("hold", "h", self.BODY + FORBIDS))

    def test_decided(self) -> None:
        _, newer = self.hold(age_years=28)
        assert (shown(newer.plain), newer.shortened) == ("2026-12-10T00:00-05:00", 1)
        _, older = self.hold(age_years=30)
        assert (shown(older.plain), older.shortened) == ("2026-12-25T00:00-05:00", None)
        _, coin = self.hold(goods="coin", age_years=28)
        assert (shown(coin.plain), shown(coin.earliest), coin.shortened) == (*["2026-11-30T00:00-05:00"] * 2, 0)

    def test_undecided(self) -> None:
        duties, hold = self.hold()
        assert (shown(hold.plain), shown(hold.cautious)) == ("2026-12-25T00:00-05:00",) * 2
        assert shown(hold.earliest) == "2026-12-10T00:00-05:00"
        (duty,) = duties.duties
        assert duty.outcome == Undecided(
            "It is not decided whether a shorter time applies, so the longer stands: item.age_years was not stated",
            "It is held until 2026-12-10T00:00:00-05:00[America/New_York].",
            "It is held until 2026-12-25T00:00:00-05:00[America/New_York].",
        )

    def test_it_stays_as_it_was_decided_unless_facts_are_told(self) -> None:
        _, hold = self.hold()
        events = {"purchase": AT}
        kept = Hold.parse(json.loads(json.dumps(hold.record())))
        assert renewed(kept, self.file(), events, HERE).cautious == hold.cautious
        known = renewed(kept, self.file(), events, HERE, facts={"item": {"age_years": 12, "goods": "jewelry"}})
        assert (shown(known.cautious), known.shortened) == ("2026-12-10T00:00-05:00", 1)
        assert "shorter_undecided" not in known.trace
        again = renewed(Hold.parse(known.record()), self.file(), events, HERE)
        assert again.cautious == known.cautious

    def test_both_wait_where_the_hold_waits(self) -> None:
        body = self.BODY.replace('unit = "days"\nshorter', 'unit = "days"\nstart = "receipt"\nshorter')
        duties = weigh([file_of(rule("hold", "h", body + FORBIDS))], facts(), at=AT)
        (duty,) = duties.duties
        assert isinstance(duty.outcome, Undecided)
        assert duty.outcome.if_yes == "It is held until a time that still waits."


class TestReports:
    """At once, at the close of a day, after a quarter, on request; longer by extension or failure."""

    def test_at_once(self) -> None:
        assert report(weighed(report_rule("at_once = true"))).due == AT

    @pytest.mark.parametrize(
        ("closing", "due", "latest"),
        [
            ("", "2026-11-26T00:00-05:00", "2026-11-26T00:00-05:00"),
            ('closing_hour = "17:00"\n', "2026-11-25T17:00-05:00", "2026-11-25T17:00-05:00"),
            ('closing_hour = "24:00"\n', "2026-11-26T00:00-05:00", "2026-11-26T00:00-05:00"),
            ('closing_hour = { at = "17:00", arguable = true }\n', "2026-11-25T17:00-05:00", "2026-11-26T00:00-05:00"),
        ],
    )
    def test_close_of_the_next_day(self, closing: str, due: str, latest: str) -> None:
        # 73 P.S. 1933(c): by the close of the next working day; the hour itself is an assumption.
        calendar = US_DAYS.replace("weekend =", closing + "weekend =")
        file = file_of(report_rule('next = "working-day", by = "close"'), AGENCIES, calendar)
        found = report(weigh([file], facts(), at=AT))
        assert (shown(found.due), shown(found.due_plain)) == (due, due)
        clock = Clock(file, AT.date(), HERE, {"purchase": AT})
        (rule_,) = (one for one in file.rules if one.id == "r")
        assert shown(clock.due(rule_.due, later=True).bound) == latest  # type: ignore[attr-defined]

    @pytest.mark.parametrize(
        ("at", "due", "first", "last"),
        [
            ("2026-11-24T10:15", "2027-02-01T00:00-05:00", "2026-10-01", "2026-12-31"),
            ("2026-01-01T10:15", "2026-05-01T00:00-04:00", "2026-01-01", "2026-03-31"),
            ("2026-09-30T10:15", "2026-11-01T00:00-04:00", "2026-07-01", "2026-09-30"),
        ],
    )
    def test_after_the_quarter(self, at: str, due: str, first: str, last: str) -> None:
        found = report(weighed(report_rule('quarterly = ["01-31", "04-30", "07-31", "10-31"]', per="quarter"), at=at))
        assert shown(found.due) == due
        assert found.covers == (date.fromisoformat(first), date.fromisoformat(last))
        assert quarter(date(2026, 2, 1)) == (date(2026, 1, 1), date(2026, 3, 31))

    def test_after_the_year(self) -> None:
        found = report(weighed(report_rule('yearly = ["01-31"]', per="year")))
        assert (shown(found.due), found.covers) == (
            "2027-02-01T00:00-05:00",
            (date(2026, 1, 1), date(2026, 12, 31)),
        )
        file = file_of(report_rule('yearly = ["01-31"]', per="year"), AGENCIES)
        assert [one.per for one in reports.owed([file], on=AT.date(), zone=HERE)] == ["year"]
        task = weighed(task_rule('due = { yearly = ["10-01", "04-01"] }')).tasks[0]
        assert shown(task.due) == "2027-04-02T00:00-04:00"

    def test_without_a_day(self) -> None:
        file = file_of(report_rule("no_day = true"), task_rule("due = { no_day = true }"), AGENCIES)
        duties = weigh([file], facts(), at=AT)
        assert duties.reports == ()
        assert [(one.due, one.waiting_for) for one in duties.tasks] == [(None, None)]
        assert [one.outcome for one in duties.duties] == [Ahead(None), Ahead(None)]
        assert reports.now(file, "r", {"purchase": AT}, HERE) == "a day, and the law states none"

    def test_a_named_day_that_a_year_has_not(self) -> None:
        duties = weighed(task_rule('due = { quarterly = ["02-29"], roll = "next-working-day" }'))
        assert shown(duties.tasks[0].due) == "2027-03-02T00:00-05:00"

    def test_on_request(self) -> None:
        file = file_of(report_rule('on_request = true, within = 24, unit = "hours"', per="request"), AGENCIES)
        duties = weigh([file], facts(), at=AT)
        assert duties.reports == ()
        assert duties.duties[0].outcome == Ahead(None)
        assert duties.duties[0].trace["waiting_for"] == "request:r"
        assert reports.now(file, "r", {"purchase": AT}, HERE) == "request:r"
        asked = local("2026-11-30T09:00")
        made = reports.now(file, "r", {"purchase": asked, "request:r": asked}, HERE)
        assert isinstance(made, ReportDuty)
        assert shown(made.due) == "2026-12-01T09:00-05:00"
        with pytest.raises(NoRuleForDay, match="no report of that name"):
            reports.now(file, "x", {"purchase": AT}, HERE)

    def test_extension(self) -> None:
        # Md. Code, Bus. Reg. 12-304: by noon of the next business day; up to 48 hours more may be asked for.
        more = 'extension = { length = 48, unit = "hours", says = "Up to 48 hours more." }\n'
        file = file_of(report_rule('next = "working-day", by = "12:00"', more=more), AGENCIES, US_DAYS)
        found = report(weigh([file], facts(), at=local("2026-11-25T16:00")))
        assert shown(found.due) == "2026-11-27T12:00-05:00"
        assert found.extension is not None
        assert (shown(found.extension.until), found.extension.ask) == ("2026-11-29T12:00-05:00", True)
        events = {"purchase": local("2026-11-25T16:00"), "extended:r": local("2026-11-26T09:00")}
        longer = reports.now(file, "r", events, HERE)
        assert isinstance(longer, ReportDuty)
        assert shown(longer.due) == "2026-11-29T12:00-05:00"
        assert json.loads(json.dumps(longer.record()))["extension"]["until"].startswith("2026-11-29T12:00")

    @pytest.mark.parametrize(
        ("length", "failed", "due"),
        [
            ("", "2026-11-25T09:00", "2026-11-25T10:15-05:00"),
            (', length = 24, unit = "hours"', "2026-11-25T09:00", "2026-11-26T09:00-05:00"),
            (', length = 1, unit = "hours"', "2026-11-24T11:00", "2026-11-25T10:15-05:00"),
        ],
    )
    def test_failure(self, length: str, failed: str, due: str) -> None:
        more = f'failure = {{ says = "The site is down.", instead = "by hand"{length} }}\nmanner = "electronic"\n'
        file = file_of(report_rule('within = 24, unit = "hours"', more=more), AGENCIES)
        plain = report(weigh([file], facts(), at=AT))
        assert plain.failure is not None
        assert (plain.failure.instead, plain.manner) == ("by hand", "electronic")
        made = reports.now(file, "r", {"purchase": AT, "failed:r": local(failed)}, HERE)
        assert isinstance(made, ReportDuty)
        assert shown(made.due) == due

    @pytest.mark.parametrize(
        ("due", "plain", "cautious"),
        [
            # Tenn. Code 38-1-203 and 1-3-102: noon of the day following; a Sunday may or may not move to Monday.
            (
                'next = "day", by = "12:00", readings = [{ reason = "R", roll = "next-working-day" }]',
                "29T12:00",
                "29T12:00",
            ),
            ('next = "working-day", by = "12:00", readings = [{ reason = "R", next = "day" }]', "30T12:00", "29T12:00"),
            ('within = 48, unit = "hours", readings = [{ reason = "R", within = 24 }]', "30T10:15", "29T10:15"),
            (
                'within = 2, unit = "days", roll = "none", readings = [{ reason = "R", within = 24, unit = "hours" }]',
                "1T00:00",
                "29T10:15",
            ),
            (
                'next = "day", roll = "next-working-day", readings = [{ reason = "R", within = 24, unit = "hours" }]',
                "1T00:00",
                "29T10:15",
            ),
            ('within = 48, unit = "hours", readings = [{ reason = "R", same_day = true }]', "30T10:15", "29T00:00"),
            (
                'within = 1, unit = "days", roll = "next-working-day", readings = [{ reason = "R", roll = "none" }]',
                "1T00:00",
                "30T00:00",
            ),
        ],
    )
    def test_readings_of_deadlines(self, due: str, plain: str, cautious: str) -> None:
        found = report(weighed(report_rule(due), at="2026-11-28T10:15"))
        month = "2026-12-0" if plain.startswith("1T") else "2026-11-"
        assert shown(found.due_plain) == f"{month}{plain}-05:00"
        assert shown(found.due) == f"2026-11-{cautious}-05:00"

    def test_a_report_that_waits_is_a_duty_and_not_yet_a_report(self) -> None:
        duties = weighed(report_rule('within = 24, unit = "hours", start = "contract"'), slip={"channel": "parcel"})
        assert duties.reports == ()
        assert duties.duties[0].trace["waiting_for"] == "contract"

    def test_the_name_on_the_paper(self) -> None:
        agencies = (
            '[[recipient]]\nid = "police"\nname = "Police"\nnamed_by = "seller.address.city"\n'
            '[[recipient]]\nid = "sheriff"\nname = "The sheriff"\nrole = "county-sheriff"\n'
        )
        file = file_of(report_rule("same_day = true"), report_rule("same_day = true", "r2", "sheriff"), agencies)
        plain = weigh([file], facts(), at=AT).reports
        assert [one.recipient_name for one in plain] == ["Police", "The sheriff"]
        shop = {"agencies": {"county-sheriff": "Sheriff of Norrowa"}}
        known = weigh([file], facts(seller={"address": {"city": "Ambly"}}, shop=shop), at=AT).reports
        assert [one.recipient_name for one in known] == ["Police of Ambly", "Sheriff of Norrowa"]
        own = weigh([file], facts(shop={"recipients": {"police": "Ambly Police"}}), at=AT).reports
        assert own[0].recipient_name == "Ambly Police"
        assert reports.name_of(file, "elsewhere", {}) == "elsewhere"


class TestReplacing:
    """Another law's report takes the place of one; the hold that waits for it runs from the other's events."""

    OWN = (
        hold_rule('"report-received:police"')
        + hold_rule('"report-received:all"', "all")
        + report_rule("same_day = true", more='replaced_by = [{ rule = "xx-other/daily", by = "Higher Act s. 9" }]\n')
    )

    def other(self, when: str = "") -> RuleFile:
        return file_of(
            report_rule("same_day = true", "daily", "sheriff", more=when),
            hold_rule('"report-received:sheriff"', "theirs"),
            AGENCIES,
            jurisdiction='"xx-other"',
        )

    def test_in_its_place(self) -> None:
        own = file_of(self.OWN, AGENCIES)
        duties = weigh([own, self.other()], facts(), at=AT)
        assert [one.rule for one in duties.reports] == ["daily"]
        assert [(one.rule, one.by_rule, one.citation) for one in duties.displaced] == [
            ("r", "xx-other/daily", "Higher Act s. 9")
        ]
        (duty,) = [one for one in duties.duties if one.rule == "r"]
        assert (duty.state, duty.trace["replaced_by"]) == ("met", "xx-other/daily")
        events = {"purchase": AT, "report-received:sheriff": local("2026-11-26T09:00")}
        mine = [one for one in duties.holds if one.jurisdiction == "xx-sample"]
        assert len(mine) == 2
        for hold in mine:
            kept = Hold.parse(json.loads(json.dumps(hold.record())))
            assert kept.replaced == (("police", "sheriff"),)
            assert shown(renewed(kept, own, events, HERE).plain) == "2026-12-07T00:00-05:00"
        assert [one.replaced for one in duties.holds if one.rule == "theirs"] == [()]

    def test_not_by_a_report_that_is_not_owed_or_not_decided(self) -> None:
        own = file_of(self.OWN, AGENCIES)
        assert [one.rule for one in weigh([own], facts(), at=AT).reports] == ["r"]
        other = self.other('when = [{ fact = "slip.channel", is = "parcel" }]\n')
        assert {one.rule for one in weigh([own, other], facts(), at=AT).reports} == {"r", "daily"}


class TestTasks:
    """Other duties with deadlines use the same shapes."""

    def test_of_a_slip_and_of_each_item(self) -> None:
        duties = weighed(
            task_rule('due = { next = "working-day" }', "move"),
            task_rule('due = { within = 2, unit = "days" }', "tag", 'about = "item"\nwho = "clerk"\n'),
        )
        assert [(one.rule, one.about, shown(one.due), one.who) for one in duties.tasks] == [
            ("move", "slip", "2026-11-26T00:00-05:00", "owner"),
            ("tag", "item/1", "2026-11-27T00:00-05:00", "clerk"),
        ]
        assert [one.kind for one in duties.duties] == ["task", "task"]
        assert json.loads(json.dumps(duties.tasks[0].record()))["due"].startswith("2026-11-26T00:00")

    @pytest.mark.parametrize(
        ("before", "due"),
        [
            ('length = 3, unit = "days"', "2026-12-02T00:00-05:00"),
            ('length = 12, unit = "hours"', "2026-12-04T12:00-05:00"),
            ('length = 2, unit = "working-days"', "2026-12-03T00:00-05:00"),
        ],
    )
    def test_so_long_before_a_hold_ends(self, before: str, due: str) -> None:
        task = task_rule(f'before_end = {{ of = "h", {before} }}', more='about = "item"\n')
        (found,) = weighed(hold_rule('"purchase"'), task).tasks
        assert shown(found.due) == due

    def test_before_an_end_that_waits(self) -> None:
        task = task_rule('before_end = { of = "h", length = 3, unit = "days" }')
        (found,) = weighed(hold_rule('"report-sent:police"'), report_rule("same_day = true"), task).tasks
        assert (found.due, found.waiting_for) == (None, "report-sent:police")
        shop = task_rule('before_end = { of = "h", length = 3, unit = "working-days", calendar = "shop" }')
        (found,) = weighed(hold_rule('"purchase"'), shop).tasks
        assert (found.due, found.waiting_for) == (None, "shop.calendar")
        due = task_rule('due = { next = "working-day", calendar = "shop" }')
        assert weighed(due).tasks[0].waiting_for == "shop.calendar"

    def test_of_the_shop(self) -> None:
        began = task_rule(
            'due = { within = 2, unit = "working-days", start = "event:employee-began" }',
            "register",
            'about = "shop"\nmet_by = "event:registered"\n',
        )
        yearly = task_rule('due = { quarterly = ["10-01"] }', "renew", 'about = "shop"\n')
        never = task_rule(
            'due = { next = "day" }', "never", 'about = "shop"\nwhen = [{ fact = "shop.county", is = "Elsewhere" }]\n'
        )
        events = "".join(
            f'[[event]]\nid = "{id}"\nabout = "shop"\nsays = "S."\n' for id in ("employee-began", "registered")
        )
        slip = task_rule('due = { next = "day" }', "of-a-slip")
        file = file_of(began, yearly, never, slip, events, DAYS)
        assert [one.rule for one in weigh([file], facts(), at=AT).tasks] == ["of-a-slip"]
        on, shop = date(2026, 11, 24), {"shop": {"county": "Here"}}
        waiting, renew = tasks.of_shop([file], on=on, zone=HERE, facts=shop)
        assert (waiting.waiting_for, waiting.met_by) == ("event:employee-began", "event:registered")
        assert shown(renew.due) == "2027-10-02T00:00-04:00"
        known = {"event:employee-began": AT}
        assert (
            shown(tasks.of_shop([file], on=on, zone=HERE, events=known, facts=shop)[0].due) == "2026-11-28T00:00-05:00"
        )
        assert (
            shown(tasks.now(file, "register", "shop", {"purchase": AT, **known}, HERE).due) == "2026-11-28T00:00-05:00"
        )
        with pytest.raises(NoRuleForDay, match="no task of that name"):
            tasks.now(file, "nothing", "shop", {"purchase": AT}, HERE)
        with pytest.raises(NoRuleForDay, match="answers from 2020-01-01"):
            tasks.of_shop([file], on=date(2019, 1, 1), zone=HERE)


class TestRetention:
    """Kept from an event that may wait, at a place, by medium."""

    def body(self, more: str) -> str:
        return rule("retain", "k", 'classes = ["seller"]\nat_least = { length = 2, unit = "years" }\n' + more)

    def test_it_waits_for_the_last_entry(self) -> None:
        # Ohio R.C. 4728: two years after the final entry regarding a purchase.
        (kept,) = weighed(self.body('start = "last-entry"\n')).retention
        assert (kept.at_least, kept.waiting_for) == (None, "last-entry")
        file = file_of(self.body('start = "last-entry"\n'))
        (known,) = weigh([file], facts(), at=AT, events={"last-entry": local("2026-12-01T10:00")}).retention
        assert shown(known.at_least) == "2028-12-02T00:00-05:00"

    def test_by_place(self) -> None:
        # Fla. Stat. 538.06: on the premises one year, anywhere three.
        here = 'classes = ["seller"]\nat_least = { length = 1, unit = "years" }\nplace = "premises"\n'
        kept = weighed(self.body(""), rule("retain", "p", here)).retention
        assert {one.place: shown(one.at_least) for one in kept} == {
            "anywhere": "2028-11-25T00:00-05:00",
            "premises": "2027-11-25T00:00-05:00",
        }

    @pytest.mark.parametrize(("medium", "there"), [("bound-book", 1), ("electronic", 0), (None, 1)])
    def test_by_medium(self, medium: str | None, there: int) -> None:
        shop = {"record_medium": medium} if medium else {}
        duties = weighed(self.body('medium = ["bound-book"]\n'), shop=shop)
        assert len(duties.retention) == there


class TestNamedLists:
    """A list of the `holidays` library, plus and minus dated days."""

    CALENDAR = """
[calendar]
weekend = ["saturday", "sunday"]
from = 2026-01-01
until = 2026-12-31
source = "Sample Code 9"
list = { country = "US", subdivision = "TN" }
closed = [{ day = 2026-11-27, name = "Friday after", source = "Order 1", arguable = true }]
not_closed = [
  { day = 2026-04-03, source = "Order 2" },
  { day = 2026-06-19, source = "Order 3", arguable = true },
]
"""

    def test_plus_and_minus(self) -> None:
        # 5 U.S.C. 6103(a): Thanksgiving, the fourth Thursday of November; Tenn. Code 15-1-101 lists Good Friday.
        calendar = file_of(self.CALENDAR).calendar
        assert calendar is not None
        off = {day: calendar.why_off(date.fromisoformat(day), arguable_is_off=True) for day in (
            "2026-11-26", "2026-11-27", "2026-04-03", "2026-06-19", "2026-07-03",
        )}  # fmt: skip
        assert off == {
            "2026-11-26": "Thanksgiving Day",
            "2026-11-27": "Friday after (arguable)",
            "2026-04-03": None,
            "2026-06-19": "Juneteenth National Independence Day (arguable)",
            "2026-07-03": "Independence Day (observed)",
        }
        assert calendar.why_off(date(2026, 6, 19), arguable_is_off=False) is None
        kept = calendar.record()
        assert str(kept["list"]).startswith("holidays 0.")
        assert str(kept["list"]).endswith(" US-TN")
        listed = kept["closed"]
        assert isinstance(listed, list)
        assert ("2026-11-26", "Thanksgiving Day") in [(one["day"], one["name"]) for one in listed]

    def test_a_whole_country_without_the_days_moved_off_a_weekend(self) -> None:
        text = self.CALENDAR.partition("closed = [")[0].replace(', subdivision = "TN"', ", observed = false")
        calendar = file_of(text).calendar
        assert calendar is not None
        assert calendar.why_off(date(2026, 7, 3), arguable_is_off=True) is None
        assert calendar.named_list.endswith(" US")

    @pytest.mark.parametrize(
        ("old", "new", "says"),
        [
            ('country = "US"', 'country = "ZZ"', "the holidays library has no list 'ZZ-TN'"),
            ('subdivision = "TN"', 'subdivision = "QQ"', "the holidays library has no list 'US-QQ'"),
            ("from = 2026-01-01", "from = 1949-12-31", "a named list reaches from 1950 to 2100"),
            ("until = 2026-12-31", "until = 9999-12-31", "a named list reaches from 1950 to 2100"),
            ("day = 2026-04-03", "day = 2026-04-04", "2026-04-04 is not a day of the named list"),
        ],
    )
    def test_what_the_list_has_not(self, old: str, new: str, says: str) -> None:
        with pytest.raises(RuleFileWrong, match=says):
            files.read(text_of(self.CALENDAR.replace(old, new)))

    def test_the_hour_of_closing_is_kept(self) -> None:
        text = US_DAYS.replace("weekend =", 'closing_hour = { at = "17:00", arguable = true, source = "S" }\nweekend =')
        calendar = file_of(text).calendar
        assert calendar is not None
        assert calendar.record()["closing_hour"] == {"at": "17:00", "arguable": True, "source": "S"}
        midnight = file_of(US_DAYS.replace("weekend =", 'closing_hour = "24:00"\nweekend =')).calendar
        assert midnight is not None
        assert midnight.record()["closing_hour"] == {"at": "24:00", "arguable": False, "source": "5 U.S.C. 6103(a)"}


class TestZones:
    """Days are those of the place of purchase, whatever the zone of the file or of the server."""

    def test_the_zone_of_the_place_of_purchase(self) -> None:
        file = file_of(hold_rule('"purchase"'))
        chicago = datetime.fromisoformat("2026-11-24T23:30").replace(tzinfo=ZoneInfo("America/Chicago"))
        hold = held(weigh([file], facts(), at=chicago))
        assert shown(hold.plain) == "2026-12-05T00:00-06:00"
        assert renewed(hold, file, {"purchase": chicago}, HERE).plain == hold.plain

    def test_a_server_that_counts_in_utc(self) -> None:
        # 23:50 on 2 November in New York is already 3 November in UTC.
        at = datetime.fromisoformat("2026-11-03T04:50").replace(tzinfo=ZoneInfo("UTC"))
        assert shown(held(weigh([file_of(hold_rule('"purchase"'))], facts(), at=at)).plain) == "2026-11-13T00:00-05:00"


HOURS = 'length = 1\nunit = "hours"\n'
DAY = 'length = 1\nunit = "days"\n'


class TestFaults:
    """What does not go together is a fault with its remedy."""

    @pytest.mark.parametrize(
        ("body", "says"),
        [
            ("length = 3\n", "'length' needs 'unit'"),
            ('until_released = true\nunit = "days"\n', "'unit' does not go with 'until_released'"),
            ('ends_with = "receipt"\nroll = "none"\n', "'roll' does not go with 'ends_with'"),
            ("until_released = false\n", "'until_released' is false"),
            (DAY + 'counts = "before"\nfirst_day_counts = true\n', "leaves no day"),
            (HOURS + 'counts = "before"\n', "'counts' means nothing"),
            (HOURS + 'calendar = "shop"\n', "'calendar' means nothing"),
            (DAY + 'implied = [{ act = "move", basis = "text" }]\n', "a hold that forbids to move needs 'keep_in'"),
        ],
    )
    def test_of_a_hold(self, body: str, says: str) -> None:
        self.fault(rule("hold", "h", body + FORBIDS), says)

    @pytest.mark.parametrize(
        ("body", "says"),
        [
            (DAY + 'adds = "to-running"\n', 'start = "end:RULE"'),
            (DAY + 'adds = "replaces"\n', "needs 'displaces'"),
            ('open_ended = true\nrenewal = { length = 1, unit = "days" }\n', "'renewal' means nothing"),
        ],
    )
    def test_of_an_order(self, body: str, says: str) -> None:
        self.fault(rule("order", "o", body), says)

    @pytest.mark.parametrize(
        ("due", "more", "says"),
        [
            ('within = 1, next = "day"', "", "keep exactly one"),
            ('next = "day", unit = "days"', "", "'unit' does not go with 'next'"),
            ("within = 1", "", "'within' needs 'unit'"),
            ("at_once = false", "", "'at_once' is false"),
            ("same_day = true, on_request = true", "", "'on_request' goes with per"),
            ('within = 1, unit = "days", readings = [{ reason = "R" }]', "", "a reading changes nothing"),
            (
                'within = 1, unit = "days", readings = [{ reason = "R", next = "day", same_day = true }]',
                "",
                "two deadlines",
            ),
            ("same_day = true", 'failure = { says = "S.", length = 1 }\n', "'length' and 'unit' go together"),
            ("same_day = true", 'extension = { length = 99999, unit = "days" }\n', "write a whole number"),
        ],
    )
    def test_of_a_deadline(self, due: str, more: str, says: str) -> None:
        self.fault(report_rule(due, more=more), says)

    def test_of_a_task(self) -> None:
        both = 'due = { next = "day" }\nbefore_end = { of = "h", length = 1, unit = "days" }'
        self.fault(task_rule(both), "keep exactly one")

    def fault(self, table: str, says: str) -> None:
        with pytest.raises(RuleFileWrong) as caught:
            files.read(text_of(table, AGENCIES, DAYS))
        assert says in str(caught.value)

    @pytest.mark.parametrize("fact", ["seller.nothing", "seller.age", "item.maker"])
    def test_a_name_is_completed_by_text_about_the_slip(self, fact: str) -> None:
        table = f'[[recipient]]\nid = "x"\nname = "X"\nnamed_by = "{fact}"\n'
        with pytest.raises(RuleFileWrong, match="cannot complete a name"):
            files.read(text_of(table))
