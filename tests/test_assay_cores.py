"""Densities and conductance: what they say of a core."""

from typing import Any

import pytest

from ledger.assay.policy import Policy
from tests.assay_samples import Document, assess, dense, filed, owed, xrf

GOLD_14 = xrf("inside", Au=584, Ag=119, Cu=257, Zn=40)
STERLING = xrf(Ag=925, Cu=75)
FINE = xrf(Au=1000)


def coil(*readings: tuple[int, str], **more: Any) -> Document:
    """A conductance: (kilohertz, % IACS) each."""
    each = [{"kilohertz": str(kilohertz), "iacs": iacs} for kilohertz, iacs in readings]
    return {"test": "conductance", "readings": each, **more}


class TestLayersShutOut:
    """A density speaks for solid only where it shuts out a layer over the densest base that could lie below."""

    @pytest.mark.parametrize(
        ("grams", "step", "decided"),
        [(1.5, "0.01", False), (4.0, "0.01", True), (4.0, "0.1", False), (40.0, "0.1", True), (0.5, "0.001", True)],
    )
    def test_it_takes_weight_or_a_finer_scale(self, grams: float, step: str, decided: bool) -> None:
        test = dense(grams, 13.15, interval=step)
        ring = assess(GOLD_14, test, marks="14K", grams=grams, policy=Policy(density_limit_mg=0))
        assert (ring.construction == "solid") is decided
        assert ("density-too-light" in ring.rules) is not decided

    def test_how_much_heavier_the_piece_would_have_to_be_is_said(self) -> None:
        said = [reason.text for reason in assess(GOLD_14, dense(1.0, 13.1), marks="14K").reasons]
        assert any("times as heavy, or a finer scale" in text for text in said)

    def test_a_light_piece_that_weighs_like_a_base_is_said_to_and_not_judged(self) -> None:
        charm = assess(GOLD_14, dense(1.8, 8.6), marks="14K", grams=1.8)
        assert charm.construction == "undetermined"
        assert any("nearer to a layer over copper" in reason.text for reason in charm.reasons)

    def test_a_metal_no_denser_than_the_base_is_decided_at_no_weight(self) -> None:
        # Silver of 310 in copper and zinc weighs less than copper does.
        dish = assess(xrf(Ag=310, Cu=300, Zn=390), dense(200.0, 8.6), grams=200.0)
        assert dish.construction == "undetermined"
        assert not any("times as heavy" in reason.text for reason in dish.reasons)

    def test_a_denser_metal_inside_is_named_at_any_weight(self) -> None:
        ring = assess(GOLD_14, dense(6.0, 17.0), marks="14K", grams=6.0)
        assert ring.suspicions == ("dense-core",)
        assert owed(ring) == ["cut-or-drill"]

    def test_stones_known_by_their_size_only_make_the_density_vaguer(self) -> None:
        # 5.00 g of 14 karat at 13.10 and 2.00 g of quartz together show 6.16.
        stones = {"weight": "2.00", "unit": "g", "density": "2.65"}
        ring = dense(7.0, 6.16)
        weighed = assess(GOLD_14, {**ring, "stones": stones}, marks="14K", grams=5.0, stone_set=True)
        estimated = {**ring, "stones": {**stones, "estimated": True}}
        assert weighed.construction == "solid"
        assert assess(GOLD_14, estimated, marks="14K", grams=5.0, stone_set=True).construction == "undetermined"


class TestWhatWasWeighed:
    """A density speaks of what hung in the water."""

    def test_a_piece_of_another_weight_is_not_the_article(self) -> None:
        ring = assess(GOLD_14, dense(8.0, 13.1), marks="14K", grams=20.0)
        assert (ring.construction, ring.payable) == ("undetermined", None)
        assert "density-of-other-weight" in ring.rules

    def test_pieces_weighed_one_by_one_are_the_whole(self) -> None:
        pair = assess(GOLD_14, dense(8.0, 13.1), dense(7.9, 13.2), marks="14K", grams=15.9)
        assert pair.construction == "solid"

    def test_the_weight_with_stones_or_without_will_do(self) -> None:
        stones = {"stones": {"weight": "1.00", "unit": "g", "density": "5.8"}}
        ring = dense(5.0, 10.51, **stones)
        for gross, net in ((5_000, None), (None, 4.0), (5_000, 4.0)):
            found = assess(GOLD_14, ring, marks="14K", gross_mg=gross, stone_set=True, grams=net)
            assert found.construction == "solid"

    def test_a_density_of_one_part_is_held_against_that_part_and_speaks_of_it_alone(self) -> None:
        clasp, chain = xrf(part="clasp", Au=584, Ag=119, Cu=297), xrf(part="chain", Au=586, Ag=119, Cu=295)
        one = assess(clasp, chain, dense(4.0, 13.1, part="clasp"), marks="14K", grams=24.0)
        assert (one.construction, "part-not-shown" in one.rules) == ("undetermined", True)
        both = assess(
            clasp, chain, dense(4.0, 13.1, part="clasp"), dense(20.0, 13.1, part="chain"), marks="14K", grams=24.0
        )
        assert both.construction == "solid"
        # Densities of two parts that differ are no conflict: they are two things.
        apart = assess(clasp, chain, dense(4.0, 13.1, part="clasp"), dense(20.0, 8.7, part="chain"), marks="14K")
        assert "densities-differ" not in apart.rules
        assert apart.construction == "layered"


class TestConductance:
    """Eddy currents shut out what conducts otherwise, and prove nothing that conducts alike."""

    def test_fine_gold_at_two_frequencies_says_how_deep_it_is_cleared(self) -> None:
        bar = assess(FINE, dense(31.1, 19.25), coil((480, "77.5"), (60, "77.5")), marks="999.9", grams=31.1)
        said = [reason.text for reason in bar.reasons if reason.rule == "conductance-agrees"]
        assert bar.construction == "solid"
        assert "0.22 mm" in said[0]

    def test_one_frequency_clears_nothing(self) -> None:
        bar = assess(FINE, dense(31.1, 19.25), coil((60, "77.5")), marks="999.9", grams=31.1)
        assert owed(bar) == ["conductance-or-ultrasound"]

    def test_a_reading_that_changes_with_the_frequency_shows_a_core(self) -> None:
        bar = assess(FINE, dense(31.1, 19.25), coil((480, "80"), (60, "74.5")), marks="999.9", grams=31.1)
        assert bar.suspicions == ("dense-core",)

    def test_a_piece_too_thin_for_the_coil_is_not_judged_by_it(self) -> None:
        thin = coil((480, "77.5"), (60, "77.5"), thickness_mm="0.5")
        bar = assess(FINE, dense(31.1, 19.25), thin, marks="999.9", grams=31.1)
        assert "conductance-too-thin" in bar.rules
        assert bar.construction == "undetermined"
        thick = coil((480, "77.5"), (60, "77.5"), thickness_mm="2.5")
        assert assess(FINE, dense(31.1, 19.25), thick, marks="999.9", grams=31.1).construction == "solid"

    def test_the_instruments_own_uncertainty_counts(self) -> None:
        off = coil((480, "75"), (60, "75"), uncertainty="1")
        bar = assess(FINE, dense(31.1, 19.25), off, marks="999.9", grams=31.1)
        assert "core-under-gold" in bar.rules

    def test_silver_that_conducts_as_nickel_silver_does_is_plate(self) -> None:
        # Nickel silver about 6 % IACS, from memory; coin silver 83, ASTM B617.
        tray = assess(STERLING, coil((60, "6.5")), marks="STERLING", grams=300.0)
        assert "conductance-low" in tray.rules
        assert owed(tray) == ["filed-xrf"]

    def test_silver_that_conducts_as_silver_shuts_out_brass_and_stays_undetermined(self) -> None:
        tray = assess(STERLING, coil((60, "88")), marks="STERLING", grams=300.0)
        said = [reason.text for reason in tray.reasons if reason.rule == "conductance-shuts-out"]
        assert said == [
            "Conductance 88.0 % IACS: no brass, copper, nickel silver, stainless steel lies as deep as the coil sees."
        ]
        assert tray.construction == "undetermined"

    def test_karat_gold_shuts_out_brass_and_a_vague_coil_shuts_out_nothing(self) -> None:
        assert "conductance-shuts-out" in assess(GOLD_14, coil((60, "14")), marks="14K", grams=9.0).rules
        vague = coil((60, "14"), uncertainty="1000")
        assert "conductance-shuts-out" not in assess(GOLD_14, vague, marks="14K", grams=9.0).rules

    def test_a_conductance_of_nothing_is_set_aside(self) -> None:
        for test in (coil((0, "77")), coil((60, "0"))):
            assert "no frequency" in assess(FINE, test, marks="999.9").reasons[0].text

    def test_nothing_is_said_of_declared_layers_and_other_metals(self) -> None:
        for reading, mark in ((GOLD_14, "14K GF"), (xrf(Pt=950, Ru=50), "PT950")):
            rules = assess(reading, coil((60, "28")), marks=mark, grams=9.0).rules
            assert not {rule for rule in rules if rule.startswith("conductance")}


class TestFiled:
    """A filed reading predicts the density of what lies below."""

    def test_the_density_is_held_against_the_filed_metal(self) -> None:
        ring = assess(xrf(Au=700, Cu=300), filed(Au=584, Ag=119, Cu=297), dense(8.0, 13.1), marks="14K", grams=8.0)
        assert "density-agrees" in ring.rules
