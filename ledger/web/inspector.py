"""An inspector's sign-in: opened by an owner for one inspection, read-only, ended by time, the owner or the entry.

Decides: which page shows which part of the scope, and that each look is recorded before anything is shown. Leaves what
an inspection reaches to `acts.reaching`, its entry to `acts.inspecting`.
"""

import functools
import re
from collections.abc import Callable
from datetime import timedelta
from typing import TYPE_CHECKING, Any, Final

from ledger.acts import inspecting, reaching, shelving
from ledger.acts.opening import settings_of
from ledger.book import reading
from ledger.errors import InputError, LockedError, Said
from ledger.moments import local_text
from ledger.web import asking
from ledger.web.passes import Pass
from ledger.web.posted import number
from ledger.web.visits import ANYBODY, INSPECTORS, OWNERS, Route, Visit, faults_of

if TYPE_CHECKING:
    from starlette.responses import Response

LONGEST_MINUTES: Final = 480
_ENTRY: Final = "the entry of an inspection"
_OFFICER: Final = ("name", "number", "agency")
_OVER: Final = "This inspection's sign-in is over; the owner of the shop can open another."
_WRONG: Final = "This code opens nothing: it may have been used, or its time is over."


def owners(visit: Visit) -> "Response":
    """Passes that stand, a new one, and the inspections of the past."""
    return _owners(visit)


def _owners(visit: Visit, *, code: str = "", wrong: InputError | None = None) -> "Response":
    with visit.reading() as connection:
        known = inspecting.every(connection, visit.book)
    return visit.page(
        "inspection.html",
        status=422 if wrong else 200,
        passes=visit.counter.passes.standing(visit.now),
        past=[(one.seq, f"{one.at:%Y-%m-%d %H:%M}", one.said["officer"]["agency"], one.open) for one in known],
        scopes=reaching.SCOPES,
        chosen=visit.many.get("scope", ["register", "stock", "records", "reports", "rules"]),
        code=code,
        faults=faults_of(wrong),
        values={"minutes": "120", **visit.fields},
    )


def begin(visit: Visit) -> "Response":
    """A pass; its code is on this one answer."""
    try:
        officer = {name: _text(visit, name) for name in _OFFICER}
        power, scope = _text(visit, "power"), frozenset(visit.many.get("scope", []))
        minutes = visit.fields.get("minutes", "")
        if not scope or not scope <= reaching.SCOPES.keys():
            raise InputError(field="scope", given=Said("nothing"), wanted="at least one thing that may be seen")
        if not re.fullmatch("[0-9]{1,3}", minutes) or not 5 <= int(minutes) <= LONGEST_MINUTES:
            given, wanted = Said("something else"), f"5 to {LONGEST_MINUTES} minutes"
            raise InputError(field="minutes", given=given, wanted=wanted)
    except InputError as wrong:
        return _owners(visit, wrong=wrong)
    until = visit.now + timedelta(minutes=int(minutes))
    by = visit.book.by
    _, code = visit.counter.passes.open(officer, power, scope, until=until, by=by, chance=visit.book.chance)
    return _owners(visit, code=code)


def end(visit: Visit) -> "Response":
    """A pass ended by the owner, with every sign-in on it."""
    _end(visit, visit.fields.get("pass", ""))
    return visit.see("/inspection")


def _end(visit: Visit, name: str) -> None:
    visit.counter.passes.end(name)
    visit.end_sessions(f"inspection/{name}")


def paper(visit: Visit) -> "Response":
    """The paper of an inspection that is in the book."""
    seq, book = number(visit.path["entry"], "entry", _ENTRY), visit.book
    with visit.reading() as connection:
        if seq not in [one.seq for one in inspecting.every(connection, book)]:
            raise InputError(field="entry", given=seq, wanted=_ENTRY)
        entry = reading.entry_at(connection, book.origin, seq)
    return visit.pdf(inspecting.paper(book, entry, settings_of(book.folder).sheet), f"inspection-{seq}.pdf")


def door(visit: Visit) -> "Response":
    """Where an inspector types his code."""
    return visit.page("inspector_code.html", says="")


def enter(visit: Visit) -> "Response":
    """A code, tried; wrong ones are counted as wrong pass-phrases are."""

    def opens() -> Pass:
        found = visit.counter.passes.redeem(visit.fields.get("code", ""), visit.now)
        if found is None:
            raise LockedError(what="This inspection", why=_WRONG)
        return found

    try:
        found = visit.counter.tried("inspector", visit.address, visit.now, opens)
    except LockedError:
        return visit.page("inspector_code.html", 422, says=_WRONG)
    if isinstance(found, int):
        answer = visit.page("inspector_code.html", 429, says=asking.words_for_waiting(found))
        answer.headers["Retry-After"] = str(found)
        return answer
    answer = visit.see("/inspector/desk")
    visit.begin_session(answer, staff="inspector", role="inspector", about=f"inspection/{found.id}", until=found.until)
    return answer


def _with_pass(page: Callable[[Visit, Pass], "Response"]) -> Callable[[Visit], "Response"]:
    """A page of an inspector whose pass stands."""

    @functools.wraps(page)
    def shown(visit: Visit) -> "Response":
        name = visit.session.about.removeprefix("inspection/") if visit.session else ""
        found = visit.counter.passes.find(name, visit.now)
        return visit.page("fault.html", 410, says=_OVER) if found is None else page(visit, found)

    return shown


def _desk(visit: Visit, mine: Pass, status: int = 200, **more: Any) -> "Response":
    told = {"title": "", "heads": (), "rows": (), "shelf": None, "sample": None, "faults": [], **more}
    return visit.page(
        "inspector.html",
        status,
        mine=mine,
        until=f"{mine.until:%H:%M}",
        scopes=reaching.SCOPES,
        lists=[one for one in reaching.LISTS if one in mine.scope],
        values=dict(visit.fields),
        **told,
    )


def _beyond(visit: Visit, mine: Pass, what: str) -> "Response | None":
    if what in mine.scope:
        return None
    says = "This inspection does not reach that: " + reaching.SCOPES.get(what, "no such thing") + "."
    return visit.page("fault.html", 403, says=says)


def _look(visit: Visit, mine: Pass, what: str) -> None:
    """Record a look before anything is shown."""
    visit.write(lambda: reaching.looked(visit.book, what, officer=mine.officer, power=mine.power))


@_with_pass
def desk(visit: Visit, mine: Pass) -> "Response":
    """What may be seen, and the forms of an inspection."""
    return _desk(visit, mine)


@_with_pass
def listed(visit: Visit, mine: Pass) -> "Response":
    """One list of the scope."""
    what = visit.path["what"]
    beyond = _beyond(visit, mine, what if what in reaching.LISTS else "")
    if beyond is not None:
        return beyond
    _look(visit, mine, what)
    heads, rows = reaching.listed(visit.book, what, at=visit.now)
    return _desk(visit, mine, title=what, heads=heads, rows=rows)


@_with_pass
def record(visit: Visit, mine: Pass) -> "Response":
    """The record of one purchase since the last inspection."""
    beyond = _beyond(visit, mine, "records")
    if beyond is not None:
        return beyond
    try:
        slip = number(visit.fields.get("slip", "").strip(), "slip", "the number of a slip")
        people, sheet = "people" in mine.scope, settings_of(visit.book.folder).sheet
        _look(visit, mine, f"slip/{slip}" + (" with its people" if people else ""))
        data = reaching.record(visit.book, slip, sheet, people=people)
    except InputError as wrong:
        return _desk(visit, mine, 403, faults=[{"path": "slip", "says": str(wrong)}])
    return visit.pdf(data, f"slip-{slip}.pdf")


@_with_pass
def shelf(visit: Visit, mine: Pass) -> "Response":
    """The shelf held against the book, both ways."""
    beyond = _beyond(visit, mine, "stock")
    if beyond is not None:
        return beyond
    try:
        scanned = shelving.codes(visit.fields.get("codes", "").encode())
    except InputError as wrong:
        return _desk(visit, mine, 422, faults=[{"path": "codes", "says": f"Scan 1 code a line: {wrong.wanted}."}])
    _look(visit, mine, "shelf check")
    return _desk(visit, mine, shelf=shelving.check(visit.book, scanned))


@_with_pass
def sample(visit: Visit, mine: Pass) -> "Response":
    """A sample of the stock by the inspector's seed."""
    beyond = _beyond(visit, mine, "stock")
    if beyond is not None:
        return beyond
    count = visit.fields.get("count", "20")
    try:
        if not re.fullmatch("[1-9][0-9]{0,3}", count):
            raise InputError(field="count", given=Said("something else"), wanted="1 to 9,999 items")
        drawn = shelving.sample(visit.book, visit.fields.get("seed", ""), int(count))
    except InputError as wrong:
        return _desk(visit, mine, 422, faults=faults_of(wrong))
    _look(visit, mine, "sample")
    return _desk(visit, mine, sample=drawn)


@_with_pass
def sign(visit: Visit, mine: Pass) -> "Response":
    """The inspection's entry, sealed after the last one; the sign-in ends with it."""
    told = {
        "officer": dict(mine.officer),
        "power": mine.power,
        "scope": "; ".join(reaching.SCOPES[one] for one in reaching.SCOPES if one in mine.scope),
        "at": local_text(visit.now),
        "with": mine.opened_by,
        "findings": [
            {"what": what, **({"cure_by": day} if day else {})}
            for what, day in zip(visit.many.get("what", []), visit.many.get("cure_by", []), strict=False)
            if what.strip()
        ],
        "signature": visit.fields.get("signature", "").strip(),
    }
    if said := visit.fields.get("said", "").strip():
        told["said"] = said
    try:
        inspected, book = inspecting.read(told), visit.book
        entry = visit.write(lambda: inspecting.record(book, inspected))
    except InputError as wrong:
        return _desk(visit, mine, 422, faults=faults_of(wrong))
    answer = visit.page("inspector_signed.html", entry=entry.seq, leaf=entry.leaf.hex())
    _end(visit, mine.id)
    return answer


def _text(visit: Visit, name: str) -> str:
    text = " ".join(visit.fields.get(name, "").split())
    if not 0 < len(text) <= 200 or not text.isprintable():
        raise InputError(field=name, given=Said("nothing"), wanted="a text of 1 to 200 characters")
    return text


def _route(method: str, path: str, page: Any, who: frozenset[str], name: str, **more: Any) -> Route:
    return Route(method=method, path=path, page=page, who=who, name=name, **more)


ROUTES: Final[tuple[Route, ...]] = (
    _route("GET", "/inspection", owners, OWNERS, "inspection", again=True, place="Inspection"),
    _route("POST", "/inspection", begin, OWNERS, "inspection-open", again=True),
    _route("POST", "/inspection/end", end, OWNERS, "inspection-end"),
    _route("GET", "/inspection/{entry}/paper", paper, OWNERS, "inspection-paper"),
    _route("GET", "/inspector", door, ANYBODY, "inspector-code"),
    _route("POST", "/inspector", enter, ANYBODY, "inspector-enter"),
    _route("GET", "/inspector/desk", desk, INSPECTORS, "inspector-desk", place="Inspection"),
    _route("GET", "/inspector/list/{what}", listed, INSPECTORS, "inspector-list"),
    _route("POST", "/inspector/record", record, INSPECTORS, "inspector-record"),
    _route("POST", "/inspector/shelf", shelf, INSPECTORS, "inspector-shelf", most_bytes=2_000_000),
    _route("POST", "/inspector/sample", sample, INSPECTORS, "inspector-sample"),
    _route("POST", "/inspector/sign", sign, INSPECTORS, "inspector-sign"),
)
