"""Corrects what an entry says, by a new entry: the old line stays readable."""

from datetime import date
from typing import Any

import pytest
import sqlalchemy as sa

from ledger.acts import correcting, gathering, handing_over, inquiring, paying, reporting, undoing
from ledger.book import engine as engines
from ledger.book import reading, tables
from ledger.chain.entries import Entry
from ledger.errors import InputError
from ledger.identity import names
from tests.check_book import check_book
from tests.paper_tools import text_of
from tests.shops import Shop

RING = "item/1/description"


def corrected(shop: Shop, part: str, **changes: Any) -> Entry:
    return correcting.correct(shop.book, 1, part, changes, "read again under the loupe")


def words_of(shop: Shop, question: str) -> list[tuple[int, int]]:
    return [(one.slip, one.line) for one in inquiring.search(shop.book, question).pointers]


class TestOldAndNew:
    """Corrections are new entries; the old line stays readable, struck through on paper."""

    def test_both_stand_in_the_book_and_the_slip_is_as_it_was(self, shop: Shop) -> None:
        recorded = shop.record()
        with engines.reading(shop.book.engine) as connection:
            before = gathering.whole(connection, shop.book, 1).slip
        entry = corrected(shop, RING, damage="a dent beside the mark")
        assert entry.public == {"corrects": recorded.presented.seq, "slip": 1}
        with engines.reading(shop.book.engine) as connection:
            whole = gathering.whole(connection, shop.book, 1)
            paper = text_of(
                handing_over.purchase_report(connection, shop.book, 1, "letter", copy="Shop's copy", recipient="shop")
            )
        (correction,) = whole.corrections
        assert whole.slip == before
        assert (correction.part, correction.seq, correction.by) == (RING, entry.seq, "ada")
        assert (correction.was["damage"], correction.now["damage"]) == (
            "scratched all around",
            "a dent beside the mark",
        )
        for words in ("Corrections", "scratched all around", "a dent beside the mark", "read again under the loupe"):
            assert words in paper
        check_book(shop)

    def test_a_second_correction_names_the_first(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        first = corrected(sqlite_shop, RING, damage="none")
        second = corrected(sqlite_shop, RING, damage="a dent")
        assert second.public["corrects"] == first.seq
        with engines.reading(sqlite_shop.book.engine) as connection:
            assert reading.open_entry(connection, sqlite_shop.book, second.seq).get("correction")["was"] == {
                **reading.open_entry(connection, sqlite_shop.book, first.seq).get("correction")["is"]
            }
        check_book(sqlite_shop)

    def test_what_came_with_the_recording_names_that_entry(self, sqlite_shop: Shop) -> None:
        recorded = sqlite_shop.record()
        entry = corrected(sqlite_shop, "item/1/conclusion", agrees=False, because="a second look")
        assert recorded.purchase is not None
        assert entry.public["corrects"] == recorded.purchase.seq

    def test_members_are_added_and_taken_out(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        corrected(sqlite_shop, RING, alteration="sized down", style=None)
        with engines.reading(sqlite_shop.book.engine) as connection:
            (made,) = handing_over.corrections(gathering.whole(connection, sqlite_shop.book, 1))
        assert (made.old, made.new) == ("plain band", "sized down")
        check_book(sqlite_shop)

    @pytest.mark.parametrize(
        ("part", "changes", "now"),
        [
            ("notes", {"text": "nobody waited"}, "nobody waited"),
            ("seller/email", {"text": "j@averill.example"}, "j@averill.example"),
            ("seller/birth_date", {"not_known": "worn"}, {"not_known": "worn"}),
            ("seller/phones", {"list": [{"number": "555 0143"}]}, [{"number": "555 0143"}]),
            ("seller/print/1", {"not_taken": "the pad was dry"}, None),
            ("item/1/inscriptions", {"not_known": "too fine to read"}, {"not_known": "too fine to read"}),
            ("payout/payee", {"text": "J. Averill"}, "J. Averill"),
        ],
    )
    def test_texts_lists_and_what_is_not_known(
        self, sqlite_shop: Shop, part: str, changes: dict[str, Any], now: Any
    ) -> None:
        sqlite_shop.record()
        entry = correcting.correct(sqlite_shop.book, 1, part, changes, "why")
        with engines.reading(sqlite_shop.book.engine) as connection:
            said = reading.open_entry(connection, sqlite_shop.book, entry.seq).get("correction")
        assert said["is"] == (now if now is not None else {**said["was"], **changes})
        check_book(sqlite_shop)

    def test_what_was_not_known_becomes_known(self, sqlite_shop: Shop) -> None:
        unknown = {"not_known": "card left at home"}
        sqlite_shop.record(("parties.0.vehicle", unknown))
        corrected(sqlite_shop, "seller/vehicle", plate="TMK 4417", region="Tamarack")
        check_book(sqlite_shop)


class TestDoor:
    """A correction passes the same door as a slip that is typed."""

    @pytest.mark.parametrize(
        ("part", "changes", "message"),
        [
            (RING, {"damage": "scratched all around"}, "^item/1/description: the same was given"),
            (RING, {"damag": "none"}, r"^items\[1\]: the member 'damag' was given; wanted is 'damage' or another"),
            (RING, {"pieces": "two"}, r"^items\[1\]\.pieces: 'two' was given"),
            (RING, {"weighings": "two"}, "^item/1/description: something of another shape was given"),
            (RING, {}, "^item/1/description: the same was given"),
            ("item/1/inscriptions", {"text": "A"}, "^item/1/inscriptions: text was given; wanted is the member 'list'"),
            ("seller/birth_date", {"text": "1984-02-30"}, r"^parties\[1\]\.birth_date: .* a day of the calendar"),
            ("seller/birth_date", {}, "^seller/birth_date: nothing was given; wanted is the member 'text'"),
            ("item/1/price", {"offer": {"currency": "USD"}}, "^item/1/price: something of another shape"),
            ("item/1/picture/1", {"shows": "front"}, "^part: .* the name of a part of slip 1 that a person wrote"),
            ("seller/photo/1", {"shows": "other"}, "^part: "),
            ("item/1/assessment", {"standing": "borne-out"}, "^part: "),
            ("duties", {"holds": []}, "^part: "),
            ("declaration/signature", {"on_paper": "form 13"}, "^part: "),
            ("item/9/description", {"damage": "none"}, "^part: 'item/9/description' was given"),
        ],
    )
    def test_what_would_be_no_slip_is_refused(
        self, sqlite_shop: Shop, part: str, changes: dict[str, Any], message: str
    ) -> None:
        sqlite_shop.record()
        before = reading_size(sqlite_shop)
        with pytest.raises(InputError, match=message) as fault:
            correcting.correct(sqlite_shop.book, 1, part, changes, "why")
        assert "Averill" not in str(fault.value)
        assert reading_size(sqlite_shop) == before

    @pytest.mark.parametrize("state", ["presented", "withdrawn", "voided"])
    def test_only_a_recorded_slip_is_corrected(self, bare_shop: Shop, state: str) -> None:
        if state == "voided":
            bare_shop.record()
            undoing.void(bare_shop.book, 1, "a change of mind", at=bare_shop.local())
        else:
            bare_shop.present()
        if state == "withdrawn":
            undoing.withdraw(bare_shop.book, 1, "a change of mind")
        with pytest.raises(InputError, match=rf"slip: 'slip 1, {state}' was given; wanted is a slip that is recorded"):
            corrected(bare_shop, RING, damage="none")


class TestWhatFollows:
    """Search words, weights, price, seller index and reports follow a correction."""

    def test_search_words_follow_descriptions_and_inscriptions(self, shop: Shop) -> None:
        shop.record()
        assert words_of(shop, "scratched") == [(1, 1)]
        corrected(shop, RING, damage="dented")
        assert (words_of(shop, "scratched"), words_of(shop, "dented")) == ([], [(1, 1)])
        corrected(shop, "item/1/inscriptions", list=[{"text": "R fr A 6.12.85", "where": "inside"}])
        assert (words_of(shop, "6.12.58"), words_of(shop, "6.12.85")) == ([], [(1, 1)])
        assert words_of(shop, "dented 14K") == [(1, 1)]
        check_book(shop)

    def test_weights_are_worked_out_again_and_the_price_is_the_corrected_one(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        weighed = {"value": "2.70", "unit": "dwt", "what": "gross", "scale": "scale-1", "paid_on": True}
        entry = corrected(sqlite_shop, RING, weighings=[weighed])
        corrected(sqlite_shop, "item/1/price", offer={"currency": "USD", "minor": 17_900})
        with engines.reading(sqlite_shop.book.engine) as connection:
            row = reading.item_row(connection, sqlite_shop.book.origin, 1, 1)
            said = reading.open_entry(connection, sqlite_shop.book, entry.seq).get("correction")
        # 1 dwt = 1.555 173 84 g exactly (NIST Handbook 44, Appendix C): 2.70 dwt are 4.198 969... g, here rounded.
        assert said["is"]["weighings"] == [{**weighed, "weight_mg": 4_199}]
        assert (row.gross_mg, row.net_mg, row.offer_minor) == (4_199, 4_199, 17_900)
        check_book(sqlite_shop)

    def test_the_total_follows_and_so_does_what_is_still_owed(self, shop: Shop) -> None:
        slip, payout = tables.slips.c, tables.payouts.c
        shop.record()
        shop.record()
        paying.settle(shop.book, 2, "paid", at=shop.local())
        for number in (1, 2):
            changes = {"currency": "USD", "minor": 21_800}
            correcting.correct(shop.book, number, "payout/amount", changes, "a slip of the pen")
        with engines.reading(shop.book.engine) as connection:
            totals = connection.execute(sa.select(slip.total_minor)).scalars().all()
            money = connection.execute(sa.select(payout.state, payout.minor).order_by(payout.slip)).all()
        assert list(totals) == [21_800, 21_800]
        assert [tuple(row) for row in money] == [("owed", 21_800), ("paid", 21_850)], "what was paid was paid"
        with pytest.raises(InputError):
            correcting.correct(shop.book, 1, "payout/amount", {"not_known": "lost"}, "no")
        check_book(shop)

    def test_a_seller_whose_document_or_birth_date_was_mistyped_is_found_by_the_right_one(
        self, sqlite_shop: Shop
    ) -> None:
        sqlite_shop.record()
        right = names.number_key("A417-2290-12")
        assert inquiring.returning(sqlite_shop.book, "document", right) == []
        corrected(sqlite_shop, "seller/document/1", number="A417-2290-12")
        corrected(sqlite_shop, "seller/document/1", issuer="Tamarack State")
        assert inquiring.returning(sqlite_shop.book, "document", right) == [1]
        corrected(sqlite_shop, "seller/birth_date", text="1984-02-28")
        person = names.person_key("Jonah Averill", date(1984, 2, 28))
        assert inquiring.returning(sqlite_shop.book, "person", person) == [1]
        corrected(sqlite_shop, "seller/name", family="Averil")
        person = names.person_key("Jonah Averil", date(1984, 2, 28))
        assert inquiring.returning(sqlite_shop.book, "person", person) == [1]
        check_book(sqlite_shop)

    def test_nothing_of_the_seller_comes_into_a_table_by_a_correction(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record(("items.0.seller_says", "it was Canary Smith's"))
        corrected(sqlite_shop, "seller/name", family="Canary")
        corrected(sqlite_shop, RING, seller_says="it was Canary Jones's", damage="none")
        with engines.reading(sqlite_shop.book.engine) as connection:
            for table in tables.PROJECTIONS:
                assert "Canary" not in repr(connection.execute(sa.select(table)).all()), table.name
        check_book(sqlite_shop)

    def test_reports_that_were_made_are_made_again(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        report = "purchase-1.county-sheriff"
        reporting.make(sqlite_shop.book, report, "letter", at=sqlite_shop.local())
        corrected(sqlite_shop, RING, damage="none")
        with pytest.raises(
            InputError, match="'purchase-1.county-sheriff, due' was given; wanted is a report that is made"
        ):
            reporting.sent(sqlite_shop.book, report, at=sqlite_shop.local(), how="by hand")
        reporting.make(sqlite_shop.book, report, "letter", at=sqlite_shop.local())
        reporting.sent(sqlite_shop.book, report, at=sqlite_shop.local(), how="by hand")
        corrected(sqlite_shop, RING, damage="a dent")
        (owed, *_) = reporting.owed(sqlite_shop.book, at=sqlite_shop.local())
        assert (owed.report, owed.state) == (report, "to correct")
        _, paper = reporting.make(sqlite_shop.book, report, "letter", at=sqlite_shop.local())
        assert "a dent" in text_of(paper)
        check_book(sqlite_shop)


def reading_size(shop: Shop) -> int:
    with engines.reading(shop.book.engine) as connection:
        return reading.size(connection, shop.book.origin)
