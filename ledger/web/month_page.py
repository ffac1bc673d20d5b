"""The month in pictures: money out, fine weight by metal, spread to spot, holds, evidence that disagreed, reports.

Decides: which picture each sum becomes, and that the same numbers stand below it in a table. Leaves the sums to
`acts.month` and `acts.rates`, the shapes to `drawings`.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from markupsafe import Markup

from ledger.acts import month, rates, wording
from ledger.acts.month import Fine, Month, Paid
from ledger.acts.rates import Rate, per_cent
from ledger.measures import Money, grams
from ledger.web import drawings
from ledger.web.visits import OWNERS, Route, Visit

if TYPE_CHECKING:
    from starlette.responses import Response


@dataclass(frozen=True)
class Picture:
    """A drawing, and the same numbers as a table."""

    title: str
    drawn: Markup
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def page(visit: Visit) -> "Response":
    """One month; the running one where none is named."""
    name = visit.query.get("month") or f"{visit.now:%Y-%m}"
    found = month.month(visit.book, name)
    half_year = (found.first - timedelta(days=150)).replace(day=1)
    known = [one for one in rates.rates(visit.book, at=visit.now, since=half_year) if one.month <= name]
    weekly = visit.query.get("by") == "week"
    return visit.page(
        "month.html",
        month=found,
        name=name,
        called=f"{found.first:%B %Y}",
        before=f"{found.first - timedelta(days=1):%Y-%m}",
        after=f"{month.after(found.first):%Y-%m}",
        weekly=weekly,
        pictures=[*_money(found, weekly), *_fine(found, weekly), *_spread(found), *_holds(found), *_rates(known)],
        rate=next((one for one in known if one.month == name), None),
        per_cent=per_cent,
    )


def _days(found: Month, weekly: bool) -> list[str]:
    """The days of a month, or the first days of its weeks."""
    days = [found.first + timedelta(days=number) for number in range((found.last - found.first).days + 1)]
    return [day.isoformat() for day in days if not weekly or day == found.first or day.weekday() == 0]


def _named(days: Iterable[str], weekly: bool) -> list[str]:
    return [f"from {int(day[8:])}" if weekly else str(int(day[8:])) for day in days]


def _money(found: Month, weekly: bool) -> Iterator[Picture]:
    rows: Sequence[Paid] = found.paid_by_week() if weekly else found.paid
    days = _days(found, weekly)
    for currency in sorted({one.currency for one in rows}):
        mine = {one.day: one for one in rows if one.currency == currency}
        total = Money(currency, sum(one.minor for one in mine.values()))
        slips = sum(one.slips for one in mine.values())
        title = f"Money out: {total}"
        values = [
            (label, mine[day].minor, str(Money(currency, mine[day].minor))) if day in mine else (label, 0, "")
            for day, label in zip(days, _named(days, weekly), strict=True)
        ]
        says = f"{total} for {slips} slips; the table below has each {'week' if weekly else 'day'}."
        table = [(day, str(Money(currency, one.minor)), str(one.slips)) for day, one in mine.items()]
        yield Picture(
            title,
            drawings.bars(f"money-{currency}", title, says, values),
            ("week from" if weekly else "day", "paid", "slips"),
            (*table, ("together", str(total), str(slips))),
        )


def _fine(found: Month, weekly: bool) -> Iterator[Picture]:
    rows: Sequence[Fine] = found.fine_by_week() if weekly else found.fine
    days = _days(found, weekly)
    for number, metal in enumerate(sorted({one.metal for one in rows})):
        mine = {one.day: one for one in rows if one.metal == metal}
        total, items = sum(one.fine_mg for one in mine.values()), sum(one.items for one in mine.values())
        title = f"Fine weight, {metal}: {grams(total)} g"
        values = [
            (label, mine[day].fine_mg, f"{grams(mine[day].fine_mg)} g") if day in mine else (label, 0, "")
            for day, label in zip(days, _named(days, weekly), strict=True)
        ]
        says = f"{grams(total)} g of pure {metal} in {items} items; the table below has each day or week."
        table = [(day, f"{grams(one.fine_mg)} g", str(one.items)) for day, one in mine.items()]
        yield Picture(
            title,
            drawings.bars(f"fine-{number}", title, says, values),
            ("week from" if weekly else "day", "fine weight paid on", "items"),
            (*table, ("together", f"{grams(total)} g", str(items))),
        )


def _spread(found: Month) -> Iterator[Picture]:
    for currency in sorted({one.currency for one in found.spread}):
        mine = [one for one in found.spread if one.currency == currency]
        shares = [
            (one.metal, one.paid_minor, one.melt_minor, f"{per_cent(one.paid_ppm // 1000)} of spot") for one in mine
        ]
        title = f"Spread to spot, {currency}"
        says = "Outlined: what the metal was worth at spot. Filled: what was paid. The table below has both."
        yield Picture(
            title,
            drawings.shares(f"spread-{currency}", title, says, shares),
            ("metal", "items", "worth at spot", "paid", "paid of spot", "spread"),
            tuple(
                (
                    one.metal,
                    str(one.items),
                    str(Money(currency, one.melt_minor)),
                    str(Money(currency, one.paid_minor)),
                    per_cent(one.paid_ppm // 1000),
                    str(Money(currency, one.kept_minor)),
                )
                for one in mine
            ),
        )


def _holds(found: Month) -> Iterator[Picture]:
    if not found.held:
        return
    ends = [one.last.date() for one in found.held if one.last is not None]
    last = max([found.last, *ends])
    title = "Holds, by the day of purchase"
    says = "Filled: held until the first may leave. Hatched: until the last may. An arrow: something has no date yet."
    rows = [
        (
            f"{int(one.day[8:])} {found.first:%b}, {one.items}",
            found.first.replace(day=int(one.day[8:])),
            one.first,
            one.last,
            bool(one.waiting),
        )
        for one in found.held
    ]
    yield Picture(
        title,
        drawings.spans("holds", title, says, found.first, last, rows),
        ("bought on", "items", "first may leave from", "last may leave from", "without a date", "not held"),
        tuple(
            (
                one.day,
                str(one.items),
                "-" if one.first is None else wording.short(one.first),
                "-" if one.last is None else wording.short(one.last),
                str(one.waiting),
                str(one.free),
            )
            for one in found.held
        ),
    )


def _rates(known: Sequence[Rate]) -> Iterator[Picture]:
    if not known:
        return
    title = "Reports that were late, by month"
    says = "Late reports of those due in each month; the table below has them beside those that told something wrong."
    values = [(one.month, one.late_tenths or 0, per_cent(one.late_tenths)) for one in known]
    yield Picture(
        title,
        drawings.bars("late", title, says, values),
        ("month", "due", "late", "of those due", "left", "wrong", "of those that left", "named by the authority"),
        tuple(
            (
                one.month,
                str(one.due),
                str(one.late),
                per_cent(one.late_tenths),
                str(one.out),
                str(one.wrong),
                per_cent(one.wrong_tenths),
                "not known" if one.named is None else str(one.named),
            )
            for one in known
        ),
    )


ROUTES: tuple[Route, ...] = (Route(method="GET", path="/month", page=page, who=OWNERS, name="month", place="Month"),)
