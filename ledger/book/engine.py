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
_MIGRATING = 4_868_172_061_519_473_987  # any number: whoever brings a PostgreSQL database up to date asks for this lock

# Words of a driver -> what to do about it; the first that fits.
_REMEDIES = (
    ("unable to open", "look whether its folder is there and may be written"),
    ("readonly", "give yourself the right to write it, or copy the book to a disk that can be written"),
    ("locked", "another program holds it; wait until that is done and try again"),
    ("malformed", "keep the file as it is and restore the newest backup"),
    ("not a database", "keep the file as it is and restore the newest backup"),
    ("full", "make room on the disk and try again"),
    ("password", "correct the user and the password in settings.toml"),
    ("connection", "start its server, or correct the URL in settings.toml"),
    ("resolve host", "correct the URL in settings.toml, or mend the network"),
)


def journal_for(version: tuple[int, int, int]) -> tuple[str, str]:
    """(journal mode, synchronous) for a linked SQLite.

    Source: sqlite.org/wal.html, "the WAL-reset bug": fixed in 3.51.3, with backports 3.50.7 and 3.44.6.
    """
    mended = version >= (3, 51, 3) or (3, 50, 7) <= version < (3, 51, 0) or (3, 44, 6) <= version < (3, 45, 0)
    return ("WAL", "FULL") if mended else ("TRUNCATE", "EXTRA")


def sqlite_url(folder: Path) -> sa.URL:
    """The URL of the database in a book's folder. Not as text: there a question mark would cut the path short."""
    return sa.URL.create("sqlite", database=str(folder / "book.sqlite"))


def open_engine(url: str | sa.URL, *, journal: tuple[str, str] | None = None) -> sa.Engine:
    """An engine on which every connection is set up as this module says.

    journal: overrides the mode, for measuring only.
    Raises: StorageError for a URL that names no database a book can lie in. A database that is not there is told
    when it is first used.
    """
    try:
        parsed = sa.make_url(url)
    except (sa.exc.ArgumentError, ValueError):  # not `from`: the URL may hold a password
        why = "its URL cannot be read; write sqlite:///FILE or postgresql://USER@HOST/NAME"
        raise StorageError(path="database", why=why) from None
    if parsed.get_backend_name() == "sqlite":
        if parsed.database in (None, "", ":memory:"):
            raise StorageError(path="database", why="a book is kept in a file; write sqlite:///FILE")
        return _sqlite(parsed.set(drivername="sqlite"), journal or journal_for(sqlite3.sqlite_version_info))
    if parsed.get_backend_name() == "postgresql":
        return _postgresql(parsed.set(drivername="postgresql+psycopg"))
    why = f"no book is kept in {parsed.get_backend_name()}; write sqlite:///FILE or postgresql://USER@HOST/NAME"
    raise StorageError(path="database", why=why)


def _postgresql(url: sa.URL) -> sa.Engine:
    try:
        return sa.create_engine(url, isolation_level="READ COMMITTED", pool_pre_ping=True, hide_parameters=True)
    except ModuleNotFoundError as fault:
        why = f"{fault.name} is missing on this machine; run `pip install 'counterfoil[postgres]'`"
        raise StorageError(path="database", why=why) from fault


def _sqlite(url: sa.URL, journal: tuple[str, str]) -> sa.Engine:
    engine = sa.create_engine(url, hide_parameters=True)  # else errors and logs tell what was to be written

    @event.listens_for(engine, "do_connect")
    def must_be_there(_dialect: object, _record: object, arguments: list[Any], options: dict[str, Any]) -> None:
        # SQLite would make an empty file where the book was lost; only `migrate` makes one.
        if not options.get("uri") and not Path(arguments[0]).exists():
            raise StorageError(
                path=Path(arguments[0]), why="there is no such file; restore the newest backup of the book"
            )

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
def any_text(connection: sa.Connection) -> Iterator[None]:
    """While it lasts, text that is no UTF-8 is read with its bytes kept as halves of characters.

    SQLite keeps whatever was written into a column of text; an audit has to name it, not to stop at it.
    """
    raw: Any = connection.connection.driver_connection
    if connection.dialect.name != "sqlite":
        yield
        return
    raw.text_factory = lambda data: data.decode(errors="surrogateescape")
    try:
        yield
    finally:
        raw.text_factory = str


@contextmanager
def storage(engine: sa.Engine) -> Iterator[None]:
    """Turns what a database driver raises into one sentence that ends with what to do."""
    try:
        yield
    except (sa.exc.DBAPIError, engine.dialect.loaded_dbapi.Error, UnicodeDecodeError) as fault:
        said = str(fault.orig if isinstance(fault, sa.exc.DBAPIError) else fault).strip().partition("\n")[0]
        remedy = next((remedy for words, remedy in _REMEDIES if words in said), "run `counterfoil doctor`")
        # Not `from`: what a driver says after its first line may hold the rows that were to be written.
        raise StorageError(path=_place(engine), why=f"the database says: {said.rstrip('.')}; {remedy}") from None


def _place(engine: sa.Engine) -> str:
    name = engine.url.database or "database"
    return name if engine.dialect.name == "sqlite" else f"PostgreSQL database {name}"


def _lock_number(book: str) -> int:
    return int.from_bytes(hashlib.sha256(book.encode()).digest()[:8], "big", signed=True)


def migrate(engine: sa.Engine) -> None:
    """Bring the database to the newest layout, or make it.

    Raises: StorageError, also for a layout that a newer program made.
    """
    from alembic import command  # 0.2 s to import, and most commands never migrate
    from alembic.config import Config
    from alembic.util import CommandError

    config = Config()
    config.set_main_option("script_location", str(shipped.folder("migrations")).replace("%", "%%"))
    if engine.dialect.name == "sqlite":
        _make_file(Path(str(engine.url.database)))
    with storage(engine), engine.connect().execution_options(writing=True) as connection, connection.begin():
        if engine.dialect.name == "postgresql":
            connection.exec_driver_sql("SELECT pg_advisory_xact_lock(%s)", (_MIGRATING,))
        else:
            connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")
        config.attributes["connection"] = connection
        try:
            command.upgrade(config, "head")
        except CommandError as fault:
            why = "a newer program gave it a layout that this one does not know; use the program that wrote it"
            raise StorageError(path=_place(engine), why=why) from fault


def _make_file(path: Path) -> None:
    """An empty database, closed to others: descriptions of goods lie in it in clear."""
    try:
        if not path.exists():
            path.touch(mode=0o600)
    except OSError as fault:
        raise StorageError(path=path, why=f"the database cannot be made there: {fault.strerror}") from fault


def layout(engine: sa.Engine) -> str | None:
    """The migration this database stands at, or None when it holds no book."""
    with reading(engine) as connection:
        if not sa.inspect(connection).has_table("alembic_version"):
            return None
        found: Any = connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalar()
        return None if found is None else str(found)
