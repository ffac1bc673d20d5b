"""Reading a slip document: one sentence for each fault, the same slip from JSON and TOML, nothing but InputError."""

import json
import statistics
import time
from collections.abc import Callable
from typing import Any

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ledger.errors import InputError
from ledger.slip import reading, writing
from ledger.slip.document import NotKnown
from ledger.slip.schema import SCHEMA
from tests.slip_samples import GONE, JSON, TOML, changed, document, slip


def said(document: dict[str, Any] | bytes, *, toml: bool = False) -> str:
    """The sentence with which a document is refused; also that `faults` begins with it."""
    data = document if isinstance(document, bytes) else json.dumps(document).encode()
    with pytest.raises(InputError) as caught:
        reading.read(data, toml=toml)
    assert str(reading.faults(data, toml=toml)[0]) == str(caught.value)
    return str(caught.value)


RING = document()["items"][0]

BAD_MEMBERS: dict[str, tuple[tuple[str, Any], str]] = {
    "a text where a whole number belongs": (
        ("items.0.pieces", "1"),
        "items[1].pieces: '1' was given; wanted is a whole number of pieces, 1 to 10,000.",
    ),
    "an object where a list belongs": (
        ("items", {}),
        "items: an object with members of its own was given; wanted is a list of 1 to 100 items; more become a"
        " second slip of the visit.",
    ),
    "a text where an object belongs": (
        ("items.1", "ring"),
        "items[2]: a text of 4 characters was given; wanted is an item with kind, goods, article and pieces.",
    ),
    "an unknown member with a likely name": (
        ("items.0.weight", "4.20"),
        "items[1]: the member 'weight' was given; wanted is 'weighings' or another member that `counterfoil slip"
        " schema` lists.",
    ),
    "an unknown member like none": (
        ("tray.xyz", 1),
        "tray: the member 'xyz' was given; wanted is nothing beside number, articles.",
    ),
    "an unknown member among many": (
        ("xyz", 1),
        "slip: the member 'xyz' was given; wanted is nothing beside the members that `counterfoil slip schema` lists.",
    ),
    "a member without which there is no slip": (
        ("tray", GONE),
        "tray: nothing was given; wanted is the tray's number and the articles counted on it: each piece of a set,"
        " a scrap lot as one.",
    ),
    "a day that no calendar has": (
        ("parties.0.birth_date", "1983-02-29"),
        "parties[1].birth_date: a text of 10 characters was given; wanted is a day of the calendar, such as"
        " 1984-02-29.",
    ),
    "a negative weight": (
        ("items.0.weighings.0.value", "-4.20"),
        "items[1].weighings[1].value: '-4.20' was given; wanted is digits in quotation marks, with a point and no"
        ' sign, such as "4.20".',
    ),
    "a weight that is a number": (
        ("items.0.weighings.0.value", 4),
        "items[1].weighings[1].value: 4 was given; wanted is digits in quotation marks, with a point and no sign,"
        ' such as "4.20".',
    ),
    "digits of another script": (
        ("items.0.weighings.0.value", "٤"),
        "items[1].weighings[1].value: '٤' was given; wanted is digits in quotation marks, with a point and no sign,"
        ' such as "4.20".',
    ),
    "a bare ounce": (
        ("items.0.weighings.0.unit", "oz"),
        "items[1].weighings[1].unit: 'oz' was given; wanted is 'ozt' (troy, 31.1 g) or 'oz-avdp' (avoirdupois,"
        " 28.3 g); a bare ounce is never guessed.",
    ),
    "a weight beyond any scale": (
        ("items.0.weighings", [{"what": "gross", "value": "999999999.9", "unit": "kg"}]),
        "items[1].weighings[1].value: '999999999.9' was given; wanted is a weight of at most a thousand tonnes.",
    ),
    "a text of 60 kB": (
        ("items.0.inscriptions.0.text", "x" * 60_000),
        "items[1].inscriptions[1].text: a text of 60,000 characters was given; wanted is the inscription as it is"
        " engraved, of 1 to 300 characters.",
    ),
    "a text of nothing": (
        ("items.0.damage", " "),
        "items[1].damage: an empty text was given; wanted is what is damaged, or 'none', of 1 to 300 characters.",
    ),
    "a control character": (
        ("items.0.damage", "worn\u0000"),
        "items[1].damage: a text with the character U+0000 was given; wanted is text without line breaks, control"
        " characters and writing-direction overrides.",
    ),
    "half a character": (
        ("items.0.damage", "\ud800"),
        "items[1].damage: a text with the character U+D800 was given; wanted is text without line breaks, control"
        " characters and writing-direction overrides.",
    ),
    "an override of the writing direction": (
        ("items.0.damage", "worn \u202e dab"),
        "items[1].damage: a text with the character U+202E was given; wanted is text without line breaks, control"
        " characters and writing-direction overrides.",
    ),
    "more than a hundred items": (
        ("items", [RING] * 101),
        "items: a list of 101 was given; wanted is a list of 1 to 100 items; more become a second slip of the visit.",
    ),
    "a file in another folder": (
        ("items.0.pictures.0.file", "../ring.jpg"),
        "items[1].pictures[1].file: '../ring.jpg' was given; wanted is the name of one file beside the document,"
        " without a folder.",
    ),
    "a moment without its zone": (
        ("occurred_at", "2026-11-24T10:15:00-05:00"),
        "occurred_at: '2026-11-24T10:15:00-05:00' was given; wanted is a local moment with its zone:"
        " 2026-11-24T10:15:00-05:00[America/New_York].",
    ),
    "an offset that the zone did not have": (
        ("occurred_at", "2026-11-24T10:15:00-04:00[America/New_York]"),
        "occurred_at: '2026-11-24T10:15:00-04:00[America/New_York]' was given; wanted is an offset that"
        " America/New_York had then: at that instant it was 2026-11-24T09:15:00-05:00[America/New_York].",
    ),
    "another format": (("format", "slip/7"), "format: 'slip/7' was given; wanted is 'slip/0'."),
    "half a cent": (
        ("items.0.offer.amount", "180.005"),
        "items[1].offer.amount: '180.005' was given; wanted is at most 2 decimals for USD.",
    ),
    "a price of nothing": (("spot.0.price", "0"), "spot[1].price: '0' was given; wanted is a price above zero."),
    "a word that is not on the list": (
        ("payout.instrument", "barter"),
        "payout.instrument: 'barter' was given; wanted is one of cash, cheque, transfer, card, store-credit,"
        " money-order, other.",
    ),
    "a document's number of zeros": (
        ("parties.0.documents.0.number", "000"),
        "parties[1].documents[1].number: a number without a letter or a digit above zero was given; wanted is a number"
        " as it stands on the document, or why it is not known.",
    ),
    "a capture both taken and not": (
        ("parties.0.captures.0.not_taken", "camera broken"),
        "parties[1].captures[1]: an object with members of its own was given; wanted is what was captured with either"
        " file or not_taken.",
    ),
    "not known without a reason": (
        ("parties.0.email", {"not_known": ""}),
        "parties[1].email.not_known: an empty text was given; wanted is a reason of 1 to 200 characters.",
    ),
    "a number where a person's text belongs": (
        ("parties.0.workplace", 7),
        'parties[1].workplace: a number was given; wanted is a text of 1 to 120 characters, or {"not_known": "why"}.',
    ),
    "an address without a street": (
        ("parties.0.address", {"city": "Harrow Falls"}),
        "parties[1].address.lines: nothing was given; wanted is 1 to 4 lines with street and house number.",
    ),
    "a ring size with a unit": (
        ("items.0.sizes.0", {"what": "ring", "value": "7", "unit": "mm"}),
        "items[1].sizes[1]: the member 'unit' was given; wanted is nothing beside what, value, system.",
    ),
    "a making that ends before it begins": (
        ("items.0.made", {"from": "1982", "to": "1981"}),
        "items[1].made.to: '1981' was given; wanted is a year or day not before 1982.",
    ),
    "a making in no country": (
        ("items.0.made", {"country": "usa"}),
        "items[1].made.country: 'usa' was given; wanted is two capital letters (ISO 3166-1), such as \"US\".",
    ),
    "a test that nobody knows": (
        ("items.0.evidence.0.test", "sniff"),
        "items[1].evidence[1].test: 'sniff' was given; wanted is one of xrf, filed-xrf, streak, density, magnet,"
        " conductance, ultrasound, visual, cut, stripped, melt, consent, silver-streak.",
    ),
    "a test without its kind": (
        ("items.0.evidence.0.test", GONE),
        "items[1].evidence[1].test: nothing was given; wanted is one of xrf, filed-xrf, streak, density, magnet,"
        " conductance, ultrasound, visual, cut, stripped, melt, consent, silver-streak.",
    ),
    "a test that is a word": (
        ("items.0.evidence.0", "xrf"),
        "items[1].evidence[1]: a text of 3 characters was given; wanted is an object with the member 'test'.",
    ),
    "true where more belongs": (
        ("items.0.conclusion", True),
        "items[1].conclusion: true was given; wanted is whether the person agrees with the assessment.",
    ),
    "notes that are a number": (
        ("notes", 7),
        "notes: a number was given; wanted is a text of 1 to 2,000 characters.",
    ),
    "no value at all": (
        ("staff", None),
        "staff: null was given; wanted is a staff id of small letters, digits, dots and dashes.",
    ),
    "an object without members": (
        ("parties.0.vehicle", {}),
        "parties[1].vehicle: an empty object was given; wanted is a vehicle, at least one member of it.",
    ),
}

BAD_BYTES: dict[str, tuple[bytes, bool, str]] = {
    "bad UTF-8": (
        JSON.replace(b"Jonah", b"Jon\xffh", 1),
        False,
        f"slip: a byte at {JSON.index(b'Jonah') + 3} that is not UTF-8 was given; wanted is a file saved as UTF-8.",
    ),
    "no JSON": (
        b'{"format": "slip/0",}',
        False,
        "slip: no JSON at line 1, column 21 was given; wanted is JSON throughout, without comments.",
    ),
    "another JSON value": (
        b'["slip/0"]',
        False,
        "slip: JSON without an object was given; wanted is one object, from { to }.",
    ),
    "a member twice": (
        JSON.replace(b'"pieces": 1,', b'"pieces": 1, "pieces": 2,', 1),
        False,
        "items[1]: the member 'pieces' twice was given; wanted is each member once in its object.",
    ),
    "a member of the whole twice": (
        b'{"format": "slip/0", "format": "slip/0"}',
        False,
        "slip: the member 'format' twice was given; wanted is each member once in its object.",
    ),
    "a member with a strange name twice": (
        b'{"a person": 1, "a person": 2}',
        False,
        "slip: a member twice was given; wanted is each member once in its object.",
    ),
    "a member with a strange name": (
        JSON.replace(b'"pieces": 1', b'"a person": 1, "pieces": 1', 1),
        False,
        "items[1]: a member with a name of 8 characters was given; wanted is nothing beside the members that"
        " `counterfoil slip schema` lists.",
    ),
    "a float": (
        JSON.replace(b'"4.20"', b"4.20", 1),
        False,
        "items[1].weighings[1].value: the number 4.20 was given; wanted is digits in quotation marks, with a point"
        ' and no sign, such as "4.20".',
    ),
    "not a number": (
        JSON.replace(b'"pieces": 1', b'"pieces": NaN', 1),
        False,
        "items[1].pieces: the number NaN was given; wanted is a whole number of pieces, 1 to 10,000.",
    ),
    "a number of five thousand digits": (
        JSON.replace(b'"pieces": 1', b'"pieces": ' + b"9" * 5_000, 1),
        False,
        "items[1].pieces: a number with a point was given; wanted is a whole number of pieces, 1 to 10,000.",
    ),
    "a number of twenty digits": (
        JSON.replace(b'"pieces": 1', b'"pieces": ' + b"9" * 20, 1),
        False,
        "items[1].pieces: a number was given; wanted is a whole number of pieces, 1 to 10,000.",
    ),
    "lists in lists in lists": (
        JSON.replace(b'"pieces": 1', b'"pieces": ' + b"[" * 9_000 + b"]" * 9_000, 1),
        False,
        "slip: lists or objects within each other many times was given; wanted is at most 40 levels.",
    ),
    "lists in lists, fewer": (
        JSON.replace(b'"pieces": 1', b'"pieces": ' + b"[" * 50 + b"]" * 50, 1),
        False,
        "slip: lists or objects within each other many times was given; wanted is at most 40 levels.",
    ),
    "three megabytes": (
        JSON + b" " * 3_000_000,
        False,
        f"slip: {len(JSON) + 3_000_000:,} bytes was given; wanted is at most 2,000,000 bytes of JSON.",
    ),
    "TOML with a member twice": (
        TOML.replace(b'staff = "mara"', b'staff = "mara"\nstaff = "leo"', 1),
        True,
        "slip: a member that stands twice at line 9, column 14 was given; wanted is TOML throughout, each member once.",
    ),
    "TOML with a table twice": (
        TOML.replace(b"[tray]", b"[tray]\n[tray]", 1),
        True,
        "slip: a table that stands twice at line 12, column 6 was given; wanted is TOML throughout, each member once.",
    ),
    "TOML with a day that does not exist": (
        TOML.replace(b"1984-02-29", b"1983-02-29", 1),
        True,
        "slip: a day or moment that does not exist at line 19, column 14 was given; wanted is TOML throughout, each"
        " member once.",
    ),
    "TOML with a float": (
        TOML.replace(b"articles = 3", b"articles = 3.0", 1),
        True,
        "tray.articles: the number 3.0 was given; wanted is a whole number of articles, 1 to 100,000.",
    ),
    "TOML with an endless number": (
        TOML.replace(b"articles = 3", b"articles = " + b"9" * 5_000, 1),
        True,
        "slip: a number of thousands of digits was given; wanted is TOML with whole numbers of at most 20 digits.",
    ),
    "no TOML": (
        JSON,
        True,
        "slip: no TOML at line 1, column 1 was given; wanted is TOML throughout, each member once.",
    ),
}


class TestBadSlips:
    """The first fault is raised as one sentence with its field."""

    @pytest.mark.parametrize("kind", BAD_MEMBERS)
    def test_a_bad_member_is_named_in_one_sentence(self, kind: str) -> None:
        change, sentence = BAD_MEMBERS[kind]
        assert said(changed(change)) == sentence

    @pytest.mark.parametrize("kind", BAD_BYTES)
    def test_bad_bytes_are_named_in_one_sentence(self, kind: str) -> None:
        data, toml, sentence = BAD_BYTES[kind]
        assert said(data, toml=toml) == sentence

    def test_all_faults_are_listed_and_the_first_is_the_one_raised(self) -> None:
        bad = changed(("items.0.pieces", "1"), ("items.1.weighings.0.unit", "oz"), ("tray", 7))
        found = reading.faults(json.dumps(bad).encode(), toml=False)
        assert [fault.field for fault in found] == ["tray", "items[1].pieces", "items[2].weighings[1].unit"]

    def test_values_that_only_their_neighbours_show_wrong_are_listed_too(self) -> None:
        bad = changed(
            ("items.0.offer.amount", "1.005"),
            ("items.1.offer.amount", "1.005"),
            ("spot.0.price", "0.00"),
            ("payout.amount", "1.005"),
            ("parties.0.documents.0.number", "--"),
        )
        found = reading.faults(json.dumps(bad).encode(), toml=False)
        assert [fault.field for fault in found] == [
            "parties[1].documents[1].number",
            "items[1].offer.amount",
            "items[2].offer.amount",
            "spot[1].price",
            "payout.amount",
        ]

    def test_a_price_of_nothing_is_found_where_nothing_is_paid_too(self) -> None:
        bad = changed(("spot.0.price", "0.00"), ("payout", GONE))
        found = reading.faults(json.dumps(bad).encode(), toml=False)
        assert [fault.field for fault in found] == ["spot[1].price"]

    def test_a_decoded_document_that_is_no_object_is_refused(self) -> None:
        with pytest.raises(InputError, match=r"^slip: a list of 0 was given; wanted is one slip"):
            reading.slip_of([])

    def test_a_sound_document_has_no_faults(self) -> None:
        assert reading.faults(JSON, toml=False) == reading.faults(TOML, toml=True) == ()

    def test_what_was_typed_about_a_person_is_never_repeated(self) -> None:
        """Fed in wrong ways into every text of the parties, the payee and the declaration: no fault says it again."""
        wrong: list[Any] = ["Zwqx\u0001", "Zwqx", "Zwqx" * 20_000, ["Zwqx"], {"not_known": ["Zwqx"]}]
        paths = [path for path in _texts(document()) if path.startswith(("parties", "payout", "declaration", "notes"))]
        assert len(paths) > 30
        for path in paths:
            for value in wrong:
                for fault in reading.faults(json.dumps(changed((path, value))).encode(), toml=False):
                    assert "Zwqx" not in str(fault) or path in ("payout.instrument", "payout.currency", "payout.amount")


def _texts(value: Any, path: str = "") -> list[str]:
    if isinstance(value, str):
        return [path]
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [found for name, one in inner for found in _texts(one, f"{path}.{name}".lstrip("."))]


class TestGoodSlips:
    """The same slip from JSON and TOML; what is written reads the same again."""

    def test_json_and_toml_give_the_same_slip(self) -> None:
        assert reading.read(JSON, toml=False) == reading.read(TOML, toml=True)

    def test_what_is_written_reads_the_same_again(self) -> None:
        sample = slip()
        assert reading.slip_of(writing.as_document(sample)) == sample
        assert reading.read(json.dumps(writing.as_document(sample)).encode(), toml=False) == sample

    def test_a_mark_of_byte_order_does_no_harm(self) -> None:
        assert reading.read(b"\xef\xbb\xbf" + JSON, toml=False) == slip()

    def test_text_is_brought_to_nfc(self) -> None:
        # Unicode Standard Annex 15: e + combining acute composes to U+00E9.
        assert slip(("items.0.damage", "caf\u0065\u0301")).items[0].damage == "caf\u00e9"

    def test_paragraphs_of_declaration_and_notes_become_one_line(self) -> None:
        read = slip(("declaration.text", "I own these.\n\n  All of them.\n"), ("notes", "a\r\n\tb"))
        assert read.declaration is not None
        assert (read.declaration.text, read.notes) == ("I own these. All of them.", "a b")

    def test_units_may_be_said_in_words(self) -> None:
        weight = slip(("items.0.weighings.0.unit", "Grams")).items[0].weighings[0].weight
        assert (weight.text, weight.unit, weight.mg) == ("4.20", "g", 4200)

    def test_what_is_not_known_keeps_its_reason(self) -> None:
        assert slip().seller.email == NotKnown("has none")
        assert slip(("parties.0.phones", {"not_known": "changed it today"})).seller.phones == NotKnown(
            "changed it today"
        )
        assert slip(("parties.0.name", {"not_known": "would not say"})).seller.name == NotKnown("would not say")

    def test_sizes_stand_as_entered_with_micrometres_beside(self) -> None:
        # NIST Handbook 44 Appendix C: 1 inch is 25.4 mm. ISO 8653: the number is the inner circumference in mm.
        # United States size 9.5: diameter 19.33 mm by the usual formula (common practice, no published source).
        sizes = [
            {"what": "length", "value": "18", "unit": "in"},
            {"what": "ring", "value": "54", "system": "iso"},
            {"what": "ring", "value": "9.5", "system": "us"},
            {"what": "ring", "value": "P½", "system": "uk"},
        ]
        read = slip(("items.0.sizes", sizes)).items[0].sizes
        assert isinstance(read, tuple)
        assert [size.um for size in read] == [457_200, 54_000, 60_725, None]
        assert round(60_725 / 3.14159265 / 1_000, 2) == 19.33
        assert read[3].value == "P½"

    def test_a_slip_wide_enough_for_all_who_may_take_part(self) -> None:
        """Dealer, estate, principal, guardian, a parcel, several documents, reasons for what could not be taken."""
        person = document()["parties"][0]
        others = [
            {"role": "co-seller", "kind": "dealer", "name": {"family": "Orsolya", "as_written": "Szép Orsolya"},
             "dealer": {"business": "Szép & Co.", "licence": {"not_known": "left at home"}, "declaration": "I deal."}},
            {"role": "principal", "kind": "estate", "name": {"not_known": "an estate"},
             "estate": {"of": "Ida Wren", "capacity": "executor", "authority": "letters 12/2026"}},
            {"role": "guardian", "kind": "person", "name": {"family": "Averill"}, "observed": {"intoxicated": False}},
            {"role": "host", "kind": "person", "name": {"family": "Rook"},
             "personally_known": {"by": "mara", "how": "neighbour"}},
        ]  # fmt: skip
        parcel = {
            "carrier": "post",
            "received_at": "2026-11-23T09:00:00-05:00[America/New_York]",
            "tamper_band": "whole",
        }
        read = slip(("parties", [person, *others]), ("channel", "parcel"), ("parcel", parcel))
        assert [party.role for party in read.parties] == ["seller", "co-seller", "principal", "guardian", "host"]
        assert read.parties[1].dealer is not None
        assert read.parties[1].dealer.licence == NotKnown("left at home")
        assert reading.slip_of(writing.as_document(read)) == read

    def test_a_parcel_may_come_at_a_moment_with_only_an_offset(self) -> None:
        parcel = {"carrier": "post", "received_at": "2026-11-23T14:00:00Z", "tamper_band": "none", "tracking": "T1"}
        read = slip(("channel", "parcel"), ("parcel", parcel))
        assert reading.slip_of(writing.as_document(read)) == read

    def test_a_serial_that_was_filed_off_is_said_as_such(self) -> None:
        serials = [{"text": {"not_known": "filed off"}, "of": "works", "condition": "removed"}]
        read = slip(("items.0.serials", serials)).items[0].serials
        assert isinstance(read, tuple)
        assert (read[0].text, read[0].condition) == (NotKnown("filed off"), "removed")


class TestProperties:
    """Whatever is handed in gives a slip or an InputError, never another exception."""

    @given(st.binary(max_size=200), st.booleans())
    def test_any_bytes(self, data: bytes, toml: bool) -> None:
        with pytest.raises(InputError):
            reading.read(data, toml=toml)

    @settings(max_examples=150)
    @given(st.integers(0, len(JSON) - 1), st.binary(min_size=0, max_size=3), st.booleans())
    def test_bytes_changed_somewhere(self, at: int, patch: bytes, toml: bool) -> None:
        sample = TOML if toml else JSON
        at = min(at, len(sample) - 1)
        try:
            reading.read(sample[:at] + patch + sample[at + len(patch) + 1 :], toml=toml)
        except InputError as fault:
            assert str(fault).endswith(".")  # noqa: PT017


def test_reading_takes_less_than_half_of_what_a_general_validator_takes_for_the_form_alone() -> None:
    """Both are given the same five items in turn, so that whatever slows the machine slows both."""
    bare = changed(("items", [RING] * 5))
    data = json.dumps(bare).encode()
    general = jsonschema.Draft202012Validator(SCHEMA)

    def seconds(work: Callable[[], object]) -> float:
        start = time.process_time()
        work()
        return time.process_time() - start

    pairs = [(seconds(lambda: reading.read(data, toml=False)), seconds(lambda: general.is_valid(bare)))
             for _ in range(9)]  # fmt: skip
    assert statistics.median(ours / theirs for ours, theirs in pairs) < 0.5
