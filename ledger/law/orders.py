"""An authority's order: until when it holds an item, what lengthens or ends it, and what the dealer owes.

Decides: the end of an order from what was told so far: its notice, its confirmation in writing, renewals, the
dealer's own notices, its release. Leaves to the rule file how long and under which conditions; to the book what was
told; to `ledger.law.permitting` what an order forbids now.

An order that was only spoken lapses unless it is confirmed in time. Renewals and the dealer's silence count in the
order in which they happen; silence lengthens the order once. A renewal that comes after the end, or more often than
the law lets, counts only for the longest reading; so does silence after a renewal where the dealer gave notice of the
end before it.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from ledger import moments
from ledger.errors import InputError, NoRuleForDay
from ledger.law.calendars import Calendar
from ledger.law.clocks import Between, Clock, Events, Happened, clock_of
from ledger.law.counting import Span, hold_end, outermost, utc
from ledger.law.held import Order
from ledger.law.judging import scope
from ledger.law.permitting import clock as shown
from ledger.law.rules import ACTS, RuleFile
from ledger.law.rules_times import OrderRule


@dataclass(frozen=True)
class OrderEvents:
    """What was told about one order so far."""

    notified_at: datetime
    """the first notice, spoken or written; its local day chooses the version of the rule"""
    form: str = "written"
    """how the first notice was given: written or spoken"""
    written_at: datetime | None = None
    """when a spoken order was confirmed in writing"""
    notices: tuple[datetime, ...] = ()
    """the dealer's own written notices before the end"""
    renewals: tuple[datetime, ...] = ()
    released_at: datetime | None = None
    events: Events = field(default_factory=dict)
    """what else the order may run from: "purchase", reports, "end:RULE" ..."""


@dataclass(frozen=True)
class OrderState:
    """How an order stands at one moment."""

    rule: str
    jurisdiction: str
    digest: str
    begun: datetime
    plain: datetime | None
    """first moment at which it no longer holds, as written; None while it has no end"""
    cautious: datetime | None
    """the same under the longest reading"""
    open_ended: bool
    lapses_at: datetime | None
    """when it ends of itself unless it is confirmed in writing; None if it is, or need not be"""
    lapsed: bool
    notice_due: datetime | None
    """by when the dealer must write to the authority before the end; None if that is done or not asked"""
    notice_due_plain: datetime | None
    if_silent: datetime | None
    """until when it would hold, or holds, for want of the dealer's notice"""
    released_at: datetime | None
    waiting_for: str | None
    forbids: tuple[str, ...]
    replaces: tuple[str, ...]
    source: str
    basis: str
    says: str
    trace: dict[str, Any] = field(compare=False)
    rests_on_memory: tuple[str, ...] = ()

    def order(self, id: str = "", lines: tuple[int, ...] = ()) -> Order:
        """The order as `ledger.law.permitting` asks for it. id: the book's own name for it; else the rule's."""
        return Order(
            id=id or self.rule,
            from_=self.begun,
            until=self.cautious,
            source=self.source,
            lines=lines,
            forbids=self.forbids,
            lifted_at=self.released_at,
            until_plain=self.plain,
            replaces=() if self.lapsed else self.replaces,
        )

    def record(self) -> dict[str, Any]:
        """The state as a part of the book holds it: JSON values only."""
        times = {
            "begun": self.begun,
            "plain": self.plain,
            "cautious": self.cautious,
            "lapses_at": self.lapses_at,
            "notice_due": self.notice_due,
            "notice_due_plain": self.notice_due_plain,
            "if_silent": self.if_silent,
            "released_at": self.released_at,
        }
        return {name: moments.local_or_none(value) for name, value in times.items()} | {
            "rule": self.rule,
            "jurisdiction": self.jurisdiction,
            "digest": self.digest,
            "open_ended": self.open_ended,
            "lapsed": self.lapsed,
            "waiting_for": self.waiting_for,
            "forbids": list(self.forbids),
            "replaces": list(self.replaces),
            "source": self.source,
            "basis": self.basis,
            "says": self.says,
            "trace": self.trace,
            "rests_on_memory": list(self.rests_on_memory),
        }


class _Pair(NamedTuple):
    """An end, as written and under the longest reading."""

    plain: datetime
    latest: datetime

    def capped(self, other: "_Pair") -> "_Pair":
        """The earlier of two ends, each reading by itself."""
        return _Pair(*(outermost(both, later=False) for both in zip(self, other, strict=True)))


def state(
    rule: str,
    file: RuleFile,
    told: OrderEvents,
    at: datetime,
    *,
    facts: Mapping[str, Any] | None = None,
    others: tuple[RuleFile, ...] = (),
    zone: ZoneInfo | None = None,
) -> OrderState:
    """How an order under a rule of the file stands at a moment.

    at: now; a lapse and a silence count once they have happened. facts: of "shop" (for its calendar), "slip" and
    "seller". zone: where time is counted, if the notice does not name the zone of a place and the file none.
    Raises: NoRuleForDay if the file has no such order on the day of the notice; InputError without any zone, and for
    an order given in a way that the rule does not let.
    """
    found, clock = _version(rule, file, told, facts or {}, others, zone)
    return _Reckoned(found, clock, told, at, facts or {}).state()


def _version(
    rule: str,
    file: RuleFile,
    told: OrderEvents,
    facts: Mapping[str, Any],
    others: tuple[RuleFile, ...],
    zone: ZoneInfo | None,
) -> tuple[OrderRule, Clock]:
    """The version of the order's day, and the clock on which its times run."""
    here = moments.place(told.notified_at.tzinfo) or file.zone or zone
    if here is None:
        wanted = "a moment with a named time zone"
        raise InputError(field="notified_at", given=told.notified_at.isoformat(), wanted=wanted)
    own: dict[str, datetime | Between] = {"order-notice": told.notified_at}
    written = told.notified_at if told.form == "written" else told.written_at
    if written is not None:
        own["order-written"] = written
    day = told.notified_at.astimezone(here).date()
    # Rules that the order runs from are those of the purchase; the order's own version is that of its notice.
    bought = told.events.get("purchase", told.notified_at)
    assert isinstance(bought, datetime)
    began = clock_of(file, {"purchase": bought}, here, facts, others=others)
    clock = replace(began, zone=here, events={**told.events, **own})
    for one in file.on(day):
        if isinstance(one, OrderRule) and one.id == rule:
            if told.form not in one.forms:
                raise InputError(field="form", given=told.form, wanted=" or ".join(one.forms))
            return one, clock
    why = "it has no order of that name then"
    raise NoRuleForDay(jurisdiction=file.jurisdiction, on=day.isoformat(), why=why, rule=rule)


class _Reckoned:
    """One order, reckoned step by step; the trace tells each step."""

    def __init__(
        self, rule: OrderRule, clock: Clock, told: OrderEvents, at: datetime, facts: Mapping[str, Any]
    ) -> None:
        self.rule, self.clock, self.told, self.at = rule, clock, told, at
        self.trace: dict[str, Any] = {
            "version_from": rule.first.isoformat(),
            "notified_at": told.notified_at.isoformat(),
            "form": told.form,
            "at": at.isoformat(),
        }
        self.says = [rule.says.rstrip(". ") + "."]
        self.silent: tuple[_Pair, datetime] | None = None
        """by when a notice was due that was not given, and until when the order then held"""
        ground = scope(rule, facts)
        if rule.when or rule.unless:
            self.trace["inputs"] = ground.asked
        if ground.applies is False:
            self.says.append("By its own conditions the rule does not apply; the order stands as it was given.")
        elif ground.applies is None:
            self.says.append(f"It is not decided whether the rule applies: {ground.doubt}.")

    def state(self) -> OrderState:
        """The order with everything told so far."""
        end, waiting = self._base()
        lapse, lapsed = self._lapse()
        notice: _Pair | None = None
        silent: datetime | None = None
        if end is not None:
            end = self._renewed(end)
            end, notice, silent = self._silence(end)
            end = self._capped(end)
        if lapsed and lapse is not None:
            end, waiting, notice = lapse if end is None else end.capped(lapse), None, None
        released = self.told.released_at
        if released is not None:
            self.says.append(f"It was released on {shown(released)}.")
        rule, file = self.rule, self.clock.file
        return OrderState(
            rule=rule.id,
            jurisdiction=file.jurisdiction,
            digest=file.digest,
            begun=self.told.notified_at,
            plain=end.plain if end else None,
            cautious=end.latest if end else None,
            open_ended=rule.period is None,
            lapses_at=lapse.latest if lapse else None,
            lapsed=lapsed,
            notice_due=notice.latest if notice else None,
            notice_due_plain=notice.plain if notice else None,
            if_silent=silent,
            released_at=released,
            waiting_for=waiting if released is None else None,
            forbids=rule.forbids or tuple(act for act in ACTS if act != "surrender"),
            replaces=tuple(one.rule for one in rule.displaces) if rule.adds == "replaces" else (),
            source=rule.source.cite,
            basis=rule.source.basis,
            says=" ".join(self.says),
            trace=self.trace,
            rests_on_memory=rule.memory,
        )

    def _base(self) -> tuple[_Pair | None, str | None]:
        """The end before anything lengthens it, or what it waits for."""
        period = self.rule.period
        if period is None:
            return None, "lifting of the hold order"
        clock = self.clock
        if self.rule.adds == "to-running":
            clock = self._from_notice_at_least(period.start.events[0])
        found = clock.period(period, later=True)
        self.trace["period"] = found.trace
        if found.plain is None or found.bound is None:
            return None, found.waiting_for
        return _Pair(found.plain, found.bound), None

    def _from_notice_at_least(self, event: str) -> Clock:
        """The clock on which a hold that ended before the notice is taken to have ended with it."""
        running = self.clock.happened(event, later=True)
        if isinstance(running, str):
            return self.clock
        notified = self.told.notified_at
        both = [outermost([one, notified], later=True) for one in (running.plain, running.bound)]
        moved = Between(both[0], both[0], both[1])
        return replace(self.clock, events={**self.clock.events, event: moved})

    def _calendar(self, span: Span) -> Calendar | None:
        """Whose days off the span counts. Raises: InputError where the shop's are not stated."""
        found = self.clock.calendar(span.calendar)
        if span.calendar == "shop" and found is None:
            raise InputError(field="facts.shop.calendar", given=None, wanted="the days on which the shop is closed")
        return found

    def _added(self, end: _Pair, span: Span, name: str) -> _Pair:
        """The end with a span added to it."""
        found = hold_end(span, end.plain, self._calendar(span), self.clock.zone, bound=end.latest, ended=True)
        self.trace.setdefault(name, []).append(found.trace)
        return _Pair(found.plain, found.cautious)

    def _lapse(self) -> tuple[_Pair | None, bool]:
        """When an order that was only spoken ends of itself, and whether it has."""
        span = self.rule.lapse
        if span is None or self.told.form == "written":
            return None, False
        found = hold_end(span, self.told.notified_at, self._calendar(span), self.clock.zone)
        self.trace["lapse"] = found.trace
        lapse = _Pair(found.plain, found.cautious)
        written = self.told.written_at
        if written is not None and utc(written) < utc(lapse.latest):
            self.trace["confirmed_at"] = written.isoformat()
            return None, False
        lapsed = utc(self.at) >= utc(lapse.latest)
        verb = "lapsed" if lapsed else "lapses"
        self.says.append(f"It {verb} on {shown(lapse.latest)} unless it was confirmed in writing before.")
        return lapse, lapsed

    def _renewed(self, end: _Pair) -> _Pair:
        """The end with each renewal added, and what silence added before it."""
        if self.rule.renewal is None:
            return end
        for number, renewed in enumerate(sorted(self.told.renewals, key=utc), 1):
            end = self._silent_before(end, renewed)
            longer = self._added(end, self.rule.renewal, "renewals")
            often = self.rule.renewal_times is not None and number > self.rule.renewal_times
            if often or utc(renewed) >= utc(end.latest):
                why = "was renewed more often than the law lets" if often else "was renewed after its end"
                self.says.append(f"It {why}; that counts only for the longest reading.")
                longer = _Pair(end.plain, outermost([longer.latest, self._from(renewed)], later=True))
            end = longer
        return end

    def _from(self, renewed: datetime) -> datetime:
        """The end that a renewal gives by itself."""
        span = self.rule.renewal
        assert span is not None
        return hold_end(span, renewed, self._calendar(span), self.clock.zone).cautious

    def _silent_before(self, end: _Pair, moment: datetime) -> _Pair:
        """The end with what silence added to it before a moment."""
        if self.rule.notice_before is None or self.rule.notice_silence is None or self.silent is not None:
            return end
        due = self._notice_due(end, self.rule.notice_before)
        if utc(moment) < utc(due.plain) or self._noticed(due):
            return end
        longer = self._added(end, self.rule.notice_silence, "silence")
        self.silent = due, longer.latest
        self.says.append(f"The dealer's own written notice was not given by {shown(due.latest)}.")
        return longer

    def _silence(self, end: _Pair) -> tuple[_Pair, _Pair | None, datetime | None]:
        """The end with what the dealer's silence adds, by when the dealer must write, and what silence would add."""
        if self.rule.notice_before is None:
            return end, None, None
        if self.silent is not None:
            return end, *self.silent
        due = self._notice_due(end, self.rule.notice_before)
        given = self._noticed(due)
        if self._renewed_after(given):
            given = []
        if given:
            self.trace["notice_given"] = outermost(given, later=False).isoformat()
            return end, None, None
        self.says.append(f"The dealer's own written notice is due by {shown(due.latest)}.")
        if self.rule.notice_silence is None:
            return end, due, None
        longer = self._added(end, self.rule.notice_silence, "silence")
        if utc(self.at) >= utc(due.plain):
            self.says.append(f"It was not given, so the order runs on to {shown(longer.latest)}.")
            written = end.plain if self._noticed(due) else longer.plain
            return _Pair(written, longer.latest), due, longer.latest
        self.says.append(f"Without it the order would run on to {shown(longer.latest)}.")
        return end, due, longer.latest

    def _notice_due(self, end: _Pair, before: Span) -> _Pair:
        """By when the dealer must write before an end: as written, and the earliest."""
        self._calendar(before)
        found = self.clock.before(Happened(end.plain, end.plain, True), before)
        assert found.plain is not None
        assert found.bound is not None
        self.trace["notice"] = found.trace
        return _Pair(found.plain, found.bound)

    def _noticed(self, due: _Pair) -> list[datetime]:
        """The dealer's notices that came in time."""
        return [one for one in self.told.notices if utc(one) <= utc(due.plain)]

    def _renewed_after(self, given: list[datetime]) -> bool:
        """Whether the order was renewed after the last of the notices, so that they spoke of an end that has moved."""
        renewals = self.told.renewals if self.rule.renewal is not None else ()
        return bool(given and renewals) and utc(outermost(renewals, later=True)) > utc(outermost(given, later=True))

    def _capped(self, end: _Pair) -> _Pair:
        """The end, never later than the cap lets."""
        span = self.rule.cap
        if span is None:
            return end
        found = hold_end(span, self.told.notified_at, self._calendar(span), self.clock.zone)
        self.trace["cap"] = found.trace
        return end.capped(_Pair(found.plain, found.cautious))
