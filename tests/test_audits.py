"""What stands wrong is named: which entry, what, and what was expected; never only that something differs."""

import pytest

from ledger.book import engine as engines
from ledger.book import reading, verifying
from ledger.chain import canonical, seals
from tests.forgeries import Forger
from tests.shops import Shop
from tests.tampering import OTHER, damaged, found, tampering


class TestChain:
    """What stands wrong is named by entry, never only "differs"."""

    CASES = (
        ("DELETE FROM entries WHERE seq = 4", "chain, entry 5: entry 4 is missing before it: expected 4, found 5"),
        ("DELETE FROM entries WHERE seq IN (4, 5, 6)", "chain, entry 7: entries 4 to 6 are missing before it"),
        ("DELETE FROM entries WHERE seq = 0", "chain, entry 0: the opening entry names no key that can be read"),
        ("UPDATE entries SET seq = -3 WHERE seq = 4", "chain, entry -3: no entry can have this number: expected 0"),
        ("UPDATE entries SET seq = 'four' WHERE seq = 4", "chain: no entry can have this number: expected"),
        ("UPDATE entries SET seq = x'04' WHERE seq = 4", "found 04"),
        ("UPDATE entries SET seq = 4.5 WHERE seq = 4", "chain: no entry can have this number: expected 4, found 4.5"),
        ("UPDATE entries SET leaf = zeroblob(32) WHERE seq = 4",
         "chain, entry 4: its bytes do not have the leaf hash kept with it: expected 0000"),
        ("UPDATE entries SET prev = x'00' WHERE seq = 4",
         "chain, entry 4: its link is not the leaf hash of the entry before it"),
        ("UPDATE entries SET leaf = 'text' WHERE seq = 4", "chain, entry 4: its column leaf holds no bytes: expected"),
        ("UPDATE entries SET prev = 7 WHERE seq = 4", "chain, entry 4: its column prev holds no bytes: expected bytes, "
         "found int"),
        ("UPDATE entries SET bytes = CAST(bytes AS TEXT) WHERE seq = 4", "entry 4: its column bytes holds no bytes"),
        ("UPDATE entries SET bytes = x'00' WHERE seq = 4", "found none that can be read"),
        ("UPDATE nodes SET hash = zeroblob(32) WHERE level = 1 AND idx = 2",
         "chain, entry 4: node 2 of level 1 of the tree, which begins at this entry, is not what the entries give"),
        ("UPDATE nodes SET hash = CAST(hash AS TEXT) WHERE level = 1 AND idx = 2", "chain, entry 4: node 2 of level 1"),
        ("DELETE FROM nodes WHERE level = 1 AND idx = 2", "found no such node"),
        ("UPDATE nodes SET idx = -1 WHERE level = 0 AND idx = 0", "chain: a node -1 of level 0 stands in the tree"),
        ("UPDATE nodes SET idx = 0.5 WHERE level = 0 AND idx = 0", "chain: a node 0.5 of level 0 stands in the tree"),
        ("UPDATE nodes SET level = -1 WHERE level = 3 AND idx = 0", "chain: a node 0 of level -1 stands in the tree"),
        ("UPDATE nodes SET level = 'top' WHERE level = 3 AND idx = 0", "a node 0 of level top stands in the tree"),
        ("UPDATE seals SET size = 'all' WHERE size = 3", "chain: the seal kept over all entries is no seal"),
        ("UPDATE seals SET note = x'ff' WHERE size = 3", "chain: the seal kept over 3 entries is no seal"),
        ("UPDATE seals SET note = CAST(x'ff' AS TEXT) WHERE size = 3", "the seal kept over 3 entries is not signed by"),
        ("UPDATE seals SET size = 4 WHERE size = 3", "the seal kept over 4 entries speaks of another size: expected 4"),
        ("DELETE FROM seals", "the seal signed with this purchase is missing"),
        (f"UPDATE seals SET book = '{OTHER}' WHERE size = 3", "chain: seals: rows of another book stand there"),
        (f"UPDATE nodes SET book = '{OTHER}' WHERE level = 3", "chain: nodes: rows of another book stand there"),
        (f"UPDATE entries SET book = '{OTHER}' WHERE seq = 4", "chain: entries: rows of another book stand there"),
        ("UPDATE entries SET book = x'00' WHERE seq = 4", "chain: entries: rows of another book stand there"),
    )  # fmt: skip

    @pytest.mark.parametrize(("damage", "says"), CASES, ids=[damage for damage, _ in CASES])
    def test_it_is_named(self, after: Shop, damage: str, says: str) -> None:
        said = damaged(after, damage, levels=["chain"])
        assert [each for each in said if says in each], "\n".join(said)

    def test_a_node_of_a_book_without_entries_is_a_stray(self, after: Shop) -> None:
        said = damaged(after, "DELETE FROM entries", "DELETE FROM nodes WHERE level + idx > 0", levels=["chain"])
        assert "chain: a node 0 of level 0 stands in the tree, and the entries give none there" in said

    def test_a_number_below_nought_does_not_hide_which_entry_is_missing(self, after: Shop) -> None:
        said = damaged(after, "UPDATE entries SET seq = -3 WHERE seq = 4", levels=["chain"])
        missing = [each for each in said if "missing" in each]
        assert missing == ["chain, entry 5: entry 4 is missing before it: expected 4, found 5"]

    def test_no_more_than_a_hundred_faults_of_a_kind_are_named(self, after: Shop) -> None:
        with tampering(after.book.folder) as raw:
            row = raw.execute("SELECT * FROM entries WHERE seq = 1").fetchone()
            raw.execute("BEGIN")
            for seq in range(1_000, 1_300):
                raw.execute(
                    "INSERT INTO entries VALUES (?, ?, ?, ?, ?)", (row[0], seq, row[2], row[3], str(seq).encode())
                )
            raw.execute("COMMIT")
        result = verifying.audit(after.book, levels=["chain"])
        assert 100 < len(result.faults) <= 400
        assert result.entries > 300

    def test_a_key_of_another_name_in_the_opening_entry_is_a_fault(self, after: Shop) -> None:
        forger = Forger(after.book.folder, after.book.origin, after.book.opened(), "")
        changed = forger.entries()
        vkey = seals.vkey(OTHER, forger.keys.public)
        opened = canonical.decode(changed[0])
        changed[0] = canonical.encode({**opened, "public": {**opened["public"], "vkey": vkey}})
        forger.rewrite(changed, resign=True)
        assert any("the key of the opening entry belongs to another book" in each for each in found(after, "chain"))


class TestForms:
    """Canonical bytes, members per kind, every slip number accounted for, rule bytes that match their digests."""

    def forged(self, shop: Shop, seq: int, **public: object) -> list[str]:
        """What level forms says after the key's holder changed public members of one entry."""
        return self.rewritten(shop, seq, lambda value: {**value, "public": {**value["public"], **public}})

    def rewritten(self, shop: Shop, seq: int, change: object) -> list[str]:
        forger = Forger(shop.book.folder, shop.book.origin, shop.book.opened(), "")
        changed = forger.entries()
        changed[seq] = canonical.encode(change(canonical.decode(changed[seq])))  # type: ignore[operator]
        forger.rewrite(changed, resign=True)
        return found(shop, "forms")

    def seq_of(self, shop: Shop, kind: str, slip: int) -> int:
        """Number of the entry of this kind about a slip."""
        with engines.reading(shop.book.engine) as connection:
            return next(
                entry.seq
                for entry in reading.all_entries(connection, shop.book.origin)
                if entry.kind == f"{kind}/0" and entry.public.get("slip") == slip
            )

    def test_a_slip_presented_twice(self, after: Shop) -> None:
        seq = self.seq_of(after, "presented", 3)
        said = self.forged(after, seq, slip=2)
        assert f"forms, entry {seq}: slip 2 is presented a second time" in said

    def test_a_slip_number_left_out(self, after: Shop) -> None:
        seq = self.seq_of(after, "presented", 5)
        assert f"forms, entry {seq}: slip numbers are gapless: 5 was to come and 6 came" in self.forged(
            after, seq, slip=6
        )

    def test_a_slip_nobody_presented(self, after: Shop) -> None:
        seq = self.seq_of(after, "payout", 1)
        assert self.forged(after, seq, slip=99) == [
            f"forms, entry {seq}: it speaks of slip 99, which was never presented"
        ]

    @pytest.mark.parametrize(
        ("kind", "slip", "to", "says"),
        [
            ("purchase", 2, 1, "slip 1 cannot be recorded: it stands as recorded"),
            ("withdrawn", 3, 1, "slip 1 cannot be withdrawn: it stands as recorded"),
            ("void", 5, 3, "slip 3 cannot be voided: it stands as withdrawn"),
        ],
    )
    def test_a_slip_that_stands_otherwise(self, after: Shop, kind: str, slip: int, to: int, says: str) -> None:
        seq = self.seq_of(after, kind, slip)
        assert f"forms, entry {seq}: {says}" in self.forged(after, seq, slip=to)

    def test_a_purchase_of_something_else_than_was_presented(self, after: Shop) -> None:
        seq = self.seq_of(after, "purchase", 2)
        said = self.forged(after, seq, presented="0" * 64)
        assert any(f"and this purchase names {'0' * 64}" in each for each in said)

    def test_a_purchase_of_more_than_was_presented(self, after: Shop) -> None:
        seq = self.seq_of(after, "purchase", 2)
        said = self.forged(after, seq, items=2)
        assert said == [f"forms, entry {seq}: slip 2 was presented with 1 items, and this purchase counts 2"]

    def test_a_rule_file_nobody_adopted(self, after: Shop) -> None:
        seq = self.seq_of(after, "purchase", 2)
        said = self.forged(after, seq, rules=["0" * 64])
        assert said == [f"forms, entry {seq}: it names the rule file {'0' * 64}, which no entry before it adopted"]

    def test_a_member_that_its_kind_has_not(self, after: Shop) -> None:
        seq = self.seq_of(after, "void", 5)
        assert self.forged(after, seq, colour="red") == [
            f"forms, entry {seq}: public.colour does not belong to this kind"
        ]

    def test_an_entry_of_another_book(self, after: Shop) -> None:
        said = self.rewritten(after, 4, lambda value: {**value, "book": OTHER})
        assert said == [f"forms, entry 4: it belongs to another book: expected {after.book.origin}, found {OTHER}"]

    def test_a_clock_that_went_back_and_does_not_say_so(self, after: Shop) -> None:
        said = self.rewritten(after, 4, lambda value: {**value, "recorded_at": "2020-01-01T00:00:00.000Z"})
        assert said == ["forms, entry 4: recorded_at lies before the previous entry's and clock does not say so"]

    def test_a_clock_that_says_behind_and_is_not(self, after: Shop) -> None:
        said = self.rewritten(after, 4, lambda value: {**value, "clock": "behind"})
        assert said == ["forms, entry 4: clock says behind and recorded_at does not lie before the previous entry's"]

    CASES = (
        ("UPDATE rule_files SET bytes = x'00'", "forms: the kept bytes of a rule file are not those adopted"),
        ("UPDATE rule_files SET bytes = CAST(bytes AS TEXT)", "holds no bytes"),
        ("UPDATE rule_files SET digest = 'ab'", "a rule file is kept that no entry adopted: expected , found ab"),
        ("UPDATE rule_files SET digest = x'00ff'", "rule file is kept that no entry adopted: expected , found 00ff"),
        ("DELETE FROM rule_files", "forms: an adopted rule file is missing: expected "),
        (f"UPDATE rule_files SET book = '{OTHER}'", "forms: rule_files: rows of another book stand there"),
        ("UPDATE entries SET bytes = '{}' WHERE seq = 4", "forms, entry 4: its bytes are not in the book's form"),
        ("UPDATE entries SET bytes = x'7b7d' WHERE seq = 4", "forms, entry 4: about is missing"),
    )  # fmt: skip

    @pytest.mark.parametrize(("damage", "says"), CASES, ids=[damage for damage, _ in CASES])
    def test_it_is_named(self, after: Shop, damage: str, says: str) -> None:
        said = damaged(after, damage, levels=["forms"])
        assert [each for each in said if says in each], "\n".join(said)


COPIED = "INSERT INTO locked_rows SELECT book,"


class TestInside:
    """Parts, keys, pictures and tables, with the vault open."""

    CASES = (
        ("UPDATE locked_rows SET seq = 999 WHERE seq = 5 AND class = 'item'",
         "parts, entry 999: a locked row of class item belongs to no entry"),
        ("UPDATE locked_rows SET seq = 'five' WHERE seq = 5 AND class = 'item'",
         "parts: a locked row of class item belongs to no entry"),
        ("UPDATE locked_rows SET bytes = 'text' WHERE seq = 5 AND class = 'item'",
         "parts, entry 5: a locked row of it does not open as it was locked (The item row of entry 5 is locked"),
        ("UPDATE locked_rows SET class = 'red \x1b[31m' WHERE seq = 5 AND class = 'item'", "no part in the vault"),
        (f"{COPIED} 0, class, subject, bytes FROM locked_rows WHERE seq = 5 AND class = 'item'",
         "parts, entry 0: a locked row of it does not open as it was locked"),
        (f"{COPIED} 0, class, 'nobody', bytes FROM locked_rows WHERE seq = 5 AND class = 'item'",
         "parts, entry 0: a locked row of class item has no key and holds none of its parts"),
        ("UPDATE data_keys SET wrapped = zeroblob(60) WHERE class = 'item'", "parts: a data key does not open (The"),
        ("UPDATE data_keys SET epoch = x'00' WHERE class = 'item'", "parts: a data key does not open (The item class"),
        ("UPDATE data_keys SET subject = x'00' WHERE rowid = 1", "a data key does not open (Something is locked"),
        (f"UPDATE data_keys SET book = '{OTHER}' WHERE class = 'item'", "parts: data_keys: rows of another book"),
        (f"UPDATE items SET book = '{OTHER}' WHERE slip = 1", "tables: items: rows of another book stand there"),
        ("UPDATE days SET seq = 'x\x1b[31m'", "x\\x1b[31m"),
        ("UPDATE items SET words = CAST(x'ff' AS TEXT) WHERE slip = 1", "\\udcff"),
        ("DELETE FROM item_words_data", "tables: the tables cannot be read: expected rows, found"),
        ("DELETE FROM item_words WHERE rowid = 1001", "tables: item_words: a row is missing or was changed"),
    )  # fmt: skip

    @pytest.mark.parametrize(("damage", "says"), CASES, ids=[damage.replace("\x1b", "") for damage, _ in CASES])
    def test_it_is_named(self, after: Shop, damage: str, says: str) -> None:
        said = damaged(after, damage, levels=["tables", "parts"])
        assert [each for each in said if says in each], "\n".join(said)
        assert all(each.isprintable() for each in said)

    def test_an_entry_that_cannot_be_brought_into_the_tables_is_named(self, after: Shop) -> None:
        said = damaged(after, "DELETE FROM locked_rows WHERE seq = 5")
        assert "tables, entry 5: it cannot be brought into the tables again (KeyError)" in said

    def test_a_file_whose_index_lost_a_row_is_damaged(self, after: Shop) -> None:
        """Rows are looked up by the index; SQLite itself finds that the table has one more."""
        said = damaged(
            after,
            "PRAGMA writable_schema = ON",
            "UPDATE sqlite_master SET sql = replace(sql, 'items (book, state)', 'items (state, book)') WHERE name ="
            " 'ix_items_book_state'",
            "PRAGMA writable_schema = OFF",
        )
        assert any("the database file is damaged" in each for each in said)
