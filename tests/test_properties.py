"""What must hold of every book, however it came about and whatever was done to it."""

import os
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

import pytest
import sqlalchemy as sa
from hypothesis import given, settings
from hypothesis import strategies as st

from ledger.acts import closing, correcting, leaving, paying, recording, undoing
from ledger.book import chain_audit, reading, signing_keys, tables, verifying
from ledger.book import engine as engines
from ledger.book.faults import Fault
from ledger.chain import seals, tree
from ledger.chain.seals import VerifierKey
from ledger.errors import ForbiddenByLaw, InputError
from tests import make_books, shops
from tests.check_book import check_book
from tests.conftest import MOMENT
from tests.shops import Shop
from tests.story import RING, RULES
from tests.tampering import tampering


@dataclass(frozen=True)
class Sealed:
    """A small book that is sealed up to its last entry, opened by somebody whom no trigger stops."""

    engine: sa.Engine
    origin: str
    key: VerifierKey
    entries: tuple[bytes, ...]


@pytest.fixture(scope="module")
def sealed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Sealed]:
    """A book with two purchases and what comes before and between."""
    folder = tmp_path_factory.mktemp("sealed") / "book"
    make_books.make(folder, steps=5)
    with tampering(folder):
        pass  # takes the triggers away
    book = make_books.reopened(folder).book
    with engines.reading(book.engine) as connection:
        stored = tuple(entry.data for entry in reading.all_entries(connection, book.origin))
    yield Sealed(book.engine, book.origin, seals.read_vkey(seals.vkey(book.origin, book.opened().public)), stored)
    book.engine.dispose()


def chain_faults(sealed: Sealed, change: Callable[[sa.Connection], object]) -> list[Fault]:
    """What level chain finds after a change, which is taken back at once."""
    with sealed.engine.connect() as connection, connection.begin() as transaction:
        change(connection)
        walked = chain_audit.links(connection, sealed.origin)
        levels = tree.all_levels(walked.leaves)
        faults = walked.faults + chain_audit.nodes(connection, sealed.origin, levels)
        keys = signing_keys.Keys(((0, sealed.key),))
        faults += chain_audit.kept_seals(connection, sealed.origin, levels, keys, walked.purchases)
        transaction.rollback()
    return faults


def put(sealed: Sealed, rows: Sequence[tuple[int, bytes, bytes, bytes]]) -> Callable[[sa.Connection], object]:
    """These rows (seq, bytes, leaf, prev) in place of all entries; the tree stays as it was."""

    def change(connection: sa.Connection) -> None:
        connection.execute(tables.entries.delete())
        for row in rows:
            connection.exec_driver_sql("INSERT INTO entries VALUES (?, ?, ?, ?, ?)", (sealed.origin, *row))

    return change


def as_kept(entries: Sequence[bytes]) -> list[tuple[int, bytes, bytes, bytes]]:
    """Rows of these entries, each under the leaf and the link that belong to its bytes."""
    leaves = [tree.leaf_hash(data) for data in entries]
    links = [bytes(32), *leaves]
    return [(seq, data, leaves[seq], links[seq]) for seq, data in enumerate(entries)]


def covered(sealed: Sealed, entries: Sequence[bytes]) -> Callable[[sa.Connection], object]:
    """These entries in place of all, numbered, linked and hashed anew, and the tree over them: only seals can tell."""
    written: list[bytes] = []
    for seq, data in enumerate(entries):
        start = data.find(b',"prev":"') + len(b',"prev":"')
        link = tree.leaf_hash(written[-1]) if written else bytes(32)
        linked = data[:start] + link.hex().encode() + data[start + 64 :]
        head, _, _ = linked.rpartition(b',"seq":')
        written.append(head + b',"seq":%d}' % seq)

    def change(connection: sa.Connection) -> None:
        put(sealed, as_kept(written))(connection)
        connection.execute(tables.nodes.delete())
        for level, nodes in enumerate(tree.all_levels([tree.leaf_hash(data) for data in written])):
            for idx, node in enumerate(nodes):
                connection.exec_driver_sql("INSERT INTO nodes VALUES (?, ?, ?, ?)", (sealed.origin, level, idx, node))

    return change


def redated(data: bytes) -> bytes:
    """The same entry, recorded an hour later."""
    head, mark, tail = data.rpartition(b'"recorded_at":"2026-11-24T')
    return head + mark + b"%02d" % (int(tail[:2]) + 1) + tail[2:]


class TestChain:
    """Any flipped bit, dropped, doubled, swapped or re-dated entry is found, also when the forger hashes all anew."""

    def test_the_book_itself_has_no_fault(self, sealed: Sealed) -> None:
        assert len(sealed.entries) > 8
        assert chain_faults(sealed, lambda connection: None) == []
        assert chain_faults(sealed, covered(sealed, sealed.entries)) == [], "nothing was changed by hashing it anew"

    @settings(max_examples=80, deadline=None)
    @given(data=st.data())
    def test_a_flipped_bit_of_any_column_is_found(self, sealed: Sealed, data: st.DataObject) -> None:
        rows = as_kept(sealed.entries)
        seq = data.draw(st.integers(0, len(rows) - 1))
        column = data.draw(st.integers(1, 3))
        changed: list[Any] = list(rows[seq])
        value = changed[column]
        place, bit = data.draw(st.integers(0, len(value) - 1)), data.draw(st.integers(0, 7))
        changed[column] = value[:place] + bytes([value[place] ^ 1 << bit]) + value[place + 1 :]
        rows[seq] = (changed[0], changed[1], changed[2], changed[3])
        faults = chain_faults(sealed, put(sealed, rows))
        assert seq in {fault.seq for fault in faults}

    @settings(max_examples=60, deadline=None)
    @given(data=st.data(), hidden=st.booleans())
    def test_a_dropped_doubled_swapped_or_redated_entry_is_found(
        self, sealed: Sealed, data: st.DataObject, hidden: bool
    ) -> None:
        kept = list(sealed.entries)
        # The opening entry holds the key: without it there is nothing to check a seal with, which is a fault as well.
        place = data.draw(st.integers(1, len(kept) - 1), "place")
        other = data.draw(st.integers(1, len(kept) - 1).filter(lambda drawn: drawn != place), "other")
        match data.draw(st.sampled_from(["dropped", "doubled", "swapped", "re-dated"])):
            case "dropped":
                del kept[place]
            case "doubled":  # right behind itself the database would refuse it: no two entries have one link
                kept.insert(place if hidden else len(kept), kept[place])
            case "swapped":
                kept[place], kept[other] = kept[other], kept[place]
            case _:
                kept[place] = redated(kept[place])
        change = covered(sealed, kept) if hidden else put(sealed, as_kept(kept))
        assert chain_faults(sealed, change)


ACTS: dict[str, Callable[[Shop, int], object]] = {
    "record": lambda shop, slip: shop.record(*RING),
    "present": lambda shop, slip: shop.present(*RING),
    "sign": lambda shop, slip: recording.record_presented(
        shop.book, slip, shop.slip(*RING, ("occurred_at", occurred(shop, slip))), {}, answers=shops.ANSWERS
    ),
    "withdraw": lambda shop, slip: undoing.withdraw(shop.book, slip, "a change of mind"),
    "void": lambda shop, slip: undoing.void(shop.book, slip, "a change of mind", at=shop.local()),
    "pay": lambda shop, slip: paying.settle(shop.book, slip, "paid", at=shop.local()),
    "move": lambda shop, slip: leaving.move(shop.book, slip, 1, "safe", at=shop.local(), because="night"),
    "sell": lambda shop, slip: leaving.out(shop.book, slip, 1, "sold", at=shop.local()),
    "correct": lambda shop, slip: correcting.correct(
        shop.book, slip, "item/1/description", {"damage": f"seen at {shop.local():%H:%M:%S}"}, "seen again"
    ),
    "close": lambda shop, slip: closing.close(shop.book, shop.local().date()),
    "wait": lambda shop, slip: shop.wait(days=3),
    "clock": lambda shop, slip: shop.wait(days=-5),
}


def occurred(shop: Shop, slip: int) -> str:
    """When a presented slip says that it happened."""
    with engines.reading(shop.book.engine) as connection:
        return str(reading.slip_row(connection, shop.book.origin, slip).presented_at)


class TestInterleaving:
    """Whatever two processes do in whatever order, the book is sound; what was refused changed nothing."""

    @settings(max_examples=12, deadline=None)
    @given(
        steps=st.lists(
            st.tuples(st.sampled_from(sorted(ACTS)), st.integers(1, 3), st.integers(0, 1)), min_size=4, max_size=14
        )
    )
    def test_random_acts_of_two_processes_keep_the_book_sound(
        self, tmp_path_factory: pytest.TempPathFactory, steps: list[tuple[str, int, int]]
    ) -> None:
        folder = tmp_path_factory.mktemp("acts") / "book"
        first = shops.open_shop(folder, moment=MOMENT, chance=os.urandom, adopt=False)
        shops.adopt(first, *RULES)
        first.record(*RING)
        both = [first, make_books.reopened(folder, after=timedelta())]
        refused = 0
        for name, slip, who in steps:
            shop, other = both[who], both[1 - who]
            before = verifying.audit(shop.book, levels=["chain"]).root
            try:
                ACTS[name](shop, slip)
            except (InputError, ForbiddenByLaw):
                refused += 1
                assert verifying.audit(shop.book, levels=["chain"]).root == before, name
            other.now = shop.now
        found = check_book(first)
        assert found.entries >= 5 + len(steps) - refused - sum(name in ("wait", "clock") for name, *_ in steps)
        for shop in both:
            shop.book.engine.dispose()
