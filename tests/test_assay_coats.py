"""Which coatings a surface reading could come from, against readings worked out with published attenuation tables.

The readings of coated metal come from a two-layer calculation with the Elam tables as the public package xraydb 4.5.8
carries them, monochromatic light of 32 keV, made outside this project; tests/test_xray.py holds our own model against
that package.
"""

import pytest

from ledger.assay.coats import densest_core, hidden_from, looks_like
from ledger.assay.evidence import read
from ledger.assay.findings import Sight, lay_out
from ledger.assay.policy import Policy
from tests.assay_samples import Document, assess, dense, filed, xrf, xrf_of


def sight(document: Document) -> Sight:
    """The one reading of a test."""
    return lay_out(read([document]), Policy()).sights[0]


class TestLikeness:
    """A thin coating that reads as the surface does is named; a solid alloy is like none."""

    @pytest.mark.parametrize(
        ("reading", "karat", "um", "base", "barrier"),
        [
            (xrf(Au=436.5, Ag=39.1, Cu=372.8, Zn=151.6), 14, 5.0, "brass", False),
            (xrf(Au=223.5, Ag=8.5, Cu=531.4, Zn=236.7), 18, 1.0, "brass", False),
            (xrf(Au=205.8, Cu=467.8, Ni=194.7, Zn=131.7), 24, 0.5, "brass", True),
            (xrf(Ag=697.4, Au=271.6, Cu=31.1), 24, 1.0, "sterling", False),
        ],
    )
    def test_readings_of_known_coatings_find_them(
        self, reading: Document, karat: int, um: float, base: str, barrier: bool
    ) -> None:
        coat = looks_like(sight(reading))
        assert coat is not None
        assert (coat.karat, coat.um, coat.base.name, bool(coat.barrier_um)) == (karat, um, base, barrier)

    def test_solid_alloys_are_like_none(self) -> None:
        # Recipes of the trade: 14 karat yellow and white, 18 karat, 10 karat.
        alloys: tuple[dict[str, float], ...] = (
            {"Au": 585, "Ag": 120, "Cu": 255, "Zn": 40},
            {"Au": 585, "Ni": 110, "Cu": 240, "Zn": 65},
            {"Au": 750, "Ag": 125, "Cu": 125},
            {"Au": 417, "Ag": 110, "Cu": 405, "Zn": 68},
        )
        for parts in alloys:
            assert looks_like(sight(xrf_of(parts))) is None

    def test_no_base_is_named_of_which_neither_zinc_nor_nickel_was_read(self) -> None:
        """A coin of 900 gold and 100 copper has nothing of nickel silver in it."""
        # Coins of 900 parts of gold in 1000: act of 18 January 1837, section 8, 5 Stat. 137.
        assert looks_like(sight(xrf(Au=900, Cu=100))) is None
        coin = assess(xrf(Au=900, Cu=100), dense(16.72, 17.2), marks="900", grams=16.72)
        assert "reads-like-coating" not in coin.rules

    def test_the_likeness_is_said_and_decides_nothing(self) -> None:
        reading = xrf(Au=436.5, Ag=39.1, Cu=372.8, Zn=151.6)
        chain = assess(reading, marks="10K", grams=2.0)
        said = [reason.text for reason in chain.reasons if reason.rule == "reads-like-coating"]
        assert said == ["The reading is like that of about 5 micrometres of 14 karat over brass (70 copper, 30 zinc)."]
        assert chain.construction == "undetermined"

    def test_nickel_below_is_said(self) -> None:
        ring = assess(xrf(Au=205.8, Cu=467.8, Ni=194.7, Zn=131.7), marks="18K", grams=9.0)
        assert any("0.5 micrometres of 24 karat over nickel over brass" in reason.text for reason in ring.reasons)


class TestHiddenLayers:
    """From some thickness on a layer reads as solid gold does."""

    # Thinnest layer on brass within 10 and 20 per thousand of its own fineness, as above: 11.7 and 10.4 for 14 karat,
    # 10.0 and 9.1 for 18, 13.1 and 11.4 for 10.
    @pytest.mark.parametrize(
        ("ppt", "u", "um", "karat"),
        [(584, "10", 12, 14), (584, "20", 11, 14), (752, "10", 10, 18), (420, "10", 14, 10), (420, "20", 12, 10)],
    )
    def test_the_thickness_is_that_of_the_two_layer_calculation_rounded_up(
        self, ppt: int, u: str, um: int, karat: int
    ) -> None:
        found = hidden_from(sight({**xrf(Au=ppt, Cu=1000 - ppt), "uncertainty": u}))
        assert found[1] == karat
        assert abs(found[0] - um) <= 1

    def test_the_uncertainty_moves_it_between_5_and_50_per_thousand_only(self) -> None:
        finest = hidden_from(sight({**xrf(Au=584, Cu=416), "uncertainty": "0"}))
        coarsest = hidden_from(sight({**xrf(Au=584, Cu=416), "uncertainty": "900"}))
        assert finest > coarsest

    def test_it_is_said_once_of_a_gold_surface_and_never_of_a_filed_one(self) -> None:
        ring = assess(xrf("a", Au=584, Cu=416), xrf("b", Au=586, Cu=414), marks="14K", grams=5.0)
        assert sum(reason.rule == "coating-hidden" for reason in ring.reasons) == 1
        assert "coating-hidden" not in assess(filed(Au=584, Cu=416), marks="14K", grams=5.0).rules


class TestDensestCore:
    """A density must shut out the densest metal that could lie below: copper, or sterling where silver shows."""

    def test_gold_with_as_much_silver_as_gilding_lets_through_may_lie_over_sterling(self) -> None:
        # 5 micrometres of 14 karat over sterling, as above.
        assert densest_core(sight(xrf(Ag=480.1, Au=323.2, Cu=172.7, Zn=24.0))).name == "sterling"
        assert densest_core(sight(xrf(Au=585, Ag=120, Cu=255, Zn=40))).name == "copper"
        assert densest_core(sight(filed(Ag=480, Au=323, Cu=197))).name == "copper"

    def test_platinum_metals_over_silver_show_silver(self) -> None:
        assert densest_core(sight(xrf(Pd=850, Ag=150))).name == "sterling"
        assert densest_core(sight(xrf(Pd=951, Ru=49))).name == "copper"
        assert densest_core(sight(xrf(Ag=925, Cu=75))).name == "copper"

    def test_gilt_sterling_of_three_grams_is_not_taken_for_solid_gold(self) -> None:
        # The density of sterling, 10.36, lies within this reading's own at three grams on a 0.01 g scale.
        gilt = assess(xrf(Ag=480.1, Au=323.2, Cu=172.7, Zn=24.0), dense(3.2, 10.45), marks="10K", grams=3.2)
        assert gilt.construction == "undetermined"
        assert "density-too-light" in gilt.rules
