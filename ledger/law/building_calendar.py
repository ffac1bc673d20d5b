"""From the checked tables of a rule file to its calendar and its recipients.

Decides: which days are off once the named list, the dated days and the days taken off the list are put together.
Leaves the list itself to `ledger.law.holiday_lists`, the shapes of tables to `ledger.law.form_times`.
"""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from ledger.errors import InputError
from ledger.law import holiday_lists
from ledger.law.building_times import clock
from ledger.law.calendars import WEEKDAYS, Calendar, Closed, Closing
from ledger.law.facts import FACTS
from ledger.law.rules import Recipient
from ledger.law.shapes import Fault
from ledger.law.terms import Raw

# Nobody checks a list for longer than this, and working one out year by year takes its time.
_FIRST_LISTED, _LAST_LISTED = 1950, 2100


def calendar_of(raw: Raw, jurisdiction: str, faults: list[Fault]) -> Calendar:
    """The calendar that a file states; faults of meaning are added to `faults`."""
    first, last = raw["from"], raw["until"]
    if last < first:
        faults.append(Fault(("calendar", "until"), f"'until' {last} lies before 'from' {first}; write a later day."))
    weekend = frozenset(WEEKDAYS.index(name) for name in raw["weekend"])
    arguable = frozenset(WEEKDAYS.index(name) for name in raw.get("arguable_weekend", ()))
    for day in sorted(weekend & arguable):
        says = f"'{WEEKDAYS[day]}' stands under 'weekend' too; keep one of the two."
        faults.append(Fault(("calendar", "arguable_weekend"), says))
    if len(weekend | arguable) == 7:
        faults.append(Fault(("calendar", "weekend"), "no day of the week is left to work; remove some."))
    closed, named = _listed(raw, faults)
    _taken_off(raw, closed, faults)
    dated = _dated(raw, faults)
    return Calendar(
        weekend,
        {**closed, **dated},
        first,
        last,
        raw["source"],
        jurisdiction,
        closing=_closing(raw),
        arguable_weekend=arguable,
        named_list=named,
    )


def _listed(raw: Raw, faults: list[Fault]) -> tuple[dict[date, Closed], str]:
    """The days of the named list, if there is one, and how a record names it."""
    asked = raw.get("list")
    if asked is None:
        return {}, ""
    if raw["from"].year < _FIRST_LISTED or raw["until"].year > _LAST_LISTED:
        says = (
            f"a named list reaches from {_FIRST_LISTED} to {_LAST_LISTED}; write 'from' and 'until' within those years."
        )
        faults.append(Fault(("calendar", "list"), says))
        return {}, ""
    part = asked.get("subdivision", "")
    try:
        days, version = holiday_lists.listed(
            asked["country"], part, asked.get("observed", True), raw["from"], raw["until"]
        )
    except InputError as wrong:
        says = f"the holidays library has no list '{wrong.given}'; write another, or the days under 'closed'."
        faults.append(Fault(("calendar", "list"), says))
        return {}, ""
    named = f"holidays {version} {asked['country']}{'-' + part if part else ''}"
    return {day: Closed(day, name, f"{raw['source']}; {named}", False) for day, name in days.items()}, named


def _taken_off(raw: Raw, closed: dict[date, Closed], faults: list[Fault]) -> None:
    """Takes the days that are not off from the named list; an arguable one stays, as arguable."""
    for number, one in enumerate(raw.get("not_closed", ())):
        day = one["day"]
        if day not in closed:
            says = f"{day} is not a day of the named list, so it cannot be taken off it; remove it."
            faults.append(Fault(("calendar", "not_closed", number, "day"), says))
        elif one.get("arguable", False):
            closed[day] = replace(closed[day], source=one["source"], arguable=True)
        else:
            del closed[day]


def _dated(raw: Raw, faults: list[Fault]) -> dict[date, Closed]:
    """The dated days off, which take the place of those of the named list."""
    first, last = raw["from"], raw["until"]
    found: dict[date, Closed] = {}
    for number, one in enumerate(raw.get("closed", ())):
        day = one["day"]
        path = ("calendar", "closed", number, "day")
        if day in found:
            faults.append(Fault(path, f"{day} stands twice in the list; remove one."))
        if not first <= day <= last:
            faults.append(Fault(path, f"{day} lies outside {first} to {last}; widen 'from' and 'until' or remove it."))
        found[day] = Closed(day, one["name"], one.get("source", raw["source"]), one.get("arguable", False))
    return found


def _closing(raw: Raw) -> Closing | None:
    stated: Any = raw.get("closing_hour")
    if stated is None:
        return None
    if isinstance(stated, str):
        return Closing(clock(stated), False, raw["source"])
    return Closing(clock(stated["at"]), stated.get("arguable", False), stated.get("source", raw["source"]))


def recipients_of(raws: Sequence[Raw], faults: list[Fault]) -> tuple[Recipient, ...]:
    """The recipients that a file declares."""
    found: dict[str, Recipient] = {}
    for number, raw in enumerate(raws):
        if raw["id"] in found:
            faults.append(Fault(("recipient", number, "id"), f"'{raw['id']}' is declared twice; remove one."))
        fact = raw.get("named_by", "")
        if fact and (fact not in FACTS or FACTS[fact].type != "text" or FACTS[fact].subject == "item"):
            says = f"'{fact}' cannot complete a name; write a fact of text about the seller, the slip or the shop."
            faults.append(Fault(("recipient", number, "named_by"), says))
        found[raw["id"]] = Recipient(raw["id"], raw["name"], raw.get("role", ""), fact)
    return tuple(found.values())
