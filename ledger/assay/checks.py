"""The owner's check log: an instrument read again and again on a piece of known fineness or weight.

Decides: the uncertainty that a single reading of that instrument has, by one stated formula. Leaves to `Policy` where
it is used and to the shop's settings the log itself.

    U = |mean - known| + k x sqrt(s^2 x (1 + 1/n) + (U_known/2)^2)

mean and s: of the n readings, s the sample's standard deviation with n - 1 degrees of freedom; 1 + 1/n because the next
reading scatters about a mean that is itself uncertain. U_known: uncertainty of the piece, k = 2. k: Student's t for
95 per cent and n - 1 degrees of freedom, and never below 2. The bias is added in full and not taken out, because a
shop does not correct its readings. Source: JCGM 100:2008 (GUM) 4.2, annexes F.2.4.5 and G; t from table G.2.

>>> uncertainty(585_000, [583_000, 584_000, 583_000, 585_000, 584_000], known_u=1_000)
4099
"""

from collections.abc import Sequence
from fractions import Fraction
from math import isqrt

from ledger.errors import InputError

FEWEST = 5
"""Readings below which a log says too little; a choice of this project."""
_T = {4: 2776, 5: 2571, 6: 2447, 7: 2365, 8: 2306, 9: 2262, 10: 2228, 11: 2201, 12: 2179, 13: 2160, 14: 2145, 15: 2131}
_T |= {16: 2120, 17: 2110, 18: 2101, 19: 2093, 20: 2086, 25: 2060, 30: 2042, 40: 2021, 50: 2009, 60: 2000}
"""Student's t for 95 per cent, in thousandths, by degrees of freedom."""


def coverage(readings: int) -> Fraction:
    """The factor k for a log of so many readings: of the next smaller number of degrees of freedom in the table."""
    return Fraction(_T[max(degrees for degrees in _T if degrees <= readings - 1)], 1_000)


def uncertainty(known: int, readings: Sequence[int], *, known_u: int, field: str = "checks") -> int:
    """Uncertainty of the next single reading, in the unit of the readings, rounded up.

    known: what the piece is. readings: what the instrument said, each a whole number in the same unit. known_u: the
    piece's own uncertainty, k = 2. Raises: InputError for fewer readings than FEWEST.
    """
    count = len(readings)
    if count < FEWEST:
        raise InputError(field=f"{field}.readings", given=f"{count} readings", wanted=f"at least {FEWEST} of one piece")
    mean = Fraction(sum(readings), count)
    variance = sum(((reading - mean) ** 2 for reading in readings), Fraction(0)) / (count - 1)
    spread = variance * (1 + Fraction(1, count)) + Fraction(known_u, 2) ** 2
    squared = spread * coverage(count) * coverage(count)
    # Each of the two terms is rounded up to a whole unit: the sum may be one unit too wide, never too narrow.
    return _up(abs(mean - known)) + _root_up(squared)


def _up(value: Fraction) -> int:
    return -(-value.numerator // value.denominator)


def _root_up(squared: Fraction) -> int:
    whole = isqrt(_up(squared))
    return whole if whole * whole >= squared else whole + 1
