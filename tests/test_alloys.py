"""Recipes of golds and of the metals under them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.assay import alloys, density


class TestGold:
    """The usual make-up of a gold of some karat and colour."""

    @pytest.mark.parametrize(
        ("karat", "fine"),
        # Least fineness that ISO 9202 lists for these karats; the trade makes 14 karat 585.
        [(9, 0.375), (14, 0.585), (18, 0.750), (22, 0.916)],
    )
    def test_gold_is_as_fine_as_the_standard_asks(self, karat: int, fine: float) -> None:
        assert fine <= alloys.gold(karat)["Au"] < fine + 0.001

    @given(st.floats(0.5, 24), st.sampled_from(alloys.COLOURS))
    def test_parts_make_a_whole_and_the_gold_is_that_of_the_karat(self, karat: float, colour: str) -> None:
        parts = alloys.gold(karat, colour)
        assert sum(parts.values()) == pytest.approx(1)
        assert all(part > 0 for part in parts.values())
        assert parts["Au"] == pytest.approx(karat / 24, abs=0.002)

    def test_between_two_recipes_both_are_mixed(self) -> None:
        parts = alloys.gold(16)
        assert alloys.gold(14)["Cu"] > parts["Cu"] > alloys.gold(18)["Cu"]
        assert list(alloys.gold(24)) == ["Au"]
        assert alloys.gold(23)["Ag"] < alloys.gold(22)["Ag"]

    def test_colours_differ_by_what_is_not_gold(self) -> None:
        assert alloys.gold(18, "rose")["Cu"] == pytest.approx(0.222)
        assert alloys.gold(18, "white-palladium")["Pd"] == pytest.approx(0.130)
        assert alloys.gold(14, "white-nickel")["Ni"] == pytest.approx(0.110, abs=0.002)
        assert alloys.gold(8)["Cu"] / alloys.gold(8)["Ag"] == pytest.approx(450 / 105)


class TestBases:
    """Make-up and density of the metals that layers lie on."""

    @pytest.mark.parametrize("base", alloys.BASES.values(), ids=lambda base: base.name)
    def test_densities_fit_their_make_up(self, base: alloys.Base) -> None:
        assert sum(base.parts.values()) == pytest.approx(1)
        # 2.5 %: the model's own doubt where a density is predicted from a make-up.
        assert base.density == pytest.approx(density.predicted(base.parts), rel=0.025)
