"""Makes the derived tables anew from the entries and what the vault holds behind them.

Decides nothing: each entry is brought into the tables by the rules of `projections`, in order, in one transaction.
What was forgotten stays out. Leaves the comparison of tables and entries to `verifying`.
"""

from ledger.book import projections, reading
from ledger.book.pages import Book


def rebuild(book: Book) -> int:
    """How many entries the tables were made from. Raises: LockedError; CaptureChanged, and then nothing changed."""
    blind = book.opened().blind
    made = 0
    with book.writing() as page:
        projections.clear(page.connection, book.origin)
        for entry in reading.all_entries(page.connection, book.origin):
            opened = reading.open_parts(page.connection, book, entry)
            projections.apply(page.connection, projections.Line(entry, opened.parts, blind))
            made += 1
    # From here on the tables say what the entries say.
    return made
