"""A book is read back: entries, and with the vault open the parts that lie behind their digests."""

import pytest
import sqlalchemy as sa

from ledger.acts import closing
from ledger.book import engine as engines
from ledger.book import pages, reading, tables
from ledger.chain import parts, proof_files, seals
from ledger.errors import BookUnsound, CaptureChanged, InputError, LedgerError, LockedError
from ledger.vault import rows
from tests.shops import Shop
from tests.tampering import tampering

NOBODYS = (0, 99, -1, 2**63, 10**30)
"""Numbers that no slip and no entry of the story bears; SQLite and PostgreSQL hold none from 2^63 on."""


class TestEntries:
    """Entries come back as they were written, by number or in order."""

    def test_every_entry_comes_back_in_order(self, shop: Shop) -> None:
        shop.record()
        book = shop.book
        with engines.reading(book.engine) as connection:
            size = reading.size(connection, book.origin)
            whole = list(reading.all_entries(connection, book.origin))
            tail = list(reading.all_entries(connection, book.origin, first=size - 2))
            single = [reading.entry_at(connection, book.origin, seq) for seq in range(size)]
        assert [entry.seq for entry in whole] == list(range(size))
        assert single == whole
        assert [entry.kind for entry in tail] == ["presented/0", "purchase/0"]

    def test_a_book_that_is_not_there_is_empty(self, shop: Shop) -> None:
        with engines.reading(shop.book.engine) as connection:
            assert reading.size(connection, "counterfoil/" + "0" * 32) == 0
            assert reading.newest_seal(connection, "counterfoil/" + "0" * 32) is None

    def test_a_number_nobody_bears_is_asked_for_in_vain(self, shop: Shop) -> None:
        shop.record()
        book = shop.book
        with engines.reading(book.engine) as connection:
            for number in NOBODYS:
                with pytest.raises(InputError, match="slip: .* was given; wanted is the number of a slip in this book"):
                    reading.slip_row(connection, book.origin, number)
                with pytest.raises(InputError, match="item: .* was given; wanted is SLIP/LINE of an item"):
                    reading.item_row(connection, book.origin, 1, number)
            for number in NOBODYS[1:]:
                with pytest.raises(InputError, match="entry: .* was given; wanted is the number of an entry"):
                    reading.entry_at(connection, book.origin, number)

    def test_entries_about_something_are_found_by_its_name(self, after: Shop) -> None:
        with engines.reading(after.book.engine) as connection:
            about = {
                name: [entry.seq for entry in reading.all_entries(connection, after.book.origin) if name in entry.about]
                for name in ("slip/1", "item/1/1", "staff/ben", "slip/99")
            }
            for name, seqs in about.items():
                assert reading.seqs_about(connection, after.book.origin, name) == seqs
            both = reading.seqs_about(connection, after.book.origin, "slip/1", "item/1/1", "slip/1")
        assert both == sorted({*about["slip/1"], *about["item/1/1"]})
        assert len(about["slip/1"]) > 5

    def test_a_slip_keeps_the_id_of_its_draft(self, shop: Shop) -> None:
        done = shop.record()
        with engines.reading(shop.book.engine) as connection:
            subject = reading.subject_of_slip(connection, shop.book.origin, 1)
        assert f"draft/{subject}" in done.presented.about

    def test_a_last_entry_under_no_number_is_not_counted_on(self, after: Shop) -> None:
        with tampering(after.book.folder) as raw:
            raw.execute("UPDATE entries SET seq = 'last' WHERE seq = 3")
        with engines.reading(after.book.engine) as connection, pytest.raises(BookUnsound, match="is no number"):
            reading.size(connection, after.book.origin)


class TestParts:
    """A part that opens but is not the one its entry names is a CaptureChanged, never a shrug."""

    def test_parts_open_all_or_class_by_class(self, shop: Shop) -> None:
        seq = shop.record().presented.seq
        with engines.reading(shop.book.engine) as connection:
            whole = reading.open_entry(connection, shop.book, seq)
            money = reading.open_entry(connection, shop.book, seq, classes=["money"])
            none = reading.open_entry(connection, shop.book, 0)
        assert {parts.digest_of(text) for text in whole.disclosures} == set(whole.entry.parts)
        assert {parts.class_of(name) for name, _ in money.parts} == {"money"}
        assert money.get("item/1/price") == whole.get("item/1/price")
        assert money.get("seller/name", "not here") == "not here"
        assert none.parts == ()

    def test_a_locked_book_opens_none(self, shop: Shop) -> None:
        seq = shop.record().presented.seq
        shop.book.keys, shop.book._data_keys = None, {}
        with (
            engines.reading(shop.book.engine) as connection,
            pytest.raises(LockedError, match="The vault of this book"),
        ):
            reading.open_entry(connection, shop.book, seq)

    def test_a_part_that_the_entry_does_not_name_is_no_part_of_it(self, after: Shop) -> None:
        """Whoever holds the keys can lock another text into the row; the digest in the entry tells."""
        book = after.book
        with engines.reading(book.engine) as connection:
            row = reading.slip_row(connection, book.origin, 1)
            key = pages.find_key(connection, book, row.draft, "money")
        assert key is not None
        forged = parts.make("item/1/price", {"gross_mg": 1}, bytes(16))
        where = {"book": book.origin, "seq": row.presented_seq, "cls": "money", "subject": row.draft}
        locked = rows.lock(key, disclosures=[forged.disclosure], nonce=bytes(12), **where)
        with tampering(book.folder) as raw:
            raw.execute(
                "UPDATE locked_rows SET bytes = ? WHERE seq = ? AND class = 'money'", (locked, row.presented_seq)
            )
        with engines.reading(book.engine) as connection:
            with pytest.raises(
                CaptureChanged, match=f"Entry {row.presented_seq}: a part should have the digest one of"
            ):
                reading.open_entry(connection, book, row.presented_seq)
            told: list[LedgerError] = []
            entry = reading.entry_at(connection, book.origin, row.presented_seq)
            opened = reading.open_parts(connection, book, entry, on_fault=told.append)
        assert [type(fault) for fault in told] == [CaptureChanged]
        assert "item/1/price" not in dict(opened.parts)
        assert "item/1/description" in dict(opened.parts)

    @pytest.mark.parametrize("rubbish", ["'text'", "NULL", "7", "zeroblob(3)", "zeroblob(99)"])
    def test_a_row_of_rubbish_stops_who_reads_it(self, after: Shop, rubbish: str) -> None:
        with tampering(after.book.folder) as raw:
            raw.execute("CREATE TABLE loose AS SELECT * FROM locked_rows")
            raw.execute(f"UPDATE loose SET bytes = {rubbish} WHERE class = 'item'")
            raw.execute("DROP TABLE locked_rows")
            raw.execute("ALTER TABLE loose RENAME TO locked_rows")
        with engines.reading(after.book.engine) as connection:
            seq = reading.slip_row(connection, after.book.origin, 1).presented_seq
            with pytest.raises(LockedError, match=f"The item row of entry {seq} is locked: the key does not fit, or"):
                reading.open_entry(connection, after.book, seq)

    def test_a_class_whose_key_is_gone_stays_closed(self, after: Shop) -> None:
        with tampering(after.book.folder) as raw:
            raw.execute("DELETE FROM data_keys WHERE class = 'money'")
        with engines.reading(after.book.engine) as connection:
            seq = reading.slip_row(connection, after.book.origin, 1).presented_seq
            opened = reading.open_entry(connection, after.book, seq)
        assert "item/1/price" not in dict(opened.parts)
        assert "seller/name" in dict(opened.parts)


class TestRuleFiles:
    """The exact bytes of an adopted rule file, or none."""

    def test_bytes_that_are_not_those_adopted_are_not_handed_out(self, after: Shop) -> None:
        book = after.book
        with engines.reading(book.engine) as connection:
            digest = connection.execute(sa.select(tables.rule_files.c.digest)).scalar_one()
            assert b"xx-sample" in reading.rule_file(connection, book.origin, digest)
        for damage in (
            "UPDATE rule_files SET bytes = bytes || ' '",
            "UPDATE rule_files SET bytes = 'text'",
            "DELETE FROM rule_files",
        ):
            with tampering(book.folder) as raw:
                raw.execute(damage)
            with (
                engines.reading(book.engine) as connection,
                pytest.raises(BookUnsound, match="missing or are not those"),
            ):
                reading.rule_file(connection, book.origin, digest)


class TestProof:
    """A proof file shows a stranger that an entry stands in the book under its newest seal."""

    def test_a_proof_of_every_entry_holds(self, shop: Shop) -> None:
        shop.record()
        book = shop.book
        key = seals.read_vkey(seals.vkey(book.origin, book.opened().public))
        with engines.reading(book.engine) as connection:
            for entry in reading.all_entries(connection, book.origin):
                proof = reading.proof(connection, book, entry.seq)
                assert proof_files.verify(proof, entry.data, key).size == reading.size(connection, book.origin)
                with pytest.raises(seals.SealWrong):
                    proof_files.verify(proof, entry.data + b" ", key)

    def test_what_no_seal_covers_yet_has_no_proof(self, bare_shop: Shop) -> None:
        book = bare_shop.book
        with book.writing() as page:
            entry = page.append("inspection/0", about=["book"], public={})
        with engines.reading(book.engine) as connection:
            for seq in (entry.seq, 99, -1):
                with pytest.raises(InputError, match="an entry under a seal; make one with `counterfoil book seal`"):
                    reading.proof(connection, book, seq)
        closing.seal(book)
        with engines.reading(book.engine) as connection:
            assert f"index {entry.seq}\n" in reading.proof(connection, book, entry.seq)

    def test_a_book_without_any_seal_has_none(self, bare_shop: Shop) -> None:
        with tampering(bare_shop.book.folder) as raw:
            raw.execute("DELETE FROM seals")
        with engines.reading(bare_shop.book.engine) as connection, pytest.raises(InputError, match="under a seal"):
            reading.proof(connection, bare_shop.book, 0)

    def test_a_tree_with_a_hole_gives_none(self, after: Shop) -> None:
        with tampering(after.book.folder) as raw:
            raw.execute("DELETE FROM nodes WHERE level = 0 AND idx = 1")
        with (
            engines.reading(after.book.engine) as connection,
            pytest.raises(BookUnsound, match="Node 1 of level 0 is missing in the book's tree"),
        ):
            reading.proof(connection, after.book, 0)
