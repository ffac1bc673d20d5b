"""The rules that have a clock: how long acts are forbidden, by when things are due, how long data are kept.

Decides: what each of these rules holds once it has been read. Leaves what it means for one purchase to
`ledger.law.timing`, and the rules without a clock to `ledger.law.rules`.
"""

from dataclasses import dataclass
from datetime import time
from functools import cached_property
from typing import Literal, NamedTuple

from ledger.law.conditions import Condition
from ledger.law.counting import Span
from ledger.law.periods import Period, Start
from ledger.law.rules import GivesWay, Rule

MET_BY = ("made", "sent", "delivered", "received")
PERS = ("purchase", "day", "week", "quarter", "year", "request")
NEXTS = ("day", "working-day")
KEEP_OF = ("licence", "purchase", "receipt")
ADDS = ("alongside", "to-running", "replaces")
SPOKEN_OR_WRITTEN = ("written", "spoken")
WHO = ("clerk", "seller", "owner")
PURCHASE = Start(("purchase",))


@dataclass(frozen=True)
class PermitOf:
    """An act that a hold allows all the same."""

    act: str
    to: str
    """empty for anybody and anywhere"""
    says: str
    when: tuple[Condition, ...] = ()
    after: Span | None = None
    """only so long after the hold began"""
    permission: str = ""
    """only under this permission of an authority"""


@dataclass(frozen=True)
class ImpliedAct:
    """An act that the text of a hold does not name and that follows from it."""

    act: str
    basis: str
    says: str


@dataclass(frozen=True)
class Shorter:
    """A shorter time that a hold has under conditions."""

    when: tuple[Condition, ...]
    period: Period
    says: str
    cite: str


@dataclass(frozen=True, kw_only=True)
class HoldRule(Rule):
    """How long which acts are forbidden. One that runs until an event has no length and starts with that event."""

    period: Period
    forbids: tuple[str, ...]
    keep_in: str
    allows: tuple[PermitOf, ...]
    keep_of: str = "licence"
    implied: tuple[ImpliedAct, ...] = ()
    shorter: tuple[Shorter, ...] = ()


@dataclass(frozen=True, kw_only=True)
class OrderRule(Rule):
    """What an authority's own hold may be: how given, how long, and what ends or lengthens it."""

    forms: tuple[str, ...]
    period: Period | None
    """None: no end until it is lifted"""
    adds: str
    forbids: tuple[str, ...]
    """empty for every act but surrendering"""
    release: tuple[str, ...]
    asks_for: tuple[str, ...]
    cap: Span | None = None
    renewal: Span | None = None
    renewal_times: int | None = None
    """None: as often as the authority likes"""
    lapse: Span | None = None
    """time in which a spoken order must be followed by a written one"""
    notice_before: Span | None = None
    notice_silence: Span | None = None


@dataclass(frozen=True, eq=False)
class Due:
    """By when something must be there, in one of several shapes."""

    shape: Literal["within", "next", "same-day", "weekly", "quarterly", "yearly", "at-once", "no-day"]
    span: Span | None = None
    next: str = ""
    """"day" or "working-day" """
    weekday: int = 0
    by: time | None = None
    """clock time; None is the end of the day"""
    closing: bool = False
    """by the hour of closing that the calendar names"""
    days: tuple[tuple[int, int], ...] = ()
    """months and days, with "quarterly" and "yearly" """
    start: Start = PURCHASE
    roll: str = "none"
    calendar: str = "own"
    readings: tuple["ReadDue", ...] = ()

    @cached_property
    def by_the_day(self) -> bool:
        """Whether nothing but the day of the purchase matters: a named day after it, read in one way."""
        named = self.shape in ("next", "weekly", "quarterly", "yearly")
        return named and self.start.events == ("purchase",) and self.calendar == "own" and not self.readings


class ReadDue(NamedTuple):
    """Another way to read a deadline, or several such ways together."""

    due: Due
    reason: str
    basis: str


@dataclass(frozen=True)
class Extension:
    """How much longer the recipient of a report may allow."""

    span: Span
    says: str
    ask: bool


@dataclass(frozen=True)
class Failure:
    """What a technical failure of the usual way allows."""

    says: str
    instead: str
    span: Span | None


@dataclass(frozen=True, kw_only=True)
class ReportRule(Rule):
    """What goes to whom, by when."""

    to: str
    per: str
    due: Due
    title: str
    copies: int
    nil: bool
    asks: tuple[str, ...]
    met_by: str = "sent"
    manner: str = ""
    extension: Extension | None = None
    failure: Failure | None = None
    replaced_by: tuple[GivesWay, ...] = ()


@dataclass(frozen=True)
class BeforeEnd:
    """So long before a hold or an order ends."""

    of: str
    span: Span


@dataclass(frozen=True, kw_only=True)
class TaskRule(Rule):
    """Something else that must be done in time."""

    what: str
    due: Due | BeforeEnd
    met_by: str
    who: str


@dataclass(frozen=True, kw_only=True)
class RetainRule(Rule):
    """How long classes of data are kept at least and at most."""

    classes: tuple[str, ...]
    start: Start
    at_least: Period | None
    at_most: Period | None
    place: str = "anywhere"
    medium: tuple[str, ...] = ()
