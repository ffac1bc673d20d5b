"""Commands that show slips: list and show.

Decides: what a person at the machine sees without asking for it. The seller's data are shown only with --personal, and
that look is the one thing written here.
"""

from collections.abc import Iterator, Mapping
from typing import Any

import click
import sqlalchemy as sa

from ledger.acts import gathering, looking, wording
from ledger.book import engine as engines
from ledger.book import reading, tables
from ledger.book.pages import Book
from ledger.chain import parts
from ledger.chain.entries import Entry
from ledger.cli import opened, said
from ledger.cli.options import Asked, for_a_book
from ledger.measures import Money
from ledger.slip import describing
from ledger.slip.document import Slip

_PERSONAL = ("seller", "print", "scan", "case", "staff")


@click.command("list")
@click.option(
    "--state", type=click.Choice(["presented", "recorded", "withdrawn", "voided"]), help="Only slips in this state."
)
@click.option("--day", metavar="DAY", help="Only slips of this local day, such as 2026-11-24.")
@click.option("--most", type=click.IntRange(1), default=100, show_default=True, help="How many at most.")
@for_a_book
@click.pass_obj
def list_(asked: Asked, state: str | None, day: str | None, most: int) -> None:
    """List slips, newest first."""
    book = opened.a_book(asked)
    slip = tables.slips.c
    wanted = sa.select(tables.slips).where(slip.book == book.origin).order_by(slip.slip.desc()).limit(most)
    wanted = wanted if state is None else wanted.where(slip.state == state)
    wanted = wanted if day is None else wanted.where(slip.local_day == day)
    with engines.reading(book.engine) as connection:
        rows = connection.execute(wanted).all()
    document = [
        {
            "slip": row.slip,
            "state": row.state,
            "presented_at": row.presented_at,
            "channel": row.channel,
            "items": row.items,
            "total": None if row.currency is None else {"currency": row.currency, "minor": row.total_minor},
        }
        for row in rows
    ]
    lines = said.table(
        ("slip", "state", "day", "items", "total", "channel"),
        [(row.slip, row.state, row.local_day, row.items, _total(row), row.channel) for row in rows],
        right=("slip", "items", "total"),
    )
    said.answer(asked, {"slips": document}, lines if rows else "No such slip is in the book.")


def _total(row: sa.Row[Any]) -> str:
    return "" if row.currency is None else str(Money(row.currency, row.total_minor))


@click.command()
@click.argument("number", type=int, metavar="NUMBER")
@click.option("--personal", is_flag=True, help="Show the seller's data too; the look is recorded.")
@click.option("--why", default="", metavar="REASON", help="Why they are looked at; needed with --personal.")
@for_a_book
@click.pass_obj
def show(asked: Asked, number: int, personal: bool, why: str) -> None:
    """Show one slip with its entries.

    Looking at the seller's data is an entry of its own, with the reason.
    """
    book = opened.a_book(asked, unlocked=True)
    with engines.reading(book.engine) as connection:
        reading.slip_row(connection, book.origin, number)
    if personal:
        looking.look(book, f"slip/{number}", why)
    with engines.reading(book.engine) as connection:
        whole = gathering.whole(connection, book, number)
        entries = history(connection, book, f"slip/{number}")
        slip = whole.slip if "visit" in whole.parts else None
    shown = list(whole.parts.items()) if personal else list(_without_people(whole.parts))
    hidden = len(whole.parts) - len(shown)
    document = {
        "slip": number,
        "state": whole.row.state,
        "parts": dict(shown),
        "parts_not_shown": hidden,
        "corrections": [
            {"entry": one.seq, "part": one.part, "because": one.because}
            for one in whole.corrections
            if personal or not _is_personal(one.part)
        ],
        "entries": [entry_record(entry) for entry in entries],
    }
    lines = [
        f"Slip {number}, {whole.row.state}",
        *([] if personal else [f"{hidden} parts about people are not shown; --personal shows them."]),
        said.table(("part", "says"), [(name, _brief(slip, name, value)) for name, value in shown]),
        "",
        entry_table(entries),
    ]
    said.answer(asked, document, lines)


def _without_people(named: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
    """Parts that are not about people; of duties what came out, since a trace holds what the seller answered."""
    for name, value in named.items():
        if name == "duties":
            yield name, {"duties": [{member: duty[member] for member in _OUTCOME} for duty in value["duties"]]}
        elif not _is_personal(name):
            yield name, value


_OUTCOME = ("jurisdiction", "rule", "kind", "about", "outcome", "effect", "source")


def _is_personal(name: str) -> bool:
    return (parts.class_of(name) in _PERSONAL and name != "visit") or name == "payout/payee"


def _brief(slip: Slip | None, name: str, value: Any) -> str:
    """A part in a line: what a program worked out is only named."""
    if name.endswith("/description") and slip is not None:
        return describing.one_line(slip.items[int(name.split("/")[1]) - 1])
    if isinstance(value, dict) and "file_received" in value:
        return f"{value['shows']}: {value['media_type']}, {value['bytes']:,} bytes, SHA-256 {value['received'][:16]}"
    if name.endswith("/conclusion"):
        return "agrees" if value["agrees"] else f"differs because {value['because']}"
    if name == "duties":
        states = [duty["outcome"] for duty in value["duties"]]
        return ", ".join(f"{states.count(state)} {state}" for state in dict.fromkeys(states)) or "none"
    if name.endswith("/assessment"):
        return f"{value['construction']}, {value['standing']}; {wording.interval(value)}"
    if name.endswith("/price"):
        return wording.said({key: value[key] for key in ("offer", "answer") if key in value})
    if name.endswith("/evidence"):
        return ", ".join(test["test"] for test in value)
    return wording.said(value)


def history(connection: sa.Connection, book: Book, *names: str) -> list[Entry]:
    """The entries about something, in the order of the book."""
    return [
        reading.entry_at(connection, book.origin, seq) for seq in reading.seqs_about(connection, book.origin, *names)
    ]


def entry_record(entry: Entry) -> dict[str, Any]:
    """An entry's own line as JSON."""
    return {
        "entry": entry.seq,
        "kind": entry.kind,
        "recorded_at": entry.recorded_at,
        "by": entry.by,
        "leaf": entry.leaf.hex(),
    }


def entry_table(entries: list[Entry]) -> str:
    """Entries as a table."""
    rows = [(one.seq, one.kind.partition("/")[0], one.recorded_at, one.by, one.leaf.hex()[:16]) for one in entries]
    return said.table(("entry", "kind", "recorded at", "by", "leaf"), rows, right=("entry",))
