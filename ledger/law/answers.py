"""What the rules ask of one purchase: duties and the answers that layers give together, as plain values.

Decides: the words of an answer and how it is recorded. Leaves to `ledger.law.duties` how answers are reached.
A broken duty is a value, never an exception; what cannot be decided says so, with what follows either way.
"""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any

from ledger import moments
from ledger.law.facts import Unknown
from ledger.law.rules import Copy, Rule, RuleFile
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
    rests_on_memory: tuple[str, ...] = ()
    """keys of the rule that nobody read; "all" for the whole rule"""

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
        if self.rests_on_memory:
            found["rests_on_memory"] = list(self.rests_on_memory)
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
    prefer: tuple[str, ...] = ()
    """of a print: the fingers that do, the wanted one first"""
    instead: tuple[str, ...] = ()
    """facts of which any answers for it"""


class AskedTogether(tuple[AskField, ...]):
    """The fields of one rule; hashed as what it is, not by what it holds, so that merging can be kept."""

    __slots__ = ()
    __hash__ = object.__hash__
    __ne__ = object.__ne__

    def __eq__(self, other: object) -> bool:
        return self is other


@dataclass(frozen=True)
class DeclarationWords:
    """Words that the seller's statement must contain."""

    rule: str
    jurisdiction: str
    words: str
    language: str
    signed: bool
    source: str
    sworn: bool = False
    also: tuple[tuple[str, str], ...] = ()
    """the same words in other languages, of which any is enough: language, words"""


@dataclass(frozen=True)
class Ceiling:
    """The most that may be paid by one instrument, and whose rule says so."""

    instrument: str
    amount: Money
    inclusive: bool
    rule: str
    jurisdiction: str
    source: str

    window: str = ""
    """the time in which payments count together, in words; empty for this slip alone"""
    earlier: Money | Unknown | None = None
    """what was paid so before within the window"""

    def broken_by(self, total: Money) -> bool | None:
        """Whether a payment of this total is too much; None where it cannot be told."""
        if total.currency != self.amount.currency:
            return None
        paid = total.minor
        if isinstance(self.earlier, Unknown):
            return True if self._over(paid) else None
        if self.earlier is not None:
            if self.earlier.currency != total.currency:
                return None
            paid += self.earlier.minor
        return self._over(paid)

    def _over(self, minor: int) -> bool:
        return minor > self.amount.minor or (not self.inclusive and minor == self.amount.minor)

    def says(self) -> str:
        """The ceiling in words."""
        within = f" within {self.window}" if self.window else ""
        return f"{'at most' if self.inclusive else 'less than'} {self.amount} may be paid by {self.instrument}{within}"

    def why(self, total: Money) -> str:
        """Why a payment of this total breaks the ceiling, or cannot be held against it, in one sentence."""
        before = ""
        if isinstance(self.earlier, Unknown):
            before = f", and {self.earlier.reason}"
        elif self.earlier is not None:
            before = f", after {self.earlier} before"
        return f"By law {self.says()}, and {total} is to be paid{before}."


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
    payees: tuple[str, ...] | None = None
    """who may be paid; None where no rule limits it"""
    deliveries: tuple[str, ...] | None = None
    not_after_plain: datetime | None = None
    not_after_cautious: datetime | None = None
    """the earliest: payment must be made before this moment"""
    waiting_for: str | None = None
    """the event from which the time runs before which nothing may be paid, while it has not happened"""

    def allows(self, instrument: str, total: Money, at: datetime) -> str | None:
        """None if the payment may be made at this moment, else why not, in one sentence."""
        where = f" ({'; '.join(self.sources)})" if self.sources else ""
        if self.instruments is not None and instrument not in self.instruments:
            allowed = ", ".join(self.instruments) or "nothing at all, since the rules contradict each other"
            return f"Payment by {instrument} is not allowed; allowed is {allowed}{where}."
        for ceiling in self.ceilings:
            if ceiling.instrument == instrument and ceiling.broken_by(total) is not False:
                return cited(ceiling.why(total), ceiling.source)
        if self.waiting_for is not None:
            return f"Payment waits for an event that is not recorded: {self.waiting_for}{where}."
        waits = self.not_before_cautious
        if waits is not None and at.timestamp() < waits.timestamp():
            return f"Payment may be made from {moments.local_text(waits)}{where}."
        return None


@dataclass(frozen=True)
class FormAnswer:
    """How the record looks on paper, as one rule wants it."""

    rule: str
    jurisdiction: str
    about: str
    """slip or item/2"""
    title: str
    copies: tuple[Copy, ...]
    numbered: str
    per: str
    signed_by: tuple[str, ...]
    languages: tuple[str, ...]
    medium: tuple[str, ...]
    source: str

    def record(self) -> dict[str, Any]:
        """JSON values only."""
        copies = [{"for": one.keeper, "omits": list(one.omits)} for one in self.copies]
        listed = {name: list(getattr(self, name)) for name in ("signed_by", "languages", "medium")}
        return {**asdict(self), **listed, "copies": copies}


@dataclass(frozen=True)
class Displaced:
    """A rule that another displaces at one subject, and on whose word."""

    rule: str
    jurisdiction: str
    about: str
    by_rule: str
    """jurisdiction/id of the rule that goes before"""
    citation: str
    source: str
    """where the displaced rule stands"""

    def says(self) -> str:
        """The displacement in one sentence."""
        return f"{self.jurisdiction}/{self.rule} gives way to {self.by_rule} ({self.citation})."

    def record(self) -> dict[str, Any]:
        """JSON values only."""
        return asdict(self)


@dataclass(frozen=True)
class ScopeAnswer:
    """Whether a cover or an exemption holds at one subject, and the facts that were used."""

    rule: str
    jurisdiction: str
    digest: str
    kind: str
    """cover or exempt"""
    about: str
    applies: bool | None
    inputs: dict[str, Any]

    def record(self) -> dict[str, Any]:
        """JSON values only."""
        return {
            "rule": self.rule,
            "jurisdiction": self.jurisdiction,
            "digest": self.digest,
            "kind": self.kind,
            "about": self.about,
            "applies": self.applies,
            "inputs": self.inputs,
        }


@dataclass(frozen=True)
class QuestionAsked:
    """A question that rule files declare, and of whom it is asked."""

    fact: str
    about: str
    type: str
    words: tuple[str, ...]
    asks: str
    who: str
    jurisdictions: tuple[str, ...]
    subjects: tuple[str, ...]
    """those whose answer some rule looked for: seller, slip, item/2 ...; none if no rule came to it"""


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

    @property
    def everywhere(self) -> bool:
        """Whether it holds towards everybody and for every copy."""
        return not self.to and not self.copy

    def forbids_capture(self, what: str) -> bool:
        """Whether a picture of this kind must not be asked for, or not be kept, wherever it is."""
        return self.must_not in ("ask", "keep") and self.fact == f"seller.captures.{what}" and self.everywhere


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
    source = rule.source
    says = rule.says
    if isinstance(outcome, Broken | Undecided):
        says = cited(outcome.reason, source.cite)
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
        remembered(says, rule.memory),
        trace,
        stale,
        rule.memory,
    )


def remembered(says: str, memory: Sequence[str]) -> str:
    """A sentence, followed by what of its rule rests on memory."""
    if not memory:
        return says
    what = "the whole rule" if "all" in memory else joined(memory).replace("_", " ")
    return f"{says} Rests on memory: {what}."


def cited(says: str, cite: str) -> str:
    """A sentence with its source."""
    return f"{says.rstrip('. ')} ({cite})."


def named(file: RuleFile, rule: Rule) -> str:
    """A rule's name beyond its own file."""
    return f"{file.jurisdiction}/{rule.id}"


def joined(words: Sequence[str]) -> str:
    """Words as a sentence lists them."""
    return ", ".join(words[:-1]) + (" and " if len(words) > 1 else "") + words[-1] if words else ""
