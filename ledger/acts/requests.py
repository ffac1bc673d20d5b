"""Every request of an authority goes through a log: what came, what was decided, what was handed over, what is owed.

The entry names only the request's own random id; officer, case and scope lie in the vault. What follows later refers
to the same id. While something is secret, nothing that reads this log for a screen or a paper is told of it. A
preservation, an open request and a standing order keep what they name from being forgotten.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from ledger.acts import ordered
from ledger.acts.requested import OFFICER, UNTIL_LIFTED, Requested, Step
from ledger.book import reading, tables
from ledger.book.pages import Book, Page
from ledger.chain.entries import Entry
from ledger.errors import InputError
from ledger.moments import parse_local

_ENDS = ("closed", "released")
_NO_POWER = ("preservation", "release")
"""kinds that ask for nothing to be shown, so that they reach nobody's data"""


@dataclass(frozen=True)
class Process:
    """A request with everything that followed it."""

    id: str
    seq: int
    said: Mapping[str, Any]
    steps: tuple[Mapping[str, Any], ...]

    def of(self, event: str) -> list[Mapping[str, Any]]:
        """The steps of one kind, in order."""
        return [step for step in self.steps if step["event"] == event]

    @property
    def officer(self) -> str:
        """Who made it: name, badge, agency and telephone, as far as they are known."""
        return ", ".join(self.said["officer"][name] for name in OFFICER if self.said["officer"][name])

    @property
    def items(self) -> tuple[str, ...]:
        """The items that it names, SLIP/LINE."""
        return tuple(self.said["items"])

    @property
    def decision(self) -> Mapping[str, Any] | None:
        """What was decided last; None while nothing is."""
        decided = [self.said["decision"], *(step["decision"] for step in self.of("decided"))]
        return next((one for one in reversed(decided) if one is not None), None)

    @property
    def state(self) -> str:
        """closed | released | given | narrowed | refused | open."""
        ended = next((step["event"] for step in reversed(self.steps) if step["event"] in _ENDS), "")
        return ended or ("open" if self.decision is None else str(self.decision["state"]))

    @property
    def ended(self) -> bool:
        """Whether it was closed, or released by whoever made it."""
        return self.state in _ENDS

    def secret_at(self, at: datetime) -> bool:
        """Whether nobody may learn of it at a moment, as far as was told so far."""
        until = next((step["until"] for step in reversed(self.of("secrecy"))), self.said["secret_until"])
        return until is not None and (until == UNTIL_LIFTED or at < parse_local(until, "secret_until"))

    @property
    def follow_ups(self) -> list[tuple[str, datetime]]:
        """What is still to be done by when, soonest first."""
        owed = [*self.said["follow_up"], *(one for step in self.of("taken") for one in step["follow_up"])]
        done = [step["what"] for step in self.of("followed-up")]
        left = [(str(one["what"]), parse_local(one["due"], "due")) for one in owed if one["what"] not in done]
        return [] if self.ended else sorted(left, key=lambda one: one[1])

    def preserves(self, at: datetime) -> bool:
        """Whether it asks that something be kept, and that has not ended at a moment."""
        asked = self.said["preserve"]
        if asked is None or self.ended or self.of("preservation-ended"):
            return False
        return asked["until"] is None or at < parse_local(asked["until"], "until")


def record(book: Book, asked: Requested) -> tuple[str, Entry]:
    """The id of a request, and the entry that it came.

    Raises: InputError for a moment ahead, or an item, slip or entry that the book has not; LockedError, StorageError.
    """
    name = book.chance(8).hex()
    with book.writing() as page:
        received = page.must_have_happened(asked.received, "received")
        for slip, line in asked.items:
            reading.item_row(page.connection, book.origin, slip, line)
        for one in () if asked.preserve is None else asked.preserve.names:
            _must_exist(page, one)
        told = asked.record()
        if asked.decision is not None:
            told["decision"] = _with_digests(page, asked.decision.record())
        entry = append(page, name, told, occurred_at=received)
    # From here on it stands in the book what was asked and on what power.
    return name, entry


def note(book: Book, name: str, step: Step) -> Entry:
    """The entry that something followed a request. Raises: InputError for a request that there is not or that ended."""
    with book.writing() as page:
        at = page.must_have_happened(step.at)
        known = one(page.connection, book, name)
        if known.ended:
            raise InputError(field="process", given=f"{name}, {known.state}", wanted="a request that has not ended")
        told = step.record()
        if step.event == "decided":
            told["decision"] = _with_digests(page, told["decision"])
        if step.event == "followed-up" and step.record()["what"] not in [what for what, _ in known.follow_ups]:
            wanted = "one of " + (", ".join(repr(what) for what, _ in known.follow_ups) or "nothing: none is owed")
            raise InputError(field="what", given=step.record()["what"], wanted=wanted)
        return append(page, name, told, occurred_at=at)


def append(page: Page, name: str, told: Mapping[str, Any], *, occurred_at: str | None = None) -> Entry:
    """One entry of a request, inside a transaction that may do more."""
    held = [page.book.hold("process", dict(told), name)]
    return page.append("process/0", about=[f"process/{name}"], public={}, held=held, occurred_at=occurred_at)


def _with_digests(page: Page, decision: Mapping[str, Any]) -> dict[str, Any]:
    """A decision with the leaf hash of each entry that it names, and the manifest of an extract."""
    found = []
    for seq in decision["entries"]:
        entry = reading.entry_at(page.connection, page.book.origin, seq)
        manifest = {name: entry.public[name] for name in ("manifest",) if name in entry.public}
        found.append({"entry": seq, "leaf": entry.leaf.hex(), **manifest})
    return {**decision, "entries": found}


def _must_exist(page: Page, name: str) -> None:
    """Raises: InputError for a slip or an item that the book has not; other names are taken as they are."""
    kind, *numbers = name.split("/")
    wanted = {"slip": 1, "item": 2}.get(kind)
    if wanted is None:
        return
    numbers = [number.partition(".")[0] for number in numbers]
    if len(numbers) != wanted or not all(number.isascii() and number.isdigit() for number in numbers):
        raise InputError(field="preserve.names", given=name, wanted='names such as "slip/12" or "item/14/2"')
    if kind == "slip":
        reading.slip_row(page.connection, page.book.origin, int(numbers[0]))
    else:
        reading.item_row(page.connection, page.book.origin, int(numbers[0]), int(numbers[1]))


def every(connection: sa.Connection, book: Book) -> list[Process]:
    """Every request, oldest first, secret ones among them. Raises: LockedError."""
    found: dict[str, list[int]] = {}
    for name, seq in _named(connection, book.origin):
        found.setdefault(name, []).append(seq)
    read = [_process(connection, book, name, seqs) for name, seqs in found.items()]
    return sorted(read, key=lambda one: one.seq)


def on_screen(connection: sa.Connection, book: Book, *, at: datetime) -> list[Process]:
    """Those that are not secret at a moment, oldest first. Raises: LockedError."""
    return [one for one in every(connection, book) if not one.secret_at(at)]


def one(connection: sa.Connection, book: Book, name: str) -> Process:
    """One request. Raises: InputError when there is none of this id, LockedError."""
    seqs = reading.seqs_about(connection, book.origin, f"process/{name}")
    if not seqs:
        raise unknown(name)
    return _process(connection, book, name, seqs)


def unknown(name: str) -> InputError:
    """The error that there is no such request: the same for one that is secret."""
    return InputError(field="process", given=name, wanted="the id of a request in this book; see `process list`")


def _named(connection: sa.Connection, book: str) -> Iterator[tuple[str, int]]:
    """Ids of requests with the numbers of their entries, in order."""
    mention = tables.mentions.c
    name: sa.ColumnElement[str] = mention.name
    if connection.dialect.name == "postgresql":
        name = mention.name.collate("C")  # letter by letter, as SQLite compares
    wanted = (
        sa.select(mention.name, mention.seq)
        .where(mention.book == book, name >= "process/", name < "process0")
        .order_by(mention.seq)
    )
    for found, seq in connection.execute(wanted).all():
        yield str(found).removeprefix("process/"), int(seq)


def _process(connection: sa.Connection, book: Book, name: str, seqs: Sequence[int]) -> Process:
    told = [reading.open_entry(connection, book, seq).get("process") for seq in seqs]
    return Process(name, seqs[0], told[0], tuple(told[1:]))


@dataclass(frozen=True)
class Keeping:
    """Why something must not be forgotten yet. Whose wish it is stands in the log alone."""

    by: str
    """preservation | request | order"""
    id: str
    until: datetime | None = None


@dataclass(frozen=True)
class Kept:
    """Everything that keeps something at a moment, read once: for whoever asks about many subjects."""

    everything: tuple[Keeping, ...]
    by_name: Mapping[str, tuple[Keeping, ...]]

    def of(self, name: str) -> tuple[Keeping, ...]:
        """What keeps one subject, named as in `preserved`."""
        return (*self.everything, *self.by_name.get(_whole(name), ()))


KEPT_SAYS = "It must be kept: a preservation, an open request or an order names it."
"""what a person is told, whatever it is, so that it betrays nothing"""


def preserved(connection: sa.Connection, book: Book, name: str, *, at: datetime) -> tuple[Keeping, ...]:
    """What keeps a subject from being forgotten at a moment; nothing: it may be, as far as requests go.

    name: as entries name it, "slip/12", "item/12/1" (which stands for its whole slip, since one key holds both),
    "report/...". A preservation keeps what it names, or everything, until its end; a request that is neither refused
    nor closed keeps the items that it names; a standing order keeps the items that it holds.
    Raises: LockedError.
    """
    return kept(connection, book, at=at).of(name)


def kept(connection: sa.Connection, book: Book, *, at: datetime) -> Kept:
    """What keeps which subjects from being forgotten at a moment, as `preserved` says it. Raises: LockedError."""
    everything: list[Keeping] = []
    named: dict[str, list[Keeping]] = {}

    def keep(why: Keeping, names: Iterable[str]) -> None:
        for name in {_whole(one) for one in names}:
            named.setdefault(name, []).append(why)

    for known in every(connection, book):
        asked = known.said["preserve"]
        if known.preserves(at):
            until = None if asked["until"] is None else parse_local(asked["until"], "until")
            why = Keeping("preservation", known.id, until)
            everything += [why] if asked["everything"] else []
            keep(why, () if asked["everything"] else asked["names"])
        if not known.ended and known.state != "refused" and known.said["kind"] not in _NO_POWER:
            keep(Keeping("request", known.id), [f"item/{item}" for item in known.items])
    for order in ordered.standing(connection, book):
        items = [f"item/{slip}/{line}" for slip, line in order.said["items"]]
        keep(Keeping("order", order.id, order.until), items)
    return Kept(tuple(everything), {name: tuple(why) for name, why in named.items()})


def _whole(name: str) -> str:
    """The slip of an item; every other name as it is."""
    kind, _, rest = name.partition("/")
    return f"slip/{rest.partition('/')[0]}" if kind == "item" else name


def must_reach(connection: sa.Connection, book: Book, name: str, items: Sequence[tuple[int, int]]) -> Process:
    """The request on whose power persons' data of some items may be shown.

    Raises: InputError unless somebody decided that its power reaches persons, it stands, and it names these items or
    none at all.
    """
    known = one(connection, book, name)
    decision = known.decision
    if known.ended or known.said["kind"] in _NO_POWER or decision is None or not decision["people"]:
        wanted = "a request that stands and of which somebody decided, in `process note`, that it reaches persons' data"
        raise InputError(field="process", given=name, wanted=wanted)
    beyond = [f"{slip}/{line}" for slip, line in items if known.items and f"{slip}/{line}" not in known.items]
    if beyond:
        wanted = f"items that request {name} names: {', '.join(known.items)}"
        raise InputError(field="items", given=", ".join(beyond), wanted=wanted)
    return known


def hand_over(page: Page, name: str, entry: Entry, *, parties: bool) -> Entry:
    """The entry that something was handed over on a request, with its digest, in the same transaction as that."""
    handed = {
        "entry": entry.seq,
        "leaf": entry.leaf.hex(),
        **{k: v for k, v in entry.public.items() if k == "manifest"},
    }
    return append(page, name, {"event": "handed", "by": page.book.by, "parties": parties, **handed})
