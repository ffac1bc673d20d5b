"""What changes for the shop between two rule files, in sentences.

Decides: which rules came, went or changed, and how to say each change. Leaves the choice of files to the
caller; two versions of one jurisdiction's file is the usual case.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict
from datetime import date
from typing import Any

from ledger.law.conditions import Condition
from ledger.law.rules import Rule, RuleFile
from ledger.law.worded import terms, worded


def diff(a: RuleFile, b: RuleFile) -> list[str]:
    """Sentences about everything that differs in `b` against `a`; none if nothing a shop notices differs."""
    found = []
    for what, before, after in (
        ("The place", f"{a.name} ({a.jurisdiction}, {a.layer})", f"{b.name} ({b.jurisdiction}, {b.layer})"),
        ("The first day the file answers for", a.known_from, b.known_from),
        ("The day a person last read the law", a.read_on, b.read_on),
        ("The day until which the file was checked", a.checked_until, b.checked_until),
        ("The time zone", a.zone.key if a.zone else "none", b.zone.key if b.zone else "none"),
        ("The currency", a.currency or "none", b.currency or "none"),
        ("The note", a.note or "none", b.note or "none"),
    ):
        if before != after:
            was, becomes = (str(one).rstrip(".") for one in (before, after))
            found.append(f"{what} was {was} and becomes {becomes}.")
    for what, before_all, after_all in (
        ("recipient", a.recipients, b.recipients),
        ("question", a.declared.questions, b.declared.questions),
        ("event", a.declared.events, b.declared.events),
        ("permission", a.declared.permissions, b.declared.permissions),
        ("tally", a.declared.tallies, b.declared.tallies),
    ):
        found += _declared(what, before_all, after_all)
    found += _days_off(a, b)
    old, new = _versions(a), _versions(b)
    for key in sorted(old.keys() | new.keys()):
        found += _changes(old.get(key), new.get(key))
    return found


def _versions(file: RuleFile) -> dict[tuple[str, date], Rule]:
    return {(rule.id, rule.first): rule for rule in file.rules}


def _declared(what: str, before: Iterable[Any], after: Iterable[Any]) -> Iterator[str]:
    """What becomes of the things of one kind that a file declares."""
    old, new = ({one.id: _said(one) for one in several} for several in (before, after))
    for name in sorted(old.keys() | new.keys()):
        was, becomes = old.get(name, "not declared"), new.get(name, "not declared")
        if was != becomes:
            yield f"The {what} '{name}' was {was} and becomes {becomes}."


def _said(declared: Any) -> str:
    """Something that a file declares, in words."""
    members = {name: value for name, value in asdict(declared).items() if name != "id"}
    when = getattr(declared, "when", ())
    conditions = {"when": _conditions(when)} if when else {}
    said = [str(members.pop("name"))] if "name" in members else []
    said += [
        f"{name.replace('_', ' ')}: {worded(value)}"
        for name, value in {**members, **conditions}.items()
        if value not in ("", (), None)
    ]
    return "; ".join(said)


def _days_off(a: RuleFile, b: RuleFile) -> list[str]:
    before, after = (_calendar(file) for file in (a, b))
    found = []
    for key in [*before, *(key for key in after if key not in before)]:
        if key != "closed" and before.get(key) != after.get(key):
            was, becomes = worded(before.get(key) or "none"), worded(after.get(key) or "none")
            found.append(f"The calendar's {key.replace('_', ' ')} was {was} and becomes {becomes}.")
    was_off, is_off = (dict(file.calendar.closed) if file.calendar else {} for file in (a, b))
    for day in sorted(was_off.keys() | is_off.keys()):
        old, new = was_off.get(day), is_off.get(day)
        if old is not None and new is None:
            found.append(f"{day} ({old.name}) is no longer a day off.")
        elif new is not None and old != new:
            arguable = " that may or may not count" if new.arguable else ""
            found.append(f"{day} ({new.name}) is a day off{arguable}.")
    return found


def _calendar(file: RuleFile) -> Mapping[str, Any]:
    return file.calendar.record() if file.calendar else {}


def _changes(before: Rule | None, after: Rule | None) -> list[str]:
    if before is None:
        assert after is not None
        said = "; ".join(f"{name}: {value}" for name, value in describe(after).items() if value)
        return [f"New from {after.first}: {after.id} ({after.source.cite}). {after.says} {said}."]
    if after is None:
        return [f"Gone: {before.id} of {before.first} ({before.source.cite}). {before.says}"]
    old, new = describe(before), describe(after)
    return [
        f"{after.id} of {after.first}: {name} was {old.get(name) or 'none'} and becomes {new.get(name) or 'none'}."
        for name in dict.fromkeys([*old, *new])
        if old.get(name) != new.get(name)
    ]


_OWN_PLACE = ("from", "until", "when", "unless", "effect", "basis")


def describe(rule: Rule) -> dict[str, str]:
    """Everything that a rule says, by name, in words."""
    return {
        "kind": type(rule).__name__.removesuffix("Rule").lower(),
        "last day": str(rule.last or ""),
        **terms({name: value for name, value in rule.terms.items() if name not in _OWN_PLACE}),
        "when": _conditions(rule.when),
        "unless": _conditions(rule.unless),
        "effect": rule.effect,
        "meaning": rule.says,
        "source": rule.source.cite,
        "basis": rule.source.basis,
        "quote": rule.source.quote,
        "address": rule.source.url,
    }


def _conditions(conditions: Sequence[Condition]) -> str:
    return ", ".join(condition.says() for condition in conditions)
