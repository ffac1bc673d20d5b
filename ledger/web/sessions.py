"""Who is signed in: sessions in memory, known by the SHA-256 of a secret that only the browser has.

Decides: how long a session lasts (idle and absolute limits), that its id is new at every sign-in, the cookie. Keys of
a session die with the process, and so do sessions. Leaves to `counter` whether that person still works here.
"""

import base64
import hashlib
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Literal

from ledger.vault.keys_file import OpenKeys

Role = Literal["clerk", "owner", "inspector", "device"]

MOST = 500
"""sessions at one time; the one that was seen longest ago makes room"""
AGAIN = timedelta(minutes=5)
"""so long a pass-phrase that was typed again counts"""


@dataclass(eq=False)
class Session:
    """One browser, signed in."""

    id: str
    """public and random: may stand in records"""
    staff: str
    role: Role
    about: str
    """what it may see, where that is less than its role: an inspection"""
    token: str = field(repr=False)
    """every form that is posted must bring it back"""
    begun_at: datetime
    seen_at: datetime
    until: datetime
    idle: timedelta | None
    """None for a device, which has no session that lasts"""
    keys: OpenKeys | None = field(repr=False, default=None)
    """of this person, without the owner secret"""
    again_at: datetime | None = None

    def alive(self, now: datetime) -> bool:
        """Whether neither limit is over."""
        return now < self.until and (self.idle is None or now - self.seen_at < self.idle)

    def asked_again(self, now: datetime) -> bool:
        """Whether the pass-phrase was typed again a short while ago."""
        return self.again_at is not None and now - self.again_at < AGAIN


class Sessions:
    """All sessions of one counter."""

    def __init__(self, chance: Callable[[int], bytes], *, idle: timedelta, longest: timedelta) -> None:
        self._chance = chance
        self.idle = idle
        self.longest = longest
        self._by_digest: dict[str, Session] = {}
        self._lock = threading.Lock()

    def begin(
        self,
        *,
        staff: str,
        role: Role,
        now: datetime,
        keys: OpenKeys | None = None,
        about: str = "",
        until: datetime | None = None,
    ) -> tuple[str, Session]:
        """A new session, and the secret for its browser. until: an end before the usual one."""
        secret, public, token = (self._drawn(32) for _ in range(3))
        end = now + self.longest
        session = Session(
            id=public[:16],
            staff=staff,
            role=role,
            about=about,
            token=token,
            begun_at=now,
            seen_at=now,
            until=end if until is None else min(until, end),
            idle=self.idle,
            keys=keys,
        )
        with self._lock:
            self._by_digest = {digest: one for digest, one in self._by_digest.items() if one.alive(now)}
            if len(self._by_digest) >= MOST:
                del self._by_digest[min(self._by_digest, key=lambda digest: self._by_digest[digest].seen_at)]
            self._by_digest[_digest(secret)] = session
        return secret, session

    def find(self, secret: str, now: datetime, *, seen: bool = True) -> Session | None:
        """The session of a secret while it lasts. seen: whether this counts as a sign of life."""
        digest = _digest(secret)
        with self._lock:
            session = self._by_digest.get(digest)
            if session is None:
                return None
            if not session.alive(now):
                del self._by_digest[digest]
                return None
            if seen:
                session.seen_at = now
            return session

    def end(self, session: Session) -> None:
        """It is over, at once."""
        self._end(lambda one: one is session)

    def end_of(self, staff: str) -> int:
        """Every session of a person is over; how many those were."""
        return self._end(lambda one: one.staff == staff)

    def end_about(self, about: str) -> int:
        """Every session that sees only this is over; how many those were."""
        return self._end(lambda one: one.about == about)

    def standing(self, now: datetime) -> list[Session]:
        """Those that last."""
        with self._lock:
            return [one for one in self._by_digest.values() if one.alive(now)]

    def _end(self, which: Callable[[Session], bool]) -> int:
        with self._lock:
            gone = [digest for digest, one in self._by_digest.items() if which(one)]
            for digest in gone:
                del self._by_digest[digest]
        return len(gone)

    def _drawn(self, count: int) -> str:
        return base64.urlsafe_b64encode(self._chance(count)).rstrip(b"=").decode()


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode("utf-8", "surrogatepass")).hexdigest()


def cookie(name: str, secret: str) -> str:
    """The value of a Set-Cookie header; an empty secret takes the cookie away.

    Source: RFC 6265bis, 4.1.3.2: a name that begins with __Host- is taken only with Secure, Path=/ and no Domain.
    """
    gone = "" if secret else "; Max-Age=0"
    return f"{name}={secret}; Path=/; Secure; HttpOnly; SameSite=Strict{gone}"
