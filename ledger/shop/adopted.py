"""The rule files that a book has adopted, the shop's facts and the people, as they stood on a day."""

from collections.abc import Sequence
from functools import lru_cache
from typing import Any

import sqlalchemy as sa

from ledger.book import reading, tables
from ledger.chain import canonical
from ledger.errors import InputError
from ledger.law import files
from ledger.law.rules import RuleFile
from ledger.shop import facts


@lru_cache(maxsize=64)
def parsed(digest: str, data: bytes) -> RuleFile:
    """A rule file's rules; parsed once a process, since its bytes never change."""
    return files.read(data, f"rule file {digest[:12]}")


def rule_file(connection: sa.Connection, book: str, digest: str) -> RuleFile:
    """One adopted rule file. Raises: BookUnsound when its bytes are gone."""
    return parsed(digest, reading.rule_file(connection, book, digest))


def in_force(connection: sa.Connection, book: str) -> tuple[RuleFile, ...]:
    """The newest adopted file of each jurisdiction. Rules inside carry their own days."""
    adoption = tables.adoptions.c
    newest: dict[str, str] = {}
    wanted = sa.select(adoption.jurisdiction, adoption.digest).where(adoption.book == book).order_by(adoption.seq)
    for jurisdiction, digest in connection.execute(wanted):
        newest[jurisdiction] = digest
    return tuple(rule_file(connection, book, newest[jurisdiction]) for jurisdiction in sorted(newest))


def shop_on(connection: sa.Connection, book: str, day: str) -> facts.ShopFacts:
    """The shop's facts of a day (ISO). Raises: InputError when none were ever recorded."""
    row = tables.shop_facts.c
    wanted = sa.select(row.facts).where(row.book == book).order_by(row.seq)
    return facts.on([canonical.decode(text.encode()) for (text,) in connection.execute(wanted)], day)


def people(connection: sa.Connection, book: str) -> Sequence[Any]:
    """(staff, role, until) of everyone who works or worked here."""
    row = tables.staff.c
    wanted = sa.select(row.staff, row.role, row.until).where(row.book == book).order_by(row.staff)
    return connection.execute(wanted).all()


def must_be_staff(connection: sa.Connection, book: str, staff: str, day: str, field: str = "staff") -> None:
    """Raises: InputError unless this person works in the shop on this day (ISO)."""
    known = {row.staff: row.until for row in people(connection, book)}
    if staff not in known or (known[staff] is not None and str(known[staff]) < day):
        raise InputError(field=field, given=staff, wanted="one of " + (", ".join(sorted(known)) or "no one yet"))
