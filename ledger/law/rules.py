"""A rule file once it has been read: frozen values that cannot be wrong.

Decides: what kinds of rules there are and what each holds. Leaves the reading of bytes to `ledger.law.files`
and what a rule means for one purchase to `ledger.law.duties`. Each rule here is one dated version: rules of
one id follow each other without overlap.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from typing import Any, Literal
from zoneinfo import ZoneInfo

from ledger.law.calendars import Calendar
from ledger.law.conditions import Condition
from ledger.law.declared import Declared, Tally
from ledger.law.facts import ACTS as ACTS
from ledger.law.facts import Fact
from ledger.law.periods import Period
from ledger.measures import Money

Effect = Literal["stops", "warns", "notes"]
LAYERS = ("nation", "state", "county", "city")
BASES = ("text", "excerpt", "guidance", "memory", "invented")
EFFECTS: tuple[Effect, ...] = ("stops", "warns", "notes")
PLACES = ("premises", "municipality", "county", "state", "nation", "abroad")
"""Each lies within the next: a move to one that is wider than where the item must be kept is forbidden."""
CLASSES = ("seller", "print", "scan", "item", "money", "law", "case", "staff", "draft")
"""What the vault can forget alone."""
RECORDABLE = ("date", "reason", "count", "seller", "document", "items", "pictures")
EVENTS = ("purchase", "report-made", "report-sent", "report-received")
PERS = ("purchase", "day", "week")
MUST_NOTS = ("ask", "keep", "copy", "show")
MEDIA = ("bound-book", "cards", "electronic")
NUMBERINGS = ("consecutive", "none")
SIGNERS = ("seller", "staff")


@dataclass(frozen=True)
class Source:
    """Where a rule stands, and how it was read."""

    cite: str
    url: str
    quote: str
    basis: str


@dataclass(frozen=True)
class GivesWay:
    """A rule that is displaced, or to which one yields, and on whose word."""

    rule: str
    """jurisdiction/id"""
    by: str
    """the higher law; empty within one file"""


@dataclass(frozen=True, kw_only=True)
class Rule:
    """What every rule has. `about` is "seller", "item" or "slip": once for each, or once for the slip."""

    id: str
    first: date
    last: date | None
    source: Source
    says: str
    effect: Effect
    about: str
    when: tuple[Condition, ...] = ()
    unless: tuple[Condition, ...] = ()
    displaces: tuple[GivesWay, ...] = ()
    yields_to: tuple[GivesWay, ...] = ()
    memory: tuple[str, ...] = ()
    """keys that rest on memory; "all" for the whole rule"""
    terms: Mapping[str, Any] = field(default_factory=dict, repr=False, compare=False)
    """the table as it is written, JSON values, without citation"""

    @cached_property
    def since(self) -> str:
        """The first day as a trace holds it: which version of the rule this is."""
        return self.first.isoformat()

    def in_force(self, day: date) -> bool:
        """Whether this version applies to a purchase of that day."""
        return self.first <= day and (self.last is None or day <= self.last)


@dataclass(frozen=True)
class AskedFact:
    """One field that a rule asks for."""

    fact: Fact
    label: str
    must: bool
    reason_allowed: bool
    prefer: tuple[str, ...] = ()
    """of a print: the fingers that do, the wanted one first"""
    instead: tuple[Fact, ...] = ()
    """any of these answers for it"""


@dataclass(frozen=True, kw_only=True)
class AskRule(Rule):
    """Fields to be asked, in order."""

    fields: tuple[AskedFact, ...]


@dataclass(frozen=True)
class DocumentNeed:
    """What one document must be."""

    types: tuple[str, ...] = ()
    flags: Mapping[str, bool] = field(default_factory=dict)
    """government, photo, descriptive, current: as the document must be"""


@dataclass(frozen=True)
class Way:
    """One way to prove identity: so many documents, each of its kind."""

    says: str
    documents: tuple[DocumentNeed, ...]
    personally_known: bool = False
    fields: tuple[Fact, ...] = ()
    """facts about the seller that this way needs too"""


@dataclass(frozen=True, kw_only=True)
class DocumentsRule(Rule):
    """Which documents are accepted."""

    any_of: tuple[Way, ...]
    always: tuple[DocumentNeed, ...]


@dataclass(frozen=True, kw_only=True)
class DeclareRule(Rule):
    """The words of the seller's statement."""

    words: str
    language: str
    signed: bool
    sworn: bool = False
    also: tuple[tuple[str, str], ...] = ()
    """the same words in other languages: language, words"""


@dataclass(frozen=True)
class Copy:
    """One copy of a paper: for whom, and which facts it leaves out."""

    keeper: str
    omits: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class FormRule(Rule):
    """How the record looks on paper, and how it may be kept."""

    title: str
    copies: tuple[Copy, ...]
    numbered: str
    per: str
    signed_by: tuple[str, ...]
    languages: tuple[str, ...]
    medium: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class RefuseRule(Rule):
    """When nothing may be bought, and what may then be recorded."""

    may_record: tuple[str, ...]


@dataclass(frozen=True)
class CeilingOf:
    """The most that may be paid by one instrument."""

    instrument: str
    amount: Money
    inclusive: bool
    tally: Tally | None = None
    """what counts together; None for this slip alone"""


@dataclass(frozen=True, kw_only=True)
class PayRule(Rule):
    """How, and from when, the seller may be paid."""

    instruments: tuple[str, ...]
    ceilings: tuple[CeilingOf, ...]
    not_before: Period | None
    not_after: Period | None = None
    payees: tuple[str, ...] = ()
    deliveries: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class LimitRule(Rule):
    """What must not be asked, kept, copied or shown."""

    must_not: str
    facts: tuple[Fact, ...]
    to: tuple[str, ...]
    """recipients; empty for everybody"""
    copy: tuple[str, ...] = ()
    """only on the copies that these keep; empty for all"""
    ends: Period | None = None


@dataclass(frozen=True, kw_only=True)
class CoverRule(Rule):
    """What this file, or some of its rules, covers: nothing else."""

    rules: tuple[str, ...]
    """ids; empty for all rules of the file"""


@dataclass(frozen=True, kw_only=True)
class ExemptRule(Rule):
    """What this file, or some of its rules, does not cover."""

    rules: tuple[str, ...]
    """ids; empty for all rules of the file"""


@dataclass(frozen=True)
class Recipient:
    """Whom reports of this file go to."""

    id: str
    name: str
    role: str = ""
    """of the shop's own agencies, the one whose name is printed"""
    named_by: str = ""
    """fact that completes the name"""


_KEPT = 2_000
"""entries that a file keeps at most; then it begins anew"""


@dataclass(frozen=True, eq=False)
class RuleFile:
    """One jurisdiction's rules, dated and cited."""

    digest: str
    """lower-case hex SHA-256 of the file's exact bytes"""
    path: str
    jurisdiction: str
    name: str
    layer: str
    known_from: date
    read_on: date
    checked_until: date
    zone: ZoneInfo | None
    currency: str
    note: str
    calendar: Calendar | None
    rules: tuple[Rule, ...]
    recipients: tuple[Recipient, ...]
    declared: Declared = field(default_factory=Declared)
    kept: dict[Any, Any] = field(default_factory=dict, init=False, repr=False)
    """what was worked out of the file once, by whoever did; it never changes an answer"""

    def on(self, day: date) -> tuple[Rule, ...]:
        """The versions in force for a purchase of that local day, in the file's order."""
        found: tuple[Rule, ...] | None = self.kept.get(day)
        if found is None:
            found = tuple(rule for rule in self.rules if rule.in_force(day))
            if len(self.kept) > _KEPT:
                self.kept.clear()
            self.kept[day] = found
        return found

    def stale_on(self, day: date) -> str | None:
        """What to say if nobody compared the file with the law for that day; None if somebody did."""
        if day <= self.checked_until:
            return None
        return f"{self.name}: not checked since {self.checked_until}"
