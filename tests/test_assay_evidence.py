"""The evidence document: read, refused, and held by the same schema."""

import copy
from typing import Any

import jsonschema
import pytest

from ledger.assay.evidence import EVIDENCE_SCHEMA, Conductance, Consent, Density, Melt, Streak, Xrf, read
from ledger.assay.evidence_schema import MEMBERS, NEEDED
from ledger.errors import InputError

WHO = {"instrument": "xrf-1", "by": "clerk-2", "at": "2026-11-24T10:15:00-05:00[America/New_York]"}
FULL: list[dict[str, Any]] = [
    {
        "test": "xrf",
        **WHO,
        "spot": "inside",
        "part": "band",
        "note": "cleaned first",
        "unit": "per-cent",
        "uncertainty": "1.5",
        "geometry": "curved",
        "message": "check for coating",
        "readings": [
            {"elements": {"Au": "58.4", "Cu": "41.6"}},
            {"elements": {"Au": "58"}, "spot": "edge", "part": "x"},
        ],
    },
    {"test": "filed-xrf", "unit": "per-mille", "readings": [{"elements": {"Ag": "925", "Cu": "75"}}]}
    | {"consent": {"given": True, "mark_left": "a notch under the foot"}},
    {
        "test": "streak",
        "acid_karat": "14",
        "depth": "deep",
        "result": "holds",
        "batch": "A-7",
        "opened": "2026-11-01",
        "needles": True,
        "control": {"karat": "14", "result": "holds"},
    },
    {
        "test": "density",
        "air": "6.430",
        "water": "5.940",
        "unit": "dwt",
        "interval": "0.001",
        "water_temperature": "21.5",
        "air_after": "6.431",
        "bubbles": "none",
        "stones": {"weight": "0.50", "unit": "ct", "density": "3.52", "estimated": True},
    },
    {"test": "magnet", "pull": "weak"},
    {"test": "conductance", "readings": [{"kilohertz": "480", "iacs": "77.5"}, {"kilohertz": "60", "iacs": "77.9"}]}
    | {"uncertainty": "1.5", "thickness_mm": "2.1"},
    {"test": "ultrasound", "calliper_mm": "8.30", "shown_mm": "8.28"},
    {"test": "visual", "shows": ["seam", "verdigris"], "text": "at the hinge"},
    {"test": "cut", "shows": "one-metal"},
    {"test": "stripped", "who": "seller", "shell": "27.9", "unit": "g"},
    {
        "test": "melt",
        "metal": "gold",
        "fineness": "581.2",
        "method": "pin",
        "uncertainty": "0.5",
        "laboratory": "lab",
        "before": "1",
        "after": "0.99",
        "unit": "ozt",
    },
    {"test": "consent", "given": False, "to": ["filed-xrf", "cut"], "by": "clerk-2"},
    {
        "test": "silver-streak",
        "colour": "dark-red",
        "depth": "deep",
        "batch": "S-2",
        "opened": "2026-11-01",
        "control": {"fineness": "925", "colour": "dark-red"},
    },
]


def changed(test: int, **members: Any) -> list[dict[str, Any]]:
    """The full document with some members of one test changed; None takes one away."""
    document = copy.deepcopy(FULL)
    for name, value in members.items():
        if value is None:
            document[test].pop(name)
        else:
            document[test][name] = value
    return document


class TestReading:
    """Numbers are decimal text and become whole numbers with their unit."""

    def test_every_kind_of_test_is_read(self) -> None:
        assert [test.name for test in read(FULL)] == list(MEMBERS)
        assert read(FULL)[0].by == "clerk-2"

    def test_elements_become_parts_per_million(self) -> None:
        xrf = read(FULL)[0]
        assert isinstance(xrf, Xrf)
        assert xrf.readings[0].elements == (("Au", 584_000), ("Cu", 416_000))
        assert (xrf.readings[0].spot, xrf.readings[1].spot, xrf.readings[1].part) == ("inside", "edge", "x")
        assert xrf.uncertainty_ppm == 15_000

    def test_weights_become_micrograms_in_whatever_unit(self) -> None:
        weighed = read(FULL)[3]
        assert isinstance(weighed, Density)
        # 6.430 pennyweight of 1.55517384 g.
        assert (weighed.air_ug, weighed.stone_ug, weighed.stone_mg_per_cm3) == (9_999_768, 100_000, 3_520)

    def test_karats_melts_and_consent_are_read(self) -> None:
        streak, melt = read(FULL)[2], read(FULL)[10]
        assert isinstance(streak, Streak)
        assert isinstance(melt, Melt)
        assert (streak.acid_ppm, streak.control, streak.deep) == (583_333, (583_333, "holds"), True)
        assert (melt.fineness_ppm, melt.before_mg, melt.uncertainty_ppm) == (581_200, 31_103, 500)
        assert (read(FULL)[1].consent, read(FULL)[1].mark_left) == (True, "a notch under the foot")

    def test_consent_asked_for_by_itself_names_the_tests_or_means_all_that_leave_a_mark(self) -> None:
        asked = read([{"test": "consent", "given": True}, FULL[11]])
        assert isinstance(asked[0], Consent)
        assert isinstance(asked[1], Consent)
        assert (asked[0].consent, asked[0].to) == (True, ("cut", "filed-xrf", "melt", "streak", "stripped"))
        assert (asked[1].consent, asked[1].to) == (False, ("cut", "filed-xrf"))

    def test_estimated_stones_and_the_reach_of_a_coil_are_read(self) -> None:
        weighed, coil = read(FULL)[3], read(FULL)[5]
        assert isinstance(weighed, Density)
        assert isinstance(coil, Conductance)
        assert weighed.stone_estimated
        assert (coil.uncertainty, coil.thickness_um) == (1_500, 2_100)

    def test_more_decimals_than_a_unit_holds_round_to_the_nearest(self) -> None:
        melt = read([{"test": "melt", "metal": "gold", "fineness": "999.99996", "method": "pin"}])[0]
        assert isinstance(melt, Melt)
        assert melt.fineness_ppm == 1_000_000

    @pytest.mark.parametrize(
        ("document", "member"),
        [
            ("text", "evidence"),
            ([{"test": "magnet", "pull": "none"}] * 61, "evidence"),
            (["magnet"], "evidence[0]"),
            ([{}], "evidence[0].test"),
            ([{"test": "dowsing"}], "evidence[0].test"),
            ([{"test": ["xrf"]}], "evidence[0].test"),
            (changed(0, unit="ppm"), "evidence[0].unit"),
            (changed(0, readings=[]), "evidence[0].readings"),
            (changed(0, readings="Au"), "evidence[0].readings"),
            (changed(0, readings=[{"elements": {"Au": 58.4}}]), "evidence[0].readings[0].elements.Au"),
            (changed(0, readings=[{"elements": {"Xx": "1"}}]), "evidence[0].readings[0].elements.Xx"),
            (changed(0, readings=[{"elements": {}, "depth": "1"}]), "evidence[0].readings[0].depth"),
            (changed(0, by=7), "evidence[0].by"),
            (changed(0, note="x" * 401), "evidence[0].note"),
            (changed(1, consent=True), "evidence[1].consent"),
            (changed(1, consent={"given": "yes"}), "evidence[1].consent.given"),
            (changed(1, consent={"given": True, "at": "x"}), "evidence[1].consent.at"),
            (changed(2, acid_karat="fourteen"), "evidence[2].acid_karat"),
            (changed(2, result="fizzes"), "evidence[2].result"),
            (changed(2, needles="yes"), "evidence[2].needles"),
            (changed(2, control={"karat": "14", "result": "?"}), "evidence[2].control.result"),
            (changed(2, control={"karat": "14", "result": "holds", "by": "x"}), "evidence[2].control.by"),
            (changed(3, unit="oz"), "evidence[3].unit"),
            (changed(3, unit=1), "evidence[3].unit"),
            (changed(3, air="-1"), "evidence[3].air"),
            (changed(3, water=None), "evidence[3].water"),
            (changed(3, stones={"weight": "1", "unit": "ct"}), "evidence[3].stones.density"),
            (changed(3, stones={"weight": "1", "unit": "ct", "density": "1", "x": "1"}), "evidence[3].stones.x"),
            (changed(5, readings=[{"kilohertz": "60"}]), "evidence[5].readings[0].iacs"),
            (changed(5, readings=[{"kilohertz": "60", "iacs": "1", "x": "1"}]), "evidence[5].readings[0].x"),
            (changed(7, shows=["shine"]), "evidence[7].shows"),
            (changed(9, who="nobody"), "evidence[9].who"),
            (changed(10, metal="tin"), "evidence[10].metal"),
            (changed(10, unit=None), "evidence[10].unit"),
            (changed(4, weight="3"), "evidence[4].weight"),
            (changed(11, given="yes"), "evidence[11].given"),
            (changed(11, to=["magnet"]), "evidence[11].to"),
            (changed(11, consent={"given": True}), "evidence[11].consent"),
        ],
    )
    def test_a_mistake_is_named_by_its_member(self, document: object, member: str) -> None:
        with pytest.raises(InputError) as caught:
            read(document)
        assert caught.value.field == member


class TestSchema:
    """The schema that a slip embeds says the same as the reader."""

    def setup_method(self) -> None:
        self.schema = jsonschema.Draft202012Validator(EVIDENCE_SCHEMA)

    def test_the_full_document_satisfies_the_schema(self) -> None:
        jsonschema.Draft202012Validator.check_schema(EVIDENCE_SCHEMA)
        self.schema.validate(FULL)

    def test_every_member_of_every_test_stands_in_the_full_document(self) -> None:
        for test in FULL:
            assert set(MEMBERS[test["test"]]) - set(test) <= {"uncertainty", "geometry", "message"}

    def test_every_object_of_the_schema_refuses_members_it_does_not_know(self) -> None:
        def walk(schema: Any) -> None:
            if isinstance(schema, dict):
                if "properties" in schema and "if" not in schema and "required" in schema and "allOf" not in schema:
                    assert schema.get("additionalProperties") is False or set(schema["properties"]) == {"test"}
                for each in schema.values():
                    walk(each)
            elif isinstance(schema, list):
                for each in schema:
                    walk(each)

        walk(EVIDENCE_SCHEMA)

    @pytest.mark.parametrize("place", range(len(FULL)))
    def test_what_the_schema_needs_the_reader_needs_too(self, place: int) -> None:
        for name in NEEDED[FULL[place]["test"]]:
            document = changed(place, **{name: None})
            assert not self.schema.is_valid(document)
            with pytest.raises(InputError):
                read(document)

    @pytest.mark.parametrize("place", range(len(FULL)))
    def test_an_unknown_member_fails_in_both(self, place: int) -> None:
        document = changed(place, shade="blue")
        assert not self.schema.is_valid(document)
        with pytest.raises(InputError):
            read(document)
