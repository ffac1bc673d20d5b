"""The rules by which tests other than X-ray readings speak for or against what the surface shows.

Decides: what marks of layer and plate, fillings, magnets, acids, densities, conductance, the eye, a cut and a melt
assay say together with the readings. Each rule adds to the working sheet and none takes anything away, so that a
failure is never outvoted. Limits without a source beside them are choices of this project.

>>> from ledger.assay.assessments import Policy
>>> from ledger.assay.findings import Findings
>>> from ledger.assay.marks import read
>>> sheet = Sheet(Findings(), read("1/20 12K GF"), Policy())
>>> marks(sheet)
>>> [(verdict.construction, verdict.rule) for verdict in sheet.verdicts]
[('layered', 'fraction-before-karat')]
"""

import re

from ledger.assay.assessments import Conflict, Interval
from ledger.assay.findings import Rub, Sight, part_of
from ledger.assay.marks import Claim
from ledger.assay.sheet import Sheet, together
from ledger.assay.touchstone import KARAT_PPM
from ledger.measures import thousandths

_FIXTURES = re.compile(r"\b(?:clasp|catch|spring|hinge|pin|post|screw|lock|snap)(?:s|es)?\b")
"""Parts that are of steel in good work too. Source: 16 CFR 23, appendix, parts not assayed."""


def marks(sheet: Sheet) -> None:
    """What is stamped; marks that speak against their own article are believed."""
    if not any(claim.kind == "metal" for claim in sheet.claims):
        sheet.say("no-mark", "No mark of metal was read; an unmarked article is not taken for solid on readings alone.")
    for claim in sheet.claims:
        if claim.kind == "metal":
            others = "; the same letters can mean something else" if claim.ambiguous else ""
            sheet.say("mark", f'Mark "{claim.text}": {claim.words()}{others}.')
    if layers := sheet.declared("layered"):
        share = any(claim.fraction for claim in layers)
        rule = "fraction-before-karat" if share else "layer-mark"
        says = (
            "A fraction before a karat is the layer's share of the weight"
            if share
            else "The mark says gold-filled or rolled plate"
        )
        sheet.say(rule, f"{says}; no surface reading overrules that.")
        sheet.judge(18, "layered", "declared", rule)
    if sheet.declared("plated"):
        sheet.say("plate-mark", "The mark says plated, and is believed.")
        sheet.judge(19, "plated", "declared", "plate-mark")
    if sheet.declared("base") and not sheet.fine_claims:
        sheet.say("base-mark", "The mark says base metal, and is believed.")
        sheet.judge(32, "base", "declared", "base-mark")


def marks_differ(sheet: Sheet) -> None:
    """Marks of two karats on one article; on parts that were read and differ, each is held against its own part."""
    claims = [claim for claim in sheet.legible if not claim.ambiguous and claim.fineness]
    finenesses = [int(claim.fineness or 0) for claim in claims]
    if not claims or _alike(finenesses) or len({claim.metal for claim in sheet.fine_claims}) > 1:
        return
    lowest, finest = thousandths(min(finenesses)), thousandths(max(finenesses))
    if sheet.mixed and (sheet.lot or _each_on_its_own_part(sheet, claims)):
        sheet.say("marks-of-parts", f"Marks differ, {lowest} to {finest}, as the parts do: each covers what it is on.")
        return
    text = f"Marks differ: {lowest} and {finest}; the finer is weighed against."
    sheet.conflicts.append(Conflict(text))
    sheet.say("marks-differ", text)


def _alike(finenesses: list[int]) -> bool:
    return max(finenesses) - min(finenesses) <= 10_000


def _each_on_its_own_part(sheet: Sheet, claims: list[Claim]) -> bool:
    """Whether every mark names a part that was tested, and the marks of one part agree."""
    by_part: dict[str, list[int]] = {}
    for claim in claims:
        by_part.setdefault((claim.covers or claim.where).strip().casefold(), []).append(int(claim.fineness or 0))
    return by_part.keys() <= set(sheet.found.parts) - {""} and all(_alike(each) for each in by_part.values())


def fillings(sheet: Sheet) -> None:
    """Weighted and hollow ware: only the shell is of the metal that shows."""
    marked = sheet.declared("weighted", "hollow")
    filled = bool(sheet.declared("weighted")) or "filled" in sheet.found.seen_by_eye or sheet.cut_shows("filler")
    hollow = bool(marked) or "hollow" in sheet.found.seen_by_eye or sheet.cut_shows("hollow")
    if not (filled or hollow):
        return
    sheet.cavity = True
    shown = bool({"filled", "hollow"} & sheet.found.seen_by_eye) or sheet.cut_shows("filler", "hollow")
    how = "filled" if filled else "hollow"
    sheet.say("weighted-or-hollow", f"The article is {how}: its weight is not that of the metal that shows.")
    sheet.judge(20, "weighted-or-hollow", "shown" if shown else "declared", "weighted-or-hollow")
    if filled and not sheet.found.stripped:
        sheet.withheld.append("weighted-or-hollow")
        sheet.owed.add("strip")
    for part in sheet.found.stripped:
        sheet.say("stripped", f"The shell alone weighs {part.shell_mg / 1000:.3f} g.")
        if sheet.outweighs(part.shell_mg):
            sheet.clash("shell-above-weight", "The shell alone weighs more than the article did.", "strip")


def magnets(sheet: Sheet) -> None:
    """A magnet shows iron, nickel or cobalt; platinum with cobalt is pulled and is not base metal."""
    for magnet in sheet.found.magnets:
        place = f"{magnet.part} {magnet.spot}".strip().casefold()
        where = f" at {place}" if place else ""
        if magnet.pull == "none":
            sheet.say("no-pull", "No pull of a magnet: shuts out an iron core only.")
        elif _FIXTURES.search(place):
            sheet.say("magnet-fixture", f"A magnet pulls{where}: springs and pins are of steel in good work too.")
        elif sheet.body and all(_platinum_cobalt(sight) for sight in sheet.body):
            cobalt = max(sight.elements.get("Co", 0) for sight in sheet.body)
            text = (
                f"A magnet pulls{where}: platinum with cobalt {thousandths(cobalt)} is magnetic, and is not base metal."
            )
            sheet.say("platinum-cobalt", text)
        elif magnet.pull == "strong" and (magnet.part or "blade" in place):
            sheet.say("magnet-part", f"A magnet pulls strongly{where}: that part is steel.")
            sheet.judge(12, "mixed-parts", "shown", "magnet-part")
            sheet.owed.add("separate-parts")
        elif part_of(magnet) and _reads_base(sheet, part_of(magnet)):
            sheet.say("magnet-part", f"A magnet pulls weakly{where}: that part reads as base metal.")
        elif sheet.cavity:
            sheet.say("magnet-filling", f"A magnet pulls{where}: a steel rod or filling inside.")
        else:
            how = "strongly" if magnet.pull == "strong" else "weakly"
            sheet.block("magnet-body", f"A magnet pulls {how}{where}: iron, nickel or cobalt inside.", "filed-xrf")


def _reads_base(sheet: Sheet, part: str) -> bool:
    """Whether every reading of a part saw base metal; the pull is then that of what was read."""
    metals = {sight.metal for sight in sheet.body if sight.part == part}
    return metals == {"base"}


def _platinum_cobalt(sight: Sight) -> bool:
    return sight.metal == "platinum" and sight.elements.get("Co", 0) >= 10_000


def streaks(sheet: Sheet) -> None:
    """Acid is good to a karat: it may contradict, it never narrows a reading, and its failure never passes."""
    if not sheet.found.rubs or sheet.mixed:
        return
    if sheet.metal == "silver" and not sheet.absent:
        sheet.say("acid-not-for-silver", "Streaks under acids for gold say nothing about silver.")
        return
    resistant = _resists_acid(sheet)
    if resistant:
        sheet.say("acid-resistant", "White metal resists these acids: what held is not used, what failed counts.")
    for rub in sheet.found.rubs:
        _streak(sheet, rub, resistant)
    if not sheet.found.sights:
        _fineness_by_acid(sheet, resistant)


def _resists_acid(sheet: Sheet) -> bool:
    if not sheet.body:
        return sheet.colour in ("white", "grey")
    return any(_resists(sight) for sight in sheet.body)


def _resists(sight: Sight) -> bool:
    limits = {"Pd": 30_000, "Pt": 30_000, "Ni": 50_000}
    return any(sight.elements.get(symbol, 0) >= ppm for symbol, ppm in limits.items())


_DID = {"holds": "held", "fades": "faded", "gone": "dissolved at once"}


def _streak(sheet: Sheet, rub: Rub, resistant: bool) -> None:
    test = rub.test
    depth = "deep" if test.deep else "light"
    text = f"A {depth} streak under acid for {test.acid_karat} karat, {rub.reach}, {_DID[test.result]}"
    if test.result == "holds":
        counts = rub.trusted and not resistant
        sheet.say("acid-holds", f"{text}: {thousandths(rub.between.low_ppm)} or finer{'' if counts else ', not used'}.")
        lasting = [sight for sight in sheet.body if not _resists(sight)] if rub.trusted else []
        if any(sight.of("gold").high_ppm < rub.between.low_ppm for sight in lasting):
            sheet.clash("acid-above-reading", f"{text}, finer than the reading allows.", "filed-xrf")
        elif any(sight.of("gold").low_ppm < rub.between.low_ppm for sight in sheet.body):
            settled = "the reading: acid is good to a karat" if counts else "not used: see the streak"
            sheet.conflicts.append(Conflict(f"{text}, and the reading reaches lower.", settled_by=settled))
        if counts and test.deep and test.acid_ppm >= 9 * KARAT_PPM:
            _held_deep(sheet, rub, text)
        return
    sheet.say("acid-fails", f"{text}: at most {thousandths(rub.between.high_ppm)}.")
    if any(sight.of("gold").high_ppm > rub.between.high_ppm for sight in sheet.body):
        sheet.conflicts.append(
            Conflict(f"{text}, and the reading reaches higher.", settled_by="the reading: acid is good to a karat")
        )
    if any(_ought_to_hold(sight, rub) for sight in sheet.body):
        sheet.clash("acid-failed", f"{text}, though the reading is finer; a failure is not outvoted.", "filed-xrf")
        if test.deep and test.result == "gone":
            sheet.judge(50, "layered", "likely", "acid-failed")
    if any(melt.metal == "gold" and melt.fineness_ppm >= test.acid_ppm - KARAT_PPM // 4 for melt in sheet.found.melts):
        sheet.clash("acid-failed", f"{text}, though the melt assay is finer; a failure is not outvoted.", "melt-assay")
    claims = [claim for claim in sheet.legible if claim.metal == "gold"]
    if any(int(claim.fineness or 0) >= test.acid_ppm - 2_000 for claim in claims):
        sheet.acid_below = True
        sheet.say("acid-below-mark", "Metal as fine as its mark should have held in that acid.")


def _held_deep(sheet: Sheet, rub: Rub, text: str) -> None:
    # A core of lower karat holds in a weak acid as well: the acid must come near the fineness that is read.
    near = rub.between.low_ppm + 2 * KARAT_PPM
    finest = max((sight.ppm("gold") for sight in sheet.body), default=0)
    if not sheet.body and sheet.colour not in ("yellow", "rose") and not sheet.fine_claims:
        sheet.say("acid-metal-open", f"{text}: so do steel, titanium, platinum and palladium; the colour is not said.")
    elif finest <= near:
        sheet.support("deep-streak-holds", part_of(rub.test))
    else:
        sheet.say("acid-too-weak", f"{text}: too weak an acid to tell {thousandths(finest)} from a core of less gold.")


def _ought_to_hold(sight: Sight, rub: Rub) -> bool:
    if sight.metal in ("platinum", "palladium"):
        return True
    finer = sight.ppm("gold") >= rub.test.acid_ppm - KARAT_PPM // 4
    return sight.metal == "gold" and (finer or sight.between.low_ppm > rub.between.high_ppm)


def _fineness_by_acid(sheet: Sheet, resistant: bool) -> None:
    held = [rub for rub in sheet.found.rubs if rub.test.result == "holds" and rub.trusted and not resistant]
    failed = [rub for rub in sheet.found.rubs if rub.test.result != "holds"]
    gold = bool(held) or any(claim.metal == "gold" for claim in sheet.fine_claims)
    if not gold or not (held or failed):
        return
    sheet.metal = "gold"
    sheet.seen, agree = together([rub.between for rub in held + failed])
    if not agree:
        sheet.clash("streaks-differ", "One streak held where another failed in weaker acid.", "xrf")


def eye_and_cut(sheet: Sheet) -> None:
    """What the eye and a cut face showed."""
    if "other-metal-at-wear" in sheet.found.seen_by_eye and not sheet.declared("layered", "plated"):
        sheet.block("worn-through", "Another metal shows where the article is worn.", "filed-xrf")
        sheet.judge(55, "layered", "likely", "worn-through", contrary=True)
    for show, text in (("seam", "A seam shows"), ("verdigris", "Green corrosion shows")):
        if show in sheet.found.seen_by_eye:
            sheet.say("seen-by-eye", f"{text}: seen on layered ware, and on soldered solid ware too.")
    if sheet.cut_shows("layers"):
        sheet.say("cut-shows-layers", "The cut face shows a layer over another metal.")
        sheet.judge(24, "layered", "shown", "cut-shows-layers", contrary=True)
    for cut in sheet.found.cuts:
        if cut.shows == "one-metal" and sheet.body:
            of = f" of the {part_of(cut)}" if part_of(cut) else ""
            sheet.say("cut-shows-one-metal", f"The cut face{of} shows one metal all through.")
            sheet.support("cut-shows-one-metal", part_of(cut))


def parts_borne_out(sheet: Sheet) -> None:
    """Where tests name several parts and none speaks of the whole, each part must be shown by itself."""
    if sheet.supports or not sheet.parts_shown or sheet.mixed:
        return
    left = [part or "rest" for part in sheet.found.parts if part not in sheet.parts_shown]
    # Whoever names one part only, as the clasp, has said nothing of what it hangs on.
    left = left or ["rest"] * (len(sheet.found.parts) == 1)
    shown = ", ".join(part or "rest" for part in sorted(sheet.parts_shown))
    if left:
        text = f"What was tested below the surface is the {shown}; nothing yet speaks of the {', '.join(left)}."
        sheet.say("part-not-shown", text)
    else:
        sheet.supports += sorted(set(sheet.parts_shown.values()))


def finer_than_marked(sheet: Sheet) -> None:
    """A surface that reads finer than the mark is a warning, not a bonus."""
    claim = sheet.best_claim(sheet.metal)
    if sheet.mixed or sheet.exposed or sheet.absent or claim is None or claim.fineness is None or not sheet.metal:
        return
    for sight in sheet.body:
        if not sight.exposed and sight.of(sheet.metal).low_ppm > int(claim.fineness) + sheet.policy.finer_ppm:
            sheet.suspicions.add("enriched-surface")
            read, marked = thousandths(sight.ppm(sheet.metal)), thousandths(claim.fineness)
            text = f"The surface, {sheet.metal} {read}, is finer than the mark, {marked}: plate or an enriched surface."
            sheet.block("finer-than-mark", text, "filed-xrf")


def melts(sheet: Sheet) -> Interval | None:
    """A melt assay speaks of all the metal, overrules what was thought, and is compared with it."""
    if not sheet.found.melts:
        return None
    metals = {melt.metal for melt in sheet.found.melts}
    between = [_melt_interval(melt.fineness_ppm, melt.uncertainty_ppm) for melt in sheet.found.melts]
    result, agree = together(between)
    for melt in sheet.found.melts:
        sheet.say(
            "melt-assay", f"Melt assay ({melt.method}): {melt.metal} {thousandths(melt.fineness_ppm)} per thousand."
        )
    if not agree or len(metals) > 1:
        sheet.clash("melts-differ", "Melt assays differ by more than their uncertainty.", "melt-assay")
        return None
    if any(melt.after_mg is not None and sheet.outweighs(melt.after_mg) for melt in sheet.found.melts):
        sheet.clash("melt-above-weight", "The melt weighs more than the article did; it is not of this article alone.")
    metal = next(iter(metals))
    bounds = [claim.at_most_ppm for claim in sheet.declared("layered") if claim.at_most_ppm is not None]
    if bounds and result.high_ppm > min(bounds):
        text = (
            f"The melt assay, {result.words()}, is more than the mark's layer could hold, {thousandths(min(bounds))}."
        )
        sheet.clash("melt-above-layer", text)
    if sheet.seen and (sheet.metal != metal or sheet.seen.within(result) is None):
        before = f"{sheet.metal} {sheet.seen.words()}"
        text = f"The melt assay, {metal} {result.words()}, is not what was seen before: {before}."
        sheet.conflicts.append(Conflict(text, settled_by="the melt assay, which speaks of all the metal"))
        sheet.say("melt-overrules", text)
        sheet.blocks.append("melt-overrules")
    else:
        sheet.supports.append("melt-assay")
        if sheet.seen and sheet.seen.within(result) != result:
            text = f"The melt assay, {result.words()}, goes beyond what was seen before, {sheet.seen.words()}."
            sheet.conflicts.append(Conflict(text, settled_by="the melt assay, which speaks of all the metal"))
    sheet.metal, sheet.seen = metal, result
    return result


def _melt_interval(ppm: int, u_ppm: int | None) -> Interval:
    # Touchstone and fire assay often agree within 5 per thousand (Walchli, Gold Bulletin 14, 1981).
    u = u_ppm or 5_000
    return Interval(max(0, ppm - u), min(1_000_000, ppm + u))
