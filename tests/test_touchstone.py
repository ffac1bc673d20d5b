"""The touchstone: karat acids, the acid for silver, batch and age of an acid, depth of a rub."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.assay import touchstone
from ledger.assay.assessments import Interval
from ledger.assay.evidence import SilverStreak, Streak, read
from ledger.assay.touchstone import SILVER_COLOURS, acid_of, allows, reach, removed_um, silver_allows
from tests.assay_samples import Document, assess, filed, owed, streak, xrf

STERLING = xrf(Ag=925, Cu=75)


def gold(karat: int, did: str, **more: Any) -> Streak:
    """One streak as the evidence holds it."""
    (test,) = read([streak(karat, did, **more)])
    assert isinstance(test, Streak)
    return test


def coloured(colour: str, depth: str = "light", **more: Any) -> Document:
    """One streak under the acid for silver."""
    return {"test": "silver-streak", "colour": colour, "depth": depth, **more}


def silver(colour: str, **more: Any) -> SilverStreak:
    """The same as the evidence holds it."""
    (test,) = read([coloured(colour, **more)])
    assert isinstance(test, SilverStreak)
    return test


class TestAllows:
    """Touchstone intervals: acid may contradict a reading and is good to a karat, half a karat with needles."""

    @pytest.mark.parametrize(
        ("tests", "needles", "low", "high"),
        [
            # Per thousand, from the model: one karat 41.67, W. Walchli, Gold Bulletin 14 (1981), 10 to 20 per thousand
            # at the best with needles; the rest common practice.
            ([(14, "holds"), (18, "gone")], False, 541.7, 729.2),
            ([(14, "holds"), (18, "gone")], True, 562.5, 718.7),
            ([(10, "holds"), (14, "fades")], False, 479.2, 604.2),
            ([(10, "gone")], False, 0.0, 395.8),
            ([(18, "holds")], False, 708.3, 1000.0),
        ],
    )
    def test_streaks_leave_these_intervals(
        self, tests: list[tuple[int, str]], needles: bool, low: float, high: float
    ) -> None:
        found = Interval(0, 1_000_000)
        for karat, did in tests:
            within = found.within(allows(karat * 1_000_000 // 24, did, needles))
            assert within is not None
            found = within
        assert found.low_ppm / 1000 == pytest.approx(low, abs=0.2)
        assert found.high_ppm / 1000 == pytest.approx(high, abs=0.2)

    def test_17_karat_passes_the_acid_for_18(self) -> None:
        assert allows(750_000, "holds", needles=False).low_ppm < 17 * 1_000_000 // 24 + 50

    @given(st.integers(250_000, 1_000_000), st.sampled_from(["holds", "fades", "gone"]))
    def test_needles_never_widen_and_every_interval_lies_on_the_axis(self, acid: int, did: str) -> None:
        with_needles, without = allows(acid, did, needles=True), allows(acid, did, needles=False)
        assert without.within(with_needles) == with_needles
        assert 0 <= without.low_ppm <= without.high_ppm <= 1_000_000

    @given(st.integers(0, 1_000_000), st.integers(250_000, 1_000_000), st.booleans())
    def test_every_fineness_is_allowed_by_one_result_at_least(self, ppm: int, acid: int, needles: bool) -> None:
        between = [allows(acid, did, needles) for did in ("holds", "fades", "gone")]
        assert any(each.low_ppm <= ppm <= each.high_ppm for each in between)


class TestAcid:
    """Acid lot and date, and a control streak."""

    @pytest.mark.parametrize(
        ("karat", "more", "state"),
        [
            (14, {"control": {"karat": "14", "result": "holds"}}, "right"),
            (14, {"control": {"karat": "10", "result": "holds"}}, "weak"),
            (14, {"control": {"karat": "18", "result": "gone"}}, "strong"),
            (14, {}, "not-shown"),
            (14, {"opened": "2020-01-01", "at": "2026-11-24"}, "not-shown"),
            # About three weeks: a supplier's instructions on aqua regia.
            (22, {"opened": "2026-11-02", "at": "2026-11-24T10:15:00-05:00[America/New_York]"}, "stale"),
            (22, {"opened": "2026-11-03", "at": "2026-11-24"}, "not-shown"),
            (22, {"opened": "in spring", "at": "2026-11-24"}, "not-shown"),
            (22, {"opened": "2026-11-02"}, "not-shown"),
            (
                22,
                {"opened": "2020-01-01", "at": "2026-11-24", "control": {"karat": "22", "result": "holds"}},
                "right",
            ),
        ],
    )
    def test_an_acid_is_known_by_its_control_else_by_its_age(
        self, karat: int, more: dict[str, Any], state: str
    ) -> None:
        assert acid_of(gold(karat, "holds", **more)) == state

    def test_a_control_speaks_for_every_streak_under_acid_of_its_batch(self) -> None:
        weak = gold(14, "holds", batch="A-7", control={"karat": "10", "result": "holds"})
        right = gold(14, "holds", batch="a-7 ", control={"karat": "14", "result": "holds"})
        plain = gold(14, "holds", batch="A-7")
        assert acid_of(plain, [plain, right]) == "right"
        assert acid_of(plain, [right, weak]) == acid_of(plain, [weak, right]) == "weak"
        assert acid_of(right, [weak]) == "right"
        assert acid_of(gold(14, "holds", batch="A-8"), [weak]) == "not-shown"
        assert acid_of(gold(18, "holds", batch="A-7"), [weak]) == "not-shown"
        assert (
            acid_of(gold(14, "holds"), [gold(14, "holds", control={"karat": "10", "result": "holds"})]) == "not-shown"
        )

    def test_what_held_under_a_batch_that_a_control_shows_too_weak_is_not_used(self) -> None:
        ring = xrf(Au=584, Ag=119, Cu=257, Zn=40)
        held = streak(14, "holds", "deep", batch="A-7")
        assert assess(ring, held, marks="14K", grams=2.0).construction == "solid"
        faulty = streak(14, "fades", batch="A-7", control={"karat": "10", "result": "holds"})
        assert assess(ring, held, faulty, marks="14K", grams=2.0).construction == "undetermined"

    def test_what_holds_under_a_stale_acid_does_not_pass_and_what_fails_counts(self) -> None:
        stale = {"opened": "2026-01-01", "at": "2026-11-24"}
        coin = xrf(Au=917, Ag=55, Cu=28)
        passed = assess(coin, streak(22, "holds", "deep", **stale), marks="22K", grams=2.0)
        assert passed.construction == "undetermined"
        assert any("aqua regia opened more than 21 days before" in reason.text for reason in passed.reasons)
        assert "acid-failed" in assess(coin, streak(22, "gone", **stale), marks="22K", grams=2.0).rules


class TestDepth:
    """One light streak on a broad facet does not cut a gold-filled layer of 10 to 20 micrometres."""

    @pytest.mark.parametrize(("contact", "um"), [(1, 30.0), (5, 6.0)])
    def test_a_streak_takes_off_its_volume_over_the_place_rubbed(self, contact: float, um: float) -> None:
        # 20 x 3 mm, half a micrometre thick is 0.03 mm3: arithmetic.
        assert removed_um(length_mm=20, width_mm=3, film_um=0.5, contact_mm2=contact) == pytest.approx(um)

    def test_depth_is_told_in_words(self) -> None:
        assert reach(deep=False) == "from the outer 6 to 30 micrometres"
        assert reach(deep=True) == "from below 200 micrometres"
        assert touchstone.LIGHT_UM == (6, 30)


class TestSilver:
    """Dichromate and nitric acid: fine silver bright red, 925 dark red, 800 brown, 500 green, nickel blue."""

    @pytest.mark.parametrize(
        ("ppm", "colour"),
        [(999_000, "bright-red"), (925_000, "dark-red"), (800_000, "brown"), (500_000, "green"), (0, "blue")],
    )
    def test_each_fineness_is_allowed_by_its_own_colour(self, ppm: int, colour: str) -> None:
        # The colours: makers' instructions, common practice.
        between = SILVER_COLOURS[colour]
        assert between.low_ppm <= ppm <= between.high_ppm

    def test_a_known_streak_of_another_colour_voids_it(self) -> None:
        assert silver_allows(silver("dark-red", control={"fineness": "925", "colour": "dark-red"})) is not None
        assert silver_allows(silver("dark-red", control={"fineness": "925", "colour": "green"})) is None
        void = assess(coloured("dark-red", control={"fineness": "925", "colour": "green"}), marks="STERLING")
        assert "known silver beside it took another colour" in void.reasons[0].text

    def test_a_colour_that_agrees_does_not_narrow_and_a_light_one_does_not_show_solid(self) -> None:
        spoon = assess(STERLING, coloured("dark-red"), marks="STERLING", grams=30.0)
        assert (spoon.seen, spoon.construction) == (Interval(915_000, 935_000), "undetermined")
        assert [bar.test for bar in spoon.bars] == ["xrf", "silver-streak"]
        assert "silver-acid" in spoon.rules

    def test_a_deep_streak_that_turns_red_speaks_for_solid(self) -> None:
        assert assess(STERLING, coloured("dark-red", "deep"), marks="STERLING", grams=30.0).construction == "solid"
        # Copper turns brown too.
        brown = assess(xrf(Ag=800, Cu=200), coloured("brown", "deep"), marks="800", grams=30.0)
        assert brown.construction == "undetermined"

    @pytest.mark.parametrize("colour", ["blue", "yellow", "none", "green"])
    def test_a_failure_is_not_outvoted(self, colour: str) -> None:
        tests = STERLING, filed(Ag=925, Cu=75), coloured(colour, "deep")
        tray = assess(*tests, marks="STERLING", grams=30.0)
        assert "acid-failed" in tray.rules
        assert tray.construction == "undetermined"

    def test_a_colour_finer_than_the_reading_is_a_conflict(self) -> None:
        tray = assess(xrf(Ag=700, Cu=300), coloured("bright-red"), marks="800", grams=30.0)
        assert "acid-above-reading" in tray.rules
        assert owed(tray) == ["filed-xrf"]

    def test_colours_alone_leave_a_wide_interval_for_marked_silver(self) -> None:
        spoon = assess(coloured("dark-red"), coloured("brown"), marks="STERLING", grams=30.0)
        assert (spoon.metal, spoon.seen) == ("silver", Interval(800_000, 925_000))
        assert assess(coloured("dark-red"), marks="14K", grams=3.0).metal is None
        assert "streaks-differ" in assess(coloured("bright-red"), coloured("blue"), marks="STERLING").rules

    def test_parts_that_differ_are_not_judged_by_one_streak(self) -> None:
        knife = assess(xrf(part="handle", Ag=925, Cu=75), xrf(part="blade", Fe=880, Cr=120), coloured("dark-red"))
        assert "silver-acid" not in knife.rules
