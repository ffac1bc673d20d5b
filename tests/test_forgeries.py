"""Eighteen falsified copies of a book, held against `book verify` and a verifier that shares no code with it."""

import os
import shutil
from datetime import timedelta
from pathlib import Path

import pytest

from ledger.acts import closing, leaving, opening
from ledger.book import engine as engines
from ledger.book import reading, verifying
from ledger.book.faults import Findings
from ledger.vault import keys_file
from tests import forgeries, shops, standalone_verifier
from tests.conftest import MOMENT
from tests.forgeries import FORGERIES, Forger, Forgery


@pytest.fixture(scope="module")
def good(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """A good book with three purchases and two moves, and a seal that left the shop with the last stub."""
    folder = tmp_path_factory.mktemp("good") / "book"
    shop = shops.open_shop(folder, moment=MOMENT, chance=os.urandom)
    for _ in range(3):
        shop.record()
    for line in (1, 3):
        leaving.move(shop.book, 1, line, "safe", at=shop.local(), because="overnight", to_place="premises")
    shop.record()
    for _ in range(3):
        closing.close(shop.book, shop.local().date())
        shop.now += timedelta(days=1)
    stub = closing.seal(shop.book)
    shop.book.engine.dispose()
    return folder, stub


@pytest.fixture
def forger(good: tuple[Path, str], tmp_path: Path) -> Forger:
    """A forger with a copy of the good book."""
    folder, stub = good
    copy = tmp_path / "copy"
    shutil.copytree(folder, copy)
    keys = keys_file.open_file(copy / "keys.json", shops.PASS_PHRASE)
    return Forger(copy, keys_file.book_of(copy / "keys.json"), keys, stub)


def audited(folder: Path, against: str | None = None) -> Findings:
    """What `book verify` says of a folder, the vault open."""
    book = opening.at(folder, clock=lambda: MOMENT, chance=os.urandom)
    book.keys = keys_file.open_file(folder / "keys.json", shops.PASS_PHRASE)
    found = verifying.audit(book, against=against)
    book.engine.dispose()
    return found


class TestForgeries:
    """Each forgery is found at the level the table names, by a sentence that says which entry and what."""

    def test_the_good_book_is_sound_at_every_level_and_against_the_stub(self, good: tuple[Path, str]) -> None:
        folder, stub = good
        found = audited(folder, stub)
        assert [str(fault) for fault in found.faults] == []
        assert standalone_verifier.verify(folder, stub) == []

    @pytest.mark.parametrize("forgery", FORGERIES, ids=lambda forgery: forgery.name.replace(" ", "-"))
    def test_a_forgery_is_found_where_the_table_says(self, forger: Forger, forgery: Forgery) -> None:
        before = forgeries.digest(forger.folder)
        entry = forgery.forge(forger)
        assert forgeries.digest(forger.folder) != before
        plain = audited(forger.folder)
        if forgery.only_against:
            assert not [fault for fault in plain.faults if fault.level in ("chain", "forms")]
        found = audited(forger.folder, forger.stub) if forgery.only_against else plain
        named = [fault for fault in found.faults if fault.level == forgery.level and forgery.says in str(fault)]
        assert named, [str(fault) for fault in found.faults]
        if entry is not None and entry >= 0 and forgery.level != "chain":
            assert entry in {fault.seq for fault in named}
        assert not found.ok

    @pytest.mark.parametrize("forgery", FORGERIES, ids=lambda forgery: forgery.name.replace(" ", "-"))
    def test_the_stand_alone_verifier_agrees_as_far_as_it_can_without_keys(
        self, forger: Forger, forgery: Forgery
    ) -> None:
        forgery.forge(forger)
        against = forger.stub if forgery.only_against else None
        assert bool(standalone_verifier.verify(forger.folder, against)) == forgery.without_keys

    def test_a_chain_fault_names_the_first_seal_that_is_no_longer_true(self, forger: Forger) -> None:
        entry = forgeries.FORGERIES[0].forge(forger)
        assert entry is not None
        first = min(fault.seq for fault in audited(forger.folder).faults if fault.seq is not None)
        assert first == entry, "the purchase was sealed in its own transaction, so its own seal tells"

    def test_an_entry_dated_back_by_the_holder_of_the_key_shows_in_its_form(self, forger: Forger) -> None:
        entries = forger.entries()
        seq = len(entries) - 1
        entries[seq] = entries[seq].replace(b'"recorded_at":"2026', b'"recorded_at":"2025')
        forger.rewrite(entries, resign=True)
        assert [fault.seq for fault in audited(forger.folder).faults if "clock does not say so" in str(fault)] == [seq]

    def test_removed_seals_are_missed(self, forger: Forger) -> None:
        with forger.database() as connection:
            connection.execute("DELETE FROM seals")
        assert any("seal" in str(fault) and "missing" in str(fault) for fault in audited(forger.folder).faults)

    def test_a_book_signed_anew_with_another_key_fails_against_its_fingerprint(self, good: tuple[Path, str]) -> None:
        folder, _ = good
        book = opening.at(folder, clock=lambda: MOMENT, chance=os.urandom)
        found = verifying.audit(book, levels=("chain",), key="0" * 64)
        book.engine.dispose()
        assert "not the one you named" in str(found.faults[0])

    def test_the_table_in_the_guide_is_the_one_that_was_tested(self) -> None:
        guide = Path(__file__).parent.parent / "DEVELOPERS.md"
        assert forgeries.table() in guide.read_text()


class TestAgainst:
    """A seal, a proof, a stub's QR text, or the short form printed on a paper."""

    def test_the_short_form_and_a_proof_are_taken_too(self, good: tuple[Path, str]) -> None:
        folder, stub = good
        assert audited(folder, closing.short(stub)).ok
        book = opening.at(folder, clock=lambda: MOMENT, chance=os.urandom)
        with engines.reading(book.engine) as connection:
            assert audited(folder, reading.proof(connection, book, 5)).ok
        book.engine.dispose()

    def test_a_cut_book_fails_against_the_short_form(self, forger: Forger) -> None:
        forgeries.FORGERIES[5].forge(forger)
        found = audited(forger.folder, closing.short(forger.stub))
        assert any("was cut" in str(fault) for fault in found.faults)
