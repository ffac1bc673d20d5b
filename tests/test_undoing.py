"""A slip that comes to nothing: refused, withdrawn before recording, or voided after it."""

from datetime import timedelta
from typing import Any

import pytest
import sqlalchemy as sa

from ledger.acts import leaving, paying, reporting, undoing
from ledger.book import engine as engines
from ledger.book import reading, tables
from ledger.errors import ForbiddenByLaw, InputError
from tests import shops
from tests.check_book import check_book
from tests.law_samples import rule
from tests.shops import Shop
from tests.slip_samples import GONE

SIXTEEN = ("parties.0.birth_date", "2010-03-01")
"""The age that the sample's seller then has on 24 November 2026."""


def refused(shop: Shop, *changes: tuple[str, Any]) -> tuple[reading.Opened, list[str]]:
    """A refusal of the changed sample, opened, and the names of its parts in order."""
    entry, _ = undoing.refuse(shop.book, shop.slip(*changes), "under age")
    with engines.reading(shop.book.engine) as connection:
        opened = reading.open_entry(connection, shop.book, entry.seq)
    return opened, sorted(name for name, _ in opened.parts)


class TestRefusing:
    """A refusal is recorded only as far as the rule file allows, with no more data than it allows."""

    def test_a_seller_too_young_leaves_a_reason_and_a_count(self, shop: Shop) -> None:
        # Norrowa Precious Goods Act s. 7(1) (invented): may_record = ["reason", "count"].
        opened, names = refused(shop, SIXTEEN)
        assert names == ["reason"]
        assert opened.get("reason") == {"because": "under age", "articles": 3}
        assert opened.entry.occurred_at is None, "the day may not be kept"
        assert opened.entry.about[0].startswith("draft/")
        check_book(shop)

    def test_where_no_rule_refuses_the_shop_keeps_day_reason_and_count(self, sqlite_shop: Shop) -> None:
        slip = sqlite_shop.slip()
        opened, names = refused(sqlite_shop)
        assert names == ["reason"]
        assert opened.get("reason") == {"because": "under age", "at": slip.occurred_text, "articles": 3}
        assert opened.entry.occurred_at == slip.occurred_text
        check_book(sqlite_shop)

    def test_no_refusal_is_dated_ahead(self, sqlite_shop: Shop) -> None:
        slip = sqlite_shop.slip(("occurred_at", "2026-11-25T09:00:00-06:00[America/Chicago]"))
        with pytest.raises(InputError, match="not after the machine's clock"):
            undoing.refuse(sqlite_shop.book, slip, "no")

    @pytest.mark.parametrize(
        ("allowed", "kept"),
        [
            (["items"], ["item"]),
            (["seller"], ["seller"]),
            (["document"], ["seller/document"]),
            (["seller", "document", "items", "pictures"], ["item", "seller", "seller/document"]),
        ],
    )
    def test_no_more_is_kept_than_the_rule_lets(self, bare_shop: Shop, allowed: list[str], kept: list[str]) -> None:
        words = ", ".join(f'"{word}"' for word in allowed)
        when = f'when = [{{ fact = "seller.age", below = 18 }}]\nmay_record = [{words}]'
        shops.adopt(bare_shop, rule("refuse", "too-young", when))
        _, names = refused(bare_shop, SIXTEEN)
        found = {"seller/document" if "/document/" in name else name.partition("/")[0] for name in names}
        assert sorted(found - {"reason"}) == kept
        assert not [name for name in names if "picture" in name or "photo" in name or "scan" in name]
        check_book(bare_shop)

    def test_rules_that_together_allow_nothing_leave_an_entry_that_says_nothing(self, bare_shop: Shop) -> None:
        when = 'when = [{{ fact = "seller.age", below = 18 }}]\nmay_record = ["{}"]'
        shops.adopt(bare_shop, *(rule("refuse", word, when.format(word)) for word in ("reason", "count")))
        opened, names = refused(bare_shop, SIXTEEN)
        assert (names, opened.entry.occurred_at) == ([], None)
        check_book(bare_shop)

    def test_no_picture_is_read_for_a_refusal(self, sqlite_shop: Shop) -> None:
        refused(sqlite_shop, SIXTEEN)
        assert sqlite_shop.read == {}
        assert list((sqlite_shop.book.folder / "pictures").iterdir()) == []


class TestWithdrawing:
    """Every number is presented, then recorded, withdrawn or voided."""

    def test_a_withdrawn_slip_keeps_its_number_its_reason_lies_in_the_vault(self, shop: Shop) -> None:
        presented, _ = shop.present()
        entry = undoing.withdraw(shop.book, presented.slip, "she kept her ring")
        assert (entry.kind, entry.public, len(entry.parts)) == ("withdrawn/0", {"slip": 1}, 1)
        with engines.reading(shop.book.engine) as connection:
            told = reading.open_entry(connection, shop.book, entry.seq).get("reason")
            assert reading.slip_row(connection, shop.book.origin, 1).state == "withdrawn"
            assert reading.item_row(connection, shop.book.origin, 1, 1).state == "withdrawn"
        assert told == {"because": "she kept her ring"}
        check_book(shop)

    @pytest.mark.parametrize("state", ["recorded", "withdrawn"])
    def test_only_an_open_slip_is_withdrawn(self, sqlite_shop: Shop, state: str) -> None:
        if state == "recorded":
            sqlite_shop.record()
        else:
            undoing.withdraw(sqlite_shop.book, sqlite_shop.present()[0].slip, "once")
        with pytest.raises(InputError, match=rf"slip: 'slip 1, {state}' was given; wanted is a slip that is presented"):
            undoing.withdraw(sqlite_shop.book, 1, "twice")


class TestVoiding:
    """A void is a lawful return: the hold rules decide, money back, report to be corrected."""

    def test_the_goods_go_back_though_a_hold_runs_since_the_law_lets_the_seller_have_them(self, shop: Shop) -> None:
        # Norrowa Precious Goods Act s. 9 (invented) forbids "return" for ten days and allows it to the original seller.
        shop.record()
        entry = undoing.void(shop.book, 1, "the seller's wife owns the ring", at=shop.local())
        assert entry.public == {"slip": 1}
        with engines.reading(shop.book.engine) as connection:
            assert reading.slip_row(connection, shop.book.origin, 1).state == "voided"
            states = [reading.item_row(connection, shop.book.origin, 1, line).state for line in (1, 2, 3)]
            payout = connection.execute(sa.select(tables.payouts.c.state)).scalars().all()
            opened = reading.open_entry(connection, shop.book, entry.seq)
        assert states == ["returned to seller", "declined", "returned to seller"]
        assert payout == ["recovered"]
        assert opened.get("reason")["because"] == "the seller's wife owns the ring"
        check_book(shop)

    def test_a_hold_that_knows_no_exception_forbids_it(self, bare_shop: Shop) -> None:
        shops.adopt(bare_shop, rule("hold", "nothing-back", 'length = 5\nunit = "days"\nforbids = ["return"]'))
        bare_shop.record()
        entries = check_book(bare_shop).entries
        with pytest.raises(ForbiddenByLaw, match="nothing-back") as refusal:
            undoing.void(bare_shop.book, 1, "a change of mind", at=bare_shop.local())
        assert refusal.value.exit_code == 7
        check_book(bare_shop, entries=entries)
        bare_shop.wait(days=6)
        undoing.void(bare_shop.book, 1, "a change of mind", at=bare_shop.local())
        check_book(bare_shop)

    def test_a_report_that_left_is_to_be_corrected_and_one_that_did_not_is_made_anew(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        reporting.make(sqlite_shop.book, "purchase-1.county-sheriff", "letter", at=sqlite_shop.local())
        reporting.sent(sqlite_shop.book, "purchase-1.county-sheriff", at=sqlite_shop.local(), how="by hand")
        reporting.received(sqlite_shop.book, "purchase-1.county-sheriff", at=sqlite_shop.local(), who="the desk")
        sqlite_shop.wait(days=1)
        reporting.make(sqlite_shop.book, "day-2026-11-24.county-sheriff", "letter", at=sqlite_shop.local())
        undoing.void(sqlite_shop.book, 1, "a change of mind", at=sqlite_shop.local())
        states = {one.report: one.state for one in reporting.owed(sqlite_shop.book, at=sqlite_shop.local())}
        assert states == {"purchase-1.county-sheriff": "to correct", "day-2026-11-24.county-sheriff": "due"}
        check_book(sqlite_shop)

    def test_what_left_already_cannot_be_undone(self, bare_shop: Shop) -> None:
        bare_shop.record()
        leaving.out(bare_shop.book, 1, 3, "sold", at=bare_shop.local())
        with pytest.raises(InputError, match=r"item 1/3 is sold' was given; wanted is all its goods in stock"):
            undoing.void(bare_shop.book, 1, "a change of mind", at=bare_shop.local())

    def test_a_void_is_not_dated_ahead_nor_made_twice(self, bare_shop: Shop) -> None:
        bare_shop.record()
        with pytest.raises(InputError, match=r"^at: .* a moment not after the machine's clock"):
            undoing.void(bare_shop.book, 1, "soon", at=bare_shop.local() + timedelta(hours=1))
        undoing.void(bare_shop.book, 1, "now", at=bare_shop.local())
        with pytest.raises(InputError, match="'slip 1, voided' was given; wanted is a slip that is recorded"):
            undoing.void(bare_shop.book, 1, "again", at=bare_shop.local())

    def test_whatever_became_of_the_money_the_shop_owes_none_any_more(self, bare_shop: Shop) -> None:
        bare_shop.record()
        paying.settle(bare_shop.book, 1, "paid", at=bare_shop.local())
        paying.settle(bare_shop.book, 1, "failed", at=bare_shop.local())
        undoing.void(bare_shop.book, 1, "the cheque bounced", at=bare_shop.local())
        with pytest.raises(InputError, match="payout: "):
            paying.settle(bare_shop.book, 1, "reissued", at=bare_shop.local())
        with engines.reading(bare_shop.book.engine) as connection:
            assert connection.execute(sa.select(tables.payouts.c.state)).scalars().all() == ["recovered"]
        check_book(bare_shop)

    def test_money_that_came_back_before_is_not_recovered_twice(self, bare_shop: Shop) -> None:
        bare_shop.record()
        paying.settle(bare_shop.book, 1, "recovered", at=bare_shop.local())
        before = check_book(bare_shop).entries
        undoing.void(bare_shop.book, 1, "the goods follow", at=bare_shop.local())
        check_book(bare_shop, entries=before + 1)

    def test_a_slip_without_payout_is_undone_too(self, bare_shop: Shop) -> None:
        declined = [("items.0.offer.answer", "declined"), ("items.2.offer.answer", "declined")]
        bare_shop.record(*declined, ("payout", GONE))
        before = check_book(bare_shop).entries
        undoing.void(bare_shop.book, 1, "entered by mistake", at=bare_shop.local())
        check_book(bare_shop, entries=before + 1)
