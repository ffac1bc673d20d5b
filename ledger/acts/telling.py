"""Tells an authority one item's whole history: the dossier.

The parties are shown only as far as the request's basis goes. Looks, inquiries and cases are left out: a dossier must
not tell one recipient what another one asks. Handing out a dossier is itself an entry, a look.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from ledger.acts import gathering, handing_over, looking, requests, wording
from ledger.acts.gathering import Whole
from ledger.book import duty_rows, reading
from ledger.book.pages import Book
from ledger.chain.entries import Entry
from ledger.moments import local_text, parse_local, parse_moment
from reports import dossier


@dataclass(frozen=True)
class Request:
    """Who asks for a dossier, and on what basis."""

    recipient: str
    basis: str
    """the section, consent, subpoena or warrant relied on"""
    parties: bool = False
    """whether the basis reaches the seller's data"""
    reasons: bool = False
    """whether the reasons that the shop's people typed are shown: they may tell more than the basis reaches"""
    process: str = ""
    """id of the request on which it is told: for persons' data the second act, beside the basis in words"""

    def record(self) -> dict[str, Any]:
        """As the part `look` holds it."""
        return {
            "recipient": self.recipient,
            "basis": self.basis,
            "parties": self.parties,
            "reasons": self.reasons,
            **on_what(self.parties, self.process),
        }


def on_what(parties: bool, process: str) -> dict[str, str]:
    """On what persons' data were shown: a request of the log, or a basis that somebody only typed."""
    found = {"process": process} if process else {}
    return {**found, "parties_on": "process" if process else "basis"} if parties else found


def must_rest_on(
    connection: sa.Connection, book: Book, process: str, items: Sequence[tuple[int, int]], *, parties: bool
) -> None:
    """Raises: InputError unless there is such a request, and for persons' data one that reaches them."""
    if parties:
        requests.must_reach(connection, book, process, items)
    else:
        requests.one(connection, book, process)


def tell(book: Book, slip: int, line: int, request: Request, sheet: str, *, at: datetime) -> tuple[Entry, bytes]:
    """The look that was recorded, and the dossier of one item. Raises: InputError, LockedError."""
    told = {**request.record(), "item": f"{slip}/{line}", "at": local_text(at)}
    with book.writing() as page:
        reading.item_row(page.connection, book.origin, slip, line)
        if request.process:
            must_rest_on(page.connection, book, request.process, [(slip, line)], parties=request.parties)
        entry = looking.record(page, told)
        if request.process:
            requests.hand_over(page, request.process, entry, parties=request.parties)
        page.seal()
        paper = dossier.draw(_dossier(page.connection, book, slip, line, request), sheet)
    # From here on it stands in the book that this item's history was handed out, to whom and why.
    return entry, paper


def _dossier(connection: sa.Connection, book: Book, slip: int, line: int, request: Request) -> dossier.Dossier:
    whole = gathering.whole(connection, book, slip)
    item = whole.slip.items[line - 1]
    entry = (whole.purchase or whole.presented).entry
    hidden = handing_over.hidden_from(whole)
    asked = tuple(name for name in handing_over.asked_by_all(whole) if name not in hidden)
    return dossier.Dossier(
        imprint=handing_over.imprint(
            connection,
            book,
            whole.shop,
            entry,
            copy="Copy for the recipient",
            recipient=request.recipient,
            at=whole.slip.occurred_at,
        ),
        item=handing_over.item_values(connection, whole, whole.told, line, item, asked),
        slip=slip,
        recipient=request.recipient,
        basis=request.basis,
        seller=handing_over.parties(whole, asked) if request.parties else (),
        events=tuple(_events(connection, whole, line, request.reasons)),
        rule_files=tuple((file.name, file.digest) for file in whole.files),
        withheld=tuple(
            says
            for shown, says in (
                (request.parties, "The parties' data: the basis named does not reach them."),
                (request.reasons, "The reasons that the shop noted beside moves, corrections and returns."),
            )
            if not shown
        ),
    )


def _events(connection: sa.Connection, whole: Whole, line: int, reasons: bool) -> list[dossier.Event]:
    """What happened to the item, in the order of the book."""
    book, number = whole.book, whole.number
    events = []
    for seq in reading.seqs_about(connection, book.origin, f"slip/{number}", f"item/{number}/{line}"):
        entry = reading.entry_at(connection, book.origin, seq)
        kind = entry.kind.partition("/")[0]
        if kind not in _SAYS:
            continue  # looks, inquiries, orders and whatever this paper has no words for; reports follow below
        opened = reading.open_parts(connection, book, entry)
        said = _with_reasons(_SAYS[kind](opened, line, whole), reasons)
        if kind == "correction" and not said:
            continue
        struck = _struck(opened, line) if kind == "correction" else ()
        events.append(
            dossier.Event(
                at=_when(entry, whole),
                entry=seq,
                kind="came back" if entry.public.get("state") == BACK else _KIND_WORDS[kind],
                sentences=tuple(said),
                struck=struck,
                by=entry.by,
                leaf=entry.leaf.hex(),
            )
        )
    reports = [_report_events(connection, whole, seq) for seq in _report_seqs(connection, whole)]
    return sorted([*events, *reports], key=lambda event: event.entry)


_KIND_WORDS = {
    "presented": "presented to the seller",
    "purchase": "bought",
    "void": "purchase undone",
    "payout": "payout",
    "correction": "corrected",
    "moved": "moved",
    "outcome": "left",
    "report-made": "report made",
    "report-sent": "report sent",
    "report-delivered": "report delivered",
    "report-received": "report received",
    "withdrawn": "withdrawn",
}


def _when(entry: Entry, whole: Whole) -> str:
    zone = whole.slip.occurred_at.tzinfo
    moment = (
        parse_local(entry.occurred_at, "at")
        if entry.occurred_at
        else parse_moment(entry.recorded_at, "at").astimezone(zone)
    )
    return wording.at(moment)


def _presented(opened: reading.Opened, line: int, whole: Whole) -> list[str]:
    count = opened.entry.public["items"]
    many = "1 item" if count == 1 else f"{count} items"
    return [f"Slip {whole.number} with {many} was frozen and shown to the seller."]


def _purchase(opened: reading.Opened, line: int, whole: Whole) -> list[str]:
    holds = [hold for hold in whole.holds if hold.line == line]
    told = [f"{hold.source}: not to be {wording.acts(hold.forbids)} {_until(hold)}." for hold in holds]
    return ["The purchase was entered in the book.", *told]


def _until(hold: Any) -> str:
    if hold.waiting_for is not None:
        return f"until a time that waits for {wording.awaited(hold.waiting_for)}"
    return "at all" if hold.cautious is None else f"before {wording.at(hold.cautious)}"


def _payout(opened: reading.Opened, line: int, whole: Whole) -> list[str]:
    method, amount = opened.get("payout/method"), wording.said(opened.get("payout/amount"))
    state = opened.entry.public["state"].capitalize()
    return [f"{state}: {method['instrument']}, {amount}."]


_REASON = "Reason: "


def _with_reasons(said: Sequence[str], reasons: bool) -> list[str]:
    """Sentences, a reason at the end of the one that it is for; or without reasons."""
    found: list[str] = []
    for one in said:
        if not one.startswith(_REASON):
            found.append(one)
        elif reasons:
            found.append(" ".join([*found[-1:], one]))
            del found[-2:-1]
    return found


def _reason(opened: reading.Opened, line: int, whole: Whole) -> list[str]:
    return [f"{_REASON}{opened.get('reason')['because']}."]


def _correction(opened: reading.Opened, line: int, whole: Whole) -> list[str]:
    said = opened.get("correction")
    if not said["part"].startswith(f"item/{line}/"):
        return []
    return [f"{said['part']} should read: {changed(said['is'], said['was'])}.", f"{_REASON}{said['because']}."]


def _struck(opened: reading.Opened, line: int) -> tuple[str, ...]:
    said = opened.get("correction")
    return (f"{said['part']}: {changed(said['was'], said['is'])}",)


def changed(value: Any, other: Any) -> str:
    """The members of value that the other has otherwise."""
    if isinstance(value, Mapping) and isinstance(other, Mapping):
        return ", ".join(f"{name} {wording.said(value[name])}" for name in value if value[name] != other.get(name))
    return wording.said(value)


def _moved(opened: reading.Opened, line: int, whole: Whole) -> list[str]:
    said = opened.get(f"item/{line}/moved")
    return [f"From {said['from']} to {said['to']}.", f"{_REASON}{said['because'] or 'none given'}."]


def _outcome(opened: reading.Opened, line: int, whole: Whole) -> list[str]:
    said = opened.get(f"item/{line}/outcome")
    if opened.entry.public["state"] == BACK:
        return ["It lies in the shop again."]
    to = f" To: {said['to']}." if said["to"] else ""
    return [f"{opened.entry.public['state'].replace('-', ' ').capitalize()}.{to}"]


BACK = "in-stock"
"""state of an outcome that says that an item which was taken came back"""
_SAYS = {
    "presented": _presented,
    "purchase": _purchase,
    "payout": _payout,
    "withdrawn": _reason,
    "void": _reason,
    "correction": _correction,
    "moved": _moved,
    "outcome": _outcome,
}


def _report_seqs(connection: sa.Connection, whole: Whole) -> list[int]:
    """Entries about the reports in which this slip stands."""
    found: set[int] = set()
    for seq in reading.seqs_about(connection, whole.book.origin, f"slip/{whole.number}"):
        entry = reading.entry_at(connection, whole.book.origin, seq)
        if entry.kind.startswith("report-made/"):
            found |= set(reading.seqs_about(connection, whole.book.origin, f"report/{entry.public['report']}"))
    steps = tuple(f"report-{step}/" for step in duty_rows.STEPS)
    return [seq for seq in sorted(found) if _entry(connection, whole, seq).kind.startswith(steps)]


def _entry(connection: sa.Connection, whole: Whole, seq: int) -> Entry:
    return reading.entry_at(connection, whole.book.origin, seq)


def _report_events(connection: sa.Connection, whole: Whole, seq: int) -> dossier.Event:
    entry = reading.entry_at(connection, whole.book.origin, seq)
    kind = entry.kind.partition("/")[0]
    return dossier.Event(
        at=_when(entry, whole),
        entry=seq,
        kind=_KIND_WORDS[kind],
        sentences=(f"Report {entry.public['report']}.",),
        by=entry.by,
        leaf=entry.leaf.hex(),
    )
