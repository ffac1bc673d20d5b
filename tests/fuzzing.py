"""Rubbish put anywhere into a small book, by somebody with the database in hand and no plan.

Decides: which rubbish, and where. Leaves to tests/test_verifying.py what an audit must say of it.
"""

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from random import Random

from ledger.book import tables, verifying
from ledger.book.faults import Findings
from ledger.errors import StorageError
from tests import make_books
from tests.tampering import tampering

TABLES = tuple(table.name for table in (*tables.KEPT, tables.data_keys, *tables.PROJECTIONS))


@dataclass(frozen=True)
class Damage:
    """What was done to one row."""

    table: str
    did: str
    was: object
    now: object


def rubbish(random: Random, was: object) -> object:
    """A value of any type that SQLite takes, near to what stood there or far from it."""
    near: object = None
    if isinstance(was, bytes) and was:
        place = random.randrange(len(was))
        near = was[:place] + bytes([was[place] ^ 1 << random.randrange(8)]) + was[place + 1 :]
    elif isinstance(was, str) and was:
        place = random.randrange(len(was))
        near = was[:place] + random.choice(["x", "", "é", "\u202e", "\x00", '"', "字"]) + was[place + 1 :]
    elif isinstance(was, int):
        near = was + random.choice([-1, 1, 1 << random.randrange(62)])
    far: list[object] = [
        None, 0, -1, 2**63 - 1, -(2**63), 0.5, float("inf"), "", "text", "\x1b[31m", "0" * 400, b"", b"\x00",
        b"\xff" * 40, "counterfoil/" + "0" * 32, '{"a":1}', "[]", "12", random.randbytes(32),
    ]  # fmt: skip
    return near if near is not None and random.random() < 0.5 else random.choice(far)


def damaged(raw: sqlite3.Connection, random: Random) -> Damage | None:
    """One thing done to one row of one table; None when SQLite refused it or nothing changed by it."""
    table = random.choice(TABLES)
    cursor = raw.execute(f"SELECT rowid, * FROM {table} ORDER BY rowid")
    columns = [f'"{name}"' for name, *_ in cursor.description][1:]
    found = cursor.fetchall()
    if not found:
        return None
    rowid, *row = random.choice(found)
    place = random.randrange(len(columns))
    value = rubbish(random, row[place])
    did = random.choice(["change", "change", "change", "as text", "delete", "add"])
    if did == "delete":
        statement, values = f"DELETE FROM {table} WHERE rowid = ?", [rowid]
    elif did == "as text":
        statement, values = (
            f"UPDATE {table} SET {columns[place]} = CAST({columns[place]} AS TEXT) WHERE rowid = ?",
            [rowid],
        )
    elif did == "change":
        statement, values = f"UPDATE {table} SET {columns[place]} = ? WHERE rowid = ?", [value, rowid]
    else:
        values = [*row[:place], value, *row[place + 1 :]]
        statement = f"INSERT INTO {table} VALUES ({', '.join('?' * len(values))})"
    before = _contents(raw, table)
    try:
        raw.execute(statement, values)
    except sqlite3.IntegrityError:
        return None
    if _contents(raw, table) == before:
        return None
    return Damage(f"{table}.{columns[place]}", did, row[place], value if did in ("change", "add") else None)


def _contents(raw: sqlite3.Connection, table: str) -> list[tuple[object, ...]]:
    """Every row with the types of its columns; text as bytes, since it need not be text any more."""
    names = [f'"{name}"' for name, *_ in raw.execute(f"SELECT * FROM {table}").description]
    asked = ", ".join(f"typeof({name}), CAST({name} AS BLOB)" for name in names)
    return raw.execute(f"SELECT {asked} FROM {table} ORDER BY rowid").fetchall()


def tries(folder: Path, place: Path, random: Random, count: int) -> Iterator[tuple[Damage, Findings]]:
    """Damage a copy of a book again and again, each time from what it was, and audit it."""
    shutil.copytree(folder, place)
    database = place / "book.sqlite"
    with tampering(place):
        pass  # takes the triggers away
    good = database.read_bytes()
    book = make_books.reopened(place).book
    while count:
        with tampering(place) as raw:
            damage = damaged(raw, random)
        if damage is not None:
            count -= 1
            yield damage, verifying.audit(book)
        book.engine.dispose()
        database.write_bytes(good)


def flips(folder: Path, place: Path, random: Random, count: int) -> Iterator[tuple[bool, Findings | None]]:
    """Flip one bit of a copy of a book's database file again and again, each time from what it was, and audit it.

    Gives whether everything can still be read and reads as before, and what the audit found; None where the database
    could not be read.
    """
    shutil.copytree(folder, place)
    database = place / "book.sqlite"
    good = database.read_bytes()
    before = _all_contents(database)
    book = make_books.reopened(place).book
    for _ in range(count):
        byte, bit = random.randrange(len(good)), random.randrange(8)
        database.write_bytes(good[:byte] + bytes([good[byte] ^ 1 << bit]) + good[byte + 1 :])
        try:
            found: Findings | None = verifying.audit(book)
        except StorageError:
            found = None
        book.engine.dispose()
        yield _all_contents(database) == before, found
    database.write_bytes(good)


def _all_contents(database: Path) -> dict[str, list[tuple[object, ...]]] | None:
    """What every table holds; None where one cannot be read."""
    try:
        with closing(sqlite3.connect(database)) as raw:
            return {table: _contents(raw, table) for table in TABLES}
    except (sqlite3.Error, UnicodeDecodeError):
        return None
