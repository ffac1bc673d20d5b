"""The search index over item words: FTS5 on SQLite, a tsvector under GIN on PostgreSQL, fed alike.

Words come from `ledger.slip` (marks, dates, initials, numbers with their units kept whole). Each is escaped to
small letters, digits and underscores, so that neither database's own tokenizer cuts or folds it, and compared for
equality.

>>> escape("6.12.58"), escape("14k"), escape("K")
('6_2e_12_2e_58', '14k', '_4b_')
"""

import hashlib
from collections.abc import Iterable, Sequence
from typing import Any

import sqlalchemy as sa

from ledger.book.tables import WORDS


def create(connection: sa.Connection) -> None:
    """Create the index on the connection's database."""
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql(
            f"CREATE VIRTUAL TABLE {WORDS} USING fts5(words, book UNINDEXED, slip UNINDEXED, line UNINDEXED,"
            " tokenize=\"unicode61 remove_diacritics 0 tokenchars '_'\")"
        )
        return
    connection.exec_driver_sql(
        f"CREATE TABLE {WORDS} (words tsvector NOT NULL, book text, slip bigint, line bigint,"
        " PRIMARY KEY (book, slip, line))"
    )
    connection.exec_driver_sql(f"CREATE INDEX ix_{WORDS} ON {WORDS} USING gin (words)")


_PLAIN = frozenset("abcdefghijklmnopqrstuvwxyz0123456789")
_LONGEST = 500  # PostgreSQL asks for no word of more than 2,046 bytes


def escape(word: str) -> str:
    """A word in small letters, digits and underscores only; different words stay different, long ones too."""
    escaped = "".join(c if c in _PLAIN else f"_{ord(c):x}_" for c in word)
    if len(escaped) <= _LONGEST:
        return escaped
    return f"{escaped[:_LONGEST]}_h_{hashlib.sha256(escaped.encode()).hexdigest()}"


def _escaped(words: Iterable[str]) -> list[str]:
    return sorted({escape(word) for word in words if word})


def put(connection: sa.Connection, book: str, slip: int, line: int, words: Iterable[str]) -> None:
    """Index one item. The caller makes sure that it is not indexed yet."""
    escaped = _escaped(words)
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql(
            f"INSERT INTO {WORDS} (rowid, words, book, slip, line) VALUES (?, ?, ?, ?, ?)",
            (_rowid(slip, line), " ".join(escaped), book, slip, line),
        )
        return
    connection.exec_driver_sql(
        f"INSERT INTO {WORDS} (words, book, slip, line) VALUES (array_to_tsvector(%s::text[]), %s, %s, %s)",
        (escaped, book, slip, line),
    )


def remove(connection: sa.Connection, book: str, slip: int | None = None, line: int | None = None) -> None:
    """Take one item's words out of the index, or a whole book's."""
    sqlite = connection.dialect.name == "sqlite"
    if slip is None or line is None:
        if sqlite:  # the file holds one book, and an index that was tampered with cannot be emptied row by row
            connection.exec_driver_sql(f"DROP TABLE {WORDS}")
            create(connection)
        else:
            connection.exec_driver_sql(f"DELETE FROM {WORDS} WHERE book = %s", (book,))
    elif sqlite:
        connection.exec_driver_sql(f"DELETE FROM {WORDS} WHERE rowid = ?", (_rowid(slip, line),))
    else:
        connection.exec_driver_sql(
            f"DELETE FROM {WORDS} WHERE book = %s AND slip = %s AND line = %s", (book, slip, line)
        )


_LINES = 1000


def _rowid(slip: int, line: int) -> int:
    """A SQLite file holds one book, so slip and line alone name a row; a slip has at most 100 lines."""
    return slip * _LINES + line


def find(connection: sa.Connection, book: str, words: Sequence[str], *, most: int) -> list[tuple[int, int]]:
    """Items that bear every one of words: (slip, line), newest slips first, at most `most`."""
    escaped = _escaped(words)
    if not escaped:
        return []
    if connection.dialect.name == "sqlite":
        # By the row's number alone: reading any column would fetch the row for every item that bears the words.
        match = " AND ".join(f'"{word}"' for word in escaped)
        statement = f"SELECT rowid FROM {WORDS} WHERE {WORDS} MATCH ? ORDER BY rowid DESC LIMIT ?"
        return [divmod(rowid, _LINES) for (rowid,) in connection.exec_driver_sql(statement, (match, most)).fetchall()]
    match = " & ".join(f"'{word}'" for word in escaped)
    statement = (
        f"SELECT slip, line FROM {WORDS} WHERE words @@ %s::tsquery AND book = %s"
        " ORDER BY slip DESC, line DESC LIMIT %s"
    )
    return [(slip, line) for slip, line in connection.exec_driver_sql(statement, (match, book, most)).fetchall()]


def counts(connection: sa.Connection, book: str, words: Iterable[str]) -> dict[str, int]:
    """How many items bear each word; a word that none bears is left out."""
    escaped = {escape(word): word for word in words if word}
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql(
            f"CREATE VIRTUAL TABLE IF NOT EXISTS temp.{WORDS}_borne USING fts5vocab(main, {WORDS}, row)"
        )
        statement = f"SELECT doc FROM temp.{WORDS}_borne WHERE term = ?"
        found = {word: connection.exec_driver_sql(statement, (one,)).scalar() for one, word in escaped.items()}
    else:
        statement = f"SELECT count(*) FROM {WORDS} WHERE words @@ %s::tsquery AND book = %s"
        found = {
            word: connection.exec_driver_sql(statement, (f"'{one}'", book)).scalar() for one, word in escaped.items()
        }
    return {word: int(number) for word, number in found.items() if number}


def rows(connection: sa.Connection, book: str) -> set[tuple[Any, ...]]:
    """All that the index holds of one book as (words, slip, line), for comparing with a rebuild.

    SQLite keeps the words twice, as text and as the index by which they are found: where these differ, more rows
    stand here than there are items, so that the comparison fails.
    """
    if connection.dialect.name == "postgresql":
        found = connection.exec_driver_sql(
            f"SELECT array_to_string(tsvector_to_array(words), ' '), slip, line FROM {WORDS} WHERE book = %s", (book,)
        )
        return {(" ".join(sorted(words.split())), slip, line) for words, slip, line in found}
    kept = connection.exec_driver_sql(f"SELECT rowid, words, slip, line FROM {WORDS} WHERE book = ?", (book,)).all()
    connection.exec_driver_sql(
        f"CREATE VIRTUAL TABLE IF NOT EXISTS temp.{WORDS}_found USING fts5vocab(main, {WORDS}, instance)"
    )
    indexed: dict[int, list[str]] = {rowid: [] for rowid, *_ in kept}
    strays = set()
    for rowid, word in connection.exec_driver_sql(f"SELECT doc, term FROM temp.{WORDS}_found"):
        if rowid in indexed:
            indexed[rowid].append(word)
        else:
            strays.add((word, rowid, None))
    connection.exec_driver_sql(f"DROP TABLE temp.{WORDS}_found")
    return {
        *((words, slip, line) for _, words, slip, line in kept),
        *((" ".join(sorted(words)), *divmod(rowid, _LINES)) for rowid, words in indexed.items()),
        *strays,
    }
