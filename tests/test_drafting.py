"""A slip before it is presented: its random id, its data keys, its pictures."""

import hashlib
from collections import Counter
from pathlib import Path

import pytest
import sqlalchemy as sa

from ledger.acts import drafting, recording
from ledger.book import engine as engines
from ledger.book import reading, tables
from ledger.errors import ForbiddenByLaw, InputError, LockedError
from ledger.vault import pictures
from tests.check_book import check_book
from tests.shops import ANSWERS, Shop

SIGNED = ("declaration.signature", {"file": "signed.jpg"})


def files(shop: Shop) -> list[Path]:
    """The encrypted files in the book's folder."""
    return [path for path in (shop.book.folder / "pictures").rglob("*") if path.is_file()]


class TestBeforeTheEntry:
    """Pictures are locked away, written and synced while the slip is drafted, before the entry that names them."""

    def test_every_picture_lies_encrypted_on_disk_under_its_own_digest_before_anything_is_written(
        self, shop: Shop
    ) -> None:
        before = check_book(shop).entries
        slip = shop.slip()
        draft = drafting.begin(shop.book)
        locked = drafting.lock_pictures(shop.book, draft, slip, shop.file)
        named = {digest for one in locked.values() for digest in (one.file_received, one.file_shown)}
        found = {hashlib.sha256(path.read_bytes()).hexdigest() for path in files(shop)}
        # Seller's photo and document; two of the ring, one of locket and chain: each as received and as shown.
        assert (len(locked), len(named)) == (6, 12)
        assert {path.name for path in files(shop)} == named == found
        assert not [path for path in files(shop) if b"JFIF" in path.read_bytes()]
        found_now = check_book(shop, entries=before)
        assert found_now.notes == ["12 locked pictures lie in the folder that no entry names (a slip not recorded)."]

    def test_the_entry_names_the_files_and_each_opens_as_what_was_received(self, sqlite_shop: Shop) -> None:
        slip = sqlite_shop.slip()
        draft = drafting.begin(sqlite_shop.book)
        locked = drafting.lock_pictures(sqlite_shop.book, draft, slip, sqlite_shop.file)
        done = recording.record(sqlite_shop.book, slip, draft, locked, answers=ANSWERS)
        public = [digest for pair in done.presented.public["pictures"] for digest in pair.values()]
        assert len(public) == 12
        mark = locked["item/1/picture/2"]
        key, _ = draft.keys["item"]
        opened = pictures.open_picture(
            sqlite_shop.book.folder,
            key,
            mark.file_received,
            book=sqlite_shop.book.origin,
            subject=draft.id,
            cls="item",
            picture_id=f"{mark.id}/received",
        )
        assert opened == sqlite_shop.read["ring-mark.jpg"]
        assert mark.received == hashlib.sha256(opened).hexdigest()
        assert check_book(sqlite_shop).notes == []

    def test_a_slip_that_stops_leaves_pictures_that_nobody_can_open(self, sqlite_shop: Shop) -> None:
        before = check_book(sqlite_shop).entries
        with pytest.raises(ForbiddenByLaw):
            sqlite_shop.record(("declaration.text", "They are mine."))
        assert len(files(sqlite_shop)) == 12
        with engines.reading(sqlite_shop.book.engine) as connection:
            kept = connection.execute(sa.select(tables.data_keys.c["class"])).scalars().all()
        assert kept == [], "their keys were never kept"
        check_book(sqlite_shop, entries=before)

    def test_what_is_no_picture_is_found_before_the_first_is_locked_away(self, sqlite_shop: Shop) -> None:
        sqlite_shop.read["chain.jpg"] = b"PK\x03\x04 a zip"
        with pytest.raises(InputError, match="^item/3/picture/1: "):
            sqlite_shop.record()
        assert files(sqlite_shop) == []

    def test_a_locked_book_locks_nothing_away(self, sqlite_shop: Shop) -> None:
        sqlite_shop.book.keys = None
        slip = sqlite_shop.slip()
        with pytest.raises(LockedError):
            drafting.lock_pictures(sqlite_shop.book, drafting.begin(sqlite_shop.book), slip, sqlite_shop.file)
        assert files(sqlite_shop) == []


class TestSigning:
    """The seller signs the text that was presented; the picture of the signature comes after."""

    def test_a_signature_is_locked_under_the_keys_of_the_presented_slip(self, shop: Shop) -> None:
        slip = shop.slip(SIGNED)
        draft = drafting.begin(shop.book)
        locked = drafting.lock_pictures(shop.book, draft, shop.slip(), shop.file)
        presented = recording.present(shop.book, slip, draft, locked, answers=ANSWERS)
        again = drafting.resume(shop.book, presented.slip)
        assert again.id == draft.id
        assert {cls: again.keys[cls][0] for cls in draft.keys} == {cls: key for cls, (key, _) in draft.keys.items()}
        signature = drafting.lock_signature(shop.book, again, slip, shop.file)
        assert list(signature) == ["declaration/signature"]
        done = recording.record_presented(shop.book, presented.slip, slip, signature, answers=ANSWERS)
        assert done.purchase is not None
        assert len(done.purchase.public["pictures"]) == 1
        with engines.reading(shop.book.engine) as connection:
            kept = reading.open_entry(connection, shop.book, done.purchase.seq).get("declaration/signature")
        assert kept["received"] == hashlib.sha256(shop.read["signed.jpg"]).hexdigest()
        check_book(shop)

    def test_a_slip_that_nobody_signed_on_a_pad_has_no_picture_of_it(self, sqlite_shop: Shop) -> None:
        presented, slip = sqlite_shop.present()
        again = drafting.resume(sqlite_shop.book, presented.slip)
        assert drafting.lock_signature(sqlite_shop.book, again, slip, sqlite_shop.file) == {}

    def test_no_draft_is_resumed_that_was_never_presented(self, sqlite_shop: Shop) -> None:
        with pytest.raises(InputError, match="slip: 1 was given"):
            drafting.resume(sqlite_shop.book, 1)
        sqlite_shop.book.keys = None
        with pytest.raises(LockedError):
            drafting.resume(sqlite_shop.book, 1)


class TestKeys:
    """Data key per slip x class; the id that a draft is given is its subject for life."""

    def test_each_class_of_a_slip_has_its_own_key_and_no_two_slips_share_one(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        sqlite_shop.record()
        row = tables.data_keys.c
        with engines.reading(sqlite_shop.book.engine) as connection:
            found = connection.execute(sa.select(row.subject, row["class"], row.wrapped)).all()
            drafts = {reading.subject_of_slip(connection, sqlite_shop.book.origin, slip) for slip in (1, 2)}
        assert Counter(cls for subject, cls, _ in found if subject in drafts) == Counter(
            dict.fromkeys(("seller", "print", "scan", "item", "money", "law"), 2)
        )
        assert len({bytes(wrapped) for _, _, wrapped in found}) == len(found)
