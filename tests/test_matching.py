"""Matches what was stolen against what was bought: a pointer with reasons, for a person to judge."""

import pytest

from ledger.acts import matching
from ledger.book import engine as engines
from ledger.book import reading
from ledger.errors import InputError, LockedError
from tests import slip_samples
from tests.check_book import check_book
from tests.shops import Shop

ASKED = {"agency": "Canary Agency", "officer": "Canary Officer", "case": "CASE-CANARY-78"}


def item(**changes: object) -> dict[str, object]:
    """The sample's ring, changed."""
    return {**slip_samples.document()["items"][0], **changes}


def buy(shop: Shop, *items: dict[str, object]) -> None:
    total = f"{180 * len(items)}.00"
    shop.record(("items", list(items)), ("tray.articles", len(items)), ("payout.amount", total))


class TestLines:
    """A list has one article a line, as text or as a table."""

    def test_text_is_read_line_by_line(self) -> None:
        assert matching.lines(b"gold ring\n\n  \nwatch, serial 4107\n") == ("gold ring", "watch, serial 4107")

    def test_a_table_is_read_row_by_row(self) -> None:
        assert matching.lines(b'ring,"gold, 14K",size 6\nwatch,,serial 4107\n') == (
            "ring, gold, 14K, size 6",
            "watch, serial 4107",
        )

    @pytest.mark.parametrize("data", [b"", b" \n\n", b"\xff\xfe\x00", b"ring\n" * 5_001])
    def test_what_is_no_list_is_refused_in_a_sentence(self, data: bytes) -> None:
        with pytest.raises(InputError, match="list"):
            matching.lines(data)

    def test_a_text_with_an_open_quote_is_a_text(self) -> None:
        assert matching.lines(b'rope chain 24" gold\nring 6" round\n') == ('rope chain 24" gold', 'ring 6" round')


class TestMatching:
    """The article is found under other words, and what disagrees stands beside what agrees."""

    def test_the_ring_is_found_by_its_inscription_though_names_were_recalled(self, shop: Shop) -> None:
        buy(shop, item(), item(article="brooch", style="bee", inscriptions=[], sizes=[], marks=[]))
        (found,) = matching.match(shop.book, ['Mom\'s wedding band, inside it says "To Ruth from Al 6-12-58"'])
        best = found.found[0]
        assert (best.slip, best.line) == (1, 1)
        assert best.likeness.strength == "strong"
        assert {"date", "initials RA"} <= set(best.likeness.agrees)

    def test_nothing_like_it_is_an_answer(self, shop: Shop) -> None:
        buy(shop, item())
        (found,) = matching.match(shop.book, ["silver candlestick, serial 99120"])
        assert found.found == ()

    def test_an_article_of_which_there_are_many_is_not_strong(self, sqlite_shop: Shop) -> None:
        plain = item(inscriptions=[], style="claddagh")
        for _ in range(6):
            buy(sqlite_shop, plain)
        (found,) = matching.match(sqlite_shop.book, ["claddagh ring"])
        assert {one.likeness.strength for one in found.found} == {"possible"}
        assert all(one.likeness.disagrees[-1].startswith("others in the book") for one in found.found)

    def test_a_corrected_description_is_found_under_its_new_words(self, sqlite_shop: Shop) -> None:
        buy(sqlite_shop, item(inscriptions=[{"text": "J+M 2011", "where": "inside"}]))
        (found,) = matching.match(sqlite_shop.book, ["ring, J & M 2011"])
        assert "initials JM" in found.found[0].likeness.agrees

    def test_common_traits_are_looked_for_in_pairs(self, sqlite_shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(matching, "_COMMON", 1)
        buy(sqlite_shop, item())
        buy(sqlite_shop, item())
        (found,) = matching.match(sqlite_shop.book, ['band "R fr A 6.12.58"'])
        assert found.found


class TestAsking:
    """A list that an authority brings is kept with its answer; the entry tells nothing of either."""

    def test_list_and_answer_are_kept_and_the_entry_is_silent(self, shop: Shop) -> None:
        buy(shop, item())
        found, entry = matching.ask(shop.book, ['band "R fr A 6.12.58"', "silver spoon"], ASKED)
        assert [len(one.found) > 0 for one in found] == [True, False]
        assert entry.kind == "inquiry/0"
        assert entry.public == {}
        with engines.reading(shop.book.engine) as connection:
            opened = reading.open_entry(connection, shop.book, entry.seq)
        assert opened.get("inquiry")["list"] == ['band "R fr A 6.12.58"', "silver spoon"]
        assert opened.get("answer")["found"][0]["pointers"][0]["item"] == "1/1"
        check_book(shop)

    def test_a_locked_book_keeps_no_inquiry(self, sqlite_shop: Shop) -> None:
        sqlite_shop.book.keys = None
        with pytest.raises(LockedError):
            matching.ask(sqlite_shop.book, ["ring"], ASKED)
