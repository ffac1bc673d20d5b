"""Reports as living things: made, sent, delivered, received by the authority, and made again when they were corrected.

Made, sent, delivered and received are different events per recipient. A hold whose clock runs from one of them is
worked out again in the same entry, so that "waiting for the receipt" becomes a moment the instant it is recorded.
"""

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any
from zoneinfo import ZoneInfo

import sqlalchemy as sa

from ledger import moments
from ledger.acts import drawing_up, events, filing, following, owing
from ledger.acts.owing import Owed as Owed
from ledger.acts.owing import owed as owed
from ledger.book import engine as engines
from ledger.book import reading, tables
from ledger.book.pages import Book, Held, Page
from ledger.chain.entries import Entry
from ledger.errors import InputError
from ledger.law import reports as law
from ledger.law.answers_times import ReportDuty
from ledger.law.rules import RuleFile
from ledger.moments import local_text, parse_local, parse_moment
from ledger.shop import adopted, facts


def make(book: Book, report: str, sheet: str, *, at: datetime) -> tuple[Entry, bytes]:
    """The entry that a report was made, and the paper itself, whose digest the entry holds behind a part.

    at: not ahead. A report that was made and not sent yet may be made again; it is the newest that counts.
    Raises: InputError when no such report is owed or its period is not over, LockedError.
    """
    entry, files = make_in(book, report, sheet, (), at=at)
    return entry, files[PAPER]


PAPER = ".pdf"


def make_in(
    book: Book, report: str, sheet: str, forms: Sequence[str], *, at: datetime
) -> tuple[Entry, dict[str, bytes]]:
    """The same with the report in other forms beside its paper: files by the ends of their names, the paper first.

    forms: of `filing.FORMS`. Raises: as `make`.
    """
    with book.writing() as page:
        made_at = page.must_have_happened(at)
        one = owing.one_of(page.connection, book, report, at)
        if one.state not in owing.TO_BE_MADE:
            raise InputError(field="report", given=f"{report}, {one.state}", wanted="a report that is owed")
        if not owing.over(one, at):
            raise InputError(field="report", given=report, wanted=f"a report whose period is over; {one.period} is not")
        shown = drawing_up.values(page.connection, book, one, at)
        paper = drawing_up.draw(shown, sheet)
        others = filing.files(shown, forms)
        told = {
            "at": made_at,
            "slips": list(one.slips),
            "paper": hashlib.sha256(paper).hexdigest(),
            **({"files": {end: hashlib.sha256(data).hexdigest() for end, data in others.items()}} if others else {}),
            "duty": {
                "rule": one.rule,
                "jurisdiction": one.jurisdiction,
                "digest": one.digest,
                "recipient": one.recipient,
                "due": local_text(one.due),
                "title": one.title,
                "met_by": one.met_by,
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
            held=[book.hold("report", told, _subject(page, one)), *_moved(page, one, "made")],
        )
        page.seal()
    # From here on the report is made; it counts as sent only when somebody says so.
    return entry, {PAPER: paper, **others}


@dataclass(frozen=True)
class Step:
    """A step taken with a report: the entry, what was done, when, and who entered it."""

    seq: int
    step: str
    at: datetime
    by: str

    def record(self) -> dict[str, str | int]:
        """JSON values only."""
        return {"entry": self.seq, "step": self.step, "at": local_text(self.at), "by": self.by}


def history(book: Book, report: str, *, at: datetime) -> tuple[Owed, list[Step]]:
    """A report and every step that was taken with it, in the order of the book.

    at: now, in the shop's zone. Needs no key. Raises: InputError when none is known or owed.
    """
    with engines.reading(book.engine) as connection:
        one = owing.one_of(connection, book, report, at)
        entries = [
            reading.entry_at(connection, book.origin, seq)
            for seq in reading.seqs_about(connection, book.origin, f"report/{report}")
        ]
    return one, [
        Step(entry.seq, _step_of(entry), _taken_at(entry, owing.shops_zone(at)), entry.by) for entry in entries
    ]


def _step_of(entry: Entry) -> str:
    return entry.kind.partition("/")[0].removeprefix("report-")


def _taken_at(entry: Entry, zone: ZoneInfo) -> datetime:
    if entry.occurred_at is not None:
        return parse_local(entry.occurred_at, "occurred_at")
    return parse_moment(entry.recorded_at, "recorded_at").astimezone(zone)


def sent(book: Book, report: str, *, at: datetime, how: str, late_because: str = "") -> Entry:
    """The entry that a report went out.

    how: by which way. late_because: why so late, where it is.
    Raises: InputError when it was not made, or must be made again first.
    """
    told = {"how": how, **({"late_because": late_because} if late_because else {})}
    return _event(book, report, "sent", ("made",), at, told)


def delivered(book: Book, report: str, *, at: datetime, how: str) -> Entry:
    """The entry that a report arrived or was handed over. Raises: InputError when it was not made."""
    return _event(book, report, "delivered", ("made", "sent"), at, {"how": how})


def received(
    book: Book, report: str, *, at: datetime, who: str, reference: str = "", wrong: Sequence[str] = ()
) -> Entry:
    """The entry that the authority has a report. Raises: InputError when it was not made or sent.

    who: who confirmed it. reference: number of the receipt. wrong: fields that the authority says are wrong.
    """
    told = {"who": who, "reference": reference, **({"wrong": list(wrong)} if wrong else {})}
    return _event(book, report, "received", ("made", "sent", "delivered"), at, told)


def asked(book: Book, rule: str, period: str, *, at: datetime, by: str, said: str = "") -> tuple[str, Entry]:
    """The id of a report that an authority asks for, and the entry that it did. It is owed from then on.

    rule: JURISDICTION/RULE of a rule file in force. period: first and last local day of the purchases that it asks
    for, with a slash. at: when it asked; not ahead. by: who did. said: what was asked.
    Raises: InputError, NoRuleForDay, LockedError.
    """
    with book.writing() as page:
        asked_at = page.must_have_happened(at)
        file = _file_of(page, rule)
        duty = law.now(
            file,
            rule.rpartition("/")[2],
            {"purchase": at, f"request:{rule.rpartition('/')[2]}": at},
            moments.place(at.tzinfo) or owing.shops_zone(at),
            facts={"shop": adopted.told_on(page.connection, book.origin, at.date().isoformat())},
        )
        if not isinstance(duty, ReportDuty) or duty.per != "request":
            raise InputError(field="rule", given=rule, wanted="a rule for a report that is made on request")
        first, last = _days(period)
        report = f"request-{book.chance(4).hex()}.{duty.recipient}"
        told = {
            "at": asked_at,
            "by": by,
            "said": said,
            "slips": _slips_between(page, first, last),
            "duty": {name: duty.record()[name] for name in _OF_A_DUTY},
        }
        entry = page.append(
            "report-asked/0",
            about=[f"report/{report}"],
            public={
                "report": report,
                "period": f"{first}/{last}",
                "recipient": duty.recipient,
                "rules": [file.digest],
            },
            held=[book.hold("report", told, f"report-{report}", "case")],
            occurred_at=asked_at,
        )
    # From here on the report is owed.
    return report, entry


_OF_A_DUTY = ("rule", "jurisdiction", "digest", "recipient", "due", "title", "met_by")


def _file_of(page: Page, rule: str) -> RuleFile:
    place = rule.rpartition("/")[0]
    known = {file.jurisdiction: file for file in adopted.in_force(page.connection, page.book.origin)}
    if place not in known:
        raise InputError(field="rule", given=rule, wanted="JURISDICTION/RULE of a rule file in force")
    return known[place]


def _days(period: str) -> tuple[str, str]:
    first, _, last = period.partition("/")
    days = (facts.day_of(first, "period"), facts.day_of(last or first, "period"))
    if days[0] > days[1]:
        raise InputError(field="period", given=period, wanted="two days with a slash between, the earlier first")
    return days


def _slips_between(page: Page, first: str, last: str) -> list[int]:
    slip = tables.slips.c
    wanted = sa.select(slip.slip).where(
        slip.book == page.book.origin, slip.recorded_seq.is_not(None), slip.local_day.between(first, last)
    )
    return [int(number) for (number,) in page.connection.execute(wanted.order_by(slip.slip))]


def extended(book: Book, report: str, *, at: datetime, by: str, said: str = "", failed: bool = False) -> Entry:
    """The entry that a report has more time: its recipient gave it, or the usual way failed.

    at: when; not ahead. by: who gave it, or says that the way failed. failed: whether the way failed; what may be done
    instead and by when follows from the rule.
    Raises: InputError where the rule gives no more time.
    """
    with book.writing() as page:
        given_at = page.must_have_happened(at)
        one = owing.one_of(page.connection, book, report, at)
        duty = _with_more_time(page, one, at, "failed" if failed else "extended")
        told = {
            "event": "failed" if failed else "extended",
            "at": given_at,
            "by": by,
            "said": said,
            "due": local_text(max(duty.due, one.due)),
        }
        held = [book.hold("report", told, _subject(page, one), "case")]
        held += following.moved(page, one.slips, [f"{told['event']}:{one.rule}"])
        return page.append(
            "report-extended/0",
            about=[f"report/{report}"],
            public={"report": report},
            held=held,
            occurred_at=given_at,
        )


def _with_more_time(page: Page, one: Owed, at: datetime, event: str) -> ReportDuty:
    """The report as its rule makes it due with more time. Raises: InputError where the rule gives none."""
    connection, book = page.connection, page.book.origin
    file = adopted.rule_file(connection, book, one.digest)
    zone = moments.place(at.tzinfo) or owing.shops_zone(at)
    known = _begun(page, one, zone)
    shop = {"shop": adopted.told_on(connection, book, at.date().isoformat())}
    duty = law.now(file, one.rule, {**known, f"{event}:{one.rule}": at}, zone, facts=shop)
    given = isinstance(duty, ReportDuty) and (duty.failure if event == "failed" else duty.extension)
    if not isinstance(duty, ReportDuty) or given is None:
        raise InputError(field="report", given=one.report, wanted="a report for which its rule gives more time")
    return duty


def _begun(page: Page, one: Owed, zone: ZoneInfo) -> dict[str, datetime]:
    """The events from which the time of a report runs: its purchase, its request, or the first day of its period."""
    connection, book = page.connection, page.book.origin
    if one.report.startswith("purchase-"):
        return events.of_slip(connection, book, one.slips[0])
    if one.report.startswith("request-"):
        seq = reading.seqs_about(connection, book, f"report/{one.report}")[0]
        asked_at = parse_local(str(reading.entry_at(connection, book, seq).occurred_at), "occurred_at")
        return {"purchase": asked_at, f"request:{one.rule}": asked_at}
    return {"purchase": datetime.combine(date.fromisoformat(one.period[:10]), time(), zone)}


def _event(book: Book, report: str, event: str, after: Sequence[str], at: datetime, told: Mapping[str, Any]) -> Entry:
    with book.writing() as page:
        happened_at = page.must_have_happened(at)
        one = owing.one_of(page.connection, book, report, at)
        if one.state not in after:
            wanted = f"a report that is {' or '.join(after)}"
            raise InputError(field="report", given=f"{report}, {one.state}", wanted=wanted)
        _must_follow(page, report, at)
        held = [book.hold("report", {"at": happened_at, **told}, _subject(page, one), "case")]
        held += _moved(page, one, event)
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


def _moved(page: Page, one: Owed, step: str) -> list[Held]:
    """The holds that this step of the report moves, a part for each slip."""
    return following.moved(page, one.slips, [f"report-{step}:{one.recipient}"])
