"""Commands on requests of authorities and on inspections, run on a book as a person runs them."""

import json
from pathlib import Path
from typing import Any

import pytest

from tests.till import Till

AT = "2026-11-24T10:15:00-05:00[America/New_York]"
CAME: dict[str, Any] = {
    "kind": "warrant",
    "received": AT,
    "how": "in-person",
    "officer": {"name": "Canary Officer", "badge": "4417", "agency": "Canary Agency"},
    "call_back": {"done": False, "because": "she came herself"},
    "power": "Test Town warrant 12 (invented)",
    "scope": "the ring of slip 1",
    "items": ["1/1"],
}
TAKEN: dict[str, Any] = {
    "items": ["1/1"],
    "outcome": "seized",
    "at": AT,
    "taken_by": "Canary Officer",
    "receipt": "PR 118",
    "condition": "sealed bag",
    "follow_up": [{"what": "return or a warrant", "due": "2026-11-25T10:15:00-05:00[America/New_York]"}],
}
DECIDED: dict[str, Any] = {
    "event": "decided",
    "at": AT,
    "by": "mara",
    "decision": {"state": "given", "by": "mara", "people": True},
}
WAS_HERE: dict[str, Any] = {
    "officer": {"name": "Canary Officer", "number": "4417", "agency": "Canary Agency"},
    "power": "Test Town Code 9 (invented)",
    "scope": "purchase records",
    "at": AT,
    "with": "mara",
    "signature": "on the paper",
    "findings": [{"what": "No price sign.", "cure_by": "2026-12-01"}, {"what": "A smudged label."}],
}


def came(till: Till, **changes: Any) -> str:
    return str(till.answer("process", "record", till.keep("came.json", {**CAME, **changes}))["process"])


class TestProcess:
    """process record, note, list, show, taken, returned."""

    def test_a_request_is_logged_followed_and_shown(self, till: Till, tmp_path: Path) -> None:
        till.record()
        done = till.answer("process", "record", till.keep("r.json", CAME), "--paper", "--out", tmp_path / "out")
        assert till.entry(done["entry"]).kind == "process/0"
        assert (done["gone"], len(done["papers"])) == ([], 1)
        name = done["process"]
        noted = till.run("process", "note", name, till.keep("step.json", DECIDED))
        assert (noted.exit_code, f"Request {name}: decided: entry" in noted.stdout) == (0, True)
        shown = till.run("process", "show", name, "--paper", "--out", tmp_path / "out").stdout
        for words in (f"Request {name}, warrant, given", "Canary Officer, 4417, Canary Agency", "decided, by mara"):
            assert words in shown
        document = till.answer("process", "show", name)
        assert (document["state"], document["said"]["scope"]) == ("given", "the ring of slip 1")

    def test_the_list_shows_what_is_to_follow_and_what_is_late(self, till: Till) -> None:
        assert till.run("process", "list").stdout == "No such request is in the log.\n"
        till.record()
        due = [{"what": "write back", "due": "2026-11-24T10:15:00-05:00[America/New_York]"}]
        name = came(till, follow_up=due)
        till.now = till.now.replace(hour=20)
        listed = till.run("process", "list").stdout
        assert "write back by 2026-11-24 10:15 (LATE)" in listed
        (one,) = till.answer("process", "list")["processes"]
        assert (one["process"], one["follow_up"][0]["late"]) == (name, True)
        till.answer("process", "note", name, till.keep("s.json", {"event": "closed", "at": AT, "by": "mara"}))
        assert till.answer("process", "list", "--open")["processes"] == []
        assert till.answer("process", "list")["processes"][0]["state"] == "closed"

    def test_a_secret_one_is_answered_like_none_unless_the_look_is_recorded(self, till: Till) -> None:
        till.record()
        name = came(till, secret_until="lifted")
        assert till.answer("process", "list")["processes"] == []
        secret, none = (till.run("process", "show", one) for one in (name, "0" * 16))
        assert (secret.exit_code, none.exit_code) == (2, 2)
        assert secret.stderr.replace(name, "X") == none.stderr.replace("0" * 16, "X")
        assert till.run("process", "show", name, "--secret").exit_code == 2  # without a reason
        assert till.run("process", "list", "--secret").exit_code == 2
        assert till.answer("process", "show", name, "--secret", "--why", "the owner asks")["secret"] is True
        seen = till.answer("process", "list", "--secret", "--why", "the owner asks")
        assert [one["process"] for one in seen["processes"]] == [name]
        size = till.answer("book", "verify")["entries"]
        assert [till.entry(size - back).kind for back in (1, 2)] == ["look/0", "look/0"]

    def test_goods_are_taken_and_come_back(self, till: Till, tmp_path: Path) -> None:
        till.record()
        name = came(till)
        done = till.run("process", "taken", name, till.keep("t.json", TAKEN), "--out", tmp_path / "out")
        assert (done.exit_code, "1 item taken: entry" in done.stdout) == (0, True)
        assert till.answer("item", "show", "1/1")["state"] == "seized"
        shown = till.answer("process", "show", name)
        assert (shown["away"], shown["follow_up"][0]["what"]) == (["1/1"], "return or a warrant")
        assert "It went to an authority, under a receipt." in till.run("process", "show", name).stdout
        by = till.keep("by.txt", "the officer\n")
        assert "1 item came back" in till.run("process", "returned", name, "1/1", "--by", by).stdout
        assert till.answer("item", "show", "1/1")["state"] == "in stock"
        assert till.answer("book", "verify")["ok"]

    def test_an_order_for_goods_that_left_is_told_where_they_went(self, till: Till) -> None:
        till.record()
        name = came(till)
        till.answer("process", "taken", name, till.keep("t.json", TAKEN))
        second = till.keep("second.json", {**CAME, "kind": "subpoena"})
        found = till.run("process", "record", second)
        assert "Item 1/1 (ring, yellow metal, plain band, marked 14K) is not in stock: seized on" in found.stdout
        assert till.answer("process", "record", second)["gone"][0]["state"] == "seized"

    def test_a_hold_order_for_goods_that_left_is_told_too(self, till: Till) -> None:
        till.record()
        till.answer("process", "taken", came(till), till.keep("t.json", TAKEN))
        order = {**dict.fromkeys(("agency", "officer", "power"), "Canary"), "items": ["1/1"], "form": "written"}
        file = till.keep("order.json", {**order, "from": AT})
        assert "It went to an authority, under a receipt." in till.run("hold", "order", file).stdout
        found = till.answer("hold", "order", file)
        assert ([one["state"] for one in found["gone"]], found["not_in_stock"]) == (["seized"], {"1/1": "seized"})

    def test_a_wrong_request_is_one_sentence_that_repeats_nothing(self, till: Till) -> None:
        till.record()
        done = till.run("process", "record", till.keep("r.json", {**CAME, "officer": {"rank": "Canary"}}))
        assert (done.exit_code, done.stderr.count("\n"), "Canary" in done.stderr) == (2, 1, False)


class TestPersons:
    """Persons' data: a request that reaches them is named, or the basis in words is told apart."""

    @pytest.mark.parametrize("what", ["dossier", "extract"])
    def test_both_ways(self, till: Till, tmp_path: Path, what: str) -> None:
        till.record()
        name = came(till)
        asked = {"recipient": "Canary Agency", "basis": "warrant 12", "parties": True}
        asked |= {"items": ["1/1"]} if what == "extract" else {}
        words = ["inquiry", what, *(["1/1"] if what == "dossier" else [])]
        out = ["--out", tmp_path / "out"]
        alone = till.answer(*words, till.keep("a.json", asked), *out)
        assert "log the request with `process record`" in alone["unlogged"]
        named = till.keep("b.json", {**asked, "process": name})
        assert till.run(*words, named, *out).exit_code == 2
        till.answer("process", "note", name, till.keep("s.json", DECIDED))
        assert "unlogged" not in till.answer(*words, named, *out)
        assert "handed" in [step["event"] for step in till.answer("process", "show", name)["steps"]]


class TestInspection:
    """inspection open, shelf, sample, record, cured, list."""

    def test_the_folder_is_prepared(self, till: Till, tmp_path: Path) -> None:
        till.record()
        made = till.answer("inspection", "open", "--out", tmp_path / "out")
        names = sorted(Path(path).name for path in made["papers"])
        assert {"contents.csv", "inspection.pdf", "register.csv", "stock.csv"} < set(names)
        assert (made["first"], made["counts"]["items in stock"]) == (0, 1)
        assert {Path(path).parent.name for path in made["papers"]} == {"inspection-2026-11-24"}
        said = till.run("inspection", "open", "--reasons").stdout
        assert "Items in stock: 1" in said
        assert (till.folder / "papers" / "inspection-2026-11-24" / "register.csv").is_file()

    def test_the_shelf_is_checked_without_a_key(self, till: Till, tmp_path: Path) -> None:
        till.record()
        codes = till.keep("codes.txt", "1/1\n")
        good = till.run("inspection", "shelf", codes, unlocked=False)
        assert (good.exit_code, good.stdout) == (0, "1 article with an entry.\n")
        before = till.files()
        bad = till.run("inspection", "shelf", "-", "--paper", "--out", tmp_path, unlocked=False, stdin="9/9\n9/9\n")
        assert bad.exit_code == 8
        for words in ("Entries without article:", "Articles without entry:", "Scanned twice", "Paper: "):
            assert words in bad.stdout
        found = till.answer("inspection", "shelf", codes, "--place", "safe", unlocked=False, code=8)
        assert found["strays"] == [{"code": "1/1", "why": "by the book it lies in shop"}]
        assert till.files() == before

    def test_a_sample_is_drawn_with_its_method(self, till: Till) -> None:
        till.record()
        found = till.answer("inspection", "sample", "7", "--count", "3")
        assert ([one["item"] for one in found["drawn"]], found["of"]) == (
            ["1/1"],
            "all items bought since the book began",
        )
        said = till.run("inspection", "sample", "7", "--stock", unlocked=False).stdout
        assert said.startswith("1 of 1 items, all items in stock.\nAfter the seed and a vertical bar")

    def test_an_inspection_is_recorded_listed_and_cured(self, till: Till, tmp_path: Path) -> None:
        assert till.run("inspection", "list").stdout == "No inspection is in the book.\n"
        till.record()
        done = till.run("inspection", "record", till.keep("i.json", WAS_HERE), "--out", tmp_path / "out")
        assert (done.exit_code, "The inspection is sealed: entry" in done.stdout) == (0, True)
        (one,) = till.answer("inspection", "list")["inspections"]
        assert [each["finding"] for each in one["open"]] == [1, 2]
        assert till.entry(one["entry"]).kind == "inspection/0"
        cured = till.run("inspection", "cured", one["entry"], 1, "--said", "posted")
        assert f"Finding 1 of the inspection in entry {one['entry']} is cured" in cured.stdout
        listed = till.run("inspection", "list").stdout
        assert "2: A smudged label." in listed
        assert "No price sign" not in listed
        assert till.answer("book", "verify")["ok"]

    def test_every_answer_in_json_is_one_document(self, till: Till) -> None:
        done = till.run("inspection", "record", till.keep("i.json", WAS_HERE), "--json")
        assert set(json.loads(done.stdout)) == {"entry", "leaf", "papers"}
