"""What is acknowledged is durable: killed processes, two writers at once, disks that fail."""

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from random import Random

import pytest
import sqlalchemy as sa

from ledger.acts import opening
from ledger.book import engine as engines
from ledger.book import pages, projections, tables, verifying
from ledger.errors import StorageError
from ledger.vault import keys_file
from tests import shops
from tests.check_book import check_book
from tests.conftest import MOMENT
from tests.long import long_count
from tests.shops import Shop

ROOT = Path(__file__).parent.parent


def start(folder: Path, count: int) -> "subprocess.Popen[str]":
    """A recording child, once it has opened the book."""
    child = subprocess.Popen(
        [sys.executable, "-m", "tests.recording_child", str(folder), str(count)],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert child.stdout is not None
    assert child.stdout.readline() == "ready\n"
    return child


def acknowledged(said: str) -> list[tuple[int, int]]:
    """(slip, entry) of every whole line that a child printed."""
    lines = [line for line in said.split("\n")[:-1] if line]
    return [(int(slip), int(seq)) for slip, seq in (line.split() for line in lines)]


def audit_whole(folder: Path) -> tuple[set[tuple[int, int]], int]:
    """Audit a book at every level; give the recorded slips with their entries, and the number of entries."""
    book = opening.at(folder, clock=lambda: MOMENT, chance=os.urandom)
    book.keys = keys_file.open_file(folder / "keys.json", shops.PASS_PHRASE)
    found = verifying.audit(book)
    assert [str(fault) for fault in found.faults] == []
    with engines.reading(book.engine) as connection:
        rows = connection.execute(sa.select(tables.slips.c.slip, tables.slips.c.recorded_seq, tables.slips.c.state))
        slips = {(int(slip), int(seq)) for slip, seq, state in rows if state == "recorded"}
        presented = connection.execute(sa.select(sa.func.count()).select_from(tables.slips)).scalar_one()
    book.engine.dispose()
    assert len(slips) == presented, "a slip presented and recorded in one transaction is never half there"
    return slips, found.entries


@long_count("kills", count=60)
def killed_recorders_lose_nothing_acknowledged(random: Random, count: int) -> None:
    """However a recorder is killed, what it acknowledged stands, the book verifies, and no slip is half there."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "book"
        shops.open_shop(folder, moment=MOMENT, chance=os.urandom).book.engine.dispose()
        kept: set[tuple[int, int]] = set()
        for _ in range(count):
            child = start(folder, 1_000)
            time.sleep(random.uniform(0.0, 0.25))
            child.kill()
            said, complained = child.communicate()
            assert complained == ""
            slips, _ = audit_whole(folder)
            assert kept <= slips
            assert set(acknowledged(said)) <= slips
            kept = slips


class TestKilled:
    """A kill leaves both entries of a purchase or neither."""

    def test_three_kills_lose_nothing(self) -> None:
        killed_recorders_lose_nothing_acknowledged(Random("three kills"), 3)


class TestTwoWriters:
    """Two processes recording at once: no fork, no error shown."""

    def test_two_processes_record_into_one_book(self, shop: Shop) -> None:
        folder = shop.book.folder
        before = audit_whole(folder)[1]
        children = [start(folder, 10) for _ in range(2)]
        said = [child.communicate(timeout=120) for child in children]
        assert [complained for _, complained in said] == ["", ""]
        slips, entries = audit_whole(folder)
        told = [each for out, _ in said for each in acknowledged(out)]
        assert sorted(told) == sorted(slips)
        assert entries == before + 40
        assert sorted(slip for slip, _ in slips) == list(range(1, 21))


class TestFailingDisks:
    """A write that failed leaves the book as it was; so does one at any step of the act."""

    @pytest.mark.parametrize("step", ["write", "seal", "apply"])
    def test_a_failure_at_any_step_leaves_nothing(self, shop: Shop, step: str, monkeypatch: pytest.MonkeyPatch) -> None:
        before = check_book(shop).entries
        calls = 0

        def failing(real: Callable[..., object], on: int) -> Callable[..., object]:
            def once(*args: object, **kwargs: object) -> object:
                nonlocal calls
                calls += 1
                if calls == on:
                    raise StorageError(path="disk", why="it is full")
                return real(*args, **kwargs)

            return once

        if step == "apply":
            monkeypatch.setattr(projections, "apply", failing(projections.apply, 2))
        else:
            monkeypatch.setattr(pages.Page, step, failing(getattr(pages.Page, step), 2 if step == "write" else 1))
        with pytest.raises(StorageError, match="full"):
            shop.record()
        monkeypatch.undo()
        check_book(shop, entries=before)
        assert shop.record().slip == 1
        check_book(shop)

    def test_a_commit_that_says_it_failed_but_did_not_is_seen_by_the_next_writer(
        self, sqlite_shop: Shop, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """The head in memory is compared with the table before anything is appended."""
        shop = sqlite_shop
        stale = shop.book._head
        shop.record()
        shop.book._head = stale
        assert shop.record().slip == 2
        check_book(shop)
