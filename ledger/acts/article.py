"""One article as the shop's own people see it: goods, evidence, what holds it, where it lay. Nobody's name.

Decides: what of a slip is told with an article of it, and what only after a look: the people behind it. Who has an
article now, which may be a person, is among these. Leaves the look itself to `looking`.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from ledger.acts import gathering, handing_over, holding, looking, wording
from ledger.acts.holding import Standing
from ledger.assay import strip as strips
from ledger.book import engine as engines
from ledger.book import reading
from ledger.book.pages import Book, find_key
from ledger.chain.entries import Entry
from ledger.errors import InputError
from ledger.law.held import Leave
from ledger.measures import Money
from ledger.moments import parse_local, parse_moment
from ledger.vault import pictures
from reports import goods


@dataclass(frozen=True)
class Happened:
    """One entry about the article."""

    seq: int
    at: datetime
    what: str
    by: str


@dataclass(frozen=True)
class Article:
    """All that is told of an article without its people."""

    slip: int
    line: int
    words: str
    state: str
    place: str
    bought: datetime
    gross_mg: int | None
    net_mg: int | None
    fine_mg: int | None
    offer: Money | None
    melt: Money | None
    """what its metal was worth at the purchase; None: not known, or the book is locked"""
    item: goods.Item | None
    """with its fields, weighings and tests; None while the book is locked, or where it was forgotten"""
    strip: str
    """as SVG; empty where there is none"""
    standing: Standing | None
    """None while the book is locked: orders lie in the vault"""
    leaves: str
    holds: tuple[tuple[str, bool], ...]
    """each in words, and whether it still runs"""
    history: tuple[Happened, ...]
    shown: tuple[str, ...]
    """what its pictures show, in their order"""


def article(book: Book, slip: int, line: int, *, at: datetime) -> Article:
    """An article of the book. at: now, in the shop's zone. Raises: InputError for one that the book does not have."""
    with engines.reading(book.engine) as connection:
        row = reading.item_row(connection, book.origin, slip, line)
        whole = _whole(connection, book, slip)
        standing = None if book.keys is None else holding.standing_of(connection, book, slip, line, at=at)
        item = None if whole is None else _item(connection, whole, line)
        picture = None if whole is None else whole.strip(line)
        value = {} if whole is None else whole.today.get(f"item/{line}/price", {}).get("value", {})
        return Article(
            slip=slip,
            line=line,
            words=row.words,
            state=row.state,
            place=row.place,
            bought=parse_local(reading.slip_row(connection, book.origin, slip).presented_at, "at"),
            gross_mg=row.gross_mg,
            net_mg=row.net_mg,
            fine_mg=row.fine_mg,
            offer=None if row.currency is None else Money(row.currency, row.offer_minor),
            melt=Money(**value["melt_value"]) if "melt_value" in value else None,
            item=item,
            strip="" if picture is None else strips.svg(picture, f"strip-{slip}-{line}"),
            standing=standing,
            leaves="" if standing is None else _leaves(standing),
            holds=() if standing is None else tuple(_holds(standing, at)),
            history=tuple(_history(connection, book, slip, line, at)),
            shown=() if item is None else tuple(one.shows.partition(": ")[2] for one in item.pictures),
        )


def _whole(connection: sa.Connection, book: Book, slip: int) -> gathering.Whole | None:
    """The slip whole; None while the book is locked, or where some of it was forgotten."""
    if book.keys is None:
        return None
    found = gathering.whole(connection, book, slip)
    return found if "visit" in found.parts else None


def _item(connection: sa.Connection, whole: gathering.Whole, line: int) -> goods.Item:
    hidden = handing_over.hidden_from(whole)
    asked = tuple(name for name in handing_over.asked_by_all(whole) if name not in hidden)
    return handing_over.item_values(connection, whole, whole.told, line, whole.slip.items[line - 1], asked)


def _leaves(standing: Standing) -> str:
    return wording.leaves(Leave(standing.plain, standing.cautious, standing.waiting_for), len(standing.orders))


def _holds(standing: Standing, at: datetime) -> Iterator[tuple[str, bool]]:
    """What holds it or held it, in sentences, and whether it still does; orders only while they stand."""
    for hold in standing.holds:
        over = hold.waiting_for is None and hold.cautious is not None and hold.cautious <= at
        yield wording.hold(hold), not over
    yield from ((wording.order(one), True) for one in standing.on_orders if one.order.stands(at))


_WHAT = {
    "presented": "presented to the seller",
    "purchase": "bought",
    "withdrawn": "withdrawn before it was bought",
    "void": "purchase undone",
    "payout": "payout",
    "correction": "corrected",
    "moved": "moved",
    "outcome": "left",
    "happened": "something happened",
    "permitted": "permitted",
}


def _history(connection: sa.Connection, book: Book, slip: int, line: int, at: datetime) -> Iterator[Happened]:
    """What happened to the article and its slip; looks and inquiries name neither, reports stand on their own page."""
    for seq in reading.seqs_about(connection, book.origin, f"slip/{slip}", f"item/{slip}/{line}"):
        entry = reading.entry_at(connection, book.origin, seq)
        kind = entry.kind.partition("/")[0]
        if kind in _WHAT:
            yield Happened(seq, _when(entry, at), _said(connection, book, entry, kind, line), entry.by)


def _when(entry: Entry, at: datetime) -> datetime:
    if entry.occurred_at is not None:
        return parse_local(entry.occurred_at, "occurred_at")
    return parse_moment(entry.recorded_at, "recorded_at").astimezone(at.tzinfo)


def _said(connection: sa.Connection, book: Book, entry: Entry, kind: str, line: int) -> str:
    """What an entry says of the goods, in words: where from and to, how it left, the payout's new state."""
    if kind == "moved" and book.keys is not None:
        told = reading.open_parts(connection, book, entry, classes=("item",)).get(f"item/{line}/moved", {})
        because = f": {told['because']}" if told.get("because") else ""
        return f"moved from {told['from']} to {told['to']}{because}" if told else _WHAT[kind]
    if kind == "outcome":
        state = str(entry.public["state"])
        return "back in the shop" if state == "in-stock" else state.replace("-", " ")
    if kind == "payout":
        return f"payout {entry.public['state']}"
    return _WHAT[kind]


@dataclass(frozen=True)
class People:
    """Who stands behind an article, after a look."""

    entry: Entry
    parties: tuple[goods.Field, ...]
    has_it: str
    """who has it now, where it left and that was said"""


def people(book: Book, slip: int, line: int, why: str) -> People:
    """The people behind an article, and the look that was recorded.

    Raises: InputError without a reason, or for an article that the book does not have; LockedError.
    """
    with engines.reading(book.engine) as connection:
        reading.item_row(connection, book.origin, slip, line)
    entry = looking.look(book, f"slip/{slip}", why)
    # From here on it stands in the book that these people were looked at, by whom and why.
    with engines.reading(book.engine) as connection:
        whole = gathering.whole(connection, book, slip)
        if "visit" not in whole.parts:
            return People(entry, (), "")
        hidden = handing_over.hidden_from(whole)
        asked = tuple(name for name in handing_over.asked_by_all(whole) if name not in hidden)
        return People(entry, handing_over.parties(whole, asked), _has_it(connection, book, slip, line))


def _has_it(connection: sa.Connection, book: Book, slip: int, line: int) -> str:
    for seq in reversed(reading.seqs_about(connection, book.origin, f"item/{slip}/{line}")):
        entry = reading.entry_at(connection, book.origin, seq)
        if entry.kind.startswith("outcome/"):
            told: dict[str, Any] = reading.open_parts(connection, book, entry).get(f"item/{line}/outcome", {})
            return str(told.get("to", ""))
    return ""


def picture(book: Book, slip: int, line: int, number: int) -> tuple[bytes, str]:
    """The shown copy of an article's picture and its media type. Raises: InputError, LockedError, StorageError."""
    with engines.reading(book.engine) as connection:
        row = reading.slip_row(connection, book.origin, slip)
        part = f"item/{line}/picture/{number}"
        found = reading.open_entry(connection, book, row.presented_seq, classes=("item",)).get(part)
        key = None if found is None else find_key(connection, book, row.draft, found["class"])
    if found is None or key is None:
        raise InputError(field="picture", given=number, wanted="a picture of this article that was not forgotten")
    data = pictures.open_picture(
        book.folder,
        key,
        found["file_shown"],
        book=book.origin,
        subject=row.draft,
        cls=found["class"],
        picture_id=f"{found['id']}/shown",
        seq=row.presented_seq,
    )
    return data, "image/png" if data.startswith(b"\x89PNG") else "image/jpeg"
