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
from ledger.law.facts import AT_SIGNING, EMPTY_IS_NOTHING, FACTS, Fact, Unknown, doubts_in, shown
from ledger.law.rules import (
    AskRule,
    DeclareRule,
    DocumentNeed,
    DocumentsRule,
    FormRule,
    LimitRule,
    PayRule,
    RefuseRule,
    Rule,
    Way,
)
from ledger.measures import Money

Frame = Mapping[str, Any]


class Scope(NamedTuple):
    """Whether a rule applies to a subject."""

    applies: bool | None
    asked: Asked
    doubt: str
    """why it is undecided, in words"""
    exempt_undecided: bool
    """an exemption could not be decided, so the rule stands"""


ALWAYS = Scope(True, {}, "", False)


def scope(rule: Rule, frame: Frame) -> Scope:
    """Whether the conditions of a rule hold for a subject; an exemption that is undecided does not free it."""
    if not rule.when and not rule.unless:
        return ALWAYS
    asked: Asked = {}
    wanted = every(rule.when, frame, asked)
    freed = some(rule.unless, frame, asked) if wanted is not False else False
    if wanted is False or freed is True:
        return Scope(False, asked, "", False)
    return Scope(wanted, asked, "" if wanted else doubts_in(asked), freed is None)


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
            says = f"{reason.rstrip('.')}, and whether this rule applies is not decided: {doubt}"
            return Undecided(says, reason, "The rule does not apply.")
        case _:
            until = found.until
            stands = "It is not decided whether this rule applies, so it stands"
            ends = f"; its time ends {until:%Y-%m-%d %H:%M} {until.tzinfo}" if until else ""
            yes = f"The rule applies{ends}."
            return Undecided(f"{stands}: {doubt}", yes, "The rule does not apply.")


def ask(rule: AskRule, frame: Frame, trace: dict[str, Any]) -> Outcome:
    """Whether every field that must be there is there. A reason stands for the fact only where the rule says so."""
    missing, unknown, lacks = [], [], []
    states: dict[str, Any] = {}
    for field in rule.fields:
        value = _answer(field.fact, frame)
        if not isinstance(value, Unknown) and not field.prefer:
            states[field.fact.name] = "there"
            continue
        if isinstance(value, Unknown):
            value = next((one for fact in field.instead if not isinstance(one := _answer(fact, frame), Unknown)), value)
        if not isinstance(value, Unknown):
            states[field.fact.name] = "there"
            if field.prefer:
                states[field.fact.name] = finger = _finger(value)
                if (wrong := _wrong_finger(field.prefer, finger)) and field.must:
                    unknown.append(f"{field.label} ({wrong})")
            continue
        states[field.fact.name] = value.reason
        if field.must and not value.said:
            missing.append(field.label)
            lacks.append(field.fact.name)
        elif field.must and not field.reason_allowed:
            unknown.append(f"{field.label} ({value.reason})")
    trace["fields"] = states
    if missing:
        trace["lacks"] = lacks
        return Broken(f"The record lacks: {joined(missing)}.")
    if unknown:
        return Undecided(f"The record must hold what is said to be not known: {joined(unknown)}.")
    return Met()


def _answer(fact: Fact, frame: Frame) -> Any:
    """A fact that is asked for; none of some things is as good as nothing said."""
    value = fact.read(frame)
    return value if value or fact.name not in EMPTY_IS_NOTHING else fact.unsaid


def _finger(capture: Any) -> dict[str, str]:
    """Which finger a print is of, and why not another, as far as it was said."""
    said = capture if isinstance(capture, dict) else {}
    return {name: said[name] for name in ("finger", "reason") if isinstance(said.get(name), str)}


def _wrong_finger(prefer: Sequence[str], finger: Mapping[str, str]) -> str:
    """What is not in order about the finger; empty if all is."""
    if "finger" not in finger:
        return f"which finger it is was not said; wanted is {prefer[0]}"
    if finger["finger"] == prefer[0] or (finger["finger"] in prefer and "reason" in finger):
        return ""
    if finger["finger"] in prefer:
        return f"why not {prefer[0]} was not said"
    return f"{finger['finger']} was taken; wanted is {' or else '.join(prefer)}"


def documents(rule: DocumentsRule, frame: Frame, trace: dict[str, Any]) -> Outcome:
    """Whether the documents shown prove identity in one of the rule's ways."""
    held = FACTS["seller.documents"].read(frame)
    known = FACTS["seller.personally_known"].read(frame) if any(way.personally_known for way in rule.any_of) else None
    trace["documents"] = shown(held)
    if known is not None:
        trace["personally_known"] = shown(known)
    listed: Sequence[Any] = () if isinstance(held, Unknown) else held
    answers = [_way(way, listed, frame, trace) for way in rule.any_of]
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


def _way(way: Way, listed: Sequence[Any], frame: Frame, trace: dict[str, Any]) -> bool | None:
    """Whether different documents satisfy the needs of one way, each its own, and what else it needs is there."""
    answers = [_assigned([[_fits(need, one) for one in listed] for need in way.documents], frozenset())]
    if way.personally_known:
        known = FACTS["seller.personally_known"].read(frame)
        answers.append(None if isinstance(known, Unknown) else known)
    for fact in way.fields:
        value = fact.read(frame)
        trace.setdefault("fields", {})[fact.name] = value.reason if isinstance(value, Unknown) else "there"
        answers.append((None if value.said else False) if isinstance(value, Unknown) else True)
    return _all(answers)


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
    if not any(_spaced(words) in _spaced(text) for words in (rule.words, *(words for _, words in rule.also))):
        return Broken("The seller's statement lacks the words that this rule fixes.")
    if rule.sworn:
        sworn = FACTS["seller.sworn"].read(frame)
        trace["sworn"] = shown(sworn)
        if isinstance(sworn, Unknown):
            return Undecided(f"Whether the seller's statement is sworn is not decided: {sworn.reason}.")
        if not sworn:
            return Broken("The seller's statement must be sworn.")
    return Met()


def form(rule: FormRule, frame: Frame, trace: dict[str, Any]) -> Outcome:
    """Whether the record is kept as the rule allows and signed by whom it names."""
    if rule.medium:
        medium = FACTS["shop.record_medium"].read(frame)
        trace["medium"] = shown(medium)
        if isinstance(medium, Unknown):
            return Undecided(f"Whether the record may be kept so is not decided: {medium.reason}.")
        if medium not in rule.medium:
            return Broken(f"The record is kept as {medium}; allowed is {' or '.join(rule.medium)}.")
    for signer in rule.signed_by:
        signed = _signed(signer, frame)
        trace.setdefault("signed", {})[signer] = shown(signed)
        if isinstance(signed, Unknown):
            if signer == "seller" and not signed.said:
                trace["lacks"] = list(AT_SIGNING)
            return Undecided(f"Whether the {signer} signs is not decided: {signed.reason}.")
        if not signed:
            return Broken(f"The signature of the {signer} is missing.")
    return Met()


def _signed(signer: str, frame: Frame) -> bool | Unknown:
    """Whether somebody signed; the staff member who serves signs by serving."""
    if signer == "staff":
        staff = FACTS["slip.staff"].read(frame)
        return staff if isinstance(staff, Unknown) else True
    capture = FACTS["seller.captures.signature"].read(frame)
    if not isinstance(capture, Unknown):
        return True
    statement = FACTS["slip.declaration"].read(frame)
    signed = statement.get("signed") if isinstance(statement, dict) else None
    return signed if isinstance(signed, bool) else Unknown(capture.reason, capture.said)


def _spaced(text: str) -> str:
    return " ".join(text.split())


def refuse(rule: RefuseRule, found: Scope) -> Outcome:
    """Whether the purchase must be refused: the rule's conditions are the answer."""
    if found.applies is None:
        return Undecided(
            f"It is not decided whether this must be refused: {found.doubt}", rule.says, "It may be bought."
        )
    return Broken(rule.says) if found.applies else Met()


def limit(rule: LimitRule, frame: Frame, ends: datetime | None, trace: dict[str, Any]) -> Outcome:
    """Whether something was asked that must not be asked; other limits bind what comes later, until they end."""
    if rule.must_not != "ask":
        return Ahead(ends)
    there = [fact.name for fact in rule.facts if not isinstance(fact.read(frame), Unknown)]
    trace["there"] = there
    return Broken(f"This must not be asked and is recorded: {joined(there)}.") if there else Met()


class Waits(NamedTuple):
    """The time in which payment may be made: from the cautious moment, and before the other; None where open."""

    since: datetime | None = None
    before: datetime | None = None
    waiting_for: str | None = None
    """the event from which the time runs, while it has not happened"""


def pay(rule: PayRule, ceilings: Sequence[Ceiling], frame: Frame, waits: Waits, trace: dict[str, Any]) -> Outcome:
    """Whether the agreed payment is one that the rule lets be made."""
    instrument, total = _traced("instrument", frame, trace), _traced("total", frame, trace)
    for words, name, what in (
        (rule.instruments, "instrument", "Payment by"),
        (rule.payees, "payee_kind", "Payment to"),
        (rule.deliveries, "delivery", "Payment handed over"),
    ):
        if not words:
            continue
        value = _traced(name, frame, trace)
        if isinstance(value, Unknown):
            return _not_decided(value.reason)
        if value not in words:
            return Broken(f"{what} {value} is not allowed; allowed is {joined(words)}.")
    if ceilings and isinstance(instrument, Unknown):
        return _not_decided(instrument.reason)
    for ceiling in ceilings:
        paid = _paid_so(ceiling, instrument, total, frame, trace)
        if paid is None:
            continue
        if isinstance(paid, Unknown):
            return _not_decided(paid.reason)
        over = ceiling.broken_by(paid)
        if over is None:
            if isinstance(ceiling.earlier, Unknown):
                return _not_decided(f"{ceiling.says()}, and {ceiling.earlier.reason}")
            return Undecided(f"{paid} cannot be compared: {ceiling.says()}.")
        if over:
            return Broken(ceiling.why(paid))
    return Ahead(None if waits.waiting_for else waits.since or waits.before) if any(waits) else Met()


def _traced(name: str, frame: Frame, trace: dict[str, Any]) -> Any:
    value = FACTS[f"slip.{name}"].read(frame)
    trace[name] = shown(value)
    return value


def _not_decided(reason: str) -> Undecided:
    return Undecided(f"Whether this payment is allowed is not decided: {reason}.")


def _paid_so(
    ceiling: Ceiling, instrument: str, total: Money | Unknown, frame: Frame, trace: dict[str, Any]
) -> Money | Unknown | None:
    """What of this slip is paid by the ceiling's instrument; None if nothing is."""
    if ceiling.instrument == "cash":
        part: Money | Unknown = FACTS["slip.cash_part"].read(frame)
        if not isinstance(part, Unknown) or part.said:
            trace["cash_part"] = shown(part)
            return part
    return total if ceiling.instrument == instrument else None
