"""Which tests are still owed before money is paid, in order of cost, and what the seller allows.

Decides: which test could settle what is open, that a test which leaves a mark waits for the seller's consent, and
what such tests left. Leaves to `assessments` what each of them decides and is called.

>>> from ledger.assay.assessments import Policy
>>> from ledger.assay.findings import Findings
>>> sheet = Sheet(Findings(), (), Policy())
>>> [each.test for each in owed(sheet, Verdict(98, "undetermined", "open", "no-evidence"), "no-claim")]
['weigh', 'xrf', 'density']
"""

from ledger.assay.assessments import MARKING, OWED, OWED_WORDS, Owed
from ledger.assay.sheet import Sheet, Verdict


def consent(sheet: Sheet) -> None:
    for name in sheet.found.without_consent:
        sheet.say("no-consent", f"The test {name} leaves a mark, and no consent of the seller is recorded.")
    for mark in sheet.found.marks_left:
        if mark.mark:
            place = f", {mark.place}" if mark.place else ""
            sheet.say("mark-left", f"The test {mark.test}{place} left a mark on the article: {mark.mark}.")


_MAKES = {
    "filed-xrf-or-deep-streak": ("filed-xrf", "streak"),
    "filed-xrf": ("filed-xrf",),
    "ultrasound-or-drill": ("cut",),
    "cut-or-drill": ("cut",),
    "separate-parts": ("stripped",),
    "strip": ("stripped",),
    "melt-assay": ("melt",),
    "melt-assay-icp": ("melt",),
}
"""The tests of an evidence document by which one that is owed and leaves a mark could be made."""


def owed(sheet: Sheet, verdict: Verdict, standing: str) -> tuple[Owed, ...]:
    owed = set(sheet.owed)
    if sheet.weight_mg is None:
        owed.add("weigh")
    settled = verdict.confidence in ("declared", "shown") or verdict.order < 90
    if not settled and not sheet.absent:
        owed |= _to_decide(sheet, standing)
    if standing == "below":
        owed.add("melt-assay" if verdict.construction == "solid" else "filed-xrf")
    if verdict.construction in ("layered", "plated", "base") and verdict.confidence in ("declared", "shown"):
        # Under a gilding that a mark declares lies silver, and only a filed spot shows how fine.
        owed -= {"xrf"} if "gold-over-silver" in sheet.blocks else {"filed-xrf", "xrf"}
    if sheet.exposed and "filed-xrf" in owed:
        # The notch is filed already: what is left open lies deeper.
        owed = owed - {"filed-xrf"} | {"cut-or-drill"}
    if sheet.found.melts:
        owed &= {"weigh", "melt-assay", "melt-assay-icp"}
    each = [
        Owed(test, decides, test in MARKING, _agreed(sheet, test)) for test, decides in OWED.items() if test in owed
    ]
    refused = [one for one in each if one.agreed is False]
    if refused:
        names = " or ".join(OWED_WORDS[one.test] for one in refused)
        sheet.say("consent-refused", f"The seller did not agree to {names}: what that would decide stays open.")
    # Cheapest first, and last what the seller does not allow.
    return (*(one for one in each if one.agreed is not False), *refused)


def _agreed(sheet: Sheet, test: str) -> bool | None:
    """What the seller answered about this test: agreed if to any way of making it, refused if to every way."""
    answers = [sheet.found.answers.get(way) for way in _MAKES.get(test, ())]
    if True in answers:
        return True
    return False if answers and None not in answers else None


def _to_decide(sheet: Sheet, standing: str) -> set[str]:
    """Tests that could show the construction, where no rule has asked for one."""
    owed: set[str] = set()
    if not sheet.found.sights and not sheet.found.melts:
        owed.add("xrf")
    if sheet.supports or sheet.blocks or standing == "below":
        return owed
    weight = sheet.weight_mg
    tried = bool(sheet.found.densities) and bool(sheet.found.sights)
    too_light = weight is not None and weight < sheet.policy.density_limit_mg
    unweighable = any("the article has stones" in reason.text for reason in sheet.found.set_aside)
    owed.add("filed-xrf-or-deep-streak" if tried or too_light or unweighable else "density")
    if sheet.found.densities and not sheet.found.sights:
        owed.discard("density")
    return owed
