"""How well reports were kept: of those due in a month, how many were late, and how many told something wrong.

A report was late when what its rule asks was done after it was due, or is not done and is due. It was wrong when a
corrected one followed it, or is owed, after it had left the shop; or when the authority's receipt names fields. Only
the last needs a key. Frequent faults can be an offence in themselves: Clovis, New Mexico, code 5.44.070, speaks of
"persistent or frequent erroneous or incomplete entries or delays".
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

import sqlalchemy as sa

from ledger.acts import owing
from ledger.acts.owing import Owed
from ledger.book import engine as engines
from ledger.book import reading, tables
from ledger.book.pages import Book
from ledger.errors import InputError

LEFT = ("report-sent", "report-delivered", "report-received")
"""kinds of entry that say that a report is out of the shop"""


@dataclass(frozen=True)
class Rate:
    """One month's reports, by the day on which they were due."""

    month: str
    """as 2026-10"""
    due: int
    """how many were due by now"""
    late: int
    """of these"""
    out: int
    """of these, how many left the shop in some version"""
    wrong: int
    """of those that left, how many told something wrong"""
    named: int | None
    """of the wrong ones, how many the authority named; None while the book is locked"""

    @property
    def late_tenths(self) -> int | None:
        """Late reports in tenths of a per cent of those due, rounded down; None where none was due."""
        return self.late * 1000 // self.due if self.due else None

    @property
    def wrong_tenths(self) -> int | None:
        """Wrong reports in tenths of a per cent of those that left, rounded down; None where none left."""
        return self.wrong * 1000 // self.out if self.out else None

    def record(self) -> dict[str, Any]:
        """JSON values only."""
        return {
            **{name: getattr(self, name) for name in ("month", "due", "late", "out", "wrong", "named")},
            "late_tenths": self.late_tenths,
            "wrong_tenths": self.wrong_tenths,
        }


def per_cent(tenths: int | None) -> str:
    """Tenths of a per cent as people read them.

    >>> per_cent(31), per_cent(None)
    ('3.1 %', 'none')
    """
    return "none" if tenths is None else f"{tenths // 10}.{tenths % 10} %"


def rates(book: Book, *, at: datetime, since: date | None = None) -> list[Rate]:
    """The rates of every month in which a report was due by now, oldest first.

    at: now, in the shop's zone. since: only reports that were due on this day or later.
    """
    with engines.reading(book.engine) as connection:
        known = owing.every_in(connection, book, at) if since is None else owing.due_since(connection, book, since, at)
        return _rates_of(connection, book, known, at)


def first_day(month: str) -> date:
    """The first day of a month written as 2026-10. Raises: InputError."""
    try:
        if len(month) != len("2026-10"):
            raise ValueError
        return date.fromisoformat(f"{month}-01")
    except ValueError:
        raise InputError(field="month", given=month, wanted="a year and a month, such as 2026-10") from None


def _rates_of(connection: sa.Connection, book: Book, known: Sequence[Owed], at: datetime) -> list[Rate]:
    due, late, out, wrong, named = (Counter[str]() for _ in range(5))
    again = _twice(connection, book)
    for one in known:
        if one.due > at and one.met_at is None:
            continue
        month = one.due.astimezone(at.tzinfo).strftime("%Y-%m")
        due[month] += 1
        late[month] += one.late_at(at)
        if not one.left:
            continue
        out[month] += 1
        steps = _steps(connection, book, one.report) if one.report in again or book.keys is not None else []
        fields = _named(connection, book, steps)
        named[month] += bool(fields)
        wrong[month] += bool(fields) or one.state == "to correct" or _made_again(kind for kind, _ in steps)
    locked = book.keys is None
    return [
        Rate(month, due[month], late[month], out[month], wrong[month], None if locked else named[month])
        for month in sorted(due)
    ]


def _twice(connection: sa.Connection, book: Book) -> set[str]:
    """Reports about which there are more entries than different steps: only these can have been made twice."""
    report, mention = tables.reports.c, tables.mentions.c
    taken = (report.made_at, report.sent_at, report.delivered_at, report.received_at)
    steps = sum((sa.case((column.is_not(None), 1), else_=0) for column in taken), sa.literal(0))
    here = sa.and_(mention.book == report.book, mention.name == sa.literal("report/") + report.report)
    wanted = (
        sa.select(report.report)
        .join(tables.mentions, here)
        .where(report.book == book.origin)
        .group_by(report.report, *taken)
        .having(sa.func.count() > steps)
    )
    return set(connection.execute(wanted).scalars())


def _steps(connection: sa.Connection, book: Book, report: str) -> list[tuple[str, int]]:
    """Kind and number of every entry about a report, in the order of the book."""
    return [
        (reading.entry_at(connection, book.origin, seq).kind.partition("/")[0], seq)
        for seq in reading.seqs_about(connection, book.origin, f"report/{report}")
    ]


def _made_again(kinds: Iterable[str]) -> bool:
    """Whether a report was made again after it had left the shop."""
    gone = False
    for kind in kinds:
        if gone and kind == "report-made":
            return True
        gone = gone or kind in LEFT
    return False


def _named(connection: sa.Connection, book: Book, steps: Iterable[tuple[str, int]]) -> list[str]:
    """The fields that the authority's receipts name as wrong; none while the book is locked."""
    if book.keys is None:
        return []
    received = [seq for kind, seq in steps if kind == "report-received"]
    said = (reading.open_entry(connection, book, seq, classes=("case",)).get("report", {}) for seq in received)
    return [name for one in said for name in one.get("wrong", ())]
