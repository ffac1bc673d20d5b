"""A slip that comes to nothing: refused, withdrawn before recording, or voided after it.

A refusal holds no more than the rule files let it hold. A void is itself a lawful act: the goods go back to the
original seller if the holds allow that, the money comes back, and reports that were sent are to be corrected.
"""

from dataclasses import replace
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from ledger.acts import leaving
from ledger.acts.examining import Examined
from ledger.acts.recording import check
from ledger.book import reading, tables
from ledger.book.pages import Book, Held, Page
from ledger.chain.entries import Entry
from ledger.errors import InputError
from ledger.law.holds import Act
from ledger.slip import parts as slip_parts
from ledger.slip.document import Slip


def refuse(book: Book, slip: Slip, because: str) -> tuple[Entry, Examined]:
    """The entry of a purchase that was not made, as far as the rule files let it be recorded.

    Raises: InputError for a slip dated ahead, LockedError, StorageError.
    """
    examined = check(book, slip)
    draft = book.chance(16).hex()
    allowed = examined.duties.refusal.may_record if examined.duties.refusal else ("date", "reason", "count")
    told: dict[str, Any] = {}
    if "reason" in allowed:
        told["because"] = because
    if "date" in allowed:
        told["at"] = slip.occurred_text
    if "count" in allowed:
        told["articles"] = slip.tray.articles
    held = [book.hold("reason", told, draft)] if told else []
    held += [
        book.hold(name, value, draft)
        for name, value in slip_parts.presented_parts(_without_pictures(slip), assessments={}, values={}, pictures={})
        if _may_keep(name, allowed)
    ]
    with book.writing() as page:
        page.must_have_happened(slip.occurred_at, "occurred_at")
        entry = page.append(
            "refused/0",
            about=[f"draft/{draft}"],
            public={"rules": list(examined.duties.digests)},
            held=held,
            occurred_at=slip.occurred_text if "date" in allowed else None,
        )
    # From here on it stands in the book that a purchase was refused, and no more than may stand there.
    return entry, examined


def _without_pictures(slip: Slip) -> Slip:
    """Of a purchase that was refused no picture is kept, whatever the document names."""
    return replace(
        slip,
        parties=tuple(replace(party, captures=()) for party in slip.parties),
        items=tuple(replace(item, pictures=()) for item in slip.items),
    )


def _may_keep(name: str, allowed: tuple[str, ...]) -> bool:
    if name.startswith("item/"):
        return "items" in allowed
    if "/document/" in name:
        return "document" in allowed
    return "seller" in allowed and name.startswith(("seller/", "party/"))


def withdraw(book: Book, number: int, because: str) -> Entry:
    """The entry that a presented slip was not completed. Raises: InputError when it is not open."""
    with book.writing() as page:
        row = _slip_in(page, number, "presented", "a slip that is presented and not yet recorded")
        held = [book.hold("reason", {"because": because}, row.draft)]
        return page.append("withdrawn/0", about=[f"slip/{number}"], public={"slip": number}, held=held)


def void(book: Book, number: int, because: str, *, at: datetime) -> Entry:
    """The entry that undoes a recorded purchase: goods back to the seller, money back, report to be corrected.

    at: when the goods went back, local; not ahead.
    Raises: ForbiddenByLaw when a hold forbids giving them back even to the original seller; InputError.
    """
    with book.writing() as page:
        undone_at = page.must_have_happened(at)
        row = _slip_in(page, number, "recorded", "a slip that is recorded")
        stock = _in_stock(page, number)
        for line in stock:
            leaving.must_be_free(
                page, number, line, Act("return", "original-seller", {"taker": "original-seller"}), at=at
            )
        held = [book.hold("reason", {"because": because, "at": undone_at}, row.draft)]
        entry = page.append(
            "void/0", about=[f"slip/{number}"], public={"slip": number}, held=held, occurred_at=undone_at
        )
        _recover_payouts(page, number, row.draft, undone_at)
        page.seal()
    # From here on the purchase is undone, and its reports are listed as to be corrected.
    return entry


def _slip_in(page: Page, number: int, state: str, wanted: str) -> sa.Row[Any]:
    row = reading.slip_row(page.connection, page.book.origin, number)
    if row.state != state:
        raise InputError(field="slip", given=f"slip {number}, {row.state}", wanted=wanted)
    return row


def _in_stock(page: Page, number: int) -> list[int]:
    """Lines whose goods are here. Raises: InputError when one has left: then the purchase cannot be undone whole."""
    item = tables.items.c
    wanted = sa.select(item.line, item.state).where(item.book == page.book.origin, item.slip == number)
    lines = []
    for line, state in page.connection.execute(wanted):
        if state == "in stock":
            lines.append(line)
        elif state not in ("declined", "no offer"):
            raise InputError(field="slip", given=f"item {number}/{line} is {state}", wanted="all its goods in stock")
    return lines


def _recover_payouts(page: Page, number: int, draft: str, at: str) -> None:
    """Whatever became of the money so far, the shop owes none any more and has what it had paid."""
    payout = tables.payouts.c
    wanted = sa.select(tables.payouts).where(payout.book == page.book.origin, payout.slip == number)
    for row in page.connection.execute(wanted).all():
        if row.state != "recovered":
            held: list[Held] = [
                page.book.hold("payout/method", {"instrument": row.instrument, "at": at}, draft),
                page.book.hold("payout/amount", {"currency": row.currency, "minor": row.minor}, draft),
            ]
            public = {"slip": number, "state": "recovered", "payout": int(row.payout)}
            page.append("payout/0", about=[f"slip/{number}"], public=public, held=held, occurred_at=at)
