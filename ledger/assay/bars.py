"""What each test allows, as bars of the fineness strip.

Decides: which tests say anything of fineness and between what. Leaves the drawing to `strip`.

>>> from ledger.assay.assessments import Policy
>>> from ledger.assay.findings import Findings
>>> bars(Sheet(Findings(), (), Policy()))
()
"""

from ledger.assay import density
from ledger.assay.assessments import METALS, Bar
from ledger.assay.findings import SYMBOLS, Weighed
from ledger.assay.sheet import Sheet


def bars(sheet: Sheet) -> tuple[Bar, ...]:
    """What each test allows, for the fineness strip; tests that say nothing of fineness have none."""
    each: list[Bar] = []
    for sight in sheet.found.sights:
        metal = sight.metal if sight.metal in METALS else sheet.metal
        if metal in METALS:
            between = sight.of(metal)
            name = "filed-xrf" if sight.exposed else "xrf"
            label = f"X-ray, {sight.label}"
            each.append(Bar(label, name, metal, between.low_ppm, between.high_ppm, not sight.exposed, sight.part))
    if sheet.metal == "gold":
        for rub in sheet.found.rubs:
            label = f"Streak, {rub.test.acid_karat} karat acid, {rub.test.result}"
            each.append(Bar(label, "streak", "gold", rub.between.low_ppm, rub.between.high_ppm, not rub.test.deep))
    for coloured in sheet.found.silver_rubs if sheet.metal == "silver" else ():
        label, between = f"Streak, acid for silver, {coloured.test.colour}", coloured.between
        surface = not coloured.test.deep
        each.append(Bar(label, "silver-streak", "silver", between.low_ppm, between.high_ppm, surface))
    each += [bar for weighed in sheet.found.densities if (bar := _density_bar(sheet, weighed))]
    for melt in sheet.found.melts:
        u = melt.uncertainty_ppm or 5_000
        ends = max(0, melt.fineness_ppm - u), min(1_000_000, melt.fineness_ppm + u)
        each.append(Bar(f"Melt assay, {melt.method}", "melt", melt.metal, *ends, False))
    return tuple(each)


def _density_bar(sheet: Sheet, weighed: Weighed) -> Bar | None:
    if sheet.metal == "gold":
        family = {"yellow": "yellow-rose", "rose": "yellow-rose", "white": "white"}.get(sheet.colour, "unknown")
        rest = density.FAMILIES[family]
    elif sheet.metal == "silver":
        rest = (density.ELEMENTS["Zn"], density.COPPER)
    else:
        return None
    pure = density.ELEMENTS[SYMBOLS[sheet.metal]]
    low, high = density.fineness_between(weighed.density, weighed.density_u, pure=pure, rest=rest)
    # Outwards to whole parts per thousand: the bar may not promise more than the weighing does.
    low_ppm, high_ppm = int(low * 1000) * 1000, min(1_000_000, -int(-high * 1000 // 1) * 1000)
    return Bar(f"Density {weighed.words()}", "density", sheet.metal, low_ppm, high_ppm, False)
