"""What the book costs beside the bare work: appending, verifying, searching, growing.

Floors share nothing with the program: a bare sqlite3 script that writes the same rows, a loop that reads and hashes.
Run: `python -m tests.bench.bench_book` (about four minutes); figures stand in DEVELOPERS.md.
"""

import hashlib
import os
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from ledger.acts import drafting
from ledger.acts import recording as record
from ledger.book import chain_audit, forms_audit, pages, signing_keys, tables, words_index
from ledger.book import engine as engines
from ledger.book.statements import put
from ledger.chain import entries, parts, seals, tree
from tests import shops, slip_samples
from tests.bench.pairs import Comparison, compare, table, timed

NOON = datetime(2026, 11, 24, 18, tzinfo=UTC)
SMALL, LARGE = 1_000, 100_000


def bare_book(folder: Path, journal: tuple[str, str]) -> pages.Book:
    """An empty book of its own file in a journal mode."""
    engine = engines.open_engine(engines.sqlite_url(folder), journal=journal)
    engines.migrate(engine)
    return pages.Book(folder, engine, "counterfoil/" + "0" * 32, lambda: NOON, os.urandom, "0.1.0")


def prepared(book: pages.Book, seq: int, prev: bytes, kind: str = "moved/0") -> entries.Entry:
    """An entry of about 1.6 kB."""
    return entries.make(
        book=book.origin,
        seq=seq,
        prev=prev,
        kind=kind,
        recorded_at=NOON,
        previous_recorded_at=None,
        by="ada",
        program="0.1.0",
        about=[f"item/{seq + 1}/1"],
        public={},
        parts=[parts.digest_of(f"{seq} {number}") for number in range(27)],
    )


BARE = """
CREATE TABLE entries (
  book TEXT, seq INTEGER, bytes BLOB, leaf BLOB, prev BLOB, PRIMARY KEY (book, seq), UNIQUE (book, prev)
);
CREATE TABLE nodes (book TEXT, level INTEGER, idx INTEGER, hash BLOB, PRIMARY KEY (book, level, idx));
CREATE TABLE locked_rows (
  book TEXT, seq INTEGER, class TEXT, subject TEXT, bytes BLOB, PRIMARY KEY (book, seq, class, subject)
);
"""
ROWS = [("item", "0" * 32, os.urandom(900)), ("money", "0" * 32, os.urandom(300)), ("law", "0" * 32, os.urandom(900))]


def appending(folder: Path, journal: tuple[str, str], goal: float) -> Comparison:
    """`Page.write` of a prepared entry with its rows, against the same rows written by a bare script."""
    book = bare_book(folder, journal)
    rounds = 60
    opening = entries.make(
        book=book.origin, seq=0, prev=bytes(32), kind="opened/0", recorded_at=NOON, previous_recorded_at=None, by="ada",
        program="0.1.0", about=["book"], parts=[],
        public={"format": "counterfoil-book/0", "vkey": seals.vkey(book.origin, bytes(32)), "zone": "UTC"},
    )  # fmt: skip
    with book.writing() as page:
        page.write(opening, [])

    def ours() -> float:
        leaf, size = book._head.leaf, book._head.size  # type: ignore[union-attr]
        made = []
        for seq in range(size, size + rounds):
            entry = prepared(book, seq, leaf)
            made.append(entry)
            leaf = entry.leaf
        started = time.perf_counter()
        for entry in made:
            with book.writing() as page:
                page.write(entry, ROWS)
        return (time.perf_counter() - started) / rounds

    bare = sqlite3.connect(folder / "bare.sqlite", isolation_level=None)
    bare.execute(f"PRAGMA journal_mode = {journal[0]}")
    bare.execute(f"PRAGMA synchronous = {journal[1]}")
    bare.executescript(BARE)
    written = 0

    def floor() -> float:
        nonlocal written
        made, data = [], os.urandom(1_600)
        for seq in range(written, written + rounds):
            nodes = [
                (book.origin, level, seq >> level, bytes(32)) for level in range(((seq + 1) & -(seq + 1)).bit_length())
            ]
            made.append((seq, os.urandom(32), os.urandom(32), nodes))
        written += rounds
        started = time.perf_counter()
        for seq, leaf, prev, nodes in made:
            bare.execute("BEGIN IMMEDIATE")
            bare.execute("INSERT INTO entries VALUES (?, ?, ?, ?, ?)", (book.origin, seq, data, leaf, prev))
            bare.executemany("INSERT INTO nodes VALUES (?, ?, ?, ?)", nodes)
            bare.executemany(
                "INSERT INTO locked_rows VALUES (?, ?, ?, ?, ?)", [(book.origin, seq, *row) for row in ROWS]
            )
            bare.execute("COMMIT")
        return (time.perf_counter() - started) / rounds

    with closing(bare):
        found = compare(f"book.append, {journal[0]} + {journal[1]}", floor, ours, pairs=21, goal=goal)
    book.engine.dispose()
    return found


def grow(folder: Path, size: int, journal: tuple[str, str]) -> pages.Book:
    """A book of `size` entries of 1.6 kB with its tree, written in one transaction, sealed every 1,000 entries."""
    key = Ed25519PrivateKey.generate()
    public = key.public_key().public_bytes_raw()
    book = bare_book(folder, journal)
    with book.writing() as page:
        opening = entries.make(
            book=book.origin, seq=0, prev=bytes(32), kind="opened/0", recorded_at=NOON, previous_recorded_at=None,
            by="ada", program="0.1.0", about=["book"], parts=[],
            public={"format": "counterfoil-book/0", "vkey": seals.vkey(book.origin, public), "zone": "UTC"},
        )  # fmt: skip
        page.write(opening, [])
        for seq in range(1, size):
            page.write(prepared(book, seq, page.head.leaf), [])
            if seq % 1_000 == 999:
                note = seals.seal(book.origin, seq + 1, page.root(), public, key.sign)
                put(page.connection, tables.seals, [(book.origin, seq + 1, note)])
    return book


def verifying(book: pages.Book) -> list[Comparison]:
    """Levels chain and forms of a large book, against reading and hashing the same bytes."""
    path = str(book.engine.url.database)

    def floor() -> float:
        started = time.perf_counter()
        sha256 = hashlib.sha256
        with closing(sqlite3.connect(path)) as connection:
            for (data,) in connection.execute("SELECT bytes FROM entries ORDER BY seq"):
                leaf = sha256(b"\x00" + data).digest()
                sha256(b"\x01" + leaf + leaf).digest()
        return time.perf_counter() - started

    def chain() -> float:
        started = time.perf_counter()
        with engines.reading(book.engine) as connection:
            walked = chain_audit.links(connection, book.origin)
            levels = tree.all_levels(walked.leaves)
            faults = walked.faults + chain_audit.nodes(connection, book.origin, levels)
            keys, key_faults = signing_keys.find(connection, book.origin, walked.changes, None)
            assert keys is not None
            faults += key_faults + chain_audit.kept_seals(connection, book.origin, levels, keys, walked.purchases)
        assert faults == []
        return time.perf_counter() - started

    def forms() -> float:
        started = time.perf_counter()
        with engines.reading(book.engine) as connection:
            assert forms_audit.forms(connection, book.origin) == []
        return time.perf_counter() - started

    return [
        compare("verify chain, 100,000 entries", floor, chain, pairs=15, goal=0.5),
        compare("verify forms, 100,000 entries", floor, forms, pairs=15, goal=0.25),
    ]


def growth(small: pages.Book, large: pages.Book) -> list[str]:
    """How much slower an append and a search are in a book a hundred times as long."""
    lines = []

    def append_to(book: pages.Book) -> Callable[[], float]:
        def once() -> float:
            entry = prepared(book, book._head.size, book._head.leaf)  # type: ignore[union-attr]
            started = time.perf_counter()
            with book.writing() as page:
                page.write(entry, ROWS)
            return time.perf_counter() - started

        return once

    def search_in(book: pages.Book, *words: str) -> Callable[[], float]:
        def once() -> float:
            started = time.perf_counter()
            with engines.reading(book.engine) as connection:
                found = words_index.find(connection, book.origin, words, most=50)
            assert len(found) == 20
            return time.perf_counter() - started

        return once

    for book, size in ((small, SMALL), (large, LARGE)):
        with book.writing() as page:
            for slip in range(1, size + 1):
                rare = ["rare"] if slip % (size // 20) == 0 else []
                words_index.put(page.connection, book.origin, slip, 1, ["ring", "gold", f"n{slip}", *rare])
    goal = "1.5x and under 1 ms"
    for name, few_side, many_side, most in (
        ("append", append_to(small), append_to(large), "1.2x"),
        ("search with 20 hits", search_in(small, "rare"), search_in(large, "rare"), goal),
        ("with a word that every item bears", search_in(small, "rare", "ring"), search_in(large, "rare", "ring"), goal),
    ):
        times = [(few_side(), many_side()) for _ in range(300)]
        few, many = statistics.median(t[0] for t in times), statistics.median(t[1] for t in times)
        figures = f"{few * 1e3:.3f} ms at {SMALL:,}, {many * 1e3:.3f} ms at {LARGE:,}: {many / few:.2f}x"
        lines.append(f"{name}: {figures} (goal {most})")
    return lines


def recording(folder: Path) -> str:
    """`slip record` of five items in one process: the vault open, pictures locked while drafting, no papers."""
    shop = shops.open_shop(folder, moment=datetime.now(UTC), chance=os.urandom)
    ring = slip_samples.document()["items"][0]
    taken = []
    for _ in range(230):
        changes = (("items", [ring] * 5), ("tray.articles", 5), ("payout.amount", f"{5 * 180}.00"))
        slip = shop.slip(*changes, ("payout.instrument", "cheque"))
        draft = drafting.begin(shop.book)
        pictures = drafting.lock_pictures(shop.book, draft, slip, shop.file)
        started = time.perf_counter()
        record.record(shop.book, slip, draft, pictures, answers={})
        taken.append(time.perf_counter() - started)
    usual = sorted(taken[30:])
    p50, p95 = usual[len(usual) // 2] * 1e3, usual[int(len(usual) * 0.95)] * 1e3
    return f"slip record of five items: p50 {p50:.1f} ms, p95 {p95:.1f} ms (goal p95 10 ms)"


def helping() -> Comparison:
    """`counterfoil --help` against importing click."""

    def run(*command: str) -> Callable[[], float]:
        return timed(lambda: subprocess.run(command, check=True, stdout=subprocess.DEVNULL))

    program = str(Path(sys.executable).parent / "counterfoil")
    return compare(
        "counterfoil --help (floor: import click)",
        run(sys.executable, "-c", "import click"),
        run(program, "--help"),
        pairs=21,
        goal=0.5,
    )


def main() -> None:
    """Print every figure."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        rows = []
        for name, journal, goal in (("wal", ("WAL", "FULL"), 0.5), ("truncate", ("TRUNCATE", "EXTRA"), 0.6)):
            (folder / name).mkdir()
            rows.append(appending(folder / name, journal, goal))
        mode = engines.journal_for(sqlite3.sqlite_version_info)
        for name in ("small", "large"):
            (folder / name).mkdir()
        small, large = grow(folder / "small", SMALL, mode), grow(folder / "large", LARGE, mode)
        rows += verifying(large)
        rows.append(helping())
        table(*rows)
        print(*growth(small, large), sep="\n")
        print(recording(folder / "shop"))


if __name__ == "__main__":
    main()
