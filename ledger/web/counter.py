"""The running counter: the book, its opened keys, who is signed in, templates, the one writer.

Decides: who a pass-phrase signs in and with which keys. A session holds its own person's keys without the owner
secret; the counter itself holds those of whoever signed in first, for devices. What needs the owner
secret has it for one request, from the pass-phrase typed in it. Leaves requests to `guard`, pages to the page modules.
"""

import hashlib
import threading
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Final, TypeVar, cast
from zoneinfo import ZoneInfo

import jinja2
import sqlalchemy as sa

from ledger import measures
from ledger.acts import devices
from ledger.acts.devices import Device
from ledger.book import engine as engines
from ledger.book.pages import Book
from ledger.errors import InputError, LedgerError, LockedError
from ledger.shop import adopted
from ledger.shop.facts import ShopFacts
from ledger.shop.settings import Settings
from ledger.vault import keys_file
from ledger.vault.keys_file import PAPER, OpenKeys
from ledger.web import throttle
from ledger.web.passes import Passes
from ledger.web.paths import Route, Routing
from ledger.web.sessions import Role, Session, Sessions
from ledger.web.throttle import Throttle
from ledger.web.writer import Writer

T = TypeVar("T")

HERE: Final = Path(__file__).resolve().parent
WRONG: Final = "This name and this pass-phrase open nothing together; type both again, or ask an owner."


def templates() -> jinja2.Environment:
    """Pages: everything is escaped, and a name that nobody gave is a fault."""
    made = jinja2.Environment(
        loader=jinja2.FileSystemLoader(HERE / "templates"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        auto_reload=False,
    )
    made.filters["grams"] = lambda mg: f"{measures.grams(mg)} g"
    made.filters["money"] = str
    return made


STRANGER = "stranger"
"""under this name attempts are counted that name nobody who works here"""


@dataclass(frozen=True)
class Known:
    """What one request has to know of the shop: read in one go."""

    shop: ShopFacts | None
    now: datetime
    """aware, in the shop's zone, to the second"""
    works: Mapping[str, str]
    """role by staff id, of those who work here today"""


@dataclass
class Counter:
    """One shop, open."""

    book: Book
    settings: Settings
    routing: Routing
    hosts: frozenset[str]
    """Host headers that are answered, with their ports"""
    secure: bool = False
    """whether it speaks TLS"""
    cookie: str = "__Host-counter"
    keys: OpenKeys | None = field(default=None, repr=False)
    templates: jinja2.Environment = field(default_factory=templates)
    writer: Writer = field(default_factory=Writer)
    sessions: Sessions = field(init=False)
    throttle: Throttle = field(init=False)
    passes: Passes = field(default_factory=Passes, repr=False)
    """of inspectors"""
    _good: set[bytes] = field(default_factory=set, repr=False)
    """SHA-256 of each device's token that was good when it was shown last"""
    _trying: threading.Lock = field(default_factory=threading.Lock, repr=False)
    _current: dict[tuple[str, bytes], tuple[int, int]] = field(default_factory=dict, repr=False)

    def __post_init__(self) -> None:
        self.sessions = Sessions(
            self.book.chance,
            idle=timedelta(minutes=self.settings.counter.idle_minutes),
            longest=timedelta(hours=self.settings.counter.longest_hours),
        )
        self.throttle = Throttle(self.book)

    @property
    def routes(self) -> tuple[Route, ...]:
        """Every page and act."""
        return self.routing.routes

    @property
    def origins(self) -> frozenset[str]:
        """What a browser sends as Origin from our own pages."""
        scheme = "https" if self.secure else "http"
        return frozenset(f"{scheme}://{host}" for host in self.hosts)

    def known(self) -> Known:
        """The shop as it is now. Raises: StorageError."""
        moment = self.book.clock()
        with engines.reading(self.book.engine) as connection:
            shop = _shop(connection, self.book.origin, moment)
            now = moment.astimezone(shop.zoneinfo() if shop else ZoneInfo("UTC")).replace(microsecond=0)
            works = adopted.working(connection, self.book.origin, now.date().isoformat())
        return Known(shop, now, works)

    def role_of(self, session: Session, known: Known) -> Role | None:
        """The role of a session now; None when its person left, or her keys are no longer those of the keys file."""
        if session.role in ("inspector", "device"):
            return session.role
        if session.keys is None or not self.current(session.keys):
            return None
        if session.staff == PAPER:
            return "owner"
        role = known.works.get(session.staff)
        return cast(Role, role) if role in ("clerk", "owner") else None

    def current(self, keys: OpenKeys) -> bool:
        """Whether these keys still are what the keys file gives; the file is read when it has changed."""
        path = self.book.folder / "keys.json"
        try:
            seen = path.stat()
            stamp, name = (seen.st_mtime_ns, seen.st_ino), (keys.staff, keys.secrets.slot)
            if self._current.get(name) != stamp:
                keys_file.check_current(path, keys)
                self._current[name] = stamp
        except (LedgerError, OSError):
            return False
        return True

    def book_for(self, by: str, keys: OpenKeys | None) -> Book:
        """The book as this person has it: the same database, her name, her keys."""
        if keys is None:
            return replace(self.book, by=by, keys=None, _data_keys={})
        return replace(self.book, by=by, keys=keys)

    def _opened_by(self, staff: str, text: str, known: Known) -> OpenKeys:
        """All keys that a pass-phrase gives, the owner secret too: for one request only.

        text: the pass-phrase, or the paper key for staff "paper".
        Raises: LockedError, always the same, for a stranger, a wrong text and one who left; it takes as long for each.
        """
        path = self.book.folder / "keys.json"
        with suppress(LockedError, InputError):
            if staff == PAPER:
                return keys_file.open_with_paper(path, text)
            people = [name for name, _role in keys_file.people(path)]
            if staff in people and staff in known.works:
                return keys_file.open_file(path, text, staff=staff)
            keys_file.open_file(path, text, staff=people[0])  # as long as for a right name, and for nothing
        raise LockedError(what="The counter", why=WRONG)

    def attempt(self, staff: str, text: str, address: str, known: Known) -> OpenKeys | int:
        """The keys that a pass-phrase gives; or how many seconds one has to wait before it is even tried.

        Raises: LockedError when it opens nothing; it was counted then.
        """
        # What a stranger types for a name may be a pass-phrase in the wrong field: of it not even a digest is kept.
        counted = staff if staff in known.works or staff == PAPER else STRANGER
        return self.tried(counted, address, known.now, lambda: self._opened_by(staff, text, known))

    def tried(self, staff: str, address: str, now: datetime, opens: Callable[[], T]) -> T | int:
        """What one attempt of a person opens; or how many seconds one has to wait before it is even made.

        One at a time: a guess at a pass-phrase takes 64 MB, and two guesses at once must count as two.
        Raises: what `opens` raises when nothing opens; it was counted then.
        """
        with self._trying:
            left = self.throttle.seconds(throttle.person(staff, address), now)
            if left > 0:
                return left
            self.writer.run(lambda: self.throttle.failed(throttle.person(staff, address), now))
            found = opens()
            self.writer.run(lambda: self.throttle.succeeded(staff, address))
        return found

    def device(self, token: str, address: str, now: datetime) -> Device | int | None:
        """The device of a token, or None; or how many seconds one has to wait before another token is looked at.

        A token that was good since the start is no guess: it is looked at while others at its address wait, so that a
        device left running with an ended token does not shut out those beside it.
        """
        digest = hashlib.sha256(token.encode("utf-8", "surrogatepass")).digest()
        if digest not in self._good:
            left = self.throttle.seconds(throttle.device(address), now)
            if left > 0:
                return left
        found = devices.known(self.book, token, now)
        if found is None:
            self._good.discard(digest)
            self.writer.run(lambda: self.throttle.failed(throttle.device(address), now))
        else:
            self._good.add(digest)
        return found

    def admit(self, keys: OpenKeys) -> OpenKeys:
        """The keys that a session of this person holds; they become the counter's own where it has none that work."""
        mine = without_owner(keys)
        if self.keys is None or not self.current(self.keys) or (self.keys.role == "owner" and mine.role == "clerk"):
            self.keys = mine
        return mine

    def renew(self, keys: OpenKeys) -> None:
        """Take over what a change of the keys file left to whoever made it, for her sessions and the counter."""
        mine = without_owner(keys)
        self.keys = mine
        for session in self.sessions.standing(self.book.clock()):
            if session.staff == keys.staff:
                session.keys = mine

    def close(self) -> None:
        """Finish what is being written, and forget the keys."""
        self.writer.close()
        self.keys = None


def without_owner(keys: OpenKeys) -> OpenKeys:
    """The same keys without the owner secret."""
    return replace(keys, secrets=replace(keys.secrets, owner=None))


def _shop(connection: sa.Connection, book: str, moment: datetime) -> ShopFacts | None:
    try:
        return adopted.shop_on(connection, book, moment.date().isoformat())
    except InputError:
        return None
