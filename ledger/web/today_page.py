"""The day's page: what is owed, what may leave, what is due; and what one does about each of it from there.

Decides: how each number reads and where it leads. Leaves what belongs on the page to `acts.today`, and every step to
the act that the commands call.
"""

from datetime import timedelta
from typing import TYPE_CHECKING

from ledger.acts import closing, happening, holding, listing, paying, reporting, today, wording
from ledger.acts.opening import settings_of
from ledger.errors import InputError
from ledger.moments import parse_day
from ledger.web.posted import number
from ledger.web.visits import STAFF, Route, Visit

if TYPE_CHECKING:
    from starlette.responses import Response

_OLD_DRAFT = timedelta(days=1)


def page(visit: Visit) -> "Response":
    """What is before the shop now: a clerk sees her part, an owner all."""
    session = visit.session
    assert session is not None, "the guard lets nobody else in"
    found = today.today(visit.book, at=visit.now, role=session.role, staff=session.staff)
    mine = [one for one in visit.trays() if session.role == "owner" or one.staff == session.staff]
    return visit.page(
        "today.html",
        today=found,
        states=today.states(found.slips),
        abandoned=[one for one in mine if one.slip is None and visit.now - one.saved_at >= _OLD_DRAFT],
        ago=_ago(visit.now - found.outside.on_paper) if found.outside.on_paper else "",
        short=wording.short,
        owner=session.role == "owner",
        now=visit.now,
    )


def _ago(span: timedelta) -> str:
    """How long ago, in words.

    >>> _ago(timedelta(minutes=5)), _ago(timedelta(hours=30)), _ago(timedelta(days=9))
    ('within the last hour', '30 hours ago', '9 days ago')
    """
    hours = int(span.total_seconds() // 3600)
    return "within the last hour" if hours < 1 else f"{hours} hours ago" if hours < 48 else f"{hours // 24} days ago"


def report(visit: Visit) -> "Response":
    """One step with a report; making it answers with its paper."""
    name, step, said = visit.fields.get("report", ""), visit.fields.get("step", ""), visit.fields
    book, now = visit.book, visit.now
    if step == "make":
        sheet = settings_of(book.folder).sheet
        _, paper = visit.write(lambda: reporting.make(book, name, sheet, at=now))
        return visit.pdf(paper, f"report-{name}.pdf")
    how = said.get("how", "").strip()
    if step == "sent":
        late = said.get("late_because", "").strip()
        visit.write(lambda: reporting.sent(book, name, at=now, how=_must(how, "how"), late_because=late))
    elif step == "delivered":
        visit.write(lambda: reporting.delivered(book, name, at=now, how=_must(how, "how")))
    elif step == "received":
        who, reference = _must(said.get("who", ""), "who"), said.get("reference", "").strip()
        wrong = [line.strip() for line in said.get("wrong", "").splitlines() if line.strip()]
        visit.write(lambda: reporting.received(book, name, at=now, who=who, reference=reference, wrong=wrong))
    else:
        raise InputError(field="step", given=step, wanted="make, sent, delivered or received")
    return visit.see("/today")


def _must(text: str, field: str) -> str:
    """A text that cannot be left away. Raises: InputError."""
    if not text.strip():
        raise InputError(field=field, given="nothing", wanted="a few words: they stand in the book")
    return text.strip()


def payout(visit: Visit) -> "Response":
    """A payout reached its payee, or came back."""
    slip, state = number(visit.fields.get("slip", ""), "slip"), visit.fields.get("state", "")
    reference = visit.fields.get("reference", "").strip() or None
    visit.write(lambda: paying.settle(visit.book, slip, state, at=visit.now, reference=reference))
    return visit.see("/today")


def task(visit: Visit) -> "Response":
    """A task was done: the event that shows it, or the shop's notice before an order ends."""
    about, event = visit.fields.get("about", ""), visit.fields.get("event", "")
    said = visit.fields.get("said", "").strip()
    if about.startswith("order "):
        by = _must(said, "said")
        visit.write(lambda: holding.note(visit.book, about.removeprefix("order "), "notice", at=visit.now, by=by))
    else:
        visit.write(lambda: happening.happen(visit.book, event, about, at=visit.now, said=said))
    return visit.see("/today")


def close(visit: Visit) -> "Response":
    """The day is closed: counted, and sealed."""
    visit.write(lambda: closing.close(visit.book, visit.now.date()))
    return visit.see("/today")


def sheet(visit: Visit) -> "Response":
    """The day sheet of one day as a paper: it carries the newest seal."""
    text = visit.query.get("day")
    day = parse_day(text, "day") if text else visit.now.date()
    with visit.reading() as connection:
        data = listing.day_sheet_paper(connection, visit.book, day, settings_of(visit.book.folder).sheet, at=visit.now)
    return visit.pdf(data, f"day-{day}.pdf")


def holds(visit: Visit) -> "Response":
    """The hold list as a paper."""
    with visit.reading() as connection:
        data = listing.hold_list_paper(connection, visit.book, settings_of(visit.book.folder).sheet, at=visit.now)
    return visit.pdf(data, f"holds-{visit.now:%Y-%m-%d}.pdf")


ROUTES: tuple[Route, ...] = (
    Route(method="GET", path="/today", page=page, who=STAFF, name="today", place="Today"),
    Route(method="POST", path="/today/report", page=report, who=STAFF, name="today-report"),
    Route(method="POST", path="/today/payout", page=payout, who=STAFF, name="today-payout"),
    Route(method="POST", path="/today/task", page=task, who=STAFF, name="today-task"),
    Route(method="POST", path="/today/close", page=close, who=STAFF, name="today-close"),
    Route(method="GET", path="/today/sheet", page=sheet, who=STAFF, name="today-sheet"),
    Route(method="GET", path="/today/holds", page=holds, who=STAFF, name="today-holds"),
)
