"""Weights, fineness and money against statutes, standards and the public package pint."""

from decimal import Decimal
from fractions import Fraction
from typing import Any

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger import measures
from ledger.errors import InputError
from ledger.measures import Fineness, Milligrams, Money, Spot

_PINT: Any = pint.UnitRegistry(non_int_type=Decimal)

# Milligrams in a unit as statutes and standards print them.
PRINTED = [
    ("gr", "64.79891", "NIST Handbook 44 appendix C: grain"),
    ("dwt", "1555.17384", "NIST Handbook 44 appendix C: pennyweight, 24 grains"),
    ("ozt", "31103.4768", "UK Weights and Measures Act 1985 schedule 1: ounce troy, 12/175 pound"),
    ("oz-avdp", "28349.523125", "NIST Handbook 44 appendix C: ounce avoirdupois, 437.5 grains"),
    ("lb-avdp", "453592.37", "UK Weights and Measures Act 1985 section 1: pound"),
    ("kg", "1000000", "the kilogram"),
    ("ct", "200", "16 CFR 23, note on the carat: 0.2 gram"),
    ("tola", "11663.8038", "180 grains: India, Standards of Weights and Measures Act 1956"),
    ("tael-hk", "37799.36375", "Hong Kong Cap. 68 schedule 1: catty 0.60478982 kg, tael 1/16 catty"),
    ("tael-hk-troy", "37429", "from memory"),
    ("baht-jewellery", "15160", "Thai consumer protection notice on gold ornaments, as restated"),
    ("baht-bar", "15244", "common practice, no published source"),
]


class TestUnits:
    """What each unit weighs, exactly."""

    @pytest.mark.parametrize(("unit", "mg", "source"), PRINTED, ids=[row[0] for row in PRINTED])
    def test_a_unit_weighs_what_its_statute_or_standard_prints(self, unit: str, mg: str, source: str) -> None:
        assert measures.UNITS[unit] == Fraction(mg), source

    @pytest.mark.parametrize(
        ("ours", "theirs"),
        [
            ("g", "gram"),
            ("kg", "kilogram"),
            ("ct", "carat"),
            ("gr", "grain"),
            ("dwt", "pennyweight"),
            ("ozt", "troy_ounce"),
            ("oz-avdp", "ounce"),
            ("lb-avdp", "pound"),
        ],
    )
    def test_units_agree_with_pint(self, ours: str, theirs: str) -> None:
        exact = _PINT.Quantity(Decimal(1), theirs).to("milligram").magnitude
        assert measures.UNITS[ours] == pytest.approx(Fraction(exact), rel=1e-20)

    def test_ratios_of_the_troy_and_avoirdupois_systems_are_those_of_their_grains(self) -> None:
        # 480 and 437.5 grains, NIST Handbook 44 appendix C.
        assert measures.UNITS["ozt"] / measures.UNITS["oz-avdp"] == Fraction(192, 175)
        assert measures.UNITS["ozt"] / measures.UNITS["ct"] == Fraction("155.517384")
        assert round(float(1_000_000 / measures.UNITS["ozt"]), 12) == 32.150746568628

    @pytest.mark.parametrize(
        ("said", "name"), [("Gram", "g"), ("troy  ounce", "ozt"), ("pennyweights", "dwt"), ("AVDP OZ", "oz-avdp")]
    )
    def test_a_unit_may_be_said_in_words(self, said: str, name: str) -> None:
        assert measures.unit(said) == name

    @pytest.mark.parametrize("said", ["oz", "ounce", "tael", "baht", "mithqal", "lb", "stone", ""])
    def test_a_unit_that_could_mean_two_things_is_never_guessed(self, said: str) -> None:
        with pytest.raises(InputError):
            measures.unit(said)


class TestWeights:
    """A scale's figure and unit become whole milligrams."""

    def test_a_weight_keeps_what_the_scale_showed(self) -> None:
        weight = measures.weigh("2.5", "pennyweight")
        assert (weight.text, weight.unit, weight.mg) == ("2.5", "dwt", Milligrams(3888))

    @pytest.mark.parametrize("text", ["", "-1", "1,5", "1e3", "NaN", "٣", "1.", ".5", "12345678901", "0.1234567890"])
    def test_a_figure_that_is_no_plain_decimal_is_refused(self, text: str) -> None:
        with pytest.raises(InputError):
            measures.weigh(text, "g")

    @given(st.integers(0, 10**12 // 1000))
    def test_grams_shown_read_back_as_the_same_weight(self, mg: int) -> None:
        assert measures.weigh(measures.grams(mg), "g").mg == mg

    @pytest.mark.parametrize("wrong", [-1, 10**12 + 1, 1.5, True, "3"])
    def test_a_weight_is_a_whole_number_of_milligrams(self, wrong: object) -> None:
        with pytest.raises(InputError):
            Milligrams(wrong)  # type: ignore[arg-type]

    def test_a_total_is_a_weight(self) -> None:
        assert repr(measures.total([Milligrams(3), Milligrams(4)])) == "Milligrams(7)"

    @pytest.mark.parametrize(("mg", "shown"), [(3888, "3.888"), (4200, "4.20"), (0, "0.00"), (5, "0.005")])
    def test_milligrams_are_shown_as_grams(self, mg: int, shown: str) -> None:
        assert measures.grams(mg) == shown


class TestFineness:
    """Karats and thousandths become parts per million, never above what was said."""

    # k/24 to four decimals, arithmetic.
    @pytest.mark.parametrize(
        ("karat", "ppt"),
        [
            ("8", 333.3333),
            ("9", 375),
            ("10", 416.6667),
            ("12", 500),
            ("14", 583.3333),
            ("18", 750),
            ("20", 833.3333),
            ("21", 875),
            ("22", 916.6667),
            ("23", 958.3333),
            ("24", 1000),
        ],
    )
    def test_a_karat_is_a_twenty_fourth(self, karat: str, ppt: float) -> None:
        assert measures.karat(karat) == pytest.approx(ppt * 1000, abs=1)
        assert measures.karat(karat) <= Fraction(karat) / 24 * 1_000_000

    @pytest.mark.parametrize("wrong", ["0", "24.1", "25", "x"])
    def test_no_metal_is_finer_than_twenty_four_karat(self, wrong: str) -> None:
        with pytest.raises(InputError):
            measures.karat(wrong)

    def test_thousandths_are_read_and_shown(self) -> None:
        assert measures.per_thousand("999.9") == Fineness(999_900)
        assert measures.thousandths(583_333) == "583.3"
        with pytest.raises(InputError):
            measures.per_thousand("1000.1")

    @pytest.mark.parametrize("wrong", [-1, 1_000_001, True, 0.5])
    def test_a_fineness_is_between_nothing_and_all(self, wrong: object) -> None:
        with pytest.raises(InputError):
            Fineness(wrong)  # type: ignore[arg-type]

    @given(st.integers(0, 10**9), st.integers(0, 1_000_000))
    def test_a_fine_weight_rounds_down(self, mg: int, ppm: int) -> None:
        fine = measures.fine_weight(Milligrams(mg), Fineness(ppm))
        assert 0 <= Fraction(mg) * ppm / 1_000_000 - fine < 1
        assert repr(Fineness(ppm)) == f"Fineness({ppm})"


class TestMoney:
    """Amounts in minor units of their currency."""

    # Decimals of the minor unit: ISO 4217.
    @pytest.mark.parametrize(
        ("currency", "text", "minor", "shown"),
        [
            ("USD", "42.50", 4_250, "USD 42.50"),
            ("JPY", "1200", 1_200, "JPY 1,200"),
            ("KWD", "1.234", 1_234, "KWD 1.234"),
            ("GBP", "0", 0, "GBP 0.00"),
        ],
    )
    def test_an_amount_has_the_decimals_of_its_currency(self, currency: str, text: str, minor: int, shown: str) -> None:
        amount = measures.money(currency, text)
        assert (amount.minor, str(amount)) == (minor, shown)
        assert amount.record() == {"currency": currency, "minor": minor}

    def test_more_decimals_than_the_currency_has_are_refused_not_rounded(self) -> None:
        with pytest.raises(InputError):
            measures.money("USD", "1.005")
        with pytest.raises(InputError):
            measures.money("JPY", "1.5")

    def test_a_negative_amount_shows_its_sign_once(self) -> None:
        assert str(Money("USD", -5)) == "USD -0.05"

    def test_amounts_of_two_currencies_are_not_added(self) -> None:
        assert Money("USD", 1) + Money("USD", 2) == Money("USD", 3)
        with pytest.raises(InputError):
            Money("USD", 1) + Money("EUR", 2)

    @pytest.mark.parametrize(
        ("currency", "minor"), [("usd", 1), ("US", 1), ("USD", 2**53), ("USD", True), ("USD", 1.0)]
    )
    def test_an_amount_that_a_record_could_not_hold_is_refused(self, currency: str, minor: object) -> None:
        with pytest.raises(InputError):
            Money(currency, minor)  # type: ignore[arg-type]


class TestSpot:
    """What a fine weight is worth at a price."""

    # 100 dollars a troy ounce is 3.215 dollars a gram, and 5 dollars a pennyweight as well; 10 dollars a pennyweight
    # is 6.43 a gram: Oregon Department of Agriculture, Weights and Measures, guide to buyers of precious metal.
    @pytest.mark.parametrize(
        ("price", "unit", "kilogram"), [("100", "ozt", 3215.07), ("5", "dwt", 3215.07), ("10", "dwt", 6430.14)]
    )
    def test_a_price_a_unit_is_a_price_a_gram(self, price: str, unit: str, kilogram: float) -> None:
        spot = Spot("gold", "USD", price, unit, "posted price", "2026-11-24T10:00:00-05:00")
        assert spot.of(Milligrams(1_000_000)).minor == int(kilogram * 100)

    def test_an_offer_rounds_once_and_down(self) -> None:
        spot = Spot("gold", "USD", "31.1034768", "ozt", "arithmetic", "2026-11-24T10:00:00-05:00")
        assert spot.of(Milligrams(1_999)).minor == 199
        assert spot.offered(Milligrams(1_999), 500_000).minor == 99
        assert spot.offered(Milligrams(1_999), 1_000_000) == spot.of(Milligrams(1_999))
