"""Derives what is owed and what is held: rows of holds, tasks, reports, orders, happenings and permissions.

It copies what entries say and decides nothing: the acts worked out the moments, and these stand in the parts. What a
rule's trace tells of the seller stays in the vault.
"""

from collections.abc import Callable, Mapping
from typing import Any

import sqlalchemy as sa

from ledger.book import tables
from ledger.book.lines import Line, text
from ledger.book.statements import put
from ledger.chain import canonical
from ledger.chain.entries import Entry
from ledger.moments import parse_local

_REPORT = sa.select(
    tables.reports.c.slips, tables.reports.c.due, tables.reports.c.state, tables.reports.c.met_by
).where(tables.reports.c.book == sa.bindparam("in_book"), tables.reports.c.report == sa.bindparam("called"))


_REPORT_JOINED = (
    tables.reports.update()
    .where(tables.reports.c.book == sa.bindparam("in_book"), tables.reports.c.report == sa.bindparam("called"))
    .values(
        slips=sa.bindparam("now_slips"),
        due=sa.bindparam("now_due"),
        state=sa.bindparam("now_state"),
        met_by=sa.bindparam("now_met_by"),
        seq=sa.bindparam("by_seq"),
    )
)


_IN_DOUBT = "a fact that the rule asks for is not known"


STEPS = ("made", "sent", "delivered", "received")
"""what may happen to a report, each step further than the one before"""


_NO_LONGER_TRUE = {"made": "due", "sent": "to correct", "delivered": "to correct", "received": "to correct"}
"""state of a report -> its state when what it tells has changed"""


def report_id(duty: Mapping[str, Any], slip: int) -> str:
    """The id of a report, the same for every purchase that belongs into it.

    >>> report_id({"per": "purchase", "recipient": "sheriff"}, 12)
    'purchase-12.sheriff'
    >>> report_id({"per": "week", "recipient": "police", "covers": ["2026-11-23", "2026-11-29"]}, 12)
    'week-2026-11-23.police'
    """
    what = str(slip) if duty["per"] == "purchase" else duty["covers"][0]
    return f"{duty['per']}-{what}.{duty['recipient']}"


def met_by_of(duty: Mapping[str, Any]) -> str:
    """The step that fulfils a report's duty."""
    return str(duty.get("met_by") or "sent")


def _of_the_duty(duty: Mapping[str, Any]) -> tuple[str, str, str]:
    return duty["due"], duty["title"], met_by_of(duty)


def hold_row(book: str, slip: int, hold: Mapping[str, Any]) -> tuple[Any, ...]:
    """A row of holds from a hold's record, without what it tells of the seller: the tables lie in clear.

    A trace holds the facts that the rule asked for, a doubt the reasons why they are not known; both stay in the part.
    """
    doubt = None if hold["undecided"] is None else _IN_DOUBT
    return (
        book,
        slip,
        hold["line"],
        hold["jurisdiction"],
        hold["rule"],
        hold["digest"],
        " ".join(hold["forbids"]),
        hold["keep_in"],
        hold["starts_from"],
        hold["plain"],
        hold["cautious"],
        hold["waiting_for"],
        text({**hold, "trace": _counted(hold["trace"]), "undecided": doubt}),
    )


def _counted(trace: Mapping[str, Any]) -> dict[str, Any]:
    """What of a hold's trace its ends are worked out from again: nothing that was said of seller or goods."""
    kept = {name: trace[name] for name in ("version_from", "shop_calendar") if name in trace}
    if doubts := trace.get("shorter_undecided"):
        kept["shorter_undecided"] = [{"number": one["number"], "doubt": _IN_DOUBT} for one in doubts]
    return kept


def task_row(entry: Entry, slip: int, task: Mapping[str, Any]) -> tuple[Any, ...]:
    """A row of tasks from a task's record, without its trace, which tells of the seller."""
    return (
        entry.book,
        slip,
        task["about"],
        task["jurisdiction"],
        task["rule"],
        task["digest"],
        task["due"],
        task["waiting_for"],
        task["met_by"],
        "open",
        None,
        text({**task, "trace": {}}),
        entry.seq,
    )


def report_duty(connection: sa.Connection, line: Line, slip: int, duty: Mapping[str, Any]) -> None:
    """A purchase opens its own report, or joins the one of its day or week; the earliest deadline counts.

    A report that was made before, since the purchase was recorded late, does not tell of it: it is made again.
    """
    book, name = line.entry.book, report_id(duty, slip)
    known = connection.execute(_REPORT, {"in_book": book, "called": name}).first()
    if known is None:
        covers = duty.get("covers")
        period = "/".join(covers) if covers else ""
        row = (book, name, duty["rule"], duty["jurisdiction"], duty["digest"], duty["recipient"], period)
        put(
            connection,
            tables.reports,
            [(*row, text([slip]), *_of_the_duty(duty), "due", None, None, None, None, None, line.entry.seq)],
        )
        return
    slips = sorted({*canonical.decode_array(known.slips.encode()), slip})
    due = min(known.due, duty["due"], key=lambda text: parse_local(text, "due"))
    state = _NO_LONGER_TRUE.get(known.state, known.state)
    met_by = max(known.met_by, met_by_of(duty), key=STEPS.index)
    joined = {"now_slips": text(slips), "now_due": due, "now_state": state, "now_met_by": met_by}
    connection.execute(_REPORT_JOINED, {"in_book": book, "called": name, "by_seq": line.entry.seq, **joined})


def reports_to_correct(connection: sa.Connection, line: Line) -> None:
    """Reports that were made and tell of this slip are no longer true; those that left the shop are to be corrected."""
    report = tables.reports
    told = sa.select(report.c.report, report.c.slips, report.c.state).where(
        report.c.book == line.entry.book, report.c.state.in_(_NO_LONGER_TRUE)
    )
    for name, slips, state in connection.execute(told).all():
        if line.slip in canonical.decode_array(slips.encode()):
            _set_report(connection, line.entry.book, name, state=_NO_LONGER_TRUE[state], seq=line.entry.seq)


def _report_made(connection: sa.Connection, line: Line) -> None:
    entry = line.entry
    made = line.get("report", {})
    name = entry.public["report"]
    report = tables.reports.c
    here = sa.and_(report.book == entry.book, report.report == name)
    if connection.execute(sa.select(report.state).where(here)).first() is None:
        duty = made["duty"]
        row = (entry.book, name, duty["rule"], duty["jurisdiction"], duty["digest"], duty["recipient"])
        rest = (entry.public["period"], text(made["slips"]), *_of_the_duty(duty), "due", None, None, None, None, None)
        put(connection, tables.reports, [(*row, *rest, entry.seq)])
    _report_step(connection, line)


def _report_step(connection: sa.Connection, line: Line) -> None:
    """A report was made, sent, delivered or received: it stands there now, and what waited for it begins."""
    step, at = line.entry.kind.partition("/")[0].removeprefix("report-"), line.get("report")["at"]
    name, report = line.entry.public["report"], tables.reports.c
    here = sa.and_(report.book == line.entry.book, report.report == name)
    row = connection.execute(sa.select(report.met_by, report.met_at).where(here)).one()
    met = row.met_at is None and STEPS.index(step) >= STEPS.index(row.met_by)
    values = {"state": step, f"{step}_at": at, "seq": line.entry.seq, **({"met_at": at} if met else {})}
    _set_report(connection, line.entry.book, name, **values)
    follow(connection, line)


def _report_asked(connection: sa.Connection, line: Line) -> None:
    """An authority asked for a report: it is owed from now on."""
    entry, asked = line.entry, line.get("report")
    duty = asked["duty"]
    row = (entry.book, entry.public["report"], duty["rule"], duty["jurisdiction"], duty["digest"], duty["recipient"])
    rest = (entry.public["period"], text(asked["slips"]), *_of_the_duty(duty), "due", None, None, None, None, None)
    put(connection, tables.reports, [(*row, *rest, entry.seq)])


def _report_extended(connection: sa.Connection, line: Line) -> None:
    entry = line.entry
    _set_report(connection, entry.book, entry.public["report"], due=line.get("report")["due"], seq=entry.seq)
    follow(connection, line)


def _happened(connection: sa.Connection, line: Line) -> None:
    """What a rule file gives a name happened: tasks that it meets are met, what waited for it begins."""
    entry, said = line.entry, line.get("event")
    event = entry.public["event"]
    put(connection, tables.happenings, [(entry.book, entry.seq, event, about, said["at"]) for about in entry.about])
    task = tables.tasks.c
    for one in said["meets"]:
        here = [task.book == entry.book, task.state == "open"]
        here += [getattr(task, name) == one[name] for name in ("slip", "about", "jurisdiction", "rule")]
        values = {"state": "met", "met_at": said["at"], "seq": entry.seq}
        connection.execute(tables.tasks.update().where(*here).values(values))
    follow(connection, line)


def _permitted(connection: sa.Connection, line: Line) -> None:
    entry, public = line.entry, line.entry.public
    subject = entry.about[0].removeprefix("item/").replace("book", "shop")
    row = (entry.book, entry.seq, public["permission"], subject, public["from"], public.get("until"))
    put(connection, tables.permissions, [row])
    follow(connection, line)


def _hold_order(connection: sa.Connection, line: Line) -> None:
    name = line.entry.about[0].removeprefix("hold/")
    due = line.get("order").get("notice_due")
    put(connection, tables.orders, [(line.entry.book, name, "standing", due, line.entry.seq)])


def _hold_noted(connection: sa.Connection, line: Line) -> None:
    order = tables.orders
    name = line.entry.about[0].removeprefix("hold/")
    here = sa.and_(order.c.book == line.entry.book, order.c.hold == name)
    connection.execute(order.update().where(here).values(notice_due=line.get("order")["notice_due"]))


def _hold_lifted(connection: sa.Connection, line: Line) -> None:
    order = tables.orders
    name = line.entry.about[0].removeprefix("hold/")
    here = sa.and_(order.c.book == line.entry.book, order.c.hold == name)
    connection.execute(order.update().where(here).values(state="lifted", notice_due=None))


def follow(connection: sa.Connection, line: Line) -> None:
    """Holds and tasks whose clock the entry moved, and duties it brought: the act worked them out, slip by slip."""
    for moved in line.all("duties"):
        for record in moved["holds"]:
            _put_hold(connection, line, moved["slip"], record)
        for record in moved.get("tasks", ()):
            _put_task(connection, line, moved["slip"], record)
        for record in moved.get("reports", ()):
            report_duty(connection, line, moved["slip"], record)


def _put_hold(connection: sa.Connection, line: Line, slip: int, record: Mapping[str, Any]) -> None:
    hold, book = tables.holds, line.entry.book
    here = sa.and_(
        hold.c.book == book,
        hold.c.slip == slip,
        hold.c.line == record["line"],
        hold.c.jurisdiction == record["jurisdiction"],
        hold.c.rule == record["rule"],
    )
    connection.execute(hold.delete().where(here))
    put(connection, hold, [hold_row(book, slip, record)])


def _put_task(connection: sa.Connection, line: Line, slip: int, record: Mapping[str, Any]) -> None:
    """A task as it stands now; one that was met stays met."""
    task, row = tables.tasks, task_row(line.entry, slip, record)
    here = [column == value for column, value in zip(task.c, row, strict=True) if column.primary_key]
    if connection.execute(sa.select(task.c.state).where(*here)).scalar() != "met":
        connection.execute(task.delete().where(*here))
        put(connection, task, [row])


def _set_report(connection: sa.Connection, book: str, name: str, **values: Any) -> int:
    report = tables.reports
    here = sa.and_(report.c.book == book, report.c.report == name)
    return connection.execute(report.update().where(here).values(values)).rowcount


KINDS: Mapping[str, Callable[[sa.Connection, Line], None]] = {
    "hold-order": _hold_order,
    "hold-noted": _hold_noted,
    "hold-lifted": _hold_lifted,
    "report-asked": _report_asked,
    "report-extended": _report_extended,
    "report-made": _report_made,
    "report-sent": _report_step,
    "report-delivered": _report_step,
    "report-received": _report_step,
    "happened": _happened,
    "permitted": _permitted,
}
