"""Which rules give way to which, where several files speak about one purchase.

Decides: for each subject, the rules that another rule displaces there, or that yield to another. A rule that is
itself displaced displaces nothing; nor does one of which it is not decided whether it applies, or whether it gives
way; rules that displace each other in a ring all stand. So the order of the files never matters, nothing is dropped
unless a rule names it, and to know less never drops more.
Leaves to `ledger.law.scoping` where each rule applies.

>>> law, by = "xx-state/hold", GivesWay("xx-town/hold", "Sample Act s. 9")
>>> state = Claim(law, "Sample Act s. 9", {"item/1": True}, displaces=(by,))
>>> town = Claim("xx-town/hold", "Town Code 1", {"item/1": True})
>>> sorted(settle([town, state]).gone)
[Node(name='xx-town/hold', about='item/1')]
"""

from collections.abc import Iterator, Mapping, Sequence
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
    """How one rule may displace another at one subject: if it stands at all of these."""

    sources: frozenset[Node]
    by: str


class Settled(NamedTuple):
    """What gives way, and what might."""

    gone: dict[Node, Way]
    doubtful: dict[Node, list[str]]
    """names of rules that may displace it; it stands"""


NOTHING = Settled({}, {})


def settle(claims: Sequence[Claim]) -> Settled:
    """The rules that give way at each subject."""
    if not any(claim.displaces or claim.yields_to for claim in claims):
        return NOTHING
    applies = {Node(claim.name, about): answer for claim in claims for about, answer in claim.applies.items()}
    ways = _ways(claims)
    stands: dict[Node, bool] = {}
    moved = True
    while moved:
        moved = False
        for node in applies.keys() - stands.keys():
            live = _live(ways.get(node, ()), stands)
            if any(_wins(way, stands) for way in live):
                stands[node] = False
            elif not live and applies[node]:
                stands[node] = True
            moved = moved or node in stands
    # Who is named is chosen when all is settled: by name, whatever the order in which it came out.
    gone = {
        node: min((way for way in ways[node] if _wins(way, stands)), key=lambda way: (sorted(way.sources), way.by))
        for node, answer in stands.items()
        if not answer
    }
    doubtful = {
        node: sorted({one.name for way in live for one in way.sources})
        for node in applies.keys() - gone.keys()
        if (live := _live(ways.get(node, ()), stands))
    }
    return Settled(gone, doubtful)


def _wins(way: Way, stands: Mapping[Node, bool]) -> bool:
    """Whether every rule in the way stands for certain."""
    return all(stands.get(one) for one in way.sources)


def _live(ways: Sequence[Way], stands: Mapping[Node, bool]) -> list[Way]:
    """The ways that are not cut off because a rule in them gives way itself."""
    return [way for way in ways if all(stands.get(one, True) for one in way.sources)]


def _ways(claims: Sequence[Claim]) -> dict[Node, list[Way]]:
    """Every way in which a rule may be displaced, by the rule and subject that would go."""
    ways: dict[Node, list[Way]] = {}
    for winner, loser, by in _pairs(claims):
        for about in loser.applies:
            at = _reaches(winner, about)
            if at and all(winner.applies[one] is not False for one in at):
                sources = frozenset(Node(winner.name, one) for one in at)
                ways.setdefault(Node(loser.name, about), []).append(Way(sources, by or winner.cite))
    return ways


def _pairs(claims: Sequence[Claim]) -> Iterator[tuple[Claim, Claim, str]]:
    """Each rule with one that it names: the one that goes before, the one that gives way, and on whose word."""
    named: dict[str, list[Claim]] = {}
    for claim in claims:
        named.setdefault(claim.name, []).append(claim)
    for one in claims:
        for to in one.displaces:
            yield from ((one, other, to.by) for other in named.get(to.rule, ()))
        for to in one.yields_to:
            yield from ((other, one, to.by) for other in named.get(to.rule, ()))


def _reaches(winner: Claim, about: str) -> list[str]:
    """The subjects at which a rule must stand to displace another at `about`.

    The same subject, if both speak about the same kind; the whole slip where the winner speaks about that;
    else all of the winner's subjects, since a part of them does not speak for the rest.
    """
    return [about] if about in winner.applies else list(winner.applies)
