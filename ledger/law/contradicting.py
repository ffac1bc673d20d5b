"""Answers of several layers that cannot stand together, each named with its rules.

Decides: that no way to pay, payee or place is left, that payment may begin only after it must be made, that data must
be kept past the day on which they must be destroyed, that a fact must be asked and must not. Leaves what then
happens to people: both rules stand. Answers that are combined come from `ledger.law.combining`.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from ledger import moments
from ledger.law.answers import AskField, Limit, joined
from ledger.law.combining import KeepPart, PayPart, common, union
from ledger.law.counting import utc
from ledger.law.held import Hold


def contradictions(
    asked: Sequence[AskField],
    limits: Sequence[Limit],
    paid: Sequence[PayPart],
    kept: Sequence[KeepPart],
    held: Sequence[Hold],
    *,
    elsewhere: bool,
) -> tuple[str, ...]:
    """Sentences about answers that cannot stand together; each names the rules.

    elsewhere: the purchase is known to be made away from the shop.
    """
    found = _no_way_to_pay(paid) + _kept_and_destroyed(kept) + (_no_place(held) if elsewhere else [])
    insisted = {field.fact: field for field in asked if field.need == "must"}
    for limit in limits:
        if limit.fact in insisted and (limit.must_not == "ask" or (limit.must_not == "keep" and limit.everywhere)):
            rules = joined([*insisted[limit.fact].rules, f"{limit.jurisdiction}/{limit.rule}"])
            verb = "asked" if limit.must_not == "ask" else "kept"
            found.append(f"{limit.fact} must be asked and must not be {verb}: {rules}.")
    return tuple(dict.fromkeys(found))


def is_elsewhere(slip: Mapping[str, Any]) -> bool:
    """Whether it is known that a purchase is made away from the shop. slip: its facts."""
    return slip.get("place_kind") in _AWAY or (slip.get("place_kind") is None and slip.get("channel") in _OUTSIDE)


_AWAY = ("dwelling", "hotel-room", "vehicle", "event-place")
_OUTSIDE = ("event", "home")


def _no_way_to_pay(parts: Sequence[PayPart]) -> list[str]:
    found = []
    for lists, what in (
        ([(part.name, part.instruments) for part in parts], "way to pay"),
        ([(part.name, part.payees) for part in parts], "payee"),
        ([(part.name, part.deliveries) for part in parts], "way to hand over the payment"),
    ):
        said = [(name, words) for name, words in lists if words]
        if common([words for _, words in said]) == ():
            found.append(f"No {what} is left: {joined([name for name, _ in said])} allow nothing in common.")
    for late in parts:
        for soon in parts:
            if late.cautious and soon.by and utc(late.cautious) >= utc(soon.by):
                begin, end = moments.local_text(late.cautious), moments.local_text(soon.by)
                says = f"Payment may not be made before {begin} and must be made before {end}"
                found.append(f"{says}: {joined(union((late.name,), (soon.name,)))} contradict each other.")
    return found


def _kept_and_destroyed(parts: Sequence[KeepPart]) -> list[str]:
    """A class that must be kept at a place longer than it may; what is kept anywhere must be kept at no one place."""
    found = []
    for keep in parts:
        for drop in parts:
            together = keep.cls == drop.cls and drop.place in ("anywhere", keep.place)
            if together and keep.least and drop.most and utc(keep.least) > utc(drop.most):
                until, by = moments.local_text(keep.least), moments.local_text(drop.most)
                says = f"Data of class {keep.cls} must be kept until {until} and destroyed by {by}"
                found.append(f"{says}: {joined(union((keep.name,), (drop.name,)))} contradict each other.")
    return found


def _no_place(holds: Sequence[Hold]) -> list[str]:
    """An item that must stay on two premises at once: where it was bought or received, and where the licence is."""
    found = []
    kept = [one for one in holds if one.keep_in == "premises" and one.undecided is None]
    for one in kept:
        for other in kept:
            if one.line == other.line and one.keep_of < other.keep_of:
                rules = joined([f"{hold.jurisdiction}/{hold.rule}" for hold in (one, other)])
                places = f"the premises of the {one.keep_of} and on those of the {other.keep_of}"
                found.append(f"No place is left for item {one.line}: it must stay on {places}: {rules}.")
    return found
