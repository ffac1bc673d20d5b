"""A database opened by somebody who means harm: no trigger stops him, and no setting of ours holds for him."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


@contextmanager
def tampering(folder: Path) -> Iterator[sqlite3.Connection]:
    """The database of the book in a folder, every trigger taken away; what is done there stands at once."""
    connection = sqlite3.connect(folder / "book.sqlite", isolation_level=None)
    try:
        for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            connection.execute(f"DROP TRIGGER {name}")
        yield connection
    finally:
        connection.close()
