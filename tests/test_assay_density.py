"""The physics of weighing in water, against published tables, data sheets and crystal lattices."""

import math

import periodictable
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.assay import density

# Mass fractions of common alloys, per thousand. Trade recipes.
YELLOW_14K = {"Au": 585, "Ag": 120, "Cu": 255, "Zn": 40}
NICKEL_14K = {"Au": 585, "Ni": 110, "Cu": 240, "Zn": 65}
YELLOW_18K = {"Au": 750, "Ag": 125, "Cu": 125}
PALLADIUM_18K = {"Au": 750, "Pd": 130, "Cu": 70, "Ag": 50}
GOLD_22K = {"Au": 916.7, "Ag": 55, "Cu": 28.3}


# Symbol, atoms in the cubic cell, cell side in angstrom, atomic mass: CRC Handbook of Chemistry and Physics, crystal
# structures of the elements at room temperature, and IUPAC standard atomic weights.
LATTICES = [
    ("Au", 4, 4.0782, 196.967),
    ("Ag", 4, 4.0857, 107.868),
    ("Cu", 4, 3.6146, 63.546),
    ("Ni", 4, 3.5240, 58.693),
    ("Pd", 4, 3.8903, 106.42),
    ("Pt", 4, 3.9236, 195.084),
    ("Rh", 4, 3.8032, 102.906),
    ("Ir", 4, 3.8392, 192.217),
    ("Al", 4, 4.0496, 26.982),
    ("Pb", 4, 4.9502, 207.2),
    ("W", 2, 3.1651, 183.84),
    ("Mo", 2, 3.1470, 95.95),
    ("Ta", 2, 3.3030, 180.948),
    ("Fe", 2, 2.8665, 55.845),
    ("Cr", 2, 2.8848, 51.996),
    ("Nb", 2, 3.3004, 92.906),
]


def jones_harris(t: float) -> float:
    """Density of air-free water, kg/m3. Source: F.E. Jones, G.L. Harris, J. Res. NIST 97 (1992) 335."""
    air_saturated = 999.84847 + 6.337563e-2 * t - 8.523829e-3 * t**2 + 6.943248e-5 * t**3 - 3.821216e-7 * t**4
    # The same paper's correction from air-saturated to air-free water.
    return air_saturated + 0.004612 - 0.000106 * t


class TestWater:
    """Density of water at the temperature of the bath."""

    @pytest.mark.parametrize(
        ("celsius", "density_g"),
        # CRC Handbook of Chemistry and Physics, standard density of water (ITS-90), g/cm3.
        [
            (0, 0.9998426),
            (4, 0.999975),
            (10, 0.9997026),
            (15, 0.9991026),
            (20, 0.9982071),
            (25, 0.9970479),
            (30, 0.9956502),
            (35, 0.9940349),
            (40, 0.9922187),
        ],
    )
    def test_water_is_as_dense_as_the_handbook_prints(self, celsius: int, density_g: float) -> None:
        assert density.water(celsius) == pytest.approx(density_g, abs=1.0e-5)

    @pytest.mark.parametrize(
        ("celsius", "density_g"),
        # Worked by hand from equation 1 of Tanaka and others, Metrologia 38 (2001) 301.
        [
            (15, 0.999103), (17, 0.998778), (18, 0.998598), (19, 0.998408), (21, 0.997995), (22, 0.997773),
            (23, 0.997541), (25, 0.997047), (26, 0.996786), (27, 0.996515), (29, 0.995946), (30, 0.995649),
        ],
    )  # fmt: skip
    def test_water_comes_out_as_the_formula_worked_by_hand(self, celsius: int, density_g: float) -> None:
        assert density.water(celsius) == pytest.approx(density_g, abs=2e-6)

    @pytest.mark.parametrize("celsius", range(5, 41))
    def test_water_agrees_with_another_published_polynomial(self, celsius: int) -> None:
        assert density.water(celsius) * 1000 == pytest.approx(jones_harris(celsius), abs=0.006)


class TestWeighing:
    """What two weighings say of a piece."""

    @pytest.mark.parametrize(
        ("air", "water", "celsius", "result"),
        # Worked by hand from rho = m(rho_w - rho_a)/(m - m_w) + rho_a with water by Tanaka 2001, air 0.0012 g/cm3.
        [
            (10.0, 9.24, 20, 13.1197),
            (5.0, 4.42, 20, 8.5961),
            (10.0, 8.85, 25, 8.6607),
            (31.1, 29.49, 22, 19.2518),
            (20.0, 18.07, 20, 10.3329),
        ],
    )
    def test_weights_in_air_and_water_give_the_density(
        self, air: float, water: float, celsius: int, result: float
    ) -> None:
        assert density.measured(air, water, celsius=celsius).density == pytest.approx(result, abs=1e-4)

    @given(st.floats(0.5, 200), st.floats(2, 22), st.floats(5, 35))
    def test_a_piece_of_known_density_gives_it_back(self, mass: float, rho: float, celsius: float) -> None:
        volume = mass / rho
        air = mass - volume * density.AIR
        in_water = mass - volume * density.water(celsius)
        result = density.measured(air, in_water, celsius=celsius)
        assert (result.density, result.volume, result.mass) == pytest.approx((rho, volume, mass), rel=1e-6)

    def test_weight_and_scale_step_scaled_together_change_nothing(self) -> None:
        small = density.measured(10.0, 9.24, celsius=20, step=0.01)
        large = density.measured(100.0, 92.4, celsius=20, step=0.1)
        assert small.density == pytest.approx(large.density)
        assert small.density_u == pytest.approx(large.density_u)

    def test_stones_are_taken_out_of_weight_and_volume(self) -> None:
        # 4.00 g of 14 karat at 13.19 with 5 carats of cubic zirconia at 5.8: the whole shows 10.5, the metal 13.19.
        volume = 4.0 / 13.19 + 1.0 / 5.8
        air, water = 5.0 - volume * density.AIR, 5.0 - volume * density.water(20)
        assert density.measured(air, water, celsius=20).density == pytest.approx(10.51, abs=0.01)
        alone = density.measured(air, water, celsius=20, stone_mass=1.0, stone_density=5.8)
        assert alone.density == pytest.approx(13.19, abs=0.001)

    @pytest.mark.parametrize(
        ("grams", "rho", "u"), [(1, 13.2, 2.377), (5, 13.2, 0.4754), (20, 13.2, 0.1189), (31.1, 19.3, 0.1654)]
    )
    def test_the_uncertainty_grows_as_the_piece_gets_lighter(self, grams: float, rho: float, u: float) -> None:
        # Propagation of uncertainty by JCGM 100:2008 on the formula, worked by hand for 0.01 g.
        assert density.density_u(grams, rho, 0.01) == pytest.approx(u, abs=0.001)
        volume_way = density.measured(grams, grams * (1 - 0.9982 / rho), celsius=20).density_u
        assert volume_way == pytest.approx(u, rel=0.06)

    def test_the_uncertainty_is_that_of_many_weighings_with_noise(self) -> None:
        # No formula of propagation: both weighings moved by one step up and down, the four corners' spread.
        corners = [
            density.measured(10.0 + one, 9.24 + other, celsius=20).density
            for one in (-0.01, 0.01)
            for other in (-0.01, 0.01)
        ]
        rough = math.sqrt(sum((corner - 13.1197) ** 2 for corner in corners) / 4)
        assert density.measured(10.0, 9.24, celsius=20).density_u == pytest.approx(rough, rel=0.05)

    def test_estimated_stones_make_the_metal_less_certain(self) -> None:
        plain = density.measured(5.0, 4.524, celsius=20, stone_mass=1.0, stone_density=5.8)
        guess = density.measured(
            5.0, 4.524, celsius=20, stone_mass=1.0, stone_density=5.8, stone_mass_u=0.05, stone_density_u=0.2
        )
        assert guess.density == plain.density
        by_hand = math.hypot(plain.volume_u, 0.05 / 5.8, 1.0 * 0.2 / 5.8**2)
        assert guess.volume_u == pytest.approx(by_hand)
        assert guess.density_u > plain.density_u
        assert density.compare(guess, 13.2).spread > density.compare(plain, 13.2).spread

    def test_the_lift_of_air_is_put_back(self) -> None:
        # A litre of air weighs 1.2 g: 10 g of gold lose 0.6 mg of it, 10 g of brass 1.4 mg.
        light = density.measured(10.0, 8.83, celsius=20)
        assert light.mass - 10.0 == pytest.approx(10.0 / light.density * 0.0012, rel=0.01)
        assert density.measured(10.0, 8.83, celsius=20, air_density=0.0).mass == 10.0

    @pytest.mark.parametrize(
        ("first", "second", "step", "grams"),
        # |difference| = 2 (u1 + u2), worked by hand: karat gold and gold-filled, 18 and 14 karat, sterling and nickel
        # silver, and gold and tungsten at 19.25, which no jeweller's scale tells apart.
        [
            (13.19, 8.69, 0.1, 15.04),
            (13.19, 8.69, 0.01, 1.5),
            (11.52, 8.64, 0.1, 19.44),
            (11.52, 8.64, 0.01, 1.94),
            (11.52, 8.64, 0.001, 0.1944),
            (15.45, 13.19, 0.01, 5.0),
            (15.45, 13.19, 0.001, 0.5),
            (10.36, 8.73, 0.1, 30.3),
            (10.36, 8.73, 0.001, 0.3),
            (19.3, 19.25, 0.1, 4103.3),
            (19.3, 19.25, 0.01, 410.33),
        ],
    )
    def test_two_metals_can_be_told_apart_from_some_weight_on(
        self, first: float, second: float, step: float, grams: float
    ) -> None:
        assert density.smallest_weight(first, second, step) == pytest.approx(grams, rel=0.02)


class TestRoom:
    """The test done in displaced volume; the minimum weight at which it can decide anything."""

    def test_gold_filled_takes_up_too_much_room_and_a_dense_core_too_little(self) -> None:
        filled = density.measured(18.0, 18.0 * (1 - 0.9982 / 8.68), celsius=20)
        assert density.compare(filled, 13.2).says == "lighter"
        assert density.compare(filled, 8.68).says == "agrees"
        heavy = density.measured(18.0, 18.0 * (1 - 0.9982 / 19.25), celsius=20)
        assert density.compare(heavy, 13.2).says == "denser"

    @given(st.floats(2, 200), st.floats(8, 20), st.floats(0.001, 0.1))
    def test_a_piece_of_the_metal_read_always_agrees(self, grams: float, rho: float, step: float) -> None:
        piece = density.measured(grams, grams * (1 - 0.9982 / rho), celsius=20, step=step)
        assert density.compare(piece, piece.density).says == "agrees"

    def test_the_noise_does_not_depend_on_the_density(self) -> None:
        light, heavy = (density.measured(10.0, 10.0 * (1 - 1 / rho), celsius=20).volume_u for rho in (9.0, 19.0))
        assert light == heavy

    @given(st.floats(2, 100), st.floats(9, 20), st.floats(7, 20), st.sampled_from([0.001, 0.01, 0.1]), st.floats(2, 50))
    def test_weight_and_scale_step_scaled_together_change_nothing_in_what_is_decided(
        self, grams: float, wanted: float, rho: float, step: float, times: float
    ) -> None:
        one, other = (
            density.compare(
                density.measured(by * grams, by * grams * (1 - 0.998 / rho), celsius=20, step=by * step), wanted
            )
            for by in (1.0, times)
        )
        assert other.over == pytest.approx(times * one.over, rel=1e-6, abs=1e-9)
        assert other.spread == pytest.approx(times * one.spread)
        assert abs(abs(one.over) - one.spread) < 1e-9 or one.says == other.says
        assert one.decides(8.5) == other.decides(8.5)

    @given(st.floats(9, 20), st.floats(7, 20), st.sampled_from([0.001, 0.01, 0.1]))
    def test_from_the_least_weight_on_it_decides_and_below_it_does_not(
        self, wanted: float, core: float, step: float
    ) -> None:
        grams = density.decides_from(wanted, core, step=step)
        if grams is None:  # the densities lie within the model's doubt, four standard uncertainties
            assert abs(wanted / core - 1) <= 4 * 0.025 + 1e-9
            return
        for by, decides in ((0.98, False), (1.02, True)):
            piece = density.Measured(
                wanted, by * grams / wanted, by * grams, math.sqrt(2) * step / (density.water(20) - density.AIR)
            )
            assert density.compare(piece, wanted).decides(core) is decides

    @pytest.mark.parametrize(
        ("wanted", "core", "step", "grams"),
        # 4 sqrt(2) d/(rho_w - rho_a)/sqrt((1/core - 1/wanted)^2 - (0.1/wanted)^2), worked by hand: 14 karat against
        # copper and gold-filled, sterling against nickel silver, a 0.1 g scale; fine gold against tungsten never.
        [
            (13.19, 8.96, 0.01, 1.63),
            (13.19, 8.69, 0.01, 1.47),
            (10.36, 8.73, 0.01, 3.73),
            (13.19, 8.69, 0.1, 14.7),
            (19.3, 19.25, 0.01, None),
            (12.0, 12.73, 0.001, None),
        ],
    )
    def test_the_least_weight_comes_out_as_worked_by_hand(
        self, wanted: float, core: float, step: float, grams: float | None
    ) -> None:
        assert density.decides_from(wanted, core, step=step) == (
            None if grams is None else pytest.approx(grams, rel=0.01)
        )

    @pytest.mark.parametrize(
        ("share", "filler", "whole"),
        # 14 karat of 13.19 with 10, 30, 50 % of its room void or resin, by hand: a bangle filled with resin to 40 %
        # weighs as brass does.
        [
            (0.1, density.AIR, 11.87),
            (0.3, density.AIR, 9.23),
            (0.5, density.AIR, 6.6),
            (0.3, 1.15, 9.58),
            (0.5, 1.15, 7.17),
            (0.4, 1.15, 8.37),
        ],
    )
    def test_voids_and_fillings_lighten_a_piece(self, share: float, filler: float, whole: float) -> None:
        assert density.with_void(13.19, share, filler) == pytest.approx(whole, abs=0.01)
        assert density.void_share(density.with_void(13.19, share, filler), 13.19, filler) == pytest.approx(share)

    def test_a_piece_denser_than_its_metal_has_no_void(self) -> None:
        assert density.void_share(19.3, 13.19) == 0.0
        assert density.void_share(0.0, 13.19) == 1.0
        assert density.FILLERS["resin"] < density.STONES["quartz"] < density.STONES["diamond"]


class TestAlloys:
    """What an alloy of known make-up should weigh."""

    @pytest.mark.parametrize(("symbol", "atoms", "side_angstrom", "atomic_mass"), LATTICES)
    def test_elements_are_as_dense_as_their_crystal_lattice(
        self, symbol: str, atoms: int, side_angstrom: float, atomic_mass: float
    ) -> None:
        # Atoms in the cubic cell times the mass of one, over the cell's volume; one unit of mass is 1.66054e-24 g.
        lattice = atoms * atomic_mass * 1.66054 / side_angstrom**3
        assert density.ELEMENTS[symbol] == pytest.approx(lattice, rel=0.02)

    @pytest.mark.parametrize("symbol", sorted(density.ELEMENTS))
    def test_elements_are_as_dense_and_as_heavy_as_another_table_says(self, symbol: str) -> None:
        # periodictable: IUPAC masses, densities of the CRC Handbook's element pages. Ruthenium is 12.1 in one table of
        # the handbook and 12.45 in another, tantalum 16.4 and 16.65, vanadium 6.0 and 6.11.
        element = getattr(periodictable, symbol)
        assert density.MASSES[symbol] == pytest.approx(element.mass, rel=1e-4)
        apart = {"Ru": 0.03, "Ta": 0.017, "V": 0.02, "Re": 0.012}
        assert density.ELEMENTS[symbol] == pytest.approx(element.density, rel=apart.get(symbol, 0.01))

    @pytest.mark.parametrize(
        ("parts", "mixed"),
        # 1/rho = sum w/rho_i, by hand with the handbook's densities of the elements.
        [
            (GOLD_22K, 17.891),
            (YELLOW_18K, 15.452),
            (YELLOW_14K, 13.192),
            ({"Ag": 925, "Cu": 75}, 10.366),
            ({"Ag": 900, "Cu": 100}, 10.323),
            ({"Pt": 950, "Ru": 50}, 20.696),
            (PALLADIUM_18K, 16.06),
            (NICKEL_14K, 12.728),
        ],
    )
    def test_ideal_mixing_comes_out_as_worked_by_hand(self, parts: dict[str, float], mixed: float) -> None:
        assert density.ideal(parts) == pytest.approx(mixed, abs=0.002)

    @pytest.mark.parametrize(
        ("parts", "published", "source"),
        [
            ({"Au": 900, "Cu": 100}, 17.17, "coin gold, 900 gold 100 copper; from memory"),
            ({"Au": 916.7, "Cu": 83.3}, 17.48, "crown gold, sovereigns; from memory"),
            ({"Au": 417, "Ag": 110, "Cu": 405, "Zn": 68}, 11.6, "10 karat, a calculator's page; common practice"),
            ({"Au": 375, "Ag": 100, "Cu": 450, "Zn": 75}, 11.1, "9 carat yellow, from memory"),
            ({"Au": 750, "Ag": 28, "Cu": 222}, 15.1, "18 karat rose, a jeweller's table; common practice"),
            ({"Au": 916.7, "Ag": 55, "Cu": 28.3}, 17.75, "British table, 22 carat 17.7 to 17.8"),
            ({"Ag": 925, "Cu": 75}, 10.36, "ASM Handbook, sterling; from memory"),
            ({"Ag": 900, "Cu": 100}, 10.31, "coin silver; from memory"),
            ({"Pt": 950, "Ru": 50}, 20.7, "platinum with ruthenium; from memory"),
            ({"Pt": 900, "Ir": 100}, 21.5, "platinum with iridium; from memory"),
            ({"Pd": 950, "Ru": 50}, 12.0, "palladium with ruthenium; from memory"),
            ({"Cu": 700, "Zn": 300}, 8.53, "mill data sheet of C26000"),
            ({"Cu": 900, "Zn": 100}, 8.80, "Copper Development Association, C22000"),
            ({"Cu": 650, "Ni": 180, "Zn": 170}, 8.73, "C75200; from memory"),
        ],
    )
    def test_published_densities_lie_within_the_model_term(
        self, parts: dict[str, float], published: float, source: str
    ) -> None:
        # 1 %, one standard uncertainty, for alloys of a known family.
        assert density.predicted(parts) == pytest.approx(published, rel=0.011), source

    @pytest.mark.parametrize(
        ("parts", "atoms", "side_angstrom"),
        # Cell sides of disordered alloys at half and half and at one to three: Universite du Maine, teaching pages
        # (AuCu 3.873, AuCu3 3.756); AuAg 4.071, from memory. Four atoms in a cell.
        [
            ({"Au": 196.967, "Cu": 63.546}, 2, 3.873),
            ({"Au": 196.967, "Cu": 3 * 63.546}, 1, 3.756),
            ({"Au": 196.967, "Ag": 107.868}, 2, 4.071),
        ],
    )
    def test_gold_with_copper_and_silver_is_as_dense_as_its_lattice(
        self, parts: dict[str, float], atoms: int, side_angstrom: float
    ) -> None:
        lattice = atoms * sum(parts.values()) * 1.66054 / side_angstrom**3
        assert density.predicted(parts) == pytest.approx(lattice, rel=0.006)
        assert abs(density.predicted(parts) - lattice) < abs(density.ideal(parts) - lattice)

    @pytest.mark.parametrize(
        ("parts", "low", "high", "source"),
        [
            (GOLD_22K, 17.7, 17.9, "British table of carat gold densities, 22 carat 17.7 to 17.8"),
            (YELLOW_18K, 15.2, 15.9, "the same, 18 carat yellow"),
            (PALLADIUM_18K, 14.7, 16.9, "the same, 18 carat white"),
            (YELLOW_14K, 12.9, 14.6, "the same, 14 carat"),
            (NICKEL_14K, 12.6, 14.6, "the same, 14 carat; nickel white is the lightest"),
            ({"Ag": 925, "Cu": 75}, 10.2, 10.4, "the same, sterling 10.2 to 10.3"),
            ({"Pt": 950, "Ru": 50}, 20.1, 20.8, "the same, 950 platinum; 20.7 from memory"),
            ({"Cu": 700, "Zn": 300}, 8.52, 8.54, "Copper Development Association, C26000: 8.53"),
            ({"Cu": 900, "Zn": 100}, 8.79, 8.82, "Copper Development Association, C22000: 8.80"),
        ],
    )
    def test_predicted_densities_lie_where_published_ones_do(
        self, parts: dict[str, float], low: float, high: float, source: str
    ) -> None:
        assert low <= density.predicted(parts) <= high, source

    def test_ideal_mixing_misses_brass_by_the_amount_the_correction_takes_up(self) -> None:
        brass = {"Cu": 700.0, "Zn": 300.0}
        assert density.ideal(brass) == pytest.approx(8.32, abs=0.01)
        assert density.predicted(brass) / density.ideal(brass) == pytest.approx(1.025, abs=0.002)
        assert density.predicted({"Zn": 900.0, "Cu": 100.0}) == density.ideal({"Zn": 900.0, "Cu": 100.0})

    @given(st.dictionaries(st.sampled_from(sorted(density.ELEMENTS)), st.floats(1, 1000), min_size=1, max_size=6))
    def test_a_mixture_is_no_lighter_and_no_denser_than_its_parts(self, parts: dict[str, float]) -> None:
        lightest = min(density.ELEMENTS[symbol] for symbol in parts)
        densest = max(density.ELEMENTS[symbol] for symbol in parts)
        assert lightest * 0.999999 <= density.ideal(parts) <= densest * 1.000001

    @pytest.mark.parametrize(
        ("rho", "family", "low", "high"),
        # (1/rho - 1/rest)/(1/19.3 - 1/rest), worked by hand with the density widened by 2 x 0.1 and 1 %.
        [
            (8.7, "yellow-rose", 0, 103),
            (8.7, "unknown", 0, 318),
            (11.5, "yellow-rose", 150, 503),
            (11.5, "white", 0, 513),
            (13.2, "yellow-rose", 416, 664),
            (13.2, "white", 196, 671),
            (13.2, "unknown", 196, 745),
            (15.45, "white", 556, 827),
            (15.45, "unknown", 556, 866),
            (17.8, "yellow-rose", 880, 947),
            (17.8, "unknown", 834, 960),
        ],
    )
    def test_a_density_alone_allows_a_wide_range_of_fineness(
        self, rho: float, family: str, low: float, high: float
    ) -> None:
        ends = density.fineness_between(rho, 0.1, pure=19.3, rest=density.FAMILIES[family])
        assert [end * 1000 for end in ends] == pytest.approx([low, high], abs=1)

    def test_a_density_above_the_pure_metal_allows_no_more_than_all(self) -> None:
        assert density.fineness_between(21.0, 0.1, pure=19.3, rest=(8.4, 10.5)) == (1.0, 1.0)
