"""What became of the money: owed when the purchase was recorded, then paid, failed, reissued or recovered."""

from datetime import timedelta

import pytest
import sqlalchemy as sa

from ledger.acts import paying, undoing
from ledger.book import engine as engines
from ledger.book import reading, tables
from ledger.errors import ForbiddenByLaw, InputError
from tests import shops, slip_samples
from tests.check_book import check_book
from tests.law_samples import rule
from tests.shops import Shop
from tests.slip_samples import GONE

WAYS_TO = {"owed": [], "paid": ["paid"], "failed": ["paid", "failed"], "reissued": ["reissued"]} | {
    "recovered": ["recovered"]
}
MAY_FOLLOW = {
    "owed": {"paid", "reissued", "recovered"},
    "paid": {"failed", "recovered"},
    "failed": {"reissued", "recovered"},
    "reissued": {"paid", "recovered"},
    "recovered": set[str](),
}
"""Common practice, no published source: what is owed is paid; what was paid may come back; what came back is owed
again until it is made out anew; what was recovered is over."""


PLAIN = (("items", slip_samples.document()["items"][:1]), ("tray.articles", 1), ("payout.amount", "180.00"))
"""The sample with its ring alone."""


def state_of(shop: Shop) -> tuple[str, str]:
    """State and instrument of the only payout."""
    payout = tables.payouts.c
    with engines.reading(shop.book.engine) as connection:
        row = connection.execute(sa.select(payout.state, payout.instrument)).one()
    return str(row.state), str(row.instrument)


class TestStates:
    """Payouts: owed, paid, failed, reissued, recovered; each step an entry."""

    def test_what_may_not_follow_is_refused(self, bare_shop: Shop) -> None:
        for slip, (now, steps) in enumerate(WAYS_TO.items(), 1):
            bare_shop.record(*PLAIN)
            for step in steps:
                paying.settle(bare_shop.book, slip, step, at=bare_shop.local())
            for then in sorted({"paid", "failed", "reissued", "recovered"} - MAY_FOLLOW[now]):
                wanted = rf"payout: 'slip {slip}, {now}' was given; wanted is a payout that is "
                with pytest.raises(InputError, match=wanted):
                    paying.settle(bare_shop.book, slip, then, at=bare_shop.local())
        check_book(bare_shop)

    def test_each_lawful_step_is_taken(self, bare_shop: Shop) -> None:
        for now, then in [(one, other) for one in WAYS_TO for other in sorted(MAY_FOLLOW[one])]:
            slip = bare_shop.record(*PLAIN).slip
            for step in (*WAYS_TO[now], then):
                entry = paying.settle(bare_shop.book, slip, step, at=bare_shop.local())
            assert entry.public == {"slip": slip, "state": then, "payout": 1}
        check_book(bare_shop)

    def test_a_word_that_is_no_state_is_named(self, bare_shop: Shop) -> None:
        bare_shop.record()
        with pytest.raises(InputError, match="payout: 'owed' was given; wanted is one of paid, failed, reissued"):
            paying.settle(bare_shop.book, 1, "owed", at=bare_shop.local())

    def test_a_slip_without_payout_has_none_to_settle(self, bare_shop: Shop) -> None:
        bare_shop.record(("items.0.offer.answer", "declined"), ("items.2.offer.answer", "declined"), ("payout", GONE))
        with pytest.raises(InputError, match="payout: 'slip 1' was given; wanted is a slip with a payout"):
            paying.settle(bare_shop.book, 1, "paid", at=bare_shop.local())
        with pytest.raises(InputError, match="slip: 9 was given"):
            paying.settle(bare_shop.book, 9, "paid", at=bare_shop.local())

    def test_no_money_goes_out_for_a_slip_that_is_not_bought(self, bare_shop: Shop) -> None:
        bare_shop.record()
        paying.settle(bare_shop.book, 1, "paid", at=bare_shop.local())
        undoing.void(bare_shop.book, 1, "a change of mind", at=bare_shop.local())
        assert state_of(bare_shop)[0] == "recovered"

    def test_a_payment_is_not_dated_ahead(self, bare_shop: Shop) -> None:
        bare_shop.record()
        with pytest.raises(InputError, match=r"^at: .* a moment not after the machine's clock"):
            paying.settle(bare_shop.book, 1, "paid", at=bare_shop.local() + timedelta(days=1))


class TestPayment:
    """Cash ceilings by instrument hold when the money goes out, not only when it is promised."""

    def test_a_bounced_cheque_is_paid_by_transfer_and_each_step_keeps_its_own_words(self, shop: Shop) -> None:
        shop.record()
        assert state_of(shop) == ("owed", "cheque")
        paying.settle(shop.book, 1, "paid", at=shop.local(), reference="cheque 1207")
        paying.settle(shop.book, 1, "failed", at=shop.local())
        paying.settle(shop.book, 1, "reissued", at=shop.local(), instrument="transfer")
        last = paying.settle(shop.book, 1, "paid", at=shop.local(), reference="transfer 88-1")
        assert state_of(shop) == ("paid", "transfer")
        with engines.reading(shop.book.engine) as connection:
            opened = [
                reading.open_entry(connection, shop.book, seq)
                for seq in reading.seqs_about(connection, shop.book.origin, "slip/1")
            ]
        steps = [one for one in opened if one.entry.kind == "payout/0"]
        assert [one.get("payout/reference") for one in steps] == ["cheque 1207", None, None, "transfer 88-1"]
        assert {one.get("payout/amount")["minor"] for one in steps} == {21_850}
        assert steps[-1].entry == last
        check_book(shop)

    def test_an_instrument_that_the_law_does_not_allow_is_refused(self, sqlite_shop: Shop) -> None:
        # Tamsett County Ordinance 12-4(a) (invented): cash, cheque or transfer.
        sqlite_shop.record()
        with pytest.raises(ForbiddenByLaw, match="Payment by card is not allowed; allowed is cash, cheque, transfer"):
            paying.settle(sqlite_shop.book, 1, "paid", at=sqlite_shop.local(), instrument="card")

    def test_more_than_the_ceiling_is_not_paid_in_cash_though_a_cheque_was_agreed(self, sqlite_shop: Shop) -> None:
        # Tamsett County Ordinance 12-4(b) (invented): at most 500.00 USD of one purchase in cash.
        sqlite_shop.record(("items.0.offer.amount", "461.51"), ("payout.amount", "500.01"))
        with pytest.raises(ForbiddenByLaw, match=r"at most USD 500\.00 .* by cash, and USD 500\.01") as refusal:
            paying.settle(sqlite_shop.book, 1, "paid", at=sqlite_shop.local(), instrument="cash")
        assert refusal.value.exit_code == 7
        paying.settle(sqlite_shop.book, 1, "paid", at=sqlite_shop.local())
        sqlite_shop.record(("items.0.offer.amount", "461.50"), ("payout.amount", "500.00"))
        paying.settle(sqlite_shop.book, 2, "paid", at=sqlite_shop.local(), instrument="cash")
        check_book(sqlite_shop)

    def test_payment_that_must_wait_waits_and_no_date_gets_round_it(self, bare_shop: Shop) -> None:
        # Invented: paid on the third day after a purchase of 24 November, whatever the clerk says about the day.
        waits = 'instruments = ["cheque"]\nnot_before = { length = 2, unit = "days" }'
        shops.adopt(bare_shop, rule("pay", "wait-two-days", waits + '\neffect = "notes"'))
        bare_shop.record()
        with pytest.raises(ForbiddenByLaw, match=r"Payment may be made from 2026-11-27T00:00:00-06:00"):
            paying.settle(bare_shop.book, 1, "paid", at=bare_shop.local())
        bare_shop.wait(days=3)
        paying.settle(bare_shop.book, 1, "paid", at=bare_shop.local())
        check_book(bare_shop)
