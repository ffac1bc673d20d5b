"""Commands on reports to the authorities: due, list, rates, asked, make, sent, delivered, received, more time."""

from datetime import datetime
from pathlib import Path
from typing import Any

import click

from ledger.acts import filing, owing, rates, reporting
from ledger.acts.opening import settings_of
from ledger.acts.owing import Owed
from ledger.cli import given, opened, papers, said
from ledger.cli.options import Asked, for_a_book
from ledger.cli.undone import at, told
from ledger.errors import InputError, Said
from ledger.moments import local_text

_DUE = 8


@click.command()
@for_a_book
@click.pass_context
def due(ctx: click.Context) -> None:
    """List reports that are owed, soonest first.

    Needs no key, so that a machine can run it at night. Ends with 8 when something is owed.
    """
    asked: Asked = ctx.obj
    book = opened.a_book(asked)
    now = opened.now(book)
    owed = reporting.owed(book, at=now)
    rows = [
        (
            one.report,
            one.recipient,
            one.period,
            len(one.slips) or "nil",
            said.moment(one.due),
            _stands(one),
            f"late: {one.lateness(now)}" if one.late_at(now) else " ",
        )
        for one in owed
    ]
    text = said.table(("report", "to", "period", "slips", "due", "state", ""), rows)
    document = {"reports": [_record(one, now) for one in owed]}
    said.answer(asked, document, text if owed else "No report is owed.")
    ctx.exit(_DUE if owed else 0)


def _stands(one: Owed) -> str:
    """The state of a report, with what its rule still waits for."""
    waits = {"delivered": "to be delivered", "received": "receipt awaited"}.get(one.met_by, "")
    return f"{one.state}, {waits}" if waits and one.state in ("sent", "delivered") and not one.fulfilled else one.state


def _record(one: Owed, now: datetime) -> dict[str, Any]:
    return {**one.record(), "late": one.late_at(now), "why_late": one.lateness(now)}


@click.command("list")
@click.option("--late", is_flag=True, help="Only those that are late, or were.")
@for_a_book
@click.pass_obj
def list_(asked: Asked, late: bool) -> None:
    """List every report, with what was done and when.

    A report stands here until each of its recipients has its own. Needs no key.
    """
    book = opened.a_book(asked)
    now = opened.now(book)
    found = [one for one in owing.every(book, at=now) if owing.over(one, now) and (one.late_at(now) or not late)]
    rows = [
        (
            one.report,
            one.recipient,
            one.title,
            len(one.slips) or "nil",
            said.moment(one.due),
            _stands(one),
            said.moment(one.met_at),
            f"late: {one.lateness(now)}" if one.late_at(now) else " ",
        )
        for one in found
    ]
    text = said.table(("report", "to", "title", "slips", "due", "state", "done", ""), rows)
    said.answer(asked, {"reports": [_record(one, now) for one in found]}, text if found else "No report is known.")


@click.command("rates")
@for_a_book
@click.pass_obj
def rates_(asked: Asked) -> None:
    """Show how many reports of each month were late, and how many told something wrong.

    A month's reports are those that were due in it. Wrong are those that a corrected one followed or must follow, and
    those of which the authority's receipt names fields; what receipts name is counted only while the vault is open.
    """
    book = opened.a_book(asked)
    found = rates.rates(book, at=opened.now(book))
    rows = [
        (
            one.month,
            one.due,
            one.late,
            rates.per_cent(one.late_tenths),
            one.out,
            one.wrong,
            rates.per_cent(one.wrong_tenths),
        )
        for one in found
    ]
    text = said.table(("month", "due", "late", "of those due", "left", "wrong", "of those that left"), rows)
    said.answer(asked, {"months": [one.record() for one in found]}, text if found else "No report was due yet.")


@click.command("asked")
@click.argument("rule", metavar="RULE")
@click.argument("period", metavar="PERIOD")
@click.argument("file", metavar="FILE")
@at
@for_a_book
@click.pass_obj
def asked_(asked: Asked, rule: str, period: str, file: str, at: str | None) -> None:
    """Record that an authority asks for a report.

    RULE is JURISDICTION/RULE of a report that is made on request, PERIOD a day or two with a slash between. FILE, JSON
    or TOML or - for standard input, holds: by (who asks) and said (what was asked). The report is owed from then on.
    """
    book = opened.a_book(asked, unlocked=True)
    when = given.moment(at, opened.zone(book), opened.clock())
    by, words = given.texts(given.document(asked, file), "by", optional=("said",))
    report, entry = reporting.asked(book, rule, period, at=when, by=by, said=words)
    told(asked, entry, f"Report {report} is owed", when, report=report)


@click.command()
@click.argument("report", metavar="REPORT")
@click.option(
    "--form",
    "forms",
    multiple=True,
    type=click.Choice(list(filing.FORMS)),
    help="A form for programs beside the paper; may be given more than once.",
)
@papers.out
@at
@for_a_book
@click.pass_obj
def make(asked: Asked, report: str, forms: tuple[str, ...], out: Path | None, at: str | None) -> None:
    """Make a report: its paper and its entry.

    REPORT is its id, which `report due` shows.
    """
    book = opened.a_book(asked, unlocked=True)
    when = given.moment(at, opened.zone(book), opened.clock())
    entry, files = reporting.make_in(book, report, settings_of(book.folder).sheet, forms, at=when)
    name = f"report-{report}".replace("/", "-")
    paths = [papers.keep(book, out, f"{name}{ending}", data) for ending, data in files.items()]
    if asked.json:
        told(asked, entry, "", when, report=report, papers=[str(path) for path in paths])
    else:
        rest = "".join(f"\nFile: {path}" for path in paths[1:])
        click.echo(f"Report {report} is made: entry {entry.seq}.\nPaper: {paths[0]}{rest}")


@click.command()
@click.argument("report", metavar="REPORT")
@for_a_book
@click.pass_obj
def show(asked: Asked, report: str) -> None:
    """Show where a report stands, and every step taken with it.

    REPORT is its id, which `report list` shows. Needs no key.
    """
    book = opened.a_book(asked)
    now = opened.now(book)
    one, steps = reporting.history(book, report, at=now)
    document = {**_record(one, now), "steps": [step.record() for step in steps]}
    rows = [(step.seq, step.step, said.moment(step.at), step.by) for step in steps]
    lines = [
        f"{one.title}, {one.report}",
        f"To {one.recipient}, asked by {one.rule} of {one.jurisdiction}, period {one.period}",
        f"Slips: {', '.join(map(str, one.slips)) or 'none'}",
        f"Due {said.moment(one.due)}: {_stands(one)}{_late(one, now)}",
    ]
    text = said.table(("entry", "step", "when", "by"), rows) if rows else "Nothing was done with it yet."
    said.answer(asked, document, "\n".join((*lines, text)))


def _late(one: Owed, now: datetime) -> str:
    return f", late: {one.lateness(now)}" if one.late_at(now) else ""


@click.command()
@click.argument("report", metavar="REPORT")
@click.option("--how", callback=given.free_text, required=True, help="By which way: post, upload, by hand.")
@click.option("--late-because", callback=given.free_text, help="Why it goes late. No names on the command line.")
@at
@for_a_book
@click.pass_obj
def sent(asked: Asked, report: str, how: str, late_because: str, at: str | None) -> None:
    """Record that a report was sent."""
    book = opened.a_book(asked, unlocked=True)
    when = given.moment(at, opened.zone(book), opened.clock())
    entry = reporting.sent(book, report, at=when, how=how, late_because=late_because)
    told(asked, entry, f"Report {report} is sent", when, report=report)


@click.command()
@click.argument("report", metavar="REPORT")
@click.option("--how", callback=given.free_text, required=True, help="How it is known: handed over, carrier's note.")
@at
@for_a_book
@click.pass_obj
def delivered(asked: Asked, report: str, how: str, at: str | None) -> None:
    """Record that a report was delivered."""
    book = opened.a_book(asked, unlocked=True)
    when = given.moment(at, opened.zone(book), opened.clock())
    told(
        asked, reporting.delivered(book, report, at=when, how=how), f"Report {report} is delivered", when, report=report
    )


@click.command()
@click.argument("report", metavar="REPORT")
@click.argument("file", metavar="FILE")
@at
@for_a_book
@click.pass_obj
def received(asked: Asked, report: str, file: str, at: str | None) -> None:
    """Record the authority's receipt of a report.

    FILE, JSON or TOML or - for standard input, holds: who (who confirmed it) and reference (the receipt's number); and
    wrong, a list of fields, where the authority says that some are. Holds that wait for the receipt begin with it.
    """
    book = opened.a_book(asked, unlocked=True)
    when = given.moment(at, opened.zone(book), opened.clock())
    document = given.document(asked, file)
    wrong = document.pop("wrong", [])
    if not isinstance(wrong, list) or not all(isinstance(one, str) and one.strip() for one in wrong):
        raise InputError(field="wrong", given=Said("something else"), wanted="a list of the names of fields")
    who, reference = given.texts(document, "who", optional=("reference",))
    entry = reporting.received(book, report, at=when, who=who, reference=reference, wrong=wrong)
    told(asked, entry, f"Report {report} is received", when, report=report)


def _more_time(asked: Asked, report: str, file: str, at: str | None, failed: bool) -> None:
    book = opened.a_book(asked, unlocked=True)
    when = given.moment(at, opened.zone(book), opened.clock())
    by, words = given.texts(given.document(asked, file), "by", optional=("said",))
    entry = reporting.extended(book, report, at=when, by=by, said=words, failed=failed)
    due = next(one.due for one in owing.every(book, at=opened.now(book)) if one.report == report)
    told(asked, entry, f"Report {report} is due {said.moment(due)}", when, report=report, due=local_text(due))


@click.command()
@click.argument("report", metavar="REPORT")
@click.argument("file", metavar="FILE")
@at
@for_a_book
@click.pass_obj
def extended(asked: Asked, report: str, file: str, at: str | None) -> None:
    """Record that the recipient of a report gave more time.

    FILE, JSON or TOML or - for standard input, holds: by (who gave it) and said. How much more follows from the rule.
    """
    _more_time(asked, report, file, at, False)


@click.command()
@click.argument("report", metavar="REPORT")
@click.argument("file", metavar="FILE")
@at
@for_a_book
@click.pass_obj
def failed(asked: Asked, report: str, file: str, at: str | None) -> None:
    """Record that the usual way of a report failed.

    FILE, JSON or TOML or - for standard input, holds: by (who says so) and said (what failed). What may be done instead
    and by when follows from the rule.
    """
    _more_time(asked, report, file, at, True)
