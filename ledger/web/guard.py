"""The door: every request passes here before a page sees it, and every answer leaves here.

Decides: which hosts, methods, sizes and origins are answered, who may ask for what, which headers every answer has,
how faults are told and what a log line holds (method, the route's pattern, status, milliseconds: nothing that anybody
typed). Leaves what a page shows to the page.
Order: host, path, where the request was made, size; then in a thread: session and role, form, token, pass-phrase, page.
"""

import asyncio
import hmac
import logging
import time
import traceback
from collections.abc import Mapping
from typing import Final

import anyio
from anyio import to_thread
from starlette.requests import ClientDisconnect, Request
from starlette.responses import PlainTextResponse, Response
from starlette.types import ASGIApp, Receive, Scope, Send

from ledger.errors import LedgerError, LockedError
from ledger.web import asking, posted, problems, visits
from ledger.web.asking import Carried
from ledger.web.counter import HERE, WRONG, Counter, Known
from ledger.web.paths import Route
from ledger.web.posted import Refused
from ledger.web.sessions import Session
from ledger.web.visits import DEVICES, NOBODY, PassPhraseAgain, Visit

log = logging.getLogger("counterfoil.counter")

THREADS: Final = 8  # pages at one time; a page holds at most one database connection, of which there are fifteen
SECONDS: Final = 60
"""a body that takes longer is given up"""
MOST_QUERY: Final = 2_000
MOST_DRAINED: Final = 64 * 1024 * 1024
HOUSE: Final = HERE.parent.parent

HEADERS: Final[Mapping[str, str]] = {
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; media-src 'self' blob:; "
        "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",  # with no-referrer a browser says Origin: null even to ourselves
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(self), microphone=(), geolocation=(), usb=(), serial=(), hid=(), payment=()",
    "Cache-Control": "no-store",
}
"""Source: OWASP HTTP Headers Cheat Sheet; Content Security Policy Level 3."""
_OURS: Final = ("same-origin", "none")


class Guard:
    """The whole counter as an ASGI application."""

    def __init__(self, counter: Counter) -> None:
        self.counter = counter
        self._limiter: anyio.CapacityLimiter | None = None

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            if scope["type"] == "websocket":
                await send({"type": "websocket.close", "code": 1008})
            return
        began = time.perf_counter()
        request = Request(scope, receive)
        route: Route | None = None
        try:
            route, answer = await self._answer(request)
        except ClientDisconnect:
            return
        except Refused as refused:
            answer = _plainly(request, refused.status, refused.says)
        except Exception as fault:
            log.error("%s %s: %s at %s", request.method, "(door)", type(fault).__name__, place(fault))
            answer = _plainly(request, 500, "This is a fault of the program; the page could not be made.")
        await self._send(answer, request, receive, send)
        took = (time.perf_counter() - began) * 1000
        path = route.path if route else "(no page)"
        log.info("%s %s %d %.0f ms", _method(request), path, answer.status_code, took)

    async def _send(self, answer: Response, request: Request, receive: Receive, send: Send) -> None:
        for name, value in HEADERS.items():
            answer.headers.setdefault(name, value)
        if self.counter.secure and not _on_this_machine(request.headers.get("host", "")):
            answer.headers["Strict-Transport-Security"] = "max-age=86400"
        body: ASGIApp = answer
        await body(request.scope, receive, send)

    async def _answer(self, request: Request) -> tuple[Route | None, Response]:
        hosts = request.headers.getlist("host")
        if len(hosts) != 1:
            raise Refused(status=400, says="A request names one host.")
        if hosts[0].lower() not in self.counter.hosts:
            raise Refused(status=421, says="This counter does not answer under this name; open it as `serve` printed.")
        path, query = request.scope["path"], request.scope.get("query_string", b"")
        if not path.isprintable() or len(path) > MOST_QUERY or len(query) > MOST_QUERY:
            raise Refused(status=414 if path.isprintable() else 400, says="This address is none of this counter's.")
        route, values, allowed = self.counter.routing.find(request.method, path)
        if route is None:
            return None, await self._no_page(request, allowed)
        self._must_be_ours(request, route)
        body = await self._body(request, route)
        return route, await self._in_thread(request, route, values, body)

    async def _no_page(self, request: Request, allowed: tuple[str, ...]) -> Response:
        headers = {"Allow": ", ".join(allowed)} if allowed else {}
        if allowed and request.method == "OPTIONS":
            return Response(status_code=204, headers=headers)
        visit = visits.nothing_known(self.counter, request, None)
        status, says = (
            (405, "This page cannot be asked for in this way.") if allowed else (404, "There is no such page.")
        )
        answer = asking.fault(visit, status, says)
        answer.headers.update(headers)
        return answer

    def _must_be_ours(self, request: Request, route: Route) -> None:
        """Raises: Refused for a request that another site's page made.

        Source: Fetch Metadata Request Headers (W3C); the order of looks is that of Go's net/http
        CrossOriginProtection. A browser that sends neither header has the token left.
        """
        site = request.headers.get("sec-fetch-site")
        origin = request.headers.get("origin")
        foreign = site is not None and site not in _OURS
        if route.method != "GET":
            if foreign or (site is None and origin is not None and origin not in self.counter.origins):
                raise Refused(status=403, says="This form was not sent by a page of this counter.")
            if site == "none" and origin is not None and origin not in self.counter.origins:
                raise Refused(status=403, says="This form was not sent by a page of this counter.")
        elif foreign and request.headers.get("sec-fetch-mode") != "navigate":
            raise Refused(status=403, says="This page is not shown inside another site's page.")

    async def _body(self, request: Request, route: Route) -> bytes:
        """The whole body, counted while it comes. Raises: Refused with 400, 408, 411 or 413."""
        if route.method == "GET":
            return b""
        lengths = request.headers.getlist("content-length")
        if not lengths:
            if request.headers.get("transfer-encoding"):
                raise Refused(status=411, says="Say how long the content is: a request without its length is not read.")
            return b""
        if len(lengths) > 1 or not (lengths[0].isascii() and lengths[0].isdigit()) or len(lengths[0]) > 15:
            raise Refused(status=400, says="The length of the content cannot be read.")
        too_much = Refused(
            status=413,
            says=f"This is too large: {int(lengths[0]):,} bytes came, and at most {route.most_bytes:,} are taken here.",
        )
        length = int(lengths[0])
        if length > MOST_DRAINED:
            raise too_much
        body = bytearray()
        try:
            async with asyncio.timeout(SECONDS):
                async for chunk in request.stream():
                    if length <= route.most_bytes:
                        body += chunk
                    if len(body) > route.most_bytes:
                        raise too_much
        except TimeoutError as fault:
            raise Refused(status=408, says="The content took too long to arrive; send it again.") from fault
        if length > route.most_bytes:
            raise too_much  # read to its end before: a browser that is still sending would not see the answer
        return bytes(body)

    async def _in_thread(self, request: Request, route: Route, values: Mapping[str, str], body: bytes) -> Response:
        if self._limiter is None:
            self._limiter = anyio.CapacityLimiter(THREADS)
        return await to_thread.run_sync(self._visited, request, route, values, body, limiter=self._limiter)

    def _visited(self, request: Request, route: Route, values: Mapping[str, str], body: bytes) -> Response:
        visit = visits.nothing_known(self.counter, request, route)
        visit.path, visit.query = values, dict(request.query_params)
        try:
            return self._page(visit, route, body)
        except Refused as refused:
            return asking.fault(visit, refused.status, refused.says)
        except PassPhraseAgain:
            return asking.again(visit, asking.of(visit, ours=True))
        except LedgerError as fault:
            return self._told(visit, fault)
        except Exception as fault:
            log.error("%s %s: %s at %s", _method(request), route.path, type(fault).__name__, place(fault))
            says = "This is a fault of the program; nothing was written by this step. Tell whoever keeps the program."
            return asking.fault(visit, 500, says)

    def _told(self, visit: Visit, fault: LedgerError) -> Response:
        """A fault that no page caught."""
        if isinstance(fault, LockedError) and visit.book.keys is None and not visit.wants_json:
            return asking.sign_in(
                visit, asking.of(visit, ours=_surely_ours(visit.request)), status=423, says=str(fault)
            )
        status = problems.status_of(fault)
        if status >= 500:
            log.error("%s %s: %s at %s", visit.request.method, _pattern(visit), type(fault).__name__, place(fault))
        return asking.fault(visit, status, str(fault), name=getattr(fault, "field", ""))

    def _page(self, visit: Visit, route: Route, body: bytes) -> Response:
        known = self.counter.known()
        visit.now, visit.shop = known.now, known.shop
        if visits.of_devices(route.path):
            left = self._device(visit, known)
            if left:
                return asking.refusal(429, asking.words_for_waiting(left), seconds=left)
        else:
            self._session(visit, known)
        role = visit.session.role if visit.session else NOBODY
        welcome = role in route.who
        content = visit.request.headers.get("content-type", "") if route.method != "GET" else ""
        form = posted.read(body, content, most_fields=route.most_fields, most_files=route.most_files)
        visit.many, visit.uploads, visit.body = form.many, form.uploads, form.body
        if not welcome and visit.session is None:
            return self._nobody(visit, route)
        if not welcome:
            says = f"This page is not for {'an' if role[0] in 'aio' else 'a'} {role}; ask {_who(route)}."
            return asking.fault(visit, 403, says)
        if route.method != "GET" and visit.session is not None and not route.who & {NOBODY, *DEVICES}:
            self._token(visit, visit.session)
        visit.many = {name: many for name, many in visit.many.items() if name != "token"}
        asked = self._again(visit, route, known)
        return asked if asked is not None else route.page(visit)

    def _session(self, visit: Visit, known: Known) -> None:
        secret = visit.request.cookies.get(self.counter.cookie, "")
        if not secret:
            return
        seen = visit.route is None or visit.route.idle
        session = self.counter.sessions.find(secret, known.now, seen=seen)
        if session is None:
            return
        role = self.counter.role_of(session, known)
        if role is None:
            self.counter.sessions.end(session)
            return
        session.role = role
        visit.session = session
        visit.book = self.counter.book_for(session.staff, session.keys or self.counter.keys)

    def _device(self, visit: Visit, known: Known) -> int:
        """Whose token is shown; how many seconds it has to wait before it is looked at."""
        scheme, _, token = visit.request.headers.get("authorization", "").partition(" ")
        if scheme.lower() != "bearer" or not token.strip():
            return 0
        device = self.counter.device(token.strip(), visit.address, known.now)
        if isinstance(device, int):
            return device
        if device is None:
            return 0
        visit.device = device
        visit.session = Session(
            id=device.device,
            staff=device.staff,
            role="device",
            about=device.device,
            token="",
            begun_at=known.now,
            seen_at=known.now,
            until=known.now,
            idle=None,
        )
        visit.book = self.counter.book_for(device.staff, self.counter.keys)
        return 0

    def _nobody(self, visit: Visit, route: Route) -> Response:
        if route.who <= DEVICES:
            answer = asking.refusal(401, "Show the token of a device: Authorization: Bearer TOKEN.")
            answer.headers["WWW-Authenticate"] = "Bearer"
            return answer
        visit.fields = {}
        return asking.sign_in(visit, asking.of(visit, ours=_surely_ours(visit.request)))

    def _token(self, visit: Visit, session: Session) -> None:
        given = visit.request.headers.get("x-token") or (visit.many.get("token") or [""])[-1]
        if not hmac.compare_digest(given.encode("utf-8", "surrogatepass"), session.token.encode()):
            says = "This form does not belong to your sign-in any more; go back, load the page again and send it again."
            raise Refused(status=403, says=says)

    def _again(self, visit: Visit, route: Route, known: Known) -> Response | None:
        """Take a pass-phrase out of the form and try it; the page that asks for it where one is owed."""
        typed = (visit.many.get("again") or [""])[-1]
        visit.many = {name: many for name, many in visit.many.items() if name != "again"}
        visit.fields = {name: many[-1] for name, many in visit.many.items()}
        session = visit.session
        if session is None or session.role not in visits.STAFF:
            return None
        carried: Carried = asking.of(visit, ours=True)
        if route.path == "/again":
            carried = asking.back(visit)
        if typed:
            try:
                got = self.counter.attempt(session.staff, typed, visit.address, known)
            except LockedError:
                return asking.again(visit, carried, says=WRONG)
            if isinstance(got, int):
                return asking.again(visit, carried, says=asking.words_for_waiting(got), seconds=got)
            visit.typed, session.again_at = got, known.now
        elif route.again and not session.asked_again(known.now):
            return asking.again(visit, carried)
        return None


def _method(request: Request) -> str:
    return request.method if request.method in ("GET", "HEAD", "POST", "OPTIONS", "PUT", "DELETE", "PATCH") else "?"


def _plainly(request: Request, status: int, says: str) -> Response:
    """A sentence about a request that was not even looked at: no page of ours is drawn for it."""
    path = request.scope["path"]
    return problems.problem(status, says) if visits.of_devices(path) else PlainTextResponse(says, status)


def _pattern(visit: Visit) -> str:
    return visit.route.path if visit.route else "(no page)"


def _who(route: Route) -> str:
    return "an owner" if route.who == visits.OWNERS else "somebody of the shop"


def _surely_ours(request: Request) -> bool:
    """Whether the browser itself says that one of our own pages sent this, and which."""
    return request.headers.get("sec-fetch-site") == "same-origin" or request.headers.get("origin") is not None


def _on_this_machine(host: str) -> bool:
    return host.rpartition(":")[0] in ("localhost", "127.0.0.1", "[::1]")


def place(fault: BaseException) -> str:
    """The last place of ours that a fault went through: file and line, nothing else."""
    found = "an unknown place"
    for frame in traceback.extract_tb(fault.__traceback__):
        if frame.filename.startswith(str(HOUSE)):
            found = f"{frame.filename.removeprefix(str(HOUSE) + '/')}:{frame.lineno}"
    return found
