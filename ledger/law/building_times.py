"""From the checked tables that state times to rules, calendars and recipients.

Decides: what the keys of a period mean together, and which of them do not go together. Leaves the shapes of tables
to `ledger.law.form_times`.
"""

from collections.abc import Callable, Mapping, Sequence
from datetime import date, time
from typing import Any

from ledger.law.building_parts import Build, same_subject
from ledger.law.calendars import WEEKDAYS, Calendar, Closed
from ledger.law.counting import Span
from ledger.law.periods import Period, Start
from ledger.law.rules import Recipient, Rule
from ledger.law.rules_times import Due, HoldRule, PermitOf, ReportRule, RetainRule
from ledger.law.shapes import Fault, Path
from ledger.law.terms import Raw, Wrong


def period_of(raw: Raw, path: Path) -> Period:
    """A length, its start and its readings, from the keys of a hold."""
    span, start = span_of(raw, path), start_of(raw.get("start", "purchase"))
    readings = []
    for number, reading in enumerate(raw.get("readings", ())):
        keys = set(reading) - {"reason", "basis"}
        if not keys:
            where = (*path, "readings", number)
            raise Wrong(where, "a reading changes nothing; write the key that it reads otherwise, such as roll.")
        readings.append((keys, reading))
    combined = _combined(raw, readings)
    where = (*path, "readings")
    read = [(span_of(one, where), start_of(one.get("start", "purchase")), why) for one, why in combined]
    return Period(span, start, tuple(read))


def span_of(raw: Raw, path: Path, called: str = "length") -> Span:
    """The length of time that a table states; `called` is the key that gives how many."""
    length, unit, roll = raw["length"], raw["unit"], raw.get("roll", "none")
    first = raw.get("first_day_counts", False)
    if length > _LONGEST[unit]:
        raise Wrong((*path, called), f"'{called}' is {length:,} {unit}; write at most {_LONGEST[unit]:,}.")
    for name, set_ in (("roll", roll != "none"), ("first_day_counts", first)):
        if unit == "hours" and set_:
            raise Wrong((*path, name), f"'{name}' means nothing where hours are counted; remove it.")
    return Span(length, unit, first, roll)


# Longer periods are slips of the pen; none of the acts read for this format comes near.
_LONGEST = {"hours": 10_000, "days": 40_000, "working-days": 2_000, "months": 1_200, "years": 100}


def _combined(raw: Raw, readings: Sequence[tuple[set[str], Raw]]) -> list[tuple[Raw, str]]:
    """Every combination of readings that do not speak about the same key: the rule's table as changed, and why."""
    chosen: list[tuple[set[str], Raw, str]] = [(set(), {}, "")]
    for keys, reading in readings:
        for taken, merged, reason in list(chosen):
            if taken & keys:
                continue
            says = f"{reason}; {reading['reason']}" if reason else reading["reason"]
            chosen.append((taken | keys, {**merged, **{key: reading[key] for key in keys}}, says))
    return [({**raw, **changed}, reason) for _, changed, reason in chosen[1:]]


def start_of(raw: Any) -> Start:
    """The event from which a period runs."""
    if isinstance(raw, str):
        return Start((raw,))
    if "later_of" in raw:
        return Start(tuple(raw["later_of"]), "later")
    return Start(tuple(raw["earlier_of"]), "earlier")


def clock(text: str) -> time | None:
    """A clock time; None for the end of the day."""
    return None if text == "24:00" else time.fromisoformat(text)


def _hold(build: Build, raw: Raw, path: Path) -> HoldRule:
    if "move" in raw["forbids"] and "keep_in" not in raw:
        says = "a hold that forbids to move needs 'keep_in': where the item must stay, such as \"premises\"."
        raise Wrong((*path, "forbids"), says)
    return HoldRule(
        **build.common(raw, path, "item"),
        period=period_of(raw, path),
        forbids=tuple(raw["forbids"]),
        keep_in=raw.get("keep_in", ""),
        allows=tuple(PermitOf(one["act"], one["to"], one.get("says", "")) for one in raw.get("allows", ())),
    )


# Which shapes of deadline make sense for a report per purchase, day or week.
_DUE_FOR = {
    "purchase": ("within", "next", "same_day"),
    "day": ("next", "same_day"),
    "week": ("weekly",),
}


def _due(build: Build, raw: Raw, per: str, path: Path) -> Due:
    shape = next(name for name in ("within", "next", "same_day", "weekly") if name in raw)
    if shape not in _DUE_FOR[per]:
        listed = ", ".join(f"'{name}'" for name in _DUE_FOR[per])
        raise Wrong((*path, shape), f"a report per {per} cannot be due '{shape}'; write {listed}.")
    strange = set(raw) & ({"by"} if shape == "within" else {"unit", "roll"})
    if strange:
        name = sorted(strange)[0]
        raise Wrong((*path, name), f"'{name}' does not go with '{shape}'; remove it.")
    by = clock(raw["by"]) if "by" in raw else None
    if shape == "within":
        if "unit" not in raw:
            raise Wrong(path, "'within' needs 'unit', such as \"hours\".")
        return Due("within", span=span_of({**raw, "length": raw["within"]}, path, "within"))
    if shape == "next":
        return Due("next", next=raw["next"], by=by)
    if shape == "weekly":
        return Due("weekly", weekday=WEEKDAYS.index(raw["weekly"]), by=by)
    if not raw["same_day"]:
        raise Wrong((*path, "same_day"), "'same_day' is false; write true, or another kind of deadline.")
    return Due("same-day", by=by)


def _report(build: Build, raw: Raw, path: Path) -> ReportRule:
    common = build.common(raw, path, "slip")
    same_subject(common, "slip", path)
    return ReportRule(
        **common,
        to=raw["to"],
        per=raw["per"],
        due=_due(build, raw["due"], raw["per"], (*path, "due")),
        title=raw["title"],
        copies=raw.get("copies", 1),
        nil=raw.get("nil", False),
        asks=tuple(raw.get("asks", ())),
    )


def _retain(build: Build, raw: Raw, path: Path) -> RetainRule:
    if not {"at_least", "at_most"} & set(raw):
        raise Wrong(path, "[[retain]] bounds nothing; write 'at_least', 'at_most' or both.")
    common = build.common(raw, path, "slip")
    same_subject(common, "slip", path)
    least = span_of(raw["at_least"], (*path, "at_least")) if "at_least" in raw else None
    most = span_of(raw["at_most"], (*path, "at_most")) if "at_most" in raw else None
    start = start_of(raw.get("start", "purchase"))
    return RetainRule(**common, classes=tuple(raw["classes"]), start=start, at_least=least, at_most=most)


TIMED: Mapping[str, Callable[[Build, Raw, Path], Rule]] = {"hold": _hold, "report": _report, "retain": _retain}
"""How each kind of rule with a clock is built."""


def calendar_of(raw: Raw, jurisdiction: str, faults: list[Fault]) -> Calendar:
    """The calendar that a file states."""
    first, last = raw["from"], raw["until"]
    if last < first:
        faults.append(Fault(("calendar", "until"), f"'until' {last} lies before 'from' {first}; write a later day."))
    closed: dict[date, Closed] = {}
    for number, one in enumerate(raw.get("closed", ())):
        day = one["day"]
        path = ("calendar", "closed", number, "day")
        if day in closed:
            faults.append(Fault(path, f"{day} stands twice in the list; remove one."))
        if not first <= day <= last:
            faults.append(Fault(path, f"{day} lies outside {first} to {last}; widen 'from' and 'until' or remove it."))
        closed[day] = Closed(day, one["name"], one.get("source", raw["source"]), one.get("arguable", False))
    weekend = frozenset(WEEKDAYS.index(name) for name in raw["weekend"])
    if len(weekend) == 7:
        faults.append(Fault(("calendar", "weekend"), "no day of the week is left to work; remove some."))
    return Calendar(weekend, closed, first, last, raw["source"], jurisdiction)


def recipients_of(raws: Sequence[Raw], faults: list[Fault]) -> tuple[Recipient, ...]:
    """The recipients that a file declares."""
    found: dict[str, Recipient] = {}
    for number, raw in enumerate(raws):
        if raw["id"] in found:
            faults.append(Fault(("recipient", number, "id"), f"'{raw['id']}' is declared twice; remove one."))
        found[raw["id"]] = Recipient(raw["id"], raw["name"])
    return tuple(found.values())
