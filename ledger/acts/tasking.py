"""What else is due beside reports: tasks of slips and items, tasks of the shop, the shop's notice before an order ends.

Nothing here needs a key, so that a machine can look at night: of an order only its random id and the day are told.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

import sqlalchemy as sa

from ledger import moments
from ledger.acts import events, owing
from ledger.book import engine as engines
from ledger.book import tables
from ledger.book.pages import Book
from ledger.chain import canonical
from ledger.law import tasks as law
from ledger.law.answers_times import TaskDuty
from ledger.law.periods import awaited
from ledger.law.rules import RuleFile
from ledger.law.rules_times import Due, TaskRule
from ledger.moments import local_text, parse_local
from ledger.shop import adopted


@dataclass(frozen=True)
class Task:
    """Something that is to be done, and where it stands."""

    about: str
    """SLIP, SLIP/LINE, shop, or order ID"""
    rule: str
    """JURISDICTION/RULE; empty for an order's notice"""
    what: str
    who: str
    due: datetime | None
    """None while it waits"""
    waiting_for: str
    """in words"""
    met_by: str
    """the event that shows that it was done"""
    met_at: datetime | None = None

    def late_at(self, now: datetime) -> bool:
        """Whether it was done after it was due, or was not done and is due."""
        return self.due is not None and (self.met_at or now) > self.due

    def is_near(self, now: datetime) -> bool:
        """Whether it is due within a day, or was due before."""
        return self.due is not None and self.due - now <= timedelta(days=1)

    def record(self) -> dict[str, Any]:
        """JSON values only."""
        return {
            "about": self.about,
            "rule": self.rule,
            "what": self.what,
            "who": self.who,
            "due": moments.local_or_none(self.due),
            "waiting_for": self.waiting_for,
            "met_by": self.met_by,
            "met_at": moments.local_or_none(self.met_at),
        }


def open_tasks(book: Book, *, at: datetime) -> list[Task]:
    """Everything that is still to be done, earliest due first, what waits last. at: now, in the shop's zone."""
    with engines.reading(book.engine) as connection:
        found = [
            *_of_slips(connection, book),
            *_of_shop(connection, book, at),
            *_notices(connection, book),
        ]
    undone = [one for one in found if one.met_at is None]
    return sorted(undone, key=lambda one: (one.due is None, local_text(one.due or at), one.about, one.rule))


def _of_slips(connection: sa.Connection, book: Book) -> Iterator[Task]:
    task = tables.tasks.c
    wanted = sa.select(tables.tasks).where(task.book == book.origin)
    for row in connection.execute(wanted).all():
        record = canonical.decode(row.record.encode())
        line = row.about.partition("/")[2]
        yield Task(
            f"{row.slip}/{line}" if line else str(row.slip),
            f"{row.jurisdiction}/{row.rule}",
            record["what"],
            record["who"],
            None if row.due is None else parse_local(row.due, "due"),
            "" if row.waiting_for is None else awaited(row.waiting_for),
            row.met_by.removeprefix("event:"),
            None if row.met_at is None else parse_local(row.met_at, "met_at"),
        )


def _of_shop(connection: sa.Connection, book: Book, at: datetime) -> Iterator[Task]:
    """Tasks of the shop: from the day on which their file was first adopted, or since they were last done."""
    zone = owing.shops_zone(at)
    happened = events.happened_to(connection, book.origin, "book", zone)
    first = owing.first_days(connection, book, at)
    facts = {"shop": adopted.told_on(connection, book.origin, at.date().isoformat())}
    for file in adopted.in_force(connection, book.origin):
        for duty in _of_file(file, max(first[file.jurisdiction], file.known_from), at, happened, facts):
            yield Task(
                "shop",
                f"{duty.jurisdiction}/{duty.rule}",
                duty.what,
                duty.who,
                duty.due,
                "" if duty.waiting_for is None else awaited(duty.waiting_for),
                duty.met_by.removeprefix("event:"),
            )


def _of_file(
    file: RuleFile, first: date, at: datetime, happened: Mapping[str, datetime], facts: Mapping[str, Any]
) -> Iterator[TaskDuty]:
    """The shop's tasks under one file that are not done."""
    zone = owing.shops_zone(at)
    for duty in law.of_shop([file], on=first, zone=zone, events=happened, facts=facts):
        done = happened.get(duty.met_by or f"done:{duty.rule}")
        begun = happened.get(str(duty.trace.get("event")))
        if done is None or (begun is not None and done < begun):
            yield duty
        elif begun is None and _recurs(file, duty, first):
            again = law.of_shop([file], on=done.date() + timedelta(days=1), zone=zone, events=happened, facts=facts)
            yield from (one for one in again if one.rule == duty.rule)


def _recurs(file: RuleFile, duty: TaskDuty, day: date) -> bool:
    """Whether a task is due on named days of every year."""
    return any(
        isinstance(rule, TaskRule) and rule.id == duty.rule and isinstance(rule.due, Due) and bool(rule.due.days)
        for rule in file.on(day)
    )


def _notices(connection: sa.Connection, book: Book) -> Iterator[Task]:
    """Notices that the shop owes before orders end."""
    order = tables.orders.c
    wanted = sa.select(order.hold, order.notice_due).where(
        order.book == book.origin, order.state == "standing", order.notice_due.is_not(None)
    )
    for name, due in connection.execute(wanted.order_by(order.hold)).all():
        what = "Write to the authority before the order ends, and record it with `counterfoil hold notice`."
        yield Task(f"order {name}", "", what, "owner", parse_local(due, "notice_due"), "", "notice")
