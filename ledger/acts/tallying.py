"""The earlier slips that a rule file's totals and counts need: how much one seller sold in a window, and the like.

Decides: which slips of the book are looked at, and whether one is of the same seller: the same number of a document
of the same issuer, or the same folded name with the same birth date. They are gathered only where a governing file
counts over earlier slips; while the book is locked it cannot be told whose they are. Leaves the sums to `ledger.law`.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta
from typing import Any

import sqlalchemy as sa

from ledger.book import reading, tables
from ledger.book.pages import Book
from ledger.chain import canonical
from ledger.identity import names
from ledger.law.declared import Tally, Window
from ledger.law.rules import PayRule, RuleFile
from ledger.slip.document import Name, Slip

Past = list[dict[str, Any]]

_NOT_BOUGHT = ("declined", "no offer", "offered")


def past(connection: sa.Connection, book: Book, slip: Slip, files: Sequence[RuleFile]) -> Past | None:
    """The recorded slips that the files' tallies may count with this one, oldest first; None where none counts.

    Shape: as `ledger.law.facts` reads facts["past"]; `same_seller` is left out while the book is locked.
    """
    tallies = list(_tallies(files, slip.local_day))
    if not tallies:
        return None
    since = min(_first_day(tally.window, slip.local_day) for tally in tallies)
    mine = None if book.keys is None else frozenset(_same_seller(connection, book, slip))
    rows = _rows(connection, book, since)
    if mine is not None and all(tally.by == "seller" for tally in tallies):
        rows = [row for row in rows if row.slip in mine]
    pieces = _pieces(connection, book, rows)
    return [_told(row, pieces.get(row.slip, []), mine) for row in rows]


def _tallies(files: Sequence[RuleFile], day: date) -> Iterator[Tally]:
    for file in files:
        yield from file.declared.tallies
        for rule in file.on(day):
            if isinstance(rule, PayRule):
                yield from (ceiling.tally for ceiling in rule.ceilings if ceiling.tally is not None)


_LONGEST_DAYS = {"hours": 1 / 24, "days": 1, "months": 31, "years": 366, "day": 1, "week": 7, "month": 31, "year": 366}


def _first_day(window: Window, day: date) -> date:
    """A day not after the first of a window: the law room counts exactly."""
    days = _LONGEST_DAYS[window.period or window.unit] * (1 if window.period else window.length)
    return day - timedelta(days=int(days) + 2)


def _rows(connection: sa.Connection, book: Book, since: date) -> list[sa.Row[Any]]:
    slip, payout = tables.slips.c, tables.payouts.c
    paid = sa.and_(payout.book == slip.book, payout.slip == slip.slip)
    wanted = (
        sa.select(slip.slip, slip.presented_at, slip.channel, slip.currency, slip.total_minor)
        .add_columns(payout.instrument, payout.cash_minor)
        .select_from(tables.slips.outerjoin(tables.payouts, paid))
        .where(slip.book == book.origin, slip.state == "recorded", slip.local_day >= since.isoformat())
        .order_by(slip.slip)
    )
    return list(connection.execute(wanted).all())


def _pieces(connection: sa.Connection, book: Book, rows: Sequence[sa.Row[Any]]) -> dict[int, list[int]]:
    """How many pieces each item has that was bought with some slips, by slip."""
    item, found = tables.items.c, dict[int, list[int]]()
    if rows:
        wanted = sa.select(item.slip, item.description).where(
            item.book == book.origin, item.slip >= rows[0].slip, item.state.not_in(_NOT_BOUGHT)
        )
        known = {row.slip for row in rows}
        for slip, text in connection.execute(wanted):
            if slip in known:
                described: Mapping[str, Any] = canonical.decode(text.encode())["description"]
                found.setdefault(slip, []).append(int(described["pieces"]))
    return found


def _told(row: sa.Row[Any], pieces: Sequence[int], mine: frozenset[int] | None) -> dict[str, Any]:
    known: dict[str, Any] = {"occurred": row.presented_at, "channel": row.channel}
    known |= {"items": len(pieces), "articles": sum(pieces)}
    if row.instrument is not None:
        known |= {
            "instrument": row.instrument,
            "total": {"currency": row.currency, "minor": row.total_minor},
            "cash": {"currency": row.currency, "minor": row.cash_minor},
        }
    return known if mine is None else {**known, "same_seller": row.slip in mine}


def _same_seller(connection: sa.Connection, book: Book, slip: Slip) -> Iterator[int]:
    """Numbers of the slips in which one of the parties is this slip's seller."""
    seller = slip.seller
    if isinstance(seller.name, Name) and isinstance(seller.birth_date, date):
        yield from returning(connection, book, "person", names.person_key(seller.name.full, seller.birth_date))
    for document in seller.documents:
        if isinstance(document.number, str):
            key = names.number_key(document.number)
            for number in returning(connection, book, "document", key):
                if _is_issued(connection, book, number, key, names.folded_name(document.issuer)):
                    yield number


def returning(connection: sa.Connection, book: Book, kind: str, key: str) -> list[int]:
    """Slips of the person or document with this key (see `identity.names`), newest first. Raises: LockedError."""
    digest = book.opened().blind(kind, key)
    row = tables.seller_index.c
    wanted = (
        sa.select(row.slip)
        .where(row.book == book.origin, row.kind == kind, row.digest == digest)
        .order_by(row.slip.desc())
    )
    return [int(slip) for (slip,) in connection.execute(wanted)]


def _is_issued(connection: sa.Connection, book: Book, number: int, key: str, issuer: str) -> bool:
    """Whether the document with that number, in an earlier slip, is of this issuer.

    One that was corrected since, or forgotten, counts: it was found by its number, and nothing says that it is another.
    """
    row = reading.slip_row(connection, book.origin, number)
    opened = reading.open_entry(connection, book, row.presented_seq, classes=("seller",))
    issuers = [
        names.folded_name(value["issuer"])
        for name, value in opened.parts
        if "/document/" in name and isinstance(value.get("number"), str) and names.number_key(value["number"]) == key
    ]
    return not issuers or issuer in issuers
