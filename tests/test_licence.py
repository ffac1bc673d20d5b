"""What the barcode of a licence says, held against the examples of AAMVA's card design standard (annex D)."""

import json
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.identity import licence
from ledger.slip import building

VECTORS = json.loads((Path(__file__).parent / "vectors" / "identity" / "licences.json").read_text())
EXAMPLES = {one["name"][:3]: bytes.fromhex(one["payload_hex"]) for one in VECTORS["examples"]}
DEGRADED = [(one["why"], bytes.fromhex(one["payload_hex"])) for one in VECTORS["degraded"]]
OF_2020 = {
    "name": {"family": "SAMPLE", "given": "MICHAEL", "middle": "JOHN", "suffix": "JR"},
    "birth_date": "1986-06-06",
    "address": {
        "lines": ["2300 WEST BROAD STREET"], "city": "RICHMOND", "region": "VA", "postcode": "23269", "country": "US",
    },
    "documents": [
        {
            "type": "driver-licence", "issuer": "VA", "number": "T64235789", "how_read": "barcode",
            "issued": "2019-06-06", "expires": "2024-12-10",
        }
    ],
}  # fmt: skip


class TestExamples:
    """The examples of three editions, 2000, 2013 and 2020."""

    def test_the_edition_of_2020(self) -> None:
        found = licence.read(EXAMPLES["v10"])
        assert (found.party, found.version, found.warnings, found.to_type) == (OF_2020, 10, (), ())
        assert found.description == {"sex": "male", "height": "68 in", "eyes": "brown"}

    def test_the_edition_of_2013(self) -> None:
        found = licence.read(EXAMPLES["v08"])
        (document,) = found.party["documents"]
        assert (found.version, document["issued"], document["expires"]) == (8, "2008-06-06", "2013-12-10")
        assert found.party["name"] == OF_2020["name"]

    def test_the_edition_of_2000(self) -> None:
        found = licence.read(EXAMPLES["v01"])
        (document,) = found.party["documents"]
        assert found.party["name"] == {"family": "PUBLIC", "given": "JOHN", "middle": "Q"}
        assert (found.party["birth_date"], document["number"]) == ("1976-11-23", "0123456789ABC")
        assert (document["issued"], document["expires"]) == ("1996-12-01", "2001-12-01")
        assert found.party["address"]["postcode"] == "12345-9999"
        assert found.description == {"sex": "male", "height": "5 ft 9 in", "eyes": "blue", "hair": "brown"}

    def test_a_slip_takes_what_was_read(self) -> None:
        found = licence.read(EXAMPLES["v10"])
        party = building.party({"role": "seller", "kind": "person", **found.party}, "parties[1]")
        assert party.birth_date == date(1986, 6, 6)


class TestDegraded:
    """What scanners and real cards do to a payload."""

    @pytest.mark.parametrize("number", range(4))
    def test_changed_control_characters_and_wrong_offsets_change_nothing(self, number: int) -> None:
        why, payload = DEGRADED[number]
        found = licence.read(payload)
        assert found.party == OF_2020, why
        assert bool(found.warnings) is (number >= 2), why

    def test_a_scan_that_was_cut_off_gives_nothing(self) -> None:
        found = licence.read(DEGRADED[4][1])
        assert "cut off" in found.why_not
        assert found.party == {}

    def test_two_birth_dates_are_left_to_the_clerk(self) -> None:
        found = licence.read(DEGRADED[5][1])
        assert "birth_date" not in found.party
        assert found.to_type == ("birth date: the code gives two",)

    def test_a_day_that_cannot_be_is_left_to_the_clerk(self) -> None:
        found = licence.read(DEGRADED[6][1])
        assert "birth_date" not in found.party
        assert found.party["documents"] == OF_2020["documents"]
        assert "13321986" in found.to_type[0]

    def test_a_boarding_pass_is_no_licence(self) -> None:
        assert "no barcode of a driver licence" in licence.read(DEGRADED[7][1]).why_not

    @pytest.mark.parametrize("cut", range(20, 300, 7))
    def test_any_cut_gives_all_or_nothing(self, cut: int) -> None:
        found = licence.read(EXAMPLES["v10"][:cut])
        assert found.party in ({}, OF_2020) or not found.why_not
        if found.party:
            assert found.party["birth_date"] == "1986-06-06"
            assert "postcode" in found.party["address"]

    @given(st.binary(max_size=400))
    def test_any_bytes_are_read_or_refused(self, payload: bytes) -> None:
        assert licence.read(payload).why_not or licence.read(payload).party

    @given(st.text(max_size=200))
    def test_any_elements_after_a_true_header_are_read_or_refused(self, text: str) -> None:
        head = EXAMPLES["v10"].decode("latin-1")[:41]
        found = licence.read(head + "DL" + text)
        assert found.why_not or found.party


def changed(**elements: str) -> licence.Licence:
    """The example of 2020 with elements replaced, added, or taken out where empty."""
    lines = EXAMPLES["v10"].decode().split("\n")
    for name, value in elements.items():
        lines = [line for line in lines if not line.startswith(name)]
        if value:
            lines.insert(4, name + value)
    return licence.read("\n".join(lines))


class TestElements:
    """One element at a time."""

    def test_years_come_first_in_canada_and_a_mismatch_is_told(self) -> None:
        found = changed(DBB="19860606", DCG="CAN", DBD="20190606", DBA="20241210")
        assert found.party["birth_date"] == "1986-06-06"
        assert found.warnings == ()
        assert "another country" in changed(DBB="19860606").warnings[0]

    def test_cut_names_are_told(self) -> None:
        assert changed(DDE="T").warnings == ("The code cuts the family name: compare it with the card.",)

    def test_a_later_version_is_read_with_a_warning(self) -> None:
        payload = EXAMPLES["v10"].replace(b"ANSI 63600010", b"ANSI 63600012")
        found = licence.read(payload)
        assert found.party == OF_2020
        assert "version 12" in found.warnings[0]

    def test_placeholders_say_nothing(self) -> None:
        found = changed(DAD="NONE", DCU="unavl", DAY="UNK", DAU="none")
        assert found.party["name"] == {"family": "SAMPLE", "given": "MICHAEL"}
        assert found.description == {"sex": "male"}

    def test_given_names_of_the_editions_of_2003_and_2005(self) -> None:
        assert changed(DAC="", DAD="", DCT="MICHAEL,JOHN").party["name"]["middle"] == "JOHN"

    def test_an_identity_card_is_told_apart(self) -> None:
        payload = EXAMPLES["v10"].replace(b"DL0041", b"ID0041").replace(b"DLDAQ", b"IDDAQ")
        assert licence.read(payload).party["documents"][0]["type"] == "identity-card"

    def test_two_numbers_are_left_to_the_clerk(self) -> None:
        payload = EXAMPLES["v10"].replace(b"DCSSAMPLE", b"DAQOTHER\nDCSSAMPLE")
        found = licence.read(payload)
        assert found.party["documents"][0]["number"] == {"not_known": "the barcode gives two numbers"}

    @pytest.mark.parametrize(
        ("said", "height"), [("173 cm", "173 cm"), (" 65 IN", "65 in"), ("5-09", "5 ft 9 in"), ("tall", "")]
    )
    def test_heights_as_cards_write_them(self, said: str, height: str) -> None:
        assert changed(DAU=said).description.get("height", "") == height

    def test_social_security_and_race_are_dropped_unread(self) -> None:
        found = changed(DBK="078051120", DCL="W", DDK="1")
        assert "078051120" not in json.dumps([found.party, dict(found.description)])

    @pytest.mark.parametrize("digits", ["", "1986", "13321986", "00011986", "99991231", "02301986", "31121986"])
    def test_what_is_no_day(self, digits: str) -> None:
        assert licence.day_of(digits) is None
