"""What changes for the shop between two rule files, in sentences.

Decides: which rules came, went or changed, and how to say each change. Leaves the choice of files to the
caller; two versions of one jurisdiction's file is the usual case.
"""

from collections.abc import Sequence
from datetime import date
from typing import Any

from ledger.law.calendars import WEEKDAYS
from ledger.law.conditions import Condition
from ledger.law.counting import Span
from ledger.law.rules import (
    AskRule,
    DeclareRule,
    DocumentNeed,
    DocumentsRule,
    ExemptRule,
    LimitRule,
    PayRule,
    RefuseRule,
    Rule,
    RuleFile,
)
from ledger.law.rules_times import Due, HoldRule, ReportRule, RetainRule


def diff(a: RuleFile, b: RuleFile) -> list[str]:
    """Sentences about everything that differs in `b` against `a`; none if nothing a shop notices differs."""
    found = []
    for what, before, after in (
        ("The place", f"{a.name} ({a.jurisdiction}, {a.layer})", f"{b.name} ({b.jurisdiction}, {b.layer})"),
        ("The first day the file answers for", a.known_from, b.known_from),
        ("The day a person last read the law", a.read_on, b.read_on),
        ("The day until which the file was checked", a.checked_until, b.checked_until),
        ("The time zone", a.zone.key if a.zone else "none", b.zone.key if b.zone else "none"),
        ("The currency", a.currency or "none", b.currency or "none"),
        ("The note", a.note or "none", b.note or "none"),
    ):
        if before != after:
            found.append(f"{what} was {before} and becomes {after}.")
    found += _recipients(a, b) + _days_off(a, b)
    old, new = _versions(a), _versions(b)
    for key in sorted(old.keys() | new.keys()):
        found += _changes(old.get(key), new.get(key))
    return found


def _versions(file: RuleFile) -> dict[tuple[str, date], Rule]:
    return {(rule.id, rule.first): rule for rule in file.rules}


def _recipients(a: RuleFile, b: RuleFile) -> list[str]:
    before, after = ({one.id: one.name for one in file.recipients} for file in (a, b))
    found = []
    for name in sorted(before.keys() | after.keys()):
        if before.get(name) != after.get(name):
            was, becomes = before.get(name, "not declared"), after.get(name, "not declared")
            found.append(f"The recipient '{name}' was {was} and becomes {becomes}.")
    return found


def _days_off(a: RuleFile, b: RuleFile) -> list[str]:
    before, after = (file.calendar.record() if file.calendar else {} for file in (a, b))
    found = []
    for key in ("weekend", "from", "until", "source"):
        if before.get(key) != after.get(key):
            was, becomes = _listed(before.get(key)), _listed(after.get(key))
            found.append(f"The calendar's {key} was {was} and becomes {becomes}.")
    was_off, is_off = (dict(file.calendar.closed) if file.calendar else {} for file in (a, b))
    for day in sorted(was_off.keys() | is_off.keys()):
        old, new = was_off.get(day), is_off.get(day)
        if old is not None and new is None:
            found.append(f"{day} ({old.name}) is no longer a day off.")
        elif new is not None and old != new:
            arguable = " that may or may not count" if new.arguable else ""
            found.append(f"{day} ({new.name}) is a day off{arguable}.")
    return found


def _listed(value: Any) -> str:
    return ", ".join(map(str, value)) if isinstance(value, list) else str(value or "none")


def _changes(before: Rule | None, after: Rule | None) -> list[str]:
    if before is None:
        assert after is not None
        terms = "; ".join(f"{name}: {value}" for name, value in describe(after).items() if value)
        return [f"New from {after.first}: {after.id} ({after.source.cite}). {after.says} {terms}."]
    if after is None:
        return [f"Gone: {before.id} of {before.first} ({before.source.cite}). {before.says}"]
    old, new = describe(before), describe(after)
    return [
        f"{after.id} of {after.first}: {name} was {old.get(name) or 'none'} and becomes {new.get(name) or 'none'}."
        for name in dict.fromkeys([*old, *new])
        if old.get(name) != new.get(name)
    ]


def describe(rule: Rule) -> dict[str, str]:
    """Everything that a rule says, by name, in words."""
    return {
        "kind": type(rule).__name__.removesuffix("Rule").lower(),
        "last day": str(rule.last or ""),
        **_terms(rule),
        "when": _conditions(rule.when),
        "unless": _conditions(rule.unless),
        "effect": rule.effect,
        "meaning": rule.says,
        "source": rule.source.cite,
        "basis": rule.source.basis,
        "quote": rule.source.quote,
        "address": rule.source.url,
    }


def _conditions(conditions: Sequence[Condition]) -> str:
    return ", ".join(condition.says() for condition in conditions)


def span_words(span: Span) -> str:
    """A length of time in words."""
    unit = span.unit.replace("-", " ")
    first = ", the first day counted" if span.first_day_counts else ""
    roll = ", a last day off moved to the next working day" if span.roll != "none" else ""
    return f"{span.length} {unit if span.length != 1 else unit.removesuffix('s')}{first}{roll}"


def due_words(due: Due) -> str:
    """A deadline in words."""
    by = f"by {due.by:%H:%M}" if due.by else "by the end of the day"
    if due.span is not None:
        return f"within {span_words(due.span)}"
    if due.shape == "next":
        return f"{by} on the next {due.next.replace('-', ' ')}"
    if due.shape == "weekly":
        return f"{by} on {WEEKDAYS[due.weekday].capitalize()}"
    return f"{by} of the same day"


def _need_words(need: DocumentNeed) -> str:
    flags = [name if wanted else f"not {name}" for name, wanted in need.flags.items()]
    return " ".join([*flags, "document", *([f"({', '.join(need.types)})"] if need.types else [])])


def _terms(rule: Rule) -> dict[str, str]:
    match rule:
        case AskRule():
            fields = [
                f"{one.label} ({one.fact.name}, {'must' if one.must else 'if known'}"
                f"{', or a reason' if one.reason_allowed else ''})"
                for one in rule.fields
            ]
            return {"fields": ", ".join(fields)}
        case DocumentsRule():
            ways = [
                f"{way.says} [{', '.join(map(_need_words, way.documents)) or 'none'}"
                f"{'; personally known' if way.personally_known else ''}]"
                for way in rule.any_of
            ]
            return {"any of": " or ".join(ways), "always": ", ".join(map(_need_words, rule.always))}
        case DeclareRule():
            return {"words": rule.words, "language": rule.language, "signed": "yes" if rule.signed else "no"}
        case RefuseRule():
            return {"may record": ", ".join(rule.may_record)}
        case PayRule():
            ceilings = [
                f"{one.amount} by {one.instrument}{'' if one.inclusive else ' (not this amount itself)'}"
                for one in rule.ceilings
            ]
            wait = span_words(rule.not_before) if rule.not_before else ""
            return {"instruments": ", ".join(rule.instruments), "at most": ", ".join(ceilings), "payment waits": wait}
        case HoldRule():
            period = rule.period
            readings = [f"{span_words(span)} from {start.says()} ({why})" for span, start, why in period.readings]
            return {
                "length": span_words(period.span),
                "start": period.start.says(),
                "forbids": ", ".join(rule.forbids),
                "kept in": rule.keep_in,
                "allows": ", ".join(f"{one.act} to {one.to}" for one in rule.allows),
                "readings": ", ".join(readings),
            }
        case ReportRule():
            return {
                "to": rule.to,
                "per": rule.per,
                "due": due_words(rule.due),
                "title": rule.title,
                "copies": str(rule.copies),
                "owed without purchases": "yes" if rule.nil else "no",
                "shows": ", ".join(rule.asks),
            }
        case RetainRule():
            return {
                "classes": ", ".join(rule.classes),
                "start": rule.start.says(),
                "at least": span_words(rule.at_least) if rule.at_least else "",
                "at most": span_words(rule.at_most) if rule.at_most else "",
            }
        case LimitRule():
            facts = ", ".join(fact.name for fact in rule.facts)
            return {"must not": rule.must_not, "facts": facts, "towards": ", ".join(rule.to)}
        case _:
            assert isinstance(rule, ExemptRule)
            return {"rules": ", ".join(rule.rules) or "all of the file"}
