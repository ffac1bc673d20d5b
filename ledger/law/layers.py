"""One layer: a rule file held against one purchase.

Decides: which of the file's rules speak about the slip, the seller and each item, what the file itself exempts,
and the duty, hold, report or retention that each rule makes. Leaves what several layers say together to
`ledger.law.combining`. A scope rule speaks only for its own file.
"""

from collections.abc import Callable, Iterator, Mapping
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from ledger.errors import InputError, NoRuleForDay
from ledger.law import combining, judging, timing
from ledger.law.answers import (
    AskField,
    Broken,
    Ceiling,
    DeclarationWords,
    Exemption,
    Limit,
    Outcome,
    cited,
    duty,
    named,
)
from ledger.law.counting import TwoEnds, hold_end
from ledger.law.found import Found
from ledger.law.judging import Scope, scope, unsure
from ledger.law.rules import (
    AskRule,
    DeclareRule,
    DocumentsRule,
    ExemptRule,
    LimitRule,
    PayRule,
    RefuseRule,
    Rule,
    RuleFile,
)

Frame = Mapping[str, Any]
Judge = Callable[[Frame, dict[str, Any]], Outcome]
_ALL = "*"


class Layer:
    """One rule file held against one purchase."""

    def __init__(self, file: RuleFile, facts: Mapping[str, Any], at: datetime, begun: datetime, found: Found) -> None:
        zone = file.zone or at.tzinfo
        if not isinstance(zone, ZoneInfo):
            raise InputError(field="at", given=at.isoformat(), wanted="a moment with a named time zone")
        self.file, self.at, self.zone, self.found = file, at, zone, found
        self.day = at.astimezone(zone).date()
        if self.day < file.known_from:
            why = f"it answers from {file.known_from}"
            raise NoRuleForDay(jurisdiction=file.jurisdiction, on=self.day.isoformat(), why=why)
        self.stale = file.stale_on(self.day)
        self.begun = begun
        self.events: Mapping[str, datetime] = {"purchase": begun}
        self.slip: Frame = {name: facts.get(name, {}) for name in ("shop", "slip", "seller", "principal", "guardian")}
        self.sellers = [("seller", self.slip)]
        self.sellers += [
            (f"party/{one.get('party', number)}", {**self.slip, "seller": one})
            for number, one in enumerate(facts.get("co_sellers", ()), 2)
        ]
        self.items = [
            (one.get("line", number), {**self.slip, "item": one})
            for number, one in enumerate(facts.get("items", ()), 1)
        ]
        self.freed: dict[str, set[str]] = {}
        self.doubts: dict[str, list[str]] = {}
        self.fields: dict[str, list[AskField]] = {}

    def weigh(self) -> None:
        """Adds everything that this file says."""
        if self.stale:
            self.found.stale.append(self.stale)
        rules = self.file.on(self.day)
        for rule in rules:
            if isinstance(rule, ExemptRule):
                self._exempt(rule)
        for rule in rules:
            if not isinstance(rule, ExemptRule):
                self._weigh(rule)

    def _weigh(self, rule: Rule) -> None:
        match rule:
            case AskRule():
                self._ask(rule)
            case DocumentsRule():
                self._judge(rule, "ask", lambda frame, trace: judging.documents(rule, frame, trace))
            case DeclareRule():
                self._declare(rule)
            case RefuseRule():
                self._refuse(rule)
            case LimitRule():
                self._limit(rule)
            case PayRule():
                self._pay(rule)
            case _:
                timing.weigh(rule, self)

    # Whom a rule speaks about, and whether it speaks

    def _subjects(self, about: str) -> Iterator[tuple[str, Frame]]:
        if about == "item":
            yield from ((f"item/{line}", frame) for line, frame in self.items)
        elif about == "seller":
            yield from self.sellers
        else:
            yield "slip", self.slip

    def _exempt(self, rule: ExemptRule) -> None:
        for about, frame in self._subjects(rule.about):
            ground = scope(rule, frame)
            where = about if rule.about == "item" else _ALL
            if ground.applies:
                self.freed.setdefault(where, set()).update(rule.rules or (_ALL,))
                one = Exemption(rule.id, self.file.jurisdiction, about, rule.rules, rule.source.cite, rule.says)
                self.found.exemptions.append(one)
            elif ground.applies is None:
                self.doubts.setdefault(where, []).append(f"{rule.id}: {ground.doubt}")

    def _is_freed(self, rule: Rule, about: str) -> bool:
        """Whether the file's own exemptions take the rule away from this subject.

        A rule about the slip or the seller goes only when every item is exempt from it.
        """

        def freed(where: str) -> bool:
            ids = self.freed.get(where, ())
            return _ALL in ids or rule.id in ids

        if freed(_ALL) or freed(about):
            return True
        return (
            not about.startswith("item/") and bool(self.items) and all(freed(f"item/{line}") for line, _ in self.items)
        )

    def applying(self, rule: Rule) -> Iterator[tuple[str, Frame, Scope, dict[str, Any]]]:
        """Subjects to which the rule applies or may apply, each with the beginning of its trace."""
        for about, frame in self._subjects(rule.about):
            if self._is_freed(rule, about):
                continue
            ground = scope(rule, frame)
            if ground.applies is False and not isinstance(rule, RefuseRule):
                continue
            trace: dict[str, Any] = {"version_from": rule.first.isoformat(), "inputs": ground.asked}
            doubts = self.doubts.get(about, []) + self.doubts.get(_ALL, [])
            if ground.exempt_undecided:
                doubts = [*doubts, "an exception of the rule itself"]
            if doubts:
                trace["exemptions_undecided"] = doubts
            yield about, frame, ground, trace

    def add(self, rule: Rule, kind: str, about: str, outcome: Outcome, trace: dict[str, Any]) -> None:
        self.found.duties.append(duty(self.file, rule, kind, about, outcome, trace, self.stale))

    def _judge(self, rule: Rule, kind: str, judge: Judge) -> tuple[str, ...]:
        """Adds a duty for each subject; the subjects come back."""
        subjects = []
        for about, frame, ground, trace in self.applying(rule):
            outcome = judge(frame, trace)
            if ground.applies is None:
                outcome = unsure(outcome, ground.doubt)
            self.add(rule, kind, about, outcome, trace)
            subjects.append(about)
        return tuple(subjects)

    # One kind of rule each

    def _ask(self, rule: AskRule) -> None:
        subjects = self._judge(rule, "ask", lambda frame, trace: judging.ask(rule, frame, trace))
        nobody_yet = rule.about == "item" and not self.items and scope(rule, self.slip).applies is not False
        if not subjects and not nobody_yet:
            return
        fields = [
            AskField(
                one.fact.name,
                one.label,
                rule.about,
                "must" if one.must else "if-known",
                one.reason_allowed,
                (named(self.file, rule),),
                (rule.source.cite,),
                subjects,
            )
            for one in rule.fields
        ]
        self.fields[rule.id] = fields
        self.found.asks += fields

    def _declare(self, rule: DeclareRule) -> None:
        if self._judge(rule, "ask", lambda frame, trace: judging.declare(rule, frame, trace)):
            words = DeclarationWords(
                rule.id, self.file.jurisdiction, rule.words, rule.language, rule.signed, rule.source.cite
            )
            self.found.declarations.append(words)

    def _refuse(self, rule: RefuseRule) -> None:
        for about, _, ground, trace in self.applying(rule):
            outcome = judging.refuse(rule, ground)
            self.add(rule, "refuse", about, outcome, trace)
            if isinstance(outcome, Broken) and rule.effect == "stops":
                part = combining.RefusePart(named(self.file, rule), cited(rule.says, rule.source.cite), rule.may_record)
                self.found.refusals.append(part)

    def _limit(self, rule: LimitRule) -> None:
        if self._judge(rule, "limit", lambda frame, trace: judging.limit(rule, frame, trace)):
            self.found.limits += [
                Limit(rule.must_not, fact.name, to, rule.id, self.file.jurisdiction, rule.source.cite, copy)
                for fact in rule.facts
                for to in rule.to or ("",)
                for copy in rule.copy or ("",)
            ]

    def _pay(self, rule: PayRule) -> None:
        wait: TwoEnds | None = None
        if rule.not_before is not None:
            wait = hold_end(rule.not_before, self.begun, self.file.calendar, self.zone)
        ceilings = tuple(
            Ceiling(one.instrument, one.amount, one.inclusive, rule.id, self.file.jurisdiction, rule.source.cite)
            for one in rule.ceilings
        )

        def judge(frame: Frame, trace: dict[str, Any]) -> Outcome:
            if wait is not None:
                trace["not_before"] = wait.trace
            return judging.pay(rule, ceilings, frame, wait.cautious if wait else None, trace)

        if self._judge(rule, "pay", judge):
            part = combining.PayPart(
                named(self.file, rule),
                rule.source.cite,
                rule.instruments,
                ceilings,
                wait.plain if wait else None,
                wait.cautious if wait else None,
            )
            self.found.pays.append(part)
