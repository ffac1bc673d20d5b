"""What follows from an event: holds and tasks that waited for it, or whose end it moves, worked out again.

Decides: which events are known of a slip, and that a hold never ends earlier because something was recorded again.
Events count from their recording, which is the later of the two moments: nobody frees goods by dating one back.
Leaves to `ledger.law` when a hold ends, and to the act that calls in which entry it stands.
"""

from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime, tzinfo
from typing import Any
from zoneinfo import ZoneInfo

import sqlalchemy as sa

from ledger import moments
from ledger.acts import leaving
from ledger.acts.owing import shops_zone
from ledger.book import projections, reading, tables
from ledger.book.pages import Held, Page
from ledger.chain.entries import Entry
from ledger.law import holds as law
from ledger.law import tasks
from ledger.law.answers_times import TaskDuty
from ledger.law.rules import RuleFile
from ledger.moments import parse_local, parse_moment
from ledger.shop import adopted

Events = Mapping[str, datetime]


def moved(page: Page, numbers: Iterable[int], happening: Iterable[str], *, line: int = 0) -> list[Held]:
    """A part for each slip in which something moved: its holds and open tasks as they stand after the event.

    numbers: of the slips that the event is about. happening: names of what happens now, such as
    "report-received:sheriff". line: of the one item that it happens to; 0 for all.
    """
    made = []
    happening = tuple(happening)
    for number in numbers:
        row = reading.slip_row(page.connection, page.book.origin, number)
        if row.recorded_seq is None:
            continue
        begun = _begun(page, row)
        zone = shops_zone(begun)
        now = dict.fromkeys(happening, page.now.astimezone(zone))
        events = events_of(page, number, begun)
        files = _governing(page, row)
        holds = [
            again.record()
            for each, held in _holds(page, number).items()
            if line in (0, each)
            for again in renewed(held, files, {**happened_to(page, f"item/{number}/{each}", zone), **events, **now})
        ]
        due = [again.record() for again in _tasks(page, number, files, {**events, **now})]
        if holds or due:
            made.append(page.book.hold("duties", {"slip": number, "holds": holds, "tasks": due}, row.draft))
    return made


def events_of(page: Page, number: int, begun: datetime) -> dict[str, datetime]:
    """The events that the book knows of a slip, by the names that rule files give them.

    begun: the later of when the purchase happened and when it was recorded.
    """
    row = reading.slip_row(page.connection, page.book.origin, number)
    events = {"purchase": begun, "occurred": parse_local(row.presented_at, "occurred_at")}
    for entry in _report_steps(page, number):
        step = entry.kind.partition("/")[0]
        name = f"{step}:{_recipient(page, str(entry.public['report']))}"
        at = parse_moment(entry.recorded_at, "recorded_at").astimezone(begun.tzinfo)
        events[name] = max(at, events.get(name, at))
    events |= happened_to(page, f"slip/{number}", begun.tzinfo)
    if (paid := _paid(page, number)) is not None:
        events["payment"] = paid.astimezone(begun.tzinfo)
    return events


def _report_steps(page: Page, number: int) -> list[Entry]:
    """Entries that say what became of the reports in which a slip stands, from the first version that tells of it."""
    connection, book = page.connection, page.book.origin
    first: dict[str, int] = {}
    for entry in _entries(page, f"slip/{number}"):
        if entry.kind.startswith("report-made/"):
            first.setdefault(str(entry.public["report"]), entry.seq)
    found = [
        reading.entry_at(connection, book, seq)
        for report, since in first.items()
        for seq in reading.seqs_about(connection, book, f"report/{report}")
        if seq >= since
    ]
    steps = tuple(f"report-{step}/" for step in projections.STEPS)
    return [entry for entry in found if entry.kind.startswith(steps)]


def _entries(page: Page, *names: str) -> list[Entry]:
    connection, book = page.connection, page.book.origin
    return [reading.entry_at(connection, book, seq) for seq in reading.seqs_about(connection, book, *names)]


def _recipient(page: Page, report: str) -> str:
    row = tables.reports.c
    wanted = sa.select(row.recipient).where(row.book == page.book.origin, row.report == report)
    return str(page.connection.execute(wanted).scalar_one())


def happened_to(page: Page, subject: str, zone: tzinfo | None) -> dict[str, datetime]:
    """What happened to a slip or an item that rule files give a name, each with the moment of its newest recording."""
    found = {}
    for entry in _entries(page, subject):
        if entry.kind.startswith("happened/"):
            at = parse_moment(entry.recorded_at, "recorded_at").astimezone(zone)
            found[f"event:{entry.public['event']}"] = at
    return found


def _paid(page: Page, number: int) -> datetime | None:
    row = tables.payouts.c
    wanted = sa.select(row.at).where(row.book == page.book.origin, row.slip == number, row.state == "paid")
    at = page.connection.execute(wanted).scalar()
    return None if at is None else parse_local(at, "at")


def _governing(page: Page, row: sa.Row[Any]) -> dict[str, RuleFile]:
    """The rule files that governed a slip, by digest."""
    entry = reading.entry_at(page.connection, page.book.origin, row.recorded_seq)
    return {one: adopted.rule_file(page.connection, page.book.origin, one) for one in entry.public["rules"]}


def renewed(holds: Iterable[law.Hold], files: Mapping[str, RuleFile], events: Events) -> Iterator[law.Hold]:
    """Those holds whose ends the events move, and not to an earlier one.

    files: those that governed the slip, by digest: a hold may run from what another file's rule made due.
    """
    for hold in holds:
        again = _renewed(hold, files, events)
        earlier = hold.cautious is not None and (again.cautious is None or hold.cautious > again.cautious)
        if _ends(again) != _ends(hold) and not earlier:
            yield again


def _renewed(hold: law.Hold, files: Mapping[str, RuleFile], events: Events) -> law.Hold:
    file = files[hold.digest]
    return law.renewed(hold, file, events, counted_in(file, events), others=tuple(files.values()))


def counted_in(file: RuleFile, events: Events) -> ZoneInfo:
    """The zone in which a file's times are counted: that of the place of purchase, else the file's."""
    return moments.place(events["purchase"].tzinfo) or file.zone or shops_zone(events["purchase"])


def later_holds(page: Page, number: int, weighed: Iterable[law.Hold]) -> list[law.Hold]:
    """Of a slip's holds as they were weighed again those that are new, or end later than the ones that stand.

    What has happened since the purchase is taken into account, so that a hold that waited and then began is not put
    back to waiting.
    """
    row = reading.slip_row(page.connection, page.book.origin, number)
    begun = _begun(page, row)
    events, files, standing = events_of(page, number, begun), _governing(page, row), _holds(page, number)
    found = []
    for hold in weighed:
        known = {**happened_to(page, f"item/{number}/{hold.line}", begun.tzinfo), **events}
        again = _renewed(hold, files, known)
        was = next((one for one in standing.get(hold.line, ()) if _name(one) == _name(again)), None)
        if was is None or (was.cautious is not None and (again.cautious is None or again.cautious > was.cautious)):
            found.append(again)
    return found


def _name(hold: law.Hold) -> tuple[str, str]:
    return hold.jurisdiction, hold.rule


def _tasks(page: Page, number: int, files: Mapping[str, RuleFile], events: Events) -> Iterator[TaskDuty]:
    """The open tasks of a slip whose deadlines the events move, or begin."""
    task = tables.tasks.c
    wanted = sa.select(tables.tasks).where(task.book == page.book.origin, task.slip == number, task.state == "open")
    zone = shops_zone(events["purchase"])
    for row in page.connection.execute(wanted.order_by(task.about, task.jurisdiction, task.rule)).all():
        file = files[row.digest]
        kind, _, line = row.about.partition("/")
        known = {**(happened_to(page, f"item/{number}/{line}", zone) if kind == "item" else {}), **events}
        again = tasks.now(file, row.rule, row.about, known, counted_in(file, events), others=tuple(files.values()))
        if (moments.local_or_none(again.due), again.waiting_for) != (row.due, row.waiting_for):
            yield again


def _ends(hold: law.Hold) -> tuple[Any, ...]:
    return (hold.plain, hold.cautious, hold.waiting_for)


def _holds(page: Page, number: int) -> dict[int, list[law.Hold]]:
    """The holds of a slip's items, by line."""
    lines = tables.items.c
    wanted = sa.select(lines.line).where(lines.book == page.book.origin, lines.slip == number).order_by(lines.line)
    return {
        line: leaving.holds_of(page.connection, page.book, number, line)
        for (line,) in page.connection.execute(wanted).all()
    }


def _begun(page: Page, row: sa.Row[Any]) -> datetime:
    """The later of when the purchase happened and when it was recorded."""
    happened = parse_local(row.presented_at, "occurred_at")
    entry = reading.entry_at(page.connection, page.book.origin, row.recorded_seq)
    recorded = parse_moment(entry.recorded_at, "recorded_at").astimezone(happened.tzinfo)
    return max(happened, recorded)
