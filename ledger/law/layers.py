"""One layer: a rule file held against one purchase.

Decides: the duty, hold, report or retention that each rule makes where it applies. Leaves where that is to
`ledger.law.scoping`, and what several layers say together to `ledger.law.combining`.
"""

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from typing import Any

from ledger.law import combining, judging, tallies, timing
from ledger.law.answers import (
    AskedTogether,
    AskField,
    Broken,
    Ceiling,
    DeclarationWords,
    Displaced,
    FormAnswer,
    Limit,
    Outcome,
    cited,
    duty,
    named,
)
from ledger.law.displacing import Node, Settled
from ledger.law.facts import Unknown, shown
from ledger.law.found import Found
from ledger.law.judging import scope, unsure
from ledger.law.rules import (
    AskRule,
    CeilingOf,
    DeclareRule,
    DocumentsRule,
    FormRule,
    LimitRule,
    PayRule,
    RefuseRule,
    Rule,
    RuleFile,
)
from ledger.law.scoping import Frame, Scoped

Judge = Callable[[Frame, dict[str, Any]], Outcome]


class Layer(Scoped):
    """One rule file held against one purchase."""

    def __init__(self, file: RuleFile, facts: Mapping[str, Any], at: datetime, begun: datetime, found: Found) -> None:
        super().__init__(file, facts, at, begun, found)
        self.clock = timing.clock_of(file, facts, at, begun, self.zone, found)
        self.fields: dict[str, Sequence[AskField]] = {}

    def weigh(self, settled: Settled) -> None:
        """Adds everything that this file says. settled: what gives way to rules of this file or of others."""
        self.settled = settled
        if self.stale:
            self.found.stale.append(self.stale)
        for rule in self.rules:
            if settled.gone:
                self._give_way(rule)
            self._weigh(rule)

    def _give_way(self, rule: Rule) -> None:
        """Keeps by what the rule is displaced, and where."""
        name = named(self.file, rule)
        for place in self.places[rule.id]:
            way = self.settled.gone.get(Node(name, place.about))
            if way is not None:
                by = min(way.sources).name
                self.found.displaced.append(
                    Displaced(rule.id, self.file.jurisdiction, place.about, by, way.by, rule.source.cite)
                )

    def _weigh(self, rule: Rule) -> None:
        match rule:
            case AskRule():
                self._ask(rule)
            case DocumentsRule():
                self._judge(rule, "ask", lambda frame, trace: judging.documents(rule, frame, trace))
            case DeclareRule():
                self._declare(rule)
            case FormRule():
                self._form(rule)
            case RefuseRule():
                self._refuse(rule)
            case LimitRule():
                self._limit(rule)
            case PayRule():
                self._pay(rule)
            case _:
                timing.weigh(rule, self)

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
        # What is asked of whom is the same for every slip with these subjects.
        key = (rule.id, rule.first, subjects)
        fields = self.file.kept.get(key)
        if fields is None:
            fields = self.file.kept[key] = self._fields(rule, subjects)
        self.fields[rule.id] = fields
        self.found.asks.append(fields)

    def _fields(self, rule: AskRule, subjects: tuple[str, ...]) -> AskedTogether:
        return AskedTogether(
            AskField(
                one.fact.name,
                one.label,
                rule.about,
                "must" if one.must else "if-known",
                one.reason_allowed,
                (named(self.file, rule),),
                (rule.source.cite,),
                subjects,
                one.prefer,
                tuple(fact.name for fact in one.instead),
            )
            for one in rule.fields
        )

    def _declare(self, rule: DeclareRule) -> None:
        if self._judge(rule, "ask", lambda frame, trace: judging.declare(rule, frame, trace)):
            words = DeclarationWords(
                rule.id,
                self.file.jurisdiction,
                rule.words,
                rule.language,
                rule.signed,
                rule.source.cite,
                rule.sworn,
                rule.also,
            )
            self.found.declarations.append(words)

    def _form(self, rule: FormRule) -> None:
        self.found.forms += [
            FormAnswer(
                rule.id,
                self.file.jurisdiction,
                about,
                rule.title,
                rule.copies,
                rule.numbered,
                rule.per,
                rule.signed_by,
                rule.languages,
                rule.medium,
                rule.source.cite,
            )
            for about in self._judge(rule, "form", lambda frame, trace: judging.form(rule, frame, trace))
        ]

    def _refuse(self, rule: RefuseRule) -> None:
        for about, _, ground, trace in self.applying(rule):
            outcome = judging.refuse(rule, ground)
            self.add(rule, "refuse", about, outcome, trace)
            if isinstance(outcome, Broken) and rule.effect == "stops":
                part = combining.RefusePart(named(self.file, rule), cited(rule.says, rule.source.cite), rule.may_record)
                self.found.refusals.append(part)

    def _limit(self, rule: LimitRule) -> None:
        end = self.clock.period(rule.ends, later=True) if rule.ends else None

        def judge(frame: Frame, trace: dict[str, Any]) -> Outcome:
            if end is not None:
                trace["ends"] = end.trace
            return judging.limit(rule, frame, end.bound if end else None, trace)

        if self._judge(rule, "limit", judge):
            self.found.limits += [
                Limit(
                    rule.must_not,
                    fact.name,
                    to,
                    rule.id,
                    self.file.jurisdiction,
                    rule.source.cite,
                    copy,
                    end.bound if end else None,
                )
                for fact in rule.facts
                for to in rule.to or ("",)
                for copy in rule.copy or ("",)
            ]

    def _pay(self, rule: PayRule) -> None:
        if not self.places[rule.id]:
            return
        wait = self.clock.period(rule.not_before, later=True) if rule.not_before else None
        until = self.clock.period(rule.not_after, later=False) if rule.not_after else None
        ceilings = self._ceilings(rule)

        def judge(frame: Frame, trace: dict[str, Any]) -> Outcome:
            trace |= {name: ends.trace for name, ends in (("not_before", wait), ("not_after", until)) if ends}
            windows = [{"window": one.window, "earlier": shown(one.earlier)} for one in ceilings if one.window]
            if windows:
                trace["windows"] = windows
            since = (wait.bound, wait.waiting_for) if wait else (None, None)
            waits = judging.Waits(since[0], until.bound if until else None, since[1])
            return judging.pay(rule, ceilings, frame, waits, trace)

        if self._judge(rule, "pay", judge):
            part = combining.PayPart(
                named(self.file, rule),
                rule.source.cite,
                rule.instruments,
                ceilings,
                wait.plain if wait else None,
                wait.bound if wait else None,
                rule.payees,
                rule.deliveries,
                until.plain if until else None,
                until.bound if until else None,
                wait.waiting_for if wait else None,
            )
            self.found.pays.append(part)

    def _ceilings(self, rule: PayRule) -> tuple[Ceiling, ...]:
        """The rule's ceilings; those that count no earlier slips are the same for every slip."""
        key = ("ceilings", rule.id, rule.first)
        found: tuple[Ceiling, ...] | None = self.file.kept.get(key)
        if found is None:
            found = tuple(self._ceiling(rule, one) for one in rule.ceilings)
            if all(one.tally is None for one in rule.ceilings):
                self.file.kept[key] = found
        return found

    def _ceiling(self, rule: PayRule, one: CeilingOf) -> Ceiling:
        window, earlier = "", None
        if one.tally is not None:
            reckoned = tallies.reckon(one.tally, self.facts, self.at, self.zone)
            self.found.tallies.append((self.file.jurisdiction, reckoned))
            window, value = one.tally.window.says(), reckoned.value
            earlier = Unknown(value["not_known"], True) if isinstance(value, dict) else value
        return Ceiling(
            one.instrument,
            one.amount,
            one.inclusive,
            rule.id,
            self.file.jurisdiction,
            rule.source.cite,
            window,
            earlier,
        )
