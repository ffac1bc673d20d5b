"""What a rule file declares of its own: questions, events, permissions and tallies, and the facts they add.

Decides: what each declaration holds, and under which name conditions and fields use it. Leaves the reading of
tables to `ledger.law.building_declared`, the sums to `ledger.law.tallies`.

>>> asked = Question("special-for-age", "item", "flag", (), "Is it specially valued for its age?", "clerk", "", "")
>>> asked.fact.name
'item.answers.special-for-age'
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from types import MappingProxyType

from ledger.law.conditions import Condition
from ledger.law.facts import FACTS, Fact

ASKED_ABOUT = ("seller", "item", "slip", "shop", "act")
ASKED_TYPES = ("flag", "text", "word", "whole", "money", "day", "weight", "list")
ANSWERERS = ("clerk", "seller", "owner")
TALLIED = ("total", "cash", "slips", "items", "articles")
TALLIED_BY = ("seller", "shop")
PERIODS = ("day", "week", "month", "year")
WINDOW_UNITS = ("hours", "days", "months", "years")


@dataclass(frozen=True)
class Question:
    """A fact that only this file knows, and how it is asked."""

    id: str
    about: str
    type: str
    words: tuple[str, ...]
    asks: str
    """the question as a person reads it"""
    who: str
    source: str
    basis: str

    @cached_property
    def fact(self) -> Fact:
        """The fact that answers it."""
        name = f"{self.about}.answers.{self.id}"
        return Fact(name, self.type, self.asks, self.words, (self.about, "answers", self.id))


@dataclass(frozen=True)
class DeclaredEvent:
    """Something that happens and from which time may run: "event:ID"."""

    id: str
    about: str
    says: str


@dataclass(frozen=True)
class Permission:
    """What an authority may allow for the shop or one item; in force, its id is in the list of permissions."""

    id: str
    about: str
    says: str
    by: str
    """id of the recipient who gives it; empty if the file names none"""
    source: str
    basis: str


@dataclass(frozen=True)
class Window:
    """A stretch of time that ends with this slip, or the calendar period that holds it."""

    length: int = 0
    unit: str = ""
    period: str = ""
    """day, week, month or year; then there is no length"""

    def says(self) -> str:
        """The window in words."""
        if self.period:
            return f"this {self.period}"
        return f"{self.length} {self.unit if self.length != 1 else self.unit.removesuffix('s')}"


@dataclass(frozen=True)
class Tally:
    """A total or count over earlier slips and usually this one."""

    id: str
    of: str
    """total, cash, slips, items or articles"""
    by: str
    """seller or shop"""
    window: Window
    with_this: bool = True
    when: tuple[Condition, ...] = ()
    """over the facts of one past slip"""

    @cached_property
    def fact(self) -> Fact:
        """The fact that it makes."""
        kind = "money" if self.of in ("total", "cash") else "whole"
        says = f"{self.of} by the same {self.by} within {self.window.says()}"
        return Fact(f"tally.{self.id}", kind, says, (), ("tally", self.id))


PAST: Mapping[str, Fact] = MappingProxyType(
    {
        fact.name: fact
        for fact in (
            Fact("past.channel", "word", "how the goods came", FACTS["slip.channel"].words, ("past", "channel")),
            Fact("past.instrument", "word", "how it was paid", FACTS["slip.instrument"].words, ("past", "instrument")),
        )
    }
)
"""What a tally's `when` may ask of one slip."""


@dataclass(frozen=True)
class Declared:
    """All that one file declares."""

    questions: tuple[Question, ...] = ()
    events: tuple[DeclaredEvent, ...] = ()
    permissions: tuple[Permission, ...] = ()
    tallies: tuple[Tally, ...] = ()
    vocabulary: Mapping[str, Fact] = field(default_factory=lambda: FACTS)
    """the built-in facts and the file's own"""


def vocabulary(questions: tuple[Question, ...], tallies: tuple[Tally, ...]) -> Mapping[str, Fact]:
    """The built-in facts with those of the questions and tallies."""
    own = [question.fact for question in questions] + [tally.fact for tally in tallies]
    return {**FACTS, **{fact.name: fact for fact in own}} if own else FACTS
