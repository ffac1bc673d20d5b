"""Which events the book knows of a slip, by the names from which rule files let times run.

Events count from their recording, which is the later of the two moments: nobody frees goods by dating one back.
Events that follow from other rules (when a duty fell due, when another hold ends) are the law room's to work out.
"""

from datetime import datetime, tzinfo

import sqlalchemy as sa

from ledger.book import duty_rows, reading, tables
from ledger.chain.entries import Entry
from ledger.moments import parse_local, parse_moment


def of_slip(connection: sa.Connection, book: str, number: int) -> dict[str, datetime]:
    """The events of a recorded slip: purchase, payment, what became of its reports, what was recorded as happened.

    "purchase" is the later of when it happened and when it was recorded, "occurred" when it happened.
    """
    row = reading.slip_row(connection, book, number)
    happened = parse_local(row.presented_at, "occurred_at")
    recorded = _recorded(reading.entry_at(connection, book, row.recorded_seq), happened.tzinfo)
    begun = max(happened, recorded)
    # Goods and contract are there when a slip is recorded, also where they came by carrier.
    events = {"purchase": begun, "occurred": happened, "receipt": begun, "contract": begun}
    for entry in _report_steps(connection, book, number):
        step = entry.kind.partition("/")[0]
        name = f"{step}:{_recipient(connection, book, str(entry.public['report']))}"
        at = _recorded(entry, happened.tzinfo)
        events[name] = max(at, events.get(name, at))
    events |= happened_to(connection, book, f"slip/{number}", happened.tzinfo)
    paid = _paid(connection, book, number)
    return events if paid is None else {**events, "payment": paid.astimezone(happened.tzinfo)}


def happened_to(connection: sa.Connection, book: str, subject: str, zone: tzinfo | None) -> dict[str, datetime]:
    """What happened to a subject that rule files give a name, each with the moment of its newest recording.

    subject: as entries name it: slip/12, item/12/1, book.
    """
    return {
        named(str(entry.public["event"])): _recorded(entry, zone)
        for entry in _entries(connection, book, subject)
        if entry.kind.startswith("happened/")
    }


DONE = "done."
"""how an entry begins the name of a task that was done, where no event of its rule file says so"""
LIFTED = "lift."
"""how an entry begins the name of a hold that was lifted, where the law lets it run until then"""


def named(event: str) -> str:
    """The name from which rule files let times run, of an event as entries name it.

    >>> named("goods-moved"), named("lift.police-hold"), named("done.renew")
    ('event:goods-moved', 'lift:police-hold', 'done:renew')
    """
    special = next((start for start in (LIFTED, DONE) if event.startswith(start)), None)
    return f"event:{event}" if special is None else f"{special[:-1]}:{event.removeprefix(special)}"


def _recorded(entry: Entry, zone: tzinfo | None) -> datetime:
    return parse_moment(entry.recorded_at, "recorded_at").astimezone(zone)


def _entries(connection: sa.Connection, book: str, *names: str) -> list[Entry]:
    return [reading.entry_at(connection, book, seq) for seq in reading.seqs_about(connection, book, *names)]


def _report_steps(connection: sa.Connection, book: str, number: int) -> list[Entry]:
    """Entries that say what became of the reports in which a slip stands, from the first version that tells of it."""
    first: dict[str, int] = {}
    for entry in _entries(connection, book, f"slip/{number}"):
        if entry.kind.startswith("report-made/"):
            first.setdefault(str(entry.public["report"]), entry.seq)
    steps = tuple(f"report-{step}/" for step in duty_rows.STEPS)
    return [
        entry
        for report, since in first.items()
        for entry in _entries(connection, book, f"report/{report}")
        if entry.seq >= since and entry.kind.startswith(steps)
    ]


def _recipient(connection: sa.Connection, book: str, report: str) -> str:
    row = tables.reports.c
    wanted = sa.select(row.recipient).where(row.book == book, row.report == report)
    return str(connection.execute(wanted).scalar_one())


def _paid(connection: sa.Connection, book: str, number: int) -> datetime | None:
    row = tables.payouts.c
    wanted = sa.select(row.at).where(row.book == book, row.slip == number, row.state == "paid")
    at = connection.execute(wanted).scalar()
    return None if at is None else parse_local(at, "at")
