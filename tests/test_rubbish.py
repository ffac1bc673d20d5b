"""Rubbish put anywhere into a book by hand is a fault, and never anything else."""

import json
import tempfile
from pathlib import Path
from random import Random

from ledger.book import verifying
from ledger.book.faults import LEVELS
from tests import fuzzing, make_books, standalone_verifier
from tests.check_book import check_book
from tests.long import long_count
from tests.shops import Shop
from tests.tampering import found, tampering

KEYLESS = ("chain", "forms")


def rubbish_is_always_a_fault(folder: Path, place: Path, random: Random, count: int) -> None:
    """Damage a book count times; each must be found, and told as text and JSON that can be printed.

    What needs no key must be found by the verifier that shares no code with the program as well, and by nobody alone.
    """
    for damage, result in fuzzing.tries(folder, place, random, count):
        # A seal that no purchase demands may be missing: nothing else speaks of it.
        unseen = damage.table.startswith("seals.") and damage.did == "delete"
        assert unseen or not result.ok, damage
        told = json.loads(json.dumps(result.record()))
        assert all(str(fault).isprintable() for fault in result.faults), (damage, told["faults"])
        assert {fault.level for fault in result.faults} <= set(LEVELS)
        if not damage.table.startswith("locked_rows."):  # it counts rows without a key, at levels of its own
            ours = any(fault.level in KEYLESS for fault in result.faults)
            theirs = any(fault["level"] in KEYLESS for fault in standalone_verifier.verify(place, None))
            assert ours == theirs, damage


def flipped_bits_are_never_passed_over(folder: Path, place: Path, random: Random, count: int) -> None:
    """Flip single bits of a database file: what reads otherwise is a fault, or the file cannot be read at all."""
    for same, result in fuzzing.flips(folder, place, random, count):
        assert same or result is None or not result.ok


@long_count("rubbish", count=20_000)
def rubbish_anywhere_is_a_fault(random: Random, count: int) -> None:
    """Any value put into any column of any row, any row lost or added: a fault, and never anything else."""
    with tempfile.TemporaryDirectory() as place:
        make_books.make(Path(place) / "book", steps=4)
        rubbish_is_always_a_fault(Path(place) / "book", Path(place) / "copy", random, count)


class TestRubbish:
    """Rubbish written with a raw connection never gives a traceback but faults."""

    def test_values_in_a_book_in_which_everything_happened(self, told: Path, tmp_path: Path) -> None:
        rubbish_is_always_a_fault(told, tmp_path / "copy", Random("some values"), 40)

    def test_flipped_bits_of_a_file(self, tmp_path: Path) -> None:
        make_books.make(tmp_path / "book", steps=4)
        flipped_bits_are_never_passed_over(tmp_path / "book", tmp_path / "copy", Random("some bits"), 80)

    def test_a_column_that_allows_nothing_may_hold_nothing_all_the_same(self, after: Shop) -> None:
        """Whoever makes the tables anew makes them without NOT NULL and without keys."""
        database = after.book.folder / "book.sqlite"
        with tampering(after.book.folder) as raw:
            for name in fuzzing.TABLES:
                raw.execute(f"CREATE TABLE loose AS SELECT * FROM {name}")
                raw.execute(f"DROP TABLE {name}")
                raw.execute(f"ALTER TABLE loose RENAME TO {name}")
        check_book(after)
        good = database.read_bytes()
        for name in fuzzing.TABLES:
            with tampering(after.book.folder) as raw:
                columns = [f'"{each[0]}"' for each in raw.execute(f"SELECT * FROM {name}").description][1:]
                raw.execute(f"UPDATE {name} SET {', '.join(f'{column} = NULL' for column in columns)}")
            assert not verifying.audit(after.book).ok, name
            after.book.engine.dispose()
            database.write_bytes(good)

    def test_rows_twice_in_tables_without_keys_are_counted(self, after: Shop) -> None:
        with tampering(after.book.folder) as raw:
            raw.execute("CREATE TABLE loose AS SELECT * FROM payouts")
            raw.execute("DROP TABLE payouts")
            raw.execute("ALTER TABLE loose RENAME TO payouts")
            raw.execute("INSERT INTO payouts SELECT * FROM payouts")
        said = found(after, "tables")
        assert len(said) == 3
        assert all("payouts: a row stands there that no entry gives" in each for each in said)
