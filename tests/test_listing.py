"""The papers about many slips, read as text: the day sheet and the list of what may not leave yet."""

from datetime import date, datetime

import pytest

from ledger.acts import holding, leaving, listing, reporting, undoing
from ledger.book import engine as engines
from ledger.errors import LockedError
from tests import shops, slip_samples
from tests.law_samples import rule
from tests.paper_tools import text_of
from tests.shops import ZONE, Shop

TODAY = date(2026, 11, 24)


def day_sheet(shop: Shop, day: date = TODAY, sheet: str = "letter") -> str:
    with engines.reading(shop.book.engine) as connection:
        return text_of(listing.day_sheet_paper(connection, shop.book, day, sheet, at=shop.local()))


def hold_list(shop: Shop, at: datetime | None = None) -> str:
    with engines.reading(shop.book.engine) as connection:
        return text_of(listing.hold_list_paper(connection, shop.book, "letter", at=at or shop.local()))


class TestDaySheet:
    """Every item of a local day's slips, in order of entry, with counts."""

    def test_every_item_with_its_entry_weight_fineness_and_amount(self, shop: Shop) -> None:
        shop.record()
        shop.wait(hours=1)
        shop.record()
        undoing.void(shop.book, 2, "a change of mind", at=shop.local())
        presented, _ = shop.present()
        undoing.withdraw(shop.book, presented.slip, "a change of mind")
        said = day_sheet(shop)
        for words in (
            "Day sheet, Tuesday 24 November 2026",
            "7 1/1 09:15 ring, yellow metal, plain band",
            "4.20 g 574.0-593.0 USD 180.00",
            "6.298 g not shown USD 12.00",  # 4.05 dwt of 1.555 173 84 g (NIST Handbook 44, Appendix C)
            "(returned to",
            "(withdrawn)",
            "9 2/1 10:15",
            "Slips recorded 1",
            "Slips voided 1",
            "Slips withdrawn 1",
        ):
            assert words in said
        assert said.find(" 1/1 ") < said.find(" 1/3 ") < said.find(" 2/1 ") < said.find(" 3/1 ")

    def test_the_day_is_the_shops_own(self, sqlite_shop: Shop) -> None:
        sqlite_shop.now = datetime(2026, 11, 24, 23, 59, tzinfo=ZONE).astimezone(sqlite_shop.now.tzinfo)
        sqlite_shop.record()
        sqlite_shop.wait(minutes=5)
        sqlite_shop.record()
        assert [" 1/1 " in day_sheet(sqlite_shop, day) for day in (TODAY, date(2026, 11, 25))] == [True, False]

    def test_what_nobody_weighed_or_offered_for_has_no_figure(self, bare_shop: Shop) -> None:
        net = {"value": "4.20", "unit": "g", "what": "net", "paid_on": True}
        ring = {**slip_samples.document()["items"][0], "weighings": [net], "evidence": []}
        del ring["offer"], ring["conclusion"]
        bare_shop.present(("items.1", ring))
        said = day_sheet(bare_shop)
        assert "marked 14K not shown (no offer)" in said
        assert "Slips presented 1" in said

    def test_a_day_on_which_nothing_happened_has_a_sheet_too(self, sqlite_shop: Shop) -> None:
        assert "Sunday 22 November 2026" in day_sheet(sqlite_shop, date(2026, 11, 22), "a4")

    def test_it_names_no_seller(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        assert not [word for word in ("Averill", "A417", "Quarry", "0142") if word in day_sheet(sqlite_shop)]


class TestHoldList:
    """Every item in stock: what holds it, or that it may leave."""

    def test_each_item_with_sections_moments_and_what_it_waits_for(self, shop: Shop) -> None:
        shop.record()
        held, _, free = hold_list(shop).partition("No hold any more, still in the shop")
        assert "Items held 2" in held
        for words in ("1/1 ", "1/3 ", "Norrowa Precious Goods", "no date yet: waiting"):
            assert words in held
        assert "None." in free
        assert "Averill" not in held + free

    def test_what_is_free_stands_apart_and_what_left_not_at_all(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        reporting.make(sqlite_shop.book, "purchase-1.county-sheriff", "letter", at=sqlite_shop.local())
        reporting.received(sqlite_shop.book, "purchase-1.county-sheriff", at=sqlite_shop.local(), who="the desk")
        leaving.out(sqlite_shop.book, 1, 3, "stolen-or-lost", at=sqlite_shop.local())
        said = hold_list(sqlite_shop, datetime(2026, 12, 6, tzinfo=ZONE))
        # State and county let go on 5 and 2 December; only the town's fifteen days still run (all invented).
        assert "Pellwick Town Code 7-6" in said
        assert "Norrowa Precious Goods Act" not in said
        held, _, free = hold_list(sqlite_shop, datetime(2026, 12, 10, tzinfo=ZONE)).partition("No hold any more")
        assert ("Items held 0" in held, "1/1 " in free, "1/3 " in free) == (True, True, False)

    def test_both_readings_stand_there_where_they_differ(self, bare_shop: Shop) -> None:
        arguable = (
            'length = 4\nunit = "days"\nforbids = ["sell"]\n'
            'readings = [{ reason = "Counted from one.", basis = "invented", length = 9, unit = "days" }]'
        )
        shops.adopt(bare_shop, rule("hold", "arguable", arguable))
        bare_shop.record()
        said = hold_list(bare_shop)
        assert "29 Nov 2026 00:00" in said
        assert "cautious reading: 4 Dec 2026 00:00" in " ".join(said.split())

    def test_goods_that_no_rule_holds_are_free(self, bare_shop: Shop) -> None:
        bare_shop.record()
        held, _, free = hold_list(bare_shop).partition("No hold any more")
        assert ("Items held 0" in held, free.count("no hold")) == (True, 2)

    def test_a_locked_book_has_no_list_since_orders_lie_in_the_vault(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        order = holding.OrderAsked(((1, 1),), "A", "B", "", "power", sqlite_shop.local(), None, "spoken")
        holding.order(sqlite_shop.book, order)
        sqlite_shop.book.keys = None
        sqlite_shop.book._data_keys.clear()
        with pytest.raises(LockedError):
            hold_list(sqlite_shop)
