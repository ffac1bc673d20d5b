"""What the shop has before it today: slips, money owed, what may leave, what is due, how far the newest seal has gone.

Decides: what belongs on the day's page, and who sees it: a clerk her own slips, and what any clerk may do; an owner
all. Nothing of a seller is told. What only the vault knows, orders of authorities, is told as far as it is open.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

import sqlalchemy as sa

from ledger.acts import holding, leaving, ordered, owing, tasking
from ledger.acts.owing import Owed
from ledger.acts.tasking import Task
from ledger.book import engine as engines
from ledger.book import reading, tables
from ledger.book.pages import Book
from ledger.chain import seals
from ledger.chain.entries import Entry
from ledger.law.counting import utc
from ledger.measures import Money
from ledger.moments import parse_local, parse_moment
from ledger.shop import adopted
from ledger.shop import facts as shop_facts
from ledger.vault import keys_file

ON_PAPER = ("purchase", "extract", "inspection", "report-sent", "report-delivered", "report-received")
"""kinds of entry whose paper carries a seal out of the shop: stub, extract, inspector's copy, report"""
_LONG_WITHOUT_SEAL = timedelta(days=7)
_SOON = timedelta(days=14)


@dataclass(frozen=True)
class Visit:
    """A slip of the day."""

    slip: int
    at: datetime
    state: str
    items: int
    total: Money | None
    staff: str


@dataclass(frozen=True)
class Debt:
    """Money that is owed for goods, since when, by which instrument."""

    slip: int
    amount: Money
    instrument: str
    state: str
    """owed | failed | reissued"""
    since: datetime


@dataclass(frozen=True)
class Leaving:
    """An item of the stock from whose side nothing, or nothing more, forbids that it leaves."""

    slip: int
    line: int
    words: str
    place: str
    since: datetime | None
    """the moment from which it may leave, the cautious reading; None: no rule held it"""


@dataclass(frozen=True)
class Outside:
    """How far the book's newest seal has left the shop, on paper that somebody else keeps."""

    seal: str
    """the newest seal in its short form; empty before the first"""
    on_paper: datetime | None
    """when the last stub, report or extract went out; None: none did"""
    entries_since: int
    """entries that no paper outside vouches for"""
    closed: date | None
    """the day that was closed last"""


@dataclass(frozen=True)
class Today:
    """All of it."""

    at: datetime
    slips: tuple[Visit, ...]
    owed: tuple[Debt, ...]
    free: tuple[Leaving, ...]
    """may leave now, oldest first"""
    free_today: tuple[Leaving, ...]
    """of these, what became free today; and what will before midnight"""
    held: int
    waiting: int
    """of the held ones, how many wait for something that has not happened"""
    ordered: int | None
    """of the held ones, how many an authority's order holds; None while the book is locked"""
    reports: tuple[Owed, ...]
    tasks: tuple[Task, ...]
    outside: Outside
    warnings: tuple[str, ...]

    @property
    def late(self) -> int:
        """Reports that are late."""
        return sum(one.late_at(self.at) for one in self.reports)


def today(book: Book, *, at: datetime, role: str, staff: str) -> Today:
    """What is before the shop at a moment. at: now, in the shop's zone. role: clerk | owner. staff: who looks.

    Raises: InputError for a moment without a named zone.
    """
    owner = role == "owner"
    reports = owing.owed(book, at=at)
    tasks = [one for one in tasking.open_tasks(book, at=at) if owner or one.who != "owner"]
    with engines.reading(book.engine) as connection:
        slips = tuple(one for one in _slips(connection, book.origin, at.date()) if owner or one.staff == staff)
        free, held, waiting, on_order = _stock(connection, book, at)
        return Today(
            at=at,
            slips=slips,
            owed=tuple(_owed(connection, book.origin)),
            free=tuple(one for one in free if one.since is None or utc(one.since) <= utc(at)),
            free_today=tuple(one for one in free if _on(one.since, at)),
            held=held,
            waiting=waiting,
            ordered=on_order,
            reports=tuple(reports),
            tasks=tuple(tasks),
            outside=outside(connection, book, at),
            warnings=tuple(_warnings(connection, book, at)) if owner else (),
        )


def _slips(connection: sa.Connection, book: str, day: date) -> Iterator[Visit]:
    """The slips of a local day, in order."""
    slip = tables.slips.c
    wanted = sa.select(tables.slips).where(slip.book == book, slip.local_day == day.isoformat()).order_by(slip.slip)
    for row in connection.execute(wanted).all():
        total = None if row.currency is None else Money(row.currency, row.total_minor)
        by = reading.entry_at(connection, book, row.recorded_seq or row.presented_seq).by
        yield Visit(row.slip, parse_local(row.presented_at, "at"), row.state, row.items, total, by)


def _owed(connection: sa.Connection, book: str) -> Iterator[Debt]:
    """Money that is not with its payee, of slips that were not undone, oldest first."""
    payout, slip = tables.payouts.c, tables.slips.c
    here = sa.and_(slip.book == payout.book, slip.slip == payout.slip)
    wanted = (
        sa.select(tables.payouts)
        .join(tables.slips, here)
        .where(payout.book == book, payout.state.in_(("owed", "failed", "reissued")), slip.state == "recorded")
        .order_by(payout.slip, payout.payout)
    )
    for row in connection.execute(wanted).all():
        amount = Money(row.currency, row.minor)
        yield Debt(row.slip, amount, row.instrument, row.state, parse_local(row.at, "at"))


def _stock(connection: sa.Connection, book: Book, at: datetime) -> tuple[list[Leaving], int, int, int | None]:
    """What may leave now or before midnight, and of the rest how many are held, wait, or stand under an order.

    Rules are read off the tables in one go; only items that an order names are weighed one by one.
    """
    item = tables.items.c
    wanted = sa.select(item.slip, item.line, item.words, item.place).where(
        item.book == book.origin, item.state == "in stock"
    )
    ends = leaving.ends_of(connection, book.origin)
    under = None if book.keys is None else _under_order(connection, book, at)
    midnight = datetime.combine(at.date() + timedelta(days=1), time(), at.tzinfo)
    free: list[Leaving] = []
    held = waiting = on_order = 0
    for row in connection.execute(wanted.order_by(item.slip, item.line)).all():
        waits, end = ends.get((row.slip, row.line), (False, None))
        one = None if under is None else under.get((row.slip, row.line))
        if one is not None:
            waits, end = one.waiting_for is not None, one.cautious
            on_order += bool(one.orders)
        is_free = not waits and (end is None or utc(end) <= utc(at))
        held += not is_free
        waiting += waits
        if not waits and (end is None or utc(end) < utc(midnight)):
            free.append(Leaving(row.slip, row.line, row.words, row.place, end))
    return free, held, waiting, None if under is None else on_order


def _on(moment: datetime | None, at: datetime) -> bool:
    """Whether a moment lies on the shop's day of another one."""
    return moment is not None and moment.astimezone(at.tzinfo).date() == at.date()


def _under_order(connection: sa.Connection, book: Book, at: datetime) -> dict[tuple[int, int], holding.Standing]:
    """The items in stock that orders name, as they stand under them."""
    named = {
        (int(slip), int(line)) for given in ordered.standing(connection, book) for slip, line in given.said["items"]
    }
    return {one: holding.standing_of(connection, book, *one, at=at) for one in sorted(named)}


def outside(connection: sa.Connection, book: Book, at: datetime) -> Outside:
    """How far the newest seal has gone. at: now, in the shop's zone."""
    note = reading.newest_seal(connection, book.origin)
    size = reading.size(connection, book.origin)
    last = _last_on_paper(connection, book.origin, size)
    days = tables.days.c
    closed = connection.execute(sa.select(sa.func.max(days.day)).where(days.book == book.origin)).scalar()
    sealed = None if note is None else seals.read_seal(note)
    return Outside(
        "" if sealed is None else seals.short_form(sealed.size, sealed.root),
        None if last is None else last[1].astimezone(at.tzinfo),
        size if last is None else size - 1 - last[0],
        None if closed is None else date.fromisoformat(closed),
    )


def _last_on_paper(connection: sa.Connection, book: str, size: int) -> tuple[int, datetime] | None:
    """The last entry that a paper outside vouches for, and when that paper went; looked for from the book's end.

    A report vouches for the book as it stood when it was made, though it leaves later.
    """
    for seq in range(size - 1, -1, -1):
        entry = reading.entry_at(connection, book, seq)
        kind = entry.kind.partition("/")[0]
        if kind in ON_PAPER:
            gone = parse_moment(entry.recorded_at, "recorded_at")
            return (_made(connection, book, entry) if kind.startswith("report-") else seq), gone
    return None


def _made(connection: sa.Connection, book: str, sent: Entry) -> int:
    """Number of the entry that made the report which an entry sends."""
    earlier = reading.seqs_about(connection, book, f"report/{sent.public['report']}")
    kinds = {seq: reading.entry_at(connection, book, seq).kind for seq in earlier if seq < sent.seq}
    return max(seq for seq, kind in kinds.items() if kind.startswith("report-made/"))


def _warnings(connection: sa.Connection, book: Book, at: datetime) -> Iterator[str]:
    """What is to be mended and would be told nowhere else, in sentences that end with what to do."""
    files = adopted.in_force(connection, book.origin)
    if not files:
        yield "No rule file is adopted, so the program knows no law: adopt one on the page of rules."
    for file in files:
        if old := file.stale_on(at.date()):
            yield f"{old}: compare it with the law again, and adopt it anew."
        elif file.checked_until <= at.date() + _SOON:
            yield f"{file.name} was compared with the law until {file.checked_until}: compare it again before that day."
    if blank := shop_facts.unfilled(adopted.shop_on(connection, book.origin, at.date().isoformat())):
        form = " and ".join(blank)
        yield f"{form} of the shop stand as in the form: fill in shop.toml, then run `counterfoil shop facts` with it."
    if known := keys_file.known_to_former_owners(book.folder / "keys.json"):
        yield f"An owner who left could know the keys of {', '.join(known)}: reset their pass-phrases."
    yield from _of_seals(outside(connection, book, at), at)


def _of_seals(gone: Outside, at: datetime) -> Iterator[str]:
    if gone.entries_since and (gone.on_paper is None or at - gone.on_paper > _LONG_WITHOUT_SEAL):
        since = "ever" if gone.on_paper is None else f"since {gone.on_paper.date()}"
        yield f"No paper with a seal left the shop {since}: give a printed seal to somebody who keeps it."
    if gone.closed is not None and at.date() - gone.closed > _LONG_WITHOUT_SEAL:
        yield f"No day was closed since {gone.closed}: close it today."


def states(slips: Sequence[Visit]) -> list[tuple[str, int]]:
    """How many slips stand in each state, by its name."""
    return sorted(Counter(one.state for one in slips).items())
