"""The schema of a slip, and the checker that is made of it, held against a general validator."""

import copy
import json
from collections.abc import Iterator
from typing import Any

import jsonschema
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from ledger.chain import canonical
from ledger.chain.parts import is_part_name
from ledger.errors import InputError
from ledger.slip import checking, completeness, describing, facts, parts, reading, rebuilding, searching, writing
from ledger.slip.document import Slip
from ledger.slip.schema import SCHEMA
from tests.slip_samples import document, slip
from tests.slip_strategies import documents

GENERAL = jsonschema.Draft202012Validator(SCHEMA)


def nodes(value: Any) -> Iterator[dict[str, Any]]:
    """Every schema node within a schema."""
    if isinstance(value, dict):
        if "type" in value or "enum" in value or "anyOf" in value:
            yield value
        for inner in value.values():
            yield from nodes(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from nodes(inner)


def without_formats(value: Any) -> Any:
    """The same schema for a validator that knows no formats, as the general one does not know ours."""
    if isinstance(value, dict):
        return {
            name: without_formats(inner)
            for name, inner in value.items()
            if name != "format" or inner == {"const": "slip/0"}
        }
    return [without_formats(inner) for inner in value] if isinstance(value, list) else value


CHECK = checking.compile_schema(without_formats(SCHEMA))


class TestTheSchema:
    """JSON Schema draft 2020-12; nothing beyond the members named; limits on lengths and counts."""

    def test_it_is_a_schema_of_its_draft(self) -> None:
        jsonschema.Draft202012Validator.check_schema(SCHEMA)
        assert SCHEMA["$schema"] == "https://json-schema.org/draft/2020-12/schema"

    def test_it_is_plain_json(self) -> None:
        assert json.loads(json.dumps(SCHEMA)) == SCHEMA

    def test_the_sample_is_valid(self) -> None:
        assert [error.message for error in GENERAL.iter_errors(document())] == []

    def test_every_object_refuses_members_that_it_does_not_name(self) -> None:
        objects = [node for node in nodes(SCHEMA) if node.get("type") == "object" and "allOf" not in node]
        assert len(objects) > 30
        assert all(node["additionalProperties"] is False for node in objects)

    def test_every_list_text_and_number_has_a_limit(self) -> None:
        for node in nodes(SCHEMA):
            match node.get("type"):
                case "array":
                    assert node["maxItems"] <= 100, node
                case "string":
                    assert node.get("maxLength", 0) <= 4_000, node
                    assert "maxLength" in node or node["pattern"].startswith("^"), node
                case "integer":
                    assert -1 < node["minimum"] < node["maximum"] <= 100_000, node

    def test_at_most_a_hundred_items(self) -> None:
        assert SCHEMA["properties"]["items"]["maxItems"] == 100


class TestTheChecker:
    """The checker agrees with a general validator, document by document."""

    @settings(max_examples=40, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
    @given(documents())
    def test_what_the_schema_allows_has_no_faults(self, drawn: dict[str, Any]) -> None:
        assert GENERAL.is_valid(drawn)
        assert CHECK(drawn) == []

    @settings(max_examples=120, suppress_health_check=[HealthCheck.too_slow])
    @given(st.data())
    def test_a_sample_changed_anywhere_is_judged_alike(self, data: st.DataObject) -> None:
        changed = mutated(document(), data)
        assert GENERAL.is_valid(changed) == (CHECK(changed) == [])

    @pytest.mark.parametrize(
        ("schema", "words"),
        [
            ({"type": "string"}, "a schema without maxLength"),
            ({"type": "array", "items": {"type": "boolean"}}, "a schema without maxItems"),
            ({"type": "integer", "minimum": 1}, "a schema without maximum"),
            ({"type": "object", "properties": {}}, "additionalProperties"),
            ({"type": "number"}, "type 'number'"),
            ({"type": "boolean", "not": {}}, "keywords that are not understood: not"),
            ({"$ref": "#/x", "maxLength": 1}, "members beside"),
        ],
    )
    def test_a_schema_that_it_does_not_understand_is_refused_at_once(self, schema: dict[str, Any], words: str) -> None:
        with pytest.raises(ValueError, match=words):
            checking.compile_schema(schema)

    def test_a_reference_may_say_in_its_own_words_what_is_wanted(self) -> None:
        check = checking.compile_schema(
            {"$ref": "#/$defs/yes", "description": "yes or no", "$defs": {"yes": {"type": "boolean"}}}
        )
        assert [str(fault) for fault in check("maybe")] == [": 'maybe' was given; wanted is yes or no."]

    def test_branches_that_nothing_tells_apart_are_refused_by_the_words_of_all(self) -> None:
        check = checking.compile_schema(
            {
                "anyOf": [
                    {"type": "boolean", "description": "true"},
                    {"type": "array", "maxItems": 1, "items": {"type": "boolean"}},
                ]
            }
        )
        assert check(True) == check([True]) == []
        assert [fault.wanted for fault in check({"a": 1})] == ["true, or a list"]

    def test_a_member_that_tells_branches_apart_may_be_missing(self) -> None:
        one = {
            "type": "object",
            "additionalProperties": False,
            "properties": {"is": {"const": "a"}},
            "required": ["is"],
        }
        other = {"type": "object", "additionalProperties": False, "properties": {"is": {"enum": ["b", "c"]}}}
        check = checking.compile_schema({"oneOf": [one, other]})
        assert check({"is": "c"}) == []
        assert [str(fault) for fault in check({})] == [".is: nothing was given; wanted is one of a, b, c."]
        assert [str(fault) for fault in check({"is": "d"})] == [".is: 'd' was given; wanted is one of a, b, c."]


class TestAnySlip:
    """Whatever the schema allows gives a slip or an InputError, and every slip can be judged, kept and found."""

    @settings(max_examples=50, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
    @given(documents())
    def test_every_slip_is_written_judged_kept_and_found(self, drawn: dict[str, Any]) -> None:
        try:
            read = reading.slip_of(drawn)
        except InputError:
            assert reading.faults(json.dumps(drawn).encode(), toml=False)
            return
        assert reading.slip_of(writing.as_document(read)) == read
        everything(read)

    @settings(max_examples=120, suppress_health_check=[HealthCheck.too_slow])
    @given(st.data())
    def test_a_sample_changed_anywhere_gives_a_slip_or_an_input_error(self, data: st.DataObject) -> None:
        changed = mutated(document(), data)
        try:
            read = reading.read(json.dumps(changed).encode(), toml=False)
        except InputError as fault:
            assert str(fault).endswith(".")  # noqa: PT017
            return
        everything(read)

    def test_the_sample_passes_all_of_it(self) -> None:
        everything(slip())


def everything(read: Slip) -> None:
    """Use a slip as the acts do; every part must be what a book can hold."""
    for fault in completeness.faults(read):
        assert str(fault.error()).endswith(".")
    completeness.expired_documents(read)
    records = {asked.part: picture(asked.cls) for asked in parts.pictures(read)}
    named = [
        *parts.presented_parts(read, assessments={}, values={}, pictures=records),
        *parts.recorded_parts(read, duties=[], pictures=records),
    ]
    for name, value in named:
        assert is_part_name(name), name
        canonical.encode([name, value])
    assert len(dict(named)) == len(named)
    assert comparable(rebuilding.slip_of(dict(named))) == comparable(read)
    for item in read.items:
        assert all(word and " " not in word for word in searching.tokens(item))
        assert describing.in_words(item)
        facts.evidence_of(item)


def picture(cls: str) -> parts.PictureRecord:
    """A record with digests of nothing."""
    digest = "ab" * 32
    return parts.PictureRecord("image/jpeg", 1, digest, digest, digest, digest, "00", cls)


def comparable(read: Slip) -> dict[str, Any]:
    """A slip as a document, without the names of files and the order of captures, which a book does not keep."""
    plain = json.loads(json.dumps(writing.as_document(read)), object_hook=_without_files)
    for party in plain["parties"]:
        party["captures"].sort(key=str)
    assert isinstance(plain, dict)
    return plain


def _without_files(members: dict[str, Any]) -> dict[str, Any]:
    return {name: "a file" if name == "file" else value for name, value in members.items()}


_ODD: st.SearchStrategy[Any] = st.sampled_from(
    [None, True, 0, -1, 10**30, "", "x", "-1", "1e3", "\u0000", "é", "2026-02-30", [], {}, [[]], {"not_known": "x"}]
)


def mutated(value: Any, data: st.DataObject) -> Any:
    """A document with one member replaced, taken out, doubled or added, anywhere."""
    value = copy.deepcopy(value)
    place, step = value, data.draw(st.sampled_from(list(value)))
    while isinstance(place[step], dict | list) and place[step] and data.draw(st.booleans()):
        place = place[step]
        step = data.draw(st.sampled_from(list(place) if isinstance(place, dict) else range(len(place))))
    match data.draw(st.sampled_from(["replace", "remove", "add", "swap"])):
        case "remove":
            del place[step]
        case "add" if isinstance(place, dict):
            place[data.draw(st.sampled_from(["x", "not_known", "file", "value", "é"]))] = data.draw(_ODD)
        case "swap" if isinstance(place, dict):
            place[step] = data.draw(st.sampled_from(list(place.values())))
        case _:
            place[step] = data.draw(_ODD)
    return value
