"""Rule files that are to govern one shop together: what does not fit between them.

Decides: which names several files must agree on, and which answers can never stand together, one sentence each.
Leaves faults inside one file to `ledger.law.files`, and contradictions that only the facts of a purchase bring out
to `ledger.law.combining`.
"""

from collections.abc import Sequence

from ledger.law.rules import Rule, RuleFile
from ledger.law.rules_times import HoldRule, ReportRule, RetainRule


def check_together(files: Sequence[RuleFile]) -> tuple[str, ...]:
    """What does not fit between files that are to govern together, one sentence each."""
    found = []
    names: dict[str, tuple[str, str]] = {}
    for file in files:
        for recipient in file.recipients:
            path, name = names.setdefault(recipient.id, (file.path, recipient.name))
            if name != recipient.name:
                says = (
                    f"{file.path} calls the recipient '{recipient.id}' '{recipient.name}' and {path} calls it '{name}'"
                )
                found.append(f"{says}; use one name, or another id.")
    reported = {
        rule.to for file in files for rule in file.rules if isinstance(rule, ReportRule) and rule.per == "purchase"
    }
    for file in files:
        for rule in file.rules:
            for waits_for in sorted(_waits_for(rule) - reported):
                says = (
                    f"{file.path}: the rule '{rule.id}' runs from a report to '{waits_for}', and no file has a report"
                )
                found.append(f"{says} per purchase to it; add that report or correct the id.")
    return tuple(dict.fromkeys(found))


def _waits_for(rule: Rule) -> set[str]:
    """Recipients of the reports from which a rule's time runs."""
    if isinstance(rule, HoldRule):
        starts = [rule.period.start, *(start for _, start, _ in rule.period.readings)]
    elif isinstance(rule, RetainRule):
        starts = [rule.start]
    else:
        return set()
    return {event.partition(":")[2] for start in starts for event in start.events if ":" in event}
