"""What follows from the working sheet: the construction, the standing against the mark, and what may be paid for.

Decides: that the strongest word against solid stands, that nothing is paid for a layer which is not stripped or
assayed, and the one figure that an offer uses. Leaves to `owing` which tests are owed, and to `value` the money.

>>> from ledger.assay.assessments import Policy
>>> from ledger.assay.findings import Findings
>>> from ledger.assay.marks import read
>>> verdict(Sheet(Findings(), read("14K"), Policy())).rule
'no-evidence'
"""

from dataclasses import dataclass
from fractions import Fraction

from ledger.assay.assessments import METALS, Interval
from ledger.assay.marks import Claim
from ledger.assay.sheet import Sheet, Verdict
from ledger.assay.touchstone import KARAT_PPM
from ledger.measures import thousandths

HEAVIEST = Fraction(1, 8)
"""The heaviest layer for which a mark alone is paid: on old watch cases. A heavier one would be a mark that speaks for
its article's worth and not against it."""
VAGUE_PPM = 2 * KARAT_PPM
"""How far below its mark an interval may reach and still bear it out: acid is good to a karat, and leaves that much."""


def verdict(sheet: Sheet) -> Verdict:
    """The construction: the strongest word against solid, else solid if something below the surface speaks for it."""
    if sheet.verdicts:
        return min(sheet.verdicts)
    if sheet.blocks:
        return Verdict(90, "undetermined", "open", sheet.blocks[0])
    if sheet.supports and sheet.metal in METALS:
        sheet.say("solid", "A test below the surface agrees and nothing speaks against it.")
        return Verdict(99, "solid", "shown", sheet.supports[0])
    if not sheet.found.sights and not sheet.found.rubs and not sheet.supports:
        sheet.say("no-evidence", "No test shows what the article is made of.")
        return Verdict(98, "undetermined", "open", "no-evidence")
    sheet.say("surface-only", "Tests of the surface alone never show that an article is solid.")
    return Verdict(98, "undetermined", "open", "surface-only")


def claim(sheet: Sheet) -> Claim | None:
    """The claim weighed against: a layer's or plate's own, else the strictest for the metal seen."""
    declared = sheet.declared("layered", "plated") or sheet.declared("base")
    if declared and not (sheet.metal == "silver" and sheet.best_claim("silver")):
        return max(declared, key=lambda claim: (claim.fraction is not None, claim.fineness or 0, claim.text))
    return sheet.best_claim(sheet.metal)


def standing(sheet: Sheet, verdict: Verdict, claim: Claim | None) -> str:
    if not any(each.kind == "metal" for each in sheet.claims):
        return "no-claim"
    if sheet.absent:
        return "contrary"
    if claim is None:
        return "contrary" if verdict.contrary and sheet.fine_claims else "not-known"
    tested = bool(sheet.found.sights or sheet.found.densities or sheet.found.rubs or sheet.found.melts)
    if claim.construction in ("layered", "plated", "base"):
        return (
            "as-claimed" if tested and verdict.construction == claim.construction and not sheet.blocks else "not-known"
        )
    if verdict.contrary:
        return "contrary"
    return _fine_standing(sheet, verdict, claim)


def _fine_standing(sheet: Sheet, verdict: Verdict, claim: Claim) -> str:
    wanted = int(claim.fineness or 0)
    if sheet.mixed or sheet.seen is None or sheet.metal != claim.metal or not wanted:
        return "not-known"
    if "reading-incomplete" in sheet.blocks:
        return "not-known"
    gilt = "gold-over-silver" in sheet.blocks
    high, most = sheet.seen.high_ppm, claim.tolerance_most_ppm
    if high < wanted - most and not gilt:
        lowest = thousandths(wanted - most)
        sheet.say("below-mark", f"{thousandths(high)} at most is below {lowest}, the mark less its tolerance.")
        return "below"
    if high < wanted - claim.tolerance_ppm and not gilt:
        lowest, lawful = thousandths(wanted - claim.tolerance_ppm), thousandths(wanted - most)
        text = f"{thousandths(high)} at most is below {lowest}, which the law of today asks of that mark"
        sheet.say("below-unless-older", f"{text}; other laws and older ones let it go down to {lawful}.")
        return "not-known"
    borne_out = verdict.construction in ("solid", "plated") and verdict.confidence == "shown"
    if verdict.construction == "weighted-or-hollow":
        borne_out = bool(sheet.supports or sheet.found.stripped)
    if not borne_out or sheet.blocks or "adulterant" in sheet.withheld:
        return "not-known"
    if sheet.acid_below:
        sheet.withheld.append("acid-below-mark")
        sheet.owed.add("melt-assay")
        return "not-known"
    if wanted - sheet.seen.low_ppm > VAGUE_PPM:
        reach = f"{sheet.seen.words()} per thousand reach too far below {thousandths(wanted)}"
        sheet.say("too-vague", f"The tests are too vague to bear out the mark: {reach}.")
        return "not-known"
    return "finer" if sheet.seen.low_ppm > wanted + sheet.policy.finer_ppm else "as-claimed"


@dataclass(frozen=True)
class Paid:
    """What may be paid for, and on what weight."""

    interval: Interval | None = None
    upper_bound: bool = False
    on: str = ""
    weight_mg: int | None = None


def payable(sheet: Sheet, verdict: Verdict, standing: str, melted: Interval | None) -> Paid:
    """The fineness that may be paid for and on what weight; nothing for a layer that is not stripped or assayed."""
    if melted is not None:
        after = [melt.after_mg for melt in sheet.found.melts if melt.after_mg is not None]
        if "melt-above-weight" in sheet.blocks:
            after.append(sheet.net_mg if sheet.net_mg is not None else sheet.gross_mg or 0)
        return Paid(melted, False, "melt", min(after, default=sheet.net_mg))
    if verdict.construction == "layered" and verdict.confidence == "declared":
        return _declared_layer(sheet)
    gilt = verdict.construction == "plated" and _silver_under_gold(sheet)
    if sheet.seen is None or sheet.blocks or sheet.withheld or standing == "contrary":
        return Paid()
    if verdict.construction == "weighted-or-hollow":
        return _shell(sheet)
    return Paid(sheet.seen, False, "net", sheet.net_mg) if verdict.construction == "solid" or gilt else Paid()


def _silver_under_gold(sheet: Sheet) -> bool:
    """Whether filed spots show silver, and no mark says that the silver itself is plate."""
    plate = [claim for claim in sheet.declared("plated") if claim.metal != "gold"]
    return bool(sheet.exposed) and sheet.metal == "silver" and not plate


def _declared_layer(sheet: Sheet) -> Paid:
    bounds = [claim.at_most_ppm for claim in sheet.declared("layered") if claim.metal == "gold"]
    known = [bound for bound in bounds if bound is not None]
    if "layer-not-read" in sheet.blocks:
        return Paid()
    if any(claim.fraction and Fraction(*claim.fraction) > HEAVIEST for claim in sheet.declared("layered")):
        sheet.say("layer-too-heavy", "So heavy a layer is not believed on the mark alone: a melt assay shows it.")
        sheet.owed.add("melt-assay")
        return Paid()
    if not known:
        sheet.say(
            "layer-not-said", "The mark does not say which share of the weight the layer is: nothing to pay on it."
        )
        return Paid()
    sheet.say(
        "upper-bound",
        f"At most {thousandths(min(known))} per thousand as made: share times karat; wear takes the layer first.",
    )
    sheet.metal = sheet.metal or "gold"
    return Paid(Interval(0, min(known)), True, "net", sheet.net_mg)


def _shell(sheet: Sheet) -> Paid:
    if sheet.found.stripped:
        return Paid(sheet.seen, False, "shell", min(part.shell_mg for part in sheet.found.stripped))
    if not sheet.supports:
        sheet.owed.add("cut-or-drill" if sheet.found.densities else "density")
        return Paid()
    return Paid(sheet.seen, False, "net", sheet.net_mg)


def paid_fineness(paid: Paid, claim: Claim | None, standing: str) -> int | None:
    """The one figure an offer uses: the bound of a layer, a melt's middle, no more than the mark, else the low end."""
    if paid.interval is None:
        return None
    low, high = paid.interval.low_ppm, paid.interval.high_ppm
    if paid.upper_bound:
        return high
    if paid.on == "melt":
        return (low + high) // 2
    if standing == "as-claimed" and claim is not None and claim.fineness is not None:
        return min(int(claim.fineness), high)
    return low
