"""What the layers have said so far, before it is combined.

Decides: nothing; it gathers. `ledger.law.layers` adds to it, one file after another, and `ledger.law.duties` combines.
"""

from dataclasses import dataclass, field

from ledger.law import combining
from ledger.law.answers import AskField, DeclarationWords, Duty, Exemption, Limit
from ledger.law.answers_times import ReportDuty
from ledger.law.holds import Hold


@dataclass
class Found:
    """What the layers have said so far."""

    duties: list[Duty] = field(default_factory=list)
    holds: list[Hold] = field(default_factory=list)
    reports: list[ReportDuty] = field(default_factory=list)
    asks: list[AskField] = field(default_factory=list)
    declarations: list[DeclarationWords] = field(default_factory=list)
    pays: list[combining.PayPart] = field(default_factory=list)
    keeps: list[combining.KeepPart] = field(default_factory=list)
    refusals: list[combining.RefusePart] = field(default_factory=list)
    limits: list[Limit] = field(default_factory=list)
    exemptions: list[Exemption] = field(default_factory=list)
    stale: list[str] = field(default_factory=list)
