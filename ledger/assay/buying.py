"""What may be bought on which assessment: the owner's limits, held against one price.

Decides: in which situations an assessment leaves a purchase, and whether a price is above the owner's limit there. A
limit that names no amount in the currency of the price is no leave to pay in it. Leaves to the acts that a person may
still answer with a reason, which is recorded.

>>> limits = {"test-owed": Limit((Money("USD", 15_000),)), "contrary": Limit(())}
>>> from ledger.assay.weighing import weigh
>>> [breach.situation for breach in breaches(limits, weigh((), marks=[("14K", "")]), Money("USD", 20_000))]
['test-owed']
"""

from collections.abc import Mapping
from dataclasses import dataclass

from ledger.assay.assessments import OWED_WORDS, Assessment
from ledger.measures import Money

SITUATIONS = {
    "test-owed": "a test is owed first",
    "conflict": "tests contradict one another",
    "no-claim": "it bears no mark of fineness",
    "not-known": "its mark is neither borne out nor refuted",
    "below": "it is below what its mark claims",
    "contrary": "it is contrary to its mark",
    "undetermined": "its construction is undetermined",
    "layered": "it is gold-filled or rolled plate",
    "plated": "it is plated",
    "weighted-or-hollow": "it is weighted or hollow",
    "mixed-parts": "its parts differ",
    "base": "it is base metal",
    "by-the-mark": "the mark alone says how much of the metal is in it",
    "dense-core": "a denser core is suspected",
    "adulterant": "an adulterant is suspected",
    "enriched-surface": "its surface is finer than the metal below",
}
"""Situations that an owner may limit, and why a purchase is in one."""


@dataclass(frozen=True)
class Limit:
    """The highest amount that may be paid in a situation, one for each currency; no amount: nothing is bought."""

    amounts: tuple[Money, ...]

    def of(self, currency: str) -> Money | None:
        """The highest amount in a currency; None: none is named."""
        return next((amount for amount in self.amounts if amount.currency == currency), None)


@dataclass(frozen=True)
class Breach:
    """A price that is against the owner's limits."""

    situation: str
    says: str


def situations(assessment: Assessment) -> tuple[str, ...]:
    """Every situation of SITUATIONS that holds, in their order."""
    holds = {assessment.standing, assessment.construction, *assessment.suspicions}
    if assessment.owed:
        holds.add("test-owed")
    if any(not conflict.settled_by for conflict in assessment.conflicts):
        holds.add("conflict")
    if assessment.upper_bound:
        holds.add("by-the-mark")
    return tuple(each for each in SITUATIONS if each in holds)


def breaches(limits: Mapping[str, Limit], assessment: Assessment, price: Money) -> tuple[Breach, ...]:
    """Where a price is above the owner's limits for an assessed article, in the order of SITUATIONS.

    limits: by situation; a situation that is not named has no limit.
    """
    found = []
    for situation in situations(assessment):
        limit = limits.get(situation)
        if limit is not None and (above := _above(limit, price)):
            found.append(Breach(situation, f"{price} is {above}, and {_why(situation, assessment)}"))
    return tuple(found)


def _above(limit: Limit, price: Money) -> str:
    if not limit.amounts:
        return "more than the owner allows, which is nothing"
    highest = limit.of(price.currency)
    if highest is None:
        return f"in a currency for which the owner names no limit beside {limit.amounts[0]}"
    return f"above {highest}" if price.minor > highest.minor else ""


def _why(situation: str, assessment: Assessment) -> str:
    owed = f" ({OWED_WORDS[assessment.owed[0].test]})" if situation == "test-owed" else ""
    return SITUATIONS[situation] + owed
