"""Pages that ask for a pass-phrase, and the one page that tells a fault.

Decides: what of an interrupted form is carried through them: every field that was typed, in the page itself, so that
nothing is lost and nothing is kept on the server; never a file, a token or a pass-phrase. Only what our own pages
posted is carried: otherwise a strange page could have a form posted in the name of whoever signs in.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from starlette.responses import Response

from ledger.web.problems import problem
from ledger.web.visits import Visit

_PREFIX = "carried."
_NEVER = ("token", "again", "pass_phrase", "paper_key")


@dataclass(frozen=True)
class Carried:
    """Where somebody was going, and what she had typed."""

    target: str = ""
    posted: bool = False
    many: Mapping[str, list[str]] = field(default_factory=dict)
    files: bool = False
    """whether files were chosen, which have to be chosen again"""

    @property
    def hidden(self) -> list[tuple[str, str]]:
        """Names and values of the inputs that carry the fields."""
        return [(name, value) for name, values in self.many.items() for value in values]


def of(visit: Visit, *, ours: bool) -> Carried:
    """What this request was about. ours: whether one of our own pages sent it."""
    query = visit.request.url.query
    target = visit.request.url.path + (f"?{query}" if query else "")
    if visit.request.method in ("GET", "HEAD"):
        return Carried(target)
    if not ours:
        return Carried()
    many = {name: values for name, values in visit.many.items() if name not in _NEVER}
    return Carried(target, True, many, bool(visit.uploads))


def back(visit: Visit) -> Carried:
    """What a sign-in page carried; empty when it leads to no page of ours."""
    target, posted = visit.fields.get("next", ""), visit.fields.get("posted") == "yes"
    if not visit.counter.routing.leads("POST" if posted else "GET", target):
        return Carried()
    many = {name.removeprefix(_PREFIX): values for name, values in visit.many.items() if name.startswith(_PREFIX)}
    return Carried(target, posted, many, visit.fields.get("files") == "yes")


def sign_in(visit: Visit, carried: Carried, *, status: int = 401, says: str = "", seconds: int = 0) -> Response:
    """The sign-in page; while the vault is closed, the keys page."""
    if visit.wants_json:
        return refusal(status, says or "You are signed out; sign in again.", seconds=seconds)
    closed = visit.counter.keys is None
    answer = visit.page(
        "keys.html" if closed else "sign_in.html",
        status,
        carried=carried,
        says=says,
        staff=visit.fields.get("staff", ""),
    )
    return _waiting(answer, seconds)


def again(visit: Visit, carried: Carried, *, says: str = "", seconds: int = 0) -> Response:
    """The page that asks a signed-in person for the pass-phrase again."""
    status = 429 if seconds else 401
    if visit.wants_json:
        return refusal(status, says or "Type your pass-phrase again.", seconds=seconds)
    return _waiting(visit.page("again.html", status, carried=carried, says=says), seconds)


def go_on(visit: Visit, carried: Carried) -> Response:
    """The page that posts on what was carried."""
    return visit.page("go_on.html", carried=carried)


def fault(visit: Visit, status: int, says: str, *, name: str = "") -> Response:
    """One sentence on a page, or as a problem for a program."""
    if visit.wants_json:
        return problem(status, says, field=name)
    return visit.page("fault.html", status, says=says)


def refusal(status: int, says: str, *, seconds: int = 0) -> Response:
    """A program is told that it is not known, or has to wait so long."""
    return _waiting(problem(status, says), seconds)


def _waiting(answer: Response, seconds: int) -> Response:
    if seconds:
        answer.headers["Retry-After"] = str(seconds)
    elif answer.status_code == 401:
        answer.headers["WWW-Authenticate"] = "Form"  # RFC 9110, 15.5.2: a 401 names a way; this is none a browser knows
    return answer


def words_for_waiting(seconds: int) -> str:
    """One sentence."""
    return f"Too many attempts failed: wait {seconds} second{'s' if seconds > 1 else ''}, then type it again."
