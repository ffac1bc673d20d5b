"""CSV, JSON and NIEM XML of single values: what is missing, what cannot be written, whose an answer is.

Elements are those of NIEM 6.0 (OASIS NIEMOpen, niem-model 6.0-ps02); characters of XML those of XML 1.0, production 2.
"""

import csv
import io
import json
from dataclasses import replace
from types import SimpleNamespace
from typing import Any, cast

import pytest
from lxml import etree

from ledger.acts import filing
from ledger.errors import InputError
from ledger.measures import Money
from reports import niem, tabular
from reports.goods import Field, Item
from reports.purchase import PurchaseReport
from tests import paper_samples as samples
from tests.test_report_forms import texts, xml_of

AT = "2031-03-04T10:15:00-05:00[America/New_York]"


def purchase(*fields: Field, item: tuple[Field, ...] = (), goods: str = "", **changes: Any) -> PurchaseReport:
    """The sample's purchase with one item and other fields."""
    ring: Item = replace(samples.ring(), fields=item, goods=goods)
    paper = replace(samples.purchase(), report="purchase-12.desk", title="Report", fields=fields, items=(ring,))
    return replace(paper, **{"occurred_at": AT, **changes})


def seller(fact: str, value: str, *members: tuple[str, str], about: str = "seller") -> Field:
    return Field(fact.title(), value, fact=f"seller.{fact}", about=about, members=members or (("", value),))


def tree_of(paper: tabular.Paper) -> etree._Element:
    return xml_of(niem.niem_of(paper))


def row_of(paper: tabular.Paper) -> dict[str, str]:
    rows = list(csv.reader(io.StringIO(tabular.csv_of(paper).decode("utf-8-sig"), newline="")))
    return dict(zip(rows[0], rows[1], strict=True))


class TestCells:
    """A cell that a spreadsheet would run gets one apostrophe; taking one off gives the exact text back."""

    @pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "\n=1", "'", "'=1"])
    def test_what_would_run_is_defused(self, text: str) -> None:
        # The characters that OWASP's page on CSV injection names.
        assert tabular.defused(text) == f"'{text}"

    @pytest.mark.parametrize("text", ["", "14K", "R fr A", "a=b", "3-4", "永遠"])
    def test_everything_else_stays_as_it_is(self, text: str) -> None:
        assert tabular.defused(text) == text

    def test_a_required_field_that_nobody_filled_says_so(self) -> None:
        asked = Field("Occupation", None, True, "Ardmore County Code 7-3(a)(6)", "seller.workplace", "seller")
        row = row_of(purchase(asked, replace(asked, label="Vehicle", required=False, fact="seller.vehicle")))
        assert (row["Occupation"], row["Vehicle"]) == ("MISSING", "")

    def test_a_field_that_another_purchase_asks_is_empty(self) -> None:
        week = samples.weekly()
        first, second = (replace(one, items=(replace(samples.ring(), fields=()),)) for one in week.records)
        paper = replace(week, records=(replace(first, fields=(seller("name", "A"),)), replace(second, fields=())))
        rows = list(csv.DictReader(io.StringIO(tabular.csv_of(paper).decode("utf-8-sig"))))
        assert [row["Name"] for row in rows] == ["A", ""]

    def test_a_field_that_was_empty_before_its_correction_says_so(self) -> None:
        late = Field("Vehicle", None, fact="seller.vehicle", about="seller", reads=seller("vehicle", "a van"))
        row = row_of(purchase(late))
        assert (row["Vehicle"], row["Changed since it was entered"]) == ("a van", "Vehicle: entered as not recorded")


class TestJson:
    """What is asked and what is known of it, by name."""

    def test_a_field_that_lost_its_value_reads_null(self) -> None:
        field = replace(seller("vehicle", "a van"), reads=Field("Vehicle", None, fact="seller.vehicle", about="seller"))
        (said,) = json.loads(tabular.json_of(purchase(field)))["purchases"][0]["fields"]
        assert (said["value"], said["reads"], "known" in said) == ("a van", None, False)

    def test_an_item_without_an_assessment_has_none(self) -> None:
        paper = purchase()
        bare = replace(paper, items=(replace(paper.items[0], judgement=None),))
        assert json.loads(tabular.json_of(bare))["purchases"][0]["items"][0]["assessment"] is None

    def test_a_purchase_of_nothing_has_no_total(self) -> None:
        cover = json.loads(tabular.json_of(purchase(total="nothing")))["cover"]
        assert cover["totals"] == []


class TestElements:
    """Which answer goes into which element, and whose it is."""

    def test_a_further_seller_stands_by_himself(self) -> None:
        tree = tree_of(purchase(seller("name", "Ann"), seller("name", "Bob", about="party/2")))
        names = texts(tree, "//nc:ItemSeller/nc:EntityPerson/nc:PersonName/nc:PersonFullName")
        assert names == ["Ann", "Bob"]

    def test_looks_are_texts_as_they_were_given(self) -> None:
        looks = {
            "sex": "nc:PersonSexText",
            "race": "nc:PersonRaceText",
            "eyes": "nc:PersonEyeColorText",
            "hair": "nc:PersonHairColorText",
            "height": "nc:PersonHeightDescriptionText",
            "weight": "nc:PersonWeightDescriptionText",
            "marks": "nc:PersonPhysicalFeature/nc:PhysicalFeatureDescriptionText",
        }
        tree = tree_of(purchase(*(seller(fact, f"some {fact}") for fact in looks)))
        assert {fact: texts(tree, f"//{path}") for fact, path in looks.items()} == {f: [f"some {f}"] for f in looks}

    def test_documents_of_several_kinds_each_have_their_number(self) -> None:
        tree = tree_of(
            purchase(
                seller("document.type", "x", ("1", "passport"), ("2", "tribal-id"), ("3", "library card")),
                seller("document.number", "x", ("1", "P1"), ("2", "T2"), ("3", "L3")),
                seller("document.expires", "x", ("1", "2033-05-02"), ("2", "2034-06-03"), ("3", "2035-07-04")),
            )
        )
        number = "nc:IdentificationID"
        assert texts(tree, f"//nc:PersonPassportIdentification/{number}") == ["P1"]
        assert texts(tree, f"//nc:PersonOtherIdentification/{number}") == ["T2", "L3"]
        assert texts(tree, "//nc:PersonPassportIdentification/nc:IdentificationExpirationDate/nc:Date") == [
            "2033-05-02"
        ]
        kinds = texts(tree, "//nc:IdentificationCategoryDescriptionText")
        assert kinds == ["tribal identity card", "library card", "passport"]

    def test_an_answer_for_one_of_two_documents_stays_a_description(self) -> None:
        numbers = seller("document.number", "x", ("1", "A1"), ("2", "B2"))
        tree = tree_of(purchase(numbers, seller("document.issuer", "Tamarack", ("1", "Tamarack"))))
        assert texts(tree, "//nc:PersonOtherIdentification/nc:IdentificationID") == ["A1", "B2"]
        assert texts(tree, "//nc:IdentificationIssuerText") == []
        assert texts(tree, "//nc:ActivityDescriptionText") == ["Document.Issuer: Tamarack"]

    def test_jewelry_says_its_kind_and_its_stones(self) -> None:
        def of(fact: str, *members: tuple[str, str]) -> Field:
            return Field(fact.title(), "x", fact=f"item.{fact}", about="item/1", members=members)

        stones = of("stones", ("1/count", "3"), ("1/colour", "red"), ("1/cut", "rose"), ("1/shape", "round"))
        answers = (of("article", ("", "ring")), of("wearer", ("", "woman")), of("metal", ("", "gold")), stones)
        tree = tree_of(purchase(item=answers, goods="jewelry"))
        assert texts(tree, "//nc:Item/j:JewelryCategoryText") == ["ring"]
        assert texts(tree, "//nc:Item/j:JewelryGenderText") == ["woman"]
        assert texts(tree, "//nc:Item/j:JewelryStoneMaterialText") == ["gold"]
        assert texts(tree, "//j:JewelryStone/j:JewelryStoneQuantity") == ["3"]
        assert texts(tree, "//j:JewelryStone/j:JewelryStoneColorText") == ["red"]
        assert texts(tree, "//j:JewelryStone/j:JewelryStoneCutText") == ["rose"]
        assert texts(tree, "//j:JewelryStone/nc:ItemDescriptionText") == ["shape: round"]

    def test_a_coin_is_an_item_and_its_article_a_description(self) -> None:
        tree = tree_of(purchase(item=(Field("Article", "coin", fact="item.article", members=(("", "coin"),)),)))
        assert texts(tree, "//nc:Item/nc:ItemDescriptionText")[-1] == "Article: coin"

    def test_serials_makers_models_sizes_and_pieces_have_their_elements(self) -> None:
        serial = Field("Serial", "x", fact="item.serials", members=(("1/text", "117"), ("1/of", "case")))
        sizes = Field("Size", "9.5 us", fact="item.sizes", members=(("1/value", "9.5"),))
        others = {"maker": "nc:ItemMakeName", "model": "nc:ItemModelName", "pieces": "nc:ItemQuantity"}
        plain = [Field(name, "2", fact=f"item.{name}", members=(("", "2"),)) for name in others]
        tree = tree_of(purchase(item=(serial, sizes, *plain)))
        assert texts(tree, "//nc:ItemSerialIdentification/nc:IdentificationID") == ["117"]
        assert texts(tree, "//nc:ItemSizeDescriptionText") == ["9.5 us"]
        assert {name: texts(tree, f"//{path}") for name, path in others.items()} == {name: ["2"] for name in others}

    def test_a_picture_is_named_by_its_digest(self) -> None:
        tree = tree_of(purchase())
        assert texts(tree, "//nc:ItemImage/nc:BinaryHash/nc:BinaryHashCode") == ["11" * 32]
        assert texts(tree, "//nc:ItemImage/nc:BinaryHash/nc:BinaryHashFunctionCode") == ["SHA-256"]

    def test_an_item_without_pictures_weight_and_moment_has_no_elements_for_them(self) -> None:
        paper = purchase(occurred_at="")
        bare = replace(paper, items=(replace(paper.items[0], pictures=(), weighings=(), offer=""),))
        tree = tree_of(bare)
        for path in ("nc:ItemImage", "nc:ItemWeightMeasure", "nc:ActivityDate", "nc:ItemPurchasePriceValue"):
            assert texts(tree, f"//{path}") == []

    def test_what_was_undone_says_so(self) -> None:
        tree = tree_of(purchase(undone="Undone by entry 9."))
        assert texts(tree, "//nc:ActivityDescriptionText") == ["Undone by entry 9."]

    @pytest.mark.parametrize("character", ["\x00", "\x0b", "\x1b", "\ufffe"])
    def test_a_character_that_xml_cannot_hold_is_refused_by_its_number(self, character: str) -> None:
        with pytest.raises(InputError, match=f"U\\+{ord(character):04X}' was given; wanted is characters that XML"):
            niem.niem_of(purchase(seller("name", f"Ann{character}")))

    def test_markup_in_an_answer_stays_text(self) -> None:
        tree = tree_of(purchase(seller("name", "<b>&amp;</b>]]>")))
        assert texts(tree, "//nc:PersonFullName") == ["<b>&amp;</b>]]>"]


class TestHidden:
    """Which parts of a slip hold a fact that must not be shown."""

    @pytest.mark.parametrize(
        ("part", "fact"),
        [
            ("seller/print/1", "seller.captures.print"),
            ("party/2/document/1", "seller.document.number"),
            ("seller/phones", "seller.phone"),
            ("seller/description", "seller.race"),
            ("item/2/price", "item.price"),
            ("item/2/description", "item.marks"),
            ("declaration/text", "slip.declaration"),
            ("payout/amount", "slip.total"),
            ("visit", "slip.staff"),
        ],
    )
    def test_the_part_that_holds_it(self, part: str, fact: str) -> None:
        assert filing.tells_of(part, frozenset({fact}))

    @pytest.mark.parametrize(
        ("part", "fact"),
        [
            ("seller/name", "seller.race"),
            ("seller/description", "seller.name"),
            ("item/2/price", "item.marks"),
            ("item/2/description", "item.price"),
            ("declaration/text", "slip.total"),
            ("the purchase", "slip.total"),
            ("seller/name", "item.marks"),
        ],
    )
    def test_and_no_other(self, part: str, fact: str) -> None:
        assert not filing.tells_of(part, frozenset({fact}))


class TestTotals:
    """What was paid, a sum for each currency."""

    def test_currencies_are_not_added_to_each_other(self) -> None:
        paid = [Money("USD", 18000), Money("CAD", 100), None, Money("USD", 5)]
        wholes = [SimpleNamespace(slip=SimpleNamespace(total_taken=one)) for one in paid]
        assert filing.totals(cast(Any, wholes)) == ("CAD 1.00", "USD 180.05")
