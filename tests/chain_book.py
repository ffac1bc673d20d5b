"""A small invented book, made of nothing but `ledger.chain`: the same bytes in every run.

Used by the tests of this room and by make_vectors. It is laid out as FORMAT.md says, in tables of its own making, so
that the stand-alone verifier can be shown good and bad books without the rest of the program.
"""

import hashlib
import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from ledger.chain import entries, parts, seals, tree

ORIGIN = "counterfoil/00112233445566778899aabbccddeeff"
NOON = datetime(2031, 3, 4, 17, tzinfo=UTC)
RULES = b'jurisdiction = "xx-sample"\n'
RULES_DIGEST = hashlib.sha256(RULES).hexdigest()
PICTURE = (b"received, encrypted", b"shown, encrypted")


def key(first: int = 0) -> Ed25519PrivateKey:
    """A signing key from a seed of 32 consecutive bytes."""
    return Ed25519PrivateKey.from_private_bytes(bytes(range(first, first + 32)))


def public(secret: Ed25519PrivateKey) -> bytes:
    return secret.public_key().public_bytes_raw()


@dataclass
class SmallBook:
    """Entries in order and what belongs to them. Change anything, then `write` it out."""

    origin: str = ORIGIN
    secret: Ed25519PrivateKey = field(default_factory=key)
    data: list[bytes] = field(default_factory=list)
    seals: dict[int, str] = field(default_factory=dict)
    rule_files: dict[str, bytes] = field(default_factory=lambda: {RULES_DIGEST: RULES})
    pictures: dict[str, bytes] = field(
        default_factory=lambda: {hashlib.sha256(each).hexdigest(): each for each in PICTURE}
    )

    @property
    def leaves(self) -> list[bytes]:
        return [tree.leaf_hash(each) for each in self.data]

    def node(self) -> Callable[[int, int], bytes]:
        levels = tree.all_levels(self.leaves)
        return lambda level, idx: levels[level][idx]

    def root(self, size: int | None = None) -> bytes:
        return tree.root(len(self.data) if size is None else size, self.node())

    def add(self, kind: str, public: dict[str, Any], about: list[str], *, digests: tuple[str, ...] = ()) -> int:
        """Appends one entry and returns its number. Each is recorded a minute after the one before."""
        before = entries.read(self.data[-1]) if self.data else None
        seq = len(self.data)
        entry = entries.make(
            book=self.origin,
            seq=seq,
            prev=before.leaf if before else entries.ZERO,
            kind=kind,
            recorded_at=NOON + timedelta(minutes=seq),
            previous_recorded_at=before.recorded_at if before else None,
            by="ida",
            program="0.1.0",
            about=about,
            public=public,
            parts=digests,
        )
        self.data.append(entry.data)
        return seq

    def seal(self) -> str:
        """Seals the book as it is."""
        note = seals.seal(self.origin, len(self.data), self.root(), public(self.secret), self.secret.sign)
        self.seals[len(self.data)] = note
        return note

    def write(self, folder: Path) -> Path:
        """The book's folder, as FORMAT.md section 7 lays it out."""
        for name, data in self.pictures.items():
            path = folder / "pictures" / name[:2] / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)
        with closing(sqlite3.connect(folder / "book.sqlite")) as database:
            database.executescript(TABLES)
            add = database.executemany
            rows = zip(self.data, self.leaves, [entries.prev_at(each) for each in self.data], strict=True)
            add("INSERT INTO entries VALUES (?, ?, ?, ?, ?)", [(self.origin, n, *row) for n, row in enumerate(rows)])
            levels = enumerate(tree.all_levels(self.leaves))
            nodes = [(self.origin, level, idx, each) for level, row in levels for idx, each in enumerate(row)]
            add("INSERT INTO nodes VALUES (?, ?, ?, ?)", nodes)
            add("INSERT INTO seals VALUES (?, ?, ?)", [(self.origin, size, note) for size, note in self.seals.items()])
            add("INSERT INTO rule_files VALUES (?, ?, ?)", [(self.origin, *each) for each in self.rule_files.items()])
            locked = [n for n, each in enumerate(self.data) if b'"parts":[]' not in each]
            add("INSERT INTO locked_rows VALUES (?, ?, 'seller', 'slip/1', x'00')", [(self.origin, n) for n in locked])
            database.commit()
        return folder


TABLES = """
CREATE TABLE entries (book TEXT, seq INTEGER, bytes BLOB, leaf BLOB, prev BLOB);
CREATE TABLE nodes (book TEXT, level INTEGER, idx INTEGER, hash BLOB);
CREATE TABLE seals (book TEXT, size INTEGER, note TEXT);
CREATE TABLE rule_files (book TEXT, digest TEXT, bytes BLOB);
CREATE TABLE locked_rows (book TEXT, seq INTEGER, class TEXT, subject TEXT, bytes BLOB);
"""


def birth_date() -> parts.Part:
    """A part under a salt that is not random, so that the bytes of the book are the same in every run."""
    return parts.make("seller/birth_date", "1984-02-29", bytes(range(16)))


def small_book() -> SmallBook:
    """Thirteen entries: opened, rules, three slips (recorded and voided, withdrawn, open), a payout, a day's close."""
    book = SmallBook()
    pictures = [entries.picture(*book.pictures)]
    rules = [RULES_DIGEST]
    vkey = seals.vkey(ORIGIN, public(book.secret))
    book.add("opened/0", {"format": "counterfoil-book/0", "vkey": vkey, "zone": "America/New_York"}, ["book"])
    adopted = {"digest": RULES_DIGEST, "jurisdiction": "xx-sample", "compared_on": "2031-03-01"}
    book.add("rules-adopted/0", adopted, [f"rules/{RULES_DIGEST}"])
    for slip in (1, 2):
        presented = {"slip": slip, "items": 1, "rules": rules, "pictures": pictures}
        book.add("presented/0", presented, [f"slip/{slip}"], digests=(birth_date().digest,) if slip == 1 else ())
    book.add("withdrawn/0", {"slip": 2}, ["slip/2"])
    bought = {"slip": 1, "items": 1, "presented": book.leaves[2].hex(), "rules": rules, "pictures": []}
    book.add("purchase/0", bought, ["slip/1", "item/1/1"])
    book.seal()
    book.add("payout/0", {"slip": 1, "state": "owed"}, ["slip/1"])
    book.add("payout/0", {"slip": 1, "state": "paid", "payout": 1}, ["slip/1"])
    book.add("look/0", {}, ["look/7f3a"])
    book.add("void/0", {"slip": 1}, ["slip/1"])
    book.add("presented/0", {"slip": 3, "items": 2, "rules": rules, "pictures": []}, ["slip/3"])
    book.add("day-closed/0", {"day": "2031-03-04", "counts": {"slips": 3, "voided": 1}}, ["day/2031-03-04"])
    book.seal()
    book.add("look/0", {}, ["look/90bc"])
    return book
