"""Layers of gold: thickness, gold held, and readings of them, against standards, the law and hand-worked tables."""

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ledger.assay import alloys, density, layers, xray
from ledger.errors import InputError

BRASS = alloys.BASES["brass"]


class TestThickness:
    """Layer thickness of gold-filled from fraction and geometry."""

    # t = f/(1-f) rho_base/rho_layer d/2 on brass of 8.53 g/cm3 (data sheet of C26000): worked by hand, for 10, 12 and
    # 14 karat layers of 11.519, 12.27 and 13.192 g/cm3.
    @pytest.mark.parametrize(
        ("denominator", "layer", "base_mm", "um"),
        [
            (10, 11.519, 0.5, 20.57), (10, 11.519, 1.0, 41.14), (10, 11.519, 1.5, 61.71),
            (20, 11.519, 0.5, 9.74), (20, 11.519, 1.0, 19.49), (20, 11.519, 1.5, 29.23),
            (30, 11.519, 0.5, 6.38), (30, 11.519, 1.0, 12.77), (30, 11.519, 1.5, 19.15),
            (10, 12.27, 0.5, 19.31), (10, 12.27, 1.0, 38.62), (10, 12.27, 1.5, 57.93),
            (20, 12.27, 0.5, 9.15), (20, 12.27, 1.0, 18.29), (20, 12.27, 1.5, 27.44),
            (30, 12.27, 0.5, 5.99), (30, 12.27, 1.0, 11.99), (30, 12.27, 1.5, 17.98),
            (10, 13.192, 0.5, 17.96), (10, 13.192, 1.0, 35.92), (10, 13.192, 1.5, 53.89),
            (20, 13.192, 0.5, 8.51), (20, 13.192, 1.0, 17.02), (20, 13.192, 1.5, 25.52),
            (30, 13.192, 0.5, 5.57), (30, 13.192, 1.0, 11.15), (30, 13.192, 1.5, 16.72),
        ],
    )  # fmt: skip
    def test_sheet_covered_on_both_sides(self, denominator: int, layer: float, base_mm: float, um: float) -> None:
        found = layers.sheet_um(1 / denominator, layer=layer, base=8.53, base_mm=base_mm)
        assert found == pytest.approx(um, abs=0.02)
        assert layers.sheet_um(1 / denominator, layer=layer, base=8.53, base_mm=base_mm, sides=1) == 2 * found

    # t = R (1 - sqrt(1 - phi)): worked by hand.
    @pytest.mark.parametrize(("outer_mm", "um"), [(0.5, 4.15), (1.0, 8.30), (2.0, 16.59), (3.0, 24.89)])
    def test_round_wire(self, outer_mm: float, um: float) -> None:
        assert layers.wire_um(1 / 20, layer=13.192, base=8.53, outer_mm=outer_mm) == pytest.approx(um, abs=0.02)

    @given(st.floats(0.01, 0.5), st.floats(9, 19), st.floats(7, 11), st.floats(0.1, 5))
    def test_the_layer_weighs_its_share(self, share: float, layer: float, base: float, mm: float) -> None:
        um = layers.sheet_um(share, layer=layer, base=base, base_mm=mm)
        assert 2 * um * layer / (2 * um * layer + 1_000 * mm * base) == pytest.approx(share)
        wire = layers.wire_um(share, layer=layer, base=base, outer_mm=mm) / 1_000
        core = (mm / 2 - wire) ** 2
        assert ((mm / 2) ** 2 - core) * layer / (((mm / 2) ** 2 - core) * layer + core * base) == pytest.approx(share)


class TestGold:
    """How much gold a layer holds."""

    @pytest.mark.parametrize(
        ("denominator", "karat", "ppt"),
        # fraction x karat/24, by hand; 16 CFR 23.3 counts gold-filled by its fraction of the weight.
        [(20, 14, 29.17), (20, 12, 25.0), (30, 10, 13.89), (40, 12, 12.5), (10, 10, 41.67)],
    )
    def test_the_whole_holds_fraction_times_karat(self, denominator: int, karat: int, ppt: float) -> None:
        found = layers.overall_ppm(Fraction(1, denominator), karat * 1_000_000 // 24)
        assert found / 1_000 == pytest.approx(ppt, abs=0.01)

    @pytest.mark.parametrize(
        ("parts", "um"),
        # ISO 10713:1992, Jewellery, gold alloy coatings: thickness of an alloy that equals 0.5 micrometre of fine gold.
        # The standard prints one or two figures (2.3, 1.9, 1.2, 1.0, 0.835).
        [
            (alloys.gold(9), 2.3),
            (alloys.gold(10), 1.9),
            (alloys.gold(14), 1.2),
            (alloys.gold(16), 1.0),
            (alloys.gold(18), 0.835),
            (alloys.gold(24), 0.5),
        ],
    )
    def test_alloys_equal_half_a_micrometre_of_fine_gold_as_the_standard_prints(
        self, parts: dict[str, float], um: float
    ) -> None:
        assert layers.fine_um(um, parts) == pytest.approx(0.5, rel=0.06)

    def test_the_guides_footnote_reckons_by_fineness_alone(self) -> None:
        # 16 CFR 23.4, footnote 4, as it stood in 2015: a micrometre of 12 karat holds as much as half one of fine gold.
        # By mass it holds less, because 12 karat is lighter.
        assert layers.by_fineness_um(1.0, alloys.gold(12)) == pytest.approx(0.5)
        assert layers.fine_um(1.0, alloys.gold(12)) == pytest.approx(0.32, abs=0.01)

    @pytest.mark.parametrize(
        ("um", "mg"),
        # Thickness times 19.3 g/cm3, by hand, at the guides' 0.175, 0.5 and 2.5 micrometres.
        [(0.175, 0.338), (0.5, 0.965), (2.5, 4.825)],
    )
    def test_gold_on_a_square_centimetre(self, um: float, mg: float) -> None:
        assert layers.mg_per_cm2(um, {"Au": 1.0}) == pytest.approx(mg, abs=0.001)

    @pytest.mark.parametrize(
        ("karat", "um", "word"),
        # 16 CFR 23.4(c)(2) to (4) as it stood in 2015: gold electroplate from 0.175, heavy gold electroplate from 2.5,
        # gold plate by any process from 0.5 micrometres of fine gold, of 10 karat and more; less is washed or flashed.
        [
            (24, 0.174, "gold washed or gold flashed"),
            (24, 0.175, "gold electroplate"),
            (24, 0.499, "gold electroplate"),
            (24, 0.5, "gold plate"),
            (24, 2.499, "gold plate"),
            (24, 2.5, "heavy gold electroplate"),
            (14, 2.5, "gold plate"),
            (10, 0.3, "gold washed or gold flashed"),
            (9.9, 20, "under 10 karat and no gold plate at all"),
            (9, 20, "under 10 karat and no gold plate at all"),
        ],
    )
    def test_a_coating_is_called_as_the_guides_let_it(self, karat: float, um: float, word: str) -> None:
        assert layers.coating(karat, um, "brass").called() == word

    @pytest.mark.parametrize(
        ("share", "karat", "word"),
        # 16 CFR 23.3: gold-filled from 1/20 of the weight, of 10 karat and more; below 1/20 the fraction must stand.
        [
            (Fraction(1, 20), 10, "gold-filled, or rolled gold plate"),
            (Fraction(1, 10), 14, "gold-filled, or rolled gold plate"),
            (Fraction(1, 21), 14, "rolled gold plate if the fraction stands before it"),
            (Fraction(1, 20), 9, "nothing of gold by name: the layer is under 10 karat"),
        ],
    )
    def test_layered_ware_is_called_as_the_guides_let_it(self, share: Fraction, karat: int, word: str) -> None:
        assert layers.called_filled(share, karat) == word

    def test_parts_of_any_total_hold_the_same_gold(self) -> None:
        parts = {element: 1_000 * part for element, part in alloys.gold(14).items()}
        for reckon in (layers.fine_um, layers.by_fineness_um, layers.mg_per_cm2):
            assert reckon(5.0, parts) == pytest.approx(reckon(5.0, alloys.gold(14)))
        found = layers.hidden_from_um(parts, BRASS, 10_000)
        assert found == pytest.approx(layers.hidden_from_um(alloys.gold(14), BRASS, 10_000), abs=0.011)
        assert layers.mg_per_cm2(5.0, {"Ag": 1.0}) == 0.0


class TestCoating:
    """What a coating of t micrometres of karat k on brass, nickel or sterling would read."""

    @pytest.mark.parametrize(
        ("karat", "um", "on", "gold", "zinc"),
        # Per thousand under light of 32 keV, worked out independently of this code with the Elam tables as xraydb 4.5.8
        # carries them.
        [
            (24, 0.175, "brass", 89.7, 276.4),
            (24, 2.5, "brass", 584.7, 145.6),
            (18, 7.5, "brass", 700.5, 47.4),
            (14, 5, "brass", 436.5, 151.6),
            (14, 20, "brass", 589.7, 42.7),
            (12, 1, "brass", 135.2, 257.7),
            (10, 15, "brass", 414.0, 91.3),
            (14, 5, "sterling", 323.2, 24.0),
            (14, 20, "sterling", 524.7, 37.0),
        ],
    )
    def test_coatings_read_as_worked_by_hand(self, karat: int, um: float, on: str, gold: float, zinc: float) -> None:
        reading = layers.coating(karat, um, on).reads
        assert 1000 * reading["Au"] == pytest.approx(gold, abs=0.6)
        assert 1000 * reading["Zn"] == pytest.approx(zinc, abs=0.6)

    def test_nickel_below_shows_and_between_hides_the_brass(self) -> None:
        plain, barred = layers.coating(18, 0.5, "brass"), layers.coating(18, 0.5, "brass", barrier_um=3.0)
        assert 1000 * barred.reads["Ni"] == pytest.approx(208.1, abs=0.5)  # worked out as above
        assert barred.reads["Zn"] < plain.reads["Zn"]
        assert layers.coating(14, 5, "nickel").reads["Ni"] > 0.3

    @pytest.mark.parametrize(
        ("denominator", "karat", "mm", "gold"),
        # Gold-filled brass sheet covered on both sides, worked out as above.
        [(10, 10, 0.3, 403), (20, 12, 0.5, 456), (20, 14, 0.5, 539), (20, 14, 1.0, 589), (30, 14, 1.0, 571)],
    )
    def test_gold_filled_sheet_reads_as_worked_by_hand(
        self, denominator: int, karat: int, mm: float, gold: float
    ) -> None:
        seen = layers.filled(1 / denominator, karat, sheet_mm=mm)
        assert 1000 * seen.reads["Au"] == pytest.approx(gold, abs=1)

    def test_gold_filled_is_sheet_of_a_millimetre_unless_it_is_wire(self) -> None:
        assert layers.filled(1 / 20, 14) == layers.filled(1 / 20, 14, sheet_mm=1.0)
        wire = layers.filled(1 / 20, 14, wire_mm=1.0)
        assert wire.layers[0].um == pytest.approx(8.30, abs=0.02)
        assert layers.filled(1 / 20, 14, sides=1).layers[0].um == pytest.approx(34.03, abs=0.05)

    @pytest.mark.parametrize(
        ("karat", "within", "um"),
        # Thinnest layer on brass that reads within 5, 10, 20, 50 per thousand of its own gold under light of 32 keV,
        # worked out independently of this code as above.
        [
            (24, 5, 11.3), (24, 10, 10.1), (24, 20, 8.8), (24, 50, 7.2),
            (18, 10, 10.0), (18, 50, 7.5),
            (14, 5, 12.6), (14, 10, 11.7), (14, 20, 10.4), (14, 50, 8.3),
            (10, 10, 13.1), (10, 20, 11.4),
        ],
    )  # fmt: skip
    def test_from_some_thickness_on_a_layer_passes_for_solid(self, karat: int, within: int, um: float) -> None:
        found = layers.hidden_from_um(alloys.gold(karat), BRASS, within * 1_000)
        assert found == pytest.approx(um, abs=0.11)

    @settings(max_examples=25, deadline=None)
    @given(st.sampled_from([9, 10, 12, 14, 18, 22, 24]), st.sampled_from([xray.MIDDLE, xray.TUBE_LIGHT]))
    def test_a_thicker_layer_stays_hidden_and_a_thinner_one_shows(self, karat: int, light: xray.Light) -> None:
        parts = alloys.gold(karat)
        um = layers.hidden_from_um(parts, BRASS, 10_000, light)

        def off(thick: float) -> float:
            stack = [xray.Layer(parts, density.ideal(parts), thick), xray.Layer(BRASS.parts, BRASS.density)]
            return abs(xray.reads(stack, light)["Au"] - parts["Au"])

        assert off(um - 0.02) > 0.010
        assert all(off(um + more) <= 0.010 for more in (0, 0.5, 2, 5, 20))

    def test_what_is_hidden_at_once_is_found_too(self) -> None:
        # A layer on its own like: gold as fine as the base is never told from it.
        like = alloys.Base("like", "the same gold", alloys.gold(14), 13.192)
        assert layers.hidden_from_um(alloys.gold(14), like, 10_000) == pytest.approx(0.01, abs=0.01)

    def test_hidden_says_whether_a_reading_could_pass(self) -> None:
        thin, thick = layers.coating(14, 5, "brass"), layers.coating(14, 17, "brass")
        assert not thin.hidden(10_000)
        assert thick.hidden(10_000)
        assert thin.gold_ppm[0] < thin.gold_ppm[1] < thin.own_ppm == 585_000

    def test_a_reading_just_good_enough_to_tell_is_not_fooled(self) -> None:
        thin = layers.coating(14, 5, "brass")
        nearest = min(abs(ppm - thin.own_ppm) for ppm in thin.gold_ppm)
        assert thin.hidden(nearest)
        assert not thin.hidden(nearest - 1)

    def test_the_thickest_coating_that_is_taken_is_the_metal_itself(self) -> None:
        thick = layers.coating(14, 1_000, "brass", barrier_um=1_000)
        assert thick.reads == pytest.approx({**alloys.gold(14), "Ni": 0.0}, abs=1e-6)

    def test_any_make_up_can_lie_on_top(self) -> None:
        silver = layers.over({"Ag": 1.0}, 20, BRASS)
        assert 1000 * silver.reads["Ag"] == pytest.approx(994.1, abs=0.5)  # worked out as above
        assert silver.gold_ppm == (0, 0)

    @pytest.mark.parametrize(
        ("karat", "um", "on", "colour", "barrier", "field"),
        [
            (0, 5, "brass", "yellow", 0, "karat"),
            (24.01, 5, "brass", "yellow", 0, "karat"),
            (14, 0, "brass", "yellow", 0, "microns"),
            (14, 1001, "brass", "yellow", 0, "microns"),
            (14, 5, "brass", "yellow", -1, "microns"),
            (14, 5, "brass", "yellow", 1000.5, "microns"),
            (14, 5, "lead", "yellow", 0, "on"),
            (14, 5, "brass", "green", 0, "colour"),
        ],
    )
    def test_what_cannot_be_is_refused_by_name(
        self, karat: float, um: float, on: str, colour: str, barrier: float, field: str
    ) -> None:
        with pytest.raises(InputError) as fault:
            layers.coating(karat, um, on, colour=colour, barrier_um=barrier)
        assert fault.value.field == field

    @pytest.mark.parametrize("share", [0, 1, 2])
    def test_a_layer_is_less_than_the_whole(self, share: float) -> None:
        with pytest.raises(InputError, match="1/20"):
            layers.filled(share, 14)

    def test_layered_ware_lies_on_a_known_metal(self) -> None:
        with pytest.raises(InputError, match="one of brass"):
            layers.filled(1 / 20, 14, on="lead")
