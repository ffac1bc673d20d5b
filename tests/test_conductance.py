"""Eddy currents: depth, conductance and what readings shut out, against handbook figures and the wave equation."""

import cmath
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ledger.assay import conductance
from ledger.assay.conductance import METALS

MU0 = 4e-7 * math.pi


def stepped(shell: float, core: float, shell_mm: float, kilohertz: float) -> float:
    """% IACS over a shell on a core, by stepping the wave equation through the shell: no impedance formula.

    E'' = i omega mu sigma E; q = -E'/E obeys q' = q^2 - i omega mu sigma, from the core (q constant) to the face.
    """
    omega = 2e3 * math.pi * kilohertz
    below, inside = (1j * omega * MU0 * 0.58e6 * one for one in (core, shell))
    q, steps = cmath.sqrt(below), 400
    h = -shell_mm / 1_000 / steps
    for _ in range(steps):
        a = q * q - inside
        b = (q + h / 2 * a) ** 2 - inside
        c = (q + h / 2 * b) ** 2 - inside
        d = (q + h * c) ** 2 - inside
        q += h / 6 * (a + 2 * b + 2 * c + d)
    return abs(q) ** 2 / (omega * MU0 * 0.58e6)


class TestDepth:
    """Eddy-current skin depth."""

    @pytest.mark.parametrize(
        ("metal", "resistivity", "iacs"),
        # 172.41/rho, resistivities of the CRC Handbook at 20 degrees Celsius in micro-ohm centimetres (from memory).
        [
            ("silver", 1.587, 108.64),
            ("copper", 1.678, 102.75),
            ("gold", 2.214, 77.87),
            ("aluminium", 2.65, 65.06),
            ("tungsten", 5.28, 32.65),
            ("zinc", 5.9, 29.22),
            ("nickel", 6.93, 24.88),
            ("iron", 9.61, 17.94),
            ("platinum", 10.5, 16.42),
            ("palladium", 10.54, 16.36),
            ("tin", 11.5, 14.99),
            ("lead", 20.8, 8.29),
            ("titanium", 42.0, 4.11),
            ("iridium", 4.7, 36.68),
            ("molybdenum", 5.34, 32.29),
            ("tantalum", 13.1, 13.16),
        ],
    )
    def test_resistivities_become_conductances(self, metal: str, resistivity: float, iacs: float) -> None:
        assert conductance.iacs(resistivity) == pytest.approx(iacs, abs=0.02)
        known = METALS.get(metal, conductance.Metal(iacs, iacs))
        assert (known.low, known.high) == pytest.approx((iacs, iacs), abs=0.02)

    @pytest.mark.parametrize(
        ("kilohertz", "iacs", "mm"),
        # sqrt(rho/(pi f mu0)), worked by hand with 58.0 MS/m for 100 % (ASTM E1004, IEC 60028).
        [
            (60, 77.9, 0.3057),
            (100, 77.9, 0.2368),
            (480, 77.9, 0.1081),
            (100, 14, 0.5585),
            (1000, 14, 0.1766),
            (100, 28, 0.3949),
            (100, 102.7, 0.2062),
        ],
    )
    def test_skin_depths_come_out_as_worked_by_hand(self, kilohertz: float, iacs: float, mm: float) -> None:
        assert conductance.skin_mm(kilohertz, iacs) == pytest.approx(mm, abs=0.0002)

    def test_copper_at_the_mains_has_the_depth_that_textbooks_print(self) -> None:
        # 8.5 mm at 60 Hz, 0.066 mm at 1 MHz: common textbook values for copper at room temperature.
        assert conductance.skin_mm(0.06, 100) == pytest.approx(8.5, abs=0.05)
        assert conductance.skin_mm(1_000, 100) == pytest.approx(0.066, abs=0.0005)
        assert conductance.skin_mm(100, 25, mu_r=100) == pytest.approx(conductance.skin_mm(100, 25) / 10)

    @pytest.mark.parametrize(
        ("um", "megahertz"),
        # By hand, for karat gold of 14 %: why eddy currents cannot see a gold-filled layer apart from its base.
        [(20, 78), (10, 312)],
    )
    def test_a_depth_asks_for_a_frequency(self, um: float, megahertz: float) -> None:
        assert conductance.skin_mm(megahertz * 1_000, 14) == pytest.approx(um / 1_000, rel=0.01)


class TestOneReading:
    """What a conductance reading at one frequency can exclude."""

    @pytest.mark.parametrize(
        ("iacs", "metals"),
        [
            (77.5, {"gold"}),
            (32.7, {"tungsten", "molybdenum"}),
            (6.0, {"nickel silver"}),
            (108.0, {"silver", "copper"}),
        ],
    )
    def test_a_reading_fits_few_metals(self, iacs: float, metals: set[str]) -> None:
        assert set(conductance.fits(iacs)) - {"sterling silver", "coin silver"} == metals
        assert set(conductance.fits(iacs)) | set(conductance.excludes(iacs)) == set(METALS)
        assert not set(conductance.fits(iacs)) & set(conductance.excludes(iacs))

    def test_it_does_not_grade_karat_golds_and_tells_them_from_brass(self) -> None:
        # 90 gold 10 copper 14 % (ASTM B596), brass 28 % (Copper Development Association).
        assert "karat gold" in conductance.fits(14.0)
        assert "karat gold" in conductance.excludes(28.0)
        assert {"gold", "brass", "silver", "copper"} <= set(conductance.excludes(14.0))

    def test_fine_metals_are_told_from_what_imitates_them(self) -> None:
        assert {"tungsten", "lead", "brass"} <= set(conductance.excludes(METALS["gold"].low))
        assert {"brass", "nickel silver", "lead", "tin"} <= set(conductance.excludes(METALS["silver"].low))

    @pytest.mark.parametrize(
        ("metal", "low", "high"),
        [
            ("brass", 28, 28),  # C26000, Copper Development Association
            ("coin silver", 83, 83),  # 90 silver 10 copper, ASTM B617
            ("sterling silver", 83, 96),  # no figure confirmed; between coin silver and one quoted from memory
            ("nickel silver", 5.5, 6.5),  # 6, from memory
            ("stainless steel", 2.3, 2.6),  # 304: 2.5, published table of electromagnetic testing
            ("karat gold", 10, 17),  # common practice; ASTM B477, B522, B596 alloys of gold print 11 to 14
            ("22 karat gold", 20, 25),  # from memory
        ],
    )
    def test_alloys_conduct_as_published_or_as_practice_says(self, metal: str, low: float, high: float) -> None:
        assert METALS[metal] == conductance.Metal(low, high)

    @pytest.mark.parametrize(
        ("iacs", "fits"),
        # Just inside and just outside a share of 7 % around brass, by hand.
        [(28 * 0.93, True), (28 * 1.07, True), (28 * 0.929, False), (28 * 1.071, False)],
    )
    def test_a_reading_may_lie_a_share_beside_its_metal(self, iacs: float, fits: bool) -> None:
        assert ("brass" in conductance.fits(iacs)) is fits


class TestShells:
    """Two frequencies, because a shell can hide a core from one of them."""

    @settings(max_examples=60, deadline=None)
    @given(st.floats(3, 110), st.floats(3, 110), st.floats(0.0, 0.6), st.floats(10, 500))
    def test_the_reading_over_a_shell_is_that_of_the_wave_equation(
        self, shell: float, core: float, mm: float, kilohertz: float
    ) -> None:
        exact = conductance.apparent(shell, core, mm, kilohertz)
        assert exact == pytest.approx(stepped(shell, core, mm, kilohertz), rel=1e-3)

    @given(st.floats(3, 110), st.floats(3, 110), st.floats(10, 1_000))
    def test_no_shell_reads_the_core_and_a_thick_one_itself(self, shell: float, core: float, kilohertz: float) -> None:
        assert conductance.apparent(shell, core, 0.0, kilohertz) == pytest.approx(core)
        thick = 8 * conductance.skin_mm(kilohertz, shell)
        assert conductance.apparent(shell, core, thick, kilohertz) == pytest.approx(shell, rel=1e-3)
        assert conductance.apparent(shell, shell, 0.1, kilohertz) == pytest.approx(shell)

    def test_a_gold_filled_layer_is_read_as_the_brass_below(self) -> None:
        # 17 micrometres of 14 karat on brass: the layer is 0.03 skin depths at 100 kHz.
        assert conductance.apparent(14, 28, 0.017, 100) > 26
        assert "karat gold" in conductance.excludes(conductance.apparent(14, 28, 0.017, 100))

    def test_a_lower_frequency_sees_the_tungsten_that_a_higher_one_misses(self) -> None:
        gold, tungsten = METALS["gold"].low, METALS["tungsten"].low
        assert conductance.apparent(gold, tungsten, 0.15, 480) == pytest.approx(gold, rel=0.07)
        assert conductance.apparent(gold, tungsten, 0.15, 60) < 0.9 * gold

    @pytest.mark.parametrize(
        ("kilohertz", "shell", "core", "mm"),
        # Where the swinging reading first comes within 7 % of the shell's own, read off the wave equation in steps of
        # a micrometre (`stepped`).
        [([60], "gold", "tungsten", 0.193), ([480], "gold", "tungsten", 0.068), ([60], "gold", "lead", 0.217)],
    )
    def test_reach_is_where_the_reading_comes_back(
        self, kilohertz: list[float], shell: str, core: str, mm: float
    ) -> None:
        found = conductance.reach_mm(kilohertz, METALS[shell], METALS[core])
        assert found == pytest.approx(mm, abs=0.0015)
        own = METALS[shell].low
        assert abs(stepped(own, METALS[core].low, found, kilohertz[0]) / own - 1) > 0.07
        assert abs(stepped(own, METALS[core].low, found + 0.002, kilohertz[0]) / own - 1) < 0.07

    def test_two_frequencies_reach_deeper_than_either(self) -> None:
        both = conductance.reach_mm([60, 480], METALS["gold"], METALS["tungsten"])
        alone = [conductance.reach_mm([one], METALS["gold"], METALS["tungsten"]) for one in (60, 480)]
        assert both > max(alone)

    def test_metals_alike_are_never_told_apart(self) -> None:
        assert conductance.reach_mm([60, 480], METALS["platinum"], METALS["palladium"]) == 0.0

    def test_the_reach_ends_where_the_current_does(self) -> None:
        # With no doubt allowed at all, the core shows through three skin depths and no more is claimed.
        reach = conductance.reach_mm([480], METALS["gold"], METALS["tungsten"], spread=0.0, differ=0.0)
        assert reach == pytest.approx(3 * conductance.skin_mm(480, METALS["gold"].high), abs=0.002)

    @given(st.floats(10, 500), st.floats(1.2, 4))
    @settings(max_examples=15, deadline=None)
    def test_a_lower_frequency_reaches_deeper(self, kilohertz: float, times: float) -> None:
        low, high = (
            conductance.reach_mm([one], METALS["gold"], METALS["tungsten"]) for one in (kilohertz, kilohertz * times)
        )
        assert low >= high


class TestTogether:
    """Readings at several frequencies on one piece."""

    def test_gold_at_both_frequencies_clears_the_outer_part_of_tungsten(self) -> None:
        found = conductance.together([(60, 77.5), (480, 77.5)])
        assert found.agrees
        assert not found.differ
        assert found.clears_mm == pytest.approx(0.22, abs=0.01)
        assert found.needs_mm == pytest.approx(3 * 0.3057, abs=0.002)
        assert "tungsten" in found.excluded
        assert "gold" not in found.excluded

    def test_a_core_shows_as_readings_that_differ(self) -> None:
        gold, tungsten = METALS["gold"].low, METALS["tungsten"].low
        shown = [(one, conductance.apparent(gold, tungsten, 0.2, one)) for one in (60.0, 480.0)]
        found = conductance.together(shown)
        assert found.differ
        assert found.clears_mm == 0.0

    def test_another_metal_clears_nothing(self) -> None:
        found = conductance.together([(60, 32.7)])
        assert (found.agrees, found.differ, found.clears_mm) == (False, False, 0.0)
        assert "gold" in found.excluded

    def test_karat_gold_is_cleared_of_brass(self) -> None:
        found = conductance.together([(60, 14.0), (480, 14.0)], "karat gold", core="brass")
        assert found.agrees
        assert found.clears_mm > 0.1

    def test_the_instruments_own_doubt_is_taken(self) -> None:
        assert not conductance.together([(60, 77.0)], spread=0.005).agrees
        assert conductance.together([(60, 77.0), (480, 79.5)], differ=0.05).agrees
        assert conductance.together([(60, 77.0), (480, 79.5)]).differ

    def test_the_order_of_readings_changes_nothing(self) -> None:
        readings = [(60.0, 77.0), (480.0, 78.0), (120.0, 77.5)]
        assert conductance.together(readings) == conductance.together(readings[::-1])
