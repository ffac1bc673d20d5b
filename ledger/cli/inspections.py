"""Commands on inspections: open, shelf, sample, record, cured, list."""

from pathlib import Path

import click

from ledger.acts import inspecting, shelving, showing
from ledger.acts.opening import settings_of
from ledger.book import engine as engines
from ledger.cli import given, opened, papers, said
from ledger.cli.options import Asked, for_a_book
from ledger.cli.undone import at, told
from ledger.moments import local_text

_DIFFERS = 8


@click.command("open")
@click.option("--reasons", is_flag=True, help="Show the reasons that the shop's people typed beside changes.")
@papers.out
@for_a_book
@click.pass_obj
def open_(asked: Asked, reasons: bool, out: Path | None) -> None:
    """Prepare everything since the last inspection in one folder.

    Purchase records and the articles in them, nothing else: the register in number order with voids and corrections,
    stock on hand, reports with their receipts, rule files in force, as PDF and CSV. Sellers' data are not in it; they
    need a request that reaches them. Only a seal is written to the book.
    """
    book = opened.a_book(asked, unlocked=True)
    now = opened.now(book)
    made = showing.folder(book, settings_of(book.folder).sheet, at=now, reasons=reasons)
    where = (out or book.folder.resolve().parent / "papers") / f"inspection-{now:%Y-%m-%d}"
    kept = [str(papers.keep(book, where, name, data)) for name, data in sorted(made.files.items())]
    document = {"first": made.first, "last": made.last, "counts": dict(made.counts), "papers": kept}
    lines = [
        f"Entries {made.first} to {made.last}.",
        *(f"{name.capitalize()}: {count}" for name, count in made.counts.items()),
        f"Folder: {where}",
    ]
    said.answer(asked, document, lines)


@click.command()
@click.argument("file", metavar="FILE")
@click.option("--place", default="", metavar="PLACE", help="Only what the book says lies there.")
@click.option("--paper", is_flag=True, help="Draw the two-way sheet too.")
@papers.out
@for_a_book
@click.pass_context
def shelf(ctx: click.Context, file: str, place: str, paper: bool, out: Path | None) -> None:
    """Hold the shelf against the book, both ways, by scanned labels.

    FILE, or - for standard input, holds one scanned code a line, as the bars or the square code of a bag label give
    it. Named are entries without article and articles without entry; where there are any it ends with 8. Nothing is
    written to the book.
    """
    asked: Asked = ctx.obj
    book = opened.a_book(asked)
    found = shelving.check(book, shelving.codes(given.data(asked, file)), place=place)
    drawn = []
    if paper:
        now = opened.now(book)
        data = shelving.shelf_paper(book, found, settings_of(book.folder).sheet, at=now)
        drawn = [str(papers.keep(book, out, f"shelf-{now:%Y-%m-%d}.pdf", data))]
    missing = [(one.item, one.place, one.state, one.words) for one in found.missing]
    strays = [(one.code, one.why) for one in found.strays]
    lines = [
        f"{said.count(len(found.found), 'article')} with an entry.",
        *(["", "Entries without article:", said.table(("item", "place", "state", "article"), missing)] * bool(missing)),
        *(["", "Articles without entry:", said.table(("scanned", "why"), strays)] * bool(strays)),
        *said.listed("By the book elsewhere", [f"{one.item}, {one.state}: {one.words}" for one in found.away]),
        *said.listed("Scanned twice", found.twice),
        *(f"Paper: {path}" for path in drawn),
    ]
    said.answer(asked, {**found.record(), "papers": drawn}, lines)
    if not found.agrees:
        ctx.exit(_DIFFERS)


@click.command()
@click.argument("seed", metavar="SEED")
@click.option("--count", type=click.IntRange(1, 10_000), default=20, show_default=True, help="How many items.")
@click.option("--stock", is_flag=True, help="Draw from what is in stock, not from what was bought since.")
@for_a_book
@click.pass_obj
def sample(asked: Asked, seed: str, count: int, stock: bool) -> None:
    """Draw a random sample of items from a seed that the inspector gives.

    Drawn from what was bought since the last inspection, or with --stock from what is in stock. Anybody who has the
    list of items and the seed can draw it again: the method is printed with it.
    """
    book = opened.a_book(asked, unlocked=not stock)
    with engines.reading(book.engine) as connection:
        since = None if stock else inspecting.since(connection, book)
        drawn = shelving.sample_in(connection, book.origin, seed, count, since=since)
    rows = [(one.article.item, one.article.place, one.article.state, one.article.words) for one in drawn.drawn]
    lines = [
        f"{len(rows)} of {drawn.population} items, {drawn.of}.",
        shelving.METHOD,
        said.table(("item", "place", "state", "article"), rows),
    ]
    said.answer(asked, drawn.record(), lines)


@click.command()
@click.argument("file", metavar="FILE")
@papers.out
@for_a_book
@click.pass_obj
def record(asked: Asked, file: str, out: Path | None) -> None:
    """Record an inspection, sealed right after the last entry, and draw its paper.

    FILE, JSON or TOML or - for standard input, holds: officer (name, number, agency), power (the section relied on),
    scope, at (a local moment), with (who of the shop was there), signature (where the inspector signed, or why not);
    and if need be findings (a list of what and cure_by, a day), said (what the shop says to it), sample (seed and
    count) and shown (SHA-256 of what was shown, such as contents.csv of the folder).
    """
    book = opened.a_book(asked, unlocked=True)
    entry = inspecting.record(book, inspecting.read(given.document(asked, file)))
    data = inspecting.paper(book, entry, settings_of(book.folder).sheet)
    path = papers.keep(book, out, f"inspection-{entry.seq}.pdf", data)
    document = {"entry": entry.seq, "leaf": entry.leaf.hex(), "papers": [str(path)]}
    said.answer(asked, document, [f"The inspection is sealed: entry {entry.seq}.", f"Paper: {path}"])


@click.command()
@click.argument("entry", type=int, metavar="ENTRY")
@click.argument("finding", type=int, metavar="FINDING")
@click.option("--said", "words", callback=given.free_text, help="What was done. No names on the command line.")
@at
@for_a_book
@click.pass_obj
def cured(asked: Asked, entry: int, finding: int, words: str, at: str | None) -> None:
    """Record that a finding of an inspection was put right.

    ENTRY is the number of the inspection's entry, FINDING that of the finding in it, from 1.
    """
    book = opened.a_book(asked, unlocked=True)
    when = given.moment(at, opened.zone(book), opened.clock())
    made = inspecting.cure(book, entry, finding, at=when, by=book.by, said=words)
    told(asked, made, f"Finding {finding} of the inspection in entry {entry} is cured", when, inspection=entry)


@click.command("list")
@for_a_book
@click.pass_obj
def list_(asked: Asked) -> None:
    """List inspections, oldest first, with what is still to be cured."""
    book = opened.a_book(asked, unlocked=True)
    with engines.reading(book.engine) as connection:
        known = inspecting.every(connection, book)
    document = [
        {
            "entry": one.seq,
            "at": local_text(one.at),
            "agency": one.said["officer"]["agency"],
            "power": one.said["power"],
            "findings": one.said["findings"],
            "open": [{"finding": number, "what": what, "cure_by": day} for number, what, day in one.open],
        }
        for one in known
    ]
    rows = [
        (
            one.seq,
            f"{one.at:%Y-%m-%d}",
            one.said["officer"]["agency"],
            "; ".join(f"{number}: {what}{f' by {day}' if day else ''}" for number, what, day in one.open),
        )
        for one in known
    ]
    text = said.table(("entry", "day", "agency", "to cure"), rows, right=("entry",))
    said.answer(asked, {"inspections": document}, text if rows else "No inspection is in the book.")
