"""The terms of a rule file's conditions: facts by name, wanted values by type, conditions from tables.

Decides: which comparison fits which fact, and how an amount, a fineness or a weight is written in a file. Leaves
to `ledger.law.building` what the rules around them mean. What does not fit is a `Fault` at its path.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from ledger.errors import InputError
from ledger.law.conditions import EQUAL, OPS, OPS_OF, SHARED, Against, AllOf, AnyOf, Compare, Condition, Not, Share
from ledger.law.facts import CLOCK, FACTS, Fact
from ledger.law.shapes import Fault, Path, given
from ledger.measures import Money, karat, money, per_thousand, weigh

Raw = dict[str, Any]


class Wrong(Exception):
    """A fault that leaves nothing to build."""

    def __init__(self, path: Path, says: str) -> None:
        super().__init__(says)
        self.fault = Fault(path, says)


@dataclass(frozen=True)
class Terms:
    """Reads the terms of one file; faults of conditions are added to `faults`."""

    currency: str
    faults: list[Fault]
    vocabulary: Mapping[str, Fact] = field(default_factory=lambda: FACTS)
    """the facts that the file may name: the built-in ones and its own"""

    def fact(self, name: str, path: Path) -> Fact:
        """The fact of that name."""
        found = self.vocabulary.get(name)
        if found is None:
            from difflib import get_close_matches

            near = get_close_matches(name, self.vocabulary, n=1)
            advice = f"write '{near[0]}'" if near else "write one of the names that the reference lists"
            if ".answers." in name:
                advice += ", or declare it in a [[question]]"
            raise Wrong(path, f"'{name}' is not a fact; {advice}.")
        return found

    def conditions(self, raws: Sequence[Raw], path: Path) -> tuple[Condition, ...]:
        """Conditions of a list; each that is wrong is a fault of its own."""
        made = []
        for number, raw in enumerate(raws):
            try:
                made.append(self.condition(raw, (*path, number)))
            except Wrong as fault:
                self.faults.append(fault.fault)
        return tuple(made)

    def condition(self, raw: Raw, path: Path) -> Condition:
        """One condition."""
        if "all" in raw:
            return AllOf(self.conditions(raw["all"], (*path, "all")))
        if "any" in raw:
            return AnyOf(self.conditions(raw["any"], (*path, "any")))
        if "not" in raw:
            return Not(self.condition(raw["not"], (*path, "not")))
        ops = [op for op in OPS if op in raw]
        if len(ops) != 1:
            raise Wrong(path, "a condition compares its fact once; write exactly one of " + ", ".join(OPS) + ".")
        op = ops[0]
        fact = self.fact(raw["fact"], (*path, "fact"))
        if "share_of" in raw:
            return self._share(fact, op, raw, path)
        if op not in OPS_OF[fact.type]:
            allowed = ", ".join(OPS_OF[fact.type])
            raise Wrong((*path, op), f"'{op}' does not fit {fact.name}; write one of {allowed}.")
        if op in EQUAL:
            return Against(fact, op, self._other(fact, raw[op], (*path, op)))
        return Compare(fact, op, self.operand(fact, op, raw[op], (*path, op)))

    def _share(self, fact: Fact, op: str, raw: Raw, path: Path) -> Condition:
        if op not in SHARED.get(fact.type, ()):
            says = (
                f"'share_of' does not fit {fact.name} and '{op}'; compare an amount or a weight by at_least or below."
            )
            raise Wrong((*path, "share_of"), says)
        other = self._other(fact, raw["share_of"], (*path, "share_of"))
        wanted = 'a percentage in quotes, such as "50 %"'
        text = self._of(str, raw[op], (*path, op), wanted)
        found = re.fullmatch(r"([0-9]{1,6})(?:\.([0-9]{1,4}))? ?%", text)
        if found is None:
            raise Wrong((*path, op), f"'{op}' is '{text}'; write {wanted}.")
        return Share(fact, other, op, int(found[1]) * 10_000 + int((found[2] or "").ljust(4, "0")))

    def _other(self, fact: Fact, name: Any, path: Path) -> Fact:
        """The fact with which another is compared."""
        other = self.fact(self._of(str, name, path, "the name of a fact in quotes"), path)
        words = {"text", "word"}
        if other.type != fact.type and not words >= {other.type, fact.type}:
            raise Wrong(path, f"{other.name} is not of the type of {fact.name}; write a fact of the same type.")
        if "document" in fact.path + other.path:
            raise Wrong(path, "a fact of every document is not compared with another fact; write another.")
        return other

    def operand(self, fact: Fact, op: str, value: Any, path: Path) -> Any:
        """The wanted value, in the type of its fact."""
        if op in ("known", "empty"):
            return self._of(bool, value, path, "true or false")
        if op in ("in", "not_in"):
            if not isinstance(value, list):
                raise Wrong(path, f"'{op}' is {given(value)}; write a list of texts in square brackets.")
            return tuple(self._word(fact, one, path) for one in value)
        match fact.type:
            case "text" | "word" | "list":
                return self._word(fact, value, path)
            case "flag":
                return self._of(bool, value, path, "true or false")
            case "whole" | "count":
                return self._of(int, value, path, "a whole number")
            case "day":
                return self._of(date, value, path, "a day without quotes")
            case "clock":
                return self._clock(value, path)
            case "money":
                return self.money(self._of(str, value, path, 'an amount in quotes, such as "500.00"'), path)
            case "fineness":
                return self._fineness(value, path)
            case _:
                return self._weight(value, path)

    def _of(self, kind: type, value: Any, path: Path, wanted: str) -> Any:
        if isinstance(value, kind) and (kind is bool or not isinstance(value, bool)):
            return value
        raise Wrong(path, f"'{path[-1]}' is {given(value)}; write {wanted}.")

    def _word(self, fact: Fact, value: Any, path: Path) -> str:
        text = self._of(str, value, path, "text in quotes")
        if fact.words and text not in fact.words:
            from difflib import get_close_matches

            near = get_close_matches(text, fact.words, n=1)
            advice = near[0] if near else ", ".join(fact.words)
            raise Wrong(path, f"{fact.name} is never '{text}'; write {advice}.")
        return str(text)

    def money(self, text: str, path: Path) -> Money:
        """An amount in the file's currency."""
        if not self.currency:
            raise Wrong(path, "an amount needs the file's 'currency'; write it at the top, such as \"USD\".")
        try:
            return money(self.currency, text)
        except InputError as wrong:
            raise Wrong(path, f"'{path[-1]}' is '{text}'; write {wrong.wanted}.") from None

    def _clock(self, value: Any, path: Path) -> str:
        wanted = 'a clock time in quotes, such as "08:00"'
        text = str(self._of(str, value, path, wanted))
        if not re.fullmatch(CLOCK, text):
            raise Wrong(path, f"'{path[-1]}' is '{text}'; write {wanted}.")
        return text

    def _fineness(self, value: Any, path: Path) -> int:
        wanted = 'thousandths or karat in quotes, such as "925" or "10 karat"'
        text = self._of(str, value, path, wanted)
        try:
            if text.endswith(" karat"):
                return int(karat(text.removesuffix(" karat")))
            return int(per_thousand(text))
        except InputError:
            raise Wrong(path, f"'{path[-1]}' is '{text}'; write {wanted}.") from None

    def _weight(self, value: Any, path: Path) -> int:
        wanted = 'a weight with its unit in quotes, such as "5 g"'
        text = self._of(str, value, path, wanted)
        figure, _, unit = text.partition(" ")
        try:
            return int(weigh(figure, unit).mg)
        except InputError:
            raise Wrong(path, f"'{path[-1]}' is '{text}'; write {wanted}.") from None
