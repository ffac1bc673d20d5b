"""One month of the shop in sums: money out, fine weight by metal, spread to spot, holds, evidence that disagreed.

Decides: what counts as bought (recorded and not undone, item by item), on which day (the shop's day of the purchase),
and what is summed. Every sum is of whole numbers. What the metal was worth lies in the vault, so this asks for an
open book; what was forgotten is counted as not known, never as nought.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

import sqlalchemy as sa

from ledger.acts import aftermath, gathering, leaving
from ledger.acts.rates import first_day
from ledger.assay.assessments import STANDING_WORDS
from ledger.book import engine as engines
from ledger.book import reading, tables
from ledger.book.pages import Book
from ledger.chain import canonical
from ledger.errors import LockedError
from ledger.law.counting import utc

UNKNOWN_METAL = "metal not shown"
_AGAINST = ("below", "contrary")
"""standings in which the evidence speaks against the mark"""


@dataclass(frozen=True)
class Paid:
    """What the shop gave for the goods of one day."""

    day: str
    currency: str
    minor: int
    slips: int


@dataclass(frozen=True)
class Fine:
    """Pure metal bought on one day."""

    day: str
    metal: str
    fine_mg: int
    items: int


@dataclass(frozen=True)
class Spread:
    """What was paid for a metal against what it was worth at the spot price of the purchase."""

    metal: str
    currency: str
    items: int
    paid_minor: int
    melt_minor: int

    @property
    def paid_ppm(self) -> int:
        """What was paid, in parts per million of the melt value, rounded down; nought of nothing."""
        return self.paid_minor * 1_000_000 // self.melt_minor if self.melt_minor else 0

    @property
    def kept_minor(self) -> int:
        """Melt value less what was paid: the spread in money."""
        return self.melt_minor - self.paid_minor


@dataclass(frozen=True)
class Held:
    """The holds on what was bought on one day, as rule files let them run."""

    day: str
    items: int
    first: datetime | None
    """the earliest moment at which one of them may leave, the cautious reading; None: nothing has a date yet"""
    last: datetime | None
    waiting: int
    """items whose hold has no end yet, since it waits for something"""
    free: int
    """items that no rule holds"""


@dataclass(frozen=True)
class Disagreed:
    """An item of which something in the evidence, or the clerk, spoke against something else."""

    slip: int
    line: int
    words: str
    why: tuple[str, ...]


@dataclass(frozen=True)
class Month:
    """All of it."""

    first: date
    paid: tuple[Paid, ...]
    fine: tuple[Fine, ...]
    spread: tuple[Spread, ...]
    not_valued: int
    """items bought whose melt value the book does not hold, or no longer"""
    held: tuple[Held, ...]
    disagreed: tuple[Disagreed, ...]
    items: int

    @property
    def last(self) -> date:
        """The month's last day."""
        return after(self.first) - timedelta(days=1)

    def paid_by_week(self) -> tuple[Paid, ...]:
        """The money by weeks from Monday, each named by its first day in the month."""
        return tuple(
            Paid(week, currency, sum(one.minor for one in those), sum(one.slips for one in those))
            for (week, currency), those in self._weekly(self.paid, "currency")
        )

    def fine_by_week(self) -> tuple[Fine, ...]:
        """The pure metal by weeks from Monday, each named by its first day in the month."""
        return tuple(
            Fine(week, metal, sum(one.fine_mg for one in those), sum(one.items for one in those))
            for (week, metal), those in self._weekly(self.fine, "metal")
        )

    def _weekly(self, rows: Iterable[Any], name: str) -> Iterator[tuple[tuple[str, str], list[Any]]]:
        grouped: dict[tuple[str, str], list[Any]] = {}
        for row in rows:
            day = date.fromisoformat(row.day)
            week = max(self.first, day - timedelta(days=day.weekday()))
            grouped.setdefault((week.isoformat(), getattr(row, name)), []).append(row)
        yield from sorted(grouped.items())


def after(first: date) -> date:
    """The first day of the month after.

    >>> after(date(2026, 12, 1))
    datetime.date(2027, 1, 1)
    """
    return (first + timedelta(days=31)).replace(day=1)


def month(book: Book, name: str) -> Month:
    """A month of the book, as 2026-10. Raises: InputError for what is no month, LockedError."""
    first = first_day(name)
    if book.keys is None:
        raise LockedError(what="The month in pictures", why="what metal was worth lies in the vault")
    with engines.reading(book.engine) as connection:
        slips = _slips(connection, book.origin, first)
        items = _items(connection, book.origin, slips)
        spread, not_valued, disagreed = _opened(connection, book, slips, items)
        return Month(
            first,
            tuple(_paid(slips.values())),
            tuple(_fine(slips, items)),
            spread,
            not_valued,
            tuple(_held(connection, book.origin, slips, items)),
            disagreed,
            len(items),
        )


def _slips(connection: sa.Connection, book: str, first: date) -> dict[int, sa.Row[Any]]:
    """Slips of the month that were recorded and not undone, by number."""
    slip = tables.slips.c
    wanted = (
        sa.select(tables.slips)
        .where(slip.book == book, slip.state == "recorded")
        .where(slip.local_day >= first.isoformat(), slip.local_day < after(first).isoformat())
        .order_by(slip.slip)
    )
    return {int(row.slip): row for row in connection.execute(wanted)}


def _items(connection: sa.Connection, book: str, slips: Mapping[int, Any]) -> list[sa.Row[Any]]:
    """Items that were bought with the slips, in their order."""
    item = tables.items.c
    wanted = (
        sa.select(tables.items)
        .where(item.book == book, reading.spanning(item.slip, slips), item.state.not_in(aftermath.NOT_BOUGHT))
        .order_by(item.slip, item.line)
    )
    return [row for row in connection.execute(wanted) if row.slip in slips]


def _paid(slips: Iterable[sa.Row[Any]]) -> Iterator[Paid]:
    sums: dict[tuple[str, str], list[int]] = {}
    for row in slips:
        if row.currency is not None:
            sums.setdefault((row.local_day, row.currency), []).append(row.total_minor)
    for (day, currency), minors in sorted(sums.items()):
        yield Paid(day, currency, sum(minors), len(minors))


def _metal(row: sa.Row[Any]) -> str:
    found = canonical.decode(row.assessment.encode()).get("metal")
    return str(found) if found else UNKNOWN_METAL


def _fine(slips: Mapping[int, sa.Row[Any]], items: Iterable[sa.Row[Any]]) -> Iterator[Fine]:
    sums: dict[tuple[str, str], list[int]] = {}
    for row in items:
        if row.fine_mg is not None:
            sums.setdefault((slips[row.slip].local_day, _metal(row)), []).append(row.fine_mg)
    for (day, metal), weights in sorted(sums.items()):
        yield Fine(day, metal, sum(weights), len(weights))


def _opened(
    connection: sa.Connection, book: Book, slips: Mapping[int, sa.Row[Any]], items: Iterable[sa.Row[Any]]
) -> tuple[tuple[Spread, ...], int, tuple[Disagreed, ...]]:
    """What only the vault tells: what the metal was worth, which conflicts there were, what the clerk concluded."""
    corrected = _corrected(connection, book.origin, slips)
    opened = {
        number: gathering.whole(connection, book, number).today
        if number in corrected
        else _parts(connection, book, row)
        for number, row in slips.items()
    }
    sums: dict[tuple[str, str], list[tuple[int, int]]] = {}
    not_valued, disagreed = 0, []
    for row in items:
        told = opened[row.slip]
        melt = told.get(f"item/{row.line}/price", {}).get("value", {}).get("melt_value")
        if melt is None or row.currency != melt["currency"]:
            not_valued += 1
        else:
            sums.setdefault((_metal(row), row.currency), []).append((row.offer_minor, melt["minor"]))
        if why := tuple(_against(row, told)):
            disagreed.append(Disagreed(row.slip, row.line, row.words, why))
    spread = (
        Spread(metal, currency, len(pairs), sum(paid for paid, _ in pairs), sum(melt for _, melt in pairs))
        for (metal, currency), pairs in sorted(sums.items())
    )
    return tuple(spread), not_valued, tuple(disagreed)


def _corrected(connection: sa.Connection, book: str, slips: Mapping[int, Any]) -> set[int]:
    row = tables.corrections.c
    wanted = sa.select(row.slip).where(row.book == book, reading.spanning(row.slip, slips))
    return {int(slip) for (slip,) in connection.execute(wanted)}


def _parts(connection: sa.Connection, book: Book, row: sa.Row[Any]) -> dict[str, Any]:
    """What was presented and recorded of a slip's goods and prices, by the names of parts; less what was forgotten."""
    presented = reading.open_entry(connection, book, row.presented_seq, classes=("item", "money"))
    recorded = reading.open_entry(connection, book, row.recorded_seq, classes=("item",))
    return dict((*presented.parts, *recorded.parts))


def _against(row: sa.Row[Any], told: Mapping[str, Any]) -> Iterator[str]:
    """What spoke against what, in sentences."""
    standing = canonical.decode(row.assessment.encode()).get("standing")
    if standing in _AGAINST:
        yield f"The assessment stands {STANDING_WORDS[standing]}."
    for conflict in told.get(f"item/{row.line}/assessment", {}).get("conflicts", ()):
        settled = conflict.get("settled_by")
        yield f"{conflict['what'].rstrip('.')}{f'; settled by {settled}' if settled else '; open'}."
    conclusion = told.get(f"item/{row.line}/conclusion", {})
    if conclusion.get("agrees") is False:
        yield f"The clerk concluded otherwise: {str(conclusion.get('because', 'no reason given')).rstrip('.')}."


def _held(
    connection: sa.Connection, book: str, slips: Mapping[int, sa.Row[Any]], items: Iterable[sa.Row[Any]]
) -> Iterator[Held]:
    """Day by day, what the rules hold of the goods that were bought on it."""
    ends = leaving.ends_of(connection, book, slips)
    days: dict[str, list[tuple[bool, datetime | None] | None]] = {}
    for row in items:
        days.setdefault(slips[row.slip].local_day, []).append(ends.get((row.slip, row.line)))
    for day, those in sorted(days.items()):
        dated = [one[1] for one in those if one is not None and not one[0] and one[1] is not None]
        yield Held(
            day,
            len(those),
            min(dated, key=utc, default=None),
            max(dated, key=utc, default=None),
            sum(one is not None and one[0] for one in those),
            sum(one is None for one in those),
        )
