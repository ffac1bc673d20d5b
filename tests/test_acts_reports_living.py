"""Reports from owed to fulfilled: what their rule asks, lateness and why, more time, requests, corrected versions.

Rules are written beside the tests; moments were counted by hand on a calendar.
"""

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

import pytest

from ledger.acts import correcting, holding, owing, reporting
from ledger.acts.owing import Owed
from ledger.book import engine as engines
from ledger.book import reading
from ledger.errors import InputError
from tests import shops, slip_samples
from tests.check_book import check_book
from tests.law_samples import recipient, rule
from tests.paper_tools import text_of
from tests.shops import ZONE, Shop

PLAIN: tuple[tuple[str, Any], ...] = (
    ("items", slip_samples.document()["items"][:1]),
    ("tray.articles", 1),
    ("payout.amount", "180.00"),
)
WITHIN = 'per = "purchase"\ndue = { within = 48, unit = "hours" }\n'


def report(id: str, to: str, body: str, title: str = "A list of goods") -> str:
    return rule("report", id, f'to = "{to}"\ntitle = "{title}"\n{body}')


def owed(shop: Shop) -> list[tuple[str, str]]:
    """(id, state) of what is owed now."""
    return [(one.report, one.state) for one in reporting.owed(shop.book, at=shop.local())]


def one(shop: Shop, name: str) -> Owed:
    return next(each for each in owing.every(shop.book, at=shop.local()) if each.report == name)


def make(shop: Shop, name: str) -> str:
    return text_of(reporting.make(shop.book, name, "letter", at=shop.local())[1])


class TestFulfilled:
    """A report is owed until what its rule asks was done, to each recipient by itself."""

    @pytest.mark.parametrize(
        ("met_by", "steps"),
        [("made", ["made"]), ("sent", ["made", "sent"]), ("delivered", ["made", "sent", "delivered"])],
    )
    def test_as_far_as_its_rule_asks_and_no_further(self, bare_shop: Shop, met_by: str, steps: list[str]) -> None:
        shops.adopt(bare_shop, recipient("desk"), report("each", "desk", f'{WITHIN}met_by = "{met_by}"'))
        bare_shop.record(*PLAIN)
        acts: dict[str, Callable[[], object]] = {
            "made": lambda: make(bare_shop, "purchase-1.desk"),
            "sent": lambda: reporting.sent(bare_shop.book, "purchase-1.desk", at=bare_shop.local(), how="post"),
            "delivered": lambda: reporting.delivered(bare_shop.book, "purchase-1.desk", at=bare_shop.local(), how="x"),
        }
        for step in steps:
            assert owed(bare_shop) != [], f"before it is {step}"
            acts[step]()
        assert owed(bare_shop) == []
        assert one(bare_shop, "purchase-1.desk").met_at is not None
        check_book(bare_shop)

    def test_sent_is_not_enough_where_the_receipt_counts(self, shop: Shop) -> None:
        body = WITHIN + 'met_by = "received"'
        shops.adopt(shop, recipient("desk"), report("each", "desk", body), jurisdiction='"xx-other"', layer='"city"')
        shop.record(*PLAIN)
        make(shop, "purchase-1.desk")
        reporting.sent(shop.book, "purchase-1.desk", at=shop.local(), how="post")
        assert ("purchase-1.desk", "sent") in owed(shop)
        shop.wait(days=3)
        assert one(shop, "purchase-1.desk").lateness(shop.local()) == "no receipt by the time it was due"
        reporting.delivered(shop.book, "purchase-1.desk", at=shop.local(), how="the carrier's note")
        reporting.received(shop.book, "purchase-1.desk", at=shop.local(), who="the desk")
        assert "purchase-1.desk" not in [name for name, _ in owed(shop)]
        assert one(shop, "purchase-1.desk").lateness(shop.local()) == "received after it was due"
        check_book(shop)

    def test_a_purchase_that_is_owed_to_two_stands_there_twice_until_both_have_theirs(self, bare_shop: Shop) -> None:
        shops.adopt(
            bare_shop,
            recipient("police"),
            recipient("sheriff"),
            report("one", "police", WITHIN),
            report("two", "sheriff", WITHIN),
        )
        bare_shop.record(*PLAIN)
        for name in ("purchase-1.police", "purchase-1.sheriff"):
            assert name in [report for report, _ in owed(bare_shop)]
            make(bare_shop, name)
            reporting.sent(bare_shop.book, name, at=bare_shop.local(), how="post")
        assert owed(bare_shop) == []

    def test_one_report_for_two_layers_goes_as_far_as_the_stricter_asks(self, bare_shop: Shop) -> None:
        shops.adopt(bare_shop, recipient("desk"), report("one", "desk", WITHIN))
        other = report("two", "desk", WITHIN + 'met_by = "received"')
        shops.adopt(bare_shop, recipient("desk"), other, jurisdiction='"xx-other"', layer='"city"')
        bare_shop.record(*PLAIN)
        assert one(bare_shop, "purchase-1.desk").met_by == "received"

    def test_why_it_went_late_is_kept(self, bare_shop: Shop) -> None:
        shops.adopt(bare_shop, recipient("desk"), report("each", "desk", WITHIN))
        bare_shop.record(*PLAIN)
        bare_shop.wait(days=3)
        make(bare_shop, "purchase-1.desk")
        entry = reporting.sent(
            bare_shop.book, "purchase-1.desk", at=bare_shop.local(), how="post", late_because="the line was down"
        )
        with engines.reading(bare_shop.book.engine) as connection:
            said = reading.open_entry(connection, bare_shop.book, entry.seq).get("report")
        assert said["late_because"] == "the line was down"
        found = one(bare_shop, "purchase-1.desk")
        assert (found.late_at(bare_shop.local()), found.lateness(bare_shop.local())) == (True, "sent after it was due")


class TestMoreTime:
    """Extension and failure: how much more follows from the rule."""

    def test_an_extension_moves_the_deadline(self, shop: Shop) -> None:
        body = 'per = "purchase"\ndue = { next = "day", by = "12:00" }\n'
        more = 'extension = { length = 48, unit = "hours", says = "Two days more may be given.", ask = true }'
        shops.adopt(shop, recipient("desk"), report("each", "desk", body + more), jurisdiction='"xx-other"')
        shop.record(*PLAIN)
        assert one(shop, "purchase-1.desk").due == datetime(2026, 11, 25, 12, tzinfo=ZONE)
        reporting.extended(shop.book, "purchase-1.desk", at=shop.local(), by="the desk")
        assert one(shop, "purchase-1.desk").due == datetime(2026, 11, 27, 12, tzinfo=ZONE)
        check_book(shop)

    def test_of_a_days_list_too(self, bare_shop: Shop) -> None:
        body = 'per = "day"\ndue = { next = "day", by = "12:00" }\n'
        more = 'failure = { says = "By hand then.", instead = "by hand", length = 24, unit = "hours" }'
        shops.adopt(bare_shop, recipient("desk"), report("daily", "desk", body + more))
        bare_shop.record(*PLAIN)
        bare_shop.wait(days=1)
        reporting.extended(bare_shop.book, "day-2026-11-24.desk", at=bare_shop.local(), by="ada", failed=True)
        due = one(bare_shop, "day-2026-11-24.desk").due
        assert due >= bare_shop.local() + timedelta(hours=23)
        check_book(bare_shop)

    def test_where_the_rule_gives_none_there_is_none(self, bare_shop: Shop) -> None:
        shops.adopt(bare_shop, recipient("desk"), report("each", "desk", WITHIN))
        bare_shop.record(*PLAIN)
        for failed in (False, True):
            with pytest.raises(InputError, match="wanted is a report for which its rule gives more time"):
                reporting.extended(bare_shop.book, "purchase-1.desk", at=bare_shop.local(), by="x", failed=failed)


class TestRequests:
    """A report that an authority asks for is owed from then on, with the purchases of the days that it names."""

    RULES = (
        recipient("desk"),
        report("day-list", "desk", 'per = "request"\ndue = { within = 24, unit = "hours" }', "List of purchases"),
        report("each", "desk", WITHIN),
    )

    def test_it_is_owed_from_then_on(self, shop: Shop) -> None:
        shops.adopt(shop, *self.RULES, jurisdiction='"xx-other"', layer='"city"')
        shop.record(*PLAIN)
        asked = reporting.asked(shop.book, "xx-other/day-list", "2026-11-24", at=shop.local(), by="Canary Officer")
        name, entry = asked
        assert entry.public["period"] == "2026-11-24/2026-11-24"
        assert b"anary" not in entry.data
        found = one(shop, name)
        assert (found.slips, found.title, found.state) == ((1,), "List of purchases", "due")
        assert timedelta(hours=23, minutes=59) < found.due - shop.local() <= timedelta(hours=24)
        assert "A417-2290" in make(shop, name), "all that the town asks: this rule names nothing itself"
        check_book(shop)

    @pytest.mark.parametrize(
        ("asks", "period", "message"),
        [
            ("xx-sample/each", "2026-11-24", "^rule: .* a report that is made on request"),
            ("xx-nowhere/x", "2026-11-24", "^rule: .* JURISDICTION/RULE of a rule file in force"),
            ("xx-sample/day-list", "today", "^period: 'today' was given; wanted is a date"),
            ("xx-sample/day-list", "2026-11-24/2026-11-01", "^period: .* the earlier first"),
        ],
    )
    def test_what_is_wrong_is_named(self, bare_shop: Shop, asks: str, period: str, message: str) -> None:
        shops.adopt(bare_shop, *self.RULES)
        with pytest.raises(InputError, match=message):
            reporting.asked(bare_shop.book, asks, period, at=bare_shop.local(), by="A")


class TestVersions:
    """Papers bear the title of their rule; one made again after it left the shop says what has changed."""

    def test_the_title_is_the_rules_and_a_corrected_one_says_so(self, bare_shop: Shop) -> None:
        shops.adopt(bare_shop, recipient("desk"), report("each", "desk", WITHIN))
        bare_shop.record(*PLAIN)
        correcting.correct(bare_shop.book, 1, "item/1/description", {"damage": "an early dent"}, "seen")
        first = make(bare_shop, "purchase-1.desk")
        assert "A list of goods" in first
        assert "an early dent" in first
        assert "Corrected: " not in first
        reporting.sent(bare_shop.book, "purchase-1.desk", at=bare_shop.local(), how="post")
        correcting.correct(bare_shop.book, 1, "item/1/description", {"damage": "a late scratch"}, "seen")
        assert owed(bare_shop) == [("purchase-1.desk", "to correct")]
        assert one(bare_shop, "purchase-1.desk").late_at(bare_shop.local() + timedelta(days=9)) is False
        again = make(bare_shop, "purchase-1.desk")
        assert "Corrected: A list of goods" in again
        assert "a late scratch" in again

    def test_a_list_that_gained_a_purchase_names_it(self, bare_shop: Shop) -> None:
        daily = 'per = "day"\ndue = { next = "day", by = "12:00" }'
        shops.adopt(bare_shop, recipient("desk"), report("daily", "desk", daily, "Daily list"))
        then = ("occurred_at", f"{bare_shop.local().isoformat()}[{ZONE.key}]")
        bare_shop.record(*PLAIN)
        bare_shop.wait(days=1)
        make(bare_shop, "day-2026-11-24.desk")
        reporting.sent(bare_shop.book, "day-2026-11-24.desk", at=bare_shop.local(), how="post")
        bare_shop.record(*PLAIN, then)
        said = make(bare_shop, "day-2026-11-24.desk")
        assert "Corrected: Daily list" in said
        assert "slip 2" in said
        assert "recorded after the report had been sent" in said


class TestInstead:
    """Another law's report takes the place of one: it alone is owed, and the hold runs from it."""

    def test_the_hold_runs_from_the_report_that_is_made(self, bare_shop: Shop) -> None:
        hold = 'length = 3\nunit = "days"\nforbids = ["sell"]\nstart = "report-sent:desk"'
        instead = WITHIN + 'replaced_by = [{ rule = "xx-nation/each", by = "Nation Act s. 2" }]'
        shops.adopt(bare_shop, recipient("bureau"), report("each", "bureau", WITHIN), jurisdiction='"xx-nation"')
        shops.adopt(
            bare_shop,
            recipient("desk"),
            rule("hold", "after-report", hold),
            report("each", "desk", instead),
            jurisdiction='"xx-town"',
            layer='"city"',
        )
        bare_shop.record(*PLAIN)
        assert owed(bare_shop) == [("purchase-1.bureau", "due")]
        make(bare_shop, "purchase-1.bureau")
        reporting.sent(bare_shop.book, "purchase-1.bureau", at=bare_shop.local(), how="post")
        # Sent on 24 November: three days end with the 27th.
        assert holding.standing(bare_shop.book)[0].cautious == datetime(2026, 11, 28, tzinfo=ZONE)
        check_book(bare_shop)
