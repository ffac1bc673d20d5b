"""Audits the chain of a whole book: numbers, links, leaves, stored nodes, seals.

Needs no key beyond the public ones that the book's own entries name. Reads in batches, hashes each entry once and each
node once; everything else is comparison. What stands wrong is named by entry, never only "differs".
"""

import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa

from ledger.book import tables
from ledger.book.faults import Fault, number, shown
from ledger.book.signing_keys import Keys
from ledger.book.tables import as_bytes
from ledger.chain import entries, seals, tree
from ledger.errors import LedgerError

_BATCH = 4_000
_PURCHASE = b'"kind":"purchase/'
_KEY_CHANGED = b'"kind":"key-changed/'
_MOST = 100
"""faults named; a book rewritten from entry 3 on has as many as it has entries"""


def stored(connection: sa.Connection, book: str) -> Iterator[Sequence[tuple[Any, Any, Any, Any]]]:
    """Batches of (seq, bytes, leaf, prev) as the table holds them, in order of seq, gaps and all.

    Who tampered may have put anything into any column of SQLite, a word as a number too.
    """
    mark = "?" if connection.dialect.name == "sqlite" else "%s"
    statement = f"SELECT seq, bytes, leaf, prev FROM entries WHERE book = {mark}"
    order = f" ORDER BY seq LIMIT {_BATCH}"
    cursor = connection.connection.cursor()
    cursor.execute(statement + order, (book,))
    while rows := cursor.fetchall():
        yield rows
        cursor.execute(f"{statement} AND seq > {mark}{order}", (book, rows[-1][0]))
    cursor.close()


@dataclass(frozen=True)
class Links:
    """What walking all entries has found: their leaf hashes, which are purchases, which change the key."""

    leaves: list[bytes]
    purchases: list[int]
    changes: list[int]
    faults: list[Fault]
    """in numbers, leaves and links"""


def links(connection: sa.Connection, book: str) -> Links:
    """The leaf hash of every stored entry, the purchases, the changes of key, the faults in numbers and links."""
    leaves: list[bytes] = []
    purchases: list[int] = []
    changes: list[int] = []
    faults: list[Fault] = []
    before = entries.ZERO
    sha256, prev_at, seq_at = hashlib.sha256, entries.prev_at, entries.seq_at
    expected = 0
    for rows in stored(connection, book):
        for seq, data, leaf, prev in rows:
            kept = data if data.__class__ is bytes else as_bytes(data)
            found = sha256(b"\x00" + kept).digest()
            leaves.append(found)
            if _PURCHASE in kept:
                purchases.append(seq)
            elif _KEY_CHANGED in kept:
                changes.append(seq)
            if seq != expected or found != leaf or prev != before or prev_at(kept) != before or seq_at(kept) != seq:
                faults += _link_faults(seq, expected, (data, leaf, prev), before, found)
            before = found
            expected = max(expected, seq + 1) if type(seq) is int else expected
    return Links(leaves, purchases, changes, faults[:_MOST])


def _link_faults(seq: Any, expected: int, columns: Sequence[Any], before: bytes, found: bytes) -> list[Fault]:
    at = number(seq)
    faults = []
    if at is None or at < expected:
        faults.append(Fault("chain", at, "no entry can have this number", str(expected), shown(seq)))
    elif at > expected:
        missing = f"entries {expected} to {at - 1} are" if at - expected > 1 else f"entry {expected} is"
        faults.append(Fault("chain", at, f"{missing} missing before it", str(expected), str(at)))
    for name, value in zip(("bytes", "leaf", "prev"), columns, strict=True):
        if not isinstance(value, bytes):
            faults.append(Fault("chain", at, f"its column {name} holds no bytes", "bytes", type(value).__name__))
    data, leaf, prev = map(as_bytes, columns)
    if found != leaf:
        faults.append(Fault("chain", at, "its bytes do not have the leaf hash kept with it", shown(leaf), found.hex()))
    if entries.seq_at(data) != seq:
        faults.append(Fault("chain", at, "its bytes bear another number", shown(seq), str(entries.seq_at(data))))
    inside = entries.prev_at(data)
    if inside != before or prev != before:
        other = inside if inside != before else prev
        link = "none that can be read" if other is None else shown(other)
        faults.append(Fault("chain", at, "its link is not the leaf hash of the entry before it", before.hex(), link))
    return faults


def nodes(connection: sa.Connection, book: str, levels: Sequence[Sequence[bytes]]) -> list[Fault]:
    """Faults in the stored tree nodes, against the nodes computed from the leaves."""
    faults: list[Fault] = []
    mark = "?" if connection.dialect.name == "sqlite" else "%s"
    cursor = connection.connection.cursor()
    kept = 0
    for level, computed in enumerate(levels):
        cursor.execute(
            f"SELECT idx, hash FROM nodes WHERE book = {mark} AND level = {mark} ORDER BY idx", (book, level)
        )
        rows = cursor.fetchall()
        kept += len(rows)
        if [row[1] for row in rows] != computed or [row[0] for row in rows] != list(range(len(rows))):
            faults += _node_faults(level, dict(rows), computed)
    cursor.execute(f"SELECT count(*) FROM nodes WHERE book = {mark}", (book,))
    if cursor.fetchall()[0][0] != kept:
        cursor.execute(f"SELECT level, idx FROM nodes WHERE book = {mark}", (book,))
        strays = [(level, idx) for level, idx in cursor.fetchall() if level not in range(len(levels))]
        faults += [_stray_node(level, idx) for level, idx in strays]
    cursor.close()
    return faults[:_MOST]


def _node_faults(level: int, kept: dict[Any, Any], computed: Sequence[bytes]) -> list[Fault]:
    faults = []
    for idx, should in enumerate(computed):
        found = kept.pop(idx, None)
        if found != should:
            what = f"node {idx} of level {level} of the tree, which begins at this entry, is not what the entries give"
            there = "no such node" if found is None else shown(found)
            faults.append(Fault("chain", idx << level, what, should.hex(), there))
    return [*faults, *(_stray_node(level, idx) for idx in kept)]


def _stray_node(level: Any, idx: Any) -> Fault:
    what = f"a node {shown(idx)} of level {shown(level)} stands in the tree, and the entries give none there"
    return Fault("chain", None, what)


def root_at(levels: Sequence[Sequence[bytes]], size: int) -> bytes:
    """The root over the first `size` leaves, from all complete nodes."""
    return tree.root(size, lambda level, idx: levels[level][idx])


def kept_seals(
    connection: sa.Connection,
    book: str,
    levels: Sequence[Sequence[bytes]],
    keys: Keys,
    purchases: Sequence[int],
) -> list[Fault]:
    """Faults in the seals that the book keeps: each must be signed by the key of its size and be true of the
    entries.

    purchases: numbers of the purchases, each of which was sealed in its own transaction.
    """
    seal = tables.seals.c
    faults: list[Fault] = []
    kept = set()
    wanted = sa.select(seal.size, seal.note).where(seal.book == book).order_by(seal.size)
    for size, note in connection.execute(wanted):
        if type(size) is not int or type(note) is not str:
            faults.append(Fault("chain", None, f"the seal kept over {shown(size)} entries is no seal"))
            continue
        kept.add(size - 1)
        faults += seal_faults(f"the seal kept over {size} entries", note, levels, keys, book, size=size)
    demanded = [(seq, "the seal signed with this purchase is missing") for seq in purchases]
    # Without it anybody who has the database could announce a key of his own: only the old key's signature tells.
    demanded += [(seq, "the seal that both keys signed at this change is missing") for seq, _ in keys.announced[1:]]
    faults += [Fault("chain", number(seq), what) for seq, what in demanded if seq not in kept]
    return faults[:_MOST]


def seal_faults(
    what: str,
    note: str,
    levels: Sequence[Sequence[bytes]],
    keys: Keys,
    book: str,
    *,
    size: int | None = None,
) -> list[Fault]:
    """What one seal, from inside or outside, shows to be wrong."""
    try:
        sealed = seals.read_seal(note)
        for key in keys.at(sealed.size):
            seals.verify_seal(note, key)
    except LedgerError as fault:
        return [Fault("chain", None, f"{what} is not signed by this book's key", "a good signature", str(fault))]
    if sealed.origin != book:
        return [Fault("chain", None, f"{what} speaks of another book", book, sealed.origin)]
    if size is not None and sealed.size != size:
        return [Fault("chain", size - 1, f"{what} speaks of another size", str(size), str(sealed.size))]
    return state_faults(what, sealed.size, sealed.root, levels)


def state_faults(what: str, size: int, root: bytes, levels: Sequence[Sequence[bytes]]) -> list[Fault]:
    """Whether a book with these nodes once had this size and root."""
    have = len(levels[0]) if levels else 0
    if size > have:
        lost = f"the book ends after entry {have - 1}; its tail, entries {have} to {size - 1}, was cut"
        return [Fault("chain", have, f"{what} covers {size} entries and {lost}", str(size), str(have))]
    found = root_at(levels, size)
    if found == root:
        return []
    rewritten = f"{what} covers entries 0 to {size - 1}, and at least one of them was another when it was signed"
    return [Fault("chain", size - 1, rewritten, root.hex(), found.hex())]


def short_form_faults(text: str, levels: Sequence[Sequence[bytes]]) -> list[Fault]:
    """Whether the short form printed on a paper is true of the book."""
    size, prefix = seals.read_short_form(text)
    have = len(levels[0]) if levels else 0
    what = f"the printed seal {text}"
    if size > have:
        return state_faults(what, size, b"", levels)
    found = seals.short_form(size, root_at(levels, size))
    if found == f"{size}-{prefix}":
        return []
    rewritten = f"{what} covers entries 0 to {size - 1}, and at least one of them was another when it was printed"
    return [Fault("chain", size - 1, rewritten, f"{size}-{prefix}", found)]
