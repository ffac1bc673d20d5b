"""The search index over item words: FTS5 on SQLite, a tsvector under GIN on PostgreSQL, fed alike.

Words come from `ledger.slip` (marks, dates, initials, numbers with their units kept whole). Each is escaped to
letters, digits and underscores, so that neither database's own tokenizer cuts it, and compared for equality.

>>> escape("6.12.58"), escape("14k")
('6_2e_12_2e_58', '14k')
"""

from collections.abc import Iterable, Sequence

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


def escape(word: str) -> str:
    """A word in letters, digits and underscores only; different words stay different."""
    return "".join(c if c.isalnum() and c.isascii() else f"_{ord(c):x}_" for c in word)


def put(connection: sa.Connection, book: str, slip: int, line: int, words: Iterable[str]) -> None:
    """Index one item. The caller makes sure that it is not indexed yet."""
    escaped = sorted({escape(word) for word in words})
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
        connection.exec_driver_sql(f"DELETE FROM {WORDS} WHERE book = {'?' if sqlite else '%s'}", (book,))
    elif sqlite:
        connection.exec_driver_sql(f"DELETE FROM {WORDS} WHERE rowid = ?", (_rowid(slip, line),))
    else:
        connection.exec_driver_sql(
            f"DELETE FROM {WORDS} WHERE book = %s AND slip = %s AND line = %s", (book, slip, line)
        )


def _rowid(slip: int, line: int) -> int:
    """A SQLite file holds one book, so slip and line alone name a row; a slip has at most 100 lines."""
    return slip * 1000 + line


def find(connection: sa.Connection, book: str, words: Sequence[str], *, most: int) -> list[tuple[int, int]]:
    """Items that bear every one of words: (slip, line), newest slips first, at most `most`."""
    escaped = sorted({escape(word) for word in words})
    if not escaped:
        return []
    if connection.dialect.name == "sqlite":
        match = " AND ".join(f'"{word}"' for word in escaped)
        statement = f"SELECT slip, line FROM {WORDS} WHERE {WORDS} MATCH ? AND book = ? ORDER BY rowid DESC LIMIT ?"
    else:
        match = " & ".join(f"'{word}'" for word in escaped)
        statement = (
            f"SELECT slip, line FROM {WORDS} WHERE words @@ %s::tsquery AND book = %s"
            " ORDER BY slip DESC, line DESC LIMIT %s"
        )
    found = connection.exec_driver_sql(statement, (match, book, most))
    return [(int(slip), int(line)) for slip, line in found]


def rows(connection: sa.Connection, book: str) -> set[tuple[str, int, int]]:
    """All that the index holds of one book, for comparing with a rebuild."""
    if connection.dialect.name == "sqlite":
        found = connection.exec_driver_sql(f"SELECT words, slip, line FROM {WORDS} WHERE book = ?", (book,))
        return {(str(words), int(slip), int(line)) for words, slip, line in found}
    found = connection.exec_driver_sql(
        f"SELECT array_to_string(tsvector_to_array(words), ' '), slip, line FROM {WORDS} WHERE book = %s", (book,)
    )
    return {(" ".join(sorted(str(words).split())), int(slip), int(line)) for words, slip, line in found}
