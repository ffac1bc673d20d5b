"""The rules that have a clock: how long acts are forbidden, by when reports are due, how long data are kept.

Decides: what each of these rules holds once it has been read. Leaves what it means for one purchase to
`ledger.law.timing`, and the rules without a clock to `ledger.law.rules`.
"""

from dataclasses import dataclass
from datetime import time
from typing import Literal

from ledger.law.counting import Span
from ledger.law.periods import Period, Start
from ledger.law.rules import Rule


@dataclass(frozen=True)
class PermitOf:
    """An act that a hold allows all the same."""

    act: str
    to: str
    says: str


@dataclass(frozen=True, kw_only=True)
class HoldRule(Rule):
    """How long which acts are forbidden."""

    period: Period
    forbids: tuple[str, ...]
    keep_in: str
    allows: tuple[PermitOf, ...]


@dataclass(frozen=True)
class Due:
    """By when a report must be there: one of four shapes."""

    shape: Literal["within", "next", "same-day", "weekly"]
    span: Span | None = None
    next: str = ""
    """"day" or "working-day" """
    weekday: int = 0
    by: time | None = None
    """clock time; None is the end of the day"""


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


@dataclass(frozen=True, kw_only=True)
class RetainRule(Rule):
    """How long classes of data are kept at least and at most."""

    classes: tuple[str, ...]
    start: Start
    at_least: Span | None
    at_most: Span | None
