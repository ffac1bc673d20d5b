"""Commands on what may not leave yet: list, order, confirmed, renewed, notice, lift."""

from datetime import datetime
from pathlib import Path

import click

from ledger.acts import holding, listing, replying, wording
from ledger.acts.holding import Standing
from ledger.acts.opening import settings_of
from ledger.book import engine as engines
from ledger.cli import given, opened, papers, said
from ledger.cli.options import Asked, for_a_book
from ledger.cli.undone import at, told
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
    items = [one for one in holding.standing(book, at=now) if not (held and one.free_at(now))]
    drawn = []
    if paper:
        with engines.reading(book.engine) as connection:
            data = listing.hold_list_paper(connection, book, settings_of(book.folder).sheet, at=now)
        drawn = [str(papers.keep(book, out, f"holds-{now:%Y-%m-%d}.pdf", data))]
    nothing = "Nothing in stock is held." if held else "Nothing is in stock."
    rows = [(f"{one.slip}/{one.line}", _now(one, now), _leaves(one), one.place, one.words) for one in items]
    text = said.table(("item", "now", "may leave from", "place", "article"), rows) if rows else nothing
    why = [line for one in items for line in said.listed(f"Item {one.slip}/{one.line}", _why(one, now))]
    document = {
        "at": local_text(now),
        "items": [{**_record(one), "free": one.free_at(now)} for one in items],
        "papers": drawn,
    }
    lines = [text, *(["", *why] if why else []), *(f"Paper: {path}" for path in drawn)]
    said.answer(asked, document, lines)


def _why(one: Standing, now: datetime) -> list[str]:
    """What holds an item, in words: each hold that runs, each order that stands."""
    holds = [wording.hold(hold) for hold in one.holds if hold.cautious is None or hold.cautious > now]
    return [*holds, *(wording.order(each) for each in one.on_orders if each.order.stands(now))]


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
        "holds": [{**hold.record(), "says": wording.hold(hold), "trace": {}} for hold in one.holds],
        "on_orders": [
            {"order": each.given.id, "says": wording.order(each), "state": each.state and each.state.record()}
            for each in one.on_orders
        ],
    }


@click.command()
@click.argument("file", metavar="FILE")
@for_a_book
@click.pass_obj
def order(asked: Asked, file: str) -> None:
    """Record an authority's order to hold items.

    FILE, JSON or TOML or - for standard input, holds: items (such as ["12/1"]), agency, officer, case, power (the
    section relied on), from and until (local moments), form (written or spoken), said; and rule (JURISDICTION/RULE, or
    none), where the rule files have more than one rule for orders, and notified, from when the rule counts. Items that
    are no longer in stock are named, so that the authority can be told.
    """
    book = opened.a_book(asked, unlocked=True)
    ordered = holding.read_order(given.document(asked, file))
    name, entry = holding.order(book, ordered)
    gone = holding.gone(book, ordered)
    with engines.reading(book.engine) as connection:
        fates = {one.item: one for one in replying.gone(connection, book, tuple(gone))}
    told_of = {item: f" ({' '.join(one.sentences[1:])})" for item, one in fates.items()}
    away = "".join(
        f"; item {item} is not in stock ({state}), tell the authority{told_of.get(item, '')}"
        for item, state in gone.items()
    )
    states = holding.must_state(book, name)
    look = f"; look whether it states: {', '.join(states)}" if states else ""
    told(
        asked,
        entry,
        f"Order {name} stands{away}{look}",
        order=name,
        not_in_stock=gone,
        gone=[one.record() for one in fates.values()],
        must_state=list(states),
    )


@click.command()
@click.argument("name", metavar="ORDER")
@click.argument("file", metavar="FILE")
@at
@for_a_book
@click.pass_obj
def lift(asked: Asked, name: str, file: str, at: str | None) -> None:
    """Record that an order no longer stands.

    ORDER is its id, which `hold list` shows. FILE, JSON or TOML or - for standard input, holds: by (who lifted it, for
    which agency) and form (written, spoken or court-order).
    """
    book = opened.a_book(asked, unlocked=True)
    when = given.moment(at, opened.zone(book), opened.clock())
    by, form = given.texts(given.document(asked, file), "by", "form")
    told(asked, holding.lift(book, name, at=when, by=by, form=form), f"Order {name} is lifted", when, order=name)


def _note(asked: Asked, name: str, file: str, at: str | None, event: str, says: str) -> None:
    book = opened.a_book(asked, unlocked=True)
    when = given.moment(at, opened.zone(book), opened.clock())
    by, said_ = given.texts(given.document(asked, file), "by", optional=("said",))
    entry = holding.note(book, name, event, at=when, by=by, said=said_)
    told(asked, entry, f"Order {name}: {says}", when, order=name, event=event)


@click.command()
@click.argument("name", metavar="ORDER")
@click.argument("file", metavar="FILE")
@at
@for_a_book
@click.pass_obj
def confirmed(asked: Asked, name: str, file: str, at: str | None) -> None:
    """Record that a spoken order was confirmed in writing.

    FILE, JSON or TOML or - for standard input, holds: by (who wrote, for which agency) and said (what it says).
    """
    _note(asked, name, file, at, "confirmed", "it is confirmed in writing")


@click.command()
@click.argument("name", metavar="ORDER")
@click.argument("file", metavar="FILE")
@at
@for_a_book
@click.pass_obj
def renewed(asked: Asked, name: str, file: str, at: str | None) -> None:
    """Record that an authority renewed its order.

    FILE, JSON or TOML or - for standard input, holds: by (who renewed it, for which agency) and said.
    """
    _note(asked, name, file, at, "renewed", "it is renewed")


@click.command()
@click.argument("name", metavar="ORDER")
@click.argument("file", metavar="FILE")
@at
@for_a_book
@click.pass_obj
def notice(asked: Asked, name: str, file: str, at: str | None) -> None:
    """Record the shop's own notice before an order ends.

    FILE, JSON or TOML or - for standard input, holds: by (who wrote) and said (to whom, what it says). Where the law
    lengthens an order because the shop kept silent, this is what prevents it; `task due` shows by when.
    """
    _note(asked, name, file, at, "notice", "the shop's notice is given")
