"""Parts: against RFC 9901, and every lie by name."""

import base64
import json
import re
from hashlib import sha256
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.chain import parts
from ledger.chain.canonical import NotCanonical
from ledger.errors import InputError
from tests.lies.cases import Case, flipped, published, vectors
from tests.test_canonical import values

RFC9901 = published("rfc9901")["vectors"]
LIES = vectors("part")
CLASSES = {"seller", "print", "scan", "item", "money", "law", "case", "staff"}


class TestRfc9901:
    """Source: RFC 9901, the disclosures and digests of its section 4.2, in published/rfc9901.json."""

    @pytest.mark.parametrize("vector", RFC9901, ids=lambda each: str(each["digest"]))
    def test_a_digest_is_the_published_one(self, vector: Case) -> None:
        assert base64.urlsafe_b64encode(vector["json"].encode()).rstrip(b"=").decode() == vector["disclosure"]
        assert parts.digest_of(vector["disclosure"]) == vector["digest"]

    @pytest.mark.parametrize("vector", RFC9901, ids=lambda each: str(each["digest"]))
    def test_a_disclosure_with_spaces_in_it_is_not_one_of_ours(self, vector: Case) -> None:
        with pytest.raises(NotCanonical):
            parts.read(vector["disclosure"])


class TestPart:
    """A part is a named value behind a digest, under a salt of 16 bytes drawn for it alone."""

    @given(
        st.sampled_from(["seller/name", "item/7/price", "party/2/scan/1"]),
        values(),
        st.binary(min_size=16, max_size=16),
    )
    def test_what_was_made_reads_back(self, name: str, value: Any, salt: bytes) -> None:
        part = parts.make(name, value, salt)
        assert parts.read(part.disclosure) == part
        assert (part.name, part.value) == (name, value)

    def test_the_bytes_are_what_the_format_says(self) -> None:
        part = parts.make("payout/amount", {"currency": "USD", "minor": 4250}, bytes(range(16)))
        inside = base64.urlsafe_b64decode(part.disclosure + "=" * (-len(part.disclosure) % 4))
        assert inside == b'["AAECAwQFBgcICQoLDA0ODw","payout/amount",{"currency":"USD","minor":4250}]'
        hashed = sha256(part.disclosure.encode("ascii")).digest()
        assert part.digest == base64.urlsafe_b64encode(hashed).decode()[:43]

    def test_equal_values_under_other_salts_have_other_digests(self) -> None:
        one, other = (parts.make("seller/birth_date", "1984-02-29", bytes([n]) * 16) for n in (1, 2))
        assert one.digest != other.digest

    @pytest.mark.parametrize("length", [0, 15, 17])
    def test_a_salt_of_another_length_is_refused(self, length: int) -> None:
        with pytest.raises(ValueError, match=f"a salt has 16 bytes, not {length}"):
            parts.make("seller/name", "x", bytes(length))

    def test_a_value_that_a_book_cannot_hold_is_refused(self) -> None:
        with pytest.raises(InputError) as caught:
            parts.make("item/1/price", 1.5, bytes(16))
        assert caught.value.field == "[2]"

    def test_a_part_may_be_longer_than_an_entry(self) -> None:
        part = parts.make("report", ["a line of a long report"] * 5_000, bytes(16))
        assert parts.read(part.disclosure) == part

    @given(st.data())
    def test_a_flipped_bit_in_a_disclosure_has_another_digest(self, draw: st.DataObject) -> None:
        part = parts.make("seller/birth_date", "1984-02-29", bytes(16))
        inside = base64.urlsafe_b64decode(part.disclosure + "==")
        changed = flipped(inside, draw.draw(st.integers(0, 8 * len(inside) - 1)))
        disclosure = base64.urlsafe_b64encode(changed).rstrip(b"=").decode()
        assert parts.digest_of(disclosure) != part.digest

    @pytest.mark.parametrize("name", LIES)
    def test_each_lie_is_called_by_its_name(self, name: str) -> None:
        case = LIES[name]
        if case["valid"]:
            assert parts.read(case["disclosure"]) == parts.Part(
                case["name"], case["value"], case["disclosure"], case["digest"]
            )
        else:
            with pytest.raises(NotCanonical) as caught:
                parts.read(case["disclosure"])
            assert caught.value.reason == case["finds"]


class TestNames:
    """Names are paths on one list; each belongs to one class of the vault."""

    @pytest.mark.parametrize("pattern", parts.PART_NAMES)
    def test_every_name_on_the_list_can_be_made_and_has_a_class(self, pattern: str) -> None:
        name = pattern.replace("#", "12")
        assert parts.is_part_name(name)
        assert parts.class_of(name) in CLASSES
        assert parts.make(name, None, bytes(16)).name == name

    @pytest.mark.parametrize(
        ("name", "cls"),
        [
            ("seller/birth_date", "seller"),
            ("seller/print/1", "print"),
            ("party/2/scan/3", "scan"),
            ("item/100/picture/2", "item"),
            ("item/2/price", "money"),
            ("payout/method", "money"),
            ("duties", "law"),
            ("look", "case"),
            ("staff", "staff"),
            ("declaration/text", "seller"),
        ],
    )
    def test_the_class_is_that_of_the_key_it_lies_under(self, name: str, cls: str) -> None:
        assert parts.class_of(name) == cls

    @pytest.mark.parametrize(
        "name",
        [
            "",
            "seller",
            "seller/",
            "seller/Name",
            "item/0/price",
            "item/01/price",
            "item/x/price",
            "item/#/price",
            "seller/name\n",
            "item/1/picture/2\n",
        ],
    )
    def test_a_name_off_the_list_is_refused(self, name: str) -> None:
        assert not parts.is_part_name(name)
        for refuse in (lambda: parts.class_of(name), lambda: parts.make(name, 1, bytes(16))):
            with pytest.raises(InputError) as caught:
                refuse()
            assert caught.value.wanted == "a name on the list in ledger/chain/FORMAT.md"

    def test_a_name_of_a_later_form_can_be_read(self) -> None:
        inside = json.dumps(["A" * 22, "item/1/hallmark_photo", 1], separators=(",", ":")).encode()
        part = parts.read(base64.urlsafe_b64encode(inside).rstrip(b"=").decode())
        assert part.name == "item/1/hallmark_photo"
        assert not parts.is_part_name(part.name)

    def test_no_name_fits_two_patterns(self) -> None:
        for pattern in parts.PART_NAMES:
            name = pattern.replace("#", "3")
            fits = [each for each in parts.PART_NAMES if re.fullmatch(each.replace("#", "[1-9][0-9]*"), name)]
            assert fits == [pattern]
