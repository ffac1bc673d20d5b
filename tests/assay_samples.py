"""Evidence documents for the tests of the assay room, written short."""

from typing import Any

from ledger.assay import density
from ledger.assay.assessments import Assessment, Policy
from ledger.assay.evidence import read
from ledger.assay.weighing import weigh

Document = dict[str, Any]


def xrf(spot: str = "", *, test: str = "xrf", part: str = "", **elements: float) -> Document:
    """One reading in per thousand: xrf(Au=584, Cu=416)."""
    document = {**xrf_of(elements), "test": test}
    places = {"spot": spot, "part": part}
    document["readings"][0] |= {name: place for name, place in places.items() if place}
    return document


def xrf_of(elements: dict[str, float]) -> Document:
    """One reading of a table of elements in per thousand."""
    found = {symbol: f"{ppt:g}" for symbol, ppt in elements.items()}
    return {"test": "xrf", "unit": "per-mille", "readings": [{"elements": found}]}


def filed(part: str = "", **elements: float) -> Document:
    """One reading in a filed notch."""
    return xrf("notch", test="filed-xrf", part=part, **elements)


def streak(karat: int, result: str, depth: str = "light", **more: Any) -> Document:
    """One streak under acid."""
    return {"test": "streak", "acid_karat": str(karat), "depth": depth, "result": result, **more}


def dense(grams: float, gravity: float, **more: Any) -> Document:
    """The two weighings that give this density on a 0.01 g scale at 20 degrees, worked backwards from the formula."""
    in_water = grams - grams / (gravity - density.AIR) * (density.water(20) - density.AIR)
    figures = {"air": f"{grams:.4f}", "water": f"{in_water:.4f}", "unit": "g", "interval": "0.01"}
    return {"test": "density", **figures, "water_temperature": "20", **more}


def assess(
    *tests: Document, marks: str | list[tuple[str, str]] = "", grams: float | None = None, **more: Any
) -> Assessment:
    """The assessment of some tests; marks: one stamp, or several with their places."""
    stamps = marks if isinstance(marks, list) else [(marks, "")] if marks else []
    net_mg = None if grams is None else round(grams * 1000)
    policy = more.pop("policy", Policy())
    return weigh(read(list(tests)), marks=stamps, net_mg=net_mg, policy=policy, **more)


def owed(assessment: Assessment) -> list[str]:
    """The tests owed, by name."""
    return [each.test for each in assessment.owed]
