"""Closes a shop's day and seals the book."""

from datetime import UTC, date, datetime

import pytest

from ledger.acts import closing, leaving, undoing
from ledger.book import engine as engines
from ledger.book import reading, verifying
from ledger.chain import seals
from ledger.errors import InputError, LockedError
from tests.check_book import check_book
from tests.shops import Shop
from tests.slip_samples import GONE

TODAY = date(2026, 11, 24)
NONE_TAKEN = (("items.0.offer.answer", "declined"), ("items.2.offer.answer", "declined"), ("payout", GONE))


def money(shop: Shop, seq: int) -> list[list[dict[str, object]]]:
    """The totals that a close holds, in the order of its parts."""
    with engines.reading(shop.book.engine) as connection:
        opened = reading.open_entry(connection, shop.book, seq)
    return [value for name, value in opened.parts if name == "counts/money"]


class TestClosing:
    """day close: counts, and with the keys the money and a seal."""

    def test_a_day_is_counted_and_sealed(self, shop: Shop) -> None:
        shop.record()
        shop.record()
        presented, _ = shop.present()
        undoing.withdraw(shop.book, presented.slip, "a change of mind")
        undoing.void(shop.book, 2, "a change of mind", at=shop.local())
        leaving.out(shop.book, 1, 1, "stolen-or-lost", at=shop.local())
        closed = closing.close(shop.book, TODAY)
        assert closed.entry.public == {"day": "2026-11-24", "counts": closed.counts}
        assert closed.counts == {
            "slips_recorded": 1,
            "slips_voided": 1,
            "slips_withdrawn": 1,
            "items_bought": 4,
            "reports_not_sent": 0,  # none is due before tomorrow
        }
        # 180.00 + 38.50 of the slip that stands; the undone one counts no money.
        assert money(shop, closed.entry.seq) == [[{"currency": "USD", "minor": 21_850}]]
        assert closed.seal is not None
        sealed = seals.read_seal(closed.seal)
        assert (sealed.size, closing.short(closed.seal)) == (
            closed.entry.seq + 1,
            seals.short_form(sealed.size, sealed.root),
        )
        check_book(shop)

    def test_a_day_is_closed_once_and_not_before_it_begins(self, sqlite_shop: Shop) -> None:
        done = closing.close(sqlite_shop.book, TODAY)
        with pytest.raises(InputError, match=rf"a day not closed yet; entry {done.entry.seq} closed it"):
            closing.close(sqlite_shop.book, TODAY)
        with pytest.raises(InputError, match="day: '2026-11-25' was given; wanted is a day that has begun; today is"):
            closing.close(sqlite_shop.book, date(2026, 11, 25))
        sqlite_shop.now = datetime(2026, 11, 25, 6, 30, tzinfo=UTC)  # half past midnight in Chicago
        closing.close(sqlite_shop.book, date(2026, 11, 25))
        check_book(sqlite_shop)

    def test_a_day_on_which_every_offer_was_declined_has_no_money(self, bare_shop: Shop) -> None:
        bare_shop.record(*NONE_TAKEN)
        closed = closing.close(bare_shop.book, TODAY)
        assert (closed.counts["slips_recorded"], closed.counts["items_bought"]) == (1, 0)
        assert money(bare_shop, closed.entry.seq) == [[]]

    def test_without_the_keys_it_holds_counts_only_and_the_next_close_adds_the_rest(self, shop: Shop) -> None:
        shop.record()
        keys, shop.book.keys = shop.book.keys, None
        shop.book.by = "program"
        closed = closing.close(shop.book, TODAY)
        assert (closed.seal, closed.entry.parts, closed.entry.by) == (None, (), "program")
        assert closed.counts["slips_recorded"] == 1
        assert verifying.audit(shop.book, levels=["chain", "forms"]).faults == []
        shop.wait(days=1)
        closing.close(shop.book, date(2026, 11, 25))
        shop.wait(days=1)
        shop.book.keys = keys
        shop.record(("items.0.offer.amount", "20.00"), ("payout.amount", "58.50"))
        rest = closing.close(shop.book, date(2026, 11, 26))
        usd = {"currency": "USD"}
        assert money(shop, rest.entry.seq) == [[{**usd, "minor": 21_850}], [], [{**usd, "minor": 5_850}]]
        shop.wait(days=1)
        assert money(shop, closing.close(shop.book, date(2026, 11, 27)).entry.seq) == [[]], "nothing is counted twice"
        check_book(shop)


class TestSealing:
    """A seal is made whenever something leaves the shop; it needs the signing key."""

    def test_a_seal_over_the_same_size_is_made_once(self, sqlite_shop: Shop) -> None:
        first = closing.seal(sqlite_shop.book)
        assert closing.seal(sqlite_shop.book) == first
        sqlite_shop.record()
        assert closing.seal(sqlite_shop.book) != first
        assert verifying.audit(sqlite_shop.book, against=first).faults == []

    def test_a_locked_book_makes_none(self, sqlite_shop: Shop) -> None:
        closing.close(sqlite_shop.book, TODAY)
        sqlite_shop.book.keys = None
        closing.seal(sqlite_shop.book)  # the one that stands is given out
        sqlite_shop.wait(days=1)
        closing.close(sqlite_shop.book, date(2026, 11, 25))
        with pytest.raises(LockedError):
            closing.seal(sqlite_shop.book)
