"""The dossier: one item's whole history, for one recipient, read as text; and looks, which are entries of their own."""

from dataclasses import replace
from datetime import datetime

import pytest

from ledger.acts import correcting, holding, inquiring, leaving, looking, paying, reporting, telling, undoing
from ledger.book import engine as engines
from ledger.book import reading
from ledger.errors import InputError, LockedError
from ledger.moments import local_text
from tests import shops, slip_samples
from tests.check_book import check_book
from tests.law_samples import recipient, rule
from tests.paper_tools import text_of
from tests.shops import ZONE, Shop

POLICE = telling.Request("Test Town Police", "Test Town Code 9 (invented)", reasons=True)
ALL = telling.Request("Test Town Police", "a warrant (invented)", parties=True)


def told(shop: Shop, line: int = 1, request: telling.Request = POLICE) -> str:
    return text_of(telling.tell(shop.book, 1, line, request, "letter", at=shop.local())[1])


class TestHistory:
    """One item's whole history, in the order of the book."""

    def test_what_was_corrected_is_said_before_the_line_as_it_was_entered(self, shop: Shop) -> None:
        # An officer who reads the first page alone must not go away with a number that the shop took back.
        shop.record()
        entry = correcting.correct(shop.book, 1, "item/1/description", {"damage": "a dent"}, "looked again")
        correcting.correct(shop.book, 1, "item/3/description", {"damage": "rust"}, "another item")
        said = told(shop)
        notice = f"Corrected by entry {entry.seq} should read a dent, not scratched all around"
        assert -1 < said.find("Item 1/1") < said.find(notice) < said.find("History, in time order")
        assert said.find(notice) < said.find("Weighed")
        assert "rust" not in said

    def test_everything_that_happened_to_the_item_stands_there_in_time_order(self, shop: Shop) -> None:
        shop.record()
        correcting.correct(shop.book, 1, "item/1/description", {"damage": "a dent"}, "looked again")
        correcting.correct(shop.book, 1, "item/3/description", {"damage": "rust"}, "another item")
        paying.settle(shop.book, 1, "paid", at=shop.local())
        leaving.move(shop.book, 1, 1, "safe 2", at=shop.local(), because="night", to_place="premises")
        leaving.move(shop.book, 1, 3, "bench", at=shop.local(), because="", to_place="premises")
        reporting.make(shop.book, "purchase-1.county-sheriff", "letter", at=shop.local())
        reporting.sent(shop.book, "purchase-1.county-sheriff", at=shop.local(), how="by hand")
        reporting.received(shop.book, "purchase-1.county-sheriff", at=shop.local(), who="the desk")
        shop.wait(days=20)
        leaving.out(shop.book, 1, 1, "sold", at=shop.local(), to="a refiner", because="")
        said = told(shop)
        events = [
            "Slip 1 with 3 items was frozen and shown to the seller.",
            "The purchase was entered in the book.",
            "item/1/description: damage scratched all around",
            "item/1/description should read: damage a dent. Reason: looked again.",
            "Paid: cheque, USD 218.50.",
            "From shop to safe 2. Reason: night.",
            "report made",
            "report sent",
            "report received",
            "Sold. To: a refiner.",
        ]
        places = [said.find(words) for words in events]
        assert -1 not in places, events[places.index(-1)] if -1 in places else ""
        assert places == sorted(places)
        for other in ("rust", "bench"):
            assert other not in said, "that is another item's history"
        assert "not to be sold, handed over" in said
        assert "before Thu 10 Dec 2026 00:00 America/Chicago" in said
        assert "none given" in told(shop, line=3)
        check_book(shop)

    def test_looks_inquiries_orders_and_cases_do_not(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        before = told(sqlite_shop)
        inquiring.ask(sqlite_shop.book, "ring 14K", {"agency": "Canary Agency", "officer": "Canary Officer"})
        asked = {
            "items": ["1/1"],
            "agency": "Canary Agency",
            "officer": "Canary Officer",
            "case": "CASE-CANARY",
            "power": "Canary Code",
            "from": local_text(sqlite_shop.local()),
            "form": "spoken",
        }
        holding.order(sqlite_shop.book, holding.read_order(asked))
        looking.look(sqlite_shop.book, "slip/1", "a canary's question")
        again = told(sqlite_shop)
        assert "anary" not in again
        assert "authority's order" not in again
        assert again.split("Seal ")[0] == before.split("Seal ")[0]

    def test_an_undone_purchase_and_one_that_was_not_completed_say_why(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        undoing.void(sqlite_shop.book, 1, "her sister's ring", at=sqlite_shop.local())
        said = told(sqlite_shop)
        assert "purchase undone" in said
        assert "Reason: her sister's ring." in said
        assert "Recovered: cheque, USD 218.50." in said
        presented, _ = sqlite_shop.present()
        undoing.withdraw(sqlite_shop.book, presented.slip, "a change of mind")
        request = telling.Request("A", "B", reasons=True)
        paper = telling.tell(sqlite_shop.book, presented.slip, 1, request, "a4", at=sqlite_shop.local())[1]
        assert "Reason: a change of mind." in text_of(paper)

    def test_what_a_hold_without_a_day_waits_for_is_said(self, bare_shop: Shop) -> None:
        body = 'to = "desk"\nper = "purchase"\ndue = { within = 48, unit = "hours" }\ntitle = "Report"'
        wait = 'length = 5\nunit = "days"\nforbids = ["sell"]\nstart = "report-received:desk"'
        shops.adopt(bare_shop, recipient("desk"), rule("report", "report", body), rule("hold", "waits", wait))
        bare_shop.record()
        said = told(bare_shop)
        assert "Sample Act s. 1: not to be sold until a time that waits for" in said
        assert "waiting for the desk's receipt of the report" in said

    def test_corrected_texts_stand_beside_each_other(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        correcting.correct(sqlite_shop.book, 1, "item/1/inscriptions", {"list": [{"text": "R fr B"}]}, "looked again")
        said = told(sqlite_shop)
        assert "item/1/inscriptions: R fr A 6.12.58 (inside of the band)" in said
        assert "should read: R fr B. Reason: looked again." in said


class TestReasons:
    """What the shop's people typed may tell more than a request's basis reaches: it is shown where it is asked for."""

    def test_reasons_are_withheld_unless_the_request_reaches_them(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        correcting.correct(sqlite_shop.book, 1, "item/1/description", {"damage": "a dent"}, "canary of a correction")
        at = sqlite_shop.local()
        leaving.move(sqlite_shop.book, 1, 1, "safe 2", at=at, because="canary of a move", to_place="premises")
        undoing.void(sqlite_shop.book, 1, "canary of a return", at=sqlite_shop.local())
        said = told(sqlite_shop, request=replace(POLICE, reasons=False))
        assert "canary" not in said
        assert "The reasons that the shop noted beside moves, corrections and returns." in said
        assert told(sqlite_shop).count("Reason: canary of a") == 3


class TestParties:
    """The parties are shown only as far as the request's basis goes."""

    def test_they_are_withheld_where_the_basis_does_not_reach_them(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        said = told(sqlite_shop)
        for word in ("Averill", "1984-02-29", "Quarry", "A417"):
            assert word not in said
        assert "The parties' data: the basis named does not reach them." in said

    def test_they_are_shown_where_it_does_but_for_what_nobody_may_be_shown(self, bare_shop: Shop) -> None:
        fields = 'fields = [{ fact = "seller.name", label = "Name" }, { fact = "seller.race", label = "Race" }]'
        limit = 'must_not = "show"\nfacts = ["seller.race"]\neffect = "notes"'
        shops.adopt(bare_shop, rule("ask", "form", fields), rule("limit", "kept-back", limit))
        document = slip_samples.document()["parties"][0]
        seller = {**document, "description": {**document["description"], "race": "Canary"}}
        varnham = {"family": "Varnham"}
        other = {"role": "co-seller", "kind": "person", "name": varnham, "description": {"race": "Canary"}}
        bare_shop.record(("parties", [seller, other]))
        said = told(bare_shop, request=ALL)
        assert "Name Jonah Averill" in said
        assert "Name (seller 2) Varnham" in said
        assert "Canary" not in said
        assert "does not reach them" not in said


class TestLooks:
    """Handing out a dossier is itself an entry, a look; so is opening personal data."""

    def test_who_got_it_and_why_lies_in_the_vault_under_an_id_of_its_own(self, shop: Shop) -> None:
        shop.record()
        entry, _ = telling.tell(shop.book, 1, 1, ALL, "letter", at=shop.local())
        assert (entry.kind, entry.public) == ("look/0", {})
        assert entry.about[0].startswith("look/")
        assert b"Police" not in entry.data
        with engines.reading(shop.book.engine) as connection:
            kept = reading.open_entry(connection, shop.book, entry.seq).get("look")
        assert {**kept, "at": ""} == {**ALL.record(), "item": "1/1", "at": ""}
        check_book(shop)

    def test_a_look_says_what_was_opened_and_why(self, sqlite_shop: Shop) -> None:
        entry = looking.look(sqlite_shop.book, "slip/1", "a customer's question")
        with engines.reading(sqlite_shop.book.engine) as connection:
            kept = reading.open_entry(connection, sqlite_shop.book, entry.seq).get("look")
        assert kept == {"what": "slip/1", "why": "a customer's question"}
        with pytest.raises(InputError, match="the reason why these data are looked at"):
            looking.look(sqlite_shop.book, "slip/1", " ")

    def test_nothing_is_told_of_an_item_that_is_not_there_nor_by_a_locked_book(self, sqlite_shop: Shop) -> None:
        before = check_book(sqlite_shop).entries
        with pytest.raises(InputError, match="item: '1/1' was given"):
            told(sqlite_shop)
        check_book(sqlite_shop, entries=before)
        sqlite_shop.record()
        sqlite_shop.book.keys = None
        with pytest.raises(LockedError):
            told(sqlite_shop)


def test_moments_are_told_in_the_zone_of_the_purchase(sqlite_shop: Shop) -> None:
    sqlite_shop.record()
    entry = leaving.move(
        sqlite_shop.book, 1, 1, "safe", at=datetime(2026, 11, 24, 9, 15, tzinfo=ZONE), because="", to_place="premises"
    )
    assert entry.occurred_at == "2026-11-24T09:15:00-06:00[America/Chicago]"
    assert told(sqlite_shop).count("Tue 24 Nov 2026 09:15") == 3, "presented, bought and moved"
