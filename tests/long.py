"""Long counts: claims tried on as many random cases as one has patience for.

A test module registers one beside the tests it belongs to:

    @long_count("amounts", count=200_000)
    def amounts_print_and_read_back(random: Random, count: int) -> None:
        '''An amount printed and typed again is the same amount.'''
        for _ in range(count): ...

`python -m tests.long` runs all of them, `python -m tests.long amounts --seed 7 --count 1000000` one, with another
seed and another count. tests/test_long.py runs a hundredth of each with every ordinary run of the tests.
"""

import argparse
import importlib
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from random import Random

Tries = Callable[[Random, int], None]


@dataclass(frozen=True)
class LongCount:
    """One registered claim. `tries(random, count)` raises AssertionError at the first case that breaks it."""

    name: str
    claim: str
    count: int
    tries: Tries

    def run(self, *, seed: int, count: int) -> None:
        """Try count cases; the same seed and count give the same cases."""
        self.tries(Random(f"{self.name} {seed}"), count)


REGISTERED: dict[str, LongCount] = {}


def long_count(name: str, *, count: int) -> Callable[[Tries], Tries]:
    """Register a function of (random, count) under a name; its docstring is the claim."""

    def register(tries: Tries) -> Tries:
        claim = (tries.__doc__ or "").strip()
        if not claim or name in REGISTERED:
            raise ValueError(f"long count {name!r} needs a docstring that states its claim, and a name of its own")
        REGISTERED[name] = LongCount(name, claim, count, tries)
        return tries

    return register


def registered() -> dict[str, LongCount]:
    """Every long count of every test module, by name."""
    for file in sorted(Path(__file__).parent.glob("test_*.py")):
        if "\n@long_count(" in file.read_text(encoding="utf-8"):
            importlib.import_module(f"tests.{file.stem}")
    return dict(sorted(REGISTERED.items()))


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the named long counts, or all. Result: an exit code, 1 if a claim was broken."""
    known = registered()
    parser = argparse.ArgumentParser(prog="python -m tests.long", description="Try claims on many random cases.")
    parser.add_argument("names", nargs="*", metavar="NAME", help=", ".join(known))
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--count", type=int, help="cases of each; without it, the count registered with the claim")
    asked = parser.parse_args(arguments)
    if unknown := set(asked.names) - set(known):
        parser.error(f"no long count is called {', '.join(sorted(unknown))}; known are {', '.join(known)}")
    broken = 0
    for long in [known[name] for name in asked.names or known]:
        count = asked.count or long.count
        started = time.perf_counter()
        try:
            long.run(seed=asked.seed, count=count)
            outcome = "holds"
        except AssertionError as fault:
            broken += 1
            outcome = f"BROKEN: {fault}"
        seconds = time.perf_counter() - started
        print(f"{long.name:<24} seed {asked.seed:<6} {count:>11,} cases {seconds:>8.1f} s  {long.claim} {outcome}")
    return 1 if broken else 0


if __name__ == "__main__":
    from tests.long import main as of_the_imported_module  # the registry of `__main__` would stay empty

    raise SystemExit(of_the_imported_module())
