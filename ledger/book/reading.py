"""Reads a book back: entries, and with the vault open the parts that lie behind their digests.

Decides nothing. A part that opens but is not the one its entry names is a CaptureChanged, never a shrug.
"""

import hashlib
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa

from ledger.book import tables
from ledger.book.pages import Book, find_key
from ledger.book.tables import as_bytes
from ledger.chain import entries, parts, proof_files, seals, tree
from ledger.errors import BookUnsound, CaptureChanged, InputError, LedgerError
from ledger.vault import rows


@dataclass(frozen=True)
class Opened:
    """An entry with the parts that could be opened."""

    entry: entries.Entry
    parts: tuple[tuple[str, Any], ...]
    """(name, value); several may bear one name when they concern different subjects"""
    disclosures: tuple[str, ...] = ()
    closed: tuple[str, ...] = ()
    """classes whose data key is not there: forgotten, or nobody's"""

    def get(self, name: str, default: Any = None) -> Any:
        """The value of the first part of this name."""
        return next((value for found, value in self.parts if found == name), default)


def entry_at(connection: sa.Connection, book: str, seq: int) -> entries.Entry:
    """The entry with this number. Raises: InputError when the book has none."""
    row = tables.entries.c
    wanted = sa.select(row.bytes).where(row.book == book, row.seq == seq)
    data = connection.execute(wanted).scalar() if _fits(seq) else None
    if data is None:
        raise InputError(field="entry", given=seq, wanted="the number of an entry in this book")
    return entries.read(as_bytes(data))


def all_entries(connection: sa.Connection, book: str, *, first: int = 0) -> Iterator[entries.Entry]:
    """Every entry from `first` on, in order."""
    row = tables.entries.c
    wanted = sa.select(row.bytes).where(row.book == book, row.seq >= first).order_by(row.seq)
    for (data,) in connection.execute(wanted):
        yield entries.read(as_bytes(data))


def size(connection: sa.Connection, book: str) -> int:
    """How many entries the book has. Raises: BookUnsound when the last one bears no number."""
    row = tables.entries.c
    newest = connection.execute(sa.select(sa.func.max(row.seq)).where(row.book == book)).scalar()
    if newest is not None and type(newest) is not int:
        raise BookUnsound(what="An entry stands in the book under something that is no number.")
    return 0 if newest is None else newest + 1


def _fits(*numbers: int) -> bool:
    """Whether a database can be asked for these: a larger number than its own is nobody's number."""
    return all(0 <= each < 2**63 for each in numbers)


def open_entry(connection: sa.Connection, book: Book, seq: int, *, classes: Sequence[str] = ()) -> Opened:
    """An entry with its parts opened, or only those of some classes. Raises: LockedError, CaptureChanged."""
    return open_parts(connection, book, entry_at(connection, book.origin, seq), classes=classes)


def open_parts(
    connection: sa.Connection,
    book: Book,
    entry: entries.Entry,
    *,
    classes: Sequence[str] = (),
    on_fault: Callable[[LedgerError], None] | None = None,
) -> Opened:
    """The parts of an entry that can be opened.

    on_fault: told of each row that does not open as it was locked; without it the first such row raises.
    Raises: LockedError, CaptureChanged.
    """
    row = tables.locked_rows.c
    wanted = sa.select(row["class"], row.subject, row.bytes).where(row.book == book.origin, row.seq == entry.seq)
    found: list[parts.Part] = []
    closed = []
    for cls, subject, data in connection.execute(wanted).all():
        if classes and cls not in classes:
            continue
        try:
            key = find_key(connection, book, subject, cls)
            if key is None:
                closed.append(cls)
                continue
            found += _open_row(key, as_bytes(data), book.origin, entry, cls, subject)
        except LedgerError as fault:
            if on_fault is None:
                raise
            on_fault(fault)
    return Opened(
        entry,
        tuple((part.name, part.value) for part in found),
        tuple(part.disclosure for part in found),
        tuple(closed),
    )


def _open_row(key: bytes, data: bytes, book: str, entry: entries.Entry, cls: str, subject: str) -> list[parts.Part]:
    found = [
        parts.read(disclosure)
        for disclosure in rows.open_row(key, data, book=book, seq=entry.seq, cls=cls, subject=subject)
    ]
    named = frozenset(entry.parts)
    for part in found:
        if part.digest not in named:
            expected = f"one of the {len(entry.parts)} digests in the entry"
            raise CaptureChanged(seq=entry.seq, expected=expected, found=part.digest, what="a part")
    return found


def newest_seal(connection: sa.Connection, book: str) -> str | None:
    """The note of the newest seal, or None before the first."""
    seal = tables.seals.c
    return connection.execute(
        sa.select(seal.note).where(seal.book == book).order_by(seal.size.desc()).limit(1)
    ).scalar()


def subject_of_slip(connection: sa.Connection, book: str, slip: int) -> str:
    """The random id that a slip's data keys are bound to. Raises: InputError when there is no such slip."""
    return str(slip_row(connection, book, slip).draft)


def slip_row(connection: sa.Connection, book: str, slip: int) -> sa.Row[Any]:
    """A slip's row. Raises: InputError when there is no such slip."""
    wanted = sa.select(tables.slips).where(tables.slips.c.book == book, tables.slips.c.slip == slip)
    row = connection.execute(wanted).first() if _fits(slip) else None
    if row is None:
        raise InputError(field="slip", given=slip, wanted="the number of a slip in this book")
    return row


def item_row(connection: sa.Connection, book: str, slip: int, line: int) -> sa.Row[Any]:
    """An item's row. Raises: InputError when there is no such item."""
    item = tables.items.c
    wanted = sa.select(tables.items).where(item.book == book, item.slip == slip, item.line == line)
    row = connection.execute(wanted).first() if _fits(slip, line) else None
    if row is None:
        raise InputError(field="item", given=f"{slip}/{line}", wanted="SLIP/LINE of an item in this book")
    return row


_ITEM = (
    sa.select(tables.items, tables.slips.c.local_day)
    .join(tables.slips, sa.and_(tables.slips.c.book == tables.items.c.book, tables.slips.c.slip == tables.items.c.slip))
    .where(
        tables.items.c.book == sa.bindparam("in_book"),
        tables.items.c.slip == sa.bindparam("of_slip"),
        tables.items.c.line == sa.bindparam("of_line"),
    )
)


def item_rows(
    connection: sa.Connection, book: str, items: Iterable[tuple[int, int]]
) -> dict[tuple[int, int], sa.Row[Any]]:
    """The rows of items (slip, line) that stand in the book, each with the day of its purchase, `local_day`.

    One after the other by a statement built once: SQLite reads a list of pairs by walking the table.
    """
    found = (
        connection.execute(_ITEM, {"in_book": book, "of_slip": slip, "of_line": line}).first() for slip, line in items
    )
    return {(row.slip, row.line): row for row in found if row is not None}


def spanning(column: sa.ColumnElement[int], numbers: Collection[int]) -> sa.ColumnElement[bool]:
    """Rows from the lowest to the highest of some numbers, as one comparison; no row where there are no numbers.

    Those between that are not asked for are left out by the caller.
    """
    return column.between(min(numbers, default=0), max(numbers, default=-1))


def rule_file(connection: sa.Connection, book: str, digest: str) -> bytes:
    """The exact bytes of an adopted rule file. Raises: BookUnsound when they are gone."""
    file = tables.rule_files.c
    data = connection.execute(sa.select(file.bytes).where(file.book == book, file.digest == digest)).scalar()
    kept = as_bytes(data)
    if hashlib.sha256(kept).hexdigest() != digest:
        raise BookUnsound(what=f"The bytes of rule file {digest} are missing or are not those that were adopted.")
    return kept


def seqs_about(connection: sa.Connection, book: str, *names: str) -> list[int]:
    """Numbers of the entries that name any of these in `about`, in order."""
    mention = tables.mentions.c
    wanted = (
        sa.select(mention.seq).where(mention.book == book, mention.name.in_(names)).distinct().order_by(mention.seq)
    )
    return [int(seq) for (seq,) in connection.execute(wanted)]


def proof(connection: sa.Connection, book: Book, seq: int, note: str | None = None) -> str:
    """A proof file that an entry stands in the book under a seal, to hand to a stranger.

    note: the seal; without it the book's newest.

    Raises: InputError when the book has no such entry or no seal covers it yet; BookUnsound when its tree lacks nodes.
    """
    note = note or newest_seal(connection, book.origin)
    sealed = None if note is None else seals.read_seal(note)
    if note is None or sealed is None or not 0 <= seq < sealed.size:
        raise InputError(
            field="entry", given=seq, wanted="an entry under a seal; make one with `counterfoil book seal`"
        )
    node = tables.nodes.c

    def node_at(level: int, idx: int) -> bytes:
        wanted = sa.select(node.hash).where(node.book == book.origin, node.level == level, node.idx == idx)
        data = connection.execute(wanted).scalar()
        if data is None:
            raise BookUnsound(what=f"Node {idx} of level {level} is missing in the book's tree.")
        return as_bytes(data)

    return proof_files.write(seq, tree.inclusion(seq, sealed.size, node_at), note)
