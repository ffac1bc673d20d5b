"""What opens the book, on a terminal: pass-phrases changed and reset, the paper key used and renewed."""

from pathlib import Path
from typing import Any

import pytest

from ledger.cli import opened
from ledger.errors import StorageError
from ledger.vault import keeper, keys_file
from tests.till import PASS_PHRASE, Till

OTHER = "ten small boats in the rain"
THIRD = "a lamp burns in the far barn"
DISMISSED = "The key keeper is dismissed"


def secret(till: Till, name: str, text: str) -> Path:
    """A file on the desk that is closed to others."""
    path = till.keep(name, text + "\n")
    path.chmod(0o600)
    return path


def opens(till: Till, file: Path) -> bool:
    """Whether what stands in a file opens the vault."""
    code = till.run("book", "seal", "--unlock-with", file, unlocked=False).exit_code
    assert code in (0, 5)
    return code == 0


@pytest.fixture
def paper(till: Till) -> Path:
    """The newest paper key, typed off into a file."""
    return secret(till, "paper", till.answer("staff", "paper-key")["paper_key"])


@pytest.fixture
def hers(till: Till) -> Path:
    """The pass-phrase of ines, a clerk."""
    file = secret(till, "hers", OTHER)
    assert till.run("staff", "add", "ines", "--pass-phrase", file).exit_code == 0
    return file


class TestPaperKey:
    """The paper key opens the book in place of a pass-phrase, as an owner's; a newer paper replaces it."""

    def test_it_opens_the_book_however_it_was_copied(self, till: Till, paper: Path) -> None:
        assert opens(till, paper)
        copied = paper.read_text().lower().replace("-", " ").replace("0", "o")
        assert opens(till, secret(till, "copied", copied.strip()))
        done = till.run("book", "seal", "--unlock-with", "-", stdin=paper.read_text(), unlocked=False)
        assert done.exit_code == 0

    def test_the_paper_that_init_prints_opens_the_new_book(self, till: Till) -> None:
        folder = till.folder / "new"
        printed = till.answer("init", folder, book=False)["paper_key"]
        words = ["book", "seal", "--book", folder, "--unlock-with", secret(till, "paper", printed)]
        assert till.run(*words, unlocked=False, book=False).exit_code == 0

    def test_entries_say_that_the_paper_did_it_or_whom_the_holder_names(self, till: Till, paper: Path) -> None:
        words = ["--unlock-with", paper, "--pass-phrase", secret(till, "hers", OTHER)]
        first = till.answer("staff", "add", "ines", *words, unlocked=False)
        second = till.answer("staff", "add", "otto", "--as", "mara", *words, unlocked=False)
        assert [till.entry(made["entry"]).by for made in (first, second)] == ["paper", "mara"]
        assert till.run("book", "seal", "--as", "nobody", "--unlock-with", paper, unlocked=False).exit_code == 2
        assert till.answer("book", "verify")["ok"] is True

    def test_an_older_paper_and_a_wrong_letter_are_told_apart(self, till: Till, paper: Path) -> None:
        words = ["book", "seal", "--unlock-with", paper]
        assert till.run("staff", "paper-key").exit_code == 0
        done = till.run(*words, unlocked=False)
        assert (done.exit_code, "a newer paper has replaced it" in done.stderr) == (5, True)
        text = paper.read_text()
        paper.write_text(("1" if text[0] != "1" else "2") + text[1:])
        done = till.run(*words, unlocked=False)
        assert (done.exit_code, "compare them one by one" in done.stderr) == (2, True)
        assert text.strip() not in done.output
        paper.write_text("no words of this shop\n")
        assert "opens no slot" in till.run(*words, unlocked=False).stderr

    def test_it_is_typed_where_a_pass_phrase_is_asked_for(
        self, till: Till, paper: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr("ledger.cli.given._must_have_a_terminal", lambda: None)
        done = till.run("unlock", stdin=paper.read_text(), unlocked=False)
        assert "open for whoever holds the paper key until" in done.stdout
        assert paper.read_text().strip() not in done.output
        assert till.run("lock", unlocked=False).stdout == "The vault is closed.\n"

    def test_it_is_shown_once_and_the_old_one_opens_nothing(self, till: Till, paper: Path) -> None:
        shown = till.run("staff", "paper-key").stdout
        (new,) = (line for line in shown.splitlines() if line.count("-") == 8)
        assert "shown this once" in shown
        assert not opens(till, paper)
        assert opens(till, secret(till, "new", new))

    def test_only_an_owner_makes_one(self, till: Till, hers: Path) -> None:
        before = till.files()["keys.json"]
        done = till.run("staff", "paper-key", "--unlock-with", hers, unlocked=False)
        assert (done.exit_code, "ines is a clerk" in done.stderr) == (5, True)
        assert till.files()["keys.json"] == before


class TestPassPhrase:
    """staff passphrase: the one whose pass-phrase opened the vault changes her own."""

    def test_the_new_one_opens_and_the_old_one_no_longer(self, till: Till, hers: Path) -> None:
        new = secret(till, "new", THIRD)
        words = ["staff", "passphrase", "--pass-phrase", new, "--unlock-with", hers]
        done = till.run(*words, unlocked=False)
        assert done.stdout == "ines has a new pass-phrase; the old one opens nothing.\n"
        assert [opens(till, file) for file in (hers, new, till.key)] == [False, True, True]

    def test_it_is_typed_twice_and_never_shown(self, till: Till, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr("ledger.cli.given._must_have_a_terminal", lambda: None)
        done = till.run("staff", "passphrase", stdin=f"{THIRD}\n{THIRD}\n")
        assert done.exit_code == 0
        assert THIRD not in done.output
        assert [opens(till, till.key), opens(till, secret(till, "new", THIRD))] == [False, True]

    def test_one_that_will_not_do_changes_nothing(self, till: Till) -> None:
        before = till.files()["keys.json"]
        assert till.run("staff", "passphrase", "--pass-phrase", secret(till, "new", "short")).exit_code == 2
        done = till.run("staff", "passphrase", "--pass-phrase", till.desk / "nowhere")
        assert (done.exit_code, done.stderr.startswith("--pass-phrase:")) == (2, True)
        assert till.run("staff", "passphrase").exit_code == 5, "no terminal to ask on"
        assert till.files()["keys.json"] == before

    def test_nobody_changes_it_under_another_name(self, till: Till, hers: Path) -> None:
        till.run("unlock")
        try:
            words = ["staff", "passphrase", "--as", "ines", "--pass-phrase", secret(till, "new", THIRD)]
            done = till.run(*words, unlocked=False)
        finally:
            till.run("lock", unlocked=False)
        assert (done.exit_code, "mara, whose pass-phrase opened the vault" in done.stderr) == (2, True)
        assert opens(till, hers)

    def test_the_paper_key_has_none(self, till: Till, paper: Path) -> None:
        done = till.run("staff", "passphrase", "--unlock-with", paper, "--pass-phrase", till.key, unlocked=False)
        assert (done.exit_code, "counterfoil staff reset STAFF" in done.stderr) == (2, True)


class TestReset:
    """staff reset: an owner gives a person a new pass-phrase; with the paper key, herself too."""

    def test_a_clerk_who_forgot_hers_has_another(self, till: Till, hers: Path) -> None:
        new = secret(till, "new", THIRD)
        assert till.answer("staff", "reset", "ines", "--pass-phrase", new) == {"staff": "ines"}
        assert [opens(till, file) for file in (hers, new, till.key)] == [False, True, True]

    def test_an_owner_who_forgot_her_own_goes_on_with_the_paper_key(self, till: Till, paper: Path) -> None:
        new = secret(till, "new", THIRD)
        words = ["staff", "reset", "mara", "--pass-phrase", new, "--unlock-with", paper]
        assert till.run(*words, unlocked=False).exit_code == 0
        assert [opens(till, file) for file in (till.key, new, paper)] == [False, True, True]
        till.key = new
        assert till.record()["slip"] == 1
        assert till.answer("book", "verify")["ok"] is True

    def test_it_is_what_mends_the_keys_that_a_former_owner_could_know(self, till: Till, hers: Path) -> None:
        owner = secret(till, "owner", THIRD)
        assert till.run("staff", "add", "otto", "--role", "owner", "--pass-phrase", owner).exit_code == 0
        assert till.run("staff", "left", "otto").exit_code == 0
        shown = till.run("doctor", unlocked=False).stdout
        assert "keys of mara, ines: run `counterfoil staff reset` for each" in shown
        for staff, file in (("ines", hers), ("mara", till.key)):
            assert till.run("staff", "reset", staff, "--pass-phrase", file).exit_code == 0
        assert "none knows a key that is still in use" in till.run("doctor", unlocked=False).stdout

    def test_only_an_owner_resets_and_only_someone_who_opens_the_book(self, till: Till, hers: Path) -> None:
        before = till.files()["keys.json"]
        done = till.run("staff", "reset", "mara", "--pass-phrase", hers, "--unlock-with", hers, unlocked=False)
        assert done.exit_code == 5
        for staff in ("nobody", "paper"):
            done = till.run("staff", "reset", staff, "--pass-phrase", hers)
            assert (done.exit_code, "one of those who open the book: mara, ines" in done.stderr) == (2, True)
        assert till.files()["keys.json"] == before


class TestKeeper:
    """After a change of keys the key keeper, which holds those from before, is dismissed with a sentence."""

    @pytest.mark.parametrize(
        "words",
        [
            ("passphrase", "--pass-phrase", "NEW"),
            ("reset", "ines", "--pass-phrase", "NEW"),
            ("paper-key",),
            ("left", "ines"),
        ],
    )
    def test_it_is_dismissed(self, till: Till, hers: Path, words: tuple[str, ...]) -> None:
        new = secret(till, "new", THIRD)
        assert till.run("unlock").exit_code == 0
        try:
            done = till.run("staff", *(new if word == "NEW" else word for word in words), unlocked=False)
            assert done.exit_code == 0
            assert DISMISSED in done.stdout
        finally:
            assert till.run("lock", unlocked=False).stdout == "The vault was not open.\n"

    def test_where_none_runs_nothing_is_said(self, till: Till) -> None:
        assert DISMISSED not in till.run("staff", "paper-key").stdout

    def test_a_path_too_long_for_a_socket_does_not_matter(self, till: Till, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setenv("XDG_RUNTIME_DIR", str(till.folder / ("long" * 30)))
        with pytest.raises(StorageError):
            keeper.socket_path_for("counterfoil/" + "0" * 32, till.folder / ("long" * 30))
        assert till.run("staff", "paper-key").exit_code == 0


class TestAnOwnerLeaves:
    """staff left: a stop between its steps loses no paper key, and the command can be run again."""

    @pytest.fixture
    def otto(self, till: Till) -> None:
        file = secret(till, "ottos", OTHER)
        assert till.run("staff", "add", "otto", "--role", "owner", "--pass-phrase", file).exit_code == 0

    @pytest.mark.usefixtures("otto")
    def test_the_paper_key_is_shown_before_anything_else_can_fail(
        self, till: Till, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def fails(*_: Any, **__: Any) -> None:
            raise StorageError(path=till.book, why="the machine stopped here")

        monkeypatch.setattr("ledger.cli.people.told", fails)
        monkeypatch.setattr(opened, "close", fails)
        done = till.run("staff", "left", "otto")
        assert done.exit_code == 6
        (shown,) = (line for line in done.stdout.splitlines() if line.count("-") == 8)
        assert opens(till, secret(till, "paper", shown))

    @pytest.mark.usefixtures("otto")
    def test_a_stop_after_the_entry_is_finished_by_a_second_run(
        self, till: Till, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        with monkeypatch.context() as stopping:
            stopping.setattr(keys_file, "remove_person", lambda *_: 1 // 0)
            assert till.run("staff", "left", "otto").exit_code == 1
        assert "shown this once" in till.run("staff", "left", "otto").stdout
        assert not opens(till, till.desk / "ottos")

    @pytest.mark.usefixtures("otto")
    def test_a_paper_key_that_nobody_saw_can_be_made_again(self, till: Till) -> None:
        _keys, _unseen = keys_file.remove_person(
            till.book / "keys.json", keys_file.open_file(till.book / "keys.json", PASS_PHRASE), "otto", opened.chance
        )
        assert "run `counterfoil staff paper-key`" in till.run("staff", "left", "otto").stdout
        assert opens(till, secret(till, "paper", till.answer("staff", "paper-key")["paper_key"]))

    def test_nobody_lets_herself_go_by_the_paper_key(self, till: Till, paper: Path) -> None:
        words = ["staff", "left", "mara", "--as", "mara", "--unlock-with", paper]
        assert till.run(*words, unlocked=False).exit_code == 2
