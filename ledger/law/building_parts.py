"""What building every rule shares: the members that all rules have, and whom a rule is about.

Decides: how the common keys become the members of a `Rule`. Leaves each kind of rule to `ledger.law.building` and
`ledger.law.building_times`.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, time
from typing import Any

from ledger.law.conditions import Condition
from ledger.law.rules import GivesWay, Source
from ledger.law.shapes import Path
from ledger.law.terms import Raw, Terms, Wrong

SELLERS = ("seller", "principal", "guardian")


@dataclass(frozen=True)
class Build(Terms):
    """Builds the parts that rules of every kind share."""

    jurisdiction: str = ""

    def common(self, raw: Raw, path: Path, about: str) -> dict[str, Any]:
        """The members of `Rule`, made from the common keys."""
        first, last = raw["from"], raw.get("until")
        if last is not None and last < first:
            raise Wrong((*path, "until"), f"'until' {last} lies before 'from' {first}; write a later day.")
        when = self.conditions(raw.get("when", ()), (*path, "when"))
        unless = self.conditions(raw.get("unless", ()), (*path, "unless"))
        for key, conditions in (("when", when), ("unless", unless)):
            if "act" in subjects_of(conditions):
                says = "what is about to be done is not known at the purchase; ask about it in a hold's 'allows'."
                raise Wrong((*path, key), says)
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
            "displaces": self.gives_way(raw, "displaces", path),
            "yields_to": self.gives_way(raw, "yields_to", path),
            "memory": memory_of(raw),
            "terms": {key: plain(value) for key, value in raw.items() if key not in _CITING},
        }

    def gives_way(self, raw: Raw, key: str, path: Path) -> tuple[GivesWay, ...]:
        """The rules that this one displaces or yields to; one of the file itself by its id alone."""
        found = []
        for number, one in enumerate(raw.get(key, ())):
            name, by = (f"{self.jurisdiction}/{one}", "") if isinstance(one, str) else (one["rule"], one["by"])
            if name == f"{self.jurisdiction}/{raw['id']}":
                raise Wrong((*path, key, number), "a rule cannot give way to itself; remove this or name another rule.")
            found.append(GivesWay(name, by))
        return tuple(found)


_CITING = ("id", "says", "source", "url", "quote")


def memory_of(raw: Raw) -> tuple[str, ...]:
    """The keys of a rule's table that rest on memory; "all" where the whole rule does."""
    if raw.get("basis") == "memory":
        return ("all",)
    own = [key for key, basis in raw.get("basis_of", {}).items() if basis == "memory"]
    return tuple(dict.fromkeys([*own, *(key for key, value in raw.items() if key != "basis_of" and _recalled(value))]))


def _recalled(value: Any) -> bool:
    """Whether a table inside the rule's rests on memory: a reading, an implied act."""
    if isinstance(value, dict):
        return value.get("basis") == "memory" or any(map(_recalled, value.values()))
    return isinstance(value, list) and any(map(_recalled, value))


def plain(value: Any) -> Any:
    """A value of a file as JSON knows it."""
    if isinstance(value, dict):
        return {key: plain(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [plain(one) for one in value]
    return value.isoformat() if isinstance(value, date | time) else value


def subjects_of(conditions: Sequence[Condition]) -> set[str]:
    """The subjects whose facts conditions read."""
    return {name.partition(".")[0] for condition in conditions for name in condition.facts()}


def about_of(conditions: Sequence[Condition]) -> str:
    """Whom or what conditions are about: an item, the seller, or the slip."""
    subjects = subjects_of(conditions)
    if "item" in subjects:
        return "item"
    return "seller" if subjects & set(SELLERS) else "slip"


def same_subject(common: Raw, about: str, path: Path) -> None:
    """Refuses conditions about an item in a rule that is not about one."""
    if about != "item" and about_of(common["when"] + common["unless"]) == "item":
        says = f"this rule is about the {about}, so its conditions cannot ask about an item; ask about {about} or slip."
        raise Wrong((*path, "when" if common["when"] else "unless"), says)
