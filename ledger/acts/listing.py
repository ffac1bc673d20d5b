"""Fills the papers about many slips: the day sheet and the list of what may not leave yet."""

from datetime import date, datetime
from typing import Any

import sqlalchemy as sa

from ledger.acts import handing_over, holding, leaving, wording
from ledger.book import reading, tables
from ledger.book.pages import Book
from ledger.chain import canonical
from ledger.law.holds import Hold, Leave
from ledger.measures import Money, grams, thousandths
from ledger.moments import parse_local
from ledger.shop import adopted
from reports import day_sheet, hold_list


def day_sheet_paper(connection: sa.Connection, book: Book, day: date, sheet: str, *, at: datetime) -> bytes:
    """Every item of a local day's slips, in order of entry, with counts. Raises: LockedError."""
    slip, item = tables.slips, tables.items
    found = connection.execute(
        sa.select(slip, item)
        .join(item, sa.and_(item.c.book == slip.c.book, item.c.slip == slip.c.slip))
        .where(slip.c.book == book.origin, slip.c.local_day == day.isoformat())
        .order_by(slip.c.slip, item.c.line)
    ).mappings()
    rows = [dict(row) for row in found]
    shop = adopted.shop_on(connection, book.origin, day.isoformat())
    paper = day_sheet.DaySheet(
        imprint=handing_over.imprint(
            connection, book, shop, None, copy="Shop's copy", recipient="the shop's own book", at=at
        ),
        day=f"{day:%A} {day.day} {day:%B %Y}",
        lines=tuple(_line(connection, book, row) for row in rows),
        counts=_counts(connection, book, day),
    )
    return day_sheet.draw(paper, sheet)


def _line(connection: sa.Connection, book: Book, row: dict[str, Any]) -> day_sheet.DayLine:
    number, line = int(row["slip"]), int(row["line"])
    assessed = canonical.decode(row["assessment"].encode())
    seen = assessed.get("seen")
    amount = "" if row["currency_1"] is None else str(Money(row["currency_1"], row["offer_minor"]))
    return day_sheet.DayLine(
        entry=int(row["recorded_seq"] or row["presented_seq"]),
        slip=number,
        line=line,
        time=parse_local(row["presented_at"], "at").strftime("%H:%M"),
        description=row["words"],
        weight="" if row["gross_mg"] is None else f"{grams(row['gross_mg'])} g",
        fineness=f"{thousandths(seen['low_ppm'])}-{thousandths(seen['high_ppm'])}" if seen else "not shown",
        amount=amount,
        may_leave=_leaves(holding.standing_of(connection, book, number, line)) if row["state_1"] == "in stock" else "",
        state=row["state_1"],
    )


def _counts(connection: sa.Connection, book: Book, day: date) -> tuple[tuple[str, str], ...]:
    slip = tables.slips.c
    wanted = (
        sa.select(slip.state, sa.func.count())
        .where(slip.book == book.origin, slip.local_day == day.isoformat())
        .group_by(slip.state)
        .order_by(slip.state)
    )
    return tuple((f"Slips {state}", str(count)) for state, count in connection.execute(wanted))


def hold_list_paper(connection: sa.Connection, book: Book, sheet: str, *, at: datetime) -> bytes:
    """Every item in stock: what holds it, or that it may leave."""
    standing = holding.standing(book, at=at)
    shop = adopted.shop_on(connection, book.origin, at.date().isoformat())
    paper = hold_list.HoldList(
        imprint=handing_over.imprint(
            connection, book, shop, None, copy="Shop's copy", recipient="the shop's own use", at=at
        ),
        as_of=wording.at(at),
        lines=tuple(_held(connection, book, one, at) for one in standing if not one.free_at(at)),
        free=tuple(_held(connection, book, one, at) for one in standing if one.free_at(at)),
    )
    return hold_list.draw(paper, sheet)


def _held(connection: sa.Connection, book: Book, one: holding.Standing, at: datetime) -> hold_list.HoldLine:
    row = reading.slip_row(connection, book.origin, one.slip)
    holds = leaving.holds_of(connection, book, one.slip, one.line)
    return hold_list.HoldLine(
        item=f"{one.slip}/{one.line}",
        description=one.words,
        place=one.place,
        received=wording.short(parse_local(row.presented_at, "at")),
        may_leave=_plainly(one),
        basis="; ".join(hold.source for hold in holds if not _ended(hold, at)),
        cautious="" if one.cautious in (None, one.plain) else wording.short(one.cautious),
        order=bool(one.orders) and not one.free_at(at),
    )


def _ended(hold: Hold, at: datetime) -> bool:
    return hold.waiting_for is None and hold.cautious is not None and hold.cautious <= at


def _plainly(one: holding.Standing) -> str:
    if one.orders and one.waiting_for is not None:
        return "held by an authority's order"
    if one.waiting_for is not None:
        return f"no date yet: waiting for {wording.awaited(one.waiting_for)}"
    return "no hold" if one.plain is None else wording.short(one.plain)


def _leaves(one: holding.Standing) -> str:
    return wording.leaves(Leave(one.plain, one.cautious, one.waiting_for), len(one.orders))
