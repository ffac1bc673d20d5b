"""What the margin of a slip says: its assessments, what each item is worth, and the duties. Nothing is written.

examined = examine(slip, files=files, settings=settings, recorded_at=now)
examined.duties.stopping()
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from ledger.assay import value, weighing
from ledger.assay.assessments import Assessment, Policy
from ledger.assay.value import Valuation
from ledger.errors import ForbiddenByLaw, StillUndecided
from ledger.law import duties as law
from ledger.law.answers import Duty
from ledger.law.rules import RuleFile
from ledger.shop.settings import Settings
from ledger.slip import completeness, facts
from ledger.slip.document import Item, Slip

TEST_OWED = "shop/test-owed"
"""the owner's own rule: nothing above his limit is bought while a test is owed"""


@dataclass(frozen=True)
class Examined:
    """A slip with everything that was worked out about it."""

    slip: Slip
    assessments: Mapping[int, Assessment]
    valuations: Mapping[int, Valuation]
    duties: law.Duties
    policy: tuple[str, ...]
    owed: tuple[completeness.Fault, ...]
    """what is still to be entered before the slip can be presented"""

    def unanswered(self, answers: Mapping[str, str]) -> tuple[str, ...]:
        """Sentences about what stays undecided, or against the owner's policy, until a person gives a reason."""
        open_duties = [duty.says for duty in self.duties.undecided() if rule_name(duty) not in answers]
        return (*open_duties, *(() if TEST_OWED in answers else self.policy))


def rule_name(duty: Duty) -> str:
    """How a person names a duty when answering it: JURISDICTION/RULE."""
    return f"{duty.jurisdiction}/{duty.rule}"


def examine(
    slip: Slip,
    *,
    files: Sequence[RuleFile],
    settings: Settings,
    recorded_at: datetime,
    shop: Mapping[str, str],
    program: str,
) -> Examined:
    """All that is known about a slip before it is presented.

    shop: what rule files may ask about the shop (state, county, ...).
    Raises: InputError for a slip that contradicts itself; NoRuleForDay.
    """
    owed = completeness.faults(slip)
    if owed and owed[0].stage == "check":
        raise owed[0].error()
    policy = Policy(density_limit_mg=int(settings.density_from))
    lines = list(enumerate(slip.items, start=1))
    assessments = {
        line: weighing.weigh_item(facts.evidence_of(item), policy=policy, program=program, field=f"items[{line - 1}]")
        for line, item in lines
    }
    spots = {spot.metal: spot for spot in slip.spot}
    valuations = {line: value.value(assessment, spots, settings.rates_ppm) for line, assessment in assessments.items()}
    # Until the payout is agreed, an item without an offer may still be bought; after that it goes home again.
    told = facts.facts_of(
        slip,
        shop=shop,
        assessments=assessments,
        values=valuations,
        every_item=slip.payout is None and any(item.offer is None for item in slip.items),
    )
    return Examined(
        slip=slip,
        assessments=assessments,
        valuations=valuations,
        duties=law.weigh(files, told, at=slip.occurred_at, recorded_at=max(recorded_at, slip.occurred_at)),
        policy=tuple(
            _against_policy(line, item, assessments[line], settings)
            for line, item in lines
            if _above_limit(item, assessments[line], settings)
        ),
        owed=owed,
    )


def _above_limit(item: Item, assessment: Assessment, settings: Settings) -> bool:
    if not assessment.owed or item.offer is None or item.offer.answer != "taken":
        return False
    limit = settings.limit(item.offer.money.currency)
    return limit is not None and item.offer.money.minor > limit.minor


def _against_policy(line: int, item: Item, assessment: Assessment, settings: Settings) -> str:
    assert item.offer is not None
    limit = settings.limit(item.offer.money.currency)
    return (
        f"Item {line}: {item.offer.money} is above {limit}, and a test is owed first ({assessment.owed[0].test});"
        f" make the test, or answer {TEST_OWED} with a reason."
    )


def must_be_lawful(examined: Examined, answers: Mapping[str, str], what: str) -> None:
    """Raises: ForbiddenByLaw when a duty that stops is broken; StillUndecided when one is and nobody gave a reason."""
    broken = examined.duties.stopping()
    if broken:
        raise ForbiddenByLaw(what=what, sentences=tuple(duty.says for duty in broken), duties=broken)
    unanswered = examined.unanswered(answers)
    if unanswered:
        # By name only: a reason why something is not known may be personal, and error texts go anywhere.
        named = [f"{rule_name(one)} ({one.source})." for one in examined.duties.undecided()]
        policy = () if TEST_OWED in answers else examined.policy
        remedy = "`slip check` tells more; answer each with --answer RULE=REASON."
        still = [name for name in named if name.partition(" ")[0] not in answers]
        raise StillUndecided(what=f"{what} while something is undecided", sentences=(*still, *policy, remedy))
