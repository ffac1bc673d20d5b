"""Opens a new book, and books that exist.

A new book is built beside its place and moved there whole, so that a power cut leaves a book or none. Its first
entry names the key that seals it, the shop's zone and the form of what follows.

    book, paper_key = create(folder, owner="ada", pass_phrase=..., facts=facts, clock=clock, chance=os.urandom)
    book = at(folder, clock=clock, chance=os.urandom); book.keys = keys_file.open_file(...)
"""

import os
import shutil
from pathlib import Path

from ledger import shipped
from ledger.book import engine as engines
from ledger.book import pages
from ledger.chain import seals
from ledger.errors import InputError, StorageError
from ledger.shop import settings as settings_file
from ledger.shop.facts import ShopFacts
from ledger.vault import durable_files, keys_file

FORMAT = "counterfoil-book/0"
"""throw-away forms; they freeze as 1 when the law, assay, counter and owner's work has used them"""

PROGRAM = "0.1.0"


def create(
    folder: Path,
    *,
    owner: str,
    pass_phrase: str,
    facts: ShopFacts,
    clock: pages.Clock,
    chance: pages.Chance,
    cost: keys_file.Cost = keys_file.USUAL,
    settings: bytes | None = None,
) -> tuple[pages.Book, str]:
    """A new book in folder, unlocked, and the text of its paper key, which is shown once and kept nowhere.

    settings: the bytes of a settings.toml; without them the shipped sample is taken.
    Raises: InputError when the folder holds something, StorageError.
    """
    folder = folder.resolve()
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise InputError(field="folder", given=str(folder), wanted="a folder that is empty or does not exist yet")
    text = settings if settings is not None else (shipped.folder("sample_config") / "settings.toml").read_bytes()
    known = settings_file.read(text)
    building = folder.with_name(f".{folder.name}.{chance(4).hex()}")
    try:
        building.mkdir(parents=True, mode=0o700)  # item text stands in clear in the database
        book, paper_key = _build(building, text, known, owner, pass_phrase, facts, clock, chance, cost)
        book.engine.dispose()
        if folder.exists():
            folder.rmdir()
        os.replace(building, folder)
        durable_files.sync_folder(folder.parent)
    except OSError as fault:
        raise StorageError(path=folder, why=f"the new book could not be made there: {fault.strerror}") from fault
    finally:
        shutil.rmtree(building, ignore_errors=True)
    opened = at(folder, clock=clock, chance=chance)
    opened.keys, opened.by = book.keys, owner
    return opened, paper_key


def _build(
    folder: Path,
    text: bytes,
    known: settings_file.Settings,
    owner: str,
    pass_phrase: str,
    facts: ShopFacts,
    clock: pages.Clock,
    chance: pages.Chance,
    cost: keys_file.Cost,
) -> tuple[pages.Book, str]:
    origin = f"counterfoil/{chance(16).hex()}"
    durable_files.put(folder / "settings.toml", text)
    durable_files.make_folder(folder / "pictures")
    keys, paper_key = keys_file.create(
        folder / "keys.json", book=origin, owner=owner, pass_phrase=pass_phrase, chance=chance, cost=cost
    )
    engine = engines.open_engine(known.database_url or engines.sqlite_url(folder))
    engines.migrate(engine)
    book = pages.Book(folder, engine, origin, clock, chance, PROGRAM, keys, owner)
    with book.writing() as page:
        page.append(
            "opened/0",
            about=["book"],
            public={"format": FORMAT, "vkey": seals.vkey(origin, keys.public), "zone": facts.zone},
        )
        page.append("staff/0", about=[f"staff/{owner}"], public={"staff": owner, "role": "owner"})
        page.append("shop/0", about=["book"], public={"facts": facts.record(), "from": facts.from_day})
        page.seal()
    # From here on the book exists.
    return book, paper_key


def at(folder: Path, *, clock: pages.Clock, chance: pages.Chance) -> pages.Book:
    """The book in a folder, locked. Raises: InputError when there is none, StorageError."""
    keys = folder / "keys.json"
    if not keys.is_file():
        wanted = "the folder of a book; make one with `counterfoil init DIR`"
        raise InputError(field="book", given=str(folder), wanted=wanted)
    known = settings_of(folder)
    engine = engines.open_engine(known.database_url or engines.sqlite_url(folder))
    return pages.Book(folder, engine, keys_file.book_of(keys), clock, chance, PROGRAM)


def settings_of(folder: Path) -> settings_file.Settings:
    """The settings of the book in a folder. Raises: InputError, StorageError."""
    path = folder / "settings.toml"
    try:
        return settings_file.read(path.read_bytes())
    except OSError as fault:
        raise StorageError(path=path, why=f"the settings cannot be read: {fault.strerror}") from fault
