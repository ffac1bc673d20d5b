"""The report as a paper: of one purchase, of a period, or that there was nothing to report.

Its title is the one that its rule gives. A report that is made again after it left the shop says that it is corrected,
and what has changed since.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date, datetime

import sqlalchemy as sa

from ledger.acts import filing, gathering, handing_over, wording
from ledger.acts.owing import Owed
from ledger.book import duty_rows, reading
from ledger.book.pages import Book
from ledger.law import reports as law
from ledger.law.answers_times import ReportDuty
from ledger.law.rules import RuleFile
from ledger.law.rules_times import ReportRule
from ledger.shop import adopted
from reports import authority, goods, purchase
from reports.tabular import Paper


def draw(paper: Paper, sheet: str) -> bytes:
    """The report as a PDF. Raises: InputError."""
    if isinstance(paper, purchase.PurchaseReport):
        return purchase.draw(paper, sheet)
    if isinstance(paper, authority.NilReport):
        return authority.draw_nil(paper, sheet)
    return authority.draw_weekly(paper, sheet)


def values(connection: sa.Connection, book: Book, one: Owed, at: datetime) -> Paper:
    """What the report says, in whatever form.

    at: now. Raises: LockedError, InputError.
    """
    file = adopted.rule_file(connection, book.origin, one.digest)
    shop_told = adopted.told_on(connection, book.origin, one.period[:10])
    recipient = law.name_of(file, one.recipient, {"shop": shop_told})
    if one.report.startswith("purchase-"):
        whole = gathering.whole(connection, book, one.slips[0])
        recipient = law.name_of(file, one.recipient, whole.told_today)
        return replace(
            _for_authority(connection, whole, one, recipient, file.name),
            corrections=_changes(connection, book, one, [whole]),
            title=_title(one),
            report=one.report,
        )
    shop = adopted.shop_on(connection, book.origin, one.period[:10])
    imprint = handing_over.imprint(
        connection, book, shop, None, copy="Copy for the authority", recipient=recipient, at=at
    )
    source = _source(file, one)
    if not one.slips:
        return authority.NilReport(
            imprint=imprint,
            report=one.report,
            period=_period(one.period),
            recipient=recipient,
            jurisdiction=file.name,
            due=wording.at(one.due),
            source=source,
            counts=(("Purchases recorded", "0"), ("Items taken in", "0")),
            rule_files=((file.name, file.digest),),
            title=_title(one),
        )
    wholes = [gathering.whole(connection, book, number) for number in one.slips]
    return authority.WeeklyReport(
        imprint=imprint,
        report=one.report,
        period=_period(one.period),
        recipient=recipient,
        jurisdiction=file.name,
        due=wording.at(one.due),
        source=source,
        records=tuple(_record(connection, whole, one, file.name) for whole in wholes),
        rule_files=((file.name, file.digest),),
        corrections=_changes(connection, book, one, wholes),
        title=_title(one),
        totals=filing.totals(wholes),
    )


def _title(one: Owed) -> str:
    return f"Corrected: {one.title}" if one.left else one.title


def _changes(
    connection: sa.Connection, book: Book, one: Owed, wholes: Sequence[gathering.Whole]
) -> tuple[goods.Correction, ...]:
    """What was corrected; in a report that was sent before, what has changed since then, purchases that came included.

    Raises: as `draw`.
    """
    since, told = _sent_version(connection, book, one)
    corrected = (each for whole in wholes for each in _corrected(whole, one) if each.entry > since)
    return (*_added(wholes, told), *corrected)


def _corrected(whole: gathering.Whole, one: Owed) -> Iterator[goods.Correction]:
    """Corrections of one purchase as the recipient may see them; a report of several purchases says of which."""
    hidden = handing_over.hidden_from(whole, one.recipient)
    for each in handing_over.corrections(whole):
        shown = filing.withheld(each, hidden)
        of = "" if one.report.startswith("purchase-") else f"slip {whole.number}: "
        yield replace(shown, what=f"{of}{shown.what}")


def _sent_version(connection: sa.Connection, book: Book, one: Owed) -> tuple[int, frozenset[int]]:
    """Number of the entry that made the version that left the shop last, and the slips it told of; else 0 and none."""
    made = left = (0, frozenset(one.slips))
    for seq in reading.seqs_about(connection, book.origin, f"report/{one.report}"):
        entry = reading.entry_at(connection, book.origin, seq)
        step = entry.kind.partition("/")[0].removeprefix("report-")
        if step == "made":
            made = (seq, frozenset(entry.public.get("slips", ())))
        elif step in duty_rows.STEPS:
            left = made
    return left


def _added(wholes: Sequence[gathering.Whole], told: frozenset[int]) -> Iterator[goods.Correction]:
    """Purchases that the version which left the shop did not tell of."""
    for whole in wholes:
        if whole.number not in told and whole.purchase is not None:
            entry = whole.purchase.entry
            yield goods.Correction(
                f"slip {whole.number}",
                "not in the report",
                "added",
                entry.seq,
                wording.at(whole.recorded_at),
                entry.by,
                "recorded after the report had been sent",
            )


def _for_authority(
    connection: sa.Connection, whole: gathering.Whole, one: Owed, recipient: str, authority_: str
) -> purchase.PurchaseReport:
    """One purchase as a report's rules ask for it, without what its recipient must not be shown."""
    hidden = handing_over.hidden_from(whole, one.recipient)
    shown = handing_over.purchase_values(
        connection,
        whole,
        copy="Copy for the authority",
        recipient=recipient,
        asked=tuple(name for name in _asked(whole, one) if name not in hidden),
        hidden=hidden,
        authority=authority_,
    )
    return filing.for_programs(whole, filing.shown_to(shown, hidden))


def _record(connection: sa.Connection, whole: gathering.Whole, one: Owed, jurisdiction: str) -> authority.ReportRecord:
    shown = _for_authority(connection, whole, one, "", jurisdiction)
    assert whole.purchase is not None
    return authority.ReportRecord(
        slip=whole.number,
        entry=whole.purchase.entry.seq,
        occurred=shown.occurred,
        fields=shown.fields,
        items=shown.items,
        occurred_at=shown.occurred_at,
        undone=shown.undone,
    )


def _asked(whole: gathering.Whole, one: Owed) -> tuple[str, ...]:
    """Names of the facts that a report's rules ask for, in their order; all that is asked where one says nothing.

    Rules of several layers may owe one recipient the same report: then it answers all of them.
    """
    names: dict[str, None] = {}
    if one.report.startswith("request-"):
        return _on_request(whole, one)
    for duty in whole.duties.reports:
        if duty_rows.report_id(duty.record(), whole.number) == one.report:
            names |= dict.fromkeys(field.fact for field in duty.fields)
            if not _asks(whole, duty):
                names |= dict.fromkeys(handing_over.asked_by_all(whole))
    return tuple(names) or handing_over.asked_by_all(whole)


def _on_request(whole: gathering.Whole, one: Owed) -> tuple[str, ...]:
    """Names of the facts that the rule of a report on request names; all that is asked where it names none."""
    asks = next(
        (duty.asks for file in whole.files if file.digest == one.digest for duty in _rules(whole, file, one)), ()
    )
    wanted = {f"{one.jurisdiction}/{name}" for name in asks}
    found = tuple(field.fact for field in whole.duties.asks if wanted & set(field.rules))
    return found or handing_over.asked_by_all(whole)


def _rules(whole: gathering.Whole, file: RuleFile, one: Owed) -> list[ReportRule]:
    """The version of a report's rule that governed a purchase."""
    day = whole.slip.occurred_at.astimezone(file.zone or whole.slip.occurred_at.tzinfo).date()
    return [rule for rule in file.on(day) if isinstance(rule, ReportRule) and rule.id == one.rule]


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
