"""One request, as a page sees it: who asks, what was posted, the book in that person's hands, and ways to answer.

Decides: what every page is given, and that writing happens on the one writer thread. Leaves who may ask to `guard`.

    def page(visit: Visit) -> Response:
        with visit.reading() as connection: ...
        return visit.page("today.html", slips=slips)
"""

from collections.abc import Callable, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING, Any, Final, TypeVar
from urllib.parse import quote

import sqlalchemy as sa
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from ledger.acts.devices import Device
from ledger.book import engine as engines
from ledger.book.pages import Book
from ledger.errors import InputError, LockedError, Said
from ledger.shop.facts import ShopFacts
from ledger.vault.keys_file import OpenKeys
from ledger.web import sessions
from ledger.web.counter import Counter
from ledger.web.paths import Route
from ledger.web.posted import Upload
from ledger.web.sessions import Role, Session

if TYPE_CHECKING:
    from ledger.acts import drafts

__all__ = [
    "ANYBODY",
    "DEVICES",
    "INSPECTORS",
    "NOBODY",
    "OWNERS",
    "STAFF",
    "PassPhraseAgain",
    "Role",
    "Route",
    "Session",
    "Upload",
    "Visit",
]

T = TypeVar("T")

NOBODY: Final = "nobody"
"""whoever has not signed in"""
STAFF: Final = frozenset({"clerk", "owner"})
OWNERS: Final = frozenset({"owner"})
INSPECTORS: Final = frozenset({"inspector"})
DEVICES: Final = frozenset({"device"})
ANYBODY: Final = STAFF | INSPECTORS | {NOBODY}
_SHOWN: Final = ("application/pdf", "image/jpeg", "image/png", "image/webp")
"""what a browser may show; everything else it is told to save"""


class PassPhraseAgain(LockedError):
    """A page needs the owner's keys, and nobody typed the pass-phrase in this request."""


@dataclass
class Visit:
    """One request."""

    counter: Counter
    request: Request
    route: Route | None
    session: Session | None
    book: Book
    now: datetime
    """aware, in the shop's zone, to the second"""
    shop: ShopFacts | None
    path: Mapping[str, str] = field(default_factory=dict)
    query: Mapping[str, str] = field(default_factory=dict)
    fields: Mapping[str, str] = field(default_factory=dict)
    many: Mapping[str, list[str]] = field(default_factory=dict)
    uploads: Mapping[str, list[Upload]] = field(default_factory=dict)
    body: bytes = field(default=b"", repr=False)
    typed: OpenKeys | None = field(default=None, repr=False)
    """the keys of the pass-phrase that was typed in this request"""
    device: Device | None = None
    """the device that speaks, on /api/ only"""

    def page(self, template: str, status: int = 200, **values: Any) -> Response:
        """A page inside base.html."""
        return HTMLResponse(self.html(template, **values), status)

    def html(self, template: str, **values: Any) -> str:
        """The same as text: for a piece of a page."""
        return self.counter.templates.get_template(template).render(
            visit=self,
            session=self.session,
            token=self.token,
            shop_name=self.shop.name if self.shop else "",
            places=self.places(),
            trays=self.trays(),
            **values,
        )

    def token(self) -> str:
        """What every posted form must bring back; empty while nobody is signed in."""
        return self.session.token if self.session else ""

    def places(self) -> list[dict[str, Any]]:
        """The navigation of this role."""
        if self.session is None:
            return []
        role = self.session.role
        here = self.route.path if self.route else ""
        return [
            {"url": one.path, "text": one.place, "here": one.path == here}
            for one in self.counter.routes
            if one.place and role in one.who
        ]

    def trays(self) -> "Sequence[drafts.Listed]":
        """The open drafts, for staff only."""
        if self.session is None or self.session.role not in STAFF:
            return ()
        from ledger.acts import drafts  # not before somebody has signed in: the first page waits for none of it

        return drafts.listed(self.book)

    def see(self, url: str) -> Response:
        """303 to one of our own pages. Raises: InputError for any other place."""
        if not self.counter.routing.leads("GET", url.partition("#")[0]):
            raise InputError(field="address", given=Said("another place"), wanted="a page of this counter")
        return RedirectResponse(url, 303)

    def sent(self, data: bytes, media_type: str, name: str) -> Response:
        """Bytes under a name: papers and pictures are shown, everything else is saved."""
        how = "inline" if media_type in _SHOWN else "attachment"
        plain = "".join(c if c.isascii() and (c.isalnum() or c in "-_.") else "-" for c in name)
        headers = {"Content-Disposition": f"{how}; filename=\"{plain}\"; filename*=UTF-8''{quote(name, safe='')}"}
        return Response(data, media_type=media_type, headers=headers)

    def pdf(self, data: bytes, name: str) -> Response:
        """A paper."""
        return self.sent(data, "application/pdf", name)

    def json(self, value: Any, status: int = 200) -> Response:
        """One JSON document."""
        return JSONResponse(value, status)

    def write(self, act: Callable[[], T]) -> T:
        """What an act answers, done on the one writer thread. Never inside `reading`."""
        return self.counter.writer.run(act)

    def reading(self) -> AbstractContextManager[sa.Connection]:
        """One reading transaction."""
        return engines.reading(self.book.engine)

    @property
    def owner_keys(self) -> OpenKeys:
        """The owner's keys, from the pass-phrase that was typed in this request.

        Raises: PassPhraseAgain, for which the guard asks; LockedError for a clerk.
        """
        if self.typed is None:
            raise PassPhraseAgain(what="This", why="type your pass-phrase again")
        if not self.typed.owner:
            raise LockedError(what="This", why="only an owner's pass-phrase opens it; ask an owner")
        return self.typed

    @property
    def wants_json(self) -> bool:
        """Whether a program asks, not a page."""
        asked = self.request.headers.get("accept", "")
        return of_devices(self.request.url.path) or asked.startswith("application/json")

    @property
    def address(self) -> str:
        """Where the request comes from."""
        return self.request.client.host if self.request.client else ""

    def begin_session(
        self,
        response: Response,
        *,
        staff: str,
        role: Role,
        about: str = "",
        until: datetime | None = None,
        keys: OpenKeys | None = None,
    ) -> Session:
        """A new session in this browser, in place of the one it had; its cookie goes with the response."""
        if self.session is not None:
            self.counter.sessions.end(self.session)
        secret, session = self.counter.sessions.begin(
            staff=staff, role=role, now=self.now, about=about, until=until, keys=keys
        )
        response.headers.append("Set-Cookie", sessions.cookie(self.counter.cookie, secret))
        return session

    def end_sessions(self, about: str) -> int:
        """Every session that sees only this is over; how many those were."""
        return self.counter.sessions.end_about(about)


def faults_of(wrong: InputError | None) -> list[dict[str, str]]:
    """What is wrong with a form, as a page tells it: the field's name and the sentence."""
    return [] if wrong is None else [{"path": wrong.field, "says": str(wrong)}]


def of_devices(path: str) -> bool:
    """Whether an address is one that devices ask: there nothing but JSON is understood, and no cookie opens it."""
    return path.startswith("/api/")


def nothing_known(counter: Counter, request: Request, route: Route | None) -> Visit:
    """A visit of nobody, for an answer before anything was read from the book."""
    moment = counter.book.clock().replace(microsecond=0)
    return Visit(counter, request, route, None, counter.book_for("nobody", None), moment, None)
