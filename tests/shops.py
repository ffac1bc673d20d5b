"""A shop for tests: a real book in a temporary folder, the demonstration's rule files, a fixed clock that can be moved.

Decides: who works there and which rules hold. Nothing here stands in for the database, the vault or the law.
"""

import io
import shutil
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from PIL import Image

from ledger import shipped
from ledger.acts import drafting, opening, recording, setting_up
from ledger.book.pages import Book
from ledger.chain.entries import Entry
from ledger.shop import facts
from ledger.slip import reading as slip_reading
from ledger.slip.document import Slip
from ledger.vault.keys_file import Cost
from tests import law_samples, slip_samples

ZONE = ZoneInfo("America/Chicago")
OWNER, PASS_PHRASE = "ada", "the owner's pass-phrase of a test"
WORDS = "I own these goods, I may sell them, and nobody else has a claim on them."
FACTS = b"""
from = 2026-01-01
name = "The Test Counter"
address = ["3 Ferry Row", "Pellwick"]
licence = "Licence 7 of the town of Pellwick (invented)"
zone = "America/Chicago"
[place]
state = "Norrowa"
county = "Tamsett"
municipality = "Pellwick"
"""
ANSWERS: dict[str, str] = {}


@dataclass
class Shop:
    """A book with everything a purchase needs."""

    book: Book
    paper_key: str
    now: datetime
    read: dict[str, bytes] = field(default_factory=dict)

    def clock(self) -> datetime:
        """The shop's moment; each look takes a second."""
        self.now += timedelta(seconds=1)
        return self.now

    def local(self) -> datetime:
        """The same in the shop's zone."""
        return self.now.astimezone(ZONE)

    def wait(self, **span: float) -> datetime:
        """Let time pass, as `timedelta` counts it; the shop's local moment after that."""
        self.now += timedelta(**span)
        return self.local()

    def slip(self, *changes: tuple[str, Any]) -> Slip:
        """The sample slip, in this shop's zone, with the declaration its town asks for, and further changes."""
        at = self.local().replace(microsecond=0)
        text = f"{at.isoformat()}[{ZONE.key}]"
        usual = (("occurred_at", text), ("declaration.text", WORDS), ("staff", OWNER))
        return slip_reading.slip_of(slip_samples.changed(*usual, *changes))

    def record(
        self, *changes: tuple[str, Any], slip: Slip | None = None, answers: Mapping[str, str] = ANSWERS
    ) -> recording.Recorded:
        """A recorded purchase."""
        taken = slip or self.slip(*changes)
        draft = drafting.begin(self.book)
        pictures = drafting.lock_pictures(self.book, draft, taken, self.file)
        return recording.record(self.book, taken, draft, pictures, answers=answers)

    def present(self, *changes: tuple[str, Any]) -> tuple[recording.Recorded, Slip]:
        """A presented slip, and the document it came from."""
        slip = self.slip(*changes)
        draft = drafting.begin(self.book)
        pictures = drafting.lock_pictures(self.book, draft, slip, self.file)
        return recording.present(self.book, slip, draft, pictures, answers=ANSWERS), slip

    def file(self, name: str, _field: str) -> bytes:
        """A picture of any name: a small photograph, different for each name."""
        return self.read.setdefault(name, picture(name))


def picture(name: str, size: tuple[int, int] = (64, 48)) -> bytes:
    """JPEG bytes that differ with the name."""
    shade = sum(name.encode()) % 200
    kept = io.BytesIO()
    Image.new("RGB", size, (shade, 255 - shade, 120)).save(kept, "JPEG")
    return kept.getvalue()


def rule_files() -> list[Path]:
    """The demonstration's rule files, the widest layer first."""
    folder = shipped.folder("sample_config") / "rules" / "demo"
    return [folder / f"{layer}.toml" for layer in ("state", "county", "town")]


def open_shop(
    folder: Path,
    *,
    moment: datetime,
    chance: Callable[[int], bytes],
    database: str = "",
    adopt: bool = True,
) -> Shop:
    """A shop with one owner, the demonstration's three rule files in force, and nothing bought yet.

    database: URL of a migrated PostgreSQL database; for SQLite the book's own file is used.
    """
    settings = (shipped.folder("sample_config") / "settings.toml").read_text()
    if database.startswith("postgresql"):
        settings = settings.replace('url = ""', f'url = "{database}"')
    shop = Shop.__new__(Shop)
    shop.now, shop.read = moment, {}
    shop.book, shop.paper_key = opening.create(
        folder,
        owner=OWNER,
        pass_phrase=PASS_PHRASE,
        facts=facts.read(FACTS),
        clock=shop.clock,
        chance=chance,
        cost=Cost(64, 1, 1),
        settings=settings.encode(),
    )
    for path in rule_files() if adopt else ():
        setting_up.adopt(shop.book, path.read_bytes(), path.name, compared_on=date(2026, 11, 1), by=OWNER)
    return shop


def copied(made: Shop, folder: Path, *, chance: Callable[[int], bytes]) -> Shop:
    """A shop of a test's own with the same book as one on SQLite that was made before, and its clock as it then was."""
    shutil.copytree(made.book.folder, folder)
    shop = Shop.__new__(Shop)
    shop.now, shop.read, shop.paper_key = made.now, {}, made.paper_key
    shop.book = opening.at(folder, clock=shop.clock, chance=chance)
    shop.book.keys, shop.book.by = made.book.keys, OWNER
    return shop


def adopt(shop: Shop, *tables: str, **head: str) -> Entry:
    """Puts a small rule file of these tables into force; see `law_samples`."""
    data = law_samples.text_of(*tables, **{"zone": f'"{ZONE.key}"', **head})
    return setting_up.adopt(shop.book, data, "sample.toml", compared_on=date(2026, 11, 1), by=OWNER)
