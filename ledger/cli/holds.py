"""Commands on what may not leave yet: list, order, lift."""

from datetime import datetime
from pathlib import Path

import click

from ledger.acts import holding, listing, wording
from ledger.acts.holding import Standing
from ledger.acts.opening import settings_of
from ledger.book import engine as engines
from ledger.cli import given, opened, papers, said
from ledger.cli.options import Asked, for_a_book
from ledger.cli.undone import at, told
from ledger.errors import InputError
from ledger.law.holds import Leave
from ledger.moments import local_text


@click.command("list")
@click.option("--held", is_flag=True, help="Only what may not leave yet.")
@click.option("--paper", is_flag=True, help="Draw the list too.")
@papers.out
@for_a_book
@click.pass_obj
def list_(asked: Asked, held: bool, paper: bool, out: Path | None) -> None:
    """List items in stock with the moment from which they may leave."""
    book = opened.a_book(asked)
    now = opened.now(book)
    items = [one for one in holding.standing(book) if not (held and one.free_at(now))]
    drawn = []
    if paper:
        with engines.reading(book.engine) as connection:
            data = listing.hold_list_paper(connection, book, settings_of(book.folder).sheet, at=now)
        drawn = [str(papers.keep(book, out, f"holds-{now:%Y-%m-%d}.pdf", data))]
    nothing = "Nothing in stock is held." if held else "Nothing is in stock."
    rows = [(f"{one.slip}/{one.line}", _now(one, now), _leaves(one), one.place, one.words) for one in items]
    text = said.table(("item", "now", "may leave from", "place", "article"), rows) if rows else nothing
    document = {
        "at": local_text(now),
        "items": [{**_record(one), "free": one.free_at(now)} for one in items],
        "papers": drawn,
    }
    said.answer(asked, document, [text, *(f"Paper: {path}" for path in drawn)])


def _now(one: Standing, now: datetime) -> str:
    return "free" if one.free_at(now) else "held"


def _leaves(one: Standing) -> str:
    says = wording.leaves(Leave(one.plain, one.cautious, one.waiting_for), len(one.orders))
    return f"{says} ({', '.join(one.orders)})" if one.orders else says


def _record(one: Standing) -> dict[str, object]:
    return {
        "item": f"{one.slip}/{one.line}",
        "words": one.words,
        "place": one.place,
        "plain": one.plain and local_text(one.plain),
        "cautious": one.cautious and local_text(one.cautious),
        "waiting_for": one.waiting_for,
        "sources": list(one.sources),
        "orders": list(one.orders),
    }


@click.command()
@click.argument("file", metavar="FILE")
@for_a_book
@click.pass_obj
def order(asked: Asked, file: str) -> None:
    """Record an authority's order to hold items.

    FILE, JSON or TOML or - for standard input, holds: items (such as ["12/1"]), agency, officer, case, power (the
    section relied on), from and until (local moments), form (written or spoken), said. Items that are no longer in
    stock are named, so that the authority can be told.
    """
    book = opened.a_book(asked, unlocked=True)
    ordered = holding.read_order(given.document(asked, file))
    name, entry = holding.order(book, ordered)
    gone = holding.gone(book, ordered)
    away = "".join(f"; item {item} is not in stock ({state}), tell the authority" for item, state in gone.items())
    told(asked, entry, f"Order {name} stands{away}", order=name, not_in_stock=gone)


@click.command()
@click.argument("name", metavar="ORDER")
@click.argument("file", metavar="FILE")
@at
@for_a_book
@click.pass_obj
def lift(asked: Asked, name: str, file: str, at: str | None) -> None:
    """Record that an order no longer stands.

    ORDER is its id, which `hold list` shows. FILE, JSON or TOML or - for standard input, holds: by (who lifted it, for
    which agency) and form (written or spoken).
    """
    book = opened.a_book(asked, unlocked=True)
    when = given.moment(at, opened.zone(book), opened.clock())
    by, form = given.texts(given.document(asked, file), "by", "form")
    if form not in ("written", "spoken"):
        raise InputError(field="form", given=form, wanted="'written' or 'spoken'")
    told(asked, holding.lift(book, name, at=when, by=by, form=form), f"Order {name} is lifted", when, order=name)
