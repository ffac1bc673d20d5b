"""Opens a book's database the one safe way: SQLite by default, PostgreSQL by URL.

Decides: journal mode, syncing, how a writing transaction begins. Leaves what is written to `ledger.book.pages`.
What is acknowledged is durable: SQLite runs WAL + FULL where the linked library has the fix for the WAL-reset
fault, else TRUNCATE + EXTRA; PostgreSQL runs READ COMMITTED under one advisory lock per book.

>>> journal_for((3, 40, 1)), journal_for((3, 51, 3)), journal_for((3, 44, 6)), journal_for((3, 44, 5))
(('TRUNCATE', 'EXTRA'), ('WAL', 'FULL'), ('WAL', 'FULL'), ('TRUNCATE', 'EXTRA'))
"""

import hashlib
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy import event

from ledger import shipped
from ledger.errors import StorageError

APPLICATION_ID = 0x43464C47  # "CFLG", so that `file` and doctor can tell a book from any other SQLite file
BUSY_MILLISECONDS = 30_000


def journal_for(version: tuple[int, int, int]) -> tuple[str, str]:
    """(journal mode, synchronous) for a linked SQLite.

    Source: sqlite.org/wal.html, "the WAL-reset bug": fixed in 3.51.3, with backports 3.50.7 and 3.44.6.
    """
    mended = version >= (3, 51, 3) or (3, 50, 7) <= version < (3, 51, 0) or (3, 44, 6) <= version < (3, 45, 0)
    return ("WAL", "FULL") if mended else ("TRUNCATE", "EXTRA")


def sqlite_url(folder: Path) -> str:
    """The URL of the database in a book's folder."""
    return sa.URL.create("sqlite", database=str(folder / "book.sqlite")).render_as_string(hide_password=False)


def open_engine(url: str, *, journal: tuple[str, str] | None = None) -> sa.Engine:
    """An engine on which every connection is set up as this module says.

    journal: overrides the mode, for measuring only.
    Raises: StorageError if the database cannot be opened when first used.
    """
    try:
        parsed = sa.make_url(url)
    except sa.exc.ArgumentError as fault:
        raise StorageError(
            path="database", why="its URL cannot be read; write sqlite:///FILE or postgresql://..."
        ) from fault
    if parsed.get_backend_name() == "sqlite":
        return _sqlite(parsed, journal or journal_for(sqlite3.sqlite_version_info))
    if parsed.get_backend_name() == "postgresql":
        return sa.create_engine(
            parsed.set(drivername="postgresql+psycopg"), isolation_level="READ COMMITTED", pool_pre_ping=True
        )
    raise StorageError(path="database", why=f"{parsed.get_backend_name()} is not kept; use SQLite or PostgreSQL")


def _sqlite(url: sa.URL, journal: tuple[str, str]) -> sa.Engine:
    engine = sa.create_engine(url)

    @event.listens_for(engine, "connect")
    def set_up(raw: sqlite3.Connection, _record: object) -> None:
        raw.isolation_level = None  # we say BEGIN ourselves: the driver's own is deferred and late
        for statement in (
            f"PRAGMA busy_timeout = {BUSY_MILLISECONDS}",
            f"PRAGMA journal_mode = {journal[0]}",
            f"PRAGMA synchronous = {journal[1]}",
            "PRAGMA foreign_keys = ON",
            "PRAGMA recursive_triggers = ON",  # else REPLACE deletes past the DELETE trigger
            "PRAGMA secure_delete = ON",
            "PRAGMA trusted_schema = OFF",
            "PRAGMA cell_size_check = ON",
        ):
            raw.execute(statement)

    @event.listens_for(engine, "begin")
    def begin(connection: sa.Connection) -> None:
        writing = connection.get_execution_options().get("writing")
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")

    return engine


@contextmanager
def writing(engine: sa.Engine, book: str) -> Iterator[sa.Connection]:
    """One writing transaction; one writer of a book at a time; leaving with an error rolls back.

    Raises: StorageError when the disk or the database says no.
    """
    with storage(engine), engine.connect().execution_options(writing=True) as connection, connection.begin():
        if engine.dialect.name == "postgresql":
            connection.exec_driver_sql("SELECT pg_advisory_xact_lock(%s)", (_lock_number(book),))
        yield connection


@contextmanager
def reading(engine: sa.Engine) -> Iterator[sa.Connection]:
    """One reading transaction: all of it sees the same state of the book."""
    with storage(engine), engine.connect() as plain:
        connection = plain
        if engine.dialect.name == "postgresql":
            connection = plain.execution_options(isolation_level="REPEATABLE READ")
        with connection.begin():
            yield connection


@contextmanager
def storage(engine: sa.Engine) -> Iterator[None]:
    """Turns what a database driver raises into one sentence."""
    try:
        yield
    except sa.exc.DBAPIError as fault:
        path = engine.url.database or "database"
        raise StorageError(path=path, why=f"the database says: {str(fault.orig).strip().splitlines()[0]}") from fault


def _lock_number(book: str) -> int:
    return int.from_bytes(hashlib.sha256(book.encode()).digest()[:8], "big", signed=True)


def migrate(engine: sa.Engine, *, to: str = "head") -> None:
    """Bring the database to the newest layout, or make it. Raises: StorageError."""
    from alembic import command  # 0.2 s to import, and most commands never migrate
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(shipped.folder("migrations")).replace("%", "%%"))
    with storage(engine), engine.connect().execution_options(writing=True) as connection, connection.begin():
        config.attributes["connection"] = connection
        command.upgrade(config, to)
    if engine.dialect.name == "sqlite":
        with engine.connect() as connection:
            connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")
            connection.commit()


def layout(engine: sa.Engine) -> str | None:
    """The migration this database stands at, or None when it holds no book."""
    with reading(engine) as connection:
        if not sa.inspect(connection).has_table("alembic_version"):
            return None
        found: Any = connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalar()
        return None if found is None else str(found)
