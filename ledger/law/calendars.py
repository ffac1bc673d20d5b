"""Which days are not working days, and on whose word.

Decides: whether a day is off, and why. A day may be *arguable*: a hold then takes it as off, a deadline as
a working day. Leaves to the rule file which days those are, and to `ledger.law.counting` how days are counted.
A day outside the years for which a person checked the list is refused, never taken for a working day.

>>> from datetime import date
>>> a = Calendar(weekend=frozenset({5, 6}), closed={}, first=date(2026, 1, 1), last=date(2026, 12, 31),
...              source="Sample Code 9-1", jurisdiction="xx-sample")
>>> a.why_off(date(2026, 11, 28), arguable_is_off=False)
'Saturday'
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, time
from functools import cached_property
from typing import Any

from ledger.errors import InputError, NoRuleForDay

WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_SUNDAY = 6


@dataclass(frozen=True)
class Closed:
    """A dated day off."""

    day: date
    name: str
    source: str
    arguable: bool


@dataclass(frozen=True)
class Closing:
    """The hour at which a day closes, where the law lets the close of the day decide."""

    at: time | None
    """None is midnight"""
    arguable: bool
    """whether midnight may be meant instead"""
    source: str


@dataclass(frozen=True, eq=False)
class Calendar:
    """The days off of one rule file or one shop, known from `first` to `last`."""

    weekend: frozenset[int]
    """days of the week, Monday 0"""
    closed: Mapping[date, Closed]
    first: date
    last: date
    source: str
    jurisdiction: str
    closing: Closing | None = None
    arguable_weekend: frozenset[int] = frozenset()
    """days of the week that may or may not be working days"""
    named_list: str = ""
    """the list of the `holidays` library that it starts from, with the library's version"""

    def why_off(self, day: date, *, arguable_is_off: bool) -> str | None:
        """The reason why `day` is off, or None for a working day.

        Raises: NoRuleForDay outside the days that the list covers.
        """
        if not self.first <= day <= self.last:
            raise NoRuleForDay(
                jurisdiction=self.jurisdiction,
                on=day.isoformat(),
                why=f"its list of days off was checked from {self.first} to {self.last} only",
            )
        if day.weekday() in self.weekend:
            return WEEKDAYS[day.weekday()].capitalize()
        if arguable_is_off and day.weekday() in self.arguable_weekend:
            return f"{WEEKDAYS[day.weekday()].capitalize()} (arguable)"
        found = self.closed.get(day)
        if found is None or (found.arguable and not arguable_is_off):
            return None
        return found.name + (" (arguable)" if found.arguable else "")

    @cached_property
    def has_arguable(self) -> bool:
        """Whether any day is arguable."""
        return bool(self.arguable_weekend) or any(closed.arguable for closed in self.closed.values())

    @cached_property
    def of_sundays(self) -> "Calendar":
        """The same holidays, with Sunday the only day off in a week."""
        return replace(self, weekend=frozenset({_SUNDAY}), arguable_weekend=frozenset())

    def record(self) -> dict[str, object]:
        """The list itself, as a result keeps it."""
        found: dict[str, object] = {
            "weekend": [WEEKDAYS[number] for number in sorted(self.weekend)],
            "from": self.first.isoformat(),
            "until": self.last.isoformat(),
            "source": self.source,
            "closed": [
                {
                    "day": day.isoformat(),
                    "name": one.name,
                    "source": one.source,
                    "arguable": one.arguable,
                }
                for day, one in sorted(self.closed.items())
            ],
        }
        if self.arguable_weekend:
            found["arguable_weekend"] = [WEEKDAYS[number] for number in sorted(self.arguable_weekend)]
        if self.named_list:
            found["list"] = self.named_list
        if self.closing:
            hour = f"{self.closing.at:%H:%M}" if self.closing.at else "24:00"
            found["closing_hour"] = {"at": hour, "arguable": self.closing.arguable, "source": self.closing.source}
        return found


def of_shop(stated: Any) -> Calendar:
    """The shop's own calendar, from the fact `shop.calendar`.

    stated: {"weekend": [...], "closed": [{"day", "name"}], "from", "until"}; days as ISO text or dates.
    Raises: InputError for what cannot be read.
    """
    try:
        closed = [Closed(_day(one["day"]), str(one["name"]), "the shop", False) for one in stated["closed"]]
        weekend = frozenset(WEEKDAYS.index(name) for name in stated["weekend"])
        first, last = _day(stated["from"]), _day(stated["until"])
    except (TypeError, KeyError, ValueError):
        wanted = "a table with 'weekend', 'closed' (each with 'day' and 'name'), 'from' and 'until'"
        raise InputError(field="facts.shop.calendar", given=stated, wanted=wanted) from None
    if len(weekend) == len(WEEKDAYS):
        raise InputError(field="facts.shop.calendar.weekend", given=stated["weekend"], wanted="fewer than seven days")
    return Calendar(weekend, {one.day: one for one in closed}, first, last, "the shop", "the shop")


def _day(value: Any) -> date:
    return value if isinstance(value, date) else date.fromisoformat(value)
