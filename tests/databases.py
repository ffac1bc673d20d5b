"""Databases for tests: a migrated one is made once and copied for each test.

Decides: where a test's database lies, and that SQLite and PostgreSQL get the same treatment.
Leaves to ledger.book: opening and migrating. Nothing here stands in for a database.

PostgreSQL is used where COUNTERFOIL_TEST_POSTGRES holds the URL of a database whose owner may create
others. One template a run is made by whichever worker needs it first, cloned for each test, and dropped
with all its clones when the run ends.
"""

import os
import secrets
import shutil
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import sqlalchemy as sa

from ledger.book.engine import migrate, open_engine

POSTGRES = os.environ.get("COUNTERFOIL_TEST_POSTGRES", "")
WHY_SKIPPED = "needs PostgreSQL: set COUNTERFOIL_TEST_POSTGRES to the URL of a database whose owner may create others"
_PREFIX = f"counterfoil_{os.environ['COUNTERFOIL_TEST_RUN']}_"  # one name for all workers: see conftest.py
_TEMPLATE = f"{_PREFIX}template"
_TRIES = 25
_ONE_AT_A_TIME = 7_262_013  # any number: all workers of a run ask for the same advisory lock


def migrated_file(folder: Path) -> Path:
    """A migrated SQLite database in folder, closed, to be copied for each test."""
    file = folder / "template.sqlite"
    engine = open_engine(f"sqlite:///{file}")
    migrate(engine)
    engine.dispose()
    return file


def copied_file(template: Path, folder: Path) -> str:
    """The URL of a copy of template in folder."""
    return f"sqlite:///{shutil.copy(template, folder / 'book.sqlite')}"


@contextmanager
def postgres_database(*, migrated: bool) -> Iterator[str]:
    """The URL of a database of its own, cloned from the run's template if migrated; dropped afterwards."""
    name = _PREFIX + secrets.token_hex(6)
    with _server() as connection:
        _create(connection, name, _template(connection) if migrated else "template0")
    try:
        yield _url(name)
    finally:
        with _server() as connection:
            _drop(connection, name)


def drop_all_of_this_run() -> None:
    """Drop the template and whatever a killed worker left behind."""
    with _server() as connection:
        names = connection.execute(
            sa.text("SELECT datname FROM pg_database WHERE starts_with(datname, :prefix)"), {"prefix": _PREFIX}
        ).scalars()
        for name in list(names):
            _drop(connection, name)


def _template(connection: sa.Connection) -> str:
    """The run's migrated template, made now if it is not there; one worker makes it while the others wait."""
    connection.execute(sa.text("SELECT pg_advisory_lock(:key)"), {"key": _ONE_AT_A_TIME})
    try:
        there = sa.text("SELECT 1 FROM pg_database WHERE datname = :name")
        if connection.execute(there, {"name": _TEMPLATE}).first() is None:
            unfinished = f"{_TEMPLATE}_unfinished"
            _create(connection, unfinished, "template0")
            engine = open_engine(_url(unfinished))
            migrate(engine)
            engine.dispose()  # a database that somebody is connected to cannot be cloned
            connection.execute(sa.text(f'ALTER DATABASE "{unfinished}" RENAME TO "{_TEMPLATE}"'))
    finally:
        connection.execute(sa.text("SELECT pg_advisory_unlock(:key)"), {"key": _ONE_AT_A_TIME})
    return _TEMPLATE


@contextmanager
def _server() -> Iterator[sa.Connection]:
    """A connection to the given database, outside any transaction: databases are made and dropped there."""
    engine = sa.create_engine(POSTGRES, isolation_level="AUTOCOMMIT", poolclass=sa.NullPool)
    with engine.connect() as connection:
        yield connection


def _create(connection: sa.Connection, name: str, template: str) -> None:
    encoding = " ENCODING 'UTF8' LC_COLLATE 'C' LC_CTYPE 'C'" if template == "template0" else ""
    connection.execute(sa.text(f'CREATE DATABASE "{name}" TEMPLATE "{template}"{encoding}'))


def _drop(connection: sa.Connection, name: str) -> None:
    """Drop a database. The server's own vacuum may be at work in it for a moment, and only its owner may end that."""
    for left in range(_TRIES - 1, -1, -1):
        try:
            connection.execute(sa.text(f'DROP DATABASE IF EXISTS "{name}" WITH (FORCE)'))
            return
        except sa.exc.ProgrammingError:
            if not left:
                raise
            time.sleep(0.2)


def _url(name: str) -> str:
    return sa.make_url(POSTGRES).set(database=name).render_as_string(hide_password=False)
