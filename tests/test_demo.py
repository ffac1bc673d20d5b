"""The demonstration holds what it promises: every case of the story, a sound book, a forgery caught, all papers."""

import json
import os
import re
import shlex
import shutil
import sqlite3
import stat
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime
from functools import cached_property
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from pypdf import PdfReader

from ledger.acts import drafting, inquiring, opening, recording, setting_up
from ledger.acts.gathering import Whole, whole
from ledger.book import engine as engines
from ledger.book import reading, verifying
from ledger.book.faults import Fault, Findings
from ledger.book.pages import Book
from ledger.cli import main
from ledger.demo import building, diary, people, pictures, setting
from ledger.demo.papers import Papers
from ledger.demo.story import Story
from ledger.demo.visits import VISITS
from ledger.errors import BookUnsound, InputError
from ledger.identity import names
from ledger.slip import reading as slip_reading
from ledger.slip.document import Slip
from ledger.vault import keys_file
from tests import slip_samples

ROOT = Path(__file__).parent.parent
BUILD = (
    "import sys; from pathlib import Path; from ledger.demo import build; build(Path(sys.argv[1]), lambda line: None)"
)


@dataclass
class Shop:
    """The demonstration, built once for all tests here, and a second time in another process beside it."""

    folder: Path
    again: Path
    said: str
    book: Book

    def rows(self, statement: str, *values: Any) -> list[tuple[Any, ...]]:
        """What a plain look into the book's tables finds."""
        return rows(self.folder / "book" / "book.sqlite", statement, *values)

    @cached_property
    def numbers(self) -> dict[str, int]:
        """Slip numbers by visit, from the lines of the output."""
        words = {visit.name.replace("-", " "): visit.name for visit in VISITS}
        return {words[said]: int(number) for number, said in re.findall(r"slip +(\d+)  (.+)", self.said)}

    @cached_property
    def wholes(self) -> dict[str, Whole]:
        """Every slip read whole, by visit."""
        with engines.reading(self.book.engine) as connection:
            return {name: whole(connection, self.book, number) for name, number in self.numbers.items()}

    @cached_property
    def opened(self) -> list[reading.Opened]:
        """Every entry with its parts."""
        with engines.reading(self.book.engine) as connection:
            entries = list(reading.all_entries(connection, self.book.origin))
            return [reading.open_parts(connection, self.book, entry) for entry in entries]

    def of_kind(self, kind: str) -> list[reading.Opened]:
        """The entries of one kind, in order."""
        return [opened for opened in self.opened if opened.entry.kind == f"{kind}/0"]

    def state(self, visit: str, line: int) -> str:
        """Where an item stands."""
        found = self.rows("SELECT state FROM items WHERE slip = ? AND line = ?", self.numbers[visit], line)
        return str(found[0][0])

    def assessed(self, visit: str, line: int) -> dict[str, Any]:
        """What the book holds as an item's assessment."""
        recorded = self.wholes[visit].assessment(line)
        assert recorded is not None
        return dict(recorded)

    @property
    def papers(self) -> Path:
        """The folder of papers."""
        return self.folder / "papers"

    def text(self, paper: str) -> str:
        """The words of a paper, line breaks and runs of spaces as one space."""
        pages = PdfReader(self.papers / paper).pages
        return " ".join(" ".join(page.extract_text().split()) for page in pages)


def rows(database: Path, statement: str, *values: Any) -> list[tuple[Any, ...]]:
    connection = sqlite3.connect(database)
    try:
        return connection.execute(statement, values).fetchall()
    finally:
        connection.close()


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    base = tmp_path_factory.mktemp("demonstration")
    folder, again = base / "shop", base / "again"
    command = [sys.executable, "-c", BUILD, str(again)]
    other = subprocess.Popen(command, cwd=ROOT, env={**os.environ, "PYTHONHASHSEED": "7"})
    said: list[str] = []
    building.build(folder, said.append)
    assert other.wait(timeout=300) == 0
    book = opening.at(folder / "book", clock=lambda: datetime(2026, 11, 16, 18, tzinfo=UTC), chance=os.urandom)
    phrase = (folder / "demo-passphrase.txt").read_text().strip()
    book.keys = keys_file.open_file(book.folder / "keys.json", phrase)
    yield Shop(folder, again, "\n".join(said), book)
    book.engine.dispose()


class TestTheStory:
    """At least 20 slips over six weeks that between them show: a solid ring with agreeing tests; a gilt-silver goblet
    whose surface reads fine and whose filed spot does not; a hollow bangle whose density is wrong because water got
    in, settled by weighing again; ... an inquiry that finds a match and one that finds nothing."""

    def test_more_than_twenty_slips_in_six_weeks(self, shop: Shop) -> None:
        days = [date.fromisoformat(day) for (day,) in shop.rows("SELECT local_day FROM slips ORDER BY slip")]
        assert len(days) >= 20
        assert 36 <= (days[-1] - days[0]).days <= 42
        assert days == sorted(days)

    @pytest.mark.parametrize(
        ("visit", "line", "construction", "standing", "metal", "state"),
        [
            ("solid-ring-and-gold-filled-locket", 1, "solid", "as-claimed", "gold", "sold"),
            ("solid-ring-and-gold-filled-locket", 2, "layered", "as-claimed", "gold", "in stock"),
            ("gilt-silver-goblet", 1, "plated", "as-claimed", "silver", "in stock"),
            ("hollow-bangle-weighed-again", 1, "weighted-or-hollow", "as-claimed", "gold", "in stock"),
            ("hollow-bangle-weighed-again", 2, "undetermined", "not-known", "gold", "declined"),
            ("platinum-that-a-magnet-pulls", 1, "solid", "as-claimed", "platinum", "in stock"),
            ("sterling-set-bought-as-one", 1, "solid", "as-claimed", "silver", "in stock"),
            ("withdrawn-at-the-signature", 1, "undetermined", "not-known", "silver", "withdrawn"),
            ("weighted-candlesticks-stripped", 1, "weighted-or-hollow", "as-claimed", "silver", "sent out"),
            ("bag-of-broken-chain", 1, "solid", "as-claimed", "gold", "melted"),
            ("bullion-coins-above-the-cash-ceiling", 1, "solid", "as-claimed", "gold", "sold"),
            ("bullion-coins-above-the-cash-ceiling", 2, "solid", "as-claimed", "gold", "in stock"),
            ("stamped-18K-assays-16K", 1, "solid", "below", "gold", "melted"),
            ("one-offer-taken-one-declined", 2, "undetermined", "not-known", "silver", "declined"),
            ("dealer-with-a-melted-bar", 1, "solid", "no-claim", "gold", "in stock"),
            ("class-ring-and-a-plated-one", 1, "solid", "as-claimed", "gold", "in stock"),
            ("class-ring-and-a-plated-one", 2, "plated", "as-claimed", "gold", "no offer"),
            ("bracelet-given-back", 1, "solid", "as-claimed", "gold", "returned to seller"),
            ("brooch-of-two-metals", 1, "mixed-parts", "not-known", None, "in stock"),
            ("unmarked-chain-not-bought", 1, "undetermined", "no-claim", "gold", "no offer"),
            ("not-signed-yet", 1, "solid", "as-claimed", "silver", "offered"),
        ],
    )
    def test_each_article_comes_out_as_a_careful_assayer_would_say(
        self, shop: Shop, visit: str, line: int, construction: str, standing: str, metal: str | None, state: str
    ) -> None:
        assessed = shop.assessed(visit, line)
        assert (assessed["construction"], assessed["standing"]) == (construction, standing)
        assert assessed.get("metal") == metal
        assert shop.state(visit, line) == state

    def test_the_ring_s_tests_agree(self, shop: Shop) -> None:
        assessed = shop.assessed("solid-ring-and-gold-filled-locket", 1)
        assert {"surface-reading", "density-agrees", "acid-holds", "no-pull"} <= set(assessed["rules"])
        assert (assessed["conflicts"], assessed["owed"]) == ([], [])

    def test_the_locket_is_valued_at_most_at_fraction_times_karat(self, shop: Shop) -> None:
        assessed = shop.assessed("solid-ring-and-gold-filled-locket", 2)
        assert assessed["payable"]["upper_bound"] is True
        # 1/20 of 12 karat: 500 / 20 = 25 per thousand (16 CFR 23.3: the fraction is the layer's share of the weight).
        assert assessed["payable"]["high_ppm"] == 25_000
        price = shop.wholes["solid-ring-and-gold-filled-locket"].parts["item/2/price"]
        assert price["offer"]["minor"] < price["value"]["offer"]["minor"]

    def test_the_goblet_s_surface_reads_as_gold_and_its_filed_spot_as_silver(self, shop: Shop) -> None:
        assessed = shop.assessed("gilt-silver-goblet", 1)
        assert "filed-differs" in assessed["rules"]
        surface, filed = (
            next(reason["text"] for reason in assessed["reasons"] if reason["rule"] == rule)
            for rule in ("surface-reading", "filed-reading")
        )
        assert "Au 981.0" in surface
        assert "Au" not in filed
        assert assessed["payable"]["on"] == "net"

    def test_the_bangle_s_wrong_density_is_named_and_settled_by_weighing_again(self, shop: Shop) -> None:
        assessed = shop.assessed("hollow-bangle-weighed-again", 1)
        assert "density-void" in assessed["rules"]
        assert [conflict["settled_by"][:13] for conflict in assessed["conflicts"]] == ["weighed again"]
        assert "0.450 g of water got in" in json.dumps(assessed, ensure_ascii=False)

    def test_the_magnet_does_not_make_platinum_base(self, shop: Shop) -> None:
        assert "platinum-cobalt" in shop.assessed("platinum-that-a-magnet-pulls", 1)["rules"]

    def test_the_stamp_says_18_karat_and_16_are_paid_for(self, shop: Shop) -> None:
        payable = shop.assessed("stamped-18K-assays-16K", 1)["payable"]
        # 16/24 is 666.7 per thousand, 18/24 is 750.
        assert payable["low_ppm"] < 666_667 < payable["high_ppm"] < 750_000

    def test_the_candlesticks_are_paid_for_their_shells_alone(self, shop: Shop) -> None:
        assessed = shop.assessed("weighted-candlesticks-stripped", 1)
        assert (assessed["payable"]["on"], assessed["paid_weight_mg"]) == ("shell", 84_600)

    def test_a_set_and_a_lot_are_counted_and_the_lot_is_pictured(self, shop: Shop) -> None:
        spoons = shop.wholes["sterling-set-bought-as-one"].slip.items[0]
        chain = shop.wholes["bag-of-broken-chain"].slip.items[0]
        assert (spoons.kind, spoons.pieces) == ("set", 12)
        assert (chain.kind, chain.pieces, chain.pictures[0].shows) == ("lot", 41, "count")

    def test_offers_are_what_the_program_works_out_down_to_a_dollar_or_were_haggled(self, shop: Shop) -> None:
        haggled = 0
        for visit in VISITS:
            for line, offered in enumerate(visit.tray, 1):
                if visit.name not in shop.wholes or not offered.answer:
                    continue
                price = shop.wholes[visit.name].parts[f"item/{line}/price"]
                if offered.price:
                    haggled += 1
                else:
                    assert 0 <= price["value"]["offer"]["minor"] - price["offer"]["minor"] < 100
        assert 0 < haggled < 8

    def test_a_returning_seller_is_known_by_name_and_by_document(self, shop: Shop) -> None:
        mine = [shop.numbers["stamped-18K-assays-16K"], shop.numbers["solid-ring-and-gold-filled-locket"]]
        person = names.person_key("Bożena Świerczek", date(1968, 3, 22))
        assert inquiring.returning(shop.book, "person", person) == mine
        assert inquiring.returning(shop.book, "document", names.number_key("V44710093")) == mine

    def test_of_a_seller_too_young_only_reason_and_count_are_kept(self, shop: Shop) -> None:
        (refused,) = shop.of_kind("refused")
        assert dict(refused.parts) == {"reason": {"because": "the seller is seventeen", "articles": 1}}
        assert refused.entry.occurred_at is None
        assert "seller too young: Nothing may be bought from a person under eighteen" in shop.said

    def test_cash_above_the_ceiling_is_refused_and_a_cheque_taken(self, shop: Shop) -> None:
        assert re.search(r"REFUSED .*at most USD 500.00 may be paid by cash", " ".join(shop.said.split()))
        slip = shop.wholes["bullion-coins-above-the-cash-ceiling"].slip
        assert slip.payout is not None
        assert slip.payout.instrument == "cheque"
        assert slip.payout.money.minor > 500_00

    def test_slips_end_in_every_way(self, shop: Shop) -> None:
        states = dict(shop.rows("SELECT slip, state FROM slips"))
        number = shop.numbers
        assert states[number["withdrawn-at-the-signature"]] == "withdrawn"
        assert states[number["bracelet-given-back"]] == "voided"
        assert states[number["not-signed-yet"]] == "presented"
        assert list(states.values()).count("recorded") == len(states) - 3

    def test_a_cheque_bounced_and_was_reissued_as_a_transfer(self, shop: Shop) -> None:
        number = shop.numbers["bag-of-broken-chain"]
        told = [
            (payout.entry.public["state"], payout.get("payout/method")["instrument"])
            for payout in shop.of_kind("payout")
            if payout.entry.public["slip"] == number
        ]
        assert told == [("paid", "cheque"), ("failed", "cheque"), ("reissued", "transfer")]
        assert ("recovered",) in shop.rows(
            "SELECT state FROM payouts WHERE slip = ?", shop.numbers["bracelet-given-back"]
        )

    def test_one_order_was_lifted_and_one_stands(self, shop: Shop) -> None:
        assert sorted(state for (state,) in shop.rows("SELECT state FROM orders")) == ["lifted", "standing"]
        assert re.search(r"REFUSED Item 15/1 may not leave that way: The hold order", " ".join(shop.said.split()))

    def test_a_number_was_corrected_and_its_reports_made_again(self, shop: Shop) -> None:
        (correction,) = shop.of_kind("correction")
        was, now = (correction.get("correction")[when]["serials"][0]["text"] for when in ("was", "is"))
        assert (was, now) == ("48127", "48121")
        number = shop.numbers[diary.WATCH]
        assert (shop.papers / f"report-of-slip-{number:02}-to-the-sheriff-corrected.pdf").is_file()

    def test_one_inquiry_points_at_the_class_ring_and_one_at_nothing(self, shop: Shop) -> None:
        answers = [[pointer["item"] for pointer in asked.get("answer")["found"]] for asked in shop.of_kind("inquiry")]
        assert answers == [[f"{shop.numbers[diary.CLASS_RING]}/1"], []]

    def test_holds_move_when_the_sheriff_receives_a_report_and_one_still_waits(self, shop: Shop) -> None:
        waiting = {slip for (slip,) in shop.rows("SELECT slip FROM holds WHERE waiting_for IS NOT NULL")}
        assert waiting == {shop.numbers[diary.NEVER_CONFIRMED]}
        states = [state for (state,) in shop.rows("SELECT state FROM reports WHERE report LIKE 'purchase-%'")]
        assert states.count("received") == len(states) - 1
        assert states.count("sent") == 1

    def test_a_weekly_report_for_each_of_six_weeks_and_a_nil_one(self, shop: Shop) -> None:
        made = [opened.entry.public for opened in shop.of_kind("report-made")]
        weekly = {public["period"]: public["nil"] for public in made if public["report"].startswith("week-")}
        assert len(weekly) == 6
        assert [period for period, nil in weekly.items() if nil] == ["/".join(diary.SHUT)]

    def test_no_report_was_late(self, shop: Shop) -> None:
        late = [
            report
            for report, due, sent in shop.rows(
                "SELECT report, due, sent_at FROM reports WHERE state IN ('sent', 'received')"
            )
            if datetime.fromisoformat(sent.partition("[")[0]) > datetime.fromisoformat(due.partition("[")[0])
        ]
        corrected = [f"purchase-{shop.numbers[visit]}.county-sheriff" for visit in (diary.WATCH, "bracelet-given-back")]
        assert [report for report in late if report.startswith("purchase-") and report not in corrected] == []

    def test_every_open_day_was_closed_and_sealed(self, shop: Shop) -> None:
        closed = [day for (day,) in shop.rows("SELECT day FROM days ORDER BY day")]
        assert len(closed) == 30
        assert not [day for day in closed if diary.SHUT[0] <= day <= diary.SHUT[1]]
        assert not [day for day in closed if date.fromisoformat(day).weekday() == 6]

    def test_goods_left_only_after_their_holds_and_a_sale_before_was_refused(self, shop: Shop) -> None:
        left = shop.rows("SELECT slip, line, state, at FROM outcomes ORDER BY seq")
        assert {state for _, _, state, _ in left} == {"sold", "melted", "sent out"}
        for slip, line, _, at in left:
            holds = shop.rows("SELECT cautious FROM holds WHERE slip = ? AND line = ?", slip, line)
            ends = [datetime.fromisoformat(cautious.partition("[")[0]) for (cautious,) in holds]
            assert max(ends) <= datetime.fromisoformat(at.partition("[")[0])
        assert re.search(r"REFUSED Item 1/1 may not leave that way", " ".join(shop.said.split()))


class TestTheBook:
    """Build, verify: ok at every level. A tampered copy, re-hashed so that it is no plain edit, is caught."""

    def test_it_is_sound_at_every_level(self, shop: Shop) -> None:
        found = verifying.audit(shop.book)
        assert (found.faults, found.not_opened) == ([], [])
        assert found.levels == ["chain", "forms", "tables", "parts", "pictures"]
        assert found.notes == [], "no locked picture lies about that no entry names"

    def test_the_forged_copy_is_caught_by_the_seal_that_a_seller_took_home(self, shop: Shop) -> None:
        number = shop.numbers[building.FORGED_VISIT]
        note = (shop.papers / f"slip-{number:02}-stub-seal.txt").read_text()
        copy = opening.at(shop.folder / "tampered", clock=shop.book.clock, chance=os.urandom)
        try:
            found = verifying.audit(copy, levels=["chain"], against=note)
            assert verifying.audit(shop.book, levels=["chain"], against=note).ok
        finally:
            copy.engine.dispose()
        purchase = shop.rows("SELECT recorded_seq FROM slips WHERE slip = ?", number)[0][0]
        assert [fault.seq for fault in found.faults] == [purchase]

    def test_a_demonstration_that_does_not_hold_stops_with_the_fault(
        self, shop: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Were the demonstration's own book unsound, or its forgery not caught, it would say so and end."""
        audit, fault = verifying.audit, Fault("chain", 3, "its link is wrong")
        monkeypatch.setattr(verifying, "audit", lambda *args, **named: Findings(faults=[fault]))
        with pytest.raises(BookUnsound, match="The demonstration's own book: chain, entry 3: its link is wrong"):
            building._sound(shop.book, lambda line: None)
        monkeypatch.setattr(verifying, "audit", lambda *args, **named: Findings())
        folder = tmp_path / "shop"
        shutil.copytree(shop.folder / "book", folder / "book")
        clock = setting.StoryClock(setting.local(diary.END))
        papers = Papers(folder / "papers")
        told = Story(shop.book, clock, papers, folder, lambda line: None, shop.numbers, first_seals={8: "a seal"})
        with pytest.raises(BookUnsound, match="The forged copy was not caught"):
            building._forgery(folder, told)
        monkeypatch.setattr(verifying, "audit", audit)

    def test_the_forger_was_thorough(self, shop: Shop) -> None:
        """Hashes, links, tree and every kept seal agree with one another in the copy: it is no plain edit."""
        copy = opening.at(shop.folder / "tampered", clock=shop.book.clock, chance=os.urandom)
        try:
            assert verifying.audit(copy, levels=["chain", "forms"]).ok
        finally:
            copy.engine.dispose()
        triggers = "SELECT count(*) FROM sqlite_master WHERE type = 'trigger'"
        assert rows(shop.folder / "tampered" / "book.sqlite", triggers) == shop.rows(triggers)
        number = shop.numbers[building.FORGED_VISIT]
        wanted = "SELECT count(*) FROM entries WHERE CAST(bytes AS TEXT) LIKE '%2026-10-01T10:30:00%'"
        assert rows(shop.folder / "tampered" / "book.sqlite", wanted) == [(1,)], number

    def test_two_builds_in_two_processes_are_the_same(self, shop: Shop) -> None:
        wanted = "SELECT seq, bytes, leaf FROM entries ORDER BY seq"
        assert shop.rows(wanted) == rows(shop.again / "book" / "book.sqlite", wanted)
        first, second = (
            {
                str(path.relative_to(base)): path.read_bytes()
                for path in base.rglob("*")
                if path.suffix in (".pdf", ".txt")
            }
            for base in (shop.folder, shop.again)
        )
        assert len(first) > 150
        assert [name for name in first if first[name] != second.get(name)] == []

    def test_nothing_personal_lies_open_in_the_book_s_folder(self, shop: Shop) -> None:
        # Shorter words than these come about by chance in a megabyte of ciphertext.
        canaries = {value for person in everybody() for value in personal(person) if len(value.encode()) > 5}
        canaries |= {diary.DETECTIVE["officer"], diary.DETECTIVE["agency"], diary.DETECTIVE["case"]}
        canaries |= {"Noll Varga", "TC-26-0440", "Mara Quill", "seahorse", "she returned", "the cheque bounced"}
        assert len(canaries) > 120
        for folder in ("book", "tampered"):
            for path in (shop.folder / folder).rglob("*"):
                if path.is_file():
                    data = path.read_bytes()
                    assert [canary for canary in canaries if canary.encode() in data] == [], path

    def test_pass_phrases_are_for_their_owner_s_eyes_and_open_the_book(self, shop: Shop) -> None:
        for staff, phrase in setting.PASS_PHRASES.items():
            name = "demo-passphrase.txt" if staff == "ada" else f"demo-passphrase-{staff}.txt"
            path = shop.folder / name
            assert stat.S_IMODE(path.stat().st_mode) == 0o600
            assert path.read_text() == f"{phrase}\n"
            keys = keys_file.open_file(shop.book.folder / "keys.json", phrase, staff=staff)
            assert keys.role == ("owner" if staff == "ada" else "clerk")

    def test_it_says_loudly_that_its_keys_are_worthless(self, shop: Shop) -> None:
        assert "ITS KEYS ARE PUBLIC AND WORTHLESS" in "\n".join(shop.said.splitlines()[:4])

    def test_a_folder_that_holds_something_is_left_alone(self, tmp_path: Path) -> None:
        (tmp_path / "book").mkdir()
        (tmp_path / "book" / "mine.txt").write_text("mine")
        with pytest.raises(InputError, match="empty or does not exist"):
            building.build(tmp_path, lambda line: None)
        assert (tmp_path / "book" / "mine.txt").read_text() == "mine"


def everybody() -> list[dict[str, Any]]:
    return [value for name, value in vars(people).items() if name.isupper()]


def personal(person: dict[str, Any]) -> Iterator[str]:
    """What must lie locked: names, birth date, street, telephone, documents, plate."""
    name = person["name"]
    yield from (f"{name['given']} {name['family']}", name["family"], person["birth_date"])
    if "as_written" in name:
        yield name["as_written"]
    yield person["address"]["lines"][0]
    if isinstance(person["phones"], list):
        yield person["phones"][0]["number"]
    yield from (document["number"] for document in person["documents"])
    yield from (str(value) for value in person.get("vehicle", {}).values() if len(str(value)) > 5)


class TestThePapers:
    """It prints all papers and names every file it made."""

    def test_every_kind_of_paper_is_there(self, shop: Shop) -> None:
        kinds = {re.sub(r"[-\d]+", "-", path.name) for path in shop.papers.glob("*.pdf")}
        assert kinds == {
            "slip-to-sign.pdf",
            "slip-stub.pdf",
            "slip-bag-labels.pdf",
            "report-of-slip-to-the-sheriff.pdf",
            "report-of-slip-to-the-sheriff-corrected.pdf",
            "daily-sheet-for-the-sheriff-.pdf",
            "daily-sheet-for-the-sheriff-corrected.pdf",
            "weekly-report-to-the-police-to-.pdf",
            "weekly-report-to-the-police-to-nothing-bought.pdf",
            "weekly-report-to-the-police-to-corrected.pdf",
            "day-sheet-.pdf",
            "hold-list-.pdf",
            "dossier-item-.pdf",
        }

    def test_every_file_made_is_named_and_every_named_file_was_made(self, shop: Shop) -> None:
        files = shop.said[shop.said.index("\nFiles in ") : shop.said.index("\nPapers to look at first")]
        named = set(re.split(r"[,\s]+", files))
        made = {path for path in shop.folder.rglob("*") if path.is_file() and "pictures" not in path.parts}
        journals = {f"book.sqlite-{end}" for end in ("wal", "shm", "journal")}
        assert {path.name for path in made} - named <= journals
        looks_like_a_file = {word for word in named if re.search(r"\.(pdf|txt|json|toml|jpg|png|sqlite)$", word)}
        assert looks_like_a_file <= {path.name for path in made}

    def test_papers_to_look_at_exist(self, shop: Shop) -> None:
        pointed = re.findall(r"^  papers/(\S+): ", shop.said, re.M)
        assert len(pointed) == 7
        assert [name for name in pointed if not (shop.papers / name).is_file()] == []

    def test_every_font_of_every_paper_lies_in_its_file(self, shop: Shop) -> None:
        for path in shop.papers.glob("*.pdf"):
            for page in PdfReader(path).pages:
                resources: Any = page["/Resources"]
                for font in resources.get("/Font", {}).values():
                    assert is_embedded(font.get_object()), path

    @pytest.mark.parametrize(
        ("visit", "name"),
        [
            ("solid-ring-and-gold-filled-locket", "Bożena Świerczek"),
            ("hollow-bangle-weighed-again", "Nguyễn Thị Hồng Đào"),
            ("sterling-set-bought-as-one", "林秋月"),
            ("anchor-with-a-filed-notch", "Željka Perkušić"),
            ("tray-with-a-monogram", "Ελένη Μαυρίδου"),
            ("rose-chain", "Оксана Бережна"),
            ("not-signed-yet", "박새롬"),
        ],
    )
    def test_names_print_in_their_own_script(self, shop: Shop, visit: str, name: str) -> None:
        assert name in shop.text(f"slip-{shop.numbers[visit]:02}-to-sign.pdf")

    def test_the_goblet_s_report_says_what_lies_under_the_gilding(self, shop: Shop) -> None:
        text = shop.text(f"report-of-slip-{shop.numbers['gilt-silver-goblet']:02}-to-the-sheriff.pdf")
        assert "The filed spot shows silver under a layer" in text
        assert "notch under the foot: Ag 926, Cu 74" in text

    def test_a_report_tells_of_bought_goods_only_and_of_every_seller(self, shop: Shop) -> None:
        bangle = shop.text(f"report-of-slip-{shop.numbers['hollow-bangle-weighed-again']:02}-to-the-sheriff.pdf")
        assert "bangle" in bangle
        assert "earrings" not in bangle
        brooch = shop.text(f"report-of-slip-{shop.numbers['brooch-of-two-metals']:02}-to-the-sheriff.pdf")
        assert "Name (seller 2) Inês Wray" in brooch

    def test_the_dossier_strikes_nothing_from_the_record(self, shop: Shop) -> None:
        text = shop.text(f"dossier-item-{shop.numbers[diary.WATCH]}-1.pdf")
        assert "serials 48127; 9006" in text
        assert "should read: serials 48121; 9006" in text
        assert "Maud Ellingsworth" not in text, "the basis named does not reach the seller"
        assert "Lorne Cattermole" in shop.text(f"dossier-item-{shop.numbers[diary.CLASS_RING]}-1.pdf")

    def test_labels_tell_nothing_of_the_seller(self, shop: Shop) -> None:
        families = {person["name"]["family"] for person in everybody()}
        for number in range(1, 5):
            text = shop.text(f"slip-{number:02}-bag-labels.pdf")
            assert f"Item {number}/1" in text
            assert not [family for family in families if family in text]

    def test_a_report_of_an_undone_purchase_says_that_it_was_undone(self, shop: Shop) -> None:
        number = shop.numbers["bracelet-given-back"]
        text = shop.text(f"report-of-slip-{number:02}-to-the-sheriff-corrected.pdf")
        assert "undone: the goods went back to the seller" in text

    def test_no_paper_takes_the_place_of_another(self, tmp_path: Path) -> None:
        kept = Papers(tmp_path / "papers")
        kept.put("stub.txt", "the first")
        with pytest.raises(InputError, match="a name that no other paper has"):
            kept.put("stub.txt", "the second")
        assert (tmp_path / "papers" / "stub.txt").read_text() == "the first"


def is_embedded(font: Any) -> bool:
    if "/DescendantFonts" in font:
        return all(is_embedded(inner.get_object()) for inner in font["/DescendantFonts"])
    descriptor = font.get("/FontDescriptor", {})
    return bool({"/FontFile", "/FontFile2", "/FontFile3"} & set(descriptor))


class TestTheTour:
    """It prints a tour: what to look at, which commands to try next."""

    def test_the_commands_do_what_the_tour_says(self, shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setenv("COUNTERFOIL_BOOK", str(shop.folder / "book"))
        told = re.findall(r"^  counterfoil (.+)\n      (.+)$", shop.said, re.M)
        assert len(told) == 9
        for command, why in told:
            result = CliRunner().invoke(main, shlex.split(command))
            promised = re.search(r"exit (\d)", why)
            wanted = int(promised[1]) if promised else 8 if command.startswith("report due") else 0
            assert result.exit_code == wanted, (command, result.output)


class TestPictures:
    """Simple clear drawings of each article, document, signature; deterministic."""

    def test_every_article_of_the_story_can_be_drawn(self) -> None:
        words = {offered.drawn_as or offered.item["article"] for visit in VISITS for offered in visit.tray}
        assert words <= set(pictures.ARTICLES)

    @pytest.mark.parametrize("article", pictures.ARTICLES)
    def test_a_drawing_is_the_same_every_time_and_no_other_s(self, article: str) -> None:
        drawn = pictures.drawing(article, "white")
        assert drawn == pictures.drawing(article, "white")
        assert [other for other in pictures.ARTICLES if pictures.drawing(other, "white") == drawn] == [article]

    def test_people_have_faces_thumbs_and_hands_of_their_own(self) -> None:
        for draw in (pictures.face, pictures.thumb, pictures.signature):
            assert draw("Corwin Haldane") == draw("Corwin Haldane") != draw("Ilse Marchbank")

    def test_chance_is_counted_and_never_repeats(self) -> None:
        draw, again = setting.counted_chance("x"), setting.counted_chance("x")
        drawn = [draw(size) for size in (16, 16, 80, 12)]
        assert drawn == [again(size) for size in (16, 16, 80, 12)]
        assert len({each[:12] for each in drawn}) == 4
        assert [len(each) for each in drawn] == [16, 16, 80, 12]

    def test_the_clock_never_goes_back(self) -> None:
        clock = setting.StoryClock(setting.local("2026-10-05 10:00"))
        assert clock() < clock()
        assert clock.go(setting.local("2026-10-04 10:00")) > setting.local("2026-10-05 10:00")
        assert clock.go(setting.local("2026-10-06 10:00")) == setting.local("2026-10-06 10:00")


class TestSampleSlips:
    """The sample slips record cleanly under the demonstration's rule files: nothing broken, nothing undecided."""

    @pytest.fixture
    def book(self, tmp_path: Path, cost: keys_file.Cost) -> Iterator[Book]:
        """A book of one's own, as README sets it up: the owner's, with mara as clerk, and the rule files adopted."""
        clock = setting.StoryClock(datetime(2026, 11, 25, 12, tzinfo=UTC))
        book, _ = opening.create(
            tmp_path / "book", owner="owner", pass_phrase="p" * 12, facts=setting.SHOP, clock=clock, chance=os.urandom,
            cost=cost,
        )  # fmt: skip
        setting_up.add_person(book, "mara", "clerk", "Mara")
        for name in building.RULES:
            data = (ROOT / "sample_config" / "rules" / "demo" / name).read_bytes()
            setting_up.adopt(book, data, name, compared_on=date(2026, 11, 1), by="owner")
        yield book
        book.engine.dispose()

    @pytest.mark.parametrize("name", sorted(path.name for path in slip_samples.FOLDER.glob("*.[jt]*[nl]")))
    def test_it_is_recorded_as_it_lies_there(self, book: Book, name: str) -> None:
        def file(picture: str, part: str) -> bytes:
            return (slip_samples.FOLDER / picture).read_bytes()

        slip: Slip = slip_reading.read((slip_samples.FOLDER / name).read_bytes(), toml=name.endswith(".toml"))
        draft = drafting.begin(book)
        locked = drafting.lock_pictures(book, draft, slip, file)
        done = recording.record(book, slip, draft, locked, answers={})
        assert done.slip == 1
        assert done.examined.duties.undecided() == ()
        assert verifying.audit(book).ok
