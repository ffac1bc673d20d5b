"""Which keys sign a book's seals, and from which entry on.

Decides the key or keys that a seal over so many entries must be signed by: the one that the opening entry names, and
after each `key-changed` the next; the seal over the size that ends with the change is signed by both. Leaves to
`chain_audit` what the seals say of the entries.

>>> one, two = (seals.VerifierKey("counterfoil/0", bytes([n]) * 32, bytes(4)) for n in (1, 2))
>>> keys = Keys(((0, one), (7, two)))
>>> [len(keys.at(size)) for size in (7, 8, 9)], keys.at(7) == (one,), keys.at(9) == (two,)
([1, 2, 1], True, True)
"""

from collections.abc import Sequence
from dataclasses import dataclass

import sqlalchemy as sa

from ledger.book import tables
from ledger.book.faults import Fault, shown
from ledger.chain import entries, seals
from ledger.errors import LedgerError


@dataclass(frozen=True)
class Keys:
    """The keys of a book in their order, each with the number of the entry that announced it."""

    announced: tuple[tuple[int, seals.VerifierKey], ...]

    def at(self, size: int) -> tuple[seals.VerifierKey, ...]:
        """The keys that a seal over this many entries is signed by; size: from 1."""
        known = [(seq, key) for seq, key in self.announced if seq < size]
        at_the_change = len(known) > 1 and known[-1][0] == size - 1
        return tuple(key for _, key in known[-2 if at_the_change else -1 :])

    def have(self, fingerprint: str) -> bool:
        """Whether the fingerprint is that of any of them: each is signed for by the one before."""
        return any(seals.same_fingerprint(fingerprint, seals.fingerprint(key.public)) for _, key in self.announced)


def find(
    connection: sa.Connection, book: str, changes: Sequence[int], outside: str | None
) -> tuple[Keys | None, list[Fault]]:
    """The keys that the opening entry and these later entries announce, and what is wrong with them.

    changes: numbers of the `key-changed` entries. outside: a fingerprint expected from outside, or None.
    """
    try:
        first = seals.read_vkey(str(_public(connection, book, 0)["vkey"]))
    except (LedgerError, KeyError) as fault:
        return None, [Fault("chain", 0, f"the opening entry names no key that can be read ({shown(fault)})")]
    faults = []
    if first.name != book:
        faults.append(Fault("chain", 0, "the key of the opening entry belongs to another book", book, first.name))
    announced = [(0, first)]
    for seq in changes:
        try:
            public = _public(connection, book, seq)
            old, new = (seals.read_vkey(str(public[name])) for name in ("old", "vkey"))
        except (LedgerError, KeyError) as fault:
            faults.append(Fault("chain", seq, f"it announces no key that can be read ({shown(fault)})"))
            continue
        if old != announced[-1][1] or new.name != book:
            what = "it changes a key that is not the one that signed until then, or takes one of another book"
            faults.append(Fault("chain", seq, what))
        announced.append((seq, new))
    keys = Keys(tuple(announced))
    if outside is not None and not keys.have(outside):
        found = seals.fingerprint_groups(seals.fingerprint(announced[-1][1].public))
        faults.append(Fault("chain", 0, "this book's key is not the one you named", outside, found))
    return keys, faults


def _public(connection: sa.Connection, book: str, seq: int) -> dict[str, object]:
    row = tables.entries.c
    data = connection.execute(sa.select(row.bytes).where(row.book == book, row.seq == seq)).scalar()
    return dict(entries.read(tables.as_bytes(data)).public)
