"""Which metal the tests saw, how fine, and what in it is out of place.

Decides: from X-ray readings alone: whether spots and parts agree, whether a filed spot shows another metal than the
surface, whether the claimed metal is there at all, and which elements do not belong. Leaves densities, acids and the
rest to `judging`. Limits without a source beside them are choices of this project.

>>> from ledger.assay.assessments import Policy
>>> from ledger.assay.evidence import read
>>> from ledger.assay.findings import lay_out
>>> tests = [{"test": "xrf", "unit": "per-mille", "readings": [{"elements": {"Au": "136", "Cu": "602", "Zn": "262"}}]}]
>>> sheet = Sheet(lay_out(read(tests), Policy()), (), Policy())
>>> readings(sheet)
>>> thin_layers(sheet)
>>> sheet.verdicts[0].construction
'plated'
"""

import math
from collections.abc import Iterable

from ledger.assay import coats
from ledger.assay.assessments import METALS, Conflict
from ledger.assay.findings import Sight
from ledger.assay.sheet import Sheet, together
from ledger.measures import thousandths

THIN_GOLD_PPM = 300_000
"""No solid gold on the market is less fine: the lowest mark is 8 karat, 333."""
LEAST_GOLD_PPM = 20_000
"""What the thinnest gold plate still shows: 0.1 micrometre of 10 karat over brass reads 16 per thousand."""
THICK_RHODIUM_PPM = 300_000
"""One micrometre of rhodium reads 142 per thousand over white gold; what shows through a thicker one is too little."""
VAGUEST_PPM = 100_000
"""Uncertainty above which a reading is no measure of fineness: more than two karats either way, a project choice."""
LAYER_DROP_PPM = 100_000


def readings(sheet: Sheet) -> None:
    """Every reading with its figures; then the metal and its fineness, filed readings before those as found."""
    for sight in sheet.found.sights:
        rule = "filed-reading" if sight.exposed else "surface-reading"
        depth = "below the surface" if sight.exposed else "the outer 10 to 20 micrometres only"
        plate = f"; rhodium {thousandths(sight.rhodium_ppm)} taken out" if sight.rhodium_ppm else ""
        good = thousandths(sight.u_ppm)
        sheet.say(rule, f"X-ray, {sight.label}: {sight.figures()} per thousand, good to {good}; {depth}{plate}.")
        if sight.u_ppm > VAGUEST_PPM:
            sheet.block("reading-too-vague", f"A reading that is good to {good} per thousand tells no fineness.", "xrf")
    for sights in sheet.by_part(sheet.found.sights).values():
        sheet.body += [sight for sight in sights if sight.exposed] or sights


def parts(sheet: Sheet) -> None:
    """Parts that differ are bought apart: a stamp covers the part it is on."""
    groups = sheet.by_part(sheet.body)
    if len(groups) < 2:
        return
    shown = [f"{part or 'body'} {_span(sights)}" for part, sights in sorted(groups.items())]
    metals = {sight.metal for sight in sheet.body}
    if len(metals) > 1 or not together([sight.between for sight in sheet.body])[1]:
        sheet.mixed = True
        sheet.say("parts-differ", f"Parts differ: {'; '.join(shown)}. A mark covers the part it is on.")
        sheet.judge(10, "mixed-parts", "shown", "parts-differ")
        sheet.owed.add("separate-parts")
        if sheet.lot:
            text = "The pieces of a lot differ: they are sorted and bought apart, or melted and assayed."
            sheet.say("lot-differs", text)
            sheet.owed.add("melt-assay")


def _span(sights: Iterable[Sight]) -> str:
    return ", ".join(sorted({f"{sight.metal} {thousandths(sight.ppm(sight.metal))}" for sight in sights}))


def fineness(sheet: Sheet) -> None:
    """The metal of the body and the interval that all its readings allow."""
    if sheet.mixed or not sheet.body:
        return
    metals = sorted({sight.metal for sight in sheet.body}, key=lambda metal: (*METALS, "base").index(metal))
    sheet.metal = metals[0] if metals[0] in METALS else None
    if sheet.metal is None:
        return
    sheet.seen, agree = together([sight.of(sheet.metal) for sight in sheet.body])
    if not agree or len(metals) > 1:
        spots = ", ".join(thousandths(sight.ppm(sheet.metal)) for sight in sheet.body)
        sheet.clash("spots-differ", f"Spots differ by more than their uncertainty: {sheet.metal} {spots}.", "filed-xrf")


def below_the_surface(sheet: Sheet) -> None:
    """A filed spot against the surface: the same metal speaks for solid, another one shows a layer."""
    if sheet.mixed:
        return
    for part, sights in sheet.by_part(sheet.found.sights).items():
        surface = [sight for sight in sights if not sight.exposed]
        exposed = [sight for sight in sights if sight.exposed]
        same = [_one_against_other(sheet, top, under) for top in surface for under in exposed]
        if exposed and all(same) and all(sight.metal in METALS and sight.complete for sight in exposed):
            seen = "Below the surface the metal is the same" if surface else "The reading was taken below the surface"
            sheet.say("filed-agrees", f"{seen}{f', {part}' if part else ''}: a layer would have shown.")
            sheet.support("filed-agrees", part)


def _one_against_other(sheet: Sheet, top: Sight, under: Sight) -> bool:
    if top.metal == "base" or not (top.telling and under.telling):
        return True
    drop = top.ppm(top.metal) - under.ppm(top.metal)
    limit = int(math.sqrt(2) * max(top.u_ppm, under.u_ppm))
    figures = f"{top.metal} {thousandths(top.ppm(top.metal))} at the surface, {thousandths(under.ppm(top.metal))} below"
    if drop > limit and (under.metal != top.metal or drop > LAYER_DROP_PPM):
        karat_layer = THIN_GOLD_PPM <= top.ppm("gold") < 900_000
        under_it = under.metal if under.metal in METALS else "base metal"
        sheet.say("filed-differs", f"The filed spot shows {under_it} under a layer: {figures} per thousand.")
        sheet.judge(
            25, "layered" if karat_layer else "plated", "shown", "filed-differs", contrary=under.metal != "silver"
        )
        return False
    if drop > limit:
        sheet.suspicions.add("enriched-surface")
        sheet.say(
            "surface-enriched", f"The surface reads finer than the metal below: {figures}; the filed spot counts."
        )
    if under.of(top.metal).within(top.between) != under.of(top.metal):
        sheet.conflicts.append(Conflict(f"Surface and filed spot differ: {figures}.", settled_by="the filed spot"))
    return True


def claimed_metal(sheet: Sheet) -> None:
    """Whether the metal of the mark was read at all."""
    wanted = {claim.metal for claim in sheet.fine_claims}
    if sheet.mixed or not sheet.body or not wanted or sheet.metal in wanted:
        return
    read = sheet.metal or "base metal"
    names = " or ".join(sorted(metal for metal in wanted if metal))
    if sheet.metal == "gold" and "silver" in wanted and not sheet.exposed:
        text = "The mark is of silver and the surface is gold: gilt silver, until a filed spot says otherwise."
        sheet.block("gold-over-silver", text, "filed-xrf")
        return
    sheet.absent = True
    sheet.block("claimed-metal-absent", f"The mark claims {names}; the reading is {read}.")
    if sheet.metal and sheet.seen and sheet.seen.low_ppm >= THIN_GOLD_PPM:
        text = f"What was read is {sheet.metal} {sheet.seen.words()} per thousand, where tested"
        sheet.say("other-metal-read", f"{text}; under a mark that is not true it is paid on a melt assay only.")
        # Silver sold as something finer is sent back: a melt assay would cost more than it decides.
        if sheet.metal != "silver":
            sheet.owed.add("melt-assay")
    if len(wanted) == 1 and sheet.metal:
        sheet.metal = next(iter(wanted))
        assert sheet.metal is not None
        sheet.seen = together([sight.of(sheet.metal) for sight in sheet.body])[0]


def thin_layers(sheet: Sheet) -> None:
    """Readings that only a thin layer over something else gives."""
    if sheet.mixed or sheet.declared("plated", "layered"):
        return
    for sight in sheet.body:
        if not sight.telling:
            total = thousandths(sum(sight.elements.values()))
            text = f"A reading adds up to {total} of 1000 only: were per cent entered as per thousand?"
            sheet.block("reading-incomplete", text, "xrf")
    if sheet.body and all(sight.metal == "base" and sight.telling for sight in sheet.body):
        sheet.say("base-metal", "No precious metal above 20 per thousand was read.")
        sheet.judge(35, "base", "shown", "base-metal", contrary=True)
    if sheet.absent:
        return
    for sight in sheet.body:
        if sight.metal == "gold" and sight.ppm("gold") < THIN_GOLD_PPM and sight.telling:
            text = (
                f"Gold {thousandths(sight.ppm('gold'))} is less than any solid gold: a thin layer over another metal."
            )
            sheet.block("thin-gold", text, "filed-xrf")
            sheet.judge(40, "plated", "likely", "thin-gold", contrary=True)
        if sight.exposed:
            continue
        if sight.metal == "silver" and sight.ppm("gold") >= 20_000:
            gold = thousandths(sight.ppm("gold"))
            text = f"Gold {gold} over silver: the silver's fineness does not show through gilding."
            sheet.block("gold-over-silver", text, "filed-xrf")
        silver, copper = sight.elements.get("Ag", 0), sight.elements.get("Cu", 0)
        if sight.metal == "gold" and silver >= 400_000 and copper < 60_000:
            text = f"Gold with silver {thousandths(silver)} and copper {thousandths(copper)} reads like gilt silver."
            sheet.block("gold-over-silver", text, "filed-xrf")


def declared_layers(sheet: Sheet) -> None:
    """A layer of gold that a mark declares shows gold at the surface, or nothing is paid on the mark."""
    declared = any(claim.metal == "gold" for claim in sheet.declared("layered"))
    if sheet.mixed or not declared or not sheet.found.sights:
        return
    if all(sight.ppm("gold") < LEAST_GOLD_PPM for sight in sheet.found.sights):
        sheet.block("layer-not-read", "The mark says a layer of gold and no reading shows gold: nothing to pay on it.")


def coatings(sheet: Sheet) -> None:
    """What a gold surface could be a coating of: a reading cannot tell, so it is said beside it."""
    if sheet.mixed or sheet.absent or sheet.declared("plated", "layered"):
        return
    golden = [sight for sight in sheet.body if sight.metal == "gold" and not sight.exposed]
    coat = next((coat for sight in golden if (coat := coats.looks_like(sight))), None)
    if coat:
        sheet.say("reads-like-coating", f"The reading is like that of {coat.words()}.")
    fine = [sight for sight in golden if sight.ppm("gold") >= THIN_GOLD_PPM]
    if fine:
        um, karat = coats.hidden_from(max(fine, key=lambda sight: sight.u_ppm))
        text = f"A layer of {karat} karat over brass reads the same as solid gold from about {um} micrometres on"
        sheet.say("coating-hidden", f"{text}; gold-filled ware has 3 to 125.")


def foreign_metals(sheet: Sheet) -> None:
    """Elements that do not belong into gold: insoluble ones that weigh as gold, cores, signs of plate."""
    if sheet.mixed:
        return
    for sight in sheet.body:
        if sight.rhodium_ppm > THICK_RHODIUM_PPM:
            text = (
                f"Rhodium {thousandths(sight.rhodium_ppm)}: what shows through so thick a plate is too little to go by."
            )
            sheet.block("rhodium-thick", text, "filed-xrf")
        if sight.metal == "gold":
            _in_gold(sheet, sight)
        if (cadmium := sight.elements.get("Cd", 0)) > 1_000:
            sheet.say("cadmium", f"Cadmium {thousandths(cadmium)}: solder or old alloy; its fumes are poisonous.")


def _in_gold(sheet: Sheet, sight: Sight) -> None:
    heavy = {symbol: sight.elements.get(symbol, 0) for symbol in ("Ir", "Os", "Ru")}
    if sum(heavy.values()) > 2_000:
        named = ", ".join(f"{symbol} {thousandths(ppm)}" for symbol, ppm in heavy.items() if ppm)
        sheet.suspicions.add("adulterant")
        # ISO 11426:2021 does not hold above 0.25 per thousand of iridium, rhodium and ruthenium together.
        sheet.say(
            "adulterant", f"{named} per thousand in gold: metals that do not dissolve in it and pass for its weight."
        )
        sheet.withheld.append("adulterant")
        sheet.owed.add("melt-assay-icp")
    cores = {symbol: sight.elements.get(symbol, 0) for symbol in ("W", "Mo", "Ta")}
    if sum(cores.values()) > 2_000:
        named = ", ".join(f"{symbol} {thousandths(ppm)}" for symbol, ppm in cores.items() if ppm)
        sheet.suspicions.add("dense-core")
        sheet.block(
            "core-metal-read", f"{named} per thousand was read: a core of that metal or grains of it.", "cut-or-drill"
        )
    _signs_of_plate(sheet, sight)


def _signs_of_plate(sheet: Sheet, sight: Sight) -> None:
    nickel, zinc, copper = (sight.elements.get(symbol, 0) for symbol in ("Ni", "Zn", "Cu"))
    gold = sight.ppm("gold")
    if sheet.colour in ("yellow", "rose") and nickel > 20_000:
        sheet.say("nickel-in-yellow", f"Nickel {thousandths(nickel)} in a yellow article: often a barrier under plate.")
    if copper and 100_000 <= gold <= 600_000 and zinc * 10 >= copper * 3:
        text = f"Zinc is {zinc * 100 // copper} % of the copper; brass has 43 %, karat gold usually less than 25 %."
        sheet.say("zinc-like-brass", text)
