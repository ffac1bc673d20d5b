"""Commands on one article: show, move, out, label."""

from pathlib import Path
from typing import Any

import click

from ledger.acts import handing_over, holding, leaving, wording
from ledger.book import engine as engines
from ledger.book import reading
from ledger.chain import canonical
from ledger.cli import given, looking, opened, papers, said
from ledger.cli.options import Asked, Command, for_a_book
from ledger.cli.undone import at, told
from ledger.law.facts import TAKERS
from ledger.law.holds import Leave
from ledger.law.rules import PLACES
from ledger.measures import Money, grams
from ledger.moments import local_text

_NAMED_PLACES = ("secure-storage",)


def _stated(command: Command) -> Command:
    """What is stated about an act, since a rule may let it happen on that condition."""
    for option in (
        click.option("--stated", "stated_file", metavar="FILE", help="The same and answers as a JSON or TOML table."),
        click.option("--state", help="State or region to which it goes."),
        click.option("--permit", callback=given.free_text, help="Permit under which it goes. No names."),
        click.option("--buyer-recorded", is_flag=True, help="The buyer's data are recorded."),
        click.option("--identity-checked", is_flag=True, help="The taker's identity was checked."),
        click.option("--taker", type=click.Choice(TAKERS), help="Who takes it."),
    ):
        command = option(command)
    return command


def _what_is_stated(asked: Asked, told: dict[str, Any]) -> leaving.Stated:
    """What the options of `_stated` say; nothing is stated by an option that was not given."""
    path = told.pop("stated_file")
    document = {} if path is None else given.document(asked, path, "--stated")
    return leaving.read_stated({**document, **{name: value for name, value in told.items() if value}})


@click.command()
@click.argument("item", metavar="SLIP/LINE")
@for_a_book
@click.pass_obj
def show(asked: Asked, item: str) -> None:
    """Show an item: evidence, holds, history."""
    slip, line = holding.item_named(item)
    book = opened.a_book(asked)
    with engines.reading(book.engine) as connection:
        row = reading.item_row(connection, book.origin, slip, line)
        entries = looking.history(connection, book, f"slip/{slip}", f"item/{slip}/{line}")
        standing = holding.standing_of(connection, book, slip, line)
        holds = leaving.holds_of(connection, book, slip, line)
    assessed: dict[str, Any] = canonical.decode(row.assessment.encode())
    offer = None if row.currency is None else Money(row.currency, row.offer_minor)
    leave = wording.leaves(Leave(standing.plain, standing.cautious, standing.waiting_for), len(standing.orders))
    document = {
        "item": f"{slip}/{line}",
        "words": row.words,
        "state": row.state,
        "place": row.place,
        "gross_mg": row.gross_mg,
        "net_mg": row.net_mg,
        "fine_mg": row.fine_mg,
        "offer": offer and offer.record(),
        "assessment": assessed,
        "may_leave": {
            "plain": standing.plain and local_text(standing.plain),
            "cautious": standing.cautious and local_text(standing.cautious),
            "waiting_for": standing.waiting_for,
            "orders": list(standing.orders),
        },
        "holds": [hold.record() for hold in holds],
        "entries": [looking.entry_record(entry) for entry in entries],
    }
    lines = [
        f"Item {slip}/{line}: {row.words}",
        f"{row.state}, {row.place or 'place not recorded'}",
        f"Weight: gross {_grams(row.gross_mg)}, net {_grams(row.net_mg)}, fine {_grams(row.fine_mg)}",
        f"Assessment: {assessed['construction']}, {assessed['standing']}; {wording.interval(assessed)}"
        if assessed
        else "Assessment: none",
        f"Offer: {offer or 'none'}",
        f"May leave from: {leave}",
        *said.listed("Holds", [wording.hold(one) for one in holds]),
        *said.listed("Orders", [wording.order(one) for one in standing.on_orders]),
        "",
        looking.entry_table(entries),
    ]
    said.answer(asked, document, lines)


def _grams(mg: int | None) -> str:
    return "not known" if mg is None else f"{grams(mg)} g"


@click.command()
@click.argument("item", metavar="SLIP/LINE")
@click.argument("place", metavar="PLACE")
@click.option(
    "--known-as",
    metavar="WORD",
    default="",
    help=f"What the rules call the place: {', '.join((*PLACES, *_NAMED_PLACES))}; else PLACE itself.",
)
@click.option("--because", callback=given.free_text, help="Why it is moved. No names on the command line.")
@_stated
@at
@for_a_book
@click.pass_obj
def move(asked: Asked, /, item: str, place: str, known_as: str, because: str, at: str | None, **stated: Any) -> None:
    """Record that an item lies elsewhere now.

    PLACE is what the shop calls it: a safe, a tray, another shop. Refused with 7 where a hold forbids the way.
    """
    slip, line = holding.item_named(item)
    book = opened.a_book(asked, unlocked=True)
    when = given.moment(at, opened.zone(book), opened.clock())
    entry = leaving.move(
        book, slip, line, place, at=when, because=because, to_place=known_as, stated=_what_is_stated(asked, stated)
    )
    told(asked, entry, f"Item {slip}/{line} lies in {place}", when, item=f"{slip}/{line}", place=place)


@click.command()
@click.argument("item", metavar="SLIP/LINE")
@click.argument("outcome", metavar="OUTCOME", type=click.Choice(list(leaving.OUTCOMES)))
@click.option("--to", "to_file", metavar="FILE", help="File that says who has it now; - is standard input.")
@click.option(
    "--known-as", metavar="WORD", default="", help=f"What the rules call the place it goes to: {', '.join(PLACES)}."
)
@click.option("--because", callback=given.free_text, help="Why. No names on the command line.")
@_stated
@at
@for_a_book
@click.pass_obj
def out(
    asked: Asked,
    /,
    item: str,
    outcome: str,
    to_file: str | None,
    known_as: str,
    because: str,
    at: str | None,
    **stated: Any,
) -> None:
    """Record that an item left, unless a hold forbids it.

    Refused with 7 while a hold or an order forbids it: with the rule, its section and the moment from which the item
    may leave, and with what must be stated where a rule lets it leave on a condition. Goods that an authority takes are
    better recorded with `process taken`, which keeps its receipt and what must follow.
    """
    slip, line = holding.item_named(item)
    book = opened.a_book(asked, unlocked=True)
    when = given.moment(at, opened.zone(book), opened.clock())
    to = "" if to_file is None else given.words(asked, to_file, "--to")
    stated_ = _what_is_stated(asked, stated)
    entry = leaving.out(book, slip, line, outcome, at=when, to=to, because=because, to_place=known_as, stated=stated_)
    words = outcome.replace("-", " ")
    told(asked, entry, f"Item {slip}/{line} is {words}", when, item=f"{slip}/{line}", state=outcome)


@click.command()
@click.argument("slip", type=int, metavar="SLIP")
@papers.out
@for_a_book
@click.pass_obj
def label(asked: Asked, slip: int, out: Path | None) -> None:
    """Draw the bag labels of a slip's items.

    One label for each item that was bought, with the moment from which it may leave and nothing about the seller.
    """
    book = opened.a_book(asked, unlocked=True)
    with engines.reading(book.engine) as connection:
        data = handing_over.labels(connection, book, slip)
    path = papers.keep(book, out, f"slip-{slip}-labels.pdf", data)
    said.answer(asked, {"slip": slip, "papers": [str(path)]}, f"Paper: {path}")
