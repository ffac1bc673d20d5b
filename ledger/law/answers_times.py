"""Answers that have a clock: reports that are owed, data that are kept, as plain values.

Decides: what each holds and how it is recorded. Leaves how they are reached to `ledger.law.timing`, and the answers
without a clock to `ledger.law.answers`.
"""

from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from ledger import moments
from ledger.law.answers import AskField
from ledger.law.rules import GivesWay


@dataclass(frozen=True)
class Retention:
    """How long one class of data is kept, over all layers."""

    cls: str
    at_least_plain: datetime | None
    at_least: datetime | None
    at_most: datetime | None
    waiting_for: str | None
    rules: tuple[str, ...]
    place: str = "anywhere"
    """where it is kept: premises or anywhere"""


@dataclass(frozen=True)
class Extra:
    """More time for a report, or another way to make it."""

    says: str
    instead: str = ""
    until: datetime | None = None
    """the deadline if the time is given; None where no time is stated, or where it runs from a failure"""
    ask: bool = False

    def record(self) -> dict[str, Any]:
        """JSON values only."""
        until = moments.local_or_none(self.until)
        found = {"says": self.says, "instead": self.instead, "until": until, "ask": self.ask}
        return {name: value for name, value in found.items() if value}


@dataclass(frozen=True)
class ReportDuty:
    """One report that is owed."""

    rule: str
    jurisdiction: str
    digest: str
    layer: str
    recipient: str
    recipient_name: str
    per: str
    covers: tuple[date, date] | None
    """first and last day of the period; None for a report per purchase"""
    due: datetime
    """the earliest reading"""
    due_plain: datetime
    copies: int
    title: str
    nil: bool
    fields: tuple[AskField, ...]
    source: str
    basis: str
    trace: dict[str, Any] = field(compare=False)
    url: str = ""
    met_by: str = "sent"
    """what meets the deadline: that it is made, sent, delivered or received"""
    manner: str = ""
    """how it goes, in words"""
    extension: Extra | None = None
    """how much longer the recipient may allow"""
    failure: Extra | None = None
    """what a technical failure allows"""
    replaced_by: tuple[GivesWay, ...] = ()
    """reports of other laws that make this one needless where they are owed too"""
    rests_on_memory: tuple[str, ...] = ()

    def record(self) -> dict[str, Any]:
        """The report as a part of the book holds it: JSON values only."""
        found: dict[str, Any] = {
            "rule": self.rule,
            "jurisdiction": self.jurisdiction,
            "digest": self.digest,
            "layer": self.layer,
            "recipient": self.recipient,
            "recipient_name": self.recipient_name,
            "per": self.per,
            "due": moments.local_text(self.due),
            "due_plain": moments.local_text(self.due_plain),
            "copies": self.copies,
            "title": self.title,
            "nil": self.nil,
            "met_by": self.met_by,
            "fields": [one.fact for one in self.fields],
            "source": self.source,
            "basis": self.basis,
            "trace": self.trace,
        }
        if self.covers is not None:
            found["covers"] = [day.isoformat() for day in self.covers]
        more = {
            "url": self.url,
            "manner": self.manner,
            "extension": self.extension.record() if self.extension else None,
            "failure": self.failure.record() if self.failure else None,
            "replaced_by": [{"rule": one.rule, "by": one.by} for one in self.replaced_by],
            "rests_on_memory": list(self.rests_on_memory),
        }
        return found | {name: value for name, value in more.items() if value}


@dataclass(frozen=True)
class TaskDuty:
    """Something else that must be done in time."""

    rule: str
    jurisdiction: str
    digest: str
    about: str
    """slip, shop or item/2"""
    what: str
    due: datetime | None
    """the earliest reading; None while it waits"""
    due_plain: datetime | None
    waiting_for: str | None
    met_by: str
    """the event that shows it was done; empty where a person says so"""
    who: str
    source: str
    url: str
    basis: str
    trace: dict[str, Any] = field(compare=False)
    rests_on_memory: tuple[str, ...] = ()

    def record(self) -> dict[str, Any]:
        """The task as a part of the book holds it: JSON values only."""
        found: dict[str, Any] = {
            "rule": self.rule,
            "jurisdiction": self.jurisdiction,
            "digest": self.digest,
            "about": self.about,
            "what": self.what,
            "due": moments.local_or_none(self.due),
            "due_plain": moments.local_or_none(self.due_plain),
            "waiting_for": self.waiting_for,
            "met_by": self.met_by,
            "who": self.who,
            "source": self.source,
            "basis": self.basis,
            "trace": self.trace,
        }
        more = {"url": self.url, "rests_on_memory": list(self.rests_on_memory)}
        return found | {name: value for name, value in more.items() if value}
