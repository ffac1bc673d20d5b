"""Eighteen ways to falsify a book, each done as well as the forger can, and what finds each of them.

Decides: what every forger had in hand, how he covers his traces (links, leaves, tree and, where he has the signing
key, seals are made anew), and which level must find him. `python -m tests.forgeries` prints the table that stands in
DEVELOPERS.md.
"""

import hashlib
import sqlite3
from collections.abc import Callable, Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from ledger.chain import seals, tree
from ledger.vault.opened import OpenKeys

FILES, DATABASE, KEY = "the files", "the database", "the database and the signing key"


@dataclass
class Forger:
    """Somebody with a copy of a book's folder, and sometimes its keys."""

    folder: Path
    origin: str
    keys: OpenKeys
    """used only by forgers who hold the signing key"""
    stub: str
    """a seal that left the shop before: the forger cannot reach it"""

    def database(self) -> sqlite3.Connection:
        """The database with every trigger taken away."""
        connection = sqlite3.connect(self.folder / "book.sqlite", isolation_level=None)
        for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            connection.execute(f"DROP TRIGGER {name}")
        return connection

    def entries(self) -> list[bytes]:
        """The stored bytes of every entry."""
        with closing(self.database()) as connection:
            return [row[0] for row in connection.execute("SELECT bytes FROM entries ORDER BY seq")]

    def rewrite(self, forged: Sequence[bytes], *, resign: bool) -> None:
        """Put these entries in place of the old ones: numbered, linked, hashed and put into the tree anew.

        References to leaf hashes that changed are carried over, so that nothing but a seal can tell. resign: also
        sign every kept seal again; else the seals stay as they were, as far as they are not longer than the book.
        """
        before = [tree.leaf_hash(each) for each in self.entries()]
        written: list[bytes] = []
        leaves: list[bytes] = []
        renamed: dict[str, str] = {}
        for seq, data in enumerate(forged):
            original = tree.leaf_hash(data)
            linked = _with_seq(_with_prev(data, leaves[-1] if leaves else bytes(32)), seq)
            for old, new in renamed.items():
                linked = linked.replace(old.encode(), new.encode()) if b'"presented":"' in linked else linked
            written.append(linked)
            leaves.append(tree.leaf_hash(linked))
            if original in before:
                renamed[original.hex()] = leaves[-1].hex()
        with closing(self.database()) as connection:
            connection.execute("BEGIN")
            for table in ("entries", "nodes"):
                connection.execute(f"DELETE FROM {table}")
            prevs = [bytes(32), *leaves]
            rows = [(self.origin, seq, written[seq], leaves[seq], prevs[seq]) for seq in range(len(written))]
            connection.executemany("INSERT INTO entries VALUES (?, ?, ?, ?, ?)", rows)
            levels = tree.all_levels(leaves)
            for level, nodes in enumerate(levels):
                rows2 = [(self.origin, level, idx, node) for idx, node in enumerate(nodes)]
                connection.executemany("INSERT INTO nodes VALUES (?, ?, ?, ?)", rows2)
            connection.execute("DELETE FROM seals WHERE size > ?", (len(leaves),))
            if resign:
                self._resign(connection, levels)
            connection.execute("COMMIT")

    def _resign(self, connection: sqlite3.Connection, levels: list[list[bytes]]) -> None:
        for (size,) in connection.execute("SELECT size FROM seals").fetchall():
            root = tree.root(size, lambda level, idx: levels[level][idx])
            note = seals.seal(self.origin, size, root, self.keys.public, self.keys.sign)
            connection.execute("UPDATE seals SET note = ? WHERE size = ?", (note, size))


def _with_prev(data: bytes, prev: bytes) -> bytes:
    start = data.find(b'"prev":"') + len(b'"prev":"')
    return data[:start] + prev.hex().encode() + data[start + 64 :]


def _with_seq(data: bytes, seq: int) -> bytes:
    head, _, tail = data.rpartition(b'"seq":')
    return head + b'"seq":' + str(seq).encode() + tail.lstrip(b"0123456789")


def _find(entries: Sequence[bytes], kind: str, nth: int = 0) -> int:
    return [seq for seq, data in enumerate(entries) if f'"kind":"{kind}/0"'.encode() in data][nth]


@dataclass(frozen=True)
class Forgery:
    """One way to falsify a book, and what must find it."""

    name: str
    had: str
    level: str
    says: str
    """words that the sentence of the fault must bear"""
    forge: Callable[[Forger], int | None]
    """falsifies the copy; gives the entry that the fault must name, or None where it names no entry"""
    only_against: bool = False
    """shows only when held against something that left the shop"""
    without_keys: bool = True
    """the stand-alone verifier, which holds no key, finds it too"""


def _edited(forger: Forger) -> int:
    """Who recorded the second purchase becomes somebody else."""
    entries = forger.entries()
    seq = _find(entries, "purchase", 1)
    entries[seq] = entries[seq].replace(b'"by":"ada"', b'"by":"eve"')
    forger.rewrite(entries, resign=False)
    return seq


def _deleted(forger: Forger) -> int:
    entries = forger.entries()
    seq = _find(entries, "moved")
    forger.rewrite(entries[:seq] + entries[seq + 1 :], resign=False)
    return seq


def _inserted(forger: Forger) -> int:
    entries = forger.entries()
    seq = _find(entries, "moved")
    forger.rewrite([*entries[:seq], entries[seq].replace(b'"by":"ada"', b'"by":"eve"'), *entries[seq:]], resign=False)
    return seq


def _swapped(forger: Forger) -> int:
    entries = forger.entries()
    first, second = _find(entries, "moved", 0), _find(entries, "moved", 1)
    entries[first], entries[second] = entries[second], entries[first]
    forger.rewrite(entries, resign=False)
    return first


def _redated(forger: Forger) -> int:
    """The first purchase was recorded an hour earlier, which would free its goods sooner."""
    entries = forger.entries()
    seq = _find(entries, "purchase")
    entries[seq] = entries[seq].replace(b'"recorded_at":"2026-11-24T15', b'"recorded_at":"2026-11-24T14')
    forger.rewrite(entries, resign=False)
    return seq


def _cut(forger: Forger) -> int:
    """Everything from the last purchase on is gone; what is left was true once."""
    entries = forger.entries()
    seq = _find(entries, "presented", -1)
    forger.rewrite(entries[:seq], resign=False)
    with closing(forger.database()) as connection:
        connection.execute("DELETE FROM locked_rows WHERE seq >= ?", (seq,))
    return seq


def _rebuilt(forger: Forger) -> None:
    """The whole book anew with the real key: the first purchase was recorded by somebody else."""
    entries = forger.entries()
    seq = _find(entries, "purchase")
    entries[seq] = entries[seq].replace(b'"by":"ada"', b'"by":"eve"')
    forger.rewrite(entries, resign=True)


def _projection(forger: Forger) -> None:
    """An item in the list weighs less than in the book."""
    with closing(forger.database()) as connection:
        connection.execute("UPDATE items SET gross_mg = gross_mg - 1000 WHERE slip = 1 AND line = 1")


def _row_edited(forger: Forger) -> int:
    with closing(forger.database()) as connection:
        seq, data = connection.execute(
            "SELECT seq, bytes FROM locked_rows WHERE class = 'money' ORDER BY seq LIMIT 1"
        ).fetchone()
        flipped = data[:-20] + bytes([data[-20] ^ 1]) + data[-19:]
        connection.execute("UPDATE locked_rows SET bytes = ? WHERE class = 'money' AND seq = ?", (flipped, seq))
    return int(seq)


def _row_moved(forger: Forger) -> int:
    """The items of two slips change places in the vault."""
    with closing(forger.database()) as connection:
        rows = connection.execute(
            "SELECT seq, subject, bytes FROM locked_rows WHERE class = 'item' ORDER BY seq"
        ).fetchall()
        first, other = rows[0], next(row for row in rows if row[1] != rows[0][1])
        for (seq, _, _), (_, _, data) in ((first, other), (other, first)):
            connection.execute("UPDATE locked_rows SET bytes = ? WHERE class = 'item' AND seq = ?", (data, seq))
    return int(first[0])


def _row_missing(forger: Forger) -> int:
    with closing(forger.database()) as connection:
        seq = connection.execute("SELECT min(seq) FROM locked_rows WHERE class = 'seller'").fetchone()[0]
        connection.execute("DELETE FROM locked_rows WHERE class = 'seller' AND seq = ?", (seq,))
    return int(seq)


def _picture(forger: Forger) -> int:
    """Two locked pictures change their contents."""
    first, second = sorted(path for path in (forger.folder / "pictures").rglob("*") if path.is_file())[:2]
    kept = first.read_bytes()
    first.write_bytes(second.read_bytes())
    second.write_bytes(kept)
    return -1  # whichever entry names them


def _rules(forger: Forger) -> None:
    """A hold of ten days becomes one of one day in the kept rule file."""
    with closing(forger.database()) as connection:
        digest, data = connection.execute("SELECT digest, bytes FROM rule_files ORDER BY digest LIMIT 1").fetchone()
        connection.execute(
            "UPDATE rule_files SET bytes = ? WHERE digest = ?", (data.replace(b"source", b"sauce!", 1), digest)
        )


def _other_book(forger: Forger) -> int:
    entries = forger.entries()
    seq = _find(entries, "moved")
    other = b"counterfoil/" + b"0" * 32
    entries[seq] = entries[seq].replace(forger.origin.encode(), other)
    forger.rewrite(entries, resign=True)
    return seq


def _doubled_key(forger: Forger) -> int:
    entries = forger.entries()
    seq = _find(entries, "purchase")
    entries[seq] = entries[seq].replace(b'"by":"ada"', b'"by":"ada","by":"eve"')
    forger.rewrite(entries, resign=True)
    return seq


def _spaced(forger: Forger) -> int:
    entries = forger.entries()
    seq = _find(entries, "purchase")
    entries[seq] = entries[seq].replace(b'"by":"ada"', b'"by": "ada"')
    forger.rewrite(entries, resign=True)
    return seq


def _skipped(forger: Forger) -> int:
    """The second slip never was: the third follows the first."""
    entries = forger.entries()
    gone = {_find(entries, "presented", 1), _find(entries, "purchase", 1)}
    kept = [data for seq, data in enumerate(entries) if seq not in gone and b'"slip/2"' not in data]
    forger.rewrite(kept, resign=True)
    return _find(kept, "presented", 1)


def _float(forger: Forger) -> int:
    entries = forger.entries()
    seq = _find(entries, "purchase")
    entries[seq] = entries[seq].replace(b'"items":3', b'"items":3.0')
    forger.rewrite(entries, resign=True)
    return seq


FORGERIES = (
    Forgery("an entry edited", DATABASE, "chain", "was another when it was signed", _edited),
    Forgery("an entry deleted", DATABASE, "chain", "was another when it was signed", _deleted),
    Forgery("an entry inserted", DATABASE, "chain", "was another when it was signed", _inserted),
    Forgery("two entries swapped", DATABASE, "chain", "was another when it was signed", _swapped),
    Forgery("an entry re-dated", DATABASE, "chain", "was another when it was signed", _redated),
    Forgery("the tail cut", DATABASE, "chain", "was cut", _cut, only_against=True),
    Forgery("the whole book rebuilt", KEY, "chain", "was another when it was signed", _rebuilt, only_against=True),
    Forgery("a row of the derived tables edited", DATABASE, "tables", "items: a row", _projection, without_keys=False),
    Forgery("a vault row edited", DATABASE, "parts", "does not open", _row_edited, without_keys=False),
    Forgery("a vault row moved", DATABASE, "parts", "does not open", _row_moved, without_keys=False),
    Forgery("a vault row missing", DATABASE, "parts", "no part in the vault", _row_missing, without_keys=False),
    Forgery("two pictures swapped", FILES, "pictures", "picture file", _picture),
    Forgery("a rule file replaced", DATABASE, "forms", "rule file", _rules),
    Forgery("an entry of another book", KEY, "forms", "belongs to another book", _other_book),
    Forgery("a JSON key twice", KEY, "forms", "duplicate key", _doubled_key),
    Forgery("bytes not canonical", KEY, "forms", "not in canonical form", _spaced),
    Forgery("a slip number skipped", KEY, "forms", "slip numbers are gapless", _skipped),
    Forgery("a float", KEY, "forms", "a float", _float),
)


def table() -> str:
    """The table of DEVELOPERS.md: what the forger had, what finds him, whether only a seal from outside does."""
    lines = [
        "| falsified | the forger had | found by level | only with `--against` | found without any key |",
        "| --- | --- | --- | --- | --- |",
    ]
    for each in FORGERIES:
        against = "yes" if each.only_against else "no"
        without = "yes" if each.without_keys else "no"
        lines.append(f"| {each.name} | {each.had} | {each.level} | {against} | {without} |")
    return "\n".join(lines)


def digest(folder: Path) -> str:
    """One digest over every file of a folder, to show that a check changes nothing."""
    found = hashlib.sha256()
    for path in sorted(folder.rglob("*")):
        if path.is_file():
            found.update(str(path.relative_to(folder)).encode() + hashlib.sha256(path.read_bytes()).digest())
    return found.hexdigest()


if __name__ == "__main__":
    print(table())
