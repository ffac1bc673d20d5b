"""The comparison of two timings, held against coin tosses counted one by one."""

from collections.abc import Callable
from itertools import product

import pytest

from tests.bench.pairs import HEADING, compare, ranks_outside, table, timed


def given(*seconds: float) -> Callable[[], float]:
    """A side that takes these seconds, one after the other."""
    left = list(seconds)
    return lambda: left.pop(0)


class TestTheInterval:
    """An interval that holds the true median with 90% probability or more."""

    @pytest.mark.parametrize("pairs", range(5, 17))
    def test_it_is_the_narrowest_that_holds_the_median_nine_times_in_ten(self, pairs: int) -> None:
        # Each ratio lies below the true median or not, like a fair coin. Leaving out k at each end misses the
        # median if at most k, or at least pairs - k, lie below it. All 2**pairs tosses are counted one by one.
        tosses = [sum(toss) for toss in product((0, 1), repeat=pairs)]

        def misses(left_out: int) -> float:
            return sum(not left_out < below < pairs - left_out for below in tosses) / len(tosses)

        assert misses(ranks_outside(pairs)) <= 0.10 < misses(ranks_outside(pairs) + 1)

    def test_of_fifteen_ratios_the_fourth_and_the_twelfth_are_its_ends(self) -> None:
        # Source: tables of the median's interval for n = 15 give ranks 4 and 12 (from memory).
        floors = [float(n) for n in (8, 3, 15, 1, 9, 2, 14, 7, 4, 12, 6, 13, 5, 11, 10)]
        found = compare("shuffled", given(1.0, *floors), given(1.0, *[1.0] * 15))
        assert (found.low, found.ratio, found.high) == (4.0, 8.0, 12.0)


class TestTheRow:
    """Told are floor, ours, the median ratio, its interval, and whether the goal was met."""

    def test_a_goal_met_and_a_goal_missed_read_so(self, capsys: pytest.CaptureFixture[str]) -> None:
        met = compare("append", given(*[0.001] * 16), given(*[0.002] * 16), goal=0.5)
        missed = compare("verify", given(*[0.001] * 16), given(*[0.004] * 16), goal=0.5)
        free = compare("search", given(*[0.001] * 16), given(*[0.001] * 16))
        table(met, missed, free)
        heading, *rows = capsys.readouterr().out.splitlines()
        assert heading == HEADING
        assert [row.split() for row in rows] == [
            ["append", "1.000", "2.000", "0.500", "0.500", "..", "0.500", "15", ">=", "0.50", "met"],
            ["verify", "1.000", "4.000", "0.250", "0.250", "..", "0.250", "15", ">=", "0.50", "missed"],
            ["search", "1.000", "1.000", "1.000", "1.000", "..", "1.000", "15"],
        ]

    def test_fewer_than_fifteen_pairs_are_refused(self) -> None:
        with pytest.raises(ValueError, match="14 pairs say too little"):
            compare("few", given(), given(), pairs=14)


class TestTakingTurns:
    """Both sides run one after the other, taking turns at going first."""

    def test_neither_side_always_goes_first(self) -> None:
        order: list[str] = []

        def side(name: str) -> Callable[[], float]:
            def run() -> float:
                order.append(name)
                return 1.0

            return run

        compare("turns", side("floor"), side("ours"), pairs=16)
        in_pairs = list(zip(order[2::2], order[3::2], strict=True))
        assert in_pairs == [("floor", "ours"), ("ours", "floor")] * 8

    def test_a_timed_side_runs_its_work_as_often_as_asked(self) -> None:
        runs: list[None] = []
        assert timed(lambda: runs.append(None), repeat=5)() >= 0
        assert len(runs) == 5
