"""What happened that a rule file gives a name: goods moved to where they belong, somebody registered, notice given.

Decides: which open tasks it meets. Holds and tasks that wait for it are worked out again in the same entry.
"""

import re
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from ledger.acts import events, following
from ledger.book import reading, tables
from ledger.book.pages import Book, Page
from ledger.chain.entries import Entry
from ledger.errors import InputError
from ledger.law.rules_times import TaskRule
from ledger.shop import adopted

_SUBJECT = re.compile(
    "(?P<shop>shop)|report/(?P<report>[A-Za-z0-9._-]{1,64})|(?P<slip>[0-9]{1,18})(?:/(?P<line>[0-9]{1,18}))?"
)


def happen(book: Book, event: str, subject: str, *, at: datetime, said: str = "") -> tuple[Entry, list[dict[str, Any]]]:
    """The entry that something happened, and the tasks that it met: each with slip, about, jurisdiction and rule.

    event: its id in a rule file in force, lift:RULE for a hold that runs until it is lifted, or
    done:RULE for a task that no event fulfils. subject: SLIP, SLIP/LINE, "shop" or report/REPORT, as the file declares.
    at: when; not ahead. said: what the record should say about it.
    Raises: InputError, LockedError.
    """
    found = _SUBJECT.fullmatch(subject)
    if found is None:
        raise InputError(field="subject", given=subject, wanted="SLIP, SLIP/LINE, 'shop' or report/REPORT")
    with book.writing() as page:
        happened_at = page.must_have_happened(at)
        about, keys, slip = _of(page, found)
        line = int(found["line"] or 0)
        if event.startswith("lift:"):
            _must_wait(page, event, slip, line)
            event = events.LIFTED + event.removeprefix("lift:")
        elif event.startswith("done:"):
            _must_be_a_task(page, event.removeprefix("done:"), slip)
            event = events.DONE + event.removeprefix("done:")
        else:
            _must_be_declared(page, event, _kind(found))
        meets = _met(page, event, slip, f"item/{line}" if line else "")
        held = [book.hold("event", {"event": event, "at": happened_at, "said": said, "meets": meets}, keys)]
        if slip:
            held += following.moved(page, [slip], [events.named(event)], line=line)
        entry = page.append("happened/0", about=[about], public={"event": event}, held=held, occurred_at=happened_at)
    # From here on what waited for it has begun, and what it fulfils is done.
    return entry, meets


def _kind(found: re.Match[str]) -> str:
    return next(kind for kind in ("shop", "report", "line", "slip") if found[kind]).replace("line", "item")


def _of(page: Page, found: re.Match[str]) -> tuple[str, str, int]:
    """What the entry is about, what its keys are bound to, and the slip's number, or 0. Raises: InputError."""
    connection, book = page.connection, page.book.origin
    if found["shop"]:
        return "book", "shop", 0
    if found["report"]:
        report = tables.reports.c
        wanted = sa.select(report.report).where(report.book == book, report.report == found["report"])
        if connection.execute(wanted).scalar() is None:
            raise InputError(field="report", given=found["report"], wanted="the id of a report; see `report list`")
        return f"report/{found['report']}", f"report-{found['report']}", 0
    number = int(found["slip"])
    if found["line"]:
        reading.item_row(connection, book, number, int(found["line"]))
        return f"item/{number}/{int(found['line'])}", reading.subject_of_slip(connection, book, number), number
    return f"slip/{number}", reading.subject_of_slip(connection, book, number), number


def _must_wait(page: Page, event: str, slip: int, line: int) -> None:
    """Nothing, if a hold of the slip or item runs until it is lifted. Raises: InputError."""
    hold = tables.holds.c
    wanted = sa.select(hold.line).where(hold.book == page.book.origin, hold.slip == slip, hold.waiting_for == event)
    lines = {number for (number,) in page.connection.execute(wanted)}
    if not lines or line not in (0, *lines):
        raise InputError(field="event", given=event, wanted="a hold of this slip or item that runs until it is lifted")


def _must_be_a_task(page: Page, rule: str, slip: int) -> None:
    """Nothing, if a task of that rule is fulfilled by no event. Raises: InputError."""
    task = tables.tasks.c
    wanted = sa.select(task.rule).where(
        task.book == page.book.origin, task.slip == slip, task.state == "open", task.met_by == ""
    )
    known = {name for (name,) in page.connection.execute(wanted)}
    if slip == 0:
        files = adopted.in_force(page.connection, page.book.origin)
        rules = (one for file in files for one in file.rules if isinstance(one, TaskRule) and one.about == "shop")
        known |= {one.id for one in rules if not one.met_by}
    if rule not in known:
        wanted_ = f"a task that is open and fulfilled by no event: {', '.join(sorted(known)) or 'none is'}"
        raise InputError(field="event", given=f"done:{rule}", wanted=wanted_)


def _must_be_declared(page: Page, event: str, about: str) -> None:
    files = adopted.in_force(page.connection, page.book.origin)
    known = sorted({one.id for file in files for one in file.declared.events if one.about == about})
    if event not in known:
        wanted = f"an event that a rule file in force declares about the {about}: {', '.join(known) or 'none is'}"
        raise InputError(field="event", given=event, wanted=wanted)


def _met(page: Page, event: str, slip: int, about: str) -> list[dict[str, Any]]:
    """The open tasks that the event fulfils: of the item it is about, else of the slip and all its items."""
    task = tables.tasks.c
    wanted = sa.select(task.slip, task.about, task.jurisdiction, task.rule).where(
        task.book == page.book.origin, task.slip == slip, task.state == "open"
    )
    if event.startswith(events.DONE):
        wanted = wanted.where(task.met_by == "", task.rule == event.removeprefix(events.DONE))
    else:
        wanted = wanted.where(task.met_by == f"event:{event}")
    rows = page.connection.execute(wanted.order_by(task.about, task.jurisdiction, task.rule)).mappings()
    return [dict(row) for row in rows if not about or row["about"] == about]
