"""An authority's order that holds items, and its end; and the list of what may not leave yet.

The entry names only the order's own random id: who ordered what lies in the vault, so that neither the book nor a
search table tells of an investigation.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from ledger.acts import leaving
from ledger.book import engine as engines
from ledger.book import reading, tables
from ledger.book.pages import Book
from ledger.chain.entries import Entry
from ledger.errors import InputError, Said
from ledger.law import holds as law
from ledger.moments import local_text, parse_local

_ITEM = re.compile("([0-9]{1,18})/([0-9]{1,18})")
_MEMBERS = {"items", "agency", "officer", "case", "power", "from", "until", "form", "said"}


@dataclass(frozen=True)
class OrderAsked:
    """What an authority ordered."""

    items: tuple[tuple[int, int], ...]
    agency: str
    officer: str
    case: str
    power: str
    """the section or order relied on"""
    from_: datetime
    until: datetime | None
    form: str
    """written | spoken"""
    said: str = ""

    def record(self) -> dict[str, Any]:
        """As the part `order` holds it."""
        return {
            "items": [list(item) for item in self.items],
            "agency": self.agency,
            "officer": self.officer,
            "case": self.case,
            "power": self.power,
            "from": local_text(self.from_),
            "until": None if self.until is None else local_text(self.until),
            "form": self.form,
            "said": self.said,
        }


def read_order(document: Mapping[str, Any]) -> OrderAsked:
    """An order from a document with the members of OrderAsked. Raises: InputError."""
    unknown = sorted(set(document) - _MEMBERS)
    if unknown:
        raise InputError(field=unknown[0], given=unknown[0], wanted="one of " + ", ".join(sorted(_MEMBERS)))
    texts = {name: document.get(name, "") for name in ("agency", "officer", "case", "power", "form", "said")}
    for name, text in texts.items():
        if not isinstance(text, str) or (not text.strip() and name in ("agency", "officer", "power", "form")):
            raise InputError(field=name, given=Said("something else"), wanted="text")
    if texts["form"] not in ("written", "spoken"):
        raise InputError(field="form", given=texts["form"], wanted="'written' or 'spoken'")
    from_ = parse_local(str(document.get("from", "")), "from")
    until = None if document.get("until") is None else parse_local(str(document["until"]), "until")
    if until is not None and until <= from_:
        raise InputError(field="until", given=document["until"], wanted="a moment after `from`")
    return OrderAsked(
        items=_items(document.get("items")),
        agency=texts["agency"],
        officer=texts["officer"],
        case=texts["case"],
        power=texts["power"],
        from_=from_,
        until=until,
        form=texts["form"],
        said=texts["said"],
    )


def _items(given: Any) -> tuple[tuple[int, int], ...]:
    if not isinstance(given, list) or not given:
        raise InputError(field="items", given=given, wanted='a list of items, such as ["12/1"]')
    return tuple(item_named(str(name), "items") for name in given)


def item_named(name: str, field: str = "item") -> tuple[int, int]:
    """(slip, line) of an item written SLIP/LINE. Raises: InputError."""
    found = _ITEM.fullmatch(name)
    if found is None:
        raise InputError(field=field, given=name, wanted="SLIP/LINE, such as 12/1")
    return int(found[1]), int(found[2])


def order(book: Book, asked: OrderAsked) -> tuple[str, Entry]:
    """The order's id and the entry that it stands. Raises: InputError for an item the book does not have."""
    name = book.chance(8).hex()
    with book.writing() as page:
        for slip, line in asked.items:
            reading.item_row(page.connection, book.origin, slip, line)
        held = [book.hold("order", asked.record(), name)]
        entry = page.append("hold-order/0", about=[f"hold/{name}"], public={}, held=held)
    # From here on the items are held.
    return name, entry


def gone(book: Book, asked: OrderAsked) -> dict[str, str]:
    """State of each ordered item that is not in stock, by its name: an order cannot hold what is not here."""
    with engines.reading(book.engine) as connection:
        found = {f"{slip}/{line}": reading.item_row(connection, book.origin, slip, line) for slip, line in asked.items}
    return {name: row.state for name, row in found.items() if row.state != "in stock"}


def lift(book: Book, name: str, *, at: datetime, by: str, form: str) -> Entry:
    """The entry that an order no longer stands.

    at: when it was lifted; not ahead. by: who lifted it, for which agency. form: written or spoken.
    Raises: InputError when no such order stands.
    """
    with book.writing() as page:
        lifted_at = page.must_have_happened(at)
        row = tables.orders.c
        state = page.connection.execute(sa.select(row.state).where(row.book == book.origin, row.hold == name)).scalar()
        if state != "standing":
            raise InputError(field="order", given=name, wanted="the id of an order that stands; see `hold list`")
        held = [book.hold("order", {"lifted_by": by, "form": form, "at": lifted_at}, name)]
        return page.append("hold-lifted/0", about=[f"hold/{name}"], public={}, held=held, occurred_at=lifted_at)


@dataclass(frozen=True)
class Standing:
    """One item in stock and from when it may leave."""

    slip: int
    line: int
    words: str
    place: str
    plain: datetime | None
    cautious: datetime | None
    waiting_for: str | None
    sources: tuple[str, ...]
    orders: tuple[str, ...]
    """ids of standing orders"""

    def free_at(self, moment: datetime) -> bool:
        """Whether no hold and no order forbids selling it now."""
        return self.waiting_for is None and (self.cautious is None or self.cautious <= moment)


def standing(book: Book) -> Sequence[Standing]:
    """Every item in stock, oldest first. Raises: LockedError (orders lie in the vault)."""
    with engines.reading(book.engine) as connection:
        item = tables.items.c
        wanted = (
            sa.select(tables.items)
            .where(item.book == book.origin, item.state.in_(leaving.OURS))
            .order_by(item.slip, item.line)
        )
        orders = leaving.standing_orders(connection, book)
        return [
            _standing(connection, book, row, leaving.orders_on(orders, row.slip, row.line))
            for row in connection.execute(wanted).all()
        ]


def standing_of(connection: sa.Connection, book: Book, slip: int, line: int) -> Standing:
    """From when one item may leave."""
    orders = leaving.orders_of(connection, book, slip, line)
    return _standing(connection, book, reading.item_row(connection, book.origin, slip, line), orders)


def _standing(connection: sa.Connection, book: Book, row: sa.Row[Any], orders: Sequence[law.Order]) -> Standing:
    holds = leaving.holds_of(connection, book, row.slip, row.line)
    leave = law.leave(holds, orders)
    return Standing(
        slip=row.slip,
        line=row.line,
        words=row.words,
        place=row.place,
        plain=leave.plain,
        cautious=leave.cautious,
        waiting_for=leave.waiting_for,
        sources=tuple(f"{hold.jurisdiction}/{hold.rule}: {hold.source}" for hold in holds),
        orders=tuple(order.id for order in orders),
    )
