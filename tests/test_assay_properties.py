"""What must hold for any evidence at all, however odd, held by drawn documents."""

import json
from decimal import Decimal
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from ledger.assay import strip, value
from ledger.assay.assessments import CONFIDENCES, CONSTRUCTIONS, OWED, STANDINGS, Assessment, Policy
from ledger.assay.density import ELEMENTS
from ledger.assay.evidence import read
from ledger.assay.evidence_schema import CHOICES
from ledger.assay.weighing import weigh
from tests.assay_samples import Document, dense, streak, xrf

SETTINGS = settings(max_examples=80, deadline=None)
NUMBERS = st.sampled_from(
    ["0", "0.001", "1", "9", "10", "14", "18.5", "24", "77.9", "585", "999.9", "1000", "999999999"]
)
PARTS = st.sampled_from(["", "clasp", "chain", "blade"])
STAMPS = st.sampled_from(
    [
        "14K",
        "18K",
        "585",
        "750",
        "925",
        "STERLING",
        "1/20 12K GF",
        "14K GF",
        "18KGP",
        "GS",
        "STERLING WEIGHTED",
        "84",
        "PT950",
        "999.9",
        "EPNS",
        "VERMEIL 925",
        "14K HOLLOW",
        "QZX",
        "INOX",
        "10K 14K",
        "??K",
        "1/20",
        "PM",
    ]
)


def choice(name: str) -> st.SearchStrategy[str]:
    """One of the words that a member may be."""
    return st.sampled_from(CHOICES[name])


@st.composite
def alloys(draw: st.DrawFn) -> Document:
    """Elements that add up to a thousand per thousand, one metal leading."""
    lead = draw(st.sampled_from(["Au", "Au", "Ag", "Pt", "Pd", "Cu"]))
    first = draw(st.integers(0, 1000))
    second = draw(st.integers(0, 1000 - first))
    others = draw(st.lists(st.sampled_from(["Ag", "Cu", "Zn", "Ni", "Rh", "Ir", "W", "Co"]), min_size=2, max_size=2))
    found: dict[str, int] = {}
    for symbol, ppt in zip([lead, *others], [first, second, 1000 - first - second], strict=True):
        found[symbol] = found.get(symbol, 0) + ppt
    return {symbol: str(ppt) for symbol, ppt in found.items() if ppt}


ELEMENT_TABLES = st.one_of(alloys(), st.dictionaries(st.sampled_from(sorted(ELEMENTS)), NUMBERS, max_size=4))


def xrfs(test: str, tables: st.SearchStrategy[Document] = ELEMENT_TABLES) -> st.SearchStrategy[Document]:
    """X-ray tests."""
    reading = st.fixed_dictionaries({"elements": tables}, optional={"part": PARTS, "spot": PARTS})
    return st.fixed_dictionaries(
        {"test": st.just(test), "unit": st.just("per-mille"), "readings": st.lists(reading, min_size=1, max_size=3)},
        optional={"geometry": choice("geometry"), "uncertainty": NUMBERS},
    )


def streaks(depth: st.SearchStrategy[str]) -> st.SearchStrategy[Document]:
    """Touchstone tests."""
    control = st.fixed_dictionaries({"karat": NUMBERS, "result": choice("result")})
    return st.fixed_dictionaries(
        {"test": st.just("streak"), "acid_karat": NUMBERS, "depth": depth, "result": choice("result")},
        optional={"needles": st.booleans(), "control": control},
    )


PLAUSIBLE_DENSITIES = st.builds(
    dense,
    st.sampled_from([0.5, 2.0, 3.1, 8.0, 31.1, 250.0]),
    st.sampled_from([2.0, 6.5, 8.6, 9.6, 10.4, 11.5, 13.1, 15.4, 19.3, 21.0, 30.0]),
)
ODD_DENSITIES = st.fixed_dictionaries(
    {"test": st.just("density"), "air": NUMBERS, "water": NUMBERS, "unit": st.sampled_from(["g", "dwt", "ct"])},
    optional={
        "interval": NUMBERS,
        "water_temperature": NUMBERS,
        "air_after": NUMBERS,
        "bubbles": choice("bubbles"),
        "stones": st.fixed_dictionaries({"weight": NUMBERS, "unit": st.just("ct"), "density": NUMBERS}),
    },
)
VISUALS = st.fixed_dictionaries(
    {"test": st.just("visual"), "shows": st.lists(choice("visual"), min_size=1, max_size=3)}
)
CONSENTS = st.fixed_dictionaries(
    {"test": st.just("consent"), "given": st.booleans()},
    optional={"to": st.lists(choice("leaves-a-mark"), min_size=1, max_size=3)},
)
SILVER_STREAKS = st.fixed_dictionaries(
    {"test": st.just("silver-streak"), "colour": choice("colour"), "depth": choice("depth")}
)
CURRENTS = st.fixed_dictionaries({"kilohertz": NUMBERS, "iacs": NUMBERS})
TESTS = st.one_of(
    xrfs("xrf"),
    xrfs("filed-xrf"),
    streaks(choice("depth")),
    PLAUSIBLE_DENSITIES,
    ODD_DENSITIES,
    VISUALS,
    CONSENTS,
    SILVER_STREAKS,
    st.fixed_dictionaries({"test": st.just("magnet"), "pull": choice("pull")}, optional={"part": PARTS}),
    st.fixed_dictionaries(
        {"test": st.just("conductance"), "readings": st.lists(CURRENTS, min_size=1, max_size=2)},
        optional={"uncertainty": NUMBERS, "thickness_mm": NUMBERS},
    ),
    st.fixed_dictionaries({"test": st.just("ultrasound"), "calliper_mm": NUMBERS, "shown_mm": NUMBERS}),
    st.fixed_dictionaries({"test": st.just("cut"), "shows": choice("cut")}),
    st.fixed_dictionaries({"test": st.just("stripped"), "who": choice("who"), "shell": NUMBERS, "unit": st.just("g")}),
    st.fixed_dictionaries(
        {"test": st.just("melt"), "metal": choice("metal"), "fineness": NUMBERS, "method": choice("method")},
        optional={"after": st.just("1"), "unit": st.just("g"), "uncertainty": NUMBERS},
    ).filter(lambda test: "after" not in test or "unit" in test),
)
EVIDENCE = st.lists(TESTS, max_size=6)
CIRCUMSTANCES = st.fixed_dictionaries(
    {},
    optional={
        "marks": st.lists(st.tuples(STAMPS, PARTS), max_size=3),
        "gross_mg": st.integers(0, 10**6),
        "stones_mg": st.integers(0, 10**6),
        "net_mg": st.integers(0, 10**6),
        "colour": st.sampled_from(["yellow", "white", "grey", "two-tone", ""]),
        "stone_set": st.booleans(),
        "consent": st.sampled_from([None, True, False]),
    },
)


def weighed(tests: list[Document], circumstances: dict[str, Any]) -> Assessment:
    """The assessment of a drawn document."""
    return weigh(read(tests), **circumstances)


class TestAnyEvidence:
    """Every input may be missing; every combination gives an answer or a reason, never an exception."""

    @SETTINGS
    @given(EVIDENCE, CIRCUMSTANCES)
    def test_any_evidence_gives_an_answer_on_the_axes(self, tests: list[Document], around: dict[str, Any]) -> None:
        found = weighed(tests, around)
        assert found.construction in CONSTRUCTIONS
        assert found.standing in STANDINGS
        assert found.confidence in CONFIDENCES
        assert found.reasons
        assert found.headline().endswith(".")
        assert {each.test for each in found.owed} <= set(OWED)
        if found.payable is not None:
            assert 0 <= found.payable.low_ppm <= found.payable.high_ppm <= 1_000_000
            assert found.paid_fineness_ppm is not None
            assert found.paid_fineness_ppm <= found.payable.high_ppm

    @SETTINGS
    @given(EVIDENCE, CIRCUMSTANCES)
    def test_a_record_holds_text_and_whole_numbers_only(self, tests: list[Document], around: dict[str, Any]) -> None:
        found = weighed(tests, around)
        for record in (found.record(), value.value(found, {}, {}).record()):

            def refuse(number: str) -> float:
                raise AssertionError(f"{number} is no whole number")

            json.loads(json.dumps(record), parse_float=refuse)

    @SETTINGS
    @given(EVIDENCE, CIRCUMSTANCES)
    def test_any_evidence_can_be_drawn_and_said(self, tests: list[Document], around: dict[str, Any]) -> None:
        picture = strip.strip(weighed(tests, around))
        assert strip.svg(picture).startswith("<svg")
        assert strip.words(picture).endswith(".")

    @SETTINGS
    @given(EVIDENCE, CIRCUMSTANCES, st.randoms(use_true_random=False))
    def test_the_order_of_evidence_changes_nothing(
        self, tests: list[Document], around: dict[str, Any], chance: Any
    ) -> None:
        shuffled = list(tests)
        chance.shuffle(shuffled)
        marks = list(around.get("marks", []))
        chance.shuffle(marks)
        assert weighed(tests, around) == weighed(shuffled, {**around, "marks": marks})


class TestSurface:
    """Surface tests alone never give "solid", and no further one turns undetermined into solid."""

    SURFACE = st.one_of(xrfs("xrf"), streaks(st.just("light")), VISUALS)

    @SETTINGS
    @given(st.lists(SURFACE, max_size=6), CIRCUMSTANCES)
    def test_surface_tests_alone_never_give_solid(self, tests: list[Document], around: dict[str, Any]) -> None:
        found = weighed(tests, around)
        assert found.construction != "solid"
        assert found.payable is None or found.upper_bound

    @SETTINGS
    @given(alloys(), EVIDENCE, SURFACE, CIRCUMSTANCES)
    def test_one_more_surface_test_does_not_make_it_solid(
        self, first: Document, tests: list[Document], more: Document, around: dict[str, Any]
    ) -> None:
        # With a first reading there: a density or a cut alone says nothing until there is one to hold it against, and
        # as the order of evidence must not matter, a reading that comes last completes it like one that came first.
        tests = [*tests, {"test": "xrf", "unit": "per-mille", "readings": [{"elements": first}]}]
        before = weighed(tests, around)
        if before.construction == "undetermined":
            assert weighed([*tests, more], around).construction != "solid"

    @SETTINGS
    @given(EVIDENCE, TESTS, CIRCUMSTANCES)
    def test_one_more_test_widens_what_is_paid_for_only_with_a_conflict_named(
        self, tests: list[Document], more: Document, around: dict[str, Any]
    ) -> None:
        before, after = weighed(tests, around), weighed([*tests, more], around)
        if before.payable and after.payable and not set(after.conflicts) - set(before.conflicts):
            assert before.payable.low_ppm <= after.payable.low_ppm
            assert after.payable.high_ppm <= before.payable.high_ppm

    @SETTINGS
    @given(alloys(), alloys(), EVIDENCE, CIRCUMSTANCES)
    def test_a_filed_spot_on_one_part_says_nothing_of_the_other(
        self, clasp: Document, chain: Document, tests: list[Document], around: dict[str, Any]
    ) -> None:
        surface = [
            {"test": "xrf", "unit": "per-mille", "readings": [{"elements": elements, "part": part}]}
            for part, elements in (("clasp", clasp), ("chain", chain))
        ]
        of_surface = [test for test in tests if test["test"] in ("xrf", "visual", "magnet")]
        below = {"test": "filed-xrf", "part": "clasp", "unit": "per-mille", "readings": [{"elements": clasp}]}
        assert weighed([*of_surface, *surface, below], around).construction != "solid"


WITHOUT_LIMITS = Policy(density_limit_mg=0, fine_limit_mg=0, heavy_limit_mg=10**12)


def ten_times(test: Document) -> Document:
    """The same test on a piece ten times as heavy, on a scale with ten times the step."""
    grown: Document = {name: f"{Decimal(test[name]) * 10:f}" for name in ("air", "water", "interval") if name in test}
    return {**test, **grown}


class TestScaling:
    """Weight and resolution grown together change nothing in the physics, where no limit of the policy cuts in."""

    @SETTINGS
    @given(
        alloys(),
        st.lists(st.one_of(PLAUSIBLE_DENSITIES, xrfs("xrf", alloys())), min_size=1, max_size=3),
        st.lists(st.tuples(STAMPS, PARTS), max_size=2),
        st.integers(100, 10**5),
    )
    def test_ten_times_the_weight_on_ten_times_the_step_is_the_same(
        self, first: Document, tests: list[Document], marks: list[tuple[str, str]], net_mg: int
    ) -> None:
        tests = [*tests, {"test": "xrf", "unit": "per-mille", "readings": [{"elements": first}]}]
        small = weigh(read(tests), marks=marks, net_mg=net_mg, policy=WITHOUT_LIMITS)
        large = weigh(read([ten_times(test) for test in tests]), marks=marks, net_mg=net_mg * 10, policy=WITHOUT_LIMITS)
        for axis in ("construction", "standing", "suspicions", "seen", "payable", "confidence_rule", "rules"):
            assert getattr(small, axis) == getattr(large, axis)
        assert [each.test for each in small.owed] == [each.test for each in large.owed]


class TestLayersAndAcid:
    """A fraction is never overruled by a reading, and an acid failure is never outvoted."""

    @SETTINGS
    @given(st.lists(st.one_of(xrfs("xrf"), streaks(st.just("light"))), max_size=5), CIRCUMSTANCES)
    def test_no_surface_reading_overrules_a_fraction(self, tests: list[Document], around: dict[str, Any]) -> None:
        around = {**around, "marks": [*around.get("marks", []), ("1/20 12K GF", "clasp")]}
        found = weighed(tests, around)
        assert found.construction != "solid"
        assert found.payable is None or found.payable.high_ppm <= 25_000

    @SETTINGS
    @given(
        st.lists(TESTS, max_size=5),
        st.sampled_from(["gone", "fades"]),
        st.sampled_from(["light", "deep"]),
        st.sampled_from([10, 14, 18]),
        CIRCUMSTANCES,
    )
    def test_a_failure_in_acid_is_never_outvoted(
        self, tests: list[Document], result: str, depth: str, karat: int, around: dict[str, Any]
    ) -> None:
        gold = xrf(Au=karat * 1000 / 24 + 3, Cu=1000 - karat * 1000 / 24 - 3)
        around = {**around, "marks": [(f"{karat}K", "")]}
        found = weighed([*tests, gold, streak(karat, result, depth)], around)
        # A filed spot may show that the metal below is less fine: then the acid and it agree, and the mark is not true.
        assert found.construction != "solid" or found.standing == "below" or found.payable is None
        assert found.standing not in ("as-claimed", "finer")
