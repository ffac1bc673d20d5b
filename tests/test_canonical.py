"""Canonical bytes: against RFC 8785, against another library, and every lie by name."""

import json
import struct
import unicodedata
from types import MappingProxyType
from typing import Any

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from ledger.chain import canonical
from ledger.errors import InputError
from ledger.measures import Milligrams
from tests.chain_book import small_book
from tests.lies.cases import Case, flipped, published, vectors

RFC8785 = published("rfc8785")
ENTRIES = vectors("entry")
# Lies about members, not about bytes, are told in test_entries.
BYTE_LIES = {"a float", "control character", "duplicate key", "nested too deeply", "not JSON", "not NFC", "not UTF-8"}
BYTE_LIES |= {"a whole number beyond 2^53 - 1", "not an object", "not in canonical form", "a key that is not ASCII"}


def bytes_of(case: Case) -> bytes:
    return bytes.fromhex(case["hex"]) if "hex" in case else str(case["text"]).encode()


def text() -> st.SearchStrategy[str]:
    """Text that a book may hold."""
    letters = st.characters(exclude_categories=("Cs", "Cc"))
    return st.text(letters).map(lambda each: unicodedata.normalize("NFC", each))


def values(numbers: st.SearchStrategy[Any] | None = None) -> st.SearchStrategy[Any]:
    """Values that a book may hold, or with other numbers in them."""
    whole = st.integers(-canonical.MAX_WHOLE, canonical.MAX_WHOLE)
    keys = st.text(st.characters(min_codepoint=0x20, max_codepoint=0x7E), max_size=5)
    return st.recursive(
        st.none() | st.booleans() | (whole if numbers is None else numbers) | text(),
        lambda inner: st.lists(inner, max_size=4) | st.dictionaries(keys, inner, max_size=4),
        max_leaves=12,
    )


def objects(numbers: st.SearchStrategy[Any] | None = None) -> st.SearchStrategy[dict[str, Any]]:
    return st.dictionaries(st.sampled_from(["a", "B", "b", "aa", "_", ""]), values(numbers), max_size=6)


class TestRfc8785:
    """Source: RFC 8785, its sample documents and its table of numbers, in published/rfc8785.json."""

    @pytest.mark.parametrize("document", RFC8785["documents"], ids=lambda each: str(each["name"]))
    def test_a_document_gets_the_published_bytes_or_is_refused(self, document: Case) -> None:
        value = json.loads(document["input_json_text"])
        expected = bytes.fromhex(document["canonical_hex"])
        assert rfc8785.dumps(value) == expected  # the library that the properties below lean on is right here
        refused = {"french": "ASCII", "structures": "text", "unicode": "form C", "values": "text", "weird": "ASCII"}
        if document["name"] in refused:
            with pytest.raises(InputError) as caught:
                canonical.encode(value)
            assert refused[document["name"]] in caught.value.wanted
        else:
            assert canonical.encode(value) == expected
            assert canonical.decode_array(expected) == value

    @pytest.mark.parametrize("number", RFC8785["numbers"], ids=lambda each: str(each["hex"]))
    def test_no_number_of_the_float_table_passes_as_a_float(self, number: Case) -> None:
        (value,) = struct.unpack(">d", bytes.fromhex(number["hex"]))
        with pytest.raises(InputError):
            canonical.encode({"a": value})
        data = f'{{"a":{number["text"] or "NaN"}}}'.encode()
        if number["text"] == "0":
            assert canonical.fault(data) is None  # a whole nought is no float, whatever it was once computed from
        else:
            assert canonical.fault(data) in ("a float", "a whole number beyond 2^53 - 1")

    @given(objects())
    def test_another_library_writes_the_same_bytes(self, value: dict[str, Any]) -> None:
        assert canonical.encode(value) == rfc8785.dumps(value)

    @given(objects())
    def test_the_standard_library_writes_the_same_bytes(self, value: dict[str, Any]) -> None:
        plain = json.dumps(value, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
        assert canonical.encode(value) == plain.encode()

    @given(objects())
    def test_what_was_written_reads_back(self, value: dict[str, Any]) -> None:
        assert canonical.decode(canonical.encode(value)) == value
        assert canonical.fault(canonical.encode(value)) is None

    @given(objects(st.floats()))
    def test_a_float_anywhere_is_refused_on_both_ways(self, value: dict[str, Any]) -> None:
        written = json.dumps(value, sort_keys=True, ensure_ascii=False, separators=(",", ":")).encode()
        if any(isinstance(leaf, float) for leaf in leaves_of(value)):
            with pytest.raises(InputError):
                canonical.encode(value)
            assert canonical.fault(written) == "a float"
        else:
            assert canonical.fault(written) is None

    @given(st.binary(max_size=200))
    def test_any_bytes_are_answered_without_an_exception(self, data: bytes) -> None:
        value, reason = canonical.examine(data)
        assert (value is None) != (reason is None)

    @given(st.data())
    def test_a_flipped_bit_is_another_value_or_a_fault(self, draw: st.DataObject) -> None:
        data = draw.draw(st.sampled_from(small_book().data))
        changed = flipped(data, draw.draw(st.integers(0, 8 * len(data) - 1)))
        value, reason = canonical.examine(changed)
        assert reason is not None or value != canonical.decode(data)


def leaves_of(value: Any) -> list[Any]:
    if isinstance(value, dict):
        return [leaf for member in value.values() for leaf in leaves_of(member)]
    return [leaf for member in value for leaf in leaves_of(member)] if isinstance(value, list) else [value]


class TestLies:
    """A checker parses the bytes, writes them again and compares; only bytes that differ are looked at slowly."""

    @pytest.mark.parametrize("name", ENTRIES)
    def test_each_lie_about_bytes_is_called_by_its_name(self, name: str) -> None:
        case = ENTRIES[name]
        assert canonical.fault(bytes_of(case)) == (case["finds"] if case["finds"] in BYTE_LIES else None)

    def test_the_longest_entry_passes_and_one_byte_more_does_not(self) -> None:
        longest = b'{"a":"' + b"a" * (canonical.MAX_BYTES - 8) + b'"}'
        assert canonical.fault(longest) is None
        assert canonical.fault(longest.replace(b'"}', b'a"}')) == "over 60,000 bytes"

    def test_thirty_two_deep_passes_and_is_written(self) -> None:
        value: dict[str, Any] = {"a": 1}
        for _ in range(canonical.MAX_DEPTH - 1):
            value = {"a": value}
        assert canonical.decode(canonical.encode(value)) == value
        assert canonical.fault(b'{"a":' + b"[" * 31 + b"]" * 31 + b"}") is None
        with pytest.raises(InputError) as caught:
            canonical.encode({"a": value})
        assert caught.value.field == ".".join("a" * 32)

    @pytest.mark.parametrize("innermost", [[], ["a"], [1], {}])
    def test_a_list_or_object_in_the_thirty_third_place_is_refused_whatever_it_holds(self, innermost: Any) -> None:
        value: Any = innermost
        for _ in range(canonical.MAX_DEPTH - 1):
            value = [value]
        assert canonical.encode(value)
        with pytest.raises(InputError, match="at most 32 arrays and objects"):
            canonical.encode([value])

    def test_a_tower_of_brackets_is_named_and_does_no_harm(self) -> None:
        assert canonical.fault(b'{"a":' + b"[" * 20_000 + b"]" * 20_000 + b"}") == "nested too deeply"

    def test_decode_says_what_is_wrong_and_what_to_do(self) -> None:
        with pytest.raises(canonical.NotCanonical) as caught:
            canonical.decode(b'{"a":1,"a":1}')
        assert str(caught.value) == (
            "These bytes are not as a book writes them: duplicate key. Compare them with another copy of the book."
        )
        assert caught.value.exit_code == 3

    @pytest.mark.parametrize(
        ("data", "reason"), [(b'{"a":1}', "not an array"), (b"[1.5]", "a float"), (b"[", "not JSON")]
    )
    def test_decode_array_takes_arrays_only(self, data: bytes, reason: str) -> None:
        with pytest.raises(canonical.NotCanonical) as caught:
            canonical.decode_array(data)
        assert caught.value.reason == reason


class TestRefused:
    """InputError names the path of the member that a book cannot hold, and of text only the letter."""

    @pytest.mark.parametrize(
        ("value", "field", "wanted"),
        [
            ({"a": {"b": [1, 2.0]}}, "a.b[1]", "text, a whole number, true, false, null"),
            ({"a": 2**53}, "a", "a whole number within"),
            ({"a": -(2**53)}, "a", "a whole number within"),
            ({"é": 1}, "é", "a key in ASCII"),
            ({1: 1}, "1", "a key in ASCII"),
            ({"a": {"\t": 1}}, "a.\t", "without control characters"),
            ({"a": "x\x00"}, "a", "without control characters"),
            ({"a": "x\x9f"}, "a", "without control characters"),
            ({"a": "A\u030a"}, "a", "normal form C"),
            ({"a": "\ud800"}, "a", "without halves"),
            ({"a": b"x"}, "a", "text, a whole number"),
            ({"a": {1, 2}}, "a", "text, a whole number"),
            ([float("nan")], "[0]", "text, a whole number"),
        ],
    )
    def test_the_path_and_what_is_wanted_are_told(self, value: Any, field: str, wanted: str) -> None:
        with pytest.raises(InputError) as caught:
            canonical.encode(value)
        assert caught.value.field == field
        assert wanted in caught.value.wanted

    def test_an_error_about_a_text_does_not_repeat_the_text(self) -> None:
        with pytest.raises(InputError) as caught:
            canonical.encode({"name": "Averill\nJonah"})
        assert str(caught.value) == (
            "name: 'U+000A' was given; wanted is text without control characters, several lines as a list."
        )

    def test_whole_numbers_with_a_unit_tuples_and_other_mappings_are_written_plainly(self) -> None:
        value = MappingProxyType({"weight_mg": Milligrams(31_103), "lines": ("a", "b"), "ok": True, "none": None})
        assert canonical.encode(value) == b'{"lines":["a","b"],"none":null,"ok":true,"weight_mg":31103}'

    def test_the_largest_whole_numbers_pass(self) -> None:
        assert canonical.decode(canonical.encode({"a": [2**53 - 1, 1 - 2**53]})) == {"a": [2**53 - 1, 1 - 2**53]}
