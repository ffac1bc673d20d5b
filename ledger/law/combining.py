"""How the answers of several layers combine; the stricter wins and no rule is lost.

Decides: asked is the union (must beats if-known, a reason counts only where every layer lets it), instruments
are what every layer allows, ceilings the lowest, payment not before the latest, kept at least until the latest
and at most until the earliest, what a refusal may record is what every refusing rule lets. Answers that cannot
stand together are named, each with both rules. Leaves each rule's own answer to `ledger.law.duties`.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime
from typing import NamedTuple

from ledger import moments
from ledger.law.answers import AskField, Ceiling, Limit, PayAnswer, Refusal, joined
from ledger.law.answers_times import ReportDuty, Retention
from ledger.law.counting import utc
from ledger.law.rules import RECORDABLE


class PayPart(NamedTuple):
    """What one rule says about the payment."""

    name: str
    source: str
    instruments: tuple[str, ...]
    ceilings: tuple[Ceiling, ...]
    plain: datetime | None
    cautious: datetime | None


class KeepPart(NamedTuple):
    """What one rule says about keeping one class of data."""

    name: str
    cls: str
    least_plain: datetime | None
    least: datetime | None
    most: datetime | None
    waiting_for: str | None


class RefusePart(NamedTuple):
    """One refusal that stops the purchase."""

    name: str
    reason: str
    may_record: tuple[str, ...]


def asks(found: Iterable[AskField]) -> tuple[AskField, ...]:
    """One field per fact, in the order in which the layers ask."""
    merged: dict[str, AskField] = {}
    for one in found:
        first = merged.get(one.fact)
        if first is None:
            merged[one.fact] = one
            continue
        merged[one.fact] = replace(
            first,
            need="must" if "must" in (first.need, one.need) else "if-known",
            reason_allowed=_reason_allowed(first, one),
            rules=_union(first.rules, one.rules),
            sources=_union(first.sources, one.sources),
            subjects=_union(first.subjects, one.subjects),
        )
    return tuple(merged.values())


def _reason_allowed(first: AskField, second: AskField) -> bool:
    """A reason is enough only if each rule that insists on the fact says so."""
    insisting = [one for one in (first, second) if one.need == "must"]
    return all(one.reason_allowed for one in insisting) if insisting else first.reason_allowed


def _union(first: tuple[str, ...], second: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(first + second))


def pay(parts: Sequence[PayPart]) -> PayAnswer:
    """How the seller may be paid under all rules together."""
    allowed: tuple[str, ...] | None = None
    lowest: dict[str, Ceiling] = {}
    for part in parts:
        if part.instruments:
            known = part.instruments if allowed is None else allowed
            allowed = tuple(one for one in known if one in part.instruments)
        for ceiling in part.ceilings:
            held = lowest.get(ceiling.instrument)
            if held is None or _stricter(ceiling, held):
                lowest[ceiling.instrument] = ceiling
    return PayAnswer(
        instruments=allowed,
        ceilings=tuple(lowest.values()),
        not_before_plain=latest(part.plain for part in parts),
        not_before_cautious=latest(part.cautious for part in parts),
        rules=tuple(part.name for part in parts),
        sources=tuple(dict.fromkeys(part.source for part in parts)),
    )


def _stricter(one: Ceiling, other: Ceiling) -> bool:
    """Whether a ceiling is lower; two of different currencies are not comparable and the first stays."""
    if one.amount.currency != other.amount.currency:
        return False
    return (one.amount.minor, one.inclusive) < (other.amount.minor, other.inclusive)


def retention(parts: Sequence[KeepPart]) -> tuple[Retention, ...]:
    """Per class: kept until the latest, destroyed by the earliest."""
    classes: dict[str, list[KeepPart]] = {}
    for part in parts:
        classes.setdefault(part.cls, []).append(part)
    return tuple(
        Retention(
            cls,
            latest(part.least_plain for part in found),
            latest(part.least for part in found),
            min((part.most for part in found if part.most), key=utc, default=None),
            next((part.waiting_for for part in found if part.waiting_for), None),
            tuple(part.name for part in found),
        )
        for cls, found in classes.items()
    )


def refusal(parts: Sequence[RefusePart]) -> Refusal | None:
    """What may be kept of a refused purchase; None if nothing refuses it."""
    if not parts:
        return None
    kept = tuple(one for one in RECORDABLE if all(one in part.may_record for part in parts))
    return Refusal(kept, tuple(part.name for part in parts), tuple(part.reason for part in parts))


def shown_to(report: ReportDuty, limits: Sequence[Limit]) -> ReportDuty:
    """The report without the fields that its recipient must not be shown."""
    hidden = {one.fact for one in limits if one.must_not == "show" and one.to in ("", report.recipient)}
    return replace(report, fields=tuple(one for one in report.fields if one.fact not in hidden)) if hidden else report


def latest(moments_: Iterable[datetime | None]) -> datetime | None:
    """The latest of the moments that there are."""
    return max((one for one in moments_ if one is not None), key=utc, default=None)


def contradictions(
    asked: Sequence[AskField], limits: Sequence[Limit], paid: PayAnswer, kept: Sequence[Retention]
) -> tuple[str, ...]:
    """Sentences about answers that cannot stand together; each names the rules."""
    found = []
    if paid.instruments == ():
        found.append(f"No way to pay is left: {joined(paid.rules)} allow nothing in common.")
    for one in kept:
        if one.at_least and one.at_most and utc(one.at_least) > utc(one.at_most):
            until, by = moments.local_text(one.at_least), moments.local_text(one.at_most)
            says = f"Data of class {one.cls} must be kept until {until} and destroyed by {by}"
            found.append(f"{says}: {joined(one.rules)} contradict each other.")
    insisted = {field.fact: field for field in asked if field.need == "must"}
    for limit in limits:
        if limit.must_not == "ask" and limit.fact in insisted:
            rules = joined([*insisted[limit.fact].rules, f"{limit.jurisdiction}/{limit.rule}"])
            found.append(f"{limit.fact} must be asked and must not be asked: {rules}.")
    return tuple(found)
