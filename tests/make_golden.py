"""Writes tests/golden: each sample paper as pdftotext -layout reads it. Look at the papers before you run this."""

import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.paper_tools import NAMES, drawn, told
from tests.test_papers_files import GOLDEN


def main() -> int:
    GOLDEN.mkdir(exist_ok=True)
    with TemporaryDirectory() as folder:
        for name in NAMES:
            text = told(drawn(name), Path(folder), "pdftotext", "-layout", "PDF", "-")
            (GOLDEN / f"{name}.txt").write_text(text, encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
