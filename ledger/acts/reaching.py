"""What an inspection reaches, one thing at a time: a list, or the record of one purchase; each look is an entry.

Purchase records since the last inspection and the articles in them, nothing else; the people in a record only where
the power relied on reaches them, and never what the rule files hide from everybody.
"""

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from typing import Final

from ledger.acts import filing, gathering, handing_over, inspecting, looking, showing
from ledger.book import engine as engines
from ledger.book import reading
from ledger.book.pages import Book
from ledger.chain.entries import Entry
from ledger.errors import InputError, Said
from reports import purchase

SCOPES: Final[Mapping[str, str]] = {
    "register": "the register in number order, with voids and corrections",
    "stock": "the stock on hand, the shelf check and a sample",
    "records": "the record of each purchase since the last inspection, without its people",
    "people": "the people in those records: only where the power relied on reaches them",
    "reports": "reports and their receipts",
    "rules": "the rule files in force",
}
"""what an owner can open, each in words"""
LISTS: Final = ("register", "stock", "reports", "rules")


def looked(book: Book, what: str, *, officer: Mapping[str, str], power: str) -> Entry:
    """The entry that an inspector looked at something. Raises: LockedError, StorageError."""
    with book.writing() as page:
        return looking.record(page, {"what": what, "why": "inspection", "officer": dict(officer), "power": power})


def listed(book: Book, what: str, *, at: datetime) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """The heads and rows of one list, as the folder for an inspection holds them. Raises: LockedError."""
    with engines.reading(book.engine) as connection:
        return showing.rows(connection, book, what, since=inspecting.since(connection, book), at=at)


def record(book: Book, slip: int, sheet: str, *, people: bool) -> bytes:
    """The paper of one purchase since the last inspection.

    people: whether its people, what was paid and the declaration are on it.
    Raises: InputError when there is no such purchase or the inspection does not reach it; LockedError.
    """
    with engines.reading(book.engine) as connection:
        row = reading.slip_row(connection, book.origin, slip)
        if row.recorded_seq is None or row.recorded_seq <= inspecting.since(connection, book):
            given = Said("another slip")
            raise InputError(field="slip", given=given, wanted="a purchase recorded since the last inspection")
        whole = gathering.whole(connection, book, slip)
        hidden = handing_over.hidden_from(whole)
        values = handing_over.purchase_values(
            connection,
            whole,
            copy="Copy for the inspector",
            recipient="an inspection",
            asked=tuple(name for name in handing_over.asked_by_all(whole) if name not in hidden),
            hidden=hidden,
        )
        shown = filing.shown_to(values, hidden)
        shown = replace(shown, corrections=tuple(filing.withheld(one, hidden) for one in shown.corrections))
        return purchase.draw(shown if people else _without_people(shown), sheet)


def _without_people(values: purchase.PurchaseReport) -> purchase.PurchaseReport:
    """The articles of a purchase alone."""
    return replace(
        values,
        fields=(),
        payout=(),
        total="not shown",
        items=tuple(replace(one, offer="not shown") for one in values.items),
        duties=(),
        declaration="",
        signature="",
        captures=(),
        corrections=tuple(one for one in values.corrections if one.what.startswith("item/")),
    )
