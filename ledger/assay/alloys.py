"""What karat golds and the metals under them are made of: recipes as data.

Decides: the usual make-up of a gold of some karat and colour, and make-up and density of the metals that layers lie
on. Leaves to `xray`, `layers` and `density` what follows. A recipe is one of many: makers differ, and a reading of
the article itself goes before it.

>>> {element: round(part, 3) for element, part in gold(14).items()}
{'Au': 0.585, 'Ag': 0.12, 'Cu': 0.255, 'Zn': 0.04}
>>> round(gold(16)["Au"], 3)
0.667
"""

from dataclasses import dataclass
from fractions import Fraction

COLOURS = ("yellow", "rose", "white-nickel", "white-palladium")

_PURE = {"Au": 1.0}
# Karat: parts by mass. Common recipes of the trade; 9, 18 and 22 karat lie near those of a published British table
# (9 ct 375/100/450/75, 18 ct 750/160/90, 22 ct 917/55/28 of gold, silver, copper and zinc).
_YELLOW: dict[int, dict[str, float]] = {
    9: {"Au": 0.375, "Ag": 0.105, "Cu": 0.450, "Zn": 0.070},
    10: {"Au": 0.417, "Ag": 0.110, "Cu": 0.405, "Zn": 0.068},
    12: {"Au": 0.500, "Ag": 0.100, "Cu": 0.350, "Zn": 0.050},
    14: {"Au": 0.585, "Ag": 0.120, "Cu": 0.255, "Zn": 0.040},
    18: {"Au": 0.750, "Ag": 0.125, "Cu": 0.125},
    22: {"Au": 0.9167, "Ag": 0.0550, "Cu": 0.0283},
}
# What the part that is not gold is made of. Common recipes: 18 karat rose 28 silver to 222 copper, 14 karat white 110
# nickel, 240 copper, 65 zinc, 18 karat white 130 palladium, 70 copper, 50 silver.
_RESTS: dict[str, dict[str, float]] = {
    "rose": {"Ag": 28 / 250, "Cu": 222 / 250},
    "white-nickel": {"Ni": 110 / 415, "Cu": 240 / 415, "Zn": 65 / 415},
    "white-palladium": {"Pd": 130 / 250, "Cu": 70 / 250, "Ag": 50 / 250},
}


@dataclass(frozen=True)
class Base:
    """A metal that layers lie on."""

    name: str
    words: str
    parts: dict[str, float]
    """by mass, together 1"""
    density: float
    """g/cm3"""


BASES: dict[str, Base] = {
    base.name: base
    for base in (
        # 8.53: Copper Development Association, C26000.
        Base("brass", "brass (70 copper, 30 zinc)", {"Cu": 0.70, "Zn": 0.30}, 8.53),
        Base("nickel", "nickel", {"Ni": 1.0}, 8.9),
        # 8.73: C75200, from memory.
        Base(
            "nickel-silver", "nickel silver (65 copper, 18 nickel, 17 zinc)", {"Cu": 0.65, "Ni": 0.18, "Zn": 0.17}, 8.73
        ),
        Base("copper", "copper", {"Cu": 1.0}, 8.96),
        # 8.87: phosphor bronze with 5 tin, C51000 8.86, from memory.
        Base("bronze", "bronze (95 copper, 5 tin)", {"Cu": 0.95, "Sn": 0.05}, 8.87),
        # 10.36: ASM Handbook, from memory.
        Base("sterling", "sterling silver", {"Ag": 0.925, "Cu": 0.075}, 10.36),
        # 7.9: stainless steel 304, from memory.
        Base("steel", "stainless steel", {"Fe": 0.72, "Cr": 0.18, "Ni": 0.10}, 7.9),
        Base("tungsten", "tungsten", {"W": 1.0}, 19.3),
    )
}
"""What a layer can lie on, by name."""


def gold(karat: float | Fraction, colour: str = "yellow") -> dict[str, float]:
    """Parts by mass, together 1, of a gold of this karat (0 to 24) and colour (one of COLOURS).

    Yellow gold between two recipes is mixed from both; below 9 karat the rest is that of 9 karat. 14 karat is made
    585 fine and 10 karat 417, as the trade makes them.
    """
    if colour != "yellow":
        return _with_rest(float(karat) / 24, _RESTS[colour])
    if karat in _YELLOW:
        return dict(_YELLOW[int(karat)])
    known = sorted(_YELLOW)
    fine = float(karat) / 24
    if karat < known[0]:
        return _with_rest(fine, _rest(_YELLOW[known[0]]))
    below = _YELLOW[max(one for one in known if one < karat)]
    above = next((_YELLOW[one] for one in known if one > karat), _PURE)
    share = (fine - below["Au"]) / (above["Au"] - below["Au"])
    mixed = {element: part * (1 - share) + above.get(element, 0.0) * share for element, part in below.items()}
    return {element: part for element, part in mixed.items() if part}


def _rest(parts: dict[str, float]) -> dict[str, float]:
    rest = {element: part for element, part in parts.items() if element != "Au"}
    return {element: part / sum(rest.values()) for element, part in rest.items()}


def _with_rest(fine: float, rest: dict[str, float]) -> dict[str, float]:
    parts = {"Au": fine, **{element: part * (1 - fine) for element, part in rest.items()}}
    return {element: part for element, part in parts.items() if part}
