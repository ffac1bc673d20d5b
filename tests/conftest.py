"""What every test may ask for: a database of its own, a fixed moment, fixed chance, cheap keys.

With COUNTERFOIL_CI=1 a skipped test counts as failed: there, everything that tests need is installed.
"""

import functools
import hashlib
import itertools
import os
import secrets
import shutil
import tempfile
from collections.abc import Callable, Generator, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import pytest

if TYPE_CHECKING:  # the tests of the words run without loading the rooms that keep things
    from ledger.vault.keys_file import Cost
    from tests.shops import Shop
    from tests.till import Till
    from tests.web_shop import Web

MOMENT = datetime(2026, 11, 24, 15, 15, tzinfo=UTC)
NO_SKIPS = os.environ.get("COUNTERFOIL_CI") == "1"
# Workers of pytest-xdist inherit the environment, so the name that the first process chooses is theirs too.
os.environ.setdefault("COUNTERFOIL_TEST_RUN", secrets.token_hex(4))


@pytest.fixture
def moment() -> datetime:
    """A fixed moment: 24 November 2026, 15:15 UTC."""
    return MOMENT


@pytest.fixture
def chance() -> Callable[[int], bytes]:
    """Bytes that look random, never repeat within a test, and are the same in every run."""
    drawn = 0

    def draw(count: int) -> bytes:
        nonlocal drawn
        drawn += 1
        return hashlib.shake_256(b"fixed chance %d" % drawn).digest(count)

    return draw


@pytest.fixture
def cost() -> "Cost":
    """A key cost that is quick and protects nothing."""
    from ledger.vault.keys_file import Cost

    return Cost(64, 1, 1)


@pytest.fixture(scope="session")
def migrated_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A migrated SQLite file, made once for each worker and only ever copied."""
    from tests import databases

    return databases.migrated_file(tmp_path_factory.mktemp("template"))


@pytest.fixture
def sqlite_url(migrated_file: Path, tmp_path: Path) -> str:
    """A migrated SQLite database of the test's own, for tests that need not run on both."""
    from tests import databases

    return databases.copied_file(migrated_file, tmp_path)


@pytest.fixture(params=["sqlite", "postgresql"])
def database(request: pytest.FixtureRequest) -> Iterator[str]:
    """The URL of a migrated database of the test's own; every test that asks runs on both kinds."""
    if request.param == "sqlite":
        yield request.getfixturevalue("sqlite_url")
    else:
        with _postgres(migrated=True) as url:
            yield url


@pytest.fixture(params=["sqlite", "postgresql"])
def empty_database(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """As `database`, but nothing has been migrated in it yet."""
    if request.param == "sqlite":
        (tmp_path / "empty.sqlite").touch()
        yield f"sqlite:///{tmp_path / 'empty.sqlite'}"
    else:
        with _postgres(migrated=False) as url:
            yield url


@contextmanager
def _postgres(*, migrated: bool) -> Iterator[str]:
    from tests import databases

    if not databases.POSTGRES:
        pytest.skip(databases.WHY_SKIPPED)
    with databases.postgres_database(migrated=migrated) as url:
        yield url


def pytest_unconfigure(config: pytest.Config) -> None:
    """When the whole run has ended, drop what it left on the PostgreSQL server."""
    if os.environ.get("COUNTERFOIL_TEST_POSTGRES") and not hasattr(config, "workerinput"):
        from tests import databases

        databases.drop_all_of_this_run()


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport() -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """Count a skipped test as failed where nothing may be skipped."""
    return _without_skips((yield))


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report() -> Generator[None, pytest.CollectReport, pytest.CollectReport]:
    """Count a skipped module as failed where nothing may be skipped."""
    return _without_skips((yield))


Report = TypeVar("Report", pytest.TestReport, pytest.CollectReport)


def _without_skips(report: Report) -> Report:
    if NO_SKIPS and report.outcome == "skipped":
        report.outcome = "failed"
        report.longrepr = f"COUNTERFOIL_CI=1 allows no skipped test: {report.longrepr}"
    return report


@pytest.fixture(scope="session")
def made_shops(tmp_path_factory: pytest.TempPathFactory) -> "Callable[[bool], Shop]":
    """Shops on SQLite with rules in force and without, each made once for each worker and only ever copied."""
    from tests import shops

    @functools.cache
    def made(adopt: bool) -> "Shop":
        drawn = itertools.count()
        shop = shops.open_shop(
            tmp_path_factory.mktemp("made") / "book",
            moment=MOMENT,
            chance=lambda count: hashlib.shake_256(b"chance of a made shop %d" % next(drawn)).digest(count),
            adopt=adopt,
        )
        shop.book.engine.dispose()
        return shop

    return made


@pytest.fixture
def shop(database: str, tmp_path: Path, request: pytest.FixtureRequest) -> Iterator["Shop"]:
    """A shop with a real book on SQLite and on PostgreSQL, rules in force, nothing bought yet."""
    from tests import shops

    if database.startswith("sqlite"):
        yield request.getfixturevalue("sqlite_shop")
        return
    chance = request.getfixturevalue("chance")
    opened = shops.open_shop(tmp_path / "book", moment=MOMENT, chance=chance, database=database)
    yield opened
    opened.book.engine.dispose()


@pytest.fixture
def sqlite_shop(
    tmp_path: Path, chance: Callable[[int], bytes], made_shops: "Callable[[bool], Shop]"
) -> Iterator["Shop"]:
    """The same on SQLite only, for tests about files."""
    from tests import shops

    opened = shops.copied(made_shops(True), tmp_path / "book", chance=chance)
    yield opened
    opened.book.engine.dispose()


@pytest.fixture
def bare_shop(tmp_path: Path, chance: Callable[[int], bytes], made_shops: "Callable[[bool], Shop]") -> Iterator["Shop"]:
    """A shop on SQLite in which no rule file is in force yet."""
    from tests import shops

    opened = shops.copied(made_shops(False), tmp_path / "book", chance=chance)
    yield opened
    opened.book.engine.dispose()


@pytest.fixture(scope="session")
def told(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a book in which everything of tests/story.py has happened, made once for each worker."""
    from tests import make_books

    folder = tmp_path_factory.mktemp("told") / "book"
    make_books.make(folder)
    return folder


@pytest.fixture
def after(told: Path, tmp_path: Path) -> Iterator["Shop"]:
    """A shop on SQLite after all that, for the test alone."""
    from tests import make_books

    shutil.copytree(told, tmp_path / "book")
    shop = make_books.reopened(tmp_path / "book")
    yield shop
    shop.book.engine.dispose()


@pytest.fixture(scope="session")
def made_till(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book for the tests of commands, made once for each worker and only ever copied."""
    from tests import till

    folder = tmp_path_factory.mktemp("till") / "book"
    till.make(folder)
    return folder


@pytest.fixture
def till(made_till: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator["Till"]:
    """A shop of the test's own on which commands are run."""
    from tests import till

    with tempfile.TemporaryDirectory(prefix="cf") as runtime:
        yield till.Till.copied(made_till, tmp_path, Path(runtime), monkeypatch)


@pytest.fixture
def web(sqlite_shop: "Shop") -> Iterator["Web"]:
    """A browser in front of a counter over a shop on SQLite; nobody is signed in."""
    from tests import web_shop

    opened = web_shop.opened(sqlite_shop)
    yield opened
    opened.client.close()
    opened.counter.close()
