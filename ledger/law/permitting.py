"""Whether an act may be done now with an item, over all its holds and orders.

Decides: what forbids the act, until when, and what would have to be known for a rule to permit it. A permit whose
conditions are not decided does not permit. Leaves to `ledger.law.holds` when holds end, and to the caller which
holds and orders are on the item, what is about to be done, and the rule files that state conditions.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any

from ledger.errors import InputError
from ledger.law.conditions import Asked, every
from ledger.law.counting import utc
from ledger.law.facts import doubts_in
from ledger.law.held import Hold, Order, Permit
from ledger.law.periods import awaited
from ledger.law.rules import ACTS, PLACES, RuleFile
from ledger.law.rules_times import HoldRule


@dataclass(frozen=True)
class Act:
    """What is about to be done with an item."""

    kind: str
    to: str = ""
    """a place (premises ... abroad), seen from the licence; or a name that a rule's permit knows"""
    facts: Mapping[str, Any] = field(default_factory=dict)
    """what is known of the act: taker, identity_checked, buyer_recorded, permit, state, permissions; and, for holds
    that mean the place of purchase or of receipt, "to_of_purchase" and "to_of_receipt": the place seen from there"""

    def __post_init__(self) -> None:
        if self.kind not in ACTS:
            raise InputError(field="act", given=self.kind, wanted="one of " + ", ".join(ACTS))


@dataclass(frozen=True)
class Allowed:
    """No hold and no order forbids the act."""


@dataclass(frozen=True)
class Forbidden:
    """The act is forbidden; the strictest of the reasons, and the others in words."""

    rule: str
    jurisdiction: str
    source: str
    until: datetime | None
    """first moment at which it may be done; None while a hold waits or an order is open-ended"""
    plain: datetime | None
    waiting_for: str | None
    says: str
    others: tuple[str, ...] = ()


def may(
    act: Act,
    holds: Iterable[Hold],
    orders: Iterable[Order],
    at: datetime,
    *,
    facts: Mapping[str, Any] | None = None,
    files: Iterable[RuleFile] = (),
) -> Allowed | Forbidden:
    """Whether an act may be done now with an item.

    holds, orders: those on this item. at: now. facts: what is known of "item", "shop", "slip" and "seller". files: the
    files of the holds, for permits with conditions. The reason that forbids longest is named first; one without an
    end before any other.
    """
    orders = list(orders)
    replaced = {name for order in orders if order.lifted_at is None for name in order.replaces if order.began(at)}
    frame = _frame(act, facts or {})
    by_digest = {file.digest: file for file in files}
    found = []
    for hold in holds:
        if f"{hold.jurisdiction}/{hold.rule}" not in replaced:
            lacks = _lacking(act, hold, at, frame, by_digest.get(hold.digest))
            if lacks is not None:
                found.append(_of_hold(act, hold, lacks))
    found += [_of_order(act, order) for order in orders if act.kind in order.forbids and order.stands(at)]
    if not found:
        return Allowed()
    found.sort(key=lambda one: (one.until is None, utc(one.until) if one.until else utc(at)), reverse=True)
    return replace(found[0], others=tuple(one.says for one in found[1:]))


def _frame(act: Act, facts: Mapping[str, Any]) -> dict[str, Any]:
    known = {**facts.get("act", {}), **act.facts, "kind": act.kind}
    return {**facts, "act": known | ({"to": act.to} if act.to else {})}


def _lacking(
    act: Act, hold: Hold, at: datetime, frame: Mapping[str, Any], file: RuleFile | None
) -> tuple[str, ...] | None:
    """None if the hold lets the act be done; else what the hold's permits for it lack, in sentences."""
    if act.kind not in hold.forbids or (hold.cautious is not None and utc(at) >= utc(hold.cautious)):
        return None
    if hold.keep_in and act.kind in ("move", "send-out") and _inside(act, hold):
        return None
    lacks = []
    if hold.keep_in and act.kind in ("move", "send-out") and _seen_from(act, hold) is None:
        lacks.append(f"It must be known where the place lies as seen from the place of {hold.keep_of}.")
    for permit in hold.allows:
        if permit.act == act.kind and permit.to in ("", act.to):
            lack = _lack(permit, hold, at, frame, file)
            if not lack:
                return None
            lacks.append(lack)
    return tuple(dict.fromkeys(lacks))


def _inside(act: Act, hold: Hold) -> bool:
    """Whether the act leaves the item where the hold wants it; a place that nobody stated lies nowhere."""
    to = _seen_from(act, hold)
    return to in PLACES and PLACES.index(to) <= PLACES.index(hold.keep_in)


def _seen_from(act: Act, hold: Hold) -> Any:
    """Where the act takes the item, seen from the place that the hold means; None if nobody said."""
    return act.to if hold.keep_of == "licence" else act.facts.get(f"to_of_{hold.keep_of}")


def _lack(permit: Permit, hold: Hold, at: datetime, frame: Mapping[str, Any], file: RuleFile | None) -> str:
    """What a permit still asks for; empty if nothing."""
    what = permit.says.rstrip(". ") or "This may be allowed"
    if permit.waits:
        return f"{what}: so long after the hold began, and that waits for {awaited(str(hold.waiting_for))}."
    if permit.after is not None and utc(at) < utc(permit.after):
        return f"{what}: from {clock(permit.after)}."
    if permit.permission:
        held = _held(permit.permission, frame)
        if held is None:
            return f"{what}: it is not known whether the permission '{permit.permission}' is in force."
        if not held:
            return f"{what}: under the permission '{permit.permission}', which is not in force."
    if not permit.conditional:
        return ""
    rule = _rule(hold, file)
    if rule is None:
        return f"{what}: under conditions that the rule file {hold.digest[:12]} states, which is not at hand."
    conditions = rule.allows[permit.number].when
    asked: Asked = {}
    answer = every(conditions, frame, asked)
    if answer is None:
        return f"{what}, but it must be known first: {doubts_in(asked)}."
    wanted = " and ".join(one.says() for one in conditions)
    return "" if answer else f"{what}: only if {wanted}."


def _held(permission: str, frame: Mapping[str, Any]) -> bool | None:
    """Whether a permission is in force for the item, the shop or the act; None if nobody said."""
    listed = [frame.get(subject, {}).get("permissions") for subject in ("item", "shop", "act")]
    known = [one for one in listed if isinstance(one, list | tuple)]
    return any(permission in one for one in known) if known else None


def _rule(hold: Hold, file: RuleFile | None) -> HoldRule | None:
    """The version of the rule that made the hold."""
    if file is None:
        return None
    version = hold.trace.get("version_from")
    for rule in file.rules:
        if isinstance(rule, HoldRule) and rule.id == hold.rule and version in (None, rule.first.isoformat()):
            return rule
    return None


def _of_hold(act: Act, hold: Hold, lacks: tuple[str, ...]) -> Forbidden:
    waits = f"until a time that runs from {awaited(str(hold.waiting_for))}"
    until = waits if hold.cautious is None else f"before {clock(hold.cautious)}"
    if str(hold.waiting_for).startswith("lift:"):
        until = "until it is lifted"
    says = f"{hold.source} forbids {_DOING[act.kind]} {until} (rule {hold.rule} of {hold.jurisdiction})."
    for implied in hold.implied:
        if implied.act == act.kind:
            why = f": {implied.says.rstrip('. ')}" if implied.says else ""
            says += f" The text does not name this act; that it is meant rests on {implied.basis}{why}."
    if hold.undecided:
        says += f" It is not decided whether the hold applies: {hold.undecided}"
    says = " ".join([says, *lacks])
    return Forbidden(hold.rule, hold.jurisdiction, hold.source, hold.cautious, hold.plain, hold.waiting_for, says)


def _of_order(act: Act, order: Order) -> Forbidden:
    plain, until = order.until_plain or order.until, order.until
    says = f"The hold order {order.id} ({order.source}) forbids {_DOING[act.kind]}"
    says += f" before {clock(until)}." if until else " until it is lifted."
    waits = None if until else "lifting of the hold order"
    return Forbidden(order.id, "", order.source, until, plain, waits, says)


_DOING = {
    "offer": "offering it",
    "sell": "selling it",
    "hand-over": "handing it over",
    "return": "giving it back",
    "use": "using it",
    "alter": "altering it",
    "melt": "melting it",
    "mix": "mixing it with others",
    "move": "moving it there",
    "send-out": "sending it out",
    "surrender": "surrendering it",
}


def clock(at: datetime) -> str:
    """Day, clock and zone, as a person reads them."""
    return f"{at:%Y-%m-%d %H:%M} {at.tzinfo}"
