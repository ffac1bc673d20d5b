"""Random evidence documents, from sound to absurd, for the counts in tests/test_assay_bench.py.

A document is what `evidence.read` takes and what goes with it: marks, weights, colour, stones, consent. Most tests
hang together (a reading that adds up, a density near it), some are nonsense that the form allows.
"""

from dataclasses import dataclass, replace
from random import Random
from typing import Any

from ledger.assay.assessments import CONFIDENCES, CONSTRUCTIONS, OWED, STANDINGS, Assessment
from ledger.assay.density import ELEMENTS
from ledger.assay.evidence import read
from ledger.assay.evidence_schema import CHOICES
from ledger.assay.tolerances import Made
from ledger.assay.weighing import weigh
from tests.assay_samples import dense

Document = dict[str, Any]

NUMBERS = (
    "0", "0.001", "0.5", "1", "9", "10", "14", "18", "18.5", "24", "77.9", "500", "585", "925", "999.9", "1000", "1001",
    "999999999",
)  # fmt: skip
PARTS = ("", "", "", "", "clasp", "chain", "blade", "Handle ")
STAMPS = (
    "14K", "14K", "18K", "10K", "585", "750", "925", "STERLING", "1/20 12K GF", "14K GF", "18KGP", "GS", "84", "56",
    "STERLING WEIGHTED", "PT950", "999.9", "EPNS", "VERMEIL 925", "14K HOLLOW", "QZX", "INOX", "10K 14K", "??K", "1?K",
    "1/20", "PM", "950PD", "1/10 10K", "14K CLASP", "STERLING HANDLE", "1 OZ 9999", "12 LOT", "", "?",
)  # fmt: skip
ALLOYS: tuple[dict[str, int], ...] = (
    {"Au": 584, "Ag": 119, "Cu": 257, "Zn": 40}, {"Au": 417, "Ag": 110, "Cu": 405, "Zn": 68}, {"Au": 999, "Ag": 1},
    {"Au": 750, "Ag": 125, "Cu": 125}, {"Au": 585, "Ni": 110, "Cu": 240, "Zn": 65}, {"Au": 917, "Ag": 55, "Cu": 28},
    {"Ag": 925, "Cu": 75}, {"Ag": 994, "Cu": 3, "Zn": 3}, {"Pt": 950, "Co": 50}, {"Pd": 950, "Ru": 50},
    {"Cu": 700, "Zn": 300}, {"Au": 206, "Cu": 468, "Ni": 195, "Zn": 131}, {"Au": 550, "Cu": 381, "Rh": 69},
    {"Ag": 788, "Au": 166, "Cu": 46}, {"Fe": 720, "Cr": 180, "Ni": 100}, {"Au": 917, "Ag": 70, "Ir": 13},
)  # fmt: skip


@dataclass(frozen=True)
class Case:
    """One document and what goes with it."""

    tests: tuple[Document, ...]
    around: Document

    def assessed(self) -> Assessment:
        """What the room says."""
        return weigh(read(list(self.tests)), **self.around)

    def with_one_more(self, test: Document) -> "Case":
        """The same with one more test."""
        return replace(self, tests=(*self.tests, test))


def case(random: Random) -> Case:
    """A document of up to six tests."""
    tests = tuple(test(random) for _ in range(random.choice((0, 1, 2, 2, 3, 3, 4, 6))))
    around: Document = {}
    if random.random() < 0.8:
        around["marks"] = [(random.choice(STAMPS), random.choice(PARTS)) for _ in range(random.choice((1, 1, 1, 2, 3)))]
    weighed = [float(each["air"]) for each in tests if each["test"] == "density" and float(each["air"]) < 1e4]
    grams = weighed[0] if weighed and random.random() < 0.7 else random.choice((0.0, 0.4, 3.1, 12.0, 31.1, 250.0))
    for name in ("gross_mg", "net_mg"):
        if random.random() < 0.6:
            around[name] = round(grams * 1000)
    if random.random() < 0.1:
        around["stones_mg"] = random.choice((0, 200, 10**6))
    if random.random() < 0.1:
        around["made"] = Made.read(random.choice(({"country": "US"}, {"from": "1920", "to": "1970"}, {})))
    around["colour"] = random.choice(("", "yellow", "rose", "white", "grey", "two-tone"))
    around["stone_set"] = random.random() < 0.1
    around["consent"] = random.choice((None, None, True, False))
    return Case(tests, around)


SURFACE = ("xrf", "streak", "silver-streak", "visual", "magnet")
"""Tests that see the surface, or what lies open to the eye; streaks of them are light."""


def test(random: Random, *names: str) -> Document:
    """One test of one of these kinds, or of any."""
    name = random.choice(names or tuple(_MAKERS))
    made: Document = {"test": name, **_MAKERS[name](random)}
    if name != "xrf" and random.random() < 0.25:
        made["part"] = random.choice(PARTS)
    if name in ("filed-xrf", "cut", "melt") and random.random() < 0.5:
        made["consent"] = {"given": random.random() < 0.7, "mark_left": random.choice(("", "a notch"))}
    return made


test.__test__ = False  # type: ignore[attr-defined]


def surface(random: Random) -> Document:
    """One test of the surface."""
    made = test(random, *SURFACE)
    return {**made, "depth": "light"} if "depth" in made else made


def elements(random: Random) -> Document:
    """A reading: mostly an alloy a little off, sometimes anything."""
    if random.random() < 0.1:
        return {symbol: random.choice(NUMBERS) for symbol in random.sample(sorted(ELEMENTS), random.randrange(5))}
    alloy = random.choice(ALLOYS)
    return {symbol: f"{max(ppt * random.gauss(1, 0.01), 0):.1f}" for symbol, ppt in alloy.items()}


def _xrf(random: Random) -> Document:
    readings = []
    for _ in range(random.choice((1, 1, 2, 3))):
        reading: Document = {"elements": elements(random)}
        if random.random() < 0.2:
            reading["part"] = random.choice(PARTS)
        readings.append(reading)
    more = {"uncertainty": random.choice(NUMBERS)} if random.random() < 0.2 else {}
    return {"unit": "per-mille", "readings": readings, "geometry": random.choice(CHOICES["geometry"]), **more}


def _streak(random: Random) -> Document:
    made: Document = {name: random.choice(CHOICES[name]) for name in ("depth", "result")}
    made["acid_karat"] = random.choice(("10", "14", "18", *NUMBERS))
    if random.random() < 0.3:
        made["needles"] = random.random() < 0.5
    if random.random() < 0.3:
        made["control"] = {"karat": random.choice(NUMBERS), "result": random.choice(CHOICES["result"])}
    return made


def _silver_streak(random: Random) -> Document:
    return {"colour": random.choice(CHOICES["colour"]), "depth": random.choice(CHOICES["depth"])}


def _density(random: Random) -> Document:
    if random.random() < 0.75:
        gravity = random.choice((2.0, 6.5, 8.6, 9.6, 10.4, 11.5, 12.7, 13.1, 15.4, 17.9, 19.3, 20.0, 30.0))
        made = dense(random.choice((0.5, 2.0, 3.1, 8.0, 31.1, 250.0)), gravity)
        del made["test"]
    else:
        made = {"air": random.choice(NUMBERS), "water": random.choice(NUMBERS), "unit": random.choice(("g", "dwt"))}
        for name in ("interval", "water_temperature", "air_after"):
            if random.random() < 0.4:
                made[name] = random.choice(NUMBERS)
    if random.random() < 0.1:
        made["bubbles"] = random.choice(CHOICES["bubbles"])
    if random.random() < 0.1:
        weight, gravity_of = random.choice(NUMBERS), random.choice(NUMBERS)
        made["stones"] = {"weight": weight, "unit": "ct", "density": gravity_of, "estimated": random.random() < 0.5}
    return made


def _conductance(random: Random) -> Document:
    readings = [
        {"kilohertz": random.choice(("60", "480", "0", "1000000")), "iacs": random.choice(("14", "28", *NUMBERS))}
        for _ in range(random.choice((1, 2)))
    ]
    made: Document = {"readings": readings}
    for name in ("uncertainty", "thickness_mm"):
        if random.random() < 0.3:
            made[name] = random.choice(NUMBERS)
    return made


def _visual(random: Random) -> Document:
    return {"shows": random.sample(CHOICES["visual"], random.choice((1, 1, 2)))}


def _melt(random: Random) -> Document:
    made: Document = {"metal": random.choice(CHOICES["metal"]), "method": random.choice(CHOICES["method"])}
    made["fineness"] = random.choice(("583", "584.5", "925", *NUMBERS))
    if random.random() < 0.3:
        made |= {"before": "10", "after": "9.97", "unit": "g"}
    if random.random() < 0.5:
        made["uncertainty"] = random.choice(("0.5", "2", *NUMBERS))
    return made


def _consent(random: Random) -> Document:
    to = {"to": random.sample(CHOICES["leaves-a-mark"], 2)} if random.random() < 0.5 else {}
    return {"given": random.random() < 0.5, **to}


_MAKERS: dict[str, Any] = {
    "xrf": _xrf,
    "filed-xrf": _xrf,
    "streak": _streak,
    "silver-streak": _silver_streak,
    "density": _density,
    "magnet": lambda random: {"pull": random.choice(CHOICES["pull"])},
    "conductance": _conductance,
    "ultrasound": lambda random: {"calliper_mm": random.choice(NUMBERS), "shown_mm": random.choice(NUMBERS)},
    "visual": _visual,
    "cut": lambda random: {"shows": random.choice(CHOICES["cut"])},
    "stripped": lambda random: {"who": random.choice(CHOICES["who"]), "shell": random.choice(NUMBERS), "unit": "g"},
    "melt": _melt,
    "consent": _consent,
}


def check(found: Assessment) -> None:
    """What holds for every assessment. Raises: AssertionError."""
    assert found.construction in CONSTRUCTIONS, found
    assert found.standing in STANDINGS, found
    assert found.confidence in CONFIDENCES, found
    assert found.confidence_rule, found
    assert found.reasons, found
    assert {each.test for each in found.owed} <= set(OWED), found
    assert found.headline().endswith("."), found
    if found.payable is not None:
        assert 0 <= found.payable.low_ppm <= found.payable.high_ppm <= 1_000_000, found
        assert found.paid_fineness_ppm is not None, found
        # At the low end, or at the mark where that is lower: never above what is shown.
        assert 0 <= found.paid_fineness_ppm <= found.payable.high_ppm, found
    if found.construction == "solid":
        assert found.confidence == "shown", found
