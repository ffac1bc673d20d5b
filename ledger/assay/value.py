"""What the metal in an article is worth and what the shop offers for it.

Decides: fine weight as an interval and as the one figure paid on, melt value at a spot price, the offer at the shop's
payout rate. Leaves to `weighing` what may be paid for at all and on which weight, to `stones` what unweighed stones
weigh, and to the shop's settings the rates. Weights round down to a milligram, money down to the minor unit; each is
rounded once.

>>> from ledger.assay.evidence import read
>>> from ledger.assay.weighing import weigh
>>> spot = Spot("gold", "USD", "2650.00", "ozt", "price sheet", "2026-11-24T10:00:00-05:00")
>>> worth = value(weigh(read([]), marks=[("1/20 12K GF", "")], net_mg=100_000), {"gold": spot}, {"gold": 900_000})
>>> worth.fine_paid_mg, worth.upper_bound, str(worth.melt_value), str(worth.offer)
(Milligrams(2500), True, 'USD 212.99', 'USD 191.69')
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from ledger.assay.assessments import Assessment
from ledger.measures import Fineness, Milligrams, Money, Spot, fine_weight

ROUNDING = "Fine weight down to a milligram; melt value and offer each once, down to the minor unit, from that weight."


@dataclass(frozen=True)
class Valuation:
    """What an article's metal is worth by its assessment, a spot price and a payout rate."""

    metal: str
    basis: str
    """the weight paid on: net, shell or melt; empty: nothing may be paid for yet"""
    weight_mg: Milligrams | None
    fineness_low_ppm: int | None
    fineness_high_ppm: int | None
    paid_fineness_ppm: int | None
    fine_low_mg: Milligrams | None
    fine_high_mg: Milligrams | None
    fine_paid_mg: Milligrams | None
    upper_bound: bool
    """the fine weight is the most that a declared layer can hold as made, not what it holds"""
    spot: Spot | None
    melt_value: Money | None
    rate_ppm: int | None
    offer: Money | None
    why_not: str
    """why there is no offer; empty where there is one"""
    rounding: str = ROUNDING
    weight_off_mg: int = 0
    """how far the weight may be off, where stones were estimated by their sizes; nought: it was weighed"""

    @property
    def estimated(self) -> bool:
        """Whether the net weight is an estimate and is shown as one."""
        return self.weight_off_mg > 0

    def record(self) -> dict[str, Any]:
        """As parts of the book hold it: text, whole numbers and truth values; what is not there is left out."""
        record: dict[str, Any] = {"upper_bound": self.upper_bound, "rounding": self.rounding}
        for name in ("metal", "basis", "why_not"):
            if text := getattr(self, name):
                record[name] = text
        for name in _NUMBERS:
            if (number := getattr(self, name)) is not None:
                record[name] = int(number)
        if self.estimated:
            record |= {"weight_off_mg": self.weight_off_mg, "estimated": True}
        for name in ("melt_value", "offer"):
            if (amount := getattr(self, name)) is not None:
                record[name] = amount.record()
        if self.spot:
            read = self.spot
            record["spot"] = {"metal": read.metal, "currency": read.currency, "price": read.price, "unit": read.unit}
            record["spot"] |= {"source": read.source, "moment": read.moment}
        return record


_NUMBERS = (
    "weight_mg",
    "fineness_low_ppm",
    "fineness_high_ppm",
    "paid_fineness_ppm",
    "fine_low_mg",
    "fine_high_mg",
    "fine_paid_mg",
    "rate_ppm",
)


def value(assessment: Assessment, spots: Mapping[str, Spot], rates_ppm: Mapping[str, int]) -> Valuation:
    """What an assessed article's metal is worth, and the shop's offer for it.

    spots: by metal, the prices of the moment. rates_ppm: by metal, the share of the melt value that the shop pays,
    parts per million. Whatever is missing is named in `why_not`; nothing is guessed.
    """
    paid = assessment.payable
    metal = assessment.metal or ""
    if paid is None or assessment.paid_fineness_ppm is None:
        return _nothing(metal, "The evidence does not yet show a fineness that may be paid for.")
    if assessment.paid_weight_mg is None:
        return _nothing(metal, "The weight to pay on is not known.")
    weight, off = Milligrams(assessment.paid_weight_mg), assessment.weight_off_mg
    fine = fine_weight(weight, Fineness(assessment.paid_fineness_ppm))
    low = fine_weight(Milligrams(max(0, weight - off)), Fineness(paid.low_ppm))
    high = fine_weight(Milligrams(weight + off), Fineness(paid.high_ppm))
    spot, rate = spots.get(metal), rates_ppm.get(metal)
    why_not = f"No spot price of {metal} was handed in." if spot is None else ""
    if spot is not None and rate is None:
        why_not = f"The settings name no payout rate for {metal}."
    return Valuation(
        metal=metal,
        basis=assessment.paid_on,
        weight_mg=weight,
        fineness_low_ppm=paid.low_ppm,
        fineness_high_ppm=paid.high_ppm,
        paid_fineness_ppm=assessment.paid_fineness_ppm,
        fine_low_mg=low,
        fine_high_mg=high,
        fine_paid_mg=fine,
        upper_bound=assessment.upper_bound,
        spot=spot,
        melt_value=spot.of(fine) if spot else None,
        rate_ppm=rate,
        offer=spot.offered(fine, rate) if spot and rate is not None else None,
        why_not=why_not,
        weight_off_mg=off,
    )


def _nothing(metal: str, why_not: str) -> Valuation:
    return Valuation(metal, "", None, None, None, None, None, None, None, False, None, None, None, None, why_not)
