"""What the stones on an article weigh: as entered, else estimated from their sizes.

Decides: which formula a shape has, what depth a stone is given whose depth was not measured, and how far an estimate
may be off. An estimate is shown as one, with its ends. Leaves to `weighing` what the metal weighs without them.

    carats = mean diameter^2 x depth x 0.0061 (round diamond), and so on by shape, millimetres

Source: formulas of the trade for mounted stones, as published by dealers and in gemmology (C. I. Carmona, Estimating
Weights of Mounted Colored Stones, Gems & Gemology 34 (1998), says how they are made and how far they go). That an
estimate is good to a tenth where all sizes are measured, and to a fifth where not, is a choice of this project.

>>> found = weigh([{"count": 1, "shape": "round", "size": "6.5 x 3.95 mm", "species": "diamond"}])
>>> found.mg, found.low_mg, found.high_mg, found.how
(204, 183, 224, 'formula')
>>> weigh([{"count": 2, "size": "3 mm", "shape": "round"}]).says
('2 stones of 3 mm: not estimated, the species is not said.',)
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Any

from ledger.assay.density import STONES
from ledger.measures import decimal

CARAT_MG = 200
"""Source: the metric carat, 16 CFR 23, note on weights of stones."""
MEASURED, ASSUMED = Fraction(1, 10), Fraction(1, 5)
"""Share by which an estimate may be off: all sizes measured; the depth taken for a usual one."""
USUAL_DEPTH = Fraction(6, 10)
"""Depth of a stone by its width, where it was not measured: 58 to 60 per cent for round brilliants in the trade."""

_SPECIES = {
    "cz": "cubic zirconia",
    "ruby": "corundum",
    "sapphire": "corundum",
    "amethyst": "quartz",
    "citrine": "quartz",
    "rhinestone": "glass",
    "paste": "glass",
}
_DENSITIES = STONES | {
    "emerald": 2.72,
    "aquamarine": 2.72,
    "garnet": 3.84,
    "peridot": 3.34,
    "spinel": 3.60,
    "tanzanite": 3.35,
    "topaz": 3.53,
    "tourmaline": 3.06,
    "turquoise": 2.76,
    "opal": 2.15,
    "coral": 2.65,
}
"""g/cm3. Source: the table of specific gravities that stands with the published formulas; topaz from memory."""

_BY_DENSITY = {
    "round": "0.0018",
    "oval": "0.0020",
    "emerald": "0.0025",
    "square": "0.0025",
    "princess": "0.0025",
    "rectangle": "0.0026",
    "baguette": "0.0026",
    "marquise": "0.0017",
    "pear": "0.0018",
    "heart": "0.0018",
}
"""Factor of a coloured stone, to be multiplied by its density."""
_DIAMOND: dict[str, tuple[tuple[str, str], ...]] = {
    "round": (("1", "0.0061"),),
    "oval": (("1", "0.0062"),),
    "heart": (("1", "0.0059"),),
    "triangle": (("1", "0.0057"),),
    "baguette": (("1", "0.00915"),),
    "emerald": (("1", "0.0080"), ("1.5", "0.0092"), ("2", "0.0100"), ("2.5", "0.0106")),
    "marquise": (("1.5", "0.00565"), ("2", "0.00580"), ("2.5", "0.00585"), ("3", "0.00595")),
    "pear": (("1.25", "0.00615"), ("1.5", "0.00600"), ("2", "0.00575")),
}
"""Factors of diamonds, by length to width where the shape has more than one."""
_SHAPES = (*_DIAMOND, *(shape for shape in _BY_DENSITY if shape not in _DIAMOND))
_OTHERWISE = {"brilliant": "round", "navette": "marquise", "drop": "pear", "trillion": "triangle", "step": "emerald"}


@dataclass(frozen=True)
class StonesWeight:
    """What all stones on an article weigh together."""

    mg: int | None
    """milligrams, to the nearest; None: of one group at least it cannot be said"""
    low_mg: int
    high_mg: int
    how: str
    """entry, formula, entry and formula; empty: not known"""
    says: tuple[str, ...]
    """one sentence for each group"""


def weigh(stones: Sequence[Mapping[str, Any]]) -> StonesWeight:
    """What the groups of stones of an item weigh; never raises on what a slip can hold.

    stones: as a slip has them: count, shape, cut, size ("6.5 x 3.95 mm"), species, and carats of the whole group where
    they are known.
    """
    groups = [_group(stone) for stone in stones]
    says = tuple(group.says for group in groups)
    if any(group.mg is None for group in groups) or not groups:
        return StonesWeight(None, 0, 0, "", says)
    total = sum((group.mg or Fraction(0) for group in groups), Fraction(0))
    off = sum(((group.mg or 0) * group.off for group in groups), Fraction(0))
    how = " and ".join(sorted({group.how for group in groups}))
    return StonesWeight(round(total), int(total - off), -int(-(total + off) // 1), how, says)


@dataclass(frozen=True)
class _Group:
    says: str
    mg: Fraction | None = None
    off: Fraction = Fraction(0)
    how: str = ""


def _group(stone: Mapping[str, Any]) -> _Group:
    count, size = stone.get("count"), str(stone.get("size") or "")
    number = count if isinstance(count, int) else None
    name = f"{'Some' if number is None else number} stone{'' if number == 1 else 's'}{f' of {size}' if size else ''}"
    if stone.get("carats"):
        mg = decimal(str(stone["carats"]), "carats") * CARAT_MG
        return _Group(f"{name}: {stone['carats']} ct as entered.", mg, Fraction(0), "entry")
    density, shape = _density_of(str(stone.get("species") or "")), _shape_of(stone)
    sizes = _sizes(size, shape)
    missing = [
        why
        for why, lacks in (
            ("the count is not known", number is None),
            ("the species is not said", density is None),
            ("no formula is known for the shape", not shape),
            ("the size gives no length and width in mm", sizes is None),
        )
        if lacks
    ]
    if missing or number is None or density is None or sizes is None:
        return _Group(f"{name}: not estimated, {missing[0]}.")
    length, width, depth, measured = sizes
    factor = _factor(shape, length / width, density)
    if factor is None:
        return _Group(f"{name}: not estimated, no formula is known for the shape.")
    face = ((length + width) / 2) ** 2 if shape in ("round", "oval") else length * width
    carats = face * depth * factor * number
    off = MEASURED if measured else ASSUMED
    guessed, share = ("", "a tenth") if measured else (", depth taken for a usual one", "a fifth")
    says = f"{name}, {shape}: about {float(carats):.2f} ct by formula{guessed}, {share} off at most."
    return _Group(says, carats * CARAT_MG, off, "formula")


def _density_of(species: str) -> Fraction | None:
    name = " ".join(species.lower().split())
    density = _DENSITIES.get(_SPECIES.get(name, name))
    return None if density is None else Fraction(str(density))


def _shape_of(stone: Mapping[str, Any]) -> str:
    words = re.findall(r"[a-z]+", f"{stone.get('shape') or ''} {stone.get('cut') or ''}".lower())
    known = [_OTHERWISE.get(word, word) for word in words]
    return next((word for word in known if word in _SHAPES), "")


_SIZE = re.compile(r"(\d{1,3}(?:\.\d{1,3})?)\s*(?:mm)?")


def _sizes(text: str, shape: str) -> tuple[Fraction, Fraction, Fraction, bool] | None:
    """Length, width, depth in millimetres and whether the depth was measured; None: the text does not say them."""
    parts = re.split(r"[x×*]", text.lower().strip())
    read = [_SIZE.fullmatch(part.strip()) for part in parts]
    if "mm" not in text.lower() or len(parts) > 3 or not all(read):
        return None
    numbers = [Fraction(match[1]) for match in read if match]
    if not all(numbers) or (len(numbers) == 1 and shape != "round"):
        return None
    if len(numbers) == 3:
        long, wide = max(numbers[:2]), min(numbers[:2])
        return long, wide, numbers[2], True
    first, second = numbers[0], numbers[-1]
    if len(numbers) == 2 and shape == "round" and second * 100 < first * 85:
        # A round stone's second figure is its depth, unless it is nearly as large as the first.
        return first, first, second, True
    long, wide = max(first, second), min(first, second)
    return long, wide, wide * USUAL_DEPTH, False


def _factor(shape: str, ratio: Fraction, density: Fraction) -> Fraction | None:
    if density == Fraction(str(STONES["diamond"])) and shape in _DIAMOND:
        return _between([(Fraction(at), Fraction(factor)) for at, factor in _DIAMOND[shape]], ratio)
    factor = _BY_DENSITY.get(shape)
    return None if factor is None else Fraction(factor) * density


def _between(rows: list[tuple[Fraction, Fraction]], at: Fraction) -> Fraction:
    """The factor at a ratio, in a straight line between the rows, and that of the end row beyond them."""
    for (low, below), (high, above) in pairwise(rows):
        if low <= at <= high:
            return below + (above - below) * (at - low) / (high - low)
    return rows[0][1] if at < rows[0][0] else rows[-1][1]
