"""Devices that may speak to the counter: scales, label printers, other programs; made and ended by an owner.

A device shows a token that it alone keeps: the book's database holds the SHA-256 of it and nothing that could be used
instead. Every token ends on a day, may do only what its owner ticked, and what is written with it stands under the
name of the owner who made it. Labels name a thing, never a person; nothing here needs the vault.

    device, token = make(book, label="Scale at the window", may=["scale"], until=day, now=now)   # shown once
    known(book, token, now)      # the device; None for a token that is not, no longer or not yet one
"""

import base64
import hashlib
import hmac
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

import sqlalchemy as sa

from ledger.book import engine as engines
from ledger.book import tables
from ledger.book.pages import Book
from ledger.errors import InputError, Said
from ledger.moments import local_text, parse_local
from ledger.shop import adopted

MAY: Mapping[str, str] = {
    "label-printer": "sees recorded items without persons, and draws their labels",
    "slips": "checks, presents and records whole slips, and sees what is due",
}
"""what a device can be allowed, each in words"""
LONGEST = timedelta(days=400)
"""a token's longest life"""
MOST_LABEL = 60
_PREFIX = "counter-device-"
_BYTES = 32


@dataclass(frozen=True)
class Device:
    """One device and what it may do."""

    device: str
    """16 hex digits, drawn at random"""
    label: str
    may: frozenset[str]
    made_at: datetime
    made_by: str
    until: date
    """its last day"""
    ended_at: datetime | None = None
    ended_by: str | None = None
    used_on: date | None = None
    """the last day on which its token was shown"""

    @property
    def staff(self) -> str:
        """Under whose name its acts stand: the owner's who made it."""
        return self.made_by

    def state_on(self, day: date) -> str:
        """in use | ended | run out"""
        if self.ended_at is not None:
            return "ended"
        return "run out" if day > self.until else "in use"


def make(book: Book, *, label: str, may: Iterable[str], until: date, now: datetime) -> tuple[Device, str]:
    """A new device, and its token, which is told once and kept nowhere.

    now: in the shop's zone. Raises: InputError for an empty label, nothing that it may do, or a day that is over or
    more than 400 days ahead.
    """
    wanted = frozenset(may)
    tidy = " ".join(label.split())
    if not 0 < len(tidy) <= MOST_LABEL or not tidy.isprintable():
        raise InputError(field="label", given=Said("no label"), wanted=f"1 to {MOST_LABEL} letters that name the thing")
    if not wanted or not wanted <= MAY.keys():
        raise InputError(field="may", given=Said("nothing"), wanted="at least one of " + ", ".join(MAY))
    if not now.date() <= until <= now.date() + LONGEST:
        last = now.date() + LONGEST
        raise InputError(field="until", given=until.isoformat(), wanted=f"a day from {now.date()} to {last}")
    device = Device(book.chance(8).hex(), tidy, wanted, now, book.by, until)
    token = _PREFIX + base64.urlsafe_b64encode(book.chance(_BYTES)).rstrip(b"=").decode()
    row = {
        "book": book.origin,
        "device": device.device,
        "digest": _digest(token),
        "label": device.label,
        "may": " ".join(sorted(wanted)),
        "made_at": local_text(now),
        "made_by": device.made_by,
        "until": until.isoformat(),
    }
    with engines.writing(book.engine, book.origin) as connection:
        connection.execute(sa.insert(tables.devices).values(row))
    # From here on whoever shows the token is this device.
    return device, token


def listed(book: Book) -> list[Device]:
    """Every device that there ever was, the newest first."""
    row = tables.devices.c
    with engines.reading(book.engine) as connection:
        wanted = sa.select(tables.devices).where(row.book == book.origin).order_by(row.made_at.desc(), row.device)
        return [_device(one) for one in connection.execute(wanted)]


def end(book: Book, device: str, *, now: datetime) -> Device:
    """The device, whose token opens nothing from here on. Raises: InputError when there is none, or it has ended."""
    row = tables.devices.c
    here = sa.and_(row.book == book.origin, row.device == device)
    with engines.writing(book.engine, book.origin) as connection:
        ended = connection.execute(
            sa.update(tables.devices)
            .where(here, row.ended_at.is_(None))
            .values(ended_at=local_text(now), ended_by=book.by)
        )
        if ended.rowcount != 1:
            raise InputError(field="device", given=Said("another id"), wanted="the id of a device that has not ended")
        return _device(connection.execute(sa.select(tables.devices).where(here)).one())


def known(book: Book, token: str, now: datetime) -> Device | None:
    """The device whose token this is and that is in use; None for every other token, whatever is wrong with it.

    now: in the shop's zone. The first use on a day is noted. A device whose maker left the shop is no device.
    """
    digest = _digest(token)
    row = tables.devices.c
    with engines.reading(book.engine) as connection:
        wanted = sa.select(tables.devices).where(row.book == book.origin, row.digest == digest)
        found = connection.execute(wanted).first()
        works = adopted.working(connection, book.origin, now.date().isoformat())
    if found is None or not hmac.compare_digest(found.digest, digest):
        return None
    device = _device(found)
    if device.state_on(now.date()) != "in use" or device.made_by not in works:
        return None
    if device.used_on != now.date():
        _note_use(book, device.device, now.date())
    return device


def _note_use(book: Book, device: str, day: date) -> None:
    row = tables.devices.c
    with engines.writing(book.engine, book.origin) as connection:
        connection.execute(
            sa.update(tables.devices)
            .where(row.book == book.origin, row.device == device)
            .values(used_on=day.isoformat())
        )


def _digest(token: str) -> str:
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).hexdigest()


def _device(row: sa.Row[Any]) -> Device:
    return Device(
        device=row.device,
        label=row.label,
        may=frozenset(row.may.split()),
        made_at=parse_local(row.made_at, "made_at"),
        made_by=row.made_by,
        until=date.fromisoformat(row.until),
        ended_at=None if row.ended_at is None else parse_local(row.ended_at, "ended_at"),
        ended_by=row.ended_by,
        used_on=None if row.used_on is None else date.fromisoformat(row.used_on),
    )
