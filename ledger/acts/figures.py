"""How a test reads on a paper: its kind in words, every figure with its unit, who made it with what, and when.

Decides: words and order only; nothing that the record holds is left out.

>>> test_of({"test": "magnet", "pull": "weak", "by": "mara", "spot": "the band"}, None).figures
('weak pull',)
"""

from collections.abc import Callable, Iterator, Mapping
from datetime import tzinfo
from fractions import Fraction
from typing import Any

from ledger.errors import InputError
from ledger.moments import parse_moment
from reports import goods
from reports.page import moment

NOT_RECORDED = "not recorded"

NAMES = {
    "xrf": "X-ray reading",
    "filed-xrf": "X-ray reading, filed spot",
    "streak": "touchstone streak",
    "silver-streak": "touchstone streak under the acid for silver",
    "density": "density in water",
    "magnet": "magnet",
    "conductance": "conductance",
    "ultrasound": "ultrasound",
    "visual": "eye and loupe",
    "cut": "cut face",
    "stripped": "taken apart",
    "melt": "melt assay",
    "consent": "asked for consent",
}

Told = Mapping[str, Any]


def test_of(test: Told, zone: tzinfo | None) -> goods.Test:
    """A test of an item's evidence as a paper shows it. zone: of the purchase, in which moments are told."""
    kind = str(test["test"])
    return goods.Test(
        name=NAMES[kind],
        instrument=str(test.get("instrument", NOT_RECORDED)),
        by=str(test.get("by", NOT_RECORDED)),
        at=when(str(test.get("at", "")), zone),
        where=", ".join(str(test[name]) for name in ("spot", "part") if name in test),
        figures=(*_FIGURES[kind](test), *_common(test)),
    )


def when(text: str, zone: tzinfo | None) -> str:
    """A moment that a clerk or an instrument wrote, as papers print it; what names no moment stays as it is."""
    try:
        return moment(parse_moment(text, "at").astimezone(zone))
    except InputError:
        return text


def named(evidence: Any) -> str:
    """The kinds of test in an evidence, in order, for a field that asks which tests were made."""
    kinds = [str(test["test"]) for test in evidence if test["test"] != "consent"]
    counted = {kind: kinds.count(kind) for kind in kinds}
    return ", ".join(f"{NAMES[kind]}{f' ({count} times)' if count > 1 else ''}" for kind, count in counted.items())


def _common(test: Told) -> Iterator[str]:
    if "note" in test:
        yield str(test["note"])
    if "consent" in test:
        asked = test["consent"]
        mark = f", which leaves {asked['mark_left']}" if "mark_left" in asked else ""
        yield f"the seller {'agreed to' if asked['given'] else 'did not agree to'} this test{mark}"


_UNITS = {"per-mille": "per thousand", "per-cent": "per cent"}


def _xrf(test: Told) -> Iterator[str]:
    unit = _UNITS[test["unit"]]
    for reading in test["readings"]:
        place = ", ".join(str(reading[name]) for name in ("part", "spot") if name in reading)
        shares = sorted(reading["elements"].items(), key=lambda each: (-Fraction(each[1]), each[0]))
        read = ", ".join(f"{symbol} {share}" for symbol, share in shares)
        yield f"{f'{place}: ' if place else ''}{read} {unit}"
    if "uncertainty" in test:
        yield f"good to {test['uncertainty']} {unit} (k = 2)"
    if "geometry" in test:
        yield f"{test['geometry']} place"
    if "message" in test:
        yield f"the instrument said: {test['message']}"


_COLOURED = {
    "bright-red": "turned bright red",
    "dark-red": "turned dark red",
    "brown": "turned brown",
    "green": "turned green",
    "blue": "turned blue",
    "yellow": "turned yellow",
    "none": "kept its colour",
}
_DID = {"holds": "held", "fades": "faded", "gone": "dissolved at once"}


def _streak(test: Told) -> Iterator[str]:
    yield f"acid for {test['acid_karat']} karat: {_DID[test['result']]}"
    yield "rubbed deep" if test["depth"] == "deep" else "rubbed lightly"
    if "control" in test:
        yield f"known streak of {test['control']['karat']} karat beside it: {_DID[test['control']['result']]}"
    if test.get("needles"):
        yield "compared with needles"
    yield from _acid(test)


def _silver_streak(test: Told) -> Iterator[str]:
    yield f"acid for silver: {_COLOURED[test['colour']]}"
    yield "rubbed deep" if test["depth"] == "deep" else "rubbed lightly"
    if "control" in test:
        beside = test["control"]
        yield f"known streak of {beside['fineness']} per thousand beside it: {_COLOURED[beside['colour']]}"
    yield from _acid(test)


def _acid(test: Told) -> Iterator[str]:
    for name, words in (("batch", "batch of the acid"), ("opened", "acid opened")):
        if name in test:
            yield f"{words}: {test[name]}"


def _density(test: Told) -> Iterator[str]:
    unit = test["unit"]
    celsius = f" of {test['water_temperature']} °C" if "water_temperature" in test else ""
    yield f"{test['air']} {unit} in air, {test['water']} {unit} in water{celsius}"
    if "air_after" in test:
        yield f"{test['air_after']} {unit} in air after the bath"
    if "bubbles" in test:
        yield f"bubbles: {test['bubbles']}"
    if "stones" in test:
        stones = test["stones"]
        how = ", estimated" if stones.get("estimated") else ""
        yield f"stones: {stones['weight']} {stones['unit']} of {stones['density']} g/cm³{how}"
    if "interval" in test:
        yield f"the scale reads to {test['interval']} {unit}"


def _magnet(test: Told) -> Iterator[str]:
    yield f"{'no' if test['pull'] == 'none' else test['pull']} pull"


def _conductance(test: Told) -> Iterator[str]:
    for reading in test["readings"]:
        yield f"{reading['iacs']} % IACS at {reading['kilohertz']} kHz"
    if "uncertainty" in test:
        yield f"good to {test['uncertainty']} % IACS"
    if "thickness_mm" in test:
        yield f"{test['thickness_mm']} mm thick by calliper"


def _ultrasound(test: Told) -> Iterator[str]:
    yield f"{test['calliper_mm']} mm by calliper, {test['shown_mm']} mm shown"


def _visual(test: Told) -> Iterator[str]:
    yield ", ".join(str(each).replace("-", " ") for each in test["shows"])
    if "text" in test:
        yield str(test["text"])


def _cut(test: Told) -> Iterator[str]:
    yield f"shows {str(test['shows']).replace('-', ' ')}"


def _stripped(test: Told) -> Iterator[str]:
    yield f"by the {test['who']}: the shell alone weighs {test['shell']} {test['unit']}"


def _melt(test: Told) -> Iterator[str]:
    yield f"{test['metal']} {test['fineness']} per thousand, by {str(test['method']).replace('-', ' ')}"
    if "uncertainty" in test:
        yield f"good to {test['uncertainty']} per thousand"
    if "laboratory" in test:
        yield f"laboratory: {test['laboratory']}"
    for name in ("before", "after"):
        if name in test:
            yield f"{test[name]} {test.get('unit', '')} {name} melting".replace("  ", " ")


def _consent(test: Told) -> Iterator[str]:
    words = [NAMES[name] for name in test.get("to", ())]
    to = f" by {', '.join(words)}" if words else ""
    yield f"the seller {'agreed' if test['given'] else 'did not agree'} to a mark on the article{to}"


_FIGURES: Mapping[str, Callable[[Told], Iterator[str]]] = {
    "xrf": _xrf,
    "filed-xrf": _xrf,
    "streak": _streak,
    "silver-streak": _silver_streak,
    "density": _density,
    "magnet": _magnet,
    "conductance": _conductance,
    "ultrasound": _ultrasound,
    "visual": _visual,
    "cut": _cut,
    "stripped": _stripped,
    "melt": _melt,
    "consent": _consent,
}
