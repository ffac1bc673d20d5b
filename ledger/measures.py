"""Weights, fineness and money: whole numbers with their unit, converted exactly.

Decides: what each unit weighs, how a karat becomes parts per million, how a price becomes a value.
Leaves to others: what an article is (assay) and what the shop pays of its value (shop settings).
Nothing here is a float; every rounding is named where it happens.

>>> weigh("2.5", "dwt").mg
Milligrams(3888)
>>> karat("14")
Fineness(583333)
>>> fine_weight(Milligrams(10_000), karat("14"))
Milligrams(5833)
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Self

from ledger.errors import InputError


class Milligrams(int):
    """A weight in whole milligrams, never negative."""

    def __new__(cls, value: int) -> Self:
        if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= 10**12:
            raise InputError(field="weight", given=value, wanted="a whole number of milligrams, 0 to 1,000,000,000,000")
        return super().__new__(cls, value)

    def __repr__(self) -> str:
        return f"Milligrams({int(self)})"


class Fineness(int):
    """Parts of precious metal per million by weight, 0 to 1,000,000."""

    def __new__(cls, value: int) -> Self:
        if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= 1_000_000:
            raise InputError(
                field="fineness", given=value, wanted="a whole number of parts per million, 0 to 1,000,000"
            )
        return super().__new__(cls, value)

    def __repr__(self) -> str:
        return f"Fineness({int(self)})"


# Milligrams in one unit, exactly.
# Source: UK Weights and Measures Act 1985 Sch. 1 (pound 0.45359237 kg, ounce troy 12/175 pound); NIST Handbook 44
# Appendix C (grain = pound/7000, pennyweight = 24 grains, metric carat 200 mg); Hong Kong Cap. 68 Sch. 1 (catty
# 0.60478982 kg, tael a sixteenth of it); tael troy 37.429 g, tael of Taiwan and of China from memory; tola 180 grains
# from common practice (11.6638038 g, as India's Standards of Weights and Measures Act 1956); baht of gold jewellery
# 15.16 g and bar 15.244 g: Thai Gold Traders Association, common practice; mithqal 4.25 g (AAOIFI zakat standard,
# common practice) and 4.608 g (Iran, common practice).
_GRAIN = Fraction(45_359_237, 700_000)
UNITS: dict[str, Fraction] = {
    "mg": Fraction(1),
    "g": Fraction(1_000),
    "kg": Fraction(1_000_000),
    "ct": Fraction(200),
    "gr": _GRAIN,
    "dwt": 24 * _GRAIN,
    "ozt": 480 * _GRAIN,
    "oz-avdp": Fraction(45_359_237, 1_600),
    "lb-avdp": Fraction(45_359_237, 100),
    "tola": 180 * _GRAIN,
    "tael-hk": Fraction(3_779_936_375, 100_000),
    "tael-hk-troy": Fraction(37_429),
    "tael-tw": Fraction(37_500),
    "tael-cn": Fraction(50_000),
    "baht-jewellery": Fraction(15_160),
    "baht-bar": Fraction(15_244),
    "mithqal-4.25": Fraction(4_250),
    "mithqal-4.608": Fraction(4_608),
}

_SAID_OTHERWISE = {
    "gram": "g", "grams": "g", "gm": "g", "gms": "g", "kilogram": "kg", "kilograms": "kg", "milligram": "mg",
    "pennyweight": "dwt", "pennyweights": "dwt", "grain": "gr", "grains": "gr", "carat": "ct", "carats": "ct",
    "troy ounce": "ozt", "troy oz": "ozt", "oz t": "ozt", "oz-troy": "ozt", "toz": "ozt", "tolas": "tola",
    "avoirdupois ounce": "oz-avdp", "oz avdp": "oz-avdp", "avdp oz": "oz-avdp",
}  # fmt: skip
_AMBIGUOUS = {
    "oz": "'ozt' (troy, 31.1 g) or 'oz-avdp' (avoirdupois, 28.3 g); a bare ounce is never guessed",
    "ounce": "'ozt' (troy, 31.1 g) or 'oz-avdp' (avoirdupois, 28.3 g); a bare ounce is never guessed",
    "tael": "the tael by its variant: 'tael-hk', 'tael-hk-troy', 'tael-tw' or 'tael-cn'",
    "baht": "the baht by its variant: 'baht-jewellery' or 'baht-bar'",
    "mithqal": "the mithqal by its variant: 'mithqal-4.25' or 'mithqal-4.608'",
    "lb": "'lb-avdp'; precious metal is not sold by a bare pound",
}

_DECIMAL = re.compile(r"[0-9]{1,9}(\.[0-9]{1,9})?")


def unit(name: str, field: str = "unit") -> str:
    """The one name of a weight unit. Raises: InputError for unknown or ambiguous names."""
    asked = " ".join(name.strip().lower().split())
    asked = _SAID_OTHERWISE.get(asked, asked)
    if asked in UNITS:
        return asked
    raise InputError(field=field, given=name, wanted=_AMBIGUOUS.get(asked, "one of " + ", ".join(UNITS)))


def decimal(text: str, field: str) -> Fraction:
    """An exact number from digits with at most nine decimals. Raises: InputError."""
    if not isinstance(text, str) or not _DECIMAL.fullmatch(text):
        raise InputError(field=field, given=text, wanted="digits with a decimal point, such as '12.34'")
    return Fraction(text)


def nearest(value: Fraction) -> int:
    """The nearest whole number; a half goes to the even neighbour."""
    return round(value)


def down(value: Fraction) -> int:
    """The largest whole number not above value."""
    return value.numerator // value.denominator


@dataclass(frozen=True)
class Weight:
    """A weight as a scale showed it, and ours beside it."""

    text: str
    """digits as shown"""
    unit: str
    """one of UNITS"""
    mg: Milligrams
    """milligrams, rounded to the nearest, halves to even"""


def weigh(text: str, unit_name: str, field: str = "weight") -> Weight:
    """The weight that a scale's figure and unit say. Rounding: nearest milligram, halves to even.

    Raises: InputError for a figure that is no number, or a unit that is unknown or ambiguous.
    """
    name = unit(unit_name, f"{field}.unit")
    return Weight(text, name, Milligrams(nearest(decimal(text, f"{field}.value") * UNITS[name])))


def total(weights: Iterable[Milligrams]) -> Milligrams:
    """The sum of weights, in milligrams."""
    return Milligrams(sum(weights))


def karat(text: str, field: str = "karat") -> Fineness:
    """Fineness of a karat figure: twenty-fourths, rounded down to parts per million (14 K = 583,333)."""
    value = decimal(text, field)
    if not 0 < value <= 24:
        raise InputError(field=field, given=text, wanted="a karat above 0 and not above 24")
    return Fineness(down(value * 1_000_000 / 24))


def per_thousand(text: str, field: str = "fineness") -> Fineness:
    """Fineness of a millesimal figure ("585", "999.9"), rounded down to parts per million."""
    value = decimal(text, field)
    if value > 1_000:
        raise InputError(field=field, given=text, wanted="parts per thousand, 0 to 1000")
    return Fineness(down(value * 1_000))


def fine_weight(net: Milligrams, fineness: Fineness) -> Milligrams:
    """Weight of pure metal in an article, rounded down.

    net: milligrams, stones and foreign parts taken out.
    fineness: parts of pure metal per million.
    Result: the largest whole number of milligrams not above net * fineness / 1,000,000.
    """
    return Milligrams(int(net) * int(fineness) // 1_000_000)


_CURRENCIES = {
    "JPY": 0,
    "KRW": 0,
    "VND": 0,
    "CLP": 0,
    "ISK": 0,
    "BHD": 3,
    "KWD": 3,
    "OMR": 3,
    "JOD": 3,
    "TND": 3,
}


def minor_digits(currency: str) -> int:
    """Decimals of a currency's minor unit. Source: ISO 4217 (the exceptions from two)."""
    return _CURRENCIES.get(currency, 2)


@dataclass(frozen=True, order=True)
class Money:
    """An amount in the minor unit of its currency (cents), possibly negative."""

    currency: str
    minor: int

    def __post_init__(self) -> None:
        if not re.fullmatch(r"[A-Z]{3}", self.currency):
            raise InputError(field="currency", given=self.currency, wanted="three capital letters (ISO 4217)")
        if isinstance(self.minor, bool) or not isinstance(self.minor, int) or abs(self.minor) >= 2**53:
            raise InputError(field="amount", given=self.minor, wanted="a whole number of minor units below 2^53")

    def __str__(self) -> str:
        digits = minor_digits(self.currency)
        whole, part = divmod(abs(self.minor), 10**digits)
        sign = "-" if self.minor < 0 else ""
        return f"{self.currency} {sign}{whole:,}" + (f".{part:0{digits}}" if digits else "")

    @property
    def digits(self) -> str:
        """The amount alone, as `money` reads it.

        >>> Money("USD", 425_000).digits
        '4250.00'
        """
        return str(self).partition(" ")[2].replace(",", "")

    def __add__(self, other: "Money") -> "Money":
        if other.currency != self.currency:
            raise InputError(field="currency", given=other.currency, wanted=f"{self.currency}, as the other amounts")
        return Money(self.currency, self.minor + other.minor)

    def record(self) -> dict[str, str | int]:
        """As entries and parts hold it. Shape: {"currency", "minor"}."""
        return {"currency": self.currency, "minor": self.minor}


def money(currency: str, text: str, field: str = "amount") -> Money:
    """An amount from its decimal text; more decimals than the currency has are refused, never rounded."""
    minor: int = 10 ** minor_digits(currency)
    value = decimal(text, field) * minor
    if value.denominator != 1:
        wanted = f"at most {minor_digits(currency)} decimals for {currency}"
        raise InputError(field=field, given=text, wanted=wanted)
    return Money(currency, value.numerator)


@dataclass(frozen=True)
class Spot:
    """What one unit of a pure metal cost, where that was read and when."""

    metal: str
    currency: str
    price: str
    """decimal text, as read"""
    unit: str
    """one of UNITS"""
    source: str
    moment: str
    """RFC 3339 with offset"""

    def of(self, fine: Milligrams) -> Money:
        """Value of a fine weight at this price, rounded down to the minor unit."""
        return Money(self.currency, down(self._exact(fine)))

    def offered(self, fine: Milligrams, rate_ppm: int) -> Money:
        """What the shop offers for a fine weight at a payout rate in parts per million; one rounding, down."""
        return Money(self.currency, down(self._exact(fine) * rate_ppm / 1_000_000))

    def _exact(self, fine: Milligrams) -> Fraction:
        minor: int = 10 ** minor_digits(self.currency)
        return int(fine) * decimal(self.price, "spot.price") * minor / UNITS[unit(self.unit)]


def grams(mg: int) -> str:
    """Milligrams shown as grams, exactly, with no needless zeros beyond two decimals: 3888 is '3.888', 4200 '4.20'."""
    text = f"{Decimal(mg) / 1000:.3f}"
    return text[:-1] if text.endswith("0") else text


def thousandths(ppm: int) -> str:
    """Parts per million shown per thousand with one decimal, rounded down: 583,333 is '583.3'."""
    return f"{ppm // 1000}.{ppm % 1000 // 100}"
