"""What the margin of a slip says: its assessments, what each item is worth, and the duties. Nothing is written.

examined = examine(slip, files=files, settings=settings, recorded_at=now)
examined.duties.stopping()
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from ledger.assay import buying, value, weighing
from ledger.assay.assessments import Assessment
from ledger.assay.value import Valuation
from ledger.errors import ForbiddenByLaw, StillUndecided
from ledger.law import duties as law
from ledger.law.answers import Duty, Limit, QuestionAsked
from ledger.law.rules import RuleFile
from ledger.moments import local_or_none
from ledger.shop.settings import Settings
from ledger.slip import completeness, describing, facts
from ledger.slip.document import Item, Slip


@dataclass(frozen=True)
class Against:
    """An item that is against the owner's limits, and how a person names that when giving a reason."""

    rule: str
    """shop/ and a situation of `buying`, as shop/test-owed"""
    says: str


@dataclass(frozen=True)
class Examined:
    """A slip with everything that was worked out about it."""

    slip: Slip
    assessments: Mapping[int, Assessment]
    valuations: Mapping[int, Valuation]
    duties: law.Duties
    policy: tuple[Against, ...]
    """what is against the owner's own limits"""
    owed: tuple[completeness.Fault, ...]
    """what is still to be entered before the slip can be presented"""
    past: Sequence[Mapping[str, Any]] | None = None
    """the earlier slips that were counted"""
    shop_answers: frozenset[str] = frozenset()
    """ids of the questions about the shop that its facts answer"""

    def unanswered(self, answers: Mapping[str, str]) -> tuple[str, ...]:
        """Sentences about what stays undecided, or against the owner's policy, until a person gives a reason."""
        open_duties = [duty.says for duty in self.duties.undecided() if rule_name(duty) not in answers]
        return (*open_duties, *self.against(answers))

    def questions(self) -> tuple[tuple[QuestionAsked, tuple[str, ...]], ...]:
        """What the rule files ask of their own, each with the subjects of which it was not answered yet."""
        given = {
            "seller" if number == 1 else f"party/{number}": party.answers
            for number, party in enumerate(self.slip.parties, 1)
        }
        given["slip"] = self.slip.answers
        given |= {f"item/{line}": item.answers for line, item in enumerate(self.slip.items, 1)}
        found = []
        for one in self.duties.questions:
            name = one.fact.rpartition(".")[2]
            if one.about == "shop":
                open_: tuple[str, ...] = () if name in self.shop_answers or not one.subjects else ("shop",)
            else:
                answered = {each for each in one.subjects if name in {a.question for a in given.get(each, ())}}
                open_ = tuple(each for each in one.subjects if each not in answered)
            found.append((one, open_))
        return tuple(found)

    def record(self) -> dict[str, Any]:
        """The whole margin as a JSON document, for commands and devices alike."""
        return {
            "duties": [duty.record() for duty in self.duties.duties],
            "items": [
                {
                    "line": line,
                    "words": describing.one_line(item),
                    "assessment": {"says": assessment.headline(), **assessment.record()},
                    "value": self.valuations[line].record(),
                }
                for line, item in enumerate(self.slip.items, 1)
                for assessment in (self.assessments[line],)
            ],
            "may_leave": self.leaves(),
            "against_policy": [one.says for one in self.policy],
            "owed": [{"field": fault.field, "wanted": fault.wanted} for fault in self.owed],
            "stale": list(self.duties.stale),
            "questions": [
                {
                    "question": one.fact.rpartition(".")[2],
                    "about": one.about,
                    "type": one.type,
                    "words": list(one.words),
                    "asks": one.asks,
                    "who": one.who,
                    "unanswered": list(unanswered),
                }
                for one, unanswered in self.questions()
            ],
            "tasks": [task.record() for task in self.duties.tasks],
            "forms": [form.record() for form in self.duties.forms],
            "displaced": [one.says() for one in self.duties.displaced],
            "contradictions": list(self.duties.contradictions),
        }

    def leaves(self) -> list[dict[str, Any]]:
        """From when each item that is bought may leave, plain and cautious."""
        return [
            {
                "line": line,
                "plain": local_or_none(leave.plain),
                "cautious": local_or_none(leave.cautious),
                "waiting_for": leave.waiting_for,
            }
            for line, _item in self.slip.taken
            for leave in (self.duties.leave(line),)
        ]

    def forbids_capture(self, what: str) -> Limit | None:
        """The limit by which a picture of this kind is not kept; None where no rule forbids it."""
        return next((one for one in self.duties.limits if one.forbids_capture(what)), None)

    def asks_looks(self) -> bool:
        """Whether a rule asks what the seller looks like: else it is not kept."""
        return any(one.fact in _LOOKS for one in self.duties.asks)

    def against(self, answers: Mapping[str, str]) -> tuple[str, ...]:
        """What is against the owner's limits and was given no reason for, in sentences."""
        return tuple(one.says for one in self.policy if one.rule not in answers)


_LOOKS = frozenset(f"seller.{name}" for name in ("sex", "height", "eyes", "hair"))


def rule_name(duty: Duty) -> str:
    """How a person names a duty when answering it: JURISDICTION/RULE."""
    return f"{duty.jurisdiction}/{duty.rule}"


def examine(
    slip: Slip,
    *,
    files: Sequence[RuleFile],
    settings: Settings,
    recorded_at: datetime,
    shop: Mapping[str, Any],
    program: str,
    past: Sequence[Mapping[str, Any]] | None = None,
    unfinished: bool = False,
) -> Examined:
    """All that is known about a slip before it is presented.

    shop: what rule files may ask about the shop (state, county, ...). past: earlier slips, where a rule file counts
    over them. unfinished: for a slip that is still being written, what contradicts itself is only one more thing owed.
    Raises: InputError for a finished slip that contradicts itself; NoRuleForDay.
    """
    owed = completeness.faults(slip)
    if not unfinished and owed and owed[0].stage == "check":
        raise owed[0].error()
    weighed = weigh(
        slip, files=files, settings=settings, recorded_at=recorded_at, shop=shop, program=program, past=past
    )
    return replace(weighed, owed=owed)


def weigh(
    slip: Slip,
    *,
    files: Sequence[RuleFile],
    settings: Settings,
    recorded_at: datetime,
    shop: Mapping[str, Any],
    program: str,
    past: Sequence[Mapping[str, Any]] | None = None,
) -> Examined:
    """The same of a slip whose completeness is not asked: one that stands in the book already. Raises: NoRuleForDay."""
    lines = list(enumerate(slip.items, start=1))
    assessments = {
        line: weighing.weigh_item(
            facts.evidence_of(item), policy=settings.policy, program=program, field=f"items[{line - 1}]"
        )
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
    if past is not None:
        told["past"] = list(past)
    return Examined(
        slip=slip,
        assessments=assessments,
        valuations=valuations,
        past=past,
        shop_answers=frozenset(shop.get("answers", ())),
        duties=law.weigh(files, told, at=slip.occurred_at, recorded_at=max(recorded_at, slip.occurred_at)),
        policy=tuple(one for line, item in lines for one in _against(line, item, assessments[line], settings)),
        owed=(),
    )


def _against(line: int, item: Item, assessment: Assessment, settings: Settings) -> list[Against]:
    if item.offer is None or item.offer.answer != "taken":
        return []
    found = []
    for breach in buying.breaches(settings.limits, assessment, item.offer.money):
        rule = f"shop/{breach.situation}"
        remedy = "make the test, or answer" if breach.situation == "test-owed" else "answer"
        found.append(Against(rule, f"Item {line}: {breach.says}; {remedy} {rule} with a reason."))
    return found


def must_be_lawful(examined: Examined, answers: Mapping[str, str], what: str) -> None:
    """Raises: ForbiddenByLaw when a duty that stops is broken; StillUndecided when one is and nobody gave a reason."""
    broken = examined.duties.stopping()
    if broken:
        raise ForbiddenByLaw(what=what, sentences=tuple(duty.says for duty in broken), duties=broken)
    unanswered = examined.unanswered(answers)
    if unanswered:
        # By name only: a reason why something is not known may be personal, and error texts go anywhere.
        named = [f"{rule_name(one)} ({one.source})." for one in examined.duties.undecided()]
        policy = examined.against(answers)
        remedy = "`slip check` tells more; answer each with --answer RULE=REASON."
        still = [name for name in named if name.partition(" ")[0] not in answers]
        raise StillUndecided(what=f"{what} while something is undecided", sentences=(*still, *policy, remedy))
