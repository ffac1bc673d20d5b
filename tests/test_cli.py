"""The program on a terminal: help, options, exit codes, errors. What the acts do is tested with the acts."""

import ast
import json
import re
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from ledger.cli import _TABLE, main, opened
from ledger.cli.lazily import Called, LazyGroup
from ledger.errors import ForbiddenByLaw, InputError
from tests.till import MOMENT, PASS_PHRASE, RULES, Till

ROOT = Path(__file__).resolve().parent.parent
PROGRAM = [sys.executable, "-c", "from ledger.cli import main; main(prog_name='counterfoil')"]


def called(
    table: dict[str, Called | LazyGroup] = _TABLE, path: tuple[str, ...] = ()
) -> Iterator[tuple[tuple[str, ...], Called]]:
    """Every command of the table with the words that call it."""
    for name, found in table.items():
        if isinstance(found, Called):
            yield (*path, name), found
        else:
            yield from called(found.table, (*path, name))


COMMANDS = dict(called())


class TestHelp:
    """Every command explains itself, and explaining costs no more than twice what click itself costs."""

    @pytest.mark.parametrize("words", COMMANDS, ids=" ".join)
    def test_the_one_line_helps_are_the_first_sentences_of_the_commands(self, words: tuple[str, ...]) -> None:
        command = COMMANDS[words].load()
        assert command.name == words[-1]
        assert (command.help or "").split("\n\n")[0].replace("\n", " ") == COMMANDS[words].says

    def test_the_help_of_program_and_groups_names_every_command_and_imports_none(self) -> None:
        groups = [(), *((name,) for name, found in _TABLE.items() if isinstance(found, LazyGroup))]
        for group in groups:
            done = CliRunner().invoke(main, [*group, "--help"])
            assert done.exit_code == 0
            inside = {words[len(group)] for words in COMMANDS if words[: len(group)] == group}
            assert inside <= set(re.findall(r"^  ([\w-]+)", done.stdout, flags=re.M))

    def test_the_commands_of_a_group_stand_in_the_order_of_the_work(self) -> None:
        group = _TABLE["payout"]
        assert isinstance(group, LazyGroup)
        assert group.list_commands(click.Context(group)) == ["list", "owed", "paid", "failed", "reissued"]

    def test_help_loads_neither_the_database_nor_the_papers_nor_the_keys(self) -> None:
        script = (
            "import sys\nfrom ledger.cli import main\n"
            "try:\n    main(['--help'])\nexcept SystemExit:\n    pass\n"
            "print(sorted(m for m in sys.modules if m.split('.')[0] in"
            " ('sqlalchemy', 'reportlab', 'cryptography', 'rich', 'reports') or m.startswith('ledger.')))"
        )
        done = subprocess.run([sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=True)
        assert ast.literal_eval(done.stdout.splitlines()[-1]) == [
            "ledger.cli",
            "ledger.cli.lazily",
            "ledger.cli.options",
        ]

    def test_help_costs_at_most_twice_what_importing_click_costs(self) -> None:
        def seconds(code: str) -> float:
            begun = time.perf_counter()
            subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, check=False)
            return time.perf_counter() - begun

        # Interleaved pairs, so that a busy machine is busy for both; the best of each is what it costs.
        pairs = [(seconds("import click"), seconds("from ledger.cli import main; main(['--help'])")) for _ in range(7)]
        assert min(ours for _, ours in pairs) <= 2 * min(floor for floor, _ in pairs)

    def test_the_version_is_the_one_that_entries_bear(self) -> None:
        from ledger.acts.opening import PROGRAM as version

        assert CliRunner().invoke(main, ["--version"]).stdout == f"counterfoil {version}\n"

    def test_the_exit_codes_stand_in_the_help(self) -> None:
        shown = CliRunner().invoke(main, ["--help"]).stdout
        assert re.findall(r"\b([0-8]) [a-z]", shown.split("Exit codes:")[1]) == list("012345678")

    def test_a_command_that_does_not_exist_ends_with_2(self) -> None:
        done = CliRunner().invoke(main, ["slip", "shred"])
        assert (done.exit_code, done.stdout) == (2, "")
        assert "No such command 'shred'" in done.stderr


class TestOptions:
    """`--book DIR` (or COUNTERFOIL_BOOK), `--json`, `--unlock-with` and `--as`, before or after the command."""

    def test_the_book_may_be_named_before_or_after_the_command_or_by_the_environment(
        self, till: Till, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        runner = CliRunner()
        assert runner.invoke(main, ["--book", str(till.book), "staff", "list"]).exit_code == 0
        assert runner.invoke(main, ["staff", "list", "--book", str(till.book)]).exit_code == 0
        monkeypatch.setenv("COUNTERFOIL_BOOK", str(till.book))
        assert runner.invoke(main, ["staff", "list"]).exit_code == 0
        assert runner.invoke(main, ["staff", "list", "--book", str(till.folder / "no")]).exit_code == 2

    def test_json_may_be_asked_for_before_or_after(self, till: Till) -> None:
        before = till.run("--json", "staff", "list").stdout
        after = till.run("staff", "list", "--json").stdout
        assert json.loads(before) == json.loads(after) == till.answer("staff", "list")

    def test_without_a_book_one_sentence_says_how_to_name_it(self, till: Till) -> None:
        done = till.run("slip", "list", book=False)
        assert done.exit_code == 2
        assert "--book" in done.stderr
        assert "COUNTERFOIL_BOOK" in done.stderr

    def test_as_names_who_acts_and_must_be_somebody_of_the_shop(self, till: Till) -> None:
        assert till.run("slip", "list", "--as", "stranger", unlocked=False).exit_code == 2
        entry = till.answer("day", "close", "--as", "mara", unlocked=False)["entry"]
        assert till.entry(entry).by == "mara"

    def test_an_entry_bears_whose_pass_phrase_opened_the_vault(self, till: Till) -> None:
        assert till.entry(till.answer("day", "close")["entry"]).by == "mara"

    def test_an_entry_of_a_locked_book_bears_the_program(self, till: Till) -> None:
        closed = till.answer("day", "close", unlocked=False)
        assert (till.entry(closed["entry"]).by, closed["seal"]) == ("program", None)


class TestPassPhrase:
    """Unlocking: by a file of mode 0600 or standard input, never by command line or environment."""

    def test_it_comes_from_standard_input_before_anything_else_does(self, till: Till) -> None:
        order = (
            'items = ["1/1"]\nagency = "A"\nofficer = "B"\npower = "C"\nform = "spoken"\n'
            'from = "2026-11-24T10:10:00-05:00[America/New_York]"\n'
        )
        till.record()
        both = f"{PASS_PHRASE}\n{order}"
        assert till.run("hold", "order", "-", "--unlock-with", "-", stdin=both, unlocked=False).exit_code == 0

    def test_a_file_that_others_can_read_is_not_taken(self, till: Till) -> None:
        till.key.chmod(0o640)
        done = till.run("slip", "record", till.slip())
        assert (done.exit_code, done.stdout) == (5, "")
        assert done.stderr == (
            f"The vault is locked: {till.key} has mode 0640, so others may read the pass-phrase;"
            f" run `chmod 600 {till.key}` and try again.\n"
        )

    def test_a_wrong_one_ends_with_5(self, till: Till) -> None:
        till.key.write_text("another pass-phrase\n")
        assert till.run("slip", "record", till.slip()).exit_code == 5

    def test_one_that_is_no_text_and_a_file_that_is_not_there_end_with_2(self, till: Till) -> None:
        till.key.write_bytes(b"\xff\xfe\n")
        assert till.run("staff", "list").exit_code == 2
        till.key.unlink()
        assert till.run("staff", "list").exit_code == 2

    def test_what_needs_the_vault_says_so_while_it_is_locked(self, till: Till) -> None:
        done = till.run("slip", "record", till.slip(), unlocked=False)
        assert done.exit_code == 5
        assert done.stderr == (
            "The vault of this book is locked: unlock it with `counterfoil unlock`, or give --unlock-with FILE.\n"
        )

    def test_it_is_asked_for_only_on_a_terminal(self, till: Till) -> None:
        done = till.run("unlock", unlocked=False)
        assert (done.exit_code, "no terminal" in done.stderr) == (5, True)

    def test_a_key_keeper_opens_the_vault_until_it_is_dismissed_and_nothing_shows_the_phrase(self, till: Till) -> None:
        told = till.run("unlock", "--minutes", 5)
        assert told.exit_code == 0
        assert till.run("book", "verify", "--level", "parts", unlocked=False).exit_code == 0
        seen = processes()
        assert "ledger.vault.keeper" in seen
        assert PASS_PHRASE not in seen + told.output
        assert till.answer("lock", unlocked=False) == {"was_open": True}
        assert till.answer("lock", unlocked=False) == {"was_open": False}
        assert till.run("book", "verify", "--level", "parts", unlocked=False).exit_code == 5

    def test_a_typed_one_opens_the_vault_too(self, till: Till, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr("ledger.cli.given.typed_pass_phrase", lambda: PASS_PHRASE)
        assert till.run("unlock", unlocked=False).exit_code == 0
        assert till.run("unlock", unlocked=False).exit_code == 6, "one runs already"
        assert till.run("lock", unlocked=False).exit_code == 0

    def test_where_there_is_no_key_keeper_it_is_said(self, till: Till, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr("ledger.cli.books.has_keeper", lambda: False)
        done = till.run("unlock")
        assert (done.exit_code, "has no key keeper" in done.stderr) == (6, True)

    def test_a_folder_too_long_for_a_keeper_stops_no_command_that_needs_none(self, till: Till) -> None:
        till.monkeypatch.setenv("XDG_RUNTIME_DIR", "/" + "a" * 120)
        assert till.run("report", "due", unlocked=False).exit_code in (0, 8)
        assert till.run("unlock").exit_code == 6


def processes() -> str:
    """Command lines and environments of all processes, as far as they can be read."""
    seen = []
    for place in Path("/proc").glob("[0-9]*"):
        for name in ("cmdline", "environ"):
            try:
                seen.append((place / name).read_bytes().replace(b"\0", b" ").decode(errors="replace"))
            except OSError:
                continue
    return "\n".join(seen)


class TestErrors:
    """LedgerError: one sentence on standard error and its exit code; with --json one document; never a traceback."""

    def test_an_error_is_one_sentence_on_standard_error(self, till: Till) -> None:
        done = till.run("slip", "show", 9)
        assert (done.exit_code, done.stdout) == (2, "")
        assert done.stderr == "slip: 9 was given; wanted is the number of a slip in this book.\n"

    def test_with_json_it_is_one_document_on_standard_output(self, till: Till) -> None:
        done = till.run("slip", "show", 9, "--json")
        assert (done.exit_code, done.stderr) == (2, "")
        assert json.loads(done.stdout) == {
            "error": {
                "kind": "InputError",
                "says": "slip: 9 was given; wanted is the number of a slip in this book.",
                "exit_code": 2,
                "field": "slip",
                "given": 9,
                "wanted": "the number of a slip in this book",
            }
        }

    def test_the_law_says_no_as_a_document_with_its_sentences(self, till: Till) -> None:
        error = till.answer("slip", "record", till.slip(("parties.0.birth_date", "2012-01-01")), code=7)["error"]
        (sentence,) = error["sentences"]
        assert "under eighteen" in sentence
        assert "Test Town Code 2 (invented)" in sentence
        assert "duties" not in error

    def test_a_command_called_wrongly_is_a_document_too(self, till: Till) -> None:
        error = till.answer("slip", "show", "nine", code=2)["error"]
        assert (error["kind"], error["exit_code"]) == ("UsageError", 2)
        assert "'nine' is not a valid integer" in error["says"]

    @pytest.mark.parametrize("json_too", [False, True])
    def test_a_fault_of_the_program_is_named_by_kind_and_place_only(
        self, till: Till, monkeypatch: pytest.MonkeyPatch, json_too: bool
    ) -> None:
        def broken(*_: object, **__: object) -> None:
            raise KeyError("Jonah Averill")

        monkeypatch.setattr("ledger.acts.recording.check", broken)
        done = till.run("slip", "check", till.slip(), *(["--json"] if json_too else []))
        assert done.exit_code == 1
        assert "Averill" not in done.output
        assert "Traceback" not in done.output
        said = json.loads(done.stdout)["error"]["says"] if json_too else done.stderr
        assert re.match(
            r"This is a fault of the program \(KeyError at tests/test_cli.py, line \d+\): report it, and run the"
            r" command again with COUNTERFOIL_DEBUG=1 to see more\.",
            said,
        )

    def test_the_traceback_is_shown_only_where_it_was_asked_for(
        self, till: Till, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr("ledger.cli.opened.folder", lambda asked: 1 // 0)
        monkeypatch.setenv("COUNTERFOIL_DEBUG", "1")
        done = till.run("staff", "list")
        assert (done.exit_code, "ZeroDivisionError" in done.stderr, "Traceback" in done.stderr) == (1, True, True)

    def test_an_error_from_elsewhere_has_an_unknown_place(self) -> None:
        from ledger.cli import failing
        from ledger.cli.options import Asked

        runner = CliRunner()

        @click.command()
        def stop() -> None:
            failing.stop(ValueError("somebody's words"), Asked())

        done = runner.invoke(stop)
        assert (done.exit_code, "ValueError at an unknown place" in done.stderr) == (1, True)

    def test_the_members_of_an_error_are_texts_numbers_and_lists_of_texts(self) -> None:
        from ledger.cli.failing import members
        from ledger.errors import BookError, ChainBroken, StorageError

        assert members(ChainBroken(seq=3, expected=b"\x01", found=b"\x02")) == {
            "seq": 3,
            "expected": "01",
            "found": "02",
        }
        assert members(StorageError(path=Path("/x"), why="full")) == {"path": "/x", "why": "full"}
        assert members(InputError(field="f", given=[1], wanted="w")) == {"field": "f", "wanted": "w"}
        assert members(ForbiddenByLaw(what="w", sentences=("a",), duties=(1,))) == {"what": "w", "sentences": ["a"]}
        assert members(BookError("plain")) == {}


class TestExitCodes:
    """0 done; 1 other; 2 bad input; 3 not sound; 4 rules; 5 locked; 6 storage; 7 the law says no; 8 open."""

    def test_0_a_purchase_is_recorded_and_the_book_is_sound(self, till: Till) -> None:
        assert till.run("slip", "record", till.slip(), "--no-papers").exit_code == 0
        assert till.answer("book", "verify")["ok"] is True

    def test_3_a_changed_byte_is_found(self, till: Till) -> None:
        till.tamper("UPDATE entries SET bytes = CAST(replace(bytes, 'mara', 'lara') AS BLOB) WHERE seq = 1")
        found = till.answer("book", "verify", "--level", "chain", code=3)
        assert found["ok"] is False
        assert found["faults"][0]["seq"] in (1, 2)
        assert "NOT SOUND" in till.run("book", "verify").stdout

    def test_3_a_rewritten_book_does_not_lead_to_a_seal_that_somebody_kept(self, till: Till) -> None:
        kept = till.keep("stub.txt", till.run("book", "seal").stdout)
        assert till.run("book", "verify", "--against", kept).exit_code == 0
        assert till.run("book", "verify", "--against", "-", stdin=kept.read_bytes()).exit_code == 0
        short = till.answer("book", "seal")["seal"]
        assert till.run("book", "verify", "--against", short).exit_code == 0
        other = short[:-3] + ("AAA" if not short.endswith("AAA") else "BBB")
        assert till.run("book", "verify", "--against", other).exit_code == 3

    def test_3_another_key_than_the_one_from_outside(self, till: Till) -> None:
        own = till.answer("book", "seal")["fingerprint"]
        assert till.run("book", "verify", "--key", own).exit_code == 0
        assert till.run("book", "verify", "--key", "00" * 32).exit_code == 3

    def test_4_a_rule_file_with_a_fault(self, till: Till) -> None:
        wrong = till.keep("wrong.toml", RULES.replace('layer = "city"', 'layer = "hamlet"'))
        found = till.answer("law", "check", wrong, code=4, unlocked=False, book=False)
        assert found["faults"]
        assert not found["ok"]
        assert till.run("law", "adopt", wrong).exit_code == 4

    def test_4_a_day_of_which_no_rule_file_speaks(self, till: Till) -> None:
        early = ("occurred_at", "2019-06-03T10:05:00-04:00[America/New_York]")
        done = till.run("slip", "check", till.slip(early, ("parties.0.documents.0.issued", "2018-03-01")))
        assert (done.exit_code, "2019-06-03" in done.stderr) == (4, True)

    def test_5_a_level_that_cannot_be_opened(self, till: Till) -> None:
        assert till.run("book", "verify", "--level", "parts", unlocked=False).exit_code == 5
        plain = till.answer("book", "verify", unlocked=False)
        assert {level["level"] for level in plain["not_opened"]} >= {"tables", "parts"}

    def test_6_a_database_that_is_none(self, till: Till) -> None:
        (till.book / "book.sqlite").write_bytes(b"not a database, and longer than a header of a hundred bytes" * 9)
        done = till.run("slip", "list", unlocked=False)
        assert (done.exit_code, done.stderr.count("\n")) == (6, 1)

    def test_6_a_folder_in_which_a_book_must_not_lie(self, till: Till) -> None:
        done = till.run("init", till.folder / "Dropbox" / "book", book=False)
        assert (done.exit_code, "mirrored" in done.stderr) == (6, True)

    def test_7_a_broken_duty(self, till: Till) -> None:
        young = till.slip(("parties.0.birth_date", "2012-01-01"))
        assert till.answer("slip", "check", young, code=7)["exit_code"] == 7
        before = till.files()
        assert till.run("slip", "record", young).exit_code == 7
        assert till.files() == before

    def test_8_an_undecided_duty_until_a_person_answers(self, till: Till) -> None:
        silent = till.slip(("parties.0.observed", None))
        assert till.run("slip", "check", silent).exit_code == 8
        before = till.files()
        assert till.run("slip", "record", silent).exit_code == 8
        assert till.files() == before
        answer = "xx-test-town/intoxicated=sober, by his speech and walk"
        assert till.run("slip", "check", silent, "--answer", answer).exit_code == 0
        assert till.run("slip", "record", silent, "--answer", answer, "--no-papers").exit_code == 0

    def test_8_a_report_that_is_owed(self, till: Till) -> None:
        assert till.run("report", "due", unlocked=False).exit_code == 0
        till.record()
        assert till.run("report", "due", unlocked=False).exit_code == 8

    def test_8_a_rule_file_that_nobody_compared_with_the_law_since(self, till: Till) -> None:
        rules = till.keep("town.toml", RULES)
        assert till.run("law", "check", rules, "--stale", unlocked=False, book=False).exit_code == 0
        till.now = MOMENT.replace(year=2028)
        assert till.run("law", "check", rules, unlocked=False, book=False).exit_code == 0
        assert till.run("law", "check", rules, "--stale", unlocked=False, book=False).exit_code == 8


class TestTheClock:
    """Here alone the program looks at the clock and draws chance."""

    def test_the_clock_is_the_machines_own_in_utc(self) -> None:
        now = opened.clock()
        assert now.utcoffset() is not None
        assert abs(now.timestamp() - time.time()) < 60

    def test_as_a_process_it_ends_with_the_same_code_and_no_traceback(self, till: Till) -> None:
        words = ["slip", "show", "9", "--book", str(till.book), "--unlock-with", str(till.key)]
        done = subprocess.run([*PROGRAM, *words], cwd=ROOT, capture_output=True, text=True, check=False)
        assert (done.returncode, done.stdout) == (2, "")
        assert done.stderr == "slip: 9 was given; wanted is the number of a slip in this book.\n"
