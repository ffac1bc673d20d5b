"""How the answers of several layers combine; the stricter wins and no rule is lost.

Decides: asked is the union (must beats if-known, a reason counts only where every layer lets it), instruments
are what every layer allows, ceilings the lowest, payment not before the latest and not after the earliest, kept at
least until the latest and at most until the earliest, per class and place; what a refusal may record is what every
refusing rule lets. Leaves each rule's own answer to `ledger.law.layers`, and what cannot stand together to
`ledger.law.contradicting`.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime
from functools import lru_cache
from itertools import chain
from typing import NamedTuple

from ledger.law.answers import AskedTogether, AskField, Ceiling, Limit, PayAnswer, Refusal
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
    payees: tuple[str, ...] = ()
    deliveries: tuple[str, ...] = ()
    by_plain: datetime | None = None
    by: datetime | None = None
    waiting_for: str | None = None


class KeepPart(NamedTuple):
    """What one rule says about keeping one class of data."""

    name: str
    cls: str
    least_plain: datetime | None
    least: datetime | None
    most: datetime | None
    waiting_for: str | None
    place: str = "anywhere"


class RefusePart(NamedTuple):
    """One refusal that stops the purchase."""

    name: str
    reason: str
    may_record: tuple[str, ...]


@lru_cache(maxsize=512)
def asks(found: tuple[AskedTogether, ...]) -> tuple[AskField, ...]:
    """One field per fact, in the order in which the layers ask; kept, since most slips are asked the same."""
    merged: dict[str, AskField] = {}
    for one in chain.from_iterable(found):
        first = merged.get(one.fact)
        if first is None:
            merged[one.fact] = one
            continue
        merged[one.fact] = replace(
            first,
            need="must" if "must" in (first.need, one.need) else "if-known",
            reason_allowed=_reason_allowed(first, one),
            rules=union(first.rules, one.rules),
            sources=union(first.sources, one.sources),
            subjects=union(first.subjects, one.subjects),
            prefer=first.prefer or one.prefer,
            instead=_instead(first, one),
        )
    return tuple(merged.values())


def _instead(first: AskField, second: AskField) -> tuple[str, ...]:
    """Another fact answers only if each rule that insists lets it."""
    insisting = [one for one in (first, second) if one.need == "must"] or [first, second]
    return tuple(name for name in insisting[0].instead if all(name in one.instead for one in insisting))


def _reason_allowed(first: AskField, second: AskField) -> bool:
    """A reason is enough only if each rule that insists on the fact says so."""
    insisting = [one for one in (first, second) if one.need == "must"]
    return all(one.reason_allowed for one in insisting) if insisting else first.reason_allowed


def union(first: tuple[str, ...], second: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(first + second))


def pay(parts: Sequence[PayPart]) -> PayAnswer:
    """How the seller may be paid under all rules together."""
    lowest: dict[tuple[str, str], Ceiling] = {}
    for part in parts:
        for ceiling in part.ceilings:
            held = lowest.get((ceiling.instrument, ceiling.window))
            if held is None or _stricter(ceiling, held):
                lowest[ceiling.instrument, ceiling.window] = ceiling
    waiting = next((part.waiting_for for part in parts if part.waiting_for), None)
    return PayAnswer(
        instruments=common([part.instruments for part in parts]),
        ceilings=tuple(lowest.values()),
        not_before_plain=latest(part.plain for part in parts),
        not_before_cautious=None if waiting else latest(part.cautious for part in parts),
        waiting_for=waiting,
        rules=tuple(part.name for part in parts),
        sources=tuple(dict.fromkeys(part.source for part in parts)),
        payees=common([part.payees for part in parts]),
        deliveries=common([part.deliveries for part in parts]),
        not_after_plain=earliest(part.by_plain for part in parts),
        not_after_cautious=earliest(part.by for part in parts),
    )


def common(lists: Sequence[tuple[str, ...]]) -> tuple[str, ...] | None:
    """What every list that says anything has; None if none does."""
    said = [one for one in lists if one]
    return tuple(word for word in said[0] if all(word in one for one in said)) if said else None


def _stricter(one: Ceiling, other: Ceiling) -> bool:
    """Whether a ceiling is lower; two of different currencies are not comparable and the first stays."""
    if one.amount.currency != other.amount.currency:
        return False
    return (one.amount.minor, one.inclusive) < (other.amount.minor, other.inclusive)


def retention(parts: Sequence[KeepPart]) -> tuple[Retention, ...]:
    """Per class and place: kept until the latest, destroyed by the earliest."""
    kept: dict[tuple[str, str], list[KeepPart]] = {}
    for part in parts:
        kept.setdefault((part.cls, part.place), []).append(part)
    return tuple(
        Retention(
            cls,
            latest(part.least_plain for part in found),
            latest(part.least for part in found),
            earliest(part.most for part in found),
            next((part.waiting_for for part in found if part.waiting_for), None),
            tuple(part.name for part in found),
            place,
        )
        for (cls, place), found in kept.items()
    )


def refusal(parts: Sequence[RefusePart]) -> Refusal | None:
    """What may be kept of a refused purchase; None if nothing refuses it."""
    if not parts:
        return None
    kept = tuple(one for one in RECORDABLE if all(one in part.may_record for part in parts))
    return Refusal(kept, tuple(part.name for part in parts), tuple(part.reason for part in parts))


def hidden_from(recipient: str, limits: Sequence[Limit]) -> set[str]:
    """Facts that must not be shown to a recipient, or on the copy that it keeps."""
    return {
        one.fact
        for one in limits
        if one.must_not == "show" and one.to in ("", recipient) and one.copy in ("", recipient)
    }


def shown_to(report: ReportDuty, limits: Sequence[Limit]) -> ReportDuty:
    """The report without the fields that its recipient must not be shown."""
    hidden = hidden_from(report.recipient, limits)
    shown = tuple(one for one in report.fields if one.fact not in hidden)
    return report if len(shown) == len(report.fields) else replace(report, fields=shown)


def latest(moments_: Iterable[datetime | None]) -> datetime | None:
    """The latest of the moments that there are."""
    known = [one for one in moments_ if one is not None]
    return max(known, key=utc) if len(known) > 1 else known[0] if known else None


def earliest(moments_: Iterable[datetime | None]) -> datetime | None:
    """The earliest of the moments that there are."""
    known = [one for one in moments_ if one is not None]
    return min(known, key=utc) if len(known) > 1 else known[0] if known else None
