"""Reports: what is owed to whom, and by when.

Decides: the deadline of a report rule for a purchase, a request or a period, under whose name the recipient is
printed, how much longer an extension or a failure gives, and which reports of a day, week, quarter or year are owed
whether or not anything was bought. Leaves to the book what was made, sent and received, and to the papers how a
report looks. A deadline at the end of a day is the midnight after it; the earliest reading governs.
"""

from collections.abc import Mapping, Sequence
from datetime import date, datetime, time
from typing import Any
from zoneinfo import ZoneInfo

from ledger import moments
from ledger.errors import NoRuleForDay
from ledger.law.answers import AskField
from ledger.law.answers_times import Extra, ReportDuty
from ledger.law.clocks import Clock, Ends, Events, clock_of
from ledger.law.counting import Span, deadline, instant, outermost
from ledger.law.facts import FACTS, Unknown
from ledger.law.judging import scope
from ledger.law.rules import RuleFile
from ledger.law.rules_times import ReportRule

PER_PERIOD = ("day", "week", "quarter", "year")


def report(
    clock: Clock, rule: ReportRule, frame: Mapping[str, Any], fields: Sequence[AskField], asked: Mapping[str, Any]
) -> ReportDuty | Ends:
    """The report that a rule asks for, or what its deadline waits for; nothing is waited for where there is no day.

    frame: the facts of the slip, for the recipient's name. Raises: NoRuleForDay where a day off must be known outside
    the calendar.
    """
    found = clock.due(rule.due, rule.per)
    if found.plain is None or found.bound is None:
        return found
    file = clock.file
    extension = failure = None
    plain, due, trace = found.plain, found.bound, dict(found.trace)
    if rule.extension is not None:
        longer = _longer(rule.extension.span, plain, due, clock)
        extension = Extra(rule.extension.says, until=longer[1], ask=rule.extension.ask)
        if f"extended:{rule.id}" in clock.events:
            (plain, due), trace = longer, trace | {"extended": extension.record()}
    if rule.failure is not None:
        failure = Extra(rule.failure.says, rule.failure.instead)
        failed = clock.happened(f"failed:{rule.id}", later=False)
        if not isinstance(failed, str):
            trace["failed"] = failed.plain.isoformat()
            if rule.failure.span is not None:
                again = _longer(rule.failure.span, failed.plain, failed.bound, clock)
                plain, due = (outermost(pair, later=True) for pair in zip((plain, due), again, strict=True))
    return ReportDuty(
        rule=rule.id,
        jurisdiction=file.jurisdiction,
        digest=file.digest,
        layer=file.layer,
        recipient=rule.to,
        recipient_name=name_of(file, rule.to, frame),
        per=rule.per,
        covers=found.covers,
        due=due,
        due_plain=plain,
        copies=rule.copies,
        title=rule.title,
        nil=rule.nil,
        fields=tuple(fields),
        source=rule.source.cite,
        basis=rule.source.basis,
        trace={"inputs": dict(asked), "version_from": rule.first.isoformat(), **trace},
        url=rule.source.url,
        met_by=rule.met_by,
        manner=rule.manner,
        extension=extension,
        failure=failure,
        replaced_by=rule.replaced_by,
        rests_on_memory=rule.memory,
    )


def _longer(span: Span, plain: datetime, due: datetime, clock: Clock) -> tuple[datetime, datetime]:
    """A deadline moved by a span, plain and earliest."""
    found = deadline(span, plain, clock.calendar(span.calendar), clock.zone, bound=due, ended=True)
    return found.plain, found.cautious


def name_of(file: RuleFile, recipient: str, frame: Mapping[str, Any]) -> str:
    """The recipient's name as the paper prints it.

    The shop's own agency of that id or role goes before the file's name; a fact that is known completes the name.
    """
    declared = next((one for one in file.recipients if one.id == recipient), None)
    if declared is None:
        return recipient
    shop = frame.get("shop", {})
    own = shop.get("recipients", {}).get(recipient) or shop.get("agencies", {}).get(declared.role)
    if own:
        return str(own)
    of = FACTS[declared.named_by].read(frame) if declared.named_by else None
    return declared.name if of is None or isinstance(of, Unknown) else f"{declared.name} of {of}"


def owed(
    files: Sequence[RuleFile], *, on: date, zone: ZoneInfo, facts: Mapping[str, Any] | None = None
) -> tuple[ReportDuty, ...]:
    """The reports per day, week, quarter and year whose period holds the day `on`, in the order of the files.

    facts: facts of the shop, for rules that ask about it. A rule whose condition is not decided counts as owed.
    Those with `nil` are owed even if nothing was bought. Raises: NoRuleForDay before a file's first day.
    """
    found = []
    for file in files:
        if on < file.known_from:
            raise NoRuleForDay(
                jurisdiction=file.jurisdiction, on=on.isoformat(), why=f"it answers from {file.known_from}"
            )
        here = moments.place(zone) or file.zone or zone
        clock = clock_of(file, {"purchase": instant(on, time(0), here, later=False)}, here, facts or {})
        for rule in file.on(on):
            if isinstance(rule, ReportRule) and rule.per in PER_PERIOD:
                ground = scope(rule, facts or {})
                if ground.applies is not False:
                    made = report(clock, rule, facts or {}, (), ground.asked)
                    found += [made] if isinstance(made, ReportDuty) else []
    return tuple(found)


def now(
    file: RuleFile,
    rule_id: str,
    events: Events,
    zone: ZoneInfo,
    *,
    facts: Mapping[str, Any] | None = None,
    fields: Sequence[AskField] = (),
    others: Sequence[RuleFile] = (),
) -> ReportDuty | str:
    """A report as the events known now make it due; or the event that it still waits for.

    events: "purchase" must be there: its local day chooses the version; besides those of `ledger.law.clocks`,
    "request:ID", "extended:RULE" (granted) and "failed:RULE" count. For a request without a purchase, hand in the
    moment of the request as "purchase" too. Raises: NoRuleForDay if the file has no such report on that day.
    """
    clock = clock_of(file, events, zone, facts or {}, others=others)
    for rule in file.on(clock.day):
        if isinstance(rule, ReportRule) and rule.id == rule_id:
            made = report(clock, rule, facts or {}, fields, {})
            return made if isinstance(made, ReportDuty) else made.waiting_for or "a day, and the law states none"
    why = "it has no report of that name then"
    raise NoRuleForDay(jurisdiction=file.jurisdiction, on=clock.day.isoformat(), why=why, rule=rule_id)
