"""What may lie under the metal that the readings saw: densities, conductance, ultrasound and tungsten.

Decides: whether a density shuts out every base metal that a layer of the metal read could lie on, whether it agrees
with that metal all through, and what conductance and ultrasound say of a core. Leaves to `coats` which coatings a
reading could come from, and to `judging` all other tests. Limits without a source beside them are choices of this
project.

>>> from ledger.assay.assessments import Policy
>>> from ledger.assay.findings import Findings
>>> sheet = Sheet(Findings(), (), Policy())
>>> densities(sheet)
>>> sheet.supports
[]
"""

import math
from functools import lru_cache
from itertools import combinations

from ledger.assay import coats, conductance, density
from ledger.assay.assessments import METALS, Conflict
from ledger.assay.evidence import Conductance
from ledger.assay.findings import Sight, Weighed, part_of
from ledger.assay.sheet import Sheet

LAYER_SHARE = 1 / 8
"""The heaviest layer that marks of layered ware declare, as a share of the weight: 1/8, on old watch cases."""
CERTAIN = 4.0
"""Standard uncertainties of the weighing by which a density must shut out a layered piece before it speaks for solid:
three layered pieces in a hundred thousand would pass by chance if all were the densest that there can be."""
AGREES = 3.0
"""Standard uncertainties of the weighing within which a density still agrees with the metal read."""
GOLD_IACS = conductance.METALS["gold"].low


def densities(sheet: Sheet) -> None:
    """The density of the whole against the density that each reading predicts."""
    for weighed, why in sheet.found.void_densities:
        sheet.say("density-void", f"The density {weighed.words()} is not used: {why}.")
        _settled(sheet, weighed, why)
    usable = sheet.found.densities
    if not usable:
        if sheet.found.void_densities:
            sheet.owed.add("density")
        return
    for first, second in combinations(usable, 2):
        apart = abs(first.density - second.density) > 2 * (first.density_u + second.density_u)
        if apart and part_of(first.test) == part_of(second.test):
            text = (
                f"Two densities differ: {first.words()} and {second.words()}; weigh again, and in air after the bath."
            )
            sheet.clash("densities-differ", text, "density")
    of_parts: dict[str, list[Weighed]] = {}
    for weighed in usable:
        of_parts.setdefault(part_of(weighed.test), []).append(weighed)
    for part, each in sorted(of_parts.items()):
        _compare(sheet, part, each)


def _settled(sheet: Sheet, void: Weighed, why: str) -> None:
    for good in sheet.found.densities:
        if abs(good.density - void.density) > 2 * (good.density_u + void.density_u):
            text = f"Two densities differ: {void.words()}, when {why}, and {good.words()}."
            sheet.conflicts.append(Conflict(text, settled_by=f"weighed again: {good.words()}"))


def _compare(sheet: Sheet, part: str, usable: list[Weighed]) -> None:
    said = ", ".join(weighed.words() for weighed in usable)
    several = len(sheet.found.parts) > 1
    body = [sight for sight in sheet.body if not (several and part) or sight.part == part]
    precious = bool(body) and all(sight.metal in METALS and sight.complete for sight in body)
    if sheet.mixed or not precious:
        sheet.say("density-alone", f"Density {said}: no complete reading of one precious metal to compare it with.")
        return
    borne_out = _same_weight(sheet, part, usable)
    for weighed in usable:
        for sight in body:
            borne_out = _one_density(sheet, weighed, sight) and borne_out
    if borne_out and sheet.declared("layered", "plated"):
        text = "The mark says a layer and the density says the surface metal all through; the mark is believed."
        sheet.clash("density-against-mark", text, "cut-or-drill")
    elif borne_out:
        sheet.support("density-agrees", part, whole=True)


def _same_weight(sheet: Sheet, part: str, usable: list[Weighed]) -> bool:
    """Whether what was weighed in water is the article that is bought, and not a piece of it."""
    known = sheet.gross_mg if sheet.gross_mg is not None else sheet.net_mg
    if known is None or part:
        return True
    # The weight of the article may be given with its stones or without, the density weighs both.
    weights = [(weighed.test.air_ug / 1e3, weighed.mass * 1e3) for weighed in usable]
    # A weighing that was entered twice is one weighing, not two halves.
    each = [weight for pair in weights for weight in pair]
    each.append(sum(test.air_ug / 1e3 for test in {weighed.test for weighed in usable}))
    # Two in a hundred, or some steps of the scale: 1 cm3 of room left in doubt is about 1 g of a weighing.
    some = max(known * 0.02, *(4_000 * weighed.volume_u for weighed in usable))
    if any(abs(weight - known) <= some for weight in each):
        return _same_stones(sheet, usable, some)
    said = ", ".join(f"{air / 1000:.2f} g" for air, _ in weights)
    text = f"The density was taken on {said} and the article weighs {known / 1000:.2f} g: it is not of the whole."
    sheet.say("density-of-other-weight", text)
    return False


def _same_stones(sheet: Sheet, usable: list[Weighed], some: float) -> bool:
    """Whether a density that takes stones off leaves the net weight on which the article is bought."""
    for weighed in usable:
        stones = weighed.test.stone_ug / 1e3
        if stones and sheet.net_mg is not None and abs(weighed.mass * 1e3 - sheet.net_mg) > some + stones / 10:
            text = (
                f"The density takes off {stones / 1000:.2f} g of stones, which leaves {weighed.mass:.2f} g, and the net"
                f" weight is {sheet.net_mg / 1000:.2f} g: it is not used."
            )
            sheet.say("density-of-other-stones", text)
            return False
    return True


def _one_density(sheet: Sheet, weighed: Weighed, sight: Sight) -> bool:
    """Whether this density bears out that the metal of this reading goes all through.

    Two readings of the weighing are held against it, both in displaced volume: the metal read all through, and a layer
    of it over the densest base metal that it could lie on. The second must be shut out before the first counts.
    """
    wanted = density.predicted(sight.elements)
    solid = weighed.mass / wanted
    u = math.hypot(weighed.volume_u, weighed.mass_u / wanted)
    spread = math.hypot(AGREES * u, 2 * solid * sheet.policy.model_ppm / 1e6)
    core = coats.densest_core(sight)
    layered = weighed.mass * (LAYER_SHARE / wanted + (1 - LAYER_SHARE) / core.density)
    over = weighed.volume - solid
    shut_out = layered - weighed.volume > CERTAIN * u
    figures = f"{weighed.words()} on {weighed.mass:.2f} g, {wanted:.2f} expected of the metal read"
    if over < -spread:
        sheet.suspicions.add("dense-core")
        sheet.block("density-high", f"Density {figures}: a denser metal inside.", "cut-or-drill")
    elif over > spread and (shut_out or layered - solid >= 2 * spread):
        _too_light(sheet, weighed, sight, figures)
    elif not shut_out and over > spread:
        text = (
            f"Density {figures}: nearer to a layer over {core.words}, but too small a piece for this scale to decide."
        )
        sheet.say("density-too-light", text)
    elif not shut_out:
        _too_small(sheet, figures, core.words, (CERTAIN * u / (layered - solid) if layered > solid else 0.0))
    elif weighed.mass * 1000 < sheet.policy.density_limit_mg:
        limit = sheet.policy.density_limit_mg / 1000
        sheet.say("density-below-limit", f"Density {figures}: agrees, but decides only from {limit:g} g.")
    else:
        sheet.say("density-agrees", f"Density {figures}: agrees; a layer over {core.words} is shut out.")
        return True
    return False


def _too_small(sheet: Sheet, figures: str, core: str, times: float) -> None:
    text = f"Density {figures}: it does not shut out a layer over {core}"
    if times > 1:
        text += f"; that would take a piece {times:.1f} times as heavy, or a finer scale"
    sheet.say("density-too-light", f"{text}.")


def _too_light(sheet: Sheet, weighed: Weighed, sight: Sight, figures: str) -> None:
    if sheet.declared("layered", "plated"):
        sheet.say("density-fits-layer", f"Density {figures}: as the mark says, another metal inside.")
        return
    if sheet.cavity:
        sheet.say("density-of-cavity", f"Density {figures}: the cavity or its filling takes part in it.")
        return
    if weighed.density < 8.0:
        what, construction = "a cavity or a light filling", "weighted-or-hollow"
    elif weighed.density < 9.1 and sight.metal == "gold":
        what, construction = "a base core under a layer of gold, or a cavity", "layered"
    elif weighed.density < 9.1:
        what, construction = "a base core under plate, or a cavity", "plated"
    else:
        what, construction = "a lighter metal or a cavity inside", "undetermined"
    sheet.block("density-low", f"Density {figures}: {what}.", "filed-xrf")
    if construction != "undetermined":
        sheet.judge(60, construction, "likely", "density-low")


def fine_gold(sheet: Sheet) -> None:
    """Tungsten is as dense as gold: fine gold from some weight on needs a test that tells them apart."""
    if sheet.mixed or not any(sight.metal == "gold" and sight.ppm("gold") >= 990_000 for sight in sheet.body):
        return
    weight = sheet.weight_mg
    if (weight is not None and weight < sheet.policy.fine_limit_mg) or sheet.declared("plated", "layered"):
        return
    heavy = weight is None or weight > sheet.policy.heavy_limit_mg
    cleared = bool(sheet.found.melts) or sheet.cut_shows("one-metal")
    for gauge in sheet.found.ultrasounds:
        if abs(gauge.shown_um - gauge.calliper_um) * 20 <= gauge.calliper_um:
            sheet.say("ultrasound-agrees", "Ultrasound at gold's speed shows the thickness that the calliper does.")
            cleared = True
        else:
            shown, calliper = gauge.shown_um / 1000, gauge.calliper_um / 1000
            _dense(sheet, f"Ultrasound shows {shown:.2f} mm where the calliper shows {calliper:.2f} mm")
    for test in _counting(sheet):
        coil = _together(test.readings, "gold", test.uncertainty)
        if not coil.agrees:
            shown = min(iacs for _, iacs in test.readings) / 1000
            _dense(sheet, f"The conductance, {shown:.1f} % IACS, is not that of fine gold, {GOLD_IACS:.1f}")
        elif coil.differ:
            _dense(sheet, "The conductance changes with the frequency")
        elif len({kilohertz for kilohertz, _ in test.readings}) > 1 and not heavy:
            text = f"in the outer {coil.clears_mm:.2f} mm a core of tungsten would have shown"
            sheet.say("conductance-agrees", f"The conductance at two frequencies is that of fine gold: {text}.")
            cleared = True
    if not cleared and "core-under-gold" not in sheet.blocks:
        text = "Tungsten is as dense as gold: neither surface nor density tells them apart."
        sheet.block("tungsten", text, "ultrasound-or-drill" if heavy and weight else "conductance-or-ultrasound")


def _dense(sheet: Sheet, text: str) -> None:
    sheet.suspicions.add("dense-core")
    sheet.block("core-under-gold", f"{text}: another metal lies inside.", "ultrasound-or-drill")


def _counting(sheet: Sheet) -> list[Conductance]:
    """Conductances of pieces thick enough for them."""
    counting = []
    for test in sheet.found.conductances:
        lowest = min(kilohertz for kilohertz, _ in test.readings)
        poorest = min(iacs for _, iacs in test.readings) / 1000
        needs = conductance.TO_BE_SEEN * conductance.skin_mm(lowest, poorest)
        if test.thickness_um is None or test.thickness_um >= needs * 1000:
            counting.append(test)
        else:
            text = f"{test.thickness_um / 1000:.2f} mm is too thin for {lowest} kHz, which needs {needs:.2f} mm"
            sheet.say("conductance-too-thin", f"A conductance is not used: {text}.")
    return counting


@lru_cache(maxsize=256)
def _together(readings: tuple[tuple[int, int], ...], metal: str, uncertainty: int | None) -> conductance.Cleared:
    """The readings as `conductance` takes them; it scans depths, so one answer serves every assessment of a slip."""
    shown = [(float(kilohertz), iacs / 1000) for kilohertz, iacs in readings]
    known = conductance.METALS[metal]
    spread = conductance.SPREAD if uncertainty is None else uncertainty / 1000 / known.low
    return conductance.together(shown, metal, spread=spread)


_BASES = ("brass", "copper", "nickel silver", "stainless steel")


def conductances(sheet: Sheet) -> None:
    """Conductance of karat gold and of silver against what base metals under them would show.

    Karat gold conducts 10 to 25 % IACS and brass 28, silver from 800 on more than 80 and no base metal but copper more
    than 30: a reading beyond shows another metal under the surface, and one within shuts out the others but is no proof
    of solid metal, because bronze conducts as karat gold does and copper as silver. Source: ASTM B596, B477 and B617 as
    published; brass C26000, 28 (Copper Development Association).
    """
    if sheet.mixed or sheet.declared("plated", "layered") or not sheet.body:
        return
    karat = all(sight.metal == "gold" and sight.ppm("gold") < 900_000 for sight in sheet.body)
    silver = all(sight.metal == "silver" and sight.ppm("silver") >= 750_000 for sight in sheet.body)
    for test in _counting(sheet) if karat or silver else ():
        shown = [iacs for _, iacs in test.readings]
        figures = f"Conductance {min(shown) / 1000:.1f} % IACS"
        if karat and min(shown) > 26_000:
            text = f"{figures}: more than karat gold, as brass or copper would show."
            sheet.block("conductance-high", text, "filed-xrf")
        elif silver and max(shown) < 60_000:
            sheet.block("conductance-low", f"{figures}: less than silver, as a base metal would show.", "filed-xrf")
        else:
            coil = _together(test.readings, "karat gold" if karat else "sterling silver", test.uncertainty)
            out = ", ".join(base for base in _BASES if base in coil.excluded)
            if out:
                sheet.say("conductance-shuts-out", f"{figures}: no {out} lies as deep as the coil sees.")
