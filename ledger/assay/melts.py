"""A melt lot after its assay: what had been thought of the goods in it, held against what the molten metal showed.

Decides: how much fine metal the assay finds, whether that fits what the assessments had promised, and how much weight
the melting cost. The assay overrules; what had been thought stays beside it. Leaves to the acts which items went into a
lot, and to the refiner's settlement what was paid.

>>> ring = Thought("item 1/1", 10_000, 574_000, 594_000, 583_333)
>>> chain = Thought("item 2/1", 5_000, 741_000, 759_000, 750_000)
>>> compare([ring, chain], Assayed("gold", 636_000, 2_000, before_mg=15_000, after_mg=14_950)).says
'The assay finds 9.478 to 9.539 g of fine gold; 9.445 to 9.735 g were thought, 9.583 g reckoned with: as thought.'
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Any

from ledger.errors import InputError
from ledger.measures import grams


@dataclass(frozen=True)
class Thought:
    """What an assessment said of one article before it was melted."""

    name: str
    """item 12/1, as papers name it"""
    weight_mg: int
    """of the metal paid on"""
    low_ppm: int
    high_ppm: int
    """what had been payable; both ends in"""
    paid_ppm: int
    """the one figure that was paid on"""


@dataclass(frozen=True)
class Assayed:
    """What the sample of the molten metal showed."""

    metal: str
    fineness_ppm: int
    u_ppm: int
    """how far the assay may be off, k = 2"""
    before_mg: int
    """weight that went into the melt"""
    after_mg: int
    """weight of the bar that came out"""


@dataclass(frozen=True)
class Comparison:
    """What had been thought, and what there is."""

    metal: str
    thought_low_mg: int
    thought_high_mg: int
    paid_mg: int
    """fine metal that was reckoned with: by the one figure that is paid on"""
    found_low_mg: int
    found_mg: int
    found_high_mg: int
    """fine metal by the assay, on the weight after melting; the assay overrules"""
    thought_ppm: int
    """mean fineness of what had been paid for, by weight"""
    fineness_ppm: int
    lost_mg: int
    """weight that the melting cost; negative: the bar weighs more than what went in"""
    verdict: str
    """as-thought, less, more"""

    @property
    def difference_mg(self) -> int:
        """Fine metal found less fine metal paid for."""
        return self.found_mg - self.paid_mg

    @property
    def says(self) -> str:
        """The comparison in one sentence."""
        found, thought = _span(self.found_low_mg, self.found_high_mg), _span(self.thought_low_mg, self.thought_high_mg)
        ends = {"as-thought": "as thought", "less": "less than thought", "more": "more than thought"}[self.verdict]
        paid = grams(self.paid_mg)
        return (
            f"The assay finds {found} g of fine {self.metal}; {thought} g were thought, {paid} g reckoned with: {ends}."
        )

    def record(self) -> dict[str, Any]:
        """Every figure by name, text and whole numbers."""
        return {**{each.name: getattr(self, each.name) for each in fields(self)}, "difference_mg": self.difference_mg}


def compare(thoughts: Sequence[Thought], assayed: Assayed) -> Comparison:
    """A lot's assay against what had been thought of its articles. Fine weights are whole milligrams.

    What was thought is rounded outwards, what was found too; the two figures that money rests on are rounded down.
    Raises: InputError for a lot of nothing, or one whose articles weigh more than went into the melt.
    """
    weight = sum(thought.weight_mg for thought in thoughts)
    if not weight:
        raise InputError(field="lot", given=len(thoughts), wanted="at least one article with a weight")
    if weight > assayed.before_mg:
        wanted = f"no less than the articles in it, {weight} mg"
        raise InputError(field="lot.before", given=f"{assayed.before_mg} mg", wanted=wanted)
    low = sum(thought.weight_mg * thought.low_ppm for thought in thoughts) // 1_000_000
    high = -(-sum(thought.weight_mg * thought.high_ppm for thought in thoughts) // 1_000_000)
    paid = sum(thought.weight_mg * thought.paid_ppm for thought in thoughts)
    found_low = assayed.after_mg * max(0, assayed.fineness_ppm - assayed.u_ppm) // 1_000_000
    found_high = -(-assayed.after_mg * min(1_000_000, assayed.fineness_ppm + assayed.u_ppm) // 1_000_000)
    return Comparison(
        metal=assayed.metal,
        thought_low_mg=low,
        thought_high_mg=high,
        paid_mg=paid // 1_000_000,
        found_low_mg=found_low,
        found_mg=assayed.after_mg * assayed.fineness_ppm // 1_000_000,
        found_high_mg=found_high,
        thought_ppm=paid // weight,
        fineness_ppm=assayed.fineness_ppm,
        lost_mg=assayed.before_mg - assayed.after_mg,
        verdict="less" if found_high < low else "more" if found_low > high else "as-thought",
    )


def _span(low: int, high: int) -> str:
    return f"{grams(low)} to {grams(high)}"
