"""What an inspector is shown: purchase records since the last inspection and the articles in them, in one folder.

The register goes in number order, with every void, withdrawal and correction; beside it lie the stock on hand, the
reports with their receipts, and the rule files in force. Nothing else is in it: not the sellers (their data need a
request that reaches them), not who buys, no order, no inquiry and no request. What the shop's people typed as reasons
is shown only where asked, for it may tell more.
"""

import csv
import hashlib
import io
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from ledger.acts import closing, handing_over, inspecting, leaving, owing, telling, wording
from ledger.book import engine as engines
from ledger.book import reading, tables
from ledger.book.pages import Book
from ledger.chain.entries import Entry
from ledger.errors import InputError
from ledger.law import holds as law
from ledger.law.holds import Leave
from ledger.measures import grams
from ledger.moments import parse_local, parse_moment
from ledger.shop import adopted
from reports import inspection

_SHOWN = {
    "presented": "presented to the seller",
    "purchase": "bought",
    "withdrawn": "withdrawn",
    "void": "undone",
    "correction": "corrected",
    "moved": "moved",
    "outcome": "left",
    "weighed": "weighed again",
    "parted": "parted",
}
"""kinds of entry that are purchase records, or about articles in them"""
_UNDONE = ("withdrawn", "voided")
"""states of a slip whose lines are struck"""
REGISTER = ("entry", "slip", "item", "what", "recorded", "by", "says")
STOCK = ("item", "article", "gross", "received", "place", "state", "may leave from")
REPORTS = ("report", "title", "recipient", "period", "due", "state", "sent", "received")
RULES = ("jurisdiction", "name", "file", "compared on", "by")
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


@dataclass(frozen=True)
class Folder:
    """The files of an inspection by name, and what they hold in numbers."""

    files: Mapping[str, bytes]
    first: int
    """number of the first entry that the register covers"""
    last: int
    counts: Mapping[str, int]


@dataclass(frozen=True)
class _Line:
    cells: tuple[str, ...]
    struck: bool = False


def folder(book: Book, sheet: str, *, at: datetime, reasons: bool = False) -> Folder:
    """Everything since the last inspection, as PDF and CSV; only a seal is written to the book.

    at: now, in the shop's zone. Raises: LockedError.
    """
    closing.seal(book)
    with engines.reading(book.engine) as connection:
        first = inspecting.since(connection, book) + 1
        last = reading.size(connection, book.origin) - 1
        register = list(_register(connection, book, first, reasons, at))
        stock = list(_stock(connection, book))
        reports = list(_reports(connection, book, first, at))
        rules = list(_rules(connection, book))
        counts = {
            "entries of the register": len(register),
            "slips": len({line.cells[1] for line in register if line.cells[1]}),
            "items in stock": len(stock),
            "reports": len(reports),
            "rule files": len(rules),
        }
        drawn = _draw(connection, book, (first, last), (register, stock, reports, rules), counts, sheet, at)
        files = {
            "inspection.pdf": drawn,
            "register.csv": _csv(REGISTER, (line.cells for line in register)),
            "stock.csv": _csv(STOCK, stock),
            "reports.csv": _csv(REPORTS, reports),
            "rules.csv": _csv(RULES, rules),
            **{row[2]: reading.rule_file(connection, book.origin, row[2].removesuffix(".toml")) for row in rules},
        }
    rows = [(name, str(len(data)), hashlib.sha256(data).hexdigest()) for name, data in sorted(files.items())]
    return Folder({**files, "contents.csv": _csv(("file", "bytes", "sha256"), rows)}, first, last, counts)


def rows(
    connection: sa.Connection, book: Book, what: str, *, since: int, at: datetime
) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """Heads and rows of one list: register, stock, reports or rules. since: number of the last inspection's entry."""
    match what:
        case "register":
            return REGISTER, [line.cells for line in _register(connection, book, since + 1, False, at)]
        case "stock":
            return STOCK, list(_stock(connection, book))
        case "reports":
            return REPORTS, list(_reports(connection, book, since + 1, at))
        case "rules":
            return RULES, list(_rules(connection, book))
    raise InputError(field="list", given=what, wanted="register, stock, reports or rules")


def _register(connection: sa.Connection, book: Book, first: int, reasons: bool, at: datetime) -> Iterator[_Line]:
    slip_ = tables.slips.c
    found = connection.execute(sa.select(slip_.slip, slip_.state).where(slip_.book == book.origin))
    states = {int(number): str(state) for number, state in found}
    for entry in reading.all_entries(connection, book.origin, first=first):
        kind = entry.kind.partition("/")[0]
        if kind not in _SHOWN:
            continue
        said = list(_says(connection, book, entry, kind, reasons))
        named = [name.split("/") for name in entry.about if name.startswith(("slip/", "item/"))]
        slip = str(entry.public.get("slip", named[0][1] if named else ""))
        item = ", ".join("/".join(parts[1:]) for parts in named if parts[0] == "item")
        when = wording.short(parse_moment(entry.recorded_at, "recorded_at").astimezone(at.tzinfo))
        undone = kind in ("presented", "purchase") and states[int(slip)] in _UNDONE
        if undone:
            said.append(states[int(slip)])
        what = "came back" if entry.public.get("state") == telling.BACK else _SHOWN[kind]
        yield _Line((str(entry.seq), slip, item, what, when, entry.by, "; ".join(said)), undone)
        if kind == "purchase":
            for number, words in _items_of(connection, book.origin, int(slip)):
                yield _Line(("", slip, number, "article", "", "", words), undone)


def _says(connection: sa.Connection, book: Book, entry: Entry, kind: str, reasons: bool) -> Iterator[str]:
    """What an entry says that an inspector may read, one fact each."""
    if kind in ("presented", "purchase"):
        yield f"{entry.public['items']} items" if entry.public["items"] != 1 else "1 item"
        return
    opened = reading.open_parts(connection, book, entry)
    if kind == "correction":
        said = opened.get("correction", {"part": "", "is": "", "was": "", "because": ""})
        named = said["part"].startswith("item/")
        yield f"entry {entry.public['corrects']}: {said['part'] if named else 'data about people, money or duties'}"
        if named:
            yield f"was {telling.changed(said['was'], said['is'])}"
            yield f"is {telling.changed(said['is'], said['was'])}"
        because = said["because"]
    elif kind == "moved":
        moved = _part(opened, "moved")
        yield f"from {moved.get('from') or 'no place'} to {moved.get('to', '')}"
        because = moved.get("because", "")
    elif kind == "outcome":
        yield str(entry.public["state"]).replace("-", " ")
        because = _part(opened, "outcome").get("because", "")
    else:
        because = opened.get("reason", {}).get("because", "")
    if reasons and because:
        yield f"reason: {because}"


def _part(opened: reading.Opened, what: str) -> Mapping[str, Any]:
    return next((value for name, value in opened.parts if name.startswith("item/") and name.endswith(f"/{what}")), {})


def _items_of(connection: sa.Connection, book: str, slip: int) -> Iterator[tuple[str, str]]:
    """Number and words of each item of a slip."""
    item = tables.items.c
    wanted = sa.select(tables.items).where(item.book == book, item.slip == slip).order_by(item.line)
    for row in connection.execute(wanted):
        weight = "not weighed" if row.gross_mg is None else f"{grams(row.gross_mg)} g"
        yield f"{slip}/{row.line}", f"{row.words}; {weight}; {row.state}"


def _stock(connection: sa.Connection, book: Book) -> Iterator[tuple[str, ...]]:
    item, slip = tables.items, tables.slips.c
    wanted = (
        sa.select(item, slip.presented_at)
        .join(tables.slips, sa.and_(slip.book == item.c.book, slip.slip == item.c.slip))
        .where(item.c.book == book.origin, item.c.state.in_(leaving.OURS))
        .order_by(item.c.slip, item.c.line)
    )
    for row in connection.execute(wanted).all():
        leave = law.leave(leaving.holds_of(connection, book, row.slip, row.line))  # by law alone: an order is secret
        yield (
            f"{row.slip}/{row.line}",
            row.words,
            "not weighed" if row.gross_mg is None else f"{grams(row.gross_mg)} g",
            wording.short(parse_local(row.presented_at, "at")),
            row.place,
            row.state,
            wording.leaves(Leave(leave.plain, leave.cautious, leave.waiting_for)),
        )


def _reports(connection: sa.Connection, book: Book, first: int, at: datetime) -> Iterator[tuple[str, ...]]:
    """Reports that came due or were made since, and those that are still owed, soonest due first."""
    table = tables.reports.c
    steps = {
        row.report: row for row in connection.execute(sa.select(tables.reports).where(table.book == book.origin)).all()
    }
    for one in sorted(owing.every_in(connection, book, at), key=lambda each: (each.due, each.report)):
        row = steps.get(one.report)
        if one.fulfilled and row is not None and row.seq < first:
            continue
        sent, received = (None, None) if row is None else (row.sent_at, row.received_at)
        state = f"{one.state}, late" if one.late_at(at) else one.state
        yield (
            one.report,
            one.title,
            one.recipient,
            one.period.replace("/", " to "),
            wording.short(one.due),
            state,
            "" if sent is None else wording.short(parse_local(sent, "at")),
            "" if received is None else wording.short(parse_local(received, "at")),
        )


def _rules(connection: sa.Connection, book: Book) -> Iterator[tuple[str, ...]]:
    row = tables.adoptions.c
    newest = {
        one.jurisdiction: one
        for one in connection.execute(
            sa.select(tables.adoptions).where(row.book == book.origin).order_by(row.seq)
        ).all()
    }
    for file in adopted.in_force(connection, book.origin):
        one = newest[file.jurisdiction]
        yield file.jurisdiction, file.name, f"{file.digest}.toml", one.compared_on, one.by


def _draw(
    connection: sa.Connection,
    book: Book,
    covers: tuple[int, int],
    lists: tuple[Sequence[_Line], Sequence[tuple[str, ...]], Sequence[tuple[str, ...]], Sequence[tuple[str, ...]]],
    counts: Mapping[str, int],
    sheet: str,
    at: datetime,
) -> bytes:
    register, stock, reports, rules = lists
    shop = adopted.shop_on(connection, book.origin, at.date().isoformat())
    imprint = handing_over.imprint(
        connection, book, shop, None, copy="Copy for the inspector", recipient="an inspection", at=at
    )
    return inspection.draw(
        inspection.Shown(
            imprint=imprint,
            at=wording.at(at),
            covers=covers,
            register=tuple((line.cells, line.struck) for line in register),
            stock=tuple(stock),
            reports=tuple(reports),
            rules=tuple(rules),
            counts=tuple((name.capitalize(), str(count)) for name, count in counts.items()),
        ),
        sheet,
    )


def _csv(head: Sequence[str], rows: Any) -> bytes:
    """Rows as CSV (RFC 4180, UTF-8). A cell that a spreadsheet would take for a formula begins with an apostrophe."""
    kept = io.StringIO()
    made = csv.writer(kept, lineterminator="\r\n")
    made.writerow(head)
    for row in rows:
        made.writerow([f"'{cell}" if cell.startswith(_FORMULA) else cell for cell in row])
    return kept.getvalue().encode()
