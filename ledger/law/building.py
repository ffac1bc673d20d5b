"""From the checked tables of a rule file to rules.

Decides: what the tables mean together: facts by name, operands by type, which rule versions follow each other,
which ids a rule may name. Everything that does not fit is a `Fault` at its path; all are found in one pass.
Leaves the shapes of tables to `ledger.law.form` and the lines of faults to `ledger.law.files`.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, time, timedelta
from itertools import pairwise
from typing import Any

from ledger.law.calendars import WEEKDAYS, Calendar, Closed
from ledger.law.conditions import Condition
from ledger.law.counting import Span
from ledger.law.facts import FACTS
from ledger.law.form import KINDS
from ledger.law.rules import (
    AskedFact,
    AskRule,
    CeilingOf,
    DeclareRule,
    DocumentNeed,
    DocumentsRule,
    Due,
    ExemptRule,
    HoldRule,
    LimitRule,
    PayRule,
    Period,
    PermitOf,
    Recipient,
    RefuseRule,
    ReportRule,
    RetainRule,
    Rule,
    Source,
    Start,
    Way,
)
from ledger.law.shapes import Fault, Path
from ledger.law.terms import Raw, Terms, Wrong

_FLAGS = ("government", "photo", "descriptive", "current")
_SELLERS = ("seller", "principal", "guardian")


@dataclass(frozen=True)
class Builder(Terms):
    """Builds the rules of one file; faults are added to `faults`."""

    def rules(self, document: Raw, wrong: frozenset[Path]) -> tuple[Rule, ...]:
        """All rules in the order of their kinds and of the file; versions of one id dated one after another.

        wrong: paths of rule tables whose shape is already at fault; they are left out.
        """
        built: list[tuple[Path, Rule]] = []
        for kind in KINDS:
            for number, raw in enumerate(document.get(kind, ())):
                path = (kind, number)
                if path in wrong:
                    continue
                try:
                    built.append((path, _MAKE[kind](self, raw, path)))
                except Wrong as fault:
                    self.faults.append(fault.fault)
        return self._dated(built)

    def _dated(self, built: Sequence[tuple[Path, Rule]]) -> tuple[Rule, ...]:
        """Each version ends the day before the next of its id begins, unless it says when."""
        versions: dict[str, list[tuple[Path, Rule]]] = {}
        for path, rule in built:
            versions.setdefault(rule.id, []).append((path, rule))
        ends: dict[Path, date | None] = {}
        for name, dated in versions.items():
            kinds = {path[0] for path, _ in dated}
            if len(kinds) > 1:
                listed = " and ".join(f"[[{kind}]]" for kind in sorted(map(str, kinds)))
                self.faults.append(Fault((*dated[-1][0], "id"), f"'{name}' is used by {listed}; give each its own id."))
            dated.sort(key=lambda one: one[1].first)
            for (path, rule), (after, following) in pairwise(dated):
                if following.first == rule.first or (rule.last is not None and rule.last >= following.first):
                    where = (*after, "from")
                    says = (
                        f"two versions of '{name}' apply on {following.first};"
                        f" end the earlier with 'until', or give this one another id."
                    )
                    self.faults.append(Fault(where, says))
                ends[path] = rule.last or following.first - timedelta(days=1)
        return tuple(replace(rule, last=ends.get(path, rule.last)) for path, rule in built)

    # What every rule has

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
            "about": about or _about(when + unless),
            "when": when,
            "unless": unless,
        }

    def period(self, raw: Raw, path: Path) -> Period:
        """A length, its start and its readings, from the keys of a hold."""
        span, start = self.span(raw, path), start_of(raw.get("start", "purchase"))
        readings = []
        for number, reading in enumerate(raw.get("readings", ())):
            keys = set(reading) - {"reason", "basis"}
            if not keys:
                where = (*path, "readings", number)
                raise Wrong(where, "a reading changes nothing; write the key that it reads otherwise, such as roll.")
            readings.append((keys, reading))
        combined = _combined(raw, readings)
        where = (*path, "readings")
        read = [(self.span(one, where), start_of(one.get("start", "purchase")), why) for one, why in combined]
        return Period(span, start, tuple(read))

    def span(self, raw: Raw, path: Path, called: str = "length") -> Span:
        """The length of time that a table states; `called` is the key that gives how many."""
        length, unit, roll = raw["length"], raw["unit"], raw.get("roll", "none")
        first = raw.get("first_day_counts", False)
        if length > _LONGEST[unit]:
            raise Wrong((*path, called), f"'{called}' is {length:,} {unit}; write at most {_LONGEST[unit]:,}.")
        for name, set_ in (("roll", roll != "none"), ("first_day_counts", first)):
            if unit == "hours" and set_:
                raise Wrong((*path, name), f"'{name}' means nothing where hours are counted; remove it.")
        return Span(length, unit, first, roll)


# Longer periods are slips of the pen; none of the acts read for this format comes near.
_LONGEST = {"hours": 10_000, "days": 40_000, "working-days": 2_000, "months": 1_200, "years": 100}


def _combined(raw: Raw, readings: Sequence[tuple[set[str], Raw]]) -> list[tuple[Raw, str]]:
    """Every combination of readings that do not speak about the same key: the rule's table as changed, and why."""
    chosen: list[tuple[set[str], Raw, str]] = [(set(), {}, "")]
    for keys, reading in readings:
        for taken, merged, reason in list(chosen):
            if taken & keys:
                continue
            says = f"{reason}; {reading['reason']}" if reason else reading["reason"]
            chosen.append((taken | keys, {**merged, **{key: reading[key] for key in keys}}, says))
    return [({**raw, **changed}, reason) for _, changed, reason in chosen[1:]]


def start_of(raw: Any) -> Start:
    """The event from which a period runs."""
    if isinstance(raw, str):
        return Start((raw,))
    if "later_of" in raw:
        return Start(tuple(raw["later_of"]), "later")
    return Start(tuple(raw["earlier_of"]), "earlier")


def clock(text: str) -> time | None:
    """A clock time; None for the end of the day."""
    return None if text == "24:00" else time.fromisoformat(text)


def _about(conditions: Sequence[Condition]) -> str:
    """Whom or what conditions are about: an item, the seller, or the slip."""
    subjects = {FACTS[name].subject for condition in conditions for name in condition.facts()}
    if "item" in subjects:
        return "item"
    return "seller" if subjects & set(_SELLERS) else "slip"


def _ask(build: Builder, raw: Raw, path: Path) -> AskRule:
    fields = []
    abouts: set[str] = set()
    for number, one in enumerate(raw["fields"]):
        where = (*path, "fields", number, "fact")
        fact = build.fact(one["fact"], where)
        abouts.add("seller" if fact.subject in _SELLERS else "item" if fact.subject == "item" else "slip")
        if len(abouts) > 1:
            says = f"'{fact.name}' is about another subject than the fields before it; ask it in an [[ask]] of its own."
            raise Wrong(where, says)
        must = one.get("need", "must") == "must"
        fields.append(AskedFact(fact, one["label"], must, one.get("reason_allowed", False)))
    about = abouts.pop()
    common = build.common(raw, path, about)
    _same_subject(common, about, path)
    return AskRule(**common, fields=tuple(fields))


def _same_subject(common: Raw, about: str, path: Path) -> None:
    if about != "item" and _about(common["when"] + common["unless"]) == "item":
        says = f"this rule is about the {about}, so its conditions cannot ask about an item; ask about {about} or slip."
        raise Wrong((*path, "when" if common["when"] else "unless"), says)


def _need(raw: Raw) -> DocumentNeed:
    return DocumentNeed(tuple(raw.get("types", ())), {name: raw[name] for name in _FLAGS if name in raw})


def _documents(build: Builder, raw: Raw, path: Path) -> DocumentsRule:
    ways = []
    for number, way in enumerate(raw["any_of"]):
        needs = tuple(_need(one) for one in way.get("documents", ()))
        known = way.get("personally_known", False)
        if not needs and not known:
            says = "this way asks for nothing; write 'documents' or 'personally_known = true'."
            raise Wrong((*path, "any_of", number), says)
        ways.append(Way(way["says"], needs, known))
    common = build.common(raw, path, "seller")
    _same_subject(common, "seller", path)
    return DocumentsRule(**common, any_of=tuple(ways), always=tuple(map(_need, raw.get("always", ()))))


def _declare(build: Builder, raw: Raw, path: Path) -> DeclareRule:
    common = build.common(raw, path, "slip")
    _same_subject(common, "slip", path)
    return DeclareRule(**common, words=raw["words"], language=raw.get("language", "en"), signed=raw.get("signed", True))


def _refuse(build: Builder, raw: Raw, path: Path) -> RefuseRule:
    if "when" not in raw:
        raise Wrong(path, "[[refuse]] needs 'when': the conditions under which nothing may be bought.")
    return RefuseRule(**build.common(raw, path, ""), may_record=tuple(raw["may_record"]))


def _limit(build: Builder, raw: Raw, path: Path) -> LimitRule:
    facts = [build.fact(name, (*path, "facts", number)) for number, name in enumerate(raw["facts"])]
    subjects = {"item" if fact.subject == "item" else "seller" for fact in facts if fact.subject != "slip"}
    if len(subjects) > 1:
        raise Wrong((*path, "facts"), "facts about the seller and about an item stand together; write two [[limit]].")
    about = subjects.pop() if subjects else "slip"
    common = build.common(raw, path, about)
    _same_subject(common, about, path)
    names = tuple(fact.name for fact in facts)
    return LimitRule(**common, must_not=raw["must_not"], facts=names, to=raw.get("to", ""))


def _pay(build: Builder, raw: Raw, path: Path) -> PayRule:
    if not {"instruments", "ceilings", "not_before"} & set(raw):
        raise Wrong(path, "[[pay]] limits nothing; write 'instruments', 'ceilings' or 'not_before'.")
    ceilings = []
    for number, one in enumerate(raw.get("ceilings", ())):
        amount = build.money(one["amount"], (*path, "ceilings", number, "amount"))
        ceilings.append(CeilingOf(one["instrument"], amount, one.get("inclusive", True)))
    common = build.common(raw, path, "slip")
    _same_subject(common, "slip", path)
    wait = build.span(raw["not_before"], (*path, "not_before")) if "not_before" in raw else None
    return PayRule(**common, instruments=tuple(raw.get("instruments", ())), ceilings=tuple(ceilings), not_before=wait)


def _hold(build: Builder, raw: Raw, path: Path) -> HoldRule:
    if "move" in raw["forbids"] and "keep_in" not in raw:
        says = "a hold that forbids to move needs 'keep_in': where the item must stay, such as \"premises\"."
        raise Wrong((*path, "forbids"), says)
    return HoldRule(
        **build.common(raw, path, "item"),
        period=build.period(raw, path),
        forbids=tuple(raw["forbids"]),
        keep_in=raw.get("keep_in", ""),
        allows=tuple(PermitOf(one["act"], one["to"], one.get("says", "")) for one in raw.get("allows", ())),
    )


# Which shapes of deadline make sense for a report per purchase, day or week.
_DUE_FOR = {
    "purchase": ("within", "next", "same_day"),
    "day": ("next", "same_day"),
    "week": ("weekly",),
}


def _due(build: Builder, raw: Raw, per: str, path: Path) -> Due:
    shape = next(name for name in ("within", "next", "same_day", "weekly") if name in raw)
    if shape not in _DUE_FOR[per]:
        listed = ", ".join(f"'{name}'" for name in _DUE_FOR[per])
        raise Wrong((*path, shape), f"a report per {per} cannot be due '{shape}'; write {listed}.")
    strange = set(raw) & ({"by"} if shape == "within" else {"unit", "roll"})
    if strange:
        name = sorted(strange)[0]
        raise Wrong((*path, name), f"'{name}' does not go with '{shape}'; remove it.")
    by = clock(raw["by"]) if "by" in raw else None
    if shape == "within":
        if "unit" not in raw:
            raise Wrong(path, "'within' needs 'unit', such as \"hours\".")
        return Due("within", span=build.span({**raw, "length": raw["within"]}, path, "within"))
    if shape == "next":
        return Due("next", next=raw["next"], by=by)
    if shape == "weekly":
        return Due("weekly", weekday=WEEKDAYS.index(raw["weekly"]), by=by)
    if not raw["same_day"]:
        raise Wrong((*path, "same_day"), "'same_day' is false; write true, or another kind of deadline.")
    return Due("same-day", by=by)


def _report(build: Builder, raw: Raw, path: Path) -> ReportRule:
    common = build.common(raw, path, "slip")
    _same_subject(common, "slip", path)
    return ReportRule(
        **common,
        to=raw["to"],
        per=raw["per"],
        due=_due(build, raw["due"], raw["per"], (*path, "due")),
        title=raw["title"],
        copies=raw.get("copies", 1),
        nil=raw.get("nil", False),
        asks=tuple(raw.get("asks", ())),
    )


def _retain(build: Builder, raw: Raw, path: Path) -> RetainRule:
    if not {"at_least", "at_most"} & set(raw):
        raise Wrong(path, "[[retain]] bounds nothing; write 'at_least', 'at_most' or both.")
    common = build.common(raw, path, "slip")
    _same_subject(common, "slip", path)
    least = build.span(raw["at_least"], (*path, "at_least")) if "at_least" in raw else None
    most = build.span(raw["at_most"], (*path, "at_most")) if "at_most" in raw else None
    start = start_of(raw.get("start", "purchase"))
    return RetainRule(**common, classes=tuple(raw["classes"]), start=start, at_least=least, at_most=most)


def _exempt(build: Builder, raw: Raw, path: Path) -> ExemptRule:
    if "when" not in raw:
        raise Wrong(path, "[[exempt]] needs 'when': the conditions under which the rules do not apply.")
    return ExemptRule(**build.common(raw, path, ""), rules=tuple(raw.get("rules", ())))


_MAKE: dict[str, Callable[[Builder, Raw, Path], Rule]] = {
    "exempt": _exempt,
    "ask": _ask,
    "documents": _documents,
    "declare": _declare,
    "refuse": _refuse,
    "limit": _limit,
    "pay": _pay,
    "hold": _hold,
    "report": _report,
    "retain": _retain,
}


def calendar_of(raw: Raw, jurisdiction: str, faults: list[Fault]) -> Calendar:
    """The calendar that a file states."""
    first, last = raw["from"], raw["until"]
    if last < first:
        faults.append(Fault(("calendar", "until"), f"'until' {last} lies before 'from' {first}; write a later day."))
    closed: dict[date, Closed] = {}
    for number, one in enumerate(raw.get("closed", ())):
        day = one["day"]
        path = ("calendar", "closed", number, "day")
        if day in closed:
            faults.append(Fault(path, f"{day} stands twice in the list; remove one."))
        if not first <= day <= last:
            faults.append(Fault(path, f"{day} lies outside {first} to {last}; widen 'from' and 'until' or remove it."))
        closed[day] = Closed(day, one["name"], one.get("source", raw["source"]), one.get("arguable", False))
    weekend = frozenset(WEEKDAYS.index(name) for name in raw["weekend"])
    if len(weekend) == 7:
        faults.append(Fault(("calendar", "weekend"), "no day of the week is left to work; remove some."))
    return Calendar(weekend, closed, first, last, raw["source"], jurisdiction)


def recipients_of(raws: Sequence[Raw], faults: list[Fault]) -> tuple[Recipient, ...]:
    """The recipients that a file declares."""
    found: dict[str, Recipient] = {}
    for number, raw in enumerate(raws):
        if raw["id"] in found:
            faults.append(Fault(("recipient", number, "id"), f"'{raw['id']}' is declared twice; remove one."))
        found[raw["id"]] = Recipient(raw["id"], raw["name"])
    return tuple(found.values())
