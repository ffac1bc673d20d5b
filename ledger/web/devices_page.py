"""The owner's page of devices: which there are, a new one with its token shown once, and the end of one."""

from typing import TYPE_CHECKING

from ledger.acts import devices
from ledger.errors import InputError
from ledger.moments import parse_day
from ledger.web.visits import OWNERS, Route, Visit, faults_of

if TYPE_CHECKING:
    from starlette.responses import Response


def page(visit: Visit) -> "Response":
    """Every device."""
    return _shown(visit)


def _shown(visit: Visit, *, token: str = "", wrong: InputError | None = None) -> "Response":
    today = visit.now.date()
    return visit.page(
        "devices.html",
        status=422 if wrong else 200,
        devices=[(one, one.state_on(today)) for one in devices.listed(visit.book)],
        may=devices.MAY,
        chosen=visit.many.get("may", []),
        new_token=token,
        faults=faults_of(wrong),
        values={"until": (today + devices.LONGEST).isoformat(), **visit.fields},
    )


def make(visit: Visit) -> "Response":
    """A new device; its token is on this one answer and never again."""
    said, book = visit.fields, visit.book
    try:
        until = parse_day(said.get("until", ""), "until")
        may = visit.many.get("may", [])
        label = said.get("label", "")
        _, token = visit.write(lambda: devices.make(book, label=label, may=may, until=until, now=visit.now))
    except InputError as wrong:
        return _shown(visit, wrong=wrong)
    return _shown(visit, token=token)


def end(visit: Visit) -> "Response":
    """One device's token opens nothing any more."""
    book, device = visit.book, visit.fields.get("device", "")
    visit.write(lambda: devices.end(book, device, now=visit.now))
    return visit.see("/devices")


ROUTES: tuple[Route, ...] = (
    Route(method="GET", path="/devices", page=page, who=OWNERS, name="devices", place="Devices"),
    Route(method="POST", path="/devices", page=make, who=OWNERS, name="device-make", again=True),
    Route(method="POST", path="/devices/end", page=end, who=OWNERS, name="device-end"),
)
