"""The key of a book may change: the seal at the change bears both signatures, later ones the new key's.

The rule is FORMAT.md's, section 6; each book is also held against the stand-alone verifier, which was written from that
page alone.
"""

from typing import Any

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from ledger.acts import closing
from ledger.book import engine as engines
from ledger.book import tables, verifying
from ledger.book.pages import Book
from ledger.book.statements import put
from ledger.chain import seals
from tests import standalone_verifier
from tests.shops import Shop

NEW = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))
PUBLIC = NEW.public_key().public_bytes_raw()


def kept(book: Book, note: str) -> None:
    """Put a seal into the book as it is."""
    with engines.writing(book.engine, book.origin) as connection:
        put(connection, tables.seals, [(book.origin, seals.read_seal(note).size, note)])


def change(shop: Shop, *, old: str = "", by_old: bool = True, by_new: bool = True, keep: bool = True) -> None:
    """Announces NEW as the book's key, with a seal at the change by either key or both, and a later one by NEW."""
    book, keys = shop.book, shop.book.opened()
    with book.writing() as page:
        own = seals.vkey(book.origin, keys.public)
        public = {"vkey": seals.vkey(book.origin, PUBLIC), "old": old or own}
        page.append("key-changed/0", about=["book"], public=public)
        text = seals.checkpoint_text(book.origin, page.head.size, page.root())
        page.append("look/0", about=["look/1"], public={})
        later = seals.seal(book.origin, page.head.size, page.root(), PUBLIC, NEW.sign)
    note = seals.write_note(seals.Note(text, ()))
    note = seals.add_signature(note, book.origin, keys.public, keys.sign) if by_old else note
    note = seals.add_signature(note, book.origin, PUBLIC, NEW.sign) if by_new else note
    if keep:
        kept(book, note)
    kept(book, later)


def both(shop: Shop, **asked: Any) -> tuple[list[str], bool]:
    """What the program finds at the level chain, and whether the stand-alone verifier finds nothing there either."""
    found = verifying.audit(shop.book, levels=["chain"], **asked)
    stranger = [each for each in standalone_verifier.verify(shop.book.folder) if each["level"] == "chain"]
    return [str(fault) for fault in found.faults], stranger == []


class TestChange:
    """Seals over more entries than the change are by the new key, and only by it."""

    def test_a_change_that_both_keys_signed_is_sound(self, sqlite_shop: Shop) -> None:
        change(sqlite_shop)
        assert both(sqlite_shop) == ([], True)

    @pytest.mark.parametrize("lacking", ["by_old", "by_new"])
    def test_either_signature_that_lacks_is_a_fault(self, sqlite_shop: Shop, lacking: str) -> None:
        change(sqlite_shop, **{lacking: False})  # type: ignore[arg-type]
        found, agrees = both(sqlite_shop)
        assert ["is not signed by this book's key" in each for each in found] == [True]
        assert not agrees

    def test_a_change_without_its_seal_is_a_fault_for_anybody_could_announce_a_key(self, sqlite_shop: Shop) -> None:
        change(sqlite_shop, keep=False)
        old = seals.fingerprint(sqlite_shop.book.opened().public)
        found, agrees = both(sqlite_shop, key=old)
        assert ["the seal that both keys signed at this change is missing" in each for each in found] == [True]
        assert not agrees

    def test_the_retired_key_signs_nothing_more(self, sqlite_shop: Shop) -> None:
        change(sqlite_shop)
        with sqlite_shop.book.writing() as page:
            page.append("look/0", about=["look/1"], public={})
            page.seal()
        found, agrees = both(sqlite_shop)
        assert ["is not signed by this book's key" in each for each in found] == [True]
        assert not agrees

    def test_a_change_from_a_key_that_never_signed_is_a_fault(self, sqlite_shop: Shop) -> None:
        change(sqlite_shop, old=seals.vkey(sqlite_shop.book.origin, bytes(32)))
        found, _ = both(sqlite_shop)
        assert any("it changes a key that is not the one that signed until then" in each for each in found)

    def test_a_key_that_cannot_be_read_is_a_fault(self, sqlite_shop: Shop) -> None:
        change(sqlite_shop, old=f"{sqlite_shop.book.origin}+00000000+AAAA")
        found, _ = both(sqlite_shop)
        assert any("it announces no key that can be read" in each for each in found)


class TestOutside:
    """The fingerprint and the seals that left before the change still speak for the book."""

    def test_each_key_of_the_book_is_known_by_its_fingerprint(self, sqlite_shop: Shop) -> None:
        before = closing.seal(sqlite_shop.book)
        old = seals.fingerprint(sqlite_shop.book.opened().public)
        change(sqlite_shop)
        for fingerprint in (old, seals.fingerprint(PUBLIC)):
            assert both(sqlite_shop, key=fingerprint)[0] == []
        assert both(sqlite_shop, key="0" * 64)[0] != []
        assert both(sqlite_shop, against=before)[0] == []
        assert standalone_verifier.verify(sqlite_shop.book.folder, before) == []
