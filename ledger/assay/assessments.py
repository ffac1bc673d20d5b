"""What an assessment is made of: values only, and how they stand in the book.

Decides: the words for construction, standing, suspicions and confidence, and the form of a record. Leaves to
`judging` which of them an article gets, and to `value` what it is worth.

>>> Interval(574_000, 594_000).words()
'574.0 to 594.0'
"""

from dataclasses import dataclass, field
from typing import Any

from ledger.assay.marks import Claim
from ledger.assay.policy import Policy as Policy
from ledger.measures import thousandths

CONSTRUCTIONS = ("solid", "layered", "plated", "weighted-or-hollow", "mixed-parts", "base", "undetermined")
STANDINGS = ("as-claimed", "finer", "below", "contrary", "no-claim", "not-known")
SUSPICIONS = ("dense-core", "adulterant", "enriched-surface")
CONFIDENCES = ("shown", "declared", "likely", "open")

METALS = ("gold", "silver", "platinum", "palladium")

OWED = {
    "weigh": "what the article weighs",
    "xrf": "which metals the surface is made of and how fine it is",
    "density": "whether the whole piece is as dense as its surface metal, or has a lighter or denser core",
    "conductance-or-ultrasound": "whether a core of another metal, such as tungsten, lies under the surface",
    "filed-xrf-or-deep-streak": "whether the metal under the surface is the same as at the surface",
    "filed-xrf": "whether the metal under the surface is the same as at the surface, and how fine it is",
    "ultrasound-or-drill": "whether a core of another metal lies deep inside",
    "cut-or-drill": "whether the piece is filled, hollow or solid, and what the wall weighs",
    "separate-parts": "what each part is and weighs by itself",
    "strip": "what the shell weighs without its filling",
    "melt-assay": "the fineness of the whole, from a sample of the molten metal",
    "melt-assay-icp": "the fineness of the whole and what foreign metals are mixed in",
}
"""Every test that can be owed, cheapest first, and what it could decide."""

OWED_WORDS = {
    "weigh": "the weight",
    "xrf": "an X-ray reading",
    "density": "a density",
    "conductance-or-ultrasound": "conductance at two frequencies, or ultrasound",
    "filed-xrf-or-deep-streak": "a filed spot read by X-ray, or a deep streak",
    "filed-xrf": "a filed spot read by X-ray",
    "ultrasound-or-drill": "ultrasound, or a drilling",
    "cut-or-drill": "a cut or a drilling",
    "separate-parts": "the parts taken apart and weighed",
    "strip": "the shell stripped and weighed",
    "melt-assay": "a melt assay",
    "melt-assay-icp": "a melt assay with a search for foreign metals",
}

MARKING = frozenset(
    {"filed-xrf-or-deep-streak", "filed-xrf", "ultrasound-or-drill", "cut-or-drill", "strip"}
    | {"separate-parts", "melt-assay", "melt-assay-icp"}
)
"""Owed tests that may leave a mark and so need the seller's consent while the article is the seller's."""

CONSTRUCTION_WORDS = {
    "solid": "solid",
    "layered": "layered (gold-filled or rolled plate)",
    "plated": "plated",
    "weighted-or-hollow": "weighted or hollow",
    "mixed-parts": "made of parts that differ",
    "base": "base metal",
    "undetermined": "construction undetermined",
}
STANDING_WORDS = {
    "as-claimed": "as its mark claims",
    "finer": "finer than its mark claims",
    "below": "below what its mark claims",
    "contrary": "contrary to its mark",
    "no-claim": "no mark of fineness",
    "not-known": "its mark neither borne out nor refuted by these tests",
}


@dataclass(frozen=True)
class Interval:
    """Fineness from low to high, parts per million, both ends in."""

    low_ppm: int
    high_ppm: int

    def words(self) -> str:
        """Per thousand, each end rounded down to a tenth."""
        return f"{thousandths(self.low_ppm)} to {thousandths(self.high_ppm)}"

    def within(self, other: "Interval") -> "Interval | None":
        """What both intervals allow; None: they exclude one another."""
        low, high = max(self.low_ppm, other.low_ppm), min(self.high_ppm, other.high_ppm)
        return Interval(low, high) if low <= high else None

    def reaching(self, other: "Interval") -> "Interval":
        """The smallest interval that holds both."""
        return Interval(min(self.low_ppm, other.low_ppm), max(self.high_ppm, other.high_ppm))

    def record(self) -> dict[str, int]:
        """Shape: {"low_ppm", "high_ppm"}."""
        return {"low_ppm": self.low_ppm, "high_ppm": self.high_ppm}


@dataclass(frozen=True)
class Reason:
    """One step on the way to an assessment: the rule and the numbers that carried it."""

    rule: str
    text: str


@dataclass(frozen=True)
class Conflict:
    """Two things that cannot both be right. Stays named when something settled it; never averaged."""

    what: str
    settled_by: str = ""
    """what settled it; empty: open"""


@dataclass(frozen=True)
class Owed:
    """A test that is still owed before money is paid."""

    test: str
    decides: str
    consent: bool
    """leaves a mark: asks for the seller's consent"""
    agreed: bool | None = None
    """what the seller answered; None: not asked, or leaves no mark"""

    def words(self) -> str:
        """What the test is called, and what the seller's consent makes of it."""
        asks = {
            True: "to which the seller agreed",
            False: "to which the seller did not agree",
            None: "if the seller agrees",
        }
        return OWED_WORDS[self.test] + (f", {asks[self.agreed]}" if self.consent else "")


@dataclass(frozen=True)
class MarkLeft:
    """A test that leaves a mark on the article was made: where, what it left, and whether the seller agreed."""

    test: str
    place: str
    mark: str
    agreed: bool | None
    """None: no answer of the seller's is recorded"""

    def record(self) -> dict[str, Any]:
        """Text and truth values; what was not said is left out."""
        said = {"place": self.place, "mark": self.mark}
        agreed = {} if self.agreed is None else {"agreed": self.agreed}
        return {"test": self.test, **{name: text for name, text in said.items() if text}, **agreed}


@dataclass(frozen=True)
class PartSeen:
    """One part of an article whose parts differ, by the tests and marks of that part alone."""

    part: str
    construction: str
    confidence: str
    standing: str
    metal: str | None
    seen: Interval | None
    owed: tuple[str, ...]

    def words(self) -> str:
        """The part in one clause."""
        seen = f", {self.metal} {self.seen.words()} per thousand where tested" if self.seen else ""
        return f"{self.part or 'body'}: {CONSTRUCTION_WORDS[self.construction]}{seen}"

    def record(self) -> dict[str, Any]:
        """Text and whole numbers; what is not there is left out."""
        record: dict[str, Any] = {
            "part": self.part,
            "construction": self.construction,
            "confidence": self.confidence,
            "standing": self.standing,
            "owed": list(self.owed),
        }
        if self.metal:
            record["metal"] = self.metal
        if self.seen:
            record["seen"] = self.seen.record()
        return record


@dataclass(frozen=True)
class Bar:
    """What one test allows, for the fineness strip."""

    label: str
    test: str
    metal: str
    low_ppm: int
    high_ppm: int
    surface: bool
    """the test saw the surface only"""
    part: str = ""


@dataclass(frozen=True)
class Assessment:
    """What the program says the evidence of one article supports. The clerk's own conclusion stands apart."""

    construction: str
    standing: str
    suspicions: tuple[str, ...]
    metal: str | None
    """the metal of the intervals"""
    seen: Interval | None
    """fineness of the metal that the tests saw: of a layer or shell where there is one"""
    payable: Interval | None
    """fineness that may be paid for on `paid_weight_mg`; None: nothing is shown that may be paid for yet"""
    upper_bound: bool
    """payable.high_ppm is fraction x karat of a declared layer as made: worn pieces hold less"""
    paid_on: str
    """net, shell, melt; empty with no payable interval"""
    paid_weight_mg: int | None
    paid_fineness_ppm: int | None
    """the one figure within `payable` that an offer uses"""
    claim: Claim | None
    """the claim weighed against"""
    claims: tuple[Claim, ...]
    reasons: tuple[Reason, ...]
    conflicts: tuple[Conflict, ...]
    owed: tuple[Owed, ...]
    confidence: str
    confidence_rule: str
    bars: tuple[Bar, ...] = ()
    policy: Policy = field(default_factory=Policy)
    program: str = ""
    weight_off_mg: int = 0
    """how far the weight paid on may be off, where stones were estimated by their sizes"""
    parts: tuple[PartSeen, ...] = ()
    """each part by itself, where parts differ"""
    marks_left: tuple[MarkLeft, ...] = ()

    @property
    def rules(self) -> tuple[str, ...]:
        """Names of the rules that spoke, in order, each once."""
        return tuple(dict.fromkeys(reason.rule for reason in self.reasons))

    def headline(self) -> str:
        """The assessment in one sentence."""
        owed = self.owed[0].words() if self.owed else ""
        return headline(self.construction, self.confidence, self.metal, self.seen, self.standing, owed)

    def record(self) -> dict[str, Any]:
        """As parts of the book hold it: text, whole numbers, truth values and lists; what is not there is left out."""
        record: dict[str, Any] = {
            "construction": self.construction,
            "standing": self.standing,
            "suspicions": list(self.suspicions),
            "confidence": {"words": self.confidence, "rule": self.confidence_rule},
            "claims": [claim.record() for claim in self.claims],
            "reasons": [{"rule": reason.rule, "text": reason.text} for reason in self.reasons],
            "conflicts": [_conflict(conflict) for conflict in self.conflicts],
            "owed": [_owed(owed) for owed in self.owed],
            "bars": [_bar(bar) for bar in self.bars],
            "rules": list(self.rules),
            "policy": self.policy.record(),
            "program": self.program,
        }
        if self.parts:
            record["parts"] = [part.record() for part in self.parts]
        if self.marks_left:
            record["marks_left"] = [mark.record() for mark in self.marks_left]
        if self.metal:
            record["metal"] = self.metal
        if self.seen:
            record["seen"] = self.seen.record()
        if self.claim:
            record["claim"] = self.claim.record()
        if self.payable:
            record["payable"] = {**self.payable.record(), "upper_bound": self.upper_bound, "on": self.paid_on}
            record["paid_fineness_ppm"] = self.paid_fineness_ppm
        if self.paid_weight_mg is not None:
            record["paid_weight_mg"] = self.paid_weight_mg
        if self.weight_off_mg:
            record["weight_off_mg"] = self.weight_off_mg
        return record


def _owed(owed: Owed) -> dict[str, Any]:
    agreed = {} if owed.agreed is None else {"agreed": owed.agreed}
    return {"test": owed.test, "decides": owed.decides, "consent": owed.consent, **agreed}


def headline(
    construction: str, confidence: str, metal: str | None, seen: Interval | None, standing: str, owed: str
) -> str:
    """An assessment in one sentence. owed: the first test owed, in words; empty: none."""
    found = f"{metal} {seen.words()} per thousand where tested" if seen else "fineness not shown"
    what = f"{CONSTRUCTION_WORDS[construction]}, {confidence}; {found}; {STANDING_WORDS[standing]}"
    still = f"; still owed: {owed}" if owed else ""
    return f"{what[0].upper()}{what[1:]}{still}."


def _conflict(conflict: Conflict) -> dict[str, str]:
    settled = {"settled_by": conflict.settled_by} if conflict.settled_by else {}
    return {"what": conflict.what, **settled}


def _bar(bar: Bar) -> dict[str, Any]:
    part = {"part": bar.part} if bar.part else {}
    between = {"low_ppm": bar.low_ppm, "high_ppm": bar.high_ppm}
    return {"label": bar.label, "test": bar.test, "metal": bar.metal, **between, "surface": bar.surface, **part}
