"""Periods: a length of time, the event from which it runs, and how else both may be read.

Decides: what a period is, and how its start is said. Leaves counting to `ledger.law.counting` and which rule has
which period to the rule file.
"""

from dataclasses import dataclass
from typing import Literal

from ledger.law.counting import Span


@dataclass(frozen=True)
class Start:
    """The event from which a period runs: one, or the later or earlier of several."""

    events: tuple[str, ...]
    choose: Literal["only", "later", "earlier"] = "only"

    def says(self) -> str:
        """The start in words, as a record keeps it."""
        if self.choose == "only":
            return self.events[0]
        return f"{self.choose} of " + ", ".join(self.events)


@dataclass(frozen=True)
class Period:
    """A length of time, its start, and how others may read both."""

    span: Span
    start: Start
    readings: tuple[tuple[Span, Start, str], ...] = ()
    """each alternative with its reason"""
