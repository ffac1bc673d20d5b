"""Goods that an authority takes, or that are given up to it or to their true owner, and that may come back.

The item leaves in the same transaction in which the log of the request says who took it under which receipt and what
must follow by when, as the papers of the case say. The entry about the item tells only that it left: whose case it is
stands in the log, and on a request that is secret the entry does not even tell that an authority has it. A seizure is
recorded even where a hold forbids the act, for the shop does not decide it; what forbade it is recorded beside it.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from ledger.acts import aftermath, handing_over, holding, leaving, requested, requests, telling, wording
from ledger.book import engine as engines
from ledger.book import reading
from ledger.book.pages import Book, Page
from ledger.chain.entries import Entry
from ledger.errors import ForbiddenByLaw, InputError, Said
from ledger.law import holds as law
from ledger.measures import grams
from ledger.moments import local_text, parse_local
from ledger.shop import adopted
from reports import custody

SEIZED, SURRENDERED = "seized", "surrendered"
AWAY = "away"
"""state of an item that was taken on a request that is secret: true, and it betrays nothing"""
TO = {"authority": "an authority, under a receipt", "claimant": "whoever was entitled to it, under a receipt"}
"""to whom it goes, and what the item's own entry says of that"""
_MEMBERS = ("items", "outcome", "to", "at", "taken_by", "receipt", "condition", "follow_up", "said")


@dataclass(frozen=True)
class Taken:
    """What was taken by whom, under which receipt."""

    items: tuple[tuple[int, int], ...]
    outcome: str
    """seized | surrendered"""
    to: str
    """authority | claimant"""
    at: datetime
    taken_by: str
    receipt: str
    """the number or other name of the receipt that was given for it"""
    condition: str
    """how it was packed and sealed, in words"""
    follow_up: tuple[tuple[str, datetime], ...] = ()
    said: str = ""

    def record(self) -> dict[str, Any]:
        """As the part `process` holds it."""
        return {
            "event": "taken",
            "items": [f"{slip}/{line}" for slip, line in self.items],
            "outcome": self.outcome,
            "to": self.to,
            "at": local_text(self.at),
            "taken_by": self.taken_by,
            "receipt": self.receipt,
            "condition": self.condition,
            "follow_up": [{"what": what, "due": local_text(due)} for what, due in self.follow_up],
            "said": self.said,
        }


def read(document: Mapping[str, Any]) -> Taken:
    """What was taken, from a document. Raises: InputError."""
    unknown = sorted(set(document) - set(_MEMBERS))
    if unknown:
        raise InputError(field=unknown[0], given=unknown[0], wanted="one of " + ", ".join(_MEMBERS))
    outcome, to = document.get("outcome"), document.get("to", "authority")
    if outcome not in (SEIZED, SURRENDERED):
        raise InputError(field="outcome", given=Said("something else"), wanted="'seized' or 'surrendered'")
    if to not in TO or (outcome == SEIZED and to != "authority"):
        raise InputError(field="to", given=Said("something else"), wanted="'authority', or 'claimant' if surrendered")
    items = requested.items(document)
    if not items or len(set(items)) != len(items):
        raise InputError(field="items", given=document.get("items"), wanted='each item once, such as ["12/1"]')
    return Taken(
        items=items,
        outcome=str(outcome),
        to=str(to),
        at=requested.moment(document, "at"),
        taken_by=requested.text(document, "taken_by"),
        receipt=requested.text(document, "receipt"),
        condition=requested.text(document, "condition"),
        follow_up=requested.follow_ups(document),
        said=requested.text(document, "said", needed=False),
    )


@dataclass(frozen=True)
class Custody:
    """The entry of the request's log, the entries of the items, and what forbade a seizure that happened."""

    entry: Entry
    items: tuple[Entry, ...]
    against: tuple[str, ...]


def take(book: Book, name: str, taken: Taken) -> Custody:
    """The entries that items were taken on a request.

    Raises: ForbiddenByLaw where a hold or an order forbids giving them up; InputError for a request that there is not
    or that ended, items that it does not name, and items that the shop no longer has.
    """
    with book.writing() as page:
        at = page.must_have_happened(taken.at)
        known = _standing(page, name)
        _must_be_named(known, taken.items)
        against = tuple(sentence for item in taken.items for sentence in _against(page, item, taken))
        secret = known.secret_at(page.now)
        left = tuple(_left(page, item, taken, at, secret) for item in taken.items)
        told = {**taken.record(), "by": book.by, "entries": [entry.seq for entry in left], "against": list(against)}
        entry = requests.append(page, name, told, occurred_at=at)
        page.seal()
    # From here on the items are out of the shop's hands, and it stands in the book in whose they are.
    return Custody(entry, left, against)


def _standing(page: Page, name: str) -> requests.Process:
    known = requests.one(page.connection, page.book, name)
    if known.ended:
        raise InputError(field="process", given=f"{name}, {known.state}", wanted="a request that has not ended")
    return known


def _must_be_named(known: requests.Process, items: Sequence[tuple[int, int]]) -> None:
    beyond = [f"{slip}/{line}" for slip, line in items if f"{slip}/{line}" not in known.items]
    if known.items and beyond:
        wanted = f"items that request {known.id} names: {', '.join(known.items)}"
        raise InputError(field="items", given=", ".join(beyond), wanted=wanted)


def _against(page: Page, item: tuple[int, int], taken: Taken) -> tuple[str, ...]:
    """What forbids it, where it happened all the same."""
    slip, line = item
    gone = aftermath.of(page.connection, page.book, slip, line)
    if gone is not None:
        raise InputError(field="items", given=f"{slip}/{line}, {gone.state}", wanted="items that the shop still has")
    stated = {"taker": "authority"} if taken.to == "authority" else {}
    act = law.Act("surrender", "authority" if taken.to == "authority" else "", stated)
    try:
        leaving.must_be_free(page, slip, line, act, at=taken.at)
    except ForbiddenByLaw as forbidden:
        if taken.outcome == SURRENDERED:
            raise
        return forbidden.sentences
    return ()


def _left(page: Page, item: tuple[int, int], taken: Taken, at: str, secret: bool) -> Entry:
    slip, line = item
    row = reading.item_row(page.connection, page.book.origin, slip, line)
    value = {"at": at, "to": "" if secret else TO[taken.to], "because": ""}
    return page.append(
        "outcome/0",
        about=[f"item/{slip}/{line}"],
        public={"state": AWAY if secret else taken.outcome},
        held=[page.book.hold(f"item/{line}/outcome", value, row.draft)],
        occurred_at=at,
    )


def give_back(
    book: Book, name: str, items: Sequence[tuple[int, int]], *, at: datetime, by: str, said: str = ""
) -> Custody:
    """The entries that items which were taken on a request are back in the shop.

    by: who brought them. Raises: InputError for items that are not out on this request.
    """
    with book.writing() as page:
        back_at = page.must_have_happened(at)
        out = away(requests.one(page.connection, book, name))
        missing = [f"{slip}/{line}" for slip, line in items if f"{slip}/{line}" not in out]
        if missing or not items:
            wanted = f"items that are out on request {name}: {', '.join(out) or 'none'}"
            raise InputError(field="items", given=", ".join(missing) or Said("nothing"), wanted=wanted)
        back = tuple(_came_back(page, item, back_at) for item in items)
        told = {
            "event": "returned",
            "items": [f"{slip}/{line}" for slip, line in items],
            "at": back_at,
            "by": by,
            "said": said,
            "entries": [entry.seq for entry in back],
        }
        entry = requests.append(page, name, told, occurred_at=back_at)
    # From here on they are in stock again, under every hold that runs.
    return Custody(entry, back, ())


def _came_back(page: Page, item: tuple[int, int], at: str) -> Entry:
    slip, line = item
    row = reading.item_row(page.connection, page.book.origin, slip, line)
    value = {"at": at, "to": "the shop", "because": "it came back"}
    return page.append(
        "outcome/0",
        about=[f"item/{slip}/{line}"],
        public={"state": telling.BACK},
        held=[page.book.hold(f"item/{line}/outcome", value, row.draft)],
        occurred_at=at,
    )


def away(known: requests.Process) -> list[str]:
    """The items that were taken on a request and did not come back, SLIP/LINE."""
    out: dict[str, None] = {}
    for step in known.steps:
        if step["event"] == "taken":
            out |= dict.fromkeys(step["items"])
        elif step["event"] == "returned":
            out = {item: None for item in out if item not in step["items"]}
    return list(out)


def receipt(book: Book, name: str, entry: Entry, sheet: str) -> bytes:
    """The paper on which who takes the goods and who gives them sign. entry: of the log, that they were taken."""
    with engines.reading(book.engine) as connection:
        known = requests.one(connection, book, name)
        step = reading.open_parts(connection, book, entry).get("process")
        at = parse_local(step["at"], "at")
        shop = adopted.shop_on(connection, book.origin, at.date().isoformat())
        imprint = handing_over.imprint(
            connection, book, shop, entry, copy="Copy for both sides", recipient=known.said["officer"]["agency"], at=at
        )
        goods = tuple(_goods(connection, book, item) for item in step["items"])
    return custody.draw(
        custody.Receipt(
            imprint=imprint,
            outcome=step["outcome"],
            at=wording.at(at),
            taken_by=step["taken_by"],
            officer=known.officer,
            case=known.said["case"],
            power=known.said["power"],
            receipt=step["receipt"],
            condition=step["condition"],
            to_claimant=known.said["true_owner"] if step["to"] == "claimant" else "",
            goods=goods,
            follow_up=tuple((one["what"], wording.at(parse_local(one["due"], "due"))) for one in step["follow_up"]),
        ),
        sheet,
    )


def _goods(connection: sa.Connection, book: Book, item: str) -> custody.Line:
    slip, line = holding.item_named(item)
    row = reading.item_row(connection, book.origin, slip, line)
    weight = "not weighed" if row.gross_mg is None else f"{grams(row.gross_mg)} g"
    return custody.Line(item, row.words, weight, row.place)
