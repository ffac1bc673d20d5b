"""assay coating and assay density: useful alone at the bench."""

import json
from typing import Any

import pytest
from click.testing import CliRunner, Result

from ledger.cli import main


def run(*words: str) -> Result:
    return CliRunner().invoke(main, ["assay", *words])


def answer(*words: str) -> dict[str, Any]:
    done = run(*words, "--json")
    assert done.exit_code == 0, done.output
    document: dict[str, Any] = json.loads(done.stdout)
    return document


def refused(*words: str) -> str:
    done = run(*words)
    assert done.exit_code == 2
    return done.stderr.strip()


class TestCoating:
    """`assay coating --karat 14 --microns 5 --on brass`."""

    def test_a_coating_is_told_with_both_lights_and_cautions(self) -> None:
        shown = run("coating", "--karat", "14", "--microns", "5", "--on", "brass").stdout
        # 436.5 and 509 per thousand: worked out with the Elam tables as xraydb carries them, see test_layers.
        for word in ("gold 436 to 510 per thousand", "like 10.5 to 12.2 karat", "tells it from solid gold"):
            assert word in shown
        for caution in ("reckoned, not measured", "ionising", "not a certified assay"):
            assert caution in shown

    def test_the_same_stands_in_json_as_whole_numbers(self) -> None:
        found = answer("coating", "--karat", "14", "--microns", "5", "--on", "brass")
        assert found["reads_32_kev"]["Au"] == pytest.approx(436_500, abs=600)
        assert sum(found["reads_32_kev"].values()) == pytest.approx(1_000_000, abs=3)
        assert found["layer"] == {"Au": 585_000, "Ag": 120_000, "Cu": 255_000, "Zn": 40_000}
        assert found["hidden"] is False
        assert found["hidden_from_nm"][1] == pytest.approx(11_700, abs=110)
        # 3.86 mg: 5 micrometres of 13.19 g/cm3, 585 fine, by hand.
        assert found["gold_ug_per_cm2"] == pytest.approx(3_858, abs=5)
        assert found["called"] == "gold plate"
        assert "ionising" in found["caution"]

    def test_a_thick_layer_passes_for_solid(self) -> None:
        words = ("coating", "--karat", "14", "--microns", "17", "--on", "brass")
        assert "may not tell it from solid" in run(*words).stdout
        assert answer(*words)["hidden"] is True
        assert answer(*words, "--good-to", "2")["hidden"] is False

    def test_colour_and_nickel_below_are_taken(self) -> None:
        words = ("coating", "--karat", "18", "--microns", "0.5", "--on", "brass", "--nickel", "3")
        # 208.1 per thousand: worked out as above.
        assert answer(*words)["reads_32_kev"]["Ni"] == pytest.approx(208_100, abs=500)
        assert "18 karat white gold with palladium on brass" in run(*words, "--colour", "white-palladium").stdout

    def test_a_fraction_and_a_shape_give_the_thickness(self) -> None:
        words = ("coating", "--karat", "14", "--fraction", "1/20", "--on", "brass")
        # 17.02 micrometres on sheet of 1 mm, 29.17 per thousand in all, 8.30 on wire of 1 mm: by hand, see test_layers.
        found = answer(*words)
        assert found["thickness_nm"] == pytest.approx(17_020, abs=20)
        assert found["overall_at_most_ppm"] == pytest.approx(29_167, abs=5)
        assert found["called"] == "gold-filled, or rolled gold plate"
        assert answer(*words, "--wire", "1.0")["thickness_nm"] == pytest.approx(8_300, abs=20)
        assert answer(*words, "--sheet", "0.5")["thickness_nm"] == pytest.approx(8_510, abs=20)
        shown = run(*words).stdout
        assert "at most 29.2 per thousand of gold" in shown
        assert "electroplate" not in shown

    def test_a_coating_of_plate_is_called_by_its_fine_gold(self) -> None:
        shown = run("coating", "--karat", "24", "--microns", "0.175", "--on", "nickel").stdout
        assert "that is gold electroplate" in shown

    @pytest.mark.parametrize(
        ("words", "says"),
        [
            (("--karat", "14", "--on", "brass"), "microns, fraction: 'neither' was given; wanted is one of them"),
            (
                ("--karat", "14", "--on", "brass", "--microns", "5", "--fraction", "1/20"),
                "microns, fraction: 'both' was given",
            ),
            (("--karat", "14", "--on", "brass", "--fraction", "20"), "fraction: '20' was given; wanted is a share"),
            (("--karat", "14", "--on", "brass", "--fraction", "3/2"), "fraction: '3/2' was given"),
            (("--karat", "14", "--on", "brass", "--fraction", "1/20", "--sheet", "x"), "sheet: 'x' was given"),
            (("--karat", "14", "--on", "brass", "--fraction", "1/20", "--sheet", "0"), "microns: '0, 0' was given"),
            (("--karat", "14", "--on", "lead", "--fraction", "1/20"), "on: 'lead' was given"),
            (("--karat", "14", "--microns", "5", "--on", "lead"), "on: 'lead' was given; wanted is one of brass"),
            (("--karat", "25", "--microns", "5", "--on", "brass"), "karat: '25' was given"),
            (("--karat", "14", "--microns", "0", "--on", "brass"), "microns: '0, 0' was given"),
            (("--karat", "14", "--microns", "5um", "--on", "brass"), "microns: '5um' was given; wanted is digits"),
            (("--karat", "14", "--microns", "5", "--on", "brass", "--colour", "green"), "colour: 'green' was given"),
        ],
    )
    def test_what_cannot_be_is_refused_in_one_sentence(self, words: tuple[str, ...], says: str) -> None:
        told = refused("coating", *words)
        assert told.startswith(says)
        assert "\n" not in told


class TestDensity:
    """`assay density --air 10.00 --water 9.24 --at 20C`."""

    def test_a_density_is_told_with_its_uncertainty_and_what_it_fits(self) -> None:
        shown = run("density", "--air", "10.00", "--water", "9.24", "--at", "20C").stdout
        # 13.1197, worked by hand, see test_assay_density; 2 x 0.243 by propagation.
        for word in ("13.12 g/cm3, good to 0.49", "scale to 0.01 g", "14 karat yellow gold", "Shake off bubbles"):
            assert word in shown
        assert "brass" not in shown

    def test_the_same_stands_in_json_as_whole_numbers(self) -> None:
        found = answer("density", "--air", "10.00", "--water", "8.85", "--at", "25C")
        # 8.6607, worked by hand.
        assert found["density_mg_per_cm3"] == 8661
        assert found["mass_mg"] == 10_001
        assert found["volume_nl"] == pytest.approx(1_154_800, abs=100)
        assert "brass (70 copper, 30 zinc)" in found["fits"]
        assert "gold-filled, 1/20 14 karat on brass" in found["fits"]
        assert found["gold_ppm"][0] == 0

    @pytest.mark.parametrize("at", ["68F", "20", "20 C", "20°C", "20.0c"])
    def test_temperatures_are_read_as_people_write_them(self, at: str) -> None:
        words = ("density", "--air", "10.00", "--water", "9.24")
        assert answer(*words, "--at", at)["density_mg_per_cm3"] == answer(*words)["density_mg_per_cm3"] == 13_120

    def test_a_reading_is_held_against_the_room_taken_up(self) -> None:
        words = ("density", "--air", "18.00", "--water", "15.93", "--reading", "Au589 Ag106 Cu259 Zn46")
        found = answer(*words)
        assert found["room"] == "lighter"
        assert found["over_nl"] > found["spread_nl"]
        assert "a lighter metal under a layer" in run(*words).stdout
        # (13.18 - 8.67)/(13.18 - filler), by hand: a bangle filled with resin weighs as brass does.
        assert found["void_ppt"]["air"] == pytest.approx(342, abs=3)
        assert found["void_ppt"]["resin"] == pytest.approx(375, abs=3)
        assert "air in 34 % or resin in 38 %" in run(*words).stdout

    def test_a_piece_lighter_than_any_filling_is_said_too(self) -> None:
        shown = run("density", "--air", "10.00", "--water", "0.10", "--reading", "Au585 Cu415").stdout
        assert "(air in 92 % of its room would do)" in shown  # (12.94 - 1.01)/12.94, by hand

    def test_rhodium_is_taken_out_of_a_reading(self) -> None:
        words = ("density", "--air", "5.00", "--water", "4.60", "--reading")
        plated = answer(*words, "Au550 Cu222 Ni98 Rh69 Zn61")["predicted_mg_per_cm3"]
        assert plated == answer(*words, "Au550 Cu222 Ni98 Zn61")["predicted_mg_per_cm3"]

    def test_an_agreement_says_what_it_shuts_out_and_from_which_weight(self) -> None:
        words = ("density", "--air", "10.00", "--water", "9.24", "--reading", "au585,ag120,cu255,zn40,Ni0")
        found = answer(*words)
        assert found["room"] == "agrees"
        assert "copper" in found["shut_out"]
        # 1.63 g, worked by hand for 13.19; see test_assay_density.
        assert found["decides_from_mg"]["copper"] == pytest.approx(1_630, abs=15)
        assert "is shut out" in found["told"]
        assert "is told on this scale from" in run(*words).stdout

    def test_fine_gold_is_never_told_from_tungsten(self) -> None:
        words = ("density", "--air", "31.10", "--water", "29.49", "--at", "22C", "--reading", "Au1000")
        assert answer(*words)["decides_from_mg"]["tungsten"] is None
        assert "at no weight" in run(*words).stdout

    def test_a_light_piece_decides_nothing(self) -> None:
        shown = run("density", "--air", "0.80", "--water", "0.74", "--reading", "Au500 Ag100 Cu350 Zn50").stdout
        assert "it decides nothing" in shown

    def test_a_denser_core_takes_up_too_little_room(self) -> None:
        shown = run("density", "--air", "18.00", "--water", "17.07", "--reading", "Au585 Ag120 Cu255 Zn40").stdout
        assert "a denser metal inside" in shown

    def test_what_no_metal_weighs_is_said(self) -> None:
        shown = run("density", "--air", "10.00", "--water", "9.60").stdout
        assert "No metal known here has this density." in shown
        assert "No yellow or rose gold" in shown

    @pytest.mark.parametrize("stone", ["diamond", "3.52"])
    def test_stones_are_taken_out(self, stone: str) -> None:
        # 5.00 g ring of 13.19 g/cm3 with half a carat of diamond, worked by hand.
        volume = 4.9 / 13.19 + 0.1 / 3.52
        in_water = f"{5.0 - volume * 0.99821:.4f}"
        words = ("--unit", "g", "--interval", "0.01", "--stones", "0.10", "--stone", stone)
        found = answer("density", "--air", f"{5.0 - volume * 0.0012:.4f}", "--water", in_water, *words)
        assert found["density_mg_per_cm3"] == pytest.approx(13_190, abs=5)

    def test_weights_in_another_unit_say_the_same_density(self) -> None:
        grams = answer("density", "--air", "31.1034768", "--water", "28.7376124", "--interval", "0.01")
        troy = answer("density", "--air", "1", "--water", "0.923936", "--unit", "ozt", "--interval", "0.0003215")
        assert troy["density_mg_per_cm3"] == pytest.approx(grams["density_mg_per_cm3"], abs=1)
        assert troy["uncertainty_mg_per_cm3"] == pytest.approx(grams["uncertainty_mg_per_cm3"], abs=1)

    def test_the_coarser_of_two_last_digits_is_the_scales_step(self) -> None:
        assert "scale to 0.1 g" in run("density", "--air", "50.0", "--water", "46.21").stdout

    @pytest.mark.parametrize(
        ("words", "says"),
        [
            (("--air", "1", "--water", "2"), "water: '2 against 1 in air' was given; wanted is a weight in water"),
            (("--air", "x", "--water", "2"), "air: 'x' was given"),
            (("--air", "1", "--water", "0.9", "--at", "20K"), "at: '20K' was given; wanted is water between 0C and"),
            (("--air", "1", "--water", "0.9", "--at", "41C"), "at: '41C' was given"),
            (("--air", "1", "--water", "0.9", "--unit", "oz"), "unit: 'oz' was given"),
            (("--air", "1", "--water", "0.9", "--interval", "0"), "interval: '0' was given"),
            (("--air", "10", "--water", "9", "--stones", "9", "--stone", "diamond"), "stones: '9' was given"),
            (("--air", "10", "--water", "9", "--stones", "10", "--stone", "9"), "stones: '10' was given"),
            (("--air", "10", "--water", "9", "--stones", "1", "--stone", "cheese"), "stone: 'cheese' was given"),
            (("--air", "10", "--water", "9", "--stones", "1", "--stone", "11"), "stone: '11' was given"),
            (("--air", "10", "--water", "9", "--stones", "1"), "stone: 'nothing' was given; wanted is a kind of stone"),
            (("--air", "10", "--water", "9", "--reading", "Xx5"), "reading: 'Xx5' was given"),
            (("--air", "10", "--water", "9", "--reading", "gold"), "reading: 'gold' was given"),
            (("--air", "10", "--water", "9", "--reading", "Au5 and more"), "reading: 'Au5 and more' was given"),
            (("--air", "10", "--water", "9", "--reading", "Au5 Au6"), "reading: 'Au5 Au6' was given"),
            (("--air", "10", "--water", "9", "--reading", "Rh100"), "reading: 'Rh100' was given"),
            (("--air", "10", "--water", "9", "--reading", "Au0"), "reading: 'Au0' was given"),
            (("--air", "10", "--water", "9", "--reading", "Au1.2.3"), "reading: '1.2.3' was given"),
        ],
    )
    def test_what_cannot_be_is_refused_in_one_sentence(self, words: tuple[str, ...], says: str) -> None:
        told = refused("density", *words)
        assert told.startswith(says)
        assert "\n" not in told
