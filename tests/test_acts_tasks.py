"""Tasks, events and permissions: what else is due, what happened that a rule file gives a name, what was permitted.

Rules are written beside the tests; moments were counted by hand on a calendar.
"""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from ledger.acts import happening, leaving, owing, permitting, reporting, tasking
from ledger.book import engine as engines
from ledger.book import reading
from ledger.errors import ForbiddenByLaw, InputError, LockedError
from ledger.law.holds import Hold
from ledger.moments import parse_local
from ledger.shop import adopted
from tests import shops, slip_samples
from tests.check_book import check_book
from tests.law_samples import recipient, rule
from tests.shops import ZONE, Shop

PLAIN = (("items", slip_samples.document()["items"][:1]), ("tray.articles", 1), ("payout.amount", "180.00"))


def event(id: str, about: str) -> str:
    return f'\n[[event]]\nid = "{id}"\nabout = "{about}"\nsays = "It happened."\n'


def permission(id: str, about: str) -> str:
    return (
        f'\n[[permission]]\nid = "{id}"\nabout = "{about}"\nsays = "It is allowed."\nsource = "S"\nbasis = "invented"\n'
    )


def task(id: str, about: str, due: str, met_by: str) -> str:
    body = f'about = "{about}"\nwhat = "Do {id}."\ndue = {due}\nmet_by = "event:{met_by}"\nwho = "clerk"'
    return rule("task", id, body)


def undone(shop: Shop) -> list[tuple[str, str, datetime | None]]:
    """(about, rule, due) of what is still to be done; needs no key."""
    keys, shop.book.keys = shop.book.keys, None
    found = tasking.open_tasks(shop.book, at=shop.local())
    shop.book.keys = keys
    return [(one.about, one.rule.partition("/")[2], one.due) for one in found]


def hold_of(shop: Shop, line: int = 1) -> Hold:
    with engines.reading(shop.book.engine) as connection:
        (found,) = leaving.holds_of(connection, shop.book, 1, line)
    return found


def day(text: str, hour: int = 0) -> datetime:
    return datetime.fromisoformat(f"{text}T{hour:02}:00:00").replace(tzinfo=ZONE)


class TestTasks:
    """What must be done in time is listed until what fulfils it is recorded."""

    RULES = (
        event("moved", "slip"),
        event("tagged", "item"),
        task("move-goods", "slip", '{ next = "day", by = "12:00" }', "moved"),
        task("tag", "item", '{ within = 24, unit = "hours" }', "tagged"),
    )

    def test_of_a_slip_and_of_each_item_until_they_are_done(self, shop: Shop) -> None:
        shops.adopt(shop, *self.RULES, jurisdiction='"xx-other"', layer='"city"')
        shop.record()
        with engines.reading(shop.book.engine) as connection:
            bought = parse_local(reading.slip_row(connection, shop.book.origin, 1).presented_at, "at")
        tags = [("1/1", "tag", bought + timedelta(days=1)), ("1/3", "tag", bought + timedelta(days=1))]
        assert undone(shop) == [*tags, ("1", "move-goods", day("2026-11-25", 12))]
        entry, meets = happening.happen(shop.book, "tagged", "1/3", at=shop.local(), said="in bag 7")
        assert (entry.kind, entry.about, entry.public) == ("happened/0", ("item/1/3",), {"event": "tagged"})
        assert meets == [{"slip": 1, "about": "item/3", "jurisdiction": "xx-other", "rule": "tag"}]
        happening.happen(shop.book, "moved", "1", at=shop.local())
        assert undone(shop) == tags[:1]
        check_book(shop)

    def test_late_is_what_was_not_done_or_done_after_it_was_due(self, bare_shop: Shop) -> None:
        shops.adopt(bare_shop, *self.RULES)
        bare_shop.record(*PLAIN)
        (tag, move) = tasking.open_tasks(bare_shop.book, at=bare_shop.local())
        assert [one.late_at(day("2026-11-25", 10)) for one in (tag, move)] == [True, False]
        assert [one.is_near(day("2026-11-24", 11)) for one in (tag, move)] == [True, False]
        assert move.record() == {
            "about": "1",
            "rule": "xx-sample/move-goods",
            "what": "Do move-goods.",
            "who": "clerk",
            "due": "2026-11-25T12:00:00-06:00[America/Chicago]",
            "waiting_for": "",
            "met_by": "moved",
            "met_at": None,
        }

    def test_one_that_waits_for_an_event_is_due_from_then_on(self, bare_shop: Shop) -> None:
        shops.adopt(
            bare_shop,
            event("seen", "slip"),
            event("answered", "slip"),
            task("answer", "slip", '{ within = 48, unit = "hours", start = "event:seen" }', "answered"),
        )
        bare_shop.record(*PLAIN)
        assert undone(bare_shop) == [("1", "answer", None)]
        assert tasking.open_tasks(bare_shop.book, at=bare_shop.local())[0].waiting_for == "the event 'seen'"
        bare_shop.wait(days=3)
        happening.happen(bare_shop.book, "seen", "1", at=bare_shop.local())
        ((_, _, due),) = undone(bare_shop)
        assert due is not None
        assert timedelta(hours=47, minutes=59) < due - bare_shop.local() <= timedelta(hours=48)
        check_book(bare_shop)

    def test_of_the_shop_from_its_first_day_and_again_each_year(self, bare_shop: Shop) -> None:
        shops.adopt(
            bare_shop,
            event("renewed", "shop"),
            event("hired", "shop"),
            event("registered", "shop"),
            task("renew", "shop", '{ quarterly = ["10-01"] }', "renewed"),
            task("register", "shop", '{ within = 7, unit = "days", start = "event:hired" }', "registered"),
        )
        assert undone(bare_shop) == [("shop", "renew", day("2027-10-02")), ("shop", "register", None)]
        happening.happen(bare_shop.book, "hired", "shop", at=bare_shop.local())
        assert undone(bare_shop)[0] == ("shop", "register", day("2026-12-02"))
        bare_shop.wait(days=1)
        happening.happen(bare_shop.book, "registered", "shop", at=bare_shop.local())
        assert undone(bare_shop) == [("shop", "renew", day("2027-10-02"))]
        bare_shop.now = datetime(2027, 9, 20, 12, tzinfo=UTC)
        happening.happen(bare_shop.book, "renewed", "shop", at=bare_shop.local())
        assert undone(bare_shop) == [("shop", "renew", day("2027-10-02"))], "done before this year's day: that is due"
        bare_shop.now = datetime(2027, 10, 1, 12, tzinfo=UTC)
        happening.happen(bare_shop.book, "renewed", "shop", at=bare_shop.local())
        assert undone(bare_shop) == [("shop", "renew", day("2028-10-02"))]
        check_book(bare_shop)

    def test_one_that_no_event_fulfils_is_done_when_somebody_says_so(self, bare_shop: Shop) -> None:
        body = 'about = "{}"\nwhat = "Look at it."\ndue = {}\nwho = "owner"'
        shops.adopt(
            bare_shop,
            rule("task", "look", body.format("slip", '{ within = 24, unit = "hours" }')),
            rule("task", "sign", body.format("shop", "{ no_day = true }")),
        )
        bare_shop.record(*PLAIN)
        assert [(about, name) for about, name, _ in undone(bare_shop)] == [("1", "look"), ("shop", "sign")]
        assert undone(bare_shop)[1][2] is None
        with pytest.raises(InputError, match="a task that is open and fulfilled by no event: sign"):
            happening.happen(bare_shop.book, "done:look", "shop", at=bare_shop.local())
        happening.happen(bare_shop.book, "done:look", "1", at=bare_shop.local())
        happening.happen(bare_shop.book, "done:sign", "shop", at=bare_shop.local())
        assert undone(bare_shop) == []
        check_book(bare_shop)


class TestParcels:
    """Goods by carrier are here when their slip is recorded: what waited for that begins with the purchase."""

    def test_holds_reports_and_tasks_that_run_from_the_receipt_begin(self, bare_shop: Shop) -> None:
        start = 'start = "receipt"'
        shops.adopt(
            bare_shop,
            recipient("desk"),
            rule("hold", "after-receipt", f'length = 30\nunit = "days"\nforbids = ["sell"]\n{start}'),
            rule(
                "report",
                "each",
                'to = "desk"\nper = "purchase"\ntitle = "T"\ndue = { within = 24, unit = "hours", start = "contract" }',
            ),
            rule("task", "open", f'about = "slip"\nwhat = "W"\nwho = "clerk"\ndue = {{ next = "day", {start} }}'),
        )
        at = bare_shop.local()
        received = (at - timedelta(hours=3)).replace(microsecond=0).isoformat()
        parcel = {"carrier": "a carrier", "received_at": received, "tamper_band": "whole"}
        bare_shop.record(*PLAIN, ("channel", "parcel"), ("parcel", parcel))
        # Thirty days after 24 November end with 24 December.
        assert (hold_of(bare_shop).cautious, hold_of(bare_shop).waiting_for) == (day("2026-12-25"), None)
        (owed,) = owing.every(bare_shop.book, at=bare_shop.local())
        assert owed.report == "purchase-1.desk"
        assert timedelta(hours=23, minutes=59) < owed.due - bare_shop.local() <= timedelta(hours=24)
        assert undone(bare_shop) == [("1", "open", day("2026-11-26"))]
        assert b"%PDF" in reporting.make(bare_shop.book, "purchase-1.desk", "letter", at=bare_shop.local())[1]
        check_book(bare_shop)


class TestEvents:
    """What happened is recorded under the name that a rule file gives it, about what it says."""

    def test_a_hold_that_runs_from_an_event_of_an_item_begins_for_that_item(self, bare_shop: Shop) -> None:
        body = 'length = 5\nunit = "days"\nforbids = ["sell"]\nstart = "event:shown"'
        shops.adopt(bare_shop, event("shown", "item"), rule("hold", "after-showing", body))
        bare_shop.record()
        assert hold_of(bare_shop).waiting_for == "event:shown"
        happening.happen(bare_shop.book, "shown", "1/1", at=bare_shop.local())
        # Shown on 24 November: five days end with the 29th.
        assert (hold_of(bare_shop).cautious, hold_of(bare_shop, 3).cautious) == (day("2026-11-30"), None)
        check_book(bare_shop)

    def test_a_hold_that_runs_until_it_is_lifted_ends_with_that(self, bare_shop: Shop) -> None:
        shops.adopt(bare_shop, rule("hold", "until-lifted", 'until_released = true\nforbids = ["sell"]'))
        bare_shop.record(*PLAIN)
        with pytest.raises(ForbiddenByLaw, match="until it is lifted"):
            leaving.out(bare_shop.book, 1, 1, "sold", at=bare_shop.local())
        with pytest.raises(InputError, match="wanted is a hold of this slip or item that runs until it is lifted"):
            happening.happen(bare_shop.book, "lift:another", "1", at=bare_shop.local())
        happening.happen(bare_shop.book, "lift:until-lifted", "1", at=bare_shop.local())
        leaving.out(bare_shop.book, 1, 1, "sold", at=bare_shop.local())
        check_book(bare_shop)

    def test_what_no_file_declares_or_the_book_does_not_have_is_refused(self, bare_shop: Shop) -> None:
        shops.adopt(bare_shop, event("moved", "slip"), event("told", "report"))
        bare_shop.record(*PLAIN)
        at = bare_shop.local()
        for subject, message in (
            ("1/1", "^event: 'moved' was given; wanted is an event .* about the item: none is"),
            ("shop", "about the shop: none is"),
            ("9", "^slip: 9 was given"),
            ("1/9", "^item: '1/9' was given"),
            ("report/x", "^report: 'x' was given"),
            ("the safe", "^subject: 'the safe' was given; wanted is SLIP, SLIP/LINE, 'shop' or report/REPORT"),
        ):
            with pytest.raises(InputError, match=message):
                happening.happen(bare_shop.book, "moved", subject, at=at)
        with pytest.raises(InputError, match="not after the machine's clock"):
            happening.happen(bare_shop.book, "moved", "1", at=at + timedelta(days=1))

    def test_of_a_report_too(self, bare_shop: Shop) -> None:
        each = 'to = "desk"\nper = "purchase"\ndue = { within = 48, unit = "hours" }\ntitle = "Report"'
        shops.adopt(bare_shop, event("read", "report"), recipient("desk"), rule("report", "each", each))
        bare_shop.record(*PLAIN)
        entry, _ = happening.happen(bare_shop.book, "read", "report/purchase-1.desk", at=bare_shop.local())
        assert entry.about == ("report/purchase-1.desk",)
        check_book(bare_shop)


ASKED: dict[str, Any] = {"permission": "vault", "by": "Canary Officer", "reference": "C-7", "from": "2026-11-24"}


class TestPermissions:
    """What an authority permits for a time, read by rules; who gave it lies in the vault."""

    STORED = (
        'length = 20\nunit = "days"\nforbids = ["sell", "move"]\nkeep_in = "premises"\n'
        'allows = [{ act = "move", to = "secure-storage", permission = "vault", says = "With leave it may be stored" }]'
    )

    def permit(self, shop: Shop, **changes: Any) -> None:
        permitting.permit(shop.book, permitting.read_permission({**ASKED, **changes}))

    def test_it_lets_the_shop_do_what_a_hold_forbids_as_long_as_it_is_in_force(self, bare_shop: Shop) -> None:
        shops.adopt(bare_shop, permission("vault", "shop"), rule("hold", "h", self.STORED))
        bare_shop.record(*PLAIN)
        with pytest.raises(ForbiddenByLaw, match="With leave it may be stored: under the permission 'vault', which is"):
            leaving.move(bare_shop.book, 1, 1, "bank", at=bare_shop.local(), because="", to_place="secure-storage")
        self.permit(bare_shop, until="2026-11-25")
        with engines.reading(bare_shop.book.engine) as connection:
            days = ("2026-11-23", "2026-11-24", "2026-11-25", "2026-11-26")
            found = [adopted.permissions_on(connection, bare_shop.book.origin, each) for each in days]
            entry = reading.entry_at(
                connection, bare_shop.book.origin, reading.size(connection, bare_shop.book.origin) - 1
            )
            said = reading.open_entry(connection, bare_shop.book, entry.seq).get("permission")
        assert found == [[], ["vault"], ["vault"], []]
        assert entry.public == {"permission": "vault", "from": "2026-11-24", "until": "2026-11-25"}
        assert said == {"by": "Canary Officer", "reference": "C-7"}
        leaving.move(bare_shop.book, 1, 1, "bank", at=bare_shop.local(), because="", to_place="secure-storage")
        bare_shop.wait(days=2)
        with pytest.raises(ForbiddenByLaw):
            leaving.move(bare_shop.book, 1, 1, "bank", at=bare_shop.local(), because="", to_place="secure-storage")
        check_book(bare_shop)

    def test_one_for_an_item_shortens_its_hold_where_the_law_lets_it(self, bare_shop: Shop) -> None:
        shorter = (
            'length = 18\nunit = "days"\nforbids = ["sell"]\n'
            'shorter = [{ when = [{ fact = "item.permissions", has = "sooner" }],'
            ' length = 2, unit = "days", says = "S" }]'
        )
        shops.adopt(bare_shop, permission("sooner", "item"), rule("hold", "h", shorter))
        bare_shop.record()
        assert hold_of(bare_shop).cautious == day("2026-12-13")
        self.permit(bare_shop, permission="sooner", item="1/1")
        assert (hold_of(bare_shop).cautious, hold_of(bare_shop, 3).cautious) == (day("2026-11-27"), day("2026-12-13"))
        known = permitting.known(bare_shop.book, date(2026, 11, 24))
        assert [(one["permission"], one["subject"], one["in_force"]) for one in known] == [("sooner", "1/1", True)]
        check_book(bare_shop)

    def test_on_a_slip_that_is_only_presented_nothing_runs_yet(self, bare_shop: Shop) -> None:
        shops.adopt(bare_shop, permission("sooner", "item"), event("seen", "slip"))
        bare_shop.present(*PLAIN)
        self.permit(bare_shop, permission="sooner", item="1/1")
        happening.happen(bare_shop.book, "seen", "1", at=bare_shop.local())
        check_book(bare_shop)

    def test_one_that_no_hold_asks_for_changes_none(self, bare_shop: Shop) -> None:
        body = 'length = 20\nunit = "days"\nforbids = ["sell"]'
        shops.adopt(bare_shop, permission("sooner", "item"), rule("hold", "h", body))
        bare_shop.record(*PLAIN)
        before = hold_of(bare_shop)
        self.permit(bare_shop, permission="sooner", item="1/1")
        assert hold_of(bare_shop) == before

    def test_the_newest_record_counts(self, bare_shop: Shop) -> None:
        shops.adopt(bare_shop, permission("vault", "shop"))
        self.permit(bare_shop)
        self.permit(bare_shop, until="2026-11-30")
        (one,) = permitting.known(bare_shop.book, date(2026, 12, 1))
        assert (one["until"], one["in_force"]) == ("2026-11-30", False)

    @pytest.mark.parametrize(
        ("changes", "message"),
        [
            ({"for": "x"}, "^for: 'for' was given; wanted is one of permission, by"),
            ({"by": " "}, "^by: something else was given; wanted is text"),
            ({"permission": None}, "^permission: nothing was given"),
            ({"reference": 3}, "^reference: something else"),
            ({"from": "today"}, "^from: 'today' was given; wanted is a date"),
            ({"until": "2026-11-01"}, "^until: '2026-11-01' was given; wanted is a day not before 2026-11-24"),
            ({"item": "ring"}, "^item: 'ring' was given"),
            ({"permission": "none"}, "^permission: 'none' was given; .* about the shop: vault"),
            ({"item": "1/1"}, "^item: '1/1' was given"),
        ],
    )
    def test_what_is_wrong_is_named(self, bare_shop: Shop, changes: dict[str, Any], message: str) -> None:
        shops.adopt(bare_shop, permission("vault", "shop"), permission("vault2", "item"))
        if "item" in changes and changes["item"] == "1/1":
            changes = {**changes, "permission": "vault2"}
        with pytest.raises(InputError, match=message) as fault:
            self.permit(bare_shop, **changes)
        assert "Canary" not in str(fault.value)

    def test_what_is_permitted_to_the_whole_shop_is_for_an_owner_to_record(self, bare_shop: Shop) -> None:
        shops.adopt(bare_shop, permission("vault", "shop"))
        owner = bare_shop.book.opened()
        bare_shop.book.keys = replace(owner, role="clerk", secrets=replace(owner.secrets, owner=None))
        with pytest.raises(LockedError, match="What is permitted to the whole shop"):
            self.permit(bare_shop)
