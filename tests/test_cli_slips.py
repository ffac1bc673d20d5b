"""Slips on a terminal: what is checked, what is recorded, and that a bad slip leaves the book as it was."""

import io
import json
import re
import struct
import zipfile
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from tests.till import SLIP, Till, changed, picture

Change = tuple[str, Any]


def zip_file() -> bytes:
    """A zip, whatever its name will say."""
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w") as archive:
        archive.writestr("ring.txt", "not a picture")
    return data.getvalue()


def png_of(width: int, height: int) -> bytes:
    """The head of a PNG that declares this size. Source: PNG (ISO/IEC 15948), chunks IHDR and IEND."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"")) + chunk(b"IEND", b"")


def with_picture(data: bytes) -> Callable[[Till], Path]:
    """A slip beside whose second picture lie these bytes; the first is a good one."""

    def make(till: Till) -> Path:
        till.keep("ring.jpg", data)
        return till.slip()

    return make


def written(text: str | bytes, name: str = "slip.json") -> Callable[[Till], Path]:
    return lambda till: till.keep(name, text)


def slip(*changes: Change) -> Callable[[Till], Path]:
    return lambda till: till.slip(*changes)


DOCUMENT = "parties.0.documents.0"
BAD: dict[str, Callable[[Till], Path]] = {
    "a word where a number belongs": slip(("items.0.pieces", "one")),
    "a member that no slip has": slip(("colour", "yellow")),
    "a member that no item has": slip(("items.0.karat", "14")),
    "a birth date that never was": slip(("parties.0.birth_date", "1983-02-29")),
    "a moment whose offset the zone did not have": slip(("occurred_at", "2026-11-24T10:05:00-04:00[America/New_York]")),
    "a purchase in the future": slip(("occurred_at", "2026-11-24T10:25:00-05:00[America/New_York]")),
    "a negative weight": slip(("items.0.weighings.0.value", "-4.20")),
    "a weight that is no text": slip(("items.0.weighings.0.value", 4.2)),
    "an ounce that may be either": slip(("items.0.weighings.0.unit", "oz")),
    "stones that weigh more than the whole": slip(
        ("items.0.weighings.0", {"what": "stones", "value": "9", "unit": "g", "scale": "scale-1"}),
    ),
    "60 kB of text": slip(("notes", "x" * 60_000)),
    "a zip called .jpg": with_picture(zip_file()),
    "a picture that unpacks to more than 1,000 megapixels": with_picture(png_of(40_000, 40_000)),
    "half a picture": with_picture(picture(size=(400, 300))[:900]),
    "a picture that is not there": slip(("items.0.pictures.0.file", "nowhere.jpg")),
    "a picture elsewhere": slip(("items.0.pictures.0.file", "../desk/ring.jpg")),
    "a document that expires before it was issued": slip((f"{DOCUMENT}.expires", "2021-01-01")),
    "bytes that are no UTF-8": written(json.dumps(SLIP).encode().replace(b"Quarry", b"Quarr\xff")),
    "a member that stands twice": written(json.dumps(SLIP).replace('"staff"', '"staff": "mara", "staff"')),
    "a float that is none": written(json.dumps(SLIP).replace('"pieces": 1', '"pieces": NaN')),
    "JSON that ends in the middle": written(json.dumps(SLIP)[:400]),
    "TOML that is none": written("[tray\nnumber = 7", "slip.toml"),
    "an empty file": written(b""),
    "a list": written("[1, 2, 3]"),
    "brackets in brackets in brackets": written("[" * 100_000),
    "an item that is taken and no payout": slip(("payout", None)),
    "a payout that is not the sum of what was taken": slip(("payout.amount", "200.00")),
    "a tray that does not hold what the lines say": slip(("tray.articles", 2)),
    "a description that says nothing": slip(("items.0.article", "scrap")),
    "a seller without a name": slip(("parties.0.name", None)),
    "a clerk whom the shop does not know": slip(("staff", "nobody")),
    "a line end in a name": slip(("parties.0.name.given", "Jonah\nAverill")),
}


class TestBadSlips:
    """Kinds of bad slip: one sentence each, exit 2, the book unchanged byte for byte."""

    @pytest.mark.parametrize("kind", BAD)
    def test_one_sentence_and_nothing_changes(self, till: Till, kind: str) -> None:
        path = BAD[kind](till)
        before = till.files()
        done = till.run("slip", "record", path)
        assert (done.exit_code, done.stdout) == (2, "")
        assert re.fullmatch(r"[^\n]{20,}\.\n", done.stderr)
        assert "Averill" not in done.stderr
        assert till.files() == before

    @pytest.mark.parametrize(
        "kind", ["a negative weight", "a zip called .jpg", "a tray that does not hold what the lines say"]
    )
    def test_check_says_the_same(self, till: Till, kind: str) -> None:
        path = BAD[kind](till)
        checked, recorded = till.run("slip", "check", path), till.run("slip", "record", path)
        assert (checked.exit_code, checked.stderr) == (2, recorded.stderr)


class TestCheck:
    """slip check: duties and assessments, nothing written; 7 if a duty is broken, else 8 if one is undecided."""

    def test_it_writes_nothing_and_needs_no_key(self, till: Till) -> None:
        before = till.files()
        assert till.run("slip", "check", till.slip(), unlocked=False).exit_code == 0
        assert till.files() == before

    def test_it_prints_duties_with_their_sources_and_from_when_the_goods_may_leave(self, till: Till) -> None:
        shown = till.run("slip", "check", till.slip()).stdout
        assert re.search(
            r"^met +seller +xx-test-town/minimum-age +Nothing .*\(Test Town Code 2 \(invented\)\)", shown, re.M
        )
        # The rule: ten days after the day of purchase, the 24th; so the first free day is 5 December.
        assert "May leave from: Sat 5 Dec 2026 00:00 America/New_York" in shown
        assert "Test owed: xrf, which decides" in shown
        assert "Offer: USD 120.00, taken" in shown

    def test_broken_duties_come_first(self, till: Till) -> None:
        shown = till.run("slip", "check", till.slip(("parties.0.birth_date", "2012-01-01"))).stdout
        assert shown.splitlines()[3].startswith("broken")

    def test_the_document_holds_duties_items_and_what_is_owed(self, till: Till) -> None:
        draft = till.slip(("items.0.conclusion", None), ("declaration", None))
        found = till.answer("slip", "check", draft)
        assert {duty["rule"] for duty in found["duties"]} >= {"minimum-age", "hold-ten-days", "purchase-report"}
        assert found["items"][0]["assessment"]["construction"] == "undetermined"
        assert found["may_leave"][0]["cautious"] == "2026-12-05T00:00:00-05:00[America/New_York]"
        assert {owed["field"].split("[")[0].split(".")[0] for owed in found["owed"]} == {"declaration", "items"}
        assert "Still to be entered before the slip is presented" in till.run("slip", "check", draft).stdout

    def test_against_the_owners_policy_an_answer_is_asked_for(self, till: Till) -> None:
        dear = till.slip(("items.0.offer.amount", "180.00"), ("payout.amount", "180.00"))
        done = till.run("slip", "check", dear)
        assert (done.exit_code, "Against the owner's policy" in done.stdout) == (8, True)
        answers = till.keep("answers.toml", '"shop/test-owed" = "known for years"\n')
        assert till.run("slip", "check", dear, "--answers", answers).exit_code == 0

    def test_each_limit_of_the_owner_asks_for_an_answer_of_its_own(self, till: Till) -> None:
        settings = till.book / "settings.toml"
        limits = 'no-claim = "never"\ntest-owed = { EUR = "150.00" }'
        kept = settings.read_text(encoding="utf-8")
        settings.write_text(kept.replace('test-owed = { USD = "150.00" }', limits, 1), encoding="utf-8")
        unmarked = till.slip(("items.0.marks", []))
        shown = till.run("slip", "check", unmarked)
        assert shown.exit_code == 8
        assert "USD 120.00 is in a currency for which the owner names no limit beside EUR 150.00" in shown.stdout
        assert "USD 120.00 is more than the owner allows, which is nothing, and it bears no mark" in shown.stdout
        one = till.keep("answers.toml", '"shop/test-owed" = "known for years"\n')
        assert till.run("slip", "check", unmarked, "--answers", one).exit_code == 8
        both = till.keep("answers.toml", '"shop/test-owed" = "known for years"\n"shop/no-claim" = "hand-made"\n')
        assert till.run("slip", "check", unmarked, "--answers", both).exit_code == 0

    def test_stones_that_were_not_weighed_make_the_weight_an_estimate(self, till: Till) -> None:
        reading = {"unit": "per-mille", "readings": [{"elements": {"Au": "584", "Cu": "416"}}]}
        notch = {"test": "filed-xrf", **reading, "consent": {"given": True}}
        stone = {"count": 1, "shape": "round", "size": "5.0 x 3.0 mm", "species": "diamond"}
        spot = {"metal": "gold", "currency": "USD", "price": "2650.00", "unit": "ozt", "source": "price sheet"}
        set_ring = till.slip(
            ("items.0.stones", [stone]),
            ("items.0.evidence", [notch]),
            ("spot", [{**spot, "moment": "2026-11-24T10:00:00-05:00"}]),
        )
        # 5 x 5 x 3 x 0.0061 = 0.4575 carat, 0.0915 g, from dealers' formula; a tenth of it is 0.009 g.
        shown = till.run("slip", "check", set_ring).stdout
        assert "Net weight: an estimate, 4.108 g, give or take 0.01 g: the stones were not weighed" in shown

    def test_an_answer_stands_beside_its_duty(self, till: Till) -> None:
        silent = till.slip(("parties.0.observed", None))
        shown = till.run("slip", "check", silent, "--answer", "xx-test-town/intoxicated=sober by his walk").stdout
        assert "Answered: sober by his walk" in shown

    @pytest.mark.parametrize("answer", ["no-equals", "=reason", "rule="])
    def test_an_answer_needs_rule_and_reason(self, till: Till, answer: str) -> None:
        assert till.run("slip", "check", till.slip(), "--answer", answer).exit_code == 2

    def test_an_answer_in_a_file_must_be_words(self, till: Till) -> None:
        answers = till.keep("answers.json", {"rule": 3})
        assert till.run("slip", "check", till.slip(), "--answers", answers).exit_code == 2

    def test_a_layered_article_shows_its_upper_bound_and_a_worked_out_value(self, till: Till) -> None:
        filled = [{"text": "1/20 12K GF", "where": "inside of the band"}]
        shown = till.run("slip", "check", till.slip(("items.0.marks", filled))).stdout
        assert "an upper bound" in shown
        assert re.search(r"Value: 0\.\d+ g fine at", shown)

    def test_a_test_that_fails_is_a_conflict_with_the_mark(self, till: Till) -> None:
        seen = {"test": "xrf", "unit": "per-mille", "readings": [{"elements": {"Au": "584", "Ag": "119", "Cu": "297"}}]}
        gone: dict[str, Any] = {"test": "streak", "acid_karat": "14", "depth": "deep", "result": "gone"}
        gone["consent"] = {"given": True, "mark_left": "a line inside"}
        shown = till.run("slip", "check", till.slip(("items.0.evidence", [seen, gone]))).stdout
        assert re.search(r"^  Conflict: A deep streak .*; settled by", shown, re.M)

    def test_an_item_without_an_offer_and_one_declined_show_no_moment(self, till: Till) -> None:
        shown = till.run("slip", "check", till.slip(("items.0.offer", None), ("payout", None))).stdout
        assert "Offer:" not in shown
        assert "May leave from" not in shown

    def test_where_no_rule_file_is_in_force_it_is_said(self, till: Till) -> None:
        till.tamper("DELETE FROM adoptions")
        assert "No rule of the files in force asks anything" in till.run("slip", "check", till.slip()).stdout

    def test_toml_by_extension_and_by_content(self, till: Till) -> None:
        sample = Path(__file__).parent.parent / "sample_config/slips/three-items.toml"
        sentences = [
            till.run("slip", "check", till.keep(name, sample.read_bytes()), unlocked=False).stderr
            for name in ("sample.toml", "no-extension")
        ]
        assert sentences[0] == sentences[1]
        assert "beside the slip" in sentences[0], "its pictures are not there"

    def test_a_slip_may_come_from_standard_input_with_its_pictures_where_one_stands(
        self, till: Till, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.chdir(till.desk)
        assert till.run("slip", "check", "-", stdin=json.dumps(SLIP)).exit_code == 0

    def test_the_schema_is_json(self, till: Till) -> None:
        schema = json.loads(till.run("slip", "schema", unlocked=False, book=False).stdout)
        assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
        assert schema["additionalProperties"] is False


class TestRecord:
    """slip record: the purchase is in the book, and the papers lie beside it."""

    def test_it_prints_number_entry_leaf_seal_and_papers(self, till: Till) -> None:
        done = till.run("slip", "record", till.slip())
        assert done.exit_code == 0
        first = done.stdout.splitlines()[0]
        found = re.fullmatch(r"Slip 1 is recorded: entry (\d+), leaf ([0-9a-f]{16}), seal (\d+-[A-Z2-7]{20})\.", first)
        assert found is not None
        entry = till.entry(int(found[1]))
        assert (entry.kind, entry.leaf.hex()[:16], entry.by) == ("purchase/0", found[2], "mara")
        assert found[3] == till.answer("book", "seal")["seal"]
        papers = [Path(line.removeprefix("Paper: ")) for line in done.stdout.splitlines() if line.startswith("Paper: ")]
        assert [path.name for path in papers] == ["slip-1-stub.pdf", "slip-1-report.pdf"]
        assert {path.parent for path in papers} == {till.folder / "papers"}

    def test_stub_and_report_say_what_was_bought(self, till: Till) -> None:
        found = till.answer("slip", "record", till.slip())
        stub, report = ("".join(page.extract_text() for page in PdfReader(path).pages) for path in found["papers"])
        assert found["seal"] in stub
        assert "ring, yellow metal" in stub.replace("\n", " ")
        assert "Averill" in report
        assert "A417-2290" not in stub

    def test_papers_are_drawn_only_where_they_are_wanted(self, till: Till) -> None:
        assert till.answer("slip", "record", till.slip(), "--no-papers")["papers"] == []
        elsewhere = till.folder / "drawer"
        found = till.answer("slip", "record", till.slip(), "--out", elsewhere)
        assert [Path(path).parent for path in found["papers"]] == [elsewhere, elsewhere]
        assert [Path(path).stat().st_mode & 0o777 for path in found["papers"]] == [0o600, 0o600]

    def test_a_paper_with_a_character_that_no_font_has_is_named_and_the_purchase_stands(self, till: Till) -> None:
        odd = till.slip(("items.0.style", "band with \U0001fae0"))
        done = till.run("slip", "record", odd)
        assert done.exit_code == 1
        assert "Slip 1 is recorded" in done.stdout
        assert re.match(r"Slip 1 stands in the book, but a paper could not be drawn: .*1FAE0", done.stderr)
        assert till.answer("slip", "list")["slips"][0]["state"] == "recorded"

    def test_no_paper_lies_in_the_books_folder(self, till: Till) -> None:
        done = till.run("slip", "record", till.slip(), "--out", till.book / "papers")
        assert (done.exit_code, "outside the book's" in done.stderr) == (1, True)

    def test_a_presented_slip_is_recorded_with_its_signature(self, till: Till) -> None:
        shown = till.answer("slip", "present", till.slip(("declaration.signature", None)))
        assert (shown["slip"], shown["state"]) == (1, "presented")
        assert [Path(path).name for path in shown["papers"]] == ["slip-1-to-sign.pdf"]
        till.keep("signature.jpg", picture("black"))
        signed = till.slip(("declaration.signature", {"file": "signature.jpg"}))
        done = till.answer("slip", "record", signed, "--presented", 1, "--no-papers")
        assert (done["slip"], done["state"]) == (1, "recorded")
        again = till.run("slip", "record", signed, "--presented", 1, "--no-papers")
        assert (again.exit_code, "a slip that is presented" in again.stderr) == (2, True)
        assert till.answer("book", "verify")["notes"] == []

    def test_what_the_seller_was_shown_cannot_be_changed_afterwards(self, till: Till) -> None:
        till.answer("slip", "present", till.slip(), "--no-papers")
        dearer = till.slip(("items.0.offer.amount", "90.00"), ("payout.amount", "90.00"))
        done = till.run("slip", "record", dearer, "--presented", 1)
        assert (done.exit_code, "what the seller was shown" in done.stderr) == (2, True)


class TestUndoing:
    """Refusals, withdrawals, voids and corrections: nothing that stands in the book goes away."""

    def test_a_refusal_holds_what_the_rule_lets_it_hold(self, till: Till) -> None:
        young = till.slip(("parties.0.birth_date", "2012-01-01"))
        done = till.answer("slip", "refuse", young, "--because", "-", stdin="too young\n")
        assert done["may_record"] == ["reason", "count"]
        assert till.entry(done["entry"]).kind == "refused/0"
        assert till.answer("book", "verify")["ok"] is True

    def test_a_reason_may_lie_in_a_file_and_must_say_something(self, till: Till) -> None:
        reason = till.keep("reason.txt", "changed\n his mind\n")
        till.answer("slip", "present", till.slip(), "--no-papers")
        assert till.run("slip", "withdraw", 1, "--because", f"@{reason}").exit_code == 0
        assert till.answer("slip", "show", 1)["state"] == "withdrawn"
        till.answer("slip", "present", till.slip(), "--no-papers")
        assert till.run("slip", "withdraw", 2, "--because", "-", stdin=" \n").exit_code == 2
        assert till.run("slip", "withdraw", 2, "--because", "-", stdin=b"\xff").exit_code == 2

    def test_a_void_gives_everything_back(self, till: Till) -> None:
        till.record()
        found = till.answer("slip", "void", 1, "--because", "goods returned")
        assert found["at"] == "Tue 24 Nov 2026 10:15 America/New_York"
        assert till.answer("item", "show", "1/1")["state"] == "returned to seller"
        assert till.answer("payout", "list")["payouts"][0]["state"] == "recovered"

    def test_a_correction_stands_beside_what_it_corrects(self, till: Till) -> None:
        till.record()
        changes = till.keep("changes.toml", 'style = "fluted band"\n')
        done = till.run("slip", "correct", 1, "item/1/description", changes, "--because", "slip of the pen")
        assert done.exit_code == 0
        assert "fluted band" in till.answer("item", "show", "1/1")["words"]
        shown = till.answer("slip", "show", 1)
        assert [one["part"] for one in shown["corrections"]] == ["item/1/description"]
        assert shown["parts"]["item/1/description"]["style"] == "plain band"


class TestLooking:
    """slip list and show: what is in the book, personal data only where asked for."""

    def test_an_empty_book_says_so(self, till: Till) -> None:
        assert till.run("slip", "list", unlocked=False).stdout == "No such slip is in the book.\n"

    def test_the_list_can_be_narrowed(self, till: Till) -> None:
        till.record()
        till.answer("slip", "present", till.slip(), "--no-papers")
        assert [slip["slip"] for slip in till.answer("slip", "list")["slips"]] == [2, 1]
        assert [slip["slip"] for slip in till.answer("slip", "list", "--state", "recorded")["slips"]] == [1]
        assert till.answer("slip", "list", "--day", "2026-11-23")["slips"] == []
        assert len(till.answer("slip", "list", "--most", 1)["slips"]) == 1
        table = till.run("slip", "list", unlocked=False).stdout.splitlines()
        assert table[0].split() == ["slip", "state", "day", "items", "total", "channel"]
        assert table[2].split() == ["1", "recorded", "2026-11-24", "1", "USD", "120.00", "counter"]

    def test_a_slip_that_bought_nothing_has_no_total(self, till: Till) -> None:
        till.answer("slip", "record", till.slip(("items.0.offer.answer", "declined"), ("payout", None)), "--no-papers")
        assert till.answer("slip", "list")["slips"][0]["total"] is None
        assert re.search(r"^ +1 +recorded .* - +counter$", till.run("slip", "list").stdout, re.M)

    def test_the_seller_is_shown_only_where_asked_for(self, till: Till) -> None:
        till.record()
        assert "Averill" not in till.run("slip", "show", 1).output
        assert "Averill" not in till.run("slip", "show", 1, "--json").output
        assert "seller.age" not in till.run("slip", "show", 1, "--json").output, "traces hold what she answered"
        assert "Averill" in till.run("slip", "show", 1, "--personal", "--why", "asked by the owner").stdout
        shown = till.answer("slip", "show", 1, "--personal", "--why", "asked by the owner")
        assert shown["parts"]["seller/name"]["family"] == "Averill"
        assert shown["parts_not_shown"] == 0

    def test_the_entries_of_a_slip_are_listed(self, till: Till) -> None:
        done = till.record()
        entries = till.answer("slip", "show", 1)["entries"]
        assert [entry["kind"] for entry in entries] == ["presented/0", "purchase/0"]
        assert entries[-1]["leaf"] == done["leaf"]

    def test_what_a_person_and_a_program_said_is_shown_in_short(self, till: Till) -> None:
        test = {
            "test": "magnet",
            "pull": "none",
            "instrument": "magnet-1",
            "by": "mara",
            "at": "2026-11-24T10:04:00-05:00[America/New_York]",
        }
        differs = {"agrees": False, "because": "worn mark"}
        till.record(("items.0.evidence", [test]), ("items.0.conclusion", differs))
        shown = till.run("slip", "show", 1).stdout
        assert re.search(r"^item/1/evidence +magnet$", shown, re.M)
        assert re.search(r"^item/1/conclusion +differs because worn mark$", shown, re.M)
        assert re.search(r"^item/1/description +ring, yellow metal, plain band, marked 14K$", shown, re.M)

    def test_the_slip_of_these_tests_is_a_whole_one(self) -> None:
        assert changed() == SLIP
