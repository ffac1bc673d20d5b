"""The rest of a day on a terminal: goods, money, reports, questions, people, rules, the bench, and care of the book."""

import hashlib
import json
import os
import re
import stat
import tomllib
import types
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from click.testing import CliRunner
from pypdf import PdfReader

from ledger.cli import given, main, opened, papers, places, said
from ledger.cli.options import Asked
from ledger.errors import InputError, LockedError, StorageError
from tests.shops import Shop
from tests.till import FACTS, MOMENT, PASS_PHRASE, RULES, Till

ORDER = {
    "items": ["1/1"],
    "agency": "Test Town Police",
    "officer": "Canary Officer",
    "case": "C-77",
    "power": "Test Town Code 9 (invented)",
    "from": "2026-11-24T10:10:00-05:00[America/New_York]",
    "form": "written",
}


def text_of(path: str) -> str:
    """A paper as text, lines joined."""
    return " ".join("\n".join(page.extract_text() for page in PdfReader(path).pages).split())


class TestItems:
    """item show, move, out: out is refused with rule, section and the moment it may leave; exit 7."""

    def test_an_item_is_shown_with_evidence_holds_and_history(self, till: Till) -> None:
        till.record()
        shown = till.run("item", "show", "1/1", unlocked=False).stdout
        assert "in stock" in shown
        assert "(Test Town Code 4 (invented); rule hold-ten-days of xx-test-town)" in shown
        found = till.answer("item", "show", "1/1")
        assert (found["gross_mg"], found["offer"]) == (4200, {"currency": "USD", "minor": 12000})
        assert [entry["kind"] for entry in found["entries"]] == ["presented/0", "purchase/0"]

    def test_what_no_number_names_ends_with_2(self, till: Till) -> None:
        assert till.run("item", "show", "1-1").exit_code == 2
        assert till.run("item", "show", "1/1").exit_code == 2

    def test_it_may_not_leave_while_a_hold_runs(self, till: Till) -> None:
        till.record()
        done = till.run("item", "out", "1/1", "sold")
        assert done.exit_code == 7
        # Bought on 24 November; ten days after that day end when 5 December begins.
        for word in ("hold-ten-days", "Test Town Code 4 (invented)", "before 2026-12-05 00:00 America/New_York"):
            assert word in done.stderr

    def test_it_leaves_when_the_hold_has_run_out(self, till: Till) -> None:
        till.record()
        till.now = MOMENT + timedelta(days=11)
        buyer = till.keep("buyer.txt", "Canary Buyer\n")
        done = till.answer(
            "item", "out", "1/1", "sold", "--to", buyer, "--because", "@" + str(till.keep("why", "asked"))
        )
        assert till.entry(done["entry"]).public == {"state": "sold"}
        assert till.answer("item", "show", "1/1")["state"] == "sold"
        assert till.run("item", "out", "1/1", "sold").exit_code == 2
        assert till.run("hold", "list").stdout == "Nothing is in stock.\n"

    def test_a_move_says_where_it_lies(self, till: Till) -> None:
        till.record()
        till.answer("item", "move", "1/1", "safe 2", "--known-as", "premises", "--because", "night")
        assert till.answer("item", "show", "1/1")["place"] == "safe 2"

    def test_labels_say_from_when_and_nothing_about_the_seller(self, till: Till) -> None:
        till.record()
        (path,) = till.answer("item", "label", 1)["papers"]
        label = text_of(path)
        assert "5 Dec" in label
        assert "Averill" not in label

    def test_weights_that_are_not_known_say_so(self, till: Till) -> None:
        till.record()
        assert re.search(r"fine not known|fine \d", till.run("item", "show", "1/1").stdout)


class TestHolds:
    """hold list, order, lift: what may not leave yet, and an authority's orders, whose words lie in the vault."""

    def test_an_order_holds_until_it_is_lifted_and_names_nobody(self, till: Till) -> None:
        till.record()
        till.now = MOMENT + timedelta(days=11)
        name = till.answer("hold", "order", till.keep("order.json", ORDER))["order"]
        assert till.answer("hold", "list")["items"][0]["orders"] == [name]
        assert f"held by an authority's order ({name})" in till.run("hold", "list").stdout
        assert "held by an authority's order" in till.run("item", "show", "1/1").stdout
        assert till.run("item", "out", "1/1", "sold").exit_code == 7
        lifting = till.keep("lift.toml", 'by = "Canary Officer"\nform = "spoken"\n')
        assert till.run("hold", "lift", name, lifting).exit_code == 0
        assert till.run("hold", "lift", name, lifting).exit_code == 2
        assert till.run("item", "out", "1/1", "sold").exit_code == 0
        for path in till.book.rglob("*"):
            assert path.is_dir() or b"Canary Officer" not in path.read_bytes(), path

    def test_an_order_on_what_has_left_stands_and_says_that_it_has(self, till: Till) -> None:
        till.record()
        till.now = MOMENT + timedelta(days=11)
        file = till.keep("order.json", ORDER)
        assert till.answer("hold", "order", file)["not_in_stock"] == {}
        till.run("item", "out", "1/1", "surrendered")
        assert till.answer("hold", "order", file)["not_in_stock"] == {"1/1": "surrendered"}
        assert "item 1/1 is not in stock (surrendered), tell the authority" in till.run("hold", "order", file).stdout

    def test_a_lift_needs_who_and_in_which_form(self, till: Till) -> None:
        till.record()
        name = till.answer("hold", "order", till.keep("order.json", ORDER))["order"]
        for wrong in ({"by": "A"}, {"by": "", "form": "spoken"}, {"by": "A", "form": "sung"}, {"by": "A", "x": "y"}):
            assert till.run("hold", "lift", name, till.keep("lift.json", wrong)).exit_code == 2

    def test_the_list_names_what_is_held_and_can_be_drawn(self, till: Till) -> None:
        till.record()
        found = till.answer("hold", "list", "--paper")
        assert found["items"][0]["cautious"] == "2026-12-05T00:00:00-05:00[America/New_York]"
        assert "1/1" in text_of(found["papers"][0])
        till.now = MOMENT + timedelta(days=11)
        assert len(till.answer("hold", "list")["items"]) == 1
        assert till.answer("hold", "list", "--held")["items"] == []
        assert till.run("hold", "list", "--held").stdout == "Nothing in stock is held.\n"


class TestPayouts:
    """payout owed, paid, failed, reissued: what became of the money."""

    def test_a_cheque_that_bounced_is_paid_by_another_way(self, till: Till) -> None:
        till.record()
        assert till.answer("payout", "owed", code=8)["payouts"][0]["state"] == "owed"
        number = till.keep("number", "cheque 1207\n")
        assert till.run("payout", "paid", 1, "--reference", number).exit_code == 0
        assert till.run("payout", "owed").stdout == "Nothing is owed.\n"
        assert till.run("payout", "failed", 1).exit_code == 0
        assert till.run("payout", "owed").exit_code == 8
        assert till.run("payout", "reissued", 1, "--instrument", "transfer").exit_code == 0
        assert till.run("payout", "paid", 1, "--instrument", "transfer").exit_code == 0
        assert [(p["state"], p["instrument"]) for p in till.answer("payout", "list")["payouts"]] == [
            ("paid", "transfer")
        ]
        assert till.run("payout", "failed", 2).exit_code == 2

    def test_an_empty_book_owes_nothing(self, till: Till) -> None:
        assert till.run("payout", "list").stdout == "No payout is in the book.\n"
        assert till.run("payout", "owed").exit_code == 0


class TestReports:
    """report due, make, sent, received."""

    def test_a_report_is_due_then_late_then_made_sent_and_received(self, till: Till) -> None:
        till.record()
        (owed,) = till.answer("report", "due", code=8, unlocked=False)["reports"]
        name = owed["report"]
        # The rule: within 48 hours of the purchase at 10:05 on the 24th.
        assert (owed["due"], owed["late"]) == ("2026-11-26T10:05:00-05:00[America/New_York]", False)
        till.now = MOMENT + timedelta(days=3)
        assert till.run("report", "due").stdout.splitlines()[1].endswith("late: not sent by the time it was due")
        made = till.answer("report", "make", name)
        assert "Averill" in text_of(made["papers"][0])
        assert "is made" in till.run("report", "make", name).stdout
        assert till.run("report", "received", "no-such", till.keep("who.json", {"who": "Desk"})).exit_code == 2
        assert till.run("report", "sent", name, "--how", "by hand").exit_code == 0
        receipt = till.keep("who.json", {"who": "Desk", "reference": "R-9"})
        assert till.run("report", "received", name, receipt).exit_code == 0
        assert till.run("report", "due").stdout == "No report is owed.\n"


class TestRates:
    """report rates: late and wrong by month, and receipts that name wrong fields."""

    def test_a_month_without_reports_then_one_late_and_named_wrong(self, till: Till) -> None:
        assert till.run("report", "rates", unlocked=False).stdout == "No report was due yet.\n"
        till.record()
        name = till.answer("report", "due", code=8, unlocked=False)["reports"][0]["report"]
        till.now = MOMENT + timedelta(days=3)
        till.answer("report", "make", name)
        till.answer("report", "sent", name, "--how", "by hand")
        for bad in ("seller.birth_date", [" "], [1]):
            receipt = till.keep("who.json", {"who": "Desk", "wrong": bad})
            assert till.run("report", "received", name, receipt).exit_code == 2
        till.answer("report", "received", name, till.keep("who.json", {"who": "Desk", "wrong": ["seller.birth_date"]}))
        (rate,) = till.answer("report", "rates")["months"]
        assert (rate["month"], rate["due"], rate["late"], rate["out"], rate["wrong"]) == ("2026-11", 1, 1, 1, 1)
        assert (rate["late_tenths"], rate["named"]) == (1000, 1)
        assert till.run("report", "rates").stdout.splitlines()[1].split() == (
            ["2026-11", "1", "1", "100.0", "%", "1", "1", "100.0", "%"]
        )


class TestDays:
    """day close: counts, and a seal when the vault is open."""

    def test_a_day_is_closed_once(self, till: Till) -> None:
        till.record()
        closed = till.answer("day", "close")
        assert closed["day"] == "2026-11-24"
        assert closed["counts"]["slips_recorded"] == 1
        assert re.fullmatch(r"\d+-[A-Z2-7]{20}", closed["seal"])
        again = till.run("day", "close", "2026-11-24")
        assert (again.exit_code, again.stderr.count("\n")) == (2, 1)
        assert till.run("day", "close", "yesterday").exit_code == 2

    def test_without_the_keys_it_holds_counts_and_no_seal(self, till: Till) -> None:
        assert "No seal was signed: the vault is locked." in till.run("day", "close", unlocked=False).stdout
        assert till.run("day", "close", "2026-11-25").exit_code == 2, "that day has not begun"
        till.now = MOMENT + timedelta(days=1)
        assert "Seal: " in till.run("day", "close", "2026-11-25").stdout

    def test_the_sheet_of_a_day_is_drawn(self, till: Till) -> None:
        till.record()
        (path,) = till.answer("day", "sheet", "2026-11-24")["papers"]
        assert "ring, yellow metal" in text_of(path)


class TestInquiries:
    """inquiry search and dossier: a search that finds nothing ends with 0."""

    def test_words_alone_look_and_write_nothing(self, till: Till) -> None:
        till.record()
        before = till.files()
        found = till.answer("inquiry", "search", "14K", "ring")
        assert [pointer["item"] for pointer in found["pointers"]] == ["1/1"]
        assert found["entry"] is None
        assert "1 pointer in" in till.run("inquiry", "search", "14K", "ring").stdout
        nothing = till.run("inquiry", "search", "platinum", "tiara")
        assert (nothing.exit_code, nothing.stdout.startswith("Nothing found in entries 0 to")) == (0, True)
        assert till.files() == before

    def test_a_question_from_a_file_is_kept_and_names_nobody_in_clear(self, till: Till) -> None:
        till.record()
        asked = till.keep("asked.toml", 'question = "ring 14K"\nagency = "Canary Agency"\ncase = "C-77"\n')
        done = till.run("inquiry", "search", "--file", asked)
        assert "Kept as entry" in done.stdout
        entry = till.answer("inquiry", "search", "--file", "-", stdin=asked.read_bytes())["entry"]
        assert till.entry(entry).kind == "inquiry/0"
        for path in till.book.rglob("*"):
            assert path.is_dir() or b"Canary Agency" not in path.read_bytes(), path

    @pytest.mark.parametrize("words", [[], ["ring", "--file", "x"]])
    def test_a_question_is_either_words_or_a_file(self, till: Till, words: list[str]) -> None:
        assert till.run("inquiry", "search", *words).exit_code == 2

    def test_a_book_without_a_seal_says_none(self, till: Till) -> None:
        till.tamper("DELETE FROM seals")
        assert till.answer("inquiry", "search", "ring")["seal"] is None

    def test_a_dossier_shows_the_parties_only_where_the_basis_reaches_them(self, till: Till) -> None:
        till.record()
        request = {"recipient": "Test Town Police", "basis": "Test Town Code 9 (invented)"}
        (plain,) = till.answer("inquiry", "dossier", "1/1", till.keep("ask.json", request))["papers"]
        assert "Averill" not in text_of(plain)
        request_all: dict[str, Any] = {**request, "parties": True}
        (whole,) = till.answer("inquiry", "dossier", "1/1", till.keep("ask.json", request_all))["papers"]
        assert "Averill" in text_of(whole)
        assert Path(whole).name == "dossier-1-1-2.pdf", "the first paper is not written over"
        wrong: dict[str, Any] = {**request, "parties": "yes"}
        assert till.run("inquiry", "dossier", "1/1", till.keep("ask.json", wrong)).exit_code == 2


class TestPeople:
    """Staff with pass-phrases of their own; the shop's facts from a day on."""

    def test_a_clerk_comes_opens_the_book_and_leaves(self, till: Till) -> None:
        hers = till.keep("hers", "ten small boats in the rain\n")
        hers.chmod(0o600)
        name = till.keep("name", "Canary Clerk\n")
        assert till.run("staff", "add", "ines", "--name", name, "--pass-phrase", hers).exit_code == 0
        assert till.run("staff", "add", "ines", "--pass-phrase", hers).exit_code == 2
        words = ["--unlock-with", hers]
        assert till.run("slip", "record", till.slip(), "--no-papers", *words, unlocked=False).exit_code == 0
        assert till.run("staff", "add", "otto", "--pass-phrase", hers, *words, unlocked=False).exit_code == 5
        assert till.run("staff", "left", "mara", *words, unlocked=False).exit_code == 5
        people = till.answer("staff", "list", unlocked=False)["staff"]
        assert [(one["staff"], one["role"], one["opens_the_book"]) for one in people] == [
            ("ines", "clerk", True),
            ("mara", "owner", True),
        ]
        assert "no longer" in till.run("staff", "left", "ines", "--until", "2026-11-24").stdout
        assert till.run("book", "seal", *words, unlocked=False).exit_code == 5
        assert [one["opens_the_book"] for one in till.answer("staff", "list")["staff"]] == [False, True]
        assert till.answer("staff", "left", "ines")["paper_key"] is None, "she has no slot any more"

    def test_an_owner_who_leaves_brings_a_new_paper_key(self, till: Till) -> None:
        hers = till.keep("hers", "ten small boats in the rain\n")
        hers.chmod(0o600)
        assert till.run("staff", "add", "ines", "--role", "owner", "--pass-phrase", hers).exit_code == 0
        shown = till.run("staff", "left", "ines").stdout
        assert "The new paper key, shown this once" in shown
        assert till.run("staff", "add", "ines", "--role", "owner", "--pass-phrase", hers).exit_code == 0
        assert till.answer("staff", "left", "ines")["paper_key"]

    def test_nobody_lets_herself_go(self, till: Till) -> None:
        assert till.run("staff", "left", "mara").exit_code == 2

    def test_someone_with_a_slot_and_no_entry_is_added_all_the_same(
        self, till: Till, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        hers = till.keep("hers", "ten small boats in the rain\n")
        hers.chmod(0o600)
        with monkeypatch.context() as failing:
            failing.setattr("ledger.acts.setting_up.add_person", lambda *_: 1 // 0)
            assert till.run("staff", "add", "ines", "--pass-phrase", hers).exit_code == 1
        assert till.run("staff", "add", "ines", "--pass-phrase", hers).exit_code == 0

    def test_facts_hold_from_their_day_on(self, till: Till) -> None:
        shown = till.run("shop", "facts", unlocked=False).stdout
        assert re.search(r"^name +The Test Counter$", shown, re.M)
        assert re.search(r"^recipients +police = Test Town Police, property desk$", shown, re.M)
        new = till.keep("facts.toml", FACTS.replace("The Test Counter", "The New Counter"))
        assert till.run("shop", "facts", new).exit_code == 0
        assert till.answer("shop", "facts")["name"] == "The New Counter"

    def test_facts_are_entered_by_a_person_and_not_as_the_form_has_them(self, till: Till) -> None:
        new = till.keep("facts.toml", FACTS.replace("The Test Counter", "Your shop's name"))
        done = till.run("shop", "facts", new)
        assert done.exit_code == 2
        assert done.stderr == (
            "name: \"Your shop's name\" was given; wanted is your shop's own, in place of the words of the form.\n"
        )
        assert till.run("shop", "facts", till.keep("facts.toml", FACTS), unlocked=False).exit_code == 5


class TestInit:
    """init: a new book in DIR, and the paper key shown once."""

    def test_a_new_book_is_made_from_facts_and_settings(self, till: Till) -> None:
        folder = till.folder / "new"
        facts = till.keep("facts.toml", FACTS)
        settings = till.keep("settings.toml", '[papers]\nsheet = "a4"\n')
        words = ["init", folder, "--as", "ada", "--facts", facts, "--settings", settings]
        made = till.answer(*words, book=False)
        assert made["owner"] == "ada"
        assert len(made["paper_key"]) > 20
        assert (folder / "settings.toml").read_bytes() == settings.read_bytes()
        done = CliRunner().invoke(main, ["--book", str(folder), "--unlock-with", str(till.key), "book", "verify"])
        assert done.exit_code == 0
        assert till.run(*words, book=False).exit_code == 2, "the folder holds something now"

    def test_the_owner_is_told_what_cannot_be_undone_and_what_comes_next(self, till: Till) -> None:
        shown = till.run("init", till.folder / "new", book=False).stdout
        assert "everything personal in the book is lost" in shown
        assert f"fill in {till.folder / 'new' / 'shop.toml'}" in shown
        assert (till.folder / "new" / "shop.toml").is_file()

    def test_the_pass_phrase_is_typed_twice_on_a_terminal(self, till: Till, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr("ledger.cli.given._must_have_a_terminal", lambda: None)
        twice = f"{PASS_PHRASE}\n{PASS_PHRASE}\n"
        done = till.run("init", till.folder / "new", stdin=twice, unlocked=False, book=False)
        assert done.exit_code == 0
        assert PASS_PHRASE not in done.output
        folder = str(till.folder / "new")
        done = CliRunner().invoke(main, ["--book", folder, "unlock"], input=PASS_PHRASE + "\n")
        assert done.exit_code == 0
        assert PASS_PHRASE not in done.output
        assert CliRunner().invoke(main, ["--book", folder, "lock"]).exit_code == 0

    def test_without_a_terminal_it_must_come_from_a_file(self, till: Till) -> None:
        assert till.run("init", till.folder / "new", unlocked=False, book=False).exit_code == 5
        assert not (till.folder / "new").exists()


class TestBook:
    """book verify, seal, rebuild."""

    def test_the_tables_can_be_made_anew(self, till: Till) -> None:
        till.record()
        till.tamper("UPDATE items SET words = 'a brass curtain ring'")
        found = till.answer("book", "verify", code=3)
        assert {fault["level"] for fault in found["faults"]} == {"tables"}
        assert till.run("book", "rebuild").exit_code == 0
        assert till.answer("book", "verify")["ok"] is True

    def test_what_is_held_against_the_book_must_be_text(self, till: Till) -> None:
        assert till.run("book", "verify", "--against", till.keep("stub", b"\xff\xfe")).exit_code == 2
        assert till.run("book", "verify", "--against", till.desk / "nowhere").exit_code == 2

    def test_what_was_not_opened_is_said(self, till: Till) -> None:
        shown = till.run("book", "verify", unlocked=False).stdout
        assert "Not opened: tables: the vault is locked" in shown

    def test_one_level_works_out_no_root(self, till: Till) -> None:
        assert "root not worked out" in till.run("book", "verify", "--level", "forms").stdout


class TestDoctor:
    """doctor says how the book is kept on this machine and what to mend; refuses network and mirrored folders."""

    def findings(self, till: Till, code: int) -> dict[str, dict[str, str]]:
        found = till.answer("doctor", code=code, unlocked=False)
        assert found["ok"] is (code == 0)
        return {finding["what"]: finding for finding in found["findings"]}

    def test_all_is_well(self, till: Till) -> None:
        found = self.findings(till, 0)
        assert "journal TRUNCATE" in found["database"]["says"] or "journal WAL" in found["database"]["says"]
        assert found["key keeper"]["says"] == "does not run: the vault is closed"
        assert "fontpkg-arimo" in found["fonts"]["says"]
        assert "of the system" in found["time zones"]["says"] or "tzdata" in found["time zones"]["says"]

    def test_it_names_the_database_that_the_settings_name(self, shop: Shop) -> None:
        done = CliRunner().invoke(main, ["doctor", "--book", str(shop.book.folder)])
        name = {"sqlite": "SQLite", "postgresql": "PostgreSQL"}[shop.book.engine.dialect.name]
        assert re.search(rf"^database +well +{name} ", done.stdout, re.M)

    def test_a_network_drive_is_refused(self, till: Till, monkeypatch: pytest.MonkeyPatch) -> None:
        mounts = till.keep("mounts", f"box:/x {till.folder} nfs4 rw 0 0\n")
        monkeypatch.setattr(places, "MOUNTS", mounts)
        found = self.findings(till, 6)
        assert "on a network drive (nfs4)" in found["folder"]["says"]

    def test_a_keys_file_open_to_others_is_to_be_closed(self, till: Till) -> None:
        (till.book / "keys.json").chmod(0o644)
        assert "chmod 600" in self.findings(till, 8)["keys file"]["says"]

    def test_a_full_disk_is_said(self, till: Till, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr("ledger.cli.care.shutil.disk_usage", lambda _: types.SimpleNamespace(free=10_000_000))
        assert self.findings(till, 8)["disk"]["says"] == "0.0 GB free; make room before the next purchase"

    def test_stale_and_missing_rule_files_are_said(self, till: Till) -> None:
        till.now = MOMENT.replace(year=2028)
        assert "not checked since 2027-12-31" in self.findings(till, 8)["rule file"]["says"]
        till.tamper("DELETE FROM adoptions")
        assert "counterfoil law adopt" in self.findings(till, 8)["rule files"]["says"]

    def test_a_form_that_nobody_filled_in_is_said(self, till: Till) -> None:
        assert self.findings(till, 0)["shop facts"]["says"] == "The Test Counter, since 2026-01-01"
        folder = till.folder / "new"
        assert till.run("init", folder, book=False).exit_code == 0
        done = till.run("doctor", "--book", folder, unlocked=False, book=False)
        assert re.search(
            r"^shop facts +mend +name and address and licence as in the form: fill in shop.toml", done.stdout, re.M
        )

    def test_pictures_that_no_entry_names_are_counted(self, till: Till) -> None:
        till.record()
        (till.book / "pictures" / "00").mkdir(exist_ok=True)
        (till.book / "pictures" / "00" / ("00" * 32)).write_bytes(b"")
        assert self.findings(till, 0)["pictures"]["says"] == (
            "4 named by entries; 1 that no entry names (slips not recorded)"
        )

    def test_another_layout_is_said(self, till: Till) -> None:
        till.tamper("UPDATE alembic_version SET version_num = '9999'")
        assert "9999; this program writes" in self.findings(till, 8)["layout"]["says"]

    def test_who_knows_former_keys_is_said(self, till: Till, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr("ledger.vault.keys_file.known_to_former_owners", lambda _: ["ines"])
        assert "ines: run `counterfoil staff reset` for each" in self.findings(till, 8)["former owners"]["says"]

    def test_missing_fonts_are_said(self, till: Till, monkeypatch: pytest.MonkeyPatch) -> None:
        from importlib.metadata import PackageNotFoundError

        def missing(name: str) -> str:
            raise PackageNotFoundError(name)

        monkeypatch.setattr("ledger.cli.care.version", missing)
        found = self.findings(till, 8)
        assert "install counterfoil again" in found["fonts"]["says"]

    def test_the_time_zone_tables_are_the_package_s_whatever_the_system_has(self, till: Till) -> None:
        assert "of the package tzdata" in self.findings(till, 0)["time zones"]["says"]

    def test_where_there_is_no_key_keeper_it_is_said(self, till: Till, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr("ledger.cli.care.has_keeper", lambda: False)
        assert "this system has none" in self.findings(till, 0)["key keeper"]["says"]


class TestPlaces:
    """Folders in which a book must not lie."""

    @pytest.mark.parametrize(
        ("folder", "mounts", "why"),
        [
            ("/srv/shop", "/dev/sda1 / ext4 rw 0 0", None),
            ("/srv/shop", "", None),
            ("/srv/shop", "nonsense\n/dev/sda1 / ext4 rw 0 0", None),
            ("/srv/shop", "box:/srv /srv nfs rw 0 0\n/dev/sda1 / ext4 rw 0 0", "network drive (nfs)"),
            ("/srv/shop", "box:/srv /srv nfs rw 0 0\n/dev/sdb1 /srv ext4 rw 0 0", None),
            ("/srv/my shop/b", "//box/s /srv/my\\040shop cifs rw 0 0", "network drive (cifs)"),
            ("/srvx/shop", "box:/srv /srv nfs rw 0 0", None),
            ("//box/share/shop", "", "a path of another machine"),
            ("\\\\box\\share\\shop", "", "a path of another machine"),
            ("/home/a/Dropbox/shop", "", "the folder Dropbox"),
            ("/home/a/OneDrive - Shop/shop", "", "the folder OneDrive - Shop"),
        ],
    )
    def test_they_are_known_by_mount_and_by_name(self, folder: str, mounts: str, why: str | None) -> None:
        found = places.trouble(Path(folder), mounts)
        assert (found is None) if why is None else (found is not None and why in found)

    def test_they_are_known_by_the_marks_inside(self, tmp_path: Path) -> None:
        (tmp_path / "synced" / "shop").mkdir(parents=True)
        (tmp_path / "synced" / ".stfolder").mkdir()
        assert f"the folder {tmp_path / 'synced'}" in str(places.trouble(tmp_path / "synced" / "shop", ""))

    def test_a_machine_without_a_mount_table_says_nothing(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(places, "MOUNTS", tmp_path / "none")
        assert places.trouble(tmp_path) is None


_COMMON = 'from = 2026-01-01\nbasis = "text"\n'
MELTED_MARKS = """
[[refuse]]
id = "no-marks"
says = "Nothing with a serial number taken off, or with marks, is bought."
from = 2026-01-01
source = "Test Town Code 9 (invented)"
basis = "invented"
when = [{{ any = [{}] }}]
may_record = ["reason"]
"""

EXPLAINED = f"""format = "rules/0"
jurisdiction = "xx"
name = "X"
layer = "state"
known_from = 2026-01-01
read_on = 2026-06-01
checked_until = 2027-06-01
zone = "America/New_York"
[[recipient]]
id = "police"
name = "Police"
[calendar]
weekend = ["saturday", "sunday"]
from = 2026-01-01
until = 2028-12-31
source = "Code 9-1"
closed = [
  {{ day = 2026-11-26, name = "Thanksgiving" }},
  {{ day = 2026-11-27, name = "day after", arguable = true }},
]
[[hold]]
id = "five"
says = "Five days."
source = "Code 1"
{_COMMON.replace("text", "memory")}length = 5
unit = "working-days"
forbids = ["sell"]
displaces = ["gone"]
readings = [{{ reason = "Calendar days may be meant.", basis = "memory", unit = "days" }}]
when = [{{ fact = "item.goods", is = "jewelry" }}]
[[hold]]
id = "gone"
says = "Gone."
source = "Code 2"
{_COMMON}length = 5
unit = "days"
forbids = ["sell"]
[[hold]]
id = "waits"
says = "Waits."
source = "Code 2"
{_COMMON}length = 5
unit = "days"
start = "report-received:police"
forbids = ["sell"]
[[task]]
id = "move"
says = "It is moved."
source = "Code 3"
{_COMMON}what = "Move it."
due = {{ next = "working-day" }}
[[task]]
id = "warn"
says = "They are warned."
source = "Code 3"
{_COMMON}what = "Warn them."
before_end = {{ of = "waits", length = 1, unit = "days" }}
[[pay]]
id = "cash"
says = "Cash."
source = "Code 4"
{_COMMON}instruments = ["cash"]
[[pay]]
id = "cheque"
says = "Cheque."
source = "Code 4"
{_COMMON}instruments = ["cheque"]
[[retain]]
id = "keep"
says = "A year."
source = "Code 5"
{_COMMON}classes = ["item", "scan"]
at_least = {{ length = 1, unit = "years" }}
"""


class TestLaw:
    """law check, explain, schema, adopt, diff."""

    CASES = (
        'format = "cases/0"\n[usual]\nat = 2026-03-03T10:15:00\n[usual.facts.seller]\nage = 17\n'
        '[[case]]\nname = "Too young."\nsource = "Test Town Code 2 (invented)"\nexpect = { refused = true }\n'
    )

    def check(self, till: Till, code: int, *words: object) -> Any:
        return till.answer("law", "check", *words, code=code, unlocked=False, book=False)

    def test_cases_beside_a_file_are_run(self, till: Till) -> None:
        rules = till.keep("town.toml", RULES)
        cases = till.keep("town.cases.toml", self.CASES)
        assert self.check(till, 0, rules)["cases_run"] == 1
        assert self.check(till, 0, rules, cases)["cases_run"] == 1
        shown = till.run("law", "check", rules, unlocked=False, book=False).stdout
        assert "1 case file came true." in shown
        assert "licensed lawyer" in shown
        till.keep("town.cases.toml", self.CASES.replace("refused = true", "refused = false"))
        assert "Too young." in self.check(till, 4, rules)["cases_failed"][0]

    def test_a_case_file_alone_reads_the_files_beside_it(self, till: Till) -> None:
        till.keep("town.toml", RULES)
        state = RULES.replace("xx-test-town", "xx-test-state").replace('layer = "city"', 'layer = "state"')
        till.keep("state.toml", state)
        layered = self.CASES.replace('"cases/0"\n', '"cases/0"\nlayers = ["state.toml"]\n')
        assert self.check(till, 0, till.keep("town.cases.toml", layered))["cases_run"] == 1

    def test_faults_are_named_with_file_and_line(self, till: Till) -> None:
        wrong = till.keep("wrong.toml", RULES.replace("length = 10", 'length = "ten"'))
        done = till.run("law", "check", wrong, unlocked=False, book=False)
        assert done.exit_code == 4
        number = RULES.split("length = 10")[0].count("\n") + 1
        assert f"{wrong}: line {number}: 'length' is 'ten'; write a whole number, 1 to 40,000.\n" in done.stdout
        assert f'  {number} | length = "ten"\n     | ^\n' in done.stdout
        (fault,) = self.check(till, 4, wrong)["faults"]
        assert (fault["line"], fault["column"], fault["source"]) == (number, 1, 'length = "ten"')

    def test_the_mark_stands_under_the_place_whatever_stands_before_it(self, till: Till) -> None:
        wide = till.keep("wide.toml", RULES.replace('unit = "days"', "unit\t= '日本' 7"))
        shown = till.run("law", "check", wide, unlocked=False, book=False).stdout
        assert " | unit\t= '日本' 7\n" in shown
        assert f"     |     \t{' ' * 9}^\n" in shown

    def test_a_case_file_at_fault_is_shown_so_and_one_of_a_broken_file_is_not_run(self, till: Till) -> None:
        rules = till.keep("town.toml", RULES)
        till.keep("town.cases.toml", self.CASES.replace("[usual]", "[usuall]"))
        shown = till.run("law", "check", rules, unlocked=False, book=False)
        assert shown.exit_code == 4
        assert "'usuall' is not a key of the case file;" in shown.stdout
        till.keep("town.cases.toml", self.CASES)
        till.keep("town.toml", RULES.replace("length = 10", "length = 0"))
        assert self.check(till, 4, rules)["cases_run"] == 0
        assert self.check(till, 4, till.desk / "town.cases.toml")["cases_run"] == 0

    def test_an_illustration_is_printed_and_asserts_nothing(self, till: Till) -> None:
        rules = till.keep("town.toml", RULES)
        shown = '[[case]]\nname = "M"\nsource = "S"\nillustration = "From memory."\nshows = ["refused"]\n'
        till.keep("town.cases.toml", self.CASES + shown)
        found = self.check(till, 0, rules)
        assert [one.split(": ", 1)[1] for one in found["illustrations"]] == [
            "'M' (S): illustration, From memory: refused is true."
        ]
        assert "1 case asserted." in till.run("law", "check", rules, unlocked=False, book=False).stdout

    def test_files_that_contradict_each_other_end_with_4(self, till: Till) -> None:
        one = till.keep("one.toml", RULES)
        county = RULES.replace("xx-test-town", "xx-b").replace('layer = "city"', 'layer = "county"')
        other = till.keep("other.toml", county.replace("Town Police", "Town Sheriff"))
        found = self.check(till, 4, one, other)
        assert found["together"]
        assert found["faults"] == []
        elsewhere = till.keep("elsewhere.toml", county.replace('layer = "county"', 'layer = "city"'))
        assert self.check(till, 0, one, elsewhere)["together"] == [], "two towns are two shops"

    def test_facts_are_explained_with_the_way_to_each_duty(self, till: Till) -> None:
        rules = till.keep("town.toml", RULES)
        facts: dict[str, Any] = {
            "slip": {"occurred": "2026-11-24T10:05:00-05:00[America/New_York]"},
            "seller": {"age": 17},
            "items": [{"line": 1}],
        }
        words = ["law", "explain", "--rules", rules, "--facts", till.keep("facts.json", facts)]
        done = till.run(*words, unlocked=False, book=False)
        assert done.exit_code == 0
        assert "broken: xx-test-town/minimum-age, about seller" in done.stdout
        assert "hold: xx-test-town/hold-ten-days, item 1" in done.stdout
        assert (
            "report: xx-test-town/purchase-report to Test Town Police (invented), due 2026-11-26T10:05" in done.stdout
        )
        found = till.answer(*words, "--at", "2026-11-25 09:00", unlocked=False, book=False)
        assert found["at"] == "2026-11-25T09:00:00-05:00[America/New_York]"
        no_moment = till.keep("facts.json", {"seller": {"age": 17}})
        assert till.run(*words[:-1], no_moment, unlocked=False, book=False).exit_code == 2

    def test_every_day_that_was_skipped_is_told_and_every_reading(self, till: Till) -> None:
        rules = till.keep("town.toml", EXPLAINED)
        facts = till.keep("facts.json", {"slip": {"channel": "counter"}, "items": [{"line": 1, "goods": "jewelry"}]})
        words = ["law", "explain", "--rules", rules, "--facts", facts, "--at", "2026-11-24 10:15"]
        shown = till.run(*words, unlocked=False, book=False).stdout
        digest = hashlib.sha256(EXPLAINED.encode()).hexdigest()
        for says in (
            f"ahead: xx/five, about item/1\n  Five days. Rests on memory: the whole rule (Code 1).\n  file {digest};",
            "  inputs:\n    item.goods: jewelry\n",
            # Five working days after Tuesday 24 November: 25, 27 or not, 30 November, 1, 2 December, or 3 December.
            "    skipped:\n      2026-11-26 (Thanksgiving)\n      2026-11-28 (Saturday)\n      2026-11-29 (Sunday)\n",
            "        2026-11-27 (day after (arguable))\n",
            "    - reason: Calendar days may be meant.\n",
            "item 1, no sell: 2026-12-04T00:00:00-05:00[America/New_York] (cautious), 2026-12-03T00:00:00-05:00",
            "item 1, no sell: no date yet: waiting for the police's receipt of the report\n",
            "task: xx/move, about slip: Move it, due 2026-11-26T00:00:00-05:00[America/New_York]\n",
            "task: xx/warn, about slip: Warn them, waits for the police's receipt of the report\n",
            "displaced: xx/gone gives way to xx/five (Code 1).\n",
            "contradiction: No way to pay is left: xx/cash and xx/cheque allow nothing in common.\n",
            "  classes: item, scan\n",
        ):
            assert says in shown, (says, shown)
        found = till.answer(*words, unlocked=False, book=False)
        happened = {"items": [{"line": 1}], "events": {"report-received:police": "2026-11-25 09:00"}}
        later = ["--facts", till.keep("later.json", happened), "--at", "2026-11-24 10:15"]
        shown = till.run(*words[:4], *later, unlocked=False, book=False).stdout
        assert "hold: xx/waits, item 1, no sell: 2026-12-01T00:00:00-05:00[America/New_York]\n" in shown
        till.keep("later.json", {**happened, "events": [3]})
        assert till.run(*words[:4], *later, unlocked=False, book=False).exit_code == 2
        (five,) = [one for one in found["holds"] if one["rule"] == "five"]
        assert [one["day"] for one in five["trace"]["plain"]["skipped"]] == ["2026-11-26", "2026-11-28", "2026-11-29"]

    def test_without_a_zone_in_the_files_the_moment_must_bring_one(self, till: Till) -> None:
        rules = till.keep("town.toml", RULES.replace('zone = "America/New_York"\n', ""))
        facts = till.keep("facts.toml", "[seller]\nage = 17\n")
        words = ["law", "explain", "--rules", rules, "--facts", facts, "--at"]
        assert till.run(*words, "2026-11-25 09:00", unlocked=False, book=False).exit_code == 2
        local = "2026-11-25T09:00:00-05:00[America/New_York]"
        assert till.run(*words, local, unlocked=False, book=False).exit_code == 0

    @pytest.mark.parametrize(
        ("told", "says"),
        [
            ({"seller": {"agge": 17}}, "'seller.agge' was given; wanted is the name of a fact, such as 'seller.age'."),
            ({"events": {"recipt": "2026-11-25 09:00"}}, "wanted is the name of an event, such as 'receipt'."),
        ],
    )
    def test_a_misspelt_fact_is_not_taken_for_one_that_nobody_told(
        self, till: Till, told: dict[str, Any], says: str
    ) -> None:
        words = ["law", "explain", "--rules", till.keep("town.toml", RULES), "--facts", till.keep("facts.json", told)]
        done = till.run(*words, "--at", "2026-11-24 10:15", unlocked=False, book=False)
        assert done.exit_code == 2
        assert says in done.stderr

    def test_a_fact_is_shown_by_its_name_also_where_it_is_false_or_empty(self, till: Till) -> None:
        """The line is copied into a rule file; a doubt that is false is the reason why the duty is met."""
        conditions = '{ fact = "item.serial_obliterated", is = true }, { fact = "item.marks", empty = false }'
        rules = till.keep("town.toml", RULES + MELTED_MARKS.format(conditions))
        facts = till.keep("facts.json", {"items": [{"line": 1, "serial_obliterated": False, "marks": []}]})
        words = ["law", "explain", "--rules", rules, "--facts", facts, "--at", "2026-11-24 10:15"]
        shown = till.run(*words, unlocked=False, book=False).stdout
        assert "    item.serial_obliterated: false\n" in shown, shown
        assert "    item.marks: empty\n" in shown, shown

    def test_the_schema_is_json(self, till: Till) -> None:
        assert json.loads(till.run("law", "schema", unlocked=False, book=False).stdout)["type"] == "object"

    def test_a_file_is_adopted_with_who_compared_it_and_when(self, till: Till) -> None:
        new = till.keep("town.toml", RULES.replace("ten days", "10 days"))
        done = till.answer("law", "adopt", new, "--compared-on", "2026-02-02")
        entry = till.entry(done["entry"])
        assert (entry.by, entry.public["compared_on"]) == ("mara", "2026-02-02")
        assert till.run("law", "adopt", new).exit_code == 2, "it is in force already"

    def test_without_a_day_it_was_compared_when_the_file_says_that_it_was_read(self, till: Till) -> None:
        new = till.keep("town.toml", RULES.replace("ten days", "10 days"))
        entry = till.entry(till.answer("law", "adopt", new)["entry"])
        assert entry.public["compared_on"] == tomllib.loads(RULES)["read_on"].isoformat()

    def test_the_difference_of_two_files_is_said(self, till: Till) -> None:
        one = till.keep("one.toml", RULES)
        other = till.keep("other.toml", RULES.replace("length = 10", "length = 15"))
        assert till.answer("law", "diff", one, other, unlocked=False, book=False)["changes"]
        shown = till.run("law", "diff", one, one, unlocked=False, book=False).stdout
        assert shown.startswith("Nothing changes for the shop.")


_TWO_PARTS = (("584", "407", "chain"), ("750", "241", "clasp"))


class TestAssay:
    """assay weigh and mark: useful alone at the bench, with cautions on acids and X-rays."""

    def test_evidence_is_weighed_with_reasons_and_tests_owed(self, till: Till) -> None:
        item = {
            "marks": [{"text": "14K", "where": "inside"}],
            "weighings": [{"what": "gross", "value": "4.20", "unit": "g"}],
            "evidence": [
                {
                    "test": "xrf",
                    "unit": "per-mille",
                    "readings": [{"elements": {"Au": "584", "Ag": "119", "Cu": "297"}}],
                },
                {"test": "streak", "acid_karat": "14", "depth": "deep", "result": "gone"},
            ],
        }
        path = till.keep("item.json", item)
        done = till.run("assay", "weigh", path, unlocked=False, book=False)
        assert done.exit_code == 0
        for word in ("Reasons", "Conflicts", "Tests owed", "not a certified assay", "ionising"):
            assert word in done.stdout
        assert till.answer("assay", "weigh", path, unlocked=False, book=False)["construction"] != "solid"

    def test_what_is_suspected_and_each_part_are_told(self, till: Till) -> None:
        spots = [{"elements": {"Au": gold, "W": "9", "Cu": copper}, "part": part} for gold, copper, part in _TWO_PARTS]
        item = {"evidence": [{"test": "xrf", "unit": "per-mille", "readings": spots}]}
        parted = till.run("assay", "weigh", till.keep("parts.json", item), unlocked=False, book=False).stdout
        assert "Each part\n" in parted
        assert "clasp: " in parted
        item = {"evidence": [{"test": "xrf", "unit": "per-mille", "readings": spots[:1]}]}
        one = till.run("assay", "weigh", till.keep("one.json", item), unlocked=False, book=False).stdout
        assert "Suspected: dense core.\n" in one
        assert "Each part" not in one

    def test_what_is_no_item_is_not_weighed_as_one_without_evidence(self, till: Till) -> None:
        for other in (till.slip(), till.keep("empty.json", {})):
            done = till.run("assay", "weigh", other, unlocked=False, book=False)
            assert done.exit_code == 2
            assert done.stderr.endswith("`counterfoil slip check` weighs those of a whole slip.\n")

    def test_a_mark_says_what_it_claims(self, till: Till) -> None:
        found = till.answer("assay", "mark", "1/20 12K GF", unlocked=False, book=False)
        # 16 CFR 23.3(c): a fraction before the karat is the share of a layer in the whole.
        assert found["claims"][0]["fraction"] == "1/20"
        shown = till.run("assay", "mark", "1/20 12K GF", unlocked=False, book=False).stdout
        assert "gold-filled" in shown
        assert "not a certified assay" in shown

    def test_the_law_of_a_mark_goes_by_country_and_date(self, till: Till) -> None:
        # 15 USC 295 as it stood before 1 October 1981: half a karat, one karat with solder.
        old = ("--made-in", "US", "--made-from", "1970", "--made-to", "1981-09-30")
        found = till.answer("assay", "mark", "14K", *old, unlocked=False, book=False)
        assert found["claims"][0]["tolerance_ppm"] == 20_833
        (allowance,) = found["claims"][0]["allowances"]
        assert (allowance["tolerance_solder_ppm"], allowance["to"]) == (41_666, "1981-09-30")
        shown = till.run("assay", "mark", "14K", *old, unlocked=False, book=False).stdout
        assert (
            "gold, US, articles made from 1907-06-13 to 1981-09-30: 20.8 per thousand below, 41.6 with solder" in shown
        )
        wrong = till.run("assay", "mark", "14K", "--made-in", "America", unlocked=False, book=False)
        assert (wrong.exit_code, "two capital letters" in wrong.stderr) == (2, True)

    def test_a_worn_mark_shows_every_meaning(self, till: Till) -> None:
        found = till.answer("assay", "mark", "1?K", unlocked=False, book=False)
        assert [claim["completed"] for claim in found["claims"]] == ["10K", "12K", "14K", "15K", "16K", "18K"]
        assert found["claims"][0]["says"] == "if the mark is 10K: gold, at least 416.6"

    def test_an_empty_mark_is_no_claim(self, till: Till) -> None:
        shown = till.run("assay", "mark", " ", unlocked=False, book=False)
        assert (shown.exit_code, shown.stdout.startswith("No claim stands in ' '.")) == (0, True)


class TestDemo:
    """demo DIR builds the demonstration shop and prints a tour."""

    def build(self, folder: Path, say: Any) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        (folder / "demo-passphrase.txt").write_text("invented")
        say("The tour.")

    def test_it_prints_the_tour_or_one_document(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        import sys

        monkeypatch.setitem(sys.modules, "ledger.demo", types.SimpleNamespace(build=self.build))
        assert CliRunner().invoke(main, ["demo", str(tmp_path / "a")]).stdout == "The tour.\n"
        done = CliRunner().invoke(main, ["demo", str(tmp_path / "b"), "--json"])
        assert json.loads(done.stdout) == {
            "folder": str(tmp_path / "b"),
            "files": ["demo-passphrase.txt"],
            "tour": ["The tour."],
        }

    def test_it_touches_no_folder_that_holds_something_or_lies_elsewhere(self, tmp_path: Path) -> None:
        (tmp_path / "mine").write_text("mine")
        assert CliRunner().invoke(main, ["demo", str(tmp_path)]).exit_code == 2
        assert CliRunner().invoke(main, ["demo", str(tmp_path / "Dropbox" / "x")]).exit_code == 6


class TestGiven:
    """Files, standard input, moments."""

    NEW_YORK = ZoneInfo("America/New_York")

    def test_a_moment_in_the_shops_zone_or_with_its_own(self) -> None:
        assert given.moment(None, self.NEW_YORK, MOMENT).isoformat() == "2026-11-24T10:15:00-05:00"
        assert given.moment("2026-11-24 09:30", self.NEW_YORK, MOMENT).isoformat() == "2026-11-24T09:30:00-05:00"
        other = "2026-11-24T15:00:00+01:00[Europe/Paris]"
        assert given.moment(other, self.NEW_YORK, MOMENT).isoformat() == "2026-11-24T15:00:00+01:00"

    @pytest.mark.parametrize(
        "text",
        [
            "soon",
            "2026-11-24T09:30:00+01:00",
            "0001-01-01 00:00",
            "2026-11-01 01:30",  # the clocks went back: it came twice
            "2026-03-08 02:30",  # the clocks went forward: it never came
        ],
    )
    def test_a_moment_that_names_none_or_two_is_refused(self, text: str) -> None:
        with pytest.raises(InputError):
            given.moment(text, self.NEW_YORK, MOMENT)

    def test_dates_of_a_toml_file_become_texts(self, tmp_path: Path) -> None:
        path = tmp_path / "x.toml"
        path.write_text("day = 2026-01-02\nlist = [2026-01-02T03:04:05]\n")
        assert given.document(Asked(), str(path)) == {"day": "2026-01-02", "list": ["2026-01-02T03:04:05"]}

    @pytest.mark.parametrize(
        ("content", "where"),
        [
            (b'{"a": 1, "a": 2}', "names a member twice"),
            (b'{"a": ', "line 1, column 7"),
            (b"a = [", "at end of document"),
            (b'{"a": "\xff"}', "byte 7 is not UTF-8"),
            (b"[" * 50_000, "broken"),
        ],
    )
    def test_a_broken_document_says_where_and_repeats_nothing(self, tmp_path: Path, content: bytes, where: str) -> None:
        (tmp_path / "x").write_bytes(content)
        with pytest.raises(InputError, match=where):
            given.document(Asked(), str(tmp_path / "x"))

    def test_a_document_is_a_table(self, tmp_path: Path) -> None:
        (tmp_path / "x.json").write_text("[1]")
        with pytest.raises(InputError, match="a table of members"):
            given.document(Asked(), str(tmp_path / "x.json"))

    def test_a_file_too_large_or_not_there_is_refused(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(given, "MOST_BYTES", 10)
        (tmp_path / "x").write_bytes(b"12345678901")
        with pytest.raises(InputError, match="at most 10 bytes"):
            given.data(Asked(), str(tmp_path / "x"))
        for name in ("nowhere", "nul\0"):
            with pytest.raises(InputError, match="a file that can be read"):
                given.data(Asked(), str(tmp_path / name))

    def test_a_terminal_is_asked_for_only_where_there_is_one(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr("sys.stdin", types.SimpleNamespace(isatty=lambda: True))
        given._must_have_a_terminal()
        monkeypatch.setattr("sys.stdin", types.SimpleNamespace(isatty=lambda: False))
        with pytest.raises(LockedError):
            given._must_have_a_terminal()


class TestSaid:
    """Quiet, aligned tables; a sign of life only over a second and only on a terminal."""

    def test_wide_and_joined_characters_keep_columns_aligned(self) -> None:
        table = said.table(("a", "b"), [("\u5b57\u5b57", "x"), ("e\u0301", "y"), (None, "")]).splitlines()
        assert table == ["a     b", "\u5b57\u5b57  x", "e\u0301     y", "-     -"]

    def test_a_moment_without_a_zone_name_shows_its_offset(self) -> None:
        assert said.moment(datetime(2026, 1, 2, 3, 4, tzinfo=UTC)) == "Fri 2 Jan 2026 03:04 +0000"
        assert said.moment(None) == "-"

    def test_values_that_json_has_not_are_written_as_people_read_them(self, capsys: pytest.CaptureFixture[str]) -> None:
        asked = Asked()
        asked.json = True
        said.answer(asked, {"a": datetime(2026, 1, 2, tzinfo=UTC), "b": b"\x01", "c": Path("x")}, "")
        assert json.loads(capsys.readouterr().out) == {"a": "Fri 2 Jan 2026 00:00 +0000", "b": "01", "c": "x"}

    def test_a_sign_of_life_comes_late_and_only_on_a_terminal(self, monkeypatch: pytest.MonkeyPatch) -> None:
        shown: list[str] = []

        class Status:
            def __init__(self, what: str) -> None:
                shown.append(what)

            def __enter__(self) -> None:
                shown.append("begun")

            def __exit__(self, *_: object) -> None:
                shown.append("ended")

        class Console:
            def __init__(self, stderr: bool) -> None:
                assert stderr

            status = staticmethod(Status)

        monkeypatch.setattr("rich.console.Console", Console)
        with said.waiting("Checking"):
            pass
        monkeypatch.setattr("sys.stderr", types.SimpleNamespace(isatty=lambda: True))
        with said.waiting("Checking"):
            pass
        assert shown == []
        monkeypatch.setattr(said, "_PATIENCE_SECONDS", 0.0)
        with said.waiting("Checking"):
            while "begun" not in shown:
                pass
        assert shown == ["Checking", "begun", "ended"]


class TestPapers:
    """Papers are never written over, and never lie in the book's folder."""

    def test_the_same_paper_is_kept_once_and_another_beside_it(self, till: Till) -> None:
        book = types.SimpleNamespace(folder=till.book)
        put = [papers.keep(book, till.folder / "out", "x.pdf", data) for data in (b"1", b"1", b"2", b"2")]  # type: ignore[arg-type]
        assert [path.name for path in put] == ["x.pdf", "x.pdf", "x-2.pdf", "x-2.pdf"]
        assert stat.S_IMODE(os.stat(till.folder / "out").st_mode) == 0o700

    def test_a_folder_that_cannot_be_written_is_said(self, till: Till, monkeypatch: pytest.MonkeyPatch) -> None:
        book = types.SimpleNamespace(folder=till.book)
        (till.folder / "out").write_text("a file")
        with pytest.raises(StorageError, match="give another folder with --out"):
            papers.keep(book, till.folder / "out", "x.pdf", b"1")  # type: ignore[arg-type]
        monkeypatch.setattr(papers, "_MOST_COPIES", 2)
        papers.keep(book, None, "x.pdf", b"1")  # type: ignore[arg-type]
        with pytest.raises(StorageError):
            papers.keep(book, None, "x.pdf", b"2")  # type: ignore[arg-type]


def test_the_keeper_listens_in_the_users_runtime_folder_or_in_one_of_her_own(
    till: Till, monkeypatch: pytest.MonkeyPatch
) -> None:
    book = types.SimpleNamespace(origin="counterfoil/00")
    assert opened.socket(book).parent == till.runtime / "counterfoil"  # type: ignore[arg-type]
    monkeypatch.delenv("XDG_RUNTIME_DIR")
    assert opened.socket(book).parent.name == f"counterfoil-{os.getuid()}"  # type: ignore[arg-type]
