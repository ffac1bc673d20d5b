"""What metal is worth, against worked figures from coinage laws, a mint, the FTC's guides and published accounts."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.assay.value import ROUNDING, value
from ledger.measures import UNITS, Fineness, Milligrams, Money, Spot, fine_weight, per_thousand, weigh
from tests.assay_samples import assess, dense, filed, xrf

MOMENT = "2026-11-24T10:00:00-05:00"
GOLD = Spot("gold", "USD", "2650.00", "ozt", "price sheet", MOMENT)
SILVER = Spot("silver", "USD", "31.00", "ozt", "price sheet", MOMENT)
SPOTS = {"gold": GOLD, "silver": SILVER}
RATES = {"gold": 900_000, "silver": 800_000}
RING = (xrf(Au=584, Ag=119, Cu=257, Zn=40), dense(8.0, 13.1))


def troy_ounces(fine: Milligrams) -> float:
    """Milligrams as troy ounces."""
    return float(fine / UNITS["ozt"])


class TestFineWeight:
    """Fine metal in articles whose content a law or a mint states."""

    @pytest.mark.parametrize(
        ("figure", "unit", "ppt", "ounces", "source"),
        [
            # The weight of each coin is its law's; ounces of fine metal as published, from the same laws.
            ("12.5", "g", "900", 0.36169590, "US half dollar of 1873: 17 Stat. 427, 12.5 g"),
            ("6.25", "g", "900", 0.18084795, "US quarter dollar of 1873: 17 Stat. 427"),
            ("2.5", "g", "900", 0.07233918, "US dime of 1873: 17 Stat. 427"),
            ("412.5", "gr", "900", 0.7734375, "US silver dollar: 412.5 grains"),
            ("420", "gr", "900", 0.7875, "US trade dollar: 420 grains, Coinage Act of 1873"),
            ("5", "g", "350", 0.05626381, "US wartime five cents: 35 %, United States Mint"),
            ("516", "gr", "900", 0.9675, "US twenty dollars gold: Revised Statutes 3511, 516 grains"),
            ("258", "gr", "900", 0.48375, "US ten dollars gold: Revised Statutes 3511"),
            ("25.8", "gr", "900", 0.048375, "US one dollar gold: Revised Statutes 3511"),
            ("41.666667", "g", "900", 1.205653, "Mexico fifty pesos: decree of 1921, 41 2/3 g of 900"),
            ("33.931", "g", "916.666667", 0.999998, "31 USC 5112(a)(7): 33.931 g, 22 karat"),
        ],
    )
    def test_a_coin_holds_what_its_law_says(self, figure: str, unit: str, ppt: str, ounces: float, source: str) -> None:
        fine = fine_weight(weigh(figure, unit).mg, per_thousand(ppt))
        # One milligram of the coin and one part per million are what rounding may take.
        assert troy_ounces(fine) == pytest.approx(ounces, abs=1e-4), source
        assert troy_ounces(fine) <= ounces + 4e-5

    def test_a_thousand_dollars_of_old_silver_coin_hold_723_ounces(self) -> None:
        # 17 Stat. 427: 12.5 g of 900 a half dollar, 22.5 g fine a dollar; 723.3918 troy ounces.
        assert troy_ounces(fine_weight(Milligrams(25_000_000), Fineness(900_000))) == pytest.approx(723.3918, abs=1e-4)

    @pytest.mark.parametrize(
        ("mark", "grams_fine", "source"),
        [
            ("1/20 14K GF", "2.9167", "16 CFR 23.3(c): 1/20 of the weight; 100 g x 1/20 x 14/24"),
            ("1/20 12K GF", "2.5000", "16 CFR 23.3(c)"),
            ("1/10 10K GF", "4.1667", "16 CFR 23.3(c)"),
        ],
    )
    def test_a_hundred_grams_of_gold_filled_hold_their_share_at_most(
        self, mark: str, grams_fine: str, source: str
    ) -> None:
        worth = value(assess(marks=mark, grams=100.0), SPOTS, RATES)
        assert worth.fine_paid_mg is not None
        assert 0 <= Fraction(grams_fine) * 1000 - worth.fine_paid_mg < 1, source
        assert worth.upper_bound
        assert worth.record()["upper_bound"] is True
        assert (worth.fine_low_mg, worth.fine_high_mg) == (0, worth.fine_paid_mg)


class TestValue:
    """Fine weight as an interval and as paid, melt value, offer; each rounded once and down."""

    def test_a_ring_as_claimed_is_paid_by_its_mark(self) -> None:
        worth = value(assess(*RING, marks="14K", grams=8.0), SPOTS, RATES)
        assert (worth.basis, worth.weight_mg, worth.paid_fineness_ppm) == ("net", 8_000, 583_333)
        assert (worth.fine_low_mg, worth.fine_high_mg, worth.fine_paid_mg) == (4_592, 4_752, 4_666)
        # 4.666 g x 2650 / 31.1034768 = 397.5407..., and nine tenths of that 357.7867...
        assert (str(worth.melt_value), str(worth.offer)) == ("USD 397.54", "USD 357.78")
        assert worth.why_not == ""
        assert worth.rounding == ROUNDING

    def test_a_record_holds_the_price_that_was_used(self) -> None:
        record = value(assess(*RING, marks="14K", grams=8.0), SPOTS, RATES).record()
        assert record["spot"]["price"] == "2650.00"
        assert record["offer"] == {"currency": "USD", "minor": 35_778}
        assert record["rate_ppm"] == 900_000
        assert "why_not" not in record

    @pytest.mark.parametrize(
        ("spots", "rates", "why"),
        [
            ({}, RATES, "No spot price of gold was handed in."),
            (SPOTS, {}, "The settings name no payout rate for gold."),
        ],
    )
    def test_what_is_missing_is_named_and_nothing_guessed(
        self, spots: dict[str, Spot], rates: dict[str, int], why: str
    ) -> None:
        worth = value(assess(*RING, marks="14K", grams=8.0), spots, rates)
        assert (worth.offer, worth.why_not) == (None, why)
        assert worth.fine_paid_mg == 4_666
        assert worth.record()["why_not"] == why

    def test_nothing_shown_is_nothing_paid(self) -> None:
        worth = value(assess(RING[0], marks="14K", grams=8.0), SPOTS, RATES)
        assert (worth.offer, worth.weight_mg) == (None, None)
        assert worth.why_not == "The evidence does not yet show a fineness that may be paid for."

    def test_an_unknown_weight_is_not_paid_on(self) -> None:
        worth = value(assess(filed(Au=584, Cu=416), marks="14K"), SPOTS, RATES)
        assert worth.why_not == "The weight to pay on is not known."

    def test_weighted_ware_is_paid_on_its_shell(self) -> None:
        shell = {"test": "stripped", "who": "shop", "shell": "1.005", "unit": "ozt"}
        worth = value(assess(xrf(Ag=925, Cu=75), shell, marks="STERLING WEIGHTED", grams=300.8), SPOTS, RATES)
        assert (worth.basis, worth.metal) == ("shell", "silver")
        # 1.005 troy ounces of sterling of 9.672, a published account of a stripped piece: 0.9296 ounces fine.
        assert worth.fine_paid_mg is not None
        assert troy_ounces(worth.fine_paid_mg) == pytest.approx(1.005 * 0.925, abs=1e-4)

    @given(st.integers(0, 10**6), st.integers(0, 1_000_000))
    def test_the_offer_never_exceeds_its_share_of_the_melt_value(self, mg: int, rate: int) -> None:
        # Filed, not weighed in water: a density of a piece of another weight would not speak of this one.
        notch = filed(Au=584, Ag=119, Cu=257, Zn=40)
        worth = value(assess(notch, marks="14K", grams=mg / 1000), SPOTS, {"gold": rate})
        assert isinstance(worth.offer, Money)
        assert worth.melt_value is not None
        assert worth.offer.minor <= worth.melt_value.minor
        exact = Fraction(int(worth.fine_paid_mg or 0)) * 265_000 / UNITS["ozt"] * rate / 1_000_000
        assert 0 <= exact - worth.offer.minor < 1
