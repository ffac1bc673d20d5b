"""What the shop has before it today.

The holds are those of the demonstration's invented county: fifteen clear days after its receipt of the report. What is
free is compared with `holding.standing`, which weighs every item by itself.
"""

from datetime import date, datetime

import pytest

from ledger.acts import closing, extracting, holding, paying, reporting, undoing
from ledger.acts import today as acts
from ledger.acts.today import Today
from ledger.book import engine as engines
from ledger.book import reading
from ledger.law.counting import utc
from ledger.measures import Money
from ledger.moments import local_text
from ledger.vault import keys_file
from tests import shops
from tests.shops import ZONE, Shop

PURCHASE = "purchase-1.county-sheriff"


def seen(shop: Shop, role: str = "owner", staff: str = shops.OWNER) -> Today:
    return acts.today(shop.book, at=shop.local(), role=role, staff=staff)


def received(shop: Shop) -> None:
    reporting.make(shop.book, PURCHASE, "letter", at=shop.local())
    reporting.sent(shop.book, PURCHASE, at=shop.local(), how="by hand")
    reporting.received(shop.book, PURCHASE, at=shop.local(), who="Desk")


def ordered(shop: Shop, item: tuple[int, int], days: int) -> str:
    now = shop.local()
    asked = holding.OrderAsked(
        (item,), "Police", "Officer", "26-1", "section 1", now, shop.wait(days=days), "written", rule="none"
    )
    shop.wait(days=-days)
    return holding.order(shop.book, asked)[0]


class TestSlips:
    """Slips of the day: a clerk sees her own, an owner all."""

    def test_only_those_of_the_shops_day_with_what_they_came_to(self, shop: Shop) -> None:
        assert seen(shop).slips == ()
        shop.record()
        shop.present()
        slips = seen(shop).slips
        assert [(one.slip, one.state, one.items) for one in slips] == [(1, "recorded", 3), (2, "presented", 3)]
        assert slips[0].total == Money("USD", 21850)
        assert acts.states(slips) == [("presented", 1), ("recorded", 1)]
        shop.wait(days=1)
        assert seen(shop).slips == ()

    def test_a_clerk_sees_the_slips_that_she_entered(self, shop: Shop) -> None:
        shop.record()
        assert [one.slip for one in seen(shop, "clerk", shops.OWNER).slips] == [1]
        assert seen(shop, "clerk", "ben").slips == ()


class TestMoney:
    """Payouts that are owed, until they are paid or the purchase is undone."""

    def test_what_is_owed_stands_here_until_it_is_paid(self, shop: Shop) -> None:
        shop.record()
        (debt,) = seen(shop).owed
        assert (debt.slip, debt.amount, debt.state) == (1, Money("USD", 21850), "owed")
        paying.settle(shop.book, 1, "paid", at=shop.local())
        assert seen(shop).owed == ()
        paying.settle(shop.book, 1, "failed", at=shop.local())
        assert [one.state for one in seen(shop).owed] == ["failed"]

    def test_nothing_is_owed_for_a_purchase_that_was_undone(self, shop: Shop) -> None:
        shop.record()
        undoing.void(shop.book, 1, "a lawful return", at=shop.local())
        assert seen(shop).owed == ()


class TestLeaving:
    """What may leave from now, and what becomes free today."""

    def test_goods_wait_for_the_receipt_then_become_free_on_their_day(self, shop: Shop) -> None:
        shop.record()
        assert (seen(shop).free, seen(shop).held, seen(shop).waiting) == ((), 2, 2)
        received(shop)
        assert (seen(shop).held, seen(shop).waiting) == (2, 0)
        shop.now = datetime(2026, 12, 9, 23, 0, tzinfo=ZONE)
        assert (seen(shop).free, seen(shop).free_today) == ((), ())
        shop.now = datetime(2026, 12, 10, 9, 0, tzinfo=ZONE)
        assert [(one.slip, one.line) for one in seen(shop).free_today] == [(1, 1), (1, 3)]
        assert seen(shop).free == seen(shop).free_today
        shop.wait(days=1)
        assert len(seen(shop).free) == 2
        assert seen(shop).free_today == ()

    def test_an_authoritys_order_keeps_an_item_back_and_a_locked_book_does_not_know(self, shop: Shop) -> None:
        shop.record()
        received(shop)
        ordered(shop, (1, 1), 30)
        shop.now = datetime(2026, 12, 10, 9, 0, tzinfo=ZONE)
        assert ([(one.slip, one.line) for one in seen(shop).free], seen(shop).ordered) == ([(1, 3)], 1)
        shop.book.keys = None
        assert seen(shop).ordered is None

    def test_it_is_what_holding_says_of_every_item_by_itself(self, after: Shop) -> None:
        for _ in range(40):
            now = after.wait(days=1)
            found = acts.today(after.book, at=now, role="owner", staff=shops.OWNER)
            free = {(one.slip, one.line) for one in holding.standing(after.book, at=now) if one.free_at(now)}
            assert {(one.slip, one.line) for one in found.free} <= free
            assert len(found.free) == sum(
                1 for one in holding.standing(after.book, at=now) if one.free_at(now) and _in_stock(after, one)
            )

    def test_goods_without_a_hold_are_free_at_once(self, bare_shop: Shop) -> None:
        bare_shop.record()
        found = seen(bare_shop)
        assert [(one.line, one.since) for one in found.free] == [(1, None), (3, None)]
        assert (found.held, found.free_today) == (0, ())


def _in_stock(shop: Shop, one: holding.Standing) -> bool:
    with engines.reading(shop.book.engine) as connection:
        return bool(reading.item_row(connection, shop.book.origin, one.slip, one.line).state == "in stock")


class TestDue:
    """Reports due or late, tasks due, the notices of orders."""

    def test_a_late_report_is_counted_and_says_why(self, shop: Shop) -> None:
        shop.record()
        assert ([one.report for one in seen(shop).reports], seen(shop).late) == ([PURCHASE], 0)
        shop.wait(days=3)
        found = seen(shop)
        assert found.late == len([one for one in found.reports if utc(one.due) < utc(found.at)]) >= 2
        assert found.reports[0].lateness(found.at).endswith("by the time it was due")

    def test_tasks_of_the_owner_are_not_the_clerks(self, after: Shop) -> None:
        owners, clerks = seen(after).tasks, seen(after, "clerk", "ben").tasks
        assert {one.about for one in clerks} <= {one.about for one in owners}
        assert all(one.who != "owner" for one in clerks)


class TestOutside:
    """How long ago the newest seal left the shop on paper, and the last day's close."""

    def test_a_new_book_has_sent_nothing_out(self, shop: Shop) -> None:
        gone = seen(shop).outside
        assert (gone.on_paper, gone.closed) == (None, None)
        assert gone.entries_since == 6, "opened, the owner, the facts, three rule files"

    def test_a_stub_carries_the_seal_out_and_a_report_the_one_of_its_making(self, shop: Shop) -> None:
        shop.record()
        assert seen(shop).outside.entries_since == 0
        gone = seen(shop).outside.on_paper
        assert gone is not None
        assert local_text(gone).startswith("2026-11-24T09:15")
        paying.settle(shop.book, 1, "paid", at=shop.local())
        assert seen(shop).outside.entries_since == 1
        reporting.make(shop.book, PURCHASE, "letter", at=shop.local())
        assert seen(shop).outside.entries_since == 2, "it is made and lies here"
        reporting.sent(shop.book, PURCHASE, at=shop.local(), how="by hand")
        assert seen(shop).outside.entries_since == 1, "its own sending is not in the seal that it bears"

    def test_an_extract_carries_it_too(self, shop: Shop) -> None:
        shop.record()
        wanted = extracting.read_wanted({"recipient": "Court", "basis": "subpoena", "items": ["1/1"]})
        extracting.extract(shop.book, wanted, "letter", at=shop.local())
        assert seen(shop).outside.entries_since == 0

    def test_the_last_day_that_was_closed(self, shop: Shop) -> None:
        closing.close(shop.book, date(2026, 11, 23))
        closing.close(shop.book, date(2026, 11, 24))
        assert seen(shop).outside.closed == date(2026, 11, 24)


class TestWarnings:
    """What is to be mended and would be told nowhere else; for the owner only."""

    def test_a_shop_in_order_has_none(self, shop: Shop) -> None:
        shop.record()
        assert seen(shop).warnings == ()

    def test_a_book_without_rules(self, bare_shop: Shop) -> None:
        assert any("knows no law" in says for says in seen(bare_shop).warnings)
        assert seen(bare_shop, "clerk").warnings == ()

    def test_files_that_nobody_compared_with_the_law_of_today_or_soon_will_not_have(self, shop: Shop) -> None:
        shop.record()
        # The demonstration's files say that they were compared until 31 December 2028.
        shop.now = datetime(2028, 12, 16, 9, 0, tzinfo=ZONE)
        assert not any("before that day" in says for says in seen(shop).warnings)
        shop.now = datetime(2028, 12, 17, 9, 0, tzinfo=ZONE)
        assert sum("before that day" in says for says in seen(shop).warnings) == 3
        shop.now = datetime(2029, 1, 1, 9, 0, tzinfo=ZONE)
        assert sum("adopt it anew" in says for says in seen(shop).warnings) == 3

    def test_a_seal_that_stayed_in_the_house_and_days_that_nobody_closed(self, shop: Shop) -> None:
        assert any("left the shop ever" in says for says in seen(shop).warnings)
        shop.record()
        closing.close(shop.book, date(2026, 11, 24))
        shop.wait(days=8)
        says = " ".join(seen(shop).warnings)
        assert "left the shop since 2026-11-24" in says
        assert "No day was closed since 2026-11-24" in says

    def test_keys_that_an_owner_who_left_could_know(self, sqlite_shop: Shop) -> None:
        book = sqlite_shop.book
        path = book.folder / "keys.json"
        cost = keys_file.Cost(64, 1, 1)
        for staff, role in (("eve", "owner"), ("ben", "clerk")):
            keys_file.add_person(
                path,
                book.opened(),
                staff=staff,
                role="owner" if role == "owner" else "clerk",
                pass_phrase=f"a long pass-phrase of {staff}",
                chance=book.chance,
                cost=cost,
            )
        book.keys, _ = keys_file.remove_person(path, book.opened(), "eve", book.chance)
        assert any("reset their pass-phrases" in says for says in seen(sqlite_shop).warnings)

    def test_facts_as_the_form_has_them(self, bare_shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr("ledger.shop.facts.unfilled", lambda _facts: ["name"])
        assert any("stand as in the form" in says for says in seen(bare_shop).warnings)
