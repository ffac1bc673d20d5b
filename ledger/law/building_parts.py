"""What building every rule shares: the members that all rules have, and whom a rule is about.

Decides: how the common keys become the members of a `Rule`. Leaves each kind of rule to `ledger.law.building` and
`ledger.law.building_times`.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from ledger.law.conditions import Condition
from ledger.law.facts import FACTS
from ledger.law.rules import Source
from ledger.law.shapes import Path
from ledger.law.terms import Raw, Terms, Wrong

SELLERS = ("seller", "principal", "guardian")


@dataclass(frozen=True)
class Build(Terms):
    """Builds the parts that rules of every kind share."""

    def common(self, raw: Raw, path: Path, about: str) -> dict[str, Any]:
        """The members of `Rule`, made from the common keys."""
        first, last = raw["from"], raw.get("until")
        if last is not None and last < first:
            raise Wrong((*path, "until"), f"'until' {last} lies before 'from' {first}; write a later day.")
        when = self.conditions(raw.get("when", ()), (*path, "when"))
        unless = self.conditions(raw.get("unless", ()), (*path, "unless"))
        return {
            "id": raw["id"],
            "first": first,
            "last": last,
            "source": Source(raw["source"], raw.get("url", ""), raw.get("quote", ""), raw["basis"]),
            "says": raw["says"],
            "effect": raw.get("effect", "stops"),
            "about": about or about_of(when + unless),
            "when": when,
            "unless": unless,
        }


def about_of(conditions: Sequence[Condition]) -> str:
    """Whom or what conditions are about: an item, the seller, or the slip."""
    subjects = {FACTS[name].subject for condition in conditions for name in condition.facts()}
    if "item" in subjects:
        return "item"
    return "seller" if subjects & set(SELLERS) else "slip"


def same_subject(common: Raw, about: str, path: Path) -> None:
    if about != "item" and about_of(common["when"] + common["unless"]) == "item":
        says = f"this rule is about the {about}, so its conditions cannot ask about an item; ask about {about} or slip."
        raise Wrong((*path, "when" if common["when"] else "unless"), says)
