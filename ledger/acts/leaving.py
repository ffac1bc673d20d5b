"""Where an item lies, and how it leaves: moved, sold, melted, returned, surrendered.

Every way out asks the holds first. What forbids it is named with rule, section and the moment from which the item
may leave.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from ledger.book import reading, tables
from ledger.book.pages import Book, Page
from ledger.chain import canonical
from ledger.chain.entries import Entry
from ledger.errors import ForbiddenByLaw, InputError
from ledger.law import holds as law
from ledger.moments import parse_local

# outcome -> the act that the law speaks of
OUTCOMES = {
    "sold": "sell",
    "melted": "melt",
    "returned-to-seller": "return",
    "surrendered": "surrender",
    "sent-out": "send-out",
    "altered": "alter",
    "stolen-or-lost": "",
    "seized": "surrender",
    "retained": "use",
    "moved-to-another-shop": "move",
    "consigned": "hand-over",
}


def move(book: Book, slip: int, line: int, to: str, *, at: datetime, because: str, to_place: str = "") -> Entry:
    """The entry that an item lies elsewhere now.

    to: what the shop calls the place. to_place: the word the law knows it by ("premises", "county", "secure-storage").
    at: when it was moved; not ahead.
    Raises: ForbiddenByLaw, InputError.
    """
    with book.writing() as page:
        moved_at = page.must_have_happened(at)
        row = _ours(page, slip, line)
        must_be_free(page, slip, line, law.Act("move", to_place or to), at=at)
        value = {"from": row.place, "to": to, "at": moved_at, "because": because}
        return page.append(
            "moved/0",
            about=[f"item/{slip}/{line}"],
            public={},
            held=[book.hold(f"item/{line}/moved", value, row.draft)],
            occurred_at=moved_at,
        )


def out(book: Book, slip: int, line: int, outcome: str, *, at: datetime, to: str = "", because: str = "") -> Entry:
    """The entry that an item left, or is no longer what it was.

    at: when it left; not ahead.
    Raises: ForbiddenByLaw with rule, section and moment; InputError.
    """
    if outcome not in OUTCOMES:
        raise InputError(field="outcome", given=outcome, wanted="one of " + ", ".join(OUTCOMES))
    with book.writing() as page:
        left_at = page.must_have_happened(at)
        row = _ours(page, slip, line)
        if OUTCOMES[outcome]:
            destination = {"returned-to-seller": "original-seller", "surrendered": "authority", "seized": "authority"}
            must_be_free(page, slip, line, law.Act(OUTCOMES[outcome], destination.get(outcome, "")), at=at)
        value = {"at": left_at, "to": to, "because": because}
        entry = page.append(
            "outcome/0",
            about=[f"item/{slip}/{line}"],
            public={"state": outcome},
            held=[book.hold(f"item/{line}/outcome", value, row.draft)],
            occurred_at=left_at,
        )
        page.seal()
    # From here on the item has left.
    return entry


OURS = ("in stock", "sent out", "consigned", "altered", "retained")
"""states of an item that the shop still answers for: more can happen to it"""


def _ours(page: Page, slip: int, line: int) -> sa.Row[Any]:
    row = reading.item_row(page.connection, page.book.origin, slip, line)
    if row.state not in OURS:
        raise InputError(field="item", given=f"{slip}/{line}, {row.state}", wanted="an item in stock")
    return row


def must_be_free(page: Page, slip: int, line: int, act: law.Act, *, at: datetime) -> None:
    """Nothing, if neither a hold nor an order forbids the act, at its moment and at the moment of recording.

    Both are asked: a hold that ran when the act was done forbids it, and an order that stands today is not got round
    by dating the act before it.
    Raises: ForbiddenByLaw.
    """
    connection, book = page.connection, page.book
    holds, orders = holds_of(connection, book, slip, line), orders_of(connection, book, slip, line)
    for moment in (at, page.now.astimezone(at.tzinfo)):
        answer = law.may(act, holds, orders, moment)
        if isinstance(answer, law.Forbidden):
            what = f"Item {slip}/{line} may not leave that way"
            raise ForbiddenByLaw(what=what, sentences=(answer.says, *answer.others), duties=(answer,))


def holds_of(connection: sa.Connection, book: Book, slip: int, line: int) -> list[law.Hold]:
    """The holds on an item, with the moments that their clocks give so far."""
    hold = tables.holds.c
    wanted = sa.select(hold.record).where(hold.book == book.origin, hold.slip == slip, hold.line == line)
    return [law.Hold.parse(canonical.decode(text.encode())) for (text,) in connection.execute(wanted)]


def orders_of(connection: sa.Connection, book: Book, slip: int, line: int) -> list[law.Order]:
    """The standing orders of authorities on an item. What they say lies in the vault. Raises: LockedError."""
    return orders_on(standing_orders(connection, book), slip, line)


def orders_on(orders: Iterable[tuple[str, Mapping[str, Any]]], slip: int, line: int) -> list[law.Order]:
    """Those of some orders, each with its id, that speak of an item."""
    return [
        law.Order(
            id=name,
            lines=(line,),
            from_=parse_local(said["from"], "from"),
            until=None if said["until"] is None else parse_local(said["until"], "until"),
            source=said["power"],
        )
        for name, said in orders
        if [slip, line] in said["items"]
    ]


def standing_orders(connection: sa.Connection, book: Book) -> Sequence[tuple[str, Mapping[str, Any]]]:
    """(id, what it says) of every order not lifted. Raises: LockedError."""
    order = tables.orders.c
    wanted = sa.select(order.hold, order.seq).where(order.book == book.origin, order.state == "standing")
    return [
        (name, reading.open_entry(connection, book, seq).get("order")) for name, seq in connection.execute(wanted).all()
    ]
