"""Reports as living things: made, sent, delivered, received by the authority, and made again when they were corrected.

Made, sent, delivered and received are different events per recipient. A hold whose clock runs from one of them is
worked out again in the same entry, so that "waiting for the receipt" becomes a moment the instant it is recorded.
"""

import hashlib
from collections.abc import Mapping, Sequence
from datetime import datetime

from ledger.acts import drawing_up, following, owing
from ledger.acts.owing import Owed as Owed
from ledger.acts.owing import owed as owed
from ledger.book import reading
from ledger.book.pages import Book, Held, Page
from ledger.chain.entries import Entry
from ledger.errors import InputError
from ledger.moments import local_text, parse_moment


def make(book: Book, report: str, sheet: str, *, at: datetime) -> tuple[Entry, bytes]:
    """The entry that a report was made, and the paper itself, whose digest the entry holds behind a part.

    at: not ahead. A report that was made and not sent yet may be made again; it is the newest that counts.
    Raises: InputError when no such report is owed or its period is not over, LockedError.
    """
    with book.writing() as page:
        made_at = page.must_have_happened(at)
        one = owing.one_of(page.connection, book, report, at)
        if one.state not in owing.TO_BE_MADE:
            raise InputError(field="report", given=f"{report}, {one.state}", wanted="a report that is owed")
        if not owing.over(one, at):
            raise InputError(field="report", given=report, wanted=f"a report whose period is over; {one.period} is not")
        paper = drawing_up.draw(page.connection, book, one, sheet, at)
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
    return entry, paper


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


def received(book: Book, report: str, *, at: datetime, who: str, reference: str = "") -> Entry:
    """The entry that the authority has a report. Raises: InputError when it was not made or sent.

    who: who confirmed it. reference: number of the receipt.
    """
    told = {"who": who, "reference": reference}
    return _event(book, report, "received", ("made", "sent", "delivered"), at, told)


def _event(book: Book, report: str, event: str, after: Sequence[str], at: datetime, told: Mapping[str, str]) -> Entry:
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
