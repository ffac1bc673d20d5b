"""Reading documents at the counter: scanner text, a photograph of the barcode, typed lines; people added and found.

Decides: what a button of the people's part does. Each post saves the whole form with it, so that nothing typed is lost;
the raw text and the photograph are not kept. Leaves reading to `acts.scanning`, the fields to `slip.filling`.
"""

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Final

from starlette.responses import Response

from ledger.acts import drafts, returning, scanning
from ledger.acts.scanning import ReadOff
from ledger.errors import InputError, LedgerError, Said
from ledger.slip import filling
from ledger.web import parties, slip_page
from ledger.web.visits import STAFF, Route, Visit

Fields = Mapping[str, str]
MOST_PICTURE: Final = 40_000_000
"""bytes of one posted form with its pictures"""
MOST_PEOPLE: Final = 10
"""as many as a slip may name"""


def scan(visit: Visit) -> Response:
    """POST /slip/{draft}/scan: what a scanner typed into the box."""
    return _reading(visit, lambda place: scanning.of_scanner(_typed(visit, "scan", place), field="scan"))


def lines(visit: Visit) -> Response:
    """POST /slip/{draft}/lines: the lines of a passport or card, as typed."""
    return _reading(
        visit,
        lambda place: scanning.of_lines(
            _typed(visit, "lines", place).splitlines(), today=visit.now.date(), field="lines"
        ),
    )


def barcode(visit: Visit) -> Response:
    """POST /slip/{draft}/barcode: a photograph of the barcode, which is read and not kept."""

    def read(place: int) -> ReadOff:
        chosen = visit.uploads.get(f"unkept.file.barcode.{place}", [])
        if not chosen:
            raise InputError(field="picture", given=Said("no picture"), wanted="a photograph of the barcode")
        return scanning.of_photograph(chosen[-1].data, field="picture")

    return _reading(visit, read)


def _typed(visit: Visit, box: str, place: int) -> str:
    return visit.fields.get(f"unkept.{box}.{place}", "")


def _place(visit: Visit) -> int:
    return _place_in(visit.fields.get("unkept.party", "0"))


def _place_in(text: str) -> int:
    if not text.isdecimal() or int(text[:4]) >= MOST_PEOPLE:
        raise InputError(field="party", given=text, wanted="one of the people on the slip")
    return int(text)


def _reading(visit: Visit, read: Callable[[int], ReadOff]) -> Response:
    place = _place(visit)

    def change(fields: Fields) -> Fields:
        try:
            found = read(place)
        except InputError as fault:
            return {**fields, f"ui.said.{place}": _sentence(fault)}
        description = found.description if _wants_looks(visit, fields) else {}
        after = filling.fill(fields, place, found.how, found.party, description)
        told = [*(f"Type from the card: {one}." for one in found.to_type), *found.warnings]
        return {**_usual(after, place), f"ui.said.{place}": "\n".join(told)}

    return changed(visit, change, f"party-{place}")


def _sentence(fault: InputError) -> str:
    why = fault.why if isinstance(fault, scanning.NotRead) else f"{fault.given} was given; wanted is {fault.wanted}."
    return f"Nothing was read. {why[:1].upper()}{why[1:]}"


def _usual(fields: Fields, place: int) -> Fields:
    """A person whose role and kind nobody chose: the seller, a person."""
    path = f"parties.{place}"
    usual = {f"{path}.role": "seller" if place == 0 else "co-seller", f"{path}.kind": "person"}
    return {**fields, **{name: value for name, value in usual.items() if not fields.get(name)}}


def _wants_looks(visit: Visit, fields: Fields) -> bool:
    """Whether a rule asks what the person looks like: else it is not kept."""
    examined = drafts.margin(visit.book, replace(drafts.open_(visit.book, visit.path["draft"]), fields=fields)).examined
    return examined is not None and examined.asks_looks()


def people(visit: Visit) -> Response:
    """POST /slip/{draft}/people: one more person, a reading in place of what was typed, a copy from an earlier slip."""
    act, _, rest = visit.fields.get("unkept.do", "").partition(":")
    match act:
        case "add":
            return changed(visit, lambda fields: {**fields, "ui.parties": str(parties.shown(fields) + 1)}, "parties")
        case "take":
            return changed(visit, lambda fields: filling.take(fields, rest), "parties")
        case "copy":
            return _copied(visit, rest)
    raise InputError(field="do", given=act, wanted="one of the buttons on the page")


def _copied(visit: Visit, told: str) -> Response:
    person, _, number = told.partition(":")
    place = _place_in(person)
    fields = parties.kept_fields(visit.fields)
    slip = int(number) if number.isdecimal() and len(number) < 10 else 0
    among = parties.before(visit, fields, place)
    why = visit.fields.get(f"unkept.why.{place}", "")
    try:
        members = visit.write(lambda: returning.copy(visit.book, slip, why=why, among=among))
        said = f"Copied from slip {slip}: ask the seller whether it still holds."
    except LedgerError as fault:
        members, said = {}, f"Nothing was copied: {fault}"

    def change(now: Fields) -> Fields:
        after = dict(filling.fill(now, place, "copied", members, {})) if members else dict(now)
        after = {name: value for name, value in after.items() if not name.startswith("ui.copied.")}
        return {**after, f"ui.said.{place}": said}

    return changed(visit, change, f"party-{place}")


def saved(visit: Visit, change: Callable[[Fields], Fields] = lambda fields: fields) -> drafts.Kept:
    """The draft with what was posted and a change.

    The form names its draft, and so does the address: a reading never lands on the neighbour's.
    Raises: InputError for another draft's form, or where somebody saved meanwhile.
    """
    draft = visit.path["draft"]
    if visit.fields.get("draft") != draft:
        raise InputError(field="form", given=Said("the form of another slip"), wanted="the form of this slip")
    return drafts.save(visit.book, draft, change(slip_page.posted_of(visit)), version=slip_page.version_of(visit))


def changed(visit: Visit, change: Callable[[Fields], Fields], anchor: str) -> Response:
    """Saves what was posted with a change, and answers the people's part or the way back to the page."""
    try:
        after = change(slip_page.posted_of(visit))
        now = visit.write(lambda: saved(visit, lambda _: after))
    except InputError as fault:
        if fault.field != "draft" or visit.wants_json:
            raise
        return slip_page.conflict(visit)
    return answered(visit, now, anchor)


def answered(visit: Visit, now: drafts.Kept, anchor: str, **told: str) -> Response:
    """The people's part as it stands for a page with scripts; else the way back to the page."""
    if visit.wants_json:
        values = slip_page.values(visit, slip_page.seen(visit, now))
        return visit.json({"version": now.version, "html": visit.html("parties.html", **values), "go": anchor, **told})
    return visit.see(f"/slip/{now.id}#{anchor}")


def _route(name: str, page: Callable[[Visit], Response], *, files: int = 0) -> Route:
    return Route(
        method="POST",
        path=f"/slip/{{draft}}/{name}",
        page=page,
        who=STAFF,
        name=f"slip-{name}",
        most_bytes=MOST_PICTURE if files else slip_page.MOST_BYTES,
        most_fields=slip_page.MOST_FIELDS,
        most_files=files,
    )


ROUTES: Final = (
    _route("scan", scan),
    _route("lines", lines),
    _route("barcode", barcode, files=10),
    _route("people", people),
)
