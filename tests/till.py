"""A shop for the tests of commands: a book with cheap keys, one invented rule file, slips to hand in.

The law of Test Town is invented: sellers of eighteen and more, an undecided question that a person can answer, a hold
of ten days, a ceiling on cash, a report of each purchase, nil reports of each week.
"""

import copy
import hashlib
import io
import itertools
import json
import shutil
import sqlite3
from contextlib import closing
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from PIL import Image

from ledger.acts import opening, setting_up
from ledger.chain import entries
from ledger.chain.entries import Entry
from ledger.cli import main, opened
from ledger.shop import facts
from ledger.vault.keys_file import Cost

MOMENT = datetime(2026, 11, 24, 15, 15, tzinfo=UTC)
ZONE = "America/New_York"
PASS_PHRASE = "seven quiet geese cross the yard"

RULES = """\
format = "rules/0"
jurisdiction = "xx-test-town"
name = "Test Town (invented)"
layer = "city"
known_from = 2020-01-01
read_on = 2026-01-01
checked_until = 2027-12-31
zone = "America/New_York"
currency = "USD"

[[recipient]]
id = "police"
name = "Test Town Police (invented)"

[[ask]]
id = "seller-record"
says = "The record names the seller and the document shown."
from = 2020-01-01
source = "Test Town Code 1 (invented)"
basis = "invented"
fields = [
  { fact = "seller.name", label = "Name" },
  { fact = "seller.birth_date", label = "Birth date" },
]

[[ask]]
id = "article"
says = "The record describes each article."
from = 2020-01-01
source = "Test Town Code 1 (invented)"
basis = "invented"
fields = [{ fact = "item.description", label = "Description" }]

[[refuse]]
id = "minimum-age"
says = "Nothing may be bought from a person under eighteen."
from = 2020-01-01
source = "Test Town Code 2 (invented)"
basis = "invented"
when = [{ fact = "seller.age", below = 18 }]
may_record = ["reason", "count"]

[[refuse]]
id = "intoxicated"
says = "Nothing may be bought from an intoxicated person."
from = 2020-01-01
source = "Test Town Code 3 (invented)"
basis = "invented"
when = [{ fact = "seller.intoxicated", is = true }]
may_record = ["date", "reason", "count"]

[[hold]]
id = "hold-ten-days"
says = "Every article stays in the shop for ten days."
from = 2020-01-01
source = "Test Town Code 4 (invented)"
basis = "invented"
length = 10
unit = "days"
start = "purchase"
forbids = ["sell", "hand-over", "melt", "send-out"]

[[report]]
id = "purchase-report"
says = "Every purchase is reported to the police within two days."
from = 2020-01-01
source = "Test Town Code 5 (invented)"
basis = "invented"
to = "police"
per = "purchase"
due = { within = 48, unit = "hours" }
title = "Purchase report (invented)"
copies = 1
asks = ["seller-record", "article"]
"""

FACTS = f"""\
from = 2026-01-01
name = "The Test Counter"
address = ["1 Test Lane", "Test Town"]
licence = "Licence T-1 (Test Town)"
zone = "{ZONE}"
[recipients]
police = "Test Town Police, property desk"
"""


def picture(colour: str = "gold", size: tuple[int, int] = (24, 16)) -> bytes:
    """A small JPEG."""
    data = io.BytesIO()
    Image.new("RGB", size, colour).save(data, "JPEG")
    return data.getvalue()


SLIP: dict[str, Any] = {
    "format": "slip/0",
    "occurred_at": "2026-11-24T10:05:00-05:00[America/New_York]",
    "channel": "counter",
    "staff": "mara",
    "tray": {"number": "7", "articles": 1},
    "parties": [
        {
            "role": "seller",
            "kind": "person",
            "name": {"family": "Averill", "given": "Jonah"},
            "birth_date": "1984-02-29",
            "address": {"lines": ["12 Quarry Lane"], "city": "Harrow Falls", "country": "US"},
            "phones": [{"number": "555 0142", "of": "mobile"}],
            "documents": [
                {
                    "type": "driver-licence",
                    "issuer": "Tamarack",
                    "number": "A417-2290",
                    "issued": "2022-03-01",
                    "expires": "2030-02-28",
                    "how_read": "typed",
                }
            ],
            "captures": [{"what": "photo", "file": "seller.jpg"}],
            "observed": {"intoxicated": False},
        }
    ],
    "items": [
        {
            "kind": "single",
            "goods": "jewelry",
            "article": "ring",
            "pieces": 1,
            "style": "plain band",
            "wearer": "man",
            "metal_colour": "yellow",
            "marks": [{"text": "14K", "where": "inside of the band"}],
            "inscriptions": [{"text": "R fr A 6.12.58", "where": "inside of the band"}],
            "stones": [],
            "sizes": [{"what": "ring", "value": "9.5", "system": "us"}],
            "damage": "scratched",
            "pictures": [{"file": "ring.jpg", "shows": "overall"}],
            "weighings": [{"what": "gross", "value": "4.20", "unit": "g", "scale": "scale-1", "paid_on": True}],
            "evidence": [],
            "conclusion": {"agrees": True},
            "offer": {"amount": "120.00", "currency": "USD", "answer": "taken"},
        }
    ],
    "spot": [
        {
            "metal": "gold",
            "price": "2650.00",
            "currency": "USD",
            "unit": "ozt",
            "source": "owner's price sheet",
            "moment": "2026-11-24T10:00:00-05:00",
        }
    ],
    "declaration": {
        "text": "I own these goods and may sell them.",
        "language": "en",
        "signature": {"not_taken": "signed on paper form 12"},
    },
    "payout": {"instrument": "cheque", "payee": "Jonah Averill", "amount": "120.00", "currency": "USD"},
}


def changed(*changes: tuple[str, Any]) -> dict[str, Any]:
    """The slip with members changed, each named by a path such as `items.0.pieces`; None takes the member away."""
    slip = copy.deepcopy(SLIP)
    for path, value in changes:
        *way, last = path.split(".")
        here: Any = slip
        for step in way:
            here = here[int(step)] if step.isdigit() else here[step]
        if value is None:
            del here[last]
        else:
            here[int(last) if last.isdigit() else last] = value
    return slip


@dataclass
class Till:
    """A book in `folder/book`, slips in `folder/desk`, and commands run on it in this process."""

    folder: Path
    runtime: Path
    """where the key keeper's socket lies: a short path, since a socket's address holds 107 bytes"""
    monkeypatch: pytest.MonkeyPatch
    now: datetime = MOMENT
    desk: Path = field(init=False)

    def __post_init__(self) -> None:
        self.desk = self.folder / "desk"
        self.desk.mkdir()
        self.monkeypatch.setattr(opened, "clock", lambda: self.now)
        self.monkeypatch.setenv("XDG_RUNTIME_DIR", str(self.runtime))
        self.monkeypatch.delenv("COUNTERFOIL_BOOK", raising=False)
        for name in ("seller.jpg", "ring.jpg"):
            (self.desk / name).write_bytes(picture())
        self.key = self.keep("pass-phrase", PASS_PHRASE + "\n")
        self.key.chmod(0o600)

    @classmethod
    def copied(cls, made: Path, folder: Path, runtime: Path, monkeypatch: pytest.MonkeyPatch) -> "Till":
        """A shop of a test's own, from one that was made before."""
        shutil.copytree(made, folder / "book")
        return cls(folder, runtime, monkeypatch)

    @property
    def book(self) -> Path:
        """The book's folder."""
        return self.folder / "book"

    def keep(self, name: str, content: str | bytes | dict[str, Any]) -> Path:
        """A file on the desk."""
        path = self.desk / name
        if isinstance(content, dict):
            content = json.dumps(content)
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return path

    def slip(self, *changes: tuple[str, Any], name: str = "slip.json") -> Path:
        """A slip on the desk."""
        return self.keep(name, changed(*changes))

    def run(self, *words: object, stdin: str | bytes | None = None, unlocked: bool = True, book: bool = True) -> Result:
        """A command on this book."""
        told = [str(word) for word in words]
        told += ["--unlock-with", str(self.key)] if unlocked else []
        told += ["--book", str(self.book)] if book else []
        return CliRunner().invoke(main, told, input=stdin, prog_name="counterfoil")

    def answer(self, *words: object, code: int = 0, **how: Any) -> Any:
        """The JSON document that a command prints, which must end with this code."""
        done = self.run(*words, "--json", **how)
        assert done.exit_code == code, done.output
        return json.loads(done.stdout)

    def record(self, *changes: tuple[str, Any]) -> Any:
        """What `slip record` prints for a slip, papers not drawn."""
        return self.answer("slip", "record", self.slip(*changes), "--no-papers")

    def entry(self, seq: int) -> Entry:
        """An entry of the book."""
        with closing(sqlite3.connect(self.book / "book.sqlite")) as raw:
            ((data,),) = raw.execute("SELECT bytes FROM entries WHERE seq = ?", (seq,)).fetchall()
        return entries.read(data)

    def tamper(self, statement: str) -> None:
        """What somebody does who has the database and no scruples."""
        with closing(sqlite3.connect(self.book / "book.sqlite", isolation_level=None)) as raw:
            for (name,) in raw.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
                raw.execute(f'DROP TRIGGER "{name}"')
            raw.execute(statement)

    def files(self) -> dict[str, str]:
        """SHA-256 of every file of the book, by name."""
        found = sorted(path for path in self.book.rglob("*") if path.is_file())
        return {str(path.relative_to(self.book)): hashlib.sha256(path.read_bytes()).hexdigest() for path in found}


def make(folder: Path) -> None:
    """A book in a folder, with its rule file and its owner, who is also its clerk."""
    drawn = itertools.count()
    book, _paper_key = opening.create(
        folder,
        owner="mara",
        pass_phrase=PASS_PHRASE,
        facts=facts.read(FACTS.encode()),
        clock=lambda: MOMENT,
        chance=lambda count: hashlib.shake_256(b"till %d" % next(drawn)).digest(count),
        cost=Cost(64, 1, 1),
    )
    setting_up.adopt(book, RULES.encode(), "test-town.toml", compared_on=date(2026, 1, 1), by="mara")
    book.engine.dispose()
