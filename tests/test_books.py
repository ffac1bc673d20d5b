"""A real book of each release: it opens, upgrades, verifies at every level and still refuses UPDATE and DELETE.

A fault at level tables after the derived tables were changed on purpose: for the release at work, make its book anew
(`python -m tests.make_books`); for one that is out, a migration has to rebuild them.
"""

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
import sqlalchemy as sa

from ledger.acts import opening
from ledger.book import engine as engines
from ledger.book import projections, reading, rebuilding, tables, triggers, verifying
from ledger.chain import entries
from tests import make_books, standalone_verifier
from tests.check_book import check_book
from tests.make_books import BOOKS, reopened, unpack
from tests.shops import Shop
from tests.story import RING

RELEASES = sorted(path.stem for path in BOOKS.glob("*.db"))


@pytest.fixture(params=RELEASES)
def folder(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """The folder of a book of an earlier program, brought up to date by this one."""
    place = tmp_path / "book"
    unpack(BOOKS, request.param, place)
    engine = engines.open_engine(engines.sqlite_url(place))
    engines.migrate(engine)
    engine.dispose()
    return place


@pytest.fixture
def kept(folder: Path) -> Iterator[Shop]:
    """A shop that goes on with it eight weeks later."""
    shop = reopened(folder)
    yield shop
    shop.book.engine.dispose()


def test_the_release_at_work_has_its_book() -> None:
    assert opening.PROGRAM in RELEASES


class TestKeptBooks:
    """A book of each release upgrades, still verifies, still refuses UPDATE and DELETE."""

    def test_it_is_sound_at_every_level_and_against_the_seal_that_left_the_shop(self, kept: Shop) -> None:
        found = check_book(kept)
        assert found.entries > 40
        seal = (kept.book.folder / "seal.txt").read_text()
        assert verifying.audit(kept.book, against=seal).ok
        assert standalone_verifier.verify(kept.book.folder, seal) == []

    def test_every_kind_that_derives_something_happened_in_it(self, kept: Shop) -> None:
        with engines.reading(kept.book.engine) as connection:
            kinds = {entry.kind.partition("/")[0] for entry in reading.all_entries(connection, kept.book.origin)}
        assert kinds >= set(projections._KINDS)

    def test_it_still_refuses_to_change_or_lose_what_it_keeps(self, folder: Path) -> None:
        with closing(sqlite3.connect(folder / "book.sqlite", isolation_level=None)) as raw:
            found = {name for (name,) in raw.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")}
            assert found == triggers.names()
            for table in tables.KEPT:
                assert raw.execute(f"SELECT count(*) FROM {table.name}").fetchone()[0] > 0, table.name
                for act in ("UPDATE {} SET book = book", "DELETE FROM {}", "REPLACE INTO {0} SELECT * FROM {0}"):
                    with pytest.raises(sqlite3.IntegrityError, match=r"append-only|not the next entry"):
                        raw.execute(act.format(table.name))

    def test_the_shop_goes_on_with_it(self, kept: Shop) -> None:
        with engines.reading(kept.book.engine) as connection:
            highest = connection.execute(sa.select(sa.func.max(tables.slips.c.slip))).scalar_one()
        assert kept.record(*RING).slip == highest + 1
        check_book(kept)

    def test_its_tables_can_be_made_anew(self, kept: Shop) -> None:
        assert rebuilding.rebuild(kept.book) == check_book(kept).entries

    def test_it_is_small(self) -> None:
        for release in RELEASES:
            assert (BOOKS / f"{release}.db").stat().st_size < 400_000, release


class TestMaking:
    """Chance and clock are fixed, so that the same program makes the same book again."""

    def test_the_same_entries_come_out_twice(self, tmp_path: Path) -> None:
        def entry_bytes(name: str) -> list[bytes]:
            make_books.make(tmp_path / name, steps=6)
            make_books.keep(tmp_path / name, tmp_path / "kept", "1")
            unpack(tmp_path / "kept", "1", tmp_path / f"{name} again")
            with closing(sqlite3.connect(tmp_path / f"{name} again" / "book.sqlite")) as raw:
                return [row[0] for row in raw.execute("SELECT bytes FROM entries ORDER BY seq")]

        (tmp_path / "kept").mkdir()
        first, second = entry_bytes("first"), entry_bytes("second")
        assert first == second
        assert [entries.read(data).seq for data in first] == list(range(len(first)))
