"""The trays on the counter: the drafts that are open, the beginning of a new one, and giving one up.

Decides: what a new draft has before anybody typed: moment, channel, who is signed in, one seller, as many lines as
articles were counted, and scale, currency and spot prices as the newest open draft of the day has them.
Leaves to `acts.drafts` keeping it.
"""

from collections.abc import Mapping
from datetime import date, tzinfo
from typing import Final

from starlette.responses import RedirectResponse, Response

from ledger.acts import drafts
from ledger.acts.opening import settings_of
from ledger.errors import InputError, LockedError
from ledger.moments import local_text
from ledger.web.visits import STAFF, Route, Visit

MOST_LINES: Final = 20
"""lines that a new tray shows at once; more are added one by one"""


def home(visit: Visit) -> Response:
    """GET /."""
    return RedirectResponse("/trays", status_code=303)


def show(visit: Visit, fields: Mapping[str, str] | None = None, fault: InputError | None = None) -> Response:
    """GET /trays, and the same page with what could not be taken."""
    zone = visit.now.tzinfo
    open_ = [
        {"id": one.id, "tray": one.tray, "says": _says(one, zone)}
        for one in drafts.listed(visit.book)
        if one.slip is None
    ]
    faults = (
        []
        if fault is None
        else [{"path": "" if fault.field == "draft" else fault.field, "says": f"Wanted is {fault.wanted}."}]
    )
    return visit.page("trays.html", 422 if fault else 200, open=open_, fields=fields or {}, faults=faults)


def _says(one: drafts.Listed, zone: tzinfo | None) -> str:
    """Who began a draft, and when and by whom it was saved last."""
    by = "" if one.saved_by == one.staff else f" by {one.saved_by}"
    return f"{one.staff}, saved at {one.saved_at.astimezone(zone):%H:%M}{by}"


def give_up(visit: Visit) -> Response:
    """POST /trays/{draft}/give-up: the draft is gone and its tray free; the page again where it cannot be."""
    try:
        visit.write(lambda: drafts.give_up(visit.book, visit.path["draft"]))
    except InputError as fault:
        return show(visit, fault=fault)
    return visit.see("/trays")


def begin(visit: Visit) -> Response:
    """POST /trays: a new draft, or the page again with what is wrong."""
    tray, articles = visit.fields.get("tray.number", "").strip(), visit.fields.get("tray.articles", "").strip()
    try:
        if not tray:
            raise InputError(field="tray.number", given=tray, wanted="the number of the tray")
        if not articles.isdigit() or not 1 <= int(articles[:7]) <= 100_000:
            raise InputError(field="tray.articles", given=articles, wanted="how many articles lie on it, 1 or more")
        fields = begun(visit, tray, int(articles))
        kept = visit.write(lambda: drafts.begin(visit.book, tray=tray, fields=fields))
    except InputError as fault:
        return show(visit, visit.fields, fault)
    return visit.see(f"/slip/{kept.id}")


def begun(visit: Visit, tray: str, articles: int) -> dict[str, str]:
    """The fields of a new draft."""
    found = {
        "format": "slip/0",
        "occurred_at": local_text(visit.now),
        "channel": "counter",
        "place_kind": "licensed-premises",
        "staff": visit.session.staff if visit.session else "",
        "tray.number": tray,
        "tray.articles": str(articles),
        "parties.0.role": "seller",
        "parties.0.kind": "person",
        "ui.items": str(min(articles, MOST_LINES)),
        "ui.unit": "g",
    }
    return {**found, **_as_before(visit, visit.now.date())}


def _as_before(visit: Visit, day: date) -> dict[str, str]:
    """What the newest open draft of the day has that is the same for the next one; else the shop's currency."""
    for one in sorted(drafts.listed(visit.book), key=lambda each: each.begun_at, reverse=True):
        if one.begun_at.astimezone(visit.now.tzinfo).date() != day:
            break
        try:
            kept = drafts.open_(visit.book, one.id)
        except LockedError:
            break
        same = ("ui.unit", "ui.scale", "ui.currency", "ui.ring_system")
        return {name: value for name, value in kept.fields.items() if name in same or name.startswith("spot.")}
    limits = settings_of(visit.book.folder).limits.values()
    currencies = sorted({money.currency for limit in limits for money in limit.amounts})
    return {"ui.currency": currencies[0]} if currencies else {}


ROUTES: Final = (
    Route(method="GET", path="/", page=home, who=STAFF, name="home"),
    Route(method="GET", path="/trays", page=show, who=STAFF, name="trays", place="Trays"),
    Route(method="POST", path="/trays", page=begin, who=STAFF, name="trays-begin"),
    Route(method="POST", path="/trays/{draft}/give-up", page=give_up, who=STAFF, name="trays-give-up"),
)
