"""How long one waits after what opened nothing: pass-phrases per account and address, tokens of devices per address.

Decides: growing waits that end, so that nobody is shut out for ever; that a restart forgives nobody; that a device left
running with an ended token keeps no person from signing in at the same address. An account or an address stands in the
table as its SHA-256 only. Leaves to `counter` what an attempt is.

>>> [wait(failures, ACCOUNT) for failures in (0, 3, 4, 5, 8, 40)]
[0, 0, 2, 4, 32, 60]
>>> wait(10, ADDRESS), wait(11, ADDRESS), wait(40, ADDRESS)
(0, 2, 300)
"""

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Final

import sqlalchemy as sa

from ledger.book import engine as engines
from ledger.book import tables
from ledger.book.pages import Book

_ROW = tables.attempts.c
FORGOTTEN: Final = timedelta(hours=1)
"""so long after the last failure an account or address begins anew"""


@dataclass(frozen=True)
class Kind:
    """What is counted, and how patiently."""

    name: str
    free: int
    """failures without a wait"""
    longest: int
    """seconds; the wait never grows beyond"""


ACCOUNT: Final = Kind("account", 3, 60)
ADDRESS: Final = Kind("address", 10, 300)  # several people sit at one address, so it is more patient for longer
DEVICES: Final = Kind("devices", 10, 60)  # of one address

Counted = tuple[tuple[Kind, str], ...]
"""what one attempt is counted for: kinds with their names"""


def person(staff: str, address: str) -> Counted:
    """What a pass-phrase is counted for."""
    return ((ACCOUNT, staff), (ADDRESS, address))


def device(address: str) -> Counted:
    """What a device's token is counted for."""
    return ((DEVICES, address),)


def wait(failures: int, kind: Kind) -> int:
    """Seconds that must pass after the last of so many failures."""
    over = failures - kind.free
    return 0 if over <= 0 else min(2 ** min(over, 20), kind.longest)


def who(book: Book, kind: Kind, name: str) -> str:
    """The name under which an account or an address is counted."""
    return hashlib.sha256(f"{book.origin}\0{kind.name}\0{name}".encode("utf-8", "surrogatepass")).hexdigest()


class Throttle:
    """The counts of one book."""

    def __init__(self, book: Book) -> None:
        self._book = book

    def seconds(self, counted: Counted, now: datetime) -> int:
        """How long this attempt has to wait from now; 0: it may be made."""
        left = 0
        with engines.reading(self._book.engine) as connection:
            for kind, name in counted:
                failures, last_at = self._counted(connection, who(self._book, kind, name), now)
                if last_at is not None:
                    until = last_at + timedelta(seconds=wait(failures, kind))
                    left = max(left, -int((now - until).total_seconds() // 1))
        return left

    def failed(self, counted: Counted, now: datetime) -> None:
        """Count one more; called before a pass-phrase is tried, so that two at once are two."""
        with engines.writing(self._book.engine, self._book.origin) as connection:
            old = _text(now - FORGOTTEN)
            connection.execute(sa.delete(tables.attempts).where(_ROW.book == self._book.origin, _ROW.last_at < old))
            for name in (who(self._book, kind, name) for kind, name in counted):
                failures, _ = self._counted(connection, name, now)
                self._forget(connection, [name])
                row = {"book": self._book.origin, "who": name, "failures": failures + 1, "last_at": _text(now)}
                connection.execute(sa.insert(tables.attempts).values(row))

    def succeeded(self, staff: str, address: str) -> None:
        """The account begins anew, and its own failure is taken back from the address."""
        at = who(self._book, ADDRESS, address)
        with engines.writing(self._book.engine, self._book.origin) as connection:
            self._forget(connection, [who(self._book, ACCOUNT, staff)])
            here = sa.and_(_ROW.book == self._book.origin, _ROW.who == at)
            connection.execute(sa.update(tables.attempts).where(here).values(failures=_ROW.failures - 1))

    def _counted(self, connection: sa.Connection, name: str, now: datetime) -> tuple[int, datetime | None]:
        row = connection.execute(
            sa.select(_ROW.failures, _ROW.last_at).where(_ROW.book == self._book.origin, _ROW.who == name)
        ).first()
        if row is None or datetime.fromisoformat(row.last_at) < now - FORGOTTEN:
            return 0, None
        return int(row.failures), datetime.fromisoformat(row.last_at)

    def _forget(self, connection: sa.Connection, names: Iterable[str]) -> None:
        connection.execute(sa.delete(tables.attempts).where(_ROW.book == self._book.origin, _ROW.who.in_(tuple(names))))


def _text(moment: datetime) -> str:
    return moment.astimezone(UTC).isoformat(timespec="seconds")
