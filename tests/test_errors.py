"""What stops the program is said in one sentence made from named fields, with the exit code of who can put it right."""

from pathlib import Path

import pytest

from ledger import errors, shipped

ERRORS = [
    (
        errors.InputError(field="items[2].weight", given="-3", wanted="a weight above zero"),
        2,
        "items[2].weight: '-3' was given; wanted is a weight above zero.",
    ),
    (
        errors.InputError(field="payout", given=errors.Said("nothing"), wanted="an amount"),
        2,
        "payout: nothing was given; wanted is an amount.",
    ),
    (
        errors.RuleFileWrong(path="town.toml", faults=("Line 3: one.", "Line 9: another.")),
        4,
        "town.toml cannot be used: Line 3: one. Line 9: another.",
    ),
    (
        errors.NoRuleForDay(jurisdiction="Alder", on="1999-01-01", why="it begins on 2020-01-01"),
        4,
        "The rule file of Alder says nothing about 1999-01-01: it begins on 2020-01-01."
        " Read the law of that day and adopt a file that covers it.",
    ),
    (
        errors.NoRuleForDay(jurisdiction="Alder", on="1999-01-01", why="it has no value", rule="hold"),
        4,
        "The rule hold of Alder says nothing about 1999-01-01: it has no value."
        " Read the law of that day and adopt a file that covers it.",
    ),
    (
        errors.ChainBroken(seq=7, expected=bytes([0xAA]), found=bytes([0xBB])),
        3,
        "Entry 7 does not follow from entry 6: its link should be aa and is bb."
        " Stop writing to this book and run `counterfoil book verify`.",
    ),
    (
        errors.CaptureChanged(seq=7, expected="aa", found="bb"),
        3,
        "Entry 7: a picture should have the digest aa and has bb."
        " Keep the file, stop writing to this book and run `counterfoil book verify`.",
    ),
    (
        errors.BookUnsound(what="Entry 7 is missing."),
        3,
        "Entry 7 is missing. Stop writing to this book and run `counterfoil book verify`.",
    ),
    (errors.LockedError(what="The vault", why="unlock it"), 5, "The vault is locked: unlock it."),
    (errors.StorageError(path=Path("shop"), why="make room on the disk"), 6, "shop: make room on the disk."),
    (errors.ForbiddenByLaw(what="It may not leave", sentences=("One.", "Two.")), 7, "It may not leave: One. Two."),
    (errors.StillUndecided(what="It waits", sentences=("One.",)), 8, "It waits: One."),
]


class TestErrors:
    """Every error says one sentence that ends with what to do, and carries the exit code that the command returns."""

    @pytest.mark.parametrize(("error", "code", "says"), ERRORS, ids=lambda value: type(value).__name__)
    def test_its_sentence_is_made_from_its_fields(self, error: errors.LedgerError, code: int, says: str) -> None:
        assert str(error) == says
        assert error.exit_code == code

    def test_a_long_value_is_cut_short_and_its_length_told(self) -> None:
        said = str(errors.InputError(field="notes", given="x" * 60_000, wanted="less"))
        assert said == f"notes: '{'x' * 79}... (60,002 characters) was given; wanted is less."

    def test_every_error_of_the_tree_is_held_here(self) -> None:
        def below(error: type[errors.LedgerError]) -> set[type[errors.LedgerError]]:
            return {error}.union(*map(below, error.__subclasses__()))

        ours = {error for error in below(errors.LedgerError) if error.__module__ == "ledger.errors"}
        families = {errors.LedgerError, errors.RuleError, errors.BookError}
        assert ours - families == {type(error) for error, _, _ in ERRORS}


class TestShippedFiles:
    """Files that are only data lie beside the code in a wheel, beside ledger/ in a checkout."""

    @pytest.mark.parametrize("name", ["migrations", "sample_config"])
    def test_a_checkout_has_them_beside_ledger(self, name: str) -> None:
        assert shipped.folder(name) == Path(shipped.__file__).parent.parent / name

    def test_those_beside_the_code_come_first(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(shipped, "_HERE", tmp_path / "ledger")
        (tmp_path / "ledger" / "migrations").mkdir(parents=True)
        (tmp_path / "migrations").mkdir()
        assert shipped.folder("migrations") == tmp_path / "ledger" / "migrations"

    def test_an_installation_without_them_says_where_it_looked(self) -> None:
        with pytest.raises(FileNotFoundError, match="no-such-folder/ is missing from this installation: looked in "):
            shipped.folder("no-such-folder")
