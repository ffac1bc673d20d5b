"""`counterfoil law explain` from a cold start, against `counterfoil --help`: `python -m tests.bench.bench_law_start`.

The floor starts Python and draws the table of commands, for which nothing but click is imported. Ours imports the
room of the law, reads a state's rule file and facts, weighs them and prints every duty with its way. Both run from
compiled bytecode, as an installed program does; the first run of each, which compiles, is not counted.
"""

import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

from tests.bench.pairs import compare, table, timed

ROOT = Path(__file__).parent.parent.parent
RULES = ROOT / "sample_config" / "rules" / "demo" / "state.toml"
FACTS = {"seller": {"age": 41, "name": "N"}, "items": [{"line": 1, "goods": "jewelry", "article": "ring"}]}
GOAL = 1 / 3
_RUN = "from ledger.cli import main; main()"


def started(folder: Path, *words: str) -> Callable[[], object]:
    """A run of the program in a process of its own, its bytecode kept in a folder."""
    command = [sys.executable, "-c", _RUN, *words]
    settings = {**os.environ, "PYTHONPYCACHEPREFIX": str(folder / "bytecode"), "PYTHONDONTWRITEBYTECODE": ""}

    def run() -> object:
        return subprocess.run(command, cwd=ROOT, env=settings, stdout=subprocess.DEVNULL, check=True)

    run()
    return run


def main() -> None:
    """Print the comparison."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        facts = folder / "facts.json"
        facts.write_text(json.dumps(FACTS), encoding="utf-8")
        words = ("law", "explain", "--rules", str(RULES), "--facts", str(facts), "--at", "2026-11-24 10:15")
        floor, ours = timed(started(folder, "--help")), timed(started(folder, *words))
        table(compare("law explain, cold, against --help", floor, ours, pairs=31, goal=GOAL))


if __name__ == "__main__":
    main()
