"""What was read off a document goes into blank fields and never over what somebody typed."""

import json
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from ledger.identity import licence
from ledger.slip import filling

VECTORS = json.loads((Path(__file__).parent / "vectors" / "identity" / "licences.json").read_text())
CARD = licence.read(bytes.fromhex(VECTORS["examples"][2]["payload_hex"]))
"""the example of AAMVA's standard of 2020"""
FAMILY = "parties.0.name.family"
NUMBER = "parties.0.documents.0.number"


def filled(fields: dict[str, str], number: int = 0) -> dict[str, str]:
    return dict(filling.fill(fields, number, "barcode", CARD.party, {}))


class TestFilling:
    """A blank field is filled, a filled one is never written over."""

    def test_blank_fields_are_filled_and_say_how(self) -> None:
        after = filled({})
        assert (after[FAMILY], after["parties.0.birth_date"]) == ("SAMPLE", "1986-06-06")
        assert after["parties.0.address.lines.0"] == "2300 WEST BROAD STREET"
        assert (after[NUMBER], after["parties.0.documents.0.how_read"]) == ("T64235789", "barcode")
        assert filling.read_as(after, FAMILY) == ("barcode", "SAMPLE")
        assert filling.read_as(after, "parties.0.email") == ("", "")
        assert filling.differing(after) == ()

    def test_what_was_typed_stays_and_the_difference_is_told(self) -> None:
        after = filled({FAMILY: "Sampler", NUMBER: "t64-235 789"})
        assert after[FAMILY] == "Sampler"
        assert filling.differing(after) == (FAMILY,)  # the number is the same number

    def test_the_clerk_may_take_what_was_read(self) -> None:
        after = filling.take(filled({FAMILY: "Sampler"}), FAMILY)
        assert after[FAMILY] == "SAMPLE"
        assert filling.take(after, "parties.0.email") == after

    def test_another_number_is_another_document(self) -> None:
        after = filled({NUMBER: "X1", "parties.0.documents.0.type": "passport"})
        assert after[NUMBER] == "X1"
        assert after["parties.0.documents.1.number"] == "T64235789"

    def test_a_document_of_another_kind_is_not_filled(self) -> None:
        after = filled({"parties.0.documents.0.type": "utility-bill"})
        assert NUMBER not in after
        assert after["parties.0.documents.1.type"] == "driver-licence"

    def test_a_new_reading_has_to_be_compared_anew(self) -> None:
        after = filled({"parties.0.documents.0.compared": "yes"})
        assert "parties.0.documents.0.compared" not in after

    def test_what_the_barcode_says_twice_is_not_known(self) -> None:
        party = {"documents": [{"type": "passport", "number": {"not_known": "two numbers"}}]}
        after = filling.fill({}, 1, "barcode", party, {"eyes": "brown"})
        assert after["parties.1.documents.0.number.not_known"] == "two numbers"
        assert after["parties.1.description.eyes"] == "brown"
        typed = filling.fill({"parties.1.documents.0.number": "A1"}, 1, "barcode", party, {})
        assert "parties.1.documents.1.number.not_known" in typed

    def test_a_party_without_a_document_is_filled_too(self) -> None:
        after = filling.fill({"parties.0.documents.0.number": "000"}, 0, "lines", {"name": {"family": "A"}}, {})
        assert after["ui.lines.parties.0.name.family"] == "A"
        assert "parties.0.documents.0.how_read" not in after

    @given(
        st.dictionaries(st.sampled_from([FAMILY, NUMBER, "parties.0.birth_date", "tray.number"]), st.text(min_size=1))
    )
    def test_nothing_typed_is_ever_changed(self, typed: dict[str, str]) -> None:
        after = filled(typed)
        assert all(after[name] == value for name, value in typed.items() if value.strip())


class TestCaptures:
    """A picture takes the row that waited for it, else a new one."""

    def test_rows_follow_each_other(self) -> None:
        one = filling.captured({}, "parties.0.captures", {"what": "photo", "file": "a.jpg"})
        two = filling.captured(one, "parties.0.captures", {"what": "photo", "file": "b.jpg"})
        assert [two[f"parties.0.captures.{place}.file"] for place in (0, 1)] == ["a.jpg", "b.jpg"]

    def test_what_could_not_be_taken_and_then_was(self) -> None:
        waits = {"parties.0.captures.0.what": "print", "parties.0.captures.0.not_taken": "a bandage"}
        after = filling.captured(waits, "parties.0.captures", {"what": "print", "file": "a.jpg"})
        assert after == {"parties.0.captures.0.what": "print", "parties.0.captures.0.file": "a.jpg"}
