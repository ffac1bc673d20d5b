"""Answers a stolen-goods question: a pointer is for a person to judge, and every question is an entry of its own."""

from datetime import date

import pytest

from ledger.acts import inquiring, leaving
from ledger.book import engine as engines
from ledger.book import reading
from ledger.errors import InputError, LockedError
from ledger.identity import names
from tests import slip_samples
from tests.check_book import check_book
from tests.shops import Shop

ASKED = {"agency": "Canary Agency", "officer": "Canary Officer", "case": "CASE-CANARY-77"}


def pointers(shop: Shop, question: str) -> list[tuple[str, tuple[str, ...]]]:
    return [(f"{one.slip}/{one.line}", one.agrees) for one in inquiring.search(shop.book, question).pointers]


def ring(**changes: object) -> dict[str, object]:
    """The sample's ring, changed."""
    return {**slip_samples.document()["items"][0], **changes}


def buy(shop: Shop, *items: dict[str, object]) -> None:
    total = f"{180 * len(items)}.00"
    shop.record(("items", list(items)), ("tray.articles", len(items)), ("payout.amount", total))


class TestSearching:
    """Items whose descriptions bear the words of a question, most agreeing first."""

    def test_all_words_point_at_the_item_and_name_their_reasons(self, shop: Shop) -> None:
        shop.record()
        (found,) = inquiring.search(shop.book, "yellow ring 14K").pointers
        assert found.record() == {
            "item": "1/1",
            "words": "ring, yellow metal, plain band, marked 14K",
            "state": "in stock",
            "day": "2026-11-24",
            "agrees": ["yellow", "ring", "14k"],
            "of": 3,
        }
        leaving.out(shop.book, 1, 1, "stolen-or-lost", at=shop.local())
        assert inquiring.search(shop.book, "yellow ring 14K").pointers[0].state == "stolen or lost"

    @pytest.mark.parametrize(
        "question",
        ["YELLOW Ring", "14 kt.", "“14K” yellow ring!", "6/12/1958", "12.6.58", "r fr a 6.12.58", "ríng"],
    )
    def test_words_are_compared_after_folding(self, sqlite_shop: Shop, question: str) -> None:
        sqlite_shop.record()
        assert pointers(sqlite_shop, question)[0][0] == "1/1"

    def test_where_none_bears_all_words_half_of_them_is_enough_and_the_rarer_count_more(
        self, sqlite_shop: Shop
    ) -> None:
        buy(sqlite_shop, ring(), ring(style="braided"), ring(style="plain band", damage="a notch"))
        found = pointers(sqlite_shop, "braided notch yellow 14k")
        assert found == [
            ("1/2", ("braided", "yellow", "14k")),
            ("1/3", ("notch", "yellow", "14k")),
            ("1/1", ("yellow", "14k")),
        ]
        assert pointers(sqlite_shop, "braided platinum tiara diamonds") == []

    def test_a_word_that_very_many_bear_points_only_beside_another(
        self, sqlite_shop: Shop, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(inquiring, "_COMMON", 2)
        buy(sqlite_shop, ring(damage="a notch"), ring(), ring())
        assert pointers(sqlite_shop, "yellow platinum") == []
        assert pointers(sqlite_shop, "yellow notch platinum tiara") == [("1/1", ("yellow", "notch"))]
        assert len(pointers(sqlite_shop, "yellow")) == 3, "all words of the question agree"

    def test_only_so_many_are_shown(self, sqlite_shop: Shop) -> None:
        buy(sqlite_shop, ring(), ring(), ring())
        assert len(inquiring.search(sqlite_shop.book, "ring", most=2).pointers) == 2
        assert len(inquiring.search(sqlite_shop.book, "ring platinum", most=2).pointers) == 2

    def test_a_question_without_a_word_is_refused(self, sqlite_shop: Shop) -> None:
        with pytest.raises(InputError, match="wanted is words of a description: a mark, a colour, initials"):
            inquiring.search(sqlite_shop.book, " - ? ")

    def test_the_sellers_own_words_point_at_nothing(self, sqlite_shop: Shop) -> None:
        buy(sqlite_shop, ring(seller_says="grandmother's canary"))
        assert pointers(sqlite_shop, "canary") == []

    def test_it_needs_no_key_and_writes_nothing(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        before = check_book(sqlite_shop).entries
        sqlite_shop.book.keys = None
        answer = inquiring.search(sqlite_shop.book, "ring")
        assert (len(answer.pointers), answer.size) == (1, before)
        assert answer.seal is not None
        assert answer.seal.splitlines()[1] == str(before)


class TestAsking:
    """Question and answer are kept: "searched in entries 0 to N, nothing found" can be shown later."""

    def test_the_entry_names_only_its_own_id_and_the_vault_holds_question_and_answer(self, shop: Shop) -> None:
        shop.record()
        size = check_book(shop).entries
        answer, entry = inquiring.ask(shop.book, "ring 14K", ASKED)
        assert (entry.kind, entry.public, len(entry.parts)) == ("inquiry/0", {}, 2)
        (name,) = entry.about
        assert name.startswith("inquiry/")
        assert b"anary" not in entry.data
        with engines.reading(shop.book.engine) as connection:
            opened = reading.open_entry(connection, shop.book, entry.seq)
        assert opened.get("inquiry") == {"question": "ring 14K", "words": ["ring", "14k"], **ASKED}
        assert opened.get("answer")["found"] == [one.record() for one in answer.pointers]
        assert opened.get("answer")["entries"] == size
        check_book(shop, entries=size + 1)

    def test_nothing_found_is_an_answer_that_is_kept(self, shop: Shop) -> None:
        shop.record()
        answer, entry = inquiring.ask(shop.book, "platinum tiara", ASKED)
        assert answer.pointers == ()
        with engines.reading(shop.book.engine) as connection:
            kept = reading.open_entry(connection, shop.book, entry.seq).get("answer")
            sealed = reading.newest_seal(connection, shop.book.origin)
        assert (kept["found"], kept["entries"]) == ([], entry.seq)
        assert "at least half" in kept["rules"]
        assert sealed is not None
        assert sealed.splitlines()[1] == str(entry.seq + 1), "the newest seal covers the answer"

    def test_a_locked_book_keeps_no_question(self, sqlite_shop: Shop) -> None:
        sqlite_shop.book.keys = None
        with pytest.raises(LockedError):
            inquiring.ask(sqlite_shop.book, "ring", ASKED)


class TestReturning:
    """A seller is found again by the keyed digest of a document or of name and birth date."""

    def test_the_newest_slip_comes_first(self, shop: Shop) -> None:
        shop.record()
        shop.record()
        number = names.number_key("a417 2290 11")
        assert inquiring.returning(shop.book, "document", number) == [2, 1]
        person = names.person_key("Jonah  AVERILL", date(1984, 2, 29))
        assert inquiring.returning(shop.book, "person", person) == [2, 1]
        assert inquiring.returning(shop.book, "person", names.person_key("Jonah Averill", date(1984, 2, 28))) == []

    def test_a_seller_whose_name_is_not_known_is_found_by_a_document_alone(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        nameless = sqlite_shop.slip(("parties.0.name", {"not_known": "would not say"}))
        assert inquiring.sold_before(sqlite_shop.book, nameless) == [1]

    def test_a_locked_book_knows_nobody(self, sqlite_shop: Shop) -> None:
        sqlite_shop.book.keys = None
        with pytest.raises(LockedError):
            inquiring.returning(sqlite_shop.book, "document", "A")


class TestSoldBefore:
    """A returning seller is known by name and birth date, or by a document's number, without a name in clear."""

    def test_either_is_enough_and_neither_is_nobody(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        other_document = sqlite_shop.slip(("parties.0.documents.0.number", "Z999-000-111"))
        other_name = sqlite_shop.slip(("parties.0.name", {"family": "Quill", "given": "Ottilie"}))
        stranger = sqlite_shop.slip(
            ("parties.0.name", {"family": "Quill", "given": "Ottilie"}),
            ("parties.0.documents.0.number", "Z999-000-111"),
        )
        found = [inquiring.sold_before(sqlite_shop.book, slip) for slip in (other_document, other_name, stranger)]
        assert found == [[1], [1], []]
