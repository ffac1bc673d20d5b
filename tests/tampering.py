"""A database opened by somebody who means harm: no trigger stops him, and no setting of ours holds for him."""

import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from ledger.book import verifying
from tests.shops import Shop

OTHER = "counterfoil/" + "0" * 32
"""the origin of a book that is not here"""


@contextmanager
def tampering(folder: Path) -> Iterator[sqlite3.Connection]:
    """The database of the book in a folder, every trigger taken away; what is done there stands at once."""
    connection = sqlite3.connect(folder / "book.sqlite", isolation_level=None)
    try:
        connection.execute("PRAGMA synchronous = OFF")
        for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            connection.execute(f"DROP TRIGGER {name}")
        yield connection
    finally:
        connection.close()


def found(shop: Shop, *levels: str) -> list[str]:
    """What these levels of an audit, or all, find."""
    return [str(fault) for fault in verifying.audit(shop.book, levels=levels).faults]


def damaged(shop: Shop, *statements: str, levels: Sequence[str] = ()) -> list[str]:
    """What these levels, or all, find after these statements."""
    with tampering(shop.book.folder) as raw:
        for statement in statements:
            raw.execute(statement)
    return found(shop, *levels)
