"""What became of the money: owed when the purchase was recorded, then paid, failed, reissued or recovered."""

from datetime import datetime
from typing import Any

import sqlalchemy as sa

from ledger.acts import gathering
from ledger.book import reading, tables
from ledger.book.pages import Book, Page
from ledger.chain.entries import Entry
from ledger.errors import ForbiddenByLaw, InputError
from ledger.measures import Money

# state -> states it may follow
_FOLLOWS = {
    "paid": ("owed", "reissued"),
    "failed": ("paid",),
    "reissued": ("failed", "owed"),
    "recovered": ("paid", "failed", "owed", "reissued"),
}


def settle(
    book: Book, slip: int, state: str, *, at: datetime, instrument: str | None = None, reference: str | None = None
) -> Entry:
    """The entry that a payout reached a new state.

    at: when; not ahead. instrument: where another than agreed was used (a transfer in place of a cheque that bounced).
    Raises: InputError when the state cannot follow; ForbiddenByLaw when the rule files allow no such instrument or
    no payment yet.
    """
    if state not in _FOLLOWS:
        raise InputError(field="payout", given=state, wanted="one of " + ", ".join(_FOLLOWS))
    with book.writing() as page:
        settled_at = page.must_have_happened(at)
        draft = reading.subject_of_slip(page.connection, book.origin, slip)
        row = _newest(page, slip)
        if row.state not in _FOLLOWS[state]:
            wanted = f"a payout that is {' or '.join(_FOLLOWS[state])}"
            raise InputError(field="payout", given=f"slip {slip}, {row.state}", wanted=wanted)
        used = instrument or row.instrument
        amount = Money(row.currency, row.minor)
        if state in ("paid", "reissued"):
            _must_be_allowed(page, slip, used, amount, at)
        held = [
            book.hold("payout/method", {"instrument": used, "at": settled_at}, draft),
            book.hold("payout/amount", amount.record(), draft),
        ]
        if reference:
            held.append(book.hold("payout/reference", reference, draft))
        return page.append(
            "payout/0",
            about=[f"slip/{slip}"],
            public={"slip": slip, "state": state, "payout": int(row.payout)},
            held=held,
            occurred_at=settled_at,
        )


def _newest(page: Page, slip: int) -> Any:
    payout = tables.payouts.c
    row = page.connection.execute(
        sa.select(payout.payout, payout.state, payout.instrument, payout.currency, payout.minor)
        .where(payout.book == page.book.origin, payout.slip == slip)
        .order_by(payout.seq.desc())
        .limit(1)
    ).first()
    if row is None:
        raise InputError(field="payout", given=f"slip {slip}", wanted="a slip with a payout")
    return row


def _must_be_allowed(page: Page, slip: int, instrument: str, amount: Money, at: datetime) -> None:
    """Hold the payment against what the rule files said about payment when the slip was recorded."""
    reason = gathering.whole(page.connection, page.book, slip).duties.pay.allows(instrument, amount, at)
    if reason is not None:
        raise ForbiddenByLaw(what=f"Slip {slip} cannot be paid like that", sentences=(reason,))
