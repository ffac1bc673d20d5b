"""Marks, acids, densities, magnets, the eye and melts: each rule by itself."""

from typing import Any

import pytest

from ledger.assay.assessments import Interval, Policy
from tests.assay_samples import Document, assess, dense, filed, owed, streak, xrf

GOLD_14 = xrf("inside", Au=584, Ag=119, Cu=257, Zn=40)
STERLING = xrf(Ag=925, Cu=75)
FINE = xrf(Au=1000)


def rules(*tests: Document, **more: Any) -> tuple[str, ...]:
    """The rules that spoke."""
    return assess(*tests, **more).rules


class TestMarks:
    """A stamp is a claim; a mark against its own article's worth is believed."""

    def test_no_mark_and_a_reading_alone_is_not_solid_whatever_the_karat(self) -> None:
        for ppt in (333, 417, 585, 750, 917, 999):
            article = assess(xrf(Au=ppt, Ag=1000 - ppt) if ppt > 600 else xrf(Au=ppt, Cu=1000 - ppt), grams=25.0)
            assert (article.construction, article.standing) == ("undetermined", "no-claim")
            assert article.payable is None
            assert owed(article)

    def test_two_karats_on_one_article_are_a_conflict(self) -> None:
        ring = assess(GOLD_14, dense(4.2, 13.1), marks=[("14K", "shank"), ("18K", "head")], grams=4.2)
        assert "Marks differ" in ring.conflicts[0].what
        assert ring.standing == "below"

    def test_a_layer_without_its_share_leaves_nothing_to_pay_on(self) -> None:
        chain = assess(GOLD_14, marks="14K GF", grams=10.0)
        assert (chain.construction, chain.payable) == ("layered", None)
        assert "layer-not-said" in chain.rules
        assert "layer-mark" in chain.rules

    def test_a_declared_layer_and_a_density_of_karat_gold_is_an_open_conflict(self) -> None:
        ring = assess(GOLD_14, dense(12.0, 13.1), marks="1/20 14K GF", grams=12.0)
        assert (ring.construction, ring.standing) == ("layered", "not-known")
        assert ring.payable is not None
        assert ring.payable.high_ppm == 29_166
        assert ring.conflicts[0].settled_by == ""
        assert owed(ring) == ["cut-or-drill"]

    def test_vermeil_is_paid_as_silver_once_filed_and_silver_plate_never(self) -> None:
        tests = xrf(Au=980, Ag=20), filed(Ag=925, Cu=75)
        assert assess(*tests, marks="VERMEIL 925", grams=20.0).payable == Interval(915_000, 935_000)
        assert assess(*tests, marks="EPNS", grams=20.0).payable is None

    def test_steel_is_base_by_its_mark(self) -> None:
        spoon = assess(xrf(Fe=700, Cr=180, Ni=120), marks="18/10", grams=60.0)
        assert (spoon.construction, spoon.standing, spoon.confidence) == ("base", "as-claimed", "declared")
        assert assess(marks="INOX").standing == "not-known"

    def test_base_metal_under_a_gold_stamp_is_contrary_to_it(self) -> None:
        ring = assess(xrf(Cu=700, Zn=300), marks="14K", grams=5.0)
        assert (ring.construction, ring.standing, ring.payable) == ("base", "contrary", None)
        assert assess(xrf(Cu=700, Zn=300), grams=5.0).construction == "base"

    def test_a_mark_of_two_metals_is_weighed_against_the_metal_that_is_there(self) -> None:
        ring = assess(xrf(Au=752, Ag=120, Cu=128), dense(8.0, 15.4), marks="750", grams=8.0)
        assert (ring.standing, ring.claim and ring.claim.metal) == ("as-claimed", "gold")
        dish = assess(xrf(Ag=752, Cu=248), dense(80.0, 10.05), marks="750", grams=80.0)
        assert (dish.standing, dish.claim and dish.claim.metal) == ("as-claimed", "silver")
        assert assess(marks="750").claim is None


class TestStreaks:
    """Acid may contradict and never narrows; a failure never passes."""

    def test_a_streak_does_not_narrow_a_reading(self) -> None:
        assert assess(GOLD_14, streak(14, "holds"), streak(18, "gone")).seen == Interval(574_000, 594_000)

    @pytest.mark.parametrize(
        ("tests", "needles", "low", "high"),
        [
            # One karat without needles, half with them: Walchli, Gold Bulletin 14 (1981); worked by hand.
            ([(14, "holds"), (18, "gone")], False, 541.7, 729.2),
            ([(14, "holds"), (18, "gone")], True, 562.5, 718.7),
            ([(10, "holds"), (14, "fades")], False, 479.2, 604.2),
            ([(18, "holds")], False, 708.3, 1000),
        ],
    )
    def test_streaks_alone_allow_wide_intervals(
        self, tests: list[tuple[int, str]], needles: bool, low: float, high: float
    ) -> None:
        article = assess(*(streak(karat, did, "deep", needles=needles) for karat, did in tests), marks="14K", grams=5.0)
        assert article.seen is not None
        assert article.seen.low_ppm / 1000 == pytest.approx(low, abs=0.05)
        assert article.seen.high_ppm / 1000 == pytest.approx(high, abs=0.05)
        assert article.construction == "solid"

    def test_a_deep_streak_that_holds_speaks_for_solid_and_a_light_one_does_not(self) -> None:
        assert assess(GOLD_14, streak(14, "holds", "deep"), marks="14K", grams=2.0).construction == "solid"
        assert assess(GOLD_14, streak(14, "holds"), marks="14K", grams=2.0).construction == "undetermined"

    def test_a_deep_streak_in_weak_acid_does_not_shut_out_a_core_of_lower_karat(self) -> None:
        # 18 karat over 10 karat: both hold in acid for 10 karat.
        ring = assess(xrf(Au=750, Ag=125, Cu=125), streak(10, "holds", "deep"), marks="18K", grams=2.0)
        assert (ring.construction, ring.payable) == ("undetermined", None)
        assert "acid-too-weak" in ring.rules

    def test_a_failure_below_the_reading_is_a_conflict_that_nothing_outvotes(self) -> None:
        tests = GOLD_14, filed(Au=584, Cu=416), dense(20.0, 13.1), streak(14, "gone")
        ring = assess(*tests, marks="14K", grams=20.0)
        assert (ring.construction, ring.standing, ring.payable) == ("undetermined", "not-known", None)
        assert owed(ring) == ["cut-or-drill"]

    def test_a_melt_does_not_outvote_a_failure_either_but_is_paid_on(self) -> None:
        melt = {"test": "melt", "metal": "gold", "fineness": "584", "method": "fire-assay"}
        ring = assess(melt, streak(14, "gone"), marks="14K", grams=20.0)
        assert ring.construction == "undetermined"
        assert ring.payable == Interval(579_000, 589_000)
        assert owed(ring) == ["melt-assay"]

    def test_a_streak_finer_than_the_reading_is_a_conflict(self) -> None:
        assert "acid-above-reading" in rules(GOLD_14, streak(18, "holds"), marks="14K")
        # A second spot that resists acid does not take the first one's conflict away.
        nickel = xrf("edge", Au=580, Ni=190, Cu=230)
        assert "acid-above-reading" in rules(GOLD_14, nickel, streak(18, "holds"), marks="14K")

    def test_streaks_that_exclude_one_another_are_a_conflict(self) -> None:
        article = assess(streak(18, "holds"), streak(10, "gone"), marks="18K", grams=5.0)
        assert "streaks-differ" in article.rules

    def test_white_gold_and_platinum_resist_acid(self) -> None:
        white = xrf(Au=585, Pd=150, Ag=265)
        assert "acid-resistant" in rules(white, streak(18, "holds", "deep"), marks="14K")
        assert assess(white, streak(18, "holds", "deep"), marks="14K", grams=2.0).construction == "undetermined"
        assert (
            assess(streak(18, "holds", "deep"), marks="18K", grams=5.0, colour="white").construction == "undetermined"
        )
        assert "acid-failed" in rules(xrf(Pt=950, Ru=50), streak(14, "gone"), marks="PT950")

    def test_a_streak_whose_neighbour_misbehaved_does_not_pass_but_its_failure_counts(self) -> None:
        faulty: dict[str, Any] = {"control": {"karat": "18", "result": "gone"}}
        passed = assess(GOLD_14, streak(14, "holds", "deep", **faulty), marks="14K", grams=2.0)
        assert passed.construction == "undetermined"
        failed = assess(GOLD_14, dense(5.0, 13.1), streak(14, "gone", **faulty), marks="14K", grams=5.0)
        assert failed.construction == "undetermined"

    def test_acids_for_gold_say_nothing_of_silver(self) -> None:
        spoon = assess(STERLING, streak(14, "gone"), dense(40.0, 10.3), marks="STERLING", grams=40.0)
        assert (spoon.construction, spoon.standing) == ("solid", "as-claimed")

    def test_an_acid_that_nobody_sells_is_set_aside(self) -> None:
        assert "no such acid" in assess(streak(40, "holds"), marks="14K").reasons[0].text

    def test_a_failure_in_acid_for_the_claimed_karat_withholds_what_the_reading_would_allow(self) -> None:
        ring = assess(xrf(Au=571, Cu=429), dense(8.0, 12.8), streak(14, "gone"), marks="14K", grams=8.0)
        assert (ring.construction, ring.standing, ring.payable) == ("solid", "not-known", None)
        assert owed(ring) == ["melt-assay"]


class TestDensities:
    """A density speaks of the whole piece, from some weight on."""

    def test_a_density_that_agrees_excludes_a_brass_core(self) -> None:
        assert "density-agrees" in rules(GOLD_14, dense(8.0, 13.1), marks="14K")

    def test_a_light_piece_cannot_be_decided(self) -> None:
        assert "density-too-light" in rules(GOLD_14, dense(1.0, 13.1), marks="14K")
        assert "density-below-limit" in rules(GOLD_14, dense(2.8, 13.1), marks="14K")
        on_a_better_scale = dense(1.0, 13.1, interval="0.001")
        policy = Policy(density_limit_mg=500)
        assert assess(GOLD_14, on_a_better_scale, marks="14K", policy=policy).construction == "solid"

    @pytest.mark.parametrize(
        ("gravity", "construction"),
        [(6.9, "weighted-or-hollow"), (8.6, "layered"), (10.5, "undetermined"), (17.0, "undetermined")],
    )
    def test_a_density_that_does_not_agree_says_in_which_direction(self, gravity: float, construction: str) -> None:
        bangle = assess(GOLD_14, dense(20.0, gravity), marks="14K", grams=20.0)
        assert bangle.construction == construction
        assert bangle.payable is None
        assert bangle.suspicions == (("dense-core",) if gravity > 13.2 else ())
        assert owed(bangle)

    def test_two_densities_that_differ_are_an_open_conflict(self) -> None:
        bangle = assess(GOLD_14, dense(12.0, 13.1), dense(12.0, 12.0), marks="14K", grams=12.0)
        assert bangle.construction == "undetermined"
        assert [conflict.settled_by for conflict in bangle.conflicts] == [""]
        assert "density" in owed(bangle)

    def test_densities_that_agree_are_no_conflict(self) -> None:
        wet = dense(12.0, 13.1, bubbles="seen")
        ring = assess(GOLD_14, dense(12.0, 13.1), dense(12.0, 13.2), wet, marks="14K", grams=12.0)
        assert (ring.construction, ring.conflicts) == ("solid", ())

    def test_bubbles_spoil_a_density(self) -> None:
        ring = assess(GOLD_14, dense(12.0, 11.0, bubbles="seen"), marks="14K", grams=12.0)
        assert "bubbles were seen" in " ".join(reason.text for reason in ring.reasons)
        assert owed(ring) == ["density"]

    @pytest.mark.parametrize(
        ("test", "why"),
        [
            (dense(4.0, 13.0) | {"water": "5.0"}, "must lie between zero"),
            (dense(4.0, 13.0) | {"water_temperature": "60"}, "outside 0 to 40"),
            (dense(4.0, 13.0) | {"stones": {"weight": "5", "unit": "g", "density": "3.5"}}, "cannot weigh more"),
            (dense(4.0, 13.0) | {"stones": {"weight": "3", "unit": "g", "density": "0"}}, "have no density"),
            (dense(4.0, 13.0) | {"stones": {"weight": "3", "unit": "g", "density": "2.5"}}, "more room"),
        ],
    )
    def test_a_density_that_cannot_be_right_is_set_aside_with_a_reason(self, test: Document, why: str) -> None:
        ring = assess(GOLD_14, test, marks="14K", grams=4.0)
        assert why in ring.reasons[0].text
        assert ring.construction == "undetermined"

    def test_stones_must_be_taken_out_before_a_density_counts(self) -> None:
        ring = assess(GOLD_14, dense(5.0, 10.51), marks="14K", grams=4.0, stone_set=True)
        assert "the article has stones" in ring.reasons[0].text
        assert owed(ring) == ["filed-xrf-or-deep-streak"]
        stones = {"stones": {"weight": "5.00", "unit": "ct", "density": "5.8"}}
        # 4.00 g of 14 karat and 1.00 g of zirconia together show 10.51.
        assert assess(GOLD_14, dense(5.0, 10.51, **stones), marks="14K", stone_set=True).construction == "solid"

    def test_a_density_without_a_reading_is_not_compared_with_a_stamp(self) -> None:
        ring = assess(dense(12.0, 13.1), marks="14K", grams=12.0)
        assert (ring.construction, owed(ring)) == ("undetermined", ["xrf"])
        assert "density-alone" in ring.rules

    def test_an_incomplete_reading_predicts_no_density(self) -> None:
        assert "density-alone" in rules(xrf(Au=584), dense(12.0, 13.1), marks="14K")

    def test_a_scale_that_says_nothing_has_the_policys_step(self) -> None:
        test = dense(12.0, 13.1)
        del test["interval"], test["water_temperature"]
        assert assess(GOLD_14, test, marks="14K").construction == "solid"
        assert assess(GOLD_14, test, marks="14K", policy=Policy(scale_step_ug=100_000)).construction == "undetermined"


class TestOtherTests:
    """Magnet, conductance, ultrasound, the eye, a cut, consent."""

    def test_a_magnet_on_the_body_forbids_solid(self) -> None:
        pull = {"test": "magnet", "pull": "weak"}
        ring = assess(GOLD_14, dense(8.0, 13.1), pull, marks="14K", grams=8.0)
        assert (ring.construction, owed(ring)) == ("undetermined", ["filed-xrf"])

    def test_a_magnet_at_a_spring_and_no_pull_say_little(self) -> None:
        spring = {"test": "magnet", "pull": "strong", "part": "clasp"}
        none = {"test": "magnet", "pull": "none"}
        assert assess(GOLD_14, dense(8.0, 13.1), spring, none, marks="14K", grams=8.0).construction == "solid"

    def test_a_steel_rod_in_weighted_ware_is_no_surprise(self) -> None:
        assert "magnet-filling" in rules(STERLING, {"test": "magnet", "pull": "strong"}, marks="STERLING WEIGHTED")

    def test_conductance_that_is_not_golds_is_a_dense_core(self) -> None:
        low = {
            "test": "conductance",
            "readings": [{"kilohertz": "480", "iacs": "77"}, {"kilohertz": "60", "iacs": "45"}],
        }
        bar = assess(FINE, dense(31.1, 19.25), low, marks="999.9", grams=31.1)
        assert bar.suspicions == ("dense-core",)
        assert "ultrasound-or-drill" in owed(bar)

    def test_a_heavy_bar_needs_ultrasound_or_a_cut(self) -> None:
        both = {
            "test": "conductance",
            "readings": [{"kilohertz": "480", "iacs": "77"}, {"kilohertz": "60", "iacs": "78"}],
        }
        bar = assess(FINE, dense(250.0, 19.28), both, marks="999.9", grams=250.0)
        assert owed(bar) == ["ultrasound-or-drill"]
        sound = {"test": "ultrasound", "calliper_mm": "8.30", "shown_mm": "8.25"}
        assert assess(FINE, dense(250.0, 19.28), sound, marks="999.9", grams=250.0).construction == "solid"
        # 8.3 mm with 6 mm of tungsten inside shows about 6.0 at gold's speed of sound, 3240 against 5200 m/s.
        hidden = {"test": "ultrasound", "calliper_mm": "8.30", "shown_mm": "6.02"}
        assert "core-under-gold" in rules(FINE, dense(250.0, 19.28), hidden, marks="999.9")

    def test_karat_gold_that_conducts_like_brass_hides_another_metal(self) -> None:
        brass = {"test": "conductance", "readings": [{"kilohertz": "60", "iacs": "28"}]}
        assert "conductance-high" in rules(GOLD_14, brass, marks="14K")
        karat = {"test": "conductance", "readings": [{"kilohertz": "60", "iacs": "14"}]}
        assert "conductance-high" not in rules(GOLD_14, karat, marks="14K")

    def test_wear_seams_and_green_corrosion_are_named(self) -> None:
        worn = assess(GOLD_14, {"test": "visual", "shows": ["other-metal-at-wear", "seam", "verdigris"]}, marks="14K")
        assert (worn.construction, worn.confidence, worn.standing) == ("layered", "likely", "contrary")
        assert worn.rules.count("seen-by-eye") == 1

    def test_a_cut_shows_layers_or_one_metal(self) -> None:
        layers = assess(GOLD_14, {"test": "cut", "shows": "layers"}, marks="14K", grams=5.0)
        assert (layers.construction, layers.standing) == ("layered", "contrary")
        whole = assess(GOLD_14, {"test": "cut", "shows": "one-metal"}, marks="14K", grams=5.0)
        assert (whole.construction, whole.standing) == ("solid", "as-claimed")

    def test_a_cut_that_shows_filler_leaves_the_shell_to_be_weighed(self) -> None:
        bangle = assess(GOLD_14, {"test": "cut", "shows": "filler"}, marks="14K", grams=30.0)
        assert (bangle.construction, owed(bangle)) == ("weighted-or-hollow", ["strip"])

    def test_a_hollow_piece_whose_density_does_not_settle_it_owes_a_cut(self) -> None:
        bangle = assess(GOLD_14, dense(12.0, 6.9), marks="14K HOLLOW", grams=12.0)
        assert (bangle.construction, owed(bangle)) == ("weighted-or-hollow", ["cut-or-drill"])
        assert "density-of-cavity" in bangle.rules

    def test_melts_that_differ_are_a_conflict_and_impossible_ones_are_set_aside(self) -> None:
        melt = {"test": "melt", "metal": "gold", "fineness": "584", "method": "pin"}
        twice = assess(melt, {**melt, "fineness": "540"}, marks="14K", grams=9.0)
        assert (twice.payable, owed(twice)) == (None, ["melt-assay"])
        assert "more than 1000" in assess({**melt, "fineness": "1001"}).reasons[0].text

    def test_a_melt_finer_than_a_declared_layer_could_be_is_a_conflict(self) -> None:
        melt = {"test": "melt", "metal": "gold", "fineness": "584", "method": "pin"}
        assert "melt-above-layer" in rules(melt, marks="1/20 14K GF", grams=9.0)
        as_worn = assess({**melt, "fineness": "21", "uncertainty": "2"}, marks="1/20 14K GF", grams=9.0)
        assert (as_worn.payable, as_worn.upper_bound) == (Interval(19_000, 23_000), False)

    def test_a_melt_that_reaches_beyond_what_was_seen_says_so(self) -> None:
        melt = {"test": "melt", "metal": "gold", "fineness": "577", "method": "pin"}
        ring = assess(GOLD_14, melt, marks="14K", grams=9.0)
        assert (ring.construction, ring.payable) == ("solid", Interval(572_000, 582_000))
        assert ring.conflicts[0].settled_by

    def test_a_mark_left_without_the_sellers_consent_is_said(self) -> None:
        assert "no-consent" in rules(filed(Au=584, Cu=416), streak(14, "holds", "deep"), marks="14K")
        assert "no-consent" not in rules(filed(Au=584, Cu=416), marks="14K", consent=True)
        agreed = filed(Au=584, Cu=416) | {"consent": {"given": True}}
        assert "no-consent" not in rules(agreed, marks="14K")

    def test_tests_that_leave_a_mark_ask_for_consent(self) -> None:
        ring = assess(GOLD_14, dense(18.0, 8.7), marks="14K", grams=18.0)
        assert [(each.test, each.consent) for each in ring.owed] == [("filed-xrf", True)]
