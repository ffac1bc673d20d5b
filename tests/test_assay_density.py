"""The physics of weighing in water, against published tables, data sheets and crystal lattices."""

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

    @pytest.mark.parametrize("celsius", range(5, 41))
    def test_water_agrees_with_another_published_polynomial(self, celsius: int) -> None:
        assert density.water(celsius) * 1000 == pytest.approx(jones_harris(celsius), abs=0.006)


class TestWeighing:
    """What two weighings say of a piece."""

    @pytest.mark.parametrize(
        ("air", "water", "celsius", "result"),
        # Worked by hand from rho = m(rho_w - rho_a)/(m - m_w) + rho_a with the handbook's water, air 0.0012 g/cm3.
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

    @pytest.mark.parametrize(("grams", "u"), [(1, 2.377), (5, 0.4754), (20, 0.1189)])
    def test_the_uncertainty_grows_as_the_piece_gets_lighter(self, grams: float, u: float) -> None:
        # Propagation of uncertainty by JCGM 100:2008 on the formula, worked by hand for 13.2 and 0.01 g.
        assert density.density_u(grams, 13.2, 0.01) == pytest.approx(u, abs=0.001)
        volume_way = density.measured(grams, grams * (1 - 0.9982 / 13.2), celsius=20).density_u
        assert volume_way == pytest.approx(u, rel=0.06)

    @pytest.mark.parametrize(
        ("first", "second", "step", "grams"),
        # |difference| = 2 (u1 + u2), worked by hand: karat gold and gold-filled, sterling and nickel silver, and
        # gold and tungsten at 19.25, which no jeweller's scale tells apart.
        [
            (13.19, 8.69, 0.1, 15.04),
            (13.19, 8.69, 0.01, 1.5),
            (11.52, 8.64, 0.01, 1.94),
            (15.45, 13.19, 0.01, 5.0),
            (10.36, 8.73, 0.1, 30.3),
            (19.3, 19.25, 0.01, 410.3),
        ],
    )
    def test_two_metals_can_be_told_apart_from_some_weight_on(
        self, first: float, second: float, step: float, grams: float
    ) -> None:
        assert density.smallest_weight(first, second, step) == pytest.approx(grams, rel=0.02)


class TestAlloys:
    """What an alloy of known make-up should weigh."""

    @pytest.mark.parametrize(("symbol", "atoms", "side_angstrom", "atomic_mass"), LATTICES)
    def test_elements_are_as_dense_as_their_crystal_lattice(
        self, symbol: str, atoms: int, side_angstrom: float, atomic_mass: float
    ) -> None:
        # Atoms in the cubic cell times the mass of one, over the cell's volume; one unit of mass is 1.66054e-24 g.
        lattice = atoms * atomic_mass * 1.66054 / side_angstrom**3
        assert density.ELEMENTS[symbol] == pytest.approx(lattice, rel=0.02)

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
            (11.5, "yellow-rose", 150, 503),
            (13.2, "yellow-rose", 416, 664),
            (13.2, "white", 196, 671),
            (13.2, "unknown", 196, 745),
            (17.8, "yellow-rose", 880, 947),
        ],
    )
    def test_a_density_alone_allows_a_wide_range_of_fineness(
        self, rho: float, family: str, low: float, high: float
    ) -> None:
        ends = density.fineness_between(rho, 0.1, pure=19.3, rest=density.FAMILIES[family])
        assert [end * 1000 for end in ends] == pytest.approx([low, high], abs=1)

    def test_a_density_above_the_pure_metal_allows_no_more_than_all(self) -> None:
        assert density.fineness_between(21.0, 0.1, pure=19.3, rest=(8.4, 10.5)) == (1.0, 1.0)
