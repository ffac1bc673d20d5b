"""Reports as living things: owed, made, sent, received by the authority, and made again when they were corrected.

The rules are those of the demonstration's invented state, county and town, or written beside the test; every moment
was counted by hand on a calendar. Clock changes are those of 15 U.S.C. 260a: 1 November 2026 and 14 March 2027.
"""

from datetime import UTC, date, datetime, timedelta

import pytest
import sqlalchemy as sa

from ledger.acts import gathering, holding, leaving, reporting, setting_up, undoing
from ledger.book import engine as engines
from ledger.book import reading, tables
from ledger.chain import canonical
from ledger.errors import InputError, LockedError
from ledger.law.holds import Hold
from ledger.moments import local_text
from tests import shops, slip_samples
from tests.check_book import check_book
from tests.law_samples import recipient, rule
from tests.paper_tools import text_of
from tests.shops import ZONE, Shop

PURCHASE, DAILY, WEEKLY = "purchase-1.county-sheriff", "day-2026-11-24.county-sheriff", "week-2026-11-23.town-police"
PLAIN = (("items", slip_samples.document()["items"][:1]), ("tray.articles", 1), ("payout.amount", "180.00"))
"""The sample with its ring alone."""


def owed(shop: Shop, *, at: datetime | None = None) -> list[tuple[str, str, tuple[int, ...]]]:
    """(id, due, slips) of what is owed."""
    found = reporting.owed(shop.book, at=at or shop.local())
    return [(one.report, local_text(one.due), one.slips) for one in found]


def make(shop: Shop, report: str) -> str:
    """The paper of a report that is made now, as text."""
    return text_of(reporting.make(shop.book, report, "letter", at=shop.local())[1])


def send(shop: Shop, report: str) -> None:
    reporting.sent(shop.book, report, at=shop.local(), how="by hand")


def state_of(shop: Shop, report: str) -> str:
    with engines.reading(shop.book.engine) as connection:
        row = tables.reports.c
        return str(connection.execute(sa.select(row.state).where(row.report == report)).scalar_one())


class TestOwed:
    """What is owed to whom and by when, with nil reports; late ones are named. Needs no key."""

    def test_a_purchase_is_owed_at_once_its_day_the_day_after_its_week_on_monday(self, shop: Shop) -> None:
        shop.record()
        purchase = (PURCHASE, "2026-11-26T09:15:04-06:00[America/Chicago]", (1,))
        daily = (DAILY, "2026-11-25T12:00:00-06:00[America/Chicago]", (1,))
        weekly = (WEEKLY, "2026-11-30T12:00:00-06:00[America/Chicago]", (1,))
        shop.book.keys = None
        assert owed(shop) == [purchase]
        shop.wait(days=1)
        assert owed(shop) == [daily, purchase]
        shop.wait(days=4)
        assert owed(shop) == [daily, purchase], "Sunday the 29th belongs to the week"
        shop.wait(days=1)
        assert owed(shop) == [daily, purchase, weekly]

    def test_weeks_without_a_purchase_owe_a_nil_report_over_months_years_and_clock_changes(
        self, sqlite_shop: Shop
    ) -> None:
        found = owed(sqlite_shop, at=datetime(2027, 3, 22, 9, tzinfo=ZONE))
        weeks = [date(2026, 11, 30) + timedelta(weeks=number) for number in range(16)]
        assert [report for report, _, _ in found] == [f"week-{day}.town-police" for day in weeks]
        assert {slips for _, _, slips in found} == {()}
        dues = {report: due for report, due, _ in found}
        # The week over the year's end, the last one in standard time, the one in which clocks go forward.
        assert dues["week-2026-12-28.town-police"] == "2027-01-04T12:00:00-06:00[America/Chicago]"
        assert dues["week-2027-03-01.town-police"] == "2027-03-08T12:00:00-06:00[America/Chicago]"
        assert dues["week-2027-03-08.town-police"] == "2027-03-15T12:00:00-05:00[America/Chicago]"

    def test_no_nil_report_is_owed_for_a_week_that_had_begun_when_the_file_was_adopted(self, sqlite_shop: Shop) -> None:
        assert owed(sqlite_shop, at=datetime(2026, 12, 6, 23, tzinfo=ZONE)) == []
        assert len(owed(sqlite_shop, at=datetime(2026, 12, 7, tzinfo=ZONE))) == 1

    def test_a_place_whose_file_came_later_owes_from_then_on(self, sqlite_shop: Shop) -> None:
        sqlite_shop.now = datetime(2026, 12, 9, 15, tzinfo=UTC)
        body = 'to = "desk"\nper = "day"\ndue = { next = "day" }\nnil = true\ntitle = "Daily (invented)"'
        shops.adopt(sqlite_shop, recipient("desk"), rule("report", "daily", body), layer='"city"')
        days = [
            report for report, _, _ in owed(sqlite_shop, at=datetime(2026, 12, 12, 9, tzinfo=ZONE)) if "day-" in report
        ]
        assert days == ["day-2026-12-09.desk", "day-2026-12-10.desk", "day-2026-12-11.desk"]

    def test_a_week_with_a_purchase_is_no_nil_week(self, sqlite_shop: Shop) -> None:
        sqlite_shop.wait(days=7)
        sqlite_shop.record(*PLAIN)
        weeks = [one for one in owed(sqlite_shop, at=datetime(2026, 12, 14, 9, tzinfo=ZONE)) if "week" in one[0]]
        assert [(report, slips) for report, _, slips in weeks] == [
            ("week-2026-11-30.town-police", (1,)),
            ("week-2026-12-07.town-police", ()),
        ]

    def test_a_report_that_is_due_on_its_own_day_is_made_on_it(self, bare_shop: Shop) -> None:
        for name, by in (("evening", '18:00"'), ("night", "")):
            due = f'same_day = true, by = "{by}' if by else "same_day = true"
            body = f'to = "{name}"\nper = "day"\ndue = {{ {due} }}\nnil = true\ntitle = "Daily (invented)"'
            shops.adopt(bare_shop, recipient(name), rule("report", name, body), jurisdiction=f'"xx-{name}"')
        found = owed(bare_shop)
        assert [(report, due) for report, due, _ in found] == [
            ("day-2026-11-24.evening", "2026-11-24T18:00:00-06:00[America/Chicago]"),
            ("day-2026-11-24.night", "2026-11-25T00:00:00-06:00[America/Chicago]"),
        ]
        assert "Nothing to report" in make(bare_shop, "day-2026-11-24.evening")

    def test_a_report_is_late_from_its_deadline_until_it_is_sent(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record(*PLAIN)
        (one,) = reporting.owed(sqlite_shop.book, at=sqlite_shop.local())
        assert not one.late_at(one.due)
        assert one.late_at(one.due + timedelta(seconds=1))
        assert one.record()["due"] == local_text(one.due)
        sqlite_shop.wait(days=3)
        make(sqlite_shop, PURCHASE)
        (late,) = [one for one in reporting.owed(sqlite_shop.book, at=sqlite_shop.local()) if one.report == PURCHASE]
        assert (late.state, late.late_at(sqlite_shop.local())) == ("made", True)
        send(sqlite_shop, PURCHASE)
        assert PURCHASE not in [report for report, _, _ in owed(sqlite_shop)]

    def test_without_rule_files_nothing_is_owed(self, bare_shop: Shop) -> None:
        bare_shop.record(*PLAIN)
        assert owed(bare_shop, at=datetime(2027, 3, 22, 9, tzinfo=ZONE)) == []

    def test_now_must_be_told_in_the_shops_zone(self, sqlite_shop: Shop) -> None:
        with pytest.raises(InputError, match="at: .* a moment in the shop's zone"):
            reporting.owed(sqlite_shop.book, at=datetime(2026, 11, 25, 9, tzinfo=UTC))


class TestSteps:
    """Made, sent and received are different events; each is an entry."""

    def test_a_report_is_made_sent_and_received(self, shop: Shop) -> None:
        shop.record()
        made, paper = reporting.make(shop.book, PURCHASE, "letter", at=shop.local())
        sent = reporting.sent(shop.book, PURCHASE, at=shop.local(), how="by hand")
        got = reporting.received(shop.book, PURCHASE, at=shop.local(), who="Canary Clerk", reference="R-9")
        assert made.public == {
            "report": PURCHASE,
            "period": "2026-11-24/2026-11-24",
            "recipient": "county-sheriff",
            "rules": [made.public["rules"][0]],
            "slips": [1],
            "nil": False,
        }
        assert (sent.public, got.public) == ({"report": PURCHASE}, {"report": PURCHASE})
        with engines.reading(shop.book.engine) as connection:
            parts = [reading.open_entry(connection, shop.book, entry.seq).get("report") for entry in (made, sent, got)]
        assert canonical.encode(parts[0]["slips"]) == b"[1]"
        assert parts[1]["how"] == "by hand"
        assert (parts[2]["who"], parts[2]["reference"]) == ("Canary Clerk", "R-9")
        assert state_of(shop, PURCHASE) == "received"
        assert b"Canary" not in got.data
        assert paper.startswith(b"%PDF")
        check_book(shop)

    def test_a_receipt_may_come_without_a_note_of_sending(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record(*PLAIN)
        make(sqlite_shop, PURCHASE)
        reporting.received(sqlite_shop.book, PURCHASE, at=sqlite_shop.local(), who="the desk")
        assert state_of(sqlite_shop, PURCHASE) == "received"

    def test_no_step_is_taken_before_the_one_it_needs(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record(*PLAIN)
        at = sqlite_shop.local()
        with pytest.raises(
            InputError, match="'purchase-1.county-sheriff, due' was given; wanted is a report that is made"
        ):
            send(sqlite_shop, PURCHASE)
        with pytest.raises(InputError, match="wanted is a report that is made or sent"):
            reporting.received(sqlite_shop.book, PURCHASE, at=at, who="the desk")
        make(sqlite_shop, PURCHASE)
        make(sqlite_shop, PURCHASE)  # the printer jammed
        send(sqlite_shop, PURCHASE)
        with pytest.raises(
            InputError, match="'purchase-1.county-sheriff, sent' was given; wanted is a report that is owed"
        ):
            make(sqlite_shop, PURCHASE)
        check_book(sqlite_shop)

    def test_no_report_is_made_of_a_period_that_is_not_over(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record(*PLAIN)
        for report, period in ((DAILY, "2026-11-24/2026-11-24"), (WEEKLY, "2026-11-23/2026-11-29")):
            with pytest.raises(InputError, match=f"wanted is a report whose period is over; {period} is not"):
                make(sqlite_shop, report)

    def test_a_report_that_nobody_owes_is_not_made(self, sqlite_shop: Shop) -> None:
        for name in ("purchase-9.county-sheriff", "week-2026-11-30.town-police"):
            with pytest.raises(InputError, match="the id of a report; see `counterfoil report due`"):
                make(sqlite_shop, name)

    def test_no_step_is_dated_ahead_or_before_the_report_was_made(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record(*PLAIN)
        tomorrow, yesterday = (sqlite_shop.local() + timedelta(days=by) for by in (1, -1))
        with pytest.raises(InputError, match=r"^at: .* not after the machine's clock"):
            reporting.make(sqlite_shop.book, PURCHASE, "letter", at=tomorrow)
        make(sqlite_shop, PURCHASE)
        with pytest.raises(InputError, match=r"^at: .* not after the machine's clock"):
            reporting.received(sqlite_shop.book, PURCHASE, at=tomorrow, who="the desk")
        with pytest.raises(
            InputError, match=r"a moment from 2026-11-24T09:15:00-06:00\[America/Chicago\] on, when the"
        ):
            reporting.received(sqlite_shop.book, PURCHASE, at=yesterday, who="the desk")

    def test_a_locked_book_makes_none(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record(*PLAIN)
        sqlite_shop.book.keys = None
        with pytest.raises(LockedError):
            make(sqlite_shop, PURCHASE)


def holds_of(shop: Shop, slip: int, line: int) -> list[Hold]:
    with engines.reading(shop.book.engine) as connection:
        return leaving.holds_of(connection, shop.book, slip, line)


class TestHolds:
    """A hold that waits for a report becomes a moment the instant the receipt is recorded."""

    def cautious(self, shop: Shop) -> list[datetime | None]:
        return [
            hold.cautious
            for one in holding.standing(shop.book)
            for hold in holds_of(shop, one.slip, one.line)
            if hold.rule == "hold-after-receipt"
        ]

    def test_seven_days_after_the_receipt(self, shop: Shop) -> None:
        # Tamsett County Ordinance 12-5 (invented): seven days after the day of receipt, here 25 November.
        shop.record()
        assert self.cautious(shop) == [None, None]
        make(shop, PURCHASE)
        send(shop, PURCHASE)
        assert self.cautious(shop) == [None, None], "sending is not receiving"
        shop.wait(days=1)
        reporting.received(shop.book, PURCHASE, at=shop.local(), who="the desk")
        assert self.cautious(shop) == [datetime(2026, 12, 3, tzinfo=ZONE)] * 2
        check_book(shop)

    def test_a_receipt_that_is_dated_back_frees_nothing(self, sqlite_shop: Shop) -> None:
        # Holds run from the later of when it happened and when it was recorded, here 27 November.
        sqlite_shop.record(*PLAIN)
        make(sqlite_shop, PURCHASE)
        first = sqlite_shop.local()
        sqlite_shop.wait(days=3)
        reporting.received(sqlite_shop.book, PURCHASE, at=first, who="the desk, which had it since Tuesday")
        assert self.cautious(sqlite_shop) == [datetime(2026, 12, 5, tzinfo=ZONE)]
        check_book(sqlite_shop)

    def test_days_are_counted_in_the_zone_of_the_purchase_before_and_after_the_receipt(self, bare_shop: Shop) -> None:
        # The rule file names another zone, which would count only where the purchase names no place.
        wait = 'length = 7\nunit = "days"\nforbids = ["sell"]\n'
        each = 'to = "desk"\nper = "purchase"\ndue = { within = 48, unit = "hours" }\ntitle = "Report"\n'
        shops.adopt(
            bare_shop,
            recipient("desk"),
            rule("hold", "bought", wait),
            rule("hold", "received", f'{wait}start = "report-received:desk"\n'),
            rule("report", "each", each),
            zone='"America/Denver"',
        )
        bare_shop.record(*PLAIN)
        make(bare_shop, "purchase-1.desk")
        reporting.received(bare_shop.book, "purchase-1.desk", at=bare_shop.local(), who="the desk")
        end = datetime(2026, 12, 2, tzinfo=ZONE)
        assert {hold.rule: hold.cautious for hold in holds_of(bare_shop, 1, 1)} == {"bought": end, "received": end}
        check_book(bare_shop)

    def test_a_second_receipt_moves_the_end_later_and_never_earlier(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record(*PLAIN)
        make(sqlite_shop, PURCHASE)
        sqlite_shop.wait(days=1)
        make(sqlite_shop, DAILY)
        first = sqlite_shop.local()
        sqlite_shop.wait(days=2)
        reporting.received(sqlite_shop.book, PURCHASE, at=sqlite_shop.local(), who="the desk")
        assert self.cautious(sqlite_shop) == [datetime(2026, 12, 5, tzinfo=ZONE)]
        sqlite_shop.wait(days=-1)  # the machine's clock was set back
        reporting.received(sqlite_shop.book, DAILY, at=first, who="the desk, which had it since Wednesday")
        assert self.cautious(sqlite_shop) == [datetime(2026, 12, 5, tzinfo=ZONE)]
        sqlite_shop.wait(days=1)
        check_book(sqlite_shop)

    def test_the_receipt_of_a_days_list_moves_the_holds_of_every_slip_on_it(self, sqlite_shop: Shop) -> None:
        for _ in range(3):
            sqlite_shop.record(*PLAIN)
        undoing.void(sqlite_shop.book, 2, "a change of mind", at=sqlite_shop.local())
        sqlite_shop.wait(days=1)
        make(sqlite_shop, DAILY)
        reporting.received(sqlite_shop.book, DAILY, at=sqlite_shop.local(), who="the desk")
        assert self.cautious(sqlite_shop) == [datetime(2026, 12, 3, tzinfo=ZONE)] * 2
        check_book(sqlite_shop)


class TestBatches:
    """Every purchase stands in exactly one report of each kind to each recipient."""

    def test_over_a_fortnight_with_midnights_sundays_and_a_change_of_clocks(self, bare_shop: Shop) -> None:
        moments = [
            datetime(2027, 3, 7, 23, 59, 30, tzinfo=ZONE),  # Sunday
            datetime(2027, 3, 8, 0, 0, 30, tzinfo=ZONE),  # Monday
            datetime(2027, 3, 13, 23, 59, 30, tzinfo=ZONE),
            datetime(2027, 3, 14, 1, 59, 30, tzinfo=ZONE),  # the hour after this one does not exist
            datetime(2027, 3, 14, 3, 0, 30, tzinfo=ZONE),
            datetime(2027, 3, 14, 23, 59, 30, tzinfo=ZONE),
            datetime(2027, 3, 15, 11, 59, 30, tzinfo=ZONE),
            datetime(2027, 3, 15, 12, 0, 30, tzinfo=ZONE),
        ]
        bare_shop.now = moments[0].astimezone(UTC) - timedelta(days=14)
        for path in shops.rule_files():
            file = path.read_bytes()
            setting_up.adopt(bare_shop.book, file, path.name, compared_on=date(2027, 1, 1), by="ada")
        for moment in moments:
            bare_shop.now = moment.astimezone(UTC)
            bare_shop.record(*PLAIN)
        bare_shop.now = datetime(2027, 3, 22, 12, tzinfo=UTC)
        found = reporting.owed(bare_shop.book, at=bare_shop.local())
        told = {
            kind: [slip for one in found if one.report.startswith(kind) for slip in one.slips]
            for kind in ("purchase", "day", "week")
        }
        assert all(sorted(slips) == [1, 2, 3, 4, 5, 6, 7, 8] for slips in told.values())
        batches = [(one.report, one.slips) for one in found if one.report.startswith("week") and one.slips]
        assert batches == [
            ("week-2027-03-01.town-police", (1,)),
            ("week-2027-03-08.town-police", (2, 3, 4, 5, 6)),
            ("week-2027-03-15.town-police", (7, 8)),
        ]
        assert [(one.report, one.slips) for one in found if "day-2027-03-14" in one.report] == [
            ("day-2027-03-14.county-sheriff", (4, 5, 6))
        ]

    def test_a_purchase_that_is_recorded_late_makes_the_report_of_its_day_again(self, shop: Shop) -> None:
        then = ("occurred_at", f"{shop.local().isoformat()}[{ZONE.key}]")
        shop.record(*PLAIN)
        shop.wait(days=1)
        make(shop, DAILY)
        shop.record(*PLAIN, then)
        assert state_of(shop, DAILY) == "due", "what was made does not tell of it"
        make(shop, DAILY)
        send(shop, DAILY)
        shop.record(*PLAIN, then)
        assert state_of(shop, DAILY) == "to correct"
        with pytest.raises(InputError, match="to correct' was given; wanted is a report that is made"):
            send(shop, DAILY)
        paper = make(shop, DAILY)
        assert all(f"Slip {slip} " in paper for slip in (1, 2, 3))
        send(shop, DAILY)
        assert DAILY not in [report for report, _, _ in owed(shop)]
        check_book(shop)

    def test_a_purchase_that_is_recorded_late_ends_a_nil_week(self, sqlite_shop: Shop) -> None:
        sqlite_shop.wait(days=7)
        then = ("occurred_at", f"{sqlite_shop.local().isoformat()}[{ZONE.key}]")
        sqlite_shop.wait(days=7)
        week = "week-2026-11-30.town-police"
        assert "Nothing to report" in make(sqlite_shop, week)
        send(sqlite_shop, week)
        sqlite_shop.record(*PLAIN, then)
        assert "Nothing to report" not in make(sqlite_shop, week)
        check_book(sqlite_shop)


class TestPapers:
    """Purchase report, day's list, weekly report, nil report: what their rules ask, and no more than may be shown."""

    def test_a_nil_report_names_period_recipient_section_and_says_nothing_was_bought(self, sqlite_shop: Shop) -> None:
        sqlite_shop.now = datetime(2027, 1, 4, 15, tzinfo=UTC)
        entry, paper = reporting.make(sqlite_shop.book, "week-2026-12-28.town-police", "a4", at=sqlite_shop.local())
        assert (entry.public["nil"], entry.public["slips"]) == (True, [])
        said = text_of(paper)
        for words in (
            "Nothing to report",
            "2026-12-28 to 2027-01-03",
            "Pellwick Police",
            "Pellwick Town Code 7-7 (invented)",
            "Mon 4 Jan 2027 12:00 America/Chicago",
            "Purchases recorded 0",
        ):
            assert words in said
        check_book(sqlite_shop)

    def test_the_weekly_report_tells_sellers_and_bought_goods_of_every_slip(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        sqlite_shop.record(*PLAIN, ("parties.0.name.family", "Varnham"))
        undoing.void(sqlite_shop.book, 2, "a change of mind", at=sqlite_shop.local())
        sqlite_shop.wait(days=6)
        said = make(sqlite_shop, WEEKLY)
        for words in ("Averill", "Varnham", "Slip 1 ", "Slip 2 ", "broken chain", "undone: the goods went back"):
            assert words in said
        assert "locket" not in said, "it was not bought"

    def test_what_must_not_be_shown_to_the_recipient_is_not(self, sqlite_shop: Shop) -> None:
        # Pellwick Town Code 7-3(c) (invented): the print is not shown to the county's sheriff.
        sqlite_shop.record(("parties.0.captures.1", {"what": "print", "file": "thumb.jpg", "finger": "right thumb"}))
        to_sheriff = make(sqlite_shop, PURCHASE)
        sqlite_shop.wait(days=1)
        list_to_sheriff = make(sqlite_shop, DAILY)
        sqlite_shop.wait(days=5)
        to_police = make(sqlite_shop, WEEKLY)
        with engines.reading(sqlite_shop.book.engine) as connection:
            parts = gathering.whole(connection, sqlite_shop.book, 1).parts
        digests = {name: parts[name]["received"] for name in ("seller/print/1", "seller/photo/1")}
        assert digests["seller/photo/1"] in to_sheriff
        for paper in (to_sheriff, list_to_sheriff):
            assert "Print of the right thumb" not in paper
            assert digests["seller/print/1"] not in paper
        assert "Print of the right thumb" in to_police

    def test_a_rule_that_asks_nothing_itself_gets_all_that_is_asked(self, sqlite_shop: Shop) -> None:
        # Tamsett County Ordinance 12-6 (invented) names no fields.
        sqlite_shop.record(*PLAIN)
        sqlite_shop.wait(days=1)
        said = make(sqlite_shop, DAILY)
        for label in ("Birth date", "Number of the document", "Description", "Picture of the seller"):
            assert label in said

    def test_two_layers_that_owe_one_recipient_the_same_report_get_one_that_answers_both(self, bare_shop: Shop) -> None:
        def layer(number: int, fact: str) -> tuple[str, ...]:
            ask = rule("ask", "record", f'fields = [{{ fact = "{fact}", label = "Asked by layer {number}" }}]')
            body = 'to = "desk"\nper = "purchase"\ndue = { within = 48, unit = "hours" }\ntitle = "Report"\n'
            return recipient("desk"), ask, rule("report", "report", body + 'asks = ["record"]')

        shops.adopt(bare_shop, *layer(1, "seller.name"))
        shops.adopt(bare_shop, *layer(2, "seller.workplace"), jurisdiction='"xx-other"', layer='"city"')
        bare_shop.record(*PLAIN)
        assert [report for report, _, _ in owed(bare_shop)] == ["purchase-1.desk"]
        said = make(bare_shop, "purchase-1.desk")
        assert "Asked by layer 1" in said
        assert "Asked by layer 2" in said

    def test_a_paper_cites_the_version_of_the_rule_that_was_in_force(self, bare_shop: Shop) -> None:
        body = 'to = "desk"\nper = "week"\ndue = { weekly = "monday" }\nnil = true\ntitle = "Weekly"\n'
        old = rule("report", "weekly", body + "from = 2020-01-01", source="Sample Act s. 1 of 2020 (invented)")
        new = rule("report", "weekly", body + "from = 2026-06-01", source="Sample Act s. 4 (invented)")
        shops.adopt(bare_shop, recipient("desk"), old, new)
        bare_shop.now = datetime(2026, 12, 7, 15, tzinfo=UTC)
        said = make(bare_shop, "week-2026-11-30.desk")
        assert "Sample Act s. 4 (invented)" in said
        assert "of 2020" not in said
