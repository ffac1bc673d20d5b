"""How the answers of several layers combine; the stricter wins and no rule is lost.

Decides: asked is the union (must beats if-known, a reason counts only where every layer lets it), instruments
are what every layer allows, ceilings the lowest, payment not before the latest and not after the earliest, kept at
least until the latest and at most until the earliest, per class and place; what a refusal may record is what every
refusing rule lets. Answers that cannot stand together are named, each with both rules. Leaves each rule's own answer
to `ledger.law.duties`.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime
from functools import lru_cache
from itertools import chain
from typing import NamedTuple

from ledger import moments
from ledger.law.answers import AskedTogether, AskField, Ceiling, Limit, PayAnswer, Refusal, joined
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
            rules=_union(first.rules, one.rules),
            sources=_union(first.sources, one.sources),
            subjects=_union(first.subjects, one.subjects),
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


def _union(first: tuple[str, ...], second: tuple[str, ...]) -> tuple[str, ...]:
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
        instruments=_common([part.instruments for part in parts]),
        ceilings=tuple(lowest.values()),
        not_before_plain=latest(part.plain for part in parts),
        not_before_cautious=None if waiting else latest(part.cautious for part in parts),
        waiting_for=waiting,
        rules=tuple(part.name for part in parts),
        sources=tuple(dict.fromkeys(part.source for part in parts)),
        payees=_common([part.payees for part in parts]),
        deliveries=_common([part.deliveries for part in parts]),
        not_after_plain=earliest(part.by_plain for part in parts),
        not_after_cautious=earliest(part.by for part in parts),
    )


def _common(lists: Sequence[tuple[str, ...]]) -> tuple[str, ...] | None:
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
    return replace(report, fields=tuple(one for one in report.fields if one.fact not in hidden)) if hidden else report


def latest(moments_: Iterable[datetime | None]) -> datetime | None:
    """The latest of the moments that there are."""
    known = [one for one in moments_ if one is not None]
    return max(known, key=utc) if len(known) > 1 else known[0] if known else None


def earliest(moments_: Iterable[datetime | None]) -> datetime | None:
    """The earliest of the moments that there are."""
    known = [one for one in moments_ if one is not None]
    return min(known, key=utc) if len(known) > 1 else known[0] if known else None


def contradictions(
    asked: Sequence[AskField], limits: Sequence[Limit], paid: Sequence[PayPart], kept: Sequence[KeepPart]
) -> tuple[str, ...]:
    """Sentences about answers that cannot stand together; each names the rules."""
    found = _no_way_to_pay(paid) + _kept_and_destroyed(kept)
    insisted = {field.fact: field for field in asked if field.need == "must"}
    for limit in limits:
        everywhere = not limit.to and not limit.copy
        if limit.fact in insisted and (limit.must_not == "ask" or (limit.must_not == "keep" and everywhere)):
            rules = joined([*insisted[limit.fact].rules, f"{limit.jurisdiction}/{limit.rule}"])
            verb = "asked" if limit.must_not == "ask" else "kept"
            found.append(f"{limit.fact} must be asked and must not be {verb}: {rules}.")
    return tuple(dict.fromkeys(found))


def _no_way_to_pay(parts: Sequence[PayPart]) -> list[str]:
    found = []
    for lists, what in (
        ([(part.name, part.instruments) for part in parts], "way to pay"),
        ([(part.name, part.payees) for part in parts], "payee"),
        ([(part.name, part.deliveries) for part in parts], "way to hand over the payment"),
    ):
        said = [(name, words) for name, words in lists if words]
        if _common([words for _, words in said]) == ():
            found.append(f"No {what} is left: {joined([name for name, _ in said])} allow nothing in common.")
    for late in parts:
        for soon in parts:
            if late.cautious and soon.by and utc(late.cautious) >= utc(soon.by):
                begin, end = moments.local_text(late.cautious), moments.local_text(soon.by)
                says = f"Payment may not be made before {begin} and must be made before {end}"
                found.append(f"{says}: {joined(_union((late.name,), (soon.name,)))} contradict each other.")
    return found


def _kept_and_destroyed(parts: Sequence[KeepPart]) -> list[str]:
    """A class that must be kept at a place longer than it may; what is kept anywhere must be kept at no one place."""
    found = []
    for keep in parts:
        for drop in parts:
            together = keep.cls == drop.cls and drop.place in ("anywhere", keep.place)
            if together and keep.least and drop.most and utc(keep.least) > utc(drop.most):
                until, by = moments.local_text(keep.least), moments.local_text(drop.most)
                says = f"Data of class {keep.cls} must be kept until {until} and destroyed by {by}"
                found.append(f"{says}: {joined(_union((keep.name,), (drop.name,)))} contradict each other.")
    return found
