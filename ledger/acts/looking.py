"""One opening of personal data: who looked at what, and why, as an entry of its own.

The entry names only its own random id; what was looked at lies in the vault, so that nobody learns from the book
whose data interested whom.
"""

from collections.abc import Mapping
from typing import Any

from ledger.book.pages import Book, Page
from ledger.chain.entries import Entry
from ledger.errors import InputError


def look(book: Book, what: str, why: str) -> Entry:
    """The entry that personal data were opened. Raises: InputError without a reason, LockedError, StorageError.

    what: the subject, such as "slip/12". why: the reason, in a person's words.
    """
    if not why.strip():
        raise InputError(field="why", given=why, wanted="the reason why these data are looked at")
    with book.writing() as page:
        return record(page, {"what": what, "why": why})


def record(page: Page, told: Mapping[str, Any]) -> Entry:
    """The same inside a transaction that does more."""
    name = page.book.chance(8).hex()
    held = [page.book.hold("look", dict(told), name)]
    return page.append("look/0", about=[f"look/{name}"], public={}, held=held)
