"""What became of an item that is asked for after it left: when and how, to whom, in which lot, and what is left of it.

An order or a seizure may come after the goods were sold or melted. Then the authority is told what the book knows,
and what of the same purchase the shop still has.
"""

from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa

from ledger.acts import leaving, wording
from ledger.book import reading, tables
from ledger.book.pages import Book
from ledger.measures import grams
from ledger.moments import parse_local

NOT_BOUGHT = ("offered", "declined", "no offer", "withdrawn")
"""states of an item that never was the shop's"""


@dataclass(frozen=True)
class Lot:
    """A lot in which an item was melted with others, as far as the book tells."""

    id: str
    state: str
    items: tuple[str, ...]
    share_mg: int | None
    """fine metal of the item, as it was reckoned when it was bought; None: not known"""
    whole_mg: int | None
    """the same of all items of the lot"""
    left: tuple[str, ...]
    """items of the lot that still lie in the shop"""


@dataclass(frozen=True)
class Gone:
    """One item that is no longer in stock."""

    item: str
    words: str
    state: str
    at: str
    """when it left, in words; empty: not known"""
    to: str
    lots: tuple[Lot, ...]
    beside: tuple[str, ...]
    """items of the same slip that still lie in the shop"""

    def record(self) -> dict[str, Any]:
        """JSON values only."""
        return {
            "item": self.item,
            "state": self.state,
            "at": self.at,
            "to": self.to,
            "lots": [
                {"lot": lot.id, "state": lot.state, "items": list(lot.items), "left": list(lot.left)}
                | {"share_mg": lot.share_mg, "whole_mg": lot.whole_mg}
                for lot in self.lots
            ],
            "beside": list(self.beside),
            "says": list(self.sentences),
        }

    @property
    def sentences(self) -> tuple[str, ...]:
        """What an authority is told, one fact a sentence."""
        when = f" on {self.at}" if self.at else ""
        if self.state in NOT_BOUGHT:
            return (f"Item {self.item} ({self.words}) was never bought: {self.state}.",)
        said = [f"Item {self.item} ({self.words}) is not in stock: {self.state}{when}."]
        said.append(f"It went to {self.to}." if self.to else "The book names nobody else who has it.")
        for lot in self.lots:
            said.append(f"It lies in lot {lot.id} ({lot.state}) with {len(lot.items) - 1} other items{_share(lot)}.")
            rest = f"Of the lot there are still here: {', '.join(lot.left)}." if lot.left else "Nothing of it is here."
            said.append(rest)
        beside = ", ".join(self.beside)
        rest = f"there are still here: {beside}." if beside else "nothing else is here."
        said.append(f"Of the same purchase {rest}")
        return tuple(said)


def _share(lot: Lot) -> str:
    if lot.share_mg is None or lot.whole_mg is None:
        return "; how much of the metal came from it is not known"
    return f"; {grams(lot.share_mg)} g of {grams(lot.whole_mg)} g fine metal came from it, as reckoned at the purchase"


def of(connection: sa.Connection, book: Book, slip: int, line: int) -> Gone | None:
    """What became of an item; None while the shop still has it. Raises: InputError for none, LockedError."""
    row = reading.item_row(connection, book.origin, slip, line)
    if row.state in leaving.OURS:
        return None
    told: dict[str, Any] = {}
    lots = []
    for seq in reading.seqs_about(connection, book.origin, f"item/{slip}/{line}"):
        entry = reading.entry_at(connection, book.origin, seq)
        if entry.kind.startswith("outcome/"):
            told = reading.open_parts(connection, book, entry).get(f"item/{line}/outcome", {})
        elif entry.kind.startswith("lot/"):
            lots.append(_lot(connection, book, entry, row))
    return Gone(
        item=f"{slip}/{line}",
        words=row.words,
        state=row.state,
        at=wording.at(parse_local(told["at"], "at")) if told else "",
        to=told.get("to", ""),
        lots=tuple({lot.id: lot for lot in lots}.values()),
        beside=_still_here(connection, book.origin, [(slip, None)]),
    )


def _lot(connection: sa.Connection, book: Book, entry: Any, row: sa.Row[Any]) -> Lot:
    named = [name.split("/")[1:] for name in entry.about if name.startswith("item/")]
    items = [(int(slip), int(line.partition(".")[0])) for slip, line in named]
    fine = [reading.item_row(connection, book.origin, *each).fine_mg for each in items]
    return Lot(
        id=next((name.removeprefix("lot/") for name in entry.about if name.startswith("lot/")), ""),
        state=entry.public["state"].replace("-", " "),
        items=tuple(f"{slip}/{line}" for slip, line in items),
        share_mg=row.fine_mg,
        whole_mg=None if None in fine else sum(fine),
        left=_still_here(connection, book.origin, items),
    )


def _still_here(connection: sa.Connection, book: str, wanted: Any) -> tuple[str, ...]:
    """Those of some items, or of the items of a whole slip (line None), that still lie in the shop."""
    item = tables.items.c
    found = []
    for slip, line in wanted:
        here = sa.select(item.slip, item.line).where(item.book == book, item.slip == slip, item.state.in_(leaving.OURS))
        here = here if line is None else here.where(item.line == line)
        found += [f"{one.slip}/{one.line}" for one in connection.execute(here.order_by(item.line))]
    return tuple(found)
