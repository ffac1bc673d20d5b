"""Fills the paper that answers a request: what was asked, decided, handed over and kept, and which goods are gone."""

from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from ledger.acts import aftermath, handing_over, holding, requests, wording
from ledger.acts.requested import ARRIVED, KINDS
from ledger.acts.requests import Process
from ledger.book import engine as engines
from ledger.book import reading
from ledger.book.pages import Book
from ledger.moments import parse_local
from ledger.shop import adopted
from reports import answered

_STATES = {
    "given": "What was asked for is given.",
    "narrowed": "Less is given than was asked for.",
    "refused": "The request is refused.",
}


def paper(book: Book, name: str, sheet: str, *, at: datetime) -> bytes:
    """The answer to a request as it stands. Raises: InputError for a request that there is not, or without a seal."""
    with engines.reading(book.engine) as connection:
        known = requests.one(connection, book, name)
        shop = adopted.shop_on(connection, book.origin, at.date().isoformat())
        entry = reading.entry_at(connection, book.origin, known.seq)
        said, decision = known.said, known.decision or {}
        recipient = said["officer"]["agency"]
        imprint = handing_over.imprint(
            connection, book, shop, entry, copy="Copy for the recipient", recipient=recipient, at=at
        )
        return answered.draw(
            answered.Answer(
                imprint=imprint,
                title=f"Answer to {KINDS[said['kind']]}",
                to=known.officer,
                received=f"{wording.at(parse_local(said['received'], 'received'))}, {ARRIVED[said['how']]}",
                case=said["case"],
                power=said["power"],
                scope=said["scope"],
                call_back=_called(known),
                decision=_STATES.get(decision.get("state", ""), ""),
                because=decision.get("because", ""),
                fields=tuple(decision.get("fields", ())),
                handed=tuple(_handed(known, decision)),
                keeps=tuple(_keeps(known, at)),
                gone=tuple(sentence for one in gone(connection, book, known.items) for sentence in one.sentences),
                follow_up=tuple((what, wording.at(due)) for what, due in known.follow_ups),
            ),
            sheet,
        )


def gone(connection: sa.Connection, book: Book, items: tuple[str, ...]) -> list[aftermath.Gone]:
    """What became of those of some items that the shop no longer has."""
    found = [aftermath.of(connection, book, *holding.item_named(item)) for item in items]
    return [one for one in found if one is not None]


def _called(known: Process) -> str:
    said = known.said["call_back"]
    later = known.of("called-back")
    if later:
        return f"{wording.at(parse_local(later[-1]['at'], 'at'))}: {later[-1]['result']}"
    if said["done"]:
        return f"{wording.at(parse_local(said['at'], 'at'))}: {said['result']}"
    return f"not done: {said['because']}"


def _handed(known: Process, decision: Mapping[str, Any]) -> Iterator[tuple[str, str, str]]:
    for one in [*decision.get("entries", ()), *known.of("handed")]:
        what = "extract, its manifest" if "manifest" in one else "entry, its leaf"
        yield what, str(one["entry"]), one.get("manifest", one["leaf"])
    for digest in decision.get("hashes", ()):
        yield "another paper or file", "none", digest


def _keeps(known: Process, at: datetime) -> Iterator[str]:
    if not known.preserves(at):
        return
    asked = known.said["preserve"]
    what = "Everything in the book" if asked["everything"] else ", ".join(asked["names"])
    until = (
        "until told otherwise" if asked["until"] is None else f"until {wording.at(parse_local(asked['until'], 'at'))}"
    )
    yield f"{what}: kept {until}."
