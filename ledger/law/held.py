"""What is known of a hold or an order on an item, as plain values, and from when the item may leave.

Decides: what a hold holds and how a book keeps it, and the latest end over several holds and orders. Leaves the ends
themselves to `ledger.law.holds` and `ledger.law.orders`, one act to `ledger.law.permitting`.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, NamedTuple, Self

from ledger import moments
from ledger.law.counting import outermost, utc
from ledger.law.rules import ACTS
from ledger.law.rules_times import ImpliedAct

LEAVING = ("sell", "hand-over")
"""acts after which the shop no longer has the item to itself"""


@dataclass(frozen=True)
class Permit:
    """An act that the hold allows all the same."""

    act: str
    to: str
    """empty for anybody and anywhere"""
    says: str = ""
    permission: str = ""
    """only under this permission of an authority"""
    after: datetime | None = None
    """only from this moment"""
    waits: bool = False
    """it is allowed only so long after the hold began, and the hold has not begun"""
    number: int = 0
    """its place in the rule"""
    conditional: bool = False
    """whether the rule states conditions, to be read from its file"""

    def record(self) -> dict[str, Any]:
        """The permit as a hold keeps it: JSON values only."""
        found: dict[str, Any] = {"act": self.act, "to": self.to, "says": self.says}
        more = {
            "permission": self.permission,
            "after": moments.local_text(self.after) if self.after else None,
            "waits": self.waits,
            "number": self.number,
            "conditional": self.conditional,
        }
        return found | {name: value for name, value in more.items() if value}

    @classmethod
    def parse(cls, record: Mapping[str, Any]) -> Self:
        """A permit from what `record` gave. Raises: InputError for a moment that cannot be read."""
        after = moments.parse_local(record["after"], "after") if record.get("after") else None
        return cls(**{**record, "after": after})


@dataclass(frozen=True)
class Hold:
    """One rule's hold on one item."""

    rule: str
    jurisdiction: str
    digest: str
    line: int
    forbids: tuple[str, ...]
    """implied acts too"""
    keep_in: str
    allows: tuple[Permit, ...]
    starts_from: str
    plain: datetime | None
    cautious: datetime | None
    waiting_for: str | None
    undecided: str | None
    """why it is not decided that the rule applies; the hold stands all the same"""
    source: str
    url: str
    basis: str
    trace: dict[str, Any]
    earliest: datetime | None = None
    """the end under the shortest reading; deadlines that run from the hold's end take this one"""
    keep_of: str = "licence"
    """whose premises, county and so on `keep_in` means: the licence's, the purchase's or the receipt's"""
    implied: tuple[ImpliedAct, ...] = ()
    """acts of `forbids` that the text does not name"""
    rests_on_memory: tuple[str, ...] = ()
    shortened: int | None = None
    """which of the rule's shorter times applies"""
    in_person: bool = False
    """whether goods and contract came with the purchase"""
    recipients: tuple[str, ...] | None = None
    """to whom reports of the purchase are owed, where the hold runs from the reports to all or any of them"""
    replaced: tuple[tuple[str, str], ...] = ()
    """recipients whose report another law's takes the place of, each with the recipient of that"""

    def record(self) -> dict[str, Any]:
        """The hold as the book holds it: JSON values only; `Hold.parse` gives it back."""
        found: dict[str, Any] = {
            "rule": self.rule,
            "jurisdiction": self.jurisdiction,
            "digest": self.digest,
            "line": self.line,
            "forbids": list(self.forbids),
            "keep_in": self.keep_in,
            "allows": [one.record() for one in self.allows],
            "starts_from": self.starts_from,
            "plain": moments.local_or_none(self.plain),
            "cautious": moments.local_or_none(self.cautious),
            "earliest": moments.local_or_none(self.earliest),
            "waiting_for": self.waiting_for,
            "undecided": self.undecided,
            "source": self.source,
            "url": self.url,
            "basis": self.basis,
            "trace": self.trace,
        }
        more = {
            "keep_of": self.keep_of if self.keep_of != "licence" else "",
            "implied": [{"act": one.act, "basis": one.basis, "says": one.says} for one in self.implied],
            "rests_on_memory": list(self.rests_on_memory),
            "in_person": self.in_person,
            "replaced": [list(pair) for pair in self.replaced],
        }
        found |= {name: value for name, value in more.items() if value}
        if self.shortened is not None:
            found["shortened"] = self.shortened
        if self.recipients is not None:
            found["recipients"] = list(self.recipients)
        return found

    @classmethod
    def parse(cls, record: Mapping[str, Any]) -> Self:
        """A hold from what `record` gave; a book of before holds fewer members.

        Raises: InputError for a moment that cannot be read.
        """
        known: dict[str, Any] = {
            name: moments.parse_local(record[name], name) if record.get(name) else None
            for name in ("plain", "cautious", "earliest")
        }
        known["allows"] = tuple(map(Permit.parse, record["allows"]))
        known["implied"] = tuple(ImpliedAct(**one) for one in record.get("implied", ()))
        known["replaced"] = tuple((first, second) for first, second in record.get("replaced", ()))
        for name in ("forbids", "rests_on_memory", "recipients"):
            if name in record:
                known[name] = tuple(record[name])
        return cls(**{**record, **known})


@dataclass(frozen=True)
class Order:
    """An authority's order that forbids acts on items of a slip."""

    id: str
    from_: datetime
    until: datetime | None
    """first moment at which it no longer holds, under the longest reading; None is open-ended"""
    source: str
    lines: tuple[int, ...] = ()
    """item lines; none for all"""
    forbids: tuple[str, ...] = tuple(act for act in ACTS if act != "surrender")
    lifted_at: datetime | None = None
    until_plain: datetime | None = None
    """as written; None where it is the same as `until`"""
    replaces: tuple[str, ...] = ()
    """holds in whose place it stands, each jurisdiction/rule"""

    def ends(self) -> tuple[datetime | None, datetime | None]:
        """When it ends, as written and under the longest reading; None while it has no end."""

        def first(end: datetime | None) -> datetime | None:
            known = [one for one in (end, self.lifted_at) if one is not None]
            return outermost(known, later=False) if known else None

        return first(self.until_plain or self.until), first(self.until)

    def stands(self, at: datetime) -> bool:
        """Whether it holds at a moment."""
        end = self.ends()[1]
        return self.began(at) and (end is None or utc(at) < utc(end))

    def began(self, at: datetime) -> bool:
        """Whether it holds, or held before."""
        return utc(self.from_) <= utc(at)


class Leave(NamedTuple):
    """From when an item may leave, over all its holds and orders."""

    plain: datetime | None
    cautious: datetime | None
    waiting_for: str | None


def leave(holds: Iterable[Hold], orders: Iterable[Order] = (), acts: tuple[str, ...] = LEAVING) -> Leave:
    """From when an item may leave: the latest end over the holds and orders that forbid one of the acts.

    No moment while a hold waits for its event or an order is open-ended and not lifted. A hold in whose place an
    order stands does not count, unless that order was lifted.
    """
    orders = list(orders)
    replaced = {name for order in orders if order.lifted_at is None for name in order.replaces}
    plain: list[datetime | None] = []
    cautious: list[datetime | None] = []
    waiting = None
    for hold in holds:
        if set(acts) & set(hold.forbids) and f"{hold.jurisdiction}/{hold.rule}" not in replaced:
            plain.append(hold.plain)
            cautious.append(hold.cautious)
            waiting = waiting or hold.waiting_for
    for order in orders:
        if set(acts) & set(order.forbids):
            written, longest = order.ends()
            plain.append(written)
            cautious.append(longest)
            waiting = waiting or (None if longest else "lifting of the hold order")
    return Leave(_latest(plain), _latest(cautious), waiting)


def _latest(ends: list[datetime | None]) -> datetime | None:
    """The latest of several ends; None if there is none, or if one is not known yet."""
    known = [end for end in ends if end is not None]
    return outermost(known, later=True) if known and len(known) == len(ends) else None
