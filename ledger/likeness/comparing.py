"""How far two descriptions agree, with every reason; strong, possible, weak or no.

Decides: what agrees, what disagrees, and what both together are worth. A pointer is for a person to judge, so each
reason stands in words. A common article is never strong by itself: words that half of all rings bear tell little.
What disagrees outright (another kind of article, another fineness by the stamp) is said beside what agrees and is
never averaged away. Leaves to `ledger.likeness.ranking` whether chance alone would bring the agreement about.
Sources: comparing names by the measure of Jaro and Winkler (Winkler 1990) through the rapidfuzz library; weights and
limits are the project's own, tried on pairs of descriptions that the tests hold.

>>> from ledger.likeness.traits import read
>>> compare(read('rope chain 24" gold 6mm'), read("14K rope 61 cm 6 mm hollow 18.7 g")).strength
'strong'
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from rapidfuzz.distance import JaroWinkler

from ledger.likeness.lexicon import BY_NAME, FAMILY, MONTHS
from ledger.likeness.traits import Traits, alike_digits

STRONG = 40
POSSIBLE = 20
STRENGTHS = ("no", "weak", "possible", "strong")


@dataclass(frozen=True)
class Reason:
    """One thing that agrees or disagrees."""

    what: str
    tenths: int
    """what it is worth; below nought where it speaks against"""
    caps: str = ""
    """the most that the pair can be, whatever else agrees"""
    common: bool = False
    """so many articles have it that it tells nothing without another reason"""


@dataclass(frozen=True)
class Likeness:
    """What two descriptions have in common."""

    strength: str
    tenths: int
    agrees: tuple[str, ...]
    disagrees: tuple[str, ...]
    against: int = 0
    """tenths that speak against it"""

    def as_possible(self, why: str) -> "Likeness":
        """The same, possible at most, with the reason."""
        return replace(self, strength="possible", disagrees=(*self.disagrees, why))

    def record(self) -> dict[str, Any]:
        """JSON values only."""
        return {
            "strength": self.strength,
            "tenths": self.tenths,
            "agrees": list(self.agrees),
            "disagrees": list(self.disagrees),
        }


def compare(asked: Traits, held: Traits, *, appraised: bool = False) -> Likeness:
    """How far what is asked for agrees with an article of the book.

    appraised: the fineness asked for comes from an appraisal, not from memory; another one then rules the article out.
    """
    reasons = [*_articles(asked, held), *_metal(asked, held, appraised=appraised), *_features(asked, held)]
    reasons += [*_measures(asked, held), *_gems(asked, held), *_letters(asked, held), *_numbers(asked, held)]
    tenths = sum(one.tenths for one in reasons)
    against = [one for one in reasons if one.tenths < 0 or one.caps]
    limit = min((STRENGTHS.index(one.caps) for one in against if one.caps), default=3)
    reached = 3 if tenths >= STRONG else 2 if tenths >= POSSIBLE else 1 if tenths > 0 else 0
    if any(one.tenths < 0 for one in against):
        limit = min(limit, 2)
    if all(one.common for one in reasons if one.tenths > 0):
        limit = min(limit, 1)
    return Likeness(
        STRENGTHS[min(limit, reached)],
        tenths,
        tuple(one.what for one in reasons if one.tenths > 0),
        tuple(one.what for one in against),
        -sum(one.tenths for one in against if one.tenths < 0),
    )


def _articles(asked: Traits, held: Traits) -> Iterator[Reason]:
    ours, theirs = asked.of("article"), held.of("article")
    same = ours & theirs
    if same:
        yield from (Reason(name, BY_NAME[name].tenths, common=True) for name in sorted(same))
        return
    if not ours or not theirs:
        return
    shared = {FAMILY[name] for name in ours} & {FAMILY[name] for name in theirs}
    if shared:
        yield Reason(f"{_listed(ours)} and {_listed(theirs)} may be one thing", 5, common=True)
    else:
        yield Reason(f"{_listed(ours)} against {_listed(theirs)}", -40, "no")


def _metal(asked: Traits, held: Traits, *, appraised: bool) -> Iterator[Reason]:
    yield from _alike("metal", asked, held)
    yield from _alike("colour", asked, held, clash=-15)
    if not asked.fineness_ppm or not held.fineness_ppm:
        return
    pairs = [(one, other) for one in asked.fineness_ppm for other in held.fineness_ppm]
    if any(abs(one - other) <= 15_000 for one, other in pairs):
        yield Reason("fineness", 10, common=True)
    elif not (asked.of("layer") | held.of("layer")):
        ours, theirs = (
            _listed(f"{ppm // 1000}" for ppm in sorted(them)) for them in (asked.fineness_ppm, held.fineness_ppm)
        )
        says = f"fineness {ours} against {theirs}" + ("" if appraised else " (people misremember karats)")
        yield Reason(says, -5, "no" if appraised else "possible")


def _alike(kind: str, asked: Traits, held: Traits, *, clash: int = 0) -> Iterator[Reason]:
    ours, theirs = asked.of(kind), held.of(kind)
    same = ours & theirs
    if same:
        yield Reason(_listed(same), max(BY_NAME[name].tenths for name in same), common=True)
    elif ours and theirs and clash:
        yield Reason(f"{_listed(ours)} against {_listed(theirs)}", clash)


_ASIDE = ("wearer", "contents", "state")
_BROADER = {"bee": "insect", "butterfly": "insect", "crucifix": "cross"}


def _features(asked: Traits, held: Traits) -> Iterator[Reason]:
    same = asked.of("form") & held.of("form")
    narrow = {name for name in same if name not in {_BROADER.get(other) for other in same}}
    ours, theirs = (
        frozenset(name for name in them if BY_NAME[name].tenths > 5) for them in (asked.of("form"), held.of("form"))
    )
    if ours and theirs and not ours & theirs:
        yield Reason(f"{_listed(ours)} against {_listed(theirs)}", -5)
    for kind, names in (("form", narrow), *((kind, asked.of(kind) & held.of(kind)) for kind in _ASIDE)):
        for name in sorted(names):
            tenths = BY_NAME[name].tenths
            yield Reason(name, tenths, common=kind == "wearer" or tenths <= 5)
    if {"single", "pair"} <= asked.of("state") | held.of("state") and not asked.of("state") & held.of("state"):
        yield Reason("single against pair", -15)
    if asked.pieces and asked.pieces == held.pieces and asked.pieces > 1:
        yield Reason(f"{asked.pieces} pieces", 12)


def _measures(asked: Traits, held: Traits) -> Iterator[Reason]:
    if asked.round_um and held.round_um:
        gap = min(abs(one - other) for one in asked.round_um for other in held.round_um)
        if gap <= 700:
            yield Reason("size", 15 if _systems_differ(asked, held) else 10, common=True)
        elif gap > 2_000:
            yield Reason("size differs", -15)
        elif gap > 1_300:
            yield Reason("size differs a little", -5)
    used: set[int] = set()
    for length in asked.lengths_um:
        for other in held.lengths_um:
            if other not in used and abs(length - other) <= max(1_000, other // 40):
                used.add(other)
                yield Reason(f"{other // 1000} mm", 20 if other >= 20_000 else 12)
                break
    long_ours = [one for one in asked.lengths_um if one >= 100_000]
    long_theirs = [one for one in held.lengths_um if one >= 100_000]
    if long_ours and long_theirs and not any(abs(a - b) * 12 <= b for a in long_ours for b in long_theirs):
        yield Reason("length differs", -25)
    if any(abs(one - other) <= max(200, other // 20) for one in asked.weights_mg for other in held.weights_mg):
        yield Reason("weight", 20)
    elif asked.weights_mg and held.weights_mg:
        yield Reason("weight differs", -10)
    if any(abs(one - other) * 20 <= other for one in asked.gem_centicarats for other in held.gem_centicarats):
        yield Reason("weight of a stone", 12)


def _systems_differ(asked: Traits, held: Traits) -> bool:
    """Whether a size was converted: agreement of two systems is less likely to be chance."""
    return not set(asked.round_um) & set(held.round_um)


def _gems(asked: Traits, held: Traits) -> Iterator[Reason]:
    species = asked.of("species") & held.of("species")
    yield from (Reason(name, BY_NAME[name].tenths) for name in sorted(species))
    brought = {name for one in species for name in BY_NAME[one].brings}
    colours = (asked.of("gem-colour") & held.of("gem-colour")) - brought
    yield from (Reason(f"{name} stone", BY_NAME[name].tenths) for name in sorted(colours))
    if asked.birth_months and held.of("gem-colour"):
        told = held.of("gem-colour") | held.of("species")
        if all(set(MONTHS[month]) & told for month in asked.birth_months):
            yield Reason(f"birthstones of {_listed(asked.birth_months)}", 12 * len(asked.birth_months))
    elif asked.of("gem-colour") and held.of("gem-colour") and not asked.of("gem-colour") & held.of("gem-colour"):
        yield Reason("colours of the stones differ", -20)
    shapes = asked.of("gem-shape") & held.of("gem-shape")
    yield from (Reason(name.replace("-", " "), BY_NAME[name].tenths) for name in sorted(shapes))
    for count, told in asked.gems:
        if count > 1 and any(count == other and told & said for other, said in held.gems):
            yield Reason(f"{count} stones", 12)
            break


def _letters(asked: Traits, held: Traits) -> Iterator[Reason]:
    found = _initials(asked, held)
    if found is not None:
        yield found
    elif asked.initials and held.initials and (asked.dates or held.dates or len(asked.initials) == 1):
        yield Reason("initials differ", -10)
    close = [
        (one, other)
        for one in asked.names
        for other in held.names
        if JaroWinkler.similarity(one, other) >= (0.9 if min(len(one), len(other)) >= 5 else 1.0)
    ]
    for one, other in close[:2]:
        yield Reason(other if one == other else f"{one}, written {other}", 30)


def _initials(asked: Traits, held: Traits) -> Reason | None:
    same = asked.initials & held.initials
    if same:
        best = max(same, key=len)
        return Reason(f"initials {best.upper()}", {2: 25}.get(len(best), 40))
    for one in sorted(asked.initials):
        for other in sorted(held.initials):
            if len(one) == len(other) == 3 and one[0] == other[0] and one[1:] == other[:0:-1]:
                return Reason(f"monogram {other.upper()}, the surname in the middle or last", 35)
    for one in sorted(asked.initials):
        for other in sorted(held.initials):
            if len(one) >= 2 and len(other) == len(one) + 1 and other.startswith(one):
                return Reason(f"letters {other.upper()} begin with {one.upper()}", 12)
    return None


def _numbers(asked: Traits, held: Traits) -> Iterator[Reason]:
    for one in asked.dates:
        for other in held.dates:
            if one.figures == other.figures:
                yield Reason("date", 40)
            elif one.days & other.days:
                yield Reason("date, if day and month are read the other way round", 10, "possible")
    if asked.dates and held.dates and not any(a.days & b.days for a in asked.dates for b in held.dates):
        yield Reason("dates differ", -30)
    years = {*asked.years, *(day.year for one in asked.dates for day in one.days)}
    others = {*held.years, *(day.year for one in held.dates for day in one.days)}
    if years & others and not (asked.dates and held.dates):
        yield Reason(_listed(str(year) for year in sorted(years & others)), 25)
    elif years and others and not years & others:
        yield Reason("years differ", -15)
    yield from _serials(asked, held)


def _serials(asked: Traits, held: Traits) -> Iterator[Reason]:
    if not asked.serials or not held.serials:
        return
    if asked.serials & held.serials:
        yield Reason("serial number", 100)
        return
    ours, theirs = ({alike_digits(one) for one in traits.serials} for traits in (asked, held))
    if ours & theirs:
        yield Reason("serial number, if letters are read as digits", 60, "possible")
        return
    if any(
        len(one) >= 4 and len(other) > len(one) and other.startswith(one) | other.endswith(one)
        for one in ours
        for other in theirs
    ):
        yield Reason("part of the serial number", 30)
        return
    yield Reason("serial numbers differ", -40)


def _listed(words: "Iterator[str] | frozenset[str] | tuple[str, ...] | set[str]") -> str:
    return ", ".join(sorted(words))
