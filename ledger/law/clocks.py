"""The clock of one purchase under one rule file: when events happened, and when periods and deadlines end.

Decides: the moment of each event that a rule may start from, also of those that follow from other rules (when a
duty fell due, when a hold ends), and both ends of a period over all readings: *plain* is the rule as written, the
*bound* is the latest end of a hold or the earliest end of a deadline. A hold that starts from a due date takes the
latest one, a deadline that starts from a hold's end the earliest. Leaves counting to `ledger.law.counting` and
`ledger.law.deadlines`; the caller hands in what has happened.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from ledger import moments
from ledger.law.calendars import Calendar, of_shop
from ledger.law.counting import Span, ahead, day_of, deadline, hold_end, outermost
from ledger.law.deadlines import Reached, covered, reached
from ledger.law.periods import Period, Start
from ledger.law.rules import RuleFile
from ledger.law.rules_times import Due, HoldRule, ReportRule, TaskRule

_ENDING = ("due", "end")
"""kinds of events that are the end of a period, whose day is the last one before the moment"""
SHOP_CALENDAR = "shop.calendar"
"""what a period waits for whose days off are the shop's while nobody stated those"""


class Between(NamedTuple):
    """A moment that may be read in several ways."""

    plain: datetime
    earliest: datetime
    latest: datetime


Events = Mapping[str, datetime | Between]
"""what has happened, by name. "purchase" is the later of when it happened and when it was recorded; "occurred", if
there, is when it happened, and deadlines run from that"""


class Happened(NamedTuple):
    """When an event happened: as written, and the bound that the asking side takes."""

    plain: datetime
    bound: datetime
    ended: bool = False
    """whether it is the end of a period, whose day is the last before the moment"""


class Ends(NamedTuple):
    """Both ends of a period or a deadline as far as the events tell."""

    plain: datetime | None
    bound: datetime | None
    waiting_for: str | None
    trace: dict[str, Any]
    covers: tuple[date, date] | None = None


@dataclass(frozen=True)
class Clock:
    """One purchase under one file.

    day: local day that chooses the versions of rules. shop: the shop's own calendar, where it is known.
    others: further files, for events that follow from their rules. recipients: ids to whom this purchase must be
    reported under the file, or None for those of all its rules. replaced: recipient -> the recipient of another
    law's report that takes the place of the report to it.
    """

    file: RuleFile
    day: date
    zone: ZoneInfo
    events: Events
    shop: Calendar | None = None
    others: tuple[RuleFile, ...] = ()
    recipients: tuple[str, ...] | None = None
    replaced: Mapping[str, str] | None = None
    asked: frozenset[str] = frozenset()
    """events that are being worked out, so that rules that wait for each other wait for ever"""

    # Events

    def happened(self, event: str, *, later: bool) -> Happened | str:
        """When an event happened, or the name of the event that is waited for.

        later: as a hold asks, which takes the later of two readings; a deadline takes the earlier.
        """
        if event == "purchase" and not later and "occurred" in self.events:
            event = "occurred"
        kind, _, name = event.partition(":")
        if event in self.events:
            known = self.events[event]
            if isinstance(known, datetime):
                return Happened(known, known, kind in _ENDING)
            return Happened(known.plain, known.latest if later else known.earliest, kind in _ENDING)
        if kind.startswith("report-"):
            return self._reported(event, kind, name, later=later)
        if kind in _ENDING and event not in self.asked:
            return self._of_rule(event, kind, name, later=later)
        return event

    def _reported(self, event: str, kind: str, name: str, *, later: bool) -> Happened | str:
        if name in ("all", "any"):
            each = [self.happened(f"{kind}:{one}", later=later) for one in self._recipients()]
            if not each:
                return event
            return _chosen(each, "later" if name == "all" else "earlier")
        instead = (self.replaced or {}).get(name)
        return self.happened(f"{kind}:{instead}", later=later) if instead else event

    def _recipients(self) -> Sequence[str]:
        if self.recipients is not None:
            return self.recipients
        rules = (rule for rule in self.file.on(self.day) if isinstance(rule, ReportRule) and rule.per != "request")
        return tuple(dict.fromkeys(rule.to for rule in rules))

    def _of_rule(self, event: str, kind: str, name: str, *, later: bool) -> Happened | str:
        """When another rule's time ends, or what that waits for."""
        place, _, id_ = name.rpartition("/")
        known = (one for one in (self.file, *self.others) if one.jurisdiction == (place or self.file.jurisdiction))
        file = next(known, None)
        if file is None:
            return event
        there = self if file is self.file else replace(self, file=file, recipients=None)
        there = replace(there, asked=self.asked | {event})
        for rule in file.on(self.day):
            if rule.id != id_:
                continue
            if kind == "end" and isinstance(rule, HoldRule):
                return _as_event(there.hold(rule, later=later))
            if kind == "due" and isinstance(rule, ReportRule | TaskRule) and isinstance(rule.due, Due):
                per = rule.per if isinstance(rule, ReportRule) else ""
                return _as_event(there.due(rule.due, per, later=later))
        return event

    def begins(self, start: Start, *, later: bool) -> Happened | str:
        """When a period begins, or the event that it waits for."""
        if start.choose == "only":
            return self.happened(start.events[0], later=later)
        return _chosen([self.happened(event, later=later) for event in start.events], start.choose)

    # Periods

    def calendar(self, whose: str) -> Calendar | None:
        """The file's calendar, or the shop's."""
        return self.file.calendar if whose == "own" else self.shop

    def period(self, period: Period, *, later: bool) -> Ends:
        """Both ends of a period. later: of a hold, whose bound is the latest; else of a deadline.

        Raises: NoRuleForDay where days off must be known outside the calendar.
        """
        begun = self.happened("purchase", later=later) if period.by_the_day else ""
        if isinstance(begun, str) or begun.bound is not begun.plain:
            return self._period(period, later=later)
        # Every slip of a day gets the same answer; only the moment from which it is counted is its own.
        local = begun.plain.astimezone(self.zone)
        key = (period, later, local.date(), self.zone.key)
        found: Ends | None = self.file.kept.get(key)
        if found is None:
            found = self.file.kept[key] = self._period(period, later=later)
            return found
        trace = {**found.trace, "start": (start := local.isoformat())}
        if "readings" in trace:
            trace["readings"] = [{**one, "start": start} for one in trace["readings"]]
        return found._replace(trace=trace)

    def _period(self, period: Period, *, later: bool) -> Ends:
        def way(span: Span, start: Start, reason: str = "", basis: str = "") -> _Way:
            return _Way(start, reason, basis, lambda begun: self._spanned(span, begun, later=later))

        return self._over([way(period.span, period.start), *(way(*one) for one in period.readings)], later=later)

    def hold(self, rule: HoldRule, *, later: bool) -> Ends:
        """Both ends of a hold; the earliest counts its shorter times too. Raises: NoRuleForDay."""
        found = self.period(rule.period, later=later)
        if later or found.bound is None:
            return found
        shorter = [self.period(one.period, later=False).bound for one in rule.shorter]
        return found._replace(bound=outermost([found.bound, *(one for one in shorter if one)], later=False))

    def due(self, due: Due, per: str = "", *, later: bool = False) -> Ends:
        """Both ends of a deadline. per: what a report is owed for; later: the bound is the latest.

        Raises: NoRuleForDay.
        """
        if due.shape == "no-day":
            return Ends(None, None, None, {"shape": due.shape})
        begun = self.happened("purchase", later=later) if due.by_the_day else ""
        if isinstance(begun, str) or begun.bound is not begun.plain:
            return self._all_due(due, per, later=later)
        key = (due, per, later, begun.plain.astimezone(self.zone).date(), self.zone.key)
        found: Ends | None = self.file.kept.get(key)
        if found is None:
            found = self.file.kept[key] = self._all_due(due, per, later=later)
        return found

    def _all_due(self, due: Due, per: str, *, later: bool) -> Ends:
        def way(one: Due, reason: str = "", basis: str = "") -> _Way:
            return _Way(one.start, reason, basis, lambda begun: self._due(one, per, begun, later=later))

        return self._over([way(due), *(way(*one) for one in due.readings)], later=later)

    def before(self, end: Happened, span: Span) -> Ends:
        """So long before an end: as written, and the earliest. Raises: NoRuleForDay."""
        calendar = self.calendar(span.calendar)
        if calendar is None and span.calendar == "shop":
            return Ends(None, None, SHOP_CALENDAR, {"waiting_for": SHOP_CALENDAR})
        plain, shown = ahead(span, end.plain, calendar, self.zone, arguable_is_off=False)
        bound, _ = ahead(span, end.bound, calendar, self.zone, arguable_is_off=True)
        trace = {"before": end.plain.astimezone(self.zone).isoformat(), "length": span.length, "unit": span.unit}
        return Ends(plain, outermost([plain, bound], later=False), None, trace | shown)

    # One reading, and all of them

    def _spanned(self, span: Span, begun: Happened, *, later: bool) -> "_Counted | str":
        if span.calendar == "shop" and self.shop is None:
            return SHOP_CALENDAR
        calendar = self.calendar(span.calendar)
        counted = hold_end if later else deadline
        found = counted(span, begun.plain, calendar, self.zone, bound=begun.bound, ended=begun.ended)
        return _Counted(found.plain, found.cautious, found.trace)

    def _due(self, due: Due, per: str, begun: Happened, *, later: bool) -> "_Counted | str":
        if due.span is not None:
            return self._spanned(due.span, begun, later=later)
        calendar = self.calendar(due.calendar)
        if due.calendar == "shop" and calendar is None:
            return SHOP_CALENDAR

        def moment(start: datetime, *, off: bool) -> Reached:
            return reached(
                due,
                start,
                calendar,
                self.zone,
                arguable_is_off=off,
                later=off,
                ended=begun.ended,
                per=per,
            )

        plain = moment(begun.plain, off=False)
        bound = moment(begun.bound, off=later) if later or begun.bound is not begun.plain else plain
        days = covered(per, day_of(begun.plain, self.zone, ended=begun.ended), plain.named)
        shown = plain.shown
        if bound.moment != plain.moment:
            shown = {**shown, "read_otherwise": bound.shown}
        return _Counted(plain.moment, outermost([plain.moment, bound.moment], later=later), shown, days)

    def _over(self, ways: "Sequence[_Way]", *, later: bool) -> Ends:
        """The ends as the first way gives them, and the bound over all ways."""
        first = self._one(ways[0], later=later)
        trace: dict[str, Any] = {"event": ways[0].start.says()}
        if isinstance(first, str):
            return Ends(None, None, first, {**trace, "waiting_for": first})
        bounds, waiting, read = [first.plain, first.bound], None, []
        for way in ways[1:]:
            found = self._one(way, later=later)
            shown = {"reason": way.reason, "event": way.start.says()} | ({"basis": way.basis} if way.basis else {})
            if isinstance(found, str):
                waiting = waiting or found
                read.append({**shown, "waiting_for": found})
            else:
                bounds.append(found.bound)
                read.append({**shown, **found.trace})
        trace |= first.trace | ({"readings": read} if read else {})
        # A reading that still waits can only lengthen a hold; a deadline is the earliest of those that do not wait.
        waiting = waiting if later else None
        bound = None if waiting else outermost(bounds, later=later)
        return Ends(first.plain, bound, waiting, trace, first.covers)

    def _one(self, way: "_Way", *, later: bool) -> "_Counted | str":
        begun = self.begins(way.start, later=later)
        return begun if isinstance(begun, str) else way.counted(begun)


class _Counted(NamedTuple):
    plain: datetime
    bound: datetime
    trace: dict[str, Any]
    covers: tuple[date, date] | None = None


class _Way(NamedTuple):
    """One way to read a period or a deadline."""

    start: Start
    reason: str
    basis: str
    counted: Callable[[Happened], _Counted | str]


def _as_event(ends: Ends) -> Happened | str:
    """The end of a period as an event from which another runs."""
    if ends.plain is None or ends.bound is None:
        return ends.waiting_for or ""
    return Happened(ends.plain, ends.bound, True)


def _chosen(found: Sequence[Happened | str], choose: str) -> Happened | str:
    """The later or earlier of several events, or the first that is waited for."""
    known = [one for one in found if not isinstance(one, str)]
    missing = [one for one in found if isinstance(one, str)]
    if missing and not (choose == "earlier" and known):
        return missing[0]
    later = choose != "earlier"
    last = outermost([one.plain for one in known], later=later)
    # Whether the moment is the end of a period is asked of the event that is taken.
    taken = next(one for one in known if one.plain is last)
    return Happened(last, outermost([one.bound for one in known], later=later), taken.ended)


def clock_of(
    file: RuleFile,
    events: Events,
    zone: ZoneInfo,
    facts: Mapping[str, Any],
    *,
    others: Sequence[RuleFile] = (),
) -> Clock:
    """The clock of what began with the event "purchase" under a file.

    zone: counts where that event does not name the zone of a place. facts: those of the shop, for its calendar.
    """
    began = events["purchase"]
    assert isinstance(began, datetime)
    zone = moments.place(began.tzinfo) or zone
    stated = facts.get("shop", {}).get("calendar")
    shop = of_shop(stated) if stated else None
    return Clock(file, began.astimezone(zone).date(), zone, events, shop=shop, others=tuple(others))
