"""A seller who was here before: which slips are his, and what may be copied from one after a look is recorded.

Decides: that a person is found by a document's number or by name and birth date, through the blind index only, and
that nothing of an earlier slip is shown before the look at it stands in the book. Leaves to others: which fields are
written over (none: `slip.filling`).

    numbers = returning.slips_of(book, numbers=["T64235789"], name="SAMPLE MICHAEL", birth="1986-06-06")
    members = returning.copy(book, numbers[0], why="sells again", among=numbers)
"""

from collections.abc import Collection, Sequence
from datetime import date
from typing import Any, Final

from ledger.acts import gathering, inquiring, looking
from ledger.book import engine as engines
from ledger.book.pages import Book
from ledger.errors import InputError
from ledger.identity import names
from ledger.slip import writing

COPIED: Final = ("address", "phones", "email", "workplace", "description", "vehicle")
"""members of a party that stay true from one visit to the next; the clerk asks whether they do"""


def slips_of(book: Book, *, numbers: Sequence[str], name: str, birth: str) -> list[int]:
    """Slips of a seller with one of these documents, or this name and birth date, newest first.

    What is blank or cannot be read finds nothing. Raises: LockedError.
    """
    keys = [("document", key) for number in numbers if (key := names.number_key_if_any(number))]
    if name.strip() and (day := _day(birth)) is not None:
        keys.append(("person", names.person_key(name, day)))
    return sorted({slip for kind, key in keys for slip in inquiring.returning(book, kind, key)}, reverse=True)


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


def copy(book: Book, slip: int, *, why: str, among: Collection[int]) -> dict[str, Any]:
    """Members of the seller of an earlier slip, as a slip document writes them; the look is in the book by then.

    why: the reason, in a person's words. among: the slips in which this seller was found.
    Raises: InputError for another slip, no reason, or data that were forgotten; LockedError, StorageError.
    """
    if slip not in among:
        raise InputError(field="slip", given=slip, wanted="a slip of this seller")
    looking.look(book, f"slip/{slip}", why)
    with engines.reading(book.engine) as connection:
        seller = gathering.whole(connection, book, slip).slip_today.seller
    members = {name: getattr(seller, name) for name in COPIED}
    return {name: writing.plain(value) for name, value in members.items() if value is not None}
