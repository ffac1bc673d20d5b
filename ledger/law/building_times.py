"""From the checked tables that state times to rules with a clock.

Decides: what the keys of a period or a deadline mean together, and which of them do not go together. Leaves the
shapes of tables to `ledger.law.form_times`, calendars and recipients to `ledger.law.building_calendar`.
"""

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import time
from typing import Any

from ledger.law.building_parts import Build, same_subject
from ledger.law.calendars import WEEKDAYS
from ledger.law.counting import Span
from ledger.law.form_times import DUE_SHAPES
from ledger.law.periods import Period, Reading, Start
from ledger.law.rules import GivesWay, Rule
from ledger.law.rules_times import (
    BeforeEnd,
    Due,
    Extension,
    Failure,
    HoldRule,
    ImpliedAct,
    OrderRule,
    PermitOf,
    ReadDue,
    ReportRule,
    RetainRule,
    Shorter,
    TaskRule,
)
from ledger.law.shapes import Path
from ledger.law.terms import Raw, Wrong

_NOT_A_READING = {"reason", "basis"}
_DAYS_ONLY = ("roll", "first_day_counts", "counts", "calendar")


def period_of(raw: Raw, path: Path, usual: Any = "purchase") -> Period:
    """A length, its start and its readings, from the keys of a table.

    usual: the start where the table names none.
    """
    raw = {"start": usual, **raw}
    where = (*path, "readings")
    read = [
        Reading(span_of(one, where), start_of(one["start"]), why, basis)
        for one, why, basis in _combined(raw, where, _changed)
    ]
    return Period(span_of(raw, path), start_of(raw["start"]), tuple(read))


def span_of(raw: Raw, path: Path, called: str = "length") -> Span:
    """The length of time that a table states; `called` is the key that gives how many."""
    length, unit, roll = raw["length"], raw["unit"], raw.get("roll", "none")
    first, counts, calendar = raw.get("first_day_counts", False), raw.get("counts", "for"), raw.get("calendar", "own")
    if length > _LONGEST[unit]:
        raise Wrong((*path, called), f"'{called}' is {length:,} {unit}; write at most {_LONGEST[unit]:,}.")
    set_ = {"roll": roll != "none", "first_day_counts": first, "counts": counts != "for", "calendar": calendar != "own"}
    for name, used in set_.items():
        if unit == "hours" and used:
            raise Wrong((*path, name), f"'{name}' means nothing where hours are counted; remove it.")
    if first and counts == "before" and length == 1 and unit.endswith("days"):
        raise Wrong((*path, "counts"), "'counts' = \"before\" leaves no day of a length of 1; write a longer one.")
    return Span(length, unit, first, roll, counts, calendar)


# Longer periods are slips of the pen; none of the acts read for this format comes near.
_LONGEST = {"hours": 10_000, "days": 40_000, "working-days": 2_000, "months": 1_200, "years": 100}


def _combined(raw: Raw, path: Path, change: Callable[[Raw, Raw], Raw]) -> list[tuple[Raw, str, str]]:
    """Every combination of readings that do not speak about the same key: the table as changed, why, and the basis."""
    chosen: list[tuple[set[str], Raw, tuple[str, ...], tuple[str, ...]]] = [(set(), raw, (), ())]
    for number, reading in enumerate(raw.get("readings", ())):
        said = {key: value for key, value in reading.items() if key not in _NOT_A_READING}
        if not said:
            says = "a reading changes nothing; write the key that it reads otherwise, such as roll."
            raise Wrong((*path, number), says)
        speaks = set(said) | ({"shape"} if set(said) & set(DUE_SHAPES) else set())
        basis = (reading["basis"],) if "basis" in reading else ()
        for taken, changed, reasons, bases in list(chosen):
            if not taken & speaks:
                chosen.append((taken | speaks, change(changed, said), (*reasons, reading["reason"]), (*bases, *basis)))
    return [(one, "; ".join(why), ", ".join(dict.fromkeys(bases))) for _, one, why, bases in chosen[1:]]


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


# Which keys go with which shape of deadline, and which shapes make sense for a report per purchase, day ...
_GOES_WITH = {
    "within": ("unit", "roll", "first_day_counts", "counts", "calendar", "start"),
    "next": ("by", "roll", "calendar", "start"),
    "same_day": ("by", "roll", "calendar", "start"),
    "weekly": ("by", "roll", "calendar", "start"),
    "quarterly": ("by", "roll", "calendar", "start"),
    "yearly": ("by", "roll", "calendar", "start"),
    "at_once": ("start",),
    "no_day": (),
}
_ON_NAMED_DAYS = ("quarterly", "yearly")
_DUE_FOR = {
    "purchase": ("within", "next", "same_day", "at_once", "no_day"),
    "day": ("next", "same_day"),
    "week": ("weekly",),
    "quarter": ("quarterly",),
    "year": ("yearly",),
    "request": ("within", "next", "same_day", "at_once", "no_day"),
    "task": tuple(DUE_SHAPES),
}


def due_of(raw: Raw, per: str, path: Path, usual: str = "purchase") -> Due:
    """A deadline with its readings. per: purchase, day ... or "task". usual: the start where the table names none."""
    if per != "request" and raw.get("on_request"):
        raise Wrong((*path, "on_request"), "'on_request' goes with per = \"request\"; write that, or remove it.")
    where = (*path, "readings")
    read = [ReadDue(_due(one, per, where, usual), why, basis) for one, why, basis in _combined(raw, where, _reread)]
    return replace(_due(raw, per, path, usual), readings=tuple(read))


def _reread(raw: Raw, reading: Raw) -> Raw:
    """A deadline's table as a reading changes it; another shape takes the place of the old one with its keys."""
    old, new = (next((name for name in DUE_SHAPES if name in table), "") for table in (raw, reading))
    if new and new != old:
        raw = {key: value for key, value in raw.items() if key in ("start", "readings")}
    return _changed(raw, reading)


def _changed(raw: Raw, reading: Raw) -> Raw:
    """A table as a reading changes it; where that counts hours, what only days have goes."""
    if reading.get("unit") == "hours":
        raw = {key: value for key, value in raw.items() if key not in _DAYS_ONLY}
    return {**raw, **reading}


def _due(raw: Raw, per: str, path: Path, usual: str) -> Due:
    shapes = [name for name in DUE_SHAPES if name in raw]
    shape = shapes[0]
    if len(shapes) > 1:
        raise Wrong((*path, shapes[1]), f"'{shapes[1]}' and '{shape}' are two deadlines; keep one of them.")
    if shape not in _DUE_FOR[per]:
        listed = ", ".join(f"'{name}'" for name in _DUE_FOR[per])
        raise Wrong((*path, shape), f"a report per {per} cannot be due '{shape}'; write {listed}.")
    strange = set(raw) - {shape, "readings", "on_request", *_GOES_WITH[shape]}
    if strange:
        name = sorted(strange)[0]
        raise Wrong((*path, name), f"'{name}' does not go with '{shape}'; remove it.")
    for name in ("same_day", "at_once", "no_day"):
        if raw.get(name) is False:
            raise Wrong((*path, name), f"'{name}' is false; write true, or another kind of deadline.")
    start, by = start_of(raw.get("start", usual)), raw.get("by", "24:00")
    if shape == "within":
        if "unit" not in raw:
            raise Wrong(path, "'within' needs 'unit', such as \"hours\".")
        return Due("within", span=span_of({**raw, "length": raw["within"]}, path, "within"), start=start)
    if shape in ("at_once", "no_day"):
        return Due("at-once" if shape == "at_once" else "no-day", start=start)
    return Due(
        "same-day" if shape == "same_day" else shape,  # type: ignore[arg-type]
        next=raw.get("next", ""),
        weekday=WEEKDAYS.index(raw.get("weekly", WEEKDAYS[0])),
        by=None if by == "close" else clock(by),
        closing=by == "close",
        days=tuple((int(one[:2]), int(one[3:])) for one in (raw[shape] if shape in _ON_NAMED_DAYS else ())),
        start=start,
        roll=raw.get("roll", "none"),
        calendar=raw.get("calendar", "own"),
    )


def _until(event: str) -> Period:
    """The period of what runs until an event: no time at all after it."""
    return Period(Span(0, "hours"), Start((event,)))


def _needs_length(raw: Raw, instead: str, path: Path) -> None:
    """Refuses a length without unit, and the keys of a length where there is none."""
    if "length" in raw and "unit" not in raw:
        raise Wrong(path, "'length' needs 'unit', such as \"days\".")
    strange = sorted(set(raw) & {"unit", "first_day_counts", "counts", "roll", "calendar", "start", "readings"})
    if "length" not in raw and strange:
        raise Wrong((*path, strange[0]), f"'{strange[0]}' does not go with '{instead}'; remove it.")
    if raw.get(instead) is False:
        raise Wrong((*path, instead), f"'{instead}' is false; write true, or a length.")


def _permit(build: Build, raw: Raw, path: Path) -> PermitOf:
    when = build.conditions(raw.get("when", ()), (*path, "when"))
    after = span_of(raw["after"], (*path, "after")) if "after" in raw else None
    return PermitOf(raw["act"], raw.get("to", ""), raw.get("says", ""), when, after, raw.get("permission", ""))


def _shorter(build: Build, raw: Raw, usual: Any, path: Path) -> Shorter:
    when = build.conditions(raw["when"], (*path, "when"))
    return Shorter(when, period_of(raw, path, usual), raw.get("says", ""), raw.get("source", ""))


def _hold(build: Build, raw: Raw, path: Path) -> HoldRule:
    implied = tuple(ImpliedAct(one["act"], one["basis"], one.get("says", "")) for one in raw.get("implied", ()))
    if "move" in [*raw["forbids"], *(one.act for one in implied)] and "keep_in" not in raw:
        says = "a hold that forbids to move needs 'keep_in': where the item must stay, such as \"premises\"."
        raise Wrong((*path, "forbids"), says)
    _needs_length(raw, "ends_with" if "ends_with" in raw else "until_released", path)
    usual = raw.get("start", "purchase")
    return HoldRule(
        **build.common(raw, path, "item"),
        period=period_of(raw, path) if "length" in raw else _until(raw.get("ends_with", f"lift:{raw['id']}")),
        forbids=tuple(raw["forbids"]),
        keep_in=raw.get("keep_in", ""),
        keep_of=raw.get("keep_of", "licence"),
        implied=implied,
        shorter=tuple(
            _shorter(build, one, usual, (*path, "shorter", n)) for n, one in enumerate(raw.get("shorter", ()))
        ),
        allows=tuple(_permit(build, one, (*path, "allows", n)) for n, one in enumerate(raw.get("allows", ()))),
    )


def _order(build: Build, raw: Raw, path: Path) -> OrderRule:
    _needs_length(raw, "open_ended", path)
    common = build.common(raw, path, "slip")
    same_subject(common, "slip", path)
    adds = raw.get("adds", "alongside")
    start = raw.get("start", "order-notice")
    if adds == "to-running" and not (isinstance(start, str) and start.startswith("end:")):
        says = 'an order that is added to a running hold needs its start = "end:RULE", with the id of that hold.'
        raise Wrong((*path, "adds"), says)
    if adds == "replaces" and "displaces" not in raw:
        raise Wrong((*path, "adds"), "an order that replaces a hold needs 'displaces' with the ids of those holds.")
    open_ended = "length" not in raw
    for key in ("renewal", "notice") if open_ended else ():
        if key in raw:
            raise Wrong((*path, key), f"'{key}' means nothing where an order has no end; remove it.")

    def inner(*steps: str) -> Span | None:
        table: Any = raw
        for step in steps:
            table = table.get(step) if table else None
        return span_of(table, (*path, *steps)) if table else None

    return OrderRule(
        **common,
        forms=tuple(raw.get("forms", ("written",))),
        period=None if open_ended else period_of(raw, path, "order-notice"),
        adds=adds,
        forbids=tuple(raw.get("forbids", ())),
        release=tuple(raw.get("release", ())),
        asks_for=tuple(raw.get("asks_for", ())),
        cap=inner("cap"),
        renewal=inner("renewal"),
        renewal_times=raw.get("renewal", {}).get("times"),
        lapse=inner("lapse", "within"),
        notice_before=inner("notice", "before"),
        notice_silence=inner("notice", "silence"),
    )


def _report(build: Build, raw: Raw, path: Path) -> ReportRule:
    common = build.common(raw, path, "slip")
    same_subject(common, "slip", path)
    failure = raw.get("failure")
    if failure and ("length" in failure) != ("unit" in failure):
        raise Wrong((*path, "failure"), "'length' and 'unit' go together; write both or neither.")
    extension = raw.get("extension")
    return ReportRule(
        **common,
        to=raw["to"],
        per=raw["per"],
        due=due_of(
            raw["due"],
            raw["per"],
            (*path, "due"),
            f"request:{raw['id']}" if raw["per"] == "request" else "purchase",
        ),
        title=raw["title"],
        copies=raw.get("copies", 1),
        nil=raw.get("nil", False),
        asks=tuple(raw.get("asks", ())),
        met_by=raw.get("met_by", "sent"),
        manner=raw.get("manner", ""),
        extension=Extension(
            span_of(extension, (*path, "extension")), extension.get("says", ""), extension.get("ask", True)
        )
        if extension
        else None,
        failure=Failure(
            failure["says"],
            failure.get("instead", ""),
            span_of(failure, (*path, "failure")) if "length" in failure else None,
        )
        if failure
        else None,
        replaced_by=tuple(GivesWay(one["rule"], one["by"]) for one in raw.get("replaced_by", ())),
    )


def _task(build: Build, raw: Raw, path: Path) -> TaskRule:
    about = raw.get("about", "slip")
    common = build.common(raw, path, about)
    same_subject(common, about, path)
    before = raw.get("before_end")
    due: Due | BeforeEnd
    if before:
        due = BeforeEnd(before["of"], span_of(before, (*path, "before_end")))
    else:
        due = due_of(raw["due"], "task", (*path, "due"))
    return TaskRule(**common, what=raw["what"], due=due, met_by=raw.get("met_by", ""), who=raw.get("who", "owner"))


def _retain(build: Build, raw: Raw, path: Path) -> RetainRule:
    if not {"at_least", "at_most"} & set(raw):
        raise Wrong(path, "[[retain]] bounds nothing; write 'at_least', 'at_most' or both.")
    common = build.common(raw, path, "slip")
    same_subject(common, "slip", path)
    usual = raw.get("start", "purchase")
    least, most = (
        period_of(raw[name], (*path, name), usual) if name in raw else None for name in ("at_least", "at_most")
    )
    return RetainRule(
        **common,
        classes=tuple(raw["classes"]),
        start=start_of(usual),
        at_least=least,
        at_most=most,
        place=raw.get("place", "anywhere"),
        medium=tuple(raw.get("medium", ())),
    )


TIMED: Mapping[str, Callable[[Build, Raw, Path], Rule]] = {
    "hold": _hold,
    "order": _order,
    "report": _report,
    "task": _task,
    "retain": _retain,
}
"""How each kind of rule with a clock is built."""
