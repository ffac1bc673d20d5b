"""Totals and counts over earlier slips: how much this seller was paid in cash today, how often the shop bought.

Decides: which earlier slips fall into a window, and what they come to with this one. Leaves to the caller which
slips there are; where nobody said, or one of them is not known well enough, the tally is not known.

A window of days, months or years is counted in local dates and ends with today: 1 day is today alone. A calendar
period (day, week from Monday, month, year) holds every slip of it, also one later on the same day.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from ledger import moments
from ledger.errors import InputError
from ledger.law.conditions import every
from ledger.law.counting import later_months, utc
from ledger.law.declared import Tally, Window
from ledger.law.facts import FACTS, Unknown, shown
from ledger.measures import Money


@dataclass(frozen=True)
class Reckoned:
    """What one tally comes to, and which slips it counts."""

    tally: Tally
    value: Any
    """an amount, a whole number, or {"not_known": reason}"""
    counted: tuple[str, ...]
    """the moments of the earlier slips that count, as they were stated"""

    def record(self) -> dict[str, Any]:
        """JSON values only."""
        return {
            "id": self.tally.id,
            "of": self.tally.of,
            "by": self.tally.by,
            "window": self.tally.window.says(),
            "with_this": self.tally.with_this,
            "value": shown(self.value),
            "counted": list(self.counted),
        }


class _NotKnown(Exception):
    """Something is missing for the tally."""


def reckon(tally: Tally, facts: Mapping[str, Any], at: datetime, zone: ZoneInfo) -> Reckoned:
    """What a tally comes to for a slip of the moment `at`.

    facts: all facts; the earlier slips are facts["past"]. Raises: InputError for a past slip that cannot be read.
    """
    past = facts.get("past")
    counted: list[str] = []
    try:
        if past is None:
            raise _NotKnown("earlier slips were not stated")
        if isinstance(past, dict) and "not_known" in past:
            raise _NotKnown(str(past["not_known"]))
        amounts = []
        for one in _slips(past):
            if _counts(tally, one, at, zone):
                amounts.append(_amount(tally.of, one))
                counted.append(one["occurred"])
        if tally.with_this and _fits(tally, this := _this(facts)):
            amounts.append(_amount(tally.of, this))
        value = _sum(amounts, money=tally.fact.type == "money", currency=_currency(facts))
    except _NotKnown as missing:
        value = {"not_known": str(missing)}
    return Reckoned(tally, value, tuple(counted))


def _slips(past: Any) -> Sequence[Mapping[str, Any]]:
    if not isinstance(past, list | tuple) or not all(isinstance(one, dict) for one in past):
        raise InputError(field="facts.past", given=past, wanted="a list of tables, one for each earlier slip")
    return past


def _counts(tally: Tally, one: Mapping[str, Any], at: datetime, zone: ZoneInfo) -> bool:
    """Whether an earlier slip falls into the tally."""
    occurred = moments.parse_local(str(one.get("occurred", "")), "facts.past.occurred")
    if not _within(tally.window, occurred, at, zone):
        return False
    if tally.by == "seller":
        same = one.get("same_seller")
        if not isinstance(same, bool):
            raise _NotKnown(f"whether the slip of {one['occurred']} is of the same seller is not known")
        if not same:
            return False
    return _fits(tally, one)


def _within(window: Window, occurred: datetime, at: datetime, zone: ZoneInfo) -> bool:
    if window.unit == "hours":
        return utc(at) - timedelta(hours=window.length) < utc(occurred) <= utc(at)
    day, today = occurred.astimezone(zone).date(), at.astimezone(zone).date()
    if window.period:
        return _first_of(window.period, day) == _first_of(window.period, today)
    if utc(occurred) > utc(at):
        return False
    if window.unit == "days":
        return today - timedelta(days=window.length) < day
    return later_months(today, -window.length * (12 if window.unit == "years" else 1)) < day


def _first_of(period: str, day: date) -> date:
    """The first day of the calendar period that holds a day."""
    if period == "week":
        return day - timedelta(days=day.weekday())
    if period == "month":
        return day.replace(day=1)
    return day.replace(month=1, day=1) if period == "year" else day


def _fits(tally: Tally, one: Mapping[str, Any]) -> bool:
    """Whether the conditions of the tally hold for a slip."""
    asked: dict[str, Any] = {}
    answer = every(tally.when, {"past": one}, asked)
    if answer is None:
        raise _NotKnown("; ".join(value["not_known"] for value in asked.values() if isinstance(value, dict)))
    return answer


def _this(facts: Mapping[str, Any]) -> dict[str, Any]:
    """The slip at hand, in the words of a past one."""
    slip = facts.get("slip", {})
    this = {name: slip.get(name) for name in ("channel", "instrument", "total", "items", "articles")}
    return {**this, "cash": slip.get("cash_part")}


def _amount(of: str, one: Mapping[str, Any]) -> Any:
    """What one slip adds: an amount or a number."""
    if of == "slips":
        return 1
    if of == "cash" and one.get("cash") is None:
        instrument = one.get("instrument")
        if not isinstance(instrument, str):
            raise _NotKnown("how a slip was paid is not known")
        if instrument != "cash":
            return None
        of = "total"
    name = "cash_part" if of == "cash" else of
    value = FACTS[f"slip.{name}"].read({"slip": {name: one.get(of)}})
    if isinstance(value, Unknown):
        raise _NotKnown(value.reason)
    return value


def _currency(facts: Mapping[str, Any]) -> str | None:
    total = FACTS["slip.total"].read({"slip": facts.get("slip", {})})
    return total.currency if isinstance(total, Money) else None


def _sum(amounts: Sequence[Any], *, money: bool, currency: str | None) -> Any:
    known = [one for one in amounts if one is not None]
    if not money:
        return sum(known)
    currencies = {one.currency for one in known} or {currency}
    if len(currencies) > 1:
        raise _NotKnown("amounts of different currencies cannot be added")
    (only,) = currencies
    if only is None:
        raise _NotKnown("the currency of this slip is not known")
    return Money(only, sum(one.minor for one in known))
