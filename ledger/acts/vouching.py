"""What goes into an extract beside its entries, so that it can be held against what somebody outside has.

Decides which changes of the key are in it (all, so that the fingerprint on an old stub still counts) and which seals
from outside: for each entry the first that covers it, since that one says most about its time. Leaves to
`handed.verify` what is checked.
"""

import base64
from collections.abc import Iterator, Sequence

import sqlalchemy as sa

from ledger.book import reading, tables
from ledger.book.pages import Book
from ledger.chain import seals
from ledger.chain.entries import Entry
from ledger.errors import BookUnsound


def of_kind(connection: sa.Connection, book: Book, kind: str) -> list[Entry]:
    """Entries about the book itself of one kind, in order."""
    found = (
        reading.entry_at(connection, book.origin, seq) for seq in reading.seqs_about(connection, book.origin, "book")
    )
    return [entry for entry in found if entry.kind.startswith(f"{kind}/")]


def note_of(entry: Entry) -> str:
    """The note that a `seal-kept` entry holds."""
    return "\n".join(entry.public["seal"])


def own(connection: sa.Connection, book: Book) -> list[tuple[Entry, seals.Checkpoint]]:
    """The `seal-kept` entries that hold a seal of this book, each with what that seal says."""
    found = [(entry, seals.read_seal(note_of(entry))) for entry in of_kind(connection, book, "seal-kept")]
    return [(entry, sealed) for entry, sealed in found if sealed.origin == book.origin]


def changes(connection: sa.Connection, book: Book) -> list[int]:
    """Numbers of the entries that changed the key."""
    return [entry.seq for entry in of_kind(connection, book, "key-changed")]


def files(connection: sa.Connection, book: Book, seqs: Sequence[int]) -> Iterator[tuple[str, bytes]]:
    """The files under keys/ and outside/ for an extract of these entries.

    Raises: BookUnsound when the seal at a change of the key is gone.
    """
    seal = tables.seals.c
    for seq in changes(connection, book):
        wanted = sa.select(seal.note).where(seal.book == book.origin, seal.size == seq + 1)
        note = connection.execute(wanted).scalar()
        if note is None:
            raise BookUnsound(what=f"The seal over the change of the key in entry {seq} is missing.")
        yield f"keys/{seq}.tlog-proof", reading.proof(connection, book, seq, note).encode()
    left = set(seqs)
    for entry, sealed in own(connection, book):
        covered = sorted(seq for seq in left if seq < sealed.size)
        left -= set(covered)
        if not covered:
            continue
        note = note_of(entry)
        yield f"outside/{entry.seq}.txt", note.encode()
        if "reply" in entry.public:
            yield f"outside/{entry.seq}.tsr", base64.b64decode(entry.public["reply"])
        for seq in covered:
            yield f"outside/{entry.seq}-{seq}.tlog-proof", reading.proof(connection, book, seq, note).encode()
