"""What follows from an event: holds and tasks that waited for it, or whose end it moves, worked out again.

Decides: that a hold never ends earlier because something was recorded again. Leaves to `events` what is known of a
slip, to `ledger.law` when a hold ends, and to the act that calls in which entry it stands.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

import sqlalchemy as sa

from ledger import moments
from ledger.acts import events, gathering, leaving
from ledger.acts.owing import shops_zone
from ledger.book import reading, tables
from ledger.book.pages import Held, Page
from ledger.law import holds as law
from ledger.law import tasks
from ledger.law.answers_times import TaskDuty
from ledger.law.rules import RuleFile
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
        known = events.of_slip(page.connection, page.book.origin, number)
        known |= dict.fromkeys(happening, page.now.astimezone(known["purchase"].tzinfo))
        files = _governing(page, row)
        holds = [
            again.record()
            for each, held in _holds(page, number).items()
            if line in (0, each)
            for again in renewed(held, files, _of_item(page, number, each, known))
        ]
        due = [again.record() for again in _tasks(page, number, files, known)]
        if holds or due:
            made.append(page.book.hold("duties", {"slip": number, "holds": holds, "tasks": due}, row.draft))
    return made


def _governing(page: Page, row: sa.Row[Any]) -> dict[str, RuleFile]:
    """The rule files that governed a slip, by digest."""
    entry = reading.entry_at(page.connection, page.book.origin, row.recorded_seq)
    return {one: adopted.rule_file(page.connection, page.book.origin, one) for one in entry.public["rules"]}


def renewed(holds: Iterable[law.Hold], files: Mapping[str, RuleFile], known: Events) -> Iterator[law.Hold]:
    """Those holds whose ends the events move, and not to an earlier one.

    files: those that governed the slip, by digest: a hold may run from what another file's rule made due.
    """
    for hold in holds:
        again = _renewed(hold, files, known)
        earlier = hold.cautious is not None and (again.cautious is None or hold.cautious > again.cautious)
        if _ends(again) != _ends(hold) and not earlier:
            yield again


def _renewed(hold: law.Hold, files: Mapping[str, RuleFile], known: Events) -> law.Hold:
    file = files[hold.digest]
    return law.renewed(hold, file, known, counted_in(file, known), others=tuple(files.values()))


def counted_in(file: RuleFile, known: Events) -> ZoneInfo:
    """The zone in which a file's times are counted: that of the place of purchase, else the file's."""
    return moments.place(known["purchase"].tzinfo) or file.zone or shops_zone(known["purchase"])


def redecided(page: Page, number: int, line: int, permissions: Sequence[str]) -> list[Held]:
    """A part with the holds of an item whose shorter time a permission of the authority decides, if there are any.

    permissions: ids of those in force for the item. These holds may end earlier than before: the law lets them.
    """
    row = reading.slip_row(page.connection, page.book.origin, number)
    if row.recorded_seq is None:
        return []
    told = gathering.whole(page.connection, page.book, number).told_today
    (item,) = (one for one in told["items"] if one["line"] == line)
    facts = {**told, "item": {**item, "permissions": list(permissions)}}
    known = _of_item(page, number, line, events.of_slip(page.connection, page.book.origin, number))
    files = _governing(page, row)
    changed = []
    for hold in _holds(page, number).get(line, ()):
        file = files[hold.digest]
        zone = counted_in(file, known)
        again = law.renewed(hold, file, known, zone, facts=facts, others=tuple(files.values()))
        if again.shortened != hold.shortened:
            changed.append(again.record())
    if not changed:
        return []
    return [page.book.hold("duties", {"slip": number, "holds": changed, "tasks": []}, row.draft)]


def later_holds(page: Page, number: int, weighed: Iterable[law.Hold]) -> list[law.Hold]:
    """Of a slip's holds as they were weighed again those that are new, or end later than the ones that stand.

    What has happened since the purchase is taken into account, so that a hold that waited and then began is not put
    back to waiting.
    """
    row = reading.slip_row(page.connection, page.book.origin, number)
    known, files = events.of_slip(page.connection, page.book.origin, number), _governing(page, row)
    standing = _holds(page, number)
    found = []
    for hold in weighed:
        again = _renewed(hold, files, _of_item(page, number, hold.line, known))
        was = next((one for one in standing.get(hold.line, ()) if _name(one) == _name(again)), None)
        if was is None or (was.cautious is not None and (again.cautious is None or again.cautious > was.cautious)):
            found.append(again)
    return found


def _name(hold: law.Hold) -> tuple[str, str]:
    return hold.jurisdiction, hold.rule


def _of_item(page: Page, number: int, line: int, known: Events) -> Events:
    """The events of a slip with those of one of its items."""
    own = events.happened_to(page.connection, page.book.origin, f"item/{number}/{line}", known["purchase"].tzinfo)
    return {**own, **known}


def _tasks(page: Page, number: int, files: Mapping[str, RuleFile], known: Events) -> Iterator[TaskDuty]:
    """The open tasks of a slip whose deadlines the events move, or begin."""
    task = tables.tasks.c
    wanted = sa.select(tables.tasks).where(task.book == page.book.origin, task.slip == number, task.state == "open")
    for row in page.connection.execute(wanted.order_by(task.about, task.jurisdiction, task.rule)).all():
        file = files[row.digest]
        kind, _, line = row.about.partition("/")
        here = _of_item(page, number, int(line), known) if kind == "item" else known
        again = tasks.now(file, row.rule, row.about, here, counted_in(file, known), others=tuple(files.values()))
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
