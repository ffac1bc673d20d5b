"""What each single test showed, before they are put together.

Decides: which figures can be true and are used, the fineness that a reading or a streak allows, the density that two
weighings give, and why a figure is set aside. Leaves to `judging` what they say together. The order in which tests
were entered changes nothing here or above.

>>> from ledger.assay.evidence import read
>>> test = {"test": "xrf", "unit": "per-cent", "readings": [{"elements": {"Au": "58.4", "Ag": "11.9", "Cu": "29.7"}}]}
>>> found = lay_out(read([test]), Policy())
>>> found.sights[0].metal, found.sights[0].between.words()
('gold', '574.0 to 594.0')
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TypeVar

from ledger.assay import density, touchstone
from ledger.assay.assessments import Interval, MarkLeft, Policy, Reason
from ledger.assay.evidence import (
    MARKING,
    Conductance,
    Consent,
    Cut,
    Density,
    Magnet,
    Melt,
    Reading,
    SilverStreak,
    Streak,
    Stripped,
    Test,
    Ultrasound,
    Visual,
    Xrf,
)
from ledger.assay.evidence_schema import CHOICES
from ledger.measures import thousandths

SYMBOLS = {"gold": "Au", "silver": "Ag", "platinum": "Pt", "palladium": "Pd"}
RHODIUM_BIAS_PPM = 10_000
"""What is left over after rhodium is taken out of a reading: 3 to 11 per thousand too high under 0.25 to 1 micrometre,
from a two-layer calculation with published attenuation tables."""
LEAST_U_PPM = 1_000
"""No X-ray reading is better than this (k = 2): fire assay, the reference, is good to about half of it, from memory."""
VAGUEST_MELT_PPM = 100_000
"""An assay that is good to no more than two karats either way is none: a choice of this project."""
STONES_ESTIMATED_U = 0.05
"""Standard share by which the weight of stones reckoned from their size may be wrong: 10 % at k = 2, a choice of this
project."""
STONES_DENSITY_U = 0.02
"""Standard share by which the density of stones may be: zirconia alone is sold from 5.6 to 6.0 g/cm3, from memory."""


@dataclass(frozen=True)
class Sight:
    """One X-ray reading, ready for use."""

    elements: dict[str, int]
    """parts per million, rhodium plate taken out"""
    metal: str
    """gold, silver, platinum, palladium or base: the metal the place is made of"""
    exposed: bool
    """below the surface: a filed notch or a cut face"""
    u_ppm: int
    part: str
    spot: str
    rhodium_ppm: int
    complete: bool
    """the elements add up to about a thousand per thousand"""

    @property
    def telling(self) -> bool:
        """At least half of the metal is named; else the figures are of another unit, or most was not seen."""
        return sum(self.elements.values()) >= 500_000

    @property
    def between(self) -> Interval:
        """Fineness of `metal` here."""
        return self.of(self.metal)

    def ppm(self, metal: str) -> int:
        """Parts per million of a precious metal here; 0 where none was read."""
        return self.elements.get(SYMBOLS[metal], 0) if metal in SYMBOLS else 0

    def of(self, metal: str) -> Interval:
        """Fineness of a metal here: the figure give or take its uncertainty, rhodium's bias taken off below."""
        bias = RHODIUM_BIAS_PPM if self.rhodium_ppm >= 5_000 else 0
        ppm = self.ppm(metal)
        # A reading may add up to a little more than a thousand; a fineness cannot.
        return Interval(min(1_000_000, max(0, ppm - self.u_ppm - bias)), min(1_000_000, ppm + self.u_ppm))

    @property
    def label(self) -> str:
        """What was read where, in words."""
        place = self.spot or self.part
        return ("filed spot" if self.exposed else "surface") + (f", {place}" if place else "")

    def figures(self) -> str:
        """The elements per thousand, largest first."""
        order = sorted(self.elements.items(), key=lambda each: (-each[1], each[0]))
        return " ".join(f"{symbol} {thousandths(ppm)}" for symbol, ppm in order if ppm)


@dataclass(frozen=True)
class Rub:
    """One streak, ready for use."""

    test: Streak
    between: Interval
    """fineness of gold that this streak allows"""
    acid: str
    """right, weak, strong, stale, not-shown"""

    @property
    def trusted(self) -> bool:
        """No known streak beside it did what it should not, and the acid is not stale."""
        return self.acid in ("right", "not-shown")

    @property
    def reach(self) -> str:
        """How deep it saw, in words."""
        return touchstone.reach(self.test.deep)


@dataclass(frozen=True)
class SilverRub:
    """One streak under the acid for silver, ready for use."""

    test: SilverStreak
    between: Interval
    """fineness of silver that its colour allows"""


@dataclass(frozen=True)
class Weighed:
    """One density, ready for use."""

    test: Density
    density: float
    density_u: float
    volume: float
    volume_u: float
    mass: float
    mass_u: float

    def words(self) -> str:
        """The density to a hundredth, g/cm3."""
        return f"{self.density:.2f} g/cm³"


@dataclass
class Findings:
    """All tests of one article, each worked out by itself."""

    sights: list[Sight] = field(default_factory=list)
    rubs: list[Rub] = field(default_factory=list)
    silver_rubs: list[SilverRub] = field(default_factory=list)
    densities: list[Weighed] = field(default_factory=list)
    void_densities: list[tuple[Weighed, str]] = field(default_factory=list)
    magnets: list[Magnet] = field(default_factory=list)
    conductances: list[Conductance] = field(default_factory=list)
    ultrasounds: list[Ultrasound] = field(default_factory=list)
    seen_by_eye: frozenset[str] = frozenset()
    cuts: list[Cut] = field(default_factory=list)
    stripped: list[Stripped] = field(default_factory=list)
    melts: list[Melt] = field(default_factory=list)
    without_consent: list[str] = field(default_factory=list)
    marks_left: list[MarkLeft] = field(default_factory=list)
    answers: dict[str, bool] = field(default_factory=dict)
    """what the seller answered, by the test that leaves a mark; a test not asked about is not there"""
    set_aside: list[Reason] = field(default_factory=list)
    """why a figure is not used"""

    @cached_property
    def parts(self) -> list[str]:
        """The parts that tests speak of, by name; first, as an empty name, what readings leave unnamed."""
        named: list[Test] = [*(rub.test for rub in self.rubs), *(rub.test for rub in self.silver_rubs)]
        named += [*(weighed.test for weighed in self.densities), *self.cuts]
        return sorted({sight.part for sight in self.sights} | {part_of(test) for test in named} - {""})


_T = TypeVar("_T", bound=Test)


def _of(tests: Iterable[Test], kind: type[_T]) -> list[_T]:
    found = [test for test in tests if type(test) is kind]
    # By what they say, never by when they were entered: the order of evidence must not matter.
    return sorted(found, key=repr) if len(found) > 1 else found


def part_of(test: Test) -> str:
    """The part that a test speaks of, as it is compared with others; empty: the article, no part named."""
    return test.part.strip().casefold()


def lay_out(tests: Sequence[Test], policy: Policy, *, stone_set: bool = False, consent: bool | None = None) -> Findings:
    """Every test worked out by itself. Never raises on tests that `evidence.read` gave.

    stone_set: stones are described on the article. consent: what the seller answered when asked about tests that
    leave a mark on this article; None: no answer is recorded with the article itself.
    """
    found = Findings()
    for xrf in _of(tests, Xrf):
        for reading in sorted(xrf.readings, key=repr) if len(xrf.readings) > 1 else xrf.readings:
            _see(found, xrf, reading, policy)
    found.sights.sort(key=lambda sight: sight.exposed)
    streaks = _of(tests, Streak)
    for streak in streaks:
        _rub(found, streak, streaks)
    for coloured in _of(tests, SilverStreak):
        _rub_silver(found, coloured)
    for weighing in _of(tests, Density):
        _weigh(found, weighing, policy, stone_set)
    found.magnets = _of(tests, Magnet)
    found.conductances = [coil for coil in _of(tests, Conductance) if _conducts(found, coil)]
    found.ultrasounds = [test for test in _of(tests, Ultrasound) if test.calliper_um]
    found.seen_by_eye = frozenset(show for test in _of(tests, Visual) for show in test.shows)
    found.cuts = _of(tests, Cut)
    found.stripped = _of(tests, Stripped)
    found.melts = [melt for melt in _of(tests, Melt) if _can_be(found, melt)]
    _ask(found, tests, consent)
    return found


def _ask(found: Findings, tests: Sequence[Test], consent: bool | None) -> None:
    """What the seller answered about marks, and which tests left one."""
    if consent is not None:
        found.answers = dict.fromkeys(CHOICES["leaves-a-mark"], consent)
    asked = _of(tests, Consent)
    for yes in (True, False):  # a refusal counts more than an agreement, in whatever order they were entered
        found.answers |= {name: yes for test in asked if test.consent is yes for name in test.to}
    for test in sorted((test for test in tests if leaves_a_mark(test)), key=repr):
        asked_as = "streak" if isinstance(test, SilverStreak) else test.name
        agreed = found.answers.get(asked_as) if test.consent is None else test.consent
        place = ", ".join(word for word in (test.part, test.spot) if word)
        found.marks_left.append(MarkLeft(test.name, place, test.mark_left, agreed))
    # A melt and a stripping are made of what was bought, or in front of the seller: who did it stands with them.
    asks = {mark.test for mark in found.marks_left if mark.agreed is not True} - {"melt", "stripped"}
    found.without_consent = sorted(asks)


def leaves_a_mark(test: Test) -> bool:
    """Whether this test marks the article: filed, cut, stripped, melted, or rubbed deep."""
    return test.name in MARKING or (isinstance(test, Streak | SilverStreak) and test.deep)


def _aside(found: Findings, text: str) -> None:
    found.set_aside.append(Reason("figure-set-aside", text))


def _can_be(found: Findings, melt: Melt) -> bool:
    if melt.fineness_ppm > 1_000_000:
        _aside(found, "A melt assay of more than 1000 per thousand cannot be right and is not used.")
    elif (melt.uncertainty_ppm or 0) > VAGUEST_MELT_PPM:
        good = thousandths(melt.uncertainty_ppm or 0)
        _aside(found, f"A melt assay that is good to {good} per thousand tells no fineness and is not used.")
    else:
        return True
    return False


def _conducts(found: Findings, coil: Conductance) -> bool:
    if all(kilohertz and iacs for kilohertz, iacs in coil.readings):
        return True
    _aside(found, "A conductance of nothing, or at no frequency, cannot be right and is not used.")
    return False


def metal_of(elements: dict[str, int]) -> str:
    """The metal a place is made of, by its elements in parts per million: the one it would be sold as."""
    shares = {metal: elements.get(symbol, 0) for metal, symbol in SYMBOLS.items()}
    if shares["platinum"] >= 500_000:
        return "platinum"
    for metal in ("gold", "platinum", "palladium", "silver"):
        if shares[metal] >= 300_000:
            return metal
    most = max(shares, key=lambda metal: shares[metal])
    return most if shares[most] >= 20_000 else "base"


def _see(found: Findings, xrf: Xrf, reading: Reading, policy: Policy) -> None:
    elements = dict(reading.elements)
    total = sum(elements.values())
    rhodium = elements.pop("Rh", 0)
    if not 0 < total <= 1_050_000:
        why = "adds up to more than 1000 per thousand" if total else "names no element"
        _aside(found, f"An X-ray reading that {why} is not used.")
        return
    if rhodium == total:
        _aside(found, "An X-ray reading of nothing but rhodium saw a plating only and is not used.")
        return
    if rhodium:
        elements = {symbol: ppm * total // (total - rhodium) for symbol, ppm in elements.items()}
    # Nothing is good to nothing: an uncertainty of 0, or nearly so, is one that was not said.
    u_ppm = xrf.uncertainty_ppm or 0
    if u_ppm < LEAST_U_PPM:
        u_ppm = policy.u_ppm(xrf.instrument, xrf.geometry)
    sight = Sight(
        elements=elements,
        metal=metal_of(elements),
        exposed=xrf.name == "filed-xrf",
        u_ppm=u_ppm,
        part=reading.part.strip().casefold(),
        spot=reading.spot,
        rhodium_ppm=rhodium,
        complete=total >= 950_000,
    )
    found.sights.append(sight)


def _rub(found: Findings, streak: Streak, streaks: Sequence[Streak]) -> None:
    acid = streak.acid_ppm
    if not 250_000 <= acid <= 1_000_000:
        _aside(found, f"A streak under acid for {streak.acid_karat} karat is not used: no such acid is known.")
        return
    rub = Rub(streak, touchstone.allows(acid, streak.result, streak.needles), touchstone.acid_of(streak, streaks))
    if not rub.trusted:
        _aside(
            found,
            f"The acid for {streak.acid_karat} karat: {touchstone.ACID_WORDS[rub.acid]}; what held under it is not"
            " used, what failed under it still counts.",
        )
    found.rubs.append(rub)


def _rub_silver(found: Findings, streak: SilverStreak) -> None:
    between = touchstone.silver_allows(streak)
    if between is None:
        _aside(found, "A streak under the acid for silver is not used: known silver beside it took another colour.")
    else:
        found.silver_rubs.append(SilverRub(streak, between))


def _weigh(found: Findings, test: Density, policy: Policy, stone_set: bool) -> None:
    if not 0 < test.water_ug < test.air_ug:
        _aside(found, "A density is not used: the weight in water must lie between zero and the weight in air.")
        return
    celsius = float(test.water_celsius) if test.water_celsius else 20.0
    if celsius > 40:
        _aside(found, f"A density is not used: water at {test.water_celsius} degrees is outside 0 to 40.")
        return
    if stone_set and not test.stone_ug:
        _aside(found, "A density is not used: the article has stones and the test does not say what they weigh.")
        return
    if test.stone_ug and (test.stone_ug >= test.air_ug or not test.stone_mg_per_cm3):
        _aside(found, "A density is not used: the stones cannot weigh more than the article or have no density.")
        return
    step_ug = policy.step_ug(test.instrument, test.step_ug or None)
    result = (
        density.measured(
            test.air_ug / 1e6,
            test.water_ug / 1e6,
            celsius=celsius,
            step=step_ug / 1e6,
            stone_mass=test.stone_ug / 1e6,
            stone_density=test.stone_mg_per_cm3 / 1e3 or 1.0,
            stone_mass_u=test.stone_ug / 1e6 * (STONES_ESTIMATED_U if test.stone_estimated else 0.0),
            stone_density_u=test.stone_mg_per_cm3 / 1e3 * STONES_DENSITY_U,
        )
        if _leaves_metal(test, celsius)
        else None
    )
    if result is None:
        _aside(found, "A density is not used: the stones would take up more room than the whole article.")
        return
    weighed = Weighed(
        test, result.density, result.density_u, result.volume, result.volume_u, result.mass, result.mass_u
    )
    if void := _spoiled(test, step_ug):
        found.void_densities.append((weighed, void))
    else:
        found.densities.append(weighed)


def _leaves_metal(test: Density, celsius: float) -> bool:
    whole = (test.air_ug - test.water_ug) / 1e6 / (density.water(celsius) - density.AIR)
    return test.stone_ug == 0 or whole > test.stone_ug / 1e3 / test.stone_mg_per_cm3


def _spoiled(test: Density, step_ug: int) -> str:
    if test.air_after_ug is not None and test.air_after_ug - test.air_ug > 2 * step_ug:
        return f"{(test.air_after_ug - test.air_ug) / 1e6:.3f} g of water got in"
    return "bubbles were seen" if test.bubbles else ""
