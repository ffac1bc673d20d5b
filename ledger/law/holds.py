"""Holds: until when which acts on an item are forbidden, and whether an act may be done now.

Decides: the two ends of a hold from the events known so far, and what all holds and orders on an item say to
one act. Leaves to the rule file how long, from what and which acts; to the caller which events have happened
and which holds and orders are on the item. A hold waits, without an end, while its starting event has not
happened; the cautious end governs.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any, Self
from zoneinfo import ZoneInfo

from ledger import moments
from ledger.errors import InputError, NoRuleForDay
from ledger.law.calendars import Calendar
from ledger.law.counting import TwoEnds, hold_end, utc
from ledger.law.periods import Period, Start
from ledger.law.rules import ACTS, PLACES, RuleFile
from ledger.law.rules_times import HoldRule

Events = Mapping[str, datetime]
LEAVING = ("sell", "hand-over")
"""acts after which the shop no longer has the item to itself"""


@dataclass(frozen=True)
class HoldMoment:
    """The ends of a hold as far as the events tell."""

    plain: datetime | None
    cautious: datetime | None
    waiting_for: str | None
    trace: dict[str, Any]


@dataclass(frozen=True)
class Permit:
    """An act that the hold allows all the same."""

    act: str
    to: str
    says: str = ""


@dataclass(frozen=True)
class Hold:
    """One rule's hold on one item."""

    rule: str
    jurisdiction: str
    digest: str
    line: int
    forbids: tuple[str, ...]
    keep_in: str
    allows: tuple[Permit, ...]
    starts_from: str
    plain: datetime | None
    cautious: datetime | None
    waiting_for: str | None
    undecided: str | None
    """why it is not decided that the rule applies; the hold stands all the same"""
    source: str
    url: str
    basis: str
    trace: dict[str, Any]

    def record(self) -> dict[str, Any]:
        """The hold as the book holds it: JSON values only; `Hold.parse` gives it back."""
        return {
            "rule": self.rule,
            "jurisdiction": self.jurisdiction,
            "digest": self.digest,
            "line": self.line,
            "forbids": list(self.forbids),
            "keep_in": self.keep_in,
            "allows": [{"act": one.act, "to": one.to, "says": one.says} for one in self.allows],
            "starts_from": self.starts_from,
            "plain": moments.local_text(self.plain) if self.plain else None,
            "cautious": moments.local_text(self.cautious) if self.cautious else None,
            "waiting_for": self.waiting_for,
            "undecided": self.undecided,
            "source": self.source,
            "url": self.url,
            "basis": self.basis,
            "trace": self.trace,
        }

    @classmethod
    def parse(cls, record: Mapping[str, Any]) -> Self:
        """A hold from what `record` gave. Raises: InputError for a moment that cannot be read."""
        ends = {
            name: moments.parse_local(record[name], name) if record[name] else None for name in ("plain", "cautious")
        }
        allows = tuple(Permit(one["act"], one["to"], one["says"]) for one in record["allows"])
        return cls(**{**record, **ends, "forbids": tuple(record["forbids"]), "allows": allows})


@dataclass(frozen=True)
class Order:
    """An authority's order that forbids acts on items of a slip."""

    id: str
    from_: datetime
    until: datetime | None
    """first moment at which it no longer holds; None is open-ended"""
    source: str
    lines: tuple[int, ...] = ()
    """item lines; none for all"""
    forbids: tuple[str, ...] = tuple(act for act in ACTS if act != "surrender")
    lifted_at: datetime | None = None


@dataclass(frozen=True)
class Act:
    """What is about to be done with an item."""

    kind: str
    to: str = ""
    """a place (premises ... abroad), or a name that a rule's permit knows"""

    def __post_init__(self) -> None:
        if self.kind not in ACTS:
            raise InputError(field="act", given=self.kind, wanted="one of " + ", ".join(ACTS))


@dataclass(frozen=True)
class Allowed:
    """No hold and no order forbids the act."""


@dataclass(frozen=True)
class Forbidden:
    """The act is forbidden; the strictest of the reasons, and the others in words."""

    rule: str
    jurisdiction: str
    source: str
    until: datetime | None
    """first moment at which it may be done; None while a hold waits or an order is open-ended"""
    plain: datetime | None
    waiting_for: str | None
    says: str
    others: tuple[str, ...] = ()


@dataclass(frozen=True)
class Leave:
    """From when an item may leave, over all its holds and orders."""

    plain: datetime | None
    cautious: datetime | None
    waiting_for: str | None


def begins(start: Start, events: Events) -> tuple[datetime | None, str | None]:
    """The moment from which a period runs, or the event that it waits for."""
    known = [events[name] for name in start.events if name in events]
    missing = [name for name in start.events if name not in events]
    if start.choose == "earlier" and known:
        return min(known, key=utc), None
    if missing:
        return None, missing[0]
    return max(known, key=utc), None


def ends(period: Period, calendar: Calendar | None, events: Events, zone: ZoneInfo) -> HoldMoment:
    """Both ends of a period: as written, and the latest over the rule's readings.

    Raises: NoRuleForDay where days off must be known outside the calendar.
    """
    start, waiting = begins(period.start, events)
    trace: dict[str, Any] = {"event": period.start.says()}
    if start is None:
        return HoldMoment(None, None, waiting, {**trace, "waiting_for": waiting})
    first = hold_end(period.span, start, calendar, zone)
    trace |= first.trace
    latest: datetime | None = first.cautious
    read = []
    for span, other, reason in period.readings:
        begun, waits = begins(other, events)
        if begun is None:
            latest, waiting = None, waits
            read.append({"reason": reason, "event": other.says(), "waiting_for": waits})
            continue
        end: TwoEnds = hold_end(span, begun, calendar, zone)
        read.append({"reason": reason, "event": other.says(), **end.trace})
        if latest is not None and utc(end.cautious) > utc(latest):
            latest = end.cautious
    if read:
        trace["readings"] = read
    return HoldMoment(first.plain, latest, waiting, trace)


def moment(file: RuleFile, rule_id: str, events: Events, zone: ZoneInfo) -> HoldMoment:
    """The ends of a hold rule, from the events known now.

    events: "purchase" must be there (the later of occurred and recorded): its local day chooses the version.
    Raises: NoRuleForDay if the file has no such hold on that day.
    """
    day = events["purchase"].astimezone(zone).date()
    return ends(_version(file, rule_id, day).period, file.calendar, events, zone)


def _version(file: RuleFile, rule_id: str, day: date) -> HoldRule:
    for rule in file.rules:
        if isinstance(rule, HoldRule) and rule.id == rule_id and rule.in_force(day):
            return rule
    why = "it has no hold of that name then"
    raise NoRuleForDay(jurisdiction=file.jurisdiction, on=day.isoformat(), why=why, rule=rule_id)


def renewed(hold: Hold, file: RuleFile, events: Events, zone: ZoneInfo) -> Hold:
    """The same hold with its ends as the events known now give them. Raises: NoRuleForDay."""
    found = moment(file, hold.rule, events, zone)
    return replace(
        hold,
        plain=found.plain,
        cautious=found.cautious,
        waiting_for=found.waiting_for,
        trace={**hold.trace, **found.trace},
    )


def may(act: Act, holds: Iterable[Hold], orders: Iterable[Order], at: datetime) -> Allowed | Forbidden:
    """Whether an act may be done now with an item.

    holds, orders: those on this item. at: now. The reason that forbids longest is named first; one without
    an end before any other.
    """
    found = [_of_hold(act, hold) for hold in holds if _stands(act, hold, at)]
    found += [_of_order(act, order) for order in orders if _binds(act, order, at)]
    if not found:
        return Allowed()
    found.sort(key=lambda one: (one.until is None, utc(one.until) if one.until else utc(at)), reverse=True)
    return replace(found[0], others=tuple(one.says for one in found[1:]))


def _stands(act: Act, hold: Hold, at: datetime) -> bool:
    """Whether a hold forbids the act at this moment."""
    if act.kind not in hold.forbids or (hold.cautious is not None and utc(at) >= utc(hold.cautious)):
        return False
    if any(one.act == act.kind and one.to == act.to for one in hold.allows):
        return False
    inside = hold.keep_in and act.kind in ("move", "send-out") and act.to in PLACES
    return not (inside and PLACES.index(act.to) <= PLACES.index(hold.keep_in))


def _binds(act: Act, order: Order, at: datetime) -> bool:
    """Whether an order forbids the act at this moment."""
    last = [end for end in (order.until, order.lifted_at) if end is not None]
    return act.kind in order.forbids and utc(order.from_) <= utc(at) and all(utc(at) < utc(end) for end in last)


def _of_hold(act: Act, hold: Hold) -> Forbidden:
    until = f"until {_awaited(hold.waiting_for)}" if hold.cautious is None else f"before {_clock(hold.cautious)}"
    doubt = f" It is not decided whether the hold applies: {hold.undecided}" if hold.undecided else ""
    says = f"{hold.source} forbids {_DOING[act.kind]} {until} (rule {hold.rule} of {hold.jurisdiction}).{doubt}"
    return Forbidden(hold.rule, hold.jurisdiction, hold.source, hold.cautious, hold.plain, hold.waiting_for, says)


def _of_order(act: Act, order: Order) -> Forbidden:
    until = f"before {_clock(order.until)}" if order.until else "until it is lifted"
    says = f"The hold order {order.id} ({order.source}) forbids {_DOING[act.kind]} {until}."
    waits = None if order.until else "lifting of the hold order"
    return Forbidden(order.id, "", order.source, order.until, order.until, waits, says)


_DOING = {
    "offer": "offering it",
    "sell": "selling it",
    "hand-over": "handing it over",
    "return": "giving it back",
    "use": "using it",
    "alter": "altering it",
    "melt": "melting it",
    "mix": "mixing it with others",
    "move": "moving it there",
    "send-out": "sending it out",
    "surrender": "surrendering it",
}


def _clock(at: datetime) -> str:
    """Day, clock and zone, as a person reads them."""
    return f"{at:%Y-%m-%d %H:%M} {at.tzinfo}"


def _awaited(event: str | None) -> str:
    """What has to happen before a hold knows its end, in words."""
    what, _, recipient = str(event).partition(":")
    who = recipient.replace("-", " ")
    words = {
        "report-received": f"the {who}'s receipt of the report",
        "report-sent": f"the sending of the report to the {who}",
        "report-made": f"the making of the report to the {who}",
    }
    return f"a time that runs from {words[what]}"


def leave(holds: Iterable[Hold], orders: Iterable[Order] = (), acts: tuple[str, ...] = LEAVING) -> Leave:
    """From when an item may leave: the latest end over the holds and orders that forbid one of the acts.

    No moment while a hold waits for its event or an order is open-ended and not lifted.
    """
    plain: list[datetime | None] = []
    cautious: list[datetime | None] = []
    waiting = None
    for hold in holds:
        if set(acts) & set(hold.forbids):
            plain.append(hold.plain)
            cautious.append(hold.cautious)
            waiting = waiting or hold.waiting_for
    for order in orders:
        if set(acts) & set(order.forbids):
            end = _order_end(order)
            plain.append(end)
            cautious.append(end)
            waiting = waiting or (None if end else "lifting of the hold order")
    return Leave(_latest(plain), _latest(cautious), waiting)


def _order_end(order: Order) -> datetime | None:
    known = [end for end in (order.until, order.lifted_at) if end is not None]
    return min(known, key=utc) if known else None


def _latest(ends: list[datetime | None]) -> datetime | None:
    """The latest of several ends; None if there is none, or if one is not known yet."""
    known = [end for end in ends if end is not None]
    return max(known, key=utc) if known and len(known) == len(ends) else None
