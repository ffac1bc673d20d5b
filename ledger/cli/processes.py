"""Commands on requests of authorities: record, note, list, show, taken, returned.

Decides: that a request that is secret stands on no screen unless somebody says why it is looked at, which is recorded;
asked for without that, it is answered like one that there is not.
"""

from datetime import datetime
from pathlib import Path
from typing import Any

import click

from ledger.acts import custody, holding, looking, replying, requested, requests
from ledger.acts.opening import settings_of
from ledger.acts.requests import Process
from ledger.book import engine as engines
from ledger.book.pages import Book
from ledger.cli import given, opened, papers, said
from ledger.cli.options import Asked, Command, for_a_book
from ledger.cli.undone import at, told
from ledger.moments import local_text


def _secretly(command: Command) -> Command:
    """`--secret --why REASON`"""
    flag = click.option("--secret", is_flag=True, help="Show what is secret too; the look is recorded.")
    why = click.option("--why", default="", metavar="REASON", help="Why it is looked at; needed with --secret.")
    return flag(why(command))


@click.command()
@click.argument("file", metavar="FILE")
@click.option("--paper", is_flag=True, help="Draw the answer to it too.")
@papers.out
@for_a_book
@click.pass_obj
def record(asked: Asked, file: str, paper: bool, out: Path | None) -> None:
    """Record a request of an authority.

    FILE, JSON or TOML or - for standard input, holds: kind (request, consent, subpoena, warrant, court-order,
    emergency, preservation, release or replevin), received (a local moment), how (in-person, telephone, mail, e-mail,
    fax or portal), officer (name, badge, agency, phone), power (section, number of the warrant, consent), scope (what
    exactly is asked), call_back (done, at, result; or because it was not done); and if known case, form, items,
    secret_until (a moment, or "lifted"), preserve (names, everything, until), follow_up (what, due), true_owner, claim,
    received_by and decision (state, by, because, fields, entries, hashes, people, seller). Goods that are no longer in
    the shop are told of, with all the book knows.
    """
    book = opened.a_book(asked, unlocked=True)
    name, entry = requests.record(book, requested.read(given.document(asked, file)))
    with engines.reading(book.engine) as connection:
        gone = replying.gone(connection, book, requests.one(connection, book, name).items)
    drawn = [str(_answer(book, name, out))] if paper else []
    document = {
        "process": name,
        "entry": entry.seq,
        "leaf": entry.leaf.hex(),
        "gone": [one.record() for one in gone],
        "papers": drawn,
    }
    sentences = [sentence for one in gone for sentence in one.sentences]
    lines = [f"Request {name} is logged: entry {entry.seq}.", *sentences, *(f"Paper: {path}" for path in drawn)]
    said.answer(asked, document, lines)


def _answer(book: Book, name: str, out: Path | None) -> Path:
    book_sheet = settings_of(book.folder).sheet
    with book.writing() as page:
        page.seal()  # what leaves the shop carries a seal over what it tells of
    data = replying.paper(book, name, book_sheet, at=opened.now(book))
    return papers.keep(book, out, f"answer-{name}.pdf", data)


@click.command()
@click.argument("name", metavar="PROCESS")
@click.argument("file", metavar="FILE")
@for_a_book
@click.pass_obj
def note(asked: Asked, name: str, file: str) -> None:
    """Record what followed a request.

    PROCESS is its id. FILE, JSON or TOML or - for standard input, holds: event (decided, called-back, delivered,
    released, preservation-ended, secrecy, seller-notified, claimed, followed-up or closed), at (a local moment), by,
    said; and with decided decision, with called-back result, with delivered how, to and signature, with released form,
    with secrecy until, with claimed claimant and claim, with followed-up what. Persons' data are shown on a request
    only once somebody decided, with people = true, that its power reaches them.
    """
    book = opened.a_book(asked, unlocked=True)
    step = requested.read_step(given.document(asked, file))
    entry = requests.note(book, name, step)
    told(asked, entry, f"Request {name}: {step.event}", process=name, event=step.event)


@click.command("list")
@click.option("--open", "only_open", is_flag=True, help="Only what was not closed or released.")
@_secretly
@for_a_book
@click.pass_obj
def list_(asked: Asked, only_open: bool, secret: bool, why: str) -> None:
    """List requests of authorities, oldest first, with what is to follow."""
    book = opened.a_book(asked, unlocked=True)
    now = opened.now(book)
    if secret:
        looking.look(book, "process", why)
    with engines.reading(book.engine) as connection:
        known = requests.every(connection, book) if secret else requests.on_screen(connection, book, at=now)
    shown = [one for one in known if not (only_open and one.ended)]
    rows = [
        (one.id, one.said["kind"], one.said["received"][:10], one.said["officer"]["agency"], one.state, _next(one, now))
        for one in shown
    ]
    text = said.table(("process", "kind", "received", "agency", "state", "to follow"), rows)
    document = {"at": local_text(now), "processes": [_brief(one, now) for one in shown]}
    said.answer(asked, document, text if rows else "No such request is in the log.")


def _next(one: Process, now: datetime) -> str:
    return "; ".join(f"{what} by {due:%Y-%m-%d %H:%M}{' (LATE)' if due < now else ''}" for what, due in one.follow_ups)


def _brief(one: Process, now: datetime) -> dict[str, Any]:
    return {
        "process": one.id,
        "entry": one.seq,
        "kind": one.said["kind"],
        "received": one.said["received"],
        "agency": one.said["officer"]["agency"],
        "state": one.state,
        "secret": one.secret_at(now),
        "preserves": one.preserves(now),
        "away": custody.away(one),
        "follow_up": [{"what": what, "due": local_text(due), "late": due < now} for what, due in one.follow_ups],
    }


@click.command()
@click.argument("name", metavar="PROCESS")
@click.option("--paper", is_flag=True, help="Draw the answer to it.")
@_secretly
@papers.out
@for_a_book
@click.pass_obj
def show(asked: Asked, name: str, paper: bool, secret: bool, why: str, out: Path | None) -> None:
    """Show one request with everything that followed it."""
    book = opened.a_book(asked, unlocked=True)
    now = opened.now(book)
    known = _known(book, name, now, secret)
    if secret:
        looking.look(book, f"process/{name}", why)
    drawn = [str(_answer(book, name, out))] if paper else []
    with engines.reading(book.engine) as connection:
        gone = replying.gone(connection, book, known.items)
    document = {
        **_brief(known, now),
        "said": known.said,
        "steps": list(known.steps),
        "gone": [one.record() for one in gone],
        "papers": drawn,
    }
    lines = [
        f"Request {name}, {known.said['kind']}, {known.state}",
        f"From: {known.officer}",
        f"Case: {known.said['case'] or 'none named'}",
        f"Power: {known.said['power']}",
        f"Asked for: {known.said['scope']}",
        *said.listed("Items", known.items),
        *said.listed("Steps", [f"{step.get('at', '-')}  {step['event']}, by {step['by']}" for step in known.steps]),
        *said.listed("To follow", [f"{what}, by {local_text(due)}" for what, due in known.follow_ups]),
        *[sentence for one in gone for sentence in one.sentences],
        *(f"Paper: {path}" for path in drawn),
    ]
    said.answer(asked, document, lines)


def _known(book: Book, name: str, now: datetime, secret: bool) -> Process:
    with engines.reading(book.engine) as connection:
        known = requests.one(connection, book, name)
    if known.secret_at(now) and not secret:
        raise requests.unknown(name)
    return known


@click.command()
@click.argument("name", metavar="PROCESS")
@click.argument("file", metavar="FILE")
@papers.out
@for_a_book
@click.pass_obj
def taken(asked: Asked, name: str, file: str, out: Path | None) -> None:
    """Record that goods were seized or surrendered, with the receipt for them.

    PROCESS is the id of the request on which they go. FILE, JSON or TOML or - for standard input, holds: items,
    outcome (seized or surrendered), at (a local moment), taken_by, receipt (its number), condition (how packed and
    sealed), and if need be to (authority or claimant), follow_up (a list of what and due, as the papers of the case
    say) and said. Surrendering is refused with 7 while a hold forbids it; a seizure is recorded all the same, with what
    forbade it.
    """
    book = opened.a_book(asked, unlocked=True)
    done = custody.take(book, name, custody.read(given.document(asked, file)))
    data = custody.receipt(book, name, done.entry, settings_of(book.folder).sheet)
    path = papers.keep(book, out, f"receipt-{done.entry.seq}.pdf", data)
    document = {
        "process": name,
        "entry": done.entry.seq,
        "leaf": done.entry.leaf.hex(),
        "items": [entry.about[0].removeprefix("item/") for entry in done.items],
        "against": list(done.against),
        "papers": [str(path)],
    }
    lines = [f"{said.count(len(done.items), 'item')} taken: entry {done.entry.seq}.", *done.against, f"Paper: {path}"]
    said.answer(asked, document, lines)


@click.command()
@click.argument("name", metavar="PROCESS")
@click.argument("items", metavar="SLIP/LINE...", nargs=-1, required=True)
@click.option("--by", metavar="FILE", required=True, help="File that says who brought them; - is standard input.")
@at
@for_a_book
@click.pass_obj
def returned(asked: Asked, name: str, items: tuple[str, ...], by: str, at: str | None) -> None:
    """Record that goods which were taken came back to the shop.

    PROCESS is the id of the request on which they went. They are in stock again, under every hold that still runs.
    """
    book = opened.a_book(asked, unlocked=True)
    when = given.moment(at, opened.zone(book), opened.clock())
    back = [holding.item_named(item, "items") for item in items]
    done = custody.give_back(book, name, back, at=when, by=given.words(asked, by, "--by"))
    told(asked, done.entry, f"{said.count(len(back), 'item')} came back", when, process=name, items=list(items))
