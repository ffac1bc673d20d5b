"""Answers that have a clock: reports that are owed, data that are kept, as plain values.

Decides: what each holds and how it is recorded. Leaves how they are reached to `ledger.law.timing`, and the answers
without a clock to `ledger.law.answers`.
"""

from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from ledger import moments
from ledger.law.answers import AskField


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
            "fields": [one.fact for one in self.fields],
            "source": self.source,
            "basis": self.basis,
            "trace": self.trace,
        }
        if self.covers is not None:
            found["covers"] = [day.isoformat() for day in self.covers]
        return found
