"""Commands on what became of the money: list, owed, paid, failed, reissued."""

from typing import Any

import click
import sqlalchemy as sa

from ledger.acts import paying
from ledger.book import engine as engines
from ledger.book import tables
from ledger.cli import given, opened, said
from ledger.cli.options import Asked, Command, for_a_book
from ledger.cli.undone import at, told
from ledger.measures import Money
from ledger.moments import parse_local
from ledger.slip.schema import SCHEMA

_STILL_OWED = ("owed", "failed", "reissued")
_DUE = 8
INSTRUMENTS: tuple[str, ...] = tuple(SCHEMA["properties"]["payout"]["properties"]["instrument"]["enum"])


def _rows(asked: Asked, states: tuple[str, ...] = ()) -> list[sa.Row[Any]]:
    book = opened.a_book(asked)
    payout = tables.payouts.c
    wanted = sa.select(tables.payouts).where(payout.book == book.origin).order_by(payout.slip, payout.payout)
    wanted = wanted.where(payout.state.in_(states)) if states else wanted
    with engines.reading(book.engine) as connection:
        return list(connection.execute(wanted).all())


def _since(row: sa.Row[Any]) -> str:
    return said.moment(parse_local(row.at, "at"))


def _tell(asked: Asked, rows: list[sa.Row[Any]], nothing: str) -> None:
    document = [
        {
            "slip": row.slip,
            "payout": int(row.payout),
            "state": row.state,
            "instrument": row.instrument,
            "amount": {"currency": row.currency, "minor": row.minor},
            "at": row.at,
        }
        for row in rows
    ]
    lines = said.table(
        ("slip", "state", "instrument", "amount", "since"),
        [(row.slip, row.state, row.instrument, Money(row.currency, row.minor), _since(row)) for row in rows],
        right=("slip", "amount"),
    )
    said.answer(asked, {"payouts": document}, lines if rows else nothing)


@click.command("list")
@for_a_book
@click.pass_obj
def list_(asked: Asked) -> None:
    """List payouts and their states."""
    _tell(asked, _rows(asked), "No payout is in the book.")


@click.command()
@for_a_book
@click.pass_context
def owed(ctx: click.Context) -> None:
    """List what is still to be paid.

    Ends with 8 when there is something.
    """
    rows = _rows(ctx.obj, _STILL_OWED)
    _tell(ctx.obj, rows, "Nothing is owed.")
    ctx.exit(_DUE if rows else 0)


def _instrument(command: Command) -> Command:
    says = "How it was paid, where that differs from what was agreed."
    return click.option("--instrument", type=click.Choice(INSTRUMENTS), help=says)(command)


def _reference(command: Command) -> Command:
    says = "File with the number of the cheque or transfer; - is standard input."
    return click.option("--reference", metavar="FILE", help=says)(command)


def _settle(
    asked: Asked, slip: int, state: str, at: str | None, instrument: str | None = None, reference: str | None = None
) -> None:
    book = opened.a_book(asked, unlocked=True)
    when = given.moment(at, opened.zone(book), opened.clock())
    number = None if reference is None else given.words(asked, reference, "--reference")
    entry = paying.settle(book, slip, state, at=when, instrument=instrument, reference=number)
    told(asked, entry, f"The payout of slip {slip} is {state}", when, slip=slip, state=state)


@click.command()
@click.argument("slip", type=int, metavar="SLIP")
@_instrument
@_reference
@at
@for_a_book
@click.pass_obj
def paid(asked: Asked, slip: int, instrument: str | None, reference: str | None, at: str | None) -> None:
    """Record that a slip's payout was made.

    Refused with 7 where the rules allow no such instrument, or no payment yet.
    """
    _settle(asked, slip, "paid", at, instrument, reference)


@click.command()
@click.argument("slip", type=int, metavar="SLIP")
@at
@for_a_book
@click.pass_obj
def failed(asked: Asked, slip: int, at: str | None) -> None:
    """Record that a payout came back, such as a bounced cheque."""
    _settle(asked, slip, "failed", at)


@click.command()
@click.argument("slip", type=int, metavar="SLIP")
@_instrument
@_reference
@at
@for_a_book
@click.pass_obj
def reissued(asked: Asked, slip: int, instrument: str | None, reference: str | None, at: str | None) -> None:
    """Record that a payout was made again."""
    _settle(asked, slip, "reissued", at, instrument, reference)
