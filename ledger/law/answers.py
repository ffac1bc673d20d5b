"""What the rules ask of one purchase: duties and the answers that layers give together, as plain values.

Decides: the words of an answer and how it is recorded. Leaves to `ledger.law.duties` how answers are reached.
A broken duty is a value, never an exception; what cannot be decided says so, with what follows either way.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from ledger import moments
from ledger.law.rules import Rule, RuleFile
from ledger.measures import Money


@dataclass(frozen=True)
class Met:
    """Nothing is wrong."""

    state = "met"


@dataclass(frozen=True)
class Broken:
    """The purchase, as it stands, breaks the rule."""

    reason: str
    state = "broken"


@dataclass(frozen=True)
class Undecided:
    """A person must answer."""

    reason: str
    if_yes: str = ""
    if_no: str = ""
    state = "undecided"


@dataclass(frozen=True)
class Ahead:
    """Nothing to do yet: a hold runs, a report will be due, data are kept."""

    until: datetime | None
    state = "ahead"


Outcome = Met | Broken | Undecided | Ahead


@dataclass(frozen=True)
class Duty:
    """What one rule asks here and now."""

    rule: str
    jurisdiction: str
    digest: str
    kind: str
    """ask, limit, refuse, pay, hold, report or retain"""
    about: str
    """seller, party/2, slip or item/2"""
    outcome: Outcome
    effect: str
    source: str
    url: str
    basis: str
    says: str
    trace: dict[str, Any]
    stale: str | None

    @property
    def state(self) -> str:
        """met, broken, undecided or ahead."""
        return self.outcome.state

    def record(self) -> dict[str, Any]:
        """The duty as a part of the book holds it: JSON values only."""
        found: dict[str, Any] = {
            "rule": self.rule,
            "jurisdiction": self.jurisdiction,
            "digest": self.digest,
            "kind": self.kind,
            "about": self.about,
            "outcome": self.state,
            "effect": self.effect,
            "source": self.source,
            "basis": self.basis,
            "says": self.says,
            "trace": self.trace,
        }
        if self.url:
            found["url"] = self.url
        if self.stale:
            found["stale"] = self.stale
        match self.outcome:
            case Broken(reason=reason):
                found["reason"] = reason
            case Undecided(reason=reason, if_yes=if_yes, if_no=if_no):
                found |= {"reason": reason, "if_yes": if_yes, "if_no": if_no}
            case Ahead(until=until) if until is not None:
                found["until"] = moments.local_text(until)
        return found


@dataclass(frozen=True)
class AskField:
    """One field that must be on the record, as all layers together ask it."""

    fact: str
    label: str
    about: str
    """seller, item or slip"""
    need: str
    """must or if-known"""
    reason_allowed: bool
    rules: tuple[str, ...]
    """jurisdiction/rule"""
    sources: tuple[str, ...]
    subjects: tuple[str, ...]
    """of whom it is asked: seller, party/2, item/1 ..."""


@dataclass(frozen=True)
class DeclarationWords:
    """Words that the seller's statement must contain."""

    rule: str
    jurisdiction: str
    words: str
    language: str
    signed: bool
    source: str


@dataclass(frozen=True)
class Ceiling:
    """The most that may be paid by one instrument, and whose rule says so."""

    instrument: str
    amount: Money
    inclusive: bool
    rule: str
    jurisdiction: str
    source: str

    def broken_by(self, total: Money) -> bool | None:
        """Whether a payment of this total is too much; None for another currency."""
        if total.currency != self.amount.currency:
            return None
        return total.minor > self.amount.minor or (not self.inclusive and total.minor == self.amount.minor)

    def says(self) -> str:
        """The ceiling in words."""
        return f"{'at most' if self.inclusive else 'less than'} {self.amount} may be paid by {self.instrument}"


@dataclass(frozen=True)
class PayAnswer:
    """How all layers together let the seller be paid."""

    instruments: tuple[str, ...] | None = None
    """None where no rule limits them"""
    ceilings: tuple[Ceiling, ...] = ()
    not_before_plain: datetime | None = None
    not_before_cautious: datetime | None = None
    rules: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()

    def allows(self, instrument: str, total: Money, at: datetime) -> str | None:
        """None if the payment may be made at this moment, else why not, in one sentence."""
        where = f" ({'; '.join(self.sources)})" if self.sources else ""
        if self.instruments is not None and instrument not in self.instruments:
            allowed = ", ".join(self.instruments) or "nothing at all, since the rules contradict each other"
            return f"Payment by {instrument} is not allowed; allowed is {allowed}{where}."
        for ceiling in self.ceilings:
            if ceiling.instrument == instrument and ceiling.broken_by(total) is not False:
                return f"By law {ceiling.says()}, and {total} is to be paid ({ceiling.source})."
        waits = self.not_before_cautious
        if waits is not None and at.timestamp() < waits.timestamp():
            return f"Payment may be made from {moments.local_text(waits)}{where}."
        return None


@dataclass(frozen=True)
class Refusal:
    """Nothing may be bought; what may be kept of it."""

    may_record: tuple[str, ...]
    rules: tuple[str, ...]
    reasons: tuple[str, ...]


@dataclass(frozen=True)
class Limit:
    """What must not be done with a fact."""

    must_not: str
    fact: str
    to: str
    """recipient; empty for everybody"""
    rule: str
    jurisdiction: str
    source: str
    copy: str = ""
    """only on the copy that this one keeps; empty for all"""
    until: datetime | None = None
    """first moment at which it no longer holds"""


@dataclass(frozen=True)
class Exemption:
    """What a file itself leaves out."""

    rule: str
    jurisdiction: str
    about: str
    """item/2, seller or slip"""
    rules: tuple[str, ...]
    """ids of the rules that do not apply; none for all of the file's"""
    source: str
    says: str


def duty(
    file: RuleFile,
    rule: Rule,
    kind: str,
    about: str,
    outcome: Outcome,
    trace: dict[str, Any],
    stale: str | None,
) -> Duty:
    """A duty of a rule, with its sentence: the rule's own, or what is wrong and where that stands."""
    says = rule.says
    if isinstance(outcome, Broken | Undecided):
        says = cited(outcome.reason, rule.source.cite)
    source = rule.source
    return Duty(
        rule.id,
        file.jurisdiction,
        file.digest,
        kind,
        about,
        outcome,
        rule.effect,
        source.cite,
        source.url,
        source.basis,
        says,
        trace,
        stale,
    )


def cited(says: str, cite: str) -> str:
    """A sentence with its source."""
    return f"{says.rstrip('. ')} ({cite})."


def named(file: RuleFile, rule: Rule) -> str:
    """A rule's name beyond its own file."""
    return f"{file.jurisdiction}/{rule.id}"


def joined(words: Sequence[str]) -> str:
    """Words as a sentence lists them."""
    return ", ".join(words[:-1]) + (" and " if len(words) > 1 else "") + words[-1] if words else ""
