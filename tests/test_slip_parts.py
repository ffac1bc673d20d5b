"""The parts of a slip: one for each thing that somebody may see without the rest."""

import json
from typing import Any

import pytest

from ledger.chain import canonical
from ledger.chain import parts as chain_parts
from ledger.errors import InputError
from ledger.slip import parts, rebuilding
from ledger.slip.document import Signature
from ledger.slip.parts import PictureRecord
from tests.slip_samples import GONE, document, slip

D = "ab" * 32


def records(read: Any) -> dict[str, PictureRecord]:
    """A record for each picture that a slip names."""
    return {a.part: PictureRecord("image/jpeg", 9, D, D, D, D, "00" * 16, a.cls) for a in parts.pictures(read)}


def presented(*changes: tuple[str, Any], **handed: Any) -> dict[str, Any]:
    """The presented parts of the sample with changes, by name."""
    read = slip(*changes)
    named = parts.presented_parts(
        read, assessments=handed.get("assessments", {}), values=handed.get("values", {}), pictures=records(read)
    )
    assert len(dict(named)) == len(named)
    return dict(named)


class TestPresentedParts:
    """Each seller field; per item description, inscriptions, evidence, assessment, price; pictures one by one."""

    def test_the_names_are_those_of_the_books_format(self) -> None:
        names = list(presented())
        assert names == [
            "visit", "notes", "spot",
            "seller/role", "seller/name", "seller/birth_date", "seller/address", "seller/phones", "seller/email",
            "seller/workplace", "seller/description", "seller/vehicle", "seller/document/1",
            "seller/photo/1", "seller/print/1", "seller/scan/1", "seller/obtained",
            "item/1/description", "item/1/inscriptions", "item/1/evidence", "item/1/price", "item/1/picture/1",
            "item/1/picture/2",
            "item/2/description", "item/2/inscriptions", "item/2/evidence", "item/2/price", "item/2/picture/1",
            "item/3/description", "item/3/evidence", "item/3/price", "item/3/picture/1",
            "declaration/text", "payout/method", "payout/payee", "payout/amount", "payout/reference",
        ]  # fmt: skip
        assert all(chain_parts.is_part_name(name) for name in names)

    def test_no_part_of_the_goods_holds_anything_of_the_seller_or_the_price(self) -> None:
        for name, value in presented().items():
            if name.startswith("item/") and not name.endswith("/price"):
                text = json.dumps(value)
                assert "Averill" not in text
                assert "grandfather" not in text
                assert "180.00" not in text

    def test_the_vault_class_of_each_part_is_that_of_whom_it_concerns(self) -> None:
        classes = {name: chain_parts.class_of(name) for name in presented()}
        assert classes["seller/birth_date"] == classes["seller/photo/1"] == classes["seller/obtained"] == "seller"
        assert (classes["seller/print/1"], classes["seller/scan/1"]) == ("print", "scan")
        assert classes["item/1/description"] == classes["item/1/picture/1"] == "item"
        assert classes["item/1/price"] == classes["payout/amount"] == classes["spot"] == "money"

    def test_values_are_as_the_book_holds_them(self) -> None:
        named = presented()
        assert named["visit"]["occurred_at"] == "2026-11-24T10:15:00-06:00[America/Chicago]"
        assert named["seller/birth_date"] == "1984-02-29"
        assert named["seller/email"] == {"not_known": "has none"}
        assert named["payout/amount"] == {"currency": "USD", "minor": 21_850}
        price = {"offer": {"currency": "USD", "minor": 18_000}, "answer": "taken", "gross_mg": 4200, "net_mg": 4200}
        assert named["item/1/price"] == price
        # 4.05 dwt: 24 grains of 64.79891 mg each, NIST Handbook 44 Appendix C; the scale's own text stands first.
        assert named["item/2/description"]["weighings"][0] == {
            "what": "gross", "value": "4.05", "unit": "dwt", "weight_mg": 6298, "scale": "scale-1", "paid_on": True,
        }  # fmt: skip
        assert named["item/1/description"]["sizes"][1] == {"what": "width", "value": "4", "unit": "mm", "um": 4000}

    def test_looked_and_none_stays_apart_from_nothing_said(self) -> None:
        named = presented()
        assert named["item/2/inscriptions"] == []
        assert "item/3/inscriptions" not in named
        assert named["item/1/description"]["stones"] == []
        assert "serials" not in named["item/1/description"]
        assert named["item/3/description"]["marks"] == {"not_known": "too many pieces to read each; several bear 925"}

    def test_the_weight_of_stones_has_milligrams_beside(self) -> None:
        stones = [{"count": 1, "carats": "1.01"}]
        described = presented(("items.0.stones", stones))["item/1/description"]
        assert described["stones"][0]["carats"] == {"value": "1.01", "unit": "ct", "weight_mg": 202}

    def test_what_assay_says_stands_in_parts_of_its_own(self) -> None:
        named = presented(assessments={1: {"construction": "solid"}}, values={1: {"fine_mg": 7}})
        assert named["item/1/assessment"] == {"construction": "solid"}
        assert named["item/1/price"]["value"] == {"fine_mg": 7}
        assert "item/2/assessment" not in named

    def test_an_item_without_offer_and_weighings_has_no_price(self) -> None:
        named = presented(("items.1.offer", GONE), ("items.1.evidence", []), ("items.1.weighings", []))
        assert "item/2/price" not in named
        assert "item/2/evidence" not in named
        assert presented(("items.1.offer", GONE))["item/2/price"] == {"gross_mg": 6298, "net_mg": 6278}

    def test_captures_are_numbered_by_what_they_are(self) -> None:
        captures = [
            {"what": "photo", "file": "a.jpg"},
            {"what": "goods", "file": "b.jpg"},
            {"what": "document-front", "file": "c.jpg", "document": 1},
            {"what": "document-back", "not_taken": "blank"},
            {"what": "signature", "file": "d.png"},
            {"what": "tamper-band", "file": "e.jpg"},
        ]
        named = presented(("parties.0.captures", captures))
        assert [name for name in named if name.startswith("seller/") and name[-1].isdigit()] == [
            "seller/document/1", "seller/photo/1", "seller/photo/2", "seller/scan/1", "seller/scan/2",
            "seller/signature/1", "seller/photo/3",
        ]  # fmt: skip
        assert named["seller/scan/2"] == {"shows": "document-back", "not_taken": "blank"}
        assert named["seller/scan/1"]["document"] == 1

    def test_other_parties_have_their_number(self) -> None:
        other = {"role": "principal", "kind": "person", "name": {"family": "Wren"}}
        named = presented(("parties", [*document()["parties"], other]))
        assert named["party/2/name"] == {"family": "Wren"}
        assert named["party/2/role"] == {"role": "principal", "kind": "person"}

    def test_a_hundred_items_fit_into_one_entry(self) -> None:
        """Five parts and two pictures each: digests of 43 characters with quotes and comma, below 60,000 bytes."""
        ring = document()["items"][0]
        named = presented(("items", [ring] * 100), assessments={n: {} for n in range(1, 101)})
        assert sum(1 for name in named if name.startswith("item/")) == 700
        assert len(named) * 46 < 34_000


class TestRecordedParts:
    """What came after presenting: conclusions, the signature, the duties."""

    def recorded(self, *changes: tuple[str, Any]) -> dict[str, Any]:
        read = slip(*changes)
        return dict(parts.recorded_parts(read, duties=[{"rule": "x"}], pictures=records(read)))

    def test_conclusions_signature_and_duties(self) -> None:
        assert self.recorded() == {
            "item/1/conclusion": {"agrees": True},
            "item/3/conclusion": {
                "agrees": False,
                "because": "taken as sterling by the marks seen; each piece was looked at under the loupe",
            },
            "declaration/signature": {"shows": "signature", "on_paper": "form 12"},
            "duties": [{"rule": "x"}],
        }

    def test_a_signature_that_was_drawn_is_a_picture(self) -> None:
        value = self.recorded(("declaration.signature", {"file": "signed.png"}))["declaration/signature"]
        assert (value["shows"], value["received"], value["media_type"]) == ("signature", D, "image/jpeg")

    @pytest.mark.parametrize("change", [("declaration.signature", GONE), ("declaration", GONE)])
    def test_nothing_signed_has_no_part(self, change: tuple[str, Any]) -> None:
        assert "declaration/signature" not in self.recorded(change)


class TestPictures:
    """Every file that a slip names, with the part that it becomes and the class of its key."""

    def test_in_the_order_of_the_parts_and_the_signature_last(self) -> None:
        asked = parts.pictures(slip(("declaration.signature", {"file": "signed.png"})))
        assert [(a.part, a.file, a.cls, a.shows) for a in asked] == [
            ("seller/photo/1", "seller.jpg", "seller", "photo"),
            ("seller/scan/1", "licence-front.jpg", "scan", "document-front"),
            ("item/1/picture/1", "ring.jpg", "item", "overall"),
            ("item/1/picture/2", "ring-mark.jpg", "item", "mark"),
            ("item/2/picture/1", "locket.jpg", "item", "overall"),
            ("item/3/picture/1", "chain.jpg", "item", "count"),
            ("declaration/signature", "signed.png", "seller", "signature"),
        ]

    def test_a_picture_that_is_not_there_is_named(self) -> None:
        read = slip()
        missing = {name: record for name, record in records(read).items() if name != "item/2/picture/1"}
        with pytest.raises(InputError) as caught:
            parts.presented_parts(read, assessments={}, values={}, pictures=missing)
        assert str(caught.value) == (
            "item/2/picture/1: 'locket.jpg' was given; wanted is a picture that lies beside the slip document."
        )


class TestThereAndBack:
    """What was taken apart comes together again; only the names of files are the book's own."""

    def test_the_sample_comes_together_again(self) -> None:
        read = slip(("items.0.stones", [{"count": 2, "carats": "0.5"}]), ("payout.due", "2026-12-01"))
        named = presented(("items.0.stones", [{"count": 2, "carats": "0.5"}]), ("payout.due", "2026-12-01"))
        named |= dict(parts.recorded_parts(read, duties=[], pictures=records(read)))
        back = rebuilding.slip_of(named)
        assert back.items[0].pictures[0].file == "item/1/picture/1"
        assert back.seller.captures[0].file == "seller/photo/1"
        assert (back.items[0].stones, back.items[0].weighings) == (read.items[0].stones, read.items[0].weighings)
        assert (back.payout, back.declaration, back.spot) == (read.payout, read.declaration, read.spot)
        assert back.seller.documents == read.seller.documents

    def test_what_is_known_of_the_making_and_the_consent_come_back(self) -> None:
        made = {"country": "US", "to": "1981-09-30"}
        change = ("items.0.made", made), ("items.0.consent", "given")
        again = rebuilding.slip_of(presented(*change)).items[0]
        assert (again.made, again.consent) == (made, "given")

    @pytest.mark.parametrize(
        "signature", [{"file": "signed.png"}, {"on_paper": "form 12"}, {"not_taken": "left"}, GONE]
    )
    def test_the_signature_too(self, signature: Any) -> None:
        changes = [("declaration.signature", signature), ("payout.reference", GONE), ("notes", GONE)]
        read = slip(*changes)
        named = presented(*changes) | dict(parts.recorded_parts(read, duties=[], pictures=records(read)))
        back = rebuilding.slip_of(named)
        assert read.declaration is not None
        assert back.declaration is not None
        if signature == {"file": "signed.png"}:
            assert back.declaration.signature == Signature(file="declaration/signature")
        else:
            assert back.declaration == read.declaration
        assert (back.payout, back.notes) == (read.payout, None)

    def test_every_value_is_one_that_the_book_can_hold(self) -> None:
        for name, value in presented().items():
            assert canonical.encode([name, value])
