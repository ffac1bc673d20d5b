"""Writes tests/golden/reports: each sample report in every form for programs. Look at them before you run this.

It runs under pytest, so that a sample stands in the same book as in the tests.
"""

import sys

import pytest

from ledger.acts import reporting
from tests import report_samples as samples
from tests.shops import Shop


@pytest.mark.parametrize("case", samples.CASES)
def test_write(sqlite_shop: Shop, case: str) -> None:
    samples.GOLDEN.mkdir(parents=True, exist_ok=True)
    for ending, data in samples.made(sqlite_shop, case).items():
        if ending != reporting.PAPER:
            (samples.GOLDEN / f"{case}{ending}").write_bytes(data)


if __name__ == "__main__":
    sys.exit(pytest.main([__file__, "-q"]))
