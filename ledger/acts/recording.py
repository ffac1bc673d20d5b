"""Presents a slip to its seller and records the purchase.

Presenting freezes the slip under its number; recording adds what came after: signature, conclusions, the duties as
they stood. `record` does both in one transaction for goods already signed for: a kill leaves both entries or none.

    frozen = present(book, slip, draft, pictures)
    done = record(book, slip, draft, pictures, answers={})
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from ledger.acts import arriving, tallying
from ledger.acts.drafting import Draft
from ledger.acts.examining import Examined, examine, must_be_lawful
from ledger.acts.opening import settings_of
from ledger.book import engine as engines
from ledger.book import reading
from ledger.book.pages import Book, Page
from ledger.chain import entries
from ledger.chain.entries import Entry
from ledger.errors import InputError
from ledger.moments import local_text
from ledger.shop import adopted
from ledger.slip import parts as slip_parts
from ledger.slip.document import Payout, Slip

Pictures = Mapping[str, slip_parts.PictureRecord]


@dataclass(frozen=True)
class Recorded:
    """What stands in the book now."""

    slip: int
    presented: Entry
    purchase: Entry | None
    seal: str
    examined: Examined


def check(book: Book, slip: Slip, *, unfinished: bool = False) -> Examined:
    """What the margin says about a slip under this book's rules, now. Writes nothing.

    unfinished: it is still being written, and what contradicts itself is only one more thing owed.
    """
    with engines.reading(book.engine) as connection:
        return _examined(book, connection, slip, book.clock(), unfinished=unfinished)


def present(book: Book, slip: Slip, draft: Draft, pictures: Pictures, *, answers: Mapping[str, str]) -> Recorded:
    """The frozen, numbered slip, ready for the seller's signature.

    Raises: InputError, ForbiddenByLaw, StillUndecided, NoRuleForDay, LockedError, StorageError; then nothing was
    written.
    """
    with book.writing() as page:
        what = "The slip cannot be presented"
        examined = _lawful(book, page.connection, page.now, slip, answers, what, signed=False)
        entry = _append_presented(page, examined, draft, pictures)
        seal = page.seal()
    # From here on the slip has its number: it will be recorded, withdrawn or voided, never forgotten.
    return Recorded(entry.public["slip"], entry, None, seal, examined)


def record(book: Book, slip: Slip, draft: Draft, pictures: Pictures, *, answers: Mapping[str, str]) -> Recorded:
    """The purchase of an unpresented slip, presented and recorded in one transaction.

    Raises: as `present`.
    """
    with book.writing() as page:
        examined = _lawful(book, page.connection, page.now, slip, answers, "The purchase cannot be recorded")
        presented = _append_presented(page, examined, draft, pictures)
        purchase = _append_purchase(page, examined, draft.id, presented, pictures, answers)
        seal = page.seal()
    # From here on the purchase is in the book. A crash before this line leaves at worst locked pictures that no
    # entry names; `counterfoil book verify` counts them.
    return Recorded(presented.public["slip"], presented, purchase, seal, examined)


def record_presented(
    book: Book, number: int, slip: Slip, pictures: Pictures, *, answers: Mapping[str, str]
) -> Recorded:
    """The purchase of a slip that was presented before and has now been signed.

    slip: the same document with its signature; what was frozen must be unchanged in it.
    Raises: as `present`; InputError when the slip is not open or differs from what the seller was shown.
    """
    with book.writing() as page:
        row = reading.slip_row(page.connection, book.origin, number)
        if row.state != "presented":
            raise InputError(field="slip", given=f"slip {number}, {row.state}", wanted="a slip that is presented")
        frozen = reading.open_entry(page.connection, book, row.presented_seq)
        examined = _lawful(book, page.connection, page.now, slip, answers, "The purchase cannot be recorded")
        _must_be_unchanged(frozen, examined)
        purchase = _append_purchase(page, examined, row.draft, frozen.entry, pictures, answers)
        seal = page.seal()
    # From here on the purchase is in the book.
    return Recorded(number, frozen.entry, purchase, seal, examined)


def ready(book: Book, slip: Slip, *, answers: Mapping[str, str], what: str, signed: bool = True) -> Examined:
    """A slip that could be presented and recorded now: complete, lawful, and its open questions answered.

    Faces ask before pictures are locked away; the acts ask again inside the write lock.
    what: how the refusal begins, such as "The purchase cannot be recorded". signed: False before presenting.
    Raises: InputError, ForbiddenByLaw, StillUndecided, NoRuleForDay.
    """
    with engines.reading(book.engine) as connection:
        return _lawful(book, connection, book.clock(), slip, answers, what, signed=signed)


def _lawful(
    book: Book,
    connection: sa.Connection,
    now: datetime,
    slip: Slip,
    answers: Mapping[str, str],
    what: str,
    *,
    signed: bool = True,
) -> Examined:
    """The examination; inside the write lock `now` is the moment of recording, from which holds run.

    signed: False while the slip is frozen for the seller to sign it, so that the signature is not yet asked for.
    """
    if slip.occurred_at > now:
        wanted = f"a moment not after the machine's clock ({local_text(now.astimezone(slip.occurred_at.tzinfo))})"
        raise InputError(field="occurred_at", given=slip.occurred_text, wanted=wanted)
    adopted.must_be_staff(connection, book.origin, slip.staff, slip.local_day.isoformat())
    examined = _examined(book, connection, slip, now)
    must_be_lawful(examined if signed else replace(examined, duties=examined.duties.before_signing()), answers, what)
    if examined.owed:
        raise examined.owed[0].error()
    return examined


def _examined(
    book: Book, connection: sa.Connection, slip: Slip, now: datetime, *, unfinished: bool = False
) -> Examined:
    files = adopted.in_force(connection, book.origin)
    return examine(
        slip,
        files=files,
        settings=settings_of(book.folder),
        recorded_at=now.astimezone(slip.occurred_at.tzinfo),
        shop=adopted.told_on(connection, book.origin, slip.local_day.isoformat()),
        program=book.program,
        past=tallying.past(connection, book, slip, files),
        unfinished=unfinished,
    )


def _append_presented(page: Page, examined: Examined, draft: Draft, pictures: Pictures) -> Entry:
    draft.keep_keys(page)
    slip = examined.slip
    frozen = _presented_parts(examined, pictures)
    number = page.next_slip()
    return page.append(
        "presented/0",
        about=[f"slip/{number}", f"draft/{draft.id}"],
        public={
            "slip": number,
            "items": len(slip.items),
            "rules": list(examined.duties.digests),
            "pictures": _named_pictures(frozen, pictures),
        },
        held=[page.book.hold(name, value, draft.id, _class_of(name, pictures)) for name, value in frozen],
        occurred_at=slip.occurred_text,
    )


def _presented_parts(examined: Examined, pictures: Pictures) -> list[tuple[str, Any]]:
    return slip_parts.presented_parts(
        examined.slip,
        assessments={line: assessment.record() for line, assessment in examined.assessments.items()},
        values={line: valuation.record() for line, valuation in examined.valuations.items()},
        pictures=pictures,
    )


def _append_purchase(
    page: Page, examined: Examined, draft: str, presented: Entry, pictures: Pictures, answers: Mapping[str, str]
) -> Entry:
    slip = examined.slip
    number = presented.public["slip"]
    duties = {**examined.duties.record(), "answers": dict(answers), "payout": _payout(slip)}
    del duties["rules"]  # the book keeps the files from which they are, byte for byte
    if slip.channel == "parcel":
        duties |= _arrived(page, examined)
    if examined.past is not None:
        duties["past"] = list(examined.past)
    added = slip_parts.recorded_parts(slip, duties=duties, pictures=pictures)
    return page.append(
        "purchase/0",
        about=[f"slip/{number}", f"draft/{draft}"],
        public={
            "slip": number,
            "items": len(slip.items),
            "presented": presented.leaf.hex(),
            "rules": list(examined.duties.digests),
            "pictures": _named_pictures(added, pictures),
        },
        held=[page.book.hold(name, value, draft, _class_of(name, pictures)) for name, value in added],
        occurred_at=slip.occurred_text,
    )


def _arrived(page: Page, examined: Examined) -> dict[str, Any]:
    """What waited for the goods to come, which are here now."""
    slip, connection, book = examined.slip, page.connection, page.book.origin
    files = [adopted.rule_file(connection, book, digest) for digest in examined.duties.digests]
    begun = max(slip.occurred_at, page.now.astimezone(slip.occurred_at.tzinfo))
    shop = adopted.told_on(connection, book, slip.local_day.isoformat())
    return arriving.began(examined.duties, files, begun, shop)


def _payout(slip: Slip) -> dict[str, Any] | None:
    if slip.payout is None:
        return None
    return {
        "instrument": slip.payout.instrument,
        "amount": slip.payout.money.record(),
        "at": slip.occurred_text,
        "cash_minor": _cash_minor(slip.payout),
    }


def _cash_minor(payout: Payout) -> int:
    """How much of a payout is cash: what was said, else all or nothing as its instrument tells."""
    if payout.cash_part is not None:
        return payout.cash_part.minor
    return payout.money.minor if payout.instrument == "cash" else 0


def _named_pictures(named: list[tuple[str, Any]], pictures: Pictures) -> list[dict[str, str]]:
    """The encrypted files of the pictures among these parts, in an order that tells nothing."""
    found = [
        entries.picture(pictures[name].file_received, pictures[name].file_shown)
        for name, _value in named
        if name in pictures
    ]
    return sorted(found, key=lambda each: each["received"])


def _class_of(name: str, pictures: Pictures) -> str | None:
    """A picture's part lies under the class its file was locked with; any other under its name's class."""
    return pictures[name].cls if name in pictures else None


def _must_be_unchanged(frozen: reading.Opened, examined: Examined) -> None:
    before = _agreed(frozen.parts)
    unread = {asked.part: slip_parts.UNREAD for asked in slip_parts.pictures(examined.slip)}
    now = _agreed(_presented_parts(examined, unread))
    for name in sorted(before.keys() | now.keys()):
        if before.get(name) != now.get(name):
            wanted = "what the seller was shown; a changed mind means `slip withdraw` and presenting anew"
            raise InputError(field=name, given="something else", wanted=wanted)


def _agreed(named: Iterable[tuple[str, Any]]) -> dict[str, Any]:
    """What people said and saw. What the program worked out beside it stands as it was frozen.

    It would come out otherwise when the owner changed a rate since, or a newer program weighs the same evidence.
    """
    agreed = {name: _without_file(value) for name, value in named if not name.endswith("/assessment")}
    for name, value in agreed.items():
        if name.endswith("/price"):
            agreed[name] = {member: inner for member, inner in value.items() if member != "value"}
    return agreed


def _without_file(value: Any) -> Any:
    """A picture by what it shows: its file was locked away when the slip was frozen and is not read again."""
    if not isinstance(value, dict) or "file_received" not in value:
        return value
    return {name: inner for name, inner in value.items() if name in ("shows", "finger", "document")}
