"""The only way into a book: one transaction under the write lock, everything that belongs to an entry or nothing."""

import hashlib
import os
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa

from ledger.acts import closing, opening
from ledger.book import engine as engines
from ledger.book import pages, projections, reading, rebuilding, tables, verifying, words_index
from ledger.book.pages import Book, Held, Page
from ledger.chain import seals
from ledger.chain.entries import Entry
from ledger.errors import BookError, InputError, LockedError, StorageError
from ledger.slip import searching
from ledger.vault import keys_file
from tests import shops
from tests.check_book import check_book
from tests.conftest import MOMENT
from tests.shops import Shop
from tests.tampering import tampering


@pytest.fixture
def bare(database: str, tmp_path: Path, chance: Callable[[int], bytes]) -> Iterator[Shop]:
    """A shop on either kind of database in which nothing stands but its opening: three entries."""
    opened = shops.open_shop(tmp_path / "book", moment=MOMENT, chance=chance, database=database, adopt=False)
    yield opened
    opened.book.engine.dispose()


def moved(page: Page, line: int = 1, held: Sequence[Held] = ()) -> Entry:
    """An entry that is easily made: an item of slip 1 lies elsewhere."""
    told = [page.book.hold(f"item/{line}/moved", {"to": "safe", "at": "now"}, f"d{line}")]
    return page.append("moved/0", about=[f"item/1/{line}"], public={}, held=[*told, *held])


def append(book: Book, line: int = 1) -> Entry:
    """One such entry in a transaction of its own."""
    with book.writing() as page:
        return moved(page, line)


def other_process(shop: Shop) -> Book:
    """The same book as another process has it: its own connections, its own memory."""
    book = opening.at(shop.book.folder, clock=shop.clock, chance=os.urandom)
    book.keys, book.by = keys_file.open_file(shop.book.folder / "keys.json", shops.PASS_PHRASE), shops.OWNER
    return book


def tree_hash(leaves: Sequence[bytes]) -> bytes:
    """The root over leaf hashes. Source: RFC 9162, 2.1.1, MTH, written as the recursion that stands there."""
    if len(leaves) == 1:
        return leaves[0]
    split = 1
    while split * 2 < len(leaves):
        split *= 2
    return hashlib.sha256(b"\x01" + tree_hash(leaves[:split]) + tree_hash(leaves[split:])).digest()


class TestAppend:
    """An entry is written with its tree nodes, its locked rows and what derives from it."""

    def test_entries_follow_each_other_and_the_tree_grows_with_them(self, bare: Shop) -> None:
        with bare.book.writing() as page:
            made = [moved(page, line) for line in range(1, 15)]
            root = page.root()
        assert [entry.seq for entry in made] == list(range(3, 17))
        assert [entry.prev for entry in made[1:]] == [entry.leaf for entry in made[:-1]]
        with engines.reading(bare.book.engine) as connection:
            stored = list(reading.all_entries(connection, bare.book.origin))
            nodes = connection.execute(sa.select(tables.nodes.c.level, tables.nodes.c.idx, tables.nodes.c.hash)).all()
        leaves = [hashlib.sha256(b"\x00" + entry.data).digest() for entry in stored]
        assert [entry.leaf for entry in stored] == leaves
        assert root == tree_hash(leaves)
        complete = {
            (level, idx): tree_hash(leaves[idx << level : (idx + 1) << level])
            for level in range(5)
            for idx in range(17 >> level)
        }
        assert {(level, idx): bytes(value) for level, idx, value in nodes} == complete
        check_book(bare, entries=17)

    def test_parts_lie_in_one_row_for_each_class_and_subject(self, bare: Shop) -> None:
        book = bare.book
        held = [
            book.hold("item/2/description", {"article": "ring"}, "d1"),
            book.hold("item/2/price", {"gross_mg": 4_100}, "d1"),
            book.hold("item/3/price", {"gross_mg": 900}, "d1"),
            book.hold("order", {"items": []}, "d9"),
            book.hold("item/2/picture/1", {"shows": "the goods"}, "d1", "scan"),
        ]
        with book.writing() as page:
            entry = moved(page, 1, held)
        assert list(entry.parts) == sorted(entry.parts)
        with engines.reading(book.engine) as connection:
            row = tables.locked_rows.c
            lie = connection.execute(sa.select(row["class"], row.subject).where(row.seq == entry.seq)).all()
            opened = reading.open_entry(connection, book, entry.seq)
        assert sorted(map(tuple, lie)) == [("case", "d9"), ("item", "d1"), ("money", "d1"), ("scan", "d1")]
        assert {one.part.disclosure for one in held} < set(opened.disclosures)
        assert dict(opened.parts)["item/3/price"] == {"gross_mg": 900}
        assert len(opened.parts) == 6
        check_book(bare)

    def test_nothing_that_is_held_stands_in_the_entry_or_beside_it_in_clear(self, bare: Shop) -> None:
        with bare.book.writing() as page:
            entry = moved(page, 1, [bare.book.hold("seller/name", {"family": "Quillfeather"}, "d1")])
        assert b"Quillfeather" not in entry.data
        with engines.reading(bare.book.engine) as connection:
            assert b"Quillfeather" not in b"".join(
                bytes(data) for (data,) in connection.execute(sa.select(tables.locked_rows.c.bytes))
            )

    def test_an_entry_tells_who_wrote_it(self, bare: Shop) -> None:
        with bare.book.writing() as page:
            assert moved(page).by == shops.OWNER
            assert page.append("inspection/0", about=["book"], public={}, by="eve").by == "eve"
        bare.book.by = "program"
        with bare.book.writing() as page:
            assert page.append("inspection/0", about=["book"], public={}).by == "program"

    def test_what_an_entry_cannot_hold_is_refused_and_nothing_is_written(self, bare: Shop) -> None:
        def write(kind: str, public: dict[str, object]) -> None:
            with bare.book.writing() as page:
                moved(page)
                page.append(kind, about=["book"], public=public)

        with pytest.raises(InputError, match="colour does not belong"):
            write("moved/0", {"colour": "red"})
        # Source: the project's own limit, ledger/chain/FORMAT.md section 1.
        with pytest.raises(InputError, match="at most 60,000 bytes"):
            write("shop/0", {"facts": {"name": "x" * 60_000}, "from": "2026-01-01"})
        check_book(bare, entries=3)

    def test_a_locked_book_takes_what_is_not_personal_and_nothing_else(self, bare: Shop) -> None:
        keys, bare.book.keys = bare.book.keys, None
        with pytest.raises(LockedError, match="The vault of this book is locked: unlock it with `counterfoil unlock`"):
            append(bare.book)
        with bare.book.writing() as page:
            page.append("day-closed/0", about=["day/2026-11-24"], public={"day": "2026-11-24", "counts": {}})
        bare.book.keys = keys
        check_book(bare, entries=4)

    def test_a_rule_file_is_kept_once(self, bare: Shop) -> None:
        data = b"jurisdiction = 'xx-sample'"
        digest = hashlib.sha256(data).hexdigest()
        for _ in range(2):
            with bare.book.writing() as page:
                page.put_rule_file(digest, data)
                page.put_rule_file(digest, data)
        with engines.reading(bare.book.engine) as connection:
            assert reading.rule_file(connection, bare.book.origin, digest) == data


class TestClock:
    """One bad clock must not brick a book: the moment stays as read, and `clock` says behind."""

    def test_a_clock_that_went_back_is_marked_until_it_is_right_again(self, bare: Shop) -> None:
        append(bare.book)
        bare.now -= timedelta(days=400)
        wrong = append(bare.book)
        later = append(bare.book)
        bare.now += timedelta(days=800)
        right = append(bare.book)
        assert [wrong.clock, later.clock, right.clock] == ["behind", None, None]
        assert wrong.recorded_at.startswith("2025-")
        check_book(bare, entries=7)

    def test_the_same_millisecond_twice_is_not_behind(self, bare: Shop) -> None:
        bare.book.clock = lambda: MOMENT + timedelta(hours=1)
        assert [append(bare.book).clock for _ in range(2)] == [None, None]

    def test_what_one_transaction_writes_was_recorded_at_one_moment(self, bare: Shop) -> None:
        with bare.book.writing() as page:
            moments = {moved(page).recorded_at for _ in range(3)}
        assert len(moments) == 1

    def test_nothing_is_dated_ahead_of_the_clock(self, bare: Shop) -> None:
        bare.book.clock = lambda: datetime(2026, 11, 24, 15, 15, 0, 999_999, tzinfo=UTC)
        local = datetime(2026, 11, 24, 9, 15, 0, 999_999, tzinfo=shops.ZONE)
        with bare.book.writing() as page:
            assert page.must_have_happened(local) == "2026-11-24T09:15:00.999999-06:00[America/Chicago]"
            with pytest.raises(InputError, match="sold: .* wanted is a moment not after the machine's clock"):
                page.must_have_happened(local + timedelta(milliseconds=1), "sold")


class TestHead:
    """Where the book ends is read again whenever the table says that somebody else has written."""

    def test_two_processes_write_in_turn_and_neither_forks_the_book(self, bare: Shop) -> None:
        other = other_process(bare)
        made = [
            append(book, line) for line, book in enumerate([bare.book, other, other, bare.book, other, bare.book], 1)
        ]
        assert [entry.seq for entry in made] == [3, 4, 5, 6, 7, 8]
        other.engine.dispose()
        check_book(bare, entries=9)

    def test_a_transaction_that_failed_is_not_remembered(self, bare: Shop) -> None:
        first = append(bare.book)

        def fail() -> None:
            with bare.book.writing() as page:
                moved(page)
                raise StorageError(path="disk", why="it is full")

        with pytest.raises(StorageError):
            fail()
        again = append(bare.book)
        assert (again.seq, again.prev) == (first.seq + 1, first.leaf)
        check_book(bare, entries=5)

    def test_the_head_read_anew_is_the_head_remembered(self, bare: Shop) -> None:
        for line in range(1, 9):
            entry = append(bare.book, line)
            with engines.reading(bare.book.engine) as connection:
                read = pages.read_head(connection, bare.book.origin, entry.seq, entry.leaf)
            assert read == bare.book._head

    def test_an_empty_book_begins_at_nothing(self, sqlite_shop: Shop) -> None:
        book = sqlite_shop.book
        empty = Book(book.folder, book.engine, "counterfoil/" + "0" * 32, book.clock, book.chance, "0.1.0")
        with empty.writing() as page:
            assert (page.head.size, page.head.leaf, page.head.recorded_at) == (0, bytes(32), None)

    @pytest.mark.parametrize(
        ("damage", "says"),
        [
            (
                "UPDATE entries SET leaf = zeroblob(32) WHERE seq = 5",
                "The last entry, 5, is not the one that was written",
            ),
            ("UPDATE entries SET leaf = 'text' WHERE seq = 5", "The last entry, 5, is not the one that was written"),
            ("UPDATE entries SET seq = 7 WHERE seq = 5", "The last entry, 7, is not the one that was written"),
            ("UPDATE entries SET bytes = 'rubbish' WHERE seq = 5", "These bytes are not as a book writes them"),
            ("DELETE FROM nodes WHERE level = 1 AND idx = 2", "The tree over the first 6 entries lacks 1 of its nodes"),
        ],
    )
    def test_nothing_is_built_on_a_tail_that_is_not_sound(self, bare_shop: Shop, damage: str, says: str) -> None:
        for line in range(1, 4):
            append(bare_shop.book, line)
        with tampering(bare_shop.book.folder) as raw:
            raw.execute(damage)
        book = other_process(bare_shop)
        with pytest.raises(BookError, match=says):
            append(book)
        book.engine.dispose()


class TestSeal:
    """The signed seal over everything appended so far, kept in the same transaction, once a size."""

    def test_a_seal_is_signed_by_the_books_key_over_what_was_appended(self, bare: Shop) -> None:
        with bare.book.writing() as page:
            moved(page)
            note = page.seal()
        key = seals.read_vkey(seals.vkey(bare.book.origin, bare.book.opened().public))
        sealed = seals.verify_seal(note, key)
        with engines.reading(bare.book.engine) as connection:
            leaves = [entry.leaf for entry in reading.all_entries(connection, bare.book.origin)]
        assert (sealed.size, sealed.root) == (4, tree_hash(leaves))

    def test_a_size_is_sealed_once_and_each_size_by_itself(self, bare: Shop) -> None:
        with bare.book.writing() as page:
            moved(page)
            first = page.seal()
            assert page.seal() == first
            moved(page)
            second = page.seal()
        with bare.book.writing() as page:
            assert page.seal() == second != first
        with engines.reading(bare.book.engine) as connection:
            sizes = connection.execute(sa.select(tables.seals.c.size).order_by(tables.seals.c.size)).scalars().all()
        assert sizes == [3, 4, 5]

    def test_without_the_key_there_is_only_the_seal_that_stands_there(self, bare: Shop) -> None:
        bare.book.keys = None
        with bare.book.writing() as page:
            assert seals.read_seal(page.seal()).size == 3

        def seal_more() -> None:
            with bare.book.writing() as page:
                page.append("inspection/0", about=["book"], public={})
                page.seal()

        with pytest.raises(LockedError):
            seal_more()


class TestKeys:
    """A data key for each subject and class, made when it is first needed, kept in that transaction."""

    def test_a_key_is_made_once_and_found_again_by_another_process(self, bare: Shop) -> None:
        with bare.book.writing() as page:
            made = page.key_for("d1", "item")
            assert page.key_for("d1", "item") == made
            assert len({made, page.key_for("d1", "money"), page.key_for("d2", "item")}) == 3
        other = other_process(bare)
        for book in (bare.book, other):
            with book.writing() as page:
                assert page.key_for("d1", "item") == made
        other.engine.dispose()

    def test_a_key_of_a_transaction_that_failed_is_made_anew(self, bare: Shop) -> None:
        lost: list[bytes] = []

        def fail() -> None:
            with bare.book.writing() as page:
                lost.append(page.key_for("d1", "item"))
                moved(page, 1)
                raise StorageError(path="disk", why="it is full")

        with pytest.raises(StorageError):
            fail()
        with bare.book.writing() as page:
            assert page.key_for("d1", "item") != lost[0]
            moved(page, 1)
        check_book(bare)

    def test_a_subject_that_is_new_is_not_looked_up_and_keeps_its_keys_all_the_same(self, bare: Shop) -> None:
        with bare.book.writing() as page:
            page.begin_subject("d1")
            moved(page, 1)
        other = other_process(bare)
        with engines.reading(other.engine) as connection:
            assert len(reading.open_entry(connection, other, 3).parts) == 1
        other.engine.dispose()

    def test_a_key_made_while_drafting_is_kept_with_the_entry(self, bare: Shop) -> None:
        key, wrapped = bare.book.opened().fresh_data_key("d1", "item", os.urandom)
        with bare.book.writing() as page:
            page.adopt(wrapped, key)
            moved(page, 1)
        other = other_process(bare)
        with engines.reading(other.engine) as connection:
            assert pages.find_key(connection, other, "d1", "item") == key
            assert pages.find_key(connection, other, "d1", "money") is None
        other.engine.dispose()

    def test_keys_that_are_not_the_newest_wrap_nothing_more(self, bare: Shop) -> None:
        path = bare.book.folder / "keys.json"
        keys_file.new_epoch(path, bare.book.opened(), os.urandom, [])
        with pytest.raises(LockedError, match="its keys were renewed after these were opened"):
            append(bare.book)
        check_book(bare, entries=3)

    def test_the_name_of_a_part_says_under_which_class_it_lies(self, bare: Shop) -> None:
        assert bare.book.hold("item/1/price", {}, "d1").cls == "money"
        assert bare.book.hold("item/1/price", {}, "d1", "case").cls == "case"
        one, other = (bare.book.hold("item/1/price", {}, "d1").part.digest for _ in range(2))
        assert one != other, "each part has a salt of its own"


class TestSlipNumbers:
    """The next slip number is the highest and one, read inside the write lock, whoever wrote last."""

    def test_two_processes_give_no_number_twice_and_leave_none_out(self, shop: Shop) -> None:
        other = Shop.__new__(Shop)
        other.now, other.read, other.book = shop.now, {}, other_process(shop)
        other.book.clock = shop.clock
        numbers: list[int] = []
        for each in (shop, other, other, shop):
            other.now = shop.now
            with each.book.writing() as page:
                assert page.next_slip() == page.next_slip() == len(numbers) + 1
            numbers.append(each.record().slip)
        assert numbers == [1, 2, 3, 4]
        other.book.engine.dispose()
        check_book(shop)


class TestTwoShops:
    """One PostgreSQL database may hold several shops; nothing of one shows in the other."""

    @pytest.mark.parametrize("database", ["postgresql"], indirect=True)
    def test_two_books_in_one_database_do_not_mix(
        self, database: str, tmp_path: Path, chance: Callable[[int], bytes]
    ) -> None:
        one, two = (
            shops.open_shop(tmp_path / name, moment=MOMENT, chance=chance, database=database) for name in ("one", "two")
        )
        assert [shop.record().slip for shop in (one, two, one, two, one)] == [1, 1, 2, 2, 3]
        found = {shop.book.origin: check_book(shop) for shop in (one, two)}
        assert found[one.book.origin].entries == found[two.book.origin].entries + 2
        before = {shop.book.origin: everything(shop) for shop in (one, two)}
        rebuilding.rebuild(two.book)
        assert {shop.book.origin: everything(shop) for shop in (one, two)} == before
        with engines.reading(one.book.engine) as connection:
            word = searching.tokens(one.slip().items[0])[0]
            slips = [
                {slip for slip, _ in words_index.find(connection, shop.book.origin, [word], most=99)}
                for shop in (one, two)
            ]
        assert slips == [{1, 2, 3}, {1, 2}]
        assert verifying.audit(two.book, against=closing.seal(one.book)).faults[0].what == (
            "the seal from outside is not signed by this book's key"
        )
        for shop in (one, two):
            shop.book.engine.dispose()


def everything(shop: Shop) -> dict[str, Counter[tuple[Any, ...]]]:
    """Every derived row of a shop's book."""
    with engines.reading(shop.book.engine) as connection:
        return projections.dump(connection, shop.book.origin)
