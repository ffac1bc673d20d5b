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
from dataclasses import dataclass
from datetime import date

from ledger.errors import NoRuleForDay

WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")


@dataclass(frozen=True)
class Closed:
    """A dated day off."""

    day: date
    name: str
    source: str
    arguable: bool


@dataclass(frozen=True)
class Calendar:
    """The days off of one rule file, known from `first` to `last`."""

    weekend: frozenset[int]
    """days of the week, Monday 0"""
    closed: Mapping[date, Closed]
    first: date
    last: date
    source: str
    jurisdiction: str

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
        found = self.closed.get(day)
        if found is None or (found.arguable and not arguable_is_off):
            return None
        return found.name + (" (arguable)" if found.arguable else "")

    @property
    def has_arguable(self) -> bool:
        """Whether any day of the list is arguable."""
        return any(closed.arguable for closed in self.closed.values())

    def record(self) -> dict[str, object]:
        """The list itself, as a result keeps it."""
        return {
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
