"""How many articles of a book would agree as much by chance, and what an agreement is worth in it.

Decides: the worth of a shared trait in bits (a trait that half of all articles have is worth one), and how many other
articles would share as many of the traits asked for if they had nothing to do with each other. Leaves to the caller
how often each trait occurs in the book.
Source: Fellegi and Sunter, "A Theory for Record Linkage", J. Am. Stat. Assoc. 64 (1969), with weights by frequency;
that traits are independent is their simplification too, and a limit of it.

>>> round(bits(512, 1024, 10), 1)
1.2
>>> round(expected([10.0, 4.0], 3, 100_000), 1)
18.3
"""

import math
from collections.abc import Sequence

_AS_MANY = 200
"""a book's own counts weigh as much as what is usual once it has so many articles"""


def bits(bearing: int, of: int, usual: int) -> float:
    """What it is worth to share a trait that `bearing` of `of` articles have.

    usual: what the trait is worth in tenths wherever it occurs (four tenths are about a bit): a small book has not seen
    enough to say how common a trait is.
    """
    return -math.log2(min(1.0, (bearing + _AS_MANY * 2.0 ** (-usual / 4)) / (of + _AS_MANY)))


def expected(agreed: Sequence[float], asked: int, of: int) -> float:
    """How many of `of` articles would share so many traits by chance.

    agreed: worth in bits of each trait that is shared; asked: how many traits were asked for.
    """
    return of * math.comb(asked, len(agreed)) * 2.0 ** -sum(agreed)
