"""A negative answer can be checked years later, and none is given where anything agrees."""

import json

import pytest

from ledger.acts import answering
from ledger.errors import InputError, LockedError
from ledger.handed import verify
from tests import paper_tools
from tests.check_book import check_book
from tests.shops import Shop
from tests.test_extracting import files_of, names_in

ASKED = {"agency": "Canary Agency", "power": "s. 12", "case": "CASE-CANARY-79"}


class TestNothingFound:
    """Question, rules and the entries searched are an entry; a paper and an extract of it are handed out."""

    def test_the_answer_stands_in_the_book_and_in_an_extract_that_verifies(self, shop: Shop) -> None:
        shop.record()
        size = check_book(shop).entries
        answered = answering.nothing_found(
            shop.book, ["silver candlestick, serial 99120"], ASKED, "a4", at=shop.local()
        )
        assert answered.nothing
        assert answered.entry is not None
        assert answered.entry.seq == size
        found = verify.check(answered.extract)
        assert found.faults == []
        assert found.entries == 1
        assert names_in(answered.extract) == {"inquiry", "answer"}
        files = files_of(answered.extract)
        assert json.loads(files["entries.jsonl"])["kind"] == "inquiry/0"
        assert any(name.startswith("papers/nothing-found-") for name in files)
        check_book(shop)

    def test_the_paper_names_question_scope_and_limits(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        answered = answering.nothing_found(
            sqlite_shop.book, ["silver candlestick"], ASKED, "letter", at=sqlite_shop.local()
        )
        text = " ".join(paper_tools.text_of(answered.paper).split())
        assert "silver candlestick" in text
        assert f"entries 0 to {answered.entry.seq - 1} of the book" in text if answered.entry else False
        assert "was never entered" in text
        assert "Canary Agency, CASE-CANARY-79" in text

    def test_where_something_agrees_nothing_is_answered_and_nothing_kept(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        size = check_book(sqlite_shop).entries
        answered = answering.nothing_found(
            sqlite_shop.book, ['band "R fr A 6.12.58"', "silver spoon"], ASKED, "a4", at=sqlite_shop.local()
        )
        assert not answered.nothing
        assert answered.matched[0].found
        assert check_book(sqlite_shop).entries == size

    def test_a_word_that_articles_bear_and_nothing_compares_is_not_passed_over(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record(("items.0.style", "doorknob, ribbed"))
        size = check_book(sqlite_shop).entries
        for line in ("silver doorknob", "two silver doorknobs"):
            with pytest.raises(InputError, match="doorknob"):
                answering.nothing_found(sqlite_shop.book, [line], ASKED, "a4", at=sqlite_shop.local())
        assert check_book(sqlite_shop).entries == size

    def test_a_common_article_is_not_denied_where_the_book_has_one(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        for asked in ("plain gold ring", "14K yellow band"):
            answered = answering.nothing_found(sqlite_shop.book, [asked], ASKED, "a4", at=sqlite_shop.local())
            assert not answered.nothing, asked
            assert answered.matched[0].found[0].likeness.strength == "weak"

    def test_a_question_without_a_power_is_not_answered(self, sqlite_shop: Shop) -> None:
        with pytest.raises(InputError, match="power"):
            answering.nothing_found(sqlite_shop.book, ["spoon"], {"agency": "A"}, "a4", at=sqlite_shop.local())

    def test_a_locked_book_answers_nothing(self, sqlite_shop: Shop) -> None:
        sqlite_shop.book.keys = None
        with pytest.raises(LockedError):
            answering.nothing_found(sqlite_shop.book, ["spoon"], ASKED, "a4", at=sqlite_shop.local())
