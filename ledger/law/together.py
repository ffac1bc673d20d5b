"""Rule files that are to govern one shop together: what does not fit between them.

Decides: which files can be of one shop, which names they must agree on, and which rules can never stand together
whatever is bought, one sentence each. Leaves faults inside one file to `ledger.law.files`, and contradictions that
only the facts of a purchase bring out to `ledger.law.combining`.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import combinations
from typing import Any, NamedTuple

from ledger.law.rules import Rule, RuleFile

_DAYS = {"hours": (1 / 24, 1 / 24), "days": (1, 1), "working-days": (1, 7), "months": (28, 31), "years": (365, 366)}
"""fewest and most days of one unit; a working day is at most a week away from the last"""


class _Placed(NamedTuple):
    """A rule and the file it stands in."""

    file: RuleFile
    rule: Rule

    @property
    def name(self) -> str:
        return f"{self.file.jurisdiction}/{self.rule.id}"

    @property
    def kind(self) -> str:
        return _kind(self.rule)

    @property
    def always(self) -> bool:
        """Whether the rule applies to every purchase while it is in force."""
        scoped = any(_kind(one) in ("cover", "exempt") for one in self.file.rules)
        return not (self.rule.when or self.rule.unless or self.rule.displaces or self.rule.yields_to or scoped)


def _kind(rule: Rule) -> str:
    return type(rule).__name__.removesuffix("Rule").lower()


def shops(files: Sequence[RuleFile]) -> list[list[RuleFile]]:
    """The files by the shops that they can govern together.

    One layer of each kind is one shop's law. Where a layer comes more than once, a file goes with those whose
    jurisdiction its own begins with: xx-state and xx-state-county, and with a nation's.
    """
    if len({file.layer for file in files}) == len(files):
        return [list(files)] if files else []
    groups = [[other for other in files if other is file or _is_above(other, file)] for file in files]
    return [
        group
        for group in groups
        if not any(len(other) > len(group) and all(file in other for file in group) for other in groups)
    ]


def _is_above(upper: RuleFile, file: RuleFile) -> bool:
    below = file.jurisdiction.split("-")
    above = upper.jurisdiction.split("-")
    return upper.layer == "nation" != file.layer or (len(above) < len(below) and below[: len(above)] == above)


def check_together(files: Sequence[RuleFile]) -> tuple[str, ...]:
    """What does not fit between files that are to govern together, one sentence each."""
    placed = [_Placed(file, rule) for file in files for rule in file.rules]
    found = [*_named_alike(files), *_awaited(files, placed), *_ways_given(files, placed)]
    for one, other in combinations(placed, 2):
        if one.always and other.always and _overlap(one.rule, other.rule):
            found += _contradict(one, other)
    return tuple(dict.fromkeys(found))


def _overlap(one: Rule, other: Rule) -> bool:
    """Whether both are in force on some day."""
    return (other.last is None or one.first <= other.last) and (one.last is None or other.first <= one.last)


# Names that several files use


def _named_alike(files: Sequence[RuleFile]) -> Iterator[str]:
    """Things that two files declare under one id and not alike."""
    known: dict[tuple[str, str], tuple[str, Any]] = {}
    for file in files:
        for recipient in file.recipients:
            path, name = known.setdefault(("recipient", recipient.id), (file.path, recipient.name))
            if name != recipient.name:
                says = f"{file.path} calls the recipient '{recipient.id}' '{recipient.name}' and {path} calls it"
                yield f"{says} '{name}'; use one name, or another id."
        for what, several, keys in (
            ("question", file.declared.questions, ("about", "type", "words", "asks", "who")),
            ("event", file.declared.events, ("about",)),
            ("permission", file.declared.permissions, ("about",)),
        ):
            for one in several:
                members = {key: getattr(one, key) for key in keys}
                path, before = known.setdefault((what, one.id), (file.path, members))
                for key in keys:
                    if before[key] != members[key]:
                        says = f"{file.path} and {path} declare the {what} '{one.id}' with another '{key}'"
                        yield f"{says}; write both alike, or use another id."


def _awaited(files: Sequence[RuleFile], placed: Sequence[_Placed]) -> Iterator[str]:
    """Rules that wait for a report that nobody makes, or for a rule that there is not."""
    reported = {one.rule.terms["to"] for one in placed if one.kind == "report"}
    known = {one.name for one in placed}
    for one in placed:
        for event in sorted(set(_events(one.rule.terms))):
            what, _, name = event.partition(":")
            if what.startswith("report-") and name not in (*reported, "all", "any"):
                says = f"{one.file.path}: the rule '{one.rule.id}' runs from a report to '{name}', and no file has a"
                yield f"{says} report to it; add that report or correct the id."
            if what in ("due", "end") and "/" in name and name not in known and _is_given(name, files):
                says = f"{one.file.path}: the rule '{one.rule.id}' runs from '{event}', and there is no such rule"
                yield f"{says}; correct the name."


def _events(value: Any, key: str = "") -> Iterator[str]:
    """Events from which a rule's time runs, wherever its table names one."""
    if isinstance(value, Mapping):
        for name, inner in value.items():
            yield from _events(inner, name)
    elif isinstance(value, list):
        for inner in value:
            yield from _events(inner, key)
    elif key in ("start", "later_of", "earlier_of"):
        yield str(value)


def _is_given(name: str, files: Sequence[RuleFile]) -> bool:
    """Whether the file of a rule named from outside is among those given."""
    return name.partition("/")[0] in {file.jurisdiction for file in files}


def _ways_given(files: Sequence[RuleFile], placed: Sequence[_Placed]) -> Iterator[str]:
    """Rules that give way to, displace or are replaced by a rule that the given file does not have."""
    known = {one.name for one in placed}
    for one in placed:
        for key in ("displaces", "yields_to", "replaced_by"):
            for raw in one.rule.terms.get(key, ()):
                name = raw["rule"] if isinstance(raw, Mapping) else f"{one.file.jurisdiction}/{raw}"
                if name not in known and _is_given(name, files):
                    says = f"{one.file.path}: '{key}' of the rule '{one.rule.id}' names '{name}'"
                    yield f"{says}, and there is no such rule; correct the name or remove it."


# Rules that can never stand together


def _contradict(one: _Placed, other: _Placed) -> Iterator[str]:
    check = _PAIRS.get((one.kind, other.kind))
    if check is not None:
        yield from check(one, other)
    elif (other.kind, one.kind) in _PAIRS:
        yield from _PAIRS[other.kind, one.kind](other, one)


def _payments(one: _Placed, other: _Placed) -> Iterator[str]:
    for key, what in (("instruments", "way to pay"), ("payee", "payee"), ("delivery", "way to hand it over")):
        first, second = one.rule.terms.get(key), other.rule.terms.get(key)
        if first and second and not set(first) & set(second):
            yield f"{one.name} and {other.name} leave no {what}: nothing stands in both '{key}'; correct one of them."
    for late, soon in ((one, other), (other, one)):
        if _longer(late.rule.terms.get("not_before"), soon.rule.terms.get("not_after")):
            yield f"{late.name} lets nobody be paid before {soon.name} wants it done; correct one of them."


def _retentions(one: _Placed, other: _Placed) -> Iterator[str]:
    shared = [cls for cls in one.rule.terms["classes"] if cls in other.rule.terms["classes"]]
    for keep, drop in ((one, other), (other, one)):
        places = {place.rule.terms.get("place", "anywhere") for place in (keep, drop)}
        starts = {place.rule.terms.get("start", "purchase") == "purchase" for place in (keep, drop)}
        together = (len(places) == 1 or drop.rule.terms.get("place", "anywhere") == "anywhere") and starts == {True}
        if shared and together and _longer(keep.rule.terms.get("at_least"), drop.rule.terms.get("at_most")):
            says = f"{keep.name} keeps {shared[0]} longer than {drop.name} lets it be kept"
            yield f"{says}; correct one of them."


def _asked_and_not(ask: _Placed, limit: _Placed) -> Iterator[str]:
    terms = limit.rule.terms
    if terms["must_not"] not in ("ask", "keep") or "to" in terms or "copy" in terms or "ends" in terms:
        return
    for field in ask.rule.terms["fields"]:
        if field["fact"] in terms["facts"] and field.get("need", "must") == "must":
            says = f"{ask.name} must have {field['fact']} and {limit.name} must not {terms['must_not']} it"
            yield f"{says}; correct one of them."


_PAIRS: Mapping[tuple[str, str], Callable[[_Placed, _Placed], Iterator[str]]] = {
    ("pay", "pay"): _payments,
    ("retain", "retain"): _retentions,
    ("ask", "limit"): _asked_and_not,
}


def _longer(at_least: Any, at_most: Any) -> bool:
    """Whether one length is longer than the other in every year and however its days fall; both from the purchase."""
    if not at_least or not at_most or any(one.get("start", "purchase") != "purchase" for one in (at_least, at_most)):
        return False
    fewest = at_least["length"] * _DAYS[at_least["unit"]][0]
    most = at_most["length"] * _DAYS[at_most["unit"]][1]
    return bool(fewest > most + 1)
