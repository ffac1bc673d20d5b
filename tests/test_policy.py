"""The owner's policy: check logs, defaults, limits on what is bought."""

import math
import statistics
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats  # type: ignore[import-untyped]

from ledger.assay.buying import SITUATIONS, Breach, Limit, breaches, situations
from ledger.assay.checks import coverage, uncertainty
from ledger.assay.policy import Policy
from ledger.errors import InputError
from ledger.measures import Money
from tests.assay_samples import assess, dense, filed, streak, xrf

GOLD_14 = xrf("inside", Au=584, Ag=119, Cu=257, Zn=40)


class TestUncertainty:
    """A policy derives U from the check log by a stated formula."""

    @given(
        st.integers(0, 1_000_000),
        st.lists(st.integers(0, 1_000_000), min_size=5, max_size=40),
        st.integers(0, 20_000),
    )
    def test_the_formula_agrees_with_an_independent_library(
        self, known: int, readings: list[int], known_u: int
    ) -> None:
        spread = statistics.variance(readings) * (1 + 1 / len(readings)) + (known_u / 2) ** 2
        factor = max(2.0, float(coverage(len(readings))))
        wanted = abs(statistics.fmean(readings) - known) + factor * math.sqrt(spread)
        found = uncertainty(known, readings, known_u=known_u)
        assert wanted - 0.01 <= found <= wanted + 2.01

    def test_the_factor_is_students_t(self) -> None:
        # scipy's t distribution; a log between two rows of the table takes the wider factor.
        for readings in (*range(5, 22), 26, 31, 41, 51):
            assert float(coverage(readings)) == pytest.approx(stats.t.ppf(0.975, readings - 1), abs=6e-4)
        assert all(coverage(n) >= coverage(n + 1) >= 2 for n in range(5, 200))

    @given(st.lists(st.integers(570_000, 600_000), min_size=5, max_size=12), st.integers(1, 5_000))
    def test_a_bias_only_widens(self, readings: list[int], bias: int) -> None:
        known = round(statistics.fmean(readings))
        off = [reading + bias for reading in readings]
        assert uncertainty(known, off, known_u=0) >= uncertainty(known, readings, known_u=0)

    def test_four_readings_are_too_few(self) -> None:
        with pytest.raises(InputError, match="at least 5 of one piece"):
            uncertainty(585_000, [585_000] * 4, known_u=0)


class TestPolicy:
    """The owner's limits come from settings."""

    def test_settings_are_read_in_grams_and_thousandths(self) -> None:
        policy = Policy.read({"flat_ppt": "8", "density_from_g": "2.5", "scale_step_g": "0.001"})
        assert (policy.flat_ppm, policy.density_limit_mg, policy.scale_step_ug) == (8_000, 2_500, 1_000)
        assert policy.record()["curved_ppm"] == 20_000

    @pytest.mark.parametrize("settings", [{"flat": "8"}, {"speed_ppt": "8"}, {"flat_ppt": "eight"}, {"flat_g": "1"}])
    def test_a_setting_that_is_not_known_or_no_number_is_refused(self, settings: dict[str, object]) -> None:
        with pytest.raises(InputError):
            Policy.read(settings)

    @pytest.mark.parametrize(
        "policy",
        [Policy(), Policy(flat_ppm=1), Policy(instruments=(("x", "flat", 9),), scales=(("s", 3),))],
    )
    def test_a_record_gives_the_policy_back(self, policy: Policy) -> None:
        assert Policy.parse(policy.record()) == policy

    def test_a_record_of_before_there_were_checks_is_read(self) -> None:
        record = Policy().record()
        assert "instruments" not in record
        assert Policy.parse(record).instruments == ()

    def test_a_place_without_a_check_is_no_better_than_an_easier_one(self) -> None:
        policy = Policy(instruments=(("a", "flat", 25_000), ("b", "curved", 4_000)))
        assert [policy.u_ppm("a", place) for place in ("flat", "curved", "tiny")] == [25_000, 25_000, 30_000]
        assert [policy.u_ppm("b", place) for place in ("flat", "curved", "tiny")] == [10_000, 4_000, 30_000]
        assert policy.u_ppm("", "flat") == 10_000

    def test_a_reading_of_a_checked_instrument_is_as_good_as_its_check(self) -> None:
        policy = Policy(instruments=(("xrf-1", "flat", 4_000),))
        checked = assess({**GOLD_14, "instrument": "xrf-1"}, marks="14K", policy=policy)
        assert checked.seen is not None
        assert (checked.seen.low_ppm, checked.seen.high_ppm) == (580_000, 588_000)

    def test_a_scale_that_is_off_decides_less(self) -> None:
        ring = GOLD_14, {**dense(4.0, 13.1), "instrument": "scale-1"}
        assert assess(*ring, marks="14K", grams=4.0).construction == "solid"
        off = Policy(scales=(("scale-1", 100_000),))
        assert assess(*ring, marks="14K", grams=4.0, policy=off).construction == "undetermined"


class TestBuying:
    """What may be bought on which assessment, for instance nothing above an amount while a test is owed."""

    @pytest.mark.parametrize(
        ("tests", "marks", "holds"),
        [
            ((), "", {"test-owed", "no-claim", "undetermined"}),
            ((GOLD_14, filed(Au=584, Cu=416)), "14K", set()),
            ((GOLD_14, streak(18, "holds"), filed(Au=584, Cu=416)), "14K", {"conflict", "not-known"}),
            ((), "1/20 12K GF", {"not-known", "layered", "by-the-mark"}),
            ((xrf(Ag=896, Cu=62, Rh=42),), "PT950", {"contrary"}),
        ],
    )
    def test_an_assessment_leaves_a_purchase_in_its_situations(
        self, tests: tuple[dict[str, Any], ...], marks: str, holds: set[str]
    ) -> None:
        assert holds <= set(situations(assess(*tests, marks=marks, grams=5.0)))
        if not holds:
            assert situations(assess(*tests, marks=marks, grams=5.0)) == ()

    def test_a_price_is_held_against_the_limit_in_its_own_currency(self) -> None:
        ring = assess(GOLD_14, marks="14K", grams=5.0)
        limits = {"test-owed": Limit((Money("USD", 15_000), Money("EUR", 10_000)))}
        assert breaches(limits, ring, Money("USD", 15_000)) == ()
        assert breaches(limits, ring, Money("USD", 15_001)) == (
            Breach("test-owed", "USD 150.01 is above USD 150.00, and a test is owed first (a density)"),
        )
        assert breaches(limits, ring, Money("EUR", 9_000)) == ()
        (other,) = breaches(limits, ring, Money("CAD", 1))
        assert other.says.startswith("CAD 0.01 is in a currency for which the owner names no limit beside USD 150.00")
        assert breaches({}, ring, Money("CAD", 10**9)) == ()

    def test_never_is_nothing(self) -> None:
        spoon = assess(xrf(Ag=896, Cu=62, Rh=42), marks="PT950", grams=7.0)
        (found,) = breaches({"contrary": Limit(())}, spoon, Money("USD", 1))
        assert found.says == (
            "USD 0.01 is more than the owner allows, which is nothing, and it is contrary to its mark"
        )

    def test_every_situation_has_its_words(self) -> None:
        assert all(words for words in SITUATIONS.values())
