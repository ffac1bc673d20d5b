"""What X-ray readings by themselves show."""

from typing import Any

import pytest

from ledger.assay.assessments import Interval, Policy
from tests.assay_samples import Document, assess, dense, filed, owed, xrf, xrf_of

GOLD_14 = xrf("inside", Au=584, Ag=119, Cu=257, Zn=40)
STERLING = xrf(Ag=925, Cu=75)


def rules(*tests: Document, **more: Any) -> tuple[str, ...]:
    """The rules that spoke."""
    return assess(*tests, **more).rules


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
