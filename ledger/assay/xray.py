"""X-ray readings: how deep they see, what a layer lets through, what an analyser says of layers.

Decides: the depth from which the signal of a line comes, the share of a signal that passes a layer, and the reading
that an analyser gives of layers which it takes for one metal all through. Leaves to `layers` which layers there are,
and to `judging` what a reading means. Floats live here: parts by mass, g/cm3, micrometres, keV.

Left out, and so within the model's own doubt: fluorescence that other fluorescence excites (a few per cent more copper
and zinc), roughness, the geometry of one analyser.

>>> gold = {"Au": 0.75, "Ag": 0.125, "Cu": 0.125}
>>> round(depth_um(gold, "Au La", kev=20), 2)
10.23
>>> thin = [Layer({"Au": 1.0}, 19.3, 0.5), Layer({"Cu": 0.7, "Zn": 0.3}, 8.53)]
>>> {element: round(1000 * part) for element, part in reads(thin).items()}
{'Au': 199, 'Cu': 553, 'Zn': 248}
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ledger.assay import density as densities
from ledger.assay.attenuation_table import COLUMNS, LINES, ROWS, TUBE, TUBE_KEV
from ledger.errors import InputError

WEAKENING: dict[str, dict[str, float]] = {
    element: dict(zip(COLUMNS, map(float, "".join(row).split()), strict=True)) for element, row in ROWS.items()
}
"""Element: its mass attenuation coefficient at each of COLUMNS, cm2/g."""
KNOWN = frozenset(WEAKENING)
"""Elements that this room can reckon with."""
LINE_OF = {line.split()[0]: line for line in LINES if line not in ("Au Ma", "Ag La")}
"""The line by which an analyser measures an element."""
SINGLE_KEV = (20, 25, 32)
"""Light of one energy for which depths can be asked. Silver and palladium are excited by 32 keV only."""
_STILL, _MOST_STEPS = 1e-9, 500
"""A reading stands once no part moves more: 1,500 drawn make-ups took 25 steps at most."""


@dataclass(frozen=True)
class Layer:
    """A layer of one metal; the last one of several goes all the way down."""

    parts: Mapping[str, float]
    """by mass, any total"""
    density: float
    """g/cm3"""
    um: float | None = None
    """thickness in micrometres; None: so thick that nothing below it is seen"""


@dataclass(frozen=True)
class Light:
    """What an analyser shines on the metal."""

    words: str
    rays: tuple[tuple[str, float, float], ...]
    """column of the table, keV, share of the photons"""


MIDDLE = Light("light of 32 keV", (("32 keV", 32.0, 1.0),))
"""One energy in place of all: the middle of the useful part of a 40 kV tube's light."""
TUBE_LIGHT = Light(
    "a 40 kV tube behind 0.5 mm of aluminium",
    tuple((f"{kev} keV", float(kev), share) for kev, share in zip(TUBE_KEV, TUBE, strict=True)),
)


def without_rhodium(parts: Mapping[str, float]) -> dict[str, float]:
    """A reading with the rhodium plate taken out and the rest brought back to the same total.

    The rest then reads a little too fine: gold by 3, 6, 11 per thousand under 0.25, 0.5, 1 micrometre of rhodium.
    Empty where there is nothing but rhodium.
    """
    rest = {element: part for element, part in parts.items() if element != "Rh"}
    share = sum(parts.values()) / (sum(rest.values()) or math.inf)
    return {element: part * share for element, part in rest.items()} if share else {}


def depth_um(
    parts: Mapping[str, float],
    line: str,
    *,
    kev: int = 20,
    share: float = 0.99,
    angles: tuple[float, float] = (45.0, 45.0),
    density: float | None = None,
) -> float:
    """Micrometres from whose upper side that share of a line's signal comes, in metal that is thick.

    line: such as "Au La", one of LINES. kev: one of SINGLE_KEV. angles: of the light going in and the line coming out,
    degrees from the surface. density: g/cm3; else that of ideal mixing. Raises: InputError for an unknown element or
    line, or light too weak to excite the line.
    """
    if line not in LINES:
        raise InputError(field="line", given=line, wanted="one of " + ", ".join(LINES))
    if kev not in SINGLE_KEV or kev * 1e3 <= LINES[line][1]:
        able = [str(one) for one in SINGLE_KEV if one * 1e3 > LINES[line][1]]
        raise InputError(field="kev", given=kev, wanted=f"light that excites {line}: {' or '.join(able)} keV")
    thick = densities.ideal(parts) if density is None else density
    return -math.log(1 - share) / (thick * _total(_checked(parts), f"{kev} keV", line, angles)) * 1e4


def passes(layer: Layer, line: str, *, kev: int = 32) -> float:
    """Share, 0 to 1, of a line's signal from below that is left once light and line have gone through this layer."""
    if layer.um is None:
        return 0.0
    return math.exp(-_total(_checked(layer.parts), f"{kev} keV", line) * layer.density * layer.um * 1e-4)


def reads(layers: Sequence[Layer], light: Light = MIDDLE) -> dict[str, float]:
    """What an analyser that takes the metal for the same all through says of these layers, top first.

    Result: parts by mass, together 1, of every element in the layers. What depends on the instrument alone falls out,
    because the analyser is taken to read a metal that is the same all through rightly. Raises: InputError for an
    element that this room cannot reckon with.
    """
    elements = sorted({element for layer in layers for element in _checked(layer.parts)})
    signals = {element: _signal(layers, element, light) for element in elements}
    weights = _rays(elements, light)
    matrix = {
        element: {other: [_one(other, column, LINE_OF[element]) for column, _, _ in light.rays] for other in elements}
        for element in elements
    }
    return _settled(signals, weights, matrix)


def _settled(
    signals: dict[str, float], weights: dict[str, list[float]], matrix: dict[str, dict[str, list[float]]]
) -> dict[str, float]:
    """The make-up that, the same all through, would give these signals: stepwise, as analysers do it."""
    total = sum(signals.values())
    parts = {element: signal / total for element, signal in signals.items()}
    moved, steps = 1.0, 0
    while moved >= _STILL and steps < _MOST_STEPS:
        step = {}
        for element, signal in signals.items():
            row = matrix[element]
            weakened = [sum(parts[other] * row[other][ray] for other in parts) for ray in range(len(weights[element]))]
            step[element] = signal / sum(w / x for w, x in zip(weights[element], weakened, strict=True))
        total = sum(step.values())
        step = {element: part / total for element, part in step.items()}
        moved = max(abs(step[element] - parts[element]) for element in step)
        parts, steps = step, steps + 1
    return parts


def _rays(elements: Sequence[str], light: Light) -> dict[str, list[float]]:
    """How strongly each ray excites each element; nought where it is too weak for the line."""
    return {
        element: [
            share * WEAKENING[element][column] if kev * 1e3 > LINES[LINE_OF[element]][1] else 0.0
            for column, kev, share in light.rays
        ]
        for element in elements
    }


def _signal(layers: Sequence[Layer], element: str, light: Light) -> float:
    line = LINE_OF[element]
    signal = 0.0
    for (column, _, _), strength in zip(light.rays, _rays([element], light)[element], strict=True):
        left = strength
        for layer in layers:
            chi = _total(layer.parts, column, line)
            through = 0.0 if layer.um is None else math.exp(-chi * layer.density * layer.um * 1e-4)
            signal += left * layer.parts.get(element, 0.0) / sum(layer.parts.values()) / chi * (1 - through)
            left *= through
    return signal


def _total(parts: Mapping[str, float], column: str, line: str, angles: tuple[float, float] = (45.0, 45.0)) -> float:
    """Weakening on the way in and out together, cm2/g of depth."""
    weight = sum(parts.values())
    return sum(part * _one(element, column, line, angles) for element, part in parts.items()) / weight


def _one(element: str, column: str, line: str, angles: tuple[float, float] = (45.0, 45.0)) -> float:
    row = WEAKENING[element]
    return row[column] / math.sin(math.radians(angles[0])) + row[line] / math.sin(math.radians(angles[1]))


def _checked(parts: Mapping[str, float]) -> Mapping[str, float]:
    if unknown := sorted(set(parts) - KNOWN):
        raise InputError(field="elements", given=", ".join(unknown), wanted="elements among " + ", ".join(WEAKENING))
    return parts
