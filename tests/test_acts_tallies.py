"""Earlier slips for a rule file's totals and counts: of the same seller, within a window, made from the book."""

from typing import Any

import pytest

from ledger.acts import gathering, paying, recording, tallying, undoing
from ledger.book import engine as engines
from ledger.errors import ForbiddenByLaw, StillUndecided
from ledger.shop import adopted
from tests import shops, slip_samples
from tests.check_book import check_book
from tests.law_samples import rule
from tests.shops import Shop

PLAIN: tuple[tuple[str, Any], ...] = (
    ("items", slip_samples.document()["items"][:1]),
    ("tray.articles", 1),
    ("payout.amount", "180.00"),
)
CASH = (*PLAIN, ("payout.instrument", "cash"))
# The shape of a cash ceiling against splitting: at most 500 in cash to one seller in a day.
CEILING = rule(
    "pay",
    "cash",
    'ceilings = [{ instrument = "cash", amount = "500.00", window = { length = 1, unit = "days" }, by = "seller" }]',
)
TALLY = (
    '\n[[tally]]\nid = "visits"\nof = "slips"\nby = "seller"\nwindow = { length = 30, unit = "days" }\n',
    rule("refuse", "too-often", 'when = [{ fact = "tally.visits", above = 2 }]\nmay_record = ["date"]'),
)
OTHER = (
    ("parties.0.name", {"family": "Varnham", "given": "Ada"}),
    ("parties.0.birth_date", "1970-01-01"),
    ("parties.0.documents.0.number", "Z 99-1"),
)


def past(shop: Shop, *changes: tuple[str, Any]) -> tallying.Past | None:
    slip = shop.slip(*PLAIN, *changes)
    with engines.reading(shop.book.engine) as connection:
        files = adopted.in_force(connection, shop.book.origin)
        return tallying.past(connection, shop.book, slip, files)


class TestCeilings:
    """A ceiling over a window stops what is split over several visits."""

    def test_the_third_visit_of_a_day_goes_over_the_ceiling(self, shop: Shop) -> None:
        shops.adopt(shop, CEILING, jurisdiction='"xx-other"', layer='"city"')
        shop.record(*CASH)
        shop.record(*CASH)
        with pytest.raises(ForbiddenByLaw, match="500"):
            shop.record(*CASH)
        shop.record(*PLAIN)  # by cheque
        shop.record(*CASH, *OTHER)  # to somebody else
        shop.wait(days=1)
        shop.record(*CASH)
        check_book(shop)

    def test_a_part_in_cash_counts_as_far_as_it_is_cash(self, bare_shop: Shop) -> None:
        shops.adopt(bare_shop, CEILING)
        bare_shop.record(*PLAIN, ("payout.cash_part", "100.00"))
        found = past(bare_shop)
        assert found is not None
        assert [one["cash"]["minor"] for one in found] == [10_000]
        paying.settle(bare_shop.book, 1, "paid", at=bare_shop.local())
        paying.settle(bare_shop.book, 1, "failed", at=bare_shop.local())
        paying.settle(bare_shop.book, 1, "reissued", at=bare_shop.local(), instrument="cash")
        found = past(bare_shop)
        assert found is not None
        assert [one["cash"]["minor"] for one in found] == [18_000]

    def test_what_was_undone_does_not_count(self, bare_shop: Shop) -> None:
        shops.adopt(bare_shop, CEILING)
        bare_shop.record(*CASH)
        undoing.void(bare_shop.book, 1, "a change of mind", at=bare_shop.local())
        assert past(bare_shop) == []


class TestTallies:
    """Slips are gathered only where a governing file counts over them, and only those of the window."""

    def test_without_a_tally_nothing_is_gathered(self, bare_shop: Shop) -> None:
        shops.adopt(bare_shop, rule("hold", "h", 'length = 1\nunit = "days"\nforbids = ["sell"]'))
        bare_shop.record(*PLAIN)
        assert past(bare_shop) is None

    def test_visits_of_one_seller_are_counted_by_document_or_by_name_and_birth(self, bare_shop: Shop) -> None:
        shops.adopt(bare_shop, *TALLY)
        bare_shop.record(*PLAIN)
        bare_shop.record(*PLAIN, ("parties.0.documents.0.number", "another 1"))  # the same person, a new document
        with pytest.raises(ForbiddenByLaw):
            bare_shop.record(*PLAIN)
        bare_shop.record(*PLAIN, *OTHER)
        bare_shop.wait(days=31)
        bare_shop.record(*PLAIN)
        check_book(bare_shop)

    def test_the_same_number_of_another_issuer_is_another_document(self, bare_shop: Shop) -> None:
        shops.adopt(bare_shop, *TALLY)
        bare_shop.record(*PLAIN)
        name = (("parties.0.name", {"family": "Varnham"}), ("parties.0.birth_date", "1970-01-01"))
        assert past(bare_shop, *name, ("parties.0.documents.0.issuer", "Elsewhere")) == []
        found = past(bare_shop, *name)
        assert found is not None
        assert [(one["same_seller"], one["items"], one["articles"]) for one in found] == [(True, 1, 1)]

    def test_what_the_shop_buys_in_all_is_counted_without_the_keys_too(self, bare_shop: Shop) -> None:
        by_shop = TALLY[0].replace('by = "seller"', 'by = "shop"').replace('"visits"', '"bought"')
        shops.adopt(bare_shop, *TALLY, by_shop)
        bare_shop.record(*PLAIN, *OTHER)
        bare_shop.record(*PLAIN)
        found = past(bare_shop)
        assert found is not None
        assert [one["same_seller"] for one in found] == [False, True]
        bare_shop.book.keys = None
        locked = past(bare_shop)
        assert locked is not None
        assert [set(one) & {"same_seller", "items"} for one in locked] == [{"items"}, {"items"}]
        examined = recording.check(bare_shop.book, bare_shop.slip(*PLAIN))
        assert [duty.rule for duty in examined.duties.undecided()] == ["too-often"]

    def test_a_slip_that_bought_nothing_has_no_money_and_an_empty_book_no_slips(self, bare_shop: Shop) -> None:
        by_shop = TALLY[0].replace('by = "seller"', 'by = "shop"')
        shops.adopt(bare_shop, by_shop, rule("hold", "h", 'length = 1\nunit = "days"\nforbids = ["sell"]'))
        assert past(bare_shop) == []
        bare_shop.record(*PLAIN, ("items.0.offer.answer", "declined"), ("payout", slip_samples.GONE))
        bare_shop.record(*PLAIN, *OTHER)
        found = past(bare_shop)
        assert found is not None
        assert [(one["items"], "total" in one) for one in found] == [(0, False), (1, True)]

    def test_a_paper_drawn_later_counts_what_was_counted_then(self, bare_shop: Shop) -> None:
        shops.adopt(bare_shop, *TALLY)
        bare_shop.record(*PLAIN)
        bare_shop.record(*PLAIN)
        with engines.reading(bare_shop.book.engine) as connection:
            whole = gathering.whole(connection, bare_shop.book, 1)
            again = gathering.whole(connection, bare_shop.book, 2)
        assert whole.parts["duties"]["past"] == []
        assert len(again.parts["duties"]["past"]) == 1
        assert again.duties.undecided() == whole.duties.undecided() == ()

    def test_a_locked_book_leaves_what_counts_over_sellers_undecided(self, bare_shop: Shop) -> None:
        shops.adopt(bare_shop, *TALLY)
        bare_shop.record(*PLAIN)
        bare_shop.book.keys = None
        with pytest.raises(StillUndecided, match="too-often"):
            recording.ready(bare_shop.book, bare_shop.slip(*PLAIN), answers={}, what="It cannot be recorded")
