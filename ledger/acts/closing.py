"""Closes a shop's day and seals the book.

A close counts what happened on the day. With the vault open it also counts the money, and a seal is signed; an
unattended close without the keys holds the plain counts and makes no seal: the next unlocked one does, and adds the
money of the days that were closed without.
"""

from collections import Counter
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

import sqlalchemy as sa

from ledger.acts import owing
from ledger.book import reading, tables
from ledger.book.pages import Book, Page
from ledger.chain import seals
from ledger.chain.entries import Entry
from ledger.errors import InputError
from ledger.shop import adopted


@dataclass(frozen=True)
class Closed:
    """A day's close, and the seal over it, if one could be signed."""

    entry: Entry
    counts: dict[str, int]
    seal: str | None


def close(book: Book, day: date) -> Closed:
    """The entry that closes a local day. Raises: InputError when that day has not begun or is closed already."""
    with book.writing() as page:
        _must_have_begun(page, day)
        _must_be_open(page, day)
        counts = _counts(page, day)
        held = []
        if book.keys is not None:
            days = [*_without_money(page), day.isoformat()]
            held = [book.hold("counts/money", _money(page, one), f"day-{one}") for one in days]
        entry = page.append(
            "day-closed/0",
            about=[f"day/{day.isoformat()}"],
            public={"day": day.isoformat(), "counts": counts},
            held=held,
        )
        note = page.seal() if book.keys is not None else None
    # From here on the day is closed; whoever keeps the seal can tell later whether anything before it was changed.
    return Closed(entry, counts, note)


def seal(book: Book) -> str:
    """The signed seal over the whole book as it stands. Raises: LockedError, InputError for an empty book."""
    with book.writing() as page:
        return page.seal()


def short(note: str) -> str:
    """The form of a seal that is printed: size and the first digits of the root."""
    sealed = seals.read_seal(note)
    return seals.short_form(sealed.size, sealed.root)


def _must_have_begun(page: Page, day: date) -> None:
    today = adopted.local_day(page.connection, page.book.origin, page.now)
    if day > today:
        raise InputError(field="day", given=day.isoformat(), wanted=f"a day that has begun; today is {today}")


def _without_money(page: Page) -> list[str]:
    """Days closed without the keys since the last close that counted money, oldest first."""
    row, found = tables.days.c, []
    wanted = sa.select(row.day, row.seq).where(row.book == page.book.origin).order_by(row.seq.desc())
    for day, seq in page.connection.execute(wanted).all():
        if reading.entry_at(page.connection, page.book.origin, seq).parts:
            break
        found.append(str(day))
    return found[::-1]


def _must_be_open(page: Page, day: date) -> None:
    row = tables.days.c
    wanted = sa.select(row.seq).where(row.book == page.book.origin, row.day == day.isoformat())
    closed = page.connection.execute(wanted).scalar()
    if closed is not None:
        raise InputError(field="day", given=day.isoformat(), wanted=f"a day not closed yet; entry {closed} closed it")


def _counts(page: Page, day: date) -> dict[str, int]:
    """What the derived tables say of the day: slips by state, items bought, reports still owed."""
    book, slip, item = page.book.origin, tables.slips.c, tables.items.c
    on_day = sa.select(slip.slip, slip.state).where(slip.book == book, slip.local_day == day.isoformat())
    states = Counter(state for _, state in page.connection.execute(on_day))
    numbers = sa.select(slip.slip).where(slip.book == book, slip.local_day == day.isoformat())
    bought = sa.select(sa.func.count()).where(
        item.book == book, item.slip.in_(numbers), item.state.not_in(("declined", "no offer", "offered", "withdrawn"))
    )
    return {
        **{f"slips_{state}": count for state, count in sorted(states.items())},
        "items_bought": int(page.connection.execute(bought).scalar_one()),
        "reports_not_sent": _not_sent(page, day),
    }


def _not_sent(page: Page, day: date) -> int:
    """Reports due by the end of the day for which what their rule asks was not done."""
    here = page.now.astimezone(adopted.shop_on(page.connection, page.book.origin, day.isoformat()).zoneinfo())
    midnight = datetime.combine(day + timedelta(days=1), time(), here.tzinfo)
    return sum(
        1 for one in owing.every_in(page.connection, page.book, here) if not one.fulfilled and one.due <= midnight
    )


def _money(page: Page, day: str) -> list[dict[str, Any]]:
    """Totals of recorded slips of a day (ISO), by currency."""
    slip = tables.slips.c
    wanted = (
        sa.select(slip.currency, sa.func.sum(slip.total_minor))
        .where(
            slip.book == page.book.origin,
            slip.local_day == day,
            slip.state == "recorded",
            slip.currency.is_not(None),
        )
        .group_by(slip.currency)
        .order_by(slip.currency)
    )
    return [{"currency": currency, "minor": int(total)} for currency, total in page.connection.execute(wanted)]
