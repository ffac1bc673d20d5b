"""Of whom a rule file speaks: its subjects, what it covers and exempts, and where each of its rules applies.

Decides: for each rule in force, the slip, sellers or items to which it applies, may apply, or does not apply. A
scope rule speaks only for its own file. What is undecided never frees: the rule stands, and its trace says why.
Leaves to `ledger.law.displacing` which rules give way to others, and to `ledger.law.layers` what a rule asks.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from ledger import moments
from ledger.errors import InputError, NoRuleForDay
from ledger.law import tallies
from ledger.law.answers import Exemption, ScopeAnswer
from ledger.law.calendars import WEEKDAYS
from ledger.law.displacing import NOTHING, Claim, Node, Settled
from ledger.law.facts import doubts_in
from ledger.law.found import Found
from ledger.law.judging import ALWAYS, Scope, scope
from ledger.law.rules import CoverRule, ExemptRule, RefuseRule, Rule, RuleFile
from ledger.law.rules_times import OrderRule

Frame = Mapping[str, Any]
_ALL = "*"
_SUBJECTS = ("shop", "slip", "seller", "principal", "guardian")


class Place(NamedTuple):
    """One subject of a rule: its facts, whether the rule applies, and what could not be decided about it."""

    about: str
    frame: Frame
    scope: Scope
    doubts: Mapping[str, Sequence[str]]
    """exemptions and covers that are not decided, each with why"""


def _firm(ground: Scope) -> Scope:
    """Where a scope rule holds: not decided if its own exception is not."""
    if ground.applies and ground.exempt_undecided:
        return Scope(None, ground.asked, doubts_in(ground.asked), False)
    return ground


_NO_DOUBT: Mapping[str, Sequence[str]] = {}


def _doubts(exempt: list[str], ground: Scope, uncovered: list[str]) -> dict[str, list[str]]:
    """What is not decided about a rule that stands, as its trace tells it."""
    found = {}
    if ground.exempt_undecided:
        exempt = [*exempt, "an exception of the rule itself"]
    if exempt:
        found["exemptions_undecided"] = exempt
    if uncovered:
        found["cover_undecided"] = uncovered
    return found


class Scoped:
    """One rule file held against one purchase, as far as the question goes of whom it speaks."""

    def __init__(self, file: RuleFile, facts: Mapping[str, Any], at: datetime, begun: datetime, found: Found) -> None:
        # The law of a place counts in the zone of the place of purchase.
        zone = moments.place(at.tzinfo) or file.zone or at.tzinfo
        if not isinstance(zone, ZoneInfo):
            raise InputError(field="at", given=at.isoformat(), wanted="a moment with a named time zone")
        self.file, self.at, self.zone, self.begun, self.found = file, at, zone, begun, found
        local = at.astimezone(zone)
        self.day = local.date()
        if self.day < file.known_from:
            why = f"it answers from {file.known_from}"
            raise NoRuleForDay(jurisdiction=file.jurisdiction, on=self.day.isoformat(), why=why)
        self.facts = facts
        self.stale = file.stale_on(self.day)
        self.slip = self._frame(local)
        self.sellers = [("seller", self.slip)]
        self.sellers += [
            (f"party/{one.get('party', number)}", {**self.slip, "seller": one})
            for number, one in enumerate(facts.get("co_sellers", ()), 2)
        ]
        self.items = [
            (f"item/{one.get('line', number)}", {**self.slip, "item": one})
            for number, one in enumerate(facts.get("items", ()), 1)
        ]
        self._names = {kind: tuple(about for about, _ in self.subjects(kind)) for kind in ("seller", "item")}
        self._everywhere = {
            kind: [Place(about, frame, ALWAYS, _NO_DOUBT) for about, frame in self.subjects(kind)]
            for kind in ("slip", "seller", "item")
        }
        self.freed: dict[str, set[str]] = {}
        self.doubts: dict[str, list[tuple[tuple[str, ...], str]]] = {}
        self.covers: list[tuple[CoverRule, dict[str, Scope]]] = []
        self.rules: list[Rule] = []
        self.places: dict[str, list[Place]] = {}
        self.settled: Settled = NOTHING

    def _frame(self, local: datetime) -> Frame:
        """The facts of the slip, with what is worked out of the moment and of earlier slips."""
        frame: dict[str, Any] = {name: self.facts.get(name, {}) for name in _SUBJECTS}
        frame["slip"] = {
            **frame["slip"],
            "clock": local.isoformat()[11:16],
            "day": self.day,
            "weekday": WEEKDAYS[self.day.weekday()],
        }
        if self.file.declared.tallies:
            reckoned = [tallies.reckon(one, self.facts, self.at, self.zone) for one in self.file.declared.tallies]
            frame["tally"] = {one.tally.id: one.value for one in reckoned}
            self.found.tallies += [(self.file.jurisdiction, one) for one in reckoned]
        return frame

    def scope(self) -> None:
        """Works out where each rule applies."""
        for rule in self.file.on(self.day):
            if isinstance(rule, ExemptRule):
                self._exempt(rule)
            elif isinstance(rule, CoverRule):
                self.covers.append((rule, dict(self._answers(rule, "cover"))))
            elif not isinstance(rule, OrderRule) and rule.about != "shop":
                # An order is no part of a purchase, nor is what the shop owes whether or not it buys.
                self.rules.append(rule)
        self.places = {rule.id: self._place(rule) for rule in self.rules}

    def subjects(self, about: str) -> Sequence[tuple[str, Frame]]:
        """The subjects of that kind, each with its facts."""
        if about == "item":
            return self.items
        return self.sellers if about == "seller" else [("slip", self.slip)]

    def _answers(self, rule: CoverRule | ExemptRule, kind: str) -> Iterator[tuple[str, Scope]]:
        """Where a scope rule holds; each answer is kept for the trace."""
        for about, frame in self.subjects(rule.about):
            ground = _firm(scope(rule, frame))
            self.found.scopes.append(
                ScopeAnswer(
                    rule.id, self.file.jurisdiction, self.file.digest, kind, about, ground.applies, ground.asked
                )
            )
            yield about, ground

    def _exempt(self, rule: ExemptRule) -> None:
        for about, ground in self._answers(rule, "exempt"):
            if ground.applies:
                self.freed.setdefault(about, set()).update(rule.rules or (_ALL,))
                one = Exemption(rule.id, self.file.jurisdiction, about, rule.rules, rule.source.cite, rule.says)
                self.found.exemptions.append(one)
            elif ground.applies is None:
                self.doubts.setdefault(about, []).append((rule.rules, f"{rule.id}: {ground.doubt}"))

    def _freed_at(self, rule: Rule, where: str) -> bool:
        ids = self.freed.get(where, ())
        return _ALL in ids or rule.id in ids

    def _doubted_at(self, rule: Rule, where: str) -> list[str]:
        return [why for rules, why in self.doubts.get(where, ()) if not rules or rule.id in rules]

    def _freedom(self, rule: Rule, about: str) -> tuple[bool, list[str]]:
        """Whether the file's own exemptions take the rule away from this subject, and those that may.

        What is exempt about the slip holds for all of it. A rule about another subject than the exemption's goes
        only when every seller, or every item, is exempt from it.
        """
        if not self.freed and not self.doubts:
            return False, []
        ways: list[tuple[str, ...]] = [("slip",), (about,)]
        if about not in self._names["seller"]:
            ways.append(self._names["seller"])
        if about not in self._names["item"]:
            ways.append(self._names["item"])
        doubts: list[str] = []
        for way in dict.fromkeys(ways):
            each = [(self._freed_at(rule, where), self._doubted_at(rule, where)) for where in way]
            if each and all(freed for freed, _ in each):
                return True, []
            if all(freed or why for freed, why in each):
                doubts += [one for freed, why in each if not freed for one in why]
        return False, doubts

    def _covered(self, rule: Rule, about: str) -> tuple[bool | None, list[str]]:
        """Whether one of the file's covers holds here, and why it is not decided.

        A rule about the slip or the seller is covered if an item is; before there are items, it stands.
        """
        answer = True
        doubts: list[str] = []
        for cover, grounds in self.covers:
            if cover.rules and rule.id not in cover.rules:
                continue
            if not grounds or (about in grounds and grounds[about].applies):
                return True, []
            here = [grounds[about]] if about in grounds else list(grounds.values())
            if any(ground.applies for ground in here):
                return True, []
            doubts += [f"{cover.id}: {ground.doubt}" for ground in here if ground.applies is None]
            answer = False
        return (None if doubts else answer), doubts

    def _place(self, rule: Rule) -> list[Place]:
        """Where the rule applies or may apply."""
        if not (self.covers or self.freed or self.doubts or rule.when or rule.unless):
            return self._everywhere[rule.about]
        places = []
        for about, frame in self.subjects(rule.about):
            freed, doubted = self._freedom(rule, about)
            if freed:
                continue
            covered, uncovered = self._covered(rule, about) if self.covers else (True, [])
            if covered is False:
                continue
            ground = scope(rule, frame)
            if ground.applies is False and not isinstance(rule, RefuseRule):
                continue
            places.append(Place(about, frame, ground, _doubts(doubted, ground, uncovered)))
        return places

    def claims(self) -> Iterator[Claim]:
        """Each rule and where it applies, for what gives way to what.

        Something undecided about cover or exemption leaves a rule standing, but displacing nothing.
        """
        for rule in self.rules:
            applies: dict[str, bool | None] = {about: False for about, _ in self.subjects(rule.about)}
            for about, _, ground, doubts in self.places[rule.id]:
                applies[about] = None if doubts and ground.applies else ground.applies
            name = f"{self.file.jurisdiction}/{rule.id}"
            yield Claim(name, rule.source.cite, applies, rule.displaces, rule.yields_to)

    def applying(self, rule: Rule) -> Iterator[tuple[str, Frame, Scope, dict[str, Any]]]:
        """Subjects to which the rule applies or may apply, each with the beginning of its trace."""
        for about, frame, ground, doubts in self.places[rule.id]:
            trace: dict[str, Any] = {"version_from": rule.since, "inputs": ground.asked, **doubts}
            if self.settled is not NOTHING:
                node = Node(f"{self.file.jurisdiction}/{rule.id}", about)
                if node in self.settled.gone:
                    continue
                if node in self.settled.doubtful:
                    trace["displacement_undecided"] = self.settled.doubtful[node]
            yield about, frame, ground, trace
