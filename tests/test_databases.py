"""Every test that asks for a database gets one of its own, and nothing is skipped in silence."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
import sqlalchemy as sa

from ledger.book.engine import layout, open_engine

ASKS = "test_databases.py::test_what_one_test_leaves_behind_another_never_sees"


@pytest.mark.parametrize("turn", ["first", "second"])
def test_what_one_test_leaves_behind_another_never_sees(database: str, turn: str) -> None:
    engine = open_engine(database)
    with engine.begin() as connection:
        assert not sa.inspect(connection).has_table("left_behind"), turn
        connection.execute(sa.text("CREATE TABLE left_behind (by_turn TEXT)"))
    engine.dispose()


def test_a_database_is_migrated_before_a_test_gets_it(database: str) -> None:
    engine = open_engine(database)
    assert layout(engine) is not None
    engine.dispose()


def test_an_empty_database_holds_no_layout(empty_database: str) -> None:
    engine = open_engine(empty_database)
    assert layout(engine) is None
    engine.dispose()


class TestWithoutPostgres:
    """Tests that need PostgreSQL are skipped with the reason; with COUNTERFOIL_CI=1 a skip is a failure."""

    @pytest.mark.parametrize(
        ("ci", "code", "counted"), [("0", 0, "2 passed, 2 skipped"), ("1", 1, "2 passed, 2 errors")]
    )
    def test_a_skip_gives_its_reason_and_fails_where_none_is_allowed(self, ci: str, code: int, counted: str) -> None:
        world = {**os.environ, "COUNTERFOIL_TEST_POSTGRES": "", "COUNTERFOIL_CI": ci}
        command = [
            sys.executable,
            "-m",
            "pytest",
            "-q",
            "-rsE",
            "-p",
            "no:xdist",
            "--no-cov",
            f"{Path(__file__).parent}/{ASKS}",
        ]
        done = subprocess.run(command, env=world, cwd=Path(__file__).parent.parent, capture_output=True, text=True)
        assert done.returncode == code, done.stdout
        assert counted in done.stdout
        assert "needs PostgreSQL: set COUNTERFOIL_TEST_POSTGRES" in done.stdout
