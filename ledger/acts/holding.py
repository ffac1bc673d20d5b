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

from ledger.acts import leaving, ordered
from ledger.book import engine as engines
from ledger.book import reading, tables
from ledger.book.pages import Book, Page
from ledger.chain.entries import Entry
from ledger.errors import InputError, Said
from ledger.law import holds as law
from ledger.law.counting import utc
from ledger.law.judging import scope
from ledger.law.rules_times import OrderRule
from ledger.moments import local_text, parse_local
from ledger.shop import adopted

_ITEM = re.compile("([0-9]{1,18})/([0-9]{1,18})")
_MEMBERS = {"items", "agency", "officer", "case", "power", "from", "until", "form", "said", "rule", "notified"}


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
    rule: str = ""
    """the rule under which it stands, as JURISDICTION/RULE; "none" for no rule"""
    notified_: datetime | None = None

    @property
    def notified(self) -> datetime:
        """When the shop was told of it, from which its rule counts."""
        return self.notified_ or self.from_

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
    texts = {name: document.get(name, "") for name in ("agency", "officer", "case", "power", "form", "said", "rule")}
    for name, text in texts.items():
        if not isinstance(text, str) or (not text.strip() and name in ("agency", "officer", "power", "form")):
            raise InputError(field=name, given=Said("something else"), wanted="text")
    if texts["form"] not in ("written", "spoken"):
        raise InputError(field="form", given=texts["form"], wanted="'written' or 'spoken'")
    from_ = parse_local(str(document.get("from", "")), "from")
    until = None if document.get("until") is None else parse_local(str(document["until"]), "until")
    if until is not None and until <= from_:
        raise InputError(field="until", given=document["until"], wanted="a moment after `from`")
    notified = None if document.get("notified") is None else parse_local(str(document["notified"]), "notified")
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
        rule=texts["rule"],
        notified_=notified,
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
    """The order's id and the entry that it stands.

    Its end follows from the rule that the document names, or from the one rule for orders that the files in force
    have; under none it holds as it says.
    Raises: InputError for an item the book does not have, a rule that there is not, or a form that it does not let.
    """
    name = book.chance(8).hex()
    with book.writing() as page:
        for slip, line in asked.items:
            reading.item_row(page.connection, book.origin, slip, line)
        told = {**asked.record(), **_ruled(page, asked)}
        told |= _notice_due(page, ordered.Given(name, told, ()))
        held = [book.hold("order", told, name)]
        entry = page.append("hold-order/0", about=[f"hold/{name}"], public={}, held=held)
    # From here on the items are held.
    return name, entry


def _ruled(page: Page, asked: OrderAsked) -> dict[str, Any]:
    """The rule under which an order stands, if any, and when it was notified."""
    if asked.rule == "none":
        return {}
    day = asked.notified.date()
    shop = {"shop": adopted.told_on(page.connection, page.book.origin, day.isoformat())}
    known = {
        f"{file.jurisdiction}/{rule.id}": {"rule": rule.id, "jurisdiction": file.jurisdiction, "digest": file.digest}
        for file in adopted.in_force(page.connection, page.book.origin)
        if day >= file.known_from
        for rule in file.on(day)
        if isinstance(rule, OrderRule) and scope(rule, shop).applies is not False
    }
    if not known and not asked.rule:
        return {}
    name = asked.rule or (next(iter(known)) if len(known) == 1 else "")
    if name not in known:
        wanted = f"the rule it stands under, one of {', '.join(sorted(known)) or 'none'}; or 'none'"
        raise InputError(field="rule", given=asked.rule or Said("nothing"), wanted=wanted)
    return {"rule": known[name], "notified": local_text(asked.notified)}


def _notice_due(page: Page, given: ordered.Given) -> dict[str, str | None]:
    """By when the shop must write to the authority, the earliest over the items: so that a machine can remind of it."""
    due = [
        one.state.notice_due
        for slip, line in given.said["items"]
        for one in _on(page, given, slip, line)
        if one.state is not None and one.state.notice_due is not None
    ]
    return {"notice_due": local_text(min(due, key=utc)) if due else None}


def _on(page: Page, given: ordered.Given, slip: int, line: int) -> list[ordered.OnItem]:
    connection, book = page.connection, page.book
    now = page.now.astimezone(given.from_.tzinfo)
    holds = leaving.holds_of(connection, book, slip, line)
    return ordered.on_item(connection, book, [given], slip, line, holds, now)


def note(book: Book, name: str, event: str, *, at: datetime, by: str, said: str = "") -> Entry:
    """The entry that something happened with an order.

    event: confirmed (in writing, after it was spoken), notice (the shop's own, before the end) or renewed. at: when;
    not ahead. by: who confirmed, renewed or gave notice.
    Raises: InputError when no such order stands, or a written one is to be confirmed.
    """
    if event not in ordered.NOTED:
        raise InputError(field="event", given=event, wanted="one of " + ", ".join(ordered.NOTED))
    with book.writing() as page:
        noted_at = page.must_have_happened(at)
        given = ordered.given(page.connection, book, name, _standing_seq(page, name))
        if event == "confirmed" and given.said["form"] == "written":
            raise InputError(field="order", given=f"{name}, written", wanted="an order that was spoken")
        if at < given.from_:
            wanted = f"a moment from {local_text(given.from_)} on, when the order began"
            raise InputError(field="at", given=local_text(at), wanted=wanted)
        told = {"event": event, "at": noted_at, "by": by, "said": said}
        again = ordered.Given(name, given.said, (*given.noted, told))
        held = [book.hold("order", {**told, **_notice_due(page, again)}, name)]
        return page.append("hold-noted/0", about=[f"hold/{name}"], public={}, held=held, occurred_at=noted_at)


def _standing_seq(page: Page, name: str) -> int:
    """Number of the entry in which an order was given. Raises: InputError when no such order stands."""
    row = tables.orders.c
    wanted = sa.select(row.state, row.seq).where(row.book == page.book.origin, row.hold == name)
    found = page.connection.execute(wanted).first()
    if found is None or found.state != "standing":
        raise InputError(field="order", given=name, wanted="the id of an order that stands; see `hold list`")
    return int(found.seq)


def gone(book: Book, asked: OrderAsked) -> dict[str, str]:
    """State of each ordered item that is not in stock, by its name: an order cannot hold what is not here."""
    with engines.reading(book.engine) as connection:
        found = {f"{slip}/{line}": reading.item_row(connection, book.origin, slip, line) for slip, line in asked.items}
    return {name: row.state for name, row in found.items() if row.state != "in stock"}


def lift(book: Book, name: str, *, at: datetime, by: str, form: str) -> Entry:
    """The entry that an order no longer stands.

    at: when it was lifted; not ahead. by: who lifted it, for which agency. form: written, spoken or court-order.
    Raises: InputError when no such order stands, or its rule lets it be released in other forms only.
    """
    with book.writing() as page:
        lifted_at = page.must_have_happened(at)
        given = ordered.given(page.connection, book, name, _standing_seq(page, name))
        forms = _release(page, given)
        if form not in forms:
            raise InputError(field="form", given=form, wanted=" or ".join(repr(one) for one in forms))
        held = [book.hold("order", {"lifted_by": by, "form": form, "at": lifted_at}, name)]
        return page.append("hold-lifted/0", about=[f"hold/{name}"], public={}, held=held, occurred_at=lifted_at)


def must_state(book: Book, name: str) -> tuple[str, ...]:
    """What an order must state by its rule, so that the clerk can look whether it does. Raises: LockedError."""
    with engines.reading(book.engine) as connection:
        (given,) = (one for one in ordered.standing(connection, book) if one.id == name)
        rule = _rule_of(connection, book, given)
    return () if rule is None else rule.asks_for


RELEASED = ("written", "spoken", "court-order")


def _release(page: Page, given: ordered.Given) -> tuple[str, ...]:
    """The forms in which an order may be released."""
    rule = _rule_of(page.connection, page.book, given)
    return RELEASED if rule is None else rule.release or RELEASED


def _rule_of(connection: sa.Connection, book: Book, given: ordered.Given) -> OrderRule | None:
    """The version of the rule under which an order stands; None for an order under no rule."""
    if "rule" not in given.said:
        return None
    name = given.said["rule"]
    file = adopted.rule_file(connection, book.origin, name["digest"])
    versions = file.on(parse_local(given.said["notified"], "notified").date())
    return next(one for one in versions if isinstance(one, OrderRule) and one.id == name["rule"])


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
    """ids of orders that were not lifted and have not ended"""
    holds: tuple[law.Hold, ...] = ()
    on_orders: tuple[ordered.OnItem, ...] = ()

    def free_at(self, moment: datetime) -> bool:
        """Whether no hold and no order forbids selling it now."""
        return self.waiting_for is None and (self.cautious is None or utc(self.cautious) <= utc(moment))


def standing(book: Book, *, at: datetime | None = None) -> Sequence[Standing]:
    """Every item in stock, oldest first.

    at: now, in the shop's zone; without it, the machine's clock. Raises: LockedError (orders lie in the vault).
    """
    with engines.reading(book.engine) as connection:
        item = tables.items.c
        wanted = (
            sa.select(tables.items)
            .where(item.book == book.origin, item.state.in_(leaving.OURS))
            .order_by(item.slip, item.line)
        )
        orders = ordered.standing(connection, book)
        now = at or _now(connection, book)
        return [_standing(connection, book, row, orders, now) for row in connection.execute(wanted).all()]


def standing_of(connection: sa.Connection, book: Book, slip: int, line: int, *, at: datetime | None = None) -> Standing:
    """From when one item may leave. at: as `standing`."""
    row = reading.item_row(connection, book.origin, slip, line)
    return _standing(connection, book, row, ordered.standing(connection, book), at or _now(connection, book))


def _now(connection: sa.Connection, book: Book) -> datetime:
    moment = book.clock()
    return moment.astimezone(adopted.shop_on(connection, book.origin, moment.date().isoformat()).zoneinfo())


def _standing(
    connection: sa.Connection, book: Book, row: sa.Row[Any], orders: Sequence[ordered.Given], now: datetime
) -> Standing:
    holds = leaving.holds_of(connection, book, row.slip, row.line)
    on_item = ordered.on_item(connection, book, orders, row.slip, row.line, holds, now)
    leave = law.leave(holds, [one.order for one in on_item])
    return Standing(
        slip=row.slip,
        line=row.line,
        words=row.words,
        place=row.place,
        plain=leave.plain,
        cautious=leave.cautious,
        waiting_for=leave.waiting_for,
        sources=tuple(f"{hold.jurisdiction}/{hold.rule}: {hold.source}" for hold in holds),
        orders=tuple(one.given.id for one in on_item if not _is_over(one.order, now)),
        holds=tuple(holds),
        on_orders=tuple(on_item),
    )


def _is_over(order: law.Order, now: datetime) -> bool:
    end = order.ends()[1]
    return end is not None and end <= now
