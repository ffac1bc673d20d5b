"""Drafts of slips: kept encrypted from the first save on, each with the tray whose goods it is about.

A draft is what was typed, field by field, so that nothing is lost that cannot be taken yet. Its pictures are locked
away at once under the class that they will have. A save names the version it was made from: of two clerks who write
one draft the second is told. Whoever leaves before the slip is presented has his draft given up: row, keys and
pictures go, and the tray is free. No entry tells of it, since nothing of it ever stood in the book.
"""

import json
import re
from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime
from typing import Any

import sqlalchemy as sa

from ledger.acts import drafting, inquiring, recording
from ledger.acts.examining import Examined
from ledger.book import engine as engines
from ledger.book import pages, tables
from ledger.book.pages import Book, Page
from ledger.errors import InputError, LedgerError, Said
from ledger.slip import editing, unfinished
from ledger.slip import fields as form
from ledger.slip.document import value_of
from ledger.slip.parts import PictureRecord
from ledger.vault import pictures, rows

_CLASS = "draft"
_TRAY = re.compile(r"[A-Za-z0-9]{1,8}")


@dataclass(frozen=True)
class Listed:
    """A draft as it is known without opening it."""

    id: str
    tray: str
    staff: str
    """who began it"""
    version: int
    begun_at: datetime
    saved_at: datetime
    saved_by: str
    slip: int | None


@dataclass(frozen=True)
class Kept(Listed):
    """A draft as it was saved last."""

    fields: Mapping[str, str]
    pictures: Mapping[str, PictureRecord]
    """by file name"""


@dataclass(frozen=True)
class Margin:
    """What is known about a draft while it is written."""

    examined: Examined | None
    faults: list[InputError]
    sold_before: list[int]
    says: list[str]
    """why nothing could be worked out, in sentences"""


def listed(book: Book) -> list[Listed]:
    """Every draft, the oldest first. Needs no key."""
    row = tables.drafts.c
    known = row.draft, row.tray, row.staff, row.version, row.begun_at, row.saved_at, row.saved_by, row.slip
    wanted = sa.select(*known).where(row.book == book.origin).order_by(row.begun_at)
    with engines.reading(book.engine) as connection:
        return [_listed(one) for one in connection.execute(wanted)]


def begin(book: Book, *, tray: str, fields: Mapping[str, str]) -> Kept:
    """A new draft on a tray that no other draft has.

    tray: 1 to 8 letters and digits. It stands in clear beside what is locked, so it has no room for a name.
    Raises: InputError, LockedError, StorageError.
    """
    if not _TRAY.fullmatch(tray):
        wanted = "the tray's number: 1 to 8 letters and digits, such as 12 or B3"
        raise InputError(field="tray.number", given=Said("something else"), wanted=wanted)
    draft = book.chance(16).hex()
    with book.writing() as page:
        if _is_taken(page, tray):
            raise InputError(field="tray.number", given=tray, wanted="a tray that no other open slip has")
        page.begin_subject(draft)
        kept = Kept(draft, tray, book.by, 1, page.now, page.now, book.by, None, dict(fields), {})
        page.connection.execute(sa.insert(tables.drafts).values(book=book.origin, **_row(page, kept)))
    # From here on the draft survives a power cut.
    return kept


def open_(book: Book, id: str) -> Kept:
    """A draft as it was saved last. Raises: InputError when there is none, LockedError."""
    with engines.reading(book.engine) as connection:
        return _open(book, connection, id)


def save(book: Book, id: str, fields: Mapping[str, str], *, version: int) -> Kept:
    """The draft with other fields. version: the one that was changed.

    A tray's number that was written anew counts where no other draft has that tray; else the draft stays on its own.
    Raises: InputError with the field `draft` when somebody saved it meanwhile; LockedError, StorageError.
    """
    with book.writing() as page:
        kept = _open(book, page.connection, id)
        if kept.version != version:
            at = kept.saved_at.strftime("%H:%M:%S UTC")
            given = f"version {version}, while {kept.saved_by} saved version {kept.version} at {at}"
            raise InputError(field="draft", given=given, wanted="the newest version; look at what stands there now")
        tray = fields.get("tray.number", "").strip()
        if not _TRAY.fullmatch(tray) or _is_taken(page, tray):
            tray = kept.tray
        now = _put(page, replace(kept, tray=tray, fields=dict(fields)))
    # From here on this version is kept.
    return now


def give_up(book: Book, id: str) -> None:
    """The draft is gone, its data keys and pictures with it, and its tray is free.

    Copies of the database from before hold it still, locked, until the wrapping key is changed.
    Raises: InputError when there is none, or its slip was presented: that one is withdrawn; LockedError, StorageError.
    A StorageError that names a picture comes when the rest is done: that file opens no more.
    """
    with book.writing() as page:
        kept = _open(book, page.connection, id)
        row, slip = tables.drafts.c, tables.slips.c
        presented = sa.select(slip.slip).where(slip.book == book.origin, slip.draft == id)
        number = page.connection.execute(presented).scalar()
        if number is not None:
            wanted = "a slip that was not presented; withdraw that one"
            raise InputError(field="draft", given=f"slip {number}, presented", wanted=wanted)
        page.connection.execute(sa.delete(tables.drafts).where(row.book == book.origin, row.draft == id))
        page.drop_keys(id)
    # From here on nobody opens what was typed. A crash before the files are gone leaves at worst locked pictures
    # that no entry names; `counterfoil book verify` counts them.
    for one in kept.pictures.values():
        for file in (one.file_received, one.file_shown):
            pictures.remove(book.folder, file)


def attach(book: Book, id: str, data: bytes, cls: str, *, field: str) -> tuple[Kept, str]:
    """The draft with one more picture, locked away at once, and the file name under which the slip may name it.

    cls: the class it will have (scan, print, item). Raises: InputError for no picture, LockedError, StorageError.
    """
    shown, media_type = pictures.shown_copy(data, field)
    name = f"{book.chance(6).hex()}.{'png' if media_type == 'image/png' else 'jpg'}"
    with book.writing() as page:
        kept = _open(book, page.connection, id)
        seen = drafting.Seen(data, shown, media_type)
        record = drafting.lock_seen(book, kept.id, cls, lambda: page.key_for(kept.id, cls), seen)
        now = _put(page, replace(kept, pictures={**kept.pictures, name: record}))
    # From here on the draft names the picture. A crash before this line leaves at worst a file that nothing names.
    return now, name


def picture(book: Book, id: str, name: str, copy: str = "shown") -> tuple[bytes, str]:
    """A picture of this draft and its media type; copy: shown or received. Raises: InputError, LockedError."""
    with engines.reading(book.engine) as connection:
        record = _open(book, connection, id).pictures.get(name)
        if record is None:
            raise InputError(field="picture", given=name, wanted="a picture of this slip")
        key = pages.find_key(connection, book, id, record.cls)
    if key is None:
        raise InputError(field="picture", given=name, wanted="a picture that was not forgotten")
    file = record.file_shown if copy == "shown" else record.file_received
    where = f"{record.id}/{copy}"
    data = pictures.open_picture(book.folder, key, file, book=book.origin, subject=id, cls=record.cls, picture_id=where)
    return data, record.media_type


def margin(book: Book, kept: Kept) -> Margin:
    """What the law asks and the evidence supports, as far as the draft goes. Writes nothing."""
    slip, faults = unfinished.provisional(form.document_of(kept.fields))
    if slip is None:
        return Margin(None, faults, [], ["Nothing can be worked out before the slip has a moment, a clerk and a tray."])
    try:
        before = inquiring.sold_before(book, slip)
        return Margin(recording.check(book, slip, unfinished=True), faults, before, [])
    except LedgerError as fault:
        told = [*faults, fault] if isinstance(fault, InputError) else faults
        return Margin(None, told, [], [str(fault)])


def following(fields: Mapping[str, str], examined: Examined) -> Mapping[str, str]:
    """The fields with what follows from the offers taken and from the rule file, where nobody wrote otherwise.

    Payout: the sum of the offers taken, their currency, the seller's name. Declaration: the words that the rule fixes.
    """
    slip, after = examined.slip, fields
    taken = bool(slip.taken)
    amount = slip.total_taken.digits if taken and slip.total_taken else ""
    name = value_of(slip.seller.name) if slip.parties else None
    currency = fields.get("ui.currency", "") if taken else ""
    for path, value in (
        ("payout.amount", amount),
        ("payout.currency", currency),
        ("payout.payee", name.full if taken and name is not None else ""),
    ):
        after = editing.followed(after, path, value)
    words = examined.duties.declarations
    if words and taken:
        after = editing.followed(after, "declaration.text", "\n".join(dict.fromkeys(one.words for one in words)))
        after = editing.followed(after, "declaration.language", words[0].language)
    return after


def _listed(one: Any) -> Listed:
    begun, saved = (datetime.fromisoformat(text) for text in (one.begun_at, one.saved_at))
    return Listed(one.draft, one.tray, one.staff, one.version, begun, saved, one.saved_by, one.slip)


def _open(book: Book, connection: sa.Connection, id: str) -> Kept:
    row = tables.drafts.c
    found = connection.execute(sa.select(tables.drafts).where(row.book == book.origin, row.draft == id)).first()
    key = None if found is None else pages.find_key(connection, book, id, _CLASS)
    if found is None or key is None:
        raise InputError(field="draft", given="one that is not there", wanted="a slip that is still open")
    text = rows.open_text(key, tables.as_bytes(found.bytes), book=book.origin, subject=id, cls=_CLASS, id=id)
    told = json.loads(text)
    named = {name: PictureRecord(**record) for name, record in told["pictures"].items()}
    return Kept(**_listed(found).__dict__, fields=told["fields"], pictures=named)


def _is_taken(page: Page, tray: str) -> bool:
    row = tables.drafts.c
    same = sa.select(row.draft).where(row.book == page.book.origin, row.tray == tray)
    return page.connection.execute(same).first() is not None


def _put(page: Page, kept: Kept) -> Kept:
    now = replace(kept, version=kept.version + 1, saved_at=page.now, saved_by=page.book.by)
    row = tables.drafts.c
    change = sa.update(tables.drafts).where(row.book == page.book.origin, row.draft == kept.id)
    page.connection.execute(change.values(**_row(page, now)))
    return now


def _row(page: Page, kept: Kept) -> dict[str, Any]:
    book = page.book
    told = {"fields": dict(kept.fields), "pictures": {name: asdict(one) for name, one in kept.pictures.items()}}
    locked = rows.lock_text(
        page.key_for(kept.id, _CLASS),
        book=book.origin,
        subject=kept.id,
        cls=_CLASS,
        id=kept.id,
        text=json.dumps(told, ensure_ascii=False),
        nonce=book.chance(12),
    )
    return {
        "draft": kept.id,
        "tray": kept.tray,
        "staff": kept.staff,
        "version": kept.version,
        "begun_at": kept.begun_at.astimezone(UTC).isoformat(),
        "saved_at": kept.saved_at.astimezone(UTC).isoformat(),
        "saved_by": kept.saved_by,
        "slip": kept.slip,
        "bytes": locked,
    }
