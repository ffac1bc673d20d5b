"""How often the room takes layered ware for solid, and sends good gold for a notch: `python -m tests.long simulation`.

Articles of `articles` in classes of weight, each with three X-ray readings and one density, half of them under a
solid karat mark and half under none, as they stand before any notch. A table for a scale of 0.01 g and one for 0.1 g.
Bounds: the score interval for a share, 95 % (E. B. Wilson, J. Amer. Statist. Assoc. 22 (1927) 209).
"""

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from random import Random

from ledger.assay.assessments import MARKING, Assessment
from ledger.assay.evidence import Test, read
from ledger.assay.weighing import weigh
from tests.bench.articles import KINDS, Article

CLASSES = ((0.5, 1.5), (1.5, 3.0), (3.0, 5.0), (5.0, 8.0), (8.0, 15.0), (15.0, 40.0))
"""Grams of metal, from and below."""
STEPS = (0.01, 0.1)
Z = 1.959964
"""Normal quantile of 95 % on two sides."""


@dataclass
class Cell:
    """What became of the articles of one kind, class of weight and scale."""

    articles: int = 0
    solid: int = 0
    """taken for solid gold"""
    silver: int = 0
    """taken for solid silver"""
    notch: int = 0
    """not taken for solid, and the first test owed leaves a mark"""
    missed: int = 0
    """solid, and the interval on which is paid does not hold the true fineness"""
    overpaid: int = 0
    """solid, and the figure on which is paid is more than 10 per thousand above the true fineness"""

    def add(self, article: Article, found: Assessment) -> None:
        """Count one article."""
        self.articles += 1
        if found.construction == "solid" and found.metal != "gold":
            self.silver += 1
        elif found.construction == "solid":
            self.solid += 1
            if found.payable is not None and found.paid_fineness_ppm is not None:
                self.missed += not found.payable.low_ppm <= article.gold_ppm <= found.payable.high_ppm
                self.overpaid += found.paid_fineness_ppm > article.gold_ppm + 10_000
        else:
            self.notch += bool(found.owed) and found.owed[0].test in MARKING


@dataclass
class Outcome:
    """All cells of one run."""

    cells: dict[tuple[float, tuple[float, float], str], Cell] = field(default_factory=dict)
    rules: Counter[tuple[float, tuple[float, float], str, str]] = field(default_factory=Counter)
    """why articles were not taken for solid, by the rule that gave the confidence"""

    def cell(self, step: float, grams: tuple[float, float], *kinds: str) -> Cell:
        """The sum of the cells of some kinds."""
        total = Cell()
        for kind in kinds:
            one = self.cells.get((step, grams, kind), Cell())
            for name in ("articles", "solid", "silver", "notch", "missed", "overpaid"):
                setattr(total, name, getattr(total, name) + getattr(one, name))
        return total


def run(random: Random, count: int, kinds: Sequence[str] = tuple(KINDS)) -> Outcome:
    """count articles of every kind and class of weight, each on both scales.

    What articles are made of is drawn once for all classes of weight, the rest anew for each: the articles of one cell
    are independent of one another, those of two cells are not. Each kind has chances of its own, so that some kinds by
    themselves give the rows that all of them give.
    """
    outcome = Outcome()
    seed = random.random()
    for kind in kinds:
        random, draw = Random(f"{kind} {seed}"), KINDS[kind]
        for _ in range(count):
            make = draw(random)
            for grams in CLASSES:
                weight = math.exp(random.uniform(math.log(grams[0]), math.log(grams[1])))
                article = make.weighing(random, weight)
                readings = read([article.reading])
                for step in STEPS:
                    found = assess(article, readings, step)
                    outcome.cells.setdefault((step, grams, article.kind), Cell()).add(article, found)
                    outcome.rules[step, grams, article.kind, found.confidence_rule] += 1
    return outcome


def assess(article: Article, readings: tuple[Test, ...], step: float) -> Assessment:
    """What the room says of an article on a scale of that step, grams."""
    tests = (*readings, *read([article.weighing(step)]))
    marks = [(article.mark, "inside")] if article.mark else []
    return weigh(tests, marks=marks, net_mg=round(article.grams * 1000), stone_set=article.stones)


def bounds(hits: int, of: int) -> tuple[float, float]:
    """Ends of the 95 % score interval for a share, 0 to 1."""
    if of == 0:
        return 0.0, 1.0
    share, square = hits / of, Z * Z / of
    middle = share + square / 2
    half = Z * math.sqrt(share * (1 - share) / of + square / (4 * of))
    low, high = (middle - half) / (1 + square), (middle + half) / (1 + square)
    return (0.0 if hits == 0 else low), (1.0 if hits == of else high)


def table(outcome: Outcome) -> Iterator[str]:
    """Lines: one row per scale, class of weight and kind."""
    yield (
        f"{'scale':>6} {'grams':>10}  {'kind':<24} {'articles':>8}  {'taken for solid, %':<26} "
        f"{'sent for a notch, %':<26} {'interval off':>12} {'paid >10 ppt over':>18}"
    )
    for step in STEPS:
        for grams in CLASSES:
            for name, kinds in ROWS.items():
                cell = outcome.cell(step, grams, *kinds)
                yield (
                    f"{step:>6} {grams[0]:>4g} to {grams[1]:<3g} {name:<24} {cell.articles:>8,}  "
                    f"{_share(cell.solid, cell.articles):<26} {_share(cell.notch, cell.articles):<26} "
                    f"{_missed(cell.missed, cell.solid):>12} {_missed(cell.overpaid, cell.solid):>18}"
                )
    gilt = [outcome.cell(step, grams, "gilt") for step in STEPS for grams in CLASSES]
    silver, of = sum(cell.silver for cell in gilt), sum(cell.articles for cell in gilt)
    yield f"Gilt sterling taken for the silver that it is under a breath of gold: {_share(silver, of).strip()} %."


ROWS = {
    "solid, not hollow": ("solid", "stone-set"),
    "  of these plain": ("solid",),
    "  of these stone-set": ("stone-set",),
    "solid, hollow": ("hollow",),
    "gold-filled": ("gold-filled",),
    "electroplate": ("electroplate",),
    "gilt sterling": ("gilt",),
}


def _share(hits: int, of: int) -> str:
    low, high = bounds(hits, of)
    return f"{100 * hits / max(of, 1):6.2f} ({100 * low:.2f} to {100 * high:.2f})"


def _missed(hits: int, of: int) -> str:
    return f"{100 * hits / of:.2f} %" if of else "-"
