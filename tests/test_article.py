"""One article as the shop's own people see it: everything but its people, and these only after a look with a reason."""

import io

import pytest
from PIL import Image

from ledger.acts import article, holding, leaving
from ledger.acts.article import Article
from ledger.book import engine as engines
from ledger.book import reading, tables
from ledger.errors import InputError
from ledger.measures import Money
from tests import slip_samples
from tests.shops import Shop

SELLER = slip_samples.document()["parties"][0]["name"]


def seen(shop: Shop, line: int = 1) -> Article:
    return article.article(shop.book, 1, line, at=shop.local())


class TestArticle:
    """Description, weighings, assessment, strip, offer, place, holds, history."""

    def test_it_tells_of_the_goods_and_of_nobody(self, shop: Shop) -> None:
        shop.record()
        found = seen(shop)
        assert found.words.startswith("ring, yellow metal")
        assert (found.state, found.place, found.offer) == ("in stock", "shop", Money("USD", 18000))
        assert found.item is not None
        assert found.item.weighings
        assert found.strip.startswith("<svg")
        assert found.shown
        assert SELLER["family"] not in repr(found)

    def test_what_holds_it_is_told_until_it_is_over(self, shop: Shop) -> None:
        shop.record()
        assert any(runs for _, runs in seen(shop).holds)
        assert "waiting for" in seen(shop).leaves
        now = shop.local()
        asked = holding.OrderAsked(
            ((1, 1),), "Police", "Officer", "26-1", "section 1", now, None, "written", rule="none"
        )
        holding.order(shop.book, asked)
        assert any(says.startswith("Order ") and runs for says, runs in seen(shop).holds)

    def test_what_happened_to_it_stands_in_the_order_of_the_book(self, bare_shop: Shop) -> None:
        bare_shop.record()
        leaving.move(bare_shop.book, 1, 1, "wall safe", at=bare_shop.local(), because="for the night")
        told = [one.what for one in seen(bare_shop).history]
        assert told == ["presented to the seller", "bought", "moved from shop to wall safe: for the night"]
        bare_shop.book.keys = None
        assert [one.what for one in seen(bare_shop).history][-1] == "moved"

    def test_a_locked_book_tells_what_lies_in_clear(self, shop: Shop) -> None:
        shop.record()
        shop.book.keys = None
        found = seen(shop)
        assert (found.item, found.standing, found.strip, found.holds, found.melt) == (None, None, "", (), None)
        assert found.offer == Money("USD", 18000)

    def test_an_article_that_the_book_does_not_have(self, shop: Shop) -> None:
        with pytest.raises(InputError):
            seen(shop)

    def test_what_left_is_told_by_its_outcome_and_goods_that_came_back_too(self, after: Shop) -> None:
        told = {one.what for one in article.article(after.book, 1, 1, at=after.local()).history}
        assert "sold" in told
        assert "corrected" in told
        assert any(one.startswith("payout ") for one in told)


class TestPeople:
    """Opened after a look with a reason, which stands in the book."""

    def test_a_look_is_recorded_and_the_seller_is_told(self, shop: Shop) -> None:
        shop.record()
        found = article.people(shop.book, 1, 1, "the detective called back")
        assert found.entry.kind == "look/0"
        assert any(SELLER["family"] in str(field.value) for field in found.parties)
        assert found.has_it == ""
        with engines.reading(shop.book.engine) as connection:
            told = reading.open_entry(connection, shop.book, found.entry.seq).get("look")
        assert told == {"what": "slip/1", "why": "the detective called back"}

    def test_without_a_reason_nobody_is_told_and_nothing_is_written(self, shop: Shop) -> None:
        shop.record()
        with engines.reading(shop.book.engine) as connection:
            before = reading.size(connection, shop.book.origin)
        with pytest.raises(InputError):
            article.people(shop.book, 1, 1, "  ")
        with engines.reading(shop.book.engine) as connection:
            assert reading.size(connection, shop.book.origin) == before

    def test_who_has_it_now_is_told_where_it_was_said(self, bare_shop: Shop) -> None:
        bare_shop.record()
        leaving.out(bare_shop.book, 1, 1, "sold", at=bare_shop.local(), to="A buyer of the test")
        assert article.people(bare_shop.book, 1, 1, "a call").has_it == "A buyer of the test"
        assert "A buyer of the test" not in repr(seen(bare_shop))

    def test_what_was_forgotten_is_nobodys(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        key = tables.data_keys.c
        with sqlite_shop.book.engine.begin() as connection:
            connection.execute(tables.data_keys.delete().where(key["class"] == "seller"))
        sqlite_shop.book._data_keys.clear()  # a process that had opened it would still know it
        assert article.people(sqlite_shop.book, 1, 1, "a call").parties == ()
        found = seen(sqlite_shop)
        assert found.item is None
        assert found.words.startswith("ring")


class TestPictures:
    """The copy made for showing, of the goods alone."""

    def test_a_picture_opens_as_the_copy_that_was_shown(self, shop: Shop) -> None:
        shop.record()
        data, media_type = article.picture(shop.book, 1, 1, 1)
        assert media_type == "image/jpeg"
        assert Image.open(io.BytesIO(data)).size == (64, 48)

    def test_there_is_no_other(self, shop: Shop) -> None:
        shop.record()
        with pytest.raises(InputError, match="not forgotten"):
            article.picture(shop.book, 1, 1, 9)
