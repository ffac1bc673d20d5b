"""What goes with the duties of a purchase so that they can be followed: rules as written, days off, questions asked.

Decides: which rules, which stretch of a calendar and which of the files' own questions a result keeps. Together with
the traces of the duties this is all that is needed to reach every answer again, without the rule files.
"""

from collections.abc import Iterable, Mapping, Sequence
from itertools import chain
from typing import Any

from ledger.law.answers import QuestionAsked
from ledger.law.calendars import Calendar
from ledger.law.found import Found
from ledger.law.layers import Layer
from ledger.law.rules import Rule, RuleFile


def rules(layers: Sequence[Layer], found: Found) -> tuple[Mapping[str, Any], ...]:
    """The rules of which a duty, a cover or an exemption came, each with its table as it is written."""
    spoke = {(one.digest, one.rule) for one in found.duties} | {(one.digest, one.rule) for one in found.scopes}
    return tuple(
        _written(layer.file, rule)
        for layer in layers
        for rule in layer.file.on(layer.day)
        if (layer.file.digest, rule.id) in spoke
    )


def _written(file: RuleFile, rule: Rule) -> Mapping[str, Any]:
    """A rule as it is written; made once for a file, since it is the same for every slip."""
    key = ("written", rule.id, rule.first)
    if key not in file.kept:
        file.kept[key] = {
            "jurisdiction": file.jurisdiction,
            "rule": rule.id,
            "digest": file.digest,
            "terms": rule.terms,
        }
    found: Mapping[str, Any] = file.kept[key]
    return found


def calendars(layers: Sequence[Layer]) -> Mapping[str, Mapping[str, Any]]:
    """By file digest, the days off from the year of the purchase to the end of the next, as a result keeps them."""
    return {
        layer.file.digest: _excerpt(layer.file, layer.file.calendar, layer.day.year)
        for layer in layers
        if layer.file.calendar is not None
    }


def _excerpt(file: RuleFile, calendar: Calendar, year: int) -> Mapping[str, Any]:
    found: Mapping[str, Any] | None = file.kept.get(("calendar", year))
    if found is None:
        found = file.kept["calendar", year] = _cut(calendar.record(), year)
    return found


def _cut(whole: Mapping[str, Any], year: int) -> Mapping[str, Any]:
    first, last = f"{year}-01-01", f"{year + 1}-12-31"
    closed = whole["closed"]
    assert isinstance(closed, list)
    return {**whole, "closed": [one for one in closed if first <= one["day"] <= last], "shown": [first, last]}


def questions(layers: Sequence[Layer], found: Found) -> tuple[QuestionAsked, ...]:
    """The questions that the files declare, one for each fact, and the subjects whose answer a rule looked for."""
    reached = _reached(found) if any(layer.file.declared.questions for layer in layers) else {}
    merged: dict[str, QuestionAsked] = {}
    for layer in layers:
        for one in layer.file.declared.questions:
            first = merged.get(one.fact.name)
            places = (*first.jurisdictions, layer.file.jurisdiction) if first else (layer.file.jurisdiction,)
            subjects = tuple(sorted(reached.get(one.fact.name, ())))
            merged[one.fact.name] = QuestionAsked(
                one.fact.name, one.about, one.type, one.words, one.asks, one.who, places, subjects
            )
    return tuple(merged.values())


def _reached(found: Found) -> dict[str, set[str]]:
    """For each fact that is an answer, the subjects at which a rule read it."""
    reached: dict[str, set[str]] = {}
    used: Iterable[tuple[str, Mapping[str, Any]]] = [(one.about, one.inputs) for one in found.scopes]
    for about, inputs in [*used, *((one.about, one.trace["inputs"]) for one in found.duties)]:
        for name in inputs:
            subject, _, rest = name.partition(".")
            if rest.startswith("answers."):
                here = about if subject in ("item", "seller") and about != "slip" else subject
                reached.setdefault(name, set()).add(here)
    for field in chain.from_iterable(found.asks):
        if ".answers." in field.fact:
            reached.setdefault(field.fact, set()).update(field.subjects)
    return reached
