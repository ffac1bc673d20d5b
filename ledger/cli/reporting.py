"""Commands on reports to the authorities: due, make, sent, received."""

from pathlib import Path

import click

from ledger.acts import reporting
from ledger.acts.opening import settings_of
from ledger.cli import given, opened, papers, said
from ledger.cli.options import Asked, for_a_book
from ledger.cli.undone import at, told

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
            one.state,
            "late" if one.late_at(now) else " ",
        )
        for one in owed
    ]
    text = said.table(("report", "to", "period", "slips", "due", "state", ""), rows)
    document = {"reports": [{**one.record(), "late": one.late_at(now)} for one in owed]}
    said.answer(asked, document, text if owed else "No report is owed.")
    ctx.exit(_DUE if owed else 0)


@click.command()
@click.argument("report", metavar="REPORT")
@papers.out
@at
@for_a_book
@click.pass_obj
def make(asked: Asked, report: str, out: Path | None, at: str | None) -> None:
    """Make a report: its paper and its entry.

    REPORT is its id, which `report due` shows.
    """
    book = opened.a_book(asked, unlocked=True)
    when = given.moment(at, opened.zone(book), opened.clock())
    entry, paper = reporting.make(book, report, settings_of(book.folder).sheet, at=when)
    path = papers.keep(book, out, f"report-{report}.pdf".replace("/", "-"), paper)
    if asked.json:
        told(asked, entry, "", when, report=report, papers=[str(path)])
    else:
        click.echo(f"Report {report} is made: entry {entry.seq}.\nPaper: {path}")


@click.command()
@click.argument("report", metavar="REPORT")
@click.option("--how", callback=given.free_text, required=True, help="By which way: post, upload, by hand.")
@at
@for_a_book
@click.pass_obj
def sent(asked: Asked, report: str, how: str, at: str | None) -> None:
    """Record that a report was sent."""
    book = opened.a_book(asked, unlocked=True)
    when = given.moment(at, opened.zone(book), opened.clock())
    told(asked, reporting.sent(book, report, at=when, how=how), f"Report {report} is sent", when, report=report)


@click.command()
@click.argument("report", metavar="REPORT")
@click.argument("file", metavar="FILE")
@at
@for_a_book
@click.pass_obj
def received(asked: Asked, report: str, file: str, at: str | None) -> None:
    """Record the authority's receipt of a report.

    FILE, JSON or TOML or - for standard input, holds: who (who confirmed it) and reference (the receipt's number).
    Holds that wait for the receipt begin with it.
    """
    book = opened.a_book(asked, unlocked=True)
    when = given.moment(at, opened.zone(book), opened.clock())
    who, reference = given.texts(given.document(asked, file), "who", optional=("reference",))
    entry = reporting.received(book, report, at=when, who=who, reference=reference)
    told(asked, entry, f"Report {report} is received", when, report=report)
