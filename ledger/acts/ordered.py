"""The orders of authorities that stand, and until when each holds an item, worked out from what was told so far.

Who ordered what lies in the vault. Where a rule file has a rule for such orders, its law decides the end: length,
renewals, cap, a spoken order's lapse, what the shop's own silence adds. An order under no rule holds as it says, and
without an end until it is lifted.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from ledger.acts import events
from ledger.book import reading, tables
from ledger.book.pages import Book
from ledger.law import holds as law
from ledger.law import orders as law_orders
from ledger.law.clocks import Between
from ledger.law.orders import OrderState
from ledger.moments import parse_local
from ledger.shop import adopted

NOTED = ("confirmed", "notice", "renewed")
"""what may happen with an order: written confirmation came, the shop gave its notice, the authority renewed it"""


@dataclass(frozen=True)
class Given:
    """An order that stands, as it was told."""

    id: str
    said: Mapping[str, Any]
    noted: tuple[Mapping[str, Any], ...]
    """each with event and at"""

    def speaks_of(self, slip: int, line: int) -> bool:
        """Whether it holds this item."""
        return [slip, line] in self.said["items"]

    def moments(self, event: str) -> tuple[datetime, ...]:
        """When something happened with it, as often as it did."""
        return tuple(parse_local(one["at"], "at") for one in self.noted if one["event"] == event)

    @property
    def from_(self) -> datetime:
        """From when it holds."""
        return parse_local(self.said["from"], "from")

    @property
    def until(self) -> datetime | None:
        """Until when it holds by its own words; None: it does not say."""
        return None if self.said["until"] is None else parse_local(self.said["until"], "until")


@dataclass(frozen=True)
class OnItem:
    """An order on one item, as it stands at a moment."""

    given: Given
    order: law.Order
    state: OrderState | None
    """by the law of its rule; None for an order under no rule"""


def standing(connection: sa.Connection, book: Book) -> list[Given]:
    """Every order that was not lifted, oldest first. Raises: LockedError."""
    order = tables.orders.c
    wanted = sa.select(order.hold, order.seq).where(order.book == book.origin, order.state == "standing")
    return [given(connection, book, name, seq) for name, seq in connection.execute(wanted.order_by(order.seq)).all()]


def given(connection: sa.Connection, book: Book, name: str, seq: int) -> Given:
    """An order with what was noted about it. seq: of the entry that it was given in. Raises: LockedError."""
    noted = [
        reading.open_entry(connection, book, each).get("order")
        for each in reading.seqs_about(connection, book.origin, f"hold/{name}")
        if each != seq
    ]
    said = reading.open_entry(connection, book, seq).get("order")
    return Given(name, said, tuple(one for one in noted if "event" in one))


def on_item(
    connection: sa.Connection,
    book: Book,
    orders: Iterable[Given],
    slip: int,
    line: int,
    holds: Sequence[law.Hold],
    at: datetime,
) -> list[OnItem]:
    """Those of some orders that speak of an item, as they stand at a moment.

    holds: on the item, since an order may run from the end of one. at: now, in the shop's zone.
    Raises: NoRuleForDay.
    """
    found: list[OnItem] = []
    for one in orders:
        if one.speaks_of(slip, line):
            found.append(_on(connection, book, one, slip, line, holds, found, at))
    return found


def _on(
    connection: sa.Connection,
    book: Book,
    given: Given,
    slip: int,
    line: int,
    holds: Sequence[law.Hold],
    before: Sequence[OnItem],
    at: datetime,
) -> OnItem:
    if "rule" not in given.said:
        plain = law.Order(given.id, given.from_, given.until, given.said["power"], (line,))
        return OnItem(given, plain, None)
    rule = given.said["rule"]
    file = adopted.rule_file(connection, book.origin, rule["digest"])
    known = {
        **_ends(holds, rule["jurisdiction"]),
        **_ends_of_orders(before, rule["jurisdiction"]),
        **events.happened_to(connection, book.origin, f"item/{slip}/{line}", at.tzinfo),
    }
    if reading.slip_row(connection, book.origin, slip).recorded_seq is not None:
        known |= events.of_slip(connection, book.origin, slip)
    state = law_orders.state(
        rule["rule"],
        file,
        law_orders.OrderEvents(
            notified_at=parse_local(given.said["notified"], "notified"),
            form=given.said["form"],
            written_at=next(iter(given.moments("confirmed")), None),
            notices=given.moments("notice"),
            renewals=given.moments("renewed"),
            events=known,
        ),
        at,
        facts={"shop": adopted.told_on(connection, book.origin, at.date().isoformat())},
        others=adopted.in_force(connection, book.origin),
        zone=adopted.shop_on(connection, book.origin, at.date().isoformat()).zoneinfo(),
    )
    return OnItem(given, _never_shorter(state.order(given.id, (line,)), given.until, state), state)


def _never_shorter(order: law.Order, said: datetime | None, state: OrderState) -> law.Order:
    """The order by its rule; where it names a later end of its own, it is obeyed until then."""
    if said is None or order.until is None or said <= order.until or state.lapsed:
        return order
    return law.Order(
        order.id,
        order.from_,
        said,
        order.source,
        order.lines,
        order.forbids,
        order.lifted_at,
        order.until_plain,
        order.replaces,
    )


def _ends(holds: Sequence[law.Hold], jurisdiction: str) -> dict[str, Any]:
    """The ends of an item's holds, as events from which an order may run."""
    found: dict[str, Any] = {}
    for hold in holds:
        if hold.plain is not None and hold.cautious is not None:
            end = Between(hold.plain, hold.earliest or hold.plain, hold.cautious)
            found[f"end:{hold.jurisdiction}/{hold.rule}"] = end
            if hold.jurisdiction == jurisdiction:
                found[f"end:{hold.rule}"] = end
    return found


def _ends_of_orders(orders: Iterable[OnItem], jurisdiction: str) -> dict[str, Any]:
    """The ends of earlier orders on an item, as events from which a later one may run."""
    found: dict[str, Any] = {}
    for one in orders:
        state = one.state
        if state is None or state.plain is None or state.cautious is None:
            continue
        end = Between(state.plain, state.plain, state.cautious)
        found[f"end:{state.jurisdiction}/{state.rule}"] = end
        if state.jurisdiction == jurisdiction:
            found[f"end:{state.rule}"] = end
    return found
