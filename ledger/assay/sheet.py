"""The working sheet on which one article's evidence is put together; it is thrown away when the assessment stands.

Decides: nothing. Holds what was found, what the marks claim, and what the rules of `judging` and `metals` add: the
reasons in order, conflicts, suspicions, tests owed, and who speaks for or against "solid".

>>> together([Interval(570_000, 590_000), Interval(580_000, 600_000)])
(Interval(low_ppm=580000, high_ppm=590000), True)
"""

from dataclasses import dataclass, field

from ledger.assay.assessments import METALS, Conflict, Interval, Policy, Reason
from ledger.assay.findings import Findings, Sight
from ledger.assay.marks import Claim


@dataclass(frozen=True, order=True)
class Verdict:
    """A construction that a rule found; the one with the lowest order stands."""

    order: int
    construction: str
    confidence: str
    rule: str
    contrary: bool = False
    """shows that a mark of solid metal is not true"""


@dataclass
class Sheet:
    """All that is known of one article while it is weighed up."""

    found: Findings
    claims: tuple[Claim, ...]
    policy: Policy
    gross_mg: int | None = None
    net_mg: int | None = None
    colour: str = ""
    lot: bool = False
    """several articles under one line: each spot is a piece"""
    reasons: list[Reason] = field(default_factory=list)
    conflicts: list[Conflict] = field(default_factory=list)
    suspicions: set[str] = field(default_factory=set)
    owed: set[str] = field(default_factory=set)
    verdicts: list[Verdict] = field(default_factory=list)
    supports: list[str] = field(default_factory=list)
    """rules by which a test that sees below the surface speaks for solid, of the whole article"""
    parts_shown: dict[str, str] = field(default_factory=dict)
    """parts that a test below the surface speaks for, and by which rule, where the article has several"""
    blocks: list[str] = field(default_factory=list)
    """rules that forbid to call it solid"""
    withheld: list[str] = field(default_factory=list)
    """rules that forbid to pay for the fineness seen"""
    body: list[Sight] = field(default_factory=list)
    """the readings that speak for the metal of each part: filed ones where there are any"""
    metal: str | None = None
    seen: Interval | None = None
    absent: bool = False
    """a metal that the mark claims was not read at all"""
    acid_below: bool = False
    """a streak failed in acid for the claimed karat"""
    mixed: bool = False
    cavity: bool = False
    """filled, weighted or hollow by mark, eye or cut"""

    def say(self, rule: str, text: str) -> None:
        """One more reason; the same one is not given twice."""
        reason = Reason(rule, text)
        if reason not in self.reasons:
            self.reasons.append(reason)

    def block(self, rule: str, text: str, *owed: str) -> None:
        """A reason that forbids to call the article solid, and the tests that could settle it."""
        self.say(rule, text)
        self.blocks.append(rule)
        self.owed.update(owed)

    def clash(self, rule: str, text: str, *owed: str) -> None:
        """A conflict that stays open: named, never averaged, and no ground for "solid"."""
        self.conflicts.append(Conflict(text))
        self.block(rule, text, *owed)

    def support(self, rule: str, part: str = "", *, whole: bool = False) -> None:
        """A test below the surface that speaks for solid; part: of which it speaks. whole: it speaks of all at once.

        Where tests speak of several parts, a filed spot on one of them says nothing of the others; a spot of which no
        part is named is of the unnamed rest. Where all name one part, they say nothing of the rest.
        """
        if not any(self.found.parts) or (whole and not part):
            self.supports.append(rule)
        else:
            only = self.found.parts[0] if len(self.found.parts) == 1 else part
            self.parts_shown.setdefault(only, rule)

    def by_part(self, sights: list[Sight]) -> dict[str, list[Sight]]:
        """Readings by the part they name, in alphabetical order; under one name where there is but one part."""
        several = len(self.found.parts) > 1
        groups: dict[str, list[Sight]] = {}
        for sight in sights:
            groups.setdefault(sight.part if several else "", []).append(sight)
        return dict(sorted(groups.items()))

    def judge(self, order: int, construction: str, confidence: str, rule: str, contrary: bool = False) -> None:
        """A construction that a rule found."""
        self.verdicts.append(Verdict(order, construction, confidence, rule, contrary))

    @property
    def weight_mg(self) -> int | None:
        """What the article weighs, as well as it is known: net, else gross, else as weighed in air for a density."""
        if self.net_mg is not None:
            return self.net_mg
        if self.gross_mg is not None:
            return self.gross_mg
        every = self.found.densities + [weighed for weighed, _ in self.found.void_densities]
        return max((int(weighed.mass * 1000) for weighed in every), default=None)

    @property
    def exposed(self) -> bool:
        """Whether every part that was read was read below its surface."""
        return bool(self.body) and all(sight.exposed for sight in self.body)

    def outweighs(self, part_mg: int) -> bool:
        """Whether what is said to be of the article weighs more than it, beyond the rounding of units."""
        whole = self.gross_mg if self.gross_mg is not None else self.net_mg
        return whole is not None and part_mg > whole + whole // 100 + 20

    def cut_shows(self, *shows: str) -> bool:
        """Whether a cut face shows one of these."""
        return any(cut.shows in shows for cut in self.found.cuts)

    @property
    def fine_claims(self) -> list[Claim]:
        """Claims of a fineness of a precious metal, in every meaning, layers and plate left out."""
        return [
            claim
            for claim in self.claims
            if claim.metal in METALS and claim.fineness and claim.construction in ("solid", "weighted", "hollow")
        ]

    def declared(self, *constructions: str) -> list[Claim]:
        """Marks that speak against their own article's worth, and are believed: no letters with other meanings."""
        return [claim for claim in self.claims if claim.construction in constructions and not claim.ambiguous]

    @property
    def legible(self) -> list[Claim]:
        """Claims of a fineness to hold an article to: no worn stamp that may be one of several karats."""
        return [claim for claim in self.fine_claims if not (claim.worn and claim.ambiguous)]

    def best_claim(self, metal: str | None) -> Claim | None:
        """The strictest claim for this metal; without a metal, the strictest if all claims name one metal."""
        claims = [claim for claim in self.legible if metal is None or claim.metal == metal]
        if metal is None and len({claim.metal for claim in claims}) != 1:
            return None
        return max(claims, key=lambda claim: (claim.fineness or 0, claim.text, claim.where), default=None)


def together(intervals: list[Interval]) -> tuple[Interval, bool]:
    """What all intervals allow, and True; where they exclude one another, all that any allows, and False."""
    widest = agreed = intervals[0]
    agrees = True
    for each in intervals[1:]:
        widest = widest.reaching(each)
        within = agreed.within(each)
        agrees = agrees and within is not None
        agreed = within or agreed
    return (agreed, True) if agrees else (widest, False)
