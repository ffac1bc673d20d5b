"""Which reports are owed to whom, where each stands, and which of them is late.

A report is owed until what its rule asks was done: made, sent, delivered, or proved to be received. One that was
corrected after it had left the shop is owed again. Nothing here needs a key, so that a machine can look at night.
"""

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import sqlalchemy as sa

from ledger.book import duty_rows, reading, tables
from ledger.book import engine as engines
from ledger.book.pages import Book
from ledger.chain import canonical
from ledger.errors import InputError
from ledger.law import reports as law_reports
from ledger.law.counting import utc
from ledger.moments import local_text, parse_local, parse_moment
from ledger.shop import adopted

TO_BE_MADE = ("due", "made", "to correct")
"""states of a report that can be made, or made again"""


@dataclass(frozen=True)
class Owed:
    """A report and where it stands."""

    report: str
    recipient: str
    jurisdiction: str
    rule: str
    digest: str
    period: str
    """first and last day, with a slash; the purchase's day for a report per purchase"""
    slips: tuple[int, ...]
    due: datetime
    state: str
    """due | made | sent | delivered | received | to correct"""
    title: str
    """as its rule names it"""
    met_by: str
    """the step that its rule asks: made | sent | delivered | received"""
    met_at: datetime | None = None
    """when that step was first taken"""
    left: bool = False
    """whether a version of it left the shop"""

    @property
    def fulfilled(self) -> bool:
        """Whether what its rule asks was done, with the newest version of it."""
        steps = duty_rows.STEPS
        return self.state in steps and steps.index(self.state) >= steps.index(self.met_by)

    def late_at(self, now: datetime) -> bool:
        """Whether what its rule asks was done after it was due, or was not done and is due."""
        return utc(self.met_at or now) > utc(self.due)

    def lateness(self, now: datetime) -> str:
        """Why it is late, in words; nothing for one that is not."""
        if not self.late_at(now):
            return ""
        words = _NOT_YET[self.met_by]
        return f"{words} by the time it was due" if self.met_at is None else f"{self.met_by} after it was due"

    def record(self) -> dict[str, Any]:
        """JSON values only."""
        return {
            "report": self.report,
            "title": self.title,
            "recipient": self.recipient,
            "jurisdiction": self.jurisdiction,
            "rule": self.rule,
            "period": self.period,
            "slips": list(self.slips),
            "due": local_text(self.due),
            "state": self.state,
            "met_by": self.met_by,
            "met_at": None if self.met_at is None else local_text(self.met_at),
        }


_NOT_YET = {"made": "not made", "sent": "not sent", "delivered": "not delivered", "received": "no receipt"}


def owed(book: Book, *, at: datetime) -> list[Owed]:
    """Reports whose duty is not fulfilled and whose period is over, nil reports too; earliest due first.

    at: now, in the shop's zone. Needs no key.
    """
    with engines.reading(book.engine) as connection:
        known = {one.report: one for one in _known(connection, book, _NOT_FULFILLED)}
        told = _named(connection, book)
        for one in _of_periods(connection, book, at):
            if one.report not in told:
                known[one.report] = one
    return sorted(
        (one for one in known.values() if not one.fulfilled and over(one, at)),
        key=lambda one: (one.due, one.report),
    )


def _named(connection: sa.Connection, book: Book) -> set[str]:
    """Ids of the reports of days and weeks that the book's tables hold."""
    report = tables.reports.c
    wanted = sa.select(report.report).where(report.book == book.origin, report.period != "")
    return set(connection.execute(wanted).scalars())


def every(book: Book, *, at: datetime) -> list[Owed]:
    """Every report that the book knows of, and those that are owed without a purchase; oldest due first."""
    with engines.reading(book.engine) as connection:
        return every_in(connection, book, at)


def due_since(connection: sa.Connection, book: Book, first: date, at: datetime) -> list[Owed]:
    """Every report that was due on a day or later, or will be, as `every` has them."""
    due = tables.reports.c.due
    known = {one.report: one for one in _known(connection, book, sa.func.substr(due, 1, 10) >= first.isoformat())}
    told = _named(connection, book)
    for one in _of_periods(connection, book, at):
        if one.report not in told and one.due.date() >= first:
            known[one.report] = one
    return sorted(known.values(), key=lambda one: (one.due, one.report))


def every_in(connection: sa.Connection, book: Book, at: datetime) -> list[Owed]:
    """The same within a transaction."""
    known = {one.report: one for one in _known(connection, book, sa.true())}
    for one in _of_periods(connection, book, at):
        known.setdefault(one.report, one)
    return sorted(known.values(), key=lambda one: (one.due, one.report))


def one_of(connection: sa.Connection, book: Book, report: str, at: datetime) -> Owed:
    """The report with an id. Raises: InputError when none is known or owed."""
    for one in itertools.chain(
        _known(connection, book, tables.reports.c.report == report), _of_periods(connection, book, at)
    ):
        if one.report == report:
            return one
    raise InputError(field="report", given=report, wanted="the id of a report; see `counterfoil report due`")


def over(one: Owed, at: datetime) -> bool:
    """A report about a day or week can be made once it is over; one about a purchase, or asked for, at once.

    One that must be there before its period is over is made on the last day.
    """
    if one.report.startswith(("purchase-", "request-")):
        return True
    last = date.fromisoformat(one.period.partition("/")[2])
    midnight = datetime.combine(last + timedelta(days=1), time(), one.due.tzinfo)
    return last < at.date() or (last == at.date() and one.due <= midnight)


_NOT_FULFILLED = sa.or_(
    tables.reports.c.state.not_in(duty_rows.STEPS),
    *(
        sa.and_(tables.reports.c.state == step, tables.reports.c.met_by.in_(duty_rows.STEPS[place + 1 :]))
        for place, step in enumerate(duty_rows.STEPS[:-1])
    ),
)
"""reports with which less was done than their rule asks"""


def _known(connection: sa.Connection, book: Book, which: sa.ColumnElement[bool]) -> Iterator[Owed]:
    """Those of the reports that the book's tables hold, with the purchase's day where one has no period."""
    kept = tables.reports
    rows = connection.execute(sa.select(kept).where(kept.c.book == book.origin, which)).all()
    told = [tuple(canonical.decode_array(row.slips.encode())) for row in rows]
    days = _days_of(connection, book, [slips[0] for row, slips in zip(rows, told, strict=True) if not row.period])
    for row, slips in zip(rows, told, strict=True):
        period = row.period or f"{days[slips[0]]}/{days[slips[0]]}"
        yield Owed(
            row.report,
            row.recipient,
            row.jurisdiction,
            row.rule,
            row.digest,
            period,
            slips,
            parse_local(row.due, "due"),
            row.state,
            row.title,
            row.met_by,
            None if row.met_at is None else parse_local(row.met_at, "met_at"),
            any((row.sent_at, row.delivered_at, row.received_at)),
        )


def _days_of(connection: sa.Connection, book: Book, slips: Sequence[int]) -> dict[int, str]:
    """The local days of some slips, read in one go."""
    slip = tables.slips.c
    wanted = sa.select(slip.slip, slip.local_day).where(slip.book == book.origin, reading.spanning(slip.slip, slips))
    found = connection.execute(wanted)
    return {int(number): str(day) for number, day in found}


def _of_periods(connection: sa.Connection, book: Book, at: datetime) -> Iterator[Owed]:
    """Reports of days and weeks that are owed even if nothing was bought, since each file's first adoption."""
    files = adopted.in_force(connection, book.origin)
    first = first_days(connection, book, at)
    day = min(first.values(), default=at.date())
    while files and day <= at.date():
        facts = {"shop": adopted.told_on(connection, book.origin, day.isoformat())}
        for duty in law_reports.owed(files, on=day, zone=shops_zone(at), facts=facts):
            if duty.nil and duty.covers is not None and duty.covers[0] >= first[duty.jurisdiction]:
                record = duty.record()
                yield Owed(
                    duty_rows.report_id(record, 0),
                    duty.recipient,
                    duty.jurisdiction,
                    duty.rule,
                    duty.digest,
                    "/".join(record["covers"]),
                    (),
                    duty.due,
                    "due",
                    duty.title,
                    duty_rows.met_by_of(record),
                )
        day += timedelta(days=1)


def shops_zone(at: datetime) -> ZoneInfo:
    """The zone of a moment. Raises: InputError for one without a named zone."""
    if not isinstance(at.tzinfo, ZoneInfo):
        raise InputError(field="at", given=at.isoformat(), wanted="a moment in the shop's zone")
    return at.tzinfo


def first_days(connection: sa.Connection, book: Book, at: datetime) -> dict[str, date]:
    """The day on which a rule file of each jurisdiction was first adopted: it governs whole periods from then on."""
    adoption = tables.adoptions.c
    wanted = (
        sa.select(adoption.jurisdiction, sa.func.min(adoption.seq))
        .where(adoption.book == book.origin)
        .group_by(adoption.jurisdiction)
    )
    found = {}
    for jurisdiction, seq in connection.execute(wanted).all():
        entry = reading.entry_at(connection, book.origin, int(seq))
        found[jurisdiction] = parse_moment(entry.recorded_at, "recorded_at").astimezone(at.tzinfo).date()
    return found
