"""Reports as living things: owed, made, sent, received by the authority, and made again when they were corrected.

Made, sent and received are different events per recipient. A hold whose clock runs from one of them is worked out
again in the same entry, so that "waiting for the receipt" becomes a moment the instant the receipt is recorded.
"""

import hashlib
import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import sqlalchemy as sa

from ledger.acts import gathering, handing_over, leaving, wording
from ledger.book import engine as engines
from ledger.book import projections, reading, tables
from ledger.book.pages import Book, Held, Page
from ledger.chain import canonical
from ledger.chain.entries import Entry
from ledger.errors import InputError
from ledger.law import holds as law
from ledger.law import reports as law_reports
from ledger.law.answers_times import ReportDuty
from ledger.law.rules import RuleFile
from ledger.law.rules_times import ReportRule
from ledger.moments import local_text, parse_local, parse_moment
from ledger.shop import adopted
from reports import authority, purchase

OPEN = ("due", "made", "to correct")


@dataclass(frozen=True)
class Owed:
    """A report and where it stands."""

    report: str
    recipient: str
    jurisdiction: str
    rule: str
    digest: str
    period: str
    """first and last day, with a slash; the purchase's day for a report per purchase"""
    slips: tuple[int, ...]
    due: datetime
    state: str
    """due | made | sent | received | to correct"""

    def late_at(self, now: datetime) -> bool:
        """Whether it should have been sent by now and was not."""
        return self.state in OPEN and self.due < now

    def record(self) -> dict[str, Any]:
        """JSON values only."""
        return {
            "report": self.report,
            "recipient": self.recipient,
            "jurisdiction": self.jurisdiction,
            "rule": self.rule,
            "period": self.period,
            "slips": list(self.slips),
            "due": local_text(self.due),
            "state": self.state,
        }


def owed(book: Book, *, at: datetime) -> list[Owed]:
    """Reports not yet sent whose period is over, with nil reports that nothing was bought for; earliest due first.

    at: now, in the shop's zone. Needs no key.
    """
    with engines.reading(book.engine) as connection:
        known = {one.report: one for one in _known(connection, book)}
        for one in _of_periods(connection, book, at):
            known.setdefault(one.report, one)
    over = [one for one in known.values() if one.state in OPEN and _over(one, at)]
    return sorted(over, key=lambda one: (one.due, one.report))


def _over(one: Owed, at: datetime) -> bool:
    """A report about a day or week can be made once it is over; one about a purchase at once.

    One that must be there before its period is over is made on the last day.
    """
    if one.report.startswith("purchase-"):
        return True
    last = date.fromisoformat(one.period.partition("/")[2])
    midnight = datetime.combine(last + timedelta(days=1), time(), one.due.tzinfo)
    return last < at.date() or (last == at.date() and one.due <= midnight)


def _known(connection: sa.Connection, book: Book, report: str | None = None) -> Iterator[Owed]:
    """The reports that the book's tables hold, or the one with an id."""
    kept, slip = tables.reports, tables.slips.c
    wanted = sa.select(kept).where(kept.c.book == book.origin)
    for row in connection.execute(wanted if report is None else wanted.where(kept.c.report == report)).all():
        slips = tuple(canonical.decode_array(row.slips.encode()))
        period = row.period
        if not period:
            day_of = sa.select(slip.local_day).where(slip.book == book.origin, slip.slip == slips[0])
            day = connection.execute(day_of).scalar_one()
            period = f"{day}/{day}"
        yield Owed(
            row.report,
            row.recipient,
            row.jurisdiction,
            row.rule,
            row.digest,
            period,
            slips,
            parse_local(row.due, "due"),
            row.state,
        )


def _of_periods(connection: sa.Connection, book: Book, at: datetime) -> Iterator[Owed]:
    """Reports of days and weeks that are owed even if nothing was bought, since each file's first adoption."""
    files = adopted.in_force(connection, book.origin)
    first = _first_days(connection, book, at)
    day = min(first.values(), default=at.date())
    while files and day <= at.date():
        for duty in law_reports.owed(files, on=day, zone=_zone(at)):
            if duty.nil and duty.covers is not None and duty.covers[0] >= first[duty.jurisdiction]:
                record = duty.record()
                period = "/".join(record["covers"])
                yield Owed(
                    projections.report_id(record, 0),
                    duty.recipient,
                    duty.jurisdiction,
                    duty.rule,
                    duty.digest,
                    period,
                    (),
                    duty.due,
                    "due",
                )
        day += timedelta(days=1)


def _zone(at: datetime) -> ZoneInfo:
    if not isinstance(at.tzinfo, ZoneInfo):
        raise InputError(field="at", given=at.isoformat(), wanted="a moment in the shop's zone")
    return at.tzinfo


def _first_days(connection: sa.Connection, book: Book, at: datetime) -> dict[str, date]:
    """The day on which a rule file of each jurisdiction was first adopted: it governs whole periods from then on."""
    adoption = tables.adoptions.c
    wanted = (
        sa.select(adoption.jurisdiction, sa.func.min(adoption.seq))
        .where(adoption.book == book.origin)
        .group_by(adoption.jurisdiction)
    )
    found = {}
    for jurisdiction, seq in connection.execute(wanted).all():
        entry = reading.entry_at(connection, book.origin, int(seq))
        found[jurisdiction] = parse_moment(entry.recorded_at, "recorded_at").astimezone(at.tzinfo).date()
    return found


def make(book: Book, report: str, sheet: str, *, at: datetime) -> tuple[Entry, bytes]:
    """The entry that a report was made, and the paper itself, whose digest the entry holds behind a part.

    at: not ahead. A report that was made and not sent yet may be made again; it is the newest that counts.
    Raises: InputError when no such report is owed or its period is not over, LockedError.
    """
    with book.writing() as page:
        made_at = page.must_have_happened(at)
        one = _one(page.connection, book, report, at)
        if one.state not in OPEN:
            raise InputError(field="report", given=f"{report}, {one.state}", wanted="a report that is owed")
        if not _over(one, at):
            raise InputError(field="report", given=report, wanted=f"a report whose period is over; {one.period} is not")
        paper = _draw(page.connection, book, one, sheet, at)
        told = {
            "at": made_at,
            "slips": list(one.slips),
            "paper": hashlib.sha256(paper).hexdigest(),
            "duty": {
                "rule": one.rule,
                "jurisdiction": one.jurisdiction,
                "digest": one.digest,
                "recipient": one.recipient,
                "due": local_text(one.due),
            },
        }
        entry = page.append(
            "report-made/0",
            about=[f"report/{report}", *(f"slip/{slip}" for slip in one.slips)],
            public={
                "report": report,
                "period": one.period,
                "recipient": one.recipient,
                "rules": [one.digest],
                "slips": list(one.slips),
                "nil": not one.slips,
            },
            held=[book.hold("report", told, _subject(page, one)), *_moved_holds(page, one, "report-made")],
        )
        page.seal()
    # From here on the report is made; it counts as sent only when somebody says so.
    return entry, paper


def sent(book: Book, report: str, *, at: datetime, how: str) -> Entry:
    """The entry that a report went out. Raises: InputError when it was not made, or must be made again first."""
    return _event(book, report, "sent", ("made",), at, {"how": how})


def received(book: Book, report: str, *, at: datetime, who: str, reference: str = "") -> Entry:
    """The entry that the authority has a report. Raises: InputError when it was not made or sent.

    who: who confirmed it. reference: number of the receipt.
    """
    return _event(book, report, "received", ("made", "sent"), at, {"who": who, "reference": reference})


def _event(book: Book, report: str, event: str, after: Sequence[str], at: datetime, told: Mapping[str, str]) -> Entry:
    with book.writing() as page:
        happened_at = page.must_have_happened(at)
        one = _one(page.connection, book, report, at)
        if one.state not in after:
            wanted = f"a report that is {' or '.join(after)}"
            raise InputError(field="report", given=f"{report}, {one.state}", wanted=wanted)
        _must_follow(page, report, at)
        held = [book.hold("report", {"at": happened_at, **told}, _subject(page, one), "case")]
        held += _moved_holds(page, one, f"report-{event}")
        return page.append(
            f"report-{event}/0",
            about=[f"report/{report}"],
            public={"report": report},
            held=held,
            occurred_at=happened_at,
        )


def _subject(page: Page, one: Owed) -> str:
    """What the keys of a report are bound to: never a slip's number, which another book may give to another slip."""
    if not one.report.startswith("purchase-"):
        return f"report-{one.report}"
    return f"report-{reading.subject_of_slip(page.connection, page.book.origin, one.slips[0])}.{one.recipient}"


def _must_follow(page: Page, report: str, at: datetime) -> None:
    """Nothing, if the moment is not before the minute in which the report was made."""
    entries = (
        reading.entry_at(page.connection, page.book.origin, seq)
        for seq in reading.seqs_about(page.connection, page.book.origin, f"report/{report}")
    )
    made = max(entry.recorded_at for entry in entries if entry.kind.startswith("report-made/"))
    first = parse_moment(made, "recorded_at").astimezone(at.tzinfo).replace(second=0, microsecond=0)
    if at < first:
        wanted = f"a moment from {local_text(first)} on, when the report was made"
        raise InputError(field="at", given=local_text(at), wanted=wanted)


def _one(connection: sa.Connection, book: Book, report: str, at: datetime) -> Owed:
    for one in itertools.chain(_known(connection, book, report), _of_periods(connection, book, at)):
        if one.report == report:
            return one
    raise InputError(field="report", given=report, wanted="the id of a report; see `counterfoil report due`")


def _moved_holds(page: Page, one: Owed, event: str) -> list[Held]:
    """The holds that wait for this event of this recipient, worked out again, a part for each slip.

    They run from the recording, which is the later of the two moments: nobody frees goods by dating a receipt back.
    """
    made = []
    starts = f"{event}:{one.recipient}"
    for number in one.slips:
        row = reading.slip_row(page.connection, page.book.origin, number)
        waiting = [hold for hold in _holds(page, number) if hold.starts_from == starts]
        if not waiting:
            continue
        begun = _begun(page, row)
        zone = _zone(begun)
        events = {"purchase": begun, starts: page.now.astimezone(zone)}
        moved = [_renewed(page, hold, events, zone).record() for hold in waiting]
        made.append(page.book.hold("duties", {"slip": number, "holds": moved}, row.draft))
    return made


def _renewed(page: Page, hold: law.Hold, events: Mapping[str, datetime], zone: ZoneInfo) -> law.Hold:
    """The hold with its ends as the event gives them; one that ends later already, by another report, stays.

    zone: of the purchase, for a rule file that names none.
    """
    file = adopted.rule_file(page.connection, page.book.origin, hold.digest)
    again = law.renewed(hold, file, events, file.zone or zone)
    if hold.cautious is not None and again.cautious is not None and hold.cautious > again.cautious:
        return hold
    return again


def _holds(page: Page, number: int) -> list[law.Hold]:
    lines = tables.items.c
    wanted = sa.select(lines.line).where(lines.book == page.book.origin, lines.slip == number)
    return [
        hold
        for (line,) in page.connection.execute(wanted).all()
        for hold in leaving.holds_of(page.connection, page.book, number, line)
    ]


def _begun(page: Page, row: sa.Row[Any]) -> datetime:
    """The later of when the purchase happened and when it was recorded."""
    happened = parse_local(row.presented_at, "occurred_at")
    entry = reading.entry_at(page.connection, page.book.origin, row.recorded_seq)
    recorded = parse_moment(entry.recorded_at, "recorded_at").astimezone(happened.tzinfo)
    return max(happened, recorded)


def _draw(connection: sa.Connection, book: Book, one: Owed, sheet: str, at: datetime) -> bytes:
    """The report as a paper: of one purchase, of a period, or that there was nothing to report."""
    file = adopted.rule_file(connection, book.origin, one.digest)
    recipient = file.recipient_name(one.recipient)
    if one.report.startswith("purchase-"):
        whole = gathering.whole(connection, book, one.slips[0])
        return purchase.draw(_for_authority(connection, whole, one, recipient, file.name), sheet)
    shop = adopted.shop_on(connection, book.origin, one.period[:10])
    imprint = handing_over.imprint(
        connection, book, shop, None, copy="Copy for the authority", recipient=recipient, at=at
    )
    source = _source(file, one)
    if not one.slips:
        nil = authority.NilReport(
            imprint=imprint,
            report=one.report,
            period=_period(one.period),
            recipient=recipient,
            jurisdiction=file.name,
            due=wording.at(one.due),
            source=source,
            counts=(("Purchases recorded", "0"), ("Items taken in", "0")),
            rule_files=((file.name, file.digest),),
        )
        return authority.draw_nil(nil, sheet)
    wholes = [gathering.whole(connection, book, number) for number in one.slips]
    weekly = authority.WeeklyReport(
        imprint=imprint,
        report=one.report,
        period=_period(one.period),
        recipient=recipient,
        jurisdiction=file.name,
        due=wording.at(one.due),
        source=source,
        records=tuple(_record(connection, whole, one, file.name) for whole in wholes),
        rule_files=((file.name, file.digest),),
        corrections=tuple(each for whole in wholes for each in handing_over.corrections(whole)),
    )
    return authority.draw_weekly(weekly, sheet)


def _for_authority(
    connection: sa.Connection, whole: gathering.Whole, one: Owed, recipient: str, authority_: str
) -> purchase.PurchaseReport:
    """One purchase as a report's rules ask for it, without what its recipient must not be shown."""
    hidden = handing_over.hidden_from(whole, one.recipient)
    return handing_over.purchase_values(
        connection,
        whole,
        copy="Copy for the authority",
        recipient=recipient,
        asked=tuple(name for name in _asked(whole, one) if name not in hidden),
        hidden=hidden,
        authority=authority_,
    )


def _record(connection: sa.Connection, whole: gathering.Whole, one: Owed, jurisdiction: str) -> authority.ReportRecord:
    values = _for_authority(connection, whole, one, "", jurisdiction)
    assert whole.purchase is not None
    return authority.ReportRecord(
        slip=whole.number,
        entry=whole.purchase.entry.seq,
        occurred=values.occurred,
        fields=values.fields,
        items=values.items,
    )


def _asked(whole: gathering.Whole, one: Owed) -> tuple[str, ...]:
    """Names of the facts that a report's rules ask for, in their order; all that is asked where one says nothing.

    Rules of several layers may owe one recipient the same report: then it answers all of them.
    """
    names: dict[str, None] = {}
    for duty in whole.duties.reports:
        if projections.report_id(duty.record(), whole.number) == one.report:
            names |= dict.fromkeys(field.fact for field in duty.fields)
            if not _asks(whole, duty):
                names |= dict.fromkeys(handing_over.asked_by_all(whole))
    return tuple(names)


def _asks(whole: gathering.Whole, duty: ReportDuty) -> bool:
    """Whether the rule of a report names what it asks."""
    (file,) = (file for file in whole.files if file.digest == duty.digest)
    day = whole.slip.occurred_at.astimezone(file.zone or whole.slip.occurred_at.tzinfo).date()
    return any(isinstance(rule, ReportRule) and rule.id == duty.rule and bool(rule.asks) for rule in file.on(day))


def _source(file: RuleFile, one: Owed) -> str:
    """Section of the version of the rule that was in force when the period ended."""
    rules = file.on(date.fromisoformat(one.period.partition("/")[2]))
    return next(rule.source.cite for rule in rules if rule.id == one.rule)


def _period(period: str) -> str:
    first, _, last = period.partition("/")
    return first if first == last else f"{first} to {last}"
