"""Commands on the shop's day: close and sheet."""

from pathlib import Path

import click

from ledger.acts import closing, listing
from ledger.acts.opening import settings_of
from ledger.book import engine as engines
from ledger.cli import given, opened, papers, said
from ledger.cli.options import Asked, for_a_book


@click.command()
@click.argument("day", required=False, metavar="[DAY]")
@for_a_book
@click.pass_obj
def close(asked: Asked, day: str | None) -> None:
    """Close a day and seal the book.

    DAY is a local day such as 2026-11-24; today without it. While the vault is locked the close holds plain counts
    and makes no seal: the next one with the vault open adds it.
    """
    book = opened.a_book(asked)
    which = given.day(day, opened.zone(book), opened.clock())
    closed = closing.close(book, which)
    short = None if closed.seal is None else closing.short(closed.seal)
    document = {
        "day": which.isoformat(),
        "entry": closed.entry.seq,
        "leaf": closed.entry.leaf.hex(),
        "counts": closed.counts,
        "seal": short,
        "seal_note": closed.seal,
    }
    sealed = f"Seal: {short}" if short else "No seal was signed: the vault is locked."
    counts = [(name.replace("_", " "), count) for name, count in closed.counts.items()]
    text = said.table(("count", "number"), counts, right=("number",))
    said.answer(asked, document, [f"{which} is closed: entry {closed.entry.seq}.", text, sealed])


@click.command()
@click.argument("day", required=False, metavar="[DAY]")
@papers.out
@for_a_book
@click.pass_obj
def sheet(asked: Asked, day: str | None, out: Path | None) -> None:
    """Draw the sheet of a day.

    DAY is a local day such as 2026-11-24; today without it.
    """
    book = opened.a_book(asked, unlocked=True)
    which = given.day(day, opened.zone(book), opened.clock())
    size = settings_of(book.folder).sheet
    with engines.reading(book.engine) as connection:
        data = listing.day_sheet_paper(connection, book, which, size, at=opened.now(book))
    path = papers.keep(book, out, f"day-{which}.pdf", data)
    said.answer(asked, {"day": which.isoformat(), "papers": [str(path)]}, f"Paper: {path}")
