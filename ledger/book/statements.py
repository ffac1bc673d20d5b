"""INSERT statements compiled once per table and database, and run without building anything anew.

A purchase writes some thirty rows inside the write lock; compiling each statement again would cost more than
the disk.

>>> insert("sqlite", nodes).names
('book', 'level', 'idx', 'hash')
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

import sqlalchemy as sa
from sqlalchemy.dialects import postgresql, sqlite

from ledger.book.tables import nodes as nodes

Row = Sequence[Any]


@dataclass(frozen=True)
class Insert:
    """One table's INSERT as text; rows are sequences in the order of `names`."""

    text: str
    names: tuple[str, ...]
    positional: bool

    def run(self, connection: sa.Connection, rows: Sequence[Row]) -> None:
        """Insert rows. Raises: what the database says; `engine.writing` turns it into a StorageError."""
        if self.positional:
            connection.exec_driver_sql(self.text, [tuple(row) for row in rows])
        else:
            connection.exec_driver_sql(self.text, [dict(zip(self.names, row, strict=True)) for row in rows])


@cache
def insert(dialect: str, table: sa.Table) -> Insert:
    """The compiled INSERT of a table for "sqlite" or "postgresql"."""
    names = tuple(column.name for column in table.columns)
    if dialect == "sqlite":
        compiled = table.insert().compile(dialect=sqlite.dialect(paramstyle="qmark"))
        return Insert(str(compiled), names, True)
    compiled = table.insert().compile(dialect=postgresql.psycopg.dialect())  # type: ignore[no-untyped-call]
    return Insert(str(compiled), names, False)


def put(connection: sa.Connection, table: sa.Table, rows: Sequence[Row]) -> None:
    """Insert rows, given in the order of the table's columns."""
    if rows:
        insert(connection.dialect.name, table).run(connection, rows)
