"""One rule held against the facts of one subject.

Decides: whether a rule applies there, and whether what it asks is met, broken or undecided. Leaves to
`ledger.law.duties` which subjects there are and how answers of several rules combine. A fact that is not known
makes the answer undecided, never met.
"""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any, NamedTuple

from ledger.law.answers import Ahead, Broken, Ceiling, Met, Outcome, Undecided, joined
from ledger.law.conditions import Asked, every, some
from ledger.law.facts import EMPTY_IS_NOTHING, FACTS, Unknown, shown
from ledger.law.rules import (
    AskRule,
    DeclareRule,
    DocumentNeed,
    DocumentsRule,
    LimitRule,
    PayRule,
    RefuseRule,
    Rule,
    Way,
)

Frame = Mapping[str, Any]


class Scope(NamedTuple):
    """Whether a rule applies to a subject."""

    applies: bool | None
    asked: Asked
    doubt: str
    """why it is undecided, in words"""
    exempt_undecided: bool
    """an exemption could not be decided, so the rule stands"""


def scope(rule: Rule, frame: Frame) -> Scope:
    """Whether the conditions of a rule hold for a subject; an exemption that is undecided does not free it."""
    if not rule.when and not rule.unless:
        return Scope(True, {}, "", False)
    asked: Asked = {}
    wanted = every(rule.when, frame, asked)
    freed = some(rule.unless, frame, asked) if wanted is not False else False
    if wanted is False or freed is True:
        return Scope(False, asked, "", False)
    return Scope(wanted, asked, "" if wanted else doubt_of(asked), freed is None)


def doubt_of(asked: Asked) -> str:
    """The reasons why facts are not known, as one fragment."""
    reasons = [value["not_known"] for value in asked.values() if isinstance(value, dict) and "not_known" in value]
    return "; ".join(reasons) or "amounts of different currencies cannot be compared"


def unsure(found: Outcome, doubt: str) -> Outcome:
    """The outcome of a rule whose condition is undecided, given what it would be if the condition held."""
    match found:
        case Met():
            return found
        case Broken(reason=reason):
            return Undecided(
                f"It is not decided whether this rule applies: {doubt}", reason, "The rule does not apply."
            )
        case Undecided(reason=reason):
            return Undecided(f"{reason}, and whether this rule applies is not decided: {doubt}", reason)
        case _:
            stands = "It is not decided whether this rule applies, so it stands"
            return Undecided(f"{stands}: {doubt}", "The rule applies.", "The rule does not apply.")


def ask(rule: AskRule, frame: Frame, trace: dict[str, Any]) -> Outcome:
    """Whether every field that must be there is there. A reason stands for the fact only where the rule says so."""
    missing, unknown, states = [], [], {}
    for field in rule.fields:
        value = field.fact.read(frame)
        if field.fact.name in EMPTY_IS_NOTHING and not isinstance(value, Unknown) and not value:
            value = Unknown(f"{field.fact.name} was not stated", False)
        if not isinstance(value, Unknown):
            states[field.fact.name] = "there"
            continue
        states[field.fact.name] = value.reason
        if field.must and not value.said:
            missing.append(field.label)
        elif field.must and not field.reason_allowed:
            unknown.append(f"{field.label} ({value.reason})")
    trace["fields"] = states
    if missing:
        return Broken(f"The record lacks: {joined(missing)}.")
    if unknown:
        return Undecided(f"The record must hold what is said to be not known: {joined(unknown)}.")
    return Met()


def documents(rule: DocumentsRule, frame: Frame, trace: dict[str, Any]) -> Outcome:
    """Whether the documents shown prove identity in one of the rule's ways."""
    seller = frame.get("seller", {})
    held = FACTS["seller.documents"].read(frame)
    known = FACTS["seller.personally_known"].read(frame) if any(way.personally_known for way in rule.any_of) else None
    trace["documents"] = shown(held)
    if known is not None:
        trace["personally_known"] = shown(known)
    listed: Sequence[Any] = () if isinstance(held, Unknown) else held
    answers = [_way(way, listed, seller.get("personally_known")) for way in rule.any_of]
    always = [_some([_fits(need, one) for one in listed]) for need in rule.always]
    answer = _all([_some(answers), *always])
    if answer is True:
        return Met()
    ways = " or ".join(way.says for way in rule.any_of)
    if answer is None or isinstance(held, Unknown):
        reason = held.reason if isinstance(held, Unknown) else "what is known of the documents does not settle it"
        if isinstance(held, Unknown) and not held.said:
            return Broken(f"No document is recorded; wanted is {ways}.")
        return Undecided(f"Whether the documents are enough is not decided: {reason}; wanted is {ways}.")
    return Broken(f"The documents shown are not enough; wanted is {ways}.")


def _way(way: Way, listed: Sequence[Any], known: Any) -> bool | None:
    """Whether different documents satisfy the needs of one way, each its own."""
    answer = _assigned([[_fits(need, one) for one in listed] for need in way.documents], frozenset())
    if not way.personally_known:
        return answer
    return _all([answer, known if isinstance(known, bool) else None])


def _assigned(rows: list[list[bool | None]], taken: frozenset[int]) -> bool | None:
    """The best answer over all ways to give each need a document of its own."""
    if not rows:
        return True
    best: bool | None = False
    for number, fits in enumerate(rows[0]):
        if fits is False or number in taken:
            continue
        answer = _all([fits, _assigned(rows[1:], taken | {number})])
        if answer is True:
            return True
        best = None if answer is None else best
    return best


def _fits(need: DocumentNeed, document: Any) -> bool | None:
    if not isinstance(document, dict):
        return None
    kind = document.get("type")
    answers: list[bool | None] = []
    if need.types:
        answers.append(kind in need.types if isinstance(kind, str) else None)
    for flag, wanted in need.flags.items():
        value = document.get(flag)
        answers.append(value is wanted if isinstance(value, bool) else None)
    return _all(answers)


def _all(answers: Sequence[bool | None]) -> bool | None:
    return False if False in answers else None if None in answers else True


def _some(answers: Sequence[bool | None]) -> bool | None:
    return True if True in answers else None if None in answers else False


def declare(rule: DeclareRule, frame: Frame, trace: dict[str, Any]) -> Outcome:
    """Whether the seller's statement contains the rule's words."""
    statement = FACTS["slip.declaration"].read(frame)
    if isinstance(statement, Unknown):
        return Undecided(f"The seller's statement must contain words fixed by law: {statement.reason}.")
    text = statement.get("text", "") if isinstance(statement, dict) else str(statement)
    trace["declaration"] = text
    if _spaced(rule.words) in _spaced(text):
        return Met()
    return Broken("The seller's statement lacks the words that this rule fixes.")


def _spaced(text: str) -> str:
    return " ".join(text.split())


def refuse(rule: RefuseRule, found: Scope) -> Outcome:
    """Whether the purchase must be refused: the rule's conditions are the answer."""
    if found.applies is None:
        return Undecided(
            f"It is not decided whether this must be refused: {found.doubt}", rule.says, "It may be bought."
        )
    return Broken(rule.says) if found.applies else Met()


def limit(rule: LimitRule, frame: Frame, trace: dict[str, Any]) -> Outcome:
    """Whether something was asked that must not be asked; other limits bind what comes later."""
    if rule.must_not != "ask":
        return Ahead(None)
    there = [fact.name for fact in rule.facts if not isinstance(fact.read(frame), Unknown)]
    trace["there"] = there
    return Broken(f"This must not be asked and is recorded: {joined(there)}.") if there else Met()


def pay(
    rule: PayRule, ceilings: Sequence[Ceiling], frame: Frame, waits: datetime | None, trace: dict[str, Any]
) -> Outcome:
    """Whether the agreed payment is one that the rule lets be made.

    waits: from when payment may be made, or None where it need not wait.
    """
    instrument, total = FACTS["slip.instrument"].read(frame), FACTS["slip.total"].read(frame)
    trace["instrument"], trace["total"] = shown(instrument), shown(total)
    if rule.instruments or ceilings:
        if isinstance(instrument, Unknown):
            return Undecided(f"Whether this payment is allowed is not decided: {instrument.reason}.")
        if rule.instruments and instrument not in rule.instruments:
            return Broken(f"Payment by {instrument} is not allowed; allowed is {joined(rule.instruments)}.")
    for ceiling in ceilings:
        if ceiling.instrument != instrument:
            continue
        if isinstance(total, Unknown):
            return Undecided(f"Whether this payment is allowed is not decided: {total.reason}.")
        over = ceiling.broken_by(total)
        if over is None:
            return Undecided(f"{total} cannot be compared: {ceiling.says()}.")
        if over:
            return Broken(f"By law {ceiling.says()}, and {total} is to be paid.")
    return Ahead(waits) if waits is not None else Met()
