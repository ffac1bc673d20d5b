"""Answers on a terminal: a list matched, nothing found, an extract handed out and checked without a book."""

import json
import zipfile
from pathlib import Path

import pytest

from tests.till import Till

WHO = {
    "agency": "Test Town Police",
    "power": "Test Town Code 9 (invented)",
    "officer": "Canary Officer",
    "case": "C-77",
}


class TestMatch:
    """inquiry match: one article a line, in anybody's words; nothing is written unless somebody asks by name."""

    def test_a_list_is_matched_and_nothing_is_written(self, till: Till) -> None:
        till.record()
        before = till.files()
        listed = till.keep("list.txt", 'wedding band "R fr A 6-12-58"\nsilver candlestick\n')
        done = till.run("inquiry", "match", listed, unlocked=False)
        assert done.exit_code == 0
        assert "1/1" in done.stdout
        assert "nothing like it" in done.stdout
        found = till.answer("inquiry", "match", "-", stdin="silver candlestick")
        assert found["lines"] == [{"asked": "silver candlestick", "pointers": []}]
        assert till.files() == before

    def test_with_who_asks_it_is_an_inquiry(self, till: Till) -> None:
        till.record()
        listed = till.keep("list.txt", "gold ring 14K\n")
        found = till.answer("inquiry", "match", listed, "--asked-by", till.keep("who.json", WHO))
        assert till.entry(found["entry"]).kind == "inquiry/0"
        assert "Kept as entry" in till.run("inquiry", "match", listed, "--asked-by", till.keep("who.json", WHO)).stdout

    def test_who_asks_needs_an_agency(self, till: Till) -> None:
        done = till.run(
            "inquiry", "match", till.keep("l.txt", "ring\n"), "--asked-by", till.keep("w.json", {"case": "1"})
        )
        assert done.exit_code == 2
        assert "agency" in done.stderr

    def test_an_empty_list_ends_with_2(self, till: Till) -> None:
        assert till.run("inquiry", "match", "-", stdin="\n").exit_code == 2


class TestNothingFound:
    """inquiry nothing-found: a paper and an extract, or the pointers and 8."""

    def test_nothing_found_is_answered_with_paper_and_extract(self, till: Till, tmp_path: Path) -> None:
        till.record()
        listed, who = till.keep("list.txt", "silver candlestick\n"), till.keep("who.json", WHO)
        found = till.answer("inquiry", "nothing-found", listed, "--asked-by", who, "--out", tmp_path / "out")
        paper, extract = found["papers"]
        assert paper.endswith(".pdf")
        checked = till.answer("book", "verify-extract", extract, unlocked=False, book=False)
        assert (checked["ok"], checked["entries"], checked["parts"]) == (True, 1, 2)

    def test_where_something_agrees_it_ends_with_8(self, till: Till) -> None:
        till.record()
        before = till.files()
        listed, who = till.keep("list.txt", 'band "R fr A 6-12-58"\n'), till.keep("who.json", WHO)
        done = till.run("inquiry", "nothing-found", listed, "--asked-by", who)
        assert done.exit_code == 8
        assert "a person must judge" in done.stdout
        assert till.files() == before


class TestExtract:
    """inquiry extract and book verify-extract: what leaves the shop can be checked by anybody."""

    @pytest.fixture
    def extract(self, till: Till, tmp_path: Path) -> Path:
        till.record()
        asked = till.keep(
            "asked.json", {"recipient": "Court", "basis": "subpoena 3", "items": ["1/1"], "parties": True}
        )
        return Path(till.answer("inquiry", "extract", asked, "--out", tmp_path / "out")["extract"])

    def test_it_is_checked_without_a_book(self, till: Till, extract: Path) -> None:
        done = till.run("book", "verify-extract", extract, unlocked=False, book=False)
        assert done.exit_code == 0
        assert "nobody has vouched" in done.stdout
        fingerprint = till.answer("book", "seal")["fingerprint"]
        done = till.run("book", "verify-extract", extract, "--key", fingerprint, unlocked=False, book=False)
        assert done.exit_code == 0
        assert "Nothing in this extract was changed" in done.stdout

    def test_an_altered_one_ends_with_3(self, till: Till, extract: Path, tmp_path: Path) -> None:
        altered = tmp_path / "altered.zip"
        with zipfile.ZipFile(extract) as opened, zipfile.ZipFile(altered, "w") as made:
            for name in opened.namelist():
                data = opened.read(name)
                made.writestr(name, data.replace(b'"by":"', b'"by":"x') if name == "entries.jsonl" else data)
        done = till.run("book", "verify-extract", altered, "--json", unlocked=False, book=False)
        assert done.exit_code == 3
        assert "entries.jsonl" in json.loads(done.stdout)["faults"][0]

    def test_no_file_and_another_key_are_told_apart(self, till: Till, extract: Path, tmp_path: Path) -> None:
        assert till.run("book", "verify-extract", tmp_path / "none.zip", unlocked=False, book=False).exit_code == 2
        done = till.run("book", "verify-extract", extract, "--key", "0" * 64, unlocked=False, book=False)
        assert done.exit_code == 3
        assert "another key" in done.stdout

    def test_a_wrong_wish_is_one_sentence(self, till: Till) -> None:
        till.record()
        done = till.run("inquiry", "extract", till.keep("a.json", {"recipient": "C", "basis": "b", "items": ["9/9"]}))
        assert done.exit_code == 2
        assert done.stderr.count("\n") == 1
