"""What an authority permits the shop, or lets it do with one item, for a time: recorded, and read by rule files.

A permission has the name that a rule file gives it. Who gave it and under which reference lies in the vault.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

import sqlalchemy as sa

from ledger.acts import following, holding
from ledger.book import engine as engines
from ledger.book import reading, tables
from ledger.book.pages import Book, Page
from ledger.chain.entries import Entry
from ledger.errors import InputError, LockedError, Said
from ledger.shop import adopted, facts

_MEMBERS = ("permission", "by", "reference", "from", "until", "item")


@dataclass(frozen=True)
class Permission:
    """One permission of an authority."""

    permission: str
    """its id in a rule file"""
    by: str
    reference: str
    from_day: str
    until: str | None
    """the last day on which it holds"""
    item: tuple[int, int] | None
    """slip and line; None for the shop"""


def read_permission(document: Mapping[str, Any]) -> Permission:
    """A permission from a document with the members of Permission. Raises: InputError."""
    unknown = sorted(set(document) - set(_MEMBERS))
    if unknown:
        raise InputError(field=unknown[0], given=unknown[0], wanted="one of " + ", ".join(_MEMBERS))
    for name in ("permission", "by", "reference"):
        text = document.get(name, "" if name == "reference" else None)
        if not isinstance(text, str) or (not text.strip() and name != "reference"):
            raise InputError(field=name, given=Said("nothing" if text is None else "something else"), wanted="text")
    first = facts.day_of(document.get("from"), "from")
    last = None if document.get("until") is None else facts.day_of(document["until"], "until")
    if last is not None and last < first:
        raise InputError(field="until", given=last, wanted=f"a day not before {first}")
    item = document.get("item")
    return Permission(
        permission=document["permission"],
        by=document["by"],
        reference=document.get("reference", ""),
        from_day=first,
        until=last,
        item=None if item is None else holding.item_named(str(item)),
    )


def permit(book: Book, asked: Permission) -> Entry:
    """The entry that an authority permits something. The newest entry about a permission counts.

    Raises: InputError for a name that no rule file in force declares, or that it declares of the other; LockedError
    unless an owner records what is permitted to the whole shop.
    """
    if asked.item is None and not book.opened().owner:
        why = f"{book.opened().staff} is a clerk; an owner must do this with a pass-phrase of her own"
        raise LockedError(what="What is permitted to the whole shop", why=why)
    with book.writing() as page:
        _must_be_declared(asked, adopted.in_force(page.connection, book.origin))
        subject, about = "shop", "book"
        if asked.item is not None:
            row = reading.item_row(page.connection, book.origin, *asked.item)
            subject, about = row.draft, f"item/{asked.item[0]}/{asked.item[1]}"
        told = {"by": asked.by, "reference": asked.reference}
        held = [book.hold("permission", told, subject)]
        if asked.item is not None:
            held += following.redecided(page, *asked.item, _in_force(page, asked))
        until = {} if asked.until is None else {"until": asked.until}
        entry = page.append(
            "permitted/0",
            about=[about],
            public={"permission": asked.permission, "from": asked.from_day, **until},
            held=held,
        )
    # From here on rules that ask for the permission find it.
    return entry


def _in_force(page: Page, asked: Permission) -> list[str]:
    """Permissions of the item today, with the one that is given now."""
    connection, book = page.connection, page.book.origin
    today = adopted.local_day(connection, book, page.now).isoformat()
    assert asked.item is not None
    known = set(adopted.permissions_on(connection, book, today, f"{asked.item[0]}/{asked.item[1]}"))
    holds = asked.from_day <= today <= (asked.until or today)
    return sorted(known | {asked.permission} if holds else known - {asked.permission})


def _must_be_declared(asked: Permission, files: Any) -> None:
    about = "shop" if asked.item is None else "item"
    known = sorted({one.id for file in files for one in file.declared.permissions if one.about == about})
    if asked.permission not in known:
        wanted = f"a permission that a rule file in force declares about the {about}: {', '.join(known) or 'none is'}"
        raise InputError(field="permission", given=asked.permission, wanted=wanted)


def known(book: Book, today: date) -> list[dict[str, Any]]:
    """Every permission as it was last recorded, with whether it is in force today. Needs no key."""
    row = tables.permissions.c
    wanted = sa.select(row.permission, row.subject, row.from_day, row.until).where(row.book == book.origin)
    with engines.reading(book.engine) as connection:
        newest = {(one.permission, one.subject): one for one in connection.execute(wanted.order_by(row.seq)).all()}
    day = today.isoformat()
    return [
        {
            "permission": one.permission,
            "subject": one.subject,
            "from": one.from_day,
            "until": one.until,
            "in_force": one.from_day <= day <= (one.until or day),
        }
        for _, one in sorted(newest.items())
    ]
