"""Two ways of doing the same work, timed in turn: ours, and the least it could cost (the floor).

Single timings on a shared machine say little. Here both sides run one after the other, at least 15 times,
taking turns at going first, so that whatever slows the machine slows both. Each pair gives one ratio, floor
time / our time: 1 is as fast as the floor, 0.5 takes twice as long. Told are the median ratio and an interval
that holds the true median with 90% probability or more, whatever the ratios' distribution: the ranks come
from the binomial distribution of how many of n ratios lie below their median.
Source: the sign test's interval for a median, standard statistics (W. J. Conover, Practical Nonparametric
Statistics, 3.2; from memory).

    table(compare("book.append", timed(bare_insert), timed(our_append), goal=0.5))
"""

import gc
import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass
from math import comb

Seconds = float
FEWEST_PAIRS = 15


@dataclass(frozen=True)
class Comparison:
    """What so many interleaved pairs say."""

    name: str
    pairs: int
    floor: Seconds
    """median seconds of the floor"""
    ours: Seconds
    """median seconds of ours"""
    ratio: float
    """median of floor / ours"""
    low: float
    high: float
    """ends of the interval of at least 90% for the median ratio"""
    goal: float | None

    def row(self) -> str:
        """One aligned line of the table; HEADING names its columns."""
        goal = "" if self.goal is None else f">= {self.goal:.2f}"
        met = "" if self.goal is None else ("met" if self.ratio >= self.goal else "missed")
        interval = f"{self.low:.3f} .. {self.high:.3f}"
        return (
            f"{self.name:<44} {self.floor * 1e3:>11.3f} {self.ours * 1e3:>11.3f} {self.ratio:>7.3f}"
            f"  {interval:<18} {self.pairs:>5}  {goal:<8} {met}"
        ).rstrip()


HEADING = (
    f"{'what':<44} {'floor ms':>11} {'ours ms':>11} {'ratio':>7}  {'90% interval':<18} {'pairs':>5}  {'goal':<8}"
).rstrip()


def timed(work: Callable[[], object], *, repeat: int = 1) -> Callable[[], Seconds]:
    """A side of a comparison: seconds that one run of work takes, as the mean of repeat runs.

    A side that must prepare something outside the clock is a function of its own that returns seconds.
    """

    def seconds() -> Seconds:
        started = time.perf_counter()
        for _ in range(repeat):
            work()
        return (time.perf_counter() - started) / repeat

    return seconds


def compare(
    name: str,
    floor: Callable[[], Seconds],
    ours: Callable[[], Seconds],
    *,
    pairs: int = FEWEST_PAIRS,
    goal: float | None = None,
) -> Comparison:
    """Run both sides once to warm up, then pairs times in turn. Raises: ValueError for fewer than 15 pairs."""
    if pairs < FEWEST_PAIRS:
        raise ValueError(f"{pairs} pairs say too little; take {FEWEST_PAIRS} or more")
    floor(), ours()
    floors: list[Seconds] = []
    our_times: list[Seconds] = []
    gc.collect()
    gc.freeze()  # what was there before is neither side's to clean up
    try:
        for turn in range(pairs):
            gc.collect()
            for side, times in sorted([(floor, floors), (ours, our_times)], key=lambda s: (s[0] is ours) ^ turn % 2):
                times.append(side())
    finally:
        gc.unfreeze()
    ratios = sorted(f / o for f, o in zip(floors, our_times, strict=True))
    left_out = ranks_outside(pairs)
    return Comparison(
        name=name,
        pairs=pairs,
        floor=statistics.median(floors),
        ours=statistics.median(our_times),
        ratio=statistics.median(ratios),
        low=ratios[left_out],
        high=ratios[pairs - 1 - left_out],
        goal=goal,
    )


def ranks_outside(pairs: int, confidence: float = 0.90) -> int:
    """How many of the sorted ratios may be left out at each end and the rest still holds the median so surely."""
    left_out, tail = 0, 1 + pairs  # tail / 2**pairs: chance that at most left_out + 1 ratios lie below the median
    while 2 * tail / 2**pairs <= 1 - confidence:
        left_out += 1
        tail += comb(pairs, left_out + 1)
    return left_out


def table(*rows: Comparison) -> None:
    """Print the rows under their heading."""
    print(HEADING)
    for row in rows:
        print(row.row())
