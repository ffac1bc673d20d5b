"""The papers of one slip, read as text: what the seller signs, his stub, the labels, the purchase report."""

import hashlib
from dataclasses import replace
from datetime import UTC, datetime
from io import BytesIO
from typing import Any

import pytest
from pypdf import PdfReader

from ledger.acts import correcting, gathering, handing_over, holding, recording, setting_up, undoing
from ledger.book import engine as engines
from ledger.book import reading
from ledger.chain import seals
from ledger.errors import InputError
from ledger.shop import facts
from tests import shops, slip_samples
from tests.check_book import check_book
from tests.law_samples import rule
from tests.paper_tools import pages_of, text_of
from tests.shops import FACTS, Shop

SIGNED = ("declaration.signature", {"file": "signed.jpg"})


def report(shop: Shop, number: int = 1) -> str:
    with engines.reading(shop.book.engine) as connection:
        return text_of(
            handing_over.purchase_report(connection, shop.book, number, "letter", copy="Shop's copy", recipient="shop")
        )


def stub(shop: Shop, number: int = 1, sheet: str = "letter") -> str:
    with engines.reading(shop.book.engine) as connection:
        return text_of(handing_over.stub_paper(connection, shop.book, number, sheet))


def labels(shop: Shop, number: int = 1) -> list[str]:
    with engines.reading(shop.book.engine) as connection:
        return [" ".join(page.split()) for page in pages_of(handing_over.labels(connection, shop.book, number))]


class TestPurchaseReport:
    """The purchase report read as text holds every field that its rule files ask, in their order."""

    def test_every_field_that_is_asked_stands_there_in_the_order_of_the_files(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        said = report(sqlite_shop)
        # Norrowa Precious Goods Act s. 5 and Pellwick Town Code 7-3 and 7-4 (invented), in the files' own order.
        asked = (
            "Date and hour Tue 24 Nov 2026 09:15 America/Chicago",
            "Taken in by ada",
            "Paid in all USD 218.50",
            "Paid by cheque",
            "Name Jonah Averill",
            "Birth date 1984-02-29",
            "Residence 12 Quarry Lane, Harrow Falls Tamarack 00417, US",
            "Telephone 555 0142",
            "Document driver's licence",
            "Number of the document A417-2290-11",
            "Issued by Tamarack",
            "Print of the right thumb not known: thumb in plaster",
            "Picture of the seller taken",
            "Description ring, plain band",
            "Marks 14K",
            "Inscriptions R fr A 6.12.58",
            "Weight 4.20 g",
            "Price USD 180.00",
            "Marks not known: too many pieces to read each; several bear 925",
            "Pieces in the lot 23",
        )
        places = [said.find(words) for words in asked]
        assert -1 not in places, asked[places.index(-1)] if -1 in places else ""
        assert places == sorted(places)
        assert "MISSING" not in said

    def test_each_test_with_its_figures_each_weighing_and_the_payout(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        said = report(sqlite_shop)
        for words in (
            "inside: Au 584, Cu 257, Ag 119, Zn 40 per",
            "edge: Au 583, Cu 257, Ag 120, Zn 40 per thousand",
            "4.20 g in air, 3.88 g in water of 21 °C",
            "the scale reads to 0.01 g",
            "magnet no pull",
            "gross 4.05 dwt 6.298 g scale-1 paid on",  # 4.05 x 1.55517384 g (NIST Handbook 44, Appendix C)
            "stones 0.10 ct 0.02 g scale-2",
            "Instrument cheque",
            "Payee Jonah Averill",
            "Reference cheque 1207",
            "Total USD 218.50",
            "Conclusion of the shop agrees (ada)",
            "differs because taken as sterling by the marks seen",
            "USD 12.00, declined",
        ):
            assert words in said

    def test_the_digests_of_pictures_are_those_that_the_book_holds(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record(SIGNED)
        said = report(sqlite_shop)
        with engines.reading(sqlite_shop.book.engine) as connection:
            parts = gathering.whole(connection, sqlite_shop.book, 1).parts
        kept = [value for value in parts.values() if isinstance(value, dict) and "file_received" in value]
        assert len(kept) == 7
        for value in kept:
            assert value["received"] in said
            assert value["shown"] in said
        assert hashlib.sha256(sqlite_shop.read["ring-mark.jpg"]).hexdigest() in said
        assert f"picture kept, SHA-256 {hashlib.sha256(sqlite_shop.read['signed.jpg']).hexdigest()}" in said

    def test_a_required_field_that_nobody_filled_is_printed_as_missing(self, bare_shop: Shop) -> None:
        tables = [
            rule("ask", name, f'fields = [{{ {field} }}]\neffect = "notes"', source="Sample Act s. 8 (invented)")
            for name, field in (
                ("seller", 'fact = "seller.race", label = "Race"'),
                ("article", 'fact = "item.model", label = "Model"'),
            )
        ]
        shops.adopt(bare_shop, *tables)
        bare_shop.record()
        said = report(bare_shop)
        assert "Race MISSING (required by Sample Act s. 8 (invented))" in said
        assert "Model MISSING (required by Sample Act s. 8 (invented))" in said

    def test_what_was_never_said_is_missing_and_what_is_not_known_says_why(self, bare_shop: Shop) -> None:
        city = 'fields = [{ fact = "seller.address.city", label = "City" }]\neffect = "notes"'
        shops.adopt(bare_shop, rule("ask", "city", city))
        bare_shop.record(("parties.0.address", slip_samples.GONE))
        bare_shop.record(("parties.0.address", {"not_known": "travelling"}))
        bare_shop.record()
        said = [report(bare_shop, number) for number in (1, 2, 3)]
        for text, words in zip(said, ("MISSING", "not known: travelling", "Harrow Falls"), strict=True):
            assert f"City {words}" in text

    def test_a_text_that_was_corrected_stands_beside_the_new_one(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        correcting.correct(sqlite_shop.book, 1, "payout/payee", {"text": "J. Averill senior"}, "misheard")
        assert "Corrections payout/payee Jonah Averill J. Averill senior Entry 8" in report(sqlite_shop)

    def test_everybody_who_is_asked_stands_there(self, bare_shop: Shop) -> None:
        facts_ = {"seller.name": "Seller", "principal.name": "Acting for", "guardian.name": "Guardian"}
        asked = {**facts_, "shop.county": "County of the shop"}
        tables = [
            rule("ask", fact.replace(".", "-"), f'fields = [{{ fact = "{fact}", label = "{label}" }}]')
            for fact, label in asked.items()
        ]
        shops.adopt(bare_shop, *tables)
        who = [("co-seller", "Varnham"), ("principal", "Quill"), ("guardian", "Orme")]
        others = [{"role": role, "kind": "person", "name": {"family": name}} for role, name in who]
        bare_shop.record(("parties", [slip_samples.document()["parties"][0], *others]))
        said = report(bare_shop)
        for words in (
            "Seller Jonah Averill",
            "Seller (seller 2) Varnham",
            "Acting for Quill",
            "Guardian Orme",
            "County of the shop Tamsett",
        ):
            assert words in said

    @pytest.mark.parametrize(
        ("signature", "words"),
        [
            ({"on_paper": "form 12"}, "Signature on paper: form 12"),
            ({"not_taken": "his hand was hurt"}, "Signature not taken: his hand was hurt"),
            (slip_samples.GONE, "Signature none recorded"),
        ],
    )
    def test_how_it_was_signed(self, bare_shop: Shop, signature: Any, words: str) -> None:
        bare_shop.record(("declaration.signature", signature))
        assert words in report(bare_shop)

    def test_a_slip_on_which_nothing_was_taken_pays_nothing(self, bare_shop: Shop) -> None:
        declined = [("items.0.offer.answer", "declined"), ("items.2.offer.answer", "declined")]
        bare_shop.record(*declined, ("payout", slip_samples.GONE), ("declaration", slip_samples.GONE))
        said = report(bare_shop)
        assert "Total nothing" in said
        assert "Declaration of the seller" not in said
        with pytest.raises(InputError):
            labels(bare_shop)

    def test_an_undone_purchase_says_so(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        undoing.void(sqlite_shop.book, 1, "the ring was her sister's", at=sqlite_shop.local())
        said = report(sqlite_shop)
        assert "undone: the goods went back to the seller" in said
        assert "the ring was her sister's" in said
        assert "Undone by entry 8: the goods went back." in stub(sqlite_shop)

    def test_it_is_drawn_of_a_recorded_slip_only(self, sqlite_shop: Shop) -> None:
        sqlite_shop.present()
        for paper in (report, stub, labels):
            with pytest.raises(InputError, match="'slip 1, presented' was given; wanted is a slip that was recorded"):
                paper(sqlite_shop)

    def test_the_same_record_gives_the_same_bytes_dated_by_the_record(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        with engines.reading(sqlite_shop.book.engine) as connection:
            first = handing_over.stub_paper(connection, sqlite_shop.book, 1, "letter")
            sqlite_shop.wait(days=400)
            again = handing_over.stub_paper(connection, sqlite_shop.book, 1, "letter")
        assert first == again
        info = PdfReader(BytesIO(first)).metadata
        assert info is not None
        assert info.creation_date == datetime(2026, 11, 24, 15, 15, 4, tzinfo=UTC)


class TestStub:
    """The seller's stub carries the newest seal, so that people outside are the co-signers."""

    def test_it_names_goods_money_and_the_newest_seal(self, shop: Shop) -> None:
        done = shop.record()
        said = stub(shop, sheet="a4")
        sealed = seals.read_seal(done.seal)
        for words in (
            "1/1 ring, yellow metal, plain band, marked 14K 4.20 g USD 180.00",
            "not sold",
            "Payout cheque 1207, USD 218.50",
            f"Newest seal, in short {seals.short_form(sealed.size, sealed.root)}",
            "The goods stay here no date yet: waiting for the county sheriff's receipt of the report",
        ):
            assert words in said
        check_book(shop)

    def test_it_names_what_was_corrected(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        entry = correcting.correct(sqlite_shop.book, 1, "item/1/description", {"damage": "none"}, "looked again")
        assert f"Corrected by entry {entry.seq}: item/1/description." in stub(sqlite_shop)

    def test_both_readings_of_a_hold_are_shown_where_they_differ(self, bare_shop: Shop) -> None:
        arguable = (
            'length = 4\nunit = "days"\nforbids = ["sell"]\n'
            'readings = [{ reason = "Counted from one.", basis = "invented", length = 9, unit = "days" }]'
        )
        shops.adopt(bare_shop, rule("hold", "arguable", arguable))
        bare_shop.record()
        said = stub(bare_shop)
        # Four and nine days after the day of purchase, 24 November 2026, counted by hand.
        assert "Fri 4 Dec 2026 00:00 America/Chicago (cautious), Sun 29 Nov 2026 00:00 America/Chicago (plain)" in said

    def test_a_paper_bears_the_shops_facts_of_the_slips_day(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        later = FACTS.replace(b"from = 2026-01-01", b"from = 2026-11-25").replace(b"The Test Counter", b"The New One")
        setting_up.set_facts(sqlite_shop.book, facts.read(later))
        sqlite_shop.wait(days=1)
        sqlite_shop.record()
        assert ["The New One" in stub(sqlite_shop, number) for number in (1, 2)] == [False, True]

    def test_a_book_without_a_seal_hands_nothing_out(self, sqlite_shop: Shop) -> None:
        done = sqlite_shop.record()
        with engines.reading(sqlite_shop.book.engine) as connection:
            found = gathering.whole(connection, sqlite_shop.book, 1)
            with pytest.raises(InputError, match="seal: 'none' was given; .* `counterfoil book seal`"):
                handing_over.imprint(
                    connection,
                    replace(sqlite_shop.book, origin="counterfoil/" + "0" * 32),
                    found.shop,
                    done.purchase,
                    copy="",
                    recipient="",
                    at=sqlite_shop.local(),
                )


class TestLabels:
    """Bag label: item, may leave from, barcode; no seller data."""

    def test_one_for_each_item_that_was_bought_and_nothing_of_the_seller(self, shop: Shop) -> None:
        slip = shop.slip()
        shop.record(slip=slip)
        ring, chain = labels(shop)
        assert "Item 1/1 ring, yellow metal, plain band, marked 14K 4.20 g" in ring
        assert "Item 1/3 broken chain" in chain
        # Whatever names the sample's seller, his document, where he lives, how he is paid.
        for word in ("Jonah", "Averill", "1984", "Quarry", "A417", "0142", "sawmill", "TMK", "180.00", "cheque"):
            assert word not in ring + chain

    def test_a_label_follows_corrections_moves_receipts_and_orders(self, bare_shop: Shop) -> None:
        shops.adopt(bare_shop, rule("hold", "five-days", 'length = 5\nunit = "days"\nforbids = ["sell"]'))
        bare_shop.record()
        assert "May leave from Mon 30 Nov 2026 00:00 America/Chicago" in labels(bare_shop)[0]
        correcting.correct(bare_shop.book, 1, "item/1/description", {"style": "braided band"}, "looked again")
        order = holding.OrderAsked(((1, 1),), "Canary", "Canary", "", "power", bare_shop.local(), None, "spoken")
        holding.order(bare_shop.book, order)
        ring, chain = labels(bare_shop)
        assert "braided band" in ring
        assert "May leave from held by an authority's order" in ring
        assert "Canary" not in ring
        assert "held by" not in chain


class TestPageToSign:
    """The frozen slip for the seller's signature: its number and its leaf hash in short."""

    def test_it_names_the_presented_entry_also_after_the_purchase_is_recorded(self, shop: Shop) -> None:
        presented, slip = shop.present()
        leaf = presented.presented.leaf.hex()
        words = f"This slip is entry {presented.presented.seq} of the book; its leaf hash begins {leaf[:4]} {leaf[4:8]}"
        for _ in range(2):
            with engines.reading(shop.book.engine) as connection:
                said = text_of(handing_over.slip_page(connection, shop.book, 1, "letter"))
                state = reading.slip_row(connection, shop.book.origin, 1).state
            assert words in said
            assert "Declaration I own these goods, I may sell them" in said
            assert "Payout agreed cheque 1207, USD 218.50" in said
            if state == "presented":
                recording.record_presented(shop.book, 1, slip, {}, answers={})

    def test_a_slip_without_declaration_or_payout_has_a_page_too(self, bare_shop: Shop) -> None:
        declined = [("items.0.offer.answer", "declined"), ("items.2.offer.answer", "declined")]
        bare_shop.present(*declined, ("payout", slip_samples.GONE), ("declaration", slip_samples.GONE))
        with engines.reading(bare_shop.book.engine) as connection:
            said = text_of(handing_over.slip_page(connection, bare_shop.book, 1, "a4"))
        assert "Slip 1, for signature" in said
