"""Makes the derived tables anew from the entries and what the vault holds behind them.

Decides nothing: each entry is brought into the tables by the rules of `projections`, in order, in one transaction.
What was forgotten stays out. Leaves the comparison of tables and entries to `verifying`.
"""

from ledger.book import projections, reading
from ledger.book.pages import Book
from ledger.errors import BookUnsound


def rebuild(book: Book) -> int:
    """How many entries the tables were made from.

    Raises: LockedError, CaptureChanged, BookUnsound for an entry that cannot be brought into the tables; then nothing
    was changed.
    """
    blind = book.opened().blind
    made = 0
    with book.writing() as page:
        projections.clear(page.connection, book.origin)
        for entry in reading.all_entries(page.connection, book.origin):
            opened = reading.open_parts(page.connection, book, entry)
            try:
                projections.apply(page.connection, projections.Line(entry, opened.parts, blind))
            except projections.NOT_AS_ACTS_WRITE as fault:
                what = f"Entry {entry.seq} cannot be brought into the tables: its parts are not as an act writes them."
                raise BookUnsound(what=what) from fault
            made += 1
    # From here on the tables say what the entries say.
    return made
