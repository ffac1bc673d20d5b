"""From the checked tables of a rule file to rules.

Decides: what the tables mean together: facts by name, operands by type, which rule versions follow each other,
which ids a rule may name. Everything that does not fit is a `Fault` at its path; all are found in one pass.
Leaves the shapes of tables to `ledger.law.form` and the lines of faults to `ledger.law.files`.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import pairwise

from ledger.law.building_declared import window_of
from ledger.law.building_parts import SELLERS, Build, same_subject
from ledger.law.building_times import TIMED, period_of
from ledger.law.conditions import Compare
from ledger.law.declared import PAST, Tally
from ledger.law.form import KINDS
from ledger.law.rules import (
    AskedFact,
    AskRule,
    CeilingOf,
    Copy,
    CoverRule,
    DeclareRule,
    DocumentNeed,
    DocumentsRule,
    ExemptRule,
    FormRule,
    LimitRule,
    PayRule,
    RefuseRule,
    Rule,
    Way,
)
from ledger.law.shapes import Fault, Path
from ledger.law.terms import Raw, Wrong

_OF_SLIP = ("slip", "shop", "tally")
_FLAGS = ("government", "photo", "descriptive", "current")


@dataclass(frozen=True)
class Builder(Build):
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


def _ask(build: Builder, raw: Raw, path: Path) -> AskRule:
    fields = []
    abouts: set[str] = set()
    for number, one in enumerate(raw["fields"]):
        where = (*path, "fields", number, "fact")
        fact = build.fact(one["fact"], where)
        if fact.subject not in (*SELLERS, "item", "slip", "shop"):
            says = "is worked out" if fact.subject == "tally" else "is asked when the act is done"
            raise Wrong(where, f"'{fact.name}' {says}, not at the purchase; remove it.")
        abouts.add("seller" if fact.subject in SELLERS else "item" if fact.subject == "item" else "slip")
        if len(abouts) > 1:
            says = f"'{fact.name}' is about another subject than the fields before it; ask it in an [[ask]] of its own."
            raise Wrong(where, says)
        if "prefer" in one and fact.name != "seller.captures.print":
            raise Wrong((*where[:-1], "prefer"), "'prefer' goes with seller.captures.print only; remove it.")
        others = tuple(
            build.fact(name, (*where[:-1], "instead", place)) for place, name in enumerate(one.get("instead", ()))
        )
        fields.append(
            AskedFact(
                fact,
                one["label"],
                one.get("need", "must") == "must",
                one.get("reason_allowed", False),
                tuple(one.get("prefer", ())),
                others,
            )
        )
    about = abouts.pop()
    common = build.common(raw, path, about)
    same_subject(common, about, path)
    return AskRule(**common, fields=tuple(fields))


def _need(raw: Raw) -> DocumentNeed:
    return DocumentNeed(tuple(raw.get("types", ())), {name: raw[name] for name in _FLAGS if name in raw})


def _documents(build: Builder, raw: Raw, path: Path) -> DocumentsRule:
    ways = []
    for number, way in enumerate(raw["any_of"]):
        needs = tuple(_need(one) for one in way.get("documents", ()))
        known = way.get("personally_known", False)
        more = tuple(build.fact(name, (*path, "any_of", number, "fields")) for name in way.get("fields", ()))
        if any(fact.subject not in SELLERS for fact in more):
            raise Wrong(
                (*path, "any_of", number, "fields"), "a way names facts about the seller only; ask others apart."
            )
        if not needs and not known and not more:
            says = "this way asks for nothing; write 'documents', 'fields' or 'personally_known = true'."
            raise Wrong((*path, "any_of", number), says)
        ways.append(Way(way["says"], needs, known, more))
    common = build.common(raw, path, "seller")
    same_subject(common, "seller", path)
    return DocumentsRule(**common, any_of=tuple(ways), always=tuple(map(_need, raw.get("always", ()))))


def _declare(build: Builder, raw: Raw, path: Path) -> DeclareRule:
    common = build.common(raw, path, "slip")
    same_subject(common, "slip", path)
    return DeclareRule(
        **common,
        words=raw["words"],
        language=raw.get("language", "en"),
        signed=raw.get("signed", True),
        sworn=raw.get("sworn", False),
        also=tuple((one["language"], one["words"]) for one in raw.get("also", ())),
    )


def _form(build: Builder, raw: Raw, path: Path) -> FormRule:
    copies = []
    for number, one in enumerate(raw.get("copies", ())):
        omits = [build.fact(name, (*path, "copies", number, "omits")).name for name in one.get("omits", ())]
        copies.append(Copy(one["for"], tuple(omits)))
    about = "item" if raw.get("per") == "item" else "slip"
    common = build.common(raw, path, about)
    same_subject(common, about, path)
    return FormRule(
        **common,
        title=raw["title"],
        copies=tuple(copies),
        numbered=raw.get("numbered", "none"),
        per=raw.get("per", "slip"),
        signed_by=tuple(raw.get("signed_by", ())),
        languages=tuple(raw.get("languages", ())),
        medium=tuple(raw.get("medium", ())),
    )


def _refuse(build: Builder, raw: Raw, path: Path) -> RefuseRule:
    if "when" not in raw:
        raise Wrong(path, "[[refuse]] needs 'when': the conditions under which nothing may be bought.")
    return RefuseRule(**build.common(raw, path, ""), may_record=tuple(raw["may_record"]))


def _limit(build: Builder, raw: Raw, path: Path) -> LimitRule:
    facts = [build.fact(name, (*path, "facts", number)) for number, name in enumerate(raw["facts"])]
    subjects = {"item" if fact.subject == "item" else "seller" for fact in facts if fact.subject not in _OF_SLIP}
    if len(subjects) > 1:
        raise Wrong((*path, "facts"), "facts about the seller and about an item stand together; write two [[limit]].")
    about = subjects.pop() if subjects else "slip"
    common = build.common(raw, path, about)
    same_subject(common, about, path)
    to = raw.get("to", ())
    return LimitRule(
        **common,
        must_not=raw["must_not"],
        facts=tuple(facts),
        to=(to,) if isinstance(to, str) else tuple(to),
        copy=tuple(raw.get("copy", ())),
        ends=period_of(raw["ends"], (*path, "ends")) if "ends" in raw else None,
    )


_PAYING = ("instruments", "ceilings", "payee", "delivery", "not_before", "not_after")


def _pay(build: Builder, raw: Raw, path: Path) -> PayRule:
    if not set(_PAYING) & set(raw):
        listed = ", ".join(f"'{key}'" for key in _PAYING[:-1])
        raise Wrong(path, f"[[pay]] limits nothing; write {listed} or '{_PAYING[-1]}'.")
    ceilings = [_ceiling(build, one, (*path, "ceilings", number)) for number, one in enumerate(raw.get("ceilings", ()))]
    common = build.common(raw, path, "slip")
    same_subject(common, "slip", path)
    return PayRule(
        **common,
        instruments=tuple(raw.get("instruments", ())),
        ceilings=tuple(ceilings),
        not_before=period_of(raw["not_before"], (*path, "not_before")) if "not_before" in raw else None,
        not_after=period_of(raw["not_after"], (*path, "not_after")) if "not_after" in raw else None,
        payees=tuple(raw.get("payee", ())),
        deliveries=tuple(raw.get("delivery", ())),
    )


def _ceiling(build: Builder, raw: Raw, path: Path) -> CeilingOf:
    amount = build.money(raw["amount"], (*path, "amount"))
    tally = None
    if "window" in raw and "period" in raw:
        raise Wrong((*path, "period"), "a ceiling has 'window' or 'period', not both; remove one.")
    if "window" in raw or "period" in raw:
        cash = raw["instrument"] == "cash"
        paid = () if cash else (Compare(PAST["past.instrument"], "is", raw["instrument"]),)
        of = "cash" if cash else "total"
        tally = Tally(raw["instrument"], of, raw.get("by", "seller"), window_of(raw), with_this=False, when=paid)
    elif "by" in raw:
        raise Wrong((*path, "by"), "'by' needs 'window' or 'period': the time in which payments count together.")
    return CeilingOf(raw["instrument"], amount, raw.get("inclusive", True), tally)


def _cover(build: Builder, raw: Raw, path: Path) -> CoverRule:
    if "when" not in raw:
        raise Wrong(path, "[[cover]] needs 'when': the conditions under which the rules apply.")
    return CoverRule(**build.common(raw, path, ""), rules=tuple(raw.get("rules", ())))


def _exempt(build: Builder, raw: Raw, path: Path) -> ExemptRule:
    if "when" not in raw:
        raise Wrong(path, "[[exempt]] needs 'when': the conditions under which the rules do not apply.")
    return ExemptRule(**build.common(raw, path, ""), rules=tuple(raw.get("rules", ())))


_MAKE: dict[str, Callable[[Builder, Raw, Path], Rule]] = {
    "cover": _cover,
    "exempt": _exempt,
    "ask": _ask,
    "documents": _documents,
    "declare": _declare,
    "form": _form,
    "refuse": _refuse,
    "limit": _limit,
    "pay": _pay,
    **TIMED,
}
