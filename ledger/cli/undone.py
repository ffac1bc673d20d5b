"""Commands that undo or mend a slip: withdraw, void, correct. What stands in the book stays readable."""

from datetime import datetime

import click

from ledger.acts import correcting, undoing
from ledger.chain.entries import Entry
from ledger.cli import given, opened, said
from ledger.cli.options import Asked, Command, for_a_book


def because(command: Command) -> Command:
    """`--because TEXT`"""
    return click.option(
        "--because",
        callback=given.free_text,
        required=True,
        help="Why, for the book; - reads it from standard input, @FILE from a file. No names on the command line.",
    )(command)


def at(command: Command) -> Command:
    """`--at MOMENT`"""
    says = "When it happened, day and clock in the shop's zone; now without it."
    return click.option("--at", metavar="MOMENT", help=says)(command)


def told(asked: Asked, entry: Entry, text: str, moment: datetime | None = None, **more: object) -> None:
    """Print that an entry now stands in the book."""
    document = {"entry": entry.seq, "leaf": entry.leaf.hex(), **more}
    if moment is not None:
        document["at"] = said.moment(moment)
    said.answer(asked, document, f"{text}: entry {entry.seq}.")


@click.command()
@click.argument("slip", type=int, metavar="NUMBER")
@because
@for_a_book
@click.pass_obj
def withdraw(asked: Asked, slip: int, because: str) -> None:
    """Record that a presented slip was not completed."""
    book = opened.a_book(asked, unlocked=True)
    told(asked, undoing.withdraw(book, slip, because), f"Slip {slip} is withdrawn", slip=slip)


@click.command()
@click.argument("slip", type=int, metavar="NUMBER")
@because
@at
@for_a_book
@click.pass_obj
def void(asked: Asked, slip: int, because: str, at: str | None) -> None:
    """Undo a recorded slip by a lawful return.

    All goods go back to the seller and the money comes back. Refused with 7 while a hold forbids it; reports that
    told of the slip are listed as to be corrected.
    """
    book = opened.a_book(asked, unlocked=True)
    when = given.moment(at, opened.zone(book), opened.clock())
    told(asked, undoing.void(book, slip, because, at=when), f"Slip {slip} is void", when, slip=slip)


@click.command()
@click.argument("slip", type=int, metavar="NUMBER")
@click.argument("part", metavar="PART")
@click.argument("file", metavar="FILE")
@because
@for_a_book
@click.pass_obj
def correct(asked: Asked, slip: int, part: str, file: str, because: str) -> None:
    """Correct a part of a recorded slip by a new entry.

    PART names it, such as item/2/description (`slip show NUMBER` lists them). FILE holds the members that should
    read otherwise, JSON or TOML; for a part that is a text or a list, the member text or list; not_known with a reason
    for what turns out not to be known. The duties of the slip are weighed again: what is broken or owed since is told.
    """
    book = opened.a_book(asked, unlocked=True)
    changes = given.document(asked, file)
    entry = correcting.correct(book, slip, part, changes, because)
    since = correcting.changed_by(book, entry)
    says = f"{part} of slip {slip} is corrected"
    told(asked, entry, "; ".join([says, *(one.rstrip(".") for one in since)]), slip=slip, changed=since)
