"""People who come, leave, or forgot a pass-phrase: keys file and book, in the order that a stop in between can mend."""

from datetime import date

import pytest

from ledger.acts import setting_up, staffing
from ledger.errors import InputError, LockedError, StorageError
from ledger.vault import keys_file
from ledger.vault.keys_file import Cost
from tests.shops import OWNER, Shop

CHEAP = Cost(64, 1, 1)
PHRASE = "a long pass-phrase of ben"
UNTIL = date(2026, 11, 24)


def join(shop: Shop, staff: str = "ben", role: str = "clerk") -> None:
    staffing.join(shop.book, shop.book.opened(), staff, role=role, name=staff, pass_phrase=PHRASE, cost=CHEAP)


def leave(shop: Shop, staff: str = "ben") -> staffing.Left:
    return staffing.leave(shop.book, shop.book.opened(), staff, UNTIL)


class TestJoining:
    """Whoever comes has a slot before the entry stands."""

    def test_she_works_here_and_opens_the_book(self, shop: Shop) -> None:
        join(shop)
        ben = next(one for one in staffing.people(shop.book) if one.staff == "ben")
        assert (ben.role, ben.until, ben.opens, ben.known) == ("clerk", None, True, False)
        assert keys_file.open_file(shop.book.folder / "keys.json", PHRASE, staff="ben").staff == "ben"

    def test_somebody_who_works_here_cannot_come_again(self, sqlite_shop: Shop) -> None:
        join(sqlite_shop)
        with pytest.raises(InputError, match="does not work here yet"):
            join(sqlite_shop)

    def test_a_stop_between_slot_and_entry_is_mended_by_doing_it_again(
        self, sqlite_shop: Shop, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def stops(*_: object) -> None:
            raise StorageError(path=sqlite_shop.book.folder, why="the power went")

        with monkeypatch.context() as patch:
            patch.setattr(setting_up, "add_person", stops)
            with pytest.raises(StorageError):
                join(sqlite_shop)
        assert staffing.has_slot(sqlite_shop.book, "ben")
        assert [one.staff for one in staffing.people(sqlite_shop.book)] == [OWNER]
        staffing.join(sqlite_shop.book, sqlite_shop.book.opened(), "ben", role="clerk", name="Ben", pass_phrase=None)
        assert [one.staff for one in staffing.people(sqlite_shop.book)] == [OWNER, "ben"]


class TestLeaving:
    """Whoever leaves is entered first, and then opens nothing."""

    def test_a_clerk_leaves(self, shop: Shop) -> None:
        join(shop)
        gone = leave(shop)
        assert (gone.had_slot, gone.paper_key) == (True, None)
        ben = next(one for one in staffing.people(shop.book) if one.staff == "ben")
        assert (ben.until, ben.opens) == ("2026-11-24", False)
        with pytest.raises(LockedError):
            keys_file.open_file(shop.book.folder / "keys.json", PHRASE, staff="ben")

    def test_an_owner_who_leaves_takes_the_paper_key_along_and_a_new_one_is_made(self, sqlite_shop: Shop) -> None:
        join(sqlite_shop)
        join(sqlite_shop, "eve", "owner")
        gone = leave(sqlite_shop, "eve")
        assert gone.paper_key is not None
        assert gone.paper_key not in repr(gone), "a secret stands in no log"
        path = sqlite_shop.book.folder / "keys.json"
        assert keys_file.open_with_paper(path, gone.paper_key).staff == keys_file.PAPER
        ben = next(one for one in staffing.people(sqlite_shop.book) if one.staff == "ben")
        assert ben.known, "she could know his key"

    def test_nobody_sends_herself_away_and_no_stranger_leaves(self, sqlite_shop: Shop) -> None:
        with pytest.raises(InputError, match="someone else than yourself"):
            leave(sqlite_shop, OWNER)
        with pytest.raises(InputError):
            leave(sqlite_shop, "nobody")

    def test_a_stop_between_entry_and_slot_is_mended_by_doing_it_again(
        self, sqlite_shop: Shop, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def stops(*_: object) -> None:
            raise StorageError(path=sqlite_shop.book.folder, why="the power went")

        join(sqlite_shop)
        with monkeypatch.context() as patch:
            patch.setattr(keys_file, "remove_person", stops)
            with pytest.raises(StorageError):
                leave(sqlite_shop)
        assert leave(sqlite_shop).had_slot
        assert not leave(sqlite_shop).had_slot, "a third time finds nothing to take away"


class TestResetting:
    """A new pass-phrase for whoever forgot hers; the old one opens nothing."""

    def test_the_new_one_opens_and_the_old_one_does_not(self, sqlite_shop: Shop) -> None:
        join(sqlite_shop)
        book = sqlite_shop.book
        book.keys = staffing.reset(book, book.opened(), "ben", "another long pass-phrase", cost=CHEAP)
        path = book.folder / "keys.json"
        assert keys_file.open_file(path, "another long pass-phrase", staff="ben").staff == "ben"
        with pytest.raises(LockedError):
            keys_file.open_file(path, PHRASE, staff="ben")

    def test_only_for_somebody_who_opens_the_book(self, sqlite_shop: Shop) -> None:
        with pytest.raises(InputError, match="one of those who open the book"):
            staffing.reset(sqlite_shop.book, sqlite_shop.book.opened(), "nobody", PHRASE)
