"""Holds: until when which acts on an item are forbidden.

Decides: the ends of a hold from the events known so far, and which of its shorter times applies. Leaves to the rule
file how long, from what and which acts; to the caller which events have happened; to `ledger.law.held` what a hold
is, to `ledger.law.permitting` whether one act may be done now. A hold waits, without an end, while its starting event
has not happened; the cautious end governs.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from ledger import moments
from ledger.errors import NoRuleForDay
from ledger.law.calendars import Calendar, of_shop
from ledger.law.clocks import Clock, Events, Happened, clock_of
from ledger.law.conditions import Asked, every
from ledger.law.counting import hold_end, outermost
from ledger.law.facts import doubts_in
from ledger.law.held import LEAVING, Hold, Leave, Order, Permit, leave
from ledger.law.permitting import Act, Allowed, Forbidden, may
from ledger.law.rules import RuleFile
from ledger.law.rules_times import HoldRule, PermitOf

__all__ = [
    "IN_PERSON",
    "LEAVING",
    "Act",
    "Allowed",
    "Choice",
    "Events",
    "Forbidden",
    "Hold",
    "HoldMoment",
    "Leave",
    "Order",
    "Permit",
    "choose",
    "ends",
    "leave",
    "may",
    "moment",
    "permits",
    "renewed",
]

IN_PERSON = ("receipt", "contract")
"""events that happen with the purchase itself, unless the goods come by carrier"""


class HoldMoment(NamedTuple):
    """The ends of a hold as far as the events tell."""

    plain: datetime | None
    cautious: datetime | None
    waiting_for: str | None
    trace: dict[str, Any]
    earliest: datetime | None = None


class Choice(NamedTuple):
    """Which of a hold's shorter times applies, and which may."""

    shortened: int | None
    doubts: tuple[tuple[int, str], ...]
    asked: Asked


def choose(rule: HoldRule, frame: Mapping[str, Any]) -> Choice:
    """The first shorter time whose conditions hold; of the others those that are not decided, each with why."""
    chosen: int | None = None
    doubts: list[tuple[int, str]] = []
    used: Asked = {}
    for number, one in enumerate(rule.shorter):
        asked: Asked = {}
        answer = every(one.when, frame, asked)
        used |= asked
        if answer is None:
            doubts.append((number, doubts_in(asked)))
        elif answer and chosen is None:
            chosen = number
    return Choice(chosen, tuple(doubts), used)


def ends(rule: HoldRule, clock: Clock, choice: Choice) -> HoldMoment:
    """The ends of a hold: as written, the latest and the earliest over all readings.

    A shorter time that is not decided does not shorten; both ends are in the trace.
    Raises: NoRuleForDay where days off must be known outside the calendar.
    """
    chosen = rule.period if choice.shortened is None else rule.shorter[choice.shortened].period
    found = clock.period(chosen, later=True)
    earliest = [clock.period(chosen, later=False).bound]
    trace = dict(found.trace)
    if choice.asked:
        trace["shorter_inputs"] = choice.asked
    if choice.shortened is not None:
        one = rule.shorter[choice.shortened]
        trace["shorter"] = {"number": choice.shortened, "says": one.says, "source": one.cite}
    doubts = []
    for number, doubt in choice.doubts:
        other = clock.period(rule.shorter[number].period, later=True)
        earliest.append(clock.period(rule.shorter[number].period, later=False).bound)
        shown = {"number": number, "says": rule.shorter[number].says, "doubt": doubt}
        doubts.append(
            {**shown, "plain": moments.local_or_none(other.plain), "cautious": moments.local_or_none(other.bound)}
        )
    if doubts:
        trace["shorter_undecided"] = doubts
    if clock.shop is not None:
        trace["shop_calendar"] = clock.shop.record()
    known = [one for one in earliest if one is not None]
    first = outermost(known, later=False) if known else None
    return HoldMoment(found.plain, found.bound, found.waiting_for, trace, first)


def permits(rule: HoldRule, clock: Clock) -> tuple[Permit, ...]:
    """What the hold allows all the same, each from when. Raises: NoRuleForDay."""
    begun = clock.begins(rule.period.start, later=True)

    def permit(number: int, one: PermitOf) -> Permit:
        after = None
        if one.after is not None and not isinstance(begun, str):
            after = _after(one, begun, clock)
        waits = one.after is not None and after is None
        return Permit(one.act, one.to, one.says, one.permission, after, waits, number, bool(one.when))

    return tuple(permit(number, one) for number, one in enumerate(rule.allows))


def _after(one: PermitOf, begun: Happened, clock: Clock) -> datetime | None:
    span = one.after
    assert span is not None
    if span.calendar == "shop" and clock.shop is None:
        return None
    calendar = clock.calendar(span.calendar)
    return hold_end(span, begun.plain, calendar, clock.zone, bound=begun.bound, ended=begun.ended).cautious


def moment(
    file: RuleFile, rule_id: str, events: Events, zone: ZoneInfo, *, others: Sequence[RuleFile] = ()
) -> HoldMoment:
    """The ends of a hold rule, from the events known now, without any of its shorter times.

    events: "purchase" must be there (the later of occurred and recorded): its local day chooses the version.
    others: further files, where the hold runs from their rules.
    Raises: NoRuleForDay if the file has no such hold on that day.
    """
    clock = clock_of(file, events, zone, {}, others=others)
    return ends(_version(clock, rule_id), clock, Choice(None, (), {}))


def _version(clock: Clock, rule_id: str) -> HoldRule:
    for rule in clock.file.on(clock.day):
        if isinstance(rule, HoldRule) and rule.id == rule_id:
            return rule
    why = "it has no hold of that name then"
    raise NoRuleForDay(jurisdiction=clock.file.jurisdiction, on=clock.day.isoformat(), why=why, rule=rule_id)


def renewed(
    hold: Hold,
    file: RuleFile,
    events: Events,
    zone: ZoneInfo,
    *,
    facts: Mapping[str, Any] | None = None,
    others: Sequence[RuleFile] = (),
) -> Hold:
    """The same hold with its ends as the events known now give them.

    facts: what is now known of "item", "shop", "slip" and "seller", where shorter times are to be decided anew; else
    what was decided at the purchase stays. others: further files, where the hold runs from their rules.
    Raises: NoRuleForDay.
    """
    bought = {name: events["purchase"] for name in IN_PERSON if hold.in_person}
    shop = _shop_calendar(hold, facts)
    clock = replace(
        clock_of(file, {**bought, **events}, zone, {}, others=others),
        shop=shop,
        recipients=hold.recipients,
        replaced=dict(hold.replaced),
    )
    rule = _version(clock, hold.rule)
    choice = choose(rule, facts) if facts is not None else Choice(hold.shortened, _doubts(hold.trace), {})
    found = ends(rule, clock, choice)
    before = {name: value for name, value in hold.trace.items() if name not in _DECIDED or facts is None}
    return replace(
        hold,
        plain=found.plain,
        cautious=found.cautious,
        earliest=found.earliest,
        waiting_for=found.waiting_for,
        shortened=choice.shortened,
        allows=permits(rule, clock),
        trace={**{name: value for name, value in before.items() if name != "waiting_for"}, **found.trace},
    )


_DECIDED = ("shorter", "shorter_inputs", "shorter_undecided")


def _doubts(trace: Mapping[str, Any]) -> tuple[tuple[int, str], ...]:
    return tuple((one["number"], one["doubt"]) for one in trace.get("shorter_undecided", ()))


def _shop_calendar(hold: Hold, facts: Mapping[str, Any] | None) -> Calendar | None:
    """The shop's calendar as it is stated now, else as it was when the hold began."""
    stated = (facts or {}).get("shop", {}).get("calendar") or hold.trace.get("shop_calendar")
    return of_shop(stated) if stated else None
