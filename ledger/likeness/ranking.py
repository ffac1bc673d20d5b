"""Which articles of a book are most like what is asked for, given how common each trait is in it.

Decides: the order, and that an agreement which chance alone would bring about is not strong. Leaves to
`ledger.likeness.comparing` what two descriptions have in common, to the caller which candidates there are and how
often each token occurs.
"""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from ledger.likeness.articles import Sought, sought, tokens
from ledger.likeness.chance import bits, expected
from ledger.likeness.comparing import STRENGTHS, Likeness, compare
from ledger.likeness.lexicon import BY_NAME
from ledger.likeness.traits import Traits

Key = tuple[int, int]
"""slip and line"""
BY_CHANCE = 0.05
"""an agreement that more articles than this would reach by chance is not strong"""
AS_LIKE = 3
"""if more articles than this are as like, none of them stands out"""
_TENTHS_A_BIT = 5
_PLAINLY = 14
"""tenths of a kind of article and one thing more"""


class Ranked(NamedTuple):
    """A candidate, how like it is, and how many others would be as like by chance."""

    key: Key
    likeness: Likeness
    by_chance: float


def rank(
    asked: Traits,
    candidates: Mapping[Key, Traits],
    counts: Mapping[str, int],
    of: int,
    *,
    appraised: bool = False,
    common: bool = False,
) -> list[Ranked]:
    """The candidates that are possible or strong, most like first.

    common: also those that agree in nothing but common things, and disagree in none.
    counts: how many of the book's `of` articles have each token; a token that is not counted is taken for rare.
    """
    wanted = sought(asked)
    worth = [_worth(one, counts, of) for one in wanted]
    found = []
    for key, held in candidates.items():
        likeness = compare(asked, held, appraised=appraised)
        plainly = common and likeness.tenths >= _PLAINLY and not likeness.disagrees
        if likeness.strength not in STRENGTHS[2:] and not plainly:
            continue
        shared = _shared(wanted, worth, frozenset(tokens(held)))
        chance = expected(shared, len(wanted), of)
        if likeness.strength == "strong" and chance > BY_CHANCE:
            likeness = likeness.as_possible("others in the book would agree as much by chance")
        found.append((sum(shared) - likeness.against / _TENTHS_A_BIT, Ranked(key, likeness, chance)))
    alike = [one.likeness.tenths for _, one in found if one.likeness.strength == "strong"]
    if len(alike) > AS_LIKE:
        limit = sorted(alike)[-AS_LIKE - 1]
        found = [(value, one._replace(likeness=_not_alone(one.likeness, limit))) for value, one in found]
    found.sort(key=lambda pair: (-STRENGTHS.index(pair[1].likeness.strength), -pair[0]))
    return [one for _, one in found]


def _not_alone(likeness: Likeness, limit: int) -> Likeness:
    if likeness.strength == "strong" and likeness.tenths <= limit:
        return likeness.as_possible("others in the book are as like")
    return likeness


def telling(asked: Traits, counts: Mapping[str, int], of: int) -> float:
    """How much the words asked for tell, in bits: below log2(of) they fit several articles of the book."""
    wanted = sought(asked)
    return sum(_once([(one, _worth(one, counts, of)) for one in wanted]))


def _worth(one: Sought, counts: Mapping[str, int], of: int) -> float:
    return bits(min(of, sum(counts.get(token, 0) for token in one.tokens)), of, one.tenths)


def _shared(wanted: Sequence[Sought], worth: Sequence[float], held: frozenset[str]) -> list[float]:
    """What each trait that both have is worth."""
    return _once([(one, value) for one, value in zip(wanted, worth, strict=True) if not held.isdisjoint(one.tokens)])


def _once(both: Sequence[tuple[Sought, float]]) -> list[float]:
    """The worth of traits, without those that follow from another of them."""
    names = {one.tokens[0][1:] for one, _ in both}
    brought = {f"~{follows}" for name in names if name in BY_NAME for follows in BY_NAME[name].brings}
    if any(one.tokens[0].startswith("~k") for one, _ in both):
        brought |= {"~gold", "~silver"}
    dated = any(one.tokens[0].startswith("~d") for one, _ in both)
    return [
        value for one, value in both if one.tokens[0] not in brought and not (dated and one.tokens[0][1:].isdigit())
    ]
