"""Writes tests/vectors/chain: for each thing a stranger verifies, what is true (happy.json) and every lie by name.

    python tests/make_vectors.py            writes the files
    python tests/make_vectors.py --check    makes them in memory and exits 1 if a file on disk differs

One file is one lie, told about several happy cases. Nothing is drawn at random, so the files are the same in every
run; tests/vectors/chain/published holds other people's vectors and is left alone.
"""

import sys
from collections.abc import Iterator
from pathlib import Path

if __name__ == "__main__":  # run as a file, from anywhere: the checkout comes first
    sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from tests.lies import entries, notes, trees
from tests.lies.cases import VECTORS, Files, as_text

FOLDER = VECTORS
PUBLISHED = "published"


def files() -> Files:
    """Every file by its path below tests/vectors/chain, with its text."""
    made: Files = {}
    for folder, lies in (
        ("inclusion", trees.inclusion_lies()),
        ("consistency", trees.consistency_lies()),
        ("seal", notes.seal_lies()),
        ("proof_file", notes.proof_file_lies()),
        ("part", entries.part_lies()),
        ("entry", entries.entry_lies()),
    ):
        for name, cases in lies.items():
            made[f"{folder}/{name}.json"] = as_text(cases)
    return made


def on_disk(folder: Path) -> Files:
    """The files that lie there now, the published ones left out."""
    found = {path.relative_to(folder).as_posix(): path for path in sorted(folder.rglob("*.json"))}
    return {name: path.read_text(encoding="utf-8") for name, path in found.items() if not name.startswith(PUBLISHED)}


def differences(folder: Path) -> Iterator[str]:
    """One sentence for each file that is not as it would be made now."""
    made, there = files(), on_disk(folder)
    for name in sorted(made.keys() | there.keys()):
        if name not in there:
            yield f"{name} is missing."
        elif name not in made:
            yield f"{name} is no longer made."
        elif made[name] != there[name]:
            yield f"{name} differs from what is made now."


def write(folder: Path) -> None:
    for name in on_disk(folder).keys() - files().keys():
        (folder / name).unlink()
    for name, text in files().items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8", newline="\n")


def main(arguments: list[str], folder: Path = FOLDER) -> int:
    if arguments == ["--check"]:
        found = list(differences(folder))
        for sentence in found:
            print(sentence)
        return 1 if found else 0
    write(folder)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
