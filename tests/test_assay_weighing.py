"""How the tests of one article are put together: the articles a shop meets, and each rule by itself."""

from typing import Any

import pytest

from ledger.assay.assessments import Interval, Policy
from ledger.assay.evidence import read
from ledger.assay.tolerances import Made
from ledger.assay.weighing import weigh, weigh_item, weights_of
from ledger.errors import InputError
from tests.assay_samples import Document, assess, dense, filed, owed, streak, xrf, xrf_of

GOLD_14 = xrf("inside", Au=584, Ag=119, Cu=257, Zn=40)
STERLING = xrf(Ag=925, Cu=75)
FINE = xrf(Au=1000)


def rules(*tests: Document, **more: Any) -> tuple[str, ...]:
    """The rules that spoke."""
    return assess(*tests, **more).rules


class TestAShopsArticles:
    """What the counter meets: each is judged, and what is paid for is what was shown."""

    def test_a_solid_ring_with_agreeing_tests(self) -> None:
        ring = assess(GOLD_14, streak(14, "holds"), dense(4.2, 13.1), marks="14K", grams=4.2)
        assert (ring.construction, ring.standing, ring.confidence) == ("solid", "as-claimed", "shown")
        assert (ring.payable, ring.paid_fineness_ppm) == (Interval(574_000, 594_000), 583_333)
        assert ring.owed == ()

    def test_a_gilt_goblet_is_silver_under_gold(self) -> None:
        # 2.5 micrometres of fine gold over sterling, and the sterling in the notch.
        goblet = assess(xrf("bowl", Au=985, Ag=15), filed(Ag=925, Cu=75), marks="925", grams=210.0)
        assert (goblet.construction, goblet.metal, goblet.standing) == ("plated", "silver", "as-claimed")
        assert goblet.payable == Interval(915_000, 935_000)
        assert "filed-differs" in goblet.rules

    def test_the_goblet_before_the_notch_owes_it(self) -> None:
        goblet = assess(xrf("bowl", Au=985, Ag=15), marks="925", grams=210.0)
        assert (goblet.construction, goblet.standing, goblet.payable) == ("undetermined", "not-known", None)
        assert owed(goblet) == ["filed-xrf"]
        assert owed(assess(xrf(Au=467, Ag=521, Cu=12), marks="14K", grams=30.0)) == ["filed-xrf"]
        assert owed(assess(xrf(Ag=788, Au=166, Cu=46), marks="925", grams=30.0)) == ["filed-xrf"]

    def test_a_hollow_bangle_is_settled_by_weighing_again(self) -> None:
        wet = dense(12.0, 9.6, air_after="12.320")
        dry = dense(12.0, 13.0)
        hollow = {"test": "visual", "shows": ["hollow"]}
        first = assess(GOLD_14, wet, hollow, marks="14K", grams=12.0)
        assert (first.construction, first.payable, owed(first)) == ("weighted-or-hollow", None, ["density"])
        again = assess(GOLD_14, wet, dry, hollow, marks="14K", grams=12.0)
        assert (again.construction, again.standing) == ("weighted-or-hollow", "as-claimed")
        assert again.payable == Interval(574_000, 594_000)
        assert [conflict.settled_by for conflict in again.conflicts] == ["weighed again: 13.00 g/cm³"]
        assert "0.320 g of water got in" in again.conflicts[0].what

    def test_a_declared_gold_filled_locket_is_worth_its_share_at_most(self) -> None:
        locket = assess(GOLD_14, dense(9.0, 8.7), marks="1/20 14K GF", grams=9.0)
        assert (locket.construction, locket.confidence, locket.standing) == ("layered", "declared", "as-claimed")
        assert locket.payable == Interval(0, 29_166)
        assert (locket.upper_bound, locket.paid_fineness_ppm) == (True, 29_166)

    def test_a_platinum_cobalt_band_that_a_magnet_pulls_is_platinum(self) -> None:
        pull = {"test": "magnet", "pull": "strong"}
        band = assess(xrf(Pt=950, Co=50), dense(9.0, 20.1), pull, marks="PT950", grams=9.0)
        assert (band.construction, band.standing, band.suspicions) == ("solid", "as-claimed", ())
        assert "platinum-cobalt" in band.rules

    def test_an_18_k_stamp_that_assays_16_k_is_below_its_mark(self) -> None:
        ring = assess(xrf(Au=667, Ag=150, Cu=183), dense(7.0, 14.2), marks="18K", grams=7.0)
        assert (ring.construction, ring.standing) == ("solid", "below")
        assert (ring.payable, ring.paid_fineness_ppm) == (Interval(657_000, 677_000), 657_000)
        assert owed(ring) == ["melt-assay"]

    def test_weighted_candlesticks_pay_on_the_shell_alone(self) -> None:
        whole = assess(STERLING, marks="STERLING WEIGHTED", grams=274.0)
        assert (whole.construction, whole.payable, owed(whole)) == ("weighted-or-hollow", None, ["strip"])
        # 10.4 % of gross was silver in one published account of a stripped piece.
        stripped = {"test": "stripped", "who": "seller", "shell": "28.5", "unit": "g"}
        shell = assess(STERLING, stripped, marks="STERLING WEIGHTED", grams=274.0)
        assert (shell.paid_on, shell.paid_weight_mg) == ("shell", 28_500)
        assert (shell.standing, shell.paid_fineness_ppm) == ("as-claimed", 925_000)

    def test_coins_of_fine_gold_need_more_than_a_density(self) -> None:
        coin = assess(FINE, dense(31.1, 19.25), marks="999.9", grams=31.1)
        assert (coin.construction, owed(coin)) == ("undetermined", ["conductance-or-ultrasound"])
        light = assess(FINE, dense(7.98, 19.2), marks="999.9", grams=7.98)
        assert light.construction == "solid"

    def test_a_bag_of_broken_chain_is_paid_by_its_melt(self) -> None:
        melt = {"test": "melt", "metal": "gold", "fineness": "571.0", "method": "pin", "uncertainty": "2.0"}
        lot = assess(GOLD_14, {**melt, "before": "61.2", "after": "60.9", "unit": "g"}, marks="14K", grams=61.2)
        assert (lot.paid_on, lot.paid_weight_mg, lot.paid_fineness_ppm) == ("melt", 60_900, 571_000)
        assert lot.payable == Interval(569_000, 573_000)
        assert lot.conflicts[0].settled_by.startswith("the melt assay")
        assert owed(lot) == []


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


class TestReadings:
    """An X-ray reading sees micrometres, and says so."""

    def test_spots_that_differ_are_a_conflict_and_all_of_it_remains(self) -> None:
        ring = assess(GOLD_14, xrf("edge", Au=540, Ag=119, Cu=341), dense(8.0, 13.0), marks="14K", grams=8.0)
        assert ring.seen == Interval(530_000, 594_000)
        assert (ring.construction, owed(ring)) == ("undetermined", ["filed-xrf"])
        assert ring.conflicts[0].what.startswith("Spots differ")

    def test_agreeing_spots_leave_what_all_of_them_allow(self) -> None:
        assert assess(GOLD_14, xrf(Au=590, Cu=410), marks="14K").seen == Interval(580_000, 594_000)

    def test_spots_of_two_metals_are_a_conflict(self) -> None:
        assert "spots-differ" in rules(GOLD_14, xrf(Ag=925, Cu=75), marks="14K")

    def test_parts_that_agree_are_one_article(self) -> None:
        chain = assess(xrf(part="clasp", Au=584, Cu=416), xrf(part="chain", Au=586, Cu=414), marks="14K", grams=9.0)
        assert (chain.construction, owed(chain)) == ("undetermined", ["density"])

    @pytest.mark.parametrize(
        ("elements", "why"),
        [
            ({}, "names no element"),
            ({"Au": 900, "Cu": 300}, "adds up to more"),
            ({"Rh": 1000}, "nothing but rhodium"),
        ],
    )
    def test_a_reading_that_cannot_be_right_is_set_aside_with_a_reason(
        self, elements: dict[str, float], why: str
    ) -> None:
        article = assess(xrf_of(elements), marks="14K", grams=4.0)
        assert why in article.reasons[0].text
        assert article.seen is None

    def test_no_metal_is_finer_than_all_of_it(self) -> None:
        assert assess(filed(Au=1030), marks="999", grams=4.0).seen == Interval(1_000_000, 1_000_000)

    def test_the_uncertainty_is_the_readings_own_or_that_of_its_geometry(self) -> None:
        assert assess({**GOLD_14, "uncertainty": "3"}).seen == Interval(581_000, 587_000)
        assert assess({**GOLD_14, "geometry": "tiny"}).seen == Interval(554_000, 614_000)
        assert assess(GOLD_14, policy=Policy(flat_ppm=5_000)).seen == Interval(579_000, 589_000)

    def test_a_filed_spot_that_agrees_shows_that_it_is_solid(self) -> None:
        charm = assess(GOLD_14, filed(Au=582, Ag=119, Cu=299), marks="14K", grams=0.8)
        assert (charm.construction, charm.confidence_rule) == ("solid", "filed-agrees")
        assert charm.standing == "as-claimed"

    def test_an_enriched_surface_gives_way_to_the_filed_spot(self) -> None:
        spoon = assess(xrf(Ag=950, Cu=50), filed(Ag=922, Cu=78), marks="STERLING", grams=40.0)
        assert (spoon.construction, spoon.standing) == ("solid", "as-claimed")
        assert spoon.suspicions == ("enriched-surface",)
        assert spoon.conflicts[0].settled_by == "the filed spot"

    def test_a_filed_spot_of_brass_shows_the_layer(self) -> None:
        bangle = assess(GOLD_14, filed(Cu=700, Zn=300), marks="14K", grams=20.0)
        assert (bangle.construction, bangle.standing, bangle.confidence) == ("layered", "contrary", "shown")
        assert bangle.payable is None
        plated = assess(xrf(Au=985, Cu=15), filed(Cu=700, Zn=300), marks="14K", grams=20.0)
        assert plated.construction == "plated"
        tray = assess(xrf(Ag=994, Cu=6), filed(Cu=700, Zn=300), marks="925", grams=200.0)
        assert (tray.construction, tray.standing) == ("plated", "contrary")

    def test_a_filed_spot_of_less_gold_shows_a_layer_too(self) -> None:
        assert assess(xrf(Au=750, Cu=250), filed(Au=340, Cu=660), marks="18K").construction == "layered"

    def test_tarnish_over_good_metal_is_no_layer(self) -> None:
        dish = assess(xrf(Cu=990, Zn=10), filed(Ag=925, Cu=75), marks="925", grams=90.0)
        assert (dish.construction, dish.standing) == ("solid", "as-claimed")

    @pytest.mark.parametrize(
        ("elements", "rule"),
        [
            ({"Au": 584, "Cu": 200, "Zn": 80, "Ag": 136}, "zinc-like-brass"),
            ({"Au": 584, "Cu": 380, "Ni": 36}, "nickel-in-yellow"),
            ({"Au": 584, "Cu": 410, "Cd": 6}, "cadmium"),
            ({"Au": 917, "Cu": 73, "Ir": 10}, "adulterant"),
            ({"Au": 984, "W": 16}, "core-metal-read"),
        ],
    )
    def test_elements_that_do_not_belong_are_named(self, elements: dict[str, float], rule: str) -> None:
        assert rule in rules(xrf_of(elements), marks="14K", grams=10.0, colour="yellow")

    def test_tungsten_in_the_reading_is_a_dense_core(self) -> None:
        bar = assess(xrf(Au=984, W=16), marks="999", grams=31.1)
        assert bar.suspicions == ("dense-core",)
        assert "cut-or-drill" in owed(bar)

    def test_a_surface_finer_than_the_mark_is_a_warning(self) -> None:
        # Half a micrometre of fine gold over 10 karat reads 527: from a two-layer calculation.
        ring = assess(xrf(Au=527, Ag=102, Cu=315, Zn=56), dense(6.0, 11.6), marks="10K", grams=6.0)
        assert ring.suspicions == ("enriched-surface",)
        assert (ring.construction, ring.standing) == ("undetermined", "not-known")

    def test_a_filed_spot_may_show_an_article_finer_than_its_mark(self) -> None:
        ring = assess(xrf(Au=750, Cu=250), filed(Au=750, Cu=250), marks="14K", grams=6.0)
        assert (ring.standing, ring.paid_fineness_ppm) == ("finer", 740_000)


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


CLASP, CHAIN = xrf(part="clasp", Au=583, Ag=118, Cu=299), xrf(part="chain", Au=41, Ag=1, Cu=670, Zn=288)


class TestParts:
    """A test that names a part speaks of that part; parts that differ are seen each by itself."""

    def test_each_part_of_a_mixed_article_is_judged_by_its_own_tests_and_marks(self) -> None:
        chain = assess(CLASP, CHAIN, filed("clasp", Au=582, Cu=418), marks=[("14K", "clasp")], grams=15.0)
        assert (chain.construction, chain.payable) == ("mixed-parts", None)
        by_name = {part.part: part for part in chain.parts}
        assert (by_name["clasp"].construction, by_name["clasp"].standing) == ("solid", "as-claimed")
        assert (by_name["chain"].construction, by_name["chain"].standing) == ("plated", "no-claim")
        assert by_name["clasp"].words() == "clasp: solid, gold 572.0 to 592.0 per thousand where tested"
        assert chain.record()["parts"][1] == {
            "part": "clasp",
            "construction": "solid",
            "confidence": "shown",
            "standing": "as-claimed",
            "owed": ["weigh"],
            "metal": "gold",
            "seen": {"low_ppm": 572_000, "high_ppm": 592_000},
        }

    def test_a_mark_covers_the_part_that_it_names_or_stands_on(self) -> None:
        for mark in (("14K", "Clasp"), ("14K", "on the clasp"), ("14K CLASP", "")):
            parts = {part.part: part for part in assess(CLASP, CHAIN, marks=[mark], grams=15.0).parts}
            assert (parts["chain"].standing, parts["clasp"].standing) == ("no-claim", "not-known")

    def test_a_part_of_which_nothing_fine_is_known_says_so(self) -> None:
        pull = {"test": "magnet", "pull": "strong", "part": "blade"}
        knife = assess(STERLING, pull, marks="STERLING HANDLE", grams=75.0)
        blade = next(part for part in knife.parts if part.part == "blade")
        assert (blade.construction, blade.metal) == ("undetermined", None)
        assert blade.words() == "blade: construction undetermined"
        assert "seen" not in blade.record()
        rest = next(part for part in knife.parts if not part.part)
        assert rest.words().startswith("body: ")

    def test_an_article_of_one_metal_has_no_parts_by_themselves(self) -> None:
        assert assess(CLASP, xrf(part="chain", Au=585, Cu=415), marks="14K", grams=9.0).parts == ()

    @pytest.mark.parametrize(
        "below",
        [
            filed("clasp", Au=584, Cu=416),
            filed(Au=584, Cu=416),
            streak(14, "holds", "deep", part="clasp"),
            {"test": "cut", "shows": "one-metal", "part": "clasp"},
        ],
    )
    def test_what_is_below_the_clasp_says_nothing_of_the_chain(self, below: Document) -> None:
        both = CLASP, xrf(part="chain", Au=585, Ag=118, Cu=297)
        chain = assess(*both, below, marks="14K", grams=9.0)
        assert (chain.construction, chain.payable) == ("undetermined", None)
        # A density of the whole speaks of both.
        assert assess(*both, below, dense(9.0, 13.1), marks="14K", grams=9.0).construction == "solid"

    def test_an_acid_that_shows_silver_where_the_reading_shows_gold_is_a_conflict(self) -> None:
        rub = {"test": "silver-streak", "colour": "dark-red", "depth": "light"}
        goblet = assess(GOLD_14, rub, dense(8.0, 13.1), marks="750", grams=8.0)
        assert goblet.construction == "undetermined"
        assert "though the reading shows gold" in goblet.conflicts[0].what

    def test_an_acid_that_shows_no_silver_makes_no_silver_of_its_mark(self) -> None:
        spoon = assess({"test": "silver-streak", "colour": "blue", "depth": "deep"}, marks="STERLING", grams=40.0)
        assert (spoon.metal, spoon.seen, spoon.payable) == (None, None, None)

    def test_a_deep_rub_of_the_handle_under_the_acid_for_silver_says_nothing_of_the_foot(self) -> None:
        both = xrf(part="handle", Ag=925, Cu=75), xrf(part="foot", Ag=925, Cu=75)
        rub = {"test": "silver-streak", "colour": "dark-red", "depth": "deep", "part": "handle"}
        assert assess(*both, rub, marks="STERLING", grams=90.0).construction == "undetermined"
        assert assess(*both, rub, rub | {"part": "foot"}, marks="STERLING", grams=90.0).construction == "solid"

    def test_a_notch_in_the_clasp_says_nothing_of_readings_that_name_no_part(self) -> None:
        chain = assess(GOLD_14, filed("clasp", Au=584, Cu=416), marks="14K", grams=9.0)
        assert (chain.construction, chain.payable) == ("undetermined", None)
        said = [reason.text for reason in chain.reasons if reason.rule == "part-not-shown"]
        assert said == ["What was tested below the surface is the clasp; nothing yet speaks of the rest."]
        assert assess(GOLD_14, filed(Au=584, Cu=416), marks="14K", grams=9.0).construction == "solid"

    def test_a_notch_that_reads_finer_than_the_mark_is_no_enriched_surface(self) -> None:
        chain = assess(filed("clasp", Au=620, Cu=380), xrf(part="chain", Au=600, Cu=400), marks="14K", grams=9.0)
        assert chain.suspicions == ()

    def test_every_part_shown_by_itself_shows_the_whole(self) -> None:
        both = CLASP, xrf(part="chain", Au=585, Cu=415)
        below = filed("clasp", Au=584, Cu=416), streak(14, "holds", "deep", part="chain")
        chain = assess(*both, *below, marks="14K", grams=9.0)
        assert (chain.construction, chain.confidence_rule) == ("solid", "deep-streak-holds")

    def test_a_filed_part_is_read_by_its_notch_and_another_by_its_surface(self) -> None:
        both = xrf(part="clasp", Au=750, Cu=250), xrf(part="chain", Au=585, Cu=415)
        chain = assess(*both, filed("clasp", Au=584, Cu=416), marks="14K", grams=9.0)
        assert chain.seen == Interval(575_000, 594_000)


class TestLawsOfTheMark:
    """An article is below its mark only under every law that may govern it."""

    RING = (xrf(Au=555, Ag=120, Cu=325), dense(8.0, 12.9))

    def test_between_the_laws_it_is_said_and_not_decided(self) -> None:
        # 14 karat less 3 per thousand is 580.3, less half a karat 562.5: 15 USC 295 as amended in 1976 and before.
        ring = assess(*self.RING, marks="14K", grams=8.0)
        assert (ring.construction, ring.standing) == ("solid", "not-known")
        assert "below-unless-older" in ring.rules
        assert (ring.payable, ring.paid_fineness_ppm) == (Interval(545_000, 565_000), 545_000)

    def test_a_known_country_and_date_decides(self) -> None:
        new = Made.read({"country": "US", "from": "1990"})
        assert assess(*self.RING, marks="14K", grams=8.0, made=new).standing == "below"
        old = Made.read({"country": "US", "from": "1950", "to": "1975"})
        assert assess(*self.RING, marks="14K", grams=8.0, made=old).standing == "as-claimed"

    def test_a_reading_too_vague_for_the_mark_does_not_bear_it_out(self) -> None:
        vague = {**filed(Au=584, Cu=416), "uncertainty": "90"}
        ring = assess(vague, marks="14K", grams=8.0)
        assert (ring.construction, ring.standing, ring.paid_fineness_ppm) == ("solid", "not-known", 494_000)
        assert "too-vague" in ring.rules
        # A deep streak in acid for 14 karat reaches one karat below it, and bears it out.
        assert assess(streak(14, "holds", "deep"), marks="14K", grams=8.0).standing == "as-claimed"

    def test_a_worn_stamp_of_several_karats_is_no_measure(self) -> None:
        ring = assess(GOLD_14, dense(8.0, 13.1), marks="1?K", grams=8.0)
        assert (ring.construction, ring.standing, ring.claim) == ("solid", "not-known", None)


class TestNothing:
    """Every input may be missing."""

    def test_nothing_at_all_gives_reasons_and_tests_owed(self) -> None:
        nothing = weigh(())
        assert (nothing.construction, nothing.standing, nothing.confidence) == ("undetermined", "no-claim", "open")
        assert owed(nothing) == ["weigh", "xrf", "density"]
        assert nothing.rules == ("no-mark", "no-evidence")
        assert nothing.headline() == (
            "Construction undetermined, open; fineness not shown; no mark of fineness; still owed: the weight."
        )

    def test_a_mark_alone_is_no_evidence(self) -> None:
        assert assess(marks="14K", grams=4.0).standing == "not-known"

    def test_gross_less_stones_is_net_and_never_below_nothing(self) -> None:
        tests = read([filed(Au=584, Cu=416)])
        assert weigh(tests, gross_mg=5_000, stones_mg=1_000).paid_weight_mg == 4_000
        assert weigh(tests, gross_mg=5_000, stones_mg=9_000).paid_weight_mg == 0
        assert weigh(tests, gross_mg=5_000, stone_set=True).paid_weight_mg is None


ITEM: dict[str, Any] = {
    "marks": [{"text": "14K", "where": "inside"}],
    "metal_colour": "yellow",
    "stones": [],
    "weighings": [{"what": "gross", "value": "4.20", "unit": "g", "paid_on": True}],
    "evidence": [GOLD_14, dense(4.2, 13.1)],
    "consent": "given",
}


class TestItems:
    """An item of a slip, or a document with the same members."""

    def test_an_item_is_weighed_as_it_stands(self) -> None:
        ring = weigh_item(ITEM, program="counterfoil 0.1.0")
        assert (ring.construction, ring.paid_weight_mg, ring.program) == ("solid", 4_200, "counterfoil 0.1.0")
        assert ring.claims[0].where == "inside"

    def test_what_is_not_known_is_missing_and_no_error(self) -> None:
        unknown = {"not_known": "worn away"}
        ring = weigh_item({"marks": unknown, "stones": unknown, "weighings": [], "metal_colour": unknown})
        assert (ring.standing, ring.construction) == ("no-claim", "undetermined")

    def test_an_item_says_where_it_was_made_and_what_the_seller_answered(self) -> None:
        made = {"country": "US", "from": "1990"}
        ring = weigh_item({**ITEM, "evidence": [], "made": made, "consent": "refused"})
        assert ring.claims[0].tolerance_most_ppm == ring.claims[0].tolerance_ppm
        assert weigh_item({**ITEM, "made": {"not_known": "no papers"}}).claims[0].tolerance_most_ppm > 3_000
        below = weigh_item({**ITEM, "evidence": [GOLD_14, dense(4.2, 8.7)], "consent": "refused"})
        assert [each.agreed for each in below.owed] == [False]
        with pytest.raises(InputError, match="made"):
            weigh_item({**ITEM, "made": "long ago"})

    def test_of_several_weighings_the_one_paid_on_counts(self) -> None:
        weighings = [
            {"what": "gross", "value": "4.20", "unit": "g", "paid_on": True},
            {"what": "gross", "value": "9.99", "unit": "g"},
            {"what": "stones", "value": "1.00", "unit": "ct"},
            {"what": "foreign", "value": "0.10", "unit": "g"},
        ]
        weights = weights_of({"weighings": weighings})
        assert (weights.gross_mg, weights.stones_mg, weights.net_mg) == (4_200, 200, 3_900)
        assert weights_of({"weighings": weighings[:1], "stones": [{"count": 1}]}).net_mg is None
        net = [*weighings, {"what": "net", "value": "3.85", "unit": "g"}]
        assert weights_of({"weighings": net}).net_mg == 3_850

    @pytest.mark.parametrize(
        ("item", "field"),
        [
            ({"marks": "14K"}, "item.marks"),
            ({"weighings": [4.2]}, "item.weighings"),
            ({"weighings": [{"what": "gross", "value": "4.2", "unit": "oz"}]}, "item.weighings[0].unit"),
            ({"evidence": [{"test": "x"}]}, "item.evidence[0].test"),
        ],
    )
    def test_a_member_that_cannot_be_read_is_named(self, item: dict[str, Any], field: str) -> None:
        with pytest.raises(InputError) as caught:
            weigh_item(item)
        assert caught.value.field == field


class TestRecord:
    """An assessment as parts of the book hold it."""

    def test_a_record_names_rules_policy_and_program(self) -> None:
        record = assess(GOLD_14, dense(4.2, 13.1), marks="14K", grams=4.2, program="counterfoil 0.1.0").record()
        assert record["program"] == "counterfoil 0.1.0"
        assert record["payable"] == {"low_ppm": 574_000, "high_ppm": 594_000, "upper_bound": False, "on": "net"}
        assert (record["paid_weight_mg"], record["paid_fineness_ppm"]) == (4_200, 583_333)
        assert {reason["rule"] for reason in record["reasons"]} == set(record["rules"])
        assert record["policy"]["density_limit_mg"] == 3_000
        assert record["claim"]["text"] == "14K"

    def test_a_settled_conflict_says_by_what(self) -> None:
        record = assess(xrf(Ag=950, Cu=50), filed(Ag=922, Cu=78), marks="STERLING").record()
        assert record["conflicts"][0]["settled_by"] == "the filed spot"
        assert "metal" in record

    def test_what_is_not_there_is_left_out(self) -> None:
        record = assess(marks="QZX").record()
        assert record["standing"] == "no-claim"
        assert not {"metal", "seen", "claim", "payable", "paid_weight_mg"} & record.keys()

    def test_a_bar_of_a_part_names_it(self) -> None:
        record = assess(xrf(part="clasp", Au=584, Cu=416)).record()
        assert record["bars"][0]["part"] == "clasp"
