"""A seller who was here before: found through the blind index, and copied only after a look stands in the book."""

import pytest

from ledger.acts import returning
from ledger.book import engine as engines
from ledger.book import reading
from ledger.errors import InputError
from tests.shops import Shop


def found(shop: Shop) -> list[int]:
    """The slips of the sample's seller, by name and birth date."""
    seller = shop.slip().seller
    return returning.slips_of(
        shop.book, numbers=[], name=str(getattr(seller.name, "full", "")), birth=f"{seller.birth_date}"
    )


def entries(shop: Shop) -> int:
    """How many entries the book holds: a look is one."""
    with engines.reading(shop.book.engine) as connection:
        return reading.size(connection, shop.book.origin)


class TestReturning:
    """Found by document number or name and birth date; shown after a look."""

    def test_a_seller_is_found_by_either(self, sqlite_shop: Shop) -> None:
        assert found(sqlite_shop) == []
        sqlite_shop.record()
        number = str(sqlite_shop.slip().seller.documents[0].number)
        assert found(sqlite_shop) == [1]
        assert returning.slips_of(sqlite_shop.book, numbers=["", number.lower()], name="", birth="") == [1]

    @pytest.mark.parametrize(("name", "birth"), [("", "1984-02-29"), ("A B", "soon"), ("Nobody Known", "1984-02-29")])
    def test_what_is_blank_or_wrong_finds_nothing(self, sqlite_shop: Shop, name: str, birth: str) -> None:
        sqlite_shop.record()
        assert returning.slips_of(sqlite_shop.book, numbers=["000"], name=name, birth=birth) == []

    def test_what_is_copied_was_looked_at(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        before = entries(sqlite_shop)
        members = returning.copy(sqlite_shop.book, 1, why="sells again", among=[1])
        assert entries(sqlite_shop) == before + 1
        assert members["address"]["city"] == getattr(sqlite_shop.slip().seller.address, "city", None)
        assert "name" not in members
        assert "documents" not in members

    def test_nothing_is_copied_without_a_reason_or_from_another_slip(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        before = entries(sqlite_shop)
        with pytest.raises(InputError, match="reason"):
            returning.copy(sqlite_shop.book, 1, why=" ", among=[1])
        with pytest.raises(InputError, match="slip of this seller"):
            returning.copy(sqlite_shop.book, 1, why="sells again", among=[])
        assert entries(sqlite_shop) == before
