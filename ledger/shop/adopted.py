"""The rule files that a book has adopted, the shop's facts and the people, as they stood on a day."""

from collections.abc import Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

import sqlalchemy as sa

from ledger.book import reading, tables
from ledger.chain import canonical
from ledger.errors import InputError
from ledger.shop import facts

if TYPE_CHECKING:
    from ledger.law.rules import RuleFile

_IN_BOOK: sa.BindParameter[str] = sa.bindparam("in_book")
_ADOPTED = (
    sa.select(tables.adoptions.c.jurisdiction, tables.adoptions.c.digest)
    .where(tables.adoptions.c.book == _IN_BOOK)
    .order_by(tables.adoptions.c.seq)
)
_FACTS = (
    sa.select(tables.shop_facts.c.facts).where(tables.shop_facts.c.book == _IN_BOOK).order_by(tables.shop_facts.c.seq)
)
_PERMISSIONS = (
    sa.select(tables.permissions.c.permission, tables.permissions.c.from_day, tables.permissions.c.until)
    .where(tables.permissions.c.book == _IN_BOOK, tables.permissions.c.subject == sa.bindparam("of_subject"))
    .order_by(tables.permissions.c.seq)
)
_PEOPLE = (
    sa.select(tables.staff.c.staff, tables.staff.c.role, tables.staff.c.until)
    .where(tables.staff.c.book == _IN_BOOK)
    .order_by(tables.staff.c.staff)
)
_PARSED: "dict[str, RuleFile]" = {}
"""by digest: the bytes behind one never change, so a file is read and parsed once a process"""


def rule_file(connection: sa.Connection, book: str, digest: str) -> "RuleFile":
    """One adopted rule file. Raises: BookUnsound when its bytes are gone or are not those adopted."""
    if digest not in _PARSED:
        data = reading.rule_file(connection, book, digest)
        from ledger.law import files  # the whole form of the rules: nobody needs it who only asks for people or facts

        _PARSED[digest] = files.read(data, f"rule file {digest[:12]}")
    return _PARSED[digest]


def in_force(connection: sa.Connection, book: str) -> "tuple[RuleFile, ...]":
    """The newest adopted file of each jurisdiction. Rules inside carry their own days."""
    newest: dict[str, str] = {}
    for jurisdiction, digest in connection.execute(_ADOPTED, {"in_book": book}):
        newest[jurisdiction] = digest
    return tuple(rule_file(connection, book, newest[jurisdiction]) for jurisdiction in sorted(newest))


def shop_on(connection: sa.Connection, book: str, day: str) -> facts.ShopFacts:
    """The shop's facts of a day (ISO). Raises: InputError when none were ever recorded."""
    found = connection.execute(_FACTS, {"in_book": book})
    return facts.on([canonical.decode(text.encode()) for (text,) in found], day)


def permissions_on(connection: sa.Connection, book: str, day: str, subject: str = "shop") -> list[str]:
    """Ids of the permissions of an authority that are in force on a day (ISO), sorted.

    subject: "shop", or an item as SLIP/LINE. The newest record of a permission counts.
    """
    newest = {
        permission: (first, last)
        for permission, first, last in connection.execute(_PERMISSIONS, {"in_book": book, "of_subject": subject})
    }
    return sorted(name for name, (first, last) in newest.items() if first <= day <= (last or day))


def told_on(connection: sa.Connection, book: str, day: str) -> dict[str, Any]:
    """What rule files may ask about the shop on a day (ISO). Raises: InputError when no facts were ever recorded."""
    return shop_on(connection, book, day).told(day, permissions_on(connection, book, day))


def local_day(connection: sa.Connection, book: str, moment: datetime) -> date:
    """The shop's day at a moment. Raises: InputError when no facts of the shop were ever recorded."""
    return moment.astimezone(shop_on(connection, book, moment.date().isoformat()).zoneinfo()).date()


def people(connection: sa.Connection, book: str) -> Sequence[Any]:
    """(staff, role, until) of everyone who works or worked here."""
    return connection.execute(_PEOPLE, {"in_book": book}).all()


def working(connection: sa.Connection, book: str, day: str) -> dict[str, str]:
    """Role by short word of everyone who works here on a day (ISO)."""
    rows = people(connection, book)
    return {str(row.staff): str(row.role) for row in rows if row.until is None or str(row.until) >= day}


def must_be_staff(connection: sa.Connection, book: str, staff: str, day: str, field: str = "staff") -> None:
    """Raises: InputError unless this person works in the shop on this day (ISO)."""
    works = working(connection, book, day)
    if staff not in works:
        wanted = f"one of those who work here on {day}: {', '.join(works) or 'no one'}"
        raise InputError(field=field, given=staff, wanted=wanted)
