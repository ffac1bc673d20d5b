"""A hundredth of every long count with every run of the tests, and the runner of long counts itself."""

import subprocess
import sys
from pathlib import Path
from random import Random

import pytest

from ledger import measures
from tests import long
from tests.long import REGISTERED, LongCount, long_count, registered


@long_count("amounts", count=200_000)
def amounts_print_and_read_back(random: Random, count: int) -> None:
    """An amount printed and typed again, without its thousands' commas, is the same amount."""
    for _ in range(count):
        currency = random.choice(["USD", "JPY", "KWD"])
        amount = measures.Money(currency, random.randrange(10 ** random.randrange(1, 10)))
        digits = str(amount).removeprefix(f"{currency} ").replace(",", "")
        assert measures.money(currency, digits) == amount, amount


@pytest.mark.parametrize("name", registered())
def test_a_hundredth_of_every_long_count_holds(name: str) -> None:
    REGISTERED[name].run(seed=1, count=max(1, REGISTERED[name].count // 100))


class TestTheRunner:
    """The same seed and count give the same cases; a broken claim is told and ends in exit code 1."""

    def test_the_same_seed_gives_the_same_cases_and_another_gives_others(self) -> None:
        drawn: list[int] = []
        tried = LongCount(
            "draws", "", 3, lambda random, count: drawn.extend(random.randrange(9**9) for _ in range(count))
        )
        for seed in (1, 1, 2):
            tried.run(seed=seed, count=3)
        assert drawn[:3] == drawn[3:6] != drawn[6:]

    def test_a_broken_claim_is_told_and_ends_in_exit_code_1(
        self, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
    ) -> None:
        def breaks(random: Random, count: int) -> None:
            assert count < 5, f"case {count} breaks it"

        monkeypatch.setattr(long, "registered", lambda: {"few": LongCount("few", "Never five.", 5, breaks)})
        assert long.main(["few"]) == 1
        assert "BROKEN: case 5 breaks it" in capsys.readouterr().out
        assert long.main(["--count", "4", "--seed", "7"]) == 0
        printed = capsys.readouterr().out
        assert printed.split()[:5] == ["few", "seed", "7", "4", "cases"]
        assert "Never five. holds" in printed

    def test_a_name_nobody_registered_is_refused(self, capsys: pytest.CaptureFixture[str]) -> None:
        with pytest.raises(SystemExit) as stop:
            long.main(["no-such-count"])
        assert stop.value.code == 2
        assert "no long count is called no-such-count" in capsys.readouterr().err

    def test_a_claim_without_words_or_with_a_name_in_use_is_refused(self) -> None:
        def silent(random: Random, count: int) -> None: ...

        with pytest.raises(ValueError, match="needs a docstring"):
            long_count("silent", count=1)(silent)
        with pytest.raises(ValueError, match="a name of its own"):
            long_count("amounts", count=1)(amounts_print_and_read_back)

    def test_it_runs_from_the_command_line(self) -> None:
        command = [sys.executable, "-m", "tests.long", "amounts", "--count", "10"]
        done = subprocess.run(command, cwd=Path(__file__).parent.parent, capture_output=True, text=True, check=True)
        assert done.stdout.startswith("amounts")
        assert "holds" in done.stdout
