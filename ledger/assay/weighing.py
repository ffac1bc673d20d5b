"""The assessment of one article: what all its tests together can and cannot show.

Decides: the order in which evidence is put together, and from it construction, standing against the mark, what may
be paid for, and which tests are owed first. The single rules stand in `metals` and `judging`. An assessment is not a
certified assay, and the person's own conclusion stands beside it.

>>> from ledger.assay.evidence import read
>>> reading = {"test": "xrf", "unit": "per-mille", "readings": [{"elements": {"Au": "584", "Ag": "119", "Cu": "297"}}]}
>>> first = weigh(read([reading]), marks=[("14K", "inside")], net_mg=4200)
>>> first.construction, first.seen.words(), first.payable, first.owed[0].test
('undetermined', '574.0 to 594.0', None, 'density')
>>> weigh(read([reading]), marks=[("1/20 14K GF", "clasp")], net_mg=4200).payable.high_ppm
29166
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from ledger.assay import cores, density, evidence, judging, marks, metals, silver_acid
from ledger.assay.assessments import (
    MARKING,
    METALS,
    OWED,
    OWED_WORDS,
    SUSPICIONS,
    Assessment,
    Bar,
    Interval,
    Owed,
    PartSeen,
    Policy,
)
from ledger.assay.evidence import Test, Xrf
from ledger.assay.findings import SYMBOLS, Weighed, lay_out, part_of
from ledger.assay.marks import Claim
from ledger.assay.sheet import Sheet, Verdict
from ledger.errors import InputError
from ledger.measures import Milligrams, thousandths
from ledger.measures import weigh as weight_of


def weigh(
    tests: Sequence[Test],
    *,
    marks: Sequence[tuple[str, str]] = (),
    gross_mg: int | None = None,
    stones_mg: int | None = None,
    net_mg: int | None = None,
    colour: str = "",
    stone_set: bool = False,
    consent: bool | None = None,
    policy: Policy | None = None,
    program: str = "",
) -> Assessment:
    """What the evidence on one article supports. Never raises on tests that `evidence.read` gave.

    marks: (text, where) as read. gross_mg, stones_mg, net_mg: milligrams, None where not known. colour: of the metal,
    as the slip has it. stone_set: stones are described. consent: the seller's answer about tests that leave a mark;
    None: not said here. program: name and version that stand in the record.
    """
    policy = policy or Policy()
    if net_mg is None and gross_mg is not None and (stones_mg is not None or not stone_set):
        net_mg = max(0, gross_mg - (stones_mg or 0))
    claims = _claims(marks)
    found = lay_out(tests, policy, stone_set=stone_set, consent=consent)
    sheet = Sheet(found, claims, policy, gross_mg, net_mg, colour)
    sheet.reasons += found.set_aside
    judging.marks(sheet)
    metals.readings(sheet)
    metals.parts(sheet)
    metals.fineness(sheet)
    judging.fillings(sheet)
    judging.magnets(sheet)
    metals.below_the_surface(sheet)
    metals.claimed_metal(sheet)
    metals.thin_layers(sheet)
    metals.coatings(sheet)
    metals.foreign_metals(sheet)
    judging.streaks(sheet)
    silver_acid.streaks(sheet)
    cores.densities(sheet)
    cores.fine_gold(sheet)
    cores.conductances(sheet)
    judging.eye_and_cut(sheet)
    judging.parts_borne_out(sheet)
    judging.finer_than_marked(sheet)
    melted = judging.melts(sheet)
    assessment = _conclude(sheet, melted, program)
    if assessment.construction != "mixed-parts":
        return assessment
    return replace(assessment, parts=_each_part(tests, marks, colour, policy))


def _each_part(
    tests: Sequence[Test], marks: Sequence[tuple[str, str]], colour: str, policy: Policy
) -> tuple[PartSeen, ...]:
    """Each part by the tests that name it and the marks that stand on it."""
    names = {part_of(test) for test in tests}
    names |= {reading.part.strip().casefold() for test in tests if isinstance(test, Xrf) for reading in test.readings}
    seen = []
    for name in sorted(names):
        own = weigh(
            [cut for test in tests if (cut := _of_part(test, name)) is not None],
            marks=[mark for mark in marks if (name and name in mark[1].casefold()) or name == mark[1].casefold()],
            colour=colour,
            policy=policy,
        )
        owed = tuple(each.test for each in own.owed)
        seen.append(PartSeen(name, own.construction, own.confidence, own.standing, own.metal, own.seen, owed))
    return tuple(seen)


def _of_part(test: Test, name: str) -> Test | None:
    """What a test says of one part, as if that part were an article; None: nothing."""
    if not isinstance(test, Xrf):
        return replace(test, part="") if part_of(test) == name else None
    readings = tuple(replace(reading, part="") for reading in test.readings if reading.part.strip().casefold() == name)
    return replace(test, part="", readings=readings) if readings else None


def _claims(read: Sequence[tuple[str, str]]) -> tuple[Claim, ...]:
    each = sorted({(text, where) for text, where in read})
    return tuple(claim for text, where in each for claim in marks.read(text, where))


def _conclude(sheet: Sheet, melted: Interval | None, program: str) -> Assessment:
    verdict = _verdict(sheet)
    claim = _claim(sheet)
    standing = _standing(sheet, verdict, claim)
    paid = _payable(sheet, verdict, standing, melted)
    _consent(sheet)
    owed = _owed(sheet, verdict, standing)
    return Assessment(
        construction=verdict.construction,
        standing=standing,
        suspicions=tuple(each for each in SUSPICIONS if each in sheet.suspicions),
        metal=sheet.metal,
        seen=sheet.seen,
        payable=paid.interval,
        upper_bound=paid.upper_bound,
        paid_on=paid.on,
        paid_weight_mg=paid.weight_mg,
        paid_fineness_ppm=_paid_fineness(paid, claim, standing),
        claim=claim,
        claims=sheet.claims,
        reasons=tuple(sheet.reasons),
        conflicts=tuple(dict.fromkeys(sheet.conflicts)),
        owed=owed,
        confidence=verdict.confidence,
        confidence_rule=verdict.rule,
        bars=_bars(sheet),
        policy=sheet.policy,
        program=program,
        marks_left=tuple(sheet.found.marks_left),
    )


def _verdict(sheet: Sheet) -> Verdict:
    """The construction: the strongest word against solid, else solid if something below the surface speaks for it."""
    if sheet.verdicts:
        return min(sheet.verdicts)
    if sheet.blocks:
        return Verdict(90, "undetermined", "open", sheet.blocks[0])
    if sheet.supports and sheet.metal in METALS:
        sheet.say("solid", "A test below the surface agrees and nothing speaks against it.")
        return Verdict(99, "solid", "shown", sheet.supports[0])
    if not sheet.found.sights and not sheet.found.rubs and not sheet.supports:
        sheet.say("no-evidence", "No test shows what the article is made of.")
        return Verdict(98, "undetermined", "open", "no-evidence")
    sheet.say("surface-only", "Tests of the surface alone never show that an article is solid.")
    return Verdict(98, "undetermined", "open", "surface-only")


def _claim(sheet: Sheet) -> Claim | None:
    """The claim weighed against: a layer's or plate's own, else the strictest for the metal seen."""
    declared = sheet.declared("layered", "plated") or sheet.declared("base")
    if declared and not (sheet.metal == "silver" and sheet.best_claim("silver")):
        return max(declared, key=lambda claim: (claim.fraction is not None, claim.fineness or 0, claim.text))
    return sheet.best_claim(sheet.metal)


def _standing(sheet: Sheet, verdict: Verdict, claim: Claim | None) -> str:
    if not any(each.kind == "metal" for each in sheet.claims):
        return "no-claim"
    if sheet.absent:
        return "contrary"
    if claim is None:
        return "contrary" if verdict.contrary and sheet.fine_claims else "not-known"
    tested = bool(sheet.found.sights or sheet.found.densities or sheet.found.rubs or sheet.found.melts)
    if claim.construction in ("layered", "plated", "base"):
        return (
            "as-claimed" if tested and verdict.construction == claim.construction and not sheet.blocks else "not-known"
        )
    if verdict.contrary:
        return "contrary"
    return _fine_standing(sheet, verdict, claim)


def _fine_standing(sheet: Sheet, verdict: Verdict, claim: Claim) -> str:
    wanted = int(claim.fineness or 0)
    if sheet.mixed or sheet.seen is None or sheet.metal != claim.metal or not wanted:
        return "not-known"
    gilt = "gold-over-silver" in sheet.blocks
    if sheet.seen.high_ppm < wanted - claim.tolerance_ppm and not gilt:
        lowest = thousandths(wanted - claim.tolerance_ppm)
        sheet.say(
            "below-mark", f"{thousandths(sheet.seen.high_ppm)} at most is below {lowest}, the mark less its tolerance."
        )
        return "below"
    borne_out = verdict.construction in ("solid", "plated") and verdict.confidence == "shown"
    if verdict.construction == "weighted-or-hollow":
        borne_out = bool(sheet.supports or sheet.found.stripped)
    if not borne_out or sheet.blocks or "adulterant" in sheet.withheld:
        return "not-known"
    if sheet.acid_below:
        sheet.withheld.append("acid-below-mark")
        sheet.owed.add("melt-assay")
        return "not-known"
    return "finer" if sheet.seen.low_ppm > wanted + sheet.policy.finer_ppm else "as-claimed"


@dataclass(frozen=True)
class _Paid:
    interval: Interval | None = None
    upper_bound: bool = False
    on: str = ""
    weight_mg: int | None = None


def _payable(sheet: Sheet, verdict: Verdict, standing: str, melted: Interval | None) -> _Paid:
    """The fineness that may be paid for and on what weight; nothing for a layer that is not stripped or assayed."""
    if melted is not None:
        after = [melt.after_mg for melt in sheet.found.melts if melt.after_mg is not None]
        return _Paid(melted, False, "melt", min(after, default=sheet.net_mg))
    if verdict.construction == "layered" and verdict.confidence == "declared":
        return _declared_layer(sheet)
    gilt = verdict.construction == "plated" and _silver_under_gold(sheet)
    if sheet.seen is None or sheet.blocks or sheet.withheld or standing == "contrary":
        return _Paid()
    if verdict.construction == "weighted-or-hollow":
        return _shell(sheet)
    return _Paid(sheet.seen, False, "net", sheet.net_mg) if verdict.construction == "solid" or gilt else _Paid()


def _silver_under_gold(sheet: Sheet) -> bool:
    """Whether filed spots show silver, and no mark says that the silver itself is plate."""
    plate = [claim for claim in sheet.declared("plated") if claim.metal != "gold"]
    return bool(sheet.exposed) and sheet.metal == "silver" and not plate


def _declared_layer(sheet: Sheet) -> _Paid:
    bounds = [claim.at_most_ppm for claim in sheet.declared("layered") if claim.metal == "gold"]
    known = [bound for bound in bounds if bound is not None]
    if not known:
        sheet.say(
            "layer-not-said", "The mark does not say which share of the weight the layer is: nothing to pay on it."
        )
        return _Paid()
    sheet.say(
        "upper-bound",
        f"At most {thousandths(min(known))} per thousand as made: share times karat; wear takes the layer first.",
    )
    sheet.metal = sheet.metal or "gold"
    return _Paid(Interval(0, min(known)), True, "net", sheet.net_mg)


def _shell(sheet: Sheet) -> _Paid:
    if sheet.found.stripped:
        return _Paid(sheet.seen, False, "shell", min(part.shell_mg for part in sheet.found.stripped))
    if not sheet.supports:
        sheet.owed.add("cut-or-drill" if sheet.found.densities else "density")
        return _Paid()
    return _Paid(sheet.seen, False, "net", sheet.net_mg)


def _paid_fineness(paid: _Paid, claim: Claim | None, standing: str) -> int | None:
    """The one figure an offer uses: the bound of a layer, a melt's middle, no more than the mark, else the low end."""
    if paid.interval is None:
        return None
    low, high = paid.interval.low_ppm, paid.interval.high_ppm
    if paid.upper_bound:
        return high
    if paid.on == "melt":
        return (low + high) // 2
    if standing == "as-claimed" and claim is not None and claim.fineness is not None:
        return min(int(claim.fineness), high)
    return low


def _consent(sheet: Sheet) -> None:
    for name in sheet.found.without_consent:
        sheet.say("no-consent", f"The test {name} leaves a mark, and no consent of the seller is recorded.")
    for mark in sheet.found.marks_left:
        if mark.mark:
            place = f", {mark.place}" if mark.place else ""
            sheet.say("mark-left", f"The test {mark.test}{place} left a mark on the article: {mark.mark}.")


_MAKES = {
    "filed-xrf-or-deep-streak": ("filed-xrf", "streak"),
    "filed-xrf": ("filed-xrf",),
    "ultrasound-or-drill": ("cut",),
    "cut-or-drill": ("cut",),
    "separate-parts": ("stripped",),
    "strip": ("stripped",),
    "melt-assay": ("melt",),
    "melt-assay-icp": ("melt",),
}
"""The tests of an evidence document by which one that is owed and leaves a mark could be made."""


def _owed(sheet: Sheet, verdict: Verdict, standing: str) -> tuple[Owed, ...]:
    owed = set(sheet.owed)
    if sheet.weight_mg is None:
        owed.add("weigh")
    settled = verdict.confidence in ("declared", "shown") or verdict.order < 90
    if not settled and not sheet.absent:
        owed |= _to_decide(sheet, standing)
    if standing == "below":
        owed.add("melt-assay" if verdict.construction == "solid" else "filed-xrf")
    if verdict.construction in ("layered", "plated", "base") and verdict.confidence in ("declared", "shown"):
        owed -= {"filed-xrf", "xrf"}
    if sheet.exposed and "filed-xrf" in owed:
        # The notch is filed already: what is left open lies deeper.
        owed = owed - {"filed-xrf"} | {"cut-or-drill"}
    if sheet.found.melts:
        owed &= {"weigh", "melt-assay", "melt-assay-icp"}
    each = [
        Owed(test, decides, test in MARKING, _agreed(sheet, test)) for test, decides in OWED.items() if test in owed
    ]
    refused = [one for one in each if one.agreed is False]
    if refused:
        names = " or ".join(OWED_WORDS[one.test] for one in refused)
        sheet.say("consent-refused", f"The seller did not agree to {names}: what that would decide stays open.")
    # Cheapest first, and last what the seller does not allow.
    return (*(one for one in each if one.agreed is not False), *refused)


def _agreed(sheet: Sheet, test: str) -> bool | None:
    """What the seller answered about this test: agreed if to any way of making it, refused if to every way."""
    answers = [sheet.found.answers.get(way) for way in _MAKES.get(test, ())]
    if True in answers:
        return True
    return False if answers and None not in answers else None


def _to_decide(sheet: Sheet, standing: str) -> set[str]:
    """Tests that could show the construction, where no rule has asked for one."""
    owed: set[str] = set()
    if not sheet.found.sights and not sheet.found.melts:
        owed.add("xrf")
    if sheet.supports or sheet.blocks or standing == "below":
        return owed
    weight = sheet.weight_mg
    tried = bool(sheet.found.densities) and bool(sheet.found.sights)
    too_light = weight is not None and weight < sheet.policy.density_limit_mg
    unweighable = any("the article has stones" in reason.text for reason in sheet.found.set_aside)
    owed.add("filed-xrf-or-deep-streak" if tried or too_light or unweighable else "density")
    if sheet.found.densities and not sheet.found.sights:
        owed.discard("density")
    return owed


def _bars(sheet: Sheet) -> tuple[Bar, ...]:
    """What each test allows, for the fineness strip; tests that say nothing of fineness have none."""
    bars: list[Bar] = []
    for sight in sheet.found.sights:
        metal = sight.metal if sight.metal in METALS else sheet.metal
        if metal in METALS:
            between = sight.of(metal)
            name = "filed-xrf" if sight.exposed else "xrf"
            label = f"X-ray, {sight.label}"
            bars.append(Bar(label, name, metal, between.low_ppm, between.high_ppm, not sight.exposed, sight.part))
    if sheet.metal == "gold":
        for rub in sheet.found.rubs:
            label = f"Streak, {rub.test.acid_karat} karat acid, {rub.test.result}"
            bars.append(Bar(label, "streak", "gold", rub.between.low_ppm, rub.between.high_ppm, not rub.test.deep))
    for coloured in sheet.found.silver_rubs if sheet.metal == "silver" else ():
        label, between = f"Streak, acid for silver, {coloured.test.colour}", coloured.between
        surface = not coloured.test.deep
        bars.append(Bar(label, "silver-streak", "silver", between.low_ppm, between.high_ppm, surface))
    bars += [bar for weighed in sheet.found.densities if (bar := _density_bar(sheet, weighed))]
    for melt in sheet.found.melts:
        u = melt.uncertainty_ppm or 5_000
        ends = max(0, melt.fineness_ppm - u), min(1_000_000, melt.fineness_ppm + u)
        bars.append(Bar(f"Melt assay, {melt.method}", "melt", melt.metal, *ends, False))
    return tuple(bars)


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


@dataclass(frozen=True)
class Weights:
    """What an item weighs, milligrams; None where it is not known."""

    gross_mg: Milligrams | None
    stones_mg: Milligrams | None
    net_mg: Milligrams | None


def weights_of(item: Mapping[str, Any], field: str = "item") -> Weights:
    """The weights of an item of a slip: from its weighings [{what, value, unit, paid_on}].

    Of several of one kind the one paid on counts, else the last. net: as weighed, else gross less stones and foreign
    parts, else gross where no stones are described. Raises: InputError for a weighing that cannot be read.
    """
    found: dict[str, Milligrams] = {}
    fixed: set[str] = set()
    for place, each in enumerate(_list(item, "weighings", field)):
        what = str(each.get("what", ""))
        weight = weight_of(each.get("value", ""), str(each.get("unit", "")), f"{field}.weighings[{place}]").mg
        if what not in fixed:
            found[what] = weight
        if each.get("paid_on"):
            fixed.add(what)
            found[what] = weight
    gross, stones, net = found.get("gross"), found.get("stones"), found.get("net")
    less = Milligrams((stones or 0) + found.get("foreign", 0))
    if net is None and gross is not None and (stones is not None or not item.get("stones")):
        net = Milligrams(max(0, gross - less))
    return Weights(gross, stones, net)


def weigh_item(
    item: Mapping[str, Any], *, policy: Policy | None = None, program: str = "", field: str = "item"
) -> Assessment:
    """The assessment of an item as a slip holds it: evidence, marks, weighings, metal_colour, stones, consent.

    Also takes a document that has those members alone. Raises: InputError for a member that cannot be read.
    """
    weights = weights_of(item, field)
    read = [(str(mark.get("text", "")), str(mark.get("where") or "")) for mark in _list(item, "marks", field)]
    colour = item.get("metal_colour")
    return weigh(
        evidence.read(item.get("evidence") or [], f"{field}.evidence"),
        marks=read,
        gross_mg=weights.gross_mg,
        stones_mg=weights.stones_mg,
        net_mg=weights.net_mg,
        colour=colour if isinstance(colour, str) else "",
        stone_set=bool(item.get("stones")) and not _is_unknown(item.get("stones")),
        consent={"given": True, "refused": False}.get(str(item.get("consent"))),
        policy=policy,
        program=program,
    )


def _is_unknown(value: object) -> bool:
    return isinstance(value, Mapping) and "not_known" in value


def _list(item: Mapping[str, Any], name: str, field: str) -> list[Mapping[str, Any]]:
    """A list of objects; a list that is not known, or not there, is an empty one."""
    given = item.get(name) or []
    if _is_unknown(given):
        return []
    if not isinstance(given, list | tuple) or not all(isinstance(each, Mapping) for each in given):
        raise InputError(field=f"{field}.{name}", given=given, wanted="a list of objects with named members")
    return list(given)
