"""The evidence of one item: what each test showed, by whom, when, with what, where on the article.

Decides: the form of the evidence document and nothing else. Figures that cannot be true (heavier in water than in
air, more than a thousand parts per thousand) are read as they stand; `findings` says why they are not used.

>>> read([{"test": "magnet", "pull": "none", "by": "clerk-1"}])[0].by
'clerk-1'
>>> read([{"test": "magnet", "pull": "a bit"}])
Traceback (most recent call last):
    ...
ledger.errors.InputError: evidence[0].pull: 'a bit' was given; wanted is one of none, weak, strong.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from ledger.assay.density import ELEMENTS
from ledger.assay.evidence_schema import CHOICES, LONGEST_TEXT, MOST
from ledger.assay.evidence_schema import EVIDENCE_SCHEMA as EVIDENCE_SCHEMA
from ledger.errors import InputError
from ledger.measures import UNITS, nearest, unit

MARKING = frozenset({"filed-xrf", "cut", "stripped", "melt"})
"""Tests that mark the article; a deep streak does too. The seller's consent stands with them."""


@dataclass(frozen=True, kw_only=True)
class Test:
    """What all tests have in common."""

    __test__ = False

    name: str
    instrument: str = ""
    by: str = ""
    at: str = ""
    spot: str = ""
    part: str = ""
    note: str = ""
    consent: bool | None = None
    """True: the seller agreed to the mark; False: refused; None: not said"""
    mark_left: str = ""


@dataclass(frozen=True, kw_only=True)
class Reading:
    """One spot of an X-ray test."""

    elements: tuple[tuple[str, int], ...]
    """symbol and parts per million, by symbol"""
    spot: str = ""
    part: str = ""


@dataclass(frozen=True, kw_only=True)
class Xrf(Test):
    """X-ray fluorescence, as found (xrf) or in a filed notch or on a cut face (filed-xrf)."""

    readings: tuple[Reading, ...]
    uncertainty_ppm: int | None = None
    """k = 2; None: the policy's for this geometry"""
    geometry: str = "flat"
    message: str = ""


@dataclass(frozen=True, kw_only=True)
class Streak(Test):
    """One touchstone streak under acid."""

    acid_ppm: int
    """fineness the acid is made for"""
    acid_karat: str
    deep: bool
    """from a notch, or rubbed repeatedly on one edge"""
    result: str
    batch: str = ""
    opened: str = ""
    needles: bool = False
    control: tuple[int, str] | None = None
    """fineness of a known streak beside it, and what it did"""


@dataclass(frozen=True, kw_only=True)
class SilverStreak(Test):
    """One touchstone streak under the acid that colours silver: dichromate in nitric acid."""

    colour: str
    """bright-red, dark-red, brown, green, blue, yellow, none"""
    deep: bool
    batch: str = ""
    opened: str = ""
    control: tuple[int, str] | None = None
    """fineness of a known streak of silver beside it, and the colour that it took"""


@dataclass(frozen=True, kw_only=True)
class Density(Test):
    """Weighed in air and in water, micrograms."""

    air_ug: int
    water_ug: int
    step_ug: int | None = None
    water_celsius: str = ""
    air_after_ug: int | None = None
    bubbles: bool = False
    stone_ug: int = 0
    stone_mg_per_cm3: int = 0
    stone_estimated: bool = False
    """the stones' weight comes from their size, not from a scale"""


@dataclass(frozen=True, kw_only=True)
class Magnet(Test):
    """Pull of a magnet: none, weak, strong."""

    pull: str


@dataclass(frozen=True, kw_only=True)
class Conductance(Test):
    """Eddy-current readings: kilohertz and thousandths of a per cent IACS."""

    readings: tuple[tuple[int, int], ...]
    uncertainty: int | None = None
    """thousandths of a per cent IACS, k = 2; None: not said"""
    thickness_um: int | None = None
    """of the piece under the coil, by calliper; None: not said"""


@dataclass(frozen=True, kw_only=True)
class Ultrasound(Test):
    """Thickness by calliper, and as shown by an ultrasonic gauge set to the metal claimed, micrometres."""

    calliper_um: int
    shown_um: int


@dataclass(frozen=True, kw_only=True)
class Visual(Test):
    """What the eye and a loupe saw."""

    shows: tuple[str, ...]
    text: str = ""


@dataclass(frozen=True, kw_only=True)
class Cut(Test):
    """What a cut face showed."""

    shows: str


@dataclass(frozen=True, kw_only=True)
class Stripped(Test):
    """Weighted ware taken apart: the shell alone."""

    who: str
    shell_mg: int


@dataclass(frozen=True, kw_only=True)
class Melt(Test):
    """Assay of the molten metal."""

    metal: str
    fineness_ppm: int
    method: str
    uncertainty_ppm: int | None = None
    laboratory: str = ""
    before_mg: int | None = None
    after_mg: int | None = None


@dataclass(frozen=True, kw_only=True)
class Consent(Test):
    """The seller was asked whether tests that leave a mark may be made; `consent` is the answer."""

    to: tuple[str, ...]
    """the tests asked about, by name, in alphabetical order; "streak" is a deep one"""


_DECIMAL = re.compile(r"([0-9]{1,9})(?:\.([0-9]{1,9}))?")


class _Members:
    """One object of the document, taken apart member by member; what is left over is a mistake."""

    def __init__(self, raw: object, field: str) -> None:
        if not isinstance(raw, Mapping):
            raise InputError(field=field, given=raw, wanted="an object with named members")
        self.left: dict[str, Any] = dict(raw)
        self.field = field

    def given(self, name: str, needed: bool) -> Any:
        if needed and name not in self.left:
            raise InputError(field=f"{self.field}.{name}", given=None, wanted="a value; this test needs one")
        return self.left.pop(name, None)

    def wrong(self, name: str, given: object, wanted: str) -> InputError:
        return InputError(field=f"{self.field}.{name}", given=given, wanted=wanted)

    def text(self, name: str) -> str:
        given = self.given(name, False)
        if given is None:
            return ""
        if not isinstance(given, str) or len(given) > LONGEST_TEXT:
            raise self.wrong(name, given, f"text of at most {LONGEST_TEXT} characters")
        return given

    def choice(self, name: str, choices: str, needed: bool = True) -> str:
        given = self.given(name, needed)
        if given is None and not needed:
            return ""
        if given not in CHOICES[choices]:
            raise self.wrong(name, given, "one of " + ", ".join(CHOICES[choices]))
        return str(given)

    def yes(self, name: str, needed: bool = False) -> bool | None:
        given = self.given(name, needed)
        if given is not None and not isinstance(given, bool):
            raise self.wrong(name, given, "true or false")
        return given

    def number(self, name: str, power: int, needed: bool = True) -> int | None:
        """Decimal text times a power of ten, to the nearest whole number."""
        given = self.given(name, needed)
        return None if given is None and not needed else self.scaled(name, given, power)

    def needed(self, name: str, power: int) -> int:
        return self.scaled(name, self.given(name, True), power)

    def scaled(self, name: str, given: object, power: int) -> int:
        match = _DECIMAL.fullmatch(given) if isinstance(given, str) else None
        if match is None:
            raise self.wrong(name, given, "a number as text: digits with a decimal point, such as '12.34'")
        whole, part = match[1], match[2] or ""
        if len(part) <= power:
            return int(whole + part.ljust(power, "0"))
        return nearest(Fraction(match[0]) * 10**power)

    def decimal(self, name: str, needed: bool = True) -> str:
        given = self.given(name, needed)
        if given is None and not needed:
            return ""
        self.scaled(name, given, 0)
        return str(given)

    def weight(self, name: str, unit_name: str, per_mg: int, needed: bool = True) -> int | None:
        """A weight in whole milligrams (per_mg 1) or micrograms (per_mg 1000), to the nearest."""
        given = self.given(name, needed)
        if given is None and not needed:
            return None
        if unit_name == "g":
            return self.scaled(name, given, 3 if per_mg == 1 else 6)
        self.scaled(name, given, 0)
        return nearest(Fraction(given) * UNITS[unit_name] * per_mg)

    def heavy(self, name: str, unit_name: str, per_mg: int) -> int:
        weight = self.weight(name, unit_name, per_mg)
        assert weight is not None
        return weight

    def unit(self) -> str:
        given = self.given("unit", True)
        if not isinstance(given, str):
            raise self.wrong("unit", given, "the name of a unit of weight")
        return given if given in UNITS else unit(given, f"{self.field}.unit")

    def each(self, name: str) -> list[Any]:
        given = self.given(name, True)
        if not isinstance(given, Sequence) or isinstance(given, str) or not 1 <= len(given) <= MOST:
            raise self.wrong(name, given, f"a list of 1 to {MOST}")
        return list(given)

    def done(self) -> None:
        if self.left:
            name = next(iter(self.left))
            raise self.wrong(name, self.left[name], "no such member; this kind of test has none")


def read(raw: object, field: str = "evidence") -> tuple[Test, ...]:
    """The tests of an evidence document. Raises: InputError naming the member, such as evidence[2].air."""
    if not isinstance(raw, Sequence) or isinstance(raw, str | bytes) or len(raw) > MOST:
        raise InputError(field=field, given=raw, wanted=f"a list of at most {MOST} tests")
    return tuple(_test(each, f"{field}[{place}]") for place, each in enumerate(raw))


def _test(raw: object, field: str) -> Test:
    members = _Members(raw, field)
    name = members.given("test", True)
    reader = _READERS.get(name) if isinstance(name, str) else None
    if reader is None:
        raise members.wrong("test", name, "one of " + ", ".join(_READERS))
    common: dict[str, Any] = {"name": name}
    for member in ("instrument", "by", "at", "spot", "part", "note"):
        if member in members.left:
            common[member] = members.text(member)
    if (consent := members.given("consent", False)) is not None:
        asked = _Members(consent, f"{field}.consent")
        common |= {"consent": asked.yes("given", True), "mark_left": asked.text("mark_left")}
        asked.done()
    test = reader(members, common)
    members.done()
    return test


def _xrf(members: _Members, common: dict[str, Any]) -> Test:
    power = 3 if members.choice("unit", "unit-of-elements") == "per-mille" else 4
    readings = tuple(
        _reading(each, f"{members.field}.readings[{place}]", power, common)
        for place, each in enumerate(members.each("readings"))
    )
    return Xrf(
        readings=readings,
        uncertainty_ppm=members.number("uncertainty", power, False),
        geometry=members.choice("geometry", "geometry", False) or "flat",
        message=members.text("message"),
        **common,
    )


def _reading(raw: object, field: str, power: int, common: dict[str, Any]) -> Reading:
    members = _Members(raw, field)
    found = _Members(members.given("elements", True), f"{field}.elements")
    for symbol in found.left:
        if symbol not in ELEMENTS:
            raise found.wrong(str(symbol), found.left[symbol], "the symbol of a metal, such as Au")
    elements = tuple((symbol, found.scaled(symbol, found.left[symbol], power)) for symbol in sorted(found.left))
    reading = Reading(
        elements=elements,
        spot=members.text("spot") or common.get("spot", ""),
        part=members.text("part") or common.get("part", ""),
    )
    members.done()
    return reading


def _karat_ppm(karat: str) -> int:
    return int(Fraction(karat) * 1_000_000 / 24)


def _streak(members: _Members, common: dict[str, Any]) -> Test:
    karat = members.decimal("acid_karat")
    control = None
    if (beside := members.given("control", False)) is not None:
        asked = _Members(beside, f"{members.field}.control")
        control = (_karat_ppm(asked.decimal("karat")), asked.choice("result", "result"))
        asked.done()
    return Streak(
        acid_ppm=_karat_ppm(karat),
        acid_karat=karat,
        deep=members.choice("depth", "depth") == "deep",
        result=members.choice("result", "result"),
        batch=members.text("batch"),
        opened=members.text("opened"),
        needles=bool(members.yes("needles")),
        control=control,
        **common,
    )


def _silver_streak(members: _Members, common: dict[str, Any]) -> Test:
    control = None
    if (beside := members.given("control", False)) is not None:
        asked = _Members(beside, f"{members.field}.control")
        control = (asked.needed("fineness", 3), asked.choice("colour", "colour"))
        asked.done()
    return SilverStreak(
        colour=members.choice("colour", "colour"),
        deep=members.choice("depth", "depth") == "deep",
        batch=members.text("batch"),
        opened=members.text("opened"),
        control=control,
        **common,
    )


def _density(members: _Members, common: dict[str, Any]) -> Test:
    unit_name = members.unit()
    stone_ug = stone_density = 0
    estimated = False
    if (stones := members.given("stones", False)) is not None:
        asked = _Members(stones, f"{members.field}.stones")
        stone_ug = asked.heavy("weight", asked.unit(), 1_000)
        stone_density = asked.needed("density", 3)
        estimated = bool(asked.yes("estimated"))
        asked.done()
    return Density(
        air_ug=members.heavy("air", unit_name, 1_000),
        water_ug=members.heavy("water", unit_name, 1_000),
        step_ug=members.weight("interval", unit_name, 1_000, False),
        water_celsius=members.decimal("water_temperature", False),
        air_after_ug=members.weight("air_after", unit_name, 1_000, False),
        bubbles=members.choice("bubbles", "bubbles", False) == "seen",
        stone_ug=stone_ug,
        stone_mg_per_cm3=stone_density,
        stone_estimated=estimated,
        **common,
    )


def _conductance(members: _Members, common: dict[str, Any]) -> Test:
    readings = []
    for place, each in enumerate(members.each("readings")):
        asked = _Members(each, f"{members.field}.readings[{place}]")
        readings.append((asked.needed("kilohertz", 0), asked.needed("iacs", 3)))
        asked.done()
    return Conductance(
        readings=tuple(sorted(readings)),
        uncertainty=members.number("uncertainty", 3, False),
        thickness_um=members.number("thickness_mm", 3, False),
        **common,
    )


def _consent(members: _Members, common: dict[str, Any]) -> Test:
    if "consent" in common:
        raise members.wrong("consent", {}, "no such member; this kind of test has none")
    every = CHOICES["leaves-a-mark"]
    to = members.each("to") if "to" in members.left else list(every)
    for each in to:
        if each not in every:
            raise members.wrong("to", each, "some of " + ", ".join(every))
    # The answer stands where a test's own consent stands, so that both are read in one way.
    return Consent(to=tuple(sorted(set(to))), **{**common, "consent": members.yes("given", True)})


def _visual(members: _Members, common: dict[str, Any]) -> Test:
    shows = members.each("shows")
    for each in shows:
        if each not in CHOICES["visual"]:
            raise members.wrong("shows", each, "some of " + ", ".join(CHOICES["visual"]))
    return Visual(shows=tuple(sorted(set(shows))), text=members.text("text"), **common)


def _melt(members: _Members, common: dict[str, Any]) -> Test:
    unit_name = members.unit() if {"before", "after"} & members.left.keys() else members.text("unit") or "g"
    return Melt(
        metal=members.choice("metal", "metal"),
        fineness_ppm=members.needed("fineness", 3),
        method=members.choice("method", "method"),
        uncertainty_ppm=members.number("uncertainty", 3, False),
        laboratory=members.text("laboratory"),
        before_mg=members.weight("before", unit_name, 1, False),
        after_mg=members.weight("after", unit_name, 1, False),
        **common,
    )


_READERS = {
    "xrf": _xrf,
    "filed-xrf": _xrf,
    "streak": _streak,
    "density": _density,
    "magnet": lambda members, common: Magnet(pull=members.choice("pull", "pull"), **common),
    "conductance": _conductance,
    "ultrasound": lambda members, common: Ultrasound(
        calliper_um=members.needed("calliper_mm", 3), shown_um=members.needed("shown_mm", 3), **common
    ),
    "visual": _visual,
    "cut": lambda members, common: Cut(shows=members.choice("shows", "cut"), **common),
    "stripped": lambda members, common: Stripped(
        who=members.choice("who", "who"), shell_mg=members.heavy("shell", members.unit(), 1), **common
    ),
    "melt": _melt,
    "consent": _consent,
    "silver-streak": _silver_streak,
}
