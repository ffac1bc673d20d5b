"""Personal data lie in the vault and nowhere else: a day is acted out with words that no other text holds, and then
every file, table, log, error and PDF's own data is searched for them.
"""

import logging
import traceback
from collections.abc import Callable
from datetime import date, timedelta
from io import BytesIO
from typing import Any

import pytest
import sqlalchemy as sa
from pypdf import PdfReader

from ledger.acts import (
    closing,
    correcting,
    handing_over,
    holding,
    inquiring,
    leaving,
    listing,
    looking,
    paying,
    recording,
    reporting,
    setting_up,
    telling,
    undoing,
)
from ledger.book import engine as engines
from ledger.book import rebuilding
from ledger.errors import LedgerError
from ledger.identity import names
from ledger.moments import local_text
from ledger.slip.document import Slip
from tests import slip_samples
from tests.check_book import check_book
from tests.paper_tools import text_of
from tests.shops import ANSWERS, PASS_PHRASE, Shop

PERSON = "zyxperson"
"""In everything that the seller is, says, shows and is paid, and in every reason that a clerk writes."""
CASE = "zyxcase"
"""In every question, order, officer, agency, receipt and look."""
GOODS = "zyxgoods"
"""In descriptions and inscriptions: in clear only where a search needs it."""
NUMBER = "31415926535"
"""Digits of phone, document and plate."""
SECRET = (PERSON, CASE, NUMBER, PASS_PHRASE)
REPORTS = ("purchase-1.county-sheriff", "day-2026-11-24.county-sheriff", "week-2026-11-23.town-police")
IN_CLEAR_WHILE_RETAINED = {"items", "item_words"}


def seller() -> dict[str, Any]:
    """The sample's seller under another name, with a word of ours in everything said of him."""
    return {
        **slip_samples.document()["parties"][0],
        "name": {"family": f"{PERSON}-family", "given": f"{PERSON}-given"},
        "address": {"lines": [f"1 {PERSON} Lane"], "city": f"{PERSON}-city", "country": "US"},
        "phones": [{"number": NUMBER, "of": "mobile"}],
        "email": f"{PERSON}@mail.example",
        "workplace": f"{PERSON} works",
        "documents": [
            {
                "type": "driver-licence",
                "issuer": "Tamarack",
                "number": f"{PERSON}-{NUMBER}",
                "issued": "2022-03-01",
                "expires": "2030-02-28",
                "how_read": "typed",
            }
        ],
        "description": {"hair": f"{PERSON} hair", "marks": f"a {PERSON} scar"},
        "vehicle": {"plate": NUMBER, "colour": "green"},
        "captures": [
            {"what": "photo", "file": f"{PERSON}.jpg"},
            {"what": "print", "not_taken": f"{PERSON} hurt a thumb", "finger": "right thumb"},
            {"what": "document-front", "file": f"{PERSON}-front.jpg", "document": 1},
        ],
    }


CHANGES: tuple[tuple[str, Any], ...] = (
    ("items.0.style", f"{GOODS} band"),
    ("items.0.inscriptions", [{"text": f"to {GOODS}", "where": "inside"}]),
    ("items.0.seller_says", f"{PERSON} says it is old"),
    ("items.0.obtained", f"from {PERSON}'s aunt"),
    ("items.0.conclusion", {"agrees": False, "because": f"a {GOODS} doubt"}),
    ("payout.payee", f"{PERSON} payee"),
    ("payout.reference", f"cheque {NUMBER}"),
    ("notes", f"{PERSON} waited"),
)


class Day:
    """A shop's day, and all that came out of it."""

    def __init__(self, shop: Shop) -> None:
        self.shop, self.book = shop, shop.book
        self.papers: list[bytes] = []
        self.said: list[str] = []

    def slip(self, *changes: tuple[str, Any]) -> Slip:
        return self.shop.slip(("parties", [seller()]), *CHANGES, *changes)

    def act(self) -> None:
        """Everything that a shop does, in one go."""
        setting_up.add_person(self.book, "ines", "clerk", f"{PERSON} Ines")
        self.shop.record(slip=self.slip())
        presented, _ = self.shop.present(("parties", [seller()]), *CHANGES)
        undoing.withdraw(self.book, presented.slip, f"{PERSON} thought better of it")
        undoing.refuse(self.book, self.slip(("parties.0.birth_date", "2010-01-01")), f"{PERSON} is too young")
        assert inquiring.returning(self.book, "document", names.number_key(f"{PERSON}-{NUMBER}")) == [2, 1]
        paying.settle(self.book, 1, "paid", at=self.shop.local(), reference=f"cheque {NUMBER}")
        paying.settle(self.book, 1, "failed", at=self.shop.local())
        leaving.move(self.book, 1, 1, "premises", at=self.shop.local(), because="night")
        changes = {"family": f"{PERSON}-family-anew"}
        correcting.correct(self.book, 1, "seller/name", changes, f"{PERSON} spelt it")
        correcting.correct(self.book, 1, "item/1/description", {"damage": f"a {GOODS} dent"}, f"a {GOODS} loupe")
        self._answer()
        self._draw()
        self.shop.wait(days=6)
        self._report()
        undoing.void(self.book, 1, f"{PERSON} came back", at=self.shop.local())
        closing.close(self.book, date(2026, 11, 24))
        rebuilding.rebuild(self.book)

    def _answer(self) -> None:
        inquiring.ask(self.book, f"{GOODS} ring of {CASE}", {"agency": f"{CASE} Police", "officer": f"{CASE} Jones"})
        asked = holding.read_order(
            {
                "items": ["1/1"],
                "agency": f"{CASE} Police",
                "officer": f"{CASE} Jones",
                "case": f"{CASE}-77",
                "power": f"{CASE} Code",
                "from": local_text(self.shop.local()),
                "form": "written",
                "said": f"{CASE} words",
            }
        )
        name, _ = holding.order(self.book, asked)
        holding.lift(self.book, name, at=self.shop.local(), by=f"{CASE} Jones", form="spoken")
        looking.look(self.book, f"slip/1 {CASE}", f"{CASE} asked")
        for parties in (False, True):
            request = telling.Request(f"{CASE} Court", f"{CASE} warrant", parties=parties)
            self.papers.append(telling.tell(self.book, 1, 1, request, "letter", at=self.shop.local())[1])

    def _draw(self) -> None:
        with engines.reading(self.book.engine) as connection:
            at = self.shop.local()
            self.papers += [
                handing_over.slip_page(connection, self.book, 1, "letter"),
                handing_over.stub_paper(connection, self.book, 1, "letter"),
                handing_over.labels(connection, self.book, 1),
                handing_over.purchase_report(connection, self.book, 1, "a4", copy="Shop's copy", recipient="shop"),
                listing.day_sheet_paper(connection, self.book, date(2026, 11, 24), "letter", at=at),
                listing.hold_list_paper(connection, self.book, "letter", at=at),
            ]

    def _report(self) -> None:
        for report in REPORTS:
            self.papers.append(reporting.make(self.book, report, "letter", at=self.shop.local())[1])
            reporting.sent(self.book, report, at=self.shop.local(), how=f"by {CASE} post")
            reporting.received(self.book, report, at=self.shop.local(), who=f"{CASE} Smith", reference=f"{CASE}-9")

    def err(self) -> None:
        """Everything that can be typed wrong, each with a word of ours in it."""
        at, ahead = self.shop.local(), self.shop.local() + timedelta(days=9)
        picture = {**seller(), "captures": [{"what": "photo", "file": f"{PERSON}-no-picture.jpg"}]}
        self.shop.read[f"{PERSON}-no-picture.jpg"] = PERSON.encode()
        presented, frozen = self.shop.present(("parties", [seller()]), *CHANGES)
        other = self.shop.slip(
            ("parties", [{**seller(), "workplace": f"{PERSON} elsewhere"}]),
            *CHANGES,
            ("occurred_at", frozen.occurred_text),
        )
        smiling = {**seller(), "name": {"family": f"{PERSON} \U0001f600"}}
        emoji = self.shop.present(("parties", [smiling]), *CHANGES)[0].slip
        wrong: list[Callable[[], object]] = [
            *(lambda bad=bad: self.slip(*bad) for bad in BAD_SLIPS),
            lambda: self.shop.record(slip=self.slip(("parties", [picture]))),
            lambda: self.shop.record(slip=self.slip(("staff", "nobody"))),
            lambda: self.shop.record(slip=self.slip(("declaration.text", f"{PERSON} swears"))),
            lambda: recording.record_presented(self.book, presented.slip, other, {}, answers=ANSWERS),
            lambda: correcting.correct(self.book, 1, "seller/name", {"family": PERSON}, f"{PERSON}"),
            lambda: correcting.correct(self.book, 3, "seller/workplace", {"work": PERSON}, ""),
            lambda: holding.read_order({"items": ["1/1"], "officer": {"name": CASE}}),
            lambda: holding.lift(self.book, CASE[:0], at=at, by=CASE, form="spoken"),
            lambda: inquiring.search(self.book, "?"),
            lambda: paying.settle(self.book, 1, "paid", at=at, reference=NUMBER),
            lambda: leaving.out(self.book, 1, 1, "sold", at=ahead, to=PERSON),
            lambda: telling.tell(self.book, 9, 9, telling.Request(CASE, CASE), "letter", at=at),
            lambda: looking.look(self.book, CASE, " "),
            lambda: undoing.void(self.book, presented.slip, PERSON, at=at),
            lambda: setting_up.person_left(self.book, "nobody", date(2026, 11, 24)),
            lambda: self._drawn(emoji),
            self._broken_disk,
        ]
        for number, act in enumerate(wrong):
            try:
                act()
            except LedgerError as fault:
                self.said += [str(fault), *traceback.format_exception(fault)]
            else:
                pytest.fail(f"the {number}. of what is wrong was taken")

    def _drawn(self, number: int) -> bytes:
        """A page that cannot be drawn; it names the character and not whose it is."""
        with engines.reading(self.book.engine) as connection:
            return handing_over.slip_page(connection, self.book, number, "letter")

    def _broken_disk(self) -> None:
        """A database that takes no item any more: its driver's error knows every value that was to be written."""
        with engines.writing(self.book.engine, self.book.origin) as connection:
            for statement in BREAKING[connection.dialect.name]:
                connection.exec_driver_sql(statement)
        self.shop.present(("parties", [seller()]), *CHANGES)


BREAKING = {
    "sqlite": ("CREATE TRIGGER broken BEFORE INSERT ON items BEGIN SELECT RAISE(ABORT, 'broken'); END",),
    "postgresql": ("ALTER TABLE items ADD CONSTRAINT broken CHECK (slip < 0) NOT VALID",),
}
BAD_SLIPS: tuple[tuple[tuple[str, Any], ...], ...] = (
    (("parties.0.name", {"family": f"{PERSON}\x07"}),),
    (("parties.0.name", f"{PERSON}"),),
    (("parties.0.birth_date", f"{PERSON}"),),
    (("parties.0.phones", NUMBER),),
    (("parties.0.address.country", f"{PERSON}"),),
    (("parties.0.documents.0.type", f"{PERSON}"),),
    (("parties.0.documents.0.expires", f"{PERSON}-2026"),),
    (("parties.0.vehicle", [PERSON]),),
    (("payout.payee", {"name": PERSON}),),
    (("notes", [PERSON]),),
    (("declaration.signature", {"on_paper": PERSON, "not_taken": PERSON}),),
)


@pytest.fixture(autouse=True)
def everything_is_logged(caplog: pytest.LogCaptureFixture) -> None:
    """Whatever any library would log, from before the book is opened; of the database every statement."""
    caplog.set_level(logging.DEBUG)
    caplog.set_level(logging.INFO, "sqlalchemy.engine")


def tables_of(shop: Shop) -> dict[str, str]:
    """All rows of all tables as text; bytes as their letters."""
    found = {}
    with engines.reading(shop.book.engine) as connection:
        for table in sa.inspect(connection).get_table_names():
            rows = connection.exec_driver_sql(f'SELECT * FROM "{table}"').all()
            values = [bytes(v) if isinstance(v, memoryview) else v for row in rows for v in row]
            found[table] = " ".join(v.decode("latin-1") if isinstance(v, bytes) else str(v) for v in values).lower()
    return found


def index_tables(found: dict[str, str]) -> set[str]:
    """Names of the tables that hold a word of the goods; FTS5 keeps its own beside the one that is asked."""
    return {table.partition("_words_")[0] + "_words" if "_words_" in table else table for table in found}


class TestCanary:
    """Never in logs, URLs, file names, error texts, PDF metadata; seller, officers and cases in no table or file."""

    def test_a_whole_day_leaves_nobody_in_clear(self, shop: Shop, caplog: pytest.LogCaptureFixture) -> None:
        day = Day(shop)
        day.act()
        check_book(day.shop)
        day.err()
        rows = tables_of(day.shop)
        for table, text in rows.items():
            assert not [word for word in SECRET if word.lower() in text], table
        assert index_tables({table: text for table, text in rows.items() if GOODS in text}) == IN_CLEAR_WHILE_RETAINED
        for path in day.book.folder.rglob("*"):
            assert not [word for word in (*SECRET, GOODS) if word in path.name]
            if path.is_file():
                data = path.read_bytes().lower()
                assert not [word for word in SECRET if word.lower().encode() in data], path.name
                assert GOODS.encode() not in data or path.name == "book.sqlite"
        assert "INSERT INTO items" in caplog.text
        log = " ".join(f"{record.getMessage()} {record.exc_text or ''}" for record in caplog.records).lower()
        assert not [log[max(0, log.find(word) - 300) :][:400] for word in (*SECRET, GOODS) if word.lower() in log]
        for said in day.said:
            assert not [word for word in (*SECRET, GOODS) if word.lower() in said.lower()], said

    def test_the_words_were_there_to_be_found(self, sqlite_shop: Shop) -> None:
        day = Day(sqlite_shop)
        day.act()
        texts = [text_of(paper) for paper in day.papers]
        assert any(PERSON in text for text in texts)
        assert any(NUMBER in text for text in texts)
        assert any(CASE in text for text in texts), "a dossier names its recipient"
        assert all(GOODS in text for text in texts), "every paper of this day describes the ring"
        # The stub, the labels, the day sheet, the hold list and the plain dossier say nothing of the seller.
        silent = [text for text in texts if PERSON not in text]
        assert len(silent) == 5

    def test_no_pdf_says_of_itself_whom_it_is_about(self, sqlite_shop: Shop) -> None:
        day = Day(sqlite_shop)
        day.act()
        for paper in day.papers:
            reader = PdfReader(BytesIO(paper))
            told = f"{reader.metadata} {reader.xmp_metadata} {reader.outline} {reader.attachments}".lower()
            assert not [word for word in (*SECRET, GOODS) if word.lower() in told]
            assert "/title" in told
