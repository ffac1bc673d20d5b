"""Which coatings a surface reading could come from, by the two-layer model of X-ray readings.

Decides: the densest metal that could lie under the metal read, from which thickness a layer of it reads the same as
metal all through, and which thin layer reads as this reading does. A coating that fits is no proof that there is one.
Leaves the model itself to `xray` and what follows to `metals` and `cores`.

>>> gold = Sight({"Au": 585_000, "Ag": 120_000, "Cu": 295_000}, "gold", False, 10_000, "", "", 0, True)
>>> densest_core(gold).name
'copper'
"""

from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from functools import lru_cache

from ledger.assay import density, layers, xray
from ledger.assay.alloys import BASES, Base, gold
from ledger.assay.findings import Sight
from ledger.assay.touchstone import KARAT_PPM

GILDING_UM = 10.0
"""The thickest gold over silver that is weighed up without a mark of it: electroplate and vermeil stay below it. Gold
bonded to silver in sheet is thicker and is sold marked as what it is. A choice of this project."""
_KARATS = (9, 10, 12, 14, 18, 22, 24)
_COATS_UM = (0.5, 1.0, 2.0, 3.0, 5.0, 7.0)
_COAT_KARATS = (10, 12, 14, 18, 24)
_COAT_BASES = (("brass", 0.0), ("nickel-silver", 0.0), ("brass", 3.0), ("sterling", 0.0))
"""What coatings lie on, and micrometres of nickel between."""
ALIKE_PPM = 40_000
"""How far an element may lie from a coating's for a reading to be called like it: recipes differ by as much."""

BASE_SHOWS_PPM = 5_000
"""What an analyser surely shows of zinc or nickel in gold: a choice of this project. Copper and silver are in the
gold of the coating as well and tell nothing of what lies below."""


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


@dataclass(frozen=True)
class Coat:
    """A thin layer of gold and what it reads."""

    karat: int
    um: float
    base: Base
    barrier_um: float
    reads: dict[str, float]
    """parts per million"""

    def words(self) -> str:
        """The layer and what it lies on."""
        nickel = "nickel over " if self.barrier_um else ""
        return f"about {self.um:g} micrometres of {self.karat} karat over {nickel}{self.base.words}"


def looks_like(sight: Sight) -> Coat | None:
    """The thin coating that reads most nearly as this surface does; None: none is like it.

    Coatings so thick that they read as their own gold are not among them: `hidden_from` is for those.
    """
    golds, coats = _coats()
    low, high = sight.ppm("gold") - sight.u_ppm - ALIKE_PPM // 2, sight.ppm("gold") + sight.u_ppm + ALIKE_PPM // 2
    found, nearest = None, float(ALIKE_PPM)
    for coat in coats[bisect_left(golds, low) : bisect_right(golds, high)]:
        if not _base_shows(sight.elements, coat.reads):
            continue
        apart = _apart(sight.elements, coat.reads, nearest)
        if apart < nearest:
            found, nearest = coat, apart
    return found


def _base_shows(read: dict[str, int], coat: dict[str, float]) -> bool:
    """Whether some of the base's zinc or nickel was read, where this coating lets any through."""
    through = [one for one in ("Zn", "Ni") if coat.get(one, 0.0) >= BASE_SHOWS_PPM]
    return not through or any(read.get(one, 0) >= BASE_SHOWS_PPM for one in through)


def _apart(read: dict[str, int], coat: dict[str, float], enough: float) -> float:
    """The largest difference of one element other than gold, parts per million; cut short once it is enough."""
    most = 0.0
    for one in (*coat, *(symbol for symbol in read if symbol not in coat)):
        if one != "Au":
            most = max(most, abs(read.get(one, 0) - coat.get(one, 0.0)))
            if most >= enough:
                break
    return most


@lru_cache(maxsize=1)
def _coats() -> tuple[list[float], list[Coat]]:
    """Coatings that show what lies below, by the gold they read."""
    coats = []
    for base, barrier in _COAT_BASES:
        below = [xray.Layer(BASES[base].parts, BASES[base].density)]
        if barrier:
            below.insert(0, xray.Layer(BASES["nickel"].parts, BASES["nickel"].density, barrier))
        for karat in _COAT_KARATS:
            parts = gold(karat)
            for um in _COATS_UM:
                read = xray.reads([xray.Layer(parts, density.predicted(parts), um), *below])
                coats.append(Coat(karat, um, BASES[base], barrier, {one: 1e6 * part for one, part in read.items()}))
    coats.sort(key=lambda coat: (coat.reads["Au"], coat.karat))
    return [coat.reads["Au"] for coat in coats], coats


def hidden_from(sight: Sight) -> tuple[int, int]:
    """Micrometres, rounded up, from which a layer of such gold over brass reads the same, and that gold's karat.

    By the usual yellow recipe of the nearest karat: which recipe it is moves the figure by less than the instrument's
    settings do.
    """
    karat = min(_KARATS, key=lambda one: abs(one * KARAT_PPM - sight.ppm("gold")))
    within = max(5_000, -(-sight.u_ppm // 5_000) * 5_000)
    return _hidden_from_um(karat, min(within, 50_000)), karat


@lru_cache(maxsize=128)
def _hidden_from_um(karat: int, within_ppm: int) -> int:
    return -int(-layers.hidden_from_um(gold(karat), BASES["brass"], within_ppm) // 1)
