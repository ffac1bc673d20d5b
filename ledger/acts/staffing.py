"""People who come to work here, leave, or forgot a pass-phrase: the keys file and the book, in the order that is safe.

Decides: the order. Whoever comes has a slot in the keys file before the entry stands: without the entry it opens
nothing that the book would accept, and the act can be done again. Whoever leaves is entered first: when the machine
stops between, doing it again takes the slot away. Leaves to the faces: asking for pass-phrases, and showing a paper
key once, at once.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date

from ledger.acts import setting_up
from ledger.book import engine as engines
from ledger.book.pages import Book
from ledger.chain.entries import Entry
from ledger.errors import InputError
from ledger.shop import adopted
from ledger.vault import keys_file
from ledger.vault.keys_file import USUAL, Cost, OpenKeys


@dataclass(frozen=True)
class Person:
    """Who works or worked here."""

    staff: str
    role: str
    until: str | None
    """the last day; None: works here"""
    opens: bool
    """whether a pass-phrase of hers opens the book"""
    known: bool
    """whether an owner who left could know her keys"""


@dataclass(frozen=True)
class Left:
    """What became of somebody's leaving."""

    entry: Entry
    had_slot: bool
    paper_key: str | None = field(repr=False)
    """a new one where an owner left: to be shown once, and written down"""
    keys: OpenKeys | None = field(repr=False)
    """the owner's keys as they are now; None where nothing changed in the keys file"""


def people(book: Book) -> Sequence[Person]:
    """Everyone who works or worked here, by their short words."""
    path = book.folder / "keys.json"
    opens = {staff for staff, _role in keys_file.people(path)}
    known = set(keys_file.known_to_former_owners(path))
    with engines.reading(book.engine) as connection:
        rows = adopted.people(connection, book.origin)
    return [Person(row.staff, row.role, row.until, row.staff in opens, row.staff in known) for row in rows]


def has_slot(book: Book, staff: str) -> bool:
    """Whether a person has a pass-phrase already: then none is asked for."""
    return staff in {known for known, _role in keys_file.people(book.folder / "keys.json")}


def must_be_new(book: Book, staff: str) -> None:
    """Raises: InputError for somebody who works here."""
    if any(one.staff == staff and one.until is None for one in people(book)):
        raise InputError(field="staff", given=staff, wanted="someone who does not work here yet")


def join(
    book: Book, owner: OpenKeys, staff: str, *, role: str, name: str, pass_phrase: str | None, cost: Cost = USUAL
) -> Entry:
    """The entry that a person works here, with a pass-phrase of her own.

    role: clerk | owner. pass_phrase: None for someone who has one from a try before.
    Raises: InputError for someone who works here, or a pass-phrase that will not do; LockedError, StorageError.
    """
    must_be_new(book, staff)
    if pass_phrase is not None and not has_slot(book, staff):
        keys_file.add_person(
            book.folder / "keys.json",
            owner,
            staff=staff,
            role="owner" if role == "owner" else "clerk",
            pass_phrase=pass_phrase,
            chance=book.chance,
            cost=cost,
        )
    # From here on she could open the book; what she entered would still be refused.
    return setting_up.add_person(book, staff, role, name)


def leave(book: Book, owner: OpenKeys, staff: str, until: date) -> Left:
    """Somebody works here no longer after a day, and her pass-phrase opens nothing any more.

    Raises: InputError for oneself or a stranger; LockedError, StorageError.
    """
    if staff in (owner.staff, book.by):
        raise InputError(field="staff", given=staff, wanted="someone else than yourself")
    entry = setting_up.person_left(book, staff, until)
    # From here on nothing that she enters after that day is accepted; her pass-phrase still opens the book.
    if not has_slot(book, staff):
        return Left(entry, False, None, None)
    keys, paper_key = keys_file.remove_person(book.folder / "keys.json", owner, staff, book.chance)
    return Left(entry, True, paper_key, keys)


def reset(book: Book, owner: OpenKeys, staff: str, pass_phrase: str, *, cost: Cost = USUAL) -> OpenKeys:
    """The owner's keys as they are now: somebody has a new pass-phrase and a new key, the old one opens nothing.

    Raises: InputError for someone without a slot or a pass-phrase that will not do; LockedError, StorageError.
    """
    must_open(book, staff)
    path = book.folder / "keys.json"
    return keys_file.reset_pass_phrase(path, owner, staff=staff, pass_phrase=pass_phrase, chance=book.chance, cost=cost)


def must_open(book: Book, staff: str) -> None:
    """Raises: InputError for somebody whose pass-phrase opens nothing."""
    having = [known for known, _role in keys_file.people(book.folder / "keys.json")]
    if staff not in having:
        raise InputError(field="staff", given=staff, wanted=f"one of those who open the book: {', '.join(having)}")
