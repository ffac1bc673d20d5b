"""An inspection: somebody with the right to look was here, and what was found; sealed right after the last entry.

The entry holds in the vault who came on what power, with what scope, what was found and by when it must be cured, the
sample that was drawn, and the number and leaf of the entry before it: what the inspector signs fixes the book as it
then stood. Whoever came without a power is logged as a request, not here.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

import sqlalchemy as sa

from ledger.acts import handing_over, requested, shelving, wording
from ledger.book import engine as engines
from ledger.book import reading, tables
from ledger.book.pages import Book
from ledger.chain.entries import Entry
from ledger.errors import InputError, Said
from ledger.moments import parse_local
from ledger.shop import adopted
from reports import inspection

_MEMBERS = ("officer", "power", "scope", "at", "with", "findings", "said", "sample", "shown", "signature")
_OFFICER = ("name", "number", "agency")
_HASH = re.compile("[0-9a-f]{64}")
_MOST_DRAWN = 10_000


@dataclass(frozen=True)
class Finding:
    """One thing that the inspector found."""

    what: str
    cure_by: date | None

    def record(self) -> dict[str, Any]:
        """As the part `inspection` holds it."""
        return {"what": self.what, "cure_by": None if self.cure_by is None else self.cure_by.isoformat()}


@dataclass(frozen=True)
class Inspected:
    """What an inspection was about, as it is entered."""

    officer: Mapping[str, str]
    power: str
    scope: str
    at: datetime
    with_: str
    """who of the shop was there"""
    findings: tuple[Finding, ...]
    said: str = ""
    """what the shop says to it"""
    sample: tuple[str, int] | None = None
    """seed and count"""
    shown: tuple[str, ...] = ()
    """SHA-256 of the files that were shown or handed over, such as contents.csv of the folder"""
    signature: str = ""
    """where the inspector signed, or why not"""


@dataclass(frozen=True)
class Inspection:
    """An inspection of the book's past."""

    id: str
    seq: int
    said: Mapping[str, Any]
    cured: tuple[int, ...]
    """numbers of its findings, from 1, that were cured"""

    @property
    def at(self) -> datetime:
        """When it was."""
        return parse_local(self.said["at"], "at")

    @property
    def open(self) -> list[tuple[int, str, str | None]]:
        """Number, words and day to cure by of what was not cured yet."""
        found = enumerate(self.said["findings"], 1)
        return [(number, one["what"], one["cure_by"]) for number, one in found if number not in self.cured]


def read(document: Mapping[str, Any]) -> Inspected:
    """An inspection from a document. Raises: InputError naming the member that is wrong, without repeating it."""
    unknown = sorted(set(document) - set(_MEMBERS))
    if unknown:
        raise InputError(field=unknown[0], given=unknown[0], wanted="one of " + ", ".join(_MEMBERS))
    officer = document.get("officer")
    if not isinstance(officer, Mapping) or set(officer) - set(_OFFICER):
        raise InputError(field="officer", given=Said("something else"), wanted="a table with name, number and agency")
    shown = document.get("shown", [])
    if not isinstance(shown, list) or not all(isinstance(one, str) and _HASH.fullmatch(one) for one in shown):
        raise InputError(field="shown", given=Said("something else"), wanted="a list of SHA-256, 64 hex digits each")
    return Inspected(
        officer={name: requested.text(officer, name, within="officer.") for name in _OFFICER},
        power=requested.text(document, "power"),
        scope=requested.text(document, "scope"),
        at=requested.moment(document, "at"),
        with_=requested.text(document, "with"),
        findings=_findings(document.get("findings", [])),
        said=requested.text(document, "said", needed=False),
        sample=_sample(document.get("sample")),
        shown=tuple(shown),
        signature=requested.text(document, "signature"),
    )


def _findings(found: Any) -> tuple[Finding, ...]:
    if not isinstance(found, list) or not all(isinstance(one, Mapping) for one in found):
        raise InputError(field="findings", given=Said("something else"), wanted="a list of tables: what, cure_by")
    read = []
    for one in found:
        if set(one) - {"what", "cure_by"}:
            raise InputError(field="findings", given=Said("another member"), wanted="tables of what and cure_by")
        day = one.get("cure_by")
        try:
            cure_by = None if day is None else date.fromisoformat(str(day))
        except ValueError:
            wanted = "a day, such as 2026-11-24"
            raise InputError(field="findings.cure_by", given=Said("something else"), wanted=wanted) from None
        read.append(Finding(requested.text(one, "what", within="findings."), cure_by))
    return tuple(read)


def _sample(found: Any) -> tuple[str, int] | None:
    if found is None:
        return None
    whole = isinstance(found, Mapping) and set(found) == {"seed", "count"}
    if not whole or not isinstance(found["seed"], str) or type(found["count"]) is not int:
        raise InputError(field="sample", given=Said("something else"), wanted="a table with seed (text) and count")
    if not found["seed"].strip() or not 1 <= found["count"] <= _MOST_DRAWN:
        raise InputError(field="sample", given=found["count"], wanted=f"a seed, and a count from 1 to {_MOST_DRAWN:,}")
    return found["seed"], found["count"]


def record(book: Book, inspected: Inspected) -> Entry:
    """The entry of an inspection, and a seal over it in the same transaction.

    Raises: InputError for a moment ahead, LockedError, StorageError.
    """
    name = book.chance(8).hex()
    with book.writing() as page:
        at = page.must_have_happened(inspected.at)
        before = since(page.connection, book)
        drawn = None
        if inspected.sample is not None:
            drawn = shelving.sample_in(page.connection, book.origin, *inspected.sample, since=before).record()
        told = {
            "event": "inspected",
            "officer": dict(inspected.officer),
            "power": inspected.power,
            "scope": inspected.scope,
            "at": at,
            "with": inspected.with_,
            "findings": [one.record() for one in inspected.findings],
            "said": inspected.said,
            "sample": drawn,
            "shown": list(inspected.shown),
            "signature": inspected.signature,
            "after": {"entry": page.head.size - 1, "leaf": page.head.leaf.hex()},
        }
        held = [book.hold("inspection", told, name)]
        entry = page.append("inspection/0", about=[f"inspection/{name}"], public={}, held=held, occurred_at=at)
        page.seal()
    # From here on the book is fixed as the inspector saw it.
    return entry


def cure(book: Book, seq: int, finding: int, *, at: datetime, by: str, said: str = "") -> Entry:
    """The entry that something an inspector found was put right. seq: of the inspection's entry; finding: from 1."""
    with book.writing() as page:
        cured_at = page.must_have_happened(at)
        known = {one.seq: one for one in every(page.connection, book)}
        if seq not in known:
            raise InputError(field="inspection", given=seq, wanted="the entry of an inspection; see `inspection list`")
        if finding not in [number for number, _, _ in known[seq].open]:
            wanted = "the number of a finding that is still open"
            raise InputError(field="finding", given=finding, wanted=wanted)
        told = {"event": "cured", "finding": finding, "at": cured_at, "by": by, "said": said}
        held = [book.hold("inspection", told, known[seq].id)]
        about = [f"inspection/{known[seq].id}"]
        return page.append("inspection/0", about=about, public={}, held=held, occurred_at=cured_at)


def every(connection: sa.Connection, book: Book) -> list[Inspection]:
    """Every inspection, oldest first. Raises: LockedError."""
    mention = tables.mentions.c
    name: sa.ColumnElement[str] = mention.name
    if connection.dialect.name == "postgresql":
        name = mention.name.collate("C")  # letter by letter, as SQLite compares
    wanted = (
        sa.select(mention.name, mention.seq)
        .where(mention.book == book.origin, name >= "inspection/", name < "inspection0")
        .order_by(mention.seq)
    )
    found: dict[str, list[int]] = {}
    for about, seq in connection.execute(wanted).all():
        found.setdefault(about.removeprefix("inspection/"), []).append(seq)
    return [_inspection(connection, book, about, seqs) for about, seqs in found.items()]


def _inspection(connection: sa.Connection, book: Book, name: str, seqs: list[int]) -> Inspection:
    told = [reading.open_entry(connection, book, seq).get("inspection") for seq in seqs]
    return Inspection(name, seqs[0], told[0], tuple(one["finding"] for one in told[1:]))


def since(connection: sa.Connection, book: Book) -> int:
    """Number of the entry of the last inspection; -1 while there was none. Raises: LockedError."""
    return max((one.seq for one in every(connection, book)), default=-1)


def paper(book: Book, entry: Entry, sheet: str) -> bytes:
    """The paper that the inspector signs."""
    with engines.reading(book.engine) as connection:
        said = reading.open_parts(connection, book, entry).get("inspection")
        at = parse_local(said["at"], "at")
        shop = adopted.shop_on(connection, book.origin, at.date().isoformat())
        imprint = handing_over.imprint(
            connection, book, shop, entry, copy="Copy for both sides", recipient=said["officer"]["agency"], at=at
        )
    drawn = said["sample"]
    return inspection.draw_findings(
        inspection.Findings(
            imprint=imprint,
            officer=f"{said['officer']['name']}, number {said['officer']['number']}",
            agency=said["officer"]["agency"],
            power=said["power"],
            scope=said["scope"],
            at=wording.at(at),
            present=said["with"],
            after=(said["after"]["entry"], said["after"]["leaf"]),
            findings=tuple((one["what"], one["cure_by"] or "no day named") for one in said["findings"]),
            said=said["said"],
            shown=tuple(said["shown"]),
            sample=()
            if drawn is None
            else (
                f"Seed {drawn['seed']}: {len(drawn['drawn'])} of {drawn['population']} items, {drawn['of']}.",
                drawn["method"],
                "Drawn: " + (", ".join(one["item"] for one in drawn["drawn"]) or "none"),
            ),
            signature=said["signature"],
        ),
        sheet,
    )
