"""Which coatings a surface reading could come from, by the two-layer model of X-ray readings.

Decides: the densest metal that could lie under the metal read, from which thickness a layer of it reads the same as
metal all through, and which thin layer reads as this reading does. A coating that fits is no proof that there is one.
Leaves the model itself to `xray` and what follows to `metals` and `cores`.

>>> gold = Sight({"Au": 585_000, "Ag": 120_000, "Cu": 295_000}, "gold", False, 10_000, "", "", 0, True)
>>> densest_core(gold).name
'copper'
"""

from bisect import bisect_left
from functools import lru_cache

from ledger.assay import density, xray
from ledger.assay.alloys import BASES, Base, gold
from ledger.assay.findings import Sight

GILDING_UM = 10.0
"""The thickest gold over silver that is weighed up without a mark of it: electroplate and vermeil stay below it. Gold
bonded to silver in sheet is thicker and is sold marked as what it is. A choice of this project."""
_KARATS = (9, 10, 12, 14, 18, 22, 24)


def densest_core(sight: Sight) -> Base:
    """The densest base that a layer of the metal read could lie on: copper, or sterling where silver shines through."""
    return BASES["sterling"] if _silver_could_be_below(sight) else BASES["copper"]


def _silver_could_be_below(sight: Sight) -> bool:
    if sight.exposed or sight.metal == "silver":
        return False
    silver = sight.elements.get("Ag", 0) + sight.u_ppm
    if sight.metal != "gold":
        return silver >= 100_000
    golds, silvers = _through_gilding()
    place = min(max(bisect_left(golds, sight.ppm("gold")), 1), len(golds) - 1)
    share = (sight.ppm("gold") - golds[place - 1]) / (golds[place] - golds[place - 1])
    return silver >= silvers[place - 1] + share * (silvers[place] - silvers[place - 1])


@lru_cache(maxsize=1)
def _through_gilding() -> tuple[list[float], list[float]]:
    """Gold and silver, parts per million, that the thickest gilding over sterling reads, karat by karat.

    The gilding is taken without silver of its own: one with silver, or a thinner one, shows more silver.
    """
    sterling = BASES["sterling"]
    below = xray.Layer(sterling.parts, sterling.density)
    read = []
    for karat in _KARATS:
        parts = gold(karat)
        parts["Cu"] = parts.get("Cu", 0.0) + parts.pop("Ag", 0.0)
        top = xray.Layer({name: part for name, part in parts.items() if part}, density.predicted(parts), GILDING_UM)
        read.append(xray.reads([top, below]))
    return [1e6 * each["Au"] for each in read], [1e6 * each["Ag"] for each in read]
