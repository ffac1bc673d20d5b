"""The book that a command works on: its folder, the clock, chance, and the opened keys.

Decides: which book, and who opens it: the pass-phrase or paper key that --unlock-with names, else the key keeper, else
nobody; that the keeper is dismissed once the keys are others.
Here alone the program looks at the clock and draws chance. Leaves to the acts what is done with the book.

    book = a_book(asked)                    # locked or not: for acts that need no personal data
    book = a_book(asked, unlocked=True)     # LockedError when nobody opens it
"""

import os
import tempfile
from datetime import UTC, date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import click

from ledger.acts import opening
from ledger.book import engine as engines
from ledger.book.pages import Book
from ledger.cli import given
from ledger.cli.options import Asked
from ledger.errors import InputError, LockedError, StorageError
from ledger.shop import adopted
from ledger.shop.facts import ShopFacts
from ledger.vault import keeper, keys_file, paper_key
from ledger.vault.keys_file import OpenKeys

chance = os.urandom


def clock() -> datetime:
    """The machine's clock, UTC."""
    return datetime.now(UTC)


def folder(asked: Asked) -> Path:
    """The folder that --book or COUNTERFOIL_BOOK names. Raises: InputError when neither does."""
    if not asked.book:
        raise InputError(field="--book", given="nothing", wanted="a book's folder; give --book DIR or COUNTERFOIL_BOOK")
    return Path(asked.book)


def a_book(asked: Asked, *, unlocked: bool = False) -> Book:
    """The book that was asked for, opened as far as the keys at hand open it.

    Raises: InputError for no such book or a stranger as --as; LockedError when it must be unlocked and is not, or
    when a pass-phrase was given and is wrong; StorageError.
    """
    book = opening.at(folder(asked), clock=clock, chance=chance)
    click.get_current_context().call_on_close(book.engine.dispose)
    unlock(book, asked)
    if unlocked:
        book.opened()
    return book


def unlock(book: Book, asked: Asked) -> None:
    """Open the vault with what is at hand, and say who acts."""
    path = book.folder / "keys.json"
    if asked.unlock_with:
        book.keys = _typed(path, given.pass_phrase(asked), asked.staff)
    else:
        book.keys = _kept(book)
        if book.keys is not None:
            keys_file.check_current(path, book.keys)
    if book.keys is not None:
        book.by = book.keys.staff
    if asked.staff:
        with engines.reading(book.engine) as connection:
            adopted.must_be_staff(connection, book.origin, asked.staff, today(book).isoformat(), "--as")
        book.by = asked.staff


def _typed(path: Path, text: str, staff: str | None) -> OpenKeys:
    """The keys that a text opens: as a pass-phrase, else as the paper key where it has the form of one."""
    try:
        return keys_file.open_file(path, text, staff=staff)
    except LockedError:
        if not paper_key.has_form(text):
            raise
    return keys_file.open_with_paper(path, text)


def owners_keys(book: Book) -> OpenKeys:
    """The opened keys, which must be an owner's. Raises: LockedError."""
    keys = book.opened()
    if not keys.owner:
        why = f"{keys.staff} is a clerk; an owner must do this with a pass-phrase of her own"
        raise LockedError(what="The list of those who open the book", why=why)
    return keys


def close(book: Book, asked: Asked) -> None:
    """Dismiss the key keeper, whose keys are from before a change, and say so where one ran.

    What keeps it from being reached is passed over: the change of keys stands all the same.
    """
    try:
        was_open = keeper.dismiss(socket(book))
    except StorageError:
        was_open = False
    if was_open and not asked.json:
        click.echo("The key keeper is dismissed, with the keys from before: run `counterfoil unlock` again.")


def _kept(book: Book) -> OpenKeys | None:
    """The keys that a key keeper holds, if one runs."""
    try:
        listening = socket(book)
    except StorageError:  # a path too long for any socket: no keeper can be there, and most commands need none
        return None
    return keeper.fetch(listening)


def has_keeper() -> bool:
    """Whether this system has the sockets that a key keeper needs."""
    return os.name == "posix"


def socket(book: Book) -> Path:
    """Where this book's key keeper listens: in the user's runtime folder, or in a folder of the user's own."""
    runtime = os.environ.get("XDG_RUNTIME_DIR")
    user = os.getuid() if hasattr(os, "getuid") else 0
    base = Path(runtime) / "counterfoil" if runtime else Path(tempfile.gettempdir()) / f"counterfoil-{user}"
    return keeper.socket_path_for(book.origin, base)


def shop(book: Book, day: str | None = None) -> ShopFacts:
    """The shop's facts of a day (ISO); today's without one."""
    now = day or clock().date().isoformat()
    with engines.reading(book.engine) as connection:
        return adopted.shop_on(connection, book.origin, now)


def zone(book: Book) -> ZoneInfo:
    """The shop's time zone today."""
    return shop(book).zoneinfo()


def today(book: Book) -> date:
    """The shop's local day."""
    return clock().astimezone(zone(book)).date()


def now(book: Book) -> datetime:
    """This moment in the shop's zone, to the second."""
    return clock().astimezone(zone(book)).replace(microsecond=0)
