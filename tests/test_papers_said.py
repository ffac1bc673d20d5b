"""What each paper says, read back as text."""

import doctest
import importlib
import pkgutil
from dataclasses import fields, replace

import pytest

import reports
from ledger.errors import InputError
from reports import authority, day_sheet, declaration, dossier, goods, hold_list, label, page, purchase, stub
from reports.goods import Field
from tests import paper_samples as samples
from tests.paper_tools import NAMES, drawn, pages_of, text_of


class TestEveryPage:
    """Every page: shop and licence of that day, page x of y, book, entry, seal in short; which copy and for whom."""

    @pytest.mark.parametrize("name", [name for name in NAMES if name != "bag-label"])
    def test_carries_shop_licence_copy_book_seal_key_and_its_own_number(self, name: str) -> None:
        pages = pages_of(drawn(name))
        for number, text in enumerate(pages, 1):
            assert "Harrow Lane Metal Buyers" in text
            assert "Licence PM-0042, Town of Vessel Falls" in text
            assert "14 Harrow Lane, Vessel Falls, Ardmore County" in text
            assert samples.BOOK in text
            assert samples.SEAL_SHORT in text
            assert page.in_fours(samples.KEY) in text
            assert f"page {number} of {len(pages)}" in text
            assert ", for " in text

    @pytest.mark.parametrize("name", ["stub", "purchase-report", "dossier"])
    def test_names_the_entry_and_the_leaf_in_short(self, name: str) -> None:
        for text in pages_of(drawn(name)):
            assert "entry 41, leaf 3f2a 91c0 44d1 0b7e 5a21" in text

    def test_of_a_paper_about_many_entries_says_so(self) -> None:
        assert "entries up to the seal" in text_of(drawn("hold-list"))

    def test_of_a_book_without_a_seal_says_so(self) -> None:
        young = replace(samples.imprint(), seal_note="", seal_short="")
        text = text_of(declaration.draw(replace(samples.slip_page(), imprint=young)))
        assert "Seal: none had been made yet" in text
        assert "square code" not in text

    def test_says_where_no_licence_is_recorded(self) -> None:
        bare = replace(samples.stub(), imprint=replace(samples.imprint(), licence="", address=()))
        assert "No licence is recorded for this day" in text_of(stub.draw(bare))


class TestStub:
    """stub: the seller's copy of a recorded slip: number, hash, newest seal, key fingerprint (vocabulary)."""

    def test_lists_items_amounts_total_and_payout(self) -> None:
        text = text_of(drawn("stub"))
        for part in (
            "Stub of slip 12",
            "12/1 Ring, yellow metal, 1 piece, marked 14K, “R fr A 6.12.58” inside 6.30 g USD 212.40",
            "12/2 Goblet, yellow metal, 1 piece, marked STERLING 143.2 g not sold",
            "Total USD 212.40",
            "Payout cheque 1041, USD 212.40, handed to the seller",
            "until Sat 15 Mar 2031 00:00 America/New_York",
            f"counterfoil book verify --against {samples.SEAL_SHORT}",
        ):
            assert part in text

    def test_leaves_out_a_hold_it_was_not_given_and_prints_corrections(self) -> None:
        text = text_of(stub.draw(replace(samples.stub(), may_leave="", corrections=("Line 1 was corrected.",))))
        assert "The goods stay here" not in text
        assert "Line 1 was corrected." in text


class TestPurchaseReport:
    """The purchase report read as text holds every field that its rule file asks, each test with its figures."""

    def test_holds_every_field_in_the_order_given(self) -> None:
        text = text_of(drawn("purchase-report"))
        places = []
        for field in samples.purchase().fields:
            label_, value, _ = goods.field_row(field)
            assert f"{label_} {value}" in text
            places.append(text.index(f"{label_} {value}"))
        assert places == sorted(places)

    def test_prints_a_missing_required_field_as_missing_with_the_law_that_asks_it(self) -> None:
        text = text_of(drawn("purchase-report"))
        assert "Occupation MISSING (required by Ardmore County Code 7-3(a)(6))" in text
        assert "Stones MISSING (required by Ardmore County Code 7-3(b)(4))" in text
        assert "Vehicle not recorded" in text
        assert goods.field_row(Field("Name", None, True)) == ("Name", "MISSING (required)", True)

    def test_holds_each_test_with_its_figures_and_each_weighing(self) -> None:
        text = text_of(drawn("purchase-report"))
        for item in samples.purchase().items:
            for test in item.tests:
                for part in (test.name, test.instrument, test.by, test.at, test.where, *test.figures):
                    assert part in text
            for weighing in item.weighings:
                assert f"{weighing.what} {weighing.shown} {weighing.grams} {weighing.scale}" in text
        assert "10:04 paid on" in text

    def test_holds_assessment_reasons_tests_owed_conclusion_and_offer(self) -> None:
        text = text_of(drawn("purchase-report"))
        for item in samples.purchase().items:
            assert item.judgement is not None
            for part in (
                item.judgement.construction,
                item.judgement.interval,
                item.judgement.standing,
                *item.judgement.reasons,
                *item.judgement.owed,
                item.conclusion,
            ):
                assert part in text
        assert "Offer USD 212.40 May leave from" in text
        assert "Item 12/2 (not bought): Goblet" in text
        assert "Offer USD 88.00, declined" in text

    def test_holds_payout_instrument_declaration_duties_and_digests_in_full(self) -> None:
        text = text_of(drawn("purchase-report"))
        report = samples.purchase()
        for part in (
            "Instrument cheque 1041",
            "Total USD 212.40",
            report.declaration,
            report.signature,
            f"leaf hash {report.presented}",
            *report.duties,
            *(digest for _, digest in report.rule_files),
            *(f"received {picture.received}" for item in report.items for picture in item.pictures),
            *(f"shown {picture.shown}" for item in report.items for picture in item.pictures),
            *(picture.received for picture in report.captures),
        ):
            assert part in text

    def test_shows_a_correction_with_its_entry_person_and_reason(self) -> None:
        text = text_of(drawn("purchase-report"))
        assert "6.5 (US ring) 7 (US ring) Entry 44, Wed 5 Mar 2031 09:00, by P. Oduya: measured again" in text

    def test_without_declaration_duties_and_rules_has_no_empty_headings(self) -> None:
        bare = replace(
            samples.purchase(), declaration="", duties=(), rule_files=(), captures=(), corrections=(), items=()
        )
        text = text_of(purchase.draw(bare))
        for heading in ("Declaration of", "Duties, each", "Rule files", "Captures", "Corrections"):
            assert heading not in text

    def test_says_when_no_signature_is_recorded(self) -> None:
        text = text_of(purchase.draw(replace(samples.purchase(), signature="", presented="")))
        assert "Signature none recorded" in text
        assert "leaf hash" not in text

    def test_draws_an_item_of_which_little_is_known(self) -> None:
        little = goods.Item(3, "Chain, white metal", (), (), (), None, "", "", True, "", ())
        text = text_of(purchase.draw(replace(samples.purchase(), items=(little,))))
        assert "Item 12/3: Chain, white metal" in text
        assert "Assessment" not in text
        judged = goods.Judgement("undetermined", "", "not known", (), ("Weigh it.",), None)
        text = text_of(purchase.draw(replace(samples.purchase(), items=(replace(little, judgement=judged),))))
        assert "Assessment undetermined Against the mark not known Tests owed Weigh it." in text
        assert "Parts per thousand" not in text


class TestLabel:
    """bag label: item, may leave from, barcode; no seller data."""

    def test_says_item_and_when_it_may_leave(self) -> None:
        text = text_of(drawn("bag-label"))
        for part in (
            "Harrow Lane Metal Buyers",
            "Licence PM-0042",
            "Item 12/1",
            "Ring, yellow metal",
            "6.30 g, received Tue 4 Mar 2031 10:16",
            "safe B, tray 4",
            "May leave from Sat 15 Mar 2031 00:00 America/New_York",
            "Town of Vessel Falls Code 12-8",
            "Bag label, for the bag label 1 of 1",
            samples.BOOK,
            "entry 41, leaf 3f2a 91c0 44d1 0b7e 5a21",
            samples.SEAL_SHORT,
        ):
            assert part in text

    def test_has_no_place_for_a_seller(self) -> None:
        names = {field.name for field in fields(label.Label)}
        assert names == {"imprint", "item", "description", "weight", "received", "may_leave", "basis", "place"}
        said = text_of(drawn("bag-label"))
        for field in samples.purchase().fields:
            assert field.value is None or field.value not in said

    def test_cuts_a_description_that_is_too_long_and_says_so(self) -> None:
        text = text_of(label.draw([replace(samples.label(), description="flat curb links " * 90)]))
        assert "flat curb ..." in text.replace("links ...", "flat curb ...")
        assert "May leave from" in text

    def test_gives_each_bag_a_page_of_its_own(self) -> None:
        bags = [replace(samples.label(), item=f"12/{line}", place="", basis="") for line in (1, 2, 3)]
        pages = pages_of(label.draw(bags))
        assert [f"Item 12/{number}" in text for number, text in enumerate(pages, 1)] == [True] * 3
        assert "label 3 of 3" in pages[2]

    def test_leaves_out_the_entry_it_was_not_given(self) -> None:
        text = text_of(label.draw([replace(samples.label(), imprint=samples.imprint(entry=None))]))
        assert "entry" not in text
        assert samples.SEAL_SHORT in text

    def test_refuses_a_number_too_long_for_its_barcode(self) -> None:
        with pytest.raises(InputError, match="short enough for the label's barcode"):
            label.draw([replace(samples.label(), item="123456789/" + "ABC" * 8)])

    def test_refuses_an_empty_list(self) -> None:
        with pytest.raises(InputError, match="at least one label"):
            label.draw([])


class TestDaySheet:
    def test_has_a_line_for_every_item_and_the_counts(self) -> None:
        text = text_of(drawn("day-sheet"))
        assert "Slips recorded 2 Slips withdrawn 0 Items bought 3" in text
        for line in samples.day_sheet().lines:
            assert f"{line.entry} {line.slip}/{line.line} {line.time}" in text
        assert "(void)" in text
        assert "The vault was open at the close." in text

    def test_of_a_day_without_purchases_says_so(self) -> None:
        empty = replace(samples.day_sheet(), lines=())
        assert "No item was bought on this day." in text_of(day_sheet.draw(empty))


class TestAuthority:
    def test_the_weekly_report_holds_every_purchase_of_the_period(self) -> None:
        text = text_of(drawn("weekly-report"))
        for part in ("Report 2031-W10", "Purchases 2", "Items 3", "Slip 12", "Slip 13", "Item 13/2: Goblet"):
            assert part in text
        assert "Asked by Town of Vessel Falls Code 12-9, Town of Vessel Falls" in text
        assert "Due Tue 11 Mar 2031 12:00 America/New_York" in text
        assert "For the shop: name and signature" in text

    def test_a_corrected_weekly_report_shows_the_old_line(self) -> None:
        changed = replace(samples.weekly(), corrections=samples.purchase().corrections)
        assert "6.5 (US ring) 7 (US ring)" in text_of(authority.draw_weekly(changed))

    def test_the_nil_report_says_that_there_was_nothing_to_report(self) -> None:
        text = text_of(drawn("nil-report"))
        assert (
            "In the period Mon 10 Mar 2031 to Sun 16 Mar 2031 the shop's book holds no purchase that Town of Vessel"
            " Falls Code 12-9 asks the shop to report to Vessel Falls Police, property desk."
        ) in text
        assert "Slips refused 1" in text


class TestHoldList:
    def test_says_what_stays_until_when_and_why(self) -> None:
        text = text_of(drawn("hold-list"))
        for part in (
            "As of Thu 6 Mar 2031 09:00",
            "Items held 2",
            "cautious reading: 16",
            "BY ORDER",
            "Locket, yellow metal, heart",
            "No hold any more, still in the shop",
            "Coin, white metal",
        ):
            assert part in text

    def test_of_an_empty_safe_says_so(self) -> None:
        text = text_of(hold_list.draw(replace(samples.hold_list(), lines=(), free=())))
        assert "Nothing is held." in text
        assert "None." in text


class TestDossier:
    """dossier: one item's full history printed for an inquiry (vocabulary)."""

    def test_tells_the_history_in_the_order_given(self) -> None:
        text = text_of(drawn("dossier"))
        kinds = [text.index(event.kind) for event in samples.dossier().events]
        assert kinds == sorted(kinds)
        for event in samples.dossier().events:
            for part in (event.at, f"entry {event.entry}", f"by {event.by}", *event.sentences, *event.struck):
                assert part in text

    def test_names_recipient_and_basis_and_what_is_withheld(self) -> None:
        text = text_of(drawn("dossier"))
        assert "Made for Vessel Falls Police, detective desk" in text
        assert "On the basis of Town of Vessel Falls Code 12-11(c)" in text
        assert "Not shown to this recipient The prices of other items of this slip." in text

    def test_without_a_legal_basis_for_the_seller_shows_none(self) -> None:
        bare = replace(samples.dossier(), seller=(), withheld=("The seller.",), events=())
        text = text_of(dossier.draw(bare))
        assert "Birth date" not in text
        assert "Not shown to this recipient The seller." in text
        assert "Not shown" not in text_of(dossier.draw(replace(bare, withheld=())))

    def test_an_event_by_the_program_needs_no_name(self) -> None:
        event = replace(samples.dossier().events[0], by="", leaf="")
        pages = pages_of(dossier.draw(replace(samples.dossier(), events=(event,))))
        assert "by M. Castellane" not in pages[-1].split("History, in time order")[-1]


class TestSlipForSignature:
    def test_shows_what_the_signature_stands_for(self) -> None:
        text = text_of(drawn("slip-for-signature"))
        for part in (
            "Slip 12, for signature",
            "Birth date 1979-05-02",
            "12/2 Goblet",
            "I own these goods, they are free of any claim, and I am of age.",
            "This slip is entry 40 of the book; its leaf hash begins 77d0 a1b2 c3e4 f506 1728.",
            "Seller Day Clerk Day",
            "right thumb",
        ):
            assert part in text

    def test_has_no_room_for_a_print_where_the_law_asks_none(self) -> None:
        assert "thumb" not in text_of(declaration.draw(replace(samples.slip_page(), print_boxes=())))


LEAVES = ("stub", "purchase-report", "weekly-report", "nil-report", "dossier")
NO_RULES = ("bag-label", "answer-to-a-request", "receipt-for-goods", "shelf-check", "inspection")
"""papers that rest on no rule file"""


class TestCautions:
    """Cautions on law and assay stand on the papers they concern, with words that defer to local law and counsel."""

    @pytest.mark.parametrize("name", [name for name in NAMES if name not in NO_RULES])
    def test_on_law_stands_on_every_paper_that_rests_on_a_rule_file(self, name: str) -> None:
        text = text_of(drawn(name))
        assert "a person's reading of the law on a date" in text
        assert "The law in force decides" in text
        assert "ask a licensed lawyer or the authority" in text

    @pytest.mark.parametrize(
        "name", ["stub", "purchase-report", "day-sheet", "weekly-report", "dossier", "slip-for-signature"]
    )
    def test_on_assay_stands_on_every_paper_that_shows_a_fineness_or_a_price(self, name: str) -> None:
        assert "It is not a certified assay" in text_of(drawn(name))

    @pytest.mark.parametrize("name", [n for n in NAMES if n not in ("bag-label", "slip-for-signature")])
    def test_on_the_key_stands_on_every_paper_that_shows_a_seal_as_proof(self, name: str) -> None:
        text = text_of(drawn(name))
        assert "a signature by a key on the shop's own machine binds only against outsiders" in text

    @pytest.mark.parametrize("name", [*LEAVES, "answer-to-a-request", "for-inspection"])
    def test_on_what_cannot_be_proved_stands_on_what_leaves_the_shop(self, name: str) -> None:
        text = text_of(drawn(name))
        assert "a purchase never entered leaves no trace" in text
        assert "does not prove who showed it" in text


@pytest.mark.parametrize("name", [found.name for found in pkgutil.iter_modules(reports.__path__)])
def test_every_session_in_a_docstring_gives_what_it_says(name: str) -> None:
    assert doctest.testmod(importlib.import_module(f"reports.{name}")).failed == 0
