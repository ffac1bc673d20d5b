"""INSERT statements compiled once per table and database, and run without building anything anew."""

from collections.abc import Iterator

import pytest
import sqlalchemy as sa

from ledger.book import engine as engines
from ledger.book import statements, tables
from ledger.errors import StorageError

BOOK = "counterfoil/" + "0" * 32


@pytest.fixture
def engine(database: str) -> Iterator[sa.Engine]:
    """A migrated database of either kind, opened."""
    opened = engines.open_engine(database)
    yield opened
    opened.dispose()


class TestPut:
    """Rows are sequences in the order of the table's columns."""

    # The values are as odd as columns allow: text with every quote, a percent sign and a colon, bytes, a big number.
    ROWS = (
        (BOOK, 3, "it''s \"%s\" :book ?", "x", b"\x00\xff%s?'"),
        (BOOK, 2**53 - 1, "a", "éß字", b""),
    )

    def test_what_was_put_is_what_stands_there(self, engine: sa.Engine) -> None:
        with engines.writing(engine, BOOK) as connection:
            statements.put(connection, tables.locked_rows, self.ROWS)
        with engines.reading(engine) as connection:
            found = connection.execute(sa.select(tables.locked_rows).order_by(tables.locked_rows.c.seq))
            assert [(*row[:4], bytes(row[4])) for row in found] == list(self.ROWS)

    def test_nothing_put_is_nothing_asked(self, engine: sa.Engine) -> None:
        with engines.writing(engine, BOOK) as connection:
            statements.put(connection, tables.days, [])
            assert connection.execute(sa.select(tables.days)).all() == []

    def test_what_may_lack_is_put_as_lacking(self, engine: sa.Engine) -> None:
        with engines.writing(engine, BOOK) as connection:
            statements.put(connection, tables.staff, [(BOOK, "ada", "owner", None, 1)])
            assert connection.execute(sa.select(tables.staff.c.until)).scalar_one() is None

    def test_what_the_database_refuses_is_told_and_nothing_stays(self, engine: sa.Engine) -> None:
        def put_twice() -> None:
            with engines.writing(engine, BOOK) as connection:
                statements.put(connection, tables.days, [(BOOK, "2026-11-24", 1)])
                statements.put(connection, tables.days, [(BOOK, "2026-11-24", 1)])

        with pytest.raises(StorageError, match=r"(?i)unique"):
            put_twice()
        with engines.reading(engine) as connection:
            assert connection.execute(sa.select(tables.days)).all() == []


class TestCompiled:
    """Each table's INSERT names all its columns, in their order."""

    @pytest.mark.parametrize("dialect", ["sqlite", "postgresql"])
    @pytest.mark.parametrize("table", tables.metadata.sorted_tables, ids=lambda table: str(table.name))
    def test_all_columns_are_named_once(self, dialect: str, table: sa.Table) -> None:
        made = statements.insert(dialect, table)
        assert made.names == tuple(column.name for column in table.columns)
        assert made is statements.insert(dialect, table), "compiled once"
        assert made.text.count("?" if dialect == "sqlite" else "%(") == len(made.names)
