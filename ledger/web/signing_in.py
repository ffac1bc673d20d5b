"""Signing in and out, the pass-phrase again, the cover, and the static files.

Decides: that every sign-in makes a new session and ends the one before, what is said when it fails (always the same),
and that what was typed before goes on afterwards. Leaves which keys a pass-phrase gives to `counter`.
"""

import hashlib
from functools import cache
from typing import Final

from starlette.responses import RedirectResponse, Response

from ledger.errors import LockedError
from ledger.vault.keys_file import PAPER
from ledger.web import asking, sessions
from ledger.web.counter import HERE, WRONG
from ledger.web.visits import ANYBODY, STAFF, Role, Route, Visit

MOST_CARRIED: Final = 2 * 1024 * 1024
_TYPES: Final = {".css": "text/css", ".js": "text/javascript", ".svg": "image/svg+xml"}


def page(visit: Visit) -> Response:
    """The sign-in page; whoever is signed in sees it too, for another person at the same counter."""
    return asking.sign_in(visit, asking.Carried(), status=200)


def sign_in(visit: Visit) -> Response:
    """A pass-phrase, tried."""
    staff = " ".join(visit.fields.get("staff", "").split())
    carried = asking.back(visit)
    known = visit.counter.known()
    try:
        got = visit.counter.attempt(staff, visit.fields.get("pass_phrase", ""), visit.address, known)
    except LockedError:
        return asking.sign_in(visit, carried, says=WRONG)
    if isinstance(got, int):
        says = asking.words_for_waiting(got)
        return asking.sign_in(visit, carried, status=429, says=says, seconds=got)
    role: Role = "owner" if staff == PAPER or known.works[staff] == "owner" else "clerk"
    answer: Response = RedirectResponse(carried.target if carried.target and not carried.posted else "/", 303)
    session = visit.begin_session(answer, staff=staff, role=role, keys=visit.counter.admit(got))
    if not carried.posted:
        return answer
    visit.session = session
    onward = asking.go_on(visit, carried)
    onward.headers.append("Set-Cookie", answer.headers["Set-Cookie"])
    return onward


def sign_out(visit: Visit) -> Response:
    """The session is over; its cookie goes."""
    if visit.session is not None:
        visit.counter.sessions.end(visit.session)
    answer = RedirectResponse("/sign-in", 303)
    answer.headers.append("Set-Cookie", sessions.cookie(visit.counter.cookie, ""))
    return answer


def again(visit: Visit) -> Response:
    """After the pass-phrase was typed again: on to the page that asked for it."""
    target = asking.back(visit).target
    return RedirectResponse(target or "/", 303)


def covered(visit: Visit) -> Response:
    """A page on which nothing stands."""
    return visit.page("covered.html")


def static(visit: Visit) -> Response:
    """A file of ours, by its name alone."""
    known = _files()
    name = visit.path["file"]
    if name not in known:
        return asking.fault(visit, 404, "There is no such file.")
    data, media_type, tag = known[name]
    headers = {"Cache-Control": "no-cache", "ETag": tag}
    if visit.request.headers.get("if-none-match") == tag:
        return Response(status_code=304, headers=headers)
    return Response(data, media_type=media_type, headers=headers)


@cache
def _files() -> dict[str, tuple[bytes, str, str]]:
    found = {}
    for path in (HERE / "static").iterdir():
        if path.suffix in _TYPES:
            data = path.read_bytes()
            found[path.name] = (data, _TYPES[path.suffix], f'"{hashlib.sha256(data).hexdigest()[:32]}"')
    return found


ROUTES: tuple[Route, ...] = (
    Route(method="GET", path="/sign-in", page=page, who=ANYBODY, name="sign-in"),
    Route(
        method="POST",
        path="/sign-in",
        page=sign_in,
        who=ANYBODY,
        name="sign-in-try",
        most_bytes=MOST_CARRIED,
        most_fields=20_000,
    ),
    Route(method="POST", path="/sign-out", page=sign_out, who=ANYBODY, name="sign-out"),
    Route(method="POST", path="/again", page=again, who=STAFF, name="again", again=True),
    Route(method="GET", path="/covered", page=covered, who=ANYBODY, name="covered"),
    Route(method="GET", path="/static/{file}", page=static, who=ANYBODY, name="static", idle=False),
)
