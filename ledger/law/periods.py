"""Periods: a length of time, the event from which it runs, and how else both may be read.

Decides: what a period is, which events there are, and how a start is said. Leaves counting to
`ledger.law.counting`, when events happened to `ledger.law.clocks`, and which rule has which period to the rule file.

>>> Start(("purchase", "report-sent:police"), "later").says()
'later of purchase, report-sent:police'
"""

from dataclasses import dataclass
from functools import cached_property
from typing import Literal, NamedTuple

from ledger.law.counting import Span

PLAIN_EVENTS = ("purchase", "receipt", "contract", "payment", "last-entry", "order-notice", "order-written")
"""events that need no name after them"""
CALENDARS = ("own", "shop")


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


class Reading(NamedTuple):
    """Another way to read a period, or several such ways together."""

    span: Span
    start: Start
    reason: str
    basis: str


@dataclass(frozen=True, eq=False)
class Period:
    """A length of time, its start, and how others may read both."""

    span: Span
    start: Start
    readings: tuple[Reading, ...] = ()
    """every combination of alternatives that do not speak about the same key"""

    @cached_property
    def by_the_day(self) -> bool:
        """Whether nothing but the day of the purchase matters: no hours, no other event, no other's calendar."""
        ways = [(self.span, self.start), *((one.span, one.start) for one in self.readings)]
        return all(
            start.events == ("purchase",) and span.unit != "hours" and span.calendar == "own" for span, start in ways
        )


def awaited(event: str) -> str:
    """What has to happen, in words, before a period that waits for an event knows its end."""
    kind, _, name = event.partition(":")
    who = f"the {name.replace('-', ' ')}"
    if kind.startswith("report-"):
        who = {"all": "all recipients", "any": "any recipient"}.get(name, who)
        return {
            "report-made": f"the making of the report to {who}",
            "report-sent": f"the sending of the report to {who}",
            "report-delivered": f"the delivery of the report to {who}",
            "report-received": f"{who}'s receipt of the report" if name != "all" else "all recipients' receipts",
        }[kind]
    words = {
        "receipt": "the receipt of the goods",
        "contract": "the contract",
        "payment": "the payment",
        "last-entry": "the last entry",
        "order-notice": "the notice of the order",
        "order-written": "the written order",
        "shop.calendar": "the shop's own days off, which nobody stated",
        "due": f"the day on which '{name}' is due",
        "end": f"the end of '{name}'",
        "request": f"the request '{name}'",
        "event": f"the event '{name}'",
        "lift": "its being lifted",
    }
    return words.get(kind, event)
