"""Who works here, what each role may do, and whose pass-phrase opens the book.

Decides: that the table of roles is made from the routes themselves, so that it cannot say otherwise. Leaves the order
of keys file and book to `acts.staffing`. A new paper key is on the answer to the one request that made it, never again.
"""

from collections.abc import Iterable
from typing import TYPE_CHECKING

from ledger.acts import staffing
from ledger.errors import InputError, Said
from ledger.moments import parse_day
from ledger.web.visits import OWNERS, STAFF, Route, Visit, faults_of

if TYPE_CHECKING:
    from starlette.responses import Response

ROLES = ("nobody", "clerk", "owner", "inspector", "device")


def page(visit: Visit) -> "Response":
    """Everyone who works or worked here."""
    return _shown(visit)


def _shown(visit: Visit, *, paper_key: str | None = None, wrong: InputError | None = None) -> "Response":
    session = visit.session
    return visit.page(
        "people.html",
        status=422 if wrong else 200,
        people=staffing.people(visit.book),
        roles=ROLES,
        table=may(visit.counter.routes),
        paper_key=paper_key,
        owner=session is not None and session.role == "owner",
        faults=faults_of(wrong),
        values=dict(visit.fields),
    )


def may(routes: Iterable[Route]) -> list[tuple[str, str, str, str]]:
    """The table of roles: what is done (method and path), by what name, by which roles, and what is asked again."""
    return [
        (
            f"{one.method} {one.path}",
            one.name,
            ", ".join(role for role in ROLES if role in one.who),
            "pass-phrase again" if one.again else "",
        )
        for one in routes
    ]


def act(visit: Visit) -> "Response":
    """Somebody comes, leaves, or gets a new pass-phrase. The owner types her own again with it."""
    said, book = visit.fields, visit.book
    staff = said.get("staff", "").strip()
    paper_key = None
    try:
        match said.get("do", ""):
            case "add":
                role, name, phrase = said.get("role", "clerk"), said.get("name", "").strip(), _phrase(visit)
                owner = visit.owner_keys
                visit.write(
                    lambda: staffing.join(book, owner, staff, role=role, name=name or staff, pass_phrase=phrase)
                )
            case "left":
                until, owner = said.get("until", ""), visit.owner_keys
                day = parse_day(until, "until") if until else visit.now.date()
                gone = visit.write(lambda: staffing.leave(book, owner, staff, day))
                paper_key = gone.paper_key
                if gone.keys is not None:
                    visit.counter.renew(gone.keys)
                visit.counter.sessions.end_of(staff)
            case "reset":
                phrase, owner = _phrase(visit), visit.owner_keys
                visit.counter.renew(visit.write(lambda: staffing.reset(book, owner, staff, phrase)))
                visit.counter.sessions.end_of(staff)
            case other:
                raise InputError(field="do", given=other, wanted="add, left or reset")
    except InputError as wrong:
        return _shown(visit, wrong=wrong)
    return _shown(visit, paper_key=paper_key) if paper_key else visit.see("/staff")


def _phrase(visit: Visit) -> str:
    """The new pass-phrase, typed twice. Raises: InputError."""
    phrase, again = visit.fields.get("phrase", ""), visit.fields.get("phrase_twice", "")
    if phrase != again:
        raise InputError(field="phrase_twice", given=Said("another one"), wanted="the same pass-phrase twice")
    return phrase


ROUTES: tuple[Route, ...] = (
    Route(method="GET", path="/staff", page=page, who=STAFF, name="staff", place="Staff"),
    Route(method="POST", path="/staff", page=act, who=OWNERS, name="staff-act", again=True),
)
