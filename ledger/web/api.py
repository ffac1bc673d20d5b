"""What scales, label printers and other programs may ask of the counter: the same acts, in JSON, a token per device.

Decides: which call needs which permission, and that a repeated call with the same Idempotency-Key makes one purchase:
its key becomes the slip's draft id, and the database takes the data keys of a draft once.
Leaves to others: who speaks (`guard`), forms and faults (`api_form`), what is written (acts).
"""

import base64
import binascii
import hashlib
import re
from collections.abc import Callable, Mapping
from datetime import timedelta
from typing import TYPE_CHECKING, Any, Final

import sqlalchemy as sa

from ledger.acts import closing, drafting, handing_over, owing, recording, tasking
from ledger.acts.devices import Device
from ledger.acts.examining import Examined
from ledger.book import engine as engines
from ledger.book import reading, tables
from ledger.book.pages import Book
from ledger.errors import InputError, LedgerError, Said
from ledger.slip import reading as slip_reading
from ledger.slip.document import Slip
from ledger.slip.schema import SCHEMA
from ledger.web import api_form
from ledger.web.api_form import Call, Node
from ledger.web.posted import number
from ledger.web.problems import problem
from ledger.web.visits import DEVICES, Route, Visit

if TYPE_CHECKING:
    from starlette.responses import Response

MOST_BYTES: Final = 40_000_000
MOST_SLIPS: Final = 100
"""whose articles are told in one answer"""
_SLIP: Final[Node] = {name: node for name, node in SCHEMA.items() if name not in ("$defs", "$schema")}
_ANSWERS: Final[Node] = {
    "type": "array",
    "minItems": 0,
    "maxItems": 60,
    "description": "reasons for what is undecided",
    "items": {
        "type": "object",
        "description": "a rule, JURISDICTION/RULE, and a person's reason",
        "properties": {
            "rule": {"type": "string", "minLength": 1, "maxLength": 200},
            "reason": {"type": "string", "minLength": 1, "maxLength": 500, "pattern": r"\S"},
        },
        "required": ["rule", "reason"],
        "additionalProperties": False,
    },
}
_PICTURES: Final[Node] = {
    "type": "array",
    "minItems": 0,
    "maxItems": 200,
    "description": "the pictures that the slip names",
    "items": {
        "type": "object",
        "description": "a picture's name in the slip, and its bytes in base64 (RFC 4648, section 4)",
        "properties": {
            "file": {"type": "string", "minLength": 1, "maxLength": 120},
            "base64": {"type": "string", "minLength": 1, "maxLength": MOST_BYTES},
        },
        "required": ["file", "base64"],
        "additionalProperties": False,
    },
}


def _body(**more: Node) -> Node:
    return {
        "type": "object",
        "description": "a slip with the answers of a person",
        "properties": {"slip": _SLIP, "answers": _ANSWERS, **more},
        "required": ["slip"],
        "additionalProperties": False,
    }


CHECK: Final = _body()
PRESENT: Final = _body(pictures=_PICTURES)
RECORD: Final = _body(
    pictures=_PICTURES,
    presented={
        "type": "integer",
        "minimum": 1,
        "maximum": 10**15,
        "description": "the number under which the slip was presented before",
    },
)
_read_check, _read_present, _read_record = map(api_form.checker, (CHECK, PRESENT, RECORD))


def form(visit: Visit) -> "Response":
    """The OpenAPI document of everything below."""
    return visit.json(api_form.openapi(CALLS, version=visit.book.program))


def check(visit: Visit) -> "Response":
    """What the margin says about a slip; nothing is written."""
    slip, answers, _ = _asked(_read_check(visit.body))
    return visit.json(_margin(recording.check(visit.book, slip), answers))


def present(visit: Visit) -> "Response":
    """The slip frozen under its number, for the seller to sign."""
    document = _read_present(visit.body)
    slip, answers, read = _asked(document)
    draft, book = _draft(visit), visit.book
    book.opened()

    def act() -> int:
        known = _known(book, draft)
        if known is not None:
            return known
        recording.ready(book, slip, answers=answers, what="The slip cannot be presented", signed=False)
        begun = drafting.Draft(draft)
        locked = drafting.lock_pictures(book, begun, slip, read)
        return recording.present(book, slip, begun, locked, answers=answers).slip

    return _stands(visit, visit.write(act))


def record(visit: Visit) -> "Response":
    """The purchase: of a slip that was presented before, or presented and recorded in one."""
    document = _read_record(visit.body)
    slip, answers, read = _asked(document)
    draft, book, presented = _draft(visit), visit.book, document.get("presented")
    book.opened()

    def act() -> int:
        known = _known(book, draft)
        if known is not None:
            return known
        recording.ready(book, slip, answers=answers, what="The purchase cannot be recorded")
        if presented is not None:
            return _signed(book, presented, slip, answers, read)
        begun = drafting.Draft(draft)
        locked = drafting.lock_pictures(book, begun, slip, read)
        return recording.record(book, slip, begun, locked, answers=answers).slip

    return _stands(visit, visit.write(act))


def _signed(book: Book, presented: int, slip: Slip, answers: Mapping[str, str], read: drafting.ReadFile) -> int:
    """The purchase of a slip that waits for it. One that was recorded meanwhile is answered as it stands."""
    with engines.reading(book.engine) as connection:
        state = reading.slip_row(connection, book.origin, presented).state
    if state == "recorded":
        return presented
    if state != "presented":
        raise InputError(field="presented", given=Said(f"slip {presented}, {state}"), wanted="a slip that is presented")
    locked = drafting.lock_signature(book, drafting.resume(book, presented), slip, read)
    return recording.record_presented(book, presented, slip, locked, answers=answers).slip


def _asked(document: Mapping[str, Any]) -> tuple[Slip, dict[str, str], drafting.ReadFile]:
    """The slip, the answers by rule, and what reads the pictures that came with it."""
    slip = slip_reading.slip_of(document["slip"])
    answers = {
        api_form.one_line(one["rule"], "answers"): api_form.one_line(one["reason"], "answers")
        for one in document.get("answers", ())
    }
    sent = {one["file"]: one["base64"] for one in document.get("pictures", ())}

    def read(name: str, part: str) -> bytes:
        if name not in sent:
            raise InputError(field=part, given=Said("no such picture"), wanted="a picture of each name in the slip")
        try:
            return base64.b64decode(sent[name], validate=True)
        except (binascii.Error, ValueError):
            raise InputError(field=part, given=Said("something else"), wanted="a picture in base64") from None

    return slip, answers, read


def _draft(visit: Visit) -> str:
    """The draft id of a call: the same for the same key of the same device, and told by nothing else."""
    key = visit.request.headers.get("idempotency-key", "")
    if not re.fullmatch("[!-~]{8,200}", key):
        wanted = "8 to 200 visible ASCII characters, new for each slip and the same when it is sent again"
        raise InputError(field="Idempotency-Key", given=Said("something else"), wanted=wanted)
    said = f"{visit.book.origin}|{_speaker(visit).device}|{key}"
    return hashlib.sha256(said.encode()).hexdigest()[:32]


def _speaker(visit: Visit) -> Device:
    assert visit.device is not None, "the guard lets nobody else in"
    return visit.device


def _known(book: Book, draft: str) -> int | None:
    """The slip that a draft became, if it did."""
    slip = tables.slips.c
    with engines.reading(book.engine) as connection:
        found = connection.execute(sa.select(slip.slip).where(slip.book == book.origin, slip.draft == draft)).scalar()
    return None if found is None else int(found)


def _stands(visit: Visit, slip: int) -> "Response":
    """What the book says of a slip now: the same to whoever asks once more."""
    with visit.reading() as connection:
        row = reading.slip_row(connection, visit.book.origin, slip)
        entry = reading.entry_at(connection, visit.book.origin, row.recorded_seq or row.presented_seq)
        note = reading.newest_seal(connection, visit.book.origin) or ""
    return visit.json(
        {"slip": slip, "state": row.state, "entry": entry.seq, "leaf": entry.leaf.hex(), "seal": closing.short(note)}
    )


def _margin(examined: Examined, answers: Mapping[str, str]) -> dict[str, Any]:
    stopped = bool(examined.duties.stopping())
    verdict = "broken" if stopped else "undecided" if examined.unanswered(answers) else "free"
    return {"verdict": verdict, **examined.record()}


def items(visit: Visit) -> "Response":
    """Articles in the shop from slips after a number, of a hundred slips at most: what labels are for."""
    after = number(visit.query.get("after", "0"), "after", "the number of a slip, or 0")
    item = tables.items.c
    here = sa.and_(item.book == visit.book.origin, item.slip > after, item.state == "in stock")
    # Whole slips: whoever goes on after the last one would miss what an answer cut off of it.
    slips = sa.select(item.slip).where(here).distinct().order_by(item.slip).limit(MOST_SLIPS)
    wanted = (
        sa.select(item.slip, item.line, item.words, item.place)
        .where(here, item.slip.in_(slips))
        .order_by(item.slip, item.line)
    )
    with visit.reading() as connection:
        found = connection.execute(wanted).all()
    told = [
        {"item": f"{row.slip}/{row.line}", "slip": row.slip, "line": row.line, "words": row.words, "place": row.place}
        for row in found
    ]
    return visit.json({"items": told})


def labels(visit: Visit) -> "Response":
    """The bag labels of one slip."""
    slip = number(visit.path["slip"], "slip")
    visit.book.opened()
    with visit.reading() as connection:
        data = handing_over.labels(connection, visit.book, slip)
    return visit.pdf(data, f"slip-{slip}-labels.pdf")


def due(visit: Visit) -> "Response":
    """What is due by the end of tomorrow, and what is late; no person stands in it."""
    until = visit.now + timedelta(days=1)
    reports = [one for one in owing.owed(visit.book, at=visit.now) if one.due <= until]
    tasks = [one for one in tasking.open_tasks(visit.book, at=visit.now) if one.is_near(visit.now)]
    return visit.json(
        {
            "reports": [{**one.record(), "late": one.late_at(visit.now)} for one in reports],
            "tasks": [{**one.record(), "late": one.late_at(visit.now)} for one in tasks],
        }
    )


def seal(visit: Visit) -> "Response":
    """The newest seal."""
    with visit.reading() as connection:
        note = reading.newest_seal(connection, visit.book.origin) or ""
    return visit.json({"seal": closing.short(note), "note": note})


def proof(visit: Visit) -> "Response":
    """That an entry stands in the book under the newest seal."""
    seq = number(visit.path["entry"], "entry")
    with visit.reading() as connection:
        text = reading.proof(connection, visit.book, seq)
    return visit.sent(text.encode(), "text/plain", f"entry-{seq}.proof")


Page = Callable[[Visit], "Response"]


def _call(method: str, path: str, page: Page, may: str, answer: Node, *, body: Node | None = None, **more: Any) -> Call:
    def answered(visit: Visit) -> "Response":
        if may and may not in _speaker(visit).may:
            return problem(403, f"This device may not do that; ask the owner to allow it: {may}.")
        try:
            return page(visit)
        except LedgerError as fault:
            return api_form.told(fault, missing="{" in path)

    route = Route(
        method=method,
        path=f"/api/v0/{path}",
        page=answered,
        who=DEVICES,
        name=f"api-{page.__name__}",
        most_bytes=MOST_BYTES if body is not None and "pictures" in body["properties"] else 2_000_000,
    )
    says = (page.__doc__ or "").splitlines()[0]
    return Call(route=route, may=may, says=says, answer=answer, body=body, **more)


def _object(**members: str) -> Node:
    """A schema of an answer: its members with their types."""
    properties = {name: {"type": kind} for name, kind in members.items()}
    return {"type": "object", "required": list(members), "properties": properties}


_STANDS: Final = _object(slip="integer", state="string", entry="integer", leaf="string", seal="string")
_MARGIN: Final = _object(
    verdict="string", duties="array", items="array", may_leave="array", against_policy="array", owed="array"
)
_AFTER: Final[Node] = {"type": "integer", "minimum": 0, "maximum": 10**18 - 1}
_BYTES: Final[Node] = {"type": "string"}

CALLS: Final[tuple[Call, ...]] = (
    _call("GET", "openapi.json", form, "", _object(openapi="string", paths="object")),
    _call("POST", "slips/check", check, "slips", _MARGIN, body=CHECK),
    _call("POST", "slips/present", present, "slips", _STANDS, body=PRESENT, key=True),
    _call("POST", "slips/record", record, "slips", _STANDS, body=RECORD, key=True),
    _call("GET", "items", items, "label-printer", _object(items="array"), query={"after": _AFTER}),
    _call("GET", "slips/{slip}/labels", labels, "label-printer", _BYTES, media="application/pdf"),
    _call("GET", "due", due, "slips", _object(reports="array", tasks="array")),
    _call("GET", "seal", seal, "", _object(seal="string", note="string")),
    _call("GET", "entries/{entry}/proof", proof, "", _BYTES, media="text/plain"),
)
ROUTES: Final[tuple[Route, ...]] = tuple(call.route for call in CALLS)
