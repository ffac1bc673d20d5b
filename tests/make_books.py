"""Makes the book that stands for this release: `python -m tests.make_books`.

`tests/books/<release>.db` is the database and `tests/books/<release>/` the rest of its folder: keys, settings, locked
pictures; `seal.txt` there is the last seal, as if it had left the shop. The pass-phrase is that of the tests and
protects nothing. Chance and clock are fixed, so that the same
program with the same libraries makes the same book again. Once a release is out its book is never made again: every
later program must open it, bring it up to date and find it sound. Until then, whoever changes what the derived tables
hold makes it anew and says so.
"""

import hashlib
import os
import shutil
import sqlite3
import tempfile
from collections.abc import Callable
from contextlib import closing
from datetime import timedelta
from itertools import islice
from pathlib import Path

from ledger.acts import closing as acts
from ledger.acts import opening
from ledger.vault import keys_file
from tests import shops
from tests.conftest import MOMENT
from tests.shops import Shop
from tests.story import story

BOOKS = Path(__file__).parent / "books"


def fixed_chance() -> Callable[[int], bytes]:
    """Bytes that look random and are the same each time."""
    drawn = 0

    def draw(count: int) -> bytes:
        nonlocal drawn
        drawn += 1
        return hashlib.shake_256(b"a book of this release %d" % drawn).digest(count)

    return draw


def make(folder: Path, steps: int | None = None) -> None:
    """The book of this release, or of the first steps of its story, in a folder that does not exist yet."""
    shop = shops.open_shop(folder, moment=MOMENT, chance=fixed_chance(), adopt=False)
    for _ in islice(story(shop), steps):
        pass
    (folder / "seal.txt").write_text(acts.seal(shop.book))
    shop.book.engine.dispose()


def keep(folder: Path, books: Path, release: str) -> None:
    """Put a book's folder into the tree, the database packed."""
    kept = books / release
    shutil.rmtree(kept, ignore_errors=True)
    shutil.copytree(folder, kept, ignore=shutil.ignore_patterns("book.sqlite*"))
    database = books / f"{release}.db"
    database.unlink(missing_ok=True)
    with closing(sqlite3.connect(folder / "book.sqlite", isolation_level=None)) as connection:
        connection.execute("PRAGMA page_size = 512")  # else most of it would be empty pages
        connection.execute("VACUUM INTO ?", (str(database),))


def unpack(books: Path, release: str, folder: Path) -> None:
    """A copy of a kept book as a shop has it, in a folder that does not exist yet."""
    shutil.copytree(books / release, folder)
    shutil.copy(books / f"{release}.db", folder / "book.sqlite")


def reopened(folder: Path, *, after: timedelta = timedelta(weeks=8)) -> Shop:
    """A shop that goes on with the book in a folder, so long after the first day of its story."""
    shop = Shop.__new__(Shop)
    shop.now, shop.read = MOMENT + after, {}
    shop.book = opening.at(folder, clock=shop.clock, chance=os.urandom)
    shop.book.keys, shop.book.by = keys_file.open_file(folder / "keys.json", shops.PASS_PHRASE), shops.OWNER
    return shop


def main() -> None:
    """Make the book of this release and put it into the tree."""
    with tempfile.TemporaryDirectory() as place:
        make(Path(place) / "book")
        keep(Path(place) / "book", BOOKS, opening.PROGRAM)
    print(f"{BOOKS / opening.PROGRAM}.db is made anew")


if __name__ == "__main__":
    main()
