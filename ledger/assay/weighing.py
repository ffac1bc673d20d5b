"""The assessment of one article: what all its tests together can and cannot show.

Decides: the order in which evidence is put together, how the parts of an article are seen by themselves, and what of a
slip's item is evidence. The single rules stand in `metals`, `cores` and `judging`; what follows from them in
`concluding` and `owing`. An assessment is not a certified assay, and the person's own conclusion stands beside it.

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

from ledger.assay import bars, concluding, cores, evidence, judging, marks, metals, owing, silver_acid
from ledger.assay.assessments import SUSPICIONS, Assessment, Conflict, Interval, PartSeen, Policy
from ledger.assay.evidence import Consent, Melt, Test, Xrf
from ledger.assay.findings import lay_out, part_of
from ledger.assay.marks import Claim
from ledger.assay.melts import Assayed, Thought, compare
from ledger.assay.sheet import Sheet
from ledger.assay.stones import StonesWeight
from ledger.assay.stones import weigh as weigh_stones
from ledger.assay.tolerances import Made
from ledger.errors import InputError
from ledger.measures import Milligrams, grams
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
    made: Made | None = None,
    stones: StonesWeight | None = None,
    lot: bool = False,
    policy: Policy | None = None,
    program: str = "",
) -> Assessment:
    """What the evidence on one article supports. Never raises on tests that `evidence.read` gave.

    marks: (text, where) as read. gross_mg, stones_mg, net_mg: milligrams, None where not known. colour: of the metal,
    as the slip has it. stone_set: stones are described. consent: the seller's answer about tests that leave a mark;
    None: not said here. made: where and when the article was made, as far as it is known. stones: their weight
    by their sizes, where net rests on it. lot: several articles under one line; a spot is then a piece. program: name
    and version that stand in the record.
    """
    policy = policy or Policy()
    if net_mg is None and gross_mg is not None and (stones_mg is not None or not stone_set):
        net_mg = max(0, gross_mg - (stones_mg or 0))
    tests = [_of_piece(test) for test in tests] if lot else tests
    claims = _claims(marks, made)
    found = lay_out(tests, policy, stone_set=stone_set, consent=consent)
    sheet = Sheet(found, claims, policy, gross_mg, net_mg, colour, lot)
    sheet.reasons += found.set_aside
    off_mg = _stones(sheet, stones)
    _weights(sheet)
    judging.marks(sheet)
    metals.readings(sheet)
    metals.parts(sheet)
    judging.marks_differ(sheet)
    metals.fineness(sheet)
    judging.fillings(sheet)
    judging.magnets(sheet)
    metals.below_the_surface(sheet)
    metals.claimed_metal(sheet)
    metals.thin_layers(sheet)
    metals.declared_layers(sheet)
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
    if melted is not None:
        unmelted = [test for test in tests if not isinstance(test, Melt)]
        _against_thought(
            sheet,
            melted,
            weigh(
                unmelted,
                marks=marks,
                net_mg=net_mg,
                colour=colour,
                stone_set=stone_set,
                made=made,
                lot=lot,
                policy=policy,
            ),
        )
    assessment = _conclude(sheet, melted, program)
    if assessment.paid_on == "net":
        assessment = replace(assessment, weight_off_mg=off_mg)
    if assessment.construction != "mixed-parts":
        return assessment
    return replace(assessment, parts=_each_part(tests, marks, colour, policy, made))


def _weights(sheet: Sheet) -> None:
    if sheet.gross_mg is not None and sheet.net_mg is not None and sheet.outweighs(sheet.net_mg):
        net, gross = grams(sheet.net_mg), grams(sheet.gross_mg)
        sheet.clash("net-above-gross", f"The net weight, {net} g, is more than the gross weight, {gross} g.", "weigh")


def _against_thought(sheet: Sheet, melted: Interval, before: Assessment) -> None:
    """The fine metal that a melt assay finds, held against what all other evidence had promised."""
    paid, weight = before.paid_fineness_ppm, before.paid_weight_mg
    if before.payable is None or before.metal != sheet.metal or paid is None or not weight:
        return
    into = [melt.before_mg for melt in sheet.found.melts if melt.before_mg is not None]
    out = [melt.after_mg for melt in sheet.found.melts if melt.after_mg is not None]
    before_mg = max([weight, *into])
    fineness = (melted.low_ppm + melted.high_ppm) // 2
    assayed = Assayed(before.metal or "", fineness, melted.high_ppm - fineness, before_mg, min(out, default=before_mg))
    thought = Thought("", weight, before.payable.low_ppm, before.payable.high_ppm, paid)
    comparison = compare([thought], assayed)
    sheet.say("melt-against-thought", comparison.says)
    if comparison.verdict != "as-thought":
        settled = "the melt assay, which speaks of all the metal"
        sheet.conflicts.append(Conflict(comparison.says, settled_by=settled))


def _stones(sheet: Sheet, stones: StonesWeight | None) -> int:
    """Says how stones were estimated; how far the net weight may be off by it, milligrams."""
    if stones is None or stones.mg is None or "formula" not in stones.how:
        return 0
    together = f"Together {grams(stones.low_mg)} to {grams(stones.high_mg)} g: the net weight is an estimate."
    sheet.say("stones-estimated", " ".join((*stones.says, together)))
    return max(stones.high_mg - stones.mg, stones.mg - stones.low_mg)


def _each_part(
    tests: Sequence[Test], read: Sequence[tuple[str, str]], colour: str, policy: Policy, made: Made | None
) -> tuple[PartSeen, ...]:
    """Each part by the tests that name it and the marks that cover it."""
    names = {part_of(test) for test in tests if not isinstance(test, Xrf | Consent)}
    names |= {reading.part.strip().casefold() for test in tests if isinstance(test, Xrf) for reading in test.readings}
    seen = []
    for name in sorted(names):
        own = weigh(
            [of for test in tests if (of := _of_part(test, name)) is not None],
            marks=[mark for mark in read if _covers(mark, name, made)],
            colour=colour,
            made=made,
            policy=policy,
        )
        owed = tuple(each.test for each in own.owed)
        seen.append(PartSeen(name, own.construction, own.confidence, own.standing, own.metal, own.seen, owed))
    return tuple(seen)


def _covers(mark: tuple[str, str], name: str, made: Made | None) -> bool:
    """Whether a mark is of this part; a mark of no place is of the unnamed rest."""
    places = {claim.covers.casefold() for claim in marks.read(*mark, made)} or {mark[1].casefold()}
    # Pieces of a lot are called by a letter or a number, which many a word holds.
    return name in places or any(name in (place if len(name) > 2 else place.split()) for place in places if name)


def _of_piece(test: Test) -> Test:
    """A test of a lot: where no part is named, the spot says which piece it is of."""
    if not isinstance(test, Xrf):
        return replace(test, part=test.part or test.spot)
    return replace(test, readings=tuple(replace(each, part=each.part or each.spot) for each in test.readings))


def _of_part(test: Test, name: str) -> Test | None:
    """What a test says of one part, as if that part were an article; None: nothing."""
    if not isinstance(test, Xrf):
        return replace(test, part="") if part_of(test) == name else None
    readings = tuple(replace(reading, part="") for reading in test.readings if reading.part.strip().casefold() == name)
    return replace(test, part="", readings=readings) if readings else None


def _claims(read: Sequence[tuple[str, str]], made: Made | None) -> tuple[Claim, ...]:
    each = sorted({(text, where) for text, where in read})
    return tuple(claim for text, where in each for claim in marks.read(text, where, made))


def _conclude(sheet: Sheet, melted: Interval | None, program: str) -> Assessment:
    verdict = concluding.verdict(sheet)
    claim = concluding.claim(sheet)
    standing = concluding.standing(sheet, verdict, claim)
    paid = concluding.payable(sheet, verdict, standing, melted)
    owing.consent(sheet)
    owed = owing.owed(sheet, verdict, standing)
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
        paid_fineness_ppm=concluding.paid_fineness(paid, claim, standing),
        claim=claim,
        claims=sheet.claims,
        reasons=tuple(sheet.reasons),
        conflicts=tuple(dict.fromkeys(sheet.conflicts)),
        owed=owed,
        confidence=verdict.confidence,
        confidence_rule=verdict.rule,
        bars=bars.bars(sheet),
        policy=sheet.policy,
        program=program,
        marks_left=tuple(sheet.found.marks_left),
    )


@dataclass(frozen=True)
class Weights:
    """What an item weighs, milligrams; None where it is not known."""

    gross_mg: Milligrams | None
    stones_mg: Milligrams | None
    net_mg: Milligrams | None
    estimate: StonesWeight | None = None
    """of the stones, by their sizes, where they were not weighed and net rests on it"""


def weights_of(item: Mapping[str, Any], field: str = "item") -> Weights:
    """The weights of an item of a slip: from its weighings [{what, value, unit, paid_on}].

    Of several of one kind the one paid on counts, else the last. net: as weighed, else gross less stones and foreign
    parts, else gross where no stones are described. Stones that were not weighed are taken as entered in carats, else
    estimated by their sizes. Raises: InputError for a weighing that cannot be read.
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
    estimate = None
    if net is None and gross is not None and stones is None and (described := _list(item, "stones", field)):
        estimate = weigh_stones(described)
        # Stones that would outweigh the article were measured or taken for what they are not.
        usable = estimate.mg is not None and estimate.high_mg < gross
        stones, estimate = (Milligrams(estimate.mg or 0), estimate) if usable else (None, None)
    less = Milligrams((stones or 0) + found.get("foreign", 0))
    if net is None and gross is not None and (stones is not None or not item.get("stones")):
        net = Milligrams(max(0, gross - less))
    return Weights(gross, stones, net, estimate)


def weigh_item(
    item: Mapping[str, Any], *, policy: Policy | None = None, program: str = "", field: str = "item"
) -> Assessment:
    """The assessment of an item of a slip: evidence, marks, weighings, metal_colour, stones, consent, made, kind.

    Also takes a document that has those members alone. Raises: InputError for a member that cannot be read.
    """
    weights = weights_of(item, field)
    read = [(str(mark.get("text", "")), str(mark.get("where") or "")) for mark in _list(item, "marks", field)]
    colour, made = item.get("metal_colour"), item.get("made")
    return weigh(
        evidence.read(item.get("evidence") or [], f"{field}.evidence"),
        marks=read,
        gross_mg=weights.gross_mg,
        stones_mg=weights.stones_mg,
        net_mg=weights.net_mg,
        colour=colour if isinstance(colour, str) else "",
        stone_set=bool(item.get("stones")) and not _is_unknown(item.get("stones")),
        consent={"given": True, "refused": False}.get(str(item.get("consent"))),
        made=None if made is None or _is_unknown(made) else Made.read(made, f"{field}.made"),
        stones=weights.estimate,
        lot=item.get("kind") == "lot",
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
