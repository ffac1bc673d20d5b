"""Commands that reckon at the bench: a density, and what a coating would look like. They write nothing.

Decides: what is asked, and how the answer is said. Leaves the physics to the assay room. Figures are rounded to the
nearest where they are printed; nothing here is for paying.
"""

import re
from collections.abc import Mapping
from fractions import Fraction
from typing import Any

import click

from ledger.assay import alloys, density, layers, xray
from ledger.assay.density import Comparison, Measured
from ledger.assay.layers import Coating
from ledger.cli import said
from ledger.cli.assays import CAUTION
from ledger.cli.options import Asked, as_json
from ledger.errors import InputError
from ledger.measures import UNITS, decimal, unit

BUBBLES = (
    "Shake off bubbles, weigh three times, and in air again after the bath: water that got in makes it void, and so"
    " does a closed hollow piece."
)
NOT_FOR_PAYING = "This is reckoned, not measured: it says what a piece can be, never what it is worth."


@click.command()
@click.option("--karat", metavar="K", required=True, help="Karat of the layer, such as 14 or 18.5.")
@click.option("--microns", metavar="UM", help="Thickness of the layer in micrometres; else --fraction.")
@click.option("--fraction", metavar="1/N", help="Share of the weight that the layer has, as stamped on gold-filled.")
@click.option("--sheet", metavar="MM", help="With --fraction: thickness of the base, covered on both sides.")
@click.option("--wire", metavar="MM", help="With --fraction: outer diameter of round wire.")
@click.option("--on", metavar="METAL", required=True, help=f"What it lies on: {', '.join(alloys.BASES)}.")
@click.option("--colour", metavar="COLOUR", default="yellow", help=f"One of {', '.join(alloys.COLOURS)}.")
@click.option("--nickel", metavar="UM", default="0", help="Micrometres of nickel between both.")
@click.option("--good-to", metavar="PPT", default="10", help="How good the reading is, per thousand (k = 2).")
@as_json
@click.pass_obj
def coating(
    asked: Asked,
    karat: str,
    microns: str | None,
    fraction: str | None,
    sheet: str | None,
    wire: str | None,
    on: str,
    colour: str,
    nickel: str,
    good_to: str,
) -> None:
    """Say what an X-ray reading of a coating would show.

    Instruments differ in their light, so two readings are given: between them lies what an analyser may show. The
    thickness is given, or follows from the fraction stamped on gold-filled and the shape of the ware.
    """
    u_ppm = round(decimal(good_to, "good-to") * 1_000)
    fine, barrier = float(decimal(karat, "karat")), float(decimal(nickel, "nickel"))
    if (microns is None) == (fraction is None):
        given = "neither" if microns is None else "both"
        raise InputError(
            field="microns, fraction", given=given, wanted="one of them: a thickness, or a share such as 1/20"
        )
    if microns is not None:
        seen = layers.coating(fine, float(decimal(microns, "microns")), on, colour=colour, barrier_um=barrier)
        more: dict[str, Any] = {"called": seen.called()}
        line = f"As electroplate, by 16 CFR 23 as it stood until 2018, that is {seen.called()}."
    else:
        share = _share(fraction or "")
        shape = {name: float(decimal(text, name)) for name, text in (("sheet", sheet), ("wire", wire)) if text}
        seen = layers.filled(
            float(share), fine, on=on, colour=colour, sheet_mm=shape.get("sheet"), wire_mm=shape.get("wire")
        )
        more, line = _filled(share, fine, seen)
    document, lines = _coating(seen, f"{karat} karat {_colour(colour)}", on, u_ppm)
    document |= more | {"caution": f"{NOT_FOR_PAYING} {CAUTION}"}
    said.answer(asked, document, [*lines, line, NOT_FOR_PAYING, CAUTION])


def _share(text: str) -> Fraction:
    match = re.fullmatch(r"([1-9]\d{0,2})/([1-9]\d{0,3})", text.strip())
    share = Fraction(int(match[1]), int(match[2])) if match else Fraction(0)
    if not 0 < share < 1:
        raise InputError(field="fraction", given=text, wanted="a share of the weight below one, such as 1/20")
    return share


def _filled(share: Fraction, karat: float, seen: Coating) -> tuple[dict[str, Any], str]:
    most = layers.overall_ppm(share, min(seen.own_ppm, round(karat * 1_000_000 / 24)))
    called = layers.called_filled(share, karat)
    line = (
        f"The whole holds at most {most / 1_000:.1f} per thousand of gold, as made. By 16 CFR 23.3 it may be called"
        f" {called}."
    )
    return {"fraction": str(share), "overall_at_most_ppm": most, "called": called}, line


def _coating(seen: Coating, named: str, on: str, u_ppm: int) -> tuple[dict[str, Any], list[str]]:
    base, um = alloys.BASES[on], seen.layers[0].um or 0.0
    low, high = seen.gold_ppm
    between = [
        round(layers.hidden_from_um(seen.own, base, u_ppm, light), 1) for light in (xray.TUBE_LIGHT, xray.MIDDLE)
    ]
    depths = [xray.depth_um(seen.own, "Au La", kev=kev) for kev in (20, 25)]
    elements = sorted(seen.reads, key=lambda element: -seen.reads_tube[element])
    table = said.table(
        ("metal", "layer itself", "reads (32 keV)", "reads (40 kV tube)"),
        [(one, *(_ppt(parts.get(one, 0.0)) for parts in (seen.own, seen.reads, seen.reads_tube))) for one in elements],
        right=("layer itself", "reads (32 keV)", "reads (40 kV tube)"),
    )
    hidden = seen.hidden(u_ppm)
    good = f"{u_ppm / 1_000:g} per thousand"
    says = (
        f"{um:.4g} micrometres of {named} on {base.words}: a reading shows gold {low / 1_000:.0f} to"
        f" {high / 1_000:.0f} per thousand, like {low * 24 / 1e6:.1f} to {high * 24 / 1e6:.1f} karat; the layer itself"
        f" is {seen.own_ppm / 1_000:.0f}."
    )
    told = (
        f"A reading good to {good} may not tell it from solid gold of this karat."
        if hidden
        else f"A reading good to {good} tells it from solid gold of this karat."
    )
    return {
        "says": says,
        "told": told,
        "hidden": hidden,
        "layer": _ppm(seen.own),
        "reads_32_kev": _ppm(seen.reads),
        "reads_40_kv_tube": _ppm(seen.reads_tube),
        "hidden_from_nm": [round(1_000 * value) for value in between],
        "gold_seen_to_nm": [round(1_000 * value) for value in depths],
        "thickness_nm": round(1_000 * um),
        "fine_gold_nm": round(1_000 * seen.fine_um),
        "fine_gold_by_fineness_nm": round(1_000 * layers.by_fineness_um(um, seen.own)),
        "gold_ug_per_cm2": round(1_000 * layers.mg_per_cm2(um, seen.own)),
    }, [
        says,
        table,
        told,
        f"Such a layer, without nickel, passes for solid from {min(between):g} to {max(between):g} micrometres on:"
        " it depends on the instrument's light.",
        f"99 % of gold's signal comes from the outer {depths[0]:.0f} to {depths[1]:.0f} micrometres of such gold.",
        f"It holds {layers.mg_per_cm2(um, seen.own):.2f} mg of gold on a square centimetre, as {seen.fine_um:.2f}"
        f" micrometres of fine gold do ({layers.by_fineness_um(um, seen.own):.2f} where fineness alone is reckoned).",
    ]


def _colour(name: str) -> str:
    colour, _, whitener = name.partition("-")
    return f"{colour} gold" + (f" with {whitener}" if whitener else "")


def _ppt(part: float) -> str:
    return f"{part * 1_000:.1f}" if part else ""


def _ppm(parts: Mapping[str, float]) -> dict[str, int]:
    return {element: round(1e6 * part) for element, part in parts.items()}


# What a density is held against where no reading is given.
_KNOWN: dict[str, float] = {
    **{f"{karat} karat yellow gold": density.predicted(alloys.gold(karat)) for karat in (24, 22, 18, 14, 10, 9)},
    "14 karat white gold with nickel": density.predicted(alloys.gold(14, "white-nickel")),
    "18 karat white gold with palladium": density.predicted(alloys.gold(18, "white-palladium")),
    "950 platinum": density.predicted({"Pt": 0.95, "Ru": 0.05}),
    "950 palladium": density.predicted({"Pd": 0.95, "Ru": 0.05}),
    "fine silver": density.predicted({"Ag": 1.0}),
    **{base.words: base.density for base in alloys.BASES.values()},
    # 1/20 of 14 karat by weight on brass.
    "gold-filled, 1/20 14 karat on brass": 1 / (0.05 / density.predicted(alloys.gold(14)) + 0.95 / 8.53),
    "lead": density.ELEMENTS["Pb"],
}
_CORES = ("brass", "copper", "sterling", "tungsten")


@click.command(name="density")
@click.option("--air", metavar="WEIGHT", required=True, help="Weight in air.")
@click.option("--water", metavar="WEIGHT", required=True, help="Weight hanging in water.")
@click.option("--at", metavar="TEMPERATURE", default="20C", help="Of the water: 20C or 68F.", show_default=True)
@click.option("--unit", "named", metavar="UNIT", default="g", help="Of all the weights.", show_default=True)
@click.option("--interval", metavar="WEIGHT", help="The scale's smallest step; else the last digit given.")
@click.option("--stones", metavar="WEIGHT", help="Weight of the stones, if there are any.")
@click.option("--stone", metavar="KIND", help=f"{', '.join(density.STONES)}, or a density in g/cm3.")
@click.option("--reading", metavar="ELEMENTS", help='What was read, such as "Au585 Ag120 Cu255 Zn40".')
@as_json
@click.pass_obj
def density_(
    asked: Asked,
    air: str,
    water: str,
    at: str,
    named: str,
    interval: str | None,
    stones: str | None,
    stone: str | None,
    reading: str | None,
) -> None:
    """Say what weights in air and in water show.

    With a reading, the room that the piece takes up is held against that of the metal read.
    """
    celsius = _celsius(at)
    grams = UNITS[unit(named)] / 1_000
    step = decimal(interval, "interval") if interval else _last_digit(air, water)
    piece = _measured(air, water, grams, celsius, float(step * grams), stones, stone)
    parts = _composition(reading) if reading else None
    shown = f"{air} and {water} {named}, water at {celsius:g} C, scale to {float(step):g} {named}"
    document, lines = _density(piece, shown, float(step * grams), celsius, parts)
    said.answer(asked, {**document, "caution": f"{BUBBLES} {CAUTION}"}, [*lines, BUBBLES, CAUTION])


def _last_digit(*figures: str) -> Fraction:
    """The coarser of the last digits: a weight written shorter was read no better."""
    return max(Fraction(1, 10 ** len(text.partition(".")[2])) for text in figures)


def _celsius(text: str) -> float:
    match = re.fullmatch(r"\s*(-?\d{1,3}(?:\.\d{1,3})?)\s*°?\s*([CF]?)\s*", text, re.IGNORECASE)
    wanted = "water between 0C and 40C, such as 20C or 68F"
    if not match:
        raise InputError(field="at", given=text, wanted=wanted)
    celsius = float(match[1])
    if match[2].upper() == "F":
        celsius = (celsius - 32) / 1.8
    if not 0 <= celsius <= 40:
        raise InputError(field="at", given=text, wanted=wanted)
    return celsius


def _measured(
    air: str, water: str, grams: Fraction, celsius: float, step: float, stones: str | None, stone: str | None
) -> Measured:
    above, below = decimal(air, "air") * grams, decimal(water, "water") * grams
    if not 0 < below < above:
        wanted = "a weight in water above nought and below the weight in air"
        raise InputError(field="water", given=f"{water} against {air} in air", wanted=wanted)
    if not step > 0:
        raise InputError(field="interval", given="0", wanted="the scale's smallest step, above nought")
    room = float(above - below) / (density.water(celsius) - density.AIR)
    mass = float(decimal(stones, "stones") * grams) if stones else 0.0
    each = _stone(stone) if mass else 1.0
    if mass >= above or mass / each >= room:
        wanted = "stones that leave some weight and some room for the metal"
        raise InputError(field="stones", given=stones, wanted=wanted)
    return density.measured(float(above), float(below), celsius=celsius, step=step, stone_mass=mass, stone_density=each)


def _stone(kind: str | None) -> float:
    wanted = f"a kind of stone ({', '.join(density.STONES)}) or its density in g/cm3, 1 to 10"
    if kind in density.STONES:
        return density.STONES[kind]
    try:
        each = float(decimal(kind or "", "stone"))
    except InputError:
        each = 0.0
    if not 1 <= each <= 10:
        raise InputError(field="stone", given=kind or "nothing", wanted=wanted)
    return each


def _composition(text: str) -> dict[str, float]:
    wanted = 'elements with their parts, such as "Au585 Ag120 Cu255 Zn40"'
    pairs = re.findall(r"([A-Za-z]{1,2})\s*([0-9.]+)", text)
    if not pairs or re.sub(r"[A-Za-z]{1,2}\s*[0-9.]+|[\s,;]", "", text):
        raise InputError(field="reading", given=text, wanted=wanted)
    parts: dict[str, float] = {}
    for symbol, figure in pairs:
        element = symbol.capitalize()
        if element not in density.ELEMENTS or element in parts:
            raise InputError(field="reading", given=text, wanted=f"{wanted}, each once")
        if part := float(decimal(figure, "reading")):
            parts[element] = part
    # Rhodium is a plate too thin to weigh; what lies below is what the density is of.
    metal = xray.without_rhodium(parts)
    if not metal:
        raise InputError(field="reading", given=text, wanted=f"{wanted}, and not of a rhodium plate alone")
    return metal


def _density(
    piece: Measured, shown: str, step: float, celsius: float, parts: dict[str, float] | None
) -> tuple[dict[str, Any], list[str]]:
    says = (
        f"{piece.density:.2f} g/cm3, good to {2 * piece.density_u:.2f} (k = 2): {piece.mass:.3f} g take up"
        f" {piece.volume:.4f} cm3 ({shown})."
    )
    document: dict[str, Any] = {
        "says": says,
        "density_mg_per_cm3": round(1_000 * piece.density),
        "uncertainty_mg_per_cm3": round(2_000 * piece.density_u),
        "mass_mg": round(1_000 * piece.mass),
        "volume_nl": round(1e6 * piece.volume),
    }
    more, lines = _against_reading(piece, step, celsius, parts) if parts else _against_known(piece)
    return document | more, [says, *lines]


def _against_known(piece: Measured) -> tuple[dict[str, Any], list[str]]:
    fitting = [name for name, wanted in _KNOWN.items() if density.compare(piece, wanted, model=0.01).says == "agrees"]
    ends = density.fineness_between(
        piece.density, piece.density_u, pure=density.ELEMENTS["Au"], rest=density.FAMILIES["yellow-rose"]
    )
    low, high = (round(1e6 * end) for end in ends)
    between = f"{low / 1_000:.0f} to {high / 1_000:.0f} per thousand"
    gold = (
        f"Solid yellow or rose gold of this density holds {between}: a density says little of fineness and much of what"
        " lies inside; give --reading to hold it against what was read."
        if high and low < 1_000_000
        else "No yellow or rose gold, solid all through, has this density."
    )
    fits = (
        f"It could be, by density alone: {', '.join(fitting)}." if fitting else "No metal known here has this density."
    )
    return {"fits": fitting, "gold_ppm": [low, high], "told": gold}, [fits, gold]


def _against_reading(
    piece: Measured, step: float, celsius: float, parts: dict[str, float]
) -> tuple[dict[str, Any], list[str]]:
    wanted = density.predicted(parts)
    result = density.compare(piece, wanted)
    from_mg = {
        name: None if grams is None else round(1_000 * grams)
        for name in _CORES
        for grams in [density.decides_from(wanted, alloys.BASES[name].density, step=step, celsius=celsius)]
    }
    shut_out = [
        alloys.BASES[name].words
        for name in _CORES
        if result.says == "agrees" and result.decides(alloys.BASES[name].density)
    ]
    voids = {
        filler: round(1_000 * density.void_share(piece.density, wanted, each))
        for filler, each in density.FILLERS.items()
        if result.says == "lighter"
    }
    told = _told(result, shut_out, voids)
    rows = [
        (alloys.BASES[name].words, "at no weight" if mg is None else f"{mg / 1_000:.2f} g")
        for name, mg in from_mg.items()
    ]
    return {
        "predicted_mg_per_cm3": round(1_000 * wanted),
        "room": result.says,
        "over_nl": round(1e6 * result.over),
        "spread_nl": round(1e6 * result.spread),
        "told": told,
        "shut_out": shut_out,
        "void_ppt": voids,
        "decides_from_mg": from_mg,
    }, [
        f"The metal read should show {wanted:.2f} g/cm3; the piece takes up {abs(result.over):.4f} cm3"
        f" {'more' if result.over > 0 else 'less'} than it would, and up to {result.spread:.4f} agree.",
        told,
        said.table(("a piece all of", "is told on this scale from"), rows, right=("is told on this scale from",)),
    ]


def _told(result: Comparison, shut_out: list[str], voids: dict[str, int]) -> str:
    if result.says == "lighter":
        shares = " or ".join(f"{filler} in {ppt / 10:.0f} %" for filler, ppt in voids.items() if ppt < 1_000)
        what = "a lighter metal under a layer, or a cavity or filling"
        return f"It takes up too much room: {what} ({shares} of its room would do)."
    if result.says == "denser":
        return "It takes up too little room: a denser metal inside."
    if not shut_out:
        return "It agrees, but at this weight so would other metals: it decides nothing."
    return f"It agrees: a piece all of {' or '.join(shut_out)} is shut out; a dense core beside a cavity is not."
