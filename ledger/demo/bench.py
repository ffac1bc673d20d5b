"""Tests, weighings and measurements written short, as a clerk would jot them down, made into members of a slip.

>>> xrf("inside: Au 584, Cu 416")["readings"]
[{'spot': 'inside', 'elements': {'Au': '584', 'Cu': '416'}}]
>>> weighed("6.42 g")[0]["paid_on"], sizes("ring us 9.5", "width 4 mm")[1]["unit"]
(True, 'mm')
"""

from typing import Any

Members = dict[str, Any]

SCALE = "scale-1"
"""reads to 0.01 g"""
BIG_SCALE = "scale-2"
"""reads to 0.1 g"""


def xrf(*readings: str, **more: Any) -> Members:
    """X-ray readings of the surface, per thousand: "place: Au 584, Cu 416"."""
    return {
        "test": "xrf",
        "instrument": "xrf-1",
        "unit": "per-mille",
        "readings": [_reading(r) for r in readings],
    } | more


def filed(reading: str, mark_left: str) -> Members:
    """A reading in a filed notch, to which the seller agreed."""
    agreed = {"consent": {"given": True, "mark_left": mark_left}}
    return xrf(reading) | {"test": "filed-xrf"} | agreed


def _reading(text: str) -> Members:
    place, _, figures = text.partition(": ")
    kind, _, name = place.rpartition("=")
    elements = {}
    for figure in figures.split(", "):
        symbol, share = figure.split()
        elements[symbol] = share
    return {kind or "spot": name, "elements": elements}


def streak(karat: str, result: str, depth: str = "light") -> Members:
    """A touchstone streak under the acid for a karat."""
    return {
        "test": "streak",
        "instrument": "touchstone-1",
        "acid_karat": karat,
        "depth": depth,
        "result": result,
        "batch": f"{karat} karat, opened in September 2026",
    }


def density(air: str, water: str, **more: Any) -> Members:
    """Weighed in air and in water of 21 degrees, in grams."""
    figures = {"air": air, "water": water, "unit": "g", "interval": "0.01", "water_temperature": "21"}
    return {"test": "density", "instrument": SCALE, **figures, **more}


def magnet(pull: str, spot: str = "") -> Members:
    """A strong magnet held against it."""
    return {"test": "magnet", "instrument": "magnet-1", "pull": pull} | ({"spot": spot} if spot else {})


def conductance(*readings: str) -> Members:
    """Eddy-current readings: "60 kHz 75.8"."""
    pairs = [reading.split(" kHz ") for reading in readings]
    told = [{"kilohertz": frequency, "iacs": iacs} for frequency, iacs in pairs]
    return {"test": "conductance", "instrument": "conductance-1", "readings": told}


def seen(*shows: str, text: str) -> Members:
    """What the loupe showed."""
    return {"test": "visual", "instrument": "loupe-1", "shows": list(shows), "text": text}


def weighed(gross: str, **others: str) -> list[Members]:
    """Weighings in the order gross, others; the offer rests on net where it was weighed, else on gross."""
    told = {"gross": gross, **others}
    paid_on = "net" if "net" in told else "gross"
    made = []
    for what, shown in told.items():
        value, unit = shown.split()
        scale = BIG_SCALE if unit == "g" and float(value) > 500 else SCALE
        made.append({"what": what, "value": value, "unit": unit, "scale": scale, "paid_on": what == paid_on})
    return made


def sizes(*texts: str) -> list[Members]:
    """Measurements: "ring us 9.5", "length 46 cm"."""
    made = []
    for text in texts:
        what, second, third = text.split()
        ring = {"what": what, "system": second, "value": third}
        made.append(ring if what == "ring" else {"what": what, "value": second, "unit": third})
    return made


def marked(text: str, where: str) -> list[Members]:
    """One mark, as read, and where."""
    return [{"text": text, "where": where}]
