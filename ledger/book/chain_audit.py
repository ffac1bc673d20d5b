"""Audits the chain of a whole book: numbers, links, leaves, stored nodes, seals.

Needs no key beyond the public one in the opening entry. Reads in batches, hashes each entry once and each node
once; everything else is comparison. What stands wrong is named by entry, never only "differs".
"""

import hashlib
from collections.abc import Iterator, Sequence
from typing import Any

import sqlalchemy as sa

from ledger.book import tables
from ledger.book.faults import Fault
from ledger.chain import entries, seals, tree
from ledger.errors import LedgerError

_BATCH = 4_000
_PURCHASE = b'"kind":"purchase/'
_MOST = 100
"""faults named; a book rewritten from entry 3 on has as many as it has entries"""


def stored(connection: sa.Connection, book: str) -> Iterator[Sequence[tuple[int, bytes, bytes, bytes]]]:
    """Batches of (seq, bytes, leaf, prev) as the table holds them, in order of seq, gaps and all."""
    mark = "?" if connection.dialect.name == "sqlite" else "%s"
    statement = (
        f"SELECT seq, bytes, leaf, prev FROM entries WHERE book = {mark} AND seq > {mark} ORDER BY seq LIMIT {_BATCH}"
    )
    cursor = connection.connection.cursor()
    last = -1
    while True:
        cursor.execute(statement, (book, last))
        rows: Sequence[Any] = cursor.fetchall()
        if not rows:
            break
        yield rows
        last = rows[-1][0]
    cursor.close()


def links(connection: sa.Connection, book: str) -> tuple[list[bytes], list[int], list[Fault]]:
    """The leaf hash of every stored entry, the numbers of the purchases, the faults in numbers, leaves and links."""
    leaves: list[bytes] = []
    purchases: list[int] = []
    faults: list[Fault] = []
    before = entries.ZERO
    sha256, prev_at, seq_at = hashlib.sha256, entries.prev_at, entries.seq_at
    expected = 0
    for rows in stored(connection, book):
        for seq, data, leaf, prev in rows:
            if data.__class__ is not bytes:
                data = as_bytes(data)
            found = sha256(b"\x00" + data).digest()
            leaves.append(found)
            if _PURCHASE in data:
                purchases.append(seq)
            if seq != expected or found != leaf or prev != before or prev_at(data) != before or seq_at(data) != seq:
                faults += _link_faults(seq, expected, data, as_bytes(leaf), as_bytes(prev), before, found)
            before = found
            expected = seq + 1
    return leaves, purchases, faults[:_MOST]


def as_bytes(value: object) -> bytes:
    """What a column holds, even where somebody wrote text into it."""
    return value.encode() if isinstance(value, str) else bytes(value) if isinstance(value, bytes | memoryview) else b""


def _link_faults(
    seq: int, expected: int, data: bytes, leaf: bytes, prev: bytes, before: bytes, found: bytes
) -> list[Fault]:
    faults = []
    if seq != expected:
        missing = f"entries {expected} to {seq - 1} are" if seq - expected > 1 else f"entry {expected} is"
        faults.append(Fault("chain", seq, f"{missing} missing before it", str(expected), str(seq)))
    if found != leaf:
        faults.append(Fault("chain", seq, "its bytes do not have the leaf hash kept with it", leaf.hex(), found.hex()))
    if entries.seq_at(data) != seq:
        faults.append(Fault("chain", seq, "its bytes bear another number", str(seq), str(entries.seq_at(data))))
    inside = entries.prev_at(data)
    if inside != before or prev != before:
        shown = inside if inside != before else prev
        link = "none that can be read" if shown is None else shown.hex()
        faults.append(Fault("chain", seq, "its link is not the leaf hash of the entry before it", before.hex(), link))
    return faults


def nodes(connection: sa.Connection, book: str, levels: Sequence[Sequence[bytes]]) -> list[Fault]:
    """Faults in the stored tree nodes, against the nodes computed from the leaves."""
    faults: list[Fault] = []
    mark = "?" if connection.dialect.name == "sqlite" else "%s"
    cursor = connection.connection.cursor()
    cursor.execute(f"SELECT max(level) FROM nodes WHERE book = {mark}", (book,))
    highest = (cursor.fetchone() or (None,))[0]
    for level in range(max(len(levels), -1 if highest is None else int(highest) + 1)):
        computed = list(levels[level]) if level < len(levels) else []
        cursor.execute(
            f"SELECT idx, hash FROM nodes WHERE book = {mark} AND level = {mark} ORDER BY idx", (book, level)
        )
        rows = cursor.fetchall()
        if [row[1] for row in rows] == computed and (not rows or rows[-1][0] == len(rows) - 1):
            continue
        faults += _node_faults(level, {int(idx): as_bytes(value) for idx, value in rows}, computed)
    cursor.close()
    return faults[:_MOST]


def _node_faults(level: int, kept: dict[int, bytes], computed: Sequence[bytes]) -> list[Fault]:
    faults = []
    for idx in sorted({*kept, *range(len(computed))}):
        should = computed[idx].hex() if idx < len(computed) else "no such node"
        found = kept[idx].hex() if idx in kept else "no such node"
        if should != found:
            first = idx << level
            what = f"node {idx} of level {level} of the tree, which begins at this entry, is not what the entries give"
            faults.append(Fault("chain", first, what, should, found))
    return faults


def root_at(levels: Sequence[Sequence[bytes]], size: int) -> bytes:
    """The root over the first `size` leaves, from all complete nodes."""
    return tree.root(size, lambda level, idx: levels[level][idx])


def kept_seals(
    connection: sa.Connection,
    book: str,
    levels: Sequence[Sequence[bytes]],
    key: seals.VerifierKey,
    purchases: Sequence[int],
) -> list[Fault]:
    """Faults in the seals that the book keeps: each must be signed by its key and be true of the entries.

    purchases: numbers of the purchases, each of which was sealed in its own transaction.
    """
    seal = tables.seals.c
    faults: list[Fault] = []
    kept = set()
    wanted = sa.select(seal.size, seal.note).where(seal.book == book).order_by(seal.size)
    for size, note in connection.execute(wanted):
        kept.add(size - 1)
        faults += seal_faults(f"the seal kept over {size} entries", str(note), levels, key, book, size=int(size))
    faults += [
        Fault("chain", seq, "the seal signed with this purchase is missing") for seq in purchases if seq not in kept
    ]
    return faults[:_MOST]


def seal_faults(
    what: str,
    note: str,
    levels: Sequence[Sequence[bytes]],
    key: seals.VerifierKey,
    book: str,
    *,
    size: int | None = None,
) -> list[Fault]:
    """What one seal, from inside or outside, shows to be wrong."""
    try:
        sealed = seals.verify_seal(note, key)
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
