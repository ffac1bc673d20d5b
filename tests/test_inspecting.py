"""An inspection: what is shown, the shelf held against the book, the sample, and the entry that seals it.

What authorities may see is purchase records and the articles in them, as in Liberty Coins v. Goodman (6th Cir. 2018):
the inspection of those was upheld, that of all books and papers was not.
"""

import csv
import hashlib
import io
import subprocess
from datetime import date
from typing import Any

import pytest

from ledger.acts import (
    correcting,
    custody,
    holding,
    inquiring,
    inspecting,
    leaving,
    paying,
    reporting,
    shelving,
    showing,
    undoing,
)
from ledger.book import engine as engines
from ledger.book import reading
from ledger.chain import seals
from ledger.errors import InputError, LockedError
from ledger.moments import local_text
from tests import shops, standalone_verifier, test_custody, test_requests
from tests.check_book import check_book
from tests.law_samples import rule
from tests.paper_tools import text_of
from tests.shops import Shop

WAS_HERE: dict[str, Any] = {
    "officer": {"name": "Canary Officer", "number": "4417", "agency": "Canary Agency"},
    "power": "Canary Code 9 (invented)",
    "scope": "purchase records since the last inspection, and the articles in them",
    "with": "ada",
    "signature": "on this paper",
    "findings": [
        {"what": "Label of item 1/3 cannot be read.", "cure_by": "2026-12-01"},
        {"what": "The price sign is not posted."},
    ],
}


def inspected(shop: Shop, **changes: Any) -> int:
    """The number of the entry of an inspection that is over now."""
    told = {**WAS_HERE, "at": local_text(shop.local()), **changes}
    return inspecting.record(shop.book, inspecting.read(told)).seq


def rows(data: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(data.decode(), newline="")))


def shown(shop: Shop, **how: Any) -> showing.Folder:
    return showing.folder(shop.book, "letter", at=shop.local(), **how)


class TestFolder:
    """Everything since the last inspection entry in one folder: register, stock, reports, rule files."""

    def test_it_holds_each_list_as_csv_all_of_them_as_pdf_and_the_rule_files(self, shop: Shop) -> None:
        shop.record()
        made = shown(shop)
        lists = {"contents.csv", "inspection.pdf", "register.csv", "reports.csv", "rules.csv", "stock.csv"}
        rules = set(made.files) - lists
        assert {hashlib.sha256(made.files[name]).hexdigest() + ".toml" for name in rules} == rules
        assert {row["file"] for row in rows(made.files["rules.csv"])} == rules
        assert len(rules) == 3
        for row in rows(made.files["contents.csv"]):
            data = made.files[row["file"]]
            assert (row["bytes"], row["sha256"]) == (str(len(data)), hashlib.sha256(data).hexdigest())
        assert [row["item"] for row in rows(made.files["stock.csv"])] == ["1/1", "1/3"]
        assert (made.first, made.last) == (0, check_book(shop).entries - 1)

    def test_the_register_goes_in_number_order_with_voids_and_corrections(self, shop: Shop) -> None:
        shop.record()
        presented, _ = shop.present()
        undoing.withdraw(shop.book, presented.slip, "canary reason one")
        correcting.correct(shop.book, 1, "item/1/description", {"damage": "a dent"}, "canary reason two")
        correcting.correct(shop.book, 1, "seller/birth_date", {"text": "1984-02-28"}, "canary reason three")
        leaving.move(shop.book, 1, 1, "safe 2", at=shop.local(), because="canary reason four", to_place="premises")
        undoing.void(shop.book, 1, "canary reason five", at=shop.local())
        made = shown(shop)
        register = rows(made.files["register.csv"])
        numbered = [row for row in register if row["entry"]]
        assert [int(row["entry"]) for row in numbered] == sorted(int(row["entry"]) for row in numbered)
        what = ["presented to the seller", "bought", "presented to the seller", "withdrawn"]
        assert [row["what"] for row in numbered] == [*what, "corrected", "corrected", "moved", "undone"]
        corrected, hidden = [row["says"] for row in numbered if row["what"] == "corrected"]
        assert corrected == "entry 6: item/1/description; was damage scratched all around; is damage a dent"
        assert hidden.endswith("data about people, money or duties")
        assert numbered[0]["says"] == "3 items; voided"
        assert numbered[2]["says"] == "3 items; withdrawn"
        assert "safe 2" in next(row["says"] for row in numbered if row["what"] == "moved")
        text = made.files["register.csv"].decode() + text_of(made.files["inspection.pdf"])
        assert "canary" not in text
        assert "1984" not in text
        told = shown(shop, reasons=True).files["register.csv"].decode()
        assert [told.count(f"canary reason {n}") for n in ("one", "two", "three", "four", "five")] == [1] * 5

    def test_nobody_who_sells_or_buys_or_asks_is_in_it(self, bare_shop: Shop) -> None:
        shops.adopt(bare_shop, rule("hold", "one-day", 'length = 1\nunit = "days"\nforbids = ["sell"]\n'))
        bare_shop.record()
        paying.settle(bare_shop.book, 1, "paid", at=bare_shop.local())
        inquiring.ask(bare_shop.book, "ring canary", {"agency": "Canary Agency"})
        order = {**dict.fromkeys(("agency", "officer", "power"), "Canary"), "form": "written", "items": ["1/3"]}
        holding.order(bare_shop.book, holding.read_order({**order, "from": local_text(bare_shop.local())}))
        test_requests.came(bare_shop)
        bare_shop.wait(days=3)
        leaving.out(bare_shop.book, 1, 1, "sold", at=bare_shop.local(), to="Canary the buyer", because="")
        made = shown(bare_shop)
        texts = [text_of(made.files["inspection.pdf"])]
        texts += [data.decode() for name, data in made.files.items() if name.endswith(".csv")]
        assert not [text for text in texts if "canary" in text.lower() or "Averill" in text or "USD" in text]
        assert not [
            text for text in texts if "order" in text.replace("number order", "").replace("orders,", "").lower()
        ]
        # By law alone the chain may leave; that an authority holds it is not told.
        (chain,) = rows(made.files["stock.csv"])
        assert chain["may leave from"].startswith("Thu 26 Nov 2026 00:00")

    def test_reports_stand_in_it_with_their_receipts(self, shop: Shop) -> None:
        shop.record()
        reporting.make(shop.book, "purchase-1.county-sheriff", "letter", at=shop.local())
        reporting.sent(shop.book, "purchase-1.county-sheriff", at=shop.local(), how="by hand")
        reporting.received(shop.book, "purchase-1.county-sheriff", at=shop.local(), who="Canary at the desk")
        reports = {row["report"]: row for row in rows(shown(shop).files["reports.csv"])}
        done = reports["purchase-1.county-sheriff"]
        assert (done["state"], done["received"]) == ("received", "24 Nov 2026 09:15")
        inspected(shop)
        shop.wait(days=30)
        later = {row["report"]: row["state"] for row in rows(shown(shop).files["reports.csv"])}
        assert "purchase-1.county-sheriff" not in later
        assert [state for state in later.values() if state.endswith(", late")]

    def test_after_an_inspection_it_begins_with_the_next_entry(self, shop: Shop) -> None:
        shop.record()
        seq = inspected(shop)
        made = shown(shop)
        assert (made.first, rows(made.files["register.csv"])) == (seq + 1, [])
        said = text_of(made.files["inspection.pdf"])
        assert "No purchase record was made since." in said
        assert "nothing: no entry was made since the last inspection" in said
        shop.record()
        register = rows(shown(shop).files["register.csv"])
        assert {row["slip"] for row in register} == {"2"}
        assert len(rows(shown(shop).files["stock.csv"])) == 4

    def test_nothing_bought_and_no_rules_are_said(self, bare_shop: Shop) -> None:
        said = text_of(shown(bare_shop).files["inspection.pdf"])
        for words in ("No purchase record", "Nothing is in stock.", "No report was due.", "No rule file is in force."):
            assert words in said

    def test_only_a_seal_is_written(self, sqlite_shop: Shop) -> None:
        sqlite_shop.record()
        before = check_book(sqlite_shop).entries
        shown(sqlite_shop)
        check_book(sqlite_shop, entries=before)

    def test_a_cell_never_begins_like_a_formula(self) -> None:
        # Source: OWASP, "CSV Injection": =, +, -, @, tab and carriage return begin a formula in spreadsheets.
        made = showing._csv(("a",), [("=1+1",), ("@x",), ("-3",), ("ring",)])
        assert made == b"a\r\n'=1+1\r\n'@x\r\n'-3\r\nring\r\n"

    def test_other_changes_stand_in_it_too(self, bare_shop: Shop) -> None:
        bare_shop.record()
        with bare_shop.book.writing() as page:
            page.append("weighed/0", about=["item/1/1"], public={"slip": 1, "line": 1})
        (row,) = [row for row in rows(shown(bare_shop).files["register.csv"]) if row["what"] == "weighed again"]
        assert (row["slip"], row["item"], row["says"]) == ("1", "1/1", "")


class TestShelf:
    """Scanned labels against the book: entries without article, articles without entry."""

    def label(self, shop: Shop, item: str) -> str:
        return f"{shop.book.origin} item/{item} 9-ABCDEFGHIJKLMNOPQRST"

    def test_what_agrees_agrees(self, shop: Shop) -> None:
        shop.record()
        found = shelving.check(shop.book, ["1/1", self.label(shop, "1/3")])
        assert (found.agrees, [one.item for one in found.found]) == (True, ["1/1", "1/3"])

    def test_both_ways(self, bare_shop: Shop) -> None:
        bare_shop.record()
        bare_shop.record()
        leaving.out(bare_shop.book, 1, 1, "sold", at=bare_shop.local())
        leaving.out(bare_shop.book, 2, 3, "sent-out", at=bare_shop.local(), to="a repairer")
        other = "counterfoil/" + "0" * 32
        scanned = ["2/1", "02/01", "1/1", "9/9", "1/2", f"{other} item/1/1", "a smudge"]
        found = shelving.check(bare_shop.book, scanned)
        assert [one.item for one in found.missing] == ["1/3"]
        assert [(one.code, one.why) for one in found.strays] == [
            ("1/1", "by the book it is sold"),
            ("9/9", "the book has no such item"),
            ("1/2", "by the book it is declined"),
            (f"{other} item/1/1", "its label is of another book"),
            ("a smudge", "it is not the code of a label"),
        ]
        assert ([one.item for one in found.away], found.twice) == (["2/3"], ("02/01",))
        assert (found.agrees, found.record()["found"]) == (False, 1)
        with bare_shop.book.writing() as page:
            page.seal()
        said = text_of(shelving.shelf_paper(bare_shop.book, found, "letter", at=bare_shop.local()))
        for words in (
            "Entries without article 1",
            "Articles without entry 5",
            "by the book it is sold",
            "the whole shop",
        ):
            assert words in said

    def test_one_place_alone(self, bare_shop: Shop) -> None:
        bare_shop.record()
        leaving.move(bare_shop.book, 1, 1, "safe 2", at=bare_shop.local(), because="")
        found = shelving.check(bare_shop.book, ["1/1", "1/3"], place="safe 2")
        assert ([one.item for one in found.found], found.missing) == (["1/1"], ())
        assert [one.why for one in found.strays] == ["by the book it lies in shop"]

    def test_codes_are_read_one_a_line(self) -> None:
        assert shelving.codes(b"\xef\xbb\xbf1/1\r\n\n 1/3 \n") == ["1/1", "1/3"]
        for data, words in ((b"\n", "'0 codes'"), (b"\xff", "is not")):
            with pytest.raises(InputError, match=words):
                shelving.codes(data)


class TestSample:
    """A random sample from a seed that the inspector gives, reproducible by a stranger."""

    def test_a_stranger_draws_the_same_with_sha256sum(self, bare_shop: Shop) -> None:
        for _ in range(4):
            bare_shop.record()
        drawn = shelving.sample(bare_shop.book, "Kreuz 7 ä", 3)
        items = [f"{slip}/{line}" for slip in range(1, 5) for line in (1, 3)]
        # As METHOD says it, with coreutils' sha256sum in place of this program.
        values = {}
        for item in items:
            done = subprocess.run(["sha256sum"], input=f"Kreuz 7 ä|{item}".encode(), capture_output=True, check=True)
            values[item] = done.stdout.decode().split()[0]
        assert [(one.article.item, one.value) for one in drawn.drawn] == sorted(
            values.items(), key=lambda pair: pair[1]
        )[:3]
        assert (drawn.population, drawn.record()["method"]) == (8, shelving.METHOD)

    def test_another_seed_draws_others_and_all_is_all(self, bare_shop: Shop) -> None:
        for _ in range(3):
            bare_shop.record()
        first, second = (
            [one.article.item for one in shelving.sample(bare_shop.book, seed, 6).drawn] for seed in ("1", "2")
        )
        assert first != second
        assert sorted(first) == sorted(second)

    def test_what_was_bought_since_is_drawn_from_even_if_it_left(self, bare_shop: Shop) -> None:
        bare_shop.record()
        seq = inspected(bare_shop)
        bare_shop.record()
        leaving.out(bare_shop.book, 2, 1, "sold", at=bare_shop.local())
        drawn = shelving.sample(bare_shop.book, "7", 9, since=seq)
        assert {one.article.item: one.article.state for one in drawn.drawn} == {"2/1": "sold", "2/3": "in stock"}
        assert drawn.of == "all items bought since the last inspection"
        assert shelving.sample(bare_shop.book, "7", 9, since=-1).of == "all items bought since the book began"

    @pytest.mark.parametrize(("seed", "count"), [(" ", 3), ("7", 0)])
    def test_no_seed_draws_nothing(self, bare_shop: Shop, seed: str, count: int) -> None:
        with pytest.raises(InputError, match="^seed: "):
            shelving.sample(bare_shop.book, seed, count)


class TestInspection:
    """The inspection entry, sealed right after the last entry."""

    def test_it_names_its_own_id_and_is_sealed_at_once(self, shop: Shop) -> None:
        shop.record()
        before = check_book(shop).entries
        seq = inspected(shop, sample={"seed": "7", "count": 1}, shown=["a" * 64])
        with engines.reading(shop.book.engine) as connection:
            opened = reading.open_entry(connection, shop.book, seq)
            last = reading.entry_at(connection, shop.book.origin, seq - 1)
            sealed = seals.read_seal(reading.newest_seal(connection, shop.book.origin) or "")
        assert (seq, sealed.size) == (before, before + 1)
        assert [one.partition("/")[0] for one in opened.entry.about] == ["inspection"]
        assert opened.entry.public == {}
        said = opened.get("inspection")
        assert said["after"] == {"entry": last.seq, "leaf": last.leaf.hex()}
        assert [one["item"] for one in said["sample"]["drawn"]] in (["1/1"], ["1/3"])
        assert b"canary" not in opened.entry.data.lower()
        check_book(shop)

    def test_a_strangers_verifier_finds_nothing_wrong_with_all_that(self, sqlite_shop: Shop) -> None:
        # The verifier was written from the page that says how a book is made, without the program's own code.
        sqlite_shop.record()
        name = test_requests.came(sqlite_shop)
        test_custody.took(sqlite_shop, name)
        custody.give_back(sqlite_shop.book, name, [(1, 1)], at=sqlite_shop.local(), by="the officer")
        seq = inspected(sqlite_shop)
        inspecting.cure(sqlite_shop.book, seq, 1, at=sqlite_shop.local(), by="ada")
        check_book(sqlite_shop)
        sqlite_shop.book.engine.dispose()
        assert standalone_verifier.verify(sqlite_shop.book.folder) == []

    def test_its_paper_holds_findings_and_the_place_to_sign(self, shop: Shop) -> None:
        shop.record()
        seq = inspected(shop, sample={"seed": "7", "count": 5}, shown=["ab" * 32], said="It is posted by tomorrow.")
        with engines.reading(shop.book.engine) as connection:
            entry = reading.entry_at(connection, shop.book.origin, seq)
        said = text_of(inspecting.paper(shop.book, entry, "letter"))
        for words in (
            "Canary Officer, number 4417",
            "Canary Code 9 (invented)",
            f"entry {seq - 1}, leaf",
            "Label of item 1/3 cannot be read. 2026-12-01",
            "The price sign is not posted. no day named",
            "It is posted by tomorrow.",
            "Seed 7: 2 of 2 items",
            "abab abab",
            "Inspector, name and number",
        ):
            assert words in said

    def test_nothing_amiss_is_said(self, bare_shop: Shop) -> None:
        seq = inspected(bare_shop, findings=[])
        with engines.reading(bare_shop.book.engine) as connection:
            entry = reading.entry_at(connection, bare_shop.book.origin, seq)
        said = text_of(inspecting.paper(bare_shop.book, entry, "a4"))
        assert ("Nothing was found amiss." in said, "nothing with a digest" in said) == (True, True)
        bare = inspected(bare_shop, sample={"seed": "7", "count": 1})
        with engines.reading(bare_shop.book.engine) as connection:
            entry = reading.entry_at(connection, bare_shop.book.origin, bare)
        assert "Drawn: none" in text_of(inspecting.paper(bare_shop.book, entry, "a4"))

    def test_findings_stand_until_they_are_cured(self, shop: Shop) -> None:
        first = inspected(shop)
        made = inspecting.cure(shop.book, first, 1, at=shop.local(), by="ada", said="printed anew")
        with engines.reading(shop.book.engine) as connection:
            (one,) = inspecting.every(connection, shop.book)
            assert inspecting.since(connection, shop.book) == first
        assert (one.seq, one.open) == (first, [(2, "The price sign is not posted.", None)])
        assert made.about == (f"inspection/{one.id}",)
        assert one.at.date() == date(2026, 11, 24)
        for seq, finding, says in ((first, 1, "^finding: "), (first, 3, "^finding: "), (0, 1, "^inspection: ")):
            with pytest.raises(InputError, match=says):
                inspecting.cure(shop.book, seq, finding, at=shop.local(), by="ada")
        check_book(shop)

    def test_locked_it_is_not_read(self, sqlite_shop: Shop) -> None:
        inspected(sqlite_shop)
        sqlite_shop.book.keys = None
        sqlite_shop.book._data_keys.clear()
        with engines.reading(sqlite_shop.book.engine) as connection, pytest.raises(LockedError):
            inspecting.since(connection, sqlite_shop.book)

    @pytest.mark.parametrize(
        ("changes", "message"),
        [
            ({"rank": "x"}, "^rank: 'rank' was given; wanted is one of officer"),
            ({"officer": "Canary"}, "^officer: something else"),
            ({"officer": {"name": "Canary", "badge": "1"}}, "^officer: something else"),
            ({"officer": {"name": "Canary", "agency": "Canary"}}, "^officer.number: "),
            ({"power": ""}, "^power: "),
            ({"shown": "x"}, "^shown: "),
            ({"shown": ["x"]}, "^shown: "),
            ({"findings": ["x"]}, "^findings: "),
            ({"findings": [{"what": "x", "by": "y"}]}, "^findings: another member"),
            ({"findings": [{"what": "x", "cure_by": "soon"}]}, "^findings.cure_by: "),
            ({"findings": [{"cure_by": "2026-12-01"}]}, "^findings.what: "),
            ({"sample": "7"}, "^sample: something else"),
            ({"sample": {"seed": 7, "count": 1}}, "^sample: something else"),
            ({"sample": {"seed": "7", "count": True}}, "^sample: something else"),
            ({"sample": {"seed": "7", "count": 0}}, "^sample: 0 was given"),
            ({"sample": {"seed": " ", "count": 1}}, "^sample: 1 was given"),
        ],
    )
    def test_what_is_wrong_is_named(self, changes: dict[str, Any], message: str) -> None:
        at = "2026-11-24T09:15:00-06:00[America/Chicago]"
        with pytest.raises(InputError, match=message) as fault:
            inspecting.read({**WAS_HERE, "at": at, **changes})
        assert "Canary" not in str(fault.value)
