"""What the layers have said so far, before it is combined.

Decides: nothing; it gathers. `ledger.law.layers` adds to it, one file after another, and `ledger.law.duties` combines.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from ledger.law import combining
from ledger.law.answers import (
    AskedTogether,
    DeclarationWords,
    Displaced,
    Duty,
    Exemption,
    FormAnswer,
    Limit,
    ScopeAnswer,
)
from ledger.law.answers_times import ReportDuty, TaskDuty
from ledger.law.held import Hold
from ledger.law.rules import RuleFile
from ledger.law.tallies import Reckoned


@dataclass
class Found:
    """What the layers have said so far."""

    files: tuple[RuleFile, ...] = ()
    """all layers, for times that run from another file's rules"""
    events: Mapping[str, datetime] = field(default_factory=dict)
    """what has happened since the purchase"""
    duties: list[Duty] = field(default_factory=list)
    holds: list[Hold] = field(default_factory=list)
    reports: list[ReportDuty] = field(default_factory=list)
    tasks: list[TaskDuty] = field(default_factory=list)
    asks: list[AskedTogether] = field(default_factory=list)
    declarations: list[DeclarationWords] = field(default_factory=list)
    pays: list[combining.PayPart] = field(default_factory=list)
    keeps: list[combining.KeepPart] = field(default_factory=list)
    refusals: list[combining.RefusePart] = field(default_factory=list)
    limits: list[Limit] = field(default_factory=list)
    forms: list[FormAnswer] = field(default_factory=list)
    exemptions: list[Exemption] = field(default_factory=list)
    scopes: list[ScopeAnswer] = field(default_factory=list)
    displaced: list[Displaced] = field(default_factory=list)
    tallies: list[tuple[str, Reckoned]] = field(default_factory=list)
    """with the jurisdiction of the file that declares each"""
    stale: list[str] = field(default_factory=list)
