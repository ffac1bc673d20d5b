"""Which rules give way to which, where several files speak about one purchase.

Decides: for each subject, the rules that another rule displaces there, or that yield to another. A rule that is
itself displaced displaces nothing; a rule whose condition is undecided displaces nothing; rules that displace each
other in a ring all stand. So the order of the files never matters, and nothing is dropped unless a rule names it.
Leaves to `ledger.law.scoping` where each rule applies.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from ledger.law.rules import GivesWay


@dataclass(frozen=True)
class Claim:
    """One rule where it applies or may apply."""

    name: str
    """jurisdiction/id"""
    cite: str
    applies: Mapping[str, bool | None]
    """by subject: slip, seller, party/2, item/1; False where it does not apply"""
    displaces: tuple[GivesWay, ...] = ()
    yields_to: tuple[GivesWay, ...] = ()


class Node(NamedTuple):
    """One rule at one subject."""

    name: str
    about: str


class Way(NamedTuple):
    """How one rule displaces another at one subject: if it applies at all of these."""

    sources: frozenset[Node]
    by: str


class Settled(NamedTuple):
    """What gives way, and what might."""

    gone: dict[Node, Way]
    doubtful: dict[Node, list[str]]
    """names of rules that may displace, if their own conditions hold"""


NOTHING = Settled({}, {})


def settle(claims: Sequence[Claim]) -> Settled:
    """The rules that give way at each subject."""
    if not any(claim.displaces or claim.yields_to for claim in claims):
        return NOTHING
    ways = _ways(claims)
    standing: dict[Node, bool] = {}
    nodes = [Node(claim.name, about) for claim in claims for about in claim.applies]
    gone: dict[Node, Way] = {}
    moved = True
    while moved:
        moved = False
        for node in nodes:
            if node in standing:
                continue
            live = [way for way in ways.get(node, ()) if not any(standing.get(one) is False for one in way.sources)]
            won = [way for way in live if all(standing.get(one) for one in way.sources)]
            if won:
                standing[node], gone[node] = False, min(won, key=lambda way: (sorted(way.sources), way.by))
                moved = True
            elif not live:
                standing[node] = moved = True
    return Settled(gone, _doubtful(claims, nodes))


def _ways(claims: Sequence[Claim]) -> dict[Node, list[Way]]:
    """Every decided way in which a rule may be displaced, by the rule and subject that would go."""
    ways: dict[Node, list[Way]] = {}
    for winner, loser, by in _pairs(claims):
        for about in loser.applies:
            at = _reaches(winner, about)
            if at and all(winner.applies[one] is True for one in at):
                sources = frozenset(Node(winner.name, one) for one in at)
                ways.setdefault(Node(loser.name, about), []).append(Way(sources, by or winner.cite))
    return ways


def _doubtful(claims: Sequence[Claim], nodes: Sequence[Node]) -> dict[Node, list[str]]:
    found: dict[Node, list[str]] = {}
    for winner, loser, _ in _pairs(claims):
        for about in loser.applies:
            answers = [winner.applies[one] for one in _reaches(winner, about)]
            if None in answers and False not in answers:
                found.setdefault(Node(loser.name, about), []).append(winner.name)
    return found


def _pairs(claims: Sequence[Claim]) -> list[tuple[Claim, Claim, str]]:
    """Each rule with one that it names: the one that goes before, the one that gives way, and on whose word."""
    named: dict[str, list[Claim]] = {}
    for claim in claims:
        named.setdefault(claim.name, []).append(claim)
    found = [(one, other, to.by) for one in claims for to in one.displaces for other in named.get(to.rule, ())]
    found += [(other, one, to.by) for one in claims for to in one.yields_to for other in named.get(to.rule, ())]
    return found


def _reaches(winner: Claim, about: str) -> list[str]:
    """The subjects at which a rule must apply to displace another at `about`.

    The same subject, if both speak about the same kind; the whole slip where the winner speaks about that;
    else all of the winner's subjects, since a part of them does not speak for the rest.
    """
    return [about] if about in winner.applies else list(winner.applies)
