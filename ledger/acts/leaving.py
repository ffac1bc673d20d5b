"""Where an item lies, and how it leaves: moved, sold, melted, returned, surrendered.

Every way out asks the holds first. What forbids it is named with rule, section and the moment from which the item
may leave; where a rule lets it happen under conditions, with what must be stated about the act.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from functools import cache
from typing import Any

import sqlalchemy as sa

from ledger.acts import gathering, ordered
from ledger.book import reading, tables
from ledger.book.pages import Book, Page
from ledger.chain import canonical
from ledger.chain.entries import Entry
from ledger.errors import ForbiddenByLaw, InputError, Said
from ledger.law import holds as law
from ledger.law.counting import utc
from ledger.law.facts import TAKERS
from ledger.law.rules import PLACES, RuleFile
from ledger.moments import parse_local
from ledger.shop import adopted, facts

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


TAKEN_BY = {
    "sold": "buyer",
    "returned-to-seller": "original-seller",
    "surrendered": "authority",
    "seized": "authority",
    "moved-to-another-shop": "owner-shop",
}
"""by whom an item is taken with an outcome that can be by nobody else"""


@dataclass(frozen=True)
class Stated:
    """What a person states about an act, since a rule may let it happen on that condition; None: not stated."""

    taker: str | None = None
    identity_checked: bool | None = None
    buyer_recorded: bool | None = None
    permit: str | None = None
    state: str | None = None
    """the state or region to which it goes"""
    to_of_purchase: str | None = None
    """the place it goes to, seen from the place of purchase"""
    to_of_receipt: str | None = None
    answers: Mapping[str, Any] = field(default_factory=dict)
    """to questions that rule files declare about an act"""

    def record(self) -> dict[str, Any]:
        """What was stated: JSON values only."""
        names = ("taker", "identity_checked", "buyer_recorded", "permit", "state", "to_of_purchase", "to_of_receipt")
        found = {name: getattr(self, name) for name in names if getattr(self, name) is not None}
        return {**found, "answers": dict(self.answers)} if self.answers else found

    def told(self) -> dict[str, Any]:
        """The same by the names and in the kinds of value that rules read."""
        found = self.record()
        return {**found, "answers": facts.as_told(self.answers)} if self.answers else found


def read_stated(document: Mapping[str, Any]) -> Stated:
    """What a document states, with the members of Stated. Raises: InputError."""
    members = Stated.__dataclass_fields__
    unknown = sorted(set(document) - set(members))
    if unknown:
        raise InputError(field=unknown[0], given=unknown[0], wanted="one of " + ", ".join(members))
    for name, value in document.items():
        wanted = "text"
        if name in ("identity_checked", "buyer_recorded"):
            wanted, good = "true or false", isinstance(value, bool)
        elif name == "taker":
            wanted, good = "one of " + ", ".join(TAKERS), value in TAKERS
        elif name.startswith("to_of_"):
            wanted, good = "one of " + ", ".join(PLACES), value in PLACES
        elif name == "answers":
            facts.answers(value)
            good = True
        else:
            good = isinstance(value, str) and bool(value.strip())
        if not good:
            raise InputError(
                field=name, given=value if isinstance(value, bool) else Said("something else"), wanted=wanted
            )
    return Stated(**document)


NOTHING_STATED = Stated()


def move(
    book: Book,
    slip: int,
    line: int,
    to: str,
    *,
    at: datetime,
    because: str,
    to_place: str = "",
    stated: Stated = NOTHING_STATED,
) -> Entry:
    """The entry that an item lies elsewhere now.

    to: what the shop calls the place. to_place: the word the law knows it by ("premises", "county", "secure-storage").
    at: when it was moved; not ahead. stated: what is known of the act.
    Raises: ForbiddenByLaw, InputError.
    """
    with book.writing() as page:
        moved_at = page.must_have_happened(at)
        row = _ours(page, slip, line)
        must_be_free(page, slip, line, law.Act("move", to_place or to, stated.told()), at=at)
        value = {"from": row.place, "to": to, "at": moved_at, "because": because, **_on_record(stated)}
        return page.append(
            "moved/0",
            about=[f"item/{slip}/{line}"],
            public={},
            held=[book.hold(f"item/{line}/moved", value, row.draft)],
            occurred_at=moved_at,
        )


def _on_record(stated: Stated) -> dict[str, Any]:
    return {"stated": stated.record()} if stated.record() else {}


def out(
    book: Book,
    slip: int,
    line: int,
    outcome: str,
    *,
    at: datetime,
    to: str = "",
    because: str = "",
    to_place: str = "",
    stated: Stated = NOTHING_STATED,
) -> Entry:
    """The entry that an item left, or is no longer what it was.

    at: when it left; not ahead. to_place: the word the law knows its destination by. stated: what is known of the act.
    Raises: ForbiddenByLaw with rule, section and moment; InputError.
    """
    if outcome not in OUTCOMES:
        raise InputError(field="outcome", given=outcome, wanted="one of " + ", ".join(OUTCOMES))
    with book.writing() as page:
        left_at = page.must_have_happened(at)
        row = _ours(page, slip, line)
        if OUTCOMES[outcome]:
            destination = {"returned-to-seller": "original-seller", "surrendered": "authority", "seized": "authority"}
            taken_by = {"taker": TAKEN_BY[outcome]} if outcome in TAKEN_BY else {}
            told = {**taken_by, **stated.told()}
            act = law.Act(OUTCOMES[outcome], destination.get(outcome, to_place), told)
            must_be_free(page, slip, line, act, at=at)
        value = {"at": left_at, "to": to, "because": because, **_on_record(stated)}
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
    now = page.now.astimezone(at.tzinfo)
    holds, orders = holds_of(connection, book, slip, line), orders_of(connection, book, slip, line, now)
    known, files = known_for(page, slip, line, act, holds, at)
    for moment in (at, now):
        for kind in _kinds(act):
            # A sale hands the item over: what does not speak of selling is asked about that.
            speaks = [one for one in holds if kind == act.kind or act.kind not in one.forbids]
            ordered_so = [one for one in orders if kind == act.kind or act.kind not in one.forbids]
            answer = law.may(replace(act, kind=kind), speaks, ordered_so, moment, facts=known, files=files)
            if isinstance(answer, law.Forbidden):
                what = f"Item {slip}/{line} may not leave that way"
                raise ForbiddenByLaw(what=what, sentences=(answer.says, *answer.others), duties=(answer,))


def _kinds(act: law.Act) -> tuple[str, ...]:
    """What the law is asked about an act: of a sale the handing over too."""
    return (act.kind, "hand-over") if act.kind == "sell" else (act.kind,)


def known_for(
    page: Page, slip: int, line: int, act: law.Act, holds: Sequence[law.Hold], at: datetime
) -> tuple[dict[str, Any], list[RuleFile]]:
    """What is known of item, slip, seller and shop, as far as a permit may ask, and the files of the holds.

    The shop's facts and permissions are those of the day of the act; the slip is opened only for a permit with
    conditions.
    """
    connection, book, day = page.connection, page.book, at.date().isoformat()
    known: dict[str, Any] = {"shop": adopted.told_on(connection, book.origin, day)}
    if any(permit.conditional and permit.act in _kinds(act) for hold in holds for permit in hold.allows):
        told = gathering.whole(connection, book, slip).told_today
        known |= {name: told[name] for name in ("slip", "seller")}
        known["item"] = next(item for item in told["items"] if item["line"] == line)
    permitted = adopted.permissions_on(connection, book.origin, day, f"{slip}/{line}")
    known["item"] = {**known.get("item", {}), "permissions": permitted}
    files = [adopted.rule_file(connection, book.origin, digest) for digest in sorted({hold.digest for hold in holds})]
    return known, files


def holds_of(connection: sa.Connection, book: Book, slip: int, line: int) -> list[law.Hold]:
    """The holds on an item, with the moments that their clocks give so far."""
    hold = tables.holds.c
    wanted = sa.select(hold.record).where(hold.book == book.origin, hold.slip == slip, hold.line == line)
    return [law.Hold.parse(canonical.decode(text.encode())) for (text,) in connection.execute(wanted)]


def ends_of(
    connection: sa.Connection, book: str, slips: Mapping[int, Any] | None = None
) -> dict[tuple[int, int], tuple[bool, datetime | None]]:
    """(whether it waits, latest cautious end) of items that a rule holds or held: of some slips, or of all in stock.

    Orders of authorities are not among them: they lie in the vault.
    """
    hold, item = tables.holds.c, tables.items.c
    wanted = sa.select(hold.slip, hold.line, hold.acts, hold.cautious, hold.waiting_for).where(hold.book == book)
    if slips is None:
        here = sa.and_(item.book == hold.book, item.slip == hold.slip, item.line == hold.line)
        wanted = wanted.join(tables.items, here).where(item.state == "in stock")
    else:
        wanted = wanted.where(reading.spanning(hold.slip, slips))
    read = cache(parse_local)
    found: dict[tuple[int, int], tuple[bool, datetime | None]] = {}
    for row in connection.execute(wanted):
        if not set(law.LEAVING) & set(row.acts.split()):
            continue  # it forbids something that is no leaving, such as altering
        waits, latest = found.get((row.slip, row.line), (False, None))
        end = None if row.cautious is None else read(row.cautious, "cautious")
        latest = max((one for one in (latest, end) if one is not None), key=utc, default=None)
        found[(row.slip, row.line)] = (waits or row.waiting_for is not None or end is None, latest)
    return found


def orders_of(connection: sa.Connection, book: Book, slip: int, line: int, at: datetime) -> list[law.Order]:
    """The orders of authorities on an item, as they stand at a moment. What they say lies in the vault.

    at: in the shop's zone. Raises: LockedError while there is any.
    """
    holds = holds_of(connection, book, slip, line)
    found = ordered.on_item(connection, book, ordered.standing(connection, book), slip, line, holds, at)
    return [one.order for one in found]
