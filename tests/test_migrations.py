"""The layout that the migrations make is the one that the code writes to, and it keeps what was written."""

import os
import sqlite3
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
import sqlalchemy as sa
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext

from ledger.book import engine as engines
from ledger.book import tables, triggers
from ledger.errors import StorageError

BOOK, OTHER = "counterfoil/" + "0" * 32, "counterfoil/" + "1" * 32
ZERO, LEAF = bytes(32), b"\x11" * 32

# One row of each kept table, and one more that may follow it: (key columns, row, next row).
KEPT = {
    "entries": (("book", "seq"), (BOOK, 0, b"{}", LEAF, ZERO), (BOOK, 1, b"{}", b"\x22" * 32, LEAF)),
    "nodes": (("book", "level", "idx"), (BOOK, 0, 0, LEAF), (BOOK, 0, 1, LEAF)),
    "seals": (("book", "size"), (BOOK, 1, "a note"), (BOOK, 2, "a note")),
    "rule_files": (("book", "digest"), (BOOK, "ab" * 32, b"a = 1"), (BOOK, "cd" * 32, b"a = 2")),
    "locked_rows": (
        ("book", "seq", "class", "subject"),
        (BOOK, 0, "item", "d1", b"locked"),
        (BOOK, 0, "item", "d2", b"locked"),
    ),
}
EVERYWHERE = (
    "UPDATE {name} SET {column} = {column}",
    "DELETE FROM {name}",
    "INSERT INTO {name} SELECT * FROM {name} WHERE true"
    " ON CONFLICT ({keys}) DO UPDATE SET {column} = excluded.{column}",
)
ON_SQLITE = (
    "INSERT INTO {name} SELECT * FROM {name}",
    "REPLACE INTO {name} SELECT * FROM {name}",
    "INSERT OR REPLACE INTO {name} SELECT * FROM {name}",
    "INSERT OR IGNORE INTO {name} SELECT * FROM {name}",
    "UPDATE OR REPLACE {name} SET {column} = {column}",
)
ON_POSTGRESQL = (
    "TRUNCATE {name}",
    "TRUNCATE {name} CASCADE",
    "DELETE FROM ONLY {name}",
)
CHANGES = {"entries": "bytes", "nodes": "hash", "seals": "note", "rule_files": "bytes", "locked_rows": "bytes"}


@pytest.fixture
def engine(database: str) -> Iterator[sa.Engine]:
    """A migrated database of either kind with one row in each kept table."""
    opened = engines.open_engine(database)
    with engines.writing(opened, BOOK) as connection:
        for name, (_, row, _next) in KEPT.items():
            insert(connection, name, row)
    yield opened
    opened.dispose()


@pytest.fixture
def raw(sqlite_url: str) -> Iterator[sqlite3.Connection]:
    """Another program's connection to a migrated SQLite file: recursive_triggers is off, as SQLite has it."""
    with closing(sqlite3.connect(str(sa.make_url(sqlite_url).database), isolation_level=None)) as connection:
        assert connection.execute("PRAGMA recursive_triggers").fetchone() == (0,)
        for name, (_, row, _next) in KEPT.items():
            connection.execute(f"INSERT INTO {name} VALUES ({', '.join('?' * len(row))})", row)
        yield connection


def insert(connection: sa.Connection, name: str, row: tuple[object, ...], how: str = "") -> None:
    """Insert one row; how: what stands after the values."""
    marks = ", ".join(f":{place}" for place in range(len(row)))
    values = {str(place): value for place, value in enumerate(row)}
    connection.execute(sa.text(f"INSERT INTO {name} VALUES ({marks}) {how}"), values)


def rows_of(connection: sa.Connection) -> dict[str, list[tuple[object, ...]]]:
    """All that the kept tables hold."""
    return {
        table.name: [tuple(row) for row in connection.execute(sa.select(table).order_by(*table.primary_key))]
        for table in tables.KEPT
    }


def triggers_of(connection: sa.Connection) -> set[str]:
    """Names of the triggers that the database has."""
    ask = "SELECT name FROM sqlite_master WHERE type = 'trigger'"
    if connection.dialect.name == "postgresql":
        ask = "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal"
    return set(connection.execute(sa.text(ask)).scalars())


def not_the_search_index(_object: object, name: str | None, kind: str, _reflected: bool, _compared: object) -> bool:
    """What a comparison looks at: all but the tables of the search index, which are the database's own kind."""
    return not (kind in ("table", "index") and name is not None and tables.WORDS in name)


class TestUpgrade:
    """The newest layout is made from nothing, on both databases, and is the one the code knows."""

    def test_the_layout_from_nothing_is_that_of_the_code(self, empty_database: str) -> None:
        opened = engines.open_engine(empty_database)
        engines.migrate(opened)
        with opened.connect() as connection:
            options = {"include_object": not_the_search_index, "compare_type": True, "compare_server_default": True}
            context = MigrationContext.configure(connection, opts=options)
            assert compare_metadata(context, tables.metadata) == []
        opened.dispose()

    def test_the_comparison_would_see_a_column_too_many_and_an_index_too_few(self, database: str) -> None:
        opened = engines.open_engine(database)
        with opened.begin() as connection:
            connection.execute(sa.text("ALTER TABLE slips ADD COLUMN more TEXT"))
            connection.execute(sa.text("DROP INDEX ix_items_book_state"))
            context = MigrationContext.configure(connection, opts={"include_object": not_the_search_index})
            found = {str(difference[0]) for difference in compare_metadata(context, tables.metadata)}
        assert found == {"remove_column", "add_index"}
        opened.dispose()

    def test_every_trigger_stands_after_it_and_no_other(self, engine: sa.Engine) -> None:
        with engines.reading(engine) as connection:
            assert triggers_of(connection) == triggers.names()

    def test_every_kept_table_has_its_triggers(self) -> None:
        assert {name.rpartition("_no_")[0] for name in triggers.names() - {"entries_in_order"}} == {
            table.name for table in tables.KEPT
        }

    def test_a_second_upgrade_changes_nothing(self, engine: sa.Engine) -> None:
        with engines.reading(engine) as connection:
            before = rows_of(connection)
        engines.migrate(engine)
        with engines.reading(engine) as connection:
            assert rows_of(connection) == before
            assert triggers_of(connection) == triggers.names()

    def test_two_who_upgrade_at_once_do_not_trip_over_each_other(self, empty_database: str) -> None:
        failed: list[BaseException] = []

        def upgrade() -> None:
            opened = engines.open_engine(empty_database)
            try:
                engines.migrate(opened)
            except BaseException as fault:
                failed.append(fault)
            opened.dispose()

        both = [threading.Thread(target=upgrade) for _ in range(2)]
        for each in both:
            each.start()
        for each in both:
            each.join()
        assert failed == []

    def test_a_layout_of_a_newer_program_is_told_and_left_alone(self, engine: sa.Engine) -> None:
        with engines.writing(engine, BOOK) as connection:
            connection.execute(sa.text("UPDATE alembic_version SET version_num = '9999'"))
        with pytest.raises(StorageError, match="a newer program gave it a layout that this one does not know"):
            engines.migrate(engine)
        assert engines.layout(engine) == "9999"

    def test_a_database_whose_version_was_emptied_has_no_layout(self, engine: sa.Engine) -> None:
        with engines.writing(engine, BOOK) as connection:
            connection.execute(sa.text("DELETE FROM alembic_version"))
        assert engines.layout(engine) is None

    def test_a_place_where_no_file_can_be_made_is_told(self, tmp_path: Path) -> None:
        opened = engines.open_engine(f"sqlite:///{tmp_path / 'no' / 'folder' / 'book.sqlite'}")
        with pytest.raises(StorageError, match="the database cannot be made there: No such file or directory"):
            engines.migrate(opened)

    def test_a_new_file_is_closed_to_others_and_can_be_told_from_any_other(self, tmp_path: Path) -> None:
        path = tmp_path / "book.sqlite"
        opened = engines.open_engine(f"sqlite:///{path}")
        engines.migrate(opened)
        opened.dispose()
        assert path.stat().st_mode & 0o777 == 0o600
        # Source: sqlite.org/fileformat2.html, 1.3: the application id lies in bytes 68 to 71, big-endian.
        assert path.read_bytes()[68:72] == b"CFLG"


class TestAppendOnly:
    """UPDATE, DELETE, TRUNCATE and every way of replacing are refused on every kept table; the next row is not."""

    def test_the_next_row_is_taken(self, engine: sa.Engine) -> None:
        with engines.writing(engine, BOOK) as connection:
            for name, (_, _row, following) in KEPT.items():
                insert(connection, name, following)
            assert {name: len(rows) for name, rows in rows_of(connection).items()} == dict.fromkeys(KEPT, 2)

    @pytest.mark.parametrize(
        ("database", "act"),
        [
            *((kind, act) for kind in ("sqlite", "postgresql") for act in EVERYWHERE),
            *(("sqlite", act) for act in ON_SQLITE),
            *(("postgresql", act) for act in ON_POSTGRESQL),
        ],
        indirect=["database"],
    )
    def test_what_stands_there_stays(self, engine: sa.Engine, act: str) -> None:
        with engines.reading(engine) as connection:
            before = rows_of(connection)

        def change(statement: str) -> None:
            with engines.writing(engine, BOOK) as connection:
                connection.execute(sa.text(statement))

        for name, (keys, _row, _next) in KEPT.items():
            with pytest.raises(StorageError, match=r"append-only|not the next entry"):
                change(act.format(name=name, column=CHANGES[name], keys=", ".join(f'"{key}"' for key in keys)))
        with engines.reading(engine) as connection:
            assert rows_of(connection) == before

    @pytest.mark.parametrize("name", KEPT)
    @pytest.mark.parametrize("verb", ["REPLACE", "INSERT OR REPLACE"])
    def test_another_program_cannot_replace_by_key(self, raw: sqlite3.Connection, name: str, verb: str) -> None:
        row = KEPT[name][1]
        before = raw.execute(f"SELECT rowid, * FROM {name}").fetchall()
        with pytest.raises(sqlite3.IntegrityError, match=r"append-only: this row exists|not the next entry"):
            raw.execute(f"{verb} INTO {name} VALUES ({', '.join('?' * len(row))})", row)
        assert raw.execute(f"SELECT rowid, * FROM {name}").fetchall() == before

    @pytest.mark.parametrize("name", KEPT)
    def test_another_program_cannot_replace_by_rowid(self, raw: sqlite3.Connection, name: str) -> None:
        """REPLACE deletes whatever has the rowid, and without recursive_triggers no DELETE trigger sees it."""
        row = KEPT[name][2]
        before = raw.execute(f"SELECT rowid, * FROM {name}").fetchall()
        columns = ", ".join(f'"{each[0]}"' for each in raw.execute(f"SELECT * FROM {name}").description)
        with pytest.raises(sqlite3.IntegrityError, match="append-only: this row exists"):
            raw.execute(f"REPLACE INTO {name} (rowid, {columns}) VALUES (1, {', '.join('?' * len(row))})", row)
        assert raw.execute(f"SELECT rowid, * FROM {name}").fetchall() == before

    @pytest.mark.parametrize("name", KEPT)
    def test_another_program_cannot_change_or_delete(self, raw: sqlite3.Connection, name: str) -> None:
        for act in (
            f"UPDATE {name} SET rowid = rowid + 1",
            f"UPDATE OR REPLACE {name} SET book = 'x'",
            f"DELETE FROM {name}",
        ):
            with pytest.raises(sqlite3.IntegrityError, match="append-only"):
                raw.execute(act)

    def test_numbers_written_as_text_are_the_same_key(self, raw: sqlite3.Connection) -> None:
        with pytest.raises(sqlite3.IntegrityError, match="append-only: this row exists"):
            raw.execute("REPLACE INTO nodes VALUES (?, '0', 0.0, x'00')", (BOOK,))

    def test_what_is_derived_may_change(self, engine: sa.Engine) -> None:
        with engines.writing(engine, BOOK) as connection:
            for table in (*tables.PROJECTIONS, tables.data_keys):
                connection.execute(table.delete())


class TestOrder:
    """Entries arrive in order and follow the last leaf: the database itself refuses a gap and a fork."""

    NOT_NEXT = (
        ("a gap", BOOK, 2, LEAF),
        ("a second beginning", BOOK, 1, ZERO),
        ("a fork", BOOK, 1, b"\x22" * 32),
        ("the same again", BOOK, 0, ZERO),
        ("a number twice", BOOK, 0, LEAF),
        ("before the first", BOOK, -1, LEAF),
        ("another book's second", OTHER, 1, ZERO),
        ("another book's first after something", OTHER, 0, LEAF),
        ("another book's first before 0", OTHER, -1, ZERO),
    )

    def test_what_is_not_the_next_entry_is_refused(self, engine: sa.Engine) -> None:
        def append(book: str, seq: int, prev: bytes) -> None:
            with engines.writing(engine, book) as connection:
                insert(connection, "entries", (book, seq, b"{}", b"\x33" * 32, prev))

        for what, book, seq, prev in self.NOT_NEXT:
            with pytest.raises(StorageError, match=r"not the next entry of the book|append-only"):
                append(book, seq, prev)
            with engines.reading(engine) as connection:
                assert len(rows_of(connection)["entries"]) == 1, what

    def test_several_entries_in_one_statement_are_taken_in_order_only(self, engine: sa.Engine) -> None:
        """Each row is held against the rows before it in the same statement."""
        second, third = b"\x22" * 32, b"\x33" * 32

        def append(*rows: tuple[str, int, bytes, bytes, bytes]) -> None:
            with engines.writing(engine, BOOK) as connection:
                marks = ", ".join(f"(:a{n}, :b{n}, :c{n}, :d{n}, :e{n})" for n in range(len(rows)))
                values = {
                    f"{name}{n}": value for n, row in enumerate(rows) for name, value in zip("abcde", row, strict=True)
                }
                connection.execute(sa.text(f"INSERT INTO entries VALUES {marks}"), values)

        with pytest.raises(StorageError, match="not the next entry of the book"):
            append((BOOK, 2, b"{}", third, second), (BOOK, 1, b"{}", second, LEAF))
        append((BOOK, 1, b"{}", second, LEAF), (BOOK, 2, b"{}", third, second))

    def test_two_books_in_one_database_have_their_own_order(self, engine: sa.Engine) -> None:
        with engines.writing(engine, OTHER) as connection:
            insert(connection, "entries", (OTHER, 0, b"{}", LEAF, ZERO))
            insert(connection, "entries", (OTHER, 1, b"{}", b"\x44" * 32, LEAF))
        with engines.reading(engine) as connection:
            assert connection.execute(sa.select(sa.func.count()).select_from(tables.entries)).scalar() == 3


class TestDevelopers:
    """A developer types `alembic ...` in the checkout: there is no .ini file, and a scratch database is used."""

    def test_alembic_upgrades_a_scratch_file_and_finds_nothing_to_migrate(self, tmp_path: Path) -> None:
        for command in (["upgrade", "head"], ["check"]):
            done = subprocess.run(
                [sys.executable, "-m", "alembic", *command],
                cwd=Path(__file__).parent.parent,
                env={**os.environ, "TMPDIR": str(tmp_path)},
                capture_output=True,
                text=True,
                check=True,
            )
        assert "No new upgrade operations detected." in done.stdout + done.stderr
        assert [path.name for path in tmp_path.iterdir()] == ["counterfoil-scratch.sqlite"]
